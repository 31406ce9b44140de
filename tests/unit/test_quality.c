/* SPDX-License-Identifier: MIT
 * Verdicts on runs made from a known truth: one fault each, both sides of each
 * limit. */
#include <stdlib.h>

#include "allocfail.h"
#include "quality_site.h"

#define IS_GOOD(...)                                                           \
    do {                                                                       \
        site *good = site_of_run((site_run){__VA_ARGS__});                     \
        const dm_quality_run *run = site_result(good, 0);                      \
        if (run->remark_count > 0)                                             \
            fail_msg("%s",                                                     \
                     site_words(good, &run->remarks[0], DM_UNITS_METRIC));     \
        assert_int_equal(run->verdict, DM_VERDICT_GOOD);                       \
        site_free(good);                                                       \
    } while (0)

/* ---- a good run ------------------------------------------------------------
 */

static void a_good_run_is_good(void **state)
{
    site *s = site_of_run((site_run){0});
    const dm_quality_run *q = site_result(s, 0);

    (void)state;
    assert_int_equal(q->verdict, DM_VERDICT_GOOD);
    assert_int_equal(q->remark_count, 0);
    assert_int_equal(q->pace.rows, 5481);
    assert_near(q->pace.read, 27.4, 1e-6);
    assert_near(q->pace.spacing, 0.005, 0.005 * 0.005);
    assert_near(q->pace.spacing_most, 0.005, 1e-9);
    assert_int_equal(q->pace.timed, 0);
    assert_near(q->from, 1.3, 0.01);
    assert_near(q->to, 28.7, 0.01);
    assert_near(q->tail, 0.0, 0.01);
    assert_int_equal(q->channel_count, 1);
    /* A cell holds one reading of noise 0.02. */
    assert_near(q->channels[0].noise, 0.02, 0.002);
    assert_near(q->channels[0].drift, 0.0, 1e-9);
    assert_true(q->channels[0].check_before && q->channels[0].check_after);
    assert_near(q->channels[0].band, 0.25, 0.0);
    assert_true(q->channels[0].floor < 0.05);
    assert_true(fabs(q->z) < 3.0);
    assert_true(q->least_blunder > 0.0 && q->least_blunder < 0.5);
    site_free(s);
}

static void a_good_run_back_is_good(void **state)
{
    (void)state;
    IS_GOOD(.back = true);
    IS_GOOD(.back = true, .clock = 90.0, .speed = 0.2);
}

/* ---- checks and noise -------------------------------------------------------
 */

static void drift_is_held_against_the_limit_and_its_half(void **state)
{
    site *s;
    const dm_remark *r;

    (void)state;
    IS_GOOD(.drift = 0.045);
    s = site_of_run((site_run){.drift = 0.06});
    r = site_only(s, DM_REMARK_DRIFT, DM_VERDICT_USABLE);
    assert_near(r->value, 0.06, 0.004);
    site_free(s);
    s = site_of_run((site_run){.drift = 0.15});
    r = site_only(s, DM_REMARK_DRIFT, DM_VERDICT_AGAIN);
    assert_near(r->limit, 0.1, 0.0);
    assert_string_equal(site_words(s, r, DM_UNITS_METRIC),
                        "air or reference changed by 0.14 of the step between "
                        "them, at most 0.10 is allowed: check the sensor, read "
                        "the run again");
    site_free(s);
}

static void checks_that_are_missing_are_said(void **state)
{
    site *s = site_of_run((site_run){.checks = 1});

    (void)state;
    site_only(s, DM_REMARK_CHECK_ONCE, DM_VERDICT_USABLE);
    site_free(s);
    s = site_of_run((site_run){.checks = 2});
    site_only(s, DM_REMARK_NO_CHECK, DM_VERDICT_USABLE);
    site_free(s);
}

/* 4.5 deviations of the smoothed index: of white noise over 9 cells, 1.5 of
 * those of a cell: 0.25 lies at 0.167. */
static void noise_beyond_the_band_is_to_be_read_again(void **state)
{
    site *s;
    const dm_remark *r;

    (void)state;
    IS_GOOD(.noise = 0.12);
    s = site_of_run((site_run){.noise = 0.25});
    r = site_only(s, DM_REMARK_NOISE, DM_VERDICT_AGAIN);
    assert_near(r->value, 4.5 * 0.25 / 3.0, 0.06);
    assert_near(r->limit, 0.25, 0.0);
    site_free(s);
}

/* ---- spacing ----------------------------------------------------------------
 */

static void sparse_readings_are_said(void **state)
{
    site *s;
    const dm_remark *r;

    (void)state;
    IS_GOOD(.pitch = 0.02);
    s = site_of_run((site_run){.pitch = 0.025});
    r = site_only(s, DM_REMARK_SPARSE, DM_VERDICT_USABLE);
    assert_near(r->value, 4.0, 0.03);
    site_free(s);
    s = site_of_run((site_run){.pitch = 0.025, .speed = 0.25});
    r = site_only(s, DM_REMARK_SPARSE, DM_VERDICT_USABLE);
    assert_near(site_result(s, 0)->speed_wanted, 0.2, 0.005);
    assert_string_equal(site_words(s, r, DM_UNITS_METRIC),
                        "4.0 readings a footprint, 5 are wanted: pull at most "
                        "0.20 m/s");
    assert_string_equal(site_words(s, r, DM_UNITS_US),
                        "4.0 readings a footprint, 5 are wanted: pull at most "
                        "0.66 ft/s");
    site_free(s);
}

static void gaps_and_what_was_not_read_are_told_apart(void **state)
{
    site *s;
    const dm_remark *r;

    (void)state;
    IS_GOOD(.gap_from = 20.0, .gap_to = 20.03);
    s = site_of_run((site_run){.gap_from = 20.0, .gap_to = 20.08});
    r = site_only(s, DM_REMARK_GAP, DM_VERDICT_USABLE);
    assert_int_equal(r->count, 1);
    assert_near(r->value, 0.08, 0.011);
    assert_near(r->from, 20.0, 0.02);
    assert_near(r->to, 20.08, 0.02);
    site_free(s);
    s = site_of_run((site_run){.gap_from = 20.0, .gap_to = 20.5});
    r = site_only(s, DM_REMARK_NOT_READ, DM_VERDICT_AGAIN);
    assert_near(r->from, 20.0, 0.02);
    assert_near(r->to, 20.5, 0.02);
    assert_int_equal(s->campaign->quality[0]->unread_count > 0, 1);
    site_free(s);
}

/* Turned round, the encoder counts from 40 m down; nothing ties it then. */
static void an_encoder_turned_round_is_seen(void **state)
{
    size_t asked = allocfail_asked();
    site *s = site_of_run((site_run){.falling = true, .no_tie = true});

    (void)state;
    /* The cells grow towards lesser x as they do towards greater. */
    assert_true(allocfail_asked() - asked < (size_t)32 << 20);
    assert_non_null(site_remark(site_result(s, 0), DM_REMARK_FALLING));
    assert_int_equal(site_result(s, 0)->verdict, DM_VERDICT_AGAIN);
    site_free(s);
}

static void rolling_back_is_seen(void **state)
{
    site *s;
    const dm_remark *r;

    (void)state;
    IS_GOOD(.roll_back = 0.04);
    s = site_of_run((site_run){.roll_back = 0.3});
    r = site_only(s, DM_REMARK_ROLL_BACK, DM_VERDICT_USABLE);
    assert_int_equal(r->count, 1);
    assert_near(r->value, 0.3, 0.011);
    assert_near(r->x_to, 13.7, 0.02);
    assert_true(r->place.line > 2000 && r->place.line < 4000);
    site_free(s);
}

/* ---- speed ------------------------------------------------------------------
 */

static void speed_and_stops_are_taken_from_the_times(void **state)
{
    static const char *const unit[] = {NULL, "iso"};

    (void)state;
    for (size_t i = 0; i < 2; i++) {
        site *s = site_of_run(
            (site_run){.speed = 0.1, .stop = 7.0, .clock_unit = unit[i]});
        const dm_pace *p = &site_result(s, 0)->pace;

        assert_int_equal(site_result(s, 0)->verdict, DM_VERDICT_GOOD);
        assert_int_equal(p->timed, p->rows);
        assert_near(p->duration, 274.0 + 7.0, 0.1);
        assert_near(p->speed, 0.1, 0.001);
        assert_near(p->speed_most, 0.1, 0.002);
        assert_int_equal(p->stops, 1);
        assert_near(p->stopped, 7.0, 0.11);
        assert_near(p->stop_most, p->stopped, 0.0);
        site_free(s);
    }
}

static void unusual_speed_and_a_clock_set_back_are_said(void **state)
{
    site *s = site_of_run(
        (site_run){.speed = 0.1, .fast_from = 20.0, .fast_to = 22.0});
    const dm_remark *r = site_only(s, DM_REMARK_FAST, DM_VERDICT_USABLE);

    (void)state;
    assert_near(r->value, 0.4, 0.004);
    assert_near(r->limit, 0.3, 0.003);
    assert_true(r->from > 19.9 && r->to < 22.1);
    assert_string_equal(strstr(site_words(s, r, DM_UNITS_METRIC), "4.0 times"),
                        "4.0 times the run's median");
    site_free(s);
    s = site_of_run((site_run){.speed = 0.1, .clock_back = 30.0});
    r = site_only(s, DM_REMARK_CLOCK, DM_VERDICT_USABLE);
    assert_int_equal(r->count, 1);
    assert_near(r->x_from, 13.7, 0.02);
    site_free(s);
}

/* ---- lift-offs --------------------------------------------------------------
 */

static void lift_offs_have_their_reason(void **state)
{
    site *s = site_of_run((site_run){.lift_from = 4.98, .lift_to = 5.04});
    const dm_quality_channel *c = &site_result(s, 0)->channels[0];

    (void)state;
    assert_int_equal(site_result(s, 0)->verdict, DM_VERDICT_GOOD);
    assert_int_equal(c->lift_count, 1);
    assert_false(c->lifts[0].stated);
    assert_int_equal(c->lifts[0].fixture, 0); /* the weld at 5 m */
    assert_true(c->lifts[0].from < 4.98 && c->lifts[0].to > 5.04);
    site_free(s);
    s = site_of_run(
        (site_run){.lift_from = 20.0, .lift_to = 22.0, .lift_stated = true});
    c = &site_result(s, 0)->channels[0];
    assert_int_equal(c->lift_count, 1);
    assert_true(c->lifts[0].stated);
    assert_string_equal(c->lifts[0].reason, "grease");
    assert_int_equal(c->lifts[0].fixture, DM_NONE);
    assert_near(c->lifted, 2.0, 0.02);
    assert_near(site_only(s, DM_REMARK_LIFTED, DM_VERDICT_USABLE)->value,
                2.0 / 27.4, 0.002);
    site_free(s);
}

/* ---- distances --------------------------------------------------------------
 */

static void a_forgotten_skip_is_to_be_found(void **state)
{
    site *s = site_of_run((site_run){.unwritten = 0.5});
    const dm_remark *r = site_only(s, DM_REMARK_NOT_CLOSED, DM_VERDICT_AGAIN);
    const char *text = site_words(s, r, DM_UNITS_METRIC);

    (void)state;
    assert_true(r->hypothesis != DM_NONE);
    assert_non_null(strstr(text, "from face A1f to face A2f a skip of 0."));
    assert_non_null(strstr(text, "looks unwritten"));
    assert_true(site_result(s, 0)->z > 3.0);
    site_free(s);
}

static void ties_that_are_missing_are_to_be_taken(void **state)
{
    site *s = site_of_run((site_run){.no_tie = true});
    const dm_remark *r = site_only(s, DM_REMARK_NO_TIE, DM_VERDICT_AGAIN);

    (void)state;
    assert_string_equal(site_words(s, r, DM_UNITS_METRIC),
                        "nothing but its start places it, a forgotten skip "
                        "would not show: tie at face A2f");
    site_free(s);
    s = site_of_run((site_run){.no_tie = true, .mid_tie = 2});
    r = site_only(s, DM_REMARK_OPEN_TAIL, DM_VERDICT_AGAIN);
    assert_near(r->value, 15.0, 0.05);
    assert_non_null(
        strstr(site_words(s, r, DM_UNITS_METRIC), "tie again, at face"));
    assert_int_equal(r->place.line, site_result(s, 0)->remarks[0].place.line);
    site_free(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_good_run_is_good),
        cmocka_unit_test(a_good_run_back_is_good),
        cmocka_unit_test(drift_is_held_against_the_limit_and_its_half),
        cmocka_unit_test(checks_that_are_missing_are_said),
        cmocka_unit_test(noise_beyond_the_band_is_to_be_read_again),
        cmocka_unit_test(sparse_readings_are_said),
        cmocka_unit_test(gaps_and_what_was_not_read_are_told_apart),
        cmocka_unit_test(rolling_back_is_seen),
        cmocka_unit_test(an_encoder_turned_round_is_seen),
        cmocka_unit_test(speed_and_stops_are_taken_from_the_times),
        cmocka_unit_test(unusual_speed_and_a_clock_set_back_are_said),
        cmocka_unit_test(lift_offs_have_their_reason),
        cmocka_unit_test(a_forgotten_skip_is_to_be_found),
        cmocka_unit_test(ties_that_are_missing_are_to_be_taken),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
