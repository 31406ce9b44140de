/* SPDX-License-Identifier: MIT
 * Centrelines for tests: from a case of check values, or drawn from a seed. */
#ifndef DM_TEST_LINE_H
#define DM_TEST_LINE_H

#include "ductmark/centreline.h"
#include "near.h"
#include "vector.h"

#define LINE_MOST 8

typedef struct {
    dm_vec3 points[LINE_MOST];
    double radius[LINE_MOST];
    size_t count;
    dm_segment segments[2 * LINE_MOST];
    size_t arc_of[LINE_MOST];
    dm_centreline line;
} test_line;

static inline dm_polygon_fault line_try(test_line *q)
{
    size_t where = 0;

    assert_true(q->count <= LINE_MOST);
    return dm_centreline_build(q->points, q->radius, q->count, q->segments,
                               q->arc_of, &q->line, &where);
}

static inline void line_build(test_line *q)
{
    assert_int_equal(line_try(q), DM_POLYGON_OK);
}

/* The lists `point` (x y z each) and `radius` of a case. */
static inline void line_of_case(vec_case *c, test_line *q)
{
    size_t n, m;
    const double *p = vec_given_list(c, "point", &n);
    const double *r = vec_given_list(c, "radius", &m);

    assert_int_equal(n, 3 * m);
    assert_true(m <= LINE_MOST);
    q->count = m;
    for (size_t i = 0; i < m; i++) {
        q->points[i] = (dm_vec3){p[3 * i], p[3 * i + 1], p[3 * i + 2]};
        q->radius[i] = r[i];
    }
    line_build(q);
}

/* A leg along X in, one turned by d upwards (or, level, to the left) out. */
static inline void line_corner(double radius, double d, bool level, double leg,
                               test_line *q)
{
    q->count = 3;
    q->points[0] = (dm_vec3){-leg, 0, 0};
    q->points[1] = (dm_vec3){0, 0, 0};
    q->points[2] = level ? (dm_vec3){leg * cos(d), leg * sin(d), 0}
                         : (dm_vec3){leg * cos(d), 0, leg * sin(d)};
    q->radius[0] = q->radius[2] = 0;
    q->radius[1] = radius;
    line_build(q);
}

/* A number in [a, b), the next of a fixed sequence. */
static inline double line_uniform(uint64_t *seed, double a, double b)
{
    *seed =
        *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return a + (b - a) * ((double)(*seed >> 11) / 9007199254740992.0);
}

/* 3 to 6 points, bends in no special plane, slopes up to 17 deg. */
static inline void line_random(uint64_t *seed, test_line *q)
{
    do {
        dm_vec3 p = {0, 0, 2};
        q->count = (size_t)line_uniform(seed, 3, 7);
        for (size_t i = 0; i < q->count; i++) {
            double run = line_uniform(seed, 3, 20);
            q->points[i] = p;
            q->radius[i] = line_uniform(seed, 1, 6);
            p.x += run;
            p.y += run * line_uniform(seed, -0.2, 0.2);
            p.z += run * line_uniform(seed, -0.3, 0.3);
        }
    } while (line_try(q) != DM_POLYGON_OK);
}

static inline void vec_check_point(vec_case *c, const char *key, dm_vec3 p)
{
    const double actual[3] = {p.x, p.y, p.z};

    vec_check_list(c, key, actual, 3);
}

static inline void assert_points_near(dm_vec3 a, dm_vec3 b, double tolerance)
{
    assert_near(a.x, b.x, tolerance);
    assert_near(a.y, b.y, tolerance);
    assert_near(a.z, b.z, tolerance);
}

static inline double distance(dm_vec3 a, dm_vec3 b)
{
    return dm_vec3_norm(dm_vec3_sub(a, b));
}

#endif
