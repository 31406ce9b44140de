/* SPDX-License-Identifier: MIT
 * Least distance of lines and arcs: closed forms, and random pairs against a
 * search over samples. */
#include "geom/between.h"

#include "near.h"

#define PI 3.14159265358979323846

static const dm_vec3 X = {1.0, 0.0, 0.0}, Y = {0.0, 1.0, 0.0},
                     Z = {0.0, 0.0, 1.0}, NONE = {0.0, 0.0, 0.0};

static dm_segment line(double x, double y, double z, dm_vec3 along, double l)
{
    return (dm_segment){10.0, l, {x, y, z}, along, 0.0, NONE};
}

static geom_gap between(const dm_segment *a, const dm_segment *b, double most)
{
    geom_gap gap = {most, -1.0, -1.0};
    size_t steps = 1000000;
    geom_segments_between(a, b, &gap, &steps);
    assert_true(steps > 0);
    return gap;
}

static void lines_by_their_closed_form(void **state)
{
    dm_segment a = line(0.0, 0.0, 0.0, X, 10.0);
    dm_segment b = line(4.0, -3.0, 0.7, Y, 10.0);
    dm_segment c = line(13.0, 0.0, 4.0, X, 5.0); /* beyond the end: 3, 4, 5 */
    dm_segment d = line(6.0, 0.2, 0.0, X, 20.0); /* parallel */

    (void)state;
    geom_gap g = between(&a, &b, 100.0);
    assert_near(g.distance, 0.7, 1e-12);
    assert_near(g.ta, 14.0, 1e-12);
    assert_near(g.tb, 13.0, 1e-12);
    g = between(&a, &c, 100.0);
    assert_near(g.distance, 5.0, 1e-12);
    assert_near(g.ta, 20.0, 1e-12);
    assert_near(g.tb, 10.0, 1e-12);
    g = between(&a, &d, 100.0);
    assert_near(g.distance, 0.2, 1e-12);
    assert_near(
        dm_vec3_norm(dm_vec3_sub(dm_vec3_along(a.begin, g.ta - 10.0, X),
                                 dm_vec3_along(d.begin, g.tb - 10.0, X))),
        0.2, 1e-12);
    /* Not nearer than what was known: untouched. */
    g = between(&a, &d, 0.2);
    assert_near(g.ta, -1.0, 0.0);
}

/* A quarter circle of radius 3 m about the origin, from (3, 0, 0), and a plumb
 * line: the distance is 3 m less that of the line from the axis. */
static void arc_by_its_closed_form(void **state)
{
    dm_segment arc = {0.0, 1.5 * PI,  {3.0, 0.0, 0.0},
                      Y,   1.0 / 3.0, {-1.0, 0.0, 0.0}};
    double far = 2.2 / sqrt(2.0);
    dm_segment b = line(far, far, -1.0, Z, 2.0);

    (void)state;
    geom_gap g = between(&arc, &b, 100.0);
    assert_near(g.distance, 0.8, 2e-5);
    assert_near(g.ta, 0.75 * PI, 0.02);
    assert_near(g.tb, 11.0, 0.02);
    /* Two arcs about one axis, 0.05 m apart all along. */
    dm_segment other = {0.0, 1.525 * PI, {3.05, 0.0, 0.0},
                        Y,   1.0 / 3.05, {-1.0, 0.0, 0.0}};
    g = between(&arc, &other, 100.0);
    assert_near(g.distance, 0.05, 2e-5);
    /* The same arc. */
    g = between(&arc, &arc, 100.0);
    assert_near(g.distance, 0.0, 1e-5);
}

static uint64_t seed = 1;

static double uniform(double lo, double hi)
{
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    return lo + (hi - lo) * (double)(seed >> 11) / 9007199254740992.0;
}

static dm_vec3 random_unit(void)
{
    dm_vec3 v = {uniform(-1.0, 1.0), uniform(-1.0, 1.0), uniform(-1.0, 1.0)};
    return dm_vec3_unit(v);
}

static dm_segment random_segment(void)
{
    dm_segment s = {
        .length = uniform(0.5, 5.0),
        .begin = {uniform(-2.0, 2.0), uniform(-2.0, 2.0), uniform(-2.0, 2.0)},
        .tangent = random_unit()};
    if (uniform(0.0, 1.0) < 0.7) {
        s.kappa = uniform(0.001, 2.5 / s.length);
        s.normal = dm_vec3_unit(dm_vec3_cross(s.tangent, random_unit()));
    }
    return s;
}

static dm_vec3 at(dm_segment *s, double into)
{
    dm_centreline one = {.segments = s, .count = 1, .length = s->length};
    return dm_centreline_point(&one, into);
}

/* 200 by 200 samples miss the least distance by at most half a step of both. */
static void random_pairs_agree_with_a_search(void **state)
{
    const size_t n = 200;
    (void)state;
    for (size_t round = 0; round < 100; round++) {
        dm_segment a = random_segment(), b = random_segment();
        geom_gap g = between(&a, &b, 100.0);
        double best = 100.0, step = 0.5 * (a.length + b.length) / (double)n;
        for (size_t i = 0; i <= n; i++)
            for (size_t k = 0; k <= n; k++) {
                double d = dm_vec3_norm(
                    dm_vec3_sub(at(&a, a.length * (double)i / (double)n),
                                at(&b, b.length * (double)k / (double)n)));
                best = fmin(best, d);
            }
        assert_true(g.distance <= best + 2e-5);
        assert_true(g.distance >= best - step);
        /* It is the distance of the places that it names. */
        assert_near(dm_vec3_norm(dm_vec3_sub(at(&a, g.ta), at(&b, g.tb))),
                    g.distance, 1e-12);
        geom_box box = geom_segment_box(&a);
        for (size_t i = 0; i <= n; i++) {
            dm_vec3 p = at(&a, a.length * (double)i / (double)n);
            geom_box point = {p, p};
            assert_true(geom_boxes_near(&box, &point, 0.0));
        }
    }
}

static void the_search_ends_where_its_steps_do(void **state)
{
    dm_segment a = line(0.0, 0.0, 0.0, X, 10.0);
    geom_gap gap = {1.0, -1.0, -1.0};
    size_t steps = 0;
    (void)state;
    geom_segments_between(&a, &a, &gap, &steps);
    assert_near(gap.distance, 1.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_by_their_closed_form),
        cmocka_unit_test(arc_by_its_closed_form),
        cmocka_unit_test(random_pairs_agree_with_a_search),
        cmocka_unit_test(the_search_ends_where_its_steps_do),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
