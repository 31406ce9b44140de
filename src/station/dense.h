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
/* Turns one more equation row . x = value, of unit weight, into the triangular
 * least-squares system R x = right (upper, n x n). `row` is used up. */
void dense_rotate(double *r, double *right, size_t n, double *row,
                  double value);
/* False: the system leaves something undetermined. */
bool dense_full_rank(const double *r, size_t n);
/* Solves R x = b in place of b. */
void dense_back(const double *r, size_t n, double *b);
/* (R' R)^-1 into `out`; R^-1 into `inverse`, both n x n. */
void dense_covariance(const double *r, size_t n, double *inverse, double *out);

#endif
