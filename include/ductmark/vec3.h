/* SPDX-License-Identifier: MIT
 *
 * Three-vectors by value.
 *
 * World axes: right-handed, X east, Y north, Z up. Points and differences of
 * points are in metres, directions are unit vectors without a unit. Large map
 * coordinates are kept as they are: doubles at 4000 km are 5e-10 m apart.
 *
 * Valid C++ too, where a compound literal is not. All functions are pure, total
 * and inline; NaN and infinities go through as IEEE 754 says. Each is rounded
 * as its formula stands: no step is contracted or reordered by the library's
 * build
 * (-ffp-contract=off); a caller with other flags may get other last bits.
 *
 * In C++ the functions have C linkage and may be called from any namespace.
 * There are no operators: an expression says what it does by names, the same in
 * both languages.
 *
 * A zero vector, where a direction is expected, means that there is none; every
 * function of the library that can meet one says what it does then.
 *
 * Formulas: those of any text on vectors. A direction from one point to
 * another, its length, and a point 2 m along it:
 *
 *     dm_vec3 way = dm_vec3_sub(b, a);
 *     double metres = dm_vec3_norm(way);
 *     dm_vec3 p = dm_vec3_along(a, 2.0, dm_vec3_unit(way));
 */
#ifndef DUCTMARK_VEC3_H
#define DUCTMARK_VEC3_H

#include <math.h>

#include "ductmark/extern.h"

DM_BEGIN_C

/** A point (m, world axes), a difference of two points (m) or a direction (a
 *  unit vector). Which of them is said by the name or the comment. Passed and
 *  returned by value: 24 bytes. Compare with a tolerance, never bit by bit:
 *  coordinates come out of sums of rounded numbers. */
typedef struct {
    /** East, m */
    double x;
    /** North, m */
    double y;
    /** Up, m */
    double z;
} dm_vec3;

/** a + b: the point that one gets to from a, going b.
 *  @param a  a point or a difference, m
 *  @param b  a difference, m; a unit vector adds one metre of its direction
 *  @return   of a's kind: a point if a is one, else a difference, m */
static inline dm_vec3 dm_vec3_add(dm_vec3 a, dm_vec3 b)
{
    dm_vec3 v = {a.x + b.x, a.y + b.y, a.z + b.z};
    return v;
}

/** a - b: the way from b to a.
 *  @param a, b  two points, m, or two differences
 *  @return      a difference, m; nearby points with large coordinates lose no
 *               digit (Sterbenz: exact within a factor of 2) */
static inline dm_vec3 dm_vec3_sub(dm_vec3 a, dm_vec3 b)
{
    dm_vec3 v = {a.x - b.x, a.y - b.y, a.z - b.z};
    return v;
}

/** k a: the same direction k times as long, or the opposite one for k < 0.
 *  @param a  a difference or a direction
 *  @param k  a plain number, any sign; with a unit vector a length, m
 *  @return   a difference, m; the zero vector for k = 0 */
static inline dm_vec3 dm_vec3_scale(dm_vec3 a, double k)
{
    dm_vec3 v = {a.x * k, a.y * k, a.z * k};
    return v;
}

/** a + k b: from point a, k metres along the unit direction b; what arcs,
 *  surfaces and legs are made with.
 *  @param a  a point, m
 *  @param k  m, any sign
 *  @param b  a unit vector; of another length it stretches the way
 *  @return   a point, m; a itself for k = 0, whatever b is, unless b has a NaN
 *            or an infinity */
static inline dm_vec3 dm_vec3_along(dm_vec3 a, double k, dm_vec3 b)
{
    dm_vec3 v = {a.x + k * b.x, a.y + k * b.y, a.z + k * b.z};
    return v;
}

/** Scalar product. With a unit vector b: the part of a along b; with two unit
 *  vectors the cosine of the angle between, which tells small angles badly:
 *  atan2(norm of the cross product, dot product) keeps all digits.
 *  @param a, b  differences or directions
 *  @return |a| |b| cos of the angle between; 0 where they are square to each
 *          other, up to rounding */
static inline double dm_vec3_dot(dm_vec3 a, dm_vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

/** Vector product a x b: square to both, by the right-hand rule (x cross y is
 *  z). Tangent x crown is the right-hand direction of a section.
 *  @param a, b  differences or directions; the order counts: b x a is the
 *               opposite
 *  @return of length |a| |b| sin of the angle between; zero for parallel
 *  vectors, up to rounding */
static inline dm_vec3 dm_vec3_cross(dm_vec3 a, dm_vec3 b)
{
    dm_vec3 v = {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z,
                 a.x * b.y - a.y * b.x};
    return v;
}

/** Length |a|, by the root of the sum of squares. For a point it is the
 * distance from the origin of the world axes, which is seldom wanted.
 *  @param a  squares are formed, so |a| must stay between about 1e-150 and
 *            1e150 or be zero; beyond, the answer is 0 or infinite
 *  @return   >= 0; of a difference the distance of its points, m */
static inline double dm_vec3_norm(dm_vec3 a)
{
    return sqrt(dm_vec3_dot(a, a));
}

/** a / |a|: the direction of a difference; 1 long but for rounding.
 *  @param a  as for dm_vec3_norm: a difference, m, or a direction of any
 *            length
 *  @return   a unit vector; the zero vector has no direction and stays zero,
 *            which a caller that cannot rule it out must look for. NaN goes
 *            through */
static inline dm_vec3 dm_vec3_unit(dm_vec3 a)
{
    double n = dm_vec3_norm(a);
    return n > 0.0 ? dm_vec3_scale(a, 1.0 / n) : a;
}

DM_END_C

#endif
