/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Separation by elimination modulo 2 (Koster, Zymolka, Kutschka 2009): columns of the solution, the
 * largest first, are eliminated with a row that is tight or nearly so. Each sum of rows met on the
 * way whose right side is odd, and whose odd columns and slacks weigh less than 1, is violated. */
#include "solve/search/parity.h"

#include "solve/budget/random.h"

#include <stdlib.h>
#include <string.h>

enum { ORDERS = 4, MAX_ORDERS = 20 }; /* of elimination that are tried, the latter if in vain */

#define LEAST_VIOLATION 0.02
#define NOISE           0.3 /* on the order of columns, from the second try on */

/* --- the rows --------------------------------------------------------------------------------- */

enum source { OF_ITEM, OF_STOCK, OF_COUNT };

struct row {
    enum source source;
    size_t index;
    int sign;     /* as in struct dw_parity_count */
    int64_t side; /* right side */
    double slack; /* at the solution */
};

/* A sum of rows that gives a cut. */
struct found {
    double violation;
    size_t serial;
    uint64_t *rows;
};

struct finder {
    const struct dw_problem *p;
    const struct dw_relax *relax;
    const struct dw_relaxed *relaxed;
    size_t n_rows;
    struct row *rows; /* length n_rows */
    size_t col_words, row_words;
    uint64_t *cols_of;    /* n_rows x col_words: columns with an odd sum */
    uint64_t *rows_of;    /* n_rows x row_words: rows added up */
    uint64_t *first_cols; /* the same before any elimination */
    bool *odd;            /* length n_rows: the right side */
    bool *used;           /* length n_rows: has eliminated a column */
    size_t *order;        /* of columns */
    double *rank;         /* length n columns */
    size_t n_found, found_capacity;
    struct found *found; /* length n_found */
    bool nomem;
};

static int64_t coefficient(const struct finder *f, const struct row *row, const struct dw_col *col)
{
    if (row->source == OF_STOCK)
        return col->stock == row->index;
    if (row->source == OF_COUNT)
        return dw_bar_count__of(f->p, &f->relax->counts[row->index], col);
    for (size_t i = 0; i < col->n; i++)
        if (col->entries[i].item == row->index)
            return col->entries[i].count;
    return 0;
}

static void add_row(struct finder *f, enum source source, size_t index, int sign, int64_t side)
{
    struct row *row = &f->rows[f->n_rows];
    *row = (struct row){source, index, sign, side, 0};
    double sum = 0;
    for (size_t j = 0; j < f->relaxed->n; j++)
        sum += f->relaxed->support[j].x * (double)coefficient(f, row, f->relaxed->support[j].col);
    row->slack = sign == 0 ? 0 : sign < 0 ? (double)side - sum : sum - (double)side;
    row->slack = row->slack > 0 ? row->slack : 0;
    if (row->slack < 1)
        f->n_rows++;
}

static bool make_rows(struct finder *f)
{
    const struct dw_problem *p = f->p;
    const struct dw_relax *relax = f->relax;
    f->rows = calloc(p->n_items + p->n_stocks + 2 * relax->n_counts + 1, sizeof *f->rows);
    if (!f->rows)
        return false;
    for (size_t i = 0; i < p->n_items; i++)
        add_row(f, OF_ITEM, i, p->items[i].post ? -1 : 0, relax->demand[i]);
    for (size_t k = 0; k < p->n_stocks; k++)
        if (p->stocks[k].limited)
            add_row(f, OF_STOCK, k, -1, relax->avail[k]);
    for (size_t c = 0; c < relax->n_counts; c++) {
        if (relax->counts[c].kind == DW_COUNT_CUT)
            continue;
        bool same = relax->lo[c] == relax->hi[c];
        if (relax->lo[c] > 0 && !same)
            add_row(f, OF_COUNT, c, 1, relax->lo[c]);
        if (relax->hi[c] != DW_NO_LIMIT)
            add_row(f, OF_COUNT, c, same ? 0 : -1, relax->hi[c]);
    }
    return true;
}

static void set_bit(uint64_t *words, size_t at)
{
    words[at / 64] |= UINT64_C(1) << at % 64;
}

static bool has_bit(const uint64_t *words, size_t at)
{
    return words[at / 64] >> at % 64 & 1;
}

static bool make_bits(struct finder *f)
{
    size_t n = f->relaxed->n;
    f->col_words = n / 64 + 1;
    f->row_words = f->n_rows / 64 + 1;
    f->first_cols = calloc(f->n_rows * f->col_words + 1, sizeof *f->first_cols);
    f->cols_of = calloc(f->n_rows * f->col_words + 1, sizeof *f->cols_of);
    f->rows_of = calloc(f->n_rows * f->row_words + 1, sizeof *f->rows_of);
    f->odd = calloc(f->n_rows + 1, sizeof *f->odd);
    f->used = calloc(f->n_rows + 1, sizeof *f->used);
    f->order = calloc(n + 1, sizeof *f->order);
    f->rank = calloc(n + 1, sizeof *f->rank);
    if (!f->first_cols || !f->cols_of || !f->rows_of || !f->odd || !f->used || !f->order ||
        !f->rank)
        return false;
    for (size_t r = 0; r < f->n_rows; r++)
        for (size_t j = 0; j < n; j++)
            if (coefficient(f, &f->rows[r], f->relaxed->support[j].col) & 1)
                set_bit(f->first_cols + r * f->col_words, j);
    return true;
}

/* --- elimination ------------------------------------------------------------------------------ */

/* The largest first. */
static void order_columns(struct finder *f, double noise, uint64_t *seed)
{
    for (size_t j = 0; j < f->relaxed->n; j++) {
        f->rank[j] = f->relaxed->support[j].x * (1 + noise * dw_random__uniform(seed));
        size_t at = j;
        for (; at > 0 && f->rank[f->order[at - 1]] < f->rank[j]; at--)
            f->order[at] = f->order[at - 1];
        f->order[at] = j;
    }
}

static void begin(struct finder *f, int turn, uint64_t *seed)
{
    memcpy(f->cols_of, f->first_cols, f->n_rows * f->col_words * sizeof *f->cols_of);
    memset(f->rows_of, 0, f->n_rows * f->row_words * sizeof *f->rows_of);
    for (size_t r = 0; r < f->n_rows; r++) {
        set_bit(f->rows_of + r * f->row_words, r);
        f->odd[r] = f->rows[r].side & 1;
        f->used[r] = false;
    }
    order_columns(f, turn > 0 ? NOISE : 0, seed);
}

static double slack_of(const struct finder *f, size_t r)
{
    double sum = 0;
    const uint64_t *rows = f->rows_of + r * f->row_words;
    for (size_t w = 0; w < f->row_words; w++)
        for (uint64_t left = rows[w]; left != 0; left &= left - 1)
            sum += f->rows[w * 64 + (size_t)__builtin_ctzll(left)].slack;
    return sum;
}

static double weight_of(const struct finder *f, size_t r)
{
    double sum = slack_of(f, r);
    const uint64_t *cols = f->cols_of + r * f->col_words;
    for (size_t w = 0; w < f->col_words && sum < 1; w++)
        for (uint64_t left = cols[w]; left != 0; left &= left - 1)
            sum += f->relaxed->support[w * 64 + (size_t)__builtin_ctzll(left)].x;
    return sum;
}

static void note(struct finder *f, size_t r)
{
    double violation = 1 - weight_of(f, r);
    if (!f->odd[r] || violation < LEAST_VIOLATION)
        return;
    const uint64_t *rows = f->rows_of + r * f->row_words;
    size_t bytes = f->row_words * sizeof *rows;
    for (size_t k = 0; k < f->n_found; k++)
        if (memcmp(f->found[k].rows, rows, bytes) == 0)
            return;
    uint64_t *copy = calloc(f->row_words + 1, sizeof *copy);
    if (!copy || !dw_array__grow(&f->found, &f->found_capacity, f->n_found + 1, sizeof *f->found)) {
        free(copy);
        f->nomem = true;
        return;
    }
    memcpy(copy, rows, bytes);
    f->found[f->n_found] = (struct found){violation, f->n_found, copy};
    f->n_found++;
}

static void add_to(struct finder *f, size_t from, size_t to)
{
    for (size_t w = 0; w < f->col_words; w++)
        f->cols_of[to * f->col_words + w] ^= f->cols_of[from * f->col_words + w];
    for (size_t w = 0; w < f->row_words; w++)
        f->rows_of[to * f->row_words + w] ^= f->rows_of[from * f->row_words + w];
    f->odd[to] ^= f->odd[from];
}

/* The row with the least slack that can eliminate column j; SIZE_MAX: none can. */
static size_t choose_pivot(const struct finder *f, size_t j)
{
    size_t best = SIZE_MAX;
    double least = 1;
    for (size_t r = 0; r < f->n_rows; r++) {
        if (f->used[r] || !has_bit(f->cols_of + r * f->col_words, j))
            continue;
        double slack = slack_of(f, r);
        if (slack < least) {
            least = slack;
            best = r;
        }
    }
    return best;
}

static void eliminate(struct finder *f)
{
    for (size_t r = 0; r < f->n_rows; r++)
        note(f, r);
    for (size_t k = 0; k < f->relaxed->n; k++) {
        size_t j = f->order[k], pivot = choose_pivot(f, j);
        if (pivot == SIZE_MAX)
            continue;
        f->used[pivot] = true;
        for (size_t r = 0; r < f->n_rows; r++) {
            if (r == pivot || !has_bit(f->cols_of + r * f->col_words, j))
                continue;
            add_to(f, pivot, r);
            note(f, r);
        }
    }
}

/* --- the answer ------------------------------------------------------------------------------- */

static int by_violation(const void *a, const void *b)
{
    const struct found *x = a, *y = b;
    if (x->violation != y->violation)
        return x->violation > y->violation ? -1 : 1;
    return x->serial < y->serial ? -1 : 1;
}

static size_t count_counts(const struct finder *f, const uint64_t *rows)
{
    size_t n = 0;
    for (size_t r = 0; r < f->n_rows; r++)
        n += has_bit(rows, r) && f->rows[r].source == OF_COUNT;
    return n;
}

/* A cut while its rows are added up. */
struct draft {
    unsigned char *item;
    unsigned char *odd;
    int32_t *slack;
    size_t n_counts;
    struct dw_parity_count *counts;
};

/* A row of the bars of one stock. */
static void add_stock(struct draft *draft, size_t stock, int sign)
{
    draft->odd[stock] ^= 1;
    draft->slack[stock] += sign;
}

static void add_count(const struct finder *f, struct draft *draft, const struct dw_bar_count *count,
                      int sign)
{
    if (count->kind == DW_COUNT_STOCK)
        add_stock(draft, count->a, sign);
    else if (count->kind == DW_COUNT_BARS)
        for (size_t k = 0; k < f->p->n_stocks; k++)
            add_stock(draft, k, sign);
    else
        draft->counts[draft->n_counts++] = (struct dw_parity_count){*count, sign};
}

static struct dw_parity_cut *make_cut(const struct finder *f, const uint64_t *rows,
                                      struct dw_arena *arena)
{
    const struct dw_problem *p = f->p;
    struct dw_parity_cut *cut = dw_arena__alloc(arena, 1, sizeof *cut);
    struct draft draft = {
        .item = dw_arena__alloc(arena, p->n_items + 1, sizeof *draft.item),
        .odd = dw_arena__alloc(arena, p->n_stocks + 1, sizeof *draft.odd),
        .slack = dw_arena__alloc(arena, p->n_stocks + 1, sizeof *draft.slack),
        .counts = dw_arena__alloc(arena, count_counts(f, rows) + 1, sizeof *draft.counts),
    };
    if (!cut || !draft.item || !draft.odd || !draft.slack || !draft.counts)
        return NULL;
    *cut = (struct dw_parity_cut){.least = 1};
    for (size_t r = 0; r < f->n_rows; r++) {
        const struct row *row = &f->rows[r];
        if (!has_bit(rows, r))
            continue;
        cut->least += row->sign * row->side;
        if (row->source == OF_STOCK) {
            add_stock(&draft, row->index, row->sign);
        } else if (row->source == OF_COUNT) {
            add_count(f, &draft, &f->relax->counts[row->index], row->sign);
        } else {
            draft.item[row->index] = 1;
            cut->posts = cut->posts || p->items[row->index].post;
        }
    }
    cut->item = draft.item;
    cut->odd = draft.odd;
    cut->slack = draft.slack;
    cut->n_counts = draft.n_counts;
    cut->counts = draft.counts;
    return cut;
}

static struct dw_parity_cut **make_cuts(struct finder *f, size_t most, struct dw_arena *arena,
                                        size_t *n)
{
    *n = f->n_found < most ? f->n_found : most;
    struct dw_parity_cut **cuts = dw_arena__alloc(arena, *n + 1, sizeof *cuts);
    if (f->n_found > 0)
        qsort(f->found, f->n_found, sizeof *f->found, by_violation);
    for (size_t k = 0; cuts && k < *n; k++) {
        cuts[k] = make_cut(f, f->found[k].rows, arena);
        if (!cuts[k])
            return NULL;
    }
    return cuts;
}

struct dw_parity_cut **dw_parity__find(const struct dw_problem *problem,
                                       const struct dw_relax *relax,
                                       const struct dw_relaxed *relaxed, size_t most,
                                       struct dw_arena *arena, size_t *n)
{
    struct finder f = {.p = problem, .relax = relax, .relaxed = relaxed};
    struct dw_parity_cut **cuts = NULL;
    uint64_t seed = 1;
    bool ok = make_rows(&f) && make_bits(&f);
    for (int turn = 0; ok && turn < (f.n_found > 0 ? ORDERS : MAX_ORDERS); turn++) {
        begin(&f, turn, &seed);
        eliminate(&f);
    }
    if (ok && !f.nomem)
        cuts = make_cuts(&f, most, arena, n);
    for (size_t k = 0; k < f.n_found; k++)
        free(f.found[k].rows);
    free(f.found);
    free(f.rows);
    free(f.first_cols);
    free(f.cols_of);
    free(f.rows_of);
    free(f.odd);
    free(f.used);
    free(f.order);
    free(f.rank);
    return cuts;
}
