/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of model: jobs, plans, and the independent verifier. */
#ifndef DW_MODEL_H
#define DW_MODEL_H

#include <dropwise/job.h>
#include <dropwise/plan.h>

#endif
