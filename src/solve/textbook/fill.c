/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layouts fixed by what the distribution expects, with jumps back from dead ends. */
#include "solve/textbook/fill.h"

#include "solve/textbook/greedy.h"
#include "solve/textbook/pack.h"
#include "solve/fill/draws.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_SWEEPS = 64, NEXT_SWEEPS = 8, MORE_SWEEPS = 32 };
enum { LAST_BARS = 16, LAST_PIECES = 200, LAST_NODES = 100000 }; /* searched exactly */
static const double GOOD_ERROR = 0.01; /* mean relative error where sweeping ends */
static const double BAD_ERROR = 0.15;  /* no plan is to be hoped for */
static const double NEARLY_SURE = 0.8; /* expected bars of a layout that is fixed with others */
/* Where no layout is expected more often than this any good ones will do: over many bars with some
 * waste, and else. */
static const double LOOSE = 1, TIGHT_LOOSE = 0.3;
enum { MANY_BARS = 150 };

/* Where a step began. */
struct step {
    size_t n_cuts;
    int64_t bars, waste;
    int64_t *left; /* length n */
    double *w;     /* length n */
};

struct fill {
    struct dw_csp__state *state;
    struct dw_gibbs *gibbs;
    struct dw_layout_list plan;
    int64_t *left; /* length n */
    int64_t bars, waste;
    uint64_t seed;
    int dead_ends;
    size_t n_steps, step_room;
    struct step *steps;
    bool loose;  /* no layout stands out */
    bool frugal; /* then: little waste and long pieces first, else as drawn */
    struct dw_draws draws;
    struct dw_type_count *scratch; /* length n */
};

/* --- steps ---------------------------------------------------------------------------------- */

static bool push_step(struct fill *fill)
{
    size_t n = fill->state->n;
    if (!dw_array__grow(&fill->steps, &fill->step_room, fill->n_steps + 1, sizeof *fill->steps))
        return false;
    struct step step = {fill->plan.n, fill->bars, fill->waste, malloc((n + 1) * sizeof(int64_t)),
                        malloc((n + 1) * sizeof(double))};
    if (!step.left || !step.w) {
        free(step.left);
        free(step.w);
        return false;
    }
    memcpy(step.left, fill->left, n * sizeof *step.left);
    memcpy(step.w, dw_gibbs__weights(fill->gibbs), n * sizeof *step.w);
    fill->steps[fill->n_steps++] = step;
    return true;
}

static void pop_steps(struct fill *fill, size_t keep)
{
    while (fill->n_steps > keep) {
        fill->n_steps--;
        free(fill->steps[fill->n_steps].left);
        free(fill->steps[fill->n_steps].w);
    }
}

/* After a dead end: back by an eighth of the way, every second time by a quarter, every fourth by
 * half, every eighth by three quarters, else to the start (the ruler sequence). */
static void jump_back(struct fill *fill)
{
    static const double keep[] = {0.875, 0.75, 0.5, 0.25};
    size_t rank = (size_t)__builtin_ctz((unsigned)++fill->dead_ends), n = fill->state->n;
    size_t to = rank < DW_COUNT(keep) ? (size_t)((double)fill->n_steps * keep[rank]) : 0;
    if (to >= fill->n_steps)
        to = fill->n_steps - 1;
    pop_steps(fill, to + 1);
    struct step *step = &fill->steps[to];
    dw_layout_list__cut(&fill->plan, step->n_cuts);
    fill->bars = step->bars;
    fill->waste = step->waste;
    memcpy(fill->left, step->left, n * sizeof *step->left);
    memcpy(dw_gibbs__weights(fill->gibbs), step->w, n * sizeof *step->w);
    pop_steps(fill, to);
}

/* --- fitting and drawing -------------------------------------------------------------------- */

/* false: some piece has no layout left, or the work is over. */
static bool fit(struct fill *fill)
{
    int most = fill->n_steps == 0 ? FIRST_SWEEPS : NEXT_SWEEPS;
    dw_gibbs__target(fill->gibbs, fill->left, fill->bars, fill->waste, fill->waste);
    double error = 1;
    for (int sweep = 0; sweep < most + MORE_SWEEPS; sweep++) {
        error = dw_gibbs__sweep(fill->gibbs);
        if (!dw_csp__spend(fill->state, dw_gibbs__cost(fill->gibbs)) || error < 0)
            return false;
        if (error < GOOD_ERROR || (sweep >= most && error < BAD_ERROR))
            break;
    }
    return error < BAD_ERROR && dw_gibbs__ready(fill->gibbs);
}

static int64_t pieces_of(const struct fill *fill, const struct dw_draw *one)
{
    int64_t pieces = 0;
    for (size_t k = 0; k < one->n; k++)
        pieces += fill->draws.items[one->first + k].count;
    return pieces;
}

/* Draws layouts, most expected first. false: no memory. */
static bool draw(struct fill *fill)
{
    struct dw_draws *draws = &fill->draws;
    const size_t bars = (size_t)fill->bars; /* >= 2 */
    size_t wanted = bars < DW_DRAWS_MOST / 4 ? 32 + 4 * bars : DW_DRAWS_MOST;
    wanted = wanted < DW_DRAWS_MOST ? wanted : DW_DRAWS_MOST;
    dw_draws__clear(draws);
    for (size_t k = 0; k < wanted; k++)
        if (!dw_draws__take(draws, fill->gibbs, fill->state->n, fill->dead_ends > 0, &fill->seed))
            return false;
    dw_draws__rank(draws);
    fill->loose =
        draws->n > 0 &&
        draws->list[0].expected < (fill->bars > MANY_BARS && fill->waste > 0 ? LOOSE : TIGHT_LOOSE);
    for (size_t k = 0; fill->loose && k < draws->n; k++) {
        int64_t pieces = fill->frugal ? pieces_of(fill, &draws->list[k]) : 0;
        draws->list[k].rank = dw_random__uniform(&fill->seed) - (double)pieces;
    }
    if (fill->loose)
        dw_draws__rank(draws);
    dw_csp__spend(fill->state, (int64_t)(wanted * fill->state->n / 200));
    return true;
}

/* --- fixing --------------------------------------------------------------------------------- */

/* How often a layout can be cut from what is left, at most `most`. */
static int64_t possible(const struct fill *fill, const struct dw_draw *one, int64_t most)
{
    const struct dw_type_count *items = fill->draws.items + one->first;
    for (size_t k = 0; k < one->n; k++)
        if (fill->left[items[k].type] / items[k].count < most)
            most = fill->left[items[k].type] / items[k].count;
    if (one->waste > 0 && fill->waste / one->waste < most)
        most = fill->waste / one->waste;
    return most;
}

static bool fix(struct fill *fill, const struct dw_draw *one, int64_t bars)
{
    const struct dw_type_count *items = fill->draws.items + one->first;
    if (!dw_layout_list__add(&fill->plan, bars, items, one->n))
        return false;
    for (size_t k = 0; k < one->n; k++)
        fill->left[items[k].type] -= items[k].count * bars;
    fill->bars -= bars;
    fill->waste -= one->waste * bars;
    return true;
}

/* Fixes the layouts that are nearly sure, at least one, at most an eighth of the bars. false: no
 * memory, or none of the draws can be cut. */
static bool fix_some(struct fill *fill)
{
    int64_t budget = fill->bars / 8 + 1, start = budget;
    int64_t fair = fill->waste / fill->bars; /* waste of a bar on average */
    for (size_t k = 0; k < fill->draws.n && budget > 0; k++) {
        const struct dw_draw *one = &fill->draws.list[k];
        if (budget < start && !fill->loose && one->expected < NEARLY_SURE)
            break;
        if ((k > 0 && dw_draws__same(&fill->draws, one, one - 1)) ||
            (fill->loose && fill->frugal && one->waste > fair))
            continue;
        int64_t bars = one->expected > 1 ? (int64_t)one->expected : 1;
        bars = possible(fill, one, bars < budget ? bars : budget);
        if (bars > 0 && !fix(fill, one, bars))
            return fill->state->failed = true, false;
        budget -= bars;
    }
    return budget < start;
}

/* --- the search ----------------------------------------------------------------------------- */

/* First-fit decreasing on what is left, if the bars left are enough for it. */
static bool finish(struct fill *fill)
{
    size_t n = fill->state->n, n_cuts = fill->plan.n;
    int64_t *left = malloc((n + 1) * sizeof *left);
    bool done = false;
    if (left) {
        memcpy(left, fill->left, n * sizeof *left);
        done = dw_csp__first_fit(fill->state, left, fill->bars, fill->scratch, &fill->plan);
    } else {
        fill->state->failed = true;
    }
    if (!done)
        dw_layout_list__cut(&fill->plan, n_cuts);
    free(left);
    return done;
}

static bool advance(struct fill *fill)
{
    if (fill->bars < 2 || !fit(fill))
        return false;
    if (!push_step(fill) || !draw(fill)) {
        fill->state->failed = true;
        return false;
    }
    return fix_some(fill);
}

static int64_t pieces_left(const struct fill *fill)
{
    int64_t pieces = 0;
    for (size_t i = 0; i < fill->state->n; i++)
        pieces += fill->left[i];
    return pieces;
}

/* Finishes greedily or, near the end, by exact search. */
static enum dw_csp__packed end_game(struct fill *fill)
{
    if (finish(fill))
        return DW_CSP_PACKED;
    if (fill->bars > LAST_BARS || pieces_left(fill) > LAST_PIECES)
        return DW_CSP_GAVE_UP;
    return dw_csp__pack(fill->state, fill->left, fill->bars, LAST_NODES, &fill->plan);
}

static bool search(struct fill *fill, int tries)
{
    while (dw_csp__go(fill->state)) {
        enum dw_csp__packed end = end_game(fill);
        if (end == DW_CSP_PACKED)
            return true;
        if (end == DW_CSP_GAVE_UP && advance(fill))
            continue;
        if (fill->n_steps == 0 || fill->dead_ends >= tries)
            return false;
        jump_back(fill);
    }
    return false;
}

static void close_fill(struct fill *fill)
{
    pop_steps(fill, 0);
    free(fill->steps);
    free(fill->left);
    dw_draws__free(&fill->draws);
    free(fill->scratch);
    dw_layout_list__free(&fill->plan);
    dw_gibbs__free(fill->gibbs);
}

static dw_wide spare_length(const struct dw_csp__state *state, const int64_t *left, int64_t bars)
{
    dw_wide spare = (dw_wide)bars * state->capacity;
    for (size_t i = 0; i < state->n; i++)
        spare -= (dw_wide)left[i] * state->size[i];
    return spare;
}

bool dw_csp__fill_rest(struct dw_csp__state *state, const int64_t *left, int64_t bars, int tries,
                       struct dw_layout_list *list)
{
    struct fill fill = {.state = state, .bars = bars, .frugal = state->fills++ % 2 == 0};
    fill.seed =
        UINT64_C(0x9E3779B97F4A7C15) * (uint64_t)(2 * state->effort->work + 1); /* never the same */
    dw_wide waste = spare_length(state, left, bars);
    if (waste < 0)
        return false;
    fill.waste = waste > INT64_MAX ? INT64_MAX : (int64_t)waste;
    fill.gibbs = dw_gibbs__new(state->capacity, state->n, state->size, left);
    fill.left = malloc((state->n + 1) * sizeof *fill.left);
    bool drawn = dw_draws__make(&fill.draws);
    fill.scratch = malloc((state->n + 1) * sizeof *fill.scratch);
    bool found = false;
    if (fill.left && drawn && fill.scratch) {
        memcpy(fill.left, left, state->n * sizeof *fill.left);
        found = fill.gibbs && search(&fill, tries);
    } else {
        state->failed = true;
    }
    for (size_t k = 0; found && k < fill.plan.n; k++) {
        const struct dw_list_cut *cut = &fill.plan.cuts[k];
        found = dw_layout_list__add(list, cut->bars, fill.plan.items + cut->first, cut->n);
        state->failed |= !found;
    }
    close_fill(&fill);
    return found;
}

bool dw_csp__fill(struct dw_csp__state *state, int64_t bars, int tries)
{
    struct dw_layout_list plan = {0};
    bool found = dw_csp__fill_rest(state, state->demand, bars, tries, &plan);
    if (found)
        dw_csp__offer_plan(state, &plan, "layout distribution");
    dw_layout_list__free(&plan);
    return found;
}
