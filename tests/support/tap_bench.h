/* SPDX-License-Identifier: MIT
 * A straight tendon made by hand, for the tap stage: every measure on it has a
 * closed form. It rises ahead with slope 3/4; faces plumb at 1 m and 19 m. */
#ifndef TAP_BENCH_H
#define TAP_BENCH_H

#include "ductmark/tap.h"

#define LENGTH 20.0
#define OD 0.1143

typedef struct {
    dm_model model;
    dm_tendon tendon;
    dm_survey survey;
    dm_stations stations;
    dm_indications found;
    dm_criteria criteria;
    dm_job job;
    dm_grade grades[2];
    dm_indication items[4];
    dm_cover_length cover[3];
    dm_face faces[2];
    double shift[2], face_u[2], face_cov[4];
    dm_duct_length duct;
    dm_duct_type type;
    dm_fixture fixture;
    dm_strand_side side;
    dm_segment segment;
    dm_run run;
    dm_instrument instrument;
    dm_channel channel;
    size_t run_index;
    dm_tap_request request;
    dm_tap_exclude exclude;
    dm_tap_pair pair;
    dm_turn turn;
    dm_arc arc;
    double cells[72];
} tap_bench;

/* On the heap: free(). Fails the program where there is no memory. */
tap_bench *tap_bench_new(void);

/* One more void-like indication, of 4 at most; u: of both ends. */
dm_indication *tap_bench_add(tap_bench *b, double from, double to, double u);
/* A turn at 12.5 m that saw a void from..to, rad, ends known to u, and reads
 * -0.6, a strand, in the cells first..last of 72. */
void tap_bench_turn(tap_bench *b, double from, double to, double u,
                    size_t first, size_t last);
/* Fails the program where it cannot. */
dm_taps *tap_bench_place(tap_bench *b);

#endif
