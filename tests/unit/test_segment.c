/* SPDX-License-Identifier: MIT
 * Zones, edges and lift-offs on closed-form signals: a step seen through a
 * boxcar of the footprint's width is a ramp of that width (formula: running
 * mean of a step); a plateau of length l shows min(1, l/w) of its height and
 * max(w, l) of width at half height (formula of the same running mean). */
#include "indication/signal.h"

#include <math.h>
#include <stdlib.h>

#include "near.h"

#define W 0.1
#define PITCH 0.005

static const dm_thresholds band = {0.25, 0.15, -0.25, -0.15};
/* Small white noise, so that bounds are small but not zero. */
static const dm_noise noise = {{1e-4}, 1, 0.01, 0.0035};

typedef struct {
    dm_strip strip;
    dm_found_list list;
} scene;

/* Overlap of the window t +- w/2 with a..b, as a share of w. */
static double boxcar(double a, double b, double t)
{
    double from = fmax(a, t - 0.5 * W), to = fmin(b, t + 0.5 * W);

    return fmax(0.0, to - from) / W;
}

static scene scene_of(size_t count)
{
    scene s = {{.count = count, .pitch = PITCH}, {NULL, 0, 0}};

    s.strip.t = calloc(count, sizeof(double));
    s.strip.x = calloc(count, sizeof(double));
    s.strip.index = calloc(count, sizeof(double));
    s.strip.smooth = calloc(count, sizeof(double));
    s.strip.base = calloc(count, sizeof(double));
    s.strip.bad = calloc(count, 1);
    assert_non_null(s.strip.bad);
    for (size_t i = 0; i < count; i++) {
        s.strip.t[i] = 10.0 + PITCH * (double)i;
        s.strip.x[i] = 3.0 + 2.0 * s.strip.t[i];
    }
    return s;
}

static void add(scene *s, double a, double b, double height)
{
    for (size_t i = 0; i < s->strip.count; i++)
        s->strip.index[i] += height * boxcar(a, b, s->strip.t[i]);
}

static void find(scene *s)
{
    dm_strip_smooth(&s->strip, W);
    assert_true(dm_strip_find(&s->strip, W, &noise, &band, 0.02, &s->list));
}

static void drop(scene *s)
{
    free(s->strip.t);
    free(s->strip.x);
    free(s->strip.index);
    free(s->strip.smooth);
    free(s->strip.base);
    free(s->strip.bad);
    free(s->list.items);
}

static void edges_of_a_blurred_step_stand_at_the_step(void **unused)
{
    const double length[] = {0.15, 0.2, 0.333, 1.0};
    const double height[] = {0.4, 0.95, -0.5};

    (void)unused;
    for (int l = 0; l < 4; l++)
        for (int h = 0; h < 3; h++)
            for (int shift = 0; shift < 5; shift++) {
                scene s = scene_of(600);
                double a = 11.0 + 0.001 * shift, b = a + length[l];
                /* A boxcar takes nothing from a plateau of 1.5 footprints: what
                 * is reckoned back for a smooth kernel is too much. */
                bool small = length[l] < 0.25;

                add(&s, a, b, height[h]);
                find(&s);
                assert_int_equal(s.list.count, 1);
                assert_int_equal(s.list.items[0].sign, height[h] > 0 ? 1 : -1);
                assert_false(s.list.items[0].shorter);
                assert_false(s.list.items[0].from.open);
                assert_false(s.list.items[0].to.open);
                assert_near(s.list.items[0].from.t, a, small ? 0.002 : 0.0005);
                assert_near(s.list.items[0].to.t, b, small ? 0.002 : 0.0005);
                assert_near(s.list.items[0].from.x,
                            3.0 + 2.0 * s.list.items[0].from.t, 1e-9);
                assert_near(s.list.items[0].plateau, height[h],
                            small ? 0.04 * fabs(height[h]) : 0.01);
                assert_near(s.list.items[0].index_length, height[h] * length[l],
                            0.02 * fabs(height[h]) * length[l]);
                assert_near(s.list.items[0].from.tip_low, 0.0, 0.0);
                assert_true(s.list.items[0].from.tip_high < 0.06);
                assert_true(s.list.items[0].from.u >= PITCH / sqrt(12.0));
                drop(&s);
            }
}

/* w = 100 mm, l = 60 mm: peak 0.6, width 100 mm (formula above; values
 * computed independently). */
static void short_void_gives_an_upper_bound(void **unused)
{
    scene s = scene_of(400);
    const dm_found *f;

    (void)unused;
    add(&s, 11.0, 11.06, 1.0);
    find(&s);
    assert_int_equal(s.list.count, 1);
    f = &s.list.items[0];
    assert_true(f->shorter);
    assert_near(f->plateau, 0.6, 0.01);
    assert_near(f->index_length, 0.06, 0.002);
    assert_true(isnan(f->from.tip_high) && isnan(f->to.tip_high));
    assert_true(f->from.t <= 11.0 && f->to.t >= 11.06);
    /* 100 mm, widened on both sides by twice the edges' uncertainty, less what
     * is reckoned back of its height for a smooth kernel. */
    assert_near(f->to.t - f->from.t - 2.0 * (f->from.u + f->to.u), 0.1, 0.006);
    drop(&s);
}

/* A linear taper keeps its half height in its middle under any symmetric
 * kernel (the ramp is odd about it). */
static void
tapered_end_is_found_at_half_height_with_a_wider_bound(void **unused)
{
    scene s = scene_of(600);
    const dm_found *f;

    (void)unused;
    /* Taper 0.15 from 11.0 to 11.15, in 150 steps; end abrupt at 11.8. */
    for (int i = 0; i < 150; i++)
        add(&s, 11.0 + 0.001 * i + 0.0005, 11.8, 0.6 / 150.0);
    find(&s);
    assert_int_equal(s.list.count, 1);
    f = &s.list.items[0];
    assert_near(f->from.t, 11.075, 0.003);
    assert_near(f->to.t, 11.8, 0.001);
    assert_true(f->from.rise > 1.3 * W);
    assert_true(f->from.u > f->to.u);
    /* The tip lies 75 mm beyond. */
    assert_true(f->from.tip_low > 0.02 && f->from.tip_low < 0.075);
    assert_true(f->from.tip_high > 0.075 && f->from.tip_high < 0.12);
    assert_near(f->to.tip_low, 0.0, 0.0);
    drop(&s);
}

static void zone_at_the_end_of_reading_is_open(void **unused)
{
    scene s = scene_of(400); /* 10.0 to 11.995 */

    (void)unused;
    add(&s, 11.5, 13.0, 0.7);
    add(&s, 9.0, 10.03, 0.7); /* its end lies within half a footprint */
    find(&s);
    assert_int_equal(s.list.count, 2);
    assert_true(s.list.items[0].from.open);
    assert_false(s.list.items[0].to.open);
    assert_near(s.list.items[0].from.t, 10.0, 1e-9);
    assert_near(s.list.items[0].to.t, 10.03, 2.0 * s.list.items[0].to.u);
    assert_false(s.list.items[1].from.open);
    assert_true(s.list.items[1].to.open);
    assert_near(s.list.items[1].from.t, 11.5, 0.001);
    assert_near(s.list.items[1].to.t, 11.995, 1e-9);
    drop(&s);
}

static void hysteresis_joins_a_dip_and_ignores_what_never_enters(void **unused)
{
    scene s = scene_of(600);

    (void)unused;
    add(&s, 10.5, 10.9, 0.22); /* never enters 0.25 */
    add(&s, 11.2, 12.0, 0.20);
    add(&s, 11.2, 11.5, 0.15);
    add(&s, 11.7, 12.0, 0.15); /* 0.35, dip to 0.20, 0.35 */
    find(&s);
    assert_int_equal(s.list.count, 1);
    assert_near(s.list.items[0].from.t, 11.2, 0.01);
    assert_near(s.list.items[0].to.t, 12.0, 0.01);
    drop(&s);
}

/* A drift of the baseline moves both levels: the edge stays. */
static void edge_is_taken_above_the_local_baseline(void **unused)
{
    scene s = scene_of(600);

    (void)unused;
    add(&s, 9.0, 14.0, 0.08);
    add(&s, 11.0, 11.6, 0.5);
    find(&s);
    assert_int_equal(s.list.count, 1);
    assert_near(s.list.items[0].from.t, 11.0, 0.002);
    assert_near(s.list.items[0].to.t, 11.6, 0.002);
    drop(&s);
}

static void lift_off_is_not_valid_and_no_void(void **unused)
{
    const double width[] = {0.03, 0.05, 0.07, 0.1, 0.3};

    (void)unused;
    for (int k = 0; k < 5; k++) {
        scene s = scene_of(600);
        size_t bad = 0, lifted = 0;

        /* No blur acts on it. */
        for (size_t i = 0; i < s.strip.count; i++)
            if (s.strip.t[i] >= 11.0 && s.strip.t[i] < 11.0 + width[k])
                s.strip.index[i] += 0.8;
        dm_strip_smooth(&s.strip, W);
        assert_true(dm_strip_liftoffs(&s.strip, W, &noise, &band, &lifted));
        assert_int_equal(lifted, 1);
        find(&s);
        assert_int_equal(s.list.count, 0);
        for (size_t i = 0; i < s.strip.count; i++) {
            if (s.strip.bad[i]) {
                assert_in_range((int)(1000 * (s.strip.t[i] - 10.9)), 70,
                                (int)(140 + 1000 * width[k]));
                bad++;
            }
            assert_near(s.strip.index[i], 0.0, 1e-9);
        }
        assert_in_range(bad, (size_t)(width[k] / PITCH),
                        (size_t)(width[k] / PITCH) + 10);
        drop(&s);
    }
}

static void blurred_voids_are_never_lift_offs(void **unused)
{
    (void)unused;
    for (int k = 3; k < 40; k++) {
        scene s = scene_of(600);
        size_t lifted = 9;

        add(&s, 11.0, 11.0 + 0.02 * k, 0.7);
        dm_strip_smooth(&s.strip, W);
        assert_true(dm_strip_liftoffs(&s.strip, W, &noise, &band, &lifted));
        assert_int_equal(lifted, 0);
        find(&s);
        assert_int_equal(s.list.count, 1);
        drop(&s);
    }
}

static void thresholds_within_the_noise_are_known(void **unused)
{
    dm_noise loud = {{0.01}, 1, 0.1, 0.06};

    dm_thresholds at = band;

    (void)unused;
    assert_near(dm_noise_floor(&loud), 0.27, 1e-12);
    assert_true(dm_thresholds_raise(&at, &loud));
    assert_near(at.enter, 0.27, 1e-12);
    assert_near(at.leave, 0.15 * 0.27 / 0.25, 1e-12);
    assert_near(at.soft_enter, -0.27, 1e-12);
    assert_near(at.soft_leave, -0.15 * 0.27 / 0.25, 1e-12);
    at = band;
    assert_false(dm_thresholds_raise(&at, &noise));
    assert_near(at.enter, 0.25, 0.0);
}

/* A wave of 5 m and 0.09 would carry 0.2 over the entering threshold. */
static void slow_drift_is_no_void(void **unused)
{
    scene s = scene_of(4000);

    (void)unused;
    for (size_t i = 0; i < s.strip.count; i++)
        s.strip.index[i] =
            0.09 * sin(2.0 * 3.14159265358979 * (s.strip.t[i] - 10.0) / 5.0);
    add(&s, 11.2, 11.3, 0.2); /* at the crest */
    add(&s, 16.0, 19.0, 0.4); /* a long void keeps its height */
    dm_strip_smooth(&s.strip, W);
    assert_true(dm_strip_drift(&s.strip, W, &noise, &band));
    for (size_t i = 0; i < s.strip.count; i++) {
        double t = s.strip.t[i];

        if (t > 10.5 && t < 14.0)
            assert_near(s.strip.base[i],
                        0.09 * sin(2.0 * 3.14159265358979 * (t - 10.0) / 5.0),
                        0.02);
        assert_true(fabs(s.strip.base[i]) <= DM_DRIFT_MOST);
    }
    assert_true(dm_strip_find(&s.strip, W, &noise, &band, 0.02, &s.list));
    assert_int_equal(s.list.count, 1);
    /* Under a void the drift is a guess. */
    assert_near(s.list.items[0].from.t, 16.0, 0.03);
    assert_near(s.list.items[0].to.t, 19.0, 0.03);
    drop(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(edges_of_a_blurred_step_stand_at_the_step),
        cmocka_unit_test(short_void_gives_an_upper_bound),
        cmocka_unit_test(
            tapered_end_is_found_at_half_height_with_a_wider_bound),
        cmocka_unit_test(zone_at_the_end_of_reading_is_open),
        cmocka_unit_test(hysteresis_joins_a_dip_and_ignores_what_never_enters),
        cmocka_unit_test(edge_is_taken_above_the_local_baseline),
        cmocka_unit_test(lift_off_is_not_valid_and_no_void),
        cmocka_unit_test(blurred_voids_are_never_lift_offs),
        cmocka_unit_test(thresholds_within_the_noise_are_known),
        cmocka_unit_test(slow_drift_is_no_void),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
