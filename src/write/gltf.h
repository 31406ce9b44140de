/* SPDX-License-Identifier: MIT
 * Between gltf.c, which plans the file and streams the arrays, and
 * gltf_json.c, which describes them. */
#ifndef DM_WRITE_GLTF_H
#define DM_WRITE_GLTF_H

#include "base/buf.h"
#include "write/provenance.h"
#include "write/writers.h"

typedef enum {
    VIEW_POSITION,
    VIEW_NORMAL,
    VIEW_COLOUR,
    VIEW_SHORT, /* 16-bit indices */
    VIEW_INT,   /* 32-bit indices */
    VIEW_COUNT
} dm_gltf_view;

/* A mesh of the scene that this file holds. */
typedef struct {
    const dm_mesh *mesh;
    size_t accessor; /* position, then normal, colour, index as they exist */
} dm_gltf_mesh;

typedef struct {
    const uint8_t *colour;
    const char *meaning;
    bool lines, painted; /* painted: by the vertices */
} dm_gltf_material;

typedef struct {
    const dm_delivery *delivery;
    const dm_scene *scene;
    bool heat;
    size_t *slot; /* [mesh_count] position in `used`; DM_NONE: not used */
    dm_gltf_mesh *used;
    size_t used_count;
    size_t accessor_count;
    dm_gltf_material *materials;
    size_t material_count, material_capacity;
    size_t *material_of;                /* [object_count]; DM_NONE: no mesh */
    size_t *first_child, *next_sibling; /* [object_count] */
    uint64_t view_length[VIEW_COUNT];
    dm_arena *arena; /* of the inputs */
    dm_input *inputs;
    size_t input_count;
    dm_buf json;
} dm_gltf;

/* Index of the mesh that stands for the object in this file, or DM_NONE. */
size_t dm_gltf_mesh_of(const dm_gltf *w, const dm_object *o);
/* Do its indices fit 16 bits? 65535 would restart the primitive. */
bool dm_gltf_is_short(const dm_mesh *mesh);
/* Up to the next multiple of 4. */
uint64_t dm_gltf_padded(uint64_t length);
/* sRGB byte to linear light, 0..1 (IEC 61966-2-1). */
double dm_gltf_linear(uint8_t srgb);
/* The whole JSON into w->json; returns the length of the binary chunk. */
uint64_t dm_gltf_json(dm_gltf *w);

#endif
