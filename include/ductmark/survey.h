/* SPDX-License-Identifier: MIT
 *
 * What happened on site: instruments, calibrations, and runs as sequences of
 * events, from `fieldbook` XML files; and the streamed reader of the readings
 * CSV files that they name.
 *
 * Run distance x: what the encoder says, metres after the column's unit; it
 * is not a station. The order of events is the sequence, never x.
 */
#ifndef DUCTMARK_SURVEY_H
#define DUCTMARK_SURVEY_H

#include "ductmark/model.h"

DM_BEGIN_C

/** One sensing channel of an instrument. */
typedef struct {
    const char *id;
    /** From the run's clock line, clockwise looking ahead when the run goes
     *  ahead with the nose leading, rad */
    double clock_offset;
    /** Electrode centre minus encoder contact, positive towards the nose,
     *  m */
    double lead;
    /** m, > 0 */
    double footprint_along;
    /** m, > 0 */
    double footprint_around;
    /** Inspection depth from the wall's inside, m */
    double depth;
} dm_channel;

typedef struct {
    const char *id;
    /** metres of travel per metre shown, nominal 1 */
    double scale;
    /** Standard uncertainty of the scale, a ratio */
    double scale_u;
    /** One scale for all its runs, or one per run */
    bool scale_shared;
    /** Random walk: standard deviation after 1 m, m */
    double walk;
    /** Least step of x, m; 0: none */
    double quantum;
    /** Encoder contact to the nose, m, >= 0 */
    double nose;
    /** Encoder contact to the tail, m, >= 0 */
    double tail;
    dm_channel *channels;
    size_t channel_count;
    dm_place place;
} dm_instrument;

typedef enum {
    DM_KIND_SOUND_LIKE = 0,
    DM_KIND_VOID_LIKE,
    DM_KIND_SOFT_LIKE,
    DM_KIND_UNRESOLVED,
    DM_KIND_COUNT
} dm_kind;
/** "sound-like", "void-like", "soft-like", "unresolved". */
const char *dm_kind_text(dm_kind kind);

/** Hysteresis on the index: begins at `enter`, ends below `leave`. Negative
 *  thresholds: begins at or below `enter`. */
typedef struct {
    dm_kind kind;
    double enter, leave;
} dm_band;

/** Index of a material: mean and spread (used for kinds by probability). */
typedef struct {
    /** "sound", "void", "soft", "strand" */
    const char *name;
    double mean, sd;
} dm_material;

typedef struct {
    double index, depth, u;
} dm_depth_point;

typedef struct {
    /** rad; NAN: all round */
    double clock;
    /** Raw */
    double value;
} dm_reference_point;

/** Raw readings of air and of sound grout for one duct type and channel. */
typedef struct {
    size_t duct_type;
    size_t instrument;
    /** DM_NONE: every channel */
    size_t channel;
    double air;
    dm_reference_point *reference;
    /** >= 1 */
    size_t reference_count;
    dm_band *bands;
    size_t band_count;
    dm_material *materials;
    size_t material_count;
    dm_depth_point *depths;
    size_t depth_count;
    dm_place place;
} dm_calibration;

typedef enum {
    DM_EVENT_READINGS,
    DM_EVENT_START,
    DM_EVENT_TIE,
    DM_EVENT_SKIP,
    DM_EVENT_REZERO,
    DM_EVENT_LIFT,
    DM_EVENT_TURN,
    DM_EVENT_CHECK,
    DM_EVENT_NOTE
} dm_event_kind;

/** What stood at the face when a tie or start was taken. */
typedef enum {
    DM_WITH_NOSE,
    DM_WITH_TAIL,
    DM_WITH_ENCODER,
    DM_WITH_ELECTRODE
} dm_with;

typedef enum {
    /** How far the sensor as a whole was moved on */
    DM_SKIP_DISPLACEMENT,
    /** Unread length between nose and tail: the displacement is gap +
     *  nose + tail */
    DM_SKIP_GAP
} dm_skip_basis;

typedef enum { DM_CHECK_AIR, DM_CHECK_REFERENCE } dm_check_kind;

/** One event of a run, in the order of the field book. */
typedef struct {
    dm_event_kind kind;
    dm_place place;
    /** Run distance, m (start, tie, skip, rezero, lift, turn); NAN where
     *  it has none */
    double x;
    /** Skip, rezero: run distance after it, m */
    double x_resume;
    /** Lift: end, m */
    double x_to;
    /** Start, tie: face index of the run's tendon */
    size_t face;
    /** Start, tie: from the face out along the duct to what is named by
     *  `with`, m (default 0) */
    double distance;
    /** Start, tie */
    dm_with with;
    /** Start, tie, skip: standard uncertainty, m; NAN where none is stated:
     *  the job's settings hold */
    double u;
    /** Skip */
    bool length_known;
    /** Skip: as stated, m */
    double length;
    /** Skip */
    dm_skip_basis basis;
    /** Skip, lift; or NULL */
    const char *reason;
    /** Readings, turn: path, resolved */
    const char *href;
    /** Readings: value of the segment column; or NULL */
    const char *segment;
    /** Readings without a segment before skips without readings of their
     *  own: one event for each part of the file, from the first row beyond
     *  rows_from (-inf: the first) to the last before the first beyond
     *  rows_to (inf: the last), m; the parts follow their skips. Else NAN:
     *  all rows */
    double rows_from, rows_to;
    /** Check, DM_NONE: all */
    size_t channel;
    /** Check */
    dm_check_kind check;
    /** Check: raw reading */
    double value;
    /** Turn: the way it was made */
    bool counterclockwise;
} dm_event;

typedef enum { DM_LEADING_NOSE = +1, DM_LEADING_TAIL = -1 } dm_leading;

typedef struct {
    const char *id;
    size_t tendon;
    size_t instrument;
    /** Travel: ahead or back */
    dm_side direction;
    dm_leading leading;
    /** Clock line looking AHEAD (converted), rad */
    double clock;
    /** Id of the tape skips were measured with, or NULL */
    const char *tape;
    /** Its scale's standard uncertainty, a ratio */
    double tape_u;
    /** As written, or NULL */
    const char *time;
    /** deg C; NAN: not stated */
    double temperature;
    dm_event *events;
    size_t event_count;
    /** Index of the CSV description */
    size_t columns;
    dm_place place;
} dm_run;

/** How the readings CSV of a field book are laid out. */
typedef struct {
    /** ',' ';' '\t' or ' ' */
    char delimiter;
    /** '.' or ',' */
    char decimal;
    /** Column names */
    const char *x;
    /** metres per unit of x */
    double x_unit;
    /** Or NULL */
    const char *segment;
    /** Turns: column, degrees; or NULL */
    const char *clock;
    /** Or NULL */
    const char *time;
    /** Channel index of each value column */
    size_t *channel;
    /** Value column names */
    const char **value;
    /** >= 1 */
    size_t value_count;
} dm_columns;

/** A place that was opened, as found. */
typedef struct {
    const char *id;
    /** Id of the tap opened, or NULL */
    const char *tap;
    size_t tendon;
    size_t face;
    /** Tape from the face, m */
    double distance;
    /** rad */
    double clock;
    /** Of the void, m; NAN: none stated */
    double depth;
    /** "void", "water", "soft", "sound", "other" */
    const char *found;
    bool water, strand;
    /** m^3; NAN: not measured */
    double pressure_volume;
    const char *photo;
    const char *date;
    dm_place place;
} dm_opened;

typedef struct dm_survey {
    /** Holds all of it */
    struct dm_arena *arena;
    /** Field books */
    const char **files;
    /** Of each, 64 hex digits */
    const char **sha256;
    size_t file_count;
    /** Name of the (first) survey */
    const char *survey;
    /** Of the (first) survey, YYYY-MM-DD */
    const char *date;
    dm_instrument *instruments;
    size_t instrument_count;
    dm_calibration *calibrations;
    size_t calibration_count;
    dm_columns *columns;
    size_t columns_count;
    dm_run *runs;
    size_t run_count;
    dm_opened *opened;
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
/** Frees a survey; accepts NULL. */
void dm_survey_free(dm_survey *survey);

/** Calibration for a duct type, instrument and channel: the one that names
 *  the channel, else the one for every channel; NULL: none. */
const dm_calibration *dm_survey_calibration(const dm_survey *survey,
                                            size_t duct_type, size_t instrument,
                                            size_t channel);

/** A block of consecutive readings. Arrays belong to the reader and are
 *  valid until the next call. */
typedef struct {
    size_t count;
    /** Run distance, m; turns: clock angle, rad */
    const double *x;
    /** [value column][row], raw */
    double *const *value;
    /** Line of row 0; row i stands on line first_line + i */
    long first_line;
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
 *  nan, no inf. */
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
