/* SPDX-License-Identifier: MIT
 * Work sheets of the fixture: what they say is what the results hold, what must
 * not be drilled has no stop, nothing is cut or printed over anything else. */
#include "near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "draw/qr.h"
#include "scene_group.h"
#include "write/sheet.h"

/* A copy of the fixture's delivery in which tendon T1 may be changed. */
typedef struct {
    dm_model model;
    dm_tendon tendons[FIXTURE_TENDONS];
    dm_result results[FIXTURE_TENDONS];
    dm_job job;
    dm_taps taps;
    dm_tap items[12];
    char ids[12][32];
    dm_delivery delivery;
} site;

static void site_make(site *s, size_t taps)
{
    size_t i;

    s->model = fixture->model;
    s->job = fixture->job;
    memcpy(s->tendons, fixture->model.tendons, sizeof s->tendons);
    memcpy(s->results, fixture->results, sizeof s->results);
    s->taps = *fixture->results[0].taps;
    for (i = 0; i < taps; i++) {
        snprintf(s->ids[i], sizeof s->ids[i], "T1-I%02zu-A", i + 1);
        s->items[i] = fixture->results[0].taps->items[0];
        s->items[i].id = s->ids[i];
        s->items[i].t += 0.02 * (double)i;
    }
    s->taps.items = s->items;
    s->taps.count = taps;
    s->model.tendons = s->tendons;
    s->results[0].taps = &s->taps;
    s->delivery = fixture->delivery;
    s->delivery.model = &s->model;
    s->delivery.job = &s->job;
    s->delivery.results = s->results;
}

static size_t count_of(const char *text, const char *word)
{
    size_t n = 0;

    for (; (text = strstr(text, word)) != NULL; text += strlen(word))
        n++;
    return n;
}

/* y of the text element that begins at or before `at`. */
static double y_of(const char *begin, const char *at)
{
    const char *y;

    while (at > begin && strncmp(at, "<text", 5) != 0)
        at--;
    y = strstr(at, " y=\"");
    assert_non_null(y);
    return strtod(y + 4, NULL);
}

/* The foot is drawn last: whatever stands before it stands above it. */
static void assert_nothing_over_the_foot(const char *svg)
{
    const char *foot = strstr(svg, ">Tendons are highly stressed"), *at = svg;
    double y;
    size_t n = 0;

    assert_non_null(foot);
    y = y_of(svg, foot);
    while ((at = strstr(at + 1, "<text")) != NULL && at < foot - 200) {
        if (y_of(svg, at) > y - 2.0)
            fail_msg("at %g mm, foot at %g: %.80s", y_of(svg, at), y, at);
        n++;
    }
    assert_true(n > 30);
}

static void assert_says(const char *svg, const char *words)
{
    if (strstr(svg, words) == NULL)
        fail_msg("not on the sheet: %s", words);
}

static void sheet_says_what_the_results_hold(void **state)
{
    static const char *const words[] = {
        ">T1</text>", ">page 2 of 2</text>", ">AHEAD is looking towards A2",
        ">TAP AT THE MARK, WHEN RELEASED</text>",
        ">Tape line: 12:00, top of the duct</text>",
        /* 9.3 m = 366.14 in, 2.3 m = 90.55 in, 11.6 m = 456.69 in. */
        ">9300 mm (30 ft 6 1/8 in) \xc2\xb1 24 mm</text>",
        ">2300 mm (7 ft 6 1/2 in) \xc2\xb1 24 mm</text>",
        ">Faces apart 11600 mm (38 ft 0 3/4 in); both tapes add",
        ">If both tapes do not meet within 48 mm: STOP,",
        ">If they do: mark at the end of the tape from D1b.</text>",
        ">DEPTH STOP 6.3 mm (0.24 in)</text>",
        ">looking ahead 12:00 / looking back 12:00</text>",
        ">As found: void depth</text>", ">Abs. pressure before</text>",
        ">photo, note</text>", ">plugged by</text>", "a hit strand can kill",
        "SHA-256: ", ">ductmark "};
    written w;
    dm_buf svg;
    size_t i;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "sheet", &w), DM_OK);
    written_read(&w, "sheet-T1.svg", &svg);
    for (i = 0; i < sizeof words / sizeof *words; i++)
        assert_says(svg.data, words[i]);
    assert_nothing_over_the_foot(svg.data);
    assert_int_equal(count_of(svg.data, "font-size=\"3.5"), 0);
    dm_buf_free(&svg);
    written_read(&w, "sheets-index.svg", &svg);
    assert_says(svg.data, ">T1-I01-A</text>");
    assert_says(svg.data, ">D1b going BACK 2300 mm</text>");
    dm_buf_free(&svg);
    written_free(&w);
}

static void tendon_without_taps_has_no_page(void **state)
{
    site s;
    written w;
    char path[512];
    FILE *file;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "sheet", &w), DM_OK);
    written_path(&w, "sheet-T2.svg", path);
    file = fopen(path, "rb");
    assert_null(file);
    written_free(&w);
    site_make(&s, 0);
    assert_int_equal(written_new(&s.delivery, "sheet-pdf", &w), DM_OK);
    written_path(&w, "sheets.pdf", path);
    file = fopen(path, "rb");
    assert_null(file);
    written_free(&w);
}

static void what_is_not_to_be_drilled_has_no_stop(void **state)
{
    static const char *const bar[] = {"RE-SCAN BY HAND FIRST: NO HOLE",
                                      "HAND TOOL, WALL ONLY, ENGINEER PRESENT: "
                                      "NO DRILL"};
    int advice, i, k;

    (void)state;
    for (advice = DM_ADVICE_RESCAN; advice <= DM_ADVICE_HAND_TOOL; advice++) {
        written w;
        dm_buf svg;
        site s;

        site_make(&s, 1);
        s.items[0].advice = (dm_advice)advice;
        assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
        written_read(&w, "sheet-T1.svg", &svg);
        assert_says(svg.data, bar[advice - DM_ADVICE_RESCAN]);
        assert_null(strstr(svg.data, "DEPTH STOP"));
        assert_null(strstr(svg.data, ">TAP"));
        assert_null(strstr(svg.data, "; bit "));
        assert_null(strstr(svg.data, "Chance to enter"));
        assert_nothing_over_the_foot(svg.data);
        dm_buf_free(&svg);
        written_read(&w, "sheets-index.svg", &svg);
        assert_says(svg.data, advice == DM_ADVICE_RESCAN ? ">RE-SCAN</text>"
                                                         : ">HAND TOOL</text>");
        dm_buf_free(&svg);
        written_free(&w);
    }
    /* Told apart by pattern, not by colour alone. */
    for (i = 0; i < DM_TASK_COUNT; i++)
        for (k = 0; k < i; k++)
            assert_int_not_equal(dm_sheet_look((dm_task)i).hatch,
                                 dm_sheet_look((dm_task)k).hatch);
}

static void what_was_opened_has_no_stop(void **state)
{
    dm_as_found opening = {.what = {.id = "O1",
                                    .survey = "S1",
                                    .date = "2026-05-11",
                                    .found = DM_FOUND_VOID,
                                    .depth = 0.035,
                                    .water = true,
                                    .photo = "P-17"},
                           .outcome = DM_OUTCOME_CONFIRMED,
                           .cover = "valid",
                           .words = "a void was found"};
    dm_indications found = *fixture->results[0].indications;
    written w;
    dm_buf svg;
    site s;

    (void)state;
    site_make(&s, 1);
    found.openings = &opening;
    found.opening_count = 1;
    s.items[0].opened = 0;
    s.results[0].indications = &found;
    assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
    written_read(&w, "sheet-T1.svg", &svg);
    assert_says(svg.data, ">HAS BEEN OPENED: NO SECOND HOLE</text>");
    assert_says(svg.data, ">Opened on 2026-05-11: found void, confirmed.");
    assert_says(svg.data, ">Depth 35 mm (1 3/8 in)</text>");
    assert_says(svg.data, ">water yes</text>");
    assert_says(svg.data, ">strand touched no</text>");
    assert_says(svg.data, ">2026-05-11</text>");
    assert_says(svg.data, ">Found void</text>");
    assert_says(svg.data, ">photo P-17</text>");
    assert_says(svg.data, ">All that was found: page &quot;As found&quot;, "
                          "opening O1</text>");
    assert_null(strstr(svg.data, "DEPTH STOP"));
    dm_buf_free(&svg);
    written_read(&w, "sheets-index.svg", &svg);
    assert_says(svg.data, ">OPENED</text>");
    dm_buf_free(&svg);
    written_read(&w, "labels.svg", &svg);
    assert_says(svg.data, ">OPENED: NO SECOND HOLE</text>");
    dm_buf_free(&svg);
    written_free(&w);
}

/* No tap of these sheets is there: the page is all that keeps a crew from
 * opening it again. 1 psi = 6.894757 kPa, 1 L = 61.02374 in3 (NIST SP 811,
 * B.8).
 */
static void what_was_opened_without_a_tap_has_a_page(void **state)
{
    static const char *const words[] = {
        ">Opening O1: MISSED: NOT INDICATED, NOT SOUND</text>",
        ">Where: 12:00 looking ahead towards A2; tendon station 11.300 m "
        "\xc2\xb1"
        " 24 mm; no tap of these</text>",
        ">Estimated: nothing indicated; what was read there: valid.</text>",
        ">Found: void, depth 35 mm (1 3/8 in). WATER CAME OUT. No strand",
        ">Volume by pressures 1.148 L (70.1 in\xc2\xb3) \xc2\xb1",
        "before 344.74 kPa (50.00 psi), after 250.00 kPa (36.26 psi), of the",
        "Photo: P-17. Note: paste &lt;wet&gt;</text>"};
    dm_as_found opening = {.what = {.id = "O1",
                                    .survey = "S1",
                                    .date = "2026-05-11",
                                    .t = 11.3,
                                    .u = 0.012,
                                    .found = DM_FOUND_VOID,
                                    .depth = 0.035,
                                    .water = true,
                                    .photo = "P-17",
                                    .note = "paste <wet>",
                                    .pressures = {.volume = 0.001148,
                                                  .u = 0.00002,
                                                  .vessel = 0.002,
                                                  .before = 344738.0,
                                                  .after = 250000.0,
                                                  .air = 101325.0}},
                           .outcome = DM_OUTCOME_MISSED,
                           .cover = "valid",
                           .words = "an indication was missed"};
    dm_indications found = *fixture->results[0].indications;
    written w;
    dm_buf svg;
    char path[512];
    FILE *file;
    site s;
    size_t i;

    (void)state;
    site_make(&s, 0);
    found.openings = &opening;
    found.opening_count = 1;
    s.results[0].indications = &found;
    assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
    written_read(&w, "sheets-found.svg", &svg);
    for (i = 0; i < sizeof words / sizeof *words; i++)
        assert_says(svg.data, words[i]);
    assert_says(svg.data, ">page 1 of 1</text>");
    dm_buf_free(&svg);
    written_path(&w, "sheets-index.svg", path);
    file = fopen(path, "rb");
    assert_null(file);
    written_free(&w);
    assert_int_equal(written_new(&s.delivery, "sheet-pdf", &w), DM_OK);
    written_read(&w, "sheets.pdf", &svg);
    assert_memory_equal(svg.data, "%PDF-", 5);
    dm_buf_free(&svg);
    written_free(&w);
}

static void a_drill_without_room_is_warned_of(void **state)
{
    written w;
    dm_buf svg;
    site s;

    (void)state;
    site_make(&s, 1);
    s.items[0].warning = "no room for the drill: tendon T2 is 0 mm from its "
                         "axis; at 1:30 looking ahead there is";
    s.items[0].clearance = (dm_clearance){.known = true,
                                          .room = DM_ROOM_NONE,
                                          .free = 0.05,
                                          .nearest = "tendon T2",
                                          .other = true,
                                          .other_clock = 0.7853981633974483,
                                          .other_p_enter = 0.91};
    assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
    written_read(&w, "sheet-T1.svg", &svg);
    assert_says(svg.data, ">NO ROOM FOR THE DRILL: ASK THE ENGINEER</text>");
    assert_says(svg.data, ">No drill before the engineer has said how. Then:");
    assert_says(svg.data, ">WARNING: no room for the drill: tendon T2 is 0 mm");
    assert_null(strstr(svg.data, ">TAP"));
    dm_buf_free(&svg);
    written_read(&w, "sheets-index.svg", &svg);
    assert_says(svg.data, ">NO ROOM</text>");
    dm_buf_free(&svg);
    written_read(&w, "labels.svg", &svg);
    assert_says(svg.data, ">NO ROOM: ASK THE ENGINEER</text>");
    assert_null(strstr(svg.data, "DEPTH STOP"));
    dm_buf_free(&svg);
    written_free(&w);
}

static void a_pair_says_which_is_which(void **state)
{
    written w;
    dm_buf svg;
    site s;

    (void)state;
    site_make(&s, 1);
    s.items[0].role = DM_ROLE_INLET;
    assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
    written_read(&w, "sheet-T1.svg", &svg);
    assert_says(svg.data, ">T1-I01-A inlet</text>");
    dm_buf_free(&svg);
    written_read(&w, "sheets-index.svg", &svg);
    assert_says(svg.data, ">T1-I01-A inlet</text>");
    dm_buf_free(&svg);
    written_read(&w, "labels.svg", &svg);
    assert_says(svg.data, ">T1-I01-A inlet</text>");
    dm_buf_free(&svg);
    written_free(&w);
}

/* Every one of twelve once, none cut. */
static void twelve_taps_take_pages(void **state)
{
    written w;
    site s;
    size_t page, i, seen = 0;

    (void)state;
    site_make(&s, 12);
    assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
    for (page = 1; seen < 12; page++) {
        char name[32], words[64];
        dm_buf svg;
        size_t here = 0;

        snprintf(name, sizeof name,
                 page == 1 ? "sheet-T1.svg" : "sheet-T1+%zu.svg", page);
        written_read(&w, name, &svg);
        for (i = 0; i < 12; i++) {
            snprintf(words, sizeof words, ">%s</text>", s.ids[i]);
            here += count_of(svg.data, words);
        }
        assert_true(here >= 1);
        assert_int_equal(count_of(svg.data, ">DEPTH STOP "), here);
        assert_int_equal(count_of(svg.data, ">As found: void depth</text>"),
                         here);
        assert_nothing_over_the_foot(svg.data);
        seen += here;
        dm_buf_free(&svg);
    }
    assert_int_equal(seen, 12);
    written_free(&w);
}

static void missing_faces_are_said(void **state)
{
    int way;

    (void)state;
    for (way = 1; way < 4; way++) {
        written w;
        dm_buf svg;
        site s;

        site_make(&s, 1);
        s.items[0].faces_apart = (double)NAN;
        if (way & 1)
            s.items[0].back = (dm_tape){DM_NONE, (double)NAN, (double)NAN};
        if (way & 2)
            s.items[0].ahead = (dm_tape){DM_NONE, (double)NAN, (double)NAN};
        assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
        written_read(&w, "sheet-T1.svg", &svg);
        assert_says(svg.data, way == 2 ? "on the ahead" : "on the back");
        assert_says(svg.data,
                    way == 3 ? ">No face can be touched" : ">One tape only");
        assert_null(strstr(svg.data, "nan"));
        assert_null(strstr(svg.data, "?"
                                     " mm"));
        dm_buf_free(&svg);
        written_free(&w);
    }
}

static const char *const hostile[] = {
    "<script>alert(1)</script>",
    "../../etc/passwd",
    "\"quotes' & ]]> <!--",
    "\xe2\x80\xae"
    "1L",
    "\xff\xfe broken",
    "a very long name that goes on and on, past the head of the page and the "
    "margin behind it, and further, and further, and further, and further, and "
    "then it goes on again, further and further, until the page has no more "
    "room for anything that matters to those who stand there"};

static void names_cannot_break_out(void **state)
{
    size_t i, k;

    (void)state;
    for (i = 0; i < sizeof hostile / sizeof *hostile; i++) {
        dm_arena *arena = dm_arena_new();
        dm_support supports[8];
        char name[256];
        written w;
        dm_buf svg;
        site s;

        site_make(&s, 1);
        s.model.name = s.tendons[0].name = s.tendons[0].where = hostile[i];
        if (i < 5)
            s.tendons[0].id = s.items[0].id = hostile[i];
        s.items[0].why = hostile[i];
        assert_true(s.tendons[0].support_count <= 8);
        for (k = 0; k < s.tendons[0].support_count; k++) {
            supports[k] = s.tendons[0].supports[k];
            supports[k].name = hostile[i];
        }
        s.tendons[0].supports = supports;
        s.job.units = i % 2 == 0 ? DM_UNITS_METRIC : DM_UNITS_US;
        assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
        snprintf(name, sizeof name, "sheet-%s.svg",
                 dm_file_name(arena, s.tendons[0].id));
        written_read(&w, name, &svg);
        assert_null(strstr(svg.data, "<script"));
        assert_null(strstr(svg.data, "<!--"));
        assert_null(strstr(svg.data, "]]>"));
        assert_null(strstr(svg.data, "\xe2\x80\xae"));
        assert_null(strchr(svg.data, '\xff'));
        assert_nothing_over_the_foot(svg.data);
        dm_buf_free(&svg);
        written_free(&w);
        dm_arena_free(arena);
    }
}

static void us_units_come_first(void **state)
{
    written w;
    dm_buf svg;
    site s;

    (void)state;
    site_make(&s, 1);
    s.job.units = DM_UNITS_US;
    s.items[0].around = -0.045;
    assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
    written_read(&w, "sheet-T1.svg", &svg);
    assert_says(svg.data, ">30 ft 6 1/8 in (9300 mm) \xc2\xb1 1 in</text>");
    assert_says(svg.data, ">Round the duct 1 3/4 in (45 mm)</text>");
    assert_says(svg.data,
                ">to the LEFT looking ahead = RIGHT looking back</text>");
    assert_says(svg.data, ">DEPTH STOP 0.24 in (6.3 mm)</text>");
    assert_says(svg.data, "width=\"215.9mm\"");
    assert_nothing_over_the_foot(svg.data);
    dm_buf_free(&svg);
    written_free(&w);
}

/* 6.7 mm of wall and 3.17 mm (1/8 in) of allowance: 9.87 mm, 0.388 in; printed
 * 9.8 mm and 0.38 in, of which 6.7 mm and 0.26 in are wall. */
static void a_stop_behind_the_wall_is_said_everywhere(void **state)
{
    static const char *const files[] = {"sheet-T1.svg", "labels.svg"};
    static const char warning[] = "strand may touch (chance 7 %)";
    dm_picture p;
    written w;
    dm_buf svg;
    site s;
    size_t i;

    (void)state;
    site_make(&s, 1);
    s.items[0].wall_min = 0.0067;
    s.items[0].depth_stop = 0.0067 + 0.003175;
    s.items[0].warning = warning;
    assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
    for (i = 0; i < 2; i++) {
        written_read(&w, files[i], &svg);
        assert_says(svg.data, ">DEPTH STOP 9.8 mm (0.38 in)</text>");
        assert_says(svg.data, ">= least wall 6.7 mm (0.26 in) + allowance");
        assert_says(svg.data, "The stop lies INSIDE");
        assert_says(svg.data, ">WARNING: strand may touch (chance");
        assert_null(strstr(svg.data, "Pierce the last"));
        dm_buf_free(&svg);
    }
    written_free(&w);
    p = dm_picture_of(&s.delivery, 0);
    dm_sheet_say_set_out(&p, &s.items[0]);
    assert_says(dm_said(&p),
                "7 DEPTH STOP 9.8 mm (0.38 in) = least wall 6.7 mm "
                "(0.26 in) + allowance 3.1 mm (0.12 in), bit ");
    assert_says(dm_said(&p), ". The stop lies INSIDE the duct: stop at the "
                             "inner face, pierce by hand.\nWARNING: strand "
                             "may touch (chance 7 %)\n");
    dm_buf_free(&p.say);
}

/* Labels are as high as what they say: none is cut, none over another. */
static void labels_hold_their_warnings(void **state)
{
    char warning[600];
    const char *at;
    written w;
    dm_buf svg;
    site s;
    size_t i, seen = 0;

    (void)state;
    site_make(&s, 12);
    for (i = 0; i + 1 < sizeof warning; i++)
        warning[i] = i % 6 == 5 ? ' ' : (char)('a' + i % 26);
    warning[i] = '\0';
    memcpy(warning + sizeof warning - 10, "theveryend", 9);
    for (i = 0; i < 12; i += 3)
        s.items[i].warning = warning;
    assert_int_equal(written_new(&s.delivery, "sheet", &w), DM_OK);
    for (i = 1; seen < 12; i++) {
        char name[32];
        size_t here;

        snprintf(name, sizeof name, i == 1 ? "labels.svg" : "labels+%zu.svg",
                 i);
        written_read(&w, name, &svg);
        here = count_of(svg.data, ">DEPTH STOP ");
        assert_true(here >= 2);
        assert_int_equal(count_of(svg.data, "Pierce the last of the wall"),
                         here);
        assert_int_equal(count_of(svg.data, ">WARNING: "),
                         count_of(svg.data, "theveryen"));
        for (at = svg.data; (at = strstr(at + 1, "<text")) != NULL;)
            assert_true(strtod(strstr(at, " y=\"") + 4, NULL) < 297.0 - 10.0);
        seen += here;
        dm_buf_free(&svg);
    }
    assert_int_equal(seen, 12);
    written_free(&w);
}

/* 7.83 mm is within 8 mm, 16.19 mm is not within 16 mm. */
static void a_bound_is_never_rounded_down(void **state)
{
    dm_picture p = dm_picture_of(&fixture->delivery, 0);

    (void)state;
    dm_sheet_say_bound(&p, 0.00783);
    dm_say(&p, ", ");
    dm_sheet_say_bound(&p, 0.01619);
    dm_say(&p, ", ");
    dm_sheet_say_bound(&p, 0.024);
    assert_string_equal(dm_said(&p), "8 mm, 17 mm, 24 mm");
    dm_say_clear(&p);
    p.us = true;
    dm_sheet_say_bound(&p, 0.345 * 0.0254);
    dm_say(&p, ", ");
    dm_sheet_say_bound(&p, 0.375 * 0.0254);
    assert_string_equal(dm_said(&p), "3/8 in, 3/8 in");
    dm_buf_free(&p.say);
}

/* 170.4 + 8015.4 = 8185.8: 8186, but 170 + 8015 = 8185. */
static void tapes_that_do_not_add_up_are_said(void **state)
{
    dm_picture p = dm_picture_of(&fixture->delivery, 0);
    dm_tap tap = fixture->results[0].taps->items[0];

    (void)state;
    tap.back.distance = 0.1704;
    tap.ahead.distance = 8.0154;
    tap.faces_apart = 8.1858;
    dm_sheet_say_apart(&p, &tap);
    assert_string_equal(dm_said(&p),
                        "8186 mm (26 ft 10 1/4 in); both tapes add up to it "
                        "within 1 mm (1/8 in) by rounding");
    dm_say_clear(&p);
    tap.back.distance = 1.0;
    tap.ahead.distance = 2.0;
    tap.faces_apart = 3.0;
    dm_sheet_say_apart(&p, &tap);
    assert_string_equal(dm_said(&p), "3000 mm (9 ft 10 1/8 in)");
    dm_buf_free(&p.say);
}

/* 6.7999 mm is not 6.8 mm. */
static void a_stop_is_never_rounded_up(void **state)
{
    dm_picture p = dm_picture_of(&fixture->delivery, 0);

    (void)state;
    dm_sheet_say_stop(&p, 0.0067999);
    assert_string_equal(dm_said(&p), "6.7 mm (0.26 in)");
    dm_say_clear(&p);
    dm_sheet_say_stop(&p, 0.0068);
    assert_string_equal(dm_said(&p), "6.8 mm (0.26 in)");
    dm_say_clear(&p);
    p.us = true;
    dm_sheet_say_stop(&p, 0.27 * 0.0254);
    assert_string_equal(dm_said(&p), "0.27 in (6.8 mm)");
    dm_say_clear(&p);
    dm_sheet_say_arc(&p, 0.0254 / 16.0);
    assert_string_equal(dm_said(&p), "1/8 in (2 mm)");
    dm_buf_free(&p.say);
}

/* The finder patterns of ISO/IEC 18004: dark, light, dark, three in the
 * corners, none in the fourth; version 1 has 21 modules. */
static void a_code_has_its_corners(void **state)
{
    char long_text[3000];
    dm_qr qr;
    size_t i;

    (void)state;
    assert_int_equal(dm_qr_make("Tap Q1", &qr), DM_OK);
    assert_int_equal(qr.size, 21);
    for (i = 0; i < 7; i++) {
        assert_int_equal(qr.dark[i], 1);
        assert_int_equal(qr.dark[20 - i], 1);
        assert_int_equal(qr.dark[20 * 21 + i], 1);
    }
    for (i = 1; i < 6; i++)
        assert_int_equal(qr.dark[21 + i], 0);
    assert_int_equal(qr.dark[7], 0);
    dm_qr_free(&qr);
    memset(long_text, 'a', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = '\0';
    assert_int_equal(dm_qr_make(long_text, &qr), DM_RANGE);
    assert_int_equal(qr.size, 0);
    long_text[2331] = '\0';
    assert_int_equal(dm_qr_make(long_text, &qr), DM_OK);
    dm_qr_free(&qr);
    /* 12 bits more say that it is UTF-8. */
    long_text[0] = '\xc3';
    long_text[1] = '\xa9';
    assert_int_equal(dm_qr_make(long_text, &qr), DM_RANGE);
    long_text[2329] = '\0';
    assert_int_equal(dm_qr_make(long_text, &qr), DM_OK);
    assert_int_equal(qr.size, 177);
    dm_qr_free(&qr);
    assert_int_equal(dm_qr_make("", &qr), DM_RANGE);
}

static void any_failed_allocation_is_nomem(void **state)
{
    char name[] = "sheet";

    (void)state;
    assert_true(allocfail_each(write_and_free, name) > 20);
}

/* Spans in cells, and cells in a span: a crew leaves neither cell before its
 * end. What has no part comes last. */
static void a_cell_is_walked_once(void **unused)
{
    dm_part parts[] = {{.kind = "cell", .parent = DM_NONE},
                       {.kind = "span", .parent = 0},
                       {.kind = "span", .parent = 0},
                       {.kind = "span", .parent = DM_NONE},
                       {.kind = "cell", .parent = 3},
                       {.kind = "cell", .parent = 3},
                       {.kind = "span", .parent = DM_NONE}};
    /* Of each tendon its part and the stations of its two taps. */
    static const struct {
        size_t part;
        double at[2];
    } rows[] = {{1, {10.0, 40.0}}, {2, {30.0, 90.0}}, {0, {20.0, 80.0}},
                {5, {15.0, 16.0}}, {4, {15.5, 70.0}}, {DM_NONE, {1.0, 2.0}},
                {6, {5.0, 6.0}}};
    static const size_t walk[] = {0, 2, 1, 0, 2, 1, 4, 4, 3, 3, 6, 6, 5, 5};
    static const size_t tendons[] = {0, 2, 1, 4, 3, 6, 5};
    dm_tendon tendon[7] = {{0}};
    dm_tap(*taps)[2] = calloc(7, sizeof *taps);
    dm_taps own[7] = {{0}};
    dm_result results[7] = {{0}};
    dm_model model = {.parts = parts,
                      .part_count = 7,
                      .tendons = tendon,
                      .tendon_count = 7,
                      .direction = {1.0, 0.0, 0.0}};
    const dm_delivery delivery = {.model = &model, .results = results};
    dm_arena *arena = dm_arena_new();
    dm_sheet_tour tour = {0};

    (void)unused;
    for (size_t i = 0; i < 7; i++) {
        tendon[i].part = rows[i].part;
        own[i] = (dm_taps){.items = taps[i], .count = 2};
        results[i].taps = &own[i];
        for (int k = 0; k < 2; k++) {
            taps[i][k].axis.x = -rows[i].at[k];
            taps[i][k].bridge.known = true;
            taps[i][k].bridge.station = rows[i].at[k];
        }
    }
    assert_int_equal(dm_sheet_tour_make(&delivery, arena, &tour), DM_OK);
    assert_int_equal(tour.stop_count, 14);
    for (size_t i = 0; i < 14; i++)
        assert_int_equal(tour.stops[i].tendon, walk[i]);
    assert_int_equal(tour.tendon_count, 7);
    for (size_t i = 0; i < 7; i++)
        assert_int_equal(tour.tendons[i], tendons[i]);
    /* Without an alignment along the bridge's direction. */
    for (size_t i = 0; i < 14; i++)
        taps[i / 2][i % 2].bridge.known = false;
    tour = (dm_sheet_tour){0};
    assert_int_equal(dm_sheet_tour_make(&delivery, arena, &tour), DM_OK);
    assert_int_equal(tour.stops[0].tendon, 1);
    assert_int_equal(tour.stops[5].tendon, 0);
    assert_int_equal(tour.stops[5].item, 0);
    dm_arena_free(arena);
    free(taps);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sheet_says_what_the_results_hold),
        cmocka_unit_test(tendon_without_taps_has_no_page),
        cmocka_unit_test(what_is_not_to_be_drilled_has_no_stop),
        cmocka_unit_test(what_was_opened_has_no_stop),
        cmocka_unit_test(what_was_opened_without_a_tap_has_a_page),
        cmocka_unit_test(a_drill_without_room_is_warned_of),
        cmocka_unit_test(a_pair_says_which_is_which),
        cmocka_unit_test(twelve_taps_take_pages),
        cmocka_unit_test(a_cell_is_walked_once),
        cmocka_unit_test(missing_faces_are_said),
        cmocka_unit_test(names_cannot_break_out),
        cmocka_unit_test(us_units_come_first),
        cmocka_unit_test(a_stop_is_never_rounded_up),
        cmocka_unit_test(a_stop_behind_the_wall_is_said_everywhere),
        cmocka_unit_test(labels_hold_their_warnings),
        cmocka_unit_test(a_bound_is_never_rounded_down),
        cmocka_unit_test(tapes_that_do_not_add_up_are_said),
        cmocka_unit_test(a_code_has_its_corners),
        cmocka_unit_test(any_failed_allocation_is_nomem),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
