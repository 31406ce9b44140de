/* SPDX-License-Identifier: MIT
 * The least distance between two centrelines. */
#ifndef DM_GEOM_BETWEEN_H
#define DM_GEOM_BETWEEN_H

#include <stdbool.h>

#include "ductmark/centreline.h"

/* A box along the axes. */
typedef struct {
    dm_vec3 lo, hi; /* m */
} geom_box;

/* Of a segment, a little wide. */
geom_box geom_segment_box(const dm_segment *segment);
geom_box geom_box_join(const geom_box *a, const geom_box *b);
/* False: they are further apart than `gap` along an axis. */
bool geom_boxes_near(const geom_box *a, const geom_box *b, double gap);

/* Where two lines are nearest. */
typedef struct {
    double distance; /* m */
    double ta, tb;   /* stations on both, m */
} geom_gap;

/* Lowers *gap where the segments come nearer than gap->distance, to 0.01 mm.
 * Each step of the search takes 1 from *steps; at 0 it ends, with what it
 * has. */
void geom_segments_between(const dm_segment *a, const dm_segment *b,
                           geom_gap *gap, size_t *steps);

#endif
