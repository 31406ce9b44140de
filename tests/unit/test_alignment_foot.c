/* SPDX-License-Identifier: MIT
 * From a point to its station and offset on a reference line. Expected values
 * are closed forms, or the point that the station and offset were turned into.
 */
#include "line_plan.h"

#include "line.h"

static void check_back(const plan *q, double s, double offset, double tolerance)
{
    dm_vec3 p = dm_alignment_point(&q->line, s, offset, 0);
    dm_alignment_foot f = dm_alignment_nearest(&q->line, p);

    assert_near(f.s, s, tolerance);
    assert_near(f.offset, offset, tolerance);
    if (s > q->line.begin + 1e-6 && s < q->line.end - 1e-6)
        assert_true(f.inside);
    else if (s < q->line.begin - 1e-6 || s > q->line.end + 1e-6)
        assert_false(f.inside);
    assert_true(f.certain);
}

/* Every kind of element and of joint, both hands. */
static void nearest_all_kinds_come_back(void **state)
{
    (void)state;
    for (int hand = -1; hand <= 1; hand += 2) {
        double k = hand / 150.0;
        plan q = {.e = {{.length = 40, .k0 = 0, .k1 = 0},
                        {.length = 60, .k0 = 0, .k1 = k},
                        {.length = 30, .k0 = k, .k1 = k},
                        {.length = 45, .k0 = k, .k1 = 2 * k},
                        {.length = 50, .k0 = 2 * k, .k1 = -k},
                        {.length = 20, .k0 = -k, .k1 = -k},
                        {.length = 35, .k0 = -k, .k1 = 0},
                        {.length = 25, .k0 = 1.5 * k, .k1 = 1.5 * k}}};
        plan_chain(&q, 8, 500, 0, 0, 2);
        for (double s = 480; s < 830; s += 0.73)
            for (double offset = -40; offset <= 40; offset += 8)
                check_back(&q, s, offset, 1e-9);
        for (size_t i = 0; i < 8; i++)
            for (double offset = -40; offset <= 40; offset += 8)
                check_back(&q, q.e[i].s0, offset, 1e-9);
    }
}

/* A foot at a joint must not fall between the roundings of its two elements,
 * which are large where coordinates are. */
static void nearest_at_joints_far_from_origin_is_found(void **state)
{
    plan q = {.e = {{0}}};

    (void)state;
    for (size_t i = 0; i < PLAN_MOST; i++) {
        double k = i % 2 ? 1 / 90.0 : -1 / 140.0;
        q.e[i] = (dm_horizontal){.length = 17.3 + 0.1 * (double)i,
                                 .k0 = i % 3 == 0 ? 0 : k,
                                 .k1 = i % 3 == 1 ? 0 : k};
    }
    plan_chain(&q, PLAN_MOST, 0, 4194305.3, 6291457.7, 0.3);
    for (size_t i = 1; i < PLAN_MOST; i++)
        for (double offset = -30; offset <= 30; offset += 0.37)
            check_back(&q, q.e[i].s0, offset, 4e-9);
}

static void nearest_beyond_ends_is_on_prolonged_tangents(void **state)
{
    plan q = {.e = {{.length = 100, .k0 = 0, .k1 = 0.005}}};

    (void)state;
    plan_chain(&q, 1, 50, 0, 0, PI / 2);
    dm_alignment_foot f = dm_alignment_nearest(&q.line, (dm_vec3){-12, -3, 0});
    assert_near(f.s, 38, 1e-12);
    assert_near(f.offset, 3, 1e-12);
    assert_false(f.inside);
    assert_true(f.certain);
    check_back(&q, 163, 8, 1e-9);
    check_back(&q, 163, -80, 1e-9);
    /* At the ends themselves. */
    for (double offset = -80; offset <= 80; offset += 16) {
        check_back(&q, 50, offset, 1e-9);
        check_back(&q, 150, offset, 1e-9);
    }
    /* The prolonged tangent passes near, the line is nearer. */
    f = dm_alignment_nearest(&q.line, (dm_vec3){90, 1, 0});
    assert_true(f.inside);
}

/* On a circle the foot is on the radius. */
static void nearest_on_concave_side_is_the_near_foot(void **state)
{
    plan q = {.e = {{.length = 60 * PI, .k0 = 1 / 60.0, .k1 = 1 / 60.0}}};

    (void)state;
    plan_chain(&q, 1, 0, 0, 0, 0); /* centre (60, 0), west side first */
    for (double r = 0.01; r < 59; r += 3.7)
        for (double a = 0.05; a < 3.1; a += 0.1) {
            dm_vec3 p = {60 - r * cos(a), r * sin(a), 0};
            dm_alignment_foot f = dm_alignment_nearest(&q.line, p);
            assert_near(f.s, 60 * a, 60 * 1e-12 / r * 60);
            assert_near(f.offset, 60 - r, 1e-12);
            assert_true(f.inside);
            assert_int_equal(f.certain, r > 0.06);
        }
    /* Beyond the centre, seen from the arc: the nearest point is an end. */
    dm_alignment_foot f = dm_alignment_nearest(&q.line, (dm_vec3){61, -20, 0});
    assert_false(f.inside);
    assert_near(f.s, 60 * PI + 20, 1e-9);
    assert_near(f.offset, 59, 1e-9);
}

static void nearest_at_centre_is_not_certain(void **state)
{
    (void)state;
    for (int hand = -1; hand <= 1; hand += 2) {
        plan q = {.e = {{.length = 50, .k0 = 0, .k1 = 0},
                        {.length = 90, .k0 = hand / 75.0, .k1 = hand / 75.0},
                        {.length = 50, .k0 = 0, .k1 = 0}}};
        plan_chain(&q, 3, 0, 1000, 2000, 1);
        dm_vec3 centre = dm_alignment_point(&q.line, 60, hand * 75, 0);
        dm_alignment_foot f = dm_alignment_nearest(&q.line, centre);
        assert_false(f.certain);
        assert_near(fabs(f.offset), 75, 1e-9);
        assert_true(f.s > 50 - 1e-6 && f.s < 140 + 1e-6);
    }
}

/* Midway between two lengths of a hairpin either may be the nearest. */
static void nearest_midway_in_hairpin_is_not_certain(void **state)
{
    plan q = {.e = {{.length = 80, .k0 = 0, .k1 = 0},
                    {.length = 20 * PI, .k0 = 0.05, .k1 = 0.05},
                    {.length = 80, .k0 = 0, .k1 = 0}}};

    (void)state;
    plan_chain(&q, 3, 0, 0, 0, 0); /* north, round, back at x = 40 */
    dm_alignment_foot f = dm_alignment_nearest(&q.line, (dm_vec3){20, 30, 0});
    assert_false(f.certain);
    assert_near(f.s, 30, 1e-9); /* the least of the two */
    assert_near(f.offset, 20, 1e-9);
    f = dm_alignment_nearest(&q.line, (dm_vec3){20.1, 30, 0});
    assert_true(f.certain);
    assert_near(f.s, 80 + 20 * PI + 50, 1e-9);
    assert_near(f.offset, 19.9, 1e-9);
    check_back(&q, 80 + 10 * PI, 15, 1e-9);
    check_back(&q, 80 + 10 * PI, -15, 1e-9);
}

/* A ramp that turns by 300 deg and crosses below itself. */
static void nearest_on_ramp_of_300_deg_comes_back(void **state)
{
    double k = 1 / 35.0, turn = 300 * PI / 180;

    (void)state;
    for (int hand = -1; hand <= 1; hand += 2) {
        plan q = {
            .e = {{.length = 120, .k0 = 0, .k1 = 0},
                  {.length = 30, .k0 = 0, .k1 = hand * k},
                  {.length = turn / k - 30, .k0 = hand * k, .k1 = hand * k},
                  {.length = 30, .k0 = hand * k, .k1 = 0},
                  {.length = 120, .k0 = 0, .k1 = 0}}};
        plan_chain(&q, 5, 0, 0, 0, 0);
        assert_near(hand * (dm_alignment_at(&q.line, q.line.end).bearing), turn,
                    1e-13);
        /* Away from where it crosses itself. */
        for (double s = 160; s < q.line.end - 160; s += 0.9)
            for (double offset = -12; offset <= 12; offset += 3)
                check_back(&q, s, offset, 1e-9);
    }
}

/* Inside a spiral: beyond the centres of curvature two feet lie on one step,
 * and only a dense look sees which is nearest. */
static void nearest_about_evolute_agrees_with_dense_look(void **state)
{
    uint64_t seed = 5;

    (void)state;
    for (int i = 0; i < 60; i++) {
        double k0 = line_uniform(&seed, -0.02, 0.04);
        double k1 = line_uniform(&seed, -0.02, 0.04);
        plan q = {
            .e = {{.length = line_uniform(&seed, 20, 200), .k0 = k0, .k1 = k1},
                  {.length = 40, .k0 = 0, .k1 = 0}}};
        plan_chain(&q, 2, 0, 0, 0, 1);
        double s = line_uniform(&seed, 0, q.e[0].length);
        double k = dm_alignment_at(&q.line, s).curvature;
        dm_vec3 p = dm_alignment_point(&q.line, s,
                                       line_uniform(&seed, 0.95, 1.15) / k, 0);
        dm_alignment_foot f = dm_alignment_nearest(&q.line, p);
        double found = f.inside  ? fabs(f.offset)
                       : f.s < 0 ? hypot(p.x, p.y)
                                 : hypot(f.offset, f.s - q.line.end);
        double least = 1e300;
        for (int j = 0; j <= 20000; j++) {
            dm_alignment_place at =
                dm_alignment_at(&q.line, q.line.end * j / 20000);
            least = fmin(least, hypot(p.x - at.x, p.y - at.y));
        }
        assert_true(found <= least + 1e-12);
        assert_near(found, least, 1e-4);
    }
}

/* Seen from far away, and on a line of one element only. */
static void nearest_from_far_is_exact(void **state)
{
    plan q = {.e = {{.length = 10, .k0 = 0, .k1 = 0}}};

    (void)state;
    plan_chain(&q, 1, 0, 0, 0, PI / 2);
    dm_alignment_foot f = dm_alignment_nearest(&q.line, (dm_vec3){4, 1e6, 0});
    assert_near(f.s, 4, 1e-9);
    assert_near(f.offset, -1e6, 1e-9);
    assert_true(f.inside && f.certain);
    f = dm_alignment_nearest(&q.line, (dm_vec3){-1e6, 3, 0});
    assert_near(f.s, -1e6, 1e-9);
    assert_near(f.offset, -3, 1e-9);
}

/* What is no number gives none, and gives it soon. */
static void nearest_and_at_not_a_number_end(void **state)
{
    plan q = {.e = {{.length = 100, .k0 = 0.01, .k1 = 0.02},
                    {.length = 10, .k0 = 0, .k1 = 0}}};

    (void)state;
    plan_chain(&q, 2, 0, 0, 0, 0);
    dm_alignment_foot f =
        dm_alignment_nearest(&q.line, (dm_vec3){(double)NAN, 0, 0});
    assert_true(isnan(f.s) && isnan(f.offset));
    assert_false(f.inside || f.certain);
    dm_alignment_nearest(&q.line, (dm_vec3){(double)INFINITY, 0, 0});
    dm_alignment_nearest(&q.line, (dm_vec3){1e300, -1e300, 0});
    assert_true(isnan(dm_alignment_at(&q.line, (double)NAN).x));
    dm_alignment_at(&q.line, (double)INFINITY);
    assert_true(isnan(dm_alignment_point(&q.line, 3, (double)NAN, 0).x));

    /* An element that says what no reader lets through. */
    plan bad = {.e = {{.length = 100, .k0 = (double)NAN, .k1 = 1},
                      {.length = 100, .k0 = 1e300, .k1 = 1}}};
    plan_chain(&bad, 2, 0, 0, 0, 0);
    dm_alignment_nearest(&bad.line, (dm_vec3){1, 2, 0});
    dm_alignment_at(&bad.line, 150);
}

/* The tightest and longest element that a bridge file may hold. */
static void nearest_on_longest_spiral_ends(void **state)
{
    plan q = {.e = {{.length = 1e5, .k0 = 0, .k1 = 1}}};

    (void)state;
    plan_chain(&q, 1, 0, 0, 0, 0);
    dm_alignment_foot f = dm_alignment_nearest(&q.line, (dm_vec3){-30, 5, 0});
    assert_true(f.inside);
    assert_near(f.s, 5, 0.1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nearest_all_kinds_come_back),
        cmocka_unit_test(nearest_at_joints_far_from_origin_is_found),
        cmocka_unit_test(nearest_beyond_ends_is_on_prolonged_tangents),
        cmocka_unit_test(nearest_on_concave_side_is_the_near_foot),
        cmocka_unit_test(nearest_at_centre_is_not_certain),
        cmocka_unit_test(nearest_midway_in_hairpin_is_not_certain),
        cmocka_unit_test(nearest_on_ramp_of_300_deg_comes_back),
        cmocka_unit_test(nearest_about_evolute_agrees_with_dense_look),
        cmocka_unit_test(nearest_from_far_is_exact),
        cmocka_unit_test(nearest_and_at_not_a_number_end),
        cmocka_unit_test(nearest_on_longest_spiral_ends),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
