/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a relaxation starts from: columns, and the basis that it ended with. */
#ifndef DW_SOLVE_LP_START_H
#define DW_SOLVE_LP_START_H

#include "solve/group/column.h"

/* Status of a row or column in a basis, as the LP seam has it. */
enum { DW_BASIC = 1, DW_AT_LOWER = 2 };

/* `status` holds that of the rows of items, of limited stocks and of the first n_counts counts, of
 * the artificial columns of items and counts, of `cols`. */
struct dw_start {
    size_t n_counts;
    size_t n_cols;
    const struct dw_col **cols; /* length n_cols */
    size_t n_status;            /* 0: no basis */
    unsigned char *status;      /* length n_status */
    double factor;              /* of what artificial columns cost; 0: as at the beginning */
};

/* false: no memory; free it also then. */
bool dw_start__copy(struct dw_start *to, const struct dw_start *from);
void dw_start__free(struct dw_start *start);

/* Whether the basis stays one without count c: its row is basic, its artificial column is not. */
bool dw_start__idle(const struct dw_start *start, size_t n_items, size_t c);
/* Takes the counts with drop[c] set, all of them idle, out of the basis. drop: length n_counts. */
void dw_start__drop(struct dw_start *start, size_t n_items, const bool *drop);

#endif
