/* SPDX-License-Identifier: MIT
 * What must hold of any bridge that is read: closed forms, and what may
 * change nothing (units, place, the length of a normal). */
#include "model_text.h"

#include <stdlib.h>

#define STRAIGHT DM_TEST_DATA "/straight_bridge.xml"
#define BEND DM_TEST_DATA "/bend_bridge.xml"
#define TWO DM_TEST_DATA "/two_bends_bridge.xml"

static const double PI = 3.14159265358979323846;

static void assert_point(dm_vec3 actual, double x, double y, double z,
                         double tolerance)
{
    assert_near(actual.x, x, tolerance);
    assert_near(actual.y, y, tolerance);
    assert_near(actual.z, z, tolerance);
}

/* ---- closed forms ---- */

/* Legs 12, 4, 3: length 13 by Pythagoras. A plane square to the horizontal
 * direction, 0.5 m off, is crossed 0.5 / cos(slope) along the duct. */
static void straight_tendon_has_its_closed_form(void **state)
{
    dm_model *m = model_of_file(STRAIGHT);
    const dm_tendon *t = &m->tendons[0];
    double along = 0.5 * 13.0 / sqrt(160.0);

    (void)state;
    assert_near(t->line.length, 13.0, 1e-12);
    assert_int_equal(t->line.count, 1);
    assert_point(m->direction, 3.0 / sqrt(10.0), 1.0 / sqrt(10.0), 0.0, 1e-15);
    const dm_face *low = face_named(t, "LOWf"), *high = face_named(t, "HIGHf");
    assert_near(low->t, along, 1e-9);
    assert_near(high->t, 13.0 - along, 1e-9);
    assert_true(low->normal_assumed && low->touchable);
    assert_near(low->u, 0.0, 0.0);
    assert_point(low->normal, 3.0 / sqrt(10.0), 1.0 / sqrt(10.0), 0.0, 1e-15);
    assert_point(high->normal, -3.0 / sqrt(10.0), -1.0 / sqrt(10.0), 0.0,
                 1e-15);
    assert_near(t->supports[0].readable_ahead, along, 1e-9);
    assert_near(t->supports[1].readable_back, 13.0 - along, 1e-9);
    assert_true(isnan(t->supports[0].readable_back));
    assert_true(isnan(t->supports[1].readable_ahead));
    assert_int_equal(t->basis, DM_BASIS_ASSUMED);
    dm_model_free(m);
}

/* tan(d/2) = 0.9 / 12, R = 4 m: T = 0.3 m, L = 8 atan(0.075); US Army
 * FM 5-233, chapter 3. */
static void bend_has_its_closed_form(void **state)
{
    dm_model *m = model_of_file(BEND);
    const dm_tendon *t = &m->tendons[0];
    double leg = sqrt(12.0 * 12.0 + 0.9 * 0.9), half = atan(0.075);
    double length = 2.0 * (leg - 0.3) + 8.0 * half;

    (void)state;
    assert_near(t->line.length, length, 1e-12);
    const dm_support *d = &t->supports[1];
    assert_near(d->deflection, 2.0 * half, 1e-12);
    assert_near(d->radius, 4.0, 0.0);
    assert_near(d->t, 0.5 * length, 1e-12);
    assert_int_equal(d->arc, 1);
    /* The arc's middle lies R (sec(d/2) - 1) above the corner. */
    assert_point(dm_centreline_point(&t->line, d->t), 0.0, 0.0,
                 4.0 * (1.0 / cos(half) - 1.0), 1e-12);
    const dm_face *back = face_named(t, "Db"), *ahead = face_named(t, "Da");
    assert_near(back->t, leg - 0.4 * leg / 12.0, 1e-9);
    assert_near(ahead->t, length - (leg - 0.4 * leg / 12.0), 1e-9);
    assert_int_equal(back->side, DM_SIDE_BACK);
    assert_int_equal(back->support, 1);
    /* Below zero: the sensor reads 50 mm into the bell. */
    assert_near(d->readable_back, back->t + 0.05, 1e-12);
    assert_near(d->readable_ahead, ahead->t, 0.0);
    dm_model_free(m);
}

static void faces_come_by_station_and_point_out_of_the_concrete(void **state)
{
    static const char *const order[] = {"A1f", "D1b", "D1a",
                                        "D2b", "D2a", "A2f"};
    dm_model *m = model_of_file(TWO);
    const dm_tendon *t = &m->tendons[0];

    (void)state;
    assert_int_equal(t->face_count, 6);
    for (size_t i = 0; i < 6; i++) {
        const dm_face *f = &t->faces[i];
        assert_string_equal(f->id, order[i]);
        assert_near(f->normal.x, (double)f->side, 1e-15);
        /* On its plane, and on the free side of its support. */
        dm_vec3 p = dm_centreline_point(&t->line, f->t);
        dm_vec3 off = dm_vec3_sub(p, t->supports[f->support].point);
        assert_near(dm_vec3_dot(off, f->normal), f->offset, 1e-9);
    }
    dm_model_free(m);
}

/* ---- properties ---- */

static void assert_same_stations(const dm_tendon *a, const dm_tendon *b,
                                 double tolerance)
{
    assert_near(a->line.length, b->line.length, tolerance);
    assert_int_equal(a->face_count, b->face_count);
    for (size_t i = 0; i < a->face_count; i++) {
        assert_string_equal(a->faces[i].id, b->faces[i].id);
        assert_near(a->faces[i].t, b->faces[i].t, tolerance);
    }
    for (size_t i = 0; i < a->support_count; i++) {
        assert_near(a->supports[i].t, b->supports[i].t, tolerance);
        assert_near(a->supports[i].deflection, b->supports[i].deflection,
                    tolerance);
    }
    assert_int_equal(a->fixture_count, b->fixture_count);
    for (size_t i = 0; i < a->fixture_count; i++) {
        assert_near(a->fixtures[i].from, b->fixtures[i].from, tolerance);
        assert_near(a->fixtures[i].to, b->fixtures[i].to, tolerance);
    }
}

static void every_unit_gives_the_same_model(void **state)
{
    /* The same lengths: ft 0.3048 m and in 0.0254 m exactly. */
    static const char *const edits[][2] = {
        {"x=\"12 m\"", "x=\"12000 mm\""},
        {"z=\"0.45 m\"", "z=\"450.0 mm\""},
        {"offset=\"0.6 m\"", "offset=\"600 mm\""},
        {"radius=\"3 m\"", "radius=\"9.842519685039370 ft\""},
        {"x=\"27 m\"", "x=\"88.582677165354331 ft\""},
        {"y=\"-0.1 m\"", "y=\"-3.937007874015748 in\""},
        {"z=\"2.1 m\"", "z=\"6.889750000000000 us-ft\""},
        {"od=\"4.5 in\"", "od=\"114.3 mm\""},
        {"area=\"140 mm2\"", "area=\"0.000140 m2\""},
    };
    dm_buf text = text_of_file(TWO);
    dm_model *a = model_of_text(&text);

    (void)state;
    for (size_t i = 0; i < sizeof edits / sizeof *edits; i++)
        text_edit(&text, edits[i][0], edits[i][1]);
    dm_model *b = model_of_text(&text);
    assert_same_stations(&a->tendons[0], &b->tendons[0], 1e-12);
    assert_near(a->duct_types[0].od, b->duct_types[0].od, 1e-15);
    assert_near(a->strand_types[0].area, b->strand_types[0].area, 1e-18);
    dm_model_free(a);
    dm_model_free(b);
    dm_buf_free(&text);
}

/* Far from the origin doubles have a spacing of 1 nm. */
static void moving_the_bridge_moves_no_station(void **state)
{
    dm_buf text = text_of_file(TWO);
    dm_model *a = model_of_text(&text);

    (void)state;
    text_edit(&text, "x=\"0 m\" y=\"0 m\" z=\"2 m\"",
              "x=\"500000 m\" y=\"5000000 m\" z=\"102 m\"");
    text_edit(&text, "x=\"12 m\" y=\"0.3 m\" z=\"0.45 m\"",
              "x=\"500012 m\" y=\"5000000.3 m\" z=\"100.45 m\"");
    text_edit(&text, "x=\"27 m\" y=\"0.3 m\" z=\"0.45 m\"",
              "x=\"500027 m\" y=\"5000000.3 m\" z=\"100.45 m\"");
    text_edit(&text, "x=\"40 m\" y=\"-0.1 m\" z=\"2.1 m\"",
              "x=\"500040 m\" y=\"4999999.9 m\" z=\"102.1 m\"");
    dm_model *b = model_of_text(&text);
    assert_same_stations(&a->tendons[0], &b->tendons[0], 1e-8);
    dm_model_free(a);
    dm_model_free(b);
    dm_buf_free(&text);
}

static void default_direction_is_first_to_last_point(void **state)
{
    dm_buf text = text_of_file(TWO);

    (void)state;
    text_edit(&text, "<direction bearing=\"90 deg\"/>", "");
    dm_model *m = model_of_text(&text);
    double n = hypot(40.0, 0.1);
    assert_point(m->direction, 40.0 / n, -0.1 / n, 0.0, 1e-15);
    dm_model_free(m);
    /* North 30 deg east, as a compass reads. */
    text_edit(&text, "<duct-type",
              "<direction bearing=\"60 deg\"/>\n<duct-type");
    m = model_of_text(&text);
    assert_point(m->direction, sqrt(0.75), 0.5, 0.0, 1e-15);
    dm_model_free(m);
    dm_buf_free(&text);
}

/* A stated normal: the plane x + y = const through (0.6, 0) / sqrt 2 .. */
static void stated_normal_is_kept_and_any_length(void **state)
{
    dm_buf text = text_of_file(BEND);

    (void)state;
    text_edit(&text, "<face id=\"Wf\" side=\"ahead\" offset=\"0.6 m\"/>",
              "<face id=\"Wf\" side=\"ahead\" offset=\"0.6 m\" "
              "normal=\"12 0 -0.9\" u=\"4 mm\" touchable=\"false\"/>");
    dm_model *m = model_of_text(&text);
    const dm_face *f = face_named(&m->tendons[0], "Wf");
    double leg = sqrt(12.0 * 12.0 + 0.9 * 0.9);
    assert_false(f->normal_assumed);
    assert_false(f->touchable);
    assert_near(f->u, 0.004, 1e-15);
    assert_point(f->normal, 12.0 / leg, 0.0, -0.9 / leg, 1e-15);
    /* Square to the duct: the offset is along it. */
    assert_near(f->t, 0.6, 1e-9);
    assert_near(dm_face_station(&m->tendons[0], f, 0.055, 0.0), 0.6, 1e-9);
    dm_model_free(m);
    dm_buf_free(&text);
}

/* On a plumb plane the crown of a falling duct, radius r square to the axis,
 * is reached r tan(slope) before the axis: trade rule of the inclined
 * section, tan = 0.075 here. */
static void face_station_depends_on_the_clock_line(void **state)
{
    dm_model *m = model_of_file(BEND);
    const dm_tendon *t = &m->tendons[0];
    const dm_face *f = face_named(t, "Wf");

    (void)state;
    assert_near(dm_face_station(t, f, 0.0, 1.0), f->t, 0.0);
    assert_near(dm_face_station(t, f, 0.055, 0.0), f->t - 0.055 * 0.075, 1e-9);
    assert_near(dm_face_station(t, f, 0.055, PI), f->t + 0.055 * 0.075, 1e-9);
    assert_near(dm_face_station(t, f, 0.055, 0.5 * PI), f->t, 1e-9);
    dm_model_free(m);
}

/* ---- what else a file holds ---- */

static void whole_turn_of_a_fixture_is_all_round(void **state)
{
    static const char *const ends[][2] = {
        {"0 deg", "360 deg"}, {"0:00", "12:00"}, {"12:00", "0 deg"}};

    (void)state;
    for (size_t i = 0; i < 3; i++) {
        dm_buf text = text_of_file(TWO), put = {0};
        dm_buf_printf(&put, "ref=\"D1a\" clock-from=\"%s\" clock-to=\"%s\"",
                      ends[i][0], ends[i][1]);
        text_edit(&text, "ref=\"D1a\"", put.data);
        dm_model *m = model_of_text(&text);
        assert_near(m->tendons[0].fixtures[1].clock_from, 0.0, 0.0);
        assert_near(m->tendons[0].fixtures[1].clock_to, 2.0 * PI, 1e-15);
        dm_model_free(m);
        dm_buf_free(&text);
        dm_buf_free(&put);
    }
}

static void parts_nest_and_ids_travel(void **state)
{
    dm_buf text = text_of_file(TWO);

    (void)state;
    text_edit(&text, "<tendon id=\"T1\"",
              "<part id=\"GIRDER\" kind=\"girder\" name=\"Main girder\">\n"
              "<external-id scheme=\"ifc-guid\" value=\"0G\"/>"
              "<part id=\"SPAN1\" kind=\"span\"><part id=\"CELL\" "
              "kind=\"cell\"/></part><part id=\"SPAN2\" kind=\"span\"/>"
              "</part><part id=\"P1\" kind=\"pier\"/>"
              "<tendon id=\"T1\" part=\"CELL\" where=\"second row\"");
    text_edit(&text, "<anchorage id=\"A1\"",
              "<external-id scheme=\"field-tag\" value=\"T-1 &amp; more\"/>"
              "<anchorage id=\"A1\" name=\"Abutment west\"");
    dm_model *m = model_of_text(&text);
    static const char *const ids[] = {"GIRDER", "SPAN1", "CELL", "SPAN2", "P1"};
    static const size_t parents[] = {DM_NONE, 0, 1, 0, DM_NONE};
    assert_int_equal(m->part_count, 5);
    for (size_t i = 0; i < 5; i++) {
        assert_string_equal(m->parts[i].id, ids[i]);
        assert_true(m->parts[i].parent == parents[i]);
    }
    assert_string_equal(m->parts[0].name, "Main girder");
    assert_string_equal(m->parts[1].name, "SPAN1");
    assert_string_equal(dm_external_find(&m->parts[0].external, "ifc-guid"),
                        "0G");
    assert_null(dm_external_find(&m->parts[0].external, "owner"));
    const dm_tendon *t = &m->tendons[0];
    assert_int_equal(t->part, 2);
    assert_string_equal(t->where, "second row");
    assert_string_equal(t->name, "T1");
    assert_string_equal(dm_external_find(&t->external, "field-tag"),
                        "T-1 & more");
    assert_string_equal(t->supports[0].name, "Abutment west");
    assert_string_equal(t->supports[1].name, "D1");
    assert_int_equal(dm_model_find_tendon(m, "T1"), 0);
    assert_true(dm_model_find_tendon(m, "T2") == DM_NONE);
    assert_true(dm_tendon_find_face(t, "D9") == DM_NONE);
    dm_model_free(m);
    dm_buf_free(&text);
}

static void catalogue_types_serve_like_own_ones(void **state)
{
    dm_model *m = NULL;

    (void)state;
    assert_int_equal(
        dm_model_read(DM_TEST_DATA "/with_catalogue.xml", NULL, &m), DM_OK);
    const dm_tendon *t = &m->tendons[0];
    assert_int_equal(m->duct_type_count, 3);
    const dm_duct_type *d = dm_tendon_duct(m, t, 1.0);
    assert_string_equal(d->id, "D90");
    assert_near(d->od, 0.09, 1e-15);
    /* A type is blamed where it stands. */
    assert_non_null(strstr(d->place.file, "good_catalogue.xml"));
    assert_int_equal(d->place.line, 4);
    assert_string_equal(m->deviator_types[t->supports[1].deviator_type].id,
                        "BELL");
    assert_int_equal(m->deviator_types[0].kind, DM_DEVIATOR_FLARED);
    assert_near(m->deviator_types[0].angle_max, 10.0 * PI / 180.0, 1e-15);
    dm_model_free(m);
}

static void plumb_tendon_reads_with_a_datum(void **state)
{
    dm_buf text = text_of_file(STRAIGHT);

    (void)state;
    text_edit(&text, "x=\"12 m\" y=\"4 m\"", "x=\"0 m\" y=\"0 m\"");
    text_edit(&text, "id=\"S1\"", "id=\"S1\" clock-datum=\"0 2 0\"");
    text_edit(&text, "offset=\"0.5 m\"/>",
              "offset=\"0.5 m\" normal=\"0 0 1\"/>");
    text_edit(&text, "<face id=\"HIGHf\" side=\"back\" offset=\"0.5 m\"/>",
              "<face id=\"HIGHf\" side=\"back\" offset=\"0.5 m\" "
              "normal=\"0 0 -1\"/>");
    dm_model *m = model_of_text(&text);
    const dm_tendon *t = &m->tendons[0];
    assert_near(t->line.length, 3.0, 1e-15);
    assert_near(face_named(t, "HIGHf")->t, 2.5, 1e-9);
    dm_frame f = dm_centreline_frame(&t->line, 1.0);
    assert_true(f.crown_defined);
    assert_point(f.crown, 0.0, 1.0, 0.0, 1e-15);
    assert_point(f.right, -1.0, 0.0, 0.0, 1e-15);
    dm_model_free(m);
    dm_buf_free(&text);
}

static void hash_is_that_of_the_bytes(void **state)
{
    dm_buf text = text_of_file(STRAIGHT);
    dm_model *a = model_of_text(&text);
    dm_model *b = model_of_file(STRAIGHT);

    (void)state;
    assert_int_equal(strlen(a->sha256), 64);
    assert_string_equal(a->sha256, b->sha256);
    dm_model_free(b);
    text_edit(&text, "Straight tendon", "Straight tendom");
    b = model_of_text(&text);
    assert_string_not_equal(a->sha256, b->sha256);
    dm_model_free(a);
    dm_model_free(b);
    dm_buf_free(&text);
}

/* ---- failure ---- */

static void free_accepts_null(void **state)
{
    (void)state;
    dm_model_free(NULL);
}

static void absent_file_is_an_io_fault(void **state)
{
    dm_model *m = NULL;
    said heard;

    (void)state;
    said_init(&heard);
    assert_int_equal(dm_model_read("/nonexistent/b.xml", &heard.diag, &m),
                     DM_IO);
    assert_null(m);
    assert_int_equal(heard.diag.errors, 1);
    /* Silent without a sink. */
    assert_int_equal(dm_model_read("/nonexistent/b.xml", NULL, &m), DM_IO);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(straight_tendon_has_its_closed_form),
        cmocka_unit_test(bend_has_its_closed_form),
        cmocka_unit_test(faces_come_by_station_and_point_out_of_the_concrete),
        cmocka_unit_test(every_unit_gives_the_same_model),
        cmocka_unit_test(moving_the_bridge_moves_no_station),
        cmocka_unit_test(default_direction_is_first_to_last_point),
        cmocka_unit_test(stated_normal_is_kept_and_any_length),
        cmocka_unit_test(face_station_depends_on_the_clock_line),
        cmocka_unit_test(whole_turn_of_a_fixture_is_all_round),
        cmocka_unit_test(parts_nest_and_ids_travel),
        cmocka_unit_test(catalogue_types_serve_like_own_ones),
        cmocka_unit_test(plumb_tendon_reads_with_a_datum),
        cmocka_unit_test(hash_is_that_of_the_bytes),
        cmocka_unit_test(free_accepts_null),
        cmocka_unit_test(absent_file_is_an_io_fault),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
