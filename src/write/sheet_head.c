/* SPDX-License-Identifier: MIT
 * Which duct: its id, as large as the page allows, what is painted on it,
 * where it is; and the key plan, the bridge from above with ahead to the
 * right. Across the bridge the plan is widened by a factor that it states. */
#include <math.h>

#include "write/sheet.h"

#define BLACK 0x000000
#define GREY 0x8c8c8c
#define KEY_HIGH 16.0 /* mm */
#define KEY_WIDE 92.0 /* mm, with its arrows */
#define PAGE_HIGH 6.5 /* mm, of the page number above it */
#define ID_BIG 44.0   /* pt */
#define ID_LEAST 16.0

/* ---- which --------------------------------------------------------------- */

/* Page, date, sheet of the tendon; on the right. Returns its width. */
static void put_page(dm_sheet_page *s, double y)
{
    dm_picture *p = &s->paper.picture;
    dm_type bold = {.size = 14.0, .bold = true, .align = DM_ALIGN_RIGHT};

    dm_say_clear(p);
    dm_buf_printf(&p->say, "page %zu of %zu", s->page, s->tour->pages);
    dm_canvas_text(p->canvas, s->paper.right, y + 4.6, dm_said(p), &bold);
    if (s->count > 1) {
        dm_say_clear(p);
        dm_buf_printf(&p->say, "sheet %zu of %zu of ", s->number, s->count);
        dm_say(p, p->tendon->id);
        dm_canvas_text_fit(p->canvas, s->paper.right - KEY_WIDE, y + 4.6,
                           KEY_WIDE - 40.0, dm_said(p), &dm_sheet_text);
    }
}

static void say_bridge(dm_picture *p)
{
    const dm_model *m = p->delivery->model;

    dm_say_clear(p);
    dm_sheet_say_name(p, dm_sheet_name(m->name, m->id));
    if (p->tendon->part < m->part_count) {
        const dm_part *part = &m->parts[p->tendon->part];

        dm_say(p, " \xc2\xb7 ");
        dm_sheet_say_name(p, dm_sheet_name(part->name, part->id));
    }
}

/* Id and field tag; the id shrinks until it fits, then it is broken. */
static double put_id(dm_sheet_page *s, double y, bool draw)
{
    dm_picture *p = &s->paper.picture;
    const char *tag = dm_external_find(&p->tendon->external, "field-tag");
    double room = s->paper.right - s->paper.left - KEY_WIDE - 3.0;
    double x = s->paper.left;
    dm_type id = {.size = ID_BIG, .bold = true};
    dm_look box = dm_line_look(BLACK, 0.5, DM_DASH_SOLID);
    double tag_room = tag == NULL ? 0.0 : 0.5 * room, width, high;
    size_t lines = 1;

    while (id.size > ID_LEAST &&
           dm_canvas_text_width(p->canvas, p->tendon->id, &id) >
               room - tag_room - 20.0)
        id.size -= 2.0;
    if (draw)
        dm_canvas_text(p->canvas, x, y + 4.6, "Tendon", &dm_sheet_text);
    x += 17.0;
    width = dm_canvas_text_width(p->canvas, p->tendon->id, &id);
    high = id.size * 0.27;
    lines = dm_canvas_text_block(p->canvas, x, y + high, room - tag_room - 17.0,
                                 p->tendon->id, &id, draw);
    if (lines > 1)
        high += (double)(lines - 1) * dm_type_leading(&id);
    if (tag != NULL) {
        dm_type paint = {.size = 20.0, .bold = true};
        double at = x + fmin(width, room - tag_room - 17.0) + 8.0, wide;

        wide = s->paper.left + room - at;
        dm_say_clear(p);
        dm_say(p, tag);
        while (paint.size > DM_SHEET_TEXT &&
               dm_canvas_text_width(p->canvas, tag, &paint) > wide - 6.0)
            paint.size -= 1.0;
        wide =
            fmin(wide, fmax(dm_canvas_text_width(p->canvas, tag, &paint) + 6.0,
                            34.0));
        if (draw) {
            dm_canvas_text(p->canvas, at, y + 3.6, "tag on the duct",
                           &dm_sheet_text);
            dm_canvas_rect(p->canvas, at, y + 5.0, wide, 9.2, &box);
            dm_canvas_text_fit(p->canvas, at + 3.0, y + 12.2, wide - 5.0, tag,
                               &paint);
        }
    }
    return fmax(high, 14.2) + 1.6;
}

/* ---- key plan ------------------------------------------------------------ */

typedef struct {
    const dm_sheet_tour *tour;
    double x, y;          /* of its upper left corner, mm */
    double along, across; /* mm per m */
} key_plan;

static void trace(dm_canvas *c, const key_plan *k, size_t tendon,
                  const dm_look *look)
{
    const dm_sheet_trace *t = &k->tour->traces[tendon];
    dm_path path = {0};
    size_t i;

    for (i = 0; i < t->count; i++)
        dm_path_line(&path, k->x + (t->xy[2 * i] - k->tour->low[0]) * k->along,
                     k->y + (k->tour->high[1] - t->xy[2 * i + 1]) * k->across);
    dm_canvas_path(c, &path, look);
    dm_path_free(&path);
}

static void arrow(dm_canvas *c, double x, double y, double dx, double dy)
{
    dm_look line = dm_line_look(BLACK, 0.5, DM_DASH_SOLID);
    dm_look head = dm_fill_look(BLACK);
    double r = hypot(dx, dy), ux = dx / r, uy = dy / r;
    double ex = x + dx, ey = y + dy;
    const double wedge[] = {ex,
                            ey,
                            ex - 2.6 * ux + 1.1 * uy,
                            ey - 2.6 * uy - 1.1 * ux,
                            ex - 2.6 * ux - 1.1 * uy,
                            ey - 2.6 * uy + 1.1 * ux};

    dm_canvas_line(c, x, y, ex - 2.0 * ux, ey - 2.0 * uy, &line);
    dm_canvas_polygon(c, wedge, 3, &head);
}

/* North is Y: turned with the plan. */
static void put_north(dm_sheet_page *s, double x, double y)
{
    dm_picture *p = &s->paper.picture;
    dm_vec3 d = p->delivery->model->direction;
    double mx = x + 6.5, my = y + 0.5 * KEY_HIGH;
    dm_type centre = dm_sheet_strong;

    centre.align = DM_ALIGN_CENTRE;
    /* On paper right is d, up is to the left of d: north = (d.y, -d.x). */
    arrow(p->canvas, mx - 4.0 * d.y, my + 4.0 * d.x, 8.0 * d.y, -8.0 * d.x);
    dm_canvas_text(p->canvas, mx + 7.4 * d.y, my + 1.5 - 7.4 * d.x, "N",
                   &centre);
}

/* Its height, mm; right of KEY_LEFT. */
static double put_key(dm_sheet_page *s, double y, bool draw)
{
    dm_picture *p = &s->paper.picture;
    const dm_sheet_tour *t = s->tour;
    dm_look other = dm_line_look(GREY, 0.18, DM_DASH_SOLID);
    dm_look white = dm_line_look(0xffffff, 2.2, DM_DASH_SOLID);
    dm_look this = dm_line_look(BLACK, 1.2, DM_DASH_SOLID);
    dm_look mark = dm_fill_look(0xffffff);
    double left = s->paper.right - KEY_WIDE, factor;
    double width = KEY_WIDE - 15.0;
    double long_m = fmax(t->high[0] - t->low[0], 0.1);
    double wide_m = fmax(t->high[1] - t->low[1], 0.05);
    key_plan k = {.tour = t, .x = left + 13.0, .y = y + 1.0};
    size_t i, own = (size_t)(p->tendon - p->delivery->model->tendons);
    dm_type right = {.size = DM_SHEET_TEXT, .align = DM_ALIGN_RIGHT};

    if (!draw)
        return KEY_HIGH + 7.0;
    k.along = fmin(width / long_m, KEY_HIGH / wide_m);
    factor = floor(KEY_HIGH / wide_m / k.along);
    factor = fmin(fmax(factor, 1.0), 50.0);
    k.across = k.along * factor;
    k.y += 0.5 * (KEY_HIGH - wide_m * k.across);
    dm_say_clear(p);
    dm_say(p, "from above");
    if (factor > 1.0) {
        dm_say(p, ", across ");
        dm_buf_num(&p->say, factor);
        dm_say(p, " times");
    }
    dm_canvas_text(p->canvas, left, y + KEY_HIGH + 4.6, dm_said(p),
                   &dm_sheet_text);
    for (i = 0; i < p->delivery->model->tendon_count; i++)
        trace(p->canvas, &k, i, &other);
    trace(p->canvas, &k, own, &white);
    trace(p->canvas, &k, own, &this);
    mark.stroke = BLACK;
    mark.width = 0.6;
    for (i = s->from; i < s->to; i++) {
        dm_vec3 d = p->delivery->model->direction, a = p->taps->items[i].axis;
        double along = a.x * d.x + a.y * d.y, side = a.y * d.x - a.x * d.y;

        dm_canvas_circle(p->canvas, k.x + (along - t->low[0]) * k.along,
                         k.y + (t->high[1] - side) * k.across, 1.7, &mark);
    }
    put_north(s, left, y + 1.0);
    dm_canvas_text(p->canvas, s->paper.right - 12.0, y + KEY_HIGH + 4.6,
                   "AHEAD", &right);
    arrow(p->canvas, s->paper.right - 10.5, y + KEY_HIGH + 3.2, 10.5, 0.0);
    return KEY_HIGH + 7.0;
}

/* ---- head ---------------------------------------------------------------- */

double dm_sheet_head(dm_sheet_page *s, double y, bool draw)
{
    dm_picture *p = &s->paper.picture;
    const dm_type where = {.size = 14.0, .bold = true};
    dm_look line = dm_line_look(BLACK, 0.6, DM_DASH_SOLID);
    double width = s->paper.right - s->paper.left - KEY_WIDE - 3.0;
    double at = y, key;

    if (draw)
        put_page(s, y);
    key = PAGE_HIGH + put_key(s, y + PAGE_HIGH, draw);
    at += put_id(s, at, draw) + 4.4;
    if (p->tendon->where != NULL && p->tendon->where[0] != '\0') {
        dm_say_clear(p);
        dm_sheet_say_name(p, p->tendon->where);
        at += 0.8 +
              dm_paper_words(&s->paper, s->paper.left, at, width, &where, draw);
    }
    say_bridge(p);
    at += dm_paper_words(&s->paper, s->paper.left, at, width, &dm_sheet_text,
                         draw);
    dm_say_clear(p);
    dm_say(p, "AHEAD is looking towards ");
    dm_sheet_say_name(p, dm_far_anchorage(p->tendon, DM_SIDE_AHEAD));
    dm_say(p, "; BACK is looking towards ");
    dm_sheet_say_name(p, dm_far_anchorage(p->tendon, DM_SIDE_BACK));
    dm_say(p, ".");
    at += dm_paper_words(&s->paper, s->paper.left, at, width, &dm_sheet_strong,
                         draw);
    at = fmax(at - 2.6, y + key);
    if (draw)
        dm_canvas_line(p->canvas, s->paper.left, at, s->paper.right, at, &line);
    return at - y + 1.0;
}
