/* SPDX-License-Identifier: MIT
 * Runs on one straight level tendon of 30 m, written as files with a known
 * truth and judged. Faces at 1, 14, 16 and 29 m. Invented. */
#ifndef DM_TEST_QUALITY_SITE_H
#define DM_TEST_QUALITY_SITE_H

#include "ductmark/run.h"
#include "near.h"
#include "said.h"

/* Footprint, m; raw readings of sound grout and of air. */
#define SITE_W 0.1
#define SITE_REF 1500.0
#define SITE_AIR 900.0

/* Runs begin at 1.3 m with the encoder and end at 28.7 m, or back. */
#define SITE_FROM 1.3
#define SITE_TO 28.7

/* A void on the truth's index, on one side of the duct or all round. */
typedef struct {
    double from, to, height;
    double clock; /* deg; NAN: all round */
} site_void;

/* How a run was made; zeros: a good one. */
typedef struct {
    const char *id;
    bool back;
    double clock;      /* deg, as written */
    double true_clock; /* deg, of the line that was really read, if not 0 */
    double pitch;      /* between readings, m; 0: 5 mm */
    double noise;      /* of a reading, index; 0: 0.02 */
    double drift;      /* of the checks at the end, index */
    int checks;        /* 0: before and after; 1: before; 2: none */
    double gap_from, gap_to;   /* stations without readings */
    double unwritten;          /* skip at the middle, m */
    double lift_from, lift_to; /* stations at which it reads air */
    bool lift_stated;
    bool no_tie;      /* at the end */
    double mid_tie;   /* a tie at face 14 (1), which ends the ties (2) */
    double roll_back; /* at the middle, m */
    bool falling;     /* the encoder counts down */
    double speed;     /* m/s, with a column of times; 0: none */
    double stop;      /* at the middle, s */
    double fast_from, fast_to; /* stations pulled four times as fast */
    double clock_back;         /* at the middle, s */
    const char *clock_unit;    /* NULL: seconds; "iso" */
} site_run;

typedef struct {
    char folder[64], bridge[128], book[2][128];
    size_t books;
    char paths[16][128]; /* of readings */
    size_t path_count;
    site_void voids[4];
    size_t void_count;
    uint64_t random;
    bool channels; /* two of them, the second on the other side */
    bool no_calibration;
    bool european; /* of the book that is being written: ; and , and ft */
    said said;
    dm_campaign *campaign;
} site;

site *site_new(void);
void site_free(site *s);
void site_add_void(site *s, double from, double to, double height,
                   double clock);
/* One field book of these runs; a second call writes a second one. */
void site_book(site *s, const site_run *runs, size_t count);
/* Reads, solves and judges; what was there before is freed. */
dm_status site_judge(site *s);
/* Run `index` of the only tendon. */
const dm_quality_run *site_result(const site *s, size_t index);
/* The remark of that kind; NULL: there is none. */
const dm_remark *site_remark(const dm_quality_run *run, dm_remark_kind kind);

/* A site with one run, judged. */
site *site_of_run(site_run run);
/* The remark of the first run, which has no other. */
const dm_remark *site_only(const site *s, dm_remark_kind kind,
                           dm_verdict verdict);
/* The words of a remark on the first run, in a static buffer. */
const char *site_words(const site *s, const dm_remark *r, dm_units units);

#endif
