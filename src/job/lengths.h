/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which lengths to carry, for the faces of the program. */
#ifndef DW_JOB_LENGTHS_H
#define DW_JOB_LENGTHS_H

#include <dropwise/lengths.h>

#endif
