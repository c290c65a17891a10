/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words for states and kinds of pieces. */
#include "ledger/ledger.h"

#include <string.h>

static const char *const state_words[] = {
#define DW_STATE_WORD(name, word) word,
    DW_STATE_LIST(DW_STATE_WORD)
#undef DW_STATE_WORD
};

const struct dw_words dw_state__words = {state_words, DW_COUNT(state_words)};

const char *dw_state_word(enum dw_state state)
{
    size_t i = (size_t)state;
    return i < DW_COUNT(state_words) ? state_words[i] : "?";
}

static const char *const kind_words[] = {
#define DW_KIND_WORD(name, word) [name] = word,
    DW_KIND_LIST(DW_KIND_WORD)
#undef DW_KIND_WORD
};
const struct dw_words dw_kind__words = {kind_words, DW_COUNT(kind_words)};

const char *dw_kind_word(enum dw_kind kind)
{
    return kind_words[kind];
}

enum dw_state dw_ledger__state(const char *word)
{
    size_t i = 0;
    while (i + 1 < DW_COUNT(state_words) && (!word || strcmp(word, state_words[i]) != 0))
        i++;
    return (enum dw_state)i;
}
