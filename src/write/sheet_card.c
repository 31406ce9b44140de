/* SPDX-License-Identifier: MIT
 * One tap: what to do in the order in which it is done, each number with the
 * section beside it, and places for what was found. What must not be drilled
 * has no stop, no bit and another bar above it. */
#include <math.h>

#include "write/sheet_card.h"

#define BLACK 0x000000
#define BAR 9.0   /* mm */
#define DIAL 67.0 /* mm, of the left column */

static const dm_type big = {.size = 14.0, .bold = true};
static const dm_type large = {.size = 12.5, .bold = true};

/* ---- title ----------------------------------------------------------------
 */

static void put_bar(const dm_card *c, double y)
{
    dm_sheet_page *s = c->s;
    dm_canvas *canvas = c->p->canvas;
    dm_look bar = dm_sheet_look(c->task), plate = dm_fill_look(0xffffff);
    dm_type id = {.size = 17.0, .bold = true},
            word = {.size = 13.0, .bold = true};
    const char *advice = dm_sheet_task_text(c->task);
    double width = s->paper.right - s->paper.left, wide, room;
    bool drill = c->task == DM_TASK_TAP;

    dm_canvas_rect(canvas, s->paper.left, y, width, BAR, &bar);
    id.colour = word.colour = drill ? 0xffffff : BLACK;
    word.align = DM_ALIGN_RIGHT;
    dm_say_clear(c->p);
    dm_sheet_say_tap(c->p, c->tap);
    room = dm_canvas_text_width(canvas, advice, &word);
    wide = fmin(dm_canvas_text_width(canvas, dm_said(c->p), &id),
                width - room - 14.0);
    if (!drill) {
        dm_canvas_rect(canvas, s->paper.left + 2.0, y + 1.0, wide + 4.0,
                       BAR - 2.0, &plate);
        dm_canvas_rect(canvas, s->paper.right - room - 5.0, y + 1.0, room + 4.0,
                       BAR - 2.0, &plate);
    }
    dm_canvas_text_fit(canvas, s->paper.left + 4.0, y + 6.9, wide + 0.1,
                       dm_said(c->p), &id);
    dm_canvas_text(canvas, s->paper.right - 3.0, y + 6.4, advice, &word);
}

/* ---- words ------------------------------------------------------------------
 */

/* What was said, indented behind the step's number. */
void dm_card_put(dm_card *c, const dm_type *type)
{
    if (type->size > DM_SHEET_TEXT)
        c->y += 0.6;
    c->y += dm_paper_words(&c->s->paper, c->x + 8.0, c->y, c->width - 8.0, type,
                           c->draw);
}

/* The next number, in a ring, at the line at hand. */
static void next(dm_card *c)
{
    static const char *const number[] = {"1", "2", "3", "4", "5",
                                         "6", "7", "8", "9"};
    dm_look ring = dm_line_look(BLACK, 0.4, DM_DASH_SOLID);
    dm_type type = {
        .size = DM_SHEET_TEXT, .bold = true, .align = DM_ALIGN_CENTRE};

    c->y += 1.0;
    if (c->draw) {
        dm_canvas_circle(c->p->canvas, c->x + 3.0, c->y - 1.4, 2.5, &ring);
        dm_canvas_text(c->p->canvas, c->x + 3.0, c->y, number[c->step], &type);
    }
    c->step++;
    dm_say_clear(c->p);
}

static void put_tape(dm_card *c, const dm_tape *tape, dm_side side)
{
    dm_picture *p = c->p;

    next(c);
    if (tape->face == DM_NONE) {
        dm_say(p, side == DM_SIDE_BACK ? "No face to tape from on the back "
                                         "side."
                                       : "No face to tape from on the ahead "
                                         "side.");
        dm_card_put(c, &dm_sheet_text);
        return;
    }
    dm_say(p, "from ");
    dm_sheet_say_face(p, tape->face);
    dm_say(p, side == DM_SIDE_BACK ? ", going AHEAD:" : ", going BACK:");
    dm_card_put(c, &dm_sheet_text);
    dm_say_clear(p);
    dm_sheet_say_tape(p, tape->distance);
    dm_say(p, " \xc2\xb1 ");
    dm_sheet_say_bound(p, p->k * tape->u);
    dm_card_put(c, &big);
}

static void put_sum(dm_card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    next(c);
    if (!dm_sheet_two_tapes(t)) {
        dm_sheet_say_one_tape(p, t);
        dm_card_put(c, &dm_sheet_strong);
        return;
    }
    dm_say(p, "Faces apart ");
    dm_sheet_say_apart(p, t);
    dm_say(p, ".");
    dm_card_put(c, &dm_sheet_text);
    dm_say_clear(p);
    dm_sheet_say_meet(p, t);
    dm_card_put(c, &dm_sheet_strong);
    dm_say_clear(p);
    dm_sheet_say_mark(p, t);
    dm_card_put(c, &dm_sheet_text);
}

static void put_around(dm_card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    next(c);
    if (dm_sheet_on_line(t)) {
        dm_say(p, "Round the duct 0 mm: on the tape line");
        dm_card_put(c, &dm_sheet_strong);
    } else {
        dm_say(p, "Round the duct ");
        dm_sheet_say_arc(p, t->around);
        dm_card_put(c, &large);
        dm_say_clear(p);
        dm_say(p, t->around > 0.0
                      ? "to the RIGHT looking ahead = LEFT looking back"
                      : "to the LEFT looking ahead = RIGHT looking back");
        dm_card_put(c, &dm_sheet_strong);
    }
    next(c);
    dm_say(p, "looking ahead ");
    dm_say_clock(p, t->clock);
    dm_say(p, " / looking back ");
    dm_say_clock(p, t->clock_back);
    dm_card_put(c, &large);
}

static void put_drill(dm_card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;
    bool inside = dm_sheet_allowance(t);

    next(c);
    dm_sheet_say_no_drill(p, t);
    if (c->task != DM_TASK_TAP) {
        dm_say(p, c->task == DM_TASK_NO_ROOM ? " Then:" : "");
        dm_card_put(c, &dm_sheet_strong);
        dm_say_clear(p);
    }
    if (!dm_sheet_drilled(c->task))
        return;
    dm_sheet_say_depth(p, t);
    dm_card_put(c, &big);
    dm_say_clear(p);
    dm_say(p, "= ");
    dm_sheet_say_basis(p, t);
    dm_say(p, ". ");
    if (inside) {
        dm_sheet_say_pierce(p, t);
        dm_card_put(c, &dm_sheet_strong);
        dm_say_clear(p);
    }
    dm_say(p, "Square to the duct, from its outside; bit ");
    dm_sheet_say_stop(p, t->bit);
    dm_say(p, ".");
    if (!inside) {
        dm_say(p, " ");
        dm_sheet_say_pierce(p, t);
    }
    dm_card_put(c, &dm_sheet_text);
}

double dm_sheet_card(dm_sheet_page *s, const dm_tap *tap, double y, bool draw)
{
    dm_card c = {.s = s, .p = &s->paper.picture, .tap = tap, .draw = draw};
    double dial, top = y + BAR + 1.5, end;

    c.task = dm_sheet_task(c.p, tap);
    if (draw)
        put_bar(&c, y);
    dial = dm_sheet_dial(s, tap, s->paper.left, top, DIAL, draw);
    c.x = s->paper.left + DIAL + 2.0;
    c.y = top + 3.6;
    c.width = s->paper.right - c.x;
    next(&c);
    dm_say(c.p, "Tape line: ");
    dm_sheet_say_line(c.p, tap->line);
    dm_card_put(&c, &dm_sheet_strong);
    put_tape(&c, &tap->back, DM_SIDE_BACK);
    put_tape(&c, &tap->ahead, DM_SIDE_AHEAD);
    put_sum(&c);
    put_around(&c);
    put_drill(&c);
    c.y = fmax(top + dial, c.y - 3.6) + 3.6;
    c.x = s->paper.left - 8.0;
    c.width = s->paper.right - c.x;
    dm_card_facts(&c);
    end = c.y - 3.0 + 0.5;
    return end + dm_card_form(&c, end) + 3.0 - y;
}
