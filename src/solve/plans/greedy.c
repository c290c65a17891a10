/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First-fit decreasing (Johnson 1973) on distinct lengths: the bar that takes the longest piece
 * left is filled with the longest pieces that still fit, and the layout is repeated as often as
 * the demand allows. Which stock that bar is of is the rule's choice. */
#include "solve/plans/greedy.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum rule { RULE_RATE, RULE_WASTE, RULE_MONEY, N_RULES };

struct greedy {
    const struct dw_problem *p;
    struct dw_pool *pool;
    struct dw_effort *effort;
    enum rule rule;
    int64_t *demand;   /* length n_items */
    int64_t *avail;    /* length n_stocks */
    int64_t *used;     /* length n_stocks */
    int64_t kept_left; /* DW_UNLIMITED */
    size_t **next;     /* a kind: length n_items + 1; where to look for items with demand */
    int64_t **size;    /* a kind: length n_items; sizes side by side, for the search */
    double *least;     /* length n_stocks: no layout's rate is less, see least_rate */
    bool posts;        /* there are any */
    int64_t pieces;    /* that may still go on the draft */
    size_t n_fills;    /* bars filled since the work was last counted */
    size_t n;
    struct dw_entry *entries; /* length n_items + 1: the draft */
    struct dw_entry *chosen;  /* length n_items + 1: the best draft so far */
};

/* First position >= j of the kind whose item has demand; path halving as in union-find. */
static size_t active(struct greedy *g, size_t kind, size_t j)
{
    size_t *next = g->next[kind];
    const struct dw_bar_kind *q = &g->p->kinds[kind];
    while (j < q->n_items && g->demand[q->items[j]] == 0) {
        if (next[j] == j)
            next[j] = j + 1;
        if (next[j] < q->n_items)
            next[j] = next[next[j]];
        j = next[j];
    }
    return j;
}

/* First position >= j whose size is at most x. Sizes decrease. */
static size_t first_fit(const struct greedy *g, size_t kind, size_t j, int64_t x)
{
    const int64_t *size = g->size[kind];
    size_t n = g->p->kinds[kind].n_items;
    if (j >= n || size[j] <= x)
        return j;
    size_t lo = j + 1, hi = n;
    while (lo < hi) {
        size_t middle = lo + (hi - lo) / 2;
        if (size[middle] > x)
            lo = middle + 1;
        else
            hi = middle;
    }
    return lo;
}

static int64_t demand_left(const struct greedy *g, size_t item)
{
    int64_t taken = 0;
    for (size_t i = 0; i < g->n; i++)
        if (g->entries[i].item == item)
            taken += g->entries[i].count;
    return g->demand[item] - taken;
}

static int64_t fill_parts(struct greedy *g, size_t kind, int64_t x)
{
    const struct dw_bar_kind *q = &g->p->kinds[kind];
    for (size_t j = active(g, kind, first_fit(g, kind, 0, x)); j < q->n_items;
         j = active(g, kind, first_fit(g, kind, j + 1, x))) {
        const struct dw_item *item = &g->p->items[q->items[j]];
        int64_t left = g->n > 0 && g->entries[0].item == q->items[j] ? demand_left(g, q->items[j])
                                                                     : g->demand[q->items[j]];
        int64_t fits = x / item->size, count = fits < left ? fits : left;
        count = count < g->pieces ? count : g->pieces;
        if (item->post || count <= 0)
            continue;
        g->pieces -= count;
        g->entries[g->n++] = (struct dw_entry){q->items[j], count};
        x -= count * item->size;
    }
    return x;
}

/* What x nm left earn; kept as the cap allows. */
static dw_money credit(const struct greedy *g, size_t kind, int64_t x, bool *kept)
{
    const struct dw_bar_kind *q = &g->p->kinds[kind];
    bool listed = q->kept && !q->points && x % q->cell == 0 && x / q->cell < (int64_t)q->n_cells;
    dw_money keeping = listed ? q->kept[x / q->cell] : dw_bar_kind__kept(g->p, q, x);
    *kept = keeping != DW_NEVER && g->kept_left != 0;
    return *kept ? keeping : dw_bar_kind__thrown(g->p, q, x);
}

/* Posts where they earn more than what is left without them. */
static int64_t fill_posts(struct greedy *g, size_t kind, int64_t x)
{
    const struct dw_bar_kind *q = &g->p->kinds[kind];
    bool kept = false;
    for (size_t j = active(g, kind, first_fit(g, kind, 0, x)); g->posts && j < q->n_items;
         j = active(g, kind, j + 1)) {
        const struct dw_item *item = &g->p->items[q->items[j]];
        int64_t count = 0, left = item->post ? demand_left(g, q->items[j]) : 0;
        while (count < left && item->size <= x && g->pieces > 0) {
            dw_money before = credit(g, kind, x, &kept),
                     after = credit(g, kind, x - item->size, &kept);
            if (after == DW_NEVER ||
                (before != DW_NEVER && after + item->worth - g->p->cut_cost <= before))
                break;
            x -= item->size;
            g->pieces--;
            count++;
        }
        if (count > 0)
            g->entries[g->n++] = (struct dw_entry){q->items[j], count};
    }
    return x;
}

/* A leftover that is not allowed: smallest pieces are taken out again until it is. */
static int64_t repair(struct greedy *g, size_t kind, int64_t x, size_t least_n)
{
    bool kept = false;
    while (credit(g, kind, x, &kept) == DW_NEVER && g->n > 0) {
        struct dw_entry *last = &g->entries[g->n - 1];
        if (g->n <= least_n && last->count == 1)
            break;
        x += g->p->items[last->item].size;
        if (--last->count == 0)
            g->n--;
    }
    return x;
}

/* First of an end-bent stock: the longest bent part with demand, or the bend end. */
static size_t choose_first(const struct greedy *g, const struct dw_bar_stock *stock, size_t must)
{
    for (size_t f = 1; f < stock->n_firsts; f++)
        if (stock->firsts[f].item == must && stock->firsts[f].size <= stock->cap)
            return f;
    for (size_t f = 1; f < stock->n_firsts; f++)
        if (g->demand[stock->firsts[f].item] > 0 && !g->p->items[stock->firsts[f].item].post &&
            stock->firsts[f].size <= stock->cap)
            return f;
    return 0;
}

/* Fills one bar; false if it can't take `must` or no allowed leftover is found. */
static bool fill_bar(struct greedy *g, size_t k, size_t must, struct dw_col *draft)
{
    const struct dw_bar_stock *stock = &g->p->stocks[k];
    int64_t x = stock->cap;
    *draft = (struct dw_col){.stock = k, .first = DW_NONE, .entries = g->entries};
    g->n = 0;
    g->pieces = g->p->kinds[stock->kind].most;
    if (stock->n_firsts > 0) {
        draft->first = choose_first(g, stock, must);
        x -= stock->firsts[draft->first].size;
        if (stock->firsts[draft->first].item != DW_NONE) {
            g->entries[g->n++] = (struct dw_entry){stock->firsts[draft->first].item, 1};
            g->pieces--;
        }
    }
    if (x < 0)
        return false;
    size_t least_n = 1;
    x = fill_posts(g, stock->kind, fill_parts(g, stock->kind, x));
    x = repair(g, stock->kind, x, least_n);
    bool useful = false;
    for (size_t i = 0; i < g->n; i++)
        useful = useful || g->entries[i].item == must;
    draft->n = g->n;
    draft->left = x;
    return useful && credit(g, stock->kind, x, &draft->kept) != DW_NEVER;
}

/* Where leftovers earn nothing and there are no posts, a bar costs at least its price and squaring
 * cuts, and at most all of it is taken: no layout of the stock has a lesser rate, in doubles too,
 * as each operation rounds monotonically. */
static double least_rate(const struct greedy *g, size_t k)
{
    const struct dw_bar_stock *stock = &g->p->stocks[k];
    double money = (double)(stock->price + stock->fixed);
    size_t material = g->p->kinds[stock->kind].material;
    if (g->posts || g->p->job->materials[material].worth.kind != DW_WORTH_NONE)
        return -INFINITY;
    switch (g->rule) {
    case RULE_WASTE:
        return 0;
    case RULE_MONEY:
        return money;
    case RULE_RATE:
    case N_RULES:
        break;
    }
    return money / (double)stock->cap;
}

/* The less the better. */
static double rate(const struct greedy *g, const struct dw_col *draft)
{
    const struct dw_bar_stock *stock = &g->p->stocks[draft->stock];
    double money = (double)(stock->price + dw_col__money(g->p, draft));
    double taken = (double)(stock->cap - draft->left);
    switch (g->rule) {
    case RULE_WASTE:
        return (double)draft->left;
    case RULE_MONEY:
        return money;
    case RULE_RATE:
    case N_RULES:
        break;
    }
    return money / (taken > 0 ? taken : 1);
}

static int64_t repeats(const struct greedy *g, const struct dw_col *draft)
{
    int64_t times = g->avail[draft->stock];
    for (size_t i = 0; i < draft->n; i++) {
        int64_t count = draft->entries[i].count;
        if (i > 0 && draft->entries[0].item == draft->entries[i].item)
            count += draft->entries[0].count; /* a bent one and straight ones */
        int64_t fits = g->demand[draft->entries[i].item] / count;
        times = fits < times ? fits : times;
    }
    if (draft->kept && g->kept_left != DW_UNLIMITED && g->kept_left < times)
        times = g->kept_left;
    return times > 0 ? times : 1;
}

#define FILLS 256 /* bars between two looks at the clock, about a microsecond each */

static void count_fill(struct greedy *g)
{
    if (++g->n_fills < FILLS)
        return;
    g->n_fills = 0;
    dw_effort__spend(g->effort, FILLS);
}

/* Without bends, a piece that is longer than the bar. */
static bool too_long(const struct greedy *g, size_t k, size_t must)
{
    const struct dw_bar_stock *stock = &g->p->stocks[k];
    return stock->n_firsts == 0 && g->p->items[must].size > stock->cap;
}

/* The bar that suits `must` best; of equal ones the first. When the time is over, the first that
 * takes it, so that the plan is whole all the same. false: no bar takes it. */
static bool choose(struct greedy *g, size_t must, struct dw_col *chosen)
{
    double best = INFINITY;
    bool found = false;
    struct dw_col draft;
    for (size_t k = 0; k < g->p->n_stocks && !(found && g->effort->stopped); k++) {
        if (g->avail[k] <= 0 || too_long(g, k, must) || (found && g->least[k] >= best))
            continue;
        count_fill(g);
        if (!fill_bar(g, k, must, &draft))
            continue;
        double r = rate(g, &draft);
        if (found && r >= best)
            continue;
        found = true;
        best = r;
        *chosen = draft;
        struct dw_entry *swap = g->chosen;
        g->chosen = g->entries;
        g->entries = swap;
    }
    return found;
}

/* Cuts the chosen bar as often as may be; false: no bar takes `must`. */
static bool next_layout(struct greedy *g, size_t must, struct dw_solution *out, bool *ok)
{
    struct dw_col draft;
    if (!choose(g, must, &draft))
        return false;
    int64_t times = repeats(g, &draft);
    const struct dw_col *col = dw_pool__add(g->pool, &draft);
    *ok = col && dw_solution__add(out, col, times);
    g->avail[draft.stock] -= times;
    if (draft.kept && g->kept_left != DW_UNLIMITED)
        g->kept_left -= times;
    for (size_t i = 0; i < draft.n; i++) {
        int64_t *demand = &g->demand[draft.entries[i].item];
        int64_t taken = draft.entries[i].count * times;
        *demand = *demand > taken ? *demand - taken : 0;
    }
    return *ok;
}

static void reset(struct greedy *g)
{
    for (size_t i = 0; i < g->p->n_items; i++)
        g->demand[i] = g->p->items[i].count;
    for (size_t k = 0; k < g->p->n_stocks; k++) {
        g->avail[k] = g->p->stocks[k].count;
        g->least[k] = least_rate(g, k);
    }
    for (size_t q = 0; q < g->p->n_kinds; q++)
        for (size_t j = 0; j <= g->p->kinds[q].n_items; j++)
            g->next[q][j] = j;
    g->kept_left = g->p->max_kept;
}

/* Items that no bar takes any more are left missing. `spare`: there is a plan already, so that
 * this one is left unfinished when the time is over. */
static bool run_rule(struct greedy *g, bool spare, struct dw_solution *out)
{
    bool ok = true;
    reset(g);
    dw_solution__clear(out);
    for (size_t i = 0; ok && i < g->p->n_items; i++) {
        while (ok && !g->p->items[i].post && g->demand[i] > 0 && !(spare && g->effort->stopped))
            if (!next_layout(g, i, out, &ok))
                break;
        if (!g->p->items[i].post)
            g->demand[i] = 0;
        dw_effort__spend(g->effort, (int64_t)g->p->n_stocks);
    }
    return ok;
}

static bool make_kind(struct greedy *g, size_t kind)
{
    const struct dw_bar_kind *q = &g->p->kinds[kind];
    g->next[kind] = calloc(q->n_items + 1, sizeof **g->next);
    g->size[kind] = calloc(q->n_items + 1, sizeof **g->size);
    if (!g->next[kind] || !g->size[kind])
        return false;
    for (size_t j = 0; j < q->n_items; j++)
        g->size[kind][j] = g->p->items[q->items[j]].size;
    return true;
}

static bool make(struct greedy *g)
{
    const struct dw_problem *p = g->p;
    g->demand = calloc(p->n_items + 1, sizeof *g->demand);
    g->avail = calloc(p->n_stocks + 1, sizeof *g->avail);
    g->least = calloc(p->n_stocks + 1, sizeof *g->least);
    g->entries = calloc(p->n_items + 2, sizeof *g->entries);
    g->chosen = calloc(p->n_items + 2, sizeof *g->chosen);
    g->next = calloc(p->n_kinds + 1, sizeof *g->next);
    g->size = calloc(p->n_kinds + 1, sizeof *g->size);
    bool ok = g->demand && g->avail && g->least && g->entries && g->chosen && g->next && g->size;
    for (size_t i = 0; i < p->n_items; i++)
        g->posts = g->posts || p->items[i].post;
    for (size_t q = 0; ok && q < p->n_kinds; q++)
        ok = make_kind(g, q);
    return ok;
}

static void unmake(struct greedy *g)
{
    for (size_t q = 0; q < g->p->n_kinds; q++) {
        if (g->next)
            free(g->next[q]);
        if (g->size)
            free(g->size[q]);
    }
    free(g->next);
    free(g->size);
    free(g->demand);
    free(g->avail);
    free(g->least);
    free(g->entries);
    free(g->chosen);
}

dw_err dw_greedy__solve(const struct dw_problem *problem, struct dw_pool *pool,
                        struct dw_effort *effort, struct dw_solution *out, struct dw_error *error)
{
    struct greedy g = {.p = problem, .pool = pool, .effort = effort};
    struct dw_solution trial = {0};
    int64_t *scratch = calloc(problem->n_items + problem->n_stocks + 1, sizeof *scratch);
    bool ok = make(&g) && scratch;
    bool found = false;
    int n_rules = problem->n_stocks > 1 ? N_RULES : 1; /* a rule chooses between stocks */
    for (int rule = 0; ok && rule < n_rules && !(found && effort->stopped); rule++) {
        g.rule = (enum rule)rule;
        ok = run_rule(&g, found, &trial);
        if (!ok)
            break;
        trial.method = "greedy";
        dw_solution__settle(problem, &trial, scratch);
        if (!found || dw_solution__better(&trial, out))
            ok = dw_solution__copy(out, &trial);
        found = true;
    }
    dw_solution__free(&trial);
    free(scratch);
    unmake(&g);
    return ok ? DW_OK : dw_error__nomem(error);
}
