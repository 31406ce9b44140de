/* SPDX-License-Identifier: MIT
 * Priors and observations, each divided by its standard deviation, are rows
 * of a least-squares problem, solved by Givens rotations: exact ties beside
 * loose faces would cost normal equations six digits. Blunders are sought in
 * the misclosures d of the intervals between ties, and of taped lengths,
 * before anything is adjusted: S = H P H' + R is their prior-predictive
 * covariance, z_j = (S^-1 d)_j / sqrt((S^-1)_jj), chi-square d' S^-1 d. A
 * wrong tie is tried likewise: of all single explanations the true one has
 * the greatest |z| when there is no noise (Cauchy-Schwarz). */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "station/dense.h"
#include "station/pieces.h"

/* A normal variate is above minus this in 80 %: a shift of gate + 0.84
 * standard deviations is beyond the gate that often. */
#define SHOWN_AT_80 0.84

/* ---- misclosures ----------------------------------------------------------
 */

typedef struct {
    size_t count;
    size_t *interval; /* which; DM_NONE: a taped length */
    size_t *tape;     /* which of the system's; DM_NONE: an interval */
    double **row;     /* on the unknowns */
    double *d;
    double *z;
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
    c->tape[c->count] = DM_NONE;
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
    c->tape = DM_NEW_ARRAY(s->arena, size_t, most);
    c->row = DM_NEW_ARRAY(s->arena, double *, most);
    c->d = DM_NEW_ARRAY(s->arena, double, most);
    if (!c->interval || !c->tape || !c->row || !c->d)
        return DM_NOMEM;
    for (size_t i = 0; i < s->interval_count; i++)
        if (closure_row(s, i, c) != DM_OK)
            return DM_NOMEM;
    for (size_t i = 0; i < s->tape_count; i++) {
        c->row[c->count] = s->tapes[i].row;
        c->interval[c->count] = DM_NONE;
        c->tape[c->count] = i;
        c->d[c->count++] = s->tapes[i].value;
    }
    size_t m = c->count;
    c->s = DM_NEW_ARRAY(s->arena, double, m *m);
    if (!c->s)
        return DM_NOMEM;
    for (size_t i = 0; i < m; i++)
        for (size_t j = 0; j < m; j++) {
            double sum = shared_noise(s, c->interval[i], c->interval[j]);
            if (i == j && c->tape[i] != DM_NONE)
                sum = s->tapes[c->tape[i]].variance;
            for (size_t k = 0; k < s->n; k++)
                if (c->row[i][k] != 0.0 && c->row[j][k] != 0.0)
                    sum += c->row[i][k] * s->variance[k] * c->row[j][k];
            c->s[i * m + j] = sum;
        }
    return DM_OK;
}

/* What explains most: one misclosure, or a tie that spoils the intervals on
 * both sides with opposite signs. */
typedef struct {
    size_t at;     /* misclosure; DM_NONE: nothing to suspect */
    size_t behind; /* the next interval's if it is the tie, else DM_NONE */
    double z;
    double blunder; /* of a tie: the jump before it, its opposite behind, m */
} suspect;

/* z of a wrong tie between misclosures i and i + 1, with h = e_i - e_i+1:
 * h' S^-1 d / sqrt(h' S^-1 h). */
static void suspect_tie(const station_system *s, const closure *c,
                        const double *inverse, size_t i, suspect *worst)
{
    size_t m = c->count, a = c->interval[i], n = i + 1;
    if (n >= m || a == DM_NONE || c->interval[n] != a + 1 ||
        s->intervals[a].run != s->intervals[a + 1].run)
        return;
    double size = inverse[i * m + i] - inverse[i * m + n] - inverse[n * m + i] +
                  inverse[n * m + n];
    if (!(size > 0.0))
        return;
    double w = 0.0;
    for (size_t j = 0; j < m; j++)
        w += (inverse[i * m + j] - inverse[n * m + j]) * c->d[j];
    double z = w / sqrt(size);
    if (fabs(z) > fabs(worst->z))
        *worst = (suspect){i, n, z, w / size};
}

/* Fills z, misclosure and least blunder of the intervals that can be tested,
 * and z of every misclosure. */
static dm_status closure_test(const station_system *s, closure *c, double *chi2,
                              suspect *worst)
{
    size_t m = c->count, at = 0;
    *worst = (suspect){DM_NONE, DM_NONE, 0.0, 0.0};
    *chi2 = 0.0;
    double *inverse = DM_NEW_ARRAY(s->arena, double, m *m);
    c->z = DM_NEW_ARRAY(s->arena, double, m);
    if (!inverse || !c->z)
        return DM_NOMEM;
    if (m == 0 || !dense_factor(c->s, m, &at))
        return DM_OK;
    dense_inverse(c->s, m, inverse);
    for (size_t i = 0; i < m; i++) {
        double w = 0.0, sd = sqrt(inverse[i * m + i]);
        for (size_t j = 0; j < m; j++)
            w += inverse[i * m + j] * c->d[j];
        *chi2 += c->d[i] * w;
        c->z[i] = w / sd;
        if (fabs(c->z[i]) > fabs(worst->z))
            *worst = (suspect){i, DM_NONE, c->z[i], 0.0};
        if (c->interval[i] == DM_NONE)
            continue;
        dm_interval *v = &s->intervals[c->interval[i]];
        v->misclosure = c->d[i];
        v->blunder = w / inverse[i * m + i];
        v->z = c->z[i];
        v->least_blunder = (s->settings->gate + SHOWN_AT_80) / sd;
    }
    for (size_t i = 0; i < m; i++)
        suspect_tie(s, c, inverse, i, worst);
    return DM_OK;
}

/* ---- the adjustment --------------------------------------------------------
 */

static void add_observation(double *r, double *right, size_t n,
                            const observation *o, double *row)
{
    double w = 1.0 / sqrt(o->variance);
    for (size_t i = 0; i < n; i++)
        row[i] = w * o->row[i];
    dense_rotate(r, right, n, row, w * o->value);
}

static dm_status adjust(const station_system *s, adjusted *a, dm_diag *diag)
{
    size_t n = s->n;
    double *r = DM_NEW_ARRAY(s->arena, double, n *n);
    double *inverse = DM_NEW_ARRAY(s->arena, double, n *n);
    double *row = DM_NEW_ARRAY(s->arena, double, n);
    a->value = DM_NEW_ARRAY(s->arena, double, n);
    a->cov = DM_NEW_ARRAY(s->arena, double, n *n);
    if (!r || !inverse || !row || !a->value || !a->cov)
        return DM_NOMEM;
    for (size_t i = 0; i < n; i++)
        r[i * n + i] = isinf(s->variance[i]) ? 0.0 : 1.0 / sqrt(s->variance[i]);
    for (size_t i = 0; i < s->tie_count; i++)
        add_observation(r, a->value, n, &s->ties[i], row);
    for (size_t i = 0; i < s->tape_count; i++)
        add_observation(r, a->value, n, &s->tapes[i], row);
    if (!dense_full_rank(r, n))
        return dm_error(diag, DM_INCONSISTENT, s->tendon->place, s->tendon->id,
                        "the ties do not determine its runs: skips of unknown "
                        "length without a tie between; its runs are left out");
    dense_back(r, n, a->value);
    dense_covariance(r, n, inverse, a->cov);
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

static void warn_tie(const station_system *s, const closure *c,
                     const suspect *worst, dm_diag *diag)
{
    const dm_interval *v = &s->intervals[c->interval[worst->at]];
    const path *p = &s->paths[v->run];
    const dm_event *e = &p->run->events[v->event_to];
    char before[DM_NUM_SIZE], behind[DM_NUM_SIZE];
    char z[DM_NUM_SIZE], gate[DM_NUM_SIZE];
    dm_num_fixed(before, c->d[worst->at] * 1e3, 0);
    dm_num_fixed(behind, c->d[worst->behind] * 1e3, 0);
    dm_num_fixed(z, worst->z, 1);
    dm_num_shortest(gate, s->settings->gate);
    dm_warn(diag, e->place, s->tendon->id,
            "run %s: the tie at face %s contradicts what lies before and "
            "behind it (duct minus run %s mm and %s mm, z = %s, gate %s): a "
            "tie at another face, or misread; neither side is reconciled, no "
            "tap points from them",
            p->run->id, s->tendon->faces[e->face].id, before, behind, z, gate);
}

static void warn_tape(const station_system *s, const closure *c, size_t at,
                      dm_diag *diag)
{
    const dm_measured_length *m =
        &s->tendon->measured[s->tape_index[c->tape[at]]];
    char mm[DM_NUM_SIZE], z[DM_NUM_SIZE], gate[DM_NUM_SIZE];
    dm_num_fixed(mm, fabs(c->d[at]) * 1e3, 0);
    dm_num_fixed(z, c->z[at], 1);
    dm_num_shortest(gate, s->settings->gate);
    dm_warn(diag, m->place, s->tendon->id,
            "the length taped from face %s to face %s is %s mm %s than drawn "
            "(z = %s, gate %s): it is left out",
            s->tendon->faces[m->face_from].id, s->tendon->faces[m->face_to].id,
            mm, c->d[at] > 0.0 ? "longer" : "shorter", z, gate);
}

static void warn_suspect(const station_system *s, const closure *c,
                         const suspect *worst, dm_diag *diag)
{
    if (worst->behind != DM_NONE)
        warn_tie(s, c, worst, diag);
    else if (c->interval[worst->at] == DM_NONE)
        warn_tape(s, c, worst->at, diag);
    else
        warn_jump(s, &s->intervals[c->interval[worst->at]], diag);
}

static void free_suspect(const station_system *s, const closure *c,
                         const suspect *worst, bool *jumps, bool *misled,
                         dm_interval *kept)
{
    const size_t at[2] = {worst->at, worst->behind};
    for (int k = 0; k < 2 && at[k] != DM_NONE; k++) {
        size_t i = c->interval[at[k]];
        if (i == DM_NONE) {
            misled[s->tape_index[c->tape[at[k]]]] = true;
            continue;
        }
        jumps[i] = true;
        kept[i] = s->intervals[i];
        kept[i].reconciled = false;
        if (worst->behind != DM_NONE)
            kept[i].blunder = k == 0 ? worst->blunder : -worst->blunder;
    }
}

/* One round: the system with what was freed so far, and its misclosures. */
static dm_status test_round(const station_system *base, station_system *s,
                            size_t tendon, closure *c, double *chi2,
                            suspect *worst, dm_diag *diag)
{
    *s = *base;
    dm_status status = station_system_build(s, tendon, diag);
    if (status == DM_OK)
        status = closure_build(s, c);
    return status == DM_OK ? closure_test(s, c, chi2, worst) : status;
}

/* Frees the worst misclosure, an interval by a jump and a tape by leaving it
 * out, until the rest closes. Each round takes one away from those tested, so
 * that it ends. On return the system is built so, and its intervals say what
 * was found when each jump was given. */
static dm_status close_intervals(station_system *base, station_system *s,
                                 size_t tendon, dm_stations *out, dm_diag *diag)
{
    closure c;
    suspect worst;
    dm_status status =
        test_round(base, s, tendon, &c, &out->chi2, &worst, diag);
    if (status != DM_OK)
        return status;
    out->dof = (int)c.count;
    bool *jumps = DM_NEW_ARRAY(s->arena, bool, s->interval_count);
    bool *misled = DM_NEW_ARRAY(s->arena, bool, s->tendon->measured_count);
    dm_interval *kept = DM_NEW_ARRAY(s->arena, dm_interval, s->interval_count);
    if (!jumps || !misled || !kept)
        return DM_NOMEM;
    base->jumps = jumps;
    base->misled = misled;
    while (fabs(worst.z) > s->settings->gate) {
        free_suspect(s, &c, &worst, jumps, misled, kept);
        warn_suspect(s, &c, &worst, diag);
        double rest;
        status = test_round(base, s, tendon, &c, &rest, &worst, NULL);
        if (status != DM_OK)
            return status;
        for (size_t k = 0; k < s->interval_count; k++)
            if (jumps[k])
                s->intervals[k] = kept[k];
    }
    return DM_OK;
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
