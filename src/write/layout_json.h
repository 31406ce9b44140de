/* SPDX-License-Identifier: MIT
 * The layout of tendons as JSON: what `ductmark check --json` prints. */
#ifndef DM_WRITE_LAYOUT_JSON_H
#define DM_WRITE_LAYOUT_JSON_H

#include "base/buf.h"
#include "ductmark/layout.h"
#include "write/quality_json.h"

/* What check has found. */
typedef struct {
    const dm_model *model;    /* NULL: there is none, or it has faults */
    const dm_layout *layouts; /* one per tendon of the model */
    const size_t *runs;       /* of each tendon; NULL without a field book */
    const char *const *messages;
    size_t message_count, errors, warnings;
    const quality_report *quality; /* NULL: no run was judged */
} layout_report;

/* One object; with the runs' quality, where there is one. */
void dm_layout_json(const layout_report *report, dm_buf *out);

#endif
