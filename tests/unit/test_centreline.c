/* SPDX-License-Identifier: MIT
 * Arcs by the PI method, the line they make, feet and crossings on it. */
#include <stdio.h>
#include <string.h>

#include "line.h"

static const double PI = 3.14159265358979323846;

static dm_segment arc_segment(const test_line *q, size_t point)
{
    assert_true(q->arc_of[point] < q->line.count);
    return q->line.segments[q->arc_of[point]];
}

static dm_vec3 centre_of(dm_segment s)
{
    return dm_vec3_along(s.begin, 1.0 / s.kappa, s.normal);
}

/* ---- arcs ---- */

static void check_arc(vec_file *file, const char *name)
{
    vec_case *c = vec_find(file, name);
    test_line q;

    line_corner(vec_given(c, "R"), vec_given(c, "angle_deg") * PI / 180.0,
                false, 2 * vec_given(c, "R"), &q);
    dm_segment s = arc_segment(&q, 1);
    double end = s.t0 + s.length;
    dm_vec3 pc = s.begin, pt = dm_centreline_point(&q.line, end);
    dm_vec3 middle = dm_centreline_point(&q.line, s.t0 + 0.5 * s.length);
    dm_vec3 chord = dm_vec3_scale(dm_vec3_add(pc, pt), 0.5);
    vec_check(c, "T", distance(q.points[1], pc));
    assert_near(distance(q.points[1], pt), distance(q.points[1], pc), 1e-12);
    vec_check(c, "L", s.length);
    vec_check(c, "E", distance(q.points[1], middle));
    vec_check(c, "M", distance(chord, middle));
    vec_check(c, "LC", distance(pc, pt));
}

static void build_one_corner_gives_published_curve(void **state)
{
    vec_file *file = vec_open("arc.vec");

    (void)state;
    check_arc(file, "C1");
    check_arc(file, "C2");
    vec_close(file);
}

static void check_deviator(vec_case *c, const test_line *q, size_t i)
{
    char key[16];
    dm_segment s = arc_segment(q, i);
    double end = s.t0 + s.length;
    dm_vec3 middle = dm_centreline_point(&q->line, s.t0 + 0.5 * s.length);
#define KEY(name) (snprintf(key, sizeof key, name "%zu", i), key)
    vec_check(c, KEY("d"), s.length * s.kappa);
    vec_check(c, KEY("T"), distance(q->points[i], s.begin));
    vec_check(c, KEY("L"), s.length);
    vec_check(c, KEY("E"), distance(q->points[i], middle));
    vec_check_point(c, KEY("pc"), s.begin);
    vec_check_point(c, KEY("pt"), dm_centreline_point(&q->line, end));
    vec_check_point(c, KEY("centre"), centre_of(s));
    vec_check_point(c, KEY("mid"), middle);
    vec_check(c, KEY("s_pc"), s.t0);
    vec_check(c, KEY("s_pt"), end);
#undef KEY
}

static void build_tendon_gives_check_values(void **state)
{
    vec_file *file = vec_open("centreline.vec");
    vec_case *c = vec_find(file, "C3");
    test_line q;

    (void)state;
    line_of_case(c, &q);
    assert_int_equal(q.line.count, dm_centreline_capacity(4));
    vec_check(c, "length", q.line.length);
    check_deviator(c, &q, 1);
    check_deviator(c, &q, 2);
    vec_check_point(c, "at_20", dm_centreline_point(&q.line, 20));
    vec_check_point(
        c, "at_pc1_050",
        dm_centreline_point(&q.line, arc_segment(&q, 1).t0 + 0.050));

    /* The legs: straight lengths and the tangent lengths beside them. */
    const dm_segment *s = q.line.segments;
    double t1 = distance(q.points[1], s[1].begin);
    double t2 = distance(q.points[2], s[3].begin);
    double legs[3] = {s[0].length + t1, t1 + s[2].length + t2,
                      t2 + s[4].length};
    vec_check_list(c, "legs", legs, 3);
    vec_check(c, "polygon", legs[0] + legs[1] + legs[2]);
    vec_close(file);
}

/* ---- degenerate polygons ---- */

static void build_straight_or_zero_radius_gives_no_arc(void **state)
{
    test_line q = {.points = {{0, 0, 0}, {3, 0, 4}, {6, 0, 8}, {6, 5, 8}},
                   .radius = {0, 3, 0, 0},
                   .count = 4};

    (void)state;
    line_build(&q);
    assert_int_equal(q.line.count, 3);
    for (size_t i = 0; i < 4; i++)
        assert_true(q.arc_of[i] == SIZE_MAX);
    assert_near(q.line.length, 15, 1e-14);
    assert_points_near(dm_centreline_point(&q.line, 10), q.points[2], 1e-14);
    /* At the kink the later leg holds. */
    assert_near(dm_centreline_tangent(&q.line, 10).y, 1, 0);
}

/* Of a slight turn little is left to say which way it goes. */
static void build_slight_turn_keeps_normal_square(void **state)
{
    uint64_t seed = 9;

    (void)state;
    for (int k = 0; k < 200; k++) {
        double d = pow(10, line_uniform(&seed, -8.5, -3));
        dm_vec3 u = dm_vec3_unit((dm_vec3){line_uniform(&seed, -1, 1), 0.3,
                                           line_uniform(&seed, -1, 1)});
        dm_vec3 w = dm_vec3_unit(dm_vec3_cross(u, (dm_vec3){1, 2, 3}));
        test_line q = {.radius = {0, 3, 0}, .count = 3};
        q.points[1] = dm_vec3_along(q.points[0], 5, u);
        q.points[2] = dm_vec3_along(dm_vec3_along(q.points[1], 5, u), 5 * d, w);
        line_build(&q);
        dm_segment s = arc_segment(&q, 1);
        assert_near(dm_vec3_dot(s.normal, s.tangent), 0, 1e-15);
        assert_near(s.length, 3 * atan(d), 1e-14);
    }
}

static void build_two_points_gives_straight_line(void **state)
{
    test_line q = {.points = {{1, 2, 3}, {1, 2, 5}}, .count = 2};

    (void)state;
    line_build(&q);
    assert_int_equal(q.line.count, 1);
    assert_near(q.line.length, 2, 0);
    assert_int_equal(dm_centreline_capacity(2), 1);
    assert_int_equal(dm_centreline_capacity(1), 0);
    assert_int_equal(dm_centreline_capacity(0), 0);
}

static void expect_fault(test_line q, dm_polygon_fault fault, size_t at)
{
    size_t where = 77;

    memset(&q.line, 0x5a, sizeof q.line);
    dm_centreline before = q.line;
    q.arc_of[0] = 4711;
    assert_int_equal(dm_centreline_build(q.points, q.radius, q.count,
                                         q.segments, q.arc_of, &q.line, &where),
                     fault);
    assert_int_equal(where, at);
    assert_int_equal(q.arc_of[0], 4711);
    assert_true(q.line.segments == before.segments &&
                q.line.count == before.count);
}

static void build_impossible_polygon_is_refused(void **state)
{
    const test_line good = {
        .points = {{0, 0, 0}, {10, 0, 0}, {20, 5, 0}, {30, 5, 5}},
        .radius = {0, 3, 3, 0},
        .count = 4};
    test_line q = good;

    (void)state;
    line_build(&q);
    q = good;
    q.points[2] = (dm_vec3){10, 0, 0.0009};
    expect_fault(q, DM_POLYGON_SHORT_LEG, 1);
    q = good;
    q.points[3].y = (double)NAN;
    expect_fault(q, DM_POLYGON_SHORT_LEG, 2);
    q = good;
    q.points[2] = (dm_vec3){0, 1, 0};
    expect_fault(q, DM_POLYGON_REVERSAL, 1);
    /* A reversal is refused without an arc, too. */
    q.radius[1] = 0;
    expect_fault(q, DM_POLYGON_REVERSAL, 1);
    q = good;
    q.radius[1] = 50;
    expect_fault(q, DM_POLYGON_OVERLAP, 0);
    q = good;
    q.radius[2] = 32;
    expect_fault(q, DM_POLYGON_OVERLAP, 1);
    q = good;
    q.radius[1] = (double)NAN;
    expect_fault(q, DM_POLYGON_OVERLAP, 0);
    q.radius[1] = (double)INFINITY;
    expect_fault(q, DM_POLYGON_OVERLAP, 0);
}

/* Arcs that touch, on map coordinates, where T1 + T2 = leg holds only up to
 * rounding: right angles with R = 2.5, legs of 2.5, 5 and 2.5 in a plane that
 * is turned, so that nothing is exact. */
static void build_touching_arcs_is_accepted(void **state)
{
    (void)state;
    for (int k = 0; k < 50; k++) {
        double a = 0.1 + 0.05 * k;
        dm_vec3 u = {cos(a), sin(a), 0}, v = {-sin(a) * 0.6, cos(a) * 0.6, 0.8};
        test_line q = {.points = {{612345.678, 4123456.789, 100}},
                       .radius = {0, 2.5, 2.5, 0},
                       .count = 4};
        q.points[1] = dm_vec3_along(q.points[0], 2.5, u);
        q.points[2] = dm_vec3_along(q.points[1], 5, v);
        q.points[3] = dm_vec3_along(q.points[2], 2.5, u);
        line_build(&q);
        assert_int_equal(q.line.count, 2);
        assert_near(q.line.length, 2.5 * PI, 1e-8);
        assert_points_near(dm_centreline_point(&q.line, q.line.length),
                           q.points[3], 4e-9);
    }
}

/* ---- the line as a function of t ---- */

static void point_along_random_lines_has_unit_speed(void **state)
{
    uint64_t seed = 1;
    const double h = 1e-4;

    (void)state;
    for (int k = 0; k < 100; k++) {
        test_line q;
        line_random(&seed, &q);
        assert_points_near(dm_centreline_point(&q.line, 0), q.points[0], 0);
        assert_points_near(dm_centreline_point(&q.line, q.line.length),
                           q.points[q.count - 1], 1e-12);
        for (int i = 0; i < 20; i++) {
            double t = line_uniform(&seed, h, q.line.length - h);
            dm_vec3 u = dm_centreline_tangent(&q.line, t);
            dm_vec3 a = dm_centreline_point(&q.line, t - h);
            dm_vec3 b = dm_centreline_point(&q.line, t + h);
            assert_near(dm_vec3_norm(u), 1, 1e-15);
            /* Half a step may lie in the arc: kappa h / 4 at most. */
            assert_points_near(dm_vec3_scale(dm_vec3_sub(b, a), 0.5 / h), u,
                               0.3 * h);
        }
        for (size_t i = 1; i < q.line.count; i++) {
            double t = q.line.segments[i].t0;
            dm_vec3 before = dm_centreline_point(&q.line, nextafter(t, 0));
            dm_vec3 u = dm_centreline_tangent(&q.line, nextafter(t, 0));
            assert_points_near(before, q.line.segments[i].begin, 1e-13);
            assert_points_near(u, q.line.segments[i].tangent, 1e-13);
        }
    }
}

static void point_beyond_ends_is_prolonged(void **state)
{
    uint64_t seed = 2;
    test_line q;

    (void)state;
    line_random(&seed, &q);
    size_t n = q.count;
    dm_vec3 u = dm_vec3_unit(dm_vec3_sub(q.points[1], q.points[0]));
    dm_vec3 v = dm_vec3_unit(dm_vec3_sub(q.points[n - 1], q.points[n - 2]));
    assert_points_near(dm_centreline_point(&q.line, -1.5),
                       dm_vec3_along(q.points[0], -1.5, u), 1e-12);
    assert_points_near(dm_centreline_point(&q.line, q.line.length + 1.5),
                       dm_vec3_along(q.points[n - 1], 1.5, v), 1e-12);
    assert_points_near(dm_centreline_tangent(&q.line, -1.5), u, 1e-15);
    assert_points_near(dm_centreline_tangent(&q.line, q.line.length + 1.5), v,
                       1e-15);

    /* An arc at the very end goes on along its tangent. */
    test_line e;
    line_corner(2.0, 0.5 * PI, false, 2.0, &e);
    assert_int_equal(e.line.count, 1);
    assert_points_near(dm_centreline_point(&e.line, e.line.length + 1),
                       (dm_vec3){0, 0, 3}, 1e-15);
    assert_points_near(dm_centreline_point(&e.line, -1), (dm_vec3){-3, 0, 0},
                       1e-15);
}

static void find_with_any_hint_gives_holder(void **state)
{
    uint64_t seed = 3;
    test_line q;

    (void)state;
    line_random(&seed, &q);
    for (size_t i = 0; i < q.line.count; i++)
        for (size_t hint = 0; hint < q.line.count + 3; hint++) {
            const dm_segment *s = &q.line.segments[i];
            assert_int_equal(dm_centreline_find(&q.line, s->t0, hint), i);
            assert_int_equal(
                dm_centreline_find(&q.line, s->t0 + 0.5 * s->length, hint), i);
        }
    assert_int_equal(dm_centreline_find(&q.line, -9, SIZE_MAX), 0);
    assert_int_equal(dm_centreline_find(&q.line, 1e9, 0), q.line.count - 1);
}

static dm_vec3 move(dm_vec3 p, double a)
{
    return (dm_vec3){100 + p.x * cos(a) - p.y * sin(a),
                     -50 + p.x * sin(a) + p.y * cos(a), p.z + 7};
}

static void point_on_moved_or_reversed_line_moves_along(void **state)
{
    uint64_t seed = 4;

    (void)state;
    for (int k = 0; k < 50; k++) {
        test_line q, moved, back;
        line_random(&seed, &q);
        moved = back = q;
        for (size_t i = 0; i < q.count; i++) {
            moved.points[i] = move(q.points[i], 1.1);
            back.points[i] = q.points[q.count - 1 - i];
            back.radius[i] = q.radius[q.count - 1 - i];
        }
        line_build(&moved);
        line_build(&back);
        assert_near(moved.line.length, q.line.length, 1e-12);
        assert_near(back.line.length, q.line.length, 1e-12);
        for (int i = 0; i < 20; i++) {
            double t = line_uniform(&seed, 0, q.line.length);
            dm_vec3 p = dm_centreline_point(&q.line, t);
            assert_points_near(dm_centreline_point(&moved.line, t),
                               move(p, 1.1), 1e-12);
            assert_points_near(
                dm_centreline_point(&back.line, q.line.length - t), p, 1e-12);
        }
    }
}

/* ---- feet ---- */

static void nearest_of_surface_point_gives_its_station(void **state)
{
    uint64_t seed = 5;

    (void)state;
    for (int k = 0; k < 100; k++) {
        test_line q;
        line_random(&seed, &q);
        for (int i = 0; i < 20; i++) {
            double t = line_uniform(&seed, 0, q.line.length), d;
            double r = line_uniform(&seed, 0, 0.2);
            dm_frame f = dm_centreline_frame(&q.line, t);
            dm_vec3 p = dm_frame_surface(&f, r, line_uniform(&seed, 0, 6));
            assert_near(dm_centreline_nearest(&q.line, p, &d), t, 1e-12);
            assert_near(d, r, 1e-13);
        }
    }
}

static void nearest_of_any_point_beats_dense_samples(void **state)
{
    uint64_t seed = 6;
    double d;

    (void)state;
    for (int k = 0; k < 200; k++) {
        test_line q;
        line_random(&seed, &q);
        dm_vec3 p = dm_centreline_point(
            &q.line, line_uniform(&seed, -3, q.line.length + 3));
        p.x += line_uniform(&seed, -8, 8);
        p.y += line_uniform(&seed, -8, 8);
        p.z += line_uniform(&seed, -8, 8);
        double t = dm_centreline_nearest(&q.line, p, &d);
        assert_true(t >= 0 && t <= q.line.length);
        assert_near(distance(dm_centreline_point(&q.line, t), p), d, 1e-12);
        for (int i = 0; i <= 500; i++) {
            double s = q.line.length * i / 500.0;
            assert_true(distance(dm_centreline_point(&q.line, s), p) >=
                        d - 1e-12);
        }
        assert_near(dm_centreline_nearest(&q.line, p, NULL), t, 0);
    }
}

static void nearest_beyond_end_is_the_end(void **state)
{
    test_line q;
    double d;

    (void)state;
    line_corner(3, 0.1, false, 5, &q);
    assert_near(dm_centreline_nearest(&q.line, (dm_vec3){-9, 0, 3}, &d), 0, 0);
    assert_near(d, 5, 1e-15);
}

/* ---- crossings ---- */

static double off_plane(const test_line *q, double r, double phi,
                        dm_vec3 origin, dm_vec3 normal, double t)
{
    dm_frame f = dm_centreline_frame(&q->line, t);
    dm_vec3 p = dm_frame_surface(&f, r, phi);
    return dm_vec3_dot(dm_vec3_sub(p, origin), dm_vec3_unit(normal));
}

static void cross_on_leg_shifts_by_r_tan_slope(void **state)
{
    const double slope = 0.2, r = 0.05715;
    const dm_vec3 x = {7, 0, 0};
    test_line q = {.points = {{0, 0, 0}, {10 * cos(slope), 0, 10 * sin(slope)}},
                   .count = 2};
    double axis, crown, side, invert;

    (void)state;
    line_build(&q);
    dm_vec3 origin = {4, 1, 9};
    assert_true(dm_centreline_cross(&q.line, 0, 0, origin, x, 4, &axis));
    assert_true(dm_centreline_cross(&q.line, r, 0, origin, x, 4, &crown));
    assert_true(dm_centreline_cross(&q.line, r, PI / 2, origin, x, 4, &side));
    assert_true(dm_centreline_cross(&q.line, r, PI, origin, x, 4, &invert));
    assert_near(axis, 4 / cos(slope), 1e-14);
    assert_near(crown, axis + r * tan(slope), 1e-14);
    assert_near(side, axis, 1e-14);
    assert_near(invert, axis - r * tan(slope), 1e-14);
}

static void cross_finds_every_station_again(void **state)
{
    uint64_t seed = 7;
    int in_arcs = 0;

    (void)state;
    for (int k = 0; k < 400; k++) {
        test_line q;
        line_random(&seed, &q);
        double s = line_uniform(&seed, -1.5, q.line.length + 1.5), t = -77;
        if (k % 2 == 0) {
            dm_segment arc = arc_segment(&q, 1);
            s = arc.t0 + line_uniform(&seed, 0, arc.length);
            in_arcs++;
        }
        double r = line_uniform(&seed, 0, 0.1);
        double phi = line_uniform(&seed, -4, 4);
        dm_frame f = dm_centreline_frame(&q.line, s);
        dm_vec3 origin = dm_frame_surface(&f, r, phi);
        dm_vec3 normal = {line_uniform(&seed, 2, 4), line_uniform(&seed, -1, 1),
                          line_uniform(&seed, -1, 1)};
        double guess = s + line_uniform(&seed, -1.9, 1.9);
        assert_true(
            dm_centreline_cross(&q.line, r, phi, origin, normal, guess, &t));
        assert_near(t, s, 1e-12);
        assert_near(off_plane(&q, r, phi, origin, normal, t), 0, 1e-12);
    }
    assert_int_equal(in_arcs, 200);
}

static void cross_at_joint_is_found(void **state)
{
    uint64_t seed = 8;

    (void)state;
    for (int k = 0; k < 50; k++) {
        test_line q;
        double t;
        line_random(&seed, &q);
        for (size_t i = 0; i < q.line.count; i++) {
            double s = q.line.segments[i].t0;
            assert_true(dm_centreline_cross(
                &q.line, 0, 0, dm_centreline_point(&q.line, s),
                dm_centreline_tangent(&q.line, s), s + 0.3, &t));
            assert_near(t, s, 1e-12);
        }
    }
}

static void cross_of_two_takes_the_nearest(void **state)
{
    test_line q;
    const dm_vec3 z = {0, 0, 1};
    double t = -77;

    (void)state;
    /* Down into a sag and up again: the plane z = 0.1 is passed twice. */
    q = (test_line){.points = {{0, 0, 1}, {1, 0, 0}, {2, 0, 1}},
                    .radius = {0, 0.5, 0},
                    .count = 3};
    line_build(&q);
    double half = 0.5 * q.line.length;
    const dm_vec3 origin = {0, 0, 0.3};
    assert_true(dm_centreline_cross(&q.line, 0, 0, origin, z, half - 0.01, &t));
    assert_true(t < half);
    double first = t;
    assert_true(dm_centreline_cross(&q.line, 0, 0, origin, z, half + 0.01, &t));
    assert_near(t - half, half - first, 1e-14);
}

/* In a bend into the vertical the crown jumps to the datum. A plane between
 * the two places is not crossed there. */
static void cross_is_never_a_jump_of_the_crown(void **state)
{
    test_line q = {.points = {{0, 0, 0}, {10, 1, 0.5}, {10.3, 1.2, 12}},
                   .radius = {0, 4, 0},
                   .count = 3};

    (void)state;
    line_build(&q);
    q.line.has_datum = true;
    q.line.datum = (dm_vec3){-1, 0.3, 0};
    double lo = 9, hi = q.line.length;
    for (int i = 0; i < 60; i++) {
        double m = 0.5 * (lo + hi);
        if (dm_centreline_tangent(&q.line, m).z > cos(10 * PI / 180))
            hi = m;
        else
            lo = m;
    }
    for (int h = 0; h < 12; h++) {
        double t = -77;
        dm_frame f = dm_centreline_frame(&q.line, lo);
        dm_frame g = dm_centreline_frame(&q.line, hi);
        dm_vec3 a = dm_frame_surface(&f, 0.06, h * PI / 6);
        dm_vec3 b = dm_frame_surface(&g, 0.06, h * PI / 6);
        dm_vec3 origin = dm_vec3_scale(dm_vec3_add(a, b), 0.5);
        dm_vec3 normal = dm_vec3_sub(b, a);
        assert_true(distance(a, b) > 1e-3);
        if (dm_centreline_cross(&q.line, 0.06, h * PI / 6, origin, normal, lo,
                                &t))
            assert_near(off_plane(&q, 0.06, h * PI / 6, origin, normal, t), 0,
                        1e-12);
    }
}

static void cross_out_of_reach_is_refused(void **state)
{
    test_line q;
    const dm_vec3 x = {1, 0, 0}, y = {0, 1, 0};
    double t = -77;

    (void)state;
    line_corner(3, 0.1, false, 10, &q);
    const dm_vec3 origin = {-5, 0, 0};
    assert_false(dm_centreline_cross(&q.line, 0, 0, origin, x, 7.001, &t));
    /* In the plane, and beside it. */
    assert_false(dm_centreline_cross(&q.line, 0, 0, origin, y, 3, &t));
    assert_false(dm_centreline_cross(&q.line, 0.1, 1, origin, y, 3, &t));
    assert_near(t, -77, 0);
    assert_true(dm_centreline_cross(&q.line, 0, 0, origin, x, 6.999, &t));
    assert_near(t, 5, 1e-14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(build_one_corner_gives_published_curve),
        cmocka_unit_test(build_tendon_gives_check_values),
        cmocka_unit_test(build_straight_or_zero_radius_gives_no_arc),
        cmocka_unit_test(build_slight_turn_keeps_normal_square),
        cmocka_unit_test(build_two_points_gives_straight_line),
        cmocka_unit_test(build_impossible_polygon_is_refused),
        cmocka_unit_test(build_touching_arcs_is_accepted),
        cmocka_unit_test(point_along_random_lines_has_unit_speed),
        cmocka_unit_test(point_beyond_ends_is_prolonged),
        cmocka_unit_test(find_with_any_hint_gives_holder),
        cmocka_unit_test(point_on_moved_or_reversed_line_moves_along),
        cmocka_unit_test(nearest_of_surface_point_gives_its_station),
        cmocka_unit_test(nearest_of_any_point_beats_dense_samples),
        cmocka_unit_test(nearest_beyond_end_is_the_end),
        cmocka_unit_test(cross_on_leg_shifts_by_r_tan_slope),
        cmocka_unit_test(cross_finds_every_station_again),
        cmocka_unit_test(cross_at_joint_is_found),
        cmocka_unit_test(cross_of_two_takes_the_nearest),
        cmocka_unit_test(cross_is_never_a_jump_of_the_crown),
        cmocka_unit_test(cross_out_of_reach_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
