/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Points in space in whole nanometres, directions, and the poses that blocks are placed by. */
#ifndef DW_DRAWING_SPACE_H
#define DW_DRAWING_SPACE_H

#include <dropwise/length.h>

#include <stdbool.h>

struct dw_spot {
    dw_length at[3]; /* x, y, z; within +-DW_LENGTH_MAX */
};

/* A direction, or a point where a nanometre is too coarse: nanometres or without unit. */
struct dw_vec {
    long double at[3];
};

struct dw_vec dw_vec__of(const struct dw_spot *spot);
struct dw_vec dw_vec__between(const struct dw_spot *from, const struct dw_spot *to); /* exact */
struct dw_vec dw_vec__add(struct dw_vec a, struct dw_vec b, long double times); /* a + times b */
struct dw_vec dw_vec__times(struct dw_vec a, long double times);
struct dw_vec dw_vec__cross(struct dw_vec a, struct dw_vec b);
long double dw_vec__dot(struct dw_vec a, struct dw_vec b);
long double dw_vec__size(struct dw_vec a);
struct dw_vec dw_vec__unit(struct dw_vec a); /* of nothing: nothing */
/* Angle between two directions, 0 to pi; sharp near 0 and pi too. */
long double dw_vec__angle(struct dw_vec a, struct dw_vec b);

/* Nearest nanometre, half away from zero; false beyond DW_LENGTH_MAX. */
bool dw_spot__round(struct dw_vec vec, struct dw_spot *out);
/* Distance of two points, rounded down to the nanometre: exact. */
dw_length dw_spot__distance(const struct dw_spot *a, const struct dw_spot *b);

/* world = axes[0] x + axes[1] y + axes[2] z + origin */
struct dw_pose {
    struct dw_vec axes[3];
    struct dw_vec origin;
};

struct dw_pose dw_pose__world(void);
/* The axes of an object whose extrusion is `normal`, by the arbitrary axis algorithm of DXF. */
struct dw_pose dw_pose__extruded(struct dw_vec normal);
struct dw_pose dw_pose__within(const struct dw_pose *outer, const struct dw_pose *inner);
struct dw_vec dw_pose__point(const struct dw_pose *pose, struct dw_vec local);
struct dw_vec dw_pose__direction(const struct dw_pose *pose, struct dw_vec local);
/* By how much it enlarges, if it does so evenly in all directions; 0 if it does not. */
long double dw_pose__scale(const struct dw_pose *pose);

/* Sine and cosine of an angle in degrees: whole for multiples of 90. */
void dw_angle__sincos(long double degrees, long double *sine, long double *cosine);

#define DW_PI 3.14159265358979323846264338327950288L

#endif
