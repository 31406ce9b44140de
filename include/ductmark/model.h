/* SPDX-License-Identifier: MIT
 *
 * The bridge as drawn or surveyed: tendons with their anchorages, deviators,
 * ducts, fixtures. Read from the `bridge` XML file; the first stage.
 *
 * World axes: X east, Y north, Z up, metres. Tendon station t: metres along
 * the centreline from the origin (bearing plate) of the first anchorage.
 * Clock angle: radians, looking ahead, 0 at the crown, clockwise positive.
 */
#ifndef DUCTMARK_MODEL_H
#define DUCTMARK_MODEL_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/centreline.h"
#include "ductmark/status.h"

#define DM_NONE ((size_t)-1)

/** An id that somebody else gave a thing: scheme "ifc-guid", "owner",
 *  "drawing" or "field-tag". */
typedef struct {
    const char *scheme;
    const char *value;
} dm_external_id;

typedef struct {
    dm_external_id *items;
    size_t count;
} dm_external_ids;

/** A nested piece of the bridge: "span", "cell", "girder", "pier", ... */
typedef struct {
    const char *id;
    const char *kind;
    const char *name;
    size_t parent; /* index of the part that holds it; DM_NONE: the bridge */
    dm_external_ids external;
    dm_place place;
} dm_part;

typedef struct {
    const char *id;
    const char *material; /* "hdpe", "pp", "steel", "other" */
    double od;            /* outside diameter, m */
    double wall_min;      /* documented least wall, m; 0: not stated */
    double wall;          /* nominal or measured wall, m */
    double wall_max;      /* m; 0: not stated */
    dm_place place;
} dm_duct_type;

typedef struct {
    const char *id;
    double diameter; /* m */
    double area;     /* steel, m^2 */
    dm_place place;
} dm_strand_type;

typedef enum {
    DM_DEVIATOR_PIPE,   /* bent steel pipe: one plane, radius, angle */
    DM_DEVIATOR_FLARED, /* flared void, the duct runs through */
    DM_DEVIATOR_SADDLE  /* open or half trough */
} dm_deviator_kind;

typedef struct {
    const char *id;
    dm_deviator_kind kind;
    double radius;     /* m */
    double radius_min; /* m; 0: not stated */
    double angle_max;  /* rad; 0: not stated */
    dm_place place;
} dm_deviator_type;

/** On which side of the concrete: looking back (towards the first anchorage)
 *  or ahead. The last anchorage's face is a back face. */
typedef enum { DM_SIDE_BACK = -1, DM_SIDE_AHEAD = +1 } dm_side;

/** A surface that a hand can touch and a tape can start from: the plane
 *  normal . (x - origin) = 0, `normal` pointing out of the concrete. */
typedef struct {
    const char *id; /* unique within the tendon */
    size_t support; /* index of the anchorage or deviator it belongs to */
    dm_side side;
    double offset; /* from the support's point, square to the plane, m */
    dm_vec3 origin;
    dm_vec3 normal;      /* unit */
    bool normal_assumed; /* plumb and square to the bridge by default */
    double u;            /* standard uncertainty along the duct, m */
    bool touchable;
    double t; /* station where the centreline crosses the plane, m */
    dm_place place;
} dm_face;

typedef enum { DM_SUPPORT_ANCHORAGE, DM_SUPPORT_DEVIATOR } dm_support_kind;

/** An anchorage or a deviator of one tendon, in the order of the stations. */
typedef struct {
    const char *id; /* unique within the tendon */
    const char *name;
    dm_support_kind kind;
    size_t deviator_type; /* DM_NONE for an anchorage */
    dm_vec3 point;        /* bearing plate, or intersection of the legs, m */
    double u;             /* standard uncertainty of the point, m */
    double radius;        /* of the arc, m; 0 at an anchorage */
    bool radius_assumed;
    double deflection;     /* rad */
    size_t arc;            /* segment index of its arc; DM_NONE */
    double t;              /* station of the origin / middle of the arc, m */
    double readable_back;  /* the sensor reads up to here, m; NAN: no side */
    double readable_ahead; /* the sensor reads from here, m; NAN: no side */
    dm_external_ids external;
    dm_place place;
} dm_support;

/** A length of one duct type. Together they cover 0..length without gaps. */
typedef struct {
    double from, to;  /* m */
    size_t duct_type; /* index */
    dm_place place;
} dm_duct_length;

typedef enum {
    DM_FIXTURE_COLLAR,
    DM_FIXTURE_COUPLER,
    DM_FIXTURE_WRAP,
    DM_FIXTURE_PATCH,
    DM_FIXTURE_VENT,
    DM_FIXTURE_WELD,
    DM_FIXTURE_DIAPHRAGM,
    DM_FIXTURE_LOW_CLEARANCE
} dm_fixture_kind;

typedef struct {
    const char *id;
    dm_fixture_kind kind;
    double from, to;             /* m */
    double clock_from, clock_to; /* clockwise, rad; 0 and 2 pi: all round */
    dm_place place;
} dm_fixture;

/** Where the strands lie against the wall, if known. */
typedef struct {
    double from, to; /* m */
    double clock;    /* rad */
    double u;        /* rad */
    dm_place place;
} dm_strand_side;

/** A length between two faces, taped on site. */
typedef struct {
    size_t face_from, face_to; /* indices */
    double clock;              /* the line taped along, rad */
    double value;              /* m */
    double u;                  /* m */
    dm_place place;
} dm_measured_length;

typedef enum { DM_BASIS_DRAWING, DM_BASIS_SURVEYED, DM_BASIS_ASSUMED } dm_basis;

typedef struct {
    const char *id;
    const char *name;
    const char *where; /* "second from left web, top row" */
    size_t part;       /* index; DM_NONE */
    int strands;       /* 0: not stated */
    size_t strand_type;
    dm_basis basis;
    dm_external_ids external;
    dm_support *supports; /* first and last are anchorages */
    size_t support_count;
    dm_face *faces; /* by increasing t */
    size_t face_count;
    dm_duct_length *ducts;
    size_t duct_count;
    dm_fixture *fixtures; /* by increasing from */
    size_t fixture_count;
    dm_strand_side *strand_sides;
    size_t strand_side_count;
    dm_measured_length *measured;
    size_t measured_count;
    dm_centreline line;
    dm_place place;
} dm_tendon;

/** IfcMapConversion's seven numbers: model to map coordinates. */
typedef struct {
    bool given;
    double eastings, northings, height;      /* m, of the model's origin */
    double x_axis_abscissa, x_axis_ordinate; /* direction of X on the map */
    double scale;
} dm_map_conversion;

typedef struct dm_model {
    struct dm_arena *arena; /* holds all of it */
    const char *file;
    const char *sha256; /* of the file, 64 hex digits */
    const char *uid;    /* the bridge's random UUID, 36 characters */
    const char *id;
    const char *name;
    dm_external_ids external;
    int epsg;          /* plan; 0: none */
    int vertical_epsg; /* height; 0: none */
    dm_map_conversion map;
    dm_vec3 direction; /* horizontal unit vector of increasing station */
    dm_part *parts;    /* a part comes after the part that holds it */
    size_t part_count;
    dm_duct_type *duct_types;
    size_t duct_type_count;
    dm_strand_type *strand_types;
    size_t strand_type_count;
    dm_deviator_type *deviator_types;
    size_t deviator_type_count;
    dm_tendon *tendons; /* in file order */
    size_t tendon_count;
} dm_model;

/** Reads, validates and builds a bridge file (and the catalogues it names).
 *  @param path  the XML file
 *  @param diag  gets every fault of the file with its line; may be NULL
 *  @param out   the model, immutable; free with dm_model_free. NULL on failure
 *  @return DM_OK; DM_IO, DM_SYNTAX, DM_SCHEMA, DM_REFERENCE, DM_RANGE,
 *          DM_GEOMETRY, DM_NOMEM: the first fault's status */
dm_status dm_model_read(const char *path, dm_diag *diag, dm_model **out);
/** Frees a model; accepts NULL. */
void dm_model_free(dm_model *model);

/** Index of a tendon by id; DM_NONE: absent. */
size_t dm_model_find_tendon(const dm_model *model, const char *id);
/** Index of a face by id; DM_NONE: absent. */
size_t dm_tendon_find_face(const dm_tendon *tendon, const char *id);
/** Duct type at station t (clamped to the tendon). Never NULL. */
const dm_duct_type *dm_tendon_duct(const dm_model *model,
                                   const dm_tendon *tendon, double t);
/** Station where a face's plane crosses the clock line of radius r, angle
 *  phi (rad); r = 0 gives face->t. */
double dm_face_station(const dm_tendon *tendon, const dm_face *face, double r,
                       double phi);
/** The value of an external id of that scheme, or NULL. */
const char *dm_external_find(const dm_external_ids *ids, const char *scheme);

#endif
