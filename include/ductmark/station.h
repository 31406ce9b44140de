/* SPDX-License-Identifier: MIT
 *
 * Reconciling distances: from run distance to tendon station, with bounds.
 * After: survey. Before: indication.
 *
 * All runs of one tendon are solved together, one Gaussian least-squares
 * problem. Outside displacement of the encoder contact after the sequence of
 * events, in the direction of travel:
 *
 *   l = l0 + (1 + k) scale (x - x0) + sum of displacements of skips + walk
 *
 * with priors k ~ N(0, s_k) per instrument or per run; each skip ~ N(stated,
 * s_skip), or diffuse where its length is unknown, plus a scale error common
 * to all skips of one tape; walk a Brownian motion of q metres per root metre
 * of encoder travel; each face ~ N(drawing, s_face), shared by all runs of
 * the tendon. A start or tie observes that the part of the sensor named by
 * `with` stood at the face (plus `distance`); a taped length observes the
 * difference of two faces. Source: Gauss-Markov model with prior information
 * (any text on least-squares adjustment); Brownian bridge between knots.
 *
 * Between knots the mean is linear and each variance quadratic in x, so a
 * piece holds three coefficients per bound and a reading costs a few
 * operations. How it is computed, with a worked example: docs/stations.md; how
 * well it agrees with a second implementation: docs/accuracy.md.
 *
 * Lengths in metres; variances in m^2, standard, not expanded. Outside lengths
 * run along the run's clock line from t = 0. Results are immutable and point
 * into model and survey.
 */
#ifndef DUCTMARK_STATION_H
#define DUCTMARK_STATION_H

#include "ductmark/job.h"

DM_BEGIN_C

/** v(dx) = c[0] + c[1] dx + c[2] dx^2, m^2.
 *  Variances of stations have this form between two knots: a Brownian bridge
 *  between known ends. Never negative but for rounding; take 0 then. */
typedef struct {
    double c[3];
} dm_quadratic;

/** Between two knots of a run, within one stretch.
 *  Beyond the outermost knots of a stretch scale and walk go on unchecked, so
 *  that the variance grows: its first piece ends at the first knot and holds
 *  for any x before that, too; its last has x1 = INFINITY. Where the sensor was
 *  rolled back a piece stands for the last pass ahead. A query at run distance
 *  x: dx = x - x0. */
typedef struct {
    /** Run distance, m, x0 < x1 */
    double x0, x1;
    /** Outside length of the encoder contact at x0, m */
    double l;
    /** dl/dx, negative for a run back */
    double slope;
    /** Variance of l against the world */
    dm_quadratic world;
    /** [face_count] variance of l minus that face */
    dm_quadratic *face;
    /** [1 + face_count][DM_BUDGET_ITEMS] what `world` and then each `face` are
     *  the sums of (budget.h); NULL without dm_settings.budget */
    dm_quadratic *budget;
    /** False: a pass over it lies in an interval that does not close, or it
     *  hangs on one tie that only such intervals test */
    bool reconciled;
} dm_piece;

/** The readings of one DM_EVENT_READINGS: contiguous, no skip inside.
 *  A start, tie, skip or rezero is a knot; a stretch has a piece between any
 *  two of its own. */
typedef struct {
    /** Index into the run's events */
    size_t event;
    /** By increasing x */
    dm_piece *pieces;
    /** >= 2: one before the first knot and one behind the last. */
    size_t piece_count;
} dm_stretch;

/** What a tie says about the interval since the start or tie before it.
 *  A run with n ties beyond its start has n of them. Not reconciled: its
 *  readings are drawn and counted so, and no tap comes of them. */
typedef struct {
    /** Index into dm_stations.runs */
    size_t run;
    /** Indices into the run's events: the two ties. */
    size_t event_from;
    size_t event_to;
    /** Observed minus predicted from the priors, in the direction of
     *  travel, m: positive where the duct is longer than the run; 0 with a
     *  skip of unknown length inside */
    double misclosure;
    /** The jump that would close it, given all other intervals: (S^-1
     *  d)_j / (S^-1)_jj, m; positive: the run comes out shorter than the
     *  duct. Beside a tie held to be wrong: what that tie explains */
    double blunder;
    /** Normalised: (S^-1 d)_j / sqrt((S^-1)_jj) */
    double z;
    /** Smallest blunder this interval would show, m: gate + 0.84 standard
     *  deviations (met with 80 %); INFINITY with a skip of unknown length
     *  inside */
    double least_blunder;
    /** False: it does not close, or its run's scale is in doubt, and no
     *  hypothesis was accepted for it. */
    bool reconciled;
} dm_interval;

/** One explanation of what does not close. Those of one group explain the same
 *  blunder and stand by falling evidence; groups stand in the order in which
 *  they were found. docs/stations.md has the formulas. */
typedef struct {
    /** Counts the blunders of the tendon from 0. */
    size_t group;
    /** What went wrong. */
    dm_blunder kind;
    /** Index into dm_stations.runs; DM_NONE for a measured length. */
    size_t run;
    /** Index into dm_stations.intervals: where the skip is missing or counted
     *  twice; before the tie at a wrong face (behind it for a start). DM_NONE:
     *  run reversed, scale, measured length. */
    size_t interval;
    /** Index into the run's events: the skip counted twice, the start or tie at
     *  the wrong face. Else DM_NONE. */
    size_t event;
    /** The face it would be; DM_NONE: no face there, the tie is misread. Else
     *  DM_NONE. */
    size_t face;
    /** Run reversed: its faces were written in the mirrored order, too. */
    bool mirrored;
    /** Index of the tendon's measured length; else DM_NONE. */
    size_t measured;
    /** As the data give it, m. Skips, jump: what the duct is longer than the
     *  book, in the direction of travel (counted twice: negative). Wrong face:
     *  where the tie was taken less where it is written, along t. Measured
     *  length: its error. Scale: by what 1 + k is off, a ratio. Reversed: 0 */
    double length;
    /** Its standard uncertainty. */
    double length_u;
    /** Chi-square it leaves, of all that was still tested. */
    double misfit;
    /** Natural logarithm of its odds against "nothing wrong", priors
     *  included. */
    double evidence;
    /** The data cannot tell it apart from the group's first. The first is
     *  equal if another one is. */
    bool equal;
    /** By the job. One of a group at most; its intervals are reconciled. */
    bool accepted;
    /** Who accepted it, and why; NULL: nobody. Strings of the job. */
    const char *who, *why;
    /** In words, with run and line; never NULL. */
    const char *text;
} dm_hypothesis;

/** What became of one run. */
typedef struct {
    /** Index into the survey's runs */
    size_t run;
    /** False: left out, the reason was said */
    bool usable;
    /** Of travel: the book's, or its opposite where that was accepted. */
    dm_side direction;
    /** Outside radius of the tendon's first duct, m; of the outside path where
     *  the line has no radii of its own. */
    double radius;
    /** Posterior 1 + k, times the instrument's scale */
    double scale;
    /** Its standard uncertainty, a ratio. */
    double scale_u;
    /** One for each readings event that is used, in their order; readings
     *  that nothing places have none. */
    dm_stretch *stretches;
    /** May be 0. */
    size_t stretch_count;
    /** [segments + 1] as dm_outside.begin, on the run's clock line; NULL:
     *  walkers make their own */
    const double *outside;
} dm_run_stations;

/** One tendon, reconciled. */
typedef struct dm_stations {
    /** Holds all of it */
    struct dm_arena *arena;
    /** Index into the model's tendons. */
    size_t tendon;
    /** The tendon's runs, in survey order */
    dm_run_stations *runs;
    /** May be 0. */
    size_t run_count;
    /** By run, in the order of the ties. */
    dm_interval *intervals;
    /** May be 0. */
    size_t interval_count;
    /** By group, then by evidence. */
    dm_hypothesis *hypotheses;
    /** May be 0. */
    size_t hypothesis_count;
    /** What was accepted, by whom and why, in one line for every output; NULL:
     *  nothing. */
    const char *accepted;
    /** Prior-predictive, of all that can be tested, before any blunder
     *  was freed */
    double chi2;
    /** Of chi2: one per tie beyond the start that no skip of unknown
     *  length precedes, of all runs, and per taped length */
    int dof;
    /** [face_count] posterior minus drawing, m, along t */
    double *face_shift;
    /** [face_count] posterior standard uncertainty, m */
    double *face_u;
    /** [face_count][face_count] posterior covariance of the shifts, m^2 */
    double *face_cov;
} dm_stations;

/** Solves one tendon: all its runs together. An instrument's scale is shared
 *  by its runs of one tendon; other tendons have no say in it.
 *  Where something lies beyond the gate, hypotheses are ranked by evidence and
 *  the first is given its freedom, so that it spoils nothing else: a jump in
 *  its interval, in both intervals of a wrong tie, in all of a reversed run; a
 *  free scale; a measured length left out. Its intervals are not reconciled and
 *  warned of with file and line; repeated until the rest closes. A blunder is
 *  never spread: between its two ties stations go on from the first.
 *  Readings that no tie determines (between skips of unknown length, a run
 *  without a tie) have no stretch; said as an error with file and line. A
 *  start, tie or taped length is never taken to be better than 1e-6 m; skips
 *  may be exact.
 *  @param tendon    index into the model's tendons
 *  @param settings  face_u, tie_u, skip_u, start_u, gate
 *  @param diag      warnings of blunders, errors of runs left out; may be NULL
 *  @param out       free with dm_stations_free; NULL on failure
 *  @return DM_OK also when runs had to be left out (usable = false, said as
 *          errors; more than 1000 starts, ties, skips and rezeros on one
 *          tendon are); DM_NOMEM */
dm_status dm_stations_solve(const dm_model *model, const dm_survey *survey,
                            size_t tendon, const dm_settings *settings,
                            dm_diag *diag, dm_stations **out);
/** As dm_stations_solve, with the hypotheses that a job accepts: those of runs
 *  of other tendons are passed over. One that matches a hypothesis (kind, run,
 *  interval, skip or tie, face, its length within gate standard uncertainties)
 *  corrects the book: the skip counted twice is 0, the tie stands at the other
 *  face, the run goes the other way, the scale is as free as its prior under
 *  that hypothesis; a skip not written down (or a jump) lies anywhere in its
 *  interval, or between the run distances that the line states, with equal
 *  chance, its length comes from the ties, and the uncertainty inside holds
 *  both.
 *  @param accepts  [count], belong to the job, which outlives the result; may
 *                  be NULL
 *  @return as dm_stations_solve; DM_REFERENCE: one matched nothing (said with
 *          its line; *out is NULL) */
dm_status dm_stations_solve_accepted(const dm_model *model,
                                     const dm_survey *survey, size_t tendon,
                                     const dm_settings *settings,
                                     const dm_accept *accepts, size_t count,
                                     dm_diag *diag, dm_stations **out);
/** Frees stations; accepts NULL. */
void dm_stations_free(dm_stations *stations);

/** A place on a tendon with its variances (m^2, standard, not expanded).
 *  The crew's tape uses the variance relative to its face, a model that against
 *  the world; U = coverage_factor * sqrt(variance). */
typedef struct {
    /** Tendon station of the electrode, m */
    double t;
    /** Variance against the world */
    double world;
    /** Nearest touchable face at or before t; DM_NONE */
    size_t face_back;
    /** Nearest touchable face at or after t; DM_NONE */
    size_t face_ahead;
    /** Variances relative to these faces; NAN without */
    double back, ahead;
    /** False: within an interval that does not close. */
    bool reconciled;
} dm_station_point;

/** Walks sorted run distances of one stretch to tendon stations. */
typedef struct dm_walker dm_walker;
/** @param run  index into stations->runs; @param stretch of that run
 *  @param channel  of the run's instrument (its lead is added) */
dm_status dm_walker_new(const dm_stations *stations, const dm_model *model,
                        const dm_survey *survey, size_t run, size_t stretch,
                        size_t channel, dm_walker **out);
/** Frees a walker; accepts NULL. Walkers hold a place: one per thread. */
void dm_walker_free(dm_walker *walker);
/** Tendon stations (m), and standard uncertainties against the world (m), of
 *  `count` run distances (m); u may be NULL. Cheapest if x is sorted. */
void dm_walker_map(dm_walker *walker, const double *x, size_t count, double *t,
                   double *u);
/** As dm_walker_map, and the point of the axis there (m, world axes), which
 *  dm_centreline_point gives; `point` may be NULL. */
void dm_walker_place(dm_walker *walker, const double *x, size_t count,
                     double *t, double *u, dm_vec3 *point);
/** The full record at one run distance. */
dm_station_point dm_walker_at(dm_walker *walker, double x);

/** Where a bound is greatest. */
typedef struct {
    /** False: nowhere yet, and the rest means nothing. */
    bool known;
    /** As handed in */
    size_t run;
    /** Run distance, m */
    double x;
    /** There */
    dm_station_point at;
} dm_greatest;
/** Looks along a part of the walker's stretch for greater bounds, and keeps
 *  them; what is not reconciled is passed over. Begin with known = false. The
 *  variance found is the greatest but for 1e-6 of it.
 *  @param run     kept with what is found
 *  @param x0, x1  run distances, m, x0 <= x1
 *  @param world   against the world
 *  @param face    against a face, of the two neighbours the one with the lesser
 *                 bound: the crew's; nowhere without a touchable face */
void dm_walker_greatest(dm_walker *walker, size_t run, double x0, double x1,
                        dm_greatest *world, dm_greatest *face);

DM_END_C

#endif
