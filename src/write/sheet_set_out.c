/* SPDX-License-Identifier: MIT
 * A tap as plain text, for the code on its label: for those who come later,
 * without the files. Nothing that a page warns of is left out: a stop without
 * its warning is worse than no code. */
#include <math.h>

#include "write/sheet.h"

static void say_tape(dm_picture *p, const dm_tape *tape, const char *step,
                     const char *way)
{
    dm_say(p, step);
    if (tape->face == DM_NONE) {
        dm_buf_printf(&p->say, "no face, going %s\n", way);
        return;
    }
    dm_say(p, "face ");
    dm_say(p, p->tendon->faces[tape->face].id);
    dm_buf_printf(&p->say, " going %s ", way);
    dm_sheet_say_tape(p, tape->distance);
    dm_say(p, " +- ");
    dm_sheet_say_bound(p, p->k * tape->u);
    dm_say(p, "\n");
}

static void say_head(dm_picture *p, const dm_tap *tap)
{
    const char *tag = dm_external_find(&p->tendon->external, "field-tag");

    dm_say(p, "Tap ");
    dm_sheet_say_tap(p, tap);
    dm_say(p, "\nbridge ");
    dm_say(p, p->delivery->model->id);
    dm_say(p, ", tendon ");
    dm_say(p, p->tendon->id);
    if (tag != NULL) {
        dm_say(p, ", tag ");
        dm_say(p, tag);
    }
    dm_say(p, "\n");
    dm_say(p, dm_sheet_task_text(dm_sheet_task(p, tap)));
}

static void say_sum(dm_picture *p, const dm_tap *tap)
{
    dm_say(p, "4 ");
    if (!dm_sheet_two_tapes(tap)) {
        dm_sheet_say_one_tape(p, tap);
        return;
    }
    dm_say(p, "faces apart ");
    dm_sheet_say_apart(p, tap);
    dm_say(p, ". ");
    dm_sheet_say_meet(p, tap);
    dm_say(p, " ");
    dm_sheet_say_mark(p, tap);
}

static void say_drill(dm_picture *p, const dm_tap *tap)
{
    dm_task task = dm_sheet_task(p, tap);

    dm_say(p, "\n7 ");
    dm_sheet_say_no_drill(p, tap);
    if (!dm_sheet_drilled(task))
        return;
    dm_say(p, task == DM_TASK_NO_ROOM ? " Then: " : "");
    dm_sheet_say_depth(p, tap);
    dm_say(p, " = ");
    dm_sheet_say_basis(p, tap);
    dm_say(p, ", bit ");
    dm_sheet_say_stop(p, tap->bit);
    dm_say(p, ". ");
    dm_sheet_say_pierce(p, tap);
}

static void say_point(dm_picture *p, dm_vec3 at)
{
    dm_say(p, "\nx y z ");
    dm_buf_fixed(&p->say, at.x, 3);
    dm_say(p, " ");
    dm_buf_fixed(&p->say, at.y, 3);
    dm_say(p, " ");
    dm_buf_fixed(&p->say, at.z, 3);
    dm_say(p, " m\n");
}

void dm_sheet_say_set_out(dm_picture *p, const dm_tap *tap)
{
    say_head(p, tap);
    dm_say(p, "\n1 tape line ");
    dm_say_clock(p, tap->line);
    dm_say(p, "\n");
    say_tape(p, &tap->back, "2 ", "AHEAD");
    say_tape(p, &tap->ahead, "3 ", "BACK");
    say_sum(p, tap);
    dm_say(p, "\n5 round the duct, looking ahead ");
    dm_sheet_say_arc(p, tap->around);
    if (!dm_sheet_on_line(tap))
        dm_say(p, tap->around > 0.0 ? " RIGHT" : " LEFT");
    dm_say(p, "\n6 looking ahead ");
    dm_say_clock(p, tap->clock);
    dm_say(p, ", looking back ");
    dm_say_clock(p, tap->clock_back);
    say_drill(p, tap);
    if (tap->warning[0] != '\0') {
        dm_say(p, "\nWARNING: ");
        dm_say(p, tap->warning);
    }
    if (p->stations != NULL && p->stations->accepted != NULL) {
        dm_say(p, "\nAccepted: ");
        dm_say(p, p->stations->accepted);
    }
    say_point(p, tap->surface);
    dm_say(p, "job of ");
    dm_say(p, p->delivery->job->date);
}
