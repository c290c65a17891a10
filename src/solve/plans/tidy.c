/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Two moves, both on single bars: a piece goes to another bar, or two pieces change places; and
 * one on layouts: two of them become one (2 -> 1 combination of Foerster and Waescher 2000).
 * Last, bars of the shop are changed for shorter ones. */
#include "solve/plans/tidy.h"

#include <stdlib.h>

#define BUDGET      400000 /* pairs of pieces that are tried */
#define MAX_LAYOUTS 600

struct tidy {
    const struct dw_problem *p;
    struct dw_pool *pool;
    struct dw_effort *effort;
    struct dw_solution *solution;
    bool *accepts;                    /* n_kinds x n_items */
    struct dw_entry *room_a, *room_b; /* length n_items + 1: drafts */
    int64_t tries;
    bool nomem;
};

/* --- one bar with a piece less and a piece more ------------------------------------------- */

/* col - out + in (DW_NONE: none of it). false: it does not fit or may not be. */
static bool change(const struct tidy *t, const struct dw_col *col, size_t out, size_t in,
                   struct dw_entry *entries, struct dw_col *draft)
{
    const struct dw_problem *p = t->p;
    const struct dw_bar_kind *kind = &p->kinds[p->stocks[col->stock].kind];
    bool placed = in == DW_NONE;
    *draft = *col;
    draft->entries = entries;
    draft->n = 0;
    draft->left +=
        (out == DW_NONE ? 0 : p->items[out].size) - (in == DW_NONE ? 0 : p->items[in].size);
    if (draft->left < 0)
        return false;
    for (size_t i = 0; i < col->n; i++) {
        int64_t count = col->entries[i].count - (col->entries[i].item == out);
        if (!placed && col->entries[i].item >= in) {
            placed = true;
            if (col->entries[i].item == in)
                count++;
            else
                entries[draft->n++] = (struct dw_entry){in, 1};
        }
        if (count > 0)
            entries[draft->n++] = (struct dw_entry){col->entries[i].item, count};
    }
    if (!placed)
        entries[draft->n++] = (struct dw_entry){in, 1};
    bool keepable = dw_bar_kind__kept(p, kind, draft->left) != DW_NEVER;
    draft->kept = keepable && (p->max_kept == DW_UNLIMITED || col->kept);
    return dw_col__holds(p, draft) &&
           (draft->kept || dw_bar_kind__thrown(p, kind, draft->left) != DW_NEVER);
}

static dw_wide square_of_rest(const struct dw_problem *p, const struct dw_col *col)
{
    const struct dw_bar_kind *kind = &p->kinds[p->stocks[col->stock].kind];
    dw_wide r = dw_bar_kind__leftover(p, kind, col->left - col->slack);
    return r * r;
}

/* --- the move ----------------------------------------------------------------------------- */

static size_t use_of(const struct tidy *t, const struct dw_col *col)
{
    for (size_t u = 0; u < t->solution->n; u++)
        if (t->solution->uses[u].count > 0 && t->solution->uses[u].col == col)
            return u;
    return DW_NONE;
}

/* Change in the number of layouts when a bar of `from` becomes one of `to` (NULL: goes). */
static int layouts_change(const struct tidy *t, const struct dw_col *const from[2],
                          const struct dw_col *const to[2])
{
    int change_of = 0;
    const struct dw_col *seen[4] = {from[0], from[1], to[0], to[1]};
    for (int i = 0; i < 4; i++) {
        bool again = !seen[i];
        for (int j = 0; j < i; j++)
            again = again || seen[j] == seen[i];
        if (again)
            continue;
        size_t u = use_of(t, seen[i]);
        int64_t before = u == DW_NONE ? 0 : t->solution->uses[u].count, after = before;
        for (int j = 0; j < 2; j++)
            after += (to[j] == seen[i]) - (from[j] == seen[i]);
        change_of += (after > 0) - (before > 0);
    }
    return change_of;
}

static bool apply(struct tidy *t, const struct dw_col *const from[2],
                  const struct dw_col *const to[2])
{
    for (int j = 0; j < 2; j++)
        t->solution->uses[use_of(t, from[j])].count--;
    for (int j = 0; j < 2; j++)
        if (to[j] && !dw_solution__add(t->solution, to[j], 1))
            return false;
    return true;
}

/* Tries to move piece i of bar a to bar b, and piece j back (DW_NONE: none). */
static bool try_move(struct tidy *t, const struct dw_col *a, const struct dw_col *b, size_t i,
                     size_t j)
{
    const struct dw_problem *p = t->p;
    struct dw_col new_a, new_b;
    t->tries++;
    if (!change(t, b, j, i, t->room_b, &new_b))
        return false;
    bool gone = a->n == 1 && a->entries[0].count == 1 && j == DW_NONE;
    if (!gone && !change(t, a, i, j, t->room_a, &new_a))
        return false;
    dw_money before = a->money + b->money, after = dw_col__money(p, &new_b);
    after += gone ? -p->stocks[a->stock].price : dw_col__money(p, &new_a);
    if (after > before)
        return false;
    const struct dw_col *from[2] = {a, b}, *to[2] = {NULL, dw_pool__add(t->pool, &new_b)};
    to[0] = gone ? NULL : dw_pool__add(t->pool, &new_a);
    if (!to[1] || (!gone && !to[0])) {
        t->nomem = true;
        return false;
    }
    if (after == before && !gone) {
        int layouts = layouts_change(t, from, to);
        dw_wide rest = square_of_rest(p, to[0]) + square_of_rest(p, to[1]) - square_of_rest(p, a) -
                       square_of_rest(p, b);
        if (layouts > 0 || (layouts == 0 && rest <= 0))
            return false;
    }
    if (!apply(t, from, to))
        t->nomem = true;
    return !t->nomem;
}

/* --- going through all of them ------------------------------------------------------------ */

static bool movable(const struct tidy *t, const struct dw_col *col)
{
    const struct dw_bar_stock *stock = &t->p->stocks[col->stock];
    return col->slack == 0 && stock->n_firsts == 0 && !stock->stepped;
}

static bool takes(const struct tidy *t, const struct dw_col *col, size_t item)
{
    return t->accepts[t->p->stocks[col->stock].kind * t->p->n_items + item];
}

/* All moves between one bar of use u and one of use v. */
static bool improve_pair(struct tidy *t, size_t u, size_t v)
{
    const struct dw_col *a = t->solution->uses[u].col, *b = t->solution->uses[v].col;
    for (size_t i = 0; i < a->n && !t->nomem; i++) {
        size_t out = a->entries[i].item;
        if (!takes(t, b, out))
            continue;
        if (try_move(t, a, b, out, DW_NONE))
            return true;
        for (size_t j = 0; j < b->n && !t->nomem; j++)
            if (b->entries[j].item != out && takes(t, a, b->entries[j].item) &&
                try_move(t, a, b, out, b->entries[j].item))
                return true;
    }
    return false;
}

static bool improve_any(struct tidy *t)
{
    const struct dw_solution *s = t->solution;
    for (size_t u = 0; u < s->n && !dw_effort__late(t->effort); u++)
        for (size_t v = 0; v < s->n; v++) {
            bool two = u != v || s->uses[u].count > 1;
            if (t->nomem || t->tries > BUDGET)
                return false;
            if (two && s->uses[u].count > 0 && s->uses[v].count > 0 && movable(t, s->uses[u].col) &&
                movable(t, s->uses[v].col) && improve_pair(t, u, v))
                return true;
        }
    return false;
}

/* --- two layouts into one ----------------------------------------------------------------- */

/* Pieces of the next item of either layout, by increasing item, on all their bars; i and j go on
 * along the entries. */
static int64_t next_pieces(const struct dw_use_col *u, const struct dw_use_col *v, size_t *i,
                           size_t *j, size_t *item)
{
    const struct dw_entry *a = *i < u->col->n ? &u->col->entries[*i] : NULL;
    const struct dw_entry *b = *j < v->col->n ? &v->col->entries[*j] : NULL;
    int64_t pieces = 0;
    *item = a && (!b || a->item <= b->item) ? a->item : b->item;
    if (a && a->item == *item) {
        pieces += u->count * a->count;
        ++*i;
    }
    if (b && b->item == *item) {
        pieces += v->count * b->count;
        ++*j;
    }
    return pieces;
}

/* The layout that as many bars as use u and v together would need; false if there is none. */
static bool join_draft(const struct tidy *t, const struct dw_use_col *u, const struct dw_use_col *v,
                       struct dw_col *draft)
{
    const struct dw_problem *p = t->p;
    const struct dw_bar_kind *kind = &p->kinds[p->stocks[u->col->stock].kind];
    int64_t bars = u->count + v->count;
    *draft = *u->col;
    draft->entries = t->room_a;
    draft->n = 0;
    draft->left = p->stocks[u->col->stock].cap;
    for (size_t i = 0, j = 0, item = 0; i < u->col->n || j < v->col->n;) {
        int64_t pieces = next_pieces(u, v, &i, &j, &item);
        if (pieces % bars != 0)
            return false;
        t->room_a[draft->n++] = (struct dw_entry){item, pieces / bars};
        draft->left -= pieces / bars * p->items[item].size;
    }
    if (draft->left < 0)
        return false;
    bool keepable = dw_bar_kind__kept(p, kind, draft->left) != DW_NEVER;
    draft->kept = keepable && (p->max_kept == DW_UNLIMITED || (u->col->kept && v->col->kept));
    return dw_col__holds(p, draft) &&
           (draft->kept || dw_bar_kind__thrown(p, kind, draft->left) != DW_NEVER);
}

static bool join_pair(struct tidy *t, size_t a, size_t b)
{
    struct dw_use_col *u = &t->solution->uses[a], *v = &t->solution->uses[b];
    struct dw_col draft;
    if (u->col->stock != v->col->stock || !movable(t, u->col) || !movable(t, v->col) ||
        !join_draft(t, u, v, &draft))
        return false;
    int64_t bars = u->count + v->count;
    if (dw_col__money(t->p, &draft) * bars > u->col->money * u->count + v->col->money * v->count)
        return false;
    const struct dw_col *col = dw_pool__add(t->pool, &draft);
    u->count = v->count = 0;
    if (!col || !dw_solution__add(t->solution, col, bars))
        t->nomem = true;
    return true;
}

static bool join_any(struct tidy *t)
{
    bool joined = false;
    for (size_t u = 0; u < t->solution->n && !t->nomem && !dw_effort__late(t->effort); u++)
        for (size_t v = u + 1; v < t->solution->n && !t->nomem; v++)
            if (t->solution->uses[u].count > 0 && t->solution->uses[v].count > 0)
                joined = join_pair(t, u, v) || joined;
    return joined;
}

/* --- shorter pieces of the shop for the same money ----------------------------------------- */

static bool is_held(const struct dw_problem *p, size_t stock)
{
    return p->job->supplies[p->stocks[stock].members[0]].source != DW_SOURCE_NEW;
}

static int64_t used_of(const struct tidy *t, size_t stock)
{
    int64_t used = 0;
    for (size_t u = 0; u < t->solution->n; u++)
        if (t->solution->uses[u].col->stock == stock)
            used += t->solution->uses[u].count;
    return used;
}

/* The layout on a bar of stock k; false where that can't be, or costs other money. */
static bool same_on(const struct tidy *t, const struct dw_col *col, size_t k, struct dw_col *draft)
{
    const struct dw_problem *p = t->p;
    const struct dw_bar_stock *from = &p->stocks[col->stock], *to = &p->stocks[k];
    if (to->kind != from->kind || to->n_firsts > 0 || to->cap >= from->cap || to->stepped)
        return false;
    const struct dw_bar_kind *kind = &p->kinds[to->kind];
    *draft = *col;
    draft->stock = k;
    draft->left -= from->cap - to->cap;
    if (draft->left < 0)
        return false;
    bool keepable = dw_bar_kind__kept(p, kind, draft->left) != DW_NEVER;
    draft->kept = keepable && (p->max_kept == DW_UNLIMITED || col->kept);
    return (draft->kept || dw_bar_kind__thrown(p, kind, draft->left) != DW_NEVER) &&
           to->price + dw_col__money(p, draft) == from->price + col->money;
}

/* One bar of use u from the shortest piece that will do; false: it stays. */
static bool shorten_one(struct tidy *t, size_t u)
{
    const struct dw_problem *p = t->p;
    const struct dw_col *col = t->solution->uses[u].col;
    struct dw_col best = {0}, draft;
    for (size_t k = 0; k < p->n_stocks; k++) {
        bool shorter = best.n == 0 || p->stocks[k].cap < p->stocks[best.stock].cap;
        t->tries++;
        if (shorter && is_held(p, k) && same_on(t, col, k, &draft) &&
            used_of(t, k) < p->stocks[k].count)
            best = draft;
    }
    const struct dw_col *to = best.n > 0 ? dw_pool__add(t->pool, &best) : NULL;
    if (!to)
        return false;
    t->solution->uses[u].count--;
    t->nomem = !dw_solution__add(t->solution, to, 1);
    return !t->nomem;
}

static void shorten_held(struct tidy *t)
{
    const size_t n = t->solution->n;
    for (size_t u = 0; u < n && !t->nomem; u++) {
        const struct dw_col *col = t->solution->uses[u].col;
        if (!movable(t, col) || !is_held(t->p, col->stock))
            continue;
        while (t->solution->uses[u].count > 0 && t->tries < BUDGET && shorten_one(t, u))
            continue;
    }
}

/* --- all of it ---------------------------------------------------------------------------- */

static void drop_unused(struct dw_solution *solution)
{
    size_t n = 0;
    for (size_t u = 0; u < solution->n; u++)
        if (solution->uses[u].count > 0)
            solution->uses[n++] = solution->uses[u];
    solution->n = n;
}

static bool make(struct tidy *t)
{
    const struct dw_problem *p = t->p;
    t->accepts = calloc(p->n_kinds * p->n_items + 1, sizeof *t->accepts);
    t->room_a = calloc(p->n_items + 2, sizeof *t->room_a);
    t->room_b = calloc(p->n_items + 2, sizeof *t->room_b);
    if (!t->accepts || !t->room_a || !t->room_b)
        return false;
    for (size_t q = 0; q < p->n_kinds; q++)
        for (size_t i = 0; i < p->kinds[q].n_items; i++)
            t->accepts[q * p->n_items + p->kinds[q].items[i]] = true;
    return true;
}

bool dw_tidy__run(const struct dw_problem *problem, struct dw_pool *pool, struct dw_effort *effort,
                  struct dw_solution *solution, int64_t *scratch)
{
    struct tidy t = {.p = problem, .pool = pool, .effort = effort, .solution = solution};
    if (solution->n > MAX_LAYOUTS || problem->missing)
        return true;
    bool ok = make(&t);
    if (ok) {
        while (join_any(&t) || improve_any(&t))
            drop_unused(solution);
        shorten_held(&t);
        drop_unused(solution);
        dw_effort__spend(effort, t.tries / 10);
        dw_solution__settle(problem, solution, scratch);
    }
    free(t.accepts);
    free(t.room_a);
    free(t.room_b);
    return ok && !t.nomem;
}
