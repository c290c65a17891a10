/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The last bars, searched exactly. */
#include "solve/fill/core.h"

#include <stdlib.h>
#include <string.h>

enum { WORD = 64 };

/* One open bar of the search. */
struct end {
    struct dw_fill__state *state;
    int64_t *nodes;
    bool *nomem;
    size_t n;     /* types that are left, decreasing length */
    size_t *type; /* length n */
    size_t words; /* of a row */
    /* reach[j] has bit t set if pieces of types j .. n - 1 sum to t. */
    uint64_t *reach;     /* (n + 1) rows */
    size_t sort;         /* of the bar */
    int64_t least, most; /* that it may leave */
    size_t n_items;
    struct dw_type_count *items; /* length n_items, at most n */
};

/* Whether pieces of types from j on sum to a length from `low` to `high`. */
static bool reaches(const struct end *end, size_t j, int64_t low, int64_t high)
{
    const uint64_t *row = end->reach + j * end->words;
    low = low > 0 ? low : 0;
    if (high < low)
        return false;
    const size_t first = (size_t)low / WORD, last = (size_t)high / WORD;
    const uint64_t above = ~UINT64_C(0) << ((size_t)low % WORD),
                   below = ~UINT64_C(0) >> (WORD - 1 - (size_t)high % WORD);
    if (first == last)
        return row[first] & above & below;
    for (size_t i = first + 1; i < last; i++)
        if (row[i])
            return true;
    return (row[first] & above) || (row[last] & below);
}

/* to |= from << by, both of `words` words; one row may be both. */
static void add_shifted(uint64_t *to, const uint64_t *from, size_t words, size_t by)
{
    const size_t skip = by / WORD, shift = by % WORD;
    for (size_t i = words; i-- > skip;) {
        uint64_t word = from[i - skip] << shift;
        if (shift > 0 && i > skip)
            word |= from[i - skip - 1] >> (WORD - shift);
        to[i] |= word;
    }
}

static bool make_reach(struct end *end)
{
    const struct dw_fill__state *state = end->state;
    int64_t longest = 0;
    for (size_t k = 0; k < state->n_sorts; k++)
        if (state->bars[k] > 0 && state->sorts[k].capacity > longest)
            longest = state->sorts[k].capacity;
    end->words = (size_t)longest / WORD + 1;
    end->reach = calloc((end->n + 1) * end->words, sizeof *end->reach);
    if (!end->reach)
        return false;
    end->reach[end->n * end->words] = 1;
    for (size_t j = end->n; j-- > 0;) {
        uint64_t *row = end->reach + j * end->words;
        const size_t size = (size_t)state->size[end->type[j]];
        memcpy(row, row + end->words, end->words * sizeof *row);
        for (int64_t copy = 1; copy <= state->left[end->type[j]]; copy++)
            if ((size_t)copy * size <= (size_t)longest)
                add_shifted(row, row, end->words, size);
    }
    *end->nodes -= (int64_t)(end->n * end->words / WORD) + 1;
    return true;
}

static bool close_bar(struct end *end)
{
    if (!dw_fill__fix(end->state, end->sort, end->items, end->n_items)) {
        *end->nomem = true;
        return false;
    }
    if (dw_fill__end(end->state, end->nodes, end->nomem))
        return true;
    dw_fill__take_back(end->state);
    return false;
}

/* Types from j on, with `room` to fill; the first is on the bar in any case. */
static bool fill_on(struct end *end, size_t j, int64_t room)
{
    if (--*end->nodes < 0 || *end->nomem)
        return false;
    if (room == 0 || j == end->n)
        return close_bar(end);
    const size_t type = end->type[j];
    const int64_t size = end->state->size[type], least = j == 0 ? 1 : 0;
    int64_t most = room / size;
    most = most > end->state->left[type] ? end->state->left[type] : most;
    for (int64_t count = most; count >= least; count--) {
        const int64_t rest = room - count * size;
        if (!reaches(end, j + 1, rest - end->most, rest - end->least))
            continue;
        size_t n = end->n_items;
        if (count > 0)
            end->items[end->n_items++] = (struct dw_type_count){type, count};
        bool found = fill_on(end, j + 1, rest);
        end->n_items = n;
        if (found || *end->nodes < 0)
            return found;
    }
    return false;
}

/* What the others cannot leave stays with this bar, if it may. */
static bool set_waste(struct end *end)
{
    const struct dw_fill__state *state = end->state;
    int64_t others = 0, longest = 0, n_counted = 0;
    for (size_t k = 0; k < state->n_sorts; k++) {
        const int64_t n = state->bars[k] - (k == end->sort), most = state->sorts[k].most_waste;
        if (!state->sorts[k].counted) {
            others += n * most;
            continue;
        }
        n_counted += n;
        longest = n > 0 && most > longest ? most : longest;
    }
    int64_t n_open = dw_fill__open(state);
    others += (n_open < n_counted ? n_open : n_counted) * longest;
    end->most = dw_fill__most(state, end->sort);
    end->least = state->waste > others ? state->waste - others : 0;
    return end->least <= end->most;
}

/* All bars for the longest piece. */
static bool try_bars(struct end *end)
{
    const struct dw_fill__state *state = end->state;
    for (end->sort = 0; end->sort < state->n_sorts; end->sort++) {
        const int64_t capacity = state->sorts[end->sort].capacity;
        if (state->bars[end->sort] == 0 || !set_waste(end) ||
            !reaches(end, 0, capacity - end->most, capacity - end->least))
            continue;
        if (fill_on(end, 0, capacity))
            return true;
        if (*end->nodes < 0 || *end->nomem)
            return false;
    }
    return false;
}

bool dw_fill__end(struct dw_fill__state *state, int64_t *nodes, bool *nomem)
{
    struct end end = {.state = state, .nodes = nodes, .nomem = nomem};
    int64_t bars = 0;
    end.type = malloc((state->n + 1) * sizeof *end.type);
    end.items = malloc((state->n + 1) * sizeof *end.items);
    bool ok = end.type && end.items, found = false;
    for (size_t i = 0; ok && i < state->n; i++)
        if (state->left[i] > 0)
            end.type[end.n++] = i;
    for (size_t k = 0; k < state->n_sorts; k++)
        bars += state->bars[k];
    if (ok && end.n > 0 && bars > 0)
        ok = make_reach(&end);
    if (ok)
        found = end.n == 0 ? bars == 0 : bars > 0 && try_bars(&end);
    *nomem |= !ok;
    free(end.type);
    free(end.items);
    free(end.reach);
    return found;
}
