/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Which materials must be planned together. */
#ifndef DW_SOLVE_GROUPS_H
#define DW_SOLVE_GROUPS_H

#include "base/base.h"
#include "model/model.h"

/* Fills group_of[0..n_materials) with the group of each material that parts are cut from, DW_NONE
 * for a material that no part and no post asks for, and says how many groups there are, numbered
 * in order of their first material. A cap on new offcuts links all materials, a supplier
 * that charges those of its bars. DW_ERR_NOMEM. Cost:
 * O(parts + supplies), union-find. */
dw_err dw_groups__find(const struct dw_job *job, size_t *group_of, size_t *n_groups,
                       struct dw_error *error);
/* The same without the links by suppliers that charge: within a group, what can be planned by
 * itself once it is known what each supplier charges. */
dw_err dw_groups__find_sets(const struct dw_job *job, size_t *set_of, size_t *n_sets,
                            struct dw_error *error);

#endif
