/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any bytes as a length, a range and an amount; what is read must print and read back. */
#include <dropwise/length.h>
#include <dropwise/money.h>

#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool holds)
{
    if (!holds)
        abort();
}

static void check_print(dw_length nm, enum dw_unit unit, char decimal_mark)
{
    const struct dw_length_style style = {
        .unit = unit, .denominator = 64, .decimals = 9, .decimal_mark = decimal_mark};
    char text[DW_LENGTH_TEXT];
    dw_length back = 0;
    size_t n = dw_length_print(text, nm, &style);
    must(n > 0 && n < sizeof text);
    if (text[0] != '~') {
        must(dw_length_parse(text, n, DW_UNIT_NONE, &back, NULL) == DW_OK);
        must(back == nm);
    }
}

static void check_length(const char *text, size_t n, enum dw_unit bare)
{
    struct dw_error error = {0};
    dw_length nm = -1, lo = -1, hi = -1;
    dw_err err = dw_length_parse(text, n, bare, &nm, &error);
    dw_err range_err = dw_range_parse(text, n, bare, &lo, &hi, NULL);
    must(error.code == err && nm >= 0 && nm <= DW_LENGTH_MAX);
    must(0 <= lo && lo <= hi && hi <= DW_LENGTH_MAX);
    if (err != DW_OK) {
        must(nm == 0 && error.column >= 1 && (size_t)error.column <= n + 1 && error.text[0]);
        return;
    }
    must(range_err == DW_OK && lo == nm && hi == nm);
    for (int unit = DW_UNIT_MM; unit <= DW_UNIT_FT; unit++) {
        check_print(nm, (enum dw_unit)unit, '.');
        check_print(nm, (enum dw_unit)unit, ',');
    }
}

static void check_money(const char *text, size_t n, const char *code)
{
    struct dw_error error = {0};
    dw_money amount = -1, back = -1;
    dw_err err = dw_money_parse(text, n, code, &amount, &error);
    must(error.code == err && amount >= 0 && amount <= DW_MONEY_MAX);
    if (err != DW_OK)
        return;
    char printed[DW_MONEY_TEXT];
    size_t n_printed = dw_money_print(printed, amount, code, false);
    must(dw_money_parse(printed, n_printed, code, &back, NULL) == DW_OK && back == amount);
    dw_money rounded = dw_money_round(amount, code);
    must(rounded - amount <= DW_MONEY_ONE / 2 && amount - rounded <= DW_MONEY_ONE / 2);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const char *text = (const char *)data;
    for (int bare = DW_UNIT_NONE; bare <= DW_UNIT_FT; bare++)
        check_length(text, size, (enum dw_unit)bare);
    check_money(text, size, "EUR");
    check_money(text, size, "KWD");
    check_money(text, size, "JPY");
    return 0;
}
