/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The grammar of one written length; include/dropwise/length.h states its rules. */
#include "units/measure.h"

#include "base/base.h"
#include "units/unit.h"

static dw_err refuse(struct dw_error *error, const struct dw_token *at, const char *text)
{
    return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, at->column, "%s", text);
}

bool dw_measure__is_to(const struct dw_token *token)
{
    return token->kind == DW_TOKEN_WORD && dw_unit__same_word(token->text, token->length, "to");
}

static const struct dw_token *skip_blank(const struct dw_token *at)
{
    return at->kind == DW_TOKEN_BLANK ? at + 1 : at;
}

/* Whether a fraction begins here: 5/8 or one of the fraction characters. */
static bool is_fraction(const struct dw_token *at)
{
    return at->kind == DW_TOKEN_FRACTION ||
           (at->kind == DW_TOKEN_DIGITS && at[1].kind == DW_TOKEN_SLASH);
}

static bool is_number(const struct dw_token *at)
{
    return at->kind == DW_TOKEN_DIGITS || at->kind == DW_TOKEN_POINT ||
           at->kind == DW_TOKEN_COMMA || at->kind == DW_TOKEN_FRACTION;
}

static dw_err read_fraction(const struct dw_token **at, struct dw_quantity *quantity,
                            struct dw_error *error)
{
    const struct dw_token *start = *at;
    quantity->numerator = start->number;
    if (start->kind == DW_TOKEN_FRACTION) {
        quantity->denominator = start->denominator;
        *at = start + 1;
        return DW_OK;
    }
    if (start[2].kind != DW_TOKEN_DIGITS)
        return refuse(error, start + 1, "a whole number must follow the slash at once, as in 5/8");
    if (start[2].number == 0)
        return refuse(error, start + 2, "a fraction can't be divided by 0");
    if (start[3].kind == DW_TOKEN_SLASH)
        return refuse(error, start + 3, "a second slash; a fraction reads 5/8");
    quantity->denominator = start[2].number;
    *at = start + 3;
    return DW_OK;
}

/* The fraction of a mixed number, 24 3/8 or 24-3/8 or 24 followed by a fraction character. */
static dw_err read_mixed(const struct dw_token **at, const struct dw_number *number,
                         struct dw_quantity *quantity, struct dw_error *error)
{
    const struct dw_token *next = *at;
    if (next->kind == DW_TOKEN_BLANK || next->kind == DW_TOKEN_DASH)
        next++;
    if (!is_fraction(next))
        return DW_OK;
    if (!number->plain)
        return refuse(error, next, "decimals and a fraction in one number; use one of them");
    *at = next;
    dw_err err = read_fraction(at, quantity, error);
    if (err == DW_OK && quantity->numerator >= quantity->denominator)
        err = refuse(error, next, "the fraction behind a whole number must be less than 1");
    return err;
}

static dw_err read_value(const struct dw_token **at, struct dw_quantity *quantity,
                         struct dw_error *error)
{
    *quantity = (struct dw_quantity){.column = (*at)->column, .denominator = 1};
    if ((*at)->kind == DW_TOKEN_DASH || (*at)->kind == DW_TOKEN_MINUS)
        return dw_error__at(error, DW_ERR_RANGE, NULL, 0, (*at)->column,
                            "a length can't be negative");
    if (is_fraction(*at))
        return read_fraction(at, quantity, error);
    struct dw_number number;
    dw_err err = dw_scan__number(*at, false, &number, error);
    if (err != DW_OK)
        return err;
    *at = number.next;
    quantity->digits = number.digits;
    quantity->decimals = number.decimals;
    quantity->doubt = number.doubt;
    return read_mixed(at, &number, quantity, error);
}

/* Takes the unit, if one stands here. A point behind an abbreviation belongs to it: 24 in. */
static dw_err read_unit(const struct dw_token **at, struct dw_quantity *quantity,
                        struct dw_error *error)
{
    const struct dw_token *unit = skip_blank(*at);
    if (unit->kind == DW_TOKEN_FOOT)
        quantity->unit = DW_UNIT_FT;
    else if (unit->kind == DW_TOKEN_INCH)
        quantity->unit = DW_UNIT_IN;
    else if (unit->kind == DW_TOKEN_WORD && !dw_measure__is_to(unit)) {
        quantity->unit = dw_unit_find(unit->text, unit->length);
        if (quantity->unit == DW_UNIT_NONE)
            return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, unit->column,
                                "unknown unit %.*s; the units are mm, cm, m, in and ft",
                                (int)(unit->length < 20 ? unit->length : 20), unit->text);
        if (unit[1].kind == DW_TOKEN_POINT && unit[2].kind != DW_TOKEN_DIGITS)
            unit++;
    } else
        return DW_OK;
    *at = unit + 1;
    return DW_OK;
}

static dw_err read_quantity(const struct dw_token **at, struct dw_quantity *quantity,
                            struct dw_error *error)
{
    dw_err err = read_value(at, quantity, error);
    return err == DW_OK ? read_unit(at, quantity, error) : err;
}

static dw_err check_feet_inches(const struct dw_measure *measure, const struct dw_token *second,
                                struct dw_error *error)
{
    const struct dw_quantity *feet = &measure->first;
    const struct dw_quantity *inches = &measure->second;
    if (feet->decimals > 0 || feet->numerator > 0)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, feet->column,
                            "feet before inches must be a whole number, as in 2' 6\"");
    if (inches->unit != DW_UNIT_IN && inches->unit != DW_UNIT_NONE)
        return refuse(error, second, "inches are expected behind feet, as in 2' 6\"");
    if (inches->digits / dw_power__ten(inches->decimals) >= 12 ||
        inches->numerator / inches->denominator >= 12)
        return refuse(error, second, "inches behind feet must be less than 12, as in 2' 6\"");
    return DW_OK;
}

/* The inches behind feet: 2' 6", 2'-6", 2' - 6". With blanks on both sides of the dash the inches
 * must be marked, else it could be a range. */
static dw_err read_inches(const struct dw_token **at, struct dw_measure *measure,
                          struct dw_error *error)
{
    const struct dw_token *start = skip_blank(*at);
    bool spaced = false;
    if (start->kind == DW_TOKEN_DASH) {
        spaced = start != *at;
        if (spaced && start[1].kind != DW_TOKEN_BLANK)
            return refuse(error, start, "a dash with a blank on one side; write 2' 6\" or 2'-6\"");
        start = skip_blank(start + 1);
    }
    if (!is_number(start))
        return DW_OK;
    *at = start;
    measure->compound = true;
    dw_err err = read_quantity(at, &measure->second, error);
    if (err == DW_OK && spaced && measure->second.unit == DW_UNIT_NONE)
        err = refuse(error, start, "inches or the end of a range? write 2'-6\", or the unit twice");
    return err == DW_OK ? check_feet_inches(measure, start, error) : err;
}

/* Says what is wrong with a token that no length goes on with. */
static dw_err refuse_rest(const struct dw_token *at, const struct dw_measure *measure,
                          struct dw_error *error)
{
    bool has_unit = measure->compound || measure->first.unit != DW_UNIT_NONE;
    at = skip_blank(at);
    switch (at->kind) {
    case DW_TOKEN_DASH:
        return refuse(
            error, at,
            "a range, feet and inches, or a fraction? write 10 to 20 in, 10' 5\" or 24-3/8 in");
    case DW_TOKEN_DOTS:
        return refuse(error, at, "one length is expected here, not a range");
    case DW_TOKEN_MINUS:
        return refuse(error, at, "a minus sign has no place in a length");
    case DW_TOKEN_SLASH:
        return refuse(error, at, "a fraction reads 5/8 or 24 5/8, without blanks at the slash");
    case DW_TOKEN_WORD:
        if (dw_measure__is_to(at))
            return refuse(error, at, "one length is expected here, not a range");
        return refuse(error, at, "a second unit; write one length only");
    case DW_TOKEN_FOOT:
    case DW_TOKEN_INCH:
        return refuse(error, at, "a second unit; write one length only");
    default:
        break;
    }
    return refuse(error, at,
                  has_unit ? "a second number; feet come first and inches last, as in 2' 6-1/2\""
                           : "two numbers and no unit between them; write 2' 6-1/2\" or 24 3/8 in");
}

dw_err dw_measure__read(const struct dw_token *at, struct dw_measure *measure,
                        struct dw_error *error)
{
    *measure = (struct dw_measure){0};
    if (at->kind == DW_TOKEN_END)
        return refuse(error, at, "a length is missing; write 24 3/8 in, 2' 6-1/2\" or 619.5 mm");
    dw_err err = read_quantity(&at, &measure->first, error);
    if (err == DW_OK && measure->first.unit == DW_UNIT_FT)
        err = read_inches(&at, measure, error);
    if (err == DW_OK && skip_blank(at)->kind != DW_TOKEN_END)
        err = refuse_rest(at, measure, error);
    measure->unit_missing =
        (measure->compound ? measure->second.unit : measure->first.unit) == DW_UNIT_NONE;
    return err;
}

__extension__ typedef __int128 wide;

/* Thousands are written in mm and cm, and feet; decimals to the third place in inches and metres.
 * 1.250 is a decimal number everywhere. */
static dw_err check_doubt(const struct dw_quantity *quantity, enum dw_unit unit,
                          struct dw_error *error)
{
    if (!quantity->doubt || quantity->doubt->kind != DW_TOKEN_COMMA || unit == DW_UNIT_IN ||
        unit == DW_UNIT_M)
        return DW_OK;
    return dw_scan__refuse_doubt(quantity->doubt, error);
}

/* nm = digits unit / 10^decimals + numerator unit / denominator, refused unless both are whole. */
static dw_err quantity_nm(const struct dw_quantity *quantity, enum dw_unit unit, dw_length *nm,
                          struct dw_error *error)
{
    dw_err err = check_doubt(quantity, unit, error);
    if (err != DW_OK)
        return err;
    int64_t power = dw_power__ten(quantity->decimals);
    wide whole = (wide)quantity->digits * dw_unit__nm(unit);
    wide part = (wide)quantity->numerator * dw_unit__nm(unit);
    wide sum = whole / power + part / quantity->denominator;
    if (sum > DW_LENGTH_MAX)
        return dw_error__at(error, DW_ERR_RANGE, NULL, 0, quantity->column,
                            "longer than 1 000 km, the limit");
    if (whole % power != 0 || part % quantity->denominator != 0)
        return dw_error__at(
            error, DW_ERR_RANGE, NULL, 0, quantity->column,
            "no whole number of nanometres, so not exact; write at most %d decimals "
            "of %s or a fraction down to 1/64",
            unit == DW_UNIT_M    ? 9
            : unit == DW_UNIT_CM ? 7
            : unit == DW_UNIT_MM ? 6
                                 : 5,
            dw_unit_name(unit));
    *nm = (dw_length)sum;
    return DW_OK;
}

static dw_err feet_inches_nm(const struct dw_measure *measure, enum dw_unit bare, dw_length *nm,
                             struct dw_error *error)
{
    if (measure->unit_missing && bare != DW_UNIT_IN && bare != DW_UNIT_FT)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, measure->second.column,
                            "the inch mark is missing; write 2' 6\"");
    dw_length feet = 0, inches = 0;
    dw_err err = quantity_nm(&measure->first, DW_UNIT_FT, &feet, error);
    if (err == DW_OK)
        err = quantity_nm(&measure->second, DW_UNIT_IN, &inches, error);
    if (err == DW_OK && feet + inches > DW_LENGTH_MAX)
        err = dw_error__at(error, DW_ERR_RANGE, NULL, 0, measure->first.column,
                           "longer than 1 000 km, the limit");
    if (err == DW_OK)
        *nm = feet + inches;
    return err;
}

dw_err dw_measure__nm(const struct dw_measure *measure, enum dw_unit bare, dw_length *nm,
                      struct dw_error *error)
{
    *nm = 0;
    if (measure->compound)
        return feet_inches_nm(measure, bare, nm, error);
    enum dw_unit unit = measure->unit_missing ? bare : measure->first.unit;
    if (dw_unit__nm(unit) == 0)
        return dw_error__at(error, DW_ERR_SYNTAX, NULL, 0, measure->first.column,
                            "the unit is missing; write mm, cm, m, in or ft behind the number");
    return quantity_nm(&measure->first, unit, nm, error);
}
