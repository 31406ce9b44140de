/* SPDX-License-Identifier: MIT
 * Reading field books: what the files of this folder share; and the readers
 * of this folder for a text in memory. */
#ifndef DM_SURVEY_READ_H
#define DM_SURVEY_READ_H

#include "base/arena.h"
#include "base/buf.h"
#include "ductmark/job.h"
#include "model/xml.h"

/* One field book being read into a survey that may hold others already. */
typedef struct {
    dm_xml *xml;
    dm_arena *arena;
    const dm_model *model;
    dm_survey *survey;
    size_t instruments_before; /* of earlier books */
    size_t columns;            /* of its first instrument; others follow */
    const dm_xml_node *tapes;  /* this book's root */
    bool out_of_memory;
} book;

/* Id to index among this book's instruments; DM_NONE: absent. */
size_t book_instrument(const book *b, const char *id);
/* A clock angle looking ahead: @clock as @clock-view states it. */
double book_clock(book *b, const dm_xml_node *node);

void book_read_instruments(book *b, const dm_xml_node *root);
void book_read_calibrations(book *b, const dm_xml_node *root);
void book_read_columns(book *b, const dm_xml_node *root);
void book_read_runs(book *b, const dm_xml_node *root);
void book_read_opened(book *b, const dm_xml_node *root);

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
