/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans: holding pieces for one, releasing them. */
#include "ledger/ledger.h"

#include <stdlib.h>

#define MAX_BARS 100000 /* of one plan that is held */

dw_err dw_ledger__plan_open(struct dw_ledger *ledger, int64_t plan, struct dw_error *error)
{
    int64_t open = 0;
    dw_err err = dw_sql__int(ledger, &open, -1, error, "SELECT open FROM live_plans WHERE id = ?",
                             "i", plan);
    if (!err && open < 0)
        err = dw_error__set(error, DW_ERR_NOTFOUND, "there is no plan %lld in the ledger",
                            (long long)plan);
    else if (!err && open == 0)
        err = dw_error__set(error, DW_ERR_STATE, "plan %lld is closed: it was released or replaced",
                            (long long)plan);
    return err;
}

/* Closes a plan: what it holds is on the shelf again. */
static dw_err close_plan(struct dw_ledger *ledger, int64_t plan, const char *why,
                         struct dw_error *error)
{
    dw_err err = dw_ledger__plan_open(ledger, plan, error);
    if (!err)
        err = dw_sql__run(ledger, NULL, error,
                          "INSERT INTO plan_ends(step, plan, why) VALUES (?, ?, ?)", "iit",
                          ledger->step, plan, why);
    if (!err)
        err =
            dw_sql__run(ledger, NULL, error,
                        "UPDATE pieces SET state = 'shelf', plan = NULL WHERE plan = ?", "i", plan);
    return err;
}

dw_err dw_ledger_release(struct dw_ledger *ledger, const struct dw_act *act, int64_t plan_id,
                         int64_t *step, struct dw_error *error)
{
    dw_err err = dw_ledger__begin(ledger, act, DW_STEP_RELEASE, plan_id, error);
    if (err)
        return err;
    err = close_plan(ledger, plan_id, "released", error);
    return dw_ledger__end(ledger, err, step, error);
}

/* --- entering a plan -------------------------------------------------------------------------- */

struct entry {
    const struct dw_job *job;
    const struct dw_plan *plan;
    const struct dw_hold *hold;
    int64_t id;
    int64_t bar;        /* last one entered */
    int64_t *materials; /* length n_materials of the job: id in the ledger, 0 = not looked up yet */
};

/* Enters a material of the job when the first bar of it comes. */
static dw_err material_of(struct dw_ledger *ledger, const struct entry *entry, size_t material,
                          int64_t *id, struct dw_error *error)
{
    int64_t *known = &entry->materials[material];
    dw_err err = DW_OK;
    if (*known == 0)
        err = dw_ledger__material(ledger, &entry->job->materials[material], known, error);
    *id = *known;
    return err;
}

static dw_err enter_pieces(struct dw_ledger *ledger, const struct entry *entry, size_t at,
                           struct dw_error *error)
{
    const struct dw_layout *layout = &entry->plan->layouts[at];
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < layout->n_pieces; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        bool named = piece->part != DW_NONE;
        int64_t part = -1;
        if (named)
            part = (int64_t)(entry->job->part_of ? entry->job->part_of[piece->part] : piece->part);
        err = dw_sql__run(
            ledger, NULL, error,
            "INSERT INTO plan_pieces(plan, layout, seq, use, part, label, length,"
            " count) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            "iiititii", entry->id, (int64_t)at, (int64_t)i, dw_ledger__use_word(piece->use), part,
            named ? entry->job->parts[piece->part].label : NULL, piece->length, piece->count);
    }
    return err;
}

/* A quote charges the book value that the document says: it must be the ledger's. */
static dw_err compare_value(struct dw_ledger *ledger, const struct dw_supply *supply, int64_t piece,
                            struct dw_error *error)
{
    int64_t value = 0;
    dw_err err = dw_sql__int(ledger, &value, 0, error,
                             "SELECT value FROM pieces WHERE id = ? AND owner IS NULL", "i", piece);
    if (!err && value != supply->paid)
        err = dw_error__set(error, DW_ERR_STATE,
                            "piece %s has another book value in the ledger than in the plan: plan "
                            "again",
                            supply->id);
    return err;
}

/* Takes the piece that a supply names, if it is as the job says. */
static dw_err take_piece(struct dw_ledger *ledger, const struct entry *entry,
                         const struct dw_supply *supply, int64_t material, int64_t *id,
                         struct dw_error *error)
{
    struct dw_piece_row piece;
    dw_length length = supply->measured ? supply->measured : supply->length;
    dw_err err = dw_ledger__find(ledger, supply->id, &piece, error);
    if (!err)
        err = dw_ledger__free_for(ledger, supply->id, &piece, 0, error);
    if (!err && (piece.material != material || piece.length != length))
        err = dw_error__set(error, DW_ERR_STATE,
                            "piece %s has changed in the ledger since the plan was made: plan "
                            "again",
                            supply->id);
    if (!err && supply->brought)
        err = compare_value(ledger, supply, piece.id, error);
    if (!err)
        err = dw_sql__run(ledger, NULL, error,
                          "UPDATE pieces SET state = 'held', plan = ? WHERE id = ?", "ii",
                          entry->id, piece.id);
    *id = piece.id;
    return err;
}

static dw_err enter_bar(struct dw_ledger *ledger, struct entry *entry, size_t at,
                        struct dw_error *error)
{
    const struct dw_job *job = entry->job;
    const struct dw_layout *layout = &entry->plan->layouts[at];
    const struct dw_supply *supply = &job->supplies[layout->supply];
    size_t left = supply->bend > 0 && supply->tail_material != DW_NONE ? supply->tail_material
                                                                       : supply->material;
    int64_t material = 0, left_material = 0, piece = 0;
    dw_err err = material_of(ledger, entry, supply->material, &material, error);
    if (!err)
        err = material_of(ledger, entry, left, &left_material, error);
    if (!err && supply->source != DW_SOURCE_NEW)
        err = take_piece(ledger, entry, supply, material, &piece, error);
    dw_money left_value =
        layout->rest == DW_REST_KEPT ? dw_job_worth(job, left, layout->leftover) : 0;
    enum dw_end left_far = supply->trim > 0 ? DW_END_SAWN : supply->ends[1];
    if (!err)
        err = dw_sql__run(
            ledger, NULL, error,
            "INSERT INTO plan_bars(plan, bar, layout, supply, piece, material, source, nominal,"
            " length, price, datum, far, trim, rest, leftover, left_material, left_far,"
            " left_value) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            "iiitnitiiittitiiti", entry->id, ++entry->bar, (int64_t)at, supply->id, piece, material,
            dw_source_word(supply->source), supply->length,
            supply->measured ? supply->measured : supply->length, supply->price,
            dw_end_word(supply->ends[0]), dw_end_word(supply->ends[1]),
            supply->trim * dw_supply_squarings(supply), dw_rest_word(layout->rest),
            layout->leftover, left_material, dw_end_word(left_far), left_value);
    return err;
}

/* The tube of a purchase, where no bar of the plan says it. */
static dw_err enter_spare(struct dw_ledger *ledger, struct entry *entry,
                          const struct dw_supply *supply, struct dw_error *error)
{
    int64_t material = 0;
    dw_err err = material_of(ledger, entry, supply->material, &material, error);
    if (!err)
        err = dw_sql__run(ledger, NULL, error,
                          "INSERT INTO plan_spares(plan, supply, material, length, datum, far)"
                          " VALUES (?, ?, ?, ?, ?, ?)",
                          "itiitt", entry->id, supply->id, material,
                          supply->measured ? supply->measured : supply->length,
                          dw_end_word(supply->ends[0]), dw_end_word(supply->ends[1]));
    return err;
}

static dw_err enter_buys(struct dw_ledger *ledger, struct entry *entry, struct dw_error *error)
{
    dw_err err = DW_OK;
    for (size_t i = 0; !err && i < entry->plan->n_takes; i++) {
        const struct dw_take *take = &entry->plan->takes[i];
        const struct dw_supply *supply = &entry->job->supplies[take->supply];
        if (supply->source != DW_SOURCE_NEW)
            continue;
        err = dw_sql__run(ledger, NULL, error,
                          "INSERT INTO plan_buys(plan, supply, supplier, pack, bought, money)"
                          " VALUES (?, ?, ?, ?, ?, ?)",
                          "ittiii", entry->id, supply->id, supply->supplier, supply->pack,
                          take->bought, take->money);
        if (!err && take->used == 0)
            err = enter_spare(ledger, entry, supply, error);
    }
    return err;
}

dw_err dw_ledger_next_plan(struct dw_ledger *ledger, int64_t *id, struct dw_error *error)
{
    return dw_sql__int(ledger, id, 1, error,
                       "SELECT 1 + max(coalesce((SELECT max(id) FROM plans), 0),"
                       " coalesce((SELECT max(last_plan) FROM restores), 0))",
                       "");
}

/* The plan's own money, taken as the job counts it. */
static dw_err enter_plan(struct dw_ledger *ledger, struct entry *entry, struct dw_error *error)
{
    const struct dw_hold *hold = entry->hold;
    dw_err err = dw_ledger_next_plan(ledger, &entry->id, error);
    if (!err)
        err = dw_sql__run(ledger, NULL, error,
                          "INSERT INTO plans(id, step, job, digest, value, document, replaces)"
                          " VALUES (?, ?, ?, ?, ?, ?, ?)",
                          "iitiitn", entry->id, ledger->step, entry->job->name,
                          (int64_t)hold->job_digest, entry->plan->totals.value, hold->document,
                          hold->replaces);
    if (!err)
        err = enter_buys(ledger, entry, error);
    for (size_t i = 0; !err && i < entry->plan->n_layouts; i++) {
        err = enter_pieces(ledger, entry, i, error);
        for (int64_t k = 0; !err && k < entry->plan->layouts[i].count; k++)
            err = enter_bar(ledger, entry, i, error);
    }
    return err;
}

static dw_err check_plan(const struct dw_job *job, const struct dw_plan *plan,
                         struct dw_error *error)
{
    int64_t bars = 0;
    if (plan->status == DW_STATUS_INFEASIBLE)
        return dw_error__set(error, DW_ERR_STATE, "there is no plan to hold: not enough tube");
    for (size_t i = 0; i < plan->n_layouts; i++) {
        if (plan->layouts[i].supply >= job->n_supplies || plan->layouts[i].count < 1)
            return dw_error__set(error, DW_ERR_INPUT, "the plan does not belong to this job");
        if (!dw_add__i64(bars, plan->layouts[i].count, &bars) || bars > MAX_BARS)
            return dw_error__set(error, DW_ERR_LIMIT, "a plan of over %d bars can't be held",
                                 MAX_BARS);
    }
    return dw_ledger__text_ok("the job's name", job->name, 1000, error);
}

dw_err dw_ledger_plan_of(struct dw_ledger *ledger, uint64_t job_digest, int64_t *plan_id,
                         struct dw_error *error)
{
    return dw_sql__int(ledger, plan_id, 0, error,
                       "SELECT max(id) FROM live_plans AS p WHERE open AND digest = ? AND"
                       " ((SELECT count(*) FROM plan_bars WHERE plan = p.id) >"
                       " (SELECT count(*) FROM live_cuts WHERE plan = p.id) OR"
                       " (SELECT sum((SELECT sum(count) FROM plan_pieces WHERE plan = p.id AND"
                       "  layout = b.layout) - c.done) FROM live_cuts AS c JOIN plan_bars AS b"
                       "  ON b.plan = c.plan AND b.bar = c.bar WHERE c.plan = p.id) > 0)",
                       "i", (int64_t)job_digest);
}

/* A job that is held by two plans is cut twice. A plan that takes over is no second one. */
static dw_err refuse_twice(struct dw_ledger *ledger, const struct dw_hold *hold,
                           struct dw_error *error)
{
    int64_t other = 0;
    if (hold->again || hold->replaces)
        return DW_OK;
    dw_err err = dw_ledger_plan_of(ledger, hold->job_digest, &other, error);
    if (!err && other)
        err = dw_error__set(error, DW_ERR_EXISTS,
                            "plan %lld holds this job already: cut by it, plan its rest, release "
                            "it, or say that the job is to be made once more",
                            (long long)other);
    return err;
}

dw_err dw_ledger_hold(struct dw_ledger *ledger, const struct dw_act *act, const struct dw_job *job,
                      const struct dw_plan *plan, const struct dw_hold *hold, int64_t *plan_id,
                      int64_t *step, struct dw_error *error)
{
    *plan_id = 0;
    struct entry entry = {.job = job, .plan = plan, .hold = hold};
    entry.materials = calloc(job->n_materials + 1, sizeof *entry.materials);
    dw_err err = entry.materials ? check_plan(job, plan, error) : dw_error__nomem(error);
    if (!err)
        err = dw_ledger__begin(ledger, act, DW_STEP_HOLD, hold->replaces, error);
    if (!err) {
        err = refuse_twice(ledger, hold, error);
        if (!err && hold->replaces)
            err = close_plan(ledger, hold->replaces, "replaced", error);
        if (!err)
            err = enter_plan(ledger, &entry, error);
        err = dw_ledger__end(ledger, err, step, error);
    }
    if (!err)
        *plan_id = entry.id;
    free(entry.materials);
    return err;
}
