/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole plans: added up, settled, trimmed, compared. */
#include "solve/group/solution.h"

#include <stdlib.h>
#include <string.h>

void dw_solution__free(struct dw_solution *solution)
{
    free(solution->uses);
    *solution = (struct dw_solution){0};
}

void dw_solution__clear(struct dw_solution *solution)
{
    solution->n = 0;
    solution->end = 0;
}

static bool append(struct dw_solution *solution, const struct dw_col *col, int64_t count)
{
    if (!dw_array__grow(&solution->uses, &solution->capacity, solution->n + 1,
                        sizeof *solution->uses))
        return false;
    solution->uses[solution->n++] = (struct dw_use_col){col, count};
    if (col->index >= solution->end)
        solution->end = col->index + 1;
    return true;
}

bool dw_solution__add(struct dw_solution *solution, const struct dw_col *col, int64_t count)
{
    bool newer = col->index >= solution->end;
    for (size_t i = newer ? 0 : solution->n; i-- > 0;)
        if (solution->uses[i].col == col && solution->uses[i].count > 0) {
            solution->uses[i].count += count;
            return true;
        }
    return append(solution, col, count);
}

bool dw_solution__copy(struct dw_solution *to, const struct dw_solution *from)
{
    if (!dw_array__grow(&to->uses, &to->capacity, from->n + 1, sizeof *to->uses))
        return false;
    if (from->n > 0)
        memcpy(to->uses, from->uses, from->n * sizeof *to->uses);
    to->n = from->n;
    to->end = from->end;
    to->money = from->money;
    to->missing = from->missing;
    to->method = from->method;
    return true;
}

/* Counts pieces and bars; money of everything but the bars. */
static dw_money tally(const struct dw_solution *solution, int64_t *pieces, int64_t *bars,
                      int64_t *kept)
{
    dw_money money = 0;
    *kept = 0;
    for (size_t u = 0; u < solution->n; u++) {
        const struct dw_col *col = solution->uses[u].col;
        int64_t count = solution->uses[u].count;
        bars[col->stock] += count;
        *kept += col->kept ? count : 0;
        money += col->money * count;
        for (size_t i = 0; i < col->n; i++)
            pieces[col->entries[i].item] += col->entries[i].count * count;
    }
    return money;
}

bool dw_solution__settle(const struct dw_problem *p, struct dw_solution *solution, int64_t *scratch)
{
    int64_t *pieces = scratch, *bars = scratch + p->n_items, kept = 0;
    memset(scratch, 0, (p->n_items + p->n_stocks) * sizeof *scratch);
    dw_money money = tally(solution, pieces, bars, &kept);
    bool ok = p->max_kept == DW_UNLIMITED || kept <= p->max_kept;
    solution->missing = 0;
    for (size_t i = 0; i < p->n_items; i++) {
        if (p->items[i].post)
            ok = ok && pieces[i] <= p->items[i].count;
        else if (pieces[i] < p->items[i].count)
            solution->missing += p->items[i].weight * (p->items[i].count - pieces[i]);
        else if (p->equal)
            ok = ok && pieces[i] == p->items[i].count;
    }
    for (size_t k = 0; k < p->n_stocks; k++) {
        ok = ok && (bars[k] <= p->stocks[k].count || !p->stocks[k].limited);
        money += dw_bar_stock__money(p, k, bars[k]);
    }
    solution->money = p->missing ? solution->missing : money;
    return ok && (p->missing || solution->missing == 0);
}

int64_t dw_solution__bars(const struct dw_solution *solution)
{
    int64_t bars = 0;
    for (size_t u = 0; u < solution->n; u++)
        bars += solution->uses[u].count;
    return bars;
}

bool dw_solution__better(const struct dw_solution *a, const struct dw_solution *b)
{
    if (a->missing != b->missing)
        return a->missing < b->missing;
    if (a->money != b->money)
        return a->money < b->money;
    int64_t bars = dw_solution__bars(a) - dw_solution__bars(b);
    return bars != 0 ? bars < 0 : a->n < b->n;
}

bool dw_solution__offer(const struct dw_problem *problem, struct dw_solution *plan,
                        int64_t *scratch, struct dw_solution *best)
{
    return !dw_solution__settle(problem, plan, scratch) || !dw_solution__better(plan, best) ||
           dw_solution__copy(best, plan);
}

/* --- surplus ------------------------------------------------------------------------------ */

/* One bar of `use` without up to `most` pieces of the item. NULL in *out: nothing is left of it or
 * the leftover is not allowed. A bent first part gives way, last, to the bend end. */
static bool shorten(const struct dw_problem *p, struct dw_pool *pool, const struct dw_col *col,
                    size_t item, int64_t most, int64_t *taken, const struct dw_col **out)
{
    struct dw_entry *entries = calloc(col->n + 1, sizeof *entries);
    const struct dw_bar_kind *kind = &p->kinds[p->stocks[col->stock].kind];
    *out = NULL;
    if (!entries)
        return false;
    struct dw_col draft = *col;
    draft.entries = entries;
    draft.n = 0;
    draft.slack = 0;
    *taken = dw_col__tail_count(p, col, item) < most ? dw_col__tail_count(p, col, item) : most;
    const struct dw_first *firsts = p->stocks[col->stock].firsts;
    bool bent = *taken == 0 && col->first != DW_NONE && firsts[col->first].item == item;
    if (bent) {
        *taken = 1;
        draft.first = 0;
        draft.left += firsts[col->first].size - firsts[0].size - p->items[item].size;
    }
    for (size_t i = 0; i < col->n; i++) {
        int64_t count = col->entries[i].count - (col->entries[i].item == item ? *taken : 0);
        if (count > 0)
            entries[draft.n++] = (struct dw_entry){col->entries[i].item, count};
    }
    draft.left += *taken * p->items[item].size;
    draft.kept = p->max_kept == DW_UNLIMITED ? dw_bar_kind__kept(p, kind, draft.left) != DW_NEVER
                                             : col->kept;
    bool allowed = draft.kept || dw_bar_kind__thrown(p, kind, draft.left) != DW_NEVER;
    bool ok = true;
    if (*taken > 0 && draft.n > 0 && allowed) {
        *out = dw_pool__add(pool, &draft);
        ok = *out != NULL;
    }
    free(entries);
    return ok;
}

/* Takes up to `over` pieces of the item out of use u. */
static bool trim_use(const struct dw_problem *p, struct dw_pool *pool, struct dw_solution *solution,
                     size_t u, size_t item, int64_t *over)
{
    while (*over > 0 && solution->uses[u].count > 0) {
        const struct dw_col *col = solution->uses[u].col, *less = NULL;
        int64_t taken = 0;
        bool whole = col->n == 1 && col->entries[0].item == item && col->entries[0].count <= *over;
        if (whole)
            taken = col->entries[0].count;
        else if (!shorten(p, pool, col, item, *over, &taken, &less))
            return false;
        if (!whole && !less)
            return true;
        int64_t times =
            *over / taken < solution->uses[u].count ? *over / taken : solution->uses[u].count;
        solution->uses[u].count -= times;
        *over -= times * taken;
        if (less && !dw_solution__add(solution, less, times))
            return false;
    }
    return true;
}

bool dw_solution__trim(const struct dw_problem *p, struct dw_pool *pool,
                       struct dw_solution *solution, int64_t *scratch)
{
    bool ok = true;
    dw_solution__settle(p, solution, scratch); /* trimming one item leaves the others' counts */
    for (size_t i = 0; ok && i < p->n_items; i++) {
        int64_t over = p->items[i].post ? 0 : scratch[i] - p->items[i].count;
        for (size_t u = solution->n; ok && over > 0 && u-- > 0;)
            ok = trim_use(p, pool, solution, u, i, &over);
    }
    size_t n = 0;
    for (size_t u = 0; u < solution->n; u++)
        if (solution->uses[u].count > 0)
            solution->uses[n++] = solution->uses[u];
    solution->n = n;
    return ok;
}
