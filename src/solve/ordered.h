/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A group whose bars are bought of suppliers that charge: what each order comes to is decided by
 * branching over what is bought, and the sets of materials within the group are planned by
 * themselves at the prices that follow. ordered.c has the method. */
#ifndef DW_SOLVE_ORDERED_H
#define DW_SOLVE_ORDERED_H

#include "solve/assemble.h"
#include "solve/engine.h"

/* What came of it. Zero-initialise; end with dw_ordered__free. */
struct dw_ordered {
    bool used;     /* the group was planned so; else it has no such supplier, or no plan */
    bool finished; /* no plan is cheaper */
    dw_money value;
    dw_money bound;
    bool bounded;              /* bound says something */
    struct dw_plan *scratch;   /* owns the pieces of the layouts */
    struct dw_layouts layouts; /* of the job's own supplies */
    const char *method;
};

/* Whether a supplier that charges sells bars of the group. */
bool dw_ordered__suits(const struct dw_job *job, const size_t *group_of, size_t group);
/* Plans the group. Where it lacks tube, `used` is false, and it is for the engine to say what is
 * missing. DW_ERR_NOMEM, DW_ERR_RANGE. */
dw_err dw_ordered__group(const struct dw_job *job, const size_t *group_of, size_t group,
                         const struct dw_wish *wish, struct dw_effort *effort,
                         struct dw_ordered *out, struct dw_error *error);
void dw_ordered__free(struct dw_ordered *ordered);

#endif
