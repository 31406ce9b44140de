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

/** One sensing channel of an instrument. */
typedef struct {
    const char *id;
    double clock_offset;     /* from the run's clock line, clockwise looking
                                ahead when the run goes ahead with the nose
                                leading, rad */
    double lead;             /* electrode centre minus encoder contact,
                                positive towards the nose, m */
    double footprint_along;  /* m, > 0 */
    double footprint_around; /* m, > 0 */
    double depth;            /* inspection depth from the wall's inside, m */
} dm_channel;

typedef struct {
    const char *id;
    double scale;      /* metres of travel per metre shown, nominal 1 */
    double scale_u;    /* standard uncertainty of the scale, a ratio */
    bool scale_shared; /* one scale for all its runs, or one per run */
    double walk;       /* random walk: standard deviation after 1 m, m */
    double quantum;    /* least step of x, m; 0: none */
    double nose;       /* encoder contact to the nose, m, >= 0 */
    double tail;       /* encoder contact to the tail, m, >= 0 */
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
    const char *name; /* "sound", "void", "soft", "strand" */
    double mean, sd;
} dm_material;

typedef struct {
    double index, depth, u;
} dm_depth_point;

typedef struct {
    double clock; /* rad; NAN: all round */
    double value; /* raw */
} dm_reference_point;

/** Raw readings of air and of sound grout for one duct type and channel. */
typedef struct {
    size_t duct_type;
    size_t instrument;
    size_t channel; /* DM_NONE: every channel */
    double air;
    dm_reference_point *reference;
    size_t reference_count; /* >= 1 */
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
    DM_SKIP_DISPLACEMENT, /* how far the sensor as a whole was moved on */
    DM_SKIP_GAP           /* unread length between nose and tail: the
                             displacement is gap + nose + tail */
} dm_skip_basis;

typedef enum { DM_CHECK_AIR, DM_CHECK_REFERENCE } dm_check_kind;

/** One event of a run, in the order of the field book. */
typedef struct {
    dm_event_kind kind;
    dm_place place;
    double x;            /* run distance, m (start, tie, skip, rezero, lift,
                            turn); NAN where it has none */
    double x_resume;     /* skip, rezero: run distance after it, m */
    double x_to;         /* lift: end, m */
    size_t face;         /* start, tie: face index of the run's tendon */
    double distance;     /* start, tie: from the face out along the duct to
                            what is named by `with`, m (default 0) */
    dm_with with;        /* start, tie */
    double u;            /* start, tie, skip: standard uncertainty, m; NAN
                            where none is stated: the job's settings hold */
    bool length_known;   /* skip */
    double length;       /* skip: as stated, m */
    dm_skip_basis basis; /* skip */
    const char *reason;  /* skip, lift; or NULL */
    const char *href;    /* readings, turn: path, resolved */
    const char *segment; /* readings: value of the segment column; or NULL */
    double rows_from, rows_to; /* readings without a segment before skips
                            without readings of their own: one event for each
                            part of the file, from the first row beyond
                            rows_from (-inf: the first) to the last before the
                            first beyond rows_to (inf: the last), m; the parts
                            follow their skips. Else NAN: all rows */
    size_t channel;            /* check, DM_NONE: all */
    dm_check_kind check;       /* check */
    double value;              /* check: raw reading */
    bool counterclockwise;     /* turn: the way it was made */
} dm_event;

typedef enum { DM_LEADING_NOSE = +1, DM_LEADING_TAIL = -1 } dm_leading;

typedef struct {
    const char *id;
    size_t tendon;
    size_t instrument;
    dm_side direction; /* travel: ahead or back */
    dm_leading leading;
    double clock;       /* clock line looking AHEAD (converted), rad */
    const char *tape;   /* id of the tape skips were measured with, or NULL */
    double tape_u;      /* its scale's standard uncertainty, a ratio */
    const char *time;   /* as written, or NULL */
    double temperature; /* deg C; NAN: not stated */
    dm_event *events;
    size_t event_count;
    size_t columns; /* index of the CSV description */
    dm_place place;
} dm_run;

/** How the readings CSV of a field book are laid out. */
typedef struct {
    char delimiter;      /* ',' ';' '\t' or ' ' */
    char decimal;        /* '.' or ',' */
    const char *x;       /* column names */
    double x_unit;       /* metres per unit of x */
    const char *segment; /* or NULL */
    const char *clock;   /* turns: column, degrees; or NULL */
    const char *time;    /* or NULL */
    size_t *channel;     /* channel index of each value column */
    const char **value;  /* value column names */
    size_t value_count;  /* >= 1 */
} dm_columns;

/** A place that was opened, as found. */
typedef struct {
    const char *id;
    const char *tap; /* id of the tap opened, or NULL */
    size_t tendon;
    size_t face;
    double distance;   /* tape from the face, m */
    double clock;      /* rad */
    double depth;      /* of the void, m; NAN: none stated */
    const char *found; /* "void", "water", "soft", "sound", "other" */
    bool water, strand;
    double pressure_volume; /* m^3; NAN: not measured */
    const char *photo;
    const char *date;
    dm_place place;
} dm_opened;

typedef struct dm_survey {
    struct dm_arena *arena; /* holds all of it */
    const char **files;     /* field books */
    const char **sha256;    /* of each, 64 hex digits */
    size_t file_count;
    const char *survey; /* name of the (first) survey */
    const char *date;   /* of the (first) survey, YYYY-MM-DD */
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
    const double *x;      /* run distance, m; turns: clock angle, rad */
    double *const *value; /* [value column][row], raw */
    long first_line;      /* line of row 0; row i stands on line
                             first_line + i */
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

#endif
