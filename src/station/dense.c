/* SPDX-License-Identifier: MIT
 * Cholesky's method; a pivot that lost all but 1e-13 of its diagonal counts
 * as zero. */
#include "station/dense.h"

#include <math.h>
#include <string.h>

bool dense_factor(double *a, size_t n, size_t *at)
{
    for (size_t j = 0; j < n; j++) {
        double diagonal = a[j * n + j], d = diagonal;
        for (size_t k = 0; k < j; k++)
            d -= a[j * n + k] * a[j * n + k];
        if (!(d > 1e-13 * diagonal) || !(diagonal > 0.0)) {
            *at = j;
            return false;
        }
        double root = sqrt(d);
        a[j * n + j] = root;
        for (size_t i = j + 1; i < n; i++) {
            double s = a[i * n + j];
            for (size_t k = 0; k < j; k++)
                s -= a[i * n + k] * a[j * n + k];
            a[i * n + j] = s / root;
        }
    }
    return true;
}

void dense_solve(const double *l, size_t n, double *b)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++)
            b[i] -= l[i * n + k] * b[k];
        b[i] /= l[i * n + i];
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++)
            b[i] -= l[k * n + i] * b[k];
        b[i] /= l[i * n + i];
    }
}

void dense_inverse(const double *l, size_t n, double *out)
{
    memset(out, 0, n * n * sizeof *out);
    for (size_t i = 0; i < n; i++) {
        double *row = out + i * n;
        row[i] = 1.0;
        dense_solve(l, n, row);
    }
}

double dense_form(const double *a, size_t n, const double *x, const double *y)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (x[i] == 0.0)
            continue;
        double s = 0.0;
        for (size_t k = 0; k < n; k++)
            s += a[i * n + k] * y[k];
        sum += x[i] * s;
    }
    return sum;
}
