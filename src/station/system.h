/* SPDX-License-Identifier: MIT
 * The adjustment of one tendon as unknowns, knots and observations.
 *
 * Unknowns are deviations from what was stated, all with mean zero: face
 * shifts, encoder scales, tape scales, and per run its begin, its skips, the
 * steps of its walk, and free jumps. A knot is a place of a run where
 * something happened; its row says how the encoder contact's outside length
 * there depends on the unknowns. */
#ifndef DM_STATION_SYSTEM_H
#define DM_STATION_SYSTEM_H

#include "base/arena.h"
#include "ductmark/station.h"

typedef struct {
    size_t event;   /* of the run */
    size_t leg;     /* between two re-seats; counts over the run */
    double x;       /* run distance, m */
    size_t from;    /* the knot it is reached from; DM_NONE: the begin */
    double travel;  /* encoder travel from there, m; negative: rolled back */
    size_t walk;    /* unknown: step of the walk on the way; DM_NONE */
    size_t skip;    /* unknown: deviation of the skip between; DM_NONE */
    double moved;   /* displacement of that skip as stated, m */
    double taped;   /* what of it a tape measured, m */
    double nominal; /* outside length of the encoder contact, m */
    double *row;    /* [unknowns], without jumps: station_frame adds them */
} knot;

typedef struct {
    const dm_run *run;
    size_t index; /* in the survey */
    const dm_instrument *instrument;
    double dir;                    /* +1 ahead, -1 back */
    size_t scale, tape, begin;     /* unknowns */
    size_t first_knot, knot_count; /* by leg, then by x */
    size_t event_end; /* events from here on hang on nothing: left out */
} path;

typedef struct {
    double *row; /* [unknowns] */
    double value, variance;
} observation;

typedef struct {
    const dm_model *model;
    const dm_survey *survey;
    const dm_tendon *tendon;
    const dm_settings *settings;
    dm_arena *arena;
    double radius;
    size_t n;         /* unknowns */
    double *variance; /* [n] prior; INFINITY: diffuse */
    path *paths;
    size_t path_count;
    knot *knots;
    size_t knot_count;
    observation *ties; /* per start or tie, in the order of runs and events */
    size_t *tie_knot;
    size_t *tie_path;
    size_t tie_count;
    double *tie_target; /* outside length it observes, m */
    observation *tapes; /* taped lengths between faces, those in use */
    size_t *tape_index; /* of the tendon's measured lengths */
    size_t tape_count;
    const bool *jumps;  /* [interval_count]: a free jump in it; NULL: none */
    const bool *misled; /* [measured_count]: a tape left out; NULL: none */
    dm_interval *intervals; /* filled by the solver */
    size_t *interval_tie;   /* index of the tie that ends it */
    size_t *interval_jump;  /* unknown; DM_NONE */
    size_t interval_count;
} station_system;

/* Outside length of a face on clock line phi, as drawn. */
double station_face_length(const station_system *s, size_t face, double phi);

/* Adds to `row` the jumps of a path that lie before its event `event`: a jump
 * displaces all that comes later in the sequence, wherever its x. */
void station_frame(const station_system *s, const path *p, size_t event,
                   double *row);

/* Builds unknowns, knots, observations and intervals, with the jumps and
 * without the tapes that s names. Everything lives in s->arena. */
dm_status station_system_build(station_system *s, size_t tendon, dm_diag *diag);

#endif
