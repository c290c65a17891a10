/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the tubes of a drawing to parts of a job: material or section by layer, ends by rule. */
#include "format/joint.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* A drawing under way. */
struct making {
    struct dw_reader *reader;
    const struct dw_drawing_file *file;
    struct dw_sketch *sketch;
    size_t *materials; /* of each layer; DW_NONE: not by the layer */
    bool *refused;     /* of each layer: its tubes have no material */
    bool *doubted;     /* of each layer and kind of meeting: it was said that no rule fits */
    dw_part_add *add;
    void *user;
};

static void *keep(struct making *making, size_t count, size_t size)
{
    void *out = dw_arena__alloc(making->reader->job->arena, count, size);
    making->reader->no_memory |= out == NULL;
    return out;
}

/* --- materials ------------------------------------------------------------------------------- */

static size_t find_material(struct dw_reader *reader, const char *name)
{
    size_t found = dw_reader__find_material(reader, name, strlen(name));
    for (size_t m = 0; found == DW_NONE && m < reader->job->n_materials; m++)
        if (strcasecmp(reader->job->materials[m].id, name) == 0)
            found = m;
    return found;
}

/* As the choice of layers says, else that of the layer's name, else the one of the file or of the
 * whole job. */
static void set_material(struct making *making, size_t layer)
{
    struct dw_reader *reader = making->reader;
    const struct dw_layer *one = &making->sketch->layers[layer];
    size_t found = find_material(reader, one->to ? one->to : one->name);
    making->materials[layer] = found;
    if (found != DW_NONE)
        return;
    if (one->to)
        dw_reader__say(reader, DW_WRONG, making->file->at,
                       "layers: `%.60s` is none of the materials", one->to);
    else if (reader->n_file_material == 0 && reader->job->n_materials > 1)
        dw_reader__say(reader, DW_WRONG, making->file->at,
                       "layer `%.60s` is none of the %zu materials; say of which its tubes are: "
                       "`layers: \"%.60s=...\"`, or `material` for all such layers",
                       one->name, reader->job->n_materials, one->name);
    else
        return;
    making->refused[layer] = true;
}

static bool set_layers(struct making *making)
{
    struct dw_sketch *sketch = making->sketch;
    making->materials = keep(making, sketch->n_layers + 1, sizeof *making->materials);
    making->refused = keep(making, sketch->n_layers + 1, sizeof *making->refused);
    making->doubted = keep(making, (sketch->n_layers + 1) * DW_N_MEETINGS, sizeof *making->doubted);
    bool *used = keep(making, sketch->n_layers + 1, sizeof *used);
    if (making->reader->no_memory)
        return false;
    for (size_t t = 0; t < sketch->n_tubes; t++)
        used[sketch->tubes[t].layer] = true;
    for (size_t i = 0; i < sketch->n_layers; i++)
        if (used[i])
            set_material(making, i);
    return true;
}

static size_t material_of(const struct making *making, size_t layer)
{
    const struct dw_reader *reader = making->reader;
    if (making->materials[layer] != DW_NONE)
        return making->materials[layer];
    return reader->n_file_material ? reader->n_file_material - 1 : 0;
}

/* --- ends ------------------------------------------------------------------------------------ */

static void doubt_end(struct making *making, const struct dw_tube *tube,
                      const struct dw_tube_end *end, const char *why)
{
    const struct dw_sketch *sketch = making->sketch;
    const struct dw_meeting *meeting = &sketch->meetings[end->meeting];
    dw_err err = dw_sketch__say(sketch, making->reader->report, DW_DOUBT,
                                sketch->wires[tube->wires[0]].entity, &meeting->at, "%s: %s",
                                end->text, why);
    making->reader->no_memory |= err == DW_ERR_NOMEM;
}

/* Once for each layer and kind of meeting. */
static void doubt_unruled(struct making *making, const struct dw_tube *tube,
                          const struct dw_tube_end *end)
{
    enum dw_meet meet = making->sketch->meetings[end->meeting].meet;
    bool *doubted = &making->doubted[tube->layer * DW_N_MEETINGS + meet];
    bool ring = meet == DW_MEET_SPLICE && tube->closed;
    if (meet == DW_MEET_END || ring || *doubted)
        return;
    *doubted = true;
    doubt_end(
        making, tube, end,
        meet == DW_MEET_SPLICE
            ? "no joint of the job says what is here: a splice, or one tube drawn in two (then "
              "say `in line: one tube`); such ends are cut where the lines end"
            : "no joint of the job says what is made here; such ends are cut where the centre "
              "lines meet, nothing is taken off");
}

/* Half the turn; the line ends at the centre of the mitre. */
static void set_mitre(struct making *making, const struct dw_tube *tube,
                      const struct dw_tube_end *end, struct dw_drawn_end *out)
{
    if (!end->single) {
        doubt_end(making, tube, end, "a mitre joins two tubes; this end is left square");
        return;
    }
    out->mitre_udeg = (180 * DW_UDEG - end->angle_udeg) / 2;
    out->point = DW_MITRE_CENTRE;
}

static void make_end(struct making *making, const struct dw_tube *tube, int which,
                     struct dw_drawn_end *out)
{
    const struct dw_tube_end *end = &tube->ends[which];
    const struct dw_joint *joint = dw_joint__find(making->reader, making->sketch, tube, which);
    *out = (struct dw_drawn_end){.fitting = DW_NONE};
    if (!joint) {
        doubt_unruled(making, tube, end);
        return;
    }
    if (joint->kind == DW_JOINT_MITRE)
        set_mitre(making, tube, end, out);
    if (joint->kind == DW_JOINT_FITTING)
        out->fitting = joint->fitting;
    if (joint->kind == DW_JOINT_NOTCH) {
        out->notch = true;
        out->axis_udeg =
            end->angle_udeg <= 90 * DW_UDEG ? end->angle_udeg : 180 * DW_UDEG - end->angle_udeg;
    }
    if (end->on != DW_NONE && (out->notch || out->fitting != DW_NONE))
        out->meets = making->reader->job->materials[material_of(making, end->on)].od;
}

/* --- parts ------------------------------------------------------------------------------------ */

static bool is_near(int64_t angle, int64_t degrees)
{
    return llabs(angle - degrees * DW_UDEG) <= 10000;
}

static void put_remark(struct dw_buf *buf, const char *format, int64_t udeg)
{
    if (buf->n > 0)
        dw_buf__put(buf, "; ");
    dw_buf__format(buf, format, (double)udeg / (double)DW_UDEG);
}

/* How bends, or mitres, are turned against each other, where that is not plain. */
static const char *remark_of(struct making *making, const struct dw_tube *tube,
                             const struct dw_run *run)
{
    struct dw_buf buf = {0};
    for (size_t i = 1; i < run->n_bends && i < 20; i++) {
        char format[64];
        snprintf(format, sizeof format, "bend %zu turned %%.6g degrees from bend %zu", i + 1, i);
        put_remark(&buf, format, run->turns_udeg[i]);
    }
    if (tube->closed)
        dw_buf__put(&buf, buf.n ? "; a ring" : "a ring");
    const char *copy = buf.n ? dw_job_text(making->reader->job, buf.text) : NULL;
    making->reader->no_memory |= buf.failed || (buf.n && !copy);
    dw_buf__free(&buf);
    return copy;
}

static void set_bends(struct making *making, const struct dw_run *run, struct dw_drawn *drawn)
{
    struct dw_bend *bends = keep(making, run->n_bends, sizeof *bends);
    drawn->kind = DW_DRAWN_BENT;
    drawn->n_bends = run->n_bends;
    drawn->bends = bends;
    drawn->straights = run->straights;
    for (size_t i = 0; bends && i < run->n_bends; i++)
        bends[i] = (struct dw_bend){.radius = run->radii[i], .angle_udeg = run->angles_udeg[i]};
}

static void set_facing(const struct dw_tube *tube, struct dw_drawn *drawn)
{
    if (drawn->ends[0].mitre_udeg == 0 || drawn->ends[1].mitre_udeg == 0 ||
        tube->facing_udeg == DW_UNTURNED)
        return;
    if (is_near(tube->facing_udeg, 0))
        drawn->long_points = DW_POINTS_SAME_SIDE;
    else if (is_near(llabs(tube->facing_udeg), 180))
        drawn->long_points = DW_POINTS_OPPOSITE_SIDES;
}

static bool draw_part(struct making *making, const struct dw_sketch_part *one,
                      struct dw_drawn *drawn, struct dw_part *part)
{
    const struct dw_sketch *sketch = making->sketch;
    const struct dw_tube *tube = &sketch->tubes[one->tube];
    struct dw_run run;
    if (dw_tube__run(sketch, tube, making->reader->job->arena, &run)) {
        making->reader->no_memory = true;
        return false;
    }
    for (int e = 0; e < 2; e++)
        make_end(making, tube, e, &drawn->ends[e]);
    if (run.n_bends > 0)
        set_bends(making, &run, drawn);
    else {
        drawn->kind = DW_DRAWN_STRAIGHT;
        drawn->size = run.straights[0];
    }
    set_facing(tube, drawn);
    part->remark = remark_of(making, tube, &run);
    part->drawn = drawn;
    return !making->reader->no_memory;
}

static void add_part(struct making *making, const struct dw_sketch_part *one)
{
    struct dw_reader *reader = making->reader;
    const struct dw_sketch *sketch = making->sketch;
    const struct dw_tube *tube = &sketch->tubes[one->tube];
    const struct dw_layer *layer = &sketch->layers[tube->layer];
    const struct dw_entity *entity = &sketch->entities[sketch->wires[tube->wires[0]].entity];
    struct dw_drawn *drawn = keep(making, 1, sizeof *drawn);
    size_t *material = keep(making, 1, sizeof *material);
    struct dw_part part = {.label = dw_job_text(reader->job, one->label),
                           .count = one->count,
                           .materials = material,
                           .n_materials = 1,
                           .at = {sketch->name, entity->line, 1}};
    reader->no_memory |= !part.label;
    if (reader->no_memory || making->refused[tube->layer] || reader->job->n_materials == 0)
        return;
    *material = material_of(making, tube->layer);
    bool by_name = making->materials[tube->layer] != DW_NONE && !layer->to;
    if (!by_name && strcmp(layer->name, "0") != 0) {
        part.section = dw_job_text(reader->job, layer->name);
        reader->no_memory |= !part.section;
    }
    if (draw_part(making, one, drawn, &part))
        making->add(reader, &part, making->user);
}

/* --- the picture ----------------------------------------------------------------------------- */

static bool show_tube(struct making *making, const struct dw_tube *tube,
                      struct dw_picture_tube *out)
{
    const struct dw_sketch *sketch = making->sketch;
    struct dw_arena *arena = making->reader->job->arena;
    size_t n = 0;
    const struct dw_spot *spots = dw_tube__points(sketch, tube, arena, &n);
    dw_length(*points)[3] = dw_arena__alloc(arena, n + 1, sizeof *points);
    *out = (struct dw_picture_tube){
        .label = dw_job_text(making->reader->job, sketch->parts[tube->part].label),
        .n_points = n,
        .points = (const dw_length(*)[3])points};
    for (size_t i = 0; points && spots && i < n; i++)
        memcpy(points[i], spots[i].at, sizeof points[i]);
    return points && spots && out->label;
}

/* All tubes of the drawing with their labels, for papers and page. */
static void show(struct making *making)
{
    const struct dw_sketch *sketch = making->sketch;
    struct dw_job *job = making->reader->job;
    const char *slash = strrchr(sketch->name, '/');
    struct dw_picture *pictures = keep(making, job->n_pictures + 1, sizeof *pictures);
    struct dw_picture_tube *tubes = keep(making, sketch->n_tubes + 1, sizeof *tubes);
    if (!pictures || !tubes)
        return;
    bool good = true;
    for (size_t t = 0; t < sketch->n_tubes && good; t++)
        good = show_tube(making, &sketch->tubes[t], &tubes[t]);
    making->reader->no_memory |= !good;
    if (job->n_pictures > 0)
        memcpy(pictures, job->pictures, job->n_pictures * sizeof *pictures);
    pictures[job->n_pictures++] = (struct dw_picture){
        .name = slash ? slash + 1 : sketch->name, .n_tubes = sketch->n_tubes, .tubes = tubes};
    job->pictures = pictures;
}

/* --- the drawing ------------------------------------------------------------------------------ */

static dw_err read_sketch(struct making *making)
{
    const struct dw_drawing_file *file = making->file;
    const struct dw_sketch_source source = {.name = file->name,
                                            .text = file->text,
                                            .n = file->n,
                                            .unit = file->unit,
                                            .layers = file->layers,
                                            .one_tube = file->one_tube,
                                            .at = file->at};
    dw_err err = dw_sketch__read(making->reader->tree, &source, &making->sketch,
                                 making->reader->report, NULL);
    return err ? err : dw_sketch__count(making->sketch, file->label ? file->label : "P", NULL);
}

/* Places and pictures outlive the file. */
static bool keep_name(struct making *making, struct dw_drawing_file *file)
{
    file->name = dw_job_text(making->reader->job, file->name);
    making->reader->no_memory |= !file->name;
    making->file = file;
    return file->name != NULL;
}

static bool is_label_taken(const struct dw_reader *reader, const char *label)
{
    for (size_t i = 0; i < reader->n_parts; i++)
        if (strcmp(reader->parts[i].label, label) == 0)
            return true;
    return false;
}

void dw_reader__drawing(struct dw_reader *reader, const struct dw_drawing_file *file,
                        dw_part_add *add, void *user)
{
    struct making making = {.reader = reader, .add = add, .user = user};
    struct dw_drawing_file own = *file;
    dw_err err = keep_name(&making, &own) ? read_sketch(&making) : DW_ERR_NOMEM;
    reader->n_drawings++;
    reader->no_memory |= err == DW_ERR_NOMEM;
    if (err || !set_layers(&making))
        return;
    const struct dw_sketch *sketch = making.sketch;
    if (sketch->n_parts == 0)
        dw_reader__say(reader, DW_WRONG, (struct dw_place){own.name, 1, 1},
                       "there are no centre lines in the drawing that are taken");
    if (sketch->n_parts > 0 && is_label_taken(reader, sketch->parts[0].label))
        dw_reader__say(reader, DW_WRONG, file->at,
                       "a part is called `%s` already; give the labels of this drawing another "
                       "beginning: `label: B`",
                       sketch->parts[0].label);
    for (size_t i = 0; i < sketch->n_parts; i++)
        add_part(&making, &sketch->parts[i]);
    if (sketch->n_parts > 0)
        show(&making);
}
