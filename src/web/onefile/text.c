/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text measured by the browser that will draw it. */
#include "web/onefile/text.h"

#include <emscripten.h>
#include <string.h>

/* A drawing surface that is never shown has the fonts of the page. Measured at 100 px, since a
 * browser may round sizes, not lengths, of small text. */
EM_JS(double, js_width, (const char *text, size_t n, bool bold, const char *fonts), {
    const pen = Module.pen || (Module.pen = new OffscreenCanvas(1, 1).getContext('2d'));
    pen.font = (bold ? 'bold' : 'normal') + ' 100px ' + UTF8ToString(fonts);
    return pen.measureText(UTF8ToString(text, n)).width / 100;
})

double dw_text__width(const char *text, size_t n, double size, bool bold)
{
    return n > 0 ? js_width(text, n, bold, DW_TEXT_FONTS) * size : 0;
}

static bool is_start(char c)
{
    return ((unsigned char)c & 0xc0) != 0x80;
}

static size_t next_start(const char *text, size_t n, size_t at)
{
    do
        at++;
    while (at < n && !is_start(text[at]));
    return at < n ? at : n;
}

/* Cost: O(log n) measurements. */
size_t dw_text__fit(const char *text, size_t n, double size, bool bold, double width)
{
    size_t fits = 0, too_many = n + 1;
    if (dw_text__width(text, n, size, bold) <= width)
        return n;
    while (true) {
        size_t middle = fits + (too_many - fits) / 2;
        while (middle > fits && middle < n && !is_start(text[middle]))
            middle--;
        if (middle <= fits)
            middle = next_start(text, n, fits);
        if (middle >= too_many || middle == n)
            return fits;
        if (dw_text__width(text, middle, size, bold) <= width)
            fits = middle;
        else
            too_many = middle;
    }
}

size_t dw_text__wrap(const char *text, double size, bool bold, double width, size_t *skip)
{
    size_t n = strcspn(text, "\n");
    size_t fits = dw_text__fit(text, n, size, bold, width);
    if (fits == n) {
        *skip = n + (text[n] == '\n');
        return n;
    }
    size_t end = fits;
    while (end > 0 && text[end] != ' ')
        end--;
    if (end == 0) {
        end = fits > 0 ? fits : next_start(text, n, 0);
        *skip = end;
        return end;
    }
    *skip = end;
    while (text[*skip] == ' ')
        (*skip)++;
    return end;
}
