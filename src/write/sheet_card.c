/* SPDX-License-Identifier: MIT
 * One tap: what to do in the order in which it is done, each number with the
 * section beside it, and places for what was found. What must not be drilled
 * has no stop, no bit and another bar above it. */
#include <math.h>

#include "write/sheet.h"

#define BLACK 0x000000
#define BAR 9.0   /* mm */
#define DIAL 67.0 /* mm, of the left column */

static const dm_type text = {.size = DM_SHEET_TEXT,
                             .leading = DM_SHEET_LEADING};
static const dm_type strong = {
    .size = DM_SHEET_TEXT, .bold = true, .leading = DM_SHEET_LEADING};
static const dm_type big = {.size = 14.0, .bold = true};
static const dm_type large = {.size = 12.5, .bold = true};

typedef struct {
    dm_sheet_page *s;
    dm_picture *p;
    const dm_tap *tap;
    double x, y, width; /* of the column of words; y: next baseline */
    dm_task task;
    int step;
    bool draw;
} card;

/* ---- title ----------------------------------------------------------------
 */

static void put_bar(const card *c, double y)
{
    dm_sheet_page *s = c->s;
    dm_canvas *canvas = c->p->canvas;
    dm_look bar = dm_sheet_look(c->task), plate = dm_fill_look(0xffffff);
    dm_type id = {.size = 17.0, .bold = true},
            word = {.size = 13.0, .bold = true};
    const char *advice = dm_sheet_task_text(c->task);
    double width = s->paper.right - s->paper.left, wide;
    bool drill = c->task == DM_TASK_TAP;

    dm_canvas_rect(canvas, s->paper.left, y, width, BAR, &bar);
    id.colour = word.colour = drill ? 0xffffff : BLACK;
    word.align = DM_ALIGN_RIGHT;
    wide = fmin(dm_canvas_text_width(canvas, c->tap->id, &id), 80.0);
    if (!drill) {
        double w = dm_canvas_text_width(canvas, advice, &word);

        dm_canvas_rect(canvas, s->paper.left + 2.0, y + 1.0, wide + 4.0,
                       BAR - 2.0, &plate);
        dm_canvas_rect(canvas, s->paper.right - w - 5.0, y + 1.0, w + 4.0,
                       BAR - 2.0, &plate);
    }
    dm_canvas_text_fit(canvas, s->paper.left + 4.0, y + 6.9, 80.0, c->tap->id,
                       &id);
    dm_canvas_text(canvas, s->paper.right - 3.0, y + 6.4, advice, &word);
}

/* ---- words ------------------------------------------------------------------
 */

/* What was said, indented behind the step's number. */
static void put(card *c, const dm_type *type)
{
    if (type->size > DM_SHEET_TEXT)
        c->y += 0.6;
    c->y += dm_paper_words(&c->s->paper, c->x + 8.0, c->y, c->width - 8.0, type,
                           c->draw);
}

/* The next number, in a ring, at the line at hand. */
static void next(card *c)
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

static void put_tape(card *c, const dm_tape *tape, dm_side side)
{
    dm_picture *p = c->p;

    next(c);
    if (tape->face == DM_NONE) {
        dm_say(p, side == DM_SIDE_BACK ? "No face to tape from on the back "
                                         "side."
                                       : "No face to tape from on the ahead "
                                         "side.");
        put(c, &text);
        return;
    }
    dm_say(p, "from ");
    dm_sheet_say_face(p, tape->face);
    dm_say(p, side == DM_SIDE_BACK ? ", going AHEAD:" : ", going BACK:");
    put(c, &text);
    dm_say_clear(p);
    dm_sheet_say_tape(p, tape->distance);
    dm_say_bound(p, tape->u);
    put(c, &big);
}

static void put_sum(card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;
    bool back = t->back.face != DM_NONE, ahead = t->ahead.face != DM_NONE;

    next(c);
    if (!back || !ahead) {
        dm_say(p, !back && !ahead
                      ? "No face can be touched: do NOT set out from here."
                      : "One tape only, no check by a second face: two people "
                        "measure, each for himself.");
        put(c, &strong);
        return;
    }
    dm_say(p, "Faces apart ");
    dm_sheet_say_tape(p, t->faces_apart);
    dm_say(p, ".");
    put(c, &text);
    dm_say_clear(p);
    dm_say(p, "If both tapes do not meet within ");
    dm_say_small(p, p->k * (t->back.u + t->ahead.u));
    dm_say(p, ": STOP, wrong face or wrong line.");
    put(c, &strong);
    dm_say_clear(p);
    dm_say(p, c->task == DM_TASK_RESCAN
                  ? "If they do: scan about the end of the tape from "
                  : "If they do: mark at the end of the tape from ");
    dm_say(p, p->tendon->faces[t->mark_face].id);
    dm_say(p, ".");
    put(c, &text);
}

static void put_around(card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    next(c);
    if (dm_sheet_on_line(t)) {
        dm_say(p, "Round the duct 0 mm: on the tape line");
        put(c, &strong);
    } else {
        dm_say(p, "Round the duct ");
        dm_sheet_say_arc(p, t->around);
        put(c, &large);
        dm_say_clear(p);
        dm_say(p, t->around > 0.0
                      ? "to the RIGHT looking ahead = LEFT looking back"
                      : "to the LEFT looking ahead = RIGHT looking back");
        put(c, &strong);
    }
    next(c);
    dm_say(p, "looking ahead ");
    dm_say_clock(p, t->clock);
    dm_say(p, " / looking back ");
    dm_say_clock(p, t->clock_back);
    put(c, &large);
}

static void put_drill(card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    next(c);
    if (c->task == DM_TASK_TAP) {
        dm_say(p, "DEPTH STOP ");
        dm_sheet_say_stop(p, t->depth_stop);
        put(c, &big);
        dm_say_clear(p);
        dm_say(p, "square to the duct, from its outside; bit ");
        dm_sheet_say_stop(p, t->bit);
        dm_say(p, ". Pierce the last of the wall by hand tool.");
        if (t->wall_assumed)
            dm_say(p, " The least wall is not documented, the nominal one "
                      "was taken: measure the wall first.");
        put(c, &text);
    } else if (c->task == DM_TASK_RESCAN) {
        dm_say(p, "No hole yet. Scan this length again by hand, all round; "
                  "the mark is only its middle.");
        put(c, &strong);
    } else if (c->task == DM_TASK_NONE) {
        const dm_as_found *o = dm_sheet_opened(p, t);

        dm_say(p, "Opened");
        if (o->what.date != NULL) {
            dm_say(p, " on ");
            dm_say(p, o->what.date);
        }
        dm_say(p, ": found ");
        dm_say(p, dm_finding_text(o->what.found));
        dm_say(p, ". No second hole but on the engineer's word.");
        put(c, &strong);
    } else {
        dm_say(p, "No drill. Hand tool, through the wall only (least wall ");
        dm_sheet_say_stop(p, t->wall_min);
        dm_say(p, "), with the engineer present.");
        put(c, &strong);
    }
}

static const dm_indication *indication_of(const card *c)
{
    return c->p->found != NULL && c->tap->indication < c->p->found->count
               ? &c->p->found->items[c->tap->indication]
               : NULL;
}

/* Room for the drill, where it is known. */
static void put_room(card *c, const dm_clearance *room)
{
    dm_picture *p = c->p;

    if (!room->known || c->task != DM_TASK_TAP)
        return;
    dm_say_clear(p);
    if (room->room != DM_ROOM_NONE) {
        dm_say(p, "The drill has room");
        if (isfinite(room->free)) {
            dm_say(p, ", free along its axis ");
            dm_sheet_say_tape(p, room->free);
        }
        dm_say(p, ", as drawn.");
        put(c, &text);
        return;
    }
    dm_say(p, "NO ROOM FOR THE DRILL");
    if (room->nearest != NULL) {
        dm_say(p, ": ");
        dm_sheet_say_name(p, room->nearest);
        dm_say(p, " is in the way");
    }
    dm_say(p, ".");
    if (room->other) {
        dm_say(p, " Ask the engineer about ");
        dm_say_clock(p, room->other_clock);
        dm_say(p, " looking ahead: room, chance to enter ");
        dm_sheet_say_chance(p, room->other_p_enter);
        dm_say(p, ".");
    }
    put(c, &strong);
}

/* What is expected behind the wall; over the whole width. */
static void put_facts(card *c)
{
    const dm_tap *t = c->tap;
    const dm_indication *i = indication_of(c);
    dm_picture *p = c->p;

    dm_say_clear(p);
    dm_say(p, "Indicated: ");
    if (i == NULL)
        dm_say(p, "nothing, requested by the job.");
    else {
        dm_say(p, dm_kind_text(i->kind));
        if (isfinite(t->p_kind)) {
            dm_say(p, ", chance that it is one ");
            dm_sheet_say_chance(p, t->p_kind);
        }
        dm_say(p, ".");
        if (c->task == DM_TASK_TAP && isfinite(t->p_enter)) {
            dm_say(p, " Chance to enter, if it is one: ");
            dm_say(p, t->turned ? "" : "at least ");
            dm_sheet_say_chance(p, t->p_enter);
            dm_say(p, ".");
        }
    }
    if (isfinite(t->strand_gap)) {
        dm_say(p, " Strands expected ");
        dm_sheet_say_stop(p, fmax(t->strand_gap, 0.0));
        dm_say(p, " behind the wall, at least ");
        dm_sheet_say_stop(p, fmax(t->strand_gap_low, 0.0));
        dm_say(p, ": never a depth to drill to.");
    }
    put(c, &text);
    put_room(c, &t->clearance);
    dm_say_clear(p);
    if (t->warning[0] != '\0') {
        dm_say(p, "WARNING: ");
        dm_say(p, t->warning);
        put(c, &strong);
        dm_say_clear(p);
    }
    if (c->s->tight > 0)
        return;
    dm_say(p, "Why here: ");
    dm_say(p, t->why);
    if (t->bridge.known) {
        dm_say(p, ". Bridge station ");
        dm_say_length(p, t->bridge.shown, true);
    }
    dm_say(p, ".");
    put(c, &text);
}

/* ---- what was found
 * ---------------------------------------------------------- */

static double put_fields(const card *c, double y)
{
    static const char *const drilled[2][4] = {
        {"As found: void depth", "water", "strand touched", "time"},
        {"Soft, wet, dry?", "photo no.", "plugged", "by"}};
    static const char *const scanned[2][4] = {
        {"Found again from", "to", "of face", "turn made"},
        {"Clock from", "to", "photo no.", "by"}};
    dm_sheet_page *s = c->s;
    dm_canvas *canvas = c->p->canvas;
    dm_look frame = dm_line_look(BLACK, 0.3, DM_DASH_SOLID);
    double width = s->paper.right - s->paper.left;
    static const double share[] = {0.36, 0.2, 0.25, 0.19};
    size_t row, k;

    for (row = 0; c->draw && row < 2; row++) {
        double x = s->paper.left, at = y + s->field * (double)row;

        for (k = 0; k < 4; k++) {
            dm_canvas_rect(canvas, x, at, width * share[k], s->field, &frame);
            dm_canvas_text(canvas, x + 1.2, at + 5.0,
                           c->task == DM_TASK_RESCAN ? scanned[row][k]
                                                     : drilled[row][k],
                           &text);
            x += width * share[k];
        }
    }
    return 2.0 * s->field;
}

double dm_sheet_card(dm_sheet_page *s, const dm_tap *tap, double y, bool draw)
{
    card c = {.s = s, .p = &s->paper.picture, .tap = tap, .draw = draw};
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
    put(&c, &strong);
    put_tape(&c, &tap->back, DM_SIDE_BACK);
    put_tape(&c, &tap->ahead, DM_SIDE_AHEAD);
    put_sum(&c);
    put_around(&c);
    put_drill(&c);
    c.y = fmax(top + dial, c.y - 3.6) + 3.6;
    c.x = s->paper.left - 8.0;
    c.width = s->paper.right - c.x;
    put_facts(&c);
    end = c.y - 3.0 + 0.5;
    return end + put_fields(&c, end) + 3.0 - y;
}
