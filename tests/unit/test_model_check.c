/* SPDX-License-Identifier: MIT
 * Each rule of the model's checks just inside and just outside its bound, and
 * that one fault says one thing. data/bad has the plain violations. */
#include "model_text.h"

#include <stdlib.h>

#define BRIDGE DM_TEST_DATA "/two_bends_bridge.xml"
#define FLARED DM_TEST_DATA "/bend_bridge.xml"

/* Edits end with NULL. The messages without the file's name must be `want`. */
static void expect(const char *file, const char *const (*edits)[2],
                   const char *want)
{
    dm_buf text = text_of_file(file);
    dm_model *model = NULL;
    said heard;

    for (; (*edits)[0]; edits++)
        text_edit(&text, (*edits)[0], (*edits)[1]);
    said_init(&heard);
    dm_status status = dm_model_read_text("m", &text, &heard.diag, &model);
    assert_string_equal(heard.text, want);
    assert_true((status == DM_OK) == (heard.diag.errors == 0));
    assert_true((status == DM_OK) == (model != NULL));
    dm_model_free(model);
    dm_buf_free(&text);
}

#define EXPECT(file, want, ...)                                                \
    expect(file, (const char *const[][2]){__VA_ARGS__, {NULL, NULL}}, want)

static void radius_at_its_least_is_right(void **state)
{
    (void)state;
    EXPECT(BRIDGE, "",
           {"<deviator id=\"D1\"", "<deviator id=\"D1\" radius=\"2.5 m\""});
    EXPECT(BRIDGE,
           "m:17: error: deviator: the radius is below the least of type "
           "PIPE3, 2.500 m\n",
           {"<deviator id=\"D1\"", "<deviator id=\"D1\" radius=\"2.499 m\""});
    EXPECT(BRIDGE, "m:11: error: deviator-type: radius is below radius-min\n",
           {"radius-min=\"2.5 m\"", "radius-min=\"3.001 m\""},
           {"<deviator id=\"D1\"", "<deviator id=\"D1\" radius=\"3.1 m\""},
           {"<deviator id=\"D2\"", "<deviator id=\"D2\" radius=\"3.1 m\""});
}

/* The deflections are 7.49500330921 and 7.44068397479 deg: FM 5-233, chapter
 * 3, computed independently with mpmath. */
static void deflection_at_its_most_is_right(void **state)
{
    (void)state;
    EXPECT(BRIDGE, "", {"angle-max=\"12 deg\"", "angle-max=\"7.496 deg\""});
    EXPECT(BRIDGE,
           "m:17: error: deviator: the tendon turns by 7.50 deg at D1, the "
           "most of type PIPE3 is 7.49 deg\n",
           {"angle-max=\"12 deg\"", "angle-max=\"7.494 deg\""});
    EXPECT(BRIDGE, "", {" angle-max=\"12 deg\"", ""});
}

/* Deflections of 7.49500330921 and 3.59809062540 deg, 1 m apart: the tangent
 * lengths R tan(d/2) meet at R = 10.3189315062 m (FM 5-233, chapter 3;
 * computed independently in Python). Faces lie inside such long arcs. */
static void tangents_may_meet_but_not_overlap(void **state)
{
#define NEAR(radius)                                                           \
    {"radius=\"3 m\"", "radius=\"" radius "\""},                               \
        {"\"D2\" x=\"27 m\"", "\"D2\" x=\"13 m\""},                            \
        {"\"D1a\" side=\"ahead\" offset=\"0.5",                                \
         "\"D1a\" side=\"ahead\" offset=\"0.2"},                               \
        {"\"D2b\" side=\"back\" offset=\"0.5",                                 \
         "\"D2b\" side=\"back\" offset=\"0.2"}
#define INSIDE(line, face, deviator)                                           \
    "m:" line ": warning: face: " face " lies inside the arc of " deviator     \
    ": the duct bends outside the concrete\n"
    (void)state;
    EXPECT(BRIDGE,
           INSIDE("18", "D1b", "D1") INSIDE("19", "D1a", "D1")
               INSIDE("24", "D2b", "D2"),
           NEAR("10.3189 m"));
    EXPECT(BRIDGE,
           "m:23: error: deviator: the arcs leave no room between D1 and D2: "
           "their tangents overlap\n",
           NEAR("10.3190 m"));
#undef NEAR
#undef INSIDE
}

static void duct_area_is_judged_at_twice_and_at_once_the_strands(void **state)
{
    /* Bore 90 mm: 6361.725 mm2. Strand areas for ratios about 2 and 1, with
     * 19 strands: 167.413 and 334.827 mm2. FP-96 section 553(a). */
    (void)state;
#define BORE                                                                   \
    {"wall-min=\"6.724 mm\" wall=\"7.0 mm\" wall-max=\"7.6 mm\"",              \
     "wall=\"12.15 mm\""}
    EXPECT(BRIDGE, "", BORE, {"140 mm2", "167.40 mm2"});
    EXPECT(BRIDGE,
           "m:12: warning: tendon: duct type IPS4-DR17 has 2.00 times the "
           "area of the strands, practice is 2.0 or more (FP-96 section "
           "553(a))\n",
           BORE, {"140 mm2", "167.42 mm2"});
    EXPECT(BRIDGE,
           "m:12: warning: tendon: duct type IPS4-DR17 has 1.00 times the "
           "area of the strands, practice is 2.0 or more (FP-96 section "
           "553(a))\n",
           BORE, {"140 mm2", "334.82 mm2"});
    EXPECT(BRIDGE,
           "m:12: error: tendon: 19 strands do not fit into duct type "
           "IPS4-DR17 (area ratio 1.00)\n",
           BORE, {"140 mm2", "334.84 mm2"});
    /* Nothing is known of the strands: nothing is said. */
    EXPECT(BRIDGE, "", BORE, {"140 mm2", "334.84 mm2"},
           {" strands=\"19\"", ""});
#undef BORE
}

static void equal_walls_are_in_order(void **state)
{
    (void)state;
    EXPECT(BRIDGE, "", {"wall-min=\"6.724 mm\"", "wall-min=\"7 mm\""},
           {"wall-max=\"7.6 mm\"", "wall-max=\"7.00 mm\""});
    EXPECT(BRIDGE,
           "m:9: error: duct-type: expected wall-min <= wall <= wall-max\n",
           {"wall-max=\"7.6 mm\"", "wall-max=\"6.999 mm\""});
    EXPECT(BRIDGE,
           "m:9: error: duct-type: the wall is at least half the outside "
           "diameter\n",
           {"wall-min=\"6.724 mm\" wall=\"7.0 mm\" wall-max=\"7.6 mm\"",
            "wall=\"57.15 mm\""});
}

/* The arc begins 0.3 m along the leg from the corner: a plumb face 0.2 m off
 * lies inside it, one 0.3 m off outside. */
static void face_inside_the_arc_is_warned_of(void **state)
{
    (void)state;
    EXPECT(FLARED, "",
           {"<face id=\"Da\" side=\"ahead\" offset=\"0.4 m\"/>",
            "<face id=\"Da\" side=\"ahead\" offset=\"0.3 m\"/>"});
    EXPECT(FLARED,
           "m:16: warning: face: Da lies inside the arc of D: the duct "
           "bends outside the concrete\n",
           {"<face id=\"Da\" side=\"ahead\" offset=\"0.4 m\"/>",
            "<face id=\"Da\" side=\"ahead\" offset=\"0.2 m\"/>"});
}

/* From the face, 0.4 m off in plan, the middle of the arc is 0.4003 m away
 * along the duct. */
static void readable_end_may_reach_the_middle_of_its_deviator(void **state)
{
    (void)state;
    EXPECT(FLARED, "", {"offset=\"-50 mm\"", "offset=\"-400 mm\""});
    EXPECT(FLARED,
           "m:17: error: readable: the readable end lies on the other side of "
           "D\n",
           {"offset=\"-50 mm\"", "offset=\"-402 mm\""});
}

static void order_of_anchorages_is_against_the_stated_direction(void **state)
{
    (void)state;
    EXPECT(BRIDGE,
           "m:12: error: tendon: its anchorages stand in the order of "
           "decreasing bridge station, expected increasing\n",
           {"bearing=\"90 deg\"", "bearing=\"270 deg\""});
    EXPECT(BRIDGE, "", {"bearing=\"90 deg\"", "bearing=\"50 deg\""});
}

static void ducts_follow_each_other(void **state)
{
    (void)state;
    EXPECT(BRIDGE, "",
           {"<duct-length duct-type=\"IPS4-DR17\"/>",
            "<duct-length duct-type=\"IPS4-DR17\" from=\"0 m\" to=\"9 m\"/>"
            "<duct-length duct-type=\"IPS4-DR17\" from=\"9 m\" "
            "to=\"40.2127 m\"/>"});
    EXPECT(BRIDGE,
           "m:33: error: duct-length: duct lengths must follow each other "
           "over the whole tendon without gap or overlap\n",
           {"<duct-length duct-type=\"IPS4-DR17\"/>",
            "<duct-length duct-type=\"IPS4-DR17\" from=\"0 m\" to=\"9 m\"/>"
            "<duct-length duct-type=\"IPS4-DR17\" from=\"9.002 m\"/>"});
    EXPECT(BRIDGE,
           "m:33: error: duct-length: duct lengths must follow each other "
           "over the whole tendon without gap or overlap\n",
           {"<duct-length duct-type=\"IPS4-DR17\"/>",
            "<duct-length duct-type=\"IPS4-DR17\" to=\"9 m\"/>"
            "<duct-length duct-type=\"IPS4-DR17\" from=\"8.998 m\"/>"});
}

/* D1's arc lies from 11.9069 to 12.2993 m (C3 of tests/vectors). */
static void a_change_of_diameter_is_warned_of_in_a_bend_only(void **state)
{
#define TWO_SIZES(at)                                                          \
    {"<strand-type", "<duct-type id=\"D125\" od=\"125 mm\" wall=\"7.4 mm\" "   \
                     "material=\"hdpe\"/>\n<strand-type"},                     \
        {"<duct-length duct-type=\"IPS4-DR17\"/>",                             \
         "<duct-length duct-type=\"IPS4-DR17\" to=\"" at "\"/>"                \
         "<duct-length duct-type=\"D125\"/>"}
    (void)state;
    EXPECT(BRIDGE, "", TWO_SIZES("9 m"));
    EXPECT(BRIDGE,
           "m:34: warning: duct-length: the outside diameter changes inside a "
           "bend: the outside path takes the one at its middle\n",
           TWO_SIZES("12 m"));
}

/* Within 10 deg of plumb there is no crown: slopes of 79 and 81 deg. */
static void steep_duct_wants_a_datum(void **state)
{
#define STEEP(z)                                                               \
    {"x=\"12 m\" y=\"4 m\" z=\"3 m\"", "x=\"3 m\" y=\"0 m\" z=\"" z "\""},     \
        {"side=\"ahead\" offset=\"0.5 m\"",                                    \
         "side=\"ahead\" offset=\"0.4 m\" normal=\"0 0 1\""},                  \
    {                                                                          \
        "side=\"back\"", "side=\"back\" normal=\"0 0 -1\""                     \
    }
    static const char file[] = DM_TEST_DATA "/straight_bridge.xml";

    (void)state;
    EXPECT(file, "", STEEP("15.43 m"));
    EXPECT(file,
           "m:8: error: tendon: the duct is within 10 deg of vertical, where "
           "it has no crown: give a clock-datum\n",
           STEEP("18.94 m"));
    EXPECT(file, "", STEEP("18.94 m"),
           {"id=\"S1\"", "id=\"S1\" clock-datum=\"1 0 0\""});
    EXPECT(file, "m:8: error: tendon: clock-datum is zero\n", STEEP("18.94 m"),
           {"id=\"S1\"", "id=\"S1\" clock-datum=\"0 0 0\""});
#undef STEEP
}

static void fixture_ends_with_the_tendon(void **state)
{
    (void)state;
    EXPECT(BRIDGE, "",
           {"from=\"3 m\" to=\"3.1 m\" ref=\"D1a\"",
            "from=\"0 m\" to=\"40.2126 m\""});
    EXPECT(BRIDGE,
           "m:34: error: fixture: fixture C1 lies beyond the end of the "
           "tendon\n",
           {"from=\"3 m\" to=\"3.1 m\" ref=\"D1a\"",
            "from=\"0 m\" to=\"40.2128 m\""});
    /* Outward of a back face lies the first anchorage. */
    EXPECT(BRIDGE,
           "m:35: error: fixture: fixture C0 lies beyond the end of the "
           "tendon\n",
           {"from=\"1 m\" to=\"1.2 m\" ref=\"D1b\"",
            "from=\"1 m\" to=\"11.7 m\" ref=\"D1b\""});
}

/* Faults of one tendon do not hide those of the next; places of both. */
static void every_tendon_is_looked_at(void **state)
{
    (void)state;
    EXPECT(BRIDGE,
           "m:17: error: deviator: there is no deviator type 'PIPE4'\n"
           "m:39: error: duct-length: there is no duct type 'D75'\n",
           {"<deviator id=\"D1\" x=\"12 m\" y=\"0.3 m\" z=\"0.45 m\" "
            "type=\"PIPE3\"",
            "<deviator id=\"D1\" x=\"12 m\" y=\"0.3 m\" z=\"0.45 m\" "
            "type=\"PIPE4\""},
           {"  </tendon>",
            "  </tendon>\n  <tendon id=\"T2\">"
            "<anchorage id=\"A\" x=\"0 m\" y=\"1 m\" z=\"2 m\"/>"
            "<anchorage id=\"B\" x=\"9 m\" y=\"1 m\" z=\"2 m\"/>\n\n"
            "<duct-length duct-type=\"D75\"/></tendon>"});
}

static void more_things_than_any_bridge_has_are_refused(void **state)
{
    dm_buf types = {0};
    static char text[200000];

    (void)state;
    for (int i = 0; i < 1001; i++)
        dm_buf_printf(&types,
                      "<strand-type id=\"s%d\" diameter=\"15 mm\" area=\"140 "
                      "mm2\"/>\n",
                      i);
    assert_true(types.length < sizeof text);
    memcpy(text, types.data, types.length + 1);
    dm_buf_free(&types);
    /* Types that were not read are not called missing. */
    EXPECT(BRIDGE, "m:7: error: bridge: more than 1000 strand types\n",
           {"  <strand-type id=\"S06\"", text},
           {" diameter=\"0.6 in\" area=\"140 mm2\"/>\n", ""});
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(radius_at_its_least_is_right),
        cmocka_unit_test(deflection_at_its_most_is_right),
        cmocka_unit_test(tangents_may_meet_but_not_overlap),
        cmocka_unit_test(duct_area_is_judged_at_twice_and_at_once_the_strands),
        cmocka_unit_test(equal_walls_are_in_order),
        cmocka_unit_test(face_inside_the_arc_is_warned_of),
        cmocka_unit_test(readable_end_may_reach_the_middle_of_its_deviator),
        cmocka_unit_test(order_of_anchorages_is_against_the_stated_direction),
        cmocka_unit_test(ducts_follow_each_other),
        cmocka_unit_test(a_change_of_diameter_is_warned_of_in_a_bend_only),
        cmocka_unit_test(steep_duct_wants_a_datum),
        cmocka_unit_test(fixture_ends_with_the_tendon),
        cmocka_unit_test(every_tendon_is_looked_at),
        cmocka_unit_test(more_things_than_any_bridge_has_are_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
