/* SPDX-License-Identifier: MIT
 * What each kind of object looks like. Sizes are signs, not measures: only
 * stations, directions and the tested duct's radius are true. Coverage and
 * findings differ in form as well as in colour, so that they can be told
 * apart in black and white. */
#ifndef DM_SCENE_SHAPE_H
#define DM_SCENE_SHAPE_H

#include "scene/marker.h"

typedef struct {
    dm_arena *arena;
    int sides;      /* of a tube; signs along a duct have half as many */
    dm_sweep sweep; /* scratch: origin and sagitta are set */
} dm_shaper;

/* Every function makes a closed mesh; vertex_count 0: nothing to draw. */

/* tested: a plain tube at the true radius; strand-masked: a collar every
 * 0.5 m; not tested: 0.8 of the radius with a ring every 0.1 m; not valid: two
 * rings every 0.2 m; not reconciled: a long ring every 0.2 m. */
dm_status dm_shape_duct(dm_shaper *shaper, const dm_tendon *tendon, double from,
                        double to, double radius, dm_cover cover, dm_mesh *out);
/* A sleeve over from + U .. to - U; thinner rings over each end's +-U; a wide
 * ring at an open end. `heat`: without the sleeve, which would hide the
 * index; rings at the ends instead. */
dm_status dm_shape_indication(dm_shaper *shaper, const dm_tendon *tendon,
                              double radius, const dm_indication *item,
                              double k, bool heat, dm_mesh *out);
/* Bearing plate square to the face, head behind it, trumpet to the face. */
dm_status dm_shape_anchorage(dm_shaper *shaper, const dm_tendon *tendon,
                             size_t support, double radius, dm_mesh *out);
/* A block between the two faces. */
dm_status dm_shape_deviator(dm_shaper *shaper, const dm_tendon *tendon,
                            size_t support, double radius, dm_mesh *out);
dm_status dm_shape_fixture(dm_shaper *shaper, const dm_tendon *tendon,
                           const dm_fixture *fixture, double radius,
                           dm_mesh *out);
/* Three rings at a station. */
dm_status dm_shape_opening(dm_shaper *shaper, const dm_tendon *tendon, double t,
                           double radius, dm_mesh *out);
/* An arrow whose tip is the mark, and a ring round the duct at the station;
 * re-scan: no head, two rings; hand tool: a short arrow; opened: three
 * rings. */
dm_status dm_shape_tap(dm_shaper *shaper, const dm_tendon *tendon,
                       const dm_tap *tap, bool opened, double radius,
                       dm_mesh *out);

#endif
