/* SPDX-License-Identifier: MIT
 * Where strands may lie at a station: the bridge file's strand sides, those
 * derived from bends, what openings touched, and what turns and clock lines
 * read: below the soft threshold lies either soft grout or a strand, and a
 * drill has to take it for a strand, but where the calibration's materials
 * told that it is soft grout. */
#include <math.h>
#include <stdlib.h>

#include "indication/posterior.h"
#include "tap/work.h"

#define PI 3.14159265358979323846
/* A turn tells of strands up to so far from it, m: strands run straight. */
#define REACH 0.5
/* Index below which a cell of a turn is taken for a strand: the default band
 * of soft-like, or where the noise is greater 4.5 of its deviations. */
#define SEEN_BELOW 0.25
#define SEEN_SIGMAS 4.5
/* Of the side that a clock line tells, rad: a line reads a strand up to two of
 * them beside where it touches the wall. */
#define LINE_U (0.5 * DM_STRAND_FLANK)
/* Of the side that an opening tells, rad: a bit meets a bundle up to two of
 * them, 40 deg, beside where that touches the wall. Chosen, no source. */
#define TOUCHED_U (PI / 9.0)

static bool is_strand(const dm_turn *turn, size_t cell)
{
    double limit = fmax(SEEN_BELOW, SEEN_SIGMAS * turn->noise);

    return turn->index[cell % turn->cell_count] < -limit;
}

/* Runs of cells below the limit; the circle is cut where one ends. */
static size_t seen(const dm_turn *turn, dm_tap_side *sides)
{
    size_t n = turn->cell_count, start = 0, count = 0;
    double step = 2.0 * PI / (double)n;

    while (start < n && is_strand(turn, start))
        start++;
    if (start == n) {
        /* All round: no angle is free. */
        sides[0] = (dm_tap_side){{0.0, PI}, DM_STRAND_SIDE_SEEN};
        return 1;
    }
    for (size_t i = start + 1; i < start + n; i++) {
        size_t first = i;

        while (i < start + n && is_strand(turn, i))
            i++;
        if (i == first)
            continue;
        /* Its half width is two standard uncertainties of where the wall is
         * touched. */
        sides[count++] =
            (dm_tap_side){{fmod(step * 0.5 * (double)(first + i - 1), 2.0 * PI),
                           0.25 * step * (double)(i - first)},
                          DM_STRAND_SIDE_SEEN};
    }
    return count;
}

bool dm_tap_turn_near(const dm_placer *p, double t)
{
    const dm_indications *in = p->indications;

    for (size_t i = 0; i < in->turn_count; i++)
        if (fabs(in->turns[i].t - t) <= REACH && in->turns[i].cell_count > 0)
            return true;
    return false;
}

/* Soft grout or a strand, and nothing tells which. */
static bool may_be_strand(const dm_indication *i)
{
    return i->index < 0.0 &&
           !(i->posterior.known && i->kind == DM_KIND_SOFT_LIKE);
}

/* A turn that read the line's clock angle knows the side better. */
static bool told_by_turn(const dm_tap_side *seen, size_t count, double clock)
{
    for (size_t i = 0; i < count; i++)
        if (seen[i].basis == DM_STRAND_SIDE_SEEN &&
            fabs(dm_wrap(clock - seen[i].at.clock)) <= 2.0 * seen[i].at.u)
            return true;
    return false;
}

/* Clock lines that read below 0 at t. `turned`: sides before them. */
static size_t lines(const dm_placer *p, double t, double slack,
                    const dm_tap_side *turned, size_t turned_count,
                    dm_tap_side *sides)
{
    const dm_indications *in = p->indications;
    size_t k = 0;

    for (size_t i = 0; i < in->count; i++) {
        const dm_indication *item = &in->items[i];

        if (!may_be_strand(item) || t < item->from.t - slack ||
            t > item->to.t + slack)
            continue;
        for (size_t l = 0; l <= in->profile_count; l++) {
            double clock =
                l < in->profile_count ? in->profiles[l].clock : item->clock;

            if ((l < in->profile_count &&
                 !(dm_tap_line_index(p, item, clock) < -SEEN_BELOW)) ||
                told_by_turn(turned, turned_count, clock))
                continue;
            sides[k++] = (dm_tap_side){{clock, LINE_U}, DM_STRAND_SIDE_SEEN};
        }
    }
    return k;
}

/* Strands that an opening nearby touched. */
static size_t touched(const dm_placer *p, double t, dm_tap_side *sides)
{
    const dm_indications *in = p->indications;
    size_t k = 0;

    for (size_t i = 0; i < in->opening_count; i++) {
        const dm_opening *o = &in->openings[i].what;

        if ((o->strand || o->found == DM_FOUND_STRAND) &&
            fabs(o->t - t) <= REACH)
            sides[k++] =
                (dm_tap_side){{o->clock, TOUCHED_U}, DM_STRAND_SIDE_SEEN};
    }
    return k;
}

bool dm_tap_sides(const dm_placer *p, double t, double u, dm_tap_side **sides,
                  size_t *count)
{
    const dm_tendon *n = p->tendon;
    const dm_indications *in = p->indications;
    const dm_settings *set = &p->job->settings;
    double slack = set->coverage_factor * u + set->tap_margin + 0.5 * set->bit;
    size_t room = n->strand_side_count + in->count * (in->profile_count + 1) +
                  in->opening_count + 1;
    size_t k = 0;

    for (size_t i = 0; i < in->turn_count; i++)
        room += in->turns[i].cell_count / 2 + 1;
    *count = 0;
    *sides = calloc(room, sizeof **sides);
    if (*sides == NULL)
        return false;
    for (size_t i = 0; i < n->strand_side_count; i++) {
        const dm_strand_side *s = &n->strand_sides[i];

        if (s->from - slack <= t && s->to + slack >= t)
            (*sides)[k++] = (dm_tap_side){{s->clock, s->u},
                                          s->derived ? DM_STRAND_SIDE_DERIVED
                                                     : DM_STRAND_SIDE_STATED};
    }
    for (size_t i = 0; i < in->turn_count; i++)
        if (fabs(in->turns[i].t - t) <= REACH && in->turns[i].cell_count > 0)
            k += seen(&in->turns[i], *sides + k);
    k += lines(p, t, slack, *sides, k, *sides + k);
    k += touched(p, t, *sides + k);
    *count = k;
    return true;
}

dm_crew_angle dm_tap_crew(const dm_placer *p, double t)
{
    const dm_settings *s = &p->job->settings;
    const dm_duct_type *duct = dm_tendon_duct(p->model, p->tendon, t);
    double bore = dm_duct_bore(duct);
    dm_crew_angle crew = {.k = s->coverage_factor};

    crew.u_clock = hypot(s->clock_u, s->mark_u / (0.5 * duct->od));
    crew.bit = bore > 0.5 * s->bit ? asin(0.5 * s->bit / bore) : 0.5 * PI;
    return crew;
}

void dm_tap_strands(const dm_placer *p, const dm_tap_side *sides, size_t count,
                    dm_tap *tap)
{
    dm_section section = dm_tendon_section(p->model, p->tendon, tap->t);
    dm_crew_angle crew = dm_tap_crew(p, tap->t);
    double depth = tap->depth_stop - tap->wall_min;

    tap->strands = DM_STRAND_SIDE_UNKNOWN;
    tap->strand_clock = tap->u_strand_clock = (double)NAN;
    tap->strand_gap = tap->strand_gap_low = (double)NAN;
    for (size_t i = 0; i < count; i++) {
        double low, gap = dm_strand_gap(&section, &sides[i].at, tap->clock,
                                        &crew, &low);

        if (i > 0 && !(low < tap->strand_gap_low))
            continue;
        tap->strands = sides[i].basis;
        tap->strand_clock = sides[i].at.clock;
        tap->u_strand_clock = sides[i].at.u;
        tap->strand_gap = gap;
        tap->strand_gap_low = low;
    }
    tap->p_contact =
        dm_contact_probability(&section, NULL, tap->clock, &crew, depth);
    if (count > 0)
        tap->p_contact = 0.0;
    for (size_t i = 0; i < count; i++) {
        double c = dm_contact_probability(&section, &sides[i].at, tap->clock,
                                          &crew, depth);

        /* Independent bundles do not exist: the worst side counts. */
        if (isnan(c) || c > tap->p_contact)
            tap->p_contact = c;
    }
    /* The wall may be thinner than its nominal one: nothing is known. */
    if (tap->wall_assumed)
        tap->p_contact = (double)NAN;
}
