/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Exact money: an int64_t of 1/10 000 currency unit, with an ISO 4217 code beside it.
 *
 * Threads: any, at any time. */
#ifndef DROPWISE_MONEY_H
#define DROPWISE_MONEY_H

#include <dropwise/error.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef int64_t dw_money; /* 1/10 000 of the currency unit */

#define DW_MONEY_ONE  INT64_C(10000)
#define DW_MONEY_MAX  (INT64_C(100000000000) * DW_MONEY_ONE) /* 10^11 units: refused beyond */
#define DW_MONEY_TEXT 48

/* One currency of ISO 4217. */
struct dw_currency {
    char code[4];
    int decimals; /* minor unit: 2 for EUR, 0 for JPY, 3 for BHD */
};

/* NULL if `code` (three capitals) is no current ISO 4217 code. Borrowed, static. */
const struct dw_currency *dw_currency_find(const char *code);

/* Reads an amount with at most four decimals: `12.50`, `12,50`, `1 250.00`, an optional currency
 * code before or after that must equal `code`. What may be thousands or decimals (`1,250`, `1.250`)
 * is refused, save that a point is decimal in a currency of three decimals; `1.2500` and `0.125`
 * are clear. text[0..n) need not be terminated. error->column as in dw_length_parse. DW_ERR_SYNTAX;
 * DW_ERR_RANGE: negative, beyond DW_MONEY_MAX, or more than four decimals. */
dw_err dw_money_parse(const char *text, size_t n, const char *code, dw_money *out,
                      struct dw_error *error);

/* Prints an amount with the currency's own decimals, all four only where the amount needs them:
 * `12.50 EUR`, `12.3450 EUR`; without the code if `bare` or XXX. Returns the text's length. */
size_t dw_money_print(char out[DW_MONEY_TEXT], dw_money amount, const char *code, bool bare);

/* Rounds to the currency's minor unit, half away from zero. */
dw_money dw_money_round(dw_money amount, const char *code);

#ifdef __cplusplus
}
#endif
#endif
