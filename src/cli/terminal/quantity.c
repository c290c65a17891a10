/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lengths, money, shares and counts as text. */
#include "cli/terminal/page.h"

#include "units/units.h"

#include <inttypes.h>
#include <string.h>

static struct dw_cli_text print_length(struct dw_cli_page *page, dw_length length,
                                       const struct dw_length_style *style)
{
    struct dw_cli_text out = {{0}};
    dw_length_print(out.text, length, style);
    if (out.text[0] == '~')
        page->rounded = true;
    return out;
}

struct dw_cli_text dw_cli__length(struct dw_cli_page *page, dw_length length)
{
    struct dw_length_style style = page->length;
    style.bare = false;
    return print_length(page, length, &style);
}

struct dw_cli_text dw_cli__fine(struct dw_cli_page *page, dw_length length)
{
    struct dw_cli_text out = {{0}};
    struct dw_length_style style = page->length;
    style.bare = false;
    dw_length__print_fine(out.text, length, &style);
    page->rounded |= out.text[0] == '~';
    return out;
}

struct dw_cli_text dw_cli__figure(struct dw_cli_page *page, dw_length length)
{
    struct dw_length_style style = page->length;
    style.bare = true;
    return print_length(page, length, &style);
}

struct dw_cli_text dw_cli__length_title(const struct dw_cli_page *page)
{
    struct dw_cli_text out = {{0}};
    snprintf(out.text, sizeof out.text, "length, %s", dw_unit_name(page->length.unit));
    return out;
}

struct dw_cli_text dw_cli__long(struct dw_cli_page *page, dw_length length)
{
    struct dw_length_style style = page->length;
    style.bare = false;
    bool metric = style.unit != DW_UNIT_IN && style.unit != DW_UNIT_FT;
    style.unit = metric ? DW_UNIT_M : DW_UNIT_FT;
    style.decimals = metric ? 5 : style.decimals;
    return print_length(page, length, &style);
}

struct dw_cli_text dw_cli__money(const struct dw_cli_page *page, dw_money amount)
{
    struct dw_cli_text out = {{0}};
    dw_money_print(out.text, amount, page->currency, false);
    return out;
}

struct dw_cli_text dw_cli__amount(const struct dw_cli_page *page, dw_money amount)
{
    struct dw_cli_text out = {{0}};
    dw_money_print(out.text, amount, page->currency, true);
    return out;
}

const char *dw_cli__money_title(const struct dw_cli_page *page)
{
    return strcmp(page->currency, "XXX") == 0 ? "money" : page->currency;
}

/* round(1000 part / whole) in tenths of a percent, half up; part and whole not negative */
struct dw_cli_text dw_cli__percent(int64_t part, int64_t whole)
{
    struct dw_cli_text out = {{0}};
    int64_t half_tenths = 0;
    if (whole <= 0 || !dw_muldiv__i64(part, 2000, whole, &half_tenths))
        return out;
    int64_t tenths = (half_tenths + 1) / 2;
    if (tenths == 0 && part > 0)
        snprintf(out.text, sizeof out.text, "<0.1 %%");
    else
        snprintf(out.text, sizeof out.text, "%" PRId64 ".%" PRId64 " %%", tenths / 10, tenths % 10);
    return out;
}

struct dw_cli_text dw_cli__count(int64_t n, const char *one, const char *many)
{
    struct dw_cli_text out = {{0}};
    snprintf(out.text, sizeof out.text, "%" PRId64 " %s", n, n == 1 ? one : many);
    return out;
}
