/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of units: exact lengths and money, parse and print. */
#ifndef DW_UNITS_H
#define DW_UNITS_H

#include <dropwise/length.h>
#include <dropwise/money.h>

/* A length in its style if that holds it exactly, else in 64ths, else with six decimals. Returns as
 * dw_length_print does. */
size_t dw_length__print_fine(char out[DW_LENGTH_TEXT], dw_length nm,
                             const struct dw_length_style *style);

#endif
