/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Places within a text: lines, columns, and slices of a value. */
#include "format/tree.h"

#include <string.h>

static bool has_bom(const char *text, size_t n)
{
    return n >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0;
}

struct dw_cursor dw_cursor__start(const char *text, size_t n)
{
    return (struct dw_cursor){text, n, has_bom(text, n) ? 3 : 0, 1, 1};
}

/* A line ends with LF, CR LF, or CR alone. */
static void step(struct dw_cursor *cursor)
{
    const char *at = cursor->text + cursor->offset;
    size_t left = cursor->n - cursor->offset;
    size_t length = dw_utf8__next(at, left, NULL);
    cursor->offset += length ? length : 1;
    if (*at == '\n' || (*at == '\r' && (left < 2 || at[1] != '\n'))) {
        cursor->line++;
        cursor->column = 1;
    } else if (*at != '\r')
        cursor->column++;
}

void dw_cursor__seek(struct dw_cursor *cursor, size_t offset)
{
    if (offset < cursor->offset)
        *cursor = dw_cursor__start(cursor->text, cursor->n);
    while (cursor->offset < offset && cursor->offset < cursor->n)
        step(cursor);
}

/* UTF-16 shows by its mark, or by a zero byte next to the first character. */
static bool is_utf16(const char *text, size_t n)
{
    return n >= 2 && (memcmp(text, "\xFF\xFE", 2) == 0 || memcmp(text, "\xFE\xFF", 2) == 0 ||
                      (text[0] == '\0') != (text[1] == '\0'));
}

/* Control characters other than tab and line ends have no business in a text file. */
static size_t find_control(const char *text, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        unsigned char c = (unsigned char)text[i];
        if ((c < 0x20 && c != '\t' && c != '\n' && c != '\r') || c == 0x7F)
            return i;
    }
    return n;
}

bool dw_text__check(const char *text, size_t n, const char *name, struct dw_report *report)
{
    if (is_utf16(text, n)) {
        dw_report__add(report, DW_WRONG, name, 1, 1,
                       "the file is UTF-16 text; save it as UTF-8 (in a spreadsheet: CSV UTF-8)");
        return false;
    }
    size_t control = find_control(text, n);
    size_t foreign = dw_utf8__check(text, n);
    if (control == n && foreign == n)
        return true;
    struct dw_cursor cursor = dw_cursor__start(text, n);
    dw_cursor__seek(&cursor, control < foreign ? control : foreign);
    if (control < foreign)
        dw_report__add(report, DW_WRONG, name, cursor.line, cursor.column,
                       "control character 0x%02X; the file must be plain text",
                       (unsigned)(unsigned char)text[control]);
    else
        dw_report__add(report, DW_WRONG, name, cursor.line, cursor.column,
                       "not UTF-8 text (byte 0x%02X); save the file as UTF-8",
                       (unsigned)(unsigned char)text[foreign]);
    return false;
}

/* Each quote mark inside a quoted text is written twice and moves what follows by one. */
static int count_doubled(const struct dw_node *node, int column)
{
    char mark = node->quoting == DW_QUOTE_SINGLE ? '\'' : '"';
    int doubled = 0;
    size_t at = 0;
    for (int i = 1; i < column && at < node->n; i++) {
        doubled += node->text[at] == mark;
        size_t length = dw_utf8__next(node->text + at, node->n - at, NULL);
        at += length ? length : 1;
    }
    return doubled;
}

struct dw_place dw_node__place(const struct dw_node *node, int column)
{
    struct dw_place place = node->at;
    if (column < 1 || node->quoting == DW_QUOTE_OTHER || memchr(node->text, '\n', node->n))
        return place;
    place.column += column - 1;
    if (node->quoting != DW_QUOTE_NONE)
        place.column += 1 + count_doubled(node, column);
    return place;
}

struct dw_node dw_node__slice(const struct dw_node *node, const char *text, size_t n)
{
    struct dw_node slice = *node;
    int column = 1;
    for (const char *at = node->text; at < text; column++)
        at += dw_utf8__next(at, node->n - (size_t)(at - node->text), NULL);
    slice.at = dw_node__place(node, column);
    if (slice.quoting != DW_QUOTE_OTHER)
        slice.quoting = DW_QUOTE_NONE;
    slice.text = text;
    slice.n = n;
    return slice;
}
