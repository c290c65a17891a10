/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A drawing of centre lines as it is read: entities, their straight lines and arcs, where these
 * meet, the tubes that they make, and which of them are equal. */
#ifndef DW_DRAWING_SKETCH_H
#define DW_DRAWING_SKETCH_H

#include "drawing/space.h"
#include "base/base.h"

#include <dropwise/job.h>

/* Limits, refused up front. */
#define DW_SKETCH_LINES     ((size_t)5000) /* straight lines and arcs, blocks unfolded */
#define DW_SKETCH_LEGS      100            /* of a meeting */
#define DW_SKETCH_LAYERS    1000
#define DW_SKETCH_CROSSINGS ((size_t)5000)    /* without a joint: then it is no frame */
#define DW_SKETCH_DEPTH     16                /* blocks within blocks */
#define DW_SKETCH_TAGS      ((size_t)2000000) /* read again while blocks are unfolded */

#define DW_SKETCH_GAP  (2 * DW_NM_PER_MM)   /* ends that are closer are taken as meeting */
#define DW_SKETCH_SAME (DW_NM_PER_MM / 100) /* and closer than this no doubt is worth a word */

/* --- what is in the file ------------------------------------------------------------------------
 */

struct dw_layer {
    const char *name;
    bool off;       /* switched off or frozen */
    bool left_out;  /* by the choice of layers */
    const char *to; /* by that choice: the material of its tubes; NULL = none is named */
    bool chosen;    /* the choice names it */
    bool known;     /* the drawing has it */
};

/* X(name, word): what became of an entity. */
#define DW_ENTITY_ROLE_LIST(X)                                                                     \
    X(DW_ENTITY_TAKEN, "taken")                                                                    \
    X(DW_ENTITY_TWICE, "drawn twice")                                                              \
    X(DW_ENTITY_SHORT, "shorter than 2 mm")                                                        \
    X(DW_ENTITY_OFF, "its layer is off")                                                           \
    X(DW_ENTITY_CHOSEN, "its layer is left out")                                                   \
    X(DW_ENTITY_PAPER, "on a sheet, not in the model")                                             \
    X(DW_ENTITY_OTHER, "no centre line")

enum dw_entity_role {
#define DW_ENTITY_ENUM(name, word) name,
    DW_ENTITY_ROLE_LIST(DW_ENTITY_ENUM)
#undef DW_ENTITY_ENUM
};
const char *dw_entity__word(enum dw_entity_role role);

struct dw_entity {
    const char *type;   /* "LINE" */
    const char *handle; /* "" = it has none */
    int line;           /* of the file, where it begins */
    size_t layer;
    enum dw_entity_role role;
    size_t count; /* of those that are no centre lines: so many of this type on this layer */
};

/* One straight line or arc. */
struct dw_wire {
    size_t entity;
    size_t layer;
    struct dw_spot ends[2];
    bool arc; /* turns by `angle` about `normal`, from the first end to the second */
    struct dw_vec centre;
    struct dw_vec normal; /* unit */
    long double radius;   /* nm */
    long double angle;    /* radians, over 0 and under 2 pi */
    bool left_out;        /* drawn twice, or too short */
    size_t meetings[2];   /* of its ends */
    size_t tube;
};

/* --- where lines meet ---------------------------------------------------------------------------
 */

/* X(name, word). Of the directions in which tube leaves the point, count the pairs in line. */
#define DW_MEETING_LIST(X)                                                                         \
    X(DW_MEET_END, "end")       /* one direction */                                                \
    X(DW_MEET_CORNER, "corner") /* several, no pair in line */                                     \
    X(DW_MEET_T, "T")           /* one pair in line, and others */                                 \
    X(DW_MEET_CROSS, "cross")   /* several pairs in line */                                        \
    X(DW_MEET_SPLICE, "splice") /* one pair in line and nothing else */

enum dw_meet {
#define DW_MEETING_ENUM(name, word) name,
    DW_MEETING_LIST(DW_MEETING_ENUM)
#undef DW_MEETING_ENUM
};
#define DW_MEETING_COUNT(name, word) +1
#define DW_N_MEETINGS                (0 DW_MEETING_LIST(DW_MEETING_COUNT))
const char *dw_meeting__word(enum dw_meet meet);

/* Tube that leaves a meeting: from the end of a line, or, twice, from a line that passes. */
struct dw_leg {
    size_t wire;
    int end;            /* 0 or 1; of a line that passes: -1 */
    bool ends;          /* a tube ends here */
    struct dw_vec away; /* unit: direction of its centre line */
};

struct dw_meeting {
    struct dw_spot at;
    enum dw_meet meet;
    size_t n_legs;
    struct dw_leg *legs; /* length n_legs */
};

/* --- tubes --------------------------------------------------------------------------------------
 */

/* An end of a tube, and what it meets. */
struct dw_tube_end {
    size_t meeting;
    size_t leg;
    bool in_line;       /* another leg goes on in its direction */
    size_t on;          /* layer of the tube that it meets; DW_NONE: it meets none */
    int64_t angle_udeg; /* to that tube: of a corner over 0 to 180, of a T or cross up to 90 */
    bool single; /* that tube is the only other one: two tubes make the corner, or it passes */
    struct dw_vec side; /* unit: of a corner of two tubes, where the long point of a mitre lies */
    const char *text;   /* "T on posts"; ends of equal tubes have equal texts */
};

#define DW_UNTURNED INT64_MIN

struct dw_tube {
    size_t n_wires;
    size_t *wires;   /* length n_wires, from end 0 to end 1 */
    bool *backwards; /* length n_wires: that wire runs from its second end to its first */
    size_t layer;
    bool closed; /* a ring: both ends are the point where it was drawn from */
    bool bent;   /* some wire is an arc */
    struct dw_tube_end ends[2];
    int64_t facing_udeg; /* of a straight tube between two corners: from the side of end 0 to that
                            of end 1, looking along it; 0: on the same side; else DW_UNTURNED */
    size_t part;
};

/* Tubes that are equal: of one layer, as long, bent alike, with equal ends, in either direction. */
struct dw_sketch_part {
    size_t tube; /* the first of them */
    int64_t count;
    const char *label;
};

struct dw_sketch {
    struct dw_arena *arena; /* the caller's */
    const char *name;       /* of the file, in remarks */
    enum dw_unit unit;
    bool flat; /* all lines lie in a plane z = constant */
    size_t n_layers;
    struct dw_layer *layers;
    size_t n_entities;
    struct dw_entity *entities;
    size_t n_wires;
    struct dw_wire *wires;
    size_t n_meetings;
    struct dw_meeting *meetings;
    size_t n_tubes;
    struct dw_tube *tubes;
    size_t n_parts;
    struct dw_sketch_part *parts; /* by dw_sketch__count */
};

struct dw_sketch_source {
    const char *name; /* in remarks; must outlive them */
    const char *text; /* length n */
    size_t n;
    enum dw_unit unit;  /* as said beside the file; NONE: as the drawing says */
    const char *layers; /* "rails=al38, axis=none"; NULL: all of them */
    bool one_tube;      /* lines of one layer in line are one tube, also where others meet them */
    struct dw_place at; /* where that is said */
};

struct dw_report;

/* Whether the bytes are a drawing: DXF, or what is refused as a kind of drawing that is not read.
 */
bool dw_sketch__is(const char *text, size_t n);
/* The unit that its header says ($INSUNITS); NONE: it says none that is read here. */
enum dw_unit dw_sketch__unit(const char *text, size_t n);

/* Reads a drawing up to its tubes. All that it points to is in the arena. Mistakes and doubts go to
 * the report; DW_ERR_INPUT, and *out NULL, if there are mistakes. DW_ERR_NOMEM.
 * Cost: O(n) for lines spread evenly. */
dw_err dw_sketch__read(struct dw_arena *arena, const struct dw_sketch_source *source,
                       struct dw_sketch **out, struct dw_report *report, struct dw_error *error);

/* Counts equal tubes, lengths within DW_SKETCH_SAME; parts by layer in the order of the file, then
 * from long to short; labels are `prefix`1, `prefix`2 and so on. */
dw_err dw_sketch__count(struct dw_sketch *sketch, const char *prefix, struct dw_error *error);

/* Length along the centre line, arcs developed, rounded to the nanometre. */
dw_length dw_wire__length(const struct dw_wire *wire);
dw_length dw_tube__length(const struct dw_sketch *sketch, const struct dw_tube *tube);

/* A tube as it is bent: n_bends bends between n_bends + 1 straights, from end 0 on. */
struct dw_run {
    size_t n_bends;
    dw_length *straights; /* length n_bends + 1, 0 where bends follow each other */
    dw_length *radii;     /* of the centre line */
    int64_t *angles_udeg;
    int64_t *turns_udeg; /* of each bend but the first: from the plane of the one before it, looking
                            along the tube, -180 degrees excluded; the first has 0 */
};
/* In the arena. DW_ERR_NOMEM. */
dw_err dw_tube__run(const struct dw_sketch *sketch, const struct dw_tube *tube,
                    struct dw_arena *arena, struct dw_run *out);

/* Points along a tube, arcs as chords of at most six degrees: *points is in the arena; NULL: no
 * memory. */
struct dw_spot *dw_tube__points(const struct dw_sketch *sketch, const struct dw_tube *tube,
                                struct dw_arena *arena, size_t *n);

/* A remark at an entity: "layer `rails`, handle 2F, at 1200, 300, 0: ...". `at` NULL: no place. */
dw_err dw_sketch__say(const struct dw_sketch *sketch, struct dw_report *report,
                      enum dw_severity severity, size_t entity, const struct dw_spot *at,
                      const char *format, ...) __attribute__((format(printf, 6, 7)));

#endif
