/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/fill_core.h"

#include <stdlib.h>
#include <string.h>

static const double MOST_STEPS = 5e7; /* of the tables */

struct share {
    struct dw_fill__state *state;
    const struct dw_gibbs *gibbs;
    size_t n_open;
    size_t *given; /* length n_open: of which bars each is */
    size_t row;    /* waste + 1 */
    /* sums[j][s]: over the shares of the first j open bars that sum to s. */
    double *sums;    /* (n_open + 1) rows */
    double *layouts; /* length row: of one open bar by its share */
};

/* The weights of the layouts of an open bar by its share, the largest being 1. */
static void weigh(struct share *share, size_t j)
{
    const struct dw_fill__given *given = &share->state->given[share->given[j]];
    double most = 0;
    for (int64_t r = 0; r <= given->most_waste; r++) {
        double weight =
            r < given->capacity ? dw_gibbs__of_length(share->gibbs, given->capacity - r) : 0;
        share->layouts[r] = weight;
        most = weight > most ? weight : most;
    }
    for (int64_t r = 0; most > 0 && r <= given->most_waste; r++)
        share->layouts[r] /= most;
}

static void add_bar(struct share *share, size_t j)
{
    const double *from = share->sums + j * share->row;
    double *to = share->sums + (j + 1) * share->row, most = 0;
    const size_t last = (size_t)share->state->given[share->given[j]].most_waste;
    weigh(share, j);
    memset(to, 0, share->row * sizeof *to);
    for (size_t r = 0; r <= last; r++)
        for (size_t s = r; share->layouts[r] > 0 && s < share->row; s++)
            to[s] += from[s - r] * share->layouts[r];
    for (size_t s = 0; s < share->row; s++)
        most = to[s] > most ? to[s] : most;
    for (size_t s = 0; most > 0 && s < share->row; s++)
        to[s] /= most;
}

static size_t draw_share(struct share *share, size_t j, size_t rest, uint64_t *seed)
{
    const double *from = share->sums + j * share->row;
    const size_t last = (size_t)share->state->given[share->given[j]].most_waste;
    double all = 0;
    size_t drawn = 0;
    weigh(share, j);
    for (size_t r = 0; r <= last && r <= rest; r++)
        all += from[rest - r] * share->layouts[r];
    double chance = dw_csp__uniform(seed) * all;
    for (size_t r = 0; r <= last && r <= rest; r++) {
        double weight = from[rest - r] * share->layouts[r];
        if (!(weight > 0))
            continue;
        drawn = r;
        chance -= weight;
        if (chance < 0)
            break;
    }
    return drawn;
}

static void add_sort(struct dw_fill__state *state, size_t given, int64_t waste, int64_t n)
{
    const struct dw_fill__given *from = &state->given[given];
    for (size_t k = 0; k < state->n_sorts; k++)
        if (state->sorts[k].stock == from->stock && state->sorts[k].waste == waste) {
            state->bars[k] += n;
            return;
        }
    state->bars[state->n_sorts] = n;
    state->sorts[state->n_sorts++] =
        (struct dw_fill__sort){from->stock, from->capacity - waste, waste};
}

static bool make(struct share *share, bool *possible)
{
    struct dw_fill__state *state = share->state;
    double steps = 0;
    for (size_t g = 0; g < state->n_given; g++)
        share->n_open += state->given[g].most_waste > 0 ? (size_t)state->given[g].n : 0;
    share->row = (size_t)state->waste + 1;
    for (size_t g = 0; g < state->n_given; g++)
        steps +=
            (double)share->row * (double)state->given[g].n * (double)state->given[g].most_waste;
    *possible = steps <= MOST_STEPS && (share->n_open > 0 || state->waste == 0);
    if (!*possible)
        return true;
    share->given = malloc((share->n_open + 1) * sizeof *share->given);
    share->sums = malloc((share->n_open + 1) * share->row * sizeof *share->sums);
    share->layouts = malloc(share->row * sizeof *share->layouts);
    if (!share->given || !share->sums || !share->layouts)
        return false;
    share->n_open = 0;
    for (size_t g = 0; g < state->n_given; g++)
        for (int64_t bar = 0; state->given[g].most_waste > 0 && bar < state->given[g].n; bar++)
            share->given[share->n_open++] = g;
    return true;
}

bool dw_fill__share(struct dw_fill__state *state, const struct dw_gibbs *gibbs, uint64_t *seed,
                    bool *possible)
{
    struct share share = {.state = state, .gibbs = gibbs};
    bool ok = make(&share, possible);
    state->n_sorts = 0;
    if (ok && *possible) {
        memset(share.sums, 0, share.row * sizeof *share.sums);
        share.sums[0] = 1;
        for (size_t j = 0; j < share.n_open; j++)
            add_bar(&share, j);
        *possible = share.sums[share.n_open * share.row + share.row - 1] > 0;
    }
    size_t rest = (size_t)state->waste;
    for (size_t j = share.n_open; ok && *possible && j > 0; j--) {
        size_t one = draw_share(&share, j - 1, rest, seed);
        add_sort(state, share.given[j - 1], (int64_t)one, 1);
        rest -= one;
    }
    for (size_t g = 0; ok && *possible && g < state->n_given; g++)
        if (state->given[g].most_waste == 0 && state->given[g].n > 0)
            add_sort(state, g, 0, state->given[g].n);
    free(share.given);
    free(share.sums);
    free(share.layouts);
    return ok;
}
