/* SPDX-License-Identifier: MIT
 * What stands along a tendon on its developed map: concrete, faces, fixtures,
 * the side of the strands, outlines of indications, marks of taps. */
#include <math.h>

#include "scene/properties.h"
#include "write/strip_draw.h"
#include "write/strip_lane.h"

#define PI 3.14159265358979323846
#define TURN (2.0 * PI)
#define INK 0x000000
#define GREY 0x505050
#define PAD 0.6 /* mm, of an outline round its band */
#define MOST_BANDS 64

/* ---- what stands along the tendon --------------------------------------- */

static size_t face_of(const dm_tendon *t, size_t support, dm_side side)
{
    size_t i;

    for (i = 0; i < t->face_count; i++)
        if (t->faces[i].support == support && t->faces[i].side == side)
            return i;
    return DM_NONE;
}

/* One edge of the concrete: a face round the clock, or a plain line. */
static void edge_points(const dm_map *m, size_t face, double t, dm_path *path,
                        bool down)
{
    int k, steps = face == DM_NONE ? 1 : 16;

    for (k = 0; k <= steps; k++) {
        double a = PI * (2.0 * k / steps - 1.0);

        a = down ? a : -a;
        dm_path_line(
            path,
            dm_map_x(m, face == DM_NONE ? t : dm_face_shown(m->p, face, a)),
            dm_map_y(m, a));
    }
}

static void draw_face(const dm_map *m, size_t face)
{
    const dm_face *f = &m->p->tendon->faces[face];
    dm_look line =
        dm_line_look(INK, 0.7, f->touchable ? DM_DASH_SOLID : DM_DASH_DASHED);
    dm_path path = {0};

    if (dm_map_holds(m, f->t, f->t)) {
        edge_points(m, face, f->t, &path, true);
        dm_canvas_path(m->c, &path, &line);
    }
    dm_path_free(&path);
}

static void draw_support(const dm_map *m, size_t index)
{
    const dm_tendon *t = m->p->tendon;
    const dm_support *s = &t->supports[index];
    size_t back = face_of(t, index, DM_SIDE_BACK);
    size_t ahead = face_of(t, index, DM_SIDE_AHEAD);
    double from = index == 0 ? 0.0 : s->t, to = s->t;
    dm_look look = dm_state_look_make(DM_STATE_LOOK_SUPPORT, false);
    dm_path path = {0};

    if (back != DM_NONE)
        from = dm_face_shown(m->p, back, 0.0);
    if (ahead != DM_NONE)
        to = dm_face_shown(m->p, ahead, 0.0);
    if (index == t->support_count - 1)
        to = t->line.length;
    if (!dm_map_holds(m, from, to))
        return;
    look.fill = 0xc8c8c8;
    edge_points(m, back, from, &path, true);
    edge_points(m, ahead, to, &path, false);
    dm_path_close(&path);
    dm_canvas_path(m->c, &path, &look);
    dm_path_free(&path);
}

static void draw_fixture(const dm_map *m, const dm_fixture *f)
{
    dm_look look = dm_line_look(INK, 0.35, DM_DASH_SOLID);
    double low = f->clock_from, high = f->clock_to;

    if (!dm_map_holds(m, f->from, f->to))
        return;
    if (high <= low)
        high += TURN;
    dm_map_rect(m, f->from, fmax(f->to, f->from + 0.3 / m->panel.mm_per_m),
                dm_from_crown(low), dm_from_crown(low) + fmin(high - low, TURN),
                &look);
}

static void draw_strand(const dm_map *m, const dm_strand_side *s)
{
    dm_look halo = dm_line_look(0xffffff, 1.1, DM_DASH_SOLID);
    dm_look line = dm_line_look(INK, 0.5, DM_DASH_CHAIN);
    double y = dm_map_y(m, dm_from_crown(s->clock));

    if (!dm_map_holds(m, s->from, s->to))
        return;
    dm_canvas_line(m->c, dm_map_x(m, s->from), y, dm_map_x(m, s->to), y, &halo);
    dm_canvas_line(m->c, dm_map_x(m, s->from), y, dm_map_x(m, s->to), y, &line);
}

/* ---- names -------------------------------------------------------------- */

static void put_name(const dm_map *m, dm_lanes *lanes, double from, double to,
                     const char *name, bool bold)
{
    const dm_type type = {.size = DM_PRINT_SMALL, .bold = bold, .halo = 0.5};
    double x, width;
    dm_label at;

    if (!dm_map_holds(m, from, to))
        return;
    x = 0.5 * (dm_map_x(m, from) + dm_map_x(m, to));
    width = fmin(dm_canvas_text_width(m->c, name, &type), 45.0);
    at = dm_lanes_place(lanes, x, width);
    dm_canvas_text_fit(m->c, at.from, m->top + 3.2 + 3.5 * (double)at.lane,
                       45.0, name, &type);
}

/* Supports and fixtures in the order of their stations. */
static void draw_names(const dm_map *m)
{
    const dm_tendon *t = m->p->tendon;
    size_t s = 0, f = 0;
    dm_lanes lanes;

    dm_lanes_begin(&lanes, m->panel.x + 0.8,
                   fmax(m->panel.x + m->panel.width - 0.8, m->panel.x + 46.0));
    while (s < t->support_count || f < t->fixture_count) {
        if (f == t->fixture_count ||
            (s < t->support_count && t->supports[s].t <= t->fixtures[f].from)) {
            const dm_support *p = &t->supports[s++];

            put_name(m, &lanes, p->t, p->t,
                     p->name != NULL && p->name[0] != '\0' ? p->name : p->id,
                     true);
        } else {
            const dm_fixture *p = &t->fixtures[f++];

            dm_say_clear(m->p);
            dm_say(m->p, dm_fixture_text(p->kind));
            dm_say(m->p, " ");
            dm_say(m->p, p->id);
            put_name(m, &lanes, p->from, p->to, dm_said(m->p), false);
        }
    }
}

void dm_map_things(const dm_map *m)
{
    const dm_tendon *t = m->p->tendon;
    size_t i;

    for (i = 0; i < t->support_count; i++)
        draw_support(m, i);
    for (i = 0; i < t->face_count; i++)
        draw_face(m, i);
    for (i = 0; i < t->strand_side_count; i++)
        draw_strand(m, &t->strand_sides[i]);
    for (i = 0; i < t->fixture_count; i++)
        draw_fixture(m, &t->fixtures[i]);
    draw_names(m);
}

/* ---- indications -------------------------------------------------------- */

/* The run has a channel on that line. */
static bool on_line(const dm_survey *survey, size_t run, double clock)
{
    const dm_run *r = &survey->runs[run];
    const dm_instrument *i = &survey->instruments[r->instrument];
    size_t k;

    for (k = 0; k < i->channel_count; k++)
        if (fabs(dm_from_crown(r->clock + i->channels[k].clock_offset -
                               clock)) < 0.0175)
            return true;
    return false;
}

static bool shows(const dm_map *m, const dm_indication *item, double clock)
{
    const dm_survey *survey = m->p->delivery->survey;
    size_t i;

    if (fabs(dm_from_crown(item->clock - clock)) < 0.0175)
        return true;
    for (i = 0; survey != NULL && i < item->run_count; i++)
        if (item->runs[i] < survey->run_count &&
            on_line(survey, item->runs[i], clock))
            return true;
    return false;
}

/* The bands of all lines that show it, neighbours as one; their number. */
static size_t bands_of(const dm_map *m, const dm_indication *item,
                       dm_swath bands[MOST_BANDS])
{
    const dm_indications *f = m->p->found;
    size_t i, k, n = 0, merged = 0;

    for (i = 0; i < f->cover_line_count && n < MOST_BANDS; i++) {
        dm_swath b = dm_swath_of(m, i);

        if (!shows(m, item, f->cover_lines[i].clock))
            continue;
        for (k = n++; k > 0 && bands[k - 1].low > b.low; k--)
            bands[k] = bands[k - 1];
        bands[k] = b;
    }
    if (n == 0)
        bands[n++] = dm_swath_at(m, item->clock);
    for (i = 0; i < n; i++)
        if (i > 0 && bands[i].low <= bands[merged - 1].high + 1e-6)
            bands[merged - 1].high =
                fmax(bands[merged - 1].high, bands[i].high);
        else
            bands[merged++] = bands[i];
    return merged;
}

/* Outline x0..x1 of y0..y1, without the sides that are open. */
static void outline(const dm_map *m, double x0, double x1, double y0, double y1,
                    bool open_from, bool open_to, const dm_look *look)
{
    dm_path path = {0};

    dm_path_move(&path, x0, y0);
    dm_path_line(&path, x1, y0);
    if (open_to)
        dm_path_move(&path, x1, y1);
    else
        dm_path_line(&path, x1, y1);
    dm_path_line(&path, x0, y1);
    if (!open_from)
        dm_path_line(&path, x0, y0);
    dm_canvas_path(m->c, &path, look);
    dm_path_free(&path);
}

static void arrow(const dm_map *m, double x, double y, double to)
{
    const double tip[] = {x + 2.4 * to, y,      x + 0.6 * to, y - 1.1,
                          x + 0.6 * to, y + 1.1};
    dm_look look = dm_fill_look(INK);

    look.stroke = 0xffffff;
    look.width = 0.25;
    dm_canvas_polygon(m->c, tip, 3, &look);
}

static void outline_indication(const dm_map *m, const dm_indication *item)
{
    double from = dm_map_x(m, item->from.t), to = dm_map_x(m, item->to.t);
    bool begins = item->from.t >= m->panel.from;
    bool ends = item->to.t <= m->panel.to;
    dm_look halo = dm_line_look(0xffffff, 1.5, DM_DASH_SOLID);
    dm_look line = dm_line_look(
        INK, 0.55, item->reconciled ? DM_DASH_SOLID : DM_DASH_DASHED);
    bool open_from = !begins || item->from.open;
    bool open_to = !ends || item->to.open;
    dm_swath bands[MOST_BANDS];
    size_t i, n = bands_of(m, item, bands);

    if (to - from < 1.0) {
        from = 0.5 * (from + to) - 0.5;
        to = from + 1.0;
    }
    for (i = 0; i < n; i++) {
        double low = dm_map_y(m, bands[i].low) - PAD;
        double high = dm_map_y(m, bands[i].high) + PAD;

        outline(m, from, to, low, high, open_from, open_to, &halo);
        outline(m, from, to, low, high, open_from, open_to, &line);
        if (begins && item->from.open)
            arrow(m, from, 0.5 * (low + high), -1.0);
        if (ends && item->to.open)
            arrow(m, to, 0.5 * (low + high), 1.0);
    }
}

void dm_map_indications(const dm_map *m)
{
    const dm_indications *f = m->p->found;
    size_t i;

    for (i = 0; f != NULL && i < f->count; i++)
        if (dm_map_holds(m, f->items[i].from.t, f->items[i].to.t))
            outline_indication(m, &f->items[i]);
}

/* ---- taps --------------------------------------------------------------- */

static void tap_mark(const dm_map *m, const dm_tap *tap)
{
    double x = dm_panel_x(&m->panel, tap->t),
           y = dm_map_y(m, dm_from_crown(tap->clock));
    dm_look look = dm_fill_look(0xffffff);
    dm_look line = dm_line_look(INK, 0.45, DM_DASH_SOLID);
    const double square[] = {x - 1.2, y - 1.2, x + 1.2, y - 1.2,
                             x + 1.2, y + 1.2, x - 1.2, y + 1.2};
    const double wedge[] = {x, y - 1.6, x + 1.5, y + 1.1, x - 1.5, y + 1.1};

    look.stroke = INK;
    look.width = 0.45;
    if (tap->advice == DM_ADVICE_TAP) {
        dm_canvas_circle(m->c, x, y, 1.3, &look);
        dm_canvas_line(m->c, x - 1.9, y, x + 1.9, y, &line);
        dm_canvas_line(m->c, x, y - 1.9, x, y + 1.9, &line);
    } else if (tap->advice == DM_ADVICE_HAND_TOOL) {
        dm_canvas_polygon(m->c, square, 4, &look);
    } else {
        dm_canvas_polygon(m->c, wedge, 3, &look);
    }
}

void dm_map_taps(const dm_map *m)
{
    const dm_taps *taps = m->p->taps;
    size_t i;

    for (i = 0; taps != NULL && i < taps->count; i++)
        if (taps->items[i].t >= m->panel.from &&
            taps->items[i].t <= m->panel.to)
            tap_mark(m, &taps->items[i]);
}
