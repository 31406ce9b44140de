/* SPDX-License-Identifier: MIT
 * What is derived of a duct and its strands: published-formula values, and the
 * gap against a search along rays and against the area it encloses. */
#include "ductmark/section.h"

#include "line.h"

#define PI 3.14159265358979323846

static dm_section section_of_case(vec_case *c)
{
    dm_duct_type duct = {.od = 1e-3 * vec_given(c, "od"),
                         .wall = 1e-3 * vec_given(c, "wall")};
    dm_strand_type strand = {.diameter = 1e-3 * vec_given(c, "diameter"),
                             .area = 1e-6 * vec_given(c, "area")};

    return dm_section_of(&duct, &strand, (int)vec_given(c, "strands"), 0.0);
}

static void check_if_expected(vec_case *c, const char *key, double actual)
{
    if (vec_has_expect(c, key))
        vec_check(c, key, actual);
}

static void sections_give_check_values(void **state)
{
    vec_file *file = vec_open("section.vec");

    (void)state;
    for (size_t i = 0; i < file->count; i++) {
        vec_case *c = &file->cases[i];
        dm_section s = section_of_case(c);
        double n = vec_given(c, "strands");

        check_if_expected(c, "bore_diameter", 2e3 * s.bore_radius);
        check_if_expected(c, "bore_area", 1e6 * s.bore_area);
        check_if_expected(c, "steel_area", 1e6 * s.steel_area);
        check_if_expected(c, "area_ratio", s.area_ratio);
        check_if_expected(c, "net_litres_per_m", s.net_litres_per_m);
        check_if_expected(c, "one_interstice", 1e6 * s.interstices / n);
        check_if_expected(c, "bundle_radius", 1e3 * s.bundle_radius);
        check_if_expected(c, "eccentricity", 1e3 * s.eccentricity);
    }
    vec_close(file);
}

/* 4 in IPS DR 17. */
static const dm_duct_type duct = {.od = 0.1143, .wall = 0.1143 / 17.0};
static const dm_strand_type strand = {.diameter = 0.01524, .area = 140e-6};

static void parts_of_a_section_add_up(void **state)
{
    dm_section s = dm_section_of(&duct, &strand, 19, 0.0);

    (void)state;
    assert_near(s.wall_ratio, 17.0, 1e-12);
    assert_near(dm_duct_bore(&duct), s.bore_radius, 0.0);
    assert_near(s.steel_area + s.net_area, s.bore_area, 1e-17);
    assert_near(s.net_litres_per_m, 1000.0 * s.net_area, 1e-15);
    /* Areas: the strands' circles fill the stated part of the bundle's. */
    assert_near((s.steel_area + s.interstices) /
                    (PI * s.bundle_radius * s.bundle_radius),
                0.70, 1e-12);
    s = dm_section_of(&duct, &strand, 19, 0.85);
    assert_near((s.steel_area + s.interstices) /
                    (PI * s.bundle_radius * s.bundle_radius),
                0.85, 1e-12);
    /* Out of range: the default. */
    double rb = dm_section_of(&duct, &strand, 19, DM_PACKING).bundle_radius;
    assert_near(dm_section_of(&duct, &strand, 19, 1.01).bundle_radius, rb, 0);
    assert_near(dm_section_of(&duct, &strand, 19, -1.0).bundle_radius, rb, 0);
    assert_near(dm_section_of(&duct, &strand, 19, (double)NAN).bundle_radius,
                rb, 0);
}

static void without_strands_only_the_duct_is_known(void **state)
{
    const dm_section some[] = {dm_section_of(&duct, NULL, 19, 0.0),
                               dm_section_of(&duct, &strand, 0, 0.0)};

    (void)state;
    for (size_t i = 0; i < 2; i++) {
        const dm_section *s = &some[i];
        assert_near(s->bore_area, 7988.53270463e-6, 1e-14);
        assert_true(isnan(s->steel_area) && isnan(s->area_ratio));
        assert_true(isnan(s->net_area) && isnan(s->net_litres_per_m));
        assert_true(isnan(s->interstices) && isnan(s->bundle_radius));
        assert_true(isnan(s->eccentricity));
        assert_true(isnan(dm_section_gap(s, 0.0)));
    }
}

static void a_tendon_has_the_section_of_its_station(void **state)
{
    dm_duct_type ducts[2] = {duct, {.od = 0.16, .wall = 0.0095}};
    dm_strand_type strands[1] = {strand};
    dm_duct_length lengths[2] = {{.from = 0, .to = 4, .duct_type = 0},
                                 {.from = 4, .to = 10, .duct_type = 1}};
    dm_model m = {.duct_types = ducts,
                  .duct_type_count = 2,
                  .strand_types = strands,
                  .strand_type_count = 1};
    dm_tendon t = {.ducts = lengths, .duct_count = 2, .strands = 12};

    (void)state;
    assert_near(dm_tendon_section(&m, &t, 1.0).bore_radius, 0.0504264705882353,
                1e-15);
    assert_near(dm_tendon_section(&m, &t, 9.0).bore_radius, 0.0705, 1e-15);
    assert_near(dm_tendon_section(&m, &t, 9.0).steel_area, 12 * 140e-6, 1e-15);
    t.strand_type = DM_NONE;
    assert_true(isnan(dm_tendon_section(&m, &t, 9.0).steel_area));
}

static dm_section drawn(double ri, double rb)
{
    return (dm_section){
        .bore_radius = ri, .bundle_radius = rb, .eccentricity = ri - rb};
}

/* From the wall at angle a straight through the bore's centre, step by step,
 * until the point lies in the bundle's circle; the whole bore without. */
static double walked(const dm_section *s, double a, double step)
{
    for (double x = 0.0; x < 2.0 * s->bore_radius; x += step) {
        double r = s->bore_radius - x;
        if (hypot(r * cos(a) - s->eccentricity, r * sin(a)) <= s->bundle_radius)
            return x;
    }
    return 2.0 * s->bore_radius;
}

static void gap_is_where_a_walk_from_the_wall_meets_the_bundle(void **state)
{
    const double step = 2e-6;
    uint64_t seed = 7;
    int missed = 0, through = 0;

    (void)state;
    for (int i = 0; i < 400; i++) {
        double ri = line_uniform(&seed, 0.03, 0.08);
        dm_section s = drawn(ri, ri * line_uniform(&seed, 0.1, 0.98));
        double a = line_uniform(&seed, -7.0, 7.0);
        /* A line that touches the bundle is stepped over. */
        double off = s.eccentricity * fabs(sin(a));
        if (fabs(off - s.bundle_radius) < 1e-7)
            continue;
        double gap = dm_section_gap(&s, a);
        assert_near(gap, walked(&s, a, step), 1.01 * step);
        missed += gap == 2.0 * ri;
        through +=
            s.eccentricity > s.bundle_radius && cos(a) < 0.0 && gap < 2.0 * ri;
    }
    /* Lines that miss the bundle, and that reach it beyond the centre. */
    assert_true(missed > 20 && through > 10);
}

static void gap_is_nothing_at_the_strands_and_twice_e_opposite(void **state)
{
    const double rb[] = {0.0396992911056, 0.0315497973731, 0.02, 0.005};

    (void)state;
    for (size_t i = 0; i < 4; i++) {
        dm_section s = drawn(0.0504264705882, rb[i]);
        double e = s.eccentricity, last = 0.0;
        assert_near(dm_section_gap(&s, 0.0), 0.0, 1e-15);
        assert_near(dm_section_gap(&s, PI), 2.0 * e, 1e-15);
        assert_near(dm_section_gap(&s, 2.0 * PI), 0.0, 1e-15);
        assert_near(dm_section_gap(&s, 0.7), dm_section_gap(&s, -0.7), 1e-15);
        for (int k = 1; e <= rb[i] && k <= 1000; k++) {
            double gap = dm_section_gap(&s, 0.001 * k * PI);
            assert_true(gap >= last);
            last = gap;
        }
    }
    /* A bundle that fills the bore, or more: strands all round. */
    dm_section full = drawn(0.05, 0.05), more = drawn(0.05, 0.055);
    for (double a = 0.0; a < 7.0; a += 0.3) {
        assert_near(dm_section_gap(&full, a), 0.0, 0.0);
        assert_near(dm_section_gap(&more, a), 0.0, 0.0);
    }
}

/* The gap leaves the bundle's circle: its area by quadrature. The trapezoidal
 * rule is exact to rounding for a smooth periodic integrand. */
static void gap_encloses_the_area_of_the_bundle(void **state)
{
    const double ri = 0.0504264705882353;
    const int n = 4096;

    (void)state;
    for (double rb = 0.028; rb < ri; rb += 0.003) {
        dm_section s = drawn(ri, rb);
        double area = 0.0;
        for (int k = 0; k < n; k++) {
            double reach = ri - dm_section_gap(&s, 2.0 * PI * k / n);
            area += 0.5 * reach * reach * 2.0 * PI / n;
        }
        assert_near(area, PI * rb * rb, 1e-15);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sections_give_check_values),
        cmocka_unit_test(parts_of_a_section_add_up),
        cmocka_unit_test(without_strands_only_the_duct_is_known),
        cmocka_unit_test(a_tendon_has_the_section_of_its_station),
        cmocka_unit_test(gap_is_where_a_walk_from_the_wall_meets_the_bundle),
        cmocka_unit_test(gap_is_nothing_at_the_strands_and_twice_e_opposite),
        cmocka_unit_test(gap_encloses_the_area_of_the_bundle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
