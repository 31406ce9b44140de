/* SPDX-License-Identifier: MIT
 * Sums over nested parts: each tendon once, in every part that it lies in. */
#include "ductmark/total.h"

#include <string.h>

#include "allocfail.h"
#include "near.h"

typedef struct {
    dm_model model;
    dm_part parts[4];
    dm_tendon tendons[4];
    dm_indications found[4];
    dm_indication items[4][2];
    dm_result results[4];
    dm_grade grades[2];
    dm_criteria criteria;
} bench;

/* P0 > P1 > P2, P3 beside; tendons in P2, P1, P3 and none. */
static void set(bench *b)
{
    static const size_t parent[4] = {DM_NONE, 0, 1, DM_NONE};
    static const size_t part[4] = {2, 1, 3, DM_NONE};

    memset(b, 0, sizeof *b);
    b->model.parts = b->parts;
    b->model.part_count = 4;
    b->model.tendons = b->tendons;
    b->model.tendon_count = 4;
    b->criteria.grades = b->grades;
    b->criteria.grade_count = 2;
    for (size_t i = 0; i < 4; i++) {
        b->parts[i].parent = parent[i];
        b->tendons[i].part = part[i];
        b->tendons[i].line.length = 10.0 * (double)(i + 1) + 1.0 / 3.0;
        b->found[i].items = b->items[i];
        b->found[i].count = 2;
        for (size_t k = 0; k < 2; k++) {
            b->items[i][k].kind = k ? DM_KIND_VOID_LIKE : DM_KIND_UNRESOLVED;
            b->items[i][k].grade = k ? i % 2 : DM_NONE;
            b->items[i][k].from.t = 1.0;
            b->items[i][k].to.t = k ? 1.5 : 1.25;
        }
        b->found[i].cover_sum[DM_COVER_TESTED] = 7.0;
        b->found[i].cover_sum[DM_COVER_NOT_VALID] =
            b->tendons[i].line.length - 7.0;
        b->found[i].why_sum[DM_WHY_NONE] = 7.0;
        b->found[i].why_sum[DM_WHY_LIFT_OFF] = b->tendons[i].line.length - 7.0;
        b->results[i].indications = i == 2 ? NULL : &b->found[i];
    }
}

static void parts_hold_what_lies_in_them(void **state)
{
    static const size_t tendons[4] = {2, 2, 1, 1};
    static const double length[4] = {30.666666, 30.666666, 10.333333,
                                     30.333333};
    bench b;
    dm_totals *t;

    (void)state;
    set(&b);
    assert_int_equal(dm_totals_make(&b.model, &b.criteria, b.results, &t),
                     DM_OK);
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(t->parts[i].tendons, tendons[i]);
        assert_near(t->parts[i].length, length[i], 1e-9);
    }
    assert_int_equal(t->bridge.tendons, 4);
    assert_int_equal(t->bridge.surveyed, 3);
    assert_near(t->bridge.length, 101.333332, 1e-9);
    assert_near(t->bridge.cover[DM_COVER_TESTED], 21.0, 1e-9);
    /* What nobody surveyed is not tested, never left out. */
    assert_near(t->bridge.cover[DM_COVER_NOT_TESTED], 30.333333, 1e-9);
    assert_near(t->bridge.why[DM_WHY_NOT_WALKED], 30.333333, 1e-9);
    assert_near(t->parts[0].why[DM_WHY_LIFT_OFF], 16.666666, 1e-9);
    assert_int_equal(t->bridge.all.count, 6);
    assert_near(t->bridge.all.length, 3 * 0.75, 1e-9);
    assert_int_equal(
        dm_tally_at(t, &t->bridge, DM_KIND_UNRESOLVED, DM_NONE)->count, 3);
    assert_int_equal(dm_tally_at(t, &t->bridge, DM_KIND_VOID_LIKE, 0)->count,
                     1);
    assert_int_equal(dm_tally_at(t, &t->bridge, DM_KIND_VOID_LIKE, 1)->count,
                     2);
    assert_int_equal(dm_tally_at(t, &t->parts[0], DM_KIND_VOID_LIKE, 1)->count,
                     1);
    assert_near(dm_tally_at(t, &t->parts[2], DM_KIND_VOID_LIKE, 0)->length, 0.5,
                1e-9);
    assert_int_equal(dm_tally_at(t, &t->parts[3], DM_KIND_VOID_LIKE, 0)->count,
                     0);
    dm_totals_free(t);
}

static void without_results_all_is_untested(void **state)
{
    bench b;
    dm_totals *t;

    (void)state;
    set(&b);
    assert_int_equal(dm_totals_make(&b.model, NULL, NULL, &t), DM_OK);
    assert_int_equal(t->grades, 0);
    assert_near(t->bridge.cover[DM_COVER_NOT_TESTED], t->bridge.length, 1e-9);
    assert_int_equal(t->bridge.all.count, 0);
    dm_totals_free(t);
}

static dm_status make(void *user)
{
    bench *b = user;
    dm_totals *t;
    dm_status status = dm_totals_make(&b->model, &b->criteria, b->results, &t);

    dm_totals_free(t);
    return status;
}

static void each_failed_allocation_is_no_memory(void **state)
{
    bench b;

    (void)state;
    set(&b);
    assert_true(allocfail_each(make, &b) >= 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(parts_hold_what_lies_in_them),
        cmocka_unit_test(without_results_all_is_untested),
        cmocka_unit_test(each_failed_allocation_is_no_memory),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
