/* SPDX-License-Identifier: MIT
 * Swept solids against closed forms. Sources: regular polygon inscribed in a
 * circle, area (n/2) r^2 sin(2 pi/n), perimeter 2 n r sin(pi/n); the ratio
 * 0.988615929465 to the circle for n = 24 was computed independently with
 * mpmath. Arcs: US Army FM 5-233, chapter 3, M = R(1 - cos(D/2)). */
#include "near.h"

#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "mesh_check.h"
#include "scene/heat.h"
#include "scene/marker.h"

#define PI 3.14159265358979323846
#define RADIUS 0.05715
#define RATIO_24 0.988615929465

static const dm_vec3 zero = {0.0, 0.0, 0.0};

/* A line along the unit direction (3, 0, 4)/5 and an arc of radius 3 m. */
static dm_segment straight = {
    0.0, 2.0, {10.0, 20.0, 1.0}, {0.6, 0.0, 0.8}, 0.0, {0.0, 0.0, 0.0}};
static dm_segment bend = {
    0.0,       0.392437455580888, {0.0, 0.0, 0.0}, {1.0, 0.0, 0.0},
    1.0 / 3.0, {0.0, 0.0, 1.0}};

static dm_centreline line_of(dm_segment *segment)
{
    dm_centreline line = {0};

    line.segments = segment;
    line.count = 1;
    line.length = segment->length;
    line.vertical_limit = 0.17;
    return line;
}

static dm_sweep sweep_of(const dm_centreline *line, int sides)
{
    dm_sweep s = {0};

    s.line = line;
    s.sagitta = 1e-4;
    s.sides = sides;
    return s;
}

static mesh_report check_closed(const dm_mesh *mesh)
{
    mesh_report r = mesh_check(mesh);

    assert_true(mesh->closed);
    assert_int_equal(r.outside, 0);
    assert_int_equal(r.bad, 0);
    assert_int_equal(r.degenerate, 0);
    assert_int_equal(r.inward, 0);
    assert_int_equal(r.open_edges, 0);
    assert_true(r.volume > 0.0);
    return r;
}

static void sweep_straight_tube_has_counts_area_and_volume(void **state)
{
    dm_centreline line = line_of(&straight);
    dm_sweep s = sweep_of(&line, 24);
    dm_arena *arena = dm_arena_new();
    double circle = PI * RADIUS * RADIUS, side;
    mesh_report r;
    dm_mesh mesh;

    (void)state;
    dm_sweep_solid(&s, 0.0, 2.0, RADIUS);
    assert_int_equal(dm_sweep_mesh(&s, arena, &mesh), DM_OK);
    /* two caps and two rings; 2 n triangles round, n - 2 a cap */
    assert_int_equal(mesh.vertex_count, 4 * 24);
    assert_int_equal(mesh.index_count, 3 * (2 * 24 + 2 * 22));
    r = check_closed(&mesh);
    side = 2.0 * 24.0 * RADIUS * sin(PI / 24.0) * 2.0;
    assert_near(r.volume, RATIO_24 * circle * 2.0, 2e-8);
    assert_near(r.area, side + 2.0 * RATIO_24 * circle, 2e-6);
    dm_sweep_free(&s);
    dm_arena_free(arena);
}

static void arc_chords_textbook_bend_needs_nine(void **state)
{
    (void)state;
    /* D .130812485193629 at R 3: a sagitta of 0.1 mm needs a step of at most
     * .01632997698, 9 chords (computed independently with mpmath). */
    assert_int_equal(dm_arc_chords(&bend, 0.0, 1e-4), 9);
    assert_int_equal(dm_arc_chords(&straight, 0.0, 1e-4), 1);
    assert_int_equal(dm_arc_chords(&bend, 0.0, 10.0), 1);
    assert_int_equal(dm_arc_chords(&bend, 0.0, 1e-30), 4096);
}

static void tube_stations_chord_error_stays_below_sagitta(void **state)
{
    dm_centreline line = line_of(&bend);
    static const double sagitta[] = {1e-3, 1e-4, 1e-5};
    double t[4100];
    size_t i, k, n;

    (void)state;
    for (k = 0; k < 3; k++) {
        n = dm_tube_stations(&line, 0.01, 0.39, RADIUS, sagitta[k], t + 1,
                             4000);
        assert_true(n > 0 && n < 4000);
        t[0] = 0.01;
        t[n + 1] = 0.39;
        for (i = 0; i <= n; i++) {
            double half = 0.5 * (t[i + 1] - t[i]) / 3.0;

            assert_true(half > 0.0);
            /* of the outermost fibre */
            assert_true((3.0 + RADIUS) * (1.0 - cos(half)) <= sagitta[k]);
        }
    }
}

static void sweep_bent_tube_is_closed_with_pappus_volume(void **state)
{
    dm_centreline line = line_of(&bend);
    dm_sweep s = sweep_of(&line, 24);
    dm_arena *arena = dm_arena_new();
    mesh_report r;
    dm_mesh mesh;
    double angle;

    (void)state;
    dm_sweep_solid(&s, 0.0, bend.length, RADIUS);
    assert_int_equal(dm_sweep_mesh(&s, arena, &mesh), DM_OK);
    assert_int_equal(mesh.vertex_count, 24 * (2 + 10));
    assert_int_equal(mesh.index_count, 3 * (2 * 24 * 9 + 2 * 22));
    r = check_closed(&mesh);
    /* Between two section planes at an angle a every fibre at distance p
     * from the axis of the bend is a straight line at p cos(a/2), 2 p sin(a/2)
     * long: volume A R sin a (by Pappus' theorem A R a for the true bend). */
    angle = bend.length / 3.0 / 9.0;
    assert_near(r.volume,
                9.0 * RATIO_24 * PI * RADIUS * RADIUS * 3.0 * sin(angle), 1e-9);
    dm_sweep_free(&s);
    dm_arena_free(arena);
}

static void sweep_rings_and_cone_are_closed_with_volume(void **state)
{
    dm_centreline line = line_of(&straight);
    dm_sweep s = sweep_of(&line, 12);
    dm_arena *arena = dm_arena_new();
    double section = 6.0 * sin(PI / 6.0); /* of a 12-gon of radius 1 */
    double r = 0.04, b = 0.05;
    mesh_report got;
    dm_mesh mesh;

    (void)state;
    dm_sweep_cap(&s, 0.5, r, DM_SIDE_BACK);
    dm_sweep_band(&s, 0.5, r, 0.7, r);
    dm_sweep_band(&s, 0.7, r, 0.7, b);
    dm_sweep_band(&s, 0.7, b, 0.8, b);
    dm_sweep_band(&s, 0.8, b, 0.8, r);
    dm_sweep_band(&s, 0.8, r, 1.4, 0.01);
    dm_sweep_cap(&s, 1.4, 0.01, DM_SIDE_AHEAD);
    assert_int_equal(dm_sweep_mesh(&s, arena, &mesh), DM_OK);
    got = check_closed(&mesh);
    /* frustum h/3 (r1^2 + r1 r2 + r2^2) */
    assert_near(got.volume,
                section * (0.2 * r * r + 0.1 * b * b +
                           0.6 / 3.0 * (r * r + r * 0.01 + 1e-4)),
                1e-8);
    dm_sweep_free(&s);
    dm_arena_free(arena);
}

static void sweep_vertical_line_is_closed(void **state)
{
    dm_segment up = {0.0, 1.0, {0, 0, 0}, {0, 0, 1.0}, 0.0, {0, 0, 0}};
    dm_centreline line = line_of(&up);
    dm_sweep s = sweep_of(&line, 24);
    dm_arena *arena = dm_arena_new();
    dm_mesh mesh;

    (void)state;
    dm_sweep_solid(&s, 0.0, 1.0, RADIUS);
    assert_int_equal(dm_sweep_mesh(&s, arena, &mesh), DM_OK);
    check_closed(&mesh);
    dm_sweep_free(&s);
    dm_arena_free(arena);
}

static void mesh_check_finds_a_hole_and_a_flip(void **state)
{
    dm_centreline line = line_of(&straight);
    dm_sweep s = sweep_of(&line, 24);
    dm_arena *arena = dm_arena_new();
    dm_mesh mesh;
    uint32_t swap;

    (void)state;
    dm_sweep_solid(&s, 0.0, 2.0, RADIUS);
    assert_int_equal(dm_sweep_mesh(&s, arena, &mesh), DM_OK);
    mesh.index_count -= 3;
    assert_int_equal(mesh_check(&mesh).open_edges, 3);
    mesh.index_count += 3;
    swap = mesh.index[0];
    mesh.index[0] = mesh.index[1];
    mesh.index[1] = swap;
    assert_int_equal(mesh_check(&mesh).inward, 1);
    dm_sweep_free(&s);
    dm_arena_free(arena);
}

static void block_and_plate_have_volume(void **state)
{
    const dm_vec3 c[8] = {{0, 0, 0}, {0, 2, 0}, {0, 2, 3}, {0, 0, 3},
                          {4, 0, 0}, {4, 2, 0}, {4, 2, 3}, {4, 0, 3}};
    dm_arena *arena = dm_arena_new();
    mesh_report r;
    dm_mesh mesh;

    (void)state;
    assert_int_equal(dm_mesh_block(c, zero, arena, &mesh), DM_OK);
    r = check_closed(&mesh);
    assert_near(r.volume, 24.0, 1e-6);
    assert_near(r.area, 52.0, 1e-6);
    assert_int_equal(dm_mesh_plate(zero, (dm_vec3){0.6, 0.0, 0.8}, 0.3, 0.04,
                                   zero, arena, &mesh),
                     DM_OK);
    assert_near(check_closed(&mesh).volume, 0.09 * 0.04, 1e-8);
    dm_arena_free(arena);
}

static void block_between_skew_faces_touches_both(void **state)
{
    dm_face back = {0}, ahead = {0};
    dm_arena *arena = dm_arena_new();
    dm_vec3 c[8], x = {1.0, 0.0, 0.0};
    dm_mesh mesh;
    int k;

    (void)state;
    back.origin = (dm_vec3){-0.5, 0.0, 0.0};
    back.normal = dm_vec3_unit((dm_vec3){-1.0, 0.2, 0.0});
    ahead.origin = (dm_vec3){0.5, 0.0, 0.0};
    ahead.normal = dm_vec3_unit((dm_vec3){1.0, 0.0, 0.3});
    assert_true(dm_block_between(zero, x, &back, &ahead, 0.4, c));
    for (k = 0; k < 4; k++) {
        assert_near(dm_vec3_dot(dm_vec3_sub(c[k], back.origin), back.normal),
                    0.0, 1e-12);
        assert_near(
            dm_vec3_dot(dm_vec3_sub(c[k + 4], ahead.origin), ahead.normal), 0.0,
            1e-12);
    }
    assert_int_equal(dm_mesh_block(c, zero, arena, &mesh), DM_OK);
    /* the planes pass through the axis: the prism keeps its mean length */
    assert_near(check_closed(&mesh).volume, 0.16, 1e-7);
    ahead.normal = (dm_vec3){0.1, 0.995, 0.0};
    assert_false(dm_block_between(zero, x, &back, &ahead, 0.4, c));
    ahead = back;
    assert_false(dm_block_between(zero, x, &back, &ahead, 0.4, c));
    dm_arena_free(arena);
}

static void arrow_tip_is_at_the_mark(void **state)
{
    dm_vec3 tip = {1.0, 2.0, 3.0}, out = {0.0, 0.6, 0.8};
    dm_arena *arena = dm_arena_new();
    double low = 1.0, high = 0.0;
    dm_mesh mesh;
    size_t i;

    (void)state;
    assert_int_equal(
        dm_mesh_arrow(tip, out, 0.35, true, 24, zero, arena, &mesh), DM_OK);
    check_closed(&mesh);
    for (i = 0; i < mesh.vertex_count; i++) {
        const float *p = mesh.position + 3 * i;
        double along = dm_vec3_dot(
            dm_vec3_sub((dm_vec3){(double)p[0], (double)p[1], (double)p[2]},
                        tip),
            out);

        low = fmin(low, along);
        high = fmax(high, along);
    }
    assert_near(low, 0.0, 1e-6);
    assert_near(high, 0.35, 1e-6);
    dm_arena_free(arena);
}

static void curve_cut_keeps_arcs_and_ends(void **state)
{
    dm_segment s[3] = {{0.0, 1.0, {0, 0, 0}, {1, 0, 0}, 0.0, {0, 0, 0}},
                       {1.0, 0.5, {1, 0, 0}, {1, 0, 0}, 0.5, {0, 0, 1}},
                       {1.5, 1.0, {0, 0, 0}, {0, 0, 0}, 0.0, {0, 0, 0}}};
    dm_centreline line = {0};
    dm_arena *arena = dm_arena_new();
    dm_curve curve;

    (void)state;
    s[2].begin = (dm_vec3){1.0 + 2.0 * sin(0.25), 0.0, 2.0 - 2.0 * cos(0.25)};
    s[2].tangent = (dm_vec3){cos(0.25), 0.0, sin(0.25)};
    line.segments = s;
    line.count = 3;
    line.length = 2.5;
    assert_int_equal(dm_curve_cut(&line, 0.5, 2.0, zero, arena, &curve), DM_OK);
    assert_int_equal(curve.piece_count, 3);
    assert_int_equal(curve.point_count, 5);
    assert_false(curve.arc[0]);
    assert_true(curve.arc[1]);
    assert_false(curve.arc[2]);
    /* the middle of the arc lies at 0.125 rad about (1, 0, 2) */
    assert_near(curve.point[2].x, 1.0 + 2.0 * sin(0.125), 1e-12);
    assert_near(curve.point[2].z, 2.0 - 2.0 * cos(0.125), 1e-12);
    assert_near(curve.point[4].x, s[2].begin.x + 0.5 * cos(0.25), 1e-12);
    /* a cut at a joint leaves no sliver */
    assert_int_equal(dm_curve_cut(&line, 1.0, 1.5, zero, arena, &curve), DM_OK);
    assert_int_equal(curve.piece_count, 1);
    assert_true(curve.arc[0]);
    dm_arena_free(arena);
}

/* ---- heat ------------------------------------------------------------- */

static float cells[100];

static dm_heat_tube heat_of(const dm_centreline *line, dm_profile *profile)
{
    dm_heat_tube tube = {0};

    profile->clock = 0.0;
    profile->from = 0.0;
    profile->pitch = 0.02;
    profile->index = cells;
    profile->count = 100;
    tube.line = line;
    tube.profiles = profile;
    tube.profile_count = 1;
    tube.footprint = 0.06;
    tube.to = 2.0;
    tube.radius = RADIUS;
    tube.sagitta = 1e-4;
    tube.sides = 24;
    return tube;
}

/* Area of the triangles of one colour. */
static double area_of(const dm_mesh *mesh, const uint8_t colour[4])
{
    dm_mesh part = *mesh;
    uint32_t *index = calloc(mesh->index_count, sizeof *index);
    double area;
    size_t i;

    assert_non_null(index);
    part.index = index;
    part.index_count = 0;
    for (i = 0; i < mesh->index_count; i += 3)
        if (memcmp(mesh->colour + 4 * (size_t)mesh->index[i], colour, 4) == 0) {
            memcpy(index + part.index_count, mesh->index + i, 12);
            part.index_count += 3;
        }
    area = mesh_check(&part).area;
    free(index);
    return area;
}

static void heat_strip_claims_only_the_footprint(void **state)
{
    static const uint8_t sound[4] = {0xf7, 0xf7, 0xf7, 0xff};
    static const uint8_t air[4] = {0x7f, 0x3b, 0x08, 0xff};
    static const uint8_t grey[4] = {0x80, 0x80, 0x80, 0xff};
    dm_centreline line = line_of(&straight);
    dm_arena *arena = dm_arena_new();
    dm_profile profile;
    dm_heat_tube tube = heat_of(&line, &profile);
    double strip, rest;
    mesh_report r;
    dm_mesh mesh;
    size_t i;

    (void)state;
    for (i = 0; i < 100; i++)
        cells[i] = i >= 40 && i < 60 ? 1.0f : i >= 90 ? NAN : 0.0f;
    assert_int_equal(dm_heat_mesh(&tube, arena, &mesh), DM_OK);
    r = mesh_check(&mesh);
    assert_int_equal(r.bad + r.outside + r.degenerate + r.inward, 0);
    /* strip of 0.06 m of arc in 5 chords: 10.03 deg would be 4.01 facets */
    strip = 5.0 * 2.0 * RADIUS * sin(0.5 * 0.06 / RADIUS / 5.0);
    rest = 20.0 * 2.0 * RADIUS * sin(0.5 * (2.0 * PI - 0.06 / RADIUS) / 20.0);
    assert_near(area_of(&mesh, air), 0.4 * strip, 1e-6);
    assert_near(area_of(&mesh, sound), 1.4 * strip, 1e-6);
    assert_near(area_of(&mesh, grey), 0.2 * strip + 2.0 * rest, 1e-5);
    /* five runs, two rings of 6 vertices each; one gap */
    assert_int_equal(mesh.vertex_count, 4 * 2 * 6 + 2 * 21);
    dm_arena_free(arena);
}

static void heat_lines_side_by_side_meet_half_way(void **state)
{
    static const uint8_t grey[4] = {0x80, 0x80, 0x80, 0xff};
    dm_centreline line = line_of(&straight);
    dm_arena *arena = dm_arena_new();
    dm_profile profile[2];
    dm_heat_tube tube = heat_of(&line, profile);
    dm_mesh mesh;
    size_t i;

    (void)state;
    for (i = 0; i < 100; i++)
        cells[i] = 0.0f;
    profile[1] = profile[0];
    profile[1].clock = PI;
    tube.profile_count = 2;
    tube.profiles = profile;
    tube.footprint = 1.0; /* more than half the circumference */
    assert_int_equal(dm_heat_mesh(&tube, arena, &mesh), DM_OK);
    assert_near(area_of(&mesh, grey), 0.0, 1e-12);
    assert_near(mesh_check(&mesh).area,
                2.0 * 24.0 * 2.0 * RADIUS * sin(PI / 24.0), 1e-5);
    tube.profile_count = 0;
    assert_int_equal(dm_heat_mesh(&tube, arena, &mesh), DM_OK);
    assert_near(area_of(&mesh, grey),
                2.0 * 24.0 * 2.0 * RADIUS * sin(PI / 24.0), 1e-5);
    dm_arena_free(arena);
}

/* ---- memory ----------------------------------------------------------- */

static dm_status mesh_all(void *user)
{
    dm_centreline line = line_of(&bend);
    dm_sweep s = sweep_of(&line, 24);
    dm_arena *arena = dm_arena_new();
    dm_profile profile;
    dm_heat_tube tube = heat_of(&line, &profile);
    dm_status status = arena == NULL ? DM_NOMEM : DM_OK;
    dm_curve curve;
    dm_mesh mesh;

    (void)user;
    tube.to = bend.length;
    dm_sweep_solid(&s, 0.0, bend.length, RADIUS);
    if (status == DM_OK)
        status = dm_sweep_mesh(&s, arena, &mesh);
    if (status == DM_OK)
        status = dm_heat_mesh(&tube, arena, &mesh);
    if (status == DM_OK)
        status = dm_mesh_line(&line, 1e-4, zero, arena, &mesh);
    if (status == DM_OK)
        status = dm_curve_cut(&line, 0.0, 0.1, zero, arena, &curve);
    dm_sweep_free(&s);
    dm_arena_free(arena);
    return status;
}

static void meshing_any_failed_allocation_is_nomem(void **state)
{
    (void)state;
    assert_true(allocfail_each(mesh_all, NULL) > 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sweep_straight_tube_has_counts_area_and_volume),
        cmocka_unit_test(arc_chords_textbook_bend_needs_nine),
        cmocka_unit_test(tube_stations_chord_error_stays_below_sagitta),
        cmocka_unit_test(sweep_bent_tube_is_closed_with_pappus_volume),
        cmocka_unit_test(sweep_rings_and_cone_are_closed_with_volume),
        cmocka_unit_test(sweep_vertical_line_is_closed),
        cmocka_unit_test(mesh_check_finds_a_hole_and_a_flip),
        cmocka_unit_test(block_and_plate_have_volume),
        cmocka_unit_test(block_between_skew_faces_touches_both),
        cmocka_unit_test(arrow_tip_is_at_the_mark),
        cmocka_unit_test(curve_cut_keeps_arcs_and_ends),
        cmocka_unit_test(heat_strip_claims_only_the_footprint),
        cmocka_unit_test(heat_lines_side_by_side_meet_half_way),
        cmocka_unit_test(meshing_any_failed_allocation_is_nomem),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
