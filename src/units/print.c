/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Printing a length: fractions, feet and inches, decimals; "~" before what is rounded. */
#include "units/unit.h"

#include "base/base.h"
#include "units/scan.h"
#include "units/units.h"

#include <stdio.h>

__extension__ typedef unsigned __int128 wide;

#define DENOMINATOR_MAX 64

/* Text in a buffer of DW_LENGTH_TEXT. */
struct out {
    char *text;
    size_t n;
};

static void put_char(struct out *out, char c)
{
    if (out->n + 1 < DW_LENGTH_TEXT)
        out->text[out->n++] = c;
}

static void put_text(struct out *out, const char *text)
{
    for (; *text; text++)
        put_char(out, *text);
}

static void put_number(struct out *out, uint64_t number)
{
    char digits[24];
    snprintf(digits, sizeof digits, "%llu", (unsigned long long)number);
    put_text(out, digits);
}

/* round(nm parts / unit), half up. */
static uint64_t count_parts(uint64_t nm, uint64_t parts, uint64_t unit, bool *rounded)
{
    wide scaled = (wide)nm * parts;
    *rounded = scaled % unit != 0;
    return (uint64_t)((scaled + unit / 2) / unit);
}

static uint64_t power_of_ten(int exponent)
{
    return (uint64_t)dw_power__ten(exponent);
}

/* parts / 10^decimals without zeros at the end. */
static void put_decimals(struct out *out, uint64_t parts, int decimals,
                         const struct dw_length_style *style)
{
    uint64_t power = power_of_ten(decimals);
    uint64_t whole = parts / power;
    while (decimals > 0 && parts % 10 == 0) {
        parts /= 10;
        decimals--;
    }
    put_number(out, whole);
    if (decimals == 0)
        return;
    put_char(out, style->decimal_mark ? style->decimal_mark : '.');
    char digits[24];
    snprintf(digits, sizeof digits, "%0*llu", decimals,
             (unsigned long long)(parts % power_of_ten(decimals)));
    put_text(out, digits);
    bool metric = style->unit == DW_UNIT_MM || style->unit == DW_UNIT_CM;
    if (decimals == 3 && style->decimal_mark == ',' && metric && whole > 0 && whole < 1000)
        put_char(out, '0'); /* 619,125 mm could be read as thousands */
}

static uint64_t greatest_divisor(uint64_t a, uint64_t b)
{
    return (uint64_t)dw_gcd__i64((int64_t)a, (int64_t)b);
}

/* parts / denominator as a mixed number in lowest terms. */
static void put_mixed(struct out *out, uint64_t parts, uint64_t denominator)
{
    uint64_t whole = parts / denominator;
    uint64_t rest = parts % denominator;
    if (whole > 0 || rest == 0)
        put_number(out, whole);
    if (rest == 0)
        return;
    uint64_t divisor = greatest_divisor(rest, denominator);
    if (whole > 0)
        put_char(out, ' ');
    put_number(out, rest / divisor);
    put_char(out, '/');
    put_number(out, denominator / divisor);
}

/* 8'-5/8", 8'-0", 5/8". */
static void put_feet(struct out *out, uint64_t parts, uint64_t denominator, int decimals,
                     const struct dw_length_style *style)
{
    uint64_t an_inch = denominator ? denominator : power_of_ten(decimals);
    uint64_t feet = parts / an_inch / 12;
    if (feet > 0) {
        put_number(out, feet);
        put_text(out, "'-");
    }
    parts -= feet * 12 * an_inch;
    if (denominator)
        put_mixed(out, parts, denominator);
    else
        put_decimals(out, parts, decimals, style);
    put_char(out, '"');
}

/* The largest power of two up to the one asked for and 64; 0 = decimals. */
static uint64_t choose_denominator(const struct dw_length_style *style)
{
    if (style->denominator <= 0 || (style->unit != DW_UNIT_IN && style->unit != DW_UNIT_FT))
        return 0;
    uint64_t denominator = 1;
    while (denominator < DENOMINATOR_MAX && denominator * 2 <= (uint64_t)style->denominator)
        denominator *= 2;
    return denominator;
}

/* More decimals than the nanometre has are of no use, and keep the parts within 64 bits. */
static int choose_decimals(const struct dw_length_style *style, enum dw_unit unit)
{
    int most = unit == DW_UNIT_M ? 9 : unit == DW_UNIT_CM ? 7 : 6;
    return style->decimals < 0 ? 0 : style->decimals > most ? most : style->decimals;
}

size_t dw_length_print(char out[DW_LENGTH_TEXT], dw_length nm, const struct dw_length_style *style)
{
    struct out text = {.text = out};
    uint64_t magnitude = nm < 0 ? -(uint64_t)nm : (uint64_t)nm;
    uint64_t denominator = choose_denominator(style);
    bool feet = style->unit == DW_UNIT_FT;
    enum dw_unit unit = feet ? DW_UNIT_IN : style->unit == DW_UNIT_NONE ? DW_UNIT_MM : style->unit;
    int decimals = choose_decimals(style, unit);
    bool rounded = false;
    uint64_t parts = count_parts(magnitude, denominator ? denominator : power_of_ten(decimals),
                                 (uint64_t)dw_unit__nm(unit), &rounded);
    if (rounded)
        put_char(&text, '~');
    if (nm < 0 && parts > 0)
        put_char(&text, '-');
    if (feet)
        put_feet(&text, parts, denominator, decimals, style);
    else if (denominator)
        put_mixed(&text, parts, denominator);
    else
        put_decimals(&text, parts, decimals, style);
    if (!feet && !style->bare) {
        put_char(&text, ' ');
        put_text(&text, dw_unit_name(unit));
    }
    out[text.n] = '\0';
    return text.n;
}

size_t dw_length__print_fine(char out[DW_LENGTH_TEXT], dw_length nm,
                             const struct dw_length_style *style)
{
    struct dw_length_style styles[] = {*style, *style, *style};
    styles[1].denominator = style->denominator > 0 ? DENOMINATOR_MAX : 0;
    styles[2].denominator = 0;
    styles[2].decimals = 6;
    size_t n = 0;
    for (size_t i = 0; i < DW_COUNT(styles) && (n == 0 || out[0] == '~'); i++)
        n = dw_length_print(out, nm, &styles[i]);
    return n;
}
