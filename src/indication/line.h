/* SPDX-License-Identifier: MIT
 * One run in work, and one channel of it. */
#ifndef DM_INDICATION_LINE_H
#define DM_INDICATION_LINE_H

#include "indication/bins.h"
#include "indication/find.h"

typedef struct {
    const dm_run *run;
    const dm_run_stations *stations;
    size_t at; /* index into the stations' runs */
    const dm_instrument *instrument;
    const dm_columns *columns;
    dm_bins *bins; /* one per stretch */
    size_t factor;
    bool *steel_said; /* one flag */
} dm_run_work;

/* What belongs to one channel of the run. */
typedef struct {
    size_t channel, column;
    double clock, footprint;
    dm_strip *strips;
    size_t *stretch; /* of each strip */
    size_t count, capacity, stretch_capacity;
    const dm_calibration *calibration; /* of the run's first duct */
    dm_gain gain;
} dm_run_line;

/* Searches the strips of one channel: sightings, claims, profile. */
dm_status dm_line_search(dm_finder *f, const dm_run_work *w, dm_run_line *l);
/* Claims of lengths that a run that had to be left out would have read. */
dm_status dm_claim_left_out(dm_finder *f, const dm_run_work *w);

#endif
