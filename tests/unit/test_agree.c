/* SPDX-License-Identifier: MIT
 * Runs of one clock line against each other, and against the mirrored one,
 * from a known truth. */
#include <stdlib.h>

#include "quality_site.h"

static site *judged(const site_run *runs, size_t count, const site_void *voids,
                    size_t void_count)
{
    site *s = site_new();

    for (size_t i = 0; i < void_count; i++)
        site_add_void(s, voids[i].from, voids[i].to, voids[i].height,
                      voids[i].clock);
    site_book(s, runs, count);
    if (site_judge(s) != DM_OK)
        fail_msg("%s", s->said.text);
    return s;
}

static const dm_agreement *pair(const site *s, size_t a, size_t b)
{
    const dm_quality *q = s->campaign->quality[0];

    for (size_t i = 0; i < q->pair_count; i++)
        if (q->pairs[i].a == a && q->pairs[i].b == b)
            return &q->pairs[i];
    fail_msg("no pair %zu, %zu", a, b);
    return NULL;
}

/* There and back: the difference is what the noise explains. A cell of 20 mm
 * holds four readings of noise 0.02. */
static void there_and_back_agree(void **state)
{
    const site_run runs[] = {{.id = "R1"}, {.id = "R2", .back = true}};
    const site_void voids[] = {{8.0, 9.0, 0.7, 0.0}};
    site *s = judged(runs, 2, voids, 1);
    const dm_agreement *g = pair(s, 0, 1);

    (void)state;
    assert_int_equal(s->campaign->quality[0]->pair_count, 1);
    assert_false(g->mirrored);
    assert_near(g->length, 27.4, 0.06);
    assert_near(g->mean, 0.0, 0.003);
    assert_near(g->rms, 0.02 * sqrt(2.0 / 4.0), 0.0015);
    assert_true(g->expected >= 0.9 * g->rms && g->expected < 1.3 * g->rms);
    /* Variance of a plateau on a share p of the length: h^2 p (1 - p). */
    assert_near(g->correlation,
                0.7 * 0.7 * 0.0365 * 0.9635 /
                    (0.7 * 0.7 * 0.0365 * 0.9635 + 0.0001),
                0.01);
    assert_true(fabs(g->worst) < g->worst_limit);
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(site_result(s, i)->verdict, DM_VERDICT_GOOD);
    site_free(s);
}

/* One of them saw another line of the duct: a short void there is a difference
 * although it hardly shows in the root mean square. */
static void a_void_that_one_of_them_saw_is_a_difference(void **state)
{
    const site_run runs[] = {{.id = "R1"},
                             {.id = "R2", .back = true, .true_clock = 120.0}};
    const site_void voids[] = {{20.0, 20.3, 0.6, 120.0}};
    site *s = judged(runs, 2, voids, 1);
    const dm_agreement *g = pair(s, 0, 1);

    (void)state;
    assert_near(g->worst, -0.6, 0.05);
    assert_true(g->worst_at > 20.0 && g->worst_at < 20.3);
    for (size_t i = 0; i < 2; i++) {
        const dm_remark *r = site_remark(site_result(s, i), DM_REMARK_DIFFERS);

        assert_non_null(r);
        assert_int_equal(r->verdict, DM_VERDICT_USABLE);
        assert_int_equal(r->other, 1 - i);
        assert_near(r->value, 0.6, 0.05);
    }
    site_free(s);
}

/* Runs of other lines are no pair. */
static void other_lines_are_not_compared(void **state)
{
    const site_run runs[] = {{.id = "R1"}, {.id = "R2", .clock = 60.0}};
    site *s = judged(runs, 2, NULL, 0);

    (void)state;
    assert_int_equal(s->campaign->quality[0]->pair_count, 0);
    site_free(s);
}

static const site_void sides[] = {{6.0, 7.0, 0.7, 90.0},
                                  {12.0, 12.5, 0.6, 90.0},
                                  {20.0, 21.0, 0.7, 270.0},
                                  {25.0, 25.6, 0.5, 270.0}};

static void a_mirrored_clock_line_is_suspected(void **state)
{
    /* The third was read at 9:00 and written down as 3:00. */
    const site_run runs[] = {
        {.id = "R1", .clock = 90.0},
        {.id = "R2", .clock = 270.0},
        {.id = "R3", .clock = 90.0, .true_clock = 270.0, .back = true}};
    site *s = judged(runs, 3, sides, 4);
    const dm_remark *r = site_remark(site_result(s, 2), DM_REMARK_MIRRORED);

    (void)state;
    assert_non_null(r);
    assert_int_equal(r->verdict, DM_VERDICT_AGAIN);
    assert_int_equal(r->other, 1);
    assert_true(r->value > 0.9);
    assert_true(pair(s, 1, 2)->mirrored);
    assert_true(pair(s, 0, 2)->correlation < 0.2);
    assert_null(site_remark(site_result(s, 0), DM_REMARK_MIRRORED));
    assert_null(site_remark(site_result(s, 1), DM_REMARK_MIRRORED));
    site_free(s);
}

static void good_runs_of_both_sides_are_not(void **state)
{
    const site_run runs[] = {{.id = "R1", .clock = 90.0},
                             {.id = "R2", .clock = 270.0},
                             {.id = "R3", .clock = 90.0, .back = true},
                             {.id = "R4", .clock = 270.0, .back = true}};
    /* All round: both sides see the same. */
    const site_void round[] = {{6.0, 7.0, 0.7, (double)NAN},
                               {20.0, 20.5, 0.6, (double)NAN}};

    (void)state;
    for (int i = 0; i < 2; i++) {
        site *s = judged(runs, 4, i == 0 ? sides : round, i == 0 ? 4 : 2);

        for (size_t k = 0; k < 4; k++)
            assert_int_equal(site_result(s, k)->verdict, DM_VERDICT_GOOD);
        site_free(s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(there_and_back_agree),
        cmocka_unit_test(a_void_that_one_of_them_saw_is_a_difference),
        cmocka_unit_test(other_lines_are_not_compared),
        cmocka_unit_test(a_mirrored_clock_line_is_suspected),
        cmocka_unit_test(good_runs_of_both_sides_are_not),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
