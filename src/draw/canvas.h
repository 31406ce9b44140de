/* SPDX-License-Identifier: MIT
 * Pages to draw on: one set of calls for SVG, PNG and PDF. Millimetres, x to
 * the right, y down from the page's upper left corner; text sizes in points.
 * Text is UTF-8 as it stands in a file: the canvas cleans and escapes it.
 *
 *     dm_canvas *c = NULL;
 *     dm_sheet sheet = {.kind = DM_CANVAS_PDF, .width = 210, .height = 297};
 *     if (dm_canvas_new(fonts, &sheet, &c) == DM_OK) {
 *         dm_canvas_text(c, 20, 30, "T1", &(dm_type){.size = 11});
 *         dm_canvas_next_page(c);
 *         ...
 *         status = dm_canvas_finish(c, file);
 *     }
 *     dm_canvas_free(c);
 *
 * The same calls give the same bytes. Lack of memory is remembered and comes
 * out of dm_canvas_finish; what is drawn meanwhile is lost. SVG is written
 * here, with text as text (searchable, and read aloud), each line held to the
 * width that Pango measured; PNG and PDF come from Cairo. */
#ifndef DM_DRAW_CANVAS_H
#define DM_DRAW_CANVAS_H

#include <stdint.h>

#include "base/file.h"
#include "draw/ink.h"

typedef struct dm_canvas dm_canvas;

typedef enum {
    DM_CANVAS_SVG, /* one page */
    DM_CANVAS_PNG, /* one page */
    DM_CANVAS_PDF  /* any number */
} dm_canvas_kind;

typedef struct {
    dm_canvas_kind kind;
    double width, height; /* mm, 1 to 5000 */
    double dpi;           /* of a PNG, 10 to 1200; 0: 200 */
    const char *title;    /* SVG, PDF; may be NULL */
    const char *summary;  /* SVG: what the picture says, in words; NULL */
    const char *date;     /* YYYY-MM-DD, of a PDF; NULL: none */
} dm_sheet;

/* No fill, no stroke, no hatch. */
#define DM_NO_COLOUR 0xff000000u

/* Black and white patterns, told apart without colour. */
typedef enum {
    DM_HATCH_NONE,
    DM_HATCH_RISING,  /* / */
    DM_HATCH_FALLING, /* \ */
    DM_HATCH_CROSS,   /* both */
    DM_HATCH_LEVEL,   /* - */
    DM_HATCH_UPRIGHT, /* | */
    DM_HATCH_GRID,    /* both */
    DM_HATCH_DOTS
} dm_hatch;

typedef enum {
    DM_DASH_SOLID,
    DM_DASH_DASHED,
    DM_DASH_DOTTED,
    DM_DASH_CHAIN /* long, dot: axes */
} dm_dash;

/* How a shape looks; colours 0xrrggbb or DM_NO_COLOUR. */
typedef struct {
    uint32_t fill;
    uint32_t stroke;
    double width; /* of the stroke, mm */
    dm_dash dash;
    dm_hatch hatch;
    uint32_t hatch_colour;
    double hatch_step, hatch_width; /* mm */
} dm_look;

typedef enum { DM_ALIGN_LEFT, DM_ALIGN_CENTRE, DM_ALIGN_RIGHT } dm_align;

typedef struct {
    double size; /* points */
    bool bold;
    dm_align align;  /* about (x, y), along the line */
    double turn;     /* rad, clockwise; -pi/2 reads upwards */
    uint32_t colour; /* 0: black */
    double halo;     /* mm of white round the letters; 0: none */
    double leading;  /* line to line, in sizes; 0: 1.25 */
} dm_type;

/* @param fonts  must outlive the canvas
 * @return DM_OK; DM_NOMEM; DM_RANGE: no such size */
dm_status dm_canvas_new(dm_fonts *fonts, const dm_sheet *sheet,
                        dm_canvas **out);
/* Ends the drawing and puts the file's bytes into `to`.
 * @return DM_OK; DM_NOMEM; DM_UNSUPPORTED: Cairo would not */
dm_status dm_canvas_finish(dm_canvas *canvas, dm_out *to);
void dm_canvas_free(dm_canvas *canvas);
/* Memory ran out: for a canvas that is only measured with. */
bool dm_canvas_failed(const dm_canvas *canvas);

/* A new page of the same size; of a PDF only (asserted). */
void dm_canvas_next_page(dm_canvas *canvas);

/* ---- shapes ----------------------------------------------------------- */

/* Fill, then hatch, then stroke. Filled by the even-odd rule. */
void dm_canvas_path(dm_canvas *canvas, const dm_path *path,
                    const dm_look *look);
void dm_canvas_rect(dm_canvas *canvas, double x, double y, double width,
                    double height, const dm_look *look);
void dm_canvas_line(dm_canvas *canvas, double x0, double y0, double x1,
                    double y1, const dm_look *look);
void dm_canvas_circle(dm_canvas *canvas, double x, double y, double r,
                      const dm_look *look);
/* count corners as x, y pairs; closed. */
void dm_canvas_polygon(dm_canvas *canvas, const double *corners, size_t count,
                       const dm_look *look);

/* Nothing is drawn outside the rectangle until unclip; may be nested. */
void dm_canvas_clip(dm_canvas *canvas, double x, double y, double width,
                    double height);
void dm_canvas_unclip(dm_canvas *canvas);
/* SVG: what is drawn until the end belongs together and shows `title` under a
 * pointer. Else nothing. */
void dm_canvas_group(dm_canvas *canvas, const char *title);
void dm_canvas_group_end(dm_canvas *canvas);

/* ---- text ------------------------------------------------------------- */

/* One line; the baseline begins, has its middle or ends at (x, y). */
void dm_canvas_text(dm_canvas *canvas, double x, double y, const char *text,
                    const dm_type *type);
/* The same, cut to `width` mm with an ellipsis. Returns its width. */
double dm_canvas_text_fit(dm_canvas *canvas, double x, double y, double width,
                          const char *text, const dm_type *type);
/* Width of one line as it would be drawn, mm. */
double dm_canvas_text_width(dm_canvas *canvas, const char *text,
                            const dm_type *type);
/* Lines broken at blanks to `width` mm, the first baseline at y, the others
 * dm_type_leading apart; '\n' begins a new one. Draws nothing if `draw` is
 * false. Returns the number of lines. */
size_t dm_canvas_text_block(dm_canvas *canvas, double x, double y, double width,
                            const char *text, const dm_type *type, bool draw);
/* Distance of two baselines, mm. */
double dm_type_leading(const dm_type *type);

#endif
