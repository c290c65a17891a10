/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The assignment problem by the simplex method, its optimum proved in integers. */
#include "solve/choose/assign.h"
#include "solve/lp/lp.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>

struct assignment {
    size_t n_rows, n_cols, n_edges;
    const int64_t *caps;
    const struct dw_assign_edge *edges;
    size_t *col_of;
    int64_t *duals; /* length n_rows + n_cols */
};

static bool build(struct dw_lp *lp, const struct assignment *a)
{
    for (size_t i = 0; i < a->n_rows; i++)
        if (dw_lp__add_row(lp, -DW_LP_INF, 1) == SIZE_MAX)
            return false;
    for (size_t j = 0; j < a->n_cols; j++)
        if (dw_lp__add_row(lp, -DW_LP_INF, (double)a->caps[j]) == SIZE_MAX)
            return false;
    for (size_t e = 0; e < a->n_edges; e++) {
        const size_t rows[] = {a->edges[e].row, a->n_rows + a->edges[e].col};
        const double ones[] = {1, 1};
        if (dw_lp__add_col(lp, -(double)a->edges[e].gain, 0, DW_LP_INF, 2, rows, ones) == SIZE_MAX)
            return false;
    }
    return true;
}

static void round_solution(const struct dw_lp *lp, const struct assignment *a)
{
    for (size_t i = 0; i < a->n_rows; i++)
        a->col_of[i] = SIZE_MAX;
    for (size_t e = 0; e < a->n_edges; e++)
        if (dw_lp__col_value(lp, e) > 0.5)
            a->col_of[a->edges[e].row] = a->edges[e].col;
    for (size_t k = 0; k < a->n_rows + a->n_cols; k++) {
        int64_t dual = llround(-dw_lp__row_dual(lp, k));
        a->duals[k] = dual > 0 ? dual : 0;
    }
}

/* Value of the chosen edges; false: one row twice, a column over its cap, or an overflow. */
static bool value_of(const struct assignment *a, int64_t *used, int64_t *value)
{
    *value = 0;
    for (size_t e = 0; e < a->n_edges; e++)
        if (a->col_of[a->edges[e].row] == a->edges[e].col &&
            !dw_add__i64(*value, a->edges[e].gain, value))
            return false;
    for (size_t i = 0; i < a->n_rows; i++)
        if (a->col_of[i] != SIZE_MAX && ++used[a->col_of[i]] > a->caps[a->col_of[i]])
            return false;
    return true;
}

/* Weak duality: any u, v >= 0 with u_i + v_j >= g_ij bound the value by sum u + sum caps v. */
static bool bound_of(const struct assignment *a, int64_t *bound)
{
    *bound = 0;
    for (size_t e = 0; e < a->n_edges; e++) {
        int64_t sum = 0;
        if (!dw_add__i64(a->duals[a->edges[e].row], a->duals[a->n_rows + a->edges[e].col], &sum) ||
            sum < a->edges[e].gain)
            return false;
    }
    for (size_t k = 0; k < a->n_rows + a->n_cols; k++) {
        int64_t term = a->duals[k];
        if ((k >= a->n_rows && !dw_mul__i64(term, a->caps[k - a->n_rows], &term)) ||
            !dw_add__i64(*bound, term, bound))
            return false;
    }
    return true;
}

static dw_err prove(const struct assignment *a, struct dw_error *error)
{
    int64_t value = 0, bound = 0;
    int64_t *used = calloc(a->n_cols + 1, sizeof *used);
    if (!used)
        return dw_error__nomem(error);
    bool proven = value_of(a, used, &value) && bound_of(a, &bound) && value == bound;
    free(used);
    return proven ? DW_OK
                  : dw_error__set(error, DW_ERR_SOLVER, "the assignment could not be proven best");
}

/* An LP and what became of it, for the thread that solves it. */
struct errand {
    const struct assignment *a;
    struct dw_error *error;
    dw_err err;
};

static void *run_lp(void *user)
{
    struct errand *errand = user;
    struct dw_lp_env env = {0};
    struct dw_lp *lp = dw_lp__new(&env);
    errand->err = lp && build(lp, errand->a) ? DW_OK : dw_error__nomem(errand->error);
    if (!errand->err && dw_lp__solve(lp, false, 0) != DW_LP_OPTIMAL)
        errand->err =
            dw_error__set(errand->error, DW_ERR_SOLVER, "the LP library found no assignment");
    if (!errand->err)
        round_solution(lp, errand->a);
    dw_lp__free(lp);
    dw_lp__env_free(&env);
    return NULL;
}

/* On a thread of its own: the environment of the caller's is not ours to free. */
static dw_err solve_lp(const struct assignment *a, struct dw_error *error)
{
    struct errand errand = {.a = a, .error = error};
    pthread_t thread;
    if (pthread_create(&thread, NULL, run_lp, &errand) != 0)
        return dw_error__nomem(error);
    pthread_join(thread, NULL);
    return errand.err ? errand.err : prove(a, error);
}

/* Edges that can be used, copied to the front of `kept`. */
static size_t keep_gainful(size_t n, const struct dw_assign_edge *edges,
                           struct dw_assign_edge *kept)
{
    size_t count = 0;
    for (size_t e = 0; e < n; e++)
        if (edges[e].gain > 0)
            kept[count++] = edges[e];
    return count;
}

dw_err dw_assign__solve(size_t n_rows, size_t n_cols, const int64_t *caps, size_t n_edges,
                        const struct dw_assign_edge *edges, size_t *col_of, struct dw_error *error)
{
    struct dw_assign_edge *kept = calloc(n_edges + 1, sizeof *kept);
    int64_t *duals = calloc(n_rows + n_cols + 1, sizeof *duals);
    dw_err err = kept && duals ? DW_OK : dw_error__nomem(error);
    for (size_t i = 0; i < n_rows; i++)
        col_of[i] = SIZE_MAX;
    size_t count = err ? 0 : keep_gainful(n_edges, edges, kept);
    if (count > 0) {
        const struct assignment a = {.n_rows = n_rows,
                                     .n_cols = n_cols,
                                     .n_edges = count,
                                     .caps = caps,
                                     .edges = kept,
                                     .col_of = col_of,
                                     .duals = duals};
        err = solve_lp(&a, error);
    }
    free(kept);
    free(duals);
    return err;
}
