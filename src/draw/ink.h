/* SPDX-License-Identifier: MIT
 * Cairo and Pango behind a few calls: ink.c alone includes them. Canvases
 * (canvas.h) are what the rest draws on. Millimetres, x right, y down. */
#ifndef DM_DRAW_INK_H
#define DM_DRAW_INK_H

#include <stdint.h>

#include "base/buf.h"
#include "draw/path.h"
#include "ductmark/status.h"

/* Loaded fonts: takes a few milliseconds, so make one for many canvases. Used
 * from one thread at a time. */
typedef struct dm_fonts dm_fonts;

dm_status dm_fonts_new(dm_fonts **out);
void dm_fonts_free(dm_fonts *fonts);
/* False: another font than the one wished for (DejaVu Sans) is used. */
bool dm_fonts_wished(const dm_fonts *fonts);
/* True: something was measured that holds a letter which no installed font has;
 * it is drawn as a box. */
bool dm_fonts_missing(const dm_fonts *fonts);
/* Advance of a line of clean text (dm_text_clean) per unit of font size. */
double dm_fonts_advance(dm_fonts *fonts, const char *text, bool bold);

/* A picture of one or several pages in memory. */
typedef struct dm_ink dm_ink;

typedef struct {
    bool pdf;             /* else one page of PNG */
    double width, height; /* mm */
    double dpi;           /* of a PNG */
    const char *title;    /* the last three: of a PDF; may be NULL */
    const char *creator;
    const char *date; /* YYYY-MM-DD: the only one that the file holds */
} dm_ink_page;

dm_status dm_ink_new(dm_fonts *fonts, const dm_ink_page *page, dm_ink **out);
/* Encodes the picture into `to`; nothing can be drawn afterwards. */
dm_status dm_ink_finish(dm_ink *ink, dm_buf *to);
void dm_ink_free(dm_ink *ink);

void dm_ink_next_page(dm_ink *ink);
void dm_ink_fill(dm_ink *ink, const dm_path *path, uint32_t rgb);
/* dash: on and off lengths, mm; count 0: solid. Round caps and joins. */
void dm_ink_stroke(dm_ink *ink, const dm_path *path, uint32_t rgb, double width,
                   const double *dash, int dash_count);
/* Baseline begins at (x, y), turned by `turn` rad; size in mm; halo: width of
 * a white edge, 0: none. */
void dm_ink_text(dm_ink *ink, double x, double y, double turn,
                 const char *clean, double size, bool bold, uint32_t rgb,
                 double halo);
void dm_ink_clip(dm_ink *ink, double x, double y, double width, double height);
void dm_ink_unclip(dm_ink *ink);

#endif
