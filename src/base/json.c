/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text as a JSON string. */
#include "base/base.h"

#include <string.h>

/* The short escapes of RFC 8259, section 7; 0 if the character has none. */
static char short_escape(char c)
{
    switch (c) {
    case '"':
    case '\\':
        return c;
    case '\b':
        return 'b';
    case '\f':
        return 'f';
    case '\n':
        return 'n';
    case '\r':
        return 'r';
    case '\t':
        return 't';
    default:
        return 0;
    }
}

static void put_ascii(struct dw_buf *buf, char c)
{
    char escape = short_escape(c);
    if (escape)
        dw_buf__format(buf, "\\%c", escape);
    else if ((unsigned char)c < 0x20 || c == 0x7f)
        dw_buf__format(buf, "\\u%04x", (unsigned)(unsigned char)c);
    else
        dw_buf__char(buf, c);
}

void dw_buf__json_n(struct dw_buf *buf, const char *text, size_t n)
{
    dw_buf__char(buf, '"');
    for (size_t i = 0; i < n;) {
        size_t length = dw_utf8__next(text + i, n - i, NULL);
        if (length == 1)
            put_ascii(buf, text[i]);
        else if (length == 0)
            dw_buf__put(buf, "\xEF\xBF\xBD");
        else
            dw_buf__add(buf, text + i, length);
        i += length ? length : 1;
    }
    dw_buf__char(buf, '"');
}

void dw_buf__json(struct dw_buf *buf, const char *text)
{
    if (text)
        dw_buf__json_n(buf, text, strlen(text));
    else
        dw_buf__put(buf, "null");
}
