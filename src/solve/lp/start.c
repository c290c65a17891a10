/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Copying a basis, and taking counts out of it. */
#include "solve/lp/start.h"

#include <stdlib.h>
#include <string.h>

bool dw_start__copy(struct dw_start *to, const struct dw_start *from)
{
    *to = *from;
    to->cols = calloc(from->n_cols + 1, sizeof *to->cols);
    to->status = malloc(from->n_status + 1);
    if (!to->cols || !to->status)
        return false;
    if (from->n_cols > 0)
        memcpy(to->cols, from->cols, from->n_cols * sizeof *to->cols);
    if (from->n_status > 0)
        memcpy(to->status, from->status, from->n_status);
    return true;
}

void dw_start__free(struct dw_start *start)
{
    free(start->cols);
    free(start->status);
    *start = (struct dw_start){0};
}

/* Where the artificial columns of the counts begin; the rows of the counts lie n_items + n_counts
 * before. */
static size_t artificial_counts(const struct dw_start *start)
{
    return start->n_status - start->n_cols - start->n_counts;
}

bool dw_start__idle(const struct dw_start *start, size_t n_items, size_t c)
{
    if (start->n_status == 0)
        return false;
    size_t artificial = artificial_counts(start), row = artificial - n_items - start->n_counts;
    return start->status[row + c] == DW_BASIC && start->status[artificial + c] != DW_BASIC;
}

void dw_start__drop(struct dw_start *start, size_t n_items, const bool *drop)
{
    size_t artificial = artificial_counts(start), n = 0, n_dropped = 0;
    size_t row = artificial - n_items - start->n_counts;
    for (size_t i = 0; i < start->n_status; i++) {
        bool of_row = i >= row && i - row < start->n_counts;
        bool of_artificial = i >= artificial && i - artificial < start->n_counts;
        if ((of_row && drop[i - row]) || (of_artificial && drop[i - artificial]))
            continue;
        start->status[n++] = start->status[i];
    }
    for (size_t c = 0; c < start->n_counts; c++)
        n_dropped += drop[c];
    start->n_status = n;
    start->n_counts -= n_dropped;
}
