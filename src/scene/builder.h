/* SPDX-License-Identifier: MIT
 * Between build.c, which grows the tree, and branch.c, which adds what hangs
 * on one tendon. */
#ifndef DM_SCENE_BUILDER_H
#define DM_SCENE_BUILDER_H

#include "base/uuid.h"
#include "scene/properties.h"
#include "scene/shape.h"

typedef struct {
    dm_arena *arena;
    dm_source source;
    dm_shaper shaper;
    dm_property_list list;
    dm_uuid space;
    dm_object *objects;
    size_t object_count, object_capacity;
    dm_mesh *meshes;
    size_t mesh_count, mesh_capacity;
    dm_curve *curves;
    size_t curve_count, curve_capacity;
} dm_builder;

/* The tendon being built. */
typedef struct {
    const dm_tendon *tendon;
    const dm_indications *found; /* NULL: no results */
    const dm_taps *taps;         /* NULL: no results */
    const dm_stations *stations; /* NULL: no results */
    size_t index;                /* in the model */
    size_t object;
    size_t ducts; /* numbered so far */
    double footprint;
} dm_branch;

/* A new object under `parent`, its uid from `path` in the bridge's namespace;
 * NULL: no memory (also when name or path is NULL). */
dm_object *dm_add_object(dm_builder *b, dm_object_kind kind, size_t parent,
                         const char *name, const char *path);
/* Takes a mesh in; *index is DM_NONE if it has nothing to draw. */
dm_status dm_add_mesh(dm_builder *b, dm_mesh *mesh, size_t *index);
/* Outside radius of the tendon's duct, m. */
double dm_radius_at(const dm_builder *b, const dm_branch *t, double station);
/* alignment.c: the reference line below the bridge, if the model has one. */
dm_status dm_add_alignment(dm_builder *b);
/* Duct lengths, indications, supports, fixtures, taps, centreline. */
dm_status dm_add_children(dm_builder *b, dm_branch *t);

#endif
