/* SPDX-License-Identifier: MIT
 * Distances reconciled between ties: check values, signs, hard cases. */
#include "ductmark/budget.h"
#include "solved.h"
#include "vector.h"

static const double FREE = (double)NAN;

/* ---- check values ---------------------------------------------------------
 */

static double item(const survey_fixture *f, double x, dm_budget_item which)
{
    dm_budget b = dm_budget_at(f->stations, 0, 0, x, DM_NONE);
    return sqrt(b.item[which]);
}

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
    f.settings.budget = true;
    solve(&f);
    vec_check(c, "u", sqrt(at(&f, 0, 0, length).world));
    for (int i = DM_BUDGET_SCALE; i < DM_BUDGET_FACES; i++)
        vec_check(c, dm_budget_text((dm_budget_item)i),
                  item(&f, length, (dm_budget_item)i));
    vec_check(c, "tapes", item(&f, length, DM_BUDGET_TAPES));
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
    f.instruments[0].scale_u = 10.0; /* as good as unknown */
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
    f.instruments[0].scale_u = 1.0; /* as good as unknown */
    f.settings.budget = true;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, vec_given(c, "tie_u"));
    survey_fixture_tie(&f, a + b, 1, vec_given(c, "tie_u"));
    survey_fixture_readings(&f);
    solve(&f);
    vec_check(c, "u", sqrt(at(&f, 0, 0, a).world));
    vec_check(c, "walk", item(&f, a, DM_BUDGET_WALK));
    vec_check(c, "ties", item(&f, a, DM_BUDGET_TIES));
    f.instruments[0].scale_u = 0.0;
    solve(&f);
    vec_check(c, "u_known_scale", sqrt(at(&f, 0, 0, a).world));
    f.runs[0].event_count = 1;
    survey_fixture_readings(&f);
    solve(&f);
    double open = vec_given(c, "open");
    vec_check(c, "u_open", sqrt(at(&f, 0, 0, open).world));
    vec_check(c, "walk_open", item(&f, open, DM_BUDGET_WALK));
    vec_check(c, "ties_open", item(&f, open, DM_BUDGET_TIES));
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
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
