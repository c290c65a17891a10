/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The only file that knows GLPK (5.0). Its rows and columns count from 1, ours from 0. */
#include "solve/lp/lp.h"

#include <float.h>
#include <glpk.h>
#include <setjmp.h>
#include <stdlib.h>

struct dw_lp {
    struct dw_lp_env *env;
    glp_prob *prob;
    bool lost;     /* left in the middle of the simplex method: not to be touched again */
    int *index;    /* length capacity + 1: scratch for one column */
    double *value; /* length capacity + 1 */
    size_t capacity;
};

/* --- faults ------------------------------------------------------------------------------- */

enum { FAULT = 1, STOP = 2 }; /* what a jump back means */

static void on_fault(void *info)
{
    jmp_buf *back = info;
    glp_error_hook(NULL, NULL);
    longjmp(*back, FAULT);
}

/* Messages go nowhere, but the simplex method has one every now and then: the only place from which
 * it can be left. What it holds then is freed with the environment. */
static int on_message(void *info, const char *text)
{
    struct dw_lp_env *env = info;
    (void)text;
    if (env->back && env->stop && env->stop(env->user)) {
        jmp_buf *back = env->back;
        env->back = NULL;
        longjmp(*back, STOP);
    }
    return 1;
}

static bool is_dead(const struct dw_lp *lp)
{
    return lp->env->dead || lp->lost;
}

static enum dw_lp_result bury(struct dw_lp_env *env)
{
    env->back = NULL;
    glp_free_env();
    env->dead = true;
    return DW_LP_FAILED;
}

void dw_lp__env_free(struct dw_lp_env *env)
{
    if (!env->dead)
        glp_free_env();
    env->dead = true;
}

/* --- building ----------------------------------------------------------------------------- */

/* Any call that allocates can fault, and is made between setjmp and the release of the hook. That
 * GLPK has no memory for its environment (glp_init_env answers 2) is told before any other call
 * makes one and aborts. */
static bool create(struct dw_lp *lp)
{
    jmp_buf back;
    if (glp_init_env() > 1)
        return false;
    if (setjmp(back)) {
        bury(lp->env);
        return false;
    }
    glp_term_hook(on_message, lp->env);
    glp_error_hook(on_fault, &back);
    lp->prob = glp_create_prob();
    glp_set_obj_dir(lp->prob, GLP_MIN);
    glp_error_hook(NULL, NULL);
    return true;
}

struct dw_lp *dw_lp__new(struct dw_lp_env *env)
{
    struct dw_lp *lp = calloc(1, sizeof *lp);
    if (!lp)
        return NULL;
    lp->env = env;
    if (env->dead || create(lp))
        return lp;
    free(lp);
    return NULL;
}

void dw_lp__free(struct dw_lp *lp)
{
    if (!lp)
        return;
    if (!is_dead(lp))
        glp_delete_prob(lp->prob);
    free(lp->index);
    free(lp->value);
    free(lp);
}

/* GLPK's kind of bound for lo..hi; equal bounds must be GLP_FX. */
static int bound_kind(double lo, double hi)
{
    bool below = lo > -DW_LP_INF, above = hi < DW_LP_INF;
    if (below && above)
        return lo < hi ? GLP_DB : GLP_FX;
    if (below)
        return GLP_LO;
    return above ? GLP_UP : GLP_FR;
}

size_t dw_lp__add_row(struct dw_lp *lp, double lo, double hi)
{
    jmp_buf back;
    if (is_dead(lp))
        return SIZE_MAX;
    if (setjmp(back)) {
        bury(lp->env);
        return SIZE_MAX;
    }
    glp_error_hook(on_fault, &back);
    int row = glp_add_rows(lp->prob, 1);
    glp_set_row_bnds(lp->prob, row, bound_kind(lo, hi), lo, hi);
    glp_error_hook(NULL, NULL);
    return (size_t)row - 1;
}

static bool grow_scratch(struct dw_lp *lp, size_t n)
{
    size_t ints = lp->capacity, doubles = lp->capacity;
    if (!dw_array__grow(&lp->index, &ints, n + 1, sizeof *lp->index) ||
        !dw_array__grow(&lp->value, &doubles, n + 1, sizeof *lp->value))
        return false;
    lp->capacity = ints;
    return true;
}

size_t dw_lp__add_col(struct dw_lp *lp, double cost, double lo, double hi, size_t n,
                      const size_t *rows, const double *values)
{
    jmp_buf back;
    if (is_dead(lp) || !grow_scratch(lp, n))
        return SIZE_MAX;
    for (size_t i = 0; i < n; i++) {
        lp->index[i + 1] = (int)rows[i] + 1;
        lp->value[i + 1] = values[i];
    }
    if (setjmp(back)) {
        bury(lp->env);
        return SIZE_MAX;
    }
    glp_error_hook(on_fault, &back);
    int col = glp_add_cols(lp->prob, 1);
    glp_set_col_bnds(lp->prob, col, bound_kind(lo, hi), lo, hi);
    glp_set_obj_coef(lp->prob, col, cost);
    glp_set_mat_col(lp->prob, col, (int)n, lp->index, lp->value);
    glp_error_hook(NULL, NULL);
    return (size_t)col - 1;
}

void dw_lp__row_bounds(struct dw_lp *lp, size_t row, double lo, double hi)
{
    if (!is_dead(lp))
        glp_set_row_bnds(lp->prob, (int)row + 1, bound_kind(lo, hi), lo, hi);
}

void dw_lp__col_bounds(struct dw_lp *lp, size_t col, double lo, double hi)
{
    if (!is_dead(lp))
        glp_set_col_bnds(lp->prob, (int)col + 1, bound_kind(lo, hi), lo, hi);
}

void dw_lp__col_cost(struct dw_lp *lp, size_t col, double cost)
{
    if (!is_dead(lp))
        glp_set_obj_coef(lp->prob, (int)col + 1, cost);
}

size_t dw_lp__n_rows(const struct dw_lp *lp)
{
    return is_dead(lp) ? 0 : (size_t)glp_get_num_rows(lp->prob);
}

size_t dw_lp__n_cols(const struct dw_lp *lp)
{
    return is_dead(lp) ? 0 : (size_t)glp_get_num_cols(lp->prob);
}

#define MESSAGE_MS 100

/* --- simplex ------------------------------------------------------------------------------ */

static enum dw_lp_result simplex_result(const struct dw_lp *lp, int code)
{
    if (code == GLP_EITLIM || code == GLP_ETMLIM)
        return DW_LP_LIMIT;
    if (code == GLP_EOBJUL)
        return DW_LP_PASSED;
    if (code != 0)
        return DW_LP_FAILED;
    switch (glp_get_status(lp->prob)) {
    case GLP_OPT:
        return DW_LP_OPTIMAL;
    case GLP_NOFEAS:
        return DW_LP_INFEASIBLE;
    case GLP_UNBND:
        return DW_LP_UNBOUNDED;
    default:
        return glp_get_dual_stat(lp->prob) == GLP_NOFEAS ? DW_LP_UNBOUNDED : DW_LP_FAILED;
    }
}

/* GLPK's simplex can go round in circles on degenerate LPs: several times what an LP of its size
 * takes is enough. */
static int enough_iterations(const struct dw_lp *lp)
{
    size_t size = dw_lp__n_rows(lp) + dw_lp__n_cols(lp);
    return size < 1000000 ? 1000 + 10 * (int)size : INT32_MAX;
}

/* tol_dj 1e-9: with GLPK's 1e-7 a column of reduced cost -1e-8 would be made again for ever. A
 * singular or ill-conditioned start, or one that leads round in circles, is tried once more from
 * the advanced basis. */
static enum dw_lp_result solve(struct dw_lp *lp, bool dual, int64_t max_iterations, double limit)
{
    if (is_dead(lp))
        return DW_LP_FAILED;
    jmp_buf back;
    switch (setjmp(back)) {
    case FAULT:
        return bury(lp->env);
    case STOP:
        glp_error_hook(NULL, NULL);
        lp->lost = true;
        return DW_LP_FAILED;
    default:
        break;
    }
    glp_error_hook(on_fault, &back);
    lp->env->back = &back;
    glp_smcp control;
    glp_init_smcp(&control);
    control.msg_lev = GLP_MSG_ON;
    control.out_frq = MESSAGE_MS;
    control.meth = dual ? GLP_DUALP : GLP_PRIMAL;
    control.tol_dj = 1e-9;
    control.obj_ul = limit;
    bool endless = max_iterations <= 0;
    control.it_lim = endless                      ? enough_iterations(lp)
                     : max_iterations < INT32_MAX ? (int)max_iterations
                                                  : INT32_MAX;
    int code = glp_simplex(lp->prob, &control);
    if (code == GLP_EBADB || code == GLP_ESING || code == GLP_ECOND || code == GLP_EFAIL ||
        (endless && code == GLP_EITLIM)) {
        glp_adv_basis(lp->prob, 0);
        control.meth = GLP_PRIMAL;
        code = glp_simplex(lp->prob, &control);
    }
    glp_error_hook(NULL, NULL);
    lp->env->back = NULL;
    return simplex_result(lp, code);
}

enum dw_lp_result dw_lp__solve(struct dw_lp *lp, bool dual, int64_t max_iterations)
{
    return solve(lp, dual, max_iterations, DBL_MAX);
}

enum dw_lp_result dw_lp__solve_up_to(struct dw_lp *lp, double limit)
{
    return solve(lp, true, 0, limit);
}

double dw_lp__objective(const struct dw_lp *lp)
{
    return is_dead(lp) ? 0 : glp_get_obj_val(lp->prob);
}

double dw_lp__row_dual(const struct dw_lp *lp, size_t row)
{
    return is_dead(lp) ? 0 : glp_get_row_dual(lp->prob, (int)row + 1);
}

double dw_lp__col_value(const struct dw_lp *lp, size_t col)
{
    return is_dead(lp) ? 0 : glp_get_col_prim(lp->prob, (int)col + 1);
}

double dw_lp__col_dual(const struct dw_lp *lp, size_t col)
{
    return is_dead(lp) ? 0 : glp_get_col_dual(lp->prob, (int)col + 1);
}

int64_t dw_lp__iterations(const struct dw_lp *lp)
{
    return is_dead(lp) ? 0 : glp_get_it_cnt(lp->prob);
}

void dw_lp__basis_get(const struct dw_lp *lp, unsigned char *status)
{
    size_t n_rows = dw_lp__n_rows(lp), n_cols = dw_lp__n_cols(lp);
    for (size_t row = 0; row < n_rows; row++)
        status[row] = (unsigned char)glp_get_row_stat(lp->prob, (int)row + 1);
    for (size_t col = 0; col < n_cols; col++)
        status[n_rows + col] = (unsigned char)glp_get_col_stat(lp->prob, (int)col + 1);
}

void dw_lp__basis_set(struct dw_lp *lp, const unsigned char *status, size_t n_rows, size_t n_cols)
{
    if (is_dead(lp))
        return;
    for (size_t row = 0; row < n_rows; row++)
        glp_set_row_stat(lp->prob, (int)row + 1, status[row]);
    for (size_t col = 0; col < n_cols; col++)
        glp_set_col_stat(lp->prob, (int)col + 1, status[n_rows + col]);
}
