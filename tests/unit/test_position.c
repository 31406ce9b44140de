/* SPDX-License-Identifier: MIT
 * Where a length lies among supports and high points: a tendon of 40 m made by
 * hand, its distances by subtraction. */
#include "ductmark/position.h"
#include "near.h"

#define NONE ((double)NAN)

static dm_support supports[] = {
    {.id = "A1", .kind = DM_SUPPORT_ANCHORAGE, .t = 0.0},
    {.id = "D1", .kind = DM_SUPPORT_DEVIATOR, .t = 12.0},
    {.id = "D2", .kind = DM_SUPPORT_DEVIATOR, .t = 28.0},
    {.id = "A2", .kind = DM_SUPPORT_ANCHORAGE, .t = 40.0}};

/* D2 has no faces but readable ends; A2's face behind a wider one. */
static dm_face faces[] = {
    {.id = "A1a", .support = 0, .side = DM_SIDE_AHEAD, .t = 0.8},
    {.id = "D1b", .support = 1, .side = DM_SIDE_BACK, .t = 11.5},
    {.id = "D1a", .support = 1, .side = DM_SIDE_AHEAD, .t = 12.5},
    {.id = "A2b", .support = 3, .side = DM_SIDE_BACK, .t = 39.0},
    {.id = "A2c", .support = 3, .side = DM_SIDE_BACK, .t = 39.4}};

/* High at both ends, and level at the top from 27 to 29. */
static dm_layout_level levels[] = {
    {.kind = DM_LEVEL_HIGH, .from = 0.0, .to = 0.0, .z = 5.0},
    {.kind = DM_LEVEL_LOW, .from = 12.0, .to = 12.0, .z = 2.0},
    {.kind = DM_LEVEL_HIGH, .from = 27.0, .to = 29.0, .z = 6.0},
    {.kind = DM_LEVEL_LOW, .from = 35.0, .to = 35.0, .z = 4.0},
    {.kind = DM_LEVEL_HIGH, .from = 40.0, .to = 40.0, .z = 4.5}};

static dm_position at(double from, double to)
{
    dm_tendon tendon = {.supports = supports,
                        .support_count = 4,
                        .faces = faces,
                        .face_count = 5};
    dm_layout layout = {.levels = levels, .level_count = 5};

    supports[2].readable_back = 27.4;
    supports[2].readable_ahead = 28.6;
    for (size_t i = 0; i < 4; i++)
        if (i != 2)
            supports[i].readable_back = supports[i].readable_ahead = NONE;
    return dm_position_of(&tendon, &layout, from, to);
}

static void distances_run_to_faces_and_high_points(void **state)
{
    static const struct {
        double from, to;
        size_t anchorage, deviator;
        double to_anchorage, to_deviator, crest, to_crest;
        dm_position_class class;
    } rows[] = {/* beside the first anchorage, which is a high point, too */
                {1.0, 1.5, 0, 1, 0.2, 10.0, 0.0, 1.0, DM_AT_ANCHORAGE},
                {1.9, 2.4, 0, 1, 1.1, 9.1, 0.0, 1.9, DM_AT_FREE},
                /* between: behind D1, below the top */
                {13.5, 14.5, 0, 1, 12.7, 1.0, 27.0, 12.5, DM_AT_DEVIATOR},
                {20.5, 21.0, 3, 2, 18.0, 6.4, 27.0, 6.0, DM_AT_FREE},
                /* on the level top, at D2's readable end */
                {27.1, 27.3, 3, 2, 11.7, 0.1, 27.2, 0.0, DM_AT_CREST},
                {29.5, 29.9, 3, 2, 9.1, 0.9, 29.0, 0.5, DM_AT_CREST},
                /* over D1 */
                {11.0, 13.0, 0, 1, 10.2, 0.0, 0.0, 11.0, DM_AT_DEVIATOR},
                /* the face nearer to it counts */
                {38.0, 38.5, 3, 2, 0.5, 9.4, 40.0, 1.5, DM_AT_ANCHORAGE}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        dm_position p = at(rows[i].from, rows[i].to);

        assert_int_equal(p.at, rows[i].class);
        assert_int_equal(p.anchorage, rows[i].anchorage);
        assert_int_equal(p.deviator, rows[i].deviator);
        assert_near(p.distance[DM_AT_ANCHORAGE], rows[i].to_anchorage, 1e-9);
        assert_near(p.distance[DM_AT_DEVIATOR], rows[i].to_deviator, 1e-9);
        assert_near(p.crest, rows[i].crest, 1e-9);
        assert_near(p.distance[DM_AT_CREST], rows[i].to_crest, 1e-9);
    }
}

static void without_a_place_there_is_no_distance(void **state)
{
    dm_layout_level even = {.kind = DM_LEVEL_EVEN, .to = 40.0};
    dm_layout layout = {.levels = &even, .level_count = 1};
    dm_tendon tendon = {.supports = supports, .support_count = 1};
    dm_position p;

    (void)state;
    p = dm_position_of(&tendon, &layout, 3.0, 4.0);
    assert_int_equal(p.at, DM_AT_FREE);
    assert_int_equal(p.anchorage, 0);
    assert_int_equal(p.deviator, DM_NONE);
    assert_near(p.distance[DM_AT_ANCHORAGE], 3.0, 1e-9); /* its own station */
    assert_true(isnan(p.distance[DM_AT_DEVIATOR]));
    assert_true(isnan(p.crest) && isnan(p.crest_z) &&
                isnan(p.distance[DM_AT_CREST]));
}

static void words_are_those_of_the_criteria(void **state)
{
    (void)state;
    assert_string_equal(dm_position_text(DM_AT_ANCHORAGE), "anchorage");
    assert_string_equal(dm_position_text(DM_AT_CREST), "crest");
    assert_string_equal(dm_position_text(DM_AT_DEVIATOR), "deviator");
    assert_string_equal(dm_position_text(DM_AT_FREE), "free");
    assert_string_equal(dm_position_text(DM_AT_COUNT), "free");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(distances_run_to_faces_and_high_points),
        cmocka_unit_test(without_a_place_there_is_no_distance),
        cmocka_unit_test(words_are_those_of_the_criteria),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
