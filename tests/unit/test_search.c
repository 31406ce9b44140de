/* SPDX-License-Identifier: MIT
 * Two blunders on one tendon: each is measured with the other free.
 * tests/oracle/blunders.py compares random field books. */
#include "solved.h"

#define RUNS 3

/* Faces at 2, 10, 18, 26, 34 m, runs with one encoder that is exact but for
 * what it misses: 0.3 m in the third interval of the first run, `second` in the
 * second interval of run `at`. */
static void missing_two(survey_fixture *f, size_t at, double second)
{
    survey_fixture_init(f, (const double[]){2, 10, 18, 26, 34}, 5, 1e-5);
    f->instruments[0].walk = 0.00125;
    f->instruments[0].scale_u = 0.005;
    f->instruments[0].scale_shared = true;
    for (size_t r = 0; r < RUNS; r++) {
        double x = 0.0;
        survey_fixture_run(f);
        survey_fixture_start(f, 0, 0, 0.003);
        survey_fixture_readings(f);
        for (size_t i = 0; i < 4; i++) {
            x += 8.0 - (r == 0 && i == 2 ? 0.3 : 0.0) -
                 (r == at && i == 1 ? second : 0.0);
            survey_fixture_tie(f, x, i + 1, 0.003);
            survey_fixture_readings(f);
        }
    }
    solve(f);
}

static const dm_hypothesis *first_of(const survey_fixture *f, size_t group)
{
    for (size_t i = 0; i < f->stations->hypothesis_count; i++)
        if (f->stations->hypotheses[i].group == group)
            return &f->stations->hypotheses[i];
    fail_msg("no group %zu", group);
    return NULL;
}

/* Each length as if nothing else were wrong, and its z with it. */
static void lengths_are_those_with_the_other_free(void **state)
{
    survey_fixture f;

    (void)state;
    missing_two(&f, 1, 0.2);
    const dm_hypothesis *a = first_of(&f, 0), *b = first_of(&f, 1);
    assert_int_equal(a->kind, DM_BLUNDER_SKIP_MISSING);
    assert_int_equal(a->interval, 2);
    assert_near(a->length, 0.3, 1e-9);
    assert_int_equal(b->kind, DM_BLUNDER_SKIP_MISSING);
    assert_int_equal(b->interval, 5);
    assert_near(b->length, 0.2, 1e-9);
    for (size_t i = 0; i < 2; i++) {
        const dm_interval *v = &f.stations->intervals[i ? 5 : 2];
        const dm_hypothesis *h = i ? b : a;
        assert_false(v->reconciled);
        assert_near(v->blunder, h->length, 1e-9);
        assert_near(v->z, h->length / h->length_u, 1e-6);
    }
    assert_near(f.stations->runs[0].scale, 1.0, 1e-9);
    survey_fixture_end(&f);
}

/* One alone is measured as before: nothing else is free. */
static void one_alone_is_what_it_was(void **state)
{
    survey_fixture f;

    (void)state;
    missing_two(&f, 1, 0.0);
    assert_near(first_of(&f, 0)->length, 0.3, 1e-9);
    assert_int_equal(
        f.stations->hypotheses[f.stations->hypothesis_count - 1].group, 0);
    survey_fixture_end(&f);
}

/* Lines for both, with the lengths as they are printed. */
static void both_are_accepted_at_once(void **state)
{
    survey_fixture f;
    dm_accept a[2];

    (void)state;
    missing_two(&f, 1, 0.2);
    for (size_t i = 0; i < 2; i++)
        a[i] = (dm_accept){.run = f.runs[i].id,
                           .hypothesis = DM_BLUNDER_SKIP_MISSING,
                           .interval = i ? 2 : 3,
                           .length = i ? 0.2 : 0.3,
                           .by = "A. Body",
                           .reason = "asked"};
    survey_fixture_end(&f);
    assert_int_equal(dm_stations_solve_accepted(&f.model, &f.survey, 0,
                                                &f.settings, a, 2, &f.diag,
                                                &f.stations),
                     DM_OK);
    for (size_t i = 0; i < f.stations->interval_count; i++)
        assert_true(f.stations->intervals[i].reconciled);
    assert_int_equal(f.stations->hypothesis_count > 0, 1);
    assert_near(first_of(&f, 0)->length, 0.3, 1e-3);
    assert_near(first_of(&f, 1)->length, 0.2, 1e-3);
    survey_fixture_end(&f);
}

/* Two of three intervals are 0.3 m short: a run too long in the third, and a
 * scale that makes up for it, fit nearly as well. Whatever is named first, the
 * scale does not take what is missing. */
static void scale_takes_no_blunder(void **state)
{
    survey_fixture f;
    double x = 0.0;

    (void)state;
    survey_fixture_init(&f, (const double[]){2, 10, 18, 26}, 4, 1e-5);
    f.instruments[0].walk = 0.00125;
    f.instruments[0].scale_u = 0.005;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    for (size_t i = 0; i < 3; i++) {
        x += 8.0 - (i < 2 ? 0.3 : 0.0);
        survey_fixture_tie(&f, x, i + 1, 0.003);
    }
    solve(&f);
    for (size_t i = 0; i < 3; i++)
        assert_false(f.stations->intervals[i].reconciled);
    survey_fixture_end(&f);
}

/* A skip of 0.3 m was passed at run distance 12; the readings around it lie
 * where they are, and inside the place the bound holds the skip. */
static void accepted_skip_may_have_a_place(void **state)
{
    survey_fixture f;
    dm_accept a = {.hypothesis = DM_BLUNDER_SKIP_MISSING,
                   .interval = 2,
                   .length = 0.3,
                   .x_from = 11.9,
                   .x_to = 12.1,
                   .by = "A. Body",
                   .reason = "on a photograph"};

    (void)state;
    missing_two(&f, 0, 0.3);
    a.run = f.runs[0].id;
    survey_fixture_end(&f);
    assert_int_equal(dm_stations_solve_accepted(&f.model, &f.survey, 0,
                                                &f.settings, &a, 1, &f.diag,
                                                &f.stations),
                     DM_OK);
    assert_true(f.stations->intervals[1].reconciled);
    /* Faces are 2 m on from the run's zero. */
    assert_near(at(&f, 0, 1, 9.0).t, 11.0, 1e-3);
    assert_near(at(&f, 0, 1, 11.89).t, 13.89, 1e-3);
    assert_near(at(&f, 0, 1, 12.0).t, 14.15, 1e-3);
    assert_near(at(&f, 0, 1, 12.11).t, 14.41, 1e-3);
    assert_near(at(&f, 0, 1, 15.0).t, 17.3, 1e-3);
    assert_true(sqrt(at(&f, 0, 1, 11.89).world) < 0.01);
    assert_near(sqrt(at(&f, 0, 1, 12.0).world), 0.15, 1e-3);
    assert_true(sqrt(at(&f, 0, 1, 12.11).world) < 0.01);
    survey_fixture_end(&f);
    /* The interval is left at 15.7. */
    a.x_to = 15.8;
    assert_int_equal(dm_stations_solve_accepted(&f.model, &f.survey, 0,
                                                &f.settings, &a, 1, &f.diag,
                                                &f.stations),
                     DM_REFERENCE);
    survey_fixture_end(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lengths_are_those_with_the_other_free),
        cmocka_unit_test(one_alone_is_what_it_was),
        cmocka_unit_test(both_are_accepted_at_once),
        cmocka_unit_test(scale_takes_no_blunder),
        cmocka_unit_test(accepted_skip_may_have_a_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
