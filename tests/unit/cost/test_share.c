/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shares that add up, and markup against margin. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include <dropwise/dropwise.h>

#include <stdlib.h>

/* Small enough to do by hand: 10.00 by 1 : 1 : 1 and by 5 : 3 : 1. */
static void test_by_hand(void **state)
{
    (void)state;
    dw_money shares[3] = {0};
    const int64_t even[] = {1, 1, 1};
    assert_int_equal(dw_share_split(100000, 100, 3, even, shares, NULL), DW_OK);
    assert_int_equal(shares[0], 33400); /* ties go to the lower index */
    assert_int_equal(shares[1], 33300);
    assert_int_equal(shares[2], 33300);
    const int64_t odd[] = {5, 3,
                           1}; /* 5.555.. 3.333.. 1.111..: the largest remainder is the first */
    assert_int_equal(dw_share_split(100000, 100, 3, odd, shares, NULL), DW_OK);
    assert_int_equal(shares[0], 55600);
    assert_int_equal(shares[1], 33300);
    assert_int_equal(shares[2], 11100);
    assert_int_equal(dw_share_split(100050, 100, 3, odd, shares, NULL), DW_OK);
    assert_int_equal(shares[0] + shares[1] + shares[2], 100050);
    const int64_t none[] = {0, 0, 0};
    assert_int_equal(dw_share_split(700, 100, 3, none, shares, NULL), DW_OK);
    assert_int_equal(shares[0], 700);
    const int64_t big[] = {INT64_MAX / 2, INT64_MAX / 4, 0};
    assert_int_equal(dw_share_split(DW_MONEY_MAX, 1, 3, big, shares, NULL), DW_OK);
    assert_int_equal(shares[0] + shares[1], DW_MONEY_MAX);
    assert_int_equal(shares[2], 0);
    assert_true(llabs(shares[0] - 2 * shares[1]) <= 2);
    const int64_t wrong[] = {1, -1};
    assert_int_equal(dw_share_split(700, 100, 2, wrong, shares, NULL), DW_ERR_RANGE);
    const int64_t over[] = {INT64_MAX, INT64_MAX};
    assert_int_equal(dw_share_split(700, 100, 2, over, shares, NULL), DW_ERR_RANGE);
}

/* Whatever stood in the shares before; the odd part goes to the first who has a weight. */
static void test_first_receiver(void **state)
{
    (void)state;
    dw_money shares[3] = {9, 9, 9};
    const int64_t none[] = {0, 0, 0}, second[] = {0, 1, 1}, rising[] = {1, 3, 5};
    assert_int_equal(dw_share_split(700, 100, 3, none, shares, NULL), DW_OK);
    assert_int_equal(shares[0], 700);
    assert_int_equal(shares[1], 0);
    assert_int_equal(shares[2], 0);
    assert_int_equal(dw_share_split(405, 100, 3, second, shares, NULL), DW_OK);
    assert_int_equal(shares[0], 0);
    assert_int_equal(shares[1], 205);
    assert_int_equal(shares[2], 200);
    assert_int_equal(dw_share_split(100000, 100, 3, rising, shares, NULL), DW_OK);
    assert_int_equal(shares[0], 11100);
    assert_int_equal(shares[1], 33300);
    assert_int_equal(shares[2], 55600);
    assert_int_equal(dw_share_split(0, 1, 3, rising, shares, NULL), DW_OK);
    assert_int_equal(shares[2], 0);
    assert_int_equal(dw_share_split(700, 100, 0, rising, shares, NULL), DW_ERR_RANGE);
    assert_int_equal(dw_share_split(-1, 100, 3, rising, shares, NULL), DW_ERR_RANGE);
    assert_int_equal(dw_share_split(700, 0, 3, rising, shares, NULL), DW_ERR_RANGE);
}

/* The quota rule of largest remainder: each share is the exact one rounded down or up. */
static void test_quota(void **state)
{
    (void)state;
    srand(7);
    for (int round = 0; round < 2000; round++) {
        int64_t weights[9] = {0};
        dw_money shares[9] = {0};
        size_t n = 1 + (size_t)(rand() % 9);
        int64_t sum = 0;
        for (size_t i = 0; i < n; i++)
            sum += weights[i] = rand() % 1000;
        dw_money total = rand() % 100000;
        assert_int_equal(dw_share_split(total, 1, n, weights, shares, NULL), DW_OK);
        dw_money all = 0;
        for (size_t i = 0; i < n; i++) {
            all += shares[i];
            if (sum)
                assert_true(llabs(shares[i] * sum - total * weights[i]) < sum);
        }
        assert_int_equal(all, total);
    }
}

/* Published tables of the method of largest remainders (Hamilton's): a total of seats by people.
 * From memory, each recomputed by hand: Balinski, Young, Fair Representation (1982), the census of
 * 1790 and Hamilton's bill for a house of 120; en.wikipedia.org, Largest remainder method, 100 000
 * votes for 10 seats; en.wikipedia.org, Apportionment paradox, 10 seats and 11. */
static void test_apportionment(void **state)
{
    (void)state;
    static const struct {
        size_t n;
        dw_money seats;
        int64_t people[15];
        dw_money shares[15];
    } tables[] = {
        /* CT DE GA KY MD MA NH NJ NY NC PA RI SC VT VA, 3 615 920 in all */
        {15,
         120,
         {236841, 55540, 70835, 68705, 278514, 475327, 141822, 179570, 331589, 353523, 432879,
          68446, 206236, 85533, 630560},
         {8, 2, 2, 2, 9, 16, 5, 6, 11, 12, 14, 2, 7, 3, 21}},
        {6, 10, {47000, 16000, 15900, 12000, 6000, 3100}, {5, 2, 1, 1, 1, 0}},
        {3, 10, {6, 6, 2}, {4, 4, 2}},
        {3, 11, {6, 6, 2}, {5, 5, 1}},
    };
    for (size_t t = 0; t < sizeof tables / sizeof *tables; t++) {
        dw_money shares[15] = {0};
        assert_int_equal(
            dw_share_split(tables[t].seats, 1, tables[t].n, tables[t].people, shares, NULL), DW_OK);
        for (size_t i = 0; i < tables[t].n; i++)
            assert_int_equal(shares[i], tables[t].shares[i]);
    }
}

static dw_money price_to(dw_money cost, enum dw_uplift uplift, int64_t ppm, dw_money step)
{
    dw_money out = 0;
    assert_int_equal(dw_uplift_price(cost, uplift, ppm, step, &out, NULL), DW_OK);
    return out;
}

static dw_money price(dw_money cost, enum dw_uplift uplift, int64_t ppm)
{
    return price_to(cost, uplift, ppm, 1);
}

/* By hand. 50.03 x 1.3333 = 66.704999: to cents 66.70, though to four decimals it is 66.7050.
 * 50.03 / 0.75 = 66.70666..: 66.71. 0.30 x 1.15 = 0.345: half goes away from zero, 0.35. To steps
 * of 0.50, 66.704999 is 66.50 and 10.00 x 1.025 = 10.25 is 10.50; to 0.0003 units (three of
 * 1/10 000), 0.0001 x 4.499999 is one step and 0.0001 x 4.5 two: 4.5 / 3 = 1.5. */
static void test_rounded_once(void **state)
{
    (void)state;
    assert_int_equal(price_to(500300, DW_UPLIFT_MARKUP, 333300, 100), 667000);
    assert_int_equal(price_to(-500300, DW_UPLIFT_MARKUP, 333300, 100), -667000);
    assert_int_equal(price_to(500300, DW_UPLIFT_MARGIN, 250000, 100), 667100);
    assert_int_equal(price_to(3000, DW_UPLIFT_MARKUP, 150000, 100), 3500);
    assert_int_equal(price_to(500300, DW_UPLIFT_MARKUP, 333300, 5000), 665000);
    assert_int_equal(price_to(100000, DW_UPLIFT_MARKUP, 25000, 5000), 105000);
    assert_int_equal(price_to(1, DW_UPLIFT_MARKUP, 3500000, 3), 6);
    assert_int_equal(price_to(1, DW_UPLIFT_MARKUP, 3499999, 3), 3);
    assert_int_equal(price_to(149, DW_UPLIFT_NONE, 0, 100), 100);
    assert_int_equal(price_to(150, DW_UPLIFT_NONE, 0, 100), 200);
}

/* cedia.net 2014/10/09, "markup vs margin": 50 % markup = 33.3 % margin; 6500 x 1.50 = 9750; for a
 * 35 % margin divide cost by 0.65. jtdodd.com.au: 33 % markup = 25 % margin, and a table of
 * margins: 5 -> 5.26, 20 -> 25, 40 -> 66.67, 45 -> 81.82, 50 -> 100. */
static void test_markup_and_margin(void **state)
{
    (void)state;
    assert_int_equal(price(65000000, DW_UPLIFT_MARKUP, 500000), 97500000);
    assert_int_equal(price(65000000, DW_UPLIFT_MARGIN, 350000), 100000000);
    assert_int_equal(price(65000000, DW_UPLIFT_NONE, 350000), 65000000);
    assert_int_equal(price(-65000000, DW_UPLIFT_MARKUP, 500000), -97500000);
    int64_t ppm = 0;
    assert_int_equal(dw_margin_of_markup(500000, &ppm, NULL), DW_OK);
    assert_int_equal(ppm, 333333);
    assert_int_equal(dw_margin_of_markup(330000, &ppm, NULL), DW_OK);
    assert_int_equal((ppm + 5000) / 10000, 25);
    static const int64_t table[][2] = {{5, 526}, {20, 2500}, {40, 6667}, {45, 8182}, {50, 10000}};
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(dw_markup_of_margin(table[i][0] * 10000, &ppm, NULL), DW_OK);
        assert_int_equal((ppm + 50) / 100, table[i][1]);
    }
}

static void test_impossible_margin(void **state)
{
    (void)state;
    int64_t out = 0;
    struct dw_error error = {0};
    assert_int_equal(dw_uplift_price(1, DW_UPLIFT_MARGIN, DW_PPM, 1, &out, &error), DW_ERR_INPUT);
    assert_string_equal(error.text,
                        "a margin is under 100 % of the price; a markup on cost may be more");
    assert_int_equal(dw_markup_of_margin(DW_PPM, &out, NULL), DW_ERR_INPUT);
    assert_int_equal(dw_uplift_price(1, DW_UPLIFT_MARKUP, -1, 1, &out, NULL), DW_ERR_INPUT);
    assert_int_equal(dw_uplift_price(DW_MONEY_MAX, DW_UPLIFT_MARGIN, DW_PPM - 1, 1, &out, NULL),
                     DW_ERR_RANGE);
    assert_int_equal(price(10000, DW_UPLIFT_MARKUP, DW_PPM), 20000); /* 100 % markup is fine */
}

/* The largest price; a markup that is almost all of the price, and one that can't be counted. */
static void test_largest(void **state)
{
    (void)state;
    int64_t out = 5;
    assert_int_equal(price(DW_MONEY_MAX, DW_UPLIFT_NONE, 0), DW_MONEY_MAX);
    assert_int_equal(dw_uplift_price(DW_MONEY_MAX, DW_UPLIFT_MARKUP, 1, 1, &out, NULL),
                     DW_ERR_RANGE);
    out = 5;
    assert_int_equal(dw_uplift_price(1, DW_UPLIFT_MARKUP, -1, 1, &out, NULL), DW_ERR_INPUT);
    assert_int_equal(out, 0);
    assert_int_equal(price(0, DW_UPLIFT_MARKUP, DW_PPM), 0);
    assert_int_equal(dw_margin_of_markup(INT64_MAX / 4, &out, NULL), DW_OK);
    assert_int_equal(out, DW_PPM);
    assert_int_equal(dw_margin_of_markup(INT64_MAX / 4 + 1, &out, NULL), DW_ERR_RANGE);
    assert_int_equal(out, 0);
    out = 5;
    assert_int_equal(dw_markup_of_margin(-1, &out, NULL), DW_ERR_INPUT);
    assert_int_equal(out, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_by_hand),           cmocka_unit_test(test_quota),
        cmocka_unit_test(test_apportionment),     cmocka_unit_test(test_rounded_once),
        cmocka_unit_test(test_markup_and_margin), cmocka_unit_test(test_impossible_margin),
        cmocka_unit_test(test_first_receiver),    cmocka_unit_test(test_largest),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
