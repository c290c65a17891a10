/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text of the user, made fit to print. */
#include "cli/terminal/page.h"

#include <string.h>

/* C0 and C1 controls, and the marks that turn the reading direction (Unicode Annex 9). */
static bool is_unfit(uint32_t code)
{
    return code < 0x20 || (code >= 0x7F && code < 0xA0) || (code >= 0x202A && code <= 0x202E) ||
           (code >= 0x2066 && code <= 0x2069) || code == 0x200E || code == 0x200F ||
           code == 0xFEFF || code == 0x2028 || code == 0x2029;
}

void dw_cli__clean(struct dw_buf *buf, const char *text)
{
    size_t n = strlen(text);
    size_t length = 0;
    for (size_t at = 0; at < n; at += length) {
        uint32_t code = 0;
        length = dw_utf8__next(text + at, n - at, &code);
        if (length == 0 || is_unfit(code))
            dw_buf__char(buf, '?');
        else
            dw_buf__add(buf, text + at, length);
        length = length ? length : 1;
    }
}
