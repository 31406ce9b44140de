/* SPDX-License-Identifier: MIT
 * Words and scales beside the developed map. Labels begin at their place and
 * stand in lanes filled from the right, so that the line that leads to one
 * passes left of those below it. */
#include <math.h>

#include "scene/colour.h"
#include "scene/properties.h"
#include "write/strip_draw.h"
#include "write/strip_lane.h"

#define INK 0x000000
#define GREY 0x505050

static const dm_type small = {.size = DM_PRINT_SMALL, .halo = 0.5};
static const dm_type small_bold = {
    .size = DM_PRINT_SMALL, .bold = true, .halo = 0.5};

typedef enum { MEASURE, LEAD, WRITE } pass;

static double lane_high(void)
{
    return 2.0 * dm_type_leading(&small) + 1.0;
}

/* ---- indications -------------------------------------------------------- */

static void say_end(dm_picture *p, const dm_end *end, bool unit)
{
    dm_say_length(p, end->t, unit);
    dm_say_bound(p, end->u);
    if (end->open)
        dm_say(p, " or beyond");
}

static void say_extent(dm_picture *p, const dm_indication *item)
{
    dm_say_clear(p);
    say_end(p, &item->from, p->us);
    dm_say(p, " to ");
    say_end(p, &item->to, true);
    if (item->shorter_than_footprint)
        dm_say(p, ", at most");
}

static void say_indication(dm_picture *p, const dm_indication *item)
{
    dm_say_clear(p);
    dm_say(p, item->key);
    dm_say(p, "  ");
    dm_say(p, dm_kind_text(item->kind));
    dm_say(p, ", ");
    dm_say(p, dm_grade_label(p, item));
    if (!item->reconciled)
        dm_say(p, ", not reconciled");
}

static double anchor_of(const dm_map *m, const dm_indication *item)
{
    return dm_map_x(m, 0.5 * (fmax(item->from.t, m->panel.from) +
                              fmin(item->to.t, m->panel.to)));
}

static dm_label place_found(const dm_map *m, const dm_indication *item,
                            dm_lanes *lanes)
{
    double a, b;

    say_indication(m->p, item);
    a = dm_canvas_text_width(m->c, dm_said(m->p), &small_bold);
    say_extent(m->p, item);
    b = dm_canvas_text_width(m->c, dm_said(m->p), &small);
    return dm_lanes_place_right(lanes, anchor_of(m, item) - 0.8,
                                fmax(a, b) + 2.8);
}

static void lead_found(const dm_map *m, const dm_indication *item, double y)
{
    double x = anchor_of(m, item);
    dm_look lead = dm_line_look(INK, 0.2, DM_DASH_SOLID);

    dm_canvas_line(m->c, x, y + 1.0, x,
                   dm_map_y(m, dm_swath_at(m, item->clock).low) - 0.6, &lead);
}

static void write_found(const dm_map *m, const dm_indication *item, double x,
                        double y)
{
    dm_rgba c = dm_colour_grade(m->p->delivery->criteria, item->grade);
    dm_look tab = dm_fill_look((uint32_t)c.rgba[0] << 16 |
                               (uint32_t)c.rgba[1] << 8 | (uint32_t)c.rgba[2]);
    double step = dm_type_leading(&small);

    tab.stroke = INK;
    tab.width = 0.15;
    dm_canvas_rect(m->c, x, y - 2.6, 1.6, step + 3.1, &tab);
    say_indication(m->p, item);
    dm_canvas_text(m->c, x + 2.6, y, dm_said(m->p), &small_bold);
    say_extent(m->p, item);
    dm_canvas_text(m->c, x + 2.6, y + step, dm_said(m->p), &small);
}

/* Lane 0 is the lowest; returns the number of lanes. */
static size_t found_pass(const dm_map *m, pass what, double lowest)
{
    const dm_indications *f = m->p->found;
    dm_lanes lanes;
    size_t i;

    dm_lanes_begin(&lanes, m->panel.x, m->s->right);
    for (i = f != NULL ? f->count : 0; i > 0; i--) {
        const dm_indication *item = &f->items[i - 1];
        dm_label at;
        double y;

        if (!dm_map_holds(m, item->from.t, item->to.t))
            continue;
        at = place_found(m, item, &lanes);
        y = lowest - lane_high() * (double)at.lane;
        if (what == LEAD)
            lead_found(m, item, y);
        else if (what == WRITE)
            write_found(m, item, at.from, y);
    }
    return lanes.used;
}

double dm_map_found_labels(const dm_map *m, double y, bool draw)
{
    double high = lane_high() * (double)found_pass(m, MEASURE, 0.0);
    double lowest = y + high - dm_type_leading(&small) - 1.4;

    if (draw) {
        found_pass(m, LEAD, lowest);
        found_pass(m, WRITE, lowest);
    }
    return high;
}

/* ---- taps --------------------------------------------------------------- */

static void say_tap(dm_picture *p, const dm_tap *tap)
{
    dm_say_clear(p);
    dm_say(p, tap->id);
    dm_say(p, "  at ");
    dm_say_clock(p, tap->clock);
    if (tap->advice != DM_ADVICE_TAP) {
        dm_say(p, ": ");
        dm_say(p, dm_advice_text(tap->advice));
    }
}

static void say_tapes(dm_picture *p, const dm_tap *tap)
{
    const dm_tape *tapes[2] = {&tap->back, &tap->ahead};
    bool any = false;
    int k;

    dm_say_clear(p);
    for (k = 0; k < 2; k++) {
        if (tapes[k]->face >= p->tendon->face_count)
            continue;
        dm_say(p, any ? ", " : "");
        dm_say(p, p->tendon->faces[tapes[k]->face].id);
        dm_say(p, k == 0 ? " + " : " \xe2\x88\x92 ");
        dm_say_length(p, tapes[k]->distance, true);
        any = true;
    }
    if (!any)
        dm_say(p, "no touchable face");
}

static size_t tap_pass(const dm_map *m, pass what, double line, double y)
{
    const dm_taps *taps = m->p->taps;
    const dm_look lead = dm_line_look(INK, 0.2, DM_DASH_SOLID);
    double step = dm_type_leading(&small), a, b, x, at_y;
    dm_lanes lanes;
    dm_label at;
    size_t i;

    dm_lanes_begin(&lanes, m->panel.x, m->s->right);
    for (i = taps != NULL ? taps->count : 0; i > 0; i--) {
        const dm_tap *tap = &taps->items[i - 1];

        if (tap->t < m->panel.from || tap->t > m->panel.to)
            continue;
        x = dm_panel_x(&m->panel, tap->t);
        say_tap(m->p, tap);
        a = dm_canvas_text_width(m->c, dm_said(m->p), &small_bold);
        say_tapes(m->p, tap);
        b = dm_canvas_text_width(m->c, dm_said(m->p), &small);
        at = dm_lanes_place_right(&lanes, x + 0.8, fmax(a, b));
        at_y = y + 2.8 + lane_high() * (double)at.lane;
        if (what == LEAD)
            dm_canvas_line(m->c, x, line, x, at_y + step, &lead);
        if (what != WRITE)
            continue;
        say_tap(m->p, tap);
        dm_canvas_text(m->c, at.from, at_y, dm_said(m->p), &small_bold);
        say_tapes(m->p, tap);
        dm_canvas_text(m->c, at.from, at_y + step, dm_said(m->p), &small);
    }
    return lanes.used;
}

double dm_map_tap_labels(const dm_map *m, double line, double y, bool draw)
{
    if (draw) {
        tap_pass(m, LEAD, line, y);
        tap_pass(m, WRITE, line, y);
    }
    return lane_high() * (double)tap_pass(m, MEASURE, line, y);
}

/* The string that tapes are read on: faces above it, taps below. */
void dm_map_dimensions(const dm_map *m, double y)
{
    const dm_tendon *t = m->p->tendon;
    dm_look line = dm_line_look(INK, 0.2, DM_DASH_SOLID);
    dm_look tick = dm_line_look(INK, 0.5, DM_DASH_SOLID);
    size_t i;

    dm_canvas_line(m->c, m->panel.x, y, m->panel.x + m->panel.width, y, &line);
    for (i = 0; i < t->face_count; i++) {
        bool back = t->faces[i].side == DM_SIDE_BACK;
        double at = dm_face_shown(m->p, i, 0.0), x = dm_panel_x(&m->panel, at);
        dm_type type = small;

        if (at < m->panel.from || at > m->panel.to)
            continue;
        type.align = back ? DM_ALIGN_RIGHT : DM_ALIGN_LEFT;
        dm_canvas_line(m->c, x, y - 1.2, x, y + 1.2, &tick);
        dm_canvas_text_fit(m->c, x + (back ? -0.8 : 0.8), y - 0.7, 30.0,
                           t->faces[i].id, &type);
    }
    for (i = 0; m->p->taps != NULL && i < m->p->taps->count; i++) {
        double at = m->p->taps->items[i].t, x = dm_panel_x(&m->panel, at);

        if (at >= m->panel.from && at <= m->panel.to)
            dm_canvas_line(m->c, x, y, x, y + 1.8, &tick);
    }
}

/* ---- scales ------------------------------------------------------------- */

void dm_map_clock(const dm_map *m)
{
    static const char *const text[] = {"6", "9", "12", "3", "6"};
    dm_type type = {.size = DM_PRINT_SMALL, .align = DM_ALIGN_RIGHT};
    dm_look line = dm_line_look(GREY, 0.15, DM_DASH_DOTTED);
    int k;

    for (k = 0; k <= 4; k++) {
        double y = m->top + 0.25 * k * m->height;

        type.bold = k == 2;
        dm_canvas_text(m->c, m->panel.x - 1.2, y + 1.0, text[k], &type);
        if (k > 0 && k < 4)
            dm_canvas_line(m->c, m->panel.x, y, m->panel.x + m->panel.width, y,
                           &line);
    }
}

/* Numbers at the panel's edge begin there, so that the unit beside it stays
 * free. */
static void put_number(const dm_map *m, double x, double y, uint32_t colour)
{
    dm_type type = {
        .size = DM_PRINT_SMALL, .align = DM_ALIGN_CENTRE, .colour = colour};

    if (x - m->panel.x < 6.0) {
        type.align = DM_ALIGN_LEFT;
        x = fmax(x - 1.0, m->panel.x - 1.0);
    }
    dm_canvas_text(m->c, x, y, dm_said(m->p), &type);
}

static void bridge_number(const dm_map *m, double t, double x, double y)
{
    dm_bridge_place b = dm_model_bridge_place(
        m->p->delivery->model, dm_centreline_point(&m->p->tendon->line, t));

    if (!b.known)
        return;
    dm_say_clear(m->p);
    dm_buf_fixed(&m->p->say, m->p->us ? b.shown / 0.3048 : b.shown, 2);
    put_number(m, x, y, GREY);
}

/* Distance of numbers and the parts it is cut into, for mm_per_unit. */
static double choose_step(double mm_per_unit, double least, int *parts)
{
    static const struct {
        double step;
        int parts;
    } steps[] = {{0.1, 5}, {0.2, 4}, {0.5, 5},  {1.0, 5},
                 {2.0, 4}, {5.0, 5}, {10.0, 5}, {20.0, 4}};
    size_t i = 0;

    while (i < 7 && steps[i].step * mm_per_unit < least)
        i++;
    *parts = steps[i].parts;
    return steps[i].step;
}

double dm_map_stations(const dm_map *m, bool draw)
{
    const double unit = m->p->us ? 0.3048 : 1.0;
    bool bridge = m->p->delivery->model->alignment != NULL;
    double y = m->top + m->height, step, k;
    dm_look line = dm_line_look(INK, 0.25, DM_DASH_SOLID);
    int parts;

    if (!draw)
        return bridge ? 8.2 : 4.8;
    step = choose_step(unit * m->panel.mm_per_m, bridge ? 18.0 : 12.0, &parts);
    for (k = ceil(m->panel.from / unit / step * parts - 1e-9);
         k * step / parts * unit <= m->panel.to + 1e-9; k += 1.0) {
        double t = k * step / parts * unit, x = dm_panel_x(&m->panel, t);
        bool big = fmod(k, (double)parts) == 0.0;

        dm_canvas_line(m->c, x, y, x, y + (big ? 1.8 : 0.9), &line);
        if (!big)
            continue;
        dm_say_clear(m->p);
        dm_buf_fixed(&m->p->say, k * step / parts, step < 1.0 ? 1 : 0);
        put_number(m, x, y + 4.6, INK);
        if (bridge)
            bridge_number(m, t, x, y + 8.0);
    }
    dm_canvas_text(m->c, m->s->left, y + 4.6, m->p->us ? "ft" : "m", &small);
    if (bridge)
        dm_canvas_text(m->c, m->s->left, y + 8.0, "bridge", &small);
    return bridge ? 8.2 : 4.8;
}
