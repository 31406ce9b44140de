/* SPDX-License-Identifier: MIT
 * Cholesky's method; a pivot that lost all but 1e-14 of its diagonal counts
 * as zero. Sums are kept in long double: what the method subtracts is close
 * to what it subtracts from wherever a tie is nearly exact. */
#include "station/dense.h"

#include <math.h>

double dense_dot(const double *a, const double *b, size_t n)
{
    long double sum = 0.0L;
    for (size_t i = 0; i < n; i++)
        sum += dense_wide(a[i]) * dense_wide(b[i]);
    return (double)sum;
}

bool dense_factor(double *a, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        double *row = a + i * n;
        for (size_t j = 0; j < i; j++)
            row[j] = (row[j] - dense_dot(row, a + j * n, j)) / a[j * n + j];
        double rest = row[i] - dense_dot(row, row, i);
        if (!(rest > 1e-14 * row[i]) || !(row[i] > 0.0))
            return false;
        row[i] = sqrt(rest);
    }
    return true;
}

void dense_forward(const double *l, size_t n, double *b)
{
    for (size_t i = 0; i < n; i++)
        b[i] = (b[i] - dense_dot(l + i * n, b, i)) / l[i * n + i];
}

void dense_backward(const double *l, size_t n, double *b)
{
    for (size_t i = n; i-- > 0;) {
        b[i] /= l[i * n + i];
        for (size_t k = 0; k < i; k++)
            b[k] -= l[i * n + k] * b[i];
    }
}
