/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars that are fixed, and taken back. */
#include "solve/fill/core.h"

/* The bar takes the pieces (sign 1) or gives them back (-1). Answers what it leaves. */
static int64_t move(struct dw_fill__state *state, size_t sort, const struct dw_type_count *items,
                    size_t n, int sign)
{
    int64_t waste = state->sorts[sort].capacity;
    for (size_t k = 0; k < n; k++) {
        waste -= items[k].count * state->size[items[k].type];
        state->left[items[k].type] -= sign * items[k].count;
    }
    state->bars[sort] -= sign;
    state->waste -= sign * waste;
    if (state->sorts[sort].counted) {
        state->counted -= sign;
        state->exact -= waste == 0 ? sign : 0;
    }
    return waste;
}

bool dw_fill__fix(struct dw_fill__state *state, size_t sort, const struct dw_type_count *items,
                  size_t n)
{
    if (!dw_array__grow(&state->made, &state->made_room, state->list.n + 1, sizeof *state->made) ||
        !dw_layout_list__add(&state->list, 1, items, n))
        return false;
    int64_t waste = move(state, sort, items, n, 1);
    state->made[state->list.n - 1] = (struct dw_fill__made){sort, waste};
    return true;
}

void dw_fill__take_back(struct dw_fill__state *state)
{
    const struct dw_list_cut *cut = &state->list.cuts[state->list.n - 1];
    move(state, state->made[state->list.n - 1].sort, state->list.items + cut->first, cut->n, -1);
    dw_layout_list__cut(&state->list, state->list.n - 1);
}
