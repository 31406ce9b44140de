/* SPDX-License-Identifier: MIT
 * Every file in data/bad is refused with exactly the messages in the .expect
 * beside it. The prefix of the name says what it is read as; field books,
 * jobs and registers are read against data/good_bridge.xml. A first line
 * `warnings only` in .expect says that the file is accepted.
 *
 * DUCTMARK_REFRESH=1 writes the .expect files instead: for review, by hand. */
#define _POSIX_C_SOURCE 200809L
#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "base/buf.h"
#include "ductmark/job.h"

#define FOLDER DM_TEST_DATA "/bad"
#define MOST_FILES 400

static const char *bare(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static void collect(void *user, const dm_message *m)
{
    static const char *const word[] = {"note", "warning", "error"};
    dm_buf *text = user;
    dm_buf_printf(text,
                  "%s:%ld: %s: ", m->place.file ? bare(m->place.file) : "",
                  m->place.line, word[m->severity]);
    if (m->subject)
        dm_buf_printf(text, "%s: ", m->subject);
    /* Paths in the text are this machine's: the folder is taken out. */
    const char *path = strstr(m->text, FOLDER "/");
    if (path)
        dm_buf_printf(text, "%.*s%s\n", (int)(path - m->text), m->text,
                      path + strlen(FOLDER "/"));
    else
        dm_buf_printf(text, "%s\n", m->text);
}

static dm_model *good_bridge(void)
{
    dm_model *model = NULL;
    assert_int_equal(
        dm_model_read(DM_TEST_DATA "/good_bridge.xml", NULL, &model), DM_OK);
    return model;
}

/* Reads every row of every readings event, as a campaign would: one reader
 * goes through the events of a run. */
static dm_status read_rows(const dm_survey *survey, dm_diag *diag)
{
    dm_status status = DM_OK;
    for (size_t i = 0; i < survey->run_count; i++) {
        const dm_run *run = &survey->runs[i];
        dm_readings *readings = NULL;
        for (size_t k = 0; k < run->event_count; k++) {
            const dm_event *e = &run->events[k];
            dm_block block = {0};
            if (e->kind != DM_EVENT_READINGS)
                continue;
            dm_status one =
                readings ? dm_readings_resume(readings, e)
                         : dm_readings_open(survey, run, e, diag, &readings);
            while (one == DM_OK) {
                one = dm_readings_next(readings, &block);
                if (block.count == 0)
                    break;
            }
            if (status == DM_OK)
                status = one;
            if (!readings)
                break;
        }
        dm_readings_close(readings);
    }
    return status;
}

static dm_status read_fieldbook(const char *path, dm_diag *diag, bool rows)
{
    dm_model *model = good_bridge();
    dm_survey *survey = NULL;
    dm_status status = dm_survey_read(&path, 1, model, diag, &survey);
    if (status == DM_OK && rows)
        status = read_rows(survey, diag);
    dm_survey_free(survey);
    dm_model_free(model);
    return status;
}

static dm_status read_as(const char *name, const char *path, dm_diag *diag)
{
    dm_status status = DM_UNSUPPORTED;
    if (strncmp(name, "bridge_", 7) == 0) {
        dm_model *model = NULL;
        status = dm_model_read(path, diag, &model);
        assert_true((status == DM_OK) == (model != NULL));
        dm_model_free(model);
    } else if (strncmp(name, "fieldbook_", 10) == 0) {
        status = read_fieldbook(path, diag, false);
    } else if (strncmp(name, "readings_", 9) == 0) {
        status = read_fieldbook(path, diag, true);
    } else if (strncmp(name, "criteria_", 9) == 0) {
        dm_criteria *criteria = NULL;
        status = dm_criteria_read(path, diag, &criteria);
        dm_criteria_free(criteria);
    } else if (strncmp(name, "job_", 4) == 0) {
        dm_job *job = NULL;
        status = dm_job_read(path, diag, &job);
        dm_job_free(job);
    } else if (strncmp(name, "register_", 9) == 0) {
        dm_model *model = good_bridge();
        dm_register *reg = NULL;
        status = dm_register_read(path, model, diag, &reg);
        dm_register_free(reg);
        dm_model_free(model);
    } else {
        fail_msg("%s: no reader for this prefix", name);
    }
    return status;
}

static char *slurp(const char *path)
{
    FILE *f = fopen(path, "rb");
    char *text = calloc(1, 65536);
    assert_non_null(text);
    if (f) {
        size_t n = fread(text, 1, 65535, f);
        text[n] = '\0';
        fclose(f);
    }
    return text;
}

static bool check_file(const char *name)
{
    char path[600], expect[610];
    snprintf(path, sizeof path, FOLDER "/%s", name);
    snprintf(expect, sizeof expect, "%.*s.expect", (int)(strlen(path) - 4),
             path);
    dm_buf got = {0};
    dm_diag diag = {collect, &got, 0, 0};
    dm_status status = read_as(name, path, &diag);
    dm_buf all = {0};
    if (status == DM_OK)
        dm_buf_puts(&all, "warnings only\n");
    if (got.data)
        dm_buf_puts(&all, got.data);
    if (getenv("DUCTMARK_REFRESH")) {
        FILE *f = fopen(expect, "wb");
        assert_non_null(f);
        fputs(all.data ? all.data : "", f);
        fclose(f);
    }
    char *want = slurp(expect);
    bool good = all.data && strcmp(want, all.data) == 0;
    /* A refused file has said why; an accepted one has no errors. */
    good = good && (status == DM_OK) == (diag.errors == 0);
    if (!good)
        print_error("%s\n--- expected\n%s--- got\n%s", name, want,
                    all.data ? all.data : "");
    free(want);
    dm_buf_free(&got);
    dm_buf_free(&all);
    return good;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void every_bad_file_is_named_line_by_line(void **state)
{
    (void)state;
    char *names[MOST_FILES];
    size_t n = 0, bad = 0;
    DIR *folder = opendir(FOLDER);
    assert_non_null(folder);
    for (struct dirent *e; (e = readdir(folder)) != NULL;) {
        size_t length = strlen(e->d_name);
        if (length < 5 || strcmp(e->d_name + length - 4, ".xml") != 0)
            continue;
        assert_true(n < MOST_FILES);
        names[n] = strdup(e->d_name);
        assert_non_null(names[n]);
        n++;
    }
    closedir(folder);
    qsort(names, n, sizeof *names, by_name);
    for (size_t i = 0; i < n; i++) {
        bad += !check_file(names[i]);
        free(names[i]);
    }
    print_message("%zu bad files, %zu with other messages\n", n, bad);
    assert_true(n >= 50);
    assert_int_equal(bad, 0);
}

static void the_good_bridge_is_accepted(void **state)
{
    (void)state;
    dm_buf got = {0};
    dm_diag diag = {collect, &got, 0, 0};
    dm_model *model = NULL;
    assert_int_equal(
        dm_model_read(DM_TEST_DATA "/good_bridge.xml", &diag, &model), DM_OK);
    assert_int_equal(diag.errors + diag.warnings, 0);
    dm_model_free(model);
    dm_buf_free(&got);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_good_bridge_is_accepted),
        cmocka_unit_test(every_bad_file_is_named_line_by_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
