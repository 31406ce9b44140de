/* SPDX-License-Identifier: MIT
 * Within one segment: `into` metres from its begin. */
#ifndef DM_GEOM_SEGMENT_H
#define DM_GEOM_SEGMENT_H

#include "ductmark/centreline.h"

dm_vec3 dm_segment_point(const dm_segment *s, double into);
dm_vec3 dm_segment_tangent(const dm_segment *s, double into);

#endif
