/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/search.h"
#include "solve/branch.h"
#include "solve/dive.h"
#include "solve/known.h"
#include "solve/lattice.h"
#include "solve/polish.h"
#include "solve/pool_mip.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MAX_OPEN  100000
#define MIP_COLS  400 /* of a list that branch and cut is tried on */
#define MIP_NODES 60

/* lo <= counts[count] <= hi */
struct limit {
    size_t count;
    int64_t lo, hi;
};

struct node {
    dw_money bound;
    size_t depth;
    size_t serial;
    size_t n_limits;
    struct limit *limits;   /* length n_limits */
    struct dw_start start;  /* of its parent's relaxation; owned */
    struct dw_known *known; /* all columns that matter below it; NULL: not known */
    dw_money too_wide;      /* gap at which these were too many; 0: not tried */
};

struct search {
    struct dw_master *master;
    const struct dw_problem *p;
    const struct dw_relax *root;
    const struct dw_prices *prices; /* at the root */
    const struct dw_search_limits *limits;
    size_t polish_round;
    int64_t polish_at; /* work at which the next neighbourhoods are due */
    int64_t dive_at;   /* and the next dive */
    struct dw_solution *best;
    struct dw_error *error;
    size_t n_counts, counts_capacity;
    struct dw_count *counts; /* length n_counts */
    size_t n_open, open_capacity;
    struct node **open; /* heap by bound, deepest first among equals */
    size_t serial;
    size_t n_solved;
    dw_money given_up; /* least bound of the nodes that were given up; INT64_MAX: none was */
    /* Room for the relaxation of a node: */
    struct dw_count *node_counts;
    int64_t *lo, *hi;
    size_t room;
    dw_money *bar;         /* length n_stocks */
    struct dw_line *lines; /* length n_stocks */
    int64_t *scratch;      /* length n_items + n_stocks */
};

/* --- nodes -------------------------------------------------------------------------------- */

static void free_node(struct node *node)
{
    if (!node)
        return;
    free(node->limits);
    free(node->start.cols);
    free(node->start.status);
    dw_known__drop(node->known);
    free(node);
}

static bool before(const struct node *a, const struct node *b)
{
    if (a->bound != b->bound)
        return a->bound < b->bound;
    if (a->depth != b->depth)
        return a->depth > b->depth;
    return a->serial > b->serial;
}

static bool push(struct search *s, struct node *node)
{
    if (!dw_array__grow(&s->open, &s->open_capacity, s->n_open + 1, sizeof(struct node *)))
        return false;
    size_t at = s->n_open++;
    node->serial = s->serial++;
    while (at > 0 && before(node, s->open[(at - 1) / 2])) {
        s->open[at] = s->open[(at - 1) / 2];
        at = (at - 1) / 2;
    }
    s->open[at] = node;
    return true;
}

static struct node *pop(struct search *s)
{
    struct node *top = s->open[0], *last = s->open[--s->n_open];
    size_t at = 0;
    for (;;) {
        size_t child = 2 * at + 1;
        if (child >= s->n_open)
            break;
        if (child + 1 < s->n_open && before(s->open[child + 1], s->open[child]))
            child++;
        if (!before(s->open[child], last))
            break;
        s->open[at] = s->open[child];
        at = child;
    }
    s->open[at] = last;
    return top;
}

static size_t find_count(struct search *s, const struct dw_count *count)
{
    for (size_t c = 0; c < s->n_counts; c++)
        if (s->counts[c].kind == count->kind && s->counts[c].a == count->a &&
            s->counts[c].b == count->b)
            return c;
    if (!dw_array__grow(&s->counts, &s->counts_capacity, s->n_counts + 1, sizeof *s->counts))
        return SIZE_MAX;
    s->counts[s->n_counts] = *count;
    return s->n_counts++;
}

static bool copy_start(struct dw_start *to, const struct dw_start *from)
{
    *to = *from;
    to->cols = calloc(from->n_cols + 1, sizeof *to->cols);
    to->status = malloc(from->n_status + 1);
    if (!to->cols || !to->status)
        return false;
    if (from->n_cols > 0)
        memcpy(to->cols, from->cols, from->n_cols * sizeof *to->cols);
    if (from->n_status > 0)
        memcpy(to->status, from->status, from->n_status);
    return true;
}

/* A node below `parent` (NULL: the root) with the limits of it. */
static struct node *new_node(const struct node *parent, const struct dw_start *start,
                             struct dw_known *known, dw_money bound)
{
    struct node *node = calloc(1, sizeof *node);
    size_t n = parent ? parent->n_limits : 0;
    if (!node)
        return NULL;
    node->bound = bound;
    node->depth = parent ? parent->depth + 1 : 0;
    node->limits = calloc(n + 1, sizeof *node->limits);
    if (!node->limits || !copy_start(&node->start, start)) {
        free_node(node);
        return NULL;
    }
    if (n > 0)
        memcpy(node->limits, parent->limits, n * sizeof *node->limits);
    node->n_limits = n;
    node->known = dw_known__share(known);
    node->too_wide = parent ? parent->too_wide : 0;
    return node;
}

/* false: no count is left. */
static bool tighten(struct node *node, size_t count, int64_t lo, int64_t hi)
{
    for (size_t i = 0; i < node->n_limits; i++) {
        struct limit *limit = &node->limits[i];
        if (limit->count != count)
            continue;
        limit->lo = lo > limit->lo ? lo : limit->lo;
        limit->hi = hi < limit->hi ? hi : limit->hi;
        return limit->lo <= limit->hi;
    }
    node->limits[node->n_limits++] = (struct limit){count, lo, hi};
    return lo <= hi;
}

/* --- the relaxation of a node ------------------------------------------------------------- */

static bool make_room(struct search *s, size_t n)
{
    if (n <= s->room)
        return true;
    size_t counts = s->room, lows = s->room, highs = s->room;
    if (!dw_array__grow(&s->node_counts, &counts, n, sizeof *s->node_counts) ||
        !dw_array__grow(&s->lo, &lows, n, sizeof *s->lo) ||
        !dw_array__grow(&s->hi, &highs, n, sizeof *s->hi))
        return false;
    s->room = counts;
    return true;
}

static void stock_limits(const struct search *s, const struct node *node, size_t stock, int64_t *lo,
                         int64_t *hi)
{
    *lo = 0;
    *hi = s->p->stocks[stock].count;
    for (size_t i = 0; i < node->n_limits; i++) {
        const struct dw_count *count = &s->counts[node->limits[i].count];
        if (count->kind != DW_COUNT_STOCK || count->a != stock)
            continue;
        *lo = node->limits[i].lo > *lo ? node->limits[i].lo : *lo;
        *hi = node->limits[i].hi < *hi ? node->limits[i].hi : *hi;
    }
}

static bool make_relax(struct search *s, const struct node *node, struct dw_relax *relax)
{
    *relax = *s->root;
    if (!make_room(s, node->n_limits + 1))
        return false;
    for (size_t i = 0; i < node->n_limits; i++) {
        s->node_counts[i] = s->counts[node->limits[i].count];
        s->lo[i] = node->limits[i].lo;
        s->hi[i] = node->limits[i].hi;
    }
    for (size_t k = 0; k < s->p->n_stocks; k++) {
        int64_t lo, hi;
        stock_limits(s, node, k, &lo, &hi);
        s->lines[k] = s->p->missing ? (struct dw_line){0, 0} : dw_branch__line(s->p, k, lo, hi);
        s->bar[k] = s->lines[k].slope;
        relax->base += s->lines[k].base;
    }
    relax->bar = s->bar;
    relax->n_counts = node->n_limits;
    relax->counts = s->node_counts;
    relax->lo = s->lo;
    relax->hi = s->hi;
    relax->start = &node->start;
    relax->cutoff = s->best->missing == 0 || s->p->missing ? s->best->money : INT64_MAX / 2;
    if (node->known) {
        relax->list = dw_known__cols(node->known);
        relax->n_list = dw_known__n(node->known);
    }
    return true;
}

/* --- plans found -------------------------------------------------------------------------- */

/* Whole columns are a plan. */
static bool take_whole(struct search *s, const struct dw_relaxed *relaxed, bool *whole)
{
    struct dw_solution plan = {.method = "branch and price"};
    *whole = true;
    bool ok = true;
    for (size_t j = 0; ok && *whole && j < relaxed->n; j++) {
        double x = relaxed->support[j].x;
        *whole = fabs(x - floor(x + 0.5)) < 1e-6;
        int64_t count = (int64_t)(x + 0.5);
        if (*whole && count > 0)
            ok = dw_solution__add(&plan, relaxed->support[j].col, count);
    }
    if (ok && *whole && dw_solution__settle(s->p, &plan, s->scratch) &&
        dw_solution__better(&plan, s->best))
        ok = dw_solution__copy(s->best, &plan);
    dw_solution__free(&plan);
    return ok;
}

/* Dives take a third of the work, neighbourhoods come whenever it has grown by half. */
static dw_err look_for_plans(struct search *s, const struct dw_relax *relax,
                             const struct dw_relaxed *relaxed)
{
    const struct dw_effort *effort = s->master->effort;
    int64_t before = effort->work;
    dw_err code = DW_OK;
    if (before >= s->dive_at) {
        code = dw_dive__run(s->master, s->limits->inner ? NULL : s->root, relax, relaxed, s->best,
                            s->error);
        s->dive_at = effort->work + 2 * (effort->work - before);
    }
    if (code != DW_OK || s->limits->inner || s->best->missing > 0 || effort->work < s->polish_at)
        return code;
    before = effort->work;
    code = dw_polish__run(s->master, s->root, s->prices, relaxed, before / 4, &s->polish_round,
                          s->best, s->error);
    s->polish_at = effort->work / 2 * 3;
    return code;
}

/* --- branching ---------------------------------------------------------------------------- */

static bool add_child(struct search *s, const struct node *node, const struct dw_relaxed *relaxed,
                      struct dw_known *known, size_t count, int64_t lo, int64_t hi)
{
    struct node *child = new_node(node, &relaxed->start, known, relaxed->bound);
    const struct dw_count *what = &s->counts[count];
    if (!child)
        return false;
    /* Each bar has a piece that counts. */
    int64_t most = what->kind == DW_COUNT_STOCK ? s->p->stocks[what->a].count : s->p->n_pieces;
    hi = most < hi ? most : hi;
    bool empty = !tighten(child, count, lo, hi), ok = empty || push(s, child);
    if (empty || !ok)
        free_node(child);
    return ok;
}

static size_t levels_of(const struct search *s, const struct node *node, size_t item)
{
    size_t n = 0;
    for (size_t i = 0; i < node->n_limits; i++) {
        const struct dw_count *count = &s->counts[node->limits[i].count];
        n += count->kind == DW_COUNT_LEVEL && count->a == item;
    }
    return n;
}

/* *split: the node's children take its place. false: no memory. */
static bool branch(struct search *s, const struct node *node, const struct dw_relaxed *relaxed,
                   struct dw_known *known, bool *split)
{
    struct dw_branch choice;
    bool ok;
    bool found = dw_branch__choose(s->p, relaxed, s->lines, known != NULL, &choice, &ok);
    bool full = found && choice.count.kind == DW_COUNT_LEVEL &&
                levels_of(s, node, choice.count.a) + 1 >= DW_LEVELS_MAX;
    *split = ok && found && !full && s->n_open < MAX_OPEN;
    if (!*split)
        return ok;
    size_t count = find_count(s, &choice.count);
    if (count == SIZE_MAX)
        return false;
    int64_t below = (int64_t)floor(choice.value + (choice.at_point ? 0.5 : 0));
    if (!choice.at_point)
        return add_child(s, node, relaxed, known, count, 0, below) &&
               add_child(s, node, relaxed, known, count, below + 1, DW_NO_LIMIT);
    return add_child(s, node, relaxed, known, count, 0, below - 1) &&
           add_child(s, node, relaxed, known, count, below, below) &&
           add_child(s, node, relaxed, known, count, below + 1, DW_NO_LIMIT);
}

/* --- one node ----------------------------------------------------------------------------- */

/* What a complete list of columns gives at once: a plan by branch and cut, the first time a list
 * is made, and a bound from the money that is possible at all. */
static dw_err use_list(struct search *s, const struct node *node, const struct dw_relax *relax,
                       const struct dw_known *known, struct dw_relaxed *relaxed)
{
    struct dw_relax listed = *relax;
    bool empty = false;
    listed.list = dw_known__cols(known);
    listed.n_list = dw_known__n(known);
    if (listed.n_list <= DW_LATTICE_COLS && !s->p->missing &&
        !dw_lattice__raise(s->p, &listed, relaxed, s->best->money))
        return dw_error__nomem(s->error);
    if (node->known || s->p->missing || listed.n_list > MIP_COLS ||
        relaxed->bound >= s->best->money)
        return DW_OK;
    dw_effort__spend(s->master->effort, (int64_t)listed.n_list * 2);
    return dw_pool_mip__run(s->master, &listed, MIP_NODES, s->scratch, s->best, &empty, s->error);
}

/* A list that was too long is tried again when the gap is a tenth narrower. */
static bool worth_listing(const struct search *s, struct node *node,
                          const struct dw_relaxed *relaxed)
{
    dw_money gap = s->best->money - relaxed->bound;
    bool worth = node->known || node->too_wide == 0 || gap <= node->too_wide - node->too_wide / 10;
    if (worth)
        node->too_wide = gap;
    return worth;
}

/* A relaxation that is solved and below the best plan: look for plans, list columns, branch.
 * *done: nothing cheaper is below the node, or its children take its place. */
static dw_err expand(struct search *s, struct node *node, const struct dw_relax *relax,
                     struct dw_relaxed *relaxed, bool *done)
{
    bool whole = false;
    struct dw_known *known = NULL;
    if (!take_whole(s, relaxed, &whole))
        return dw_error__nomem(s->error);
    dw_err code = DW_OK;
    if (!whole && relaxed->bound < s->best->money)
        code = look_for_plans(s, relax, relaxed);
    *done = relaxed->bound >= s->best->money;
    if (code != DW_OK || *done || s->master->effort->stopped)
        return code;
    if (worth_listing(s, node, relaxed))
        code = dw_known__list(s->master, relax, relaxed, node->known, s->best->money, DW_KNOWN_FEW,
                              &known, s->error);
    if (code == DW_OK && known)
        code = use_list(s, node, relax, known, relaxed);
    *done = relaxed->bound >= s->best->money;
    if (code == DW_OK && !*done && !branch(s, node, relaxed, known, done))
        code = dw_error__nomem(s->error);
    if (code == DW_OK && !*done && !known)
        code = dw_known__list(s->master, relax, relaxed, NULL, s->best->money, DW_KNOWN_MANY,
                              &known, s->error);
    if (code == DW_OK && !*done && known && !branch(s, node, relaxed, known, done))
        code = dw_error__nomem(s->error);
    dw_known__drop(known);
    return code;
}

static dw_err solve_node(struct search *s, struct node *node)
{
    struct dw_relax relax;
    struct dw_relaxed relaxed = {0};
    if (!make_relax(s, node, &relax))
        return dw_error__nomem(s->error);
    dw_err code = dw_relax__solve(s->master, &relax, &relaxed, s->error);
    s->n_solved++;
    if (relaxed.bound < node->bound)
        relaxed.bound = node->bound;
    bool done = relaxed.status == DW_RELAX_PRUNED;
    if (code == DW_OK && relaxed.status == DW_RELAX_OPTIMAL)
        code = expand(s, node, &relax, &relaxed, &done);
    if (!done && relaxed.bound < s->given_up)
        s->given_up = relaxed.bound;
    dw_relaxed__free(&relaxed);
    return code;
}

/* What no plan can pass: the least bound of the nodes that are left. */
static dw_money least_bound(const struct search *s)
{
    dw_money bound = s->given_up < s->best->money ? s->given_up : s->best->money;
    if (s->n_open > 0 && s->open[0]->bound < bound)
        bound = s->open[0]->bound;
    return s->best->missing == 0 || s->p->missing ? bound : INT64_MIN / 2;
}

/* --- the search --------------------------------------------------------------------------- */

static bool make(struct search *s)
{
    s->bar = calloc(s->p->n_stocks + 1, sizeof *s->bar);
    s->lines = calloc(s->p->n_stocks + 1, sizeof *s->lines);
    s->scratch = calloc(s->p->n_items + s->p->n_stocks + 1, sizeof *s->scratch);
    return s->bar && s->lines && s->scratch;
}

static bool push_root(struct search *s, const struct dw_relaxed *solved)
{
    struct node *node = new_node(NULL, &solved->start, NULL, INT64_MIN / 2);
    if (!node)
        return false;
    if (s->p->max_kept != DW_UNLIMITED) {
        size_t count = find_count(s, &(struct dw_count){DW_COUNT_KEPT, 0, 0});
        if (count == SIZE_MAX) {
            free_node(node);
            return false;
        }
        tighten(node, count, 0, s->p->max_kept);
    }
    if (push(s, node))
        return true;
    free_node(node);
    return false;
}

static void unmake(struct search *s)
{
    for (size_t i = 0; i < s->n_open; i++)
        free_node(s->open[i]);
    free(s->open);
    free(s->counts);
    free(s->node_counts);
    free(s->lo);
    free(s->hi);
    free(s->bar);
    free(s->lines);
    free(s->scratch);
}

dw_err dw_search__run(struct dw_master *master, const struct dw_relax *root,
                      const struct dw_relaxed *solved, const struct dw_search_limits *limits,
                      struct dw_solution *best, dw_money *bound, struct dw_error *error)
{
    struct search s = {.master = master,
                       .p = master->problem,
                       .root = root,
                       .prices = &solved->prices,
                       .limits = limits,
                       .best = best,
                       .given_up = INT64_MAX,
                       .error = error};
    dw_err code = make(&s) && push_root(&s, solved) ? DW_OK : dw_error__nomem(error);
    while (code == DW_OK && s.n_open > 0 && !master->effort->stopped &&
           (limits->max_nodes == 0 || s.n_solved < limits->max_nodes)) {
        struct node *node = pop(&s);
        bool settled = best->missing == 0 || s.p->missing;
        if (!settled || node->bound < best->money)
            code = solve_node(&s, node);
        free_node(node);
    }
    *bound = least_bound(&s);
    unmake(&s);
    return code;
}
