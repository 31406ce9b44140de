/* SPDX-License-Identifier: MIT
 * Sag of the free lengths. A length of weight w per metre under the force F
 * hangs below its chord l by w l^2 / 8 H at its middle (parabola: any text on
 * cables), H the level part of F. So flat a parabola is a circle of curvature
 * w cos(slope) / F to 2e-9 m over 20 m, and a circle goes with lines and arcs:
 * a corner is put into each leg, in its plumb plane, and its arc takes up the
 * whole length between the arcs beside it. Those turn by the end slopes more,
 * which moves their tangent points, which moves the corner: repeated until
 * nothing moves. */
#include "model/tendon.h"

#include <math.h>

#define GRAVITY 9.80665 /* m/s^2, standard: NIST SP 811 */
#define MOST_TURN 0.2   /* rad; sag of a fortieth of the length */
#define LEAST_TURN 1e-9 /* rad, as the centreline has it */
#define ROUNDS 8

/* Angle between unit vectors. */
static double turn_between(dm_vec3 a, dm_vec3 b)
{
    return atan2(dm_vec3_norm(dm_vec3_cross(a, b)), dm_vec3_dot(a, b));
}

static dm_vec3 unit_to(dm_vec3 a, dm_vec3 b)
{
    return dm_vec3_unit(dm_vec3_sub(b, a));
}

/* Tangent length at a corner of the polygon so far; 0 without an arc. */
static double tangent_length(const dm_vec3 *p, size_t i, size_t count,
                             double radius)
{
    if (i == 0 || i + 1 == count)
        return 0.0;
    double d = turn_between(unit_to(p[i - 1], p[i]), unit_to(p[i], p[i + 1]));
    return d < LEAST_TURN ? 0.0 : radius * tan(0.5 * d);
}

/* Angle that the free length from a to b turns by, `taken` at its ends. */
static double sag_turn(dm_vec3 a, dm_vec3 b, double taken, double weight,
                       double force)
{
    dm_vec3 leg = dm_vec3_sub(b, a);
    double level = hypot(leg.x, leg.y), l = dm_vec3_norm(leg);
    return fmax(l - taken, 0.0) * weight * GRAVITY * (level / l) / force;
}

/* The corner between a and b, at equal tangent lengths from the arcs beside
 * it, which take ta and tb. */
static dm_vec3 corner(dm_vec3 a, dm_vec3 b, double ta, double tb, double turn)
{
    const dm_vec3 z = {0.0, 0.0, 1.0};
    double l = dm_vec3_norm(dm_vec3_sub(b, a));
    dm_vec3 u = unit_to(a, b);
    double along = 0.5 * (l + ta - tb), depth = 0.0;
    for (int i = 0; i < 4; i++) {
        /* The two slopes against the chord add up to the turn. */
        depth = turn * along * (l - along) / l;
        double before = hypot(along, depth) - along;
        double after = hypot(l - along, depth) - (l - along);
        along = 0.5 * (l + ta - tb - (before - after));
    }
    dm_vec3 up = dm_vec3_unit(dm_vec3_along(z, -dm_vec3_dot(z, u), u));
    return dm_vec3_along(dm_vec3_along(a, along, u), -depth, up);
}

/* Radius of the arc in the corner at `i`: as long as the arcs beside leave
 * room for. */
static double corner_radius(const dm_vec3 *p, size_t i, double ta, double tb)
{
    double d = turn_between(unit_to(p[i - 1], p[i]), unit_to(p[i], p[i + 1]));
    double before = dm_vec3_norm(dm_vec3_sub(p[i], p[i - 1])) - ta;
    double after = dm_vec3_norm(dm_vec3_sub(p[i + 1], p[i])) - tb;
    return d < LEAST_TURN ? 0.0 : fmin(before, after) / tan(0.5 * d);
}

size_t sag_polygon(const dm_vec3 *points, const double *radius, size_t count,
                   double weight, double force, dm_vec3 *out,
                   double *out_radius, size_t *at, size_t *where, double *sag)
{
    size_t n = 2 * count - 1;
    /* A corner of its own in every leg; one without sag makes no arc. */
    for (size_t i = 0; i < count; i++) {
        at[i] = 2 * i;
        out[2 * i] = points[i];
        out_radius[2 * i] = radius[i];
        if (i + 1 < count)
            out[2 * i + 1] =
                dm_vec3_scale(dm_vec3_add(points[i], points[i + 1]), 0.5);
    }
    for (int round = 0; round < ROUNDS; round++)
        for (size_t i = 1; i < n; i += 2) {
            dm_vec3 a = out[i - 1], b = out[i + 1];
            double ta = tangent_length(out, i - 1, n, out_radius[i - 1]);
            double tb = tangent_length(out, i + 1, n, out_radius[i + 1]);
            double turn = sag_turn(a, b, ta + tb, weight, force);
            if (!(turn < MOST_TURN)) {
                double l = dm_vec3_norm(dm_vec3_sub(b, a));
                *where = i / 2;
                *sag = turn * (l - ta - tb) / 8.0;
                return 0;
            }
            out[i] = corner(a, b, ta, tb, turn);
            out_radius[i] = corner_radius(out, i, ta, tb);
        }
    return n;
}
