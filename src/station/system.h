/* SPDX-License-Identifier: MIT
 * The adjustment of one tendon as unknowns, knots and observations.
 *
 * Unknowns are independent deviations from what was stated, all with mean
 * zero and a finite prior variance: face shifts, encoder scales, tape scales,
 * and per run its skips, the steps of its walk and the errors of its ties. A
 * knot is a place of a run where something happened; its row says how the
 * length from the run's root to there depends on the unknowns.
 *
 * What is free (a skip of unknown length, the jump of an interval that does
 * not close) cuts a run into sections. Every section hangs on its own first
 * tie, so that nothing diffuse enters the equations; a section without a tie
 * is determined by nothing and left out. */
#ifndef DM_STATION_SYSTEM_H
#define DM_STATION_SYSTEM_H

#include "base/arena.h"
#include "ductmark/budget.h"

/* No start, tie or taped length is taken to be better than this, m. */
#define STATION_LEAST_U 1e-6
/* Starts, ties, skips and rezeros of one tendon, at most: memory and time
 * stay bounded (well under 100 MB, seconds). */
#define STATION_MOST_EVENTS 1000

typedef struct {
    size_t event;   /* of the run */
    size_t leg;     /* between two re-seats; counts over the run */
    size_t section; /* index into sections */
    double x;       /* run distance, m */
    size_t from;    /* the knot it is reached from; DM_NONE: the run's root */
    double travel;  /* encoder travel from there, m; negative: rolled back */
    size_t walk;    /* unknown: step of the walk on the way; DM_NONE */
    size_t skip;    /* unknown: deviation of the skip between; DM_NONE */
    double moved;   /* displacement of that skip as stated, m */
    double taped;   /* the part of it that a tape measured, m */
    double rolled;  /* encoder travel from the run's root, m */
    double nominal; /* outside length from the run's root as booked, m */
    double *row;    /* [unknowns] of that; NULL: not made yet */
    size_t bound;   /* begins (2 n) or ends (2 n + 1) the place of correction n;
                       DM_NONE */
} knot;

typedef struct {
    const dm_run *run;
    size_t index; /* in the survey */
    const dm_instrument *instrument;
    const dm_outside *outside;     /* the clock line it ran along */
    double dir;                    /* +1 ahead, -1 back */
    size_t scale, tape;            /* unknowns; tape may be DM_NONE */
    size_t first_knot, knot_count; /* by leg, then by x */
} path;

/* A start or a tie. */
typedef struct {
    size_t path, event, knot;
    size_t face;   /* as written, or as corrected */
    size_t noise;  /* unknown */
    double target; /* outside length of the encoder contact it states, m */
} tie;

typedef struct {
    size_t path;
    size_t event;     /* that opened it; DM_NONE: the run's begin */
    size_t base;      /* its first tie; DM_NONE: none */
    size_t tie_count; /* 1: nothing inside it checks it */
    bool suspect;     /* hangs on one tie whose interval does not close */
    /* What places a knot k of its run by this section's first tie: outside
     * length k->nominal + offset, row k->row + row. */
    double offset;
    double *row;
} section;

/* row . unknowns + error = value; the error has this variance. */
typedef struct {
    size_t interval; /* DM_NONE: a taped length */
    size_t tape;     /* index of the taped length */
    double *row;     /* [unknowns] */
    double value, variance;
} observation;

/* The prior of a scale that nobody is sure of, a ratio. */
#define STATION_SCALE_U 0.05
/* The prior of a skip not written down once it is accepted, m. */
#define STATION_JUMP_U 1.0

/* What the field book should have said. Which fields count: dm_hypothesis. */
typedef struct {
    dm_blunder kind;
    size_t path, interval, event, face;
    bool mirrored;
    double length;               /* of a missing skip or jump, about, m */
    size_t event_from, event_to; /* of its interval, if it has a place */
    double x_from, x_to; /* it lies between; not x_to > x_from: anywhere */
    /* Encoder travel from the run's root between which it lies, m; set by the
     * build. */
    double rolled_from, rolled_to;
    size_t unknown; /* its deviation from that; set by the build */
} correction;

/* What is given its freedom: [interval_count], [measured_count]; doubt:
 * intervals that are not reconciled without a jump of their own; and the
 * corrections. Arrays may be NULL. */
typedef struct {
    bool *interval, *tape, *doubt;
    correction *corrections;
    size_t correction_count;
} station_freedom;

typedef struct {
    const dm_model *model;
    const dm_survey *survey;
    const dm_tendon *tendon;
    const dm_settings *settings;
    const station_freedom *given; /* set by the build; may be NULL */
    dm_arena *arena;
    double radius;
    size_t n;             /* unknowns; the first are the face shifts */
    double *variance;     /* [n] prior, m^2 or a ratio squared */
    dm_budget_item *item; /* [n] what they are errors of */
    path *paths;
    size_t path_count;
    knot *knots;
    size_t knot_count;
    tie *ties; /* in the order of runs and events */
    size_t tie_count;
    section *sections;
    size_t section_count;
    dm_interval *intervals; /* misclosures are filled by the solver */
    size_t *interval_tie;   /* the tie that ends it; the one before begins it */
    size_t interval_count;
    observation *observations; /* intervals that can be tested, then tapes */
    size_t observation_count;
    dm_outside *outsides; /* one per clock line in use */
    size_t outside_count;
} station_system;

/* Builds all of it in s->arena, which the caller sets together with the five
 * inputs above it. `given` may be NULL: nothing. Sections without a tie are
 * reported. DM_NOMEM; DM_UNSUPPORTED: too many events (reported). */
dm_status station_system_build(station_system *s, size_t tendon,
                               const station_freedom *given, dm_diag *diag);

/* The second half of it: rows of the knots and the observations. */
dm_status station_system_observe(station_system *s);
/* Where the encoder contact stood at a start or tie if it was taken at that
 * face, outside length, m. */
double station_tie_target(const station_system *s, const path *p,
                          const dm_event *e, size_t face);
/* How far a known skip moved the sensor as stated, m. */
double station_skip_moved(const path *p, const dm_event *e);

/* The prepared clock line; NULL: no memory. */
const dm_outside *station_outside(station_system *s, double clock);
/* Where a face's plane, as drawn, cuts that clock line: outside length, m. */
double station_face_length(const station_system *s, const dm_outside *outside,
                           size_t face);

/* What the corrections make of the field book (correct.c). */
double station_direction(const station_system *s, size_t at, const dm_run *run);
size_t station_event_face(const station_system *s, size_t at, size_t event);
bool station_skip_void(const station_system *s, size_t at, size_t event);
double station_scale_sd(const station_system *s, const path *p);
/* Bound number n (2 to a correction) of where a missing skip lies: whether the
 * sensor came by it on its way from run distance x0 to event i, while it was
 * read; *x is where. */
bool station_bound(const station_system *s, size_t at, size_t i, double x0,
                   size_t n, double *x);
/* How likely a missing skip lies before that knot, 0 to 1. */
double station_fraction(const station_system *s, const correction *c,
                        const knot *k);
/* Whether the sensor came by x_from and x_to on its way through the interval,
 * while it was read. */
bool station_place_met(const station_system *s, const dm_interval *interval,
                       double x_from, double x_to);
/* Missing skips: their place in the rows and nominal lengths. */
void station_place_missing(station_system *s);

#endif
