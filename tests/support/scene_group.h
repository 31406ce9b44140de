/* SPDX-License-Identifier: MIT
 * The group fixture of the tests that write the fixture's scene: included once
 * by each test program, after cmocka. */
#ifndef DM_TEST_SCENE_GROUP_H
#define DM_TEST_SCENE_GROUP_H

#include "allocfail.h"
#include "scene_fixture.h"
#include "written.h"

static scene_fixture *fixture;
static dm_scene *scene;

static int set_up(void **state)
{
    (void)state;
    fixture = scene_fixture_new();
    if (fixture == NULL ||
        dm_scene_build(&fixture->model, &fixture->survey, &fixture->criteria,
                       fixture->results, &fixture->job, NULL, &scene) != DM_OK)
        return 1;
    fixture->delivery.scene = scene;
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    dm_scene_free(scene);
    scene_fixture_free(fixture);
    return 0;
}

/* Writes the format that `user` names; for allocfail_each. */
static dm_status write_and_free(void *user)
{
    written w;
    dm_status status = written_new(&fixture->delivery, user, &w);

    if (status == DM_OK)
        written_free(&w);
    return status;
}

#endif
