/* SPDX-License-Identifier: MIT
 * A survey plan as text: tables, JSON, and a field book to be completed on
 * site. A failed allocation is remembered in `out`. */
#ifndef DM_WRITE_PLAN_H
#define DM_WRITE_PLAN_H

#include "base/buf.h"
#include "ductmark/job.h"
#include "ductmark/plan.h"

typedef struct {
    const dm_plan *plan;
    const dm_model *model;
    const dm_survey *survey; /* NULL: none */
    size_t instrument;       /* of the survey, that was planned with */
    dm_units units;
    const dm_context *context; /* that was planned with; NULL: none */
    bool body_unknown; /* the job names meshes, but the body's height is not
                          known */
} dm_plan_output;

/* What a plan must not be read without, one sentence each; NULL at the end. */
const char *const *dm_plan_cautions(void);

/* A row a tendon, and a last one for all with an empty id. */
void dm_csv_plan(const dm_plan_output *output, dm_buf *out);
/* A row a run, in the order of the work. */
void dm_csv_plan_runs(const dm_plan_output *output, dm_buf *out);
void dm_json_plan(const dm_plan_output *output, dm_buf *out);

/* What a field book needs that a plan does not have. */
typedef struct {
    const char *uid; /* NULL: from the bridge's uid, survey and date */
    const char *survey;
    const char *date; /* YYYY-MM-DD */
} dm_plan_book;

/* A field book (geometry/fieldbook.xsd) of the runs that can be started from a
 * face, with what is expected of them. *left_out: runs that cannot. Returns how
 * many runs are in it; 0: it is no book, the schema wants one. */
size_t dm_fieldbook_plan(const dm_plan_output *output, const dm_plan_book *book,
                         size_t *left_out, dm_buf *out);
/* Id of a run of the plan, unique in it if its clock lines are a minute apart:
 * at most 63 characters, the run's number where tendon, bay and clock angle
 * make it longer. */
void dm_plan_run_id(const dm_plan_output *output, size_t run, char id[64]);

#endif
