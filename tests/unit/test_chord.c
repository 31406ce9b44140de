/* SPDX-License-Identifier: MIT
 * Segments and hoofs below a level surface against published formulas. Random
 * voids by quadrature: tests/oracle/voids.py. */
#include "geom/chord.h"

#include "near.h"
#include "vector.h"

#define PI 3.14159265358979323846

static void check(vec_case *c, const char *key, double actual)
{
    if (vec_has_expect(c, key))
        vec_check(c, key, actual);
}

static double half_of_case(vec_case *c, double r)
{
    if (vec_has_given(c, "angle"))
        return vec_given(c, "angle") * PI / 360.0;
    if (vec_has_given(c, "fraction"))
        return dm_chord_half_of_fraction(vec_given(c, "fraction"));
    return dm_chord_half_of_depth(r, vec_given(c, "depth"));
}

static void check_segment(vec_case *c, double r)
{
    double half = half_of_case(c, r), area = dm_chord_area(r, half);

    check(c, "angle", half * 360.0 / PI);
    check(c, "area", area);
    check(c, "fraction", area / (PI * r * r));
    check(c, "depth_ratio", dm_chord_depth(r, half) / r);
    if (vec_has_expect(c, "prism"))
        vec_check(c, "prism",
                  dm_chord_volume(r, dm_chord_depth(r, half),
                                  dm_chord_depth(r, half),
                                  vec_given(c, "length")));
    /* dA/A for da: (1 - cos a) / (a - sin a) da. */
    check(c, "part_of_15_deg",
          (1.0 - cos(2.0 * half)) / (2.0 * half - sin(2.0 * half)) * PI / 12.0);
}

static void check_hoof(vec_case *c, double r)
{
    double slope = vec_given(c, "slope") * PI / 180.0;
    double depth = vec_given(c, "depth");
    double hoof = dm_chord_hoof(r, slope, depth), length = depth / tan(slope);

    check(c, "hoof", hoof);
    check(c, "hoof_length", length);
    if (vec_has_given(c, "hoof_litres")) /* the angle has six digits */
        assert_near(1e-6 * hoof, vec_given(c, "hoof_litres"), 2e-6);
    if (vec_has_expect(c, "litres"))
        vec_check(c, "litres",
                  1e-6 * dm_chord_volume(r, 0.0, depth, length) *
                      vec_given(c, "hoof_litres") / (1e-6 * hoof));
    assert_near(dm_chord_volume(r, 0.0, depth, length) / hoof, 1.0, 1e-12);
}

static void check_truncated(vec_case *c, double r)
{
    double d1 = vec_given(c, "depth"), d2 = vec_given(c, "depth_to");
    double length = vec_given(c, "length");
    double a1 = dm_chord_area(r, dm_chord_half_of_depth(r, d1));
    double a2 = dm_chord_area(r, dm_chord_half_of_depth(r, d2));
    double am = dm_chord_area(r, dm_chord_half_of_depth(r, 0.5 * (d1 + d2)));

    vec_check(c, "truncated", dm_chord_volume(r, d1, d2, length));
    assert_near(dm_chord_volume(r, d2, d1, length),
                dm_chord_volume(r, d1, d2, length), 1e-9);
    vec_check(c, "end_areas", 0.5 * length * (a1 + a2));
    vec_check(c, "prismoidal", length * (a1 + 4.0 * am + a2) / 6.0);
}

static void check_sections(vec_case *c, double r)
{
    size_t n;
    const double *angle = vec_given_list(c, "angles", &n);
    double sum = 0.0;

    for (size_t i = 0; i + 1 < n; i++)
        sum += 0.5 * vec_given(c, "pitch") *
               (dm_chord_area(r, angle[i] * PI / 360.0) +
                dm_chord_area(r, angle[i + 1] * PI / 360.0));
    vec_check(c, "end_area_sum", sum);
    vec_check(c, "area_60", dm_chord_area(r, PI / 6.0));
    vec_check(c, "area_90", dm_chord_area(r, PI / 4.0));
}

static void levels_give_check_values(void **state)
{
    vec_file *file = vec_open("chord.vec");

    (void)state;
    for (size_t i = 0; i < file->count; i++) {
        vec_case *c = &file->cases[i];

        if (vec_has_given(c, "vessel"))
            vec_check(c, "boyle",
                      dm_pressure_volume(
                          vec_given(c, "vessel"), vec_given(c, "before"),
                          vec_given(c, "after"), vec_given(c, "air"), 0.0));
        else if (vec_has_given(c, "slope"))
            check_hoof(c, vec_given(c, "r"));
        else if (vec_has_given(c, "depth_to"))
            check_truncated(c, vec_given(c, "r"));
        else if (vec_has_given(c, "angles"))
            check_sections(c, vec_given(c, "r"));
        else
            check_segment(c, vec_given(c, "r"));
    }
    vec_close(file);
}

static void inverses_come_back(void **state)
{
    (void)state;
    for (int i = 0; i <= 180; i++) {
        double half = i * PI / 180.0, r = 0.05;
        double area = dm_chord_area(r, half);

        /* At 0 and pi: the cube root of the area's rounding. */
        assert_near(dm_chord_half_of_fraction(area / (PI * r * r)), half, 1e-5);
        assert_near(dm_chord_half_of_depth(r, dm_chord_depth(r, half)), half,
                    1e-7);
        assert_near(dm_chord_depth_of_area(r, area), dm_chord_depth(r, half),
                    1e-9);
    }
}

static void what_cannot_be_is_cut(void **state)
{
    const double r = 0.05, bore = PI * r * r, nan = (double)NAN;

    (void)state;
    assert_near(dm_chord_area(r, -1.0), 0.0, 0.0);
    assert_near(dm_chord_area(r, 9.0), bore, 1e-15);
    assert_near(dm_chord_volume(r, -0.02, -0.01, 1.0), 0.0, 0.0);
    assert_near(dm_chord_volume(r, 0.2, 0.3, 2.0), 2.0 * bore, 1e-15);
    /* From below nothing to beyond the bore: both ends cut. */
    assert_near(dm_chord_volume(r, -0.1, 0.3, 4.0),
                dm_chord_volume(r, 0.0, 0.1, 1.0) + 2.0 * bore, 1e-14);
    assert_true(isnan(dm_chord_volume(r, nan, 0.1, 1.0)));
    assert_true(isnan(dm_chord_half_of_fraction(nan)));
    /* A thin wedge, where the terms of the closed form cancel: the area goes
     * with 4/3 sqrt(2 r) depth^(3/2) (segment of a parabola). */
    assert_near(dm_chord_volume(r, 0.0, 1e-6, 1.0) /
                    (8.0 / 15.0 * sqrt(2.0 * r) * pow(1e-6, 1.5)),
                1.0, 1e-4);
}

static void pressures_out_of_order_give_no_volume(void **state)
{
    (void)state;
    assert_true(isnan(dm_pressure_volume(10, 60, 20, 101, 0)));
    assert_true(isnan(dm_pressure_volume(10, 20, 101, 101, 0)));
    assert_near(dm_pressure_volume(10, 20, 60, 101.325, 0.5),
                9.67937084089534 - 0.5, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(levels_give_check_values),
        cmocka_unit_test(inverses_come_back),
        cmocka_unit_test(what_cannot_be_is_cut),
        cmocka_unit_test(pressures_out_of_order_give_no_volume),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
