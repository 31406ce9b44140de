/* SPDX-License-Identifier: MIT
 * The scene of the fixture: tree, identities, geometry, properties, colours.
 * The expected UUIDs were computed with Python's uuid.uuid5 (RFC 4122). */
#include "near.h"

#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "mesh_check.h"
#include "scene/colour.h"
#include "scene/properties.h"
#include "scene_fixture.h"

static scene_fixture *fixture;
static dm_scene *scene;

static dm_status build(dm_scene **out)
{
    return dm_scene_build(&fixture->model, &fixture->survey, &fixture->criteria,
                          fixture->results, &fixture->job, NULL, out);
}

static int set_up(void **state)
{
    (void)state;
    fixture = scene_fixture_new();
    return fixture == NULL || build(&scene) != DM_OK;
}

static int tear_down(void **state)
{
    (void)state;
    dm_scene_free(scene);
    scene_fixture_free(fixture);
    return 0;
}

static const dm_object *find(const char *name)
{
    size_t i;

    for (i = 0; i < scene->object_count; i++)
        if (strcmp(scene->objects[i].name, name) == 0)
            return &scene->objects[i];
    fail_msg("no object '%s'", name);
    return NULL;
}

static const dm_property *property(const dm_object *o, const char *name)
{
    const dm_property *found = NULL;
    size_t i;

    for (i = 0; i < o->property_count; i++)
        if (strcmp(o->properties[i].name, name) == 0) {
            assert_null(found); /* no name twice */
            found = &o->properties[i];
        }
    return found;
}

static double number(const dm_object *o, const char *name)
{
    const dm_property *p = property(o, name);

    if (p == NULL)
        fail_msg("'%s' has no '%s'", o->name, name);
    return p->number;
}

static const char *text(const dm_object *o, const char *name)
{
    const dm_property *p = property(o, name);

    if (p == NULL || p->text == NULL)
        fail_msg("'%s' has no '%s'", o->name, name);
    return p->text;
}

static void tree_parents_first_names_and_uids_unique(void **state)
{
    size_t i, k;

    (void)state;
    assert_int_equal(scene->objects[0].kind, DM_OBJECT_BRIDGE);
    assert_true(scene->objects[0].parent == DM_NONE);
    for (i = 0; i < scene->object_count; i++) {
        const dm_object *o = &scene->objects[i];

        assert_true(i == 0 || o->parent < i);
        assert_true(o->mesh == DM_NONE || o->mesh < scene->mesh_count);
        assert_true(o->heat == DM_NONE || o->heat < scene->mesh_count);
        assert_true(o->curve == DM_NONE || o->curve < scene->curve_count);
        for (k = 0; k < i; k++) {
            assert_string_not_equal(o->uid, scene->objects[k].uid);
            if (o->parent == scene->objects[k].parent)
                assert_string_not_equal(o->name, scene->objects[k].name);
        }
    }
    assert_int_equal(find("cell C1")->parent, 1);
    assert_int_equal(find("tendon T1")->parent, 2); /* in the cell */
    assert_int_equal(find("tendon T2")->parent, 0); /* no part stated */
}

static void uids_are_version_5_of_the_path(void **state)
{
    static const char *const expected[][2] = {
        {"cell C1", "9ed158e7-bf20-5654-b856-c1d446077294"},
        {"tendon T1", "970236ec-7fea-5240-8068-cb30b1b388f5"},
        {"T1 duct 3", "30705d8d-59cf-58ae-862d-eac2f2421950"},
        {"T1 deviator D1", "18df4310-0062-5f24-98ea-b8bbfea90049"},
        {"T2 fixture C1", "10e8f483-543d-5f2e-96cc-65da1bd46301"},
        {"indication T1-I01", "11111111-2222-5333-8444-555555555555"},
        {"tap T1-I01-A", "66666666-7777-5888-8999-aaaaaaaaaaaa"}};
    size_t i;

    (void)state;
    assert_string_equal(scene->objects[0].uid,
                        "38195fee-570d-59c5-bff5-ef55aba89b78");
    for (i = 0; i < sizeof expected / sizeof *expected; i++)
        assert_string_equal(find(expected[i][0])->uid, expected[i][1]);
}

static void origin_is_whole_metres_in_the_middle(void **state)
{
    (void)state;
    assert_near(scene->origin.x, 500020.0, 0.0);
    assert_near(scene->origin.y, 6600000.0, 0.0); /* -1.1 .. 0.3 */
    assert_near(scene->origin.z, 101.0, 0.0);
}

static void meshes_are_closed_outward_finite_and_measured(void **state)
{
    size_t i, k, j, closed = 0;

    (void)state;
    for (i = 0; i < scene->mesh_count; i++) {
        const dm_mesh *m = &scene->meshes[i];
        float low[3], high[3];
        mesh_report r;

        memcpy(low, m->position, sizeof low);
        memcpy(high, m->position, sizeof high);
        for (k = 0; k < m->vertex_count; k++)
            for (j = 0; j < 3; j++) {
                low[j] = fminf(low[j], m->position[3 * k + j]);
                high[j] = fmaxf(high[j], m->position[3 * k + j]);
            }
        assert_memory_equal(low, m->low, sizeof low);
        assert_memory_equal(high, m->high, sizeof high);
        if (m->mode == DM_MESH_LINES)
            continue;
        r = mesh_check(m);
        assert_int_equal(r.bad + r.outside + r.degenerate + r.inward, 0);
        if (m->closed) {
            assert_int_equal(r.open_edges, 0);
            assert_true(r.volume > 0.0);
            closed++;
        }
    }
    assert_true(closed >= 20);
}

static void every_mesh_but_heat_and_lines_is_closed(void **state)
{
    size_t i;

    (void)state;
    for (i = 0; i < scene->object_count; i++) {
        const dm_object *o = &scene->objects[i];

        if (o->kind == DM_OBJECT_CENTRELINE)
            assert_int_equal(scene->meshes[o->mesh].mode, DM_MESH_LINES);
        else if (o->mesh != DM_NONE)
            assert_true(scene->meshes[o->mesh].closed);
        else
            assert_true(o->kind <= DM_OBJECT_TENDON);
    }
}

static void duct_lengths_cover_the_tendon(void **state)
{
    static const char *const names[2] = {"tendon T1", "tendon T2"};
    size_t i, k;

    (void)state;
    for (k = 0; k < 2; k++) {
        const dm_object *tendon = find(names[k]);
        double at = 0.0, sum = 0.0;

        for (i = 0; i < scene->object_count; i++) {
            const dm_object *o = &scene->objects[i];

            if (o->kind != DM_OBJECT_DUCT || o->tendon != k)
                continue;
            assert_near(number(o, "From"), at, 1e-12);
            at = number(o, "To");
        }
        assert_near(at, number(tendon, "Length"), 1e-12);
        sum = number(tendon, "LengthTested") +
              number(tendon, "LengthStrandMasked") +
              number(tendon, "LengthNotTested") +
              number(tendon, "LengthNotValid") +
              number(tendon, "LengthNotReconciled");
        assert_near(sum, at, 1e-9);
        /* What is not tested, and why, is the rest. */
        sum = number(tendon, "LengthTested");
        for (size_t p = 0; p < tendon->property_count; p++)
            if (strncmp(tendon->properties[p].name, "LengthWhy", 9) == 0)
                sum += tendon->properties[p].number;
        assert_near(sum, at, 1e-9);
    }
}

/* Distances of the vertices of T1's object from its line: least and most,
 * away from end caps (which have vertices on the same rings). */
static void radii(const dm_object *o, double *low, double *high)
{
    const dm_mesh *m = &scene->meshes[o->mesh];
    const dm_centreline *line = &fixture->model.tendons[o->tendon].line;
    size_t i;

    *low = HUGE_VAL;
    *high = 0.0;
    for (i = 0; i < m->vertex_count; i++) {
        const float *p = m->position + 3 * i;
        double d;

        dm_centreline_nearest(
            line,
            dm_vec3_add(scene->origin,
                        (dm_vec3){(double)p[0], (double)p[1], (double)p[2]}),
            &d);
        *low = fmin(*low, d);
        *high = fmax(*high, d);
    }
}

static void untested_lengths_differ_in_form_and_colour(void **state)
{
    const double r = 0.5 * 0.1143;
    const dm_object *tested = find("T1 duct 2");
    static const char *const untested[3] = {"T1 duct 3", "T1 duct 5",
                                            "T1 duct 8"};
    double low, high;
    size_t i, k;

    (void)state;
    assert_string_equal(tested->colour_name, "tested");
    radii(tested, &low, &high);
    assert_near(low, r, 1e-5);
    assert_near(high, r, 1e-5);
    for (i = 0; i < 3; i++) {
        const dm_object *o = find(untested[i]);

        radii(o, &low, &high);
        assert_near(low, 0.8 * r, 1e-5);
        assert_near(high, r, 1e-5);
        assert_memory_not_equal(o->colour, tested->colour, 4);
        for (k = 0; k < i; k++)
            assert_memory_not_equal(o->colour, find(untested[k])->colour, 4);
    }
    assert_string_equal(find("T1 duct 3")->colour_name, "not tested");
    assert_string_equal(find("T1 duct 5")->colour_name, "not valid");
    assert_string_equal(find("T1 duct 8")->colour_name, "not reconciled");
    /* a tendon without results is untested from end to end */
    assert_string_equal(find("T2 duct 1")->colour_name, "not tested");
    assert_near(number(find("T2 duct 1"), "Length"),
                fixture->model.tendons[1].line.length, 1e-12);
}

static void indication_has_bounds_bars_and_open_end(void **state)
{
    const dm_object *o = find("indication T1-I01");
    const double r = 0.5 * 0.1143;
    double low, high;

    (void)state;
    assert_string_equal(o->colour_name, "medium");
    assert_int_equal(o->colour[0], 0xe6); /* orange of the palette */
    assert_int_equal(o->colour[1], 0x9f);
    assert_int_equal(o->colour[2], 0x00);
    radii(o, &low, &high);
    assert_near(low, 1.12 * r, 1e-5); /* uncertain zones */
    assert_near(high, 1.7 * r, 1e-5); /* open end */
    assert_string_equal(text(o, "State"), "indicated");
    assert_string_equal(text(o, "Kind"), "void-like");
    assert_string_equal(text(o, "Runs"), "R1");
    assert_string_equal(text(o, "FromFaceBack"), "A1f");
    assert_near(number(o, "FromU"), 0.04, 1e-15); /* k = 2 */
    assert_near(number(o, "FromUToFaceBack"), 0.024, 1e-15);
    assert_near(number(o, "FromTipLow"), 0.0125, 1e-15);
    assert_near(number(o, "FromTipHigh"), 0.08, 1e-15);
    assert_near(number(o, "OpenAtFrom"), 0.0, 0.0);
    assert_near(number(o, "OpenAtTo"), 1.0, 0.0);
    assert_string_equal(text(o, "ClockLookingAhead"), "12:00");
    assert_true(o->heat != DM_NONE && o->heat != o->mesh);
}

static void tap_carries_position_and_tapes(void **state)
{
    const dm_object *o = find("tap T1-I01-A");
    const dm_tap *tap = &fixture->results[0].taps->items[0];
    const dm_mesh *m = &scene->meshes[o->mesh];
    double nearest = HUGE_VAL;
    size_t i;

    (void)state;
    assert_near(number(o, "X"), tap->surface.x, 0.0);
    assert_near(number(o, "Y"), tap->surface.y, 0.0);
    assert_near(number(o, "Z"), tap->surface.z, 0.0);
    assert_string_equal(text(o, "BackFace"), "A1f");
    assert_near(number(o, "TapeFromBackFace"), 9.3, 0.0);
    assert_near(number(o, "TapeFromBackFaceU"), 0.024, 1e-15);
    assert_string_equal(text(o, "Indication"), "T1-I01");
    assert_string_equal(text(o, "Advice"), "tap");
    for (i = 0; i < m->vertex_count; i++) {
        const float *p = m->position + 3 * i;
        dm_vec3 at = dm_vec3_add(
            scene->origin, (dm_vec3){(double)p[0], (double)p[1], (double)p[2]});

        nearest = fmin(nearest, dm_vec3_norm(dm_vec3_sub(at, tap->surface)));
    }
    assert_true(nearest < 0.003); /* the arrow's blunt point, 2 mm */
}

static void unknown_quantities_are_left_out(void **state)
{
    (void)state;
    assert_null(property(find("T1 deviator D1"), "ReadableBack")); /* NAN */
    assert_null(property(find("tap T1-I01-A"), "BridgeStation"));
    assert_non_null(property(find("T1 deviator D1"), "Deflection"));
}

static void clock_times_to_the_minute(void **state)
{
    static const struct {
        double deg;
        const char *ahead, *back;
    } cases[] = {{0.0, "12:00", "12:00"},
                 {90.0, "3:00", "9:00"},
                 {359.8, "12:00", "12:00"},
                 {105.0, "3:30", "8:30"},
                 {330.0, "11:00", "1:00"}};
    dm_indication item = fixture->results[0].indications->items[0];
    dm_source source = {.model = &fixture->model, .k = 2.0};
    dm_property_list list = {0};
    dm_object o = {0};
    size_t i;

    (void)state;
    list.arena = dm_arena_new();
    o.name = "x";
    for (i = 0; i < sizeof cases / sizeof *cases; i++) {
        item.clock = cases[i].deg * 3.14159265358979323846 / 180.0;
        dm_indication_properties(&source, &fixture->model.tendons[0], NULL,
                                 &item, &list);
        assert_int_equal(dm_property_list_take(&list, "s", &o), DM_OK);
        assert_string_equal(text(&o, "ClockLookingAhead"), cases[i].ahead);
        assert_string_equal(text(&o, "ClockLookingBack"), cases[i].back);
        assert_near(number(&o, "Clock"), cases[i].deg, 1e-12);
    }
    dm_property_list_free(&list);
    dm_arena_free(list.arena);
}

/* ---- colours ---------------------------------------------------------- */

static void palette_is_okabe_and_ito(void **state)
{
    /* Color Universal Design, 2008: vermillion, orange, yellow, blue. */
    static const uint8_t grades[3][3] = {
        {0xd5, 0x5e, 0x00}, {0xe6, 0x9f, 0x00}, {0xf0, 0xe4, 0x42}};
    dm_grade own = {"own", false, "#0A0bfF"};
    dm_criteria criteria = fixture->criteria;
    size_t i, k;

    (void)state;
    for (i = 0; i < 3; i++)
        assert_memory_equal(dm_colour_grade(&criteria, i).rgba, grades[i], 3);
    assert_int_equal(dm_colour_cover(DM_COVER_NOT_TESTED).rgba[2], 0xb2);
    criteria.grades = &own;
    criteria.grade_count = 1;
    assert_int_equal(dm_colour_grade(&criteria, 0).rgba[0], 0x0a);
    assert_int_equal(dm_colour_grade(&criteria, 0).rgba[2], 0xff);
    own.colour = "#12345g";
    assert_memory_equal(dm_colour_grade(&criteria, 0).rgba, grades[0], 3);
    for (i = 0; i < scene->legend_count; i++)
        for (k = 0; k < i; k++)
            assert_string_not_equal(scene->legend[i].meaning,
                                    scene->legend[k].meaning);
}

static void heat_classes_are_eleven_of_equal_width(void **state)
{
    int i;

    (void)state;
    assert_int_equal(dm_heat_class(-5.0, DM_HEAT_NOT_READ), 0);
    assert_int_equal(dm_heat_class(5.0, DM_HEAT_NOT_READ), 10);
    assert_int_equal(dm_heat_class(0.0, DM_HEAT_NOT_READ), 5);
    assert_int_equal(dm_heat_class((double)NAN, 5), DM_HEAT_NOT_READ);
    for (i = 0; i < DM_HEAT_CLASSES; i++)
        assert_int_equal(
            dm_heat_class(-1.0 + (2.0 * i + 1.0) / 11.0, DM_HEAT_NOT_READ), i);
    /* a tenth of a class beyond the limit the class holds, then no more */
    assert_int_equal(dm_heat_class(dm_heat_limit(6) + 0.01, 5), 5);
    assert_int_equal(dm_heat_class(dm_heat_limit(6) + 0.02, 5), 6);
    assert_int_equal(scene->heat_legend_count, 12);
}

/* ---- refusals --------------------------------------------------------- */

static void build_bad_input_is_refused(void **state)
{
    double x = fixture->model.tendons[1].supports[2].point.x;
    const char *uid = fixture->model.uid;
    dm_scene *other = scene;

    (void)state;
    fixture->model.tendons[1].supports[2].point.x = (double)NAN;
    assert_int_equal(build(&other), DM_RANGE);
    assert_null(other);
    fixture->model.tendons[1].supports[2].point.x = x + 3e5;
    assert_int_equal(build(&other), DM_RANGE);
    fixture->model.tendons[1].supports[2].point.x = x;
    fixture->model.uid = "no uuid";
    assert_int_equal(build(&other), DM_SYNTAX);
    fixture->model.uid = uid;
}

static void build_nothing_but_a_model_is_untested(void **state)
{
    dm_scene *bare;
    size_t i;

    (void)state;
    assert_int_equal(dm_scene_build(&fixture->model, NULL, NULL, NULL,
                                    &fixture->job, NULL, &bare),
                     DM_OK);
    for (i = 0; i < bare->object_count; i++)
        if (bare->objects[i].kind == DM_OBJECT_DUCT)
            assert_string_equal(bare->objects[i].colour_name, "not tested");
    dm_scene_free(bare);
}

static void same_key_twice_gets_two_names(void **state)
{
    dm_indications *found = DM_NEW(fixture->arena, dm_indications);
    const dm_indications *old = fixture->results[0].indications;
    dm_scene *keep = scene, *other;

    (void)state;
    *found = *old;
    found->items = DM_NEW_ARRAY(fixture->arena, dm_indication, 2);
    found->items[0] = found->items[1] = old->items[0];
    found->count = 2;
    fixture->results[0].indications = found;
    assert_int_equal(build(&other), DM_OK);
    scene = other;
    find("indication T1-I01");
    find("indication T1-I01 (2)");
    scene = keep;
    dm_scene_free(other);
    fixture->results[0].indications = old;
}

static dm_status build_and_free(void *user)
{
    dm_scene *other;
    dm_status status = build(&other);

    (void)user;
    dm_scene_free(other);
    return status;
}

static void build_any_failed_allocation_is_nomem(void **state)
{
    (void)state;
    assert_true(allocfail_each(build_and_free, NULL) > 50);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tree_parents_first_names_and_uids_unique),
        cmocka_unit_test(uids_are_version_5_of_the_path),
        cmocka_unit_test(origin_is_whole_metres_in_the_middle),
        cmocka_unit_test(meshes_are_closed_outward_finite_and_measured),
        cmocka_unit_test(every_mesh_but_heat_and_lines_is_closed),
        cmocka_unit_test(duct_lengths_cover_the_tendon),
        cmocka_unit_test(untested_lengths_differ_in_form_and_colour),
        cmocka_unit_test(indication_has_bounds_bars_and_open_end),
        cmocka_unit_test(tap_carries_position_and_tapes),
        cmocka_unit_test(unknown_quantities_are_left_out),
        cmocka_unit_test(clock_times_to_the_minute),
        cmocka_unit_test(palette_is_okabe_and_ito),
        cmocka_unit_test(heat_classes_are_eleven_of_equal_width),
        cmocka_unit_test(build_bad_input_is_refused),
        cmocka_unit_test(build_nothing_but_a_model_is_untested),
        cmocka_unit_test(same_key_twice_gets_two_names),
        cmocka_unit_test(build_any_failed_allocation_is_nomem),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
