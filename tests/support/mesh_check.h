/* SPDX-License-Identifier: MIT
 * Numerical checks of a triangle mesh, independent of how it was made. */
#ifndef MESH_CHECK_H
#define MESH_CHECK_H

#include "ductmark/scene.h"

typedef struct {
    size_t open_edges; /* not used exactly once each way after welding
                          bitwise equal positions */
    size_t degenerate; /* triangles with two equal corners or no area */
    size_t inward;     /* triangles whose winding contradicts a normal */
    size_t outside;    /* indices out of range */
    size_t bad;        /* positions not finite, normals not unit */
    double area;       /* m^2 */
    double volume;     /* m^3, signed: positive if faces point outwards */
} mesh_report;

/* Fails the test when memory runs out. */
mesh_report mesh_check(const dm_mesh *mesh);

#endif
