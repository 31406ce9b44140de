/* SPDX-License-Identifier: MIT
 * Run quality as JSON, part of what `ductmark check --json` prints. */
#ifndef DM_WRITE_QUALITY_JSON_H
#define DM_WRITE_QUALITY_JSON_H

#include "ductmark/quality.h"
#include "write/json.h"

/* What there is of all tendons. */
typedef struct quality_report {
    const dm_model *model;
    const dm_survey *survey;
    const dm_result *results;         /* one per tendon, with stations */
    const dm_quality *const *quality; /* one per tendon; NULL: not judged */
    dm_units units;                   /* of the words */
} quality_report;

/* "runs", "agreements" and "unread" of the open object: arrays. */
void dm_quality_json(const quality_report *report, dm_json *json);

#endif
