/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the person at the saw has to know of a bar and of the pieces on it, beyond lengths.
 *
 * Where mitred or notched ends meet on a bar a plan counts each piece from long point to long point
 * and one square cut with its kerf between two pieces: the piece is cut square to its length and
 * its ends are worked afterwards, within that length. So a plan can always be cut, whatever the
 * angles; tube that could be saved by turning one piece against the next is not counted.
 *
 * Threads: any; job and plan are only read and may be shared. */
#ifndef DROPWISE_SAW_H
#define DROPWISE_SAW_H

#include <dropwise/plan.h>
#include <dropwise/takeoff.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DW_END_SHAPE_LIST(X)                                                                       \
    X(DW_SHAPE_SQUARE, "square")                                                                   \
    X(DW_SHAPE_MITRE, "mitre")                                                                     \
    X(DW_SHAPE_NOTCH, "notch")

enum dw_end_shape {
#define DW_END_SHAPE_ENUM(name, word) name,
    DW_END_SHAPE_LIST(DW_END_SHAPE_ENUM)
#undef DW_END_SHAPE_ENUM
};
const char *dw_end_shape_word(enum dw_end_shape shape);

struct dw_saw_end {
    enum dw_end_shape shape;
    int64_t angle_udeg;        /* of a mitre, off square */
    enum dw_mitre_point point; /* of a mitre: where the written dimension runs to */
    dw_length meets;           /* of a notch: outside diameter of the tube; 0 = as its own */
    const char *fitting;       /* id; NULL = none */
};

/* Of one piece; strings are the job's, NULL where the job says nothing. A surplus piece and a bend
 * end are scrap: of them nothing but the number is told. */
struct dw_saw_piece {
    int64_t number;            /* of the first of a row on its bar, from the datum end, from 1 */
    struct dw_saw_end ends[2]; /* end 1 is cut towards the datum end */
    enum dw_long_points long_points; /* of two mitred ends */
    dw_length length;                /* as cut: to the long points, the allowance included */
    dw_length written;   /* the dimension that it was worked out from; 0 = the length itself, as of
                            a piece whose true length was measured */
    dw_length allowance; /* of a part to be measured first */
    bool measure_first;
    dw_length short_of; /* limit that it is too short to be held under (caution.h); 0 = it is not */
    bool bent_bar;      /* it takes the bend of an end-bent bar; its length runs through it */
    size_t n_bends;
    const struct dw_made_bend *bends; /* length n_bends */
    dw_length last_straight;          /* after the last bend */
    const char *remark;
    const char *section;
    const char *order; /* name of the client's job */
    const char *client;
    const char *due;
};

/* Fills out[0..n_pieces) with one entry a row of pieces. Cost: O(n_pieces). */
void dw_layout_saw(const struct dw_job *job, const struct dw_layout *layout,
                   struct dw_saw_piece *out);

#ifdef __cplusplus
}
#endif
#endif
