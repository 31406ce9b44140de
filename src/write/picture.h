/* SPDX-License-Identifier: MIT
 * What pictures and sheets of one tendon share: where things come from, how
 * numbers are said, what a state looks like. Paper in mm, y down. */
#ifndef DM_WRITE_PICTURE_H
#define DM_WRITE_PICTURE_H

#include "draw/canvas.h"
#include "ductmark/write.h"

/* Print under 8 pt is not read on site. */
#define DM_PRINT_SMALL 8.0
#define DM_PRINT_TEXT 9.0

/* One tendon and the page at hand. Results that are not there are NULL. */
typedef struct {
    const dm_delivery *delivery;
    const dm_tendon *tendon;
    const dm_indications *found;
    const dm_taps *taps;
    const dm_stations *stations;
    bool us;
    double k; /* coverage factor of every U */
    dm_canvas *canvas;
    dm_buf say; /* the words at hand */
} dm_picture;

/* Of the tendon with that index; the canvas is NULL. Free with
 * dm_buf_free(&picture.say). */
dm_picture dm_picture_of(const dm_delivery *delivery, size_t tendon);

/* ---- numbers in words, appended to p->say ------------------------------ */

/* Begins anew. */
void dm_say_clear(dm_picture *p);
void dm_say(dm_picture *p, const char *text);
/* The words so far; "" without memory, which the canvas hears of. */
const char *dm_said(dm_picture *p);
/* "3.214" and, with the unit, " m"; US: "10 ft 6 1/2 in". "?" if not known. */
void dm_say_length(dm_picture *p, double metres, bool unit);
/* "21 mm"; US: "0.8 in". */
void dm_say_small(dm_picture *p, double metres);
/* " ± 21 mm", k times u; nothing where u is not known. */
void dm_say_bound(dm_picture *p, double u);
/* "12:00". */
void dm_say_clock(dm_picture *p, double rad);
void dm_say_percent(dm_picture *p, double part, double whole);

/* ---- looks -------------------------------------------------------------- */

/* How a length that is not simply tested is drawn: by what was in the way. */
typedef enum {
    DM_STATE_LOOK_SUPPORT,    /* inside concrete, or beside it */
    DM_STATE_LOOK_OBSTRUCTED, /* something on or round the duct, or steel */
    DM_STATE_LOOK_LEFT_OUT,   /* could have been read, was not */
    DM_STATE_LOOK_NOT_VALID,
    DM_STATE_LOOK_NOT_RECONCILED,
    DM_STATE_LOOK_STRAND_MASKED,
    DM_STATE_LOOK_COUNT,
    DM_STATE_LOOK_TESTED = DM_STATE_LOOK_COUNT
} dm_state_look;

dm_state_look dm_state_look_of(dm_cover cover, dm_why why);
/* For the legend. */
const char *dm_state_look_text(dm_state_look state);
/* Fill and hatch, no stroke; `over` an index: no fill. */
dm_look dm_state_look_make(dm_state_look state, bool over);
/* Duct surface that no line passed. */
dm_look dm_unread_look(void);
/* Of an index class (scene/colour.h); negative ones are hatched, so that a
 * black and white print tells them from positive ones. */
dm_look dm_index_look(int heat_class);
/* A line of that colour and width. */
dm_look dm_line_look(uint32_t colour, double width, dm_dash dash);
/* A fill without anything else. */
dm_look dm_fill_look(uint32_t colour);

/* "T1", and its name behind it where that is another. */
void dm_say_tendon(dm_picture *p);
/* Name of the anchorage at the end that is looked towards. */
const char *dm_far_anchorage(const dm_tendon *tendon, dm_side side);
/* Label of an indication's grade; "no grade". */
const char *dm_grade_label(const dm_picture *p, const dm_indication *item);
/* Station of a face on a clock line, moved by what the distances told, m. */
double dm_face_shown(const dm_picture *p, size_t face, double clock);

#endif
