/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rounds of cuts at a node. A cut is a count of its node and of all below it. Below the top, those
 * that did not close their node take a sixth of the work. */
#include "solve/search/parity.h"
#include "solve/search/core.h"

#include <stdlib.h>

#define MAX_ROUNDS  15
#define TOP_DEPTH   3    /* above it cuts are put on each node: they are in every node below */
#define TOP_LISTED  3    /* nodes below one another with a list where all rounds are made */
#define MAX_IDLE    4    /* rounds in a row that close less than this part of the gap: */
#define LEAST_GAIN  0.03 /* then it is for branching */
#define MAX_CUTS    20   /* a round */
#define LEAST_SLACK 0.01 /* of a cut that is dropped */

static double slack_of(const struct dw_search *s, const struct dw_limit *limit,
                       const struct dw_relaxed *relaxed)
{
    return dw_relaxed__count(s->p, relaxed, &s->counts[limit->count]) - (double)limit->lo;
}

/* Drops the cuts that do not bind, from the limits and from the basis. false: no memory. */
static bool drop_slack(const struct dw_search *s, const struct dw_relaxed *relaxed,
                       struct dw_search_node *node)
{
    struct dw_start *start = &node->start;
    size_t n = node->n_limits;
    bool *drop = calloc(n + 1, sizeof *drop);
    if (!drop)
        return false;
    node->n_limits = 0;
    for (size_t i = 0; i < n; i++) {
        const struct dw_limit *limit = &node->limits[i];
        drop[i] = s->counts[limit->count].kind == DW_COUNT_CUT && start->n_counts == n &&
                  dw_start__idle(start, s->p->n_items, i) &&
                  slack_of(s, limit, relaxed) > LEAST_SLACK;
        if (!drop[i])
            node->limits[node->n_limits++] = *limit;
    }
    if (node->n_limits < n)
        dw_start__drop(start, s->p->n_items, drop);
    free(drop);
    return true;
}

static bool put_cuts(struct dw_search *s, struct dw_search_node *node, struct dw_parity_cut **cuts,
                     size_t n)
{
    if (!dw_array__grow(&s->counts, &s->counts_capacity, s->n_counts + n, sizeof *s->counts))
        return false;
    for (size_t k = 0; k < n; k++) {
        bool empty;
        struct dw_limit limit = {s->n_counts, cuts[k]->least, DW_NO_LIMIT, false};
        s->counts[s->n_counts++] = (struct dw_bar_count){.kind = DW_COUNT_CUT, .cut = cuts[k]};
        if (!dw_search_node__limit(node, limit, &empty))
            return false;
    }
    return true;
}

/* The node with the cuts, where its own relaxation ended. NULL: no memory. */
static struct dw_search_node *with_cuts(struct dw_search *s, const struct dw_search_node *node,
                                        const struct dw_relaxed *relaxed, struct dw_known *known,
                                        struct dw_parity_cut **cuts, size_t n)
{
    struct dw_search_node *more = dw_search_node__new(node, &relaxed->start, known, node->bound);
    if (more && drop_slack(s, relaxed, more) && put_cuts(s, more, cuts, n))
        return more;
    dw_search_node__free(more);
    return NULL;
}

/* Takes over the limits and the start of `more`. */
static void take_over(struct dw_search_node *node, struct dw_search_node *more)
{
    struct dw_limit *limits = node->limits;
    struct dw_start start = node->start;
    node->limits = more->limits;
    node->n_limits = more->n_limits;
    node->start = more->start;
    more->limits = limits;
    more->start = start;
}

static dw_err list_again(struct dw_search *s, const struct dw_search_node *node,
                         struct dw_known **known, struct dw_node_relax *own,
                         const struct dw_relaxed *relaxed)
{
    struct dw_known *fewer;
    dw_err code = dw_known__list(s->master, &own->relax, relaxed, *known,
                                 dw_search__cutoff(s, node), dw_known__n(*known), &fewer, s->error);
    if (code != DW_OK)
        return code;
    dw_known__drop(*known);
    *known = fewer;
    own->relax.list = dw_known__cols(fewer);
    own->relax.n_list = dw_known__n(fewer);
    return DW_OK;
}

/* One round. *gain: what it added to the value. *found: there were cuts, and the LP with them was
 * solved. */
static dw_err one_round(struct dw_search *s, struct dw_search_node *node, struct dw_known **known,
                        struct dw_node_relax *own, struct dw_relaxed *relaxed, double *gain,
                        bool *found)
{
    size_t n = 0;
    struct dw_relaxed next = {0};
    *found = false;
    dw_effort__spend(s->master->effort, (int64_t)(relaxed->n * relaxed->n / 8)); /* about */
    struct dw_parity_cut **cuts =
        dw_parity__find(s->p, &own->relax, relaxed, MAX_CUTS, s->arena, &n);
    if (!cuts)
        return dw_error__nomem(s->error);
    if (n == 0)
        return DW_OK;
    struct dw_search_node *more = with_cuts(s, node, relaxed, *known, cuts, n);
    if (!more || !dw_search__relax(s, more, own)) {
        dw_search_node__free(more);
        return dw_error__nomem(s->error);
    }
    dw_err code = dw_relax__solve(s->master, &own->relax, &next, s->error);
    if (code == DW_OK && next.status != DW_RELAX_OPEN) {
        *found = true;
        *gain = next.value - relaxed->value;
        dw_relaxed__replace(relaxed, &next);
        take_over(node, more);
    }
    dw_relaxed__free(&next);
    dw_search_node__free(more);
    if (code == DW_OK && !dw_search__relax(s, node, own))
        code = dw_error__nomem(s->error);
    return code == DW_OK ? list_again(s, node, known, own, relaxed) : code;
}

dw_err dw_search__cut(struct dw_search *s, struct dw_search_node *node, struct dw_known **known,
                      struct dw_node_relax *own, struct dw_relaxed *relaxed)
{
    dw_err code = DW_OK;
    double gain = 0;
    bool found = true;
    int idle = 0;
    const int64_t before = s->master->effort->work;
    const bool top = node->depth < TOP_DEPTH;
    const int most_idle = node->listed < TOP_LISTED ? MAX_ROUNDS : MAX_IDLE;
    if (!top && before < s->cut_at)
        return code;
    for (int round = 0; code == DW_OK && found && round < MAX_ROUNDS && idle < most_idle &&
                        relaxed->status == DW_RELAX_OPTIMAL && relaxed->bound < s->best->money &&
                        !s->master->effort->stopped;
         round++) {
        double gap = (double)(s->best->money - s->p->grid) - relaxed->value;
        code = one_round(s, node, known, own, relaxed, &gain, &found);
        idle = gain < LEAST_GAIN * gap ? idle + 1 : 0;
    }
    if (relaxed->bound < s->best->money) {
        int64_t after = s->master->effort->work;
        s->cut_at = after + 5 * (after - before);
    }
    return code;
}
