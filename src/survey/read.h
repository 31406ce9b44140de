/* SPDX-License-Identifier: MIT
 * Reading field books: what the files of this folder share. */
#ifndef DM_SURVEY_READ_H
#define DM_SURVEY_READ_H

#include "base/arena.h"
#include "ductmark/survey.h"
#include "model/xml.h"

/* One field book being read into a survey that may hold others already. */
typedef struct {
    dm_xml *xml;
    dm_arena *arena;
    const dm_model *model;
    dm_survey *survey;
    size_t instruments_before; /* of earlier books */
    size_t columns;            /* this book's description */
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

#endif
