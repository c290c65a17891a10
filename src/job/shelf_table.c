/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables to and from the shelf, and what of it should go. */
#include <dropwise/shelf.h>

#include "base/base.h"
#include "format/stock.h"
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

#define INCH_FRACTION 64 /* finest on a tape */

/* --- single pieces ---------------------------------------------------------------------------- */

/* Copies the one row of `found` to the end of `list`. false: no memory. */
static bool take_row(struct dw_stock_list *list, const struct dw_stock_list *found)
{
    struct dw_stock stock = found->rows[0];
    const char **texts[] = {&stock.number, &stock.material, &stock.place,
                            &stock.owner,  &stock.mark,     &stock.date,
                            &stock.job,    &stock.remark,   &stock.from};
    bool good = true;
    for (size_t i = 0; good && i < DW_COUNT(texts); i++)
        if (*texts[i])
            good = (*texts[i] = dw_arena__text(list->arena, *texts[i])) != NULL;
    list->rows[list->n++] = stock;
    return good;
}

dw_err dw_shelf_pick(struct dw_ledger *ledger, const char *const *numbers, size_t n,
                     struct dw_stock_list **out, struct dw_error *error)
{
    struct dw_arena *arena = dw_arena__new();
    struct dw_stock_list *list = arena ? dw_arena__alloc(arena, 1, sizeof *list) : NULL;
    dw_err err = list ? DW_OK : dw_error__nomem(error);
    *out = NULL;
    if (!err) {
        *list = (struct dw_stock_list){.arena = arena,
                                       .rows = dw_arena__alloc(arena, n + 1, sizeof *list->rows)};
        err = list->rows ? DW_OK : dw_error__nomem(error);
    }
    for (size_t i = 0; !err && i < n; i++) {
        struct dw_stock_query query = {.number = numbers[i], .states = (1u << DW_STATE_VOID) - 1};
        struct dw_stock_list *found = NULL;
        err = dw_ledger_list(ledger, &query, &found, error);
        if (!err && found->n == 0)
            err = dw_error__set(error, DW_ERR_NOTFOUND, "there is no piece %.64s", numbers[i]);
        else if (!err && !take_row(list, found))
            err = dw_error__nomem(error);
        dw_stock_list_free(found);
    }
    if (err)
        dw_arena__free(arena);
    else
        *out = list;
    return err;
}

/* --- surplus ---------------------------------------------------------------------------------- */

static int compare_days(const struct dw_stock *a, const struct dw_stock *b)
{
    return strcmp(a->date ? a->date : "", b->date ? b->date : "");
}

/* Least book value first, among equals the oldest, then by number. */
static int by_value(const void *x, const void *y)
{
    const struct dw_stock *a = x, *b = y;
    if (a->value != b->value)
        return a->value < b->value ? -1 : 1;
    int order = compare_days(a, b);
    return order ? order : strcmp(a->number, b->number);
}

/* Moves the rows older than the limit to the front, in their order; how many. */
static size_t old_first(struct dw_stock_list *list, const char *before)
{
    size_t n = 0;
    for (size_t i = 0; i < list->n; i++) {
        struct dw_stock stock = list->rows[i];
        if (!stock.date || strcmp(stock.date, before) >= 0)
            continue;
        memmove(&list->rows[n + 1], &list->rows[n], (i - n) * sizeof stock);
        list->rows[n++] = stock;
    }
    return n;
}

dw_err dw_shelf_surplus(struct dw_ledger *ledger, const char *today, struct dw_stock_list **out,
                        size_t *n_old, struct dw_error *error)
{
    *out = NULL;
    *n_old = 0;
    struct dw_shelf_rules rules;
    struct dw_stock_query query = {
        .states = 1u << DW_STATE_SHELF, .owner = "", .only_offcuts = true};
    char before[DW_DATE_TEXT];
    dw_err err = dw_ledger_rules(ledger, &rules, error);
    if (!err && !dw_date__add(today, rules.max_age_days > 0 ? -rules.max_age_days : 0, before))
        err = dw_error__set(error, DW_ERR_INPUT, "\"%.20s\" is no day", today);
    if (!err)
        err = dw_ledger_list(ledger, &query, out, error);
    if (err)
        return err;
    struct dw_stock_list *list = *out;
    if (list->n > 1)
        qsort(list->rows, list->n, sizeof *list->rows, by_value);
    if (rules.max_age_days >= 0)
        *n_old = old_first(list, before);
    size_t left = list->n - *n_old;
    size_t most = rules.max_offcuts < 0 ? left : (size_t)rules.max_offcuts;
    list->n = *n_old + (left > most ? left - most : 0);
    return DW_OK;
}

/* --- tables ----------------------------------------------------------------------------------- */

static bool copy_material(struct dw_job *job, const struct dw_material *from,
                          struct dw_material *to)
{
    *to = *from;
    const char **texts[] = {&to->id, &to->name, &to->alloy, &to->finish};
    for (size_t i = 0; i < DW_COUNT(texts); i++)
        if (*texts[i] && !(*texts[i] = dw_job_text(job, *texts[i])))
            return false;
    return true;
}

dw_err dw_shelf_catalogue(struct dw_ledger *ledger, struct dw_job **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_job *job = NULL;
    struct dw_material_list *list = NULL;
    struct dw_shelf_rules rules;
    dw_err err = dw_ledger_rules(ledger, &rules, error);
    if (!err)
        err = dw_ledger_materials(ledger, &list, error);
    if (!err)
        err = dw_job_new(&job, error);
    if (!err) {
        memcpy(job->currency, rules.currency, sizeof job->currency);
        job->unit = (enum dw_unit)rules.unit;
        job->denominator = INCH_FRACTION;
        job->materials = dw_job_alloc(job, list->n, sizeof *job->materials);
        bool good = job->materials != NULL;
        for (size_t i = 0; good && i < list->n; i++)
            good = copy_material(job, &list->rows[i], &job->materials[job->n_materials++]);
        err = good ? DW_OK : dw_error__nomem(error);
    }
    dw_material_list_free(list);
    if (err)
        dw_job_free(job);
    else
        *out = job;
    return err;
}

static struct dw_stock stock_of(const struct dw_job *job, const struct dw_stock_row *row,
                                const char *today)
{
    return (struct dw_stock){
        .number = row->number,
        .material = job->materials[row->material].id,
        .kind = row->bar == 1 ? DW_KIND_BAR : DW_KIND_OFFCUT,
        .length = row->length,
        .measured = row->measured == row->length ? 0 : row->measured,
        .ends = {row->ends[0], row->ends[1]},
        .value = row->value < 0 ? 0 : row->value,
        .place = row->place,
        .owner = row->owner,
        .mark = row->mark,
        .date = row->date ? row->date : today,
        .job = row->job,
        .remark = row->remark,
    };
}

/* The pieces of a table, and what they borrow from. */
struct brought {
    struct dw_job *job;
    char today[DW_DATE_TEXT];
    struct dw_stock *pieces; /* length n */
    size_t n;
};

static void free_brought(struct brought *brought)
{
    free(brought->pieces);
    dw_job_free(brought->job);
}

/* One piece for each of a row's count. */
static dw_err make_pieces(const struct dw_stock_rows *rows, struct brought *out,
                          struct dw_error *error)
{
    int64_t n = 0;
    for (size_t i = 0; i < rows->n; i++)
        if (!dw_add__i64(n, rows->rows[i].count, &n) || n > DW_MAX_ROWS)
            return dw_error__set(error, DW_ERR_LIMIT, "over %d pieces in one table", DW_MAX_ROWS);
    out->pieces = calloc((size_t)n + 1, sizeof *out->pieces);
    if (!out->pieces)
        return dw_error__nomem(error);
    for (size_t i = 0; i < rows->n; i++)
        for (int64_t k = 0; k < rows->rows[i].count; k++)
            out->pieces[out->n++] = stock_of(out->job, &rows->rows[i], out->today);
    return DW_OK;
}

/* Reads a table with the materials that the ledger knows. *job is to be freed in every case. */
static dw_err read_table(struct dw_ledger *ledger, const struct dw_shelf_table *table, bool must,
                         struct dw_job **job, struct dw_stock_rows *rows, struct dw_report *report,
                         struct dw_error *error)
{
    const struct dw_stock_source source = {table->path, table->text, table->n};
    dw_err err = dw_shelf_catalogue(ledger, job, error);
    if (err)
        return err;
    (*job)->unit = table->bare ? table->bare : (*job)->unit;
    return dw_stock__read(&source, *job, must, rows, report, error);
}

static dw_err bring(struct dw_ledger *ledger, const struct dw_act *act,
                    const struct dw_shelf_table *table, struct brought *out,
                    struct dw_report *report, struct dw_error *error)
{
    struct dw_stock_rows rows = {0};
    *out = (struct brought){0};
    memcpy(out->today, act->when, strnlen(act->when, 10)); /* the day of the time */
    dw_err err = read_table(ledger, table, true, &out->job, &rows, report, error);
    if (!err)
        err = make_pieces(&rows, out, error);
    return err ? err : dw_shelf_doubt_values(out->pieces, out->n, report, error);
}

dw_err dw_shelf_import(struct dw_ledger *ledger, const struct dw_act *act,
                       const struct dw_shelf_table *table, int64_t *step, struct dw_report *report,
                       struct dw_error *error)
{
    struct brought brought;
    dw_err err = bring(ledger, act, table, &brought, report, error);
    if (!err)
        err = dw_ledger_add(ledger, act, brought.pieces, brought.n, step, error);
    free_brought(&brought);
    return err;
}

dw_err dw_shelf_import_dry(struct dw_ledger *ledger, const struct dw_act *act,
                           const struct dw_shelf_table *table, struct dw_stock_list **out,
                           struct dw_report *report, struct dw_error *error)
{
    struct brought brought;
    *out = NULL;
    dw_err err = bring(ledger, act, table, &brought, report, error);
    if (!err)
        err = dw_ledger_add_dry(ledger, act, brought.pieces, brought.n, out, error);
    free_brought(&brought);
    return err;
}

static size_t find_material(const struct dw_job *job, const char *id)
{
    size_t i = 0;
    while (i < job->n_materials && strcmp(job->materials[i].id, id) != 0)
        i++;
    return i;
}

static struct dw_stock_row row_of(const struct dw_job *job, const struct dw_stock *stock)
{
    return (struct dw_stock_row){
        .number = stock->number,
        .material = find_material(job, stock->material),
        .bar = stock->kind == DW_KIND_BAR,
        .length = stock->length,
        .measured = stock->measured,
        .ends = {stock->ends[0], stock->ends[1]},
        .value = stock->value,
        .count = 1,
        .place = stock->place,
        .owner = stock->owner,
        .mark = stock->mark,
        .date = stock->date,
        .job = stock->job,
        .remark = stock->remark,
    };
}

static dw_err write_rows(const struct dw_job *job, const struct dw_stock_list *list, bool all,
                         char **text, struct dw_error *error)
{
    struct dw_stock_rows rows = {.n = list->n};
    rows.rows = calloc(list->n + 1, sizeof *rows.rows);
    const char **states = calloc(list->n + 1, sizeof *states);
    dw_err err = rows.rows && states ? DW_OK : dw_error__nomem(error);
    for (size_t i = 0; !err && i < list->n; i++) {
        rows.rows[i] = row_of(job, &list->rows[i]);
        states[i] = dw_state_word(list->rows[i].state);
        if (rows.rows[i].material == job->n_materials)
            err = dw_error__set(error, DW_ERR_BUSY,
                                "the shelf changed while it was written out; "
                                "try again");
    }
    if (!err)
        err = dw_stock__write(job, &rows, all ? states : NULL, text, error);
    free(rows.rows);
    free(states);
    return err;
}

dw_err dw_shelf_export(struct dw_ledger *ledger, bool all, char **text, struct dw_error *error)
{
    *text = NULL;
    struct dw_job *job = NULL;
    struct dw_stock_list *list = NULL;
    struct dw_stock_query query = {.states = all ? (1u << DW_STATE_VOID) - 1 : 0};
    dw_err err = dw_ledger_list(ledger, &query, &list, error);
    if (!err)
        err = dw_shelf_catalogue(ledger, &job, error);
    if (!err)
        err = write_rows(job, list, all, text, error);
    dw_stock_list_free(list);
    dw_job_free(job);
    return err;
}

static dw_err count_rows(struct dw_ledger *ledger, const struct dw_act *act,
                         const struct dw_shelf_count *how, const struct dw_stock_rows *rows,
                         struct dw_stock_list **differences, int64_t *step,
                         struct dw_report *report, struct dw_error *error)
{
    struct dw_counted *seen = calloc(rows->n + 1, sizeof *seen);
    if (!seen)
        return dw_error__nomem(error);
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < rows->n; i++) {
        const struct dw_stock_row *row = &rows->rows[i];
        seen[i] = (struct dw_counted){row->number, row->measured ? row->measured : row->length,
                                      row->place, row->at.line};
        if (!row->number &&
            dw_report__add(report, DW_WRONG, row->at.file, row->at.line, row->at.column,
                           "a piece without a number can't be counted: add it first") != DW_OK)
            err = dw_error__nomem(error);
    }
    if (!err && report->n_wrong > 0)
        err = dw_error__at(error, DW_ERR_INPUT, how->table.path, 0, 0, "the count was not booked");
    struct dw_count count = {.n = rows->n,
                             .rows = seen,
                             .complete = how->complete,
                             .place = how->place,
                             .material = how->material,
                             .dry = how->dry,
                             .file = how->table.path,
                             .report = report};
    if (!err)
        err = dw_ledger_count(ledger, act, &count, differences, step, error);
    free(seen);
    return err;
}

dw_err dw_shelf_count_pieces(struct dw_ledger *ledger, const struct dw_act *act,
                             const struct dw_shelf_count *count, struct dw_stock_list **differences,
                             int64_t *step, struct dw_report *report, struct dw_error *error)
{
    *differences = NULL;
    struct dw_job *job = NULL;
    struct dw_stock_rows rows = {0};
    dw_err err = read_table(ledger, &count->table, false, &job, &rows, report, error);
    if (!err)
        err = count_rows(ledger, act, count, &rows, differences, step, report, error);
    dw_job_free(job);
    return err;
}
