/* SPDX-License-Identifier: MIT
 * Length along the duct's outside, and the station back from it. */
#include <stdio.h>

#include "line.h"

static const double PI = 3.14159265358979323846;

static dm_segment first_arc(const test_line *q)
{
    assert_true(q->arc_of[1] < q->line.count);
    return q->line.segments[q->arc_of[1]];
}

/* Outside length of the first arc alone. */
static double over_arc(const test_line *q, double r, double phi)
{
    dm_segment s = first_arc(q);
    return dm_outside_length(&q->line, r, phi, s.t0 + s.length) -
           dm_outside_length(&q->line, r, phi, s.t0);
}

static void check_plumb_bend(vec_case *c)
{
    double r = vec_given(c, "r");
    test_line q;

    /* Concave upwards, as at a low deviator: the crown is inside. */
    line_corner(vec_given(c, "R"), vec_given(c, "angle_deg") * PI / 180, false,
                1.0, &q);
    vec_check(c, "inner", over_arc(&q, r, 0));
    vec_check(c, "middle", over_arc(&q, r, PI / 2));
    vec_check(c, "middle", over_arc(&q, 0, 0));
    vec_check(c, "outer", over_arc(&q, r, PI));
    vec_check(c, "excess", over_arc(&q, r, PI) - over_arc(&q, 0, 0));
    /* The same as a crest: the crown is outside. */
    for (size_t i = 0; i < q.count; i++)
        q.points[i].z = -q.points[i].z;
    line_build(&q);
    vec_check(c, "outer", over_arc(&q, r, 0));
    vec_check(c, "inner", over_arc(&q, r, -PI));
}

static void check_tendon(vec_case *c)
{
    double r = vec_given(c, "r"), l[3];
    size_t n;
    const double *t = vec_given_list(c, "station", &n);
    test_line q;

    assert_int_equal(n, 3);
    line_of_case(c, &q);
    for (int hour = 0; hour < 12; hour++) {
        char key[16];
        snprintf(key, sizeof key, "at_%dh", hour);
        if (!vec_has_expect(c, key))
            continue;
        for (size_t i = 0; i < n; i++)
            l[i] = dm_outside_length(&q.line, r, hour * PI / 6, t[i]);
        vec_check_list(c, key, l, n);
    }
}

static void length_of_bends_gives_check_values(void **state)
{
    vec_file *file = vec_open("outside.vec");

    (void)state;
    check_plumb_bend(vec_find(file, "C2"));
    check_tendon(vec_find(file, "C3"));
    vec_close(file);
}

static void length_of_plumb_or_level_bend_is_closed_form(void **state)
{
    uint64_t seed = 1;

    (void)state;
    for (int k = 0; k < 200; k++) {
        test_line q;
        double radius = line_uniform(&seed, 0.5, 8);
        double d = line_uniform(&seed, 1e-6, 1.2);
        double r = line_uniform(&seed, 0, 0.1);
        double phi = line_uniform(&seed, -7, 7);
        line_corner(radius, d, false, 20, &q);
        assert_near(over_arc(&q, r, phi), (radius - r * cos(phi)) * d, 1e-13);
        /* To the left, so that 9 o'clock is inside. */
        line_corner(radius, d, true, 20, &q);
        assert_near(over_arc(&q, r, phi), (radius + r * sin(phi)) * d, 1e-13);
    }
}

/* Chords of the surface line over one arc, refined: the sum is even in the
 * step, so that two extrapolations leave an error in the sixth power. */
static double by_chords(const test_line *q, double r, double phi, double a,
                        double b)
{
    double sum[3];

    for (int k = 0; k < 3; k++) {
        int n = 100 << k;
        dm_frame f = dm_centreline_frame(&q->line, a);
        dm_vec3 last = dm_frame_surface(&f, r, phi);
        sum[k] = 0;
        for (int i = 1; i <= n; i++) {
            f = dm_centreline_frame(&q->line, a + (b - a) * i / n);
            dm_vec3 p = dm_frame_surface(&f, r, phi);
            sum[k] += distance(last, p);
            last = p;
        }
    }
    double first = sum[1] + (sum[1] - sum[0]) / 3;
    double second = sum[2] + (sum[2] - sum[1]) / 3;
    return second + (second - first) / 15;
}

static void length_over_any_bend_equals_chords(void **state)
{
    uint64_t seed = 2;

    (void)state;
    for (int k = 0; k < 100; k++) {
        test_line q;
        line_random(&seed, &q);
        double r = line_uniform(&seed, 0.03, 0.1);
        double phi = line_uniform(&seed, 0, 6);
        dm_segment s = first_arc(&q);
        assert_near(over_arc(&q, r, phi),
                    by_chords(&q, r, phi, s.t0, s.t0 + s.length), 1e-11);
    }
}

/* From level into the vertical, turning: the crown goes over to the datum. */
static void steep_bend(test_line *q, bool datum)
{
    *q = (test_line){.points = {{0, 0, 0}, {10, 1, 0.5}, {10.3, 1.2, 12}},
                     .radius = {0, 4, 0},
                     .count = 3};
    line_build(q);
    q->line.has_datum = datum;
    q->line.datum = (dm_vec3){-1, 0.3, 0};
}

static void length_across_datum_adds_both_parts(void **state)
{
    test_line q;
    const double r = 0.06;

    (void)state;
    steep_bend(&q, true);
    dm_segment s = first_arc(&q);
    double lo = s.t0, hi = s.t0 + s.length;
    assert_true(dm_centreline_tangent(&q.line, hi).z > cos(10 * PI / 180));
    /* Where the crown jumps, by bisection. */
    double a = lo, b = hi;
    while (b - a > 1e-15 * hi) {
        double m = 0.5 * (a + b);
        if (m <= a || m >= b)
            break;
        if (dm_centreline_tangent(&q.line, m).z > cos(10 * PI / 180))
            b = m;
        else
            a = m;
    }
    for (int h = 0; h < 12; h++) {
        double phi = h * PI / 6;
        double expected = by_chords(&q, r, phi, lo, a - 1e-12) +
                          by_chords(&q, r, phi, b + 1e-12, hi);
        assert_near(over_arc(&q, r, phi), expected, 1e-10);
        for (int i = 0; i <= 100; i++) {
            double t = lo + (hi - lo) * i / 100;
            double l = dm_outside_length(&q.line, r, phi, t);
            assert_near(dm_outside_station(&q.line, r, phi, l), t, 1e-12);
        }
    }
}

/* Without a datum nothing is promised but a finite, growing answer. */
static void length_through_vertical_without_datum_is_finite(void **state)
{
    test_line q = {.points = {{0, 0, 0}, {10, 0, 0.5}, {9.5, 0, 12}},
                   .radius = {0, 4, 0},
                   .count = 3};
    double last = -1;

    (void)state;
    line_build(&q);
    for (int i = 0; i <= 1000; i++) {
        double t = q.line.length * i / 1000;
        double l = dm_outside_length(&q.line, 0.06, 1, t);
        assert_true(l > last);
        assert_near(dm_outside_station(&q.line, 0.06, 1, l), t, 1e-12);
        last = l;
    }
}

static void station_of_length_comes_back(void **state)
{
    uint64_t seed = 3;

    (void)state;
    for (int k = 0; k < 100; k++) {
        test_line q;
        double begin[2 * LINE_MOST];
        dm_outside o;
        size_t hint = 0, back = 0;
        line_random(&seed, &q);
        double r = line_uniform(&seed, 0, 0.3);
        double phi = line_uniform(&seed, -7, 7), last = -99;
        dm_outside_prepare(&q.line, r, phi, begin, &o);
        for (int i = 0; i <= 300; i++) {
            double t = -2 + (q.line.length + 4) * i / 300;
            double l = dm_outside_at(&o, t, &hint);
            assert_true(l > last);
            last = l;
            assert_near(dm_outside_inverse(&o, l, &back), t, 1e-12);
            assert_near(dm_outside_length(&q.line, r, phi, t), l, 1e-13);
            assert_near(dm_outside_station(&q.line, r, phi, l), t, 1e-12);
        }
        for (size_t i = 0; i < q.line.count; i++) /* at every joint */
            assert_near(dm_outside_inverse(&o, begin[i], &back),
                        q.line.segments[i].t0, 1e-13);
    }
}

static void at_and_inverse_take_any_hint(void **state)
{
    uint64_t seed = 4;
    test_line q;
    double begin[2 * LINE_MOST];
    dm_outside o;

    (void)state;
    line_random(&seed, &q);
    dm_outside_prepare(&q.line, 0.06, 2, begin, &o);
    for (int k = 0; k < 1000; k++) {
        double t = line_uniform(&seed, 0, q.line.length);
        size_t a = (size_t)line_uniform(&seed, 0, 20), b = SIZE_MAX - a;
        double l = dm_outside_at(&o, t, &a);
        assert_int_equal(a, dm_centreline_find(&q.line, t, 0));
        assert_near(dm_outside_inverse(&o, l, &b), t, 1e-13);
        assert_true(begin[b] <= l && l <= begin[b + 1]);
    }
}

static void length_beyond_ends_has_slope_one(void **state)
{
    uint64_t seed = 5;
    test_line q;

    (void)state;
    line_random(&seed, &q);
    double end = q.line.length, l = dm_outside_length(&q.line, 0.1, 1, end);
    assert_near(dm_outside_length(&q.line, 0.1, 1, -3), -3, 0);
    assert_near(dm_outside_length(&q.line, 0.1, 1, end + 3), l + 3, 1e-13);
    assert_near(dm_outside_station(&q.line, 0.1, 1, -3), -3, 0);
    assert_near(dm_outside_station(&q.line, 0.1, 1, l + 3), end + 3, 1e-13);
    /* Where an arc is first and last, too. */
    line_corner(2, 0.5 * PI, false, 2, &q);
    assert_int_equal(q.line.count, 1);
    end = q.line.length;
    l = (2 - 0.1) * PI / 2;
    assert_near(dm_outside_length(&q.line, 0.1, 0, end + 3), l + 3, 1e-14);
    assert_near(dm_outside_length(&q.line, 0.1, 0, -3), -3, 0);
    assert_near(dm_outside_station(&q.line, 0.1, 0, l + 3), end + 3, 1e-14);
    assert_near(dm_outside_station(&q.line, 0.1, 0, -3), -3, 0);
}

/* Two plumb bends under ducts of two sizes: (R - r d) for each bend's own r
 * along the crown of a sag, whatever r the call says. */
static void each_bend_takes_the_duct_that_lies_in_it(void **state)
{
    static const dm_vec3 points[] = {
        {0, 0, 2}, {10, 0, 0.8}, {20, 0, 0.4}, {30, 0, 0.6}};
    const double radius[] = {0, 3, 4, 0}, own[] = {0.06, 0.06, 0.06, 0.08, 0.1};
    dm_segment segments[5];
    size_t arc_of[4], where, hint = 0;
    dm_centreline line;
    double begin[6], less = 0.0;
    dm_outside prepared;

    (void)state;
    assert_int_equal(
        dm_centreline_build(points, radius, 4, segments, arc_of, &line, &where),
        DM_POLYGON_OK);
    assert_int_equal(line.count, 5);
    for (size_t i = 0; i < 5; i++)
        less += own[i] * segments[i].kappa * segments[i].length;
    line.outside_radius = own;
    double l = dm_outside_length(&line, 9.0, 0.0, line.length);
    assert_near(l, line.length - less, 1e-12);
    dm_outside_prepare(&line, 9.0, 0.0, begin, &prepared);
    assert_near(dm_outside_at(&prepared, line.length, &hint), l, 1e-12);
    assert_near(dm_outside_inverse(&prepared, l, &hint), line.length, 1e-12);
}

static void length_on_axis_is_the_station(void **state)
{
    uint64_t seed = 6;
    test_line q;

    (void)state;
    line_random(&seed, &q);
    for (int k = 0; k < 100; k++) {
        double t = line_uniform(&seed, 0, q.line.length);
        assert_near(dm_outside_length(&q.line, 0, 1, t), t, 1e-13);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(length_of_bends_gives_check_values),
        cmocka_unit_test(length_of_plumb_or_level_bend_is_closed_form),
        cmocka_unit_test(length_over_any_bend_equals_chords),
        cmocka_unit_test(length_across_datum_adds_both_parts),
        cmocka_unit_test(length_through_vertical_without_datum_is_finite),
        cmocka_unit_test(station_of_length_comes_back),
        cmocka_unit_test(at_and_inverse_take_any_hint),
        cmocka_unit_test(length_beyond_ends_has_slope_one),
        cmocka_unit_test(each_bend_takes_the_duct_that_lies_in_it),
        cmocka_unit_test(length_on_axis_is_the_station),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
