/* SPDX-License-Identifier: MIT
 * What the parts of the indication stage share for one tendon. */
#ifndef DM_INDICATION_FIND_H
#define DM_INDICATION_FIND_H

#include "base/arena.h"
#include "ductmark/indication.h"
#include "indication/signal.h"

/* One end of a sighting on the tendon, with variances (m^2). */
typedef struct {
    double t;
    double edge;               /* from the readings */
    double world, back, ahead; /* of the station; back, ahead NAN without */
    size_t face_back, face_ahead;
    bool open;
    double tip_low, tip_high; /* beyond t, m; NAN */
} dm_spot;

/* What one run's channel saw at one place. */
typedef struct {
    dm_kind kind;
    dm_spot from, to;
    bool shorter, reconciled, across;
    double clock, index, index_u, index_length, index_length_u;
    size_t run, channel; /* survey index, channel of the instrument */
    size_t strip;        /* order of the strip within run and channel */
    double footprint;
    double around; /* the footprint's width round the duct */
    const dm_calibration *calibration; /* of the duct type there; may be NULL */
} dm_sighting;

/* A length that a run read on a clock line, valid and reconciled. */
typedef struct {
    size_t run; /* survey index */
    double clock, from, to;
} dm_pass;

typedef struct {
    dm_sighting *items;
    size_t count, capacity;
} dm_sightings;

/* A claim on a length: read, read but not good, or why not read. Its reason
 * lives as long as the finder's arena. */
typedef struct {
    size_t line; /* index into the finder's clock lines */
    dm_cover_length length;
} dm_claim;

/* A clock line that a run used. `reach`: the longest body of the instruments
 * on it and their footprint, m: what the sensor's own length may keep it from
 * reading beside an obstacle. */
typedef struct {
    double clock, width, reach;
} dm_clock_line;

typedef struct {
    dm_claim *items;
    size_t count, capacity;
} dm_claims;

/* Sums behind a dm_profile. */
typedef struct {
    double clock;
    double *sum; /* [cells] */
    float *n;
} dm_line_sum;

/* Mean index above the drift of one run and channel, for mirrored clock angles
 * and for what a line that shows nothing read. */
typedef struct {
    size_t run, channel; /* survey index, channel of its instrument */
    double clock;
    float *index; /* [line_cells]; NAN: not read */
    double var;   /* of the noise of the mean of a DM_MIRROR_BLOCK */
    bool doubt;
} dm_run_profile;

typedef struct {
    const dm_model *model;
    const dm_tendon *tendon;
    const dm_survey *survey;
    const dm_stations *stations;
    const dm_settings *settings;
    dm_diag *diag;
    dm_arena *arena; /* the result's */
    dm_sightings sightings;
    dm_claims claims;
    dm_run_profile *run_profiles;
    size_t run_profile_count, run_profile_capacity;
    dm_pass *passes;
    size_t pass_count, pass_capacity;
    dm_clock_line *clock_lines;
    size_t clock_line_count, clock_line_capacity;
    dm_line_sum *lines;
    size_t line_count, line_capacity, line_cells;
    dm_turn *turns;
    size_t turn_count, turn_capacity;
    dm_indications *out;
    const struct dm_watch *watch; /* line.h; NULL: nobody */
} dm_finder;

/* Cells of a heat-map profile, m. */
#define DM_PROFILE_PITCH 0.02

/* ---- index.c: raw readings to the index ---- */

/* corrected = offset + gain raw, from the run's own checks. */
typedef struct {
    double gain, offset;
} dm_gain;

/* @return DM_OK, or DM_RANGE (said): the checks make no sense. */
dm_status dm_gain_of_run(const dm_finder *f, const dm_run *run, size_t channel,
                         const dm_calibration *calibration, double clock,
                         dm_gain *out);
/* Greatest change of air or reference within the run, as index: between the
 * means of checks that readings lie between. NAN: no kind was checked twice. */
double dm_drift_of_run(const dm_run *run, size_t channel,
                       const dm_calibration *calibration, double clock,
                       const dm_gain *gain);
/* Raw value of sound grout at a clock angle, interpolated between the
 * calibration's points. */
double dm_reference_at(const dm_calibration *calibration, double clock);
/* The calibration's bands; 0.25/0.15 and -0.25/-0.15 where it has none. */
dm_thresholds dm_thresholds_of(const dm_calibration *calibration);
/* Kind of a plateau by its sign alone. `strand`: a strand may lie at the wall
 * there. */
dm_kind dm_kind_by_bands(double plateau, bool strand);
/* The first strand side, stated or derived, that lies within the footprint of
 * the clock line and reaches into from..to; NULL: none. */
const dm_strand_side *dm_strand_near(const dm_tendon *tendon,
                                     const dm_channel *channel, double od,
                                     double clock, double from, double to);

/* ---- wall.c ---- */

/* By how much the zero of the index may be off on a duct type, >= 0; NAN. */
double dm_zero_shift(const dm_survey *survey, const dm_calibration *calibration,
                     const dm_duct_type *type);
/* Says so of a run where the walls differ or the calibration's is unknown;
 * true: said. */
bool dm_wall_remark(const dm_finder *f, const dm_run *run,
                    const dm_calibration *calibration,
                    const dm_duct_type *type);

/* ---- doubt.c ---- */

/* Once all runs are read: which clock angles are in doubt, said. */
dm_status dm_mirror_check(dm_finder *f);
bool dm_clock_doubted(const dm_finder *f, size_t run);
void dm_run_profiles_free(dm_finder *f);

/* ---- kind.c ---- */

dm_status dm_pass_add(dm_finder *f, dm_pass pass);
/* Index, its length, clock, posterior and kind of an indication from its n
 * members; its ends and the kind by bands must be set. False: no memory. */
bool dm_kind_fuse(const dm_finder *f, const dm_sighting *const *members,
                  size_t n, dm_indication *out);

/* ---- length.c ---- */

/* Index length, with its uncertainty, of the members on one clock line;
 * `shorter`: of those shorter than the footprint, else of the others. */
void dm_index_length_fuse(const dm_sighting *const *members, size_t n,
                          double clock, bool shorter, dm_indication *out);

/* ---- run.c: one run into sightings, claims and profiles ---- */
dm_status dm_find_in_run(dm_finder *f, size_t run);

/* ---- merge.c ---- */
/* Sightings to indications (without identity and grade), by from.t. */
dm_status dm_sightings_merge(dm_finder *f, dm_indication **items,
                             size_t *count);

/* ---- cover.c ---- */
/* Bounds of the ledger are whole micrometres, but for the tendon's end: what is
 * printed to 1 um then adds up to the tendon's length as printed. */
#define DM_COVER_STEP 1e-6
/* The line of a clock angle, made where there is none yet; its width shrinks
 * to the least that was asked for, its reach grows to the greatest. */
dm_status dm_clock_line_take(dm_finder *f, dm_clock_line like, size_t *line);
dm_status dm_claim_add(dm_finder *f, size_t line, dm_cover_length length);
dm_status dm_cover_build(dm_finder *f);

/* ---- unread.c ---- */
/* Why nobody read from..to on a clock line (DM_NONE: on any of them), which is
 * part of the unread gap_from..gap_to and not cut by the drawing: sets `why`
 * and `reason`. `said`: what a claim says of it, or NULL. False: no memory. */
bool dm_unread_explain(const dm_finder *f, size_t line, dm_cover_length *length,
                       double gap_from, double gap_to,
                       const dm_cover_length *said);
/* Stations at which the drawing changes the reason on a clock line (DM_NONE: on
 * any), as they come, sorted; free(*cuts). */
bool dm_unread_cuts(const dm_finder *f, size_t line, double **cuts,
                    size_t *count);

/* ---- size_build.c ---- */
/* Turns and sizes, from indications, profiles and coverage as they stand. */
dm_status dm_sizes_build(dm_finder *f);

/* ---- grade.c ---- */
void dm_grade_indication(const dm_criteria *criteria, dm_indication *item);

/* ---- identity.c ---- */
dm_status dm_identify(dm_finder *f, const dm_register *reg);

/* ---- opened.c: what was opened, and what it says of the items ---- */
dm_status dm_openings_build(dm_finder *f, const dm_register *reg);

#endif
