/* SPDX-License-Identifier: MIT
 * usage: write_fixture FOLDER [WRITER...]
 * Writes the fixture's scene for outside validators. */
#include <stdio.h>

#include "base/file.h"
#include "scene_fixture.h"

static void emit(void *user, const dm_message *m)
{
    (void)user;
    fprintf(stderr, "%s: %s\n", m->place.file == NULL ? "-" : m->place.file,
            m->text);
}

int main(int argc, char **argv)
{
    scene_fixture *f = scene_fixture_new();
    dm_diag diag = {emit, NULL, 0, 0};
    dm_outset *set = NULL;
    dm_scene *scene = NULL;
    const dm_writer *w;
    dm_status status;
    int i;

    if (f == NULL || argc < 3)
        return 2;
    status = dm_scene_build(&f->model, &f->survey, &f->criteria, f->results,
                            &f->job, &diag, &scene);
    f->delivery.scene = scene;
    if (status == DM_OK)
        status = dm_outset_new(argv[1], &diag, &set);
    for (i = 2; i < argc && status == DM_OK; i++) {
        w = dm_writer_find(argv[i]);
        status = w == NULL ? DM_REFERENCE : w->write(&f->delivery, set, &diag);
    }
    if (status == DM_OK)
        status = dm_outset_commit(set);
    dm_outset_free(set);
    dm_scene_free(scene);
    scene_fixture_free(f);
    return status == DM_OK ? 0 : 1;
}
