/* SPDX-License-Identifier: MIT
 * Sheets to files: an index in walking order, what was opened, then the pages
 * of each tendon that has a tap point. One PDF, or a file of SVG a page. A tap
 * is never cut: as many as fit stand on a page. */
#include "write/sheet.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "write/writers.h"

#define TOP (DM_PAPER_MARGIN - 2.0) /* mm */
#define FIELD 7.6                   /* mm, of a row to fill in, at least */

typedef struct {
    const dm_delivery *delivery;
    dm_outset *set;
    dm_fonts *fonts;
    dm_arena *arena;
    dm_canvas_kind format;
    dm_sheet_tour tour;
    const char *pdf_name, *pdf_title;
    dm_canvas *pdf;
    dm_out *pdf_file;
} job;

static const dm_taps *taps_of(const job *j, size_t tendon)
{
    return j->delivery->results[tendon].taps;
}

/* ---- one page ---------------------------------------------------------------
 */

static void open_page(const job *j, size_t tendon, dm_sheet_page *s)
{
    *s = (dm_sheet_page){.tour = &j->tour};
    s->paper.picture = dm_picture_of(j->delivery, tendon);
    s->paper.page_width = s->paper.picture.us ? 215.9 : 210.0;
    s->paper.page_height = s->paper.picture.us ? 279.4 : 297.0;
    s->paper.left = DM_PAPER_MARGIN;
    s->paper.right = s->paper.page_width - DM_PAPER_MARGIN;
}

/* Draws, or only measures, all but the foot; returns where it ends. */
static double fill_body(dm_sheet_page *s, bool draw)
{
    const dm_taps *taps = s->paper.picture.taps;
    double y = TOP;
    size_t i;

    y += dm_sheet_head(s, y, draw);
    y += dm_sheet_elevation(s, y, draw);
    for (i = s->from; i < s->to; i++)
        y += dm_sheet_card(s, &taps->items[i], y, draw);
    return y;
}

static double foot_at(dm_sheet_page *s)
{
    return s->paper.page_height - TOP - dm_sheet_foot(s, 0.0, false);
}

/* What is left out so that the taps from..to-1 have room. */
static void tighten(dm_sheet_page *s)
{
    double end = foot_at(s);

    s->tight = 0;
    s->field = FIELD;
    while (s->tight < 4 && fill_body(s, false) > end)
        s->tight++;
}

/* Room that is left makes writing easier. */
static void widen(dm_sheet_page *s)
{
    double now = fill_body(s, false), left = foot_at(s) - now - 1.0, rows;

    s->field += 1.0;
    rows = fill_body(s, false) - now;
    s->field += fmax(fmin(left / rows, 4.0), 0.0) - 1.0;
}

/* As many taps as have room, one at least. */
static void break_page(dm_sheet_page *s)
{
    double end = foot_at(s);

    s->to = s->from + 1;
    tighten(s);
    while (s->to < s->paper.picture.taps->count) {
        s->to++;
        if (fill_body(s, false) > end) {
            s->to--;
            break;
        }
    }
}

static void fill_page(dm_sheet_page *s)
{
    tighten(s);
    widen(s);
    fill_body(s, true);
    dm_sheet_foot(s, foot_at(s), true);
}

/* On which page each tap of the tendon stands. */
static dm_status number_pages(job *j, dm_canvas *ruler, size_t tendon)
{
    size_t *page = j->tour.page[tendon];
    dm_sheet_page s;
    bool failed;

    open_page(j, tendon, &s);
    s.paper.picture.canvas = ruler;
    s.count = 2;
    while (s.to < s.paper.picture.taps->count) {
        s.from = s.to;
        break_page(&s);
        j->tour.pages++;
        for (size_t i = s.from; i < s.to; i++)
            page[i] = j->tour.pages;
    }
    failed = s.paper.picture.say.failed;
    dm_buf_free(&s.paper.picture.say);
    return failed ? DM_NOMEM : DM_OK;
}

/* ---- files ------------------------------------------------------------------
 */

static dm_status open_canvas(job *j, const dm_sheet_page *s, const char *title,
                             dm_canvas **out)
{
    dm_sheet sheet = {.kind = j->format,
                      .width = s->paper.page_width,
                      .height = s->paper.page_height,
                      .title = title,
                      .date = j->delivery->job->date};

    return dm_canvas_new(j->fonts, &sheet, out);
}

/* The canvas of a page, and the file it goes to when it is closed. */
static dm_status begin_page(job *j, dm_sheet_page *s, const char *name,
                            const char *title, dm_out **file)
{
    dm_status status = DM_OK;

    *file = NULL;
    if (name == NULL || title == NULL)
        return DM_NOMEM;
    if (j->format != DM_CANVAS_PDF) {
        status = dm_outset_open(j->set, name, file);
        return status != DM_OK
                   ? status
                   : open_canvas(j, s, title, &s->paper.picture.canvas);
    }
    if (j->pdf != NULL) {
        dm_canvas_next_page(j->pdf);
    } else {
        title = dm_arena_printf(j->arena, "%s, bridge %s", j->pdf_title,
                                j->delivery->model->id);
        status = title == NULL
                     ? DM_NOMEM
                     : dm_outset_open(j->set, j->pdf_name, &j->pdf_file);
        if (status == DM_OK)
            status = open_canvas(j, s, title, &j->pdf);
    }
    s->paper.picture.canvas = j->pdf;
    return status;
}

static dm_status end_page(job *j, dm_sheet_page *s, dm_out *file)
{
    dm_status status = DM_OK;

    if (j->format != DM_CANVAS_PDF) {
        status = dm_canvas_finish(s->paper.picture.canvas, file);
        if (status == DM_OK)
            dm_out_done(file);
        dm_canvas_free(s->paper.picture.canvas);
    }
    s->paper.picture.canvas = NULL;
    return status;
}

static char *page_name(job *j, size_t tendon, size_t number)
{
    char *id = dm_file_name(j->arena, j->delivery->model->tendons[tendon].id);

    if (id == NULL)
        return NULL;
    /* '+' stands in no file name that is made of an id. */
    return number == 1
               ? dm_arena_printf(j->arena, "sheet-%s.svg", id)
               : dm_arena_printf(j->arena, "sheet-%s+%zu.svg", id, number);
}

static dm_status draw_tendon(job *j, size_t tendon)
{
    const size_t *page = j->tour.page[tendon];
    size_t taps = taps_of(j, tendon)->count;
    dm_status status = DM_OK;
    dm_sheet_page s;
    dm_out *file;

    open_page(j, tendon, &s);
    s.count = page[taps - 1] - page[0] + 1;
    while (s.to < taps && status == DM_OK) {
        s.from = s.to;
        s.page = page[s.from];
        s.number = s.page - page[0] + 1;
        while (s.to < taps && page[s.to] == s.page)
            s.to++;
        status = begin_page(
            j, &s, page_name(j, tendon, s.number),
            dm_arena_printf(j->arena, "Tendon %s", s.paper.picture.tendon->id),
            &file);
        if (status == DM_OK) {
            fill_page(&s);
            status = end_page(j, &s, file);
        }
    }
    if (s.paper.picture.say.failed)
        status = DM_NOMEM;
    dm_buf_free(&s.paper.picture.say);
    return status;
}

/* Pages that go on from one to the next: index, as found, labels. */
typedef struct {
    const dm_sheet_stop *stops;
    size_t count;
    /* Draws, or only measures, a page from stops[from] on; returns the first
     * stop of the next one. */
    size_t (*fill)(dm_sheet_page *s, size_t from, bool draw);
    const char *name, *title;
} list;

static dm_status count_pages(const job *j, const list *l, dm_canvas *ruler,
                             size_t *pages)
{
    dm_status status = DM_OK;
    dm_sheet_page s;

    for (size_t at = 0; at < l->count && status == DM_OK; ++*pages) {
        open_page(j, l->stops[at].tendon, &s);
        s.paper.picture.canvas = ruler;
        at = l->fill(&s, at, false);
        if (s.paper.picture.say.failed)
            status = DM_NOMEM;
        dm_buf_free(&s.paper.picture.say);
    }
    return status;
}

/* `before`: pages of the set before its first. */
static dm_status draw_list(job *j, const list *l, size_t before)
{
    dm_status status = DM_OK;
    dm_sheet_page s;
    dm_out *file;
    size_t number = 0;

    for (size_t at = 0; at < l->count && status == DM_OK;) {
        open_page(j, l->stops[at].tendon, &s);
        s.page = before + ++number;
        status = begin_page(
            j, &s,
            number == 1
                ? dm_arena_printf(j->arena, "%s.svg", l->name)
                : dm_arena_printf(j->arena, "%s+%zu.svg", l->name, number),
            l->title, &file);
        if (status == DM_OK) {
            at = l->fill(&s, at, true);
            status = end_page(j, &s, file);
        }
        if (s.paper.picture.say.failed)
            status = DM_NOMEM;
        dm_buf_free(&s.paper.picture.say);
    }
    return status;
}

/* Of a PDF; later pages go to the next one. */
static dm_status end_pdf(job *j)
{
    dm_status status = DM_OK;

    if (j->pdf != NULL)
        status = dm_canvas_finish(j->pdf, j->pdf_file);
    dm_canvas_free(j->pdf);
    j->pdf = NULL;
    return status;
}

static dm_status draw_all(job *j)
{
    const dm_sheet sheet = {
        .kind = DM_CANVAS_SVG, .width = 10.0, .height = 10.0};
    dm_sheet_tour *t = &j->tour;
    dm_status status = dm_sheet_tour_make(j->delivery, j->arena, t);
    const list index = {t->stops, t->stop_count, dm_sheet_index, "sheets-index",
                        "Tap points in walking order"};
    const list found = {t->opened, t->opened_count, dm_sheet_found,
                        "sheets-found", "As found"};
    const list labels = {t->stops, t->stop_count, dm_sheet_labels, "labels",
                         "Labels of tap points"};
    dm_canvas *ruler = NULL;
    size_t lists = 0, i;

    if (status == DM_OK)
        status = dm_canvas_new(j->fonts, &sheet, &ruler);
    if (status == DM_OK)
        status = count_pages(j, &index, ruler, &t->pages);
    lists = t->pages;
    if (status == DM_OK)
        status = count_pages(j, &found, ruler, &t->pages);
    for (i = 0; status == DM_OK && i < t->tendon_count; i++)
        status = number_pages(j, ruler, t->tendons[i]);
    j->pdf_name = "sheets.pdf";
    j->pdf_title = "Sheets";
    if (status == DM_OK)
        status = draw_list(j, &index, 0);
    if (status == DM_OK)
        status = draw_list(j, &found, lists);
    for (i = 0; status == DM_OK && i < t->tendon_count; i++)
        status = draw_tendon(j, t->tendons[i]);
    if (status == DM_OK && ruler != NULL && dm_canvas_failed(ruler))
        status = DM_NOMEM;
    if (status == DM_OK)
        status = end_pdf(j);
    j->pdf_name = "labels.pdf";
    j->pdf_title = "Labels";
    if (status == DM_OK)
        status = draw_list(j, &labels, 0);
    if (status == DM_OK)
        status = end_pdf(j);
    dm_canvas_free(j->pdf);
    dm_canvas_free(ruler);
    return status;
}

static dm_status write_sheets(const dm_delivery *delivery, dm_outset *out,
                              dm_canvas_kind format, dm_diag *diag)
{
    job j = {.delivery = delivery, .set = out, .format = format};
    const dm_place nowhere = {NULL, 0};
    dm_status status = dm_fonts_new(&j.fonts);

    j.arena = dm_arena_new();
    if (j.arena == NULL)
        status = DM_NOMEM;
    if (status == DM_OK && !dm_fonts_wished(j.fonts))
        dm_warn(diag, nowhere, "sheet",
                "the font DejaVu Sans is not installed: another one is used, "
                "and the bytes of the sheets depend on it");
    if (status == DM_OK)
        status = draw_all(&j);
    if (status == DM_OK && dm_fonts_missing(j.fonts))
        dm_warn(diag, nowhere, "sheet",
                "no installed font has some letters of the names, which print "
                "as boxes: install one that has them");
    dm_fonts_free(j.fonts);
    dm_arena_free(j.arena);
    if (status == DM_NOMEM)
        return dm_error(diag, DM_NOMEM, nowhere, "sheet", "out of memory");
    return status;
}

dm_status dm_write_sheet(const dm_delivery *delivery, dm_outset *out,
                         dm_diag *diag)
{
    return write_sheets(delivery, out, DM_CANVAS_SVG, diag);
}

dm_status dm_write_sheet_pdf(const dm_delivery *delivery, dm_outset *out,
                             dm_diag *diag)
{
    return write_sheets(delivery, out, DM_CANVAS_PDF, diag);
}
