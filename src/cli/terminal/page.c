/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Width, colour and character set of a page, and text folded to it. */
#include "cli/terminal/page.h"

#include <langinfo.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#define WIDTH_LEAST    40
#define WIDTH_MOST     400
#define WIDTH_USUAL    80
#define FOLD_LEAST     8  /* columns that a paragraph gets at least */
#define FRACTION_USUAL 16 /* of inches in a job that is not in inches */

/* --- set-up ---------------------------------------------------------------------------------- */

static size_t clamp_width(long columns)
{
    if (columns < WIDTH_LEAST)
        return WIDTH_LEAST;
    return columns > WIDTH_MOST ? WIDTH_MOST : (size_t)columns;
}

/* The environment's COLUMNS, else the terminal's own answer, else what is usual. */
static size_t find_width(void)
{
    const char *columns = getenv("COLUMNS");
    char *end = NULL;
    long value = columns ? strtol(columns, &end, 10) : 0;
    if (columns && end != columns && *end == '\0' && value > 0)
        return clamp_width(value);
    struct winsize size = {0};
    if (isatty(STDOUT_FILENO) && ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0)
        return clamp_width(size.ws_col);
    return WIDTH_USUAL;
}

/* https://no-color.org: colour is off when NO_COLOR is present and not empty. */
static bool find_color(const char *when)
{
    if (when && strcmp(when, "auto") != 0)
        return strcmp(when, "always") == 0;
    const char *no_color = getenv("NO_COLOR");
    const char *term = getenv("TERM");
    return isatty(STDOUT_FILENO) && !(no_color && *no_color) && term && strcmp(term, "dumb") != 0;
}

enum dw_cli_status dw_cli__page_init(const struct dw_cli_args *args, struct dw_cli_page *page)
{
    *page = (struct dw_cli_page){0};
    const char *width = dw_cli__value(args, "width");
    int64_t columns = 0;
    if (width && !dw_cli__number("width", width, WIDTH_LEAST, WIDTH_MOST, &columns))
        return DW_CLI_REFUSED;
    page->width = width ? (size_t)columns : find_width();
    page->color = find_color(dw_cli__value(args, "color"));
    page->utf8 = strcmp(nl_langinfo(CODESET), "UTF-8") == 0;
    page->length.unit = DW_UNIT_MM;
    memcpy(page->currency, "XXX", sizeof page->currency);
    return DW_CLI_DONE;
}

/* Decimals that show a hundredth of a millimetre, or a thousandth of an inch. */
static int decimals_of(enum dw_unit unit)
{
    switch (unit) {
    case DW_UNIT_M:
        return 5;
    case DW_UNIT_CM:
    case DW_UNIT_IN:
    case DW_UNIT_FT:
        return 3;
    case DW_UNIT_MM:
    case DW_UNIT_NONE:
        break;
    }
    return 2;
}

static bool in_inches(enum dw_unit unit)
{
    return unit == DW_UNIT_IN || unit == DW_UNIT_FT;
}

enum dw_cli_status dw_cli__page_job(const struct dw_cli_args *args, const struct dw_job *job,
                                    struct dw_cli_page *page)
{
    const char *unit = dw_cli__value(args, "unit");
    const char *fractions = dw_cli__value(args, "fractions");
    page->length.unit = unit ? dw_unit_find(unit, strlen(unit)) : job->unit;
    page->length.denominator = job->denominator;
    if (in_inches(page->length.unit) && !in_inches(job->unit))
        page->length.denominator = FRACTION_USUAL;
    int64_t denominator = 0;
    if (fractions) {
        if (!dw_cli__number("fractions", fractions, 0, 64, &denominator))
            return DW_CLI_REFUSED;
        page->length.denominator = (int)denominator;
    }
    page->length.decimals = decimals_of(page->length.unit);
    memcpy(page->currency, job->currency, sizeof page->currency);
    return DW_CLI_DONE;
}

/* --- putting text ------------------------------------------------------------------------------
 */

void dw_cli__put(struct dw_cli_page *page, const char *text)
{
    dw_buf__put(&page->buf, text);
}

void dw_cli__newline(struct dw_cli_page *page)
{
    dw_buf__char(&page->buf, '\n');
}

/* ECMA-48 select graphic rendition. */
void dw_cli__tone(struct dw_cli_page *page, enum dw_cli_tone tone)
{
    static const char *const codes[] = {
        [DW_CLI_PLAIN] = "\033[0m", [DW_CLI_STRONG] = "\033[1m", [DW_CLI_QUIET] = "\033[2m",
        [DW_CLI_GOOD] = "\033[32m", [DW_CLI_CARE] = "\033[33m",
    };
    if (page->color)
        dw_buf__put(&page->buf, codes[tone]);
}

void dw_cli__heading(struct dw_cli_page *page, const char *text)
{
    if (page->buf.n > 0)
        dw_cli__newline(page);
    dw_cli__fold(page, DW_CLI_STRONG, "", text);
}

size_t dw_cli__fit(const char *text, size_t n, size_t width, size_t *next)
{
    size_t at = 0;
    size_t used = 0;
    size_t blank = 0; /* offset of the last blank that fits, 0 = none */
    while (at < n) {
        size_t length = dw_utf8__next(text + at, n - at, NULL);
        length = length ? length : 1;
        size_t columns = dw_utf8__width(text + at, length);
        if (text[at] == ' ')
            blank = at;
        if (used + columns > width && at > 0)
            break;
        used += columns;
        at += length;
    }
    size_t end = at < n && blank > 0 ? blank : at;
    *next = end;
    while (*next < n && text[*next] == ' ')
        (*next)++;
    while (end > 0 && text[end - 1] == ' ')
        end--;
    return end;
}

void dw_cli__spaces(struct dw_cli_page *page, size_t n)
{
    for (size_t i = 0; i < n; i++)
        dw_buf__char(&page->buf, ' ');
}

void dw_cli__hang(struct dw_cli_page *page, enum dw_cli_tone tone, const char *lead, size_t hang,
                  const char *text)
{
    size_t n = strlen(text);
    size_t indent = dw_utf8__width(lead, strlen(lead));
    size_t next = 0;
    dw_cli__put(page, lead);
    for (size_t at = 0; at < n; at += next) {
        if (at > 0) {
            dw_cli__newline(page);
            dw_cli__spaces(page, hang);
            indent = hang;
        }
        size_t width = page->width > indent + FOLD_LEAST ? page->width - indent : FOLD_LEAST;
        size_t end = dw_cli__fit(text + at, n - at, width, &next);
        if (tone != DW_CLI_PLAIN)
            dw_cli__tone(page, tone);
        dw_buf__add(&page->buf, text + at, end);
        if (tone != DW_CLI_PLAIN)
            dw_cli__tone(page, DW_CLI_PLAIN);
    }
    dw_cli__newline(page);
}

void dw_cli__fold(struct dw_cli_page *page, enum dw_cli_tone tone, const char *lead,
                  const char *text)
{
    dw_cli__hang(page, tone, lead, dw_utf8__width(lead, strlen(lead)), text);
}

void dw_cli__fold_buf(struct dw_cli_page *page, enum dw_cli_tone tone, const char *lead,
                      struct dw_buf *text)
{
    char *all = dw_buf__take(text);
    if (all)
        dw_cli__fold(page, tone, lead, all);
    else
        page->buf.failed = true;
    free(all);
}

/* --- writing it out ----------------------------------------------------------------------------
 */

/* What stands for the page's own characters where the terminal has ASCII only. */
static const struct {
    uint32_t code;
    char ascii;
} plain[] = {
    {0x00B7, '.'}, {0x00D7, 'x'}, {0x2013, '-'}, {0x2014, '-'}, {0x2019, '\''},
    {0x2026, '.'}, {0x2212, '-'}, {0x2500, '-'}, {0x2501, '='}, {0x2502, '|'},
    {0x251C, '|'}, {0x2524, '|'}, {0x253C, '|'}, {0x2591, '.'}, {0x2592, ':'},
    {0x2588, '#'}, {0x254C, '.'}, {0x2550, '='}, {0x2192, '>'}, {0x2248, '~'},
};

static char *to_ascii(const char *text)
{
    struct dw_buf ascii = {0};
    size_t n = strlen(text);
    size_t length = 0;
    for (size_t at = 0; at < n; at += length) {
        uint32_t code = 0;
        length = dw_utf8__next(text + at, n - at, &code);
        length = length ? length : 1;
        char c = code > 0 && code < 0x80 ? (char)code : '?';
        for (size_t i = 0; i < DW_COUNT(plain); i++)
            if (plain[i].code == code)
                c = plain[i].ascii;
        size_t columns = code < 0x80 ? 1 : dw_utf8__width(text + at, length);
        for (size_t i = 0; i < columns; i++)
            dw_buf__char(&ascii, c);
    }
    return dw_buf__take(&ascii);
}

/* No-break spaces have kept figures together and in line; now they become ordinary ones, and blanks
 * at the end of a line go, in place. */
static void free_spaces(char *text)
{
    char *to = text;
    for (const char *from = text; *from;) {
        bool no_break = strncmp(from, DW_CLI_NO_BREAK, strlen(DW_CLI_NO_BREAK)) == 0;
        while (*from == '\n' && to > text && to[-1] == ' ')
            to--;
        *to++ = no_break ? ' ' : *from;
        from += no_break ? strlen(DW_CLI_NO_BREAK) : 1;
    }
    *to = '\0';
}

char *dw_cli__page_take(struct dw_cli_page *page)
{
    char *text = dw_buf__take(&page->buf);
    if (text)
        free_spaces(text);
    if (text && !page->utf8) {
        char *ascii = to_ascii(text);
        free(text);
        text = ascii;
    }
    if (!text)
        dw_cli__complain("out of memory");
    return text;
}

enum dw_cli_status dw_cli__page_end(struct dw_cli_page *page)
{
    char *text = dw_cli__page_take(page);
    enum dw_cli_status status = text ? dw_cli__write(text, strlen(text)) : DW_CLI_FAILED;
    free(text);
    return status;
}

void dw_cli__page_free(struct dw_cli_page *page)
{
    dw_buf__free(&page->buf);
}
