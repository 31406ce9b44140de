/* SPDX-License-Identifier: MIT
 * Error budgets of places as JSON: what `ductmark budget --json` prints. */
#ifndef DM_WRITE_BUDGET_JSON_H
#define DM_WRITE_BUDGET_JSON_H

#include "base/buf.h"
#include "ductmark/budget.h"

/* Why a place is told of. */
typedef enum {
    BUDGET_ASKED_FOR,
    BUDGET_WORLD, /* the tendon's greatest bound against the world */
    BUDGET_FACE,  /* against a face, of the two beside it the better one */
    BUDGET_REASONS
} budget_reason;
/* "asked for", "greatest against the world", "greatest against a face". */
const char *dm_budget_reason_text(budget_reason reason);

/* A place on a run. */
typedef struct {
    const dm_tendon *tendon;
    const dm_run *run;
    const dm_event *event; /* its readings */
    budget_reason why;
    double x;                     /* run distance, m */
    dm_station_point at;          /* with the bounds */
    dm_budget world, back, ahead; /* of each of them */
} budget_place;

typedef struct {
    const dm_job *job;
    const budget_place *places;
    size_t count;
} budget_report;

/* One object; metres, everything expanded. */
void dm_budget_json(const budget_report *report, dm_buf *out);

#endif
