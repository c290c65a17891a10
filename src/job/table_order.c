/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An order as tables: all its lines, or a sheet a supplier. */
#include "job/leaf.h"

#include "cost/record.h"
#include "job/trade.h"
#include "model/caution.h"

#define DOC(name)      .of = &dw_order_doc__members, .member = (name)
#define SUPPLIER(name) .of = &dw_order_supplier__members, .member = (name)
#define LINE(name)     .of = &dw_order_line__members, .member = (name)

static const struct dw_leaf_column line_columns[] = {
    {SUPPLIER("name"), .title = "supplier", .width = 20},
    {LINE("kind"), .title = "kind", .width = 10, .as = DW_LEAF_WORD},
    {LINE("item"), .title = "item", .width = 16},
    {LINE("text"), .title = "description", .width = 44, .as = DW_LEAF_NOTE},
    {LINE("length"), .title = "length", .width = 12},
    {LINE("quantity"), .title = "quantity", .width = 10},
    {LINE("pack"), .title = "pack of", .width = 8},
    {LINE("packs"), .title = "packs", .width = 8},
    {LINE("price_each"), .title = "price each", .width = 12},
    {LINE("amount"), .title = "amount", .width = 12, .as = DW_LEAF_SUM},
    {DOC("currency"), .title = "currency", .width = 9, .as = DW_LEAF_SAME},
    {LINE("weight_mg"), .title = "weight", .width = 11, .as = DW_LEAF_SUM},
    {LINE("price_of"), .title = "price of", .width = 12, .as = DW_LEAF_DATE},
};

static void fill_supplier(struct dw_leaf *leaf, const struct dw_order_doc *order,
                          const struct dw_order_supplier *supplier)
{
    for (size_t i = 0; i < supplier->n_lines; i++) {
        const struct dw_order_line *line = &supplier->lines[i];
        dw_leaf__row(leaf);
        dw_leaf__put(leaf, &dw_order_doc__members, order);
        dw_leaf__put(leaf, &dw_order_supplier__members, supplier);
        dw_leaf__put(leaf, &dw_order_line__members, line);
        if (line->kind == DW_ORDER_BARS)
            continue;
        dw_leaf__clear(leaf, "pack of");
        dw_leaf__clear(leaf, "packs");
    }
}

/* All lines of one sheet, of one supplier or, for NULL, of all. */
static void fill_sheet(struct dw_tables *to, const char *name, const struct dw_order_doc *order,
                       const struct dw_order_supplier *supplier)
{
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, name, line_columns, DW_COUNT(line_columns));
    for (size_t i = 0; i < order->n_suppliers; i++)
        if (!supplier || supplier == &order->suppliers[i])
            fill_supplier(&leaf, order, &order->suppliers[i]);
    dw_leaf__sums(&leaf, "total");
    if ((supplier ? supplier->weight_mg : order->weight_mg) < 0)
        dw_leaf__no_sum(&leaf, "weight");
    for (size_t i = 0; i < order->n_notes && !supplier; i++)
        dw_leaf__note(&leaf, "note", order->notes[i]);
    dw_leaf__cautions(&leaf, &(const struct dw_care){0}, DW_AT_BUY);
    dw_leaf__end(&leaf);
}

/* --- several suppliers -------------------------------------------------------------------------
 */

static const struct dw_leaf_column sum_columns[] = {
    {SUPPLIER("name"), .title = "supplier", .width = 30, .as = DW_LEAF_NOTE},
    {SUPPLIER("goods"), .title = "goods", .width = 14, .as = DW_LEAF_SUM},
    {.title = "amount", .width = 14, .as = DW_LEAF_SUM},
    {DOC("currency"), .title = "currency", .width = 9, .as = DW_LEAF_SAME},
    {SUPPLIER("prices_of"), .title = "prices of", .width = 12, .as = DW_LEAF_DATE},
    {SUPPLIER("valid_until"), .title = "valid until", .width = 12, .as = DW_LEAF_DATE},
};

static const char *name_of(const struct dw_order_supplier *supplier)
{
    return supplier->name ? supplier->name : "no supplier named";
}

/* The sheet of their sums stands in front of theirs, and refers to them. */
static void fill_sums(struct dw_tables *to, const struct dw_order_doc *order)
{
    struct dw_leaf leaf;
    dw_leaf__begin(&leaf, to, "order", sum_columns, DW_COUNT(sum_columns));
    for (size_t i = 0; i < order->n_suppliers && !to->failed; i++) {
        dw_leaf__row(&leaf);
        dw_leaf__put(&leaf, &dw_order_doc__members, order);
        dw_leaf__put(&leaf, &dw_order_supplier__members, &order->suppliers[i]);
        dw_leaf__text(&leaf, "supplier", name_of(&order->suppliers[i]));
        dw_leaf__sum_of(&leaf, "amount", i);
    }
    dw_leaf__sums(&leaf, "total");
    for (size_t i = 0; i < order->n_notes; i++)
        dw_leaf__note(&leaf, "note", order->notes[i]);
    dw_leaf__end(&leaf);
    if (!to->failed)
        dw_tables__last_first(to);
}

dw_err dw_tables__order(const struct dw_job *job, const struct dw_order_doc *order,
                        const struct dw_table_wish *wish, struct dw_tables *out,
                        struct dw_error *error)
{
    dw_err err = dw_tables__begin(out, job, wish, error);
    if (err)
        return err;
    if (out->csv || order->n_suppliers < 2) {
        fill_sheet(out, "order", order, NULL);
    } else {
        for (size_t i = 0; i < order->n_suppliers; i++)
            fill_sheet(out, name_of(&order->suppliers[i]), order, &order->suppliers[i]);
        fill_sums(out, order);
    }
    return dw_tables__end(out, error);
}

/* --- of a program of one's own -------------------------------------------------------------------
 */

dw_err dw_order_table(const struct dw_job *job, const struct dw_order_doc *order, const char *form,
                      char **bytes, size_t *n, struct dw_error *error)
{
    const struct dw_table_wish wish = {.form = form, .date = order->date};
    struct dw_tables tables = {0};
    *bytes = NULL;
    dw_err err = dw_tables__order(job, order, &wish, &tables, error);
    if (!err)
        err = dw_tables__bytes(&tables, NULL, bytes, n, error);
    dw_tables__free(&tables);
    return err;
}

dw_err dw_order_write(const struct dw_job *job, const struct dw_order_doc *order, const char *path,
                      bool replace, struct dw_error *error)
{
    const struct dw_table_wish wish = {.form = dw_tables__form_of(path), .date = order->date};
    struct dw_tables tables = {0};
    if (!wish.form)
        return dw_error__at(error, DW_ERR_INPUT, path, 0, 0,
                            "an order is written to a name that ends in .csv or .xlsx");
    dw_err err = dw_tables__order(job, order, &wish, &tables, error);
    if (!err)
        err = dw_tables__write(&tables, path, replace, error);
    dw_tables__free(&tables);
    return err;
}
