/* SPDX-License-Identifier: MIT
 * Bytes as a field book, job, criteria or register, against the good bridge
 * of tests/data. An accepted survey keeps its indices in range: the stages
 * behind use them without looking. */
#include <math.h>

#include "fuzz.h"
#include "survey/read.h"

static dm_model *bridge(void)
{
    dm_model *m = NULL;
    FUZZ_CHECK(dm_model_read(DM_TEST_DATA "/good_bridge.xml", NULL, &m) ==
               DM_OK);
    return m;
}

static void check_run(const dm_survey *s, const dm_model *m, const dm_run *r)
{
    FUZZ_CHECK(r->tendon < m->tendon_count);
    FUZZ_CHECK(r->instrument < s->instrument_count);
    FUZZ_CHECK(r->columns < s->columns_count);
    const dm_instrument *in = &s->instruments[r->instrument];
    const dm_columns *c = &s->columns[r->columns];
    FUZZ_CHECK(c->value_count >= 1);
    for (size_t i = 0; i < c->value_count; i++)
        FUZZ_CHECK(c->channel[i] < in->channel_count);
    for (size_t i = 0; i < r->event_count; i++) {
        const dm_event *e = &r->events[i];
        bool tie = e->kind == DM_EVENT_START || e->kind == DM_EVENT_TIE;
        FUZZ_CHECK(!tie || e->face < m->tendons[r->tendon].face_count);
        FUZZ_CHECK(!tie || isfinite(e->x));
        FUZZ_CHECK(e->kind != DM_EVENT_SKIP || isfinite(e->x_resume));
        FUZZ_CHECK(e->kind != DM_EVENT_READINGS || e->href);
        FUZZ_CHECK(e->channel == DM_NONE || e->channel < in->channel_count);
    }
}

static void fieldbook(const dm_buf *text, const dm_model *m, dm_diag *diag)
{
    dm_survey *s = NULL;
    dm_status status =
        dm_survey_read_text("/nowhere/book.xml", text, m, diag, &s);

    FUZZ_CHECK((status == DM_OK) == (s != NULL));
    FUZZ_CHECK((status == DM_OK) == (diag->errors == 0));
    for (size_t i = 0; s && i < s->run_count; i++)
        check_run(s, m, &s->runs[i]);
    for (size_t i = 0; s && i < s->calibration_count; i++) {
        const dm_calibration *c = &s->calibrations[i];
        FUZZ_CHECK(c->duct_type < m->duct_type_count);
        FUZZ_CHECK(c->instrument < s->instrument_count);
        FUZZ_CHECK(c->reference_count >= 1);
        FUZZ_CHECK(dm_survey_calibration(s, c->duct_type, c->instrument, 0) ||
                   c->channel != DM_NONE);
    }
    dm_survey_free(s);
}

static void others(const dm_buf *text, const dm_model *m)
{
    dm_criteria *c = NULL;
    dm_register *r = NULL;
    dm_job *j = NULL;

    dm_criteria_read_text("/nowhere/criteria.xml", text, NULL, &c);
    for (size_t i = 0; c && i < c->rule_count; i++)
        FUZZ_CHECK(c->rules[i].grade < c->grade_count);
    dm_criteria_free(c);
    dm_register_read_text("/nowhere/register.xml", text, m, NULL, &r);
    dm_register_free(r);
    dm_job_read_text("/nowhere/job.xml", text, NULL, &j);
    FUZZ_CHECK(!j || (j->fieldbook_count >= 1 && j->bridge && j->criteria));
    dm_job_free(j);
}

static bool holds(const uint8_t *data, size_t size, const char *word)
{
    size_t n = strlen(word);
    for (size_t i = 0; i + n <= size; i++)
        if (memcmp(data + i, word, n) == 0)
            return true;
    return false;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static dm_model *model;
    dm_buf text = fuzz_text(data, size);
    dm_diag diag = {0};

    if (!model)
        model = bridge();
    if (holds(data, size, "<fieldbook"))
        fieldbook(&text, model, &diag);
    else
        others(&text, model);
    dm_buf_free(&text);
    return 0;
}
