/* SPDX-License-Identifier: MIT
 * The section at a tap, true to scale, with all twelve hours: where the pen
 * goes, which way round from the tape line, and, where a drill is allowed, how
 * far in. Drawn looking ahead; the words beside it give both ways. */
#include <math.h>

#include "write/sheet.h"

#define PI 3.14159265358979323846
#define TURN (2.0 * PI)
#define BLACK 0x000000
#define WIDE 42.0 /* mm, of a duct on paper, at most */
#define HOURS 8.6 /* mm from the outside to the middle of the numbers */
#define EDGE 12.0 /* mm from the outside to the end of what is drawn */

static void radial(dm_canvas *canvas, const dm_cross *c, double clock,
                   double from, double to, const dm_look *look)
{
    double x0, y0, x1, y1;

    dm_cross_point(c, from, clock, &x0, &y0);
    dm_cross_point(c, to, clock, &x1, &y1);
    dm_canvas_line(canvas, x0, y0, x1, y1, look);
}

static void put_hours(dm_canvas *canvas, const dm_cross *c)
{
    static const char *const hour[] = {"12", "1", "2", "3", "4",  "5",
                                       "6",  "7", "8", "9", "10", "11"};
    dm_look line = dm_line_look(BLACK, 0.25, DM_DASH_SOLID);
    double r = dm_cross_outside(c), x, y;
    int k;

    for (k = 0; k < 12; k++) {
        dm_type type = {.size = DM_SHEET_TEXT,
                        .bold = k % 3 == 0,
                        .align = DM_ALIGN_CENTRE};

        radial(canvas, c, TURN * k / 12.0, r + 4.4, r + 5.8, &line);
        dm_cross_point(c, r + HOURS, TURN * k / 12.0, &x, &y);
        dm_canvas_text(canvas, x, y + 1.4, hour[k], &type);
    }
}

/* Wedge with its point at r, pointing inwards. */
static void inward(dm_canvas *canvas, const dm_cross *c, double clock, double r,
                   const dm_look *look)
{
    double p[6], beside = 1.5 / (r + 3.4);

    dm_cross_point(c, r, clock, &p[0], &p[1]);
    dm_cross_point(c, r + 3.4, clock - beside, &p[2], &p[3]);
    dm_cross_point(c, r + 3.4, clock + beside, &p[4], &p[5]);
    dm_canvas_polygon(canvas, p, 3, look);
}

/* From the tape line round to the mark. */
static void put_way(dm_canvas *canvas, const dm_cross *c, const dm_tap *tap)
{
    dm_look line = dm_line_look(BLACK, 0.7, DM_DASH_SOLID);
    dm_look square = dm_fill_look(0xffffff), head = dm_fill_look(BLACK);
    double r = dm_cross_outside(c) + 2.4, x, y, p[6];
    double way = remainder(tap->clock - tap->line, TURN);
    double end = way > 0.0 ? way - 2.0 / r : way + 2.0 / r;
    dm_path path = {0};
    int i;

    square.stroke = BLACK;
    square.width = 0.5;
    dm_cross_point(c, r, tap->line, &x, &y);
    if (fabs(way) * r > 4.0) {
        for (i = 0; i <= 40; i++) {
            double at = tap->line + end * (double)i / 40.0, px, py;

            dm_cross_point(c, r, at, &px, &py);
            dm_path_line(&path, px, py);
        }
        dm_canvas_path(canvas, &path, &line);
        dm_path_free(&path);
        dm_cross_point(c, r, tap->clock, &p[0], &p[1]);
        dm_cross_point(c, r + 1.1, tap->line + end, &p[2], &p[3]);
        dm_cross_point(c, r - 1.1, tap->line + end, &p[4], &p[5]);
        dm_canvas_polygon(canvas, p, 3, &head);
        dm_canvas_rect(canvas, x - 1.3, y - 1.3, 2.6, 2.6, &square);
    }
}

/* The mark, and the way of the bit as far as its stop. */
static void put_mark(dm_canvas *canvas, const dm_cross *c, const dm_tap *tap,
                     dm_task task)
{
    dm_look white = dm_line_look(0xffffff, 2.2, DM_DASH_SOLID);
    dm_look bit = dm_line_look(BLACK, 1.1, DM_DASH_SOLID);
    dm_look head = dm_fill_look(BLACK), ring = dm_fill_look(0xffffff);
    dm_look cross = dm_line_look(BLACK, 0.7, DM_DASH_SOLID);
    double r = dm_cross_outside(c), x, y;

    if (task == DM_TASK_TAP || task == DM_TASK_NO_ROOM) {
        double stop = r - tap->depth_stop * 1000.0 / c->scale;

        radial(canvas, c, tap->clock, r + 3.0, stop, &white);
        radial(canvas, c, tap->clock, r, stop, &bit);
        inward(canvas, c, tap->clock, r, &head);
        return;
    }
    ring.stroke = BLACK;
    ring.width = 0.6;
    dm_cross_point(c, r + 1.2, tap->clock, &x, &y);
    dm_canvas_circle(canvas, x, y, 1.9, &ring);
    if (task == DM_TASK_HAND_TOOL) {
        dm_canvas_line(canvas, x - 1.3, y - 1.3, x + 1.3, y + 1.3, &cross);
        dm_canvas_line(canvas, x - 1.3, y + 1.3, x + 1.3, y - 1.3, &cross);
    }
}

/* Without a turn: what the footprint held, of unknown shape and depth. */
static void put_read(dm_canvas *canvas, const dm_cross *c, const dm_tap *tap)
{
    double r = c->section.bore_radius * 1000.0 / c->scale, x, y;
    dm_look look = dm_fill_look(0xffffff);
    dm_path path = {0};
    int i, side;

    look.stroke = BLACK;
    look.width = 0.4;
    look.dash = DM_DASH_DASHED;
    look.hatch = DM_HATCH_DOTS;
    look.hatch_colour = BLACK;
    look.hatch_step = 1.1;
    look.hatch_width = 0.35;
    for (side = 0; side < 2; side++)
        for (i = 0; i <= 20; i++) {
            double part = (double)(side == 0 ? i : 20 - i) / 10.0 - 1.0;

            dm_cross_point(c, side == 0 ? r : r - 5.0,
                           tap->void_clock + part * tap->void_half, &x, &y);
            dm_path_line(&path, x, y);
        }
    dm_path_close(&path);
    dm_canvas_path(canvas, &path, &look);
    dm_path_free(&path);
}

static void say_void(dm_sheet_page *s, const dm_tap *tap)
{
    dm_picture *p = &s->paper.picture;

    dm_say_clear(p);
    if (isnan(tap->void_half)) {
        dm_say(p, "No indication here.");
        return;
    }
    if (tap->turned) {
        dm_say(p, "Shaded: void as the turn gave it, drawn level; dotted: its "
                  "doubt.");
    } else {
        dm_say(p, "Dotted: read at least this wide, no turn made. Depth not "
                  "measured.");
    }
}

static void say_strands(dm_sheet_page *s, const dm_tap *tap)
{
    dm_picture *p = &s->paper.picture;

    dm_say_clear(p);
    if (isnan(tap->strand_clock)) {
        dm_say(p, "Strand side NOT KNOWN: strands may touch the wall "
                  "anywhere.");
        return;
    }
    dm_say(p, "Hatched: strands, about ");
    dm_say_clock(p, tap->strand_clock);
    dm_say(p, " looking ahead (");
    dm_say(p, dm_strand_side_basis_text(tap->strands));
    dm_say(p, ").");
}

double dm_sheet_dial(dm_sheet_page *s, const dm_tap *tap, double x, double y,
                     double width, bool draw)
{
    dm_picture *p = &s->paper.picture;
    dm_cross c = dm_cross_at(p->delivery->model, p->tendon, tap->t);
    double reach, at, doubt = p->k * tap->u_void_half;

    c.scale = dm_cross_scale(c.od, WIDE);
    c.strand = tap->strand_clock;
    reach = dm_cross_outside(&c) + EDGE;
    c.x = x + 0.5 * width;
    c.y = y + reach;
    if (draw) {
        if (!tap->turned || isnan(doubt))
            doubt = 0.0;
        dm_cross_plain(
            p->canvas, &c, tap->void_clock, fmax(tap->void_half - doubt, 0.0),
            tap->turned ? tap->void_half : 0.0, tap->void_half + doubt);
        if (!tap->turned && isfinite(tap->void_half))
            put_read(p->canvas, &c, tap);
        put_hours(p->canvas, &c);
        put_way(p->canvas, &c, tap);
        put_mark(p->canvas, &c, tap, dm_sheet_task(p, tap));
    }
    at = y + 2.0 * reach + 3.4;
    dm_say_clear(p);
    dm_say(p, "Section looking AHEAD, 1:");
    dm_buf_num(&p->say, c.scale);
    at += dm_paper_words(&s->paper, x, at, width, &dm_sheet_strong, draw);
    say_void(s, tap);
    at += dm_paper_words(&s->paper, x, at, width, &dm_sheet_text, draw);
    say_strands(s, tap);
    at += dm_paper_words(&s->paper, x, at, width, &dm_sheet_text, draw);
    return at - 3.4 - y;
}
