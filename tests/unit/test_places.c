/* SPDX-License-Identifier: MIT
 * Where places of a run are: bounds, roll-backs, blunders, batches, memory. */
#include "allocfail.h"
#include "solved.h"

/* ---- places and bounds
 * -------------------------------------------------------
 */

static void exact_ties_fix_their_faces(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.015);
    f.instruments[0].walk = 0.001;
    survey_fixture_start(&f, 0, 0, 0);
    survey_fixture_tie(&f, 10.004, 1, 0);
    survey_fixture_readings(&f);
    solve(&f);
    dm_station_point p = at(&f, 0, 0, 0), q = at(&f, 0, 0, 10.004);
    assert_near(sqrt(p.ahead), 0, 2e-6);
    assert_near(p.t, f.stations->face_shift[0], 1e-7);
    assert_near(q.t, 10 + f.stations->face_shift[1], 1e-7);
    /* Far less than where the face stands in the world. */
    assert_near(p.world, pow(f.stations->face_u[0], 2), 1e-10);
    assert_true(p.ahead < 1e-3 * p.world);
    survey_fixture_end(&f);
}

static void variance_to_a_near_face_is_smaller(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.015);
    f.instruments[0].walk = 0.001;
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_tie(&f, 10, 1, 0.003);
    survey_fixture_readings(&f);
    solve(&f);
    dm_station_point p = at(&f, 0, 0, 0.5), q = at(&f, 0, 0, 9.5);
    assert_true(p.back < 0.2 * p.world && p.back < p.ahead);
    assert_true(q.ahead < 0.2 * q.world && q.ahead < q.back);
    assert_int_equal(p.face_back, 0);
    assert_int_equal(p.face_ahead, 1);
    assert_int_equal(at(&f, 0, 0, 11).face_ahead, DM_NONE);
    assert_true(isnan(at(&f, 0, 0, 11).ahead));
    survey_fixture_end(&f);
}

static void faces_out_of_reach_are_not_named(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){0, 3, 6}, 3, 0.01);
    f.faces[1].touchable = false;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    solve(&f);
    assert_int_equal(at(&f, 0, 0, 4).face_back, 0);
    assert_int_equal(at(&f, 0, 0, 4).face_ahead, 2);
    survey_fixture_end(&f);
}

/* A face that leans by 0.2 crosses the crown and the bottom line of a 0.1 m
 * duct 10 mm either side of the axis. */
static void slanted_face_stands_by_clock_line(void **state)
{
    const double pi = 3.14159265358979323846;

    (void)state;
    for (int k = 0; k < 2; k++) {
        survey_fixture f;
        survey_fixture_init(&f, (const double[]){5}, 1, 0.01);
        f.faces[0].normal = dm_vec3_unit((dm_vec3){1, 0, 0.2});
        dm_run *r = survey_fixture_run(&f);
        r->clock = k ? pi : 0.0;
        survey_fixture_start(&f, 0, 0, 0.003);
        survey_fixture_readings(&f);
        solve(&f);
        assert_near(station(&f, 1), 6 + (k ? 0.01 : -0.01), 1e-9);
        survey_fixture_end(&f);
    }
}

static void rezero_goes_on_where_it_was(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.01);
    f.instruments[0].walk = 0.001;
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_event(&f, DM_EVENT_REZERO, 6)->x_resume = 0;
    survey_fixture_readings(&f);
    survey_fixture_tie(&f, 4.02, 1, 0.003);
    solve(&f);
    assert_near(at(&f, 0, 0, 6).t, at(&f, 0, 1, 0).t, 1e-12);
    assert_near(at(&f, 0, 0, 6).world, at(&f, 0, 1, 0).world, 1e-15);
    double slope = at(&f, 0, 1, 2).t - at(&f, 0, 1, 1).t;
    assert_near(at(&f, 0, 0, 2).t - at(&f, 0, 0, 1).t, slope, 1e-12);
    survey_fixture_end(&f);
}

/* The sensor is pulled back over its start and ties once more there: x falls,
 * a place stays a place. */
static void roll_back_maps_by_run_distance(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.01);
    f.instruments[0].walk = 0.001;
    survey_fixture_start(&f, 1.0, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_tie(&f, 0.7, 0, 0.003)->distance = -0.3;
    survey_fixture_tie(&f, 11.0, 1, 0.003);
    solve(&f);
    assert_true(f.stations->intervals[0].reconciled);
    assert_near(station(&f, 1.0), 0, 1e-6);
    assert_near(station(&f, 0.7), -0.3, 1e-6);
    assert_near(station(&f, 0.2), -0.8, 1e-6);
    assert_near(station(&f, 6.0), 5, 1e-6);
    double before = at(&f, 0, 0, 0.0).world, there = at(&f, 0, 0, 0.7).world;
    assert_near(before - there, 0.7e-6, 1e-12);
    assert_near(at(&f, 0, 0, -0.6).world - there, 1.3e-6, 1e-12);
    survey_fixture_end(&f);
}

/* Ties that go back in x, each with a blunder: the search for blunders must
 * end, flag what lies between, and place the rest by its own ties. */
static void blunder_over_a_roll_back_ends(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){0, 10, 20, 30}, 4, 0.01);
    f.instruments[0].walk = 0.001;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_tie(&f, 10, 1, 0.003);
    survey_fixture_tie(&f, 9.8, 2, 0.003); /* the wrong face */
    survey_fixture_tie(&f, 9.9, 1, 0.003)->distance = 0.1;
    survey_fixture_tie(&f, 30, 3, 0.003);
    solve(&f);
    assert_int_equal(f.diag.warnings, 1);
    assert_false(f.stations->intervals[1].reconciled);
    assert_false(f.stations->intervals[2].reconciled);
    assert_true(f.stations->intervals[0].reconciled);
    assert_true(f.stations->intervals[3].reconciled);
    assert_false(at(&f, 0, 0, 9.9).reconciled);
    assert_true(at(&f, 0, 0, 5).reconciled && at(&f, 0, 0, 20).reconciled);
    assert_near(station(&f, 5), 5, 1e-3);
    assert_near(station(&f, 20), 20, 1e-3);
    assert_near(at(&f, 0, 0, 40).t, 40, 1e-3);
    survey_fixture_end(&f);
}

static void blunder_left_of_the_start_ends(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){10, 20}, 2, 0.01);
    f.instruments[0].walk = 0.001;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 5, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_tie(&f, 4.6, 0, 0.003)->distance = -0.4;
    survey_fixture_tie(&f, 4.8, 0, 0.003)->distance = -0.9;
    solve(&f);
    assert_true(f.stations->intervals[0].reconciled);
    assert_false(f.stations->intervals[1].reconciled);
    /* Ahead of the tie that came last it counts. */
    assert_near(station(&f, 4.7), 9.7, 1e-3);
    assert_near(station(&f, 4.9), 9.2, 1e-3);
    assert_near(station(&f, 7), 11.3, 1e-3);
    survey_fixture_end(&f);
}

/* A tie at the wrong face spoils the intervals on both sides and no more. */
static void wrong_tie_spoils_its_neighbours_alone(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){0, 8, 16, 17, 24, 32}, 6, 0.01);
    f.instruments[0].walk = 0.001;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_tie(&f, 8, 1, 0.003);
    survey_fixture_tie(&f, 16, 3, 0.003); /* stood at face 2 */
    survey_fixture_tie(&f, 24, 4, 0.003);
    survey_fixture_tie(&f, 32, 5, 0.003);
    solve(&f);
    const bool good[4] = {true, false, false, true};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(f.stations->intervals[i].reconciled, good[i]);
        assert_int_equal(at(&f, 0, 0, 8.0 * (double)i + 4).reconciled, good[i]);
    }
    assert_near(station(&f, 4), 4, 1e-6);
    assert_near(station(&f, 28), 28, 1e-6);
    assert_near(f.stations->intervals[1].misclosure, 1.0, 1e-9);
    assert_near(f.stations->intervals[2].misclosure, -1.0, 1e-9);
    assert_near(f.stations->intervals[1].blunder, 1.0, 1e-9);
    assert_near(f.stations->intervals[2].blunder, -1.0, 1e-9);
    assert_int_equal(f.diag.warnings, 1);
    survey_fixture_end(&f);
}

/* The smallest blunder an interval shows: at the gate, 0.84 sd beyond. */
static void least_blunder_is_beyond_the_gate(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.01);
    f.instruments[0].walk = 0.002;
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_tie(&f, 10, 1, 0.004);
    survey_fixture_readings(&f);
    solve(&f);
    double sd = sqrt(2e-4 + 10 * 4e-6 + 9e-6 + 16e-6);
    assert_near(f.stations->intervals[0].least_blunder, 3.84 * sd, 1e-9);
    survey_fixture_end(&f);
}

static void quantum_counts_at_every_tie(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 1e-6);
    f.instruments[0].quantum = 0.012;
    survey_fixture_start(&f, 0, 0, 0.002);
    survey_fixture_readings(&f);
    solve(&f);
    assert_near(at(&f, 0, 0, 0).world, 4e-6 + 12e-6, 1e-10);
    survey_fixture_end(&f);
}

/* A batch in any order gives what single calls give. */
static void map_batch_equals_single_places(void **state)
{
    static const double x[] = {0, 0.5, 1, 2, 9.99, 10, 10.5, 25, 3, -0.5, -4};
    enum { N = sizeof x / sizeof x[0] };
    double t[N], u[N];
    survey_fixture f;
    dm_walker *w = NULL;

    (void)state;
    two_faces(&f, 0.01);
    f.instruments[0].walk = 0.002;
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_tie(&f, 10.01, 1, 0.004);
    survey_fixture_readings(&f);
    solve(&f);
    assert_int_equal(
        dm_walker_new(f.stations, &f.model, &f.survey, 0, 0, 0, &w), DM_OK);
    dm_walker_map(w, x, N, t, u);
    for (size_t i = 0; i < N; i++) {
        dm_station_point p = at(&f, 0, 0, x[i]);
        assert_near(t[i], p.t, 1e-12);
        assert_near(u[i], sqrt(p.world), 1e-12);
    }
    dm_walker_free(w);
    survey_fixture_end(&f);
}

/* Batches on bends (in a plumb plane, in none, with a jump to the datum), both
 * ways, against single places and points. */
static void place_batch_on_bends_equals_single_places(void **state)
{
    enum { N = 4001 };
    static double x[N], t[N], u[N];
    static dm_vec3 point[N];

    (void)state;
    for (int k = 0; k < 6; k++) {
        const double aside = k / 2 == 0 ? 0.0 : 1.5;
        const double rise = k / 2 == 2 ? 60.0 : 0.5;
        const dm_vec3 line[4] = {
            {0, 0, 2}, {12, aside, 0.5}, {27, -aside, rise}, {40, 0, 2}};
        const double radius[4] = {0, 3, 3, 0};
        dm_segment segments[8];
        size_t arc[4], where = 0;
        dm_walker *w = NULL;
        survey_fixture f;

        survey_fixture_init(&f, (const double[]){0, 11}, 2, 0.01);
        f.tendon.line.segments = segments;
        assert_int_equal(dm_centreline_build(line, radius, 4, segments, arc,
                                             &f.tendon.line, &where),
                         DM_POLYGON_OK);
        f.tendon.line.has_datum = k / 2 == 2;
        f.tendon.line.datum = (dm_vec3){1, 0.2, 0};
        f.tendon.line.vertical_limit = 0.4;
        f.faces[1].origin = dm_centreline_point(&f.tendon.line, 11);
        f.instruments[0].walk = 0.001;
        dm_run *r = survey_fixture_run(&f);
        r->clock = 1.0;
        r->direction = k & 1 ? DM_SIDE_BACK : DM_SIDE_AHEAD;
        survey_fixture_start(&f, 0, 1, 0.003);
        survey_fixture_readings(&f);
        solve(&f);
        assert_int_equal(
            dm_walker_new(f.stations, &f.model, &f.survey, 0, 0, 0, &w), DM_OK);
        for (int i = 0; i < N; i++)
            x[i] = (k & 1 ? -f.tendon.line.length : -13.0) +
                   (f.tendon.line.length + 15.0) * i / (N - 1.0);
        dm_walker_place(w, x, N, t, u, point);
        for (int i = 0; i < N; i++) {
            dm_station_point p = dm_walker_at(w, x[i]);
            assert_near(t[i], p.t, 2e-12);
            assert_near(u[i], sqrt(p.world), 1e-12);
            dm_vec3 q = dm_centreline_point(&f.tendon.line, p.t);
            assert_near(dm_vec3_norm(dm_vec3_sub(point[i], q)), 0, 3e-12);
        }
        dm_walker_free(w);
        survey_fixture_end(&f);
    }
}

/* ---- memory
 * ------------------------------------------------------------------
 */

static dm_status solve_and_walk(void *user)
{
    survey_fixture *f = user;
    dm_station_point p;
    dm_status status = survey_fixture_solve(f);

    if (status == DM_OK)
        status = survey_fixture_at(f, 0, 0, 1.0, &p);
    else
        assert_null(f->stations);
    survey_fixture_end(f);
    return status;
}

static void solve_without_memory_is_nomem(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){0, 8, 16}, 3, 0.01);
    f.instruments[0].walk = 0.001;
    for (int k = 0; k < 2; k++) {
        survey_fixture_run(&f);
        survey_fixture_start(&f, 0, 0, 0.003);
        survey_fixture_readings(&f);
        survey_fixture_skip(&f, 2, 0.3, 0.005);
        survey_fixture_readings(&f);
        survey_fixture_tie(&f, 7.7, 1, 0.003);
        survey_fixture_tie(&f, k ? 15.0 : 15.7, 2, 0.003);
    }
    survey_fixture_tape(&f, 0, 1, 8.01, 0.003);
    assert_true(allocfail_each(solve_and_walk, &f) > 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exact_ties_fix_their_faces),
        cmocka_unit_test(variance_to_a_near_face_is_smaller),
        cmocka_unit_test(faces_out_of_reach_are_not_named),
        cmocka_unit_test(slanted_face_stands_by_clock_line),
        cmocka_unit_test(rezero_goes_on_where_it_was),
        cmocka_unit_test(roll_back_maps_by_run_distance),
        cmocka_unit_test(blunder_over_a_roll_back_ends),
        cmocka_unit_test(blunder_left_of_the_start_ends),
        cmocka_unit_test(wrong_tie_spoils_its_neighbours_alone),
        cmocka_unit_test(least_blunder_is_beyond_the_gate),
        cmocka_unit_test(quantum_counts_at_every_tie),
        cmocka_unit_test(map_batch_equals_single_places),
        cmocka_unit_test(place_batch_on_bends_equals_single_places),
        cmocka_unit_test(solve_without_memory_is_nomem),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
