/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What each section weighs and how long its longest piece is, against the limits that the job sets.
 */
#include "base/base.h"
#include "model/model.h"

#include <dropwise/limits.h>
#include <dropwise/weight.h>

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

struct work {
    const struct dw_job *job;
    struct dw_limits *limits;
    struct dw_error *error;
};

/* --- loads ----------------------------------------------------------------------------------- */

static bool same_name(const char *a, const char *b)
{
    return a && b ? strcmp(a, b) == 0 : a == b;
}

static size_t find_row(const struct dw_job *job, const char *name)
{
    for (size_t i = 0; name && i < job->n_sections; i++) {
        if (strcmp(job->sections[i].name, name) == 0)
            return i;
    }
    return DW_NONE;
}

/* The load of a section, made on first use. Room for all was set aside. */
static struct dw_section_load *load_of(struct work *w, const char *name)
{
    struct dw_limits *limits = w->limits;
    for (size_t i = 0; i < limits->n_loads; i++) {
        if (same_name(limits->loads[i].name, name))
            return &limits->loads[i];
    }
    struct dw_section_load *load = &limits->loads[limits->n_loads++];
    *load = (struct dw_section_load){
        .name = name, .row = find_row(w->job, name), .longest_part = DW_NONE, .unweighed = DW_NONE};
    if (load->row != DW_NONE)
        load->weight_mg = w->job->sections[load->row].added_mg;
    return load;
}

static dw_err add_pieces(struct work *w, size_t part, size_t material, dw_length length,
                         int64_t count)
{
    struct dw_section_load *load = load_of(w, w->job->parts[part].section);
    int64_t mg = 0;
    dw_err err = dw_material_weight(&w->job->materials[material], length, &mg, w->error);
    if (err)
        return err;
    if (length > load->longest) {
        load->longest = length;
        load->longest_part = part;
    }
    int64_t all = 0;
    if (!dw_add__i64(load->n_pieces, count, &load->n_pieces) || !dw_mul__i64(mg, count, &all) ||
        (load->weight_mg >= 0 && mg >= 0 && !dw_add__i64(load->weight_mg, all, &load->weight_mg)))
        return dw_error__set(w->error, DW_ERR_RANGE, "a section heavier than can be counted");
    if (mg < 0 && load->weight_mg >= 0) {
        load->weight_mg = -1;
        load->unweighed = material;
    }
    return DW_OK;
}

static dw_err load_layout(struct work *w, const struct dw_layout *layout)
{
    const struct dw_supply *supply = &w->job->supplies[layout->supply];
    dw_err err = DW_OK;
    for (size_t i = 0; i < layout->n_pieces && !err; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        if (piece->use != DW_USE_PART && piece->use != DW_USE_POST)
            continue;
        size_t material = supply->bend && i > 0 ? supply->tail_material : supply->material;
        int64_t count = 0;
        if (!dw_mul__i64(piece->count, layout->count, &count))
            return dw_error__set(w->error, DW_ERR_RANGE, "more pieces than can be counted");
        err = add_pieces(w, piece->part, material, piece->length, count);
    }
    return err;
}

static dw_err load_sections(struct work *w, const struct dw_plan *plan)
{
    dw_err err = DW_OK;
    for (size_t i = 0; plan && i < plan->n_layouts && !err; i++)
        err = load_layout(w, &plan->layouts[i]);
    for (size_t i = 0; !plan && i < w->job->n_parts && !err; i++) {
        const struct dw_part *part = &w->job->parts[i];
        if (!part->post)
            err = add_pieces(w, i, part->materials[0], part->max, part->count);
    }
    return err;
}

/* --- breaches --------------------------------------------------------------------------------- */

static dw_err add_breach(struct work *w, enum dw_section_limit limit, size_t section, int64_t by,
                         const char *format, ...) __attribute__((format(printf, 5, 6)));
static dw_err add_breach(struct work *w, enum dw_section_limit limit, size_t section, int64_t by,
                         const char *format, ...)
{
    struct dw_buf text = {0};
    char line[512];
    va_list list;
    va_start(list, format);
    vsnprintf(line, sizeof line, format, list);
    va_end(list);
    dw_buf__format(&text, "section %s: %s", w->limits->loads[section].name, line);
    struct dw_breach *breach = &w->limits->breaches[w->limits->n_breaches];
    *breach = (struct dw_breach){.limit = limit, .section = section, .part = DW_NONE, .by = by};
    breach->text = text.failed ? NULL : dw_arena__text(w->limits->arena, text.text);
    dw_buf__free(&text);
    if (!breach->text)
        return dw_error__nomem(w->error);
    w->limits->n_breaches++;
    return DW_OK;
}

static void print_length(const struct work *w, dw_length nm, char out[DW_LENGTH_TEXT])
{
    struct dw_length_style style = dw_job__style(w->job);
    dw_length_print(out, nm, &style);
}

static dw_err check_longest(struct work *w, size_t i, dw_length limit)
{
    const struct dw_section_load *load = &w->limits->loads[i];
    if (limit == 0 || load->longest <= limit)
        return DW_OK;
    char is[DW_LENGTH_TEXT];
    char over[DW_LENGTH_TEXT];
    char most[DW_LENGTH_TEXT];
    print_length(w, load->longest, is);
    print_length(w, load->longest - limit, over);
    print_length(w, limit, most);
    dw_err err = add_breach(w, DW_LIMIT_LONGEST, i, load->longest - limit,
                            "%s is %s long, %s over the longest piece of %s",
                            w->job->parts[load->longest_part].label, is, over, most);
    if (!err)
        w->limits->breaches[w->limits->n_breaches - 1].part = load->longest_part;
    return err;
}

/* A weight that nobody can tell passes no limit, but does not keep it either. */
static dw_err say_unweighed(struct work *w, size_t i, const char *most)
{
    const struct dw_material *material = &w->job->materials[w->limits->loads[i].unweighed];
    const char *lacks[3];
    int n = 0;
    if (!material->od)
        lacks[n++] = "outside diameter";
    if (!material->wall)
        lacks[n++] = "wall";
    if (!material->density_g_m3)
        lacks[n++] = "density";
    const char *joint = n == 3 ? ", " : n == 2 ? " and " : "";
    return add_breach(w, DW_LIMIT_WEIGHT, i, 0,
                      "the weight limit of %s can't be judged; give material %s its %s%s%s%s%s",
                      most, material->id, lacks[0], joint, n > 1 ? lacks[1] : "",
                      n > 2 ? " and " : "", n > 2 ? lacks[2] : "");
}

static dw_err check_weight(struct work *w, size_t i, int64_t limit)
{
    const struct dw_section_load *load = &w->limits->loads[i];
    if (limit == 0 || (load->weight_mg >= 0 && load->weight_mg <= limit))
        return DW_OK;
    char is[DW_WEIGHT_TEXT];
    char over[DW_WEIGHT_TEXT];
    char most[DW_WEIGHT_TEXT];
    dw_weight_print(most, limit, w->job->unit);
    if (load->weight_mg < 0)
        return say_unweighed(w, i, most);
    dw_weight_print(is, load->weight_mg, w->job->unit);
    dw_weight_print(over, load->weight_mg - limit, w->job->unit);
    return add_breach(w, DW_LIMIT_WEIGHT, i, load->weight_mg - limit, "%s, %s over the limit of %s",
                      is, over, most);
}

static void sort_sizes(dw_length *size, int n)
{
    for (int i = 1; i < n; i++) {
        for (int k = i; k > 0 && size[k] < size[k - 1]; k--) {
            dw_length swap = size[k];
            size[k] = size[k - 1];
            size[k - 1] = swap;
        }
    }
}

/* The most that one of n sides of `size` is over the same of `space`, each sorted; <= 0: it fits.
 * Translation only: a box turned aslant may pass a little more (not counted on). */
static dw_length worst_excess(const dw_length *size, const dw_length *space, int n)
{
    dw_length a[3] = {0};
    dw_length b[3] = {0};
    memcpy(a, size, (size_t)n * sizeof *a);
    memcpy(b, space, (size_t)n * sizeof *b);
    sort_sizes(a, n);
    sort_sizes(b, n);
    dw_length worst = a[0] - b[0];
    for (int i = 1; i < n; i++) {
        if (a[i] - b[i] > worst)
            worst = a[i] - b[i];
    }
    return worst;
}

static dw_err check_space(struct work *w, size_t i, enum dw_section_limit limit, const char *what,
                          const dw_length *size, const dw_length *space, int n)
{
    if (space[0] == 0)
        return DW_OK;
    dw_length by = worst_excess(size, space, n);
    if (by <= 0)
        return DW_OK;
    char over[DW_LENGTH_TEXT];
    print_length(w, by, over);
    return add_breach(w, limit, i, by, "packed, it is %s too large for the %s", over, what);
}

static dw_err check_section(struct work *w, size_t i)
{
    size_t row = w->limits->loads[i].row;
    if (row == DW_NONE)
        return DW_OK;
    const struct dw_section *section = &w->job->sections[row];
    dw_length end_on[3] = {0};
    memcpy(end_on, section->size, sizeof end_on);
    sort_sizes(end_on, 3);
    dw_err err = check_longest(w, i, section->longest);
    if (!err)
        err = check_weight(w, i, section->weight_mg);
    if (!err)
        err = check_space(w, i, DW_LIMIT_DOOR, "door", end_on, section->door, 2);
    if (!err)
        err = check_space(w, i, DW_LIMIT_VAN, "van", section->size, section->van, 3);
    if (!err)
        err = check_space(w, i, DW_LIMIT_RISER, "riser", section->size, section->riser, 2);
    return err;
}

static dw_err fill_limits(struct work *w, const struct dw_plan *plan)
{
    struct dw_limits *limits = w->limits;
    limits->loads = dw_arena__alloc(limits->arena, w->job->n_parts + 1, sizeof *limits->loads);
    limits->breaches =
        dw_arena__alloc(limits->arena, 5 * w->job->n_sections + 1, sizeof *limits->breaches);
    if (!limits->loads || !limits->breaches)
        return dw_error__nomem(w->error);
    dw_err err = load_sections(w, plan);
    for (size_t i = 0; i < limits->n_loads && !err; i++)
        err = check_section(w, i);
    return err;
}

dw_err dw_limits_check(const struct dw_job *job, const struct dw_plan *plan, struct dw_limits **out,
                       struct dw_error *error)
{
    *out = NULL;
    struct dw_arena *arena = dw_arena__new();
    struct dw_limits *limits = arena ? dw_arena__alloc(arena, 1, sizeof *limits) : NULL;
    if (!limits) {
        dw_arena__free(arena);
        return dw_error__nomem(error);
    }
    limits->arena = arena;
    struct work w = {.job = job, .limits = limits, .error = error};
    dw_err err = fill_limits(&w, plan);
    if (err)
        dw_arena__free(arena);
    else
        *out = limits;
    return err;
}

void dw_limits_free(struct dw_limits *limits)
{
    if (limits)
        dw_arena__free(limits->arena);
}
