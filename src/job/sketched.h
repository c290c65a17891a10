/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing as it was understood, for the faces of the program: its parts, and each entity of it.
 */
#ifndef DW_JOB_SKETCHED_H
#define DW_JOB_SKETCHED_H

#include "base/base.h"

#include <dropwise/job.h>

struct dw_sketched_part {
    const char *label;
    int64_t count;
    const char *layer;
    dw_length length; /* of the centre line, arcs developed */
    bool bent;
    const char *shape;   /* "straight", "2 bends: 90 degrees R 200 mm, ..." */
    const char *ends[2]; /* "T on posts", what they meet */
};

struct dw_sketched_entity {
    int line;
    const char *handle; /* "" = it has none */
    const char *type;
    const char *layer;
    const char *role;  /* a word of DW_ENTITY_ROLE_LIST */
    size_t count;      /* of those that are told together */
    const char *parts; /* "P1, P2, P1": of one that is taken; else "" */
};

struct dw_sketched {
    struct dw_arena *arena; /* owns all of it */
    enum dw_unit unit;      /* of the drawing */
    size_t n_parts;
    struct dw_sketched_part *parts;
    size_t n_entities;
    struct dw_sketched_entity *entities; /* by line */
    size_t n_taken;                      /* entities that are */
};

struct dw_sketched_source {
    const char *name; /* in messages */
    const char *text; /* length n */
    size_t n;
    enum dw_unit unit;  /* NONE: as the drawing says */
    const char *layers; /* "rails=al38, axis=none"; NULL: all */
    const char *label;  /* what labels begin with; NULL: P */
    bool one_tube;      /* lines of a layer that meet in line are one tube */
};

/* Whether the text is a drawing; and the unit that it says it is in, NONE: it does not. */
bool dw_sketched__is(const char *text, size_t n);
enum dw_unit dw_sketched__unit(const char *text, size_t n);
/* DW_ERR_INPUT: it can't be read, the report says why; *out is NULL. Free with dw_sketched__free.
 */
dw_err dw_sketched__read(const struct dw_sketched_source *source, struct dw_sketched **out,
                         struct dw_report *report, struct dw_error *error);
void dw_sketched__free(struct dw_sketched *sketched);

/* The parts as a table for a spreadsheet, as long as their centre lines. *text is yours. */
dw_err dw_sketched__csv(const struct dw_sketched *sketched, char **text, size_t *n,
                        struct dw_error *error);

#endif
