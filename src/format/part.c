/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Parts, posts, and the clients' jobs that they belong to. */
#include "format/fields.h"
#include "format/part.h"
#include "format/trade.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct part_row {
    struct dw_part part; /* first: dw_read__range takes the row for it */
    const char *order;   /* name of the client's job, if the row names it */
    struct dw_drawn_row drawn;
};

/* --- values of a part ----------------------------------------------------------------------------
 */

static bool add_material(struct dw_reader *reader, const struct dw_field *field,
                         const struct dw_node *value, size_t *materials, size_t *count)
{
    struct dw_field one = {field->names, NULL, 0, DW_MAY};
    size_t found = DW_NONE;
    if (!dw_read__material(reader, &one, value, &found))
        return false;
    for (size_t i = 0; i < *count; i++)
        if (materials[i] == found)
            return dw_read__refuse(reader, field, value, 1, "the material is named twice");
    materials[(*count)++] = found;
    return true;
}

/* Walks `A or B or C`: the next name and where it begins; false after the last. */
static bool next_choice(const char **rest, const char **text, size_t *n)
{
    if (!*rest)
        return false;
    const char *mark = strstr(*rest, " or ");
    *text = *rest;
    *n = mark ? (size_t)(mark - *rest) : strlen(*rest);
    *rest = mark ? mark + 4 : NULL;
    return true;
}

/* One material, `A or B`, or a list: any of them will do. */
static bool read_materials(struct dw_reader *reader, const struct dw_field *field,
                           const struct dw_node *value, void *row)
{
    struct dw_part *part = &((struct part_row *)row)->part;
    if (value->kind == DW_NODE_LIST && value->n_items == 0)
        return dw_read__refuse(reader, field, value, 0, "the list is empty");
    size_t room = value->n_items + 1;
    for (const char *at = value->text; (at = strstr(at, " or ")); at++)
        room++;
    if (room > DW_MAX_MATERIALS)
        return dw_read__refuse(reader, field, value, 0, "too many materials");
    size_t *materials = dw_arena__alloc(reader->job->arena, room, sizeof *materials);
    if (!materials) {
        reader->no_memory = true;
        return false;
    }
    bool good = true;
    const char *rest = value->text, *text = NULL;
    size_t n = 0;
    for (size_t i = 0; value->kind == DW_NODE_LIST && i < value->n_items; i++)
        good &= add_material(reader, field, value->items[i], materials, &part->n_materials);
    if (value->kind == DW_NODE_LIST)
        rest = NULL;
    while (next_choice(&rest, &text, &n)) {
        struct dw_node piece = dw_node__slice(value, text, n);
        good &= add_material(reader, field, &piece, materials, &part->n_materials);
    }
    part->materials = materials;
    return good;
}

/* --- rows ------------------------------------------------------------------------------------ */

#define AT(member) offsetof(struct part_row, member)

enum {
    GIVEN_LABEL,
    GIVEN_LENGTH,
    GIVEN_COUNT,
    GIVEN_MATERIAL,
    GIVEN_ALLOWANCE,
    GIVEN_CENTRES,
    GIVEN_OUTSIDE,
    GIVEN_CLEAR,
    GIVEN_OFFSET,
    GIVEN_BENT,
};

/* Bits of `given` that say how long a part is. */
#define GIVEN_SHAPE                                                                                \
    (1u << GIVEN_LENGTH | 1u << GIVEN_CENTRES | 1u << GIVEN_OUTSIDE | 1u << GIVEN_CLEAR |          \
     1u << GIVEN_OFFSET | 1u << GIVEN_BENT)

static const struct dw_field part_fields[] = {
    [GIVEN_LABEL] = {"label|name|part|mark|piece|part name|description", dw_read__text,
                     AT(part.label), DW_MAY},
    [GIVEN_LENGTH] = {"length|cut length|size|cut", dw_read__range, 0, DW_ONE_OF},
    [GIVEN_COUNT] = {"count|qty|quantity|pcs|pieces|no|how many", dw_read__count, AT(part.count),
                     DW_COLUMN},
    [GIVEN_MATERIAL] = {"material|tube|stock|materials", read_materials, 0, DW_MAY},
    [GIVEN_ALLOWANCE] = {"allowance", dw_read__length0, AT(part.allowance), DW_MAY},
    [GIVEN_CENTRES] = {"centres|centers|centre to centre|center to center", dw_read__length,
                       AT(drawn.centres), DW_INSTEAD},
    [GIVEN_OUTSIDE] = {"outside|outside size", dw_read__length, AT(drawn.outside), DW_INSTEAD},
    [GIVEN_CLEAR] = {"clear|clear width", dw_read__length, AT(drawn.clear), DW_INSTEAD},
    [GIVEN_OFFSET] = {"offset", dw_read__node, AT(drawn.offset), DW_MAY},
    [GIVEN_BENT] = {"bent", dw_read__node, AT(drawn.bent), DW_MAY},
    {"section", dw_read__text, AT(part.section), DW_MAY},
    {"priority|first", dw_read__yes, AT(part.priority), DW_MAY},
    {"measure first|measure on site", dw_read__yes, AT(part.measure_first), DW_MAY},
    {"remark|remarks|note|notes|comment", dw_read__remark, AT(part.remark), DW_MAY},
    {"job|order|client job", dw_read__text, AT(order), DW_MAY},
    {"end 1", dw_read__node, AT(drawn.end_1), DW_MAY},
    {"end 2", dw_read__node, AT(drawn.end_2), DW_MAY},
    {"both ends", dw_read__node, AT(drawn.both_ends), DW_MAY},
    {"long points", dw_read__node, AT(drawn.long_points), DW_MAY},
};
static const struct dw_choice part_choices[] = {
    {"long points", &dw_long_points__words, DW_POINTS_SAME_SIDE, DW_POINTS_OPPOSITE_SIDES + 1}};
DW_FIELDS_CHOOSE(part, "part", part_fields, part_choices);

static const struct dw_field post_fields[] = {
    [GIVEN_LABEL] = {"label|name|post|mark|piece|part name|description", dw_read__text,
                     AT(part.label), DW_MAY},
    [GIVEN_LENGTH] = {"length|cut length|size|cut", dw_read__range, 0, DW_MUST},
    [GIVEN_COUNT] = {"at most|count|qty|quantity|pcs|pieces|no|how many", dw_read__count,
                     AT(part.count), DW_COLUMN},
    [GIVEN_MATERIAL] = {"material|tube|stock|materials", read_materials, 0, DW_MAY},
    {"worth|value|price", dw_read__money, AT(part.worth), DW_MUST},
    {"section", dw_read__text, AT(part.section), DW_MAY},
    {"remark|remarks|note|notes|comment", dw_read__remark, AT(part.remark), DW_MAY},
    {"job|order|client job", dw_read__text, AT(order), DW_MAY},
};
DW_FIELDS(post, "post", post_fields);

struct part_list {
    size_t order; /* DW_NONE: rows may name theirs */
    bool post;
    bool told; /* it was said that a row has no label */
};

static bool same_text(const char *a, const char *b)
{
    return a && b && strcmp(a, b) == 0;
}

/* The client's job of a row: the list's, the one that it names, or the loose one. */
static size_t find_order(struct dw_reader *reader, const struct part_row *row,
                         const struct part_list *list)
{
    struct dw_place at = row->part.at;
    if (list->order != DW_NONE && row->order &&
        !same_text(row->order, reader->orders[list->order].name)) {
        dw_reader__say(reader, DW_WRONG, at,
                       "the row names job `%.60s` but is listed under another", row->order);
        return DW_NONE;
    }
    if (list->order != DW_NONE)
        return list->order;
    for (size_t i = 0; row->order && i < reader->n_orders; i++)
        if (same_text(row->order, reader->orders[i].name))
            return i;
    if (row->order && reader->named_orders) {
        dw_reader__say(reader, DW_WRONG, at, "job `%.60s` is not listed under `jobs`", row->order);
        return DW_NONE;
    }
    if (row->order)
        return dw_reader__add_order(reader, &(struct dw_order){.name = row->order});
    if (reader->named_orders && !list->post) {
        dw_reader__say(reader, DW_WRONG, at,
                       "a part: `job` is missing; say which of `jobs` it is for");
        return DW_NONE;
    }
    if (reader->loose_order == DW_NONE)
        reader->loose_order =
            dw_reader__add_order(reader, &(struct dw_order){.name = reader->job->name});
    return reader->loose_order;
}

/* All materials of the job are listed by name: a part without one is clear only if there is one. */
static bool set_material(struct dw_reader *reader, struct dw_part *part)
{
    if (reader->job->n_materials == 0)
        return false; /* that is said already */
    if (reader->job->n_materials != 1 && reader->n_file_material == 0) {
        dw_reader__say(reader, DW_WRONG, part->at,
                       "%s: `material` is missing; the job has %zu of them",
                       part->post ? "a post" : "a part", reader->job->n_materials);
        return false;
    }
    size_t *materials = dw_arena__alloc(reader->job->arena, 1, sizeof *materials);
    part->n_materials = 1;
    if (!materials) {
        reader->no_memory = true;
        return false;
    }
    materials[0] = reader->n_file_material ? reader->n_file_material - 1 : 0;
    part->materials = materials;
    return true;
}

static bool set_allowance(struct dw_reader *reader, struct dw_part *part, bool given)
{
    if (part->measure_first != given) {
        dw_reader__say(reader, DW_WRONG, part->at,
                       given ? "a part: an `allowance` goes with `measure first: yes`"
                             : "a part: `measure first` needs an `allowance`, the length added for "
                               "planning");
        return false;
    }
    part->min += part->allowance;
    part->max += part->allowance;
    return true;
}

static bool set_label(struct dw_reader *reader, struct part_list *list, struct dw_part *part)
{
    char label[32];
    snprintf(label, sizeof label, "%s%zu", part->post ? "post " : "P", reader->n_parts + 1);
    part->label = dw_job_text(reader->job, label);
    if (!part->label)
        reader->no_memory = true;
    else if (!list->told)
        dw_reader__say(reader, DW_NOTE, part->at,
                       "no label; the piece is called `%s`, and others without one likewise",
                       label);
    list->told = true;
    return part->label != NULL;
}

static void add_part(struct dw_reader *reader, const struct dw_part *part)
{
    if (reader->n_parts == DW_MAX_ROWS)
        dw_reader__say(reader, DW_WRONG, part->at, "more than %d rows of parts and posts",
                       DW_MAX_ROWS);
    if (reader->n_parts >= DW_MAX_ROWS)
        return;
    if (!dw_array__grow(&reader->parts, &reader->part_capacity, reader->n_parts + 1,
                        sizeof *reader->parts)) {
        reader->no_memory = true;
        return;
    }
    reader->parts[reader->n_parts++] = *part;
}

static void read_part(struct dw_reader *reader, const struct dw_node *node, void *user)
{
    struct part_list *list = user;
    const struct dw_field *fields = list->post ? post_fields : part_fields;
    size_t n_fields = list->post ? DW_COUNT(post_fields) : DW_COUNT(part_fields);
    struct part_row row = {.part = {.count = 1, .post = list->post, .at = node->at}};
    uint32_t given = 0;
    bool good = dw_reader__map(reader, node, list->post ? "a post" : "a part", fields, n_fields,
                               &row, &given);
    if (node->kind != DW_NODE_MAP)
        return;
    if (!(given >> GIVEN_MATERIAL & 1))
        good &= set_material(reader, &row.part);
    if (!list->post && (good || !(given & GIVEN_SHAPE)))
        good &= dw_trade__draw(reader, &row.drawn, given >> GIVEN_LENGTH & 1, &row.part);
    if (good && !list->post)
        good = set_allowance(reader, &row.part, given >> GIVEN_ALLOWANCE & 1);
    row.part.order = find_order(reader, &row, list);
    if (good && row.part.order != DW_NONE && (row.part.label || set_label(reader, list, &row.part)))
        add_part(reader, &row.part);
}

const struct dw_field *dw_part__fields(size_t *n)
{
    *n = DW_COUNT(part_fields);
    return part_fields;
}

const struct dw_field *dw_post__fields(size_t *n)
{
    *n = DW_COUNT(post_fields);
    return post_fields;
}

void dw_reader__parts(struct dw_reader *reader, const struct dw_node *rows, size_t order)
{
    struct part_list list = {order, false, false};
    dw_reader__rows(reader, rows, "each part", part_fields, DW_COUNT(part_fields), read_part,
                    &list);
}

void dw_reader__posts(struct dw_reader *reader, const struct dw_node *rows, size_t order)
{
    struct part_list list = {order, true, false};
    dw_reader__rows(reader, rows, "each post", post_fields, DW_COUNT(post_fields), read_part,
                    &list);
}

/* --- the clients' jobs of a batch ------------------------------------------------------------ */

size_t dw_reader__add_order(struct dw_reader *reader, const struct dw_order *order)
{
    if (!dw_array__grow(&reader->orders, &reader->order_capacity, reader->n_orders + 1,
                        sizeof *reader->orders)) {
        reader->no_memory = true;
        return DW_NONE;
    }
    reader->orders[reader->n_orders] = *order;
    return reader->n_orders++;
}

struct order_row {
    struct dw_order order;
    const struct dw_node *parts;
    const struct dw_node *posts;
};

static const struct dw_field order_fields[] = {
    {"name|job", dw_read__text, offsetof(struct order_row, order.name), DW_MUST},
    {"client|customer", dw_read__text, offsetof(struct order_row, order.client), DW_MAY},
    {"due|due date", dw_read__date, offsetof(struct order_row, order.due), DW_MAY},
    {"address|client address", dw_read__lines, offsetof(struct order_row, order.address), DW_MAY},
    {"reference", dw_read__text, offsetof(struct order_row, order.reference), DW_MAY},
    {"scope", dw_read__remark, offsetof(struct order_row, order.scope), DW_MAY},
    {"language", dw_read__language, offsetof(struct order_row, order.language), DW_MAY},
    {"parts", dw_read__node, offsetof(struct order_row, parts), DW_MAY},
    {"posts", dw_read__node, offsetof(struct order_row, posts), DW_MAY},
};
DW_FIELDS(order, "job", order_fields);

static void read_order(struct dw_reader *reader, const struct dw_node *node)
{
    struct order_row row = {0};
    dw_reader__map(reader, node, "a job", order_fields, DW_COUNT(order_fields), &row, NULL);
    for (size_t i = 0; i < reader->n_orders; i++)
        if (same_text(reader->orders[i].name, row.order.name))
            dw_reader__say(reader, DW_WRONG, node->at,
                           "job `%.60s` is there already; each needs its own name", row.order.name);
    size_t order = dw_reader__add_order(reader, &row.order);
    if (order == DW_NONE)
        return;
    if (row.parts)
        dw_reader__parts(reader, row.parts, order);
    if (row.posts)
        dw_reader__posts(reader, row.posts, order);
}

void dw_reader__orders(struct dw_reader *reader, const struct dw_node *list)
{
    if (list->kind != DW_NODE_LIST || list->n_items == 0) {
        dw_reader__say(reader, DW_WRONG, list->at,
                       "jobs are a list: one `- name: ...` for each client's job");
        return;
    }
    if (list->n_items > DW_MAX_MATERIALS) {
        dw_reader__say(reader, DW_WRONG, list->at, "at most %d jobs are allowed in a batch",
                       DW_MAX_MATERIALS);
        return;
    }
    reader->named_orders = true;
    for (size_t i = 0; i < list->n_items; i++)
        read_order(reader, list->items[i]);
}

void dw_reader__finish_parts(struct dw_reader *reader)
{
    struct dw_job *job = reader->job;
    if (reader->n_orders == 0)
        dw_reader__add_order(reader, &(struct dw_order){.name = job->name});
    job->parts = dw_arena__alloc(job->arena, reader->n_parts, sizeof *job->parts);
    job->orders = dw_arena__alloc(job->arena, reader->n_orders, sizeof *job->orders);
    if (!job->parts || !job->orders || reader->no_memory) {
        reader->no_memory = true;
        return;
    }
    job->n_parts = reader->n_parts;
    job->n_orders = reader->n_orders;
    if (job->n_parts)
        memcpy(job->parts, reader->parts, job->n_parts * sizeof *job->parts);
    memcpy(job->orders, reader->orders, job->n_orders * sizeof *job->orders);
}
