/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Single values of fittings, bends, sections and terms: angles, rates, weights, hours, sizes. */
#include "format/trade.h"

#include <string.h>

static void *slot(const struct dw_field *field, void *row)
{
    return (char *)row + field->offset;
}

/* text[0..n) as digits with at most four decimals, times 10 000. `1,250` could mean two things. */
static bool read_fixed(const char *text, size_t n, int64_t *out)
{
    int after = -1; /* decimals so far; -1: no mark yet */
    bool comma = false;
    size_t digits = 0;
    *out = 0;
    for (size_t i = 0; i < n; i++) {
        if ((text[i] == '.' || text[i] == ',') && after < 0) {
            comma = text[i] == ',';
            after = 0;
            continue;
        }
        if (text[i] < '0' || text[i] > '9' || ++digits > 12)
            return false;
        after += after >= 0;
        *out = *out * 10 + (text[i] - '0');
    }
    if (digits == 0 || after == 0 || after > 4 || (comma && after == 3))
        return false;
    for (int i = after < 0 ? 0 : after; i < 4; i++)
        *out *= 10;
    return true;
}

/* A number of at most four decimals, times 10 000, and the word behind it. */
static bool read_number(struct dw_reader *reader, const struct dw_field *field,
                        const struct dw_node *value, const char *example, int64_t *out,
                        char word[DW_KEY_TEXT])
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    size_t digits = n;
    for (size_t i = 0; i < n && digits == n; i++) {
        char c = text[i];
        if (!(c >= '0' && c <= '9') && c != '.' && c != ',' && c != ' ')
            digits = i;
    }
    size_t end = digits;
    while (end > 0 && text[end - 1] == ' ')
        end--;
    dw_key__fold(word, text + digits, n - digits);
    if (!read_fixed(text, end, out))
        return dw_read__refuse(reader, field, value, 0,
                               "`%.40s` is no number here; write it like %s", value->text, example);
    return true;
}

static bool is_one_of(const char *word, const char *const *words, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (strcmp(word, words[i]) == 0)
            return true;
    }
    return false;
}

bool dw_read__angle(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    static const char *const words[] = {"", "deg", "degree", "degrees", "°"};
    char word[DW_KEY_TEXT];
    int64_t number = 0;
    if (!read_number(reader, field, value, "45 or 22.5 degrees", &number, word))
        return false;
    if (!is_one_of(word, words, DW_COUNT(words)))
        return dw_read__refuse(reader, field, value, 0, "an angle is in degrees: 45");
    if (number >= 360 * DW_MONEY_ONE)
        return dw_read__refuse(reader, field, value, 0, "an angle is under 360 degrees");
    *(int64_t *)slot(field, row) = number * (DW_UDEG / DW_MONEY_ONE);
    return true;
}

bool dw_read__rate(struct dw_reader *reader, const struct dw_field *field,
                   const struct dw_node *value, void *row)
{
    char word[DW_KEY_TEXT];
    int64_t number = 0;
    if (!read_number(reader, field, value, "8.25 %", &number, word))
        return false;
    if (strcmp(word, "%") != 0)
        return dw_read__refuse(reader, field, value, 0, "a rate is written with its %%: 8.25 %%");
    if (number > 10000 * DW_MONEY_ONE)
        return dw_read__refuse(reader, field, value, 0, "a rate is at most 10 000 %%");
    *(int64_t *)slot(field, row) = number; /* 1 % = 10 000 ppm */
    return true;
}

static bool read_time(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, const char *const *words, size_t n_words,
                      int64_t unit_ms, void *row)
{
    char word[DW_KEY_TEXT];
    int64_t number = 0;
    if (!read_number(reader, field, value, "2.5", &number, word))
        return false;
    if (!is_one_of(word, words, n_words) || number > 24 * 3600 * DW_MONEY_ONE)
        return dw_read__refuse(reader, field, value, 0, "write a number of %s, 2.5 or 40",
                               words[1]);
    *(int64_t *)slot(field, row) = number * unit_ms / DW_MONEY_ONE;
    return true;
}

bool dw_read__seconds(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    static const char *const words[] = {"", "seconds", "s", "second", "sec"};
    return read_time(reader, field, value, words, DW_COUNT(words), 1000, row);
}

bool dw_read__minutes(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    static const char *const words[] = {"", "minutes", "min", "minute"};
    return read_time(reader, field, value, words, DW_COUNT(words), 60000, row);
}

bool dw_read__hours(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    static const char *const words[] = {"", "h", "hour", "hours"};
    char word[DW_KEY_TEXT];
    int64_t number = 0;
    if (!read_number(reader, field, value, "2.5", &number, word))
        return false;
    if (!is_one_of(word, words, DW_COUNT(words)) || number % 10 != 0)
        return dw_read__refuse(reader, field, value, 0,
                               "hours have at most three decimals: 2.5 or 2.5 h");
    *(int64_t *)slot(field, row) = number / 10;
    return true;
}

/* mg = number x unit / 10 000; 1 lb = 453 592 370 ug. */
bool dw_read__weight(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, void *row)
{
    static const struct {
        const char *word;
        int64_t ug;
    } units[] = {{"kg", INT64_C(1000000000)},
                 {"g", INT64_C(1000000)},
                 {"lb", INT64_C(453592370)},
                 {"lbs", INT64_C(453592370)}};
    char word[DW_KEY_TEXT];
    int64_t number = 0;
    if (!read_number(reader, field, value, "20 kg or 44 lb", &number, word))
        return false;
    for (size_t i = 0; i < DW_COUNT(units); i++) {
        if (strcmp(word, units[i].word) != 0)
            continue;
        int64_t *out = slot(field, row);
        if (number > 100000 * DW_MONEY_ONE ||
            !dw_muldiv__i64(number, units[i].ug, 1000 * DW_MONEY_ONE, out))
            return dw_read__refuse(reader, field, value, 0, "a weight is at most 100 000");
        return true;
    }
    return dw_read__refuse(reader, field, value, 0, "a weight has its unit: 20 kg or 44 lb");
}

/* --- sizes: 1200 x 600 x 900 mm ------------------------------------------------------------------
 */

/* The unit that stands at the end of a text, or the bare one. */
static enum dw_unit last_unit(const char *text, size_t n, enum dw_unit bare)
{
    size_t from = n;
    while (from > 0 && ((text[from - 1] >= 'a' && text[from - 1] <= 'z') ||
                        (text[from - 1] >= 'A' && text[from - 1] <= 'Z')))
        from--;
    enum dw_unit unit = dw_unit_find(text + from, n - from);
    if (unit == DW_UNIT_NONE && n > 0 && text[n - 1] == '"')
        unit = DW_UNIT_IN;
    return unit == DW_UNIT_NONE ? bare : unit;
}

bool dw_read__sizes(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, dw_length *out, size_t n_sizes)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    enum dw_unit unit = last_unit(text, n, reader->job->unit);
    const char *end = text + n;
    const char *from = text;
    dw_length sizes[3] = {0};
    for (size_t i = 0; i < n_sizes; i++) {
        const char *stop = memchr(from, 'x', (size_t)(end - from));
        bool last = i + 1 == n_sizes;
        if (last != (stop == NULL))
            return dw_read__refuse(reader, field, value, 0,
                                   n_sizes == 3 ? "write three sizes: 1200 x 600 x 900 mm"
                                                : "write two sizes: 800 x 2000 mm");
        const char *until = stop ? stop : end;
        struct dw_field one = {field->names, NULL, 0, DW_MAY};
        struct dw_node piece = dw_node__slice(value, from, (size_t)(until - from));
        piece.bare = unit;
        if (!dw_read__length(reader, &one, &piece, &sizes[i]))
            return false;
        from = until + 1;
    }
    memcpy(out, sizes, n_sizes * sizeof *out);
    return true;
}
