/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan for a past job without the solver: best fit decreasing into the bars of a cover. */
#include "solve/choose/lengths.h"

#include <stdlib.h>

#define MOST_BARS 4096

struct piece {
    dw_length size; /* l + w */
    int64_t count;
};

static int by_size(const void *a, const void *b)
{
    const struct piece *x = a;
    const struct piece *y = b;
    return x->size > y->size ? -1 : x->size < y->size;
}

/* The fullest bar that still takes the size, SIZE_MAX if none does. */
static size_t best_fit(const dw_length *room, size_t n, dw_length size)
{
    size_t best = SIZE_MAX;
    for (size_t b = 0; b < n; b++) {
        if (room[b] >= size && (best == SIZE_MAX || room[b] < room[best]))
            best = b;
    }
    return best;
}

static bool pack(const struct piece *pieces, size_t n_pieces, dw_length *room, size_t n)
{
    for (size_t i = 0; i < n_pieces; i++) {
        for (int64_t left = pieces[i].count; left > 0; left--) {
            size_t bar = best_fit(room, n, pieces[i].size);
            if (bar == SIZE_MAX)
                return false;
            room[bar] -= pieces[i].size;
        }
    }
    return true;
}

static bool fits(const struct dw_lengths__case *c, const struct dw_lengths__past *past,
                 const int64_t *bars)
{
    int64_t n = 0;
    for (size_t k = 0; k < c->n; k++)
        n += bars[k];
    if (n <= 0 || n > MOST_BARS)
        return false;
    dw_length *room = calloc((size_t)n, sizeof *room);
    struct piece *pieces = calloc(past->n_parts, sizeof *pieces);
    bool good = room && pieces;
    size_t at = 0;
    for (size_t k = 0; k < c->n && good; k++) {
        for (int64_t i = 0; i < bars[k]; i++)
            room[at++] = dw_lengths__capacity(c, k);
    }
    for (size_t i = 0; i < past->n_parts && good; i++)
        pieces[i] = (struct piece){.size = past->parts[i]->min + c->job->saw.kerf,
                                   .count = past->parts[i]->count};
    if (good) {
        qsort(pieces, past->n_parts, sizeof *pieces, by_size);
        good = pack(pieces, past->n_parts, room, (size_t)n);
    }
    free(pieces);
    free(room);
    return good;
}

bool dw_lengths__try(const struct dw_lengths__case *c, const struct dw_lengths__past *past,
                     uint32_t set, struct dw_lengths__answer *answer)
{
    dw_money bound = dw_lengths__bound(c, past, set, past->n_views);
    *answer = (struct dw_lengths__answer){.value = bound, .bound = bound};
    for (size_t v = 0; v < past->n_views && bound != DW_LENGTHS_NEVER; v++) {
        dw_money money = past->n_pieces * c->job->saw.cut_cost;
        if (!dw_lengths__cover(c, &past->views[v], set, answer->bars))
            continue;
        for (size_t k = 0; k < c->n; k++)
            money += answer->bars[k] * c->price[k];
        if (money == bound && fits(c, past, answer->bars))
            return true;
    }
    return bound == DW_LENGTHS_NEVER;
}
