/* SPDX-License-Identifier: MIT
 * Tap points on a straight inclined tendon made by hand, where every measure
 * has a closed form. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "base/arena.h"
#include "near.h"
#include "tap/aim.h"
#include "tap_bench.h"

#define PI 3.14159265358979323846
static void refuse(tap_bench *b, dm_status expected)
{
    dm_taps *taps = NULL;

    assert_int_equal(dm_taps_place(&b->model, &b->survey, &b->stations,
                                   &b->found, &b->criteria, &b->job, NULL, NULL,
                                   &taps),
                     expected);
    assert_null(taps);
}

/* Aim test: 12.100 to 12.460, U 24.7 mm, margin
 * 25 mm give 12.1497 to 12.4103 (the sums, computed independently). */
static void aim_keeps_bound_and_margin_off_both_ends(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 12.100, 12.460, 0.0247 / 2.0);
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 1);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_near(taps->items[0].aim_from, 12.1497, 1e-9);
    assert_near(taps->items[0].aim_to, 12.4103, 1e-9);
    /* The duct rises ahead: the high end. */
    assert_near(taps->items[0].t, 12.4103, 1e-9);
    assert_string_equal(taps->items[0].id, "T1-I01-A");
    dm_taps_free(taps);
    free(b);
}

/* Face plane x = 0.8 m; the crown line lies r above the axis along
 * (-0.6, 0, 0.8), so it crosses the plane r tan(slope) = 0.75 r further on
 * (closed form). The shift of 12 mm moves the plane. */
static void tapes_start_where_the_plane_crosses_the_line(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;
    const dm_tap *t;

    (void)unused;
    b->shift[0] = 0.012;
    tap_bench_add(b, 12.0, 13.0, 0.01);
    taps = tap_bench_place(b);
    t = &taps->items[0];
    assert_near(t->line, 0.0, 0.0);
    assert_near(t->back.distance, t->t - (1.012 + 0.75 * 0.5 * OD), 1e-9);
    assert_near(t->ahead.distance, 19.0 + 0.75 * 0.5 * OD - t->t, 1e-9);
    assert_near(t->faces_apart, t->back.distance + t->ahead.distance, 1e-12);
    assert_int_equal(t->back.face, 0);
    assert_int_equal(t->ahead.face, 1);
    assert_int_equal(t->mark_face, 1);
    assert_near(t->axis.x, 0.8 * t->t, 1e-9);
    assert_near(t->surface.x, 0.8 * t->t - 0.6 * 0.5 * OD, 1e-9);
    assert_near(t->surface.z, 0.6 * t->t + 0.8 * 0.5 * OD, 1e-9);
    assert_near(t->outward.z, 0.8, 1e-12);
    /* Station relative to the face: sqrt(u^2 - u_edge^2), u_edge = u / 2. */
    assert_near(t->back.u, 0.01 * sqrt(0.75), 1e-9);
    assert_near(t->depth_stop, 0.0067, 1e-12);
    assert_false(t->wall_assumed);
    dm_taps_free(taps);
    free(b);
}

static void nominal_wall_is_said_to_be_assumed(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->type.wall_min = 0.0;
    tap_bench_add(b, 12.0, 13.0, 0.01);
    taps = tap_bench_place(b);
    assert_true(taps->items[0].wall_assumed);
    assert_near(taps->items[0].depth_stop, 0.007, 1e-12);
    dm_taps_free(taps);
    free(b);
}

static void line_is_the_crown_or_the_nearest_of_the_others(void **unused)
{
    const double deg = PI / 180.0;

    (void)unused;
    assert_near(dm_tape_line(0.0), 0.0, 0.0);
    assert_near(dm_tape_line(90.0 * deg), 0.0, 0.0);
    assert_near(dm_tape_line(300.0 * deg), 0.0, 0.0);
    assert_near(dm_tape_line(110.0 * deg), 0.5 * PI, 1e-12);
    assert_near(dm_tape_line(140.0 * deg), PI, 1e-12);
    assert_near(dm_tape_line(225.1 * deg), 1.5 * PI, 1e-12);
    assert_near(dm_tape_line(200.0 * deg), PI, 1e-12);
    assert_near(dm_wrap(1.5 * PI), -0.5 * PI, 1e-12);
    assert_near(dm_wrap(-PI), PI, 1e-12);
}

/* One hour on 114.3 mm outside diameter is 29.9236700254 mm (formula
 * pi d / 12; value computed independently with mpmath). */
static void measure_round_the_duct_is_signed(void **unused)
{
    const double deg = PI / 180.0;
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 5.0, 6.0, 0.01)->clock = 30.0 * deg;
    tap_bench_add(b, 8.0, 9.0, 0.01)->clock = 330.0 * deg;
    tap_bench_add(b, 11.0, 12.0, 0.01)->clock = 150.0 * deg;
    taps = tap_bench_place(b);
    assert_near(taps->items[0].around, 0.0299236700254, 1e-12);
    assert_near(taps->items[0].clock_back, 330.0 * deg, 1e-12);
    assert_near(taps->items[1].around, -0.0299236700254, 1e-12);
    assert_near(taps->items[2].line, PI, 1e-12);
    assert_near(taps->items[2].around, -0.0299236700254, 1e-12);
    assert_near(taps->items[2].from_crown, 5.0 * 0.0299236700254, 1e-12);
    dm_taps_free(taps);
    free(b);
}

/* Whoever read one of these would set a drill by it. */
static void assert_no_drill(const dm_tap *tap)
{
    assert_int_not_equal(tap->advice, DM_ADVICE_TAP);
    assert_true(isnan(tap->depth_stop));
    assert_true(isnan(tap->bit));
    assert_true(isnan(tap->p_contact));
    assert_null(strstr(tap->warning, "may touch"));
    assert_true(tap->wall_min > 0.0);
}

static void empty_interval_asks_for_a_rescan(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 3.0, 3.1, 0.02);
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_RESCAN);
    assert_string_equal(taps->items[0].why,
                        "re-scan by hand from face A1-f first: 100 mm long, "
                        "its bounds and margins take 130 mm");
    assert_near(taps->items[0].t, 3.05, 1e-12);
    assert_no_drill(&taps->items[0]);
    assert_string_equal(taps->items[0].warning, "");
    dm_taps_free(taps);
    free(b);
}

/* Known to hold 0.6 * 0.6 * 100 = 36 mm about its middle: too little. */
static void shorter_than_footprint_asks_for_a_rescan(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 3.0, 3.13, 0.004)->shorter_than_footprint = true;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_RESCAN);
    assert_non_null(strstr(taps->items[0].why, "at most 130 mm long"));
    dm_taps_free(taps);
    free(b);
}

static void fixtures_and_unread_lengths_are_kept_clear(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->fixture = (dm_fixture){.id = "C1", .from = 12.7, .to = 12.8};
    b->tendon.fixture_count = 1;
    b->cover[0].to = 12.0;
    b->cover[1] = (dm_cover_length){12.0, 12.64, DM_COVER_NOT_TESTED,
                                    DM_WHY_OBSTRUCTION, "collar C1"};
    b->cover[2] =
        (dm_cover_length){12.64, LENGTH, DM_COVER_TESTED, DM_WHY_NONE, ""};
    b->found.cover_count = 3;
    tap_bench_add(b, 11.0, 12.88, 0.01);
    taps = tap_bench_place(b);
    /* Of 11.045 to 12.835 there is left 11.045 to 12.0 and 12.64 to 12.65. */
    assert_near(taps->items[0].t, 12.65, 1e-9);
    dm_taps_free(taps);
    /* Nothing left: blocked. */
    b->found.count = 0;
    tap_bench_add(b, 12.02, 12.7, 0.01);
    b->cover[1].to = 12.66;
    b->cover[2].from = 12.66;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_RESCAN);
    assert_non_null(strstr(taps->items[0].why, "leave no place"));
    dm_taps_free(taps);
    free(b);
}

static void a_fixture_on_the_other_side_is_no_hindrance(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->fixture = (dm_fixture){.id = "P1",
                              .kind = DM_FIXTURE_PATCH,
                              .from = 12.0,
                              .to = 13.0,
                              .clock_from = 0.75 * PI,
                              .clock_to = 1.25 * PI};
    b->tendon.fixture_count = 1;
    tap_bench_add(b, 12.1, 12.9, 0.01);
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    dm_taps_free(taps);
    b->items[0].clock = PI;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_RESCAN);
    dm_taps_free(taps);
    free(b);
}

static void strands_at_the_wall_want_a_hand_tool(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->side = (dm_strand_side){.from = 11.0, .to = 14.0, .u = 0.2};
    b->tendon.strand_side_count = 1;
    tap_bench_add(b, 12.0, 13.0, 0.01);
    tap_bench_add(b, 15.0, 16.0, 0.01)->kind = DM_KIND_UNRESOLVED;
    taps = tap_bench_place(b);
    assert_no_drill(&taps->items[0]);
    assert_no_drill(&taps->items[1]);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_HAND_TOOL);
    assert_int_equal(taps->items[1].advice, DM_ADVICE_HAND_TOOL);
    dm_taps_free(taps);
    /* Nor with an allowance, which no hand tool has. */
    b->job.settings.stop_allowance = 0.003;
    taps = tap_bench_place(b);
    assert_no_drill(&taps->items[0]);
    assert_no_drill(&taps->items[1]);
    dm_taps_free(taps);
    free(b);
}

/* The void's high end is 12.93, its clock angle 0. */
static void bends_say_why_they_want_a_hand_tool(void **unused)
{
    static const char *const words[] = {
        "the strand side stated leaves no room for a drill: hand tool, wall "
        "only, engineer present",
        "strands at the inside of the bend (derived) leave no room "
        "for a drill: hand tool, wall only, engineer present"};
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->tendon.strand_side_count = 1;
    tap_bench_add(b, 12.0, 13.0, 0.01);
    for (int derived = 0; derived < 2; derived++) {
        b->side = (dm_strand_side){
            .derived = derived == 1, .from = 11.9, .to = 13.0, .u = 0.35};
        taps = tap_bench_place(b);
        assert_int_equal(taps->items[0].advice, DM_ADVICE_HAND_TOOL);
        assert_string_equal(taps->items[0].why, words[derived]);
        dm_taps_free(taps);
    }
    /* Opposite, and before it: a drill. */
    b->side.clock = PI;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    dm_taps_free(taps);
    b->side.clock = 0.0;
    b->side.to = 12.88;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    dm_taps_free(taps);
    /* The mark at 12.955 m is not surely past its end: 2 u of 20 mm, the
     * margin of 25 mm and half the bit reach 12.969 m. */
    b->side.to = 12.9;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_HAND_TOOL);
    dm_taps_free(taps);
    free(b);
}

/* The high end of the aim interval is 12.955; from 12.8 on strands lie under
 * the mark. In steps of 25 mm the first free station is 12.78. */
static void a_hole_moves_along_the_void_off_the_strands(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->side = (dm_strand_side){.from = 12.8, .to = 13.0, .u = 0.35};
    b->tendon.strand_side_count = 1;
    tap_bench_add(b, 12.0, 13.0, 0.01);
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    /* 12.955 m and steps of 25 mm, to before 12.8 m less 69 mm. */
    assert_near(taps->items[0].t, 12.73, 1e-9);
    assert_non_null(strstr(taps->items[0].why, "moved along the void"));
    assert_int_equal(taps->items[0].strands, DM_STRAND_SIDE_UNKNOWN);
    dm_taps_free(taps);
    free(b);
}

/* Whoever asks for it: 4 m from the far face, at noon. */
static void request_over_strands_wants_a_hand_tool(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->side = (dm_strand_side){
        .derived = true, .from = 14.9, .to = 15.5, .clock = 0.1, .u = 0.35};
    b->tendon.strand_side_count = 1;
    b->request = (dm_tap_request){.id = "Q1",
                                  .tendon = "T1",
                                  .face = "A2-f",
                                  .distance = 4.0,
                                  .by = "engineer",
                                  .reason = "known leak"};
    b->job.request_count = 1;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_HAND_TOOL);
    assert_string_equal(taps->items[0].why,
                        "requested by engineer: known leak; strands at the "
                        "inside of the bend (derived) leave no room for a "
                        "drill: hand tool, wall only, engineer present");
    dm_taps_free(taps);
    b->request.clock = PI;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_string_equal(taps->items[0].why,
                        "requested by engineer: known leak");
    dm_taps_free(taps);
    free(b);
}

/* A request in the concrete of an anchorage is refused; where the duct is
 * hidden, of steel or under a fixture it is no place for a drill. Distances by
 * hand: the face at the crown lies 0.75 r past its station of 19 m. */
static void request_wants_bare_duct_outside_the_concrete(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_support supports[2] = {
        {.id = "A1", .readable_back = (double)NAN, .readable_ahead = 1.0},
        {.id = "A2",
         .t = LENGTH,
         .readable_back = 18.5,
         .readable_ahead = (double)NAN,
         .hidden_back = DM_HIDDEN_TRUMPET}};
    const struct {
        double distance;
        const char *why;
    } cases[] = {
        {4.0, "requested by engineer: known leak"},
        {0.6, "requested by engineer: known leak"},
        {0.3, "requested by engineer: known leak; no bare plastic duct there "
              "(trumpet): no drill, engineer present"},
        {10.0, "requested by engineer: known leak; no bare plastic duct there "
               "(collar): no drill, engineer present"},
        {12.0, "requested by engineer: known leak"},
    };
    dm_taps *taps;

    (void)unused;
    b->tendon.supports = supports;
    b->tendon.support_count = 2;
    b->faces[1].support = 1;
    b->fixture = (dm_fixture){.kind = DM_FIXTURE_COLLAR,
                              .from = 8.9,
                              .to = 9.2,
                              .clock_to = 2.0 * PI};
    b->tendon.fixture_count = 1;
    b->request = (dm_tap_request){.id = "Q1",
                                  .tendon = "T1",
                                  .face = "A2-f",
                                  .by = "engineer",
                                  .reason = "known leak"};
    b->job.request_count = 1;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        b->request.distance = cases[i].distance;
        taps = tap_bench_place(b);
        assert_int_equal(taps->count, 1);
        assert_string_equal(taps->items[0].why, cases[i].why);
        assert_int_equal(taps->items[0].advice,
                         strstr(cases[i].why, "no drill") != NULL
                             ? DM_ADVICE_HAND_TOOL
                             : DM_ADVICE_TAP);
        dm_taps_free(taps);
    }
    b->request.distance = -0.1; /* behind the face */
    refuse(b, DM_RANGE);
    b->request.distance = 4.0;
    b->type.material = "steel";
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_HAND_TOOL);
    assert_non_null(strstr(taps->items[0].why, "(steel duct)"));
    dm_taps_free(taps);
    free(b);
}

/* What else is said of a request: margins that are not kept, a hole that
 * would hardly enter, readings that may lie elsewhere, an id that is taken. */
static void request_is_judged_by_where_it_lies(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;
    double at = 19.0 + 0.75 * 0.5 * OD - 4.0; /* of the mark */

    (void)unused;
    b->request = (dm_tap_request){.id = "Q1",
                                  .tendon = "T1",
                                  .face = "A2-f",
                                  .distance = 4.0,
                                  .by = "engineer",
                                  .reason = "known leak"};
    b->job.request_count = 1;
    b->fixture = (dm_fixture){.id = "W1",
                              .kind = DM_FIXTURE_WELD,
                              .from = at + 0.0305,
                              .to = at + 0.2,
                              .clock_to = 2.0 * PI};
    b->tendon.fixture_count = 1;
    taps = tap_bench_place(b);
    assert_string_equal(taps->items[0].warning,
                        "30 mm along from weld W1, a margin of 50 mm is asked "
                        "for");
    dm_taps_free(taps);
    b->fixture.from = at + 0.0505; /* kept */
    taps = tap_bench_place(b);
    assert_string_equal(taps->items[0].warning, "");
    dm_taps_free(taps);
    tap_bench_add(b, at - 0.01, at + 1.0, 0.05)->grade = DM_NONE;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_RESCAN);
    assert_true(taps->items[0].p_enter < 0.8);
    assert_no_drill(&taps->items[0]);
    assert_null(strstr(taps->items[0].warning, "may miss"));
    dm_taps_free(taps);
    b->items[0].reconciled = false;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_true(isnan(taps->items[0].p_enter));
    assert_string_equal(taps->items[0].warning,
                        "the distances of what was read there are not "
                        "reconciled: it may lie elsewhere");
    dm_taps_free(taps);
    b->found.count = 0;
    tap_bench_add(b, 3.0, 4.0, 0.001);
    b->request.id = "T1-I01-A";
    refuse(b, DM_INCONSISTENT);
    free(b);
}

/* A tape does not pass through the concrete of a deviator, and what has no face
 * to measure from cannot be marked. */
static void tapes_reach_no_face_through_concrete(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_support supports[3] = {{.id = "A1", .readable_ahead = 1.0},
                              {.id = "D1",
                               .kind = DM_SUPPORT_DEVIATOR,
                               .t = 10.0,
                               .readable_back = 9.5,
                               .readable_ahead = 10.5},
                              {.id = "A2", .t = LENGTH}};
    dm_taps *taps;

    (void)unused;
    supports[0].readable_back = supports[2].readable_ahead = (double)NAN;
    supports[2].readable_back = 19.0;
    b->faces[1].support = 2;
    tap_bench_add(b, 14.0, 15.0, 0.001);
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].back.face, 0);
    assert_int_equal(taps->items[0].ahead.face, 1);
    assert_string_equal(taps->items[0].warning, "");
    dm_taps_free(taps);
    b->tendon.supports = supports;
    b->tendon.support_count = 3;
    taps = tap_bench_place(b);
    assert_true(taps->items[0].back.face == DM_NONE);
    assert_int_equal(taps->items[0].ahead.face, 1);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_string_equal(taps->items[0].warning,
                        "one tape only, nothing checks it");
    dm_taps_free(taps);
    b->faces[1].touchable = false;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_RESCAN);
    assert_non_null(strstr(taps->items[0].why, "no face can be touched"));
    dm_taps_free(taps);
    free(b);
}

/* A request at a place that was opened as another tap: there is a hole. */
static void a_hole_is_one_whatever_its_id(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_as_found hole = {.what = {.id = "O1",
                                 .tendon = "T1",
                                 .t = 8.04,
                                 .clock = 0.1,
                                 .tap = "T1-I07-A",
                                 .date = "2026-05-01"}};
    int far;

    (void)unused;
    b->request = (dm_tap_request){.id = "Q1",
                                  .tendon = "T1",
                                  .face = "A1-f",
                                  .distance = 8.0,
                                  .clock = 0.0,
                                  .by = "engineer",
                                  .reason = "again"};
    b->job.request_count = 1;
    b->job.settings.tap_merge = 0.1;
    b->found.openings = &hole;
    b->found.opening_count = 1;
    for (far = 0; far < 3; far++) {
        dm_taps *taps = tap_bench_place(b);

        hole.what.t = taps->items[0].t + (far == 1 ? 0.11 : 0.09);
        hole.what.clock = far == 2 ? 0.11 / (0.5 * OD) : 0.09 / (0.5 * OD);
        dm_taps_free(taps);
        taps = tap_bench_place(b);
        assert_int_equal(taps->count, 1);
        assert_int_equal(taps->items[0].opened, far == 0 ? 0 : DM_NONE);
        dm_taps_free(taps);
    }
    free(b);
}

static void request_is_measured_from_its_face(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;
    const dm_tap *t;

    (void)unused;
    b->job.settings.mark_u = 0.002;
    b->face_u[1] = 0.015;
    b->face_cov[3] = 0.015 * 0.015;
    b->request = (dm_tap_request){.id = "Q1",
                                  .tendon = "T1",
                                  .face = "A2-f",
                                  .distance = 12.0,
                                  .clock = 0.0,
                                  .by = "engineer",
                                  .reason = "known leak"};
    b->job.request_count = 1;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 1);
    t = &taps->items[0];
    assert_near(t->t, 19.0 + 0.75 * 0.5 * OD - 12.0, 1e-9);
    assert_near(t->ahead.distance, 12.0, 1e-9);
    /* Its face makes the mark, though the other one is nearer. */
    assert_int_equal(t->mark_face, 1);
    assert_true(t->back.distance < t->ahead.distance);
    assert_near(t->ahead.u, 0.002, 1e-12);
    assert_near(t->back.u, hypot(0.002, 0.015), 1e-12);
    assert_string_equal(t->why, "requested by engineer: known leak");
    assert_true(t->indication == DM_NONE && isnan(t->p_enter));
    dm_taps_free(taps);
    free(b);
}

/* Standard normal distribution: P(z < 1) = 0.841344746068543, P(z < 2) =
 * 0.977249868051821 (formula 0.5 erfc(-z / sqrt 2); values computed
 * independently with mpmath). */
static void probability_is_the_mass_between_the_ends(void **unused)
{
    (void)unused;
    assert_near(dm_enter_probability(0.01, 0.0, 0.01, 1.0, 0.01),
                0.841344746068543, 1e-12);
    assert_near(dm_enter_probability(0.02, 0.0, 0.01, 0.04, 0.01),
                2.0 * 0.977249868051821 - 1.0, 1e-12);
    assert_near(dm_enter_probability(0.0, 0.5, -1.0, 0.02, 0.01),
                0.977249868051821, 1e-12); /* open at the begin */
    assert_near(dm_enter_probability(2.0, 0.0, 0.0, 1.0, 0.0), 0.0, 0.0);
}

static void level_duct_is_tapped_in_the_middle(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->segment.tangent = (dm_vec3){1.0, 0.0, 0.0};
    tap_bench_add(b, 12.0, 13.0, 0.01);
    taps = tap_bench_place(b);
    assert_near(taps->items[0].t, 12.5, 1e-9);
    assert_true(taps->items[0].p_axis > 0.999);
    /* No turn: what a footprint of 60 mm must have held at an index of 0.6, 0.3
     * x 0.6 x 60 mm to each side; line and mark 0.05 rad each. */
    assert_false(taps->items[0].turned);
    assert_near(taps->items[0].p_angle,
                erf(0.0108 / (0.5 * OD) / hypot(0.05, 0.05) / sqrt(2.0)), 1e-9);
    dm_taps_free(taps);
    free(b);
}

/* A turn at 12.5 that saw a void from 330 to 60 deg, strands below. */
static void add_turn(tap_bench *b, double half_u)
{
    tap_bench_turn(b, 330.0 * PI / 180.0, 60.0 * PI / 180.0, half_u, 34, 38);
}

static void a_turn_gives_the_clock_angle(void **unused)
{
    const double deg = PI / 180.0;
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->segment.tangent = (dm_vec3){1.0, 0.0, 0.0};
    tap_bench_add(b, 12.0, 13.0, 0.01)->clock = 0.5 * PI;
    add_turn(b, 5.0 * deg);
    taps = tap_bench_place(b);
    assert_true(taps->items[0].turned);
    assert_near(taps->items[0].clock, 15.0 * deg, 1e-12);
    assert_near(taps->items[0].void_half, 45.0 * deg, 1e-12);
    /* Each edge 5 deg: middle and half angle 5 / sqrt 2 each. */
    assert_near(taps->items[0].u_void_half, 5.0 / sqrt(2.0) * deg, 1e-12);
    assert_near(taps->items[0].p_enter,
                taps->items[0].p_axis * taps->items[0].p_angle, 0.0);
    assert_int_equal(taps->items[0].strands, DM_STRAND_SIDE_SEEN);
    assert_near(taps->items[0].strand_clock, 180.0 * deg, 1e-12);
    assert_string_equal(taps->items[0].warning, "");
    dm_taps_free(taps);
    /* Edges known to 30 deg: it would miss too often. */
    add_turn(b, 60.0 * deg);
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_RESCAN);
    assert_non_null(strstr(taps->items[0].why, "extent round the duct"));
    dm_taps_free(taps);
    free(b);
}

/* A turn that reads a strand all round bars the hole; further along nothing is
 * known, so that it does not move there. Without the turn there is a tap. */
static void a_hole_does_not_leave_what_a_turn_told(void **unused)
{
    tap_bench *b = tap_bench_new();
    double cells[72];
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 11.0, 13.0, 0.01);
    add_turn(b, 0.09);
    for (int i = 0; i < 72; i++)
        cells[i] = -0.6;
    b->turn.index = cells;
    b->turn.arc_count = 0;
    b->turn.t = 12.9;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_HAND_TOOL);
    dm_taps_free(taps);
    b->found.turn_count = 0;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    dm_taps_free(taps);
    free(b);
}

/* From the turn on the surface is level: at the high end the void is deeper,
 * at the low end shallower, by dt tan(slope). */
static void away_from_the_turn_the_surface_is_level(void **unused)
{
    const double deg = PI / 180.0;
    tap_bench *b = tap_bench_new();
    dm_taps *taps;
    double h;

    (void)unused;
    b->job.pairs = &b->pair;
    b->pair = (dm_tap_pair){
        .indication = "T1-I01", .by = "engineer", .reason = "flushing"};
    tap_bench_add(b, 12.46, 12.62, 0.001);
    add_turn(b, 2.0 * deg);
    b->turn.t = 12.47;
    b->job.pair_count = 1;
    b->job.settings.tap_margin = 0.0;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 2);
    assert_int_equal(taps->items[0].role, DM_ROLE_INLET);
    assert_string_equal(taps->items[0].id, "T1-I01-B");
    assert_int_equal(taps->items[1].role, DM_ROLE_OUTLET);
    h = 0.05 * (1.0 - cos(45.0 * deg)) + (12.618 - 12.47) * 0.75;
    assert_true(h > 0.1);
    assert_near(taps->items[1].void_half, PI, 1e-6);
    /* dt = 12.462 - 12.47, slope 3 in 4. */
    h = 0.05 * (1.0 - cos(45.0 * deg)) - 0.008 * 0.75;
    assert_near(taps->items[0].void_half, acos(1.0 - h / 0.05), 1e-9);
    dm_taps_free(taps);
    free(b);
}

static void
the_kinds_chance_is_passed_on_and_doubt_stops_the_drill(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_indication *i = tap_bench_add(b, 12.0, 13.0, 0.01);
    dm_taps *taps = tap_bench_place(b);

    (void)unused;
    assert_true(isnan(taps->items[0].p_kind));
    dm_taps_free(taps);
    i->posterior.known = true;
    i->posterior.p[DM_MATERIAL_VOID] = 0.93;
    taps = tap_bench_place(b);
    assert_near(taps->items[0].p_kind, 0.93, 0.0);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    dm_taps_free(taps);
    i->clock_doubt = true;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_RESCAN);
    assert_non_null(strstr(taps->items[0].why, "mirrored"));
    dm_taps_free(taps);
    free(b);
}

static void a_pair_without_room_becomes_one(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->job.pairs = &b->pair;
    b->pair = (dm_tap_pair){
        .indication = "T1-I01", .by = "engineer", .reason = "flushing"};
    b->job.pair_count = 1;
    tap_bench_add(b, 12.0, 12.15, 0.001);
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 1);
    assert_int_equal(taps->items[0].role, DM_ROLE_SINGLE);
    assert_non_null(strstr(taps->items[0].why, "no room for the pair "
                                               "requested by engineer"));
    dm_taps_free(taps);
    /* A longer one: both ends of the aim interval. */
    b->found.count = 0;
    tap_bench_add(b, 12.0, 13.0, 0.001);
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 2);
    assert_near(taps->items[0].t, 12.0 + 0.002 + 0.025, 1e-9);
    assert_near(taps->items[1].t, 13.0 - 0.002 - 0.025, 1e-9);
    assert_string_not_equal(taps->items[0].uid, taps->items[1].uid);
    dm_taps_free(taps);
    free(b);
}

static void an_allowance_brings_a_chance_and_a_caution(void **unused)
{
    dm_strand_type strand = {.diameter = 0.01524, .area = 140e-6};
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->model.strand_types = &strand;
    b->model.strand_type_count = 1;
    b->tendon.strands = 19;
    tap_bench_add(b, 12.0, 13.0, 0.01);
    taps = tap_bench_place(b);
    assert_near(taps->items[0].p_contact, 0.0, 0.0);
    assert_string_equal(taps->items[0].warning, "");
    dm_taps_free(taps);
    b->job.settings.stop_allowance = 0.002;
    taps = tap_bench_place(b);
    assert_true(taps->items[0].p_contact > 0.05 &&
                taps->items[0].p_contact < 0.5);
    assert_near(taps->items[0].depth_stop, 0.0087, 1e-12);
    assert_non_null(strstr(taps->items[0].warning,
                           "stop at the inner face, pierce by hand"));
    dm_taps_free(taps);
    free(b);
}

/* A boot hides the duct to 0.5 m beyond the face. */
static void boots_are_kept_clear(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_support supports[2] = {
        {.readable_back = (double)NAN, .readable_ahead = 1.5},
        {.readable_back = 18.5, .readable_ahead = (double)NAN}};
    dm_taps *taps;

    (void)unused;
    b->tendon.supports = supports;
    b->tendon.support_count = 2;
    tap_bench_add(b, 18.0, 18.6, 0.001);
    taps = tap_bench_place(b);
    assert_near(taps->items[0].t, 18.45, 1e-9);
    dm_taps_free(taps);
    free(b);
}

static dm_status place_once(void *user)
{
    tap_bench *b = user;
    dm_taps *taps = NULL;
    dm_status status =
        dm_taps_place(&b->model, &b->survey, &b->stations, &b->found,
                      &b->criteria, &b->job, NULL, NULL, &taps);

    dm_taps_free(taps);
    return status;
}

static void every_failed_allocation_is_said(void **unused)
{
    tap_bench *b = tap_bench_new();

    (void)unused;
    tap_bench_add(b, 3.0, 3.1, 0.02);
    tap_bench_add(b, 12.0, 12.5, 0.001);
    tap_bench_add(b, 12.4, 12.58, 0.001);
    b->request = (dm_tap_request){.id = "Q1",
                                  .tendon = "T1",
                                  .face = "A2-f",
                                  .distance = 4.0,
                                  .by = "engineer",
                                  .reason = "known leak"};
    b->job.request_count = 1;
    assert_true(allocfail_each(place_once, b) > 3);
    free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(aim_keeps_bound_and_margin_off_both_ends),
        cmocka_unit_test(tapes_start_where_the_plane_crosses_the_line),
        cmocka_unit_test(nominal_wall_is_said_to_be_assumed),
        cmocka_unit_test(line_is_the_crown_or_the_nearest_of_the_others),
        cmocka_unit_test(measure_round_the_duct_is_signed),
        cmocka_unit_test(empty_interval_asks_for_a_rescan),
        cmocka_unit_test(shorter_than_footprint_asks_for_a_rescan),
        cmocka_unit_test(fixtures_and_unread_lengths_are_kept_clear),
        cmocka_unit_test(a_fixture_on_the_other_side_is_no_hindrance),
        cmocka_unit_test(strands_at_the_wall_want_a_hand_tool),
        cmocka_unit_test(bends_say_why_they_want_a_hand_tool),
        cmocka_unit_test(a_hole_moves_along_the_void_off_the_strands),
        cmocka_unit_test(a_turn_gives_the_clock_angle),
        cmocka_unit_test(a_hole_does_not_leave_what_a_turn_told),
        cmocka_unit_test(away_from_the_turn_the_surface_is_level),
        cmocka_unit_test(
            the_kinds_chance_is_passed_on_and_doubt_stops_the_drill),
        cmocka_unit_test(a_pair_without_room_becomes_one),
        cmocka_unit_test(an_allowance_brings_a_chance_and_a_caution),
        cmocka_unit_test(boots_are_kept_clear),
        cmocka_unit_test(request_over_strands_wants_a_hand_tool),
        cmocka_unit_test(request_wants_bare_duct_outside_the_concrete),
        cmocka_unit_test(request_is_judged_by_where_it_lies),
        cmocka_unit_test(tapes_reach_no_face_through_concrete),
        cmocka_unit_test(a_hole_is_one_whatever_its_id),
        cmocka_unit_test(request_is_measured_from_its_face),
        cmocka_unit_test(probability_is_the_mass_between_the_ends),
        cmocka_unit_test(level_duct_is_tapped_in_the_middle),
        cmocka_unit_test(every_failed_allocation_is_said),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
