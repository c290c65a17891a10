/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Finding words and numbers in a written quantity. */
#include "units/scan.h"

#include "base/base.h"

static const struct {
    uint32_t first, last;
    enum dw_token_kind kind;
    int64_t number;
} marks[] = {
    {'\t', '\t', DW_TOKEN_BLANK, 0},     {' ', ' ', DW_TOKEN_BLANK, 0},
    {0x00A0, 0x00A0, DW_TOKEN_BLANK, 1}, {0x2000, 0x2008, DW_TOKEN_BLANK, 0},
    {0x2009, 0x2009, DW_TOKEN_BLANK, 1}, {0x200A, 0x200A, DW_TOKEN_BLANK, 0},
    {0x202F, 0x202F, DW_TOKEN_BLANK, 1}, {0x205F, 0x205F, DW_TOKEN_BLANK, 0},
    {0x3000, 0x3000, DW_TOKEN_BLANK, 0}, {'.', '.', DW_TOKEN_POINT, 0},
    {',', ',', DW_TOKEN_COMMA, 0},       {0x2026, 0x2026, DW_TOKEN_DOTS, 0},
    {'/', '/', DW_TOKEN_SLASH, 0},       {0x2044, 0x2044, DW_TOKEN_SLASH, 0},
    {0x2215, 0x2215, DW_TOKEN_SLASH, 0}, {'-', '-', DW_TOKEN_DASH, 0},
    {0x2010, 0x2014, DW_TOKEN_DASH, 0},  {0x2212, 0x2212, DW_TOKEN_MINUS, 0},
    {'\'', '\'', DW_TOKEN_FOOT, 0},      {0x00B4, 0x00B4, DW_TOKEN_FOOT, 0},
    {0x02B9, 0x02B9, DW_TOKEN_FOOT, 0},  {0x02BC, 0x02BC, DW_TOKEN_FOOT, 0},
    {0x2018, 0x2019, DW_TOKEN_FOOT, 0},  {0x201B, 0x201B, DW_TOKEN_FOOT, 0},
    {0x2032, 0x2032, DW_TOKEN_FOOT, 0},  {'"', '"', DW_TOKEN_INCH, 0},
    {0x02BA, 0x02BA, DW_TOKEN_INCH, 0},  {0x201C, 0x201D, DW_TOKEN_INCH, 0},
    {0x201F, 0x201F, DW_TOKEN_INCH, 0},  {0x2033, 0x2033, DW_TOKEN_INCH, 0},
};

/* The fraction characters of Unicode: Latin-1 and the block of number forms. */
static const struct {
    uint32_t code;
    unsigned char numerator, denominator;
} fractions[] = {
    {0x00BC, 1, 4}, {0x00BD, 1, 2}, {0x00BE, 3, 4}, {0x2150, 1, 7}, {0x2151, 1, 9}, {0x2152, 1, 10},
    {0x2153, 1, 3}, {0x2154, 2, 3}, {0x2155, 1, 5}, {0x2156, 2, 5}, {0x2157, 3, 5}, {0x2158, 4, 5},
    {0x2159, 1, 6}, {0x215A, 5, 6}, {0x215B, 1, 8}, {0x215C, 3, 8}, {0x215D, 5, 8}, {0x215E, 7, 8},
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static dw_err scan_digits(struct dw_token *token, size_t n, struct dw_error *error)
{
    token->kind = DW_TOKEN_DIGITS;
    for (token->length = 0; token->length < n && is_digit(token->text[token->length]);
         token->length++)
        if (!dw_mul__i64(token->number, 10, &token->number) ||
            !dw_add__i64(token->number, token->text[token->length] - '0', &token->number))
            return dw_error__at(error, DW_ERR_RANGE, NULL, 0, token->column,
                                "a number with too many digits");
    return DW_OK;
}

static void scan_word(struct dw_token *token, size_t n)
{
    token->kind = DW_TOKEN_WORD;
    while (token->length < n && is_letter(token->text[token->length]))
        token->length++;
}

static dw_err refuse_character(const struct dw_token *token, uint32_t code, struct dw_error *error)
{
    if (code == '~')
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, token->column,
                            "~ marks a rounded figure; write the exact one without it");
    if (code == '$' || code == 0xA3 || code == 0xA5 || code == 0x20AC)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, token->column,
                            "a currency sign; write the code of the currency, as in 12.50 EUR");
    if (code > 0x20 && code < 0x7F)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, token->column, "unexpected %c",
                            (int)code);
    return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, token->column,
                        "unexpected character U+%04lX", (unsigned long)code);
}

static dw_err scan_mark(struct dw_token *token, uint32_t code, struct dw_error *error)
{
    for (size_t i = 0; i < DW_COUNT(marks); i++)
        if (code >= marks[i].first && code <= marks[i].last) {
            token->kind = marks[i].kind;
            token->number = marks[i].number;
            return DW_OK;
        }
    for (size_t i = 0; i < DW_COUNT(fractions); i++)
        if (code == fractions[i].code) {
            token->kind = DW_TOKEN_FRACTION;
            token->number = fractions[i].numerator;
            token->denominator = fractions[i].denominator;
            return DW_OK;
        }
    return refuse_character(token, code, error);
}

/* One token of text[0..n), n > 0. */
static dw_err scan_token(struct dw_token *token, size_t n, struct dw_error *error)
{
    uint32_t code = 0;
    token->length = dw_utf8__next(token->text, n, &code);
    if (token->length == 0)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, token->column,
                            "the text is not UTF-8 here; save the file as UTF-8");
    if (code < 0x80 && is_digit((char)code))
        return scan_digits(token, n, error);
    if (code < 0x80 && is_letter((char)code)) {
        scan_word(token, n);
        return DW_OK;
    }
    return scan_mark(token, code, error);
}

/* Joins a token to the one before it: blanks, points to dots, two foot marks to an inch mark. */
static bool join_tokens(struct dw_token *before, const struct dw_token *token)
{
    if (before->kind == DW_TOKEN_BLANK && token->kind == DW_TOKEN_BLANK)
        before->number = 0;
    else if (before->kind == DW_TOKEN_POINT && token->kind == DW_TOKEN_POINT)
        before->kind = DW_TOKEN_DOTS;
    else if (before->kind == DW_TOKEN_FOOT && token->kind == DW_TOKEN_FOOT)
        before->kind = DW_TOKEN_INCH;
    else if (before->kind != DW_TOKEN_DOTS || before->length != 2 || token->kind != DW_TOKEN_POINT)
        return false;
    before->length += token->length;
    return true;
}

static int count_columns(const struct dw_token *token)
{
    int columns = 0;
    for (size_t at = 0; at < token->length; columns++)
        at += dw_utf8__next(token->text + at, token->length - at, NULL);
    return columns;
}

dw_err dw_scan__text(const char *text, size_t n, struct dw_scan *scan, struct dw_error *error)
{
    *scan = (struct dw_scan){0};
    size_t count = 0;
    int column = 1;
    if (n > DW_SCAN_BYTES)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, 1,
                            "a text of %zu bytes where a number of at most %d is expected", n,
                            DW_SCAN_BYTES);
    for (size_t at = 0; at < n;) {
        struct dw_token token = {.column = column, .text = text + at};
        dw_err err = scan_token(&token, n - at, error);
        if (err != DW_OK)
            return err;
        at += token.length;
        column += count_columns(&token);
        if ((count > 0 && join_tokens(&scan->tokens[count - 1], &token)) ||
            (count == 0 && token.kind == DW_TOKEN_BLANK))
            continue;
        if (count == DW_SCAN_TOKENS - 1)
            return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, token.column,
                                "too much text for one number");
        scan->tokens[count++] = token;
    }
    if (count > 0 && scan->tokens[count - 1].kind == DW_TOKEN_BLANK)
        column = scan->tokens[--count].column;
    if (count == 0)
        column = 1;
    scan->n_tokens = count;
    scan->tokens[count] = (struct dw_token){.kind = DW_TOKEN_END, .column = column};
    return DW_OK;
}
