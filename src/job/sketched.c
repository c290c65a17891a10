/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing as it was understood: parts with their ends, entities with the parts that they are. */
#include "job/sketched.h"

#include "drawing/sketch.h"
#include "format/sheet.h"
#include "model/model.h"

#include <stdlib.h>

bool dw_sketched__is(const char *text, size_t n)
{
    return dw_sketch__is(text, n);
}

enum dw_unit dw_sketched__unit(const char *text, size_t n)
{
    return dw_sketch__unit(text, n);
}

/* The buffer's text in the arena; empties it. NULL: no memory. */
static const char *keep(struct dw_arena *arena, struct dw_buf *buf)
{
    const char *text =
        buf->failed ? NULL : dw_arena__text_n(arena, buf->n ? buf->text : "", buf->n);
    dw_buf__free(buf);
    return text;
}

/* --- parts ----------------------------------------------------------------------------------- */

static const char *shape_of(const struct dw_sketch *sketch, const struct dw_tube *tube)
{
    const struct dw_length_style style = {.unit = sketch->unit, .denominator = 64, .decimals = 3};
    struct dw_run run;
    struct dw_buf buf = {0};
    if (dw_tube__run(sketch, tube, sketch->arena, &run))
        return NULL;
    if (run.n_bends == 0)
        return "straight";
    dw_buf__format(&buf, "%zu bend%s:", run.n_bends, run.n_bends == 1 ? "" : "s");
    for (size_t i = 0; i < run.n_bends && i < 6; i++) {
        char radius[DW_LENGTH_TEXT];
        dw_length_print(radius, run.radii[i], &style);
        dw_buf__format(&buf, "%s %.6g degrees on radius %s", i ? "," : "",
                       (double)run.angles_udeg[i] / 1e6, radius);
    }
    if (run.n_bends > 6)
        dw_buf__put(&buf, ", and so on");
    return keep(sketch->arena, &buf);
}

static bool fill_parts(struct dw_sketched *out, const struct dw_sketch *sketch)
{
    out->n_parts = sketch->n_parts;
    out->parts = dw_arena__alloc(out->arena, sketch->n_parts + 1, sizeof *out->parts);
    bool good = out->parts != NULL;
    for (size_t i = 0; good && i < sketch->n_parts; i++) {
        const struct dw_sketch_part *part = &sketch->parts[i];
        const struct dw_tube *tube = &sketch->tubes[part->tube];
        out->parts[i] = (struct dw_sketched_part){.label = part->label,
                                                  .count = part->count,
                                                  .layer = sketch->layers[tube->layer].name,
                                                  .length = dw_tube__length(sketch, tube),
                                                  .bent = tube->bent,
                                                  .shape = shape_of(sketch, tube),
                                                  .ends = {tube->ends[0].text, tube->ends[1].text}};
        good = out->parts[i].shape != NULL;
    }
    return good;
}

/* --- entities -------------------------------------------------------------------------------- */

static int by_line(const void *a, const void *b)
{
    const struct dw_sketched_entity *x = a, *y = b;
    return (x->line > y->line) - (x->line < y->line);
}

#define PARTS_SHOWN 200 /* bytes of the parts of one entity */

/* The lines of an entity stand one after the other, and so do the entities. */
static bool fill_entities(struct dw_sketched *out, const struct dw_sketch *sketch)
{
    size_t w = 0;
    out->entities = dw_arena__alloc(out->arena, sketch->n_entities + 1, sizeof *out->entities);
    out->n_entities = sketch->n_entities;
    bool good = out->entities != NULL;
    for (size_t i = 0; good && i < sketch->n_entities; i++) {
        const struct dw_entity *entity = &sketch->entities[i];
        struct dw_buf parts = {0};
        size_t last = DW_NONE;
        for (; w < sketch->n_wires && sketch->wires[w].entity == i; w++) {
            size_t tube = sketch->wires[w].left_out ? DW_NONE : sketch->wires[w].tube;
            if (tube == DW_NONE || tube == last || parts.n > PARTS_SHOWN)
                continue;
            dw_buf__format(&parts, "%s%s", parts.n ? ", " : "",
                           sketch->parts[sketch->tubes[tube].part].label);
            last = tube;
        }
        if (parts.n > PARTS_SHOWN)
            dw_buf__put(&parts, ", and so on");
        out->entities[i] = (struct dw_sketched_entity){.line = entity->line,
                                                       .handle = entity->handle,
                                                       .type = entity->type,
                                                       .layer = sketch->layers[entity->layer].name,
                                                       .role = dw_entity__word(entity->role),
                                                       .count = entity->count};
        out->n_taken += entity->role == DW_ENTITY_TAKEN;
        out->entities[i].parts = keep(out->arena, &parts);
        good = out->entities[i].parts != NULL;
    }
    if (good)
        qsort(out->entities, out->n_entities, sizeof *out->entities, by_line);
    return good;
}

/* --- the drawing ----------------------------------------------------------------------------- */

static dw_err fill(struct dw_sketched *out, const struct dw_sketched_source *source,
                   struct dw_report *report, struct dw_error *error)
{
    const struct dw_sketch_source from = {.name = source->name,
                                          .text = source->text,
                                          .n = source->n,
                                          .unit = source->unit,
                                          .layers = source->layers,
                                          .one_tube = source->one_tube};
    struct dw_sketch *sketch = NULL;
    dw_err err = dw_sketch__read(out->arena, &from, &sketch, report, error);
    if (!err)
        err = dw_sketch__count(sketch, source->label ? source->label : "P", error);
    if (err)
        return err;
    out->unit = sketch->unit;
    return fill_parts(out, sketch) && fill_entities(out, sketch) ? DW_OK : dw_error__nomem(error);
}

dw_err dw_sketched__read(const struct dw_sketched_source *source, struct dw_sketched **out,
                         struct dw_report *report, struct dw_error *error)
{
    struct dw_sketched *sketched = calloc(1, sizeof *sketched);
    *out = NULL;
    if (sketched)
        sketched->arena = dw_arena__new();
    dw_err err = sketched && sketched->arena ? fill(sketched, source, report, error)
                                             : dw_error__nomem(error);
    if (err != DW_ERR_NOMEM && dw_report__sort(report, source->name))
        err = dw_error__nomem(error);
    if (err)
        dw_sketched__free(sketched);
    else
        *out = sketched;
    return err;
}

void dw_sketched__free(struct dw_sketched *sketched)
{
    if (!sketched)
        return;
    dw_arena__free(sketched->arena);
    free(sketched);
}

/* --- a table --------------------------------------------------------------------------------- */

/* Millimetres with all that a nanometre needs: exact, and read the same everywhere. */
static const char *length_text(const struct dw_sketched *sketched, dw_length length)
{
    const struct dw_length_style style = {.unit = DW_UNIT_MM, .decimals = 6};
    char text[DW_LENGTH_TEXT];
    dw_length_print(text, length, &style);
    return dw_arena__text(sketched->arena, text);
}

dw_err dw_sketched__csv(const struct dw_sketched *sketched, char **text, size_t *n,
                        struct dw_error *error)
{
    static const struct dw_sheet_column columns[] = {{.title = "label"},
                                                     {.title = "length"},
                                                     {.title = "count"},
                                                     {.title = "section"},
                                                     {.title = "remark"}};
    struct dw_sheet sheet = {
        .n_columns = DW_COUNT(columns), .columns = columns, .n_rows = sketched->n_parts};
    size_t total = sheet.n_rows * DW_COUNT(columns);
    struct dw_sheet_cell *cells = calloc(total + 1, sizeof *cells);
    if (!cells)
        return dw_error__nomem(error);
    bool good = true;
    for (size_t i = 0; i < sketched->n_parts; i++) {
        const struct dw_sketched_part *part = &sketched->parts[i];
        struct dw_sheet_cell *row = &cells[i * DW_COUNT(columns)];
        const char *texts[] = {part->label, length_text(sketched, part->length), NULL, part->layer,
                               part->shape};
        for (size_t c = 0; c < DW_COUNT(columns); c++)
            row[c] = (struct dw_sheet_cell){.kind = DW_SHEET_TEXT, .text = texts[c]};
        row[2] = (struct dw_sheet_cell){.kind = DW_SHEET_NUMBER, .value = part->count};
        good = good && texts[1];
    }
    sheet.cells = cells;
    dw_err err = good ? dw_sheet__csv(&sheet, text, n, error) : dw_error__nomem(error);
    free(cells);
    return err;
}
