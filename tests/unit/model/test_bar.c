/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The verifier's one-bar search: hand-worked bars, and never less than the best when states are
 * joined for want of room. That it is exact is tested with whole plans. */
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>

#include "model/plan_check.h"
#include "random_job.h"

/* One material whose leftovers of 10 and more are worth 3 a length. */
struct fixture {
    struct dw_material material;
    struct dw_job job;
    struct dw_audit_phi phi;
    struct dw_audit audit;
    struct dw_bar_room room;
};

static void make(struct fixture *f)
{
    *f = (struct fixture){
        .material = {.worth = {.kind = DW_WORTH_RATE, .keep = 10, .rate = 3, .per = 1}}};
    f->job.materials = &f->material;
    f->job.n_materials = 1;
    f->audit.job = &f->job;
    f->audit.phi = &f->phi;
    dw_audit__phi_prepare(&f->audit);
}

static int64_t best_from(struct fixture *f, const struct dw_bar *bar,
                         const struct dw_bar_item *items, size_t n, int64_t best)
{
    struct dw_bar_item copy[16];
    for (size_t i = 0; i < n; i++)
        copy[i] = items[i];
    assert_int_equal(dw_bar__best(&f->audit, bar, copy, n, &f->room, &best), DW_OK);
    return best;
}

static int64_t best_of(struct fixture *f, const struct dw_bar *bar, const struct dw_bar_item *items,
                       size_t n)
{
    return best_from(f, bar, items, n, INT64_MIN / 4);
}

static void bars_by_hand(void **state)
{
    (void)state;
    struct fixture f;
    make(&f);
    struct dw_bar bar = {.depth = DW_BAR_EXACT, .usable = 30, .kerf = 1, .scale = 1};
    const struct dw_bar_item items[] = {{7, 7, 50, 2}, {5, 5, 30, 9}};
    assert_int_equal(best_of(&f, &bar, items, 1), 2 * 50 + 3 * 14); /* 7 1 7 1 leaves 14 */
    assert_int_equal(best_of(&f, &bar, items, 2), 2 * 50 + 2 * 30); /* 16 + 12, 2 left */
    bar.exact = 90; /* 5 + 1 five times is 30 of 31: nothing fills the bar */
    assert_int_equal(best_of(&f, &bar, items, 2), 2 * 50 + 2 * 30);
    bar.usable = 29;
    assert_int_equal(best_of(&f, &bar, items, 2), 5 * 30 + 90); /* 5 x 6 = 30, filled */
    bar.grip = 1; /* the end is held: 29 - 1 for 16 + 12 */
    assert_int_equal(best_of(&f, &bar, items, 2), 2 * 50 + 2 * 30);
    bar.grip = 2; /* 8 + 18 of 27 */
    assert_int_equal(best_of(&f, &bar, items, 2), 50 + 3 * 30);
    const struct dw_bar_item poor[] = {{5, 5, -40, 1}};
    bar = (struct dw_bar){.depth = DW_BAR_EXACT, .usable = 30, .kerf = 1, .scale = 1};
    assert_int_equal(best_of(&f, &bar, poor, 1), 3 * 24 - 40); /* a bar is cut for something */
    assert_int_equal(best_of(&f, &bar, poor, 0), INT64_MIN / 4);
    bar.first_min = bar.first_max = 10; /* a bent part of 10 that counts */
    bar.first_value = 7;
    bar.first_counts = true;
    assert_int_equal(best_of(&f, &bar, poor, 0), 7 + 3 * 19);
    bar.first_counts = false;
    assert_int_equal(best_of(&f, &bar, poor, 1), 7 - 40 + 3 * 13);
    dw_bar__free(&f.room);
}

static void few_pieces_by_hand(void **state)
{
    (void)state;
    struct fixture f;
    make(&f);
    struct dw_bar bar = {.depth = DW_BAR_EXACT, .usable = 29, .kerf = 1, .exact = 90, .most = 5};
    const struct dw_bar_item items[] = {{7, 7, 50, 2}, {5, 5, 30, 9}};
    assert_int_equal(best_of(&f, &bar, items, 2), 5 * 30 + 90); /* 5 x 6 = 30, filled */
    bar.most = 4;
    assert_int_equal(best_of(&f, &bar, items, 2), 2 * 50 + 2 * 30); /* 16 + 12 */
    bar.most = 3;
    assert_int_equal(best_of(&f, &bar, items, 2), 2 * 50 + 30);
    bar.most = 1;
    bar.scale = 1; /* one leaves 29 - 8 at 3 a length; the shorter one 2 more */
    assert_int_equal(best_of(&f, &bar, items, 2), 50 + 3 * 21);
    bar.first_min = bar.first_max = 10; /* a bent part is the one piece, a bend end is none */
    bar.first_value = 7;
    bar.first_counts = true;
    assert_int_equal(best_of(&f, &bar, items, 2), 7 + 3 * 18);
    bar.first_counts = false;
    assert_int_equal(best_of(&f, &bar, items, 2), 7 + 50 + 3 * 10);
    dw_bar__free(&f.room);
}

static void ranges_and_middling_by_hand(void **state)
{
    (void)state;
    struct fixture f;
    make(&f);
    struct dw_bar bar = {.depth = DW_BAR_EXACT, .usable = 30, .kerf = 1, .scale = 1, .exact = 100};
    const struct dw_bar_item range[] = {{12, 15, 40, 2}};
    /* two at 14 and 15 with one kerf fill 30: 80 + 100; one leaves 17: 40 + 51 */
    assert_int_equal(best_of(&f, &bar, range, 1), 180);
    bar.exact = 0;
    f.job.rules.no_middling = bar.no_middling = true;
    f.job.rules.scrap_max = 2;
    /* two at 12 leave 30 - 24 - 2 = 4, middling, until stretched by two */
    assert_int_equal(best_of(&f, &bar, range, 1), 91);
    const struct dw_bar_item dear[] = {{12, 15, 90, 2}};
    assert_int_equal(best_of(&f, &bar, dear, 1), 180);
    const struct dw_bar_item stiff[] = {{12, 12, 90, 2}};
    assert_int_equal(best_of(&f, &bar, stiff, 1), 90 + 51);
    dw_bar__free(&f.room);
}

/* An outline of a bar that leaves earn most of: 300 for a new one of 100, half of that for what is
 * kept, are 1.5 a length; a table gives 60 from 20 on, 3 a length, and no more than new, 3; a rate
 * of 5 is cut down to 3. */
static void outlines_by_hand(void **state)
{
    (void)state;
    static const struct dw_worth_class classes[] = {{20, 60}, {30, 61}};
    static const struct {
        struct dw_worth worth;
        int64_t most;
    } rows[] = {
        {{.kind = DW_WORTH_NONE, .keep = 10}, 3}, /* three pieces worth 1 */
        {{.kind = DW_WORTH_SHARE, .keep = 10, .share = 500000}, 45},
        {{.kind = DW_WORTH_SHARE, .keep = 10, .share = 1000000}, 90},
        {{.kind = DW_WORTH_CLASSES, .keep = 10, .classes = classes, .n_classes = 2}, 90},
        {{.kind = DW_WORTH_CLASSES, .keep = 30, .classes = classes, .n_classes = 2}, 61},
        {{.kind = DW_WORTH_RATE, .keep = 10, .rate = 2, .per = 1}, 60},
        {{.kind = DW_WORTH_RATE, .keep = 10, .rate = 5, .per = 1}, 90},
    };
    const struct dw_bar bar = {.depth = DW_BAR_OUTLINE, .usable = 30, .scale = 1};
    const struct dw_bar_item items[] = {{10, 10, 1, 3}};
    struct fixture f;
    make(&f);
    f.phi.has_new = true;
    f.phi.new_price = 300;
    f.phi.new_length = 100;
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        f.material.worth = rows[i].worth;
        assert_int_equal(best_of(&f, &bar, items, 1), rows[i].most);
    }
    dw_bar__free(&f.room);
}

static struct dw_bar draw_bar(struct random *random)
{
    return (struct dw_bar){.depth = DW_BAR_EXACT,
                           .usable = random_in(random, 50, 400),
                           .kerf = random_in(random, 0, 3),
                           .grip = random_chance(random, 20) ? 5 : 0,
                           .exact = random_chance(random, 50) ? random_in(random, 1, 30) : 0};
}

static void joined_states_bound_from_above(void **state)
{
    (void)state;
    struct random random = {5};
    struct fixture f;
    int n_looser = 0;
    make(&f);
    for (int round = 0; round < 2000; round++) {
        struct dw_bar bar = draw_bar(&random);
        bar.scale = 1;
        struct dw_bar_item items[8];
        f.job.rules.no_middling = bar.no_middling = random_chance(&random, 20);
        f.job.rules.scrap_max = random_in(&random, 0, 9);
        for (size_t i = 0; i < 8; i++) {
            items[i].min = items[i].max = random_in(&random, 9, 90);
            items[i].max += random_chance(&random, 20) ? random_in(&random, 1, 9) : 0;
            items[i].value = random_in(&random, -9, 500);
            items[i].copies = random_in(&random, 1, 9);
        }
        bar.most = random_chance(&random, 30) ? random_in(&random, 1, 6) : 0;
        f.room.most = 0;
        int64_t best = best_of(&f, &bar, items, 8);
        f.room.most = (size_t)random_in(&random, 4, 12);
        int64_t bound = best_of(&f, &bar, items, 8);
        assert_true(bound >= best);
        n_looser += bound > best;
    }
    assert_in_range(n_looser, 100, 1999);
    dw_bar__free(&f.room);
}

/* Nothing better is missed for what is known already: values in step with length, so that full bars
 * come to all that a bar can. */
static void finds_whatever_beats_what_is_known(void **state)
{
    (void)state;
    struct random random = {1957};
    struct fixture f;
    make(&f);
    for (int round = 0; round < 2000; round++) {
        struct dw_bar bar = draw_bar(&random);
        bar.scale = random_in(&random, 1, 2);
        struct dw_bar_item items[8];
        int64_t slope = random_in(&random, 1, 8);
        for (size_t i = 0; i < 8; i++) {
            items[i].min = items[i].max = random_in(&random, 9, 90);
            items[i].value = slope * (items[i].min + bar.kerf) - random_chance(&random, 20);
            items[i].copies = random_in(&random, 1, 9);
        }
        int64_t best = best_of(&f, &bar, items, 8);
        bar.depth = DW_BAR_OUTLINE;
        assert_true(best_of(&f, &bar, items, 8) >= best);
        bar.depth = DW_BAR_EXACT;
        for (int64_t more = -1; more <= 1 && best > INT64_MIN / 4; more++)
            assert_int_equal(best_from(&f, &bar, items, 8, best + more),
                             more > 0 ? best + more : best);
    }
    dw_bar__free(&f.room);
}

/* Pieces of equal value merged: no less than the best is found, and no more than if every bar saved
 * a cut that leaves nothing of worth. */
static void merged_kinds_bound_from_above(void **state)
{
    (void)state;
    struct random random = {2007};
    struct fixture f;
    int n_same = 0, n_more = 0;
    make(&f);
    for (int round = 0; round < 2000; round++) {
        struct dw_bar bar = {.depth = DW_BAR_EXACT,
                             .usable = random_in(&random, 50, 300),
                             .kerf = random_in(&random, 0, 3),
                             .scale = random_in(&random, 1, 2)};
        struct dw_bar_item items[8];
        for (size_t i = 0; i < 8; i++) {
            items[i].min = items[i].max = random_in(&random, 9, 90);
            items[i].max += random_chance(&random, 20) ? random_in(&random, 1, 9) : 0;
            items[i].value = items[i].min / 20 * 100;
            items[i].copies = random_in(&random, 1, 30);
        }
        int64_t earning = best_of(&f, &bar, items, 8);
        f.material.worth.rate = 0;
        int64_t none = best_of(&f, &bar, items, 8) + 150;
        f.material.worth.rate = 3;
        bar.exact = 150;
        int64_t exact = best_of(&f, &bar, items, 8);
        bar.depth = DW_BAR_MERGED;
        int64_t merged = best_of(&f, &bar, items, 8);
        assert_true(merged >= exact);
        assert_true(merged <= (earning > none ? earning : none));
        n_same += merged == exact;
        n_more += merged > exact;
    }
    assert_in_range(n_same, 100, 1999);
    assert_in_range(n_more, 100, 1999);
    dw_bar__free(&f.room);
}

static void values_past_64_bits_are_refused(void **state)
{
    (void)state;
    struct fixture f;
    make(&f);
    const struct dw_bar bar = {.depth = DW_BAR_EXACT, .usable = 30, .scale = 1};
    struct dw_bar_item items[] = {{1, 1, INT64_MAX / 8, 9}};
    int64_t best = 0;
    assert_int_equal(dw_bar__best(&f.audit, &bar, items, 1, &f.room, &best), DW_ERR_RANGE);
    struct dw_bar_item losses[] = {{1, 1, -(INT64_MAX / 8), 9}};
    assert_int_equal(dw_bar__best(&f.audit, &bar, losses, 1, &f.room, &best), DW_ERR_RANGE);
    dw_bar__free(&f.room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bars_by_hand),
        cmocka_unit_test(few_pieces_by_hand),
        cmocka_unit_test(ranges_and_middling_by_hand),
        cmocka_unit_test(outlines_by_hand),
        cmocka_unit_test(joined_states_bound_from_above),
        cmocka_unit_test(finds_whatever_beats_what_is_known),
        cmocka_unit_test(merged_kinds_bound_from_above),
        cmocka_unit_test(values_past_64_bits_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
