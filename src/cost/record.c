/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables of members of an order and a quote. */
#include "cost/record.h"

#define TABLE(members)                                                                             \
    {                                                                                              \
        members, DW_COUNT(members)                                                                 \
    }
#define MEMBER(key, type, field) .name = (key), .kind = (type), .offset = AT(field), .since = 1
/* An array of the record: rows of a table, or texts. */
#define LIST(name, length, row, table)                                                             \
    static const struct dw_member_list name = {                                                    \
        .n_offset = AT(length), .size = sizeof(row), .rows = table}

#define WORD(name, word) [name] = word,
static const char *const order_kind_words[] = {DW_ORDER_KIND_LIST(WORD)};
const struct dw_words dw_order_kind__words = {order_kind_words, DW_COUNT(order_kind_words)};

const char *dw_order_kind_word(enum dw_order_kind kind)
{
    return order_kind_words[kind];
}

/* --- order ------------------------------------------------------------------------------------ */

#define AT(member) offsetof(struct dw_order_line, member)
static const struct dw_member order_line_members[] = {
    {MEMBER("kind", DW_VALUE_WORD, kind), .words = &dw_order_kind__words},
    {MEMBER("item", DW_VALUE_TEXT, item)},
    {MEMBER("item_number", DW_VALUE_TEXT, number)},
    {MEMBER("text", DW_VALUE_TEXT, text)},
    {MEMBER("length", DW_VALUE_GIVEN, length)},
    {MEMBER("quantity", DW_VALUE_INTEGER, quantity)},
    {MEMBER("pack", DW_VALUE_INTEGER, pack)},
    {MEMBER("packs", DW_VALUE_INTEGER, packs)},
    {MEMBER("spare", DW_VALUE_INTEGER, spare)},
    {MEMBER("price_each", DW_VALUE_MONEY, unit_price)},
    {MEMBER("amount", DW_VALUE_MONEY, money)},
    {MEMBER("weight_mg", DW_VALUE_WEIGHT, weight_mg)},
    {MEMBER("price_of", DW_VALUE_TEXT, date)},
};
const struct dw_member_table dw_order_line__members = TABLE(order_line_members);
#undef AT

#define AT(member) offsetof(struct dw_order_supplier, member)
LIST(order_lines, n_lines, struct dw_order_line, TABLE(order_line_members));
static const struct dw_member order_supplier_members[] = {
    {MEMBER("name", DW_VALUE_TEXT, name)},
    {MEMBER("address", DW_VALUE_TEXT, address)},
    {MEMBER("customer_number", DW_VALUE_TEXT, customer)},
    {MEMBER("lines", DW_VALUE_ROWS, lines), .list = &order_lines},
    {MEMBER("goods", DW_VALUE_MONEY, goods)},
    {MEMBER("total", DW_VALUE_MONEY, total)},
    {MEMBER("weight_mg", DW_VALUE_WEIGHT, weight_mg)},
    {MEMBER("prices_of", DW_VALUE_TEXT, price_date)},
    {MEMBER("valid_until", DW_VALUE_TEXT, valid_until)},
    {MEMBER("expired", DW_VALUE_YES, expired)},
};
const struct dw_member_table dw_order_supplier__members = TABLE(order_supplier_members);
#undef AT

#define AT(member) offsetof(struct dw_order_doc, member)
LIST(order_suppliers, n_suppliers, struct dw_order_supplier, TABLE(order_supplier_members));
LIST(order_notes, n_notes, const char *, {0});
static const struct dw_member order_doc_members[] = {
    {MEMBER("job", DW_VALUE_TEXT, job)},
    {MEMBER("date", DW_VALUE_TEXT, date)},
    {MEMBER("currency", DW_VALUE_TEXT, currency)},
    {MEMBER("suppliers", DW_VALUE_ROWS, suppliers), .list = &order_suppliers},
    {MEMBER("bars", DW_VALUE_MONEY, bars)},
    {MEMBER("fittings", DW_VALUE_MONEY, fittings)},
    {MEMBER("charges", DW_VALUE_MONEY, charges)},
    {MEMBER("total", DW_VALUE_MONEY, total)},
    {MEMBER("weight_mg", DW_VALUE_WEIGHT, weight_mg)},
    {MEMBER("notes", DW_VALUE_TEXTS, notes), .list = &order_notes},
};
const struct dw_member_table dw_order_doc__members = TABLE(order_doc_members);
#undef AT

/* --- quote ------------------------------------------------------------------------------------ */

#define INSIDE .inside = true

#define AT(member) offsetof(struct dw_quote_line, member)
static const struct dw_member quote_line_members[] = {
    {MEMBER("kind", DW_VALUE_WORD, kind), .words = &dw_line_kind__words},
    {MEMBER("text", DW_VALUE_TEXT, text)},
    {MEMBER("quantity", DW_VALUE_TEXT, quantity)},
    {MEMBER("price", DW_VALUE_MONEY, price)},
    {MEMBER("tax_rate", DW_VALUE_RATE, tax_ppm)},
    {MEMBER("tax", DW_VALUE_MONEY, tax)},
    {MEMBER("cost", DW_VALUE_MONEY, cost), INSIDE},
};
const struct dw_member_table dw_quote_line__members = TABLE(quote_line_members);
#undef AT

#define AT(member) offsetof(struct dw_quote_offcut, member)
static const struct dw_member quote_offcut_members[] = {
    {MEMBER("from", DW_VALUE_ID, supply)},
    {MEMBER("length", DW_VALUE_LENGTH, length)},
    {MEMBER("count", DW_VALUE_INTEGER, count)},
    {MEMBER("cost", DW_VALUE_MONEY, cost), INSIDE},
};
#undef AT

#define AT(member) offsetof(struct dw_quote_job, member)
LIST(quote_lines, n_lines, struct dw_quote_line, TABLE(quote_line_members));
LIST(quote_offcuts, n_offcuts, struct dw_quote_offcut, TABLE(quote_offcut_members));
static const struct dw_member quote_job_members[] = {
    {MEMBER("job", DW_VALUE_TEXT, name)},
    {MEMBER("client", DW_VALUE_TEXT, client)},
    {MEMBER("address", DW_VALUE_TEXT, address)},
    {MEMBER("reference", DW_VALUE_TEXT, reference)},
    {MEMBER("scope", DW_VALUE_TEXT, scope)},
    {MEMBER("language", DW_VALUE_TEXT, language)},
    {MEMBER("due", DW_VALUE_TEXT, due)},
    {MEMBER("lines", DW_VALUE_ROWS, lines), .list = &quote_lines},
    {MEMBER("offcuts", DW_VALUE_ROWS, offcuts), .list = &quote_offcuts},
    {MEMBER("price", DW_VALUE_MONEY, price)},
    {MEMBER("tax", DW_VALUE_MONEY, tax)},
    {MEMBER("total", DW_VALUE_MONEY, total)},
    {MEMBER("charged", DW_VALUE_MONEY, charged), INSIDE},
    {MEMBER("cost", DW_VALUE_MONEY, cost), INSIDE},
};
const struct dw_member_table dw_quote_job__members = TABLE(quote_job_members);
#undef AT

#define AT(member) offsetof(struct dw_quote_doc, member)
LIST(quote_jobs, n_jobs, struct dw_quote_job, TABLE(quote_job_members));
LIST(quote_notes, n_notes, const char *, {0});
LIST(quote_shop_offcuts, n_shop_offcuts, struct dw_quote_offcut, TABLE(quote_offcut_members));
static const struct dw_member quote_doc_members[] = {
    {MEMBER("date", DW_VALUE_TEXT, date)},
    {MEMBER("valid_until", DW_VALUE_TEXT, valid_until)},
    {MEMBER("shop", DW_VALUE_TEXT, sender)},
    {MEMBER("currency", DW_VALUE_TEXT, currency)},
    {MEMBER("way", DW_VALUE_TEXT, way)},
    {MEMBER("tax_name", DW_VALUE_TEXT, tax_name)},
    {MEMBER("jobs", DW_VALUE_ROWS, jobs), .list = &quote_jobs},
    {MEMBER("notes", DW_VALUE_TEXTS, notes), .list = &quote_notes},
    {MEMBER("rule", DW_VALUE_TEXT, rule), INSIDE},
    {MEMBER("uplift", DW_VALUE_TEXT, uplift), INSIDE},
    {MEMBER("spent", DW_VALUE_MONEY, spent), INSIDE},
    {MEMBER("charged", DW_VALUE_MONEY, charged), INSIDE},
    {MEMBER("shop_bears", DW_VALUE_MONEY, shop), INSIDE},
    {MEMBER("shop_offcuts", DW_VALUE_ROWS, shop_offcuts), .list = &quote_shop_offcuts, INSIDE},
};
const struct dw_member_table dw_quote_doc__members = TABLE(quote_doc_members);
#undef AT
