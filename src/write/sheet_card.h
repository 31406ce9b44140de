/* SPDX-License-Identifier: MIT
 * One tap on its page: what its parts share. */
#ifndef DM_WRITE_SHEET_CARD_H
#define DM_WRITE_SHEET_CARD_H

#include "write/sheet.h"

typedef struct {
    dm_sheet_page *s;
    dm_picture *p;
    const dm_tap *tap;
    double x, y, width; /* of the column of words; y: next baseline */
    dm_task task;
    int step;
    bool draw;
} dm_card;

/* What was said, from c->y on, indented behind the step's number. */
void dm_card_put(dm_card *c, const dm_type *type);

/* ---- sheet_facts.c ------------------------------------------------------- */

/* What is expected behind the wall, warnings, the place in the words of the
 * drawings, the reason; over the whole width. */
void dm_card_facts(dm_card *c);

/* ---- sheet_form.c -------------------------------------------------------- */

/* Places for what was found, filled in where it has been opened; returns their
 * height, mm. */
double dm_card_form(const dm_card *c, double y);

#endif
