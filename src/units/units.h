/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Face of units: exact lengths and money, parse and print. */
#ifndef DW_UNITS_H
#define DW_UNITS_H

#include <dropwise/length.h>
#include <dropwise/money.h>

#endif
