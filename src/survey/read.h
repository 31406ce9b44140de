/* SPDX-License-Identifier: MIT
 * Reading field books: what the files of this folder share; and the readers
 * of this folder for a text in memory. */
#ifndef DM_SURVEY_READ_H
#define DM_SURVEY_READ_H

#include "base/arena.h"
#include "base/buf.h"
#include "ductmark/job.h"
#include "model/xml.h"

/* Work on a book's ids is a search among these; far more than a book has. */
#define BOOK_MOST_INSTRUMENTS 200
#define BOOK_MOST_CHANNELS 64
#define BOOK_MOST_TAPES 1000
#define BOOK_MOST_CALIBRATIONS 2000
#define BOOK_MOST_VALUES 16

typedef struct {
    const char *id;
    double scale_u;
    dm_place place;
} book_tape;

/* One field book being read into a survey that may hold others already. */
typedef struct {
    dm_xml *xml;
    dm_arena *arena;
    dm_diag *diag;
    const dm_model *model;
    dm_survey *survey;
    book_tape *tapes; /* of all books so far */
    size_t tape_count;
    /* Counts of the survey before this book. */
    size_t instruments_before, columns_before, calibrations_before;
    size_t runs_before, tapes_before;
    /* Not used yet: said once a book. */
    bool said_time, said_temperature;
    dm_status status; /* of faults that have a place but no node */
    bool out_of_memory;
} book;

/* Index among this book's instruments; DM_NONE: absent. */
size_t book_instrument(const book *b, const char *id);
/* Index among an instrument's channels; DM_NONE: absent. */
size_t book_channel(const dm_instrument *instrument, const char *id);
/* A tape of this book; NULL: absent. */
const book_tape *book_find_tape(const book *b, const char *id);
/* A tendon of the bridge by @tendon, a face of it by the attribute `name`;
 * DM_NONE with a fault where there is none. */
size_t book_tendon(book *b, const dm_xml_node *node);
size_t book_face(book *b, const dm_xml_node *node, const char *name,
                 size_t tendon);
/* A clock angle looking ahead: @clock as @clock-view states it. */
double book_clock(book *b, const dm_xml_node *node);
/* A file name, resolved against the book's folder. */
const char *book_href(book *b, const dm_xml_node *node, const char *name);
/* Warns unless *said; then sets it. */
void book_warn_once(book *b, const dm_xml_node *node, bool *said,
                    const char *text);
/* Count of elements of that name, held to a limit with a fault. */
size_t book_count(book *b, const dm_xml_node *root, const char *name,
                  size_t most);

void book_read_instruments(book *b, const dm_xml_node *root);
void book_read_calibrations(book *b, const dm_xml_node *root);
/* One description of the readings for each of the book's instruments. */
void book_read_columns(book *b, const dm_xml_node *root);
void book_read_runs(book *b, const dm_xml_node *root);
/* opened.c */
void book_read_opened(book *b, const dm_xml_node *root);
/* Of a `pressure-volume` element; NULL: none was measured. */
dm_pressures dm_pressures_read(dm_xml *xml, const dm_xml_node *node);
dm_pressures dm_pressures_none(void);
/* The `note` in an `opened` element, NULL: none. False: no memory. */
bool dm_opened_note(dm_xml *xml, const dm_xml_node *opened, dm_arena *arena,
                    const char **note);
/* [DM_FOUND_COUNT], then NULL. */
extern const char *const dm_finding_words[];

/* Checks that the schema cannot do: the order of a run's events. nodes[i] is
 * the element of event i, nodes[event_count] that of the run. */
void book_check_sequence(book *b, const dm_run *run,
                         const dm_xml_node *const *nodes);
/* Gives readings without a segment that are followed by skips without
 * readings of their own one event for each part between the skips. */
void book_split_rows(book *b, dm_run *run, const dm_xml_node *const *nodes);
/* Runs of this book with the id of another; rows that are named twice. */
void book_check_unique(book *b);

/* The readers of ductmark/survey.h and job.h for a text in memory; `path`
 * names it in messages, and paths in it are resolved against its folder. */
dm_status dm_survey_read_text(const char *path, const dm_buf *text,
                              const dm_model *model, dm_diag *diag,
                              dm_survey **out);
dm_status dm_job_read_text(const char *path, const dm_buf *text, dm_diag *diag,
                           dm_job **out);
dm_status dm_criteria_read_text(const char *path, const dm_buf *text,
                                dm_diag *diag, dm_criteria **out);
dm_status dm_register_read_text(const char *path, const dm_buf *text,
                                const dm_model *model, dm_diag *diag,
                                dm_register **out);

#endif
