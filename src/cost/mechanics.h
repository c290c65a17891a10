/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How far a tube that is held at one end droops, and how hard it is stressed. An aid for choosing,
 * never an approval: joints, tip-over, moving and overhead loads are not in it. */
#ifndef DW_COST_MECHANICS_H
#define DW_COST_MECHANICS_H

#include "base/base.h"

#include <dropwise/length.h>

/* Of a round tube with outside diameter D and bore d = D - 2 t:
 *   A = pi/4 (D^2 - d^2),  I = pi/64 (D^4 - d^4),  Z = I / (D / 2) */
struct dw_tube_section {
    double area_mm2;
    double inertia_mm4;
    double modulus_mm3;
};

/* DW_ERR_INPUT: no diameter, no wall, or a wall over half the diameter (half: a solid bar). */
dw_err dw_mechanics__section(dw_length od, dw_length wall, struct dw_tube_section *out,
                             struct dw_error *error);

/* A load P at the free end of a cantilever of length L (Euler and Bernoulli beam):
 *   deflection = P L^3 / (3 E I),  stress = P L / Z */
struct dw_cantilever {
    double deflection_mm;
    double stress_mpa;
};
struct dw_cantilever dw_mechanics__tip_load(const struct dw_tube_section *section, double e_mpa,
                                            double load_n, double arm_mm);
/* A load w spread evenly over the whole length: w L^4 / (8 E I), w L^2 / (2 Z). */
struct dw_cantilever dw_mechanics__spread_load(const struct dw_tube_section *section, double e_mpa,
                                               double load_n_mm, double arm_mm);

/* Stiffness and minimum (not typical) yield of an alloy. */
struct dw_strength {
    const char *alloy;
    double e_mpa;
    double yield_mpa;
    const char *source; /* of the yield, as shown to the user */
};
/* By name, whatever its case, blanks and dashes: "6061-T6", "a500 B". NULL: not in the table.
 * Borrowed. */
const struct dw_strength *dw_mechanics__strength(const char *alloy);
/* Row i of the table; NULL behind the last. */
const struct dw_strength *dw_mechanics__strength_at(size_t i);

/* "tip load on a cantilever: P L^3/(3 E I), P L/Z ...": shown wherever a figure is. */
const char *dw_mechanics__formula(void);

#endif
