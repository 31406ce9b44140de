/* SPDX-License-Identifier: MIT
 * What may be wrong with a field book: each interval, written skip, tie, scale
 * and measured length is asked, and the worst run whether it was reversed. The
 * priors (docs/stations.md) are common practice, no source. */
#include "station/hypothesis.h"

#include <math.h>

#include "station/evidence.h"
#include "station/ranking.h"

/* Prior odds: of an interval, of a skip, of a tie (over all other faces; one
 * that is misread), of a run (over its two ways), of a scale, of a measured
 * length, of an interval for no reason. */
#define ODDS_MISSING 1e-2
#define ODDS_TWICE 2e-3
#define ODDS_FACE 2e-3
#define ODDS_MISREAD 1e-4
#define ODDS_REVERSED 2e-3
#define ODDS_SCALE 1e-3
#define ODDS_MEASURED 2e-3
#define ODDS_JUMP 1e-4

/* ---- candidates ---------------------------------------------------------- */

/* A length that nobody knows. */
static void add_unknown_length(ranking *r, candidate *a, double odds,
                               bool signed_)
{
    if (!ranking_measure(r, a))
        return;
    double gain = a->slope * a->slope / a->size;
    double e = log(odds);
    if (signed_)
        ranking_add(r, a, e + evidence_two_sided(a->size, a->slope), gain);
    else if (a->slope > 0.0)
        ranking_add(r, a, e + evidence_one_sided(a->size, a->slope), gain);
}

static void add_known_length(ranking *r, candidate *a, double odds, double mean,
                             double variance)
{
    double gain;
    if (!ranking_measure(r, a))
        return;
    double e = evidence_known(a->size, a->slope, mean, variance, &gain);
    ranking_add(r, a, log(odds) + e, gain);
}

/* The same skip written into two lines: one hypothesis, the later line. */
static bool written_again(const dm_run *run, size_t event, size_t end)
{
    const dm_event *e = &run->events[event];
    for (size_t i = event + 1; i < end; i++) {
        const dm_event *f = &run->events[i];
        if (f->kind == DM_EVENT_SKIP)
            return f->length_known && f->basis == e->basis &&
                   fabs(f->length - e->length) < 1e-3 &&
                   fabs(f->x - (isnan(e->x_resume) ? e->x : e->x_resume)) <
                       1e-3;
    }
    return false;
}

static void add_skips(ranking *r, size_t interval, size_t at)
{
    const station_system *s = r->s;
    const dm_interval *v = &s->intervals[interval];
    const path *p = &s->paths[v->run];
    for (size_t i = v->event_from + 1; i < v->event_to; i++) {
        const dm_event *e = &p->run->events[i];
        if (e->kind != DM_EVENT_SKIP || !e->length_known ||
            station_skip_void(s, v->run, i) ||
            written_again(p->run, i, v->event_to))
            continue;
        double u = isnan(e->u) || e->u < 0.0 ? s->settings->skip_u : e->u;
        double moved = station_skip_moved(p, e);
        candidate a = candidate_start(DM_BLUNDER_SKIP_TWICE, v->run, interval);
        a.h.event = i;
        a.at[0] = at;
        a.c[0] = 1.0;
        a.count = 1;
        add_known_length(r, &a, ODDS_TWICE, -moved,
                         u * u + pow(p->run->tape_u * e->length, 2.0));
    }
}

static void add_intervals(ranking *r)
{
    const station_system *s = r->s;
    for (size_t i = 0; i < s->interval_count; i++) {
        size_t at = r->c->of_interval[i];
        if (at == DM_NONE || r->c->dropped[at])
            continue;
        candidate a =
            candidate_start(DM_BLUNDER_SKIP_MISSING, s->intervals[i].run, i);
        a.at[0] = at;
        a.c[0] = 1.0;
        a.count = 1;
        add_unknown_length(r, &a, ODDS_MISSING, false);
        a.h.kind = DM_BLUNDER_JUMP;
        add_unknown_length(r, &a, ODDS_JUMP, true);
        add_skips(r, i, at);
    }
}

/* A tie touches the interval that it ends and the one that it begins. */
static void touch(const ranking *r, size_t tie_index, candidate *a)
{
    const station_system *s = r->s;
    double dir = s->paths[s->ties[tie_index].path].dir;
    for (size_t i = 0; i < s->interval_count; i++) {
        size_t end = s->interval_tie[i], at = r->c->of_interval[i];
        if (end != tie_index && end != tie_index + 1)
            continue;
        if (a->h.interval == DM_NONE)
            a->h.interval = i;
        if (at == DM_NONE || r->c->dropped[at])
            continue;
        a->at[a->count] = at;
        a->c[a->count++] = end == tie_index ? -dir : dir;
    }
}

static void add_tie(ranking *r, size_t tie_index)
{
    const station_system *s = r->s;
    const tie *t = &s->ties[tie_index];
    const path *p = &s->paths[t->path];
    const dm_event *e = &p->run->events[t->event];
    size_t faces = s->tendon->face_count;
    candidate a = candidate_start(DM_BLUNDER_WRONG_FACE, t->path, DM_NONE);
    a.h.event = t->event;
    touch(r, tie_index, &a);
    if (a.count == 0)
        return;
    if (a.count == 2)
        add_unknown_length(r, &a, ODDS_MISREAD, true);
    for (size_t f = 0; f < faces; f++) {
        if (f == t->face)
            continue;
        candidate b = a;
        b.h.face = f;
        add_known_length(r, &b, ODDS_FACE / (double)(faces - 1),
                         station_tie_target(s, p, e, f) - t->target,
                         s->variance[f] + s->variance[t->face]);
    }
}

static void add_scale(ranking *r, size_t path_index)
{
    const path *p = &r->s->paths[path_index];
    bool known = r->c->scale_free[p->scale];
    for (size_t i = 0; i < path_index && !known; i++)
        known = r->s->paths[i].scale == p->scale;
    if (known)
        return;
    candidate a = candidate_start(DM_BLUNDER_SCALE, path_index, DM_NONE);
    a.scale = p->scale;
    add_known_length(r, &a, ODDS_SCALE, 0.0, STATION_SCALE_U * STATION_SCALE_U);
}

static void add_measured(ranking *r)
{
    const station_system *s = r->s;
    for (size_t i = 0; i < r->c->m; i++) {
        if (s->observations[i].interval != DM_NONE || r->c->dropped[i])
            continue;
        candidate a = candidate_start(DM_BLUNDER_MEASURED, DM_NONE, DM_NONE);
        a.h.measured = s->observations[i].tape;
        a.at[0] = i;
        a.c[0] = 1.0;
        a.count = 1;
        add_unknown_length(r, &a, ODDS_MEASURED, true);
    }
}

/* ---- all of them --------------------------------------------------------- */

/* The run with the greatest |z|, which is where a reversed one shows: its
 * misclosures are as long as its intervals. DM_NONE: a measured length. */
static size_t worst_run(const station_system *s, const closure *c)
{
    double worst = 0.0;
    size_t found = DM_NONE;
    for (size_t i = 0; i < c->m; i++) {
        size_t interval = s->observations[i].interval;
        double z = fabs(c->w[i]) / sqrt(c->q[i * c->m + i]);
        if (c->dropped[i] || !(z > worst))
            continue;
        worst = z;
        found = interval == DM_NONE ? DM_NONE : s->intervals[interval].run;
    }
    return found;
}

dm_status hypotheses_rank(const station_system *s, closure *c,
                          dm_hypothesis out[HYPOTHESES_KEPT], size_t *count)
{
    double worst = closure_worst(s, c);
    ranking r = {.s = s, .c = c, .least = 0.5 * worst * worst};
    dm_status status = DM_OK;
    add_intervals(&r);
    for (size_t i = 0; i < s->tie_count; i++)
        add_tie(&r, i);
    add_measured(&r);
    for (size_t i = 0; i < s->path_count; i++)
        add_scale(&r, i);
    size_t run = worst_run(s, c);
    if (run != DM_NONE)
        status = ranking_add_reversed(&r, run, ODDS_REVERSED, &c->turned);
    if (status != DM_OK || r.failed)
        return DM_NOMEM;
    *count = ranking_keep(&r, out);
    return DM_OK;
}

size_t hypothesis_observations(const station_system *s, const closure *c,
                               const dm_hypothesis *h, size_t *out)
{
    size_t count = 0;
    for (size_t i = 0; i < c->m; i++) {
        const observation *o = &s->observations[i];
        bool in = false;
        if (o->interval == DM_NONE)
            in = h->measured != DM_NONE && o->tape == h->measured;
        else if (h->kind == DM_BLUNDER_REVERSED)
            in = s->intervals[o->interval].run == h->run;
        else if (h->kind == DM_BLUNDER_WRONG_FACE)
            in = s->intervals[o->interval].run == h->run &&
                 (s->intervals[o->interval].event_from == h->event ||
                  s->intervals[o->interval].event_to == h->event);
        else if (h->kind != DM_BLUNDER_SCALE)
            in = o->interval == h->interval;
        if (in && !c->dropped[i])
            out[count++] = i;
    }
    return count;
}
