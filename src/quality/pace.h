/* SPDX-License-Identifier: MIT
 * How a run was pulled, from its rows as they stream by. Memory does not grow
 * with their number: quantiles come from histograms with classes of one per
 * cent. */
#ifndef DM_QUALITY_PACE_H
#define DM_QUALITY_PACE_H

#include "ductmark/quality.h"

#define PACE_CLASSES 2304

/* Weights over the logarithm of a positive value. */
typedef struct {
    double weight[PACE_CLASSES], sum;
} pace_histogram;

/* Somewhere in the rows. */
typedef struct {
    size_t stretch;
    double x_from, x_to;
    dm_place place;
} pace_spot;

typedef struct {
    double footprint;
    dm_pace sum;
    double rise, fall; /* of x, m */
    pace_spot sparse, gap, roll_back, fast, clock;
    double sparse_least; /* length of that spot, m */
    pace_histogram spacing, speed;
    /* of the stretch */
    bool begun, back;
    size_t stretch;
    double high, last, sparse_from, sparse_to;
    /* its clock */
    bool clocked;
    double time, clock_x, tick;
    double anchor_x, anchor_time;
    double piece_x, piece_time, piece_travel;
} pace_state;

/* @param footprint  the least of the run's channels, m */
void pace_begin(pace_state *p, double footprint);
/* The next rows of a stretch, whose file is `href`. */
void pace_rows(pace_state *p, size_t stretch, const char *href,
               const dm_block *block);
/* What came of it; afterwards only reading. */
void pace_end(pace_state *p);
/* Speed at which readings lie DM_PER_FOOTPRINT to the footprint, at the rate
 * of this run; NAN: not known. */
double pace_speed_wanted(const pace_state *p);

#endif
