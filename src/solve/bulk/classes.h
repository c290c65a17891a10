/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The linear program over classes of lengths, rounded down or up, solved by column generation. */
#ifndef DW_SOLVE_BULK_CLASSES_H
#define DW_SOLVE_BULK_CLASSES_H

#include "solve/bulk/bulk.h"

struct dw_bulk_column {
    size_t stock;
    size_t n;
    const struct dw_type_count *items; /* type = class */
};

struct dw_bulk_master {
    const struct dw_bulk *problem;
    size_t m;
    const int64_t *demand; /* length m, of the classes */
    int64_t *cells;        /* length m: length of a class in cells; 0 = too short to count */
    int64_t *room;         /* length n_stocks: capacity in cells */
    int64_t n_cells;       /* largest room */
    int64_t *credit;       /* length n_cells + 1: of what is left; rounded with the cells */
    double unit;           /* costs are divided by it */
    double *pi;            /* length m */
    double *mu;            /* length n_stocks: price of a limited bar, >= 0 */
    double *table;         /* length n_cells + 1 */
    struct dw_lp *lp;
    size_t *supply_row; /* length n_stocks; SIZE_MAX = unlimited */
    struct dw_arena *arena;
    struct dw_bulk_column *columns; /* heap; column j of the LP */
    size_t n_columns;
    size_t capacity;
    struct dw_effort *effort;
};

/* The master of the classes, their lengths rounded up or down, solved as far as it pays. Free it
 * with dw_bulk__master_free, also after an error. Set problem and effort, the rest to zero, before.
 */
dw_err dw_bulk__master_solve(struct dw_bulk_master *master, const struct dw_bulk_classes *classes,
                             bool up, struct dw_lp_env *env);
void dw_bulk__master_free(struct dw_bulk_master *master);

#endif
