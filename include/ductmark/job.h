/* SPDX-License-Identifier: MIT
 *
 * The job (`job` XML): which inputs, which settings, which outputs; the
 * owner's criteria (`criteria` XML) and the register of indications
 * (`register` XML). A job file alone makes a run reproducible.
 *
 * Every file is described field by field, with ranges, in docs/formats.md;
 * the schemas are in geometry/ and inside the library. Lengths in metres,
 * angles in radians, whatever unit the file used. Strings belong to the
 * result's arena and are never NULL unless it is said. Results are immutable
 * and may be shared by threads.
 *
 *     dm_job *job = NULL;
 *     if (dm_job_read("job.xml", &diag, &job) == DM_OK)
 *         dm_model_read(job->bridge, &diag, &model);
 *     ...
 *     dm_job_free(job);
 *
 * dm_campaign_read (run.h) reads a job with all that it names. Who calls the
 * stages one by one may do without a job file: dm_settings_default gives a
 * complete set of settings, criteria and register may be NULL.
 *
 * Faults are said with file and line, all of a file in one go, and the status
 * is the first one's; what is read but not used yet is warned of. Numbers in a
 * message are in the unit as written.
 *
 * Uncertainties enter as standard ones and stay so up to the writers, which
 * multiply by the coverage factor. A setting serves only where the field book
 * or the bridge file states nothing of its own.
 */
#ifndef DUCTMARK_JOB_H
#define DUCTMARK_JOB_H

#include "ductmark/context.h"
#include "ductmark/opening.h"

DM_BEGIN_C

/** Output units: what people read. Files state units beside each number.
 *  Metric is always there; US adds feet and inches to the tables. */
typedef enum {
    /** Metres and millimetres. */
    DM_UNITS_METRIC,
    /** Feet (0.3048 m), US survey feet for coordinates, inches in eighths. */
    DM_UNITS_US
} dm_units;

/** Every setting; dm_settings_default gives the documented defaults, which
 *  stand in brackets. "Common practice" has no source and is no requirement.
 *  The ranges are those that the job's reader accepts.
 *  XML: attributes of `settings` with the same names and hyphens; a zeroed
 *  structure is no set of defaults: begin with dm_settings_default. */
typedef struct {
    /** Faces without `u`: standard uncertainty of a face as built against the
     *  drawing, along the duct, m, 1e-5 to 1 (15 mm, common practice). */
    double face_u;
    /** Ties and measured lengths without `u`, m, 0 to 1 (3 mm, common
     *  practice). */
    double tie_u;
    /** Skips without `u`, m, 0 to 1 (5 mm, common practice). */
    double skip_u;
    /** Starts without `u`, m, 0 to 1 (3 mm, common practice). */
    double start_u;
    /** k of the expanded uncertainty U = k u, 1 to 4 (2: about 95 % of a
     *  normal distribution, JCGM 100:2008). */
    double coverage_factor;
    /** Normalised misclosure from which on an interval is not reconciled, 1 to
     *  10 (3, common practice). */
    double gate;
    /** Change of air or reference within a run, as a part of the step from
     *  reference to air, from which on its readings are not valid, 0.001 to 1
     *  (0.1, common practice). */
    double check_drift;
    /** Probability that a material must have before the kind says so, 0.5 to
     *  0.999 (0.9, chosen here). Only where the calibration has materials. */
    double confidence;
    /** Weights of the materials before anything is read of a place that stands
     *  out, 0.001 to 1000; only their ratios count (1 each: nothing is known).
     *  That of a strand is changed by what is known of the strand side. */
    double prior_void, prior_soft, prior_strand, prior_sound;
    /** Zones of one line closer than this are one, m, 0 to 10 (0.15). */
    double merge_gap;
    /** Shorter indications are left out, m, 0 to 1 (0.02). */
    double least_length;
    /** Added to U at each end of the aim interval, m, 0 to 1 (0.025). */
    double tap_margin;
    /** Taps keep this off fixtures, faces and joints, m, 0 to 1 (0.05). */
    double fixture_margin;
    /** Added to the least wall for the depth stop, m, 0 to 0.02 (0: strands
     *  may touch the wall). */
    double stop_allowance;
    /** Crew's tape and pen, standard, m, 0 to 0.1 (2 mm, common practice). */
    double mark_u;
    /** Crew's clock angle, standard, rad, 0 to 0.5 (3 deg, common
     *  practice). */
    double clock_u;
    /** Diameter of the drill bit, m, 0.002 to 0.03 (8 mm, common practice:
     *  6 to 10 mm). */
    double bit;
    /** Free depth behind the wall that the strands must leave at a mark where
     *  their side is known, beyond the stop's allowance, m, 0 to 0.05 (2 mm,
     *  common practice). */
    double strand_room;
    /** Room that a drill with its bit needs along its axis, from the duct's
     *  outside, m, 0.05 to 2 (0.3, common practice). */
    double drill_length;
    /** Room that drill and hand need across that axis, m, 0.01 to 1 (0.08,
     *  common practice). */
    double drill_diameter;
    /** How far from level the surface of set grout may lie, standard, rad, 0
     *  to 0.35 (2 deg, common practice). */
    double surface_tilt;
    /** Added to a void's volume for the grout to have at hand, a part of it, 0
     *  to 2 (0.2, common practice). */
    double grout_allowance;
    /** Taps closer than this become one, m, 0 to 10 (0.1). */
    double tap_merge;
    /** Chord error of arcs in meshes, m, 1e-6 to 0.1 (0.1 mm). */
    double mesh_sagitta;
    /** Sides of a tube, multiple of 4, 8 to 96 (24). */
    int mesh_sides;
    /** 0 to 64; 0: one per core (0). The results do not depend on it. */
    int threads;
    /** Keep what the variances of stations are made of, for dm_budget_at
     *  (false). No attribute: whoever shows budgets asks for them. */
    bool budget;
} dm_settings;

/** The documented defaults.
 *  @return a value; every field set */
dm_settings dm_settings_default(void);

/** One grade of the owner's.
 *  XML: `grade`. The order is the severity: of two taps that become one the
 *  more severe stays, and the palette follows it. */
typedef struct {
    /** What people see; unique in the criteria. */
    const char *label;
    /** Indications of this grade get a tap point. */
    bool tap;
    /** "#rrggbb", or NULL: the tool's palette (docs/scene.md). */
    const char *colour;
} dm_grade;

/** A rule gives a grade; the first that matches wins. All that it asks must
 *  hold. NAN / false / NULL: not asked.
 *  XML: `rule`. A rule behind one that asks nothing is never reached; the
 *  reader warns of it. */
typedef struct {
    /** Index into the grades. */
    size_t grade;
    /** False: any kind of indication. */
    bool has_kind;
    /** Void-like, soft-like or unresolved, where asked. */
    dm_kind kind;
    /** Limits of to - from, m, inclusive. */
    double length_min, length_max;
    /** Least absolute plateau of the index. */
    double index_min;
    /** Part of the bore at the largest section, 0 to 1: the best value; without
     *  one all of low to high must fit. */
    double area_fraction_min, area_fraction_max;
    /** m^3: the best value; without one, low. */
    double volume_min;
    /** Only indications with an open end, on either side. */
    bool open_ended;
    /** "anchorage", "crest", "deviator" or NULL: as far as `within` from the
     *  nearest one (position.h). */
    const char *position;
    /** m; NAN: DM_POSITION_NEAR. */
    double within;
    /** Where the rule stands in its file, for messages and for those who ask
     *  which rule gave a grade. */
    dm_place place;
} dm_rule;

/** The owner's criteria.
 *  Grades say how an indication is called and whether it is tapped; they say
 *  nothing of the structure. XML: root `criteria`. */
typedef struct dm_criteria {
    /** Holds all of it. */
    struct dm_arena *arena;
    /** The file as opened and its SHA-256 (64 hex digits); who gave the
     *  criteria, when (YYYY-MM-DD), and their id. */
    const char *file, *sha256, *owner, *date, *id;
    /** Most severe first; >= 1. */
    dm_grade *grades;
    /** >= 1. */
    size_t grade_count;
    /** In file order; >= 1. */
    dm_rule *rules;
    /** >= 1. */
    size_t rule_count;
} dm_criteria;

/** Reads and validates a criteria file.
 *  @param path  the XML file
 *  @param diag  gets every fault with its line, and warnings of rules that
 *               never match; may be NULL
 *  @param out   immutable; free with dm_criteria_free; NULL on failure
 *  @return DM_OK; DM_IO, DM_SYNTAX, DM_SCHEMA, DM_RANGE, DM_INCONSISTENT,
 *          DM_NOMEM */
dm_status dm_criteria_read(const char *path, dm_diag *diag, dm_criteria **out);
/** Frees criteria; accepts NULL. Results graded with them must go first. */
void dm_criteria_free(dm_criteria *criteria);

/** What is known of an entry: from openings (as_found.h), or set by people in
 *  the register file. */
typedef enum {
    /** Read, not opened. */
    DM_STATE_INDICATED,
    /** Opened, and it was so. */
    DM_STATE_CONFIRMED,
    /** Opened, and it was not. */
    DM_STATE_REFUTED
} dm_state;
/** "indicated", "confirmed", "refuted".
 *  @return static text, never NULL */
const char *dm_state_text(dm_state state);

/** One indication that keeps its identity from survey to survey.
 *  XML: `entry`. An indication of a later survey is the entry of its tendon
 *  and family of kinds that it overlaps most, both widened by twice their
 *  uncertainties and 50 mm. */
typedef struct {
    /** 36 characters. */
    const char *uid;
    /** Short name people use: "T4L-I03". */
    const char *key;
    /** Id; the tendon is in the model that the register was read against. */
    const char *tendon;
    /** As last seen; soft-like and unresolved are one family when entries are
     *  matched. */
    dm_kind kind;
    /** Tendon stations, m; from <= to. */
    double from, to;
    /** Standard uncertainties against the world, m; 0: not stated. */
    double u_from, u_to;
    /** Looking ahead, rad. */
    double clock;
    /** Names of the surveys that saw it first and last. */
    const char *first_survey, *last_survey;
    /** As the last openings or people left it; only a newer opening changes
     *  it. */
    dm_state state;
    /** Since when, YYYY-MM-DD; NULL: not stated. */
    const char *state_date;
    /** What openings of it found, by station; all of the entry's tendon. */
    dm_opening *openings;
    /** May be 0. */
    size_t opening_count;
} dm_entry;

/** A register, read or updated (dm_register_update).
 *  XML: root `register`. The file that was read is never changed: the updated
 *  register goes to the output folder, and the next job names that. */
typedef struct dm_register {
    /** Holds all of it. */
    struct dm_arena *arena;
    /** As opened, with its SHA-256; NULL for an updated one. */
    const char *file, *sha256;
    /** The bridge's uid. */
    const char *bridge;
    /** In file order; uid and key are unique; may be none. */
    dm_entry *entries;
    /** May be 0. */
    size_t count;
    /** Openings where nothing was indicated, by tendon and station. */
    dm_opening *openings;
    /** May be 0. */
    size_t opening_count;
} dm_register;

/** Reads and validates a register against a model.
 *  @param path   the XML file
 *  @param model  the bridge; another uid is DM_INCONSISTENT, a tendon that it
 *                does not have DM_REFERENCE
 *  @param diag   gets every fault with its line; may be NULL
 *  @param out    free with dm_register_free; NULL on failure
 *  @return DM_OK; DM_IO, DM_SYNTAX, DM_SCHEMA, DM_RANGE, DM_REFERENCE,
 *          DM_INCONSISTENT, DM_NOMEM */
dm_status dm_register_read(const char *path, const dm_model *model,
                           dm_diag *diag, dm_register **out);
/** Frees a register, read or updated; accepts NULL. Indications matched against
 *  it point to its strings and must go first. */
void dm_register_free(dm_register *reg);

/** What may have gone wrong where distances do not close.
 *  XML: the words of `accept/@hypothesis`; dm_blunder_text gives them. */
typedef enum {
    /** The sensor was moved on and nobody wrote it down. "skip-not-written" */
    DM_BLUNDER_SKIP_MISSING,
    /** A skip stands in the book once too often. "skip-counted-twice" */
    DM_BLUNDER_SKIP_TWICE,
    /** A start or tie was taken at another face, or misread.
     *  "tie-at-wrong-face" */
    DM_BLUNDER_WRONG_FACE,
    /** The run went the other way. "run-reversed" */
    DM_BLUNDER_REVERSED,
    /** The encoder is further off than its `u` allows. "scale" */
    DM_BLUNDER_SCALE,
    /** None of those fits: a jump of unknown cause. "jump" */
    DM_BLUNDER_JUMP,
    /** A length taped between faces is wrong; it is left out, there is nothing
     *  to accept. "measured-length" */
    DM_BLUNDER_MEASURED,
    /** How many there are. */
    DM_BLUNDER_COUNT
} dm_blunder;

/** The word of it; constant. */
const char *dm_blunder_text(dm_blunder kind);

/** A blunder that the engineer accepts: the run is solved as if the field book
 *  had been right. The program prints the line; a person adds `by` and
 *  `reason`.
 *  XML: `accept`. One that matches nothing is an error. */
typedef struct {
    /** Id. */
    const char *run;
    /** Never DM_BLUNDER_MEASURED. */
    dm_blunder hypothesis;
    /** Which of the run's intervals, skips, or starts and ties, counted from 1
     *  in the order of the field book; 0: not stated. */
    int interval, skip, tie;
    /** Id of the face where the tie was taken; NULL: not stated. */
    const char *face;
    /** As printed, m; NAN: not stated. */
    double length;
    /** Run distances between which a skip not written down (or a jump) lies, m;
     *  not x_to > x_from: anywhere in its interval. */
    double x_from, x_to;
    /** Who decided, and why. */
    const char *by, *reason;
    /** For messages. */
    dm_place place;
} dm_accept;

/** A tap that somebody wants, whatever was found.
 *  XML: `tap-request`. Placed after the indications' taps; the numbers are what
 *  a crew would tape, so the tap lies where the face is, not where it is drawn.
 */
typedef struct {
    /** Becomes the tap's id; unique in the job. */
    const char *id;
    /** Ids of tendon and face: the face is one of that tendon. Not checked by
     * the job's reader, which knows no bridge; dm_taps_place reports a face
     * that is not there. */
    const char *tendon;
    const char *face;
    /** Tape from the face, away from the concrete, along the outside of the
     *  duct at `clock`, m, 0 to 1000. */
    double distance;
    /** Looking ahead, rad. */
    double clock;
    /** Who asked, and why: printed with the tap. */
    const char *by, *reason;
    /** For messages: a request that cannot be placed is said with it. */
    dm_place place;
} dm_tap_request;

/** An indication that must not be tapped.
 *  XML: `tap-exclude`. A key or uid that no indication has excludes nothing and
 *  is warned of by the campaign. */
typedef struct {
    /** Key or uid. */
    const char *indication;
    /** Who decided, and why. */
    const char *by, *reason;
    /** For messages. */
    dm_place place;
} dm_tap_exclude;

/** An indication that is to get an inlet and an outlet.
 *  XML: `tap-pair`. A key or uid that no indication has is warned of by
 *  the campaign. */
typedef struct {
    /** Key or uid. */
    const char *indication;
    /** Who asked, and why. */
    const char *by, *reason;
    /** For messages. */
    dm_place place;
} dm_tap_pair;

/** A job as read: paths are resolved against the job file's folder. The files
 *  that it names are not opened here. */
typedef struct dm_job {
    /** Holds all of it. */
    struct dm_arena *arena;
    /** As opened, and its SHA-256 (64 hex digits). */
    const char *file, *sha256;
    /** 36 characters. */
    const char *uid;
    /** YYYY-MM-DD: the only date outputs use. */
    const char *date;
    /** Metric unless the file says otherwise. */
    dm_units units;
    /** People's number format, "en" ...; NULL: not stated. Not used yet. */
    const char *locale;
    /** Paths. */
    const char *bridge, *criteria;
    /** Path of the earlier register, or NULL. */
    const char *reg;
    /** Paths; >= 1. */
    const char **fieldbooks;
    /** >= 1. */
    size_t fieldbook_count;
    /** Meshes of what stands round the tendons. */
    dm_context_source *contexts;
    /** May be 0. */
    size_t context_count;
    /** Formats asked for, by name (dm_writers); none: all default ones. */
    const char **outputs;
    /** May be 0. */
    size_t output_count;
    /** All of them, the defaults where the file says nothing. */
    dm_settings settings;
    /** In file order, as the lists after it. */
    dm_accept *accepts;
    /** May be 0. */
    size_t accept_count;
    dm_tap_request *requests;
    /** May be 0. */
    size_t request_count;
    dm_tap_pair *pairs;
    /** May be 0. */
    size_t pair_count;
    dm_tap_exclude *excludes;
    /** May be 0. */
    size_t exclude_count;
} dm_job;

/** Reads and validates a job file.
 *  @param path  the XML file
 *  @param diag  gets every fault with its line, and a warning for each thing
 *               that is not used yet; may be NULL
 *  @param out   immutable; free with dm_job_free; NULL on failure
 *  @return DM_OK; DM_IO, DM_SYNTAX, DM_SCHEMA, DM_RANGE, DM_NOMEM: the first
 *          fault's */
dm_status dm_job_read(const char *path, dm_diag *diag, dm_job **out);
/** Frees a job; accepts NULL. A campaign frees its own. */
void dm_job_free(dm_job *job);

DM_END_C

#endif
