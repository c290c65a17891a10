/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The relaxed master problem, solved by column generation, with a bound that is safe in integers.
 *
 *   min  sum (bar_k + money_c) x_c
 *   sum a_ic x_c >= demand_i   parts          (dual >= 0)
 *   sum a_ic x_c <= demand_i   posts          (dual <= 0)
 *   sum x_c      <= avail_k    limited stocks (dual <= 0)
 *   lo_n <= sum f_nc x_c <= hi_n   counts
 *
 * Bound, for any duals of those signs (Lagrangian duality; Farley 1990 is the case of one stock):
 *   sum y b + sum_k avail_k min(0, least reduced cost of stock k) */
#ifndef DW_SOLVE_LP_RELAX_H
#define DW_SOLVE_LP_RELAX_H

#include "solve/budget/effort.h"
#include "solve/lp/lp.h"
#include "solve/bar/price.h"
#include "solve/lp/start.h"
#include "solve/bar/value.h"

#define DW_NO_LIMIT INT64_MAX

/* Money of every plan: `phase` and a multiple of `step`; step 0: any. */
struct dw_ladder {
    dw_money step;
    dw_money phase; /* 0 <= phase < step */
};

/* What to solve. */
struct dw_relax {
    const int64_t *demand; /* length n_items */
    const int64_t *avail;  /* length n_stocks */
    const dw_money *bar;   /* length n_stocks */
    dw_money base;         /* money that is settled already */
    size_t n_counts;
    const struct dw_bar_count *counts; /* length n_counts */
    const int64_t *lo;                 /* length n_counts */
    const int64_t *hi;                 /* length n_counts; DW_NO_LIMIT */
    const struct dw_col *const *list;  /* all columns that matter, or NULL: the pricer's */
    size_t n_list;
    bool equal; /* each part is made just as often as wanted, as it is with a list */
    const struct dw_start *start; /* may be NULL */
    dw_money cutoff;              /* only plans of less money matter */
    struct dw_ladder ladder;      /* what money they can have, besides the grid */
};

enum dw_relax_status {
    DW_RELAX_OPTIMAL, /* the LP is solved, up to what the money grid can tell */
    DW_RELAX_PRUNED,  /* no plan is below the cutoff */
    DW_RELAX_OPEN,    /* a limit or numerical trouble ended it; the bound holds all the same */
};

struct dw_support {
    const struct dw_col *col;
    double x;
};

struct dw_relaxed {
    enum dw_relax_status status;
    dw_money bound; /* rounded up to the money grid */
    dw_wide numer;  /* the bound before: numer / scale, at `prices` */
    double value;   /* of the LP, base included */
    bool short_of;  /* artificial columns are in the solution */
    size_t n;
    struct dw_support *support; /* length n: columns with x > 0 */
    struct dw_prices prices;    /* duals that gave the bound; arrays owned */
    int64_t *most;         /* length n_stocks: of a column at `prices`, minus its reduced cost */
    struct dw_start start; /* basis at the end; arrays owned */
};

/* Shared by all relaxations of a group. */
struct dw_master {
    const struct dw_problem *problem;
    struct dw_pool *pool;
    struct dw_pricer *pricer;
    struct dw_lp_env *env;
    struct dw_effort *effort;
    dw_money unit; /* money of a large bar: the scale of artificial costs */
    size_t run;    /* number of relaxations so far */
    size_t n_marks;
    size_t *marks;           /* length n_marks: the run whose LP holds the pool's column */
    struct dw_valuer valuer; /* scratch */
};

/* Takes the parts; dw_master__free frees what the master itself owns. */
void dw_master__init(struct dw_master *master, const struct dw_problem *problem,
                     struct dw_pool *pool, struct dw_pricer *pricer, struct dw_lp_env *env,
                     struct dw_effort *effort);
void dw_master__free(struct dw_master *master);
/* Notes that the LP of this run holds the column (false: no memory), and asks. */
bool dw_master__mark(struct dw_master *master, const struct dw_col *col);
bool dw_master__marked(const struct dw_master *master, const struct dw_col *col);

/* Artificial columns cost up to so many units of money, and duals are read up to eight times it. */
#define DW_PRICES_FACTOR 4096.0

/* Prices of 0 for a relaxation; its arrays stay borrowed. false: no memory; free them also then. */
bool dw_prices__make(const struct dw_master *master, const struct dw_relax *relax,
                     struct dw_prices *out);
void dw_prices__free(struct dw_prices *prices);

/* DW_ERR_NOMEM. Free *out with dw_relaxed__free, also after an error. */
dw_err dw_relax__solve(struct dw_master *master, const struct dw_relax *relax,
                       struct dw_relaxed *out, struct dw_error *error);
void dw_relaxed__free(struct dw_relaxed *relaxed);
/* *relaxed becomes *next, of the same node with more known, and keeps the higher bound. What it was
 * is freed. */
void dw_relaxed__replace(struct dw_relaxed *relaxed, struct dw_relaxed *next);

/* What reduced costs, and slack times its dual, may take in a plan of less than `cutoff`, times the
 * scale. */
dw_wide dw_relaxed__room(const struct dw_problem *problem, const struct dw_relax *relax,
                         const struct dw_relaxed *relaxed, dw_money cutoff);
/* bars[n_stocks]: how many bars of each stock the solution takes. */
void dw_relaxed__bars(const struct dw_problem *problem, const struct dw_relaxed *relaxed,
                      double *bars);
/* The count over the bars of the solution. Cost: that of each column in it. */
double dw_relaxed__count(const struct dw_problem *problem, const struct dw_relaxed *relaxed,
                         const struct dw_bar_count *count);

/* The least money >= `money` that a plan can have. */
dw_money dw_ladder__up(const struct dw_ladder *ladder, dw_money money);
/* Rounds numer / scale + base up to a multiple of the grid. */
dw_money dw_relax__round(dw_money grid, dw_wide numer, int64_t scale, dw_money base);

#endif
