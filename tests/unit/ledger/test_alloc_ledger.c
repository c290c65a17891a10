/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A day at the shelf with the k-th allocation of our own code failing, for every k until none
 * fails: a clean error, nothing leaked, and a ledger that is in order. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "tests/support/alloc_fail.h"
#include "base/base.h"
#include <dropwise/shelf.h>
#include <dropwise/miscut.h>
#include <dropwise/posts.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MM DW_NM_PER_MM

static const struct dw_act act = {.when = "2026-06-30T08:00:00Z", .who = "Ines", .note = "n"};
static const char job_text[] = "dropwise: 1\n"
                               "name: stall\n"
                               "unit: mm\n"
                               "currency: EUR\n"
                               "saw: {kerf: 2, squaring: 5}\n"
                               "rules: {keep: 300, leftover worth: 50 %}\n"
                               "materials:\n"
                               "  - {id: S48, outside: 48 mm, wall: 3 mm, alloy: S235}\n"
                               "bars:\n"
                               "  - {id: new, material: S48, length: 3 m, price: 24}\n"
                               "parts:\n"
                               "  - {label: leg, length: 1200, count: 3}\n"
                               "posts:\n"
                               "  - {label: arm, length: 300 to 500, worth: 6}\n";

struct day {
    char folder[64];
    char path[96];
    char copy[96];
    char rest[96]; /* document of the plan of the rest */
    struct dw_ledger *ledger;
    struct dw_job *job;
    struct dw_plan *plan;
    struct dw_report report;
    struct dw_error error;
    struct dw_restored restored;
    int64_t held;
};

static dw_err bring(struct day *day)
{
    const struct dw_material steel = {.id = "S48", .od = 48 * MM, .wall = 3 * MM};
    const struct dw_stock pieces[] = {{.kind = DW_KIND_OFFCUT,
                                       .material = "S48",
                                       .length = 1300 * MM,
                                       .place = "rack",
                                       .date = "2026-01-01"},
                                      {.kind = DW_KIND_OFFCUT,
                                       .material = "S48",
                                       .length = 480 * MM,
                                       .mark = "H",
                                       .date = "2026-01-01"}};
    dw_err err = dw_ledger_open(day->path, DW_LEDGER_CREATE, 0, &day->ledger, &day->error);
    if (!err)
        err = dw_ledger_material_put(day->ledger, &act, &steel, &day->error);
    return err ? err : dw_ledger_add(day->ledger, &act, pieces, 2, NULL, &day->error);
}

/* Planning is tried elsewhere: it is not part of what fails here. */
static dw_err plan(struct day *day)
{
    struct dw_job_source source = {
        .path = "stall.yaml", .text = job_text, .n = sizeof job_text - 1};
    struct dw_shelf_request request = {.today = "2026-06-30"};
    struct dw_shelf_found found = {0};
    struct dw_job_request how = {0};
    dw_settings_default(&how.settings);
    how.settings.threads = 1;
    how.settings.greedy = 1;
    dw_err err = dw_job_load(&source, &day->job, &day->report, &day->error);
    if (!err)
        err = dw_shelf_supply(day->job, day->ledger, &request, &found, &day->report, &day->error);
    if (!err)
        err = dw_job_plan(day->job, &how, &day->plan, &day->error);
    struct dw_shelf_hold hold = {.digest = found.digest};
    if (!err)
        err = dw_shelf_hold_plan(day->ledger, &act, day->job, day->plan, &hold, &day->held, NULL,
                                 &day->error);
    return err;
}

static dw_err look(struct day *day)
{
    struct dw_stock_list *list = NULL;
    struct dw_history *history = NULL;
    struct dw_held_list *plans = NULL;
    struct dw_post_list *posts = NULL;
    char *text = NULL;
    size_t n_old = 0;
    const struct dw_stock_query query = {.material = "S48", .place = "rack"};
    const struct dw_post_request request = {.ledger = day->ledger,
                                            .load = {.load_n = 40, .safety = 2}};
    dw_err err = dw_ledger_list(day->ledger, &query, &list, &day->error);
    if (!err)
        err = dw_ledger_history(day->ledger, "C1", 0, &history, &day->error);
    if (!err)
        err = dw_ledger_plan(day->ledger, day->held, &plans, &day->error);
    if (!err)
        err = dw_shelf_export(day->ledger, true, &text, &day->error);
    if (!err)
        err = dw_posts_find(day->job, &request, &posts, &day->error);
    dw_stock_list_free(list);
    list = NULL;
    if (!err)
        err = dw_shelf_surplus(day->ledger, "2026-06-30", &list, &n_old, &day->error);
    dw_stock_list_free(list);
    dw_history_free(history);
    dw_held_list_free(plans);
    dw_post_list_free(posts);
    free(text);
    return err;
}

/* All that is to come does, and it is taken back. */
static dw_err deliver(struct day *day)
{
    struct dw_deliver_row paid = {.supply = "new", .each = -1, .total = 25 * DW_MONEY_ONE};
    struct dw_deliver what = {.plan = day->held, .n_paid = 1, .paid = &paid, .place = "yard"};
    dw_err err = dw_shelf_deliver(day->ledger, &act, &what, NULL, &day->error);
    return err ? err : dw_ledger_undo(day->ledger, &act, 0, NULL, NULL, &day->error);
}

static dw_err saw(struct day *day)
{
    struct dw_counted row = {.number = "C2", .length = 470 * MM};
    struct dw_count count = {.n = 1, .rows = &row};
    struct dw_stock_list *list = NULL;
    dw_err err = dw_ledger_cut(day->ledger, &act, day->held, 1, NULL, "bin", NULL, &day->error);
    if (!err)
        err = dw_ledger_count(day->ledger, &act, &count, &list, NULL, &day->error);
    dw_stock_list_free(list);
    if (!err)
        err = dw_ledger_undo(day->ledger, &act, 0, NULL, NULL, &day->error);
    return err ? err : dw_ledger_backup(day->ledger, day->copy, &day->error);
}

/* Thrown away, seen in a table, brought back; then back to the copy. */
static dw_err go_back(struct day *day)
{
    static const char *const numbers[] = {"C2"};
    struct dw_counted row = {.number = "C2"};
    struct dw_count count = {.n = 1, .rows = &row, .report = &day->report};
    struct dw_restore how = {.path = day->path, .copy = day->copy, .act = act, .lose_later = true};
    dw_err err = dw_ledger_scrap(day->ledger, &act, numbers, 1, NULL, &day->error);
    if (!err)
        err = dw_ledger_count(day->ledger, &act, &count, NULL, NULL, &day->error);
    count.bring_back = true;
    if (!err)
        err = dw_ledger_count(day->ledger, &act, &count, NULL, NULL, &day->error);
    return err ? err : dw_ledger_restore(&how, &day->restored, &day->report, &day->error);
}

/* The rest of a mis-cut plan is planned greedily too. */
static dw_err miscut(struct day *day)
{
    struct dw_job_source source = {
        .path = "stall.yaml", .text = job_text, .n = sizeof job_text - 1};
    struct dw_miscut what = {
        .kind = DW_MISCUT_BAR_SHORT, .plan = day->held, .bar = 2, .measured = 2990 * MM};
    struct dw_miscut_result result = {0};
    struct dw_job_request how = {.path = day->rest};
    struct dw_job *job = NULL;
    dw_settings_default(&how.settings);
    how.settings.threads = 1;
    how.settings.greedy = 1;
    dw_err err = dw_job_load(&source, &job, &day->report, &day->error);
    if (!err)
        err =
            dw_miscut_run(day->ledger, &act, job, &what, &how, &result, &day->report, &day->error);
    dw_miscut_result_free(&result);
    dw_job_free(job);
    return err;
}

static dw_err live(struct day *day)
{
    dw_err err = bring(day);
    if (!err)
        err = plan(day);
    if (!err)
        err = look(day);
    if (!err)
        err = deliver(day);
    if (!err)
        err = saw(day);
    if (!err)
        err = go_back(day);
    if (!err)
        err = miscut(day);
    return err;
}

static void start(struct day *day)
{
    const char *memory = access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp";
    *day = (struct day){0};
    snprintf(day->folder, sizeof day->folder, "%s/dw_alloc_XXXXXX", memory);
    assert_non_null(mkdtemp(day->folder));
    snprintf(day->path, sizeof day->path, "%s/shelf.db", day->folder);
    snprintf(day->copy, sizeof day->copy, "%s/copy.db", day->folder);
    snprintf(day->rest, sizeof day->rest, "%s/rest.json", day->folder);
}

/* Frees what the day made; what it left behind is a ledger in order, or none. */
static void finish(struct day *day)
{
    dw_plan_free(day->plan);
    dw_job_free(day->job);
    dw_ledger_close(day->ledger);
    dw_report_free(&day->report);
    day->ledger = NULL;
    struct dw_error error = {0};
    dw_err err = dw_ledger_open(day->path, DW_LEDGER_CREATE, 0, &day->ledger, &error);
    if (!err)
        err = dw_ledger_check(day->ledger, &day->report, &error);
    if (err)
        fail_msg("%s", error.text);
    dw_ledger_close(day->ledger);
    dw_report_free(&day->report);
    remove(day->path);
    remove(day->copy);
    remove(day->rest);
    if (day->restored.kept)
        remove(day->restored.kept);
    dw_restored_free(&day->restored);
    assert_int_equal(rmdir(day->folder), 0);
}

static void test_each_allocation_may_fail(void **state)
{
    (void)state;
    struct day day;
    assert_true(alloc_wrapped());
    start(&day);
    dw_err err = live(&day);
    if (err)
        print_message("%s\n", day.error.text);
    assert_int_equal(err, DW_OK);
    finish(&day);
    long before = alloc_live(), n_failed = 0;
    bool failed = true;
    for (long k = 0; failed; k++) {
        start(&day);
        alloc_fail_at(k, false);
        err = live(&day);
        failed = alloc_count() > k;
        alloc_fail_at(-1, false);
        if (failed && err != DW_OK && (err != DW_ERR_NOMEM || day.error.text[0] == '\0'))
            fail_msg("allocation %ld: %s (%s)", k, dw_err_name(err), day.error.text);
        if (!failed)
            assert_int_equal(err, DW_OK);
        n_failed += err != DW_OK;
        finish(&day);
        if (alloc_live() != before)
            fail_msg("allocation %ld: %ld blocks are not freed", k, alloc_live() - before);
    }
    print_message("%ld allocations failed cleanly\n", n_failed);
    assert_true(n_failed > 200);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_each_allocation_may_fail)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
