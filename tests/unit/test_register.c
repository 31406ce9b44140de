/* SPDX-License-Identifier: MIT
 * Register files, as an earlier run wrote them. Faults: test_bad_input. */
#define _POSIX_C_SOURCE 200809L
#include "allocfail.h"
#include "ductmark/job.h"
#include "said.h"
#include "scratch.h"

#define PI 3.14159265358979323846

static const char text[] =
    "<register version='1' bridge='11111111-2222-4333-8444-555555555555' "
    "tool='t'>\n"
    "<entry uid='cccccccc-2222-4333-8444-555555555555' key='T1-I01' "
    "tendon='T1' kind='void-like' from='3 m' to='3400 mm' u-from='5 mm' "
    "u-to='6 mm' clock='3:00' first-survey='a' last-survey='b' "
    "state='confirmed'/>\n"
    "<entry uid='CCCCCCCC-2222-4333-8444-555555555556' key='T1-I02' "
    "tendon='T1' kind='unresolved' from='-0.1 m' to='0 m' clock='0 deg' "
    "first-survey='a' last-survey='a' state='refuted'/>\n"
    "</register>\n";
static const char empty[] =
    "<register version='1' bridge='11111111-2222-4333-8444-555555555555'/>";

static dm_model *good_bridge(void)
{
    dm_model *model = NULL;

    assert_int_equal(
        dm_model_read(DM_TEST_DATA "/good_bridge.xml", NULL, &model), DM_OK);
    return model;
}

static void entries_are_read(void **state)
{
    scratch files;
    said s;
    dm_model *model = good_bridge();
    dm_register *r = NULL;
    const dm_entry *e;

    (void)state;
    scratch_init(&files);
    said_init(&s);
    assert_int_equal(dm_register_read(scratch_file(&files, "r.xml", text),
                                      model, &s.diag, &r),
                     DM_OK);
    assert_string_equal(s.text, "");
    assert_int_equal(r->count, 2);
    e = &r->entries[0];
    assert_string_equal(e->uid, "cccccccc-2222-4333-8444-555555555555");
    assert_string_equal(e->key, "T1-I01");
    assert_string_equal(e->tendon, "T1");
    assert_int_equal(e->kind, DM_KIND_VOID_LIKE);
    assert_near(e->from, 3.0, 0.0);
    assert_near(e->to, 3.4, 1e-15);
    assert_near(e->u_from, 0.005, 1e-15);
    assert_near(e->u_to, 0.006, 1e-15);
    assert_near(e->clock, PI / 2.0, 1e-15);
    assert_string_equal(e->first_survey, "a");
    assert_string_equal(e->last_survey, "b");
    assert_int_equal(e->state, DM_STATE_CONFIRMED);
    e = &r->entries[1];
    assert_int_equal(e->kind, DM_KIND_UNRESOLVED);
    assert_int_equal(e->state, DM_STATE_REFUTED);
    assert_near(e->u_from, 0.0, 0.0);
    dm_register_free(r);
    dm_model_free(model);
    scratch_free(&files);
}

static void a_register_without_entries_is_good(void **state)
{
    scratch files;
    dm_model *model = good_bridge();
    dm_register *r = NULL;

    (void)state;
    scratch_init(&files);
    assert_int_equal(
        dm_register_read(scratch_file(&files, "r.xml", empty), model, NULL, &r),
        DM_OK);
    assert_int_equal(r->count, 0);
    dm_register_free(r);
    dm_model_free(model);
    scratch_free(&files);
}

typedef struct {
    const char *path;
    const dm_model *model;
} input;

static dm_status read_input(void *user)
{
    const input *in = user;
    dm_register *r = NULL;
    dm_status status = dm_register_read(in->path, in->model, NULL, &r);

    dm_register_free(r);
    return status;
}

static void each_failed_allocation_is_no_memory(void **state)
{
    scratch files;
    dm_model *model = good_bridge();
    input in;

    (void)state;
    scratch_init(&files);
    in = (input){scratch_file(&files, "r.xml", text), model};
    assert_true(allocfail_each(read_input, &in) >= 3);
    dm_model_free(model);
    scratch_free(&files);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(entries_are_read),
        cmocka_unit_test(a_register_without_entries_is_good),
        cmocka_unit_test(each_failed_allocation_is_no_memory),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
