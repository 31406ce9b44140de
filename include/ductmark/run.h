/* SPDX-License-Identifier: MIT
 *
 * The whole road for one job: read the inputs, work through the tendons (on
 * several cores; the result does not depend on how many), deliver files.
 * This is the only place that starts threads.
 */
#ifndef DUCTMARK_RUN_H
#define DUCTMARK_RUN_H

#include "ductmark/write.h"

/** How far along the road to go. */
typedef enum {
    DM_STAGE_INPUTS,      /* read and check only */
    DM_STAGE_STATIONS,    /* reconcile distances */
    DM_STAGE_INDICATIONS, /* read the readings, find indications */
    DM_STAGE_TAPS,        /* place tap points */
    DM_STAGE_SCENE        /* build the 3-D scene */
} dm_stage;

/** Called from the thread that called dm_campaign_solve. */
typedef void dm_progress(void *user, size_t done, size_t total);

/** A job with all that was read and computed for it. */
typedef struct dm_campaign {
    dm_job *job;
    dm_model *model;
    dm_survey *survey;
    dm_criteria *criteria;
    dm_register *reg_before; /* NULL: the job names none */
    dm_register *reg;        /* as it stands after this survey */
    dm_result *results;      /* one per tendon of the model */
    dm_scene *scene;
    size_t left_out; /* runs whose readings or distances had to be left out,
                        and intervals that could not be reconciled */
} dm_campaign;

/** Reads a job and every input it names. All faults of all readable files
 *  are reported. @param out NULL on failure; free with dm_campaign_free
 *  @return DM_OK, or the first fault's status */
dm_status dm_campaign_read(const char *job, dm_diag *diag, dm_campaign **out);

/** Works through the tendons up to `stage`. Messages reach `diag` in the
 *  order of the tendons, whatever the number of threads.
 *  @param progress may be NULL
 *  @return DM_OK also when runs had to be left out: see left_out */
dm_status dm_campaign_solve(dm_campaign *campaign, dm_stage stage,
                            dm_progress *progress, void *user, dm_diag *diag);

/** Called with the name and size (bytes) of each file delivered. */
typedef void dm_written(void *user, const char *name, uint64_t size);

/** Writes the formats (names of dm_writers; count 0: those of the job, or
 *  else all default ones) into `folder`, together or not at all.
 *  @param messages the run's warnings and errors, for the reports
 *  @param written  may be NULL
 *  @return DM_OK; DM_UNSUPPORTED for an unknown format; DM_IO */
dm_status dm_campaign_deliver(const dm_campaign *campaign, const char *folder,
                              const char *const *formats, size_t format_count,
                              const char *const *messages, size_t message_count,
                              dm_written *written, void *user, dm_diag *diag);

/** The delivery as the writers see it. */
dm_delivery dm_campaign_delivery(const dm_campaign *campaign,
                                 const char *const *messages,
                                 size_t message_count);

void dm_campaign_free(dm_campaign *campaign);

#endif
