/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of solve: from a job to a plan. */
#ifndef DW_SOLVE_H
#define DW_SOLVE_H

#include <dropwise/solve.h>

#endif
