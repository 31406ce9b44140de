/* SPDX-License-Identifier: MIT
 *
 * The 3-D scene that all model writers share: named objects in a tree, with
 * meshes, exact curves and properties. After: tap. Before: write.
 *
 * Axes: X east, Y north, Z up, metres, relative to `origin` (world). Meshes
 * are single precision about that origin; curves double.
 */
#ifndef DUCTMARK_SCENE_H
#define DUCTMARK_SCENE_H

#include <stdint.h>

#include "ductmark/tap.h"

DM_BEGIN_C

typedef enum {
    DM_OBJECT_BRIDGE,
    DM_OBJECT_PART,
    DM_OBJECT_TENDON,
    /** A length of duct of one coverage state */
    DM_OBJECT_DUCT,
    DM_OBJECT_INDICATION,
    DM_OBJECT_ANCHORAGE,
    DM_OBJECT_DEVIATOR,
    DM_OBJECT_FIXTURE,
    DM_OBJECT_TAP,
    DM_OBJECT_CENTRELINE,
    DM_OBJECT_COUNT
} dm_object_kind;
/** "bridge", "part", "tendon", "duct", "indication", ... */
const char *dm_object_kind_text(dm_object_kind kind);

typedef enum {
    DM_VALUE_TEXT,
    /** Number: 0 or 1 */
    DM_VALUE_BOOL,
    DM_VALUE_INT,
    /** A pure number */
    DM_VALUE_REAL,
    /** m */
    DM_VALUE_LENGTH,
    /** deg */
    DM_VALUE_ANGLE,
    /** Text, YYYY-MM-DD */
    DM_VALUE_DATE
} dm_value_kind;

/** Names are CamelCase words as property sets have them: "TendonStation". */
typedef struct {
    const char *name;
    dm_value_kind kind;
    const char *text;
    double number;
} dm_property;

typedef enum { DM_MESH_TRIANGLES, DM_MESH_LINES } dm_mesh_mode;

typedef struct {
    dm_mesh_mode mode;
    /** x y z */
    float *position;
    /** x y z, unit; NULL for lines */
    float *normal;
    /** r g b a per vertex, sRGB; NULL: the object's colour */
    uint8_t *colour;
    /** 3 or 2 per primitive; outward faces counterclockwise */
    uint32_t *index;
    size_t vertex_count;
    size_t index_count;
    /** Triangles: once vertices of bitwise equal position are merged
     *  (they are doubled where the normal has a step), every edge is used
     *  once each way */
    bool closed;
    /** Least and greatest position: never NAN */
    float low[3];
    float high[3];
} dm_mesh;

/** Exact curve: straight pieces and arcs. point[0], then per piece one end
 *  point (straight) or a middle and an end point (arc). */
typedef struct {
    /** Relative to the origin, m */
    dm_vec3 *point;
    size_t point_count;
    /** Per piece */
    bool *arc;
    size_t piece_count;
} dm_curve;

typedef struct {
    dm_object_kind kind;
    /** Unique among its siblings */
    const char *name;
    /** RFC 4122 v5 in the namespace of the bridge's uid */
    char uid[37];
    /** Index, smaller than its own; DM_NONE: the root */
    size_t parent;
    /** Name of its property set: "DM_Tendon" */
    const char *set;
    dm_property *properties;
    size_t property_count;
    dm_external_ids external;
    /** r g b a, sRGB */
    uint8_t colour[4];
    /** What the colour means: "tested", a grade */
    const char *colour_name;
    /** DM_NONE: none */
    size_t mesh;
    /** mesh to draw instead in the heat map of the index; DM_NONE: `mesh`
     *  there too */
    size_t heat;
    /** Directrix of a swept duct piece; DM_NONE */
    size_t curve;
    /** Of the sweep, m */
    double radius;
    /** Index into the model; DM_NONE */
    size_t tendon;
    /** Indication, tap, support, fixture, cover length: index within the
     *  tendon; DM_NONE */
    size_t item;
} dm_object;

typedef struct {
    /** "tested", "not tested", a grade's label, ... */
    const char *meaning;
    uint8_t colour[4];
} dm_legend_entry;

typedef struct dm_scene {
    /** World coordinates of the scene's zero, m, whole metres */
    dm_vec3 origin;
    /** Parents first; [0] is the bridge */
    dm_object *objects;
    size_t object_count;
    dm_mesh *meshes;
    size_t mesh_count;
    dm_curve *curves;
    size_t curve_count;
    dm_legend_entry *legend;
    size_t legend_count;
    /** From index -1 to 1, by steps */
    dm_legend_entry *heat_legend;
    size_t heat_legend_count;
} dm_scene;

/** Builds the scene.
 *
 *  The tree: bridge > parts, nested as in the model > tendon > duct lengths by
 *  coverage, indications, anchorages, deviators, fixtures, taps, centreline.
 *  A tendon without results is one length "not tested": nothing untested is
 *  ever drawn as tested.
 *
 *  @param model    must outlive the scene (external ids point into it)
 *  @param survey   names the runs and the footprint of the sensors; NULL: run
 *                  ids are left out and the heat map claims one facet a line
 *  @param criteria grades and their colours; NULL: none
 *  @param results  one per tendon of the model; NULL: no results at all
 *  @param job      settings (mesh_sagitta, mesh_sides, coverage_factor) and
 *                  the date; NULL: the default settings
 *  @param diag     may be NULL
 *  @param out      free with dm_scene_free; NULL on failure
 *  @return DM_OK; DM_NOMEM; DM_RANGE: coordinates that are not finite or lie
 *          more than 100 km from the middle of the model, where single
 *          precision resolves less than 1 cm; DM_SYNTAX: model->uid is no
 *          UUID */
dm_status dm_scene_build(const dm_model *model, const dm_survey *survey,
                         const dm_criteria *criteria, const dm_result *results,
                         const dm_job *job, dm_diag *diag, dm_scene **out);
/** Frees a scene; accepts NULL. */
void dm_scene_free(dm_scene *scene);

DM_END_C

#endif
