/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan costs its bars, a cut a piece, and gets back what posts and kept leftovers are worth and a
 * cut for each exact fill. With bars and posts given, only the last two are open: often they are
 * all multiples of the same. */
#include "solve/search/core.h"

#include <stdlib.h>

struct range {
    int64_t lo, hi;
};

struct steps {
    const struct dw_search *s;
    const struct dw_search_node *node;
    const struct dw_relax *relax;
    const struct dw_relaxed *relaxed;
    dw_wide room;     /* numerator: what duals may take */
    const bool *made; /* length n_items: by columns that matter; NULL: not known */
    bool kept;        /* one of these keeps a leftover */
};

/* How much slack a row of such a dual may have. */
static int64_t slack(const struct steps *steps, int64_t dual)
{
    if (dual == 0)
        return INT64_MAX / 4;
    dw_wide most = steps->room / (dual < 0 ? -(dw_wide)dual : (dw_wide)dual);
    return most > INT64_MAX / 4 ? INT64_MAX / 4 : (int64_t)most;
}

static void at_least(struct range *range, int64_t lo)
{
    range->lo = lo > range->lo ? lo : range->lo;
}

static void at_most(struct range *range, int64_t hi)
{
    range->hi = hi < range->hi ? hi : range->hi;
}

/* What the node's own limits and their duals say of a count; those of leftovers of some length say
 * nothing of the others. */
static void limit(const struct steps *steps, enum dw_bar_count_kind kind, size_t a,
                  struct range *range)
{
    for (size_t c = 0; c < steps->node->n_limits; c++) {
        const struct dw_limit *limit = &steps->node->limits[c];
        const struct dw_bar_count *count = &steps->s->counts[limit->count];
        const int64_t dual = steps->relaxed->prices.count[c];
        if (count->kind != kind || count->a != a || count->b != 0)
            continue;
        at_least(range, limit->lo);
        at_most(range, limit->hi);
        if (dual > 0)
            at_most(range, limit->lo + slack(steps, dual));
        if (dual < 0)
            at_least(range, limit->hi - slack(steps, dual));
    }
}

/* A stock without columns that matter has no bar in a cheaper plan. */
static struct range bars_of(const struct steps *steps, size_t stock)
{
    const int64_t dual = steps->relaxed->prices.stock[stock], avail = steps->relax->avail[stock];
    struct range range = {0, -(dw_wide)steps->relaxed->most[stock] <= steps->room ? avail : 0};
    if (steps->s->p->stocks[stock].limited && dual < 0)
        at_least(&range, avail - slack(steps, dual));
    limit(steps, DW_COUNT_STOCK, stock, &range);
    return range;
}

static struct range posts_of(const struct steps *steps, size_t item)
{
    const int64_t dual = steps->relaxed->prices.item[item], most = steps->relax->demand[item];
    struct range range = {0, steps->made && !steps->made[item] ? 0 : most};
    if (dual < 0)
        at_least(&range, most - slack(steps, dual));
    limit(steps, DW_COUNT_MADE, item, &range);
    return range;
}

static struct range kept_of(const struct steps *steps)
{
    struct range range = {0, steps->made && !steps->kept ? 0 : INT64_MAX / 4};
    limit(steps, DW_COUNT_KEPT, 0, &range);
    return range;
}

/* What the columns that matter make. */
static void look_at(struct steps *steps, const struct dw_known *known, bool *made)
{
    const struct dw_col *const *cols = dw_known__cols(known);
    for (size_t j = 0; j < dw_known__n(known); j++) {
        steps->kept = steps->kept || cols[j]->kept;
        for (size_t i = 0; i < cols[j]->n; i++)
            made[cols[j]->entries[i].item] = true;
    }
    steps->made = made;
}

/* Counts that are not given, and the first of them. */
struct open {
    size_t n;
    struct dw_branch first;
};

static bool note(struct open *open, struct range range, enum dw_bar_count_kind kind, size_t a)
{
    if (range.lo == range.hi)
        return false;
    if (open->n++ == 0)
        open->first = (struct dw_branch){.count = {.kind = kind, .a = a}, .at_point = true};
    return true;
}

/* The last stock that is not given has what the others leave of a given number of bars. */
static void note_bars(const struct steps *steps, struct open *open, dw_money *money)
{
    const struct dw_problem *p = steps->s->p;
    struct range all = {0, INT64_MAX / 4};
    size_t last = DW_NONE;
    limit(steps, DW_COUNT_BARS, 0, &all);
    int64_t rest = all.lo;
    for (size_t k = 0; k < p->n_stocks; k++) {
        const struct range range = bars_of(steps, k);
        if (note(open, range, DW_COUNT_STOCK, k)) {
            last = k;
            continue;
        }
        rest -= range.lo;
        *money += range.lo * (steps->relax->bar[k] + p->stocks[k].fixed);
    }
    if (open->n != 1 || all.lo != all.hi)
        return;
    open->n = 0;
    *money += rest * (steps->relax->bar[last] + p->stocks[last].fixed);
}

static void note_posts(const struct steps *steps, struct open *open, dw_money *money)
{
    const struct dw_problem *p = steps->s->p;
    for (size_t i = 0; i < p->n_items; i++) {
        if (!p->items[i].post)
            continue;
        const struct range range = posts_of(steps, i);
        if (!note(open, range, DW_COUNT_MADE, i))
            *money -= range.lo * p->items[i].worth;
    }
}

/* What all that leftovers of a kind can be worth are multiples of; 1: no more is told. */
static dw_money worth_step(const struct dw_problem *p, const struct dw_bar_kind *kind)
{
    const struct dw_worth *worth = &p->job->materials[kind->material].worth;
    dw_money step = 0;
    if (worth->kind != DW_WORTH_CLASSES)
        return worth->kind == DW_WORTH_NONE ? 0 : 1;
    for (size_t i = 0; i < worth->n_classes; i++) {
        const struct dw_worth_class *class = &worth->classes[i];
        const int64_t from = class->from > worth->keep ? class->from : worth->keep;
        if (kind->cap_den > 0 && dw_bar_kind__worth(p, kind, from) < class->worth)
            return 1;
        step = dw_gcd__i64(step, class->worth);
    }
    return step;
}

/* By what plans differ when bars and posts are given. *open: kept leftovers, if these are to be
 * given as well. 0: not told. */
static dw_money find_step(const struct steps *steps, bool *open)
{
    const struct dw_problem *p = steps->s->p;
    const struct range kept = kept_of(steps);
    dw_money step = p->cut_cost, worth = 0;
    bool told = dw_problem__saves_cut(p) && !p->missing && steps->room >= 0;
    for (size_t k = 0; told && k < p->n_stocks; k++)
        told = !p->stocks[k].stepped;
    for (size_t q = 0; told && q < p->n_kinds; q++)
        worth = dw_gcd__i64(worth, worth_step(p, &p->kinds[q]));
    *open = kept.hi > 0 && worth == 1;
    if (kept.hi > 0 && worth > 1)
        step = dw_gcd__i64(step, worth);
    told = told && (!*open || kept.lo == 0) && step > p->grid;
    return told ? step : 0;
}

bool dw_search__ladder(const struct dw_search *s, struct dw_search_node *node,
                       const struct dw_relax *relax, const struct dw_relaxed *relaxed,
                       const struct dw_known *known, struct dw_branch *first)
{
    struct steps steps = {.s = s, .node = node, .relax = relax, .relaxed = relaxed};
    steps.room = dw_relaxed__room(s->p, relax, relaxed, s->best->money);
    bool *made = calloc(s->p->n_items + 1, sizeof *made), kept = false;
    struct open open = {0};
    if (!made)
        return false;
    if (known)
        look_at(&steps, known, made);
    const dw_money step = find_step(&steps, &kept);
    dw_money money = relax->base;
    if (step > 0) {
        note_bars(&steps, &open, &money);
        note_posts(&steps, &open, &money);
        if (kept)
            note(&open, kept_of(&steps), DW_COUNT_KEPT, 0);
    }
    free(made);
    if (step > 0 && open.n == 0)
        node->ladder = (struct dw_ladder){step, (money % step + step) % step};
    *first = open.first;
    return open.n > 0;
}
