/* SPDX-License-Identifier: MIT
 * Clock angle of a hole: chance to enter against the normal distribution,
 * gap and contact against a search on the bundle's circle, choice of angle. */
#include <math.h>
#include <stdlib.h>

#include "near.h"
#include "tap/aim.h"
#include "tap/angle.h"

#define PI 3.14159265358979323846
#define DEG (PI / 180.0)

/* 4 in IPS DR 17 with 19 strands of 0.6 in. */
static dm_section bundle(void)
{
    const dm_duct_type duct = {.od = 0.1143, .wall = 0.1143 / 17.0};
    const dm_strand_type strand = {.diameter = 0.01524, .area = 140e-6};

    return dm_section_of(&duct, &strand, 19, 0.0);
}

static double uniform(void)
{
    static unsigned long state = 7;

    state = (state * 6364136223846793005ul + 1442695040888963407ul) &
            0xfffffffffffffffful;
    return ((double)(state >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(void)
{
    double u = uniform();

    return sqrt(-2.0 * log(u)) * cos(2.0 * PI * uniform());
}

/* 200,000 draws of half angle and mark; standard deviation at most 0.0011. */
static void an_unsure_half_angle_agrees_with_draws(void **unused)
{
    const double clocks[] = {0.0, 12.0 * DEG, 30.0 * DEG};
    dm_void_arc arc = {5.0 * DEG, 6.0 * DEG, 14.0 * DEG, 10.0 * DEG, 4.0 * DEG};

    (void)unused;
    for (int k = 0; k < 3; k++) {
        int inside = 0, all = 0;

        for (int i = 0; i < 200000; i++) {
            double half = arc.half + arc.u_half * normal();
            double off = clocks[k] - arc.mid + arc.u_mid * normal() +
                         3.0 * DEG * normal();

            if (half <= arc.least)
                continue;
            all++;
            inside += fabs(off) <= half;
        }
        assert_near(dm_arc_probability(&arc, clocks[k], 3.0 * DEG),
                    inside / (double)all, 0.0045);
    }
}

/* P(z < 1) = 0.841344746068543, P(z < 2) = 0.977249868051821 (formula
 * 0.5 erfc(-z / sqrt 2); values computed independently with mpmath). */
static void chance_round_the_duct_is_a_normal_mass(void **unused)
{
    dm_void_arc arc = {0.0, 10.0 * DEG, 10.0 * DEG, 0.0, 0.0};

    (void)unused;
    assert_near(dm_arc_probability(&arc, 0.0, 0.0),
                2.0 * 0.841344746068543 - 1.0, 1e-12);
    /* Off the middle by the half angle: half of it, less what is beyond. */
    assert_near(dm_arc_probability(&arc, 10.0 * DEG, 0.0),
                0.5 - (1.0 - 0.977249868051821), 1e-12);
    /* Through the crown. */
    arc.mid = 355.0 * DEG;
    assert_near(dm_arc_probability(&arc, 5.0 * DEG, 0.0),
                0.5 - (1.0 - 0.977249868051821), 1e-12);
    arc.half = PI;
    assert_near(dm_arc_probability(&arc, 2.0, 0.0), 1.0, 0.0);
}

/* Least distance from the wall along the ray to a point of the circle, found
 * on a fine polygon of the circle. */
static double searched_gap(const dm_section *s, double a)
{
    double best = 2.0 * s->bore_radius;

    for (int i = 0; i < 200000; i++) {
        double b = 2.0 * PI * i / 200000.0;
        double x = s->bundle_radius * sin(b);
        double y = s->eccentricity + s->bundle_radius * cos(b);
        double off = x * cos(a) - y * sin(a), along = x * sin(a) + y * cos(a);

        if (fabs(off) < 2e-6)
            best = fmin(best, s->bore_radius - along);
    }
    return best;
}

static void gap_and_its_bound_follow_the_circle(void **unused)
{
    dm_section s = bundle();
    dm_strands_at side = {30.0 * DEG, 10.0 * DEG};
    dm_crew_angle crew = {.u_clock = 0.0, .bit = 5.0 * DEG, .k = 2.0};
    double low;

    (void)unused;
    assert_near(dm_strand_gap(&s, &side, 120.0 * DEG, &crew, &low),
                searched_gap(&s, 90.0 * DEG), 3e-6);
    assert_near(low, searched_gap(&s, 65.0 * DEG), 3e-6);
    /* Within the bound of the strand side: none. */
    dm_strand_gap(&s, &side, 50.0 * DEG, &crew, &low);
    assert_near(low, 0.0, 1e-12);
    assert_true(isnan(dm_strand_gap(&s, NULL, 0.0, &crew, &low)) && isnan(low));
}

/* The part of all strand sides at which the circle lies nearer than 3 mm: up
 * to the angle whose gap is 3 mm, by bisection, of half a turn. */
static void contact_with_an_unknown_side_is_a_part_of_the_circle(void **unused)
{
    dm_section s = bundle();
    dm_crew_angle crew = {.k = 2.0};
    double lo = 0.0, hi = PI;

    (void)unused;
    for (int i = 0; i < 60; i++) {
        double mid = 0.5 * (lo + hi);

        if (searched_gap(&s, mid) < 0.003)
            lo = mid;
        else
            hi = mid;
    }
    assert_near(dm_contact_probability(&s, NULL, 1.0, &crew, 0.003), lo / PI,
                1e-3);
    assert_near(dm_contact_probability(&s, NULL, 1.0, &crew, 0.0), 0.0, 0.0);
    assert_near(dm_contact_probability(&s, NULL, 1.0, &crew, 1.0), 1.0, 0.0);
}

/* 50,000 draws of the strand side; standard deviation of the share 0.0022. */
static void contact_with_a_known_side_agrees_with_draws(void **unused)
{
    dm_section s = bundle();
    dm_strands_at side = {0.0, 20.0 * DEG};
    dm_crew_angle crew = {.u_clock = 5.0 * DEG, .bit = 4.0 * DEG, .k = 2.0};
    double clock = 50.0 * DEG, depth = 0.002, sigma = sqrt(425.0) * DEG;
    int touched = 0;

    (void)unused;
    for (int i = 0; i < 50000; i++) {
        double e = sigma * normal();
        double a = fmax(0.0, fabs(dm_wrap(clock - e)) - crew.bit);

        touched += dm_section_gap(&s, a) <= depth;
    }
    assert_near(dm_contact_probability(&s, &side, clock, &crew, depth),
                touched / 50000.0, 0.009);
}

static void the_middle_unless_strands_bar_it(void **unused)
{
    dm_section s = bundle();
    dm_void_arc arc = {0.0, 2.0 * DEG, 80.0 * DEG, 5.0 * DEG, 0.0};
    dm_strands_at side = {0.0, 8.0 * DEG};
    dm_crew_angle crew = {.u_clock = 3.0 * DEG, .bit = 4.0 * DEG, .k = 2.0};
    double clock = -1.0, p = 0.0, low;

    (void)unused;
    assert_true(dm_clock_choose(&arc, &s, NULL, 0, 0.002, &crew, &clock, &p));
    assert_near(clock, 0.0, 1e-12);
    assert_true(dm_clock_choose(&arc, &s, &side, 1, 0.002, &crew, &clock, &p));
    dm_strand_gap(&s, &side, clock, &crew, &low);
    assert_true(low >= 0.002 && fabs(dm_wrap(clock)) < 65.0 * DEG);
    assert_near(p, dm_arc_probability(&arc, clock, crew.u_clock), 1e-15);
    /* A step nearer to the middle has no room. */
    dm_strand_gap(&s, &side, fabs(dm_wrap(clock)) - 1.01 * arc.half / 60.0,
                  &crew, &low);
    assert_true(low < 0.002);
    side.u = 60.0 * DEG;
    assert_false(dm_clock_choose(&arc, &s, &side, 1, 0.002, &crew, &clock, &p));
}

static void without_a_section_the_side_itself_is_kept_off(void **unused)
{
    dm_section s = {.bundle_radius = (double)NAN};
    dm_strands_at side = {0.0, 10.0 * DEG};
    dm_crew_angle crew = {.k = 2.0};

    (void)unused;
    assert_false(dm_strands_leave(&s, &side, 1, 27.0 * DEG, 0.0, &crew));
    assert_true(dm_strands_leave(&s, &side, 1, 28.0 * DEG, 0.0, &crew));
    assert_true(isnan(dm_contact_probability(&s, NULL, 0.0, &crew, 0.001)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_unsure_half_angle_agrees_with_draws),
        cmocka_unit_test(chance_round_the_duct_is_a_normal_mass),
        cmocka_unit_test(gap_and_its_bound_follow_the_circle),
        cmocka_unit_test(contact_with_an_unknown_side_is_a_part_of_the_circle),
        cmocka_unit_test(contact_with_a_known_side_agrees_with_draws),
        cmocka_unit_test(the_middle_unless_strands_bar_it),
        cmocka_unit_test(without_a_section_the_side_itself_is_kept_off),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
