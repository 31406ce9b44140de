/* SPDX-License-Identifier: MIT
 * Each rule of practice just inside and just outside its bound, by edits of one
 * sound bridge; data/wrong has the plain violations. The bounds are those of
 * docs/geometry.md; where a number follows from the drawing, the comment says
 * how. */
#include "allocfail.h"
#include "model_text.h"

#define BRIDGE DM_TEST_DATA "/wrong/right_straight.xml"

typedef const char *edit[3]; /* from, to, and "2" for the second place */

static void edit_nth(dm_buf *text, const char *const *e)
{
    if (!e[2]) {
        text_edit(text, e[0], e[1]);
        return;
    }
    /* The first place is hidden while the second is edited. */
    char hidden[400];
    snprintf(hidden, sizeof hidden, "\001%s", e[0] + 1);
    text_edit(text, e[0], hidden);
    text_edit(text, e[0], e[1]);
    text_edit(text, hidden, e[0]);
}

/* `want` NULL: nothing may be said. Else one message that holds it. */
static void expect(const edit *edits, const char *want)
{
    dm_buf text = text_of_file(BRIDGE);
    dm_model *model = NULL;
    said heard;

    for (; (*edits)[0]; edits++)
        edit_nth(&text, *edits);
    said_init(&heard);
    dm_status status = dm_model_read_text("m", &text, &heard.diag, &model);
    size_t count = heard.diag.errors + heard.diag.warnings;
    if (count != (want ? 1 : 0) || (want && !strstr(heard.text, want)))
        fail_msg("expected '%s', got:\n%s", want ? want : "", heard.text);
    assert_true((status == DM_OK) == (heard.diag.errors == 0));
    dm_model_free(model);
    dm_buf_free(&text);
}

#define SILENT(...) expect((const edit[]){__VA_ARGS__, {NULL}}, NULL)
#define SAYS(want, ...) expect((const edit[]){__VA_ARGS__, {NULL}}, want)

/* The first leg falls by 1 in 10: 5.7106 deg. */
static void plate_within_half_a_degree(void **state)
{
    (void)state;
    SILENT({"normal=\"10 0 -1\"", "normal=\"1 0 -0.09138\""});
    SAYS("with a kink of 0.51 deg",
         {"normal=\"10 0 -1\"", "normal=\"1 0 -0.09102\""});
    SILENT({"normal=\"-10 0 -1\"", "normal=\"-1 0.0086 -0.1\""});
    SAYS("leaves the plate of A2 with a kink of 0.51 deg",
         {"normal=\"-10 0 -1\"", "normal=\"-1 0.0089 -0.1\""});
    SAYS("points away", {"normal=\"-10 0 -1\"", "normal=\"10 0 1\""});
}

/* In one plane the angles alone count; at equal angles d two planes p apart
 * differ by 2 d sin(p/2): 1 deg at 10.05 deg. */
static void pipe_within_a_degree(void **state)
{
    (void)state;
    SILENT({"angle=\"5.71 deg\"", "angle=\"6.7 deg\""});
    SAYS("its pipe is bent to 6.72 deg",
         {"angle=\"5.71 deg\"", "angle=\"6.72 deg\""});
    SAYS("its pipe is bent to 4.70 deg",
         {"angle=\"5.71 deg\"", "angle=\"4.7 deg\""});
    SILENT({"plane=\"12:00\"", "plane=\"10 deg\""});
    SAYS("its pipe towards 10.10 deg",
         {"plane=\"12:00\"", "plane=\"10.1 deg\""});
    SAYS("its pipe towards 349.90 deg",
         {"plane=\"12:00\"", "plane=\"349.9 deg\""});
    SILENT({"angle=\"5.71 deg\" plane=\"12:00\"", "angle=\"5.71 deg\""});
}

/* The fall of 1.6 m takes 5.971 m at 15 deg. */
static void fifteen_degrees_where_no_most_is_stated(void **state)
{
    (void)state;
    SILENT({"id=\"D1\" station=\"17 m\"", "id=\"D1\" station=\"6.98 m\""});
    SAYS("the tendon turns by 15.03 deg at D1",
         {"id=\"D1\" station=\"17 m\"", "id=\"D1\" station=\"6.96 m\""});
    SILENT({"id=\"D1\" station=\"17 m\"", "id=\"D1\" station=\"6.96 m\""},
           {"kind=\"flared\" radius=\"3 m\"",
            "kind=\"flared\" radius=\"3 m\" angle-max=\"15.1 deg\""});
}

/* The tangent falls by 1 in 10: a normal -1 t 0 is 45 deg off at t = 0.99. */
static void face_within_45_degrees(void **state)
{
#define FACE(t)                                                                \
    {"id=\"D1b\" side=\"back\"",                                               \
     "id=\"D1b\" normal=\"-1 " t " 0\" side=\"back\"", "2"}
    (void)state;
    SILENT(FACE("0.98"));
    SAYS("the plane of D1b stands 45.28 deg off square", FACE("1"));
#undef FACE
}

static void faces_alike_within_three_times(void **state)
{
    (void)state;
    SILENT({"id=\"D2a\" side=\"ahead\" offset=\"450 mm\"",
            "id=\"D2a\" side=\"ahead\" offset=\"1350 mm\""});
    SAYS("450 mm and 1351 mm from the same point",
         {"id=\"D2a\" side=\"ahead\" offset=\"450 mm\"",
          "id=\"D2a\" side=\"ahead\" offset=\"1351 mm\""});
}

/* The tangent of the arc, 3 tan(5.7106 / 2 deg), is 149.6 mm; the face stands
 * at 450 mm on a level leg. A flared deviator lets the duct through. */
static void readable_end_outside_the_pipe(void **state)
{
#define READABLE(mm)                                                           \
    {"<readable side=\"ahead\" offset=\"120 mm\"/>",                           \
     "<readable side=\"ahead\" offset=\"" mm " mm\"/>"}
    (void)state;
    SILENT(READABLE("-300"));
    SAYS("the readable end lies inside the arc of D1", READABLE("-301"));
    SILENT(READABLE("-301"),
           {"id=\"PIPE\" kind=\"pipe\"", "id=\"PIPE\" kind=\"flared\""},
           {" angle=\"5.71 deg\" plane=\"12:00\"", ""},
           {" angle=\"5.71 deg\" plane=\"12:00\"", ""});
#undef READABLE
}

static void strands_within_120_degrees_of_the_inside(void **state)
{
    (void)state;
    SILENT({"clock=\"12:00\" u=", "clock=\"119 deg\" u="});
    SAYS("the strands lie at clock angle 121.00 deg in the bend of D1",
         {"clock=\"12:00\" u=", "clock=\"121 deg\" u="});
    /* Between bends they may lie anywhere. */
    SILENT({"from=\"15.8 m\" to=\"16.4 m\" clock=\"12:00\"",
            "from=\"20 m\" to=\"25 m\" clock=\"6:00\""});
}

static void fixture_outside_the_concrete(void **state)
{
    (void)state;
    SILENT({"from=\"3 m\" to=\"3.1 m\"", "from=\"0 m\" to=\"0.1 m\""});
    SAYS("C1 lies inside the concrete of D1",
         {"from=\"3 m\" to=\"3.1 m\" ref=\"D1a\"",
          "from=\"16 m\" to=\"16.1 m\""});
}

/* Drawn: 14.95 m of plan at 1 in 10, 15.0246 m, on any line, as the faces are
 * parallel. Uncertainties: tape 3 mm, faces 15 mm each: 3 u = 64.3 mm; with
 * both faces at 1 mm 9.9 mm. */
static void tape_within_three_times_its_uncertainty(void **state)
{
#define TAPE(m) {"value=\"15.02 m\"", "value=\"" m " m\""}
#define FACE_U(id, side)                                                       \
    {                                                                          \
        "id=\"" id "\" side=\"" side "\"",                                     \
            "id=\"" id "\" u=\"1 mm\" side=\"" side "\""                       \
    }
    (void)state;
    SILENT(TAPE("15.088"));
    SAYS("is 65 mm longer than drawn (15.025 m)", TAPE("15.09"));
    SILENT(TAPE("14.961"));
    SAYS("is 66 mm shorter than drawn", TAPE("14.959"));
    SILENT(TAPE("15.034"), FACE_U("A1a", "ahead"), FACE_U("D1b", "back"));
    SAYS("beyond 3 times its uncertainty of 3 mm", TAPE("15.035"),
         FACE_U("A1a", "ahead"), FACE_U("D1b", "back"));
#undef TAPE
#undef FACE_U
}

/* 114.3 mm / 17 = 6.72 mm, less 0.05 mm for a wall given in tenths. */
static void wall_of_a_seventeenth(void **state)
{
    (void)state;
    SILENT({"wall-min=\"6.7 mm\"", "wall-min=\"6.68 mm\""});
    SAYS("duct-type: the outside diameter of D114 is 17.1 times its wall",
         {"wall-min=\"6.7 mm\"", "wall-min=\"6.67 mm\""});
    SAYS("of D114 is 17.6 times its wall",
         {"wall-min=\"6.7 mm\" wall=\"7.0 mm\"", "wall=\"6.5 mm\""});
    SILENT({"wall-min=\"6.7 mm\" wall=\"7.0 mm\" material=\"hdpe\"",
            "wall=\"6.5 mm\" material=\"steel\""});
    /* Nobody uses it. */
    SILENT({"wall=\"8.3 mm\"", "wall=\"4 mm\""});
}

/* The floor lies at 0.1 m, the duct's radius is 57.15 mm; 1 mm is allowed. */
static void duct_inside_its_cell(void **state)
{
#define LOW(z)                                                                 \
    {"height=\"0.3 m\"", "height=\"" z " m\""},                                \
        {"height=\"0.3 m\"", "height=\"" z " m\""}
    (void)state;
    SILENT(LOW("0.157"));
    SAYS("tendon: its duct leaves the room of LEFT through the floor",
         LOW("0.156"));
    /* Beyond the sections nothing is known. */
    SILENT(LOW("-0.3"), {"<section station=\"50 m\" left=\"-2.6 m\"",
                         "<section station=\"0.5 m\" left=\"-2.6 m\""});
    /* In the part around it: a part without sections of its own. */
    SAYS("leaves the room of RIGHT through the left side",
         {"bottom=\"0.1 m\" top=\"2.3 m\"/>\n  </part>\n  <tendon",
          "bottom=\"0.1 m\" top=\"2.3 m\"/>\n  <part id=\"SUB\" "
          "kind=\"other\"/></part>\n  <tendon"},
         {"id=\"L2\" part=\"LEFT\"", "id=\"L2\" part=\"SUB\""});
#undef LOW
}

/* Two tendons in one plane, side by side: 114.3 mm between axes touch. */
static void ducts_beside_each_other(void **state)
{
#define BESIDE(y)                                                              \
    {"offset=\"-0.5 m\"", "offset=\"-" y " m\""},                              \
        {"offset=\"-0.5 m\"", "offset=\"-" y " m\""},                          \
        {"offset=\"-0.5 m\"", "offset=\"-" y " m\""},                          \
        {"offset=\"-0.5 m\"", "offset=\"-" y " m\""}
    (void)state;
    SILENT(BESIDE("2.1866"));
    SAYS("m:55: warning: tendon: its duct at station", BESIDE("2.1868"));
    /* Less than a radius between the axes cannot be meant. */
    SAYS("warning: tendon: its duct at station", BESIDE("2.2428"));
    SAYS("m:55: error: tendon: its axis at station", BESIDE("2.2429"));
#undef BESIDE
}

/* A tendon that goes on where another ends stands at its very point. */
static void coupled_tendons_may_meet(void **state)
{
#define ON(c)                                                                  \
    {"<line length=\"50 m\"/>", "<line length=\"100 m\"/>"},                   \
        {"id=\"A2\" x=\"49 m\"", "id=\"A2\" kind=\"" c "\" x=\"49 m\""},       \
        {"id=\"A1\" station=\"1 m\" offset=\"-0.5 m\"",                        \
         "id=\"A1\" kind=\"" c "\" station=\"49 m\" offset=\"-2.3 m\""},       \
        {"station=\"17 m\" offset=\"-0.5 m\"",                                 \
         "station=\"65 m\" offset=\"-2.3 m\""},                                \
        {"station=\"33 m\" offset=\"-0.5 m\"",                                 \
         "station=\"81 m\" offset=\"-2.3 m\""},                                \
        {"station=\"49 m\" offset=\"-0.5 m\"",                                 \
         "station=\"97 m\" offset=\"-2.3 m\""}
    (void)state;
    SILENT(ON("coupler"));
    SAYS("comes within 0 mm of that of L1", ON("fixed"));
#undef ON
}

/* A free length that sags is an arc, but no bend. */
static void diameter_changes_in_a_free_length(void **state)
{
#define DUCTS(at)                                                              \
    {"<tendon id=\"L2\"",                                                      \
     "<tendon weight=\"33 kg/m\" force=\"2900 kN\" id=\"L2\""},                \
        {"<duct-length duct-type=\"D114\"/>",                                  \
         "<duct-length duct-type=\"D114\" to=\"" at " m\"/><duct-length "      \
         "duct-type=\"D140\" from=\"" at " m\"/>",                             \
         "2"}
    (void)state;
    SILENT(DUCTS("8"));
    SAYS("the outside diameter changes inside a bend", DUCTS("16.1"));
#undef DUCTS
}

static void names_that_two_things_have(void **state)
{
    (void)state;
    SAYS("m:31: error: external-id: the ifc-guid '0000000000000000000001' is "
         "that of the thing of line 5 too",
         {"value=\"0000000000000000000002\"",
          "value=\"0000000000000000000001\""});
    /* Other schemes are their owners' affair. */
    SILENT({"scheme=\"ifc-guid\" value=\"0000000000000000000001\"",
            "scheme=\"owner\" value=\"7\""},
           {"scheme=\"ifc-guid\" value=\"0000000000000000000002\"",
            "scheme=\"owner\" value=\"7\""});
    SAYS("the tendon of line 30 stands 'outer web' of the same part too",
         {"where=\"inner web\"", "where=\"outer web\""});
    /* In another part it is another place. */
    SILENT({"part=\"LEFT\" where=\"inner web\"",
            "part=\"RIGHT\" where=\"outer web\""},
           {"offset=\"-0.5 m\"", "offset=\"0.5 m\""},
           {"offset=\"-0.5 m\"", "offset=\"0.5 m\""},
           {"offset=\"-0.5 m\"", "offset=\"0.5 m\""},
           {"offset=\"-0.5 m\"", "offset=\"0.5 m\""});
    SAYS("has the field-tag '1' too", {"scheme=\"field-tag\" value=\"2\"",
                                       "scheme=\"field-tag\" value=\"1\""});
}

static dm_status read_once(void *user)
{
    dm_model *model = NULL;
    (void)user;
    dm_status status = dm_model_read(BRIDGE, NULL, &model);
    dm_model_free(model);
    return status;
}

static void without_memory_nothing_is_read(void **state)
{
    (void)state;
    assert_true(allocfail_each(read_once, NULL) >= 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(plate_within_half_a_degree),
        cmocka_unit_test(pipe_within_a_degree),
        cmocka_unit_test(fifteen_degrees_where_no_most_is_stated),
        cmocka_unit_test(face_within_45_degrees),
        cmocka_unit_test(faces_alike_within_three_times),
        cmocka_unit_test(readable_end_outside_the_pipe),
        cmocka_unit_test(strands_within_120_degrees_of_the_inside),
        cmocka_unit_test(fixture_outside_the_concrete),
        cmocka_unit_test(tape_within_three_times_its_uncertainty),
        cmocka_unit_test(wall_of_a_seventeenth),
        cmocka_unit_test(duct_inside_its_cell),
        cmocka_unit_test(ducts_beside_each_other),
        cmocka_unit_test(coupled_tendons_may_meet),
        cmocka_unit_test(diameter_changes_in_a_free_length),
        cmocka_unit_test(names_that_two_things_have),
        cmocka_unit_test(without_memory_nothing_is_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
