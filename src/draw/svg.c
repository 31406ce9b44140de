/* SPDX-License-Identifier: MIT
 * SVG 1.1 (W3C Recommendation, 2011), user unit 1 mm. Coordinates to 0.01 mm.
 * Text stays text: another font than the one measured with is fitted to the
 * measured width by textLength. No scripts, no references to anything outside
 * the file. */
#include "draw/svg.h"

#include <math.h>

#include "base/num.h"
#include "draw/text.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

static void put_number(dm_buf *out, double value, int decimals)
{
    char text[DM_NUM_SIZE];
    size_t n = dm_num_fixed(text, value, decimals), i;

    for (i = 0; i < n && text[i] != '.'; i++)
        continue;
    if (i < n) {
        while (text[n - 1] == '0')
            n--;
        n = text[n - 1] == '.' ? n - 1 : n;
    }
    dm_buf_put(out, text, n);
}

static void put_attribute(dm_buf *out, const char *name, double value)
{
    dm_buf_printf(out, " %s=\"", name);
    put_number(out, value, 2);
    dm_buf_putc(out, '"');
}

static void put_words(dm_buf *out, const char *name, const char *text)
{
    dm_buf clean = {0};

    if (text == NULL)
        return;
    dm_text_clean(text, &clean);
    dm_buf_printf(out, "<%s>", name);
    dm_buf_xml(out, clean.data == NULL ? "" : clean.data);
    dm_buf_printf(out, "</%s>\n", name);
    out->failed = out->failed || clean.failed;
    dm_buf_free(&clean);
}

void dm_svg_begin(dm_buf *out, const dm_sheet *sheet)
{
    dm_buf_puts(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                     "<svg xmlns=\"http://www.w3.org/2000/svg\" "
                     "version=\"1.1\" width=\"");
    put_number(out, sheet->width, 2);
    dm_buf_puts(out, "mm\" height=\"");
    put_number(out, sheet->height, 2);
    dm_buf_puts(out, "mm\" viewBox=\"0 0 ");
    put_number(out, sheet->width, 2);
    dm_buf_putc(out, ' ');
    put_number(out, sheet->height, 2);
    dm_buf_puts(out, "\" font-family=\"'DejaVu Sans',Verdana,sans-serif\" "
                     "fill-rule=\"evenodd\" stroke-linecap=\"round\" "
                     "stroke-linejoin=\"round\" role=\"img\">\n");
    put_words(out, "title", sheet->title);
    put_words(out, "desc", sheet->summary);
    dm_buf_puts(out, "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n");
}

void dm_svg_end(dm_buf *out)
{
    dm_buf_puts(out, "</svg>\n");
}

static void put_colour(dm_buf *out, const char *name, uint32_t rgb)
{
    if (rgb == DM_NO_COLOUR)
        dm_buf_printf(out, " %s=\"none\"", name);
    else
        dm_buf_printf(out, " %s=\"#%06x\"", name, (unsigned)(rgb & 0xffffff));
}

void dm_svg_path(dm_buf *out, const dm_path *path, uint32_t fill,
                 uint32_t stroke, double width, const double *dash,
                 int dash_count)
{
    size_t i;
    int k;

    if (path->count == 0)
        return;
    dm_buf_puts(out, "<path d=\"");
    for (i = 0; i < path->count; i++) {
        const dm_path_step *p = &path->steps[i];

        if (p->kind == DM_STEP_CLOSE) {
            dm_buf_putc(out, 'Z');
            continue;
        }
        dm_buf_putc(out, p->kind == DM_STEP_MOVE ? 'M' : 'L');
        put_number(out, p->x, 2);
        dm_buf_putc(out, ' ');
        put_number(out, p->y, 2);
    }
    dm_buf_putc(out, '"');
    put_colour(out, "fill", fill);
    if (stroke != DM_NO_COLOUR) {
        put_colour(out, "stroke", stroke);
        put_attribute(out, "stroke-width", width);
        if (dash_count > 0)
            dm_buf_puts(out, " stroke-dasharray=\"");
        for (k = 0; k < dash_count; k++) {
            if (k > 0)
                dm_buf_putc(out, ' ');
            put_number(out, dash[k], 2);
        }
        if (dash_count > 0)
            dm_buf_putc(out, '"');
    }
    dm_buf_puts(out, "/>\n");
}

void dm_svg_text(dm_buf *out, double x, double y, const char *clean,
                 double size, double width, const dm_type *type)
{
    static const char *const anchor[] = {"", " text-anchor=\"middle\"",
                                         " text-anchor=\"end\""};

    dm_buf_puts(out, "<text xml:space=\"preserve\"");
    put_attribute(out, "x", x);
    put_attribute(out, "y", y);
    put_attribute(out, "font-size", size);
    put_attribute(out, "textLength", width);
    dm_buf_puts(out, " lengthAdjust=\"spacingAndGlyphs\"");
    dm_buf_puts(out, anchor[type->align]);
    if (type->bold)
        dm_buf_puts(out, " font-weight=\"bold\"");
    if (type->colour != 0)
        put_colour(out, "fill", type->colour);
    if (type->halo > 0.0) {
        dm_buf_puts(out, " paint-order=\"stroke\" stroke=\"#fff\"");
        put_attribute(out, "stroke-width", 2.0 * type->halo);
    }
    if (type->turn != 0.0) {
        dm_buf_puts(out, " transform=\"rotate(");
        put_number(out, DEG(type->turn), 2);
        dm_buf_putc(out, ' ');
        put_number(out, x, 2);
        dm_buf_putc(out, ' ');
        put_number(out, y, 2);
        dm_buf_puts(out, ")\"");
    }
    dm_buf_putc(out, '>');
    dm_buf_xml(out, clean);
    dm_buf_puts(out, "</text>\n");
}

void dm_svg_clip(dm_buf *out, size_t number, double x, double y, double width,
                 double height)
{
    dm_buf_printf(out, "<clipPath id=\"c%zu\"><rect", number);
    put_attribute(out, "x", x);
    put_attribute(out, "y", y);
    put_attribute(out, "width", width);
    put_attribute(out, "height", height);
    dm_buf_printf(out, "/></clipPath>\n<g clip-path=\"url(#c%zu)\">\n", number);
}

void dm_svg_group(dm_buf *out, const char *clean_title)
{
    dm_buf_puts(out, "<g><title>");
    dm_buf_xml(out, clean_title);
    dm_buf_puts(out, "</title>\n");
}

void dm_svg_group_end(dm_buf *out)
{
    dm_buf_puts(out, "</g>\n");
}
