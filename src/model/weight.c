/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weight of round tube from one density, and how weights are printed. */
#include "base/base.h"

#include <dropwise/weight.h>

#include <inttypes.h>
#include <math.h>
#include <stdio.h>

static const long double pi = 3.14159265358979323846264338327950288L;

#define MAX_MG (INT64_C(1000000000) * DW_MG_PER_KG)

static dw_err refuse_figures(dw_length od, dw_length wall, int64_t density, dw_length length,
                             struct dw_error *error)
{
    if (od <= 0 || wall <= 0 || density <= 0)
        return dw_error__set(error, DW_ERR_INPUT,
                             "a weight needs outside diameter, wall and density, each more than 0");
    if (wall > od / 2)
        return dw_error__set(error, DW_ERR_INPUT,
                             "no tube has a wall over half its outside diameter");
    if (length < 0)
        return dw_error__set(error, DW_ERR_INPUT, "a length to weigh is not negative");
    return DW_OK;
}

/* m = rho pi (D - t) t L: g/m3 times nm3 is 1e-27 g = 1e-24 mg */
dw_err dw_tube_weight(dw_length od, dw_length wall, int64_t density_g_m3, dw_length length,
                      int64_t *mg, struct dw_error *error)
{
    *mg = 0;
    dw_err err = refuse_figures(od, wall, density_g_m3, length, error);
    if (err)
        return err;
    long double area = pi * (long double)(od - wall) * (long double)wall;
    long double mass = (long double)density_g_m3 * area * (long double)length * 1e-24L;
    if (!(mass <= (long double)MAX_MG))
        return dw_error__set(error, DW_ERR_RANGE, "a weight beyond a thousand million kilograms");
    *mg = llroundl(mass);
    return DW_OK;
}

dw_err dw_material_weight(const struct dw_material *material, dw_length length, int64_t *mg,
                          struct dw_error *error)
{
    *mg = -1;
    if (!material->od || !material->wall || !material->density_g_m3)
        return DW_OK;
    dw_err err =
        dw_tube_weight(material->od, material->wall, material->density_g_m3, length, mg, error);
    if (err)
        *mg = -1;
    return err;
}

size_t dw_weight_print(char out[DW_WEIGHT_TEXT], int64_t mg, enum dw_unit unit)
{
    bool pounds = unit == DW_UNIT_IN || unit == DW_UNIT_FT;
    int64_t whole = pounds ? DW_UG_PER_LB / 1000 : DW_MG_PER_KG; /* mg, near enough to choose */
    int decimals = mg < 10 * whole ? 3 : mg < 100 * whole ? 2 : 1;
    int64_t scale = decimals == 3 ? 1000 : decimals == 2 ? 100 : 10;
    int64_t units = 0;
    /* one lb is 453 592 370 ug: weigh in ug, half up */
    int64_t divisor = pounds ? DW_UG_PER_LB : 1000 * DW_MG_PER_KG;
    if (!dw_muldiv__i64(mg, 2000 * scale, divisor, &units))
        units = 0;
    units = (units + 1) / 2;
    int n = snprintf(out, DW_WEIGHT_TEXT, "%" PRId64 ".%0*" PRId64 " %s", units / scale, decimals,
                     units % scale, pounds ? "lb" : "kg");
    return (size_t)n;
}
