/* SPDX-License-Identifier: MIT
 * Whether what a job names is there; each fault is said. */
#ifndef DM_RUN_CHECK_H
#define DM_RUN_CHECK_H

#include "ductmark/run.h"

/* Formats asked for. */
dm_status dm_check_outputs(const dm_job *job, dm_diag *diag);
/* Tendons and faces of requests, runs of accepted blunders: once all is read.
 */
dm_status dm_check_requests(const dm_campaign *c, dm_diag *diag);
/* Indications that exclusions and pairs name: once the register is made. */
dm_status dm_check_named(const dm_campaign *c, dm_diag *diag);
/* Pairs without a tap: once taps are placed. */
void dm_check_pairs(const dm_campaign *c, dm_diag *diag);
/* Openings that name a tap which is neither set out nor one of an indication
 * that is known: once taps are placed. */
void dm_check_opened(const dm_campaign *c, dm_diag *diag);

#endif
