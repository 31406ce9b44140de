/* SPDX-License-Identifier: MIT
 * The tendon in elevation, along its plan length: where on it a page is.
 * Heights are true to the length unless the figure would be too flat to be
 * seen; then they are raised by a stated factor. */
#include <math.h>
#include <stdio.h>

#include "write/strip.h"
#include "write/strip_lane.h"

#define STEPS 240
#define FLAT 8.0  /* mm: less high than that is raised */
#define TALL 26.0 /* mm */
#define BLACK 0x000000

static const dm_type small = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_CENTRE};

typedef struct {
    dm_paper *s;
    double *plan;     /* [STEPS + 1] plan length up to each step, m */
    double low, high; /* Z, m */
    double x, bottom; /* mm */
    double mm_per_m, raise;
} view;

static double station(const view *v, size_t i)
{
    return v->s->picture.tendon->line.length * (double)i / STEPS;
}

static void survey_line(view *v)
{
    const dm_centreline *line = &v->s->picture.tendon->line;
    dm_vec3 before = dm_centreline_point(line, 0.0), now;
    size_t i;

    v->low = v->high = before.z;
    v->plan[0] = 0.0;
    for (i = 1; i <= STEPS; i++) {
        now = dm_centreline_point(line, station(v, i));
        v->plan[i] = v->plan[i - 1] + hypot(now.x - before.x, now.y - before.y);
        v->low = fmin(v->low, now.z);
        v->high = fmax(v->high, now.z);
        before = now;
    }
}

static double plan_at(const view *v, double t)
{
    double at = t / v->s->picture.tendon->line.length * STEPS;
    size_t i = (size_t)fmin(fmax(floor(at), 0.0), STEPS - 1.0);

    return v->plan[i] + (v->plan[i + 1] - v->plan[i]) * (at - (double)i);
}

static double x_at(const view *v, double t)
{
    return v->x + plan_at(v, t) * v->mm_per_m;
}

static double y_at(const view *v, double t)
{
    double z = dm_centreline_point(&v->s->picture.tendon->line, t).z;

    return v->bottom - (z - v->low) * v->mm_per_m * v->raise;
}

static void fit(view *v, bool thumbnail)
{
    double width = v->s->right - v->s->left - 8.0;
    double tall = thumbnail ? 0.4 * TALL : TALL;
    double flat = thumbnail ? 0.6 * FLAT : FLAT;
    double plan = fmax(v->plan[STEPS], 1e-3), rise = v->high - v->low;

    v->mm_per_m = fmin(width / plan, tall / fmax(rise, 1e-3));
    v->raise = 1.0;
    if (rise > 0.01 && rise * v->mm_per_m < flat)
        v->raise = fmax(fmin(floor(flat / (rise * v->mm_per_m)), 20.0), 1.0);
    v->x = v->s->left + 4.0 + 0.5 * (width - plan * v->mm_per_m);
}

/* ---- parts -------------------------------------------------------------- */

static void trace(const view *v, double from, double to, const dm_look *look)
{
    dm_path path = {0};
    size_t i;

    dm_path_move(&path, x_at(v, from), y_at(v, from));
    for (i = 0; i <= STEPS; i++)
        if (station(v, i) > from && station(v, i) < to)
            dm_path_line(&path, x_at(v, station(v, i)), y_at(v, station(v, i)));
    dm_path_line(&path, x_at(v, to), y_at(v, to));
    dm_canvas_path(v->s->picture.canvas, &path, look);
    dm_path_free(&path);
}

static void draw_lengths(const view *v)
{
    const dm_picture *p = &v->s->picture;
    dm_look tested = dm_line_look(BLACK, 0.9, DM_DASH_SOLID);
    dm_look masked = dm_line_look(0x8c8c8c, 0.9, DM_DASH_SOLID);
    dm_look other = dm_line_look(0x0072b2, 0.5, DM_DASH_DASHED);
    dm_look axis = dm_line_look(0x0072b2, 0.2, DM_DASH_SOLID);
    size_t i;

    trace(v, 0.0, p->tendon->line.length, &axis);
    for (i = 0; p->found != NULL && i < p->found->cover_count; i++) {
        const dm_cover_length *c = &p->found->cover[i];

        trace(v, c->from, c->to,
              c->cover == DM_COVER_TESTED          ? &tested
              : c->cover == DM_COVER_STRAND_MASKED ? &masked
                                                   : &other);
    }
}

/* Panels under the line; those of this page thick. */
static void draw_panels(const view *v, double y, size_t from, size_t to)
{
    dm_canvas *c = v->s->picture.canvas;
    dm_type type = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_CENTRE};
    char name[24];
    size_t i;

    for (i = 0; i < v->s->panel_count; i++) {
        dm_panel panel = dm_strip_panel(v->s, i);
        bool here = i >= from && i < to;
        dm_look line = dm_line_look(here ? BLACK : 0x8c8c8c, here ? 0.8 : 0.3,
                                    DM_DASH_SOLID);
        double a = x_at(v, panel.from) + 0.4, b = x_at(v, panel.to) - 0.4;

        dm_canvas_line(c, a, y, fmax(a, b), y, &line);
        type.bold = here;
        type.halo = 0.6;
        snprintf(name, sizeof name, "%zu", i + 1);
        dm_canvas_text(c, 0.5 * (a + b), y + 1.0, name, &type);
    }
}

static void draw_supports(const view *v)
{
    const dm_tendon *t = v->s->picture.tendon;
    dm_look block = dm_fill_look(0xb4b4b4);
    size_t i;

    block.stroke = BLACK;
    block.width = 0.2;
    for (i = 0; i < t->support_count; i++) {
        double x = x_at(v, t->supports[i].t), y = y_at(v, t->supports[i].t);

        dm_canvas_rect(v->s->picture.canvas,
                       i == 0                      ? x - 1.6
                       : i + 1 == t->support_count ? x
                                                   : x - 0.8,
                       y - 2.0, 1.6, 4.0, &block);
    }
}

static void draw_finds(const view *v)
{
    const dm_picture *p = &v->s->picture;
    dm_look mark = dm_fill_look(BLACK);
    size_t i;

    for (i = 0; p->found != NULL && i < p->found->count; i++) {
        const dm_indication *n = &p->found->items[i];
        double t = 0.5 * (n->from.t + n->to.t), x = x_at(v, t);
        double y = y_at(v, t) - 1.2;
        const double wedge[] = {x, y, x - 1.3, y - 2.4, x + 1.3, y - 2.4};

        dm_canvas_polygon(p->canvas, wedge, 3, &mark);
    }
}

/* Names above, as many lanes as they need; returns their height. */
static double draw_names(const view *v, double y, bool draw)
{
    const dm_tendon *t = v->s->picture.tendon;
    dm_type type = small;
    dm_lanes lanes;
    size_t i;

    type.align = DM_ALIGN_LEFT;
    dm_lanes_begin(&lanes, v->s->left, v->s->right);
    for (i = 0; i < t->support_count; i++) {
        const dm_support *s = &t->supports[i];
        const char *name =
            s->name != NULL && s->name[0] != '\0' ? s->name : s->id;
        double width =
            fmin(dm_canvas_text_width(v->s->picture.canvas, name, &type), 40.0);
        dm_label at = dm_lanes_place(&lanes, x_at(v, s->t), width);

        if (draw)
            dm_canvas_text_fit(v->s->picture.canvas, at.from,
                               y + 2.9 + 3.6 * (double)at.lane, 40.0, name,
                               &type);
    }
    return 3.6 * (double)lanes.used;
}

static void draw_factor(const view *v, double y)
{
    dm_picture *p = &v->s->picture;
    dm_type type = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_RIGHT};

    dm_say_clear(p);
    dm_say(p, "elevation");
    if (v->raise > 1.0) {
        dm_say(p, ", heights ");
        dm_buf_num(&p->say, v->raise);
        dm_say(p, " times");
    } else {
        dm_say(p, " in true shape");
    }
    dm_say(p, "; thick: tested; \xe2\x96\xbc indication; numbers: the panels "
              "below");
    dm_canvas_text(p->canvas, v->s->right, y, dm_said(p), &type);
}

double dm_strip_elevation(dm_paper *s, double y, size_t from, size_t to,
                          bool thumbnail, bool draw)
{
    double plan[STEPS + 1], names, height, under;
    view v = {.s = s, .plan = plan};

    survey_line(&v);
    fit(&v, thumbnail);
    names = draw_names(&v, y, false);
    height = (v.high - v.low) * v.mm_per_m * v.raise;
    v.bottom = y + names + 5.0 + height;
    under = v.bottom + 4.5;
    if (draw) {
        draw_names(&v, y, true);
        draw_lengths(&v);
        draw_supports(&v);
        draw_finds(&v);
        draw_panels(&v, under, from, to);
        draw_factor(&v, under + 4.8);
    }
    return under + 7.5 - y;
}
