/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The account of work, and the best plan and bound so far. */
#include "solve/textbook/core.h"

#include <stdlib.h>
#include <string.h>

/* --- work ----------------------------------------------------------------------------------- */

bool dw_csp__spend(struct dw_csp__state *state, int64_t work)
{
    dw_effort__spend(state->effort, work);
    return dw_csp__go(state);
}

bool dw_csp__go(const struct dw_csp__state *state)
{
    return !state->effort->stopped && !state->failed;
}

bool dw_csp__closed(const struct dw_csp__state *state)
{
    return state->bound >= state->bars;
}

/* --- bound ---------------------------------------------------------------------------------- */

/* ceil( sum dual_i d_i / scale ) */
void dw_csp__offer_duals(struct dw_csp__state *state, const int64_t *dual, int64_t scale)
{
    dw_wide sum = 0;
    for (size_t i = 0; i < state->n; i++)
        sum += (dw_wide)dual[i] * state->demand[i];
    int64_t bound = (int64_t)((sum + scale - 1) / scale);
    if (bound <= state->dual_bound)
        return;
    state->dual_bound = bound;
    state->scale = scale;
    memcpy(state->dual, dual, state->n * sizeof *dual);
    if (bound > state->bound)
        state->bound = bound;
}

/* --- plan ----------------------------------------------------------------------------------- */

/* Copies one bar's layout, at most what `left` still asks for, into `to`. false: no memory. */
static bool add_wanted(struct dw_layout_list *to, int64_t bars, const struct dw_type_count *items,
                       size_t n, int64_t *left)
{
    size_t first = to->n_items;
    if (!dw_layout_list__add(to, bars, items, n))
        return false;
    struct dw_type_count *kept = to->items + first;
    size_t n_kept = 0;
    for (size_t i = 0; i < n; i++) {
        int64_t each = left[items[i].type] / bars;
        int64_t count = items[i].count < each ? items[i].count : each;
        if (count > 0)
            kept[n_kept++] = (struct dw_type_count){items[i].type, count};
        left[items[i].type] -= count * bars;
    }
    to->cuts[to->n - 1].n = n_kept;
    to->n_items = first + n_kept;
    if (n_kept == 0)
        dw_layout_list__cut(to, to->n - 1);
    return true;
}

/* A layout that gives too much on its last bars is split: first the bars that are wanted whole. */
static bool add_layout(struct dw_layout_list *to, const struct dw_layout_list *list, size_t k,
                       int64_t *left)
{
    const struct dw_list_cut *cut = &list->cuts[k];
    const struct dw_type_count *items = list->items + cut->first;
    int64_t whole = cut->bars;
    for (size_t i = 0; i < cut->n; i++)
        if (items[i].count > 0 && left[items[i].type] / items[i].count < whole)
            whole = left[items[i].type] / items[i].count;
    if (whole > 0 && !add_wanted(to, whole, items, cut->n, left))
        return false;
    for (int64_t bar = whole; bar < cut->bars; bar++)
        if (!add_wanted(to, 1, items, cut->n, left))
            return false;
    return true;
}

void dw_csp__offer_plan(struct dw_csp__state *state, const struct dw_layout_list *list,
                        const char *method)
{
    struct dw_layout_list plan = {0};
    int64_t *left = malloc((state->n + 1) * sizeof *left);
    bool ok = left != NULL, met = true;
    if (ok)
        memcpy(left, state->demand, state->n * sizeof *left);
    for (size_t k = 0; ok && k < list->n; k++)
        ok = add_layout(&plan, list, k, left);
    for (size_t i = 0; ok && i < state->n; i++)
        met &= left[i] == 0;
    int64_t bars = dw_layout_list__bars(&plan);
    if (ok && met && bars < state->bars) {
        struct dw_layout_list old = state->best;
        state->best = plan;
        plan = old;
        state->bars = bars;
        state->method = method;
    }
    state->failed |= !ok;
    free(left);
    dw_layout_list__free(&plan);
}
