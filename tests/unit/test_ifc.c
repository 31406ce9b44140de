/* SPDX-License-Identifier: MIT
 * The IFC file of the fixture, read back as text: identity, map conversion,
 * structure, memory. The schema's rules are checked by ifc_check.py and the
 * places by a web viewer's reader (validate/ifc.sh). */
#include "near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "base/uuid.h"
#include "scene_fixture.h"
#include "written.h"

static dm_external_id owner_id = {"ifc-guid", "3gQ_ajPL1NHvrX4qQIpAW6"};
static dm_external_id same_id = {"ifc-guid", "3gQ_ajPL1NHvrX4qQIpAW6"};

/* The fixture's scene, built anew and written; the text in *file. */
static void write_ifc(scene_fixture *f, dm_buf *file)
{
    dm_scene *scene = NULL;
    written w;

    assert_int_equal(dm_scene_build(&f->model, &f->survey, &f->criteria,
                                    f->results, &f->job, NULL, &scene),
                     DM_OK);
    f->delivery.scene = scene;
    assert_int_equal(written_new(&f->delivery, "ifc", &w), DM_OK);
    written_read(&w, "model.ifc", file);
    written_free(&w);
    dm_scene_free(scene);
    f->delivery.scene = NULL;
}

static size_t count(const dm_buf *file, const char *piece)
{
    const char *s = file->data;
    size_t n = 0;

    while ((s = strstr(s, piece)) != NULL) {
        n++;
        s += strlen(piece);
    }
    return n;
}

static void ids_are_uids_and_unique(void **state)
{
    scene_fixture *f = scene_fixture_new();
    size_t i, n = 0, capacity = 0;
    char(*ids)[23] = NULL;
    dm_buf file;
    char guid[23];
    dm_uuid uid;
    char *s;

    (void)state;
    write_ifc(f, &file);
    /* Every IfcRoot: NAME('22 characters',$, */
    for (s = file.data; (s = strstr(s, "',$,")) != NULL; s += 4) {
        static const char value[] = "IFCPROPERTYSINGLEVALUE";

        if (s - file.data < 48 || s[-23] != '\'' || s[-24] != '(' ||
            memcmp(s - 24 - strlen(value), value, strlen(value)) == 0)
            continue; /* a name of a property can be as long */
        assert_true(DM_GROW(ids, n, capacity));
        memcpy(ids[n], s - 22, 22);
        ids[n++][22] = '\0';
    }
    assert_true(n > 60);
    qsort(ids, n, sizeof *ids, (int (*)(const void *, const void *))strcmp);
    for (i = 1; i < n; i++)
        assert_string_not_equal(ids[i - 1], ids[i]);
    free(ids);
    /* The indication's own uid is its element's GlobalId. */
    assert_true(dm_uuid_parse(f->results[0].indications->items[0].uid, &uid));
    dm_uuid_ifc(uid, guid);
    s = strstr(file.data, guid);
    assert_non_null(s);
    assert_memory_equal(s - 19, "IFCSURFACEFEATURE('", 19);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static bool is_entity(const dm_buf *file, const char *entity, const char *guid)
{
    char wanted[80];

    snprintf(wanted, sizeof wanted, "=%s('%s'", entity, guid);
    return strstr(file->data, wanted) != NULL;
}

static void owners_guid_is_kept_where_it_can_be(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_external_ids *first = &f->model.tendons[0].external;
    dm_external_ids *second = &f->model.tendons[1].external;
    dm_buf file;

    (void)state;
    *first = (dm_external_ids){&owner_id, 1};
    write_ifc(f, &file);
    assert_true(is_entity(&file, "IFCTENDON", owner_id.value));
    assert_int_equal(count(&file, "IFCIDENTIFIER('3gQ_ajPL1NHvrX4qQIpAW6')"),
                     1);
    dm_buf_free(&file);

    *second = (dm_external_ids){&same_id, 1}; /* two objects claim it */
    write_ifc(f, &file);
    assert_false(is_entity(&file, "IFCTENDON", owner_id.value));
    assert_int_equal(count(&file, "IFCIDENTIFIER('3gQ_ajPL1NHvrX4qQIpAW6')"),
                     2);
    dm_buf_free(&file);

    second->count = 0;
    owner_id.value = "4gQ_ajPL1NHvrX4qQIpAW6"; /* more than 128 bits */
    write_ifc(f, &file);
    assert_false(is_entity(&file, "IFCTENDON", owner_id.value));
    dm_buf_free(&file);
    owner_id.value = "too short";
    write_ifc(f, &file);
    assert_int_equal(count(&file, "IFCIDENTIFIER('too short')"), 1);
    dm_buf_free(&file);
    owner_id.value = same_id.value;
    scene_fixture_free(f);
}

/* An owner may hand back a GlobalId that this program gave to another. */
static void owners_guid_of_another_object_is_not_taken(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_external_id id = {"ifc-guid", NULL};
    char guid[23];
    dm_uuid uid;
    dm_buf file;

    (void)state;
    assert_true(dm_uuid_parse(f->results[0].indications->items[0].uid, &uid));
    dm_uuid_ifc(uid, guid);
    id.value = guid;
    f->model.tendons[1].external = (dm_external_ids){&id, 1};
    write_ifc(f, &file);
    assert_true(is_entity(&file, "IFCSURFACEFEATURE", guid));
    assert_false(is_entity(&file, "IFCTENDON", guid));
    dm_buf_free(&file);
    scene_fixture_free(f);
}

/* ISO 16739-1, IfcMapConversion: E = Eastings + Scale (x a - y o),
 * N = Northings + Scale (x o + y a), H = OrthogonalHeight + Scale z. A world
 * point converted by the bridge file's numbers and a local one by the IFC
 * file's must be the same. */
static void check_map(double grid, const char *entity)
{
    const double a = 0.8, o = 0.6, k = 0.9996;
    double factor[3] = {1.0, 1.0, 1.0};
    scene_fixture *f = scene_fixture_new();
    dm_vec3 origin = {0.0, 0.0, 0.0}, local = {3.0, -7.0, 2.5}, p;
    double e, n, h, x, y, scale;
    dm_scene *scene = NULL;
    dm_buf file;
    char *s;

    f->model.map = (dm_map_conversion){.given = true,
                                       .eastings = 1000.0,
                                       .northings = 2000.0,
                                       .height = 30.0,
                                       .x_axis_abscissa = a,
                                       .x_axis_ordinate = o,
                                       .scale = k,
                                       .grid_factor = grid};
    assert_int_equal(
        dm_scene_build(&f->model, NULL, NULL, NULL, &f->job, NULL, &scene),
        DM_OK);
    origin = scene->origin;
    dm_scene_free(scene);
    write_ifc(f, &file);
    s = strstr(file.data, entity);
    assert_non_null(s);
    s = strchr(strchr(s, ',') + 1, ',');
    e = strtod(s + 1, &s);
    n = strtod(s + 1, &s);
    h = strtod(s + 1, &s);
    x = strtod(s + 1, &s);
    y = strtod(s + 1, &s);
    scale = strtod(s + 1, &s);
    for (int i = 0; i < 3 && *s == ','; i++)
        factor[i] = strtod(s + 1, &s);
    assert_int_equal(*s, ')');
    p = dm_vec3_add(origin, local);
    assert_near(e + scale * factor[0] * (local.x * x - local.y * y),
                1000.0 + k * grid * (p.x * a - p.y * o), 1e-6);
    assert_near(n + scale * factor[1] * (local.x * y + local.y * x),
                2000.0 + k * grid * (p.x * o + p.y * a), 1e-6);
    assert_near(h + scale * factor[2] * local.z, 30.0 + k * p.z, 1e-6);
    assert_int_equal(count(&file, "IFCPROJECTEDCRS('EPSG:25832'"), 1);
    assert_int_equal(count(&file, "'EPSG:7837'"), 1);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void map_conversion_takes_in_the_origin(void **state)
{
    (void)state;
    check_map(1.0, "=IFCMAPCONVERSION(");
    check_map(0.99988, "=IFCMAPCONVERSIONSCALED(");
}

static void no_crs_is_not_invented(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_buf file;

    (void)state;
    f->model.epsg = f->model.vertical_epsg = 0;
    write_ifc(f, &file);
    assert_int_equal(count(&file, "CRS("), 0);
    assert_int_equal(count(&file, "IFCMAPCONVERSION"), 0);
    /* The site stands where the bridge file says: textbook tendon of 40 m at
     * 500 000, 6 600 000. */
    assert_int_equal(count(&file, "IFCCARTESIANPOINT((500020.,6600000.,101.))"),
                     1);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void elements_are_what_the_scene_has(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_buf file;

    (void)state;
    write_ifc(f, &file);
    /* Tendon 1 has 9 lengths, 3 of them tested; tendon 2 one, not tested;
     * two collars are proxies as are four deviators. */
    assert_int_equal(count(&file, "=IFCTENDON("), 2);
    assert_int_equal(count(&file, "=IFCTENDONCONDUIT("), 10);
    assert_int_equal(count(&file, "=IFCTENDONANCHOR("), 4);
    assert_int_equal(count(&file, "=IFCBUILDINGELEMENTPROXY("), 6);
    assert_int_equal(count(&file, "'UNTESTED'"), 5);
    assert_int_equal(count(&file, "'STRAND_MASKED'"), 1);
    assert_int_equal(count(&file, "'NOT_VALID'"), 1);
    assert_int_equal(count(&file, "'NOT_RECONCILED'"), 1);
    assert_int_equal(count(&file, ".DEFECT."), 1);
    assert_int_equal(count(&file, "'TAP_POINT'"), 1);
    assert_int_equal(count(&file, "=IFCRELADHERESTOELEMENT("), 9);
    assert_int_equal(count(&file, "=IFCTENDONTYPE("), 1);
    assert_int_equal(count(&file, "=IFCBUILTSYSTEM("), 3);
    assert_int_equal(count(&file, "'State',$,IFCLABEL('indicated')"), 1);
    assert_int_equal(count(&file, "'M\\X2\\00FC\\X0\\hlbach \"test\" bridge'"),
                     4); /* project, site, bridge, its Name property */
    dm_buf_free(&file);
    scene_fixture_free(f);
}

/* A length that begins 20 mm before the end of a bend holds an arc of 20 mm: a
 * viewer was seen to leave such arcs out, lines it draws. */
static void short_arcs_are_lines(void **state)
{
    scene_fixture *f = scene_fixture_new();
    const dm_segment *bend = &f->model.tendons[0].line.segments[1];
    dm_cover_length *cover = f->results[0].indications->cover;
    dm_buf file;

    (void)state;
    write_ifc(f, &file);
    assert_true(bend->kappa > 0.0);
    /* Two bends on two tendons, in the axis and in a duct length each. */
    assert_int_equal(count(&file, "IFCARCINDEX(("), 8);
    assert_int_equal(count(&file, "IFCLINEINDEX((1,2,3))"), 0);
    dm_buf_free(&file);
    cover[6].to = cover[7].from = bend->t0 + bend->length - 0.02;
    write_ifc(f, &file);
    assert_int_equal(count(&file, "IFCARCINDEX(("), 8);
    assert_int_equal(count(&file, "IFCLINEINDEX((1,2,3))"), 1);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

/* What is drilled at must not be what is to be scanned again. */
static void tap_type_follows_the_advice(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_tap *tap = f->results[0].taps->items;
    dm_buf file;

    (void)state;
    tap->advice = DM_ADVICE_RESCAN;
    write_ifc(f, &file);
    assert_int_equal(count(&file, "'TAP_POINT'"), 0);
    assert_int_equal(count(&file, "'RESCAN_POINT'"), 1);
    dm_buf_free(&file);
    tap->advice = DM_ADVICE_HAND_TOOL;
    write_ifc(f, &file);
    assert_int_equal(count(&file, "'TAP_POINT'"), 0);
    assert_int_equal(count(&file, "'HAND_TOOL_POINT'"), 1);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void unresolved_is_no_defect(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_buf file;

    (void)state;
    f->results[0].indications->items[0].kind = DM_KIND_UNRESOLVED;
    write_ifc(f, &file);
    assert_int_equal(count(&file, ".DEFECT."), 0);
    assert_int_equal(count(&file, "'UNRESOLVED'"), 1);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void same_input_same_bytes(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_buf one, two;

    (void)state;
    write_ifc(f, &one);
    write_ifc(f, &two);
    assert_int_equal(one.length, two.length);
    assert_memory_equal(one.data, two.data, one.length);
    assert_int_equal(count(&one, "'2030-06-01T00:00:00'"), 1);
    dm_buf_free(&one);
    dm_buf_free(&two);
    scene_fixture_free(f);
}

static dm_status write_once(void *user)
{
    const scene_fixture *f = user;
    written w;
    dm_status status = written_new(&f->delivery, "ifc", &w);

    if (status == DM_OK)
        written_free(&w);
    return status;
}

static void out_of_memory_anywhere_is_told(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_scene *scene = NULL;

    (void)state;
    assert_int_equal(dm_scene_build(&f->model, &f->survey, &f->criteria,
                                    f->results, &f->job, NULL, &scene),
                     DM_OK);
    f->delivery.scene = scene;
    assert_true(allocfail_each(write_once, f) > 5);
    dm_scene_free(scene);
    scene_fixture_free(f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ids_are_uids_and_unique),
        cmocka_unit_test(owners_guid_is_kept_where_it_can_be),
        cmocka_unit_test(owners_guid_of_another_object_is_not_taken),
        cmocka_unit_test(map_conversion_takes_in_the_origin),
        cmocka_unit_test(no_crs_is_not_invented),
        cmocka_unit_test(elements_are_what_the_scene_has),
        cmocka_unit_test(short_arcs_are_lines),
        cmocka_unit_test(tap_type_follows_the_advice),
        cmocka_unit_test(unresolved_is_no_defect),
        cmocka_unit_test(same_input_same_bytes),
        cmocka_unit_test(out_of_memory_anywhere_is_told),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
