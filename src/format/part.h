/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The columns of the tables that a job names. */
#ifndef DW_FORMAT_PART_H
#define DW_FORMAT_PART_H

#include "format/reader.h"

/* Fields of a row, borrowed; *n of them. */
const struct dw_field *dw_part__fields(size_t *n);
const struct dw_field *dw_post__fields(size_t *n);
const struct dw_field *dw_bar__fields(size_t *n);
const struct dw_field *dw_offcut__fields(size_t *n);

#endif
