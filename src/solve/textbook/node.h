/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The LP of a node of tree.h, and its answer in integers. One LP serves the whole tree: a node
 * changes right-hand sides and closes the columns that no longer fit, so GLPK goes on from the last
 * basis. */
#ifndef DW_SOLVE_TEXTBOOK_NODE_H
#define DW_SOLVE_TEXTBOOK_NODE_H

#include "solve/textbook/core.h"
#include "solve/bar/knap.h"

struct dw_csp__node {
    struct dw_csp__state *state;
    int64_t *left; /* length n: still to be cut */
    int64_t bars;  /* from so many */
    int64_t waste; /* in all */

    struct dw_lp *lp; /* columns: n artificial ones, then those of `columns` */
    struct dw_knap *knap;
    struct dw_layout_list columns;
    int64_t *spare; /* length room: waste of each column */
    bool *open;     /* length room: the column may be used here */
    size_t spare_room, open_room;
    size_t *rows;   /* length n: scratch */
    double *values; /* length n: scratch */
    int64_t *dual;  /* length n: P of the last round */
    int64_t scale;  /* P of 1.0 */
    int64_t best;   /* z of the last round */
    double penalty; /* cost of the artificial columns, in bars for their length */
    int64_t iterations;
    bool stuck; /* the LP stalled */
};

bool dw_csp__node_open(struct dw_csp__node *node, struct dw_csp__state *state, int64_t bars,
                       int64_t waste, const struct dw_layout_list *columns);
void dw_csp__node_close(struct dw_csp__node *node);

/* Takes a layout out of what is left `bars` times, or puts it back (bars < 0). */
void dw_csp__node_take(struct dw_csp__node *node, const struct dw_type_count *items, size_t n,
                       int64_t bars);

enum dw_csp__node_answer {
    DW_CSP_NODE_PLAN,    /* solved: the layouts were appended to list */
    DW_CSP_NODE_NONE,    /* proved: no solution */
    DW_CSP_NODE_OPEN,    /* neither: branch */
    DW_CSP_NODE_STOPPED, /* out of work or memory, or the LP failed */
};
enum dw_csp__node_answer dw_csp__node_solve(struct dw_csp__node *node, struct dw_layout_list *list);

/* Before the LP: exact search for the last bars, then z for the duals at hand (those of the
 * parent). STOPPED: there are no duals yet, or out of work. */
enum dw_csp__node_answer dw_csp__node_price(struct dw_csp__node *node, struct dw_layout_list *list);

/* Layouts of less value are in no solution of the node: P d - (bars - 1) z. */
int64_t dw_csp__node_least(const struct dw_csp__node *node);
/* Bars that the LP cuts like this; 0 for layouts it does not have. */
double dw_csp__node_expected(const struct dw_csp__node *node, const struct dw_type_count *items,
                             size_t n);

/* Appends the `most` layouts of the pool that the LP cuts most often. false: no memory. */
bool dw_csp__node_liked(const struct dw_csp__node *node, size_t most, struct dw_layout_list *list);

/* Appends the layouts that the LP cuts at least once, as often as that. false: no memory. */
bool dw_csp__node_whole(const struct dw_csp__node *node, struct dw_layout_list *list);

#endif
