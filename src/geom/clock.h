/* SPDX-License-Identifier: MIT
 * Clock angles of two readings, seen as one line or as two. */
#ifndef DM_GEOM_CLOCK_H
#define DM_GEOM_CLOCK_H

#include <math.h>
#include <stdbool.h>

/* Round the duct between two clock angles, rad, 0 to pi. */
static inline double dm_clock_apart(double a, double b)
{
    return fabs(remainder(a - b, 6.283185307179586476925));
}

/* Lines within half a degree are one. */
static inline bool dm_same_line(double a, double b)
{
    return dm_clock_apart(a, b) < 0.0087;
}

#endif
