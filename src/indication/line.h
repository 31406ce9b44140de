/* SPDX-License-Identifier: MIT
 * One run in work, and one channel of it. */
#ifndef DM_INDICATION_LINE_H
#define DM_INDICATION_LINE_H

#include "indication/bins.h"
#include "indication/find.h"

/* What was said of a run, once each. */
typedef struct {
    bool steel, calibration, wall, counted;
} dm_run_said;

typedef struct {
    const dm_run *run;
    const dm_run_stations *stations;
    size_t at; /* index into the stations' runs */
    const dm_instrument *instrument;
    const dm_columns *columns;
    dm_bins *bins; /* one per stretch */
    size_t factor;
    dm_run_said *said;
} dm_run_work;

/* Tendon stations between which a stretch was read; low > high: nowhere. */
typedef struct {
    double low, high;
} dm_extent;

/* What belongs to one channel of the run. */
typedef struct {
    size_t channel, column;
    double clock, footprint;
    size_t clock_line;  /* index into the finder's */
    dm_extent *extents; /* one per stretch */
    dm_strip *strips;
    size_t *stretch; /* of each strip */
    size_t count, capacity, stretch_capacity;
    const dm_calibration *calibration; /* of the run's first duct */
    dm_gain gain;
    bool drifted;   /* its checks, beyond the limit */
    bool raised;    /* its bands, to the noise: said */
    bool measured;  /* its noise is known: */
    dm_noise noise; /* without lift-offs */
} dm_run_line;

/* Somebody who looks on while a tendon is read and changes nothing. Both
 * return DM_OK or DM_NOMEM. */
typedef struct dm_watch {
    void *user;
    /* Rows of a stretch, as they come in. */
    dm_status (*rows)(void *user, const dm_run_work *w, size_t stretch,
                      const dm_block *block);
    /* A channel that has been searched. */
    dm_status (*line)(void *user, const dm_run_work *w, const dm_run_line *l);
} dm_watch;

/* dm_indications_find before somebody's eyes. */
dm_status dm_find_watched(const dm_model *model, const dm_survey *survey,
                          const dm_stations *stations,
                          const dm_criteria *criteria, const dm_register *reg,
                          const dm_settings *settings, const dm_watch *watch,
                          dm_diag *diag, dm_indications **out);

/* Counts the run among those left out, all or some, once. */
static inline void dm_run_count(dm_finder *f, const dm_run_work *w)
{
    f->out->failed_runs += w->said->counted ? 0 : 1;
    w->said->counted = true;
}

/* Keeps the hash of the reader's file: "sha256  path". */
dm_status dm_hash_keep(dm_finder *f, dm_readings *readings, const char *path);
/* turn.c: the run's turns, read and placed; lines: one per value column. */
dm_status dm_turns_of_run(dm_finder *f, const dm_run_work *w,
                          const dm_run_line *lines);
/* Searches the strips of one channel: sightings, claims, profile. */
dm_status dm_line_search(dm_finder *f, const dm_run_work *w, dm_run_line *l);
/* Zones of one strip to sightings, and what of it was read. `list` is for its
 * use and grows. */
dm_status dm_strip_sight(dm_finder *f, const dm_run_work *w, dm_run_line *l,
                         size_t strip, const dm_noise *noise,
                         dm_found_list *list);
/* Keeps the profile of a searched channel (doubt.c). */
dm_status dm_run_profile_add(dm_finder *f, const dm_run_work *w,
                             const dm_run_line *l);
/* The clock line of a channel of the run. */
dm_status dm_line_take(dm_finder *f, const dm_run *run, size_t channel,
                       size_t *line);
/* Claims of lengths that a run that had to be left out would have read. */
dm_status dm_claim_left_out(dm_finder *f, const dm_run_work *w);
/* The same of a run without a station anywhere: the whole tendon. */
dm_status dm_claim_unusable(dm_finder *f, const dm_run *run);

#endif
