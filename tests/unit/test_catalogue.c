/* SPDX-License-Identifier: MIT
 * The shipped catalogues through the reader, and a user's own beside them.
 * That each value names its source: tests/validate/catalogue.py. */
#include "ductmark/section.h"
#include "model_text.h"

#define OWN DM_TEST_DATA "/own_bridge.xml"

static const double DEGREE = 0.017453292519943295769;

static dm_model *read_own(void)
{
    dm_model *m = NULL;
    said heard;

    said_init(&heard);
    dm_status status = dm_model_read(OWN, &heard.diag, &m);
    assert_string_equal(heard.text, "");
    assert_int_equal(status, DM_OK);
    return m;
}

static size_t from_file(const dm_place *place, const char *name)
{
    return strstr(place->file, name) != NULL;
}

static void every_shipped_type_is_read(void **state)
{
    size_t ducts = 0, strands = 0, deviators = 0, kinds[3] = {0};
    dm_model *m = read_own();

    (void)state;
    for (size_t i = 0; i < m->duct_type_count; i++) {
        const dm_duct_type *d = &m->duct_types[i];
        ducts += from_file(&d->place, "catalogue/ducts.xml");
        /* The wall is the least one where there is one. */
        if (from_file(&d->place, "catalogue/ducts.xml"))
            assert_true(d->wall_min == 0.0 || d->wall_min == d->wall);
    }
    for (size_t i = 0; i < m->strand_type_count; i++)
        strands +=
            from_file(&m->strand_types[i].place, "catalogue/strands.xml");
    for (size_t i = 0; i < m->deviator_type_count; i++) {
        const dm_deviator_type *v = &m->deviator_types[i];
        if (!from_file(&v->place, "catalogue/deviators.xml"))
            continue;
        deviators++;
        kinds[v->kind]++;
        /* A value from memory is no limit. */
        assert_near(v->radius_min, 0.0, 0.0);
        assert_near(v->angle_max, 0.0, 0.0);
    }
    /* Seven sizes in three ratios and nine metric ones; three kinds for three
     * sizes of tendon, each also for beside an anchorage. */
    assert_int_equal(ducts, 7 * 3 + 9);
    assert_int_equal(strands, 4);
    assert_int_equal(deviators, 18);
    assert_int_equal(kinds[DM_DEVIATOR_PIPE], 6);
    assert_int_equal(kinds[DM_DEVIATOR_FLARED], 6);
    assert_int_equal(kinds[DM_DEVIATOR_SADDLE], 6);
    dm_model_free(m);
}

static void own_types_serve_beside_the_shipped_ones(void **state)
{
    dm_model *m = read_own();
    const dm_tendon *t = &m->tendons[0];
    const dm_duct_type *shipped = dm_tendon_duct(m, t, 1.0);
    const dm_duct_type *own = dm_tendon_duct(m, t, 20.0);

    (void)state;
    assert_string_equal(shipped->id, "IPS4-DR17");
    assert_true(from_file(&shipped->place, "catalogue/ducts.xml"));
    assert_near(shipped->wall, 0.1143 / 17, 1e-12);
    assert_string_equal(own->id, "IPS4-MEASURED");
    assert_true(from_file(&own->place, "data/own_types.xml"));
    assert_near(own->wall_min, 0.0069, 1e-15);
    assert_near(own->wall, 0.0073, 1e-15);
    assert_near(own->wall_max, 0.0078, 1e-15);
    /* One tendon, two bores. */
    assert_near(dm_tendon_section(m, t, 1.0).bore_radius, 0.0504264705882353,
                1e-12);
    assert_near(dm_tendon_section(m, t, 20.0).bore_radius, 0.04985, 1e-15);
    const dm_deviator_type *v =
        &m->deviator_types[t->supports[1].deviator_type];
    assert_string_equal(v->id, "OWN-PIPE");
    assert_near(v->radius_min, 3.0, 0.0);
    assert_near(v->angle_max, 14 * DEGREE, 1e-15);
    assert_near(t->supports[1].radius, 3.2, 0.0);
    assert_near(t->supports[2].radius, 3.5, 0.0); /* beside an anchorage */
    dm_model_free(m);
}

/* What the user's own type states holds, and is blamed by its name. */
static void limits_of_an_own_type_hold(void **state)
{
    dm_buf text = text_of_file(OWN);
    dm_model *m = NULL;
    said heard;

    (void)state;
    text_edit(&text, "type=\"OWN-PIPE\"", "type=\"OWN-PIPE\" radius=\"2.9 m\"");
    said_init(&heard);
    assert_int_equal(dm_model_read_text(OWN, &text, &heard.diag, &m),
                     DM_GEOMETRY);
    assert_string_equal(heard.text,
                        "own_bridge.xml:14: error: deviator: the radius is "
                        "below the least of type OWN-PIPE, 3.000 m\n");
    assert_null(m);
    dm_buf_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_shipped_type_is_read),
        cmocka_unit_test(own_types_serve_beside_the_shipped_ones),
        cmocka_unit_test(limits_of_an_own_type_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
