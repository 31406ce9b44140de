/* SPDX-License-Identifier: MIT
 * Layouts against closed forms, and high and low points against a search. */
#include <float.h>

#include "allocfail.h"
#include "base/arena.h"
#include "ductmark/layout.h"
#include "model_text.h"

#define REFERENCE DM_TEST_GEOMETRY "/reference/"
#define DEGREE (3.14159265358979323846 / 180.0)

typedef struct {
    dm_model *model;
    dm_arena *arena;
    dm_layout layout;
} laid;

static laid lay(const char *path, size_t tendon)
{
    laid l = {.arena = dm_arena_new()};
    assert_int_equal(dm_model_read(path, NULL, &l.model), DM_OK);
    assert_int_equal(
        dm_layout_make(l.model, &l.model->tendons[tendon], l.arena, &l.layout),
        DM_OK);
    return l;
}

static void lift(laid *l)
{
    dm_arena_free(l->arena);
    dm_model_free(l->model);
}

/* One low deviator between equal legs of 1.5 m over 10 m: deflection
 * D = 2 atan 0.15, arc R D (US Army FM 5-233, chapter 3); its lowest point is
 * the middle of the arc, R (1 / cos(D/2) - 1) above the corner. */
static void one_deviator_has_one_low_point(void **state)
{
    laid l = lay(REFERENCE "one_deviator.xml", 0);
    const dm_layout *o = &l.layout;
    double half = atan(0.15), leg = sqrt(102.25), r = 3.0;
    double length = 2.0 * (leg - r * tan(half)) + 2.0 * r * half;

    (void)state;
    assert_near(o->length, length, 1e-9);
    assert_int_equal(o->deviator_count, 1);
    assert_near(o->deviators[0].deflection, 2.0 * half, 1e-12);
    assert_near(o->deviators[0].plane, 0.0, 1e-9);
    assert_near(o->deviators[0].radius, r, 0.0);
    assert_near(o->deviators[0].t, 0.5 * length, 1e-9);
    assert_false(o->deviators[0].place.known);
    assert_int_equal(o->level_count, 3);
    const dm_layout_level *low = &o->levels[1];
    assert_int_equal(o->levels[0].kind, DM_LEVEL_HIGH);
    assert_int_equal(low->kind, DM_LEVEL_LOW);
    assert_int_equal(o->levels[2].kind, DM_LEVEL_HIGH);
    assert_near(low->from, 0.5 * length, 1e-9);
    assert_near(low->to, low->from, 0.0);
    assert_near(low->z, 0.5 + r * (1.0 / cos(half) - 1.0), 1e-9);
    assert_int_equal(low->support_from, 1);
    assert_near(o->levels[2].from, length, 0.0);
    assert_true(isnan(o->section.area_ratio));
    lift(&l);
}

/* Plumb faces at 0.6 m and 0.5 m: free lengths over 8.9 m of plan at slope
 * 0.15; one face stands square to its leg, 0.5 m from the corner. What can be
 * read is 150 mm less at A1 and 250 mm at D1, and steel duct is not read. */
static void free_and_readable_lengths_are_between_faces(void **state)
{
    laid l = lay(REFERENCE "one_deviator.xml", 0);
    const dm_layout *o = &l.layout;
    double slant = sqrt(1.0 + 0.15 * 0.15);
    double corner = 3.0 * (0.15 - atan(0.15)); /* tangents less arc, half */

    (void)state;
    assert_int_equal(o->free_count, 2);
    assert_near(o->free_lengths[0].from, 0.6 * slant, 1e-9);
    assert_near(o->free_lengths[0].free, 8.9 * slant, 1e-9);
    assert_near(o->free_lengths[0].readable, 8.9 * slant - 0.15 - 0.25, 1e-9);
    assert_near(o->free_lengths[1].free, 10.0 * slant - 0.5 - 0.6 * slant,
                1e-9);
    /* Steel from 9.6 m to 10.5 m; the face stands at 10.61 m less what the
     * corner takes. */
    double face = 10.0 * slant - 2.0 * corner + 0.5;
    assert_near(o->free_lengths[1].from, face, 1e-9);
    assert_near(o->free_lengths[1].readable, o->free_lengths[1].free, 1e-9);
    assert_near(o->free, o->free_lengths[0].free + o->free_lengths[1].free,
                1e-12);
    lift(&l);
}

/* Case C3 of tests/vectors/centreline.vec: deflections and arcs computed
 * independently with mpmath. 19 strands of 140 mm2 in a bore of 100.853 mm:
 * ratio 3.003, computed from the areas. */
static void two_deviators_agree_with_the_worked_case(void **state)
{
    laid l = lay(REFERENCE "two_deviators.xml", 0);
    const dm_layout *o = &l.layout;

    (void)state;
    assert_near(o->length, 40.2126962180990, 1e-9);
    assert_int_equal(o->deviator_count, 2);
    assert_near(o->deviators[0].deflection, 7.49500330921 * DEGREE, 1e-12);
    assert_near(o->deviators[1].deflection, 7.44068397479 * DEGREE, 1e-12);
    double bore = 100.852941176;
    double ratio = 0.25 * 3.14159265358979 * bore * bore / (19.0 * 140.0);
    assert_near(o->section.area_ratio, ratio, 0.01);
    assert_int_equal(o->level_count, 3);
    /* The middle leg is level, from PT1 to PC2. */
    assert_near(o->levels[1].from, 12.2993470525850, 1e-8);
    assert_near(o->levels[1].to, 26.9077771586115, 1e-8);
    assert_near(o->levels[1].z, 0.45, 1e-12);
    assert_int_equal(o->levels[1].support_from, 1);
    assert_int_equal(o->levels[1].support_to, 2);
    lift(&l);
}

/* Alternating, and none is beaten by a point beside it: a search in steps of
 * 2 mm, on lines, arcs and sagging lengths. */
static void check_levels(const dm_tendon *n, const dm_layout *o)
{
    size_t steps = (size_t)(o->length / 0.002);
    for (size_t i = 0; i < o->level_count; i++) {
        const dm_layout_level *v = &o->levels[i];
        bool high = v->kind == DM_LEVEL_HIGH;
        double from = i > 0 ? o->levels[i - 1].to : 0.0;
        double to = i + 1 < o->level_count ? o->levels[i + 1].from : o->length;
        if (i > 0)
            assert_int_not_equal(v->kind, o->levels[i - 1].kind);
        double best = high ? -DBL_MAX : DBL_MAX;
        for (size_t k = 0; k <= steps; k++) {
            double t = o->length * (double)k / (double)steps;
            double z = dm_centreline_point(&n->line, t).z;
            if (t >= from && t <= to)
                best = high ? fmax(best, z) : fmin(best, z);
        }
        if (high)
            assert_true(v->z >= best - 1e-9 && v->z < best + 1e-5);
        else
            assert_true(v->z <= best + 1e-9 && v->z > best - 1e-5);
    }
}

static void levels_of_a_curved_bridge_are_the_highest_and_lowest(void **state)
{
    (void)state;
    for (size_t i = 0; i < 4; i++) {
        laid l = lay(REFERENCE "curved_two_spans.xml", i);
        assert_int_equal(l.layout.level_count, 5);
        check_levels(&l.model->tendons[i], &l.layout);
        for (size_t k = 0; k < l.layout.deviator_count; k++)
            assert_true(l.layout.deviators[k].place.known);
        lift(&l);
    }
}

/* On the alignment of curved_two_spans.xml: L1 is drawn at offset -2.3 m
 * with its first anchorage at station 1010.5 m. */
static void places_are_stations_and_offsets(void **state)
{
    laid l = lay(REFERENCE "curved_two_spans.xml", 0);
    (void)state;
    assert_near(l.layout.levels[0].place.station, 1010.5, 1e-6);
    assert_near(l.layout.levels[0].place.offset, -2.3, 1e-6);
    /* The middle of an arc lies within its external distance of the corner. */
    assert_near(l.layout.deviators[2].place.station, 1090.0, 0.02);
    lift(&l);
}

static void a_level_tendon_is_one_level(void **state)
{
    laid l = lay(REFERENCE "straight.xml", 0);
    (void)state;
    assert_int_equal(l.layout.level_count, 1);
    assert_int_equal(l.layout.levels[0].kind, DM_LEVEL_EVEN);
    assert_near(l.layout.levels[0].to, l.layout.length, 0.0);
    assert_int_equal(l.layout.deviator_count, 0);
    assert_string_equal(dm_level_text(DM_LEVEL_EVEN), "level");
    lift(&l);
}

static dm_status make(void *user)
{
    laid *l = user;
    dm_arena_free(l->arena);
    l->arena = dm_arena_new();
    if (!l->arena)
        return DM_NOMEM;
    l->layout.length = -1.0;
    dm_status status =
        dm_layout_make(l->model, l->model->tendons, l->arena, &l->layout);
    if (status != DM_OK)
        assert_near(l->layout.length, -1.0, 0.0);
    return status;
}

static void without_memory_nothing_is_made(void **state)
{
    laid l = lay(REFERENCE "two_deviators.xml", 0);
    (void)state;
    assert_true(allocfail_each(make, &l) >= 2);
    assert_near(l.layout.length, 40.2126962180990, 1e-9);
    lift(&l);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_deviator_has_one_low_point),
        cmocka_unit_test(free_and_readable_lengths_are_between_faces),
        cmocka_unit_test(two_deviators_agree_with_the_worked_case),
        cmocka_unit_test(levels_of_a_curved_bridge_are_the_highest_and_lowest),
        cmocka_unit_test(places_are_stations_and_offsets),
        cmocka_unit_test(a_level_tendon_is_one_level),
        cmocka_unit_test(without_memory_nothing_is_made),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
