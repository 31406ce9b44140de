/* SPDX-License-Identifier: MIT
 * Sections and clock angles, and the datum where there is no crown. */
#include <stdio.h>

#include "line.h"

static const double PI = 3.14159265358979323846;

static void frame_of_tendon_gives_check_values(void **state)
{
    vec_file *file = vec_open("frame.vec");
    static const char *const names[] = {"C3-leg", "C3-arc"};

    (void)state;
    for (size_t k = 0; k < 2; k++) {
        vec_case *c = vec_find(file, names[k]);
        double r = vec_given(c, "r");
        test_line q;
        line_of_case(c, &q);
        dm_frame f = dm_centreline_frame(&q.line, vec_given(c, "station"));
        vec_check_point(c, "centre", f.point);
        vec_check_point(c, "tangent", f.tangent);
        vec_check_point(c, "crown", f.crown);
        vec_check_point(c, "right", f.right);
        assert_true(f.crown_defined);
        for (int hour = 0; hour < 12; hour++) {
            char key[16];
            snprintf(key, sizeof key, "at_%dh", hour);
            if (vec_has_expect(c, key))
                vec_check_point(c, key, dm_frame_surface(&f, r, hour * PI / 6));
        }
        if (vec_has_expect(c, "plumb_shift")) {
            /* From the crown back to the point plumb above the centre. */
            dm_vec3 top = dm_frame_surface(&f, r, 0);
            double up = (top.z - f.point.z) / (f.crown.z * f.crown.z);
            dm_vec3 plumb = {f.point.x, f.point.y, f.point.z + up};
            vec_check(c, "plumb_shift", distance(top, plumb));
        }
    }
    vec_close(file);
}

static void check_section(const dm_frame *f)
{
    assert_near(dm_vec3_norm(f->tangent), 1, 1e-14);
    assert_near(dm_vec3_norm(f->crown), 1, 1e-14);
    assert_near(dm_vec3_dot(f->tangent, f->crown), 0, 1e-14);
    assert_points_near(f->right, dm_vec3_cross(f->tangent, f->crown), 0);
}

static void frame_anywhere_is_orthonormal_with_crown_on_top(void **state)
{
    uint64_t seed = 1;

    (void)state;
    for (int k = 0; k < 100; k++) {
        test_line q;
        line_random(&seed, &q);
        for (int i = 0; i < 20; i++) {
            double t = line_uniform(&seed, -1, q.line.length + 1);
            dm_frame f = dm_centreline_frame(&q.line, t);
            check_section(&f);
            assert_true(f.crown_defined);
            assert_near(f.right.z, 0, 1e-15);
            for (int h = 1; h < 12; h++)
                assert_true(dm_frame_direction(&f, h * PI / 6).z < f.crown.z);
        }
    }
}

static void clock_of_direction_comes_back(void **state)
{
    uint64_t seed = 2;
    test_line q;

    (void)state;
    line_random(&seed, &q);
    for (int k = 0; k < 1000; k++) {
        dm_frame f =
            dm_centreline_frame(&q.line, line_uniform(&seed, 0, q.line.length));
        double phi = line_uniform(&seed, 0, 2 * PI);
        dm_vec3 d = dm_frame_direction(&f, phi);
        assert_near(dm_frame_clock(&f, d), phi, 1e-14);
        /* Neither its length nor a part along the duct matters. */
        d = dm_vec3_along(dm_vec3_scale(d, 0.03), 5, f.tangent);
        assert_near(dm_frame_clock(&f, d), phi, 1e-12);
        assert_near(dm_frame_clock(&f, dm_frame_direction(&f, phi - 4 * PI)),
                    phi, 1e-14);
    }
    dm_frame f = dm_centreline_frame(&q.line, 1);
    assert_near(dm_frame_clock(&f, f.crown), 0, 0);
    assert_near(dm_frame_clock(&f, (dm_vec3){0, 0, 0}), 0, 0);
    /* Just short of 12 o'clock must not round to 2 pi. */
    for (int k = 0; k < 60; k++) {
        double a = dm_frame_clock(&f, dm_frame_direction(&f, -ldexp(1.0, -k)));
        assert_true(a >= 0 && a < 6.283185307179586);
    }
}

/* Looking ahead along +X the right hand points to -Y: 3 o'clock. */
static void clock_positive_is_clockwise_looking_ahead(void **state)
{
    test_line q = {.points = {{0, 0, 0}, {5, 0, 0}}, .count = 2};

    (void)state;
    line_build(&q);
    dm_frame f = dm_centreline_frame(&q.line, 2);
    assert_near(dm_frame_clock(&f, (dm_vec3){0, -1, 0}), PI / 2, 1e-15);
    assert_near(dm_frame_clock(&f, (dm_vec3){0, 0, -1}), PI, 1e-15);
    assert_near(dm_frame_clock(&f, (dm_vec3){0, 1, 0}), 1.5 * PI, 1e-15);
}

/* Someone facing back reads 12 - clock. */
static void clock_facing_back_is_mirrored(void **state)
{
    uint64_t seed = 3;

    (void)state;
    for (int k = 0; k < 50; k++) {
        test_line q, back;
        line_random(&seed, &q);
        back = q;
        for (size_t i = 0; i < q.count; i++) {
            back.points[i] = q.points[q.count - 1 - i];
            back.radius[i] = q.radius[q.count - 1 - i];
        }
        line_build(&back);
        double t = line_uniform(&seed, 0, q.line.length);
        double phi = line_uniform(&seed, 0.01, 6.27);
        dm_frame f = dm_centreline_frame(&q.line, t);
        dm_frame g = dm_centreline_frame(&back.line, q.line.length - t);
        assert_near(dm_frame_clock(&g, dm_frame_direction(&f, phi)),
                    2 * PI - phi, 1e-11);
    }
}

/* ---- near the vertical ---- */

/* A straight line at `from_vertical` degrees, leaning to +X. */
static void steep_line(double from_vertical, test_line *q)
{
    double a = from_vertical * PI / 180;

    *q = (test_line){.points = {{0, 0, 0}, {9 * sin(a), 0, 9 * cos(a)}},
                     .count = 2};
    line_build(q);
}

static void frame_within_limit_without_datum_has_no_crown(void **state)
{
    static const double angles[] = {0, 1e-9, 5, 9.999999};
    test_line q;

    (void)state;
    for (size_t i = 0; i < 4; i++) {
        steep_line(angles[i], &q);
        dm_frame f = dm_centreline_frame(&q.line, 3);
        assert_false(f.crown_defined);
        check_section(&f);
    }
    steep_line(10.000001, &q);
    assert_true(dm_centreline_frame(&q.line, 3).crown_defined);
    q.line.vertical_limit = 11 * PI / 180;
    assert_false(dm_centreline_frame(&q.line, 3).crown_defined);
    /* Downwards is as steep. */
    steep_line(175, &q);
    assert_false(dm_centreline_frame(&q.line, 3).crown_defined);
    /* Vertical and no limit: still no crown. */
    steep_line(0, &q);
    q.line.vertical_limit = 0;
    assert_false(dm_centreline_frame(&q.line, 3).crown_defined);
}

static void frame_within_limit_with_datum_uses_it(void **state)
{
    test_line q;

    (void)state;
    steep_line(0, &q);
    q.line.has_datum = true;
    q.line.datum = (dm_vec3){0, 20, 0};
    dm_frame f = dm_centreline_frame(&q.line, 3);
    assert_true(f.crown_defined);
    check_section(&f);
    assert_points_near(f.crown, (dm_vec3){0, 1, 0}, 1e-15);
    assert_points_near(f.right, (dm_vec3){-1, 0, 0}, 1e-15);
    /* Made square to the duct. */
    steep_line(8, &q);
    q.line.has_datum = true;
    q.line.datum = (dm_vec3){1, 0, 0};
    f = dm_centreline_frame(&q.line, 3);
    check_section(&f);
    assert_points_near(
        f.crown, (dm_vec3){cos(8 * PI / 180), 0, -sin(8 * PI / 180)}, 1e-15);
    /* Away from the vertical it is not asked. */
    steep_line(12, &q);
    q.line.has_datum = true;
    q.line.datum = (dm_vec3){0, 1, 0};
    assert_near(dm_centreline_frame(&q.line, 3).crown.y, 0, 0);
    /* Parallel to the duct it is none. */
    steep_line(0, &q);
    q.line.has_datum = true;
    q.line.datum = (dm_vec3){0, 0, -3};
    f = dm_centreline_frame(&q.line, 3);
    assert_false(f.crown_defined);
    check_section(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frame_of_tendon_gives_check_values),
        cmocka_unit_test(frame_anywhere_is_orthonormal_with_crown_on_top),
        cmocka_unit_test(clock_of_direction_comes_back),
        cmocka_unit_test(clock_positive_is_clockwise_looking_ahead),
        cmocka_unit_test(clock_facing_back_is_mirrored),
        cmocka_unit_test(frame_within_limit_without_datum_has_no_crown),
        cmocka_unit_test(frame_within_limit_with_datum_uses_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
