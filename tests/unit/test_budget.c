/* SPDX-License-Identifier: MIT
 * What bounds are made of: sums, sorts, and where they end. Published values:
 * test_stations.c; random field books: tests/oracle/budgets.py. */
#include <math.h>

#include "allocfail.h"
#include "ductmark/budget.h"
#include "solved.h"

/* Two runs, there and back, that share a scale and a tape, with skips and a
 * taped length between faces. */
static void two_runs(survey_fixture *f)
{
    survey_fixture_init(f, (const double[]){2, 12, 25, 34}, 4, 0.015);
    f->settings.budget = true;
    f->instruments[0].scale_u = 0.005;
    f->instruments[0].scale_shared = true;
    f->instruments[0].walk = 0.00125;
    f->instruments[0].quantum = 0.001;
    survey_fixture_tape(f, 0, 3, 32.004, 0.003);
    for (int i = 0; i < 2; i++) {
        dm_run *run = survey_fixture_run(f);
        run->direction = i ? DM_SIDE_BACK : DM_SIDE_AHEAD;
        run->tape = "tape";
        run->tape_u = 2e-3;
        survey_fixture_start(f, 0.0, i ? 3 : 0, 0.003);
        survey_fixture_readings(f);
        survey_fixture_skip(f, 4.0, 0.5, 0.005);
        survey_fixture_readings(f);
        survey_fixture_tie(f, i ? 8.51 : 9.502, i ? 2 : 1, 0.003);
        survey_fixture_skip(f, 12.0, 0.3, 0.005);
        survey_fixture_readings(f);
    }
    solve(f);
}

static void assert_sum(const survey_fixture *f, size_t run, size_t stretch,
                       double x, size_t face, double variance)
{
    dm_budget b = dm_budget_at(f->stations, run, stretch, x, face);

    for (int i = 0; i < DM_BUDGET_ITEMS; i++)
        assert_true(b.item[i] >= 0.0);
    assert_near(dm_budget_sum(&b), variance, 1e-9 * variance + 1e-17);
}

static void budget_items_add_up_to_each_variance(void **state)
{
    survey_fixture f;
    int back = 0, ahead = 0;

    (void)state;
    two_runs(&f);
    for (size_t run = 0; run < 2; run++)
        for (size_t k = 0; k < f.stations->runs[run].stretch_count; k++)
            for (double x = -1.0; x < 21.0; x += 0.37) {
                dm_station_point p = at(&f, run, k, x);
                assert_sum(&f, run, k, x, DM_NONE, p.world);
                if (p.face_back != DM_NONE && ++back)
                    assert_sum(&f, run, k, x, p.face_back, p.back);
                if (p.face_ahead != DM_NONE && ++ahead)
                    assert_sum(&f, run, k, x, p.face_ahead, p.ahead);
            }
    assert_true(back > 100 && ahead > 100);
    survey_fixture_end(&f);
}

static void budget_not_asked_for_is_not_kept(void **state)
{
    survey_fixture f;

    (void)state;
    two_runs(&f);
    f.settings.budget = false;
    double before = at(&f, 0, 0, 3.0).world;
    solve(&f);
    dm_budget b = dm_budget_at(f.stations, 0, 0, 3.0, DM_NONE);
    assert_null(f.stations->runs[0].stretches[0].pieces[0].budget);
    assert_near(dm_budget_sum(&b), 0.0, 0.0);
    assert_near(at(&f, 0, 0, 3.0).world, before, 0.0);
    survey_fixture_end(&f);
}

/* At the face where it started the sensor stood at it, wherever the face is:
 * the face counts against the world only, the tie against both. */
static void budget_at_a_face_counts_it_against_the_world_only(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){0, 10}, 2, 0.015);
    f.settings.budget = true;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0.0, 0, 0.004);
    survey_fixture_readings(&f);
    solve(&f);
    dm_budget world = dm_budget_at(f.stations, 0, 0, 0.0, DM_NONE);
    dm_budget face = dm_budget_at(f.stations, 0, 0, 0.0, 0);
    dm_budget other = dm_budget_at(f.stations, 0, 0, 0.0, 1);
    assert_near(world.item[DM_BUDGET_TIES], 16e-6, 1e-17);
    assert_near(world.item[DM_BUDGET_FACES], 225e-6, 1e-17);
    assert_near(face.item[DM_BUDGET_TIES], 16e-6, 1e-17);
    assert_near(face.item[DM_BUDGET_FACES], 0.0, 1e-17);
    assert_near(other.item[DM_BUDGET_FACES], 450e-6, 1e-17);
    survey_fixture_end(&f);
}

/* Ahead of the only tie: the scale with the way squared, the walk with the
 * way. The same before it. */
static void budget_beyond_a_tie_grows_by_scale_and_walk(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){10}, 1, 0.015);
    f.settings.budget = true;
    f.instruments[0].scale_u = 0.01;
    f.instruments[0].walk = 0.002;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0.0, 0, 0.004);
    survey_fixture_readings(&f);
    solve(&f);
    for (int i = -3; i <= 9; i += 3) {
        dm_budget b = dm_budget_at(f.stations, 0, 0, i, DM_NONE);
        assert_near(b.item[DM_BUDGET_SCALE], 1e-4 * i * i, 1e-16);
        assert_near(b.item[DM_BUDGET_WALK], 4e-6 * (i < 0 ? -i : i), 1e-16);
        assert_near(b.item[DM_BUDGET_TIES], 16e-6, 1e-16);
    }
    survey_fixture_end(&f);
}

/* ---- where bounds are greatest --------------------------------------------
 */

static double crew(const dm_station_point *p)
{
    return fmin(p->back, p->ahead);
}

static void greatest_bounds_are_those_of_a_fine_search(void **state)
{
    survey_fixture f;
    dm_greatest world = {.known = false}, face = {.known = false};
    double most_world = 0.0, most_face = 0.0;

    (void)state;
    two_runs(&f);
    f.stations->runs[1].stretches[0].pieces[1].reconciled = false;
    for (size_t run = 0; run < 2; run++)
        for (size_t k = 0; k < f.stations->runs[run].stretch_count; k++) {
            dm_walker *w = NULL;
            assert_int_equal(
                dm_walker_new(f.stations, &f.model, &f.survey, run, k, 0, &w),
                DM_OK);
            dm_walker_greatest(w, run, -0.5, 14.5, &world, &face);
            for (int i = -500; i <= 14500; i++) {
                dm_station_point p = dm_walker_at(w, i * 1e-3);
                if (!p.reconciled)
                    continue;
                most_world = fmax(most_world, p.world);
                most_face = fmax(most_face, crew(&p));
            }
            dm_walker_free(w);
        }
    assert_true(world.known && face.known);
    assert_true(world.at.world >= most_world * (1.0 - 1e-9));
    assert_true(crew(&face.at) >= most_face * (1.0 - 1e-9));
    assert_near(world.at.world, most_world, 1e-4 * most_world);
    assert_near(crew(&face.at), most_face, 1e-3 * most_face);
    survey_fixture_end(&f);
}

static void greatest_bounds_need_a_reconciled_place(void **state)
{
    survey_fixture f;
    dm_greatest world = {.known = false}, face = {.known = false};
    dm_walker *w = NULL;

    (void)state;
    two_runs(&f);
    dm_stretch *s = &f.stations->runs[0].stretches[0];
    for (size_t i = 0; i < s->piece_count; i++)
        s->pieces[i].reconciled = false;
    assert_int_equal(
        dm_walker_new(f.stations, &f.model, &f.survey, 0, 0, 0, &w), DM_OK);
    dm_walker_greatest(w, 0, 0.0, 4.0, &world, &face);
    assert_false(world.known || face.known);
    dm_walker_free(w);
    survey_fixture_end(&f);
}

/* ---- no memory ------------------------------------------------------------
 */

static dm_status solve_and_free(void *user)
{
    survey_fixture *f = user;
    dm_status status = survey_fixture_solve(f);

    survey_fixture_end(f);
    return status;
}

static void each_failed_allocation_is_no_memory(void **state)
{
    survey_fixture f;

    (void)state;
    two_runs(&f);
    assert_true(allocfail_each(solve_and_free, &f) >= 8);
}

static void budget_words_are_known_and_no_others(void **state)
{
    (void)state;
    assert_string_equal(dm_budget_text(DM_BUDGET_SCALE), "scale");
    assert_string_equal(dm_budget_text(DM_BUDGET_CORRECTIONS), "corrections");
    assert_string_equal(dm_budget_text(DM_BUDGET_ITEMS), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(budget_items_add_up_to_each_variance),
        cmocka_unit_test(budget_not_asked_for_is_not_kept),
        cmocka_unit_test(budget_at_a_face_counts_it_against_the_world_only),
        cmocka_unit_test(budget_beyond_a_tie_grows_by_scale_and_walk),
        cmocka_unit_test(greatest_bounds_are_those_of_a_fine_search),
        cmocka_unit_test(greatest_bounds_need_a_reconciled_place),
        cmocka_unit_test(each_failed_allocation_is_no_memory),
        cmocka_unit_test(budget_words_are_known_and_no_others),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
