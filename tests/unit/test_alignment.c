/* SPDX-License-Identifier: MIT
 * Reference lines from station to point: published curves, profiles, station
 * equations. The way back: test_alignment_foot.c. */
#include <string.h>

#include "line_plan.h"
#include "vector.h"

/* ---- in plan ---- */

/* Clockwise and counterclockwise, begun to the north and to the east. */
static void check_fresnel(vec_file *file, const char *name)
{
    vec_case *c = vec_find(file, name);
    double u = vec_given(c, "u");

    for (int hand = -1; hand <= 1; hand += 2) {
        plan q = {.e = {{.length = 1, .k0 = 0, .k1 = hand * PI}}};
        plan_chain(&q, 1, 0, 0, 0, 0);
        dm_alignment_place p = dm_alignment_at(&q.line, u);
        vec_check(c, "C", p.y);
        vec_check(c, "S", hand * p.x);
        assert_near(p.bearing, hand * PI * u * u / 2, 1e-15);
        assert_near(p.curvature, hand * PI * u, 1e-15);

        plan_chain(&q, 1, 0, 0, 0, PI / 2);
        p = dm_alignment_at(&q.line, u);
        vec_check(c, "C", p.x);
        vec_check(c, "S", -hand * p.y);
    }
}

static void at_unit_clothoid_gives_fresnel_integrals(void **state)
{
    vec_file *file = vec_open("fresnel.vec");

    (void)state;
    check_fresnel(file, "fresnel-1");
    check_fresnel(file, "fresnel-0.5");
    vec_close(file);
}

static void at_clothoid_gives_check_values(void **state)
{
    vec_file *file = vec_open("clothoid.vec");
    vec_case *c = vec_find(file, "clothoid");
    double R = vec_given(c, "R"), Ls = vec_given(c, "Ls");

    (void)state;
    for (int hand = -1; hand <= 1; hand += 2) {
        plan q = {.e = {{.length = Ls, .k0 = 0, .k1 = hand / R}}};
        plan_chain(&q, 1, 40, 0, 0, PI / 2);
        dm_alignment_place p = dm_alignment_at(&q.line, 40 + Ls);
        double theta = hand * (p.bearing - PI / 2), aside = -hand * p.y;
        vec_check(c, "theta", theta);
        vec_check(c, "x", p.x);
        vec_check(c, "y", aside);
        vec_check(c, "shift", aside - R * (1 - cos(theta)));
        vec_check(c, "k", p.x - R * sin(theta));
        assert_near(p.curvature, hand / R, 1e-18);

        /* Out of the curve: the same seen from its end. */
        q.e[0] = (dm_horizontal){.length = Ls, .k0 = -hand / R, .k1 = 0};
        plan_chain(&q, 1, 0, 0, 0, 0);
        p = dm_alignment_at(&q.line, Ls);
        double dx = -p.x, dy = -p.y, b = p.bearing + PI;
        vec_check(c, "x", dx * sin(b) + dy * cos(b));
        vec_check(c, "y", hand * (dx * cos(b) - dy * sin(b)));
    }
    vec_close(file);
}

/* A clothoid between two radii is a part of the whole one. */
static void at_clothoid_between_radii_is_part_of_the_whole(void **state)
{
    (void)state;
    const double ends[][2] = {{0.2, 0.7}, {0.7, 0.2}, {-0.4, 0.5}, {0.6, -1}};
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
        /* curvature k(v) = v / 400 at the distance v from the inflection */
        double a = 200 * ends[i][0], b = 200 * ends[i][1];
        double sense = b > a ? 1 : -1;
        plan whole = {.e = {{.length = 200, .k0 = 0, .k1 = 0.5}}};
        plan back = {.e = {{.length = 200, .k0 = 0, .k1 = 0.5}}};
        plan_chain(&whole, 1, 0, 0, 0, 0);
        plan_chain(&back, 1, 0, 0, 0, PI);
        plan part = {.e = {{.length = fabs(b - a),
                            .k0 = sense * a / 400,
                            .k1 = sense * b / 400}}};
        /* v < 0 is the same curve turned by half a circle */
        dm_alignment_place p =
            dm_alignment_at(a < 0 ? &back.line : &whole.line, fabs(a));
        dm_alignment_place q =
            dm_alignment_at(b < 0 ? &back.line : &whole.line, fabs(b));
        double begin =
            (a < 0 ? p.bearing - PI : p.bearing) + (sense < 0 ? PI : 0);
        double end =
            (b < 0 ? q.bearing - PI : q.bearing) + (sense < 0 ? PI : 0);
        plan_chain(&part, 1, 0, p.x, p.y, begin);
        dm_alignment_place r = dm_alignment_at(&part.line, fabs(b - a));
        assert_near(r.x, q.x, 1e-12);
        assert_near(r.y, q.y, 1e-12);
        assert_near(sin(r.bearing - end), 0, 1e-13);
        assert_near(cos(r.bearing - end), 1, 1e-13);
    }
}

static void check_arc(vec_file *file, const char *name, int hand)
{
    vec_case *c = vec_find(file, name);
    double R = vec_given(c, "R"), angle = vec_given(c, "angle_deg") * PI / 180;
    plan q = {.e = {{.length = R * angle, .k0 = hand / R, .k1 = hand / R}}};

    plan_chain(&q, 1, 0, 7, -3, 1);
    double L = q.line.end;
    vec_check(c, "L", L);
    dm_alignment_place a = dm_alignment_at(&q.line, 0);
    dm_alignment_place m = dm_alignment_at(&q.line, L / 2);
    dm_alignment_place b = dm_alignment_at(&q.line, L);
    assert_near(b.bearing - a.bearing, hand * angle, 1e-15);
    vec_check(c, "LC", hypot(b.x - a.x, b.y - a.y));
    vec_check(c, "M", hypot(m.x - (a.x + b.x) / 2, m.y - (a.y + b.y) / 2));
    double T = hypot(b.x - a.x, b.y - a.y) / 2 / cos(angle / 2);
    vec_check(c, "T", T);
    /* The point of intersection lies on both prolonged tangents. */
    dm_vec3 pi = {a.x + T * sin(a.bearing), a.y + T * cos(a.bearing), 0};
    assert_near(pi.x, b.x - T * sin(b.bearing), 1e-11);
    assert_near(pi.y, b.y - T * cos(b.bearing), 1e-11);
    vec_check(c, "E", hypot(m.x - pi.x, m.y - pi.y));
}

static void at_arc_gives_published_curve(void **state)
{
    vec_file *file = vec_open("arc.vec");

    (void)state;
    for (int hand = -1; hand <= 1; hand += 2) {
        check_arc(file, "C1", hand);
        check_arc(file, "C2", hand);
    }
    vec_close(file);
}

/* Line, entry, arc, exit: each begins where the one before it ends, and the
 * end of a symmetrical curve is the mirror image of its begin. */
static void chain_symmetrical_curve_is_symmetrical(void **state)
{
    plan q = {.e = {{.length = 50, .k0 = 0, .k1 = 0},
                    {.length = 80, .k0 = 0, .k1 = 1 / 120.0},
                    {.length = 70, .k0 = 1 / 120.0, .k1 = 1 / 120.0},
                    {.length = 80, .k0 = 1 / 120.0, .k1 = 0},
                    {.length = 50, .k0 = 0, .k1 = 0}}};
    double half = 0.5 * (80 + 70) / 120.0;

    (void)state;
    /* Its chord to the north. */
    plan_chain(&q, 5, 1000, 0, 0, -half);
    assert_near(q.line.end, 1330, 0);
    assert_near(q.e[2].s0, 1130, 0);
    for (double u = 0; u <= 165; u += 1.25) {
        dm_alignment_place a = dm_alignment_at(&q.line, 1000 + u);
        dm_alignment_place b = dm_alignment_at(&q.line, 1330 - u);
        dm_alignment_place end = dm_alignment_at(&q.line, 1330);
        assert_near(a.x, b.x, 1e-12);
        assert_near(a.y, end.y - b.y, 1e-12);
        assert_near(a.bearing, -b.bearing, 1e-14);
    }
    for (size_t i = 1; i < 5; i++) {
        dm_alignment_place a = dm_alignment_at(&q.line, q.e[i].s0 - 1e-9);
        dm_alignment_place b = dm_alignment_at(&q.line, q.e[i].s0);
        assert_near(hypot(a.x - b.x, a.y - b.y), 1e-9, 1e-12);
        assert_near(a.bearing, b.bearing, 1e-10);
    }
}

static void at_beyond_ends_prolongs_tangents(void **state)
{
    plan q = {.e = {{.length = 100, .k0 = 0.02, .k1 = -0.01}}};

    (void)state;
    plan_chain(&q, 1, 200, 10, 20, 0.5);
    dm_alignment_place a = dm_alignment_at(&q.line, 193);
    assert_near(a.x, 10 - 7 * sin(0.5), 1e-14);
    assert_near(a.y, 20 - 7 * cos(0.5), 1e-14);
    assert_near(a.curvature, 0, 0);
    dm_alignment_place end = dm_alignment_at(&q.line, 300);
    dm_alignment_place b = dm_alignment_at(&q.line, 311);
    assert_near(end.bearing, 1, 1e-15); /* mean curvature 0.005 over 100 m */
    assert_near(b.bearing, end.bearing, 0);
    assert_near(b.x, end.x + 11 * sin(end.bearing), 1e-13);
    assert_near(b.y, end.y + 11 * cos(end.bearing), 1e-13);
}

static void point_offset_is_right_of_increasing_station(void **state)
{
    plan q = {.e = {{.length = 100, .k0 = 0, .k1 = 0}}};
    dm_vec3 right;

    (void)state;
    plan_chain(&q, 1, 0, 0, 0, PI / 2); /* east */
    dm_vec3 p = dm_alignment_point(&q.line, 30, 4, 9);
    assert_near(p.x, 30, 1e-14);
    assert_near(p.y, -4, 1e-14); /* south */
    assert_near(p.z, 9, 0);
    dm_vec3 ahead = dm_alignment_direction(&q.line, 30, &right);
    assert_near(ahead.x, 1, 1e-15);
    assert_near(right.y, -1, 1e-15);
    dm_alignment_direction(&q.line, 30, NULL);
}

/* Large coordinates round once, whatever the number of elements. */
static void chain_far_from_origin_rounds_once(void **state)
{
    plan near = {.e = {{0}}}, far = {.e = {{0}}};

    (void)state;
    for (size_t i = 0; i < PLAN_MOST; i++)
        near.e[i] = far.e[i] = (dm_horizontal){
            .length = 25.03, .k0 = i % 3 ? 0.004 : 0, .k1 = 0.004};
    plan_chain(&near, PLAN_MOST, 0, 0, 0, 0.3);
    plan_chain(&far, PLAN_MOST, 0, 4194305.3, 6291457.7, 0.3);
    for (double s = 0; s < near.line.end; s += 11.7) {
        dm_alignment_place a = dm_alignment_at(&near.line, s);
        dm_alignment_place b = dm_alignment_at(&far.line, s);
        /* a unit in the last place is 9.3e-10 m */
        assert_near(b.x - 4194305.3, a.x, 1.5e-9);
        assert_near(b.y - 6291457.7, a.y, 1.5e-9);
        assert_near(b.bearing, a.bearing, 0);
    }
}

/* ---- in height ---- */

typedef struct {
    plan q;
    dm_vertical v[16];
} profiled;

static void profile(profiled *p, const dm_pvi *points, size_t count)
{
    size_t where = 99;

    p->q.e[0] = (dm_horizontal){.length = 1000};
    plan_chain(&p->q, 1, 0, 0, 0, 0);
    assert_true(2 * count <= 16);
    assert_int_equal(dm_profile_build(points, count, p->v,
                                      &p->q.line.vertical_count, &where),
                     DM_PROFILE_OK);
    assert_true(p->q.line.vertical_count <= 2 * count);
    p->q.line.vertical = p->v;
}

static double height(const profiled *p, double s)
{
    return dm_alignment_at(&p->q.line, s).height;
}

/* The curve from 100 to 100 + L. */
static void parabola_of_case(vec_case *c, profiled *p)
{
    double g1 = vec_given(c, "g1"), g2 = vec_given(c, "g2");
    double L = vec_given(c, "L"), z = vec_given(c, "pvi"), at = 100 + L / 2;

    profile(p,
            (const dm_pvi[]){
                {0, z - g1 * at, 0}, {at, z, L}, {at + L, z + g2 * L, 0}},
            3);
    /* Length in space, by chords. */
    double arc = 0, before = height(p, 100);
    int n = 20000;
    for (int i = 1; i <= n; i++) {
        double next = height(p, 100 + L * i / n);
        arc += hypot(L / n, next - before);
        before = next;
    }
    vec_check(c, "arc", arc);
}

static void profile_parabola_gives_published_heights(void **state)
{
    vec_file *file = vec_open("parabola.vec");
    vec_case *c = vec_find(file, "parabola-feet");
    profiled p;
    double heights[5];

    (void)state;
    parabola_of_case(c, &p);
    for (int i = 0; i < 5; i++)
        heights[i] = height(&p, 100 + 100 * i);
    vec_check_list(c, "heights", heights, 5);
    vec_check(c, "e", vec_given(c, "pvi") - heights[2]);
    double top = vec_expect(c, "top_x");
    assert_near(dm_alignment_at(&p.q.line, 100 + top).grade, 0, 1e-15);
    vec_check(c, "top", height(&p, 100 + top));
    c = vec_find(file, "parabola-metres");
    parabola_of_case(c, &p);
    vec_check(c, "at_50", height(&p, 150));
    vec_close(file);
}

static void profile_ends_are_prolonged(void **state)
{
    profiled p;

    (void)state;
    profile(&p, (const dm_pvi[]){{100, 5, 0}, {200, 7, 0}, {300, 6, 0}}, 3);
    assert_int_equal(p.q.line.vertical_count, 2);
    assert_near(height(&p, -50), 2, 1e-14);
    assert_near(height(&p, 150), 6, 1e-14);
    assert_near(height(&p, 350), 5.5, 1e-14);
    assert_near(dm_alignment_at(&p.q.line, -50).grade, 0.02, 1e-16);
    assert_near(dm_alignment_at(&p.q.line, 350).grade, -0.01, 1e-16);
    /* At a kink the grade ahead. */
    assert_near(dm_alignment_at(&p.q.line, 200).grade, -0.01, 1e-16);

    profile(&p, (const dm_pvi[]){{100, 5, 0}}, 1);
    assert_near(height(&p, -1e5), 5, 0);
    assert_near(dm_alignment_at(&p.q.line, 1e5).grade, 0, 0);

    p.q.line.vertical_count = 0;
    assert_true(isnan(height(&p, 100)));
    assert_true(isnan(dm_alignment_at(&p.q.line, 100).grade));
}

/* Two parabolas may touch, and reach the first and last point. */
static void profile_parabolas_may_touch(void **state)
{
    profiled p;

    (void)state;
    profile(
        &p,
        (const dm_pvi[]){{0, 0, 0}, {50, 2, 100}, {150, -1, 100}, {200, 4, 0}},
        4);
    assert_int_equal(p.q.line.vertical_count, 2);
    /* Midway between a point and the middle of the chord, mean of both. */
    assert_near(height(&p, 50), 0.5 * 2 + 0.25 * (0 + 0.5), 1e-14);
    assert_near(height(&p, 100), 0.5, 1e-14);
    assert_near(dm_alignment_at(&p.q.line, 100).grade, -0.03, 1e-16);
    assert_near(height(&p, 200), 4, 1e-13);
    assert_near(dm_alignment_at(&p.q.line, 200).grade, 0.1, 1e-15);
}

static void check_fault(const dm_pvi *points, size_t count,
                        dm_profile_fault fault, size_t at)
{
    dm_vertical v[16];
    size_t n = 77, where = 99;

    assert_int_equal(dm_profile_build(points, count, v, &n, &where), fault);
    assert_int_equal(where, at);
    assert_int_equal(n, 77);
}

static void profile_faults_are_named(void **state)
{
    (void)state;
    check_fault((const dm_pvi[]){{0, 0, 0}, {9, 0, 0}, {9, 1, 0}}, 3,
                DM_PROFILE_ORDER, 2);
    check_fault((const dm_pvi[]){{0, 0, 0}, {-9, 0, 0}}, 2, DM_PROFILE_ORDER,
                1);
    check_fault((const dm_pvi[]){{0, 0, 0}, {(double)NAN, 0, 0}}, 2,
                DM_PROFILE_ORDER, 1);
    check_fault((const dm_pvi[]){{0, 0, 0}, {9, 0, 18.1}, {30, 0, 0}}, 3,
                DM_PROFILE_OVERLAP, 1);
    check_fault(
        (const dm_pvi[]){{0, 0, 0}, {9, 0, 10}, {20, 0, 14}, {40, 0, 0}}, 4,
        DM_PROFILE_OVERLAP, 2);
    check_fault((const dm_pvi[]){{0, 0, 0}, {9, 0, 10}, {13, 0, 0}}, 3,
                DM_PROFILE_OVERLAP, 2);
    check_fault((const dm_pvi[]){{0, 0, 1}, {9, 0, 0}}, 2, DM_PROFILE_ENDS, 0);
    check_fault((const dm_pvi[]){{0, 0, 0}, {9, 0, 1}}, 2, DM_PROFILE_ENDS, 1);
    check_fault((const dm_pvi[]){{0, 0, 1}}, 1, DM_PROFILE_ENDS, 0);
}

/* ---- as displayed ---- */

static void display_station_equations_jump_there_and_back(void **state)
{
    dm_station_equation e[] = {{1200, 1200, 5000}, {1500, 5300, 100}};
    plan q = {.e = {{.length = 1000, .k0 = 0, .k1 = 0}}};
    size_t zone = 9;
    double s = -1;

    (void)state;
    plan_chain(&q, 1, 1000, 0, 0, 0);
    assert_near(dm_alignment_display(&q.line, 1234, &zone), 1234, 0);
    assert_int_equal(zone, 0);
    q.line.equations = e;
    q.line.equation_count = 2;
    const double show[][3] = {{900, 900, 0},   {1199.5, 1199.5, 0},
                              {1200, 5000, 1}, {1499, 5299, 1},
                              {1500, 100, 2},  {2100, 700, 2}};
    for (size_t i = 0; i < sizeof show / sizeof *show; i++) {
        double shown = dm_alignment_display(&q.line, show[i][0], &zone);
        assert_near(shown, show[i][1], 1e-12);
        assert_int_equal(zone, (size_t)show[i][2]);
        assert_near(dm_alignment_display(&q.line, show[i][0], NULL), shown, 0);
        assert_true(dm_alignment_undisplay(&q.line, shown, zone, &s));
        assert_near(s, show[i][0], 1e-12);
    }
    /* The number back at a jump is its zone's too. */
    assert_true(dm_alignment_undisplay(&q.line, 1200, 0, &s));
    assert_near(s, 1200, 0);
    s = -1;
    assert_false(dm_alignment_undisplay(&q.line, 1200.01, 0, &s));
    assert_false(dm_alignment_undisplay(&q.line, 4999.9, 1, &s));
    assert_false(dm_alignment_undisplay(&q.line, 5301, 1, &s));
    assert_false(dm_alignment_undisplay(&q.line, 99, 2, &s));
    assert_false(dm_alignment_undisplay(&q.line, 100, 3, &s));
    assert_false(dm_alignment_undisplay(&q.line, (double)NAN, 0, &s));
    assert_near(s, -1, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(at_unit_clothoid_gives_fresnel_integrals),
        cmocka_unit_test(at_clothoid_gives_check_values),
        cmocka_unit_test(at_clothoid_between_radii_is_part_of_the_whole),
        cmocka_unit_test(at_arc_gives_published_curve),
        cmocka_unit_test(chain_symmetrical_curve_is_symmetrical),
        cmocka_unit_test(at_beyond_ends_prolongs_tangents),
        cmocka_unit_test(point_offset_is_right_of_increasing_station),
        cmocka_unit_test(chain_far_from_origin_rounds_once),
        cmocka_unit_test(profile_parabola_gives_published_heights),
        cmocka_unit_test(profile_ends_are_prolonged),
        cmocka_unit_test(profile_parabolas_may_touch),
        cmocka_unit_test(profile_faults_are_named),
        cmocka_unit_test(display_station_equations_jump_there_and_back),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
