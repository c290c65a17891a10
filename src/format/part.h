/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The columns of the tables that a job names, and parts that come from elsewhere. */
#ifndef DW_FORMAT_PART_H
#define DW_FORMAT_PART_H

#include "format/reader.h"

/* Fields of a row, borrowed; *n of them. */
const struct dw_field *dw_part__fields(size_t *n);
const struct dw_field *dw_post__fields(size_t *n);
const struct dw_field *dw_bar__fields(size_t *n);
const struct dw_field *dw_offcut__fields(size_t *n);

/* Adds a part that was read elsewhere, all but its order set, to a list of parts: the `user` of
 * dw_reader__rows. */
void dw_part__add(struct dw_reader *reader, const struct dw_part *part, void *list);

#endif
