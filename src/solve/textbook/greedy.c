/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First-fit decreasing for a demand that is left, and the better of it and best fit. */
#include "solve/textbook/greedy.h"

#include <stdlib.h>
#include <string.h>

/* The next bar of first-fit decreasing: of each length, longest first, as many as still fit. Equal
 * to putting piece after piece into the first bar with room. */
static size_t fill_bar(const struct dw_csp__state *state, const int64_t *left,
                       struct dw_type_count *items, int64_t *bars)
{
    int64_t room = state->capacity;
    size_t n = 0;
    *bars = INT64_MAX;
    for (size_t i = 0; i < state->n; i++) {
        if (left[i] == 0 || state->size[i] > room)
            continue;
        int64_t count = room / state->size[i];
        if (count > left[i])
            count = left[i];
        room -= count * state->size[i];
        items[n++] = (struct dw_type_count){i, count};
        if (left[i] / count < *bars)
            *bars = left[i] / count;
    }
    return n;
}

bool dw_csp__first_fit(struct dw_csp__state *state, int64_t *left, int64_t most_bars,
                       struct dw_type_count *items, struct dw_layout_list *list)
{
    for (;;) {
        int64_t bars = 0;
        size_t n = fill_bar(state, left, items, &bars);
        if (n == 0)
            return true;
        most_bars -= bars;
        if (most_bars < 0)
            return false;
        if (!dw_layout_list__add(list, bars, items, n)) {
            state->failed = true;
            return false;
        }
        for (size_t k = 0; k < n; k++)
            left[items[k].type] -= items[k].count * bars;
    }
}

enum { BEST_FIT_PIECES = 5000 };

/* Best-fit decreasing: each piece into the fullest bar that takes it. room has an entry a bar,
 * where one a piece. Cost: O(pieces bars). */
static void best_fit(struct dw_csp__state *state, int64_t *room, size_t *where,
                     struct dw_layout_list *list)
{
    size_t n_bars = 0, piece = 0;
    for (size_t i = 0; i < state->n; i++)
        for (int64_t k = 0; k < state->demand[i]; k++) {
            size_t best = n_bars;
            for (size_t b = 0; b < n_bars; b++)
                if (room[b] >= state->size[i] && (best == n_bars || room[b] < room[best]))
                    best = b;
            if (best == n_bars)
                room[n_bars++] = state->capacity;
            room[best] -= state->size[i];
            where[piece++] = best;
        }
    for (size_t b = 0; b < n_bars; b++) {
        if (!dw_layout_list__add(list, 1, NULL, 0)) {
            state->failed = true;
            return;
        }
        piece = 0;
        for (size_t i = 0; i < state->n; i++)
            for (int64_t k = 0; k < state->demand[i]; k++)
                if (where[piece++] == b)
                    state->failed |= !dw_layout_list__more(list, i);
    }
}

void dw_csp__greedy(struct dw_csp__state *state)
{
    struct dw_layout_list list = {0};
    size_t pieces = state->pieces <= BEST_FIT_PIECES ? (size_t)state->pieces : 0;
    struct dw_type_count *items = malloc((state->n + 1) * sizeof *items);
    int64_t *left = malloc((state->n + 1) * sizeof *left);
    int64_t *room = malloc((pieces + 1) * sizeof *room);
    size_t *where = malloc((pieces + 1) * sizeof *where);
    if (items && left && room && where) {
        memcpy(left, state->demand, state->n * sizeof *left);
        if (dw_csp__first_fit(state, left, INT64_MAX, items, &list))
            dw_csp__offer_plan(state, &list, "first-fit decreasing");
        dw_layout_list__cut(&list, 0);
        if (pieces > 0 && !dw_csp__closed(state)) {
            best_fit(state, room, where, &list);
            dw_csp__offer_plan(state, &list, "best-fit decreasing");
        }
    } else {
        state->failed = true;
    }
    dw_layout_list__free(&list);
    free(items);
    free(left);
    free(room);
    free(where);
}
