/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units of length: found by name, and what each is in nanometres. */
#ifndef DW_UNITS_UNIT_H
#define DW_UNITS_UNIT_H

#include <dropwise/length.h>

/* Nanometres in one of the unit; 0 for none. */
int64_t dw_unit__nm(enum dw_unit unit);
/* Whether text[0..n), capitals or not, is `word` (in small letters). */
bool dw_unit__same_word(const char *text, size_t n, const char *word);

#endif
