/* SPDX-License-Identifier: MIT
 * Of one tap what is no step: what is indicated, the chances, the strands,
 * warnings, the mark in the words of the drawings, the reason. */
#include <math.h>

#include "write/sheet_card.h"

#define DEGREE (3.14159265358979323846 / 180.0)

static const dm_indication *indication_of(const dm_card *c)
{
    return c->p->found != NULL && c->tap->indication < c->p->found->count
               ? &c->p->found->items[c->tap->indication]
               : NULL;
}

/* Room for the drill, where it is known; where there is none a warning says
 * what is in the way. */
static void put_room(dm_card *c, const dm_clearance *room)
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
    dm_card_put(c, &dm_sheet_text);
}

/* "void-like, 467 mm (1 ft 6 3/8 in) long". */
static void say_indication(dm_card *c, const dm_indication *i)
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

static void put_strands(dm_card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;
    double gap = fmax(t->strand_gap, 0.0), low = fmax(t->strand_gap_low, 0.0);

    if (!isfinite(t->strand_gap))
        return;
    dm_say_clear(p);
    dm_say(p, "Strands expected ");
    dm_sheet_say_stop(p, gap);
    dm_say(p, " behind the wall");
    if (low < gap) {
        dm_say(p, ", at least ");
        dm_sheet_say_stop(p, low);
    }
    dm_say(p, ": never a drilling depth.");
    dm_card_put(c, &dm_sheet_text);
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
static void put_inclines(dm_card *c)
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
    dm_say(p, "Faces off square:");
    say_incline(p, face[0], " ");
    say_incline(p, face[1], face[0] == DM_NONE ? " " : ", ");
    dm_say(p, ": tape from where the line meets the concrete.");
    dm_card_put(c, &dm_sheet_text);
}

/* The mark in the words of the drawings. */
static void put_place(dm_card *c)
{
    const dm_tap *t = c->tap;
    dm_picture *p = c->p;

    if (c->s->tight > 2)
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
    dm_card_put(c, &dm_sheet_text);
}

void dm_card_facts(dm_card *c)
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
    dm_card_put(c, &dm_sheet_text);
    put_strands(c);
    put_room(c, &t->clearance);
    dm_say_clear(p);
    if (t->warning[0] != '\0') {
        dm_say(p, "WARNING: ");
        dm_say(p, t->warning);
        dm_card_put(c, &dm_sheet_strong);
    }
    if (p->stations != NULL && p->stations->accepted != NULL) {
        dm_say_clear(p);
        dm_say(p, "Accepted: ");
        dm_say(p, p->stations->accepted);
        dm_card_put(c, &dm_sheet_strong);
    }
    put_place(c);
    /* Where a drill is not meant to be used one must know why. */
    if (c->s->tight > 0 && c->task != DM_TASK_RESCAN &&
        c->task != DM_TASK_HAND_TOOL)
        return;
    dm_say_clear(p);
    dm_say(p, "Why here: ");
    dm_say(p, t->why);
    dm_say(p, ".");
    dm_card_put(c, &dm_sheet_text);
}
