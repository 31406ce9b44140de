/* SPDX-License-Identifier: MIT
 * The reader of readings: what readings.c (files, segments, blocks) and rows.c
 * (lines to numbers) share. */
#ifndef DM_SURVEY_READINGS_H
#define DM_SURVEY_READINGS_H

#include <stdbool.h>
#include <string.h>

#include "ductmark/survey.h"
#include "survey/csv.h"
#include "survey/times.h"

#define BLOCK ((size_t)4096) /* rows */
#define MOST_X 1e6           /* m, rad */
#define SHOWN 40             /* bytes of a foreign text in a message */

/* What a column of the file is to the reader. */
typedef enum {
    STEP_PASS,
    STEP_SEGMENT,
    STEP_X,
    STEP_VALUE,
    STEP_TIME
} step_kind;

typedef struct {
    step_kind kind;
    double scale;     /* of a number, to metres, radians, raw or seconds */
    double *to;       /* [BLOCK] where its numbers go */
    const char *name; /* of the column; NULL for STEP_PASS */
} step;

/* What became of a segment on the way through the file. */
typedef struct {
    const dm_event *event;
    enum { UNSEEN, PASSED, TAKEN } state;
    csv_mark at; /* its first row, unless UNSEEN */
} segment;

struct dm_readings {
    const dm_run *run;
    const dm_event *event; /* NULL: only passing what is left of the file */
    const dm_columns *layout;
    dm_diag *diag;
    csv_file file;
    step steps[CSV_MOST_COLUMNS]; /* up to the last column that is needed */
    size_t step_count;
    double *x;          /* [BLOCK] */
    double *time;       /* [BLOCK]; NULL: the columns name none */
    double time_before; /* the last one, of times of day; NAN */
    time_form form;     /* of the open file's times; TIME_NONE: not known yet */
    bool timed;         /* the open file has a column of times */
    bool bad_time;      /* one was said of the open file */
    double *values;     /* [value_count][BLOCK] */
    double **value;     /* pointers into values */
    segment *segments;  /* of the run, sorted by file and name */
    size_t segment_count;
    segment *wanted; /* the event's; NULL: it has none */
    csv_mark data;   /* the line after the header */
    csv_mark front;  /* how far the way through the segments has come */
    bool on_way;     /* reading at the front, not a segment remembered */
    bool begun;      /* a row of the event was met */
    bool ended;
    char other[1024]; /* the segment that is being passed; "": none */
    size_t other_length;
    size_t bad;       /* rows of this file that were bad */
    dm_status status; /* of the event */
    dm_status broken; /* of the file: nothing more can be read */
};

static inline bool is_turn(const dm_event *e)
{
    return e->kind == DM_EVENT_TURN;
}

/* Is the event told from others of its file by a segment? */
static inline bool is_segmented(const dm_readings *r, const dm_event *e)
{
    return !is_turn(e) && e->segment != NULL && r->layout->segment != NULL;
}

static inline dm_place here(const dm_readings *r)
{
    return (dm_place){r->file.path, r->file.line};
}

static inline int shown(const csv_cell *cell)
{
    return (int)(cell->length < SHOWN ? cell->length : SHOWN);
}

/* The run's segment of that name in the open file; NULL: none of the run. */
segment *readings_segment(dm_readings *r, const char *name);

/* Takes rows at the buffer's begin while they are plain and the event's, to
 * index n on, at most to a full block. Returns the new count. */
size_t rows_take(dm_readings *r, size_t n);
/* Passes over plain rows of the segment that is being passed anyway. */
void rows_pass(dm_readings *r);
/* One line, whatever it holds; *n grows when it is the event's. */
dm_status rows_one(dm_readings *r, dm_block *block, size_t *n);

#endif
