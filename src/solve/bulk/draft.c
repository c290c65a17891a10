/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan being made: what is cut so far, and what is left to cut. */
#include "solve/bulk/bulk.h"

#include <stdlib.h>
#include <string.h>

dw_err dw_bulk__draft_new(const struct dw_bulk *problem, struct dw_bulk_draft *draft)
{
    *draft = (struct dw_bulk_draft){0};
    draft->arena = dw_arena__new();
    draft->left = calloc(problem->n + 1, sizeof *draft->left);
    draft->stock = calloc(problem->n_stocks + 1, sizeof *draft->stock);
    if (!draft->arena || !draft->left || !draft->stock) {
        dw_bulk__draft_free(draft);
        return DW_ERR_NOMEM;
    }
    for (size_t i = 0; i < problem->n; i++)
        draft->left[i] = problem->demand[i];
    for (size_t k = 0; k < problem->n_stocks; k++)
        draft->stock[k] = problem->stocks[k].count < 0 ? INT64_MAX : problem->stocks[k].count;
    return DW_OK;
}

void dw_bulk__draft_free(struct dw_bulk_draft *draft)
{
    dw_arena__free(draft->arena);
    free(draft->layouts);
    free(draft->left);
    free(draft->stock);
    *draft = (struct dw_bulk_draft){0};
}

dw_err dw_bulk__draft_add(const struct dw_bulk *problem, struct dw_bulk_draft *draft, size_t stock,
                          int64_t bars, size_t n_items, const struct dw_type_count *items)
{
    int64_t money, value, left = problem->stocks[stock].capacity;
    for (size_t j = 0; j < n_items; j++)
        left -= items[j].count * problem->size[items[j].type];
    if (!dw_mul__i64(problem->stocks[stock].cost - dw_bulk__credit(problem, left), bars, &money) ||
        !dw_add__i64(draft->value, money, &value))
        return DW_ERR_RANGE;
    struct dw_type_count *copy = dw_arena__alloc(draft->arena, n_items, sizeof *copy);
    if (!copy || !dw_array__grow(&draft->layouts, &draft->capacity, draft->n_layouts + 1,
                                 sizeof *draft->layouts))
        return DW_ERR_NOMEM;
    memcpy(copy, items, n_items * sizeof *copy);
    draft->layouts[draft->n_layouts++] =
        (struct dw_bulk_layout){.stock = stock, .bars = bars, .n_items = n_items, .items = copy};
    draft->value = value;
    if (draft->stock[stock] != INT64_MAX)
        draft->stock[stock] -= bars;
    for (size_t j = 0; j < n_items; j++)
        draft->left[items[j].type] -= bars * items[j].count;
    return DW_OK;
}
