/* SPDX-License-Identifier: MIT
 * From points and bridge stations to tendons. A crossing of the plumb plane
 * at a bridge station is a closed form on each segment,
 *
 *     straight:  h0 + a u = 0
 *     arc:       h0 + a sin(k u) / k + b (1 - cos(k u)) / k = 0
 *
 * h0 the distance of the segment's begin from the plane, a and b the parts of
 * tangent and normal along the bridge, k the curvature; on flat arcs b / k is
 * large against h0, and Newton's steps on the plain form give the digits back.
 * Beyond a centre of curvature of the alignment the plane's other side is met:
 * a crossing counts only if the alignment's own foot says the same station. */
#include "ductmark/locate.h"

#define PI 3.14159265358979323846
#define JOINT 1e-9  /* m: two segments may both answer for their joint */
#define AT_END 1e-6 /* m: an end whose station was rounded is still met */
#define SAME_S 1e-6 /* m of bridge station between a crossing and its foot */

/* ---- points ------------------------------------------------------------- */

static dm_locate_near see(const dm_model *model, size_t tendon, dm_vec3 p)
{
    const dm_tendon *n = &model->tendons[tendon];
    dm_locate_near out = {.tendon = tendon};
    out.t = dm_centreline_nearest(&n->line, p, &out.distance);
    out.clear = out.distance - 0.5 * dm_tendon_duct(model, n, out.t)->od;
    return out;
}

static void add_clock(const dm_model *model, dm_vec3 p, dm_locate_near *near)
{
    dm_frame f =
        dm_centreline_frame(&model->tendons[near->tendon].line, near->t);
    near->clock = dm_frame_clock(&f, dm_vec3_sub(p, f.point));
}

static void grow(double p, double *lo, double *hi)
{
    *lo = p < *lo ? p : *lo;
    *hi = p > *hi ? p : *hi;
}

static double outside(double p, double lo, double hi)
{
    return fmax(fmax(lo - p, p - hi), 0.0);
}

/* No more than the distance of p from the line: that from the box about its
 * joints, grown by what arcs rise above their chords (at most k L^2 / 8). Saves
 * most of the work where a bridge has hundreds of tendons. */
static double at_least(const dm_centreline *line, dm_vec3 p)
{
    const dm_segment *end = &line->segments[line->count - 1];
    dm_vec3 last = dm_vec3_along(end->begin, end->length, end->tangent);
    dm_vec3 lo = line->segments[0].begin, hi = lo;
    double most = 0.0;
    for (size_t i = 0; i <= line->count; i++) {
        const dm_segment *g = &line->segments[i < line->count ? i : i - 1];
        dm_vec3 q = i < line->count ? g->begin : last;
        /* The end of an arc lies off its tangent by up to four times that,
         * and the arc off the chord to it. */
        double rise = 0.125 * g->kappa * g->length * g->length;
        most = fmax(most, i < line->count ? rise : 5.0 * rise);
        grow(q.x, &lo.x, &hi.x);
        grow(q.y, &lo.y, &hi.y);
        grow(q.z, &lo.z, &hi.z);
    }
    dm_vec3 way = {outside(p.x, lo.x, hi.x), outside(p.y, lo.y, hi.y),
                   outside(p.z, lo.z, hi.z)};
    return dm_vec3_norm(way) - most;
}

dm_locate_near dm_locate_nearest(const dm_model *model, size_t tendon,
                                 dm_vec3 p, dm_locate_near *second)
{
    dm_locate_near best = {.tendon = DM_NONE}, next = {.tendon = DM_NONE};
    size_t from = tendon == DM_NONE ? 0 : tendon;
    size_t to = tendon == DM_NONE ? model->tendon_count : tendon + 1;
    for (size_t i = from; i < to; i++) {
        if (next.tendon != DM_NONE &&
            at_least(&model->tendons[i].line, p) > next.distance)
            continue;
        dm_locate_near near = see(model, i, p);
        if (best.tendon == DM_NONE || near.distance < best.distance) {
            next = best;
            best = near;
        } else if (next.tendon == DM_NONE || near.distance < next.distance) {
            next = near;
        }
    }
    if (best.tendon != DM_NONE)
        add_clock(model, p, &best);
    if (next.tendon != DM_NONE)
        add_clock(model, p, &next);
    if (second)
        *second = next;
    return best;
}

/* ---- bridge stations ---------------------------------------------------- */

/* The plumb plane square to the alignment at one station. */
typedef struct {
    const dm_model *model;
    double s;
    dm_vec3 origin, along;
    double *t;
    size_t most, count;
    double last;   /* the crossing found last, m */
    double length; /* of the tendon, m */
} plane;

static void keep(plane *q, const dm_segment *g, double into, dm_vec3 p)
{
    dm_alignment_foot foot = dm_alignment_nearest(q->model->alignment, p);
    double t = g->t0 + fmin(fmax(into, 0.0), g->length);
    if (fabs(foot.s - q->s) > SAME_S ||
        (q->count > 0 && t - q->last <= 2.0 * JOINT))
        return;
    if (q->count < q->most)
        q->t[q->count] = t;
    q->count++;
    q->last = t;
}

static bool within(const plane *q, const dm_segment *g, double into)
{
    double from = g->t0 > 0.0 ? JOINT : AT_END;
    double to = g->t0 + g->length < q->length ? JOINT : AT_END;
    return into >= -from && into <= g->length + to;
}

static void cross_straight(plane *q, const dm_segment *g, double h0, double a)
{
    double into = -h0 / a;
    if (a != 0.0 && within(q, g, into))
        keep(q, g, into, dm_vec3_along(g->begin, into, g->tangent));
}

/* Distance from the plane, and its rate, on an arc. */
static double arc_height(const dm_segment *g, double h0, double a, double b,
                         double into, double *rate)
{
    double w = g->kappa * into, half = sin(0.5 * w);
    *rate = a * cos(w) + b * sin(w);
    return h0 + (a * sin(w) + 2.0 * b * half * half) / g->kappa;
}

static void cross_arc(plane *q, const dm_segment *g, double h0, double a,
                      double b)
{
    double amplitude = hypot(a, b), turn = atan2(b, a), roots[2];
    double sine = -(h0 * g->kappa + b) / amplitude;
    if (!(amplitude > 0.0) || !(fabs(sine) <= 1.0 + 1e-12))
        return;
    double angle = asin(fmin(fmax(sine, -1.0), 1.0));
    roots[0] = turn + angle;
    roots[1] = turn + PI - angle;
    for (int i = 0; i < 2; i++) {
        double w = fmod(roots[i] + 4.0 * PI, 2.0 * PI);
        if (w > 2.0 * PI - 1e-6) /* a hair before the begin */
            w -= 2.0 * PI;
        roots[i] = w / g->kappa;
        for (int k = 0; k < 3; k++) {
            double rate, h = arc_height(g, h0, a, b, roots[i], &rate);
            if (fabs(rate) > 1e-6)
                roots[i] -= h / rate;
        }
    }
    if (roots[0] > roots[1]) {
        double swap = roots[0];
        roots[0] = roots[1];
        roots[1] = swap;
    }
    for (int i = 0; i < 2; i++) {
        double w = g->kappa * roots[i], half = sin(0.5 * w);
        dm_vec3 p = dm_vec3_along(g->begin, sin(w) / g->kappa, g->tangent);
        if (within(q, g, roots[i]))
            keep(q, g, roots[i],
                 dm_vec3_along(p, 2.0 * half * half / g->kappa, g->normal));
    }
}

size_t dm_locate_bridge_station(const dm_model *model, size_t tendon, double s,
                                double *t, size_t most)
{
    if (!model->alignment)
        return 0;
    dm_alignment_place at = dm_alignment_at(model->alignment, s);
    plane q = {.model = model,
               .s = s,
               .origin = {at.x, at.y, 0.0},
               .along = dm_alignment_direction(model->alignment, s, NULL),
               .t = t,
               .most = t ? most : 0,
               .length = model->tendons[tendon].line.length};
    const dm_centreline *line = &model->tendons[tendon].line;
    for (size_t i = 0; i < line->count; i++) {
        const dm_segment *g = &line->segments[i];
        double h0 = dm_vec3_dot(dm_vec3_sub(g->begin, q.origin), q.along);
        double a = dm_vec3_dot(g->tangent, q.along);
        if (g->kappa == 0.0)
            cross_straight(&q, g, h0, a);
        else
            cross_arc(&q, g, h0, a, dm_vec3_dot(g->normal, q.along));
    }
    return q.count;
}
