/* SPDX-License-Identifier: MIT
 * The tendon from the side, to scale along its plan length, heights raised by
 * a factor that is stated, with what holds it by name; below it, for each tap
 * of the page, the dimension string from face to tap to face. */
#include <math.h>

#include "write/sheet.h"
#include "write/strip_lane.h"

#define STEPS 240
#define TALL 20.0     /* mm, of the line at most */
#define FLAT 9.0      /* mm: less high than that is raised */
#define ROW 8.0       /* mm, of a dimension string */
#define OVER_TEXT 5.6 /* mm, from a string to above its tapes */
#define NAMES 5.0     /* mm, of a lane of names */
#define BLACK 0x000000

static const dm_type text = {.size = DM_SHEET_TEXT};
static const dm_type strong = {.size = DM_SHEET_TEXT, .bold = true};

typedef struct {
    dm_sheet_page *s;
    dm_picture *p;
    double plan[STEPS + 1]; /* plan length up to each step, m */
    double low, high;       /* Z, m */
    double x, bottom;       /* mm */
    double scale, mm_per_m, raise;
} view;

/* ---- scale ----------------------------------------------------------------
 */

static void survey_line(view *v)
{
    const dm_centreline *line = &v->p->tendon->line;
    dm_vec3 before = dm_centreline_point(line, 0.0), now;
    size_t i;

    v->low = v->high = before.z;
    v->plan[0] = 0.0;
    for (i = 1; i <= STEPS; i++) {
        now = dm_centreline_point(line, line->length * (double)i / STEPS);
        v->plan[i] = v->plan[i - 1] + hypot(now.x - before.x, now.y - before.y);
        v->low = fmin(v->low, now.z);
        v->high = fmax(v->high, now.z);
        before = now;
    }
}

/* The largest usual scale that fits. */
static void choose_scale(view *v)
{
    static const double metric[] = {10,  20,  25,  50,  75,  100, 125,  150,
                                    200, 250, 300, 400, 500, 750, 1000, 2000};
    static const double us[] = {12,  24,  48,  60,  72,  96,  120,  144,
                                192, 240, 360, 480, 600, 840, 1200, 2400};
    const double *scales = v->p->us ? us : metric;
    double width = v->s->paper.right - v->s->paper.left - 8.0;
    double rise = v->high - v->low;
    size_t i = 0;

    while (i < 15 && (v->plan[STEPS] * 1000.0 / scales[i] > width ||
                      rise * 1000.0 / scales[i] > TALL))
        i++;
    v->scale = scales[i];
    v->mm_per_m = 1000.0 / v->scale;
    v->raise = 1.0;
    if (rise > 0.01 && rise * v->mm_per_m < FLAT)
        v->raise = fmax(fmin(floor(FLAT / (rise * v->mm_per_m)), 20.0), 1.0);
    v->x =
        v->s->paper.left + 4.0 + 0.5 * (width - v->plan[STEPS] * v->mm_per_m);
}

static double x_at(const view *v, double t)
{
    double at = t / v->p->tendon->line.length * STEPS;
    size_t i = (size_t)fmin(fmax(floor(at), 0.0), STEPS - 1.0);

    return v->x +
           (v->plan[i] + (v->plan[i + 1] - v->plan[i]) * (at - (double)i)) *
               v->mm_per_m;
}

static double y_at(const view *v, double t)
{
    double z = dm_centreline_point(&v->p->tendon->line, t).z;

    return v->bottom - (z - v->low) * v->mm_per_m * v->raise;
}

/* ---- the line --------------------------------------------------------------
 */

static void draw_line(const view *v)
{
    dm_look line = dm_line_look(BLACK, 0.8, DM_DASH_SOLID);
    double length = v->p->tendon->line.length;
    dm_path path = {0};
    size_t i;

    for (i = 0; i <= STEPS; i++)
        dm_path_line(&path, x_at(v, length * (double)i / STEPS),
                     y_at(v, length * (double)i / STEPS));
    dm_canvas_path(v->p->canvas, &path, &line);
    dm_path_free(&path);
}

/* Concrete: between the faces, at an anchorage behind its face. */
static void draw_support(const view *v, size_t index)
{
    const dm_tendon *n = v->p->tendon;
    dm_look block = dm_fill_look(0xc8c8c8);
    double from = x_at(v, n->supports[index].t) - 0.8, to = from + 1.6;
    double y = y_at(v, n->supports[index].t);
    size_t i;

    for (i = 0; i < n->face_count; i++)
        if (n->faces[i].support == index) {
            double x = x_at(v, n->faces[i].t);

            if (n->faces[i].side == DM_SIDE_AHEAD)
                to = fmax(to, x);
            else
                from = fmin(from, x);
        }
    if (index == 0)
        from = fmin(from, x_at(v, 0.0) - 1.6);
    if (index + 1 == n->support_count)
        to = fmax(to, x_at(v, n->line.length) + 1.6);
    block.stroke = BLACK;
    block.width = 0.3;
    block.hatch = DM_HATCH_FALLING;
    block.hatch_colour = 0x606060;
    block.hatch_step = 1.2;
    block.hatch_width = 0.15;
    dm_canvas_rect(v->p->canvas, from, y - 2.6, to - from, 5.2, &block);
}

/* Names above, in as many lanes as they need; returns their height. */
static double put_names(const view *v, double y, bool draw)
{
    const dm_tendon *n = v->p->tendon;
    dm_canvas *c = v->p->canvas;
    dm_look lead = dm_line_look(0x606060, 0.15, DM_DASH_SOLID);
    dm_lanes lanes;
    size_t i;

    dm_lanes_begin(&lanes, v->s->paper.left, v->s->paper.right);
    for (i = 0; i < n->support_count; i++) {
        const dm_support *s = &n->supports[i];
        const char *name = dm_sheet_name(s->name, s->id);
        double width = fmin(dm_canvas_text_width(c, name, &text), 60.0);
        dm_label at = dm_lanes_place(&lanes, x_at(v, s->t), width);
        double base = y + 3.8 + NAMES * (double)at.lane;

        if (!draw)
            continue;
        dm_canvas_line(c, x_at(v, s->t), base + 1.0, x_at(v, s->t),
                       y_at(v, s->t) - 2.6, &lead);
        dm_canvas_text_fit(c, at.from, base, 60.0, name, &text);
    }
    return NAMES * (double)lanes.used;
}

/* ---- dimension strings -----------------------------------------------------
 */

static void tick(const view *v, double x, double y)
{
    dm_look line = dm_line_look(BLACK, 0.5, DM_DASH_SOLID);

    dm_canvas_line(v->p->canvas, x, y - 1.6, x, y + 1.6, &line);
}

/* Text beside the tap, inside the page, none over the other. True: near an end
 * of the page, where some of it stands across the tap. */
static bool put_tapes(const view *v, const dm_tap *tap, double x, double y)
{
    dm_picture *p = v->p;
    double left = v->s->paper.left, right = v->s->paper.right;
    double a, b, wa = 0.0, wb = 0.0;
    bool across = false;
    dm_buf back = {0}, ahead = {0};
    dm_type over = strong;

    over.halo = 0.8;

    dm_say_clear(p);
    dm_say(p, tap->id);
    dm_say(p, tap->back.face == DM_NONE ? "" : "   ");
    if (tap->back.face != DM_NONE) {
        dm_say(p, p->tendon->faces[tap->back.face].id);
        dm_say(p, " \xe2\x86\x92 ");
        dm_sheet_say_tape(p, tap->back.distance);
    }
    dm_buf_puts(&back, dm_said(p));
    dm_say_clear(p);
    if (tap->ahead.face != DM_NONE) {
        dm_sheet_say_tape(p, tap->ahead.distance);
        dm_say(p, " \xe2\x86\x90 ");
        dm_say(p, p->tendon->faces[tap->ahead.face].id);
    }
    dm_buf_puts(&ahead, dm_said(p));
    if (!back.failed && !ahead.failed) {
        wa = dm_canvas_text_width(p->canvas, back.data, &strong);
        wb = dm_canvas_text_width(p->canvas, ahead.data, &strong);
        a = fmax(left, x - 2.0 - wa);
        b = fmax(x + 2.0, a + wa + 4.0);
        b = fmin(b, right - wb);
        a = fmax(left, fmin(a, b - 4.0 - wa));
        dm_canvas_text(p->canvas, a, y - 2.0, back.data, &over);
        dm_canvas_text(p->canvas, b, y - 2.0, ahead.data, &over);
        across = (x > a - 1.0 && x < a + wa + 1.0) ||
                 (x > b - 1.0 && x < b + wb + 1.0);
    }
    p->say.failed = p->say.failed || back.failed || ahead.failed;
    dm_buf_free(&back);
    dm_buf_free(&ahead);
    return across;
}

static void put_string(const view *v, const dm_tap *tap, double y)
{
    dm_canvas *c = v->p->canvas;
    dm_look line = dm_line_look(BLACK, 0.35, DM_DASH_SOLID);
    dm_look lead = dm_line_look(BLACK, 0.2, DM_DASH_DASHED);
    dm_look mark = dm_fill_look(0xffffff);
    double x = x_at(v, tap->t), a = x, b = x;
    bool over;

    mark.stroke = BLACK;
    mark.width = 0.6;
    if (tap->back.face != DM_NONE)
        a = x_at(v, dm_face_shown(v->p, tap->back.face, tap->line));
    if (tap->ahead.face != DM_NONE)
        b = x_at(v, dm_face_shown(v->p, tap->ahead.face, tap->line));
    over = put_tapes(v, tap, x, y);
    dm_canvas_line(c, x, y_at(v, tap->t) + 1.6, x, over ? y - OVER_TEXT : y,
                   &lead);
    dm_canvas_line(c, a, y, b, y, &line);
    if (tap->back.face != DM_NONE)
        tick(v, a, y);
    if (tap->ahead.face != DM_NONE)
        tick(v, b, y);
    dm_canvas_circle(c, x, y_at(v, tap->t), 1.6, &mark);
    dm_canvas_circle(c, x, y, 0.9, &mark);
}

static void put_title(const view *v, double y)
{
    dm_picture *p = v->p;
    dm_type right = {.size = DM_SHEET_TEXT, .align = DM_ALIGN_RIGHT};

    dm_canvas_text(p->canvas, v->s->paper.left, y, "From the side", &strong);
    dm_say_clear(p);
    dm_say(p, "1:");
    dm_buf_num(&p->say, v->scale);
    dm_say(p, " along");
    if (v->raise > 1.0) {
        dm_say(p, ", heights ");
        dm_buf_num(&p->say, v->raise);
        dm_say(p, " times");
    } else {
        dm_say(p, " and in height");
    }
    dm_say(p, "; ahead is to the right");
    dm_canvas_text(p->canvas, v->s->paper.right, y, dm_said(p), &right);
}

double dm_sheet_elevation(dm_sheet_page *s, double y, bool draw)
{
    view v = {.s = s, .p = &s->paper.picture};
    double names, end;
    size_t i;

    if (s->tight > 3)
        return 0.0;
    survey_line(&v);
    choose_scale(&v);
    names = put_names(&v, y, false);
    v.bottom = y + 5.0 + names + 4.0 + (v.high - v.low) * v.mm_per_m * v.raise;
    end = v.bottom + 3.4 + ROW * (double)(s->to - s->from);
    if (draw) {
        put_title(&v, y + 3.6);
        put_names(&v, y + 5.0, true);
        draw_line(&v);
        for (i = 0; i < v.p->tendon->support_count; i++)
            draw_support(&v, i);
        for (i = s->from; i < s->to; i++)
            put_string(&v, &v.p->taps->items[i],
                       v.bottom + 2.4 + ROW * (double)(i - s->from + 1));
    }
    return end + 3.4 - y;
}
