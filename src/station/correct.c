/* SPDX-License-Identifier: MIT
 * The field book as a hypothesis would have it. A skip that nobody wrote down
 * may lie anywhere in its interval: with F the part of the travel that is
 * behind, a reading has passed it with probability F, so that the mean is
 * b F and the variance that comes of not knowing the place b^2 F (1 - F)
 * (Bernoulli); both keep the form of a piece. */
#include <math.h>

#include "station/system.h"

static const correction *find(const station_system *s, dm_blunder kind,
                              size_t at, size_t event)
{
    const station_freedom *g = s->given;
    for (size_t i = 0; g && i < g->correction_count; i++) {
        const correction *c = &g->corrections[i];
        if (c->kind == kind && c->path == at &&
            (event == DM_NONE || c->event == event))
            return c;
    }
    return NULL;
}

double station_direction(const station_system *s, size_t at, const dm_run *run)
{
    double dir = run->direction == DM_SIDE_AHEAD ? 1.0 : -1.0;
    return find(s, DM_BLUNDER_REVERSED, at, DM_NONE) ? -dir : dir;
}

/* The face of the tie that is as far from the run's other end. */
static size_t mirrored_face(const dm_run *run, size_t event)
{
    size_t before = 0, count = 0;
    for (size_t i = 0; i < run->event_count; i++)
        if (run->events[i].kind == DM_EVENT_START ||
            run->events[i].kind == DM_EVENT_TIE) {
            before += i < event;
            count++;
        }
    size_t wanted = count - 1 - before;
    for (size_t i = 0; i < run->event_count; i++)
        if ((run->events[i].kind == DM_EVENT_START ||
             run->events[i].kind == DM_EVENT_TIE) &&
            wanted-- == 0)
            return run->events[i].face;
    return run->events[event].face;
}

size_t station_event_face(const station_system *s, size_t at, size_t event)
{
    const dm_run *run = s->paths[at].run;
    const correction *c = find(s, DM_BLUNDER_WRONG_FACE, at, event);
    if (c && c->face != DM_NONE)
        return c->face;
    c = find(s, DM_BLUNDER_REVERSED, at, DM_NONE);
    return c && c->mirrored ? mirrored_face(run, event)
                            : run->events[event].face;
}

bool station_skip_void(const station_system *s, size_t at, size_t event)
{
    return find(s, DM_BLUNDER_SKIP_TWICE, at, event) != NULL;
}

/* Its path is the first that has the scale, which is the one that asks. */
double station_scale_sd(const station_system *s, const path *p)
{
    double u = p->instrument->scale_u;
    return find(s, DM_BLUNDER_SCALE, (size_t)(p - s->paths), DM_NONE)
               ? sqrt(u * u + STATION_SCALE_U * STATION_SCALE_U)
               : u;
}

double station_fraction(const station_system *s, const correction *c,
                        const knot *k)
{
    const tie *b = &s->ties[s->interval_tie[c->interval]];
    double travel = c->rolled_to - c->rolled_from;
    if (!(travel > 0.0))
        return k->event >= s->knots[b->knot].event ? 1.0 : 0.0;
    return fmin(fmax((k->rolled - c->rolled_from) / travel, 0.0), 1.0);
}

static bool comes_by(const dm_run *run, size_t i, double x0, double x)
{
    return run->events[i - 1].kind == DM_EVENT_READINGS && x > x0 &&
           x < run->events[i].x;
}

bool station_bound(const station_system *s, size_t at, size_t i, double x0,
                   size_t n, double *x)
{
    const correction *c = &s->given->corrections[n / 2];
    *x = n % 2 == 0 ? c->x_from : c->x_to;
    return c->path == at && c->x_to > c->x_from && i > c->event_from &&
           i <= c->event_to && comes_by(s->paths[at].run, i, x0, *x);
}

bool station_place_met(const station_system *s, const dm_interval *interval,
                       double x_from, double x_to)
{
    const dm_run *run = s->paths[interval->run].run;
    int from = 0, to = 0;
    double x = run->events[interval->event_from].x;
    for (size_t i = interval->event_from + 1; i <= interval->event_to; i++) {
        const dm_event *e = &run->events[i];
        bool reseat = e->kind == DM_EVENT_SKIP || e->kind == DM_EVENT_REZERO;
        if (!reseat && i < interval->event_to)
            continue;
        from += comes_by(run, i, x, x_from);
        to += comes_by(run, i, x, x_to);
        x = isnan(e->x_resume) ? e->x : e->x_resume;
    }
    return from == 1 && to == 1;
}

/* Between its ties, or between the knots that bound its place. */
static void find_place(const station_system *s, size_t number)
{
    correction *c = &s->given->corrections[number];
    const path *p = &s->paths[c->path];
    const tie *b = &s->ties[s->interval_tie[c->interval]];
    c->rolled_from = s->knots[b[-1].knot].rolled;
    c->rolled_to = s->knots[b->knot].rolled;
    for (size_t k = p->first_knot; k < p->first_knot + p->knot_count; k++) {
        if (s->knots[k].bound == 2 * number)
            c->rolled_from = s->knots[k].rolled;
        if (s->knots[k].bound == 2 * number + 1)
            c->rolled_to = s->knots[k].rolled;
    }
}

void station_place_missing(station_system *s)
{
    const station_freedom *g = s->given;
    for (size_t i = 0; g && i < g->correction_count; i++) {
        const correction *c = &g->corrections[i];
        if (c->kind != DM_BLUNDER_SKIP_MISSING && c->kind != DM_BLUNDER_JUMP)
            continue;
        const path *p = &s->paths[c->path];
        find_place(s, i);
        for (size_t k = p->first_knot; k < p->first_knot + p->knot_count; k++) {
            knot *n = &s->knots[k];
            double part = p->dir * station_fraction(s, c, n);
            n->row[c->unknown] += part;
            n->nominal += part * c->length;
        }
    }
}
