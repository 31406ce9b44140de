/* SPDX-License-Identifier: MIT
 * Void: the segment of the bore above a level surface, as it was fitted to
 * the turn (its half-angle and centre are in the result; nothing is fitted
 * here). Between the low and the high half-angle the paper is dotted: the
 * surface may lie anywhere in there. Strands: the circle of their bundle, a
 * model (section.h). */
#include "write/cross_view.h"

#include <math.h>

#include "scene/colour.h"

#define PI 3.14159265358979323846
#define TURN (2.0 * PI)
#define INK 0x000000
#define RING 1.2       /* mm from the outside to the ring of the index */
#define RING_WIDTH 3.2 /* mm */
#define TICKS 1.0      /* mm from the ring to the clock */
#define NUMBERS 4.2    /* mm from there to the middle of the numbers */
#define VOID 0xfdb863

/* ---- places ------------------------------------------------------------- */

dm_cross dm_cross_at(const dm_model *model, const dm_tendon *tendon, double t)
{
    dm_cross c = {.look = DM_SIDE_AHEAD,
                  .od = dm_tendon_duct(model, tendon, t)->od,
                  .section = dm_tendon_section(model, tendon, t),
                  .scale = 1.0,
                  .strand = (double)NAN};
    size_t i;

    for (i = 0; i < tendon->strand_side_count; i++)
        if (t >= tendon->strand_sides[i].from &&
            t <= tendon->strand_sides[i].to && isnan(c.strand))
            c.strand = tendon->strand_sides[i].clock;
    return c;
}

double dm_cross_scale(double od, double diameter)
{
    static const double scales[] = {1, 1.5, 2, 2.5, 3, 4, 5, 7.5, 10, 15, 20};
    size_t i = 0;

    while (i < 10 && od * 1000.0 / scales[i] > diameter)
        i++;
    return scales[i];
}

static double paper(const dm_cross *c, double metres)
{
    return metres * 1000.0 / c->scale;
}

static double outside(const dm_cross *c)
{
    return 0.5 * paper(c, c->od);
}

double dm_cross_reach(const dm_cross *c)
{
    return outside(c) + RING + RING_WIDTH + TICKS + NUMBERS + 3.0;
}

/* Angle of dm_path_arc of a clock angle. */
static double turned(const dm_cross *c, double clock)
{
    return (double)c->look * clock - 0.5 * PI;
}

static double x_of(const dm_cross *c, double r, double clock)
{
    return c->x + r * cos(turned(c, clock));
}

static double y_of(const dm_cross *c, double r, double clock)
{
    return c->y + r * sin(turned(c, clock));
}

static void radial(dm_canvas *canvas, const dm_cross *c, double clock,
                   double from, double to, const dm_look *look)
{
    dm_canvas_line(canvas, x_of(c, from, clock), y_of(c, from, clock),
                   x_of(c, to, clock), y_of(c, to, clock), look);
}

static void arc(dm_canvas *canvas, const dm_cross *c, double r, double from,
                double to, const dm_look *look)
{
    dm_path path = {0};

    dm_path_arc(&path, c->x, c->y, r, turned(c, from), turned(c, to));
    dm_canvas_path(canvas, &path, look);
    dm_path_free(&path);
}

/* ---- duct and strands --------------------------------------------------- */

static void draw_duct(dm_canvas *canvas, const dm_cross *c)
{
    dm_look wall = dm_fill_look(0x6e6e6e), inside = dm_fill_look(0xe8e8e8);

    wall.stroke = inside.stroke = INK;
    wall.width = inside.width = 0.2;
    dm_canvas_circle(canvas, c->x, c->y, outside(c), &wall);
    dm_canvas_circle(canvas, c->x, c->y, paper(c, c->section.bore_radius),
                     &inside);
}

static void draw_strands(dm_canvas *canvas, const dm_cross *c)
{
    dm_look bundle = dm_line_look(INK, 0.35, DM_DASH_DASHED);
    double e = fmax(paper(c, c->section.eccentricity), 0.0);
    double r = paper(c, c->section.bundle_radius);

    if (isnan(c->strand) || !(r > 0.0))
        return;
    bundle.hatch = DM_HATCH_RISING;
    bundle.hatch_colour = 0x505050;
    bundle.hatch_step = 1.6;
    bundle.hatch_width = 0.2;
    dm_canvas_circle(canvas, x_of(c, e, c->strand), y_of(c, e, c->strand), r,
                     &bundle);
}

/* ---- void --------------------------------------------------------------- */

static void segment(dm_canvas *canvas, const dm_cross *c, double centre,
                    double half, const dm_look *look)
{
    double r = paper(c, c->section.bore_radius);
    dm_path path = {0};

    half = fmin(half, PI);
    if (!(half > 0.0))
        return;
    dm_path_arc(&path, c->x, c->y, r, turned(c, centre - half),
                turned(c, centre + half));
    dm_path_close(&path);
    dm_canvas_path(canvas, &path, look);
    dm_path_free(&path);
}

static void draw_fit(dm_canvas *canvas, const dm_cross *c,
                     const dm_segment_fit *fit)
{
    dm_look doubt = dm_fill_look(0xffffff), best = dm_fill_look(VOID);
    dm_look low = dm_line_look(INK, 0.3, DM_DASH_DASHED);

    doubt.stroke = INK;
    doubt.width = 0.3;
    doubt.dash = DM_DASH_DASHED;
    doubt.hatch = DM_HATCH_DOTS;
    doubt.hatch_colour = 0xb35806;
    doubt.hatch_step = 1.1;
    doubt.hatch_width = 0.35;
    best.stroke = INK;
    best.width = 0.5;
    segment(canvas, c, fit->centre, fit->high, &doubt);
    segment(canvas, c, fit->centre, fit->half_angle, &best);
    segment(canvas, c, fit->centre, fit->low, &low);
}

/* The chord between the edges of an arc, as they were read. */
static void draw_direct(dm_canvas *canvas, const dm_cross *c, const dm_arc *a)
{
    dm_look line = dm_line_look(INK, 0.55, DM_DASH_DOTTED);
    double r = paper(c, c->section.bore_radius);

    if (!a->whole)
        dm_canvas_line(canvas, x_of(c, r, a->from), y_of(c, r, a->from),
                       x_of(c, r, a->to), y_of(c, r, a->to), &line);
}

/* ---- what was read ------------------------------------------------------ */

static void ring_part(dm_canvas *canvas, const dm_cross *c, double from,
                      double to, const dm_look *look)
{
    double r = outside(c) + RING;
    dm_path path = {0};

    dm_path_arc(&path, c->x, c->y, r, turned(c, from), turned(c, to));
    dm_path_arc(&path, c->x, c->y, r + RING_WIDTH, turned(c, to),
                turned(c, from));
    dm_path_close(&path);
    dm_canvas_path(canvas, &path, look);
    dm_path_free(&path);
}

static void draw_ring(dm_canvas *canvas, const dm_cross *c, const dm_turn *t)
{
    dm_look edge = dm_line_look(INK, 0.15, DM_DASH_SOLID);
    double step = TURN / (double)t->cell_count, r = outside(c) + RING;
    size_t i, begin = 0;
    int before = dm_heat_class(t->index[0], DM_HEAT_NOT_READ), now;

    for (i = 1; i <= t->cell_count; i++) {
        dm_look look = before == DM_HEAT_NOT_READ ? dm_unread_look()
                                                  : dm_index_look(before);

        now = i < t->cell_count ? dm_heat_class(t->index[i], before) : -2;
        if (now == before)
            continue;
        ring_part(canvas, c, ((double)begin - 0.5) * step,
                  ((double)i - 0.5) * step, &look);
        begin = i;
        before = now;
    }
    dm_canvas_circle(canvas, c->x, c->y, r, &edge);
    dm_canvas_circle(canvas, c->x, c->y, r + RING_WIDTH, &edge);
}

/* Edges of the void-like arcs: ticks; an open one with an arrow's gap. */
static void draw_edges(dm_canvas *canvas, const dm_cross *c, const dm_turn *t)
{
    dm_look tick = dm_line_look(INK, 0.6, DM_DASH_SOLID);
    dm_look span = dm_line_look(INK, 0.3, DM_DASH_SOLID);
    double r = outside(c) + RING;
    size_t i;

    for (i = 0; i < t->arc_count; i++) {
        const dm_arc *a = &t->arcs[i];
        double to = a->to < a->from ? a->to + TURN : a->to;

        if (a->whole)
            continue;
        if (!a->open_from)
            radial(canvas, c, a->from, r - 0.6, r + RING_WIDTH + 0.6, &tick);
        if (!a->open_to)
            radial(canvas, c, a->to, r - 0.6, r + RING_WIDTH + 0.6, &tick);
        arc(canvas, c, r + RING_WIDTH + 0.6, a->from, to, &span);
    }
}

/* ---- clock -------------------------------------------------------------- */

static void draw_clock(dm_canvas *canvas, const dm_cross *c)
{
    static const char *const text[] = {"12", "3", "6", "9"};
    dm_look line = dm_line_look(INK, 0.25, DM_DASH_SOLID);
    double r = outside(c) + RING + RING_WIDTH + TICKS;
    int k;

    for (k = 0; k < 12; k++) {
        double clock = TURN * k / 12.0;
        dm_type type = {
            .size = DM_PRINT_TEXT, .bold = k == 0, .align = DM_ALIGN_CENTRE};

        radial(canvas, c, clock, r, r + (k % 3 == 0 ? 1.6 : 0.9), &line);
        if (k % 3 == 0)
            dm_canvas_text(canvas, x_of(c, r + NUMBERS, clock),
                           y_of(c, r + NUMBERS, clock) + 1.1, text[k / 3],
                           &type);
    }
}

/* ---- tap ---------------------------------------------------------------- */

/* Mark and, where a drill is allowed, how far it may go in. */
static void draw_tap(dm_canvas *canvas, const dm_cross *c, const dm_tap *tap)
{
    dm_look white = dm_line_look(0xffffff, 1.8, DM_DASH_SOLID);
    dm_look line = dm_line_look(INK, 0.9, DM_DASH_SOLID);
    dm_look mark = dm_fill_look(0xffffff);
    double r = outside(c), top = r + RING + RING_WIDTH + 0.4;
    double stop = r - paper(c, tap->depth_stop);

    mark.stroke = INK;
    mark.width = 0.4;
    if (tap->advice == DM_ADVICE_TAP) {
        radial(canvas, c, tap->clock, top, stop, &white);
        radial(canvas, c, tap->clock, top, stop, &line);
    }
    dm_canvas_circle(canvas, x_of(c, top, tap->clock), y_of(c, top, tap->clock),
                     1.1, &mark);
}

void dm_cross_draw(dm_canvas *canvas, const dm_cross *c)
{
    const dm_turn *t = c->turn;
    dm_look rim = dm_line_look(INK, 0.2, DM_DASH_SOLID);

    draw_duct(canvas, c);
    if (t != NULL && t->fit.valid)
        draw_fit(canvas, c, &t->fit);
    draw_strands(canvas, c);
    if (t != NULL && t->arc < t->arc_count)
        draw_direct(canvas, c, &t->arcs[t->arc]);
    dm_canvas_circle(canvas, c->x, c->y, paper(c, c->section.bore_radius),
                     &rim);
    if (t != NULL && t->cell_count > 0) {
        draw_ring(canvas, c, t);
        draw_edges(canvas, c, t);
    }
    draw_clock(canvas, c);
    if (c->tap != NULL)
        draw_tap(canvas, c, c->tap);
}

/* ---- for other pages ------------------------------------------------------
 */

void dm_cross_point(const dm_cross *c, double r, double clock, double *x,
                    double *y)
{
    *x = x_of(c, r, clock);
    *y = y_of(c, r, clock);
}

double dm_cross_outside(const dm_cross *c)
{
    return outside(c);
}

void dm_cross_plain(dm_canvas *canvas, const dm_cross *c, double centre,
                    double low, double half, double high)
{
    const dm_segment_fit fit = {
        .centre = centre, .half_angle = half, .low = low, .high = high};
    dm_look rim = dm_line_look(INK, 0.2, DM_DASH_SOLID);

    draw_duct(canvas, c);
    if (half > 0.0)
        draw_fit(canvas, c, &fit);
    draw_strands(canvas, c);
    dm_canvas_circle(canvas, c->x, c->y, paper(c, c->section.bore_radius),
                     &rim);
}
