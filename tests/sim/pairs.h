/* SPDX-License-Identifier: MIT
 * The part of sim_distances.c about two blunders. */
#ifndef PAIRS_H
#define PAIRS_H

#include <stdbool.h>
#include <stddef.h>

/* In two of six runs that share an encoder, 0.30 m and 0.10 m. */
void two_runs(size_t cases);
/* In two intervals of one run with four ties, 0.30 m and `second`. */
void two_intervals(size_t cases, double second, bool unlike);

#endif
