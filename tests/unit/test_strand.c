/* SPDX-License-Identifier: MIT
 * The strand side derived from bends: where, at which clock angle, and what a
 * stated one takes away from it. */
#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "base/arena.h"
#include "line.h"
#include "model_text.h"

#define BEND DM_TEST_DATA "/bend_bridge.xml"
#define TWO DM_TEST_DATA "/two_bends_bridge.xml"

static const double PI = 3.14159265358979323846;

/* Reads a file after edits, which end with NULL; nothing may be said. */
static dm_model *edited(const char *file, const char *const (*edits)[2])
{
    dm_buf text = text_of_file(file);

    for (; (*edits)[0]; edits++)
        text_edit(&text, (*edits)[0], (*edits)[1]);
    dm_model *m = model_of_text(&text);
    dm_buf_free(&text);
    return m;
}

#define EDITED(file, ...)                                                      \
    edited(file, (const char *const[][2]){__VA_ARGS__, {NULL, NULL}})

#define STATED(sides)                                                          \
    {                                                                          \
        "</tendon>", sides "</tendon>"                                         \
    }
#define SIDE(from, to)                                                         \
    "<strand-side from=\"" from "\" to=\"" to                                  \
    "\" clock=\"90 deg\" u=\"30 deg\"/>"

static void assert_derived(const dm_strand_side *s, double from, double to,
                           double clock)
{
    assert_true(s->derived);
    assert_near(s->from, from, 1e-9);
    assert_near(s->to, to, 1e-9);
    assert_near(remainder(s->clock - clock, 2 * PI), 0, 1e-9);
    assert_near(s->u, 20 * PI / 180, 1e-15);
}

static void assert_stated(const dm_strand_side *s, double from, double to)
{
    assert_false(s->derived);
    assert_near(s->from, from, 1e-9);
    assert_near(s->to, to, 1e-9);
    assert_near(s->clock, PI / 2, 1e-12);
    assert_near(s->u, PI / 6, 1e-12);
}

/* The arc of BEND: T = 0.3 m before the corner, L = 8 atan(0.075) long (US
 * Army FM 5-233, chapter 3). */
#define LEG sqrt(12.0 * 12.0 + 0.9 * 0.9)
#define FROM (LEG - 0.3)
#define TO (FROM + 8 * atan(0.075))

/* In a plumb or level bend the inside needs no formula. */
static void side_is_the_inside_of_the_bend(void **state)
{
    static const struct {
        const char *west, *east;
        double clock;
    } bends[] = {
        {"y=\"0 m\" z=\"0.9 m\"", "y=\"0 m\" z=\"0.9 m\"", 0.0},
        {"y=\"0 m\" z=\"-0.9 m\"", "y=\"0 m\" z=\"-0.9 m\"", PI},
        /* Looking along X, plus Y is to the left. */
        {"y=\"0.9 m\" z=\"0 m\"", "y=\"0.9 m\" z=\"0 m\"", 1.5 * PI},
        {"y=\"-0.9 m\" z=\"0 m\"", "y=\"-0.9 m\" z=\"0 m\"", 0.5 * PI},
    };

    (void)state;
    for (size_t i = 0; i < 4; i++) {
        dm_model *m =
            EDITED(BEND, {"y=\"0 m\" z=\"0.9 m\"", bends[i].west},
                   {"x=\"12 m\" y=\"0 m\" z=\"0.9 m\"", "x=\"12 m\" EAST"},
                   {"EAST", bends[i].east});
        const dm_tendon *t = &m->tendons[0];
        assert_int_equal(t->strand_side_count, 1);
        assert_derived(&t->strand_sides[0], FROM, TO, bends[i].clock);
        assert_int_equal(t->strand_sides[0].place.line,
                         t->supports[1].place.line);
        dm_model_free(m);
    }
}

static void every_bend_gives_a_side_and_nothing_between(void **state)
{
    dm_model *m = model_of_file(TWO);
    const dm_tendon *t = &m->tendons[0];

    (void)state;
    assert_int_equal(t->strand_side_count, 2);
    for (size_t i = 0; i < 2; i++) {
        const dm_segment *arc = &t->line.segments[t->supports[i + 1].arc];
        assert_derived(&t->strand_sides[i], arc->t0, arc->t0 + arc->length,
                       dm_tendon_bend_plane(t, i + 1));
    }
    dm_model_free(m);
}

static void straight_tendon_gives_none(void **state)
{
    dm_model *m = model_of_file(DM_TEST_DATA "/straight_bridge.xml");

    (void)state;
    assert_int_equal(m->tendons[0].strand_side_count, 0);
    dm_model_free(m);
}

/* ---- stated goes before derived ---- */

static void what_is_stated_is_cut_out(void **state)
{
    const dm_strand_side *s;
    dm_model *m;

    (void)state;
    /* Of the arc, 11.734 to 12.332 m: its begin, its end, its middle. */
    m = EDITED(BEND, STATED(SIDE("10 m", "12 m")));
    s = m->tendons[0].strand_sides;
    assert_int_equal(m->tendons[0].strand_side_count, 2);
    assert_stated(&s[0], 10, 12);
    assert_derived(&s[1], 12, TO, 0);
    dm_model_free(m);
    m = EDITED(BEND, STATED(SIDE("12 m", "13 m")));
    s = m->tendons[0].strand_sides;
    assert_int_equal(m->tendons[0].strand_side_count, 2);
    assert_stated(&s[0], 12, 13);
    assert_derived(&s[1], FROM, 12, 0);
    dm_model_free(m);
    m = EDITED(BEND, STATED(SIDE("11.9 m", "12.1 m")));
    s = m->tendons[0].strand_sides;
    assert_int_equal(m->tendons[0].strand_side_count, 3);
    assert_stated(&s[0], 11.9, 12.1);
    assert_derived(&s[1], FROM, 11.9, 0);
    assert_derived(&s[2], 12.1, TO, 0);
    dm_model_free(m);
    /* All of it; none of it. */
    m = EDITED(BEND, STATED(SIDE("11 m", "13 m")));
    assert_int_equal(m->tendons[0].strand_side_count, 1);
    assert_stated(&m->tendons[0].strand_sides[0], 11, 13);
    dm_model_free(m);
    m = EDITED(BEND, STATED(SIDE("1 m", "2 m") SIDE("20 m", "21 m")));
    s = m->tendons[0].strand_sides;
    assert_int_equal(m->tendons[0].strand_side_count, 3);
    assert_derived(&s[2], FROM, TO, 0);
    dm_model_free(m);
}

/* In no order, one in another, two that touch. */
static void several_stated_ones_leave_what_is_left(void **state)
{
    dm_model *m = EDITED(
        BEND, STATED(SIDE("12.2 m", "12.3 m") SIDE("11.8 m", "12.0 m")
                         SIDE("12.0 m", "12.1 m") SIDE("11.85 m", "11.9 m")));
    const dm_tendon *t = &m->tendons[0];

    (void)state;
    assert_int_equal(t->strand_side_count, 7);
    assert_stated(&t->strand_sides[0], 12.2, 12.3);
    assert_stated(&t->strand_sides[3], 11.85, 11.9);
    assert_derived(&t->strand_sides[4], FROM, 11.8, 0);
    assert_derived(&t->strand_sides[5], 12.1, 12.2, 0);
    assert_derived(&t->strand_sides[6], 12.3, TO, 0);
    dm_model_free(m);
}

/* From the middle of the first bend to that of the second. */
static void one_stated_over_two_bends_cuts_both(void **state)
{
    dm_model *m = EDITED(TWO, STATED(SIDE("12.1 m", "27.1 m")));
    const dm_tendon *t = &m->tendons[0];
    const dm_segment *a = &t->line.segments[t->supports[1].arc];
    const dm_segment *b = &t->line.segments[t->supports[2].arc];

    (void)state;
    assert_int_equal(t->strand_side_count, 3);
    assert_derived(&t->strand_sides[1], a->t0, 12.1,
                   dm_tendon_bend_plane(t, 1));
    assert_derived(&t->strand_sides[2], 27.1, b->t0 + b->length,
                   dm_tendon_bend_plane(t, 2));
    dm_model_free(m);
}

/* ---- bends that tell nothing ---- */

/* Half the deflection is atan(z / 12): 0.5 deg at z = 52.36 mm. */
static void weak_bends_give_none(void **state)
{
    dm_model *m = EDITED(BEND, {"z=\"0.9 m\"", "z=\"52.3 mm\""},
                         {"z=\"0.9 m\"", "z=\"52.3 mm\""});

    (void)state;
    assert_true(m->tendons[0].supports[1].arc != DM_NONE);
    assert_int_equal(m->tendons[0].strand_side_count, 0);
    dm_model_free(m);
    m = EDITED(BEND, {"z=\"0.9 m\"", "z=\"52.4 mm\""},
               {"z=\"0.9 m\"", "z=\"52.4 mm\""});
    assert_int_equal(m->tendons[0].strand_side_count, 1);
    dm_model_free(m);
}

static void sag_of_the_free_lengths_gives_none(void **state)
{
    dm_model *m = EDITED(
        BEND, {"id=\"V1\"", "id=\"V1\" weight=\"40 kg/m\" force=\"500 kN\""});
    const dm_tendon *t = &m->tendons[0];
    const dm_segment *arc = &t->line.segments[t->supports[1].arc];

    (void)state;
    assert_true(t->line.count > 3 || t->line.segments[0].kappa > 0.0);
    assert_int_equal(t->strand_side_count, 1);
    assert_derived(&t->strand_sides[0], arc->t0, arc->t0 + arc->length, 0);
    dm_model_free(m);
}

/* A tendon with this line, as far as strand.c looks at it. */
static void of_line(test_line *q, dm_support *supports, dm_arena *arena,
                    dm_tendon *t)
{
    reader r = {.arena = arena};

    *t = (dm_tendon){
        .supports = supports, .support_count = q->count, .line = q->line};
    for (size_t i = 0; i < q->count; i++) {
        supports[i] = (dm_support){.arc = q->arc_of[i]};
        if (q->arc_of[i] != DM_NONE) {
            const dm_segment *s = &q->segments[q->arc_of[i]];
            supports[i].deflection = s->length * s->kappa;
        }
    }
    derive_strand_sides(&r, t);
    assert_false(r.out_of_memory);
}

/* Straight up, with a bend on the way. */
static void without_a_crown_there_is_no_inside(void **state)
{
    test_line q = {.points = {{0, 0, 0}, {0, 0, 10}, {1, 0, 20}},
                   .radius = {0, 3, 0},
                   .count = 3};
    dm_arena *arena = dm_arena_new();
    dm_support supports[3];
    dm_tendon t;

    (void)state;
    line_build(&q);
    of_line(&q, supports, arena, &t);
    assert_int_equal(t.strand_side_count, 0);
    q.line.has_datum = true;
    q.line.datum = (dm_vec3){1, 0, 0};
    of_line(&q, supports, arena, &t);
    assert_int_equal(t.strand_side_count, 1);
    assert_near(remainder(t.strand_sides[0].clock, 2 * PI), 0, 1e-12);
    dm_arena_free(arena);
}

/* ---- in space ---- */

/* Clock angle, in steps of 0.01 deg, of the point of the bore that is nearest
 * to the centre of the bend. */
static double nearest_to_centre(const test_line *q, const dm_segment *s,
                                double t)
{
    dm_vec3 centre = dm_vec3_along(s->begin, 1 / s->kappa, s->normal);
    dm_frame f = dm_centreline_frame(&q->line, t);
    double least = HUGE_VAL, best = 0;

    for (int i = 0; i < 36000; i++) {
        double phi = 2 * PI * i / 36000;
        double d = distance(dm_frame_surface(&f, 0.05, phi), centre);
        if (d < least) {
            least = d;
            best = phi;
        }
    }
    return best;
}

/* Bends in no special plane: at the middle the angle is the inside to what
 * was searched, over the whole arc to within the stated 20 deg. */
static void side_is_nearest_to_the_centre_of_the_bend(void **state)
{
    uint64_t seed = 11;
    size_t bends = 0;

    (void)state;
    for (int k = 0; k < 20; k++) {
        dm_arena *arena = dm_arena_new();
        dm_support supports[LINE_MOST];
        dm_tendon t;
        test_line q;
        line_random(&seed, &q);
        of_line(&q, supports, arena, &t);
        size_t next = 0;
        for (size_t i = 0; i < q.count; i++) {
            if (supports[i].deflection < PI / 360)
                continue;
            const dm_segment *s = &q.segments[q.arc_of[i]];
            const dm_strand_side *side = &t.strand_sides[next++];
            double mid = s->t0 + 0.5 * s->length;
            assert_derived(side, s->t0, s->t0 + s->length, side->clock);
            assert_near(
                remainder(nearest_to_centre(&q, s, mid) - side->clock, 2 * PI),
                0, 1e-4); /* of the search */
            for (int j = 0; j <= 4; j++) {
                double at = s->t0 + s->length * j / 4.0;
                double off = nearest_to_centre(&q, s, at) - side->clock;
                assert_true(fabs(remainder(off, 2 * PI)) < side->u);
            }
            bends++;
        }
        assert_int_equal(t.strand_side_count, next);
        dm_arena_free(arena);
    }
    assert_true(bends > 30);
}

static dm_status read_and_free(void *user)
{
    const dm_buf *text = user;
    dm_model *m = NULL;
    dm_status status = dm_model_read_text("m", text, NULL, &m);

    assert_true((status == DM_OK) == (m != NULL));
    dm_model_free(m);
    return status;
}

static void every_failing_allocation_is_said(void **state)
{
    dm_buf text = text_of_file(TWO);

    (void)state;
    text_edit(&text, "</tendon>", SIDE("12.1 m", "27.1 m") "</tendon>");
    assert_true(allocfail_each(read_and_free, &text) >= 4);
    dm_buf_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(side_is_the_inside_of_the_bend),
        cmocka_unit_test(every_bend_gives_a_side_and_nothing_between),
        cmocka_unit_test(straight_tendon_gives_none),
        cmocka_unit_test(what_is_stated_is_cut_out),
        cmocka_unit_test(several_stated_ones_leave_what_is_left),
        cmocka_unit_test(one_stated_over_two_bends_cuts_both),
        cmocka_unit_test(weak_bends_give_none),
        cmocka_unit_test(sag_of_the_free_lengths_gives_none),
        cmocka_unit_test(without_a_crown_there_is_no_inside),
        cmocka_unit_test(side_is_nearest_to_the_centre_of_the_bend),
        cmocka_unit_test(every_failing_allocation_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
