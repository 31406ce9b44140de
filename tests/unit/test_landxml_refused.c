/* SPDX-License-Identifier: MIT
 * LandXML alignments: what is warned of and what is refused, with its line. */
#include "allocfail.h"
#include "landxml_text.h"

/* ---- what is warned of, what is refused ---- */

typedef struct {
    const char *text;
    dm_status status;
    const char *want;
} refusal;

static void assert_each(const refusal *r, size_t count)
{
    for (size_t i = 0; i < count; i++)
        assert_said(r[i].text, r[i].status, r[i].want);
}

#define ASSERT_EACH(cases) assert_each((cases), sizeof(cases) / sizeof *(cases))
#define NEXT "<Line><Start>100 0</Start><End>200 0</End></Line>\n"
#define SPIRAL(attributes, pi)                                                 \
    PLAN("<Spiral rot='cw' " attributes "><Start>0 0</Start>" pi "<End>" X     \
         " " Y "</End></Spiral>\n")
#define PI_AT "<PI>" PI_X " 0</PI>"

static void gaps_and_kinks_are_named_once(void **state)
{
    static const refusal cases[] = {
        {PLAN(LINE "<Line><Start>100 0.0009</Start><End>200 0</End></Line>\n"),
         DM_OK, ""},
        {PLAN(LINE "<Line><Start>100.02 0</Start><End>200.02 0</End></Line>\n"
                   "<Line><Start>200.02 0</Start><End>300 0</End></Line>\n"),
         DM_OK,
         "a.xml:3: warning: Line: its Start lies 20.0 mm from the End before "
         "it\n"},
        {PLAN(LINE "<Line><Start>100.2 0</Start><End>200.2 0</End></Line>\n"
                   "<Line><Start>200.2 0</Start><End>300.2 0</End></Line>\n"),
         DM_GEOMETRY,
         "a.xml:3: error: Line: its Start lies 200.0 mm from the End before "
         "it\n"},
        {PLAN(
             LINE
             "<Line><Start>100 0</Start><End>200 0.06000000</End></Line>\n"
             "<Line><Start>200 0.06000000</Start><End>300 0.12</End></Line>\n"),
         DM_GEOMETRY,
         "a.xml:3: warning: Line: begins with a kink of 0.0344 deg against the "
         "element before it, which is taken out\n"
         "a.xml:3: warning: Line: the line as computed ends 60.0 mm from its "
         "End\n"
         "a.xml:4: error: Line: the line as computed ends 120.0 mm from its "
         "End\n"},
        {PLAN(LINE
              "<Line><Start>100 0</Start><End>200 0.50000000</End></Line>\n"),
         DM_GEOMETRY,
         "a.xml:3: warning: Line: begins with a kink of 0.2865 deg against the "
         "element before it, which is taken out\n"
         "a.xml:3: error: Line: the line as computed ends 500.0 mm from its "
         "End\n"},
        {PLAN(LINE "<Line><Start>100 0</Start><End>200 5</End></Line>\n" NEXT),
         DM_GEOMETRY,
         "a.xml:3: error: Line: begins with a kink of 2.8624 deg against the "
         "element before it\n"
         "a.xml:4: error: Line: its Start lies 100.125 m from the End before "
         "it\n"
         "a.xml:4: error: Line: begins with a kink of 2.8624 deg against the "
         "element before it\n"},
        {PLAN(LINE "<Line staStart='150'><Start>100 0</Start><End>200 0</End>"
                   "</Line>\n"),
         DM_OK,
         "a.xml:3: warning: Line: staStart is 50.000 m off the lengths before "
         "it\n"},
    };

    (void)state;
    ASSERT_EACH(cases);
}

static void bad_lines_are_refused(void **state)
{
    static const refusal cases[] = {
        {PLAN("<Line><Start>0 0</Start></Line>\n"), DM_SCHEMA,
         "a.xml:2: error: Line: its End is missing\n"},
        {PLAN("<Line><Start>0</Start><End>1 2</End></Line>\n"), DM_SYNTAX,
         "a.xml:2: error: Start: expected northing, easting and at most an "
         "elevation\n"},
        {PLAN("<Line><Start>0 x</Start><End>1 2</End></Line>\n"), DM_SYNTAX,
         "a.xml:2: error: Start: expected northing, easting and at most an "
         "elevation\n"},
        {PLAN("<Line><Start>0 0 0 0</Start><End>1 2</End></Line>\n"), DM_SYNTAX,
         "a.xml:2: error: Start: expected northing, easting and at most an "
         "elevation\n"},
        {PLAN("<Line><Start pntRef='7'/>\n<End>1 2</End></Line>\n"),
         DM_UNSUPPORTED,
         "a.xml:2: error: Start: a point by reference (pntRef) is not read, "
         "write its northing and easting\n"},
        {PLAN("<Line><Start>0 1e9</Start><End>0 INF</End></Line>\n"), DM_RANGE,
         "a.xml:2: error: Start: easting is 1000000000 meter, expected "
         "-100000000 to 100000000 m\n"
         "a.xml:2: error: End: expected northing, easting and at most an "
         "elevation\n"},
        {PLAN("<Line><Start>0 0</Start><End>0 0</End></Line>\n"), DM_RANGE,
         "a.xml:2: error: Line: its points give a length of 0.0000 meter, "
         "expected 0.001 to 100000 m\n"},
        {PLAN("<Line length='99.9995'><Start>0 0</Start><End>100 0</End>"
              "</Line>\n<Line length='99.98'><Start>100 0</Start><End>200 0"
              "</End></Line>\n"),
         DM_OK,
         "a.xml:3: warning: Line: length is stated as 99.9800 meter, its "
         "points give 100.0000 meter, which is used\n"},
        {PLAN("<Line length='328.084'><Start>0 0</Start><End>100 0</End>"
              "</Line>\n"),
         DM_INCONSISTENT,
         "a.xml:2: error: Line: length is stated as 328.0840 meter, its points "
         "give 100.0000 meter\n"},
        {PLAN("<Line length='long'><Start>0 0</Start><End>100 0</End>"
              "</Line>\n"),
         DM_SYNTAX,
         "a.xml:2: error: Line: attribute 'length': 'long' is not a number\n"},
    };

    (void)state;
    ASSERT_EACH(cases);
}

static void bad_curves_are_refused(void **state)
{
    static const refusal cases[] = {
        {PLAN(QUARTER("right", "100", "100", "")), DM_SCHEMA,
         "a.xml:2: error: Curve: rot is 'right', expected cw or ccw\n"},
        {PLAN(QUARTER("cw", "100", "100", "radius='100.02'")), DM_OK,
         "a.xml:2: warning: Curve: Start and End lie 100.0000 meter and "
         "100.0000 meter from Center, the radius is 100.0200 meter\n"
         "a.xml:2: warning: Curve: the line as computed ends 28.3 mm from its "
         "End\n"},
        {PLAN(QUARTER("cw", "100", "100", "radius='101'")), DM_INCONSISTENT,
         "a.xml:2: error: Curve: Start and End lie 100.0000 meter and 100.0000 "
         "meter from Center, the radius is 101.0000 meter\n"},
        {PLAN(QUARTER("cw", "100", "100", "radius='0.5'")), DM_RANGE,
         "a.xml:2: error: Curve: radius is 0.5 meter, expected 1 to 1000000 "
         "m\n"},
        {PLAN(QUARTER("cw", "0.5", "0.5", "")), DM_RANGE,
         "a.xml:2: error: Curve: its points give a radius of 0.5000 meter, "
         "expected 1 to 1000000 m\n"},
        {PLAN(QUARTER("cw", "100", "100", "length='471.23889804'")),
         DM_INCONSISTENT,
         "a.xml:2: error: Curve: length is stated as 471.2389 meter, its "
         "points give 157.0796 meter\n"},
        {PLAN(QUARTER("cw", "100", "100", "delta='1.5'")), DM_OK,
         "a.xml:2: warning: Curve: delta is stated as 85.9437 deg, its points "
         "give 90.0000 deg, which is used\n"},
        {PLAN("<Curve rot='cw'><Start>0 0</Start><End>1 1</End></Curve>\n"),
         DM_SCHEMA, "a.xml:2: error: Curve: its Center is missing\n"},
    };

    (void)state;
    ASSERT_EACH(cases);
}

static void bad_spirals_are_refused(void **state)
{
    static const refusal cases[] = {
        {SPIRAL("spiType='bloss' length='100' radiusEnd='300'", PI_AT),
         DM_UNSUPPORTED,
         "a.xml:2: error: Spiral: spiType is 'bloss', only clothoid is read\n"},
        {SPIRAL("length='100' radiusEnd='300'", PI_AT), DM_UNSUPPORTED,
         "a.xml:2: error: Spiral: spiType is '', only clothoid is read\n"},
        {SPIRAL("spiType='clothoid' radiusEnd='300'", PI_AT), DM_SCHEMA,
         "a.xml:2: error: Spiral: attribute 'length' is missing\n"},
        {SPIRAL("spiType='clothoid' length='100'", PI_AT), DM_GEOMETRY,
         "a.xml:2: error: Spiral: both ends are straight, one needs a "
         "radius\n"},
        {SPIRAL("spiType='clothoid' length='100' radiusEnd='-300'", PI_AT),
         DM_RANGE,
         "a.xml:2: error: Spiral: radiusEnd is -300 meter, expected 1 to "
         "1000000 m\n"},
        {SPIRAL("spiType='clothoid' length='100' radiusEnd='none'", PI_AT),
         DM_SYNTAX,
         "a.xml:2: error: Spiral: attribute 'radiusEnd': 'none' is not a "
         "number\n"},
        {SPIRAL("spiType='clothoid' length='100' radiusEnd='300'", ""),
         DM_SCHEMA, "a.xml:2: error: Spiral: its PI is missing\n"},
        {SPIRAL("spiType='clothoid' length='100' radiusEnd='300'",
                "<PI>0 0</PI>"),
         DM_GEOMETRY,
         "a.xml:2: error: Spiral: its PI is its Start or its End, the "
         "direction is not known\n"},
        {SPIRAL("spiType='clothoid' length='100' radiusEnd='150'", PI_AT),
         DM_INCONSISTENT,
         "a.xml:2: error: Spiral: turns right by 19.0986 deg by its length and "
         "radii, by 9.5493 deg by its PI\n"},
        {SPIRAL("spiType='clothoid' length='100' radiusEnd='299'", PI_AT),
         DM_OK,
         "a.xml:2: warning: Spiral: turns right by 9.5812 deg by its length "
         "and radii, by 9.5493 deg by its PI\n"
         "a.xml:2: warning: Spiral: the line as computed ends 18.6 mm from its "
         "End\n"},
        {SPIRAL("spiType='clothoid' length='100' radiusEnd='10'", PI_AT),
         DM_UNSUPPORTED,
         "a.xml:2: error: Spiral: turns by 286.4789 deg, at most 170 deg are "
         "read\n"},
        {SPIRAL("spiType='clothoid' length='100' radiusEnd='300' theta='0.2'",
                PI_AT),
         DM_OK,
         "a.xml:2: warning: Spiral: theta is stated as 11.4592 deg, length and "
         "radii give 9.5493 deg, which is used\n"},
    };

    (void)state;
    ASSERT_EACH(cases);
}

static void other_elements_are_refused(void **state)
{
    static const refusal cases[] = {
        {PLAN(LINE "<IrregularLine/>\n<Chain>1 2</Chain>\n"), DM_UNSUPPORTED,
         "a.xml:3: error: IrregularLine: not read; only Line, Curve and Spiral "
         "are\n"
         "a.xml:4: error: Chain: not read; only Line, Curve and Spiral are\n"},
        {PLAN(""), DM_SCHEMA, "a.xml:1: error: CoordGeom: it has no element\n"},
        {FILE_OF("<Alignments><Alignment name='A' staStart='0'><AlignPIs/>"
                 "</Alignment></Alignments>"),
         DM_UNSUPPORTED,
         "a.xml:1: error: Alignment: it has 0 CoordGeom, exactly one is "
         "read\n"},
        {HEAD(METRIC, "") LINE TAIL(""), DM_SCHEMA,
         "a.xml:1: error: Alignment: attribute 'staStart' is missing\n"},
        {HEAD(METRIC, "staStart='0' length='101'") LINE TAIL(""),
         DM_INCONSISTENT,
         "a.xml:1: error: Alignment: length is stated as 101.0000 meter, its "
         "points give 100.0000 meter\n"},
    };

    (void)state;
    ASSERT_EACH(cases);
}

static void bad_profiles_are_refused(void **state)
{
    static const refusal cases[] = {
        {PROFILE("<PVI>0 1</PVI>\n<CircCurve length='9' radius='90'>5 1"
                 "</CircCurve>\n<PVI>9 1</PVI>"),
         DM_UNSUPPORTED,
         "a.xml:5: error: CircCurve: not read; only PVI, ParaCurve and "
         "UnsymParaCurve are\n"},
        {PROFILE("<PVI>0</PVI>"), DM_SYNTAX,
         "a.xml:4: error: PVI: expected a station and an elevation\n"},
        {PROFILE("<PVI>0 1 2</PVI>"), DM_SYNTAX,
         "a.xml:4: error: PVI: expected a station and an elevation\n"},
        {PROFILE("<PVI>0 1e6</PVI>"), DM_RANGE,
         "a.xml:4: error: PVI: its elevation is 1000000 meter, expected "
         "-100000 to 100000 m\n"},
        {PROFILE(""), DM_SCHEMA,
         "a.xml:4: error: ProfAlign: it has no point\n"},
        {PROFILE("<PVI>0 1</PVI>\n<PVI>0 2</PVI>"), DM_GEOMETRY,
         "a.xml:5: error: PVI: its station is not ahead of the point before "
         "it\n"},
        {PROFILE("<PVI>0 1</PVI>\n<ParaCurve length='90'>50 2</ParaCurve>\n"
                 "<ParaCurve length='30'>100 1</ParaCurve>\n<PVI>200 1</PVI>"),
         DM_GEOMETRY,
         "a.xml:6: error: ParaCurve: its parabola begins before the point or "
         "parabola before it ends\n"},
        {PROFILE("<PVI>0 1</PVI>\n<ParaCurve>50 2</ParaCurve>\n<PVI>200 1"
                 "</PVI>"),
         DM_SCHEMA,
         "a.xml:5: error: ParaCurve: attribute 'length' is missing\n"},
        {PROFILE("<PVI>0 1</PVI>\n<ParaCurve length='9'>50 2</ParaCurve>"),
         DM_GEOMETRY,
         "a.xml:5: error: ParaCurve: the first and the last point of a profile "
         "have no curve\n"},
        {PROFILE("<PVI>0 1</PVI>\n<UnsymParaCurve lengthIn='9' lengthOut='8'>"
                 "50 2</UnsymParaCurve>"),
         DM_GEOMETRY,
         "a.xml:5: error: UnsymParaCurve: the first and the last point of a "
         "profile have no curve\n"},
        {PROFILE("<PVI>1000 1</PVI><PVI>1200 1</PVI>"), DM_OK,
         "a.xml:4: warning: PVI: the whole profile lies outside the "
         "alignment's stations\n"},
        {WITH("<Profile><ProfAlign><PVI>0 1</PVI></ProfAlign>\n<ProfAlign/>"
              "</Profile>"),
         DM_UNSUPPORTED,
         "a.xml:5: error: ProfAlign: a second profile of this alignment; leave "
         "only the one that holds\n"},
    };

    (void)state;
    ASSERT_EACH(cases);
}

static void bad_equations_are_refused(void **state)
{
    static const refusal cases[] = {
        {WITH("<StaEquation staAhead='5'/>"), DM_SCHEMA,
         "a.xml:4: error: StaEquation: attribute 'staInternal' is missing\n"},
        {WITH("<StaEquation staInternal='5'/>"), DM_SCHEMA,
         "a.xml:4: error: StaEquation: attribute 'staAhead' is missing\n"},
        {WITH("<StaEquation staInternal='500' staAhead='5'/>"), DM_GEOMETRY,
         "a.xml:4: error: StaEquation: it stands at station 500.0000 meter, "
         "expected one on the alignment and beyond the equation before it\n"},
        {WITH("<StaEquation staInternal='50' staAhead='5'/>\n"
              "<StaEquation staInternal='40' staAhead='5'/>"),
         DM_GEOMETRY,
         "a.xml:5: error: StaEquation: it stands at station 40.0000 meter, "
         "expected one on the alignment and beyond the equation before it\n"},
        {WITH("<StaEquation staInternal='50' staAhead='5' "
              "staIncrement='decreasing'/>"),
         DM_UNSUPPORTED,
         "a.xml:4: error: StaEquation: staIncrement is 'decreasing', only "
         "increasing is read\n"},
        {WITH("<StaEquation staInternal='50' staBack='60' staAhead='5'/>"),
         DM_OK,
         "a.xml:4: warning: StaEquation: staBack is 60.0000 meter, by the "
         "lengths before it 50.0000 meter\n"},
    };

    (void)state;
    ASSERT_EACH(cases);
}

static void unknown_files_are_refused(void **state)
{
    static const refusal cases[] = {
        {"<LandXML/>", DM_UNSUPPORTED,
         "a.xml:1: error: LandXML: its namespace is '', expected "
         "http://www.landxml.org/schema/LandXML-1.2 (or 1.0, 1.1)\n"},
        {"<LandXML xmlns='http://www.landxml.org/schema/LandXML-2.0'/>",
         DM_UNSUPPORTED,
         "a.xml:1: error: LandXML: its namespace is "
         "'http://www.landxml.org/schema/LandXML-2.0', expected "
         "http://www.landxml.org/schema/LandXML-1.2 (or 1.0, 1.1)\n"},
        {"<LandXML xmlns='http://www.landxml.org/schema/LandXML-1.23'/>",
         DM_UNSUPPORTED,
         "a.xml:1: error: LandXML: its namespace is "
         "'http://www.landxml.org/schema/LandXML-1.23', expected "
         "http://www.landxml.org/schema/LandXML-1.2 (or 1.0, 1.1)\n"},
        {"<bridge/>", DM_SCHEMA,
         "a.xml:1: error: the root element is 'bridge', expected 'LandXML'\n"},
        {"", DM_SYNTAX,
         "a.xml: error: an empty file, expected a 'LandXML' document\n"},
        {"<!DOCTYPE LandXML [<!ENTITY a 'b'>]><LandXML>&a;</LandXML>",
         DM_SYNTAX,
         "a.xml:1: error: a document type declaration (DOCTYPE) is not "
         "allowed; remove it and all entities\n"},
        {"<LandXML" SPACE "><Alignments/></LandXML>", DM_SCHEMA,
         "a.xml:1: error: LandXML: Units with Metric or Imperial is missing: "
         "the unit of length is not known\n"
         "a.xml:1: error: LandXML: it holds no alignment\n"},
        {HEAD("<Units><Imperial linearUnit='yard'/></Units>", "staStart='0'")
             LINE TAIL(""),
         DM_SCHEMA,
         "a.xml:1: error: Imperial: linearUnit is 'yard', expected meter, "
         "millimeter, centimeter, kilometer, foot, USSurveyFoot, inch or "
         "mile\n"},
        {HEAD(
             "<Units><Metric linearUnit='meter' directionUnit='mils'/></Units>",
             "staStart='0'") LINE TAIL(""),
         DM_SCHEMA,
         "a.xml:1: error: Metric: directionUnit is 'mils', expected radians, "
         "grads, decimal degrees or decimal dd.mm.ss\n"},
    };

    (void)state;
    ASSERT_EACH(cases);
}

static void values_are_shown_in_the_unit_of_the_file(void **state)
{
    (void)state;
    assert_said(HEAD("<Units><Imperial linearUnit='foot'/></Units>",
                     "staStart='0'") "<Line length='101'><Start>0 0</Start>"
                                     "<End>100 0</End></Line>" TAIL(""),
                DM_INCONSISTENT,
                "a.xml:2: error: Line: length is stated as 101.0000 foot, its "
                "points give 100.0000 foot\n");
}

static dm_status read_anew(void *user)
{
    dm_arena *arena = dm_arena_new();
    dm_landxml *line = NULL;
    dm_status status = DM_NOMEM;

    if (arena)
        status = dm_landxml_read(user, NULL, NULL, arena, NULL, &line);
    dm_arena_free(arena);
    return status;
}

static void memory_that_runs_out_is_a_status(void **state)
{
    char path[] = DM_TEST_GEOMETRY "/reference/curved_line.landxml.xml";

    (void)state;
    assert_true(allocfail_each(read_anew, path) >= 3);
}

static void a_file_that_is_not_there_is_said(void **state)
{
    dm_arena *arena = dm_arena_new();
    dm_landxml *line = NULL;
    said heard;

    (void)state;
    said_init(&heard);
    assert_int_equal(dm_landxml_read("/nowhere/a.xml", NULL, NULL, arena,
                                     &heard.diag, &line),
                     DM_IO);
    assert_null(line);
    assert_int_equal(heard.diag.errors, 1);
    dm_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gaps_and_kinks_are_named_once),
        cmocka_unit_test(bad_lines_are_refused),
        cmocka_unit_test(bad_curves_are_refused),
        cmocka_unit_test(bad_spirals_are_refused),
        cmocka_unit_test(other_elements_are_refused),
        cmocka_unit_test(bad_profiles_are_refused),
        cmocka_unit_test(bad_equations_are_refused),
        cmocka_unit_test(unknown_files_are_refused),
        cmocka_unit_test(values_are_shown_in_the_unit_of_the_file),
        cmocka_unit_test(memory_that_runs_out_is_a_status),
        cmocka_unit_test(a_file_that_is_not_there_is_said),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
