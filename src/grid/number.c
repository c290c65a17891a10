/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers of a workbook: what is stored, and what the cell makes of it. */
#include "grid/part.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- stored ---------------------------------------------------------------------------------- */

/* Takes zeros off behind the point, and the point if it is last. */
static void trim(char *text)
{
    if (!strchr(text, '.'))
        return;
    size_t n = strlen(text);
    while (text[n - 1] == '0')
        text[--n] = '\0';
    if (text[n - 1] == '.')
        text[n - 1] = '\0';
}

bool dw_value__read(const char *text, char out[DW_VALUE_TEXT], bool *computed)
{
    char *end = NULL;
    if (strspn(text, "0123456789.eE+-") != strlen(text) || !*text)
        return false;
    double value = strtod(text, &end);
    if (*end != '\0' || !isfinite(value) || fabs(value) >= 1e15)
        return false;
    char digits[DW_VALUE_TEXT];
    snprintf(digits, sizeof digits, "%.14e", value); /* fifteen digits */
    double rounded = strtod(digits, NULL);
    int exponent = atoi(strchr(digits, 'e') + 1);
    int decimals = exponent >= 14 ? 0 : exponent < -20 ? 34 : 14 - exponent;
    snprintf(out, DW_VALUE_TEXT, "%.*f", decimals, rounded);
    trim(out);
    if (strcmp(out, "-0") == 0)
        snprintf(out, DW_VALUE_TEXT, "0");
    const char *point = strchr(out, '.');
    *computed = point && strlen(point) > 10;
    return true;
}

/* Days since 1970-01-01 as a civil date (Howard Hinnant, "chrono-compatible low-level date
 * algorithms", civil_from_days). */
static void civil(long days, long *year, long *month, long *day)
{
    days += 719468;
    long era = (days >= 0 ? days : days - 146096) / 146097;
    long of_era = days - era * 146097;
    long year_of_era = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    long of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    long m = (5 * of_year + 2) / 153;
    *day = of_year - (153 * m + 2) / 5 + 1;
    *month = m < 10 ? m + 3 : m - 9;
    *year = year_of_era + era * 400 + (*month <= 2);
}

/* Serial 25569 is 1970-01-01 where 1 is 1900-01-01; 24107 where days count from 1904. */
bool dw_value__day(const char *value, bool from_1904, char out[DW_VALUE_TEXT])
{
    double serial = strtod(value, NULL);
    if (serial < 0 || serial > 2958465)
        return false;
    long year = 0, month = 0, day = 0;
    civil((long)floor(serial) - (from_1904 ? 24107 : 25569), &year, &month, &day);
    snprintf(out, DW_VALUE_TEXT, "%04ld-%02ld-%02ld", year, month, day);
    return true;
}

/* --- format codes ---------------------------------------------------------------------------- */

/* The code between the quote mark or bracket at *at and its other end; moves behind it. */
static void skip_quoted(const char **at, char end, struct dw_shown *shown, bool keep)
{
    size_t used = strlen(shown->behind);
    for ((*at)++; **at && **at != end; (*at)++)
        if (keep && used + 1 < sizeof shown->behind)
            shown->behind[used++] = **at;
    shown->behind[used] = '\0';
    if (**at)
        (*at)++;
}

static void add_behind(struct dw_shown *shown, char c)
{
    size_t used = strlen(shown->behind);
    if (used + 1 < sizeof shown->behind) {
        shown->behind[used] = c;
        shown->behind[used + 1] = '\0';
    }
}

/* `# ?/?`, `# ?/16`: what stands behind the slash. */
static void read_fraction(const char **at, struct dw_shown *shown)
{
    shown->kind = DW_SHOWN_FRACTION;
    int digits = 0, number = 0;
    for ((*at)++; **at && strchr("?#0123456789", **at); (*at)++) {
        digits++;
        if (**at >= '0' && **at <= '9' && number < 10000)
            number = number * 10 + (**at - '0');
    }
    shown->digits = digits;
    shown->denominator = number;
}

void dw_shown__read(const char *code, struct dw_shown *shown)
{
    *shown = (struct dw_shown){.kind = DW_SHOWN_OTHER};
    bool point = false, places = false;
    for (const char *at = code; *at && *at != ';';) {
        if (*at == '"')
            skip_quoted(&at, '"', shown, places);
        else if (*at == '[')
            skip_quoted(&at, ']', shown, false);
        else if (*at == '\\' && at[1]) {
            if (places)
                add_behind(shown, at[1]);
            at += 2;
        } else if (*at == '_' || *at == '*')
            at += at[1] ? 2 : 1;
        else if (*at == '/' && places && shown->kind == DW_SHOWN_FIXED)
            read_fraction(&at, shown);
        else if (strchr("0#?", *at)) {
            places = true;
            shown->kind = shown->kind == DW_SHOWN_OTHER ? DW_SHOWN_FIXED : shown->kind;
            shown->decimals += point && shown->kind == DW_SHOWN_FIXED;
            at++;
        } else {
            point |= *at == '.';
            if (*at == '%')
                shown->kind = DW_SHOWN_PERCENT;
            if (*at == '@')
                shown->kind = DW_SHOWN_TEXT;
            if ((*at == 'E' || *at == 'e') && places)
                shown->kind = DW_SHOWN_GENERAL;
            else if (strchr("ymdhsYMDHS", *at) && !places)
                shown->kind = DW_SHOWN_DATE;
            at++;
        }
    }
    if (strncmp(code, "General", 7) == 0 || strncmp(code, "GENERAL", 7) == 0)
        shown->kind = DW_SHOWN_GENERAL;
}

/* --- shown ----------------------------------------------------------------------------------- */

/* The nearest fraction with a denominator of so many digits, or with that one. Cost: O(10^digits).
 */
static void print_fraction(struct dw_buf *out, double value, const struct dw_shown *shown)
{
    long whole = (long)floor(value);
    double rest = value - (double)whole;
    int least = shown->denominator ? shown->denominator : 1;
    int most = shown->denominator  ? shown->denominator
               : shown->digits > 2 ? 999
               : shown->digits > 1 ? 99
                                   : 9;
    long best = 0, over = 1;
    double off = 2;
    for (int d = least; d <= most; d++) {
        long n = (long)floor(rest * d + 0.5);
        double miss = fabs(rest - (double)n / d);
        if (miss < off - 1e-12) {
            off = miss;
            best = n;
            over = d;
        }
    }
    if (best == over) {
        whole++;
        best = 0;
    }
    if (whole || !best)
        dw_buf__format(out, "%ld%s", whole, best ? " " : "");
    if (best)
        dw_buf__format(out, "%ld/%ld", best, over);
}

/* A text with one point or comma, blanks and thousands, as a number; a whole number and a fraction
 * too. `mark` is the decimal one. */
static bool read_shown(const char *text, char mark, double *value)
{
    char digits[DW_VALUE_TEXT];
    size_t n = 0;
    const char *at = text;
    for (; *at && !strchr("/", *at) && n + 1 < sizeof digits; at++) {
        if ((*at >= '0' && *at <= '9') || *at == '-')
            digits[n++] = *at;
        else if (*at == mark)
            digits[n++] = '.';
        else if (*at == ' ')
            break;
        else if ((*at >= 'A' && *at <= 'Z') || (*at >= 'a' && *at <= 'z'))
            break;
    }
    digits[n] = '\0';
    char *end = NULL;
    *value = n ? strtod(digits, &end) : 0;
    if (n && *end)
        return false;
    const char *slash = strchr(text, '/');
    if (!slash)
        return n > 0;
    const char *numerator = slash;
    while (numerator > text && numerator[-1] >= '0' && numerator[-1] <= '9')
        numerator--;
    double below = strtod(slash + 1, NULL);
    if (below <= 0)
        return false;
    *value = (numerator > text ? *value : 0) + strtod(numerator, NULL) / below;
    return true;
}

bool dw_value__shows(const char *shown, const char *value)
{
    double held = strtod(value, NULL), point = 0, comma = 0;
    double slack = fabs(held) * 1e-12 + 1e-12;
    return (read_shown(shown, '.', &point) && fabs(point - held) <= slack) ||
           (read_shown(shown, ',', &comma) && fabs(comma - held) <= slack);
}

void dw_shown__print(struct dw_buf *out, const char *value, const struct dw_shown *shown,
                     bool *rounded)
{
    double number = strtod(value, NULL);
    char text[DW_VALUE_TEXT * 6];
    *rounded = false;
    if (shown->kind == DW_SHOWN_FIXED) {
        int decimals = shown->decimals < 20 ? shown->decimals : 20;
        snprintf(text, sizeof text, "%.*f", decimals, number);
        dw_buf__put(out, text);
        *rounded = !dw_value__shows(text, value);
    } else if (shown->kind == DW_SHOWN_FRACTION && number >= 0 && number < 1e9) {
        struct dw_buf fraction = {0};
        print_fraction(&fraction, number, shown);
        dw_buf__put(out, fraction.n ? fraction.text : "");
        *rounded = fraction.n && !dw_value__shows(fraction.text, value);
        out->failed |= fraction.failed;
        dw_buf__free(&fraction);
    } else
        dw_buf__put(out, value);
    dw_buf__put(out, shown->behind);
}
