/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "job/rest.h"

#include "base/base.h"

#include <stdlib.h>
#include <string.h>

bool dw_rest__piece(const struct dw_held_bar *bar, int64_t i, struct dw_rest_piece *out)
{
    for (size_t k = 0; k < bar->n_pieces; k++) {
        const struct dw_held_piece *piece = &bar->pieces[k];
        if (i < piece->count) {
            *out = (struct dw_rest_piece){piece->use, piece->part, piece->length};
            return true;
        }
        i -= piece->count;
    }
    return false;
}

size_t dw_rest__supply(const struct dw_job *job, const char *id)
{
    for (size_t i = 0; i < job->n_supplies; i++)
        if (strcmp(job->supplies[i].id, id) == 0)
            return i;
    return DW_NONE;
}

/* --- what is done ------------------------------------------------------------------------------
 */

/* Counts the good pieces of the bars of one plan that are cut. */
static void count_done(const struct dw_held_plan *plan, const struct dw_job *job, int64_t *done,
                       int64_t *n_cut)
{
    for (size_t i = 0; i < plan->n_bars; i++) {
        const struct dw_held_bar *bar = &plan->bars[i];
        struct dw_rest_piece piece;
        if (!bar->cut)
            continue;
        ++*n_cut;
        for (int64_t k = 0; k < bar->n_done && dw_rest__piece(bar, k, &piece); k++)
            if ((piece.use == DW_USE_PART || piece.use == DW_USE_POST) && piece.part < job->n_parts)
                done[piece.part]++;
        size_t supply = dw_rest__supply(job, bar->supply);
        if (bar->source == DW_SOURCE_NEW && supply != DW_NONE && job->supplies[supply].count > 0)
            job->supplies[supply].count--;
    }
}

/* The plan, the one it replaced, and so on. */
static dw_err count_chain(struct dw_ledger *ledger, int64_t plan, const struct dw_job *job,
                          int64_t *done, int64_t *n_cut, struct dw_error *error)
{
    dw_err err = DW_OK;
    while (!err && plan) {
        struct dw_held_list *list = NULL;
        err = dw_ledger_plan(ledger, plan, &list, error);
        if (!err) {
            count_done(&list->rows[0], job, done, n_cut);
            plan = list->rows[0].replaces;
        }
        dw_held_list_free(list);
    }
    return err;
}

/* Moves the parts that remain together. */
static void drop_done(struct dw_job *job, const int64_t *done, size_t *part_of)
{
    size_t n = 0;
    for (size_t i = 0; i < job->n_parts; i++) {
        struct dw_part part = job->parts[i];
        part.count -= done[i] < part.count ? done[i] : part.count;
        if (part.count == 0)
            continue;
        part_of[n] = i;
        job->parts[n++] = part;
    }
    job->n_parts = n;
}

dw_err dw_rest__reduce(struct dw_ledger *ledger, int64_t plan, struct dw_job *job, size_t **part_of,
                       int64_t *n_cut, struct dw_error *error)
{
    *n_cut = 0;
    int64_t *done = calloc(job->n_parts + 1, sizeof *done);
    *part_of = calloc(job->n_parts + 1, sizeof **part_of);
    dw_err err = done && *part_of ? count_chain(ledger, plan, job, done, n_cut, error)
                                  : dw_error__nomem(error);
    if (!err)
        drop_done(job, done, *part_of);
    free(done);
    if (err) {
        free(*part_of);
        *part_of = NULL;
    }
    return err;
}

/* --- money of what is left
 * ------------------------------------------------------------------------ */

static bool fill_layout(const struct dw_job *job, const struct dw_held_bar *bar,
                        struct dw_plan *plan, struct dw_layout *layout)
{
    struct dw_piece *pieces = dw_plan_alloc(plan, bar->n_pieces, sizeof *pieces);
    if (!pieces)
        return false;
    for (size_t i = 0; i < bar->n_pieces; i++)
        pieces[i] = (struct dw_piece){.use = bar->pieces[i].use,
                                      .part = bar->pieces[i].part,
                                      .length = bar->pieces[i].length,
                                      .count = bar->pieces[i].count};
    *layout = (struct dw_layout){.supply = dw_rest__supply(job, bar->supply),
                                 .count = 1,
                                 .n_pieces = bar->n_pieces,
                                 .pieces = pieces,
                                 .rest = bar->rest,
                                 .leftover = bar->leftover};
    return true;
}

dw_err dw_rest__money(const struct dw_job *job, const struct dw_held_plan *held, dw_money *out,
                      struct dw_error *error)
{
    *out = 0;
    struct dw_plan *plan = NULL;
    dw_err err = dw_plan_new(&plan, error);
    if (err)
        return err;
    plan->layouts = dw_plan_alloc(plan, held->n_bars, sizeof *plan->layouts);
    if (!plan->layouts)
        err = dw_error__nomem(error);
    for (size_t i = 0; !err && i < held->n_bars; i++) {
        const struct dw_held_bar *bar = &held->bars[i];
        if (bar->cut)
            continue;
        struct dw_layout *layout = &plan->layouts[plan->n_layouts++];
        if (!fill_layout(job, bar, plan, layout))
            err = dw_error__nomem(error);
        else if (layout->supply == DW_NONE)
            err = dw_error__set(error, DW_ERR_STATE,
                                "the plan's %s is neither in the job nor on "
                                "the shelf any more",
                                bar->supply);
    }
    if (!err)
        err = dw_plan_sum(job, plan, error);
    if (!err)
        *out = plan->totals.value;
    dw_plan_free(plan);
    return err;
}
