/* SPDX-License-Identifier: MIT
 * Small solids that are not swept along a duct, meshes put together from
 * several solids, and exact curves. All in the arena, relative to `origin`. */
#ifndef DM_SCENE_MARKER_H
#define DM_SCENE_MARKER_H

#include "scene/tube.h"

/* Copies several meshes of triangles into one. */
dm_status dm_mesh_join(const dm_mesh *parts, size_t count, dm_arena *arena,
                       dm_mesh *out);
/* Sets low and high; false: a position that is not finite. */
bool dm_mesh_measure(dm_mesh *mesh);

/* A block with plane sides: corner 0..3 around one end, 4..7 their
 * neighbours at the other end. */
dm_status dm_mesh_block(const dm_vec3 corner[8], dm_vec3 origin,
                        dm_arena *arena, dm_mesh *out);
/* A square plate: `side` wide (one side level), from `centre` by `thickness`
 * along the unit normal. */
dm_status dm_mesh_plate(dm_vec3 centre, dm_vec3 normal, double side,
                        double thickness, dm_vec3 origin, dm_arena *arena,
                        dm_mesh *out);
/* The prism about the axis centre + s direction between two planes, square
 * in section, `side` wide, level where it can be. False: the axis meets a
 * plane at less than 20 deg, or the planes meet within the prism. */
bool dm_block_between(dm_vec3 centre, dm_vec3 direction, const dm_face *back,
                      const dm_face *ahead, double side, dm_vec3 corner[8]);

/* Arrow from `tip` outwards: cone, then shaft; with_head false: the shaft
 * alone. `sides` as in a tube. */
dm_status dm_mesh_arrow(dm_vec3 tip, dm_vec3 outward, double length,
                        bool with_head, int sides, dm_vec3 origin,
                        dm_arena *arena, dm_mesh *out);

/* The centreline as a line mesh: chords as in a tube of no radius. */
dm_status dm_mesh_line(const dm_centreline *line, double sagitta,
                       dm_vec3 origin, dm_arena *arena, dm_mesh *out);
/* The piece t0..t1 (t0 < t1) of a centreline as straights and arcs. */
dm_status dm_curve_cut(const dm_centreline *line, double t0, double t1,
                       dm_vec3 origin, dm_arena *arena, dm_curve *out);

#endif
