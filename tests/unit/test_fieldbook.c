/* SPDX-License-Identifier: MIT
 * Field books against data/good_bridge.xml: every value at its place, defaults,
 * clock angles looking ahead, parts of files, several books. Faults are the
 * matter of test_bad_input. */
#define _POSIX_C_SOURCE 200809L
#include "allocfail.h"
#include "base/buf.h"
#include "ductmark/survey.h"
#include "said.h"
#include "scratch.h"

#define PI 3.14159265358979323846
#define BRIDGE "11111111-2222-4333-8444-555555555555"

typedef struct {
    scratch files;
    dm_model *model;
    dm_survey *survey;
    said said;
} fixture;

static int set_up(void **state)
{
    fixture *f = calloc(1, sizeof *f);

    if (f == NULL)
        return -1;
    scratch_init(&f->files);
    said_init(&f->said);
    *state = f;
    return dm_model_read(DM_TEST_DATA "/good_bridge.xml", NULL, &f->model) ==
                   DM_OK
               ? 0
               : -1;
}

static int tear_down(void **state)
{
    fixture *f = *state;

    dm_survey_free(f->survey);
    dm_model_free(f->model);
    scratch_free(&f->files);
    free(f);
    return 0;
}

/* ---- books as text ---------------------------------------------------------
 */

#define HEAD                                                                   \
    "<fieldbook version='1' uid='aaaaaaaa-2222-4333-8444-555555555555' "       \
    "survey='spring' date='2026-04-14' bridge='" BRIDGE "'>"
#define INSTRUMENT                                                             \
    "<instrument id='I1'><encoder/><body nose='140 mm' tail='100 mm'/>"        \
    "<channel id='C1' footprint-along='100 mm' footprint-around='60 mm' "      \
    "depth='15 mm'/></instrument>"
#define CALIBRATION                                                            \
    "<calibration duct-type='D114' instrument='I1'><air value='860'/>"         \
    "<reference value='1520'/></calibration>"
#define COLUMNS                                                                \
    "<columns run-distance='x' unit='mm' segment='s'>"                         \
    "<value column='v' channel='C1'/></columns>"
#define RUN(id)                                                                \
    "<run id='" id "' tendon='T1' instrument='I1' direction='ahead' "          \
    "leading='nose' clock='0 deg'>"
#define START "<start x='0 mm' at='A1f' with='tail'/>"

static dm_status read_books(fixture *f, const char *const *texts, size_t count)
{
    const char *paths[4];
    dm_status status;

    for (size_t i = 0; i < count; i++) {
        char name[] = "book1.xml";

        name[4] = (char)('1' + (int)i);
        paths[i] = scratch_file(&f->files, name, texts[i]);
    }
    status = dm_survey_read(paths, count, f->model, &f->said.diag, &f->survey);
    assert_true((status == DM_OK) == (f->survey != NULL));
    assert_true((status == DM_OK) == (f->said.diag.errors == 0));
    return status;
}

/* A book with the given events in its only run. */
static const dm_run *read_events(fixture *f, const char *events)
{
    dm_buf text = {0};
    const char *whole;

    dm_buf_printf(&text, "%s%s%s%s%s%s</run></fieldbook>", HEAD, INSTRUMENT,
                  CALIBRATION, COLUMNS, RUN("R1"), events);
    assert_false(text.failed);
    whole = text.data;
    if (read_books(f, &whole, 1) != DM_OK)
        fail_msg("%s", f->said.text);
    dm_buf_free(&text);
    return &f->survey->runs[0];
}

/* ---- everything a book can say ----------------------------------------------
 */

static const char whole_book[] = HEAD
    "<instrument id='I1'><encoder scale='1.01' u='0.004' walk='2 mm' "
    "quantum='0.5 mm' per='run'/><body nose='0.5 ft' tail='4 in' "
    "body-height='2.5 in'/>"
    "<channel id='C1' lead='-20 mm' footprint-along='100 mm' "
    "footprint-around='60 mm' depth='15 mm'/>"
    "<channel id='C2' clock-offset='-7.5 deg' footprint-along='110 mm' "
    "footprint-around='70 mm' depth='0.6 in'/></instrument>"
    "<tape id='T' scale-u='0.0005'/>"
    "<calibration duct-type='D114' instrument='I1'><air value='860'/>"
    "<reference value='1520'/>"
    "<band kind='void-like' enter='0.25' leave='0.15'/>"
    "<band kind='soft-like' enter='-0.25' leave='-0.15'/>"
    "<material kind='soft' mean='-0.4' sd='0.1'/>"
    "<depth index='0.2' depth='5 mm' u='2 mm'/></calibration>"
    "<calibration duct-type='D114' instrument='I1' channel='C2'>"
    "<air value='-1.5'/><reference value='2' clock='0 deg'/>"
    "<reference value='2.5' clock='3:00'/></calibration>"
    "<columns delimiter='semicolon' decimal='comma' run-distance='d' unit='ft' "
    "segment='s' clock='phi'><value column='b' channel='C2'/>"
    "<value column='a' channel='C1'/></columns>"
    "<run id='R1' tendon='T1' instrument='I1' direction='back' leading='tail' "
    "clock='3:00' clock-view='back' tape='T'>"
    "<check kind='air' value='861.5' channel='C2'/>"
    "<start x='0 mm' at='A2f' with='tail' distance='12 mm' u='4 mm'/>"
    "<readings href='rows/r1.csv' segment='s1'/>"
    "<lift x='1 m' x-to='1.05 m' reason='seam'/>"
    "<tie x='8 m' at='D2a' with='electrode'/>"
    "<skip x='8 m' length='1200 mm' u='6 mm' basis='gap' reason='deviator'/>"
    "<tie x='8 m' at='D2b' with='nose' u='2 mm'/>"
    "<readings href='/abs/r2.csv' segment='s2'/>"
    "<skip x='9 m' x-resume='9.1 m'/>"
    "<turn x='7 m' readings='t.csv' direction='counterclockwise'/>"
    "<tie x='16 m' at='D1a' with='encoder'/>"
    "<rezero x='16 m' x-resume='0 m'/>"
    "<readings href='rows/r1.csv' segment='s3'/>"
    "<check kind='reference' value='1500'/><note>end</note></run>"
    "<opened id='O1' tap='T1-I01' tendon='T1' face='A1f' distance='1 m' "
    "clock='90 deg' clock-view='back' date='2026-05-01' found='void' "
    "depth='20 mm' water='true'/></fieldbook>";

static void the_instrument_is_read(void **state)
{
    fixture *f = *state;
    const char *text = whole_book;
    const dm_instrument *in;

    assert_int_equal(read_books(f, &text, 1), DM_OK);
    assert_string_equal(f->survey->survey, "spring");
    assert_string_equal(f->survey->date, "2026-04-14");
    assert_int_equal(strlen(f->survey->sha256[0]), 64);
    assert_int_equal(f->survey->instrument_count, 1);
    in = &f->survey->instruments[0];
    assert_near(in->scale, 1.01, 1e-15);
    assert_near(in->scale_u, 0.004, 1e-15);
    assert_false(in->scale_shared);
    assert_near(in->walk, 0.002, 1e-15);
    assert_near(in->quantum, 0.0005, 1e-15);
    assert_near(in->nose, 0.1524, 1e-15);
    assert_near(in->tail, 0.1016, 1e-15);
    assert_near(in->body_height, 0.0635, 1e-15);
    assert_int_equal(in->channel_count, 2);
    assert_near(in->channels[0].lead, -0.02, 1e-15);
    assert_near(in->channels[0].clock_offset, 0.0, 0.0);
    assert_near(in->channels[1].clock_offset, -7.5 * PI / 180.0, 1e-15);
    assert_near(in->channels[1].footprint_along, 0.11, 1e-15);
    assert_near(in->channels[1].footprint_around, 0.07, 1e-15);
    assert_near(in->channels[1].depth, 0.01524, 1e-15);
}

static void calibrations_are_read_and_found(void **state)
{
    fixture *f = *state;
    const char *text = whole_book;
    const dm_calibration *all, *second;

    assert_int_equal(read_books(f, &text, 1), DM_OK);
    assert_int_equal(f->survey->calibration_count, 2);
    all = dm_survey_calibration(f->survey, 0, 0, 0);
    second = dm_survey_calibration(f->survey, 0, 0, 1);
    assert_ptr_equal(all, &f->survey->calibrations[0]);
    assert_ptr_equal(second, &f->survey->calibrations[1]);
    assert_null(dm_survey_calibration(f->survey, 1, 0, 0));
    assert_null(dm_survey_calibration(f->survey, 0, 1, 0));
    assert_near(all->air, 860.0, 0.0);
    assert_true(isnan(all->reference[0].clock));
    assert_int_equal(all->band_count, 2);
    assert_int_equal(all->bands[1].kind, DM_KIND_SOFT_LIKE);
    assert_near(all->bands[1].enter, -0.25, 0.0);
    assert_near(all->bands[1].leave, -0.15, 0.0);
    assert_string_equal(all->materials[0].name, "soft");
    assert_near(all->materials[0].sd, 0.1, 0.0);
    assert_near(all->depths[0].depth, 0.005, 1e-15);
    assert_int_equal(second->reference_count, 2);
    assert_near(second->reference[1].clock, PI / 2.0, 1e-15);
    assert_near(second->reference[1].value, 2.5, 0.0);
}

static void columns_are_read(void **state)
{
    fixture *f = *state;
    const char *text = whole_book;
    const dm_columns *c;

    assert_int_equal(read_books(f, &text, 1), DM_OK);
    assert_int_equal(f->survey->columns_count, 1);
    c = &f->survey->columns[f->survey->runs[0].columns];
    assert_int_equal(c->delimiter, ';');
    assert_int_equal(c->decimal, ',');
    assert_string_equal(c->x, "d");
    assert_near(c->x_unit, 0.3048, 0.0);
    assert_string_equal(c->segment, "s");
    assert_string_equal(c->clock, "phi");
    assert_int_equal(c->value_count, 2);
    assert_string_equal(c->value[0], "b");
    assert_int_equal(c->channel[0], 1);
    assert_int_equal(c->channel[1], 0);
}

static void a_run_and_its_events_are_read(void **state)
{
    fixture *f = *state;
    const char *text = whole_book;
    const dm_run *run;
    const dm_event *e;
    char path[128];

    assert_int_equal(read_books(f, &text, 1), DM_OK);
    run = &f->survey->runs[0];
    assert_int_equal(run->direction, DM_SIDE_BACK);
    assert_int_equal(run->leading, DM_LEADING_TAIL);
    /* 3 o'clock looking back is 9 o'clock looking ahead. */
    assert_near(run->clock, 1.5 * PI, 1e-15);
    assert_string_equal(run->tape, "T");
    assert_near(run->tape_u, 0.0005, 0.0);
    assert_int_equal(run->event_count, 15);
    e = run->events;
    assert_int_equal(e[0].kind, DM_EVENT_CHECK);
    assert_int_equal(e[0].check, DM_CHECK_AIR);
    assert_int_equal(e[0].channel, 1);
    assert_near(e[0].value, 861.5, 0.0);
    assert_int_equal(e[1].kind, DM_EVENT_START);
    assert_int_equal(e[1].face,
                     dm_tendon_find_face(&f->model->tendons[0], "A2f"));
    assert_int_equal(e[1].with, DM_WITH_TAIL);
    assert_near(e[1].distance, 0.012, 1e-15);
    assert_near(e[1].u, 0.004, 1e-15);
    snprintf(path, sizeof path, "%s/rows/r1.csv", f->files.folder);
    assert_string_equal(e[2].href, path);
    assert_string_equal(e[2].segment, "s1");
    assert_true(isnan(e[2].rows_from) && isnan(e[2].rows_to));
    assert_near(e[3].x, 1.0, 0.0);
    assert_near(e[3].x_to, 1.05, 1e-15);
    assert_string_equal(e[3].reason, "seam");
    assert_int_equal(e[4].with, DM_WITH_ELECTRODE);
    assert_true(isnan(e[4].u)); /* the job's settings hold */
    assert_true(e[5].length_known);
    assert_near(e[5].length, 1.2, 1e-15);
    assert_near(e[5].u, 0.006, 1e-15);
    assert_int_equal(e[5].basis, DM_SKIP_GAP);
    assert_near(e[5].x_resume, 8.0, 0.0);
    assert_string_equal(e[7].href, "/abs/r2.csv");
    assert_false(e[8].length_known);
    assert_near(e[8].x_resume, 9.1, 1e-15);
    assert_true(isnan(e[8].u));
    assert_int_equal(e[9].kind, DM_EVENT_TURN);
    assert_true(e[9].counterclockwise);
    assert_int_equal(e[10].with, DM_WITH_ENCODER);
    assert_int_equal(e[11].kind, DM_EVENT_REZERO);
    assert_near(e[11].x, 16.0, 0.0);
    assert_near(e[11].x_resume, 0.0, 0.0);
    assert_int_equal(e[13].check, DM_CHECK_REFERENCE);
    assert_int_equal(e[13].channel, DM_NONE);
}

static void what_was_opened_is_read(void **state)
{
    fixture *f = *state;
    const char *text = whole_book;
    const dm_opened *o;

    assert_int_equal(read_books(f, &text, 1), DM_OK);
    assert_int_equal(f->survey->opened_count, 1);
    o = &f->survey->opened[0];
    assert_string_equal(o->tap, "T1-I01");
    assert_near(o->clock, 1.5 * PI, 1e-15);
    assert_near(o->depth, 0.02, 1e-15);
    assert_true(o->water);
    assert_false(o->strand);
    assert_int_equal(o->found, DM_FOUND_VOID);
}

static void what_is_not_said_has_its_default(void **state)
{
    fixture *f = *state;
    const dm_run *run =
        read_events(f, START "<readings href='r.csv' segment='a'/>"
                             "<skip x='1 m' length='1 m'/>");
    const dm_instrument *in = &f->survey->instruments[0];

    assert_string_equal(f->said.text, "");
    assert_near(in->scale, 1.0, 0.0);
    assert_near(in->scale_u, 0.005, 0.0);
    assert_near(in->walk, 1.25e-3, 0.0);
    assert_near(in->quantum, 1e-3, 0.0);
    assert_true(in->scale_shared);
    assert_near(in->channels[0].lead, 0.0, 0.0);
    assert_null(run->tape);
    assert_near(run->tape_u, 0.0, 0.0);
    assert_true(isnan(run->temperature));
    assert_true(isnan(run->events[0].u));
    assert_near(run->events[0].distance, 0.0, 0.0);
    assert_int_equal(run->events[2].basis, DM_SKIP_DISPLACEMENT);
    assert_true(isnan(run->events[2].u));
    assert_int_equal(f->survey->columns[0].delimiter, ',');
    assert_int_equal(f->survey->columns[0].decimal, '.');
}

/* Looking ahead phi, looking back 12 - phi. */
static void clock_angles_look_ahead(void **state)
{
    static const struct {
        const char *clock, *view;
        double ahead; /* deg */
    } cases[] = {{"0 deg", "ahead", 0},    {"0 deg", "back", 0},
                 {"12:00", "back", 0},     {"360 deg", "ahead", 0},
                 {"90 deg", "ahead", 90},  {"90 deg", "back", 270},
                 {"10:30", "ahead", 315},  {"10:30", "back", 45},
                 {"180 deg", "back", 180}, {"6:00", "ahead", 180}};

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        fixture *f;
        void *own = NULL;
        dm_buf text = {0};
        const char *whole;

        (void)state;
        assert_int_equal(set_up(&own), 0);
        f = own;
        dm_buf_printf(&text,
                      "%s%s%s%s<run id='R1' tendon='T1' instrument='I1' "
                      "direction='ahead' leading='nose' clock='%s' "
                      "clock-view='%s'>" START "</run></fieldbook>",
                      HEAD, INSTRUMENT, CALIBRATION, COLUMNS, cases[i].clock,
                      cases[i].view);
        whole = text.data;
        assert_int_equal(read_books(f, &whole, 1), DM_OK);
        assert_near(f->survey->runs[0].clock, cases[i].ahead * PI / 180.0,
                    1e-15);
        dm_buf_free(&text);
        tear_down(&own);
    }
}

/* ---- parts of files ---------------------------------------------------------
 */

typedef struct {
    dm_event_kind kind;
    double from, to; /* of readings; NAN: all rows */
} expected_event;

static void assert_events(const dm_run *run, const expected_event *expected,
                          size_t count)
{
    assert_int_equal(run->event_count, count);
    for (size_t i = 0; i < count; i++) {
        const dm_event *e = &run->events[i];

        assert_int_equal(e->kind, expected[i].kind);
        if (e->kind != DM_EVENT_READINGS)
            continue;
        assert_true(isnan(expected[i].from) ? isnan(e->rows_from)
                                            : e->rows_from == expected[i].from);
        assert_true(isnan(expected[i].to) ? isnan(e->rows_to)
                                          : e->rows_to == expected[i].to);
    }
}

#define INF ((double)INFINITY)
#define ALL ((double)NAN)
#define R(from, to)                                                            \
    {                                                                          \
        DM_EVENT_READINGS, (from), (to)                                        \
    }
#define E(kind)                                                                \
    {                                                                          \
        DM_EVENT_##kind, 0, 0                                                  \
    }
#define CHECK_EVENTS(run, ...)                                                 \
    do {                                                                       \
        const expected_event expected_[] = {__VA_ARGS__};                      \
        assert_events((run), expected_, sizeof expected_ / sizeof *expected_); \
    } while (0)

static void a_file_without_skips_stays_whole(void **state)
{
    CHECK_EVENTS(read_events(*state, START "<readings href='a.csv'/>"
                                           "<tie x='5 m' at='D1b' "
                                           "with='nose'/>"),
                 E(START), R(ALL, ALL), E(TIE));
}

static void skips_without_readings_cut_the_file(void **state)
{
    CHECK_EVENTS(read_events(*state, START "<readings href='a.csv'/>"
                                           "<skip x='2 m' length='1 m'/>"
                                           "<tie x='2 m' at='D1a' with='tail'/>"
                                           "<skip x='5 m' x-resume='5.5 m'/>"),
                 E(START), R(-INF, 2), E(SKIP), R(2, 5), E(TIE), E(SKIP),
                 R(5, INF));
}

static void a_skip_before_other_readings_does_not_cut(void **state)
{
    CHECK_EVENTS(read_events(*state, START "<readings href='a.csv'/>"
                                           "<skip x='2 m' length='1 m'/>"
                                           "<readings href='b.csv'/>"
                                           "<skip x='4 m' length='1 m'/>"
                                           "<skip x='6 m' length='1 m'/>"
                                           "<readings href='c.csv'/>"),
                 E(START), R(ALL, ALL), E(SKIP), R(-INF, 4), E(SKIP), R(4, INF),
                 E(SKIP), R(ALL, ALL));
}

static void readings_with_segments_are_not_cut(void **state)
{
    CHECK_EVENTS(read_events(*state,
                             START "<readings href='a.csv' segment='a'/>"
                                   "<skip x='2 m' length='1 m'/>"
                                   "<skip x='3 m' length='1 m'/>"
                                   "<rezero x='4 m' x-resume='0 m'/>"
                                   "<readings href='a.csv' segment='b'/>"
                                   "<tie x='1 m' at='D1b' with='nose'/>"),
                 E(START), R(ALL, ALL), E(SKIP), E(SKIP), E(REZERO),
                 R(ALL, ALL), E(TIE));
}

static void a_skip_noted_a_little_back_makes_an_empty_part(void **state)
{
    CHECK_EVENTS(read_events(*state, START "<readings href='a.csv'/>"
                                           "<skip x='2 m' length='1 m'/>"
                                           "<skip x='1.9 m' length='1 m'/>"),
                 E(START), R(-INF, 2), E(SKIP), R(2, 2), E(SKIP), R(2, INF));
}

/* ---- several instruments, several books
 * ---------------------------------------- */

static void each_instrument_has_the_columns_of_its_channels(void **state)
{
    fixture *f = *state;
    const char *text = HEAD INSTRUMENT
        "<instrument id='I2'><encoder/><body nose='1 mm' tail='1 mm'/>"
        "<channel id='K1' footprint-along='9 mm' footprint-around='9 mm' "
        "depth='9 mm'/>"
        "<channel id='K2' footprint-along='9 mm' footprint-around='9 mm' "
        "depth='9 mm'/></instrument>" CALIBRATION
        "<columns run-distance='x' unit='m'><value column='k2' channel='K2'/>"
        "<value column='c1' channel='C1'/></columns>" RUN("R1") START
        "</run><run id='R2' tendon='T1' instrument='I2' direction='ahead' "
        "leading='nose' clock='0 deg'>" START "</run></fieldbook>";
    const dm_columns *one, *two;

    assert_int_equal(read_books(f, &text, 1), DM_OK);
    one = &f->survey->columns[f->survey->runs[0].columns];
    two = &f->survey->columns[f->survey->runs[1].columns];
    assert_int_equal(one->value_count, 1);
    assert_string_equal(one->value[0], "c1");
    assert_int_equal(one->channel[0], 0);
    assert_int_equal(two->value_count, 1);
    assert_string_equal(two->value[0], "k2");
    assert_int_equal(two->channel[0], 1);
}

#define BOOK(run, href)                                                        \
    HEAD INSTRUMENT "<tape id='T' scale-u='0.001'/>" CALIBRATION COLUMNS RUN(  \
        run) START "<readings href='" href "' segment='a'/></run></fieldbook>"

static void two_books_make_one_survey(void **state)
{
    fixture *f = *state;
    const char *texts[] = {BOOK("R1", "a.csv"), BOOK("R2", "b.csv")};

    assert_int_equal(read_books(f, texts, 2), DM_OK);
    assert_string_equal(f->said.text, "");
    assert_int_equal(f->survey->file_count, 2);
    assert_int_equal(f->survey->run_count, 2);
    assert_string_equal(f->survey->runs[1].id, "R2");
    /* Each book keeps its own calibrations. */
    assert_int_equal(f->survey->runs[1].instrument, 1);
    assert_ptr_equal(dm_survey_calibration(f->survey, 0, 1, 0),
                     &f->survey->calibrations[1]);
    assert_int_equal(f->survey->runs[1].columns, 1);
}

static void books_must_agree(void **state)
{
    fixture *f = *state;
    const char *texts[] = {
        BOOK("R1", "a.csv"), BOOK("R1", "b.csv"), BOOK("R2", "a.csv"),
        HEAD "<instrument id='I1'><encoder/><body nose='141 mm' "
             "tail='100 mm'/><channel id='C1' footprint-along='100 mm' "
             "footprint-around='60 mm' depth='15 mm'/></instrument>"
             "<tape id='T' scale-u='0.002'/>" CALIBRATION COLUMNS RUN("R3")
                 START "</run></fieldbook>"};
    char expected[2048];

    assert_int_equal(read_books(f, texts, 4), DM_REFERENCE);
    snprintf(expected, sizeof expected,
             "book2.xml:1: error: run: a second run 'R1'; the first is at "
             "%s/book1.xml:1\n"
             "book3.xml:1: error: readings: run R1 has these rows already, at "
             "%s/book1.xml:1\n"
             "book4.xml:1: error: instrument: instrument I1 differs from that "
             "of %s/book1.xml:1, expected the same values or another id\n"
             "book4.xml:1: error: tape: tape T differs from that of "
             "%s/book1.xml:1, expected the same scale-u or another id\n",
             f->files.folder, f->files.folder, f->files.folder,
             f->files.folder);
    assert_string_equal(f->said.text, expected);
}

/* ---- memory
 * ------------------------------------------------------------------- */

typedef struct {
    const char *path;
    const dm_model *model;
} one_book;

static dm_status read_one(void *user)
{
    const one_book *b = user;
    dm_survey *survey = NULL;
    dm_status status = dm_survey_read(&b->path, 1, b->model, NULL, &survey);

    dm_survey_free(survey);
    return status;
}

static void each_failed_allocation_is_no_memory(void **state)
{
    fixture *f = *state;
    one_book b = {scratch_file(&f->files, "book.xml", whole_book), f->model};

    assert_true(allocfail_each(read_one, &b) >= 3);
}

#define CASE(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int main(void)
{
    const struct CMUnitTest tests[] = {
        CASE(the_instrument_is_read),
        CASE(calibrations_are_read_and_found),
        CASE(columns_are_read),
        CASE(a_run_and_its_events_are_read),
        CASE(what_was_opened_is_read),
        CASE(what_is_not_said_has_its_default),
        cmocka_unit_test(clock_angles_look_ahead),
        CASE(a_file_without_skips_stays_whole),
        CASE(skips_without_readings_cut_the_file),
        CASE(a_skip_before_other_readings_does_not_cut),
        CASE(readings_with_segments_are_not_cut),
        CASE(a_skip_noted_a_little_back_makes_an_empty_part),
        CASE(each_instrument_has_the_columns_of_its_channels),
        CASE(two_books_make_one_survey),
        CASE(books_must_agree),
        CASE(each_failed_allocation_is_no_memory),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
