/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Points and commas in the numbers of a list: one convention a list, deduced from all of it. */
#include "format/table.h"

#include <string.h>

/* What one number says. */
enum reading {
    NO_MARK,
    DECIMAL_POINT,
    DECIMAL_COMMA,
    POINT_OR_THOUSANDS, /* 1.240 */
    COMMA_OR_THOUSANDS, /* 1,240 */
    NO_NUMBER,
};

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_mark(char c)
{
    return c == '.' || c == ',';
}

/* Walks the numbers of a text: the next one from *at; false after the last. */
static bool next_number(const char *text, size_t n, size_t *at, size_t *length)
{
    while (*at < n && !is_digit(text[*at]))
        ++*at;
    if (*at > 0 && *at < n && is_mark(text[*at - 1]))
        --*at; /* .065 */
    size_t end = *at;
    while (end < n && (is_digit(text[end]) || is_mark(text[end])))
        end++;
    while (end > *at && is_mark(text[end - 1]))
        end--;
    *length = end - *at;
    return *at<n && * length> 0;
}

/* Thousands of metres, feet or inches are cut by nobody. */
static bool is_long_unit(enum dw_unit unit)
{
    return unit == DW_UNIT_M || unit == DW_UNIT_IN || unit == DW_UNIT_FT;
}

static enum reading read_number(const char *text, size_t n, enum dw_unit unit)
{
    size_t points = 0, commas = 0, last = 0;
    for (size_t i = 0; i < n; i++) {
        points += text[i] == '.';
        commas += text[i] == ',';
        last = is_mark(text[i]) ? i : last;
    }
    bool comma = text[last] == ',';
    size_t behind = n - last - 1;
    if (points + commas == 0)
        return NO_MARK;
    if (points && commas) /* 1.250,5: the last is the decimal one, if it comes once */
        return (comma ? commas : points) == 1 ? (comma ? DECIMAL_COMMA : DECIMAL_POINT) : NO_NUMBER;
    if (points + commas > 1) /* 1.250.000: both are thousands, so decimals are of the other kind */
        return behind == 3 ? (comma ? DECIMAL_POINT : DECIMAL_COMMA) : NO_NUMBER;
    bool grouped = behind == 3 && last >= 1 && last <= 3 && text[0] != '0' && !is_long_unit(unit);
    if (grouped)
        return comma ? COMMA_OR_THOUSANDS : POINT_OR_THOUSANDS;
    return comma ? DECIMAL_COMMA : DECIMAL_POINT;
}

/* The unit behind the numbers, if one is written. */
static enum dw_unit unit_of(const char *text, size_t n, enum dw_unit unit)
{
    size_t end = n;
    while (end > 0 && strchr(" .)", text[end - 1]))
        end--;
    size_t begin = end;
    while (begin > 0 && ((text[begin - 1] >= 'a' && text[begin - 1] <= 'z') ||
                         (text[begin - 1] >= 'A' && text[begin - 1] <= 'Z')))
        begin--;
    enum dw_unit found = begin < end ? dw_unit_find(text + begin, end - begin) : DW_UNIT_NONE;
    if (begin == end && end > 0 && text[end - 1] == '"')
        found = DW_UNIT_IN;
    return found != DW_UNIT_NONE ? found : unit;
}

void dw_marks__see(struct dw_marks *marks, const char *text, size_t n, enum dw_unit unit,
                   struct dw_place at)
{
    size_t length = 0;
    unit = unit_of(text, n, unit);
    for (size_t from = 0; next_number(text, n, &from, &length); from += length) {
        enum reading reading = read_number(text + from, length, unit);
        if (reading == DECIMAL_COMMA && !marks->comma) {
            marks->comma = true;
            marks->comma_at = at;
        }
        if (reading == DECIMAL_POINT && !marks->point) {
            marks->point = true;
            marks->point_at = at;
        }
    }
}

/* Copies a number whose mark has two readings: the mark away, or as a decimal point. */
static void put_settled(struct dw_buf *out, const char *text, size_t n, bool decimals)
{
    for (size_t i = 0; i < n; i++)
        if (!is_mark(text[i]))
            dw_buf__char(out, text[i]);
        else if (decimals)
            dw_buf__char(out, '.');
}

enum dw_mark_answer dw_marks__settle(const struct dw_marks *marks, struct dw_arena *arena,
                                     const char **text, size_t *n, enum dw_unit unit)
{
    enum dw_mark_answer answer = DW_MARK_CLEAR;
    struct dw_buf out = {0};
    size_t length = 0, done = 0;
    unit = unit_of(*text, *n, unit);
    for (size_t from = 0; next_number(*text, *n, &from, &length); from += length) {
        enum reading reading = read_number(*text + from, length, unit);
        bool odd =
            (reading == DECIMAL_COMMA || reading == DECIMAL_POINT) && marks->comma && marks->point;
        if (odd && answer == DW_MARK_CLEAR)
            answer = DW_MARK_ODD;
        if (reading != POINT_OR_THOUSANDS && reading != COMMA_OR_THOUSANDS)
            continue;
        if (marks->comma == marks->point) {
            dw_buf__free(&out);
            return DW_MARK_DOUBTFUL;
        }
        answer = DW_MARK_SETTLED;
        dw_buf__add(&out, *text + done, from - done);
        put_settled(&out, *text + from, length,
                    reading == COMMA_OR_THOUSANDS ? marks->comma : marks->point);
        done = from + length;
    }
    if (answer != DW_MARK_SETTLED)
        return answer;
    dw_buf__add(&out, *text + done, *n - done);
    const char *copy = out.failed ? NULL : dw_arena__text_n(arena, out.text, out.n);
    *n = out.n;
    dw_buf__free(&out);
    if (!copy)
        return DW_MARK_NO_MEMORY;
    *text = copy;
    return answer;
}
