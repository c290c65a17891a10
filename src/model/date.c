/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Calendar dates of ISO 8601. Days are counted after Howard Hinnant, "chrono-compatible low-level
 * date algorithms" (2013): years begin in March, eras have 400 years. */
#include "model/model.h"
#include "base/base.h"

#include <stdio.h>
#include <string.h>

struct day {
    int64_t year;
    int64_t month;
    int64_t day;
};

static bool read_digits(const char *text, int n, int64_t *out)
{
    *out = 0;
    for (int i = 0; i < n; i++) {
        if (text[i] < '0' || text[i] > '9')
            return false;
        *out = 10 * *out + (text[i] - '0');
    }
    return true;
}

static int64_t month_days(int64_t year, int64_t month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return days[month - 1] + (month == 2 && leap);
}

static bool read_date(const char *text, struct day *out)
{
    if (!text || strlen(text) != 10 || text[4] != '-' || text[7] != '-')
        return false;
    if (!read_digits(text, 4, &out->year) || !read_digits(text + 5, 2, &out->month) ||
        !read_digits(text + 8, 2, &out->day))
        return false;
    return out->year >= 1 && out->month >= 1 && out->month <= 12 && out->day >= 1 &&
           out->day <= month_days(out->year, out->month);
}

bool dw_date__check(const char *text)
{
    struct day day = {0};
    return read_date(text, &day);
}

/* Days since 0000-03-01. */
static int64_t day_number(const struct day *date)
{
    int64_t year = date->year - (date->month <= 2);
    int64_t era = dw_floor__div(year, 400);
    int64_t of_era = year - era * 400;
    int64_t of_year = (153 * (date->month + (date->month > 2 ? -3 : 9)) + 2) / 5 + date->day - 1;
    return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year;
}

bool dw_date__days(const char *from, const char *to, int64_t *days)
{
    struct day a = {0}, b = {0};
    if (!read_date(from, &a) || !read_date(to, &b))
        return false;
    *days = day_number(&b) - day_number(&a);
    return true;
}

static struct day day_date(int64_t number)
{
    int64_t era = dw_floor__div(number, 146097);
    int64_t rest = number - era * 146097;
    int64_t of_era = (rest - rest / 1460 + rest / 36524 - rest / 146096) / 365;
    int64_t of_year = rest - (365 * of_era + of_era / 4 - of_era / 100);
    int64_t month = (5 * of_year + 2) / 153;
    struct day date = {.year = of_era + era * 400,
                       .month = month < 10 ? month + 3 : month - 9,
                       .day = of_year - (153 * month + 2) / 5 + 1};
    date.year += date.month <= 2;
    return date;
}

bool dw_date__number(const char *text, int64_t *day)
{
    static const struct day epoch = {1970, 1, 1};
    struct day date = {0};
    if (!read_date(text, &date))
        return false;
    *day = day_number(&date) - day_number(&epoch);
    return true;
}

bool dw_date__add(const char *text, int64_t days, char out[DW_DATE_TEXT])
{
    struct day date = {0};
    const int64_t most = 4000000; /* days: more than the years 1 to 9999 hold */
    if (!read_date(text, &date) || days < -most || days > most)
        return false;
    date = day_date(day_number(&date) + days);
    if (date.year < 1 || date.year > 9999)
        return false;
    snprintf(out, DW_DATE_TEXT, "%04d-%02d-%02d", (int)date.year, (int)date.month, (int)date.day);
    return true;
}
