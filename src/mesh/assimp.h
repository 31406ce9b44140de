/* SPDX-License-Identifier: MIT
 * Meshes of other formats, in and out, behind plain arrays (Assimp, included
 * in assimp.c only). */
#ifndef DM_MESH_ASSIMP_H
#define DM_MESH_ASSIMP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/buf.h"
#include "ductmark/status.h"

/* One node of a tree of things; what it points to is not written to. */
typedef struct {
    const char *name;
    size_t parent;            /* stands before it; of the first: not asked */
    bool drawn;               /* false: what follows is not asked */
    bool lines;               /* else triangles */
    float *position, *normal; /* 3 each */
    size_t vertex_count;
    uint32_t *index; /* 2 or 3 each */
    size_t index_count;
    uint8_t colour[4];
    const char *colour_name;
} dm_mesh_node;

#define DM_MESH_FILES 4 /* the most that a format is made of */

/* Files as text, in memory. */
typedef struct {
    char *name[DM_MESH_FILES];
    dm_buf data[DM_MESH_FILES];
    size_t count;
} dm_mesh_files;

/* Writes a tree (count >= 1) as format `id` of Assimp into memory; `name` is
 * the main file's. `turn`: the root is turned to Y-up. Scratch in the arena.
 * dm_mesh_files_free(files) in any case. DM_NOMEM; DM_UNSUPPORTED: the library
 * could not. */
dm_status dm_mesh_export(const dm_mesh_node *nodes, size_t count, bool turn,
                         const char *id, const char *name, dm_arena *arena,
                         dm_mesh_files *files);
void dm_mesh_files_free(dm_mesh_files *files);

/* Takes one part: `count` points of three coordinates as the file has them, and
 * triangles with indices that nobody has checked. False: stop. */
typedef bool dm_mesh_sink(void *user, const char *name, const double *points,
                          size_t count, const uint32_t *index,
                          size_t triangles);

/* Reads a mesh file and hands its parts over. A bad file may crash or hang it:
 * call it only in a process that may die. Opens no file but those of the same
 * folder. False: why, as one line of at most `size` - 1 bytes. */
bool dm_mesh_import(const char *path, dm_mesh_sink *sink, void *user,
                    char *fault, size_t size);

#endif
