/* SPDX-License-Identifier: MIT
 *
 * Writers: from results to files. The last stage: writers do not compute.
 */
#ifndef DUCTMARK_WRITE_H
#define DUCTMARK_WRITE_H

#include "ductmark/scene.h"

/** Everything that writers may read. */
typedef struct {
    const dm_job *job;
    const dm_model *model;
    const dm_survey *survey;
    const dm_criteria *criteria;
    const dm_register *reg;   /* the updated one, to be written */
    const dm_result *results; /* one per tendon of the model */
    const dm_scene *scene;
    const char *const *messages; /* warnings and errors of the run, each
                                    "file:line: warning: text" */
    size_t message_count;
} dm_delivery;

typedef struct dm_outset dm_outset;

/** One writer. `name` is what a job's output/@format says. */
typedef struct {
    const char *name;  /* "glb" */
    const char *files; /* "model.glb", for the help */
    const char *help;  /* one line */
    bool by_default;
    bool needs_scene;
    dm_status (*write)(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
} dm_writer;

/** All writers, in the order of the help. */
const dm_writer *dm_writers(size_t *count);
const dm_writer *dm_writer_find(const char *name);

#endif
