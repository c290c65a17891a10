/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shop: its own file, or written out in a job. */
#include "format/shop.h"
#include "format/fields.h"
#include "format/trade.h"

#include <stdlib.h>
#include <string.h>

#define SHOP_LIMIT ((size_t)256 * 1024) /* bytes of a shop's file */
#define LINES_MOST 12                   /* of an address, of terms */

struct shop_row {
    struct dw_shop shop;
    struct dw_shop_lent lent;
    const struct dw_node *logo;
    const char *folder; /* of the shop's file */
    bool kept;          /* its logo is kept beside it, and comes later */
};

/* --- values ------------------------------------------------------------------------------------
 */

/* One line of a text, as dw_read__text takes it, after those before it. */
static bool add_line(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, const char *from, size_t n, struct dw_buf *to)
{
    const struct dw_node line = dw_node__slice(value, from, n);
    const struct dw_field one = {.names = field->names};
    const char *text = NULL;
    if (strspn(from, " \t\r") >= n) {
        dw_buf__put(to, to->n ? "\n" : "");
        return true;
    }
    if (!dw_read__text(reader, &one, &line, &text))
        return false;
    dw_buf__format(to, "%s%s", to->n ? "\n" : "", text);
    return true;
}

bool dw_read__lines(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    struct dw_buf all = {0};
    bool good = true;
    size_t n_lines = 0;
    for (size_t i = 0; good && value->kind == DW_NODE_LIST && i < value->n_items; i++, n_lines++)
        good = add_line(reader, field, value->items[i], value->items[i]->text, value->items[i]->n,
                        &all);
    const char *end = value->text + (value->kind == DW_NODE_SCALAR ? value->n : 0);
    while (end > value->text && strchr(" \t\r\n", end[-1]))
        end--;
    for (const char *at = value->text; good && value->kind == DW_NODE_SCALAR && at < end;
         n_lines++) {
        const char *stop = memchr(at, '\n', (size_t)(end - at));
        good = add_line(reader, field, value, at, (size_t)((stop ? stop : end) - at), &all);
        at = stop ? stop + 1 : end;
    }
    if (good && (value->kind == DW_NODE_MAP || all.n == 0))
        good = dw_read__refuse(reader, field, value, 0, "lines of text are wanted");
    if (good && n_lines > LINES_MOST)
        good = dw_read__refuse(reader, field, value, 0, "more than %d lines", LINES_MOST);
    const char *text = good ? dw_arena__text(reader->job->arena, all.text) : NULL;
    reader->no_memory |= all.failed || (good && !text);
    *(const char **)(void *)((char *)row + field->offset) = text;
    dw_buf__free(&all);
    return good;
}

static bool read_series(struct dw_reader *reader, const struct dw_field *field,
                        const struct dw_node *value, void *row)
{
    if (!dw_read__text(reader, field, value, row))
        return false;
    const char **slot = (const char **)(void *)((char *)row + field->offset);
    const char *fault = dw_series_fault(*slot);
    if (fault)
        *slot = NULL;
    return !fault || dw_read__refuse(reader, field, value, 0, "%s", fault);
}

static bool read_paper(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    return (strcmp(value->text, "a4") == 0 || strcmp(value->text, "letter") == 0)
               ? dw_read__text(reader, field, value, row)
               : dw_read__refuse(reader, field, value, 0, "write a4 or letter");
}

bool dw_read__language(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    const char *c = value->text;
    bool good = value->kind == DW_NODE_SCALAR && value->n == 2 && c[0] >= 'a' && c[0] <= 'z' &&
                c[1] >= 'a' && c[1] <= 'z';
    return good ? dw_read__text(reader, field, value, row)
                : dw_read__refuse(reader, field, value, 0,
                                  "write the two letters of a language after ISO 639-1: en, de");
}

/* A length that may go the other way: "-1.5 mm". */
static bool read_shift(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    bool back = text[0] == '-';
    struct dw_node rest = dw_node__slice(value, text + back, n - back);
    dw_length *shift = (dw_length *)(void *)((char *)row + field->offset);
    if (!dw_read__length0(reader, field, &rest, row))
        return false;
    if (*shift > 20 * DW_NM_PER_MM)
        return dw_read__refuse(reader, field, value, 0,
                               "a printer is shifted by 20 mm at most; beyond that the stock is "
                               "another one");
    *shift = back ? -*shift : *shift;
    return true;
}

/* --- the map -----------------------------------------------------------------------------------
 */

#define AT(member) offsetof(struct shop_row, member)

static const struct dw_field shop_fields[] = {
    {"dropwise shop", dw_read__version, 0, DW_MAY},
    {"unit|units", dw_read__unit, AT(lent.unit), DW_MAY},
    {"currency", dw_read__currency, AT(lent.currency), DW_MAY},
    {"name", dw_read__text, AT(shop.name), DW_MUST},
    {"address", dw_read__lines, AT(shop.address), DW_MAY},
    {"contact", dw_read__lines, AT(shop.contact), DW_MAY},
    {"tax number", dw_read__text, AT(shop.tax_number), DW_MAY},
    {"bank", dw_read__lines, AT(shop.bank), DW_MAY},
    {"deliver to", dw_read__lines, AT(shop.deliver), DW_MAY},
    {"logo", dw_read__node, AT(logo), DW_MAY},
    {"language", dw_read__language, AT(shop.language), DW_MAY},
    {"quote numbers", read_series, AT(shop.quotes), DW_MAY},
    {"order numbers", read_series, AT(shop.orders), DW_MAY},
    {"terms", dw_read__lines, AT(shop.terms), DW_MAY},
    {"valid days|valid for days", dw_read__count, AT(shop.valid_days), DW_MAY},
    {"paper", read_paper, AT(shop.paper), DW_MAY},
    {"labels", dw_read__text, AT(shop.labels), DW_MAY},
    {"labels right", read_shift, AT(shop.shift[0]), DW_MAY},
    {"labels down", read_shift, AT(shop.shift[1]), DW_MAY},
    {"hour", dw_read__money, AT(shop.hour), DW_MAY},
    {"saw", dw_read__node, AT(lent.saw), DW_MAY},
    {"rules", dw_read__node, AT(lent.rules), DW_MAY},
    {"suppliers", dw_read__node, AT(lent.suppliers), DW_MAY},
    {"quote", dw_read__node, AT(lent.quote), DW_MAY},
};
#undef AT

/* Bare numbers below are in the shop's own unit, whatever the job's. */
static void set_unit(struct dw_node *node, enum dw_unit unit)
{
    if (node->bare == DW_UNIT_NONE)
        node->bare = unit;
    for (size_t i = 0; i < node->n_items; i++)
        set_unit(node->items[i], unit);
}

static enum dw_unit find_unit(const struct dw_node *map)
{
    for (size_t k = 0; map->kind == DW_NODE_MAP && k + 1 < map->n_items; k += 2)
        if (strncmp(map->items[k]->text, "unit", 4) == 0)
            return dw_unit_find(map->items[k + 1]->text, map->items[k + 1]->n);
    return DW_UNIT_MM;
}

/* --- logo --------------------------------------------------------------------------------------
 */

static bool is_picture(const char *bytes, size_t n)
{
    static const char png[] = "\x89PNG\r\n\x1a\n";
    if (n >= 8 && memcmp(bytes, png, 8) == 0)
        return true;
    return dw_utf8__check(bytes, n) == n && strstr(bytes, "<svg") != NULL;
}

static void keep_logo(struct dw_reader *reader, const char *bytes, size_t n, struct dw_logo *out)
{
    unsigned char *copy = dw_arena__alloc(reader->job->arena, n, 1);
    if (copy)
        memcpy(copy, bytes, n);
    reader->no_memory |= !copy;
    *out = (struct dw_logo){copy, copy ? n : 0};
}

static void read_logo(struct dw_reader *reader, struct shop_row *row)
{
    static const struct dw_field field = {.names = "logo"};
    struct dw_error error = {0};
    const char *name = NULL;
    char *bytes = NULL;
    size_t n = 0;
    if (row->kept || !dw_read__text(reader, &field, row->logo, &name))
        return;
    if (!row->folder) {
        dw_read__refuse(reader, &field, row->logo, 0, "a file can't be named here");
        return;
    }
    const char *path = dw_reader__path(reader, row->folder, name);
    dw_err err = path ? dw_file__read_regular(path, DW_LOGO_MAX, &bytes, &n, &error) : DW_ERR_NOMEM;
    reader->no_memory |= err == DW_ERR_NOMEM;
    if (err != DW_OK && err != DW_ERR_NOMEM)
        dw_read__refuse(reader, &field, row->logo, 0, "%.200s: %s", path, error.text);
    else if (err == DW_OK && !is_picture(bytes, n))
        dw_read__refuse(reader, &field, row->logo, 0, "%.200s is neither PNG nor SVG", path);
    else if (err == DW_OK)
        keep_logo(reader, bytes, n, &row->shop.logo);
    free(bytes);
}

/* --- the whole ---------------------------------------------------------------------------------
 */

static bool read_map(struct dw_reader *reader, struct dw_node *map, struct shop_row *row,
                     struct dw_shop_lent *lent)
{
    enum dw_unit unit = find_unit(map);
    set_unit(map, unit ? unit : DW_UNIT_MM);
    bool good =
        dw_reader__map(reader, map, "the shop", shop_fields, DW_COUNT(shop_fields), row, NULL);
    if (row->logo)
        read_logo(reader, row);
    struct dw_shop *shop = dw_arena__alloc(reader->job->arena, 1, sizeof *shop);
    if (!shop) {
        reader->no_memory = true;
        return false;
    }
    *shop = row->shop;
    shop->at = map->at;
    reader->job->shop = shop;
    *lent = row->lent;
    return good;
}

/* The root of the shop's file, which goes on living in the tree's arena; NULL after a remark. */
static struct dw_node *parse_file(struct dw_reader *reader, const struct dw_node *name,
                                  const char *path)
{
    struct dw_error error = {0};
    struct dw_node *root = NULL;
    char *text = NULL;
    size_t n = 0;
    dw_err err = dw_file__read_regular(path, SHOP_LIMIT, &text, &n, &error);
    if (err == DW_OK)
        err = dw_yaml__parse(reader->tree, text, n, path, reader->report, &root, &error);
    else if (err != DW_ERR_NOMEM)
        dw_reader__say(reader, DW_WRONG, name->at, "%.200s: %s", path, error.text);
    reader->no_memory |= err == DW_ERR_NOMEM;
    free(text);
    return root;
}

bool dw_reader__shop(struct dw_reader *reader, const struct dw_node *value,
                     struct dw_shop_lent *lent)
{
    struct shop_row row = {.folder = reader->folder, .kept = reader->logo_kept};
    if (value->kind == DW_NODE_MAP)
        return read_map(reader, (struct dw_node *)value, &row, lent);
    if (value->kind != DW_NODE_SCALAR || value->n == 0 || !reader->folder) {
        dw_reader__say(reader, DW_WRONG, value->at,
                       reader->folder ? "shop: name its file, or write it as `key: value` lines"
                                      : "shop: a file can't be named here");
        return false;
    }
    const char *path = dw_reader__path(reader, reader->folder, value->text);
    struct dw_node *root = path ? parse_file(reader, value, path) : NULL;
    reader->no_memory |= !path;
    const char *slash = path ? strrchr(path, '/') : NULL;
    row.folder = slash ? dw_arena__text_n(reader->tree, path, (size_t)(slash - path) + 1) : "";
    return root && row.folder && read_map(reader, root, &row, lent);
}

/* --- lending -----------------------------------------------------------------------------------
 */

/* Keys that bear on each other: who says the first says the others too. */
static const char *const bound[][2] = {
    {"charge", "percentage"}, {"charge", "offcuts"}, {"charge", "waste"},
    {"markup", "margin"},     {"margin", "markup"},  {"keep", "longest scrap"},
};

static size_t field_of(const struct dw_node *key, const struct dw_field *fields, size_t n_fields)
{
    char folded[DW_KEY_TEXT];
    return dw_field__find(fields, n_fields, dw_key__fold(folded, key->text, key->n));
}

/* Does the map say the field, or one that stands for it? */
static bool says(const struct dw_node *map, size_t field, const struct dw_field *fields,
                 size_t n_fields)
{
    char wanted[DW_KEY_TEXT], name[DW_KEY_TEXT];
    dw_field__name(wanted, &fields[field]);
    for (size_t k = 0; k + 1 < map->n_items; k += 2) {
        size_t i = field_of(map->items[k], fields, n_fields);
        if (i == field)
            return true;
        if (i == DW_NONE)
            continue;
        dw_field__name(name, &fields[i]);
        for (size_t b = 0; b < DW_COUNT(bound); b++)
            if (strcmp(bound[b][0], name) == 0 && strcmp(bound[b][1], wanted) == 0)
                return true;
    }
    return false;
}

/* A copy of the node with room for `more` items. */
static struct dw_node *copy_node(struct dw_reader *reader, const struct dw_node *node, size_t more)
{
    struct dw_node *copy = dw_arena__alloc(reader->tree, 1, sizeof *copy);
    struct dw_node **items =
        dw_arena__alloc(reader->tree, node->n_items + more + 1, sizeof *node->items);
    if (!copy || !items) {
        reader->no_memory = true;
        return NULL;
    }
    *copy = *node;
    if (node->n_items)
        memcpy(items, node->items, node->n_items * sizeof *items);
    copy->items = items;
    return copy;
}

const struct dw_node *dw_shop__lend(struct dw_reader *reader, const struct dw_node *of_job,
                                    const struct dw_node *of_shop, const struct dw_field *fields,
                                    size_t n_fields)
{
    if (!of_job || !of_shop)
        return of_job ? of_job : of_shop;
    if (of_job->kind != DW_NODE_MAP || of_shop->kind != DW_NODE_MAP)
        return of_job;
    struct dw_node *both = copy_node(reader, of_job, of_shop->n_items);
    for (size_t k = 0; both && k + 1 < of_shop->n_items; k += 2) {
        size_t field = field_of(of_shop->items[k], fields, n_fields);
        if (field != DW_NONE && says(of_job, field, fields, n_fields))
            continue;
        both->items[both->n_items++] = of_shop->items[k];
        both->items[both->n_items++] = of_shop->items[k + 1];
    }
    return both;
}

static const char *name_in(const struct dw_node *map)
{
    for (size_t k = 0; map->kind == DW_NODE_MAP && k + 1 < map->n_items; k += 2)
        if (strcmp(map->items[k]->text, "name") == 0 ||
            strcmp(map->items[k]->text, "supplier") == 0)
            return map->items[k + 1]->text;
    return "";
}

const struct dw_node *dw_shop__lend_list(struct dw_reader *reader, const struct dw_node *of_job,
                                         const struct dw_node *of_shop)
{
    if (!of_job || !of_shop)
        return of_job ? of_job : of_shop;
    if (of_job->kind != DW_NODE_LIST || of_shop->kind != DW_NODE_LIST)
        return of_job;
    struct dw_node *both = copy_node(reader, of_job, of_shop->n_items);
    for (size_t i = 0; both && i < of_shop->n_items; i++) {
        bool there = false;
        for (size_t j = 0; j < of_job->n_items; j++)
            there |= strcmp(name_in(of_job->items[j]), name_in(of_shop->items[i])) == 0;
        if (!there)
            both->items[both->n_items++] = of_shop->items[i];
    }
    return both;
}
