/* SPDX-License-Identifier: MIT
 * Length along the duct's outside at constant clock angle:
 * l(t) = t - r * integral of kappa cos(phi - phi_c) dt. Straight lengths have
 * slope 1. In a bend whose plane is plumb phi_c is 0 or 180 deg and the slope
 * is constant; elsewhere the crown turns with the bend and the integral is
 * taken by Gauss-Legendre rules (8 points on steps of at most 3 degrees; the
 * nodes are those of NBS AMS 55, Table 25.4). */
#include "ductmark/centreline.h"

#include "geom/segment.h"

static const double NODE[4] = {0.183434642495650, 0.525532409916329,
                               0.796666477413627, 0.960289856497536};
static const double WEIGHT[4] = {0.362683783378362, 0.313706645877887,
                                 0.222381034453374, 0.101228536290376};

/* dl/dt at `into` of segment s. */
static double slope(const dm_outside *o, const dm_segment *s, double into)
{
    if (s->kappa == 0.0)
        return 1.0;
    double a = s->kappa * into;
    dm_frame f = dm_centreline_frame(o->line, s->t0 + into);
    dm_vec3 inward =
        dm_vec3_along(dm_vec3_scale(s->normal, cos(a)), -sin(a), s->tangent);
    return 1.0 - o->r * s->kappa *
                     dm_vec3_dot(dm_frame_direction(&f, o->phi), inward);
}

static bool constant_slope(const dm_segment *s)
{
    /* The plane of the bend holds Z. */
    dm_vec3 axis = dm_vec3_cross(s->tangent, s->normal);
    return s->kappa == 0.0 || fabs(axis.z) < 1e-12;
}

/* Outside length from the begin of s to `into`. */
static double partial(const dm_outside *o, const dm_segment *s, double into)
{
    if (constant_slope(s))
        return into * slope(o, s, 0.5 * s->length);
    int steps = 1 + (int)(s->kappa * fabs(into) / 0.05);
    double h = into / steps, sum = 0.0;
    for (int k = 0; k < steps; k++)
        for (int i = 0; i < 4; i++) {
            double mid = (k + 0.5) * h, off = 0.5 * h * NODE[i];
            sum += 0.5 * h * WEIGHT[i] *
                   (slope(o, s, mid - off) + slope(o, s, mid + off));
        }
    return sum;
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
    const dm_segment *s = &o->line->segments[*hint];
    double into = t - s->t0;
    double l = o->begin[*hint];
    if (s->kappa == 0.0)
        return l + into;
    double inside = into < 0.0 ? 0.0 : into > s->length ? s->length : into;
    return l + partial(o, s, inside) + (into - inside);
}

/* Station within an arc where the outside length is `l` past its begin:
 * Newton with the exact slope; the slope stays near 1, so that few steps
 * reach rounding. */
static double solve(const dm_outside *o, const dm_segment *s, double l)
{
    if (constant_slope(s))
        return l / slope(o, s, 0.5 * s->length);
    double into = l, lo = 0.0, hi = s->length;
    for (int k = 0; k < 60; k++) {
        double error = partial(o, s, into) - l;
        if (error > 0.0)
            hi = into;
        else
            lo = into;
        double next = into - error / slope(o, s, into);
        if (!(next >= lo && next <= hi))
            next = 0.5 * (lo + hi);
        if (fabs(next - into) < 1e-15 * (1.0 + s->length))
            return next;
        into = next;
    }
    return into;
}

double dm_outside_inverse(const dm_outside *o, double l, size_t *hint)
{
    size_t n = o->line->count, i = *hint < n ? *hint : n - 1;
    while (i > 0 && l < o->begin[i])
        i--;
    while (i + 1 < n && l >= o->begin[i + 1])
        i++;
    *hint = i;
    const dm_segment *s = &o->line->segments[i];
    double past = l - o->begin[i];
    double whole = o->begin[i + 1] - o->begin[i];
    if (s->kappa == 0.0 || past <= 0.0)
        return s->t0 + past;
    if (past >= whole)
        return s->t0 + s->length + (past - whole);
    return s->t0 + solve(o, s, past);
}

double dm_outside_length(const dm_centreline *line, double r, double phi,
                         double t)
{
    dm_outside o = {line, r, phi, NULL};
    double l = 0.0;
    for (size_t i = 0; i < line->count; i++) {
        const dm_segment *s = &line->segments[i];
        bool last = i + 1 == line->count;
        if (t >= s->t0 + s->length && !last) {
            l += partial(&o, s, s->length);
            continue;
        }
        double into = t - s->t0;
        double inside = s->kappa == 0.0    ? into
                        : into < 0.0       ? 0.0
                        : into > s->length ? s->length
                                           : into;
        return l + partial(&o, s, inside) + (into - inside);
    }
    return l;
}

double dm_outside_station(const dm_centreline *line, double r, double phi,
                          double l)
{
    dm_outside o = {line, r, phi, NULL};
    double begin = 0.0;
    for (size_t i = 0; i < line->count; i++) {
        const dm_segment *s = &line->segments[i];
        double whole = partial(&o, s, s->length);
        bool last = i + 1 == line->count;
        if (l < begin + whole || last) {
            double past = l - begin;
            if (s->kappa == 0.0 || past <= 0.0)
                return s->t0 + past;
            if (past >= whole)
                return s->t0 + s->length + (past - whole);
            return s->t0 + solve(&o, s, past);
        }
        begin += whole;
    }
    return 0.0;
}
