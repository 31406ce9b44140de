/* SPDX-License-Identifier: MIT
 * Sheets that a drilling crew works from: for each tendon with tap points the
 * pages to find the duct, the faces, the mark and the stop. Parts of a page;
 * each is drawn, or only measured, from y on and returns its height, mm. */
#ifndef DM_WRITE_SHEET_H
#define DM_WRITE_SHEET_H

#include "write/cross_view.h"
#include "write/paper.h"

/* Nothing on a sheet is smaller, pt. */
#define DM_SHEET_TEXT 11.0
/* Line to line, in sizes: the font's own height. What that saves keeps the view
 * from the side on the page. */
#define DM_SHEET_LEADING 1.165
/* The two in which nearly all of a sheet is set. sheet_words.c */
extern const dm_type dm_sheet_text, dm_sheet_strong;

/* The plan of one tendon: x along the bridge's mean direction, y to the left
 * of it, m, as pairs. */
typedef struct {
    double *xy;
    size_t count;
} dm_sheet_trace;

/* A place that a crew comes to. */
typedef struct {
    size_t tendon, item; /* indices; item: of its taps or openings */
    size_t part;         /* that is walked through; DM_NONE: none named */
    double along;        /* the bridge, m */
} dm_sheet_stop;

/* What all pages share. */
typedef struct {
    dm_sheet_trace *traces; /* [tendon_count] */
    double low[2], high[2]; /* of the traces, m */
    dm_sheet_stop *stops;   /* taps in walking order */
    size_t stop_count;
    dm_sheet_stop *opened; /* places opened, in the same order */
    size_t opened_count;
    size_t *tendons; /* those with taps, as they are come to */
    size_t tendon_count;
    size_t **page; /* of each tap, by tendon; from 1 */
    size_t pages;  /* of all */
} dm_sheet_tour;

/* A page about one tendon. */
typedef struct {
    dm_paper paper;
    const dm_sheet_tour *tour;
    size_t from, to;      /* taps of the tendon */
    size_t page;          /* of tour->pages, from 1 */
    size_t number, count; /* of the tendon's pages, from 1 */
    /* Where a tap does not fit: 1: without its reason, if a drill is meant or
     * it has been opened; 2: and without places for pressures; 3: and without
     * its place in the words of the drawings; 4: and without the view from the
     * side. */
    int tight;
    double field; /* mm, height of a place to fill in */
} dm_sheet_page;

/* ---- sheet_tour.c -------------------------------------------------------- */

/* All but the numbers of pages; in the arena. */
dm_status dm_sheet_tour_make(const dm_delivery *delivery, dm_arena *arena,
                             dm_sheet_tour *tour);

/* ---- sheet_words.c ------------------------------------------------------ */

/* The job's unit first, the other in brackets, both from one value; appended
 * to p->say. "2315 mm (7 ft 7 1/8 in)". */
void dm_sheet_say_tape(dm_picture *p, double metres);
/* A bound, rounded up: "16 mm"; US in eighths: "5/8 in". */
void dm_sheet_say_bound(dm_picture *p, double metres);
/* Its size without its sign: "45 mm (1 3/4 in)", inches in eighths. */
void dm_sheet_say_arc(dm_picture *p, double metres);
/* Rounded down, so that no stop is longer than it was reckoned: "6.7 mm
 * (0.26 in)". */
void dm_sheet_say_stop(dm_picture *p, double metres);
/* Two places, rounded down: "0.97"; never 1: "over 0.99". */
void dm_sheet_say_chance(dm_picture *p, double chance);
/* A text from a file, cut behind `most` letters where it would crowd out what
 * matters; a name. */
void dm_sheet_say_cut(dm_picture *p, const char *text, size_t most);
void dm_sheet_say_name(dm_picture *p, const char *name);
/* "Tendon L1, tag L-01, left cell, top row". */
void dm_sheet_say_tendon(dm_picture *p);
/* "1.148 L (70.06 in3)"; its bound, rounded up, in the job's unit; "28.37 kPa
 * (4.11 psi)". */
void dm_sheet_say_volume(dm_picture *p, double m3);
void dm_sheet_say_volume_bound(dm_picture *p, double m3);
void dm_sheet_say_pressure(dm_picture *p, double pa);
/* "Demo viaduct · ductmark 1.0, job of 2026-05-04. ", said anew. */
void dm_sheet_say_origin(dm_picture *p);
/* Of a page that is not about one tendon, with its number. */
void dm_sheet_put_title(dm_sheet_page *s, const char *what, double y);
/* "face D2-a (deviator D2)". */
void dm_sheet_say_face(dm_picture *p, size_t face);
/* Of its plane against the cross-section, rad, 0 to pi / 2. */
double dm_sheet_incline(const dm_tendon *tendon, size_t face);
/* "12:00, the top of the duct". */
void dm_sheet_say_line(dm_picture *p, double line);
/* The id; of a pair with its role behind it: "L5-I01-B inlet". */
void dm_sheet_say_tap(dm_picture *p, const dm_tap *tap);
const char *dm_sheet_name(const char *name, const char *id);
/* Inches in eighths: "1 3/4 in"; metres >= 0. */
void dm_sheet_say_eighths(dm_picture *p, double metres);
/* The mark is on the tape line: under half a millimetre off. */
bool dm_sheet_on_line(const dm_tap *tap);
/* Makes another tendon the one at hand. */
void dm_sheet_choose(dm_sheet_page *s, size_t tendon);

/* ---- sheet_task.c -------------------------------------------------------- */

/* What a crew does at a tap. */
typedef enum {
    DM_TASK_TAP,
    DM_TASK_RESCAN,
    DM_TASK_HAND_TOOL,
    DM_TASK_NO_ROOM, /* a tap, but a drill has no room there */
    DM_TASK_NONE,    /* it has been opened */
    DM_TASK_COUNT
} dm_task;
dm_task dm_sheet_task(const dm_picture *p, const dm_tap *tap);
/* The last opening of that tap, or NULL. */
const dm_as_found *dm_sheet_opened(const dm_picture *p, const dm_tap *tap);
/* "TAP AT THE MARK, WHEN RELEASED", "RE-SCAN BY HAND FIRST: NO HOLE" ... */
const char *dm_sheet_task_text(dm_task task);
/* Fill of the bar that tells advice apart without colour. */
dm_look dm_sheet_look(dm_task task);

/* The same in a word: "TAP", "RE-SCAN", "HAND TOOL", "NO ROOM", "OPENED". */
const char *dm_sheet_task_short(dm_task task);
/* A drill is meant to be used, if not at once. */
bool dm_sheet_drilled(dm_task task);
/* The stop lies behind the wall. */
bool dm_sheet_allowance(const dm_tap *tap);
/* "DEPTH STOP 6.7 mm (0.26 in)". */
void dm_sheet_say_depth(dm_picture *p, const dm_tap *tap);
/* What the stop is made of: "least wall"; "least wall 6.7 mm (0.26 in) +
 * allowance 3.0 mm (0.12 in)", which add up as printed. */
void dm_sheet_say_basis(dm_picture *p, const dm_tap *tap);
/* What to do at the end of the bit's way. */
void dm_sheet_say_pierce(dm_picture *p, const dm_tap *tap);
/* Why there is no drill; nothing where there is. */
void dm_sheet_say_no_drill(dm_picture *p, const dm_tap *tap);
/* "confirmed"; for neither "neither confirmed nor refuted". */
const char *dm_sheet_outcome(dm_outcome outcome);
bool dm_sheet_two_tapes(const dm_tap *tap);
/* Length between the faces; who adds the tapes as printed is told of the last
 * digit where they do not add up to it. */
void dm_sheet_say_apart(dm_picture *p, const dm_tap *tap);
/* "If both tapes do not meet within 24 mm: STOP, ..."; with both. */
void dm_sheet_say_meet(dm_picture *p, const dm_tap *tap);
/* The same where there is one or none. */
void dm_sheet_say_one_tape(dm_picture *p, const dm_tap *tap);
/* "If they do: mark at the end of the tape from D1-a."; with both. */
void dm_sheet_say_mark(dm_picture *p, const dm_tap *tap);

/* ---- parts of a page ---------------------------------------------------- */

double dm_sheet_head(dm_sheet_page *s, double y, bool draw);
double dm_sheet_elevation(dm_sheet_page *s, double y, bool draw);
/* One tap: section, measures, what to fill in. */
double dm_sheet_card(dm_sheet_page *s, const dm_tap *tap, double y, bool draw);
/* The section with its dial; width: of the column, mm. */
double dm_sheet_dial(dm_sheet_page *s, const dm_tap *tap, double x, double y,
                     double width, bool draw);
/* Cautions, signatures, origin. */
double dm_sheet_foot(dm_sheet_page *s, double y, bool draw);

/* ---- sheet_index.c ------------------------------------------------------- */

/* Draws, or only measures, a page of the index from tour->stops[from] on;
 * returns the first stop of the next one. */
size_t dm_sheet_index(dm_sheet_page *s, size_t from, bool draw);

/* ---- sheet_found.c ------------------------------------------------------- */

/* As dm_sheet_index, of tour->opened. */
size_t dm_sheet_found(dm_sheet_page *s, size_t from, bool draw);

/* ---- sheet_set_out.c ----------------------------------------------------- */

/* A tap's set-out as lines of text, appended to p->say: steps 1 to 7 and the
 * warnings of its page; no line end behind the last. */
void dm_sheet_say_set_out(dm_picture *p, const dm_tap *tap);

/* ---- sheet_label.c ------------------------------------------------------- */

/* As dm_sheet_index: a page of labels. */
size_t dm_sheet_labels(dm_sheet_page *s, size_t from, bool draw);

#endif
