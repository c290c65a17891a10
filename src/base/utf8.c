/* SPDX-License-Identifier: GPL-3.0-or-later */
/* UTF-8 after RFC 3629: no overlong forms, no surrogates, nothing above U+10FFFF. */
#include "base/base.h"

size_t dw_utf8__next(const char *text, size_t n, uint32_t *code)
{
    if (n == 0)
        return 0;
    const unsigned char *s = (const unsigned char *)text;
    uint32_t value = s[0];
    size_t length = value < 0x80             ? 1
                    : (value & 0xE0) == 0xC0 ? 2
                    : (value & 0xF0) == 0xE0 ? 3
                    : (value & 0xF8) == 0xF0 ? 4
                                             : 0;
    if (length == 0 || length > n)
        return 0;
    if (length > 1)
        value &= 0xFFu >> (length + 1);
    for (size_t i = 1; i < length; i++) {
        if ((s[i] & 0xC0) != 0x80)
            return 0;
        value = value << 6 | (s[i] & 0x3Fu);
    }
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    if (value < least[length] || value > 0x10FFFF || (value >= 0xD800 && value < 0xE000))
        return 0;
    if (code)
        *code = value;
    return length;
}

size_t dw_utf8__check(const char *text, size_t n)
{
    size_t at = 0;
    while (at < n) {
        size_t length = dw_utf8__next(text + at, n - at, NULL);
        if (length == 0)
            break;
        at += length;
    }
    return at;
}

/* Unicode Standard Annex 11: the ranges of wide characters, and of marks that take no column. */
static const struct {
    uint32_t first, last;
    unsigned char columns;
} widths[] = {
    {0x0300, 0x036F, 0},   {0x0483, 0x0489, 0},   {0x0591, 0x05BD, 0},   {0x064B, 0x065F, 0},
    {0x0900, 0x0902, 0},   {0x093C, 0x093C, 0},   {0x0941, 0x0948, 0},   {0x094D, 0x094D, 0},
    {0x0E31, 0x0E31, 0},   {0x0E34, 0x0E3A, 0},   {0x0E47, 0x0E4E, 0},   {0x1100, 0x115F, 2},
    {0x200B, 0x200F, 0},   {0x20D0, 0x20FF, 0},   {0x2E80, 0x303E, 2},   {0x3041, 0x33FF, 2},
    {0x3400, 0x4DBF, 2},   {0x4E00, 0x9FFF, 2},   {0xA000, 0xA4CF, 2},   {0xAC00, 0xD7A3, 2},
    {0xF900, 0xFAFF, 2},   {0xFE00, 0xFE0F, 0},   {0xFE30, 0xFE6F, 2},   {0xFF00, 0xFF60, 2},
    {0xFFE0, 0xFFE6, 2},   {0x1F300, 0x1F64F, 2}, {0x1F680, 0x1F6FF, 2}, {0x1F900, 0x1F9FF, 2},
    {0x20000, 0x3FFFD, 2},
};

size_t dw_utf8__width(const char *text, size_t n)
{
    size_t columns = 0;
    for (size_t at = 0; at < n;) {
        uint32_t code = 0;
        size_t length = dw_utf8__next(text + at, n - at, &code);
        at += length ? length : 1;
        size_t width = 1;
        for (size_t i = 0; i < DW_COUNT(widths); i++)
            if (code >= widths[i].first && code <= widths[i].last)
                width = widths[i].columns;
        columns += width;
    }
    return columns;
}
