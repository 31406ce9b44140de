/* SPDX-License-Identifier: MIT
 * Sections where a tendon was turned round: one true-to-scale section a turn
 * with its numbers beside it, on pages of A4 (US units: Letter). A tendon
 * without turns has none, and so has a turn that could not be placed. */
#include <math.h>

#include "write/cross_sheet.h"
#include "write/writers.h"

#define BLACK 0x000000

static const dm_type text = {.size = DM_PRINT_TEXT};
static const dm_type strong = {.size = DM_PRINT_TEXT, .bold = true};
static const dm_type small = {.size = DM_PRINT_SMALL};

/* ---- head, foot ---------------------------------------------------------- */

static double put_head(dm_paper *s, double y, size_t page, size_t pages,
                       bool draw)
{
    dm_picture *p = &s->picture;
    double at = y + dm_paper_title(s, y, s->right - s->left,
                                   "Sections of tendon ", page, pages, draw);

    dm_paper_say_place(s);
    at += dm_paper_words(s, s->left, at, s->right - s->left, &text, draw);
    dm_say_clear(p);
    dm_say(p, "For planning only. A void is drawn as if grout had set level; "
              "the sensor sees a layer behind the wall and no depth. What is "
              "grey inside was not seen, and is not known to be sound.");
    at += dm_paper_words(s, s->left, at, s->right - s->left, &strong, draw);
    return at - y;
}

typedef struct {
    const char *text;
    void (*sample)(dm_canvas *, double, double);
} entry;

static void box(dm_canvas *c, double x, double y, dm_look look)
{
    look.stroke = BLACK;
    look.width = look.width > 0.0 ? look.width : 0.15;
    dm_canvas_rect(c, x, y, 7.6, 3.4, &look);
}

static void sample_void(dm_canvas *c, double x, double y)
{
    box(c, x, y, dm_fill_look(0xfdb863));
}

static void sample_doubt(dm_canvas *c, double x, double y)
{
    dm_look look = dm_fill_look(0xffffff);

    look.hatch = DM_HATCH_DOTS;
    look.hatch_colour = 0xb35806;
    look.hatch_step = 1.1;
    look.hatch_width = 0.35;
    look.width = 0.3;
    look.dash = DM_DASH_DASHED;
    box(c, x, y, look);
}

static void sample_strands(dm_canvas *c, double x, double y)
{
    dm_look look = dm_fill_look(0xffffff);

    look.hatch = DM_HATCH_RISING;
    look.hatch_colour = 0x505050;
    look.hatch_step = 1.6;
    look.hatch_width = 0.2;
    look.width = 0.3;
    look.dash = DM_DASH_DASHED;
    box(c, x, y, look);
}

static void sample_edges(dm_canvas *c, double x, double y)
{
    dm_look line = dm_line_look(BLACK, 0.55, DM_DASH_DOTTED);

    dm_canvas_line(c, x, y + 1.7, x + 7.6, y + 1.7, &line);
}

static void sample_ring(dm_canvas *c, double x, double y)
{
    dm_look tick = dm_line_look(BLACK, 0.6, DM_DASH_SOLID);

    box(c, x, y, dm_index_look(8));
    dm_canvas_line(c, x + 5.0, y - 0.4, x + 5.0, y + 3.8, &tick);
}

static void sample_wall(dm_canvas *c, double x, double y)
{
    box(c, x, y, dm_fill_look(0x6e6e6e));
}

static void sample_unread(dm_canvas *c, double x, double y)
{
    box(c, x, y, dm_unread_look());
}

static void sample_mark(dm_canvas *c, double x, double y)
{
    dm_look line = dm_line_look(BLACK, 0.9, DM_DASH_SOLID);
    dm_look mark = dm_fill_look(0xffffff);

    mark.stroke = BLACK;
    mark.width = 0.4;
    dm_canvas_line(c, x + 1.2, y + 1.7, x + 6.4, y + 1.7, &line);
    dm_canvas_circle(c, x + 1.2, y + 1.7, 1.1, &mark);
}

static double put_legend(dm_paper *s, double y, bool draw)
{
    static const entry entries[] = {
        {"void as fitted", sample_void},
        {"surface anywhere in there", sample_doubt},
        {"chord of the edges as read", sample_edges},
        {"ring: index; ticks: edges", sample_ring},
        {"strands (circle of the bundle)", sample_strands},
        {"wall of the duct", sample_wall},
        {"ring: not read", sample_unread},
        {"mark; thick: as far as a bit may go", sample_mark}};
    double width = (s->right - s->left) / 3.0;
    size_t i;

    for (i = 0; draw && i < sizeof entries / sizeof *entries; i++) {
        double x = s->left + width * (double)(i / 3);
        double at = y + 4.3 * (double)(i % 3);

        entries[i].sample(s->picture.canvas, x, at);
        dm_canvas_text(s->picture.canvas, x + 9.4, at + 2.8, entries[i].text,
                       &small);
    }
    return 13.9;
}

static double put_foot(dm_paper *s, double y, bool draw)
{
    dm_look line = dm_line_look(BLACK, 0.25, DM_DASH_SOLID);
    double at = y + 1.5;

    if (draw)
        dm_canvas_line(s->picture.canvas, s->left, y, s->right, y, &line);
    at += dm_paper_index(s, at, draw);
    at += put_legend(s, at, draw);
    return at + dm_paper_origin(s, at, NULL, draw) - y;
}

/* ---- pages --------------------------------------------------------------- */

static bool placed(const dm_turn *t)
{
    return isfinite(t->t);
}

/* Draws or measures a page from turn `page->from` on. */
static void fill_page(dm_paper *s, dm_paper_page *page, size_t number,
                      size_t pages, bool draw)
{
    const dm_indications *f = s->picture.found;
    double foot = put_foot(s, 0.0, false), y = DM_PAPER_MARGIN, high;
    double end = s->page_height - DM_PAPER_MARGIN - foot;
    size_t i, last = draw ? page->to : f->turn_count;

    y += put_head(s, y, number, pages, draw) + 2.0;
    for (i = page->from; i < last; i++) {
        if (!placed(&f->turns[i]))
            continue;
        high = dm_cross_turn(s, &f->turns[i], y, false);
        if (!draw && i > page->from && y + high > end)
            break;
        if (draw)
            dm_cross_turn(s, &f->turns[i], y, true);
        y += high;
    }
    if (!draw) {
        page->to = i;
        page->height = y + 2.0 + foot + DM_PAPER_MARGIN;
    } else {
        put_foot(s, fmax(y + 2.0, page->height - DM_PAPER_MARGIN - foot), true);
    }
}

static size_t break_pages(dm_paper *s, dm_paper_page *pages, size_t most)
{
    const dm_indications *f = s->picture.found;
    size_t i, n = 0, at = 0, last = 0;

    for (i = 0; f != NULL && i < f->turn_count; i++)
        last = placed(&f->turns[i]) ? i + 1 : last;
    while (at < last && n < most) {
        pages[n] = (dm_paper_page){.from = at};
        fill_page(s, &pages[n], n + 1, 2, false);
        at = pages[n++].to;
    }
    return n;
}

static const dm_paper_kind kind = {.prefix = "section",
                                   .title = "Sections of tendon ",
                                   .break_pages = break_pages,
                                   .fill_page = fill_page};

dm_status dm_write_section(const dm_delivery *delivery, dm_outset *out,
                           dm_diag *diag)
{
    return dm_paper_write(&kind, delivery, out, DM_CANVAS_SVG, diag);
}

dm_status dm_write_section_png(const dm_delivery *delivery, dm_outset *out,
                               dm_diag *diag)
{
    return dm_paper_write(&kind, delivery, out, DM_CANVAS_PNG, diag);
}

dm_status dm_write_section_pdf(const dm_delivery *delivery, dm_outset *out,
                               dm_diag *diag)
{
    return dm_paper_write(&kind, delivery, out, DM_CANVAS_PDF, diag);
}
