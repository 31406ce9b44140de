/* SPDX-License-Identifier: MIT
 * The IFC writer against fwrite of as many bytes from one array, into TMPDIR,
 * without fsync in either: 60 tendons of the fixture's shape. Text that comes
 * from meshes, and text of properties and relationships (tendons without
 * meshes), apart. Prints the peak memory that the writer adds, too. */
#define _POSIX_C_SOURCE 200809L
#include "bench_write.h"

#include <string.h>

#include "base/file.h"
#include "scene_fixture.h"

#define TENDONS 60

typedef struct {
    same_bytes same;
    dm_delivery delivery;
    const char *folder;
} job;

static double write_ifc(void *user)
{
    job *j = user;
    double start = bench_now();
    dm_outset *set;

    if (dm_outset_new(j->folder, NULL, &set) != DM_OK ||
        dm_writer_find("ifc")->write(&j->delivery, set, NULL) != DM_OK)
        exit(2);
    start = bench_now() - start;
    j->same.size = (size_t)dm_outset_size(set, 0);
    dm_outset_free(set);
    return start;
}

/* The fixture's tendons again and again, each with an id of its own. */
static void multiply(scene_fixture *f)
{
    dm_tendon *tendons = DM_NEW_ARRAY(f->arena, dm_tendon, TENDONS);
    dm_result *results = DM_NEW_ARRAY(f->arena, dm_result, TENDONS);
    size_t i;

    for (i = 0; tendons != NULL && results != NULL && i < TENDONS; i++) {
        tendons[i] = f->model.tendons[i % FIXTURE_TENDONS];
        tendons[i].id = dm_arena_printf(f->arena, "T%zu", i);
        results[i] = f->results[i % FIXTURE_TENDONS];
    }
    f->model.tendons = tendons;
    f->model.tendon_count = TENDONS;
    f->delivery.results = results;
}

static void run(const char *name, scene_fixture *f, bool meshes)
{
    dm_scene *scene = NULL;
    job j = {0};
    long before;
    size_t i;

    if (dm_scene_build(&f->model, &f->survey, &f->criteria, f->delivery.results,
                       &f->job, NULL, &scene) != DM_OK)
        exit(2);
    for (i = 0; !meshes && i < scene->object_count; i++)
        scene->objects[i].mesh = DM_NONE;
    j.delivery = f->delivery;
    j.delivery.scene = scene;
    j.folder = getenv("TMPDIR");
    if (j.folder == NULL)
        j.folder = "/tmp";
    snprintf(j.same.path, sizeof j.same.path, "%s/bench_ifc.bin", j.folder);
    before = peak_kib();
    write_ifc(&j);
    printf("%s_memory_kib\t%ld\n", name, peak_kib() - before);
    bench_pair(name, (double)j.same.size, write_ifc, "fwrite of the same bytes",
               write_same, &j);
    free(j.same.bytes);
    dm_scene_free(scene);
}

int main(void)
{
    scene_fixture *f = scene_fixture_new();

    if (f == NULL)
        return 2;
    multiply(f);
    run("ifc_bytes", f, true);
    run("ifc_bytes_without_meshes", f, false);
    scene_fixture_free(f);
    return 0;
}
