/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lists of layouts, the account of work, and the best plan and bound so far. */
#include "solve/textbook/core.h"

#include <stdlib.h>
#include <string.h>

/* --- layouts ------------------------------------------------------------------------------- */

bool dw_csp__list_add(struct dw_csp__list *list, int64_t bars, const struct dw_csp_item *items,
                      size_t n)
{
    if (!dw_array__grow(&list->cuts, &list->room, list->n + 1, sizeof *list->cuts) ||
        !dw_array__grow(&list->items, &list->item_room, list->n_items + n + 1, sizeof *items))
        return false;
    if (n > 0)
        memcpy(list->items + list->n_items, items, n * sizeof *items);
    list->cuts[list->n++] = (struct dw_csp__cut){bars, list->n_items, n};
    list->n_items += n;
    return true;
}

bool dw_csp__list_more(struct dw_csp__list *list, size_t type)
{
    struct dw_csp__cut *last = &list->cuts[list->n - 1];
    if (last->n > 0 && list->items[list->n_items - 1].type == type) {
        list->items[list->n_items - 1].count++;
        return true;
    }
    if (!dw_array__grow(&list->items, &list->item_room, list->n_items + 1, sizeof *list->items))
        return false;
    list->items[list->n_items++] = (struct dw_csp_item){type, 1};
    last->n++;
    return true;
}

void dw_csp__list_cut(struct dw_csp__list *list, size_t n)
{
    if (n < list->n) {
        list->n_items = list->cuts[n].first;
        list->n = n;
    }
}

bool dw_csp__list_copy(struct dw_csp__list *to, const struct dw_csp__list *from)
{
    dw_csp__list_cut(to, 0);
    for (size_t k = 0; k < from->n; k++)
        if (!dw_csp__list_add(to, from->cuts[k].bars, from->items + from->cuts[k].first,
                              from->cuts[k].n))
            return false;
    return true;
}

int64_t dw_csp__list_bars(const struct dw_csp__list *list)
{
    int64_t bars = 0;
    for (size_t k = 0; k < list->n; k++)
        bars += list->cuts[k].bars;
    return bars;
}

void dw_csp__list_free(struct dw_csp__list *list)
{
    free(list->cuts);
    free(list->items);
    *list = (struct dw_csp__list){0};
}

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
static bool add_wanted(struct dw_csp__list *to, int64_t bars, const struct dw_csp_item *items,
                       size_t n, int64_t *left)
{
    size_t first = to->n_items;
    if (!dw_csp__list_add(to, bars, items, n))
        return false;
    struct dw_csp_item *kept = to->items + first;
    size_t n_kept = 0;
    for (size_t i = 0; i < n; i++) {
        int64_t each = left[items[i].type] / bars;
        int64_t count = items[i].count < each ? items[i].count : each;
        if (count > 0)
            kept[n_kept++] = (struct dw_csp_item){items[i].type, count};
        left[items[i].type] -= count * bars;
    }
    to->cuts[to->n - 1].n = n_kept;
    to->n_items = first + n_kept;
    if (n_kept == 0)
        dw_csp__list_cut(to, to->n - 1);
    return true;
}

/* A layout that gives too much on its last bars is split: first the bars that are wanted whole. */
static bool add_layout(struct dw_csp__list *to, const struct dw_csp__list *list, size_t k,
                       int64_t *left)
{
    const struct dw_csp__cut *cut = &list->cuts[k];
    const struct dw_csp_item *items = list->items + cut->first;
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

void dw_csp__offer_plan(struct dw_csp__state *state, const struct dw_csp__list *list,
                        const char *method)
{
    struct dw_csp__list plan = {0};
    int64_t *left = malloc((state->n + 1) * sizeof *left);
    bool ok = left != NULL, met = true;
    if (ok)
        memcpy(left, state->demand, state->n * sizeof *left);
    for (size_t k = 0; ok && k < list->n; k++)
        ok = add_layout(&plan, list, k, left);
    for (size_t i = 0; ok && i < state->n; i++)
        met &= left[i] == 0;
    int64_t bars = dw_csp__list_bars(&plan);
    if (ok && met && bars < state->bars) {
        struct dw_csp__list old = state->best;
        state->best = plan;
        plan = old;
        state->bars = bars;
        state->method = method;
    }
    state->failed |= !ok;
    free(left);
    dw_csp__list_free(&plan);
}
