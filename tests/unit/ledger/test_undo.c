/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Undo: what is taken back, whose it was; and every step in words. */
#include "stand.h"

/* What the last step in force was, and in one line. */
static void told(struct shop *shop, int64_t step, const char *what, const char *line)
{
    struct dw_deed deed = {0};
    char text[DW_DEED_TEXT];
    OK(dw_ledger_deed(shop->ledger, step, &deed, &shop->error));
    assert_string_equal(deed.what, what);
    dw_deed_print(text, &deed);
    if (line)
        assert_string_equal(text, line);
}

/* A step says whose it was, when, and what it was about; another's is taken back by its number. */
static void test_undo_of_another(void **state)
{
    struct shop *shop = *state;
    const struct dw_act bo = {.when = "2026-03-01T15:06:07Z", .who = "Bo"};
    const struct dw_act nobody = {.when = "2026-03-01"};
    struct dw_deed undone = {0};
    int64_t step = 0, other = 0;
    add(shop, "B7", 6000 * MM);
    make_plan(shop, "B7", 6000 * MM);
    int64_t plan = hold(shop, 0);
    OK(dw_ledger_last(shop->ledger, &step, &other, &shop->error));
    told(shop, step, "plan 1 held", NULL);
    OK(dw_ledger_cut(shop->ledger, &bo, plan, 1, NULL, NULL, &step, &shop->error));
    told(shop, step, "bar 1 of plan 1 cut",
         "step 4: bar 1 of plan 1 cut, by Bo, 2026-03-01 15:06 UTC");
    REFUSED(DW_ERR_STATE,
            "the last step is another's: step 4: bar 1 of plan 1 cut, by Bo, 2026-03-01 15:06 UTC; "
            "`dropwise shelf undo --step 4` takes it back",
            dw_ledger_undo(shop->ledger, &act, 0, &undone, NULL, &shop->error));
    REFUSED(DW_ERR_STATE, "another's",
            dw_ledger_undo(shop->ledger, &nobody, 0, &undone, NULL, &shop->error));
    assert_int_equal(undone.id, 0);
    OK(dw_ledger_undo(shop->ledger, &act, step, &undone, &other, &shop->error));
    assert_string_equal(undone.what, "bar 1 of plan 1 cut");
    assert_string_equal(undone.who, "Bo");
    told(shop, other, "step 4 undone", NULL);
    OK(dw_ledger_deed(shop->ledger, step, &undone, &shop->error));
    assert_true(undone.undone);
    /* one that nobody gave a name to is nobody's own */
    OK(dw_ledger_release(shop->ledger, &nobody, plan, &step, &shop->error));
    told(shop, step, "plan 1 released", "step 6: plan 1 released, no name given, 2026-03-01");
    REFUSED(DW_ERR_STATE, "another's",
            dw_ledger_undo(shop->ledger, &bo, 0, &undone, NULL, &shop->error));
    OK(dw_ledger_undo(shop->ledger, &nobody, 0, &undone, NULL, &shop->error));
    REFUSED(DW_ERR_NOTFOUND, "no step 99", dw_ledger_deed(shop->ledger, 99, &undone, &shop->error));
}

/* Every kind of step in words. */
static void test_steps_in_words(void **state)
{
    struct shop *shop = *state;
    static const char *const two[] = {"C1", "C2"};
    struct dw_counted row = {.number = "C1", .length = 900 * MM};
    struct dw_count count = {.n = 1, .rows = &row};
    int64_t step = 0, undoable = 0;
    add(shop, "C1", 1000 * MM);
    add(shop, "C2", 2500 * MM);
    OK(dw_ledger_last(shop->ledger, &step, &undoable, &shop->error));
    told(shop, step, "C2 added", NULL);
    told(shop, 1, "material S48 described", NULL);
    OK(dw_ledger_move(shop->ledger, &act, two, 2, "rack", &step, &shop->error));
    told(shop, step, "2 pieces moved", NULL);
    OK(dw_ledger_count(shop->ledger, &act, &count, NULL, &step, &shop->error));
    told(shop, step, "C1 counted", NULL);
    OK(dw_ledger_count(shop->ledger, &act, &count, NULL, &step, &shop->error));
    told(shop, step, "the shelf counted", NULL);
    OK(dw_ledger_scrap(shop->ledger, &act, two, 1, &step, &shop->error));
    told(shop, step, "C1 thrown away", NULL);
    make_plan(shop, "C2", 2500 * MM);
    int64_t first = hold(shop, 0), second = hold(shop, first);
    OK(dw_ledger_last(shop->ledger, &step, &undoable, &shop->error));
    told(shop, step, "plan 2 held in place of plan 1", NULL);
    OK(dw_ledger_measure(shop->ledger, &act, second, 1, 2499 * MM, &step, &shop->error));
    told(shop, step, "C2 measured for plan 2", NULL);
    struct dw_cut cut = {0};
    OK(dw_ledger_cut(shop->ledger, &act, second, 1, &cut, NULL, &step, &shop->error));
    told(shop, step, "bar 1 of plan 2 cut otherwise than planned", NULL);
}

#define UNDO(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        UNDO(test_undo_of_another),
        UNDO(test_steps_in_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
