/* SPDX-License-Identifier: MIT
 * A small bridge with results, built in memory: two tendons of three legs, an
 * indication, a tap, every state of coverage. Invented. */
#ifndef SCENE_FIXTURE_H
#define SCENE_FIXTURE_H

#include "base/arena.h"
#include "ductmark/ductmark.h"

#define FIXTURE_TENDONS 2

typedef struct {
    dm_arena *arena;
    dm_model model;
    dm_survey survey;
    dm_criteria criteria;
    dm_job job;
    dm_result results[FIXTURE_TENDONS];
    dm_delivery delivery; /* scene is left NULL */
} scene_fixture;

/* NULL: no memory. */
scene_fixture *scene_fixture_new(void);
void scene_fixture_free(scene_fixture *fixture);

#endif
