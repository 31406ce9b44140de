/* SPDX-License-Identifier: MIT
 * What the files of this folder share. */
#ifndef DM_PLAN_WORK_H
#define DM_PLAN_WORK_H

#include "base/arena.h"
#include "ductmark/plan.h"

#define PLAN_MOST_CLOCKS 24

/* A length of a tendon reached in one way; together they are the tendon. */
typedef struct {
    double from, to;
    dm_access access;
} access_piece;

/* One tendon being planned. */
typedef struct {
    const dm_model *model;
    const dm_tendon *tendon;
    size_t index;
    const dm_plan_room *room; /* NULL: room is not asked for */
    access_piece *access;     /* heap */
    size_t access_count;
} tendon_work;

/* Pieces by access into w->access; DM_NOMEM. */
dm_status work_access(tendon_work *w);
/* Bays of the tendon into bays[0..*count); room for work_bays_most. */
void work_bays(const tendon_work *w, double slope, dm_bay *bays, size_t *count);
size_t work_bays_most(const dm_tendon *tendon);
/* Length between the faces of its free lengths, m. */
double work_free_length(const dm_tendon *tendon);

/* Fills a run of that bay but for its time; `line`: its clock line. Arrays in
 * `arena`; DM_NOMEM. */
dm_status work_run(const tendon_work *w, const dm_factors *factors,
                   const dm_bay *bay, size_t bay_index, const dm_outside *line,
                   dm_arena *arena, dm_plan_run *run);

/* Low clearance of a run whose direction is known, between two stations, into
 * the run; DM_NOMEM. */
dm_status work_low(const tendon_work *w, double from, double to,
                   dm_arena *arena, dm_plan_run *run);
/* Where else each low clearance of the runs of a bay, one a clock line, can be
 * read. */
void work_other_lines(dm_plan_run *runs, size_t count);

/* The run's time; `moved`: the bay is new. Zero for a run not made. */
void work_time(const dm_factors *factors, bool moved, dm_plan_run *run);

/* Adds one bay to the tendon's sums: runs[0..count), one a clock line. */
void work_sum_bay(const dm_plan_run *runs, size_t count, dm_plan_sum *sum);
/* Adds a tendon to the total. */
void work_sum_tendon(const dm_plan_sum *tendon, dm_plan_sum *total);
void work_time_add(const dm_plan_time *time, dm_plan_time *sum);

#endif
