/* SPDX-License-Identifier: MIT
 * Where no hole may be: strands that a clock line may have read, fixtures round
 * the duct, a stop beyond the wall of which nothing is known; and where the
 * high end is. Expected values in closed form. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "tap/aim.h"
#include "tap_bench.h"

#define PI 3.14159265358979323846
#define DEG (PI / 180.0)

static dm_advice advice_of(tap_bench *b, size_t index)
{
    dm_taps *taps = tap_bench_place(b);
    dm_advice advice = DM_ADVICE_TAP;

    for (size_t i = 0; i < taps->count; i++)
        if (taps->items[i].indication == index)
            advice = taps->items[i].advice;
    dm_taps_free(taps);
    return advice;
}

static dm_indication *soft(tap_bench *b, double from, double to)
{
    dm_indication *i = tap_bench_add(b, from, to, 0.01);

    i->kind = DM_KIND_SOFT_LIKE;
    i->index = -0.6;
    return i;
}

/* By bands alone it may be a strand; by the calibration's materials it is soft
 * grout with the confidence asked for. */
static void soft_like_by_bands_alone_wants_a_hand_tool(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_indication *i = soft(b, 12.0, 13.0);
    dm_taps *taps = tap_bench_place(b);

    (void)unused;
    assert_int_equal(taps->items[0].advice, DM_ADVICE_HAND_TOOL);
    assert_int_equal(taps->items[0].strands, DM_STRAND_SIDE_SEEN);
    assert_non_null(
        strstr(taps->items[0].why, "a strand or soft grout was read"));
    dm_taps_free(taps);
    i->posterior.known = true;
    assert_int_equal(advice_of(b, 0), DM_ADVICE_TAP);
    i->kind = DM_KIND_UNRESOLVED;
    assert_int_equal(advice_of(b, 0), DM_ADVICE_HAND_TOOL);
    free(b);
}

/* The mark at 12:00 of a void; another line reads below 0 along it. Sides hold
 * 2 x 30 deg, the crew 2 x 0.05 rad, the bit asin(4 / 50.15) = 4.6 deg, and 7.5
 * deg more where the strands' size is not known: 72.6 deg at clock-u alone. */
static void a_line_below_zero_bars_what_lies_beside_it(void **unused)
{
    static const struct {
        double clock, from, to;
        dm_advice advice;
    } rows[] = {{30.0, 12.0, 13.0, DM_ADVICE_HAND_TOOL},
                {330.0, 12.0, 13.0, DM_ADVICE_HAND_TOOL},
                {60.0, 12.0, 13.0, DM_ADVICE_HAND_TOOL},
                {120.0, 12.0, 13.0, DM_ADVICE_TAP},
                {30.0, 14.0, 15.0, DM_ADVICE_TAP}};

    (void)unused;
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        tap_bench *b = tap_bench_new();

        b->criteria.grade_count = 2;
        tap_bench_add(b, 12.0, 13.0, 0.01);
        soft(b, rows[k].from, rows[k].to)->clock = rows[k].clock * DEG;
        b->items[1].grade = 1; /* not to be tapped itself */
        assert_int_equal(advice_of(b, 0), rows[k].advice);
        free(b);
    }
}

/* A second line that shows it weaker tells of strands too. */
static void every_line_that_reads_below_counts(void **unused)
{
    tap_bench *b = tap_bench_new();
    float index[200];
    dm_profile line = {
        .clock = 30.0 * DEG, .pitch = 0.1, .index = index, .count = 200};

    (void)unused;
    for (int k = 0; k < 200; k++)
        index[k] = -0.1F;
    tap_bench_add(b, 12.0, 13.0, 0.01);
    soft(b, 12.0, 13.0)->clock = 180.0 * DEG;
    b->items[1].grade = 1;
    b->found.profiles = &line;
    b->found.profile_count = 1;
    assert_int_equal(advice_of(b, 0), DM_ADVICE_TAP);
    for (int k = 120; k < 130; k++)
        index[k] = -0.3F;
    assert_int_equal(advice_of(b, 0), DM_ADVICE_HAND_TOOL);
    free(b);
}

/* A hole 300 mm along touched a strand at 12:00. Where it touched one on the
 * other side, or a metre away, it tells nothing of this mark. */
static void an_opening_that_touched_a_strand_bars_its_side(void **unused)
{
    static const struct {
        double t, clock;
        bool strand;
        dm_advice advice;
    } rows[] = {{12.6, 0.0, true, DM_ADVICE_HAND_TOOL},
                {12.6, 40.0, true, DM_ADVICE_HAND_TOOL},
                {12.6, 0.0, false, DM_ADVICE_TAP},
                {12.6, 180.0, true, DM_ADVICE_TAP},
                {14.0, 0.0, true, DM_ADVICE_TAP}};

    (void)unused;
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        tap_bench *b = tap_bench_new();
        dm_as_found found = {.what = {.id = "O1",
                                      .date = "2026-04-28",
                                      .t = rows[k].t,
                                      .clock = rows[k].clock * DEG,
                                      .found = DM_FOUND_VOID,
                                      .strand = rows[k].strand},
                             .indication = DM_NONE};

        b->found.openings = &found;
        b->found.opening_count = 1;
        b->job.settings.tap_merge = 0.001;
        tap_bench_add(b, 12.5, 12.8, 0.01);
        assert_int_equal(advice_of(b, 0), rows[k].advice);
        free(b);
    }
}

/* Strands at 11:30 turn the mark away from the middle of the turn's arc. A weld
 * 49 deg from there is nearer than the margin, 50 mm on a radius of 57.15 mm:
 * 50.1 deg. */
static void fixtures_are_asked_at_the_marks_own_angle(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->segment.tangent = (dm_vec3){1.0, 0.0, 0.0};
    tap_bench_add(b, 12.0, 13.0, 0.01);
    /* About 345 deg. */
    tap_bench_turn(b, 300.0 * DEG, 60.0 * DEG, 2.0 * DEG, 67, 71);
    b->job.settings.clock_u = 0.0;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_true(taps->items[0].clock > 5.0 * DEG &&
                taps->items[0].clock < 40.0 * DEG);
    double free_mark = taps->items[0].clock;
    dm_taps_free(taps);
    b->fixture = (dm_fixture){.id = "W1",
                              .kind = DM_FIXTURE_WELD,
                              .from = 11.0,
                              .to = 14.0,
                              .clock_from = free_mark + 49.0 * DEG,
                              .clock_to = free_mark + 80.0 * DEG};
    b->tendon.fixture_count = 1;
    taps = tap_bench_place(b);
    /* Beyond the strands, 24.6 deg before their middle. */
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_true(taps->items[0].clock > 300.0 * DEG &&
                taps->items[0].clock < 320.5 * DEG);
    dm_taps_free(taps);
    /* Half a degree further than the margin: nothing changes. */
    b->fixture.clock_from = free_mark + (0.05 / 0.05715 / DEG + 0.5) * DEG;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_near(taps->items[0].clock, free_mark, 0.0);
    dm_taps_free(taps);
    free(b);
}

/* An allowance with strands of unknown size: no chance can be stated, so that
 * there is no drill. Without a documented wall it is not stated either. */
static void an_unknown_chance_of_contact_is_no_zero(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 12.0, 13.0, 0.01);
    b->type.wall_min = (double)NAN;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_TAP);
    assert_true(taps->items[0].wall_assumed);
    assert_true(isnan(taps->items[0].p_contact));
    dm_taps_free(taps);
    b->type.wall_min = 0.0067;
    taps = tap_bench_place(b);
    assert_near(taps->items[0].p_contact, 0.0, 0.0);
    dm_taps_free(taps);
    b->job.settings.stop_allowance = 0.002;
    taps = tap_bench_place(b);
    assert_int_equal(taps->items[0].advice, DM_ADVICE_HAND_TOOL);
    assert_true(isnan(taps->items[0].p_contact));
    assert_non_null(strstr(taps->items[0].why, "is not known"));
    dm_taps_free(taps);
    free(b);
}

/* Two lines that read the same: water and strands lie low. */
static void of_equal_lines_the_higher_is_opened(void **unused)
{
    tap_bench *b = tap_bench_new();
    float index[200];
    dm_profile line = {.pitch = 0.1, .index = index, .count = 200};
    dm_taps *taps;

    (void)unused;
    for (int k = 0; k < 200; k++)
        index[k] = 0.6F;
    b->found.profiles = &line;
    b->found.profile_count = 1;
    tap_bench_add(b, 12.0, 13.0, 0.01)->clock = PI;
    taps = tap_bench_place(b);
    assert_near(taps->items[0].clock, 0.0, 0.0);
    dm_taps_free(taps);
    /* The crown shows a quarter of it: the line that shows it best. */
    for (int k = 0; k < 200; k++)
        index[k] = 0.15F;
    taps = tap_bench_place(b);
    assert_near(taps->items[0].clock, PI, 0.0);
    dm_taps_free(taps);
    free(b);
}

/* Legs of slope s up and down joined by an arc of radius R: the crest lies in
 * the middle of the arc, R atan(s) from its ends. */
static void crest_and_sag_inside_a_length_are_found(void **unused)
{
    static const double slopes[] = {0.05, -0.05};
    double radius[] = {0.0, 20.0, 0.0};

    (void)unused;
    for (int k = 0; k < 2; k++) {
        dm_vec3 points[] = {{0.0, 0.0, 0.0},
                            {10.0, 0.0, 10.0 * slopes[k]},
                            {22.0, 0.0, -2.0 * slopes[k]}};
        dm_segment segments[16];
        size_t arc_of[3], where;
        dm_centreline line;
        double t = 0.0, middle, leg = hypot(10.0, 0.5);
        double turn = 2.0 * atan(0.05);
        bool level;

        assert_int_equal(dm_centreline_build(points, radius, 3, segments,
                                             arc_of, &line, &where),
                         DM_POLYGON_OK);
        middle = leg - 20.0 * tan(0.5 * turn) + 20.0 * 0.5 * turn;
        assert_true(dm_aim_choose(&line, 8.0, 15.0, NULL, 0,
                                  k == 0 ? DM_AIM_HIGH : DM_AIM_INLET, &t,
                                  &level));
        assert_false(level);
        assert_near(t, middle, 1e-6);
        /* What is barred is not taken: its nearer end. */
        const dm_span no[] = {{middle - 0.2, middle + 0.1}};
        assert_true(dm_aim_choose(&line, 8.0, 15.0, no, 1,
                                  k == 0 ? DM_AIM_HIGH : DM_AIM_INLET, &t,
                                  &level));
        assert_near(t, middle + 0.1, 1e-6);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(soft_like_by_bands_alone_wants_a_hand_tool),
        cmocka_unit_test(a_line_below_zero_bars_what_lies_beside_it),
        cmocka_unit_test(every_line_that_reads_below_counts),
        cmocka_unit_test(an_opening_that_touched_a_strand_bars_its_side),
        cmocka_unit_test(fixtures_are_asked_at_the_marks_own_angle),
        cmocka_unit_test(an_unknown_chance_of_contact_is_no_zero),
        cmocka_unit_test(of_equal_lines_the_higher_is_opened),
        cmocka_unit_test(crest_and_sag_inside_a_length_are_found),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
