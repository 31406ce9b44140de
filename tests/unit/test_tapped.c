/* SPDX-License-Identifier: MIT
 * What becomes of each indication: a tap of its own, one that serves it too,
 * or none and why. */
#include <stdlib.h>
#include <string.h>

#include "near.h"
#include "tap_bench.h"

#define PI 3.14159265358979323846

/* By whom, where not DM_NONE, and why not by one of its own. */
static void assert_tapped(const dm_taps *taps, size_t indication,
                          const char *tap, const char *why)
{
    const dm_tapped *t = dm_tapped_of(taps, indication);

    assert_non_null(t);
    if (tap == NULL)
        assert_int_equal(t->tap, DM_NONE);
    else
        assert_string_equal(taps->items[t->tap].id, tap);
    assert_string_equal(t->why, why);
}

static void whoever_has_no_tap_has_a_reason(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 3.0, 4.0, 0.01)->grade = 1;
    tap_bench_add(b, 5.0, 6.0, 0.01)->reconciled = false;
    tap_bench_add(b, 7.0, 8.0, 0.01);
    tap_bench_add(b, 9.0, 10.0, 0.01)->grade = DM_NONE;
    b->exclude = (dm_tap_exclude){
        .indication = "T1-I03", .by = "engineer", .reason = "x-rayed"};
    b->job.exclude_count = 1;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 0);
    assert_int_equal(taps->indication_count, 4);
    assert_tapped(taps, 0, NULL, "the grade look asks for none");
    assert_tapped(taps, 1, NULL, "its distances are not reconciled");
    assert_tapped(taps, 2, NULL, "excluded by engineer: x-rayed");
    assert_tapped(taps, 3, NULL, "of no grade");
    assert_null(dm_tapped_of(taps, 4));
    assert_null(dm_tapped_of(NULL, 0));
    dm_taps_free(taps);
    b->job.exclude_count = 0;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 1);
    assert_tapped(taps, 2, "T1-I03-A", "");
    dm_taps_free(taps);
    free(b);
}

static void what_was_opened_is_not_drilled_again(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 3.0, 4.0, 0.01)->state = DM_STATE_CONFIRMED;
    tap_bench_add(b, 7.0, 8.0, 0.01)->state = DM_STATE_REFUTED;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 0);
    assert_tapped(taps, 0, NULL, "confirmed by an opening");
    assert_tapped(taps, 1, NULL, "refuted by an opening");
    dm_taps_free(taps);
    b->job.pairs = &b->pair;
    b->pair = (dm_tap_pair){
        .indication = "T1-I01", .by = "engineer", .reason = "flushing"};
    b->job.pair_count = 1;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 2);
    /* Of the two the first along the tendon. */
    assert_tapped(taps, 0, taps->items[0].id, "");
    assert_tapped(taps, 1, NULL, "refuted by an opening");
    dm_taps_free(taps);
    free(b);
}

static void a_request_inside_is_named_beside_the_reason(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 9.0, 10.0, 0.01)->grade = 1;
    b->request = (dm_tap_request){.id = "Q1",
                                  .tendon = "T1",
                                  .face = "A1-f",
                                  .distance = 8.5,
                                  .clock = 0.0,
                                  .by = "engineer",
                                  .reason = "as well"};
    b->job.request_count = 1;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 1);
    assert_tapped(taps, 0, taps->items[0].id, "the grade look asks for none");
    dm_taps_free(taps);
    free(b);
}

static void taps_too_close_become_one_of_the_better_grade(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->grades[1].tap = true;
    tap_bench_add(b, 12.0, 12.5, 0.001)->grade = 1; /* tapped at 12.473 */
    tap_bench_add(b, 12.4, 12.58, 0.001); /* at 12.553, better grade */
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 1);
    assert_string_equal(taps->items[0].id, "T1-I02-A");
    assert_non_null(strstr(taps->items[0].why, "; serves T1-I01-A too"));
    assert_tapped(taps, 0, "T1-I02-A", "served by T1-I02-A");
    assert_tapped(taps, 1, "T1-I02-A", "");
    dm_taps_free(taps);
    free(b);
}

/* The second goes into the first, the first into the third: the third serves
 * both, and says so. */
static void who_was_served_by_one_that_went_is_still_named(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->grades[1].tap = true;
    tap_bench_add(b, 12.0, 12.470, 0.001)->grade = 1;
    tap_bench_add(b, 12.0, 12.500, 0.001)->grade = 1;
    tap_bench_add(b, 12.0, 12.545, 0.001);
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 1);
    assert_string_equal(taps->items[0].id, "T1-I03-A");
    assert_non_null(strstr(taps->items[0].why, "; serves T1-I01-A too"));
    assert_non_null(strstr(taps->items[0].why, "; serves T1-I02-A too"));
    for (size_t i = 0; i < 2; i++)
        assert_tapped(taps, i, "T1-I03-A", "served by T1-I03-A");
    dm_taps_free(taps);
    free(b);
}

/* One on the other side lies between the two that become one. */
static void taps_stay_in_order_where_the_later_one_stays(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    b->grades[1].tap = true;
    tap_bench_add(b, 12.0, 12.470, 0.001)->grade = 1;
    tap_bench_add(b, 12.0, 12.500, 0.001)->clock = PI;
    tap_bench_add(b, 12.0, 12.545, 0.001);
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 2);
    assert_string_equal(taps->items[0].id, "T1-I02-A");
    assert_string_equal(taps->items[1].id, "T1-I03-A");
    assert_true(taps->items[0].t < taps->items[1].t);
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(taps->items[i].tendon_length_rank, i);
    assert_tapped(taps, 0, "T1-I03-A", "served by T1-I03-A");
    assert_tapped(taps, 1, "T1-I02-A", "");
    assert_tapped(taps, 2, "T1-I03-A", "");
    dm_taps_free(taps);
    free(b);
}

/* Two on opposite sides of the duct both stay, however near along it. */
static void taps_on_opposite_sides_are_not_merged(void **unused)
{
    tap_bench *b = tap_bench_new();
    dm_taps *taps;

    (void)unused;
    tap_bench_add(b, 12.0, 12.5, 0.001);
    tap_bench_add(b, 12.0, 12.5, 0.001)->clock = PI;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 2);
    dm_taps_free(taps);
    b->items[1].clock = 0.0;
    taps = tap_bench_place(b);
    assert_int_equal(taps->count, 1);
    assert_tapped(taps, 1, "T1-I01-A", "served by T1-I01-A");
    dm_taps_free(taps);
    free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(whoever_has_no_tap_has_a_reason),
        cmocka_unit_test(what_was_opened_is_not_drilled_again),
        cmocka_unit_test(a_request_inside_is_named_beside_the_reason),
        cmocka_unit_test(taps_too_close_become_one_of_the_better_grade),
        cmocka_unit_test(who_was_served_by_one_that_went_is_still_named),
        cmocka_unit_test(taps_stay_in_order_where_the_later_one_stays),
        cmocka_unit_test(taps_on_opposite_sides_are_not_merged),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
