/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of the one-bar subproblem, shared by price.c (which fills them) and listing.c. */
#ifndef DW_SOLVE_BAR_TABLE_H
#define DW_SOLVE_BAR_TABLE_H

#include "solve/group/points.h"
#include "solve/bar/price.h"

#define DW_TABLE_LEVELS DW_LEVELS_MAX

/* One item of the loaded kind, in its order. value(a) = a unit + level duals with threshold <= a.
 */
struct dw_stage {
    size_t item;
    size_t place; /* in the kind's order */
    int64_t size;
    int64_t slack;
    int64_t most; /* pieces on one bar */
    int64_t unit;
    size_t n_levels;
    int64_t threshold[DW_TABLE_LEVELS];
    int64_t dual[DW_TABLE_LEVELS];
};

struct dw_pricer {
    const struct dw_problem *problem;
    const struct dw_prices *prices;
    const struct dw_bar_kind *kind;
    struct dw_effort *effort; /* borrowed until the next load; may be NULL */
    bool late;                /* it said so: tables and listings are given up */
    double per_cell;          /* 1 / cell */
    size_t layer;             /* from one layer of a row to the next; 0 where all are one */
    int64_t drop;             /* no row falls by more than this from x to any larger x */
    int64_t bars;             /* dual of all bars */
    int64_t exact;            /* dual of exact fills */
    size_t n_stages;
    size_t n_rows;           /* stages that have a row: all, or with few_slack the firm ones */
    struct dw_stage *stages; /* length n_stages, in the kind's order */
    /* rows[j][n layer + x]: largest value of at most n pieces of stages j.. within x cells, the
     * credit of what is left included; rows[n_rows] is that of the stages without a row. */
    int64_t **rows;   /* length n_rows + 1 */
    int64_t **blocks; /* length most kinds' items + 1: memory of the rows */
    /* Values of what is left, DW_NEVER where not allowed: */
    int64_t *kept;    /* length block_cells: kept; not if coarse */
    int64_t *thrown;  /* length block_cells: thrown away; not if coarse */
    int64_t scrap;    /* nm of the longest scrap; negative: any waste is allowed */
    int64_t scrapped; /* of that much, thrown away */
    int64_t filled;   /* of nothing left */
    int64_t *scratch; /* three rows */
    size_t n_blocks;
    size_t block_cells;       /* cells that each block holds */
    size_t *queue;            /* length block_cells: of the sliding maximum */
    struct dw_entry *entries; /* length n_stages + 1: the draft of a listing */
};

static inline int64_t dw_table__larger(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

/* Asked between pieces, of which a bar may hold very many. */
static inline bool dw_pricer__late(struct dw_pricer *pricer)
{
    pricer->late = pricer->late || (pricer->effort && dw_effort__late(pricer->effort));
    return pricer->late;
}

int64_t dw_stage__value(const struct dw_stage *stage, int64_t count);
/* Constant of a stock: its duals less scale * (bar + fixed). */
int64_t dw_pricer__constant(const struct dw_pricer *pricer, size_t stock);
/* Values of x nm left, kept and thrown away, duals included; DW_NEVER where not allowed. When no
 * cap counts kept leftovers, keeping is no choice: what can be kept is. */
int64_t dw_pricer__reckon_kept(const struct dw_pricer *pricer, int64_t x);
int64_t dw_pricer__reckon_thrown(const struct dw_pricer *pricer, int64_t x);

/* Fills the rows of the loaded kind, or gives up where the effort says that it is late. */
void dw_pricer__fill(struct dw_pricer *pricer, int64_t *work);

/* Whether, of x nm left, so much may go into longer pieces, up to `slack`, that the rest is the
 * longest scrap. */
bool dw_stretch__scraps(const struct dw_pricer *pricer, int64_t x, int64_t slack);

/* Unit value of an item's piece, cut included. */
int64_t dw_pricer__unit(const struct dw_pricer *pricer, size_t item);
/* Where the tables hold x nm: its point, or its cell without a division, which is exact for
 * multiples of the cell below 2^53. */
static inline size_t dw_pricer__cell(const struct dw_pricer *pricer, int64_t x)
{
    if (pricer->kind->points)
        return dw_points__find(pricer->kind->points, x);
    if (pricer->kind->coarse)
        return (size_t)(x / pricer->kind->cell);
    return (size_t)((double)x * pricer->per_cell + 0.5);
}

/* The same, looked up where the kind has a table of them. */
static inline int64_t dw_pricer__kept(const struct dw_pricer *pricer, int64_t x)
{
    return pricer->kind->coarse ? dw_pricer__reckon_kept(pricer, x)
                                : pricer->kept[dw_pricer__cell(pricer, x)];
}

static inline int64_t dw_pricer__thrown(const struct dw_pricer *pricer, int64_t x)
{
    return pricer->kind->coarse ? dw_pricer__reckon_thrown(pricer, x)
                                : pricer->thrown[dw_pricer__cell(pricer, x)];
}

/* The row of stage j for so many pieces. */
static inline int64_t *dw_pricer__row(const struct dw_pricer *pricer, size_t j, int64_t pieces)
{
    return pricer->rows[j] + (pricer->layer > 0 ? (size_t)pieces * pricer->layer : 0);
}

/* With few_slack, for stages without a row: their best with up to so many pieces when x nm are left
 * of which up to `slack` may go into longer ones. Cost: O(combinations of counts). */
int64_t dw_stretch__best(const struct dw_pricer *pricer, size_t j, int64_t x, int64_t slack,
                         int64_t pieces);

/* The row of the stages without one, all pieces at their least lengths, is raised to what slack
 * gains. Cost: O(combinations times cells within their slack). */
void dw_stretch__row(const struct dw_pricer *pricer, int64_t *row);

/* Upper bound of up to so many pieces of stages j.. when x nm are left of which up to `slack` may
 * go into longer ones. */
int64_t dw_pricer__bound(const struct dw_pricer *pricer, size_t j, int64_t x, int64_t slack,
                         int64_t pieces);

#endif
