/* SPDX-License-Identifier: MIT
 * The adjustment in terms of the misclosures. */
#ifndef DM_STATION_ADJUST_H
#define DM_STATION_ADJUST_H

#include "station/system.h"

/* With H the rows of the m observations, d their values, P the unknowns'
 * prior variances and S = H P H' + R = L L', the adjusted unknowns are
 *   mean P H' S^-1 d = Y' yd,   covariance P - P H' S^-1 H P = P - Y' Y,
 * where Y = L^-1 H P and yd = L^-1 d. */
typedef struct {
    size_t n, m;
    const double *variance;           /* [n] P */
    double *l;                        /* [m][m] */
    double *y;                        /* [n][m] Y' */
    double *yd;                       /* [m] */
    const struct budget_base *budget; /* NULL: not asked for */
} adjusted;

/* DM_INCONSISTENT, not reported: S is not positive definite. */
dm_status station_adjust(const station_system *s, adjusted *out);

/* A linear form of the unknowns, ready for means and covariances. */
typedef struct {
    double *row; /* [n] */
    double *y;   /* [m] Y row */
} form;

/* NULL members: no memory. `row` is kept, not copied. */
dm_status adjusted_form(const adjusted *a, double *row, dm_arena *arena,
                        form *out);
double adjusted_mean(const adjusted *a, const form *f);
double adjusted_cov(const adjusted *a, const form *f, const form *g);
/* With one unknown. */
double adjusted_unknown_mean(const adjusted *a, size_t u);
double adjusted_unknown_cov(const adjusted *a, size_t u, size_t v);
double adjusted_mixed_cov(const adjusted *a, const form *f, size_t u);
/* Of f - u and g - u for an unknown u. Taken as such, so that nothing is lost
 * where f hangs on u and little else. */
double adjusted_relative_cov(const adjusted *a, const form *f, const form *g,
                             size_t u);

/* The error that is left in f as a sum of independent errors with unit
 * variance, of the unknowns and then of the observations: *out gets their
 * coefficients, [n + m]; the sum of the squares is the variance of f. */
dm_status adjusted_errors(const station_system *s, const adjusted *a,
                          const form *f, double **out);

/* Chi-square d' S^-1 d, and whatever fails: S^-1 (in q, [m][m]) and
 * w = S^-1 d, from which z_j = w_j / sqrt(q_jj). */
dm_status adjusted_test(const adjusted *a, dm_arena *arena, double **q,
                        double **w, double *chi2);

#endif
