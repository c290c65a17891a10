/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Series of numbers for the papers of a shop. */
#include <dropwise/shop.h>

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SERIES_MOST 32 /* bytes of a series */
#define DIGITS_MOST 9

enum part { PART_END, PART_TEXT, PART_YEAR, PART_MONTH, PART_NUMBER, PART_UNKNOWN };

/* Takes the next part off the series; `digits` of a number, `n` bytes of a text. */
static enum part next_part(const char **series, const char **text, size_t *n, int *digits)
{
    const char *at = *series;
    size_t braced = at[0] == '{' ? strcspn(at, "}") : 0;
    bool open = braced && !at[braced];
    braced += braced && !open;
    *text = at;
    *n = braced ? braced : strcspn(at, "{");
    *digits = 1;
    if (!*at)
        return PART_END;
    *series = at + *n;
    if (!braced || open)
        return open ? PART_UNKNOWN : PART_TEXT;
    if (strncmp(at, "{year}", braced) == 0)
        return PART_YEAR;
    if (strncmp(at, "{month}", braced) == 0)
        return PART_MONTH;
    if (strncmp(at, "{number}", braced) == 0)
        return PART_NUMBER;
    if (braced != 10 || strncmp(at, "{number:", 8) != 0 || at[8] < '1' || at[8] > '9')
        return PART_UNKNOWN;
    *digits = at[8] - '0';
    return PART_NUMBER;
}

const char *dw_series_fault(const char *series)
{
    size_t n = 0, length = strlen(series);
    int digits = 0, numbers = 0, years = 0, months = 0;
    const char *text = NULL;
    if (length > SERIES_MOST)
        return "a series has at most 32 bytes";
    for (;;) {
        enum part part = next_part(&series, &text, &n, &digits);
        if (part == PART_END)
            break;
        if (part == PART_UNKNOWN)
            return "in braces stand {number}, {number:4}, {year} or {month}";
        numbers += part == PART_NUMBER;
        years += part == PART_YEAR;
        months += part == PART_MONTH;
    }
    if (numbers != 1)
        return "a series has {number} once, as in Q-{year}-{number:3}";
    if (months > 0 && years == 0)
        return "a series with {month} has {year} too, or its numbers would come again";
    return NULL;
}

void dw_series_number(const char *series, const char *date, int64_t number,
                      char out[DW_SERIES_TEXT])
{
    const char *text = NULL;
    size_t n = 0, used = 0;
    int digits = 0;
    out[0] = '\0';
    for (;;) {
        char piece[SERIES_MOST + 24] = "";
        enum part part = next_part(&series, &text, &n, &digits);
        if (part == PART_END || (part == PART_NUMBER && number == 0))
            break;
        if (part == PART_YEAR)
            snprintf(piece, sizeof piece, "%.4s", date);
        else if (part == PART_MONTH)
            snprintf(piece, sizeof piece, "%.2s", date + 5);
        else if (part == PART_NUMBER)
            snprintf(piece, sizeof piece, "%0*" PRId64, digits, number);
        else
            snprintf(piece, sizeof piece, "%.*s", (int)n, text);
        int put = snprintf(out + used, DW_SERIES_TEXT - used, "%s", piece);
        used += put > 0 && (size_t)put < DW_SERIES_TEXT - used ? (size_t)put : 0;
    }
}

int64_t dw_series_place(const char *series, const char *date, const char *number)
{
    char head[DW_SERIES_TEXT], whole[DW_SERIES_TEXT];
    dw_series_number(series, date, 0, head);
    size_t n = strlen(head);
    if (strncmp(number, head, n) != 0 || strspn(number + n, "0123456789") > DIGITS_MOST)
        return 0;
    int64_t place = strtoll(number + n, NULL, 10);
    if (place <= 0)
        return 0;
    dw_series_number(series, date, place, whole);
    return strcmp(whole, number) == 0 ? place : 0;
}
