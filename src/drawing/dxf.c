/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sections of a DXF file: what the header says, layers, blocks, and the entities. */
#include "drawing/dxf.h"
#include "drawing/choice.h"
#include "drawing/wire.h"
#include "grid/part.h"

#include <stdlib.h>
#include <string.h>

/* --- what kind of file it is -------------------------------------------------------------------
 */

#define BINARY    " Binary DXF\r\n"
#define BINARY_AT 7 /* behind the name of the program that the format comes from */

static bool is_binary(const char *text, size_t n)
{
    return n > BINARY_AT + strlen(BINARY) && memcmp(text + BINARY_AT, BINARY, strlen(BINARY)) == 0;
}

/* The other form of the same drawings: its version, then zeros. */
static bool is_dwg(const char *text, size_t n)
{
    return n > 12 && memcmp(text, "AC10", 4) == 0 && text[6] == '\0';
}

bool dw_sketch__is(const char *text, size_t n)
{
    if (is_binary(text, n) || is_dwg(text, n))
        return true;
    if (n >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) {
        text += 3;
        n -= 3;
    }
    struct dw_tags tags = dw_tags__start(text, n, NULL);
    struct dw_tag tag = {0};
    dw_err err = DW_OK;
    do
        err = dw_tags__next(&tags, &tag, NULL);
    while (!err && tag.code == 999);
    return !err && dw_tag__is(&tag, 0, "SECTION");
}

static dw_err refuse_kind(const struct dw_sketch_source *source, struct dw_error *error)
{
    if (is_binary(source->text, source->n))
        return dw_error__at(error, DW_ERR_INPUT, source->name, 0, 0,
                            "a binary DXF; save the drawing as ASCII DXF (R12 to 2018)");
    if (is_dwg(source->text, source->n))
        return dw_error__at(error, DW_ERR_INPUT, source->name, 0, 0,
                            "a DWG drawing; save it as ASCII DXF (R12 to 2018)");
    return DW_OK;
}

/* --- sections ---------------------------------------------------------------------------------
 */

static dw_err unclosed(const struct dw_dxf *dxf, const struct dw_tag *tag, const char *name)
{
    return dw_error__at(dxf->error, DW_ERR_SYNTAX, dxf->source->name, tag->line, 1,
                        "ENDSEC is missing: section %s does not end before %.*s", name,
                        tag->n < 20 ? (int)tag->n : 20, tag->text);
}

static bool is_outside(const struct dw_tag *tag)
{
    return dw_tag__is(tag, 0, "SECTION") || dw_tag__is(tag, 0, "EOF");
}

/* What $INSUNITS says, where that is a unit of ours. */
static enum dw_unit unit_of(const struct dw_tag *tag, int64_t *code)
{
    static const enum dw_unit units[] = {
        [1] = DW_UNIT_IN, [2] = DW_UNIT_FT, [4] = DW_UNIT_MM, [5] = DW_UNIT_CM, [6] = DW_UNIT_M};
    bool known = dw_tag__integer(tag, code) && *code > 0 && (size_t)*code < DW_COUNT(units);
    return known ? units[*code] : DW_UNIT_NONE;
}

enum dw_unit dw_sketch__unit(const char *text, size_t n)
{
    struct dw_tags tags = dw_tags__start(text, n, NULL);
    struct dw_tag tag = {0};
    bool units = false;
    int64_t code = 0;
    while (!dw_tags__next(&tags, &tag, NULL) && !dw_tag__is(&tag, 0, "ENDSEC")) {
        if (units && tag.code == 70)
            return unit_of(&tag, &code);
        units = dw_tag__is(&tag, 9, "$INSUNITS");
    }
    return DW_UNIT_NONE;
}

static dw_err take_unit(struct dw_dxf *dxf, const struct dw_tag *tag)
{
    int64_t code = 0;
    enum dw_unit unit = unit_of(tag, &code);
    const char *file = dxf->source->name;
    if (dxf->source->unit == DW_UNIT_NONE && unit == DW_UNIT_NONE && code != 0)
        return dw_error__at(dxf->error, DW_ERR_INPUT, file, tag->line, 1,
                            "$INSUNITS %.*s is no unit that is read here; say with `unit` in which "
                            "one the drawing is: mm, cm, m, in or ft",
                            tag->n < 20 ? (int)tag->n : 20, tag->text);
    if (dxf->source->unit != DW_UNIT_NONE && unit != DW_UNIT_NONE && unit != dxf->source->unit)
        return dw_report__add(dxf->report, DW_DOUBT, file, tag->line, 1,
                              "the drawing gives its unit as %s; it is read in %s, as `unit` says",
                              dw_unit_name(unit), dw_unit_name(dxf->source->unit));
    if (dxf->source->unit == DW_UNIT_NONE)
        dxf->sketch->unit = unit;
    return DW_OK;
}

/* A section to its end, each tag of it handed to `take`, which may read on; NULL: passed over. */
typedef dw_err take_tag(struct dw_dxf *dxf, struct dw_tags *tags, const struct dw_tag *tag,
                        bool *units);

static dw_err read_tags(struct dw_dxf *dxf, struct dw_tags *tags, const char *name, take_tag *take)
{
    struct dw_tag tag = {0};
    bool units = false;
    dw_err err = DW_OK;
    while (!err) {
        err = dw_tags__next(tags, &tag, dxf->error);
        if (err || dw_tag__is(&tag, 0, "ENDSEC"))
            return err;
        if (is_outside(&tag))
            return unclosed(dxf, &tag, name);
        if (take)
            err = take(dxf, tags, &tag, &units);
    }
    return err;
}

/* *units: the tag before named the unit, which this one is. */
static dw_err take_variable(struct dw_dxf *dxf, struct dw_tags *tags, const struct dw_tag *tag,
                            bool *units)
{
    (void)tags;
    dw_err err = *units && tag->code == 70 ? take_unit(dxf, tag) : DW_OK;
    *units = dw_tag__is(tag, 9, "$INSUNITS");
    return err;
}

/* One row of the table of layers, up to the next code 0, which is left. */
static dw_err read_layer(struct dw_dxf *dxf, struct dw_tags *tags)
{
    struct dw_tag tag = {0};
    const char *name = NULL;
    size_t n = 0;
    int64_t flags = 0, colour = 0;
    for (;;) {
        struct dw_tags before = *tags;
        dw_err err = dw_tags__next(tags, &tag, dxf->error);
        if (err)
            return err;
        if (tag.code == 0) {
            *tags = before;
            break;
        }
        if (tag.code == 2) {
            name = tag.text;
            n = tag.n;
        } else if (tag.code == 70)
            (void)dw_tag__integer(&tag, &flags);
        else if (tag.code == 62)
            (void)dw_tag__integer(&tag, &colour);
    }
    dw_err err = DW_OK;
    size_t layer = name ? dw_dxf__layer(dxf, name, n, &err) : DW_NONE;
    if (layer != DW_NONE)
        dxf->layers[layer].off = (flags & 1) != 0 || colour < 0;
    return err;
}

static dw_err take_layer(struct dw_dxf *dxf, struct dw_tags *tags, const struct dw_tag *tag,
                         bool *units)
{
    (void)units;
    return dw_tag__is(tag, 0, "LAYER") ? read_layer(dxf, tags) : DW_OK;
}

static dw_err take_block(struct dw_dxf *dxf, struct dw_tags *tags, const struct dw_tag *tag,
                         bool *units)
{
    (void)units;
    return dw_tag__is(tag, 0, "BLOCK") ? dw_dxf__block(dxf, tags) : DW_OK;
}

static dw_err set_unit(struct dw_dxf *dxf, int line)
{
    static const int64_t nm[] = {[DW_UNIT_MM] = 1000000,
                                 [DW_UNIT_CM] = 10000000,
                                 [DW_UNIT_M] = 1000000000,
                                 [DW_UNIT_IN] = 25400000,
                                 [DW_UNIT_FT] = 304800000};
    enum dw_unit unit = dxf->sketch->unit;
    if (unit == DW_UNIT_NONE)
        return dw_error__at(dxf->error, DW_ERR_INPUT, dxf->source->name, line, 1,
                            "the drawing does not say its unit ($INSUNITS); say with `unit` in "
                            "which one it is: mm, cm, m, in or ft");
    dxf->unit_nm = nm[unit];
    return DW_OK;
}

static dw_err read_section(struct dw_dxf *dxf, struct dw_tags *tags)
{
    const struct dw_scope model = {.pose = dw_pose__world(), .layer = DW_NONE};
    struct dw_tag name = {0};
    dw_err err = dw_tags__next(tags, &name, dxf->error);
    if (err)
        return err;
    if (name.code != 2)
        return dw_error__at(dxf->error, DW_ERR_SYNTAX, dxf->source->name, name.line, 1,
                            "the name of the section is missing");
    if (dw_tag__is(&name, 2, "HEADER"))
        return read_tags(dxf, tags, "HEADER", take_variable);
    if (dw_tag__is(&name, 2, "TABLES"))
        return read_tags(dxf, tags, "TABLES", take_layer);
    bool blocks = dw_tag__is(&name, 2, "BLOCKS"), entities = dw_tag__is(&name, 2, "ENTITIES");
    if (blocks || entities)
        err = set_unit(dxf, name.line);
    if (!err && blocks)
        return read_tags(dxf, tags, "BLOCKS", take_block);
    dxf->entities |= entities;
    if (!err && entities)
        return dw_dxf__entities(dxf, tags, "ENDSEC", &model);
    char text[24] = {0};
    memcpy(text, name.text, name.n < sizeof text ? name.n : sizeof text - 1);
    return err ? err : read_tags(dxf, tags, text, NULL);
}

static dw_err read_file(struct dw_dxf *dxf, struct dw_tags *tags)
{
    struct dw_tag tag = {0};
    dw_err err = DW_OK;
    while (!err) {
        err = dw_tags__next(tags, &tag, dxf->error);
        if (err || dw_tag__is(&tag, 0, "EOF"))
            break;
        if (dw_tag__is(&tag, 0, "SECTION"))
            err = read_section(dxf, tags);
        else if (tag.code != 999)
            err = dw_error__at(dxf->error, DW_ERR_SYNTAX, dxf->source->name, tag.line, 1,
                               "a section of a DXF drawing, or its end, is wanted here");
    }
    if (!err && !dxf->entities)
        err = dw_error__at(dxf->error, DW_ERR_INPUT, dxf->source->name, 0, 0,
                           "the drawing has no section ENTITIES");
    return err;
}

/* --- the drawing ------------------------------------------------------------------------------
 */

static dw_err keep(struct dw_arena *arena, const void *from, size_t n, size_t size, void *to)
{
    void *copy = dw_arena__alloc(arena, n + 1, size);
    if (!copy)
        return DW_ERR_NOMEM;
    if (n > 0)
        memcpy(copy, from, n * size);
    memcpy(to, &copy, sizeof copy);
    return DW_OK;
}

static dw_err keep_entities(struct dw_dxf *dxf)
{
    struct dw_sketch *sketch = dxf->sketch;
    size_t n = dxf->n_read, others = dxf->n_others;
    sketch->entities = dw_arena__alloc(sketch->arena, n + others + 1, sizeof *sketch->entities);
    if (!sketch->entities)
        return DW_ERR_NOMEM;
    if (n > 0)
        memcpy(sketch->entities, dxf->read, n * sizeof *dxf->read);
    if (others > 0)
        memcpy(sketch->entities + n, dxf->others, others * sizeof *dxf->others);
    return DW_OK;
}

static dw_err keep_all(struct dw_dxf *dxf)
{
    struct dw_sketch *sketch = dxf->sketch;
    struct dw_arena *arena = sketch->arena;
    sketch->n_layers = dxf->n_layers;
    sketch->n_entities = dxf->n_read + dxf->n_others;
    sketch->n_wires = dxf->n_wires;
    if (keep(arena, dxf->layers, dxf->n_layers, sizeof *dxf->layers, &sketch->layers) ||
        keep_entities(dxf) ||
        keep(arena, dxf->wires, dxf->n_wires, sizeof *dxf->wires, &sketch->wires))
        return dw_error__nomem(dxf->error);
    return DW_OK;
}

/* What could not be read as a drawing at all becomes a remark at its place. */
static dw_err say_unread(struct dw_dxf *dxf, dw_err err)
{
    const struct dw_error *why = dxf->error;
    if (err == DW_ERR_NOMEM)
        return dw_error__nomem(dxf->error);
    err = dw_report__add(dxf->report, DW_WRONG, why->file[0] ? why->file : dxf->source->name,
                         why->line, why->column, "%s", why->text);
    return err == DW_ERR_NOMEM ? err : DW_ERR_INPUT;
}

static dw_err read_text(struct dw_dxf *dxf)
{
    const struct dw_sketch_source *source = dxf->source;
    const char *text = source->text, *other = NULL;
    size_t n = source->n;
    dw_err err = refuse_kind(source, dxf->error);
    if (!err)
        err = dw_text__decode(dxf->sketch->arena, &text, &n, source->name, &other, dxf->error);
    size_t mark = !err && n >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    struct dw_tags tags = dw_tags__start(text + mark, n - mark, source->name);
    if (!err)
        err = dw_choice__read(dxf);
    if (!err)
        err = read_file(dxf, &tags);
    if (!err)
        err = dw_choice__check(dxf);
    return err ? err : keep_all(dxf);
}

dw_err dw_sketch__read(struct dw_arena *arena, const struct dw_sketch_source *source,
                       struct dw_sketch **out, struct dw_report *report, struct dw_error *error)
{
    struct dw_error why = {0};
    struct dw_dxf dxf = {.source = source, .report = report, .error = &why};
    size_t wrong = report->n_wrong;
    *out = NULL;
    dxf.sketch = dw_arena__alloc(arena, 1, sizeof *dxf.sketch);
    if (!dxf.sketch)
        return dw_error__nomem(error);
    *dxf.sketch = (struct dw_sketch){.arena = arena, .name = source->name, .unit = source->unit};
    dw_err err = read_text(&dxf);
    if (err)
        err = say_unread(&dxf, err);
    free(dxf.layers);
    free(dxf.blocks);
    free(dxf.read);
    free(dxf.others);
    free(dxf.wires);
    if (!err && report->n_wrong == wrong)
        err = dw_wires__join(dxf.sketch, source->one_tube, report);
    if (err == DW_ERR_NOMEM)
        return dw_error__nomem(error);
    if (err || report->n_wrong > wrong)
        return dw_error__at(error, DW_ERR_INPUT, source->name, 0, 0, "the drawing can't be read");
    *out = dxf.sketch;
    return DW_OK;
}
