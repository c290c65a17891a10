/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The members of a piece of the shelf and of a held bar. */
#include "job/shelf_record.h"

#include <string.h>

#define IN_REPLIES    INT64_MIN, INT64_MAX, NULL, DW_RECORD_ALL, DW_MEMBER_REST
#define ONE_OF(words) 0, 0, words, DW_RECORD_ALL, DW_MEMBER_REST

#define WORD(name, word) [name] = word,
static const char *const kind_texts[] = {DW_KIND_LIST(WORD)};
static const char *const state_texts[] = {DW_STATE_LIST(WORD)};
static const struct dw_words kind_words = {kind_texts, DW_COUNT(kind_texts)};
static const struct dw_words state_words = {state_texts, DW_COUNT(state_texts)};

#define AT(member) offsetof(struct dw_stock, member)
static const struct dw_member stock_members[] = {
    {"number", DW_VALUE_TEXT, AT(number), IN_REPLIES},
    {"material", DW_VALUE_TEXT, AT(material), IN_REPLIES},
    {"kind", DW_VALUE_WORD, AT(kind), ONE_OF(&kind_words)},
    {"nominal", DW_VALUE_LENGTH, AT(length), IN_REPLIES},
    {"value", DW_VALUE_MONEY, AT(value), IN_REPLIES},
    {"place", DW_VALUE_TEXT, AT(place), IN_REPLIES},
    {"owner", DW_VALUE_TEXT, AT(owner), IN_REPLIES},
    {"mark", DW_VALUE_TEXT, AT(mark), IN_REPLIES},
    {"date", DW_VALUE_TEXT, AT(date), IN_REPLIES},
    {"job", DW_VALUE_TEXT, AT(job), IN_REPLIES},
    {"remark", DW_VALUE_TEXT, AT(remark), IN_REPLIES},
    {"from", DW_VALUE_TEXT, AT(from), IN_REPLIES},
    {"state", DW_VALUE_WORD, AT(state), ONE_OF(&state_words)},
    {"plan", DW_VALUE_INTEGER, AT(plan), IN_REPLIES},
};
const struct dw_member_table dw_stock__members = {stock_members, DW_COUNT(stock_members)};
#undef AT

#define AT(member) offsetof(struct dw_held_bar, member)
static const struct dw_member bar_members[] = {
    {"bar", DW_VALUE_INTEGER, AT(bar), IN_REPLIES},
    {"supply", DW_VALUE_TEXT, AT(supply), IN_REPLIES},
    {"number", DW_VALUE_TEXT, AT(number), IN_REPLIES},
    {"source", DW_VALUE_WORD, AT(source), ONE_OF(&dw_source__words)},
    {"material", DW_VALUE_TEXT, AT(material), IN_REPLIES},
    {"length", DW_VALUE_LENGTH, AT(length), IN_REPLIES},
    {"datum end", DW_VALUE_WORD, AT(ends[0]), ONE_OF(&dw_end__words)},
    {"far end", DW_VALUE_WORD, AT(ends[1]), ONE_OF(&dw_end__words)},
    {"cut", DW_VALUE_YES, AT(cut), IN_REPLIES},
    {"done", DW_VALUE_INTEGER, AT(n_done), IN_REPLIES},
    {"rest", DW_VALUE_WORD, AT(rest), ONE_OF(&dw_rest__words)},
    {"leftover", DW_VALUE_LENGTH, AT(leftover), IN_REPLIES},
};
const struct dw_member_table dw_held_bar__members = {bar_members, DW_COUNT(bar_members)};
#undef AT

#define AT(member) offsetof(struct dw_held_piece, member)
static const struct dw_member piece_members[] = {
    {"use", DW_VALUE_WORD, AT(use), ONE_OF(&dw_use__words)},
    {"label", DW_VALUE_TEXT, AT(label), IN_REPLIES},
    {"length", DW_VALUE_LENGTH, AT(length), IN_REPLIES},
    {"count", DW_VALUE_INTEGER, AT(count), IN_REPLIES},
};
const struct dw_member_table dw_held_piece__members = {piece_members, DW_COUNT(piece_members)};

void dw_stock__record(const struct dw_record_out *to, const char *key, const struct dw_stock *stock)
{
    dw_out__open(to->out, key, '{');
    dw_record__put(to, &dw_stock__members, stock);
    dw_out__length(to->out, "length", dw_stock_actual(stock));
    dw_out__open(to->out, "ends", '[');
    dw_out__text(to->out, NULL, dw_end_word(stock->ends[0]));
    dw_out__text(to->out, NULL, dw_end_word(stock->ends[1]));
    dw_out__close(to->out, '[');
    dw_out__close(to->out, '{');
}

void dw_held__put_bar(const struct dw_record_out *to, const struct dw_held_bar *bar)
{
    dw_record__put(to, &dw_held_bar__members, bar);
    dw_out__yes(to->out, "here", bar->number != NULL);
    dw_record__rows(to, "pieces", &dw_held_piece__members, bar->pieces, bar->n_pieces,
                    sizeof *bar->pieces);
}

bool dw_held__kerf(const struct dw_held_plan *plan, dw_length *kerf)
{
    for (size_t i = 0; i < plan->n_bars; i++) {
        const struct dw_held_bar *bar = &plan->bars[i];
        dw_length chips = bar->length - bar->trim - bar->leftover;
        int64_t n = 0;
        for (size_t k = 0; k < bar->n_pieces; k++) {
            chips -= bar->pieces[k].length * bar->pieces[k].count;
            n += bar->pieces[k].count;
        }
        if (bar->leftover > 0 && n > 0 && chips >= 0 && chips % n == 0) {
            *kerf = chips / n;
            return true;
        }
    }
    return false;
}

static const struct dw_material *find_material(const struct dw_job *materials, const char *id)
{
    for (size_t i = 0; id && i < materials->n_materials; i++)
        if (strcmp(materials->materials[i].id, id) == 0)
            return &materials->materials[i];
    return NULL;
}

void dw_held__care(struct dw_care *care, const struct dw_job *materials,
                   const struct dw_held_bar *bars, size_t n)
{
    for (size_t b = 0; b < n; b++) {
        const struct dw_held_bar *bar = &bars[b];
        if (bar->cut)
            continue;
        const struct dw_material *material = find_material(materials, bar->material);
        dw_care__bar(care, material, bar->number ? bar->number : bar->supply, bar->length);
        for (size_t i = 0; i < bar->n_pieces; i++) {
            const char *label = bar->pieces[i].label;
            dw_care__piece(care, material, label ? label : "bend end", bar->pieces[i].length);
        }
    }
}
