/* SPDX-License-Identifier: MIT
 * Distances in space, double precision: arithmetic only, metres. */
#ifndef DM_CONTEXT_DISTANCE_H
#define DM_CONTEXT_DISTANCE_H

#include <stdbool.h>

#include "ductmark/vec3.h"

/* Between the segments a b and c d; *on: the point of c d. Either may be a
 * point. */
double dm_segments_apart(dm_vec3 a, dm_vec3 b, dm_vec3 c, dm_vec3 d,
                         dm_vec3 *on);
/* Between a segment and a triangle; *on: the point of the triangle. A triangle
 * without area is its edges. */
double dm_triangle_apart(dm_vec3 a, dm_vec3 b, const dm_vec3 corner[3],
                         dm_vec3 *on);
/* Along a ray (unit direction) to the triangle's plane, where it meets it. */
bool dm_plane_ahead(dm_vec3 from, dm_vec3 direction, const dm_vec3 corner[3],
                    double *distance);
/* Along a ray (unit direction) to a capsule: all within r of the segment c d.
 * From inside: 0. False: it is missed. */
bool dm_capsule_ahead(dm_vec3 from, dm_vec3 direction, dm_vec3 c, dm_vec3 d,
                      double r, double *distance);

#endif
