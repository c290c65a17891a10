/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rounding the LP's solution bar by bar, and pricing what is left. */
#include "solve/textbook/dive.h"

#include "solve/textbook/greedy.h"
#include "solve/textbook/pack.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    LAST_BARS = 8, /* from here on by exact search, */
    LAST_PIECES = 60,
    LAST_NODES = 100000,
    STEP_SHARE = 10 /* bars of the rest fixed at once, at least one, where the LP has none whole */
};
/* In turns after the first: noise on the fractions, and how often a whole part is taken one less.
 */
static const double NOISE = 0.3, ONE_LESS = 0.1;

struct dive {
    struct dw_csp__state *state;
    struct dw_csp__state rest; /* the problem of what is left; its types are those of `state` */
    size_t *type;              /* length n: type of the rest -> type of the whole */
    size_t *place;             /* length n: back, or SIZE_MAX */
    int64_t *left;             /* length n: still to be cut */
    int64_t bars;              /* from so many */
    struct dw_layout_list plan;
    struct dw_type_count *items; /* length n: scratch */
    struct dw_csp__root root;    /* of the rest */
    uint64_t seed;
    bool noisy;
};

/* --- the rest as a problem ------------------------------------------------------------------- */

static void set_rest(struct dive *dive)
{
    struct dw_csp__state *rest = &dive->rest;
    const struct dw_csp__state *state = dive->state;
    rest->n = 0;
    rest->pieces = 0;
    rest->total = 0;
    for (size_t i = 0; i < state->n; i++) {
        dive->place[i] = SIZE_MAX;
        if (dive->left[i] == 0)
            continue;
        dive->place[i] = rest->n;
        dive->type[rest->n] = i;
        rest->size[rest->n] = state->size[i];
        rest->demand[rest->n++] = dive->left[i];
        rest->pieces += dive->left[i];
        rest->total += (dw_wide)state->size[i] * dive->left[i];
    }
    rest->capacity = state->capacity;
    rest->bars = rest->pieces + 1;
    rest->bound = (int64_t)((rest->total + rest->capacity - 1) / rest->capacity);
    rest->dual_bound = 0;
    dw_layout_list__cut(&rest->best, 0);
}

static void account(struct dive *dive)
{
    dive->state->failed |= dive->rest.failed;
}

/* A layout in the types of one problem, in those of another; false: a type that is not asked for
 * there, or more of it than is. */
static bool translate(const struct dive *dive, const struct dw_csp__root *from, size_t k,
                      const size_t *map, size_t *n)
{
    const struct dw_list_cut *cut = &from->columns.cuts[k];
    *n = cut->n;
    for (size_t i = 0; i < cut->n; i++) {
        const struct dw_type_count *item = &from->columns.items[cut->first + i];
        size_t whole = map ? map[item->type] : item->type, place = dive->place[whole];
        if (place == SIZE_MAX || item->count > dive->left[whole])
            return false;
        dive->items[i] = (struct dw_type_count){place, item->count};
    }
    return cut->n > 0;
}

/* Columns of the LP before that still fit start the next. map: its types, NULL: those of the whole.
 */
static bool carry_columns(struct dive *dive, const struct dw_csp__root *from, const size_t *map,
                          struct dw_layout_list *columns)
{
    size_t n = 0;
    for (size_t k = 0; k < from->columns.n; k++)
        if (translate(dive, from, k, map, &n) && !dw_layout_list__add(columns, 1, dive->items, n))
            return false;
    return true;
}

/* --- fixing --------------------------------------------------------------------------------- */

static bool fix(struct dive *dive, const struct dw_csp__root *root, size_t k, const size_t *map,
                int64_t bars)
{
    const struct dw_list_cut *cut = &root->columns.cuts[k];
    for (size_t i = 0; i < cut->n; i++) {
        const struct dw_type_count *item = &root->columns.items[cut->first + i];
        dive->items[i] = (struct dw_type_count){map ? map[item->type] : item->type, item->count};
        int64_t most = dive->left[dive->items[i].type] / item->count;
        bars = most < bars ? most : bars;
    }
    if (bars <= 0 || bars > dive->bars)
        return true;
    for (size_t i = 0; i < cut->n; i++)
        dive->left[dive->items[i].type] -= dive->items[i].count * bars;
    dive->bars -= bars;
    /* NOLINTNEXTLINE(clang-analyzer-unix.Malloc): nothing of the caller's ends here */
    return dw_layout_list__add(&dive->plan, bars, dive->items, cut->n);
}

struct choice {
    double rank;
    size_t column;
};

static int by_rank(const void *a, const void *b)
{
    const struct choice *x = a, *y = b;
    if (x->rank != y->rank)
        return x->rank < y->rank ? 1 : -1;
    return x->column < y->column ? -1 : 1;
}

/* First the whole parts; where there are none, the columns with the largest fractions. false: no
 * memory. */
static bool fix_some(struct dive *dive, const struct dw_csp__root *root, const size_t *map)
{
    struct choice *choices = malloc((root->columns.n + 1) * sizeof *choices);
    bool ok = choices != NULL;
    int64_t before = dive->bars, step = before / STEP_SHARE + 1;
    for (size_t k = 0; ok && k < root->columns.n; k++) {
        double x = root->x[k];
        int64_t whole = (int64_t)(x + 1e-6);
        if (dive->noisy && whole > 0 && dw_random__uniform(&dive->seed) < ONE_LESS)
            whole--;
        if (whole > 0)
            ok = fix(dive, root, k, map, whole);
        double noise = dive->noisy ? 1 + NOISE * (dw_random__uniform(&dive->seed) - 0.5) : 1;
        choices[k] = (struct choice){(x - floor(x + 1e-6)) * noise, k};
    }
    if (ok && dive->bars == before) {
        qsort(choices, root->columns.n, sizeof *choices, by_rank);
        for (size_t c = 0; ok && c < root->columns.n && before - dive->bars < step &&
                           (c == 0 || choices[c].rank > 0.5);
             c++)
            ok = fix(dive, root, choices[c].column, map, 1);
    }
    free(choices);
    dive->state->failed |= !ok;
    return ok;
}

/* --- the search ----------------------------------------------------------------------------- */

static bool append(struct dive *dive, const struct dw_layout_list *list, const size_t *map)
{
    for (size_t k = 0; k < list->n; k++) {
        const struct dw_list_cut *cut = &list->cuts[k];
        for (size_t i = 0; i < cut->n; i++) {
            dive->items[i] = list->items[cut->first + i];
            dive->items[i].type = map[dive->items[i].type];
        }
        if (!dw_layout_list__add(&dive->plan, cut->bars, dive->items, cut->n)) {
            dive->state->failed = true;
            return false;
        }
    }
    return true;
}

enum end { FOUND, DEAD, GO_ON };

/* Greedy, and exact search when little is left. */
static enum end finish(struct dive *dive)
{
    struct dw_csp__state *rest = &dive->rest;
    if (rest->n == 0)
        return FOUND;
    if (rest->bound > dive->bars)
        return DEAD;
    dw_csp__greedy(rest);
    account(dive);
    if (rest->bars <= dive->bars)
        return append(dive, &rest->best, dive->type) ? FOUND : DEAD;
    if (dive->bars > LAST_BARS || rest->pieces > LAST_PIECES)
        return GO_ON;
    struct dw_layout_list last = {0};
    enum dw_csp__packed packed = dw_csp__pack(rest, rest->demand, dive->bars, LAST_NODES, &last);
    account(dive);
    bool found = packed == DW_CSP_PACKED && append(dive, &last, dive->type);
    dw_layout_list__free(&last);
    return found ? FOUND : packed == DW_CSP_GAVE_UP ? GO_ON : DEAD;
}

/* The LP of the rest, from the columns of the LP before. */
static bool solve_rest(struct dive *dive, const struct dw_csp__root *from, const size_t *map)
{
    struct dw_csp__root next = {0};
    bool ok = carry_columns(dive, from, map, &next.columns);
    dive->state->failed |= !ok;
    if (ok)
        dw_csp__root(&dive->rest, &next);
    account(dive);
    dw_csp__root_free(&dive->root);
    dive->root = next;
    return ok && dw_csp__go(dive->state) && next.x;
}

static bool search(struct dive *dive, const struct dw_csp__root *root)
{
    size_t *old = malloc((dive->state->n + 1) * sizeof *old);
    dive->state->failed |= !old;
    enum end end = old ? GO_ON : DEAD;
    const struct dw_csp__root *from = root;
    const size_t *map = NULL;
    while (end == GO_ON && dw_csp__go(dive->state)) {
        int64_t before = dive->bars;
        if (!fix_some(dive, from, map) || dive->bars == before)
            break;
        if (map)
            memcpy(old, dive->type, dive->state->n * sizeof *old);
        set_rest(dive);
        end = finish(dive);
        if (end == GO_ON && !solve_rest(dive, from, map ? old : NULL))
            break;
        if (dive->rest.bound > dive->bars)
            end = end == FOUND ? FOUND : DEAD;
        from = &dive->root;
        map = dive->type;
    }
    free(old);
    return end == FOUND;
}

/* A dead end is a plan with some bars more. */
static void offer_anyway(struct dive *dive)
{
    set_rest(dive);
    if (dive->rest.n > 0)
        dw_csp__greedy(&dive->rest);
    account(dive);
    if (dive->rest.n == 0 || append(dive, &dive->rest.best, dive->type))
        dw_csp__offer_plan(dive->state, &dive->plan, "diving");
}

static bool open_dive(struct dive *dive)
{
    size_t n = dive->state->n;
    struct dw_csp__state *rest = &dive->rest;
    dive->type = malloc((n + 1) * sizeof *dive->type);
    dive->place = malloc((n + 1) * sizeof *dive->place);
    dive->left = malloc((n + 1) * sizeof *dive->left);
    dive->items = malloc((n + 1) * sizeof *dive->items);
    rest->size = malloc((n + 1) * sizeof *rest->size);
    rest->demand = malloc((n + 1) * sizeof *rest->demand);
    rest->dual = malloc((n + 1) * sizeof *rest->dual);
    if (!dive->type || !dive->place || !dive->left || !dive->items || !rest->size ||
        !rest->demand || !rest->dual)
        return false;
    memcpy(dive->left, dive->state->demand, n * sizeof *dive->left);
    return true;
}

static void close_dive(struct dive *dive)
{
    free(dive->type);
    free(dive->place);
    free(dive->left);
    free(dive->items);
    free(dive->rest.size);
    free(dive->rest.demand);
    free(dive->rest.dual);
    dw_layout_list__free(&dive->rest.best);
    dw_layout_list__free(&dive->plan);
    dw_csp__root_free(&dive->root);
}

bool dw_csp__dive(struct dw_csp__state *state, int64_t bars, const struct dw_csp__root *root,
                  int turn)
{
    struct dive dive = {.state = state,
                        .rest = {.env = state->env, .effort = state->effort, .scale = 1},
                        .bars = bars,
                        .seed = 2 * (uint64_t)turn + 1,
                        .noisy = turn > 0};
    bool found = false;
    if (!open_dive(&dive))
        state->failed = true;
    else if (root->x)
        found = search(&dive, root);
    if (found)
        dw_csp__offer_plan(state, &dive.plan, "diving");
    else if (root->x && !state->failed)
        offer_anyway(&dive);
    close_dive(&dive);
    return found;
}
