/* SPDX-License-Identifier: MIT
 * What openings say of indications: places, matches, outcomes, states over the
 * years. The tendon is that of straight_bridge.xml: u = (12, 4, 3)/13, faces
 * plumb and square to the bridge, so that the plane of LOWf crosses the crown
 * line of radius r at (0.5 + 3 r/13) 13/sqrt(160) m. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "indication/opened.h"
#include "near.h"
#include "said.h"
#include "survey/read.h"

#define R 0.055
#define U 0.010    /* of the ends, relative to LOWf */
#define MARK 0.002 /* the default */
#define ROOM 8

typedef struct {
    dm_model *model;
    dm_survey survey;
    dm_channel channel;
    dm_instrument instrument;
    dm_opened opened[ROOM];
    dm_stations stations;
    double shift[2], face_u[2];
    dm_settings settings;
    dm_indications out;
    dm_indication items[2];
    dm_cover_line line;
    dm_cover_length lengths[3];
    dm_finder f;
    said said;
} bench;

static double on_crown(void)
{
    return (0.5 + 3.0 * R / 13.0) * 13.0 / sqrt(160.0);
}

static dm_end end_at(double t)
{
    return (dm_end){.t = t,
                    .u = 0.02,
                    .u_edge = 0.005,
                    .face_back = 0,
                    .face_ahead = 1,
                    .u_back = U,
                    .u_ahead = 0.015};
}

/* A void-like length 3 to 4 m on the crown; read from 1 to 12 m. */
static bench *new_bench(void)
{
    bench *b = calloc(1, sizeof *b);

    assert_non_null(b);
    assert_int_equal(
        dm_model_read(DM_TEST_DATA "/straight_bridge.xml", NULL, &b->model),
        DM_OK);
    b->channel = (dm_channel){.id = "C1", .footprint_around = 0.06};
    b->instrument =
        (dm_instrument){.channels = &b->channel, .channel_count = 1};
    b->survey = (dm_survey){.survey = "spring",
                            .instruments = &b->instrument,
                            .instrument_count = 1,
                            .opened = b->opened};
    b->face_u[0] = b->face_u[1] = 0.015;
    b->stations = (dm_stations){.face_shift = b->shift, .face_u = b->face_u};
    b->settings = dm_settings_default();
    b->items[0] = (dm_indication){.uid = "u1",
                                  .key = "S1-I01",
                                  .kind = DM_KIND_VOID_LIKE,
                                  .from = end_at(3.0),
                                  .to = end_at(4.0),
                                  .reconciled = true,
                                  .decided_by = DM_NONE};
    b->lengths[0] =
        (dm_cover_length){0.0, 1.0, DM_COVER_NOT_TESTED, DM_WHY_NOT_WALKED, ""};
    b->lengths[1] =
        (dm_cover_length){1.0, 12.0, DM_COVER_TESTED, DM_WHY_NONE, ""};
    b->lengths[2] = (dm_cover_length){12.0, 13.0, DM_COVER_NOT_TESTED,
                                      DM_WHY_NOT_WALKED, ""};
    b->line = (dm_cover_line){.width = 0.06, .lengths = b->lengths, .count = 3};
    b->out = (dm_indications){.arena = dm_arena_new(),
                              .items = b->items,
                              .count = 1,
                              .cover_lines = &b->line,
                              .cover_line_count = 1};
    assert_non_null(b->out.arena);
    said_init(&b->said);
    b->f = (dm_finder){.model = b->model,
                       .tendon = &b->model->tendons[0],
                       .survey = &b->survey,
                       .stations = &b->stations,
                       .settings = &b->settings,
                       .diag = &b->said.diag,
                       .arena = b->out.arena,
                       .out = &b->out};
    return b;
}

static void drop(bench *b)
{
    dm_arena_free(b->out.arena);
    dm_model_free(b->model);
    free(b);
}

/* Opened at tendon station t of the crown, taped from LOWf. */
static dm_opened *open_at(bench *b, double t, dm_finding found)
{
    static const char *const id[ROOM] = {"O1", "O2", "O3", "O4",
                                         "O5", "O6", "O7", "O8"};
    size_t n = b->survey.opened_count++;
    dm_opened *o = &b->opened[n];

    assert_true(n < ROOM);
    *o = (dm_opened){.id = id[n],
                     .distance = t - on_crown(),
                     .depth = (double)NAN,
                     .found = found,
                     .pressures = dm_pressures_none(),
                     .date = "2026-05-10",
                     .place = {"book.xml", (long)(60 + n)}};
    return o;
}

static const dm_as_found *judge(bench *b, const dm_register *reg)
{
    assert_int_equal(dm_openings_build(&b->f, reg), DM_OK);
    assert_int_equal(b->out.opening_count > 0, true);
    return &b->out.openings[0];
}

static void a_tape_leads_to_its_station(void **unused)
{
    bench *b = new_bench();
    const dm_as_found *o;

    (void)unused;
    b->shift[0] = 0.012; /* the face stands farther along than drawn */
    open_at(b, 3.4, DM_FOUND_VOID)->depth = 0.018;
    o = judge(b, NULL);
    assert_near(o->what.t, 3.412, 1e-9);
    assert_near(o->what.u, hypot(MARK, 0.015), 1e-12);
    assert_near(o->inside_from, 0.412, 1e-9);
    assert_near(o->inside_to, 0.588, 1e-9);
    assert_near(o->u_from, hypot(U, MARK), 1e-12);
    assert_near(o->what.depth, 0.018, 0.0);
    assert_string_equal(o->key, "S1-I01");
    assert_string_equal(o->what.survey, "spring");
    assert_string_equal(o->what.tendon, "S1");
    assert_false(o->by_tap);
    drop(b);
}

/* From the other face an end is known as well as against that one. */
static void the_uncertainty_is_that_of_the_face_taped_from(void **unused)
{
    bench *b = new_bench();
    dm_opened *o = open_at(b, 3.5, DM_FOUND_VOID);

    (void)unused;
    o->face = 1;
    o->distance = 13.0 - 3.5 - 0.5 * 13.0 / sqrt(160.0) +
                  3.0 * R / 13.0 * 13.0 / sqrt(160.0);
    assert_near(judge(b, NULL)->what.t, 3.5, 1e-9);
    assert_near(b->out.openings[0].u_from, hypot(0.015, MARK), 1e-12);
    drop(b);
}

typedef struct {
    double t, clock;
    dm_finding found;
    bool water;
    dm_outcome outcome;
    dm_state state;
    bool matched, against_end;
} outcome_case;

/* U of an end is 2 hypot(10, 2) = 20.4 mm. Half a footprint of 60 mm on a duct
 * of 110 mm is 31.3 deg. */
static void outcomes_follow_the_rules(void **unused)
{
    static const double deg = 3.14159265358979323846 / 180.0;
    const outcome_case c[] = {
        {3.5, 0, DM_FOUND_VOID, false, DM_OUTCOME_CONFIRMED, DM_STATE_CONFIRMED,
         true, false},
        {3.5, 0, DM_FOUND_SOFT, false, DM_OUTCOME_CONFIRMED, DM_STATE_CONFIRMED,
         true, false},
        {3.5, 0, DM_FOUND_WATER, false, DM_OUTCOME_CONFIRMED,
         DM_STATE_CONFIRMED, true, false},
        {3.5, 0, DM_FOUND_OTHER, true, DM_OUTCOME_CONFIRMED, DM_STATE_CONFIRMED,
         true, false},
        {3.5, 0, DM_FOUND_SOUND, false, DM_OUTCOME_REFUTED, DM_STATE_REFUTED,
         true, false},
        {3.5, 0, DM_FOUND_STRAND, false, DM_OUTCOME_NEITHER, DM_STATE_INDICATED,
         true, false},
        {3.5, 0, DM_FOUND_OTHER, false, DM_OUTCOME_NEITHER, DM_STATE_INDICATED,
         true, false},
        /* Sound, but within U of an end on either side of it. */
        {3.019, 0, DM_FOUND_SOUND, false, DM_OUTCOME_NEITHER,
         DM_STATE_INDICATED, true, false},
        {3.022, 0, DM_FOUND_SOUND, false, DM_OUTCOME_REFUTED, DM_STATE_REFUTED,
         true, false},
        {4.019, 0, DM_FOUND_SOUND, false, DM_OUTCOME_NEITHER,
         DM_STATE_INDICATED, true, false},
        {4.022, 0, DM_FOUND_SOUND, false, DM_OUTCOME_AGREES, DM_STATE_INDICATED,
         false, false},
        /* Beside the clock angles that were indicated. */
        {3.5, 31 * deg, DM_FOUND_SOUND, false, DM_OUTCOME_REFUTED,
         DM_STATE_REFUTED, true, false},
        {3.5, 329 * deg, DM_FOUND_SOUND, false, DM_OUTCOME_REFUTED,
         DM_STATE_REFUTED, true, false},
        {3.5, 33 * deg, DM_FOUND_SOUND, false, DM_OUTCOME_NEITHER,
         DM_STATE_INDICATED, true, false},
        {3.5, 180 * deg, DM_FOUND_VOID, false, DM_OUTCOME_CONFIRMED,
         DM_STATE_CONFIRMED, true, false},
        /* Nothing was indicated. */
        {6.0, 0, DM_FOUND_VOID, false, DM_OUTCOME_MISSED, DM_STATE_INDICATED,
         false, false},
        {6.0, 0, DM_FOUND_SOUND, false, DM_OUTCOME_AGREES, DM_STATE_INDICATED,
         false, false},
        {6.0, 0, DM_FOUND_STRAND, false, DM_OUTCOME_NEITHER, DM_STATE_INDICATED,
         false, false},
        /* Nothing was read, along or round the duct. */
        {12.3, 0, DM_FOUND_VOID, false, DM_OUTCOME_NOT_READ, DM_STATE_INDICATED,
         false, false},
        {6.0, 180 * deg, DM_FOUND_VOID, false, DM_OUTCOME_NOT_READ,
         DM_STATE_INDICATED, false, false}};

    (void)unused;
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        bench *b = new_bench();
        dm_opened *o = open_at(b, c[i].t, c[i].found);
        const dm_as_found *a;

        /* Keep the station: the plane crosses other lines elsewhere. */
        o->clock = c[i].clock;
        o->distance +=
            on_crown() -
            dm_face_station(b->f.tendon, &b->f.tendon->faces[0], R, o->clock);
        o->water = c[i].water;
        a = judge(b, NULL);
        if (a->outcome != c[i].outcome || b->items[0].state != c[i].state)
            fail_msg("case %zu: %s, %s: %s", i, dm_outcome_text(a->outcome),
                     dm_state_text(b->items[0].state), a->words);
        assert_int_equal(a->indication == 0, c[i].matched);
        assert_int_equal(a->against_end, c[i].against_end);
        assert_int_equal(b->items[0].opening_count, c[i].matched ? 1 : 0);
        drop(b);
    }
}

static void an_open_end_is_not_contradicted(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    open_at(b, 3.01, DM_FOUND_SOUND);
    b->items[0].from.open = true;
    assert_int_equal(judge(b, NULL)->outcome, DM_OUTCOME_REFUTED);
    drop(b);
    b = new_bench();
    open_at(b, 3.5, DM_FOUND_SOUND);
    b->items[0].reconciled = false;
    assert_int_equal(judge(b, NULL)->outcome, DM_OUTCOME_NEITHER);
    drop(b);
}

/* The nearest turn says how far round the duct an indication reaches, and what
 * depth was expected. */
static void a_turn_stands_beside_the_finding(void **unused)
{
    bench *b = new_bench();
    dm_arc arc = {.from = 6.0, .to = 0.28};
    dm_turn turn = {.t = 3.4,
                    .indication = 0,
                    .arcs = &arc,
                    .arc_count = 1,
                    .fit = {.valid = true, .half_angle = 1.0, .centre = 0.2},
                    .depth = {0.010, 0.015, 0.020}};
    dm_opened *o = open_at(b, 3.5, DM_FOUND_SOUND);

    (void)unused;
    b->out.turns = &turn;
    b->out.turn_count = 1;
    o->clock = 1.1;
    assert_int_equal(judge(b, NULL)->outcome, DM_OUTCOME_REFUTED);
    assert_near(b->out.openings[0].depth.best, 0.015, 0.0);
    o->clock = 1.3;
    b->out.opening_count = 0;
    memset(&b->out.opened, 0, sizeof b->out.opened);
    b->items[0].state = DM_STATE_INDICATED;
    assert_int_equal(judge(b, NULL)->outcome, DM_OUTCOME_NEITHER);
    drop(b);
}

static void what_was_missed_is_said_with_its_line(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    open_at(b, 6.0, DM_FOUND_VOID);
    judge(b, NULL);
    assert_string_equal(b->said.text,
                        "book.xml:60: warning: O1: void was found at station "
                        "6.000 m of tendon S1: not sound where nothing was "
                        "indicated\n");
    assert_int_equal(b->out.opened.outcome[DM_OUTCOME_MISSED], 1);
    assert_int_equal(b->out.opened.not_opened, 1);
    drop(b);
}

static void a_tap_is_believed_within_a_metre(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    open_at(b, 4.3, DM_FOUND_VOID)->tap = "S1-I01-A";
    judge(b, NULL);
    assert_true(b->out.openings[0].by_tap);
    assert_int_equal(b->items[0].state, DM_STATE_CONFIRMED);
    assert_true(b->out.openings[0].against_end);
    assert_string_equal(b->said.text,
                        "book.xml:60: warning: O1: by its tape it lies 300 mm "
                        "outside of S1-I01, whose tap S1-I01-A it names\n");
    drop(b);
    b = new_bench();
    open_at(b, 5.3, DM_FOUND_VOID)->tap = "S1-I01-A";
    judge(b, NULL);
    assert_int_equal(b->out.openings[0].outcome, DM_OUTCOME_MISSED);
    assert_int_equal(b->items[0].state, DM_STATE_INDICATED);
    assert_non_null(strstr(b->said.text,
                           "1300 mm outside of S1-I01, whose tap S1-I01-A it "
                           "names: its place holds, not the tap\n"));
    drop(b);
    /* Another indication's tap, or a request's id. */
    b = new_bench();
    open_at(b, 3.5, DM_FOUND_VOID)->tap = "S1-I011-A";
    judge(b, NULL);
    assert_false(b->out.openings[0].by_tap);
    assert_int_equal(b->out.openings[0].indication, 0);
    drop(b);
}

/* What was found beside the probability that it was given. */
static void the_probability_of_the_finding_is_told(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->items[0].posterior =
        (dm_posterior){.known = true, .p = {0.9, 0.05, 0.01, 0.04}};
    open_at(b, 3.2, DM_FOUND_VOID);
    open_at(b, 3.5, DM_FOUND_SOUND);
    open_at(b, 3.8, DM_FOUND_WATER);
    open_at(b, 6.0, DM_FOUND_VOID);
    judge(b, NULL);
    assert_near(b->out.openings[0].p_found, 0.9, 0.0);
    assert_near(b->out.openings[1].p_found, 0.04, 0.0);
    assert_true(isnan(b->out.openings[2].p_found));
    assert_true(isnan(b->out.openings[3].p_found));
    drop(b);
}

static void one_that_confirms_is_enough(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    open_at(b, 3.8, DM_FOUND_SOUND)->date = "2026-05-12";
    open_at(b, 3.2, DM_FOUND_VOID);
    open_at(b, 3.5, DM_FOUND_STRAND);
    judge(b, NULL);
    assert_int_equal(b->items[0].state, DM_STATE_CONFIRMED);
    assert_string_equal(b->items[0].state_date, "2026-05-10");
    assert_int_equal(b->items[0].opening_count, 3);
    /* By station: the void is the first. */
    assert_int_equal(b->items[0].decided_by, 0);
    assert_string_equal(b->out.openings[0].what.id, "O2");
    assert_true(b->out.openings[2].against_end);
    assert_int_equal(b->out.opened.confirmed, 1);
    assert_string_equal(dm_as_found_text(&b->items[0]), "confirmed");
    drop(b);
}

static void measured_volumes_stand_beside_the_size(void **unused)
{
    bench *b = new_bench();
    dm_opened *o;

    (void)unused;
    b->items[0].size.measured = (double)NAN;
    open_at(b, 3.2, DM_FOUND_VOID);
    o = open_at(b, 3.5, DM_FOUND_VOID);
    o->pressures.volume = 0.0012;
    o->pressures.u = 0.0001;
    judge(b, NULL);
    assert_near(b->items[0].size.measured, 0.0012, 0.0);
    assert_near(b->items[0].size.u_measured, 0.0001, 0.0);
    assert_int_equal(b->items[0].size.opened, 1);
    drop(b);
}

/* ---- over the years ------------------------------------------------------ */

typedef struct {
    dm_state before;
    const char *since, *date;
    dm_finding found;
    dm_state after;
    const char *since_after, *said;
} year_case;

static void a_state_changes_by_a_later_opening_only(void **unused)
{
    const year_case c[] = {
        {DM_STATE_INDICATED, NULL, "2026-05-10", DM_FOUND_SOUND,
         DM_STATE_REFUTED, "2026-05-10", ""},
        {DM_STATE_CONFIRMED, "2025-05-10", "2026-05-10", DM_FOUND_VOID,
         DM_STATE_CONFIRMED, "2026-05-10", ""},
        {DM_STATE_CONFIRMED, "2025-05-10", "2026-05-10", DM_FOUND_STRAND,
         DM_STATE_CONFIRMED, "2025-05-10", ""},
        {DM_STATE_CONFIRMED, "2025-05-10", "2026-05-10", DM_FOUND_SOUND,
         DM_STATE_REFUTED, "2026-05-10",
         "book.xml:60: warning: O1: S1-I01 is confirmed in the register since "
         "2025-05-10, but sound was found on 2026-05-10: the later opening "
         "counts\n"},
        {DM_STATE_REFUTED, "2026-05-10", "2026-05-10", DM_FOUND_VOID,
         DM_STATE_REFUTED, "2026-05-10",
         "book.xml:60: warning: O1: S1-I01 is refuted in the register since "
         "2026-05-10, but void was found on 2026-05-10: it is not the later "
         "one, and the state stays\n"},
        {DM_STATE_REFUTED, NULL, "2026-05-10", DM_FOUND_VOID, DM_STATE_REFUTED,
         NULL,
         "book.xml:60: warning: O1: S1-I01 is refuted in the register, but "
         "void was found on 2026-05-10: the state has no date and stays; a "
         "person is to decide\n"}};

    (void)unused;
    for (size_t i = 0; i < sizeof c / sizeof *c; i++) {
        bench *b = new_bench();

        b->items[0].state = c[i].before;
        b->items[0].state_date = c[i].since;
        open_at(b, 3.5, c[i].found)->date = c[i].date;
        judge(b, NULL);
        assert_int_equal(b->items[0].state, c[i].after);
        if (c[i].since_after == NULL)
            assert_null(b->items[0].state_date);
        else
            assert_string_equal(b->items[0].state_date, c[i].since_after);
        assert_string_equal(b->said.text, c[i].said);
        drop(b);
    }
}

static dm_opening record(const char *id, double t, dm_finding found)
{
    return (dm_opening){.id = id,
                        .survey = "spring",
                        .tendon = "S1",
                        .t = t,
                        .u = 0.015,
                        .found = found,
                        .depth = (double)NAN,
                        .pressures = dm_pressures_none(),
                        .date = "2026-05-10"};
}

/* What the register has under an entry stays there, though this survey's ends
 * are elsewhere; the same book again says nothing new, so that a state that
 * people took back stays taken back. */
static void the_register_remembers(void **unused)
{
    bench *b = new_bench();
    dm_opening mine = record("O1", 2.8, DM_FOUND_VOID);
    dm_opening elsewhere = record("O9", 6.0, DM_FOUND_VOID);
    dm_entry e = {.uid = "u1",
                  .key = "S1-I01",
                  .tendon = "S1",
                  .openings = &mine,
                  .opening_count = 1};
    dm_register reg = {
        .entries = &e, .count = 1, .openings = &elsewhere, .opening_count = 1};

    (void)unused;
    open_at(b, 2.8, DM_FOUND_VOID);
    judge(b, &reg);
    assert_int_equal(b->out.opening_count, 2);
    assert_int_equal(b->out.openings[0].indication, 0);
    assert_false(b->out.openings[0].fresh);
    assert_int_equal(b->items[0].state, DM_STATE_INDICATED);
    assert_string_equal(dm_as_found_text(&b->items[0]), "opened, undecided");
    assert_int_equal(b->out.openings[1].outcome, DM_OUTCOME_MISSED);
    assert_int_equal(b->out.openings[1].opened, DM_NONE);
    assert_string_equal(b->said.text, ""); /* said last year */
    drop(b);
}

static void an_entry_that_is_not_seen_any_more_is_opened(void **unused)
{
    bench *b = new_bench();
    dm_entry e = {.uid = "u7",
                  .key = "S1-I07",
                  .tendon = "S1",
                  .from = 8.0,
                  .to = 8.5,
                  .u_from = 0.01,
                  .u_to = 0.01,
                  .first_survey = "first",
                  .last_survey = "first"};
    dm_register reg = {.entries = &e, .count = 1}, *after = NULL;
    dm_result result = {.indications = &b->out};

    (void)unused;
    open_at(b, 8.2, DM_FOUND_SOUND);
    open_at(b, 6.0, DM_FOUND_SOUND);
    judge(b, &reg);
    assert_string_equal(b->out.openings[1].key, "S1-I07");
    assert_int_equal(b->out.openings[1].outcome, DM_OUTCOME_REFUTED);
    assert_int_equal(b->items[0].state, DM_STATE_INDICATED);
    assert_int_equal(b->out.settled_count, 1);
    assert_int_equal(b->out.opened.not_opened, 1);

    assert_int_equal(
        dm_register_update(b->model, &b->survey, &result, &reg, NULL, &after),
        DM_OK);
    assert_int_equal(after->count, 2);
    assert_int_equal(after->entries[0].state, DM_STATE_REFUTED);
    assert_string_equal(after->entries[0].state_date, "2026-05-10");
    assert_string_equal(after->entries[0].last_survey, "first");
    assert_int_equal(after->entries[0].opening_count, 1);
    assert_string_equal(after->entries[0].openings[0].id, "O1");
    assert_int_equal(after->entries[1].opening_count, 0);
    assert_int_equal(after->opening_count, 1);
    assert_string_equal(after->openings[0].id, "O2");
    dm_register_free(after);
    drop(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tape_leads_to_its_station),
        cmocka_unit_test(the_uncertainty_is_that_of_the_face_taped_from),
        cmocka_unit_test(outcomes_follow_the_rules),
        cmocka_unit_test(an_open_end_is_not_contradicted),
        cmocka_unit_test(a_turn_stands_beside_the_finding),
        cmocka_unit_test(what_was_missed_is_said_with_its_line),
        cmocka_unit_test(a_tap_is_believed_within_a_metre),
        cmocka_unit_test(the_probability_of_the_finding_is_told),
        cmocka_unit_test(one_that_confirms_is_enough),
        cmocka_unit_test(measured_volumes_stand_beside_the_size),
        cmocka_unit_test(a_state_changes_by_a_later_opening_only),
        cmocka_unit_test(the_register_remembers),
        cmocka_unit_test(an_entry_that_is_not_seen_any_more_is_opened),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
