/* SPDX-License-Identifier: MIT
 *
 * The survey plan: what of each tendon a sensor can read, in which order, and
 * how long that takes. From the bridge file and a set of factors; no field
 * book is needed. The stage stands beside `station`: nothing computed here
 * enters a result.
 *
 * A BAY is a readable length: what of the free length between two faces lies
 * between the readable ends, cut where a steel duct lies between. The sensor
 * does not run through concrete, so there is a RUN per bay and clock line. In a
 * run the sensor's body stops at the bay's ends and faces, at fixtures on the
 * clock line, and where access ends; between two stops lies a STRETCH. Where
 * the electrode's centre comes in a stretch is testable, as coverage counts it
 * (docs/stations.md, docs/indications.md); what the body keeps it from is a
 * dead zone:
 *
 *     stop |<- rear - lead ->|<---- testable ---->|<- front - lead ->| stop
 *
 * with rear and front measured from the encoder's contact and the lead counted
 * to the front. Readable = testable + dead zones + obstructions + no access,
 * to 1e-9 m, for every run; for a tendon with several clock lines the best of
 * them counts at each place, so that the same sum holds.
 *
 * Where meshes of the surroundings and the height of the sensor's body are
 * known, a length where the body does not fit between duct and mesh is LOW
 * CLEARANCE: an obstruction as a fixture is.
 *
 * Time of a run, s, each letter a factor:
 *
 *     testable / (speed x slow-down of its access) + re-seat x (stretches - 1)
 *     + setup + move if the bay is new + shift x platforms
 *     + check x checks + tie x ties
 *
 * Every default is common practice, no source, and can be set. Times are for
 * planning only; access, permits and rescue are the responsible people's
 * decision. Method, reasons of the defaults: docs/plan.md.
 *
 * Lengths in metres along the tendon (tendon station t) unless it is said,
 * angles in radians, times in seconds. A plan belongs to its arena, points to
 * nothing but the model's indices, and is immutable.
 *
 *     dm_factors f = dm_factors_default();
 *     dm_plan *plan = NULL;
 *     dm_factors_set(&f, "speed", 0.08, &diag);
 *     if (dm_plan_make(model, &f, NULL, 0, NULL, &diag, &plan) == DM_OK)
 *         printf("%.1f days\n", plan->days);
 *     dm_plan_free(plan);
 */
#ifndef DUCTMARK_PLAN_H
#define DUCTMARK_PLAN_H

#include "ductmark/context.h"
#include "ductmark/survey.h"

DM_BEGIN_C

/** What a plan is reckoned with; dm_factor_list has name, unit, default and
 *  range of each. */
typedef enum {
    DM_FACTOR_SPEED,    /**< Of the sensor on a walkable floor, m/s. */
    DM_FACTOR_FLOOR,    /**< Slow-downs by access: part of the speed. */
    DM_FACTOR_LADDER,   /**< As floor. */
    DM_FACTOR_SCAFFOLD, /**< As floor. */
    DM_FACTOR_CRAWL,    /**< As floor. */
    DM_FACTOR_ROPE,     /**< As floor. */
    DM_FACTOR_RESEAT,   /**< To lift past an obstruction and set down, s. */
    DM_FACTOR_SETUP,    /**< A run, s. */
    DM_FACTOR_MOVE,     /**< To the next bay, s. */
    DM_FACTOR_CHECK,    /**< A reading of air or reference, s. */
    DM_FACTOR_CHECKS,   /**< Such readings a run. */
    DM_FACTOR_TIE,      /**< A start or tie at a face, s. */
    DM_FACTOR_PLATFORM, /**< Length reached from one place of a scaffold, m. */
    DM_FACTOR_SHIFT,    /**< To bring the scaffold to a place, s. */
    DM_FACTOR_HOURS,    /**< A working day at the bridge, h. */
    DM_FACTOR_PERMIT,   /**< Of it, for entering a permit space, h; 0: none. */
    DM_FACTOR_PERSONS,  /**< Who pull and write; one more in a permit space. */
    DM_FACTOR_SLOPE,    /**< From here on a bay is sloped, deg. */
    DM_FACTOR_NOSE,     /**< Of the sensor's body: dm_instrument.nose, m. */
    DM_FACTOR_TAIL,     /**< dm_instrument.tail, m. */
    DM_FACTOR_LEAD,     /**< dm_channel.lead, m. */
    DM_FACTOR_COUNT
} dm_factor;

/** Where the value of a factor comes from. */
typedef enum {
    DM_ORIGIN_DEFAULT,    /**< Common practice, no source. */
    DM_ORIGIN_INSTRUMENT, /**< The field book's instrument. */
    DM_ORIGIN_SET         /**< The user. */
} dm_origin;
/** "default", "field book", "set".
 *  @return static text, never NULL; "default" outside the range */
const char *dm_origin_text(dm_origin origin);

/** One factor, as people set it. */
typedef struct {
    /** Unique: "speed". */
    const char *name;
    /** "m/s", "s", "m", "h", "deg"; "" for counts and ratios. */
    const char *unit;
    /** Default and range, in that unit, inclusive. */
    double fallback, least, most;
    /** What it is, in a few words. */
    const char *help;
} dm_factor_info;

/** All factors, in the order of dm_factor.
 *  @param count  gets DM_FACTOR_COUNT; may be NULL
 *  @return static */
const dm_factor_info *dm_factor_list(size_t *count);

/** A value for each factor. */
typedef struct {
    /** In the factor's own unit: dm_factor_list. */
    double value[DM_FACTOR_COUNT];
    dm_origin origin[DM_FACTOR_COUNT];
} dm_factors;

/** The documented defaults. @return a value; every field set */
dm_factors dm_factors_default(void);
/** Sets one factor by name.
 *  @param value  in the factor's unit
 *  @return DM_OK; DM_REFERENCE: no such name; DM_RANGE. Said; on failure
 *          nothing is changed */
dm_status dm_factors_set(dm_factors *factors, const char *name, double value,
                         dm_diag *diag);
/** Takes nose, tail and lead (of the first channel) from an instrument, but
 *  for those that were set. */
void dm_factors_instrument(dm_factors *factors,
                           const dm_instrument *instrument);

/** What becomes of a readable length. The order is that in which the best of
 *  several clock lines counts. */
typedef enum {
    /** The electrode comes there. */
    DM_BAY_TESTABLE,
    /** The body keeps the electrode from it. */
    DM_BAY_DEAD_ZONE,
    /** A fixture lies there, on the clock line; or low clearance. */
    DM_BAY_OBSTRUCTION,
    /** Nobody comes there (dm_access none). */
    DM_BAY_NO_ACCESS,
    DM_BAY_STATES
} dm_bay_state;
/** "testable", "dead zone", "obstruction", "no access".
 *  @return static text, never NULL; "no access" outside the range */
const char *dm_bay_state_text(dm_bay_state state);

/** A readable length between two supports. */
typedef struct {
    /** Index into the model's tendons. */
    size_t tendon;
    /** Index of the support at its back end. */
    size_t support;
    /** Along the tendon, from 1. */
    size_t number;
    /** Tendon stations of its ends, m, from < to. */
    double from, to;
    /** Face of the free length it lies in: ahead of `support`, back of the
     *  next; DM_NONE. */
    size_t face_back, face_ahead;
    /** Of the chord against the level, rad, >= 0. */
    double slope;
    /** The end that lies higher; ahead if level. */
    dm_side upper;
    /** The slope is at or above the factor: its upper end is read first. */
    bool sloped;
} dm_bay;

/** A length of a run in one state, by increasing station. Together they are
 *  the bay. */
typedef struct {
    /** Tendon stations, m, from < to. */
    double from, to;
    dm_bay_state state;
    /** How it is reached. */
    dm_access access;
} dm_bay_length;

/** Once along a bay between two stops, in the direction of travel. */
typedef struct {
    /** Tendon stations of the electrode's centre at begin and end, m. */
    double begin, end;
    /** Expected run distance there, m of travel: nominal scale 1, 0 at the
     *  run's start. */
    double x_begin, x_end;
    /** Before it: length between the two stops, along the outside of the duct
     *  on the clock line, that the body is carried over, m; 0 for the first.
     *  The `gap` of a skip. */
    double gap;
} dm_plan_stretch;

/** A length of a run where the sensor's body does not fit. */
typedef struct {
    /** Tendon stations, m, from <= to; the same where something thin stands
     *  across the duct. */
    double from, to;
    /** Least height over the duct's outside there, m, 0 <= free < body height.
     */
    double free;
    /** What comes so near: "girder.obj: deck"; the plan's. */
    const char *obstacle;
    /** Index into the plan's clock lines: of those on which all of from..to is
     *  testable, the nearest round the duct; DM_NONE: none is. */
    size_t other;
} dm_plan_low;

/** What the sensor is carried over, in the direction of travel: a fixture, low
 *  clearance, or, where both are DM_NONE, no access. */
typedef struct {
    /** Index into the tendon's fixtures; DM_NONE. */
    size_t fixture;
    /** Index into the run's low clearances; DM_NONE. */
    size_t low;
    /** Tape measures from the run's start face to its near and far end, along
     *  the outside on the clock line, m; NAN without a start face. */
    double near_tape, far_tape;
    /** Index of the stretch that ends at it; DM_NONE: it lies before the first,
     *  stretches - 1: behind the last. */
    size_t stretch;
} dm_obstruction;

/** Times of some work, s. */
typedef struct {
    double scan, reseat, setup, move, shift, check, tie;
    /** Sum of the seven. */
    double total;
} dm_plan_time;

/** A run to be made. */
typedef struct {
    /** Index into the model's tendons. */
    size_t tendon;
    /** Index into the plan's bays. */
    size_t bay;
    /** Looking ahead, rad. */
    double clock;
    /** Of travel: a sloped bay is begun at its upper end. */
    dm_side direction;
    /** The end of the body with the shorter dead zone lies at the upper end;
     *  the nose leads where both are the same, and in level bays. */
    dm_leading leading;
    /** Faces to start from and to tie to, as indices into the tendon's;
     *  DM_NONE: none. */
    size_t face_start, face_end;
    /** From that face, away from the concrete, to the body's rear at the start
     *  and its front at the end, along the outside, m. */
    double start_distance, end_distance;
    /** By increasing station; >= 1. */
    dm_bay_length *lengths;
    size_t length_count;
    /** In the direction of travel; 0: the body fits nowhere, and the run is not
     *  made. */
    dm_plan_stretch *stretches;
    size_t stretch_count;
    /** In the direction of travel; may be 0. */
    dm_obstruction *obstructions;
    size_t obstruction_count;
    /** By increasing station; may be 0. */
    dm_plan_low *low;
    size_t low_count;
    /** Sums of the lengths, m. */
    double sum[DM_BAY_STATES];
    /** Testable length by access, m. */
    double scan[DM_ACCESS_COUNT];
    dm_plan_time time;
} dm_plan_run;

/** Sums of a tendon, or of all. */
typedef struct {
    /** Of the line; between faces; between readable ends less steel, m. */
    double length, free_length, readable;
    /** Of the readable length, the best clock line at each place, m. */
    double sum[DM_BAY_STATES];
    /** Readable length by access, m. */
    double access[DM_ACCESS_COUNT];
    /** Testable length of all runs, m: what the sensor is pulled over. */
    double scan;
    /** Fixtures that touch a bay, whatever their clock angle. */
    size_t fixture_count;
    size_t bay_count;
    /** Runs to be made; stretches of these. */
    size_t run_count, stretch_count;
    dm_plan_time time;
} dm_plan_sum;

/** A survey plan. */
typedef struct {
    /** Holds all of it. */
    struct dm_arena *arena;
    /** As used. */
    dm_factors factors;
    /** Room that was asked for over the duct, m; 0: it was not asked. */
    double body_height;
    /** Clock lines, looking ahead, rad. */
    double *clocks;
    /** >= 1. */
    size_t clock_count;
    /** Tendon by tendon, by increasing station; may be none. */
    dm_bay *bays;
    size_t bay_count;
    /** In the order of the work: sloped bays first, then the rest, each in the
     *  order of the tendons and stations; all clock lines of a bay one after
     *  the other. Runs that are not made stand last. */
    dm_plan_run *runs;
    size_t run_count;
    /** One per tendon of the model. */
    dm_plan_sum *tendons;
    size_t tendon_count;
    dm_plan_sum total;
    /** Working time of a day, s: hours less permit. */
    double day;
    /** Total time in days. */
    double days;
    /** Free length a day, m; NAN: nothing is to be done. */
    double free_per_day;
    /** People needed at a time. */
    double persons;
} dm_plan;

/** What an obstruction is: a fixture's kind in words, "low clearance", "no
 *  access".
 *  @param name  set to the fixture's id or what comes too near; "" without.
 *               The model's or the plan's, never NULL
 *  @return static text */
const char *dm_obstruction_text(const dm_tendon *tendon, const dm_plan_run *run,
                                const dm_obstruction *obstruction,
                                const char **name);

/** What stands round the tendons, and who is to fit between. */
typedef struct {
    /** Meshes; NULL: there are none, and room is not asked for. */
    const dm_context *context;
    /** Its body height, 0: room is not asked for; and its channels, each of
     *  which needs it over its own clock line, as wide as its footprint. */
    const dm_instrument *instrument;
} dm_plan_room;

/** Plans a survey.
 *  @param factors  NULL: the defaults
 *  @param clocks   [count] clock lines looking ahead, rad; count 0: the crown
 *  @param room     NULL: room is not asked for
 *  @param diag     may be NULL
 *  @param out      free with dm_plan_free; NULL on failure
 *  @return DM_OK; DM_RANGE: more than 24 clock lines, a permit that takes the
 *          whole day, more than 1000000 obstructions; DM_NOMEM. Said. */
dm_status dm_plan_make(const dm_model *model, const dm_factors *factors,
                       const double *clocks, size_t count,
                       const dm_plan_room *room, dm_diag *diag, dm_plan **out);
/** Frees a plan; accepts NULL. */
void dm_plan_free(dm_plan *plan);

DM_END_C

#endif
