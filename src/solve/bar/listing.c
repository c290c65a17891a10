/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Depth-first listing of the layouts above a value, with the tables as bounds: no branch is
 * entered that the tables rule out. With exact tables the first branch leads to the best layout;
 * with coarse ones it is a branch and bound on exact lengths. */
#include "solve/bar/table.h"

#define GLANCE 1024 /* looks between two at the clock */

struct listing {
    struct dw_pricer *pricer;
    size_t stock;
    size_t first;
    int64_t least;
    int64_t steps, max_steps;
    int64_t looks; /* at what so many pieces would give */
    dw_emit *emit;
    void *user;
    size_t n; /* entries in use */
    bool limit, stopped;
};

static bool ended(const struct listing *l)
{
    return l->limit || l->stopped;
}

static void emit_variant(struct listing *l, int64_t left, int64_t slack, bool kept, int64_t value)
{
    if (value < l->least || ended(l))
        return;
    struct dw_col draft = {.stock = l->stock,
                           .first = l->first,
                           .left = left,
                           .slack = slack,
                           .kept = kept,
                           .n = l->n,
                           .entries = l->pricer->entries};
    if (!l->emit(l->user, &draft, value, &l->least))
        l->stopped = true;
}

/* Everything on the bar is decided, but for how long the pieces with slack are. */
static void emit_leaf(struct listing *l, int64_t left, int64_t slack, int64_t value)
{
    const struct dw_pricer *pricer = l->pricer;
    int64_t kept = dw_pricer__kept(pricer, left), thrown = dw_pricer__thrown(pricer, left);
    if (kept > DW_NEVER / 2)
        emit_variant(l, left, 0, true, value + kept);
    if (thrown > DW_NEVER / 2)
        emit_variant(l, left, 0, false, value + thrown);
    if (slack == 0 || left == 0)
        return;
    if (left <= slack && pricer->filled > DW_NEVER / 2)
        emit_variant(l, left, left, false, value + pricer->filled);
    if (dw_stretch__scraps(pricer, left, slack))
        emit_variant(l, left, left - pricer->scrap, false, value + pricer->scrapped);
}

static void descend(struct listing *l, size_t j, int64_t left, int64_t slack, int64_t pieces,
                    int64_t value, bool useful);

/* Whether stages j.. can still lift the value to what is asked. With slack, the table's own entry
 * and the greatest fall of a row are tried before the window is looked through. */
static bool reaches(const struct listing *l, size_t j, int64_t left, int64_t slack, int64_t pieces,
                    int64_t value)
{
    const struct dw_pricer *pricer = l->pricer;
    if (slack > 0 && !pricer->kind->coarse && !pricer->kind->few_slack) {
        int64_t at = value + dw_pricer__row(pricer, j, pieces)[dw_pricer__cell(pricer, left)];
        if (at >= l->least || at + pricer->drop < l->least)
            return at >= l->least;
    }
    return value + dw_pricer__bound(pricer, j, left, slack, pieces) >= l->least;
}

/* a = most .. 1 of the pieces that may still come are of stage j. */
static void take_stage(struct listing *l, size_t j, int64_t left, int64_t slack, int64_t pieces,
                       int64_t value)
{
    struct dw_pricer *pricer = l->pricer;
    const struct dw_stage *stage = &pricer->stages[j];
    int64_t most = left / stage->size < stage->most ? left / stage->size : stage->most;
    most = most < pieces ? most : pieces;
    for (int64_t a = most; a >= 1 && !ended(l); a--) {
        if (++l->looks % GLANCE == 0)
            l->limit = dw_pricer__late(pricer);
        int64_t with = value + dw_stage__value(stage, a);
        int64_t x = left - a * stage->size, room = slack + a * stage->slack;
        if (!reaches(l, j + 1, x, room, pieces - a, with))
            continue;
        pricer->entries[l->n++] = (struct dw_entry){stage->item, a};
        descend(l, j + 1, x, room, pieces - a, with, true);
        l->n--;
    }
}

/* Stages before j are decided. */
static void descend(struct listing *l, size_t j, int64_t left, int64_t slack, int64_t pieces,
                    int64_t value, bool useful)
{
    struct dw_pricer *pricer = l->pricer;
    if (++l->steps > l->max_steps)
        l->limit = true;
    for (; j < pricer->n_stages && !ended(l); j++) {
        if (!reaches(l, j, left, slack, pieces, value))
            return;
        if (pricer->stages[j].size <= left)
            take_stage(l, j, left, slack, pieces, value);
    }
    if (useful && !ended(l))
        emit_leaf(l, left, slack, value);
}

static void start_first(struct listing *l, size_t lead)
{
    const struct dw_pricer *pricer = l->pricer;
    const struct dw_bar_stock *stock = &pricer->problem->stocks[l->stock];
    const struct dw_first *first = &stock->firsts[lead];
    int64_t left = stock->cap - first->size;
    int64_t value = dw_pricer__constant(pricer, l->stock), pieces = pricer->kind->most;
    l->first = lead;
    l->n = 0;
    if (left < 0)
        return;
    if (first->item == DW_NONE) {
        descend(l, 0, left, 0, pieces, value - pricer->prices->scale * pricer->problem->cut_cost,
                false);
    } else if (pricer->prices->demand[first->item] > 0) {
        l->pricer->entries[l->n++] = (struct dw_entry){first->item, 1};
        descend(l, 0, left, first->slack, pieces - 1, value + dw_pricer__unit(pricer, first->item),
                true);
    }
}

static enum dw_listing outcome(const struct listing *l)
{
    if (l->stopped)
        return DW_LISTING_STOPPED;
    return l->limit ? DW_LISTING_LIMIT : DW_LISTING_ALL;
}

static struct listing begin(struct dw_pricer *pricer, size_t stock, int64_t least,
                            int64_t max_steps, dw_emit *emit, void *user)
{
    return (struct listing){.pricer = pricer,
                            .stock = stock,
                            .first = DW_NONE,
                            .least = least,
                            .max_steps = max_steps,
                            .emit = emit,
                            .user = user};
}

enum dw_listing dw_pricer__list_lead(struct dw_pricer *pricer, size_t stock, size_t lead,
                                     int64_t least, int64_t max_steps, dw_emit *emit, void *user)
{
    const struct dw_bar_stock *s = &pricer->problem->stocks[stock];
    struct listing l = begin(pricer, stock, least, max_steps, emit, user);
    if (s->n_firsts > 0)
        start_first(&l, lead);
    else
        take_stage(&l, lead, s->cap, 0, pricer->kind->most, dw_pricer__constant(pricer, stock));
    return outcome(&l);
}

enum dw_listing dw_pricer__list(struct dw_pricer *pricer, size_t stock, int64_t least,
                                int64_t max_steps, dw_emit *emit, void *user)
{
    const struct dw_bar_stock *s = &pricer->problem->stocks[stock];
    struct listing l = begin(pricer, stock, least, max_steps, emit, user);
    for (size_t lead = 0; lead < s->n_firsts && !ended(&l); lead++)
        start_first(&l, lead);
    if (s->n_firsts == 0)
        descend(&l, 0, s->cap, 0, pricer->kind->most, dw_pricer__constant(pricer, stock), false);
    return outcome(&l);
}
