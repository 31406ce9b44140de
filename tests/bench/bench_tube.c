/* SPDX-License-Identifier: MIT
 * Tube meshing (sections and arrays of a long tendon with many bends) against
 * writing the same bytes to a file in TMPDIR. */
#define _POSIX_C_SOURCE 200809L
#include "bench.h"

#include <math.h>
#include <unistd.h>

#include "scene/tube.h"

#define CORNERS 3001

typedef struct {
    dm_centreline line;
    float *position, *normal;
    uint32_t *index;
    size_t vertices, indices;
    char path[256];
} job;

static void describe(const job *j, dm_sweep *s)
{
    s->line = &j->line;
    s->sagitta = 1e-4;
    s->sides = 24;
    dm_sweep_solid(s, 0.0, j->line.length, 0.05715);
}

static double mesh(void *user)
{
    job *j = user;
    double start = bench_now();
    dm_sweep s = {0};

    describe(j, &s);
    dm_sweep_fill(&s, j->position, j->normal, j->index, 0);
    dm_sweep_free(&s);
    return bench_now() - start;
}

static double write_same(void *user)
{
    job *j = user;
    double start = bench_now();
    FILE *file = fopen(j->path, "wb");

    if (file == NULL)
        exit(2);
    fwrite(j->position, 12, j->vertices, file);
    fwrite(j->normal, 12, j->vertices, file);
    fwrite(j->index, 4, j->indices, file);
    if (fclose(file) != 0)
        exit(2);
    start = bench_now() - start;
    unlink(j->path);
    return start;
}

int main(void)
{
    const char *folder = getenv("TMPDIR");
    dm_vec3 *point = calloc(CORNERS, sizeof *point);
    double *radius = calloc(CORNERS, sizeof *radius);
    size_t *arc = calloc(CORNERS, sizeof *arc);
    size_t i, where;
    dm_sweep s = {0};
    job j = {0};

    j.line.segments =
        calloc(dm_centreline_capacity(CORNERS), sizeof *j.line.segments);
    if (point == NULL || radius == NULL || arc == NULL ||
        j.line.segments == NULL)
        return 2;
    for (i = 0; i < CORNERS; i++) {
        point[i] = (dm_vec3){10.0 * (double)i, 0.0, i % 2 == 0 ? 0.0 : 1.0};
        radius[i] = 3.0;
    }
    if (dm_centreline_build(point, radius, CORNERS, j.line.segments, arc,
                            &j.line, &where) != DM_POLYGON_OK)
        return 2;
    describe(&j, &s);
    j.vertices = dm_sweep_vertices(&s);
    j.indices = dm_sweep_indices(&s);
    dm_sweep_free(&s);
    j.position = calloc(j.vertices, 12);
    j.normal = calloc(j.vertices, 12);
    j.index = calloc(j.indices, 4);
    if (j.position == NULL || j.normal == NULL || j.index == NULL)
        return 2;
    snprintf(j.path, sizeof j.path, "%s/bench_tube.bin",
             folder == NULL ? "/tmp" : folder);
    bench_pair("tube_mesh_triangles", (double)j.indices / 3.0, mesh,
               "fwrite of the same bytes", write_same, &j);
    free(j.position);
    free(j.normal);
    free(j.index);
    free(j.line.segments);
    free(point);
    free(radius);
    free(arc);
    return 0;
}
