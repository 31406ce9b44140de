/* SPDX-License-Identifier: MIT
 *
 * Writers: from results to files. The last stage: writers do not compute, a
 * number that they show stands in a result. What each file holds:
 * docs/outputs.md and docs/scene.md.
 *
 * Files go to a set that appears as a whole or not at all
 * (dm_campaign_deliver makes it). The same delivery gives the same bytes: no
 * clock, no locale, no random order; the only date is the job's.
 *
 * A number that is not known (NAN, DM_NONE) is left out or empty, never 0.
 * Every U that a file shows is expanded with the job's coverage factor, which
 * stands beside it; results hold standard uncertainties.
 */
#ifndef DUCTMARK_WRITE_H
#define DUCTMARK_WRITE_H

#include "ductmark/scene.h"

DM_BEGIN_C

/** Everything that writers may read. Nothing in it is owned: all of it must
 *  outlive the writing. */
typedef struct {
    /** The date, units and coverage factor. Never NULL. */
    const dm_job *job;
    /** Never NULL. */
    const dm_model *model;
    /** NULL: no runs are named. */
    const dm_survey *survey;
    /** NULL: no grades. */
    const dm_criteria *criteria;
    /** The updated one, to be written; NULL: nothing was looked for, and no
     *  register is written. */
    const dm_register *reg;
    /** One per tendon of the model; NULL: no results, and every tendon is
     *  written as not tested. */
    const dm_result *results;
    /** NULL only for writers that do not need it. */
    const dm_scene *scene;
    /** Warnings and errors of the run, each "file:line: warning: text". */
    const char *const *messages;
    /** May be 0. */
    size_t message_count;
    /** Named among the inputs; NULL: no meshes. */
    const dm_context *context;
} dm_delivery;

/** A set of files being written; made by dm_campaign_deliver. On failure none
 *  of them stays, and what stood under their names is untouched. */
typedef struct dm_outset dm_outset;

/** One writer. */
typedef struct {
    /** What a job's output/@format and --format say: "glb". */
    const char *name;
    /** The files it makes, blanks between: "model.glb", for the help. */
    const char *files;
    /** One line. */
    const char *help;
    /** Written when nobody says which formats. */
    bool by_default;
    /** Reads dm_delivery.scene. */
    bool needs_scene;
    /** Opens its files in `out` and writes them.
     *  @param diag  may be NULL
     *  @return DM_OK; DM_NOMEM; DM_IO; DM_UNSUPPORTED: a file would be larger
     *          than its format allows */
    dm_status (*write)(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag);
} dm_writer;

/** All writers, in the order of the help.
 *  @param count  set to their number, >= 1
 *  @return static data */
const dm_writer *dm_writers(size_t *count);

/** The writer of that name (case counts), or NULL.
 *  @return static data */
const dm_writer *dm_writer_find(const char *name);

DM_END_C

#endif
