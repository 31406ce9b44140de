/* SPDX-License-Identifier: MIT
 * What does not close is explained, the first explanation given its freedom,
 * and all tested again, until the rest closes or one is found that the job
 * accepts. */
#include "station/search.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "station/hypothesis.h"
#include "station/report.h"

/* A blunder as large as (gate + this) standard deviations is seen beyond the
 * gate in 80 % of the cases (the 0.8 quantile of the normal distribution). */
#define SHOWN_AT_80 0.84

/* ---- tests --------------------------------------------------------------- */

static void set_interval(const station_system *s, const closure *c, size_t i)
{
    const observation *o = &s->observations[i];
    double sd = sqrt(c->q[i * c->m + i]);
    if (o->interval == DM_NONE || !(sd > 0.0))
        return;
    dm_interval *v = &s->intervals[o->interval];
    v->misclosure = o->value;
    v->blunder = c->w[i] / (sd * sd);
    v->z = c->w[i] / sd;
    v->least_blunder = (s->settings->gate + SHOWN_AT_80) / sd;
}

static void give_freedom(const station_system *s, const dm_hypothesis *h,
                         size_t i, station_freedom *given)
{
    const observation *o = &s->observations[i];
    if (o->interval == DM_NONE) {
        given->tape[o->tape] = true;
        return;
    }
    dm_interval *v = &s->intervals[o->interval];
    given->interval[o->interval] = true;
    v->reconciled = false;
    if (h->kind == DM_BLUNDER_WRONG_FACE) {
        double dir = s->paths[h->run].dir;
        v->blunder =
            v->event_to == h->event ? -dir * h->length : dir * h->length;
    }
}

/* All runs that share it. */
static dm_status doubt_scale(station_system *s, closure *c, size_t first,
                             correction *add, station_freedom *given)
{
    for (size_t i = 0; i < s->interval_count; i++)
        if (s->paths[s->intervals[i].run].scale == s->paths[first].scale) {
            given->doubt[i] = true;
            s->intervals[i].reconciled = false;
        }
    *add =
        (correction){.kind = DM_BLUNDER_SCALE, .path = first, .event = DM_NONE};
    given->correction_count++;
    return closure_free_scale(s, c, first);
}

static dm_status free_best(station_system *s, closure *c,
                           const dm_hypothesis *h, station_freedom *given)
{
    size_t *at = DM_NEW_ARRAY(s->arena, size_t, c->m);
    if (!at)
        return DM_NOMEM;
    size_t n = hypothesis_observations(s, c, h, at);
    for (size_t i = 0; i < n; i++)
        set_interval(s, c, at[i]);
    for (size_t i = 0; i < n; i++) {
        give_freedom(s, h, at[i], given);
        closure_drop(c, at[i]);
    }
    if (h->kind != DM_BLUNDER_SCALE)
        return DM_OK;
    return doubt_scale(s, c, h->run,
                       &given->corrections[given->correction_count], given);
}

/* ---- groups -------------------------------------------------------------- */

static bool has_room(search *w, size_t more)
{
    if (w->count + more <= w->capacity)
        return true;
    size_t capacity = 2 * (w->capacity + more);
    dm_hypothesis *all = DM_NEW_ARRAY(w->arena, dm_hypothesis, capacity);
    if (!all)
        return false;
    if (w->count > 0)
        memcpy(all, w->hypotheses, w->count * sizeof *all);
    w->hypotheses = all;
    w->capacity = capacity;
    return true;
}

/* Takes the first accept that names one of a group; true: there is one. */
static bool accept_one(search *w, const station_system *s, dm_hypothesis *group,
                       size_t count)
{
    for (size_t i = 0; i < w->accept_count; i++)
        for (size_t k = 0; k < count && !w->used[i]; k++) {
            dm_hypothesis *h = &group[k];
            if (!station_accepts(s, &w->accepts[i], h))
                continue;
            w->used[i] = h->accepted = true;
            h->who = w->accepts[i].by;
            h->why = w->accepts[i].reason;
            w->corrections[w->correction_count++] =
                (correction){.kind = h->kind,
                             .path = h->run,
                             .interval = h->interval,
                             .event = h->event,
                             .face = h->face,
                             .mirrored = h->mirrored,
                             .length = h->length};
            return true;
        }
    return false;
}

/* One round of it: DM_OK and *again where a hypothesis was accepted. */
static dm_status explain(search *w, station_system *s, closure *c,
                         station_freedom *given, bool *again)
{
    dm_hypothesis group[HYPOTHESES_KEPT];
    size_t n = 0;
    dm_status status = hypotheses_rank(s, c, group, &n);
    if (status != DM_OK || !has_room(w, n))
        return DM_NOMEM;
    if (n == 0)
        return DM_OK;
    *again = accept_one(w, s, group, n);
    size_t number = *again ? w->kept_groups++ : w->groups;
    w->groups++;
    if (*again)
        w->count = w->kept;
    for (size_t i = 0; i < n; i++) {
        group[i].group = number;
        w->hypotheses[w->count++] = group[i];
    }
    if (*again) {
        w->kept = w->count;
        return DM_OK;
    }
    return free_best(s, c, &group[0], given);
}

dm_status search_blunders(search *w, station_system *s, closure *c,
                          station_freedom *given, bool *again)
{
    size_t most = c->m + s->path_count;
    w->count = w->kept;
    w->groups = w->kept_groups;
    for (size_t i = 0; i < most; i++) {
        if (!(closure_worst(s, c) > s->settings->gate))
            break;
        dm_status status = explain(w, s, c, given, again);
        if (status != DM_OK || *again)
            return status;
    }
    for (size_t i = 0; i < c->m; i++)
        if (!c->dropped[i])
            set_interval(s, c, i);
    return DM_OK;
}
/* ---- all of it ----------------------------------------------------------- */

dm_status search_begin(search *w, dm_arena *scratch)
{
    w->used = DM_NEW_ARRAY(scratch, bool, w->accept_count + 1);
    w->corrections = DM_NEW_ARRAY(scratch, correction, w->accept_count + 1);
    return w->used && w->corrections ? DM_OK : DM_NOMEM;
}

/* Nothing free but what was accepted. */
dm_status search_freedom(const search *w, const station_system *s,
                         station_freedom *given)
{
    size_t scales = s->path_count + 1;
    *given = (station_freedom){
        .interval = DM_NEW_ARRAY(s->arena, bool, s->interval_count),
        .tape = DM_NEW_ARRAY(s->arena, bool, s->tendon->measured_count),
        .doubt = DM_NEW_ARRAY(s->arena, bool, s->interval_count),
        .corrections =
            DM_NEW_ARRAY(s->arena, correction, w->correction_count + scales),
        .correction_count = w->correction_count};
    if (!given->interval || !given->tape || !given->doubt ||
        !given->corrections)
        return DM_NOMEM;
    for (size_t i = 0; i < w->correction_count; i++)
        given->corrections[i] = w->corrections[i];
    return DM_OK;
}

/* Every accept of a run of this tendon has to have matched. */
dm_status search_unmatched(const search *w, const station_system *s,
                           dm_diag *diag)
{
    size_t tendon = (size_t)(s->tendon - s->model->tendons);
    dm_status status = DM_OK;
    for (size_t i = 0; i < w->accept_count; i++) {
        const dm_accept *a = &w->accepts[i];
        bool here = false;
        for (size_t k = 0; k < s->survey->run_count; k++)
            here = here || (s->survey->runs[k].tendon == tendon &&
                            strcmp(s->survey->runs[k].id, a->run) == 0);
        if (here && !w->used[i])
            status = dm_error(
                diag, DM_REFERENCE, a->place, "accept",
                "no hypothesis %s of run %s fits the data as this line states "
                "it; expected one of the lines that the program prints",
                dm_blunder_text(a->hypothesis), a->run);
    }
    return status;
}
