/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One bar by who uses it, to the nanometre; worked by hand from quote.h. */
#include "cost/cost.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#define MM DW_NM_PER_MM

/* Bars of 6000 mm, 5 mm squared off each end; kerf 5. Two of them came to 120.00. Parts 0 and 2 are
 * order 0's, part 1 is order 1's. */
struct fixture {
    struct dw_job job;
    struct dw_supply supply;
    struct dw_part parts[3];
    struct dw_take take;
    struct dw_layout layout;
    size_t orders[4];
    int64_t used[4], pieces[4], trims[4], counts[4];
    struct dw_cost_bar bar;
};

static void make(struct fixture *f, const struct dw_piece *pieces, size_t n)
{
    *f = (struct fixture){.supply = {.id = "six",
                                     .length = 6000 * MM,
                                     .count = DW_UNLIMITED,
                                     .pack = 1,
                                     .trim = 5 * MM,
                                     .tail_material = DW_NONE}};
    f->parts[1].order = 1;
    f->take = (struct dw_take){.bought = 2, .used = 2, .money = 1200000};
    f->layout = (struct dw_layout){.count = 2, .pieces = pieces, .n_pieces = n};
    f->bar = (struct dw_cost_bar){.length = 1,
                                  .trims = 1,
                                  .used = 1,
                                  .pieces = 1,
                                  .money = 1,
                                  .n = 1,
                                  .orders = f->orders,
                                  .used_by = f->used,
                                  .pieces_by = f->pieces,
                                  .trims_by = f->trims,
                                  .count_by = f->counts};
    for (size_t i = 0; i < 4; i++)
        f->used[i] = f->pieces[i] = f->trims[i] = f->counts[i] = 7;
}

static dw_err reckon(struct fixture *f)
{
    f->job.saw.kerf = 5 * MM;
    f->job.n_supplies = 1;
    f->job.supplies = &f->supply;
    f->job.n_parts = 3;
    f->job.parts = f->parts;
    return dw_cost__bar(&f->job, &f->layout, &f->take, &f->bar, NULL);
}

/* 2 x 1000, 1990 and 500 with four kerfs: 1485 of 5990 are left before the last cut. The 10 mm that
 * are squared off fall to 2500 and 1990 of 4490: 5.567 928 73 and 4.432 071 27, the larger rest up.
 */
static void test_two_users(void **state)
{
    (void)state;
    const struct dw_piece pieces[] = {{DW_USE_PART, 0, 1000 * MM, 2},
                                      {DW_USE_POST, 1, 1990 * MM, 1},
                                      {DW_USE_PART, 2, 500 * MM, 1}};
    struct fixture f;
    make(&f, pieces, 3);
    assert_int_equal(reckon(&f), DW_OK);
    assert_int_equal(f.bar.length, 6000 * MM);
    assert_int_equal(f.bar.trims, 10 * MM);
    assert_int_equal(f.bar.pieces, 4490 * MM);
    assert_int_equal(f.bar.used, 4520 * MM);
    assert_int_equal(f.bar.money, 1200000);
    assert_int_equal(f.bar.n, 2);
    assert_int_equal(f.orders[0], 0);
    assert_int_equal(f.orders[1], 1);
    assert_int_equal(f.used[0], 2515 * MM + 5567929);
    assert_int_equal(f.used[1], 1995 * MM + 4432071);
    assert_int_equal(f.pieces[0], 2500 * MM);
    assert_int_equal(f.pieces[1], 1990 * MM);
    assert_int_equal(f.counts[0], 3);
    assert_int_equal(f.counts[1], 1);
    assert_int_equal(f.used[2], 7);
    f.supply.measured = 6010 * MM;
    assert_int_equal(reckon(&f), DW_OK);
    assert_int_equal(f.bar.length, 6010 * MM);
    assert_int_equal(f.bar.used, 4520 * MM);
}

/* What of the last cut is on the bar: all of it from 5 mm on, none of it when the bar is full. */
static void test_the_last_cut(void **state)
{
    (void)state;
    static const dw_length rem[] = {6 * MM, 5 * MM, 5 * MM - 1, 1, 0};
    for (size_t i = 0; i < sizeof rem / sizeof *rem; i++) {
        dw_length last = rem[i] < 5 * MM ? rem[i] : 5 * MM;
        const struct dw_piece pieces[] = {{DW_USE_PART, 0, 1000 * MM, 2},
                                          {DW_USE_PART, 1, 3980 * MM - rem[i], 1}};
        struct fixture f;
        make(&f, pieces, 2);
        assert_int_equal(reckon(&f), DW_OK);
        assert_int_equal(f.used[0] - f.trims[0], 2010 * MM);
        assert_int_equal(f.trims[0] + f.trims[1], 10 * MM);
        assert_int_equal(f.used[1] - f.trims[1], 3980 * MM - rem[i] + last);
        assert_int_equal(f.bar.used, 6000 * MM - rem[i] + last);
        assert_int_equal(f.bar.pieces, 5980 * MM - rem[i]);
    }
}

/* Nobody is charged for a surplus piece; the cut before it is the part's. */
static void test_surplus(void **state)
{
    (void)state;
    const struct dw_piece pieces[] = {{DW_USE_PART, 1, 1000 * MM, 1},
                                      {DW_USE_SURPLUS, 0, 1000 * MM, 1}};
    struct fixture f;
    make(&f, pieces, 2);
    f.layout.count = 1;
    assert_int_equal(reckon(&f), DW_OK);
    assert_int_equal(f.bar.n, 1);
    assert_int_equal(f.orders[0], 1);
    assert_int_equal(f.bar.used, 1015 * MM);
    assert_int_equal(f.bar.pieces, 1000 * MM);
    assert_int_equal(f.bar.money, 600000);
}

static void test_refusals(void **state)
{
    (void)state;
    struct dw_piece piece = {DW_USE_PART, 0, 5990 * MM, 1};
    struct fixture f;
    make(&f, &piece, 1);
    assert_int_equal(reckon(&f), DW_OK);
    piece.length++;
    assert_int_equal(reckon(&f), DW_ERR_CHECK);
    piece.length--;
    f.take.bought = 0;
    assert_int_equal(reckon(&f), DW_ERR_CHECK);
    f.take.bought = 1;
    assert_int_equal(reckon(&f), DW_OK);
    f.take.money = INT64_MAX / 2 + 1;
    assert_int_equal(reckon(&f), DW_ERR_RANGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_two_users),
        cmocka_unit_test(test_the_last_cut),
        cmocka_unit_test(test_surplus),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
