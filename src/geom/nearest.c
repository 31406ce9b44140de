/* SPDX-License-Identifier: MIT
 * Foot points and crossings of planes. Feet on lines and arcs and crossings
 * of straight lengths are closed forms; on an arc, where the crown turns too,
 * crossings are bracketed every 0.02 rad and refined by secants with
 * bisection. */
#include "geom/segment.h"

#include <float.h>

#define REACH 2.0 /* m from the guess to a crossing */

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

/* A clock line, a plane, and the crossing nearest to the guess so far. */
typedef struct {
    const dm_centreline *line;
    double r, phi;
    dm_vec3 origin, normal; /* unit */
    double guess;
    bool found;
    double t;
} crossing;

/* Distance of the clock line from the plane at t, with its sign. */
static double height(const crossing *q, double t)
{
    dm_frame f = dm_centreline_frame(q->line, t);
    dm_vec3 p = dm_frame_surface(&f, q->r, q->phi);
    return dm_vec3_dot(q->normal, dm_vec3_sub(p, q->origin));
}

static void consider(crossing *q, double t)
{
    double d = fabs(t - q->guess);
    if (d <= REACH && (!q->found || d < fabs(q->t - q->guess))) {
        q->found = true;
        q->t = t;
    }
}

/* On a straight length from..to the height is linear. */
static void cross_straight(crossing *q, double from, double to)
{
    if (from > q->guess + REACH || to < q->guess - REACH)
        return;
    double at = 0.5 * (from + to);
    double rate = dm_vec3_dot(q->normal, dm_centreline_tangent(q->line, at));
    if (rate == 0.0)
        return;
    double t = at - height(q, at) / rate;
    /* At a joint both neighbours may answer, but one must. */
    if (t >= from - 1e-9 && t <= to + 1e-9)
        consider(q, t);
}

/* Root between a and b, where the heights fa, fb differ in sign. */
static double root(const crossing *q, double a, double fa, double b, double fb)
{
    for (int i = 0; i < 200 && b - a > 1e-15 * (1.0 + fabs(a)); i++) {
        double m = a - fa * ((b - a) / (fb - fa));
        if (!(m > a && m < b) || i % 3 == 2)
            m = a + 0.5 * (b - a);
        double fm = height(q, m);
        if (fm == 0.0 || m == a || m == b)
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

static void cross_arc(crossing *q, const dm_segment *s)
{
    if (s->t0 > q->guess + REACH || s->t0 + s->length < q->guess - REACH)
        return;
    int steps = 1 + (int)(s->kappa * s->length / 0.02);
    double a = s->t0, fa = height(q, a);
    for (int i = 1; i <= steps; i++) {
        double b = s->t0 + s->length * i / steps, fb = height(q, b);
        if (fa == 0.0)
            consider(q, a);
        if (fa != 0.0 && fb != 0.0 && (fa < 0.0) != (fb < 0.0)) {
            double t = root(q, a, fa, b, fb);
            /* The crown may jump past the plane instead of crossing it. */
            if (fabs(height(q, t)) < 1e-9)
                consider(q, t);
        }
        a = b;
        fa = fb;
    }
    if (fa == 0.0)
        consider(q, a);
}

bool dm_centreline_cross(const dm_centreline *line, double r, double phi,
                         dm_vec3 origin, dm_vec3 normal, double guess,
                         double *t)
{
    crossing q = {line,  r,     phi, origin, dm_vec3_unit(normal),
                  guess, false, 0.0};
    for (size_t i = 0; i < line->count; i++) {
        const dm_segment *s = &line->segments[i];
        if (s->kappa == 0.0)
            cross_straight(&q, s->t0, s->t0 + s->length);
        else
            cross_arc(&q, s);
    }
    /* The prolonged ends, as far as anything may be sought on them. */
    if (guess - REACH < 0.0)
        cross_straight(&q, guess - REACH, 0.0);
    if (guess + REACH > line->length)
        cross_straight(&q, line->length, guess + REACH);
    if (q.found)
        *t = q.t;
    return q.found;
}
