/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shelf of its own for each test, one tube, and a plan of two bars for a stand of the trio. */
#ifndef TESTS_SUPPORT_STAND_H
#define TESTS_SUPPORT_STAND_H

#include "base/base.h"

#include <dropwise/document.h>
#include <dropwise/ledger.h>

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define MM DW_NM_PER_MM

struct shop {
    char folder[64];
    char path[96];
    struct dw_ledger *ledger;
    struct dw_job *job;
    struct dw_plan *plan;
    struct dw_error error;
};

static const struct dw_act act = {
    .when = "2026-03-01T08:00:00Z", .who = "Ines", .note = "first shift"};
static const struct dw_material steel = {
    .id = "S48",
    .name = "steel 48.3 x 3.2",
    .od = 48300000,
    .wall = 3200000,
    .worth = {.kind = DW_WORTH_RATE, .keep = 300 * MM, .rate = 2 * DW_MONEY_ONE, .per = 1000 * MM}};

static inline int setup(void **state)
{
    struct shop *shop = calloc(1, sizeof *shop);
    snprintf(shop->folder, sizeof shop->folder, "/tmp/dw_life_XXXXXX");
    assert_non_null(mkdtemp(shop->folder));
    snprintf(shop->path, sizeof shop->path, "%s/shelf.db", shop->folder);
    assert_int_equal(
        dw_ledger_open(shop->path, DW_LEDGER_CREATE, 1000, &shop->ledger, &shop->error), DW_OK);
    assert_int_equal(dw_ledger_material_put(shop->ledger, &act, &steel, &shop->error), DW_OK);
    *state = shop;
    return 0;
}

static inline void in_order(struct shop *shop)
{
    struct dw_report report = {0};
    dw_err err = dw_ledger_check(shop->ledger, &report, &shop->error);
    for (size_t i = 0; i < report.n_remarks; i++)
        print_message("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    dw_report_free(&report);
}

static inline int teardown(void **state)
{
    struct shop *shop = *state;
    in_order(shop);
    dw_ledger_close(shop->ledger);
    dw_job_free(shop->job);
    dw_plan_free(shop->plan);
    char command[128];
    snprintf(command, sizeof command, "rm -rf %s", shop->folder);
    assert_int_equal(system(command), 0);
    free(shop);
    return 0;
}

#define OK(call)                                                                                   \
    do {                                                                                           \
        shop->error = (struct dw_error){0};                                                        \
        dw_err got = (call);                                                                       \
        if (got)                                                                                   \
            print_message("%s\n", shop->error.text);                                               \
        assert_int_equal(got, DW_OK);                                                              \
    } while (0)

#define REFUSED(code, words, call)                                                                 \
    do {                                                                                           \
        shop->error = (struct dw_error){0};                                                        \
        assert_int_equal((call), (code));                                                          \
        if (!strstr(shop->error.text, (words)))                                                    \
            print_message("said: %s\n", shop->error.text);                                         \
        assert_non_null(strstr(shop->error.text, (words)));                                        \
    } while (0)

static inline struct dw_stock bar(const char *number, dw_length length)
{
    return (struct dw_stock){.number = number,
                             .material = "S48",
                             .kind = DW_KIND_BAR,
                             .length = length,
                             .value = 12 * DW_MONEY_ONE,
                             .place = "rack 1",
                             .date = "2026-02-01"};
}

static inline void add(struct shop *shop, const char *number, dw_length length)
{
    struct dw_stock stock = bar(number, length);
    OK(dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
}

static inline struct dw_stock one(struct shop *shop, const char *number)
{
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.number = number, .states = 0x1f};
    OK(dw_ledger_list(shop->ledger, &query, &list, &shop->error));
    assert_int_equal(list->n, 1);
    struct dw_stock stock = list->rows[0];
    stock.number = stock.material = stock.place = stock.owner = NULL;
    stock.mark = stock.date = stock.job = stock.remark = stock.from = NULL;
    dw_stock_list_free(list);
    return stock;
}

static inline void state_is(struct shop *shop, const char *number, enum dw_state state)
{
    assert_string_equal(dw_state_word(one(shop, number).state), dw_state_word(state));
}

/* A job of one 1200 mm part a bar (kerf 2 mm) and its plan: piece `number` and one new bar of
 * 3000 mm, both with two 1200 mm pieces. Squaring 5 mm a mill end. */
static inline void make_plan(struct shop *shop, const char *number, dw_length length)
{
    dw_job_free(shop->job);
    dw_plan_free(shop->plan);
    shop->plan = NULL;
    OK(dw_job_new(&shop->job, &shop->error));
    struct dw_job *job = shop->job;
    job->name = "trio stand";
    job->saw.kerf = 2 * MM;
    job->n_materials = 1;
    job->materials = dw_job_alloc(job, 1, sizeof *job->materials);
    job->materials[0] = steel;
    job->n_supplies = 2;
    job->supplies = dw_job_alloc(job, 2, sizeof *job->supplies);
    struct dw_supply supply = {.id = dw_job_text(job, number),
                               .source = DW_SOURCE_SHELF,
                               .length = length,
                               .price = 12 * DW_MONEY_ONE,
                               .count = 1,
                               .pack = 1,
                               .trim = 5 * MM,
                               .tail_material = DW_NONE};
    job->supplies[0] = supply;
    supply.id = "3 m";
    supply.source = DW_SOURCE_NEW;
    supply.length = 3000 * MM;
    supply.count = DW_UNLIMITED;
    job->supplies[1] = supply;
    static const size_t materials[] = {0};
    job->n_parts = 1;
    job->parts = dw_job_alloc(job, 1, sizeof *job->parts);
    job->parts[0] = (struct dw_part){.label = "leg",
                                     .min = 1200 * MM,
                                     .max = 1200 * MM,
                                     .count = 4,
                                     .n_materials = 1,
                                     .materials = materials};
    OK(dw_plan_new(&shop->plan, &shop->error));
    struct dw_plan *plan = shop->plan;
    plan->n_layouts = 2;
    plan->layouts = dw_plan_alloc(plan, 2, sizeof *plan->layouts);
    struct dw_piece *piece = dw_plan_alloc(plan, 1, sizeof *piece);
    *piece = (struct dw_piece){.use = DW_USE_PART, .length = 1200 * MM, .count = 2};
    for (size_t i = 0; i < 2; i++) {
        dw_length left = job->supplies[i].length - 10 * MM - 2400 * MM - 4 * MM;
        plan->layouts[i] = (struct dw_layout){
            .supply = i, .count = 1, .n_pieces = 1, .pieces = piece, .leftover = left};
        plan->layouts[i].rest = left >= 300 * MM ? DW_REST_KEPT : DW_REST_SCRAP;
    }
}

static inline int64_t hold(struct shop *shop, int64_t replaces)
{
    int64_t id = 0;
    struct dw_hold how = {.job_digest = 0xfedcba9876543210u, .replaces = replaces};
    OK(dw_ledger_hold(shop->ledger, &act, shop->job, shop->plan, &how, &id, NULL, &shop->error));
    return id;
}

#endif
