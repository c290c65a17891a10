/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Single values: texts, lengths, money, counts, dates, shares. */
#include "format/reader.h"

#include <stdio.h>
#include <string.h>

#define TEXT_LIMIT 200 /* bytes of a name, number, place */

bool dw_read__refuse(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, int column, const char *format, ...)
{
    char text[512];
    char name[DW_KEY_TEXT];
    va_list args;
    va_start(args, format);
    vsnprintf(text, sizeof text, format, args);
    va_end(args);
    dw_reader__say(reader, DW_WRONG, dw_node__place(value, column), "%s: %s",
                   dw_field__name(name, field), text);
    return false;
}

bool dw_read__scalar(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, const char **text, size_t *n)
{
    *text = "";
    *n = 0;
    if (value->kind == DW_NODE_LIST || value->kind == DW_NODE_MAP)
        return dw_read__refuse(reader, field, value, 0, "one value is wanted, not a list or a map");
    const char *begin = value->text;
    const char *end = begin + value->n;
    while (begin < end && strchr(" \t\r\n", *begin))
        begin++;
    while (end > begin && strchr(" \t\r\n", end[-1]))
        end--;
    if (begin == end)
        return dw_read__refuse(reader, field, value, 0, "the value is empty");
    *text = begin;
    *n = (size_t)(end - begin);
    return true;
}

/* A pointer into the row, for reading and writing. */
static void *slot(const struct dw_field *field, void *row)
{
    return (char *)row + field->offset;
}

static int skipped(const struct dw_node *value, const char *text)
{
    return (int)(text - value->text);
}

bool dw_read__node(struct dw_reader *reader, const struct dw_field *field,
                   const struct dw_node *value, void *row)
{
    (void)reader;
    *(const struct dw_node **)slot(field, row) = value;
    return true;
}

/* Control characters would reach terminals and papers. */
static bool copy_text(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, bool join_lines, char **out)
{
    const char *text = NULL;
    size_t n = 0;
    *out = NULL;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    if (n > TEXT_LIMIT && !join_lines)
        return dw_read__refuse(reader, field, value, 0, "the text is longer than %d bytes",
                               TEXT_LIMIT);
    char *copy = dw_arena__text_n(reader->job->arena, text, n);
    if (!copy) {
        reader->no_memory = true;
        return false;
    }
    for (size_t i = 0; i < n; i++) {
        unsigned char c = (unsigned char)copy[i];
        bool line_end = c == '\n' || c == '\r';
        if ((c >= 0x20 && c != 0x7F && c != 0xC2) ||
            (c == 0xC2 && (unsigned char)copy[i + 1] >= 0xA0))
            continue;
        if (c != '\t' && !(join_lines && line_end))
            return dw_read__refuse(reader, field, value, 0,
                                   line_end ? "one line of text is wanted"
                                            : "control characters are not allowed");
        copy[i] = ' ';
    }
    *out = copy;
    return true;
}

bool dw_read__text(struct dw_reader *reader, const struct dw_field *field,
                   const struct dw_node *value, void *row)
{
    char *text = NULL;
    bool good = copy_text(reader, field, value, false, &text);
    *(const char **)slot(field, row) = text;
    return good;
}

bool dw_read__remark(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, void *row)
{
    char *text = NULL;
    bool blank = value->n_items == 0 && strspn(value->text, " \t\r\n") == value->n;
    bool good = blank || copy_text(reader, field, value, true, &text);
    *(const char **)slot(field, row) = text;
    return good;
}

static bool read_digits(const char *text, size_t n, int *out)
{
    *out = 0;
    for (size_t i = 0; i < n; i++) {
        if (text[i] < '0' || text[i] > '9')
            return false;
        *out = *out * 10 + (text[i] - '0');
    }
    return true;
}

/* ISO 8601 calendar date, Gregorian leap years. */
static bool is_date(const char *text, size_t n)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int year = 0, month = 0, day = 0;
    if (n != 10 || text[4] != '-' || text[7] != '-' || !read_digits(text, 4, &year) ||
        !read_digits(text + 5, 2, &month) || !read_digits(text + 8, 2, &day))
        return false;
    if (month < 1 || month > 12 || day < 1)
        return false;
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return day <= days[month - 1] + (month == 2 && leap);
}

bool dw_read__date(struct dw_reader *reader, const struct dw_field *field,
                   const struct dw_node *value, void *row)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    if (!is_date(text, n))
        return dw_read__refuse(reader, field, value, 0,
                               "`%.40s` is no date; write year-month-day: 2026-03-02", value->text);
    return dw_read__text(reader, field, value, row);
}

static bool read_length(struct dw_reader *reader, const struct dw_field *field,
                        const struct dw_node *value, dw_length least, dw_length *out)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    struct dw_error error = {0};
    enum dw_unit bare = value->bare ? value->bare : reader->job->unit;
    dw_length length = 0;
    if (dw_length_parse(text, n, bare, &length, &error) != DW_OK)
        return dw_read__refuse(reader, field, value, error.column + skipped(value, text), "%s",
                               error.text);
    if (length < least)
        return dw_read__refuse(reader, field, value, 0, "the length must be %s",
                               least > 0 ? "more than 0" : "0 or more");
    *out = length;
    return true;
}

bool dw_read__length(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, void *row)
{
    return read_length(reader, field, value, 1, slot(field, row));
}

bool dw_read__length0(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    return read_length(reader, field, value, 0, slot(field, row));
}

bool dw_read__range(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    struct dw_part *part = row;
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    struct dw_error error = {0};
    enum dw_unit bare = value->bare ? value->bare : reader->job->unit;
    if (dw_range_parse(text, n, bare, &part->min, &part->max, &error) != DW_OK)
        return dw_read__refuse(reader, field, value, error.column + (int)(text - value->text), "%s",
                               error.text);
    if (part->min <= 0)
        return dw_read__refuse(reader, field, value, 0, "the length must be more than 0");
    part->written = dw_arena__text_n(reader->job->arena, text, n);
    if (!part->written)
        reader->no_memory = true;
    return part->written != NULL;
}

bool dw_field__is_length(const struct dw_field *field)
{
    return field->read == dw_read__length || field->read == dw_read__length0 ||
           field->read == dw_read__range;
}

bool dw_field__is_money(const struct dw_field *field)
{
    return field->read == dw_read__money || field->read == dw_read__price;
}

bool dw_read__money(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    struct dw_error error = {0};
    dw_money money = 0;
    if (dw_money_parse(text, n, reader->job->currency, &money, &error) != DW_OK)
        return dw_read__refuse(reader, field, value, error.column + skipped(value, text), "%s",
                               error.text);
    if (money < 0)
        return dw_read__refuse(reader, field, value, 0, "the amount must be 0 or more");
    *(dw_money *)slot(field, row) = money;
    return true;
}

bool dw_read__per(struct dw_reader *reader, const struct dw_field *field,
                  const struct dw_node *value, void *row)
{
    struct dw_worth *worth = (struct dw_worth *)(void *)((char *)row + field->offset);
    struct dw_field money = {field->names, NULL, offsetof(struct dw_worth, rate), DW_MAY};
    struct dw_field length = {field->names, NULL, offsetof(struct dw_worth, per), DW_MAY};
    const char *per = strstr(value->text, " per ");
    const char *after = per + strlen(" per ");
    struct dw_node amount = dw_node__slice(value, value->text, (size_t)(per - value->text));
    struct dw_node measure = dw_node__slice(value, after, strlen(after));
    worth->kind = DW_WORTH_RATE;
    if (!dw_read__money(reader, &money, &amount, worth))
        return false;
    if (dw_unit_find(after, strlen(after)) != DW_UNIT_NONE) {
        struct dw_error ignored = {0};
        return dw_length_parse("1", 1, dw_unit_find(after, strlen(after)), &worth->per, &ignored) ==
               DW_OK;
    }
    return dw_read__length(reader, &length, &measure, worth);
}

/* `37.20` a bar, or `6.20 per m`. */
bool dw_read__price(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    struct dw_field per = {field->names, NULL, offsetof(struct dw_bar_row, price), DW_MAY};
    if (value->kind == DW_NODE_SCALAR && strstr(value->text, " per "))
        return dw_read__per(reader, &per, value, row);
    return dw_read__money(reader, field, value, row);
}

/* A run of digits and nothing else: `1,000`, `1 000`, `2.0` could mean two things. */
static bool read_whole(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, int64_t least, int64_t *out)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    int64_t count = 0;
    for (size_t i = 0; i < n; i++) {
        if (text[i] < '0' || text[i] > '9')
            return dw_read__refuse(reader, field, value, (int)i + 1 + skipped(value, text),
                                   "`%.40s` is no count; write a whole number in digits only",
                                   value->text);
        if (count <= DW_MAX_PIECES)
            count = count * 10 + (text[i] - '0');
    }
    if (count > DW_MAX_PIECES)
        return dw_read__refuse(reader, field, value, 0, "at most %lld are allowed",
                               (long long)DW_MAX_PIECES);
    if (count < least)
        return dw_read__refuse(reader, field, value, 0, "the count must be %lld or more",
                               (long long)least);
    *out = count;
    return true;
}

bool dw_read__version(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    (void)row;
    return strcmp(value->text, "1") == 0 ||
           dw_read__refuse(reader, field, value, 0,
                           "version `%.20s` is not known here; this program reads version 1",
                           value->text);
}

bool dw_read__unit(struct dw_reader *reader, const struct dw_field *field,
                   const struct dw_node *value, void *row)
{
    enum dw_unit unit = dw_unit_find(value->text, value->n);
    if (unit == DW_UNIT_NONE)
        return dw_read__refuse(reader, field, value, 0,
                               "`%.20s` is no unit; write mm, cm, m, in or ft", value->text);
    *(enum dw_unit *)slot(field, row) = unit;
    return true;
}

bool dw_read__currency(struct dw_reader *reader, const struct dw_field *field,
                       const struct dw_node *value, void *row)
{
    if (value->n != 3 || !dw_currency_find(value->text))
        return dw_read__refuse(
            reader, field, value, 0,
            "`%.20s` is no currency; write its three capitals after ISO 4217: EUR", value->text);
    memcpy(slot(field, row), value->text, 4);
    return true;
}

bool dw_read__count(struct dw_reader *reader, const struct dw_field *field,
                    const struct dw_node *value, void *row)
{
    return read_whole(reader, field, value, 1, slot(field, row));
}

static bool read_cap(struct dw_reader *reader, const struct dw_field *field,
                     const struct dw_node *value, int64_t least, void *row)
{
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, value->text, value->n);
    if (strcmp(folded, "unlimited") == 0) {
        *(int64_t *)slot(field, row) = DW_UNLIMITED;
        return true;
    }
    return read_whole(reader, field, value, least, slot(field, row));
}

bool dw_read__cap(struct dw_reader *reader, const struct dw_field *field,
                  const struct dw_node *value, void *row)
{
    return read_cap(reader, field, value, 0, row);
}

bool dw_read__cap1(struct dw_reader *reader, const struct dw_field *field,
                   const struct dw_node *value, void *row)
{
    return read_cap(reader, field, value, 1, row);
}

/* Digits with at most `decimals` decimals as an integer of 10^-decimals. Stops at the first other
 * character; *used tells where. false: no digits, too many decimals, too large. */
static bool read_fixed(const char *text, size_t n, int decimals, int64_t *out, size_t *used)
{
    int64_t value = 0;
    size_t at = 0, digits = 0;
    int after = -1;
    for (; at < n; at++) {
        if ((text[at] == '.' || text[at] == ',') && after < 0) {
            after = 0;
            continue;
        }
        if (text[at] < '0' || text[at] > '9')
            break;
        digits++;
        if (after >= 0 && ++after > decimals)
            return false;
        if (value > INT64_C(1000000000000))
            return false;
        value = value * 10 + (text[at] - '0');
    }
    for (int i = after < 0 ? 0 : after; i < decimals; i++)
        value *= 10;
    *out = value;
    *used = at;
    return digits > 0 && after != 0;
}

bool dw_read__percent(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    const char *text = NULL;
    size_t n = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    int64_t share = 0;
    size_t used = 0;
    bool good = read_fixed(text, n, 4, &share, &used);
    while (good && used < n && text[used] == ' ')
        used++;
    if (!good || used + 1 != n || text[used] != '%')
        return dw_read__refuse(reader, field, value, 0,
                               "`%.40s` is no share; write a percentage with at most 4 decimals: "
                               "60 %%",
                               value->text);
    if (share > 1000000)
        return dw_read__refuse(reader, field, value, 0, "a share is at most 100 %%");
    *(int64_t *)slot(field, row) = share;
    return true;
}

bool dw_read__yes(struct dw_reader *reader, const struct dw_field *field,
                  const struct dw_node *value, void *row)
{
    static const struct {
        const char *word;
        bool yes;
    } words[] = {{"yes", true}, {"true", true},   {"y", true}, {"x", true},
                 {"no", false}, {"false", false}, {"n", false}};
    char folded[DW_KEY_TEXT];
    dw_key__fold(folded, value->text, value->n);
    for (size_t i = 0; i < DW_COUNT(words); i++) {
        if (strcmp(folded, words[i].word) == 0) {
            *(bool *)slot(field, row) = words[i].yes;
            return true;
        }
    }
    return dw_read__refuse(reader, field, value, 0, "write yes or no");
}

/* 1 lb = 453.59237 g and 1 in = 25.4 mm exactly (international yard and pound agreement, 1959):
 * 1 lb/in3 = 453.59237 g / 16.387064e-6 m3; grams are rounded down. */
bool dw_read__density(struct dw_reader *reader, const struct dw_field *field,
                      const struct dw_node *value, void *row)
{
    static const struct {
        const char *unit;
        int64_t grams; /* a cubic metre for 1 unit = grams / per */
        int64_t per;
    } units[] = {{"kg/m3", 1000, 1},     {"g/cm3", 1000000, 1},
                 {"kg/m³", 1000, 1},     {"g/cm³", 1000000, 1},
                 {"kg/dm3", 1000000, 1}, {"lb/in3", INT64_C(453592370000000), 16387064}};
    const char *text = NULL;
    size_t n = 0, used = 0;
    int64_t micro = 0, grams = 0;
    if (!dw_read__scalar(reader, field, value, &text, &n))
        return false;
    if (read_fixed(text, n, 6, &micro, &used)) {
        while (used < n && text[used] == ' ')
            used++;
        for (size_t i = 0; i < DW_COUNT(units); i++) {
            if (strlen(units[i].unit) == n - used &&
                memcmp(units[i].unit, text + used, n - used) == 0 &&
                dw_muldiv__i64(micro, units[i].grams, units[i].per * 1000000, &grams) &&
                grams > 0) {
                *(int64_t *)slot(field, row) = grams;
                return true;
            }
        }
    }
    return dw_read__refuse(
        reader, field, value, 0,
        "`%.40s` is no density; write it with kg/m3, g/cm3 or lb/in3: 2700 kg/m3", value->text);
}
