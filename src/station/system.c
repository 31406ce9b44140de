/* SPDX-License-Identifier: MIT
 * From the events of a tendon's runs to unknowns, knots and sections.
 * A leg is what lies between two re-seats; inside it knots are ordered by run
 * distance and chained outward from the leg's first, so that the walk adds up
 * over the sequence of events and not over x. */
#include "station/system.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "station/report.h"

static double or_default(double value, double fallback)
{
    return isnan(value) || value < 0.0 ? fallback : value;
}

const dm_outside *station_outside(station_system *s, double clock)
{
    for (size_t i = 0; i < s->outside_count; i++)
        if (s->outsides[i].phi == clock)
            return &s->outsides[i];
    const dm_centreline *line = &s->tendon->line;
    double *begin = DM_NEW_ARRAY(s->arena, double, line->count + 1);
    if (!begin)
        return NULL;
    dm_outside *o = &s->outsides[s->outside_count++];
    dm_outside_prepare(line, s->radius, clock, begin, o);
    return o;
}

double station_face_length(const station_system *s, const dm_outside *outside,
                           size_t face)
{
    size_t hint = 0;
    const dm_face *f = &s->tendon->faces[face];
    double r = dm_face_radius(s->model, s->tendon, f);
    double t = dm_face_station(s->tendon, f, r, outside->phi);
    return dm_outside_at(outside, t, &hint);
}

static size_t add_unknown(station_system *s, dm_budget_item item, double sd)
{
    s->item[s->n] = item;
    s->variance[s->n] = sd * sd;
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

/* ---- runs and what they share ------------------------------------------- */

static size_t shared_scale(const station_system *s, const path *p)
{
    for (size_t i = 0; i < s->path_count; i++)
        if (s->paths[i].instrument == p->instrument &&
            p->instrument->scale_shared)
            return s->paths[i].scale;
    return DM_NONE;
}

static size_t shared_tape(const station_system *s, const path *p)
{
    for (size_t i = 0; i < s->path_count; i++)
        if (s->paths[i].run->tape &&
            strcmp(s->paths[i].run->tape, p->run->tape) == 0)
            return s->paths[i].tape;
    return DM_NONE;
}

/* A prior that several tendons share (an instrument's scale from elsewhere)
 * would replace the variance, and a mean the zero, of p->scale here. */
static dm_status add_path(station_system *s, size_t run)
{
    path *p = &s->paths[s->path_count];
    *p = (path){.run = &s->survey->runs[run], .index = run, .tape = DM_NONE};
    p->instrument = &s->survey->instruments[p->run->instrument];
    p->dir = station_direction(s, s->path_count, p->run);
    p->outside = station_outside(s, p->run->clock);
    if (!p->outside)
        return DM_NOMEM;
    p->scale = shared_scale(s, p);
    if (p->scale == DM_NONE)
        p->scale = add_unknown(s, DM_BUDGET_SCALE, station_scale_sd(s, p));
    if (p->run->tape && p->run->tape_u > 0.0) {
        p->tape = shared_tape(s, p);
        if (p->tape == DM_NONE)
            p->tape = add_unknown(s, DM_BUDGET_TAPES, p->run->tape_u);
    }
    s->path_count++;
    return DM_OK;
}

/* ---- ties ---------------------------------------------------------------- */

/* Where the encoder contact stood if the book is right, outside length. */
double station_tie_target(const station_system *s, const path *p,
                          const dm_event *e, size_t face)
{
    const dm_instrument *in = p->instrument;
    double offset = 0.0, distance = isnan(e->distance) ? 0.0 : e->distance;
    if (e->with == DM_WITH_NOSE)
        offset = in->nose;
    else if (e->with == DM_WITH_TAIL)
        offset = -in->tail;
    else if (e->with == DM_WITH_ELECTRODE && in->channel_count > 0)
        offset = in->channels[0].lead;
    return station_face_length(s, p->outside, face) +
           (double)s->tendon->faces[face].side * distance -
           p->dir * (double)p->run->leading * offset;
}

static double tie_sd(const station_system *s, const path *p, const dm_event *e)
{
    double u = or_default(e->u, e->kind == DM_EVENT_START ? s->settings->start_u
                                                          : s->settings->tie_u);
    double q = p->instrument->quantum;
    return fmax(sqrt(u * u + q * q / 12.0), STATION_LEAST_U);
}

static size_t open_section(station_system *s, size_t path_index, size_t event)
{
    s->sections[s->section_count] =
        (section){.path = path_index, .event = event, .base = DM_NONE};
    return s->section_count++;
}

/* A start or tie, the interval it ends, and the section it opens if that
 * interval has a jump. */
static void add_tie(station_system *s, size_t path_index, size_t event)
{
    const path *p = &s->paths[path_index];
    const dm_event *e = &p->run->events[event];
    size_t at = s->tie_count++;
    const station_freedom *given = s->given;
    tie *t = &s->ties[at];
    *t = (tie){.path = path_index, .event = event};
    t->face = station_event_face(s, path_index, event);
    t->noise = add_unknown(s, DM_BUDGET_TIES, tie_sd(s, p, e));
    t->target = station_tie_target(s, p, e, t->face);
    if (at > 0 && s->ties[at - 1].path == path_index) {
        size_t number = s->interval_count;
        bool jump = given && given->interval && given->interval[number];
        bool doubt = given && given->doubt && given->doubt[number];
        s->intervals[s->interval_count] =
            (dm_interval){.run = path_index,
                          .event_from = s->ties[at - 1].event,
                          .event_to = event,
                          .least_blunder = (double)INFINITY,
                          .reconciled = !jump && !doubt};
        s->interval_tie[s->interval_count++] = at;
        if (jump)
            open_section(s, path_index, event);
    }
    section *now = &s->sections[s->section_count - 1];
    if (now->tie_count++ == 0)
        now->base = at;
}

/* ---- knots --------------------------------------------------------------- */

static knot *new_knot(station_system *s, size_t event, size_t leg, double x)
{
    knot *k = &s->knots[s->knot_count++];
    *k = (knot){.event = event,
                .leg = leg,
                .section = s->section_count - 1,
                .x = x,
                .from = DM_NONE,
                .walk = DM_NONE,
                .skip = DM_NONE,
                .bound = DM_NONE};
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
        k->walk = add_unknown(s, DM_BUDGET_WALK,
                              p->instrument->walk * sqrt(fabs(k->travel)));
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

double station_skip_moved(const path *p, const dm_event *e)
{
    return e->basis == DM_SKIP_GAP
               ? e->length + p->instrument->nose + p->instrument->tail
               : e->length;
}

static void cross_skip(station_system *s, size_t path_index, const dm_event *e,
                       knot *k)
{
    const path *p = &s->paths[path_index];
    if (e->kind == DM_EVENT_REZERO || !e->length_known ||
        station_skip_void(s, path_index, k->event))
        return;
    k->taped = e->length;
    k->moved = station_skip_moved(p, e);
    double u = or_default(e->u, s->settings->skip_u);
    if (u > 0.0)
        k->skip = add_unknown(s, DM_BUDGET_SKIPS, u);
}

/* The bounds of where an accepted skip lies, on the way from x0 to event i. */
static void bound_places(station_system *s, size_t path_index, size_t i,
                         size_t leg, double x0)
{
    size_t count = s->given ? 2 * s->given->correction_count : 0;
    double x;
    for (size_t n = 0; n < count; n++)
        if (station_bound(s, path_index, i, x0, n, &x))
            new_knot(s, i - 1, leg, x)->bound = n;
}

static void add_knots(station_system *s, size_t path_index)
{
    path *p = &s->paths[path_index];
    size_t leg = 0, first = s->knot_count;
    double x = 0.0;
    p->first_knot = first;
    open_section(s, path_index, DM_NONE);
    for (size_t i = 0; i < p->run->event_count; i++) {
        const dm_event *e = &p->run->events[i];
        if ((is_tie(e) || is_reseat(e)) && s->knot_count > first)
            bound_places(s, path_index, i, leg, x);
        x = is_tie(e) ? e->x : x;
        if (is_tie(e)) {
            add_tie(s, path_index, i);
            new_knot(s, i, leg, e->x);
        }
        if (!is_reseat(e) || s->knot_count == first)
            continue;
        new_knot(s, i, leg, e->x);
        size_t end = close_leg(s, p, first, i);
        if (e->kind == DM_EVENT_SKIP && !e->length_known)
            open_section(s, path_index, i);
        first = s->knot_count;
        double resume = isnan(e->x_resume) ? e->x : e->x_resume;
        x = resume;
        knot *k = new_knot(s, i, ++leg, resume);
        k->from = end;
        cross_skip(s, path_index, e, k);
    }
    if (s->knot_count > first)
        close_leg(s, p, first, DM_NONE);
    p->knot_count = s->knot_count - p->first_knot;
}

/* Each tie learns its knot. */
static void join(station_system *s)
{
    for (size_t t = 0; t < s->tie_count; t++) {
        const path *p = &s->paths[s->ties[t].path];
        for (size_t k = p->first_knot; k < p->first_knot + p->knot_count; k++)
            if (s->knots[k].event == s->ties[t].event)
                s->ties[t].knot = k;
    }
}

/* A section that hangs on one tie, next to an interval that does not close,
 * has nothing that speaks for that tie. Doubt of a scale reaches all of it. */
static void suspect_sections(station_system *s)
{
    for (size_t i = 0; i < s->interval_count; i++) {
        size_t b = s->interval_tie[i];
        bool doubt = s->given && s->given->doubt && s->given->doubt[i];
        for (size_t t = b - 1; !s->intervals[i].reconciled && t <= b; t++) {
            section *q = &s->sections[s->knots[s->ties[t].knot].section];
            q->suspect = q->suspect || doubt || q->tie_count == 1;
        }
    }
}

/* ---- all of it ----------------------------------------------------------- */

static dm_status allocate(station_system *s, size_t runs, size_t events)
{
    size_t faces = s->tendon->face_count, tapes = s->tendon->measured_count;
    size_t more = s->given ? s->given->correction_count : 0;
    /* An event makes at most two knots with a walk each, and a skip or a tie's
     * error. */
    size_t unknowns = faces + 2 * runs + 3 * events + 3 * more;
    s->variance = DM_NEW_ARRAY(s->arena, double, unknowns);
    s->item = DM_NEW_ARRAY(s->arena, dm_budget_item, unknowns);
    s->paths = DM_NEW_ARRAY(s->arena, path, runs);
    s->knots = DM_NEW_ARRAY(s->arena, knot, 2 * (events + more));
    s->ties = DM_NEW_ARRAY(s->arena, tie, events);
    s->sections = DM_NEW_ARRAY(s->arena, section, runs + events);
    s->intervals = DM_NEW_ARRAY(s->arena, dm_interval, events);
    s->interval_tie = DM_NEW_ARRAY(s->arena, size_t, events);
    s->observations = DM_NEW_ARRAY(s->arena, observation, events + tapes);
    s->outsides = DM_NEW_ARRAY(s->arena, dm_outside, runs + tapes);
    bool good = s->variance && s->item && s->paths && s->knots && s->ties &&
                s->sections && s->intervals && s->interval_tie &&
                s->observations && s->outsides;
    return good ? DM_OK : DM_NOMEM;
}

static void count_events(const station_system *s, size_t tendon, size_t *runs,
                         size_t *events)
{
    *runs = *events = 0;
    for (size_t i = 0; i < s->survey->run_count; i++) {
        const dm_run *run = &s->survey->runs[i];
        *runs += run->tendon == tendon;
        for (size_t k = 0; run->tendon == tendon && k < run->event_count; k++)
            *events += is_tie(&run->events[k]) || is_reseat(&run->events[k]);
    }
}

dm_status station_system_build(station_system *s, size_t tendon,
                               const station_freedom *given, dm_diag *diag)
{
    size_t runs, events;
    s->given = given;
    count_events(s, tendon, &runs, &events);
    dm_status status =
        allocate(s, runs, events <= STATION_MOST_EVENTS ? events : 0);
    for (size_t i = 0; status == DM_OK && i < s->tendon->face_count; i++) {
        double u = s->tendon->faces[i].u;
        add_unknown(s, DM_BUDGET_FACES,
                    isnan(u) || u <= 0.0 ? s->settings->face_u : u);
    }
    for (size_t i = 0; status == DM_OK && i < s->survey->run_count; i++)
        if (s->survey->runs[i].tendon == tendon)
            status = add_path(s, i);
    if (status != DM_OK)
        return status;
    if (events > STATION_MOST_EVENTS)
        return dm_error(diag, DM_UNSUPPORTED, s->tendon->place, s->tendon->id,
                        "its runs have %zu starts, ties, skips and rezeros, "
                        "%d can be solved together: all are left out",
                        events, STATION_MOST_EVENTS);
    for (size_t i = 0; i < s->path_count; i++)
        add_knots(s, i);
    for (size_t i = 0; given && i < given->correction_count; i++) {
        dm_blunder kind = given->corrections[i].kind;
        if (kind == DM_BLUNDER_SKIP_MISSING || kind == DM_BLUNDER_JUMP)
            given->corrections[i].unknown =
                add_unknown(s, DM_BUDGET_CORRECTIONS, STATION_JUMP_U);
    }
    join(s);
    suspect_sections(s);
    station_report_loose(s, diag);
    return station_system_observe(s);
}
