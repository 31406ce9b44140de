/* SPDX-License-Identifier: MIT
 * Cholesky's method; a pivot that lost all but 1e-13 of its diagonal counts
 * as zero. Least squares by Givens rotations: the condition is that of the
 * observations, not its square as with normal equations. */
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

void dense_rotate(double *r, double *right, size_t n, double *row, double value)
{
    for (size_t j = 0; j < n; j++) {
        if (row[j] == 0.0)
            continue;
        double *own = r + j * n;
        double h = hypot(own[j], row[j]), c = own[j] / h, s = row[j] / h;
        for (size_t k = j; k < n; k++) {
            double keep = own[k];
            own[k] = c * keep + s * row[k];
            row[k] = c * row[k] - s * keep;
        }
        row[j] = 0.0;
        double keep = right[j];
        right[j] = c * keep + s * value;
        value = c * value - s * keep;
    }
}

bool dense_full_rank(const double *r, size_t n)
{
    for (size_t j = 0; j < n; j++) {
        double size = 0.0;
        for (size_t i = 0; i <= j; i++)
            size = hypot(size, r[i * n + j]);
        if (!(fabs(r[j * n + j]) > 1e-13 * size))
            return false;
    }
    return true;
}

void dense_back(const double *r, size_t n, double *b)
{
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++)
            b[i] -= r[i * n + k] * b[k];
        b[i] /= r[i * n + i];
    }
}

void dense_covariance(const double *r, size_t n, double *inverse, double *out)
{
    /* R X = I; column j of X has nothing below row j. */
    memset(inverse, 0, n * n * sizeof *inverse);
    for (size_t j = 0; j < n; j++) {
        inverse[j * n + j] = 1.0 / r[j * n + j];
        for (size_t i = j; i-- > 0;) {
            double sum = 0.0;
            for (size_t k = i + 1; k <= j; k++)
                sum += r[i * n + k] * inverse[k * n + j];
            inverse[i * n + j] = -sum / r[i * n + i];
        }
    }
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j <= i; j++) {
            double sum = 0.0;
            for (size_t k = i; k < n; k++)
                sum += inverse[i * n + k] * inverse[j * n + k];
            out[i * n + j] = out[j * n + i] = sum;
        }
}
