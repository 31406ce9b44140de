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
    char text[KEPT][1024]; /* "file:line: severity: text" */
    size_t count;
    char line[KEPT][512]; /* notes: lines that accept */
    size_t lines;
} listener;

static void keep(void *user, const dm_message *m)
{
    static const char *const severity[] = {"note", "warning", "error"};
    listener *l = user;

    if (m->severity == DM_NOTE) {
        const char *line = strstr(m->text, "<accept ");
        assert_non_null(line);
        assert_true(l->lines < KEPT);
        snprintf(l->line[l->lines++], sizeof l->line[0], "%s", line);
        return;
    }
    assert_true(l->count < KEPT);
    snprintf(l->text[l->count++], sizeof l->text[0], "%s:%ld: %s: %s",
             m->place.file ? m->place.file : "", m->place.line,
             severity[m->severity], m->text);
}

static void solve_heard(survey_fixture *f, listener *l)
{
    memset(l, 0, sizeof *l);
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

static const dm_hypothesis *first(const survey_fixture *f)
{
    assert_true(f->stations->hypothesis_count > 0);
    return &f->stations->hypotheses[0];
}

static const dm_hypothesis *find(const survey_fixture *f, dm_blunder kind)
{
    for (size_t i = 0; i < f->stations->hypothesis_count; i++)
        if (f->stations->hypotheses[i].kind == kind)
            return &f->stations->hypotheses[i];
    return NULL;
}

static void accepting(survey_fixture *f, listener *l, const dm_accept *a,
                      dm_status expected)
{
    memset(l, 0, sizeof *l);
    f->diag = (dm_diag){.emit = keep, .user = l};
    survey_fixture_end(f);
    assert_int_equal(dm_stations_solve_accepted(&f->model, &f->survey, 0,
                                                &f->settings, a, 1, &f->diag,
                                                &f->stations),
                     expected);
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
                "a skip of 300 mm not written down; not reconciled");
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

/* No skip of the interval is 0.4 m long. */
static void run_too_long_for_any_skip_is_a_jump(void **state)
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
                "a jump of 400 mm that nothing in the book explains");
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
    assert_says(&l, 0, "", "direction entered the wrong way round");
    assert_says(&l, 0, ":0: warning: run R0 does not close: ", "");
    const dm_hypothesis *h = first(&f);
    assert_int_equal(h->kind, DM_BLUNDER_REVERSED);
    assert_false(h->mirrored);
    assert_false(f.stations->intervals[0].reconciled);
    assert_string_equal(l.line[0],
                        "<accept run=\"R0\" hypothesis=\"run-reversed"
                        "\" by=\"\" reason=\"\"/>");
    /* The book put right. */
    dm_accept a = {.run = "R0",
                   .hypothesis = DM_BLUNDER_REVERSED,
                   .length = (double)NAN,
                   .by = "A. Body",
                   .reason = "asked"};
    f.channels[0][0].lead = 0.25;
    accepting(&f, &l, &a, DM_OK);
    assert_true(f.stations->intervals[0].reconciled);
    assert_int_equal(f.stations->runs[0].direction, DM_SIDE_AHEAD);
    assert_near(at(&f, 0, 0, 2.0).t, 4.25, 1e-9);
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

/* The skip of 0.5 m of interval 2 stands there once more. */
static void skip_counted_twice_is_named_and_accepted(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    skipping_run(&f, 5, 2, -0.5);
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_says(&l, 0, "book.xml:11: warning: run R0 from face F2",
                "a skip counted twice (the one of 500 mm, line 9)");
    const dm_hypothesis *h = first(&f);
    assert_int_equal(h->kind, DM_BLUNDER_SKIP_TWICE);
    assert_int_equal(h->interval, 2);
    assert_int_equal(h->event, 8);
    assert_near(h->length, -0.5, 1e-9);
    assert_near(h->misfit, 0.0, 1e-6);
    assert_true(h->evidence > 20.0);
    assert_false(h->equal || h->accepted);
    assert_string_equal(l.line[0],
                        "<accept run=\"R0\" hypothesis=\"skip-counted-twice\" "
                        "skip=\"3\" length=\"-0.500 m\" by=\"\" reason=\"\"/>");
    dm_accept a = {.run = "R0",
                   .hypothesis = DM_BLUNDER_SKIP_TWICE,
                   .skip = 3,
                   .length = -0.5,
                   .by = "A. Body",
                   .reason = "the sheet shows it once"};
    accepting(&f, &l, &a, DM_OK);
    assert_int_equal(l.count, 1);
    assert_says(&l, 0,
                ":0: warning: run R0 is solved with a hypothesis that "
                "A. Body accepted: a skip counted twice",
                "reason given: the sheet shows it once");
    assert_true(f.stations->intervals[2].reconciled);
    assert_true(first(&f)->accepted);
    assert_string_equal(first(&f)->who, "A. Body");
    assert_true(at(&f, 0, 3, 20.0).reconciled);
    /* Solved as if that skip were not there. */
    assert_near(at(&f, 0, 3, 20.0).t, 2 + 20.0 + 2 * 0.5, 1e-9);
    survey_fixture_end(&f);
}

/* The tie of event 7 was taken 0.6 m before the face it names. */
static void wrong_face_is_named_and_accepted(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    skipping_run(&f, 5, 9, 0.0);
    f.faces[5] = f.faces[2];
    f.faces[5].id = "F5";
    f.faces[5].t -= 0.6;
    f.faces[5].origin.x = f.faces[5].t;
    f.tendon.face_count = 6;
    assert_int_equal(f.events[0][7].kind, DM_EVENT_TIE);
    f.events[0][7].x -= 0.6;
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_says(&l, 0, "book.xml:8: warning: run R0: the tie at face F2",
                "a tie at another face (face F2, line 8, taken at face F5)");
    const dm_hypothesis *h = first(&f);
    assert_int_equal(h->kind, DM_BLUNDER_WRONG_FACE);
    assert_int_equal(h->face, 5);
    assert_int_equal(h->event, 7);
    assert_near(h->length, -0.6, 1e-9);
    assert_false(f.stations->intervals[1].reconciled);
    assert_false(f.stations->intervals[2].reconciled);
    dm_accept a = {.run = "R0",
                   .hypothesis = DM_BLUNDER_WRONG_FACE,
                   .tie = 3,
                   .face = "F5",
                   .length = (double)NAN,
                   .by = "A. Body",
                   .reason = "photograph"};
    accepting(&f, &l, &a, DM_OK);
    for (size_t i = 0; i < 4; i++)
        assert_true(f.stations->intervals[i].reconciled);
    a.face = "F4";
    accepting(&f, &l, &a, DM_REFERENCE);
    assert_null(f.stations);
    survey_fixture_end(&f);
}

/* At a run's first or last tie a missing skip and a face as far away are the
 * same data. */
static void first_and_last_tie_tell_no_skip_from_a_face(void **state)
{
    (void)state;
    for (size_t end = 0; end < 2; end++) {
        survey_fixture f;
        listener l;
        skipping_run(&f, 5, end ? 3 : 0, 0.3);
        f.faces[5] = f.faces[end ? 4 : 0];
        f.faces[5].id = "F5";
        f.faces[5].t += end ? -0.3 : 0.3;
        f.faces[5].origin.x = f.faces[5].t;
        f.tendon.face_count = 6;
        solve_heard(&f, &l);
        assert_int_equal(l.count, 1);
        const dm_hypothesis *skip = find(&f, DM_BLUNDER_SKIP_MISSING);
        const dm_hypothesis *face = find(&f, DM_BLUNDER_WRONG_FACE);
        assert_non_null(skip);
        assert_non_null(face);
        assert_true(skip->equal && face->equal);
        assert_int_equal(skip->interval, end ? 3 : 0);
        assert_int_equal(face->face, 5);
        assert_says(&l, 0, "", "or, the data cannot tell, ");
        assert_says(&l, 0, "", "a skip of 300 mm not written down");
        assert_says(&l, 0, "", "taken at face F5");
        assert_int_equal(l.lines, 2);
        survey_fixture_end(&f);
    }
}

/* Anywhere in its interval: in the middle half of it on average, with half of
 * it as standard deviation (Bernoulli); none at its ties. */
static void missing_skip_is_accepted_at_an_unknown_place(void **state)
{
    survey_fixture f;
    listener l;

    (void)state;
    skipping_run(&f, 5, 2, 0.3);
    dm_accept a = {.run = "R0",
                   .hypothesis = DM_BLUNDER_SKIP_MISSING,
                   .interval = 3,
                   .length = 0.3,
                   .by = "A. Body",
                   .reason = "collar seen on the photographs"};
    solve_heard(&f, &l);
    assert_string_equal(l.line[0],
                        "<accept run=\"R0\" hypothesis=\"skip-not-written\" "
                        "interval=\"3\" length=\"0.300 m\" by=\"\" "
                        "reason=\"\"/>");
    accepting(&f, &l, &a, DM_OK);
    assert_true(f.stations->intervals[2].reconciled);
    assert_true(at(&f, 0, 3, 18.6).reconciled);
    /* Travel 15 to 22.2, skip at 18: half way is 18.6. */
    assert_near(at(&f, 0, 3, 18.6).t, 2 + 18.6 + 1.5 + 0.15, 1e-6);
    assert_near(sqrt(at(&f, 0, 3, 18.6).world), 0.15, 2e-3);
    assert_true(sqrt(at(&f, 0, 3, 22.19).world) < 0.02);
    assert_true(sqrt(at(&f, 0, 2, 15.01).world) < 0.02);
    a.length = 0.5;
    accepting(&f, &l, &a, DM_REFERENCE);
    assert_says(&l, l.count - 1, ":0: error: no hypothesis skip-not-written",
                "run R0");
    survey_fixture_end(&f);
}

/* Every interval 6 % long, and all by one encoder said to be good to 0.2 %. */
static void encoder_out_of_its_prior_is_a_scale(void **state)
{
    survey_fixture f;
    listener l;
    double x = 0.0;

    (void)state;
    survey_fixture_init(&f, (const double[]){2, 5, 15, 17, 34}, 5, 0.003);
    f.instruments[0].walk = 0.00125;
    f.instruments[0].scale_u = 0.002;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    for (size_t i = 1; i < 5; i++) {
        x = ((double[]){2, 5, 15, 17, 34}[i] - 2.0) * 1.06;
        survey_fixture_tie(&f, x, i, 0.003);
    }
    solve_heard(&f, &l);
    assert_int_equal(l.count, 1);
    assert_says(&l, 0, ":0: warning: run R0 does not close",
                "the encoder's scale off by -5.6");
    assert_int_equal(first(&f)->kind, DM_BLUNDER_SCALE);
    assert_false(first(&f)->equal);
    for (size_t i = 0; i < 4; i++)
        assert_false(f.stations->intervals[i].reconciled);
    assert_false(at(&f, 0, 0, 5.0).reconciled);
    assert_false(at(&f, 0, 0, x + 1.0).reconciled);
    dm_accept a = {.run = "R0",
                   .hypothesis = DM_BLUNDER_SCALE,
                   .length = (double)NAN,
                   .by = "A. Body",
                   .reason = "wheel measured"};
    accepting(&f, &l, &a, DM_OK);
    for (size_t i = 0; i < 4; i++)
        assert_true(f.stations->intervals[i].reconciled);
    assert_near(f.stations->runs[0].scale, 1.0 / 1.06, 5e-4);
    survey_fixture_end(&f);
}

/* A small linear congruential generator: the same numbers everywhere. */
static double chance(unsigned *seed)
{
    *seed = *seed * 1664525u + 1013904223u;
    return (double)(*seed >> 8) / 16777216.0;
}

/* Encoders far beyond the freed scale's prior: it is freed once, then intervals
 * are. */
static void scale_is_freed_once(void **state)
{
    static const double t[] = {2, 5, 15, 17, 34};
    survey_fixture f;
    unsigned seed = 1;

    (void)state;
    for (int n = 0; n < 300; n++) {
        size_t scales = 0;
        double most = 3.0 * chance(&seed);
        survey_fixture_init(&f, t, 5, 0.003);
        f.instruments[0].walk = 0.00125;
        f.instruments[0].scale_u = 0.002;
        f.instruments[0].scale_shared = true;
        for (int run = n % SURVEY_RUNS; run >= 0; run--) {
            double x = 0.0;
            survey_fixture_run(&f);
            survey_fixture_start(&f, 0, 0, 0.003);
            survey_fixture_readings(&f);
            for (size_t i = 1; i < 5; i++) {
                x += (t[i] - t[i - 1]) * (1.0 + most * chance(&seed));
                survey_fixture_tie(&f, x, i, 0.003);
            }
        }
        solve(&f);
        for (size_t i = 0; i < f.stations->hypothesis_count; i++) {
            const dm_hypothesis *h = &f.stations->hypotheses[i];
            scales += h->kind == DM_BLUNDER_SCALE &&
                      (i == 0 || h->group != h[-1].group);
        }
        assert_true(scales <= 1);
        survey_fixture_end(&f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(skip_not_written_is_named_and_not_spread),
        cmocka_unit_test(run_too_long_for_any_skip_is_a_jump),
        cmocka_unit_test(reversed_run_is_called_so),
        cmocka_unit_test(skip_counted_twice_is_named_and_accepted),
        cmocka_unit_test(wrong_face_is_named_and_accepted),
        cmocka_unit_test(first_and_last_tie_tell_no_skip_from_a_face),
        cmocka_unit_test(missing_skip_is_accepted_at_an_unknown_place),
        cmocka_unit_test(encoder_out_of_its_prior_is_a_scale),
        cmocka_unit_test(scale_is_freed_once),
        cmocka_unit_test(blunder_before_the_last_tie_spoils_the_tail),
        cmocka_unit_test(least_blunder_moves_z_as_said),
        cmocka_unit_test(readings_between_unknown_skips_are_left_out),
        cmocka_unit_test(more_events_than_can_be_solved_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
