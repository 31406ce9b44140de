/* SPDX-License-Identifier: MIT
 * One tap: what to do in the order in which it is done, each number with the
 * section beside it, and places for what was found. What must not be drilled
 * has no stop, no bit and another bar above it. */
#include <math.h>

#include "write/sheet.h"

#define BLACK 0x000000
#define BAR 9.0 /* mm */
#define DEGREE (3.14159265358979323846 / 180.0)
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
              : c->task == DM_TASK_NONE
                  ? "If they do: the hole is at the end of the tape from "
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

static void put_stop(card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    if (c->task == DM_TASK_NO_ROOM) {
        dm_say(p, "No drill before the engineer has said how. Then:");
        put(c, &strong);
        dm_say_clear(p);
    }
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
}

static void put_opened(card *c)
{
    const dm_as_found *o = dm_sheet_opened(c->p, c->tap);
    dm_picture *p = c->p;

    dm_say(p, "Opened");
    if (o->what.date != NULL) {
        dm_say(p, " on ");
        dm_say(p, o->what.date);
    }
    dm_say(p, ": found ");
    dm_say(p, dm_finding_text(o->what.found));
    dm_say(p, o->outcome == DM_OUTCOME_NEITHER
                  ? ", neither confirmed nor refuted"
                  : ", ");
    if (o->outcome != DM_OUTCOME_NEITHER)
        dm_say(p, dm_outcome_text(o->outcome));
    dm_say(p, ". No second hole but on the engineer's word.");
    put(c, &strong);
}

static void put_drill(card *c)
{
    dm_picture *p = c->p;

    next(c);
    switch (c->task) {
    case DM_TASK_TAP:
    case DM_TASK_NO_ROOM:
        put_stop(c);
        break;
    case DM_TASK_RESCAN:
        dm_say(p, "No hole yet. Scan this length again by hand, all round; "
                  "the mark is only its middle.");
        put(c, &strong);
        break;
    case DM_TASK_NONE:
        put_opened(c);
        break;
    default:
        dm_say(p, "No drill. Hand tool, through the wall only (least wall ");
        dm_sheet_say_stop(p, c->tap->wall_min);
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

/* Room for the drill, where it is known; where there is none a warning says
 * what is in the way. */
static void put_room(card *c, const dm_clearance *room)
{
    dm_picture *p = c->p;

    if (!room->known || c->task != DM_TASK_TAP || c->s->tight > 0)
        return;
    dm_say_clear(p);
    dm_say(p, "The drill has room");
    if (isfinite(room->free)) {
        dm_say(p, ", free along its axis ");
        dm_sheet_say_tape(p, room->free);
    }
    dm_say(p, ", as drawn.");
    put(c, &text);
}

/* "void-like, 467 mm (1 ft 6 3/8 in) long". */
static void say_indication(card *c, const dm_indication *i)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    dm_say(p, dm_kind_text(i->kind));
    dm_say(p, i->shorter_than_footprint ? ", at most " : ", ");
    dm_sheet_say_tape(p, i->to.t - i->from.t);
    dm_say(p, i->from.open || i->to.open ? " long as far as it was read"
                                         : " long");
    if (isfinite(t->p_kind)) {
        dm_say(p, ", chance that it is one ");
        dm_sheet_say_chance(p, t->p_kind);
    }
    dm_say(p, ".");
    if (c->task != DM_TASK_TAP && c->task != DM_TASK_NO_ROOM)
        return;
    if (isfinite(t->p_enter)) {
        dm_say(p, " Chance to enter, if it is one: ");
        dm_say(p, t->turned ? "" : "at least ");
        dm_sheet_say_chance(p, t->p_enter);
        dm_say(p, ".");
    }
}

static void put_strands(card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    if (!isfinite(t->strand_gap))
        return;
    dm_say_clear(p);
    dm_say(p, "Strands expected ");
    dm_sheet_say_stop(p, fmax(t->strand_gap, 0.0));
    dm_say(p, " behind the wall, at least ");
    dm_sheet_say_stop(p, fmax(t->strand_gap_low, 0.0));
    dm_say(p, ": never a drilling depth.");
    put(c, &text);
}

static void say_axis(dm_picture *p, const char *name, double metres)
{
    dm_say(p, name);
    dm_buf_fixed(&p->say, metres, 3);
}

static void say_incline(dm_picture *p, size_t face, const char *before)
{
    if (face == DM_NONE)
        return;
    dm_say(p, before);
    dm_say(p, p->tendon->faces[face].id);
    dm_say(p, " ");
    dm_buf_fixed(&p->say, dm_sheet_incline(p->tendon, face) / DEGREE, 0);
    dm_say(p, "\xc2\xb0");
}

/* Planes that are not square to the duct: another line, another length. */
static void put_inclines(card *c)
{
    const size_t face[] = {c->tap->back.face, c->tap->ahead.face};
    dm_picture *p = c->p;
    bool any = false;
    size_t i;

    for (i = 0; i < 2; i++)
        any = any || (face[i] != DM_NONE &&
                      dm_sheet_incline(p->tendon, face[i]) > 0.5 * DEGREE);
    if (!any)
        return;
    dm_say_clear(p);
    dm_say(p, "Faces off square to the duct:");
    say_incline(p, face[0], " ");
    say_incline(p, face[1], face[0] == DM_NONE ? " " : ", ");
    dm_say(p, ". Tape on the line, from where it meets the concrete.");
    put(c, &text);
}

/* The mark in the words of the drawings. */
static void put_place(card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    if (c->s->tight > 1)
        return;
    put_inclines(c);
    dm_say_clear(p);
    say_axis(p, "Mark at X ", t->surface.x);
    say_axis(p, " Y ", t->surface.y);
    say_axis(p, " Z ", t->surface.z);
    dm_say(p, " m; tendon station ");
    dm_say_length(p, t->t, true);
    if (t->bridge.known) {
        dm_say(p, "; bridge station ");
        dm_say_length(p, t->bridge.shown, true);
    }
    dm_say(p, ".");
    put(c, &text);
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
    else
        say_indication(c, i);
    put(c, &text);
    put_strands(c);
    put_room(c, &t->clearance);
    dm_say_clear(p);
    if (t->warning[0] != '\0') {
        dm_say(p, "WARNING: ");
        dm_say(p, t->warning);
        put(c, &strong);
    }
    if (p->stations != NULL && p->stations->accepted != NULL) {
        dm_say_clear(p);
        dm_say(p, "Accepted: ");
        dm_say(p, p->stations->accepted);
        put(c, &strong);
    }
    put_place(c);
    /* To scan again one must know why. */
    if (c->s->tight > 0 && c->task != DM_TASK_RESCAN)
        return;
    dm_say_clear(p);
    dm_say(p, "Why here: ");
    dm_say(p, t->why);
    dm_say(p, ".");
    put(c, &text);
}

/* ---- what was found
 * ---------------------------------------------------------- */

/* Where it has been opened: what the field book has. */
static void say_found(dm_picture *p, const dm_as_found *o, size_t field)
{
    static const char *const answer[] = {"no", "yes"};

    dm_say(p, field == 3 ? "" : " ");
    switch (field) {
    case 0:
        if (isfinite(o->what.depth))
            dm_sheet_say_arc(p, o->what.depth);
        break;
    case 1:
        dm_say(p, answer[o->what.water]);
        break;
    case 2:
        dm_say(p, answer[o->what.strand]);
        break;
    case 3:
        dm_say(p, o->what.date != NULL ? o->what.date : "");
        break;
    case 4:
        dm_say(p, dm_finding_text(o->what.found));
        break;
    case 5:
        dm_say(p, o->what.photo != NULL ? o->what.photo : "");
        break;
    default:
        break;
    }
}

static void put_field(const card *c, size_t field, double x, double y,
                      double width)
{
    static const char *const drilled[] = {
        "As found: void depth", "water?", "strand touched?", "date",
        "Soft, wet, dry?",      "photo",  "plugged",         "by"};
    static const char *const scanned[] = {
        "Found again from", "to", "of face", "turn made?",
        "Clock from",       "to", "photo",   "by"};
    static const char *const found[] = {"Depth",   "water", "strand touched",
                                        "",        "Found", "photo",
                                        "plugged", "by"};
    const dm_as_found *o = dm_sheet_opened(c->p, c->tap);
    const char *const *what = c->task == DM_TASK_RESCAN ? scanned
                              : o != NULL               ? found
                                                        : drilled;
    dm_look frame = dm_line_look(BLACK, 0.3, DM_DASH_SOLID);

    dm_say_clear(c->p);
    dm_say(c->p, what[field]);
    if (o != NULL)
        say_found(c->p, o, field);
    dm_canvas_rect(c->p->canvas, x, y, width, c->s->field, &frame);
    dm_canvas_text_fit(c->p->canvas, x + 1.2, y + 5.0, width - 2.0,
                       dm_said(c->p), o != NULL ? &strong : &text);
}

static double put_fields(const card *c, double y)
{
    static const double share[] = {0.36, 0.2, 0.25, 0.19};
    double width = c->s->paper.right - c->s->paper.left;
    size_t field;

    for (field = 0; c->draw && field < 8; field++) {
        double x = c->s->paper.left;
        size_t k;

        for (k = 0; k < field % 4; k++)
            x += width * share[k];
        put_field(c, field, x, y + (field < 4 ? 0.0 : c->s->field),
                  width * share[field % 4]);
    }
    return 2.0 * c->s->field;
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
