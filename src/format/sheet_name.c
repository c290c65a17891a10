/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of sheets, as spreadsheets take them. */
#include "format/sheet_name.h"
#include "base/base.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#define MOST 31 /* characters, of which some count twice (UTF-16) */

static bool is_barred(uint32_t code)
{
    return code < 0x20 || code == 0x7F || (code < 0x80 && strchr("[]:*?/\\", (int)code));
}

/* Copies at most `most` characters; what may not stand in a name becomes a dash. */
static size_t copy(char *out, const char *text, size_t most)
{
    size_t n = 0;
    for (size_t used = 0; *text;) {
        uint32_t code = 0;
        size_t bytes = dw_utf8__next(text, strlen(text), &code);
        bool barred = bytes == 0 || is_barred(code);
        used += code > 0xFFFF ? 2 : 1;
        if (used > most)
            break;
        memcpy(out + n, barred ? "-" : text, barred ? 1 : bytes);
        n += barred ? 1 : bytes;
        text += bytes ? bytes : 1;
    }
    out[n] = '\0';
    return n;
}

/* Without regard to case. What is no ASCII counts as alike, as nobody knows how a spreadsheet folds
 * it: then one of them gets a number that it need not have. */
static bool is_alike(const char *a, const char *b)
{
    while (*a && *b) {
        uint32_t x = 0, y = 0;
        size_t n = dw_utf8__next(a, strlen(a), &x), m = dw_utf8__next(b, strlen(b), &y);
        if ((x < 0x80 || y < 0x80) && strncasecmp(a, b, 1) != 0)
            return false;
        a += n ? n : 1;
        b += m ? m : 1;
    }
    return *a == *b;
}

static bool is_taken(const char *name, char (*others)[DW_SHEET_NAME], size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (is_alike(name, others[i]))
            return true;
    return false;
}

void dw_sheet__name(char out[DW_SHEET_NAME], const char *text, char (*others)[DW_SHEET_NAME],
                    size_t n)
{
    char base[DW_SHEET_NAME];
    size_t end = copy(base, text && *text ? text : "sheet", MOST);
    if (base[0] == '\'')
        base[0] = '-';
    if (base[end - 1] == '\'')
        base[end - 1] = '-';
    if (strcasecmp(base, "History") == 0) /* which Excel keeps for itself; from memory */
        base[0] = '-';
    memcpy(out, base, end + 1);
    for (size_t i = 2; is_taken(out, others, n); i++) {
        char number[24];
        size_t length = (size_t)snprintf(number, sizeof number, " %zu", i);
        end = copy(out, base, MOST - length);
        memcpy(out + end, number, length + 1);
    }
}
