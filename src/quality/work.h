/* SPDX-License-Identifier: MIT
 * What the parts of the quality stage share for one tendon. */
#ifndef DM_QUALITY_WORK_H
#define DM_QUALITY_WORK_H

#include "base/arena.h"
#include "indication/line.h"
#include "quality/pace.h"

/* Cells that two runs are held against each other in, m. */
#define QUALITY_PITCH DM_PROFILE_PITCH

/* The index of one channel of a run in cells of the tendon, from 0. */
typedef struct {
    size_t run, channel; /* indices into dm_quality.runs, and of the channel */
    double clock, footprint, band;
    float *index; /* [cells]; NAN: nothing good was read there */
    float *var;   /* [cells] of its noise */
    float *place; /* [cells] variance of the station to the faces, m^2 */
} quality_line;

/* What the judge needs of a run beside what is printed. */
typedef struct {
    pace_spot sparse, gap, roll_back, fast, clock;
    bool falling;
    bool read; /* its channels were searched */
    bool part; /* not all of it: steel, or no calibration */
} quality_facts;

typedef struct {
    const dm_model *model;
    const dm_survey *survey;
    const dm_stations *stations;
    const dm_tendon *tendon;
    const dm_settings *settings;
    const dm_indications *found; /* once all is read */
    dm_arena *arena;             /* the result's */
    dm_quality *out;
    quality_facts *facts; /* [run_count], heap */
    quality_line *lines;  /* heap, with their cells */
    size_t line_count, line_capacity, cells;
    pace_state *pace; /* of the run that is being read */
    size_t pace_run;  /* DM_NONE: none */
} quality_work;

/* ---- line.c: one channel of a run, as the finder's watch ---- */
dm_status quality_take_line(quality_work *k, const dm_run_work *w,
                            const dm_run_line *l);

/* ---- agree.c: runs of one line against each other ---- */
dm_status quality_compare(quality_work *k);

/* ---- remark.c, remark_place.c: what there is to say ---- */
dm_status quality_remark(quality_work *k, size_t run, dm_remark remark);
/* A remark that says nothing yet. */
dm_remark quality_blank(dm_remark_kind kind, dm_verdict verdict,
                        dm_place place);
/* All of a run but what its distances and its coverage have to say. */
dm_status quality_judge_readings(quality_work *k, size_t run);
/* What these have to say. */
dm_status quality_judge_places(quality_work *k, size_t run);
/* What no run read on any line. */
dm_status quality_list_unread(quality_work *k);
/* Stations of two run distances of a stretch, from <= to; false: no memory. */
bool quality_place(const quality_work *k, size_t run, size_t stretch,
                   double x_from, double x_to, double *from, double *to);

#endif
