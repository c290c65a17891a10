/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How wide a text is in the browser's fonts, and where it is to be broken. */
#ifndef DW_WEB_ONEFILE_TEXT_H
#define DW_WEB_ONEFILE_TEXT_H

#include "base/base.h"

/* The font that is measured and drawn; sizes are of the em, in any unit. */
#define DW_TEXT_FONTS "'DejaVu Sans',Verdana,sans-serif"

/* Lines are as high as DejaVu's, whose ascent and descent these are, as shares of the em. */
#define DW_TEXT_ASCENT 0.928
#define DW_TEXT_HEIGHT 1.164

double dw_text__width(const char *text, size_t n, double size, bool bold);

/* Bytes of `text` (length n) that are no wider than `width`, whole characters. */
size_t dw_text__fit(const char *text, size_t n, double size, bool bold, double width);

/* The next line of a paragraph: as many words as fit, at least one character, up to the end of the
 * line of text. *skip: bytes to the beginning of the line after it. */
size_t dw_text__wrap(const char *text, double size, bool bold, double width, size_t *skip);

#endif
