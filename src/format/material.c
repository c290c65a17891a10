/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Materials of a job, and what their leftovers are worth. */
#include "format/fields.h"
#include "format/reader.h"

#include <string.h>

/* --- worth of leftovers ---------------------------------------------------------------------- */

static const struct dw_field class_fields[] = {
    {"from", dw_read__length, offsetof(struct dw_worth_class, from), DW_MUST},
    {"worth", dw_read__money, offsetof(struct dw_worth_class, worth), DW_MUST},
};
DW_FIELDS(worth, "worth", class_fields);

static bool read_classes(struct dw_reader *reader, const struct dw_field *field,
                         const struct dw_node *value, struct dw_worth *worth)
{
    struct dw_worth_class *classes =
        dw_arena__alloc(reader->job->arena, value->n_items, sizeof *classes);
    if (!classes) {
        reader->no_memory = true;
        return false;
    }
    bool good = value->n_items > 0 || dw_read__refuse(reader, field, value, 0, "the list is empty");
    for (size_t i = 0; i < value->n_items; i++)
        good &= dw_reader__map(reader, value->items[i], "a class of leftovers", class_fields,
                               DW_COUNT(class_fields), &classes[i], NULL);
    worth->kind = DW_WORTH_CLASSES;
    worth->classes = classes;
    worth->n_classes = value->n_items;
    return good;
}

bool dw_read__worth(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    struct dw_worth *worth = (struct dw_worth *)(void *)((char *)row + field->offset);
    *worth = (struct dw_worth){.keep = worth->keep};
    if (value->kind == DW_NODE_LIST)
        return read_classes(reader, field, value, worth);
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    if (n == 4 && memcmp(text, "none", 4) == 0)
        return true;
    if (strstr(value->text, " per "))
        return dw_read__per(reader, field, value, row);
    if (text[n - 1] == '%') {
        struct dw_field share = {field->names, NULL, offsetof(struct dw_worth, share), DW_MAY};
        worth->kind = DW_WORTH_SHARE;
        return dw_read__percent(reader, &share, value, worth);
    }
    return dw_read__refuse(reader, field, value, 0,
                           "write `none`, a share of the new price (60 %%), money per length (0.20 "
                           "per ft), or a list of classes (- {from: 12 in, worth: 1.00})");
}

/* --- materials -------------------------------------------------------------------------------- */

enum { FIELD_WORTH = 10 };

static const struct dw_field material_fields[] = {
    {"id", dw_read__text, offsetof(struct dw_material, id), DW_MUST},
    {"name", dw_read__text, offsetof(struct dw_material, name), DW_MAY},
    {"alloy", dw_read__text, offsetof(struct dw_material, alloy), DW_MAY},
    {"finish", dw_read__text, offsetof(struct dw_material, finish), DW_MAY},
    {"outside|outside diameter|od", dw_read__length, offsetof(struct dw_material, od), DW_MAY},
    {"wall|wall thickness", dw_read__length, offsetof(struct dw_material, wall), DW_MAY},
    {"density", dw_read__density, offsetof(struct dw_material, density_g_m3), DW_MAY},
    {"rolled radius", dw_read__length, offsetof(struct dw_material, radius), DW_MAY},
    {"end bent", dw_read__yes, offsetof(struct dw_material, end_bent), DW_MAY},
    {"keep", dw_read__length, offsetof(struct dw_material, worth.keep), DW_MAY},
    [FIELD_WORTH] = {"leftover worth", dw_read__worth, offsetof(struct dw_material, worth), DW_MAY},
};
DW_FIELDS(material, "material", material_fields);

static void read_material(struct dw_reader *reader, const struct dw_node *node,
                          struct dw_material *material)
{
    uint32_t given = 0;
    dw_reader__map(reader, node, "a material", material_fields, DW_COUNT(material_fields), material,
                   &given);
    dw_length keep = material->worth.keep ? material->worth.keep : reader->worth.keep;
    if (!(given >> FIELD_WORTH & 1))
        material->worth = reader->worth;
    material->worth.keep = keep;
    material->at = node->at;
    for (size_t i = 0; material->id && i < reader->job->n_materials; i++)
        if (strcmp(reader->job->materials[i].id, material->id) == 0)
            dw_reader__say(reader, DW_WRONG, node->at,
                           "material `%s` is there already, on line %d; each needs its own id",
                           material->id, reader->job->materials[i].at.line);
}

/* A material without an id is left out, so that every one in the job has a name to find it by. */
void dw_reader__materials(struct dw_reader *reader, const struct dw_node *list)
{
    struct dw_job *job = reader->job;
    if (list->kind != DW_NODE_LIST || list->n_items == 0) {
        dw_reader__say(reader, DW_WRONG, list->at,
                       "materials are a list: one `- id: ...` for each material");
        return;
    }
    if (list->n_items > DW_MAX_MATERIALS) {
        dw_reader__say(reader, DW_WRONG, list->at, "at most %d materials are allowed",
                       DW_MAX_MATERIALS);
        return;
    }
    job->materials = dw_arena__alloc(job->arena, list->n_items, sizeof *job->materials);
    if (!job->materials) {
        reader->no_memory = true;
        return;
    }
    for (size_t i = 0; i < list->n_items; i++) {
        struct dw_material *material = &job->materials[job->n_materials];
        *material = (struct dw_material){0};
        read_material(reader, list->items[i], material);
        job->n_materials += material->id != NULL;
    }
}

static bool is_named(const char *name, const char *text, size_t n)
{
    return name && strlen(name) == n && memcmp(name, text, n) == 0;
}

/* By id; else by a name that only one material has. */
size_t dw_reader__find_material(struct dw_reader *reader, const char *text, size_t n)
{
    const struct dw_job *job = reader->job;
    size_t last = reader->last_material;
    if (last < job->n_materials && is_named(job->materials[last].id, text, n))
        return last;
    size_t found = DW_NONE;
    size_t n_found = 0;
    for (size_t i = 0; i < job->n_materials; i++) {
        if (is_named(job->materials[i].id, text, n))
            return reader->last_material = i;
        if (is_named(job->materials[i].name, text, n)) {
            found = i;
            n_found++;
        }
    }
    return n_found == 1 ? found : DW_NONE;
}

/* The nearest id for a hint, or NULL. */
static const char *guess_material(const struct dw_reader *reader, const char *text, size_t n)
{
    char wanted[DW_KEY_TEXT], id[DW_KEY_TEXT];
    dw_key__fold(wanted, text, n);
    const char *best = NULL;
    size_t nearest = 3;
    for (size_t i = 0; i < reader->job->n_materials; i++) {
        const char *name = reader->job->materials[i].id;
        size_t distance = dw_text__distance(wanted, dw_key__fold(id, name, strlen(name)));
        if (distance < nearest && distance < strlen(wanted)) {
            nearest = distance;
            best = name;
        }
    }
    return best;
}

bool dw_read__material(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    size_t found = dw_reader__find_material(reader, text, n);
    *(size_t *)(void *)((char *)row + field->offset) = found;
    if (found != DW_NONE)
        return true;
    const char *guess = guess_material(reader, text, n);
    int column = 1 + (int)(text - value->text);
    if (guess)
        return dw_read__refuse(reader, field, value, column,
                               "`%.*s` is none of the materials; did you mean `%.60s`?",
                               n < 60 ? (int)n : 60, text, guess);
    return dw_read__refuse(reader, field, value, column,
                           reader->of_shelf
                               ? "`%.*s` is none of the shelf's tubes; enter it there first"
                               : "`%.*s` is none of the materials; add it under `materials`",
                           n < 60 ? (int)n : 60, text);
}
