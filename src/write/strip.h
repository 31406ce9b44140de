/* SPDX-License-Identifier: MIT
 * The strip of one tendon: pages of blocks under each other. Each block says
 * how high it is, so that pages can be broken between them, and is drawn with
 * its upper edge at a given y. */
#ifndef DM_WRITE_STRIP_H
#define DM_WRITE_STRIP_H

#include "write/paper.h"

/* A part of the tendon as it lies on paper. */
typedef struct {
    double from, to; /* tendon stations, m */
    double x;        /* of `from`, mm */
    double mm_per_m; /* along */
    double width;    /* mm */
} dm_panel;

dm_panel dm_strip_panel(const dm_paper *s, size_t index);
/* x of a station, mm; may lie beside the panel. */
double dm_panel_x(const dm_panel *panel, double t);

/* Head: what, where, looking which way, how much was tested. */
double dm_strip_head(dm_paper *s, double y, size_t page, size_t pages,
                     bool draw);
/* Elevation in true shape; panels from..to-1 are marked as being on this page.
 * small: as a thumbnail. */
double dm_strip_elevation(dm_paper *s, double y, size_t from, size_t to,
                          bool small, bool draw);
/* The developed map of one panel with all that belongs to it. */
double dm_strip_map(dm_paper *s, size_t panel, double y, bool draw);
/* Tables: indications, then taps; each head is a line. */
size_t dm_strip_table_lines(const dm_paper *s);
/* Of the lines from `first`, how many have room where `room` are printed: rows
 * that do not follow their head get it again, and no head stands alone. */
size_t dm_strip_table_fit(const dm_paper *s, size_t first, size_t room);
/* Lines first..first+count-1, count > 0. */
double dm_strip_table(dm_paper *s, double y, size_t first, size_t count,
                      bool draw);
/* Legend, version, inputs, cautions. */
double dm_strip_foot(dm_paper *s, double y, bool draw);

#endif
