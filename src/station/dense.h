/* SPDX-License-Identifier: MIT
 * Small dense symmetric matrices, row by row in one array. */
#ifndef DM_STATION_DENSE_H
#define DM_STATION_DENSE_H

#include <stdbool.h>
#include <stddef.h>

double dense_dot(const double *a, const double *b, size_t n);
/* For sums that lose to cancellation what double holds. */
static inline long double dense_wide(double x)
{
    return (long double)x;
}

/* Cholesky factor L (lower, in place; above it rubbish stays) of a symmetric
 * positive definite n x n matrix. False: not positive definite. */
bool dense_factor(double *a, size_t n);
/* Solves L y = b in place of b. */
void dense_forward(const double *l, size_t n, double *b);
/* Solves L' x = b in place of b. */
void dense_backward(const double *l, size_t n, double *b);

#endif
