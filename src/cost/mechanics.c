/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Section properties, droop and stress of a tube that is held at one end. */
#include "cost/mechanics.h"

#include <ctype.h>

#define PI          3.14159265358979323846
#define MPA_PER_KSI 6.894757293168361 /* 1000 lbf/in^2, exact by the pound-force and the inch */

dw_err dw_mechanics__section(dw_length od, dw_length wall, struct dw_tube_section *out,
                             struct dw_error *error)
{
    *out = (struct dw_tube_section){0};
    if (od <= 0 || wall <= 0)
        return dw_error__set(error, DW_ERR_INPUT,
                             "a load check needs the tube's outside diameter and wall");
    if (wall > od / 2)
        return dw_error__set(error, DW_ERR_INPUT,
                             "an impossible tube: its wall is over half its diameter");
    double outer = (double)od / DW_NM_PER_MM;
    double bore = (double)(od - 2 * wall) / DW_NM_PER_MM;
    bore = bore > 0 ? bore : 0;
    out->area_mm2 = PI / 4 * (outer * outer - bore * bore);
    out->inertia_mm4 = PI / 64 * (outer * outer * outer * outer - bore * bore * bore * bore);
    out->modulus_mm3 = out->inertia_mm4 / (outer / 2);
    return DW_OK;
}

struct dw_cantilever dw_mechanics__tip_load(const struct dw_tube_section *section, double e_mpa,
                                            double load_n, double arm_mm)
{
    return (struct dw_cantilever){
        .deflection_mm = load_n * arm_mm * arm_mm * arm_mm / (3 * e_mpa * section->inertia_mm4),
        .stress_mpa = load_n * arm_mm / section->modulus_mm3,
    };
}

struct dw_cantilever dw_mechanics__spread_load(const struct dw_tube_section *section, double e_mpa,
                                               double load_n_mm, double arm_mm)
{
    double square = arm_mm * arm_mm;
    return (struct dw_cantilever){
        .deflection_mm = load_n_mm * square * square / (8 * e_mpa * section->inertia_mm4),
        .stress_mpa = load_n_mm * square / (2 * section->modulus_mm3),
    };
}

/* Minimum yields only, each from a standard or a regulation that can be looked up; an alloy without
 * one is not here, and the user gives its figures. E of steel to EN: as on the page named; of A500:
 * 29 000 ksi, common practice; of 6061-T6: 68.9 GPa, mfgproto.com/aluminum-6061-t6-data-sheet. */
#define STEEL_E 210000
#define A500_E  (29000 * MPA_PER_KSI)
#define A500(grade, ksi)                                                                           \
    {                                                                                              \
        "A500 " grade, A500_E, (ksi)*MPA_PER_KSI,                                                  \
            "ASTM A500-07, grade " grade ", round: at least " #ksi                                 \
            " ksi (en.wikipedia.org/wiki/A500_steel)"                                              \
    }

static const struct dw_strength strengths[] = {
    {"S235", STEEL_E, 235,
     "EN 10025, S235: at least 235 N/mm2 (jinlongli.me/2017/04/13/scaffolding-tubes)"},
    A500("A", 33),
    A500("B", 42),
    A500("C", 46),
    A500("D", 36),
    {"6061-T6", 68900, 35 * MPA_PER_KSI,
     "49 CFR 178.46, table 2, 6061-T6: at least 35 ksi (ecfr.gov/current/title-49/section-178.46)"},
};

const struct dw_strength *dw_mechanics__strength_at(size_t i)
{
    return i < DW_COUNT(strengths) ? &strengths[i] : NULL;
}

/* Next letter or digit, in lower case; 0 at the end. */
static int next_sign(const char **text)
{
    while (**text && !isalnum((unsigned char)**text))
        (*text)++;
    return **text ? tolower((unsigned char)*(*text)++) : 0;
}

static bool same_name(const char *a, const char *b)
{
    int x = 0, y = 0;
    do {
        x = next_sign(&a);
        y = next_sign(&b);
    } while (x == y && x);
    return x == y;
}

const struct dw_strength *dw_mechanics__strength(const char *alloy)
{
    if (!alloy)
        return NULL;
    for (size_t i = 0; i < DW_COUNT(strengths); i++)
        if (same_name(alloy, strengths[i].alloy))
            return &strengths[i];
    return NULL;
}

const char *dw_mechanics__formula(void)
{
    return "cantilever with a load at its tip (Euler-Bernoulli beam): droop = P L^3 / (3 E I), "
           "stress = P L / Z";
}
