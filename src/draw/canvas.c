/* SPDX-License-Identifier: MIT
 * One set of calls, two ways out: svg.c for text, ink.c for Cairo. */
#include "draw/canvas.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "draw/svg.h"
#include "draw/text.h"
#include "ductmark/ductmark.h"

#define PI 3.14159265358979323846
#define PNG_DPI 200.0

struct dm_canvas {
    dm_fonts *fonts;
    dm_ink *ink; /* NULL: SVG */
    dm_buf svg;
    dm_buf clean;        /* the text at hand */
    dm_path path, lines; /* the shape at hand */
    size_t clips;        /* SVG: numbers its clips */
    dm_canvas_kind kind;
    bool failed;
};

static bool good_size(const dm_sheet *sheet)
{
    return sheet->width >= 1.0 && sheet->width <= 5000.0 &&
           sheet->height >= 1.0 && sheet->height <= 5000.0 &&
           (sheet->dpi == 0.0 || (sheet->dpi >= 10.0 && sheet->dpi <= 1200.0));
}

static dm_status open_ink(dm_canvas *c, const dm_sheet *sheet)
{
    const dm_ink_page page = {.pdf = sheet->kind == DM_CANVAS_PDF,
                              .width = sheet->width,
                              .height = sheet->height,
                              .dpi = sheet->dpi > 0.0 ? sheet->dpi : PNG_DPI,
                              .title = c->clean.data,
                              .creator = c->svg.data,
                              .date = sheet->date};

    return dm_ink_new(c->fonts, &page, &c->ink);
}

dm_status dm_canvas_new(dm_fonts *fonts, const dm_sheet *sheet, dm_canvas **out)
{
    dm_canvas *c;
    dm_status status = DM_OK;

    *out = NULL;
    if (!good_size(sheet))
        return DM_RANGE;
    c = calloc(1, sizeof *c);
    if (c == NULL)
        return DM_NOMEM;
    c->fonts = fonts;
    c->kind = sheet->kind;
    if (sheet->kind == DM_CANVAS_SVG) {
        dm_svg_begin(&c->svg, sheet);
    } else {
        dm_buf_printf(&c->svg, "ductmark %s", dm_version());
        if (sheet->title != NULL)
            dm_text_clean(sheet->title, &c->clean);
        status =
            c->svg.failed || c->clean.failed ? DM_NOMEM : open_ink(c, sheet);
        dm_buf_clear(&c->svg);
    }
    if (status == DM_OK && c->svg.failed)
        status = DM_NOMEM;
    if (status != DM_OK)
        dm_canvas_free(c);
    else
        *out = c;
    return status;
}

void dm_canvas_free(dm_canvas *c)
{
    if (c == NULL)
        return;
    dm_ink_free(c->ink);
    dm_buf_free(&c->svg);
    dm_buf_free(&c->clean);
    dm_path_free(&c->path);
    dm_path_free(&c->lines);
    free(c);
}

bool dm_canvas_failed(const dm_canvas *c)
{
    return c->failed || c->clean.failed || c->path.failed || c->lines.failed ||
           c->svg.failed;
}

dm_status dm_canvas_finish(dm_canvas *c, dm_out *to)
{
    dm_status status = DM_OK;

    if (dm_canvas_failed(c))
        return DM_NOMEM;
    if (c->ink == NULL)
        dm_svg_end(&c->svg);
    else
        status = dm_ink_finish(c->ink, &c->svg);
    if (status == DM_OK && c->svg.failed)
        status = DM_NOMEM;
    if (status == DM_OK)
        dm_out_put(to, c->svg.data, c->svg.length);
    return status;
}

void dm_canvas_next_page(dm_canvas *c)
{
    assert(c->kind == DM_CANVAS_PDF);
    dm_ink_next_page(c->ink);
}

static bool take_text(dm_canvas *c, const char *text)
{
    dm_buf_clear(&c->clean);
    dm_text_clean(text, &c->clean);
    c->failed = c->failed || c->clean.failed;
    return !c->clean.failed && c->clean.length > 0;
}

/* ---- shapes ----------------------------------------------------------- */

typedef struct {
    double at[4];
    int count;
} dash_list;

static dash_list dashes(dm_dash dash, double width)
{
    const double w = fmax(width, 0.1);

    switch (dash) {
    case DM_DASH_DASHED:
        return (dash_list){{7.0 * w, 5.0 * w}, 2};
    case DM_DASH_DOTTED:
        return (dash_list){{0.0, 3.0 * w}, 2};
    case DM_DASH_CHAIN:
        return (dash_list){{7.0 * w, 3.0 * w, 0.0, 3.0 * w}, 4};
    default:
        return (dash_list){{0.0}, 0};
    }
}

static void stroke(dm_canvas *c, const dm_path *path, uint32_t colour,
                   double width, dm_dash dash)
{
    const dash_list d = dashes(dash, width);

    if (path->count == 0)
        return;
    if (c->ink == NULL)
        dm_svg_path(&c->svg, path, DM_NO_COLOUR, colour, width, d.at, d.count);
    else
        dm_ink_stroke(c->ink, path, colour, width, d.at, d.count);
}

static void hatch(dm_canvas *c, const dm_path *path, const dm_look *look)
{
    static const struct {
        double angle[2];
        int count;
    } kinds[] = {
        [DM_HATCH_NONE] = {{0.0}, 0},
        [DM_HATCH_RISING] = {{-PI / 4.0}, 1},
        [DM_HATCH_FALLING] = {{PI / 4.0}, 1},
        [DM_HATCH_CROSS] = {{-PI / 4.0, PI / 4.0}, 2},
        [DM_HATCH_LEVEL] = {{0.0}, 1},
        [DM_HATCH_UPRIGHT] = {{PI / 2.0}, 1},
        [DM_HATCH_GRID] = {{0.0, PI / 2.0}, 2},
        [DM_HATCH_DOTS] = {{PI / 6.0}, 1},
    };
    int i;

    if (look->hatch == DM_HATCH_NONE || !(look->hatch_step > 0.0))
        return;
    dm_path_clear(&c->lines);
    for (i = 0; i < kinds[look->hatch].count; i++)
        dm_path_hatch(path, kinds[look->hatch].angle[i], look->hatch_step,
                      &c->lines);
    if (!c->lines.failed)
        stroke(c, &c->lines, look->hatch_colour, look->hatch_width,
               look->hatch == DM_HATCH_DOTS ? DM_DASH_DOTTED : DM_DASH_SOLID);
}

void dm_canvas_path(dm_canvas *c, const dm_path *path, const dm_look *look)
{
    if (path->failed) {
        c->failed = true;
        return;
    }
    if (look->fill != DM_NO_COLOUR && c->ink == NULL)
        dm_svg_path(&c->svg, path, look->fill, DM_NO_COLOUR, 0.0, NULL, 0);
    else if (look->fill != DM_NO_COLOUR)
        dm_ink_fill(c->ink, path, look->fill);
    hatch(c, path, look);
    if (look->stroke != DM_NO_COLOUR && look->width > 0.0)
        stroke(c, path, look->stroke, look->width, look->dash);
}

void dm_canvas_rect(dm_canvas *c, double x, double y, double width,
                    double height, const dm_look *look)
{
    dm_path_clear(&c->path);
    dm_path_rect(&c->path, x, y, width, height);
    dm_canvas_path(c, &c->path, look);
}

void dm_canvas_line(dm_canvas *c, double x0, double y0, double x1, double y1,
                    const dm_look *look)
{
    dm_path_clear(&c->path);
    dm_path_move(&c->path, x0, y0);
    dm_path_line(&c->path, x1, y1);
    if (!c->path.failed)
        stroke(c, &c->path, look->stroke, look->width, look->dash);
}

void dm_canvas_circle(dm_canvas *c, double x, double y, double r,
                      const dm_look *look)
{
    dm_path_clear(&c->path);
    dm_path_circle(&c->path, x, y, r);
    dm_canvas_path(c, &c->path, look);
}

void dm_canvas_polygon(dm_canvas *c, const double *corners, size_t count,
                       const dm_look *look)
{
    size_t i;

    dm_path_clear(&c->path);
    for (i = 0; i < count; i++)
        dm_path_line(&c->path, corners[2 * i], corners[2 * i + 1]);
    dm_path_close(&c->path);
    dm_canvas_path(c, &c->path, look);
}

void dm_canvas_clip(dm_canvas *c, double x, double y, double width,
                    double height)
{
    if (c->ink == NULL)
        dm_svg_clip(&c->svg, c->clips++, x, y, width, height);
    else
        dm_ink_clip(c->ink, x, y, width, height);
}

void dm_canvas_unclip(dm_canvas *c)
{
    if (c->ink == NULL)
        dm_svg_group_end(&c->svg);
    else
        dm_ink_unclip(c->ink);
}

void dm_canvas_group(dm_canvas *c, const char *title)
{
    if (c->ink != NULL)
        return;
    dm_svg_group(&c->svg, take_text(c, title) ? c->clean.data : "");
}

void dm_canvas_group_end(dm_canvas *c)
{
    if (c->ink == NULL)
        dm_svg_group_end(&c->svg);
}

/* ---- text ------------------------------------------------------------- */

static void put_line(dm_canvas *c, double x, double y, const char *clean,
                     double width, const dm_type *type)
{
    const double back[] = {0.0, 0.5, 1.0};
    double size = type->size * DM_MM_PER_POINT, by;

    if (c->ink == NULL) {
        dm_svg_text(&c->svg, x, y, clean, size, width, type);
        return;
    }
    by = back[type->align] * width;
    dm_ink_text(c->ink, x - by * cos(type->turn), y - by * sin(type->turn),
                type->turn, clean, size, type->bold, type->colour, type->halo);
}

void dm_canvas_text(dm_canvas *c, double x, double y, const char *text,
                    const dm_type *type)
{
    dm_canvas_text_fit(c, x, y, HUGE_VAL, text, type);
}

double dm_canvas_text_fit(dm_canvas *c, double x, double y, double width,
                          const char *text, const dm_type *type)
{
    double got;

    if (!take_text(c, text))
        return 0.0;
    if (isfinite(width))
        dm_text_fit(c->fonts, &c->clean, width, type->size, type->bold);
    c->failed = c->failed || c->clean.failed;
    if (c->clean.failed || c->clean.length == 0)
        return 0.0;
    got = dm_text_width(c->fonts, c->clean.data, type->size, type->bold);
    put_line(c, x, y, c->clean.data, got, type);
    return got;
}

double dm_canvas_text_width(dm_canvas *c, const char *text, const dm_type *type)
{
    return take_text(c, text)
               ? dm_text_width(c->fonts, c->clean.data, type->size, type->bold)
               : 0.0;
}

double dm_type_leading(const dm_type *type)
{
    return (type->leading > 0.0 ? type->leading : 1.25) * type->size *
           DM_MM_PER_POINT;
}

/* One paragraph; returns its number of lines. */
static size_t put_paragraph(dm_canvas *c, double x, double y, double width,
                            const char *text, const dm_type *type, bool draw)
{
    size_t lines = 0, length, skip;
    char *at, end;

    if (!take_text(c, text))
        return c->clean.failed ? 0 : 1;
    for (at = c->clean.data; *at != '\0'; at += length + skip, lines++) {
        length =
            dm_text_line(c->fonts, at, width, type->size, type->bold, &skip);
        end = at[length];
        at[length] = '\0';
        if (draw)
            put_line(c, x, y + (double)lines * dm_type_leading(type), at,
                     dm_text_width(c->fonts, at, type->size, type->bold), type);
        at[length] = end;
    }
    return lines;
}

size_t dm_canvas_text_block(dm_canvas *c, double x, double y, double width,
                            const char *text, const dm_type *type, bool draw)
{
    size_t lines = 0, length;
    dm_buf part = {0};

    for (;; text += length + 1) {
        length = strcspn(text, "\n");
        dm_buf_clear(&part);
        dm_buf_put(&part, text, length);
        if (part.failed)
            break;
        lines += put_paragraph(c, x, y + (double)lines * dm_type_leading(type),
                               width, length == 0 ? "" : part.data, type, draw);
        if (text[length] == '\0')
            break;
    }
    c->failed = c->failed || part.failed;
    dm_buf_free(&part);
    return lines;
}
