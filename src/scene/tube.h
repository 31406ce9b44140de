/* SPDX-License-Identifier: MIT
 * Solids of revolution about a centreline: tubes, sleeves, rings, cones. A
 * sweep is a list of circular sections with a radius and a normal each; two
 * joined sections span a band, a cap section closes an end. Solids on one
 * line may follow each other. */
#ifndef DM_SCENE_TUBE_H
#define DM_SCENE_TUBE_H

#include "base/arena.h"
#include "ductmark/scene.h"

/* Shorter lengths are not meshed: single precision could make their
 * triangles degenerate. */
#define DM_SHORTEST 0.001

typedef enum {
    DM_SECTION_BEGIN,     /* a strip begins here */
    DM_SECTION_JOIN,      /* a band to the section before */
    DM_SECTION_CAP_BACK,  /* a disc that faces back */
    DM_SECTION_CAP_AHEAD, /* a disc that faces ahead */
} dm_sweep_kind;

typedef struct {
    double t;      /* station, m; beyond the ends the line is prolonged */
    double radius; /* m, > 0 */
    float axial;   /* of the normal, along the tangent */
    float radial;  /* of the normal, outwards */
    dm_sweep_kind kind;
} dm_sweep_section;

typedef struct {
    const dm_centreline *line;
    dm_vec3 origin;          /* subtracted from the positions */
    double sagitta;          /* greatest chord error along an arc, m, > 0 */
    int sides;               /* >= 3 */
    dm_sweep_section *items; /* heap */
    size_t count, capacity;
    bool failed; /* out of memory: found out by dm_sweep_mesh */
} dm_sweep;

void dm_sweep_free(dm_sweep *sweep);
void dm_sweep_clear(dm_sweep *sweep); /* keeps the memory and the line */
void dm_sweep_cap(dm_sweep *sweep, double t, double radius, dm_side side);
/* From (t0, r0) to (t1, r1), t0 <= t1: a cylinder with sections on its arcs,
 * a cone, or (t0 = t1) a ring-shaped step. */
void dm_sweep_band(dm_sweep *sweep, double t0, double r0, double t1, double r1);
/* A closed cylinder: cap, band, cap. */
void dm_sweep_solid(dm_sweep *sweep, double t0, double t1, double radius);

/* Chords on a whole arc so that a fibre at `radius` from the axis has an
 * error of at most `sagitta`: step 2 acos(1 - sagitta/(R + radius)) (FM 5-233
 * chapter 3, middle ordinate M = R(1 - cos(D/2))); at most 4096. */
size_t dm_arc_chords(const dm_segment *segment, double radius, double sagitta);
/* Stations strictly between t0 and t1 where a tube needs a section: the ends
 * of segments and the chords of arcs. NULL: the count only. */
size_t dm_tube_stations(const dm_centreline *line, double t0, double t1,
                        double radius, double sagitta, double *out,
                        size_t capacity);

/* Vertices: sections * sides. Indices: 6 * sides a band, 3 (sides - 2) a
 * cap. */
size_t dm_sweep_vertices(const dm_sweep *sweep);
size_t dm_sweep_indices(const dm_sweep *sweep);
/* Fills caller arrays of those sizes (x y z each); indices count from
 * `first`. */
void dm_sweep_fill(const dm_sweep *sweep, float *position, float *normal,
                   uint32_t *index, uint32_t first);
/* The sweep as a closed mesh in the arena. */
dm_status dm_sweep_mesh(const dm_sweep *sweep, dm_arena *arena, dm_mesh *out);

#endif
