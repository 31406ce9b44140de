/* SPDX-License-Identifier: MIT
 * Tables of indications and tap points. Only formats; every number is in a
 * result structure. Coverage: ledger.c. */
#include "cli/summary.h"

#include <math.h>
#include <stdio.h>

#include "base/num.h"
#include "cli/table.h"
#include "scene/properties.h"
#include "write/row.h"

static void clock_cell(table *t, double clock)
{
    char text[8];
    table_text(t, dm_clock_text(clock, text));
}

static bool in_us(const dm_campaign *c)
{
    return c->job->units == DM_UNITS_US;
}

/* Metres, or decimal feet. */
static double shown(const dm_campaign *c, double metres)
{
    return in_us(c) ? metres / 0.3048 : metres;
}

/* "12.345 ± 0.020", with what an open end means. */
static void end_cell(table *t, const dm_campaign *c, const dm_end *end)
{
    dm_buf text = {0};
    dm_buf_fixed(&text, shown(c, end->t), 3);
    dm_buf_puts(&text, " ± ");
    dm_buf_fixed(&text, shown(c, c->job->settings.coverage_factor * end->u), 3);
    if (end->open)
        dm_buf_puts(&text, " open");
    table_text(t, text.failed ? NULL : text.data);
    dm_buf_free(&text);
}

/* Of the middle, as the station equations show it. */
static void bridge_cell(table *t, const dm_campaign *c, const dm_indication *d)
{
    const dm_bridge_place *a = &d->from.bridge, *b = &d->to.bridge;
    double middle = 0.5 * (a->station + b->station);
    table_number(
        t, shown(c, dm_alignment_display(c->model->alignment, middle, NULL)),
        2);
}

static double crew_variance(const dm_greatest *g)
{
    return fmin(g->at.back, g->at.ahead); /* of one that is NAN: the other */
}

static void put_greatest(const dm_campaign *c, size_t tendon, double variance,
                         double t, dm_buf *out)
{
    bool us = in_us(c);
    double u = c->job->settings.coverage_factor * sqrt(variance);
    dm_buf_fixed(out, us ? u / 0.0254 : u * 1e3, us ? 2 : 1);
    dm_buf_printf(out, us ? " in (%s at " : " mm (%s at ",
                  c->model->tendons[tendon].id);
    dm_buf_fixed(out, shown(c, t), 2);
    dm_buf_puts(out, us ? " ft)" : " m)");
}

void summary_bounds(const dm_campaign *c, dm_buf *out)
{
    const dm_greatest *world = NULL, *face = NULL;
    size_t world_on = 0, face_on = 0;
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_indications *f = c->results[i].indications;
        if (!f)
            continue;
        const dm_greatest *w = &f->greatest_world, *r = &f->greatest_face;
        if (w->known && (!world || w->at.world > world->at.world)) {
            world = w;
            world_on = i;
        }
        if (r->known && (!face || crew_variance(r) > crew_variance(face))) {
            face = r;
            face_on = i;
        }
    }
    if (!world)
        return;
    dm_buf_puts(out, "\nstations of readings, U (k = ");
    dm_buf_num(out, c->job->settings.coverage_factor);
    dm_buf_puts(out, "): in the world up to ");
    put_greatest(c, world_on, world->at.world, world->at.t, out);
    if (face) {
        dm_buf_puts(out, ",\n  from the better face up to ");
        put_greatest(c, face_on, crew_variance(face), face->at.t, out);
    }
    dm_buf_puts(out, "\n  (ductmark budget tells what that comes of)\n");
}

/* Low, best and high in litres or cubic inches; no best without a turn. */
static void volume_cell(table *t, const dm_campaign *c, const dm_size *size)
{
    const double inch = 0.0254;
    double unit = in_us(c) ? inch * inch * inch : 1e-3;
    int places = in_us(c) ? 1 : 2;
    const dm_amount *v = &size->volume;
    dm_buf text = {0};
    if (size->basis != DM_SIZE_NONE) {
        dm_buf_fixed(&text, v->low / unit, places);
        dm_buf_puts(&text, " / ");
        if (isnan(v->best))
            dm_buf_puts(&text, "-");
        else
            dm_buf_fixed(&text, v->best / unit, places);
        dm_buf_puts(&text, " / ");
        dm_buf_fixed(&text, v->high / unit, places);
    }
    table_text(t, text.failed || text.data == NULL ? "" : text.data);
    dm_buf_free(&text);
}

/* The nearest of what its place is called after: "anchorage A1 0.10". */
static void place_cell(table *t, const dm_tendon *n, const dm_position *p)
{
    dm_buf text = {0};
    size_t support = p->at == DM_AT_ANCHORAGE  ? p->anchorage
                     : p->at == DM_AT_DEVIATOR ? p->deviator
                                               : DM_NONE;
    dm_buf_puts(&text, dm_position_text(p->at));
    if (support < n->support_count)
        dm_buf_printf(&text, " %s", n->supports[support].id);
    table_text(t, text.failed ? NULL : text.data);
    t->failed = t->failed || text.failed;
    dm_buf_free(&text);
}

void summary_indications(const dm_campaign *c, dm_buf *out)
{
    table t;
    char head[128];
    bool bridge = c->model->alignment != NULL;
    const char *unit = in_us(c) ? "ft" : "m";
    snprintf(head, sizeof head,
             "indication|kind|grade|>from, %s|>to, %s%s|at|clock|>index|"
             ">volume, %s|runs|remark",
             unit, unit, bridge ? "|>on bridge" : "", in_us(c) ? "in³" : "L");
    table_init(&t, head);
    for (size_t i = 0; i < c->model->tendon_count; i++) {
        const dm_indications *f = c->results[i].indications;
        for (size_t k = 0; f && k < f->count; k++) {
            const dm_indication *d = &f->items[k];
            table_text(&t, d->key);
            table_text(&t, dm_kind_text(d->kind));
            table_text(&t, d->grade == DM_NONE
                               ? "no rule"
                               : c->criteria->grades[d->grade].label);
            end_cell(&t, c, &d->from);
            end_cell(&t, c, &d->to);
            if (bridge)
                bridge_cell(&t, c, d);
            place_cell(&t, &c->model->tendons[i], &d->position);
            clock_cell(&t, d->clock);
            table_number(&t, d->index, 2);
            volume_cell(&t, c, &d->size);
            table_count(&t, d->run_count);
            table_text(&t, !d->reconciled ? "not reconciled"
                           : d->shorter_than_footprint
                               ? "shorter than the footprint"
                           : d->across_gap ? "across an unread gap"
                                           : "");
        }
    }
    dm_buf_puts(out, "indications: tendon stations, with expanded "
                     "uncertainty (k = ");
    dm_buf_num(out, c->job->settings.coverage_factor);
    dm_buf_puts(out, bridge ? "); on bridge: the station of the middle, as "
                              "shown; clock looking ahead\n\n"
                            : "); clock looking ahead\n\n");
    table_print(&t, out);
    dm_buf_puts(out, "\nvolume: low / best / high of void-like ones, for "
                     "planning only: depth is not measured;\n  - without a "
                     "turn there is no best value\n");
}
