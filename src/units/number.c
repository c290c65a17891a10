/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Decimal numbers with point or comma, and thousands in groups. */
#include "units/scan.h"

#include "base/base.h"

#define GROUPS_MAX 16

int64_t dw_power__ten(int exponent)
{
    int64_t power = 1;
    for (int i = 0; i < exponent; i++)
        power *= 10;
    return power;
}

/* A number as written: groups of digits with a separator before each but the first. */
struct groups {
    size_t n; /* at least 1 */
    const struct dw_token *digits[GROUPS_MAX];
    const struct dw_token *separator[GROUPS_MAX]; /* separator[0] is NULL */
};

/* One to three digits that don't begin with 0 may stand before a group of thousands. */
static bool leads_thousands(const struct dw_token *digits)
{
    return digits->length <= 3 && digits->text[0] != '0';
}

static bool is_separator(const struct groups *groups, const struct dw_token *token, bool blanks)
{
    if (token->kind == DW_TOKEN_POINT || token->kind == DW_TOKEN_COMMA)
        return true;
    return token->kind == DW_TOKEN_BLANK && (blanks || token->number == 1) &&
           leads_thousands(groups->digits[0]) && token[1].kind == DW_TOKEN_DIGITS &&
           token[1].length == 3 && token[2].kind != DW_TOKEN_SLASH;
}

static dw_err read_groups(const struct dw_token **at, bool blanks, struct groups *groups,
                          struct dw_error *error)
{
    groups->digits[groups->n++] = (*at)++;
    while (is_separator(groups, *at, blanks)) {
        if (at[0][1].kind != DW_TOKEN_DIGITS)
            return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, (*at)->column,
                                "digits are missing behind the decimal mark");
        if (groups->n == GROUPS_MAX)
            return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, (*at)->column,
                                "a number with too many digits");
        groups->separator[groups->n] = (*at)++;
        groups->digits[groups->n++] = (*at)++;
    }
    return DW_OK;
}

/* How many of the groups stand before the decimal mark; 0 if the separators make no sense. */
static size_t count_whole(const struct groups *groups)
{
    size_t n = groups->n;
    if (n == 1)
        return 1;
    enum dw_token_kind last = groups->separator[n - 1]->kind;
    bool decimals = last != DW_TOKEN_BLANK && (n == 2 || last != groups->separator[n - 2]->kind);
    size_t n_whole = decimals ? n - 1 : n;
    if (n_whole > 1 && !leads_thousands(groups->digits[0]))
        return 0;
    for (size_t i = 1; i < n_whole; i++)
        if (groups->separator[i]->kind != groups->separator[1]->kind ||
            groups->digits[i]->length != 3)
            return 0;
    return n_whole;
}

static bool append_digits(struct dw_number *number, const struct dw_token *digits)
{
    for (size_t i = 0; i < digits->length; i++)
        if (!dw_mul__i64(number->digits, 10, &number->digits))
            return false;
    return dw_add__i64(number->digits, digits->number, &number->digits);
}

/* .065 without a digit before the point, as machinists write. */
static dw_err read_point_first(const struct dw_token *at, struct dw_number *number,
                               struct dw_error *error)
{
    if (at->kind == DW_TOKEN_COMMA)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, at->column,
                            "a digit is missing before the comma; write 0,5");
    if (at[1].kind != DW_TOKEN_DIGITS)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, at->column,
                            "digits are missing behind the decimal mark");
    number->digits = at[1].number;
    number->decimals = (int)at[1].length;
    number->next = at + 2;
    if (number->next->kind == DW_TOKEN_POINT || number->next->kind == DW_TOKEN_COMMA)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, number->next->column,
                            "a second decimal mark");
    return DW_OK;
}

static dw_err join_groups(const struct groups *groups, struct dw_number *number,
                          struct dw_error *error)
{
    size_t n_whole = count_whole(groups);
    if (n_whole == 0)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, groups->separator[groups->n - 1]->column,
                            "the marks in this number don't add up; write it as 1250.5 or 1250,5");
    for (size_t i = 0; i < groups->n; i++)
        if (!append_digits(number, groups->digits[i]))
            return dw_error__at(error, DW_ERR_RANGE, NULL, 0, groups->digits[0]->column,
                                "a number with too many digits");
    if (n_whole < groups->n)
        number->decimals = (int)groups->digits[n_whole]->length;
    number->plain = groups->n == 1;
    if (groups->n == 2 && number->decimals == 3 && leads_thousands(groups->digits[0]))
        number->doubt = groups->separator[1];
    return DW_OK;
}

dw_err dw_scan__number(const struct dw_token *at, bool blanks, struct dw_number *number,
                       struct dw_error *error)
{
    *number = (struct dw_number){0};
    dw_err err = DW_OK;
    if (at->kind == DW_TOKEN_POINT || at->kind == DW_TOKEN_COMMA)
        err = read_point_first(at, number, error);
    else if (at->kind == DW_TOKEN_DIGITS) {
        struct groups groups = {0};
        err = read_groups(&at, blanks, &groups, error);
        if (err == DW_OK)
            err = join_groups(&groups, number, error);
        number->next = at;
    } else
        err = dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, at->column, "a number is missing here");
    while (err == DW_OK && number->decimals > 0 && number->digits % 10 == 0) {
        number->digits /= 10;
        number->decimals--;
    }
    if (err == DW_OK && number->decimals > DW_DECIMALS_MAX)
        err = dw_error__at(error, DW_ERR_RANGE, NULL, 0, number->next[-1].column,
                           "a number with too many digits");
    return err;
}

dw_err dw_scan__refuse_doubt(const struct dw_token *doubt, struct dw_error *error)
{
    const struct dw_token *whole = doubt - 1, *rest = doubt + 1;
    return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, doubt->column,
                        "thousands or decimals? write %.*s%.*s or %.*s.%.*s0", (int)whole->length,
                        whole->text, (int)rest->length, rest->text, (int)whole->length, whole->text,
                        (int)rest->length, rest->text);
}
