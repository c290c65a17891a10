/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars that can be bought or lie on the shelf, and offcuts. */
#include "format/fields.h"
#include "format/part.h"
#include "format/reader.h"

#include <stdlib.h>
#include <string.h>

/* --- values of a supply ------------------------------------------------------------------------
 */

static const struct dw_field break_fields[] = {
    {"from", dw_read__count, offsetof(struct dw_price_break, from), DW_MUST},
    {"price", dw_read__money, offsetof(struct dw_price_break, price), DW_MUST},
};
DW_FIELDS(price_break, "bar.price breaks", break_fields);

static bool read_breaks(struct dw_reader *reader, const struct dw_field *field,
                        const struct dw_node *value, void *row)
{
    struct dw_supply *supply = row;
    if (value->kind != DW_NODE_LIST || value->n_items == 0)
        return dw_read__refuse(reader, field, value, 0,
                               "a list is wanted: - {from: 10, price: 18.50}");
    struct dw_price_break *breaks =
        dw_arena__alloc(reader->job->arena, value->n_items, sizeof *breaks);
    if (!breaks) {
        reader->no_memory = true;
        return false;
    }
    bool good = true;
    for (size_t i = 0; i < value->n_items; i++)
        good &= dw_reader__map(reader, value->items[i], "a price break", break_fields,
                               DW_COUNT(break_fields), &breaks[i], NULL);
    supply->breaks = breaks;
    supply->n_breaks = value->n_items;
    return good;
}

/* One of a list of two. */
static bool read_end(const struct dw_node *item, enum dw_end *end)
{
    unsigned found = 0;
    bool good = dw_words__find(&dw_end__words, item->text, item->n, &found);
    *end = (enum dw_end)found;
    return good;
}

bool dw_read__ends(struct dw_reader *reader, const struct dw_field *field,
                   const struct dw_node *value, void *row)
{
    enum dw_end *ends = (enum dw_end *)(void *)((char *)row + field->offset);
    const char *text = NULL;
    size_t n = 0;
    bool good = false;
    if (value->kind == DW_NODE_LIST)
        good = value->n_items == 2 && read_end(value->items[0], &ends[0]) &&
               read_end(value->items[1], &ends[1]);
    else if (dw_read__scalar(reader, field, value, &text, &n))
        good = dw_ends__read(text, n, ends);
    else
        return false;
    return good || dw_read__refuse(reader, field, value, 0,
                                   "write `mill` or `sawn` for both ends, or `sawn, mill` for the "
                                   "datum end and the far end");
}

static bool read_use(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, void *row)
{
    struct dw_supply *supply = row;
    unsigned found = 0;
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, value->text, value->n);
    if (!dw_words__find(&dw_usage__words, folded, strlen(folded), &found))
        return dw_read__refuse(reader, field, value, 0,
                               "write `no` for what is not to be used this time, or leave it out");
    supply->usage = (enum dw_usage)found;
    return true;
}

static bool read_source(struct dw_reader *reader, const struct dw_field *field,
                        const struct dw_node *value, void *row)
{
    struct dw_supply *supply = row;
    unsigned found = 0;
    if (!dw_words__find(&dw_source__words, value->text, value->n, &found) ||
        found == DW_SOURCE_OFFCUT)
        return dw_read__refuse(reader, field, value, 0,
                               "write `new` (to be bought) or `shelf` (in the shop already)");
    supply->source = (enum dw_source)found;
    return true;
}

/* --- rows ---------------------------------------------------------------------------------------
 */

#define AT(member) offsetof(struct dw_supply, member)

/* The order of the first fields is the same in both tables: bits of `given`. */
enum { GIVEN_ID, GIVEN_MATERIAL, GIVEN_LENGTH, GIVEN_PRICE, GIVEN_COUNT, GIVEN_SQUARING };

static const struct dw_field bar_fields[] = {
    [GIVEN_ID] = {"id|bar|item|article|name", dw_read__text, AT(id), DW_MAY},
    [GIVEN_MATERIAL] = {"material|tube|stock", dw_read__material, AT(material), DW_MAY},
    [GIVEN_LENGTH] = {"length|bar length|stock length|size", dw_read__length, AT(length), DW_MUST},
    [GIVEN_PRICE] = {"price|price each|unit price|book value|value|cost", dw_read__price, AT(price),
                     DW_MAY},
    [GIVEN_COUNT] = {"count|qty|quantity|pcs|pieces|no|stock count|available", dw_read__cap,
                     AT(count), DW_MAY},
    [GIVEN_SQUARING] = {"squaring|trim", dw_read__length0, AT(trim), DW_MAY},
    {"measured|measured length", dw_read__length, AT(measured), DW_MAY},
    {"pack|pack of|pack size", dw_read__count, AT(pack), DW_MAY},
    {"price breaks", read_breaks, 0, DW_MAY},
    {"ends", dw_read__ends, AT(ends), DW_MAY},
    {"supplier|vendor|merchant", dw_read__text, AT(supplier), DW_MAY},
    {"item number|order code", dw_read__text, AT(item), DW_MAY},
    {"source", read_source, 0, DW_MAY},
    {"place|location|rack", dw_read__text, AT(place), DW_MAY},
    {"owner", dw_read__text, AT(owner), DW_MAY},
    {"mark|heat|lot", dw_read__text, AT(mark), DW_MAY},
    {"date|price date", dw_read__date, AT(date), DW_MAY},
    {"bend", dw_read__length, AT(bend), DW_MAY},
    {"tail material|tail", dw_read__material, AT(tail_material), DW_MAY},
    {"use", read_use, 0, DW_MAY},
};
static const struct dw_choice bar_choices[] = {
    {"source", &dw_source__words, DW_SOURCE_NEW, DW_SOURCE_SHELF + 1},
    {"use", &dw_usage__words, DW_USAGE_NO, DW_USAGE_NO + 1}};
DW_FIELDS_CHOOSE(bar, "bar", bar_fields, bar_choices);

static const struct dw_field offcut_fields[] = {
    [GIVEN_ID] = {"id|number|offcut|no|tag", dw_read__text, AT(id), DW_MUST},
    [GIVEN_MATERIAL] = {"material|tube|stock", dw_read__material, AT(material), DW_MAY},
    [GIVEN_LENGTH] = {"length|size", dw_read__length, AT(length), DW_MUST},
    [GIVEN_PRICE] = {"book value|value|worth|price", dw_read__money, AT(price), DW_MAY},
    [GIVEN_COUNT] = {"count|qty|quantity|pcs|pieces", dw_read__count, AT(count), DW_MAY},
    [GIVEN_SQUARING] = {"squaring|trim", dw_read__length0, AT(trim), DW_MAY},
    {"measured|measured length", dw_read__length, AT(measured), DW_MAY},
    {"ends", dw_read__ends, AT(ends), DW_MAY},
    {"place|location|rack", dw_read__text, AT(place), DW_MAY},
    {"owner", dw_read__text, AT(owner), DW_MAY},
    {"mark|heat|lot", dw_read__text, AT(mark), DW_MAY},
    {"date", dw_read__date, AT(date), DW_MAY},
    {"use", read_use, 0, DW_MAY},
};
static const struct dw_choice offcut_choices[] = {
    {"use", &dw_usage__words, DW_USAGE_NO, DW_USAGE_NO + 1}};
DW_FIELDS_CHOOSE(offcut, "offcut", offcut_fields, offcut_choices);

/* A job with one material needs not name it row by row. */
static bool need_material(struct dw_reader *reader, const struct dw_node *node, const char *what,
                          bool given, size_t *material)
{
    if (given)
        return *material != DW_NONE;
    if (reader->job->n_materials == 0)
        return false; /* that is said already */
    if (reader->job->n_materials == 1 || reader->n_file_material > 0) {
        *material = reader->n_file_material ? reader->n_file_material - 1 : 0;
        return true;
    }
    dw_reader__say(reader, DW_WRONG, node->at, "%s: `material` is missing; the job has %zu of them",
                   what, reader->job->n_materials);
    return false;
}

static struct dw_supply new_supply(const struct dw_reader *reader, const struct dw_node *node)
{
    return (struct dw_supply){.material = DW_NONE,
                              .tail_material = DW_NONE,
                              .pack = 1,
                              .trim = reader->job->saw.trim,
                              .price = -1,
                              .at = node->at};
}

static void add_supply(struct dw_reader *reader, const struct dw_supply *supply)
{
    if (reader->n_supplies == DW_MAX_ROWS)
        dw_reader__say(reader, DW_WRONG, supply->at, "more than %d rows of bars and offcuts",
                       DW_MAX_ROWS);
    if (reader->n_supplies >= DW_MAX_ROWS)
        return;
    if (!dw_array__grow(&reader->supplies, &reader->supply_capacity, reader->n_supplies + 1,
                        sizeof *reader->supplies)) {
        reader->no_memory = true;
        return;
    }
    reader->supplies[reader->n_supplies++] = *supply;
}

/* Bars are named by material and length unless the user named them. */
static bool name_bar(struct dw_reader *reader, struct dw_supply *supply)
{
    char length[DW_LENGTH_TEXT];
    struct dw_length_style style = {reader->job->unit, reader->job->denominator, 4, false, '.'};
    dw_length_print(length, supply->length, &style);
    struct dw_buf buf = {0};
    dw_buf__format(&buf, "%s %s%s", reader->job->materials[supply->material].id, length,
                   supply->source == DW_SOURCE_SHELF ? " shelf" : "");
    char *text = dw_buf__take(&buf);
    supply->id = text ? dw_job_text(reader->job, text) : NULL;
    free(text);
    if (!supply->id)
        reader->no_memory = true;
    return supply->id != NULL;
}

/* price of the bar = rate x length / per, rounded half up to 1/10 000. */
static bool set_price(struct dw_reader *reader, struct dw_bar_row *row)
{
    const struct dw_worth *price = &row->price;
    int64_t twice = 0;
    if (price->kind != DW_WORTH_RATE)
        return true;
    if (!dw_muldiv__i64(price->rate, 2 * row->supply.length, price->per, &twice) ||
        twice / 2 > DW_MONEY_MAX) {
        dw_reader__say(reader, DW_WRONG, row->supply.at, "a bar: the price is too large");
        return false;
    }
    row->supply.price = (twice + 1) / 2;
    char money[DW_MONEY_TEXT];
    dw_money_print(money, row->supply.price, reader->job->currency, false);
    dw_reader__say(reader, DW_NOTE, row->supply.at, "by its length the bar costs %s", money);
    return true;
}

/* What is not to be used counts as if there were none; what it costs new still caps what a leftover
 * is worth. */
static void bar_none(struct dw_supply *supply)
{
    if (supply->usage == DW_USAGE_NO)
        supply->count = 0;
}

static void read_bar(struct dw_reader *reader, const struct dw_node *node, void *user)
{
    (void)user;
    struct dw_bar_row row = {.supply = new_supply(reader, node)};
    struct dw_supply *supply = &row.supply;
    uint32_t given = 0;
    bool good =
        dw_reader__map(reader, node, "a bar", bar_fields, DW_COUNT(bar_fields), &row, &given);
    if (node->kind != DW_NODE_MAP)
        return;
    good &= need_material(reader, node, "a bar", given >> GIVEN_MATERIAL & 1, &supply->material);
    bool shelf = supply->source == DW_SOURCE_SHELF;
    if (!shelf && !(given >> GIVEN_PRICE & 1)) {
        dw_reader__say(reader, DW_WRONG, node->at, "a bar: `price` is missing");
        good = false;
    }
    if (!(given >> GIVEN_COUNT & 1)) {
        supply->count = DW_UNLIMITED;
        if (shelf)
            dw_reader__say(reader, DW_WRONG, node->at,
                           "a bar on the shelf: `count` is missing; how many are there?");
        good &= !shelf;
    }
    bar_none(supply);
    if (good && set_price(reader, &row) && (supply->id || name_bar(reader, supply)))
        add_supply(reader, supply);
}

static void read_offcut(struct dw_reader *reader, const struct dw_node *node, void *user)
{
    (void)user;
    struct dw_supply supply = new_supply(reader, node);
    supply.source = DW_SOURCE_OFFCUT;
    supply.count = 1;
    supply.ends[0] = supply.ends[1] = DW_END_SAWN;
    uint32_t given = 0;
    bool good = dw_reader__map(reader, node, "an offcut", offcut_fields, DW_COUNT(offcut_fields),
                               &supply, &given);
    if (node->kind != DW_NODE_MAP)
        return;
    good &= need_material(reader, node, "an offcut", given >> GIVEN_MATERIAL & 1, &supply.material);
    bar_none(&supply);
    if (good)
        add_supply(reader, &supply);
}

const struct dw_field *dw_bar__fields(size_t *n)
{
    *n = DW_COUNT(bar_fields);
    return bar_fields;
}

const struct dw_field *dw_offcut__fields(size_t *n)
{
    *n = DW_COUNT(offcut_fields);
    return offcut_fields;
}

void dw_reader__bars(struct dw_reader *reader, const struct dw_node *rows)
{
    dw_reader__rows(reader, rows, "each bar", bar_fields, DW_COUNT(bar_fields), read_bar, NULL);
}

void dw_reader__offcuts(struct dw_reader *reader, const struct dw_node *rows)
{
    dw_reader__rows(reader, rows, "each offcut", offcut_fields, DW_COUNT(offcut_fields),
                    read_offcut, NULL);
}

/* --- across rows ----------------------------------------------------------------------------- */

static int by_id(const void *a, const void *b)
{
    const struct dw_supply *x = *(const struct dw_supply *const *)a;
    const struct dw_supply *y = *(const struct dw_supply *const *)b;
    int order = strcmp(x->id, y->id);
    return order ? order : (x > y) - (x < y);
}

/* Cost: O(n log n). */
static void refuse_repeated(struct dw_reader *reader)
{
    size_t n = reader->n_supplies;
    const struct dw_supply **sorted = n ? malloc(n * sizeof(struct dw_supply *)) : NULL;
    if (n && !sorted)
        reader->no_memory = true;
    if (!sorted)
        return;
    for (size_t i = 0; i < n; i++)
        sorted[i] = &reader->supplies[i];
    qsort(sorted, n, sizeof(struct dw_supply *), by_id);
    for (size_t i = 1; i < n; i++) {
        const struct dw_supply *first = sorted[i - 1];
        if (strcmp(first->id, sorted[i]->id) == 0)
            dw_reader__say(reader, DW_WRONG, sorted[i]->at,
                           "`%.60s` is there already, at %s:%d; each bar and offcut needs its own "
                           "id",
                           first->id, first->at.file, first->at.line);
    }
    free(sorted);
}

/* A piece on the shelf without a book value counts what the rules make a leftover of its length
 * worth, so that cutting it is neither gain nor loss by itself. Needs all new bars in the job. */
static void value_shelf(struct dw_reader *reader)
{
    struct dw_supply *first = NULL;
    size_t n = 0;
    for (size_t i = 0; i < reader->job->n_supplies; i++) {
        struct dw_supply *supply = &reader->job->supplies[i];
        if (supply->price >= 0)
            continue;
        dw_length length = supply->measured ? supply->measured : supply->length;
        supply->price = dw_job_worth(reader->job, supply->material, length);
        supply->by_rules = true;
        first = first ? first : supply;
        n++;
    }
    if (n == 0)
        return;
    char money[DW_MONEY_TEXT];
    dw_money_print(money, first->price, reader->job->currency, false);
    dw_reader__say(reader, DW_NOTE, first->at,
                   "no book value for `%.60s`%s: a plan counts what the rules make a leftover of "
                   "that length worth, %s; a quote charges nothing",
                   first->id, n > 1 ? " and others" : "", money);
}

/* The shortest part or post of each material; 0 = none. length n_materials; NULL: no memory. */
static dw_length *find_shortest(const struct dw_job *job)
{
    dw_length *least = calloc(job->n_materials + 1, sizeof *least);
    for (size_t i = 0; least && i < job->n_parts; i++)
        for (size_t k = 0; k < job->parts[i].n_materials; k++) {
            dw_length *of = &least[job->parts[i].materials[k]];
            if (*of == 0 || job->parts[i].min < *of)
                *of = job->parts[i].min;
        }
    return least;
}

/* The tail of an end-bent bar gives parts too. */
static dw_length shortest_of(const dw_length *shortest, const struct dw_supply *supply)
{
    dw_length least = shortest[supply->material];
    dw_length tail = supply->bend > 0 ? shortest[supply->tail_material] : 0;
    return least == 0 || (tail > 0 && tail < least) ? tail : least;
}

/* What the longest leftover of a piece can be worth, as for pieces of a shelf: one that is booked
 * at less would earn money by being cut. Cost: O(supplies + parts). */
void dw_reader__raise_supplies(struct dw_reader *reader)
{
    struct dw_job *job = reader->job;
    const struct dw_supply *first = NULL;
    size_t n = 0;
    dw_length *shortest = find_shortest(job);
    reader->no_memory |= !shortest;
    for (size_t i = 0; shortest && i < job->n_supplies; i++) {
        struct dw_supply *supply = &job->supplies[i];
        bool tailless = supply->bend > 0 && supply->tail_material == DW_NONE; /* refused later */
        if (supply->source == DW_SOURCE_NEW || supply->by_rules || supply->count == 0 || tailless)
            continue;
        dw_length least = shortest_of(shortest, supply);
        dw_length rest = dw_supply_usable(supply) - least - job->saw.kerf;
        size_t left = supply->bend > 0 ? supply->tail_material : supply->material;
        dw_money floor = least > 0 && rest > 0 ? dw_job_worth(job, left, rest) : 0;
        if (floor <= supply->price)
            continue;
        supply->paid = supply->price;
        supply->price = floor;
        supply->raised = true;
        first = first ? first : supply;
        n++;
    }
    free(shortest);
    if (!first)
        return;
    char money[DW_MONEY_TEXT];
    dw_money_print(money, first->price, job->currency, false);
    dw_reader__say(
        reader, DW_NOTE, first->at,
        "the book value of `%.60s`%s is less than what may be left of it is worth: a plan "
        "counts that, %s, so that no piece earns money by being cut",
        first->id, n > 1 ? " and others" : "", money);
}

void dw_reader__finish_supplies(struct dw_reader *reader)
{
    struct dw_job *job = reader->job;
    refuse_repeated(reader);
    job->supplies = dw_arena__alloc(job->arena, reader->n_supplies, sizeof *job->supplies);
    if (!job->supplies) {
        reader->no_memory = true;
        return;
    }
    job->n_supplies = reader->n_supplies;
    if (job->n_supplies)
        memcpy(job->supplies, reader->supplies, job->n_supplies * sizeof *job->supplies);
    if (reader->report->n_wrong == 0)
        value_shelf(reader);
}
