/* SPDX-License-Identifier: MIT
 * Planned field books, read back by the program's own readers: what was
 * planned, what the adjustment makes of it, and what coverage says once
 * readings are there. Invented. */
#define _POSIX_C_SOURCE 200809L
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "allocfail.h"
#include "base/uuid.h"
#include "ductmark/indication.h"
#include "model_text.h"
#include "survey/read.h"
#include "write/plan.h"

#define DATE "2026-05-04"
#define SCALE                                                                  \
    1.25 /* metres of travel per metre shown: none must be forgotten */
#define STEP 0.002 /* m of run distance between rows */

static const double clocks[] = {0.0, 1.5707963267948966};

/* A planned survey with all that it came from. */
typedef struct {
    dm_model *model;
    dm_survey *before; /* whose instrument is planned with; NULL */
    dm_plan *plan;
    dm_plan_output output;
    dm_buf text;
    dm_survey *back; /* the book, read again */
    char folder[64];
} planned;

static const char bridge[] =
    "<bridge version='1' uid='6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c004' id='P' "
    "name='planned (invented)'>"
    "<duct-type id='D' od='110 mm' wall='6.6 mm' material='hdpe'/>"
    "<duct-type id='S' od='110 mm' wall='4 mm' material='steel'/>"
    "<deviator-type id='DEV' kind='pipe' radius='3 m' angle-max='20 deg'/>"
    "<tendon id='T1'>"
    "<anchorage id='A1' x='0 m' y='0 m' z='4 m'>"
    "<face id='A1f' side='ahead' offset='0.5 m'/>"
    "<readable side='ahead' offset='0.3 m'/></anchorage>"
    "<deviator id='D1' x='9 m' y='0.4 m' z='2 m' type='DEV'>"
    "<face id='D1b' side='back' offset='0.6 m'/>"
    "<face id='D1a' side='ahead' offset='0.6 m'/></deviator>"
    "<deviator id='D2' x='18 m' y='0.4 m' z='2 m' type='DEV'>"
    "<face id='D2b' side='back' offset='0.6 m'/>"
    "<face id='D2a' side='ahead' offset='0.6 m'/></deviator>"
    "<anchorage id='A2' x='27 m' y='0 m' z='4.5 m'>"
    "<face id='A2f' side='back' offset='0.5 m'/></anchorage>"
    "<duct-length duct-type='D' to='13 m'/>"
    "<duct-length duct-type='S' from='13 m' to='13.5 m'/>"
    "<duct-length duct-type='D' from='13.5 m'/>"
    "<fixture id='C1' kind='collar' from='3 m' to='3.1 m'/>"
    "<fixture id='W1' kind='wrap' from='3.2 m' to='3.4 m'/>"
    "<fixture id='V1' kind='vent' from='2 m' to='2.1 m' ref='A2f' "
    "clock-from='11:00' clock-to='1:00'/>"
    "<fixture id='C2' kind='collar' from='4 m' to='4.1 m' ref='A2f'/>"
    "<access class='ladder' to='5 m'/>"
    "<access class='none' from='21 m' to='22 m'/>"
    "</tendon></bridge>";

static const char book_before[] =
    "<fieldbook version='1' uid='6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c005' "
    "survey='earlier &amp; first' date='2025-05-04' "
    "bridge='6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c004'>"
    "<instrument id='SPARE'><encoder/><body nose='9 mm' tail='9 mm'/>"
    "<channel id='X' footprint-along='9 mm' footprint-around='9 mm' "
    "depth='9 mm'/></instrument>"
    "<instrument id='I7'><encoder scale='1.25' u='0.004' walk='1 mm' "
    "quantum='0.5 mm' per='run'/><body nose='140 mm' tail='90 mm' "
    "body-height='85 mm'/>"
    "<channel id='CH' lead='20 mm' clock-offset='0 deg' "
    "footprint-along='80 mm' footprint-around='50 mm' depth='15 mm'/>"
    "</instrument>"
    "<tape id='TAPE' scale-u='0.0005'/>"
    "<calibration duct-type='D' instrument='I7'><air value='860.5'/>"
    "<reference value='1520' clock='0 deg'/>"
    "<reference value='1530' clock='180 deg'/>"
    "<band kind='void-like' enter='0.3' leave='0.2'/>"
    "<material kind='sound' mean='0' sd='0.05'/></calibration>"
    "<columns delimiter='semicolon' decimal='comma' run-distance='weg' "
    "unit='m'><value column='wert' channel='CH'/></columns>"
    "<run id='OLD' tendon='T1' instrument='I7' direction='ahead' "
    "leading='nose' clock='0 deg' tape='TAPE'>"
    "<start x='0 m' at='A1f' with='tail'/></run></fieldbook>";

static dm_survey *survey_of(const char *path, const dm_buf *text,
                            const dm_model *model)
{
    dm_survey *s = NULL;
    said heard;

    said_init(&heard);
    dm_status status = dm_survey_read_text(path, text, model, &heard.diag, &s);
    assert_string_equal(heard.text, "");
    assert_int_equal(status, DM_OK);
    return s;
}

static void make_book(planned *p, const dm_plan_book *head)
{
    size_t left_out = 9;

    dm_buf_clear(&p->text);
    size_t count = dm_fieldbook_plan(&p->output, head, &left_out, &p->text);
    assert_false(p->text.failed);
    assert_int_equal(left_out, 0);
    assert_int_equal(count, p->plan->total.run_count);
}

static void plan_it(planned *p, bool with_book, dm_units units)
{
    const dm_plan_book head = {NULL, "next <one>", DATE};
    dm_buf text = {0};
    dm_factors f = dm_factors_default();

    memset(p, 0, sizeof *p);
    dm_buf_puts(&text, bridge);
    p->model = model_of_text(&text);
    dm_buf_clear(&text);
    dm_buf_puts(&text, book_before);
    if (with_book) {
        p->before = survey_of("before.xml", &text, p->model);
        dm_factors_instrument(&f, &p->before->instruments[1]);
    }
    dm_buf_free(&text);
    assert_int_equal(
        dm_plan_make(p->model, &f, clocks, 2, NULL, NULL, &p->plan), DM_OK);
    p->output = (dm_plan_output){.plan = p->plan,
                                 .model = p->model,
                                 .survey = p->before,
                                 .instrument = 1,
                                 .units = units};
    make_book(p, &head);
    strcpy(p->folder, "/tmp/ductmark-plan-XXXXXX");
    assert_non_null(mkdtemp(p->folder));
    char path[128];
    snprintf(path, sizeof path, "%s/book.xml", p->folder);
    /* What is to be put in on site, in a copy. */
    dm_buf whole = {0};
    dm_buf_put(&whole, p->text.data, p->text.length);
    if (!with_book)
        text_edit(&whole, "<air value=\"0\"/>", "<air value=\"860\"/>");
    p->back = survey_of(path, &whole, p->model);
    dm_buf_free(&whole);
}

static void end(planned *p)
{
    char path[128];

    snprintf(path, sizeof path, "%s/readings", p->folder);
    rmdir(path);
    assert_int_equal(rmdir(p->folder), 0);
    dm_survey_free(p->back);
    dm_buf_free(&p->text);
    dm_plan_free(p->plan);
    dm_survey_free(p->before);
    dm_model_free(p->model);
}

/* ---- what stands in it --------------------------------------------------- */

static void check_run(const planned *p, const dm_plan_run *plan,
                      const dm_run *run, double scale)
{
    size_t e = 1; /* behind the note */

    assert_int_equal(run->tendon, plan->tendon);
    assert_int_equal(run->direction, plan->direction);
    assert_int_equal(run->leading, plan->leading);
    assert_near(run->clock, plan->clock, 1e-9);
    assert_int_equal(run->events[0].kind, DM_EVENT_NOTE);
    assert_int_equal(run->events[e].kind, DM_EVENT_START);
    assert_int_equal(run->events[e].face, plan->face_start);
    assert_near(run->events[e].distance, plan->start_distance, 6e-4);
    assert_int_equal(run->events[e++].with, plan->leading == DM_LEADING_NOSE
                                                ? DM_WITH_TAIL
                                                : DM_WITH_NOSE);
    for (size_t i = 0; i < plan->stretch_count; i++) {
        if (i > 0) {
            assert_int_equal(run->events[e].kind, DM_EVENT_SKIP);
            assert_int_equal(run->events[e].basis, DM_SKIP_GAP);
            assert_near(run->events[e].length, plan->stretches[i].gap, 6e-4);
            assert_near(run->events[e].u, 0.05, 1e-4);
            assert_near(run->events[e].x, plan->stretches[i - 1].x_end / scale,
                        6e-4);
            assert_true(run->events[e++].length_known);
        }
        assert_int_equal(run->events[e++].kind, DM_EVENT_READINGS);
    }
    if (plan->face_end != DM_NONE) {
        assert_int_equal(run->events[e].kind, DM_EVENT_TIE);
        assert_int_equal(run->events[e].face, plan->face_end);
        assert_near(run->events[e++].x,
                    plan->stretches[plan->stretch_count - 1].x_end / scale,
                    6e-4);
    }
    assert_int_equal(run->event_count, e);
    (void)p;
}

static void a_book_says_what_was_planned(void **state)
{
    planned p;

    (void)state;
    for (int k = 0; k < 4; k++) {
        plan_it(&p, k % 2, k / 2 ? DM_UNITS_US : DM_UNITS_METRIC);
        assert_int_equal(p.back->run_count, p.plan->total.run_count);
        assert_int_equal(p.back->run_count, 8); /* four bays, two lines */
        for (size_t i = 0; i < p.back->run_count; i++)
            check_run(&p, &p.plan->runs[i], &p.back->runs[i],
                      k % 2 ? SCALE : 1.0);
        assert_string_equal(p.back->survey, "next <one>");
        end(&p);
    }
}

static void the_instrument_is_copied(void **state)
{
    planned p;

    (void)state;
    plan_it(&p, true, DM_UNITS_METRIC);
    const dm_instrument *a = &p.before->instruments[1];
    const dm_instrument *b = p.back->instruments;
    assert_int_equal(p.back->instrument_count, 1);
    assert_string_equal(b->id, "I7");
    assert_near(b->scale, a->scale, 0.0);
    assert_near(b->scale_u, a->scale_u, 0.0);
    assert_false(b->scale_shared);
    assert_near(b->walk, a->walk, 1e-15);
    assert_near(b->quantum, a->quantum, 1e-15);
    assert_near(b->nose, a->nose, 1e-15);
    assert_near(b->tail, a->tail, 1e-15);
    assert_near(b->body_height, a->body_height, 1e-15);
    assert_near(b->channels->lead, a->channels->lead, 1e-15);
    const dm_calibration *c = p.back->calibrations;
    assert_int_equal(p.back->calibration_count, 1);
    assert_near(c->air, 860.5, 0.0);
    assert_int_equal(c->reference_count, 2);
    assert_near(c->reference[1].clock, 3.14159265358979, 1e-9);
    assert_int_equal(c->band_count, 1);
    assert_near(c->bands->enter, 0.3, 0.0);
    assert_int_equal(c->material_count, 1);
    assert_int_equal(p.back->columns->delimiter, ';');
    assert_int_equal(p.back->columns->decimal, ',');
    assert_string_equal(p.back->columns->x, "weg");
    assert_string_equal(p.back->runs->tape, "TAPE");
    end(&p);
}

static void the_uid_is_a_name_in_the_bridge(void **state)
{
    const dm_plan_book other = {NULL, "next <one>", "2026-05-05"};
    const dm_plan_book named = {"6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c0ff",
                                "next <one>", DATE};
    planned p;
    dm_uuid space;
    char uid[37], text[128];

    (void)state;
    plan_it(&p, true, DM_UNITS_METRIC);
    assert_true(dm_uuid_parse(p.model->uid, &space));
    dm_uuid_text(dm_uuid_name(space, "fieldbook/next <one>/" DATE), uid);
    snprintf(text, sizeof text, "<fieldbook version=\"1\" uid=\"%s\"", uid);
    assert_non_null(strstr(p.text.data, text));
    make_book(&p, &other);
    assert_null(strstr(p.text.data, text));
    make_book(&p, &named);
    assert_non_null(strstr(p.text.data, named.uid));
    end(&p);
}

/* ---- what becomes of it -------------------------------------------------- */

/* The electrode's stations at the ends of each stretch, as the adjustment has
 * them, are those of the plan; the book is rounded to 1 mm. */
static void the_adjustment_finds_the_stretches(void **state)
{
    dm_settings settings = dm_settings_default();
    planned p;
    dm_stations *s = NULL;
    double worst = 0.0;
    size_t ends = 0;

    (void)state;
    plan_it(&p, true, DM_UNITS_METRIC);
    assert_int_equal(dm_stations_solve(p.model, p.back, 0, &settings, NULL, &s),
                     DM_OK);
    assert_int_equal(s->run_count, p.plan->total.run_count);
    for (size_t i = 0; i < s->interval_count; i++)
        assert_true(s->intervals[i].reconciled);
    for (size_t i = 0; i < s->run_count; i++) {
        const dm_plan_run *r = &p.plan->runs[s->runs[i].run];
        assert_int_equal(s->runs[i].stretch_count, r->stretch_count);
        for (size_t k = 0; k < r->stretch_count; k++) {
            dm_walker *w = NULL;
            assert_int_equal(dm_walker_new(s, p.model, p.back, i, k, 0, &w),
                             DM_OK);
            double a = dm_walker_at(w, r->stretches[k].x_begin / SCALE).t;
            double b = dm_walker_at(w, r->stretches[k].x_end / SCALE).t;
            worst = fmax(worst, fabs(a - r->stretches[k].begin));
            worst = fmax(worst, fabs(b - r->stretches[k].end));
            ends += 2;
            dm_walker_free(w);
        }
    }
    print_message("%zu ends of stretches, the worst off by %.2f mm\n", ends,
                  1000.0 * worst);
    assert_true(ends >= 20);
    assert_near(worst, 0.0, 2e-3);
    dm_stations_free(s);
    end(&p);
}

/* Rows of every stretch of a run, raw `value`. */
static void write_readings(const planned *p, size_t run, double scale,
                           const char *value)
{
    const dm_plan_run *r = &p->plan->runs[run];
    const dm_columns *c = p->back->columns;
    char path[256];
    dm_buf text = {0};

    snprintf(path, sizeof path, "%s/readings", p->folder);
    mkdir(path, 0700);
    dm_buf_printf(&text, "%s%c%s%s\n", c->x, c->delimiter, c->value[0],
                  c->segment ? ",segment" : "");
    for (size_t k = 0; k < r->stretch_count; k++)
        for (double x = r->stretches[k].x_begin / scale;
             x <= r->stretches[k].x_end / scale + 1e-9; x += STEP) {
            size_t first = text.length;
            dm_buf_fixed(&text, x / c->x_unit, 4);
            for (size_t i = first; c->decimal == ',' && i < text.length; i++)
                if (text.data[i] == '.')
                    text.data[i] = ',';
            dm_buf_printf(&text, "%c%s", c->delimiter, value);
            if (c->segment)
                dm_buf_printf(&text, ",s%zu", k + 1);
            dm_buf_putc(&text, '\n');
        }
    FILE *f = fopen(p->back->runs[run].events[2].href, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(text.data, 1, text.length, f), text.length);
    assert_int_equal(fclose(f), 0);
    dm_buf_free(&text);
}

static dm_indications *found(const planned *p, dm_stations **s)
{
    dm_settings settings = dm_settings_default();
    dm_indications *in = NULL;
    said heard;

    said_init(&heard);
    assert_int_equal(
        dm_stations_solve(p->model, p->back, 0, &settings, &heard.diag, s),
        DM_OK);
    assert_int_equal(dm_indications_find(p->model, p->back, *s, NULL, NULL,
                                         &settings, &heard.diag, &in),
                     DM_OK);
    /* A note says of each run that no check was taken. */
    if (heard.diag.errors + heard.diag.warnings > 0)
        print_error("%s", heard.text);
    assert_int_equal(heard.diag.errors + heard.diag.warnings, 0);
    assert_int_equal(in->failed_runs, 0);
    return in;
}

static void drop_readings(const planned *p)
{
    for (size_t i = 0; i < p->back->run_count; i++)
        unlink(p->back->runs[i].events[2].href);
}

/* Once every run is made as planned, what coverage calls tested is what the
 * plan called testable. */
static void coverage_agrees_with_the_plan(void **state)
{
    planned p;
    dm_stations *s = NULL;

    (void)state;
    plan_it(&p, true, DM_UNITS_METRIC);
    for (size_t i = 0; i < p.back->run_count; i++)
        write_readings(&p, i, SCALE, "1523,5");
    dm_indications *in = found(&p, &s);
    const dm_plan_sum *t = &p.plan->tendons[0];
    double tested =
        in->cover_sum[DM_COVER_TESTED] + in->cover_sum[DM_COVER_STRAND_MASKED];
    double untested = in->cover_sum[DM_COVER_NOT_TESTED];
    /* Each end of a stretch is good to a step and the book's millimetre. */
    double slack = 2.0 * (double)t->stretch_count * (STEP + 1e-3);
    print_message("testable %.3f m, tested %.3f m\n", t->sum[DM_BAY_TESTABLE],
                  tested);
    assert_near(tested, t->sum[DM_BAY_TESTABLE], slack);
    assert_near(untested, t->length - t->sum[DM_BAY_TESTABLE], slack);
    assert_int_equal(in->count, 0);
    drop_readings(&p);
    dm_indications_free(in);
    dm_stations_free(s);
    end(&p);
}

/* A book made without an earlier one has no calibration. Whoever forgets to
 * put it in is told, at its line. */
static void a_book_without_its_calibration_is_refused(void **state)
{
    planned p;
    dm_survey *s = NULL;
    said heard;

    (void)state;
    plan_it(&p, false, DM_UNITS_METRIC);
    said_init(&heard);
    assert_int_equal(
        dm_survey_read_text("book.xml", &p.text, p.model, &heard.diag, &s),
        DM_INCONSISTENT);
    assert_null(s);
    assert_non_null(strstr(heard.text, "error: reference: the reference equals "
                                       "the air reading"));
    assert_int_equal(heard.diag.errors, 1);
    end(&p);
}

/* ---- what cannot be ------------------------------------------------------ */

static void runs_without_a_face_are_left_out(void **state)
{
    const dm_plan_book head = {NULL, "s", DATE};
    dm_buf text = {0};
    dm_plan *plan = NULL;
    size_t left_out = 0;

    (void)state;
    dm_buf_puts(&text,
                "<bridge version='1' "
                "uid='6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c006' id='N' "
                "name='no faces (invented)'>"
                "<duct-type id='D' od='110 mm' wall='6.6 mm' material='hdpe'/>"
                "<tendon id='T1'><anchorage id='A1' x='0 m' y='0 m' z='4 m'/>"
                "<anchorage id='A2' x='9 m' y='0 m' z='4 m'/>"
                "<duct-length duct-type='D'/></tendon></bridge>");
    dm_model *m = model_of_text(&text);
    assert_int_equal(dm_plan_make(m, NULL, NULL, 0, NULL, NULL, &plan), DM_OK);
    assert_near(plan->total.readable, 9.0, 1e-9);
    assert_int_equal(plan->total.run_count, 1);
    assert_near(plan->total.time.tie, 0.0, 0.0);
    dm_plan_output o = {.plan = plan, .model = m, .units = DM_UNITS_METRIC};
    dm_buf_clear(&text);
    assert_int_equal(dm_fieldbook_plan(&o, &head, &left_out, &text), 0);
    assert_int_equal(left_out, 1);
    dm_buf_free(&text);
    dm_plan_free(plan);
    dm_model_free(m);
}

static dm_status write_all(void *user)
{
    const planned *p = user;
    const dm_plan_book head = {NULL, "s", DATE};
    dm_buf text[4] = {{0}};
    size_t left_out = 0;
    bool failed = false;

    dm_fieldbook_plan(&p->output, &head, &left_out, &text[0]);
    dm_csv_plan(&p->output, &text[1]);
    dm_csv_plan_runs(&p->output, &text[2]);
    dm_json_plan(&p->output, &text[3]);
    for (size_t i = 0; i < 4; i++) {
        failed = failed || text[i].failed;
        dm_buf_free(&text[i]);
    }
    return failed ? DM_NOMEM : DM_OK;
}

static void every_failing_allocation_is_remembered(void **state)
{
    planned p;

    (void)state;
    plan_it(&p, true, DM_UNITS_US);
    assert_true(allocfail_each(write_all, &p) > 10);
    end(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_book_says_what_was_planned),
        cmocka_unit_test(the_instrument_is_copied),
        cmocka_unit_test(the_uid_is_a_name_in_the_bridge),
        cmocka_unit_test(the_adjustment_finds_the_stretches),
        cmocka_unit_test(coverage_agrees_with_the_plan),
        cmocka_unit_test(a_book_without_its_calibration_is_refused),
        cmocka_unit_test(runs_without_a_face_are_left_out),
        cmocka_unit_test(every_failing_allocation_is_remembered),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
