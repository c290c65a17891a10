/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Reading one length, or a range of lengths. */
#include "units/measure.h"

#include "base/base.h"

dw_err dw_length_parse(const char *text, size_t n, enum dw_unit bare, dw_length *out,
                       struct dw_error *error)
{
    *out = 0;
    struct dw_scan scan;
    struct dw_measure measure;
    dw_err err = dw_scan__text(text, n, &scan, error);
    if (err == DW_OK)
        err = dw_measure__read(scan.tokens, &measure, error);
    if (err == DW_OK)
        err = dw_measure__nm(&measure, bare, out, error);
    return err;
}

/* A word or points that part a range at any place. */
static bool is_range_mark(const struct dw_token *token)
{
    return token->kind == DW_TOKEN_DOTS || dw_measure__is_to(token);
}

/* A dash parts a range only with blanks on both sides. */
static bool is_range_dash(const struct dw_token *token)
{
    return token[-1].kind == DW_TOKEN_BLANK && token->kind == DW_TOKEN_DASH &&
           token[1].kind == DW_TOKEN_BLANK;
}

/* Index of the token that parts the range; n_tokens if it is one length. */
static size_t find_split(const struct dw_scan *scan)
{
    for (size_t i = 0; i < scan->n_tokens; i++)
        if (is_range_mark(&scan->tokens[i]))
            return i;
    struct dw_measure single;
    if (dw_measure__read(scan->tokens, &single, NULL) == DW_OK)
        return scan->n_tokens;
    for (size_t i = 1; i < scan->n_tokens; i++)
        if (is_range_dash(&scan->tokens[i]))
            return i;
    return scan->n_tokens;
}

/* The unit for both ends that have none: the one written once, else `bare`. A bare number behind
 * feet could be inches. */
static dw_err share_unit(const struct dw_measure *lo, const struct dw_measure *hi,
                         enum dw_unit *bare, struct dw_error *error)
{
    if (lo->unit_missing && !lo->compound && !hi->unit_missing) {
        if (hi->compound)
            return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, lo->first.column,
                                "feet or inches? write the unit behind this number too");
        *bare = hi->first.unit;
    }
    if (!lo->unit_missing && hi->unit_missing && !hi->compound &&
        (lo->first.unit == DW_UNIT_FT || lo->first.unit != *bare))
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, hi->first.column,
                            "the unit is missing; it stands behind both ends or the last one");
    return DW_OK;
}

static dw_err parse_ends(struct dw_scan *scan, size_t split, enum dw_unit bare, dw_length *lo,
                         dw_length *hi, struct dw_error *error)
{
    struct dw_token *mark = &scan->tokens[split];
    const struct dw_token *second = mark + 1;
    if (second->kind == DW_TOKEN_BLANK)
        second++;
    *mark = (struct dw_token){.kind = DW_TOKEN_END, .column = mark->column};
    struct dw_measure low, high;
    dw_err err = dw_measure__read(scan->tokens, &low, error);
    if (err == DW_OK)
        err = dw_measure__read(second, &high, error);
    if (err == DW_OK)
        err = share_unit(&low, &high, &bare, error);
    if (err == DW_OK)
        err = dw_measure__nm(&low, bare, lo, error);
    if (err == DW_OK)
        err = dw_measure__nm(&high, bare, hi, error);
    if (err == DW_OK && *lo > *hi)
        err = dw_error__at(error, DW_ERR_RANGE, NULL, 0, second->column,
                           "the range ends below its start; write the shorter length first");
    return err;
}

dw_err dw_range_parse(const char *text, size_t n, enum dw_unit bare, dw_length *lo, dw_length *hi,
                      struct dw_error *error)
{
    dw_length low = 0, high = 0;
    struct dw_scan scan;
    dw_err err = dw_scan__text(text, n, &scan, error);
    size_t split = err == DW_OK ? find_split(&scan) : 0;
    if (err == DW_OK && split < scan.n_tokens)
        err = parse_ends(&scan, split, bare, &low, &high, error);
    else if (err == DW_OK) {
        struct dw_measure single;
        err = dw_measure__read(scan.tokens, &single, error);
        if (err == DW_OK)
            err = dw_measure__nm(&single, bare, &low, error);
        high = low;
    }
    *lo = err == DW_OK ? low : 0;
    *hi = err == DW_OK ? high : 0;
    return err;
}
