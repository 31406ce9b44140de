/* SPDX-License-Identifier: MIT
 * What a crew does at a tap, in the same words on its page, its label and in
 * its code. A stop is never named without what it is made of and what to do at
 * its end; what must not be drilled has none. */
#include <math.h>

#include "base/num.h"
#include "write/sheet.h"

const dm_as_found *dm_sheet_opened(const dm_picture *p, const dm_tap *tap)
{
    return p->found != NULL && tap->opened < p->found->opening_count
               ? &p->found->openings[tap->opened]
               : NULL;
}

dm_task dm_sheet_task(const dm_picture *p, const dm_tap *tap)
{
    if (dm_sheet_opened(p, tap) != NULL)
        return DM_TASK_NONE;
    switch (tap->advice) {
    case DM_ADVICE_TAP:
        return tap->clearance.known && tap->clearance.room == DM_ROOM_NONE
                   ? DM_TASK_NO_ROOM
                   : DM_TASK_TAP;
    case DM_ADVICE_RESCAN:
        return DM_TASK_RESCAN;
    default:
        return DM_TASK_HAND_TOOL;
    }
}

const char *dm_sheet_task_text(dm_task task)
{
    static const char *const text[] = {
        "TAP AT THE MARK, WHEN RELEASED", "RE-SCAN BY HAND FIRST: NO HOLE",
        "HAND TOOL, WALL ONLY, ENGINEER PRESENT: NO DRILL",
        "NO ROOM FOR THE DRILL: ASK THE ENGINEER",
        "HAS BEEN OPENED: NO SECOND HOLE"};

    return text[task];
}

const char *dm_sheet_task_short(dm_task task)
{
    static const char *const text[] = {"TAP", "RE-SCAN", "HAND TOOL", "NO ROOM",
                                       "OPENED"};

    return text[task];
}

dm_look dm_sheet_look(dm_task task)
{
    static const struct {
        uint32_t fill;
        dm_hatch hatch;
        double step, width;
    } looks[] = {{0x000000, DM_HATCH_NONE, 0.0, 0.0},
                 {0xffffff, DM_HATCH_RISING, 2.4, 0.8},
                 {0xffffff, DM_HATCH_CROSS, 1.8, 0.35},
                 {0xffffff, DM_HATCH_FALLING, 3.4, 0.9},
                 {0xffffff, DM_HATCH_DOTS, 1.6, 0.6}};
    dm_look look = dm_fill_look(looks[task].fill);

    look.stroke = 0x000000;
    look.width = 0.5;
    look.hatch = looks[task].hatch;
    look.hatch_colour = 0x000000;
    look.hatch_step = looks[task].step;
    look.hatch_width = looks[task].width;
    return look;
}

/* ---- step 7 --------------------------------------------------------------
 */

bool dm_sheet_drilled(dm_task task)
{
    return task == DM_TASK_TAP || task == DM_TASK_NO_ROOM;
}

/* What is left of the stop as printed, so that who adds finds the stop. */
static void say_allowance(dm_picture *p, const dm_tap *tap)
{
    double mm = dm_num_down(tap->depth_stop * 1000.0, 0.1) -
                dm_num_down(tap->wall_min * 1000.0, 0.1);
    double in = dm_num_down(tap->depth_stop / 0.0254, 0.01) -
                dm_num_down(tap->wall_min / 0.0254, 0.01);

    dm_buf_fixed(&p->say, p->us ? in : mm, p->us ? 2 : 1);
    dm_say(p, p->us ? " in (" : " mm (");
    dm_buf_fixed(&p->say, p->us ? mm : in, p->us ? 1 : 2);
    dm_say(p, p->us ? " mm)" : " in)");
}

static const char *wall_name(const dm_tap *tap)
{
    return tap->wall_assumed ? "nominal wall" : "least wall";
}

bool dm_sheet_allowance(const dm_tap *tap)
{
    return tap->depth_stop > tap->wall_min + 1e-9;
}

void dm_sheet_say_depth(dm_picture *p, const dm_tap *tap)
{
    dm_say(p, "DEPTH STOP ");
    dm_sheet_say_stop(p, tap->depth_stop);
}

void dm_sheet_say_basis(dm_picture *p, const dm_tap *tap)
{
    dm_say(p, wall_name(tap));
    if (!dm_sheet_allowance(tap))
        return;
    dm_say(p, " ");
    dm_sheet_say_stop(p, tap->wall_min);
    dm_say(p, " + allowance ");
    say_allowance(p, tap);
}

void dm_sheet_say_pierce(dm_picture *p, const dm_tap *tap)
{
    dm_say(p, dm_sheet_allowance(tap)
                  ? "The stop lies INSIDE the duct: stop at the inner face, "
                    "pierce by hand."
                  : "Pierce the last of the wall by hand tool.");
    dm_say(p, tap->wall_assumed ? " No least wall is documented: measure the "
                                  "wall first."
                                : "");
}

static void say_opened(dm_picture *p, const dm_as_found *o)
{
    dm_say(p, "Opened");
    if (o->what.date != NULL) {
        dm_say(p, " on ");
        dm_say(p, o->what.date);
    }
    dm_say(p, ": found ");
    dm_say(p, dm_finding_text(o->what.found));
    dm_say(p, ", ");
    dm_say(p, dm_sheet_outcome(o->outcome));
    dm_say(p, ".");
    dm_say(p, o->what.strand ? " A STRAND WAS TOUCHED." : "");
    dm_say(p, o->what.water ? " Water came out." : "");
    dm_say(p, " No second hole but on the engineer's word.");
}

const char *dm_sheet_outcome(dm_outcome outcome)
{
    return outcome == DM_OUTCOME_NEITHER ? "neither confirmed nor refuted"
                                         : dm_outcome_text(outcome);
}

void dm_sheet_say_no_drill(dm_picture *p, const dm_tap *tap)
{
    switch (dm_sheet_task(p, tap)) {
    case DM_TASK_TAP:
        break;
    case DM_TASK_NO_ROOM:
        dm_say(p, "No drill before the engineer has said how.");
        break;
    case DM_TASK_RESCAN:
        dm_say(p, "No hole yet. Scan this length again by hand, all round; "
                  "the mark is only its middle.");
        break;
    case DM_TASK_NONE:
        say_opened(p, dm_sheet_opened(p, tap));
        break;
    default:
        dm_say(p, "No drill. Hand tool, through the wall only (");
        dm_say(p, wall_name(tap));
        dm_say(p, " ");
        dm_sheet_say_stop(p, tap->wall_min);
        dm_say(p, "), with the engineer present.");
    }
}

/* ---- step 4 --------------------------------------------------------------
 */

bool dm_sheet_two_tapes(const dm_tap *tap)
{
    return tap->back.face != DM_NONE && tap->ahead.face != DM_NONE;
}

/* As printed, in steps. */
static double steps(double metres, double step)
{
    return floor(metres / step + 0.5);
}

void dm_sheet_say_apart(dm_picture *p, const dm_tap *tap)
{
    double back = tap->back.distance, ahead = tap->ahead.distance;
    double most = tap->faces_apart, in = 0.0254 / 8.0;
    bool mm = steps(back, 1e-3) + steps(ahead, 1e-3) != steps(most, 1e-3);
    bool eighth = steps(back, in) + steps(ahead, in) != steps(most, in);

    dm_sheet_say_tape(p, most);
    if (mm || eighth)
        dm_say(p, "; both tapes add up to it within 1 mm (1/8 in) by rounding");
}

void dm_sheet_say_meet(dm_picture *p, const dm_tap *tap)
{
    dm_say(p, "If both tapes do not meet within ");
    dm_sheet_say_bound(p, p->k * dm_tap_meet_u(tap));
    dm_say(p, ": STOP, wrong face or wrong line.");
}

void dm_sheet_say_one_tape(dm_picture *p, const dm_tap *tap)
{
    dm_say(p, tap->back.face == DM_NONE && tap->ahead.face == DM_NONE
                  ? "No face can be touched: do NOT set out from here."
                  : "One tape only, no check by a second face: two people "
                    "measure, each for himself.");
}

void dm_sheet_say_mark(dm_picture *p, const dm_tap *tap)
{
    dm_task task = dm_sheet_task(p, tap);

    dm_say(p, task == DM_TASK_RESCAN
                  ? "If they do: scan about the end of the tape from "
              : task == DM_TASK_NONE
                  ? "If they do: the hole is at the end of the tape from "
                  : "If they do: mark at the end of the tape from ");
    dm_say(p, p->tendon->faces[tap->mark_face].id);
    dm_say(p, ".");
}
