/* SPDX-License-Identifier: MIT
 * Tables of a survey plan. Only formats; every number is in the plan. */
#include "cli/plan_table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/num.h"
#include "cli/table.h"
#include "scene/properties.h"

static bool us(const dm_plan_output *o)
{
    return o->units == DM_UNITS_US;
}

static const char *unit(const dm_plan_output *o)
{
    return us(o) ? "ft" : "m";
}

/* A plan is not set out with a tape: decimal feet are short enough. */
static double shown(const dm_plan_output *o, double metres)
{
    return us(o) ? metres / 0.3048 : metres;
}

static void length_cell(table *t, const dm_plan_output *o, double metres)
{
    table_number(t, shown(o, metres), us(o) ? 1 : 2);
}

/* Hours and minutes: "12:05". */
static void time_cell(table *t, double seconds)
{
    double minutes = floor(seconds / 60.0 + 0.5);
    double hours = floor(minutes / 60.0);
    char text[DM_NUM_SIZE + 8], whole[DM_NUM_SIZE];
    dm_num_fixed(whole, hours, 0);
    snprintf(text, sizeof text, "%s:%02d", whole, (int)(minutes - 60 * hours));
    table_text(t, text);
}

/* ---- lengths ------------------------------------------------------------- */

static void sum_row(table *t, const dm_plan_output *o, const char *id,
                    const dm_plan_sum *s)
{
    table_text(t, id);
    length_cell(t, o, s->free_length);
    length_cell(t, o, s->readable);
    for (int i = 0; i < DM_BAY_STATES; i++)
        length_cell(t, o, s->sum[i]);
    table_count(t, s->fixture_count);
    table_count(t, s->run_count);
    time_cell(t, s->time.total);
}

static void lengths(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan *p = o->plan;
    table t;
    table_init(&t, "tendon|>free|>readable|>testable|>dead|>obstr.|"
                   ">no acc.|>fix.|>runs|>h:min");
    for (size_t i = 0; i < p->tendon_count; i++)
        sum_row(&t, o, o->model->tendons[i].id, &p->tendons[i]);
    sum_row(&t, o, "total", &p->total);
    dm_buf_printf(out,
                  "lengths in %s: free between faces; readable = testable + "
                  "dead zones (dead) +\nobstructions (obstr.) + no access (no "
                  "acc.); fix.: fixtures on readable length\n\n",
                  unit(o));
    table_print(&t, out);
}

static void access_table(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan_sum *s = &o->plan->total;
    table t;
    char head[64];
    snprintf(head, sizeof head, "access|>readable, %s|>part, %%", unit(o));
    table_init(&t, head);
    for (int i = 0; i < DM_ACCESS_COUNT; i++) {
        if (s->access[i] <= 0.0)
            continue;
        table_text(&t, dm_access_text((dm_access)i));
        length_cell(&t, o, s->access[i]);
        table_number(&t, 100.0 * s->access[i] / s->readable, 1);
    }
    table_print(&t, out);
}

/* ---- order of the work ----------------------------------------------------
 */

static void face_cell(table *t, const dm_tendon *n, size_t face)
{
    table_text(t, face == DM_NONE ? NULL : n->faces[face].id);
}

static void run_row(table *t, const dm_plan_output *o, size_t i)
{
    const dm_plan_run *r = &o->plan->runs[i];
    const dm_bay *b = &o->plan->bays[r->bay];
    const dm_tendon *n = &o->model->tendons[r->tendon];
    char clock[8];
    table_count(t, i + 1);
    table_text(t, n->id);
    table_count(t, b->number);
    table_text(t, b->sloped ? "upper" : "");
    table_text(t, dm_clock_text(r->clock, clock));
    table_text(t, r->direction == DM_SIDE_AHEAD ? "ahead" : "back");
    table_text(t, r->leading == DM_LEADING_NOSE ? "nose" : "tail");
    face_cell(t, n, r->face_start);
    face_cell(t, n, r->face_end);
    length_cell(t, o, r->sum[DM_BAY_TESTABLE]);
    table_count(t, r->stretch_count - 1);
    time_cell(t, r->time.total);
}

/* Runs that are not made stand last. */
static size_t made(const dm_plan *p)
{
    size_t n = p->run_count;
    while (n > 0 && p->runs[n - 1].stretch_count == 0)
        n--;
    return n;
}

static void not_made(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan *p = o->plan;
    char clock[8];
    for (size_t i = made(p); i < p->run_count; i++)
        dm_buf_printf(out,
                      "not made: tendon %s, bay %zu, %s: the sensor's body "
                      "finds no room\n",
                      o->model->tendons[p->runs[i].tendon].id,
                      p->bays[p->runs[i].bay].number,
                      dm_clock_text(p->runs[i].clock, clock));
}

static void order(const dm_plan_output *o, dm_buf *out)
{
    table t;
    table_init(&t, ">run|tendon|>bay|end|clock|travel|leads|from|to|>test|"
                   ">skips|>h:min");
    for (size_t i = 0; i < made(o->plan); i++)
        run_row(&t, o, i);
    dm_buf_printf(out,
                  "order of the work: bays with an upper sloped end first "
                  "(upper), begun at that\nend; clock looking ahead; from, to: "
                  "faces of the start and the last tie; test:\ntestable length "
                  "in %s\n\n",
                  unit(o));
    table_print(&t, out);
    not_made(o, out);
}

static void obstruction_row(table *t, const dm_plan_output *o, size_t run,
                            const dm_obstruction *x)
{
    const dm_plan_run *r = &o->plan->runs[run];
    const dm_tendon *n = &o->model->tendons[r->tendon];
    const char *name, *kind = dm_obstruction_text(n, r, x, &name);
    table_count(t, run + 1);
    table_text(t, n->id);
    face_cell(t, n, r->face_start);
    table_number(t, shown(o, x->near_tape), us(o) ? 2 : 3);
    table_number(t, shown(o, x->far_tape), us(o) ? 2 : 3);
    table_text(t, kind);
    table_text(t, name);
}

static void obstructions(const dm_plan_output *o, dm_buf *out)
{
    table t;
    char head[128];
    size_t count = 0;
    snprintf(head, sizeof head,
             ">run|tendon|from face|>near, %s|>far, %s|what|id", unit(o),
             unit(o));
    table_init(&t, head);
    for (size_t i = 0; i < made(o->plan); i++)
        for (size_t k = 0; k < o->plan->runs[i].obstruction_count; k++) {
            obstruction_row(&t, o, i, &o->plan->runs[i].obstructions[k]);
            count++;
        }
    dm_buf_puts(out, count > 0 ? "obstructions: taped from the start face "
                                 "along the clock line, as drawn\n\n"
                               : "no obstructions\n");
    if (count > 0) {
        table_print(&t, out);
        return;
    }
    dm_buf unused = {0};
    table_print(&t, &unused);
    dm_buf_free(&unused);
}

/* ---- room over the duct -------------------------------------------------- */

static double small(const dm_plan_output *o, double metres)
{
    return metres / (us(o) ? 0.0254 : 0.001);
}

static void low_row(table *t, const dm_plan_output *o, const dm_plan_run *r,
                    const dm_plan_low *l)
{
    char clock[8];
    table_text(t, o->model->tendons[r->tendon].id);
    table_count(t, o->plan->bays[r->bay].number);
    table_text(t, dm_clock_text(r->clock, clock));
    table_number(t, shown(o, l->from), us(o) ? 2 : 3);
    table_number(t, shown(o, l->to), us(o) ? 2 : 3);
    /* What does not fit must not look as if it did. */
    table_number(t, dm_num_down(small(o, l->free), 0.1), 1);
    table_text(t, l->other == DM_NONE
                      ? "none"
                      : dm_clock_text(o->plan->clocks[l->other], clock));
    table_text(t, l->obstacle);
}

static void low_table(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan *p = o->plan;
    table t;
    char head[128];
    snprintf(head, sizeof head,
             "tendon|>bay|clock|>from, %s|>to, %s|>free, %s|other|obstacle",
             unit(o), unit(o), us(o) ? "in" : "mm");
    table_init(&t, head);
    for (size_t i = 0; i < p->run_count; i++)
        for (size_t k = 0; k < p->runs[i].low_count; k++)
            low_row(&t, o, &p->runs[i], &p->runs[i].low[k]);
    dm_buf_puts(out, "low clearance: from, to along the tendon; free: over the "
                     "duct, where ");
    dm_buf_fixed(out, small(o, p->body_height), 1);
    dm_buf_printf(out,
                  " %s\nare needed; other: clock line of the plan that is free "
                  "there\n\n",
                  us(o) ? "in" : "mm");
    table_print(&t, out);
}

static void low_clearance(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan *p = o->plan;
    size_t count = 0;
    for (size_t i = 0; i < p->run_count; i++)
        count += p->runs[i].low_count;
    if (count > 0) {
        low_table(o, out);
    } else if (p->body_height > 0.0) {
        dm_buf_puts(out, "no low clearance: the meshes leave the sensor's body "
                         "its ");
        dm_buf_fixed(out, small(o, p->body_height), 1);
        dm_buf_printf(out, " %s\n", us(o) ? "in" : "mm");
    } else if (o->body_unknown) {
        dm_buf_puts(out, "clearance not looked at: the field book states no "
                         "body-height of the instrument\n");
    } else {
        return;
    }
    dm_buf_putc(out, '\n');
}

/* ---- time ---------------------------------------------------------------- */

static void time_table(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan_time *s = &o->plan->total.time;
    const struct {
        const char *name;
        double seconds;
    } part[] = {{"scanning", s->scan},  {"re-seating", s->reseat},
                {"set-up", s->setup},   {"moving", s->move},
                {"scaffold", s->shift}, {"checks", s->check},
                {"ties", s->tie}};
    table t;
    table_init(&t, "time for|>h:min|>part, %");
    for (size_t i = 0; i < sizeof part / sizeof *part; i++) {
        if (part[i].seconds <= 0.0)
            continue;
        table_text(&t, part[i].name);
        time_cell(&t, part[i].seconds);
        table_number(&t, 100.0 * part[i].seconds / s->total, 1);
    }
    table_text(&t, "all");
    time_cell(&t, s->total);
    table_number(&t, s->total > 0.0 ? 100.0 : 0.0, 1);
    table_print(&t, out);
}

static void days(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan *p = o->plan;
    bool permit = p->factors.value[DM_FACTOR_PERMIT] > 0.0;
    dm_buf_fixed(out, p->days, 1);
    dm_buf_puts(out, " days of ");
    dm_buf_num(out, p->factors.value[DM_FACTOR_HOURS]);
    dm_buf_puts(out, " h");
    if (permit) {
        dm_buf_puts(out, ", ");
        dm_buf_num(out, p->factors.value[DM_FACTOR_PERMIT]);
        dm_buf_puts(out, " h of each for the permit space");
    }
    dm_buf_puts(out, "; ");
    dm_buf_num(out, p->persons);
    dm_buf_puts(out, p->persons > 1.0 ? " persons; " : " person; ");
    if (isfinite(p->free_per_day)) {
        dm_buf_fixed(out, shown(o, p->free_per_day), 0);
        dm_buf_printf(out, " %s of free tendon a day\n", unit(o));
    } else {
        dm_buf_puts(out, "nothing to be done\n");
    }
    if (!permit)
        dm_buf_puts(out, "No permit space was reckoned with: --set permit=1 "
                         "or more, 1 to 2 h a day.\n");
}

/* ---- factors ------------------------------------------------------------- */

static void factor_table(const dm_plan_output *o, dm_buf *out)
{
    size_t count = 0;
    const dm_factor_info *list = dm_factor_list(&count);
    table t;
    table_init(&t, "factor|>value|unit|from|meaning");
    for (size_t i = 0; i < count; i++) {
        char value[DM_NUM_SIZE];
        dm_num_shortest(value, o->plan->factors.value[i]);
        table_text(&t, list[i].name);
        table_text(&t, value);
        table_text(&t, list[i].unit);
        table_text(&t, dm_origin_text(o->plan->factors.origin[i]));
        table_text(&t, list[i].help);
    }
    dm_buf_puts(out, "factors: defaults are common practice, no source; set "
                     "with --set NAME=VALUE\n\n");
    table_print(&t, out);
}

/* Sentences at most 79 columns wide. */
static void sentence(const char *text, dm_buf *out)
{
    size_t column = 0;
    while (*text) {
        size_t word = strcspn(text, " ");
        if (column > 0 && column + 1 + word > 79) {
            dm_buf_putc(out, '\n');
            column = 0;
        }
        if (column > 0)
            dm_buf_putc(out, ' ');
        dm_buf_put(out, text, word);
        column += word + (column > 0);
        text += word;
        text += *text == ' ';
    }
    dm_buf_putc(out, '\n');
}

static void head(const dm_plan_output *o, dm_buf *out)
{
    const dm_plan *p = o->plan;
    char clock[8];
    dm_buf_printf(out, "survey plan of %s; clock line%s", o->model->name,
                  p->clock_count > 1 ? "s" : "");
    for (size_t i = 0; i < p->clock_count; i++)
        dm_buf_printf(out, "%s%s", i > 0 ? ", " : " ",
                      dm_clock_text(p->clocks[i], clock));
    dm_buf_puts(out, "\n\n");
}

void plan_table(const dm_plan_output *o, bool runs, dm_buf *out)
{
    head(o, out);
    lengths(o, out);
    dm_buf_putc(out, '\n');
    if (o->plan->total.readable > 0.0) {
        access_table(o, out);
        dm_buf_putc(out, '\n');
    }
    if (runs && made(o->plan) > 0) {
        order(o, out);
        dm_buf_putc(out, '\n');
        obstructions(o, out);
        dm_buf_putc(out, '\n');
    } else {
        not_made(o, out);
    }
    low_clearance(o, out);
    time_table(o, out);
    dm_buf_putc(out, '\n');
    days(o, out);
    dm_buf_putc(out, '\n');
    factor_table(o, out);
    dm_buf_putc(out, '\n');
    for (const char *const *c = dm_plan_cautions(); *c; c++)
        sentence(*c, out);
}
