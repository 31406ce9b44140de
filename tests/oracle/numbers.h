/* SPDX-License-Identifier: MIT
 * Numbers from standard input, for the programs of this folder. */
#ifndef DM_ORACLE_NUMBERS_H
#define DM_ORACLE_NUMBERS_H

#include <stdio.h>
#include <stdlib.h>

static inline void fail(const char *what)
{
    fprintf(stderr, "%s\n", what);
    exit(2);
}

static inline double number(void)
{
    double v = 0.0;

    if (scanf("%lf", &v) != 1)
        fail("a number is missing");
    return v;
}

#endif
