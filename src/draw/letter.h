/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The frame of a letter: sender, receiver behind an envelope's window, what the paper is, foot. */
#ifndef DW_DRAW_LETTER_H
#define DW_DRAW_LETTER_H

#include "draw/language.h"
#include "draw/page.h"

#include <dropwise/shop.h>

#define DW_LETTER_ROWS 8

struct dw_letter {
    const struct dw_language *language;
    const struct dw_shop *shop; /* NULL: no sender is known */
    const char *to;             /* name; NULL = not known */
    const char *address;        /* lines below it; NULL = not known */
    const char *title;          /* "Quote" */
    const char *number;         /* NULL = none yet */
    size_t n_rows;
    struct {
        const char *label, *text; /* text may have lines */
    } rows[DW_LETTER_ROWS];       /* beside the address; those without text are left out */
    const char *caution;          /* above the foot */
};

/* Where a receiver must stand for the window, from the upper left corner of the page, in mm. */
struct dw_window {
    double x, y, width, height;
};

/* A4: DIN 5008 form B, folded in three in a DIN long envelope: address field 20 mm from the left
 * edge, 45 mm from the top, 85 x 45 mm; text begins 5 mm inside, the receiver below the first 17.7
 * mm of it. Letter: a US No. 10 envelope, 9 1/2 x 4 1/8 in, window 4 1/2 x 1 1/8 in, 7/8 in from
 * the left, 1/2 in from the bottom; a sheet folded in three (11/3 in high) may lie 11/24 in higher
 * or lower and 1 in to the side in it, and what is within 7/8 in to 4 3/8 in by 2 1/2 in to 3 1/6
 * in of the sheet is seen wherever it lies. Both sets of measures are from memory. */
struct dw_window dw_letter__window(bool letter);

/* Fits struct dw_frame.page, with a struct dw_letter as its user. */
void dw_letter__page(struct dw_flow *flow, const void *letter);

#endif
