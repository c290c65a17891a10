/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars of several lengths filled to the last: the distribution of layouts against the sum over all
 * of them, the number of plans against counting them, the search at the end against trying
 * everything, and the whole on bars whose pieces were cut from them. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "random_job.h"
#include "solve/branch.h"
#include "solve/fill_core.h"
#include "solve/settled.h"
#include "textbook.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define N_SETS 12 /* pieces, each of its own length, whose subsets are tried */

/* --- the distribution ----------------------------------------------------------------------- */

/* Pieces of the subset `set`, and their weight. */
static int64_t length_of(unsigned set, const int64_t *size, const double *w, double *weight)
{
    int64_t length = 0;
    *weight = 1;
    for (size_t i = 0; i < N_SETS; i++)
        if (set >> i & 1u) {
            length += size[i];
            *weight *= w[i];
        }
    return length;
}

/* Bars that have piece i under p_k(a) = u^waste prod w / Z_k, and what all of them leave. */
static void sum_sets(const struct dw_gibbs_bars *bars, size_t n_bars, const int64_t *size,
                     const double *w, double u, double *with, double *waste)
{
    *waste = 0;
    for (size_t i = 0; i < N_SETS; i++)
        with[i] = 0;
    for (size_t k = 0; k < n_bars; k++) {
        double z = 0, one[N_SETS] = {0}, left = 0, weight;
        for (unsigned set = 0; set < 1u << N_SETS; set++) {
            int64_t rest = bars[k].capacity - length_of(set, size, w, &weight);
            if (rest < 0 || rest > bars[k].most_waste)
                continue;
            weight *= pow(u, (double)rest);
            z += weight;
            left += weight * (double)rest;
            for (size_t i = 0; i < N_SETS; i++)
                one[i] += set >> i & 1u ? weight : 0;
        }
        *waste += (double)bars[k].n * left / z;
        for (size_t i = 0; i < N_SETS; i++)
            with[i] += (double)bars[k].n * one[i] / z;
    }
}

static void test_several_lengths(void **unused)
{
    (void)unused;
    const int64_t size[N_SETS] = {60, 55, 50, 45, 40, 35, 30, 25, 20, 15, 10, 5};
    /* The lengths sum to 390: two bars of 100, one of 80, two of 60 leave 10 in all. */
    const struct dw_gibbs_bars bars[] = {{100, 2, 0}, {80, 1, 10}, {60, 2, 10}};
    int64_t demand[N_SETS];
    for (size_t i = 0; i < N_SETS; i++)
        demand[i] = 1;
    struct dw_gibbs *gibbs = dw_gibbs__new(100, N_SETS, size, demand);
    assert_non_null(gibbs);
    assert_true(dw_gibbs__target(gibbs, demand, bars, DW_COUNT(bars), 10));
    double error = 1;
    for (int sweep = 0; sweep < 3000 && error > 1e-9; sweep++)
        error = dw_gibbs__sweep(gibbs);
    assert_true(error >= 0 && error < 1e-6);
    double with[N_SETS], waste;
    sum_sets(bars, DW_COUNT(bars), size, dw_gibbs__weights(gibbs), dw_gibbs__waste_weight(gibbs),
             with, &waste);
    for (size_t i = 0; i < N_SETS; i++)
        assert_true(fabs(with[i] - 1) < 1e-3);
    assert_true(fabs(waste - 10) < 1e-2);
    assert_true(dw_gibbs__ready(gibbs));
    for (size_t k = 0; k < DW_COUNT(bars); k++) {
        double weight, exact = 0;
        for (unsigned set = 0; set < 1u << N_SETS; set++)
            if (length_of(set, size, dw_gibbs__weights(gibbs), &weight) == bars[k].capacity)
                exact += weight;
        assert_true(fabs(dw_gibbs__of_length(gibbs, bars[k].capacity) / exact - 1) < 1e-9);
    }
    dw_gibbs__free(gibbs);
}

/* Ways to cut the pieces from `n` bars of one length exactly, the bars in any order: the first
 * piece left is on the next bar. */
static int64_t count_plans(const int64_t *size, unsigned left, int64_t capacity)
{
    if (left == 0)
        return 1;
    unsigned first = left & (0u - left);
    int64_t plans = 0;
    double weight;
    const double none[N_SETS] = {0};
    for (unsigned set = left; set > 0; set = (set - 1) & left)
        if ((set & first) && length_of(set, size, none, &weight) == capacity)
            plans += count_plans(size, left & ~set, capacity);
    return plans;
}

static void test_number_of_plans(void **unused)
{
    (void)unused;
    const int64_t size[N_SETS] = {11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 12, 13}; /* sum 90 */
    const struct dw_gibbs_bars bars = {30, 3, 0};
    int64_t demand[N_SETS];
    for (size_t i = 0; i < N_SETS; i++)
        demand[i] = 1;
    struct dw_gibbs *gibbs = dw_gibbs__new(30, N_SETS, size, demand);
    assert_non_null(gibbs);
    assert_true(dw_gibbs__target(gibbs, demand, &bars, 1, 0));
    for (int sweep = 0; sweep < 200; sweep++)
        assert_true(dw_gibbs__sweep(gibbs) >= 0);
    assert_true(dw_gibbs__ready(gibbs));
    double counted = log((double)count_plans(size, (1u << N_SETS) - 1, 30));
    assert_true(counted > 3);
    double said = dw_gibbs__plans(gibbs);
    assert_true(said > counted - 4 && said < counted + 0.5);
    dw_gibbs__free(gibbs);
}

/* --- the search at the end ------------------------------------------------------------------ */

#define END_ITEMS 8
#define END_SORTS 3

struct end_case {
    struct dw_fill__state state;
    int64_t size[END_ITEMS], left[END_ITEMS], bars[END_SORTS];
    struct dw_fill__sort sorts[END_SORTS];
};

/* Trying everything: each piece of item i goes on some bar that has room for it. */
static bool can_fill(const int64_t *size, int64_t *left, int64_t *room, size_t n_rooms)
{
    size_t i = 0;
    while (i < END_ITEMS && left[i] == 0)
        i++;
    if (i == END_ITEMS) {
        for (size_t k = 0; k < n_rooms; k++)
            if (room[k] > 0)
                return false;
        return true;
    }
    bool can = false;
    left[i]--;
    for (size_t k = 0; !can && k < n_rooms; k++) {
        if (room[k] < size[i] || (k > 0 && room[k] == room[k - 1]))
            continue;
        room[k] -= size[i];
        can = can_fill(size, left, room, n_rooms);
        room[k] += size[i];
    }
    left[i]++;
    return can;
}

static bool draw_end(struct random *random, struct end_case *c)
{
    int64_t length = 0;
    *c = (struct end_case){0};
    c->state = (struct dw_fill__state){.n = END_ITEMS,
                                       .size = c->size,
                                       .left = c->left,
                                       .n_sorts = END_SORTS,
                                       .sorts = c->sorts,
                                       .bars = c->bars};
    for (size_t i = 0; i < END_ITEMS; i++) {
        c->size[i] = random_in(random, 2, 9) + (int64_t)(END_ITEMS - i) * 2;
        c->left[i] = random_in(random, 0, 2);
        length += c->size[i] * c->left[i];
    }
    for (size_t k = 0; k < END_SORTS; k++) {
        c->bars[k] = random_in(random, 0, 2);
        c->sorts[k].capacity = random_in(random, 20, 50);
        length -= c->bars[k] * c->sorts[k].capacity;
    }
    /* The last bar is as long as it must be. */
    if (c->bars[2] != 0 || length <= 0 || length > 70)
        return false;
    c->bars[2] = 1;
    c->sorts[2].capacity = length;
    return true;
}

static void check_filled(const struct end_case *c, const int64_t *wanted)
{
    int64_t made[END_ITEMS] = {0};
    for (size_t b = 0; b < c->state.list.n; b++) {
        const struct dw_csp__cut *cut = &c->state.list.cuts[b];
        int64_t length = 0;
        for (size_t k = 0; k < cut->n; k++) {
            const struct dw_csp_item *item = &c->state.list.items[cut->first + k];
            made[item->type] += item->count;
            length += item->count * c->size[item->type];
        }
        assert_int_equal(length, c->sorts[c->state.made[b]].capacity);
    }
    for (size_t i = 0; i < END_ITEMS; i++)
        assert_int_equal(made[i], wanted[i]);
    for (size_t k = 0; k < END_SORTS; k++)
        assert_int_equal(c->bars[k], 0);
}

static void test_last_bars(void **unused)
{
    (void)unused;
    struct random random = {2};
    int n_found = 0, n_none = 0;
    for (int turn = 0; turn < 20000; turn++) {
        struct end_case c;
        int64_t wanted[END_ITEMS], room[8], nodes = 1000000;
        size_t n_rooms = 0;
        bool nomem = false;
        if (!draw_end(&random, &c))
            continue;
        memcpy(wanted, c.left, sizeof wanted);
        for (size_t k = 0; k < END_SORTS; k++)
            for (int64_t bar = 0; bar < c.bars[k]; bar++)
                room[n_rooms++] = c.sorts[k].capacity;
        bool found = dw_fill__end(&c.state, &nodes, &nomem);
        assert_false(nomem);
        assert_true(nodes > 0);
        assert_int_equal(found, can_fill(c.size, c.left, room, n_rooms) || found);
        if (found)
            check_filled(&c, wanted);
        else
            assert_false(can_fill(c.size, c.left, room, n_rooms));
        n_found += found;
        n_none += !found;
        dw_csp__list_free(&c.state.list);
        free(c.state.made);
    }
    assert_true(n_found > 100 && n_none > 100);
}

/* --- the whole ------------------------------------------------------------------------------ */

#define PLANT_ITEMS 40
#define PLANT_BARS  6

struct planted {
    struct dw_problem problem;
    struct dw_job job;
    struct dw_material material;
    struct dw_kind kind;
    struct dw_item items[PLANT_ITEMS];
    struct dw_stock stocks[PLANT_BARS];
    struct dw_fill_bars bars[PLANT_BARS];
    int64_t left[PLANT_ITEMS];
    int64_t waste;
};

/* Bars of lengths that some pieces and, of the last, some waste sum to. */
static void plant(struct random *random, struct planted *planted, int64_t per_bar)
{
    struct dw_problem *p = &planted->problem;
    *planted = (struct planted){.material = {.worth = {.keep = 500}}};
    struct dw_arena *arena = dw_arena__new();
    assert_non_null(arena);
    planted->job = (struct dw_job){.n_materials = 1, .materials = &planted->material};
    *p = (struct dw_problem){.job = &planted->job,
                             .arena = arena,
                             .n_items = PLANT_ITEMS,
                             .items = planted->items,
                             .n_kinds = 1,
                             .kinds = &planted->kind,
                             .n_stocks = PLANT_BARS,
                             .stocks = planted->stocks,
                             .max_kept = DW_UNLIMITED};
    for (size_t i = 0; i < PLANT_ITEMS; i++)
        planted->items[i].size = 1800 - 40 * (int64_t)i - random_in(random, 0, 39);
    for (size_t k = 0; k < PLANT_BARS; k++) {
        const bool open = k == PLANT_BARS - 1;
        const int64_t n = open ? 2 : random_in(random, 1, 8);
        for (int64_t piece = 0; piece < per_bar; piece++) {
            size_t i = (size_t)random_in(random, 0, PLANT_ITEMS - 1);
            planted->left[i] += n;
            planted->stocks[k].cap += planted->items[i].size;
        }
        if (open) {
            planted->waste = 2 * random_in(random, 1, 60);
            planted->stocks[k].cap += planted->waste / 2;
        }
        planted->bars[k] = (struct dw_fill_bars){k, n, open};
    }
}

static void check_plan(const struct planted *planted, const struct dw_solution *plan)
{
    int64_t made[PLANT_ITEMS] = {0}, bars[PLANT_BARS] = {0}, waste = 0;
    for (size_t u = 0; u < plan->n; u++) {
        const struct dw_col *col = plan->uses[u].col;
        int64_t length = col->left;
        for (size_t k = 0; k < col->n; k++) {
            made[col->entries[k].item] += col->entries[k].count * plan->uses[u].count;
            length += col->entries[k].count * planted->items[col->entries[k].item].size;
        }
        assert_int_equal(length, planted->stocks[col->stock].cap);
        assert_true(col->left == 0 || planted->bars[col->stock].open);
        bars[col->stock] += plan->uses[u].count;
        waste += col->left * plan->uses[u].count;
    }
    for (size_t i = 0; i < PLANT_ITEMS; i++)
        assert_int_equal(made[i], planted->left[i]);
    for (size_t k = 0; k < PLANT_BARS; k++)
        assert_int_equal(bars[k], planted->bars[k].n);
    assert_int_equal(waste, planted->waste);
}

/* Whether the plan is found; it is checked then. */
static bool fills(const struct planted *planted, uint64_t seed)
{
    struct dw_effort effort = {0};
    struct dw_pool pool;
    struct dw_master master = {.problem = &planted->problem, .pool = &pool, .effort = &effort};
    struct dw_solution plan = {0};
    struct dw_error error = {0};
    bool found = false;
    dw_pool__init(&pool, &planted->problem);
    assert_int_equal(dw_fill__run(&master, planted->left, planted->bars, PLANT_BARS, 3000000, seed,
                                  &plan, &found, &error),
                     DW_OK);
    if (found)
        check_plan(planted, &plan);
    dw_solution__free(&plan);
    dw_pool__free(&pool);
    return found;
}

static void test_planted(void **unused)
{
    (void)unused;
    struct random random = {5};
    int n_found = 0;
    for (uint64_t turn = 0; turn < 20; turn++) {
        struct planted planted;
        plant(&random, &planted, 6);
        n_found += fills(&planted, turn);
        dw_arena__free(planted.problem.arena);
    }
    assert_true(n_found >= 18);
}

/* Given up early, and without harm. */
static void test_no_plan(void **unused)
{
    (void)unused;
    struct random random = {7};
    struct planted planted;
    plant(&random, &planted, 6);
    planted.stocks[0].cap++; /* one bar can no longer be filled exactly, or others cannot */
    planted.left[0] = 0;
    planted.waste = 0;
    assert_false(fills(&planted, 1));
    dw_arena__free(planted.problem.arena);
}

/* --- a whole job ---------------------------------------------------------------------------- */

#define JOB_LENGTHS 30
#define JOB_BARS    20

/* Offcuts that some pieces fill exactly, each length of them once, and new bars that cost more a
 * length. */
static struct dw_job *planted_job(struct random *random, dw_money cut, dw_money *least)
{
    struct textbook_part parts[JOB_LENGTHS];
    struct textbook_bar bars[JOB_BARS + 1] = {{6000, 6000 * 60, DW_UNLIMITED}};
    *least = 0;
    for (size_t i = 0; i < JOB_LENGTHS; i++)
        parts[i] = (struct textbook_part){1500 - 40 * (int64_t)i - random_in(random, 0, 39), 0};
    for (size_t k = 1; k <= JOB_BARS; k++) {
        bars[k].count = 1;
        for (int piece = 0; piece < 6; piece++) {
            size_t i = (size_t)random_in(random, 0, JOB_LENGTHS - 1);
            bars[k].length += parts[i].length;
            parts[i].count++;
        }
        bars[k].price = bars[k].length * 45;
        *least += bars[k].price + 5 * cut;
    }
    size_t n_parts = 0;
    for (size_t i = 0; i < JOB_LENGTHS; i++)
        if (parts[i].count > 0)
            parts[n_parts++] = parts[i];
    struct dw_job *job = textbook_job(DW_NM_PER_MM, bars, JOB_BARS + 1, parts, n_parts);
    assert_non_null(job);
    job->saw.cut_cost = cut;
    return job;
}

/* Money of the plan that the root's relaxation leads to. */
static dw_money plan_settled(const struct dw_problem *p, uint64_t seed)
{
    struct dw_lp_env env = {0};
    struct dw_effort effort = {0};
    struct dw_master master;
    struct dw_pool pool;
    struct dw_relaxed relaxed = {0};
    struct dw_solution best = {.money = INT64_MAX / 4};
    struct dw_error error = {0};
    struct dw_pricer *pricer = dw_pricer__new(p);
    int64_t *demand = calloc(p->n_items, sizeof *demand);
    int64_t *avail = calloc(p->n_stocks, sizeof *avail);
    dw_money *bar = calloc(p->n_stocks, sizeof *bar);
    assert_true(pricer && demand && avail && bar);
    for (size_t i = 0; i < p->n_items; i++)
        demand[i] = p->items[i].count;
    for (size_t k = 0; k < p->n_stocks; k++) {
        avail[k] = p->stocks[k].count;
        bar[k] = p->stocks[k].price;
    }
    const struct dw_relax relax = {
        .demand = demand, .avail = avail, .bar = bar, .cutoff = INT64_MAX / 2};
    dw_pool__init(&pool, p);
    dw_master__init(&master, p, &pool, pricer, &env, &effort);
    assert_int_equal(dw_relax__solve(&master, &relax, &relaxed, &error), DW_OK);
    bool ok, settled = dw_branch__settled(p, &relaxed, &ok);
    assert_true(ok && settled);
    assert_int_equal(dw_settled__plan(&master, &relax, &relaxed, 10000000, seed, &best, &error),
                     DW_OK);
    dw_money money = best.money;
    dw_solution__free(&best);
    dw_relaxed__free(&relaxed);
    dw_master__free(&master);
    dw_pricer__free(pricer);
    dw_lp__env_free(&env);
    dw_pool__free(&pool);
    free(demand);
    free(avail);
    free(bar);
    return money;
}

static void test_settled(void **unused)
{
    (void)unused;
    struct random random = {11};
    for (uint64_t turn = 0; turn < 5; turn++) {
        dw_money least;
        size_t group_of = 0;
        bool never[JOB_LENGTHS] = {false};
        struct dw_error error = {0};
        struct dw_problem *problem;
        struct dw_job *job = planted_job(&random, 4000, &least);
        struct dw_arena *arena = dw_arena__new();
        assert_non_null(arena);
        assert_int_equal(dw_problem__new(job, &group_of, 0, arena, never, &problem, &error), DW_OK);
        assert_int_equal(plan_settled(problem, turn), least);
        dw_arena__free(arena);
        dw_job_free(job);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_several_lengths), cmocka_unit_test(test_number_of_plans),
        cmocka_unit_test(test_last_bars),       cmocka_unit_test(test_planted),
        cmocka_unit_test(test_no_plan),         cmocka_unit_test(test_settled),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
