/* SPDX-License-Identifier: MIT
 * Hypotheses in the making: what each touches, how well it explains what does
 * not close, and their order. */
#ifndef DM_STATION_RANKING_H
#define DM_STATION_RANKING_H

#include "station/hypothesis.h"

typedef struct {
    dm_hypothesis h;
    /* What it touches; a count of 0 with `scale`: the rows of that unknown. */
    size_t at[2];
    double c[2];
    size_t count, scale;
    double size, slope; /* A and B of evidence.h */
} candidate;

typedef struct {
    const station_system *s;
    const closure *c;
    double least; /* of chi-square, to be explained */
    candidate *items;
    size_t count, capacity;
    bool failed; /* no memory */
} ranking;

/* Touches nothing yet. */
candidate candidate_start(dm_blunder kind, size_t run, size_t interval);
/* Its size, slope and length. False: it touches nothing that is in. */
bool ranking_measure(const ranking *r, candidate *a);
/* `gain`: the chi-square that it explains; passed over if that is too little.
 */
void ranking_add(ranking *r, const candidate *a, double evidence, double gain);
/* Ranks them; the first, its equals and as many of the others as there is room
 * for. */
size_t ranking_keep(ranking *r, dm_hypothesis out[HYPOTHESES_KEPT]);

/* A run entered the wrong way round (reversed.c); `odds` beforehand. *turned
 * counts the multiplications that it takes. DM_NOMEM */
dm_status ranking_add_reversed(ranking *r, size_t path_index, double odds,
                               double *turned);

#endif
