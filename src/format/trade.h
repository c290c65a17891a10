/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a job says beyond the plan: fittings and drawn parts, sections, suppliers, quote. */
#ifndef DW_FORMAT_TRADE_H
#define DW_FORMAT_TRADE_H

#include "format/reader.h"

#define DW_TRADE_LIMIT 1000 /* rows of each list */

/* --- values --------------------------------------------------------------------------------------
 */

dw_field_read dw_read__angle;   /* int64_t: micro-degrees, 0 to under 360 */
dw_field_read dw_read__rate;    /* int64_t: parts per million, up to 10 000 % */
dw_field_read dw_read__hours;   /* int64_t: thousandths of an hour */
dw_field_read dw_read__seconds; /* int64_t: ms */
dw_field_read dw_read__minutes; /* int64_t: ms */
dw_field_read dw_read__weight;  /* int64_t: milligrams */

/* "1200 x 600 x 900 mm": n_sizes (at most 3) lengths > 0, the last unit serves all. */
bool dw_read__sizes(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, dw_length *sizes, size_t n_sizes);

/* A list of maps as an array in the job's arena: NULL, with a remark, when it is none or too long.
 * `size` bytes a row; *n rows. */
void *dw_trade__list(struct dw_reader *reader, const struct dw_node *list, const char *what,
                     size_t size, size_t *n);

/* Index into the fittings of the job, DW_NONE after a remark. */
size_t dw_trade__fitting(struct dw_reader *reader, const struct dw_field *field,
                         const struct dw_node *value);
/* Index of the client's job of that name; without a name the only one. DW_NONE after a remark. */
size_t dw_trade__order(struct dw_reader *reader, const char *name, const char *what,
                       struct dw_place at);

/* --- drawn parts ----------------------------------------------------------------------------- */

/* What a row of parts says of how it is drawn. Zero-initialise. */
struct dw_drawn_row {
    dw_length centres;
    dw_length outside;
    dw_length clear;
    const struct dw_node *offset;
    const struct dw_node *bent;
    const struct dw_node *end_1;
    const struct dw_node *end_2;
    const struct dw_node *both_ends;
    const struct dw_node *long_points;
};

/* Sets part->drawn if the row is drawn; a part with `has_length` has min and max already. False if
 * something was refused, or if neither a length nor a drawing was given. */
bool dw_trade__draw(struct dw_reader *reader, const struct dw_drawn_row *row, bool has_length,
                    struct dw_part *part);

/* --- lists of the job ------------------------------------------------------------------------ */

void dw_reader__fittings(struct dw_reader *reader, const struct dw_node *list);
void dw_reader__suppliers(struct dw_reader *reader, const struct dw_node *list);
/* These need the orders of the job. */
void dw_reader__loose(struct dw_reader *reader, const struct dw_node *list);
void dw_reader__sections(struct dw_reader *reader, const struct dw_node *list);
void dw_reader__quote(struct dw_reader *reader, const struct dw_node *map);

#endif
