/* SPDX-License-Identifier: MIT
 * Bridges with an alignment: points in all their forms, faces square to the
 * line, access, clear sections, and free lengths that sag. */
#include "ductmark/scene.h"
#include "model_text.h"

#include <math.h>

#define CURVED DM_TEST_GEOMETRY "/reference/curved_two_spans.xml"
#define STRAIGHT DM_TEST_DATA "/straight_bridge.xml"

static const double PI = 3.14159265358979323846;

static dm_model *curved(void)
{
    dm_model *model = NULL;
    said heard;
    said_init(&heard);
    assert_int_equal(dm_model_read(CURVED, &heard.diag, &model), DM_OK);
    assert_string_equal(heard.text, "");
    return model;
}

/* L1 is given by station, offset and height above the profile; R1 by x, y, z
 * that were computed from the same layout by Simpson's rule with 2000 steps an
 * element, in Python, and rounded to 1 mm: 0.87 mm apart at most. */
static void points_mean_the_same_in_all_forms(void **state)
{
    (void)state;
    dm_model *m = curved();
    const dm_tendon *by_station = &m->tendons[dm_model_find_tendon(m, "L1")];
    const dm_tendon *by_world = &m->tendons[dm_model_find_tendon(m, "R1")];
    assert_int_equal(by_station->support_count, 7);
    for (size_t i = 0; i < by_station->support_count; i++) {
        const dm_support *a = &by_station->supports[i];
        const dm_support *b = &by_world->supports[i];
        assert_near(a->offset, -2.3, 1e-12);
        assert_true(isnan(b->station));
        dm_vec3 p =
            dm_alignment_point(m->alignment, a->station, 2.3, a->point.z);
        assert_near(dm_vec3_norm(dm_vec3_sub(p, b->point)), 0.0, 0.00087);
        dm_alignment_foot foot;
        assert_true(dm_model_station(m, a->point, &foot));
        assert_near(foot.s, a->station, 1e-9);
        assert_near(foot.offset, -2.3, 1e-9);
        assert_true(foot.inside && foot.certain);
    }
    dm_model_free(m);
}

static void faces_are_square_to_the_line_where_they_stand(void **state)
{
    (void)state;
    dm_model *m = curved();
    const dm_tendon *t = &m->tendons[0];
    for (size_t i = 0; i < t->face_count; i++) {
        const dm_face *f = &t->faces[i];
        const dm_support *s = &t->supports[f->support];
        double b = dm_alignment_at(m->alignment, s->station).bearing;
        assert_true(f->normal_assumed);
        assert_near(f->normal.x, (double)f->side * sin(b), 1e-12);
        assert_near(f->normal.y, (double)f->side * cos(b), 1e-12);
        assert_near(f->normal.z, 0.0, 0.0);
    }
    dm_model_free(m);
}

static void parts_and_tendons_say_how_they_are_reached(void **state)
{
    (void)state;
    dm_model *m = curved();
    const dm_tendon *t = &m->tendons[0];
    assert_int_equal(m->parts[0].access, DM_ACCESS_FLOOR);
    assert_int_equal(m->parts[1].access, DM_ACCESS_FLOOR);
    assert_int_equal(m->parts[2].access, DM_ACCESS_LADDER);
    assert_int_equal(m->parts[0].section_count, 10);
    assert_near(m->parts[0].sections[9].station, 1180.0, 1e-9);
    assert_int_equal(dm_tendon_access(m, t, -1.0), DM_ACCESS_LADDER);
    assert_int_equal(dm_tendon_access(m, t, 20.0), DM_ACCESS_LADDER);
    assert_int_equal(dm_tendon_access(m, t, 20.1), DM_ACCESS_FLOOR);
    assert_int_equal(t->supports[0].hidden_ahead, DM_HIDDEN_TRUMPET);
    assert_int_equal(t->supports[0].hidden_back, DM_HIDDEN_NOT_STATED);
    assert_int_equal(t->supports[1].hidden_back, DM_HIDDEN_BOOT);
    dm_model_free(m);
}

/* The line begins at E 12, N -3.5 with the bearing 75 deg (its first element
 * is 40 m of E 38.637033, N 10.352762) at 98.5 m, rising by 3 %; the last
 * element ends at E 209.00842054314, N 18.631685705712. */
static void an_alignment_comes_from_a_landxml_file(void **state)
{
    (void)state;
    dm_model *m = NULL;
    said heard;
    said_init(&heard);
    assert_int_equal(
        dm_model_read(DM_TEST_DATA "/landxml_bridge.xml", &heard.diag, &m),
        DM_OK);
    assert_string_equal(heard.text, "");
    assert_string_equal(m->alignment_id, "LX");
    double b = 75.0 * PI / 180.0;
    dm_vec3 p = m->tendons[0].supports[0].point;
    assert_near(p.x, 12.0 + 5.0 * sin(b) + 1.5 * cos(b), 1e-9);
    assert_near(p.y, -3.5 + 5.0 * cos(b) - 1.5 * sin(b), 1e-9);
    assert_near(p.z, 98.5 + 0.15 - 1.0, 1e-9);
    dm_alignment_place end = dm_alignment_at(m->alignment, 200.0);
    assert_near(end.x, 209.008420543140, 1e-9);
    assert_near(end.y, 18.631685705712, 1e-9);
    dm_bridge_place place =
        dm_model_bridge_place(m, m->tendons[0].supports[1].point);
    assert_true(place.known);
    assert_near(place.station, 195.0, 1e-9);
    assert_near(place.offset, 1.5, 1e-9);
    assert_near(place.shown, 1195.0, 1e-9);
    assert_int_equal(place.zone, 1);
    dm_model_free(m);
}

/* A combined factor of 0.99988 takes 4.8 mm from 40 m of ground (computed
 * independently), in plan only; there and back. */
static void a_grid_factor_shortens_the_plan_and_leaves_heights(void **state)
{
    (void)state;
    dm_model *m = curved();
    dm_vec3 a = {300.0, 1200.0, 100.0};
    dm_vec3 b = {300.0 + 24.0, 1200.0 - 32.0, 101.5};
    dm_vec3 p = dm_map_point(&m->map, a), q = dm_map_point(&m->map, b);
    assert_near(hypot(q.x - p.x, q.y - p.y), 40.0 - 0.0048, 1e-9);
    assert_near(p.z, 100.0, 0.0);
    assert_near(q.z - p.z, 1.5, 1e-12);
    assert_near(dm_vec3_norm(dm_vec3_sub(dm_map_inverse(&m->map, q), b)), 0.0,
                4e-9);
    dm_model_free(m);
}

static const dm_object *object_of(const dm_scene *s, dm_object_kind kind)
{
    for (size_t i = 0; i < s->object_count; i++)
        if (s->objects[i].kind == kind)
            return &s->objects[i];
    return NULL;
}

static double number_of(const dm_object *o, const char *name)
{
    for (size_t i = 0; i < o->property_count; i++)
        if (strcmp(o->properties[i].name, name) == 0)
            return o->properties[i].number;
    return (double)NAN;
}

/* Tendons stand from 1010.5 to 1169.5 m of a line from 1000 to 1180 m; the
 * polygon's middles are off it by 1 mm at most, in plan and in height. */
static void the_scene_shows_the_line_beside_the_tendons(void **state)
{
    (void)state;
    dm_model *m = curved();
    dm_scene *scene = NULL;
    assert_int_equal(dm_scene_build(m, NULL, NULL, NULL, NULL, NULL, &scene),
                     DM_OK);
    const dm_object *o = object_of(scene, DM_OBJECT_ALIGNMENT);
    assert_non_null(o);
    assert_string_equal(o->name, "alignment AXIS");
    assert_int_equal(o->parent, 0);
    /* R1's points are rounded to 1 mm. */
    assert_near(number_of(o, "FromBridgeStation"), 1005.5, 1e-3);
    assert_near(number_of(o, "ToBridgeStation"), 1174.5, 1e-3);
    assert_near(number_of(o, "ToBridgeStationShown"), 1174.5 + 945.0, 1e-3);
    assert_near(number_of(o, "HasProfile"), 1.0, 0.0);
    const dm_curve *c = &scene->curves[o->curve];
    assert_true(c->piece_count > 100);
    double worst = 0.0;
    for (size_t i = 0; i < c->piece_count; i++) {
        assert_false(c->arc[i]);
        for (int k = 0; k <= 2; k++) {
            dm_vec3 step = dm_vec3_sub(c->point[i + 1], c->point[i]);
            dm_vec3 p = dm_vec3_add(scene->origin,
                                    dm_vec3_along(c->point[i], 0.5 * k, step));
            dm_alignment_foot foot = dm_alignment_nearest(m->alignment, p);
            double z = dm_alignment_at(m->alignment, foot.s).height;
            worst = fmax(worst, fmax(fabs(foot.offset), fabs(p.z - z)));
            if (k != 1)
                assert_near(foot.offset, 0.0, 1e-9);
        }
    }
    assert_true(worst < 1e-3);
    dm_scene_free(scene);
    m->alignment = NULL;
    assert_int_equal(dm_scene_build(m, NULL, NULL, NULL, NULL, NULL, &scene),
                     DM_OK);
    assert_null(object_of(scene, DM_OBJECT_ALIGNMENT));
    dm_scene_free(scene);
    dm_model_free(m);
}

/* A pure sag, crest and level bends to both hands, by construction. */
static void the_plane_of_a_bend_is_a_clock_angle(void **state)
{
    static const struct {
        const char *point;
        double plane;
    } cases[] = {{"x=\"0 m\" y=\"0 m\" z=\"0.1 m\"", 0.0},
                 {"x=\"0 m\" y=\"0 m\" z=\"1.7 m\"", PI},
                 {"x=\"0 m\" y=\"0.8 m\" z=\"0.9 m\"", 0.5 * PI},
                 {"x=\"0 m\" y=\"-0.8 m\" z=\"0.9 m\"", 1.5 * PI}};
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        dm_buf text = text_of_file(DM_TEST_DATA "/bend_bridge.xml");
        char point[80];
        const char *from = strstr(text.data, "<deviator id=");
        from = strstr(from, "x=");
        size_t n = (size_t)(strstr(from, "type=") - from - 1);
        memcpy(point, from, n);
        point[n] = '\0';
        text_edit(&text, point, cases[i].point);
        dm_model *m = model_of_text(&text);
        double plane = dm_tendon_bend_plane(&m->tendons[0], 1);
        assert_near(remainder(plane - cases[i].plane, 2.0 * PI), 0.0, 1e-9);
        assert_true(isnan(dm_tendon_bend_plane(&m->tendons[0], 0)));
        dm_model_free(m);
        dm_buf_free(&text);
    }
}

/* 19 strands at 1100 MPa, 325.226673622 N/m over 20 m: w L^2 / 8 T =
 * 5.55753030797 mm and the end slope 1.11150606159 mrad, computed
 * independently with mpmath. 2660 mm2 at 1100 MPa is 2926 kN. */
static void a_free_length_sags_as_a_cable_does(void **state)
{
    (void)state;
    dm_buf text = text_of_file(STRAIGHT);
    text_edit(&text, "<tendon ",
              "<tendon weight=\"33.163890790 kg/m\" force=\"2926 kN\" ");
    text_edit(&text, "x=\"12 m\" y=\"4 m\" z=\"3 m\"",
              "x=\"20 m\" y=\"0 m\" z=\"0 m\"");
    dm_model *m = model_of_text(&text);
    const dm_centreline *line = &m->tendons[0].line;
    assert_int_equal(line->count, 1);
    dm_vec3 a = m->tendons[0].supports[0].point;
    dm_vec3 b = m->tendons[0].supports[1].point;
    assert_near(dm_vec3_norm(dm_vec3_sub(b, a)), 20.0, 1e-12);
    assert_near(
        dm_vec3_norm(dm_vec3_sub(dm_centreline_point(line, line->length), b)),
        0.0, 1e-12);
    dm_vec3 middle = dm_centreline_point(line, 0.5 * line->length);
    assert_near(0.5 * (a.z + b.z) - middle.z, 5.55753030797e-3, 1e-8);
    assert_near(-dm_centreline_tangent(line, 0.0).z, 1.11150606159e-3, 1e-8);
    assert_near(dm_centreline_tangent(line, line->length).z, 1.11150606159e-3,
                1e-8);
    dm_model_free(m);
    dm_buf_free(&text);
}

/* With bends between: no kink, the ends stay, the lengths between the arcs
 * have the curvature w cos(slope) / F. */
static void sag_goes_smoothly_into_the_bends(void **state)
{
    (void)state;
    dm_model *m = curved();
    const dm_tendon *t = &m->tendons[dm_model_find_tendon(m, "R2")];
    const dm_centreline *line = &t->line;
    double w = 33.164 * 9.80665 / 2926e3;
    for (size_t i = 0; i < line->count; i++) {
        const dm_segment *s = &line->segments[i];
        if (i > 0) {
            const dm_segment *p = &line->segments[i - 1];
            dm_vec3 end = dm_centreline_tangent(line, s->t0 - 1e-9);
            assert_near(dm_vec3_norm(dm_vec3_sub(end, s->tangent)), 0.0, 1e-8);
            assert_near(p->t0 + p->length, s->t0, 1e-12);
        }
        bool bend = false;
        for (size_t k = 0; k < t->support_count; k++)
            bend |= t->supports[k].arc == i;
        if (!bend && s->length > 1.0) {
            assert_near(s->kappa / w, 1.0, 4e-3);
            assert_near(dm_vec3_dot(s->normal, (dm_vec3){0, 0, 1}), 1.0, 5e-3);
        }
    }
    assert_near(
        dm_vec3_norm(dm_vec3_sub(dm_centreline_point(line, line->length),
                                 t->supports[t->support_count - 1].point)),
        0.0, 1e-9);
    dm_model_free(m);
}

/* A ramp of 1.9 turns passes over itself: a point by station stands where it
 * says, and its face is square to the line there. */
static void a_point_by_station_is_not_taken_to_the_turn_below(void **state)
{
    (void)state;
    dm_buf text = text_of_file(STRAIGHT);
    text_edit(&text, "  <duct-type ",
              "  <alignment id=\"A\"><horizontal>"
              "<start station=\"0 m\" x=\"0 m\" y=\"0 m\" bearing=\"0 deg\"/>"
              "<arc length=\"600 m\" radius=\"50 m\" turn=\"left\"/>"
              "</horizontal></alignment>\n  <duct-type ");
    text_edit(&text, "x=\"0 m\" y=\"0 m\" z=\"0 m\"",
              "station=\"400 m\" offset=\"2 m\" height=\"8 m\"");
    text_edit(&text, "x=\"12 m\" y=\"4 m\" z=\"3 m\"",
              "station=\"430 m\" offset=\"2 m\" height=\"8 m\"");
    dm_model *m = model_of_text(&text);
    const dm_tendon *t = &m->tendons[0];
    dm_alignment_foot foot;
    assert_true(dm_model_station(m, t->supports[0].point, &foot));
    assert_false(foot.certain);
    assert_near(t->supports[0].station, 400.0, 0.0);
    for (size_t i = 0; i < t->face_count; i++)
        assert_near(t->faces[i].normal.x,
                    (double)t->faces[i].side *
                        -sin(t->supports[t->faces[i].support].station / 50.0),
                    1e-12);
    dm_model_free(m);
    dm_buf_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(points_mean_the_same_in_all_forms),
        cmocka_unit_test(faces_are_square_to_the_line_where_they_stand),
        cmocka_unit_test(parts_and_tendons_say_how_they_are_reached),
        cmocka_unit_test(an_alignment_comes_from_a_landxml_file),
        cmocka_unit_test(a_grid_factor_shortens_the_plan_and_leaves_heights),
        cmocka_unit_test(the_scene_shows_the_line_beside_the_tendons),
        cmocka_unit_test(the_plane_of_a_bend_is_a_clock_angle),
        cmocka_unit_test(a_free_length_sags_as_a_cable_does),
        cmocka_unit_test(sag_goes_smoothly_into_the_bends),
        cmocka_unit_test(a_point_by_station_is_not_taken_to_the_turn_below),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
