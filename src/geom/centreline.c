/* SPDX-License-Identifier: MIT
 * Straight legs and tangent arcs by the PI method (US Army FM 5-233,
 * chapter 3), evaluated by arc length. */
#include "ductmark/centreline.h"

#include <assert.h>
#include <stdint.h>

#include "geom/segment.h"

#define NO_ARC_BELOW 1e-9                /* rad */
#define REVERSAL_FROM 2.9670597283903604 /* 170 deg */
#define SHORTEST_LEG 1e-3                /* m */
/* Tangents that meet on a leg do so only up to the rounding of large map
 * coordinates; what is left of the leg is then no straight length. */
#define SAME_POINT 1e-9 /* m */
#define TEN_DEGREES 0.17453292519943295

/* The angle between unit vectors; acos would lose half the digits of a small
 * one. */
static double deflection(dm_vec3 u1, dm_vec3 u2)
{
    return atan2(dm_vec3_norm(dm_vec3_cross(u1, u2)), dm_vec3_dot(u1, u2));
}

size_t dm_centreline_capacity(size_t points)
{
    return points < 2 ? 0 : 2 * points - 3;
}

/* Unit vector and length of leg i, from point i to point i + 1. */
static double leg_of(const dm_vec3 *points, size_t i, dm_vec3 *u)
{
    dm_vec3 d = dm_vec3_sub(points[i + 1], points[i]);
    double length = dm_vec3_norm(d);
    *u = length > 0.0 ? dm_vec3_scale(d, 1.0 / length) : d;
    return length;
}

/* Tangent length at corner i; 0 at the ends and where there is no arc. */
static double tangent_at(const dm_vec3 *points, const double *radius, size_t i,
                         size_t count, double *d)
{
    dm_vec3 u1, u2;
    *d = 0.0;
    if (i == 0 || i + 1 >= count)
        return 0.0;
    leg_of(points, i - 1, &u1);
    leg_of(points, i, &u2);
    *d = deflection(u1, u2);
    if (*d < NO_ARC_BELOW || radius[i] <= 0.0)
        return 0.0;
    return radius[i] * tan(*d / 2.0);
}

/* Comparisons are written so that NaN is a fault. */
static dm_polygon_fault find_fault(const dm_vec3 *points, const double *radius,
                                   size_t count, size_t *where)
{
    for (size_t i = 0; i + 1 < count; i++) {
        dm_vec3 u;
        *where = i;
        if (!(leg_of(points, i, &u) >= SHORTEST_LEG))
            return DM_POLYGON_SHORT_LEG;
    }
    for (size_t i = 1; i + 1 < count; i++) {
        double d;
        tangent_at(points, radius, i, count, &d);
        *where = i;
        if (!(d < REVERSAL_FROM))
            return DM_POLYGON_REVERSAL;
    }
    for (size_t i = 0; i + 1 < count; i++) {
        double d;
        dm_vec3 u;
        double taken = tangent_at(points, radius, i, count, &d) +
                       tangent_at(points, radius, i + 1, count, &d);
        *where = i;
        if (!(taken <= leg_of(points, i, &u) + SAME_POINT))
            return DM_POLYGON_OVERLAP;
    }
    return DM_POLYGON_OK;
}

/* The arc at corner i, which turns from u to the next leg by d. */
static dm_segment arc_at(const dm_vec3 *points, size_t i, dm_vec3 u,
                         double tangent_length, double radius, double d)
{
    dm_vec3 next;
    leg_of(points, i, &next);
    /* Twice: of a slight turn little is left, and that must be square. */
    dm_vec3 n = dm_vec3_unit(dm_vec3_along(next, -dm_vec3_dot(next, u), u));
    n = dm_vec3_unit(dm_vec3_along(n, -dm_vec3_dot(n, u), u));
    return (dm_segment){.length = radius * d,
                        .begin = dm_vec3_along(points[i], -tangent_length, u),
                        .tangent = u,
                        .kappa = 1.0 / radius,
                        .normal = n};
}

dm_polygon_fault dm_centreline_build(const dm_vec3 *points,
                                     const double *radius, size_t count,
                                     dm_segment *segments, size_t *arc_of,
                                     dm_centreline *out, size_t *where)
{
    assert(count >= 2);
    size_t at = 0;
    dm_polygon_fault fault = find_fault(points, radius, count, &at);
    if (fault != DM_POLYGON_OK) {
        *where = at;
        return fault;
    }
    size_t n = 0;
    double t = 0.0, before = 0.0;
    for (size_t i = 0; i < count; i++)
        arc_of[i] = SIZE_MAX;
    for (size_t i = 0; i + 1 < count; i++) {
        dm_vec3 u;
        double d;
        double length = leg_of(points, i, &u);
        double after = tangent_at(points, radius, i + 1, count, &d);
        double straight = length - before - after;
        if (straight > SAME_POINT) {
            segments[n++] =
                (dm_segment){.t0 = t,
                             .length = straight,
                             .begin = dm_vec3_along(points[i], before, u),
                             .tangent = u};
            t += straight;
        }
        before = after;
        if (!(after > 0.0))
            continue;
        arc_of[i + 1] = n;
        segments[n] = arc_at(points, i + 1, u, after, radius[i + 1], d);
        segments[n].t0 = t;
        t += segments[n++].length;
    }
    *out = (dm_centreline){.segments = segments,
                           .count = n,
                           .length = t,
                           .vertical_limit = TEN_DEGREES};
    return DM_POLYGON_OK;
}

size_t dm_centreline_find(const dm_centreline *line, double t, size_t hint)
{
    assert(line->count > 0);
    size_t i = hint < line->count ? hint : line->count - 1;
    while (i > 0 && t < line->segments[i].t0)
        i--;
    while (i + 1 < line->count && t >= line->segments[i + 1].t0)
        i++;
    return i;
}

/* The segment, and the distance into it; beyond the ends of the line the
 * distance is cut and the rest returned, to be walked along the tangent. */
static const dm_segment *locate(const dm_centreline *line, double t,
                                double *into, double *rest)
{
    assert(line->count > 0);
    size_t lo = 0, hi = line->count - 1;
    while (lo < hi) {
        size_t mid = (lo + hi + 1) / 2;
        if (t >= line->segments[mid].t0)
            lo = mid;
        else
            hi = mid - 1;
    }
    const dm_segment *s = &line->segments[lo];
    *into = t - s->t0;
    *rest = 0.0;
    if (*into < 0.0) {
        *rest = *into;
        *into = 0.0;
    } else if (lo + 1 == line->count && *into > s->length) {
        *rest = *into - s->length;
        *into = s->length;
    }
    return s;
}

dm_vec3 dm_segment_tangent(const dm_segment *s, double into)
{
    if (s->kappa == 0.0)
        return s->tangent;
    double a = s->kappa * into;
    return dm_vec3_along(dm_vec3_scale(s->tangent, cos(a)), sin(a), s->normal);
}

dm_vec3 dm_segment_point(const dm_segment *s, double into)
{
    if (s->kappa == 0.0)
        return dm_vec3_along(s->begin, into, s->tangent);
    double a = s->kappa * into;
    double half = sin(a / 2.0);
    dm_vec3 p = dm_vec3_along(s->begin, sin(a) / s->kappa, s->tangent);
    return dm_vec3_along(p, 2.0 * half * half / s->kappa, s->normal);
}

dm_vec3 dm_centreline_point(const dm_centreline *line, double t)
{
    double into, rest;
    const dm_segment *s = locate(line, t, &into, &rest);
    return dm_vec3_along(dm_segment_point(s, into), rest,
                         dm_segment_tangent(s, into));
}

dm_vec3 dm_centreline_tangent(const dm_centreline *line, double t)
{
    double into, rest;
    const dm_segment *s = locate(line, t, &into, &rest);
    return dm_segment_tangent(s, into);
}
