/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars fixed step by step by what the distribution expects, with jumps back. */
#include "solve/fill/draws.h"
#include "solve/fill/core.h"

#include <stdlib.h>
#include <string.h>

enum { ROUGH_SWEEPS = 16, FIRST_SWEEPS = 64, NEXT_SWEEPS = 24 };
enum { TRIES = 4, JUMPS = 4 };               /* from the beginning; jumps back of each */
enum { LAST_BARS = 6, LAST_NODES = 100000 }; /* searched exactly */
static const double GOOD_ERROR = 0.01;       /* mean relative error where sweeping ends */
static const double BAD_ERROR = 0.05;        /* no plan is to be hoped for */
static const double NEARLY_SURE = 0.9; /* expected bars of a layout that is fixed with others */
static const double LEAST_PLANS = -10; /* logarithm; the estimate is low */
static const double LOOSE = 0.3; /* no layout is expected more often: many are fixed at once */

/* Where a step began. */
struct step {
    size_t n_made;
    double *w; /* length n */
};

struct fill {
    struct dw_fill__state state;
    struct dw_effort *effort;
    int64_t end; /* of the work */
    struct dw_gibbs *gibbs;
    size_t n_target;
    struct dw_gibbs_bars *target; /* length n_target: the sorts with bars left ... */
    size_t *target_sort;          /* ... and which they are */
    uint64_t seed;
    int dead_ends;
    bool known; /* that plans abound */
    bool hopeless;
    bool nomem;
    size_t n_steps, step_room;
    struct step *steps;
    struct dw_draws draws;
};

static int64_t bars_left(const struct dw_fill__state *state)
{
    int64_t bars = 0;
    for (size_t k = 0; k < state->n_sorts; k++)
        bars += state->bars[k];
    return bars;
}

/* --- steps -------------------------------------------------------------------------------- */

static bool push_step(struct fill *fill)
{
    size_t n = fill->state.n;
    struct step step = {fill->state.list.n, malloc((n + 1) * sizeof(double))};
    if (!step.w ||
        !dw_array__grow(&fill->steps, &fill->step_room, fill->n_steps + 1, sizeof *fill->steps)) {
        free(step.w);
        return false;
    }
    memcpy(step.w, dw_gibbs__weights(fill->gibbs), n * sizeof *step.w);
    fill->steps[fill->n_steps++] = step;
    return true;
}

static void pop_steps(struct fill *fill, size_t keep)
{
    while (fill->n_steps > keep)
        free(fill->steps[--fill->n_steps].w);
}

/* After a dead end: back by an eighth of the way, every second time by a quarter, every fourth by
 * half (the ruler sequence). */
static void jump_back(struct fill *fill)
{
    static const double keep[] = {0.875, 0.75, 0.5};
    size_t rank = (size_t)__builtin_ctz((unsigned)++fill->dead_ends);
    size_t to = rank < DW_COUNT(keep) ? (size_t)((double)fill->n_steps * keep[rank]) : 0;
    const struct step *step = &fill->steps[to];
    while (fill->state.list.n > step->n_made)
        dw_fill__take_back(&fill->state);
    memcpy(dw_gibbs__weights(fill->gibbs), step->w, fill->state.n * sizeof *step->w);
    pop_steps(fill, to);
}

/* --- fitting and drawing ------------------------------------------------------------------ */

static bool spend(struct fill *fill, int64_t work)
{
    dw_effort__spend(fill->effort, work);
    return !fill->effort->stopped && fill->effort->work < fill->end;
}

static bool sweep(struct fill *fill, int most, double *error)
{
    for (*error = 1; most > 0 && *error >= GOOD_ERROR; most--) {
        *error = dw_gibbs__sweep(fill->gibbs);
        if (!spend(fill, dw_gibbs__cost(fill->gibbs)) || *error < 0)
            return false;
    }
    return true;
}

static bool aim(struct fill *fill)
{
    const struct dw_fill__state *state = &fill->state;
    fill->n_target = 0;
    for (size_t k = 0; k < state->n_sorts; k++) {
        if (state->bars[k] == 0)
            continue;
        fill->target[fill->n_target] = (struct dw_gibbs_bars){.capacity = state->sorts[k].capacity,
                                                              .n = state->bars[k],
                                                              .most_waste = dw_fill__most(state, k),
                                                              .counted = state->sorts[k].counted};
        fill->target_sort[fill->n_target++] = k;
    }
    fill->nomem |= !dw_gibbs__target(fill->gibbs, state->left, fill->target, fill->n_target,
                                     state->waste, state->exact > 0 ? state->exact : 0);
    return !fill->nomem;
}

/* false: some piece or bar has no layout left, or the work is over. At the first step it is rough,
 * to find what is whole; with that fixed it tells whether plans abound. */
static bool fit(struct fill *fill)
{
    const bool rough = !fill->known;
    double error;
    if (!aim(fill) || !sweep(fill, rough ? ROUGH_SWEEPS : NEXT_SWEEPS, &error))
        return false;
    if (rough && fill->n_steps == 0)
        return dw_gibbs__ready(fill->gibbs);
    if (rough) {
        fill->known = true;
        fill->hopeless =
            !dw_gibbs__ready(fill->gibbs) || dw_gibbs__plans(fill->gibbs) < LEAST_PLANS;
        if (fill->hopeless || (error >= GOOD_ERROR && !sweep(fill, FIRST_SWEEPS, &error)))
            return false;
    }
    return error < BAD_ERROR && dw_gibbs__ready(fill->gibbs);
}

/* Draws layouts for the bars of all sorts. false: no memory. */
static bool draw(struct fill *fill)
{
    struct dw_draws *draws = &fill->draws;
    dw_draws__clear(draws);
    for (size_t k = 0; k < fill->n_target; k++) {
        dw_gibbs__aim(fill->gibbs, k);
        for (int64_t turn = 6 + 4 * fill->target[k].n; turn > 0 && draws->n < DW_DRAWS_MOST; turn--)
            if (!dw_draws__take(draws, fill->gibbs, fill->state.n, fill->target_sort[k],
                                fill->dead_ends > 0, &fill->seed))
                return false;
    }
    dw_draws__rank(draws);
    spend(fill, (int64_t)(draws->n * fill->state.n / 200));
    return true;
}

/* --- fixing ------------------------------------------------------------------------------- */

static bool fits(const struct fill *fill, const struct dw_draw *one)
{
    const struct dw_fill__state *state = &fill->state;
    bool ok = state->bars[one->sort] > 0 && one->waste <= dw_fill__most(state, one->sort);
    for (size_t k = 0; ok && k < one->n; k++)
        ok = state->left[fill->draws.items[one->first + k].type] >=
             fill->draws.items[one->first + k].count;
    return ok;
}

/* How many bars it fixes, at most `most`; -1 without memory. */
static int64_t fix(struct fill *fill, const struct dw_draw *one, int64_t most)
{
    int64_t times = one->expected > 1 ? (int64_t)one->expected : 1, done = 0;
    for (; done < times && done < most && fits(fill, one); done++)
        if (!dw_fill__fix(&fill->state, one->sort, fill->draws.items + one->first, one->n))
            return -1;
    return done;
}

/* Fixes the whole parts of what is expected and layouts that are nearly sure; at least one, or
 * several where none stands out. The last bars are left. false: no memory, or none fits. */
static bool fix_some(struct fill *fill)
{
    const int64_t room = bars_left(&fill->state) - LAST_BARS;
    const bool loose = fill->draws.n > 0 && fill->draws.list[0].expected < LOOSE;
    const int64_t least = loose ? bars_left(&fill->state) / 16 + 1 : 1;
    int64_t fixed = 0;
    for (size_t k = 0; k < fill->draws.n && fixed < room; k++) {
        const struct dw_draw *one = &fill->draws.list[k];
        if (one->expected < NEARLY_SURE && fixed >= least)
            break;
        if (k > 0 && dw_draws__same(&fill->draws, one, one - 1))
            continue;
        int64_t times = fix(fill, one, room - fixed);
        fill->nomem |= times < 0;
        if (fill->nomem)
            return false;
        fixed += times;
    }
    return fixed > 0;
}

/* --- the search --------------------------------------------------------------------------- */

static bool advance(struct fill *fill)
{
    if (!fit(fill))
        return false;
    fill->nomem |= !push_step(fill) || !draw(fill);
    return !fill->nomem && fix_some(fill);
}

static bool finish(struct fill *fill)
{
    int64_t nodes = LAST_NODES;
    bool found = dw_fill__end(&fill->state, &nodes, &fill->nomem);
    spend(fill, (LAST_NODES - nodes) / 40);
    return found;
}

static bool go_on(struct fill *fill)
{
    return !fill->nomem && !fill->hopeless && spend(fill, 0);
}

/* Until it has to begin anew. */
static bool search(struct fill *fill)
{
    for (int jumps = 0; go_on(fill);) {
        if (bars_left(&fill->state) > LAST_BARS) {
            if (advance(fill))
                continue;
        } else if (finish(fill)) {
            return true;
        }
        if (fill->n_steps == 0 || jumps++ >= JUMPS)
            return false;
        jump_back(fill);
    }
    return false;
}

static bool search_again(struct fill *fill)
{
    for (int n = 0; n < TRIES && go_on(fill); n++) {
        if (search(fill))
            return true;
        fill->dead_ends++;
        while (fill->state.list.n > 0)
            dw_fill__take_back(&fill->state);
        pop_steps(fill, 0);
    }
    return false;
}

/* --- from the job and back ---------------------------------------------------------------- */

/* The largest unit of which all lengths are multiples. */
static int64_t common_unit(const struct dw_problem *p, const int64_t *left,
                           const struct dw_fill_bars *bars, size_t n_bars)
{
    int64_t unit = 0;
    for (size_t k = 0; k < n_bars; k++)
        unit = dw_gcd__i64(unit, bars[k].room);
    for (size_t i = 0; i < p->n_items; i++)
        if (left[i] > 0)
            unit = dw_gcd__i64(unit, p->items[i].size);
    return unit;
}

static bool allocate(struct fill *fill, size_t n_items, size_t n_bars)
{
    struct dw_fill__state *state = &fill->state;
    state->size = calloc(n_items + 1, sizeof *state->size);
    state->left = calloc(n_items + 1, sizeof *state->left);
    state->sorts = calloc(n_bars + 1, sizeof *state->sorts);
    state->bars = calloc(n_bars + 1, sizeof *state->bars);
    fill->target = calloc(n_bars + 1, sizeof *fill->target);
    fill->target_sort = calloc(n_bars + 1, sizeof *fill->target_sort);
    return state->size && state->left && state->sorts && state->bars && fill->target &&
           fill->target_sort && dw_draws__make(&fill->draws);
}

static bool make(struct fill *fill, const struct dw_problem *p, const int64_t *left,
                 const struct dw_fill_bars *bars, size_t n_bars, int64_t unit, int64_t longest)
{
    struct dw_fill__state *state = &fill->state;
    if (!allocate(fill, p->n_items, n_bars))
        return false;
    state->n = p->n_items;
    state->n_sorts = n_bars;
    for (size_t i = 0; i < p->n_items; i++) {
        state->size[i] = p->items[i].size / unit;
        state->left[i] = left[i];
        state->waste -= left[i] * state->size[i];
    }
    for (size_t k = 0; k < n_bars; k++) {
        state->sorts[k] = (struct dw_fill__sort){&bars[k], bars[k].room / unit,
                                                 bars[k].most_left / unit, bars[k].counted};
        state->bars[k] = bars[k].n;
        state->waste += bars[k].n * state->sorts[k].capacity;
        state->counted += bars[k].counted ? bars[k].n : 0;
    }
    fill->gibbs = dw_gibbs__new(longest / unit, p->n_items, state->size, state->left);
    return true;
}

static void unmake(struct fill *fill)
{
    pop_steps(fill, 0);
    free(fill->steps);
    free(fill->target);
    free(fill->target_sort);
    dw_draws__free(&fill->draws);
    free(fill->state.size);
    free(fill->state.left);
    free(fill->state.sorts);
    free(fill->state.bars);
    free(fill->state.made);
    dw_layout_list__free(&fill->state.list);
    dw_gibbs__free(fill->gibbs);
}

/* The column of a bar that is fixed; `entries` is scratch. NULL: no memory. */
static const struct dw_col *col_of(const struct dw_fill__state *state, size_t bar,
                                   struct dw_pool *pool, int64_t unit, struct dw_entry *entries)
{
    const struct dw_list_cut *cut = &state->list.cuts[bar];
    const struct dw_fill_bars *given = state->sorts[state->made[bar].sort].given;
    const int64_t left = state->made[bar].waste * unit;
    struct dw_col draft = given->lead;
    for (size_t k = 0; k < draft.n; k++)
        entries[k] = draft.entries[k];
    for (size_t k = 0; k < cut->n; k++)
        entries[draft.n++] = (struct dw_entry){state->list.items[cut->first + k].type,
                                               state->list.items[cut->first + k].count};
    draft.entries = entries;
    draft.left += left;
    draft.slack = left < draft.slack ? left : draft.slack;
    return dw_pool__add(pool, &draft);
}

/* false: no memory. */
static bool give(const struct fill *fill, struct dw_master *master, int64_t unit,
                 struct dw_solution *plan)
{
    struct dw_entry *entries = malloc((2 * fill->state.n + 1) * sizeof *entries);
    bool ok = entries != NULL;
    for (size_t b = 0; ok && b < fill->state.list.n; b++) {
        const struct dw_col *col = col_of(&fill->state, b, master->pool, unit, entries);
        ok = col && dw_solution__add(plan, col, 1);
    }
    free(entries);
    return ok;
}

dw_err dw_fill__run(struct dw_master *master, const int64_t *left, const struct dw_fill_bars *bars,
                    size_t n_bars, int64_t exact, int64_t work, uint64_t seed,
                    struct dw_solution *plan, bool *found, struct dw_error *error)
{
    const struct dw_problem *p = master->problem;
    struct fill fill = {.effort = master->effort, .end = master->effort->work + work};
    const int64_t unit = common_unit(p, left, bars, n_bars);
    int64_t longest = 0;
    *found = false;
    for (size_t k = 0; k < n_bars; k++)
        longest = bars[k].room > longest ? bars[k].room : longest;
    if (unit == 0 || longest / unit > DW_GIBBS_CELLS)
        return DW_OK;
    fill.seed = UINT64_C(0x9E3779B97F4A7C15) * (2 * seed + 1); /* never 0 */
    fill.nomem = !make(&fill, p, left, bars, n_bars, unit, longest);
    fill.state.exact = exact;
    if (!fill.nomem && fill.gibbs && fill.state.waste >= 0)
        *found = search_again(&fill);

    if (*found)
        fill.nomem |= !give(&fill, master, unit, plan);
    bool nomem = fill.nomem;
    unmake(&fill);
    return nomem ? dw_error__nomem(error) : DW_OK;
}
