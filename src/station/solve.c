/* SPDX-License-Identifier: MIT
 * Normal equations N = P^-1 + A' R^-1 A, solved by Cholesky; the covariance
 * is N^-1. Blunders are sought in the misclosures d of the intervals between
 * ties before anything is adjusted: S = H P H' + R is their prior-predictive
 * covariance, z_j = (S^-1 d)_j / sqrt((S^-1)_jj), chi-square d' S^-1 d. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "station/dense.h"
#include "station/pieces.h"

/* 1.96 + 0.84: a shift seen at the gate's level in 80 % is 3.84 sd for a gate
 * of 3 (3 + 0.84). */
#define SHOWN_AT_80 0.84

/* ---- misclosures ----------------------------------------------------------
 */

typedef struct {
    size_t count;
    size_t *interval; /* which; DM_NONE: a taped length */
    double **row;     /* on the unknowns */
    double *d;
    double *s; /* [count][count], then its inverse */
} closure;

static bool touches_diffuse(const station_system *s, const double *row)
{
    for (size_t i = 0; i < s->n; i++)
        if (isinf(s->variance[i]) && fabs(row[i]) > 1e-12)
            return true;
    return false;
}

static dm_status closure_row(const station_system *s, size_t interval,
                             closure *c)
{
    size_t b = s->interval_tie[interval], a = b - 1;
    double dir = s->paths[s->tie_path[b]].dir;
    double *row = DM_NEW_ARRAY(s->arena, double, s->n);
    if (!row)
        return DM_NOMEM;
    for (size_t i = 0; i < s->n; i++)
        row[i] = dir * (s->ties[b].row[i] - s->ties[a].row[i]);
    if (touches_diffuse(s, row))
        return DM_OK;
    c->row[c->count] = row;
    c->interval[c->count] = interval;
    c->d[c->count++] = dir * (s->ties[b].value - s->ties[a].value);
    return DM_OK;
}

/* Covariance of the observations behind two misclosures. */
static double shared_noise(const station_system *s, size_t i, size_t j)
{
    if (i == DM_NONE || j == DM_NONE)
        return 0.0;
    size_t a = s->interval_tie[i], b = s->interval_tie[j];
    if (a == b)
        return s->ties[a].variance + s->ties[a - 1].variance;
    bool one_run = s->tie_path[a] == s->tie_path[b];
    if (one_run && a + 1 == b)
        return -s->ties[a].variance;
    if (one_run && b + 1 == a)
        return -s->ties[b].variance;
    return 0.0;
}

static dm_status closure_build(const station_system *s, closure *c)
{
    size_t most = s->interval_count + s->tape_count;
    *c = (closure){0};
    c->interval = DM_NEW_ARRAY(s->arena, size_t, most);
    c->row = DM_NEW_ARRAY(s->arena, double *, most);
    c->d = DM_NEW_ARRAY(s->arena, double, most);
    if (!c->interval || !c->row || !c->d)
        return DM_NOMEM;
    for (size_t i = 0; i < s->interval_count; i++)
        if (closure_row(s, i, c) != DM_OK)
            return DM_NOMEM;
    for (size_t i = 0; i < s->tape_count; i++) {
        c->row[c->count] = s->tapes[i].row;
        c->interval[c->count] = DM_NONE;
        c->d[c->count++] = s->tapes[i].value;
    }
    size_t m = c->count;
    c->s = DM_NEW_ARRAY(s->arena, double, m *m);
    if (!c->s)
        return DM_NOMEM;
    for (size_t i = 0; i < m; i++)
        for (size_t j = 0; j < m; j++) {
            double sum = shared_noise(s, c->interval[i], c->interval[j]);
            if (i == j && c->interval[i] == DM_NONE)
                sum = s->tapes[i - (m - s->tape_count)].variance;
            for (size_t k = 0; k < s->n; k++)
                if (c->row[i][k] != 0.0 && c->row[j][k] != 0.0)
                    sum += c->row[i][k] * s->variance[k] * c->row[j][k];
            c->s[i * m + j] = sum;
        }
    return DM_OK;
}

/* Fills z, misclosure and least blunder of the intervals that can be tested;
 * *worst is the one with the greatest |z|, DM_NONE without any. */
static dm_status closure_test(const station_system *s, closure *c, double *chi2,
                              size_t *worst)
{
    size_t m = c->count, at = 0;
    *worst = DM_NONE;
    *chi2 = 0.0;
    double *inverse = DM_NEW_ARRAY(s->arena, double, m *m);
    if (!inverse)
        return DM_NOMEM;
    if (m == 0 || !dense_factor(c->s, m, &at))
        return DM_OK;
    dense_inverse(c->s, m, inverse);
    double greatest = 0.0;
    for (size_t i = 0; i < m; i++) {
        double w = 0.0, sd = sqrt(inverse[i * m + i]);
        for (size_t j = 0; j < m; j++)
            w += inverse[i * m + j] * c->d[j];
        *chi2 += c->d[i] * w;
        if (c->interval[i] == DM_NONE)
            continue;
        dm_interval *v = &s->intervals[c->interval[i]];
        v->misclosure = c->d[i];
        v->blunder = w / inverse[i * m + i];
        v->z = w / sd;
        v->least_blunder = (s->settings->gate + SHOWN_AT_80) / sd;
        if (fabs(v->z) > greatest) {
            greatest = fabs(v->z);
            *worst = c->interval[i];
        }
    }
    return DM_OK;
}

/* ---- the adjustment --------------------------------------------------------
 */

static void add_observation(double *normal, double *right, size_t n,
                            const observation *o)
{
    double w = 1.0 / o->variance;
    for (size_t i = 0; i < n; i++) {
        if (o->row[i] == 0.0)
            continue;
        right[i] += w * o->row[i] * o->value;
        for (size_t k = 0; k < n; k++)
            normal[i * n + k] += w * o->row[i] * o->row[k];
    }
}

static dm_status adjust(const station_system *s, adjusted *a, dm_diag *diag)
{
    size_t n = s->n, at = 0;
    double *normal = DM_NEW_ARRAY(s->arena, double, n *n);
    a->value = DM_NEW_ARRAY(s->arena, double, n);
    a->cov = DM_NEW_ARRAY(s->arena, double, n *n);
    if (!normal || !a->value || !a->cov)
        return DM_NOMEM;
    for (size_t i = 0; i < n; i++)
        normal[i * n + i] = isinf(s->variance[i]) ? 0.0 : 1.0 / s->variance[i];
    for (size_t i = 0; i < s->tie_count; i++)
        add_observation(normal, a->value, n, &s->ties[i]);
    for (size_t i = 0; i < s->tape_count; i++)
        add_observation(normal, a->value, n, &s->tapes[i]);
    if (!dense_factor(normal, n, &at))
        return dm_error(diag, DM_INCONSISTENT, s->tendon->place, s->tendon->id,
                        "the ties do not determine its runs: a run without a "
                        "tie, or skips of unknown length without a tie "
                        "between; its runs are left out");
    dense_solve(normal, n, a->value);
    dense_inverse(normal, n, a->cov);
    return DM_OK;
}

/* ---- blunders
 * ----------------------------------------------------------------- */

static void warn_jump(const station_system *s, const dm_interval *v,
                      dm_diag *diag)
{
    const path *p = &s->paths[v->run];
    const dm_event *from = &p->run->events[v->event_from];
    const dm_event *to = &p->run->events[v->event_to];
    char mm[DM_NUM_SIZE], z[DM_NUM_SIZE], gate[DM_NUM_SIZE];
    dm_num_fixed(mm, fabs(v->blunder) * 1e3, 0);
    dm_num_fixed(z, v->z, 1);
    dm_num_shortest(gate, s->settings->gate);
    bool missing = v->blunder > 0.0;
    dm_warn(diag, to->place, s->tendon->id,
            "run %s from face %s to face %s comes out %s mm %s than the duct "
            "(z = %s, gate %s): %s; not reconciled, no tap points from this "
            "interval",
            p->run->id, s->tendon->faces[from->face].id,
            s->tendon->faces[to->face].id, mm, missing ? "shorter" : "longer",
            z, gate,
            missing ? "a skip of about that length not written down, a wheel "
                      "that slipped, or a tie at another face"
                    : "a skip counted twice, or a tie at another face");
}

/* Gives jumps until the rest closes. On return the system is built with them
 * and `kept` holds what was found when each jump was given. */
static dm_status close_intervals(station_system *base, station_system *s,
                                 size_t tendon, dm_stations *out, dm_diag *diag)
{
    bool *jumps = NULL;
    dm_interval *kept = NULL;
    for (;;) {
        *s = *base;
        closure c;
        size_t worst = DM_NONE;
        dm_status status =
            station_system_build(s, tendon, jumps, jumps ? NULL : diag);
        if (status == DM_OK)
            status = closure_build(s, &c);
        if (status == DM_OK)
            status = closure_test(s, &c, &out->chi2, &worst);
        if (!jumps && status == DM_OK) {
            out->dof = (int)c.count;
            jumps = DM_NEW_ARRAY(s->arena, bool, s->interval_count);
            kept = DM_NEW_ARRAY(s->arena, dm_interval, s->interval_count);
        }
        if (status != DM_OK || !jumps || !kept)
            return status != DM_OK ? status : DM_NOMEM;
        for (size_t i = 0; i < s->interval_count; i++)
            if (jumps[i])
                s->intervals[i] = kept[i];
        if (worst == DM_NONE ||
            fabs(s->intervals[worst].z) <= s->settings->gate)
            return DM_OK;
        jumps[worst] = true;
        kept[worst] = s->intervals[worst];
        kept[worst].reconciled = false;
        warn_jump(s, &kept[worst], diag);
    }
}

/* ---- the result
 * ------------------------------------------------------------------ */

static dm_status fill(const station_system *s, const adjusted *a,
                      dm_stations *out)
{
    size_t n = s->n, f = s->tendon->face_count;
    out->face_shift = DM_NEW_ARRAY(out->arena, double, f);
    out->face_u = DM_NEW_ARRAY(out->arena, double, f);
    out->face_cov = DM_NEW_ARRAY(out->arena, double, f *f);
    if (!out->face_shift || !out->face_u || !out->face_cov)
        return DM_NOMEM;
    for (size_t i = 0; i < f; i++) {
        out->face_shift[i] = a->value[i];
        out->face_u[i] = sqrt(a->cov[i * n + i]);
        for (size_t k = 0; k < f; k++)
            out->face_cov[i * f + k] = a->cov[i * n + k];
    }
    return station_pieces(s, a, out->arena, out);
}

/* Nothing determines the runs: they are there, but not usable. */
static dm_status fill_unusable(const station_system *s, dm_stations *out)
{
    size_t f = s->tendon->face_count;
    out->face_shift = DM_NEW_ARRAY(out->arena, double, f);
    out->face_u = DM_NEW_ARRAY(out->arena, double, f);
    out->face_cov = DM_NEW_ARRAY(out->arena, double, f *f);
    out->runs = DM_NEW_ARRAY(out->arena, dm_run_stations, s->path_count);
    if (!out->face_shift || !out->face_u || !out->face_cov || !out->runs)
        return DM_NOMEM;
    for (size_t i = 0; i < f; i++) {
        out->face_u[i] = sqrt(s->variance[i]);
        out->face_cov[i * f + i] = s->variance[i];
    }
    for (size_t i = 0; i < s->path_count; i++)
        out->runs[i] =
            (dm_run_stations){.run = s->paths[i].index, .radius = s->radius};
    out->run_count = s->path_count;
    return DM_OK;
}

static dm_status solve(station_system *base, size_t tendon, dm_stations *out,
                       dm_diag *diag)
{
    station_system s;
    adjusted a = {0};
    dm_status status = close_intervals(base, &s, tendon, out, diag);
    if (status != DM_OK)
        return status;
    status = adjust(&s, &a, diag);
    if (status == DM_NOMEM)
        return status;
    out->intervals = DM_NEW_ARRAY(out->arena, dm_interval, s.interval_count);
    if (!out->intervals)
        return DM_NOMEM;
    for (size_t i = 0; i < s.interval_count; i++)
        out->intervals[i] = s.intervals[i];
    out->interval_count = s.interval_count;
    return status == DM_OK ? fill(&s, &a, out) : fill_unusable(&s, out);
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
        status = solve(&base, tendon, st, diag);
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
