/* SPDX-License-Identifier: MIT
 * A reference line whose curvature is linear piece by piece. Lines and arcs in
 * closed form by their chord; clothoids by 8-point Gauss-Legendre rules on
 * steps that turn by at most 0.5 rad, where the rule is good to the last bits
 * (its error falls with the 16th power of the step).
 *
 * The foot of a point: how far it lies ahead of the line's point at s is a
 * function f of s without jumps, and feet are where f goes from + to -. In one
 * element f'' = k' right - k^2 f, so f is nearly a sine of the bearing plus a
 * constant and has at most two zeros on a step of little turn: one change of
 * sign, or f turns back between two ends of one sign. Both are bracketed and
 * refined by Newton's method. The sign at a joint is carried from one element
 * to the next, lest a foot fall between two roundings of the joint. */
#include "ductmark/alignment.h"

#include <assert.h>
#include <float.h>

#include "geom/gauss.h"

#define STEP 0.5        /* rad a rule */
#define FOOT_STEP 0.25  /* rad between two looks for a foot */
#define MOST_TURN 1e6   /* rad */
#define SAME_POINT 1e-9 /* m */
#define SAME_FOOT 1e-6  /* m */

/* ---- in plan
 * ------------------------------------------------------------------------- */

static double bearing_of(const dm_horizontal *e, double u)
{
    double rate = (e->k1 - e->k0) / e->length;
    return e->bearing + u * (e->k0 + 0.5 * rate * u);
}

static double curvature_of(const dm_horizontal *e, double u)
{
    return e->k0 + (e->k1 - e->k0) * (u / e->length);
}

/* Steps of at most `step` rad from the begin to u; one where the turn is not a
 * number, so that nothing hangs. */
static int steps_of(const dm_horizontal *e, double u, double step)
{
    double turn = fmax(fabs(e->k0), fabs(curvature_of(e, u))) * u;
    return turn < MOST_TURN ? 1 + (int)(turn / step) : 1;
}

/* From the element's begin to u metres on. */
static dm_vec3 way_of(const dm_horizontal *e, double u)
{
    if (e->k0 == e->k1) {
        double half = 0.5 * e->k0 * u;
        double chord = half == 0.0 ? u : u * (sin(half) / half);
        double b = e->bearing + half;
        return (dm_vec3){chord * sin(b), chord * cos(b), 0.0};
    }
    int steps = steps_of(e, u, STEP);
    double h = 0.5 * u / steps, x = 0.0, y = 0.0;
    for (int i = 0; i < steps; i++) {
        double mid = h * (2 * i + 1);
        for (int k = 0; k < GAUSS_PAIRS; k++) {
            double a = bearing_of(e, mid - h * gauss_node[k]);
            double b = bearing_of(e, mid + h * gauss_node[k]);
            x += gauss_weight[k] * h * (sin(a) + sin(b));
            y += gauss_weight[k] * h * (cos(a) + cos(b));
        }
    }
    return (dm_vec3){x, y, 0.0};
}

double dm_alignment_chain(dm_horizontal *elements, size_t count, double s,
                          double x, double y, double bearing)
{
    assert(count > 0);
    /* Sums from the begin on, so that large coordinates round once. */
    double length = 0.0;
    dm_vec3 sum = {0.0, 0.0, 0.0};
    for (size_t i = 0; i < count; i++) {
        dm_horizontal *e = &elements[i];
        e->s0 = s + length;
        e->x = x + sum.x;
        e->y = y + sum.y;
        e->bearing = bearing;
        sum = dm_vec3_add(sum, way_of(e, e->length));
        length += e->length;
        bearing = bearing_of(e, e->length);
    }
    return s + length;
}

/* The element that holds s, the distance into it, and what is left to walk
 * beyond the line's ends. */
static const dm_horizontal *find(const dm_alignment *line, double s,
                                 double *into, double *rest)
{
    assert(line->horizontal_count > 0);
    size_t lo = 0, hi = line->horizontal_count - 1;
    while (lo < hi) {
        size_t mid = (lo + hi + 1) / 2;
        if (s >= line->horizontal[mid].s0)
            lo = mid;
        else
            hi = mid - 1;
    }
    const dm_horizontal *e = &line->horizontal[lo];
    *into = fmin(fmax(s - e->s0, 0.0), e->length);
    *rest = s - e->s0 - *into;
    /* An inner joint is no end, however it is rounded. */
    if (lo + 1 < line->horizontal_count && *rest > 0.0)
        *rest = 0.0;
    return e;
}

/* ---- in height
 * ----------------------------------------------------------------------- */

dm_profile_fault dm_profile_build(const dm_pvi *p, size_t count,
                                  dm_vertical *elements, size_t *out,
                                  size_t *where)
{
    assert(count > 0);
    size_t n = 0;
    double reached = p[0].station, grade = 0.0;
    for (*where = 0; *where<count; *where += count> 1 ? count - 1 : 1)
        if (p[*where].curve_length > 0.0)
            return DM_PROFILE_ENDS;
    for (size_t i = 1; i < count; i++) {
        *where = i;
        double ahead = p[i].station - p[i - 1].station;
        if (!(ahead > SAME_POINT))
            return DM_PROFILE_ORDER;
        double half = 0.5 * p[i].curve_length;
        double straight = p[i].station - half - reached;
        if (!(straight >= -SAME_POINT))
            return DM_PROFILE_OVERLAP;
        grade = (p[i].height - p[i - 1].height) / ahead;
        if (straight > SAME_POINT)
            elements[n++] = (dm_vertical){
                reached, straight,
                p[i - 1].height + grade * (reached - p[i - 1].station), grade,
                0.0};
        reached = p[i].station - half;
        if (half == 0.0 || i + 1 == count)
            continue;
        double next =
            (p[i + 1].height - p[i].height) / (p[i + 1].station - p[i].station);
        elements[n++] =
            (dm_vertical){reached, 2.0 * half, p[i].height - half * grade,
                          grade, (next - grade) / (2.0 * half)};
        reached += 2.0 * half;
    }
    if (n == 0)
        elements[n++] = (dm_vertical){p[0].station, 0.0, p[0].height, 0.0, 0.0};
    *out = n;
    return DM_PROFILE_OK;
}

static void profile_at(const dm_alignment *line, double s, double *height,
                       double *grade)
{
    *height = *grade = (double)NAN;
    if (line->vertical_count == 0)
        return;
    size_t lo = 0, hi = line->vertical_count - 1;
    while (lo < hi) {
        size_t mid = (lo + hi + 1) / 2;
        if (s >= line->vertical[mid].s0)
            lo = mid;
        else
            hi = mid - 1;
    }
    const dm_vertical *v = &line->vertical[lo];
    double into = fmin(fmax(s - v->s0, 0.0), v->length);
    double rest = s - v->s0 - into;
    *grade = v->grade + v->rate * into;
    *height =
        v->height + into * (v->grade + 0.5 * v->rate * into) + rest * *grade;
}

/* ---- station to point
 * ---------------------------------------------------------------- */

dm_alignment_place dm_alignment_at(const dm_alignment *line, double s)
{
    double into, rest;
    const dm_horizontal *e = find(line, s, &into, &rest);
    dm_vec3 way = way_of(e, into);
    double b = bearing_of(e, into);
    dm_alignment_place p = {.x = e->x + (way.x + rest * sin(b)),
                            .y = e->y + (way.y + rest * cos(b)),
                            .bearing = b,
                            .curvature =
                                rest == 0.0 ? curvature_of(e, into) : 0.0};
    profile_at(line, s, &p.height, &p.grade);
    return p;
}

dm_vec3 dm_alignment_point(const dm_alignment *line, double s, double offset,
                           double height)
{
    dm_alignment_place p = dm_alignment_at(line, s);
    return (dm_vec3){p.x + offset * cos(p.bearing),
                     p.y - offset * sin(p.bearing), height};
}

dm_vec3 dm_alignment_direction(const dm_alignment *line, double s,
                               dm_vec3 *right)
{
    double into, rest;
    const dm_horizontal *e = find(line, s, &into, &rest);
    double b = bearing_of(e, into);
    if (right)
        *right = (dm_vec3){cos(b), -sin(b), 0.0};
    return (dm_vec3){sin(b), cos(b), 0.0};
}

/* ---- point to station
 * ---------------------------------------------------------------- */

/* A point seen from the begin of a piece of an element, so that large
 * coordinates go first. */
typedef struct {
    dm_horizontal piece;
    dm_vec3 p;
} view;

/* How far the point lies ahead of u, how far to the right of it, and the rate
 * of the former. */
typedef struct {
    double ahead, right, rate;
} sight;

static sight look(const view *v, double u)
{
    dm_vec3 d = dm_vec3_sub(v->p, way_of(&v->piece, u));
    double b = bearing_of(&v->piece, u);
    double right = d.x * cos(b) - d.y * sin(b);
    return (sight){d.x * sin(b) + d.y * cos(b), right,
                   curvature_of(&v->piece, u) * right - 1.0};
}

/* Feet found so far. */
typedef struct {
    const dm_horizontal *e; /* the best one's; NULL: none yet */
    double u;               /* into it */
    double right;
    double distance, second; /* of the best and the next best */
    bool end;                /* the best is an end of the line, not a foot */
} search;

static void consider(search *q, const dm_horizontal *e, double u, sight at,
                     double distance, bool end)
{
    bool same = q->e && fabs(e->s0 + u - (q->e->s0 + q->u)) <= SAME_FOOT;
    if (!q->e || distance < q->distance) {
        if (q->e && !same)
            q->second = q->distance;
        *q = (search){e, u, at.right, distance, q->second, end};
    } else if (!same && distance < q->second) {
        q->second = distance;
    }
}

/* The foot between a and b, where the point lies ahead of a, not of b. */
static void refine(search *q, const dm_horizontal *e, const view *v, double a,
                   double b)
{
    double u = 0.5 * (a + b), tiny = 1e-15 * v->piece.length;
    for (int i = 0; i < 100 && b - a > tiny; i++) {
        sight at = look(v, u);
        if (at.ahead > 0.0)
            a = u;
        else
            b = u;
        double next = at.rate < 0.0 ? u - at.ahead / at.rate : a;
        if (!(next > a && next < b))
            next = 0.5 * (a + b);
        if (fabs(next - u) < 1e-14 * (1.0 + u))
            break;
        u = next;
    }
    sight at = look(v, u);
    consider(q, e, v->piece.s0 - e->s0 + u, at, fabs(at.right), false);
}

/* Where f turns back between a and b, both on one side of zero, and is on the
 * other side there. */
static bool turns_back(const view *v, double a, sight at_a, double b,
                       sight at_b, double *middle)
{
    double side = at_a.ahead > 0.0 ? 1.0 : -1.0;
    if (!(at_a.ahead * at_b.ahead > 0.0 && side * at_a.rate < 0.0 &&
          side * at_b.rate > 0.0))
        return false;
    for (int i = 0; i < 50; i++) {
        *middle = 0.5 * (a + b);
        sight at = look(v, *middle);
        if (side * at.ahead < 0.0)
            return true;
        if (side * at.rate < 0.0)
            a = *middle;
        else
            b = *middle;
    }
    return false;
}

/* The part of e from u on, as far as `length`, which begins at `way`. */
static dm_horizontal piece_of(const dm_horizontal *e, double u, dm_vec3 way,
                              double length)
{
    return (dm_horizontal){.length = length,
                           .k0 = curvature_of(e, u),
                           .k1 = curvature_of(e, u + length),
                           .s0 = e->s0 + u,
                           .x = e->x + way.x,
                           .y = e->y + way.y,
                           .bearing = bearing_of(e, u)};
}

/* @param joint  how the point is seen from the end of the element before; gets
 *               that of this one's; ahead is NAN where nobody looked */
static void search_element(search *q, const dm_horizontal *e, dm_vec3 p,
                           sight *joint)
{
    dm_vec3 d = {p.x - e->x, p.y - e->y, 0.0}, way = {0.0, 0.0, 0.0};
    if (q->e && dm_vec3_norm(d) - e->length > q->distance + 1.0) {
        joint->ahead = (double)NAN;
        return;
    }
    int steps = steps_of(e, e->length, FOOT_STEP);
    double h = e->length / steps;
    for (int i = 0; i < steps; i++) {
        double middle;
        view v = {piece_of(e, h * i, way, h), dm_vec3_sub(d, way)};
        sight from = look(&v, 0.0), to = look(&v, h);
        if (!isnan(joint->ahead))
            from.ahead = joint->ahead;
        if (from.ahead >= 0.0 && to.ahead <= 0.0)
            refine(q, e, &v, 0.0, h);
        else if (turns_back(&v, 0.0, from, h, to, &middle))
            refine(q, e, &v, to.ahead > 0.0 ? 0.0 : middle,
                   to.ahead > 0.0 ? middle : h);
        way = dm_vec3_add(way, way_of(&v.piece, h));
        *joint = to;
    }
}

/* An end of the line; beyond it the tangent is prolonged. */
static void search_end(search *q, const dm_horizontal *e, double u, sight at)
{
    if (u == 0.0 ? at.ahead < 0.0 : at.ahead > 0.0)
        consider(q, e, u + at.ahead, at, hypot(at.ahead, at.right), true);
}

static sight look_from(const dm_horizontal *e, double u, dm_vec3 p)
{
    view v = {*e, {p.x - e->x, p.y - e->y, 0.0}};
    return look(&v, u);
}

/* At a joint the curvatures of both sides count. */
static bool near_centre(const dm_alignment *line, double s, double right)
{
    for (int side = -1; side <= 1; side += 2) {
        double into, rest;
        const dm_horizontal *e = find(line, s + side * SAME_FOOT, &into, &rest);
        if (curvature_of(e, into) * right >= 0.999)
            return true;
    }
    return false;
}

dm_alignment_foot dm_alignment_nearest(const dm_alignment *line, dm_vec3 p)
{
    search q = {.second = DBL_MAX};
    size_t n = line->horizontal_count;
    assert(n > 0);
    const dm_horizontal *first = &line->horizontal[0], *last = first + n - 1;
    sight begin = look_from(first, 0.0, p), joint = begin;
    for (size_t i = 0; i < n; i++)
        search_element(&q, &line->horizontal[i], p, &joint);
    if (isnan(joint.ahead))
        joint = look_from(last, last->length, p);
    search_end(&q, first, 0.0, begin);
    search_end(&q, last, last->length, joint);
    if (!q.e) /* not a number */
        return (dm_alignment_foot){(double)NAN, (double)NAN, false, false};
    double s = q.e->s0 + q.u;
    bool certain = q.second - q.distance > SAME_FOOT &&
                   (q.end || !near_centre(line, s, q.right));
    return (dm_alignment_foot){s, q.right, !q.end, certain};
}

/* ---- as displayed
 * -------------------------------------------------------------------- */

double dm_alignment_display(const dm_alignment *line, double s, size_t *zone)
{
    size_t n = 0;
    while (n < line->equation_count && s >= line->equations[n].s)
        n++;
    if (zone)
        *zone = n;
    if (n == 0)
        return s;
    const dm_station_equation *e = &line->equations[n - 1];
    return e->ahead + (s - e->s);
}

bool dm_alignment_undisplay(const dm_alignment *line, double shown, size_t zone,
                            double *s)
{
    if (zone > line->equation_count)
        return false;
    const dm_station_equation *e = zone ? &line->equations[zone - 1] : NULL;
    double at = e ? e->s + (shown - e->ahead) : shown;
    double from = e ? e->s : -DBL_MAX;
    double to = zone < line->equation_count ? line->equations[zone].s : DBL_MAX;
    if (!(at >= from - SAME_POINT && at <= to + SAME_POINT))
        return false;
    *s = at;
    return true;
}
