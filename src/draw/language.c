/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Filling the texts of a language; figures, dates and lengths in it. */
#include "draw/language.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

const struct dw_language *dw_language__find(const char *code)
{
    for (size_t i = 0; dw_languages__all[i]; i++)
        if (strcmp(dw_languages__all[i]->code, code ? code : "en") == 0)
            return dw_languages__all[i];
    return NULL;
}

void dw_language__fill(struct dw_buf *buf, const struct dw_language *language, enum dw_say say,
                       const char *a, const char *b, const char *c)
{
    const char *const values[] = {a, b, c};
    for (const char *at = language->words[say]; *at; at++) {
        if (at[0] == '{' && at[1] >= '0' && at[1] <= '2' && at[2] == '}') {
            dw_buf__put(buf, values[at[1] - '0'] ? values[at[1] - '0'] : "");
            at += 2;
        } else {
            dw_buf__char(buf, *at);
        }
    }
}

/* Digits are parted by three, so that nobody counts them. */
void dw_language__figure(struct dw_buf *buf, const struct dw_language *language, const char *figure)
{
    size_t sign = figure[0] == '-', whole = strspn(figure + sign, "0123456789");
    if (sign)
        dw_buf__put(buf, "\u2212");
    figure += sign;
    for (size_t i = 0; i < whole; i++) {
        if (i > 0 && (whole - i) % 3 == 0)
            dw_buf__put(buf, language->words[DW_SAY_GROUP]);
        dw_buf__char(buf, figure[i]);
    }
    for (const char *at = figure + whole; *at; at++) {
        if (*at == '.')
            dw_buf__put(buf, language->words[DW_SAY_DECIMAL]);
        else
            dw_buf__char(buf, *at);
    }
}

void dw_language__date(struct dw_buf *buf, const struct dw_language *language, const char *date)
{
    char day[4], month[32] = "", year[8];
    int m = strlen(date) == 10 ? atoi(date + 5) : 0;
    const char *at = language->words[DW_SAY_MONTHS];
    for (int i = 1; i < m && at; i++)
        at = strchr(at, ' ') ? strchr(at, ' ') + 1 : NULL;
    if (m < 1 || !at) {
        dw_buf__put(buf, date);
        return;
    }
    snprintf(month, sizeof month, "%.*s", (int)strcspn(at, " "), at);
    snprintf(day, sizeof day, "%d", atoi(date + 8));
    snprintf(year, sizeof year, "%.4s", date);
    dw_language__fill(buf, language, DW_SAY_DATE, day, month, year);
}

void dw_language__long(struct dw_buf *buf, const struct dw_language *language, dw_length length,
                       enum dw_unit unit)
{
    char figure[40];
    bool feet = unit == DW_UNIT_IN || unit == DW_UNIT_FT;
    int64_t step = feet ? 12 * DW_NM_PER_IN / 10 : 10 * DW_NM_PER_MM, parts = feet ? 10 : 100;
    int64_t n = (length + step / 2) / step;
    n = n == 0 && length > 0 ? 1 : n;
    snprintf(figure, sizeof figure, "%" PRId64 ".%0*" PRId64, n / parts, feet ? 1 : 2, n % parts);
    dw_language__figure(buf, language, figure);
    dw_buf__put(buf, feet ? "\u00a0ft" : "\u00a0m");
}
