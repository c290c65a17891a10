/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which lengths to carry, for the faces of the program. */
#ifndef DW_JOB_LENGTHS_H
#define DW_JOB_LENGTHS_H

#include <dropwise/lengths.h>

/* Is there something to choose: parts of the material, and new straight bars of it?
 * Cost: O(parts + supplies). */
bool dw_lengths__choosable(const struct dw_job *job, size_t material);

#endif
