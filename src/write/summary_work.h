/* SPDX-License-Identifier: MIT
 * What the files share that make summary.json. */
#ifndef DM_WRITE_SUMMARY_WORK_H
#define DM_WRITE_SUMMARY_WORK_H

#include "base/file.h"
#include "ductmark/total.h"
#include "ductmark/write.h"
#include "write/json.h"

typedef struct {
    const dm_delivery *delivery;
    dm_out *out; /* NULL: the text stays in json.buf */
    dm_json json;
    dm_totals *totals;
    double k;
} dm_summary_work;

/* summary_values.c. In metres, to 10 um; of the ledger to 1 um, as its bounds
 * are. */
void dm_summary_length(dm_summary_work *w, const char *key, double metres);
void dm_summary_micro(dm_summary_work *w, const char *key, double metres);
/* The face's id, or null. */
void dm_summary_face(dm_summary_work *w, const char *key, const dm_tendon *t,
                     size_t face);
/* Along the alignment, if there is one. */
void dm_summary_place(dm_summary_work *w, const dm_bridge_place *place);
/* NULL: no results. */
const dm_indications *dm_summary_found(const dm_summary_work *w, size_t tendon);
const dm_taps *dm_summary_taps(const dm_summary_work *w, size_t tendon);

void dm_summary_indication(dm_summary_work *w, size_t tendon, size_t index);
void dm_summary_tap(dm_summary_work *w, size_t tendon, const dm_tap *tap);
/* summary_distances.c. What each tie says: where all closes, too, as the
 * smallest blunder that it would show is what "closes" means. */
void dm_summary_intervals(dm_summary_work *w, size_t tendon);
/* What did not close, and what the job says of it. */
void dm_summary_hypotheses(dm_summary_work *w, size_t tendon);
/* null: no reading whose distances close. */
void dm_summary_greatest(dm_summary_work *w, const char *key,
                         const dm_tendon *t, const dm_greatest *g,
                         bool against_face);

#endif
