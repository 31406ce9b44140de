/* SPDX-License-Identifier: MIT
 * The evidence of one indication as JSON: what `ductmark find --explain --json`
 * prints. */
#ifndef DM_WRITE_EVIDENCE_JSON_H
#define DM_WRITE_EVIDENCE_JSON_H

#include "base/buf.h"
#include "ductmark/evidence.h"

/* An indication with all that explains it. */
typedef struct {
    const dm_model *model;
    const dm_survey *survey;
    const dm_criteria *criteria; /* may be NULL */
    const dm_job *job;
    const dm_indications *found;
    size_t item;
    const dm_evidence *evidence;
} evidence_report;

/* One object; lengths in m, angles in deg looking ahead, every U expanded. */
void dm_evidence_json(const evidence_report *report, dm_buf *out);

#endif
