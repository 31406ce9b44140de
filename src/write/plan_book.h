/* SPDX-License-Identifier: MIT
 * What the two files of a planned field book share. */
#ifndef DM_WRITE_PLAN_BOOK_H
#define DM_WRITE_PLAN_BOOK_H

#include "write/plan.h"

typedef struct {
    const dm_plan_output *o;
    const dm_instrument *in;   /* NULL: none known */
    const dm_columns *columns; /* NULL: none known */
    dm_buf *out;
} book_work;

/* Attributes: a blank before, quotes round the value. Lengths exactly, in
 * metres. */
void book_put_text(dm_buf *b, const char *name, const char *text);
void book_put_real(dm_buf *b, const char *name, double value);
void book_put_metres(dm_buf *b, const char *name, double metres);
void book_put_angle(dm_buf *b, const char *name, double rad);

/* What stands before the runs, in that order. */
void book_put_instrument(const book_work *w);
void book_put_tape(const book_work *w);
void book_put_calibrations(const book_work *w);
void book_put_columns(const book_work *w);
/* A run of the field book that names a tape with that instrument; NULL. */
const dm_run *book_taped_run(const book_work *w);

#endif
