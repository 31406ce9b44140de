/* SPDX-License-Identifier: MIT
 * Distances reconciled between ties: check values, signs, hard cases. */
#include <string.h>

#include "allocfail.h"
#include "near.h"
#include "survey_fixture.h"
#include "vector.h"

static const double FREE = (double)NAN;

static void solve(survey_fixture *f)
{
    assert_int_equal(survey_fixture_solve(f), DM_OK);
    assert_non_null(f->stations);
}

static dm_station_point at(const survey_fixture *f, size_t run, size_t stretch,
                           double x)
{
    dm_station_point p;

    assert_int_equal(survey_fixture_at(f, run, stretch, x, &p), DM_OK);
    return p;
}

static double station(const survey_fixture *f, double x)
{
    return at(f, 0, 0, x).t;
}

/* Two faces at 0 and 10, exact; a run with a start at the first. */
static void two_faces(survey_fixture *f, double u)
{
    survey_fixture_init(f, (const double[]){0, 10}, 2, u);
    survey_fixture_run(f);
}

/* ---- check values ---------------------------------------------------------
 */

static void check_budget(vec_case *c)
{
    survey_fixture f;
    size_t skips;
    const double *skip = vec_given_list(c, "skip", &skips);
    double length = vec_given(c, "length"), x = 0.0;

    survey_fixture_init(&f, (const double[]){0}, 1, 1e-6);
    f.instruments[0].scale_u = vec_given(c, "scale_u");
    f.instruments[0].quantum = vec_given(c, "quantum");
    f.instruments[0].walk = vec_given(c, "walk");
    dm_run *r = survey_fixture_run(&f);
    r->tape = "tape";
    r->tape_u = vec_given(c, "tape_u");
    survey_fixture_start(&f, 0, 0, vec_given(c, "start_u"));
    for (size_t i = 0; i < skips; i++) {
        x += 3.0;
        survey_fixture_skip(&f, x, skip[i], vec_given(c, "skip_u"));
    }
    survey_fixture_readings(&f);
    solve(&f);
    vec_check(c, "u", sqrt(at(&f, 0, 0, length).world));
    survey_fixture_end(&f);
}

static void check_proportion(vec_case *c)
{
    survey_fixture f;
    size_t faces, ties;
    const double *face = vec_given_list(c, "face", &faces);
    const double *tie = vec_given_list(c, "tie", &ties);

    survey_fixture_init(&f, face, faces, 1e-6);
    f.instruments[0].walk = vec_given(c, "walk");
    f.instruments[0].scale_u = 1e2;
    survey_fixture_run(&f);
    survey_fixture_start(&f, tie[0], 0, 0);
    for (size_t i = 1; i < ties; i++)
        survey_fixture_tie(&f, tie[i], i, 0);
    survey_fixture_readings(&f);
    solve(&f);
    vec_check(c, "station", station(&f, vec_given(c, "at")));
    vec_check(c, "scale", f.stations->runs[0].scale);
    survey_fixture_end(&f);
}

/* Run, skip, run, skip, run between two exact ties. */
static void run_skip_run(vec_case *c, survey_fixture *f)
{
    size_t runs, skips;
    const double *run = vec_given_list(c, "run", &runs);
    const double *skip = vec_given_list(c, "skip", &skips);
    double x = 0.0;

    survey_fixture_init(f, (const double[]){0, vec_given(c, "known")}, 2, 1e-6);
    f->instruments[0].walk = vec_given(c, "walk");
    survey_fixture_run(f);
    survey_fixture_start(f, 0, 0, 0);
    for (size_t i = 0; i < runs; i++) {
        survey_fixture_readings(f);
        x += run[i];
        if (i < skips)
            survey_fixture_skip(f, x, skip[i], vec_given(c, "skip_u"));
    }
    survey_fixture_tie(f, x, 1, 0);
    solve(f);
    assert_int_equal(f->stations->runs[0].stretch_count, 3);
    assert_int_equal(f->stations->interval_count, 1);
}

static void check_adjusted(vec_case *c)
{
    survey_fixture f;

    run_skip_run(c, &f);
    const double x1 = 6.412, x2 = 6.412 + 4.903;
    const double t[4] = {at(&f, 0, 0, x1).t, at(&f, 0, 1, x1).t,
                         at(&f, 0, 1, x2).t, at(&f, 0, 2, x2).t};
    vec_check_list(c, "station", t, 4);
    vec_check(c, "u_after_run_2", sqrt(at(&f, 0, 1, x2).world));
    vec_check(c, "misclosure", f.stations->intervals[0].misclosure);
    vec_check(c, "z", f.stations->intervals[0].z);
    assert_true(f.stations->intervals[0].reconciled);
    assert_int_equal(f.diag.warnings, 0);
    assert_near(f.stations->chi2, pow(vec_expect(c, "z"), 2), 1e-7);
    assert_int_equal(f.stations->dof, 1);
    survey_fixture_end(&f);
}

static void check_blunder(vec_case *c)
{
    survey_fixture f;

    run_skip_run(c, &f);
    vec_check(c, "z", f.stations->intervals[0].z);
    assert_false(f.stations->intervals[0].reconciled);
    assert_int_equal(f.diag.warnings, 1);
    assert_int_equal(f.diag.errors, 0);
    /* Nothing of it is spread: the first run stays where the start put it. */
    assert_near(at(&f, 0, 0, 6.412).t, 6.412, 1e-9);
    assert_false(at(&f, 0, 0, 3.0).reconciled);
    assert_false(at(&f, 0, 1, 7.0).reconciled);
    assert_false(at(&f, 0, 2, 15.0).reconciled);
    assert_true(f.stations->chi2 > 50.0);
    survey_fixture_end(&f);
}

static void check_between(vec_case *c)
{
    double a = vec_given(c, "after"), b = vec_given(c, "before");
    survey_fixture f;

    survey_fixture_init(&f, (const double[]){5, 5 + a + b}, 2, 1e-6);
    f.instruments[0].walk = vec_given(c, "walk");
    f.instruments[0].scale_u = 1e2;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, vec_given(c, "tie_u"));
    survey_fixture_tie(&f, a + b, 1, vec_given(c, "tie_u"));
    survey_fixture_readings(&f);
    solve(&f);
    vec_check(c, "u", sqrt(at(&f, 0, 0, a).world));
    f.instruments[0].scale_u = 0.0;
    solve(&f);
    vec_check(c, "u_known_scale", sqrt(at(&f, 0, 0, a).world));
    f.runs[0].event_count = 1;
    survey_fixture_readings(&f);
    solve(&f);
    vec_check(c, "u_open", sqrt(at(&f, 0, 0, vec_given(c, "open")).world));
    survey_fixture_end(&f);
}

static void solve_published_cases_agree(void **state)
{
    (void)state;
    vec_file *file = vec_open("adjust.vec");
    check_budget(vec_find(file, "D1"));
    check_proportion(vec_find(file, "D2"));
    check_adjusted(vec_find(file, "D3"));
    check_blunder(vec_find(file, "D3_blunder"));
    check_between(vec_find(file, "D4"));
    vec_close(file);
}

/* ---- signs ----------------------------------------------------------------
 */

static void map_lead_counts_by_direction_and_end(void **state)
{
    static const struct {
        dm_side direction;
        dm_leading leading;
        double t;
    } cases[] = {{DM_SIDE_AHEAD, DM_LEADING_NOSE, 5 + 2 + 0.1},
                 {DM_SIDE_AHEAD, DM_LEADING_TAIL, 5 + 2 - 0.1},
                 {DM_SIDE_BACK, DM_LEADING_NOSE, 5 - 2 - 0.1},
                 {DM_SIDE_BACK, DM_LEADING_TAIL, 5 - 2 + 0.1}};

    (void)state;
    for (size_t i = 0; i < 4; i++) {
        survey_fixture f;
        survey_fixture_init(&f, (const double[]){5}, 1, 0.01);
        f.channels[0][0].lead = 0.1;
        dm_run *r = survey_fixture_run(&f);
        r->direction = cases[i].direction;
        r->leading = cases[i].leading;
        survey_fixture_start(&f, 0, 0, 0.003);
        survey_fixture_readings(&f);
        solve(&f);
        assert_near(station(&f, 2), cases[i].t, 1e-9);
        survey_fixture_end(&f);
    }
}

/* The encoder's place when some part of the sensor stands at a face. */
static void tie_with_part_places_the_encoder(void **state)
{
    static const double offset[] = {0.2, -0.3, 0.0, 0.1};

    (void)state;
    for (int with = 0; with < 4; with++)
        for (int sign = 0; sign < 4; sign++) {
            double dir = sign & 1 ? -1 : 1, lead = sign & 2 ? -1 : 1;
            survey_fixture f;
            survey_fixture_init(&f, (const double[]){2, 5}, 2, 0.01);
            f.instruments[0].nose = 0.2;
            f.instruments[0].tail = 0.3;
            f.channels[0][0].lead = 0.1;
            dm_run *r = survey_fixture_run(&f);
            r->direction = dir > 0 ? DM_SIDE_AHEAD : DM_SIDE_BACK;
            r->leading = lead > 0 ? DM_LEADING_NOSE : DM_LEADING_TAIL;
            dm_event *e = survey_fixture_start(&f, 7, 1, 0.003);
            e->with = (dm_with)with;
            e->distance = 0.5; /* face 1 looks back: 0.5 m before it */
            survey_fixture_readings(&f);
            solve(&f);
            assert_near(station(&f, 7),
                        5 - 0.5 - dir * lead * offset[with] + dir * lead * 0.1,
                        1e-9);
            survey_fixture_end(&f);
        }
}

static void skip_by_gap_adds_nose_and_tail(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.01);
    f.instruments[0].nose = 0.2;
    f.instruments[0].tail = 0.3;
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_skip(&f, 2, 0.4, 0.005)->basis = DM_SKIP_GAP;
    survey_fixture_readings(&f);
    solve(&f);
    assert_near(at(&f, 0, 1, 2).t, 2 + 0.9, 1e-9);
    survey_fixture_end(&f);
}

/* What the tape did not measure does not share its error. */
static void skip_by_gap_tape_error_of_the_gap_alone(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){0}, 1, 1e-6);
    f.instruments[0].nose = f.instruments[0].tail = 5.0;
    dm_run *r = survey_fixture_run(&f);
    r->tape = "tape";
    r->tape_u = 0.01;
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_skip(&f, 2, 0.4, 0.005)->basis = DM_SKIP_GAP;
    survey_fixture_readings(&f);
    solve(&f);
    assert_near(at(&f, 0, 0, 2).world, 9e-6 + 25e-6 + 0.004 * 0.004, 1e-10);
    survey_fixture_end(&f);
}

/* ---- skips of unknown length -----------------------------------------------
 */

static void skip_unknown_between_ties_is_found(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.01);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_skip(&f, 4, FREE, FREE);
    survey_fixture_readings(&f);
    survey_fixture_tie(&f, 9, 1, 0.003);
    solve(&f);
    assert_int_equal(f.diag.errors + f.diag.warnings, 0);
    assert_near(at(&f, 0, 0, 4).t, 4, 1e-9);
    assert_near(at(&f, 0, 1, 4).t, 5, 1e-9);
    assert_near(at(&f, 0, 1, 4).world, 1e-4 + 9e-6, 1e-10);
    /* It closes whatever happened: no blunder could show. */
    assert_int_equal(f.stations->dof, 0);
    assert_true(f.stations->intervals[0].reconciled);
    assert_true(isinf(f.stations->intervals[0].least_blunder));
    survey_fixture_end(&f);
}

static void skip_unknown_without_tie_ends_the_run(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.01);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_skip(&f, 4, FREE, FREE);
    survey_fixture_readings(&f);
    solve(&f);
    assert_int_equal(f.diag.errors, 1);
    assert_true(f.stations->runs[0].usable);
    assert_int_equal(f.stations->runs[0].stretch_count, 1);
    assert_near(at(&f, 0, 0, 4).t, 4, 1e-9);
    survey_fixture_end(&f);
}

static void run_without_tie_leaves_the_others(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.01);
    survey_fixture_readings(&f);
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    solve(&f);
    assert_int_equal(f.diag.errors, 1);
    assert_false(f.stations->runs[0].usable);
    assert_true(f.stations->runs[1].usable);
    assert_near(at(&f, 1, 0, 4).t, 4, 1e-9);
    survey_fixture_end(&f);
}

/* ---- several runs -----------------------------------------------------------
 */

static void run_back_gives_the_same_stations(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){2, 14}, 2, 0.015);
    f.instruments[0].walk = 0.001;
    f.instruments[0].scale_u = 0.003;
    f.instruments[0].scale_shared = true;
    for (int k = 0; k < 2; k++) {
        dm_run *r = survey_fixture_run(&f);
        r->direction = k ? DM_SIDE_BACK : DM_SIDE_AHEAD;
        survey_fixture_start(&f, 0, k ? 1 : 0, 0.003);
        survey_fixture_tie(&f, 11.98, k ? 0 : 1, 0.003);
        survey_fixture_readings(&f);
    }
    solve(&f);
    for (double x = 0; x <= 11.98; x += 0.599) {
        dm_station_point ahead = at(&f, 0, 0, x),
                         back = at(&f, 1, 0, 11.98 - x);
        assert_near(ahead.t, back.t, 1e-9);
        assert_near(ahead.world, back.world, 1e-12);
        assert_near(ahead.back, back.back, 1e-12);
    }
    survey_fixture_end(&f);
}

/* Three runs say that face 1 stands 12 mm farther: two variances in series
 * (ties) against the drawing's of two faces. */
static void faces_shared_by_runs_move_together(void **state)
{
    const double u = 0.015, v = 0.003;
    survey_fixture f;

    (void)state;
    two_faces(&f, u);
    f.survey.run_count = 0;
    for (int k = 0; k < 3; k++) {
        survey_fixture_run(&f);
        survey_fixture_start(&f, 0, 0, v);
        survey_fixture_tie(&f, 10.012, 1, v);
        survey_fixture_readings(&f);
    }
    solve(&f);
    double prior = 2 * u * u, seen = 2 * v * v / 3;
    double shift = 0.012 * prior / (prior + seen);
    double shown = f.stations->face_shift[1] - f.stations->face_shift[0];
    assert_near(shown, shift, 1e-9);
    assert_near(f.stations->face_shift[0], -0.5 * shift, 1e-9);
    const double *c = f.stations->face_cov;
    assert_near(c[0] - c[1] - c[2] + c[3], prior * seen / (prior + seen),
                1e-10);
    assert_int_equal(f.stations->dof, 3);
    survey_fixture_end(&f);
}

static void taped_length_moves_the_faces(void **state)
{
    const double u = 0.015, v = 0.004;
    survey_fixture f;

    (void)state;
    two_faces(&f, u);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_tape(&f, 1, 0, 10.02, v);
    solve(&f);
    double shown = f.stations->face_shift[1] - f.stations->face_shift[0];
    assert_near(shown, 0.02 * 2 * u * u / (2 * u * u + v * v), 1e-9);
    survey_fixture_end(&f);
}

/* A tape that contradicts drawing and run is a blunder of its own, and the
 * run still closes. */
static void taped_length_blunder_is_left_out(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.015);
    f.instruments[0].walk = 0.002;
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_tie(&f, 10.01, 1, 0.003);
    survey_fixture_readings(&f);
    survey_fixture_tape(&f, 0, 1, 11.0, 0.003);
    solve(&f);
    assert_int_equal(f.diag.warnings, 1);
    assert_true(f.stations->intervals[0].reconciled);
    assert_near(f.stations->face_shift[1], 0.005, 0.001);
    survey_fixture_end(&f);
}

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
    /* Ahead of all ties counts what came last. */
    assert_near(station(&f, 4.9), 9.9, 1e-3);
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
        cmocka_unit_test(solve_published_cases_agree),
        cmocka_unit_test(map_lead_counts_by_direction_and_end),
        cmocka_unit_test(tie_with_part_places_the_encoder),
        cmocka_unit_test(skip_by_gap_adds_nose_and_tail),
        cmocka_unit_test(skip_by_gap_tape_error_of_the_gap_alone),
        cmocka_unit_test(skip_unknown_between_ties_is_found),
        cmocka_unit_test(skip_unknown_without_tie_ends_the_run),
        cmocka_unit_test(run_without_tie_leaves_the_others),
        cmocka_unit_test(run_back_gives_the_same_stations),
        cmocka_unit_test(faces_shared_by_runs_move_together),
        cmocka_unit_test(taped_length_moves_the_faces),
        cmocka_unit_test(taped_length_blunder_is_left_out),
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
