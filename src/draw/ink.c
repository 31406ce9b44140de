/* SPDX-License-Identifier: MIT
 * The one file that knows Cairo and Pango. Fonts are laid out at a size of
 * 1000 units without hinting and then scaled, so that widths are proportional
 * to the size and the same in every format. Cairo puts no clock into a PNG; a
 * PDF gets the date it is given. GLib, which Pango uses, ends the program where
 * it cannot get memory; everything else is a status. */
#include "draw/ink.h"

#include <cairo-pdf.h>
#include <cairo.h>
#include <math.h>
#include <pango/pangocairo.h>
#include <stdlib.h>
#include <string.h>

#define EM 1000.0
#define FONT "DejaVu Sans"
#define MM_PER_INCH 25.4
#define POINTS_PER_MM (72.0 / MM_PER_INCH)
#define KNOWN 0x250 /* code points whose advance is looked up once */

struct dm_fonts {
    PangoFontMap *map;
    PangoContext *context;
    PangoLayout *layout[2]; /* plain, bold */
    float advance[2][KNOWN];
    bool missing; /* a letter that no font has was measured */
};

struct dm_ink {
    dm_fonts *fonts;
    cairo_surface_t *surface;
    cairo_t *cairo;
    dm_buf bytes; /* of a PDF, as it comes */
    bool pdf;
};

/* ---- fonts ------------------------------------------------------------ */

static PangoLayout *new_layout(PangoContext *context, bool bold)
{
    PangoLayout *layout = pango_layout_new(context);
    PangoFontDescription *font = pango_font_description_new();

    pango_font_description_set_family_static(font, FONT);
    pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_BOLD
                                                 : PANGO_WEIGHT_NORMAL);
    pango_font_description_set_absolute_size(font, EM * PANGO_SCALE);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    pango_layout_set_auto_dir(layout, FALSE);
    return layout;
}

dm_status dm_fonts_new(dm_fonts **out)
{
    dm_fonts *f = calloc(1, sizeof *f);
    cairo_font_options_t *options;

    *out = NULL;
    if (f == NULL)
        return DM_NOMEM;
    f->map = pango_cairo_font_map_new_for_font_type(CAIRO_FONT_TYPE_FT);
    if (f->map == NULL) {
        free(f);
        return DM_UNSUPPORTED;
    }
    f->context = pango_font_map_create_context(f->map);
    pango_context_set_round_glyph_positions(f->context, FALSE);
    options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(f->context, options);
    cairo_font_options_destroy(options);
    f->layout[0] = new_layout(f->context, false);
    f->layout[1] = new_layout(f->context, true);
    *out = f;
    return DM_OK;
}

void dm_fonts_free(dm_fonts *fonts)
{
    if (fonts == NULL)
        return;
    g_object_unref(fonts->layout[0]);
    g_object_unref(fonts->layout[1]);
    g_object_unref(fonts->context);
    g_object_unref(fonts->map);
    free(fonts);
}

bool dm_fonts_wished(const dm_fonts *fonts)
{
    const PangoFontDescription *wish =
        pango_layout_get_font_description(fonts->layout[0]);
    PangoFont *font = pango_context_load_font(fonts->context, wish);
    PangoFontDescription *got;
    const char *family;
    bool same;

    if (font == NULL)
        return false;
    got = pango_font_describe(font);
    family = pango_font_description_get_family(got);
    same = family != NULL && strcmp(family, FONT) == 0;
    pango_font_description_free(got);
    g_object_unref(font);
    return same;
}

bool dm_fonts_missing(const dm_fonts *fonts)
{
    return fonts->missing;
}

static double measure(dm_fonts *fonts, const char *text, int length, bool bold)
{
    PangoLayout *layout = fonts->layout[bold];
    int width;

    pango_layout_set_text(layout, text, length);
    pango_layout_get_size(layout, &width, NULL);
    if (pango_layout_get_unknown_glyphs_count(layout) > 0)
        fonts->missing = true;
    return (double)width / (EM * PANGO_SCALE);
}

/* Latin text is the sum of its letters' advances (kerning left out); any other
 * is shaped. */
double dm_fonts_advance(dm_fonts *fonts, const char *text, bool bold)
{
    const char *at, *next;
    double sum = 0.0;

    for (at = text; *at != '\0'; at = next) {
        gunichar c = g_utf8_get_char(at);
        float *known;

        next = g_utf8_find_next_char(at, NULL);
        if (c >= KNOWN)
            return measure(fonts, text, -1, bold);
        known = &fonts->advance[bold][c];
        if (*known == 0.0f)
            *known = (float)measure(fonts, at, (int)(next - at), bold);
        sum += (double)*known;
    }
    return sum;
}

/* ---- pages ------------------------------------------------------------ */

static cairo_status_t keep(void *user, const unsigned char *bytes,
                           unsigned int length)
{
    dm_buf *to = user;

    dm_buf_put(to, bytes, length);
    return to->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static dm_status status_of(cairo_status_t status)
{
    switch (status) {
    case CAIRO_STATUS_SUCCESS:
        return DM_OK;
    case CAIRO_STATUS_NO_MEMORY:
        return DM_NOMEM;
    case CAIRO_STATUS_INVALID_SIZE:
        return DM_RANGE;
    default:
        return DM_UNSUPPORTED;
    }
}

static void set_metadata(dm_ink *ink, const dm_ink_page *page)
{
    const struct {
        cairo_pdf_metadata_t what;
        const char *text;
    } items[] = {{CAIRO_PDF_METADATA_TITLE, page->title},
                 {CAIRO_PDF_METADATA_CREATOR, page->creator}};
    char date[] = "0000-00-00T00:00:00Z";
    size_t i;

    for (i = 0; i < sizeof items / sizeof *items; i++)
        if (items[i].text != NULL)
            cairo_pdf_surface_set_metadata(ink->surface, items[i].what,
                                           items[i].text);
    if (page->date == NULL || strlen(page->date) != 10)
        memcpy(date, "1970-01-01", 10);
    else
        memcpy(date, page->date, 10);
    cairo_pdf_surface_set_metadata(ink->surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                   date);
    cairo_pdf_surface_set_metadata(ink->surface, CAIRO_PDF_METADATA_MOD_DATE,
                                   date);
}

static void open_pdf(dm_ink *ink, const dm_ink_page *page)
{
    ink->surface = cairo_pdf_surface_create_for_stream(
        keep, &ink->bytes, page->width * POINTS_PER_MM,
        page->height * POINTS_PER_MM);
    set_metadata(ink, page);
    ink->cairo = cairo_create(ink->surface);
    cairo_scale(ink->cairo, POINTS_PER_MM, POINTS_PER_MM);
}

static void open_png(dm_ink *ink, const dm_ink_page *page)
{
    double scale = page->dpi / MM_PER_INCH;

    ink->surface = cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, (int)ceil(page->width * scale - 1e-6),
        (int)ceil(page->height * scale - 1e-6));
    ink->cairo = cairo_create(ink->surface);
    cairo_set_source_rgb(ink->cairo, 1.0, 1.0, 1.0);
    cairo_paint(ink->cairo);
    cairo_scale(ink->cairo, scale, scale);
}

dm_status dm_ink_new(dm_fonts *fonts, const dm_ink_page *page, dm_ink **out)
{
    dm_ink *ink = calloc(1, sizeof *ink);
    dm_status status;

    *out = NULL;
    if (ink == NULL)
        return DM_NOMEM;
    ink->fonts = fonts;
    ink->pdf = page->pdf;
    if (page->pdf)
        open_pdf(ink, page);
    else
        open_png(ink, page);
    cairo_set_line_cap(ink->cairo, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_join(ink->cairo, CAIRO_LINE_JOIN_ROUND);
    cairo_set_fill_rule(ink->cairo, CAIRO_FILL_RULE_EVEN_ODD);
    status = status_of(cairo_status(ink->cairo));
    if (status != DM_OK) {
        dm_ink_free(ink);
        return status;
    }
    *out = ink;
    return DM_OK;
}

void dm_ink_free(dm_ink *ink)
{
    if (ink == NULL)
        return;
    cairo_destroy(ink->cairo);
    cairo_surface_destroy(ink->surface);
    dm_buf_free(&ink->bytes);
    free(ink);
}

dm_status dm_ink_finish(dm_ink *ink, dm_buf *to)
{
    dm_status status = status_of(cairo_status(ink->cairo));
    cairo_status_t written;

    if (status != DM_OK)
        return status;
    if (ink->pdf) {
        cairo_show_page(ink->cairo);
        cairo_surface_finish(ink->surface);
        written = cairo_surface_status(ink->surface);
        if (written == CAIRO_STATUS_SUCCESS && !ink->bytes.failed)
            dm_buf_put(to, ink->bytes.data, ink->bytes.length);
    } else {
        written = cairo_surface_write_to_png_stream(ink->surface, keep, to);
    }
    if (to->failed || ink->bytes.failed)
        return DM_NOMEM;
    return status_of(written);
}

void dm_ink_next_page(dm_ink *ink)
{
    cairo_show_page(ink->cairo);
}

/* ---- marks ------------------------------------------------------------ */

static void set_colour(dm_ink *ink, uint32_t rgb)
{
    cairo_set_source_rgb(ink->cairo, (double)(rgb >> 16 & 0xff) / 255.0,
                         (double)(rgb >> 8 & 0xff) / 255.0,
                         (double)(rgb & 0xff) / 255.0);
}

static void trace(dm_ink *ink, const dm_path *path)
{
    size_t i;

    cairo_new_path(ink->cairo);
    for (i = 0; i < path->count; i++) {
        const dm_path_step *p = &path->steps[i];

        if (p->kind == DM_STEP_MOVE)
            cairo_move_to(ink->cairo, p->x, p->y);
        else if (p->kind == DM_STEP_LINE)
            cairo_line_to(ink->cairo, p->x, p->y);
        else
            cairo_close_path(ink->cairo);
    }
}

void dm_ink_fill(dm_ink *ink, const dm_path *path, uint32_t rgb)
{
    trace(ink, path);
    set_colour(ink, rgb);
    cairo_fill(ink->cairo);
}

void dm_ink_stroke(dm_ink *ink, const dm_path *path, uint32_t rgb, double width,
                   const double *dash, int dash_count)
{
    trace(ink, path);
    set_colour(ink, rgb);
    cairo_set_line_width(ink->cairo, width);
    cairo_set_dash(ink->cairo, dash, dash_count, 0.0);
    cairo_stroke(ink->cairo);
}

void dm_ink_text(dm_ink *ink, double x, double y, double turn,
                 const char *clean, double size, bool bold, uint32_t rgb,
                 double halo)
{
    PangoLayout *layout = ink->fonts->layout[bold];
    PangoLayoutLine *line;

    pango_layout_set_text(layout, clean, -1);
    line = pango_layout_get_line_readonly(layout, 0);
    if (line == NULL)
        return;
    cairo_save(ink->cairo);
    cairo_translate(ink->cairo, x, y);
    cairo_rotate(ink->cairo, turn);
    cairo_scale(ink->cairo, size / EM, size / EM);
    if (halo > 0.0) {
        cairo_new_path(ink->cairo);
        pango_cairo_layout_line_path(ink->cairo, line);
        set_colour(ink, 0xffffff);
        cairo_set_line_width(ink->cairo, 2.0 * halo * EM / size);
        cairo_set_dash(ink->cairo, NULL, 0, 0.0);
        cairo_stroke(ink->cairo);
    }
    cairo_new_path(ink->cairo);
    cairo_move_to(ink->cairo, 0.0, 0.0);
    set_colour(ink, rgb);
    pango_cairo_show_layout_line(ink->cairo, line);
    cairo_restore(ink->cairo);
}

void dm_ink_clip(dm_ink *ink, double x, double y, double width, double height)
{
    cairo_save(ink->cairo);
    cairo_new_path(ink->cairo);
    cairo_rectangle(ink->cairo, x, y, width, height);
    cairo_clip(ink->cairo);
}

void dm_ink_unclip(dm_ink *ink)
{
    cairo_restore(ink->cairo);
}
