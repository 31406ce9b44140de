/* SPDX-License-Identifier: MIT
 * The index: every tap in the order in which a crew walks, with the page of its
 * sheet and a box to tick. Parts and tendons are named again on each page. */
#include <math.h>

#include "write/sheet.h"

#define BLACK 0x000000
#define ROW 5.8 /* mm */

static const dm_type text = {.size = DM_SHEET_TEXT};
static const dm_type strong = {.size = DM_SHEET_TEXT, .bold = true};
static const dm_type right = {.size = DM_SHEET_TEXT, .align = DM_ALIGN_RIGHT};

/* x of the columns from the left margin, mm. */
enum { ID = 8, ADVICE = 49, STATION = 78, TAPE = 113 };

static double put_head(dm_sheet_page *s, double y, bool draw)
{
    dm_picture *p = &s->paper.picture;
    size_t count[DM_TASK_COUNT] = {0}, i;
    double at = y + 15.0;

    for (i = 0; i < s->tour->stop_count; i++) {
        const dm_sheet_stop *stop = &s->tour->stops[i];

        dm_sheet_choose(s, stop->tendon);
        count[dm_sheet_task(p, &p->taps->items[stop->item])]++;
    }
    if (draw)
        dm_sheet_put_title(s, "Tap points in walking order", y);
    dm_sheet_say_origin(p);
    dm_buf_printf(&p->say,
                  "%zu to TAP, %zu to RE-SCAN by hand (no hole), %zu for the "
                  "HAND TOOL (no drill), %zu without ROOM for a drill (ask the "
                  "engineer), %zu OPENED before. Each has a sheet: "
                  "take it along and work from it, not from this list.",
                  count[DM_TASK_TAP], count[DM_TASK_RESCAN],
                  count[DM_TASK_HAND_TOOL], count[DM_TASK_NO_ROOM],
                  count[DM_TASK_NONE]);
    if (s->tour->opened_count > 0)
        dm_say(p, " All that was opened stands behind this list.");
    at += dm_paper_words(&s->paper, s->paper.left, at,
                         s->paper.right - s->paper.left, &text, draw);
    return at - y;
}

static void put_columns(dm_sheet_page *s, double y)
{
    dm_canvas *c = s->paper.picture.canvas;
    dm_look line = dm_line_look(BLACK, 0.4, DM_DASH_SOLID);
    bool known = s->paper.picture.delivery->model->alignment != NULL;
    double x = s->paper.left;

    dm_canvas_text(c, x + ID, y, "tap", &text);
    dm_canvas_text(c, x + ADVICE, y, "what to do", &text);
    dm_canvas_text(c, x + STATION, y, known ? "bridge st." : "tendon st.",
                   &text);
    dm_canvas_text(c, x + TAPE, y, "tape to the mark", &text);
    dm_canvas_text(c, s->paper.right, y, "page", &right);
    dm_canvas_line(c, x, y + 1.4, s->paper.right, y + 1.4, &line);
}

static void put_part(dm_sheet_page *s, size_t part, double y)
{
    const dm_model *m = s->paper.picture.delivery->model;
    const dm_type type = {.size = 13.0, .bold = true};
    dm_look bar = dm_fill_look(0xe0e0e0);

    dm_canvas_rect(s->paper.picture.canvas, s->paper.left, y - 4.6,
                   s->paper.right - s->paper.left, ROW + 0.6, &bar);
    dm_canvas_text_fit(s->paper.picture.canvas, s->paper.left + 2.0, y,
                       s->paper.right - s->paper.left - 4.0,
                       part < m->part_count ? dm_sheet_name(m->parts[part].name,
                                                            m->parts[part].id)
                                            : "no part named",
                       &type);
}

static void put_tendon(dm_sheet_page *s, double y)
{
    dm_picture *p = &s->paper.picture;

    dm_say_clear(p);
    dm_sheet_say_tendon(p);
    dm_canvas_text_fit(p->canvas, s->paper.left, y,
                       s->paper.right - s->paper.left, dm_said(p), &strong);
}

static void put_tap(dm_sheet_page *s, const dm_tap *tap, size_t page, double y)
{
    dm_picture *p = &s->paper.picture;
    dm_look box = dm_line_look(BLACK, 0.4, DM_DASH_SOLID);
    dm_task task = dm_sheet_task(p, tap);
    dm_look look = dm_sheet_look(task);
    const dm_tape *tape =
        tap->mark_face == tap->ahead.face ? &tap->ahead : &tap->back;
    double x = s->paper.left;

    dm_canvas_rect(p->canvas, x + 1.5, y - 3.4, 3.8, 3.8, &box);
    dm_say_clear(p);
    dm_sheet_say_tap(p, tap);
    dm_canvas_text_fit(p->canvas, x + ID, y, ADVICE - ID - 7.0, dm_said(p),
                       &text);
    look.width = 0.3;
    dm_canvas_rect(p->canvas, x + ADVICE - 5.5, y - 3.6, 4.2, 4.2, &look);
    dm_canvas_text(p->canvas, x + ADVICE, y, dm_sheet_task_short(task),
                   &strong);
    dm_say_clear(p);
    dm_say_length(p, tap->bridge.known ? tap->bridge.shown : tap->t, true);
    dm_canvas_text_fit(p->canvas, x + STATION, y, TAPE - STATION - 1.0,
                       dm_said(p), &text);
    dm_say_clear(p);
    if (tape->face == DM_NONE) {
        dm_say(p, "no face can be touched");
    } else {
        dm_say(p, p->tendon->faces[tape->face].id);
        dm_say(p, tape == &tap->back ? " going AHEAD " : " going BACK ");
        if (p->us)
            dm_say_length(p, tape->distance, false);
        else
            dm_say_small(p, tape->distance);
    }
    dm_canvas_text_fit(p->canvas, x + TAPE, y, s->paper.right - x - TAPE - 10.0,
                       dm_said(p), &text);
    dm_say_clear(p);
    dm_buf_printf(&p->say, "%zu", page);
    dm_canvas_text(p->canvas, s->paper.right, y, dm_said(p), &right);
}

size_t dm_sheet_index(dm_sheet_page *s, size_t from, bool draw)
{
    const dm_sheet_tour *t = s->tour;
    double end = s->paper.page_height - DM_PAPER_MARGIN, y;
    size_t i, tendon = DM_NONE, part = DM_NONE - 1;

    dm_sheet_choose(s, t->stops[from].tendon);
    y = DM_PAPER_MARGIN + put_head(s, DM_PAPER_MARGIN, draw) + 2.0;
    if (draw)
        put_columns(s, y);
    y += ROW + 1.5;
    for (i = from; i < t->stop_count; i++) {
        const dm_sheet_stop *stop = &t->stops[i];
        bool new_part = stop->part != part;
        double high = ROW + (stop->tendon != tendon ? ROW + 1.0 : 0.0) +
                      (new_part ? ROW + 2.5 : 0.0);

        if (i > from && y + high > end)
            break;
        dm_sheet_choose(s, stop->tendon);
        if (new_part) {
            part = stop->part;
            if (draw)
                put_part(s, part, y + 1.5);
            y += ROW + 2.5;
        }
        if (stop->tendon != tendon) {
            tendon = stop->tendon;
            y += 1.0;
            if (draw)
                put_tendon(s, y);
            y += ROW;
        }
        if (draw)
            put_tap(s, &s->paper.picture.taps->items[stop->item],
                    t->page[stop->tendon][stop->item], y);
        y += ROW;
    }
    return i;
}
