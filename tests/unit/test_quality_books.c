/* SPDX-License-Identifier: MIT
 * Runs of several books and channels, what is said in words, memory. */
#include <stdlib.h>

#include "allocfail.h"
#include "base/buf.h"
#include "quality_site.h"
#include "write/quality_words.h"

/* ---- columns of several books
 * ------------------------------------------------ */

static void books_may_be_laid_out_each_in_its_way(void **state)
{
    site *s = site_new();
    const dm_quality_run *a, *b;

    (void)state;
    site_book(s, &(site_run){.id = "R1", .pitch = 0.004, .speed = 0.1}, 1);
    s->european = true;
    site_book(
        s, &(site_run){.id = "R2", .pitch = 0.004, .speed = 0.1, .back = true},
        1);
    assert_int_equal(site_judge(s), DM_OK);
    a = site_result(s, 0);
    b = site_result(s, 1);
    assert_int_equal(a->verdict, DM_VERDICT_GOOD);
    assert_int_equal(b->verdict, DM_VERDICT_GOOD);
    assert_int_equal(a->pace.rows, b->pace.rows);
    assert_near(a->pace.read, b->pace.read, 1e-4);
    assert_near(a->pace.speed, b->pace.speed, 0.001);
    assert_near(a->channels[0].noise, b->channels[0].noise, 0.002);
    site_free(s);
}

static void a_bad_row_leaves_the_run_out(void **state)
{
    site *s = site_new();
    const dm_remark *r;
    FILE *f;

    (void)state;
    site_book(s, &(site_run){.id = "R1"}, 1);
    f = fopen(s->paths[0], "a");
    assert_non_null(f);
    fputs("27500,wet\n", f);
    fclose(f);
    assert_int_equal(site_judge(s), DM_OK);
    r = site_only(s, DM_REMARK_LEFT_OUT, DM_VERDICT_AGAIN);
    assert_int_equal(s->campaign->left_out, 1);
    assert_non_null(strstr(s->said.text, "'wet' is not a number"));
    assert_true(r->place.line > 0);
    site_free(s);
}

static void without_a_calibration_it_cannot_be_used(void **state)
{
    site *s = site_new();

    (void)state;
    s->no_calibration = true;
    site_book(s, &(site_run){.id = "R1"}, 1);
    assert_int_equal(site_judge(s), DM_OK);
    site_only(s, DM_REMARK_LEFT_OUT, DM_VERDICT_AGAIN);
    assert_true(isnan(site_result(s, 0)->channels[0].band));
    site_free(s);
}

/* The lines of two channels are two lines; a remark names its channel. */
static void each_channel_is_judged(void **state)
{
    site *s = site_new();
    const dm_quality_run *q;

    (void)state;
    s->channels = true;
    site_add_void(s, 10.0, 11.0, 0.6, 180.0);
    site_book(s, &(site_run){.id = "R1", .checks = 1}, 1);
    assert_int_equal(site_judge(s), DM_OK);
    q = site_result(s, 0);
    assert_int_equal(q->channel_count, 2);
    assert_near(q->channels[1].clock - q->channels[0].clock, 3.14159265, 1e-6);
    assert_int_equal(q->remark_count, 2);
    assert_string_equal(site_words(s, &q->remarks[1], DM_UNITS_METRIC),
                        "channel C2: no check repeated after the readings, "
                        "drift is not known: read air and reference now");
    assert_int_equal(s->campaign->quality[0]->pair_count, 0);
    site_free(s);
}

/* ---- words ----------------------------------------------------------------
 */

/* Every kind of hypothesis is told with what to do, in both units. */
static void every_hypothesis_has_its_words(void **state)
{
    static const struct {
        dm_blunder kind;
        double length;
        const char *metric, *us;
    } cases[] = {
        {DM_BLUNDER_SKIP_MISSING, 0.3048,
         "a skip of 0.30 m looks unwritten (z = 5.0): find it and write it "
         "down, or read this interval again",
         "a skip of 1.00 ft looks unwritten (z = 5.0): find it and write it "
         "down, or read this interval again"},
        {DM_BLUNDER_SKIP_TWICE, -0.3048,
         "a skip of 0.30 m looks counted twice (z = 5.0): check the skips "
         "written here",
         "a skip of 1.00 ft looks counted twice (z = 5.0): check the skips "
         "written here"},
        {DM_BLUNDER_WRONG_FACE, 2.0,
         "the tie at face A1f (line LINE) looks taken at face D1a (z = 5.0): "
         "tie again",
         NULL},
        {DM_BLUNDER_REVERSED, 0.0,
         "the run looks written in the wrong direction (z = 5.0): check it",
         NULL},
        {DM_BLUNDER_SCALE, 0.021,
         "the encoder looks off by 2.1 % (z = 5.0): check the wheel, read the "
         "run again",
         NULL},
        {DM_BLUNDER_JUMP, -0.3048,
         "a jump of -0.30 m (z = 5.0): tie at both faces again, read this "
         "interval again",
         "a jump of -1.00 ft (z = 5.0): tie at both faces again, read this "
         "interval again"},
    };
    site *s = site_of_run((site_run){0});
    const dm_campaign *c = s->campaign;
    dm_hypothesis h = {.event = 2, .face = 2};
    dm_stations st = {.hypotheses = &h, .hypothesis_count = 1};
    dm_remark r = {.kind = DM_REMARK_NOT_CLOSED,
                   .channel = DM_NONE,
                   .value = 5.0,
                   .face_from = 0,
                   .face_to = 3};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        for (int us = 0; us < 2; us++) {
            const char *want =
                us && cases[i].us ? cases[i].us : cases[i].metric;
            char line[32], text[256], *at;
            dm_buf out = {0};

            h.kind = cases[i].kind;
            h.length = cases[i].length;
            dm_remark_words(c->model, c->survey, &st, c->quality[0], 0, &r,
                            us ? DM_UNITS_US : DM_UNITS_METRIC, &out);
            snprintf(text, sizeof text, "from face A1f to face A2f %s", want);
            snprintf(line, sizeof line, "(line %ld)",
                     c->survey->runs[0].events[2].place.line);
            at = strstr(text, "(line LINE)");
            if (at != NULL) {
                char rest[256];

                strcpy(rest, at + strlen("(line LINE)"));
                strcpy(at, line);
                strcat(at, rest);
            }
            assert_string_equal(out.data, text);
            dm_buf_free(&out);
        }
    site_free(s);
}

/* ---- memory
 * ------------------------------------------------------------------ */

/* Ten times the rows on the same length ask for not a byte more. */
static void memory_does_not_grow_with_the_rows(void **state)
{
    size_t asked[2];

    (void)state;
    for (int i = 0; i < 2; i++) {
        site *s = site_new();
        site_run run = {.id = "R1", .speed = 0.1};

        run.pitch = 27.4 / (i == 0 ? 20000.0 : 200000.0);
        site_book(s, &run, 1);
        asked[i] = allocfail_asked();
        assert_int_equal(site_judge(s), DM_OK);
        asked[i] = allocfail_asked() - asked[i];
        assert_int_equal(site_result(s, 0)->pace.rows, i == 0 ? 20001 : 200001);
        site_free(s);
    }
    assert_true(asked[0] > 0);
    assert_true(asked[1] <= asked[0]);
}

static dm_status judge_once(void *user)
{
    site *s = user;
    const dm_campaign *c = s->campaign;
    dm_quality *q = NULL;
    dm_status status =
        dm_quality_of(c->model, c->survey, c->results[0].stations,
                      &c->job->settings, NULL, &q);

    assert_true((q != NULL) == (status == DM_OK));
    dm_quality_free(q);
    return status;
}

static void every_allocation_may_fail(void **state)
{
    site *s = site_new();
    site_run runs[2] = {{.id = "R1", .pitch = 0.03, .no_tie = true},
                        {.id = "R2", .back = true, .roll_back = 0.2}};

    (void)state;
    site_book(s, runs, 2);
    assert_int_equal(site_judge(s), DM_OK);
    assert_true(allocfail_each(judge_once, s) > 40);
    site_free(s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(books_may_be_laid_out_each_in_its_way),
        cmocka_unit_test(a_bad_row_leaves_the_run_out),
        cmocka_unit_test(without_a_calibration_it_cannot_be_used),
        cmocka_unit_test(each_channel_is_judged),
        cmocka_unit_test(every_hypothesis_has_its_words),
        cmocka_unit_test(memory_does_not_grow_with_the_rows),
        cmocka_unit_test(every_allocation_may_fail),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
