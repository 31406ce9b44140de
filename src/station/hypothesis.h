/* SPDX-License-Identifier: MIT
 * Explanations of what does not close. */
#ifndef DM_STATION_HYPOTHESIS_H
#define DM_STATION_HYPOTHESIS_H

#include "station/closure.h"

/* Most hypotheses of one group. */
#define HYPOTHESES_KEPT 8

/* Ranks what may explain the worst of `c`: at least one; at most
 * HYPOTHESES_KEPT into `out`, best first. */
dm_status hypotheses_rank(const station_system *s, closure *c,
                          dm_hypothesis out[HYPOTHESES_KEPT], size_t *count);

/* The observations that a hypothesis is about, as indices; at most
 * observation_count of them. */
size_t hypothesis_observations(const station_system *s, const closure *c,
                               const dm_hypothesis *h, size_t *out);

#endif
