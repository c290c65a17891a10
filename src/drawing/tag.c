/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tags of a DXF file, and their numbers, read without the locale. */
#include "drawing/tag.h"

#include <string.h>

__extension__ typedef unsigned __int128 wide;

struct dw_tags dw_tags__start(const char *text, size_t n, const char *file)
{
    return (struct dw_tags){text, text + n, file, 1};
}

/* One line without its end, LF or CRLF. False: there is none. */
static bool next_line(struct dw_tags *tags, const char **text, size_t *n)
{
    if (tags->at >= tags->end)
        return false;
    const char *stop = memchr(tags->at, '\n', (size_t)(tags->end - tags->at));
    const char *after = stop ? stop + 1 : tags->end;
    stop = stop ? stop : tags->end;
    while (stop > tags->at && (stop[-1] == '\r' || stop[-1] == ' ' || stop[-1] == '\t'))
        stop--;
    while (tags->at < stop && (*tags->at == ' ' || *tags->at == '\t'))
        tags->at++;
    *text = tags->at;
    *n = (size_t)(stop - tags->at);
    tags->at = after;
    tags->line++;
    return true;
}

dw_err dw_tags__next(struct dw_tags *tags, struct dw_tag *tag, struct dw_error *error)
{
    struct dw_tag code = {.line = tags->line};
    int64_t value = 0;
    if (!next_line(tags, &code.text, &code.n))
        return dw_error__at(error, DW_ERR_SYNTAX, tags->file, tags->line, 1,
                            "the drawing ends here, without EOF; it is not whole");
    if (!dw_tag__integer(&code, &value) || value < -5 || value > 1071)
        return dw_error__at(error, DW_ERR_SYNTAX, tags->file, code.line, 1,
                            "a group code of DXF is wanted here, a number from 0 to 1071");
    *tag = (struct dw_tag){.code = (int)value, .line = tags->line};
    if (!next_line(tags, &tag->text, &tag->n))
        return dw_error__at(error, DW_ERR_SYNTAX, tags->file, code.line, 1,
                            "the drawing ends within a tag; it is not whole");
    return DW_OK;
}

bool dw_tag__is(const struct dw_tag *tag, int code, const char *text)
{
    return tag->code == code && strlen(text) == tag->n && memcmp(tag->text, text, tag->n) == 0;
}

bool dw_tag__integer(const struct dw_tag *tag, int64_t *out)
{
    size_t at = tag->n > 0 && (tag->text[0] == '-' || tag->text[0] == '+');
    int64_t value = 0;
    if (at == tag->n || tag->n - at > 18)
        return false;
    for (size_t i = at; i < tag->n; i++) {
        if (tag->text[i] < '0' || tag->text[i] > '9')
            return false;
        value = value * 10 + (tag->text[i] - '0');
    }
    *out = at && tag->text[0] == '-' ? -value : value;
    return true;
}

/* A decimal number: digits * 10^power. Digits beyond DIGITS are dropped: they are far below what a
 * coordinate can tell. */
struct decimal {
    bool negative;
    wide digits;
    int power;
};

#define DIGITS 25

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool read_power(const char *text, size_t n, int *power)
{
    const struct dw_tag tag = {.text = text, .n = n};
    int64_t value = 0;
    if (!dw_tag__integer(&tag, &value) || value < -9999 || value > 9999)
        return false;
    *power += (int)value;
    return true;
}

static bool read_decimal(const struct dw_tag *tag, struct decimal *out)
{
    const char *text = tag->text;
    size_t n = tag->n, at = n > 0 && (text[0] == '-' || text[0] == '+');
    bool point = false, any = false;
    int kept = 0;
    *out = (struct decimal){.negative = at && text[0] == '-'};
    for (; at < n && n < 400 && (is_digit(text[at]) || (text[at] == '.' && !point)); at++) {
        if (text[at] == '.') {
            point = true;
            continue;
        }
        any = true;
        bool keep = kept < DIGITS;
        if (keep)
            out->digits = out->digits * 10u + (unsigned)(text[at] - '0');
        kept += keep && out->digits > 0;
        out->power += (keep ? 0 : 1) - (point ? 1 : 0);
    }
    if (!any)
        return false;
    if (at == n)
        return true;
    return strchr("eEdD", text[at]) && read_power(text + at + 1, n - at - 1, &out->power);
}

bool dw_tag__real(const struct dw_tag *tag, long double *out)
{
    struct decimal decimal;
    if (!read_decimal(tag, &decimal))
        return false;
    long double value = (long double)decimal.digits;
    if (decimal.digits > 0 && decimal.power > 400)
        return false;
    int power = decimal.power < -800 ? -800 : decimal.power;
    long double ten = 1;
    for (int i = power < 0 ? -power : decimal.digits > 0 ? power : 0; i > 0; i--)
        ten *= 10;
    value = power < 0 ? value / ten : value * ten;
    *out = decimal.negative ? -value : value;
    return true;
}

bool dw_tag__length(const struct dw_tag *tag, int64_t unit_nm, int64_t most, int64_t *out)
{
    struct decimal decimal;
    if (!read_decimal(tag, &decimal))
        return false;
    wide value = decimal.digits * (uint64_t)unit_nm; /* < 10^25 * 10^9.5 < 2^128 */
    int power = decimal.power;
    for (; power > 0 && value > 0 && value <= (wide)most; power--)
        value *= 10;
    if (power < 0) {
        wide ten = 1;
        for (; power < 0 && ten <= value; power++)
            ten *= 10;
        value = power < 0 ? 0 : value / ten + (value % ten >= ten - value % ten ? 1 : 0);
    }
    if (value > (wide)most)
        return false;
    *out = decimal.negative ? -(int64_t)value : (int64_t)value;
    return true;
}
