/* SPDX-License-Identifier: MIT
 * Turns and what is made of them, on cells with a known truth. How often the
 * bounds hold: tests/sim/sim_volume.c. */
#include "indication/turn.h"

#include "geom/chord.h"
#include "indication/size.h"
#include "indication/void.h"
#include "near.h"

#define PI 3.14159265358979323846
#define DEG (PI / 180.0)
#define BORE 0.0504264705882353 /* 4 in IPS DR 17 */
#define N DM_TURN_CELLS

static const dm_thresholds band = {0.25, 0.15, -0.25, -0.15};

static dm_turn_view narrow_view(void)
{
    return (dm_turn_view){
        .footprint = 20.0 * DEG, .layer = 0.015, .band = band};
}

/* Cells at 5 degrees with `inside` over the arc, clockwise. */
static void fill(double *index, double from, double to, double inside)
{
    double width = fmod(to - from + 2.0 * PI, 2.0 * PI);

    for (size_t i = 0; i < N; i++) {
        double into =
            fmod((double)i * 2.0 * PI / N - from + 2.0 * PI, 2.0 * PI);

        index[i] = into < width ? inside : 0.0;
    }
}

static dm_turn measured(dm_arena *arena, const dm_turn_view *view,
                        double *index)
{
    dm_turn t = dm_turn_unknown();

    t.index = index;
    t.cell_count = N;
    t.bore = BORE;
    assert_true(dm_turn_measure(arena, view, &t));
    return t;
}

static void an_arc_passes_the_crown(void **state)
{
    dm_arena *arena = dm_arena_new();
    dm_turn_view view = narrow_view();
    double index[N];
    dm_turn t;

    (void)state;
    fill(index, 299.0 * DEG, 61.0 * DEG, 0.8); /* 10 to 2 o'clock */
    t = measured(arena, &view, index);
    assert_int_equal(t.arc_count, 1);
    assert_int_equal(t.arc, 0);
    assert_near(t.read, 1.0, 0.0);
    assert_true(t.arcs[0].from > t.arcs[0].to);
    /* Half height lies between the last cell inside and the first outside. */
    assert_near(t.arcs[0].from, 297.5 * DEG, 2.5 * DEG);
    assert_near(t.arcs[0].to, 62.5 * DEG, 2.5 * DEG);
    assert_near(t.arcs[0].index, 0.8, 1e-6);
    assert_false(t.arcs[0].whole || t.arcs[0].open_from || t.arcs[0].shorter);
    /* r^2/2 (a - sin a) of that width. */
    double a = dm_arc_width(&t.arcs[0]);
    assert_near(t.direct.best, 0.5 * BORE * BORE * (a - sin(a)), 1e-12);
    assert_true(t.direct.low < t.direct.best && t.direct.best < t.direct.high);
    assert_near(cos(dm_arc_middle(&t.arcs[0])), 1.0, 1e-2);
    dm_arena_free(arena);
}

static void two_arcs_keep_their_order_and_the_wider_is_taken(void **state)
{
    dm_arena *arena = dm_arena_new();
    dm_turn_view view = narrow_view();
    double index[N], more[N];
    dm_turn t;

    (void)state;
    fill(index, 200.0 * DEG, 300.0 * DEG, 0.7);
    fill(more, 30.0 * DEG, 80.0 * DEG, 0.6);
    for (size_t i = 0; i < N; i++)
        index[i] += more[i];
    t = measured(arena, &view, index);
    assert_int_equal(t.arc_count, 2);
    assert_near(dm_arc_middle(&t.arcs[0]), 55.0 * DEG, 5.0 * DEG);
    assert_near(dm_arc_middle(&t.arcs[1]), 250.0 * DEG, 5.0 * DEG);
    assert_int_equal(t.arc, 1);
    dm_arena_free(arena);
}

static void what_was_not_read_leaves_ends_open(void **state)
{
    dm_arena *arena = dm_arena_new();
    dm_turn_view view = narrow_view();
    double index[N];
    dm_turn t;

    (void)state;
    fill(index, 299.0 * DEG, 61.0 * DEG, 0.8);
    for (size_t i = 8; i < 30; i++)
        index[i] = (double)NAN; /* 40 to 145 deg: the wall was in the way */
    t = measured(arena, &view, index);
    assert_near(t.read, 50.0 / 72.0, 1e-12);
    assert_int_equal(t.arc_count, 1);
    assert_false(t.arcs[0].open_from);
    assert_true(t.arcs[0].open_to);
    assert_near(t.direct.high, PI * BORE * BORE, 1e-12);
    assert_true(isnan(t.apart));
    dm_arena_free(arena);
}

static void all_round_is_whole_and_nothing_is_nothing(void **state)
{
    dm_arena *arena = dm_arena_new();
    dm_turn_view view = narrow_view();
    double index[N];
    dm_turn t;

    (void)state;
    for (size_t i = 0; i < N; i++)
        index[i] = 0.9;
    t = measured(arena, &view, index);
    assert_int_equal(t.arc_count, 1);
    assert_true(t.arcs[0].whole);
    assert_near(t.direct.best, PI * BORE * BORE, 1e-12);
    for (size_t i = 0; i < N; i++)
        index[i] = 0.05;
    t = measured(arena, &view, index);
    assert_int_equal(t.arc_count, 0);
    assert_int_equal(t.arc, DM_NONE);
    assert_true(isnan(t.area.best) && isnan(t.direct.best) && !t.fit.valid);
    for (size_t i = 0; i < N; i++)
        index[i] = (double)NAN;
    t = measured(arena, &view, index);
    assert_near(t.read, 0.0, 0.0);
    assert_int_equal(t.arc, DM_NONE);
    dm_arena_free(arena);
}

/* Depth comes from the table alone. */
static void depth_is_read_from_the_table(void **state)
{
    static const dm_depth_point table[] = {
        {0.3, 0.004, 0.001}, {0.6, 0.010, 0.002}, {0.9, 0.025, 0.004}};
    dm_arena *arena = dm_arena_new();
    dm_turn_view view = narrow_view();
    double index[N];
    dm_turn t;

    (void)state;
    fill(index, 299.0 * DEG, 61.0 * DEG, 0.7);
    t = measured(arena, &view, index);
    assert_true(isnan(t.depth.best) && isnan(t.depth.low));
    view.depths = table;
    view.depth_count = 3;
    t = measured(arena, &view, index);
    assert_near(t.depth.best, 0.010 + 0.015 / 3.0, 1e-9);
    assert_true(t.depth.low < t.depth.best && t.depth.best < t.depth.high);
    assert_false(t.depth_at_least);
    fill(index, 299.0 * DEG, 61.0 * DEG, 0.95);
    t = measured(arena, &view, index);
    assert_true(t.depth_at_least);
    assert_near(t.depth.low, 0.025 - 2.0 * 0.004, 1e-12);
    assert_true(isnan(t.depth.best) && isnan(t.depth.high));
    fill(index, 299.0 * DEG, 61.0 * DEG, 0.27); /* below the first row */
    t = measured(arena, &view, index);
    assert_true(isnan(t.depth.best) && !t.depth_at_least);
    dm_arena_free(arena);
}

/* Without noise, through a boxcar of 30 deg, with a response of the fit's own
 * family, it finds what was put in: half angle and roll. */
static double seen_at(double half, double p)
{
    double z = p >= half         ? 0.0
               : half < PI / 2.0 ? BORE * (1.0 - cos(half) / cos(p))
                                 : BORE;

    return 0.8 * (1.0 - exp(-z / 0.006));
}

static void the_fit_finds_a_level_surface(void **state)
{
    dm_arena *arena = dm_arena_new();
    dm_turn_view view = {.footprint = 34.0 * DEG, .layer = 0.012, .band = band};

    (void)state;
    for (int k = 0; k < 4; k++) {
        double half = (45.0 + 20.0 * k) * DEG, roll = (10.0 * k - 15.0) * DEG;
        double index[N], truth = dm_chord_area(BORE, half);
        dm_turn t;

        for (size_t i = 0; i < N; i++) {
            index[i] = 0.0;
            for (int j = -15; j <= 15; j++)
                index[i] +=
                    seen_at(half, fabs(remainder((double)i * 2.0 * PI / N +
                                                     j * DEG - roll,
                                                 2.0 * PI))) /
                    31.0;
        }
        t = measured(arena, &view, index);
        assert_true(t.fit.valid);
        assert_near(t.fit.half_angle, half, 5.0 * DEG);
        assert_near(remainder(t.fit.centre - roll, 2.0 * PI), 0.0, 3.0 * DEG);
        assert_true(t.fit.low < half && half < t.fit.high);
        assert_true(t.fitted.low < truth && truth < t.fitted.high);
        assert_true(t.fit.misfit < 0.05);
        assert_true(t.area.low <= t.area.best && t.area.best <= t.area.high);
    }
    dm_arena_free(arena);
}

/* ---- along the duct ---- */

static dm_void_view level_void(double slope, const dm_void_section *sections,
                               size_t count)
{
    return (dm_void_view){.r = BORE,
                          .from = 2.0,
                          .to = 2.6,
                          .u_from = 0.003,
                          .u_to = 0.003,
                          .slope = slope,
                          .tilt = 2.0 * DEG,
                          .layer = 0.015,
                          .footprint = 0.1,
                          .least = (double)NAN,
                          .sections = sections,
                          .section_count = count,
                          .pitch = 0.02};
}

static dm_amount known(double depth)
{
    double a = dm_chord_area(BORE, dm_chord_half_of_depth(BORE, depth));

    return (dm_amount){0.97 * a, a, 1.03 * a};
}

/* 40 to 15 mm over 600 mm: 1.0748 L; formula derivable from V = r^2/2 int(a -
 * sin a)dx, value computed independently with mpmath. */
static void two_good_turns_give_the_truncated_hoof(void **state)
{
    double slope = atan(0.025 / 0.6);
    dm_void_section two[] = {{2.0, known(0.015), 0.0},
                             {2.6, known(0.040), 0.0}};
    dm_void_view v = level_void(slope, two, 2);
    dm_void_size s, same;

    (void)state;
    assert_true(dm_void_measure(&v, &s));
    assert_near(s.volume.best, 1.07483424529536e-3, 0.05e-3);
    assert_true(s.volume.low < 1.0748e-3 && s.volume.high > 1.0748e-3);
    assert_true(s.volume.high / s.volume.low < 1.5);
    assert_near(s.largest_t, 2.6, 1e-9);
    assert_near(s.fraction.best, known(0.040).best / (PI * BORE * BORE), 0.02);
    assert_false(s.saturated);
    /* Always the same draws. */
    assert_true(dm_void_measure(&v, &same));
    assert_memory_equal(&same.volume, &s.volume, sizeof s.volume);
    assert_memory_equal(&same.fraction, &s.fraction, sizeof s.fraction);
}

static void one_turn_is_worse_than_two_and_strands_take_off(void **state)
{
    double slope = atan(0.025 / 0.6);
    dm_void_section two[] = {{2.1, known(0.01917), 0.0},
                             {2.5, known(0.03583), 0.0}};
    dm_void_view v = level_void(slope, two, 1);
    dm_void_size one, both, strands, open;

    (void)state;
    assert_true(dm_void_measure(&v, &one));
    v.section_count = 2;
    assert_true(dm_void_measure(&v, &both));
    assert_true(one.volume.high / one.volume.low >
                both.volume.high / both.volume.low);
    v.share = 0.4;
    assert_true(dm_void_measure(&v, &strands));
    assert_true(strands.volume.low < 0.75 * both.volume.low);
    assert_true(strands.volume.high <= both.volume.high);
    v.share = 0.0;
    v.beyond[1] = 0.5; /* half a metre unread behind the upper end */
    assert_true(dm_void_measure(&v, &open));
    assert_true(open.volume.high > 1.5 * both.volume.high);
    assert_near(open.volume.low, both.volume.low, 0.2 * both.volume.low);
}

static void without_a_turn_there_are_limits_and_no_best(void **state)
{
    dm_void_view v = level_void(5.0 * DEG, NULL, 0);
    double bore = PI * BORE * BORE;
    dm_void_size s;

    (void)state;
    v.u_from = v.u_to = 0.0;
    dm_void_limits(&v, 20.0 * DEG, PI, &s);
    assert_true(isnan(s.volume.best) && isnan(s.fraction.best));
    assert_near(s.volume.high, 0.6 * bore, 1e-12);
    /* A surface at least 1 deg off the duct runs up to 10.5 mm deep. */
    assert_true(s.volume.low >=
                dm_chord_hoof(BORE, DEG, 0.6 * tan(DEG)) - 1e-12);
    assert_true(s.saturated);
    dm_void_limits(&v, 50.0 * DEG, 40.0 * DEG, &s); /* they contradict */
    assert_true(s.volume.low <= s.volume.high);
    assert_true(s.fraction.low <= s.fraction.high);
}

static void sums_add_and_count(void **state)
{
    dm_size a = dm_size_unknown(), b = dm_size_unknown();
    dm_volume_sum sum = {0}, all = {0};

    (void)state;
    dm_volume_sum_size(&sum, &a); /* no size: nothing */
    assert_int_equal(sum.count, 0);
    a.basis = DM_SIZE_ONE_TURN;
    a.volume = (dm_amount){1.0, 2.0, 4.0};
    a.grout = (dm_amount){1.2, 2.4, 4.8};
    b.basis = DM_SIZE_LIMITS;
    b.volume = (dm_amount){0.5, (double)NAN, 9.0};
    b.grout = (dm_amount){0.6, (double)NAN, 10.8};
    dm_volume_sum_size(&sum, &a);
    dm_volume_sum_size(&sum, &b);
    dm_volume_sum_add(&all, &sum);
    dm_volume_sum_add(&all, &sum);
    assert_near(all.volume.low, 3.0, 0.0);
    assert_near(all.volume.best, 4.0, 0.0);
    assert_near(all.volume.high, 26.0, 0.0);
    assert_near(all.grout.high, 31.2, 1e-12);
    assert_int_equal(all.count, 4);
    assert_int_equal(all.limits_only, 2);
    assert_string_equal(dm_size_basis_text(DM_SIZE_TURNS), "turns");
    assert_string_equal(dm_strands_case_text(DM_STRANDS_BUNDLE), "bundle");
    assert_string_equal(dm_size_basis_text((dm_size_basis)99), "none");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_arc_passes_the_crown),
        cmocka_unit_test(two_arcs_keep_their_order_and_the_wider_is_taken),
        cmocka_unit_test(what_was_not_read_leaves_ends_open),
        cmocka_unit_test(all_round_is_whole_and_nothing_is_nothing),
        cmocka_unit_test(depth_is_read_from_the_table),
        cmocka_unit_test(the_fit_finds_a_level_surface),
        cmocka_unit_test(two_good_turns_give_the_truncated_hoof),
        cmocka_unit_test(one_turn_is_worse_than_two_and_strands_take_off),
        cmocka_unit_test(without_a_turn_there_are_limits_and_no_best),
        cmocka_unit_test(sums_add_and_count),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
