/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solve/draws.h"
#include "solve/fill_core.h"

#include <stdlib.h>
#include <string.h>

enum { ROUGH_SWEEPS = 16, FIRST_SWEEPS = 64, NEXT_SWEEPS = 24 };
enum { SHARES = 4, JUMPS = 4 }; /* times that waste is shared out; jumps back of each */
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

/* --- bars that are fixed ------------------------------------------------------------------ */

bool dw_fill__fix(struct dw_fill__state *state, size_t sort, const struct dw_csp_item *items,
                  size_t n)
{
    if (!dw_array__grow(&state->made, &state->made_room, state->list.n + 1, sizeof *state->made) ||
        !dw_csp__list_add(&state->list, 1, items, n))
        return false;
    state->made[state->list.n - 1] = sort;
    for (size_t k = 0; k < n; k++)
        state->left[items[k].type] -= items[k].count;
    state->bars[sort]--;
    return true;
}

void dw_fill__take_back(struct dw_fill__state *state)
{
    const struct dw_csp__cut *cut = &state->list.cuts[state->list.n - 1];
    for (size_t k = 0; k < cut->n; k++)
        state->left[state->list.items[cut->first + k].type] +=
            state->list.items[cut->first + k].count;
    state->bars[state->made[state->list.n - 1]]++;
    dw_csp__list_cut(&state->list, state->list.n - 1);
}

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
        fill->target[fill->n_target] =
            (struct dw_gibbs_bars){.capacity = state->sorts[k].capacity, .n = state->bars[k]};
        fill->target_sort[fill->n_target++] = k;
    }
    fill->nomem |= !dw_gibbs__target(fill->gibbs, state->left, fill->target, fill->n_target, 0);
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
    bool ok = state->bars[one->sort] > 0;
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

/* One way to share out the waste. */
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

/* The weights while the open bars may still leave any waste. false: no layouts for all of them. */
static bool weigh(struct fill *fill)
{
    const struct dw_fill__state *state = &fill->state;
    double error;
    for (size_t g = 0; g < state->n_given; g++)
        fill->target[g] = (struct dw_gibbs_bars){state->given[g].capacity, state->given[g].n,
                                                 state->given[g].most_waste};
    fill->nomem |=
        !dw_gibbs__target(fill->gibbs, state->left, fill->target, state->n_given, state->waste);
    return !fill->nomem && sweep(fill, ROUGH_SWEEPS, &error) && dw_gibbs__ready(fill->gibbs);
}

static bool share_and_search(struct fill *fill)
{
    bool possible = true;
    for (int share = 0; share < SHARES && go_on(fill); share++) {
        if (!weigh(fill))
            return false;
        fill->nomem |= !dw_fill__share(&fill->state, fill->gibbs, &fill->seed, &possible);
        if (fill->nomem || !possible)
            return false;
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
        unit = dw_gcd__i64(unit, p->stocks[bars[k].stock].cap);
    for (size_t i = 0; i < p->n_items; i++)
        if (left[i] > 0)
            unit = dw_gcd__i64(unit, p->items[i].size);
    return unit;
}

/* The longest waste up to `most` that would not be kept. */
static int64_t most_thrown(const struct dw_problem *p, const struct dw_kind *kind, int64_t most)
{
    int64_t low = 0, high = most;
    if (p->max_kept != DW_UNLIMITED)
        return most;
    while (low < high) {
        int64_t middle = high - (high - low) / 2;
        if (dw_kind__keepable(p, kind, dw_problem__leftover(p, middle)))
            high = middle - 1;
        else
            low = middle;
    }
    return low;
}

static bool allocate(struct fill *fill, size_t n_items, size_t n_bars, size_t n_open)
{
    struct dw_fill__state *state = &fill->state;
    const size_t n_sorts = n_bars + n_open;
    state->size = calloc(n_items + 1, sizeof *state->size);
    state->left = calloc(n_items + 1, sizeof *state->left);
    state->given = calloc(n_bars + 1, sizeof *state->given);
    state->sorts = calloc(n_sorts + 1, sizeof *state->sorts);
    state->bars = calloc(n_sorts + 1, sizeof *state->bars);
    fill->target = calloc(n_sorts + 1, sizeof *fill->target);
    fill->target_sort = calloc(n_sorts + 1, sizeof *fill->target_sort);
    return state->size && state->left && state->given && state->sorts && state->bars &&
           fill->target && fill->target_sort && dw_draws__make(&fill->draws);
}

static bool make(struct fill *fill, const struct dw_problem *p, const int64_t *left,
                 const struct dw_fill_bars *bars, size_t n_bars, int64_t unit, int64_t longest)
{
    struct dw_fill__state *state = &fill->state;
    size_t n_open = 0;
    for (size_t k = 0; k < n_bars; k++)
        n_open += bars[k].open ? (size_t)bars[k].n : 0;
    if (!allocate(fill, p->n_items, n_bars, n_open))
        return false;
    state->n = p->n_items;
    state->n_given = n_bars;
    for (size_t i = 0; i < p->n_items; i++) {
        state->size[i] = p->items[i].size / unit;
        state->left[i] = left[i];
        state->waste -= left[i] * state->size[i];
    }
    for (size_t k = 0; k < n_bars; k++) {
        const int64_t capacity = p->stocks[bars[k].stock].cap / unit;
        state->given[k] = (struct dw_fill__given){bars[k].stock, capacity, bars[k].n, 0};
        state->waste += bars[k].n * capacity;
    }
    for (size_t k = 0; k < n_bars && state->waste > 0; k++)
        if (bars[k].open)
            state->given[k].most_waste =
                most_thrown(p, &p->kinds[p->stocks[bars[k].stock].kind], state->waste * unit) /
                unit;
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
    free(fill->state.given);
    free(fill->state.sorts);
    free(fill->state.bars);
    free(fill->state.made);
    dw_csp__list_free(&fill->state.list);
    dw_gibbs__free(fill->gibbs);
}

/* The fixed bars as columns. false: no memory. */
static bool give(const struct fill *fill, struct dw_master *master, int64_t unit,
                 struct dw_solution *plan)
{
    const struct dw_fill__state *state = &fill->state;
    struct dw_entry *entries = malloc((state->n + 1) * sizeof *entries);
    bool ok = entries != NULL;
    for (size_t b = 0; ok && b < state->list.n; b++) {
        const struct dw_csp__cut *cut = &state->list.cuts[b];
        const struct dw_fill__sort *sort = &state->sorts[state->made[b]];
        for (size_t k = 0; k < cut->n; k++)
            entries[k] = (struct dw_entry){state->list.items[cut->first + k].type,
                                           state->list.items[cut->first + k].count};
        const struct dw_col draft = {.stock = sort->stock,
                                     .first = DW_NONE,
                                     .left = sort->waste * unit,
                                     .n = cut->n,
                                     .entries = entries};
        const struct dw_col *col = dw_pool__add(master->pool, &draft);
        ok = col && dw_solution__add(plan, col, 1);
    }
    free(entries);
    return ok;
}

dw_err dw_fill__run(struct dw_master *master, const int64_t *left, const struct dw_fill_bars *bars,
                    size_t n_bars, int64_t work, uint64_t seed, struct dw_solution *plan,
                    bool *found, struct dw_error *error)
{
    const struct dw_problem *p = master->problem;
    struct fill fill = {.effort = master->effort, .end = master->effort->work + work};
    const int64_t unit = common_unit(p, left, bars, n_bars);
    int64_t longest = 0;
    *found = false;
    for (size_t k = 0; k < n_bars; k++)
        longest = p->stocks[bars[k].stock].cap > longest ? p->stocks[bars[k].stock].cap : longest;
    if (unit == 0 || longest / unit > DW_GIBBS_CELLS)
        return DW_OK;
    fill.seed = UINT64_C(0x9E3779B97F4A7C15) * (2 * seed + 1); /* never 0 */
    fill.nomem = !make(&fill, p, left, bars, n_bars, unit, longest);
    if (!fill.nomem && fill.gibbs && fill.state.waste >= 0)
        *found = share_and_search(&fill);
    if (*found)
        fill.nomem |= !give(&fill, master, unit, plan);
    bool nomem = fill.nomem;
    unmake(&fill);
    return nomem ? dw_error__nomem(error) : DW_OK;
}
