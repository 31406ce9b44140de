/* SPDX-License-Identifier: MIT
 *
 * What stands round the tendons: meshes of girder, brackets, pipes, and how far
 * from a point or along a line they are. After: model. Before: survey.
 *
 * A mesh file comes from somebody else: it is read in a process of its own
 * with limits, and what that sends back is checked. A file that crashes or
 * stops the reader is an error that names it, never the end of this program.
 *
 * Metres, world axes. A mesh holds surfaces only: what is inside or outside is
 * not asked. Read once, then constant: any number of threads may ask.
 */
#ifndef DUCTMARK_CONTEXT_H
#define DUCTMARK_CONTEXT_H

#include "ductmark/model.h"

DM_BEGIN_C

/** Which axis of a mesh file points up. */
typedef enum {
    /** As its format has it: Y in glTF and COLLADA, else Z. */
    DM_UP_OF_FORMAT,
    /** X east, Y up, -Z north. */
    DM_UP_Y,
    /** X east, Y north, Z up. */
    DM_UP_Z
} dm_up;

/** A mesh file and how it stands in the world.
 *  XML: `context`. */
typedef struct {
    /** As opened. The name's ending tells the format: obj, ply, stl, gltf,
     *  glb, dae. */
    const char *path;
    /** Metres per unit of the file, > 0; 0: as its format has it, metres. */
    double unit;
    /** Its upward axis. */
    dm_up up;
    /** Where the file's origin is, world, m. A mesh is single precision:
     *  coordinates beyond 8 km from that origin are refused. */
    dm_vec3 at;
    /** For messages. */
    dm_place place;
} dm_context_source;

/** What the process that reads a mesh may use up. */
typedef struct {
    /** Time on the wall and time of the processor, s, each. */
    double seconds;
    /** Memory beyond what this process has, bytes. Not held to in builds with
     *  the address sanitizer. */
    size_t memory;
    /** Size of the file, bytes. */
    size_t file;
    /** Triangles of one file; three times as many points. */
    size_t triangles;
} dm_context_limits;

/** 60 s, 4 GiB, 1 GiB, 10 million.
 *  @return the limits that are used where none are given */
dm_context_limits dm_context_limits_default(void);

/** Meshes as read. */
typedef struct dm_context dm_context;

/** Reads mesh files. The process forks for each of them: best called before
 *  other threads are started.
 *  @param sources  [count]; the strings are copied
 *  @param count    0 to 1000
 *  @param limits   NULL: dm_context_limits_default
 *  @param diag     gets an error for each file that cannot be read, with the
 *                  place that named it; may be NULL
 *  @param out      free with dm_context_free; NULL on failure and where count
 *                  is 0
 *  @return DM_OK; DM_IO; DM_UNSUPPORTED: a format that is not read soundly;
 *          DM_RANGE: too large, too far from its origin, not finite; DM_SYNTAX:
 *          no mesh, or the reader crashed or was stopped; DM_NOMEM */
dm_status dm_context_read(const dm_context_source *sources, size_t count,
                          const dm_context_limits *limits, dm_diag *diag,
                          dm_context **out);
/** Frees meshes; accepts NULL. */
void dm_context_free(dm_context *context);

/** Count of mesh files. @return 0 for NULL */
size_t dm_context_file_count(const dm_context *context);
/** A file as opened, and the SHA-256 of its bytes (64 hex digits).
 *  @param i       < dm_context_file_count
 *  @param sha256  set; may be NULL
 *  @return        the context's */
const char *dm_context_file(const dm_context *context, size_t i,
                            const char **sha256);
/** Count of triangles of all files. @return 0 for NULL */
size_t dm_context_triangle_count(const dm_context *context);

/** Triangles that are passed over: those with all three corners within `radius`
 *  of a line. So a duct that the mesh shows is not in its own way. */
typedef struct {
    /** NULL: none are passed over. */
    const dm_centreline *line;
    /** m. */
    double radius;
} dm_context_skip;

/** What was met. */
typedef struct {
    /** m, >= 0. */
    double distance;
    /** Where on the mesh, world, m. */
    dm_vec3 point;
    /** "girder.obj: bracket 3"; the context's. */
    const char *name;
} dm_context_hit;

/** The first surface along a ray.
 *  Which triangle is hit is found in single precision, how far it is in double:
 *  for meshes within 100 m of each other the distance is good to 1e-5 m and to
 *  what the file's own single precision lost.
 *  @param from       world, m
 *  @param direction  unit vector
 *  @param reach      m, > 0
 *  @param skip       may be NULL
 *  @param hit        set where true
 *  @return false: nothing within reach, or `context` is NULL */
bool dm_context_ray(const dm_context *context, dm_vec3 from, dm_vec3 direction,
                    double reach, const dm_context_skip *skip,
                    dm_context_hit *hit);

/** The surface nearest to the straight line from a to b, in double precision
 *  (a == b: to a point).
 *  @param within  m, > 0: farther ones do not count
 *  @param skip    may be NULL
 *  @param hit     set where true; of equal distances the first triangle in the
 *                 order of the files
 *  @return false: nothing within, or `context` is NULL */
bool dm_context_near(const dm_context *context, dm_vec3 a, dm_vec3 b,
                     double within, const dm_context_skip *skip,
                     dm_context_hit *hit);

/** A length of a tendon whose duct, as drawn, cuts a surface of a mesh. */
typedef struct {
    /** Stations on the centreline, m. Ends are good to 5 mm; a cut of less than
     *  2.5 mm depth that is shorter than that may be missed. */
    double from, to;
    /** Least distance of a surface from the centreline, m: less than half the
     *  duct's diameter. */
    double least;
    /** What is cut there; the context's. */
    const char *name;
} dm_cut;

/** Finds where a tendon's duct runs through a surface of a mesh, outside of its
 *  supports (from where the sensor can read to where it can) and its fixtures.
 *  A mesh that ends where concrete begins again is not known to be solid: a
 *  length that lies in concrete as a whole shows only where it enters.
 *  @param context  may be NULL: nothing is cut
 *  @param tendon   index into the model's tendons
 *  @param items    [*count], by station; free()
 *  @param count    set
 *  @return DM_OK; DM_NOMEM */
dm_status dm_context_cuts(const dm_context *context, const dm_model *model,
                          size_t tendon, dm_cut **items, size_t *count);

/** A sensor's body on the outside of a duct: in each section square to the
 *  duct a rectangle from the outside outwards over each of its clock lines. */
typedef struct {
    /** [line_count] looking ahead, rad. */
    const double *clock;
    /** [line_count] square to the clock line's direction, m, >= 0: half of it
     *  to each side. */
    const double *width;
    size_t line_count;
    /** Outward from the duct's outside, m, > 0. */
    double height;
} dm_body;

/** A length of a tendon where a body does not fit under what a mesh shows. */
typedef struct {
    /** Stations on the centreline, m, from <= to; the same where a surface
     *  stands square to the duct. */
    double from, to;
    /** Least height of a surface over the duct's outside there, m, 0 <= free <
     *  height; 0 also where a surface cuts the duct on that side. */
    double free;
    /** What comes so near; the context's. */
    const char *name;
} dm_low_clearance;

/** Finds where a body does not fit between a tendon's duct and the meshes.
 *  Triangles are cut to the body's rectangle section by section: on straight
 *  lengths that is exact, so that no surface is stepped over, however thin. On
 *  arcs the height is good to 0.02 mm, the width to what the crown turns in
 *  2.5 mrad of arc. Triangles that lie wholly within 20 mm of the duct are
 *  taken for that duct. Lengths less than 1 mm apart are one. A body that lies
 *  inside of something solid as a whole meets no surface of it.
 *  @param context  may be NULL: there is room everywhere
 *  @param tendon   index into the model's tendons
 *  @param from, to stations to look between, m
 *  @param items    [*count], by station; free()
 *  @param count    set
 *  @return DM_OK; DM_NOMEM */
dm_status dm_context_low(const dm_context *context, const dm_model *model,
                         size_t tendon, const dm_body *body, double from,
                         double to, dm_low_clearance **items, size_t *count);

DM_END_C

#endif
