/* SPDX-License-Identifier: MIT
 * Text on paper: cleaning what comes from files, measuring, cutting to a
 * width, breaking into lines. Sizes in points (1/72 in), widths in mm. */
#ifndef DM_DRAW_TEXT_H
#define DM_DRAW_TEXT_H

#include "draw/ink.h"

#define DM_MM_PER_POINT (25.4 / 72.0)

/* Appends text as one line fit to be shown: valid UTF-8 without control
 * characters, line ends and marks that turn the writing direction of what
 * follows (each becomes a blank or nothing), at most two combining marks on a
 * letter; bytes that are no UTF-8 become U+FFFD. */
void dm_text_clean(const char *text, dm_buf *out);

/* Width of clean text, mm. */
double dm_text_width(dm_fonts *fonts, const char *clean, double points,
                     bool bold);

/* Cuts clean text so that it fits into `width` mm, with an ellipsis where it
 * does not. */
void dm_text_fit(dm_fonts *fonts, dm_buf *clean, double width, double points,
                 bool bold);

/* Length in bytes of the first line of clean text broken at blanks (a word
 * too long by itself is broken anywhere); *skip gets the blanks behind it. 0
 * only for an empty text. */
size_t dm_text_line(dm_fonts *fonts, const char *clean, double width,
                    double points, bool bold, size_t *skip);

#endif
