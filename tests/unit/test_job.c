/* SPDX-License-Identifier: MIT
 * Job files: every setting in any unit and its documented default, names
 * resolved against the job's folder, decisions. Faults: test_bad_input. */
#define _POSIX_C_SOURCE 200809L
#include "allocfail.h"
#include "ductmark/job.h"
#include "said.h"
#include "scratch.h"

#define PI 3.14159265358979323846
#define HEAD                                                                   \
    "<job version='1' uid='bbbbbbbb-2222-4333-8444-555555555555' "             \
    "date='2026-05-04'"
#define INPUTS                                                                 \
    "<bridge href='bridge.xml'/><fieldbook href='books/one.xml'/>"             \
    "<fieldbook href='/abs/two.xml'/><criteria href='../criteria.xml'/>"

static dm_job *read_job(scratch *files, said *s, const char *text)
{
    dm_job *job = NULL;
    const char *path = scratch_file(files, "job.xml", text);

    said_init(s);
    if (dm_job_read(path, &s->diag, &job) != DM_OK)
        fail_msg("%s", s->text);
    return job;
}

/* The defaults are those of docs/formats.md: common practice, no source. */
static void settings_have_their_documented_defaults(void **state)
{
    dm_settings s = dm_settings_default();

    (void)state;
    assert_near(s.face_u, 0.015, 0.0);
    assert_near(s.tie_u, 0.003, 0.0);
    assert_near(s.skip_u, 0.005, 0.0);
    assert_near(s.start_u, 0.003, 0.0);
    assert_near(s.coverage_factor, 2.0, 0.0);
    assert_near(s.gate, 3.0, 0.0);
    assert_near(s.merge_gap, 0.15, 0.0);
    assert_near(s.least_length, 0.02, 0.0);
    assert_near(s.tap_margin, 0.025, 0.0);
    assert_near(s.fixture_margin, 0.05, 0.0);
    assert_near(s.stop_allowance, 0.0, 0.0);
    assert_near(s.mark_u, 0.002, 0.0);
    assert_near(s.clock_u, PI / 60.0, 1e-15);
    assert_near(s.bit, 0.008, 0.0);
    assert_near(s.strand_room, 0.002, 0.0);
    assert_near(s.tap_merge, 0.1, 0.0);
    assert_near(s.mesh_sagitta, 1e-4, 0.0);
    assert_int_equal(s.mesh_sides, 24);
    assert_int_equal(s.threads, 0);
}

static void a_job_without_settings_has_the_defaults(void **state)
{
    scratch files;
    said s;
    dm_job *job;
    dm_settings expected = dm_settings_default();

    (void)state;
    scratch_init(&files);
    job = read_job(&files, &s, HEAD ">" INPUTS "</job>");
    assert_string_equal(s.text, "");
    assert_near(job->settings.face_u, expected.face_u, 0.0);
    assert_int_equal(job->settings.mesh_sides, expected.mesh_sides);
    assert_int_equal(job->units, DM_UNITS_METRIC);
    assert_null(job->locale);
    assert_null(job->reg);
    assert_int_equal(job->output_count, 0);
    assert_int_equal(job->accept_count, 0);
    dm_job_free(job);
    scratch_free(&files);
}

static void every_setting_is_read_in_its_unit(void **state)
{
    scratch files;
    said heard;
    dm_job *job;
    const dm_settings *s;

    (void)state;
    scratch_init(&files);
    job = read_job(
        &files, &heard,
        HEAD ">" INPUTS "<settings face-u='0.5 in' tie-u='1 mm' skip-u='2 mm' "
             "start-u='0.01 ft' coverage-factor='2.5' gate='3.5' "
             "merge-gap='0.2 m' least-length='30 mm' tap-margin='31 mm' "
             "fixture-margin='32 mm' stop-allowance='0.5 mm' mark-u='3 mm' "
             "clock-u='4.5 deg' bit='0.25 in' strand-room='1 mm' "
             "tap-merge='33 mm' mesh-sagitta='1 mm' mesh-sides='32' "
             "threads='3'/></job>");
    s = &job->settings;
    assert_near(s->face_u, 0.0127, 1e-15);
    assert_near(s->tie_u, 0.001, 1e-15);
    assert_near(s->skip_u, 0.002, 1e-15);
    assert_near(s->start_u, 0.003048, 1e-15);
    assert_near(s->coverage_factor, 2.5, 0.0);
    assert_near(s->gate, 3.5, 0.0);
    assert_near(s->merge_gap, 0.2, 0.0);
    assert_near(s->least_length, 0.03, 1e-15);
    assert_near(s->tap_margin, 0.031, 1e-15);
    assert_near(s->fixture_margin, 0.032, 1e-15);
    assert_near(s->stop_allowance, 0.0005, 1e-15);
    assert_near(s->mark_u, 0.003, 1e-15);
    assert_near(s->clock_u, PI / 40.0, 1e-15);
    assert_near(s->bit, 0.00635, 1e-15);
    assert_near(s->strand_room, 0.001, 1e-15);
    assert_near(s->tap_merge, 0.033, 1e-15);
    assert_near(s->mesh_sagitta, 0.001, 1e-15);
    assert_int_equal(s->mesh_sides, 32);
    assert_int_equal(s->threads, 3);
    dm_job_free(job);
    scratch_free(&files);
}

static const char whole_job[] = HEAD
    " units='us' locale='en-US'>" INPUTS
    "<register href='reg.xml'/><context href='girder.obj'/>"
    "<context href='a.glb' unit='ft' up='z' x='500000 m' y='-2 m' z='3 ft'/>"
    "<accept run='R1' hypothesis='skip-not-written' interval='2' "
    "length='300 mm' x-from='4 m' x-to='4200 mm' by='an engineer' "
    "reason='r'/>"
    "<tap-request id='Q1' tendon='T1' face='A1f' distance='3 ft' "
    "clock='3:00' by='b' reason='look here'/>"
    "<tap-pair indication='T1-I02' by='b' reason='flushing'/>"
    "<tap-exclude indication='T1-I01' by='b' reason='x-rayed'/>"
    "<output format='glb'/><output format='ifc'/></job>";

static void names_are_resolved_against_the_jobs_folder(void **state)
{
    scratch files;
    said s;
    dm_job *job;
    char path[128];

    (void)state;
    scratch_init(&files);
    job = read_job(&files, &s, whole_job);
    snprintf(path, sizeof path, "%s/bridge.xml", files.folder);
    assert_string_equal(job->bridge, path);
    assert_int_equal(job->fieldbook_count, 2);
    snprintf(path, sizeof path, "%s/books/one.xml", files.folder);
    assert_string_equal(job->fieldbooks[0], path);
    assert_string_equal(job->fieldbooks[1], "/abs/two.xml");
    snprintf(path, sizeof path, "%s/../criteria.xml", files.folder);
    assert_string_equal(job->criteria, path);
    snprintf(path, sizeof path, "%s/reg.xml", files.folder);
    assert_string_equal(job->reg, path);
    assert_int_equal(job->context_count, 2);
    snprintf(path, sizeof path, "%s/girder.obj", files.folder);
    assert_string_equal(job->contexts[0].path, path);
    assert_true(job->contexts[0].unit == 0.0);
    assert_int_equal(job->contexts[0].up, DM_UP_OF_FORMAT);
    assert_near(job->contexts[1].unit, 0.3048, 1e-15);
    assert_int_equal(job->contexts[1].up, DM_UP_Z);
    assert_near(job->contexts[1].at.x, 5e5, 1e-9);
    assert_near(job->contexts[1].at.y, -2.0, 1e-12);
    assert_near(job->contexts[1].at.z, 0.9144, 1e-12);
    dm_job_free(job);
    scratch_free(&files);
}

static void decisions_are_read(void **state)
{
    scratch files;
    said s;
    dm_job *job;

    (void)state;
    scratch_init(&files);
    job = read_job(&files, &s, whole_job);
    assert_string_equal(s.text,
                        "job.xml:1: warning: job: locale: not used yet\n");
    assert_string_equal(job->uid, "bbbbbbbb-2222-4333-8444-555555555555");
    assert_string_equal(job->date, "2026-05-04");
    assert_int_equal(strlen(job->sha256), 64);
    assert_int_equal(job->units, DM_UNITS_US);
    assert_string_equal(job->locale, "en-US");
    assert_int_equal(job->accept_count, 1);
    assert_string_equal(job->accepts[0].run, "R1");
    assert_int_equal(job->accepts[0].hypothesis, DM_BLUNDER_SKIP_MISSING);
    assert_int_equal(job->accepts[0].interval, 2);
    assert_near(job->accepts[0].length, 0.3, 1e-15);
    assert_near(job->accepts[0].x_from, 4.0, 1e-15);
    assert_near(job->accepts[0].x_to, 4.2, 1e-15);
    assert_int_equal(job->accepts[0].tie + job->accepts[0].skip, 0);
    assert_null(job->accepts[0].face);
    assert_string_equal(job->accepts[0].by, "an engineer");
    assert_int_equal(job->request_count, 1);
    assert_string_equal(job->requests[0].id, "Q1");
    assert_string_equal(job->requests[0].face, "A1f");
    assert_near(job->requests[0].distance, 0.9144, 1e-15);
    assert_near(job->requests[0].clock, PI / 2.0, 1e-15);
    assert_string_equal(job->requests[0].reason, "look here");
    assert_int_equal(job->pair_count, 1);
    assert_string_equal(job->pairs[0].indication, "T1-I02");
    assert_string_equal(job->pairs[0].reason, "flushing");
    assert_int_equal(job->exclude_count, 1);
    assert_string_equal(job->excludes[0].indication, "T1-I01");
    assert_int_equal(job->output_count, 2);
    assert_string_equal(job->outputs[1], "ifc");
    dm_job_free(job);
    scratch_free(&files);
}

static void a_job_that_is_not_there_is_an_error(void **state)
{
    said s;
    dm_job *job = NULL;

    (void)state;
    said_init(&s);
    assert_int_equal(dm_job_read("/nowhere/job.xml", &s.diag, &job), DM_IO);
    assert_null(job);
    assert_int_equal(s.diag.errors, 1);
}

static dm_status read_path(void *user)
{
    dm_job *job = NULL;
    dm_status status = dm_job_read(user, NULL, &job);

    dm_job_free(job);
    return status;
}

static void each_failed_allocation_is_no_memory(void **state)
{
    scratch files;
    char path[128];

    (void)state;
    scratch_init(&files);
    strcpy(path, scratch_file(&files, "job.xml", whole_job));
    assert_true(allocfail_each(read_path, path) >= 3);
    scratch_free(&files);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(settings_have_their_documented_defaults),
        cmocka_unit_test(a_job_without_settings_has_the_defaults),
        cmocka_unit_test(every_setting_is_read_in_its_unit),
        cmocka_unit_test(names_are_resolved_against_the_jobs_folder),
        cmocka_unit_test(decisions_are_read),
        cmocka_unit_test(a_job_that_is_not_there_is_an_error),
        cmocka_unit_test(each_failed_allocation_is_no_memory),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
