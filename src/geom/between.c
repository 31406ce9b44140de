/* SPDX-License-Identifier: MIT
 * Least distance of two lines or arcs by branch and bound: a piece of an arc
 * lies within its sagitta R (1 - cos(a/2)) of its chord, so that the distance
 * of the chords less both sagittas bounds that of the pieces from below. The
 * pair is given up where the bound is no better than what is known, and the
 * rounder of the two is halved where it could be. Chords: the closed form of
 * any text on computational geometry, with both ends held. */
#include "geom/between.h"

#include <math.h>

#include "geom/segment.h"

#define FINE 1e-5 /* m */
#define WIDE 1e-6 /* m, of boxes: rounding of large coordinates */

/* A part of a segment, from s0 to s1 along it. */
typedef struct {
    const dm_segment *segment;
    double s0, s1;
    dm_vec3 p0, p1;
    double bulge; /* sagitta, m */
} piece;

static piece piece_of(const dm_segment *g, double s0, double s1)
{
    double quarter = sin(0.25 * (s1 - s0) * g->kappa);
    return (piece){g,
                   s0,
                   s1,
                   dm_segment_point(g, s0),
                   dm_segment_point(g, s1),
                   g->kappa > 0.0 ? 2.0 * quarter * quarter / g->kappa : 0.0};
}

static double hold(double x)
{
    return fmin(fmax(x, 0.0), 1.0);
}

/* Parameters 0 to 1 of the nearest points of two chords. */
static void nearest_of_chords(const piece *a, const piece *b, double *x,
                              double *y)
{
    dm_vec3 u = dm_vec3_sub(a->p1, a->p0), v = dm_vec3_sub(b->p1, b->p0);
    dm_vec3 w = dm_vec3_sub(a->p0, b->p0);
    double uu = dm_vec3_dot(u, u), vv = dm_vec3_dot(v, v);
    double uv = dm_vec3_dot(u, v), uw = dm_vec3_dot(u, w);
    double vw = dm_vec3_dot(v, w), d = uu * vv - uv * uv;
    /* Parallel: any place of the one will do. */
    *x = d > 1e-12 * uu * vv ? hold((uv * vw - vv * uw) / d) : 0.0;
    *y = vv > 0.0 ? (uv * *x + vw) / vv : 0.0;
    if (*y < 0.0 || *y > 1.0 || vv <= 0.0) {
        *y = hold(*y);
        *x = uu > 0.0 ? hold((uv * *y - uw) / uu) : 0.0;
    }
}

static void search(const piece *a, const piece *b, geom_gap *gap, size_t *steps)
{
    double x, y;
    if (*steps == 0)
        return;
    --*steps;
    nearest_of_chords(a, b, &x, &y);
    dm_vec3 ca = dm_vec3_along(a->p0, x, dm_vec3_sub(a->p1, a->p0));
    dm_vec3 cb = dm_vec3_along(b->p0, y, dm_vec3_sub(b->p1, b->p0));
    double chords = dm_vec3_norm(dm_vec3_sub(ca, cb));
    if (chords - a->bulge - b->bulge >= gap->distance)
        return;
    double sa = a->s0 + x * (a->s1 - a->s0), sb = b->s0 + y * (b->s1 - b->s0);
    double is = dm_vec3_norm(dm_vec3_sub(dm_segment_point(a->segment, sa),
                                         dm_segment_point(b->segment, sb)));
    if (is < gap->distance)
        *gap = (geom_gap){is, a->segment->t0 + sa, b->segment->t0 + sb};
    if (chords - a->bulge - b->bulge >= gap->distance - FINE)
        return;
    const piece *round = a->bulge >= b->bulge ? a : b;
    double middle = 0.5 * (round->s0 + round->s1);
    piece halves[2] = {piece_of(round->segment, round->s0, middle),
                       piece_of(round->segment, middle, round->s1)};
    /* The half that holds the nearest point of the chord first. */
    size_t first = round == a ? x > 0.5 : y > 0.5;
    for (size_t i = 0; i < 2; i++) {
        const piece *half = &halves[i == 0 ? first : 1 - first];
        if (round == a)
            search(half, b, gap, steps);
        else
            search(a, half, gap, steps);
    }
}

void geom_segments_between(const dm_segment *a, const dm_segment *b,
                           geom_gap *gap, size_t *steps)
{
    piece whole_a = piece_of(a, 0.0, a->length);
    piece whole_b = piece_of(b, 0.0, b->length);
    search(&whole_a, &whole_b, gap, steps);
}

geom_box geom_segment_box(const dm_segment *segment)
{
    piece p = piece_of(segment, 0.0, segment->length);
    double wide = p.bulge + WIDE;
    return (geom_box){{fmin(p.p0.x, p.p1.x) - wide, fmin(p.p0.y, p.p1.y) - wide,
                       fmin(p.p0.z, p.p1.z) - wide},
                      {fmax(p.p0.x, p.p1.x) + wide, fmax(p.p0.y, p.p1.y) + wide,
                       fmax(p.p0.z, p.p1.z) + wide}};
}

geom_box geom_box_join(const geom_box *a, const geom_box *b)
{
    return (geom_box){{fmin(a->lo.x, b->lo.x), fmin(a->lo.y, b->lo.y),
                       fmin(a->lo.z, b->lo.z)},
                      {fmax(a->hi.x, b->hi.x), fmax(a->hi.y, b->hi.y),
                       fmax(a->hi.z, b->hi.z)}};
}

bool geom_boxes_near(const geom_box *a, const geom_box *b, double gap)
{
    return a->lo.x <= b->hi.x + gap && b->lo.x <= a->hi.x + gap &&
           a->lo.y <= b->hi.y + gap && b->lo.y <= a->hi.y + gap &&
           a->lo.z <= b->hi.z + gap && b->lo.z <= a->hi.z + gap;
}
