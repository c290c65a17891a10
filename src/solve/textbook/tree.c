/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Depth-first search over whole layouts of a type that has few. */
#include "solve/textbook/tree.h"

#include "solve/textbook/fill.h"
#include "solve/textbook/node.h"
#include "solve/textbook/pool.h"

#include <stdlib.h>
#include <string.h>

enum {
    FILL_TRIES = 1, /* at this node, and each time the number of nodes has doubled: */
    FILL_FROM = 64,
    SOME_CHILDREN = 2,
    POOL_LAYOUTS = 6000,
    FEW = 40, /* children of a node that is not loose */
    SURE = 4, /* so many times the nodes while none was loose: the search is likely to end */
};

struct tree {
    struct dw_csp__state *state;
    struct dw_csp__node node;    /* where the search is */
    struct dw_layout_list fixed; /* layouts chosen on the way to it */
    int64_t nodes, most_nodes;   /* LPs solved */
    int64_t loose;               /* of them, those where every length has many layouts */
    bool complete;               /* hundreds of children are taken on there */
};

/* --- choosing a length ---------------------------------------------------------------------- */

/* The length with the fewest layouts of value >= least, if it has at most `most`: those go to
 * children. How many; 0 proves that there is no solution; most + 1: all lengths have more. */
static int64_t choose_among(struct tree *tree, int64_t least, int64_t most,
                            struct dw_layout_list *children)
{
    struct dw_csp__node *node = &tree->node;
    struct dw_layout_list list = {0};
    int64_t fewest = most + 1;
    for (size_t i = 0; i < tree->state->n && fewest > 0 && dw_csp__go(tree->state); i++) {
        if (node->left[i] == 0)
            continue;
        dw_layout_list__cut(&list, 0);
        int64_t count = dw_knap__list(node->knap, i, least, fewest - 1, true, &list);
        if (count >= 0 && count < fewest && dw_layout_list__copy(children, &list))
            fewest = count;
        else if (count < fewest)
            tree->state->failed = true;
        dw_csp__spend(tree->state, 1 + dw_knap__walked(node->knap) / 100);
    }
    dw_layout_list__free(&list);
    return fewest;
}

/* The same, few layouts first: most lengths are then passed by quickly. */
static int64_t choose(struct tree *tree, struct dw_layout_list *children)
{
    static const int64_t most[] = {1, 6, FEW, 160, 640};
    size_t steps = tree->complete ? DW_COUNT(most) : 3;
    int64_t least = dw_csp__node_least(&tree->node), count = 0;
    for (size_t k = 0; k < steps; k++) {
        count = choose_among(tree, least, most[k], children);
        if (count <= most[k])
            return count;
    }
    return count;
}

/* --- fixing --------------------------------------------------------------------------------- */

static bool fix(struct tree *tree, const struct dw_type_count *items, size_t n, int64_t bars)
{
    if (!dw_layout_list__add(&tree->fixed, bars, items, n)) {
        tree->state->failed = true;
        return false;
    }
    dw_csp__node_take(&tree->node, items, n, bars);
    return true;
}

static void unfix(struct tree *tree, size_t keep)
{
    for (size_t k = keep; k < tree->fixed.n; k++) {
        const struct dw_list_cut *cut = &tree->fixed.cuts[k];
        dw_csp__node_take(&tree->node, tree->fixed.items + cut->first, cut->n, -cut->bars);
    }
    dw_layout_list__cut(&tree->fixed, keep);
}

/* Fixes the layouts that are the only ones left for some length, under the duals at hand. NO: some
 * length has none; UNKNOWN: branch. */
static enum dw_csp__answer fix_forced(struct tree *tree)
{
    struct dw_layout_list only = {0};
    enum dw_csp__answer answer = DW_CSP_UNKNOWN;
    int64_t count = 1;
    while (count == 1 && answer == DW_CSP_UNKNOWN && dw_csp__go(tree->state)) {
        switch (dw_csp__node_price(&tree->node, &tree->fixed)) {
        case DW_CSP_NODE_PLAN:
            answer = DW_CSP_YES;
            continue;
        case DW_CSP_NODE_NONE:
            answer = DW_CSP_NO;
            continue;
        case DW_CSP_NODE_STOPPED:
            count = 2;
            continue;
        default:
            break;
        }
        count = choose_among(tree, dw_csp__node_least(&tree->node), 1, &only);
        if (count == 0 && dw_csp__go(tree->state))
            answer = DW_CSP_NO;
        if (count == 1)
            fix(tree, only.items + only.cuts[0].first, only.cuts[0].n, 1);
    }
    dw_layout_list__free(&only);
    return answer;
}

/* --- children ------------------------------------------------------------------------------- */

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

static struct child *rank_children(struct tree *tree, const struct dw_layout_list *list)
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

static enum dw_csp__answer explore(struct tree *tree);

/* One child after the other, each from the duals of this node. The depth is at most the number of
 * bars. */
static enum dw_csp__answer explore_children(struct tree *tree, const struct dw_layout_list *list)
{
    size_t n = tree->state->n, n_fixed = tree->fixed.n;
    struct child *children = rank_children(tree, list);
    int64_t *dual = malloc((n + 1) * sizeof *dual);
    enum dw_csp__answer answer = children && dual ? DW_CSP_NO : DW_CSP_UNKNOWN;
    tree->state->failed |= answer == DW_CSP_UNKNOWN;
    if (dual)
        memcpy(dual, tree->node.dual, n * sizeof *dual);
    bool ready = children && dual;
    for (size_t k = 0; ready && answer != DW_CSP_YES && k < list->n && dw_csp__go(tree->state);
         k++) {
        const struct dw_list_cut *cut = &list->cuts[children[k].cut];
        memcpy(tree->node.dual, dual, n * sizeof *dual);
        if (!fix(tree, list->items + cut->first, cut->n, 1))
            break;
        enum dw_csp__answer one = explore(tree);
        if (one != DW_CSP_NO)
            answer = one;
        if (one != DW_CSP_YES)
            unfix(tree, n_fixed);
    }
    free(children);
    free(dual);
    return dw_csp__go(tree->state) || answer == DW_CSP_YES ? answer : DW_CSP_UNKNOWN;
}

/* Takes the whole bars of the LP's solution at once: that may find a plan, and proves nothing. */
static enum dw_csp__answer round_down(struct tree *tree, const struct dw_layout_list *whole)
{
    size_t n_fixed = tree->fixed.n;
    bool ok = true;
    for (size_t k = 0; ok && k < whole->n; k++) {
        const struct dw_list_cut *cut = &whole->cuts[k];
        ok = fix(tree, whole->items + cut->first, cut->n, cut->bars);
    }
    if (ok && explore(tree) == DW_CSP_YES)
        return DW_CSP_YES;
    unfix(tree, n_fixed);
    return DW_CSP_UNKNOWN;
}

static bool doubled(int64_t count)
{
    return (count & (count - 1)) == 0;
}

/* Where every length has too many layouts for a complete set of children: what the LP likes. */
static enum dw_csp__answer try_liked(struct tree *tree)
{
    struct dw_layout_list liked = {0};
    enum dw_csp__answer answer = DW_CSP_UNKNOWN;
    if (!dw_csp__node_whole(&tree->node, &liked))
        tree->state->failed = true;
    else if (liked.n > 0)
        answer = round_down(tree, &liked);
    else if (!dw_csp__node_liked(&tree->node, SOME_CHILDREN, &liked))
        tree->state->failed = true;
    else
        answer = explore_children(tree, &liked);
    dw_layout_list__free(&liked);
    return answer == DW_CSP_YES ? DW_CSP_YES : DW_CSP_UNKNOWN;
}

static enum dw_csp__answer branch(struct tree *tree)
{
    struct dw_layout_list children = {0};
    struct dw_csp__state *state = tree->state;
    int64_t count = choose(tree, &children);
    bool loose = count > FEW, all = count <= (int64_t)children.n;
    bool now = loose ? doubled(++tree->loose) : doubled(tree->nodes);
    enum dw_csp__answer answer = DW_CSP_UNKNOWN;
    if (dw_csp__go(state) && count == 0)
        answer = DW_CSP_NO;
    else if (dw_csp__go(state) && now && (loose || tree->nodes >= FILL_FROM) &&
             dw_csp__fill_rest(state, tree->node.left, tree->node.bars, FILL_TRIES, &tree->fixed))
        answer = DW_CSP_YES;
    else if (dw_csp__go(state))
        answer = all ? explore_children(tree, &children) : try_liked(tree);
    dw_layout_list__free(&children);
    return answer;
}

/* At the root: where only some thousand layouts are left for the whole plan, the search goes on
 * among them. false: there are more. */
static bool search_pool(struct tree *tree, enum dw_csp__answer *answer)
{
    struct dw_csp__state *state = tree->state;
    struct dw_csp__node *node = &tree->node;
    struct dw_layout_list layouts = {0};
    int64_t least = dw_csp__node_least(node);
    int64_t count =
        least > 0 ? dw_knap__all(node->knap, least, POOL_LAYOUTS, &layouts) : POOL_LAYOUTS + 1;
    bool few = count >= 0 && count <= POOL_LAYOUTS;
    state->failed |= count < 0;
    dw_csp__spend(state, 1 + dw_knap__walked(node->knap) / 100);
    const struct dw_csp__pool_task task = {node->left, node->bars, node->waste, &layouts,
                                           tree->most_nodes};
    if (few)
        *answer = dw_csp__pool(state, &task, &tree->fixed);
    dw_layout_list__free(&layouts);
    return few;
}

/* --- the search ----------------------------------------------------------------------------- */

static enum dw_csp__answer explore(struct tree *tree)
{
    struct dw_csp__state *state = tree->state;
    enum dw_csp__answer answer = fix_forced(tree);
    if (answer != DW_CSP_UNKNOWN || !dw_csp__go(state))
        return answer;
    if (tree->most_nodes > 0 && tree->nodes >= tree->most_nodes * (tree->loose > 0 ? 1 : SURE))
        return DW_CSP_UNKNOWN;
    tree->nodes++;
    switch (dw_csp__node_solve(&tree->node, &tree->fixed)) {
    case DW_CSP_NODE_PLAN:
        return DW_CSP_YES;
    case DW_CSP_NODE_NONE:
        return DW_CSP_NO;
    case DW_CSP_NODE_OPEN:
        if (tree->nodes == 1 && search_pool(tree, &answer))
            return answer;
        return branch(tree);
    default:
        return DW_CSP_UNKNOWN;
    }
}

enum dw_csp__answer dw_csp__tree(struct dw_csp__state *state, int64_t bars, int64_t nodes,
                                 bool complete, const struct dw_layout_list *columns)
{
    struct tree tree = {.state = state, .most_nodes = nodes, .complete = complete};
    dw_wide waste = (dw_wide)bars * state->capacity - state->total;
    enum dw_csp__answer answer = waste < 0 ? DW_CSP_NO : DW_CSP_UNKNOWN;
    if (waste >= 0 && waste <= INT64_MAX &&
        dw_csp__node_open(&tree.node, state, bars, (int64_t)waste, columns))
        answer = explore(&tree);
    if (answer == DW_CSP_YES)
        dw_csp__offer_plan(state, &tree.fixed, "branch and price");
    dw_csp__node_close(&tree.node);
    dw_layout_list__free(&tree.fixed);
    return answer;
}
