/* SPDX-License-Identifier: MIT
 * Three-vectors by value. World axes: X east, Y north, Z up, right-handed,
 * metres. */
#ifndef DUCTMARK_VEC3_H
#define DUCTMARK_VEC3_H

#include <math.h>

typedef struct {
    double x; /* east, m */
    double y; /* north, m */
    double z; /* up, m */
} dm_vec3;

static inline dm_vec3 dm_vec3_add(dm_vec3 a, dm_vec3 b)
{
    return (dm_vec3){a.x + b.x, a.y + b.y, a.z + b.z};
}
static inline dm_vec3 dm_vec3_sub(dm_vec3 a, dm_vec3 b)
{
    return (dm_vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}
static inline dm_vec3 dm_vec3_scale(dm_vec3 a, double k)
{
    return (dm_vec3){a.x * k, a.y * k, a.z * k};
}
/** a + k b */
static inline dm_vec3 dm_vec3_along(dm_vec3 a, double k, dm_vec3 b)
{
    return (dm_vec3){a.x + k * b.x, a.y + k * b.y, a.z + k * b.z};
}
static inline double dm_vec3_dot(dm_vec3 a, dm_vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}
static inline dm_vec3 dm_vec3_cross(dm_vec3 a, dm_vec3 b)
{
    return (dm_vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z,
                     a.x * b.y - a.y * b.x};
}
static inline double dm_vec3_norm(dm_vec3 a)
{
    return sqrt(dm_vec3_dot(a, a));
}
/** a / |a|; the zero vector stays zero. */
static inline dm_vec3 dm_vec3_unit(dm_vec3 a)
{
    double n = dm_vec3_norm(a);
    return n > 0.0 ? dm_vec3_scale(a, 1.0 / n) : a;
}

#endif
