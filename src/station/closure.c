/* SPDX-License-Identifier: MIT
 * Blunders are sought in the misclosures before anything is adjusted: with S
 * their prior-predictive covariance, z_j = (S^-1 d)_j / sqrt((S^-1)_jj) is the
 * estimate of a jump in interval j alone over its standard deviation. To give
 * j a free jump is to drop its misclosure, so that
 *   q_ik -= q_ij q_kj / q_jj,   w_i -= q_ij w_j / q_jj   (S^-1 = q, S^-1 d = w)
 * is the test of the others (Schur's complement), chi2 -= w_j^2 / q_jj and
 * log |S| += log q_jj. A scale with more variance v along h: S += v h h'
 * (Sherman and Morrison's formula). */
#include "station/closure.h"

#include <math.h>
#include <string.h>

dm_status closure_new(const station_system *s, const adjusted *a, closure *out)
{
    *out = (closure){.m = a->m, .n = s->n};
    out->dropped = DM_NEW_ARRAY(s->arena, bool, a->m);
    out->of_interval = DM_NEW_ARRAY(s->arena, size_t, s->interval_count);
    out->scale_free = DM_NEW_ARRAY(s->arena, bool, s->n);
    if (!out->dropped || !out->of_interval || !out->scale_free ||
        adjusted_test(a, s->arena, &out->q, &out->w, &out->chi2) != DM_OK)
        return DM_NOMEM;
    for (size_t i = 0; i < s->interval_count; i++)
        out->of_interval[i] = DM_NONE;
    for (size_t i = 0; s->given && i < s->given->correction_count; i++)
        if (s->given->corrections[i].kind == DM_BLUNDER_SCALE)
            out->scale_free[s->paths[s->given->corrections[i].path].scale] =
                true;
    for (size_t i = 0; i < a->m; i++) {
        out->logdet += 2.0 * log(a->l[i * a->m + i]);
        if (s->observations[i].interval != DM_NONE)
            out->of_interval[s->observations[i].interval] = i;
    }
    return DM_OK;
}

dm_status closure_copy(const station_system *s, const closure *from,
                       closure *out)
{
    size_t m = from->m;
    *out = *from;
    out->q = DM_NEW_ARRAY(s->arena, double, m *m);
    out->w = DM_NEW_ARRAY(s->arena, double, m);
    out->dropped = DM_NEW_ARRAY(s->arena, bool, m);
    out->scale_free = DM_NEW_ARRAY(s->arena, bool, from->n);
    if (!out->q || !out->w || !out->dropped || !out->scale_free)
        return DM_NOMEM;
    closure_restore(out, from);
    return DM_OK;
}

void closure_restore(closure *c, const closure *from)
{
    size_t m = c->m;
    c->chi2 = from->chi2;
    c->logdet = from->logdet;
    if (m > 0) {
        memcpy(c->q, from->q, m * m * sizeof *c->q);
        memcpy(c->w, from->w, m * sizeof *c->w);
        memcpy(c->dropped, from->dropped, m * sizeof *c->dropped);
    }
    if (c->n > 0)
        memcpy(c->scale_free, from->scale_free, c->n * sizeof *c->scale_free);
}

void closure_drop(closure *c, size_t j)
{
    size_t m = c->m;
    double pivot = c->q[j * m + j], wj = c->w[j];
    if (c->dropped[j])
        return;
    c->dropped[j] = true;
    c->chi2 -= wj * wj / pivot;
    c->logdet += log(pivot);
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

dm_status closure_free_scale(const station_system *s, closure *c, size_t at)
{
    size_t m = c->m, u = s->paths[at].scale;
    double v = STATION_SCALE_U * STATION_SCALE_U, a = 0.0, b = 0.0;
    double *g = DM_NEW_ARRAY(s->arena, double, m);
    if (!g)
        return DM_NOMEM;
    for (size_t i = 0; i < m; i++) {
        for (size_t k = 0; k < m && !c->dropped[i]; k++)
            if (!c->dropped[k])
                g[i] += c->q[i * m + k] * s->observations[k].row[u];
        a += g[i] * s->observations[i].row[u];
        if (!c->dropped[i])
            b += c->w[i] * s->observations[i].row[u];
    }
    c->scale_free[u] = true;
    double gain = v / (1.0 + v * a);
    for (size_t i = 0; i < m; i++) {
        c->w[i] -= gain * b * g[i];
        for (size_t k = 0; k < m; k++)
            c->q[i * m + k] -= gain * g[i] * g[k];
    }
    c->chi2 -= gain * b * b;
    c->logdet += log(1.0 + v * a);
    return DM_OK;
}

/* The tie between observations i and i + 1, of one run and both in. */
static bool shared_tie(const station_system *s, const closure *c, size_t i)
{
    if (i + 1 >= c->m || c->dropped[i] || c->dropped[i + 1])
        return false;
    size_t a = s->observations[i].interval, b = s->observations[i + 1].interval;
    return a != DM_NONE && b == a + 1 &&
           s->intervals[a].run == s->intervals[b].run;
}

/* A scale takes all its runs with it: it is asked beyond 1.1 gates, which a
 * sound one exceeds in 1 of 1000 cases instead of 3 (gate 3). */
#define SCALE_GATE 1.1

/* |z| of a scale against its prior: what all its intervals have in common. */
static double scale_z(const station_system *s, const closure *c, size_t u)
{
    size_t m = c->m;
    double size = 0.0, slope = 0.0;
    for (size_t i = 0; i < m; i++) {
        double a = c->dropped[i] ? 0.0 : s->observations[i].row[u];
        for (size_t k = 0; k < m && a != 0.0; k++)
            if (!c->dropped[k])
                size += a * c->q[i * m + k] * s->observations[k].row[u];
        slope += a != 0.0 ? a * c->w[i] : 0.0;
    }
    return size > 0.0 ? fabs(slope) / sqrt(size) : 0.0;
}

double closure_worst(const station_system *s, const closure *c)
{
    size_t m = c->m;
    double worst = 0.0;
    for (size_t i = 0; i < m; i++) {
        if (c->dropped[i])
            continue;
        const double *q = c->q + i * m;
        worst = fmax(worst, fabs(c->w[i]) / sqrt(q[i]));
        if (!shared_tie(s, c, i))
            continue;
        double size = q[i] - 2.0 * q[i + 1] + q[m + i + 1];
        worst = fmax(worst, fabs(c->w[i] - c->w[i + 1]) / sqrt(size));
    }
    for (size_t i = 0; i < s->path_count; i++)
        if (!c->scale_free[s->paths[i].scale])
            worst = fmax(worst, scale_z(s, c, s->paths[i].scale) / SCALE_GATE);
    return worst;
}
