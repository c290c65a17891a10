/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Depth-first search for the last bars, within a bounded waste. */
#include "solve/textbook/pack.h"

#include <stdlib.h>

struct pack {
    size_t n; /* kinds of length still asked for, decreasing */
    size_t *type;
    int64_t *size;
    int64_t *left;
    int64_t pieces; /* still to be cut */
    int64_t capacity;
    int64_t room;  /* on the open bar */
    int64_t waste; /* that the open bar and those to come may have */
    int64_t nodes; /* still to be spent */
    size_t n_moves;
    struct move {
        size_t kind;
        bool opens; /* first piece of a bar */
    } * moves;      /* length pieces */
};

static void take(struct pack *pack, size_t kind, bool opens)
{
    pack->moves[pack->n_moves++] = (struct move){kind, opens};
    pack->left[kind]--;
    pack->pieces--;
    pack->room -= pack->size[kind];
}

static void put_back(struct pack *pack, size_t kind)
{
    pack->n_moves--;
    pack->left[kind]++;
    pack->pieces++;
    pack->room += pack->size[kind];
}

static bool fill_on(struct pack *pack, size_t from);

/* Closes the bar when nothing left fits on it (a piece more never hurts) and its waste can be
 * afforded, and opens the next with the longest piece left. */
static bool next_bar(struct pack *pack)
{
    size_t longest = pack->n;
    for (size_t k = pack->n; k > 0; k--) {
        if (pack->left[k - 1] > 0 && pack->size[k - 1] <= pack->room)
            return false;
        if (pack->left[k - 1] > 0)
            longest = k - 1;
    }
    int64_t room = pack->room;
    if (room > pack->waste)
        return false;
    pack->waste -= room;
    pack->room = pack->capacity;
    take(pack, longest, true);
    if (fill_on(pack, longest))
        return true;
    put_back(pack, longest);
    pack->room = room;
    pack->waste += room;
    return false;
}

static int64_t shortest_left(const struct pack *pack)
{
    size_t k = pack->n;
    while (k > 0 && pack->left[k - 1] == 0)
        k--;
    return k > 0 ? pack->size[k - 1] : 0;
}

/* Tries the pieces from kind `from` on, longest first; one that would be the last of its bar only
 * if the waste can be afforded. The depth is the number of pieces. */
static bool fill_on(struct pack *pack, size_t from)
{
    if (pack->pieces == 0)
        return true;
    int64_t shortest = shortest_left(pack), least = pack->room - pack->waste;
    for (size_t k = from; k < pack->n; k++) {
        int64_t size = pack->size[k];
        if (pack->left[k] == 0 || size > pack->room)
            continue;
        if (size < least && size + shortest > pack->room)
            continue;
        if (--pack->nodes < 0)
            return false;
        take(pack, k, false);
        if (fill_on(pack, k))
            return true;
        put_back(pack, k);
    }
    return next_bar(pack);
}

static bool to_list(const struct pack *pack, struct dw_layout_list *list)
{
    for (size_t k = 0; k < pack->n_moves; k++) {
        const struct move *move = &pack->moves[k];
        if (move->opens && !dw_layout_list__add(list, 1, NULL, 0))
            return false;
        if (!dw_layout_list__more(list, pack->type[move->kind]))
            return false;
    }
    return true;
}

static bool open_pack(struct pack *pack, const struct dw_csp__state *state, const int64_t *left)
{
    for (size_t i = 0; i < state->n; i++)
        pack->pieces += left[i];
    pack->type = calloc(state->n + 1, sizeof *pack->type);
    pack->size = calloc(state->n + 1, sizeof *pack->size);
    pack->left = calloc(state->n + 1, sizeof *pack->left);
    pack->moves = calloc((size_t)pack->pieces + 1, sizeof *pack->moves);
    if (!pack->type || !pack->size || !pack->left || !pack->moves)
        return false;
    for (size_t i = 0; i < state->n; i++) {
        if (left[i] == 0)
            continue;
        pack->type[pack->n] = i;
        pack->size[pack->n] = state->size[i];
        pack->left[pack->n++] = left[i];
    }
    return true;
}

enum dw_csp__packed dw_csp__pack(struct dw_csp__state *state, const int64_t *left, int64_t bars,
                                 int64_t nodes, struct dw_layout_list *list)
{
    struct pack pack = {.capacity = state->capacity, .nodes = nodes};
    enum dw_csp__packed result = DW_CSP_NO_PACKING;
    pack.waste = bars * state->capacity;
    for (size_t i = 0; i < state->n; i++)
        pack.waste -= left[i] * state->size[i];
    if (!open_pack(&pack, state, left)) {
        state->failed = true;
        result = DW_CSP_GAVE_UP;
    } else if (pack.waste >= 0 && (pack.pieces == 0 || next_bar(&pack))) {
        state->failed |= !to_list(&pack, list);
        result = DW_CSP_PACKED;
    } else if (pack.nodes < 0) {
        result = DW_CSP_GAVE_UP;
    }
    dw_csp__spend(state, 1 + (nodes - (pack.nodes < 0 ? 0 : pack.nodes)) / 100);
    free(pack.type);
    free(pack.size);
    free(pack.left);
    free(pack.moves);
    return result;
}
