/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Amounts of money, and ISO 4217: minor units as in its list one, published 2024-06-25; later
 * changes from memory. */
#include <dropwise/money.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static const struct {
    const char *text;
    const char *code;
    int64_t amount; /* 1/10 000 */
} accepted[] = {
    {"12.50", "EUR", 125000},
    {"12,50", "EUR", 125000},
    {"12.5", "EUR", 125000},
    {"12", "EUR", 120000},
    {"0", "EUR", 0},
    {".75", "USD", 7500},
    {"0.875", "USD", 8750},
    {"0,875", "EUR", 8750},
    {"12.3456", "EUR", 123456},
    {"12,3450", "EUR", 123450},
    {"12.34560000", "EUR", 123456},
    {"1 250.00", "EUR", 12500000},
    {"1 250", "EUR", 12500000},
    {"1\xC2\xA0"
     "250,00",
     "EUR", 12500000},
    {"1,250.00", "USD", 12500000},
    {"1.250,00", "EUR", 12500000},
    {"1,250,000", "USD", INT64_C(12500000000)},
    {"1 250 000,5", "EUR", INT64_C(12500005000)},
    {"12.50 EUR", "EUR", 125000},
    {"EUR 12.50", "EUR", 125000},
    {"12.50EUR", "EUR", 125000},
    {" 12.50\xC2\xA0"
     "EUR ",
     "EUR", 125000},
    {"1250", "JPY", 12500000},
    {"1.250", "KWD", 12500},
    {"12.345 BHD", "BHD", 123450},
    {"100000000000", "EUR", DW_MONEY_MAX},
};

static void test_accepted(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof accepted / sizeof accepted[0]; i++) {
        struct dw_error error = {0};
        dw_money amount = -1;
        dw_err err = dw_money_parse(accepted[i].text, strlen(accepted[i].text), accepted[i].code,
                                    &amount, &error);
        if (err != DW_OK || amount != accepted[i].amount)
            fail_msg("%s: %lld; %s", accepted[i].text, (long long)amount, error.text);
    }
}

static const struct {
    const char *text;
    const char *code;
    dw_err err;
    int column;
    const char *says;
} refused[] = {
    {"", "EUR", DW_ERR_SYNTAX, 1, "a number is missing"},
    {"EUR", "EUR", DW_ERR_SYNTAX, 4, "a number is missing"},
    {"1,250", "USD", DW_ERR_SYNTAX, 2, "thousands or decimals"},
    {"1.250", "EUR", DW_ERR_SYNTAX, 2, "thousands or decimals? write 1250 or 1.2500"},
    {"1,250", "KWD", DW_ERR_SYNTAX, 2, "thousands or decimals"},
    {"USD 12", "EUR", DW_ERR_SYNTAX, 1, "USD is not the job's currency; write EUR"},
    {"12 USD", "EUR", DW_ERR_SYNTAX, 4, "USD is not"},
    {"12 eur", "EUR", DW_ERR_SYNTAX, 4, "eur is not"},
    {"12 AZA", "EUR", DW_ERR_SYNTAX, 4, "AZA is not"},
    {"12 aza", "EUR", DW_ERR_SYNTAX, 4, "aza is not"},
    {"12,345,678,901,234,567,890,123", "EUR", DW_ERR_RANGE, 1, "too many digits"},
    {"12 EUR", "XXX", DW_ERR_SYNTAX, 4, "no currency"},
    {"EUR 12 EUR", "EUR", DW_ERR_SYNTAX, 8, "a second currency code"},
    {"12 EUR EUR", "EUR", DW_ERR_SYNTAX, 8, "one amount"},
    {"12 13", "EUR", DW_ERR_SYNTAX, 4, "one amount"},
    {"12/2", "EUR", DW_ERR_SYNTAX, 3, "one amount"},
    {"12-", "EUR", DW_ERR_SYNTAX, 3, "one amount"},
    {"\xE2\x82\xAC 12", "EUR", DW_ERR_SYNTAX, 1, "12.50 EUR"},
    {"$12", "USD", DW_ERR_SYNTAX, 1, "12.50 EUR"},
    {"12.", "EUR", DW_ERR_SYNTAX, 3, "digits are missing"},
    {"1.2.3", "EUR", DW_ERR_SYNTAX, 4, "don't add up"},
    {"12 50", "EUR", DW_ERR_SYNTAX, 4, "one amount"},
    {"12.34567", "EUR", DW_ERR_RANGE, 1, "at most 4 decimals"},
    {"-12.50", "EUR", DW_ERR_RANGE, 1, "negative"},
    {"EUR -12.50", "EUR", DW_ERR_RANGE, 5, "negative"},
    {"\xE2\x88\x92"
     "12",
     "EUR", DW_ERR_RANGE, 1, "negative"},
    {"100000000000.0001", "EUR", DW_ERR_RANGE, 1, "limit"},
    {"100000000001", "EUR", DW_ERR_RANGE, 1, "limit"},
    {"9223372036854775807", "EUR", DW_ERR_RANGE, 1, "limit"},
    {"9223372036854775808", "EUR", DW_ERR_RANGE, 1, "too many digits"},
    {"12\xFF", "EUR", DW_ERR_SYNTAX, 3, "not UTF-8"},
};

static void test_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        struct dw_error error = {0};
        dw_money amount = 77;
        dw_err err = dw_money_parse(refused[i].text, strlen(refused[i].text), refused[i].code,
                                    &amount, &error);
        if (err != refused[i].err || error.line != 0 || error.column != refused[i].column ||
            !strstr(error.text, refused[i].says) || amount != 0)
            fail_msg("%s: %s at %d: %s", refused[i].text, dw_err_name(err), error.column,
                     error.text);
    }
}

static const struct {
    int64_t amount;
    const char *code;
    bool bare;
    const char *text;
} printed[] = {
    {125000, "EUR", false, "12.50 EUR"},
    {123450, "EUR", false, "12.3450 EUR"},
    {123456, "EUR", true, "12.3456"},
    {0, "EUR", false, "0.00 EUR"},
    {1, "EUR", false, "0.0001 EUR"},
    {100, "EUR", true, "0.01"},
    {12500000, "JPY", false, "1250 JPY"},
    {125000, "JPY", false, "12.5000 JPY"},
    {123450, "KWD", false, "12.345 KWD"},
    {123456, "KWD", false, "12.3456 KWD"},
    {123456, "CLF", false, "12.3456 CLF"},
    {120000, "CLF", false, "12.0000 CLF"},
    {-125000, "EUR", false, "-12.50 EUR"},
    {-1, "EUR", false, "-0.0001 EUR"},
    {125000, "XXX", false, "12.50"},
    {DW_MONEY_MAX, "USD", false, "100000000000.00 USD"},
    {INT64_MAX, "USD", false, "922337203685477.5807 USD"},
    {INT64_MIN, "USD", false, "-922337203685477.5808 USD"},
};

static void test_printed(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof printed / sizeof printed[0]; i++) {
        char text[DW_MONEY_TEXT];
        size_t n = dw_money_print(text, printed[i].amount, printed[i].code, printed[i].bare);
        assert_string_equal(text, printed[i].text);
        assert_int_equal(n, strlen(text));
    }
}

static void test_rounded(void **state)
{
    (void)state;
    static const struct {
        int64_t amount;
        const char *code;
        int64_t rounded;
    } rows[] = {
        {123449, "EUR", 123400},
        {123450, "EUR", 123500},
        {-123450, "EUR", -123500},
        {-123449, "EUR", -123400},
        {49, "EUR", 0},
        {50, "EUR", 100},
        {-50, "EUR", -100},
        {124999, "JPY", 120000},
        {125000, "JPY", 130000},
        {-125000, "JPY", -130000},
        {123454, "KWD", 123450},
        {123455, "KWD", 123460},
        {123456, "CLF", 123456},
        {125000, "EUR", 125000},
        {INT64_MAX, "CLF", INT64_MAX},
        {0, "JPY", 0},
        {INT64_MIN, "CLF", INT64_MIN},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(dw_money_round(rows[i].amount, rows[i].code), rows[i].rounded);
    for (size_t i = 0; i < 2; i++) {
        /* no multiple of the minor unit lies beyond: the nearest that fits */
        int64_t end = i ? INT64_MIN : INT64_MAX;
        int64_t rounded = dw_money_round(end, "JPY");
        assert_int_equal(rounded % 10000, 0);
        assert_true(end - rounded < 10000 && end - rounded > -10000);
    }
}

/* Every amount prints and reads back, in every kind of currency. */
static void test_round_trip(void **state)
{
    (void)state;
    static const char *const codes[] = {"EUR", "JPY", "KWD", "CLF", "XXX"};
    uint64_t seed = 9;
    for (int i = 0; i < 100000; i++) {
        seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        int64_t amount = (int64_t)(seed >> 13) % (DW_MONEY_MAX + 1);
        amount >>= seed % 47;
        amount -= amount % (seed % 3 == 0 ? 1 : seed % 3 == 1 ? 100 : 10);
        const char *code = codes[i % 5];
        char text[DW_MONEY_TEXT];
        size_t n = dw_money_print(text, amount, code, i % 2);
        struct dw_error error = {0};
        dw_money back = -1;
        dw_err err = dw_money_parse(text, n, code, &back, &error);
        if (err != DW_OK || back != amount)
            fail_msg("%lld %s printed as %s: %s", (long long)amount, code, text, error.text);
    }
}

/* What does not have two decimals in ISO 4217, list one. */
static const struct dw_currency odd_units[] = {
    {"BIF", 0}, {"CLP", 0}, {"DJF", 0}, {"GNF", 0}, {"ISK", 0}, {"JPY", 0}, {"KMF", 0},
    {"KRW", 0}, {"PYG", 0}, {"RWF", 0}, {"UGX", 0}, {"UYI", 0}, {"VND", 0}, {"VUV", 0},
    {"XAF", 0}, {"XOF", 0}, {"XPF", 0}, {"BHD", 3}, {"IQD", 3}, {"JOD", 3}, {"KWD", 3},
    {"LYD", 3}, {"OMR", 3}, {"TND", 3}, {"CLF", 4}, {"UYW", 4},
};

static void test_currencies(void **state)
{
    (void)state;
    size_t n = 0, n_odd = 0;
    for (char a = 'A'; a <= 'Z'; a++)
        for (char b = 'A'; b <= 'Z'; b++)
            for (char c = 'A'; c <= 'Z'; c++) {
                const char code[4] = {a, b, c, '\0'};
                const struct dw_currency *found = dw_currency_find(code);
                if (!found)
                    continue;
                assert_string_equal(found->code, code);
                n++;
                n_odd += found->decimals != 2;
            }
    assert_int_equal(n, 179);
    assert_int_equal(n_odd, sizeof odd_units / sizeof odd_units[0]);
    for (size_t i = 0; i < n_odd; i++)
        assert_int_equal(dw_currency_find(odd_units[i].code)->decimals, odd_units[i].decimals);
    static const char *const current[] = {"EUR", "USD", "GBP", "CHF", "TTD", "JMD", "CAD",
                                          "AUD", "ZAR", "SLE", "VED", "ZWG", "XXX", "XTS"};
    for (size_t i = 0; i < sizeof current / sizeof current[0]; i++)
        assert_non_null(dw_currency_find(current[i]));
    /* withdrawn before that list, or no code at all */
    static const char *const gone[] = {"DEM", "FRF", "ITL", "HRK", "SLL",  "ZWL",
                                       "BYR", "",    "eur", "EU",  "EURO", "E\0R"};
    for (size_t i = 0; i < sizeof gone / sizeof gone[0]; i++)
        assert_null(dw_currency_find(gone[i]));
    assert_null(dw_currency_find(NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_accepted),   cmocka_unit_test(test_refused),
        cmocka_unit_test(test_printed),    cmocka_unit_test(test_rounded),
        cmocka_unit_test(test_round_trip), cmocka_unit_test(test_currencies),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
