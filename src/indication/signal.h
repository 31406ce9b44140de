/* SPDX-License-Identifier: MIT
 * The numeric core on plain arrays: strips of cells, their noise, what stands
 * out of them, and where it begins and ends. Knows no files and no runs, so
 * that a simulation can drive it with known truth.
 *
 * A strip is one contiguous read length of one channel, its cells at a nearly
 * constant pitch in the order of the tendon's stations. Lengths in metres,
 * the index without unit (0 sound, 1 air). */
#ifndef DM_INDICATION_SIGNAL_H
#define DM_INDICATION_SIGNAL_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "ductmark/survey.h"

/* Cells per footprint, unless the readings are further apart. */
#define DM_CELLS_PER_FOOTPRINT 20.0
/* Lags kept of the noise's autocovariance. */
#define DM_NOISE_LAGS 64

/* Most of a drift that is taken out, as index: what the checks of a run let
 * pass by default (check_drift). What is more may be a void. */
#define DM_DRIFT_MOST 0.1

typedef struct {
    size_t count;
    double pitch;       /* mean distance between cells, m */
    double *t;          /* station of the cell's mean reading, m, increasing */
    double *x;          /* its run distance, m */
    double *index;      /* mean index; where `bad`, bridged from both sides */
    double *smooth;     /* moving mean over 0.4 footprint */
    double *base;       /* slow drift beneath it, at most DM_DRIFT_MOST */
    unsigned char *bad; /* not valid: taken for a lift-off */
    unsigned char *unreconciled;
} dm_strip;

/* Stationary noise of a cell's index: cov[k] at a lag of k cells. */
typedef struct {
    double cov[DM_NOISE_LAGS];
    size_t lags;
    double sigma;  /* of one cell: sqrt(cov[0]) */
    double smooth; /* of the smoothed index */
} dm_noise;

/* Thresholds in force on a strip. */
typedef struct {
    double enter, leave;           /* positive: void-like */
    double soft_enter, soft_leave; /* negative */
} dm_thresholds;

/* One end of a piece. */
typedef struct {
    double t, x; /* half height: station and run distance, m */
    double u;    /* standard uncertainty from the readings, m */
    double rise; /* length over which the index rises there, m; NAN */
    /* How far beyond t the unblurred index may begin to rise, m; NAN: open, or
     * t is a bound. */
    double tip_low, tip_high;
    bool open; /* no half height there: unread length follows */
} dm_edge;

/* Something that stands out of one strip. */
typedef struct {
    int sign;           /* +1 void-like, -1 soft or strand */
    size_t first, last; /* cells beyond the leaving threshold */
    dm_edge from, to;
    double plateau, plateau_u;
    double base; /* index beside it */
    /* Sum of the index above that along the zone, m: height times length, which
     * the blur does not change. */
    double index_length, index_length_u;
    bool shorter; /* maybe than 1.25 footprints: from..to is an outer bound */
} dm_found;

/* A growing list of them (heap; free(items)). */
typedef struct {
    dm_found *items;
    size_t count, capacity;
} dm_found_list;

/* Moving mean over 2 half + 1 cells, shortened at the ends; sums of the
 * window are carried along, so the cost does not depend on `half`. */
void dm_smooth(const double *v, size_t count, size_t half, double *out);

/* smooth[] from index[] for a footprint. */
void dm_strip_smooth(dm_strip *strip, double footprint);

/* base[] from smooth[], once the noise is known (drift.c): medians of quiet
 * cells over 1.2 m, drawn towards 0 by their noise, joined by lines. False: no
 * memory. */
bool dm_strip_drift(dm_strip *strip, double footprint, const dm_noise *noise,
                    const dm_thresholds *band);

/* Autocovariance of the noise from strips of one run and channel: half the
 * mean square difference at growing lags (the variogram) on quiet lengths,
 * cut at six robust deviations (median absolute difference); the covariance
 * is what the variogram lacks to its value at one footprint. False: no
 * memory. */
bool dm_noise_estimate(const dm_strip *strips, size_t count, double footprint,
                       const dm_thresholds *band, dm_noise *out);
/* Variance of the mean of n neighbouring cells. */
double dm_noise_mean_var(const dm_noise *noise, size_t n);

/* Marks and bridges lift-offs and counts them. False: no memory. */
bool dm_strip_liftoffs(dm_strip *strip, double footprint, const dm_noise *noise,
                       const dm_thresholds *band, size_t *found);

/* Noise, then lift-offs of all strips, then the noise without them, then the
 * drift. False: no memory. */
bool dm_strips_clean(dm_strip *strips, size_t count, double footprint,
                     const dm_thresholds *band, dm_noise *noise);

/* Hysteresis, then plateau and edges. Appends to the list; false: no memory.
 * band->enter may be raised by the caller where the noise demands it. */
bool dm_strip_find(const dm_strip *strip, double footprint,
                   const dm_noise *noise, const dm_thresholds *band,
                   double least_length, dm_found_list *list);

/* Least threshold that the noise allows: 4.5 deviations of the smoothed
 * index. */
double dm_noise_floor(const dm_noise *noise);
/* Raises what enters below the noise's floor to it, and what leaves in
 * proportion. True: something was raised. */
bool dm_thresholds_raise(dm_thresholds *band, const dm_noise *noise);

/* Plateau and both edges of a zone that hysteresis found (edge.c). */
void dm_found_measure(const dm_strip *strip, double footprint,
                      const dm_noise *noise, const dm_thresholds *band,
                      dm_found *found);

/* Run distance at station t, by interpolation between cells. */
double dm_strip_x(const dm_strip *strip, double t);
/* First cell at or after station t; count when none. */
size_t dm_strip_cell(const dm_strip *strip, double t);

#endif
