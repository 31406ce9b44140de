/* SPDX-License-Identifier: MIT
 *
 * The whole road for one job: read the inputs, work through the tendons (on
 * several cores; the result does not depend on how many), deliver files.
 * This is the only place that starts threads.
 *
 *     dm_campaign *c = NULL;
 *     if (dm_campaign_read("job.xml", &diag, &c) == DM_OK &&
 *         dm_campaign_solve(c, DM_STAGE_SCENE, NULL, NULL, &diag) == DM_OK)
 *         dm_campaign_deliver(c, "out", NULL, 0, NULL, 0, NULL, NULL, &diag);
 *     dm_campaign_free(c);
 */
#ifndef DUCTMARK_RUN_H
#define DUCTMARK_RUN_H

#include "ductmark/quality.h"
#include "ductmark/write.h"

DM_BEGIN_C

/** How far along the road to go; each stage needs those before it. */
typedef enum {
    /** Read and check only. */
    DM_STAGE_INPUTS,
    /** Reconcile distances; no readings file is opened. */
    DM_STAGE_STATIONS,
    /** Read the readings, find indications; update the register. */
    DM_STAGE_INDICATIONS,
    /** Read the meshes of the surroundings; place tap points. */
    DM_STAGE_TAPS,
    /** Build the 3-D scene. */
    DM_STAGE_SCENE
} dm_stage;

/** Called from the thread that called dm_campaign_solve.
 *  @param user         as handed in
 *  @param done, total  tendons finished, 0 < done <= total */
typedef void dm_progress(void *user, size_t done, size_t total);

/** A job with all that was read and computed for it. Owned as a whole: free
 *  nothing in it. What a stage has not made yet is NULL. */
typedef struct dm_campaign {
    /** The inputs, each as its reader gave it. */
    dm_job *job;
    dm_model *model;
    dm_survey *survey;
    dm_criteria *criteria;
    /** Meshes that the job names; NULL: none, or before DM_STAGE_TAPS. */
    dm_context *context;
    /** NULL: the job names none. */
    dm_register *reg_before;
    /** As it stands after this survey; NULL before DM_STAGE_INDICATIONS. */
    dm_register *reg;
    /** One per tendon of the model, with NULLs for stages not reached. */
    dm_result *results;
    /** One per tendon of the model; NULL before dm_campaign_judge. */
    dm_quality **quality;
    /** NULL before DM_STAGE_SCENE. */
    dm_scene *scene;
    /** Runs whose readings or distances had to be left out, and intervals
     *  that could not be reconciled; each was said to `diag`. */
    size_t left_out;
} dm_campaign;

/** Reads a job and every input it names; readings files are not opened. All
 *  faults of all readable files are reported.
 *  @param job   path of the job's XML file
 *  @param diag  may be NULL
 *  @param out   NULL on failure; free with dm_campaign_free
 *  @return DM_OK, or the first fault's status (see the readers) */
dm_status dm_campaign_read(const char *job, dm_diag *diag, dm_campaign **out);

/** Opens a campaign without a job: a bridge and its field books, default
 *  settings, no criteria. It can be solved to DM_STAGE_STATIONS and judged;
 *  there is nothing to deliver.
 *  @param books  [count] paths, count >= 1
 *  @return as dm_campaign_read */
dm_status dm_campaign_open(const char *bridge, const char *const *books,
                           size_t count, dm_diag *diag, dm_campaign **out);

/** Works through the tendons up to `stage`. Messages reach `diag` in the
 *  order of the tendons, whatever the number of threads (settings.threads).
 *  @param campaign  as read; solve it once
 *  @param progress  may be NULL
 *  @param user      for progress
 *  @param diag      used from the calling thread only; may be NULL
 *  @return DM_OK also when runs had to be left out: see left_out; DM_NOMEM;
 *          what dm_context_read and dm_scene_build return */
dm_status dm_campaign_solve(dm_campaign *campaign, dm_stage stage,
                            dm_progress *progress, void *user, dm_diag *diag);

/** Reads the meshes of the surroundings, if they are not yet, and warns of each
 *  length of a tendon whose duct runs through one; see dm_context_cuts.
 *  @param campaign  as read
 *  @param diag      may be NULL
 *  @return DM_OK, also with warnings; what dm_context_read returns */
dm_status dm_campaign_surroundings(dm_campaign *campaign, dm_diag *diag);

/** Judges the runs of every tendon; see quality.h. Their readings are read for
 *  it. Messages as with dm_campaign_solve.
 *  @param campaign  solved to DM_STAGE_STATIONS, no further; judge it once
 *  @return DM_OK also when runs had to be left out: they are added to left_out;
 *          DM_NOMEM */
dm_status dm_campaign_judge(dm_campaign *campaign, dm_progress *progress,
                            void *user, dm_diag *diag);

/** Called once each file is in place.
 *  @param user  as handed in
 *  @param name  of the file, without the folder
 *  @param size  bytes */
typedef void dm_written(void *user, const char *name, uint64_t size);

/** Writes the formats (names of dm_writers; count 0: those of the job, or
 *  else all default ones) into `folder`, together or not at all: to temporary
 *  files beside their targets, flushed, renamed at the end. An input of the job
 *  is never written over.
 *  @param campaign  solved as far as the formats need: DM_STAGE_SCENE for a
 *                   writer with needs_scene, DM_STAGE_TAPS for the others
 *  @param folder    made if it is not there
 *  @param messages  the run's warnings and errors, for the reports
 *  @param written   may be NULL
 *  @param user      for written
 *  @return DM_OK; DM_UNSUPPORTED for an unknown format; DM_IO; DM_NOMEM; on
 *          failure `folder` holds what it held before */
dm_status dm_campaign_deliver(const dm_campaign *campaign, const char *folder,
                              const char *const *formats, size_t format_count,
                              const char *const *messages, size_t message_count,
                              dm_written *written, void *user, dm_diag *diag);

/** The delivery as the writers see it: pointers into the campaign and to the
 *  messages, which must outlive it. Nothing to free. */
dm_delivery dm_campaign_delivery(const dm_campaign *campaign,
                                 const char *const *messages,
                                 size_t message_count);

/** Frees a campaign with all that it holds; accepts NULL. */
void dm_campaign_free(dm_campaign *campaign);

DM_END_C

#endif
