/* SPDX-License-Identifier: MIT
 * Once round the duct: what its cells say of a void's section. Works on plain
 * arrays, so that a simulation can drive it with known truth. */
#ifndef DM_INDICATION_TURN_H
#define DM_INDICATION_TURN_H

#include "base/arena.h"
#include "ductmark/size.h"
#include "indication/signal.h"

/* 5 degrees each. */
#define DM_TURN_CELLS 72
/* Depth over which the response of a channel grows, where it states none, m
 * (common practice, no source). */
#define DM_LAYER 0.015

/* What is known of the sensor and its calibration. */
typedef struct {
    double footprint; /* round the duct, rad */
    double layer;     /* depth behind the wall that it sees, m; 0: DM_LAYER */
    dm_thresholds band;
    const dm_depth_point *depths; /* by index; may be NULL */
    size_t depth_count;
} dm_turn_view;

/* The cells of a turn, with what was not read bridged where that is short. */
typedef struct {
    double raw[DM_TURN_CELLS];    /* NAN: not read */
    double v[DM_TURN_CELLS];      /* bridged; 0 where not ok */
    double smooth[DM_TURN_CELLS]; /* moving mean */
    bool ok[DM_TURN_CELLS];
    double noise; /* of one cell */
} dm_ring;

/* turn_arcs.c: cells to a ring; and its void-like arcs. False: no memory. */
void dm_ring_make(const double *index, const dm_turn_view *view, dm_ring *ring);
bool dm_ring_arcs(dm_arena *arena, const dm_ring *ring,
                  const dm_turn_view *view, dm_turn *turn);
/* Middle and width of an arc, rad. */
double dm_arc_middle(const dm_arc *arc);
double dm_arc_width(const dm_arc *arc);

/* turn_fit.c: the level surface. False: no memory. */
bool dm_ring_fit(const dm_ring *ring, const dm_turn_view *view, dm_turn *turn);

/* turn_measure.c: all of a turn from its index (DM_TURN_CELLS cells) and bore:
 * noise, read, arcs, areas, fit, depth. False: no memory. */
bool dm_turn_measure(dm_arena *arena, const dm_turn_view *view, dm_turn *turn);
/* A turn of which nothing is known yet. */
dm_turn dm_turn_unknown(void);

#endif
