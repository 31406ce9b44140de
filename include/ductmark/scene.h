/* SPDX-License-Identifier: MIT
 *
 * The 3-D scene that all model writers share: named objects in a tree, with
 * meshes, exact curves and properties. After: tap. Before: write.
 *
 * Axes: X east, Y north, Z up, metres, relative to `origin` (world). Meshes
 * are single precision about that origin; curves double. A writer for a format
 * with other axes turns the root.
 *
 * What the forms and colours mean, which properties an object has, how its uid
 * is made: docs/scene.md and docs/outputs.md. Stations, directions and the
 * outside radius of tested duct are true; other sizes are signs to be seen
 * from afar. Never take a volume from a mesh.
 *
 * Every state differs in form as well as in colour, so that a black and white
 * print can be read. Untested length is never drawn as tested: it has a form
 * and a colour of its own.
 *
 * A scene is immutable. Its arrays and strings are its own but for external
 * ids, which belong to the model. Everything is found by index: objects refer
 * to meshes and curves, and to their parent, which stands before them.
 */
#ifndef DUCTMARK_SCENE_H
#define DUCTMARK_SCENE_H

#include <stdint.h>

#include "ductmark/tap.h"

DM_BEGIN_C

/** What an object of the scene is. */
typedef enum {
    /** The root; exactly one, the first object. */
    DM_OBJECT_BRIDGE,
    /** A span, cell, girder ...; no mesh. May hold parts and tendons. */
    DM_OBJECT_PART,
    /** Holds all that follows; no mesh of its own. */
    DM_OBJECT_TENDON,
    /** A length of duct of one coverage state; together they are the duct. */
    DM_OBJECT_DUCT,
    /** A sleeve round the duct; rings where its ends are uncertain, a wide ring
     *  at an open end. */
    DM_OBJECT_INDICATION,
    /** A plate square to the face, a head, a trumpet. */
    DM_OBJECT_ANCHORAGE,
    /** A translucent block between its faces. */
    DM_OBJECT_DEVIATOR,
    /** A larger tube over its length, drawn all round. */
    DM_OBJECT_FIXTURE,
    /** An arrow against the duct, its tip at the mark; a ring round the duct,
     *  three of them where it was opened. */
    DM_OBJECT_TAP,
    /** A place that was opened where no tap is: three rings. */
    DM_OBJECT_OPENING,
    /** A line from the first to the last anchorage's origin; has a curve too.
     */
    DM_OBJECT_CENTRELINE,
    /** The bridge's reference line beside its tendons, below the bridge; has a
     *  curve of straight pieces within 1 mm of it. */
    DM_OBJECT_ALIGNMENT,
    DM_OBJECT_COUNT
} dm_object_kind;
/** "bridge", "part", "tendon", "duct", "indication", ...
 *  @return static text, never NULL */
const char *dm_object_kind_text(dm_object_kind kind);

/** How the value of a property is to be read. IFC has a measure type for each;
 *  glTF writes numbers, texts and booleans. */
typedef enum {
    /** `text`. */
    DM_VALUE_TEXT,
    /** `number`: 0 or 1. */
    DM_VALUE_BOOL,
    /** `number`, whole. */
    DM_VALUE_INT,
    /** `number`, pure. */
    DM_VALUE_REAL,
    /** `number`, m. */
    DM_VALUE_LENGTH,
    /** `number`, degrees. */
    DM_VALUE_ANGLE,
    /** `text`, YYYY-MM-DD. */
    DM_VALUE_DATE,
    /** `text` of any length, for people. */
    DM_VALUE_PROSE,
    /** `text`: a file, as an input names it. */
    DM_VALUE_FILE,
    /** `number`, m^3. */
    DM_VALUE_VOLUME,
    /** `number`, Pa. */
    DM_VALUE_PRESSURE
} dm_value_kind;

/** One property of an object. An unknown quantity has no property.
 *  Writers show properties as they are and in their order. */
typedef struct {
    /** CamelCase words as property sets have them: "TendonStation". */
    const char *name;
    /** Which of the two that follow counts, and its unit. */
    dm_value_kind kind;
    /** NULL for numbers. */
    const char *text;
    /** Finite; every U is expanded with the CoverageFactor that the bridge
     *  object has as a property. */
    double number;
} dm_property;

/** What three or two indices make. */
typedef enum {
    /** Three indices a triangle. */
    DM_MESH_TRIANGLES,
    /** Two indices a line. */
    DM_MESH_LINES
} dm_mesh_mode;

/** An indexed mesh.
 *  Meshes of one kind share nothing: each object has its own. Chords of arcs
 *  deviate by at most mesh_sagitta at the duct's outside; a tube has mesh_sides
 *  sides, ringed tubes and arrows half as many. */
typedef struct {
    /** What the indices make. */
    dm_mesh_mode mode;
    /** [3 vertex_count] x y z, m, about the scene's origin. */
    float *position;
    /** [3 vertex_count] x y z, unit; NULL for lines. */
    float *normal;
    /** [4 vertex_count] r g b a per vertex, sRGB; NULL: the object's colour. */
    uint8_t *colour;
    /** [index_count] 3 or 2 per primitive, each under vertex_count; outward
     *  faces counterclockwise. */
    uint32_t *index;
    /** Vertices, > 0. */
    size_t vertex_count;
    /** A multiple of 3 or 2, > 0. */
    size_t index_count;
    /** Triangles: once vertices of bitwise equal position are merged (they are
     *  doubled where the normal has a step), every edge is used once each way.
     *  False for the strips of the heat map. */
    bool closed;
    /** Least and greatest position: never NAN. */
    float low[3];
    float high[3];
} dm_mesh;

/** Exact curve: straight pieces and arcs. point[0], then per piece one end
 *  point (straight) or a middle and an end point (arc).
 *  Serves writers that keep curves (IFC: directrix of a swept solid, axis of a
 *  tendon); meshes are made from the same geometry. */
typedef struct {
    /** Relative to the origin, m. */
    dm_vec3 *point;
    /** 1 + straight pieces + 2 arcs. */
    size_t point_count;
    /** [piece_count] true: an arc through three points. */
    bool *arc;
    /** Straight pieces and arcs together. */
    size_t piece_count;
} dm_curve;

/** A thing in the scene.
 *  The path that its uid is made of, such as "tendon/T1/duct/3", stands in
 *  docs/scene.md; the same model has the same uids next year. */
typedef struct {
    /** What it is. */
    dm_object_kind kind;
    /** Unique among its siblings, for formats that find objects by name. */
    const char *name;
    /** RFC 4122 v5 in the namespace of the bridge's uid; indications and taps
     *  bring their own. */
    char uid[37];
    /** Index, smaller than its own; DM_NONE: the root. */
    size_t parent;
    /** Name of its property set: "DM_Tendon"; one name for each kind of
     *  object. */
    const char *set;
    /** In a fixed order for each kind. */
    dm_property *properties;
    /** May be 0. */
    size_t property_count;
    /** The model's. */
    dm_external_ids external;
    /** r g b a, sRGB; a under 255: translucent. A mesh may have colours of its
     *  own, vertex by vertex. */
    uint8_t colour[4];
    /** What the colour means: "tested", a grade's label; the legend's word for
     *  it. */
    const char *colour_name;
    /** Index; DM_NONE: none. */
    size_t mesh;
    /** Mesh to draw instead in the heat map of the index; DM_NONE: `mesh` there
     *  too. */
    size_t heat;
    /** Index: directrix of a swept duct piece; DM_NONE. */
    size_t curve;
    /** Outside radius of the sweep, m; true for every state of coverage, while
     *  the mesh may be thinner as a sign. */
    double radius;
    /** Index into the model; DM_NONE above the tendons. */
    size_t tendon;
    /** Indication, tap, support, fixture, cover length: index within the
     *  tendon; DM_NONE. */
    size_t item;
} dm_object;

/** What a colour of the scene means.
 *  Colours: M. Okabe and K. Ito, "Color Universal Design" (2008), with neutral
 *  greys; heat map: the diverging scheme PuOr (ColorBrewer 2.0), 11 classes. */
typedef struct {
    /** "tested", "not tested", a grade's label, ... */
    const char *meaning;
    /** r g b a, sRGB. */
    uint8_t colour[4];
} dm_legend_entry;

/** A scene.
 *  Free it with dm_scene_free, before the model it was built from. */
typedef struct dm_scene {
    /** World coordinates of the scene's zero, m, whole metres, near the middle
     *  of the supports: world = origin + position. */
    dm_vec3 origin;
    /** Parents first; [0] is the bridge. */
    dm_object *objects;
    /** >= 1. */
    size_t object_count;
    /** What objects name by index. */
    dm_mesh *meshes;
    /** May be 0. */
    size_t mesh_count;
    /** Likewise. */
    dm_curve *curves;
    /** May be 0. */
    size_t curve_count;
    /** Colours that are used, each once. */
    dm_legend_entry *legend;
    /** >= 1. */
    size_t legend_count;
    /** From index -1 to 1, by steps. */
    dm_legend_entry *heat_legend;
    /** >= 1. */
    size_t heat_legend_count;
} dm_scene;

/** Builds the scene.
 *
 *  The tree: bridge > parts, nested as in the model > tendon > duct lengths by
 *  coverage, indications, anchorages, deviators, fixtures, taps, openings,
 * centreline. A tendon without results is one length "not tested": nothing
 * untested is ever drawn as tested.
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
/** Frees a scene; accepts NULL. The model it was built from stays. */
void dm_scene_free(dm_scene *scene);

DM_END_C

#endif
