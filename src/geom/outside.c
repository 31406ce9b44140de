/* SPDX-License-Identifier: MIT
 * Length of the line on the duct's outside at constant clock angle: the norm
 * of the derivative of point + r direction(phi), integrated over t.
 *
 * Seen in an arc, the vector `up` that defines the crown (Z, or the datum) has
 * a part `along` the plane of the bend and a part `across` it. With
 * psi = psi0 + kappa t: up . tangent = along sin psi, up . inward =
 * along cos psi, and v^2 = across^2 + along^2 cos^2 psi is what is left of up
 * in the section. Then crown . inward = along cos psi / v, right . inward =
 * -across / v, and the crown turns about the axis by kappa across along
 * sin psi / v^2 per metre. A bend with no part along or none across has a
 * constant slope; others are summed by 8-point Gauss-Legendre rules on steps
 * of at most 0.05 rad (nodes: NBS AMS 55, Table 25.4). */
#include "ductmark/centreline.h"

#include <assert.h>

#include "geom/gauss.h"
#include "geom/segment.h"

/* What is less of the unit up vector counts as nothing. */
#define IN_PLANE 1e-12
#define STEP 0.05 /* rad */

static const dm_vec3 Z = {0.0, 0.0, 1.0};
static const double PI = 3.14159265358979323846;

/* The up vector, seen from the begin of an arc, and the clock line. */
typedef struct {
    double along, across; /* parts of the unit vector, along >= 0 */
    double psi0;          /* rad */
    double rk;            /* r kappa */
    double cos_phi, sin_phi;
    bool constant; /* slope */
} bend;

static double radius_on(const dm_outside *o, const dm_segment *s)
{
    const double *own = o->line->outside_radius;
    return own ? own[s - o->line->segments] : o->r;
}

static bend look(const dm_outside *o, const dm_segment *s, dm_vec3 up)
{
    up = dm_vec3_unit(up);
    double x = dm_vec3_dot(up, s->tangent), y = dm_vec3_dot(up, s->normal);
    bend q = {.along = sqrt(x * x + y * y),
              .across = dm_vec3_dot(up, dm_vec3_cross(s->tangent, s->normal)),
              .psi0 = atan2(x, y),
              .rk = radius_on(o, s) * s->kappa,
              .cos_phi = cos(o->phi),
              .sin_phi = sin(o->phi)};
    q.constant = fabs(q.across) < IN_PLANE || q.along < IN_PLANE;
    return q;
}

/* dl/dt at the angle a from the arc's begin. */
static double slope(const bend *q, double a)
{
    double psi = q->psi0 + a;
    double in_plane = q->along * cos(psi);
    if (q->constant) {
        double e = q->along < IN_PLANE ? copysign(1.0, -q->across) * q->sin_phi
                                       : copysign(1.0, in_plane) * q->cos_phi;
        return 1.0 - q->rk * e;
    }
    double v = sqrt(q->across * q->across + in_plane * in_plane);
    double e = (q->cos_phi * in_plane - q->sin_phi * q->across) / v;
    double turn = q->across * q->along * sin(psi) / (v * v);
    double axial = 1.0 - q->rk * e, slant = q->rk * turn;
    return sqrt(axial * axial + slant * slant);
}

/* The arc from angle `from` is one piece up to the angle returned, at most
 * `to`: there the crown goes over to the datum or back, or, without a datum,
 * the axis is at its steepest. *q is the piece as seen by what is up there. */
static double piece_end(const dm_outside *o, const dm_segment *s, double from,
                        double to, bend *q)
{
    const dm_centreline *line = o->line;
    *q = look(o, s, Z);
    double sine = line->has_datum ? cos(line->vertical_limit) / q->along : 1.0;
    if (!(sine <= 1.0))
        return to;
    double cut = asin(sine), end = to;
    /* psi0 is within pi of zero, an arc shorter than pi. */
    for (int k = 2; k >= -1; k--)
        for (int side = 1; side >= -1; side -= 2) {
            double a = k * PI + side * cut - q->psi0;
            if (a > from + 1e-13 && a < end)
                end = a;
        }
    double middle = q->psi0 + 0.5 * (from + end);
    if (line->has_datum && dm_is_steep(line, q->along * sin(middle)))
        *q = look(o, s, line->datum);
    return end;
}

static double integral(const bend *q, double from, double to)
{
    if (q->constant)
        return (to - from) * slope(q, 0.5 * (from + to));
    int steps = 1 + (int)((to - from) / STEP);
    double h = (to - from) / steps, sum = 0.0;
    for (int k = 0; k < steps; k++)
        for (int i = 0; i < 4; i++) {
            double mid = from + (k + 0.5) * h, off = 0.5 * h * gauss_node[i];
            sum += 0.5 * h * gauss_weight[i] *
                   (slope(q, mid - off) + slope(q, mid + off));
        }
    return sum;
}

/* Outside length from the begin of s to `into`, 0 <= into <= s->length for an
 * arc. */
static double partial(const dm_outside *o, const dm_segment *s, double into)
{
    if (s->kappa == 0.0)
        return into;
    double a = 0.0, to = s->kappa * into, sum = 0.0;
    while (a < to) {
        bend q;
        double end = piece_end(o, s, a, to, &q);
        sum += integral(&q, a, end);
        a = end;
    }
    return sum / s->kappa;
}

static double slope_at(const dm_outside *o, const dm_segment *s, double into)
{
    double a = s->kappa * into;
    bend q = look(o, s, Z);
    if (o->line->has_datum && dm_is_steep(o->line, q.along * sin(q.psi0 + a)))
        q = look(o, s, o->line->datum);
    return slope(&q, a);
}

/* Distance into an arc where the outside length is l past its begin, of
 * `whole` at its end: Newton with the exact slope, kept inside a bracket. The
 * first guess, by proportion, is exact where the slope is constant. */
static double solve(const dm_outside *o, const dm_segment *s, double l,
                    double whole)
{
    double lo = 0.0, hi = s->length;
    double into = s->length * (l / whole);
    for (int k = 0; k < 60; k++) {
        double error = partial(o, s, into) - l;
        if (fabs(error) <= 1e-15 * (1.0 + s->length))
            break;
        if (error > 0.0)
            hi = into;
        else
            lo = into;
        double next = into - error / slope_at(o, s, into);
        into = next > lo && next < hi ? next : 0.5 * (lo + hi);
    }
    return into;
}

/* Outside length at t, which lies in s or beyond an end of the line; `begin`
 * is the length at the begin of s. */
static double length_in(const dm_outside *o, const dm_segment *s, double begin,
                        double t)
{
    double into = t - s->t0;
    if (s->kappa == 0.0)
        return begin + into;
    double inside = into < 0.0 ? 0.0 : into > s->length ? s->length : into;
    return begin + partial(o, s, inside) + (into - inside);
}

/* Station `past` metres of outside length after the begin of s, of `whole`
 * on s. */
static double station_in(const dm_outside *o, const dm_segment *s, double past,
                         double whole)
{
    if (s->kappa == 0.0 || past <= 0.0)
        return s->t0 + past;
    if (past >= whole)
        return s->t0 + s->length + (past - whole);
    return s->t0 + solve(o, s, past, whole);
}

void dm_outside_prepare(const dm_centreline *line, double r, double phi,
                        double *begin, dm_outside *out)
{
    *out = (dm_outside){line, r, phi, begin};
    double l = 0.0;
    for (size_t i = 0; i < line->count; i++) {
        begin[i] = l;
        l += partial(out, &line->segments[i], line->segments[i].length);
    }
    begin[line->count] = l;
}

double dm_outside_at(const dm_outside *o, double t, size_t *hint)
{
    *hint = dm_centreline_find(o->line, t, *hint);
    return length_in(o, &o->line->segments[*hint], o->begin[*hint], t);
}

double dm_outside_inverse(const dm_outside *o, double l, size_t *hint)
{
    assert(o->line->count > 0);
    size_t n = o->line->count, i = *hint < n ? *hint : n - 1;
    while (i > 0 && l < o->begin[i])
        i--;
    while (i + 1 < n && l >= o->begin[i + 1])
        i++;
    *hint = i;
    return station_in(o, &o->line->segments[i], l - o->begin[i],
                      o->begin[i + 1] - o->begin[i]);
}

double dm_outside_length(const dm_centreline *line, double r, double phi,
                         double t)
{
    dm_outside o = {line, r, phi, NULL};
    double begin = 0.0;
    size_t last = dm_centreline_find(line, t, 0);
    for (size_t i = 0; i < last; i++)
        begin += partial(&o, &line->segments[i], line->segments[i].length);
    return length_in(&o, &line->segments[last], begin, t);
}

double dm_outside_station(const dm_centreline *line, double r, double phi,
                          double l)
{
    assert(line->count > 0);
    dm_outside o = {line, r, phi, NULL};
    double begin = 0.0;
    for (size_t i = 0;; i++) {
        const dm_segment *s = &line->segments[i];
        double whole = partial(&o, s, s->length);
        if (l < begin + whole || i + 1 == line->count)
            return station_in(&o, s, l - begin, whole);
        begin += whole;
    }
}
