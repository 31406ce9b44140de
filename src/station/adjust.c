/* SPDX-License-Identifier: MIT
 * Least squares with prior information in the form that inverts the (few)
 * observations instead of the (many) unknowns; any text on least-squares
 * adjustment (Gauss-Markov model with prior, condition form). Variances are
 * differences of the prior and what the observations took away: good to 1e-16
 * of the prior, 1e-9 m beside a prior of 0.1 m. */
#include "station/adjust.h"

#include <math.h>

#include "station/dense.h"

static dm_status factor(const station_system *s, adjusted *a)
{
    double *weighted = DM_NEW_ARRAY(s->arena, double, s->n);
    a->l = DM_NEW_ARRAY(s->arena, double, a->m * a->m);
    if (!weighted || !a->l)
        return DM_NOMEM;
    for (size_t i = 0; i < a->m; i++) {
        const observation *o = &s->observations[i];
        for (size_t k = 0; k < s->n; k++)
            weighted[k] = o->row[k] * s->variance[k];
        for (size_t j = 0; j <= i; j++)
            a->l[i * a->m + j] =
                dense_dot(weighted, s->observations[j].row, s->n);
        a->l[i * a->m + i] += o->variance;
    }
    return dense_factor(a->l, a->m) ? DM_OK : DM_INCONSISTENT;
}

dm_status station_adjust(const station_system *s, adjusted *out)
{
    size_t m = s->observation_count;
    *out = (adjusted){.n = s->n, .m = m, .variance = s->variance};
    dm_status status = factor(s, out);
    if (status != DM_OK)
        return status;
    out->y = DM_NEW_ARRAY(s->arena, double, s->n *m);
    out->yd = DM_NEW_ARRAY(s->arena, double, m);
    if (!out->y || !out->yd)
        return DM_NOMEM;
    for (size_t i = 0; i < m; i++)
        out->yd[i] = s->observations[i].value;
    dense_forward(out->l, m, out->yd);
    for (size_t k = 0; k < s->n; k++) {
        double *y = out->y + k * m;
        for (size_t i = 0; i < m; i++)
            y[i] = s->observations[i].row[k] * s->variance[k];
        dense_forward(out->l, m, y);
    }
    return DM_OK;
}

dm_status adjusted_form(const adjusted *a, double *row, dm_arena *arena,
                        form *out)
{
    *out = (form){row, DM_NEW_ARRAY(arena, double, a->m)};
    if (!out->y)
        return DM_NOMEM;
    for (size_t k = 0; k < a->n; k++)
        if (row[k] != 0.0)
            for (size_t i = 0; i < a->m; i++)
                out->y[i] += row[k] * a->y[k * a->m + i];
    return DM_OK;
}

double adjusted_mean(const adjusted *a, const form *f)
{
    return dense_dot(f->y, a->yd, a->m);
}

double adjusted_cov(const adjusted *a, const form *f, const form *g)
{
    long double sum = 0.0L;
    for (size_t k = 0; k < a->n; k++)
        sum += dense_wide(f->row[k]) * dense_wide(a->variance[k]) *
               dense_wide(g->row[k]);
    for (size_t i = 0; i < a->m; i++)
        sum -= dense_wide(f->y[i]) * dense_wide(g->y[i]);
    return (double)sum;
}

double adjusted_unknown_mean(const adjusted *a, size_t u)
{
    return dense_dot(a->y + u * a->m, a->yd, a->m);
}

double adjusted_unknown_cov(const adjusted *a, size_t u, size_t v)
{
    return (u == v ? a->variance[u] : 0.0) -
           dense_dot(a->y + u * a->m, a->y + v * a->m, a->m);
}

double adjusted_mixed_cov(const adjusted *a, const form *f, size_t u)
{
    return f->row[u] * a->variance[u] - dense_dot(f->y, a->y + u * a->m, a->m);
}

double adjusted_relative_cov(const adjusted *a, const form *f, const form *g,
                             size_t u)
{
    const double *y = a->y + u * a->m;
    long double sum = dense_wide(f->row[u] - 1.0) * dense_wide(a->variance[u]) *
                      dense_wide(g->row[u] - 1.0);
    for (size_t k = 0; k < a->n; k++)
        if (k != u)
            sum += dense_wide(f->row[k]) * dense_wide(a->variance[k]) *
                   dense_wide(g->row[k]);
    for (size_t i = 0; i < a->m; i++)
        sum -= dense_wide(f->y[i] - y[i]) * dense_wide(g->y[i] - y[i]);
    return (double)sum;
}

/* With u and e the errors of unknowns and observations, f's is
 *   r u - g (H u + e),   g = S^-1 H P r' = L^-T y,
 * and g times column k of H is y' (L^-1 H P)_k / P_k. */
dm_status adjusted_errors(const station_system *s, const adjusted *a,
                          const form *f, double **out)
{
    size_t m = a->m;
    double *g = DM_NEW_ARRAY(s->arena, double, m);
    *out = DM_NEW_ARRAY(s->arena, double, a->n + m);
    if (!g || !*out)
        return DM_NOMEM;
    for (size_t k = 0; k < a->n; k++) {
        long double sum = dense_wide(f->row[k]) * dense_wide(a->variance[k]);
        for (size_t i = 0; i < m; i++)
            sum -= dense_wide(f->y[i]) * dense_wide(a->y[k * m + i]);
        if (a->variance[k] > 0.0)
            (*out)[k] = (double)sum / sqrt(a->variance[k]);
    }
    for (size_t i = 0; i < m; i++)
        g[i] = f->y[i];
    dense_backward(a->l, m, g);
    for (size_t i = 0; i < m; i++)
        (*out)[a->n + i] = -g[i] * sqrt(s->observations[i].variance);
    return DM_OK;
}

dm_status adjusted_test(const adjusted *a, dm_arena *arena, double **q,
                        double **w, double *chi2)
{
    size_t m = a->m;
    *q = DM_NEW_ARRAY(arena, double, m *m);
    *w = DM_NEW_ARRAY(arena, double, m);
    if (!*q || !*w)
        return DM_NOMEM;
    for (size_t i = 0; i < m; i++) {
        double *column = *q + i * m;
        column[i] = 1.0;
        dense_forward(a->l, m, column);
        dense_backward(a->l, m, column);
        (*w)[i] = a->yd[i];
    }
    dense_backward(a->l, m, *w);
    *chi2 = dense_dot(a->yd, a->yd, m);
    return DM_OK;
}
