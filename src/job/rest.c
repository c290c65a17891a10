/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What of a held plan is done and what is left of its job. */
#include "job/rest.h"

#include "base/base.h"
#include "model/model.h"

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
    size_t i = job->n_supplies;
    while (i > 0 && strcmp(job->supplies[i - 1].id, id) != 0)
        i--;
    return i > 0 ? i - 1 : DW_NONE;
}

/* --- the job of a plan ------------------------------------------------------------------------ */

/* The ledger names parts as the job as written has them; of a rest, one of those may be several. */
static dw_err name_parts(struct dw_held_list *list, const struct dw_plan *plan,
                         struct dw_error *error)
{
    struct dw_held_plan *held = &list->rows[0];
    for (size_t i = 0; i < held->n_bars; i++) {
        struct dw_held_bar *bar = &held->bars[i];
        size_t at = (size_t)bar->layout;
        if (at >= plan->n_layouts || plan->layouts[at].n_pieces != bar->n_pieces)
            return dw_error__set(error, DW_ERR_STATE,
                                 "bar %lld of plan %lld is not in its document",
                                 (long long)bar->bar, (long long)held->id);
        struct dw_held_piece *pieces = dw_arena__alloc(list->arena, bar->n_pieces, sizeof *pieces);
        if (!pieces)
            return dw_error__nomem(error);
        for (size_t k = 0; k < bar->n_pieces; k++) {
            pieces[k] = bar->pieces[k];
            pieces[k].part = plan->layouts[at].pieces[k].part;
        }
        bar->pieces = pieces;
    }
    return DW_OK;
}

/* Older files hold plans of a rest whose documents do not say of what. */
static dw_err bring(struct dw_held_list *list, struct dw_job *job, struct dw_error *error)
{
    const struct dw_held_plan *held = &list->rows[0];
    const char *text = held->document;
    struct dw_plan *plan = NULL;
    if (!text)
        return DW_OK;
    dw_err err = dw_plan_bring(text, strlen(text), "plan", job, error);
    if (err || (held->replaces && !job->part_of))
        return err;
    err = dw_plan_from_json(text, strlen(text), "plan", job, &plan, error);
    if (!err)
        err = name_parts(list, plan, error);
    dw_plan_free(plan);
    return err;
}

dw_err dw_rest__open(struct dw_ledger *ledger, int64_t plan, struct dw_job *job,
                     struct dw_held_list **out, struct dw_error *error)
{
    dw_err err = dw_ledger_plan(ledger, plan, out, error);
    if (!err && (*out)->rows[0].job_digest != dw_job_digest(job))
        err = dw_error__set(error, DW_ERR_STATE,
                            "this is not the job that plan %lld was made for, or it was changed "
                            "since",
                            (long long)plan);
    if (!err)
        err = bring(*out, job, error);
    if (err) {
        dw_held_list_free(*out);
        *out = NULL;
    }
    return err;
}

/* --- what is done ----------------------------------------------------------------------------- */

/* What is taken off a job. */
struct done {
    struct dw_job *job;
    int64_t *parts; /* length n_parts: good pieces */
};

static void take_off(struct dw_job *job, const char *supply, int64_t n)
{
    size_t i = dw_rest__supply(job, supply);
    if (i != DW_NONE && job->supplies[i].count != DW_UNLIMITED)
        job->supplies[i].count -= n < job->supplies[i].count ? n : job->supplies[i].count;
}

/* Takes off the good pieces of the bars of a plan that are cut, and off limited supplies what was
 * used up or came. */
static void count_done(const struct dw_held_plan *plan, const struct done *done)
{
    struct dw_job *job = done->job;
    for (size_t i = 0; i < plan->n_bars; i++) {
        const struct dw_held_bar *bar = &plan->bars[i];
        struct dw_rest_piece piece;
        for (int64_t k = 0; bar->cut && k < bar->n_done && dw_rest__piece(bar, k, &piece); k++)
            if ((piece.use == DW_USE_PART || piece.use == DW_USE_POST) && piece.part < job->n_parts)
                done->parts[piece.part]++;
        if (bar->cut && !bar->other && bar->source != DW_SOURCE_NEW)
            take_off(job, bar->supply, 1);
    }
}

/* Off limited supplies, what came of them for a plan. */
static void count_came(const struct dw_held_plan *plan, const struct done *done)
{
    for (size_t i = 0; i < plan->n_buys; i++)
        take_off(done->job, plan->buys[i].supply, plan->buys[i].came);
}

/* The plans that it replaced: their cuts count where its document does not bring them along. */
static dw_err count_before(struct dw_ledger *ledger, int64_t plan, const struct done *done,
                           int64_t *n_cut, struct dw_error *error)
{
    dw_err err = DW_OK;
    bool known = done->job->part_of != NULL;
    while (!err && plan) {
        struct dw_held_list *list = NULL;
        err = dw_ledger_plan(ledger, plan, &list, error);
        if (!err) {
            *n_cut += list->rows[0].n_cut;
            plan = list->rows[0].replaces;
            if (!known) {
                count_done(&list->rows[0], done);
                count_came(&list->rows[0], done);
            }
        }
        dw_held_list_free(list);
    }
    return err;
}

/* As the ledger has them now: the acts of a step that is under way may have brought some. */
static dw_err count_arrivals(struct dw_ledger *ledger, int64_t plan, const struct done *done,
                             struct dw_error *error)
{
    struct dw_held_list *list = NULL;
    dw_err err = dw_ledger_plan(ledger, plan, &list, error);
    if (!err)
        count_came(&list->rows[0], done);
    dw_held_list_free(list);
    return err;
}

/* The supplies again, so that others who have the job's see no change. */
static dw_err copy_supplies(struct dw_job *job, struct dw_error *error)
{
    struct dw_supply *copy = dw_job_alloc(job, job->n_supplies + 1, sizeof *copy);
    if (!copy)
        return dw_error__nomem(error);
    if (job->n_supplies)
        memcpy(copy, job->supplies, job->n_supplies * sizeof *copy);
    job->supplies = copy;
    return DW_OK;
}

/* One row more, or one piece more of the last. */
static void add_true(struct dw_rest_part *rows, size_t *n, const struct dw_rest_true *one)
{
    if (*n > 0 && rows[*n - 1].part == one->part && rows[*n - 1].measured == one->length)
        rows[*n - 1].count++;
    else
        rows[(*n)++] = (struct dw_rest_part){one->part, 1, one->length};
}

/* The parts that remain together; those of known length behind the others of their part. */
static dw_err keep_rest(const struct done *done, const struct dw_rest_true *trues, size_t n_trues,
                        struct dw_error *error)
{
    struct dw_job *job = done->job;
    struct dw_rest_part *rows = calloc(job->n_parts + n_trues + 1, sizeof *rows);
    if (!rows)
        return dw_error__nomem(error);
    size_t n = 0;
    for (size_t i = 0; i < job->n_parts; i++) {
        int64_t left = job->parts[i].count - done->parts[i];
        for (size_t k = 0; k < n_trues; k++)
            left -= trues[k].part == i;
        if (left > 0)
            rows[n++] = (struct dw_rest_part){.part = i, .count = left};
        for (size_t k = 0; k < n_trues; k++)
            if (trues[k].part == i)
                add_true(rows, &n, &trues[k]);
    }
    dw_err err = dw_job__rest(job, rows, n, error);
    free(rows);
    return err;
}

dw_err dw_rest__reduce(struct dw_ledger *ledger, const struct dw_held_plan *plan,
                       const struct dw_rest_true *trues, size_t n_trues, struct dw_job *job,
                       int64_t *n_cut, struct dw_error *error)
{
    struct done done = {job, calloc(job->n_parts + 1, sizeof *done.parts)};
    dw_err err = done.parts ? copy_supplies(job, error) : dw_error__nomem(error);
    *n_cut = 0;
    for (size_t i = 0; i < plan->n_bars; i++)
        *n_cut += plan->bars[i].cut;
    if (!err)
        count_done(plan, &done);
    if (!err)
        err = count_arrivals(ledger, plan->id, &done, error);
    if (!err)
        err = count_before(ledger, plan->replaces, &done, n_cut, error);
    if (!err)
        err = keep_rest(&done, trues, n_trues, error);
    free(done.parts);
    return err;
}

/* --- money of what is left -------------------------------------------------------------------- */

const struct dw_held_bar *dw_rest__here(const struct dw_held_plan *held, const char *number)
{
    for (size_t i = 0; i < held->n_bars; i++) {
        const struct dw_held_bar *bar = &held->bars[i];
        if ((!bar->cut || bar->other) && bar->source == DW_SOURCE_NEW && bar->number &&
            strcmp(bar->number, number) == 0)
            return bar;
    }
    return NULL;
}

dw_money dw_rest__counted(const struct dw_held_plan *held, const struct dw_held_bar *bar)
{
    for (size_t i = 0; bar->source == DW_SOURCE_NEW && i < held->n_buys; i++)
        if (strcmp(held->buys[i].supply, bar->supply) == 0)
            return held->buys[i].money / held->buys[i].bought;
    return bar->price;
}

dw_money dw_rest__value(const struct dw_supply *supply)
{
    return supply->counted == DW_COUNTED_BOUGHT ? supply->paid : supply->price;
}

static dw_money each_of(const struct dw_take *take)
{
    return take->money / take->bought;
}

dw_err dw_rest__used_money(const struct dw_job *job, const struct dw_plan *plan, dw_money *out,
                           struct dw_error *error)
{
    *out = plan->totals.value;
    for (size_t i = 0; i < plan->n_takes; i++) {
        const struct dw_take *take = &plan->takes[i];
        dw_money spare = 0;
        if (job->supplies[take->supply].source == DW_SOURCE_NEW &&
            (!dw_mul__i64(take->bought - take->used, each_of(take), &spare) ||
             !dw_sub__i64(*out, spare, out)))
            return dw_error__set(error, DW_ERR_RANGE, "the sums of the plan are too large to hold");
    }
    return DW_OK;
}

static bool fill_layout(const struct dw_held_bar *bar, size_t supply, struct dw_plan *plan,
                        struct dw_layout *layout)
{
    struct dw_piece *pieces = dw_plan_alloc(plan, bar->n_pieces, sizeof *pieces);
    if (!pieces)
        return false;
    for (size_t i = 0; i < bar->n_pieces; i++)
        pieces[i] = (struct dw_piece){.use = bar->pieces[i].use,
                                      .part = bar->pieces[i].part,
                                      .length = bar->pieces[i].length,
                                      .count = bar->pieces[i].count};
    *layout = (struct dw_layout){.supply = supply,
                                 .count = 1,
                                 .n_pieces = bar->n_pieces,
                                 .pieces = pieces,
                                 .rest = bar->rest,
                                 .leftover = bar->leftover};
    return true;
}

/* A bought bar that is here, as a supply of its own behind those of the job. */
static size_t add_here(struct dw_job *job, size_t supply, dw_money price)
{
    struct dw_supply *here = &job->supplies[job->n_supplies];
    *here = job->supplies[supply];
    here->source = DW_SOURCE_SHELF;
    here->price = price;
    here->count = here->pack = 1;
    here->n_breaks = 0;
    return job->n_supplies++;
}

/* The bars that are not cut as layouts of a plan. `job` has room for a supply a bar. */
static dw_err fill_plan(struct dw_job *job, const struct dw_held_plan *held, struct dw_plan *plan,
                        struct dw_error *error)
{
    for (size_t i = 0; i < held->n_bars; i++) {
        const struct dw_held_bar *bar = &held->bars[i];
        if (bar->cut)
            continue;
        size_t supply = dw_rest__supply(job, bar->supply);
        if (supply == DW_NONE)
            return dw_error__set(error, DW_ERR_STATE,
                                 "the plan's %s is neither in the job nor on the shelf any more",
                                 bar->supply);
        if (bar->source == DW_SOURCE_NEW && bar->number)
            supply = add_here(job, supply, dw_rest__counted(held, bar));
        if (!fill_layout(bar, supply, plan, &plan->layouts[plan->n_layouts++]))
            return dw_error__nomem(error);
    }
    return DW_OK;
}

/* What the bar counts in the plan that fill_plan made. */
static dw_money value_of(const struct dw_job *job, const struct dw_held_plan *held,
                         const struct dw_plan *plan, int64_t bar)
{
    size_t at = 0;
    if (bar == 0)
        return 0;
    for (size_t i = 0; held->bars[i].bar != bar; i++)
        at += !held->bars[i].cut;
    size_t supply = plan->layouts[at].supply;
    for (size_t i = 0; i < plan->n_takes; i++)
        if (plan->takes[i].supply == supply)
            return each_of(&plan->takes[i]);
    return job->supplies[supply].price;
}

dw_err dw_rest__money(const struct dw_job *job, const struct dw_held_plan *held, int64_t bar,
                      dw_money *out, dw_money *of_bar, struct dw_error *error)
{
    struct dw_job all = *job;
    struct dw_plan *plan = NULL;
    *out = *of_bar = 0;
    all.supplies = calloc(job->n_supplies + held->n_bars + 1, sizeof *all.supplies);
    dw_err err = all.supplies ? dw_plan_new(&plan, error) : dw_error__nomem(error);
    if (!err) {
        if (job->n_supplies)
            memcpy(all.supplies, job->supplies, job->n_supplies * sizeof *all.supplies);
        for (size_t i = 0; i < job->n_supplies; i++)
            all.supplies[i].price = dw_rest__value(&job->supplies[i]);
        plan->layouts = dw_plan_alloc(plan, held->n_bars, sizeof *plan->layouts);
        err = plan->layouts ? fill_plan(&all, held, plan, error) : dw_error__nomem(error);
    }
    if (!err)
        err = dw_plan_sum(&all, plan, error);
    if (!err) {
        *of_bar = value_of(&all, held, plan, bar);
        err = dw_rest__used_money(&all, plan, out, error);
    }
    dw_plan_free(plan);
    free(all.supplies);
    return err;
}
