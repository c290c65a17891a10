/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Sections' limits, suppliers' terms, and how to quote. */
#include "format/fields.h"
#include "format/trade.h"

#include <dropwise/shop.h>
#include <string.h>

/* --- sections -------------------------------------------------------------------------------- */

static bool read_size(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    return dw_read__sizes(reader, field, value, ((struct dw_section *)row)->size, 3);
}

static bool read_door(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    return dw_read__sizes(reader, field, value, ((struct dw_section *)row)->door, 2);
}

static bool read_van(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, void *row)
{
    return dw_read__sizes(reader, field, value, ((struct dw_section *)row)->van, 3);
}

static bool read_riser(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    return dw_read__sizes(reader, field, value, ((struct dw_section *)row)->riser, 2);
}

static const struct dw_field section_fields[] = {
    {"name|section", dw_read__text, offsetof(struct dw_section, name), DW_MUST},
    {"longest|longest piece", dw_read__length, offsetof(struct dw_section, longest), DW_MAY},
    {"weight|heaviest", dw_read__weight, offsetof(struct dw_section, weight_mg), DW_MAY},
    {"carries", dw_read__weight, offsetof(struct dw_section, added_mg), DW_MAY},
    {"size|packed size", read_size, 0, DW_MAY},
    {"door", read_door, 0, DW_MAY},
    {"van", read_van, 0, DW_MAY},
    {"riser", read_riser, 0, DW_MAY},
};
DW_FIELDS(section, "section", section_fields);

void dw_reader__sections(struct dw_reader *reader, const struct dw_node *list)
{
    size_t n = 0;
    struct dw_section *sections = dw_trade__list(reader, list, "sections", sizeof *sections, &n);
    struct dw_job *job = reader->job;
    job->sections = sections;
    for (size_t i = 0; i < n; i++) {
        struct dw_section *section = &sections[job->n_sections];
        dw_reader__map(reader, list->items[i], "a section", section_fields,
                       DW_COUNT(section_fields), section, NULL);
        section->at = list->items[i]->at;
        job->n_sections += section->name != NULL;
    }
}

/* --- suppliers ------------------------------------------------------------------------------- */

#define AT(member) offsetof(struct dw_supplier, member)

static const struct dw_field supplier_fields[] = {
    {"name|supplier", dw_read__text, AT(name), DW_MUST},
    {"address", dw_read__lines, AT(address), DW_MAY},
    {"customer number|account", dw_read__text, AT(customer), DW_MAY},
    {"least order|minimum order", dw_read__money, AT(minimum), DW_MAY},
    {"small order under", dw_read__money, AT(small_under), DW_MAY},
    {"small order charge", dw_read__money, AT(small_charge), DW_MAY},
    {"cut charge", dw_read__money, AT(cut_charge), DW_MAY},
    {"cuts a pack", dw_read__cap, AT(cuts_a_pack), DW_MAY},
    {"free cuts", dw_read__cap, AT(cuts_free), DW_MAY},
    {"least cut charge", dw_read__money, AT(cut_minimum), DW_MAY},
    {"freight|delivery", dw_read__money, AT(freight), DW_MAY},
    {"free freight from", dw_read__money, AT(freight_free), DW_MAY},
    {"prices of|price date", dw_read__date, AT(price_date), DW_MAY},
    {"valid until", dw_read__date, AT(valid_until), DW_MAY},
};
DW_FIELDS(supplier, "supplier", supplier_fields);

#undef AT

void dw_reader__suppliers(struct dw_reader *reader, const struct dw_node *list)
{
    size_t n = 0;
    struct dw_supplier *suppliers =
        dw_trade__list(reader, list, "suppliers", sizeof *suppliers, &n);
    struct dw_job *job = reader->job;
    job->suppliers = suppliers;
    for (size_t i = 0; i < n; i++) {
        struct dw_supplier *supplier = &suppliers[job->n_suppliers];
        dw_reader__map(reader, list->items[i], "a supplier", supplier_fields,
                       DW_COUNT(supplier_fields), supplier, NULL);
        supplier->at = list->items[i]->at;
        job->n_suppliers += supplier->name != NULL;
    }
}

/* --- quote ----------------------------------------------------------------------------------- */

static const char *const way_texts[] = {[DW_CHARGE_BARS] = "whole bars",
                                        [DW_CHARGE_USED] = "length used",
                                        [DW_CHARGE_PERCENT] = "length plus percentage"};
static const char *const owner_texts[] = {[DW_OWNER_CLIENT] = "client", [DW_OWNER_SHOP] = "shop"};
static const char *const waste_texts[] = {
    [DW_WASTE_BAR] = "by bar", [DW_WASTE_BATCH] = "by batch", [DW_WASTE_SHOP] = "shop"};
static const struct dw_words way_words = {way_texts, DW_COUNT(way_texts)};
static const struct dw_words owner_words = {owner_texts, DW_COUNT(owner_texts)};
static const struct dw_words waste_words = {waste_texts, DW_COUNT(waste_texts)};

/* One of the words; `hint` says what is wanted. */
static bool read_word(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, const struct dw_words *words, const char *hint,
                      unsigned *out)
{
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, value->text, value->n);
    *out = 0;
    return dw_words__find(words, folded, strlen(folded), out) ||
           dw_read__refuse(reader, field, value, 0, "write %s", hint);
}

static bool read_way(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, void *row)
{
    unsigned way = 0;
    bool good = read_word(reader, field, value, &way_words,
                          "whole bars, length used, or length plus percentage", &way);
    ((struct dw_quote_terms *)row)->way = (enum dw_charge_way)way;
    return good;
}

static bool read_owner(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    unsigned owner = 0;
    bool good = read_word(reader, field, value, &owner_words,
                          "client or shop: whose the kept offcuts are", &owner);
    ((struct dw_quote_terms *)row)->offcuts = (enum dw_owner)owner;
    return good;
}

static bool read_waste(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    unsigned waste = 0;
    bool good = read_word(reader, field, value, &waste_words,
                          "by bar, by batch, or shop: who bears what a bar leaves", &waste);
    ((struct dw_quote_terms *)row)->waste = (enum dw_waste_rule)waste;
    return good;
}

/* Markup is on cost, margin on price: a job says one of them. */
static bool read_uplift(struct dw_reader *reader, const struct dw_field *field,
                        const struct dw_node *value, void *row)
{
    struct dw_quote_terms *terms = row;
    bool margin = strcmp(field->names, "margin") == 0;
    if (terms->uplift != DW_UPLIFT_NONE)
        return dw_read__refuse(reader, field, value, 0,
                               "give a markup (on cost) or a margin (of the price), not both");
    terms->uplift = margin ? DW_UPLIFT_MARGIN : DW_UPLIFT_MARKUP;
    return dw_read__rate(reader, field, value, row);
}

#define TAX(kind) offsetof(struct dw_quote_terms, tax_ppm) + sizeof(int64_t) * (kind)

static bool read_tax_rate(struct dw_reader *reader, const struct dw_field *field,
                          const struct dw_node *value, void *row)
{
    if (strcmp(value->text, "none") == 0)
        return true;
    return dw_read__rate(reader, field, value, row);
}

static const struct dw_field tax_fields[] = {
    {"tube", read_tax_rate, TAX(DW_LINE_TUBE), DW_MAY},
    {"waste", read_tax_rate, TAX(DW_LINE_WASTE), DW_MAY},
    {"cuts", read_tax_rate, TAX(DW_LINE_CUTS), DW_MAY},
    {"fittings", read_tax_rate, TAX(DW_LINE_FITTINGS), DW_MAY},
    {"delivery", read_tax_rate, TAX(DW_LINE_DELIVERY), DW_MAY},
    {"labour|labor", read_tax_rate, TAX(DW_LINE_LABOUR), DW_MAY},
};
DW_FIELDS(tax, "quote.tax", tax_fields);

/* One rate for all kinds of lines, or a rate for each kind that is taxed. */
static bool read_tax(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, void *row)
{
    if (value->kind == DW_NODE_MAP)
        return dw_reader__map(reader, value, "tax", tax_fields, DW_COUNT(tax_fields), row, NULL);
    struct dw_field one = *field;
    bool good = true;
    for (size_t i = 0; i < DW_COUNT(tax_fields) && good; i++) {
        one.offset = tax_fields[i].offset;
        good = read_tax_rate(reader, &one, value, row);
    }
    return good;
}

struct labour_row {
    struct dw_labour labour;
    const char *order;
};

enum { LABOUR_RATE = 2 };

static const struct dw_field labour_fields[] = {
    {"work|text", dw_read__text, offsetof(struct labour_row, labour.text), DW_MUST},
    {"hours", dw_read__hours, offsetof(struct labour_row, labour.milli_hours), DW_MUST},
    [LABOUR_RATE] = {"rate", dw_read__money, offsetof(struct labour_row, labour.rate), DW_MAY},
    {"no markup|net", dw_read__yes, offsetof(struct labour_row, labour.net), DW_MAY},
    {"job|order", dw_read__text, offsetof(struct labour_row, order), DW_MAY},
};
DW_FIELDS(labour, "quote.labour", labour_fields);

/* An hour costs what the line says, or what it costs in the shop. */
static bool settle_rate(struct dw_reader *reader, bool given, struct dw_labour *labour)
{
    const struct dw_shop *shop = reader->job->shop;
    if (given)
        return true;
    labour->rate = shop ? shop->hour : 0;
    if (labour->rate == 0)
        dw_reader__say(reader, DW_WRONG, labour->at, "a labour line: `rate` is missing%s",
                       shop ? ", and the shop has no `hour`" : "");
    return labour->rate > 0;
}

static bool read_labour(struct dw_reader *reader, const struct dw_field *field,
                        const struct dw_node *value, void *row)
{
    (void)field;
    struct dw_quote_terms *terms = row;
    size_t n = 0;
    struct dw_labour *labour = dw_trade__list(reader, value, "labour lines", sizeof *labour, &n);
    bool good = labour != NULL;
    for (size_t i = 0; labour && i < n; i++) {
        struct labour_row line = {0};
        uint32_t given = 0;
        bool whole = dw_reader__map(reader, value->items[i], "a labour line", labour_fields,
                                    DW_COUNT(labour_fields), &line, &given);
        line.labour.at = value->items[i]->at;
        good &= whole && settle_rate(reader, given >> LABOUR_RATE & 1, &line.labour);
        line.labour.order = dw_trade__order(reader, line.order, "a labour line", line.labour.at);
        labour[i] = line.labour;
    }
    terms->labour = labour;
    terms->n_labour = n;
    return good;
}

enum { GIVEN_WAY, GIVEN_PERCENT, GIVEN_OFFCUTS, GIVEN_WASTE };

#define AT(member) offsetof(struct dw_quote_terms, member)

static const struct dw_field quote_fields[] = {
    [GIVEN_WAY] = {"charge", read_way, 0, DW_MUST},
    [GIVEN_PERCENT] = {"percentage", dw_read__rate, AT(percent_ppm), DW_MAY},
    [GIVEN_OFFCUTS] = {"offcuts", read_owner, 0, DW_MAY},
    [GIVEN_WASTE] = {"waste", read_waste, 0, DW_MAY},
    {"markup", read_uplift, AT(uplift_ppm), DW_MAY},
    {"margin", read_uplift, AT(uplift_ppm), DW_MAY},
    {"tax", read_tax, 0, DW_MAY},
    {"tax name", dw_read__text, AT(tax_name), DW_MAY},
    {"round to|round prices to", dw_read__money, AT(round_to), DW_MAY},
    {"valid days|valid for days", dw_read__count, AT(valid_days), DW_MAY},
    {"labour|labor", read_labour, 0, DW_MAY},
};
static const struct dw_choice quote_choices[] = {
    {"charge", &way_words, DW_CHARGE_BARS, DW_CHARGE_PERCENT + 1},
    {"offcuts", &owner_words, DW_OWNER_CLIENT, DW_OWNER_SHOP + 1},
    {"waste", &waste_words, DW_WASTE_BAR, DW_WASTE_SHOP + 1},
};
DW_FIELDS_CHOOSE(quote, "quote", quote_fields, quote_choices);

/* What the way of charging means for the rest, where the job leaves it open. */
static void settle_way(struct dw_reader *reader, uint32_t given, struct dw_quote_terms *terms)
{
    bool percent = terms->way == DW_CHARGE_PERCENT;
    if (!(given >> GIVEN_OFFCUTS & 1))
        terms->offcuts = terms->way == DW_CHARGE_BARS ? DW_OWNER_CLIENT : DW_OWNER_SHOP;
    if (!(given >> GIVEN_WASTE & 1))
        terms->waste = percent                        ? DW_WASTE_SHOP
                       : terms->way == DW_CHARGE_USED ? DW_WASTE_BATCH
                                                      : DW_WASTE_BAR;
    if (percent == (given >> GIVEN_PERCENT & 1))
        return;
    dw_reader__say(reader, DW_WRONG, terms->at,
                   percent
                       ? "the quote: `percentage` is missing"
                       : "the quote: a `percentage` goes with `charge: length plus percentage`");
}

void dw_reader__quote(struct dw_reader *reader, const struct dw_node *map)
{
    struct dw_quote_terms *terms = dw_arena__alloc(reader->job->arena, 1, sizeof *terms);
    if (!terms) {
        reader->no_memory = true;
        return;
    }
    dw_quote_terms_default(terms);
    terms->at = map->at;
    uint32_t given = 0;
    if (dw_reader__map(reader, map, "the quote", quote_fields, DW_COUNT(quote_fields), terms,
                       &given))
        settle_way(reader, given, terms);
    if (terms->valid_days == 0 && reader->job->shop)
        terms->valid_days = reader->job->shop->valid_days;
    reader->job->quote = terms;
}
