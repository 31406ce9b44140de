/* SPDX-License-Identifier: MIT
 * Numbers as text, against the exact decimal expansion that the C library
 * prints, its correctly rounded strtod, and published hard cases. Every test
 * runs twice, the second time under a locale with a decimal comma. */
#include "base/num.h"

#include <float.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "near.h"

/* Deterministic bits: xorshift64* (Vigna 2016). */
static uint64_t random_bits(uint64_t *seed)
{
    *seed ^= *seed >> 12;
    *seed ^= *seed << 25;
    *seed ^= *seed >> 27;
    return *seed * 2685821657736338717U;
}

static double from_bits(uint64_t bits)
{
    double value;

    memcpy(&value, &bits, sizeof value);
    return value;
}

/* The C library's decimal point, for the reference side of a comparison. */
static char c_point(void)
{
    return localeconv()->decimal_point[0];
}

static double reference_parse(const char *text)
{
    char copy[1200], *mark;

    assert_true(strlen(text) < sizeof copy);
    strcpy(copy, text);
    mark = strchr(copy, '.');
    if (mark != NULL)
        *mark = c_point();
    return strtod(copy, NULL);
}

static void assert_same(double a, double b, const char *text)
{
    if (memcmp(&a, &b, sizeof a) != 0)
        fail_msg("%s: %a is not %a", text, a, b);
}

/* ---- fixed ------------------------------------------------------------ */

/* Rounds the exact decimal expansion half away from zero, digit by digit. */
static void reference_fixed(char *out, double value, int decimals)
{
    char exact[1200];
    size_t point, last, i;
    bool up, zero = true;

    snprintf(exact + 1, sizeof exact - 1, "%.1080f", fabs(value));
    exact[0] = '0'; /* room for a carry */
    point = strlen(exact) - 1081;
    exact[point] = '.';
    up = exact[point + 1 + (size_t)decimals] >= '5';
    last = point + (size_t)decimals;
    exact[decimals == 0 ? point : last + 1] = '\0';
    for (i = decimals == 0 ? point : last + 1; up && i-- > 0;) {
        if (exact[i] == '.')
            continue;
        up = exact[i] == '9';
        exact[i] = up ? '0' : (char)(exact[i] + 1);
    }
    for (i = 0; exact[i] != '\0'; i++)
        zero = zero && (exact[i] == '0' || exact[i] == '.');
    i = exact[0] == '0' ? 1 : 0;
    if (value < 0 && !zero)
        *out++ = '-';
    memcpy(out, exact + i, strlen(exact + i) + 1);
}

static void check_fixed(double value, int decimals)
{
    char expected[1200], text[DM_NUM_SIZE];
    size_t length = dm_num_fixed(text, value, decimals);

    reference_fixed(expected, value, decimals);
    if (strcmp(text, expected) != 0)
        fail_msg("%a with %d decimals: '%s', expected '%s'", value, decimals,
                 text, expected);
    assert_int_equal(length, strlen(text));
}

static void fixed_plain_values_are_as_written(void **state)
{
    char text[DM_NUM_SIZE];

    (void)state;
    dm_num_fixed(text, 0.125, 2);
    assert_string_equal(text, "0.13"); /* a tie: away from zero */
    dm_num_fixed(text, -0.125, 2);
    assert_string_equal(text, "-0.13");
    dm_num_fixed(text, 1.005, 2);
    assert_string_equal(text, "1.00"); /* the double lies below 1.005 */
    dm_num_fixed(text, -0.004, 2);
    assert_string_equal(text, "0.00");
    dm_num_fixed(text, -0.0, 3);
    assert_string_equal(text, "0.000");
    dm_num_fixed(text, 999.9999, 3);
    assert_string_equal(text, "1000.000");
    dm_num_fixed(text, 0.5, 0);
    assert_string_equal(text, "1");
    dm_num_fixed(text, 999999999999999.0, 9);
    assert_string_equal(text, "999999999999999.000000000");
}

static void fixed_random_values_agree_with_exact_expansion(void **state)
{
    static const double size[] = {1e-9, 1e-3, 1, 60, 1e4, 1e6, 1e10, 9e14};
    uint64_t seed = 20090915;
    int i;

    (void)state;
    for (i = 0; i < 40000; i++) {
        double unit = (double)(random_bits(&seed) >> 11) / 9007199254740992.0;
        double value = (2 * unit - 1) * size[i % 8];

        check_fixed(value, i / 8 % 10);
    }
}

/* Exact ties and their two neighbours, where a product rounded once errs. */
static void fixed_near_ties_agree_with_exact_expansion(void **state)
{
    static const double power[] = {1,   1e1, 1e2, 1e3, 1e4,
                                   1e5, 1e6, 1e7, 1e8, 1e9};
    uint64_t seed = 4711;
    int i;

    (void)state;
    for (i = 0; i < 20000; i++) {
        int decimals = i % 10;
        double n = (double)(random_bits(&seed) % 100000000);
        double tie = (n + 0.5) / power[decimals];

        check_fixed(tie, decimals);
        check_fixed(nextafter(tie, 0), decimals);
        check_fixed(-nextafter(tie, 1e300), decimals);
        check_fixed((n + 0.5) / 1024, decimals);
        check_fixed(n / power[decimals], decimals);
    }
}

static void fixed_outside_its_range_is_as_shortest(void **state)
{
    static const double value[] = {
        1e15, -1e15, 1.5e300, (double)INFINITY, -(double)INFINITY, (double)NAN};
    char fixed[DM_NUM_SIZE], shortest[DM_NUM_SIZE];
    size_t i;

    (void)state;
    for (i = 0; i < sizeof value / sizeof *value; i++) {
        assert_int_equal(dm_num_fixed(fixed, value[i], 3),
                         dm_num_shortest(shortest, value[i]));
        assert_string_equal(fixed, shortest);
    }
}

/* ---- shortest --------------------------------------------------------- */

/* Do some `precision` digits read back as value? The nearest ones and both
 * neighbours of them are tried. */
static bool some_digits_read_back(double value, int precision)
{
    char text[64], *mark;
    long long digits = 0;
    int exponent, step;
    const char *s;

    snprintf(text, sizeof text, "%.*e", precision - 1, value);
    mark = strchr(text, 'e');
    exponent = atoi(mark + 1) - precision + 1;
    for (s = text; s < mark; s++)
        if (*s >= '0' && *s <= '9')
            digits = digits * 10 + (*s - '0');
    for (step = -1; step <= 1; step++) {
        snprintf(text, sizeof text, "%llde%d", digits + step, exponent);
        if (strtod(text, NULL) == value)
            return true;
    }
    return false;
}

static int significant_digits(const char *text)
{
    int count = 0, zeros = 0;

    for (; *text != '\0' && *text != 'e'; text++) {
        if (*text < '0' || *text > '9' || (count == 0 && *text == '0'))
            continue;
        if (*text == '0') {
            zeros++;
            continue;
        }
        count += zeros + 1;
        zeros = 0;
    }
    return count;
}

static void check_shortest(double value)
{
    char text[DM_NUM_SIZE];
    size_t length = dm_num_shortest(text, value);
    int count = significant_digits(text);

    assert_int_equal(length, strlen(text));
    assert_true(length < DM_NUM_SIZE);
    assert_same(reference_parse(text), value, text);
    if (count > 1 && some_digits_read_back(fabs(value), count - 1))
        fail_msg("%s: a shorter text reads back too", text);
}

static void shortest_values_have_their_form(void **state)
{
    static const struct {
        double value;
        const char *text;
    } row[] = {
        {0, "0"},
        {-0.0, "-0"},
        {12, "12"},
        {12.5, "12.5"},
        {-0.001, "-0.001"},
        {1.5e-7, "1.5e-07"},
        {0.0001, "0.0001"},
        {0.00001, "1e-05"},
        {0.1 + 0.2, "0.30000000000000004"},
        {123456.789, "123456.789"},
        {999999999999999.0, "999999999999999"},
        {1e15, "1e+15"},
        {1234567890123456.0, "1234567890123456"},
        {1e22, "1e+22"},
        {1e23, "1e+23"},
        {5e-324, "5e-324"},
        {DBL_MAX, "1.7976931348623157e+308"},
        {DBL_MIN, "2.2250738585072014e-308"},
        {9007199254740993.0, "9007199254740992"},
        {0.0254, "0.0254"},
        {1200.0 / 3937.0, "0.3048006096012192"},
    };
    char text[DM_NUM_SIZE];
    size_t i;

    (void)state;
    for (i = 0; i < sizeof row / sizeof *row; i++) {
        dm_num_shortest(text, row[i].value);
        assert_string_equal(text, row[i].text);
    }
}

static void shortest_not_finite_is_a_word(void **state)
{
    char text[DM_NUM_SIZE];

    (void)state;
    assert_int_equal(dm_num_shortest(text, (double)NAN), 3);
    assert_string_equal(text, "nan");
    assert_int_equal(dm_num_shortest(text, (double)INFINITY), 3);
    assert_string_equal(text, "inf");
    assert_int_equal(dm_num_shortest(text, -(double)INFINITY), 4);
    assert_string_equal(text, "-inf");
}

/* Doubles lie twice as dense below a power of two as above. */
static void shortest_powers_of_two_are_shortest(void **state)
{
    int e;

    (void)state;
    for (e = -1074; e <= 1023; e++) {
        check_shortest(ldexp(1, e));
        check_shortest(-nextafter(ldexp(1, e), 1e308));
        check_shortest(nextafter(ldexp(1, e), 0) + 0);
    }
}

static void shortest_random_values_are_shortest(void **state)
{
    uint64_t seed = 77;
    int i;

    (void)state;
    for (i = 0; i < 30000; i++) {
        double any = from_bits(random_bits(&seed));
        double decimals = (double)(random_bits(&seed) % 10000000000) / 1e4;

        if (isfinite(any))
            check_shortest(any);
        check_shortest(decimals);
        check_shortest(-decimals * 1e-5);
        check_shortest(nextafter(decimals, 0));
    }
}

/* ---- parse ------------------------------------------------------------ */

static void check_parse(const char *text, double expected)
{
    double value = 17;

    if (!dm_num_parse(text, strlen(text), '.', &value))
        fail_msg("'%s' is refused", text);
    assert_same(value, expected, text);
}

/* From V. Paxson, "A Program for Testing IEEE Decimal-Binary Conversion"
 * (1991), table 1: decimals close to the midpoint of two doubles. The doubles
 * were computed with another language's exact conversion. */
static void parse_published_hard_cases_are_correctly_rounded(void **state)
{
    (void)state;
    check_parse("5e125", 0x1.7a2ecc414a03fp+417);
    check_parse("69e267", 0x1.0b7cb60c994dap+893);
    check_parse("999e-026", 0x1.82782afe1869ep-77);
    check_parse("7861e-034", 0x1.fe3544145e9d8p-101);
    check_parse("75569e-254", 0x1.5a462d91c6ab3p-828);
    check_parse("928609e-261", 0x1.be2dd66200befp-848);
    check_parse("9210917e-080", 0x1.4d4c1b197dd9dp-243);
}

/* A decimal exactly between two doubles goes to the even one; one unit in
 * the 54th digit, or the 900th, decides otherwise (IEEE 754 section 4.3.1). */
static void parse_midpoints_are_decided_exactly(void **state)
{
    const char *half = "1.0000000000000001110223024625156540423631668090820312";
    char text[1200];

    (void)state;
    snprintf(text, sizeof text, "%s5", half);
    check_parse(text, 1);
    snprintf(text, sizeof text, "%s6", half);
    check_parse(text, 1 + DBL_EPSILON);
    snprintf(text, sizeof text, "%s5%0900d", half, 1);
    check_parse(text, 1 + DBL_EPSILON);
    snprintf(text, sizeof text, "%s5%0900d", half, 0);
    check_parse(text, 1);
    check_parse("9007199254740993", 9007199254740992.0);
    check_parse("9007199254740993.00000000000000000001", 9007199254740994.0);
    check_parse("2.2250738585072011e-308", DBL_MIN - 4.94e-324);
}

static void parse_each_form_of_the_grammar_is_read(void **state)
{
    char text[1100];

    (void)state;
    check_parse("0", 0);
    check_parse("-0", -0.0);
    check_parse("+7", 7);
    check_parse("007.50", 7.5);
    check_parse(".5", 0.5);
    check_parse("5.", 5);
    check_parse("1E3", 1000);
    check_parse("1e+03", 1000);
    check_parse("-2.5e-1", -0.25);
    check_parse("1e-400", 0);
    check_parse("-1e-99999999999999999999", -0.0);
    check_parse("0e99999999999999999999", 0);
    check_parse("123456789012345678901e-9999999", 0);
    check_parse("4.9e-324", 4.9e-324);
    check_parse("1.7976931348623157e308", DBL_MAX);
    check_parse("12345678901234567890", 12345678901234567890.0);
    snprintf(text, sizeof text, "%01000d", 12);
    check_parse(text, 12);
    snprintf(text, sizeof text, "0.%01000de1000", 12);
    check_parse(text, 12);
}

static void parse_anything_else_is_refused(void **state)
{
    static const char *const bad[] = {"",
                                      "+",
                                      "-",
                                      ".",
                                      "-.",
                                      "e5",
                                      ".e5",
                                      "1e",
                                      "1e+",
                                      "1e-",
                                      "1e5x",
                                      "1 ",
                                      " 1",
                                      "--1",
                                      "+-1",
                                      "1.2.3",
                                      "1,5",
                                      "0x10",
                                      "inf",
                                      "nan",
                                      "1e5.0",
                                      "1e400",
                                      "1_000",
                                      "1d5",
                                      "Infinity",
                                      "1.5f",
                                      "1e 5",
                                      "1\t",
                                      "-1e309",
                                      "1e200000",
                                      "123456789012345678901e9999999"};
    double value;
    size_t i;

    (void)state;
    for (i = 0; i < sizeof bad / sizeof *bad; i++) {
        value = 17;
        if (dm_num_parse(bad[i], strlen(bad[i]), '.', &value))
            fail_msg("'%s' is read as %a", bad[i], value);
        assert_true(value == 0);
    }
    assert_false(dm_num_parse("1\0002", 3, '.', &value));
}

static void parse_decimal_comma_and_length_are_obeyed(void **state)
{
    double value;

    (void)state;
    assert_true(dm_num_parse("12,5;3", 4, ',', &value));
    assert_true(value == 12.5);
    assert_false(dm_num_parse("12.5", 4, ',', &value));
    assert_true(dm_num_parse("12345", 2, '.', &value));
    assert_true(value == 12);
}

static void parse_random_text_agrees_with_strtod(void **state)
{
    uint64_t seed = 5;
    int i;

    (void)state;
    for (i = 0; i < 100000; i++) {
        char text[128];
        uint64_t r = random_bits(&seed);
        int whole = (int)(r % 12), part = (int)(r >> 8 & 0xfff) % 14;
        int span = i % 3 ? 50 : 700;
        int n = 0, k;

        n += sprintf(text, "%s", r >> 20 & 1 ? "-" : "");
        for (k = 0; k < whole + (part == 0); k++)
            text[n++] = (char)('0' + random_bits(&seed) % 10);
        if (part > 0)
            text[n++] = '.';
        for (k = 0; k < part * (i % 50 == 0 ? 4 : 1); k++)
            text[n++] = (char)('0' + random_bits(&seed) % 10);
        text[n] = '\0';
        if (r >> 21 & 1)
            sprintf(text + n, "e%d",
                    (int)(r >> 24 & 0xfffff) % span - span / 2);
        if (isfinite(reference_parse(text)))
            check_parse(text, reference_parse(text));
    }
}

static int use_comma_locale(void **state)
{
    (void)state;
    return setlocale(LC_NUMERIC, "de_DE.UTF-8") == NULL ? -1 : 0;
}

static int use_c_locale(void **state)
{
    (void)state;
    return setlocale(LC_NUMERIC, "C") == NULL ? -1 : 0;
}

static void locale_under_test_has_a_comma(void **state)
{
    (void)state;
    assert_int_equal(c_point(), ',');
}

#define NUMBER_TESTS                                                           \
    cmocka_unit_test(fixed_plain_values_are_as_written),                       \
        cmocka_unit_test(fixed_random_values_agree_with_exact_expansion),      \
        cmocka_unit_test(fixed_near_ties_agree_with_exact_expansion),          \
        cmocka_unit_test(fixed_outside_its_range_is_as_shortest),              \
        cmocka_unit_test(shortest_values_have_their_form),                     \
        cmocka_unit_test(shortest_not_finite_is_a_word),                       \
        cmocka_unit_test(shortest_powers_of_two_are_shortest),                 \
        cmocka_unit_test(shortest_random_values_are_shortest),                 \
        cmocka_unit_test(parse_published_hard_cases_are_correctly_rounded),    \
        cmocka_unit_test(parse_midpoints_are_decided_exactly),                 \
        cmocka_unit_test(parse_each_form_of_the_grammar_is_read),              \
        cmocka_unit_test(parse_anything_else_is_refused),                      \
        cmocka_unit_test(parse_decimal_comma_and_length_are_obeyed),           \
        cmocka_unit_test(parse_random_text_agrees_with_strtod)

int main(void)
{
    const struct CMUnitTest plain[] = {NUMBER_TESTS};
    const struct CMUnitTest comma[] = {
        cmocka_unit_test(locale_under_test_has_a_comma), NUMBER_TESTS};
    int failures = cmocka_run_group_tests(plain, NULL, NULL);

    if (use_comma_locale(NULL) != 0) {
        print_message("SKIPPED: no locale with a decimal comma here\n");
        return failures;
    }
    use_c_locale(NULL);
    return failures +
           cmocka_run_group_tests(comma, use_comma_locale, use_c_locale);
}
