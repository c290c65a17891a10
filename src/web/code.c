/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A QR code (ISO/IEC 18004, by libqrencode) for a terminal: two rows of modules a line. */
#include "web/web.h"

#include <errno.h>
#include <qrencode.h>

#define QUIET 2 /* modules of margin */

/* Light modules are printed as blocks, since terminals have light text on dark ground. */
static bool is_light(const QRcode *code, int row, int column)
{
    row -= QUIET;
    column -= QUIET;
    if (row < 0 || column < 0 || row >= code->width || column >= code->width)
        return row < code->width + QUIET;
    return !(code->data[row * code->width + column] & 1);
}

dw_err dw_web__code(const char *text, char **out, struct dw_error *error)
{
    *out = NULL;
    QRcode *code = QRcode_encodeString8bit(text, 0, QR_ECLEVEL_L);
    if (!code)
        return errno == ENOMEM ? dw_error__nomem(error)
                               : dw_error__set(error, DW_ERR_LIMIT, "too long for a QR code");
    struct dw_buf buf = {0};
    int n = code->width + 2 * QUIET;
    for (int row = 0; row < n; row += 2) {
        for (int column = 0; column < n; column++) {
            bool upper = is_light(code, row, column);
            bool lower = is_light(code, row + 1, column);
            dw_buf__put(&buf, upper && lower ? "\u2588"
                              : upper        ? "\u2580"
                              : lower        ? "\u2584"
                                             : " ");
        }
        dw_buf__char(&buf, '\n');
    }
    QRcode_free(code);
    *out = dw_buf__take(&buf);
    return *out ? DW_OK : dw_error__nomem(error);
}
