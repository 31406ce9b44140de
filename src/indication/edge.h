/* SPDX-License-Identifier: MIT
 * What the levels and the ends of a zone share. */
#ifndef DM_INDICATION_EDGE_H
#define DM_INDICATION_EDGE_H

#include "indication/signal.h"

typedef struct {
    const dm_strip *strip;
    const dm_noise *noise;
    double w;     /* footprint, m */
    double sign;  /* of the zone: levels are positive */
    double leave; /* absolute */
} dm_view;

typedef struct {
    double value, var;
} dm_level;

/* Mean of the cells of the inner part that belong to its upper level: a
 * tapered or stepped zone keeps its highest part, a flat one every cell. */
dm_level dm_level_plateau(const dm_view *view, double from, double to);
/* Share of the plateau that the inner part of a zone of that length keeps. */
double dm_level_kept(double length, double w);
/* Index beside the zone, drawn towards the run's slow drift. */
dm_level dm_level_base(const dm_view *view, double edge, int side);
/* Sum of the index along the zone, m: the blur takes nothing from it. */
dm_level dm_level_sum(const dm_view *view, double from, double to,
                      dm_level base);

#endif
