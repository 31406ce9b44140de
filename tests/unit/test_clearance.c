/* SPDX-License-Identifier: MIT
 * Room for the drill at taps of a straight level tendon along X, against plates
 * and ducts whose distances have closed forms. A turn saw a void from 330 to 60
 * deg; the mark is at 15 deg. All of it is invented. */
#define _POSIX_C_SOURCE 200809L
#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "scratch.h"
#include "tap_bench.h"

#define PI 3.14159265358979323846
#define DEG (PI / 180.0)
#define R (0.5 * OD)
#define L 0.3
#define HALF 0.04

static dm_end end_at(double t)
{
    return (dm_end){.t = t,
                    .u = 0.02,
                    .u_edge = 0.005,
                    .face_back = 0,
                    .face_ahead = 1,
                    .u_back = 0.01,
                    .u_ahead = 0.01};
}

static tap_bench *bench(void)
{
    tap_bench *b = tap_bench_new();

    b->segment.tangent = (dm_vec3){1.0, 0.0, 0.0};
    b->items[0] = (dm_indication){.key = "T1-I01",
                                  .uid = "b3a0e2f4-0000-5000-8000-000000000001",
                                  .kind = DM_KIND_VOID_LIKE,
                                  .from = end_at(12.0),
                                  .to = end_at(13.0),
                                  .index = 0.6,
                                  .reconciled = true,
                                  .runs = &b->run_index,
                                  .run_count = 1};
    b->found.count = 1;
    tap_bench_turn(b, 330.0 * DEG, 60.0 * DEG, 5.0 * DEG, 34, 38);
    b->job.settings.drill_length = L;
    b->job.settings.drill_diameter = 2.0 * HALF;
    return b;
}

static dm_taps *place(tap_bench *b, const dm_context *context)
{
    dm_taps *taps = NULL;

    assert_int_equal(dm_taps_place(&b->model, &b->survey, &b->stations,
                                   &b->found, &b->criteria, &b->job, context,
                                   NULL, &taps),
                     DM_OK);
    assert_int_equal(taps->count, 1);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_near(taps->items[0].clock, 15.0 * DEG, 1e-12);
    return taps;
}

static dm_context *read_text(const char *text)
{
    dm_context_source source = {0};
    dm_context *c = NULL;
    scratch files;

    scratch_init(&files);
    source.path = scratch_file(&files, "girder.obj", text);
    assert_int_equal(dm_context_read(&source, 1, NULL, NULL, &c), DM_OK);
    scratch_free(&files);
    return c;
}

/* A slab whose underside is at a height above the axis, in exact binary. */
static dm_context *slab_at(double height, const char *more)
{
    char text[4096];

    snprintf(text, sizeof text,
             "g slab\nv 0 -5 %.9f\nv 20 -5 %.9f\nv 20 5 %.9f\nv 0 5 %.9f\n"
             "f 1 2 3 4\n%s",
             height, height, height, height, more);
    return read_text(text);
}

static void a_slab_above_leaves_what_is_left(void **unused)
{
    const double height = 0.375, tip = (R + L - HALF) * cos(15.0 * DEG);
    tap_bench *b = bench();
    dm_context *c = slab_at(height, "");
    dm_taps *taps = place(b, c);
    const dm_clearance *got = &taps->items[0].clearance;

    (void)unused;
    assert_true(got->known);
    assert_int_equal(got->room, DM_ROOM_FITS);
    assert_near(got->free, height / cos(15.0 * DEG) - R, 1e-9);
    assert_near(got->gap, height - tip - HALF, 1e-9);
    assert_string_equal(got->nearest, "girder.obj: slab");
    assert_string_equal(got->ahead, "girder.obj: slab");
    assert_false(got->other);
    assert_true(isnan(got->other_clock) && isnan(got->other_p_enter));
    assert_string_equal(taps->items[0].warning, "");
    dm_taps_free(taps);
    dm_context_free(c);
    free(b);
}

/* cos phi <= (height - HALF) / (R + L - HALF): 35.0 deg for 0.2999; tried is
 * every 45 / 60 deg from the middle, 15 deg: the first is 35.25 deg. */
static void where_it_does_not_fit_another_angle_does(void **unused)
{
    const double least = acos((0.2999 - HALF) / (R + L - HALF));
    const double want = 15.0 + 0.75 * ceil((least / DEG - 15.0) / 0.75);
    tap_bench *b = bench();
    dm_context *c = slab_at(0.2999, "");
    dm_taps *taps = place(b, c);
    const dm_tap *tap = &taps->items[0];

    (void)unused;
    assert_int_equal(tap->clearance.room, DM_ROOM_NONE);
    assert_near(tap->clearance.gap, -HALF, 1e-12); /* its axis is cut */
    assert_near(tap->clearance.free, 0.2999 / cos(15.0 * DEG) - R, 1e-8);
    assert_true(tap->clearance.other);
    assert_near(tap->clearance.other_clock, want * DEG, 1e-9);
    assert_true(tap->clearance.other_p_enter >= DM_ENTER_LEAST);
    assert_true(tap->clearance.other_p_enter < tap->p_enter);
    assert_non_null(strstr(tap->warning,
                           "no room for the drill: girder.obj: slab stands in "
                           "the drill's way 253 mm from the duct; at 1:1"));
    assert_non_null(strstr(tap->warning, " looking ahead there is, chance to "
                                         "enter 0."));
    dm_taps_free(taps);
    /* A hand's breadth more, and it is left alone: the bound is kept. */
    b->job.settings.drill_length = 0.25;
    taps = place(b, c);
    assert_int_equal(taps->items[0].clearance.room, DM_ROOM_FITS);
    dm_taps_free(taps);
    dm_context_free(c);
    free(b);
}

static void where_none_fits_the_tap_stays_and_says_so(void **unused)
{
    tap_bench *b = bench();
    dm_context *c = slab_at(0.15, "");
    dm_taps *taps = place(b, c);
    const dm_tap *tap = &taps->items[0];

    (void)unused;
    assert_int_equal(tap->clearance.room, DM_ROOM_NONE);
    assert_false(tap->clearance.other);
    assert_non_null(
        strstr(tap->warning, "no other clock angle of the void has room"));
    dm_taps_free(taps);
    dm_context_free(c);
    free(b);
}

/* A second duct along the first, at the mark's clock angle. */
static void other_ducts_stand_in_the_way_without_a_mesh(void **unused)
{
    tap_bench *b = bench();
    dm_tendon two[2];
    dm_segment second = b->segment;
    dm_taps *taps;

    (void)unused;
    two[0] = two[1] = b->tendon;
    two[1].id = "T2";
    two[1].line.segments = &second;
    second.begin =
        (dm_vec3){0.0, -0.5 * sin(15.0 * DEG), 0.5 * cos(15.0 * DEG)};
    b->model.tendons = two;
    b->model.tendon_count = 2;
    taps = place(b, NULL);
    assert_int_equal(taps->items[0].clearance.room, DM_ROOM_UNKNOWN);
    assert_false(taps->items[0].clearance.known);
    assert_near(taps->items[0].clearance.free, 0.5 - 2.0 * R, 1e-12);
    assert_near(taps->items[0].clearance.gap, 0.5 - 2.0 * R - L, 1e-12);
    assert_string_equal(taps->items[0].clearance.nearest, "tendon T2");
    assert_string_equal(taps->items[0].clearance.ahead, "tendon T2");
    dm_taps_free(taps);
    second.begin =
        (dm_vec3){0.0, -0.4 * sin(15.0 * DEG), 0.4 * cos(15.0 * DEG)};
    taps = place(b, NULL);
    assert_int_equal(taps->items[0].clearance.room, DM_ROOM_NONE);
    assert_true(taps->items[0].clearance.known);
    assert_near(taps->items[0].clearance.gap, 0.4 - 2.0 * R - L, 1e-12);
    assert_non_null(strstr(taps->items[0].warning,
                           "tendon T2 is 26 mm beside its axis, 40 are "
                           "needed; at "));
    assert_true(taps->items[0].clearance.other);
    dm_taps_free(taps);
    free(b);
}

/* A square tube of 60 mm about the axis, 57 mm the duct's radius: corners 85 mm
 * off, more than 20 mm from the duct; at 50 mm (71 mm) it is the duct. */
static void its_own_duct_in_the_mesh_does_not_count(void **unused)
{
    static const char tube[] = "g duct\n"
                               "v 10 -0.05 -0.05\nv 10 0.05 -0.05\n"
                               "v 10 0.05 0.05\nv 10 -0.05 0.05\n"
                               "v 15 -0.05 -0.05\nv 15 0.05 -0.05\n"
                               "v 15 0.05 0.05\nv 15 -0.05 0.05\n"
                               "f 5 6 10 9\nf 6 7 11 10\nf 7 8 12 11\n"
                               "f 8 5 9 12\n";
    char wide[sizeof tube + 64];
    tap_bench *b = bench();
    dm_context *c = slab_at(0.375, tube);
    dm_taps *taps = place(b, c);
    size_t n = 0;

    (void)unused;
    assert_int_equal(dm_context_triangle_count(c), 10);
    assert_int_equal(taps->items[0].clearance.room, DM_ROOM_FITS);
    assert_string_equal(taps->items[0].clearance.nearest, "girder.obj: slab");
    dm_taps_free(taps);
    dm_context_free(c);
    for (const char *p = tube; *p != '\0'; p++) {
        wide[n++] = p[0] == '5' && p[-1] == '0' ? '6' : p[0];
    }
    wide[n] = '\0';
    c = slab_at(0.375, wide);
    taps = place(b, c);
    assert_int_equal(taps->items[0].clearance.room, DM_ROOM_NONE);
    assert_string_equal(taps->items[0].clearance.nearest, "girder.obj: duct");
    dm_taps_free(taps);
    dm_context_free(c);
    free(b);
}

static void a_request_is_told_of_its_room(void **unused)
{
    tap_bench *b = bench();
    dm_context *c = slab_at(0.25, "");
    dm_taps *taps = NULL;

    (void)unused;
    b->found.count = 0;
    b->found.turn_count = 0;
    b->request = (dm_tap_request){.id = "Q1",
                                  .tendon = "T1",
                                  .face = "A2-f",
                                  .distance = 4.0,
                                  .by = "engineer",
                                  .reason = "known leak"};
    b->job.request_count = 1;
    assert_int_equal(dm_taps_place(&b->model, &b->survey, &b->stations,
                                   &b->found, &b->criteria, &b->job, c, NULL,
                                   &taps),
                     DM_OK);
    assert_int_equal(taps->count, 1);
    assert_int_equal(taps->items[0].clearance.room, DM_ROOM_NONE);
    assert_near(taps->items[0].clearance.free, 0.25 - R, 1e-9);
    assert_false(taps->items[0].clearance.other);
    dm_taps_free(taps);
    dm_context_free(c);
    free(b);
}

typedef struct {
    tap_bench *bench;
    const dm_context *context;
} once;

static dm_status place_once(void *user)
{
    const once *o = user;
    const tap_bench *b = o->bench;
    dm_taps *taps = NULL;
    dm_status status =
        dm_taps_place(&b->model, &b->survey, &b->stations, &b->found,
                      &b->criteria, &b->job, o->context, NULL, &taps);

    dm_taps_free(taps);
    return status;
}

static void every_failed_allocation_is_said(void **unused)
{
    tap_bench *b = bench();
    dm_context *c = slab_at(0.2999, "");
    dm_tendon two[2];
    dm_segment second = b->segment;
    once o = {b, c};

    (void)unused;
    two[0] = two[1] = b->tendon;
    two[1].line.segments = &second;
    second.begin = (dm_vec3){0.0, 0.0, 0.6};
    b->model.tendons = two;
    b->model.tendon_count = 2;
    assert_true(allocfail_each(place_once, &o) > 3);
    dm_context_free(c);
    free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_slab_above_leaves_what_is_left),
        cmocka_unit_test(where_it_does_not_fit_another_angle_does),
        cmocka_unit_test(where_none_fits_the_tap_stays_and_says_so),
        cmocka_unit_test(other_ducts_stand_in_the_way_without_a_mesh),
        cmocka_unit_test(its_own_duct_in_the_mesh_does_not_count),
        cmocka_unit_test(a_request_is_told_of_its_room),
        cmocka_unit_test(every_failed_allocation_is_said),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
