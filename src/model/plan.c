/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plans as data: making, freeing, and the marks on one bar. */
#include "base/base.h"
#include "model/model.h"

#include <stdlib.h>

dw_err dw_plan_new(struct dw_plan **out, struct dw_error *error)
{
    *out = NULL;
    struct dw_plan *plan = calloc(1, sizeof *plan);
    if (!plan)
        return dw_error__nomem(error);
    plan->arena = dw_arena__new();
    if (!plan->arena) {
        free(plan);
        return dw_error__nomem(error);
    }
    *out = plan;
    return DW_OK;
}

void dw_plan_free(struct dw_plan *plan)
{
    if (!plan)
        return;
    dw_arena__free(plan->arena);
    free(plan);
}

void *dw_plan_alloc(struct dw_plan *plan, size_t count, size_t size)
{
    return dw_arena__alloc(plan->arena, count, size);
}

size_t dw_layout_n_marks(const struct dw_layout *layout)
{
    size_t n = 0;
    for (size_t i = 0; i < layout->n_pieces; i++)
        n += (size_t)layout->pieces[i].count;
    return n;
}

/* running_i = p_1 + ... + p_i + kerf (i - 1) */
void dw_layout_marks(const struct dw_job *job, const struct dw_layout *layout,
                     struct dw_mark *marks)
{
    size_t n = 0;
    dw_length start = 0;
    for (size_t i = 0; i < layout->n_pieces; i++) {
        const struct dw_piece *piece = &layout->pieces[i];
        for (int64_t copy = 0; copy < piece->count; copy++) {
            marks[n++] = (struct dw_mark){
                .piece = i, .stop = piece->length, .running = start + piece->length};
            start += piece->length + job->saw.kerf;
        }
    }
}
