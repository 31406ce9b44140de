/* SPDX-License-Identifier: MIT
 * Tests of what is still in, and the explanations of what does not close. */
#ifndef DM_STATION_HYPOTHESIS_H
#define DM_STATION_HYPOTHESIS_H

#include "station/adjust.h"

/* S^-1 and S^-1 d of the misclosures that are still in. */
typedef struct {
    size_t m;
    double *q, *w;
    bool *dropped;
    double chi2, logdet; /* d' S^-1 d and log |S| of what is in */
    size_t *of_interval; /* [intervals] the observation; DM_NONE */
    bool *scale_free;    /* [unknowns] no more than once */
    double turned;       /* multiplications that turning runs has cost */
} closure;

/* Of an adjusted system. DM_NOMEM. */
dm_status closure_new(const station_system *s, const adjusted *a, closure *out);
/* Gives observation j a free jump. */
void closure_drop(closure *c, size_t j);
/* Frees the scale of that path. */
dm_status closure_free_scale(const station_system *s, closure *c, size_t at);
/* The greatest |z| of a misclosure or of a tie between two. */
double closure_worst(const station_system *s, const closure *c);

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
