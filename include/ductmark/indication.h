/* SPDX-License-Identifier: MIT
 *
 * From readings to indications and coverage, one tendon at a time.
 * After: station. Before: tap. The rules: docs/indications.md.
 *
 * Index: 0 = sound reference of this duct type, 1 = air:
 * (reference - C) / (reference - air), with offset and gain from the run's
 * own air and reference checks. Positive: void-like; negative: soft-like or a
 * strand at the wall.
 *
 * Method, w being the footprint along the duct. Readings are averaged in cells
 * of w/20, lift-offs taken out by their shape (a rise and fall faster than
 * anything in the duct can show), zones found by hysteresis on the index
 * smoothed over 0.4 w. An end is the crossing of half the plateau; a symmetric
 * blur leaves it in place at zones of w and more. Zones of one line closer than
 * merge_gap are one; zones of other runs and lines that overlap within twice
 * their uncertainties are one indication. What was measured of it, with
 * numbers: docs/indications.md and docs/accuracy.md.
 *
 * Lengths in metres, angles in radians; stations are tendon stations; clock
 * angles look ahead. Every `u` is a standard uncertainty, not expanded.
 * Results are immutable and hold pointers into model, survey and register.
 */
#ifndef DUCTMARK_INDICATION_H
#define DUCTMARK_INDICATION_H

#include "ductmark/as_found.h"
#include "ductmark/kind.h"
#include "ductmark/position.h"
#include "ductmark/size.h"

DM_BEGIN_C

/** State of a length of duct. Where several clock lines were read the first
 *  of tested, strand-masked, not reconciled, not valid wins. */
typedef enum {
    /** Read, with a station that holds. */
    DM_COVER_TESTED = 0,
    /** Read, but a declared strand side lies under the sensor and may hide a
     *  thin void. */
    DM_COVER_STRAND_MASKED,
    /** Not read; the reason is given. Never to be counted as sound. */
    DM_COVER_NOT_TESTED,
    /** Read, but to no use: lifted off, or said by the field book to have
     *  been; the checks drifted beyond the limit; without a calibration. */
    DM_COVER_NOT_VALID,
    /** Read, in an interval whose distances do not close. */
    DM_COVER_NOT_RECONCILED,
    DM_COVER_COUNT
} dm_cover;

/** "tested", "strand-masked", "not tested", "not valid", "not reconciled".
 *  @return static text, never NULL */
const char *dm_cover_text(dm_cover cover);

/** Why a length is not simply tested, in one word each; the reason beside it
 *  says which support, fixture or run. The first that applies, in the order of
 *  docs/indications.md. */
typedef enum {
    /** Tested. */
    DM_WHY_NONE = 0,
    /** Strand-masked. */
    DM_WHY_STRAND,
    /** Not tested: inside an anchorage or deviator. */
    DM_WHY_SUPPORT,
    /** Not tested: a duct of steel, which this kind of sensor cannot read. */
    DM_WHY_STEEL,
    /** Not tested: a wrap. */
    DM_WHY_WRAP,
    /** Not tested: no room for the sensor. */
    DM_WHY_LOW_CLEARANCE,
    /** Not tested: another fixture, or the sensor's length beside one. */
    DM_WHY_OBSTRUCTION,
    /** Not tested: the skip's own words, where the drawing has no reason. */
    DM_WHY_SKIPPED,
    /** Not tested: readings that could not be used at all. */
    DM_WHY_LEFT_OUT,
    /** Not tested: the sensor's length beside a support. */
    DM_WHY_DEAD_ZONE,
    /** Not tested: the bridge file says that it cannot be reached. */
    DM_WHY_NO_ACCESS,
    /** Not tested: nobody was there, as far as the field book says. */
    DM_WHY_NOT_WALKED,
    /** Not valid: the sensor was away from the duct. */
    DM_WHY_LIFT_OFF,
    /** Not valid: air or reference changed by more than check_drift. */
    DM_WHY_CHECK_DRIFT,
    /** Not valid: the duct type has no calibration. */
    DM_WHY_NO_CALIBRATION,
    /** Not reconciled. */
    DM_WHY_NOT_CLOSED,
    DM_WHY_COUNT
} dm_why;

/** "", "strand", "inside support", "steel", "wrap", "low clearance",
 *  "obstruction", "skipped", "run left out", "dead zone", "no access",
 *  "not walked", "lift-off", "check drift", "no calibration", "not closed".
 *  @return static text, never NULL */
const char *dm_why_text(dm_why why);
/** The state that it is a reason of.
 *  @return not tested outside the range */
dm_cover dm_why_cover(dm_why why);

/** A length of one state. Together they cover 0..length without gaps.
 *  Summed by state: dm_indications.cover_sum. */
typedef struct {
    /** Tendon stations, m. */
    double from, to;
    /** Its one state. */
    dm_cover cover;
    /** Its one word. */
    dm_why why;
    /** For people and tables: "inside deviator D1", "collar C2", "not walked",
     * "lift-off", ...;
     *  "" when tested. Never NULL. */
    const char *reason;
} dm_cover_length;

/** The ledger of one clock line that a run used, if only for a part of the
 *  tendon. It claims its footprint's width and says nothing of the rest of
 *  the circumference. */
typedef struct {
    /** Looking ahead, rad. Lines within half a degree are one. */
    double clock;
    /** What it claims round the duct, m: the least footprint_around of the
     *  channels that were used on it. */
    double width;
    /** In order, without gaps, from 0 to the tendon's length. */
    dm_cover_length *lengths;
    /** >= 1. */
    size_t count;
    /** By state and by why, m; each adds up to the tendon's length. */
    double sum[DM_COVER_COUNT], why_sum[DM_WHY_COUNT];
} dm_cover_line;

/** Mean index in cells of equal length along one clock line: what the heat
 *  map shows.
 *  Cells follow each other from `from` over the whole tendon; it serves drawing
 *  only, indications are found on finer cells of each run. */
typedef struct {
    /** Looking ahead, rad. */
    double clock;
    /** Station of the first cell's begin, m. */
    double from;
    /** Length of a cell, m, > 0. */
    double pitch;
    /** [count]; NAN: nothing valid was read there. */
    float *index;
    /** Cells; together they reach over the whole tendon. */
    size_t count;
} dm_profile;

/** One end of an indication: where the unblurred index stands at half of the
 *  plateau. */
typedef struct {
    /** Tendon station, m. */
    double t;
    /** Standard uncertainty against the world, m: edge and station. For a
     *  model. */
    double u;
    /** Part of it that comes from the readings, m: noise of crossing, plateau
     *  and baseline, cell, shape of the footprint, taper. */
    double u_edge;
    /** Touchable faces at both sides of t; DM_NONE: there is none. */
    size_t face_back, face_ahead;
    /** Standard uncertainties relative to them, m, edge and station; NAN
     *  without a face. For a crew that tapes from there. */
    double u_back, u_ahead;
    /** How far beyond t, outwards, the index may begin to rise from 0: the tip
     *  of a tapered end, m, as a range of about 95 %; tip_low 0: it may be
     *  abrupt. Of several runs: the one that weighs most. NAN: open, or
     *  shorter than the footprint. */
    double tip_low, tip_high;
    /** Touches unread length: the true end lies beyond. */
    bool open;
    /** Of the axis at t. */
    dm_bridge_place bridge;
} dm_end;

/** A length that stands out: what the owner gets to see, never more than an
 *  indication until somebody opens the duct. */
typedef struct {
    /** Its identity for good: the register's, or a new RFC 4122 version 5
     *  UUID in the namespace of the bridge's uid. */
    char uid[37];
    /** Short, for people, unique in the bridge: "T4L-I03". */
    const char *key;
    /** Void-like, soft-like or unresolved. */
    dm_kind kind;
    /** How the kind came about, and how sure it is. */
    dm_posterior posterior;
    /** Its ends; from.t <= to.t. */
    dm_end from, to;
    /** True: it may be shorter than 1.25 footprints; from..to is an outer
     * bound, `index` what was seen of it, which the blur makes lower than it
     * is. */
    bool shorter_than_footprint;
    /** Line on which it was strongest, looking ahead, rad. */
    double clock;
    /** A run that shows it may have been written down mirrored (12 - clock):
     *  no drilling before the clock angle is confirmed. */
    bool clock_doubt;
    /** Plateau: index after the blur at the ends is taken out of account;
     *  negative for soft-like. Of the runs of the clock line where it was
     *  strongest the mean weighted by inverse variance. */
    double index;
    /** Its standard uncertainty: noise, widened where those runs differ by more
     *  than theirs. */
    double index_u;
    /** Sum of the index along it above what lies beside it, m: index times
     *  length, which the blur does not change; of the line on which it was
     *  strongest, without what was not read; of several runs there the mean
     *  with the weights of the index, of those that saw both ends if any did.
     * Negative for soft-like. Were it air (index 1), it would be as long as
     * that. */
    double index_length;
    /** Its standard uncertainty, m. */
    double index_length_u;
    /** False: read in an interval that does not close; no tap points. */
    bool reconciled;
    /** Spans an unread length in its middle. */
    bool across_gap;
    /** Survey indices of the runs that show it. */
    size_t *runs;
    /** >= 1. */
    size_t run_count;
    /** Area and volume; basis DM_SIZE_NONE where it is not void-like. */
    dm_size size;
    /** Where it lies among anchorages, deviators and high points. */
    dm_position position;
    /** Index into criteria->grades; DM_NONE: no rule matched. */
    size_t grade;
    /** Index into criteria->rules; DM_NONE. */
    size_t rule;
    /** As the register has it, indicated for a new one; then what openings
     *  say. */
    dm_state state;
    /** Since when, YYYY-MM-DD; NULL: not stated. */
    const char *state_date;
    /** Openings in it; the one that the state rests on as index into
     *  dm_indications.openings, DM_NONE: none. */
    size_t opening_count, decided_by;
    /** Matched an entry of the register given. */
    bool in_register;
    /** Name of the survey that saw it first. */
    const char *first_survey;
} dm_indication;

/** All that the readings of one tendon say.
 *  Where several runs and clock lines saw one place they have been merged: an
 *  end is the weighted mean where they agree within three deviations, else the
 *  outermost with a greater uncertainty. Station errors are taken as common to
 *  all runs, so that averaging does not shrink them. */
typedef struct dm_indications {
    struct dm_arena *arena; /* holds all of it */
    /** Index into the model's tendons. */
    size_t tendon;
    /** By from.t; may be none. */
    dm_indication *items;
    /** Of the items. */
    size_t count;
    /** Once round the duct, one per channel; by station, those without one
     *  last. */
    dm_turn *turns;
    /** May be 0. */
    size_t turn_count;
    /** Of all items. */
    dm_volume_sum volume;
    /** All clock lines together, in order: the best state of each place. */
    dm_cover_length *cover;
    /** >= 1. */
    size_t cover_count;
    /** By state, m; their sum is the tendon's length. */
    double cover_sum[DM_COVER_COUNT];
    /** By why, m; their sum is the tendon's length. */
    double why_sum[DM_WHY_COUNT];
    /** One per clock line that a run used, by clock angle. */
    dm_cover_line *cover_lines;
    /** May be 0. */
    size_t cover_line_count;
    /** What was opened on the tendon, by station; may be none. */
    dm_as_found *openings;
    /** May be 0. */
    size_t opening_count;
    /** Entries of the earlier register that were opened but are not in
     *  `items`. */
    dm_settled *settled;
    /** May be 0. */
    size_t settled_count;
    /** Of openings and items. */
    dm_opened_sum opened;
    /** One per clock line read. */
    dm_profile *profiles;
    /** May be 0. */
    size_t profile_count;
    /** Rows read, over all runs. */
    size_t reading_count;
    /** Where the stations of its readings are farthest off: against the world,
     *  and from the better of the two neighbouring faces. Of the first channel
     *  of each run; run: index into the survey's runs. */
    dm_greatest greatest_world, greatest_face;
    /** Runs whose readings had to be left out, all or some; each was said. */
    size_t failed_runs;
    /** "sha256  path" of each readings file read. */
    const char **hashes;
    /** May be 0. */
    size_t hash_count;
} dm_indications;

/** Reads the tendon's readings (streamed), finds and grades indications.
 *  A run whose readings cannot be used is reported, left out and counted;
 *  the others are delivered. Memory: one cell per 1/20 footprint, not one
 *  number per reading.
 *  @param model, survey  must outlive the result
 *  @param stations  of the tendon to read; must outlive the result
 *  @param criteria  grades and rules; NULL: no grades
 *  @param reg       the earlier register, or NULL: identities are kept where
 *                   tendon, kind and extent agree within the uncertainties
 *  @param settings  merge_gap, least_length and check_drift are used
 *  @param diag      errors of readings files, with file and line; may be NULL
 *  @param out       free with dm_indications_free; NULL on failure
 *  @return DM_OK, also when runs were left out (failed_runs); DM_NOMEM */
dm_status dm_indications_find(const dm_model *model, const dm_survey *survey,
                              const dm_stations *stations,
                              const dm_criteria *criteria,
                              const dm_register *reg,
                              const dm_settings *settings, dm_diag *diag,
                              dm_indications **out);

/** Frees indications; accepts NULL. */
void dm_indications_free(dm_indications *indications);

/** "confirmed", "refuted"; else "opened, undecided" or "not opened".
 *  @return static text, never NULL */
const char *dm_as_found_text(const dm_indication *indication);

/** All that was computed for one tendon; NULLs where a stage was left out.
 *  The pointers are owned by whoever filled it. */
typedef struct {
    /** From DM_STAGE_STATIONS on. */
    const dm_stations *stations;
    /** From DM_STAGE_INDICATIONS on. */
    const dm_indications *indications;
    /** From DM_STAGE_TAPS on; see tap.h. */
    const struct dm_taps *taps;
} dm_result;

/** The register as it stands after this survey: the entries of the earlier
 *  one in their order (found again: extent, kind and last survey renewed, uid
 *  and key kept; not found: as they were; both with the state and the openings
 *  as they are now), then the new ones by tendon and station; then the openings
 *  where nothing was indicated.
 *  @param results  one per tendon of the model; those without indications
 *                  add nothing
 *  @param reg      the earlier register, or NULL
 *  @param out      free with dm_register_free; NULL on failure
 *  @return DM_OK or DM_NOMEM */
dm_status dm_register_update(const dm_model *model, const dm_survey *survey,
                             const dm_result *results, const dm_register *reg,
                             dm_diag *diag, dm_register **out);

DM_END_C

#endif
