/* SPDX-License-Identifier: MIT
 * Pages to files: A4, in US units Letter. A page of SVG or PNG that is not
 * followed by another ends where its content ends. */
#include "write/paper.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"

typedef struct {
    const dm_paper_kind *kind;
    const dm_delivery *delivery;
    dm_outset *set;
    dm_fonts *fonts;
    dm_arena *arena;
    dm_canvas_kind format;
    dm_paper_page *pages; /* [DM_PAPER_MOST] */
    dm_canvas *pdf;       /* NULL until there is a page */
    dm_out *pdf_file;
} job;

static void open_paper(const job *j, size_t tendon, dm_paper *s)
{
    *s = (dm_paper){.picture = dm_picture_of(j->delivery, tendon)};
    s->page_width = s->picture.us ? 215.9 : 210.0;
    s->page_height = s->picture.us ? 279.4 : 297.0;
    s->left = DM_PAPER_MARGIN;
    s->right = s->page_width - DM_PAPER_MARGIN;
    if (j->kind->set_up != NULL)
        j->kind->set_up(s);
}

static dm_status open_canvas(job *j, dm_paper *s, double height,
                             dm_canvas **out)
{
    dm_buf title = {0};
    dm_sheet sheet = {.kind = j->format,
                      .width = s->page_width,
                      .height = height,
                      .date = j->delivery->job->date};
    dm_status status;

    if (j->format == DM_CANVAS_PDF)
        dm_buf_printf(&title, "%ss, bridge %s", j->kind->prefix,
                      j->delivery->model->id);
    else
        dm_buf_printf(&title, "%s%s", j->kind->title, s->picture.tendon->id);
    dm_say_clear(&s->picture);
    if (j->kind->say_summary != NULL)
        j->kind->say_summary(s);
    sheet.title = title.data;
    sheet.summary = j->kind->say_summary != NULL ? dm_said(&s->picture) : NULL;
    status = title.failed ? DM_NOMEM : dm_canvas_new(j->fonts, &sheet, out);
    dm_buf_free(&title);
    return status;
}

static char *page_name(job *j, const dm_paper *s, size_t number)
{
    const char *end = j->format == DM_CANVAS_SVG ? "svg" : "png";
    char *id = dm_file_name(j->arena, s->picture.tendon->id);

    if (id == NULL)
        return NULL;
    /* '+' stands in no file name that is made of an id. */
    return number == 1
               ? dm_arena_printf(j->arena, "%s-%s.%s", j->kind->prefix, id, end)
               : dm_arena_printf(j->arena, "%s-%s+%zu.%s", j->kind->prefix, id,
                                 number, end);
}

static dm_status pdf_page(job *j, dm_paper *s, dm_paper_page *page,
                          size_t number, size_t count)
{
    dm_status status = DM_OK;
    char *name;

    if (j->pdf != NULL) {
        dm_canvas_next_page(j->pdf);
    } else {
        name = dm_arena_printf(j->arena, "%ss.pdf", j->kind->prefix);
        status = name == NULL ? DM_NOMEM
                              : dm_outset_open(j->set, name, &j->pdf_file);
        if (status == DM_OK)
            status = open_canvas(j, s, s->page_height, &j->pdf);
    }
    if (status != DM_OK)
        return status;
    page->height = s->page_height;
    s->picture.canvas = j->pdf;
    j->kind->fill_page(s, page, number, count, true);
    return DM_OK;
}

static dm_status file_page(job *j, dm_paper *s, dm_paper_page *page,
                           size_t number, size_t count)
{
    char *name = page_name(j, s, number);
    dm_status status;
    dm_out *file = NULL;

    s->picture.canvas = NULL;
    if (number < count)
        page->height = fmax(page->height, s->page_height);
    status = name == NULL ? DM_NOMEM
                          : open_canvas(j, s, page->height, &s->picture.canvas);
    if (status == DM_OK)
        status = dm_outset_open(j->set, name, &file);
    if (status == DM_OK) {
        j->kind->fill_page(s, page, number, count, true);
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
    dm_paper s;

    open_paper(j, tendon, &s);
    s.picture.canvas = ruler;
    count = j->kind->break_pages(&s, j->pages, DM_PAPER_MOST);
    for (i = 0; i < count && status == DM_OK; i++)
        status = j->format == DM_CANVAS_PDF
                     ? pdf_page(j, &s, &j->pages[i], i + 1, count)
                     : file_page(j, &s, &j->pages[i], i + 1, count);
    if (s.picture.say.failed || dm_canvas_failed(ruler))
        status = DM_NOMEM;
    dm_buf_free(&s.picture.say);
    return status;
}

/* The ruler is a canvas that nothing is drawn on: layout measures with it. */
static dm_status draw_all(job *j)
{
    const dm_sheet sheet = {
        .kind = DM_CANVAS_SVG, .width = 10.0, .height = 10.0};
    dm_canvas *ruler = NULL;
    dm_status status = dm_canvas_new(j->fonts, &sheet, &ruler);
    size_t i;

    for (i = 0; i < j->delivery->model->tendon_count && status == DM_OK; i++)
        status = draw_tendon(j, ruler, i);
    if (status == DM_OK && j->pdf != NULL)
        status = dm_canvas_finish(j->pdf, j->pdf_file);
    dm_canvas_free(j->pdf);
    dm_canvas_free(ruler);
    return status;
}

dm_status dm_paper_write(const dm_paper_kind *kind, const dm_delivery *delivery,
                         dm_outset *out, dm_canvas_kind format, dm_diag *diag)
{
    job j = {.kind = kind, .delivery = delivery, .set = out, .format = format};
    const dm_place nowhere = {NULL, 0};
    dm_status status = dm_fonts_new(&j.fonts);

    j.arena = dm_arena_new();
    if (j.arena != NULL)
        j.pages = DM_NEW_ARRAY(j.arena, dm_paper_page, DM_PAPER_MOST);
    if (status == DM_OK && j.pages == NULL)
        status = DM_NOMEM;
    if (status == DM_OK && !dm_fonts_wished(j.fonts))
        dm_warn(diag, nowhere, kind->prefix,
                "the font DejaVu Sans is not installed: another one is used, "
                "and the bytes of the pictures depend on it");
    if (status == DM_OK)
        status = draw_all(&j);
    if (status == DM_OK && dm_fonts_missing(j.fonts))
        dm_warn(diag, nowhere, kind->prefix,
                "no installed font has some letters of the names, which print "
                "as boxes: install one that has them");
    dm_fonts_free(j.fonts);
    dm_arena_free(j.arena);
    if (status == DM_NOMEM)
        return dm_error(diag, DM_NOMEM, nowhere, kind->prefix, "out of memory");
    return status;
}
