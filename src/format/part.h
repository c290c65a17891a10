/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The columns of a table of parts. */
#ifndef DW_FORMAT_PART_H
#define DW_FORMAT_PART_H

#include "format/reader.h"

/* Fields of a part, borrowed; *n of them. */
const struct dw_field *dw_part__fields(size_t *n);

#endif
