/* SPDX-License-Identifier: GPL-3.0-or-later */
/* dw_plan_check: the bound that the duals of a group prove. See struct dw_certificate. */
#include "model/plan_check.h"

/* The certificate of one group while it is evaluated. */
struct proof {
    struct dw_audit *audit;
    size_t group;
    int64_t scale;
    enum dw_bar_depth depth;
    int64_t *dual;             /* length n_parts; 0 where none is listed */
    struct dw_bar_item *items; /* length n_parts: room for the items of one bar */
    struct dw_bar_room room;
    dw_wide sum; /* scale x bound */
};

int64_t dw_audit__bars_at_most(const struct dw_audit *audit, size_t group,
                               const struct dw_supply *supply)
{
    int64_t count = dw_audit__count(supply);
    int64_t pieces = audit->groups[group].n_pieces;
    return count == DW_UNLIMITED || count > pieces ? pieces : count;
}

/* Smallest multiple of `step` that is at least sum / scale. */
static dw_wide round_up(dw_wide sum, dw_wide scale, dw_wide step)
{
    dw_wide divisor = scale * step;
    dw_wide quotient = sum / divisor;
    if (quotient * divisor < sum)
        quotient++;
    return quotient * step;
}

static bool fill_duals(struct proof *proof, const struct dw_certificate *c)
{
    struct dw_audit *audit = proof->audit;
    bool *seen = dw_arena__alloc(audit->arena, audit->job->n_parts, sizeof *seen);
    if (!seen) {
        audit->say.err = DW_ERR_NOMEM;
        return false;
    }
    for (size_t i = 0; i < c->n_duals; i++) {
        const struct dw_part *part = &audit->job->parts[c->parts[i]];
        if (dw_audit__group_of_part(audit, part) != proof->group || seen[c->parts[i]] ||
            c->duals[i] < 0) {
            dw_audit__wrong(audit,
                            "group %zu: the dual of %s is negative, listed twice or not of "
                            "the group",
                            proof->group + 1, part->label);
            return false;
        }
        seen[c->parts[i]] = true;
        proof->dual[c->parts[i]] = c->duals[i];
    }
    return true;
}

/* What one piece adds to the value of a bar: y of a part, worth less y of a post, less its cut. */
static dw_wide piece_value(const struct proof *proof, size_t i)
{
    const struct dw_job *job = proof->audit->job;
    dw_wide cut = (dw_wide)proof->scale * job->saw.cut_cost;
    dw_wide worth = (dw_wide)proof->scale * job->parts[i].worth;
    return (job->parts[i].post ? worth - proof->dual[i] : proof->dual[i]) - cut;
}

#define VALUE_MAX ((dw_wide)1 << 61)

static bool too_large(dw_wide value)
{
    return value >= VALUE_MAX || value <= -VALUE_MAX;
}

/* Items of the straight part of a bar, but one copy of part `without` (DW_NONE: all). */
static size_t list_items(struct proof *proof, size_t material, size_t without)
{
    const struct dw_job *job = proof->audit->job;
    size_t n = 0;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        int64_t copies = part->count - (i == without);
        if (copies == 0 || !dw_audit__accepts(part, material))
            continue;
        proof->items[n++] = (struct dw_bar_item){.min = part->min,
                                                 .max = part->max,
                                                 .value = (int64_t)piece_value(proof, i),
                                                 .copies = copies};
    }
    return n;
}

static void best_of(struct proof *proof, struct dw_bar *bar, size_t without, int64_t *best)
{
    struct dw_audit *audit = proof->audit;
    size_t n = list_items(proof, bar->leftover_material, without);
    dw_err err = dw_bar__best(audit, bar, proof->items, n, &proof->room, best);
    if (err == DW_ERR_RANGE)
        dw_audit__wrong(audit, "group %zu: the duals are too large to be summed", proof->group + 1);
    else if (err != DW_OK)
        audit->say.err = err;
}

/* Each bent part in turn at the head of the bar, then the bend end. */
static void best_bent(struct proof *proof, const struct dw_supply *supply, struct dw_bar *bar,
                      int64_t *best)
{
    const struct dw_job *job = proof->audit->job;
    for (size_t i = 0; i < job->n_parts; i++) {
        const struct dw_part *part = &job->parts[i];
        if (!dw_audit__accepts(part, supply->material) || part->max < supply->bend)
            continue;
        bar->first_min = part->min > supply->bend ? part->min : supply->bend;
        bar->first_max = part->max;
        bar->first_value = (int64_t)piece_value(proof, i);
        bar->first_counts = true;
        best_of(proof, bar, i, best);
    }
    bar->first_min = bar->first_max = supply->bend;
    bar->first_value = -proof->scale * job->saw.cut_cost;
    bar->first_counts = false;
    best_of(proof, bar, DW_NONE, best);
}

/* max(0, z_k) x scale */
static int64_t best_layout(struct proof *proof, const struct dw_supply *supply)
{
    const struct dw_job *job = proof->audit->job;
    dw_wide fixed = dw_audit__lowest(supply) + (dw_wide)dw_audit__handling(proof->audit, supply) +
                    (dw_wide)dw_audit__squarings(supply) * job->saw.cut_cost;
    dw_wide most = dw_audit__phi(proof->audit, dw_audit__tail(supply), dw_audit__usable(supply));
    if (too_large(fixed * proof->scale) || too_large(most * proof->scale)) {
        dw_audit__wrong(proof->audit, "group %zu: the scale of the duals is too large",
                        proof->group + 1);
        return 0;
    }
    struct dw_bar bar = {.depth = proof->depth,
                         .usable = dw_audit__usable(supply),
                         .kerf = job->saw.kerf,
                         .grip = dw_audit__held(proof->audit, supply),
                         .exact = job->saw.cut_cost * proof->scale,
                         .scale = proof->scale,
                         .no_middling = job->rules.no_middling,
                         .most =
                             job->rules.most_pieces == DW_UNLIMITED ? 0 : job->rules.most_pieces,
                         .leftover_material = dw_audit__tail(supply)};
    int64_t price = (int64_t)(fixed * proof->scale);
    int64_t best = price; /* what earns no more than the bar costs has z <= 0 */
    if (supply->bend > 0)
        best_bent(proof, supply, &bar, &best);
    else
        best_of(proof, &bar, DW_NONE, &best);
    return best - price;
}

static bool values_fit(struct proof *proof)
{
    const struct dw_job *job = proof->audit->job;
    bool fit = !too_large((dw_wide)proof->scale * job->saw.cut_cost);
    for (size_t i = 0; i < job->n_parts && fit; i++)
        if (dw_audit__group_of_part(proof->audit, &job->parts[i]) == proof->group)
            fit = !too_large(piece_value(proof, i)) && !too_large(proof->dual[i]);
    if (!fit)
        dw_audit__wrong(proof->audit, "group %zu: the duals or their scale are too large",
                        proof->group + 1);
    return fit;
}

static void sum_proof(struct proof *proof)
{
    struct dw_audit *audit = proof->audit;
    const struct dw_job *job = audit->job;
    for (size_t i = 0; i < job->n_parts; i++) {
        dw_wide money = (dw_wide)proof->dual[i] * job->parts[i].count;
        proof->sum += job->parts[i].post ? -money : money;
    }
    size_t wrong_before = dw_audit__n_wrong(audit);
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        if (dw_audit__group_of_supply(audit, supply) != proof->group)
            continue;
        int64_t bars = dw_audit__bars_at_most(audit, proof->group, supply);
        if (bars > 0)
            proof->sum -= (dw_wide)bars * best_layout(proof, supply);
        if (audit->say.err != DW_OK || dw_audit__n_wrong(audit) > wrong_before ||
            dw_audit__late(audit))
            return;
    }
}

/* From so many parts on, bounds of z_k are tried first: mostly enough is proven so. */
#define MANY_PARTS 500

/* The bound that the duals prove, or one below it that is at least as much as is claimed. */
static dw_wide prove(struct proof *proof, dw_money claimed)
{
    struct dw_audit *audit = proof->audit;
    size_t wrong_before = dw_audit__n_wrong(audit);
    dw_wide proven = 0;
    bool many = audit->job->n_parts >= MANY_PARTS;
    for (int depth = many ? DW_BAR_OUTLINE : DW_BAR_EXACT; depth <= DW_BAR_EXACT; depth++) {
        proof->depth = (enum dw_bar_depth)depth;
        proof->sum = 0;
        sum_proof(proof);
        if (audit->say.err != DW_OK || dw_audit__n_wrong(audit) > wrong_before ||
            dw_audit__late(audit))
            return 0;
        proven = round_up(proof->sum, proof->scale, dw_audit__grid(audit, proof->group));
        if (proven >= claimed)
            break;
    }
    return proven;
}

static void check_certificate(struct dw_audit *audit, size_t g)
{
    const struct dw_certificate *c = &audit->plan->groups[g].certificate;
    size_t n_parts = audit->job->n_parts;
    struct proof proof = {.audit = audit, .group = g, .scale = c->scale};
    size_t wrong_before = dw_audit__n_wrong(audit);
    if (c->scale < 1) {
        dw_audit__wrong(audit, "group %zu: the scale of the duals is not positive", g + 1);
        return;
    }
    dw_wide proven = 0;
    proof.dual = dw_arena__alloc(audit->arena, n_parts, sizeof *proof.dual);
    proof.items = dw_arena__alloc(audit->arena, n_parts, sizeof *proof.items);
    if (!proof.dual || !proof.items)
        audit->say.err = DW_ERR_NOMEM;
    else if (fill_duals(&proof, c) && values_fit(&proof))
        proven = prove(&proof, c->bound);
    dw_bar__free(&proof.room);
    if (audit->say.err != DW_OK || dw_audit__n_wrong(audit) > wrong_before)
        return;
    if (dw_audit__late(audit)) {
        audit->patience->unproved[g] = true;
        return;
    }
    if (proven > audit->groups[g].proven)
        audit->groups[g].proven = proven;
    if (c->bound > proven)
        dw_audit__wrong(audit, "group %zu: the duals prove a bound of %s, not %s", g + 1,
                        dw_check__money(&audit->say, (dw_money)proven).text,
                        dw_check__money(&audit->say, c->bound).text);
}

/* - sum worth_j d_j - sum u_k max(0, phi(U_k) - c_k) */
static dw_wide trivial_bound(const struct dw_audit *audit, size_t g)
{
    const struct dw_job *job = audit->job;
    dw_wide bound = 0;
    for (size_t i = 0; i < job->n_parts; i++)
        if (dw_audit__group_of_part(audit, &job->parts[i]) == g)
            bound -= (dw_wide)job->parts[i].worth * job->parts[i].count;
    for (size_t i = 0; i < job->n_supplies; i++) {
        const struct dw_supply *supply = &job->supplies[i];
        if (dw_audit__group_of_supply(audit, supply) != g)
            continue;
        dw_wide gain =
            (dw_wide)dw_audit__phi(audit, dw_audit__tail(supply), dw_audit__usable(supply)) -
            dw_audit__lowest(supply);
        if (gain > 0)
            bound -= gain * dw_audit__bars_at_most(audit, g, supply);
    }
    return bound;
}

static void check_bound(struct dw_audit *audit, size_t g)
{
    const struct dw_group *group = &audit->plan->groups[g];
    const struct dw_certificate *c = &group->certificate;
    struct dw_audit_group *sum = &audit->groups[g];
    sum->proven = trivial_bound(audit, g);
    if (group->proof == DW_PROOF_NONE && (c->n_duals > 0 || group->bound > sum->proven))
        dw_audit__wrong(audit, "group %zu: the bound has no proof", g + 1);
    if (group->proof == DW_PROOF_DUALS && (c->n_duals == 0 || group->bound != c->bound))
        dw_audit__wrong(audit, "group %zu: the bound is not that of its duals", g + 1);
    if (c->n_duals > 0 && c->bound > group->value)
        dw_audit__wrong(audit, "group %zu: the bound of the duals passes the value", g + 1);
    if (c->n_duals > 0)
        check_certificate(audit, g);
    sum->settled = sum->proven >= group->value;
}

/* That no bar gives a part has been looked at: see check_shortage. How many of the others are
 * missing has not. */
static bool lacks_for_certain(const struct dw_group *group)
{
    bool never = false;
    for (size_t i = 0; i < group->n_shortages; i++)
        never = never || group->shortages[i].never;
    return never;
}

void dw_audit__bounds(struct dw_audit *audit)
{
    for (size_t g = 0; g < audit->plan->n_groups; g++) {
        const struct dw_group *group = &audit->plan->groups[g];
        if (group->status == DW_STATUS_INFEASIBLE)
            audit->groups[g].settled = lacks_for_certain(group);
        else
            check_bound(audit, g);
    }
}
