/* SPDX-License-Identifier: MIT
 * The glTF writer (both files: by grade and heat map) against fwrite of as
 * many bytes from one array, into TMPDIR, without fsync in either. 100 meshes
 * of 50 000 triangles, and 4000 of 1250. Prints the growth of the peak memory
 * as a part of the scene too. */
#define _POSIX_C_SOURCE 200809L
#include "bench_write.h"

#include <string.h>

#include "base/file.h"
#include "ductmark/ductmark.h"
#include "scene/tube.h"

typedef struct {
    same_bytes same;
    dm_delivery delivery;
    dm_scene scene;
    const char *folder;
} job;

static double write_glb(void *user)
{
    job *j = user;
    double start = bench_now();
    dm_outset *set;
    size_t i;

    if (dm_outset_new(j->folder, NULL, &set) != DM_OK ||
        dm_writer_find("glb")->write(&j->delivery, set, NULL) != DM_OK)
        exit(2);
    start = bench_now() - start;
    j->same.size = 0;
    for (i = 0; i < dm_outset_count(set); i++)
        j->same.size += (size_t)dm_outset_size(set, i);
    dm_outset_free(set);
    return start;
}

static void run(const char *name, size_t meshes, size_t sections,
                const char *folder)
{
    dm_segment segment = {0.0, (double)sections, {0, 0, 0}, {1, 0, 0},
                          0.0, {0, 0, 0}};
    dm_arena *arena = dm_arena_new();
    dm_centreline line = {0};
    dm_sweep s = {0};
    job j = {0};
    size_t i, bytes = 0;
    long before;

    line.segments = &segment;
    line.count = 1;
    line.length = segment.length;
    s.line = &line;
    s.sagitta = 1e-4;
    s.sides = 24;
    for (i = 0; i < sections; i++)
        dm_sweep_band(&s, (double)i, 0.05, (double)i + 1.0, 0.05);
    j.scene.objects = DM_NEW_ARRAY(arena, dm_object, meshes + 1);
    j.scene.meshes = DM_NEW_ARRAY(arena, dm_mesh, meshes);
    for (i = 0; i <= meshes; i++) {
        dm_object *o = &j.scene.objects[i];

        o->name = dm_arena_printf(arena, "object %zu", i);
        o->set = o->colour_name = "bench";
        o->parent = i == 0 ? DM_NONE : 0;
        o->mesh = i == 0 ? DM_NONE : i - 1;
        o->heat = o->curve = DM_NONE;
        if (i > 0) {
            dm_mesh *m = &j.scene.meshes[i - 1];

            if (dm_sweep_mesh(&s, arena, m) != DM_OK)
                exit(2);
            bytes += 24 * m->vertex_count + 4 * m->index_count;
        }
    }
    dm_sweep_free(&s);
    j.scene.object_count = meshes + 1;
    j.scene.mesh_count = meshes;
    j.delivery.scene = &j.scene;
    j.folder = folder;
    snprintf(j.same.path, sizeof j.same.path, "%s/bench_glb.bin", folder);
    before = peak_kib();
    write_glb(&j);
    printf("%s_memory\t%.0f\t\tscene's bytes\t%.3f\n", name, (double)bytes,
           1.0 + 1024.0 * (double)(peak_kib() - before) / (double)bytes);
    bench_pair(name, (double)j.same.size, write_glb, "fwrite of the same bytes",
               write_same, &j);
    free(j.same.bytes);
    dm_arena_free(arena);
}

int main(void)
{
    const char *folder = getenv("TMPDIR");

    if (folder == NULL)
        folder = "/tmp";
    run("glb_bytes_100_meshes", 100, 1042, folder);
    run("glb_bytes_4000_meshes", 4000, 26, folder);
    return 0;
}
