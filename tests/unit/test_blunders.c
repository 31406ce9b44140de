/* SPDX-License-Identifier: MIT
 * What does not close, what is left out, and what is said of it.
 * tests/oracle/blunders.py compares random field books. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "solved.h"

#define KEPT 8

static const double FREE = (double)NAN;

typedef struct {
    char text[KEPT][512]; /* "file:line: severity: text" */
    size_t count;
} listener;

static void keep(void *user, const dm_message *m)
{
    static const char *const severity[] = {"note", "warning", "error"};
    listener *l = user;

    assert_true(l->count < KEPT);
    snprintf(l->text[l->count++], sizeof l->text[0], "%s:%ld: %s: %s",
             m->place.file ? m->place.file : "", m->place.line,
             severity[m->severity], m->text);
}

static void solve_heard(survey_fixture *f, listener *l)
{
    *l = (listener){.count = 0};
    f->diag = (dm_diag){.emit = keep, .user = l};
    solve(f);
}

static void assert_says(const listener *l, size_t i, const char *begin,
                        const char *within)
{
    assert_true(i < l->count);
    if (strncmp(l->text[i], begin, strlen(begin)) != 0 ||
        strstr(l->text[i], within) == NULL)
        fail_msg("said: %s\nexpected: %s ... %s", l->text[i], begin, within);
}

/* Faces at 2, 10, 18, 26, 34 m, a run tied to the first `ties`, a skip of 0.5 m
 * in each interval; the encoder misses `missing` in interval `bad`. */
static void skipping_run(survey_fixture *f, size_t ties, size_t bad,
                         double missing)
{
    double x = 0.0;

    survey_fixture_init(f, (const double[]){2, 10, 18, 26, 34}, 5, 0.003);
    f->instruments[0].walk = 0.00125;
    f->instruments[0].scale_u = 0.005;
    survey_fixture_run(f);
    survey_fixture_start(f, 0, 0, 0.003);
    survey_fixture_readings(f);
    for (size_t i = 0; i + 1 < ties; i++) {
        survey_fixture_skip(f, x + 3.0, 0.5, 0.005);
        survey_fixture_readings(f);
        x += 7.5 - (i == bad ? missing : 0.0);
        survey_fixture_tie(f, x, i + 1, 0.003);
    }
}

/* Events: start, readings, then skip, readings, tie for each interval. */
static void skip_not_written_is_named_and_not_spread(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    skipping_run(&f, 5, 2, 0.3);
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_says(&l, 0,
                "book.xml:11: warning: run R0 from face F2 to face F3 comes "
                "out 300 mm shorter than the duct",
                "a skip of about that length not written down");
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(f.stations->intervals[i].reconciled, i != 2);
    assert_near(f.stations->intervals[2].misclosure, 0.3, 1e-9);
    assert_near(f.stations->intervals[2].blunder, 0.3, 1e-9);
    /* The others are where they were, before and behind. */
    assert_near(at(&f, 0, 0, 2.0).t, 4.0, 1e-9);
    assert_near(at(&f, 0, 2, 15.0).t, 18.0, 1e-9);
    assert_near(at(&f, 0, 4, 30.0 - 0.3).t, 34.0, 1e-9);
    /* Inside, stations go on from the first tie up to the second. */
    assert_near(at(&f, 0, 3, 18.1).t, 21.6, 1e-9);
    assert_near(at(&f, 0, 3, 22.2).t, 26.0, 1e-9);
    assert_true(at(&f, 0, 2, 14.9).reconciled);
    assert_false(at(&f, 0, 2, 15.1).reconciled);
    assert_false(at(&f, 0, 3, 22.1).reconciled);
    assert_true(at(&f, 0, 3, 22.3).reconciled);
    survey_fixture_end(&f);
}

static void skip_written_twice_is_named_with_its_sign(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    skipping_run(&f, 5, 1, -0.4);
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_says(&l, 0,
                "book.xml:8: warning: run R0 from face F1 to face F2 comes out "
                "400 mm longer than the duct",
                "a skip counted twice");
    assert_true(f.stations->intervals[1].z < -3.0);
    survey_fixture_end(&f);
}

static void reversed_run_is_called_so(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    skipping_run(&f, 2, 9, 0.0);
    f.runs[0].direction = DM_SIDE_BACK;
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_says(&l, 0, "book.xml:5: warning: run R0 from face F0 to face F1",
                "direction entered the wrong way round");
    survey_fixture_end(&f);
}

/* At the last tie a missing skip and a face as far away are the same data:
 * nothing speaks for the readings behind it. */
static void blunder_before_the_last_tie_spoils_the_tail(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    skipping_run(&f, 4, 2, 0.3);
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_true(at(&f, 0, 2, 14.0).reconciled);
    assert_false(at(&f, 0, 3, 24.0).reconciled);
    assert_near(at(&f, 0, 3, 24.0).t, 27.8, 1e-9);
    survey_fixture_end(&f);
}

/* The least blunder said to show moves z by gate + 0.84. */
static void least_blunder_moves_z_as_said(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    skipping_run(&f, 5, 9, 0.0);
    solve_heard(&f, &l);
    assert_int_equal(l.count, 0);
    double least = f.stations->intervals[2].least_blunder;
    double z = f.stations->intervals[2].z;
    /* The skip in that interval, written down too short. */
    assert_int_equal(f.events[0][8].kind, DM_EVENT_SKIP);
    f.events[0][8].length -= least;
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_near(f.stations->intervals[2].z - z, 3.84, 1e-9);
    survey_fixture_end(&f);
}

/* What lies between two skips of unknown length hangs on nothing; the rest of
 * the run is unharmed. */
static void readings_between_unknown_skips_are_left_out(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    survey_fixture_init(&f, (const double[]){5, 20}, 2, 0.001);
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.001);
    survey_fixture_readings(&f);
    survey_fixture_skip(&f, 6, FREE, FREE);
    survey_fixture_readings(&f);
    survey_fixture_skip(&f, 8, FREE, FREE);
    survey_fixture_readings(&f);
    survey_fixture_tie(&f, 10, 1, 0.001);
    survey_fixture_skip(&f, 11, FREE, FREE);
    survey_fixture_readings(&f);
    solve_heard(&f, &l);
    assert_int_equal(l.count, 2);
    assert_says(&l, 0, "book.xml:3: error: run R0: a skip of unknown length",
                "left out");
    assert_says(&l, 1, "book.xml:8: error: run R0: a skip of unknown length",
                "left out");
    assert_true(f.stations->runs[0].usable);
    assert_int_equal(f.stations->runs[0].stretch_count, 2);
    assert_int_equal(f.stations->runs[0].stretches[1].event, 5);
    assert_near(at(&f, 0, 0, 6).t, 11, 1e-9);
    assert_near(at(&f, 0, 1, 8).t, 18, 1e-9);
    survey_fixture_end(&f);
}

static void more_events_than_can_be_solved_are_refused(void **state)
{
    enum { MANY = 1001 };
    dm_event *events = calloc(MANY + 1, sizeof *events);
    survey_fixture f;
    listener l;

    (void)state;
    assert_non_null(events);
    survey_fixture_init(&f, (const double[]){5, 20}, 2, 0.01);
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.001);
    for (int i = 0; i < MANY; i++) {
        events[i] = f.events[0][0];
        events[i].kind = i == 0 ? DM_EVENT_START : DM_EVENT_TIE;
        events[i].x = 0.001 * i;
    }
    events[MANY].kind = DM_EVENT_READINGS;
    f.runs[0].events = events;
    f.runs[0].event_count = MANY + 1;
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_says(&l, 0, ":0: error: its runs have 1001 starts", "left out");
    assert_true(f.stations->run_count == 1 && !f.stations->runs[0].usable);
    assert_near(f.stations->face_u[0], 0.01, 1e-15);
    survey_fixture_end(&f);
    free(events);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(skip_not_written_is_named_and_not_spread),
        cmocka_unit_test(skip_written_twice_is_named_with_its_sign),
        cmocka_unit_test(reversed_run_is_called_so),
        cmocka_unit_test(blunder_before_the_last_tie_spoils_the_tail),
        cmocka_unit_test(least_blunder_moves_z_as_said),
        cmocka_unit_test(readings_between_unknown_skips_are_left_out),
        cmocka_unit_test(more_events_than_can_be_solved_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
