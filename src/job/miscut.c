/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What happened at the saw, as a cut that accounts for its whole bar; what it costs. */
#include <dropwise/miscut.h>
#include "job/redo.h"

#include "base/base.h"
#include "model/model.h"

#include <stdlib.h>
#include <string.h>

#define MAX_LOOSE 64 /* pieces of a wrong material that are booked one by one */
#define TRIES     3  /* when another process takes what was planned with */

void dw_miscut_result_free(struct dw_miscut_result *result)
{
    dw_plan_free(result->plan);
    dw_stock_list_free(result->back);
    *result = (struct dw_miscut_result){0};
}

/* What one call works on. */
struct mishap {
    struct dw_ledger *ledger;
    struct dw_job *job; /* that the plan was made for */
    const struct dw_miscut *miscut;
    const struct dw_held_plan *plan;
    struct dw_held_bar *bar;
    struct dw_off loose[MAX_LOOSE];
    struct dw_cut cut;
    struct dw_rest_true *trues; /* length n_trues of the miscut */
    struct dw_redo redo;
    dw_money of_bar;   /* what the planned bar counts */
    dw_money price;    /* of the piece that was cut */
    dw_money handling; /* of taking it up */
    int64_t n_cuts;    /* that were made */
    dw_money spent;
};

/* The bar of the plan that the call is about; none where the rest alone is planned again. */
static dw_err find_bar(struct mishap *mishap, struct dw_held_list *list, struct dw_error *error)
{
    const struct dw_miscut *miscut = mishap->miscut;
    const struct dw_held_plan *plan = mishap->plan;
    if (miscut->kind == DW_MISCUT_REST)
        return plan->open ? DW_OK
                          : dw_error__set(error, DW_ERR_STATE,
                                          "plan %lld is closed: it was released or replaced",
                                          (long long)plan->id);
    for (size_t i = 0; i < plan->n_bars; i++)
        if (plan->bars[i].bar == miscut->bar)
            mishap->bar = &list->rows[0].bars[i];
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
    const struct dw_supply *bent = dw_job__bent(mishap->job, material);
    return bent ? bent->tail_material : material;
}

/* What taking up the planned bar costs. */
static dw_money handling_of(const struct mishap *mishap)
{
    size_t supply = dw_rest__supply(mishap->job, mishap->bar->supply);
    const struct dw_saw *saw = &mishap->job->saw;
    return supply == DW_NONE ? saw->bar_cost
                             : dw_supply_handling(saw, &mishap->job->supplies[supply]);
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

/* The first n pieces of the bar are good, then something was sawn that is to be called `spoiled`
 * (0: nothing); what is still in the saw is another offcut.
 * bar = trim + sum of good pieces and kerfs + (spoiled + kerf) + rest. */
static dw_err leave_off(struct mishap *mishap, int64_t n, dw_length spoiled, struct dw_error *error)
{
    const struct dw_held_bar *bar = mishap->bar;
    size_t material = material_of(mishap->job, bar->material);
    if (material == DW_NONE)
        return dw_error__set(error, DW_ERR_STATE, "the job has no material %s any more",
                             bar->material);
    dw_length rest = bar->length - bar->trim - length_of(mishap, n);
    if (spoiled)
        rest -= spoiled + mishap->job->saw.kerf;
    mishap->cut.n_done = n;
    mishap->cut.trim = bar->trim;
    mishap->price = mishap->of_bar;
    mishap->handling = handling_of(mishap);
    mishap->n_cuts = cuts_of(mishap, n + (spoiled > 0), rest) + squarings_of(mishap);
    size_t tail = tail_of(mishap, material);
    come_off(mishap, n == 0 ? material : tail, spoiled, true);
    come_off(mishap, tail, rest, false);
    mishap->redo.cut = &mishap->cut;
    return DW_OK;
}

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
    return leave_off(mishap, miscut->piece - 1, miscut->came_out, error);
}

/* --- measured first --------------------------------------------------------------------------- */

static dw_err read_true(struct mishap *mishap, size_t i, struct dw_error *error)
{
    const struct dw_true_length *told = &mishap->miscut->trues[i];
    const struct dw_job *job = mishap->job;
    struct dw_rest_piece piece = {0};
    if (told->piece < 1 || !dw_rest__piece(mishap->bar, told->piece - 1, &piece))
        return dw_error__set(error, DW_ERR_INPUT, "bar %lld has no piece %lld",
                             (long long)mishap->bar->bar, (long long)told->piece);
    if (piece.part >= job->n_parts || !job->parts[piece.part].measure_first)
        return dw_error__set(error, DW_ERR_INPUT,
                             "piece %lld of bar %lld is not one to be measured first",
                             (long long)told->piece, (long long)mishap->bar->bar);
    if (told->piece <= mishap->miscut->n_done)
        return dw_error__set(error, DW_ERR_INPUT,
                             "piece %lld is among the %lld that are cut: its length can't be said "
                             "any more",
                             (long long)told->piece, (long long)mishap->miscut->n_done);
    if (told->length < 1 || told->length > DW_LENGTH_MAX)
        return dw_error__set(error, DW_ERR_RANGE, "a length must be over 0 and at most 1000 km");
    for (size_t k = 0; k < i; k++)
        if (mishap->miscut->trues[k].piece == told->piece)
            return dw_error__set(error, DW_ERR_INPUT, "piece %lld has two lengths",
                                 (long long)told->piece);
    mishap->trues[i] = (struct dw_rest_true){piece.part, told->length};
    return DW_OK;
}

static dw_err true_lengths(struct mishap *mishap, struct dw_error *error)
{
    size_t n = mishap->miscut->n_trues;
    struct dw_rest_piece piece;
    dw_err err = DW_OK;
    if (n == 0)
        return dw_error__set(error, DW_ERR_INPUT, "no length is given");
    if (mishap->miscut->n_done > 0 &&
        !dw_rest__piece(mishap->bar, mishap->miscut->n_done - 1, &piece))
        return dw_error__set(error, DW_ERR_INPUT, "bar %lld has no piece %lld",
                             (long long)mishap->bar->bar, (long long)mishap->miscut->n_done);
    mishap->trues = calloc(n, sizeof *mishap->trues);
    if (!mishap->trues)
        return dw_error__nomem(error);
    for (size_t i = 0; !err && i < n; i++)
        err = read_true(mishap, i, error);
    mishap->redo.trues = mishap->trues;
    mishap->redo.n_trues = n;
    if (!err && mishap->miscut->n_done > 0)
        err = leave_off(mishap, mishap->miscut->n_done, 0, error);
    return err;
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

/* Do the first n pieces accept a tube of this material, those behind a bent end its tail? */
static bool all_accept(const struct mishap *mishap, size_t material, int64_t n)
{
    struct dw_rest_piece piece;
    bool good = true;
    for (int64_t i = 0; good && i < n && dw_rest__piece(mishap->bar, i, &piece); i++) {
        const struct dw_part *part =
            piece.part < mishap->job->n_parts ? &mishap->job->parts[piece.part] : NULL;
        good = false;
        for (size_t k = 0; part && k < part->n_materials; k++)
            good = good || part->materials[k] == (i == 0 ? material : tail_of(mishap, material));
    }
    return good;
}

/* Parts cut from another tube than theirs are no parts: each becomes an offcut. */
static void wrong_tube(struct mishap *mishap, size_t material, int64_t n)
{
    struct dw_rest_piece piece;
    for (int64_t i = 0; i < n && dw_rest__piece(mishap->bar, i, &piece); i++)
        come_off(mishap, i == 0 ? material : tail_of(mishap, material), piece.length, true);
    mishap->cut.n_done = 0;
}

/* Ends of a piece of the shelf that are squared; a bent end is not. */
static int64_t mills_of(const struct mishap *mishap, const struct dw_stock *stock)
{
    size_t material = material_of(mishap->job, stock->material);
    bool bent = material != DW_NONE && mishap->job->materials[material].end_bent;
    return (stock->ends[0] == DW_END_MILL && !bent) + (stock->ends[1] == DW_END_MILL);
}

/* As in the money of the plan, if it knew the piece; else its book value. */
static dw_money value_of(const struct mishap *mishap, const struct dw_stock *stock)
{
    size_t planned = dw_rest__supply(mishap->job, stock->number);
    const struct dw_held_bar *here = dw_rest__here(mishap->plan, stock->number);
    if (planned != DW_NONE)
        return dw_rest__value(&mishap->job->supplies[planned]);
    if (here)
        return dw_rest__counted(mishap->plan, here);
    return stock->owner ? 0 : stock->value;
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
    mishap->price = value_of(mishap, stock);
    mishap->handling = stock->kind == DW_KIND_BAR ? job->saw.bar_cost : job->saw.offcut_cost;
    mishap->n_cuts = cuts_of(mishap, n, rest) + (job->saw.trim > 0 ? mills : 0);
    mishap->redo.cut = &mishap->cut;
    if (!all_accept(mishap, material, n))
        wrong_tube(mishap, material, n);
    come_off(mishap, tail_of(mishap, material), rest, false);
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

/* A new bar is paid for whatever becomes of it: nothing is spent on it yet. */
static dw_err bar_measured(struct mishap *mishap, struct dw_error *error)
{
    const struct dw_miscut *miscut = mishap->miscut;
    if (miscut->measured < 1 || miscut->measured > DW_LENGTH_MAX)
        return dw_error__set(error, DW_ERR_RANGE,
                             "a bar's length must be over 0 and at most 1000 km");
    mishap->redo.measured = miscut->measured;
    return DW_OK;
}

/* --- the whole -------------------------------------------------------------------------------- */

/* What the acts are, and what was spent by them. */
static dw_err understand(struct mishap *mishap, struct dw_error *error)
{
    static const struct {
        dw_err (*read)(struct mishap *, struct dw_error *);
        enum dw_step_kind kind;
    } kinds[] = {
        [DW_MISCUT_SHORT] = {piece_too_short, DW_STEP_MISCUT},
        [DW_MISCUT_WRONG_BAR] = {wrong_bar, DW_STEP_MISCUT},
        [DW_MISCUT_BAR_SHORT] = {bar_measured, DW_STEP_MEASURE},
        [DW_MISCUT_TRUE] = {true_lengths, DW_STEP_TRUE},
        [DW_MISCUT_REST] = {NULL, DW_STEP_HOLD},
    };
    enum dw_miscut_kind kind = mishap->miscut->kind;
    mishap->redo.kind = kinds[kind].kind;
    mishap->redo.bar = mishap->miscut->bar;
    mishap->redo.place = mishap->miscut->place;
    dw_err err = kinds[kind].read ? kinds[kind].read(mishap, error) : DW_OK;
    mishap->cut.loose = mishap->loose;
    if (err || !mishap->redo.cut)
        return err;
    mishap->spent = mishap->price + mishap->handling + mishap->n_cuts * mishap->job->saw.cut_cost;
    for (size_t i = 0; i < mishap->cut.n_loose; i++)
        if (mishap->loose[i].keep)
            mishap->spent -= mishap->loose[i].value;
    return DW_OK;
}

/* The bar in the list, as it is once the acts are done. */
static void mark_bar(const struct mishap *mishap)
{
    struct dw_held_bar *bar = mishap->bar;
    if (!bar)
        return;
    bar->cut = mishap->redo.cut != NULL;
    bar->n_done = mishap->cut.n_done;
    bar->other = mishap->cut.number != NULL;
}

/* Without its document, what the plan was offered is what the shelf has now. */
static dw_err offer_anew(struct mishap *mishap, const struct dw_act *act, struct dw_report *report,
                         struct dw_error *error)
{
    struct dw_shelf_found found;
    char today[11] = {0};
    memcpy(today, act->when, strnlen(act->when, 10));
    struct dw_shelf_request request = {.today = today, .replaces = mishap->plan->id};
    return dw_shelf_supply(mishap->job, mishap->ledger, &request, &found, report, error);
}

static dw_err try_once(struct mishap *mishap, const struct dw_act *act,
                       const struct dw_job_request *request, struct dw_miscut_result *result,
                       struct dw_report *report, struct dw_error *error)
{
    struct dw_held_list *list = NULL;
    int64_t undoable = 0;
    dw_err err = dw_ledger_last(mishap->ledger, &mishap->redo.seen, &undoable, error);
    if (!err)
        err = dw_rest__open(mishap->ledger, mishap->miscut->plan, mishap->job, &list, error);
    if (err)
        return err;
    mishap->plan = mishap->redo.held = &list->rows[0];
    err = find_bar(mishap, list, error);
    if (!err && !mishap->plan->document)
        err = offer_anew(mishap, act, report, error);
    if (!err)
        err = dw_rest__money(mishap->job, mishap->plan, mishap->miscut->bar, &result->before,
                             &mishap->of_bar, error);
    if (!err)
        err = understand(mishap, error);
    result->spent = mishap->spent;
    if (!err) {
        mark_bar(mishap);
        err = dw_redo__run(mishap->ledger, act, mishap->job, &mishap->redo, request, result, report,
                           error);
    }
    result->difference = result->after + result->spent - result->before;
    dw_held_list_free(list);
    free(mishap->trues);
    return err;
}

/* Again if another process was faster with a piece. */
dw_err dw_miscut_run(struct dw_ledger *ledger, const struct dw_act *act, struct dw_job *job,
                     const struct dw_miscut *miscut, const struct dw_job_request *request,
                     struct dw_miscut_result *result, struct dw_report *report,
                     struct dw_error *error)
{
    *result = (struct dw_miscut_result){0};
    const struct dw_job written = *job;
    struct dw_error why = {0};
    dw_err err = request->path ? dw_job_target(request->path, request->replace, &why) : DW_OK;
    for (int i = 0; !err && i < TRIES; i++) {
        struct mishap mishap = {.ledger = ledger, .job = job, .miscut = miscut};
        dw_miscut_result_free(result);
        why = (struct dw_error){0};
        *job = written;
        err = try_once(&mishap, act, request, result, report, &why);
        bool planned = result->back != NULL; /* and could not be booked */
        if (!planned || result->step || (err != DW_ERR_HELD && err != DW_ERR_STATE))
            break;
        if (i < TRIES - 1)
            err = DW_OK;
    }
    return err ? dw_error__at(error, err, why.file, why.line, why.column, "%s", why.text) : DW_OK;
}

/* --- what came of it -------------------------------------------------------------------------- */

bool dw_miscut_came_off(const struct dw_stock_list *list, const struct dw_stock *piece)
{
    for (size_t i = 0; piece->from && i < list->n; i++)
        if (strcmp(list->rows[i].number, piece->from) == 0)
            return true;
    return false;
}

dw_err dw_miscut_at_saw(struct dw_ledger *ledger, int64_t step, struct dw_stock_list **out,
                        struct dw_error *error)
{
    struct dw_stock_query query = {.step = step, .states = ~0u};
    dw_err err = dw_ledger_list(ledger, &query, out, error);
    if (err)
        return err;
    struct dw_stock_list all = **out;
    struct dw_stock *rows = calloc(all.n + 1, sizeof *rows);
    if (!rows) {
        dw_stock_list_free(*out);
        *out = NULL;
        return dw_error__nomem(error);
    }
    size_t n = 0;
    for (size_t i = 0; i < all.n; i++)
        if (all.rows[i].state != DW_STATE_HELD || dw_miscut_came_off(&all, &all.rows[i]))
            rows[n++] = all.rows[i];
    memcpy(all.rows, rows, n * sizeof *rows);
    (*out)->n = n;
    free(rows);
    return DW_OK;
}
