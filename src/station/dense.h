/* SPDX-License-Identifier: MIT
 * Small dense symmetric matrices, row by row in one array. */
#ifndef DM_STATION_DENSE_H
#define DM_STATION_DENSE_H

#include <stdbool.h>
#include <stddef.h>

/* Cholesky factor L (lower, in place) of a symmetric positive definite n x n
 * matrix. False: not positive definite; *at is the row where it showed. */
bool dense_factor(double *a, size_t n, size_t *at);
/* Solves L L' x = b in place of b. */
void dense_solve(const double *l, size_t n, double *b);
/* The whole inverse of L L' into `out`. */
void dense_inverse(const double *l, size_t n, double *out);
/* x' A y of a full n x n matrix A. */
double dense_form(const double *a, size_t n, const double *x, const double *y);

#endif
