/* SPDX-License-Identifier: MIT
 * Field books: data/good_fieldbook.xml field by field, then what differs in
 * small variations of it. Units: international foot 0.3048 m, survey foot
 * 1200/3937 m (NIST SP 811, appendix B.6). */
#include <stdlib.h>

#include "allocfail.h"
#include "base/file.h"
#include "near.h"
#include "said.h"
#include "survey/read.h"

#define US_FOOT (1200.0 / 3937.0)
#define DEGREE (3.14159265358979323846 / 180.0)
#define GOOD DM_TEST_DATA "/good_fieldbook.xml"
#define LATER(file)                                                            \
    file ":38: warning: run: time: not used yet\n" file                        \
         ":38: warning: run: temperature: not used yet\n"
#define USED_LATER LATER("good_fieldbook.xml")
#define BOOK_USED_LATER LATER("book.xml")

typedef struct {
    dm_model *model;
    dm_survey *survey;
    said said;
} good;

static int set_up(void **state)
{
    good *g = calloc(1, sizeof *g);
    const char *path = GOOD;

    assert_non_null(g);
    said_init(&g->said);
    assert_int_equal(
        dm_model_read(DM_TEST_DATA "/good_bridge.xml", NULL, &g->model), DM_OK);
    assert_int_equal(
        dm_survey_read(&path, 1, g->model, &g->said.diag, &g->survey), DM_OK);
    assert_string_equal(g->said.text, USED_LATER);
    *state = g;
    return 0;
}

static int tear_down(void **state)
{
    good *g = *state;

    dm_survey_free(g->survey);
    dm_model_free(g->model);
    free(g);
    return 0;
}

static size_t face(const good *g, const char *id)
{
    size_t i = dm_tendon_find_face(&g->model->tendons[0], id);

    assert_int_not_equal(i, DM_NONE);
    return i;
}

static void head_and_files(void **state)
{
    const dm_survey *s = ((good *)*state)->survey;

    assert_string_equal(s->survey, "spring survey");
    assert_string_equal(s->date, "2026-04-14");
    assert_int_equal(s->file_count, 1);
    assert_string_equal(s->files[0], GOOD);
    assert_int_equal(strlen(s->sha256[0]), 64);
    assert_int_equal(s->opened_count, 0);
}

static void instruments_are_read_with_defaults(void **state)
{
    const dm_survey *s = ((good *)*state)->survey;
    const dm_instrument *a = &s->instruments[0], *b = &s->instruments[1];

    assert_int_equal(s->instrument_count, 2);
    assert_string_equal(a->id, "I1");
    assert_near(a->scale, 1.01, 0.0);
    assert_near(a->scale_u, 0.004, 0.0);
    assert_false(a->scale_shared);
    assert_near(a->walk, 0.002, 1e-18);
    assert_near(a->quantum, 0.005, 1e-18);
    assert_near(a->nose, 5.5 * 0.0254, 1e-16);
    assert_near(a->tail, 0.1, 1e-16);
    assert_int_equal(a->place.line, 5);
    assert_int_equal(a->channel_count, 2);
    assert_string_equal(a->channels[0].id, "C1");
    assert_near(a->channels[0].clock_offset, -30 * DEGREE, 1e-15);
    assert_near(a->channels[0].lead, -0.02, 1e-17);
    assert_near(a->channels[0].footprint_along, 0.1, 1e-16);
    assert_near(a->channels[0].footprint_around, 0.06, 1e-16);
    assert_near(a->channels[0].depth, 0.015, 1e-17);
    assert_near(a->channels[1].clock_offset, 0.0, 0.0);
    assert_near(a->channels[1].lead, 0.0, 0.0);
    assert_near(a->channels[1].footprint_along, 0.3 * 0.3048, 1e-16);
    assert_near(a->channels[1].footprint_around, 2 * 0.0254, 1e-16);
    assert_near(b->scale, 1.0, 0.0);
    assert_near(b->scale_u, 0.005, 0.0);
    assert_true(b->scale_shared);
    assert_near(b->walk, 1.25e-3, 0.0);
    assert_near(b->quantum, 1e-3, 0.0);
}

static void calibrations_are_read_and_found(void **state)
{
    const dm_survey *s = ((good *)*state)->survey;
    const dm_calibration *c = s->calibrations;

    assert_int_equal(s->calibration_count, 3);
    assert_int_equal(c[0].duct_type, 0);
    assert_int_equal(c[0].instrument, 0);
    assert_int_equal(c[0].channel, DM_NONE);
    assert_near(c[0].air, 860.0, 0.0);
    assert_int_equal(c[0].reference_count, 1);
    assert_near(c[0].reference[0].value, 1520.0, 0.0);
    assert_true(isnan(c[0].reference[0].clock));
    assert_int_equal(c[0].band_count, 2);
    assert_int_equal(c[0].bands[0].kind, DM_KIND_VOID_LIKE);
    assert_near(c[0].bands[0].enter, 0.25, 0.0);
    assert_near(c[0].bands[0].leave, 0.15, 0.0);
    assert_int_equal(c[0].bands[1].kind, DM_KIND_SOFT_LIKE);
    assert_near(c[0].bands[1].enter, -0.3, 0.0);
    assert_near(c[0].bands[1].leave, -0.2, 0.0);
    assert_int_equal(c[0].material_count, 1);
    assert_string_equal(c[0].materials[0].name, "void");
    assert_near(c[0].materials[0].mean, 0.6, 0.0);
    assert_near(c[0].materials[0].sd, 0.1, 0.0);
    assert_int_equal(c[1].channel, 1);
    assert_near(c[1].air, -10.5, 0.0);
    assert_int_equal(c[1].reference_count, 2);
    assert_near(c[1].reference[0].clock, 0.0, 0.0);
    assert_near(c[1].reference[1].clock, 180 * DEGREE, 1e-15);
    assert_int_equal(c[1].band_count, 0);
    /* The one that names the channel, else the one for all. */
    assert_ptr_equal(dm_survey_calibration(s, 0, 0, 1), &c[1]);
    assert_ptr_equal(dm_survey_calibration(s, 0, 0, 0), &c[0]);
    assert_ptr_equal(dm_survey_calibration(s, 0, 1, 0), &c[2]);
    assert_null(dm_survey_calibration(s, 1, 0, 0));
}

/* One description per instrument, with the columns of its channels alone. */
static void columns_belong_to_the_runs_instrument(void **state)
{
    const dm_survey *s = ((good *)*state)->survey;
    const dm_columns *a = &s->columns[s->runs[0].columns];
    const dm_columns *b = &s->columns[s->runs[1].columns];

    assert_int_equal(a->delimiter, ';');
    assert_int_equal(a->decimal, ',');
    assert_string_equal(a->x, "run_ft");
    assert_near(a->x_unit, US_FOOT, 0.0);
    assert_string_equal(a->segment, "seg");
    assert_string_equal(a->clock, "deg");
    assert_null(a->time);
    assert_int_equal(a->value_count, 2);
    assert_string_equal(a->value[0], "a");
    assert_int_equal(a->channel[0], 1);
    assert_string_equal(a->value[1], "c");
    assert_int_equal(a->channel[1], 0);
    assert_int_equal(b->value_count, 1);
    assert_string_equal(b->value[0], "b");
    assert_int_equal(b->channel[0], 0);
    assert_string_equal(b->x, "run_ft");
}

static void the_first_run_is_read(void **state)
{
    const dm_run *r = &((good *)*state)->survey->runs[0];

    assert_string_equal(r->id, "R1");
    assert_int_equal(r->tendon, 0);
    assert_int_equal(r->instrument, 0);
    assert_int_equal(r->direction, DM_SIDE_AHEAD);
    assert_int_equal(r->leading, DM_LEADING_NOSE);
    /* 11 o'clock to someone who looks back is 1 o'clock ahead. */
    assert_near(r->clock, 30 * DEGREE, 1e-14);
    assert_string_equal(r->tape, "TAPE1");
    assert_near(r->tape_u, 0.0005, 0.0);
    assert_string_equal(r->time, "09:15");
    assert_near(r->temperature, 10.0, 1e-12); /* 50 degF */
    assert_int_equal(r->event_count, 13);
    assert_int_equal(r->place.line, 38);
}

static void each_kind_of_event_is_read(void **state)
{
    const good *g = *state;
    const dm_event *e = g->survey->runs[0].events;
    static const dm_event_kind kinds[] = {
        DM_EVENT_CHECK, DM_EVENT_CHECK, DM_EVENT_START,  DM_EVENT_READINGS,
        DM_EVENT_LIFT,  DM_EVENT_TIE,   DM_EVENT_SKIP,   DM_EVENT_NOTE,
        DM_EVENT_SKIP,  DM_EVENT_TIE,   DM_EVENT_REZERO, DM_EVENT_READINGS,
        DM_EVENT_TIE};

    for (size_t i = 0; i < 13; i++) {
        assert_int_equal(e[i].kind, kinds[i]);
        assert_int_equal(e[i].place.line, 39 + (int)i);
    }
    assert_int_equal(e[0].check, DM_CHECK_AIR);
    assert_near(e[0].value, 861.5, 0.0);
    assert_int_equal(e[0].channel, 1);
    assert_true(isnan(e[0].x));
    assert_int_equal(e[1].check, DM_CHECK_REFERENCE);
    assert_int_equal(e[1].channel, DM_NONE);
    assert_near(e[2].x, 0.0, 0.0);
    assert_int_equal(e[2].face, face(g, "A1f"));
    assert_int_equal(e[2].with, DM_WITH_TAIL);
    assert_near(e[2].u, 0.004, 1e-18);
    assert_near(e[2].distance, 0.05, 1e-17);
    assert_string_equal(e[3].href, DM_TEST_DATA "/r/one.csv");
    assert_string_equal(e[3].segment, "s1");
    assert_true(isnan(e[3].rows_from) && isnan(e[3].rows_to));
    assert_near(e[4].x, 2.0, 0.0);
    assert_near(e[4].x_to, 2.5, 0.0);
    assert_string_equal(e[4].reason, "cable tray");
    assert_near(e[5].x, 10 * US_FOOT, 1e-15);
    assert_int_equal(e[5].face, face(g, "D1b"));
    assert_int_equal(e[5].with, DM_WITH_ELECTRODE);
    assert_true(isnan(e[5].u)); /* not stated */
    assert_near(e[5].distance, 0.0, 0.0);
    assert_near(e[6].x, 3.1, 1e-15);
    assert_near(e[6].x_resume, 3.2, 1e-15);
    assert_true(e[6].length_known);
    assert_near(e[6].length, 4 * 0.3048, 1e-15);
    assert_near(e[6].u, 0.0254, 1e-17);
    assert_int_equal(e[6].basis, DM_SKIP_GAP);
    assert_string_equal(e[6].reason, "deviator");
    assert_false(e[8].length_known);
    assert_int_equal(e[8].basis, DM_SKIP_DISPLACEMENT);
    assert_near(e[8].x_resume, 3.2, 1e-15); /* as x */
    assert_true(isnan(e[8].u));
    assert_int_equal(e[9].with, DM_WITH_ENCODER);
    assert_near(e[10].x, 4.0, 0.0);
    assert_near(e[10].x_resume, 0.0, 0.0);
    assert_string_equal(e[11].segment, "s2");
    assert_int_equal(e[12].with, DM_WITH_NOSE);
}

/* R2 names no segment: one part of its file between each two skips. */
static void a_whole_file_is_split_at_the_skips(void **state)
{
    const dm_run *r = &((good *)*state)->survey->runs[1];
    const dm_event *e = r->events;
    static const dm_event_kind kinds[] = {
        DM_EVENT_START, DM_EVENT_READINGS, DM_EVENT_SKIP, DM_EVENT_READINGS,
        DM_EVENT_SKIP,  DM_EVENT_READINGS, DM_EVENT_TIE};

    assert_int_equal(r->direction, DM_SIDE_BACK);
    assert_int_equal(r->leading, DM_LEADING_TAIL);
    assert_near(r->clock, 90 * DEGREE, 1e-15);
    assert_null(r->tape);
    assert_near(r->tape_u, 0.0, 0.0);
    assert_null(r->time);
    assert_true(isnan(r->temperature));
    assert_int_equal(r->event_count, 7);
    for (size_t i = 0; i < 7; i++)
        assert_int_equal(e[i].kind, kinds[i]);
    assert_true(isinf(e[1].rows_from) && e[1].rows_from < 0.0);
    assert_near(e[1].rows_to, 5.0, 0.0);
    assert_near(e[3].rows_from, 5.0, 0.0);
    assert_near(e[3].rows_to, 9.0, 0.0);
    assert_near(e[5].rows_from, 9.0, 0.0);
    assert_true(isinf(e[5].rows_to) && e[5].rows_to > 0.0);
    assert_string_equal(e[5].href, DM_TEST_DATA "/two.csv");
    assert_null(e[5].segment);
}

/* ---- variations ---------------------------------------------------------- */

/* The good book with one text replaced by another. */
static dm_status read_with(good *g, const char *from, const char *to,
                           dm_survey **out)
{
    dm_buf text = {0}, changed = {0};

    assert_int_equal(
        dm_file_read(GOOD, 1 << 20, (dm_place){GOOD, 0}, NULL, &text), DM_OK);
    const char *at = strstr(text.data, from);
    assert_non_null(at);
    dm_buf_put(&changed, text.data, (size_t)(at - text.data));
    dm_buf_puts(&changed, to);
    dm_buf_puts(&changed, at + strlen(from));
    said_init(&g->said);
    dm_status status =
        dm_survey_read_text("book.xml", &changed, g->model, &g->said.diag, out);
    dm_buf_free(&text);
    dm_buf_free(&changed);
    return status;
}

static void a_steel_duct_is_refused_by_name(void **state)
{
    dm_survey *s = NULL;

    assert_int_equal(read_with(*state, "duct-type=\"D114\" instrument=\"I2\"",
                               "duct-type=\"TUBE\" instrument=\"I2\"", &s),
                     DM_UNSUPPORTED);
    assert_null(s);
    assert_string_equal(
        ((good *)*state)->said.text,
        "book.xml:29: error: calibration: duct type TUBE is of steel: a steel "
        "duct cannot be read by this kind of sensor\n" BOOK_USED_LATER);
}

static void clock_views_mirror(void **state)
{
    static const struct {
        const char *clock;
        double degrees;
    } rows[] = {{"12:00\" clock-view=\"back", 0.0},
                {"3:00\" clock-view=\"back", 270.0},
                {"0 deg\" clock-view=\"back", 0.0},
                {"359.5 deg\" clock-view=\"back", 0.5},
                {"360 deg\" clock-view=\"ahead", 0.0},
                {"9:30\" clock-view=\"ahead", 285.0},
                {"0:30", 15.0}};

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        dm_survey *s = NULL;
        assert_int_equal(
            read_with(*state, "11:00\" clock-view=\"back", rows[i].clock, &s),
            DM_OK);
        assert_near(s->runs[0].clock, rows[i].degrees * DEGREE, 1e-14);
        dm_survey_free(s);
    }
}

static void columns_default_to_comma_and_point(void **state)
{
    dm_survey *s = NULL;

    assert_int_equal(
        read_with(*state, "delimiter=\"semicolon\" decimal=\"comma\"", "", &s),
        DM_OK);
    assert_int_equal(s->columns[0].delimiter, ',');
    assert_int_equal(s->columns[0].decimal, '.');
    dm_survey_free(s);
}

/* Run distances may begin anew after a rezero, and only there. */
static void only_a_rezero_lets_run_distance_go_back(void **state)
{
    dm_survey *s = NULL;

    assert_int_equal(
        read_with(*state, "<rezero x=\"4 m\" x-resume=\"0 m\"/>", "", &s),
        DM_INCONSISTENT);
    assert_string_equal(((good *)*state)->said.text, BOOK_USED_LATER
                        "book.xml:51: error: tie: the run distance goes back "
                        "by more than 0.5 m without a rezero\n");
}

/* 10 L at 20 kPa, 60 kPa together, air at 101.325 kPa: Boyle's law, values
 * computed independently with mpmath; the uncertainty from its numerical
 * derivatives (GUM, JCGM 100:2008, 5.1.2). */
static void a_pressure_volume_is_read(void **state)
{
    const dm_pressures *p;
    dm_survey *s = NULL;

    assert_int_equal(
        read_with(*state, "</fieldbook>",
                  "<opened id=\"O1\" tendon=\"T1\" face=\"D1a\" "
                  "distance=\"1 m\" clock=\"0 deg\" date=\"2026-05-01\" "
                  "found=\"void\"><pressure-volume vessel=\"10 L\" "
                  "pressure-before=\"20 kPa\" pressure-after=\"60 kPa\" "
                  "pressure-air=\"101.325 kPa\" hoses=\"0.5 L\" "
                  "vessel-u=\"0.05 L\" pressure-u=\"0.2 kPa\" "
                  "hoses-u=\"0.02 L\"/><note>a &lt; b</note></opened>"
                  "<opened id=\"O2\" tendon=\"T1\" face=\"D1a\" "
                  "distance=\"1 m\" clock=\"0 deg\" date=\"2026-05-01\" "
                  "found=\"void\"><pressure-volume vessel=\"10 L\" "
                  "pressure-before=\"20 kPa\" pressure-after=\"60 kPa\" "
                  "pressure-air=\"101.325 kPa\" vessel-u=\"0.05 L\"/>"
                  "</opened></fieldbook>",
                  &s),
        DM_OK);
    assert_int_equal(s->opened_count, 2);
    p = &s->opened[0].pressures;
    assert_near(p->vessel, 10e-3, 1e-17);
    assert_near(p->before, 20e3, 1e-9);
    assert_near(p->after, 60e3, 1e-9);
    assert_near(p->air, 101.325e3, 1e-9);
    assert_near(p->hoses, 0.5e-3, 1e-17);
    assert_near(p->volume, 9.17937084089534e-3, 1e-15);
    assert_near(p->u, 1.27867146103049e-4, 1e-17);
    assert_string_equal(s->opened[0].note, "a < b");
    p = &s->opened[1].pressures; /* of the pressures none is stated */
    assert_near(p->volume, 9.67937084089534e-3, 1e-15);
    assert_true(isnan(p->u));
    assert_null(s->opened[1].note);
    dm_survey_free(s);
}

static void opened_places_and_later_features_are_read(void **state)
{
    dm_survey *s = NULL;
    const dm_opened *o;

    assert_int_equal(
        read_with(*state, "</fieldbook>",
                  "<opened id=\"O1\" tap=\"P1\" tendon=\"T1\" face=\"D1a\" "
                  "distance=\"3 ft\" clock=\"2:00\" clock-view=\"back\" "
                  "date=\"2026-05-01\" found=\"water\" depth=\"12 mm\" "
                  "water=\"true\" strand=\"1\" photo=\"p.jpg\"/></fieldbook>",
                  &s),
        DM_OK);
    assert_string_equal(((good *)*state)->said.text, BOOK_USED_LATER);
    assert_int_equal(s->opened_count, 1);
    o = &s->opened[0];
    assert_string_equal(o->id, "O1");
    assert_string_equal(o->tap, "P1");
    assert_int_equal(o->tendon, 0);
    assert_int_equal(o->face, face(*state, "D1a"));
    assert_near(o->distance, 3 * 0.3048, 1e-15);
    assert_near(o->clock, 300 * DEGREE, 1e-14);
    assert_near(o->depth, 0.012, 1e-17);
    assert_int_equal(o->found, DM_FOUND_WATER);
    assert_true(o->water && o->strand);
    assert_true(isnan(o->pressures.volume));
    assert_string_equal(o->photo, "p.jpg");
    assert_string_equal(o->date, "2026-05-01");
    dm_survey_free(s);
}

/* ---- several books ------------------------------------------------------- */

static void two_books_make_one_survey(void **state)
{
    good *g = *state;
    const char *paths[2] = {DM_TEST_DATA "/good_fieldbook2.xml", GOOD};
    dm_survey *s = NULL;

    said_init(&g->said);
    assert_int_equal(dm_survey_read(paths, 2, g->model, &g->said.diag, &s),
                     DM_OK);
    assert_string_equal(g->said.text, USED_LATER);
    assert_int_equal(s->file_count, 2);
    assert_string_equal(s->survey, "autumn survey"); /* of the first */
    assert_int_equal(s->instrument_count, 3);
    assert_int_equal(s->columns_count, 3);
    assert_int_equal(s->run_count, 3);
    assert_string_equal(s->instruments[0].id, "I3");
    assert_string_equal(s->instruments[1].id, "I1");
    assert_int_equal(s->runs[0].instrument, 0);
    assert_int_equal(s->runs[1].instrument, 1);
    assert_int_equal(s->runs[2].instrument, 2);
    assert_string_equal(s->columns[s->runs[0].columns].x, "x");
    assert_string_equal(s->columns[s->runs[2].columns].value[0], "b");
    assert_int_equal(s->calibrations[0].instrument, 0);
    assert_int_equal(s->calibrations[1].instrument, 1);
    assert_near(s->calibrations[0].air, 7.0, 0.0);
    assert_string_equal(s->runs[1].id, "R1");
    dm_survey_free(s);
}

static void a_run_in_two_books_is_refused(void **state)
{
    good *g = *state;
    const char *paths[2] = {GOOD, GOOD};
    dm_survey *s = NULL;

    said_init(&g->said);
    assert_int_equal(dm_survey_read(paths, 2, g->model, &g->said.diag, &s),
                     DM_REFERENCE);
    assert_null(s);
    assert_int_equal(g->said.diag.errors, 2); /* both runs, in one go */
}

/* ---- memory -------------------------------------------------------------- */

static dm_status read_and_free(void *user)
{
    good *g = user;
    const char *paths[2] = {DM_TEST_DATA "/good_fieldbook2.xml", GOOD};
    dm_survey *s = NULL;

    said_init(&g->said);
    dm_status status = dm_survey_read(paths, 2, g->model, &g->said.diag, &s);
    assert_true((status == DM_OK) == (s != NULL));
    if (status == DM_NOMEM)
        assert_true(g->said.diag.errors > 0); /* it was said */
    dm_survey_free(s);
    return status;
}

/* Our own allocations; those inside shared libraries do not pass here. */
static void each_failed_allocation_is_no_memory(void **state)
{
    assert_true(allocfail_each(read_and_free, *state) >= 8);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(head_and_files),
        cmocka_unit_test(instruments_are_read_with_defaults),
        cmocka_unit_test(calibrations_are_read_and_found),
        cmocka_unit_test(columns_belong_to_the_runs_instrument),
        cmocka_unit_test(the_first_run_is_read),
        cmocka_unit_test(each_kind_of_event_is_read),
        cmocka_unit_test(a_whole_file_is_split_at_the_skips),
        cmocka_unit_test(a_steel_duct_is_refused_by_name),
        cmocka_unit_test(clock_views_mirror),
        cmocka_unit_test(columns_default_to_comma_and_point),
        cmocka_unit_test(only_a_rezero_lets_run_distance_go_back),
        cmocka_unit_test(a_pressure_volume_is_read),
        cmocka_unit_test(opened_places_and_later_features_are_read),
        cmocka_unit_test(two_books_make_one_survey),
        cmocka_unit_test(a_run_in_two_books_is_refused),
        cmocka_unit_test(each_failed_allocation_is_no_memory),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
