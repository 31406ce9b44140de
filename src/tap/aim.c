/* SPDX-License-Identifier: MIT
 * Choosing a station in an interval with holes in it; the normal
 * distribution's mass between two uncertain ends. */
#include "tap/aim.h"

#include <math.h>

#define PI 3.14159265358979323846

/* Less than this height between the two ends: level, m per m. */
#define LEVEL 1e-3

/* End of the allowed part that begins at a; a itself is moved out of any
 * forbidden span. */
static double next_allowed(double *a, double to, const dm_span *no,
                           size_t count)
{
    double end = to;
    bool moved = true;

    while (moved) {
        moved = false;
        for (size_t i = 0; i < count; i++)
            if (no[i].from <= *a && no[i].to > *a) {
                *a = no[i].to;
                moved = true;
            }
    }
    for (size_t i = 0; i < count; i++)
        if (no[i].from > *a && no[i].from < end)
            end = no[i].from;
    return end;
}

/* Step in which crests and sags are looked for, m: shorter than any bend. */
#define STEP 0.1

typedef struct {
    bool any;
    double first, last, highest, lowest, z_high, z_low, middle, longest;
} allowed_part;

static void consider(allowed_part *p, const dm_centreline *line, double t)
{
    double z = dm_centreline_point(line, t).z;

    if (z > p->z_high) {
        p->z_high = z;
        p->highest = t;
    }
    if (z < p->z_low) {
        p->z_low = z;
        p->lowest = t;
    }
}

/* Where the slope changes its sign between a and b, by halving. */
static double turning(const dm_centreline *line, double a, double b)
{
    bool rising = dm_centreline_tangent(line, a).z > 0.0;

    for (int i = 0; i < 50; i++) {
        double mid = 0.5 * (a + b);

        if ((dm_centreline_tangent(line, mid).z > 0.0) == rising)
            a = mid;
        else
            b = mid;
    }
    return 0.5 * (a + b);
}

static void take(allowed_part *p, const dm_centreline *line, double from,
                 double to)
{
    size_t steps = (size_t)ceil((to - from) / STEP);

    if (!p->any) {
        *p = (allowed_part){.any = true,
                            .first = from,
                            .z_high = -HUGE_VAL,
                            .z_low = HUGE_VAL,
                            .longest = -1.0};
    }
    p->last = to;
    if (to - from > p->longest) {
        p->longest = to - from;
        p->middle = 0.5 * (from + to);
    }
    consider(p, line, from);
    for (size_t i = 0; i < steps; i++) {
        double a = from + (double)i * STEP, b = fmin(to, a + STEP);

        if ((dm_centreline_tangent(line, a).z > 0.0) !=
            (dm_centreline_tangent(line, b).z > 0.0))
            consider(p, line, turning(line, a, b));
    }
    consider(p, line, to);
}

bool dm_aim_choose(const dm_centreline *line, double from, double to,
                   const dm_span *no, size_t count, dm_aim aim, double *t,
                   bool *level)
{
    allowed_part p = {.any = false};

    for (double a = from; a <= to;) {
        double end = next_allowed(&a, to, no, count);

        if (a > to)
            break;
        take(&p, line, a, end);
        if (end >= to)
            break;
        a = end;
    }
    if (!p.any)
        return false;
    *level = p.z_high - p.z_low <= LEVEL * (to - from);
    switch (aim) {
    case DM_AIM_HIGH:
        *t = *level ? p.middle : p.highest;
        break;
    case DM_AIM_OUTLET:
        *t = *level ? p.last : p.highest;
        break;
    case DM_AIM_INLET:
        *t = *level ? p.first : p.lowest;
        break;
    case DM_AIM_MIDDLE:
        *t = p.middle;
        break;
    }
    return true;
}

/* Standard normal distribution function. */
static double normal_below(double z)
{
    return 0.5 * erfc(-z / sqrt(2.0));
}

double dm_enter_probability(double t, double from, double u_from, double to,
                            double u_to)
{
    double p = 1.0;

    if (u_from >= 0.0)
        p -= u_from > 0.0 ? normal_below((from - t) / u_from)
                          : (t < from ? 1.0 : 0.0);
    if (u_to >= 0.0)
        p -= u_to > 0.0 ? normal_below((t - to) / u_to) : (t > to ? 1.0 : 0.0);
    return p > 0.0 ? p : 0.0;
}

double dm_wrap(double angle)
{
    double a = remainder(angle, 2.0 * PI);

    return a <= -PI ? a + 2.0 * PI : a;
}

double dm_tape_line(double clock)
{
    double a = dm_wrap(clock);

    if (fabs(a) <= 0.5 * PI + 1e-12)
        return 0.0;
    if (fabs(a) > 0.75 * PI)
        return PI;
    return a > 0.0 ? 0.5 * PI : 1.5 * PI;
}
