/* SPDX-License-Identifier: GPL-3.0-or-later */
/* For any sequence of commands: brought in + corrected = parts + posts + on shelf + held + scrap +
 * trim + chips + lost, to the nanometre, and each of these is what the test's own books say. */
#include "tests/support/shop.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static bool must_live_with(dw_err err)
{
    return err == DW_OK || err == DW_ERR_STATE || err == DW_ERR_HELD || err == DW_ERR_NOTFOUND;
}

static void compare(const struct shop *shop, int64_t step)
{
    struct dw_balance b;
    assert_int_equal(dw_ledger_balance(shop->ledger, &b, NULL), DW_OK);
    if (memcmp(&b, &shop->book->now, sizeof b) != 0) {
        const int64_t *got = &b.in, *want = &shop->book->now.in;
        for (size_t i = 0; i < sizeof b / sizeof *got; i++)
            print_message("  %zu: %lld, foretold %lld\n", i, (long long)got[i], (long long)want[i]);
        print_message("after step %lld, %s\n", (long long)step, shop->last);
    }
    assert_memory_equal(&b, &shop->book->now, sizeof b);
    assert_int_equal(b.in + b.corrected,
                     b.parts + b.posts + b.on_shelf + b.held + b.scrap + b.trim + b.chips + b.lost);
}

static void run(uint64_t seed, int steps)
{
    char folder[] = "/tmp/dw_balance_XXXXXX", path[64], command[64];
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/shelf.db", folder);
    struct shop shop = {.seed = seed, .book = calloc(1, sizeof *shop.book)};
    assert_non_null(shop.book);
    struct dw_error error = {0};
    assert_int_equal(dw_ledger_open(path, DW_LEDGER_CREATE, 0, &shop.ledger, &error), DW_OK);
    assert_int_equal(shop_prepare(&shop, &error), DW_OK);
    int done = 0;
    for (int i = 0; i < steps; i++) {
        error = (struct dw_error){0};
        dw_err err = shop_step(&shop, &error);
        if (!must_live_with(err))
            print_message("%s: %s\n", shop.last, error.text);
        assert_true(must_live_with(err));
        assert_null(strstr(error.text, "refused by the ledger")); /* the tables' last resort */
        done += err == DW_OK;
        compare(&shop, i);
    }
    assert_true(done > steps / 2);
    assert_true(shop.book->now.parts > 0 && shop.book->now.chips > 0 && shop.book->now.kept > 0);
    struct dw_report report = {0};
    dw_err err = dw_ledger_check(shop.ledger, &report, &error);
    for (size_t i = 0; i < report.n_remarks; i++)
        print_message("%s\n", report.remarks[i].what.text);
    assert_int_equal(err, DW_OK);
    dw_ledger_close(shop.ledger);
    free(shop.book);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    assert_int_equal(system(command), 0);
}

static void test_any_sequence_balances(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 6; seed++)
        run(seed * 7919, 400);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_any_sequence_balances)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
