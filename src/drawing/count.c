/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Equal tubes are counted, and given a label. */
#include "drawing/sketch.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SAME_UDEG 10000 /* a hundredth of a degree */

/* A tube with all that is compared. */
struct sorted {
    size_t tube;
    size_t layer;
    dw_length length;
    struct dw_run run;
};

static int by_layer(const void *a, const void *b)
{
    const struct sorted *x = a, *y = b;
    if (x->layer != y->layer)
        return x->layer < y->layer ? -1 : 1;
    if (x->length != y->length)
        return x->length > y->length ? -1 : 1;
    return x->tube < y->tube ? -1 : x->tube > y->tube;
}

static bool is_near(int64_t a, int64_t b, int64_t most)
{
    return llabs(a - b) <= most;
}

/* Half a turn one way is half a turn the other way. */
static bool same_turn(int64_t a, int64_t b)
{
    return is_near(a, b, SAME_UDEG) || is_near(llabs(a - b), 360000000, SAME_UDEG);
}

/* The one as it is, the other from its end `from` on. */
static bool same_run(const struct dw_run *a, const struct dw_run *b, int from)
{
    size_t n = a->n_bends;
    if (b->n_bends != n)
        return false;
    for (size_t i = 0; i <= n; i++)
        if (!is_near(a->straights[i], b->straights[from ? n - i : i], DW_SKETCH_SAME))
            return false;
    for (size_t i = 0; i < n; i++) {
        size_t k = from ? n - 1 - i : i;
        if (!is_near(a->radii[i], b->radii[k], DW_SKETCH_SAME) ||
            !is_near(a->angles_udeg[i], b->angles_udeg[k], SAME_UDEG))
            return false;
        if (i > 0 && !same_turn(a->turns_udeg[i], b->turns_udeg[from ? n - i : i]))
            return false;
    }
    return true;
}

static bool same_end(const struct dw_tube_end *a, const struct dw_tube_end *b)
{
    return strcmp(a->text, b->text) == 0 && is_near(a->angle_udeg, b->angle_udeg, SAME_UDEG);
}

static bool same_facing(const struct dw_tube *a, const struct dw_tube *b)
{
    if (a->facing_udeg == DW_UNTURNED || b->facing_udeg == DW_UNTURNED)
        return a->facing_udeg == b->facing_udeg;
    return same_turn(a->facing_udeg, b->facing_udeg);
}

static bool is_same(const struct dw_sketch *sketch, const struct sorted *a, const struct sorted *b)
{
    const struct dw_tube *x = &sketch->tubes[a->tube], *y = &sketch->tubes[b->tube];
    if (x->closed != y->closed || !same_facing(x, y))
        return false;
    for (int from = 0; from < 2; from++)
        if (same_end(&x->ends[0], &y->ends[from]) && same_end(&x->ends[1], &y->ends[1 - from]) &&
            same_run(&a->run, &b->run, from))
            return true;
    return false;
}

/* The part that equals one of the sorted tubes: they stand near each other. DW_NONE: a new one. */
static size_t find_part(const struct dw_sketch *sketch, const struct sorted *sorted, size_t i,
                        const size_t *first)
{
    const struct sorted *one = &sorted[i];
    for (size_t p = sketch->n_parts; p-- > 0;) {
        const struct sorted *other = &sorted[first[p]];
        dw_length most = DW_SKETCH_SAME * (dw_length)(2 * one->run.n_bends + 1);
        if (other->layer != one->layer || other->length - one->length > most)
            break;
        if (is_same(sketch, other, one))
            return p;
    }
    return DW_NONE;
}

static dw_err add_part(struct dw_sketch *sketch, const char *prefix, size_t tube)
{
    char label[64];
    snprintf(label, sizeof label, "%.40s%zu", prefix, sketch->n_parts + 1);
    struct dw_sketch_part *part = &sketch->parts[sketch->n_parts++];
    *part = (struct dw_sketch_part){.tube = tube, .label = dw_arena__text(sketch->arena, label)};
    return part->label ? DW_OK : DW_ERR_NOMEM;
}

dw_err dw_sketch__count(struct dw_sketch *sketch, const char *prefix, struct dw_error *error)
{
    size_t n = sketch->n_tubes;
    struct sorted *sorted = calloc(n + 1, sizeof *sorted);
    size_t *first = calloc(n + 1, sizeof *first);
    sketch->parts = dw_arena__alloc(sketch->arena, n + 1, sizeof *sketch->parts);
    sketch->n_parts = 0;
    dw_err err = sorted && first && sketch->parts ? DW_OK : DW_ERR_NOMEM;
    for (size_t i = 0; i < n && !err; i++) {
        const struct dw_tube *tube = &sketch->tubes[i];
        sorted[i] = (struct sorted){
            .tube = i, .layer = tube->layer, .length = dw_tube__length(sketch, tube)};
        err = dw_tube__run(sketch, tube, sketch->arena, &sorted[i].run);
    }
    if (!err)
        qsort(sorted, n, sizeof *sorted, by_layer);
    for (size_t i = 0; i < n && !err; i++) {
        size_t part = find_part(sketch, sorted, i, first);
        if (part == DW_NONE) {
            part = sketch->n_parts;
            first[part] = i;
            err = add_part(sketch, prefix, sorted[i].tube);
        }
        sketch->parts[part].count++;
        sketch->tubes[sorted[i].tube].part = part;
    }
    free(sorted);
    free(first);
    return err ? dw_error__nomem(error) : DW_OK;
}
