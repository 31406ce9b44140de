/* SPDX-License-Identifier: MIT
 *
 * Whether a run is good, and what to do again: for the operator, before
 * leaving the bridge. After: indication, whose reading it watches. Nothing
 * depends on it but what `ductmark check` prints.
 *
 * Every limit is common practice, chosen here and said in docs/quality.md;
 * those of drift, bands and misclosure are the ones that the other stages use.
 * A remark says what was found, where, and how much against which limit; a
 * run's verdict is that of its gravest remark.
 *
 * Metres, seconds, radians; stations are tendon stations; the index has 0 for
 * sound and 1 for air. NAN: not known. Results are immutable and hold pointers
 * into model and survey.
 */
#ifndef DUCTMARK_QUALITY_H
#define DUCTMARK_QUALITY_H

#include "ductmark/indication.h"

DM_BEGIN_C

/** Fewer readings than this on the length of one footprint are said. */
#define DM_PER_FOOTPRINT 5.0
/** Fewer than this are to be read again. */
#define DM_PER_FOOTPRINT_LEAST 2.0
/** A sensor that takes this long, s, for less than a few millimetres (slower
 *  than DM_STOP_SPEED, m/s) stands still: its time does not count. */
#define DM_STOP_TIME 2.0
#define DM_STOP_SPEED 0.0025
/** A speed this many times the run's median is unusual. */
#define DM_SPEED_RATIO 3.0
/** A share of the length read that was lifted off, beyond which it is said. */
#define DM_LIFT_SHARE 0.05
/** Length read beyond the last tie, m, beyond which it is said. */
#define DM_OPEN_TAIL 1.0
/** Root mean square difference of two runs of a line, in parts of what noise
 *  and stations explain, beyond which they do not agree. */
#define DM_AGREE_RATIO 3.0

/** What to do about a run. */
typedef enum {
    /** Nothing. */
    DM_VERDICT_GOOD = 0,
    /** It can be used; something costs certainty or length. */
    DM_VERDICT_USABLE,
    /** Something of it is to be done again. */
    DM_VERDICT_AGAIN,
    DM_VERDICT_COUNT
} dm_verdict;
/** "good", "usable, but", "do again".
 *  @return static text, never NULL */
const char *dm_verdict_text(dm_verdict verdict);

/** What a remark is about. */
typedef enum {
    /** "left-out": its readings or its distances cannot be used at all. */
    DM_REMARK_LEFT_OUT = 0,
    /** "part": a part of it cannot be used: steel, or no calibration. */
    DM_REMARK_PART,
    /** "no-check": neither air nor reference was read. */
    DM_REMARK_NO_CHECK,
    /** "check-once": no kind was read both before and after the readings. */
    DM_REMARK_CHECK_ONCE,
    /** "drift": value: change of air or reference. */
    DM_REMARK_DRIFT,
    /** "noise": value: least index that stands out of the noise. */
    DM_REMARK_NOISE,
    /** "sparse": value: readings per footprint. */
    DM_REMARK_SPARSE,
    /** "gap": value: greatest length without a reading, m. */
    DM_REMARK_GAP,
    /** "falling": the run distance falls more than it rises. */
    DM_REMARK_FALLING,
    /** "roll-back": value: the furthest, m. */
    DM_REMARK_ROLL_BACK,
    /** "fast": value: m/s. */
    DM_REMARK_FAST,
    /** "clock": the logger's clock goes back. */
    DM_REMARK_CLOCK,
    /** "lifted": value: share of the length read. */
    DM_REMARK_LIFTED,
    /** "not-closed": value: greatest |z| of the intervals that one hypothesis
     * is about, or its length over the uncertainty of that. */
    DM_REMARK_NOT_CLOSED,
    /** "no-tie": nothing but its start places the run. */
    DM_REMARK_NO_TIE,
    /** "open-tail": value: length read beyond the last tie, m. */
    DM_REMARK_OPEN_TAIL,
    /** "not-read": value: length that could be read and was not, m. */
    DM_REMARK_NOT_READ,
    /** "differs": value: greatest difference of the index to a run of the same
     *  line, over one footprint; other. */
    DM_REMARK_DIFFERS,
    /** "mirrored": value: correlation with a run of the mirrored line; other.
     */
    DM_REMARK_MIRRORED,
    DM_REMARK_COUNT
} dm_remark_kind;
/** The word in quotes above.
 *  @return static text, never NULL */
const char *dm_remark_text(dm_remark_kind kind);

/** One thing that an operator should know. */
typedef struct {
    dm_remark_kind kind;
    /** Usable or again. */
    dm_verdict verdict;
    /** Channel of the instrument; DM_NONE: all of the run. */
    size_t channel;
    /** The worst of them, in the unit that the kind says. */
    double value;
    /** What it was held against, in the same unit. */
    double limit;
    /** Tendon stations, m, from <= to; NAN: everywhere or nowhere. */
    double from, to;
    /** Run distances, m. */
    double x_from, x_to;
    /** Faces of the tendon: of the tie before and of that after; of the face
     *  to tie at. DM_NONE. */
    size_t face_from, face_to;
    /** Survey index of the run it was held against; DM_NONE. */
    size_t other;
    /** How many there are; the place is that of the worst. */
    size_t count;
    /** Index into the stations' hypotheses, the first of its group; DM_NONE. */
    size_t hypothesis;
    /** Line of the field book, or of the readings file. */
    dm_place place;
} dm_remark;

/** A length on which the sensor was off the duct. */
typedef struct {
    /** Tendon stations, m. */
    double from, to;
    /** False: found by its shape. */
    bool stated;
    /** As written; NULL. */
    const char *reason;
    /** Index of the tendon's fixture within one footprint; DM_NONE. */
    size_t fixture;
} dm_lift_off;

/** What one channel of a run read. */
typedef struct {
    /** Index into the instrument's channels. */
    size_t channel;
    /** Its line, looking ahead, rad. */
    double clock;
    /** Greatest change of air or reference, as index; NAN. */
    double drift;
    /** Air or reference was read before the first reading; after the last. */
    bool check_before, check_after;
    /** Standard deviation of the index of one cell (1/20 footprint); NAN: too
     *  little was read. */
    double noise;
    /** Least index that stands out of it: 4.5 deviations of the smoothed
     *  index. */
    double floor;
    /** The band it is held against: the lesser of both `enter`. */
    double band;
    /** In order of the stretches. */
    dm_lift_off *lifts;
    /** May be 0. */
    size_t lift_count;
    /** Their sum, m. */
    double lifted;
} dm_quality_channel;

/** How a run was pulled. */
typedef struct {
    /** Readings. */
    size_t rows;
    /** Length that they cover, gaps left out, m. */
    double read;
    /** Half of that length was read at this spacing or closer, m (to half a
     *  per cent); NAN. */
    double spacing;
    /** The greatest step ahead, m. */
    double spacing_most;
    /** Length read with fewer than DM_PER_FOOTPRINT readings a footprint, m. */
    double sparse;
    /** Steps of more than half a footprint, and their sum, m. */
    size_t gaps;
    double gap;
    /** Times that x fell by more than half a footprint; the furthest, m. */
    size_t roll_backs;
    double roll_back;
    /** Rows with a time; 0: the speed is not known. */
    size_t timed;
    /** Of all its stretches, from their first reading to their last, stops and
     *  all, s. */
    double duration;
    /** Median and greatest over pieces of a footprint and a second or more, m/s
     *  (to half a per cent). */
    double speed, speed_most;
    /** Stops, their time and the longest, s. */
    size_t stops;
    double stopped, stop_most;
    /** Rows whose time lies before that of the row before. */
    size_t clock_backs;
} dm_pace;

/** One run. */
typedef struct {
    /** Index into the survey's runs. */
    size_t run;
    dm_verdict verdict;
    /** Tendon stations between which it read, m; NAN: nowhere. */
    double from, to;
    dm_pace pace;
    /** Greatest speed that gives DM_PER_FOOTPRINT readings a footprint at the
     *  rate of this run, m/s; NAN: not known. */
    double speed_wanted;
    /** One a channel that the columns name. */
    dm_quality_channel *channels;
    /** 0 where the run was left out. */
    size_t channel_count;
    /** Greatest |z| and greatest least blunder, m, of its intervals; NAN: it
     *  has none. INFINITY: an interval shows none. */
    double z, least_blunder;
    /** Length read beyond its last tie (its start where it has none), m. */
    double tail;
    /** By gravity, then by kind. */
    dm_remark *remarks;
    /** May be 0. */
    size_t remark_count;
} dm_quality_run;

/** Two runs, or two channels of one, over the same clock line, or over
 *  mirrored ones. */
typedef struct {
    /** Indices into dm_quality.runs, a before b; and of their channels. */
    size_t a, b, channel_a, channel_b;
    /** The lines are mirrored (12 - clock), not the same. */
    bool mirrored;
    /** Length that both have read, m. */
    double length;
    /** Of the index, cell by cell; NAN: one of them does not vary. */
    double correlation;
    /** Mean and root mean square of a minus b. */
    double mean, rms;
    /** Root mean square that noise and stations explain. */
    double expected;
    /** Mean of a minus b over the footprint on which it is greatest in parts of
     *  its limit; where, m; that limit: the band of an indication, or
     *  DM_AGREE_RATIO times what is expected there. */
    double worst, worst_at, worst_limit;
} dm_agreement;

/** A length of a clock line that could be read, and no run of it has. */
typedef struct {
    /** Looking ahead, rad. */
    double clock;
    /** Tendon stations, m, further apart than a footprint. */
    double from, to;
} dm_unread;

/** All runs of one tendon. */
typedef struct dm_quality {
    /** Holds all of it. */
    struct dm_arena *arena;
    /** Index into the model's tendons. */
    size_t tendon;
    /** In survey order. */
    dm_quality_run *runs;
    /** May be 0. */
    size_t run_count;
    /** Of at least five footprints in common. */
    dm_agreement *pairs;
    /** May be 0. */
    size_t pair_count;
    /** Of the clock lines that runs used: nobody was there, and the drawing has
     *  no reason. */
    dm_unread *unread;
    /** May be 0. */
    size_t unread_count;
    /** Runs whose readings had to be left out, all or some; each was said. */
    size_t failed_runs;
} dm_quality;

/** Judges the runs of one tendon; reads their readings as dm_indications_find
 *  does, in the same pass, and says what that says.
 *  @param model, survey, stations  outlive the result
 *  @param settings  check_drift and gate are used, and what finding uses
 *  @param diag      errors of readings files, with file and line; may be NULL
 *  @param out       free with dm_quality_free; NULL on failure
 *  @return DM_OK, also when runs were left out; DM_NOMEM */
dm_status dm_quality_of(const dm_model *model, const dm_survey *survey,
                        const dm_stations *stations,
                        const dm_settings *settings, dm_diag *diag,
                        dm_quality **out);
/** Frees it; accepts NULL. */
void dm_quality_free(dm_quality *quality);

DM_END_C

#endif
