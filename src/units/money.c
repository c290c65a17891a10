/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading, printing and rounding amounts of money. */
#include "units/units.h"

#include "base/base.h"
#include "units/scan.h"

#include <stdio.h>
#include <string.h>

#define MONEY_DECIMALS 4
#define NO_CURRENCY    "XXX"

static int decimals_of(const char *code)
{
    const struct dw_currency *currency = dw_currency_find(code);
    return currency ? currency->decimals : 2;
}

static dw_err check_code(const struct dw_token *word, const char *code, struct dw_error *error)
{
    if (word->length == strlen(code) && memcmp(word->text, code, word->length) == 0)
        return DW_OK;
    int shown = (int)(word->length < 20 ? word->length : 20);
    if (strcmp(code, NO_CURRENCY) == 0)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, word->column,
                            "%.*s stands here, but no currency was chosen for the job", shown,
                            word->text);
    return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, word->column,
                        "%.*s is not the job's currency; write %s or leave it out", shown,
                        word->text, code);
}

/* One code before or after the number, blanks between. */
static dw_err read_code(const struct dw_token **at, const char *code, bool *seen,
                        struct dw_error *error)
{
    if ((*at)->kind == DW_TOKEN_BLANK)
        (*at)++;
    if ((*at)->kind != DW_TOKEN_WORD)
        return DW_OK;
    if (*seen)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, (*at)->column, "a second currency code");
    dw_err err = check_code(*at, code, error);
    *seen = true;
    (*at)++;
    if ((*at)->kind == DW_TOKEN_BLANK)
        (*at)++;
    return err;
}

/* Three decimals are doubtful, save behind a point in a currency that has three. */
static dw_err check_number(const struct dw_number *number, const char *code, int column,
                           struct dw_error *error)
{
    const struct dw_token *doubt = number->doubt;
    if (doubt && (doubt->kind == DW_TOKEN_COMMA || decimals_of(code) != 3))
        return dw_scan__refuse_doubt(doubt, error);
    if (number->decimals > MONEY_DECIMALS)
        return dw_error__at(error, DW_ERR_RANGE, NULL, 0, column,
                            "an amount has at most %d decimals", MONEY_DECIMALS);
    return DW_OK;
}

static dw_err scale_number(const struct dw_number *number, int column, dw_money *out,
                           struct dw_error *error)
{
    int64_t amount = 0;
    if (!dw_mul__i64(number->digits, dw_power__ten(MONEY_DECIMALS - number->decimals), &amount) ||
        amount > DW_MONEY_MAX)
        return dw_error__at(error, DW_ERR_RANGE, NULL, 0, column,
                            "more than 100 000 000 000, the limit of an amount");
    *out = amount;
    return DW_OK;
}

static dw_err read_amount(const struct dw_token *at, const char *code, dw_money *out,
                          struct dw_error *error)
{
    bool seen = false;
    struct dw_number number = {0};
    dw_err err = read_code(&at, code, &seen, error);
    int column = at->column;
    if (err == DW_OK && (at->kind == DW_TOKEN_DASH || at->kind == DW_TOKEN_MINUS))
        err = dw_error__at(error, DW_ERR_RANGE, NULL, 0, column, "an amount can't be negative");
    if (err == DW_OK)
        err = dw_scan__number(at, true, &number, error);
    if (err == DW_OK) {
        at = number.next;
        err = read_code(&at, code, &seen, error);
    }
    if (err == DW_OK && at->kind != DW_TOKEN_END)
        err = dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, at->column,
                           "one amount is expected, as in 12.50");
    if (err == DW_OK)
        err = check_number(&number, code, column, error);
    return err == DW_OK ? scale_number(&number, column, out, error) : err;
}

dw_err dw_money_parse(const char *text, size_t n, const char *code, dw_money *out,
                      struct dw_error *error)
{
    *out = 0;
    struct dw_scan scan;
    dw_err err = dw_scan__text(text, n, &scan, error);
    return err == DW_OK ? read_amount(scan.tokens, code, out, error) : err;
}

size_t dw_money_print(char out[DW_MONEY_TEXT], dw_money amount, const char *code, bool bare)
{
    size_t decimals = (size_t)decimals_of(code);
    uint64_t magnitude = amount < 0 ? -(uint64_t)amount : (uint64_t)amount;
    if (magnitude % (uint64_t)dw_power__ten(MONEY_DECIMALS - (int)decimals) != 0)
        decimals = MONEY_DECIMALS;
    char fraction[MONEY_DECIMALS + 2] = "";
    snprintf(fraction, sizeof fraction, ".%04u", (unsigned)(magnitude % DW_MONEY_ONE) % 10000);
    fraction[decimals > 0 ? decimals + 1 : 0] = '\0';
    bool with_code = !bare && strcmp(code, NO_CURRENCY) != 0;
    int n = snprintf(out, DW_MONEY_TEXT, "%s%llu%s%s%.3s", amount < 0 ? "-" : "",
                     (unsigned long long)(magnitude / DW_MONEY_ONE), fraction, with_code ? " " : "",
                     with_code ? code : "");
    return n > 0 ? (size_t)n : 0;
}

/* floor((|amount| + step/2) / step) step with the sign of the amount. */
dw_money dw_money_round(dw_money amount, const char *code)
{
    int64_t step = dw_power__ten(MONEY_DECIMALS - decimals_of(code));
    int64_t rest = amount % step;
    int64_t down = amount - rest;
    int64_t away = rest < 0 ? -step : step;
    bool up = 2 * (rest < 0 ? -rest : rest) >= step;
    int64_t rounded = down;
    return up && dw_add__i64(down, away, &rounded) ? rounded : down;
}
