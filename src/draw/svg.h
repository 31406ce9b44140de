/* SPDX-License-Identifier: MIT
 * Canvases as SVG 1.1 text. */
#ifndef DM_DRAW_SVG_H
#define DM_DRAW_SVG_H

#include "base/buf.h"
#include "draw/canvas.h"

void dm_svg_begin(dm_buf *out, const dm_sheet *sheet);
void dm_svg_end(dm_buf *out);
void dm_svg_path(dm_buf *out, const dm_path *path, uint32_t fill,
                 uint32_t stroke, double width, const double *dash,
                 int dash_count);
/* size in mm; width: of the line, mm. */
void dm_svg_text(dm_buf *out, double x, double y, const char *clean,
                 double size, double width, const dm_type *type);
void dm_svg_clip(dm_buf *out, size_t number, double x, double y, double width,
                 double height);
void dm_svg_group(dm_buf *out, const char *clean_title);
void dm_svg_group_end(dm_buf *out);

#endif
