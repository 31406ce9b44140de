/* SPDX-License-Identifier: MIT
 * A reference line whose curvature is linear piece by piece. Lines and arcs in
 * closed form by their chord; clothoids by 8-point Gauss-Legendre rules on
 * steps that turn by at most 0.5 rad, where the rule is good to the last bits
 * (its error falls with the 16th power of the step). The foot of a point: the
 * sign changes of the distance's slope on steps of little turn, refined by
 * Newton's method inside a bracket. */
#include "ductmark/alignment.h"

#include <assert.h>
#include <float.h>

#include "geom/gauss.h"

#define STEP 0.5        /* rad a rule */
#define FOOT_STEP 0.1   /* rad between two looks for a foot */
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

static double turn_of(const dm_horizontal *e, double u)
{
    return fmax(fabs(e->k0), fabs(curvature_of(e, u))) * u;
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
    int steps = 1 + (int)(turn_of(e, u) / STEP);
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
    for (size_t i = 0; i < count; i++) {
        dm_horizontal *e = &elements[i];
        e->s0 = s;
        e->x = x;
        e->y = y;
        e->bearing = bearing;
        dm_vec3 way = way_of(e, e->length);
        s += e->length;
        x += way.x;
        y += way.y;
        bearing = bearing_of(e, e->length);
    }
    return s;
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

/* A point seen from one element's begin, so that large coordinates go first.
 */
typedef struct {
    const dm_horizontal *e;
    dm_vec3 p;
} view;

/* How far the point lies ahead of u, and to the right of it. */
static double ahead_of(const view *v, double u, double *right)
{
    dm_vec3 d = dm_vec3_sub(v->p, way_of(v->e, u));
    double b = bearing_of(v->e, u);
    *right = d.x * cos(b) - d.y * sin(b);
    return d.x * sin(b) + d.y * cos(b);
}

/* Feet found so far. */
typedef struct {
    double u; /* into the best one's element */
    const dm_horizontal *e;
    double distance, second; /* of the best and the next best */
    double right;
    bool end; /* the best is an end of the line, not a foot */
} search;

static void consider(search *q, const dm_horizontal *e, double u, double right,
                     double distance, bool end)
{
    bool same = q->e && fabs(e->s0 + u - (q->e->s0 + q->u)) <= SAME_FOOT;
    if (!q->e || distance < q->distance) {
        if (q->e && !same)
            q->second = q->distance;
        *q = (search){u, e, distance, q->second, right, end};
    } else if (!same && distance < q->second) {
        q->second = distance;
    }
}

/* The foot between a and b, where the point lies ahead of a, not of b. */
static void refine(search *q, const view *v, double a, double b)
{
    double u = 0.5 * (a + b), right = 0.0;
    for (int i = 0; i < 100 && b - a > 1e-15 * v->e->length; i++) {
        double f = ahead_of(v, u, &right);
        if (f > 0.0)
            a = u;
        else
            b = u;
        double slope = -1.0 + curvature_of(v->e, u) * right;
        double next = slope < 0.0 ? u - f / slope : a;
        if (!(next > a && next < b))
            next = 0.5 * (a + b);
        if (fabs(next - u) < 1e-13 * (1.0 + fabs(u)))
            break;
        u = next;
    }
    ahead_of(v, u, &right);
    consider(q, v->e, u, right, fabs(right), false);
}

static void search_element(search *q, const dm_horizontal *e, dm_vec3 p)
{
    view v = {e, {p.x - e->x, p.y - e->y, 0.0}};
    double right;
    if (q->e && dm_vec3_norm(v.p) - e->length > q->distance + 1.0)
        return;
    int steps = 1 + (int)(turn_of(e, e->length) / FOOT_STEP);
    double a = 0.0, fa = ahead_of(&v, 0.0, &right);
    for (int i = 1; i <= steps; i++) {
        double b = e->length * i / steps, fb = ahead_of(&v, b, &right);
        if (fa >= 0.0 && fb <= 0.0)
            refine(q, &v, a, b);
        a = b;
        fa = fb;
    }
}

/* An end of the line; beyond it the tangent is prolonged. */
static void search_end(search *q, const dm_horizontal *e, double u, dm_vec3 p)
{
    view v = {e, {p.x - e->x, p.y - e->y, 0.0}};
    double right, ahead = ahead_of(&v, u, &right);
    if (u == 0.0 ? ahead < 0.0 : ahead > 0.0)
        consider(q, e, u + ahead, right, hypot(ahead, right), true);
}

dm_alignment_foot dm_alignment_nearest(const dm_alignment *line, dm_vec3 p)
{
    search q = {.second = DBL_MAX};
    size_t n = line->horizontal_count;
    assert(n > 0);
    for (size_t i = 0; i < n; i++)
        search_element(&q, &line->horizontal[i], p);
    search_end(&q, &line->horizontal[0], 0.0, p);
    const dm_horizontal *last = &line->horizontal[n - 1];
    search_end(&q, last, last->length, p);
    if (!q.e) /* not a number */
        return (dm_alignment_foot){(double)NAN, (double)NAN, false, false};
    double k = q.end ? 0.0 : curvature_of(q.e, q.u);
    return (dm_alignment_foot){.s = q.e->s0 + q.u,
                               .offset = q.right,
                               .inside = !q.end,
                               .certain = q.second - q.distance > SAME_FOOT &&
                                          k * q.right < 0.999};
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
