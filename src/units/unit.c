/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Names of units, and what each is in nanometres. */
#include "units/unit.h"

#include "base/base.h"

#include <string.h>

static const struct {
    const char *name;
    int64_t nm;
} units[] = {
    [DW_UNIT_NONE] = {"", 0},
    [DW_UNIT_MM] = {"mm", DW_NM_PER_MM},
    [DW_UNIT_CM] = {"cm", 10 * DW_NM_PER_MM},
    [DW_UNIT_M] = {"m", 1000 * DW_NM_PER_MM},
    [DW_UNIT_IN] = {"in", DW_NM_PER_IN},
    [DW_UNIT_FT] = {"ft", 12 * DW_NM_PER_IN},
};

static const struct {
    const char *word;
    enum dw_unit unit;
} words[] = {
    {"mm", DW_UNIT_MM},
    {"millimetre", DW_UNIT_MM},
    {"millimetres", DW_UNIT_MM},
    {"millimeter", DW_UNIT_MM},
    {"millimeters", DW_UNIT_MM},
    {"cm", DW_UNIT_CM},
    {"centimetre", DW_UNIT_CM},
    {"centimetres", DW_UNIT_CM},
    {"centimeter", DW_UNIT_CM},
    {"centimeters", DW_UNIT_CM},
    {"m", DW_UNIT_M},
    {"metre", DW_UNIT_M},
    {"metres", DW_UNIT_M},
    {"meter", DW_UNIT_M},
    {"meters", DW_UNIT_M},
    {"in", DW_UNIT_IN},
    {"ins", DW_UNIT_IN},
    {"inch", DW_UNIT_IN},
    {"inches", DW_UNIT_IN},
    {"ft", DW_UNIT_FT},
    {"foot", DW_UNIT_FT},
    {"feet", DW_UNIT_FT},
};

bool dw_unit__same_word(const char *text, size_t n, const char *word)
{
    for (size_t i = 0; i < n; i++) {
        char c = text[i] >= 'A' && text[i] <= 'Z' ? (char)(text[i] - 'A' + 'a') : text[i];
        if (word[i] == '\0' || c != word[i])
            return false;
    }
    return word[n] == '\0';
}

const char *dw_unit_name(enum dw_unit unit)
{
    return (size_t)unit < DW_COUNT(units) ? units[unit].name : "";
}

int64_t dw_unit__nm(enum dw_unit unit)
{
    return (size_t)unit < DW_COUNT(units) ? units[unit].nm : 0;
}

enum dw_unit dw_unit_find(const char *name, size_t n)
{
    for (size_t i = 0; i < DW_COUNT(words); i++)
        if (dw_unit__same_word(name, n, words[i].word))
            return words[i].unit;
    return DW_UNIT_NONE;
}
