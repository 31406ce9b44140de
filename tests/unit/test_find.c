/* SPDX-License-Identifier: MIT
 * The indication stage on one straight tendon made by hand, with readings
 * files written here from a known truth: plateau through a boxcar of the
 * footprint's width (closed form), a little seeded noise. */
#define _POSIX_C_SOURCE 200809L
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "allocfail.h"
#include "base/arena.h"
#include "base/diag.h"
#include "ductmark/evidence.h"
#include "near.h"

#define LENGTH 20.0
#define W 0.1
#define AIR 900.0
#define REF 1500.0
#define MOST_RUNS 3
#define MOST_EVENTS 16

typedef struct {
    double from, to, height;
} plateau;

typedef struct {
    dm_model model;
    dm_tendon tendon;
    dm_survey survey;
    dm_settings settings;
    dm_support supports[2];
    dm_face faces[2];
    dm_segment segment;
    dm_strand_side sides[2];
    dm_duct_length ducts[2];
    dm_duct_type types[2];
    dm_instrument instrument;
    dm_channel channel;
    dm_calibration calibration;
    dm_reference_point reference;
    dm_columns columns;
    size_t channel_of[1];
    const char *value_of[1];
    dm_run runs[MOST_RUNS];
    dm_event events[MOST_RUNS][MOST_EVENTS];
    char path[MOST_RUNS][64];
    plateau truth[4];
    size_t truth_count;
    uint64_t random;
    char said[4096];
    dm_diag diag;
    dm_stations *stations;
    dm_indications *found;
} bench;

static void keep_message(void *user, const dm_message *m)
{
    bench *b = user;
    size_t used = strlen(b->said);

    snprintf(b->said + used, sizeof b->said - used, "%s: %s\n",
             m->subject != NULL ? m->subject : "", m->text);
}

static void set_model(bench *b)
{
    const double nan = (double)NAN;

    b->segment = (dm_segment){.length = LENGTH, .tangent = {1.0, 0.0, 0.0}};
    b->types[0] = (dm_duct_type){
        .id = "P", .material = "hdpe", .od = 0.1143, .wall = 0.007};
    b->types[1] = (dm_duct_type){
        .id = "S", .material = "steel", .od = 0.1143, .wall = 0.005};
    b->ducts[0] = (dm_duct_length){.from = 0.0, .to = LENGTH};
    b->supports[0] =
        (dm_support){.id = "A1", .readable_back = nan, .readable_ahead = 1.1};
    b->supports[1] = (dm_support){
        .id = "A2", .t = LENGTH, .readable_back = 18.9, .readable_ahead = nan};
    for (int i = 0; i < 2; i++)
        b->faces[i] = (dm_face){.id = i ? "A2-f" : "A1-f",
                                .support = (size_t)i,
                                .side = i ? DM_SIDE_BACK : DM_SIDE_AHEAD,
                                .origin = {i ? 19.0 : 1.0, 0.0, 0.0},
                                .normal = {i ? -1.0 : 1.0, 0.0, 0.0},
                                .u = 0.001,
                                .touchable = true,
                                .t = i ? 19.0 : 1.0};
    b->tendon = (dm_tendon){.id = "T1",
                            .supports = b->supports,
                            .support_count = 2,
                            .faces = b->faces,
                            .face_count = 2,
                            .ducts = b->ducts,
                            .duct_count = 1,
                            .strand_sides = b->sides};
    b->tendon.line = (dm_centreline){.segments = &b->segment,
                                     .count = 1,
                                     .length = LENGTH,
                                     .vertical_limit = 0.17};
    b->model.uid = "3c9f1e74-5b0c-4a77-9d0a-0c4f6a1e2b95";
    b->model.tendons = &b->tendon;
    b->model.tendon_count = 1;
    b->model.duct_types = b->types;
    b->model.duct_type_count = 2;
}

static void set_survey(bench *b)
{
    b->channel = (dm_channel){.id = "C1",
                              .lead = 0.02,
                              .footprint_along = W,
                              .footprint_around = 0.06};
    b->instrument = (dm_instrument){.id = "I1",
                                    .scale = 1.0,
                                    .scale_u = 0.001,
                                    .scale_shared = true,
                                    .walk = 1e-4,
                                    .nose = 0.1,
                                    .tail = 0.1,
                                    .channels = &b->channel,
                                    .channel_count = 1};
    b->reference = (dm_reference_point){(double)NAN, REF};
    b->calibration = (dm_calibration){.channel = DM_NONE,
                                      .wall = 0.007,
                                      .air = AIR,
                                      .reference = &b->reference,
                                      .reference_count = 1};
    b->value_of[0] = "counts";
    b->columns = (dm_columns){.delimiter = ',',
                              .decimal = '.',
                              .x = "x",
                              .x_unit = 0.001,
                              .segment = "segment",
                              .channel = b->channel_of,
                              .value = b->value_of,
                              .value_count = 1};
    b->survey = (dm_survey){.survey = "spring",
                            .instruments = &b->instrument,
                            .instrument_count = 1,
                            .calibrations = &b->calibration,
                            .calibration_count = 1,
                            .columns = &b->columns,
                            .columns_count = 1,
                            .runs = b->runs};
    b->settings = (dm_settings){.face_u = 0.001,
                                .check_drift = 0.1,
                                .tie_u = 0.001,
                                .skip_u = 0.001,
                                .start_u = 0.001,
                                .coverage_factor = 2.0,
                                .gate = 3.0,
                                .merge_gap = 0.15,
                                .least_length = 0.02};
}

static bench *new_bench(void)
{
    bench *b = calloc(1, sizeof *b);

    assert_non_null(b);
    set_model(b);
    set_survey(b);
    b->random = 88172645463325252u;
    b->diag = (dm_diag){.emit = keep_message, .user = b};
    return b;
}

static void drop(bench *b)
{
    dm_indications_free(b->found);
    dm_stations_free(b->stations);
    for (size_t i = 0; i < b->survey.run_count; i++)
        unlink(b->path[i]);
    free(b);
}

static double noise(bench *b)
{
    double sum = 0.0;

    for (int i = 0; i < 12; i++) { /* sum of uniforms: nearly normal */
        b->random ^= b->random >> 12;
        b->random ^= b->random << 25;
        b->random ^= b->random >> 27;
        sum += (double)((b->random * 2685821657736338717u) >> 11) /
               9007199254740992.0;
    }
    return 0.01 * (sum - 6.0);
}

static double index_at(bench *b, double t)
{
    double sum = noise(b);

    for (size_t i = 0; i < b->truth_count; i++) {
        double from = fmax(b->truth[i].from, t - 0.5 * W);
        double to = fmin(b->truth[i].to, t + 0.5 * W);

        sum += b->truth[i].height * fmax(0.0, to - from) / W;
    }
    return sum;
}

static dm_event *event(bench *b, dm_run *run, dm_event_kind kind, double x)
{
    dm_event *e = &run->events[run->event_count++];
    const double nan = (double)NAN;

    (void)b;
    assert_true(run->event_count <= MOST_EVENTS);
    *e = (dm_event){.kind = kind,
                    .x = x,
                    .x_resume = x,
                    .x_to = nan,
                    .with = DM_WITH_ENCODER,
                    .u = 0.001,
                    .rows_from = nan,
                    .rows_to = nan,
                    .channel = DM_NONE};
    return e;
}

static void readings(bench *b, size_t r, const char *segment)
{
    dm_event *e = event(b, &b->runs[r], DM_EVENT_READINGS, (double)NAN);

    e->href = b->path[r];
    e->segment = segment;
}

/* Rows while the encoder goes from station a to b; x0 at a. */
static void rows(bench *b, FILE *f, const char *segment, double a, double to,
                 double x0)
{
    double dir = to > a ? 1.0 : -1.0;

    for (double d = 0.0; d <= fabs(to - a) + 1e-9; d += 0.005) {
        double t = a + dir * (d + 0.02); /* nose leading: lead 20 mm */

        fprintf(f, "%s,%.3f,%.3f\n", segment, 1000.0 * (x0 + d),
                REF - (REF - AIR) * index_at(b, t));
    }
}

/* Ahead from 1.3 to 18.7, with the encoder; a skip of 0.6 m at 8 m. */
static dm_run *run_with_skip(bench *b)
{
    size_t r = b->survey.run_count++;
    dm_run *run = &b->runs[r];
    dm_event *e;
    FILE *f;
    int fd;

    strcpy(b->path[r], "/tmp/ductmark-find-XXXXXX");
    fd = mkstemp(b->path[r]);
    assert_true(fd >= 0);
    f = fdopen(fd, "w");
    assert_non_null(f);
    fprintf(f, "segment,x,counts\n");
    rows(b, f, "s1", 1.3, 8.0, 0.0);
    rows(b, f, "s2", 8.6, 18.7, 6.7);
    fclose(f);
    *run = (dm_run){.id = "R1",
                    .direction = DM_SIDE_AHEAD,
                    .leading = DM_LEADING_NOSE,
                    .events = b->events[r]};
    e = event(b, run, DM_EVENT_START, 0.0);
    e->distance = 0.3;
    readings(b, r, "s1");
    e = event(b, run, DM_EVENT_SKIP, 6.7);
    e->length_known = true;
    e->length = 0.6;
    e->reason = "collar C1";
    readings(b, r, "s2");
    e = event(b, run, DM_EVENT_TIE, 6.7 + 10.1);
    e->face = 1;
    e->distance = 0.3;
    return run;
}

/* Back from 18.7 to 1.3 without a skip, at another clock line. */
static dm_run *run_back(bench *b)
{
    size_t r = b->survey.run_count++;
    dm_run *run = &b->runs[r];
    dm_event *e;
    FILE *f;
    int fd;

    strcpy(b->path[r], "/tmp/ductmark-find-XXXXXX");
    fd = mkstemp(b->path[r]);
    assert_true(fd >= 0);
    f = fdopen(fd, "w");
    assert_non_null(f);
    fprintf(f, "segment,x,counts\n");
    rows(b, f, "s1", 18.7, 1.3, 0.0);
    fclose(f);
    *run = (dm_run){.id = "R2",
                    .direction = DM_SIDE_BACK,
                    .leading = DM_LEADING_NOSE,
                    .clock = 1.0,
                    .events = b->events[r]};
    e = event(b, run, DM_EVENT_START, 0.0);
    e->face = 1;
    e->distance = 0.3;
    readings(b, r, "s1");
    e = event(b, run, DM_EVENT_TIE, 17.4);
    e->distance = 0.3;
    return run;
}

static void truth(bench *b, double from, double to, double height)
{
    b->truth[b->truth_count++] = (plateau){from, to, height};
}

static void find(bench *b)
{
    double sum = 0.0;

    assert_int_equal(dm_stations_solve(&b->model, &b->survey, 0, &b->settings,
                                       &b->diag, &b->stations),
                     DM_OK);
    assert_int_equal(dm_indications_find(&b->model, &b->survey, b->stations,
                                         NULL, NULL, &b->settings, &b->diag,
                                         &b->found),
                     DM_OK);
    for (int c = 0; c < DM_COVER_COUNT; c++)
        sum += b->found->cover_sum[c];
    assert_near(sum, LENGTH, 1e-9);
}

static const dm_cover_length *cover_at(const bench *b, double t)
{
    for (size_t i = 0; i < b->found->cover_count; i++)
        if (t >= b->found->cover[i].from && t < b->found->cover[i].to)
            return &b->found->cover[i];
    fail();
    return NULL;
}

static void void_is_found_at_its_station_with_its_bounds(void **unused)
{
    bench *b = new_bench();
    const dm_indication *i;

    (void)unused;
    truth(b, 4.0, 4.6, 0.6);
    run_with_skip(b);
    find(b);
    assert_string_equal(b->said, "R1: no air or reference check: the "
                                 "calibration was used as it stands\n");
    assert_int_equal(b->found->count, 1);
    i = &b->found->items[0];
    assert_int_equal(i->kind, DM_KIND_VOID_LIKE);
    assert_near(i->from.t, 4.0, 2.0 * i->from.u);
    assert_near(i->to.t, 4.6, 2.0 * i->to.u);
    assert_in_range((int)(1e6 * i->from.u), 500, 6000);
    assert_int_equal(i->from.face_back, 0);
    assert_int_equal(i->from.face_ahead, 1);
    assert_true(i->from.u_back <= i->from.u_ahead);
    assert_near(i->index, 0.6, 0.02);
    assert_near(i->from.tip_low, 0.0, 0.0);
    assert_in_range((int)(1e3 * i->to.tip_high), 1, 60);
    assert_near(i->index_length, 0.36, 2.0 * i->index_length_u);
    assert_true(i->index_length_u < 0.02);
    assert_string_equal(i->key, "T1-I01");
    assert_int_equal(b->found->failed_runs, 0);
    assert_int_equal(b->found->reading_count, 1341 + 2021);
    assert_int_equal(b->found->hash_count, 1);
    drop(b);
}

static void coverage_names_the_skip_and_the_sensor_ends(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    run_with_skip(b);
    find(b);
    assert_int_equal(b->found->count, 0);
    assert_string_equal(cover_at(b, 8.3)->reason, "collar C1");
    assert_int_equal(cover_at(b, 8.3)->cover, DM_COVER_NOT_TESTED);
    assert_string_equal(cover_at(b, 1.2)->reason,
                        "the sensor's length beside anchorage A1");
    assert_string_equal(cover_at(b, 0.5)->reason, "inside anchorage A1");
    /* 1.32 to 8.02 and 8.62 to 18.72, half a reading more at each end. */
    assert_near(b->found->cover_sum[DM_COVER_TESTED], 6.7 + 10.1 + 0.01, 0.006);
    drop(b);
}

static void run_back_sees_the_same_place(void **unused)
{
    bench *b = new_bench();
    const dm_indication *i;

    (void)unused;
    truth(b, 7.6, 9.4, 0.5); /* runs through the skip of the first run */
    run_with_skip(b);
    run_back(b);
    find(b);
    assert_int_equal(b->found->count, 1);
    i = &b->found->items[0];
    assert_int_equal(i->run_count, 2);
    assert_false(i->across_gap); /* the second run read it through */
    assert_false(i->from.open || i->to.open);
    assert_near(i->from.t, 7.6, 2.0 * i->from.u);
    assert_near(i->to.t, 9.4, 2.0 * i->to.u);
    assert_int_equal(b->found->profile_count, 2);
    assert_int_equal(cover_at(b, 8.3)->cover, DM_COVER_TESTED);
    drop(b);
}

static void void_under_a_collar_is_one_across_the_gap(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    truth(b, 7.6, 9.4, 0.5);
    run_with_skip(b);
    find(b);
    assert_int_equal(b->found->count, 1);
    assert_true(b->found->items[0].across_gap);
    assert_near(b->found->items[0].from.t, 7.6, 0.01);
    assert_near(b->found->items[0].to.t, 9.4, 0.01);
    drop(b);
}

static void void_that_ends_in_a_skip_is_open_there(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    truth(b, 7.6, 8.3, 0.5);
    run_with_skip(b);
    find(b);
    assert_int_equal(b->found->count, 1);
    assert_true(b->found->items[0].to.open);
    assert_false(b->found->items[0].from.open);
    assert_near(b->found->items[0].to.t, 8.02, 0.006);
    drop(b);
}

#define BEND_WORDS "strands at the inside of the bend (derived, not stated)"
#define STATED_WORDS "a strand may lie within the inspection depth"

/* The read length goes from 1.32 to 8.02; only the sides' own is masked. */
static void strand_side_masks_its_own_length(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->sides[0] = (dm_strand_side){.from = 5.5, .to = 6.5, .u = 0.2};
    b->sides[1] =
        (dm_strand_side){.derived = true, .from = 4.0, .to = 4.75, .u = 0.35};
    b->tendon.strand_side_count = 2;
    run_with_skip(b);
    find(b);
    assert_near(b->found->cover_sum[DM_COVER_STRAND_MASKED], 1.75, 1e-9);
    assert_near(b->found->cover_sum[DM_COVER_TESTED], 6.7 + 10.1 + 0.01 - 1.75,
                0.006);
    assert_int_equal(cover_at(b, 3.999)->cover, DM_COVER_TESTED);
    assert_int_equal(cover_at(b, 4.001)->cover, DM_COVER_STRAND_MASKED);
    assert_string_equal(cover_at(b, 4.001)->reason, BEND_WORDS);
    assert_string_equal(cover_at(b, 4.749)->reason, BEND_WORDS);
    assert_int_equal(cover_at(b, 4.751)->cover, DM_COVER_TESTED);
    assert_string_equal(cover_at(b, 5.501)->reason, STATED_WORDS);
    assert_string_equal(cover_at(b, 6.499)->reason, STATED_WORDS);
    assert_int_equal(cover_at(b, 6.501)->cover, DM_COVER_TESTED);
    drop(b);
}

/* Sides that overlap, or lie beside what was read, in no order. */
static void strand_sides_may_overlap(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->sides[0] = (dm_strand_side){.from = 7.0, .to = 10.0, .u = 0.2};
    b->sides[1] = (dm_strand_side){.from = 0.0, .to = 7.5, .u = 0.2};
    b->tendon.strand_side_count = 2;
    run_with_skip(b);
    find(b);
    /* 1.32 to 8.02 and 8.62 to 10, half a reading more at three ends. */
    assert_near(b->found->cover_sum[DM_COVER_STRAND_MASKED],
                6.7 + 1.38 + 0.0075, 0.006);
    assert_int_equal(cover_at(b, 8.3)->cover, DM_COVER_NOT_TESTED);
    assert_int_equal(cover_at(b, 10.001)->cover, DM_COVER_TESTED);
    drop(b);
}

/* The second run is 1 rad off, and sees 0.06 / 0.1143 + 2 u at most. */
static void strand_side_masks_no_line_beside_it(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->sides[0] = (dm_strand_side){.from = 5.5, .to = 6.5, .u = 0.23};
    b->tendon.strand_side_count = 1;
    run_with_skip(b);
    run_back(b);
    find(b);
    assert_int_equal(cover_at(b, 6.0)->cover, DM_COVER_TESTED);
    dm_indications_free(b->found);
    dm_stations_free(b->stations);
    b->sides[0].u = 0.24;
    find(b);
    assert_int_equal(cover_at(b, 6.0)->cover, DM_COVER_STRAND_MASKED);
    drop(b);
}

static void negative_over_strands_is_unresolved(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->sides[0] =
        (dm_strand_side){.derived = true, .from = 5.0, .to = 5.6, .u = 0.35};
    b->tendon.strand_side_count = 1;
    truth(b, 3.0, 3.5, -0.6);
    truth(b, 5.1, 5.5, -0.6);
    run_with_skip(b);
    find(b);
    assert_int_equal(b->found->count, 2);
    assert_int_equal(b->found->items[0].kind, DM_KIND_SOFT_LIKE);
    assert_int_equal(b->found->items[1].kind, DM_KIND_UNRESOLVED);
    drop(b);
}

/* Behind the joint at 12 m the same raw value is another index, by hand 600/500
 * of it (reference 1500, air 900 and 1000), and other bands hold. */
static void each_duct_length_has_its_own_calibration(void **unused)
{
    bench *b = new_bench();
    dm_band band = {DM_KIND_SOFT_LIKE, -0.15, -0.1};
    dm_calibration both[2] = {b->calibration, b->calibration};
    const dm_profile *p;

    (void)unused;
    both[1].duct_type = 1;
    both[1].air = 1000.0;
    both[1].bands = &band;
    both[1].band_count = 1;
    b->survey.calibrations = both;
    b->survey.calibration_count = 2;
    b->types[1].material = "hdpe";
    b->types[1].wall = 0.007;
    b->ducts[0].to = b->ducts[1].from = 12.0;
    b->ducts[1].to = LENGTH;
    b->ducts[1].duct_type = 1;
    b->tendon.duct_count = 2;
    truth(b, 4.0, 5.0, -0.2); /* not by the bands of the first */
    truth(b, 14.0, 15.0, -0.2);
    run_with_skip(b);
    find(b);
    p = &b->found->profiles[0];
    assert_near((double)p->index[225], -0.2, 0.03);
    assert_near((double)p->index[725], -0.24, 0.03);
    assert_int_equal(b->found->count, 1);
    assert_near(b->found->items[0].from.t, 14.0, 0.02);
    assert_near(b->found->items[0].to.t, 15.0, 0.02);
    assert_near(b->found->items[0].index, -0.24, 0.02);
    drop(b);
}

/* Two runs of one line, of which one shows the void and the other was there;
 * with materials the kind has probabilities. */
/* Index and index length of a place that two runs saw unlike are fused alike:
 * by hand, two runs of 0.5 and 0.7 over 1 m and as noisy as each other give
 * 0.6. */
static void index_length_is_fused_as_the_index_is(void **unused)
{
    bench *b = new_bench();
    const dm_indication *i;
    dm_run *back;

    (void)unused;
    truth(b, 4.0, 5.0, 0.5);
    run_with_skip(b);
    b->truth[0].height = 0.7;
    back = run_back(b);
    back->clock = 0.0;
    find(b);
    assert_int_equal(b->found->count, 1);
    i = &b->found->items[0];
    assert_int_equal(i->run_count, 2);
    assert_near(i->index, 0.6, 0.02);
    assert_near(i->index_length, 0.6, 0.02);
    assert_true(i->index_length_u > 0.05);
    drop(b);
}

static void a_run_that_shows_nothing_is_counted(void **unused)
{
    dm_material m[] = {{"void", 0.6, 0.2},
                       {"soft", -0.45, 0.15},
                       {"strand", -0.8, 0.2},
                       {"sound", 0.0, 0.08}};
    bench *b = new_bench();
    const dm_posterior *p;
    double alone;

    (void)unused;
    b->calibration.materials = m;
    b->calibration.material_count = 4;
    b->settings.confidence = 0.9;
    b->settings.prior_void = b->settings.prior_soft = 1.0;
    b->settings.prior_strand = b->settings.prior_sound = 1.0;
    truth(b, 4.0, 5.0, 0.5);
    run_with_skip(b);
    find(b);
    p = &b->found->items[0].posterior;
    assert_true(p->known && p->resolved && p->passed == 1 && p->seen == 1);
    assert_int_equal(b->found->items[0].kind, DM_KIND_VOID_LIKE);
    assert_near(p->zero_shift, 0.0, 0.0);
    alone = p->p[DM_MATERIAL_VOID];
    assert_true(alone > 0.95);
    dm_indications_free(b->found);
    dm_stations_free(b->stations);
    b->truth_count = 0;
    run_back(b)->clock = 0.0;
    find(b);
    assert_int_equal(b->found->count, 1);
    p = &b->found->items[0].posterior;
    assert_true(p->passed == 2 && p->seen == 1);
    assert_int_equal(b->found->items[0].run_count, 1);
    assert_true(p->p[DM_MATERIAL_VOID] < alone);
    dm_indications_free(b->found);
    dm_stations_free(b->stations);
    b->runs[1].clock = 1.0; /* another line, which shows nothing */
    find(b);
    p = &b->found->items[0].posterior;
    assert_int_equal(p->passed, 1);
    assert_int_equal(p->silent, 1);
    assert_near(p->p[DM_MATERIAL_SOUND], 0.0, 0.05);
    drop(b);
}

/* What lies below 0 on one line: beside a line that shows nothing it is sooner
 * a strand than where no other line was read. */
static void a_line_that_shows_nothing_speaks_for_a_strand(void **unused)
{
    dm_material m[] = {{"soft", -0.5, 0.12}, {"strand", -0.6, 0.12}};
    bench *b = new_bench();
    double alone;

    (void)unused;
    b->calibration.materials = m;
    b->calibration.material_count = 2;
    b->settings.confidence = 0.9;
    b->settings.prior_void = b->settings.prior_soft = 1.0;
    b->settings.prior_strand = b->settings.prior_sound = 1.0;
    truth(b, 4.0, 5.0, -0.55);
    run_with_skip(b);
    find(b);
    assert_int_equal(b->found->items[0].posterior.silent, 0);
    alone = b->found->items[0].posterior.p[DM_MATERIAL_STRAND];
    dm_indications_free(b->found);
    dm_stations_free(b->stations);
    b->truth_count = 0;
    run_back(b)->clock = 1.0;
    find(b);
    assert_int_equal(b->found->count, 1);
    assert_int_equal(b->found->items[0].posterior.silent, 1);
    assert_true(b->found->items[0].posterior.p[DM_MATERIAL_STRAND] >
                alone + 0.02);
    drop(b);
}

static void profile_holds_the_mean_index(void **unused)
{
    bench *b = new_bench();
    const dm_profile *p;

    (void)unused;
    truth(b, 4.0, 5.0, 0.6);
    run_with_skip(b);
    find(b);
    p = &b->found->profiles[0];
    assert_near(p->pitch, 0.02, 0.0);
    assert_int_equal(p->count, 1000);
    assert_near((double)p->index[225], 0.6, 0.03); /* 4.50 to 4.52 */
    assert_near((double)p->index[150], 0.0, 0.03);
    assert_true(isnan((double)p->index[415])); /* in the skip */
    assert_true(isnan((double)p->index[10]));
    drop(b);
}

static void stated_lift_is_not_valid(void **unused)
{
    bench *b = new_bench();
    dm_run *run;
    dm_event *e;

    (void)unused;
    truth(b, 5.0, 5.4, 0.9); /* of which the book says: lifted */
    run = run_with_skip(b);
    /* After the first readings, before the skip. */
    memmove(&run->events[3], &run->events[2],
            (run->event_count - 2) * sizeof *run->events);
    run->event_count++;
    e = &run->events[2];
    memset(e, 0, sizeof *e);
    e->kind = DM_EVENT_LIFT;
    e->x = 3.6; /* electrode at 4.92 */
    e->x_to = 4.2;
    e->reason = "tape edge";
    find(b);
    assert_int_equal(b->found->count, 0);
    assert_int_equal(cover_at(b, 5.2)->cover, DM_COVER_NOT_VALID);
    assert_string_equal(cover_at(b, 5.2)->reason, "tape edge");
    drop(b);
}

static void steel_is_refused_by_name(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->ducts[0].to = 10.0;
    b->ducts[1] = (dm_duct_length){.from = 10.0, .to = LENGTH, .duct_type = 1};
    b->tendon.duct_count = 2;
    truth(b, 4.0, 4.6, 0.6);
    truth(b, 12.0, 12.6, 0.6);
    run_with_skip(b);
    find(b);
    assert_int_equal(b->found->count, 1);
    assert_non_null(strstr(b->said, "R1: readings on duct type S (steel)"));
    assert_string_equal(cover_at(b, 12.0)->reason, "steel duct");
    assert_int_equal(b->diag.errors, 1);
    assert_int_equal(b->found->failed_runs, 1);
    drop(b);
}

static void
run_without_calibration_is_not_valid_and_the_other_kept(void **unused)
{
    bench *b = new_bench();
    dm_instrument two[2];

    (void)unused;
    truth(b, 4.0, 4.6, 0.6);
    run_with_skip(b);
    run_back(b)->instrument = 1;
    two[0] = two[1] = b->instrument;
    two[1].id = "I2";
    b->survey.instruments = two;
    b->survey.instrument_count = 2;
    find(b);
    assert_int_equal(b->found->count, 1);
    assert_int_equal(b->found->items[0].run_count, 1);
    assert_int_equal(b->found->failed_runs, 1);
    assert_non_null(
        strstr(b->said, "no calibration of instrument I2, channel C1 for duct "
                        "type P"));
    /* Within the other run's skip this one was there, to no use. */
    assert_int_equal(cover_at(b, 8.3)->cover, DM_COVER_NOT_VALID);
    assert_int_equal(cover_at(b, 8.3)->why, DM_WHY_NO_CALIBRATION);
    drop(b);
}

/* Half of the tendon has a duct that nobody calibrated: the other half
 * counts. */
static void duct_without_calibration_is_not_valid(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->types[1].material = "hdpe";
    b->ducts[0].to = 10.0;
    b->ducts[1] = (dm_duct_length){.from = 10.0, .to = LENGTH, .duct_type = 1};
    b->tendon.duct_count = 2;
    truth(b, 4.0, 4.6, 0.6);
    truth(b, 12.0, 12.6, 0.6);
    run_with_skip(b);
    find(b);
    assert_int_equal(b->found->count, 1);
    assert_int_equal(b->diag.errors, 1);
    assert_int_equal(b->found->failed_runs, 1);
    assert_int_equal(cover_at(b, 9.5)->cover, DM_COVER_TESTED);
    assert_int_equal(cover_at(b, 12.0)->why, DM_WHY_NO_CALIBRATION);
    assert_true(b->found->why_sum[DM_WHY_NO_CALIBRATION] > 8.0);
    drop(b);
}

/* Air checked before and after: 50 and 70 of 600 between. */
static void checks_that_drift_beyond_the_limit_are_not_valid(void **unused)
{
    (void)unused;
    for (int beyond = 0; beyond < 2; beyond++) {
        bench *b = new_bench();
        dm_run *run;
        dm_event *e;

        truth(b, 4.0, 4.6, 0.6);
        run = run_with_skip(b);
        memmove(&run->events[1], run->events,
                run->event_count++ * sizeof *run->events);
        run->events[0] = (dm_event){.kind = DM_EVENT_CHECK,
                                    .check = DM_CHECK_AIR,
                                    .channel = DM_NONE,
                                    .value = AIR - 25.0};
        e = event(b, run, DM_EVENT_CHECK, (double)NAN);
        e->check = DM_CHECK_AIR;
        e->channel = DM_NONE;
        e->value = AIR + (beyond ? 45.0 : 25.0);
        find(b);
        assert_int_equal(b->found->failed_runs, beyond);
        assert_int_equal(b->found->count, !beyond);
        assert_int_equal(cover_at(b, 4.3)->why,
                         beyond ? DM_WHY_CHECK_DRIFT : DM_WHY_NONE);
        assert_true((strstr(b->said, "differ by 0.117 of the step") != NULL) ==
                    beyond);
        assert_string_equal(cover_at(b, 8.3)->reason, "collar C1");
        drop(b);
    }
}

static void unusable_run_is_left_out_everywhere(void **unused)
{
    bench *b = new_bench();
    dm_run *run = run_with_skip(b);

    (void)unused;
    run->event_count = 0; /* not even a start */
    find(b);
    assert_int_equal(b->found->cover_line_count, 1);
    assert_int_equal(cover_at(b, 5.0)->why, DM_WHY_LEFT_OUT);
    assert_int_equal(cover_at(b, 0.5)->why, DM_WHY_SUPPORT);
    drop(b);
}

static void bad_rows_leave_the_run_out(void **unused)
{
    bench *b = new_bench();
    FILE *f;

    (void)unused;
    run_with_skip(b);
    f = fopen(b->path[0], "a");
    assert_non_null(f);
    fprintf(f, "s2,17000,oops\n");
    fclose(f);
    find(b);
    assert_int_equal(b->found->failed_runs, 1);
    assert_near(b->found->cover_sum[DM_COVER_TESTED], 0.0, 0.0);
    assert_string_equal(cover_at(b, 5.0)->reason,
                        "readings of run R1 left out");
    assert_non_null(strstr(b->said, "oops"));
    drop(b);
}

/* Its last place is the skip's end: nobody knows where it stopped. What lies
 * after that is left out with it, not unwalked. */
static void left_out_run_without_an_end_goes_on(void **unused)
{
    (void)unused;
    for (int tied = 0; tied < 2; tied++) {
        bench *b = new_bench();
        dm_run *run = run_with_skip(b);
        FILE *f;

        run->event_count -= tied ? 0 : 1;
        f = fopen(b->path[0], "a");
        assert_non_null(f);
        fprintf(f, "s2,17000,oops\n");
        fclose(f);
        find(b);
        assert_int_equal(b->found->failed_runs, 1);
        assert_int_equal(cover_at(b, 12.0)->why, DM_WHY_LEFT_OUT);
        assert_int_equal(cover_at(b, 8.2)->why, DM_WHY_LEFT_OUT);
        assert_int_equal(cover_at(b, 18.8)->why,
                         tied ? DM_WHY_DEAD_ZONE : DM_WHY_LEFT_OUT);
        drop(b);
    }
}

static void checks_that_make_no_sense_leave_the_run_out(void **unused)
{
    bench *b = new_bench();
    dm_run *run;

    (void)unused;
    run = run_with_skip(b);
    for (int i = 0; i < 2; i++) {
        dm_event *e = event(b, run, DM_EVENT_CHECK, (double)NAN);

        e->check = i ? DM_CHECK_AIR : DM_CHECK_REFERENCE;
        e->value = i ? REF : REF - 10.0; /* exchanged */
    }
    find(b);
    assert_int_equal(b->found->failed_runs, 1);
    assert_non_null(strstr(b->said, "0.5 to 2 was expected"));
    drop(b);
}

static void gain_of_the_run_is_taken_out(void **unused)
{
    bench *b = new_bench();
    dm_run *run;

    (void)unused;
    truth(b, 4.0, 4.6, 0.5);
    run = run_with_skip(b);
    /* The readings are those of REF and AIR; the calibration was made with
     * another gain and offset. */
    b->calibration.air = 1000.0;
    b->reference.value = 1500.0;
    for (int i = 0; i < 2; i++) {
        dm_event *e = event(b, run, DM_EVENT_CHECK, (double)NAN);

        e->check = i ? DM_CHECK_AIR : DM_CHECK_REFERENCE;
        e->value = i ? AIR : REF;
    }
    find(b);
    assert_int_equal(b->found->count, 1);
    assert_near(b->found->items[0].index, 0.5, 0.02);
    assert_string_equal(b->said, "");
    drop(b);
}

/* Solves and finds; frees what was made. */
static dm_status find_once(void *user)
{
    bench *b = user;
    dm_stations *stations = NULL;
    dm_indications *found = NULL;
    dm_result result;
    dm_register *reg = NULL;
    dm_status status = dm_stations_solve(&b->model, &b->survey, 0, &b->settings,
                                         NULL, &stations);

    if (status == DM_OK)
        status = dm_indications_find(&b->model, &b->survey, stations, NULL,
                                     NULL, &b->settings, NULL, &found);
    if (status == DM_OK) {
        result = (dm_result){stations, found, NULL};
        status = dm_register_update(&b->model, &b->survey, &result, NULL, NULL,
                                    &reg);
    }
    dm_register_free(reg);
    dm_indications_free(found);
    dm_stations_free(stations);
    return status;
}

static void every_failed_allocation_is_said(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    truth(b, 4.0, 4.6, 0.6);
    truth(b, 7.6, 9.4, 0.5);
    run_with_skip(b);
    run_back(b);
    assert_true(allocfail_each(find_once, b) > 40);
    drop(b);
}

/* ---- evidence ---- */

static dm_evidence *evidence_of(bench *b, size_t item)
{
    dm_evidence *e = NULL;

    assert_int_equal(dm_evidence_make(&b->model, &b->survey, b->stations,
                                      b->found, item, &b->settings, &b->diag,
                                      &e),
                     DM_OK);
    return e;
}

/* Rows of 5 mm from 1.32 m on line 2, the void from 4.0 to 4.6. */
static void evidence_names_rows_thresholds_and_parts(void **unused)
{
    bench *b = new_bench();
    dm_evidence *e;

    (void)unused;
    b->settings.budget = true;
    truth(b, 4.0, 4.6, 0.6);
    run_with_skip(b);
    run_back(b);
    find(b);
    assert_int_equal(b->found->count, 1);
    e = evidence_of(b, 0);
    assert_int_equal(e->witness_count, 2);
    assert_int_equal(e->absent_count, 0);
    for (size_t i = 0; i < 2; i++) {
        const dm_witness *w = &e->witnesses[i];

        assert_int_equal(w->run, i);
        assert_int_equal(w->result, DM_WITNESS_SAW);
        assert_near((double)w->rows, 120.0, 6.0);
        assert_int_equal(w->last_line - w->first_line + 1, (long)w->rows);
        assert_near(w->enter, 0.25, 0.0);
        assert_near(w->soft_leave, -0.15, 0.0);
        assert_true(isnan(w->raised));
        assert_near(w->noise, 0.01, 0.005);
        assert_near(w->plateau, 0.6, 0.02);
        assert_near(w->mean, 0.58, 0.03);
        assert_near(w->footprint, W, 0.0);
        assert_true(w->reconciled && w->strand == NULL && w->lifted == 0);
        assert_near(w->end[0].t, 4.0, 0.01);
        assert_near(w->end[1].t, 4.6, 0.01);
        for (int k = 0; k < 2; k++)
            assert_near(dm_budget_sum(&w->end[k].budget), w->end[k].world,
                        1e-9 * w->end[k].world);
    }
    assert_near((double)e->witnesses[0].first_line, 538.0, 4.0);
    /* The second goes back from 18.68 m. */
    assert_near((double)e->witnesses[1].first_line, 2.0 + (18.68 - 4.6) / 0.005,
                4.0);
    dm_evidence_free(e);
    drop(b);
}

/* One run has its calibration's bands raised by noise, and sees nothing; one
 * was left out. */
static void evidence_names_who_saw_nothing(void **unused)
{
    bench *b = new_bench();
    dm_evidence *e;
    FILE *f;

    (void)unused;
    truth(b, 4.0, 4.6, 0.6);
    run_with_skip(b);
    b->truth_count = 0; /* the second run's readings are sound */
    run_back(b);
    run_with_skip(b)->id = "R3";
    f = fopen(b->path[2], "a");
    assert_non_null(f);
    fprintf(f, "s2,17000,oops\n");
    fclose(f);
    find(b);
    assert_int_equal(b->found->count, 1);
    e = evidence_of(b, 0);
    assert_int_equal(e->witness_count, 2);
    assert_int_equal(e->witnesses[0].result, DM_WITNESS_SAW);
    assert_int_equal(e->witnesses[1].result, DM_WITNESS_NOTHING);
    assert_near(e->witnesses[1].mean, 0.0, 0.02);
    assert_int_equal(e->absent_count, 1);
    assert_int_equal(e->absent[0].run, 2);
    assert_int_equal(e->absent[0].cover->cover, DM_COVER_TESTED); /* by R1 */
    /* Without a budget there are no parts. */
    assert_near(dm_budget_sum(&e->witnesses[0].end[0].budget), 0.0, 0.0);
    dm_evidence_free(e);
    drop(b);
}

static dm_status evidence_once(void *user)
{
    bench *b = user;
    dm_evidence *e = NULL;
    dm_status status = dm_evidence_make(&b->model, &b->survey, b->stations,
                                        b->found, 0, &b->settings, NULL, &e);

    dm_evidence_free(e);
    return status;
}

static void evidence_without_memory_is_said(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    truth(b, 4.0, 4.6, 0.6);
    run_with_skip(b);
    find(b);
    assert_true(allocfail_each(evidence_once, b) > 20);
    drop(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(void_is_found_at_its_station_with_its_bounds),
        cmocka_unit_test(coverage_names_the_skip_and_the_sensor_ends),
        cmocka_unit_test(run_back_sees_the_same_place),
        cmocka_unit_test(void_under_a_collar_is_one_across_the_gap),
        cmocka_unit_test(void_that_ends_in_a_skip_is_open_there),
        cmocka_unit_test(strand_side_masks_its_own_length),
        cmocka_unit_test(strand_sides_may_overlap),
        cmocka_unit_test(strand_side_masks_no_line_beside_it),
        cmocka_unit_test(negative_over_strands_is_unresolved),
        cmocka_unit_test(each_duct_length_has_its_own_calibration),
        cmocka_unit_test(index_length_is_fused_as_the_index_is),
        cmocka_unit_test(a_run_that_shows_nothing_is_counted),
        cmocka_unit_test(a_line_that_shows_nothing_speaks_for_a_strand),
        cmocka_unit_test(profile_holds_the_mean_index),
        cmocka_unit_test(stated_lift_is_not_valid),
        cmocka_unit_test(steel_is_refused_by_name),
        cmocka_unit_test(
            run_without_calibration_is_not_valid_and_the_other_kept),
        cmocka_unit_test(duct_without_calibration_is_not_valid),
        cmocka_unit_test(checks_that_drift_beyond_the_limit_are_not_valid),
        cmocka_unit_test(unusable_run_is_left_out_everywhere),
        cmocka_unit_test(bad_rows_leave_the_run_out),
        cmocka_unit_test(left_out_run_without_an_end_goes_on),
        cmocka_unit_test(checks_that_make_no_sense_leave_the_run_out),
        cmocka_unit_test(gain_of_the_run_is_taken_out),
        cmocka_unit_test(every_failed_allocation_is_said),
        cmocka_unit_test(evidence_names_rows_thresholds_and_parts),
        cmocka_unit_test(evidence_names_who_saw_nothing),
        cmocka_unit_test(evidence_without_memory_is_said),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
