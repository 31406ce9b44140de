/* SPDX-License-Identifier: MIT
 * What of an indication is surely inside it: along the axis, round the duct.
 *
 * A length shorter than the footprint is only known to be at least
 * 0.6 |index| footprints long (the plateau cannot exceed 1, and no kernel is
 * narrower than 0.6 of its footprint); that much about its middle counts. The
 * same round the duct where no turn was made, about the clock line that read
 * it: the chance is then a lower bound.
 *
 * From a turn to the mark the surface is taken to be level: the void's depth
 * changes by dt tan(slope). The surface's own tilt (thixotropic grout does not
 * set quite level) is taken as 2 deg, standard: common practice, no source. */
#include <math.h>

#include "geom/clock.h"
#include "tap/work.h"

#define PI 3.14159265358979323846
#define NARROWEST 0.6
#define TILT (2.0 * PI / 180.0)

typedef struct {
    double along, around;
} footprint;

/* The least of the runs that show it. */
static footprint footprint_of(const dm_placer *p, const dm_indication *i)
{
    footprint f = {HUGE_VAL, HUGE_VAL};

    for (size_t r = 0; r < i->run_count; r++) {
        const dm_run *run = &p->survey->runs[i->runs[r]];
        const dm_instrument *s = &p->survey->instruments[run->instrument];

        for (size_t c = 0; c < s->channel_count; c++) {
            f.along = fmin(f.along, s->channels[c].footprint_along);
            f.around = fmin(f.around, s->channels[c].footprint_around);
        }
    }
    return (footprint){f.along < HUGE_VAL ? f.along : 0.0,
                       f.around < HUGE_VAL ? f.around : 0.0};
}

dm_sure dm_tap_sure(const dm_placer *p, const dm_indication *i, size_t face)
{
    double mark = p->job->settings.mark_u;
    dm_sure s = {i->from.t, hypot(dm_tap_end_u(&i->from, face), mark), i->to.t,
                 hypot(dm_tap_end_u(&i->to, face), mark)};

    if (i->shorter_than_footprint) {
        double mid = 0.5 * (i->from.t + i->to.t);
        double half =
            0.5 * NARROWEST * fabs(i->index) * footprint_of(p, i).along;

        s.from = mid - half;
        s.to = mid + half;
    }
    return s;
}

double dm_tap_axis_chance(const dm_indication *i, const dm_sure *s, double t)
{
    return dm_enter_probability(t, s->from, i->from.open ? -1.0 : s->u_from,
                                s->to, i->to.open ? -1.0 : s->u_to);
}

/* From the turn's station to t along a level surface. */
static void carry(const dm_placer *p, const dm_turn *turn, double t,
                  dm_void_arc *arc)
{
    double rise = dm_centreline_tangent(&p->tendon->line, turn->t).z;
    double slope = asin(fmax(-1.0, fmin(1.0, rise)));
    double dt = t - turn->t, r = turn->bore, h, u, s;

    if (arc->half >= PI || !(r > 0.0))
        return;
    h = r * (1.0 - cos(arc->half));
    u = hypot(r * sin(arc->half) * arc->u_half, fabs(dt) * TILT);
    h = fmax(0.0, fmin(2.0 * r, h + dt * tan(slope)));
    arc->half = acos(1.0 - h / r);
    s = r * sin(arc->half);
    /* Where the chord is a point the angle's error has no bound: half a turn.
     */
    arc->u_half = s > 0.0 ? fmin(PI, fmax(u / s, arc->u_half)) : PI;
}

static dm_void_arc of_fit(const dm_segment_fit *fit)
{
    return (dm_void_arc){fit->centre, fit->centre_u, fit->half_angle,
                         fit->half_angle_u, 0.0};
}

static dm_void_arc of_arc(const dm_placer *p, const dm_indication *i,
                          const dm_turn *turn, const dm_arc *a)
{
    double width = fmod(a->to - a->from + 4.0 * PI, 2.0 * PI);
    double u = 0.5 * hypot(a->u_from, a->u_to);
    dm_void_arc arc = {a->from + 0.5 * width, u, 0.5 * width, u, 0.0};

    if (a->whole)
        return (dm_void_arc){0.0, 0.0, PI, 0.0, 0.0};
    if (a->shorter)
        arc.half = fmin(arc.half, 0.5 * NARROWEST * fabs(a->index) *
                                      footprint_of(p, i).around / turn->bore);
    return arc;
}

/* The nearest turn of the indication that saw a void. */
static const dm_turn *nearest_turn(const dm_placer *p, const dm_indication *i,
                                   double t)
{
    const dm_indications *in = p->indications;
    const dm_turn *best = NULL;

    for (size_t k = 0; k < in->turn_count; k++) {
        const dm_turn *turn = &in->turns[k];

        if (turn->indication < in->count && &in->items[turn->indication] == i &&
            turn->arc_count > 0 &&
            (best == NULL || fabs(turn->t - t) < fabs(best->t - t)))
            best = turn;
    }
    return best;
}

static void put(dm_void_arc *arcs, size_t most, size_t *count, dm_void_arc arc)
{
    size_t at = *count < most ? (*count)++ : most;

    while (at > 0 && arcs[at - 1].half < arc.half) {
        if (at < most)
            arcs[at] = arcs[at - 1];
        at--;
    }
    if (at < most)
        arcs[at] = arc;
}

double dm_tap_line_index(const dm_placer *p, const dm_indication *i,
                         double clock)
{
    const dm_indications *in = p->indications;
    double length = i->to.t - i->from.t, sum = 0.0, n = 0.0;
    double off = fmin(0.5 * footprint_of(p, i).along, 0.25 * length);

    for (size_t l = 0; l < in->profile_count; l++) {
        const dm_profile *line = &in->profiles[l];

        if (!dm_same_line(line->clock, clock))
            continue;
        for (size_t k = 0; k < line->count; k++) {
            double at = line->from + ((double)k + 0.5) * line->pitch;

            if (at < i->from.t + off || at > i->to.t - off ||
                isnan((double)line->index[k]))
                continue;
            sum += (double)line->index[k];
            n += 1.0;
        }
    }
    return n > 0.0 ? sum / n : (double)NAN;
}

/* What the footprint round the duct must have held about a clock line, of its
 * index. */
static double held(const dm_placer *p, const dm_indication *i, double t,
                   double index)
{
    double r = 0.5 * dm_tendon_duct(p->model, p->tendon, t)->od;

    return 0.5 * NARROWEST * fabs(index) * footprint_of(p, i).around / r;
}

/* About the line where it was strongest by the plateau, about the others that
 * show it by what they read. */
static size_t line_arcs(const dm_placer *p, const dm_indication *i, double t,
                        dm_void_arc *arcs, size_t most)
{
    double u =
        p->job->settings.clock_u; /* the operator's line, as the crew's */
    size_t count = 0;

    put(arcs, most, &count,
        (dm_void_arc){i->clock, u, held(p, i, t, i->index), 0.0, 0.0});
    for (size_t k = 0; k < i->run_count; k++) {
        const dm_run *run = &p->survey->runs[i->runs[k]];
        double index;

        if (p->survey->instruments[run->instrument].channel_count != 1 ||
            dm_same_line(run->clock, i->clock))
            continue;
        index = dm_tap_line_index(p, i, run->clock);
        if (index * i->index > 0.0)
            put(arcs, most, &count,
                (dm_void_arc){run->clock, u,
                              held(p, i, t, fmin(fabs(index), fabs(i->index))),
                              0.0, 0.0});
    }
    return count;
}

size_t dm_tap_arcs(const dm_placer *p, const dm_indication *i, double t,
                   dm_void_arc *arcs, size_t most, bool *turned)
{
    const dm_turn *turn = nearest_turn(p, i, t);
    size_t count = 0;

    *turned = turn != NULL;
    if (turn == NULL)
        return line_arcs(p, i, t, arcs, most);
    for (size_t k = 0; k < turn->arc_count; k++) {
        bool fitted = k == turn->arc && turn->fit.valid &&
                      !(turn->apart > 2.0) && !turn->arcs[k].whole;
        dm_void_arc arc =
            fitted ? of_fit(&turn->fit) : of_arc(p, i, turn, &turn->arcs[k]);

        carry(p, turn, t, &arc);
        /* The line that read the indication runs through this arc. */
        if (fabs(dm_wrap(i->clock - arc.mid)) <= arc.half + 2.0 * arc.u_half)
            arc.least = fmin(arc.half, held(p, i, t, i->index));
        put(arcs, most, &count, arc);
    }
    return count;
}
