/* SPDX-License-Identifier: MIT
 * Tests of the misclosures that are still in. */
#ifndef DM_STATION_CLOSURE_H
#define DM_STATION_CLOSURE_H

#include "station/adjust.h"

/* S^-1 and S^-1 d of the misclosures that are still in. */
typedef struct {
    size_t m, n; /* misclosures, unknowns */
    double *q, *w;
    bool *dropped;
    double chi2, logdet; /* d' S^-1 d and log |S| of what is in */
    size_t *of_interval; /* [intervals] the observation; DM_NONE */
    bool *scale_free;    /* [n] no more than once */
    double turned;       /* multiplications that turning runs has cost */
} closure;

/* Of an adjusted system. DM_NOMEM. */
dm_status closure_new(const station_system *s, const adjusted *a, closure *out);
/* A copy that can be restored. DM_NOMEM. */
dm_status closure_copy(const station_system *s, const closure *from,
                       closure *out);
/* As `from` again, of which it is a copy; `turned` stays. */
void closure_restore(closure *c, const closure *from);
/* Gives observation j a free jump. */
void closure_drop(closure *c, size_t j);
/* Frees the scale of that path. */
dm_status closure_free_scale(const station_system *s, closure *c, size_t at);
/* The greatest |z| of a misclosure, of a tie between two, or of a scale (that
 * over 1.1). */
double closure_worst(const station_system *s, const closure *c);

#endif
