/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A saw with a shelf of its own for each test, and the job of a market stall. */
#ifndef TESTS_SUPPORT_SAW_H
#define TESTS_SUPPORT_SAW_H

#include "base/base.h"
#include "job/miscut.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

static const struct dw_act act = {.when = "2026-06-30T08:00:00Z"};

/* Kerf 2, squaring 5 a mill end, a cut 0.50; leftovers from 300 mm on at half of 8 a metre. */
static const char job_text[] = "dropwise: 1\n"
                               "name: stall\n"
                               "unit: mm\n"
                               "currency: EUR\n"
                               "saw: {kerf: 2, squaring: 5, cost per cut: 0.50}\n"
                               "rules: {keep: 300, leftover worth: 50 %}\n"
                               "materials:\n"
                               "  - {id: S48, outside: 48.3 mm, wall: 3.2 mm}\n"
                               "bars:\n"
                               "  - {id: new, material: S48, length: 3 m, price: 24}\n"
                               "parts:\n"
                               "  - {label: leg, length: 1200, count: 4}\n"
                               "  - {label: brace, length: 500, count: 2}\n";

struct saw {
    char folder[64];
    struct dw_ledger *ledger;
    struct dw_report report;
};

static inline int setup(void **state)
{
    struct saw *saw = calloc(1, sizeof *saw);
    char path[96];
    snprintf(saw->folder, sizeof saw->folder, "/tmp/dw_miscut_XXXXXX");
    assert_non_null(mkdtemp(saw->folder));
    snprintf(path, sizeof path, "%s/shelf.db", saw->folder);
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_CREATE, 0, &saw->ledger, NULL), DW_OK);
    *state = saw;
    return 0;
}

static inline int teardown(void **state)
{
    struct saw *saw = *state;
    char command[128];
    struct dw_report report = {0};
    dw_err err = dw_ledger_check(saw->ledger, &report, NULL);
    for (size_t i = 0; i < report.n_remarks; i++)
        print_message("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    dw_report_free(&report);
    dw_ledger_close(saw->ledger);
    dw_report_free(&saw->report);
    snprintf(command, sizeof command, "rm -rf %s", saw->folder);
    assert_int_equal(system(command), 0);
    free(saw);
    return 0;
}

static inline struct dw_job *load(struct saw *saw, const char *text)
{
    struct dw_job *job = NULL;
    assert_int_equal(
        dw_job_read_text(text, strlen(text), "stall.yaml", NULL, &job, &saw->report, NULL), DW_OK);
    return job;
}

/* Plans from the shelf and holds; the plan's number. */
static inline int64_t plan_and_hold(struct saw *saw, const char *text)
{
    struct dw_job *job = load(saw, text);
    struct dw_shelf_request request = {.today = "2026-06-30"};
    struct dw_shelf_found found;
    struct dw_job_request how = {0};
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    int64_t id = 0;
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    dw_err err = dw_shelf__supply(job, saw->ledger, &request, &found, &saw->report, &error);
    if (!err)
        err = dw_job__plan(job, &how, &plan, &error);
    struct dw_shelf_hold hold = {.digest = found.digest};
    if (!err)
        err = dw_shelf__hold(saw->ledger, &act, job, plan, &hold, &id, NULL, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    dw_plan_free(plan);
    dw_job_free(job);
    return id;
}

static inline dw_err miscut(struct saw *saw, const char *text, const struct dw_miscut *what,
                            struct dw_miscut_result *result, struct dw_error *error)
{
    struct dw_job *job = load(saw, text);
    struct dw_job_request how = {0};
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    dw_err err = dw_miscut__run(saw->ledger, &act, job, what, &how, result, &saw->report, error);
    dw_job_free(job);
    return err;
}

static inline void add(struct saw *saw, const char *number, dw_length length, dw_money value)
{
    struct dw_stock stock = {.number = number,
                             .material = "S48",
                             .length = length,
                             .value = value,
                             .ends = {DW_END_SAWN, DW_END_SAWN}};
    const struct dw_material tube = {.id = "S48", .od = 48300000, .wall = 3200000};
    assert_int_equal(dw_ledger_material_put(saw->ledger, &act, &tube, NULL), DW_OK);
    assert_int_equal(dw_ledger_add(saw->ledger, &act, &stock, 1, NULL, NULL), DW_OK);
}

/* The number of a bar of the plan whose first piece is the part, and its pieces. */
static inline int64_t bar_with(struct saw *saw, int64_t plan, const char *label, int64_t *n_pieces)
{
    struct dw_held_list *list = NULL;
    int64_t bar = 0;
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    for (size_t i = 0; i < list->rows[0].n_bars && !bar; i++) {
        const struct dw_held_bar *row = &list->rows[0].bars[i];
        *n_pieces = 0;
        for (size_t k = 0; k < row->n_pieces; k++)
            *n_pieces += row->pieces[k].count;
        if (!row->cut && strcmp(row->pieces[0].label, label) == 0)
            bar = row->bar;
    }
    dw_held_list_free(list);
    assert_true(bar > 0);
    return bar;
}

/* The stall with a lintel that is measured first; three bars at most. */
static const char booth_text[] = "dropwise: 1\n"
                                 "name: booth\n"
                                 "unit: mm\n"
                                 "currency: EUR\n"
                                 "saw: {kerf: 2, squaring: 5, cost per cut: 0.50}\n"
                                 "rules: {keep: 300, leftover worth: 50 %}\n"
                                 "materials: [{id: S48}]\n"
                                 "bars: [{id: new, length: 6 m, price: 48, count: 3}]\n"
                                 "parts:\n"
                                 "  - {label: leg, length: 1200, count: 4}\n"
                                 "  - {label: lintel, length: 1775, count: 2,"
                                 " measure first: yes, allowance: 25}\n"
                                 "  - {label: brace, length: 500, count: 2}\n";

static inline int64_t last_step(struct saw *saw)
{
    int64_t step = 0, undoable = 0;
    assert_int_equal(dw_ledger_last(saw->ledger, &step, &undoable, NULL), DW_OK);
    return step;
}

static inline void undo(struct saw *saw)
{
    assert_int_equal(dw_ledger_undo(saw->ledger, &act, 0, NULL, NULL, NULL), DW_OK);
}

static inline struct dw_balance balance(struct saw *saw)
{
    struct dw_balance b;
    assert_int_equal(dw_ledger_balance(saw->ledger, &b, NULL), DW_OK);
    return b;
}

/* With its document at `path` (NULL: none) and hooks. */
static inline dw_err redo(struct saw *saw, const char *text, const struct dw_miscut *what,
                          const char *path, const struct dw_hooks *hooks, struct dw_job **job,
                          struct dw_miscut_result *result, struct dw_error *error)
{
    struct dw_job_request how = {.path = path};
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    if (hooks)
        how.hooks = *hooks;
    *job = load(saw, text);
    return dw_miscut__run(saw->ledger, &act, *job, what, &how, result, &saw->report, error);
}

/* Open, none of its bars cut, held as before. */
static inline void is_untouched(struct saw *saw, int64_t plan)
{
    struct dw_held_list *list = NULL;
    assert_int_equal(dw_ledger_plan(saw->ledger, plan, &list, NULL), DW_OK);
    assert_true(list->rows[0].open);
    assert_int_equal(list->rows[0].n_cut, 0);
    assert_int_equal(list->rows[0].n_missing, 0);
    dw_held_list_free(list);
    assert_int_equal(dw_ledger_plans(saw->ledger, true, &list, NULL), DW_OK);
    assert_int_equal(list->n, 1);
    dw_held_list_free(list);
}

#define SAW(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

#endif
