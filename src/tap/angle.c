/* SPDX-License-Identifier: MIT
 * Clock angle of a hole.
 *
 * With e, the error of mark and middle, normal, and the half angle normal too
 * but above what the clock line
 * itself must have held:
 *
 *     P = integral over half > least of P(|clock - mid + e| <= half) f(half)
 *
 * by the midpoint rule over five standard deviations.
 *
 * Gap: the circle of the bundle against the wall on the strand side
 * (section.h). It grows with the distance from the strand side, so that its
 * lower bound stands k u, k times the crew's error (root of their squares) and
 * half a bit nearer. Where the bundle is small against the bore the line may
 * miss it; the least of all angles from there on to the far side is taken.
 *
 * Contact: the same gap, integrated over the strand side's distribution by the
 * midpoint rule; 0.25 deg steps at most. */
#include "tap/angle.h"

#include <math.h>

#include "tap/aim.h"

#define PI 3.14159265358979323846
/* Steps tried on each side of the middle. */
#define CHOICES 60
#define STEPS 1440
#define QUARTER_HOUR (PI / 24.0)
#define SAMPLES 64
/* Of the half angle, over SIGMAS standard deviations to both sides. */
#define HALVES 100
#define SIGMAS 5.0

double dm_arc_probability(const dm_void_arc *arc, double clock, double u_clock)
{
    double s = hypot(arc->u_mid, u_clock), d = dm_wrap(clock - arc->mid);
    double reach = SIGMAS * arc->u_half, inside = 0.0, all = 0.0;

    if (arc->half >= PI)
        return 1.0;
    if (!(arc->u_half > 0.0))
        return dm_enter_probability(d, -arc->half, s, arc->half, s);
    for (int i = 0; i < HALVES; i++) {
        double z = 2.0 * ((double)i + 0.5) / HALVES - 1.0;
        double half = arc->half + reach * z;
        double weight = exp(-0.5 * SIGMAS * SIGMAS * z * z);

        if (half <= arc->least)
            continue;
        all += weight;
        inside +=
            weight *
            (half >= PI ? 1.0 : dm_enter_probability(d, -half, s, half, s));
    }
    if (all > 0.0)
        return inside / all;
    /* The turn says less than the line held: that. */
    return dm_enter_probability(d, -arc->least, s, arc->least, s);
}

/* Least gap from `a` on to the far side; a in 0..pi. */
static double least_gap(const dm_section *section, double a)
{
    double least = dm_section_gap(section, a);

    for (int i = 1; i <= SAMPLES; i++)
        least = fmin(
            least, dm_section_gap(section, a + (PI - a) * i / (double)SAMPLES));
    return least;
}

static double slack_of(const dm_strands_at *side, const dm_crew_angle *crew)
{
    return crew->k * hypot(side->u, crew->u_clock) + crew->bit;
}

double dm_strand_gap(const dm_section *section, const dm_strands_at *side,
                     double clock, const dm_crew_angle *crew, double *low)
{
    double a;

    *low = (double)NAN;
    if (side == NULL || isnan(section->bundle_radius))
        return (double)NAN;
    a = fabs(dm_wrap(clock - side->clock));
    *low = least_gap(section, fmax(0.0, a - slack_of(side, crew)));
    return dm_section_gap(section, a);
}

/* Gap at the edge of the bit that is nearer to the strands. */
static double gap_at_bit(const dm_section *section, double a, double bit)
{
    double near = fmax(0.0, fabs(dm_wrap(a)) - bit);

    return fmin(dm_section_gap(section, near), dm_section_gap(section, a));
}

double dm_contact_probability(const dm_section *section,
                              const dm_strands_at *side, double clock,
                              const dm_crew_angle *crew, double depth)
{
    double u, step, sum = 0.0, touching = 0.0;

    if (!(depth > 0.0))
        return 0.0;
    if (isnan(section->bundle_radius))
        return (double)NAN;
    u = side != NULL ? hypot(side->u, crew->u_clock) : HUGE_VAL;
    if (u <= 0.0)
        return gap_at_bit(section, clock - side->clock, crew->bit) <= depth
                   ? 1.0
                   : 0.0;
    step = fmin(2.0 * PI, 12.0 * u) / STEPS;
    for (int i = 0; i < STEPS; i++) {
        double e = ((double)i + 0.5 - 0.5 * STEPS) * step;
        double weight = isinf(u) ? 1.0 : exp(-0.5 * (e / u) * (e / u));
        double a = side != NULL ? clock - side->clock - e : e;

        sum += weight;
        if (gap_at_bit(section, a, crew->bit) <= depth)
            touching += weight;
    }
    return touching / sum;
}

bool dm_strands_leave(const dm_section *section, const dm_strands_at *sides,
                      size_t count, double clock, double room,
                      const dm_crew_angle *crew)
{
    for (size_t i = 0; i < count; i++) {
        double low;

        dm_strand_gap(section, &sides[i], clock, crew, &low);
        if (isnan(low) ? fabs(dm_wrap(clock - sides[i].clock)) <=
                             slack_of(&sides[i], crew) + QUARTER_HOUR
                       : low < room)
            return false;
    }
    return true;
}

bool dm_clock_choose(const dm_void_arc *arc, const dm_section *section,
                     const dm_strands_at *sides, size_t side_count, double room,
                     const dm_crew_angle *crew, double *clock, double *p)
{
    return dm_clock_choose_free(arc, section, sides, side_count, room, crew,
                                NULL, NULL, clock, p);
}

bool dm_clock_choose_free(const dm_void_arc *arc, const dm_section *section,
                          const dm_strands_at *sides, size_t side_count,
                          double room, const dm_crew_angle *crew,
                          dm_clock_free *is_free, void *user, double *clock,
                          double *p)
{
    double width = fmin(arc->half, PI);
    bool found = false;

    for (int i = 0; i <= 2 * CHOICES; i++) {
        /* The middle first, then both sides in turn, outwards. */
        double d =
            (double)((i + 1) / 2) * (i % 2 == 0 ? -1.0 : 1.0) * width / CHOICES;
        double chance = dm_arc_probability(arc, arc->mid + d, crew->u_clock);
        double at = fmod(arc->mid + d + 6.0 * PI, 2.0 * PI);

        if ((found && chance <= *p + 1e-12) ||
            !dm_strands_leave(section, sides, side_count, arc->mid + d, room,
                              crew) ||
            (is_free != NULL && !is_free(user, at)))
            continue;
        found = true;
        *p = chance;
        *clock = at;
    }
    return found;
}
