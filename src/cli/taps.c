/* SPDX-License-Identifier: MIT
 * Tap points for a terminal: a block a tap, in the order in which a crew does
 * it. Where there is to be no drill, neither bit nor stop is printed. */
#include <math.h>

#include "base/num.h"
#include "cli/summary.h"
#include "cli/table.h"
#include "scene/properties.h"
#include "write/row.h"

#define INDENT 2

static void put_number(dm_buf *out, const dm_campaign *c, double mm,
                       double inches, int decimals)
{
    bool us = c->job->units == DM_UNITS_US;

    dm_buf_fixed(out, us ? inches : mm, us ? decimals + 1 : decimals);
    dm_buf_puts(out, us ? " in" : " mm");
}

/* A stop, a wall, a bit: never longer than it was reckoned. */
static void put_stop(dm_buf *out, const dm_campaign *c, double metres)
{
    put_number(out, c, dm_num_down(metres * 1000.0, 0.1),
               dm_num_down(metres / 0.0254, 0.01), 1);
}

/* U: never smaller. */
static void put_bound(dm_buf *out, const dm_campaign *c, double metres)
{
    put_number(out, c, dm_num_up(metres * 1000.0, 1.0),
               dm_num_up(metres / 0.0254, 0.1), 0);
}

static void put_tape(dm_buf *out, const dm_campaign *c, const dm_tendon *n,
                     const dm_tape *tape)
{
    if (c->job->units == DM_UNITS_US) {
        dm_feet_text(tape->distance, out);
    } else {
        dm_buf_fixed(out, tape->distance, 3);
        dm_buf_puts(out, " m");
    }
    dm_buf_printf(out, " from face %s (U ", n->faces[tape->face].id);
    put_bound(out, c, c->job->settings.coverage_factor * tape->u);
    dm_buf_putc(out, ')');
}

static void put_tapes(dm_buf *out, const dm_campaign *c, const dm_tendon *n,
                      const dm_tap *p)
{
    char line[8];
    bool back = p->back.face != DM_NONE, ahead = p->ahead.face != DM_NONE;

    dm_buf_printf(out, "tape along %s: ", dm_clock_text(p->line, line));
    if (back)
        put_tape(out, c, n, &p->back);
    if (back && ahead)
        dm_buf_puts(out, ", ");
    if (ahead)
        put_tape(out, c, n, &p->ahead);
    if (back && ahead)
        dm_buf_puts(out, "; both must meet");
    if (!back && !ahead)
        dm_buf_puts(out, "no face to start from");
}

static void put_mark(dm_buf *out, const dm_campaign *c, const dm_tap *p)
{
    char ahead[8], back[8];
    bool us = c->job->units == DM_UNITS_US;

    dm_buf_printf(out, "mark at %s looking ahead, %s looking back: ",
                  dm_clock_text(p->clock, ahead),
                  dm_clock_text(p->clock_back, back));
    if (fabs(p->around) < (us ? 0.00127 : 0.0005)) {
        dm_buf_puts(out, "on the line taped");
        return;
    }
    put_number(out, c, fabs(p->around) * 1000.0, fabs(p->around) / 0.0254, 0);
    dm_buf_puts(out, p->around > 0.0 ? " right" : " left");
    dm_buf_puts(out, " of the line taped");
}

/* What the stop is made of; the allowance so that the two add up as printed. */
static void put_basis(dm_buf *out, const dm_campaign *c, const dm_tap *p)
{
    const char *wall = p->wall_assumed ? "nominal wall" : "least wall";

    if (p->depth_stop <= p->wall_min + 1e-9) {
        dm_buf_printf(out, " (%s)", wall);
        return;
    }
    dm_buf_printf(out, " (%s ", wall);
    put_stop(out, c, p->wall_min);
    dm_buf_puts(out, " + allowance ");
    put_number(out, c,
               dm_num_down(p->depth_stop * 1000.0, 0.1) -
                   dm_num_down(p->wall_min * 1000.0, 0.1),
               dm_num_down(p->depth_stop / 0.0254, 0.01) -
                   dm_num_down(p->wall_min / 0.0254, 0.01),
               1);
    dm_buf_puts(out, ", inside the duct: stop at the inner face, pierce by "
                     "hand)");
}

static void put_drill(dm_buf *out, const dm_campaign *c, const dm_tap *p)
{
    dm_buf_puts(out, "bit ");
    put_stop(out, c, p->bit);
    dm_buf_puts(out, ", depth stop ");
    put_stop(out, c, p->depth_stop);
    put_basis(out, c, p);
    if (isfinite(p->p_enter)) {
        dm_buf_puts(out,
                    p->turned ? "; enters with " : "; enters with at least ");
        /* Rounded down: 0.9996 is not certain. */
        dm_buf_fixed(out, floor(100.0 * p->p_enter + 1e-9) / 100.0, 2);
        dm_buf_puts(out, ", if it is what it seems");
    }
}

static void put_line(dm_buf *line, dm_buf *out)
{
    dm_buf_puts(out, "  ");
    if (line->failed)
        out->failed = true;
    else if (line->data != NULL)
        text_wrap(line->data, INDENT, 2 * INDENT, out);
    dm_buf_free(line);
    *line = (dm_buf){0};
}

static void put_tap(const dm_campaign *c, const dm_tendon *n, const dm_tap *p,
                    dm_buf *out)
{
    const char *tag = dm_external_find(&n->external, "field-tag");
    dm_buf line = {0};

    dm_buf_printf(&line, "%s  %s  on %s", p->id, dm_advice_text(p->advice),
                  n->id);
    if (tag != NULL)
        dm_buf_printf(&line, " (tag %s)", tag);
    if (n->where[0] != '\0')
        dm_buf_printf(&line, ", %s", n->where);
    if (line.failed)
        out->failed = true;
    else
        text_wrap(line.data, 0, 2 * INDENT, out);
    dm_buf_free(&line);
    line = (dm_buf){0};
    put_tapes(&line, c, n, p);
    put_line(&line, out);
    put_mark(&line, c, p);
    put_line(&line, out);
    if (p->advice == DM_ADVICE_TAP) {
        put_drill(&line, c, p);
        put_line(&line, out);
    }
    dm_buf_puts(&line, p->why);
    put_line(&line, out);
    if (p->warning[0] != '\0') {
        dm_buf_printf(&line, "WARNING: %s", p->warning);
        put_line(&line, out);
    }
}

/* Who reads only the taps would not miss them. */
static void put_without(const dm_campaign *c, dm_buf *out)
{
    bool any = false;

    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_taps *taps = c->results[i].taps;

        for (size_t k = 0; taps && k < taps->indication_count; k++) {
            dm_buf line = {0};

            if (taps->tapped[k].why[0] == '\0')
                continue;
            dm_buf_puts(out, any ? "" : "\nwithout a tap of their own:\n");
            any = true;
            dm_buf_printf(&line, "%s: %s",
                          c->results[i].indications->items[k].key,
                          taps->tapped[k].why);
            put_line(&line, out);
        }
    }
}

void summary_taps(const dm_campaign *c, dm_buf *out)
{
    dm_buf_puts(
        out, "tap points: ahead is towards the tendon's last anchorage; "
             "right and left\nlooking ahead. Each depth stop says what it "
             "is made of. Strands may touch the\nwall: pierce the last of it "
             "by hand. Confirm from both faces before drilling,\nwith the "
             "owner's permission and under the engineer's direction.\n");
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_taps *taps = c->results[i].taps;

        for (size_t k = 0; taps && k < taps->count; k++) {
            dm_buf_putc(out, '\n');
            put_tap(c, &c->model->tendons[i], &taps->items[k], out);
        }
    }
    put_without(c, out);
}
