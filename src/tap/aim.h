/* SPDX-License-Identifier: MIT
 * Where a hole may lie and how likely it is to enter: arithmetic only. */
#ifndef DM_TAP_AIM_H
#define DM_TAP_AIM_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/centreline.h"

typedef struct {
    double from, to; /* stations, m */
} dm_span;

typedef enum {
    DM_AIM_MIDDLE, /* of the longest allowed part */
    DM_AIM_HIGH,   /* greatest Z of the centreline; level: the middle */
    DM_AIM_OUTLET, /* greatest Z; level: the last allowed station */
    DM_AIM_INLET   /* least Z; level: the first allowed station */
} dm_aim;

/* The best station of from..to outside every forbidden span; crests and sags
 * inside it are looked for. `level`: it rises by less than 1 mm per m. False:
 * nothing is allowed. */
bool dm_aim_choose(const dm_centreline *line, double from, double to,
                   const dm_span *forbidden, size_t count, dm_aim aim,
                   double *t, bool *level);

/* P(from + e1 <= t <= to + e2) with normal errors of the two ends, relative
 * to the hole; u < 0: that end is open and cannot be missed. At least 0. */
double dm_enter_probability(double t, double from, double u_from, double to,
                            double u_to);

/* Angle in (-pi, pi]. */
double dm_wrap(double angle);
/* The line to tape along for a mark at `clock`: the crown, or, where the mark
 * is more than 90 deg from it, the nearest of 3, 6 and 9 o'clock. */
double dm_tape_line(double clock);

#endif
