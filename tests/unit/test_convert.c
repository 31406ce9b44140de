/* SPDX-License-Identifier: MIT
 * A reference line written as a bridge file's element, and as LandXML, comes
 * back as the same line: compared at 200 stations, to 1e-9 m or four units in
 * the last place of its coordinates. */
#include <float.h>
#include <stdlib.h>

#include "landxml_make.h"
#include "landxml_text.h"
#include "line_plan.h"
#include "model_text.h"
#include "write/alignment.h"

#define LINES 60

/* ---- random lines ---- */

static double uniform(uint64_t *seed, double from, double to)
{
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return from + (to - from) * (double)(*seed >> 11) * 0x1p-53;
}

static double some_curvature(uint64_t *seed)
{
    double k = 1.0 / uniform(seed, 60.0, 2000.0);
    return uniform(seed, 0.0, 1.0) < 0.5 ? k : -k;
}

/* Lines, arcs, clothoids of all sorts; `hands`: some change theirs. */
static void make_line(plan *q, uint64_t *seed, double reach, bool hands)
{
    size_t n = 1 + (size_t)uniform(seed, 0.0, 12.0);
    for (size_t i = 0; i < n; i++) {
        dm_horizontal *e = &q->e[i];
        int kind = (int)uniform(seed, 0.0, 5.0);
        *e = (dm_horizontal){.length = uniform(seed, 20.0, 150.0)};
        if (kind > 0)
            e->k0 = some_curvature(seed);
        e->k1 = kind == 1 ? e->k0 : kind == 2 ? 0.0 : 2.0 * e->k0 / 3.0;
        if (kind == 4 && hands)
            e->k1 = -0.3 * e->k0;
        if (uniform(seed, 0.0, 1.0) < 0.5) {
            double k = e->k0;
            e->k0 = e->k1;
            e->k1 = k;
        }
    }
    plan_chain(q, n, uniform(seed, -1e3, 1e5), uniform(seed, -reach, reach),
               uniform(seed, -reach, reach), uniform(seed, -PI, PI));
}

static double tolerance_of(double x, double y)
{
    return fmax(1e-9, 4.0 * DBL_EPSILON * fmax(fabs(x), fabs(y)));
}

static void assert_same(const dm_alignment *a, const dm_alignment *b)
{
    assert_near(a->begin, b->begin, 1e-9);
    assert_near(a->end, b->end, 1e-9);
    for (int i = 0; i <= 200; i++) {
        double s = b->begin + (b->end - b->begin) * i / 200.0;
        dm_alignment_place p = dm_alignment_at(a, s), q = dm_alignment_at(b, s);
        double tolerance = tolerance_of(q.x, q.y);
        assert_near(p.x, q.x, tolerance);
        assert_near(p.y, q.y, tolerance);
        assert_near(remainder(p.bearing - q.bearing, 2.0 * PI), 0.0, 1e-11);
        if (b->vertical_count > 0) {
            assert_near(p.height, q.height, 1e-9);
            assert_near(p.grade, q.grade, 1e-12);
        } else {
            assert_true(isnan(p.height));
        }
        assert_near(dm_alignment_display(a, s, NULL),
                    dm_alignment_display(b, s, NULL), 1e-9);
    }
}

/* ---- as a bridge file has it ---- */

static void put_station(dm_buf *out, double s)
{
    char text[64];
    snprintf(text, sizeof text, "%.6f", s);
    dm_buf_puts(out, text);
}

/* A bridge with one straight tendon beside the line. */
static dm_model *bridge_of(const char *alignment, double begin)
{
    dm_buf text = {0};
    dm_model *model = NULL;
    said heard;

    dm_buf_printf(
        &text,
        "<bridge version='1' uid='5f0c9a3e-1c55-4d0e-9d3c-0b7f4f4d2a11' "
        "id='B' name='Invented'>\n%s<duct-type id='D' od='110 mm' "
        "wall='5 mm' material='hdpe'/><tendon id='T'><anchorage id='A' "
        "station='",
        alignment);
    put_station(&text, begin + 1.0);
    dm_buf_puts(&text, " m' offset='1 m' height='2 m'/><anchorage id='E' "
                       "station='");
    put_station(&text, begin + 9.0);
    dm_buf_puts(&text, " m' offset='1 m' height='2 m'/><duct-length "
                       "duct-type='D'/></tendon></bridge>");
    said_init(&heard);
    dm_status status =
        dm_model_read_text("made.xml", &text, &heard.diag, &model);
    if (heard.diag.errors > 0)
        print_error("%s\n%s", heard.text, alignment);
    assert_int_equal(status, DM_OK);
    dm_buf_free(&text);
    return model;
}

static void the_element_is_the_same_line(void **state)
{
    uint64_t seed = 20260301;

    (void)state;
    for (int i = 0; i < LINES; i++) {
        plan q = {0};
        dm_buf text = {0};
        make_line(&q, &seed, i % 2 ? 5e6 : 1e3, true);
        dm_alignment_xml("L", &q.line, NULL, 0, &text);
        assert_false(text.failed);
        dm_model *model = bridge_of(text.data, q.line.begin);
        assert_string_equal(model->alignment_id, "L");
        assert_same(model->alignment, &q.line);
        dm_model_free(model);
        dm_buf_free(&text);
    }
}

static void the_reference_file_is_converted(void **state)
{
    dm_arena *arena = dm_arena_new();
    dm_landxml *l = NULL;
    dm_buf text = {0};

    (void)state;
    assert_int_equal(dm_landxml_read(DM_TEST_GEOMETRY
                                     "/reference/curved_line.landxml.xml",
                                     NULL, NULL, arena, NULL, &l),
                     DM_OK);
    dm_alignment_xml(dm_alignment_id(arena, l->name), &l->line, l->points,
                     l->point_count, &text);
    dm_model *model = bridge_of(text.data, 0.0);
    assert_string_equal(model->alignment_id, "Curved_line");
    assert_same(model->alignment, &l->line);
    assert_int_equal(model->alignment->vertical_count, 3);
    assert_int_equal(model->alignment->equation_count, 1);
    dm_model_free(model);
    dm_buf_free(&text);
    dm_arena_free(arena);
}

static void numbers_are_plain_and_round(void **state)
{
    plan q = {.e = {{.length = 1e-3 / 3.0 * 4.0, .k0 = 0.0},
                    {.length = 100.0, .k0 = 1.0 / 300.0, .k1 = 1.0 / 300.0},
                    {.length = 1e5, .k0 = 0.0, .k1 = -1.0 / 1e6}}};
    dm_pvi points[] = {{-3e-7, 1.5e-20, 0.0}, {5.0, -2e-15, 0.0}};
    dm_buf text = {0};

    (void)state;
    plan_chain(&q, 3, -1e-7, 1234567.875, -1e-9, PI * 75.0 / 180.0);
    dm_alignment_xml("a&b", &q.line, points, 2, &text);
    assert_string_equal(
        text.data,
        "  <alignment id=\"a&amp;b\">\n"
        "    <horizontal>\n"
        "      <start station=\"-0.0000001 m\" x=\"1234567.875 m\" "
        "y=\"-0.000000001 m\" bearing=\"75 deg\"/>\n"
        "      <line length=\"0.001333333333333 m\"/>\n"
        "      <arc length=\"100 m\" radius=\"300 m\" turn=\"right\"/>\n"
        "      <clothoid length=\"100000 m\" radius-end=\"1000000 m\" "
        "turn=\"left\"/>\n"
        "    </horizontal>\n"
        "    <vertical>\n"
        "      <pvi station=\"-0.0000003 m\" height=\"0 m\"/>\n"
        "      <pvi station=\"5 m\" height=\"-0.000000000000002 m\"/>\n"
        "    </vertical>\n"
        "  </alignment>\n");
    dm_buf_free(&text);
}

static void a_clothoid_of_both_hands_is_two(void **state)
{
    plan q = {.e = {{.length = 80.0, .k0 = -1.0 / 200.0, .k1 = 1.0 / 200.0}}};
    dm_buf text = {0};

    (void)state;
    plan_chain(&q, 1, 0.0, 0.0, 0.0, 0.0);
    dm_alignment_xml("L", &q.line, NULL, 0, &text);
    assert_non_null(strstr(text.data,
                           "<clothoid length=\"40 m\" "
                           "radius-start=\"200 m\" turn=\"left\"/>"));
    assert_non_null(strstr(text.data, "<clothoid length=\"40 m\" "
                                      "radius-end=\"200 m\" turn=\"right\"/>"));
    dm_buf_free(&text);
}

static void ids_are_made_of_any_text(void **state)
{
    static const char *const cases[][2] = {
        {"A-1.b_c", "A-1.b_c"},
        {"Curved line", "Curved_line"},
        {"  -- ramp <3>  ", "ramp_3"},
        {"", "alignment"},
        {"\xc3\x84\xc3\x96", "alignment"},
        {"Br\xc3\xbc"
         "cke & co",
         "Br_cke_co"},
        {"../../etc/passwd", "etc_passwd"},
        {"0123456789012345678901234567890123456789012345678901234567890123456",
         "012345678901234567890123456789012345678901234567890123456789012"},
    };
    dm_arena *arena = dm_arena_new();

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_string_equal(dm_alignment_id(arena, cases[i][0]), cases[i][1]);
    dm_arena_free(arena);
}

/* ---- as LandXML ---- */

static void check_landxml(const dm_alignment *line, const make_unit *u)
{
    dm_buf text = {0};
    make_landxml(&text, line, u, NULL, NULL);
    assert_false(text.failed);
    opened *o = open_good(text.data);
    assert_same(&o->line->line, line);
    close_text(o);
    dm_buf_free(&text);
}

static void landxml_is_the_same_line(void **state)
{
    static const make_unit units[] = {
        {"meter", 1.0}, {"foot", 0.3048}, {"USSurveyFoot", 1200.0 / 3937.0}};
    uint64_t seed = 20260302;

    (void)state;
    for (int i = 0; i < LINES; i++) {
        plan q = {0};
        make_line(&q, &seed, i % 2 ? 5e6 : 1e3, false);
        check_landxml(&q.line, &units[i % 3]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_element_is_the_same_line),
        cmocka_unit_test(the_reference_file_is_converted),
        cmocka_unit_test(numbers_are_plain_and_round),
        cmocka_unit_test(a_clothoid_of_both_hands_is_two),
        cmocka_unit_test(ids_are_made_of_any_text),
        cmocka_unit_test(landxml_is_the_same_line),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
