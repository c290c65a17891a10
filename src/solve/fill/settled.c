/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is rounded of a settled relaxation, and what is then drawn. */
#include "solve/fill/settled.h"
#include "solve/budget/random.h"
#include "solve/fill/fill.h"

#include <math.h>
#include <stdlib.h>

#define MAX_ROUNDINGS 8

struct settled {
    struct dw_master *master;
    const struct dw_problem *p;
    const struct dw_relax *relax;
    const struct dw_relaxed *solved;
    const struct dw_solution *best; /* what is to be improved */
    int64_t *bars;                  /* length n_stocks: still to be given */
    int64_t *left;                  /* length n_items: pieces still to be given */
    int64_t kept;                   /* leftovers still to be kept */
    double none;                    /* money but for exact fills and what is kept */
    size_t n_given, given_room;
    struct dw_fill_bars *given; /* length n_given: bars and what is on them already */
    struct dw_arena *arena;     /* of their pieces */
    struct dw_solution plan;
    int64_t *scratch; /* length n_items + n_stocks */
    bool *drawn;      /* length n_items: pieces that any bar can give, of one length */
    uint64_t seed;
    struct dw_error *error;
};

static bool make(struct settled *s)
{
    s->bars = calloc(s->p->n_stocks + 1, sizeof *s->bars);
    s->left = calloc(s->p->n_items + 1, sizeof *s->left);
    s->scratch = calloc(s->p->n_items + s->p->n_stocks + 1, sizeof *s->scratch);
    s->drawn = calloc(s->p->n_items + 1, sizeof *s->drawn);
    s->arena = dw_arena__new();
    if (!s->bars || !s->left || !s->scratch || !s->drawn || !s->arena)
        return false;
    for (size_t i = 0; i < s->p->kinds[0].n_items; i++) {
        const size_t item = s->p->kinds[0].items[i];
        s->drawn[item] = !s->p->items[item].post && s->p->items[item].slack == 0;
    }
    return true;
}

static void unmake(struct settled *s)
{
    free(s->bars);
    free(s->left);
    free(s->scratch);
    free(s->drawn);
    free(s->given);
    dw_arena__free(s->arena);
    dw_solution__free(&s->plan);
}

/* --- what is settled ---------------------------------------------------------------------- */

static dw_money kept_worth(const struct dw_problem *p, const struct dw_col *col)
{
    const struct dw_bar_kind *kind = &p->kinds[p->stocks[col->stock].kind];
    return col->kept ? dw_bar_kind__kept(p, kind, col->left - col->slack) : 0;
}

/* A count that is whole. */
static int64_t whole(const struct settled *s, enum dw_bar_count_kind kind, size_t a)
{
    const struct dw_bar_count count = {.kind = kind, .a = a};
    return (int64_t)(dw_relaxed__count(s->p, s->solved, &count) + 0.5);
}

/* Bars, posts, kept leftovers and money of the relaxation. */
static void begin(struct settled *s)
{
    const struct dw_problem *p = s->p;
    const struct dw_bar_count exact = {.kind = DW_COUNT_EXACT};
    for (size_t i = 0; i < p->n_items; i++)
        s->left[i] = p->items[i].post ? whole(s, DW_COUNT_MADE, i) : s->relax->demand[i];
    for (size_t k = 0; k < p->n_stocks; k++)
        s->bars[k] = whole(s, DW_COUNT_STOCK, k);
    s->kept = whole(s, DW_COUNT_KEPT, 0);
    s->none = s->solved->value;
    for (size_t j = 0; j < s->solved->n; j++)
        s->none += s->solved->support[j].x * (double)kept_worth(p, s->solved->support[j].col);
    s->none += dw_relaxed__count(p, s->solved, &exact) * (double)p->cut_cost;
    s->n_given = 0;
    dw_solution__clear(&s->plan);
}

/* --- bars that are not simply filled ------------------------------------------------------ */

/* Pieces of entry i that are not drawn: a bent first part, posts, parts of a range. */
static int64_t in_lead(const struct settled *s, const struct dw_col *col, size_t i)
{
    const struct dw_entry *entry = &col->entries[i];
    if (!s->drawn[entry->item])
        return entry->count;
    return entry->count - dw_col__tail_count(s->p, col, entry->item);
}

static bool is_special(const struct settled *s, const struct dw_col *col)
{
    bool special = col->first != DW_NONE || col->kept;
    for (size_t i = 0; !special && i < col->n; i++)
        special = in_lead(s, col, i) > 0;
    return special;
}

/* Whether one more bar begins and ends like that of the column. */
static bool lead_fits(const struct settled *s, const struct dw_col *col)
{
    bool fits = s->bars[col->stock] > 0 && (!col->kept || s->kept > 0);
    for (size_t i = 0; fits && i < col->n; i++)
        fits = s->left[col->entries[i].item] >= in_lead(s, col, i);
    return fits;
}

static void take(struct settled *s, const struct dw_col *col)
{
    s->bars[col->stock]--;
    s->kept -= col->kept;
    s->none -= (double)kept_worth(s->p, col);
    for (size_t i = 0; i < col->n; i++)
        s->left[col->entries[i].item] -= in_lead(s, col, i);
}

/* Whether a bar of the stock, filled exactly, saves the last cut's money. */
static bool saves_cut(const struct dw_problem *p, size_t stock)
{
    return p->cut_cost > 0 && p->kinds[p->stocks[stock].kind].tail == 0;
}

/* Whether a bar that leaves so much could not throw it away, or would keep it. */
static bool is_too_long(const struct dw_problem *p, const struct dw_bar_kind *kind, int64_t rest)
{
    const int64_t r = dw_bar_kind__leftover(p, kind, rest);
    return (p->job->rules.no_middling && r > p->job->rules.scrap_max) ||
           (p->max_kept == DW_UNLIMITED && dw_bar_kind__keepable(p, kind, r));
}

/* The longest rest of a bar that is thrown away. */
static int64_t most_thrown(const struct dw_problem *p, const struct dw_bar_stock *stock)
{
    const struct dw_bar_kind *kind = &p->kinds[stock->kind];
    int64_t low = 0, high = stock->cap;
    while (low < high) {
        int64_t middle = high - (high - low) / 2;
        if (is_too_long(p, kind, middle))
            high = middle - 1;
        else
            low = middle;
    }
    return low;
}

/* A bar that begins and ends like that of the column; its other pieces are drawn. */
static bool give_lead(struct settled *s, const struct dw_col *col)
{
    const struct dw_problem *p = s->p;
    const struct dw_bar_stock *stock = &p->stocks[col->stock];
    struct dw_entry *entries = dw_arena__alloc(s->arena, col->n, sizeof *entries);
    if (!entries || !dw_array__grow(&s->given, &s->given_room, s->n_given + 1, sizeof *s->given))
        return false;
    struct dw_fill_bars bars = {.lead = *col, .n = 1, .room = 0};
    bars.lead.n = 0;
    bars.lead.entries = entries;
    bars.lead.left = col->kept ? col->left : 0;
    bars.lead.slack = col->first == DW_NONE ? 0 : stock->firsts[col->first].slack;
    for (size_t i = 0; i < col->n; i++) {
        const int64_t count = in_lead(s, col, i);
        const struct dw_item *item = &p->items[col->entries[i].item];
        bars.room += (col->entries[i].count - count) * item->size;
        if (count == 0)
            continue;
        entries[bars.lead.n++] = (struct dw_entry){col->entries[i].item, count};
        bars.lead.slack += dw_col__tail_count(p, col, col->entries[i].item) * item->slack;
    }
    bars.counted = !col->kept && bars.lead.slack == 0 && saves_cut(p, col->stock);
    bars.most_left = col->kept             ? stock->cap
                     : bars.lead.slack > 0 ? bars.lead.slack
                                           : most_thrown(p, stock);
    if (!col->kept && bars.lead.slack > 0 && saves_cut(p, col->stock))
        s->none -= (double)p->cut_cost; /* its pieces take up whatever is left */
    if (col->kept)
        bars.lead.slack = 0;
    else
        bars.room += col->left;
    s->given[s->n_given++] = bars;
    return true;
}

/* Fixes the bar: as it is where it has no piece to be drawn. */
static bool fix_lead(struct settled *s, const struct dw_col *col)
{
    bool more = false;
    for (size_t i = 0; i < col->n; i++)
        more = more || in_lead(s, col, i) < col->entries[i].count;
    take(s, col);
    if (more)
        return give_lead(s, col);
    if (dw_col__exact(s->p, col))
        s->none -= (double)s->p->cut_cost;
    return dw_solution__add(&s->plan, col, 1);
}

/* One of the special columns that fit, by how often it is cut beyond a whole number of times.
 * NULL: none fits. */
static const struct dw_col *draw_lead(struct settled *s)
{
    double all = 0;
    const struct dw_col *last = NULL;
    for (int turn = 0; turn < 2; turn++) {
        double chance = turn == 0 ? 0 : dw_random__uniform(&s->seed) * all;
        for (size_t j = 0; j < s->solved->n; j++) {
            const struct dw_support *support = &s->solved->support[j];
            if (!is_special(s, support->col) || !lead_fits(s, support->col))
                continue;
            double part = support->x - floor(support->x) + 1e-3;
            all += turn == 0 ? part : 0;
            chance -= part;
            last = support->col;
            if (turn == 1 && chance < 0)
                return last;
        }
    }
    return last;
}

static bool all_given(const struct settled *s)
{
    bool given = s->kept == 0;
    for (size_t k = 0; k < s->p->n_stocks; k++)
        given = given && (s->p->stocks[k].n_firsts == 0 || s->bars[k] == 0);
    for (size_t i = 0; i < s->p->n_items; i++)
        given = given && (s->drawn[i] || s->left[i] == 0);
    return given;
}

/* Bars with all that is special, rounded at random. *done: nothing of it is left. false: no
 * memory. */
static bool give_special(struct settled *s, bool *done)
{
    begin(s);
    for (size_t j = 0; j < s->solved->n; j++) {
        const struct dw_support *support = &s->solved->support[j];
        if (!is_special(s, support->col))
            continue;
        for (int64_t times = (int64_t)(support->x + 1e-6); times > 0 && lead_fits(s, support->col);
             times--)
            if (!fix_lead(s, support->col))
                return false;
    }
    while (!(*done = all_given(s))) {
        const struct dw_col *col = draw_lead(s);
        if (!col)
            return true;
        if (!fix_lead(s, col))
            return false;
    }
    return true;
}

/* --- bars that are ------------------------------------------------------------------------ */

static bool give_others(struct settled *s)
{
    for (size_t k = 0; k < s->p->n_stocks; k++) {
        const struct dw_bar_stock *stock = &s->p->stocks[k];
        if (s->bars[k] == 0)
            continue;
        if (!dw_array__grow(&s->given, &s->given_room, s->n_given + 1, sizeof *s->given))
            return false;
        s->given[s->n_given++] = (struct dw_fill_bars){.lead = {.stock = k, .first = DW_NONE},
                                                       .n = s->bars[k],
                                                       .room = stock->cap,
                                                       .most_left = most_thrown(s->p, stock),
                                                       .counted = saves_cut(s->p, k)};
    }
    return true;
}

/* How many of the bars that are counted are to be exact for a plan cheaper than the best; -1: more
 * than there are, or nothing helps. */
static int64_t choose_exact(const struct settled *s)
{
    const double over = s->none - (double)(s->best->money - s->p->grid);
    int64_t counted = 0;
    for (size_t g = 0; g < s->n_given; g++)
        counted += s->given[g].counted ? s->given[g].n : 0;
    if (over < 0.5)
        return 0;
    double exact = s->p->cut_cost > 0 ? ceil(over / (double)s->p->cut_cost - 1e-6) : 1e18;
    return exact > (double)counted ? -1 : (int64_t)exact;
}

static dw_err fill_bars(struct settled *s, int64_t work, uint64_t seed, struct dw_solution *best)
{
    bool found = false;
    const int64_t exact = choose_exact(s);
    if (exact < 0)
        return DW_OK;
    dw_err code = dw_fill__run(s->master, s->left, s->given, s->n_given, exact, work, seed,
                               &s->plan, &found, s->error);
    if (code != DW_OK || !found)
        return code;
    s->plan.method = "column generation, layouts drawn";
    return dw_solution__offer(s->p, &s->plan, s->scratch, best) ? DW_OK : dw_error__nomem(s->error);
}

dw_err dw_settled__plan(struct dw_master *master, const struct dw_relax *relax,
                        const struct dw_relaxed *solved, int64_t work, uint64_t seed,
                        struct dw_solution *best, struct dw_error *error)
{
    struct settled s = {.master = master,
                        .p = master->problem,
                        .relax = relax,
                        .solved = solved,
                        .best = best,
                        .seed = UINT64_C(0xD1B54A32D192ED03) * (2 * seed + 1), /* never 0 */
                        .error = error};
    if (s.p->n_kinds != 1)
        return DW_OK;
    bool ok = make(&s), done = false;
    for (int turn = 0; ok && !done && turn < MAX_ROUNDINGS; turn++)
        ok = give_special(&s, &done);
    ok = ok && (!done || give_others(&s));
    dw_err code = ok ? DW_OK : dw_error__nomem(error);
    if (ok && done)
        code = fill_bars(&s, work, seed, best);
    unmake(&s);
    return code;
}
