/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From drawn dimensions to a cut length: fittings, bends, mitres.
 *
 *   cut = drawn - take-outs + insertions + overhangs,      each end by its own fitting
 *
 * Sums of lengths are exact. What needs a sine, a tangent or a root (arc, setback, mitre, offset)
 * is computed in long double and rounded to the nanometre, half away from zero; the result says
 * so (`rounded`), and every step shows its own amount, so that the steps add up to the cut.
 *
 * Threads: a job that is changed here belongs to one thread meanwhile; what is const may be
 * shared. */
#ifndef DROPWISE_TAKEOFF_H
#define DROPWISE_TAKEOFF_H

#include <dropwise/job.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DW_UDEG INT64_C(1000000) /* angles are micro-degrees: 45 degrees = 45 000 000 */

/* From where to where a dimension is drawn, or a take-out is counted, at an end with a fitting.
 * The centre line of the tube that the end meets lies half that tube's outside diameter inside the
 * frame's outside and as much outside its clear width. */
#define DW_REFERENCE_LIST(X)                                                                       \
    X(DW_REF_CENTRE, "centre")                                                                     \
    X(DW_REF_OUTSIDE, "outside")                                                                   \
    X(DW_REF_INSIDE, "inside")

enum dw_reference {
#define DW_REFERENCE_ENUM(name, word) name,
    DW_REFERENCE_LIST(DW_REFERENCE_ENUM)
#undef DW_REFERENCE_ENUM
};
const char *dw_reference_word(enum dw_reference reference);

/* One row of the table of allowances.
 *
 *   end = reference - take_out - half_ods OD / 2 + insert + overhang
 *
 * with OD that of the tube the end meets. Examples, of invented fittings:
 *   socket with an end stop at the crossing tube's face   half_ods 1
 *   threaded elbow: centre to face 1 3/8, thread in 3/8   take_out 1 3/8 in, insert 3/8 in
 *   corner piece, 2 1/2 in off the outside size           take_out 2 1/2 in, from outside
 *   passing clamp, 100 mm beyond the centre               overhang 100 mm */
struct dw_fitting {
    const char *id;
    const char *name;       /* NULL = as id */
    enum dw_reference from; /* DW_REF_CENTRE or DW_REF_OUTSIDE */
    dw_length take_out;
    dw_length insert;
    dw_length overhang;
    int64_t half_ods;     /* 0..4 */
    size_t n_ods;         /* 0 = takes any outside diameter */
    const dw_length *ods; /* length n_ods: takes these directly */
    size_t n_bushed;
    const dw_length *bushed; /* length n_bushed: takes these with a bushing */
    size_t bushing;          /* index of the fitting that is the bushing; DW_NONE = not listed */
    int64_t joins;           /* ends of parts that one piece of it serves, >= 1 */
    dw_money price;
    const char *supplier;
    const char *item; /* its number with the supplier; NULL = not said */
    const char *date; /* of the price */
    struct dw_place at;
};

/* Fittings that no end of a part names: feet, caps, spare clamps. */
struct dw_loose {
    size_t fitting;
    size_t order; /* index of the client's job */
    int64_t count;
    struct dw_place at;
};

/* Which point of a mitred end a dimension runs to. */
#define DW_MITRE_POINT_LIST(X)                                                                     \
    X(DW_MITRE_LONG, "long point")                                                                 \
    X(DW_MITRE_CENTRE, "centre line")                                                              \
    X(DW_MITRE_SHORT, "short point")

enum dw_mitre_point {
#define DW_MITRE_POINT_ENUM(name, word) name,
    DW_MITRE_POINT_LIST(DW_MITRE_POINT_ENUM)
#undef DW_MITRE_POINT_ENUM
};
const char *dw_mitre_point_word(enum dw_mitre_point point);

/* On which sides of the tube the long points of two mitred ends lie. On the same side the piece is
 * a trapezoid, its ends face opposite ways; on opposite sides it is a parallelogram, its ends face
 * the same way. */
#define DW_LONG_POINTS_LIST(X)                                                                     \
    X(DW_POINTS_UNSAID, "not said")                                                                \
    X(DW_POINTS_SAME_SIDE, "same side")                                                            \
    X(DW_POINTS_OPPOSITE_SIDES, "opposite sides")

enum dw_long_points {
#define DW_LONG_POINTS_ENUM(name, word) name,
    DW_LONG_POINTS_LIST(DW_LONG_POINTS_ENUM)
#undef DW_LONG_POINTS_ENUM
};
const char *dw_long_points_word(enum dw_long_points points);

/* A notched end is shaped to sit on the side of the tube that it meets; its dimension runs to the
 * points that stand out furthest, as it is written. */
struct dw_drawn_end {
    size_t fitting;     /* DW_NONE = free end */
    dw_length meets;    /* outside diameter of the tube it meets; 0 = as the part's own */
    int64_t mitre_udeg; /* angle off square, half the turn; 0 = square */
    enum dw_mitre_point point;
    bool notch;
};

/* One bend. Given by radius and angle, radius and chord, or chord and rise; the others are 0.
 *   arc = R a,   chord = 2 R sin(a / 2),   rise = R (1 - cos(a / 2)),   R = s / 2 + c^2 / (8 s) */
struct dw_bend {
    dw_length radius;
    enum dw_reference radius_at; /* centre line, outside, or inside of the bend */
    int64_t angle_udeg;          /* of the turn, < 360 degrees */
    dw_length chord;
    dw_length rise;
    bool major; /* radius and chord: the long way round */
};

enum dw_drawn_kind {
    DW_DRAWN_STRAIGHT, /* size, from reference to reference */
    DW_DRAWN_OFFSET,   /* set and angle of an offset */
    DW_DRAWN_BENT,     /* straights and bends */
    DW_DRAWN_CUT,      /* size is the cut length: fittings are counted only, mitres count */
};

/* A part as it is drawn. */
struct dw_drawn {
    enum dw_drawn_kind kind;
    enum dw_reference measure;   /* at the ends with a fitting */
    dw_length size;              /* straight: the dimension; offset: the set; cut: the length */
    int64_t angle_udeg;          /* offset: angle of the fittings; travel = set / sin(angle) */
    size_t n_bends;              /* bent: n_bends bends between n_bends + 1 straights */
    const struct dw_bend *bends; /* length n_bends */
    const dw_length *straights;  /* length n_bends + 1 */
    bool to_apex;                /* straights run to where the centre lines meet, not to the arc */
    dw_length least_straight;    /* what a clamp or the bender needs; 0 = no rule */
    struct dw_drawn_end ends[2];
    enum dw_long_points long_points; /* of two mitred ends */
};

/* How a cut length came about; the amounts add up to the cut. */
struct dw_step {
    const char *text;
    dw_length amount;
    bool rounded;
};

/* A bend as it is made, and the straight before it, setbacks and what its end adds counted. */
struct dw_made_bend {
    dw_length straight;
    dw_length radius; /* of the centre line */
    int64_t angle_udeg;
};

struct dw_takeoff {
    dw_length cut; /* what is cut: the long point of a mitred end */
    bool rounded;
    size_t n_steps;
    const struct dw_step *steps; /* length n_steps; in the job's arena */
    size_t n_bends;
    const struct dw_made_bend *bends; /* length n_bends; in the job's arena */
    dw_length last_straight;          /* after the last bend */
};

/* Works out one drawn part of outside diameter `od` (0 = not known: refused where it is needed).
 * DW_ERR_INPUT with what would be right: nothing left to cut, impossible bend or mitre, a straight
 * shorter than least_straight. Cost: O(bends). */
dw_err dw_takeoff_cut(struct dw_job *job, const struct dw_drawn *drawn, dw_length od,
                      struct dw_takeoff *out, struct dw_error *error);

/* The cut length of every part with `drawn` set: fills takeoff, min and max (min = max = cut, plus
 * the allowance of a part that is measured first; DW_DRAWN_CUT: min and max grow by what its mitres
 * add). To be called once. Mistakes, fittings that don't take the tube, those that need a bushing,
 * and mitres that don't say how they face go to the report. DW_OK, DW_ERR_INPUT, DW_ERR_NOMEM. */
dw_err dw_job_takeoff(struct dw_job *job, struct dw_report *report, struct dw_error *error);

/* Does a fitting take a tube of this outside diameter? */
enum dw_fit { DW_FIT_YES, DW_FIT_BUSHED, DW_FIT_NO };
enum dw_fit dw_fitting_fit(const struct dw_fitting *fitting, dw_length od);

/* How many of each fitting the client's job `order` needs: ends / joins rounded up, bushings,
 * loose ones. counts: length job->n_fittings. Posts are not counted; a job of the rest
 * needs none, since they come with the whole job. DW_ERR_RANGE on overflow. Cost: O(parts). */
dw_err dw_fittings_count(const struct dw_job *job, size_t order, int64_t *counts,
                         struct dw_error *error);

#ifdef __cplusplus
}
#endif
#endif
