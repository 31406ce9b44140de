/* SPDX-License-Identifier: MIT
 * Foot points and crossings of planes. Feet on lines and arcs are closed
 * forms; a clock line's crossing is found by bracketing and bisection with
 * secant steps, since the crown turns along an arc. */
#include "geom/segment.h"

#include <float.h>

/* Distance into the segment of the point nearest to p, not yet clamped. */
static double foot(const dm_segment *s, dm_vec3 p)
{
    dm_vec3 d = dm_vec3_sub(p, s->begin);
    if (s->kappa == 0.0)
        return dm_vec3_dot(d, s->tangent);
    double x = dm_vec3_dot(d, s->tangent);
    double y = 1.0 / s->kappa - dm_vec3_dot(d, s->normal);
    return atan2(x, y) / s->kappa;
}

double dm_centreline_nearest(const dm_centreline *line, dm_vec3 p,
                             double *distance)
{
    double best = DBL_MAX, t = 0.0;
    for (size_t i = 0; i < line->count; i++) {
        const dm_segment *s = &line->segments[i];
        double tries[3] = {foot(s, p), 0.0, s->length};
        for (int k = 0; k < 3; k++) {
            double into = tries[k];
            if (!(into >= 0.0 && into <= s->length))
                continue;
            dm_vec3 q = dm_segment_point(s, into);
            double d = dm_vec3_norm(dm_vec3_sub(p, q));
            if (d < best) {
                best = d;
                t = s->t0 + into;
            }
        }
    }
    if (distance)
        *distance = best;
    return t;
}

typedef struct {
    const dm_centreline *line;
    double r, phi;
    dm_vec3 origin, normal;
} plane_line;

static double height(const plane_line *q, double t)
{
    dm_frame f = dm_centreline_frame(q->line, t);
    dm_vec3 p = dm_frame_surface(&f, q->r, q->phi);
    return dm_vec3_dot(q->normal, dm_vec3_sub(p, q->origin));
}

/* Root in [a, b] with a change of sign: secant steps kept inside. */
static double root(const plane_line *q, double a, double b)
{
    double fa = height(q, a), fb = height(q, b);
    for (int i = 0; i < 200 && fabs(b - a) > 1e-14 * (1.0 + fabs(a)); i++) {
        double m = fb != fa ? a - fa * (b - a) / (fb - fa) : 0.5 * (a + b);
        double lo = a < b ? a : b, hi = a < b ? b : a;
        if (!(m > lo && m < hi) || i % 3 == 2)
            m = 0.5 * (a + b);
        double fm = height(q, m);
        if (fm == 0.0)
            return m;
        if ((fm < 0.0) == (fa < 0.0)) {
            a = m;
            fa = fm;
        } else {
            b = m;
            fb = fm;
        }
    }
    return fabs(fa) < fabs(fb) ? a : b;
}

bool dm_centreline_cross(const dm_centreline *line, double r, double phi,
                         dm_vec3 origin, dm_vec3 normal, double guess,
                         double *t)
{
    const double step = 0.01, reach = 2.0;
    plane_line q = {line, r, phi, origin, normal};
    double here = height(&q, guess);
    if (here == 0.0) {
        *t = guess;
        return true;
    }
    double back = here, ahead = here;
    for (double d = step; d <= reach + 1e-9; d += step) {
        double b = height(&q, guess - d), a = height(&q, guess + d);
        bool on_back = (b < 0.0) != (back < 0.0);
        bool on_ahead = (a < 0.0) != (ahead < 0.0);
        double tb = on_back ? root(&q, guess - d, guess - d + step) : 0.0;
        double ta = on_ahead ? root(&q, guess + d - step, guess + d) : 0.0;
        if (on_back && (!on_ahead || guess - tb < ta - guess)) {
            *t = tb;
            return true;
        }
        if (on_ahead) {
            *t = ta;
            return true;
        }
        back = b;
        ahead = a;
    }
    return false;
}
