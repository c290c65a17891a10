/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which lengths to carry, for the faces of the program. */
#ifndef DW_JOB_LENGTHS_H
#define DW_JOB_LENGTHS_H

#include "model/record.h"

#include <dropwise/lengths.h>

/* Is there something to choose: parts of the material, and new straight bars of it?
 * Cost: O(parts + supplies). */
bool dw_lengths__choosable(const struct dw_job *job, size_t material);

/* The choice for a material of to->job as a record, for page and `--json`. */
extern const struct dw_member_table dw_lengths__members;     /* struct dw_lengths */
extern const struct dw_member_table dw_lengths_use__members; /* struct dw_lengths_use */
void dw_lengths__record(const struct dw_record_out *to, const char *key, size_t material,
                        const struct dw_lengths *lengths);

#endif
