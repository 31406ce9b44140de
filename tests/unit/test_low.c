/* SPDX-License-Identifier: MIT
 * Where a sensor's body does not fit between a straight duct and a mesh,
 * against closed forms of boxes, planes and cylinders, each with 1 mm to spare
 * and 1 mm too little. The formulas stand beside the cases. A file's
 * coordinates are single precision: 6e-8 of 10 m. */
#define _POSIX_C_SOURCE 200809L
#include "allocfail.h"
#include "low_site.h"

/* ---- straight ---------------------------------------------------------- */

/* An underside at r + h +- 1 mm over the axis, from 4 to 6 m. */
static void a_box_above_is_low_by_1_mm_or_not(void **unused)
{
    dm_low_clearance low[4];

    (void)unused;
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();

        put_box(&m, "tray", (dm_vec3){4.0, -0.3, R + H + k * 1e-3},
                (dm_vec3){6.0, 0.3, 0.5});
        assert_int_equal(ask_of(straight(0.0), &m, low), k < 0 ? 1 : 0);
        if (k > 0)
            continue;
        assert_near(low[0].from, 4.0, 1e-9);
        assert_near(low[0].to, 6.0, 1e-9);
        assert_near(low[0].free, H - 1e-3, 1e-8);
    }
}

/* Under the duct, beside it, at 1:30: the same by turning the clock line. */
static void every_clock_line_has_room_of_its_own(void **unused)
{
    static const double clocks[] = {0.5 * PI, PI, 1.5 * PI};
    dm_low_clearance low[4];

    (void)unused;
    for (int k = -1; k <= 1; k += 2) {
        double at = R + H + k * 1e-3;

        for (size_t i = 0; i < 3; i++) {
            mesh m = mesh_new();
            /* Looking along X the right is -Y. */
            double y = -sin(clocks[i]), z = cos(clocks[i]);
            dm_vec3 a = {4.0, y * at - 0.3 * fabs(z), z * at - 0.3 * fabs(y)};
            dm_vec3 b = {6.0, y * 0.5 + 0.3 * fabs(z), z * 0.5 + 0.3 * fabs(y)};

            put_box(&m, "wall", a, b);
            assert_int_equal(ask_of(straight(clocks[i]), &m, low),
                             k < 0 ? 1 : 0);
            if (k > 0)
                continue;
            assert_near(low[0].from, 4.0, 1e-9);
            assert_near(low[0].to, 6.0, 1e-9);
            assert_near(low[0].free, H - 1e-3, 1e-8);
        }
    }
}

/* A box that stands beside the body, half the width +- 1 mm off. */
static void the_body_is_as_wide_as_it_says(void **unused)
{
    dm_low_clearance low[4];

    (void)unused;
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();

        put_box(&m, "post", (dm_vec3){4.0, 0.5 * W + k * 1e-3, R + 0.02},
                (dm_vec3){4.5, 0.5, 0.5});
        assert_int_equal(ask_of(straight(0.0), &m, low), k < 0 ? 1 : 0);
        if (k > 0)
            continue;
        assert_near(low[0].from, 4.0, 1e-9);
        assert_near(low[0].to, 4.5, 1e-9);
        assert_near(low[0].free, 0.02, 1e-8);
    }
}

/* A plane that falls by 1 in 20, at r + h over 5 m: low from there on, free at
 * 8 m h - 3 / 20. A box that long: a plane from 0 to 8 m. */
static void a_sloping_plane_is_low_from_where_it_cuts_the_height(void **unused)
{
    dm_low_clearance low[4];
    mesh m = mesh_new();
    double z0 = R + H + 5.0 / 50.0, z1 = R + H - 2.5 / 50.0;
    size_t a = put_corner(&m, 0.0, -1.0, z0), b, c, d;

    (void)unused;
    b = put_corner(&m, 7.5, -1.0, z1);
    c = put_corner(&m, 7.5, 1.0, z1);
    d = put_corner(&m, 0.0, 1.0, z0);
    put(&m, "deck");
    put_face(&m, a, b, c, d);
    assert_int_equal(ask_of(straight(0.0), &m, low), 1);
    assert_near(low[0].from, 5.0, 1e-6);
    assert_near(low[0].to, 7.5, 1e-6);
    assert_near(low[0].free, H - 2.5 / 50.0, 1e-8);
}

/* A pipe of radius q across, its underside at r + h +- 1 mm: its outline is at
 * most h over |x - 5| <= sqrt(q^2 - (q - 1 mm)^2). */
static void a_pipe_across_is_low_over_its_chord(void **unused)
{
    const double q = 0.1, chord = sqrt(q * q - (q - 1e-3) * (q - 1e-3));
    dm_low_clearance low[4];

    (void)unused;
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();

        put_cylinder(&m, "pipe", (dm_vec3){5.0, -1.0, R + H + q + k * 1e-3},
                     (dm_vec3){0.0, 2.0, 0.0}, (dm_vec3){1.0, 0.0, 0.0},
                     (dm_vec3){0.0, 0.0, 1.0}, q, 1.0);
        assert_int_equal(ask_of(straight(0.0), &m, low), k < 0 ? 1 : 0);
        if (k > 0)
            continue;
        /* The prism lies 0.24 um inside: / tan of the angle there, 2 um. */
        assert_near(low[0].from, 5.0 - chord, 5e-6);
        assert_near(low[0].to, 5.0 + chord, 5e-6);
        assert_near(low[0].free, H - 1e-3, 1e-6);
    }
}

/* A plumb pipe of radius q beside the body, its surface 1 mm inside of half the
 * width or outside. */
static void a_plumb_pipe_is_low_where_it_comes_into_the_width(void **unused)
{
    const double q = 0.1, chord = sqrt(q * q - (q - 1e-3) * (q - 1e-3));
    dm_low_clearance low[4];

    (void)unused;
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();

        put_cylinder(&m, "pipe", (dm_vec3){5.0, 0.5 * W + q + k * 1e-3, -1.0},
                     (dm_vec3){0.0, 0.0, 2.0}, (dm_vec3){1.0, 0.0, 0.0},
                     (dm_vec3){0.0, 1.0, 0.0}, q, 1.0);
        assert_int_equal(ask_of(straight(0.0), &m, low), k < 0 ? 1 : 0);
        if (k > 0)
            continue;
        assert_near(low[0].from, 5.0 - chord, 5e-6);
        assert_near(low[0].to, 5.0 + chord, 5e-6);
        assert_near(low[0].free, 0.0, 1e-12); /* it goes down past the duct */
    }
}

/* A sheet across has no length: it is found all the same, and where a cell
 * ends (5 m) as elsewhere. */
static void a_sheet_across_is_never_stepped_over(void **unused)
{
    dm_low_clearance low[4];

    (void)unused;
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();

        put(&m, "sheet");
        for (int i = 0; i < 2; i++) {
            double x = i == 0 ? 5.0 : 6.1, z = R + H + k * 1e-3;
            size_t a = put_corner(&m, x, -1.0, z);

            put_corner(&m, x, 1.0, z);
            put_corner(&m, x, 1.0, 1.0);
            put_corner(&m, x, -1.0, 1.0);
            put_face(&m, a, a + 1, a + 2, a + 3);
        }
        assert_int_equal(ask_of(straight(0.0), &m, low), k < 0 ? 2 : 0);
        if (k > 0)
            continue;
        assert_near(low[0].from, 5.0, 1e-9);
        assert_near(low[0].to, 5.0, 1e-9);
        assert_near(low[1].from, 6.1, 1e-6);
        assert_near(low[1].to, low[1].from, 1e-12);
        assert_near(low[1].free, H - 1e-3, 1e-8);
    }
}

/* Lengths less than 1 mm apart are one, named after what comes nearest; two
 * clock lines add up. */
static void lengths_are_joined_by_what_is_nearest(void **unused)
{
    site *s = straight(0.0);
    dm_low_clearance low[4];
    dm_context *c;
    mesh m = mesh_new();

    (void)unused;
    put_box(&m, "tray", (dm_vec3){1.0, -0.3, R + 0.04},
            (dm_vec3){2.0, 0.3, 0.5});
    put_box(&m, "clamp", (dm_vec3){2.0009, -0.3, R + 0.03},
            (dm_vec3){2.5, 0.3, 0.5});
    put_box(&m, "lamp", (dm_vec3){2.502, -0.3, R + 0.05},
            (dm_vec3){3.0, 0.3, 0.5});
    put_box(&m, "web", (dm_vec3){2.9, -0.5, -0.3},
            (dm_vec3){4.0, -R - 0.01, 0.3});
    c = read_mesh(&m);
    assert_int_equal(ask(s, c, low), 2);
    assert_near(low[0].from, 1.0, 1e-9);
    assert_near(low[0].to, 2.5, 1e-9);
    assert_near(low[0].free, 0.03, 1e-8);
    assert_string_equal(low[0].name, "girder.obj: clamp");
    assert_near(low[1].from, 2.502, 1e-6);
    assert_near(low[1].to, 3.0, 1e-9);
    s->clock[1] = 0.5 * PI;
    s->width[1] = 0.02;
    s->body.line_count = 2;
    assert_int_equal(ask(s, c, low), 2);
    assert_near(low[1].from, 2.502, 1e-6);
    assert_near(low[1].to, 4.0, 1e-9);
    assert_near(low[1].free, 0.01, 1e-8);
    assert_string_equal(low[1].name, "girder.obj: web");
    dm_context_free(c);
}

/* The duct that the mesh shows, within 20 mm of the duct, is passed over; what
 * cuts the duct leaves nothing. */
static void its_own_duct_does_not_count(void **unused)
{
    dm_low_clearance low[4];

    (void)unused;
    for (int k = -1; k <= 1; k += 2) {
        mesh m = mesh_new();
        double q = R + 0.02 + k * 1e-3;

        put_cylinder(&m, "duct", (dm_vec3){2.0, 0.0, 0.0},
                     (dm_vec3){3.0, 0.0, 0.0}, (dm_vec3){0.0, 1.0, 0.0},
                     (dm_vec3){0.0, 0.0, 1.0}, q, 1.0);
        assert_int_equal(ask_of(straight(0.0), &m, low), k > 0 ? 1 : 0);
    }
    mesh m = mesh_new();
    put_box(&m, "wall", (dm_vec3){4.0, -1.0, R - 0.01},
            (dm_vec3){6.0, 1.0, 0.5});
    assert_int_equal(ask_of(straight(0.0), &m, low), 1);
    assert_near(low[0].free, 0.0, 0.0);
    assert_near(low[0].from, 4.0, 1e-9);
    assert_near(low[0].to, 6.0, 1e-9);
}

/* A duct of 100 mm, then one of 140 mm from 5 m on: a plane that fits over the
 * first, not over the second. */
static void each_duct_has_its_own_outside(void **unused)
{
    static site s;
    dm_duct_type types[2] = {{.od = 0.1}, {.od = 0.14}};
    dm_duct_length ducts[2] = {{.from = 0.0, .to = 5.0, .duct_type = 0},
                               {.from = 5.0, .to = 10.0, .duct_type = 1}};
    dm_low_clearance low[4];
    mesh m = mesh_new();

    (void)unused;
    site_init(&s, false, (dm_vec3){0}, 0.0);
    s.tendon.ducts = ducts;
    s.tendon.duct_count = 2;
    s.model.duct_types = types;
    s.model.duct_type_count = 2;
    put_box(&m, "deck", (dm_vec3){1.0, -1.0, 0.111}, (dm_vec3){9.0, 1.0, 0.5});
    assert_int_equal(ask_of(&s, &m, low), 1);
    assert_near(low[0].from, 5.0, 1e-9);
    assert_near(low[0].to, 9.0, 1e-9);
    assert_near(low[0].free, 0.041, 1e-8);
}

/* ---- nothing, and no memory -------------------------------------------- */

static dm_status ask_again(void *user)
{
    site *s = straight(0.0);
    dm_low_clearance *items;
    size_t count;
    dm_status status =
        dm_context_low(user, &s->model, 0, &s->body, 0.0, 10.0, &items, &count);

    assert_true(status == DM_OK ? count == 1 : items == NULL);
    free(items);
    return status;
}

static void nothing_is_lost_where_memory_is(void **unused)
{
    dm_low_clearance low[4];
    mesh m = mesh_new();
    dm_context *c;

    (void)unused;
    assert_int_equal(ask(straight(0.0), NULL, low), 0);
    put_box(&m, "tray", (dm_vec3){4.0, -0.3, R + 0.03},
            (dm_vec3){6.0, 0.3, 0.5});
    c = read_mesh(&m);
    assert_true(allocfail_each(ask_again, c) >= 1);
    dm_context_free(c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_box_above_is_low_by_1_mm_or_not),
        cmocka_unit_test(every_clock_line_has_room_of_its_own),
        cmocka_unit_test(the_body_is_as_wide_as_it_says),
        cmocka_unit_test(a_sloping_plane_is_low_from_where_it_cuts_the_height),
        cmocka_unit_test(a_pipe_across_is_low_over_its_chord),
        cmocka_unit_test(a_plumb_pipe_is_low_where_it_comes_into_the_width),
        cmocka_unit_test(a_sheet_across_is_never_stepped_over),
        cmocka_unit_test(lengths_are_joined_by_what_is_nearest),
        cmocka_unit_test(its_own_duct_does_not_count),
        cmocka_unit_test(each_duct_has_its_own_outside),
        cmocka_unit_test(nothing_is_lost_where_memory_is),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
