/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of the sheets of an XLSX file. */
#ifndef DW_FORMAT_SHEET_NAME_H
#define DW_FORMAT_SHEET_NAME_H

#include <stddef.h>

/* 31 characters, of at most 4 bytes each. */
#define DW_SHEET_NAME 125

/* Makes of any text a name that spreadsheets take: at most 31 characters, none of []:*?/\ and no
 * control characters, no apostrophe at an end, not "History", unlike each of others[0..n). */
void dw_sheet__name(char out[DW_SHEET_NAME], const char *text, char (*others)[DW_SHEET_NAME],
                    size_t n);

#endif
