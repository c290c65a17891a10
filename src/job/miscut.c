/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "job/miscut.h"
#include "job/rest.h"

#include "base/base.h"

#include <stdlib.h>
#include <string.h>

#define MAX_LOOSE 64 /* pieces of a wrong material that are booked one by one */
#define TRIES     3  /* when another process takes what was planned with */

void dw_miscut_result_free(struct dw_miscut_result *result)
{
    dw_plan_free(result->plan);
    free(result->part_of);
    *result = (struct dw_miscut_result){0};
}

/* What one call works on. */
struct mishap {
    struct dw_ledger *ledger;
    const struct dw_act *act;
    struct dw_job *job;
    const struct dw_miscut *miscut;
    const struct dw_held_plan *plan;
    const struct dw_held_bar *bar;
    struct dw_off loose[MAX_LOOSE];
    struct dw_cut cut;
    dw_money price; /* of the piece that was cut */
    int64_t n_cuts; /* that were made */
    char today[11];
};

static dw_err check_plan(struct mishap *mishap, struct dw_error *error)
{
    const struct dw_miscut *miscut = mishap->miscut;
    const struct dw_held_plan *plan = mishap->plan;
    if (plan->job_digest != dw_job_digest(mishap->job))
        return dw_error__set(error, DW_ERR_STATE,
                             "this is not the job that plan %lld was made for, or it was changed "
                             "since",
                             (long long)plan->id);
    for (size_t i = 0; i < plan->n_bars; i++)
        if (plan->bars[i].bar == miscut->bar)
            mishap->bar = &plan->bars[i];
    if (!mishap->bar)
        return dw_error__set(error, DW_ERR_NOTFOUND, "plan %lld has no bar %lld: it has 1 to %zu",
                             (long long)plan->id, (long long)miscut->bar, plan->n_bars);
    if (mishap->bar->cut)
        return dw_error__set(error, DW_ERR_STATE,
                             "bar %lld of plan %lld is booked as cut: undo that first",
                             (long long)miscut->bar, (long long)plan->id);
    return DW_OK;
}

/* Length that the first n pieces take, a kerf after each. */
static dw_length length_of(const struct mishap *mishap, int64_t n)
{
    struct dw_rest_piece piece;
    dw_length sum = 0;
    for (int64_t i = 0; i < n && dw_rest__piece(mishap->bar, i, &piece); i++)
        sum += piece.length + mishap->job->saw.kerf;
    return sum;
}

/* Is a length worth a place on the shelf: as an offcut, or for a part of this job. */
static bool is_useful(const struct dw_job *job, size_t material, dw_length length)
{
    if (length >= job->materials[material].worth.keep)
        return true;
    for (size_t i = 0; i < job->n_parts; i++)
        for (size_t k = 0; k < job->parts[i].n_materials; k++)
            if (job->parts[i].materials[k] == material && job->parts[i].min <= length)
                return true;
    return false;
}

static size_t material_of(const struct dw_job *job, const char *id)
{
    size_t i = 0;
    while (i < job->n_materials && strcmp(job->materials[i].id, id) != 0)
        i++;
    return i < job->n_materials ? i : DW_NONE;
}

/* Adds what came off: a spoiled piece at book value 0, a sound rest at what the rules say. */
static void come_off(struct mishap *mishap, size_t material, dw_length length, bool spoiled)
{
    const struct dw_job *job = mishap->job;
    if (length <= 0 || mishap->cut.n_loose == MAX_LOOSE)
        return;
    mishap->loose[mishap->cut.n_loose++] = (struct dw_off){
        .length = length,
        .keep = is_useful(job, material, length),
        .value = spoiled ? 0 : dw_job_worth(job, material, length),
        .material = job->materials[material].id,
        .far = DW_END_SAWN,
        .remark = spoiled ? "mis-cut" : NULL,
    };
}

/* The material of the first piece of an end-bent bar, and of what follows it. */
static size_t tail_of(const struct mishap *mishap, size_t material)
{
    for (size_t i = 0; i < mishap->job->n_supplies; i++) {
        const struct dw_supply *supply = &mishap->job->supplies[i];
        if (supply->material == material && supply->bend > 0)
            return supply->tail_material;
    }
    return material;
}

/* Squaring cuts of the planned bar. */
static int64_t squarings_of(const struct mishap *mishap)
{
    size_t supply = dw_rest__supply(mishap->job, mishap->bar->supply);
    return supply == DW_NONE ? 0 : dw_supply_squarings(&mishap->job->supplies[supply]);
}

/* Cuts behind n pieces: where the last one takes the bar's end, there is none behind it. */
static int64_t cuts_of(const struct mishap *mishap, int64_t n, dw_length rest)
{
    return rest == -mishap->job->saw.kerf ? n - 1 : n;
}

/* --- a piece too short ------------------------------------------------------------------------ */

/* Pieces before it are good; it is an offcut of its own length; what is still in the saw is
 * another. bar = trim + sum of good pieces and kerfs + came out + kerf + rest. */
static dw_err piece_too_short(struct mishap *mishap, struct dw_error *error)
{
    const struct dw_miscut *miscut = mishap->miscut;
    const struct dw_held_bar *bar = mishap->bar;
    struct dw_rest_piece piece = {0};
    if (miscut->piece < 1 || !dw_rest__piece(bar, miscut->piece - 1, &piece))
        return dw_error__set(error, DW_ERR_INPUT, "bar %lld has no piece %lld", (long long)bar->bar,
                             (long long)miscut->piece);
    if (miscut->came_out < 1 || miscut->came_out >= piece.length)
        return dw_error__set(error, DW_ERR_INPUT,
                             "piece %lld came out no shorter than planned: cut it to length, then "
                             "book the bar as cut",
                             (long long)miscut->piece);
    size_t material = material_of(mishap->job, bar->material);
    if (material == DW_NONE)
        return dw_error__set(error, DW_ERR_STATE, "the job has no material %s any more",
                             bar->material);
    dw_length kerf = mishap->job->saw.kerf;
    dw_length rest =
        bar->length - bar->trim - length_of(mishap, miscut->piece - 1) - miscut->came_out - kerf;
    mishap->cut.n_done = miscut->piece - 1;
    mishap->cut.trim = bar->trim;
    mishap->price = bar->price;
    mishap->n_cuts = cuts_of(mishap, miscut->piece, rest) + squarings_of(mishap);
    size_t tail = tail_of(mishap, material);
    come_off(mishap, miscut->piece == 1 ? material : tail, miscut->came_out, true);
    come_off(mishap, tail, rest, false);
    return DW_OK;
}

/* --- the wrong bar ---------------------------------------------------------------------------- */

static dw_err look_up(struct mishap *mishap, struct dw_stock_list **list, struct dw_error *error)
{
    struct dw_stock_query query = {.number = mishap->miscut->number};
    dw_err err = dw_ledger_list(mishap->ledger, &query, list, error);
    if (!err && (*list)->n == 0)
        err = dw_error__set(error, DW_ERR_NOTFOUND, "there is no piece %.64s on the shelf or held",
                            mishap->miscut->number);
    if (!err && mishap->bar->number && strcmp(mishap->bar->number, mishap->miscut->number) == 0)
        err = dw_error__set(error, DW_ERR_INPUT, "piece %.64s is the planned one for bar %lld",
                            mishap->miscut->number, (long long)mishap->bar->bar);
    return err;
}

/* How many pieces come out of a usable length: n pieces and n - 1 kerfs must fit. */
static int64_t how_many(const struct mishap *mishap, dw_length usable)
{
    struct dw_rest_piece piece;
    int64_t n = 0;
    while (dw_rest__piece(mishap->bar, n, &piece) &&
           length_of(mishap, n + 1) - mishap->job->saw.kerf <= usable)
        n++;
    return n;
}

/* Do the first n pieces accept a tube of this material? */
static bool all_accept(const struct mishap *mishap, size_t material, int64_t n)
{
    struct dw_rest_piece piece;
    bool good = true;
    for (int64_t i = 0; good && i < n && dw_rest__piece(mishap->bar, i, &piece); i++) {
        const struct dw_part *part =
            piece.part < mishap->job->n_parts ? &mishap->job->parts[piece.part] : NULL;
        good = false;
        for (size_t k = 0; part && k < part->n_materials; k++)
            good = good || part->materials[k] == material;
    }
    return good;
}

/* Parts cut from another tube than theirs are no parts: each becomes an offcut. */
static void wrong_tube(struct mishap *mishap, size_t material, int64_t n)
{
    struct dw_rest_piece piece;
    for (int64_t i = 0; i < n && dw_rest__piece(mishap->bar, i, &piece); i++)
        come_off(mishap, material, piece.length, true);
    mishap->cut.n_done = 0;
}

/* Ends of a piece of the shelf that are squared; a bent end is not. */
static int64_t mills_of(const struct mishap *mishap, const struct dw_stock *stock)
{
    size_t material = material_of(mishap->job, stock->material);
    bool bent = material != DW_NONE && mishap->job->materials[material].end_bent;
    return (stock->ends[0] == DW_END_MILL && !bent) + (stock->ends[1] == DW_END_MILL);
}

static dw_err from_wrong_bar(struct mishap *mishap, const struct dw_stock *stock,
                             struct dw_error *error)
{
    const struct dw_job *job = mishap->job;
    int64_t mills = mills_of(mishap, stock);
    dw_length trim = job->saw.trim * mills;
    dw_length usable = dw_stock_actual(stock) - trim;
    int64_t most = how_many(mishap, usable);
    int64_t n = mishap->miscut->n_done < 0 ? most : mishap->miscut->n_done;
    size_t material = material_of(job, stock->material);
    if (n > most)
        return dw_error__set(error, DW_ERR_INPUT,
                             "piece %s is long enough for %lld of the pieces, not for %lld",
                             stock->number, (long long)most, (long long)n);
    if (n == 0)
        return dw_error__set(error, DW_ERR_INPUT,
                             "no piece of bar %lld can have come from piece %s: nothing to book",
                             (long long)mishap->bar->bar, stock->number);
    if (n > MAX_LOOSE - 1 || material == DW_NONE)
        return dw_error__set(error, DW_ERR_INPUT,
                             "piece %s is of a tube that this job does not use: book it with "
                             "`dropwise shelf count` and `dropwise shelf add`",
                             stock->number);
    dw_length rest = usable - length_of(mishap, n);
    mishap->cut.number = mishap->miscut->number;
    mishap->cut.n_done = n;
    mishap->cut.trim = trim;
    mishap->price = stock->owner ? 0 : stock->value;
    mishap->n_cuts = cuts_of(mishap, n, rest) + (job->saw.trim > 0 ? mills : 0);
    if (!all_accept(mishap, material, n))
        wrong_tube(mishap, material, n);
    come_off(mishap, material, rest, false);
    return DW_OK;
}

static dw_err wrong_bar(struct mishap *mishap, struct dw_error *error)
{
    struct dw_stock_list *list = NULL;
    dw_err err = look_up(mishap, &list, error);
    if (!err)
        err = from_wrong_bar(mishap, &list->rows[0], error);
    dw_stock_list_free(list);
    return err;
}

/* --- the bar is not as long as planned -------------------------------------------------------- */

/* A new bar is paid for whatever becomes of it: it is worth what the rules say of its length, and
 * what it cost beyond that is spent. */
static dw_err measured(struct mishap *mishap, struct dw_miscut_result *result,
                       struct dw_error *error)
{
    const struct dw_miscut *miscut = mishap->miscut;
    const struct dw_held_bar *bar = mishap->bar;
    size_t material = material_of(mishap->job, bar->material);
    dw_money value = 0;
    if (material != DW_NONE && miscut->measured > 0 && miscut->measured <= DW_LENGTH_MAX)
        value = dw_job_worth(mishap->job, tail_of(mishap, material), miscut->measured);
    if (!bar->number)
        result->spent = bar->price - value;
    return dw_ledger_measure(mishap->ledger, mishap->act, miscut->plan, miscut->bar,
                             miscut->measured, value, &result->step, error);
}

/* --- booking ---------------------------------------------------------------------------------- */

static dw_err book(struct mishap *mishap, struct dw_miscut_result *result, struct dw_error *error)
{
    const struct dw_miscut *miscut = mishap->miscut;
    if (miscut->kind == DW_MISCUT_BAR_SHORT)
        return measured(mishap, result, error);
    dw_err err =
        miscut->kind == DW_MISCUT_SHORT ? piece_too_short(mishap, error) : wrong_bar(mishap, error);
    mishap->cut.loose = mishap->loose;
    if (!err)
        err = dw_ledger_cut(mishap->ledger, mishap->act, miscut->plan, miscut->bar, &mishap->cut,
                            miscut->place, &result->step, error);
    result->spent = mishap->price + mishap->n_cuts * mishap->job->saw.cut_cost;
    for (size_t i = 0; i < mishap->cut.n_loose; i++)
        if (mishap->loose[i].keep)
            result->spent -= mishap->loose[i].value;
    return err;
}

/* --- planning the rest ------------------------------------------------------------------------ */

/* The shelf as it is now, after the supplies of the job itself. */
static dw_err supply_anew(struct mishap *mishap, size_t n_own, struct dw_report *report,
                          struct dw_error *error)
{
    struct dw_shelf_found found;
    struct dw_shelf_request request = {.today = mishap->today, .replaces = mishap->miscut->plan};
    mishap->job->n_supplies = n_own;
    return dw_shelf__supply(mishap->job, mishap->ledger, &request, &found, report, error);
}

static bool needs_more(const struct dw_job *job)
{
    for (size_t i = 0; i < job->n_parts; i++)
        if (!job->parts[i].post)
            return true;
    return false;
}

static dw_err hold_rest(struct mishap *mishap, struct dw_miscut_result *result,
                        struct dw_error *error)
{
    struct dw_shelf_hold how = {.digest = mishap->plan->job_digest,
                                .part_of = result->part_of,
                                .replaces = mishap->miscut->plan};
    return dw_shelf__hold(mishap->ledger, mishap->act, mishap->job, result->plan, &how,
                          &result->new_plan, NULL, error);
}

/* Solves and holds; again if another process was faster with a piece. */
static dw_err plan_rest(struct mishap *mishap, size_t n_own, const struct dw_job_request *request,
                        struct dw_miscut_result *result, struct dw_report *report,
                        struct dw_error *error)
{
    dw_err err = DW_OK;
    for (int i = 0; i < TRIES; i++) {
        struct dw_error why = {0};
        dw_plan_free(result->plan);
        result->plan = NULL;
        err = supply_anew(mishap, n_own, report, &why);
        if (!err)
            err = dw_job__plan(mishap->job, request, &result->plan, &why);
        if (!err && result->plan->status == DW_STATUS_INFEASIBLE)
            return DW_OK;
        if (!err)
            err = hold_rest(mishap, result, &why);
        if (err != DW_ERR_HELD && err != DW_ERR_STATE) {
            if (err)
                dw_error__at(error, err, why.file, why.line, why.column, "%s", why.text);
            break;
        }
        if (i == TRIES - 1)
            dw_error__set(error, err, "%s", why.text);
    }
    if (!err)
        result->after = result->plan->totals.value;
    return err;
}

static dw_err go_on(struct mishap *mishap, const struct dw_job_request *request,
                    struct dw_miscut_result *result, struct dw_report *report,
                    struct dw_error *error)
{
    size_t n_own = mishap->job->n_supplies;
    dw_err err = supply_anew(mishap, n_own, report, error);
    if (!err)
        err = dw_rest__money(mishap->job, mishap->plan, &result->before, error);
    if (!err)
        err = book(mishap, result, error);
    mishap->job->n_supplies = n_own;
    if (!err)
        err = dw_rest__reduce(mishap->ledger, mishap->miscut->plan, mishap->job, &result->part_of,
                              &result->n_locked, error);
    if (!err && needs_more(mishap->job))
        err = plan_rest(mishap, n_own, request, result, report, error);
    else if (!err)
        err = dw_ledger_release(mishap->ledger, mishap->act, mishap->miscut->plan, NULL, error);
    result->difference = result->after + result->spent - result->before;
    return err;
}

dw_err dw_miscut__run(struct dw_ledger *ledger, const struct dw_act *act, struct dw_job *job,
                      const struct dw_miscut *miscut, const struct dw_job_request *request,
                      struct dw_miscut_result *result, struct dw_report *report,
                      struct dw_error *error)
{
    *result = (struct dw_miscut_result){0};
    struct dw_held_list *list = NULL;
    dw_err err = dw_ledger_plan(ledger, miscut->plan, &list, error);
    if (err)
        return err;
    struct mishap mishap = {
        .ledger = ledger, .act = act, .job = job, .miscut = miscut, .plan = &list->rows[0]};
    memcpy(mishap.today, act->when, strnlen(act->when, 10));
    err = check_plan(&mishap, error);
    if (!err)
        err = go_on(&mishap, request, result, report, error);
    dw_held_list_free(list);
    return err;
}
