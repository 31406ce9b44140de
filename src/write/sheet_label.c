/* SPDX-License-Identifier: MIT
 * Labels to stick on the duct beside a tap, two across and five down a page,
 * with cut lines; the code holds the whole set-out as plain text, for those who
 * come later. A label is not the mark. */
#include <math.h>

#include "draw/qr.h"
#include "write/sheet.h"

#define BLACK 0x000000
#define ACROSS 2
#define DOWN 5
#define CODE 42.0 /* mm, with its quiet zone */

static const dm_type text = {.size = DM_SHEET_TEXT};
static const dm_type strong = {.size = DM_SHEET_TEXT, .bold = true};

/* ---- the set-out as text
 * ----------------------------------------------------- */

static void say_tape(dm_picture *p, const dm_tape *tape, const char *way)
{
    if (tape->face == DM_NONE) {
        dm_buf_printf(&p->say, "no face, going %s\n", way);
        return;
    }
    dm_say(p, "face ");
    dm_say(p, p->tendon->faces[tape->face].id);
    dm_buf_printf(&p->say, " going %s ", way);
    dm_sheet_say_tape(p, tape->distance);
    dm_say(p, " +- ");
    dm_say_small(p, p->k * tape->u);
    dm_say(p, "\n");
}

/* "45 mm (1 3/4 in) LEFT". */
static void say_around(dm_picture *p, const dm_tap *tap)
{
    dm_sheet_say_arc(p, tap->around);
    if (!dm_sheet_on_line(tap))
        dm_say(p, tap->around > 0.0 ? " RIGHT" : " LEFT");
}

static void say_point(dm_picture *p, dm_vec3 at)
{
    dm_say(p, "x y z ");
    dm_buf_fixed(&p->say, at.x, 3);
    dm_say(p, " ");
    dm_buf_fixed(&p->say, at.y, 3);
    dm_say(p, " ");
    dm_buf_fixed(&p->say, at.z, 3);
    dm_say(p, " m\n");
}

void dm_sheet_say_set_out(dm_picture *p, const dm_tap *tap)
{
    const dm_model *m = p->delivery->model;
    const char *tag = dm_external_find(&p->tendon->external, "field-tag");

    dm_say(p, "Tap ");
    dm_sheet_say_tap(p, tap);
    dm_say(p, "\nbridge ");
    dm_say(p, m->id);
    dm_say(p, ", tendon ");
    dm_say(p, p->tendon->id);
    if (tag != NULL) {
        dm_say(p, ", tag ");
        dm_say(p, tag);
    }
    dm_say(p, "\n");
    dm_say(p, dm_sheet_task_text(dm_sheet_task(p, tap)));
    dm_say(p, "\ntape line ");
    dm_say_clock(p, tap->line);
    dm_say(p, "\n");
    say_tape(p, &tap->back, "AHEAD");
    say_tape(p, &tap->ahead, "BACK");
    if (isfinite(tap->faces_apart)) {
        dm_say(p, "faces apart ");
        dm_sheet_say_tape(p, tap->faces_apart);
        dm_say(p, "\n");
    }
    dm_say(p, "round the duct, looking ahead ");
    say_around(p, tap);
    dm_say(p, "\nlooking ahead ");
    dm_say_clock(p, tap->clock);
    dm_say(p, ", looking back ");
    dm_say_clock(p, tap->clock_back);
    if (dm_sheet_task(p, tap) == DM_TASK_TAP ||
        dm_sheet_task(p, tap) == DM_TASK_NO_ROOM) {
        dm_say(p, "\nDEPTH STOP ");
        dm_sheet_say_stop(p, tap->depth_stop);
    }
    dm_say(p, "\n");
    say_point(p, tap->surface);
    dm_say(p, "job of ");
    dm_say(p, p->delivery->job->date);
}

/* ---- one label
 * ---------------------------------------------------------------- */

/* The code; false: the set-out is too long for one. */
static bool put_code(dm_sheet_page *s, const dm_tap *tap, double x, double y)
{
    dm_picture *p = &s->paper.picture;
    dm_qr qr;
    dm_status status;

    dm_say_clear(p);
    dm_sheet_say_set_out(p, tap);
    status = dm_qr_make(dm_said(p), &qr);
    if (status == DM_NOMEM)
        p->say.failed = true;
    if (status == DM_OK)
        dm_qr_draw(p->canvas, &qr, x, y, CODE);
    dm_qr_free(&qr);
    return status == DM_OK;
}

static void put_tape(dm_sheet_page *s, const dm_tape *tape, bool back, double x,
                     double y, double width)
{
    dm_picture *p = &s->paper.picture;

    dm_say_clear(p);
    if (tape->face == DM_NONE) {
        dm_say(p, back ? "no face on the back side" : "no face ahead");
    } else {
        dm_say(p, p->tendon->faces[tape->face].id);
        dm_say(p, back ? " \xe2\x86\x92 " : " \xe2\x86\x90 ");
        if (p->us)
            dm_say_length(p, tape->distance, false);
        else
            dm_say_small(p, tape->distance);
    }
    dm_canvas_text_fit(p->canvas, x, y, width, dm_said(p), &strong);
}

/* "ahead LEFT to 10:30". */
static void put_clock(dm_sheet_page *s, const dm_tap *tap, bool ahead, double x,
                      double y, double width)
{
    dm_picture *p = &s->paper.picture;

    dm_say_clear(p);
    dm_say(p, ahead ? "ahead " : "back ");
    if (!dm_sheet_on_line(tap))
        dm_say(p, (tap->around > 0.0) == ahead ? "RIGHT to " : "LEFT to ");
    dm_say_clock(p, ahead ? tap->clock : tap->clock_back);
    dm_canvas_text_fit(p->canvas, x, y, width, dm_said(p), &strong);
}

static void put_words(dm_sheet_page *s, const dm_tap *tap, double x, double y,
                      double width)
{
    dm_picture *p = &s->paper.picture;
    const dm_type id = {.size = 20.0, .bold = true};
    dm_canvas *c = p->canvas;

    dm_canvas_text_fit(c, x, y + 7.0, width, p->tendon->id, &id);
    dm_say_clear(p);
    dm_sheet_say_tap(p, tap);
    dm_canvas_text_fit(c, x, y + 12.0, width, dm_said(p), &strong);
    dm_say_clear(p);
    dm_say(p, "on the line ");
    dm_say_clock(p, tap->line);
    dm_say(p, ":");
    dm_canvas_text_fit(c, x, y + 17.2, width, dm_said(p), &text);
    put_tape(s, &tap->back, true, x, y + 21.8, width);
    put_tape(s, &tap->ahead, false, x, y + 26.4, width);
    dm_say_clear(p);
    dm_say(p, "round it ");
    if (p->us)
        dm_sheet_say_eighths(p, fabs(tap->around));
    else
        dm_say_small(p, fabs(tap->around));
    dm_canvas_text_fit(c, x, y + 31.6, width, dm_said(p), &text);
    put_clock(s, tap, true, x, y + 36.2, width);
    put_clock(s, tap, false, x, y + 40.8, width);
}

/* What to do, over the whole width, with the pattern of the sheets. */
static void put_bar(dm_sheet_page *s, const dm_tap *tap, double x, double y,
                    double width)
{
    static const char *const order[] = {
        "", "RE-SCAN BY HAND: NO HOLE", "HAND TOOL ONLY: NO DRILL",
        "NO ROOM: ASK THE ENGINEER", "OPENED: NO SECOND HOLE"};
    dm_picture *p = &s->paper.picture;
    dm_task task = dm_sheet_task(p, tap);
    dm_look bar = dm_sheet_look(task), plate = dm_fill_look(0xffffff);
    dm_type type = {
        .size = DM_SHEET_TEXT, .bold = true, .align = DM_ALIGN_CENTRE};
    double wide;

    dm_say_clear(p);
    dm_say(p, order[task]);
    if (task == DM_TASK_TAP) {
        dm_say(p, "DEPTH STOP ");
        dm_sheet_say_stop(p, tap->depth_stop);
        type.colour = 0xffffff;
    }
    dm_canvas_rect(p->canvas, x, y, width, 6.6, &bar);
    wide = dm_canvas_text_width(p->canvas, dm_said(p), &type);
    if (task != DM_TASK_TAP)
        dm_canvas_rect(p->canvas, x + 0.5 * (width - wide) - 1.5, y + 0.8,
                       wide + 3.0, 5.0, &plate);
    dm_canvas_text(p->canvas, x + 0.5 * width, y + 4.7, dm_said(p), &type);
}

static void put_label(dm_sheet_page *s, const dm_tap *tap, double x, double y,
                      double width, double high)
{
    dm_look cut = dm_line_look(0x606060, 0.15, DM_DASH_DASHED);

    dm_canvas_rect(s->paper.picture.canvas, x, y, width, high, &cut);
    put_words(s, tap, x + 2.5, y + 1.0, width - CODE - 4.0);
    if (!put_code(s, tap, x + width - CODE - 0.5, y + 0.5))
        dm_canvas_text_block(
            s->paper.picture.canvas, x + width - CODE, y + 12.0, CODE - 2.0,
            "No code: the set-out is too long for one.", &text, true);
    put_bar(s, tap, x + 2.5, y + high - 8.0, width - 5.0);
}

size_t dm_sheet_labels(dm_sheet_page *s, size_t from)
{
    const dm_sheet_tour *t = s->tour;
    double width = (s->paper.right - s->paper.left) / ACROSS;
    double high = (s->paper.page_height - 2.0 * DM_PAPER_MARGIN) / DOWN;
    size_t i;

    for (i = from; i < t->stop_count && i < from + ACROSS * DOWN; i++) {
        const dm_sheet_stop *stop = &t->stops[i];
        size_t k = i - from;

        dm_sheet_choose(s, stop->tendon);
        put_label(s, &s->paper.picture.taps->items[stop->tap],
                  s->paper.left + width * (double)(k % ACROSS),
                  DM_PAPER_MARGIN + high * (double)(k / ACROSS), width, high);
    }
    return i;
}
