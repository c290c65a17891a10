/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "saw.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

const struct dw_act saw_act = {.when = "2026-06-30T08:00:00Z"};

int saw_setup(void **state)
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

int saw_teardown(void **state)
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

struct dw_job *saw_load(struct saw *saw, const char *text)
{
    struct dw_job *job = NULL;
    assert_int_equal(
        dw_job_read_text(text, strlen(text), "stall.yaml", NULL, &job, &saw->report, NULL), DW_OK);
    return job;
}

int64_t saw_plan_and_hold(struct saw *saw, const char *text)
{
    struct dw_job *job = saw_load(saw, text);
    struct dw_shelf_request request = {.today = "2026-06-30"};
    struct dw_shelf_found found;
    struct dw_job_request how = {0};
    struct dw_plan *plan = NULL;
    struct dw_error error = {0};
    int64_t id = 0;
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    dw_err err = dw_shelf_supply(job, saw->ledger, &request, &found, &saw->report, &error);
    if (!err)
        err = dw_job_plan(job, &how, &plan, &error);
    struct dw_shelf_hold hold = {.digest = found.digest};
    if (!err)
        err = dw_shelf_hold_plan(saw->ledger, &saw_act, job, plan, &hold, &id, NULL, &error);
    if (err)
        print_message("%s\n", error.text);
    assert_int_equal(err, DW_OK);
    dw_plan_free(plan);
    dw_job_free(job);
    return id;
}

dw_err saw_miscut(struct saw *saw, const char *text, const struct dw_miscut *what,
                  struct dw_miscut_result *result, struct dw_error *error)
{
    struct dw_job *job = saw_load(saw, text);
    struct dw_job_request how = {0};
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    dw_err err = dw_miscut_run(saw->ledger, &saw_act, job, what, &how, result, &saw->report, error);
    dw_job_free(job);
    return err;
}

void saw_add(struct saw *saw, const char *number, dw_length length, dw_money value)
{
    struct dw_stock stock = {.number = number,
                             .material = "S48",
                             .length = length,
                             .value = value,
                             .ends = {DW_END_SAWN, DW_END_SAWN}};
    const struct dw_material tube = {.id = "S48", .od = 48300000, .wall = 3200000};
    assert_int_equal(dw_ledger_material_put(saw->ledger, &saw_act, &tube, NULL), DW_OK);
    assert_int_equal(dw_ledger_add(saw->ledger, &saw_act, &stock, 1, NULL, NULL), DW_OK);
}

int64_t saw_bar_with(struct saw *saw, int64_t plan, const char *label, int64_t *n_pieces)
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

int64_t saw_last_step(struct saw *saw)
{
    int64_t step = 0, undoable = 0;
    assert_int_equal(dw_ledger_last(saw->ledger, &step, &undoable, NULL), DW_OK);
    return step;
}

void saw_undo(struct saw *saw)
{
    assert_int_equal(dw_ledger_undo(saw->ledger, &saw_act, 0, NULL, NULL, NULL), DW_OK);
}

struct dw_balance saw_balance(struct saw *saw)
{
    struct dw_balance b;
    assert_int_equal(dw_ledger_balance(saw->ledger, &b, NULL), DW_OK);
    return b;
}

/* With its document at `path` (NULL: none) and hooks. */
dw_err saw_redo(struct saw *saw, const char *text, const struct dw_miscut *what, const char *path,
                const struct dw_hooks *hooks, struct dw_job **job, struct dw_miscut_result *result,
                struct dw_error *error)
{
    struct dw_job_request how = {.path = path};
    dw_settings_default(&how.settings);
    how.settings.time_ms = 0;
    how.settings.work = 1000;
    if (hooks)
        how.hooks = *hooks;
    *job = saw_load(saw, text);
    return dw_miscut_run(saw->ledger, &saw_act, *job, what, &how, result, &saw->report, error);
}

/* Open, none of its bars cut, held as before. */
void saw_is_untouched(struct saw *saw, int64_t plan)
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
