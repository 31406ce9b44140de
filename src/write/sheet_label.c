/* SPDX-License-Identifier: MIT
 * Labels to stick on the duct beside a tap, two across, with cut lines; as high
 * as what they say: no warning is cut to keep the grid. The code holds the
 * whole set-out as plain text, for those who come later. A label is not the
 * mark. */
#include <math.h>

#include "draw/qr.h"
#include "write/sheet.h"

#define BLACK 0x000000
#define ACROSS 2
#define BAR 6.6 /* mm, as those below */
/* Of a module, at least, as far as CODE_MOST allows: a smaller one is not read
 * from a print at 150 dpi. */
#define MODULE 0.508
#define CODE_LEAST 42.0 /* with its quiet zone */
#define CODE_MOST 60.0

typedef struct {
    dm_sheet_page *s;
    dm_picture *p;
    const dm_tap *tap;
    dm_task task;
    double x, y, width; /* of the words at hand; y: next baseline */
    bool draw;
} label;

/* What was said, broken into lines: a number is never cut. */
static void put(label *l, const dm_type *type)
{
    l->y += dm_paper_words(&l->s->paper, l->x, l->y, l->width, type, l->draw);
    dm_say_clear(l->p);
}

/* ---- the code ------------------------------------------------------------ */

static double code_side(const dm_qr *qr)
{
    return fmin(fmax(MODULE * (double)(qr->size + 2 * DM_QR_QUIET), CODE_LEAST),
                CODE_MOST);
}

/* In the upper right corner; without memory or if the set-out is too long for
 * one there is none. Returns its side. */
static double put_code(label *l, double right, double y)
{
    double side = CODE_LEAST;
    dm_status status;
    dm_qr qr;

    dm_say_clear(l->p);
    dm_sheet_say_set_out(l->p, l->tap);
    status = dm_qr_make(dm_said(l->p), &qr);
    dm_say_clear(l->p);
    if (status == DM_NOMEM)
        l->p->say.failed = true;
    if (status == DM_OK) {
        side = code_side(&qr);
        if (l->draw)
            dm_qr_draw(l->p->canvas, &qr, right - side, y, side);
    } else {
        dm_canvas_text_block(l->p->canvas, right - side + 1.0, y + 12.0,
                             side - 3.0,
                             "No code: the set-out is too long for one.",
                             &dm_sheet_text, l->draw);
    }
    dm_qr_free(&qr);
    return side;
}

/* ---- where ----------------------------------------------------------------
 */

static void put_tape(label *l, const dm_tape *tape, bool back)
{
    dm_picture *p = l->p;

    if (tape->face == DM_NONE) {
        dm_say(p, back ? "no face on the back side" : "no face ahead");
    } else {
        dm_say(p, p->tendon->faces[tape->face].id);
        dm_say(p, back ? " \xe2\x86\x92" : " \xe2\x86\x90");
        /* On a line of its own: beside the code a number would lose its
         * unit. */
        put(l, &dm_sheet_strong);
        if (p->us)
            dm_say_length(p, tape->distance, false);
        else
            dm_say_small(p, tape->distance);
    }
    put(l, &dm_sheet_strong);
}

/* "ahead LEFT to 10:30". */
static void put_clock(label *l, bool ahead)
{
    dm_picture *p = l->p;

    dm_say(p, ahead ? "ahead " : "back ");
    if (!dm_sheet_on_line(l->tap))
        dm_say(p, (l->tap->around > 0.0) == ahead ? "RIGHT to " : "LEFT to ");
    dm_say_clock(p, ahead ? l->tap->clock : l->tap->clock_back);
    put(l, &dm_sheet_strong);
}

static void put_place(label *l)
{
    dm_picture *p = l->p;
    const dm_type id = {.size = 20.0, .bold = true};

    if (l->draw)
        dm_canvas_text_fit(p->canvas, l->x, l->y + 3.0, l->width, p->tendon->id,
                           &id);
    l->y += 8.2;
    dm_sheet_say_tap(p, l->tap);
    put(l, &dm_sheet_strong);
    dm_say(p, "on the line ");
    dm_say_clock(p, l->tap->line);
    dm_say(p, ":");
    put(l, &dm_sheet_text);
    put_tape(l, &l->tap->back, true);
    put_tape(l, &l->tap->ahead, false);
    dm_say(p, "round it ");
    if (p->us)
        dm_sheet_say_eighths(p, fabs(l->tap->around));
    else
        dm_say_small(p, fabs(l->tap->around));
    put(l, &dm_sheet_text);
    put_clock(l, true);
    put_clock(l, false);
}

/* ---- what -----------------------------------------------------------------
 */

/* What to do, over the whole width, with the pattern of the sheets. */
static void put_bar(label *l)
{
    static const char *const order[] = {
        "", "RE-SCAN BY HAND: NO HOLE", "HAND TOOL ONLY: NO DRILL",
        "NO ROOM: ASK THE ENGINEER", "OPENED: NO SECOND HOLE"};
    dm_canvas *c = l->p->canvas;
    dm_look bar = dm_sheet_look(l->task), plate = dm_fill_look(0xffffff);
    dm_type type = {
        .size = DM_SHEET_TEXT, .bold = true, .align = DM_ALIGN_CENTRE};
    double y = l->y - 3.6, middle = l->x + 0.5 * l->width, wide;

    l->y += BAR + 1.6;
    if (!l->draw)
        return;
    dm_say(l->p, order[l->task]);
    if (l->task == DM_TASK_TAP) {
        dm_sheet_say_depth(l->p, l->tap);
        type.colour = 0xffffff;
    }
    dm_canvas_rect(c, l->x, y, l->width, BAR, &bar);
    wide = dm_canvas_text_width(c, dm_said(l->p), &type);
    if (l->task != DM_TASK_TAP)
        dm_canvas_rect(c, middle - 0.5 * wide - 1.5, y + 0.8, wide + 3.0, 5.0,
                       &plate);
    dm_canvas_text(c, middle, y + 4.7, dm_said(l->p), &type);
    dm_say_clear(l->p);
}

static void put_order(label *l)
{
    dm_picture *p = l->p;

    if (l->task == DM_TASK_TAP) {
        dm_say(p, "= ");
        dm_sheet_say_basis(p, l->tap);
        dm_say(p, "; bit ");
        dm_sheet_say_stop(p, l->tap->bit);
        put(l, &dm_sheet_text);
        dm_sheet_say_pierce(p, l->tap);
    } else {
        dm_sheet_say_no_drill(p, l->tap);
    }
    put(l, &dm_sheet_strong);
    if (dm_sheet_two_tapes(l->tap)) {
        dm_sheet_say_meet(p, l->tap);
        dm_say(p, " ");
        dm_sheet_say_mark(p, l->tap);
    } else {
        dm_sheet_say_one_tape(p, l->tap);
    }
    put(l, &dm_sheet_text);
    if (l->tap->warning[0] != '\0') {
        dm_say(p, "WARNING: ");
        dm_say(p, l->tap->warning);
        put(l, &dm_sheet_strong);
    }
}

/* Draws, or only measures; returns its height. */
static double put_label(dm_sheet_page *s, const dm_tap *tap, double x, double y,
                        double width, bool draw)
{
    label l = {.s = s, .p = &s->paper.picture, .tap = tap, .draw = draw};
    double side = put_code(&l, x + width - 0.5, y + 0.5);

    l.task = dm_sheet_task(l.p, tap);
    l.x = x + 2.5;
    l.y = y + 5.0;
    l.width = width - side - 4.0;
    put_place(&l);
    l.y = fmax(l.y, y + side + 4.0);
    l.width = width - 5.0;
    put_bar(&l);
    put_order(&l);
    return l.y - 2.0 - y;
}

static void put_cut(dm_sheet_page *s, double x, double y, double width,
                    double high)
{
    dm_look cut = dm_line_look(0x606060, 0.15, DM_DASH_DASHED);

    dm_canvas_rect(s->paper.picture.canvas, x, y, width, high, &cut);
}

/* Those of one row from stops[from] on; returns the height of the highest. */
static double put_row(dm_sheet_page *s, size_t from, double y, double width,
                      bool draw)
{
    double high = 0.0;
    size_t i;

    for (i = from; i < s->tour->stop_count && i < from + ACROSS; i++) {
        const dm_sheet_stop *stop = &s->tour->stops[i];
        double own;

        dm_sheet_choose(s, stop->tendon);
        own = put_label(s, &s->paper.picture.taps->items[stop->item],
                        s->paper.left + width * (double)(i - from), y, width,
                        draw);
        high = fmax(high, own);
    }
    return high;
}

size_t dm_sheet_labels(dm_sheet_page *s, size_t from, bool draw)
{
    double width = (s->paper.right - s->paper.left) / ACROSS;
    double end = s->paper.page_height - DM_PAPER_MARGIN, y = DM_PAPER_MARGIN;
    size_t i, k;

    for (i = from; i < s->tour->stop_count; i += ACROSS) {
        double high = put_row(s, i, y, width, false);

        /* One row at least: the first always has room. */
        if (i > from && y + high > end)
            break;
        put_row(s, i, y, width, draw);
        for (k = i; draw && k < s->tour->stop_count && k < i + ACROSS; k++)
            put_cut(s, s->paper.left + width * (double)(k - i), y, width, high);
        y += high;
    }
    return i < s->tour->stop_count ? i : s->tour->stop_count;
}
