/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/csp_tree.h"

#include "solve/csp_node.h"

#include <stdlib.h>
#include <string.h>

struct tree {
    struct dw_csp__state *state;
    struct dw_csp__node node;  /* where the search is */
    struct dw_csp__list fixed; /* layouts chosen on the way to it */
    int64_t nodes, most_nodes;
};

/* --- choosing a length ---------------------------------------------------------------------- */

enum { MOST_CHILDREN = 2000 };

/* The length with the fewest layouts of value >= least; those go to children. false: one length has
 * none, so there is no solution, or no memory. */
static bool choose(struct tree *tree, int64_t least, struct dw_csp__list *children)
{
    struct dw_csp__node *node = &tree->node;
    struct dw_csp__list list = {0};
    int64_t fewest = MOST_CHILDREN;
    bool ok = true;
    for (size_t i = 0; ok && i < tree->state->n && fewest > 1; i++) {
        if (node->left[i] == 0)
            continue;
        dw_csp__list_cut(&list, 0);
        int64_t count = dw_knap__list(node->knap, i, least, fewest - 1, &list);
        if (count < 0 || (count < fewest && !dw_csp__list_copy(children, &list)))
            tree->state->failed = true;
        if (count >= 0 && count < fewest)
            fewest = count;
        ok = fewest > 0 && !tree->state->failed;
    }
    dw_csp__spend(tree->state, 1 + (int64_t)tree->state->n);
    dw_csp__list_free(&list);
    return ok;
}

struct child {
    double rank; /* how much the LP likes it */
    size_t cut;  /* index into the list */
};

static int by_rank(const void *a, const void *b)
{
    const struct child *x = a, *y = b;
    if (x->rank != y->rank)
        return x->rank < y->rank ? 1 : -1;
    return x->cut < y->cut ? -1 : 1;
}

static struct child *rank_children(struct tree *tree, const struct dw_csp__list *list)
{
    struct child *children = malloc((list->n + 1) * sizeof *children);
    for (size_t k = 0; children && k < list->n; k++)
        children[k] = (struct child){
            dw_csp__node_expected(&tree->node, list->items + list->cuts[k].first, list->cuts[k].n),
            k};
    if (children)
        qsort(children, list->n, sizeof *children, by_rank);
    return children;
}

/* --- the search ----------------------------------------------------------------------------- */

static enum dw_csp__answer explore(struct tree *tree);

static bool fix(struct tree *tree, const struct dw_csp_item *items, size_t n)
{
    if (!dw_csp__list_add(&tree->fixed, 1, items, n)) {
        tree->state->failed = true;
        return false;
    }
    dw_csp__node_take(&tree->node, items, n, 1);
    return true;
}

/* One child after the other; the LP's order. The depth is at most the number of bars. */
static enum dw_csp__answer explore_children(struct tree *tree, const struct dw_csp__list *list)
{
    struct child *children = rank_children(tree, list);
    enum dw_csp__answer answer = children ? DW_CSP_NO : DW_CSP_UNKNOWN;
    tree->state->failed |= children == NULL;
    for (size_t k = 0; answer == DW_CSP_NO && k < list->n; k++) {
        const struct dw_csp__cut *cut = &list->cuts[children[k].cut];
        const struct dw_csp_item *items = list->items + cut->first;
        size_t n_fixed = tree->fixed.n;
        if (!fix(tree, items, cut->n)) {
            answer = DW_CSP_UNKNOWN;
            break;
        }
        answer = explore(tree);
        if (answer == DW_CSP_YES)
            break;
        dw_csp__list_cut(&tree->fixed, n_fixed);
        dw_csp__node_take(&tree->node, items, cut->n, -1);
    }
    free(children);
    return answer;
}

static enum dw_csp__answer branch(struct tree *tree)
{
    struct dw_csp__list children = {0};
    int64_t least = dw_csp__node_least(&tree->node);
    enum dw_csp__answer answer = DW_CSP_NO;
    if (choose(tree, least, &children))
        answer = children.n > 0 ? explore_children(tree, &children) : DW_CSP_UNKNOWN;
    else if (!dw_csp__go(tree->state))
        answer = DW_CSP_UNKNOWN;
    dw_csp__list_free(&children);
    return answer;
}

static enum dw_csp__answer explore(struct tree *tree)
{
    struct dw_csp__state *state = tree->state;
    tree->nodes++;
    if (!dw_csp__go(state) || (tree->most_nodes > 0 && tree->nodes > tree->most_nodes))
        return DW_CSP_UNKNOWN;
    switch (dw_csp__node_solve(&tree->node, &tree->fixed)) {
    case DW_CSP_NODE_PLAN:
        return DW_CSP_YES;
    case DW_CSP_NODE_NONE:
        return DW_CSP_NO;
    case DW_CSP_NODE_OPEN:
        return branch(tree);
    default:
        return DW_CSP_UNKNOWN;
    }
}

enum dw_csp__answer dw_csp__tree(struct dw_csp__state *state, int64_t bars, int64_t nodes,
                                 const struct dw_csp__list *columns)
{
    struct tree tree = {.state = state, .most_nodes = nodes};
    dw_wide waste = (dw_wide)bars * state->capacity - state->total;
    enum dw_csp__answer answer = waste < 0 ? DW_CSP_NO : DW_CSP_UNKNOWN;
    if (waste >= 0 && waste <= INT64_MAX &&
        dw_csp__node_open(&tree.node, state, bars, (int64_t)waste, columns))
        answer = explore(&tree);
    if (answer == DW_CSP_YES)
        dw_csp__offer_plan(state, &tree.fixed, "branch and price");
    dw_csp__node_close(&tree.node);
    dw_csp__list_free(&tree.fixed);
    return answer;
}
