/* SPDX-License-Identifier: MIT
 * A stopwatch and a line of TSV: name, items, ns per item, yardstick, ratio of
 * the yardstick's time to ours (1: as fast). Both are measured in turn in one
 * run; medians. Nothing here decides: a benchmark prints, no test times. */
#ifndef DM_BENCH_H
#define DM_BENCH_H

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define BENCH_ROUNDS 11

/* Needs _POSIX_C_SOURCE >= 199309L before the first include. */
static inline double bench_now(void)
{
    struct timespec t;

    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static inline int bench_order(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;

    return p < q ? -1 : p > q;
}

static inline double bench_median(double *seconds, size_t count)
{
    qsort(seconds, count, sizeof *seconds, bench_order);
    return seconds[count / 2];
}

/* Runs both in turn (each returns its seconds) and prints a line. */
static inline void bench_pair(const char *name, double items,
                              double (*ours)(void *), const char *yardstick,
                              double (*theirs)(void *), void *user)
{
    double a[BENCH_ROUNDS], b[BENCH_ROUNDS];
    double us, them;
    int i;

    ours(user);
    theirs(user);
    for (i = 0; i < BENCH_ROUNDS; i++) {
        a[i] = ours(user);
        b[i] = theirs(user);
    }
    us = bench_median(a, BENCH_ROUNDS);
    them = bench_median(b, BENCH_ROUNDS);
    printf("%s\t%.0f\t%.3f\t%s\t%.3f\n", name, items, 1e9 * us / items,
           yardstick, them / us);
}

#endif
