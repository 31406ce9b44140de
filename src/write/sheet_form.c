/* SPDX-License-Identifier: MIT
 * Places for what is found at a tap: those of the field book's `opened`. Where
 * it has been opened they say what the field book has. */
#include <math.h>

#include "write/sheet_card.h"

#define BLACK 0x000000

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

static void put_field(const dm_card *c, size_t field, double x, double y,
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
                       dm_said(c->p),
                       o != NULL ? &dm_sheet_strong : &dm_sheet_text);
}

double dm_card_form(const dm_card *c, double y)
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
