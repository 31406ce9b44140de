/* SPDX-License-Identifier: MIT
 * What the files of this module share. */
#ifndef DM_GEOM_SEGMENT_H
#define DM_GEOM_SEGMENT_H

#include "ductmark/centreline.h"

/* Point and unit tangent `into` metres from the begin of one segment. */
dm_vec3 dm_segment_point(const dm_segment *s, double into);
dm_vec3 dm_segment_tangent(const dm_segment *s, double into);

/* Whether an axis with this Z component of its unit tangent has no crown of
 * its own; the one rule for frames and outside paths. */
bool dm_is_steep(const dm_centreline *line, double tangent_z);

#endif
