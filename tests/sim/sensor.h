/* SPDX-License-Identifier: MIT
 * A hand-held sensor with its own physics, for sim_indications.c. Shares no
 * code with the library and no kernel with its estimator. Invented. Metres;
 * the index without unit (0 sound, 1 air).
 *
 * What is in the duct is a line of nodes (zones with abrupt or tapered ends);
 * the sensor blurs it with a smooth symmetric kernel, adds a drift of waves of
 * 4 to 13 m, a gain 2 % wrong, and noise: half of its variance white, half
 * correlated with the length 0.4 w. A lift-off lies over all that, unblurred.
 * Readings come every 2 to 5 mm, unevenly, their distances rounded. */
#ifndef SENSOR_H
#define SENSOR_H

#include <stdbool.h>
#include <stddef.h>

#define SENSOR_W 0.1
/* Kernels, in the order of `kernel`: raised cosine of full width w at half
 * height; normal, and raised cosine, of the standard deviation of a boxcar of
 * width w (w / sqrt 12): full width at half height 0.68 w and 0.80 w. */
#define SENSOR_KERNELS 3
#define SENSOR_ZONES 64
#define SENSOR_LIFTS 64

typedef struct {
    double from, to; /* half height of the unblurred index */
    /* From the tip to the full plateau, at each end; 0: abrupt. */
    double taper[2];
    /* The index of a taper rises straight, or steeply first, as a thin void
     * shows at once and a deep one no more than a less deep one:
     * (1 - exp(-2 z)) / (1 - exp(-2)), z being the share of the taper. */
    bool bowed;
    double height;
} sensor_zone;

typedef struct {
    double from, to; /* half height */
    double rise;     /* length of each flank */
    double level;    /* of the index while lifted */
} sensor_lift;

typedef struct {
    double length, noise;
    int kernel;
    double step;           /* mean distance of readings */
    double gain;           /* of the index */
    double wave[3], at[3]; /* drift: amplitudes, phases */
    sensor_zone zones[SENSOR_ZONES];
    size_t zone_count;
    sensor_lift lifts[SENSOR_LIFTS];
    size_t lift_count;
} sensor_run;

/* A run without zones: kernel `kernel`, spacing, gain and drift drawn; drift
 * waves of normal amplitude, standard deviation `drift` each. */
void sensor_begin(sensor_run *run, double length, double noise, double drift,
                  int kernel);
/* Adds a zone. Returns it, to be changed. */
sensor_zone *sensor_put(sensor_run *run, double from, double to, double height);
sensor_lift *sensor_lift_off(sensor_run *run, double from, double to,
                             double rise, double level);
/* The tip of a zone: where the index begins to rise. side -1: at `from`. */
double sensor_tip(const sensor_zone *zone, int side);
/* Most rows of a run. */
size_t sensor_rows_max(const sensor_run *run);
/* Walks the run: x[] as the encoder tells it, y[] the index. Returns rows. */
size_t sensor_walk(const sensor_run *run, double *x, double *y);

#endif
