/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The time of a step: real days, and doubts about one that is out of turn. */
#include "stand.h"

/* Gregorian calendar: a leap year is divisible by 4, but not by 100 unless by 400. */
static void test_days_are_real(void **state)
{
    struct shop *shop = *state;
    static const char *const good[] = {"2024-02-29", "2000-02-29", "2023-02-28", "2023-12-31"};
    static const char *const bad[] = {
        "2023-02-29", "1900-02-29", "2023-04-31", "2023-13-01",           "2023-00-10",
        "2023-01-00", "2023-1-01",  "31.3.2023",  "2023-03-01T08:00:00Z", ""};
    for (size_t i = 0; i < DW_COUNT(good); i++) {
        struct dw_stock stock = bar(NULL, 100 * MM);
        struct dw_act at = {.when = good[i]};
        stock.date = good[i];
        OK(dw_ledger_add(shop->ledger, &at, &stock, 1, NULL, &shop->error));
    }
    for (size_t i = 0; i < DW_COUNT(bad); i++) {
        struct dw_stock stock = bar(NULL, 100 * MM);
        stock.date = bad[i];
        REFUSED(DW_ERR_INPUT, "no day",
                dw_ledger_add(shop->ledger, &act, &stock, 1, NULL, &shop->error));
    }
    struct dw_stock stock = bar(NULL, 100 * MM);
    struct dw_act at = {.when = "2023-02-29T08:00:00Z"};
    REFUSED(DW_ERR_INPUT, "needs its time",
            dw_ledger_add(shop->ledger, &at, &stock, 1, NULL, &shop->error));
    at.when = "2023-02-2";
    REFUSED(DW_ERR_INPUT, "needs its time",
            dw_ledger_add(shop->ledger, &at, &stock, 1, NULL, &shop->error));
}

/* The last step is of 2026-03-01T08:00:00Z. */
static void test_doubts(void **state)
{
    struct shop *shop = *state;
    static const struct {
        const char *when;
        const char *now;
        const char *said; /* NULL: nothing */
    } rows[] = {
        {"2026-03-01T08:00:00Z", "2026-03-01T08:00:00Z", NULL},
        {"2026-03-01T07:59:59Z", "2026-03-01T08:00:00Z",
         "2026-03-01T07:59:59Z is before the last step: step 1: material S48 described, by Ines, "
         "2026-03-01 08:00 UTC"},
        {"2026-03-01", "2026-03-01T08:00:00Z", NULL}, /* that day: who knows */
        {"2026-02-28", "2026-03-01T08:00:00Z", "is before the last step"},
        {"2026-03-02T09:00:00Z", "2026-03-01T09:00:00Z", NULL},
        {"2026-03-02T09:00:01Z", "2026-03-01T09:00:00Z",
         "2026-03-02T09:00:01Z is more than a day ahead: it is 2026-03-01T09:00:00Z"},
        {"2026-03-02", "2026-03-01T09:00:00Z", NULL},
        {"2026-03-03", "2026-03-01T09:00:00Z", "is more than a day ahead"},
        {"2027-01-01T00:00:00Z", "2026-12-31T00:00:00Z", NULL},
        {"2026-03-32", "2026-03-01T09:00:00Z", NULL}, /* no day: the step is refused */
    };
    for (size_t i = 0; i < DW_COUNT(rows); i++) {
        struct dw_act at = {.when = rows[i].when};
        struct dw_report report = {0};
        OK(dw_ledger_doubt_time(shop->ledger, &at, rows[i].now, &report, &shop->error));
        if (report.n_remarks != (rows[i].said != NULL))
            print_message("%s: %zu remarks\n", rows[i].when, report.n_remarks);
        assert_int_equal(report.n_remarks, rows[i].said != NULL);
        if (rows[i].said) {
            assert_int_equal(report.remarks[0].severity, DW_DOUBT);
            assert_non_null(strstr(report.remarks[0].what.text, rows[i].said));
        }
        dw_report_free(&report);
    }
}

#define TIME(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TIME(test_days_are_real),
        TIME(test_doubts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
