/* SPDX-License-Identifier: MIT
 * CSV, summary.json and register of the fixture. CSV: RFC 4180; the reader
 * here is another implementation than the writer. Feet and inches: 1 ft =
 * 0.3048 m and 1 in = 25.4 mm exactly, 1 US survey foot = 1200/3937 m
 * (85 FR 62698). That readers of other programs agree on every tap is
 * checked by validate/agree.py. */
#include "near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "scene_fixture.h"
#include "write/csv.h"
#include "write/json.h"
#include "write/provenance.h"
#include "write/row.h"
#include "write/summary_json.h"
#include "written.h"

static dm_entry entries[] = {{.uid = "11111111-2222-5333-8444-555555555555",
                              .key = "T1-I01",
                              .tendon = "T1",
                              .kind = DM_KIND_VOID_LIKE,
                              .from = 9.0,
                              .to = 9.6000004,
                              .u_from = 0.02,
                              .u_to = 0.021,
                              .clock = 0.0,
                              .first_survey = "first <survey>",
                              .last_survey = "first <survey>"},
                             {.uid = "11111111-2222-5333-8444-555555555556",
                              .key = "T1-I02",
                              .tendon = "T1",
                              .kind = DM_KIND_SOFT_LIKE,
                              .from = -0.5,
                              .to = 30.0,
                              .clock = 6.283185307179586,
                              .first_survey = "a",
                              .last_survey = "b",
                              .state = DM_STATE_REFUTED}};

static void write_one(const scene_fixture *f, const char *writer,
                      const char *name, dm_buf *file)
{
    written w;

    assert_int_equal(written_new(&f->delivery, writer, &w), DM_OK);
    written_read(&w, name, file);
    written_free(&w);
}

/* ---- a CSV reader ----------------------------------------------------- */

typedef struct {
    dm_arena *arena;
    char **cell; /* row after row, columns each */
    size_t columns, rows;
} csv;

/* Reads one cell at *s, ends behind its comma or line feed; *last: the row
 * ends with it. */
static char *read_cell(dm_arena *arena, const char **s, bool *last)
{
    dm_buf text = {0};
    bool quoted = **s == '"';
    char *copy;

    dm_buf_puts(&text, "");
    *s += quoted;
    for (;; (*s)++) {
        assert_true(**s != '\0');
        if (quoted && **s == '"') {
            (*s)++;
            if (**s != '"')
                break;
        } else if (!quoted && (**s == ',' || **s == '\n')) {
            break;
        }
        dm_buf_putc(&text, **s);
    }
    *last = **s == '\n';
    assert_true(*last || **s == ',');
    (*s)++;
    copy = dm_arena_strdup(arena, text.data == NULL ? "" : text.data);
    dm_buf_free(&text);
    return copy;
}

/* Fails unless every row has as many cells as the first. */
static csv read_csv(const dm_buf *file)
{
    csv t = {dm_arena_new(), NULL, 0, 0};
    size_t n = 0, capacity = 0, in_row = 0;
    const char *s = file->data;
    bool last;

    while (*s != '\0') {
        assert_true(DM_GROW(t.cell, n, capacity));
        t.cell[n++] = read_cell(t.arena, &s, &last);
        in_row++;
        if (!last)
            continue;
        if (t.rows++ == 0)
            t.columns = in_row;
        assert_int_equal(in_row, t.columns);
        in_row = 0;
    }
    assert_int_equal(in_row, 0);
    return t;
}

static void csv_free(csv *t)
{
    free(t->cell);
    dm_arena_free(t->arena);
}

static const char *cell(const csv *t, size_t row, const char *column)
{
    size_t c;

    for (c = 0; c < t->columns; c++)
        if (strcmp(t->cell[c], column) == 0)
            return t->cell[row * t->columns + c];
    fail_msg("no column %s", column);
    return NULL;
}

static double number(const csv *t, size_t row, const char *column)
{
    const char *text = cell(t, row, column);
    char *end;
    double value;

    assert_non_null(text);
    value = strtod(text, &end);
    if (end == text || *end != '\0')
        fail_msg("%s: '%s' is no number", column, text);
    return value;
}

/* ---- CSV -------------------------------------------------------------- */

static void every_table_is_rectangular(void **state)
{
    static const char *const name[] = {
        "tendons.csv", "indications.csv",    "taps.csv",  "coverage.csv",
        "turns.csv",   "coverage_lines.csv", "parts.csv", "tallies.csv"};
    static const size_t rows[] = {2, 1, 1, 10, 0, 9, 3, 4};
    scene_fixture *f = scene_fixture_new();
    size_t i, c, k;
    int units;

    (void)state;
    for (units = 0; units < 2; units++) {
        f->job.units = units == 0 ? DM_UNITS_METRIC : DM_UNITS_US;
        for (i = 0; i < sizeof name / sizeof *name; i++) {
            dm_buf file;
            csv t;

            write_one(f, "csv", name[i], &file);
            t = read_csv(&file);
            assert_int_equal(t.rows, 1 + rows[i]);
            for (c = 0; c < t.columns; c++)
                for (k = 0; k < c; k++)
                    assert_string_not_equal(t.cell[c], t.cell[k]);
            csv_free(&t);
            dm_buf_free(&file);
        }
    }
    scene_fixture_free(f);
}

static void tap_row_says_where(void **state)
{
    scene_fixture *f = scene_fixture_new();
    const dm_tap *tap = f->results[0].taps->items;
    dm_buf file;
    csv t;

    (void)state;
    write_one(f, "csv", "taps.csv", &file);
    t = read_csv(&file);
    assert_near(number(&t, 1, "x_m"), tap->surface.x, 0.51e-5);
    assert_near(number(&t, 1, "y_m"), tap->surface.y, 0.51e-5);
    assert_near(number(&t, 1, "z_m"), tap->surface.z, 0.51e-5);
    assert_near(number(&t, 1, "station_m"), 9.3, 1e-9);
    assert_near(number(&t, 1, "U_world_m"), 0.04, 1e-9); /* k = 2 */
    assert_near(number(&t, 1, "U_back_tape_m"), 0.024, 1e-9);
    assert_near(number(&t, 1, "coverage_factor"), 2.0, 0.0);
    /* k of 12 and 12 mm, of one crew. */
    assert_near(number(&t, 1, "U_tapes_meet_m"), 0.048, 1e-9);
    assert_near(number(&t, 1, "depth_stop_mm"), 6.3, 1e-9);
    assert_string_equal(cell(&t, 1, "back_face"), "A1f");
    assert_string_equal(cell(&t, 1, "ahead_face"), "D1b");
    assert_string_equal(cell(&t, 1, "looking_ahead_towards"), "A2");
    assert_string_equal(cell(&t, 1, "indication"), "T1-I01");
    assert_string_equal(cell(&t, 1, "clock_looking_ahead"), "12:00");
    assert_string_equal(cell(&t, 1, "bridge_station_m"), "");
    assert_string_equal(cell(&t, 1, "advice"), "tap");
    csv_free(&t);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

/* Facing back the dial is mirrored: 2:30 reads 9:30. */
static void clock_is_given_both_ways(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_buf file;
    csv t;

    (void)state;
    f->results[0].indications->items[0].clock = 75.0 / 57.29577951308232;
    write_one(f, "csv", "indications.csv", &file);
    t = read_csv(&file);
    assert_string_equal(cell(&t, 1, "clock_looking_ahead"), "2:30");
    assert_string_equal(cell(&t, 1, "clock_looking_back"), "9:30");
    assert_near(number(&t, 1, "clock_deg"), 75.0, 1e-9);
    assert_near(number(&t, 1, "from_tip_low_m"), 0.0125, 1e-9);
    assert_near(number(&t, 1, "from_tip_high_m"), 0.08, 1e-9);
    assert_string_equal(cell(&t, 1, "to_tip_high_m"), "");
    assert_string_equal(cell(&t, 1, "open_from"), "no");
    assert_string_equal(cell(&t, 1, "open_to"), "yes");
    assert_string_equal(cell(&t, 1, "grade"), "medium");
    assert_string_equal(cell(&t, 1, "runs"), "R1");
    assert_string_equal(cell(&t, 1, "tap"), "T1-I01-A");
    assert_string_equal(cell(&t, 1, "no_tap"), "");
    csv_free(&t);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void no_advice_to_drill_carries_its_warning(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_tap *tap = f->results[0].taps->items;
    dm_buf file;
    csv t;

    (void)state;
    tap->advice = DM_ADVICE_RESCAN;
    tap->back.face = DM_NONE;
    write_one(f, "csv", "taps.csv", &file);
    t = read_csv(&file);
    assert_string_equal(cell(&t, 1, "advice"), "re-scan by hand first");
    assert_string_equal(cell(&t, 1, "caution"),
                        "Do not drill: re-scan by hand first");
    assert_string_equal(cell(&t, 1, "back_tape_m"), "");
    assert_string_equal(cell(&t, 1, "U_tapes_meet_m"), "");
    csv_free(&t);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

/* The states of each tendon, and their sums, make up its whole length. */
static void coverage_sums_to_the_length(void **state)
{
    static const char *const column[] = {"tested_m", "strand_masked_m",
                                         "not_tested_m", "not_valid_m",
                                         "not_reconciled_m"};
    scene_fixture *f = scene_fixture_new();
    dm_buf tendons, lengths;
    size_t i, k;
    csv a, b;

    (void)state;
    write_one(f, "csv", "tendons.csv", &tendons);
    write_one(f, "csv", "coverage.csv", &lengths);
    a = read_csv(&tendons);
    b = read_csv(&lengths);
    for (i = 1; i < a.rows; i++) {
        double whole = number(&a, i, "length_m"), sum = 0.0, pieces = 0.0;

        assert_near(whole, f->model.tendons[i - 1].line.length, 0.51e-5);
        for (k = 0; k < 5; k++)
            sum += number(&a, i, column[k]);
        for (k = 1; k < b.rows; k++)
            if (strcmp(cell(&b, k, "tendon"), cell(&a, i, "id")) == 0)
                pieces += number(&b, k, "length_m");
        assert_near(sum, whole, 3e-5); /* five roundings */
        assert_near(pieces, whole, 5e-5);
    }
    /* The second tendon was not surveyed: not tested, never sound. */
    assert_near(number(&a, 2, "tested_m"), 0.0, 0.0);
    assert_near(number(&a, 2, "not_tested_m"), number(&a, 2, "length_m"), 0.0);
    csv_free(&a);
    csv_free(&b);
    dm_buf_free(&tendons);
    dm_buf_free(&lengths);
    scene_fixture_free(f);
}

/* Each clock line has a ledger of its own that ends where the tendon does. */
static void coverage_lines_follow_each_other(void **state)
{
    scene_fixture *f = scene_fixture_new();
    double at = 0.0;
    dm_buf file;
    csv t;

    (void)state;
    write_one(f, "csv", "coverage_lines.csv", &file);
    t = read_csv(&file);
    for (size_t i = 1; i < t.rows; i++) {
        assert_near(number(&t, i, "clock_deg"), 90.0, 0.0);
        assert_string_equal(cell(&t, i, "clock_looking_ahead"), "3:00");
        assert_near(number(&t, i, "width_mm"), 40.0, 1e-9);
        assert_near(number(&t, i, "from_m"), at, 1e-9);
        at = number(&t, i, "to_m");
        assert_true((cell(&t, i, "why")[0] == '\0') ==
                    (strcmp(cell(&t, i, "state"), "tested") == 0));
    }
    assert_near(at, f->model.tendons[0].line.length, 0.51e-5);
    assert_string_equal(cell(&t, 3, "why"), "obstruction");
    assert_string_equal(cell(&t, 3, "reason"), "collar C1");
    csv_free(&t);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void text_cells_start_no_formula(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_buf file;
    csv t;

    (void)state;
    f->model.tendons[0].where = "=HYPERLINK(\"x\"), top\nrow";
    write_one(f, "csv", "tendons.csv", &file);
    t = read_csv(&file);
    assert_string_equal(cell(&t, 1, "where"), "'=HYPERLINK(\"x\"), top\nrow");
    csv_free(&t);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void us_units_add_columns_of_the_same_value(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_tap *tap = f->results[0].taps->items;
    dm_buf file;
    csv t;

    (void)state;
    f->job.units = DM_UNITS_US;
    tap->t = 3.7592; /* 12 ft 4 in */
    tap->back.distance = 0.3048 * 7.0 + 0.0254 * 3.625;
    tap->depth_stop = 0.00635;                    /* a quarter of an inch */
    tap->surface.x = 2000000.0 * 1200.0 / 3937.0; /* 2 000 000 US ft */
    write_one(f, "csv", "taps.csv", &file);
    t = read_csv(&file);
    assert_string_equal(cell(&t, 1, "station_ft_in"), "12 ft 4 in");
    assert_near(number(&t, 1, "station_ft"), 12.0 + 4.0 / 12.0, 0.6e-4);
    assert_string_equal(cell(&t, 1, "back_tape_ft_in"), "7 ft 3 5/8 in");
    assert_near(number(&t, 1, "depth_stop_in"), 0.25, 1e-9);
    assert_near(number(&t, 1, "x_us_ft"), 2000000.0, 1e-4);
    /* 2 000 000 US ft are 4 ft more in international feet: 2 ppm. */
    assert_near(number(&t, 1, "x_ft"), 2000004.000008, 1e-4);
    csv_free(&t);
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void feet(double metres, const char *expected)
{
    dm_buf text = {0};

    dm_feet_text(metres, &text);
    assert_string_equal(text.data, expected);
    dm_buf_free(&text);
}

static void feet_text_rounds_to_an_eighth_and_carries(void **state)
{
    (void)state;
    feet(0.0, "0 ft 0 in");
    feet(0.0254, "0 ft 1 in");
    feet(0.003175, "0 ft 0 1/8 in");
    feet(0.00635, "0 ft 0 1/4 in");
    feet(0.0127, "0 ft 0 1/2 in");
    feet(0.015875, "0 ft 0 5/8 in");
    feet(0.3048, "1 ft 0 in");
    feet(0.3047, "1 ft 0 in");               /* 11.996 in */
    feet(0.3048 - 0.0017, "0 ft 11 7/8 in"); /* 11.933 in */
    feet(-1.2446, "-4 ft 1 in");
    feet(-0.0001, "0 ft 0 in");
    feet(30.48, "100 ft 0 in");
}

/* ---- summary.json ----------------------------------------------------- */

static void json_nests_and_escapes(void **state)
{
    dm_json j = {0};

    (void)state;
    dm_json_open(&j, NULL, '{');
    dm_json_text(&j, "a\"b", "line\nfeed");
    dm_json_open(&j, "list", '[');
    dm_json_count(&j, NULL, 3);
    dm_json_fixed(&j, NULL, (double)NAN, 2);
    dm_json_close(&j, ']');
    dm_json_open(&j, "none", '[');
    dm_json_close(&j, ']');
    dm_json_bool(&j, "yes", true);
    dm_json_text(&j, "null", NULL);
    dm_json_close(&j, '}');
    assert_string_equal(j.buf.data, "{\n \"a\\\"b\": \"line\\nfeed\",\n"
                                    " \"list\": [\n  3,\n  null\n ],\n"
                                    " \"none\": [],\n \"yes\": true,\n"
                                    " \"null\": null\n}\n");
    dm_buf_free(&j.buf);
}

static void summary_names_inputs_and_cautions(void **state)
{
    static const char *const messages[] = {"a.xml:3: warning: \"x\""};
    static const char *hashes[] = {"aa  data/r2.csv", "bb  r1.csv",
                                   "aa  data/r2.csv"};
    scene_fixture *f = scene_fixture_new();
    dm_indications *found = NULL;
    dm_buf file;
    char *s;

    (void)state;
    f->delivery.messages = messages;
    f->delivery.message_count = 1;
    memcpy(&found, &f->results[0].indications, sizeof found);
    found->hashes = hashes;
    found->hash_count = 3;
    write_one(f, "json", "summary.json", &file);
    assert_non_null(strstr(file.data, "\"a.xml:3: warning: \\\"x\\\"\""));
    assert_non_null(strstr(file.data, "a hit strand can kill"));
    assert_non_null(strstr(file.data, "\"file\": \"bridge.xml\""));
    /* Readings by name, each once, without their folders. */
    s = strstr(file.data, "\"file\": \"r1.csv\"");
    assert_non_null(s);
    s = strstr(s, "\"file\": \"r2.csv\"");
    assert_non_null(s);
    assert_null(strstr(s + 20, "r2.csv"));
    assert_null(strstr(file.data, "data/"));
    dm_buf_free(&file);
    scene_fixture_free(f);
}

static void rule(const dm_criteria *c, dm_rule r, const char *expected)
{
    dm_buf text = {0};

    dm_rule_text(c, &r, &text);
    assert_string_equal(text.data, expected);
    dm_buf_free(&text);
}

static void rules_are_told_in_words(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_rule any = {.grade = 2,
                   .length_min = (double)NAN,
                   .length_max = (double)NAN,
                   .index_min = (double)NAN,
                   .area_fraction_min = (double)NAN,
                   .area_fraction_max = (double)NAN,
                   .volume_min = (double)NAN,
                   .within = (double)NAN};
    dm_rule strict = any;

    (void)state;
    rule(&f->criteria, any, "small: any kind");
    strict.grade = 0;
    strict.has_kind = true;
    strict.kind = DM_KIND_VOID_LIKE;
    strict.length_min = 0.5;
    strict.open_ended = true;
    strict.position = "anchorage";
    strict.within = 1.25;
    rule(&f->criteria, strict,
         "large: void-like, at least 0.5 m long, open-ended, within 1.25 m of "
         "anchorage");
    scene_fixture_free(f);
}

/* ---- register --------------------------------------------------------- */

static void register_has_every_entry(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_register reg = {.entries = entries, .count = 2};
    dm_buf file;

    (void)state;
    f->delivery.reg = &reg;
    write_one(f, "register", "register.xml", &file);
    assert_non_null(strstr(file.data,
                           "<register version=\"1\" "
                           "bridge=\"3d9c6a52-54a1-4f0e-9f0f-2a0c5b7f1e11\""));
    assert_non_null(
        strstr(file.data,
               "key=\"T1-I01\" tendon=\"T1\" kind=\"void-like\" "
               "from=\"9.000000 m\" to=\"9.600000 m\" u-from=\"0.020000 m\" "
               "u-to=\"0.021000 m\" clock=\"0.0000 deg\" "
               "first-survey=\"first &lt;survey&gt;\""));
    /* A full turn is 0, and a negative station keeps its sign. */
    assert_non_null(strstr(file.data, "from=\"-0.500000 m\" to=\"30.000000 m\" "
                                      "u-from=\"0.000000 m\" "
                                      "u-to=\"0.000000 m\" "
                                      "clock=\"0.0000 deg\" "
                                      "first-survey=\"a\" last-survey=\"b\" "
                                      "state=\"refuted\"/>"));
    dm_buf_free(&file);
    scene_fixture_free(f);
}

/* ---- on the terminal -------------------------------------------------- */

static void text_is_that_of_the_files(void **state)
{
    scene_fixture *f = scene_fixture_new();
    dm_buf file, text = {0};

    (void)state;
    dm_csv_taps(&f->delivery, &text);
    write_one(f, "csv", "taps.csv", &file);
    assert_string_equal(text.data, file.data);
    dm_buf_free(&file);
    dm_buf_clear(&text);
    dm_csv_indications(&f->delivery, &text);
    write_one(f, "csv", "indications.csv", &file);
    assert_string_equal(text.data, file.data);
    dm_buf_free(&file);
    dm_buf_clear(&text);
    dm_summary_json(&f->delivery, &text);
    write_one(f, "json", "summary.json", &file);
    assert_string_equal(text.data, file.data);
    dm_buf_free(&file);
    dm_buf_free(&text);
    scene_fixture_free(f);
}

static dm_status print_once(void *user)
{
    dm_buf text = {0};
    bool failed;

    dm_csv_taps(user, &text);
    dm_summary_json(user, &text);
    failed = text.failed;
    dm_buf_free(&text);
    return failed ? DM_NOMEM : DM_OK;
}

/* ---- all of them ------------------------------------------------------ */

typedef struct {
    const dm_delivery *delivery;
    const char *writer;
} once;

static dm_status write_once(void *user)
{
    const once *o = user;
    written w;
    dm_status status = written_new(o->delivery, o->writer, &w);

    if (status == DM_OK)
        written_free(&w);
    return status;
}

static void out_of_memory_anywhere_is_told(void **state)
{
    static const char *const writer[] = {"csv", "json", "register"};
    scene_fixture *f = scene_fixture_new();
    dm_register reg = {.entries = entries, .count = 2};
    size_t i;

    (void)state;
    f->delivery.reg = &reg;
    for (i = 0; i < 3; i++) {
        once o = {&f->delivery, writer[i]};

        assert_true(allocfail_each(write_once, &o) > 2);
    }
    assert_true(allocfail_each(print_once, &f->delivery) > 2);
    scene_fixture_free(f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_table_is_rectangular),
        cmocka_unit_test(tap_row_says_where),
        cmocka_unit_test(clock_is_given_both_ways),
        cmocka_unit_test(no_advice_to_drill_carries_its_warning),
        cmocka_unit_test(coverage_sums_to_the_length),
        cmocka_unit_test(coverage_lines_follow_each_other),
        cmocka_unit_test(text_cells_start_no_formula),
        cmocka_unit_test(us_units_add_columns_of_the_same_value),
        cmocka_unit_test(feet_text_rounds_to_an_eighth_and_carries),
        cmocka_unit_test(json_nests_and_escapes),
        cmocka_unit_test(summary_names_inputs_and_cautions),
        cmocka_unit_test(rules_are_told_in_words),
        cmocka_unit_test(register_has_every_entry),
        cmocka_unit_test(text_is_that_of_the_files),
        cmocka_unit_test(out_of_memory_anywhere_is_told),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
