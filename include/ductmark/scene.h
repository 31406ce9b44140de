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

typedef enum {
    DM_OBJECT_BRIDGE,
    DM_OBJECT_PART,
    DM_OBJECT_TENDON,
    DM_OBJECT_DUCT, /* a length of duct of one coverage state */
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
    DM_VALUE_BOOL, /* number: 0 or 1 */
    DM_VALUE_INT,
    DM_VALUE_REAL,   /* a pure number */
    DM_VALUE_LENGTH, /* m */
    DM_VALUE_ANGLE,  /* deg */
    DM_VALUE_DATE    /* text, YYYY-MM-DD */
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
    float *position; /* x y z */
    float *normal;   /* x y z, unit; NULL for lines */
    uint8_t *colour; /* r g b a per vertex, sRGB; NULL: the object's colour */
    uint32_t *index; /* 3 or 2 per primitive; outward faces counterclockwise */
    size_t vertex_count;
    size_t index_count;
    bool closed;  /* triangles: once vertices of bitwise equal position are
                     merged (they are doubled where the normal has a step),
                     every edge is used once each way */
    float low[3]; /* least and greatest position: never NAN */
    float high[3];
} dm_mesh;

/** Exact curve: straight pieces and arcs. point[0], then per piece one end
 *  point (straight) or a middle and an end point (arc). */
typedef struct {
    dm_vec3 *point; /* relative to the origin, m */
    size_t point_count;
    bool *arc; /* per piece */
    size_t piece_count;
} dm_curve;

typedef struct {
    dm_object_kind kind;
    const char *name; /* unique among its siblings */
    char uid[37];     /* RFC 4122 v5 in the namespace of the bridge's uid */
    size_t parent;    /* index, smaller than its own; DM_NONE: the root */
    const char *set;  /* name of its property set: "DM_Tendon" */
    dm_property *properties;
    size_t property_count;
    dm_external_ids external;
    uint8_t colour[4];       /* r g b a, sRGB */
    const char *colour_name; /* what the colour means: "tested", a grade */
    size_t mesh;             /* DM_NONE: none */
    size_t heat;   /* mesh to draw instead in the heat map of the index;
                      DM_NONE: `mesh` there too */
    size_t curve;  /* directrix of a swept duct piece; DM_NONE */
    double radius; /* of the sweep, m */
    size_t tendon; /* index into the model; DM_NONE */
    size_t item;   /* indication, tap, support, fixture, cover length:
                      index within the tendon; DM_NONE */
} dm_object;

typedef struct {
    const char *meaning; /* "tested", "not tested", a grade's label, ... */
    uint8_t colour[4];
} dm_legend_entry;

typedef struct dm_scene {
    dm_vec3 origin; /* world coordinates of the scene's zero, m, whole metres */
    dm_object *objects; /* parents first; [0] is the bridge */
    size_t object_count;
    dm_mesh *meshes;
    size_t mesh_count;
    dm_curve *curves;
    size_t curve_count;
    dm_legend_entry *legend;
    size_t legend_count;
    dm_legend_entry *heat_legend; /* from index -1 to 1, by steps */
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

#endif
