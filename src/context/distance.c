/* SPDX-License-Identifier: MIT
 * Segment to segment: the two feet, clamped in turn. Segment to triangle: 0
 * where it pierces it, else the least of segment to edges and of its ends to
 * the face. Ray to capsule: quadratics of cylinder and end spheres. From the
 * definitions. */
#include "context/distance.h"

#include <math.h>

static double clamp(double x)
{
    return x < 0.0 ? 0.0 : x > 1.0 ? 1.0 : x;
}

double dm_segments_apart(dm_vec3 a, dm_vec3 b, dm_vec3 c, dm_vec3 d,
                         dm_vec3 *on)
{
    dm_vec3 u = dm_vec3_sub(b, a), v = dm_vec3_sub(d, c);
    dm_vec3 w = dm_vec3_sub(a, c);
    double uu = dm_vec3_dot(u, u), vv = dm_vec3_dot(v, v);
    double uv = dm_vec3_dot(u, v), uw = dm_vec3_dot(u, w);
    double vw = dm_vec3_dot(v, w), det = uu * vv - uv * uv;
    double s = 0.0, t = 0.0;

    if (uu > 0.0 && vv > 0.0) {
        /* Nearly parallel: any s does, the clamping below mends it. */
        if (det > 1e-14 * uu * vv)
            s = clamp((uv * vw - vv * uw) / det);
        t = (uv * s + vw) / vv;
        if (t < 0.0 || t > 1.0) {
            t = clamp(t);
            s = clamp((uv * t - uw) / uu);
        }
    } else if (uu > 0.0) {
        s = clamp(-uw / uu);
    } else if (vv > 0.0) {
        t = clamp(vw / vv);
    }
    *on = dm_vec3_along(c, t, v);
    return dm_vec3_norm(dm_vec3_sub(dm_vec3_along(a, s, u), *on));
}

/* Whether p, in the triangle's plane, lies within its three edges. */
static bool within(dm_vec3 p, const dm_vec3 corner[3], dm_vec3 normal)
{
    for (int i = 0; i < 3; i++) {
        dm_vec3 edge = dm_vec3_sub(corner[(i + 1) % 3], corner[i]);
        dm_vec3 to = dm_vec3_sub(p, corner[i]);

        if (dm_vec3_dot(dm_vec3_cross(edge, to), normal) < 0.0)
            return false;
    }
    return true;
}

double dm_triangle_apart(dm_vec3 a, dm_vec3 b, const dm_vec3 corner[3],
                         dm_vec3 *on)
{
    dm_vec3 n = dm_vec3_cross(dm_vec3_sub(corner[1], corner[0]),
                              dm_vec3_sub(corner[2], corner[0]));
    double area = dm_vec3_norm(n), best = HUGE_VAL, ha, hb;

    for (int i = 0; i < 3; i++) {
        dm_vec3 p;
        double d = dm_segments_apart(a, b, corner[i], corner[(i + 1) % 3], &p);

        if (d < best) {
            best = d;
            *on = p;
        }
    }
    if (!(area > 0.0))
        return best;
    n = dm_vec3_scale(n, 1.0 / area);
    ha = dm_vec3_dot(n, dm_vec3_sub(a, corner[0]));
    hb = dm_vec3_dot(n, dm_vec3_sub(b, corner[0]));
    if ((ha < 0.0) != (hb < 0.0)) {
        dm_vec3 p = dm_vec3_along(a, ha / (ha - hb), dm_vec3_sub(b, a));

        if (within(p, corner, n)) {
            *on = p;
            return 0.0;
        }
    }
    for (int i = 0; i < 2; i++) {
        double h = i == 0 ? ha : hb;
        dm_vec3 p = dm_vec3_along(i == 0 ? a : b, -h, n);

        if (fabs(h) < best && within(p, corner, n)) {
            best = fabs(h);
            *on = p;
        }
    }
    return best;
}

bool dm_plane_ahead(dm_vec3 from, dm_vec3 direction, const dm_vec3 corner[3],
                    double *distance)
{
    dm_vec3 n = dm_vec3_cross(dm_vec3_sub(corner[1], corner[0]),
                              dm_vec3_sub(corner[2], corner[0]));
    double rate = dm_vec3_dot(n, direction);

    if (rate == 0.0)
        return false;
    *distance = dm_vec3_dot(n, dm_vec3_sub(corner[0], from)) / rate;
    return isfinite(*distance);
}

/* The first x >= 0 with a x^2 + 2 b x + c = 0, of a figure that is entered
 * there; NAN. */
static double entered(double a, double b, double c)
{
    double root = b * b - a * c, x;

    if (!(a > 0.0) || root < 0.0)
        return (double)NAN;
    x = (-b - sqrt(root)) / a;
    return x >= 0.0 ? x : (double)NAN;
}

bool dm_capsule_ahead(dm_vec3 from, dm_vec3 direction, dm_vec3 c, dm_vec3 d,
                      double r, double *distance)
{
    dm_vec3 v = dm_vec3_sub(d, c), w = dm_vec3_sub(from, c), on;
    double length = dm_vec3_norm(v), best = HUGE_VAL;

    if (dm_segments_apart(from, from, c, d, &on) <= r) {
        *distance = 0.0;
        return true;
    }
    if (length > 0.0) {
        dm_vec3 e = dm_vec3_scale(v, 1.0 / length);
        double de = dm_vec3_dot(direction, e), we = dm_vec3_dot(w, e);
        double x = entered(1.0 - de * de, dm_vec3_dot(w, direction) - we * de,
                           dm_vec3_dot(w, w) - we * we - r * r);

        if (x >= 0.0 && we + x * de >= 0.0 && we + x * de <= length)
            best = x;
    }
    for (int i = 0; i < 2; i++) {
        dm_vec3 to = i == 0 ? w : dm_vec3_sub(from, d);
        double x = entered(1.0, dm_vec3_dot(to, direction),
                           dm_vec3_dot(to, to) - r * r);

        if (x < best)
            best = x;
    }
    *distance = best;
    return best < HUGE_VAL;
}
