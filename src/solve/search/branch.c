/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars of a length come first (Alves, Valerio de Carvalho 2008). Where all columns are known, pairs
 * of items on one bar (Ryan, Foster 1981) follow, for both of their branches raise the bound; else
 * counts that leave the subproblem a plain knapsack (thresholds on one item after Vanderbeck 2000).
 * Single columns are the last resort. */
#include "solve/search/branch.h"

#include <math.h>
#include <stdlib.h>

#define WHOLE     1e-5
#define LINE_SCAN 20000 /* counts of bars that are looked at one by one */

/* slope is the least price of a bar; the base makes the line touch the money somewhere. */
struct dw_line dw_branch__line(const struct dw_problem *problem, size_t stock, int64_t lo,
                               int64_t hi)
{
    struct dw_line line = {0, problem->stocks[stock].price};
    if (!problem->stocks[stock].stepped || hi < lo || hi - lo > LINE_SCAN)
        return line;
    line.base = INT64_MAX;
    for (int64_t n = lo; n <= hi; n++) {
        dw_money above = dw_bar_stock__money(problem, stock, n) - line.slope * n;
        line.base = above < line.base ? above : line.base;
    }
    return line;
}

struct chooser {
    const struct dw_problem *p;
    const struct dw_relaxed *relaxed;
    const struct dw_branch_limits *limits; /* NULL: none */
    struct dw_branch *out;
    double best; /* how good the best count so far is; 0: none */
};

static double distance(double value)
{
    return fabs(value - floor(value + 0.5));
}

bool dw_branch__is_whole(double value)
{
    return distance(value) <= WHOLE;
}

/* Such a count was branched on, and the limit released. */
static bool beyond(const struct chooser *c, const struct dw_bar_count *count, double value)
{
    for (size_t i = 0; c->limits && i < c->limits->n; i++) {
        const struct dw_bar_count *of = &c->limits->counts[i];
        if (of->kind == count->kind && of->a == count->a && of->b == count->b)
            return value < (double)c->limits->lo[i] - WHOLE ||
                   value > (double)c->limits->hi[i] + WHOLE;
    }
    return false;
}

static void consider_part(struct chooser *c, struct dw_bar_count count, double weight)
{
    double value = dw_relaxed__count(c->p, c->relaxed, &count), off = distance(value);
    if (off <= WHOLE || off * weight <= c->best + 1e-9 || beyond(c, &count, value))
        return;
    c->best = off * weight;
    *c->out = (struct dw_branch){.count = count, .value = value};
}

static void consider(struct chooser *c, enum dw_bar_count_kind kind, size_t a, int64_t b)
{
    consider_part(c, (struct dw_bar_count){.kind = kind, .a = a, .b = b}, 1);
}

/* The longest bars that are used in part: what they give decides most of what is left to others. */
static bool choose_stock(struct chooser *c, double *bars)
{
    dw_relaxed__bars(c->p, c->relaxed, bars);
    for (size_t k = 0; k < c->p->n_stocks; k++) {
        const double length = (double)c->p->stocks[k].cap;
        if (dw_branch__is_whole(bars[k]) || length <= c->best)
            continue;
        c->best = length;
        *c->out = (struct dw_branch){.count = {.kind = DW_COUNT_STOCK, .a = k}, .value = bars[k]};
    }
    return c->best > 0;
}

/* Posts of each kind: with bars, cuts and leftovers they settle the money of a plan. */
static bool choose_posts(struct chooser *c)
{
    for (size_t i = 0; i < c->p->n_items; i++)
        if (c->p->items[i].post)
            consider(c, DW_COUNT_MADE, i, 0);
    return c->best > 0;
}

/* What a bar of the column counts under at a threshold of this kind; 0: never. */
static int64_t length_of(const struct chooser *c, enum dw_bar_count_kind kind, size_t j)
{
    const struct dw_col *col = c->relaxed->support[j].col;
    if (kind == DW_COUNT_KEPT)
        return dw_col__kept_length(c->p, col);
    return col->kept || col->left <= col->slack ? 0 : col->left - col->slack;
}

/* Bars that leave so much or more, for each length that occurs. The threshold lies halfway to the
 * next shorter length that occurs: at the length itself, one that is a mm shorter would take its
 * place, and so on. */
static void consider_lengths(struct chooser *c, enum dw_bar_count_kind kind)
{
    for (size_t j = 0; j < c->relaxed->n; j++) {
        const int64_t length = length_of(c, kind, j);
        int64_t shorter = 0;
        for (size_t i = 0; length > 0 && i < c->relaxed->n; i++) {
            const int64_t other = length_of(c, kind, i);
            shorter = other < length && other > shorter ? other : shorter;
        }
        if (length > 0)
            consider(c, kind, 0, shorter + (length - shorter + 1) / 2);
    }
}

/* Kept leftovers at or above a length. */
static bool choose_kept(struct chooser *c)
{
    consider_lengths(c, DW_COUNT_KEPT);
    return c->best > 0;
}

/* Whether the tables tell what is left of a bar to the nm, after pieces with slack are as long as
 * is of use and no longer. */
static bool waste_is_told(const struct dw_problem *p)
{
    for (size_t q = 0; q < p->n_kinds; q++) {
        const struct dw_bar_kind *kind = &p->kinds[q];
        if (kind->coarse || (kind->n_firm < kind->n_items && !kind->few_slack))
            return false;
    }
    return true;
}

/* Waste at or above each length that occurs: where the bars and how many are filled exactly are
 * settled, so is the sum of what the others leave, which a mean of layouts meets more easily than
 * any one of them. */
static bool choose_waste(struct chooser *c)
{
    if (!dw_problem__saves_cut(c->p) || !waste_is_told(c->p))
        return false;
    consider_lengths(c, DW_COUNT_WASTE);
    return c->best > 0;
}

/* Long pieces first, for the same reason. */
static bool choose_level(struct chooser *c)
{
    for (size_t j = 0; j < c->relaxed->n; j++) {
        const struct dw_col *col = c->relaxed->support[j].col;
        if (dw_branch__is_whole(c->relaxed->support[j].x))
            continue;
        for (size_t i = 0; i < col->n; i++) {
            size_t item = col->entries[i].item;
            int64_t count = dw_col__tail_count(c->p, col, item);
            if (count > 0)
                consider_part(c,
                              (struct dw_bar_count){.kind = DW_COUNT_LEVEL, .a = item, .b = count},
                              (double)c->p->items[item].size);
        }
    }
    return c->best > 0;
}

static bool choose_pair(struct chooser *c)
{
    for (size_t j = 0; j < c->relaxed->n; j++) {
        const struct dw_col *col = c->relaxed->support[j].col;
        if (dw_branch__is_whole(c->relaxed->support[j].x))
            continue;
        for (size_t i = 0; i < col->n; i++)
            for (size_t h = i + 1; h < col->n; h++)
                consider(c, DW_COUNT_PAIR, col->entries[i].item, (int64_t)col->entries[h].item);
        if (c->best > 0.2)
            return true;
    }
    return c->best > 0;
}

static bool choose_col(struct chooser *c)
{
    for (size_t j = 0; j < c->relaxed->n; j++) {
        double x = c->relaxed->support[j].x, off = distance(x);
        if (off <= WHOLE || off <= c->best)
            continue;
        c->best = off;
        *c->out = (struct dw_branch){
            .count = {.kind = DW_COUNT_COL, .a = c->relaxed->support[j].col->index}, .value = x};
    }
    return c->best > 0;
}

/* Whole counts, but packs or price breaks that the line smooths over. */
static bool choose_stepped(struct chooser *c, const double *bars, const struct dw_line *lines)
{
    for (size_t k = 0; k < c->p->n_stocks; k++) {
        double line = (double)lines[k].base + (double)lines[k].slope * bars[k];
        if (!c->p->stocks[k].stepped ||
            (double)dw_bar_stock__money(c->p, k, (int64_t)(bars[k] + 0.5)) <= line + 0.5)
            continue;
        *c->out = (struct dw_branch){
            .count = {.kind = DW_COUNT_STOCK, .a = k}, .value = bars[k], .at_point = true};
        return true;
    }
    return false;
}

/* Counts that settle the money of a plan, but for exact fills and what a leftover is worth by its
 * length. */
static bool choose_bars(struct chooser *c, double *bars)
{
    consider(c, DW_COUNT_BARS, 0, 0);
    if (c->best <= 0)
        consider(c, DW_COUNT_KEPT, 0, 0);
    return c->best > 0 || choose_stock(c, bars) || choose_posts(c);
}

static bool choose_open(struct chooser *c, const struct dw_branch *open)
{
    if (!open)
        return false;
    *c->out = *open;
    c->out->value = dw_relaxed__count(c->p, c->relaxed, &open->count);
    return true;
}

static bool choose_exact(struct chooser *c)
{
    if (dw_problem__saves_cut(c->p))
        consider(c, DW_COUNT_EXACT, 0, 0);
    return c->best > 0;
}

bool dw_branch__choose(const struct dw_problem *problem, const struct dw_relaxed *relaxed,
                       const struct dw_line *lines, const struct dw_branch_limits *limits,
                       const struct dw_branch *open, bool known, struct dw_branch *out, bool *ok)
{
    struct chooser c = {.p = problem, .relaxed = relaxed, .limits = limits, .out = out};
    double *bars = calloc(problem->n_stocks + 1, sizeof *bars);
    *ok = bars != NULL;
    if (!bars)
        return false;
    bool found = choose_bars(&c, bars) || choose_exact(&c) || choose_stepped(&c, bars, lines) ||
                 choose_open(&c, open) || choose_kept(&c) || (known && choose_pair(&c)) ||
                 choose_waste(&c) || choose_level(&c) || (known && choose_col(&c));
    free(bars);
    return found;
}
