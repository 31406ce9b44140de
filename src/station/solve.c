/* SPDX-License-Identifier: MIT
 * Blunders are sought in the misclosures before anything is adjusted: with S
 * their prior-predictive covariance, z_j = (S^-1 d)_j / sqrt((S^-1)_jj) is the
 * estimate of a jump in interval j alone over its standard deviation. To give
 * j a free jump is to drop its misclosure, so that
 *   q_ik -= q_ij q_kj / q_jj,   w_i -= q_ij w_j / q_jj   (S^-1 = q, S^-1 d = w)
 * is the test of the others. A wrong tie, h = e_j - e_j+1, is tried likewise,
 * z = h' w / sqrt(h' q h): of all single explanations the true one has the
 * greatest |z| when there is no noise (Cauchy-Schwarz). */
#include <math.h>

#include "base/diag.h"
#include "base/num.h"
#include "station/pieces.h"

/* A blunder as large as (gate + this) standard deviations is seen beyond the
 * gate in 80 % of the cases (the 0.8 quantile of the normal distribution). */
#define SHOWN_AT_80 0.84

/* ---- messages ------------------------------------------------------------ */

/* What may have happened, in words. The run's travel is the difference of
 * what the ties state less the misclosure. */
static const char *cause(const station_system *s, size_t interval)
{
    const dm_interval *v = &s->intervals[interval];
    const tie *b = &s->ties[s->interval_tie[interval]], *a = b - 1;
    double stated = s->paths[v->run].dir * (b->target - a->target);
    bool longer = v->blunder > 0.0;
    if (stated < 0.0 && stated - v->misclosure > 0.0)
        return "the run's direction entered the wrong way round, or a tie at "
               "another face";
    if (longer)
        return "a skip of about that length not written down, a wheel that "
               "slipped, or a tie at another face";
    return "a skip counted twice or written too long, or a tie at another "
           "face";
}

static void warn_jump(const station_system *s, size_t interval, dm_diag *diag)
{
    const dm_interval *v = &s->intervals[interval];
    const dm_run *run = s->paths[v->run].run;
    const dm_event *from = &run->events[v->event_from];
    const dm_event *to = &run->events[v->event_to];
    char mm[DM_NUM_SIZE], z[DM_NUM_SIZE], gate[DM_NUM_SIZE];
    dm_num_fixed(mm, fabs(v->blunder) * 1e3, 0);
    dm_num_fixed(z, v->z, 1);
    dm_num_shortest(gate, s->settings->gate);
    dm_warn(diag, to->place, s->tendon->id,
            "run %s from face %s to face %s comes out %s mm %s than the duct "
            "(z = %s, gate %s): %s; not reconciled, no tap points from this "
            "interval",
            run->id, s->tendon->faces[from->face].id,
            s->tendon->faces[to->face].id, mm,
            v->blunder > 0.0 ? "shorter" : "longer", z, gate,
            cause(s, interval));
}

static void warn_tie(const station_system *s, size_t before, double z,
                     dm_diag *diag)
{
    const dm_interval *v = &s->intervals[before];
    const dm_run *run = s->paths[v->run].run;
    const dm_event *e = &run->events[v->event_to];
    char ahead[DM_NUM_SIZE], behind[DM_NUM_SIZE];
    char number[DM_NUM_SIZE], gate[DM_NUM_SIZE];
    dm_num_fixed(ahead, v[0].misclosure * 1e3, 0);
    dm_num_fixed(behind, v[1].misclosure * 1e3, 0);
    dm_num_fixed(number, z, 1);
    dm_num_shortest(gate, s->settings->gate);
    dm_warn(diag, e->place, s->tendon->id,
            "run %s: the tie at face %s contradicts what lies before and "
            "behind it (duct minus run %s mm and %s mm, z = %s, gate %s): a "
            "tie at another face, or misread; neither side is reconciled, no "
            "tap points from them",
            run->id, s->tendon->faces[e->face].id, ahead, behind, number, gate);
}

static void warn_tape(const station_system *s, const observation *o, double z,
                      dm_diag *diag)
{
    const dm_measured_length *m = &s->tendon->measured[o->tape];
    char mm[DM_NUM_SIZE], number[DM_NUM_SIZE], gate[DM_NUM_SIZE];
    dm_num_fixed(mm, fabs(o->value) * 1e3, 0);
    dm_num_fixed(number, z, 1);
    dm_num_shortest(gate, s->settings->gate);
    dm_warn(diag, m->place, s->tendon->id,
            "the length taped from face %s to face %s is %s mm %s than drawn "
            "(z = %s, gate %s): it is left out",
            s->tendon->faces[m->face_from].id, s->tendon->faces[m->face_to].id,
            mm, o->value > 0.0 ? "longer" : "shorter", number, gate);
}

/* ---- blunders ------------------------------------------------------------ */

/* S^-1 and S^-1 d of the misclosures that are still in. */
typedef struct {
    size_t m;
    double *q, *w;
    bool *dropped;
} closure;

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

/* What explains most: one misclosure, or the tie between two. */
typedef struct {
    size_t at;     /* misclosure */
    size_t behind; /* the one behind the tie; DM_NONE: at alone */
    double z;
    double blunder; /* of a tie: the jump before it, its opposite behind, m */
} suspect;

static void try_one(const closure *c, size_t i, suspect *worst)
{
    double z = c->w[i] / sqrt(c->q[i * c->m + i]);
    if (!c->dropped[i] && fabs(z) > fabs(worst->z))
        *worst = (suspect){i, DM_NONE, z, 0.0};
}

/* The tie between intervals i and i + 1 of one run. */
static void try_tie(const station_system *s, const closure *c, size_t i,
                    suspect *worst)
{
    size_t m = c->m, n = i + 1;
    if (n >= m || c->dropped[i] || c->dropped[n])
        return;
    size_t a = s->observations[i].interval, b = s->observations[n].interval;
    if (a == DM_NONE || b != a + 1 ||
        s->intervals[a].run != s->intervals[b].run)
        return;
    double size = c->q[i * m + i] - 2.0 * c->q[i * m + n] + c->q[n * m + n];
    double z = (c->w[i] - c->w[n]) / sqrt(size);
    if (fabs(z) > fabs(worst->z))
        *worst = (suspect){i, n, z, (c->w[i] - c->w[n]) / size};
}

static void drop(closure *c, size_t j)
{
    size_t m = c->m;
    double pivot = c->q[j * m + j], wj = c->w[j];
    c->dropped[j] = true;
    for (size_t i = 0; i < m; i++) {
        double gain = c->q[i * m + j] / pivot;
        if (c->dropped[i] || gain == 0.0)
            continue;
        c->w[i] -= gain * wj;
        for (size_t k = 0; k < m; k++)
            if (!c->dropped[k])
                c->q[i * m + k] -= gain * c->q[j * m + k];
    }
}

static void give_freedom(const station_system *s, size_t i,
                         station_freedom *given)
{
    const observation *o = &s->observations[i];
    if (o->interval != DM_NONE) {
        given->interval[o->interval] = true;
        s->intervals[o->interval].reconciled = false;
    } else {
        given->tape[o->tape] = true;
    }
}

static void free_suspect(const station_system *s, closure *c,
                         const suspect *found, station_freedom *given,
                         dm_diag *diag)
{
    const observation *o = &s->observations[found->at];
    set_interval(s, c, found->at);
    give_freedom(s, found->at, given);
    if (found->behind != DM_NONE) {
        set_interval(s, c, found->behind);
        give_freedom(s, found->behind, given);
        s->intervals[o->interval].blunder = found->blunder;
        s->intervals[o->interval + 1].blunder = -found->blunder;
        warn_tie(s, o->interval, found->z, diag);
        drop(c, found->behind);
    } else if (o->interval != DM_NONE) {
        warn_jump(s, o->interval, diag);
    } else {
        warn_tape(s, o, found->z, diag);
    }
    drop(c, found->at);
}

/* Drops the worst until the rest closes; each round takes one away at least.
 * True: something was dropped. */
static bool find_blunders(const station_system *s, closure *c,
                          station_freedom *given, dm_diag *diag)
{
    bool any = false;
    for (;;) {
        suspect worst = {0, DM_NONE, 0.0, 0.0};
        for (size_t i = 0; i < c->m; i++) {
            try_one(c, i, &worst);
            try_tie(s, c, i, &worst);
        }
        if (!(fabs(worst.z) > s->settings->gate))
            break;
        free_suspect(s, c, &worst, given, diag);
        any = true;
    }
    for (size_t i = 0; i < c->m; i++)
        if (!c->dropped[i])
            set_interval(s, c, i);
    return any;
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

/* Tests, and with what was found given its freedom adjusts `s` anew. */
static dm_status close_intervals(station_system *s, const station_system *base,
                                 adjusted *a, dm_stations *out, dm_diag *diag)
{
    closure c = {.m = a->m};
    c.dropped = DM_NEW_ARRAY(s->arena, bool, a->m);
    station_freedom given = {
        DM_NEW_ARRAY(s->arena, bool, s->interval_count),
        DM_NEW_ARRAY(s->arena, bool, s->tendon->measured_count)};
    if (!c.dropped || !given.interval || !given.tape ||
        adjusted_test(a, s->arena, &c.q, &c.w, &out->chi2) != DM_OK)
        return DM_NOMEM;
    out->dof = (int)a->m;
    bool any = find_blunders(s, &c, &given, diag);
    dm_status status = keep_intervals(s, out);
    if (status != DM_OK || !any)
        return status;
    *s = *base;
    status = station_system_build(s, out->tendon, &given, NULL);
    return status == DM_OK ? station_adjust(s, a) : status;
}

static dm_status solve(const station_system *base, dm_stations *out,
                       dm_diag *diag)
{
    station_system s = *base;
    adjusted a;
    dm_status status = station_system_build(&s, out->tendon, NULL, diag);
    if (status == DM_UNSUPPORTED)
        return fill_unusable(&s, out);
    if (status == DM_OK)
        status = station_adjust(&s, &a);
    if (status == DM_OK)
        status = close_intervals(&s, base, &a, out, diag);
    if (status == DM_INCONSISTENT) {
        dm_error(diag, status, s.tendon->place, s.tendon->id,
                 "the uncertainties stated for its runs and faces lie too far "
                 "apart to be solved together: its runs are left out");
        return fill_unusable(&s, out);
    }
    return status == DM_OK ? fill(&s, &a, out) : status;
}

dm_status dm_stations_solve(const dm_model *model, const dm_survey *survey,
                            size_t tendon, const dm_settings *settings,
                            dm_diag *diag, dm_stations **out)
{
    *out = NULL;
    dm_arena *arena = dm_arena_new(), *scratch = dm_arena_new();
    dm_stations *st = arena ? DM_NEW(arena, dm_stations) : NULL;
    dm_status status = DM_NOMEM;
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
        status = solve(&base, st, diag);
    }
    dm_arena_free(scratch);
    if (status == DM_OK) {
        *out = st;
        return DM_OK;
    }
    dm_arena_free(arena);
    return dm_error(diag, status, (dm_place){NULL, 0}, NULL, "out of memory");
}

void dm_stations_free(dm_stations *stations)
{
    if (stations)
        dm_arena_free(stations->arena);
}
