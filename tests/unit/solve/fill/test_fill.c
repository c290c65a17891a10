/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bars of several lengths filled to the last: the search at the end against trying everything, and
 * the whole on bars whose pieces were cut from them. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "random_job.h"
#include "solve/fill/core.h"

#include <stdlib.h>
#include <string.h>

/* --- the search at the end ------------------------------------------------------------------ */

#define END_ITEMS 8
#define END_SORTS 3

struct end_case {
    struct dw_fill__state state;
    int64_t size[END_ITEMS], left[END_ITEMS], bars[END_SORTS];
    struct dw_fill__sort sorts[END_SORTS];
};

/* One bar while everything is tried. */
struct room {
    int64_t left;
    int64_t most_waste;
    bool counted;
};

static bool may_end(const struct room *rooms, size_t n_rooms, int64_t exact)
{
    for (size_t k = 0; k < n_rooms; k++) {
        if (rooms[k].left > rooms[k].most_waste)
            return false;
        exact -= rooms[k].counted && rooms[k].left == 0;
    }
    return exact <= 0;
}

/* Trying everything: each piece of item i goes on some bar that has room for it. */
static bool can_fill(const int64_t *size, int64_t *left, struct room *rooms, size_t n_rooms,
                     int64_t exact)
{
    size_t i = 0;
    while (i < END_ITEMS && left[i] == 0)
        i++;
    if (i == END_ITEMS)
        return may_end(rooms, n_rooms, exact);
    bool can = false;
    left[i]--;
    for (size_t k = 0; !can && k < n_rooms; k++) {
        if (rooms[k].left < size[i])
            continue;
        rooms[k].left -= size[i];
        can = can_fill(size, left, rooms, n_rooms, exact);
        rooms[k].left += size[i];
    }
    left[i]++;
    return can;
}

/* Every other case leaves no waste at all; in some, sums take several words of bits. */
static bool draw_end(struct random *random, struct end_case *c)
{
    int64_t length = 0;
    const bool waste = random_chance(random, 50);
    const int64_t unit = random_chance(random, 30) ? 25 : 1;
    *c = (struct end_case){0};
    c->state = (struct dw_fill__state){.n = END_ITEMS,
                                       .size = c->size,
                                       .left = c->left,
                                       .n_sorts = END_SORTS,
                                       .sorts = c->sorts,
                                       .bars = c->bars};
    for (size_t i = 0; i < END_ITEMS; i++) {
        c->size[i] = random_in(random, 2 * unit, 9 * unit) + (int64_t)(END_ITEMS - i) * 2 * unit;
        c->left[i] = random_in(random, 0, 2);
        length += c->size[i] * c->left[i];
    }
    for (size_t k = 0; k < END_SORTS; k++) {
        c->bars[k] = random_in(random, 0, 2);
        c->sorts[k].capacity = random_in(random, 20 * unit, 50 * unit);
        c->sorts[k].most_waste = waste ? random_in(random, 0, 9 * unit) : 0;
        c->sorts[k].counted = random_chance(random, 60);
        length -= c->bars[k] * c->sorts[k].capacity;
    }
    /* The last bar is as long as it must be. */
    if (waste)
        c->state.waste = random_in(random, 0, 12 * unit);
    length += c->state.waste;
    if (c->bars[2] != 0 || length < 10 * unit || length > 70 * unit)
        return false;
    c->bars[2] = 1;
    c->sorts[2].capacity = length;
    for (size_t k = 0; k < END_SORTS; k++)
        c->state.counted += c->sorts[k].counted ? c->bars[k] : 0;
    c->state.exact = random_in(random, 0, c->state.counted);
    return true;
}

static void check_filled(const struct end_case *c, const int64_t *wanted, int64_t exact)
{
    int64_t made[END_ITEMS] = {0};
    for (size_t b = 0; b < c->state.list.n; b++) {
        const struct dw_list_cut *cut = &c->state.list.cuts[b];
        const struct dw_fill__sort *sort = &c->sorts[c->state.made[b].sort];
        int64_t rest = sort->capacity;
        for (size_t k = 0; k < cut->n; k++) {
            const struct dw_type_count *item = &c->state.list.items[cut->first + k];
            made[item->type] += item->count;
            rest -= item->count * c->size[item->type];
        }
        assert_int_equal(rest, c->state.made[b].waste);
        assert_in_range(rest, 0, sort->most_waste);
        exact -= sort->counted && rest == 0;
    }
    assert_true(exact <= 0);
    for (size_t i = 0; i < END_ITEMS; i++)
        assert_int_equal(made[i], wanted[i]);
    for (size_t k = 0; k < END_SORTS; k++)
        assert_int_equal(c->bars[k], 0);
    assert_int_equal(c->state.waste, 0);
    assert_int_equal(c->state.counted, 0);
    assert_int_equal(c->state.exact, exact);
}

/* Whether the bars can be filled: what is found is checked, where nothing is, nothing is there. */
static bool try_end(struct end_case *c)
{
    const int64_t exact = c->state.exact;
    int64_t wanted[END_ITEMS], bars[END_SORTS], nodes = 1000000;
    struct room rooms[8];
    size_t n_rooms = 0;
    bool nomem = false;
    memcpy(wanted, c->left, sizeof wanted);
    memcpy(bars, c->bars, sizeof bars);
    for (size_t k = 0; k < END_SORTS; k++)
        for (int64_t bar = 0; bar < c->bars[k]; bar++)
            rooms[n_rooms++] =
                (struct room){c->sorts[k].capacity, c->sorts[k].most_waste, c->sorts[k].counted};
    bool found = dw_fill__end(&c->state, &nodes, &nomem);
    assert_false(nomem);
    assert_true(nodes > 0);
    if (found) {
        check_filled(c, wanted, exact);
    } else {
        assert_memory_equal(c->left, wanted, sizeof wanted);
        assert_memory_equal(c->bars, bars, sizeof bars);
        assert_int_equal(c->state.exact, exact);
        assert_false(can_fill(c->size, c->left, rooms, n_rooms, exact));
    }
    dw_layout_list__free(&c->state.list);
    free(c->state.made);
    return found;
}

static void test_last_bars(void **unused)
{
    (void)unused;
    struct random random = {2};
    int n[2][2] = {{0}}; /* by waste, by whether found */
    for (int turn = 0; turn < 20000; turn++) {
        struct end_case c;
        if (!draw_end(&random, &c))
            continue;
        const bool waste = c.state.waste > 0;
        n[waste][try_end(&c)]++;
    }
    assert_true(n[0][0] > 100 && n[0][1] > 100 && n[1][0] > 100 && n[1][1] > 100);
}

/* --- the whole ------------------------------------------------------------------------------ */

#define PLANT_ITEMS 40
#define PLANT_BARS  6
#define UNIT        5  /* of all lengths */
#define MOST_WASTE  60 /* of a bar, in units */

struct planted {
    struct dw_problem problem;
    struct dw_job job;
    struct dw_material material;
    struct dw_bar_kind kind;
    struct dw_item items[PLANT_ITEMS];
    struct dw_bar_stock stocks[PLANT_BARS];
    struct dw_fill_bars bars[PLANT_BARS];
    struct dw_entry leads[PLANT_BARS]; /* what is on a bar already */
    int64_t left[PLANT_ITEMS];
    int64_t waste;
    int64_t exact;
};

static void make_planted(struct random *random, struct planted *planted)
{
    *planted = (struct planted){.material = {.worth = {.keep = 500}}};
    struct dw_arena *arena = dw_arena__new();
    assert_non_null(arena);
    planted->job = (struct dw_job){.n_materials = 1, .materials = &planted->material};
    planted->problem = (struct dw_problem){.job = &planted->job,
                                           .arena = arena,
                                           .n_items = PLANT_ITEMS,
                                           .items = planted->items,
                                           .n_kinds = 1,
                                           .kinds = &planted->kind,
                                           .n_stocks = PLANT_BARS,
                                           .stocks = planted->stocks,
                                           .max_kept = DW_UNLIMITED};
    for (size_t i = 0; i < PLANT_ITEMS; i++)
        planted->items[i].size = UNIT * (1800 - 40 * (int64_t)i - random_in(random, 0, 39));
}

/* Bars of a length that some pieces and `waste` sum to. */
static void plant_bars(struct random *random, struct planted *planted, size_t k, int64_t n,
                       int64_t waste, int64_t most_waste)
{
    int64_t room = UNIT * waste;
    for (int64_t piece = 0; piece < 6; piece++) {
        size_t i = (size_t)random_in(random, 0, PLANT_ITEMS - 1);
        planted->left[i] += n;
        room += planted->items[i].size;
    }
    planted->stocks[k].cap = room;
    planted->waste += n * UNIT * waste;
    planted->exact += waste == 0 ? n : 0;
    planted->bars[k] = (struct dw_fill_bars){.lead = {.stock = k, .first = DW_NONE},
                                             .n = n,
                                             .room = room,
                                             .most_left = UNIT * most_waste,
                                             .counted = true};
}

/* All are exact but the last, which must be given away. */
static void plant(struct random *random, struct planted *planted)
{
    make_planted(random, planted);
    for (size_t k = 0; k + 1 < PLANT_BARS; k++)
        plant_bars(random, planted, k, random_in(random, 1, 8), 0, 0);
    plant_bars(random, planted, PLANT_BARS - 1, 2, random_in(random, 1, MOST_WASTE), MOST_WASTE);
}

/* Any bar may leave something, every second does. */
static void plant_waste(struct random *random, struct planted *planted)
{
    make_planted(random, planted);
    for (size_t k = 0; k < PLANT_BARS; k++)
        plant_bars(random, planted, k, random_in(random, 1, 6),
                   k % 2 == 0 ? random_in(random, 1, MOST_WASTE) : 0, MOST_WASTE);
}

/* A piece is on the bars already; they leave no more than others can take up, or twice that. */
static void plant_lead(struct random *random, struct planted *planted, size_t k, bool twice)
{
    const int64_t slack = random_in(random, 5, 20), most = twice ? 2 * slack : slack;
    plant_bars(random, planted, k, random_in(random, 1, 4), most - random_in(random, 0, 3), most);
    struct dw_fill_bars *bars = &planted->bars[k];
    planted->leads[k] = (struct dw_entry){(size_t)random_in(random, 0, PLANT_ITEMS - 1), 1};
    planted->stocks[k].cap += planted->items[planted->leads[k].item].size;
    bars->lead.n = 1;
    bars->lead.entries = &planted->leads[k];
    bars->lead.slack = UNIT * slack;
    bars->counted = false;
}

/* An offcut is kept from the bars in any case, and what they leave with it. */
static void plant_kept(struct random *random, struct planted *planted, size_t k)
{
    plant_bars(random, planted, k, 2, random_in(random, 1, MOST_WASTE), MOST_WASTE);
    struct dw_fill_bars *bars = &planted->bars[k];
    bars->lead.kept = true;
    bars->lead.left = UNIT * random_in(random, 200, 900);
    bars->counted = false;
    planted->stocks[k].cap += bars->lead.left;
}

static void plant_leads(struct random *random, struct planted *planted)
{
    make_planted(random, planted);
    for (size_t k = 0; k < 2; k++)
        plant_lead(random, planted, k, k == 1);
    plant_kept(random, planted, 2);
    for (size_t k = 3; k < PLANT_BARS; k++)
        plant_bars(random, planted, k, random_in(random, 1, 6), 0, 0);
}

/* What is left of the column, besides what is kept from such bars in any case. */
static int64_t check_col(const struct planted *planted, const struct dw_col *col, int64_t *made)
{
    const struct dw_fill_bars *bars = &planted->bars[col->stock];
    const struct dw_col *lead = &bars->lead;
    int64_t length = col->left, rest = col->left - lead->left, n_lead = 0;
    for (size_t k = 0; k < col->n; k++) {
        const struct dw_entry *entry = &col->entries[k];
        const int64_t own = lead->n > 0 && lead->entries[0].item == entry->item;
        made[entry->item] += entry->count - own;
        n_lead += own;
        length += entry->count * planted->items[entry->item].size;
    }
    assert_int_equal(n_lead, lead->n);
    assert_int_equal(length, planted->stocks[col->stock].cap);
    assert_true(rest >= 0 && rest <= bars->most_left);
    assert_int_equal(col->slack, rest < lead->slack ? rest : lead->slack);
    assert_int_equal(col->kept, lead->kept);
    assert_int_equal(col->first, DW_NONE);
    return rest;
}

static void check_plan(const struct planted *planted, const struct dw_solution *plan)
{
    int64_t made[PLANT_ITEMS] = {0}, bars[PLANT_BARS] = {0}, waste = 0, exact = 0;
    for (size_t u = 0; u < plan->n; u++) {
        const struct dw_col *col = plan->uses[u].col;
        int64_t each[PLANT_ITEMS] = {0};
        const int64_t n = plan->uses[u].count, rest = check_col(planted, col, each);
        for (size_t i = 0; i < PLANT_ITEMS; i++)
            made[i] += n * each[i];
        bars[col->stock] += n;
        waste += n * rest;
        exact += planted->bars[col->stock].counted && rest == 0 ? n : 0;
    }
    for (size_t i = 0; i < PLANT_ITEMS; i++)
        assert_int_equal(made[i], planted->left[i]);
    for (size_t k = 0; k < PLANT_BARS; k++)
        assert_int_equal(bars[k], planted->bars[k].n);
    assert_int_equal(waste, planted->waste);
    assert_true(exact >= planted->exact);
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
    assert_int_equal(dw_fill__run(&master, planted->left, planted->bars, PLANT_BARS, planted->exact,
                                  3000000, seed, &plan, &found, &error),
                     DW_OK);
    if (found)
        check_plan(planted, &plan);
    assert_true(found || plan.n == 0);
    dw_solution__free(&plan);
    dw_pool__free(&pool);
    return found;
}

/* How many of 20 plans are found. */
static int count_found(uint64_t seed, void (*put)(struct random *random, struct planted *planted))
{
    struct random random = {seed};
    int n_found = 0;
    for (uint64_t turn = 0; turn < 20; turn++) {
        struct planted planted;
        put(&random, &planted);
        n_found += fills(&planted, turn);
        dw_arena__free(planted.problem.arena);
    }
    return n_found;
}

static void test_planted(void **unused)
{
    (void)unused;
    assert_true(count_found(5, plant) >= 18);
}

static void test_planted_waste(void **unused)
{
    (void)unused;
    assert_true(count_found(6, plant_waste) >= 18);
}

static void test_planted_leads(void **unused)
{
    (void)unused;
    assert_true(count_found(8, plant_leads) >= 18);
}

/* Given up without harm. */
static void test_no_plan(void **unused)
{
    (void)unused;
    struct random random = {7};
    struct planted planted;
    plant(&random, &planted);
    planted.bars[0].room += 1; /* no pieces fill it any more */
    assert_false(fills(&planted, 1));
    dw_arena__free(planted.problem.arena);
    plant_waste(&random, &planted);
    planted.exact = 0;
    for (size_t k = 0; k < PLANT_BARS; k++)
        planted.exact += planted.bars[k].n; /* and yet there is waste */
    assert_false(fills(&planted, 1));
    dw_arena__free(planted.problem.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_last_bars),     cmocka_unit_test(test_planted),
        cmocka_unit_test(test_planted_waste), cmocka_unit_test(test_planted_leads),
        cmocka_unit_test(test_no_plan),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
