/* SPDX-License-Identifier: MIT
 * LandXML alignments: units, order of coordinates, hands, spirals, profiles,
 * station equations, map coordinates, names. */
#include "base/file.h"
#include "landxml_text.h"

static const double PI = 3.14159265358979323846;
static const double US_FOOT = 1200.0 / 3937.0; /* 85 FR 62698 */

static const dm_horizontal *element(const opened *o, size_t i)
{
    assert_true(i < o->line->line.horizontal_count);
    return &o->line->line.horizontal[i];
}

/* ---- coordinates and units ---- */

static void northing_comes_before_easting(void **state)
{
    /* 300 m north and 40 m east: nothing about it is symmetrical. */
    opened *o = open_good(PLAN("<Line><Start>1000 200</Start>"
                               "<End>1300 240 7.5</End></Line>\n"));
    const dm_horizontal *e = element(o, 0);

    (void)state;
    assert_near(e->x, 200.0, 0.0);
    assert_near(e->y, 1000.0, 0.0);
    assert_near(e->length, hypot(300.0, 40.0), 1e-12);
    assert_near(e->bearing, atan(40.0 / 300.0), 1e-15);
    close_text(o);
}

static void assert_unit(const char *units, double metres)
{
    dm_buf text = {0};
    opened *o;

    dm_buf_printf(
        &text,
        "<LandXML" SPACE "><Units>%s</Units><Alignments><Alignment "
        "name='A' staStart='500' length='5000'><CoordGeom><Line "
        "length='5000'><Start>2000000 1000000</Start><End>2003000 "
        "1004000</End></Line></CoordGeom><Profile><ProfAlign><PVI>500 "
        "30</PVI><PVI>1500 40</PVI></ProfAlign></Profile>"
        "</Alignment></Alignments></LandXML>",
        units);
    o = open_good(text.data);
    assert_near(element(o, 0)->x, 1e6 * metres, 1e-9);
    assert_near(element(o, 0)->y, 2e6 * metres, 1e-9);
    assert_near(element(o, 0)->length, 5000.0 * metres, 2e-9);
    assert_near(o->line->line.begin, 500.0 * metres, 1e-12);
    assert_near(o->line->points[1].station, 1500.0 * metres, 1e-12);
    assert_near(o->line->points[1].height, 40.0 * metres, 1e-12);
    assert_near(o->line->line.vertical[0].grade, 0.01, 1e-15);
    close_text(o);
    dm_buf_free(&text);
}

/* Foot 0.3048 m, US survey foot 1200/3937 m: 85 FR 62698, 5 October 2020. */
static void units_give_metres(void **state)
{
    (void)state;
    assert_unit("<Metric linearUnit='meter'/>", 1.0);
    assert_unit("<Metric linearUnit='centimeter'/>", 0.01);
    assert_unit("<Imperial linearUnit='foot'/>", 0.3048);
    assert_unit("<Imperial linearUnit='USSurveyFoot'/>", US_FOOT);
    assert_unit("<Imperial linearUnit='inch'/>", 0.0254);
}

static void the_two_feet_differ_in_large_coordinates(void **state)
{
    /* 2,000,000 ft: 1.21920243840 m between the two (85 FR 62698 gives both
     * feet; the product is arithmetic). */
    static const char *const units[] = {"foot", "USSurveyFoot"};
    double y[2];

    (void)state;
    for (int i = 0; i < 2; i++) {
        dm_buf text = {0};
        dm_buf_printf(&text,
                      "<LandXML" SPACE "><Units><Imperial linearUnit='%s'/>"
                      "</Units><Alignments><Alignment name='A' staStart='0'>"
                      "<CoordGeom><Line><Start>2000000 0</Start><End>2000100 "
                      "0</End></Line></CoordGeom></Alignment></Alignments>"
                      "</LandXML>",
                      units[i]);
        opened *o = open_good(text.data);
        y[i] = element(o, 0)->y;
        close_text(o);
        dm_buf_free(&text);
    }
    assert_near(y[1] - y[0], 1.21920243840, 1e-9);
}

/* ---- hands and curves ---- */

/* The quarter circles of 100 m radius from the origin northwards. */

static void curves_turn_by_their_hand(void **state)
{
    opened *o = open_good(PLAN(QUARTER("cw", "100", "100", "radius='100'")));
    dm_alignment_place end;

    (void)state;
    assert_near(element(o, 0)->k0, 0.01, 1e-17);
    assert_near(element(o, 0)->length, 50.0 * PI, 1e-12);
    assert_near(element(o, 0)->bearing, 0.0, 1e-15);
    end = dm_alignment_at(&o->line->line, 1e9);
    assert_near(end.bearing, 0.5 * PI, 1e-12);
    close_text(o);

    o = open_good(PLAN(QUARTER("ccw", "100", "-100", "radius='100'")));
    assert_near(element(o, 0)->k0, -0.01, 1e-17);
    assert_near(element(o, 0)->length, 50.0 * PI, 1e-12);
    close_text(o);

    /* The other way round the same circle: three quarters of it. */
    o = open_good(PLAN(QUARTER("ccw", "100", "100", "")));
    assert_near(element(o, 0)->length, 150.0 * PI, 1e-12);
    assert_near(fabs(element(o, 0)->bearing), PI, 1e-12);
    close_text(o);
}

static void a_flat_arc_does_not_suffer_from_a_rounded_centre(void **state)
{
    /* 50 m of 5000 m radius; Center rounded to 1 mm, and its error of 0.5 mm
     * across does not reach the length. */
    opened *o =
        open_good(PLAN("<Curve rot='cw' radius='5000'><Start>0 0</Start>"
                       "<Center>0 5000.0005</Center>"
                       "<End>49.999166670833 0.249997916673</End></Curve>\n"));

    (void)state;
    assert_near(element(o, 0)->length, 50.0, 1e-9);
    assert_near(element(o, 0)->k0, 1.0 / 5000.0, 1e-17);
    close_text(o);
}

/* ---- spirals: R 300 m, L 100 m, x 99.7225792178275, y 5.5445423656288 by
 * the Fresnel integrals of DLMF chapter 7 (power series, 40 digits). ---- */

static void assert_end(const opened *o, double x, double y, double bearing)
{
    const dm_alignment *line = &o->line->line;
    dm_alignment_place end = dm_alignment_at(line, line->end);

    assert_near(end.x, x, 1e-9);
    assert_near(end.y, y, 1e-9);
    assert_near(remainder(end.bearing - bearing, 2.0 * PI), 0.0, 1e-10);
}

static void spirals_enter_and_leave(void **state)
{
    opened *o = open_good(
        PLAN("<Spiral spiType='clothoid' rot='cw' length='100' "
             "radiusStart='INF' radiusEnd='300'><Start>0 0</Start><PI>" PI_X
             " 0</PI><End>" X " " Y "</End></Spiral>\n"));
    (void)state;
    assert_near(element(o, 0)->k0, 0.0, 0.0);
    assert_near(element(o, 0)->k1, 1.0 / 300.0, 1e-17);
    assert_end(o, 5.5445423656288, 99.7225792178275, 1.0 / 6.0);
    close_text(o);

    /* To the left. */
    o = open_good(PLAN("<Spiral spiType='clothoid' rot='ccw' length='100' "
                       "radiusEnd='300'><Start>0 0</Start><PI>" PI_X
                       " 0</PI><End>" X " -" Y "</End></Spiral>\n"));
    assert_end(o, -5.5445423656288, 99.7225792178275, -1.0 / 6.0);
    close_text(o);

    /* The first one backwards: it leaves, to the left. */
    o = open_good(PLAN("<Spiral spiType='clothoid' rot='ccw' length='100' "
                       "radiusStart='300' radiusEnd='INF'><Start>" X " " Y
                       "</Start><PI>" PI_X " 0</PI><End>0 0</End></Spiral>\n"));
    assert_near(element(o, 0)->k0, -1.0 / 300.0, 1e-17);
    assert_end(o, 0.0, 0.0, PI);
    close_text(o);
}

static void a_spiral_may_lie_between_two_radii(void **state)
{
    /* The same clothoid cut at 40 m, where its radius is 750 m. */
    opened *o = open_good(PLAN(
        "<Spiral spiType='clothoid' rot='cw' length='40' radiusStart='INF' "
        "radiusEnd='750'><Start>0 0</Start><PI>26.667660032350 0</PI>"
        "<End>39.997155649198 0.355537495999</End></Spiral>\n"
        "<Spiral spiType='clothoid' rot='cw' length='60' radiusStart='750' "
        "radiusEnd='300'><Start>39.997155649198 0.355537495999</Start>"
        "<PI>74.319245767834 1.271010243732</PI><End>" X " " Y
        "</End></Spiral>\n"));

    (void)state;
    assert_near(element(o, 1)->k0, 1.0 / 750.0, 1e-17);
    assert_near(element(o, 1)->x, 0.355537495999, 1e-9);
    assert_end(o, 5.5445423656288, 99.7225792178275, 1.0 / 6.0);
    close_text(o);
}

/* ---- the reference file ---- */

static void the_reference_file_is_read_to_its_last_digits(void **state)
{
    dm_arena *arena = dm_arena_new();
    said heard;
    dm_landxml *l = NULL;
    /* Northing and easting of the joints, as the file has them: power series
     * with 40 digits. */
    static const double joint[][2] = {{-3.5, 12.0},
                                      {6.852761804101, 50.637033051563},
                                      {16.342595126031, 89.486885969805},
                                      {22.032458373960, 149.116085568629},
                                      {20.061144772753, 189.059569779859},
                                      {18.631685705712, 209.008420543140}};
    static const double s[] = {0.0, 40.0, 80.0, 140.0, 180.0, 200.0};

    (void)state;
    said_init(&heard);
    assert_int_equal(
        dm_landxml_read(DM_TEST_GEOMETRY "/reference/curved_line.landxml.xml",
                        "Curved line", NULL, arena, &heard.diag, &l),
        DM_OK);
    assert_string_equal(heard.text, "");
    for (int i = 0; i < 6; i++) {
        dm_alignment_place p = dm_alignment_at(&l->line, s[i]);
        assert_near(p.y, joint[i][0], 1e-9);
        assert_near(p.x, joint[i][1], 1e-9);
    }
    /* FM 5-233's parabola: +3 %, -2 %, 120 m, begin at 100 m height. */
    assert_near(dm_alignment_at(&l->line, 100.0).height, 100.979166666667,
                1e-9);
    assert_near(dm_alignment_at(&l->line, 100.0).grade, 0.03 - 0.05 * 50 / 120,
                1e-12);
    assert_near(dm_alignment_display(&l->line, 160.0, NULL), 1160.0, 1e-9);
    assert_int_equal(strlen(l->sha256), 64);
    assert_string_equal(l->name, "Curved line");
    assert_int_equal(l->place.line, 13);
    dm_arena_free(arena);
}

/* The text with its numbers of 12 decimals rounded to fewer. */
static char *rounded(const char *path, int decimals)
{
    dm_buf text = {0}, out = {0};

    assert_int_equal(
        dm_file_read(path, 1 << 20, (dm_place){path, 0}, NULL, &text), DM_OK);
    for (const char *p = text.data; *p;) {
        char *end = NULL, number[64];
        bool begins = (*p >= '0' && *p <= '9') || *p == '-';
        double v = begins ? strtod(p, &end) : 0.0;
        const char *point = begins ? memchr(p, '.', (size_t)(end - p)) : NULL;
        if (point && end - point == 13) {
            snprintf(number, sizeof number, "%.*f", decimals, v);
            dm_buf_puts(&out, number);
            p = end;
        } else {
            dm_buf_putc(&out, *p++);
        }
    }
    assert_false(out.failed);
    dm_buf_free(&text);
    return out.data;
}

static void rounded_points_lead_nowhere_else(void **state)
{
    /* By its first 40 m alone, written in millimetres, the line would end 1
     * mm off and be 1 mm short. */
    char *text =
        rounded(DM_TEST_GEOMETRY "/reference/curved_line.landxml.xml", 3);
    opened *o = open_good(text);
    dm_alignment_place end = dm_alignment_at(&o->line->line, 200.0);

    (void)state;
    assert_non_null(strstr(text, "<End>6.853 50.637</End>"));
    assert_near(o->line->line.end, 200.0, 0.0);
    assert_near(end.y, 18.631685705712, 2e-4);
    assert_near(end.x, 209.008420543140, 2e-4);
    close_text(o);
    free(text);
}

static void a_stated_length_holds_within_the_points_doubt(void **state)
{
    static const struct {
        const char *stated, *end;
        double length;
    } cases[] = {
        {"100.0005", "100.000", 100.0005},          /* millimetres */
        {"100.0000015", "100.000000", 100.0000015}, /* micrometres */
        {"100.0005", "100.000000", 100.0}, /* more than they leave open */
    };

    (void)state;
    for (int i = 0; i < 3; i++) {
        dm_buf text = {0};
        dm_buf_printf(&text,
                      HEAD(METRIC, "staStart='0'") "<Line length='%s'><Start>0 "
                                                   "0</Start><End>%s 0</End>"
                                                   "</Line>" TAIL(""),
                      cases[i].stated, cases[i].end);
        opened *o = open_good(text.data);
        assert_near(element(o, 0)->length, cases[i].length, 0.0);
        close_text(o);
        dm_buf_free(&text);
    }
}

/* ---- map coordinates ---- */

static void map_coordinates_are_turned_back(void **state)
{
    /* X of the model points 30 deg north of east, ground to grid 0.9996. */
    dm_map_conversion map = {.given = true,
                             .eastings = 500000.0,
                             .northings = 4649776.0,
                             .height = 12.0,
                             .x_axis_abscissa = cos(PI / 6.0),
                             .x_axis_ordinate = sin(PI / 6.0),
                             .scale = 0.9996};
    dm_vec3 a = dm_map_point(&map, (dm_vec3){20.0, -30.0, 4.0});
    dm_vec3 b = dm_map_point(&map, (dm_vec3){320.0, 370.0, 4.0});
    char text[1024];
    opened *o;

    (void)state;
    snprintf(
        text, sizeof text,
        HEAD(METRIC,
             "staStart='1000'") "<Line dir='%.15g'><Start>%.9f "
                                "%.9f</Start><End>%.9f %.9f</End></Line>" TAIL(
                                    "<StaEquation staInternal='1099.96' "
                                    "staBack='1099.96' "
                                    "staAhead='5000'/"
                                    "><Profile><ProfAlign><PVI>1000 %.9f</PVI>"
                                    "<PVI>1099.96 "
                                    "%.9f</PVI></ProfAlign></Profile>"),
        atan2(b.x - a.x, b.y - a.y), a.y, a.x, b.y, b.x, a.z, a.z + 0.9996);
    o = open_text(text, NULL, &map);
    assert_string_equal(o->heard.text, "");
    assert_int_equal(o->status, DM_OK);
    assert_near(element(o, 0)->x, 20.0, 2e-9);
    assert_near(element(o, 0)->y, -30.0, 2e-9);
    assert_near(element(o, 0)->length, 500.0, 4e-9);
    assert_near(element(o, 0)->bearing, atan2(300.0, 400.0), 1e-11);
    assert_near(o->line->line.begin, 1000.0, 1e-12);
    assert_near(o->line->points[1].station, 1100.0, 1e-9);
    assert_near(o->line->points[0].height, 4.0, 1e-9);
    assert_near(o->line->points[1].height, 5.0, 1e-9);
    assert_near(o->line->line.equations[0].s, 1100.0, 1e-9);
    assert_near(o->line->line.equations[0].ahead, 5000.0, 1e-9);
    close_text(o);
    /* A conversion that is not given changes nothing. */
    map.given = false;
    o = open_text(PLAN(LINE), NULL, &map);
    assert_near(element(o, 0)->length, 100.0, 0.0);
    close_text(o);
}

static void radii_follow_the_map_s_scale(void **state)
{
    dm_map_conversion map = {
        .given = true, .x_axis_abscissa = 1.0, .scale = 2.0};
    opened *o = open_text(
        PLAN(QUARTER("cw", "100", "100", "radius='100' length='157.0796'")),
        NULL, &map);

    (void)state;
    assert_string_equal(o->heard.text, "");
    assert_near(element(o, 0)->k0, 1.0 / 50.0, 1e-16);
    assert_near(element(o, 0)->length, 25.0 * PI, 1e-12);
    close_text(o);
}

/* ---- heights ---- */

static void an_unsymmetrical_parabola_is_two(void **state)
{
    /* Grades +4 % and -2 % over 20 m and 40 m. At the point the curve lies
     * (g1 - g2) l1 l2 / 2 (l1 + l2) = 0.4 m below it, at both ends on the
     * grades (the formula of handbooks; from memory). */
    opened *o = open_good(PROFILE(
        "<PVI>0 10</PVI><UnsymParaCurve lengthIn='20' lengthOut='40'>50 "
        "12</UnsymParaCurve><PVI>100 11</PVI>"));
    const dm_alignment *line = &o->line->line;

    (void)state;
    assert_near(dm_alignment_at(line, 50.0).height, 11.6, 1e-12);
    assert_near(dm_alignment_at(line, 30.0).height, 11.2, 1e-12);
    assert_near(dm_alignment_at(line, 90.0).height, 11.2, 1e-12);
    assert_near(dm_alignment_at(line, 50.0).grade,
                (0.04 * 20 - 0.02 * 40) / 60.0, 1e-12);
    close_text(o);
}

static void a_file_without_a_profile_has_no_height(void **state)
{
    opened *o = open_good(PLAN(LINE));

    (void)state;
    assert_int_equal(o->line->point_count, 0);
    assert_true(isnan(dm_alignment_at(&o->line->line, 5.0).height));
    close_text(o);
}

/* ---- stations ---- */

static void equations_stand_at_internal_stations(void **state)
{
    opened *o = open_good(HEAD(METRIC, "staStart='10'") LINE TAIL(
        "<StaEquation staInternal='40' staBack='40' staAhead='500'/>"
        "<StaEquation staInternal='70' staBack='530' staAhead='90'/>"));
    const dm_alignment *line = &o->line->line;

    (void)state;
    assert_int_equal(line->equation_count, 2);
    assert_near(dm_alignment_display(line, 39.0, NULL), 39.0, 1e-12);
    assert_near(dm_alignment_display(line, 41.0, NULL), 501.0, 1e-12);
    assert_near(dm_alignment_display(line, 75.0, NULL), 95.0, 1e-12);
    assert_near(line->equations[1].back, 530.0, 1e-12);
    close_text(o);

    /* Without staInternal staBack says where. */
    o = open_good(HEAD(METRIC, "staStart='10'")
                      LINE TAIL("<StaEquation staBack='40' staAhead='500'/>"
                                "<StaEquation staBack='530' staAhead='90'/>"));
    assert_near(o->line->line.equations[1].s, 70.0, 1e-12);
    close_text(o);
}

/* ---- angles are compared, whichever way they count ---- */

static void directions_are_only_compared(void **state)
{
    static const char *const good[][2] = {
        {"decimal degrees", "53.130102354156"},   /* from north */
        {"decimal degrees", "36.869897645844"},   /* from east */
        {"decimal dd.mm.ss", "53.0748368474922"}, /* 53 deg 7' 48.37" */
        {"grads", "59.033447060173"},
        {"radians", "0.927295218001612"}};

    (void)state;
    for (int i = 0; i < 5; i++) {
        dm_buf text = {0};
        dm_buf_printf(&text,
                      HEAD("<Units><Metric linearUnit='meter' "
                           "directionUnit='%s'/></Units>",
                           "staStart='0'") "<Line dir='%s'><Start>0 "
                                           "0</Start><End>300 400</End>"
                                           "</Line>" TAIL(""),
                      good[i][0], good[i][1]);
        close_text(open_good(text.data));
        dm_buf_free(&text);
    }
    assert_said(PLAN("<Line dir='1'><Start>0 0</Start><End>300 400</End>"
                     "</Line>\n<Line dir='1'><Start>300 400</Start><End>600 "
                     "800</End></Line>\n"),
                DM_OK,
                "a.xml:2: warning: Line: dir is 4.1657 deg off what its points "
                "give, and is not used; others may be too\n");
}

/* ---- which one ---- */

static void one_of_several_must_be_named(void **state)
{
    static const char two[] = FILE_OF("<Alignments>" ONE("north") ONE(
        "south") "</Alignments><Alignments>" ONE("ramp") "</Alignments>");
    opened *o = open_text(two, "ramp", NULL);

    (void)state;
    assert_int_equal(o->status, DM_OK);
    assert_string_equal(o->line->name, "ramp");
    close_text(o);
    o = open_text(two, "west", NULL);
    assert_int_equal(o->status, DM_REFERENCE);
    assert_string_equal(o->heard.text,
                        "a.xml:1: error: LandXML: no alignment named 'west'; "
                        "there are: 'north', 'south', 'ramp'\n");
    close_text(o);
    assert_said(two, DM_REFERENCE,
                "a.xml:1: error: LandXML: 3 alignments, one has to be named: "
                "'north', 'south', 'ramp'\n");
    o = open_text(FILE_OF("<Alignments>" ONE("a") ONE("a") "</Alignments>"),
                  "a", NULL);
    assert_string_equal(o->heard.text,
                        "a.xml:1: error: LandXML: more than one alignment "
                        "named 'a'; there are: 'a', 'a'\n");
    close_text(o);
    assert_said(FILE_OF("<Surfaces/>"), DM_REFERENCE,
                "a.xml:1: error: LandXML: it holds no alignment\n");
}

static void what_others_added_is_passed_over(void **state)
{
    opened *o = open_good(HEAD(
        METRIC,
        "staStart='0'") "<Feature code='x'/>" LINE
                        "<o:Chain xmlns:o='urn:o'/>" TAIL(
                            "<Profile><ProfSurf "
                            "name='ground'/><ProfAlign><Feature/><PVI>0 "
                            "1</PVI></ProfAlign></Profile><Superelevation/>"));

    (void)state;
    assert_int_equal(o->line->line.horizontal_count, 1);
    assert_near(dm_alignment_at(&o->line->line, 5.0).height, 1.0, 0.0);
    close_text(o);
}

static void prefixes_and_older_versions_are_read(void **state)
{
    (void)state;
    close_text(open_good(
        "<x:LandXML xmlns:x='http://www.landxml.org/schema/LandXML-1.1'>"
        "<x:Units><x:Metric linearUnit='meter'/></x:Units><x:Alignments>"
        "<x:Alignment name='A' staStart='0'><x:CoordGeom><x:Line><x:Start>0 0"
        "</x:Start><x:End>1e2 <!-- m --> <![CDATA[-5]]></x:End></x:Line>"
        "</x:CoordGeom></x:Alignment></x:Alignments></x:LandXML>"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(northing_comes_before_easting),
        cmocka_unit_test(units_give_metres),
        cmocka_unit_test(the_two_feet_differ_in_large_coordinates),
        cmocka_unit_test(curves_turn_by_their_hand),
        cmocka_unit_test(a_flat_arc_does_not_suffer_from_a_rounded_centre),
        cmocka_unit_test(spirals_enter_and_leave),
        cmocka_unit_test(a_spiral_may_lie_between_two_radii),
        cmocka_unit_test(the_reference_file_is_read_to_its_last_digits),
        cmocka_unit_test(rounded_points_lead_nowhere_else),
        cmocka_unit_test(a_stated_length_holds_within_the_points_doubt),
        cmocka_unit_test(map_coordinates_are_turned_back),
        cmocka_unit_test(radii_follow_the_map_s_scale),
        cmocka_unit_test(an_unsymmetrical_parabola_is_two),
        cmocka_unit_test(a_file_without_a_profile_has_no_height),
        cmocka_unit_test(equations_stand_at_internal_stations),
        cmocka_unit_test(directions_are_only_compared),
        cmocka_unit_test(one_of_several_must_be_named),
        cmocka_unit_test(what_others_added_is_passed_over),
        cmocka_unit_test(prefixes_and_older_versions_are_read),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
