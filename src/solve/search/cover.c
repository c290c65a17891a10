/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Depth-first search for an exact cover within a sum of reduced costs. */
#include "solve/search/cover.h"

#include <stdlib.h>

/* A column, by what its reduced cost takes of the room. */
struct option {
    const struct dw_col *col;
    dw_wide cost; /* >= 0 */
    int dead;     /* reasons why it cannot be cut any more */
};

/* One option of an item. */
struct use {
    size_t option;
    int64_t count;
};

struct cover {
    const struct dw_problem *p;
    size_t n;
    struct option *options; /* length n, the cheapest first */
    size_t *first;          /* length n_items + 1: of its uses */
    struct use *uses;
    int64_t *left;  /* length n_items */
    int64_t *alive; /* length n_items: options that are not dead */
    int64_t *bars;  /* length n_stocks: still to be had */
    dw_wide room;   /* what options may still cost */
    size_t within;  /* options below it cost no more than the room */
    dw_money money; /* of what is taken */
    dw_money cutoff;
    const dw_money *bar; /* length n_stocks, borrowed */
    size_t n_taken;
    size_t *taken; /* length n_taken, at most n_pieces */
    int64_t *steps;
};

/* --- making ------------------------------------------------------------------------------- */

static int by_cost(const void *a, const void *b)
{
    const struct option *x = a, *y = b;
    if (x->cost != y->cost)
        return x->cost < y->cost ? -1 : 1;
    return (x->col->index > y->col->index) - (x->col->index < y->col->index);
}

/* A bent first part is counted by itself where columns are made: with it there may be more pieces
 * of an item than are wanted. */
static bool fits(const struct dw_relax *relax, const struct dw_col *col)
{
    bool ok = relax->avail[col->stock] > 0;
    for (size_t i = 0; ok && i < col->n; i++)
        ok = col->entries[i].count <= relax->demand[col->entries[i].item];
    return ok;
}

/* The bound takes the largest value of a stock's columns off for each of its bars. */
static void make_options(struct cover *c, const struct dw_relax *relax,
                         const struct dw_relaxed *relaxed)
{
    for (size_t j = 0; j < relax->n_list; j++) {
        const struct dw_col *col = relax->list[j];
        const int64_t most = relaxed->most[col->stock];
        dw_wide cost =
            (dw_wide)(most > 0 ? most : 0) - dw_prices__value(c->p, &relaxed->prices, col);
        if (cost <= c->room && fits(relax, col))
            c->options[c->n++] = (struct option){col, cost > 0 ? cost : 0, 0};
    }
    if (c->n > 0)
        qsort(c->options, c->n, sizeof *c->options, by_cost);
    c->within = c->n;
}

static bool make_uses(struct cover *c)
{
    size_t n_uses = 0;
    for (size_t j = 0; j < c->n; j++)
        for (size_t i = 0; i < c->options[j].col->n; i++, n_uses++)
            c->first[c->options[j].col->entries[i].item + 1]++;
    c->uses = calloc(n_uses + 1, sizeof *c->uses);
    if (!c->uses)
        return false;
    for (size_t i = 0; i < c->p->n_items; i++)
        c->first[i + 1] += c->first[i];
    for (size_t j = 0; j < c->n; j++)
        for (size_t i = 0; i < c->options[j].col->n; i++) {
            const struct dw_entry *entry = &c->options[j].col->entries[i];
            c->uses[c->first[entry->item] + (size_t)c->alive[entry->item]++] =
                (struct use){j, entry->count};
        }
    return true;
}

static bool make(struct cover *c, const struct dw_relax *relax, const struct dw_relaxed *relaxed)
{
    const struct dw_problem *p = c->p;
    c->options = calloc(relax->n_list + 1, sizeof *c->options);
    c->first = calloc(p->n_items + 2, sizeof *c->first);
    c->left = calloc(p->n_items + 1, sizeof *c->left);
    c->alive = calloc(p->n_items + 1, sizeof *c->alive);
    c->bars = calloc(p->n_stocks + 1, sizeof *c->bars);
    c->taken = calloc((size_t)p->n_pieces + 1, sizeof *c->taken);
    if (!c->options || !c->first || !c->left || !c->alive || !c->bars || !c->taken)
        return false;
    for (size_t i = 0; i < p->n_items; i++)
        c->left[i] = relax->demand[i];
    for (size_t k = 0; k < p->n_stocks; k++)
        c->bars[k] = relax->avail[k];
    make_options(c, relax, relaxed);
    return make_uses(c);
}

static void unmake(struct cover *c)
{
    free(c->options);
    free(c->first);
    free(c->uses);
    free(c->left);
    free(c->alive);
    free(c->bars);
    free(c->taken);
}

/* --- taking and giving back --------------------------------------------------------------- */

/* by 1: one more reason, -1: one less. */
static void kill(struct cover *c, size_t j, int by)
{
    struct option *option = &c->options[j];
    const int before = option->dead;
    option->dead += by;
    if (before > 0 && option->dead > 0)
        return;
    for (size_t i = 0; i < option->col->n; i++)
        c->alive[option->col->entries[i].item] -= by;
}

/* Options that ask for more than `low` and no more than `high` of an item. */
static void kill_uses(struct cover *c, size_t item, int64_t low, int64_t high, int by)
{
    for (size_t u = c->first[item]; u < c->first[item + 1]; u++)
        if (c->uses[u].count > low && c->uses[u].count <= high)
            kill(c, c->uses[u].option, by);
}

static void kill_stock(struct cover *c, size_t stock, int by)
{
    for (size_t j = 0; j < c->n; j++)
        if (c->options[j].col->stock == stock)
            kill(c, j, by);
}

static void take(struct cover *c, size_t j)
{
    const struct dw_col *col = c->options[j].col;
    c->taken[c->n_taken++] = j;
    for (size_t i = 0; i < col->n; i++) {
        const struct dw_entry *entry = &col->entries[i];
        c->left[entry->item] -= entry->count;
        kill_uses(c, entry->item, c->left[entry->item], c->left[entry->item] + entry->count, 1);
    }
    if (--c->bars[col->stock] == 0)
        kill_stock(c, col->stock, 1);
    c->money += c->bar[col->stock] + col->money;
    c->room -= c->options[j].cost;
    while (c->within > 0 && c->options[c->within - 1].cost > c->room)
        kill(c, --c->within, 1);
}

static void give_back(struct cover *c)
{
    const size_t j = c->taken[--c->n_taken];
    const struct dw_col *col = c->options[j].col;
    c->money -= c->bar[col->stock] + col->money;
    c->room += c->options[j].cost;
    while (c->within < c->n && c->options[c->within].cost <= c->room)
        kill(c, c->within++, -1);
    if (c->bars[col->stock]++ == 0)
        kill_stock(c, col->stock, -1);
    for (size_t i = 0; i < col->n; i++) {
        const struct dw_entry *entry = &col->entries[i];
        kill_uses(c, entry->item, c->left[entry->item], c->left[entry->item] + entry->count, -1);
        c->left[entry->item] += entry->count;
    }
}

/* --- the search --------------------------------------------------------------------------- */

/* The part with the fewest options; DW_NONE: all are cut. */
static size_t choose(const struct cover *c)
{
    size_t best = DW_NONE;
    for (size_t i = 0; i < c->p->n_items; i++)
        if (c->left[i] > 0 && !c->p->items[i].post &&
            (best == DW_NONE || c->alive[i] < c->alive[best]))
            best = i;
    return best;
}

/* Each option of the part in turn, once more; those tried are left out after that. When all parts
 * are cut, the options left have nothing but posts, which may still earn money. */
static enum dw_cover_result search(struct cover *c)
{
    const size_t item = choose(c);
    const bool parts = item != DW_NONE;
    if (!parts && c->money < c->cutoff)
        return DW_COVER_FOUND;
    enum dw_cover_result result = DW_COVER_NONE;
    const size_t begin = parts ? c->first[item] : 0, end = parts ? c->first[item + 1] : c->n;
    size_t u = begin;
    for (; u < end && result == DW_COVER_NONE; u++) {
        const size_t j = parts ? c->uses[u].option : u;
        if (c->options[j].dead == 0) {
            if (--*c->steps < 0) {
                result = DW_COVER_OPEN;
                break;
            }
            take(c, j);
            result = search(c);
            if (result == DW_COVER_FOUND)
                return result;
            give_back(c);
        }
        kill(c, j, 1);
    }
    while (u-- > begin)
        kill(c, parts ? c->uses[u].option : u, -1);
    return result;
}

enum dw_cover_result dw_cover__run(const struct dw_problem *problem, const struct dw_relax *relax,
                                   const struct dw_relaxed *relaxed, dw_money cutoff,
                                   int64_t *steps, struct dw_solution *plan)
{
    struct cover c = {
        .p = problem, .money = relax->base, .cutoff = cutoff, .bar = relax->bar, .steps = steps};
    c.room = dw_relaxed__room(problem, relax, relaxed, cutoff);
    if (c.room < 0)
        return DW_COVER_NONE;
    bool ok = make(&c, relax, relaxed);
    enum dw_cover_result result = ok ? search(&c) : DW_COVER_NOMEM;
    for (size_t t = 0; result == DW_COVER_FOUND && t < c.n_taken; t++)
        if (!dw_solution__add(plan, c.options[c.taken[t]].col, 1))
            result = DW_COVER_NOMEM;
    unmake(&c);
    return result;
}
