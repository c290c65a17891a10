/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Vectors and poses. Products with 0 and 1 are exact, so an unturned block keeps its nanometres. */
#include "drawing/space.h"

#include <math.h>

__extension__ typedef unsigned __int128 wide;

struct dw_vec dw_vec__of(const struct dw_spot *spot)
{
    return (struct dw_vec){
        {(long double)spot->at[0], (long double)spot->at[1], (long double)spot->at[2]}};
}

struct dw_vec dw_vec__between(const struct dw_spot *from, const struct dw_spot *to)
{
    return (struct dw_vec){{(long double)(to->at[0] - from->at[0]),
                            (long double)(to->at[1] - from->at[1]),
                            (long double)(to->at[2] - from->at[2])}};
}

struct dw_vec dw_vec__add(struct dw_vec a, struct dw_vec b, long double times)
{
    for (int i = 0; i < 3; i++)
        a.at[i] += times * b.at[i];
    return a;
}

struct dw_vec dw_vec__times(struct dw_vec a, long double times)
{
    for (int i = 0; i < 3; i++)
        a.at[i] *= times;
    return a;
}

struct dw_vec dw_vec__cross(struct dw_vec a, struct dw_vec b)
{
    return (struct dw_vec){{a.at[1] * b.at[2] - a.at[2] * b.at[1],
                            a.at[2] * b.at[0] - a.at[0] * b.at[2],
                            a.at[0] * b.at[1] - a.at[1] * b.at[0]}};
}

long double dw_vec__dot(struct dw_vec a, struct dw_vec b)
{
    return a.at[0] * b.at[0] + a.at[1] * b.at[1] + a.at[2] * b.at[2];
}

long double dw_vec__size(struct dw_vec a)
{
    return sqrtl(dw_vec__dot(a, a));
}

struct dw_vec dw_vec__unit(struct dw_vec a)
{
    long double size = dw_vec__size(a);
    return size > 0 ? dw_vec__times(a, 1 / size) : (struct dw_vec){{0, 0, 0}};
}

long double dw_vec__angle(struct dw_vec a, struct dw_vec b)
{
    return atan2l(dw_vec__size(dw_vec__cross(a, b)), dw_vec__dot(a, b));
}

bool dw_spot__round(struct dw_vec vec, struct dw_spot *out)
{
    for (int i = 0; i < 3; i++) {
        if (!(fabsl(vec.at[i]) <= (long double)DW_LENGTH_MAX))
            return false;
        out->at[i] = llroundl(vec.at[i]);
    }
    return true;
}

dw_length dw_spot__distance(const struct dw_spot *a, const struct dw_spot *b)
{
    wide sum = 0; /* 3 (2 * 10^15)^2 < 2^104 */
    for (int i = 0; i < 3; i++) {
        int64_t difference = a->at[i] - b->at[i];
        uint64_t size = difference < 0 ? -(uint64_t)difference : (uint64_t)difference;
        sum += (wide)size * size;
    }
    dw_length root = (dw_length)sqrtl((long double)sum);
    while ((wide)root * (wide)root > sum)
        root--;
    while ((wide)(root + 1) * (wide)(root + 1) <= sum)
        root++;
    return root;
}

/* --- poses ----------------------------------------------------------------------------------- */

struct dw_pose dw_pose__world(void)
{
    return (struct dw_pose){.axes = {{{1, 0, 0}}, {{0, 1, 0}}, {{0, 0, 1}}}};
}

/* If |Nx| < 1/64 and |Ny| < 1/64 then Ax = Y x N, else Ax = Z x N; Ay = N x Ax. */
struct dw_pose dw_pose__extruded(struct dw_vec normal)
{
    const struct dw_vec y = {{0, 1, 0}}, z = {{0, 0, 1}};
    struct dw_pose pose = dw_pose__world();
    struct dw_vec n = dw_vec__unit(normal);
    if (dw_vec__size(n) == 0)
        return pose;
    bool steep = fabsl(n.at[0]) < 1.0L / 64 && fabsl(n.at[1]) < 1.0L / 64;
    pose.axes[0] = dw_vec__unit(dw_vec__cross(steep ? y : z, n));
    pose.axes[1] = dw_vec__unit(dw_vec__cross(n, pose.axes[0]));
    pose.axes[2] = n;
    return pose;
}

struct dw_vec dw_pose__direction(const struct dw_pose *pose, struct dw_vec local)
{
    struct dw_vec out = {{0, 0, 0}};
    for (int i = 0; i < 3; i++)
        out = dw_vec__add(out, pose->axes[i], local.at[i]);
    return out;
}

struct dw_vec dw_pose__point(const struct dw_pose *pose, struct dw_vec local)
{
    return dw_vec__add(dw_pose__direction(pose, local), pose->origin, 1);
}

struct dw_pose dw_pose__within(const struct dw_pose *outer, const struct dw_pose *inner)
{
    struct dw_pose out;
    for (int i = 0; i < 3; i++)
        out.axes[i] = dw_pose__direction(outer, inner->axes[i]);
    out.origin = dw_pose__point(outer, inner->origin);
    return out;
}

long double dw_pose__scale(const struct dw_pose *pose)
{
    long double size = dw_vec__size(pose->axes[0]);
    for (int i = 0; i < 3; i++) {
        struct dw_vec next = pose->axes[(i + 1) % 3];
        if (fabsl(dw_vec__size(next) - size) > 1e-9L * size ||
            fabsl(dw_vec__dot(pose->axes[i], next)) > 1e-9L * size * size)
            return 0;
    }
    return size;
}

void dw_angle__sincos(long double degrees, long double *sine, long double *cosine)
{
    long double turned = fmodl(degrees, 360);
    long double quarter = turned / 90;
    if (quarter == floorl(quarter)) {
        static const int sines[] = {0, 1, 0, -1};
        int which = (int)quarter & 3; /* of -90: 3 */
        *sine = sines[which];
        *cosine = sines[(which + 1) & 3];
        return;
    }
    *sine = sinl(turned * DW_PI / 180);
    *cosine = cosl(turned * DW_PI / 180);
}
