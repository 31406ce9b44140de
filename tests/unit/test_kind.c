/* SPDX-License-Identifier: MIT
 * Kinds: posterior probabilities against closed forms of Bayes' rule, what a
 * strand side, further lines and runs that saw nothing do to them, and what a
 * wall does to the zero. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "indication/find.h"
#include "indication/posterior.h"
#include "near.h"

#define HOUR 0.52359877559829887308

static dm_judge_rule even_rule(void)
{
    return (dm_judge_rule){.prior = {1.0, 1.0, 1.0, 1.0},
                           .confidence = 0.9,
                           .strand = (double)NAN,
                           .strand_u = (double)NAN};
}

static dm_evidence line_of(double clock, double plateau)
{
    return (dm_evidence){
        .clock = clock,
        .half = HOUR,
        .plateau = plateau,
        .u = 0.02,
        .seen = 1,
        .passed = 1,
        .material = {[DM_MATERIAL_VOID] = {"void", 0.6, 0.2},
                     [DM_MATERIAL_SOFT] = {"soft", -0.45, 0.15},
                     [DM_MATERIAL_STRAND] = {"strand", -0.8, 0.2},
                     [DM_MATERIAL_SOUND] = {"sound", 0.0, 0.08}}};
}

/* Student's t with 8 degrees of freedom, scaled to a variance: density from
 * the handbook (NBS AMS 55, 26.7.1; gamma(4.5) = 105 sqrt(pi) / 16). */
static double student(double x, double mean, double variance)
{
    double scale = sqrt(variance * 6.0 / 8.0), t = (x - mean) / scale;
    double norm = 105.0 / 16.0 / (6.0 * sqrt(8.0));

    return norm * pow(1.0 + t * t / 8.0, -4.5) / scale;
}

/* 22 places in 100 are spread three times as far. */
static double spread(double x, double part, const dm_material *m, double fade)
{
    double other = 0.02 * 0.02 + fade * fade, sd = part * m->sd;

    return 0.78 * student(x, part * m->mean, sd * sd + other) +
           0.22 * student(x, part * m->mean, 9.0 * sd * sd + other);
}

/* A strand anywhere, by the trapezium rule in steps of a tenth of a degree:
 * 30 deg of footprint and half an hour are above it, 60 deg more beside. */
static double strand(double x, const dm_material *m)
{
    double sum = 0.0;

    if (x > 0.0)
        return 0.0;
    for (int i = 0; i < 3600; i++) {
        double off = fabs(0.1 * (i - 1799.5)), part;

        part = off <= 45.0 ? 7.0 / 6.0 - 0.5 * off * off / 2025.0
                           : (2.0 / 3.0) * (1.0 - (off - 45.0) / 60.0);
        if (part <= 0.0)
            continue;
        sum += spread(x, part, m, 0.3 * fmax(0.0, 1.0 - part) * m->mean);
    }
    return sum / 3600.0 / (75.0 / 180.0);
}

/* Soft grout or a void anywhere, over a fine grid of the middle and half the
 * extent of its arc, deg: half of them about the crown with 45 deg, half
 * anywhere; of any extent from half an hour each way. The sensor's footprint,
 * 30 deg each way, is at the crown. */
static double somewhere(double x, const dm_material *m)
{
    double sum = 0.0, reach = 0.0;

    for (int c = -179; c < 180; c += 2)
        for (int h = 0; h < 165; h++) {
            double half = 15.5 + h, z = c / 45.0;
            double weight =
                0.5 / 360.0 + 0.5 * exp(-0.5 * z * z) / (45.0 * 2.506628274631);
            double in = 0.5 + (half - abs(c)) / 60.0, part, fade;

            part = fmin(1.0, fmax(0.0, in));
            if (part <= 0.0)
                continue;
            fade = 0.3 * (1.0 - part) * m->mean;
            reach += weight * part;
            if (m->mean * x > 0.0 || strcmp(m->name, "void") != 0)
                sum += weight * spread(x, part, m, fade);
        }
    return sum / reach;
}

/* One line and nothing known of the strands: Bayes by hand. */
static void one_line_is_bayes_rule(void **unused)
{
    const dm_judge_rule rule = even_rule();

    (void)unused;
    for (double x = -1.2; x < 1.0; x += 0.173) {
        dm_evidence e = line_of(0.0, x);
        dm_posterior p = {0};
        double l[4], sum = 0.0;

        l[DM_MATERIAL_VOID] = somewhere(x, &e.material[DM_MATERIAL_VOID]);
        l[DM_MATERIAL_SOFT] = somewhere(x, &e.material[DM_MATERIAL_SOFT]);
        l[DM_MATERIAL_SOUND] =
            0.98 * spread(x, 1.0, &e.material[DM_MATERIAL_SOUND], 0.0) +
            0.02 / 3.0;
        l[DM_MATERIAL_STRAND] = strand(x, &e.material[DM_MATERIAL_STRAND]);
        for (int m = 0; m < DM_MATERIAL_COUNT; m++)
            sum += l[m];
        dm_judge(&rule, &e, 1, &p);
        assert_true(p.known);
        for (int m = 0; m < DM_MATERIAL_COUNT; m++)
            assert_near(p.p[m], l[m] / sum, 3e-3);
    }
}

static void resolved_needs_the_confidence(void **unused)
{
    dm_judge_rule rule = even_rule();
    dm_evidence e = line_of(0.0, -0.62);
    dm_posterior p = {0};

    (void)unused;
    dm_judge(&rule, &e, 1, &p); /* between soft and strand */
    assert_false(p.resolved);
    assert_int_equal(dm_kind_of_posterior(&p), DM_KIND_UNRESOLVED);
    rule.confidence = 0.5;
    rule.prior[DM_MATERIAL_SOFT] = 3.0;
    dm_judge(&rule, &e, 1, &p);
    assert_true(p.resolved);
    assert_int_equal(dm_kind_of_posterior(&p), DM_KIND_SOFT_LIKE);
    rule = even_rule();
    e.plateau = 0.6;
    dm_judge(&rule, &e, 1, &p);
    assert_int_equal(dm_kind_of_posterior(&p), DM_KIND_VOID_LIKE);
    e.material[DM_MATERIAL_SOFT].sd = e.material[DM_MATERIAL_STRAND].sd = 0.08;
    e.plateau = -0.85; /* a strand: resolved, and no kind of grout */
    dm_judge(&rule, &e, 1, &p);
    assert_true(p.resolved && p.likeliest == DM_MATERIAL_STRAND);
    assert_int_equal(dm_kind_of_posterior(&p), DM_KIND_UNRESOLVED);
}

static void without_materials_bands_decide(void **unused)
{
    const dm_judge_rule rule = even_rule();
    dm_evidence e = line_of(0.0, -0.5);
    dm_posterior p = {0};

    (void)unused;
    e.material[DM_MATERIAL_STRAND].sd = 0.0;
    dm_judge(&rule, &e, 1, &p);
    assert_false(p.known);
    assert_true(isnan(p.p[DM_MATERIAL_SOFT]));
    assert_string_equal(dm_kind_basis_text(p.known), "bands");
    assert_int_equal(dm_kind_by_bands(-0.5, false), DM_KIND_SOFT_LIKE);
    assert_int_equal(dm_kind_by_bands(-0.5, true), DM_KIND_UNRESOLVED);
    assert_int_equal(dm_kind_by_bands(0.5, true), DM_KIND_VOID_LIKE);
    e.plateau = 0.5; /* void and sound are there: no strand needed */
    dm_judge(&rule, &e, 1, &p);
    assert_true(p.known);
    assert_near(p.p[DM_MATERIAL_STRAND], 0.0, 0.0);
}

static double p_strand(dm_judge_rule *rule, double at, double u,
                       const dm_evidence *e, size_t n)
{
    dm_posterior p = {0};

    rule->strand = at;
    rule->strand_u = u;
    dm_judge(rule, e, n, &p);
    return p.p[DM_MATERIAL_STRAND];
}

/* By hand: above a strand that is known well 1.16 of its reading is left, over
 * all angles 0.36 of it (45 + 60 / 3 of 180 deg); opposite, only the doubt.
 */
static void strand_side_raises_and_lowers(void **unused)
{
    dm_judge_rule rule = even_rule();
    dm_evidence e = line_of(0.0, -0.62);
    dm_posterior p = {0};
    double unknown = p_strand(&rule, (double)NAN, (double)NAN, &e, 1);
    double last = HUGE_VAL;

    (void)unused;
    rule.strand = 0.0;
    rule.strand_u = 0.1;
    dm_judge(&rule, &e, 1, &p);
    assert_near(p.strand_factor, 0.93 * 1.158 / 0.3611 + 0.07, 0.02);
    rule.strand = 6.0 * HOUR;
    dm_judge(&rule, &e, 1, &p);
    assert_near(p.strand_factor, 0.07, 1e-9);
    for (int hour = 0; hour <= 6; hour++) { /* falls with the angle */
        rule.strand = hour * HOUR;
        rule.strand_u = 0.35;
        dm_judge(&rule, &e, 1, &p);
        assert_true(p.strand_factor <= last + 1e-9);
        last = p.strand_factor;
    }
    assert_true(p_strand(&rule, 0.0, 0.35, &e, 1) > unknown);
    assert_true(p_strand(&rule, 6.0 * HOUR, 0.35, &e, 1) < unknown);
    /* The looser the side is known, the nearer to knowing nothing. */
    assert_true(p_strand(&rule, 0.0, 1.5, &e, 1) <
                p_strand(&rule, 0.0, 0.35, &e, 1));
}

/* Two lines 6 h apart cannot both see one strand; two lines that agree say
 * more than one, and less than two places would. */
static void lines_are_joint_evidence(void **unused)
{
    dm_judge_rule rule = even_rule();
    dm_evidence far[2] = {line_of(0.0, -0.6), line_of(6.0 * HOUR, -0.6)};
    dm_evidence near[2] = {line_of(0.0, -0.45), line_of(HOUR, -0.45)};
    dm_posterior one = {0}, two = {0};

    (void)unused;
    dm_judge(&rule, far, 1, &one);
    dm_judge(&rule, far, 2, &two);
    assert_true(two.p[DM_MATERIAL_STRAND] < 0.1 * one.p[DM_MATERIAL_STRAND]);
    assert_true(two.p[DM_MATERIAL_SOFT] > 0.9);
    assert_int_equal(two.lines, 2);
    dm_judge(&rule, near, 1, &one);
    dm_judge(&rule, near, 2, &two);
    assert_true(two.p[DM_MATERIAL_SOFT] > one.p[DM_MATERIAL_SOFT]);
}

/* Lines that were read and show nothing: what one line alone shows is likelier
 * to be a strand than soft grout, the more so the nearer they lie; on the other
 * side of the duct they say little. They never say that there is nothing: a
 * narrow void at the crown stays one. */
static void silent_lines_count(void **unused)
{
    const dm_judge_rule rule = even_rule();
    dm_evidence e[3] = {line_of(0.0, -0.55), line_of(0.0, 0.0),
                        line_of(0.0, 0.0)};
    dm_posterior alone = {0}, p = {0};
    double last = 1.0;

    (void)unused;
    e[1].seen = e[2].seen = 0;
    dm_judge(&rule, e, 1, &alone);
    for (int hours = 1; hours <= 6; hours++) {
        e[1].clock = hours * HOUR;
        dm_judge(&rule, e, 2, &p);
        assert_int_equal(p.lines, 1);
        assert_int_equal(p.silent, 1);
        assert_int_equal(p.passed, 1);
        assert_near(p.p[DM_MATERIAL_SOUND], alone.p[DM_MATERIAL_SOUND], 1e-12);
        if (hours < 5) {
            assert_true(p.p[DM_MATERIAL_STRAND] > alone.p[DM_MATERIAL_STRAND]);
            assert_true(p.p[DM_MATERIAL_STRAND] < last);
            last = p.p[DM_MATERIAL_STRAND];
        }
    }
    /* One that reads as soft as the other is not silent about soft grout. */
    e[1].clock = 3.0 * HOUR;
    e[1].plateau = -0.5;
    dm_judge(&rule, e, 2, &p);
    assert_true(p.p[DM_MATERIAL_SOFT] > alone.p[DM_MATERIAL_SOFT]);
    e[0].plateau = 0.55;
    e[1].plateau = 0.0;
    e[1].clock = 2.0 * HOUR;
    e[2].clock = -2.0 * HOUR;
    dm_judge(&rule, e, 1, &alone);
    dm_judge(&rule, e, 3, &p);
    assert_near(p.p[DM_MATERIAL_SOUND], alone.p[DM_MATERIAL_SOUND], 1e-12);
    assert_int_equal(dm_kind_of_posterior(&p), DM_KIND_VOID_LIKE);
}

/* A void that one of three runs shows is less sure than one that all do, and
 * one run alone lies between. */
static void runs_that_saw_nothing_count(void **unused)
{
    const dm_judge_rule rule = even_rule();
    dm_evidence e = line_of(0.0, 0.5);
    double p[4];
    const size_t seen[4] = {3, 1, 1, 1}, passed[4] = {3, 1, 2, 4};

    (void)unused;
    for (int i = 0; i < 4; i++) {
        dm_posterior out = {0};

        e.seen = seen[i];
        e.passed = passed[i];
        dm_judge(&rule, &e, 1, &out);
        p[i] = out.p[DM_MATERIAL_VOID];
        assert_int_equal(out.seen, seen[i]);
        assert_int_equal(out.passed, passed[i]);
        assert_true(i == 0 || p[i] < p[i - 1]);
    }
    assert_true(p[1] > 0.95 && p[3] < 0.1);
}

/* A short length may have lost amplitude: a plateau of 0.25 is no sign of
 * sound grout then. And what the zero may be off makes all less sure. */
static void short_lengths_and_a_loose_zero(void **unused)
{
    dm_judge_rule rule = even_rule();
    dm_evidence e = line_of(0.0, -0.3);
    dm_posterior whole = {0}, part = {0}, loose = {0};

    (void)unused;
    dm_judge(&rule, &e, 1, &whole);
    e.shorter = true;
    dm_judge(&rule, &e, 1, &part);
    assert_true(part.p[DM_MATERIAL_SOUND] < whole.p[DM_MATERIAL_SOUND]);
    e = line_of(0.0, -0.45);
    dm_judge(&rule, &e, 1, &whole);
    rule.zero_u = 0.3;
    dm_judge(&rule, &e, 1, &loose);
    assert_true(loose.p[DM_MATERIAL_SOFT] < whole.p[DM_MATERIAL_SOFT]);
}

static void probabilities_sum_to_one(void **unused)
{
    uint64_t s = 88172645463325252u;

    (void)unused;
    for (int round = 0; round < 300; round++) {
        dm_judge_rule rule = even_rule();
        dm_evidence e[20];
        dm_posterior p = {0};
        double sum = 0.0, r[64];
        size_t n;

        for (int i = 0; i < 64; i++) {
            s ^= s >> 12;
            s ^= s << 25;
            s ^= s >> 27;
            r[i] =
                (double)((s * 2685821657736338717u) >> 11) / 9007199254740992.0;
        }
        n = 1 + (size_t)(19.0 * r[0]);
        for (size_t i = 0; i < n; i++) {
            e[i] =
                line_of(0.3 * (double)i, (r[1] < 0.5 ? -3.0 : 3.0) * r[2 + i]);
            e[i].u = 1e-4 + r[23 + i];
            e[i].shorter = r[44] < 0.3;
            e[i].seen = (double)i > 1.0 + 30.0 * r[50]
                            ? 0 /* these come last */
                            : 1 + (size_t)(20.0 * r[45]);
            e[i].passed = e[i].seen + (size_t)(20.0 * r[46]);
        }
        rule.strand = r[47] < 0.5 ? (double)NAN : 6.28 * r[48];
        rule.strand_u = r[49];
        dm_judge(&rule, e, n, &p);
        assert_true(p.known);
        for (int m = 0; m < DM_MATERIAL_COUNT; m++) {
            assert_true(p.p[m] >= 0.0 && p.p[m] <= 1.0);
            assert_true(p.p[m] <= p.p[p.likeliest]);
            sum += p.p[m];
        }
        assert_near(sum, 1.0, 1e-12);
    }
}

/* ---- wall ---- */

static void keep_message(void *user, const dm_message *m)
{
    char *said = user;

    strncpy(said, m->text, 399);
}

/* By hand: 4 index points a millimetre, walls 2.6 to 3.4 mm thicker. */
static void wall_shifts_the_zero(void **unused)
{
    char said[400] = "";
    dm_diag diag = {.emit = keep_message, .user = said};
    dm_reference_point a = {(double)NAN, 1500.0}, b = {(double)NAN, 1368.0};
    dm_calibration c[2] = {{.channel = DM_NONE,
                            .wall = 0.0067,
                            .wall_slope = (double)NAN,
                            .air = 900.0,
                            .reference = &a,
                            .reference_count = 1},
                           {.channel = DM_NONE,
                            .duct_type = 1,
                            .wall = 0.0122,
                            .wall_slope = (double)NAN,
                            .air = 900.0,
                            .reference = &b,
                            .reference_count = 1}};
    dm_survey survey = {.calibrations = c, .calibration_count = 1};
    dm_duct_type same = {.id = "P", .wall = 0.0067};
    dm_duct_type thick = {
        .id = "Q", .wall = 0.0097, .wall_min = 0.0093, .wall_max = 0.0101};
    dm_run run = {.id = "R", .place = {"book.xml", 7}};
    dm_finder f = {.survey = &survey, .diag = &diag};

    (void)unused;
    assert_near(dm_zero_shift(&survey, c, &same), 0.0, 0.0);
    assert_false(dm_wall_remark(&f, &run, c, &same));
    assert_true(isnan(dm_zero_shift(&survey, c, &thick)));
    assert_true(dm_wall_remark(&f, &run, c, &thick));
    assert_non_null(strstr(said, "by an amount that nothing tells"));
    c[0].wall_slope = -40.0; /* a metre: 0.04 a millimetre, either way */
    assert_near(dm_zero_shift(&survey, c, &thick), 0.04 * 3.4, 1e-12);
    c[0].wall_slope = (double)NAN;
    survey.calibration_count = 2; /* 132 of 600 in 5.5 mm: 0.04 a millimetre */
    assert_near(dm_zero_shift(&survey, c, &thick), 0.04 * 3.4, 1e-12);
    assert_true(dm_wall_remark(&f, &run, c, &thick));
    assert_non_null(strstr(said, "wall of 9.3 to 10.1 mm"));
    assert_non_null(strstr(said, "may be off by 0.14"));
    c[0].wall = 0.0;
    assert_true(isnan(dm_zero_shift(&survey, c, &same)));
    assert_true(dm_wall_remark(&f, &run, c, &same));
    assert_non_null(strstr(said, "does not state the wall"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_line_is_bayes_rule),
        cmocka_unit_test(resolved_needs_the_confidence),
        cmocka_unit_test(without_materials_bands_decide),
        cmocka_unit_test(strand_side_raises_and_lowers),
        cmocka_unit_test(lines_are_joint_evidence),
        cmocka_unit_test(silent_lines_count),
        cmocka_unit_test(runs_that_saw_nothing_count),
        cmocka_unit_test(short_lengths_and_a_loose_zero),
        cmocka_unit_test(probabilities_sum_to_one),
        cmocka_unit_test(wall_shifts_the_zero),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
