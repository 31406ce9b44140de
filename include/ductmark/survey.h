/* SPDX-License-Identifier: MIT
 *
 * What happened on site: instruments, calibrations, and runs as sequences of
 * events, from `fieldbook` XML files; and the streamed reader of the readings
 * CSV files that they name.
 *
 * Run distance x: what the encoder says, metres after the column's unit; it
 * is not a station. The order of events is the sequence, never x.
 *
 * Field by field, with ranges and an example: docs/formats.md. Lengths in
 * metres, angles in radians, whatever unit the file used; `u` and `sd` are
 * standard deviations. Clock angles look ahead: what an operator read looking
 * back has been converted. Raw values have the instrument's own unit.
 *
 * A survey holds all field books of a job; ids of instruments and channels
 * belong to one field book, ids of runs to all. It is immutable once read and
 * may be shared by threads. Arrays and strings belong to its arena; strings
 * are never NULL unless it is said. Indices of tendons, faces and duct types
 * are into the model it was read against, which must outlive it.
 *
 * All faults of all books are said before the reader fails; the status is the
 * first one's. Bounds: 200 instruments and 1000 tapes a book, 64 channels an
 * instrument, 2000 calibrations, 720 references each, 16 value columns.
 *
 * Streaming the readings of a run:
 *
 *     dm_readings *r = NULL;
 *     dm_block block;
 *     dm_status s = dm_readings_open(survey, run, event, &diag, &r);
 *     while (s == DM_OK && (s = dm_readings_next(r, &block)) == DM_OK &&
 *            block.count > 0)
 *         use(block.x, block.value[0], block.count);
 *     dm_readings_close(r);
 */
#ifndef DUCTMARK_SURVEY_H
#define DUCTMARK_SURVEY_H

#include "ductmark/model.h"

DM_BEGIN_C

/** One sensing channel of an instrument.
 *  XML: `channel`. */
typedef struct {
    /** Unique in its field book. */
    const char *id;
    /** From the run's clock line, clockwise looking ahead when the run goes
     *  ahead with the nose leading, rad, within one turn. */
    double clock_offset;
    /** Electrode centre minus encoder contact, positive towards the nose, m,
     *  -2 to 2. In tendon station it counts lead x (nose leading +1, tail -1)
     *  x (ahead +1, back -1). */
    double lead;
    /** Length along the duct that one reading sees, m, 0.001 to 2: w of
     *  docs/indications.md. */
    double footprint_along;
    /** The same round the duct, m: what a clock line claims. */
    double footprint_around;
    /** Inspection depth from the wall's inside, m, 0 to 0.5: the layer that it
     *  sees. */
    double depth;
} dm_channel;

/** An instrument: encoder, body, channels.
 *  XML: `instrument` with `encoder` and `body`. The body matters twice: ties
 * are taken with its ends, and beside a support the sensor's length stays
 * unread. */
typedef struct {
    /** Unique in its field book. */
    const char *id;
    /** Metres of travel per metre shown, nominal, 0.5 to 2. */
    double scale;
    /** Standard uncertainty of the scale, a ratio, 0 to 0.1. */
    double scale_u;
    /** One scale for all its runs on a tendon, or one per run. */
    bool scale_shared;
    /** Random walk: standard deviation after 1 m, m, 0 to 0.1; it grows with
     *  the root of the travel. */
    double walk;
    /** Least step of x, m, 0 to 0.1; 0: none. quantum^2 / 12 is added to the
     *  variance of a tie. */
    double quantum;
    /** Encoder contact to the nose, m, 0 to 2. */
    double nose;
    /** Encoder contact to the tail, m, 0 to 2. */
    double tail;
    /** Room that the body needs outward from the duct's outside, m, 0.001 to 1;
     *  0: not known. */
    double body_height;
    /** >= 1. */
    dm_channel *channels;
    /** >= 1. */
    size_t channel_count;
    /** Line of its element, for messages. */
    dm_place place;
} dm_instrument;

/** What a length looks like; never more than that until it is opened. */
typedef enum {
    /** Nothing stands out. */
    DM_KIND_SOUND_LIKE = 0,
    /** Index well above 0: like air. */
    DM_KIND_VOID_LIKE,
    /** Index well below 0: like soft or wet grout. */
    DM_KIND_SOFT_LIKE,
    /** No material is sure enough, or it is a strand at the wall: what lies
     *  behind it was not read. */
    DM_KIND_UNRESOLVED,
    DM_KIND_COUNT
} dm_kind;
/** "sound-like", "void-like", "soft-like", "unresolved".
 *  @return static text, never NULL; "unresolved" outside the range */
const char *dm_kind_text(dm_kind kind);

/** Hysteresis on the index: begins at `enter`, ends below `leave`. Negative
 *  thresholds: begins at or below `enter`.
 *  XML: `band`. */
typedef struct {
    /** Void-like or soft-like. */
    dm_kind kind;
    /** On the index smoothed over 0.4 footprints, -3 to 3. A threshold closer
     *  to 0 than 4.5 deviations of the noise is raised to that, with a warning.
     *  Void-like: enter > leave > 0. Soft-like: enter < leave < 0. */
    double enter, leave;
} dm_band;

/** Index of a material: mean and spread (used for kinds by probability).
 *  XML: `material`. */
typedef struct {
    /** "sound", "void", "soft", "strand". */
    const char *name;
    /** Mean, -10 to 10; standard deviation, 0 to 10. */
    double mean, sd;
} dm_material;

/** A point of the table index -> depth: the only source of depths. */
typedef struct {
    /** Index, -1 to 2; depth of the void, m; its standard uncertainty, m. */
    double index, depth, u;
} dm_depth_point;

/** Raw reading of sound grout, at one clock angle or all round; between
 *  several it is interpolated.
 *  XML: `reference`. */
typedef struct {
    /** rad; NAN: all round. */
    double clock;
    /** Raw; never the air reading. */
    double value;
} dm_reference_point;

/** Raw readings of air and of sound grout for one duct type and channel.
 *  XML: `calibration`. Without one for its duct type a run is left out. */
typedef struct {
    /** Index into the model's duct types; never of steel, which cannot be
     *  read. */
    size_t duct_type;
    /** Index into the instruments. */
    size_t instrument;
    /** Index into its channels; DM_NONE: every channel. */
    size_t channel;
    /** Wall of the duct that it was made on, m, 1e-4 to 0.1; 0: not stated.
     */
    double wall;
    /** What a wall thicker by a metre adds to the index of sound grout; NAN:
     *  not stated. */
    double wall_slope;
    /** Raw reading of air. */
    double air;
    /** >= 1. */
    dm_reference_point *reference;
    /** >= 1. */
    size_t reference_count;
    /** None: the defaults of docs/indications.md. */
    dm_band *bands;
    /** May be 0. */
    size_t band_count;
    /** None: kinds by bands alone. */
    dm_material *materials;
    /** May be 0. */
    size_t material_count;
    /** By index. */
    dm_depth_point *depths;
    /** May be 0. */
    size_t depth_count;
    /** Line of its element, for messages. */
    dm_place place;
} dm_calibration;

/** What was done; the elements of a run in the field book, under the same
 *  names. */
typedef enum {
    /** Rows of a readings file. */
    DM_EVENT_READINGS,
    /** The sensor was set at a face; exactly one, before the readings. */
    DM_EVENT_START,
    /** The sensor stood at a face. */
    DM_EVENT_TIE,
    /** Moved on without reading. */
    DM_EVENT_SKIP,
    /** The encoder was set anew, the sensor stood still. */
    DM_EVENT_REZERO,
    /** Lifted while rolling: what was read is not valid. */
    DM_EVENT_LIFT,
    /** Once round the duct: size.h. */
    DM_EVENT_TURN,
    /** Air or reference was read. */
    DM_EVENT_CHECK,
    /** Words, for people only. */
    DM_EVENT_NOTE
} dm_event_kind;

/** What stood at the face when a tie or start was taken. */
typedef enum {
    /** Its front, `nose` from the encoder's contact. */
    DM_WITH_NOSE,
    /** Its rear, `tail` from the encoder's contact. */
    DM_WITH_TAIL,
    /** The encoder's contact. */
    DM_WITH_ENCODER,
    /** The centre of the first channel's electrode. */
    DM_WITH_ELECTRODE
} dm_with;

/** How the length of a skip was stated. */
typedef enum {
    /** How far the sensor as a whole was moved on. */
    DM_SKIP_DISPLACEMENT,
    /** Unread length between nose and tail: the displacement is gap + nose +
     *  tail. */
    DM_SKIP_GAP
} dm_skip_basis;

/** What a check read. */
typedef enum {
    /** Air: the sensor far from everything. */
    DM_CHECK_AIR,
    /** The reference: a piece of duct with sound grout. */
    DM_CHECK_REFERENCE
} dm_check_kind;

/** One event of a run, in the order of the field book. Which fields count
 *  depends on the kind; it stands before the colon.
 *  A skip of unknown length is an unknown of the adjustment without a prior;
 * the tie after it gives its length. */
typedef struct {
    /** What was done. */
    dm_event_kind kind;
    /** Line of the element: what a message about the event names. */
    dm_place place;
    /** Start, tie, skip, rezero, lift, turn: run distance, m, -1e4 to 1e5. NAN
     *  where it has none. */
    double x;
    /** Skip, rezero: run distance after it, m. */
    double x_resume;
    /** Lift: end, m, >= x. */
    double x_to;
    /** Start, tie: face index of the run's tendon. */
    size_t face;
    /** Start, tie: from the face out along the duct, away from the concrete,
     *  to what is named by `with`, m, 0 to 100 (default 0). */
    double distance;
    /** Start, tie: what stood there; counted from the encoder's contact along
     *  the direction of travel. */
    dm_with with;
    /** Start, tie, skip: standard uncertainty, m, 0 to 10; NAN: not stated,
     *  the job's start_u, tie_u, skip_u hold. */
    double u;
    /** Skip: false: unknown, to be found from the tie after it. */
    bool length_known;
    /** Skip: as stated, m, 0 to 1000. */
    double length;
    /** Skip: what `length` is the length of. */
    dm_skip_basis basis;
    /** Skip, lift: as written, or NULL. Note: NULL, its words are not kept. */
    const char *reason;
    /** Readings, turn: path, resolved against the field book's folder. */
    const char *href;
    /** Readings: value of the segment column; NULL: all rows. */
    const char *segment;
    /** Readings without a segment before skips without readings of their own:
     *  one event for each part of the file, from the first row beyond rows_from
     *  (-inf: the first) to the last before the first beyond rows_to (inf: the
     *  last), m; the parts follow their skips. Else NAN: all rows. */
    double rows_from, rows_to;
    /** Check: index, DM_NONE: all. */
    size_t channel;
    /** Check: which of the two. */
    dm_check_kind check;
    /** Check: raw reading. */
    double value;
    /** Turn: the way it was made; angles are as the file has them. */
    bool counterclockwise;
} dm_event;

/** Which end of the body goes in front. The value is the sign of `lead`. */
typedef enum {
    /** Pulled as it is meant to be. */
    DM_LEADING_NOSE = +1,
    /** Turned round. */
    DM_LEADING_TAIL = -1
} dm_leading;

/** Once along a tendon, on one clock line, by one instrument, without turning
 *  back.
 *  XML: `run`. All runs of a tendon are reconciled together; one that cannot
 *  be read is left out by name and the others are delivered. */
typedef struct {
    /** Unique in the survey. */
    const char *id;
    /** Index into the model's tendons. */
    size_t tendon;
    /** Index into the survey's instruments. */
    size_t instrument;
    /** Travel: ahead or back. */
    dm_side direction;
    /** Which end went in front. */
    dm_leading leading;
    /** Clock line looking AHEAD (converted), rad. */
    double clock;
    /** The operator looked back and read mirrored angles; so do the files of
     *  its turns, whose block.x is as written. */
    bool clock_back;
    /** Id of the tape skips were measured with, or NULL. */
    const char *tape;
    /** Its scale's standard uncertainty, a ratio, 0 to 0.05; shared by all
     *  skips of that tape. */
    double tape_u;
    /** As written, or NULL. Not used yet. */
    const char *time;
    /** deg C; NAN: not stated. Not used yet. */
    double temperature;
    /** In the order of the field book, which is the order in which they
     *  happened; a file split by skips has an event for each part. */
    dm_event *events;
    /** May be 0. */
    size_t event_count;
    /** Index of the CSV description. */
    size_t columns;
    /** Line of its element, for messages. */
    dm_place place;
} dm_run;

/** How the readings CSV of a field book are laid out.
 *  XML: `columns`. Names are compared byte by byte; columns that are not named
 *  are passed over. */
typedef struct {
    /** ',' ';' '\t' or ' '; several blanks are one delimiter. */
    char delimiter;
    /** '.' or ','; not the delimiter. */
    char decimal;
    /** Name of the column of run distances. */
    const char *x;
    /** Metres per unit of x: 1, 0.001, 0.3048, 0.0254 or 1200/3937. */
    double x_unit;
    /** Name of the column of segments, or NULL. */
    const char *segment;
    /** Turns: name of the column of clock angles, degrees; or NULL. */
    const char *clock;
    /** Name of the column of times, or NULL. */
    const char *time;
    /** Seconds per unit of a time that is a plain number: 1 or 0.001. */
    double time_unit;
    /** Channel index of each value column. */
    size_t *channel;
    /** Names of the value columns. */
    const char **value;
    /** >= 1. */
    size_t value_count;
} dm_columns;

/** What was found where a duct was opened; the words of `opened/@found`. */
typedef enum {
    /** A hollow. */
    DM_FOUND_VOID = 0,
    /** Free water. */
    DM_FOUND_WATER,
    /** Soft or unhardened grout. */
    DM_FOUND_SOFT,
    /** Hard grout up to the wall. */
    DM_FOUND_SOUND,
    /** A strand at the wall: what lies beside it was not seen. */
    DM_FOUND_STRAND,
    /** Something else; says nothing. */
    DM_FOUND_OTHER,
    DM_FOUND_COUNT
} dm_finding;
/** "void", "water", "soft", "sound", "strand", "other".
 *  @return static text, never NULL; "other" outside the range */
const char *dm_finding_text(dm_finding found);

/** A void's volume measured by pressures at an opening (Boyle's law,
 *  docs/size.md): what was read, and what follows. All NAN: not measured. */
typedef struct {
    /** Volume of the evacuated vessel, and of the hoses, m^3. */
    double vessel, hoses;
    /** Absolute, Pa: in the vessel before it is joined, of both when settled,
     *  of the air in the void before. before < after < air. */
    double before, after, air;
    /** Standard uncertainties: of the vessel and of each pressure, NAN: not
     *  stated; of the hoses. */
    double u_vessel, u_pressure, u_hoses;
    /** Of the void, hoses taken off, m^3. */
    double volume;
    /** Its standard uncertainty: the five taken as independent (GUM, JCGM
     *  100:2008, 5.1.2). NAN: one of them is not stated. */
    double u;
} dm_pressures;

/** A place that was opened, as found. What it says of the indications:
 *  as_found.h. */
typedef struct {
    /** Unique in the survey. */
    const char *id;
    /** Id of the tap opened, or NULL. */
    const char *tap;
    /** Indices of the tendon and its face. */
    size_t tendon;
    size_t face;
    /** Tape from the face, m, 0 to 1000. */
    double distance;
    /** Looking ahead, rad. */
    double clock;
    /** Of the void, m, 0 to 1; NAN: none stated. */
    double depth;
    /** What was found. */
    dm_finding found;
    /** What else was seen. */
    bool water, strand;
    /** Of the void. */
    dm_pressures pressures;
    /** As written, or NULL: a file, and what people noted. */
    const char *photo, *note;
    /** YYYY-MM-DD, of the opening. */
    const char *date;
    /** Line of its element, for messages. */
    dm_place place;
} dm_opened;

/** All field books of a job.
 *  XML: roots `fieldbook`. */
typedef struct dm_survey {
    /** Holds all of it. */
    struct dm_arena *arena;
    /** Field books, as opened; >= 1. */
    const char **files;
    /** Of each, 64 hex digits. */
    const char **sha256;
    /** >= 1. */
    size_t file_count;
    /** Name of the (first) survey; goes into the register as first or last
     *  survey of what it saw. */
    const char *survey;
    /** Of the (first) survey, YYYY-MM-DD. */
    const char *date;
    /** These and the following in the order of the books. */
    dm_instrument *instruments;
    /** >= 1. */
    size_t instrument_count;
    /** Several may serve one duct type: dm_survey_calibration chooses. */
    dm_calibration *calibrations;
    /** >= 1. */
    size_t calibration_count;
    /** One a field book. */
    dm_columns *columns;
    /** >= 1. */
    size_t columns_count;
    /** >= 1. */
    dm_run *runs;
    /** >= 1. */
    size_t run_count;
    /** What opening found; may be none. */
    dm_opened *opened;
    /** May be 0. */
    size_t opened_count;
} dm_survey;

/** Reads one or more field books of one bridge against its model. Every fault
 *  of every book is said with file and line. Readings files are not opened
 *  here. Several books make one survey: runs keep the order of the books, run
 *  ids are unique over all of them, an instrument or tape that two books name
 *  is the same in both (each book has its own entry, with its own
 *  calibrations). What the schema cannot check is checked: uid of the bridge,
 *  tendons, faces, duct types, channels; the order of a run's events (one
 *  start, before anything that has a place on the tendon; run distance not
 *  back by more than 0.5 m but by a rezero; one skip of unknown length between
 *  ties); thresholds of bands; references that differ from air; rows named
 *  twice. What is read but not used yet is warned of once a book.
 *  @param paths  [count] XML files
 *  @param model  the bridge; indices in the survey are into it
 *  @param diag   may be NULL
 *  @param out    the survey, immutable; free with dm_survey_free. NULL on
 *                failure
 *  @return DM_OK; DM_IO, DM_SYNTAX, DM_SCHEMA, DM_REFERENCE, DM_RANGE,
 *          DM_INCONSISTENT, DM_UNSUPPORTED (steel duct, rezero without
 *          segments), DM_NOMEM: the first fault's status */
dm_status dm_survey_read(const char *const *paths, size_t count,
                         const dm_model *model, dm_diag *diag, dm_survey **out);
/** Frees a survey; accepts NULL. Readers of its readings, stations and
 *  indications made with it go first. */
void dm_survey_free(dm_survey *survey);

/** Calibration for a duct type, instrument and channel: the one that names
 *  the channel, else the one for every channel; NULL: none.
 *  @param duct_type, instrument, channel  indices; the first of several in
 *                                         the order of the books is taken
 *  @return belongs to the survey */
const dm_calibration *dm_survey_calibration(const dm_survey *survey,
                                            size_t duct_type, size_t instrument,
                                            size_t channel);

/** A block of consecutive readings. Arrays belong to the reader and are
 *  valid until the next call. */
typedef struct {
    /** May be 0. */
    size_t count;
    /** Run distance, m; turns: clock angle, rad */
    const double *x;
    /** [value column][row], raw */
    double *const *value;
    /** Line of row 0; row i stands on line first_line + i */
    long first_line;
    /** [row] seconds from a zero that one file keeps; NAN where a cell is
     *  empty or cannot be read (said once a file). NULL: no column of times,
     *  and in turns. Not always increasing: clocks are set. */
    const double *time;
} dm_block;

/** Streams rows in file order, a block at a time, in bounded memory. A file
 *  is passed through once for all segments of a run; segments asked for in
 *  another order than that of their rows are remembered by their place and
 *  read again. The rows of a segment must follow each other; one that goes on
 *  after another began is an error, so that no row is lost unseen: it is told
 *  by the next event on the way or by dm_readings_sha256, which looks at what
 *  is left of the file.
 *
 *  The file: UTF-8 (a byte order mark is passed over), LF or CRLF; comment
 *  lines (# first) and blank lines are passed over; the first other line names
 *  the columns, in any order, with others between. Cells may be quoted
 *  (RFC 4180, no line break inside); blanks round a cell do not count. At most
 *  64 KiB a line and 256 columns. Numbers: at most 1000 km and 1e15 raw; no
 *  nan, no inf. Times: seconds (or time_unit) as a number, hh:mm:ss (going on
 *  past midnight: on the day nearest to the time before), or ISO
 *  8601 date and time YYYY-MM-DDThh:mm:ss (a blank for the T) with or without
 *  a zone, seconds with a fraction; all in one way in one file. A time that
 *  cannot be read costs the time, not the reading. */
typedef struct dm_readings dm_readings;
/** Positions at the rows of one readings event, or at a turn's (block.x is
 *  then the clock angle). Which rows: those of its segment, if it and the
 *  columns name one; else those from the first with a run distance beyond
 *  rows_from up to the last before the first one beyond rows_to (NAN: no
 *  limit).
 *  @param survey  holds the columns; outlives the reader, as does `run`
 *  @param event   one of run->events
 *  @param out     free with dm_readings_close; NULL on failure
 *  @return DM_OK; DM_IO; DM_SYNTAX: no header; DM_REFERENCE: a column is not
 *          there; DM_INCONSISTENT: it is there twice; DM_NOMEM. Said. */
dm_status dm_readings_open(const dm_survey *survey, const dm_run *run,
                           const dm_event *event, dm_diag *diag,
                           dm_readings **out);
/** Goes on to another readings or turn event of the same run; faults that
 *  were said with the event before do not count for this one.
 *  @return as dm_readings_open; after a failure only resume or close */
dm_status dm_readings_resume(dm_readings *readings, const dm_event *event);
/** The next rows; block->count == 0: the end. A bad row is left out and said
 *  with file, line and column name (at most 20 a file, then "and more"); the
 *  status comes at the event's end, so that all of them are told.
 *  @return DM_OK; DM_SYNTAX: bad rows, a line too long; DM_REFERENCE: no row
 *          (a part between rows_from and rows_to may be empty);
 *          DM_INCONSISTENT: a segment goes on after another began; DM_IO */
dm_status dm_readings_next(dm_readings *readings, dm_block *block);
/** SHA-256 of the file as 64 hex digits, made while the rows were read; reads
 *  what is left of it. Once per file; afterwards resume or close.
 *  @param out  "" on failure
 *  @return DM_OK; DM_INCONSISTENT as above; DM_SYNTAX; DM_IO */
dm_status dm_readings_sha256(dm_readings *readings, char out[65]);
/** Accepts NULL. */
void dm_readings_close(dm_readings *readings);

DM_END_C

#endif
