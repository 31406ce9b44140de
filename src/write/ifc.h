/* SPDX-License-Identifier: MIT
 * The parts of the IFC writer: ifc.c frames the file, ifc_spatial.c writes
 * the spatial structure and what relates elements, ifc_element.c what stands on
 * a tendon, ifc_geometry.c curves, bodies and colours, ifc_property.c property
 * sets. Schema: IFC4X3_ADD2 (ISO 16739-1:2024); entity names of elements stand
 * in one table of ifc_element.c. */
#ifndef DM_WRITE_IFC_H
#define DM_WRITE_IFC_H

#include "base/uuid.h"
#include "write/step.h"
#include "write/writers.h"

/* A colour with its meaning, written once. */
typedef struct {
    uint8_t rgba[4];
    const char *meaning;
    dm_step_id id;
} dm_ifc_style;

typedef struct {
    const dm_delivery *delivery;
    const dm_scene *scene;
    dm_step step;
    dm_uuid space; /* the bridge's uid */
    dm_arena *arena;

    /* Instances that many refer to. */
    dm_step_id project, model_context, body_context, axis_context;
    dm_step_id zero; /* IfcAxis2Placement3D at the origin */
    dm_step_id degree;

    /* Per object of the scene. */
    char (*guid)[23];
    dm_step_id *product;   /* 0: not written */
    dm_step_id *feature;   /* of an untested length: what adheres to it */
    dm_step_id *placement; /* of spatial elements and products */
    size_t *host;          /* of an indication or tap: the duct it lies on */
    dm_step_id *body;      /* representation of a duct length; 0: none */
    dm_step_id *sign;      /* that of what adheres to it */
    dm_step_id representation; /* the last one written */

    dm_ifc_style *styles;
    size_t style_count, style_capacity;

    /* Scratch of ifc_geometry.c, as large as the largest mesh. */
    dm_step_label *label; /* of each vertex: the number of its point */
    float *point;
    uint32_t *table;
    size_t vertex_capacity;
    bool failed; /* out of memory */
} dm_ifc;

/* ---- ifc.c ------------------------------------------------------------ */

/* GlobalId named by a role and a name that is unique for that role. */
void dm_ifc_guid(const dm_ifc *w, const char *role, const char *name,
                 char out[23]);
/* Begins an instance of IfcRoot: GlobalId, owner history, name, description.
 */
dm_step_id dm_ifc_root(dm_ifc *w, const char *entity, const char *guid,
                       const char *name, const char *description);
/* Begins a relationship; its GlobalId comes from role and name. */
void dm_ifc_relation(dm_ifc *w, const char *entity, const char *role,
                     const char *name);
dm_step_id dm_ifc_placement(dm_ifc *w, dm_step_id relative_to);
dm_step_id dm_ifc_placement_at(dm_ifc *w, dm_step_id relative_to, dm_vec3 p);
/* Is the place on a map known? A bare EPSG code says that world coordinates
 * are map coordinates. */
bool dm_ifc_has_map(const dm_model *model);

/* ---- ifc_spatial.c ---------------------------------------------------- */

/* Project, site and bridge with their properties. */
void dm_ifc_spatial(dm_ifc *w, dm_step_id units);
void dm_ifc_part(dm_ifc *w, size_t object);
/* The reference line, a part of the project. */
void dm_ifc_alignment(dm_ifc *w, size_t object);
/* What relates elements, after all of them: parts, containment, systems,
 * types. */
dm_status dm_ifc_relations(dm_ifc *w);

/* ---- ifc_element.c ---------------------------------------------------- */

/* A tendon and all that stands on it; returns the object after them. */
size_t dm_ifc_tendon(dm_ifc *w, size_t object);

/* The state of coverage of an object that is a duct length. */
dm_cover dm_ifc_cover(const dm_ifc *w, const dm_object *o);

/* ---- ifc_geometry.c --------------------------------------------------- */

/* Each returns the IfcProductDefinitionShape; 0: nothing to show. */
dm_step_id dm_ifc_shape_sweep(dm_ifc *w, const dm_curve *curve, double radius,
                              double inner_radius, const uint8_t colour[4],
                              const char *meaning);
dm_step_id dm_ifc_shape_curve(dm_ifc *w, const dm_curve *curve);
dm_step_id dm_ifc_shape_mesh(dm_ifc *w, const dm_mesh *mesh,
                             const uint8_t colour[4], const char *meaning);

/* ---- ifc_property.c --------------------------------------------------- */

const dm_property *dm_ifc_property(const dm_object *object, const char *name);
/* The object's own set and its external ids, on `product` (and `also`). */
void dm_ifc_properties(dm_ifc *w, size_t object, dm_step_id product,
                       dm_step_id also);
/* Version, inputs with SHA-256, criteria, cautions: on the bridge. */
void dm_ifc_provenance(dm_ifc *w, dm_step_id bridge);
/* Fills w->guid: the owner's where it can be, else from the uid. */
dm_status dm_ifc_identify(dm_ifc *w);

#endif
