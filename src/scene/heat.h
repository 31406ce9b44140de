/* SPDX-License-Identifier: MIT
 * The duct's outside coloured by the index. */
#ifndef DM_SCENE_HEAT_H
#define DM_SCENE_HEAT_H

#include "scene/tube.h"

typedef struct {
    const dm_centreline *line;
    const dm_profile *profiles;
    size_t profile_count;
    double footprint; /* around the duct, m: the width a clock line claims */
    double from, to;  /* m, to - from >= DM_SHORTEST */
    double radius;    /* outside, m */
    double sagitta;
    int sides;
    dm_vec3 origin;
} dm_heat_tube;

/* One strip a clock line, as wide as the footprint (neighbours that overlap
 * meet half-way), coloured in the classes of scene/colour.h; a new ring only
 * where the class changes or the arc asks for it. The rest of the duct has
 * the colour "not read". Open at both ends. */
dm_status dm_heat_mesh(const dm_heat_tube *tube, dm_arena *arena, dm_mesh *out);

#endif
