/* SPDX-License-Identifier: MIT
 * Strips: the developed map of each tendon on pages of A4 (US units: Letter),
 * as SVG, PNG or one PDF. The scale along the duct is the largest of the
 * usual ones with which the tendon takes no more than two panels (down to
 * 1:125) or four (1:150), else 1:200 and as many as it needs. Pages without
 * a next one end where their content ends, but for the PDF's. */
#include "write/strip.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "write/writers.h"

#define PI 3.14159265358979323846
#define AXIS 10.0 /* mm left of a map for its clock */
#define MAP_HIGH 29.0
#define GAP 1.5

dm_panel dm_strip_panel(const dm_paper *s, size_t index)
{
    dm_panel panel = {.x = s->left + AXIS, .mm_per_m = 1000.0 / s->scale};

    panel.from = s->panel_length * (double)index;
    panel.to =
        fmin(panel.from + s->panel_length, s->picture.tendon->line.length);
    panel.width = (panel.to - panel.from) * panel.mm_per_m;
    return panel;
}

double dm_panel_x(const dm_panel *panel, double t)
{
    return panel->x + (t - panel->from) * panel->mm_per_m;
}

/* ---- scales ------------------------------------------------------------- */

static void choose_scales(dm_paper *s)
{
    static const double metric[] = {10, 20, 25, 50, 75, 100, 125, 150, 200};
    static const double us[] = {12, 16, 24, 48, 60, 96, 120, 144, 192};
    static const double round[] = {1,  2,  2.5, 4,  5,  7.5, 10,  12.5,
                                   15, 20, 25,  30, 40, 50,  100, 200};
    const double *scales = s->picture.us ? us : metric;
    const dm_tendon *t = s->picture.tendon;
    const dm_model *m = s->picture.delivery->model;
    double width = s->right - s->left - AXIS, turn, unit;
    size_t i;

    s->radius = 0.0;
    for (i = 0; i < t->duct_count; i++)
        s->radius =
            fmax(s->radius, 0.5 * m->duct_types[t->ducts[i].duct_type].od);
    for (i = 0; i < 8; i++)
        if (t->line.length * 1000.0 / scales[i] <= width * (i < 7 ? 2.0 : 4.0))
            break;
    s->scale = scales[i];
    turn = 2.0 * PI * s->radius * 1000.0;
    for (i = 0; i < 15 && turn / round[i] > MAP_HIGH;)
        i++;
    s->around = round[i];
    unit = s->picture.us ? 0.3048 : s->scale < 50.0 ? 0.5 : 1.0;
    s->panel_length = width * s->scale / 1000.0;
    s->panel_count =
        (size_t)fmax(ceil(t->line.length / s->panel_length - 1e-9), 1.0);
    /* Equal strips that begin at round stations. */
    s->panel_length =
        fmin(ceil(t->line.length / (double)s->panel_count / unit - 1e-9) * unit,
             s->panel_length);
    s->panel_count =
        (size_t)fmax(ceil(t->line.length / s->panel_length - 1e-9), 1.0);
}

/* ---- pages -------------------------------------------------------------- */

/* Fills one page from where `p` begins; without drawing, p->..._to is found. */
static void fill_page(dm_paper *s, dm_paper_page *p, size_t number,
                      size_t pages, bool draw)
{
    double foot = dm_strip_foot(s, 0.0, false), y = DM_PAPER_MARGIN, high;
    double end = s->page_height - DM_PAPER_MARGIN - foot;
    size_t lines = dm_strip_table_lines(s), panel;

    y += dm_strip_head(s, y, number, pages, draw) + 1.0;
    y += dm_strip_elevation(s, y, p->from, p->to, number > 1, draw) + 1.0;
    for (panel = p->from; panel < (draw ? p->to : s->panel_count); panel++) {
        high = dm_strip_map(s, panel, y, false);
        if (!draw && panel > p->from && y + high > end)
            break;
        if (draw)
            dm_strip_map(s, panel, y, true);
        y += high + GAP;
    }
    if (!draw) {
        p->to = panel;
        p->line_to = p->line_from;
        if (panel == s->panel_count && lines > p->line_from) {
            double room = floor((end - y - 3.0) / 4.0);
            double most = (double)(lines - p->line_from);

            /* Few lines of many wait for the next page, which, holding tables
             * alone, takes at least a head and a row. */
            if (p->from == s->panel_count)
                room = fmax(room, 3.0);
            else if (room < fmin(most, 4.0))
                room = 0.0;
            p->line_to += dm_strip_table_fit(s, p->line_from, (size_t)room);
        }
    }
    if (p->line_to > p->line_from)
        y += dm_strip_table(s, y, p->line_from, p->line_to - p->line_from,
                            draw) +
             2.0;
    if (draw)
        dm_strip_foot(s, fmax(y, p->height - DM_PAPER_MARGIN - foot), true);
    else
        p->height = y + foot + DM_PAPER_MARGIN;
}

/* The pages of a strip; most: capacity. Needs a canvas to measure on. */
static size_t break_pages(dm_paper *s, dm_paper_page *pages, size_t most)
{
    size_t n = 0, lines = dm_strip_table_lines(s);
    dm_paper_page p = {0};

    while (n < most && (n == 0 || p.to < s->panel_count || p.line_to < lines)) {
        p = (dm_paper_page){.from = p.to, .line_from = p.line_to};
        fill_page(s, &p, n + 1, 2, false);
        pages[n++] = p;
    }
    return n;
}

/* ---- words -------------------------------------------------------------- */

/* What the picture says, for those who hear it. */
static void say_summary(dm_paper *s)
{
    dm_picture *p = &s->picture;
    size_t i;

    dm_say_clear(p);
    dm_say(p, "Developed map of tendon ");
    dm_say(p, p->tendon->id);
    dm_say(p, ", ");
    dm_say_length(p, p->tendon->line.length, true);
    dm_say(p, ", tested ");
    dm_say_percent(p, p->found ? p->found->cover_sum[DM_COVER_TESTED] : 0.0,
                   p->tendon->line.length);
    dm_say(p, ".");
    for (i = 0; p->found != NULL && i < p->found->count; i++) {
        const dm_indication *n = &p->found->items[i];

        dm_say(p, i == 0 ? " Indications: " : "; ");
        dm_say(p, n->key);
        dm_say(p, " ");
        dm_say(p, dm_kind_text(n->kind));
        dm_say(p, " ");
        dm_say_length(p, n->from.t, false);
        dm_say(p, " to ");
        dm_say_length(p, n->to.t, true);
    }
}

static const dm_paper_kind kind = {.prefix = "strip",
                                   .title = "Tendon ",
                                   .set_up = choose_scales,
                                   .break_pages = break_pages,
                                   .fill_page = fill_page,
                                   .say_summary = say_summary};

dm_status dm_write_strip(const dm_delivery *delivery, dm_outset *out,
                         dm_diag *diag)
{
    return dm_paper_write(&kind, delivery, out, DM_CANVAS_SVG, diag);
}

dm_status dm_write_strip_png(const dm_delivery *delivery, dm_outset *out,
                             dm_diag *diag)
{
    return dm_paper_write(&kind, delivery, out, DM_CANVAS_PNG, diag);
}

dm_status dm_write_strip_pdf(const dm_delivery *delivery, dm_outset *out,
                             dm_diag *diag)
{
    return dm_paper_write(&kind, delivery, out, DM_CANVAS_PDF, diag);
}
