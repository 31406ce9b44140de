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
#define MARGIN 10.0
#define AXIS 10.0 /* mm left of a map for its clock */
#define MAP_HIGH 29.0
#define GAP 3.0

dm_panel dm_strip_panel(const dm_strip_paper *s, size_t index)
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

static void choose_scales(dm_strip_paper *s)
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

static void open_strip(const dm_delivery *delivery, size_t tendon,
                       dm_strip_paper *s)
{
    *s = (dm_strip_paper){.picture = dm_picture_of(delivery, tendon)};
    s->page_width = s->picture.us ? 215.9 : 210.0;
    s->page_height = s->picture.us ? 279.4 : 297.0;
    s->left = MARGIN;
    s->right = s->page_width - MARGIN;
    choose_scales(s);
}

/* ---- pages -------------------------------------------------------------- */

/* What of the strip stands on one page. */
typedef struct {
    size_t panel_from, panel_to; /* maps */
    size_t line_from, line_to;   /* of the tables */
    double height;               /* of the content, mm */
} page;

/* Fills one page from where `p` begins; without drawing, p->..._to is found. */
static void fill_page(dm_strip_paper *s, page *p, size_t number, size_t pages,
                      bool draw)
{
    double foot = dm_strip_foot(s, 0.0, false), y = MARGIN, high;
    double end = s->page_height - MARGIN - foot;
    size_t lines = dm_strip_table_lines(s), panel;

    y += dm_strip_head(s, y, number, pages, draw) + 1.0;
    y +=
        dm_strip_elevation(s, y, p->panel_from, p->panel_to, number > 1, draw) +
        1.0;
    for (panel = p->panel_from; panel < (draw ? p->panel_to : s->panel_count);
         panel++) {
        high = dm_strip_map(s, panel, y, false);
        if (!draw && panel > p->panel_from && y + high > end)
            break;
        if (draw)
            dm_strip_map(s, panel, y, true);
        y += high + GAP;
    }
    if (!draw) {
        p->panel_to = panel;
        p->line_to = p->line_from;
        if (panel == s->panel_count && lines > p->line_from) {
            double room = floor((end - y - 3.0) / 4.0);
            double most = (double)(lines - p->line_from);

            /* A head without a row is left for the next page, which, holding
             * tables alone, takes at least one line. */
            if (p->panel_from == s->panel_count)
                room = fmax(room, 2.0);
            else if (room < fmin(most, 4.0))
                room = 0.0;
            p->line_to += (size_t)fmax(fmin(room, most), 0.0);
        }
    }
    if (p->line_to > p->line_from)
        y += dm_strip_table(s, y, p->line_from, p->line_to - p->line_from,
                            draw) +
             2.0;
    if (draw)
        dm_strip_foot(s, fmax(y, p->height - MARGIN - foot), true);
    else
        p->height = y + foot + MARGIN;
}

/* The pages of a strip; most: capacity. Needs a canvas to measure on. */
static size_t break_pages(dm_strip_paper *s, page *pages, size_t most)
{
    size_t n = 0, lines = dm_strip_table_lines(s);
    page p = {0};

    while (n < most &&
           (n == 0 || p.panel_to < s->panel_count || p.line_to < lines)) {
        p = (page){.panel_from = p.panel_to, .line_from = p.line_to};
        fill_page(s, &p, n + 1, 2, false);
        pages[n++] = p;
    }
    return n;
}

#define MOST_PAGES 2000

/* ---- words -------------------------------------------------------------- */

/* What the picture says, for those who hear it. */
static void summary(dm_strip_paper *s, dm_buf *out)
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
    dm_buf_puts(out, dm_said(p));
}

/* ---- files -------------------------------------------------------------- */

static dm_status no_memory(dm_diag *diag, const char *file)
{
    return dm_error(diag, DM_NOMEM, (dm_place){file, 0}, NULL, "out of memory");
}

typedef struct {
    const dm_delivery *delivery;
    dm_outset *set;
    dm_diag *diag;
    dm_fonts *fonts;
    dm_arena *arena;
    dm_canvas_kind kind;
    page *pages; /* [MOST_PAGES] */
    dm_canvas *pdf;
    bool begun; /* the PDF has a page */
} job;

static dm_status open_canvas(job *j, dm_strip_paper *s, double height,
                             dm_canvas **out)
{
    dm_buf title = {0}, words = {0};
    dm_sheet sheet = {.kind = j->kind,
                      .width = s->page_width,
                      .height = height,
                      .date = j->delivery->job->date};
    dm_status status;

    dm_buf_puts(&title, "Tendon ");
    dm_buf_puts(&title, s->picture.tendon->id);
    summary(s, &words);
    sheet.title = title.data;
    sheet.summary = words.data;
    status = title.failed || words.failed
                 ? DM_NOMEM
                 : dm_canvas_new(j->fonts, &sheet, out);
    dm_buf_free(&title);
    dm_buf_free(&words);
    return status;
}

static char *page_name(job *j, const dm_strip_paper *s, size_t number)
{
    const char *end = j->kind == DM_CANVAS_SVG ? "svg" : "png";
    char *id = dm_file_name(j->arena, s->picture.tendon->id);

    if (id == NULL)
        return NULL;
    return number == 1
               ? dm_arena_printf(j->arena, "strip-%s.%s", id, end)
               : dm_arena_printf(j->arena, "strip-%s+%zu.%s", id, number, end);
}

static dm_status draw_page(job *j, dm_strip_paper *s, page *p, size_t number,
                           size_t count)
{
    dm_status status = DM_OK;
    dm_out *file = NULL;
    char *name;

    if (j->kind == DM_CANVAS_PDF) {
        if (j->begun)
            dm_canvas_next_page(j->pdf);
        j->begun = true;
        p->height = s->page_height;
        s->picture.canvas = j->pdf;
        fill_page(s, p, number, count, true);
        return DM_OK;
    }
    name = page_name(j, s, number);
    if (name == NULL)
        return DM_NOMEM;
    s->picture.canvas = NULL;
    if (number < count)
        p->height = fmax(p->height, s->page_height);
    status = open_canvas(j, s, p->height, &s->picture.canvas);
    if (status == DM_OK)
        status = dm_outset_open(j->set, name, &file);
    if (status == DM_OK) {
        fill_page(s, p, number, count, true);
        status = dm_canvas_finish(s->picture.canvas, file);
    }
    if (status == DM_OK)
        dm_out_done(file);
    dm_canvas_free(s->picture.canvas);
    s->picture.canvas = NULL;
    return status;
}

static dm_status draw_tendon(job *j, dm_canvas *ruler, size_t tendon)
{
    dm_status status = DM_OK;
    size_t i, count;
    dm_strip_paper s;

    open_strip(j->delivery, tendon, &s);
    s.picture.canvas = ruler;
    count = break_pages(&s, j->pages, MOST_PAGES);
    for (i = 0; i < count && status == DM_OK; i++)
        status = draw_page(j, &s, &j->pages[i], i + 1, count);
    if (s.picture.say.failed || dm_canvas_failed(ruler))
        status = DM_NOMEM;
    dm_buf_free(&s.picture.say);
    return status;
}

static dm_status open_pdf(job *j, dm_out **file)
{
    dm_status status;
    dm_strip_paper s;

    open_strip(j->delivery, 0, &s);
    status = dm_outset_open(j->set, "strips.pdf", file);
    if (status == DM_OK)
        status = open_canvas(j, &s, s.page_height, &j->pdf);
    dm_buf_free(&s.picture.say);
    return status;
}

/* The ruler is a canvas that nothing is drawn on: layout measures with it. */
static dm_status draw_all(job *j)
{
    const dm_sheet sheet = {
        .kind = DM_CANVAS_SVG, .width = 10.0, .height = 10.0};
    dm_canvas *ruler = NULL;
    dm_out *file = NULL;
    dm_status status = dm_canvas_new(j->fonts, &sheet, &ruler);
    size_t i;

    if (status == DM_OK && j->kind == DM_CANVAS_PDF)
        status = open_pdf(j, &file);
    for (i = 0; i < j->delivery->model->tendon_count && status == DM_OK; i++)
        status = draw_tendon(j, ruler, i);
    if (status == DM_OK && j->kind == DM_CANVAS_PDF)
        status = dm_canvas_finish(j->pdf, file);
    dm_canvas_free(j->pdf);
    dm_canvas_free(ruler);
    return status;
}

static dm_status write_strips(const dm_delivery *delivery, dm_outset *out,
                              dm_canvas_kind kind, dm_diag *diag)
{
    job j = {.delivery = delivery, .set = out, .diag = diag, .kind = kind};
    const char *what = "strip";
    dm_status status = dm_fonts_new(&j.fonts);

    j.arena = dm_arena_new();
    if (j.arena != NULL)
        j.pages = DM_NEW_ARRAY(j.arena, page, MOST_PAGES);
    if (status == DM_OK && j.pages == NULL)
        status = DM_NOMEM;
    if (status == DM_OK && !dm_fonts_wished(j.fonts))
        dm_warn(diag, (dm_place){NULL, 0}, what,
                "the font DejaVu Sans is not installed: another one is used, "
                "and the bytes of the pictures depend on it");
    if (status == DM_OK)
        status = draw_all(&j);
    dm_fonts_free(j.fonts);
    dm_arena_free(j.arena);
    if (status == DM_NOMEM)
        return no_memory(diag, what);
    return status;
}

dm_status dm_write_strip(const dm_delivery *delivery, dm_outset *out,
                         dm_diag *diag)
{
    return write_strips(delivery, out, DM_CANVAS_SVG, diag);
}

dm_status dm_write_strip_png(const dm_delivery *delivery, dm_outset *out,
                             dm_diag *diag)
{
    return write_strips(delivery, out, DM_CANVAS_PNG, diag);
}

dm_status dm_write_strip_pdf(const dm_delivery *delivery, dm_outset *out,
                             dm_diag *diag)
{
    return write_strips(delivery, out, DM_CANVAS_PDF, diag);
}
