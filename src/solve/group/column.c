/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pool of columns, and what one column is worth. */
#include "solve/group/column.h"

#include <stdlib.h>
#include <string.h>

void dw_pool__init(struct dw_pool *pool, const struct dw_problem *problem)
{
    *pool = (struct dw_pool){.problem = problem, .arena = problem->arena};
}

void dw_pool__free(struct dw_pool *pool)
{
    free(pool->cols);
    free(pool->slots);
    free(pool->scratch);
    *pool = (struct dw_pool){0};
}

/* --- what a column is worth --------------------------------------------------------------- */

/* money = fixed + cut_cost n - credit - worth of posts, n pieces with the bend end; the credit of
 * an exact fill gives the last cut back. */
dw_money dw_col__money(const struct dw_problem *problem, const struct dw_col *col)
{
    const struct dw_bar_stock *stock = &problem->stocks[col->stock];
    const struct dw_bar_kind *kind = &problem->kinds[stock->kind];
    int64_t x = col->left - col->slack;
    dw_money money = stock->fixed;
    if (col->first != DW_NONE && stock->firsts[col->first].item == DW_NONE)
        money += problem->cut_cost;
    for (size_t i = 0; i < col->n; i++)
        money += col->entries[i].count *
                 (problem->cut_cost - problem->items[col->entries[i].item].worth);
    return money - (col->kept ? dw_bar_kind__kept(problem, kind, x)
                              : dw_bar_kind__thrown(problem, kind, x));
}

bool dw_col__holds(const struct dw_problem *problem, const struct dw_col *col)
{
    int64_t pieces = 0;
    for (size_t i = 0; i < col->n; i++)
        pieces += col->entries[i].count;
    return pieces <= problem->kinds[problem->stocks[col->stock].kind].most;
}

bool dw_col__exact(const struct dw_problem *problem, const struct dw_col *col)
{
    const struct dw_bar_kind *kind = &problem->kinds[problem->stocks[col->stock].kind];
    return kind->tail == 0 && !col->kept && col->left == col->slack;
}

int64_t dw_col__kept_length(const struct dw_problem *problem, const struct dw_col *col)
{
    const struct dw_bar_kind *kind = &problem->kinds[problem->stocks[col->stock].kind];
    return col->kept ? dw_bar_kind__leftover(problem, kind, col->left - col->slack) : 0;
}

int64_t dw_col__tail_count(const struct dw_problem *problem, const struct dw_col *col, size_t item)
{
    const struct dw_bar_stock *stock = &problem->stocks[col->stock];
    int64_t count = 0;
    for (size_t i = 0; i < col->n && col->entries[i].item <= item; i++)
        if (col->entries[i].item == item)
            count = col->entries[i].count;
    return count - (col->first != DW_NONE && stock->firsts[col->first].item == item);
}

/* --- the pool ----------------------------------------------------------------------------- */

static int compare_entries(const void *a, const void *b)
{
    const struct dw_entry *x = a, *y = b;
    return (x->item > y->item) - (x->item < y->item);
}

/* One step of SplitMix64's mixer (Steele, Lea, Flood 2014). */
static uint64_t mix(uint64_t hash, uint64_t value)
{
    hash = (hash ^ value) + UINT64_C(0x9e3779b97f4a7c15);
    hash = (hash ^ (hash >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    return hash ^ (hash >> 29);
}

static uint64_t hash_col(const struct dw_col *col)
{
    uint64_t hash = mix(col->stock, col->first);
    hash = mix(hash, (uint64_t)col->slack * 2 + col->kept);
    for (size_t i = 0; i < col->n; i++)
        hash = mix(hash, (uint64_t)col->entries[i].item << 32 ^ (uint64_t)col->entries[i].count);
    return hash ^ (hash >> 32);
}

static bool same_col(const struct dw_col *a, const struct dw_col *b)
{
    if (a->stock != b->stock || a->first != b->first || a->slack != b->slack ||
        a->kept != b->kept || a->n != b->n)
        return false;
    for (size_t i = 0; i < a->n; i++)
        if (a->entries[i].item != b->entries[i].item || a->entries[i].count != b->entries[i].count)
            return false;
    return true;
}

static size_t slot_of(const struct dw_pool *pool, const struct dw_col *col)
{
    size_t slot = (size_t)hash_col(col) & (pool->n_slots - 1);
    while (pool->slots[slot] && !same_col(pool->cols[pool->slots[slot] - 1], col))
        slot = (slot + 1) & (pool->n_slots - 1);
    return slot;
}

static bool grow(struct dw_pool *pool)
{
    if (!dw_array__grow(&pool->cols, &pool->capacity, pool->n + 1, sizeof(struct dw_col *)))
        return false;
    if (2 * (pool->n + 1) <= pool->n_slots)
        return true;
    size_t n_slots = pool->n_slots ? 2 * pool->n_slots : 256;
    size_t *slots = calloc(n_slots, sizeof *slots);
    if (!slots)
        return false;
    free(pool->slots);
    pool->slots = slots;
    pool->n_slots = n_slots;
    for (size_t i = 0; i < pool->n; i++)
        pool->slots[slot_of(pool, pool->cols[i])] = i + 1;
    return true;
}

static size_t join_entries(struct dw_entry *entries, size_t n)
{
    size_t m = 0;
    bool sorted = true;
    for (size_t i = 1; i < n; i++)
        sorted = sorted && entries[i - 1].item < entries[i].item;
    if (sorted)
        return n;
    qsort(entries, n, sizeof *entries, compare_entries);
    for (size_t i = 0; i < n; i++) {
        if (m > 0 && entries[m - 1].item == entries[i].item)
            entries[m - 1].count += entries[i].count;
        else
            entries[m++] = entries[i];
    }
    return m;
}

/* The draft with its entries sorted and joined, in the pool's scratch. */
static bool tidy_draft(struct dw_pool *pool, const struct dw_col *draft, struct dw_col *col)
{
    if (!dw_array__grow(&pool->scratch, &pool->scratch_capacity, draft->n + 1,
                        sizeof *pool->scratch))
        return false;
    if (draft->n > 0)
        memcpy(pool->scratch, draft->entries, draft->n * sizeof *pool->scratch);
    *col = *draft;
    col->n = join_entries(pool->scratch, draft->n);
    col->entries = pool->scratch;
    return true;
}

const struct dw_col *dw_pool__add(struct dw_pool *pool, const struct dw_col *draft)
{
    struct dw_col tidy;
    if (!grow(pool) || !tidy_draft(pool, draft, &tidy))
        return NULL;
    size_t slot = slot_of(pool, &tidy);
    if (pool->slots[slot])
        return pool->cols[pool->slots[slot] - 1];
    struct dw_col *col = dw_arena__alloc(pool->arena, 1, sizeof *col);
    struct dw_entry *entries = dw_arena__alloc(pool->arena, tidy.n, sizeof *entries);
    if (!col || !entries)
        return NULL;
    *col = tidy;
    if (tidy.n > 0)
        memcpy(entries, tidy.entries, tidy.n * sizeof *entries);
    col->entries = entries;
    col->index = pool->n;
    col->money = dw_col__money(pool->problem, col);
    pool->cols[pool->n++] = col;
    pool->slots[slot] = pool->n;
    return col;
}
