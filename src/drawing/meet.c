/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ends of lines that meet: found by cells of space as wide as a gap. */
#include "drawing/wire.h"

#include <stdlib.h>
#include <string.h>

/* Ends as 2 wire + end. Those of a cell are chained; a chain of cells hangs at its hash. */
struct cells {
    size_t size;   /* a power of two */
    size_t *first; /* length size: an end, DW_NONE: none */
    size_t *next;  /* length 2 n_wires */
    size_t *group; /* length 2 n_wires: union-find; the root is the first in the file */
};

static const struct dw_spot *spot_of(const struct dw_sketch *sketch, size_t end)
{
    return &sketch->wires[end / 2].ends[end % 2];
}

static int64_t cell_of(dw_length at)
{
    return dw_floor__div(at, DW_SKETCH_GAP);
}

/* Large odd factors spread neighbouring cells. */
static size_t hash(const struct cells *cells, const int64_t at[3])
{
    uint64_t sum = (uint64_t)at[0] * 0x9E3779B97F4A7C15u;
    sum = (sum ^ sum >> 29) + (uint64_t)at[1] * 0xC2B2AE3D27D4EB4Fu;
    sum = (sum ^ sum >> 31) + (uint64_t)at[2] * 0x165667B19E3779F9u;
    return (size_t)(sum ^ sum >> 32) & (cells->size - 1);
}

static size_t root_of(struct cells *cells, size_t end)
{
    while (cells->group[end] != end)
        end = cells->group[end] = cells->group[cells->group[end]];
    return end;
}

static void unite(struct cells *cells, size_t a, size_t b)
{
    a = root_of(cells, a);
    b = root_of(cells, b);
    if (a < b)
        cells->group[b] = a;
    else
        cells->group[a] = b;
}

/* Unites an end with those in the cells around it that are close, then adds it to its own. The two
 * ends of one line stay apart: it is longer than a gap, or a ring. */
static void add_end(struct cells *cells, const struct dw_sketch *sketch, size_t end)
{
    const struct dw_spot *spot = spot_of(sketch, end);
    int64_t home[3], at[3];
    bool stands = false; /* another one at the very spot is found in its place */
    for (int i = 0; i < 3; i++)
        home[i] = cell_of(spot->at[i]);
    for (int k = 0; k < 27; k++) {
        at[0] = home[0] + k % 3 - 1;
        at[1] = home[1] + k / 3 % 3 - 1;
        at[2] = home[2] + k / 9 - 1;
        for (size_t other = cells->first[hash(cells, at)]; other != DW_NONE;
             other = cells->next[other])
            if (dw_spot__distance(spot, spot_of(sketch, other)) < DW_SKETCH_GAP) {
                unite(cells, end, other);
                stands |= memcmp(spot, spot_of(sketch, other), sizeof *spot) == 0;
            }
    }
    if (stands)
        return;
    size_t own = hash(cells, home);
    cells->next[end] = cells->first[own];
    cells->first[own] = end;
}

static dw_err start_cells(struct cells *cells, size_t n_ends)
{
    cells->size = 16;
    while (cells->size < 2 * n_ends)
        cells->size *= 2;
    cells->first = malloc(cells->size * sizeof *cells->first);
    cells->next = malloc((n_ends + 1) * sizeof *cells->next);
    cells->group = malloc((n_ends + 1) * sizeof *cells->group);
    if (!cells->first || !cells->next || !cells->group)
        return DW_ERR_NOMEM;
    for (size_t i = 0; i < cells->size; i++)
        cells->first[i] = DW_NONE;
    for (size_t i = 0; i < n_ends; i++)
        cells->group[i] = i;
    return DW_OK;
}

static dw_err doubt_gap(const struct dw_sketch *sketch, size_t end, size_t root,
                        struct dw_report *report)
{
    const struct dw_spot *spot = spot_of(sketch, end);
    dw_length gap = dw_spot__distance(spot, spot_of(sketch, root));
    const struct dw_entity *other = &sketch->entities[sketch->wires[root / 2].entity];
    if (gap <= DW_SKETCH_SAME)
        return DW_OK;
    return dw_sketch__say(sketch, report, DW_DOUBT, sketch->wires[end / 2].entity, spot,
                          "this end is %.2f mm from that of the %s of line %d; they are taken as "
                          "meeting",
                          (double)gap / (double)DW_NM_PER_MM, other->type, other->line);
}

/* A star of lines would make a pair of each two of them. */
static dw_err count_leg(struct dw_sketch *sketch, size_t end, struct dw_report *report)
{
    const struct dw_wire *wire = &sketch->wires[end / 2];
    struct dw_meeting *meeting = &sketch->meetings[wire->meetings[end % 2]];
    if (++meeting->n_legs <= DW_SKETCH_LEGS)
        return DW_OK;
    dw_err err = dw_sketch__say(sketch, report, DW_WRONG, wire->entity, &meeting->at,
                                "more than %d lines meet here", DW_SKETCH_LEGS);
    return err ? err : DW_ERR_INPUT;
}

/* Numbers the groups in the order of the file. */
static dw_err number(struct dw_sketch *sketch, struct cells *cells, struct dw_report *report)
{
    dw_err err = DW_OK;
    size_t n = 0;
    sketch->meetings =
        dw_arena__alloc(sketch->arena, 2 * sketch->n_wires + 1, sizeof *sketch->meetings);
    if (!sketch->meetings)
        return DW_ERR_NOMEM;
    for (size_t end = 0; end < 2 * sketch->n_wires && !err; end++) {
        struct dw_wire *wire = &sketch->wires[end / 2];
        if (wire->left_out)
            continue;
        size_t root = root_of(cells, end);
        if (root == end) {
            sketch->meetings[n].at = wire->ends[end % 2];
            wire->meetings[end % 2] = n++;
        } else {
            wire->meetings[end % 2] = sketch->wires[root / 2].meetings[root % 2];
            err = doubt_gap(sketch, end, root, report);
        }
        if (!err)
            err = count_leg(sketch, end, report);
    }
    sketch->n_meetings = n;
    for (size_t i = 0; i < n; i++)
        sketch->meetings[i].n_legs = 0;
    return err;
}

dw_err dw_wires__meet(struct dw_sketch *sketch, struct dw_report *report)
{
    struct cells cells = {0};
    dw_err err = start_cells(&cells, 2 * sketch->n_wires);
    for (size_t end = 0; end < 2 * sketch->n_wires && !err; end++)
        if (!sketch->wires[end / 2].left_out)
            add_end(&cells, sketch, end);
    if (!err)
        err = number(sketch, &cells, report);
    free(cells.first);
    free(cells.next);
    free(cells.group);
    return err;
}
