/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Weight of round tube.
 *
 * Threads: any, at any time. */
#ifndef DROPWISE_WEIGHT_H
#define DROPWISE_WEIGHT_H

#include <dropwise/job.h>

#ifdef __cplusplus
extern "C" {
#endif

#define DW_MG_PER_KG INT64_C(1000000)
#define DW_UG_PER_LB INT64_C(453592370) /* exact: 1 lb = 0.453 592 37 kg */

/* Milligrams of `length` of round tube, rounded half away from zero:
 *   m = rho pi (D - t) t L
 * from one density in grams a cubic metre, so that no two coefficients can disagree. wall = od / 2
 * is a solid bar. DW_ERR_INPUT: a wall over half the diameter, or one of the figures not given;
 * DW_ERR_RANGE: beyond 10^9 kg. */
dw_err dw_tube_weight(dw_length od, dw_length wall, int64_t density_g_m3, dw_length length,
                      int64_t *mg, struct dw_error *error);

/* The same of a material of the job; *mg is -1 when the job does not say enough to tell. */
dw_err dw_material_weight(const struct dw_material *material, dw_length length, int64_t *mg,
                          struct dw_error *error);

#define DW_WEIGHT_TEXT 48
/* "3.350 kg", "48.25 kg", "123.4 kg", or in lb with unit in or ft; mg >= 0. "~" is not written: a
 * weight is an estimate from nominal sizes. Returns the number of characters. */
size_t dw_weight_print(char out[DW_WEIGHT_TEXT], int64_t mg, enum dw_unit unit);

#ifdef __cplusplus
}
#endif
#endif
