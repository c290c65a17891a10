/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the person at the saw has to know of a bar and a piece: the words. */
#include "model/saw.h"
#include "units/units.h"

#include <inttypes.h>
#include <stdio.h>

/* The piece's own length, as its stop setting says it. */
static void put_length(struct dw_buf *buf, dw_length nm, const struct dw_length_style *style)
{
    char text[DW_LENGTH_TEXT];
    dw_length_print(text, nm, style);
    dw_buf__put(buf, text);
}

/* Of things that are measured by themselves: as fine as they are. */
static void put_fine(struct dw_buf *buf, dw_length nm, const struct dw_length_style *style)
{
    char text[DW_LENGTH_TEXT];
    dw_length__print_fine(text, nm, style);
    dw_buf__put(buf, text);
}

const char dw_saw__what_counts[] =
    "Pieces with mitred or notched ends are cut square first, from long point to long point, with "
    "one "
    "kerf between two of them, and their ends are worked afterwards. That always fits; tube that "
    "turning one piece against the next could save is not counted.";

bool dw_saw__any_worked(const struct dw_job *job)
{
    bool any = false;
    for (size_t i = 0; i < job->n_parts && !any; i++)
        for (size_t e = 0; e < 2 && job->parts[i].drawn && !any; e++)
            any = job->parts[i].drawn->ends[e].mitre_udeg || job->parts[i].drawn->ends[e].notch;
    return any;
}

void dw_angle__print(char out[DW_ANGLE_TEXT], int64_t udeg)
{
    int n = snprintf(out, DW_ANGLE_TEXT, "%" PRId64 ".%06" PRId64, udeg / DW_UDEG, udeg % DW_UDEG);
    while (out[n - 1] == '0')
        n--;
    out[out[n - 1] == '.' ? n - 1 : n] = '\0';
}

static void put_angle(struct dw_buf *buf, int64_t udeg)
{
    char text[DW_ANGLE_TEXT];
    dw_angle__print(text, udeg);
    dw_buf__format(buf, "%s\u00b0", text);
}

void dw_saw__bar(struct dw_buf *buf, const struct dw_supply *supply,
                 const struct dw_length_style *style)
{
    bool near = dw_supply_squared(supply, 0), far = dw_supply_squared(supply, 1);
    if (supply->bend > 0)
        dw_buf__format(buf,
                       "the bent end is the datum end and is not squared; measure from it along "
                       "the tube, through the bend%s",
                       near || far ? "; " : "");
    if (!near && !far)
        return;
    dw_buf__format(buf, "square %s first, ",
                   near && far ? "both ends"
                   : near      ? "the datum end"
                               : "the far end");
    put_fine(buf, supply->trim, style);
    dw_buf__put(buf, near && far ? " off each" : " off");
}

/* --- ends ------------------------------------------------------------------------------------ */

static bool same_work(const struct dw_saw_end *a, const struct dw_saw_end *b)
{
    return a->shape == b->shape && a->angle_udeg == b->angle_udeg && a->meets == b->meets;
}

/* "mitre 45° off square", with `where` behind the verb: "mitre both ends 45° off square". */
static void put_end(struct dw_buf *buf, const struct dw_saw_end *end, const char *where,
                    const struct dw_length_style *style)
{
    switch (end->shape) {
    case DW_SHAPE_SQUARE:
        dw_buf__format(buf, "%s stays square", where);
        break;
    case DW_SHAPE_MITRE:
        dw_buf__format(buf, "mitre %s ", where);
        put_angle(buf, end->angle_udeg);
        dw_buf__put(buf, " off square");
        break;
    case DW_SHAPE_NOTCH:
        dw_buf__format(buf, "notch %s for tube of ", where);
        if (end->meets)
            put_fine(buf, end->meets, style);
        else
            dw_buf__put(buf, "its own diameter");
        break;
    }
}

/* What a length runs to: of the cut, or, `written`, of the dimension. */
static const char *point_of(const struct dw_saw_end *end, bool written)
{
    switch (end->shape) {
    case DW_SHAPE_MITRE:
        return dw_mitre_point_word(written ? end->point : DW_MITRE_LONG);
    case DW_SHAPE_NOTCH:
        return "points of the notch";
    case DW_SHAPE_SQUARE:
        break;
    }
    return "square end";
}

static void put_points(struct dw_buf *buf, const struct dw_saw_piece *piece)
{
    static const char *const words[] = {
        [DW_POINTS_UNSAID] = ("; long points on the SAME SIDE or on OPPOSITE SIDES? The job does "
                              "not say: ask before the second mitre"),
        [DW_POINTS_SAME_SIDE] = ", long points on the same side",
        [DW_POINTS_OPPOSITE_SIDES] = ", long points on opposite sides"};
    if (piece->ends[0].shape == DW_SHAPE_MITRE && piece->ends[1].shape == DW_SHAPE_MITRE)
        dw_buf__put(buf, words[piece->long_points]);
}

/* "Cut square to 27 in, long point to long point; then mitre both ends 45° off square, long points
 * on the same side." */
static void put_turn(struct dw_buf *buf, const struct dw_saw_piece *piece,
                     const struct dw_length_style *style)
{
    const struct dw_saw_end *ends = piece->ends;
    dw_buf__put(buf, "Cut square to ");
    put_length(buf, piece->length, style);
    dw_buf__format(buf, ", %s to %s; then ", point_of(&ends[0], false), point_of(&ends[1], false));
    if (same_work(&ends[0], &ends[1])) {
        put_end(buf, &ends[0], "both ends", style);
    } else {
        put_end(buf, &ends[0], "end 1 (datum end)", style);
        dw_buf__put(buf, ", ");
        put_end(buf, &ends[1], "end 2", style);
    }
    put_points(buf, piece);
    dw_buf__put(buf, ".");
    if (piece->written == 0)
        return;
    dw_buf__put(buf, " Written as ");
    put_fine(buf, piece->written, style);
    dw_buf__format(buf, ", %s to %s.", point_of(&ends[0], true), point_of(&ends[1], true));
}

/* --- bends ----------------------------------------------------------------------------------- */

/* "12 in straight, 90° on radius 8 in, 16 in straight" */
static void put_bends(struct dw_buf *buf, const struct dw_saw_piece *piece,
                      const struct dw_length_style *style)
{
    for (size_t i = 0; i <= piece->n_bends; i++) {
        bool last = i == piece->n_bends;
        dw_length straight = last ? piece->last_straight : piece->bends[i].straight;
        const char *between = i > 0 ? ", " : "";
        if (straight > 0) {
            dw_buf__put(buf, between);
            put_length(buf, straight, style);
            dw_buf__put(buf, " straight");
            between = ", ";
        }
        if (last)
            break;
        dw_buf__put(buf, between);
        put_angle(buf, piece->bends[i].angle_udeg);
        dw_buf__put(buf, " on radius ");
        put_length(buf, piece->bends[i].radius, style);
        dw_buf__put(buf, i == 0 ? " (centre line)" : "");
    }
}

/* --- all of it ------------------------------------------------------------------------------- */

static bool is_worked(const struct dw_saw_piece *piece)
{
    return piece->ends[0].shape != DW_SHAPE_SQUARE || piece->ends[1].shape != DW_SHAPE_SQUARE;
}

void dw_saw__work(struct dw_buf *buf, const struct dw_saw_piece *piece,
                  const struct dw_length_style *style)
{
    if (piece->bent_bar) {
        dw_buf__put(buf, "Takes the bent end: the ");
        put_length(buf, piece->length, style);
        dw_buf__put(buf, " include the bend, along the tube.");
    }
    if (is_worked(piece)) {
        dw_buf__put(buf, piece->bent_bar ? " " : "");
        put_turn(buf, piece, style);
    }
    if (piece->n_bends > 0) {
        dw_buf__put(buf, piece->bent_bar    ? " It is bent: "
                         : is_worked(piece) ? " Bend: "
                                            : "Cut straight, then bend: ");
        put_bends(buf, piece, style);
        dw_buf__put(buf, ".");
    }
}

static void put_brief_end(struct dw_buf *buf, const struct dw_saw_end *end,
                          const struct dw_length_style *style)
{
    dw_buf__put(buf, dw_end_shape_word(end->shape));
    if (end->shape == DW_SHAPE_MITRE) {
        dw_buf__put(buf, " ");
        put_angle(buf, end->angle_udeg);
    }
    if (end->meets) {
        dw_buf__put(buf, " for ");
        put_fine(buf, end->meets, style);
    }
}

void dw_saw__brief(struct dw_buf *buf, const struct dw_saw_piece *piece,
                   const struct dw_length_style *style)
{
    if (is_worked(piece)) {
        put_brief_end(buf, &piece->ends[0], style);
        dw_buf__put(buf, " / ");
        put_brief_end(buf, &piece->ends[1], style);
    }
    bool near = piece->ends[0].shape == DW_SHAPE_MITRE,
         far = piece->ends[1].shape == DW_SHAPE_MITRE;
    if (near && far)
        dw_buf__format(buf, ", long points %s", dw_long_points_word(piece->long_points));
    else if (near || far)
        dw_buf__format(buf, ", %s to %s", point_of(&piece->ends[0], false),
                       point_of(&piece->ends[1], false));
    if (piece->n_bends == 0)
        return;
    dw_buf__put(buf, is_worked(piece) ? "; bend " : "bend ");
    put_bends(buf, piece, style);
}

void dw_saw__planned_as(struct dw_buf *buf, const struct dw_saw_piece *piece,
                        const struct dw_length_style *style)
{
    dw_buf__put(buf, "planned as ");
    put_length(buf, piece->length - piece->allowance, style);
    dw_buf__put(buf, " + ");
    put_fine(buf, piece->allowance, style);
}

void dw_saw__client(struct dw_buf *buf, const char *order, const char *client, const char *due)
{
    if (order)
        dw_buf__put(buf, order);
    if (client)
        dw_buf__format(buf, "%sfor %s", order ? ", " : "", client);
    if (due)
        dw_buf__format(buf, "%sdue %s", order || client ? ", " : "", due);
}

void dw_saw__numbers(struct dw_buf *buf, int64_t number, int64_t count)
{
    dw_buf__format(buf, "%" PRId64, number);
    if (count > 1)
        dw_buf__format(buf, " to %" PRId64, number + count - 1);
}
