/* SPDX-License-Identifier: MIT
 * Criteria files: grades, rules, what is not asked. Faults: test_bad_input. */
#define _POSIX_C_SOURCE 200809L
#include "allocfail.h"
#include "ductmark/job.h"
#include "said.h"
#include "scratch.h"

static const char text[] =
    "<criteria version='1' id='C' owner='An owner (invented)' "
    "date='2026-03-02'>\n"
    "<grade label='open first' tap='true' colour='#d55e00'/>\n"
    "<grade label='keep in view' tap='0'/>\n"
    "<rule grade='open first' kind='void-like' length-min='1 ft' "
    "length-max='2 m' index-min='0.3' open-ended='true'/>\n"
    "<rule grade='open first' kind='soft-like' area-fraction-min='0.1' "
    "area-fraction-max='0.5' volume-min='1.5 L' position='crest' "
    "within='2 m'/>\n"
    "<rule grade='keep in view'/>\n"
    "</criteria>\n";

static void grades_and_rules_are_read(void **state)
{
    scratch files;
    said s;
    dm_criteria *c = NULL;
    const dm_rule *r;

    (void)state;
    scratch_init(&files);
    said_init(&s);
    assert_int_equal(
        dm_criteria_read(scratch_file(&files, "c.xml", text), &s.diag, &c),
        DM_OK);
    assert_string_equal(c->id, "C");
    assert_string_equal(c->owner, "An owner (invented)");
    assert_string_equal(c->date, "2026-03-02");
    assert_int_equal(strlen(c->sha256), 64);
    assert_int_equal(c->grade_count, 2);
    assert_string_equal(c->grades[0].label, "open first");
    assert_true(c->grades[0].tap);
    assert_string_equal(c->grades[0].colour, "#d55e00");
    assert_false(c->grades[1].tap);
    assert_null(c->grades[1].colour);
    assert_int_equal(c->rule_count, 3);
    r = &c->rules[0];
    assert_int_equal(r->grade, 0);
    assert_true(r->has_kind);
    assert_int_equal(r->kind, DM_KIND_VOID_LIKE);
    assert_near(r->length_min, 0.3048, 1e-15);
    assert_near(r->length_max, 2.0, 0.0);
    assert_near(r->index_min, 0.3, 0.0);
    assert_true(r->open_ended);
    assert_int_equal(r->place.line, 4);
    r = &c->rules[1];
    assert_int_equal(r->kind, DM_KIND_SOFT_LIKE);
    assert_near(r->area_fraction_min, 0.1, 0.0);
    assert_near(r->area_fraction_max, 0.5, 0.0);
    assert_near(r->volume_min, 0.0015, 1e-18);
    assert_string_equal(r->position, "crest");
    assert_near(r->within, 2.0, 0.0);
    r = &c->rules[2];
    assert_int_equal(r->grade, 1);
    assert_false(r->has_kind);
    assert_true(isnan(r->length_min) && isnan(r->length_max) &&
                isnan(r->index_min) && isnan(r->area_fraction_min) &&
                isnan(r->area_fraction_max) && isnan(r->volume_min) &&
                isnan(r->within));
    assert_false(r->open_ended);
    assert_null(r->position);
    assert_string_equal(s.text, "");
    dm_criteria_free(c);
    scratch_free(&files);
}

static dm_status read_path(void *user)
{
    dm_criteria *c = NULL;
    dm_status status = dm_criteria_read(user, NULL, &c);

    dm_criteria_free(c);
    return status;
}

static void each_failed_allocation_is_no_memory(void **state)
{
    scratch files;
    char path[128];

    (void)state;
    scratch_init(&files);
    strcpy(path, scratch_file(&files, "c.xml", text));
    assert_true(allocfail_each(read_path, path) >= 3);
    scratch_free(&files);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(grades_and_rules_are_read),
        cmocka_unit_test(each_failed_allocation_is_no_memory),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
