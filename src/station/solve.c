/* SPDX-License-Identifier: MIT
 * One tendon: adjusted as booked, tested, what does not close explained and
 * given its freedom (hypothesis.c), adjusted anew. A hypothesis that the job
 * accepts corrects the book, and all begins again with it: what is found and
 * said is what is left of the corrected book. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "station/pieces.h"
#include "station/report.h"

/* A blunder as large as (gate + this) standard deviations is seen beyond the
 * gate in 80 % of the cases (the 0.8 quantile of the normal distribution). */
#define SHOWN_AT_80 0.84

/* Of one tendon, over all rounds. */
typedef struct {
    const station_system *base;
    const dm_accept *accepts;
    size_t accept_count;
    bool *used;                   /* [accept_count] */
    correction *corrections;      /* accepted, then the scales that are free */
    size_t correction_count;      /* of the accepted ones */
    dm_hypothesis *hypotheses;    /* of accepted groups, then of the others */
    size_t kept, count, capacity; /* kept: of accepted groups */
    size_t kept_groups, groups;
    dm_stations *out;
    dm_diag *diag;
} solution;

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

static bool has_room(solution *w, size_t more)
{
    if (w->count + more <= w->capacity)
        return true;
    size_t capacity = 2 * (w->capacity + more);
    dm_hypothesis *all = DM_NEW_ARRAY(w->out->arena, dm_hypothesis, capacity);
    if (!all)
        return false;
    if (w->count > 0)
        memcpy(all, w->hypotheses, w->count * sizeof *all);
    w->hypotheses = all;
    w->capacity = capacity;
    return true;
}

/* Takes the first accept that names one of a group; true: there is one. */
static bool accept_one(solution *w, const station_system *s,
                       dm_hypothesis *group, size_t count)
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
static dm_status explain(solution *w, station_system *s, closure *c,
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

static dm_status find_blunders(solution *w, station_system *s, closure *c,
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

/* ---- the result ---------------------------------------------------------- */

static dm_status new_faces(size_t faces, dm_stations *out)
{
    out->face_shift = DM_NEW_ARRAY(out->arena, double, faces);
    out->face_u = DM_NEW_ARRAY(out->arena, double, faces);
    out->face_cov = DM_NEW_ARRAY(out->arena, double, faces *faces);
    return out->face_shift && out->face_u && out->face_cov ? DM_OK : DM_NOMEM;
}

static dm_status fill(const station_system *s, const adjusted *a,
                      dm_stations *out)
{
    size_t faces = s->tendon->face_count;
    if (new_faces(faces, out) != DM_OK)
        return DM_NOMEM;
    for (size_t i = 0; i < faces; i++) {
        out->face_shift[i] = adjusted_unknown_mean(a, i);
        for (size_t k = 0; k < faces; k++)
            out->face_cov[i * faces + k] = adjusted_unknown_cov(a, i, k);
        out->face_u[i] = sqrt(fmax(out->face_cov[i * faces + i], 0.0));
    }
    return station_pieces(s, a, out);
}

/* The runs are there, but not usable. */
static dm_status fill_unusable(const station_system *s, dm_stations *out)
{
    size_t faces = s->tendon->face_count;
    out->runs = DM_NEW_ARRAY(out->arena, dm_run_stations, s->path_count);
    if (!out->runs || new_faces(faces, out) != DM_OK)
        return DM_NOMEM;
    for (size_t i = 0; i < faces; i++) {
        out->face_cov[i * faces + i] = s->variance[i];
        out->face_u[i] = sqrt(s->variance[i]);
    }
    for (size_t i = 0; i < s->path_count; i++)
        out->runs[i] =
            (dm_run_stations){.run = s->paths[i].index,
                              .radius = s->radius,
                              .direction = s->paths[i].run->direction,
                              .scale = s->paths[i].instrument->scale,
                              .scale_u = s->paths[i].instrument->scale *
                                         s->paths[i].instrument->scale_u};
    out->run_count = s->path_count;
    return DM_OK;
}

static dm_status keep_intervals(const station_system *s, dm_stations *out)
{
    out->intervals = DM_NEW_ARRAY(out->arena, dm_interval, s->interval_count);
    if (!out->intervals)
        return DM_NOMEM;
    for (size_t i = 0; i < s->interval_count; i++)
        out->intervals[i] = s->intervals[i];
    out->interval_count = s->interval_count;
    return DM_OK;
}

/* ---- all of it ----------------------------------------------------------- */

/* Nothing free but what was accepted. */
static dm_status new_freedom(const solution *w, const station_system *s,
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

/* What was found of `s` is said and kept; with it free, `s` is adjusted anew.
 */
static dm_status finish(solution *w, station_system *s, adjusted *a,
                        station_freedom *given)
{
    dm_stations *out = w->out;
    out->hypotheses = w->hypotheses;
    out->hypothesis_count = w->count;
    if (station_words(s, w->hypotheses, w->count, out) != DM_OK)
        return DM_NOMEM;
    station_report(s, w->hypotheses, w->count, w->diag);
    dm_status status = keep_intervals(s, out);
    if (status != DM_OK || w->count == w->kept)
        return status;
    *s = *w->base;
    status = station_system_build(s, out->tendon, given, NULL);
    return status == DM_OK ? station_adjust(s, a) : status;
}

/* With what was accepted so far. */
static dm_status solve_once(solution *w, station_system *s, adjusted *a,
                            bool first, bool *again)
{
    /* The system keeps them. */
    station_freedom *given = DM_NEW_ARRAY(w->base->arena, station_freedom, 2);
    closure c;
    if (!given)
        return DM_NOMEM;
    given[0] = (station_freedom){.corrections = w->corrections,
                                 .correction_count = w->correction_count};
    *again = false;
    *s = *w->base;
    dm_status status = station_system_build(s, w->out->tendon, &given[0],
                                            first ? w->diag : NULL);
    if (status == DM_OK)
        status = station_adjust(s, a);
    if (status == DM_OK)
        status = closure_new(s, a, &c);
    if (status != DM_OK)
        return status;
    if (first) {
        w->out->chi2 = c.chi2;
        w->out->dof = (int)a->m;
    }
    status = new_freedom(w, s, &given[1]);
    if (status == DM_OK)
        status = find_blunders(w, s, &c, &given[1], again);
    return status == DM_OK && !*again ? finish(w, s, a, &given[1]) : status;
}

static dm_status solve(solution *w)
{
    station_system s = *w->base;
    adjusted a;
    bool again = true;
    dm_status status = DM_OK;
    for (bool first = true; status == DM_OK && again; first = false)
        status = solve_once(w, &s, &a, first, &again);
    if (status == DM_UNSUPPORTED)
        return fill_unusable(&s, w->out);
    if (status == DM_INCONSISTENT) {
        dm_error(w->diag, status, s.tendon->place, s.tendon->id,
                 "the uncertainties stated for its runs and faces lie too far "
                 "apart to be solved together: its runs are left out");
        return fill_unusable(&s, w->out);
    }
    return status == DM_OK ? fill(&s, &a, w->out) : status;
}

/* Every accept of a run of this tendon has to have matched. */
static dm_status check_accepts(const solution *w)
{
    const station_system *s = w->base;
    dm_status status = DM_OK;
    for (size_t i = 0; i < w->accept_count; i++) {
        const dm_accept *a = &w->accepts[i];
        bool here = false;
        for (size_t k = 0; k < s->survey->run_count; k++)
            here = here || (s->survey->runs[k].tendon == w->out->tendon &&
                            strcmp(s->survey->runs[k].id, a->run) == 0);
        if (here && !w->used[i])
            status = dm_error(
                w->diag, DM_REFERENCE, a->place, "accept",
                "no hypothesis %s of run %s fits the data as this line states "
                "it; expected one of the lines that the program prints",
                dm_blunder_text(a->hypothesis), a->run);
    }
    return status;
}

static dm_status start(solution *w, const station_system *base,
                       dm_stations *out)
{
    w->base = base;
    w->out = out;
    w->used = DM_NEW_ARRAY(base->arena, bool, w->accept_count + 1);
    w->corrections = DM_NEW_ARRAY(base->arena, correction, w->accept_count + 1);
    return w->used && w->corrections ? DM_OK : DM_NOMEM;
}

dm_status dm_stations_solve_accepted(const dm_model *model,
                                     const dm_survey *survey, size_t tendon,
                                     const dm_settings *settings,
                                     const dm_accept *accepts, size_t count,
                                     dm_diag *diag, dm_stations **out)
{
    *out = NULL;
    dm_arena *arena = dm_arena_new(), *scratch = dm_arena_new();
    dm_stations *st = arena ? DM_NEW(arena, dm_stations) : NULL;
    dm_status status = DM_NOMEM;
    solution w = {.accepts = accepts, .accept_count = count, .diag = diag};
    if (st && scratch) {
        const dm_tendon *n = &model->tendons[tendon];
        st->arena = arena;
        st->tendon = tendon;
        station_system base = {.model = model,
                               .survey = survey,
                               .tendon = n,
                               .settings = settings,
                               .arena = scratch,
                               .radius =
                                   0.5 * dm_tendon_duct(model, n, 0.0)->od};
        status = start(&w, &base, st);
        if (status == DM_OK)
            status = solve(&w);
        if (status == DM_OK)
            status = check_accepts(&w);
    }
    dm_arena_free(scratch);
    if (status == DM_OK) {
        *out = st;
        return DM_OK;
    }
    dm_arena_free(arena);
    if (status == DM_REFERENCE)
        return status;
    return dm_error(diag, status, (dm_place){NULL, 0}, NULL, "out of memory");
}

dm_status dm_stations_solve(const dm_model *model, const dm_survey *survey,
                            size_t tendon, const dm_settings *settings,
                            dm_diag *diag, dm_stations **out)
{
    return dm_stations_solve_accepted(model, survey, tendon, settings, NULL, 0,
                                      diag, out);
}

void dm_stations_free(dm_stations *stations)
{
    if (stations)
        dm_arena_free(stations->arena);
}
