/* SPDX-License-Identifier: MIT
 * Labels in lanes: each stands as near to its place as it can in the first
 * lane that has room for it. */
#ifndef DM_WRITE_STRIP_LANE_H
#define DM_WRITE_STRIP_LANE_H

#include <stddef.h>

#define DM_LANES_MOST 12

typedef struct {
    double low, high;           /* of the paper, mm */
    double edge[DM_LANES_MOST]; /* of the last label */
    size_t used;
} dm_lanes;

typedef struct {
    double from; /* x of its left edge, mm */
    size_t lane;
} dm_label;

void dm_lanes_begin(dm_lanes *lanes, double low, double high);
/* `width` mm about x, by increasing x; with every lane full it goes into the
 * last one. */
dm_label dm_lanes_place(dm_lanes *lanes, double x, double width);

/* From `x` on; those of greater x come first, so that lanes fill from the
 * right. */
dm_label dm_lanes_place_right(dm_lanes *lanes, double x, double width);

#endif
