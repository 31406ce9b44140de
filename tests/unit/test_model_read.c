/* SPDX-License-Identifier: MIT
 * The reference bridges of geometry/reference, read and compared with closed
 * forms; each file says where its formulas come from. */
#include "allocfail.h"
#include "ductmark/model.h"
#include "line.h"
#include "said.h"

#define REFERENCE DM_TEST_GEOMETRY "/reference/"
#define US_FOOT (1200.0 / 3937.0)
#define DEGREE (3.14159265358979323846 / 180.0)

static dm_model *read_quietly(const char *path)
{
    static said heard;
    dm_model *m = NULL;

    said_init(&heard);
    dm_status status = dm_model_read(path, &heard.diag, &m);
    if (heard.length > 0)
        print_error("%s", heard.text);
    assert_int_equal(status, DM_OK);
    assert_int_equal(heard.length, 0);
    assert_non_null(m);
    return m;
}

static const dm_face *face(const dm_tendon *t, const char *id)
{
    size_t i = dm_tendon_find_face(t, id);

    assert_int_not_equal(i, DM_NONE);
    assert_string_equal(t->faces[i].id, id);
    return &t->faces[i];
}

/* ---- straight.xml -------------------------------------------------------- */

static void straight_ids_and_parts_are_read(void **state)
{
    dm_model *m = read_quietly(REFERENCE "straight.xml");

    (void)state;
    assert_string_equal(m->uid, "5f0c9a3e-1c55-4d0e-9d3c-0b7f4f4d2a01");
    assert_string_equal(m->id, "STRAIGHT");
    assert_string_equal(m->name, "Reference: one straight length (invented)");
    assert_string_equal(dm_external_find(&m->external, "owner"), "B-0001");
    assert_string_equal(dm_external_find(&m->external, "drawing"), "sheet 12");
    assert_null(dm_external_find(&m->external, "field-tag"));
    assert_int_equal(strlen(m->sha256), 64);
    assert_int_equal(m->part_count, 2);
    assert_string_equal(m->parts[0].id, "SPAN1");
    assert_string_equal(m->parts[0].kind, "span");
    assert_string_equal(m->parts[0].name, "Span 1");
    assert_int_equal(m->parts[0].parent, DM_NONE);
    assert_string_equal(dm_external_find(&m->parts[0].external, "ifc-guid"),
                        "0000000000000000000001");
    assert_string_equal(m->parts[1].id, "CELL1");
    assert_int_equal(m->parts[1].parent, 0);
    const dm_tendon *t = &m->tendons[0];
    assert_int_equal(m->tendon_count, 1);
    assert_int_equal(dm_model_find_tendon(m, "T1"), 0);
    assert_int_equal(dm_model_find_tendon(m, "T2"), DM_NONE);
    assert_string_equal(t->name, "Tendon 1");
    assert_string_equal(t->where, "left web, top row");
    assert_int_equal(t->part, 1);
    assert_int_equal(t->strands, 0);
    assert_int_equal(t->strand_type, DM_NONE);
    assert_int_equal(t->basis, DM_BASIS_SURVEYED);
    assert_string_equal(dm_external_find(&t->external, "field-tag"), "T-1-L");
    assert_string_equal(t->supports[0].name, "Pier 1");
    assert_string_equal(t->supports[1].name, "A2");
    assert_string_equal(dm_external_find(&t->supports[0].external, "drawing"),
                        "detail A");
    assert_int_equal(t->place.line, 17);
    dm_model_free(m);
}

static void straight_us_feet_and_map_are_exact(void **state)
{
    dm_model *m = read_quietly(REFERENCE "straight.xml");
    const dm_tendon *t = &m->tendons[0];

    (void)state;
    assert_int_equal(m->epsg, 2263);
    assert_int_equal(m->vertical_epsg, 6360);
    assert_true(m->map.given);
    assert_near(m->map.eastings, 1e6 * US_FOOT, 1e-9);
    assert_near(m->map.northings, 200000.5 * US_FOOT, 1e-9);
    assert_near(m->map.height, 12.25 * US_FOOT, 1e-14);
    assert_near(m->map.x_axis_abscissa, 0.6, 0.0);
    assert_near(m->map.x_axis_ordinate, 0.8, 0.0);
    assert_near(m->map.scale, 0.99996, 0.0);
    assert_points_near(t->supports[0].point,
                       (dm_vec3){10 * US_FOOT, 20 * US_FOOT, 30 * US_FOOT},
                       1e-14);
    assert_near(t->line.length, 100.0 * US_FOOT, 1e-12);
    assert_int_equal(t->line.count, 1);
    assert_near(t->supports[0].u, 0.005, 1e-17);
    assert_near(t->supports[0].t, 0.0, 0.0);
    assert_near(t->supports[1].t, 100.0 * US_FOOT, 1e-12);
    /* ft = 0.3048 m and in = 0.0254 m exactly, beside survey feet. */
    assert_near(face(t, "A1f")->t, 2 * 0.3048, 1e-12);
    assert_near(face(t, "A2f")->t, 100.0 * US_FOOT - 24 * 0.0254, 1e-12);
    assert_near(face(t, "A1f")->u, 0.004, 1e-17);
    assert_near(face(t, "A2f")->u, 0.0, 0.0); /* not stated */
    assert_false(face(t, "A1f")->touchable);
    assert_true(face(t, "A2f")->touchable);
    assert_near(m->duct_types[0].od, 4.5 * 0.0254, 1e-16);
    assert_near(m->duct_types[0].wall, 0.265 * 0.0254, 1e-17);
    assert_near(m->duct_types[0].wall_min, 0.0, 0.0);
    dm_model_free(m);
}

static void straight_ducts_follow_each_other(void **state)
{
    dm_model *m = read_quietly(REFERENCE "straight.xml");
    const dm_tendon *t = &m->tendons[0];

    (void)state;
    assert_int_equal(t->duct_count, 2);
    assert_near(t->ducts[0].from, 0.0, 0.0);
    assert_near(t->ducts[0].to, 10.0, 0.0);
    assert_near(t->ducts[1].from, 10.0, 0.0);
    assert_near(t->ducts[1].to, t->line.length, 0.0);
    dm_model_free(m);
}

/* ---- one_deviator.xml ---------------------------------------------------- */

#define LEG sqrt(102.25)
#define DEFLECTION (2.0 * atan(0.15))
#define TANGENT 0.45 /* 3 m x tan(D/2) */

static void one_deviator_line_is_the_simple_curve(void **state)
{
    dm_model *m = read_quietly(REFERENCE "one_deviator.xml");
    const dm_tendon *t = &m->tendons[0];
    const dm_support *d = &t->supports[1];
    double length = 2.0 * (LEG - TANGENT) + 3.0 * DEFLECTION;

    (void)state;
    assert_near(t->line.length, length, 1e-12);
    assert_int_equal(t->line.count, 3);
    assert_int_equal(d->arc, 1);
    assert_near(d->deflection, DEFLECTION, 1e-12);
    assert_near(d->radius, 3.0, 0.0);
    assert_int_equal(t->supports[0].anchorage_kind, DM_ANCHORAGE_TENSIONING);
    assert_near(d->t, 0.5 * length, 1e-12);
    assert_near(t->line.segments[1].t0, LEG - TANGENT, 1e-12);
    assert_points_near(m->direction, (dm_vec3){1, 0, 0}, 1e-15);
    dm_model_free(m);
}

static void one_deviator_faces_are_planes(void **state)
{
    dm_model *m = read_quietly(REFERENCE "one_deviator.xml");
    const dm_tendon *t = &m->tendons[0];
    double slope = LEG / 10.0; /* metres of duct per metre of plan */
    double r = 0.05715;
    const dm_face *b = face(t, "D1b"), *a = face(t, "D1a");

    (void)state;
    assert_int_equal(t->face_count, 4);
    for (size_t i = 1; i < t->face_count; i++)
        assert_true(t->faces[i].t > t->faces[i - 1].t);
    /* Plumb, so that the offset is plan length. */
    assert_near(face(t, "A1f")->t, 0.6 * slope, 1e-12);
    assert_near(b->t, 9.5 * slope, 1e-12);
    assert_true(b->normal_assumed);
    assert_points_near(b->normal, (dm_vec3){-1, 0, 0}, 1e-15);
    assert_int_equal(b->side, DM_SIDE_BACK);
    assert_int_equal(b->support, 1);
    assert_near(b->u, 0.006, 1e-17);
    /* Square to its leg, so that the offset is duct length. */
    assert_false(a->normal_assumed);
    assert_points_near(a->normal, (dm_vec3){10 / LEG, 0, 1.5 / LEG}, 1e-15);
    assert_near(a->t, t->line.length - (LEG - 0.5), 1e-12);
    /* A plumb face meets the crown line of a falling duct r tan(slope) before
     * and the invert as far behind; a square one meets all lines alike. */
    assert_near(dm_face_station(t, b, r, 0.0), b->t - 0.15 * r, 1e-12);
    assert_near(dm_face_station(t, b, r, 180 * DEGREE), b->t + 0.15 * r, 1e-12);
    assert_near(dm_face_station(t, b, r, 90 * DEGREE), b->t, 1e-12);
    assert_near(dm_face_station(t, a, r, 0.0), a->t, 1e-12);
    assert_near(dm_face_station(t, b, 0.0, 0.0), b->t, 0.0);
    dm_model_free(m);
}

static void one_deviator_readable_ends_count_from_faces(void **state)
{
    dm_model *m = read_quietly(REFERENCE "one_deviator.xml");
    const dm_tendon *t = &m->tendons[0];

    (void)state;
    assert_true(isnan(t->supports[0].readable_back));
    assert_near(t->supports[0].readable_ahead, face(t, "A1f")->t + 0.15, 1e-12);
    assert_near(t->supports[1].readable_back, face(t, "D1b")->t - 0.25, 1e-12);
    assert_near(t->supports[1].readable_ahead, face(t, "D1a")->t - 0.02, 1e-12);
    /* Not stated: from the face on. */
    assert_near(t->supports[2].readable_back, face(t, "A2f")->t, 0.0);
    assert_true(isnan(t->supports[2].readable_ahead));
    dm_model_free(m);
}

static void one_deviator_fixtures_count_away_from_the_face(void **state)
{
    dm_model *m = read_quietly(REFERENCE "one_deviator.xml");
    const dm_tendon *t = &m->tendons[0];
    const dm_fixture *f = t->fixtures;
    double b = face(t, "D1b")->t, a = face(t, "D1a")->t;

    (void)state;
    assert_int_equal(t->fixture_count, 3); /* by increasing begin */
    assert_string_equal(f[0].id, "F1");
    assert_int_equal(f[0].kind, DM_FIXTURE_COLLAR);
    assert_near(f[0].from, 5.0, 0.0);
    assert_near(f[0].to, 5.1, 1e-15);
    assert_near(f[0].clock_from, 0.0, 0.0);
    assert_near(f[0].clock_to, 360 * DEGREE, 1e-15);
    assert_string_equal(f[1].id, "F2");
    assert_int_equal(f[1].kind, DM_FIXTURE_WRAP);
    assert_near(f[1].from, b - 1.25, 1e-12);
    assert_near(f[1].to, b - 1.0, 1e-12);
    assert_near(f[1].clock_from, 300 * DEGREE, 1e-14);
    assert_near(f[1].clock_to, 60 * DEGREE, 1e-14);
    assert_string_equal(f[2].id, "F3");
    assert_int_equal(f[2].kind, DM_FIXTURE_VENT);
    assert_near(f[2].from, a + 2.0, 1e-12);
    assert_near(f[2].to, a + 2.1, 1e-12);
    dm_model_free(m);
}

static void one_deviator_ducts_strands_and_tapes(void **state)
{
    dm_model *m = read_quietly(REFERENCE "one_deviator.xml");
    const dm_tendon *t = &m->tendons[0];

    (void)state;
    assert_int_equal(t->duct_count, 3);
    assert_string_equal(dm_tendon_duct(m, t, -1.0)->id, "D");
    assert_string_equal(dm_tendon_duct(m, t, 9.59)->id, "D");
    assert_string_equal(dm_tendon_duct(m, t, 9.6)->id, "PIPE");
    assert_string_equal(dm_tendon_duct(m, t, 10.5)->id, "D");
    assert_string_equal(dm_tendon_duct(m, t, 1e3)->id, "D");
    assert_string_equal(dm_tendon_duct(m, t, 10.0)->material, "steel");
    assert_int_equal(t->strand_side_count, 1);
    assert_near(t->strand_sides[0].from, 9.0, 0.0);
    assert_near(t->strand_sides[0].to, 11.0, 0.0);
    assert_near(t->strand_sides[0].clock, 0.0, 0.0);
    assert_near(t->strand_sides[0].u, 20 * DEGREE, 1e-15);
    assert_int_equal(t->measured_count, 2);
    assert_int_equal(t->measured[0].face_from, dm_tendon_find_face(t, "A1f"));
    assert_int_equal(t->measured[0].face_to, dm_tendon_find_face(t, "D1b"));
    assert_near(t->measured[0].clock, 0.0, 0.0);
    assert_near(t->measured[0].value, 9.0, 0.0);
    assert_near(t->measured[0].u, 0.002, 1e-17);
    assert_near(t->measured[1].clock, 90 * DEGREE, 1e-15);
    assert_near(t->measured[1].value, 29.5 * 0.3048, 1e-14);
    assert_true(isnan(t->measured[1].u)); /* not stated */
    assert_int_equal(m->deviator_types[0].kind, DM_DEVIATOR_PIPE);
    assert_near(m->deviator_types[0].radius_min, 2.5, 0.0);
    assert_near(m->deviator_types[0].angle_max, 20 * DEGREE, 1e-15);
    dm_model_free(m);
}

/* ---- two_deviators.xml --------------------------------------------------- */

static void two_deviators_agree_with_the_check_values(void **state)
{
    dm_model *m = read_quietly(REFERENCE "two_deviators.xml");
    const dm_tendon *t = &m->tendons[0];
    vec_file *file = vec_open("centreline.vec");
    vec_case *c = vec_find(file, "C3");
    const dm_segment *s = t->line.segments;

    (void)state;
    assert_int_equal(t->line.count, 5);
    vec_check(c, "length", t->line.length);
    vec_check(c, "d1", t->supports[1].deflection);
    vec_check(c, "d2", t->supports[2].deflection);
    vec_check(c, "s_pc1", s[1].t0);
    vec_check(c, "s_pt1", s[2].t0);
    vec_check(c, "s_pc2", s[3].t0);
    vec_check(c, "s_pt2", s[4].t0);
    vec_check(c, "L1", s[1].length);
    vec_check(c, "L2", s[3].length);
    vec_check_point(c, "pc1", dm_centreline_point(&t->line, s[1].t0));
    vec_check_point(c, "pt1", dm_centreline_point(&t->line, s[2].t0));
    vec_check_point(c, "mid1", dm_centreline_point(&t->line, t->supports[1].t));
    vec_check_point(c, "mid2", dm_centreline_point(&t->line, t->supports[2].t));
    vec_check_point(c, "at_20", dm_centreline_point(&t->line, 20.0));
    dm_model_free(m);
    /* What else the case holds is looked at by test_centreline; vec_close
     * would ask for all of it here too. */
    for (size_t i = 0; i < c->count; i++)
        c->fields[i].used = true;
    for (size_t i = 0; i < file->count; i++)
        for (size_t k = 0; k < file->cases[i].count; k++)
            file->cases[i].fields[k].used = true;
    vec_close(file);
}

static const dm_duct_type *duct_type(const dm_model *m, const char *id)
{
    for (size_t i = 0; i < m->duct_type_count; i++)
        if (strcmp(m->duct_types[i].id, id) == 0)
            return &m->duct_types[i];
    fail_msg("no duct type %s", id);
    return NULL;
}

/* Diameter over ratio: the DR rule of ASTM F714, whose OD list the catalogue
 * takes from ANSI B36.10; bore from both, computed independently (mpmath). */
static void catalogues_are_read_by_href(void **state)
{
    dm_model *m = read_quietly(REFERENCE "two_deviators.xml");
    const dm_tendon *t = &m->tendons[0];
    const dm_duct_type *d = duct_type(m, "IPS4-DR17");

    (void)state;
    assert_ptr_equal(dm_tendon_duct(m, t, 1.0), d);
    assert_near(d->od, 0.1143, 1e-15);
    assert_near(d->wall, 0.00672352941176471, 1e-15);
    assert_near(d->od - 2 * d->wall, 0.100852941176471, 1e-15);
    assert_near(d->wall_min, d->wall, 0.0);
    assert_string_equal(d->material, "hdpe");
    assert_non_null(strstr(d->place.file, "catalogue/ducts.xml"));
    assert_near(duct_type(m, "DIPS6-DR17")->od, 6.9 * 0.0254, 1e-15);
    for (size_t i = 0; i < m->duct_type_count; i++) {
        const dm_duct_type *x = &m->duct_types[i];
        double ratio = x->od / x->wall;
        /* Stated to 0.1 mm in the metric sizes. */
        bool dr17 = fabs(ratio - 17.0) < 0.45, dr11 = fabs(ratio - 11.0) < 0.1;
        if (!dr17 && !dr11 && fabs(ratio - 13.5) > 1e-9)
            fail_msg("%s: diameter to wall is %g", x->id, ratio);
    }
    assert_string_equal(m->strand_types[t->strand_type].id, "A416-06");
    assert_near(m->strand_types[t->strand_type].area, 140e-6, 1e-18);
    assert_int_equal(t->strands, 19);
    const dm_deviator_type *v =
        &m->deviator_types[t->supports[1].deviator_type];
    assert_string_equal(v->id, "PIPE-19x06");
    assert_near(v->radius, 3.0, 0.0);
    assert_near(v->angle_max, 0.0, 0.0);            /* not stated */
    assert_near(t->supports[2].radius, 3.0, 1e-15); /* its own, in mm */
    dm_model_free(m);
}

/* ---- memory -------------------------------------------------------------- */

static dm_status read_and_free(void *user)
{
    static said heard;
    dm_model *m = NULL;

    said_init(&heard);
    dm_status status = dm_model_read(user, &heard.diag, &m);
    assert_true((status == DM_OK) == (m != NULL));
    if (status == DM_NOMEM)
        assert_true(heard.diag.errors > 0); /* it was said */
    dm_model_free(m);
    return status;
}

/* Our own allocations: what libxml2 and OpenSSL ask for inside their shared
 * libraries does not pass here. */
static void each_failed_allocation_is_no_memory(void **state)
{
    char path[] = REFERENCE "two_deviators.xml";
    char other[] = REFERENCE "one_deviator.xml";

    (void)state;
    assert_true(allocfail_each(read_and_free, path) >= 8);
    assert_true(allocfail_each(read_and_free, other) >= 4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(straight_ids_and_parts_are_read),
        cmocka_unit_test(straight_us_feet_and_map_are_exact),
        cmocka_unit_test(straight_ducts_follow_each_other),
        cmocka_unit_test(one_deviator_line_is_the_simple_curve),
        cmocka_unit_test(one_deviator_faces_are_planes),
        cmocka_unit_test(one_deviator_readable_ends_count_from_faces),
        cmocka_unit_test(one_deviator_fixtures_count_away_from_the_face),
        cmocka_unit_test(one_deviator_ducts_strands_and_tapes),
        cmocka_unit_test(two_deviators_agree_with_the_check_values),
        cmocka_unit_test(catalogues_are_read_by_href),
        cmocka_unit_test(each_failed_allocation_is_no_memory),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
