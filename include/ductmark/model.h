/* SPDX-License-Identifier: MIT
 *
 * The bridge as drawn or surveyed: tendons with their anchorages, deviators,
 * ducts, fixtures. Read from the `bridge` XML file; the first stage.
 *
 * World axes: X east, Y north, Z up, metres. Tendon station t: metres along
 * the centreline from the origin (bearing plate) of the first anchorage.
 * Clock angle: radians, looking ahead, 0 at the crown, clockwise positive.
 * Conventions with a sketch: geometry/README.md; every field of the file with
 * its range: docs/formats.md. Ranges below are those of the reader.
 *
 * A model is immutable once read and may be shared by threads. All arrays and
 * strings belong to its arena; strings are UTF-8 and never NULL unless it is
 * said. `place` is where a thing stands in its file, for messages. An index is
 * into an array of the same model or tendon, or DM_NONE.
 *
 *     dm_model *m = NULL;
 *     if (dm_model_read("bridge.xml", &diag, &m) == DM_OK) {
 *         const dm_tendon *n = &m->tendons[dm_model_find_tendon(m, "T4L")];
 *         size_t f = dm_tendon_find_face(n, "D1-a");
 *         double r = 0.5 * dm_tendon_duct(m, n, n->faces[f].t)->od;
 *         double on_crown = dm_face_station(n, &n->faces[f], r, 0.0);
 *         dm_vec3 point = dm_centreline_point(&n->line, on_crown);
 *     }
 *     dm_model_free(m);
 *
 * What the reader refuses beyond the schema (status in brackets):
 * - a quantity outside its range, more than 2000 parts, 10000 tendons, 500
 *   supports or 10000 things along a tendon (RANGE);
 * - an id of a type, part or face that names nothing (REFERENCE);
 * - legs under 1 mm, a deflection of 170 deg or more or above the type's
 *   angle_max, tangents that overlap, a radius below radius_min (GEOMETRY);
 * - a face that the duct does not cross within 2 m of where it is expected, or
 *   crosses on the other side of its support, or whose normal does not point
 *   out of the concrete (GEOMETRY);
 * - strands that do not fit into the duct (GEOMETRY);
 * - a duct within 10 deg of vertical without a clock datum (GEOMETRY);
 * - anchorages in the order of decreasing bridge station, duct lengths with
 *   gaps, two faces on one side (INCONSISTENT);
 * - two tendons whose axes come nearer than the outside radius of either
 *   (GEOMETRY), an ifc-guid that two things have (REFERENCE);
 * - an alignment that is none: its profile out of order or overlapping, a
 *   clothoid that is straight, a LandXML file that says what it should not; a
 *   point by station without an alignment (GEOMETRY, REFERENCE).
 *
 * Up to 1000 faults of a file are listed, each with its line, in the order of
 * the file but for those of the schema, which come first. A catalogue that
 * cannot be read is blamed on the line that names it, and ids of types that it
 * may have held are not reported as missing.
 *
 * Accuracy: a station is good to 1e-9 m on tendons of up to 1 km, a position to
 * 1e-9 m or four units in the last place of its coordinates (centreline.h).
 *
 * It warns of a duct with less than twice the area of its strands (FP-96,
 * section 553(a)), of a face inside the arc, of a change of outside diameter
 * inside an arc (the outside path takes one size there), and of the rules of
 * practice that docs/geometry.md lists.
 */
#ifndef DUCTMARK_MODEL_H
#define DUCTMARK_MODEL_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/alignment.h"
#include "ductmark/centreline.h"
#include "ductmark/status.h"

DM_BEGIN_C

/** No index: there is no such thing. */
#define DM_NONE ((size_t)-1)

/** An id that somebody else gave a thing; kept and passed on.
 *  XML: `external-id`, first in what it belongs to. The IFC writer gives an
 *  element the GlobalId of its "ifc-guid", if that is well-formed; all of them
 *  travel as properties. */
typedef struct {
    /** "ifc-guid", "owner", "drawing" or "field-tag". */
    const char *scheme;
    /** As written, 1 to 250 characters; not checked against anything. */
    const char *value;
} dm_external_id;

/** The external ids of one thing, in file order; may be none. */
typedef struct {
    dm_external_id *items;
    /** 0: none. */
    size_t count;
} dm_external_ids;

/** How a length of tendon is reached; for the survey plan. */
typedef enum {
    DM_ACCESS_FLOOR,    /**< Standing on a floor that one can walk on. */
    DM_ACCESS_LADDER,   /**< From a step-ladder. */
    DM_ACCESS_SCAFFOLD, /**< From a scaffold or platform that is moved. */
    DM_ACCESS_CRAWL,    /**< Lying or crawling. */
    DM_ACCESS_ROPE,     /**< From a rope or a lift. */
    DM_ACCESS_NONE,     /**< Not at all. */
    DM_ACCESS_COUNT
} dm_access;
/** "floor", "ladder", "scaffold", "crawl", "rope", "none".
 *  @return static text, never NULL; "none" outside the range */
const char *dm_access_text(dm_access access);

/** A clear section of a part: the room that its tendons must stay in. Between
 *  two sections the sides are straight.
 *  XML: `section` in a part. Only `check` reads it. */
typedef struct {
    /** Bridge station, m. */
    double station;
    /** Offsets of the sides, m, left < right. */
    double left, right;
    /** Z of floor and ceiling, m, bottom < top. */
    double bottom, top;
} dm_clear_section;

/** A nested piece of the bridge: where tendons hang in the tree.
 *  XML: `part`, nested at most 32 deep. The scene and IFC hang tendons below
 *  their part; nothing is computed with it. */
typedef struct {
    /** Unique in the bridge. */
    const char *id;
    /** "span", "cell", "girder", "pier", "abutment", "segment", "other". */
    const char *kind;
    /** For people; the id where none is given. */
    const char *name;
    /** Index of the part that holds it, smaller than its own, so that one pass
     *  meets parents first; DM_NONE: the bridge. */
    size_t parent;
    /** Of its tendons, where they state none; its parent's where it states
     *  none, floor at the root. */
    dm_access access;
    /** By increasing station; 0, or 2 and more. */
    dm_clear_section *sections;
    /** May be 0. */
    size_t section_count;
    dm_external_ids external;
    /** Line of its element, for messages. */
    dm_place place;
} dm_part;

/** A kind of duct; of the bridge file or a catalogue.
 *  XML: `duct-type` in the bridge file or a catalogue. The outside diameter
 *  rules the sensor's path and all marks; the least wall rules the depth stop.
 */
typedef struct {
    /** Unique among the duct types of the bridge and its catalogues. */
    const char *id;
    /** "hdpe", "pp", "steel", "other". Steel cannot be read: a calibration for
     *  it is refused, and so are readings on it, by name. */
    const char *material;
    /** Outside diameter, m, 0.01 to 1. od/2 is the radius of the sensor's
     *  path, of marks and tapes. */
    double od;
    /** Documented least wall, m, 0 < wall_min <= wall; 0: not stated. The
     *  depth stop of a tap. */
    double wall_min;
    /** Nominal or measured wall, m, 1e-4 to 0.1, under od/2; od/2 - wall is
     *  the bore radius, which serves voids and nothing else. */
    double wall;
    /** m, >= wall; 0: not stated. */
    double wall_max;
    /** Line of its element, for messages. */
    dm_place place;
} dm_duct_type;

/** A kind of strand.
 *  XML: `strand-type`. Serves the check of the duct's area, and the IFC
 *  tendon's steel area. */
typedef struct {
    /** Unique among the strand types. */
    const char *id;
    /** m, 0.001 to 0.1. */
    double diameter;
    /** Of steel, one strand, m^2, 1e-7 to 1e-2. */
    double area;
    /** Line of its element, for messages. */
    dm_place place;
} dm_strand_type;

/** How a deviator holds the duct. The geometry is the same for all. */
typedef enum {
    /** Bent steel pipe: one plane, radius, angle. */
    DM_DEVIATOR_PIPE,
    /** Flared void, the duct runs through. */
    DM_DEVIATOR_FLARED,
    /** Open or half trough. */
    DM_DEVIATOR_SADDLE
} dm_deviator_kind;

/** A kind of deviator.
 *  XML: `deviator-type`. A deviator may override the radius; the limits hold
 *  for every deviator of the type. */
typedef struct {
    /** Unique among the deviator types. */
    const char *id;
    /** Passed on, for people. */
    dm_deviator_kind kind;
    /** Of the arc, m, 0.1 to 100; a deviator may have its own. */
    double radius;
    /** m; 0: not stated. A deviator whose own radius is less is refused; so is
     * a type whose radius is. */
    double radius_min;
    /** Greatest deflection in space, rad, to 2.5; 0: not stated. A tendon that
     *  turns more at such a deviator is refused. */
    double angle_max;
    /** Line of its element, for messages. */
    dm_place place;
} dm_deviator_type;

/** On which side of the concrete: looking back (towards the first anchorage)
 *  or ahead. The first anchorage has an ahead face only, the last a back face.
 *  The value is the sign of t away from the concrete. */
typedef enum {
    /** Towards the first anchorage: decreasing t. */
    DM_SIDE_BACK = -1,
    /** Towards the last anchorage: increasing t. */
    DM_SIDE_AHEAD = +1
} dm_side;

/** A surface that a hand can touch and a tape can start from: the plane
 *  normal . (x - origin) = 0, `normal` pointing out of the concrete. Its
 *  station depends on the clock line: dm_face_station.
 *  XML: `face` in an anchorage or deviator, at most one on a side. Starts,
 *  ties, measured lengths, fixtures, requested taps and tapes count from faces.
 *  The distances may tell that it stands elsewhere than drawn: dm_stations.
 *  face_shift is added to its station then. */
typedef struct {
    /** Unique within the tendon. */
    const char *id;
    /** Index of the anchorage or deviator it belongs to. */
    size_t support;
    /** Of the concrete; at an anchorage that of the free length. */
    dm_side side;
    /** From the support's point, square to the plane, m, 0 to 20. */
    double offset;
    /** A point of the plane, world, m. */
    dm_vec3 origin;
    /** Unit, out of the concrete; at least 0.1 of it along the duct. */
    dm_vec3 normal;
    /** True: none was given; plumb and square to the bridge was taken. */
    bool normal_assumed;
    /** Standard uncertainty along the duct, as built against the drawing, m;
     *  0: not stated, settings.face_u holds. */
    double u;
    /** A tape can start there: set-out uses no other face. Ties may be taken at
     *  any. */
    bool touchable;
    /** Station where the centreline crosses the plane, m, as drawn. */
    double t;
    /** Line of its element, for messages. */
    dm_place place;
} dm_face;

/** What a dm_support is. */
typedef enum {
    /** First or last of a tendon. */
    DM_SUPPORT_ANCHORAGE,
    /** All others. */
    DM_SUPPORT_DEVIATOR
} dm_support_kind;

/** What an anchorage does, in the words of ISO 16739-1
 *  (IfcTendonAnchorTypeEnum). */
typedef enum {
    DM_ANCHORAGE_TENSIONING, /**< The tendon is stressed here. */
    DM_ANCHORAGE_FIXED,      /**< Dead end. */
    DM_ANCHORAGE_COUPLER     /**< Joined to another tendon. */
} dm_anchorage_kind;

/** What hides the duct between a face and the readable end. */
typedef enum {
    DM_HIDDEN_NOT_STATED,
    DM_HIDDEN_TRUMPET, /**< Of an anchorage. */
    DM_HIDDEN_BOOT,    /**< Over the joint of pipe and duct. */
    DM_HIDDEN_PIPE,    /**< The deviator's pipe, longer than the concrete. */
    DM_HIDDEN_SLEEVE   /**< Any other cover. */
} dm_hidden;

/** An anchorage or a deviator of one tendon, in the order of the stations.
 *  XML: `anchorage` and `deviator`. At a deviator the arc replaces the corner
 *  of the two straight legs: tangent length radius * tan(deflection / 2), arc
 *  radius * deflection (US Army FM 5-233, chapter 3). */
typedef struct {
    /** Unique within the tendon. */
    const char *id;
    /** For people; the id where none is given. */
    const char *name;
    /** Anchorages stand at both ends and nowhere else. */
    dm_support_kind kind;
    /** Index; DM_NONE for an anchorage. */
    size_t deviator_type;
    /** Bearing plate of an anchorage, or intersection of the two straight legs
     *  at a deviator, world, m. */
    dm_vec3 point;
    /** Standard uncertainty of the point, m; 0: not stated. Passed on; no
     *  bound is computed from it. */
    double u;
    /** Of the arc, m; 0 at an anchorage. */
    double radius;
    /** Of an anchorage; not read for a deviator. */
    dm_anchorage_kind anchorage_kind;
    /** Of an anchorage's bearing plate, unit, towards the free length; zero:
     *  not stated. Only checked against the first leg. */
    dm_vec3 plate_normal;
    /** Angle that a pipe is bent to, rad; 0: not stated. Only checked against
     *  the deflection. */
    double pipe_angle;
    /** Clock angle, at the middle of the arc, towards the centre of the bend
     *  that a pipe is bent in, rad; NAN: not stated. Only checked. */
    double pipe_plane;
    /** As given: the bridge station and offset of the point; NAN: it was given
     *  by x, y, z. */
    double station, offset;
    /** Angle in space that the duct turns by, rad, under 170 deg; 0 at an
     *  anchorage. Not the angle in elevation. Between the two straight legs,
     *  or, where they sag, their ends. */
    double deflection;
    /** Segment index of its arc; DM_NONE: no arc. */
    size_t arc;
    /** Station of the bearing plate (0 or the length), or of the middle of the
     *  arc, m. */
    double t;
    /** The sensor reads up to here, coming from the back, m; NAN at the first
     *  anchorage. */
    double readable_back;
    /** The sensor reads from here on, m; NAN at the last anchorage. Without a
     *  statement both are the face's station, without a face the support's. */
    double readable_ahead;
    /** What hides the duct up to there. */
    dm_hidden hidden_back, hidden_ahead;
    dm_external_ids external;
    /** Line of its element, for messages. */
    dm_place place;
} dm_support;

/** A length of one duct type. Together they cover 0..length without gaps.
 *  XML: `duct-length`. Joints of two lengths are kept clear of taps. Steel
 *  lengths are covered as not tested. */
typedef struct {
    /** Tendon stations, m, from < to; the first begins at 0, the last ends at
     *  the tendon's length, gaps of up to 1 mm in the file are closed. */
    double from, to;
    /** Index into the model's duct types. */
    size_t duct_type;
    /** Line of its element, for messages. */
    dm_place place;
} dm_duct_length;

/** What is fixed round or near a duct, so that the sensor is lifted. */
typedef enum {
    /** Clamp or hanger round the duct. */
    DM_FIXTURE_COLLAR,
    /** Joint of two ducts. */
    DM_FIXTURE_COUPLER,
    /** Tape or sleeve over the duct. */
    DM_FIXTURE_WRAP,
    /** An earlier opening, closed again. */
    DM_FIXTURE_PATCH,
    /** Grout vent or drain. */
    DM_FIXTURE_VENT,
    /** Bead of a welded joint. */
    DM_FIXTURE_WELD,
    /** A wall that the duct goes through without being bent. */
    DM_FIXTURE_DIAPHRAGM,
    /** Something beside the duct that leaves no room for the sensor. */
    DM_FIXTURE_LOW_CLEARANCE
} dm_fixture_kind;

/** A fixture.
 *  XML: `fixture`. Its length counts as not tested where no reading lies; taps
 *  keep fixture_margin off it, on its side of the duct. */
typedef struct {
    /** Unique within the tendon. */
    const char *id;
    /** The sensor is lifted for all kinds; taps keep off all of them. */
    dm_fixture_kind kind;
    /** Tendon stations, m, from <= to; measures from a face are converted with
     *  the face as drawn. */
    double from, to;
    /** Clockwise from, to, rad; 0 and 2 pi: all round. */
    double clock_from, clock_to;
    /** Line of its element, for messages. */
    dm_place place;
} dm_fixture;

/** Where the strands lie against the wall, if known. Elsewhere it is unknown:
 *  any side.
 *  XML: `strand-side`; where none is stated, in the arc of a deviator the
 *  inside of the bend, derived: the bundle is pulled there (common practice, no
 *  source). Where the sensor lies over it, a negative index is unresolved,
 *  length is strand-masked, and a tap becomes a hand tool's. */
typedef struct {
    /** Not stated in the file: from the bend. */
    bool derived;
    /** Tendon stations, m, from < to. */
    double from, to;
    /** Of the strands, rad. */
    double clock;
    /** Standard uncertainty of that angle, rad, 0 to 3.2. */
    double u;
    /** Line of its element, for messages. */
    dm_place place;
} dm_strand_side;

/** How a length is reached, where the tendon states it.
 *  XML: `access`. */
typedef struct {
    /** Tendon stations, m, from < to. */
    double from, to;
    dm_access access;
    /** Line of its element, for messages. */
    dm_place place;
} dm_access_length;

/** A length between two faces, taped on site: an observation of the
 *  adjustment (station.h).
 *  XML: `measured-length`. Beyond the gate it is left out, with a warning. */
typedef struct {
    /** Indices of two different faces. */
    size_t face_from, face_to;
    /** The line taped along, rad. */
    double clock;
    /** m, along the duct's outside, > 0 in either order of the faces. */
    double value;
    /** Standard uncertainty, m; NAN: not stated, settings.tie_u holds. */
    double u;
    /** Line of its element, for messages. */
    dm_place place;
} dm_measured_length;

/** Where the points of a tendon come from. Passed on, for people. */
typedef enum {
    /** As drawn. */
    DM_BASIS_DRAWING,
    /** Measured on the bridge as built. */
    DM_BASIS_SURVEYED,
    /** Neither: somebody's best guess. */
    DM_BASIS_ASSUMED
} dm_basis;

/** A tendon with all that stands along it.
 *  XML: `tendon`. Built by the PI method from its supports; everything else on
 *  it has a tendon station from 0 to line.length. */
typedef struct {
    /** Unique in the bridge. */
    const char *id;
    /** For people; the id where none is given. */
    const char *name;
    /** For people who look for the tendon on site: "second from left web, top
     *  row"; "" if not stated. */
    const char *where;
    /** Index; DM_NONE. */
    size_t part;
    /** Number of strands, 1 to 200; 0: not stated, and the duct's area is not
     *  checked. */
    int strands;
    /** Index; DM_NONE: not stated, and the duct's area is not checked
     *  against that of the strands. */
    size_t strand_type;
    /** Where its points come from. */
    dm_basis basis;
    /** The field tag is what a crew finds painted on the duct. */
    dm_external_ids external;
    /** First and last are anchorages; >= 2. */
    dm_support *supports;
    /** >= 2. */
    size_t support_count;
    /** By increasing t; may be none, then nothing can be tied or taped. */
    dm_face *faces;
    /** May be 0. */
    size_t face_count;
    /** By increasing from; >= 1. */
    dm_duct_length *ducts;
    /** >= 1. */
    size_t duct_count;
    /** By increasing from. */
    dm_fixture *fixtures;
    /** May be 0. */
    size_t fixture_count;
    /** Stated ones in file order, then those derived, by increasing from. */
    dm_strand_side *strand_sides;
    /** May be 0. */
    size_t strand_side_count;
    /** In file order; of lengths that overlap the later holds. */
    dm_access_length *access;
    /** May be 0. */
    size_t access_count;
    /** Mass of duct, strands and grout, kg/m, and force, N; 0: not stated, the
     *  free lengths are straight. Else each sags by w l^2 / 8 H (docs/
     *  geometry.md) and is part of the line as a flat arc. */
    double weight, force;
    /** May be none. */
    dm_measured_length *measured;
    /** May be 0. */
    size_t measured_count;
    /** The centreline; its length is the tendon's. Where the tendon has a clock
     *  datum, the line has it too. */
    dm_centreline line;
    /** Line of its element, for messages. */
    dm_place place;
} dm_tendon;

/** IfcMapConversion's numbers: model to map coordinates. Map = (eastings,
 *  northings, height) + scale * (turned model coordinates).
 *  XML: `map-conversion`. Names and meaning as in ISO 16739-1 (IFC 4.3). */
typedef struct {
    /** False: none in the file; the numbers are those of no change. */
    bool given;
    /** Of the model's origin on the map, m. */
    double eastings, northings, height;
    /** Direction of X on the map; unit. */
    double x_axis_abscissa, x_axis_ordinate;
    /** 0.5 to 2, in all directions. */
    double scale;
    /** Grid length over ground length, 0.9 to 1.1, in plan only, beside the
     *  scale (IfcMapConversionScaled); 0: not stated, 1. */
    double grid_factor;
} dm_map_conversion;

/** A bridge file as read. */
typedef struct dm_model {
    /** Holds all of it. */
    struct dm_arena *arena;
    /** As opened. */
    const char *file;
    /** Of the file, 64 hex digits. */
    const char *sha256;
    /** The bridge's random UUID, 36 characters: the namespace of all
     *  identities (RFC 4122, version 5). */
    const char *uid;
    /** Short name and name for people. */
    const char *id;
    const char *name;
    /** Ids that the owner and others gave the bridge. */
    dm_external_ids external;
    /** EPSG codes of the map's plan and height systems; 0: none. Passed on to
     *  the models; nothing is projected. */
    int epsg;
    int vertical_epsg;
    /** From model to map coordinates: dm_map_point. */
    dm_map_conversion map;
    /** The reference line; NULL: none, bridge stations are not known. */
    dm_alignment *alignment;
    /** Its id; "" without one. */
    const char *alignment_id;
    /** Mean horizontal unit vector of increasing bridge station: stated, or
     *  from first to last anchorage, averaged over the tendons. At a place:
     *  dm_model_direction. */
    dm_vec3 direction;
    /** A part comes after the part that holds it. */
    dm_part *parts;
    /** May be 0. */
    size_t part_count;
    /** Types of the catalogues first, then of the file. */
    dm_duct_type *duct_types;
    /** May be 0. */
    size_t duct_type_count;
    /** May be none. */
    dm_strand_type *strand_types;
    /** May be 0. */
    size_t strand_type_count;
    /** None where no tendon has a deviator. */
    dm_deviator_type *deviator_types;
    /** May be 0. */
    size_t deviator_type_count;
    /** In file order; >= 1. */
    dm_tendon *tendons;
    /** >= 1. */
    size_t tendon_count;
} dm_model;

/** Reads, validates and builds a bridge file (and the catalogues it names).
 *  @param path  the XML file
 *  @param diag  gets every fault of the file with its line; may be NULL.
 *               Warnings: what is against a rule of practice, and what is read
 *               but not used yet
 *  @param out   the model, immutable; free with dm_model_free. NULL on failure
 *  @return DM_OK; DM_IO, DM_SYNTAX, DM_SCHEMA, DM_REFERENCE, DM_RANGE,
 *          DM_GEOMETRY, DM_INCONSISTENT, DM_UNSUPPORTED, DM_NOMEM: the first
 *          fault's status */
dm_status dm_model_read(const char *path, dm_diag *diag, dm_model **out);
/** Reads and validates a catalogue by itself, to check it.
 *  @param path, diag  as for dm_model_read
 *  @param out   a model that holds the catalogue's types and nothing else (no
 *               tendon); free with dm_model_free. NULL on failure
 *  @return as dm_model_read */
dm_status dm_catalogue_read(const char *path, dm_diag *diag, dm_model **out);
/** Frees a model; accepts NULL. Whatever points into it is then dead: surveys,
 *  stations, indications, taps and scenes made with it go first. */
void dm_model_free(dm_model *model);

/** Index of a tendon by id (case counts); DM_NONE: absent.
 *  @param id  not NULL */
size_t dm_model_find_tendon(const dm_model *model, const char *id);
/** Index of a face by id (case counts); DM_NONE: absent. Faces of different
 *  tendons may have the same id.
 *  @param id  not NULL */
size_t dm_tendon_find_face(const dm_tendon *tendon, const char *id);
/** "collar", "low clearance" ... @return static text, never NULL */
const char *dm_fixture_text(dm_fixture_kind kind);
/** "trumpet", "boot", "pipe", "sleeve"; "hidden" where it is not stated.
 *  @return static text, never NULL */
const char *dm_hidden_text(dm_hidden hidden);
/** Duct type at station t (clamped to the tendon); a joint belongs to the
 *  later one. @param t m, any @return never NULL */
const dm_duct_type *dm_tendon_duct(const dm_model *model,
                                   const dm_tendon *tendon, double t);
/** Outside radius of the duct where a face crosses it, m. */
double dm_face_radius(const dm_model *model, const dm_tendon *tendon,
                      const dm_face *face);
/** Station where a face's plane crosses a clock line, as drawn.
 *  @param face  of that tendon
 *  @param r     radius of the line, m, >= 0; 0 gives face->t
 *  @param phi   clock angle, rad, any
 *  @return m; face->t where the line does not cross within 2 m of it */
double dm_face_station(const dm_tendon *tendon, const dm_face *face, double r,
                       double phi);
/** Bridge station and offset of a point.
 *  @param p  world, m
 *  @return false: the model has no alignment, *out is not touched */
bool dm_model_station(const dm_model *model, dm_vec3 p, dm_alignment_foot *out);
/** Where a point stands along the bridge, ready to be shown. */
typedef struct {
    /** False: the model has no alignment, the rest means nothing. */
    bool known;
    /** Bridge station and offset, m. */
    double station, offset;
    /** The station as displayed, with the station equations, m. */
    double shown;
    /** Number of equations passed. */
    size_t zone;
} dm_bridge_place;
/** @param p world, m */
dm_bridge_place dm_model_bridge_place(const dm_model *model, dm_vec3 p);
/** Horizontal unit vector of increasing bridge station at a point: along the
 *  alignment at its foot, or model->direction. "Square to the bridge" is square
 *  to this. @param p world, m */
dm_vec3 dm_model_direction(const dm_model *model, dm_vec3 p);
/** How the tendon is reached at station t (clamped). @param t m */
dm_access dm_tendon_access(const dm_model *model, const dm_tendon *tendon,
                           double t);
/** Clock angle, at the middle of a deviator's arc, towards the centre of its
 *  bend: the plane that the tendon turns in. 0 in a plumb sag, pi over a plumb
 *  crest, pi/2 in a level bend to the right.
 *  @param support  index
 *  @return rad, 0 to 2 pi; NAN: no arc there, or no crown */
double dm_tendon_bend_plane(const dm_tendon *tendon, size_t support);
/** Model to map coordinates and back: E = eastings + k (x a - y o), N =
 *  northings + k (x o + y a), H = height + scale z, with a, o the direction of
 *  X and k = scale times grid factor (IfcMapConversionScaled, ISO 16739-1).
 *  Without a conversion: no change. @param p m */
dm_vec3 dm_map_point(const dm_map_conversion *map, dm_vec3 p);
dm_vec3 dm_map_inverse(const dm_map_conversion *map, dm_vec3 p);
/** The grid factor; 1 where none is stated. */
double dm_map_grid_factor(const dm_map_conversion *map);
/** k above: map length over model length in plan; 1 without a conversion. */
double dm_map_plan_scale(const dm_map_conversion *map);

/** The value of the first external id of that scheme, or NULL.
 *  @param ids     of any thing of the model
 *  @param scheme  "ifc-guid", "owner", "drawing", "field-tag"
 *  @return belongs to the model */
const char *dm_external_find(const dm_external_ids *ids, const char *scheme);

DM_END_C

#endif
