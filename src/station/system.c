/* SPDX-License-Identifier: MIT
 * From the events of a tendon's runs to unknowns, knots and observations.
 * A leg is what lies between two re-seats; inside it knots are ordered by run
 * distance and chained outward from the leg's first, so that the walk adds up
 * over the sequence of events and not over x. */
#include "station/system.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"

/* No observation is taken to be better than this, m: a better one would drown
 * the rest in rounding. A prior may be nearly exact, it stands on the diagonal
 * alone. */
#define LEAST_U 1e-6
#define LEAST_PRIOR 1e-9

static double or_default(double value, double fallback)
{
    return isnan(value) || value < 0.0 ? fallback : value;
}

double station_face_length(const station_system *s, size_t face, double phi)
{
    const dm_face *f = &s->tendon->faces[face];
    double t = dm_face_station(s->tendon, f, s->radius, phi);
    return dm_outside_length(&s->tendon->line, s->radius, phi, t);
}

static size_t add_unknown(station_system *s, double sd)
{
    s->variance[s->n] =
        isinf(sd) ? (double)INFINITY : fmax(sd * sd, LEAST_PRIOR * LEAST_PRIOR);
    return s->n++;
}

static bool is_tie(const dm_event *e)
{
    return e->kind == DM_EVENT_START || e->kind == DM_EVENT_TIE;
}

static bool is_reseat(const dm_event *e)
{
    return e->kind == DM_EVENT_SKIP || e->kind == DM_EVENT_REZERO;
}

/* ---- which events can be used ------------------------------------------- */

/* A skip of unknown length needs a tie behind it; without one the run ends
 * there. A run without any tie hangs on nothing. */
static void find_event_end(path *p, const char *subject, dm_diag *diag)
{
    size_t open = DM_NONE;
    bool tied = false;
    p->event_end = p->run->event_count;
    for (size_t i = 0; i < p->run->event_count; i++) {
        const dm_event *e = &p->run->events[i];
        if (e->kind == DM_EVENT_SKIP && !e->length_known && open == DM_NONE)
            open = i;
        if (is_tie(e))
            open = DM_NONE;
        tied = tied || is_tie(e);
    }
    if (!tied) {
        p->event_end = 0;
        dm_error(diag, DM_INCONSISTENT, p->run->place, subject,
                 "run %s has neither a start nor a tie: it is left out",
                 p->run->id);
        return;
    }
    if (open == DM_NONE)
        return;
    p->event_end = open;
    dm_error(diag, DM_INCONSISTENT, p->run->events[open].place, subject,
             "run %s: a skip of unknown length and no tie after it: the "
             "readings after it are left out",
             p->run->id);
}

/* ---- unknowns that runs share ------------------------------------------- */

static size_t shared_scale(const station_system *s, size_t count, const path *p)
{
    for (size_t i = 0; i < count; i++)
        if (s->paths[i].instrument == p->instrument &&
            p->instrument->scale_shared)
            return s->paths[i].scale;
    return DM_NONE;
}

static size_t shared_tape(const station_system *s, size_t count, const path *p)
{
    for (size_t i = 0; i < count; i++)
        if (p->run->tape && s->paths[i].run->tape &&
            strcmp(s->paths[i].run->tape, p->run->tape) == 0)
            return s->paths[i].tape;
    return DM_NONE;
}

static void add_path(station_system *s, size_t run, dm_diag *diag)
{
    path *p = &s->paths[s->path_count];
    *p = (path){.run = &s->survey->runs[run], .index = run};
    p->instrument = &s->survey->instruments[p->run->instrument];
    p->dir = p->run->direction == DM_SIDE_AHEAD ? 1.0 : -1.0;
    p->scale = shared_scale(s, s->path_count, p);
    if (p->scale == DM_NONE)
        p->scale = add_unknown(s, p->instrument->scale_u);
    p->tape = shared_tape(s, s->path_count, p);
    if (p->tape == DM_NONE && p->run->tape && p->run->tape_u > 0.0)
        p->tape = add_unknown(s, p->run->tape_u);
    find_event_end(p, s->tendon->id, diag);
    if (p->event_end > 0)
        p->begin = add_unknown(s, (double)INFINITY);
    s->path_count++;
}

/* ---- knots --------------------------------------------------------------- */

static knot *new_knot(station_system *s, size_t event, size_t leg, double x)
{
    knot *k = &s->knots[s->knot_count++];
    *k = (knot){.event = event,
                .leg = leg,
                .x = x,
                .from = DM_NONE,
                .walk = DM_NONE,
                .skip = DM_NONE};
    return k;
}

/* Sorts the knots of one leg, [first, s->knot_count), by x; equal x keep the
 * order of events. Returns where the leg's base (event order first) went. */
static size_t sort_leg(station_system *s, size_t first)
{
    size_t base = first;
    for (size_t i = first + 1; i < s->knot_count; i++) {
        knot k = s->knots[i];
        size_t j = i;
        while (j > first && s->knots[j - 1].x > k.x) {
            s->knots[j] = s->knots[j - 1];
            if (base == j - 1)
                base = j;
            j--;
        }
        s->knots[j] = k;
    }
    return base;
}

static void chain_to(station_system *s, const path *p, size_t at, size_t from)
{
    knot *k = &s->knots[at];
    k->from = from;
    k->travel = (k->x - s->knots[from].x) * p->instrument->scale;
    if (k->travel != 0.0 && p->instrument->walk > 0.0)
        k->walk = add_unknown(s, p->instrument->walk * sqrt(fabs(k->travel)));
}

/* Closes a leg: order, chain, and the index of the knot of event `last`. */
static size_t close_leg(station_system *s, const path *p, size_t first,
                        size_t last)
{
    size_t base = sort_leg(s, first), found = base;
    for (size_t i = base + 1; i < s->knot_count; i++)
        chain_to(s, p, i, i - 1);
    for (size_t i = base; i-- > first;)
        chain_to(s, p, i, i + 1);
    for (size_t i = first; i < s->knot_count; i++)
        if (s->knots[i].event == last && i != base)
            found = i;
    return found;
}

static void cross_skip(station_system *s, const path *p, const dm_event *e,
                       knot *k)
{
    if (e->kind == DM_EVENT_REZERO)
        return;
    if (!e->length_known) {
        k->skip = add_unknown(s, (double)INFINITY);
        return;
    }
    k->moved = k->taped = e->length;
    if (e->basis == DM_SKIP_GAP)
        k->moved += p->instrument->nose + p->instrument->tail;
    double u = or_default(e->u, s->settings->skip_u);
    if (u > 0.0)
        k->skip = add_unknown(s, u);
}

static void add_knots(station_system *s, path *p)
{
    size_t leg = 0, first = s->knot_count;
    p->first_knot = first;
    for (size_t i = 0; i < p->event_end; i++) {
        const dm_event *e = &p->run->events[i];
        if (is_tie(e))
            new_knot(s, i, leg, e->x);
        if (!is_reseat(e) || s->knot_count == first)
            continue;
        new_knot(s, i, leg, e->x);
        size_t end = close_leg(s, p, first, i);
        first = s->knot_count;
        double resume = isnan(e->x_resume) ? e->x : e->x_resume;
        knot *k = new_knot(s, i, ++leg, resume);
        k->from = end;
        cross_skip(s, p, e, k);
    }
    if (s->knot_count > first)
        close_leg(s, p, first, DM_NONE);
    p->knot_count = s->knot_count - p->first_knot;
}

/* ---- ties and intervals ---------------------------------------------------
 */

static size_t knot_of_event(const station_system *s, const path *p,
                            size_t event)
{
    for (size_t i = 0; i < p->knot_count; i++)
        if (s->knots[p->first_knot + i].event == event)
            return p->first_knot + i;
    return DM_NONE;
}

/* Where the encoder contact stood if the book is right, outside length. */
static double tie_target(const station_system *s, const path *p,
                         const dm_event *e)
{
    const dm_instrument *in = p->instrument;
    const dm_face *f = &s->tendon->faces[e->face];
    double offset = 0.0;
    if (e->with == DM_WITH_NOSE)
        offset = in->nose;
    else if (e->with == DM_WITH_TAIL)
        offset = -in->tail;
    else if (e->with == DM_WITH_ELECTRODE && in->channel_count > 0)
        offset = in->channels[0].lead;
    double distance = isnan(e->distance) ? 0.0 : e->distance;
    return station_face_length(s, e->face, p->run->clock) +
           (double)f->side * distance -
           p->dir * (double)p->run->leading * offset;
}

static double tie_variance(const station_system *s, const path *p,
                           const dm_event *e)
{
    double u = or_default(e->u, e->kind == DM_EVENT_START ? s->settings->start_u
                                                          : s->settings->tie_u);
    double q = p->instrument->quantum;
    double v = u * u + q * q / 12.0;
    return v > LEAST_U * LEAST_U ? v : LEAST_U * LEAST_U;
}

static void add_ties(station_system *s, size_t path_index)
{
    path *p = &s->paths[path_index];
    size_t before = DM_NONE;
    for (size_t i = 0; i < p->event_end; i++) {
        const dm_event *e = &p->run->events[i];
        if (!is_tie(e))
            continue;
        size_t tie = s->tie_count++;
        s->tie_knot[tie] = knot_of_event(s, p, i);
        s->tie_path[tie] = path_index;
        s->tie_target[tie] = tie_target(s, p, e);
        s->ties[tie].variance = tie_variance(s, p, e);
        if (before != DM_NONE) {
            s->interval_tie[s->interval_count] = tie;
            s->intervals[s->interval_count++] =
                (dm_interval){.run = path_index,
                              .event_from = before,
                              .event_to = i,
                              .least_blunder = (double)INFINITY,
                              .reconciled = true};
        }
        before = i;
    }
}

static void add_jumps(station_system *s)
{
    for (size_t i = 0; i < s->interval_count; i++) {
        bool freed = s->jumps && s->jumps[i];
        s->interval_jump[i] =
            freed ? add_unknown(s, (double)INFINITY) : DM_NONE;
        if (freed)
            s->intervals[i].reconciled = false;
    }
}

void station_frame(const station_system *s, const path *p, size_t event,
                   double *row)
{
    for (size_t i = 0; i < s->interval_count; i++)
        if (s->interval_jump[i] != DM_NONE &&
            &s->paths[s->intervals[i].run] == p &&
            s->intervals[i].event_to <= event)
            row[s->interval_jump[i]] += p->dir;
}

/* ---- rows -------------------------------------------------------------------
 */

/* Knots are reached from knots that may stand after them in the array (those
 * left of a leg's base), so that a row is made when its origin has one. */
static bool make_row(station_system *s, const path *p, size_t at, double begin)
{
    knot *k = &s->knots[at];
    if (k->from == DM_NONE) {
        k->row[p->begin] = 1.0;
        k->nominal = begin;
        return true;
    }
    const knot *from = &s->knots[k->from];
    if (isnan(from->nominal))
        return false;
    memcpy(k->row, from->row, s->n * sizeof *k->row);
    k->nominal = from->nominal + p->dir * (k->travel + k->moved);
    k->row[p->scale] += p->dir * k->travel;
    if (k->walk != DM_NONE)
        k->row[k->walk] += p->dir * (k->travel < 0.0 ? -1.0 : 1.0);
    if (k->skip != DM_NONE)
        k->row[k->skip] += p->dir;
    if (p->tape != DM_NONE)
        k->row[p->tape] += p->dir * k->taped;
    return true;
}

static dm_status make_rows(station_system *s)
{
    for (size_t i = 0; i < s->knot_count; i++) {
        s->knots[i].nominal = (double)NAN;
        s->knots[i].row = DM_NEW_ARRAY(s->arena, double, s->n);
        if (!s->knots[i].row)
            return DM_NOMEM;
    }
    for (size_t t = 0, i = 0; i < s->path_count; i++) {
        path *p = &s->paths[i];
        while (t < s->tie_count && s->tie_path[t] < i)
            t++;
        double begin = t < s->tie_count ? s->tie_target[t] : 0.0;
        for (size_t left = p->knot_count; left > 0;) {
            size_t before = left;
            for (size_t k = 0; k < p->knot_count; k++)
                if (isnan(s->knots[p->first_knot + k].nominal) &&
                    make_row(s, p, p->first_knot + k, begin))
                    left--;
            if (left == before)
                break;
        }
    }
    return DM_OK;
}

static dm_status make_observations(station_system *s)
{
    for (size_t i = 0; i < s->tie_count; i++) {
        const knot *k = &s->knots[s->tie_knot[i]];
        const path *p = &s->paths[s->tie_path[i]];
        observation *o = &s->ties[i];
        o->row = DM_NEW_ARRAY(s->arena, double, s->n);
        if (!o->row)
            return DM_NOMEM;
        memcpy(o->row, k->row, s->n * sizeof *o->row);
        station_frame(s, p, k->event, o->row);
        o->row[p->run->events[k->event].face] -= 1.0;
        o->value = s->tie_target[i] - k->nominal;
    }
    for (size_t i = 0; i < s->tendon->measured_count; i++) {
        if (s->misled && s->misled[i])
            continue;
        const dm_measured_length *m = &s->tendon->measured[i];
        s->tape_index[s->tape_count] = i;
        observation *o = &s->tapes[s->tape_count++];
        o->row = DM_NEW_ARRAY(s->arena, double, s->n);
        if (!o->row)
            return DM_NOMEM;
        double drawn = station_face_length(s, m->face_to, m->clock) -
                       station_face_length(s, m->face_from, m->clock);
        double sign = drawn < 0.0 ? -1.0 : 1.0;
        double u = or_default(m->u, s->settings->tie_u);
        o->row[m->face_to] += sign;
        o->row[m->face_from] -= sign;
        o->value = m->value - fabs(drawn);
        o->variance = fmax(u * u, LEAST_U * LEAST_U);
    }
    return DM_OK;
}

/* ---- all of it
 * ----------------------------------------------------------------- */

static dm_status allocate(station_system *s, size_t runs, size_t events)
{
    size_t most = s->tendon->face_count + 3 * runs + 6 * events + 1;
    s->variance = DM_NEW_ARRAY(s->arena, double, most);
    s->paths = DM_NEW_ARRAY(s->arena, path, runs);
    s->knots = DM_NEW_ARRAY(s->arena, knot, 2 * events);
    s->ties = DM_NEW_ARRAY(s->arena, observation, events);
    s->tie_knot = DM_NEW_ARRAY(s->arena, size_t, events);
    s->tie_path = DM_NEW_ARRAY(s->arena, size_t, events);
    s->tie_target = DM_NEW_ARRAY(s->arena, double, events);
    s->tapes = DM_NEW_ARRAY(s->arena, observation, s->tendon->measured_count);
    s->tape_index = DM_NEW_ARRAY(s->arena, size_t, s->tendon->measured_count);
    s->intervals = DM_NEW_ARRAY(s->arena, dm_interval, events);
    s->interval_jump = DM_NEW_ARRAY(s->arena, size_t, events);
    s->interval_tie = DM_NEW_ARRAY(s->arena, size_t, events);
    bool good = s->variance && s->paths && s->knots && s->ties && s->tie_knot &&
                s->tie_path && s->tie_target && s->tapes && s->tape_index &&
                s->intervals && s->interval_tie && s->interval_jump;
    return good ? DM_OK : DM_NOMEM;
}

dm_status station_system_build(station_system *s, size_t tendon, dm_diag *diag)
{
    size_t runs = 0, events = 0;
    for (size_t i = 0; i < s->survey->run_count; i++)
        if (s->survey->runs[i].tendon == tendon) {
            runs++;
            events += s->survey->runs[i].event_count;
        }
    dm_status status = allocate(s, runs, events);
    if (status != DM_OK)
        return status;
    for (size_t i = 0; i < s->tendon->face_count; i++) {
        double u = s->tendon->faces[i].u;
        u = isnan(u) || u <= 0.0 ? s->settings->face_u : u;
        add_unknown(s, fmax(u, LEAST_U));
    }
    for (size_t i = 0; i < s->survey->run_count; i++)
        if (s->survey->runs[i].tendon == tendon)
            add_path(s, i, diag);
    for (size_t i = 0; i < s->path_count; i++)
        add_knots(s, &s->paths[i]);
    for (size_t i = 0; i < s->path_count; i++)
        add_ties(s, i);
    add_jumps(s);
    status = make_rows(s);
    return status == DM_OK ? make_observations(s) : status;
}
