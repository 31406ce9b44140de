/* SPDX-License-Identifier: MIT
 * A survey of one run, built by hand round one readings file in /tmp: the
 * layout segment,x_mm,counts, and events of the test's choice. */
#ifndef DM_TEST_READINGS_BOOK_H
#define DM_TEST_READINGS_BOOK_H

#include "ductmark/survey.h"
#include "near.h"
#include "said.h"

#define MOST_ROWS 64
#define MOST_EVENTS 16

typedef struct {
    dm_survey survey;
    dm_run run;
    dm_columns columns;
    dm_event events[MOST_EVENTS];
    size_t channels[2];
    const char *values[2];
    char path[64];
    said said;
    /* what was read */
    size_t rows;
    double x[MOST_ROWS], value[2][MOST_ROWS];
    long line[MOST_ROWS];
    double time[MOST_ROWS]; /* NAN where the block had none */
    char sha256[65];
} book;

/* A readings event; `segment` may be NULL. */
dm_event readings(const char *segment);
/* A part of a file without segments, between two run distances. */
dm_event part(double from, double to);

/* A file of these bytes; free with book_free, which removes the file. */
book *book_of(const void *bytes, size_t length);
book *book_text(const char *text);
void book_add(book *b, dm_event event);
void book_free(book *b);

/* What was said; the file's name, which is random, is shown as FILE. */
const char *heard(book *b);

/* One event through a reader of its own, into b->x, b->value, b->line. */
dm_status read_event(book *b, size_t event);
/* All events in order through one reader, then the hash. */
dm_status read_all(book *b);

/* Row `row` of what was read: x in metres, the first value. */
void assert_row(const book *b, size_t row, double x, double value);

#endif
