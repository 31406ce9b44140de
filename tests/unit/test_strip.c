/* SPDX-License-Identifier: MIT
 * Strips of the fixture: what they say is what the results hold, nothing that
 * a file says can break out of its place, and untested length never has the
 * look of tested length. */
#include "near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "scene_group.h"
#include "write/picture.h"
#include "write/strip_lane.h"

static size_t count_of(const char *text, const char *word)
{
    size_t n = 0;

    for (; (text = strstr(text, word)) != NULL; text += strlen(word))
        n++;
    return n;
}

static void strip_says_what_the_results_hold(void **state)
{
    static const char *const words[] = {
        ">Tendon T1  left tendon</text>",
        "Tested 22.4 % of 40.213 m",
        "reconciled 33.3 %",
        "Length that is not tested is not sound.",
        "Read at 3:00 (40 mm wide)",
        ">T1-I01  void-like, medium</text>",
        ">9.000 \xc2\xb1 40 mm to 9.600 m \xc2\xb1 40 mm or beyond</text>",
        ">T1-I01-A  at 12:00</text>",
        ">A1f + 9.300 m, D1b \xe2\x88\x92 2.300 m</text>",
        "Looking towards A2",
        ">not reconciled: run R1</text>",
        ">collar C1</text>",
        "a hit strand can kill",
        "bridge bridge.xml 000000000000",
        "ductmark ",
        "<title>not tested 6.000 to 6.200 m: collar C1</title>"};
    written w;
    dm_buf svg;
    size_t i;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "strip", &w), DM_OK);
    written_read(&w, "strip-T1.svg", &svg);
    for (i = 0; i < sizeof words / sizeof *words; i++)
        if (strstr(svg.data, words[i]) == NULL)
            fail_msg("not in the picture: %s", words[i]);
    dm_buf_free(&svg);
    written_free(&w);
}

/* The second tendon has no results: no colour of the index but the legend's. */
static void tendon_without_results_is_not_tested_all_over(void **state)
{
    written w;
    dm_buf svg;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "strip", &w), DM_OK);
    written_read(&w, "strip-T2.svg", &svg);
    assert_non_null(strstr(svg.data, "Tested 0.0 % of 40.2"));
    assert_non_null(strstr(svg.data, "not tested 100.0 %"));
    assert_non_null(strstr(svg.data, "No clock line was read."));
    assert_int_equal(count_of(svg.data, "fill=\"#f7f7f7\""), 1);
    dm_buf_free(&svg);
    written_free(&w);
}

/* Each state has a pattern of its own, and none that of a sound index. */
static void looks_differ_without_colour(void **state)
{
    dm_look looks[DM_STATE_LOOK_COUNT + 2];
    size_t i, k;

    (void)state;
    for (i = 0; i < DM_STATE_LOOK_COUNT; i++)
        looks[i] = dm_state_look_make((dm_state_look)i, false);
    looks[i++] = dm_unread_look();
    looks[i++] = dm_index_look(5); /* sound */
    for (i = 0; i < DM_STATE_LOOK_COUNT + 2; i++)
        for (k = 0; k < i; k++)
            assert_true(looks[i].hatch != looks[k].hatch ||
                        looks[i].fill != looks[k].fill);
    for (i = 0; i < DM_STATE_LOOK_COUNT; i++)
        for (k = 0; k < i; k++)
            assert_int_not_equal(looks[i].hatch, looks[k].hatch);
    for (i = 0; i <= DM_STATE_LOOK_COUNT; i++)
        assert_int_not_equal(looks[i].hatch, DM_HATCH_NONE);
    assert_int_equal(dm_index_look(5).hatch, DM_HATCH_NONE);
    /* A void and soft grout are as dark as each other: lines tell them apart.
     */
    assert_int_equal(dm_index_look(10).hatch, DM_HATCH_NONE);
    assert_int_not_equal(dm_index_look(0).hatch, DM_HATCH_NONE);
}

static void every_reason_has_a_look(void **state)
{
    int why;

    (void)state;
    for (why = 0; why < (int)DM_WHY_COUNT; why++)
        assert_true(dm_state_look_of(DM_COVER_NOT_TESTED, (dm_why)why) <=
                    DM_STATE_LOOK_LEFT_OUT);
    assert_int_equal(dm_state_look_of(DM_COVER_NOT_VALID, DM_WHY_LIFT_OFF),
                     DM_STATE_LOOK_NOT_VALID);
    assert_int_equal(dm_state_look_of(DM_COVER_TESTED, DM_WHY_NONE),
                     DM_STATE_LOOK_TESTED);
}

static const char *const hostile[] = {
    "<script>alert(1)</script>",
    "../../etc/passwd",
    "\"quotes' & ]]> <!--",
    "\xe2\x80\xae"
    "1L",
    "\xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d",
    "e\xcc\x81\xcc\x82\xcc\x83\xcc\x84\xcc\x85",
    "\xff\xfe broken",
    "a very long name that goes on and on, past the head of the page and the "
    "margin behind it, and further, and further, and further, and further",
};

static void names_cannot_break_out(void **state)
{
    dm_model model = fixture->model;
    dm_tendon tendons[FIXTURE_TENDONS];
    dm_delivery delivery = fixture->delivery;
    size_t i;

    (void)state;
    memcpy(tendons, model.tendons, sizeof tendons);
    model.tendons = tendons;
    model.tendon_count = 1;
    delivery.model = &model;
    for (i = 0; i < sizeof hostile / sizeof *hostile; i++) {
        dm_arena *arena = dm_arena_new();
        char name[256];
        written w;
        dm_buf svg;

        tendons[0].id = tendons[0].name = tendons[0].where = hostile[i];
        model.name = hostile[i];
        assert_int_equal(written_new(&delivery, "strip", &w), DM_OK);
        snprintf(name, sizeof name, "strip-%s.svg",
                 dm_file_name(arena, hostile[i]));
        written_read(&w, name, &svg);
        assert_null(strstr(svg.data, "<script"));
        assert_null(strstr(svg.data, "<!--"));
        assert_null(strstr(svg.data, "]]>"));
        assert_null(strstr(svg.data, "\xe2\x80\xae"));
        assert_null(strstr(svg.data, "\xcc\x83"));
        assert_null(strchr(svg.data, '\xff'));
        dm_buf_free(&svg);
        written_free(&w);
        dm_arena_free(arena);
    }
}

static void us_units_are_said_in_feet_and_inches(void **state)
{
    dm_job job = fixture->job;
    dm_delivery delivery = fixture->delivery;
    written w;
    dm_buf svg;

    (void)state;
    job.units = DM_UNITS_US;
    delivery.job = &job;
    assert_int_equal(written_new(&delivery, "strip", &w), DM_OK);
    written_read(&w, "strip-T1.svg", &svg);
    /* 9.000 m = 29 ft 6 3/8 in, 40 mm = 1.6 in, Letter is 215.9 mm wide. */
    assert_non_null(strstr(svg.data, ">29 ft 6 3/8 in \xc2\xb1 1.6 in to "));
    assert_non_null(strstr(svg.data, "width=\"215.9mm\""));
    assert_non_null(strstr(svg.data, ">ft</text>"));
    dm_buf_free(&svg);
    written_free(&w);
}

static void png_and_pdf_are_written_too(void **state)
{
    written w;
    dm_buf file;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "strip-png", &w), DM_OK);
    written_read(&w, "strip-T1.png", &file);
    assert_memory_equal(file.data, "\x89PNG", 4);
    dm_buf_free(&file);
    written_free(&w);
    assert_int_equal(written_new(&fixture->delivery, "strip-pdf", &w), DM_OK);
    written_read(&w, "strips.pdf", &file);
    assert_memory_equal(file.data, "%PDF-1.", 7);
    dm_buf_free(&file);
    written_free(&w);
}

static void labels_in_a_lane_do_not_overlap(void **state)
{
    dm_lanes lanes;
    double end[DM_LANES_MOST], begin[DM_LANES_MOST];
    int k;

    (void)state;
    dm_lanes_begin(&lanes, 10.0, 200.0);
    for (k = 0; k < DM_LANES_MOST; k++) {
        end[k] = 0.0;
        begin[k] = 1e9;
    }
    for (k = 0; k < 12; k++) {
        dm_label at = dm_lanes_place(&lanes, 10.0 + 16.0 * k, 40.0);

        assert_true(at.from >= end[at.lane] && at.from >= 10.0);
        end[at.lane] = at.from + 40.0;
        assert_true(end[at.lane] <= 200.0 + 1e-9);
    }
    dm_lanes_begin(&lanes, 10.0, 200.0);
    for (k = 11; k >= 0; k--) {
        dm_label at = dm_lanes_place_right(&lanes, 10.0 + 16.0 * k, 40.0);

        assert_true(at.from + 40.0 <= begin[at.lane]);
        begin[at.lane] = at.from;
        assert_true(at.from >= 10.0);
    }
}

static void any_failed_allocation_is_nomem(void **state)
{
    char name[] = "strip";

    (void)state;
    assert_true(allocfail_each(write_and_free, name) > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strip_says_what_the_results_hold),
        cmocka_unit_test(tendon_without_results_is_not_tested_all_over),
        cmocka_unit_test(looks_differ_without_colour),
        cmocka_unit_test(every_reason_has_a_look),
        cmocka_unit_test(names_cannot_break_out),
        cmocka_unit_test(us_units_are_said_in_feet_and_inches),
        cmocka_unit_test(png_and_pdf_are_written_too),
        cmocka_unit_test(labels_in_a_lane_do_not_overlap),
        cmocka_unit_test(any_failed_allocation_is_nomem),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
