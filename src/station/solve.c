/* SPDX-License-Identifier: MIT
 * One tendon: adjusted as booked, tested, what does not close explained and
 * given its freedom (search.c), adjusted anew. A hypothesis that the job
 * accepts corrects the book, and all begins again with it: what is found and
 * said is what is left of the corrected book. */
#include <math.h>

#include "base/diag.h"
#include "station/pieces.h"
#include "station/report.h"
#include "station/search.h"

/* Of one tendon, over all rounds. */
typedef struct {
    const station_system *base;
    search found;
    dm_stations *out;
    dm_diag *diag;
} solution;

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

/* What was found of `s` is said and kept; with it free, `s` is adjusted anew.
 */
static dm_status finish(solution *w, station_system *s, adjusted *a,
                        station_freedom *given)
{
    dm_stations *out = w->out;
    const search *f = &w->found;
    out->hypotheses = f->hypotheses;
    out->hypothesis_count = f->count;
    if (station_words(s, f->hypotheses, f->count, out) != DM_OK)
        return DM_NOMEM;
    station_report(s, f->hypotheses, f->count, w->diag);
    dm_status status = keep_intervals(s, out);
    if (status != DM_OK || f->count == f->kept)
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
    given[0] = (station_freedom){.corrections = w->found.corrections,
                                 .correction_count = w->found.correction_count};
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
    status = search_freedom(&w->found, s, &given[1]);
    if (status == DM_OK)
        status = search_blunders(&w->found, s, &c, &given[1], again);
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
    solution w = {.found = {.accepts = accepts, .accept_count = count},
                  .out = st,
                  .diag = diag};
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
        w.base = &base;
        w.found.arena = arena;
        status = search_begin(&w.found, scratch);
        if (status == DM_OK)
            status = solve(&w);
        if (status == DM_OK)
            status = search_unmatched(&w.found, &base, diag);
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
