/* SPDX-License-Identifier: MIT
 * What several runs saw becomes one indication; every length of the tendon
 * has one state; identities last. The tendon is a straight 20 m made by
 * hand. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "indication/find.h"
#include "near.h"

#define LENGTH 20.0

typedef struct {
    dm_model model;
    dm_tendon tendon;
    dm_survey survey;
    dm_settings settings;
    dm_indications out;
    dm_finder f;
    dm_support supports[3];
    dm_duct_length ducts[2];
    dm_duct_type types[2];
    dm_fixture fixture;
    dm_segment segments[4];
    dm_run runs[6];
} bench;

static bench *new_bench(void)
{
    bench *b = calloc(1, sizeof *b);
    const double nan = (double)NAN;

    assert_non_null(b);
    b->types[0] = (dm_duct_type){.id = "P", .material = "hdpe", .od = 0.11};
    b->types[1] = (dm_duct_type){.id = "S", .material = "steel", .od = 0.11};
    b->ducts[0] = (dm_duct_length){.from = 0, .to = 15, .duct_type = 0};
    b->ducts[1] = (dm_duct_length){.from = 15, .to = LENGTH, .duct_type = 0};
    b->supports[0] = (dm_support){.id = "A1",
                                  .kind = DM_SUPPORT_ANCHORAGE,
                                  .readable_back = nan,
                                  .readable_ahead = 0.7};
    b->supports[1] = (dm_support){.id = "D1",
                                  .kind = DM_SUPPORT_DEVIATOR,
                                  .t = 10,
                                  .readable_back = 9.5,
                                  .readable_ahead = 10.5};
    b->supports[2] = (dm_support){.id = "A2",
                                  .kind = DM_SUPPORT_ANCHORAGE,
                                  .t = LENGTH,
                                  .readable_back = 19.3,
                                  .readable_ahead = nan};
    b->fixture = (dm_fixture){
        .id = "C1", .kind = DM_FIXTURE_COLLAR, .from = 5.0, .to = 5.2};
    b->tendon = (dm_tendon){.id = "T4L",
                            .supports = b->supports,
                            .support_count = 3,
                            .ducts = b->ducts,
                            .duct_count = 2,
                            .fixtures = &b->fixture,
                            .fixture_count = 1};
    b->tendon.line.length = LENGTH;
    b->model.tendons = &b->tendon;
    b->model.tendon_count = 1;
    b->model.duct_types = b->types;
    b->model.duct_type_count = 2;
    b->model.uid = "3c9f1e74-5b0c-4a77-9d0a-0c4f6a1e2b95";
    b->survey.survey = "spring";
    b->survey.runs = b->runs;
    b->settings.merge_gap = 0.15;
    b->settings.least_length = 0.02;
    b->f = (dm_finder){.model = &b->model,
                       .tendon = &b->tendon,
                       .survey = &b->survey,
                       .settings = &b->settings,
                       .arena = dm_arena_new(),
                       .out = &b->out};
    assert_non_null(b->f.arena);
    return b;
}

static void drop(bench *b)
{
    dm_arena_free(b->f.arena);
    free(b->f.claims.items);
    free(b->f.clock_lines);
    free(b->f.sightings.items);
    free(b->f.passes);
    free(b);
}

/* ---- coverage ---- */

#define QUARTER 1.57079632679489662

/* What a run says of a length: on the crown, or on a clock line. */
static void claim_on(bench *b, double clock, dm_cover_length length)
{
    size_t line = 0;

    assert_int_equal(
        dm_clock_line_take(&b->f, (dm_clock_line){clock, 0.06, 0.5}, &line),
        DM_OK);
    assert_int_equal(dm_claim_add(&b->f, line, length), DM_OK);
}

static dm_why usual_why(dm_cover cover)
{
    static const dm_why why[DM_COVER_COUNT] = {DM_WHY_NONE, DM_WHY_STRAND,
                                               DM_WHY_SKIPPED, DM_WHY_LIFT_OFF,
                                               DM_WHY_NOT_CLOSED};

    return why[cover];
}

static void claim(bench *b, double from, double to, dm_cover cover,
                  const char *reason)
{
    claim_on(b, 0.0,
             (dm_cover_length){from, to, cover, usual_why(cover), reason});
}

/* In order, without overlap or gap, and the sums add up. */
static void assert_ledger(const dm_cover_length *l, size_t count,
                          const double *sum, const double *why_sum)
{
    double states = 0.0, whys = 0.0, by_why[DM_WHY_COUNT] = {0.0};

    assert_true(count > 0);
    assert_near(l[0].from, 0.0, 0.0);
    for (size_t i = 0; i < count; i++) {
        assert_true(l[i].to > l[i].from);
        if (i > 0)
            assert_near(l[i].from, l[i - 1].to, 0.0);
        assert_int_equal(l[i].cover, dm_why_cover(l[i].why));
        by_why[l[i].why] += l[i].to - l[i].from;
    }
    assert_near(l[count - 1].to, LENGTH, 0.0);
    for (int c = 0; c < DM_COVER_COUNT; c++)
        states += sum[c];
    for (int w = 0; w < DM_WHY_COUNT; w++) {
        assert_near(why_sum[w], by_why[w], 1e-9);
        whys += why_sum[w];
    }
    assert_near(states, LENGTH, 1e-6);
    assert_near(whys, LENGTH, 1e-6);
}

static void assert_whole(const bench *b)
{
    assert_ledger(b->out.cover, b->out.cover_count, b->out.cover_sum,
                  b->out.why_sum);
    for (size_t i = 0; i < b->out.cover_line_count; i++) {
        const dm_cover_line *l = &b->out.cover_lines[i];

        assert_ledger(l->lengths, l->count, l->sum, l->why_sum);
        if (i > 0)
            assert_true(l->clock > l[-1].clock);
    }
}

static const dm_cover_length *length_at(const dm_cover_length *l, size_t count,
                                        double t)
{
    for (size_t i = 0; i < count; i++)
        if (t >= l[i].from && t < l[i].to)
            return &l[i];
    fail();
    return NULL;
}

static const dm_cover_length *cover_at(const bench *b, double t)
{
    return length_at(b->out.cover, b->out.cover_count, t);
}

static void assert_cover(const bench *b, double t, dm_cover cover,
                         const char *reason)
{
    assert_int_equal(cover_at(b, t)->cover, cover);
    assert_string_equal(cover_at(b, t)->reason, reason);
}

static void cover_without_readings_names_supports_and_fixtures(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    assert_int_equal(dm_cover_build(&b->f), DM_OK);
    assert_whole(b);
    assert_near(b->out.cover_sum[DM_COVER_NOT_TESTED], LENGTH, 1e-9);
    assert_cover(b, 0.3, DM_COVER_NOT_TESTED, "inside anchorage A1");
    assert_cover(b, 3.0, DM_COVER_NOT_TESTED, "not walked");
    assert_cover(b, 5.1, DM_COVER_NOT_TESTED, "collar C1");
    assert_cover(b, 10.0, DM_COVER_NOT_TESTED, "inside deviator D1");
    assert_cover(b, 19.9, DM_COVER_NOT_TESTED, "inside anchorage A2");
    drop(b);
}

static void cover_best_state_of_all_lines_wins(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    claim(b, 1.0, 4.8, DM_COVER_TESTED, "");
    claim(b, 2.0, 2.1, DM_COVER_NOT_VALID, "lift-off"); /* other line read */
    claim(b, 5.4, 7.0, DM_COVER_NOT_VALID, "lift-off");
    claim(b, 6.0, 9.4, DM_COVER_NOT_RECONCILED, "run R2");
    claim(b, 6.5, 6.6, DM_COVER_STRAND_MASKED, "strand");
    claim(b, 11.0, 13.0, DM_COVER_TESTED, "");
    claim(b, 13.0, 14.0, DM_COVER_NOT_TESTED, "low ceiling");
    claim(b, 14.0, 25.0, DM_COVER_TESTED, "");
    assert_int_equal(dm_cover_build(&b->f), DM_OK);
    assert_whole(b);
    assert_cover(b, 0.9, DM_COVER_NOT_TESTED,
                 "the sensor's length beside anchorage A1");
    assert_cover(b, 2.05, DM_COVER_TESTED, "");
    assert_cover(b, 4.9, DM_COVER_NOT_TESTED, "collar C1");
    assert_cover(b, 5.3, DM_COVER_NOT_TESTED, "collar C1");
    assert_cover(b, 5.5, DM_COVER_NOT_VALID, "lift-off");
    assert_cover(b, 6.2, DM_COVER_NOT_RECONCILED, "run R2");
    assert_cover(b, 6.55, DM_COVER_STRAND_MASKED, "strand");
    assert_cover(b, 13.5, DM_COVER_NOT_TESTED, "low ceiling");
    assert_near(b->out.cover_sum[DM_COVER_TESTED], 3.8 + 2.0 + 6.0, 1e-9);
    assert_near(b->out.cover_sum[DM_COVER_STRAND_MASKED], 0.1, 1e-9);
    assert_near(b->out.cover_sum[DM_COVER_NOT_VALID], 0.6, 1e-9);
    drop(b);
}

static void cover_of_steel_is_named(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->ducts[1].duct_type = 1;
    claim(b, 11.0, 15.0, DM_COVER_TESTED, "");
    assert_int_equal(dm_cover_build(&b->f), DM_OK);
    assert_whole(b);
    assert_cover(b, 16.0, DM_COVER_NOT_TESTED, "steel duct");
    assert_cover(b, 19.5, DM_COVER_NOT_TESTED, "inside anchorage A2");
    drop(b);
}

/* What is printed to 1 um adds up to the length as it is printed. */
static void assert_whole_micrometres(const dm_cover_length *l, size_t count)
{
    for (size_t i = 1; i < count; i++)
        assert_near(l[i].from * 1e6, round(l[i].from * 1e6), 1e-6);
}

/* A bound is no finer than what is written down of it. */
static void cover_bounds_are_whole_micrometres(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    b->supports[1].readable_back = 9.5 + 1.0 / 3e6;
    b->fixture.from = 5.0 + 2e-7;
    claim(b, 1.0 + 1.0 / 3.0, 4.0 + 1.0 / 7.0, DM_COVER_TESTED, "");
    claim(b, 8.0, 9.5 + 1.0 / 3e6, DM_COVER_TESTED, "");
    claim(b, LENGTH - 0.6, LENGTH - 2e-7, DM_COVER_NOT_VALID, "lift-off");
    assert_int_equal(dm_cover_build(&b->f), DM_OK);
    assert_whole(b);
    assert_whole_micrometres(b->out.cover, b->out.cover_count);
    assert_int_equal(b->out.cover_line_count, 1);
    assert_whole_micrometres(b->out.cover_lines[0].lengths,
                             b->out.cover_lines[0].count);
    assert_near(b->out.cover_sum[DM_COVER_TESTED], 2.809524 + 1.5, 1e-9);
    assert_cover(b, 9.6, DM_COVER_NOT_TESTED, "inside deviator D1");
    drop(b);
}

/* Beside an obstacle the body keeps the electrode away as far as it is long,
 * whatever instrument it is of; with none there is nothing beside it. */
static void cover_reaches_as_far_as_the_body(void **unused)
{
    static const double reach[] = {0.3, 1.0};
    bench *b;

    (void)unused;
    for (size_t i = 0; i < 2; i++) {
        size_t line = 0;

        b = new_bench();
        claim(b, 3.0, 4.0, DM_COVER_TESTED, "");
        claim(b, 6.2, 8.6, DM_COVER_TESTED, "");
        b->f.clock_lines[0].reach = 0.1; /* of a second, shorter instrument */
        assert_int_equal(
            dm_clock_line_take(&b->f, (dm_clock_line){0.0, 0.06, reach[i]},
                               &line),
            DM_OK);
        assert_int_equal(dm_cover_build(&b->f), DM_OK);
        assert_whole(b);
        assert_cover(b, 4.5, DM_COVER_NOT_TESTED,
                     i ? "collar C1" : "not walked");
        assert_cover(b, 5.4, DM_COVER_NOT_TESTED, "collar C1");
        assert_cover(b, 9.0, DM_COVER_NOT_TESTED,
                     i ? "the sensor's length beside deviator D1"
                       : "not walked");
        drop(b);
    }
    b = new_bench();
    assert_int_equal(dm_cover_build(&b->f), DM_OK);
    assert_cover(b, 5.3, DM_COVER_NOT_TESTED, "not walked");
    drop(b);
}

/* A collar from 9 to 3 o'clock obstructs the crown, not the line at 6. */
static void cover_of_a_line_has_only_what_lies_on_it(void **unused)
{
    static const struct {
        double from, to;
        bool crown, below;
    } collar[] = {
        {3.0 * QUARTER, QUARTER, true, false}, /* over the crown */
        {QUARTER, 3.0 * QUARTER, false, true},
        {0.0, 4.0 * QUARTER, true, true},
        {0.5, 1.5, true, false},  /* 28 mm beside the crown, width 60 mm */
        {0.6, 1.5, false, false}, /* 33 mm */
    };

    (void)unused;
    for (size_t i = 0; i < sizeof collar / sizeof *collar; i++) {
        bench *b = new_bench();
        const dm_cover_line *l;

        b->fixture.clock_from = collar[i].from;
        b->fixture.clock_to = collar[i].to;
        claim(b, 1.0, 4.8, DM_COVER_TESTED, "");
        claim(b, 5.4, 9.0, DM_COVER_TESTED, "");
        claim_on(b, 2.0 * QUARTER,
                 (dm_cover_length){1.0, 4.8, DM_COVER_TESTED, DM_WHY_NONE, ""});
        assert_int_equal(dm_cover_build(&b->f), DM_OK);
        assert_whole(b);
        l = b->out.cover_lines;
        assert_int_equal(b->out.cover_line_count, 2);
        assert_int_equal(length_at(l[0].lengths, l[0].count, 5.1)->why,
                         collar[i].crown ? DM_WHY_OBSTRUCTION
                                         : DM_WHY_NOT_WALKED);
        assert_int_equal(length_at(l[1].lengths, l[1].count, 5.1)->why,
                         collar[i].below ? DM_WHY_OBSTRUCTION
                                         : DM_WHY_NOT_WALKED);
        assert_int_equal(cover_at(b, 5.1)->why,
                         collar[i].crown || collar[i].below
                             ? DM_WHY_OBSTRUCTION
                             : DM_WHY_NOT_WALKED);
        drop(b);
    }
}

static double uniform(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005u + 1442695040888963407u;
    return (double)(*seed >> 40) / 16777216.0;
}

/* Random claims on random lines: whatever they are, every ledger sums to the
 * length, and the tendon's own is nowhere worse than the best of the lines. */
static void cover_always_sums_to_the_length(void **unused)
{
    static const int rank[DM_COVER_COUNT] = {0, 1, 4, 3, 2};
    uint64_t s = 12345;

    (void)unused;
    for (int round = 0; round < 200; round++) {
        bench *b = new_bench();

        for (int i = 0; i < 40; i++) {
            double from = 22.0 * uniform(&s) - 1.0;
            double to = from + 2.0 * uniform(&s);
            dm_cover cover = (dm_cover)(DM_COVER_COUNT * uniform(&s));

            claim_on(b, QUARTER * floor(4.0 * uniform(&s)),
                     (dm_cover_length){from, to, cover, usual_why(cover), "x"});
        }
        assert_int_equal(dm_cover_build(&b->f), DM_OK);
        assert_whole(b);
        assert_true(b->out.cover_line_count <= 4);
        for (int i = 0; i < 100; i++) {
            double t = LENGTH * uniform(&s);
            int best = 4;

            for (size_t k = 0; k < b->out.cover_line_count; k++) {
                const dm_cover_line *l = &b->out.cover_lines[k];
                int one = rank[length_at(l->lengths, l->count, t)->cover];

                best = one < best ? one : best;
            }
            assert_int_equal(rank[cover_at(b, t)->cover], best);
        }
        drop(b);
    }
}

/* Each line has its own ledger; the tendon's has the best of both. */
static void cover_of_a_line_is_its_own(void **unused)
{
    bench *b = new_bench();
    const dm_cover_line *l;

    (void)unused;
    claim(b, 1.0, 4.0, DM_COVER_TESTED, "");
    claim_on(b, QUARTER,
             (dm_cover_length){2.0, 8.0, DM_COVER_NOT_VALID, DM_WHY_CHECK_DRIFT,
                               "drift"});
    claim_on(b, 4.0 * QUARTER + 0.001, /* the crown again, and narrower */
             (dm_cover_length){6.0, 7.0, DM_COVER_TESTED, DM_WHY_NONE, ""});
    assert_int_equal(dm_cover_build(&b->f), DM_OK);
    assert_whole(b);
    assert_int_equal(b->out.cover_line_count, 2);
    l = b->out.cover_lines;
    assert_near(l[0].sum[DM_COVER_TESTED], 4.0, 1e-9);
    assert_near(l[0].sum[DM_COVER_NOT_VALID], 0.0, 0.0);
    assert_near(l[1].clock, QUARTER, 0.0);
    assert_near(l[1].width, 0.06, 0.0);
    assert_near(l[1].sum[DM_COVER_TESTED], 0.0, 0.0);
    assert_near(l[1].why_sum[DM_WHY_CHECK_DRIFT], 6.0, 1e-9);
    assert_near(b->out.cover_sum[DM_COVER_TESTED], 4.0, 1e-9);
    assert_near(b->out.why_sum[DM_WHY_CHECK_DRIFT], 3.0, 1e-9);
    drop(b);
}

static dm_why why_at(const bench *b, double t)
{
    return cover_at(b, t)->why;
}

/* Every reason that the drawing and the claims can give; those that come from
 * readings are reached in test_find. */
static void cover_names_every_reason(void **unused)
{
    static const dm_fixture_kind kind[] = {
        DM_FIXTURE_COLLAR,        DM_FIXTURE_COUPLER,  DM_FIXTURE_WRAP,
        DM_FIXTURE_LOW_CLEARANCE, DM_FIXTURE_PATCH,    DM_FIXTURE_VENT,
        DM_FIXTURE_WELD,          DM_FIXTURE_DIAPHRAGM};
    dm_access_length far = {.from = 17.0, .to = 18.0, .access = DM_ACCESS_NONE};
    bench *b = new_bench();

    (void)unused;
    b->tendon.part = DM_NONE;
    b->tendon.access = &far;
    b->tendon.access_count = 1;
    b->ducts[1].from = b->ducts[0].to = 18.5;
    b->ducts[1].duct_type = 1;
    claim(b, 1.1, 4.4, DM_COVER_TESTED, "");
    claim(b, 4.4, 6.0, DM_COVER_NOT_TESTED, "by hand");
    claim(b, 6.5, 9.4, DM_COVER_TESTED, "");
    claim(b, 6.0, 6.5, DM_COVER_NOT_TESTED, "by hand");
    claim_on(b, 0.0,
             (dm_cover_length){12.0, 13.0, DM_COVER_NOT_TESTED, DM_WHY_LEFT_OUT,
                               "readings of run R left out"});
    claim(b, 13.0, 13.5, DM_COVER_NOT_TESTED, "rain");
    assert_int_equal(dm_cover_build(&b->f), DM_OK);
    assert_whole(b);
    assert_int_equal(why_at(b, 0.1), DM_WHY_SUPPORT);
    assert_int_equal(why_at(b, 0.9), DM_WHY_DEAD_ZONE);
    assert_int_equal(why_at(b, 5.1), DM_WHY_OBSTRUCTION);
    assert_int_equal(why_at(b, 12.5), DM_WHY_LEFT_OUT);
    assert_int_equal(why_at(b, 13.2), DM_WHY_SKIPPED);
    assert_int_equal(why_at(b, 16.0), DM_WHY_NOT_WALKED);
    assert_int_equal(why_at(b, 17.5), DM_WHY_NO_ACCESS);
    assert_int_equal(why_at(b, 18.7), DM_WHY_STEEL);
    drop(b);
    for (size_t i = 0; i < sizeof kind / sizeof *kind; i++) {
        b = new_bench();
        b->fixture.kind = kind[i];
        assert_int_equal(dm_cover_build(&b->f), DM_OK);
        assert_int_equal(why_at(b, 5.1), kind[i] == DM_FIXTURE_WRAP
                                             ? DM_WHY_WRAP
                                         : kind[i] == DM_FIXTURE_LOW_CLEARANCE
                                             ? DM_WHY_LOW_CLEARANCE
                                             : DM_WHY_OBSTRUCTION);
        drop(b);
    }
}

/* No two reasons have one word, and all have one. */
static void cover_words_differ(void **unused)
{
    (void)unused;
    for (int i = 0; i < DM_WHY_COUNT; i++) {
        assert_true((dm_why_text((dm_why)i)[0] == '\0') == (i == 0));
        for (int k = 0; k < i; k++)
            assert_string_not_equal(dm_why_text((dm_why)i),
                                    dm_why_text((dm_why)k));
    }
    assert_string_equal(dm_why_text(DM_WHY_COUNT), "");
    assert_int_equal(dm_why_cover(DM_WHY_COUNT), DM_COVER_NOT_TESTED);
}

/* ---- merging ---- */

static dm_sighting *sight(bench *b, size_t run, double from, double to)
{
    const double nan = (double)NAN;
    dm_sightings *l = &b->f.sightings;

    if (l->count == l->capacity)
        assert_true(DM_GROW(l->items, l->count, l->capacity));
    l->items[l->count] = (dm_sighting){
        .kind = DM_KIND_VOID_LIKE,
        .from = {.t = from, .edge = 1e-6, .ahead = nan, .face_ahead = DM_NONE},
        .to = {.t = to, .edge = 1e-6, .ahead = nan, .face_ahead = DM_NONE},
        .reconciled = true,
        .index = 0.5,
        .run = run,
        .footprint = 0.1};
    return &l->items[l->count++];
}

static size_t merge(bench *b)
{
    assert_int_equal(dm_sightings_merge(&b->f, &b->out.items, &b->out.count),
                     DM_OK);
    return b->out.count;
}

/* Weighted mean: 12.431 +- 0.004, 12.446 +- 0.010,
 * 12.437 +- 0.006 give 12.4341578947368 +- 0.00315789473684211 (formula:
 * inverse-variance weighted mean; value computed independently). */
static void merge_of_repeats_is_the_weighted_mean(void **unused)
{
    const double t[] = {12.431, 12.446, 12.437}, u[] = {0.004, 0.010, 0.006};
    bench *b = new_bench();

    (void)unused;
    for (size_t i = 0; i < 3; i++) {
        dm_sighting *s = sight(b, i, t[i], 13.0);

        s->from.edge = u[i] * u[i];
    }
    assert_int_equal(merge(b), 1);
    assert_near(b->out.items[0].from.t, 12.4341578947368, 1e-12);
    assert_near(b->out.items[0].from.u_edge, 0.00315789473684211, 1e-14);
    assert_int_equal(b->out.items[0].run_count, 3);
    drop(b);
}

/* The part that runs share does not shrink by averaging. */
static void merge_does_not_average_shared_station_errors(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    for (size_t i = 0; i < 4; i++)
        sight(b, i, 12.0, 13.0)->from.back = 0.01 * 0.01;
    assert_int_equal(merge(b), 1);
    assert_near(b->out.items[0].from.u_back, sqrt(1e-4 + 1e-6 / 4.0), 1e-12);
    assert_near(b->out.items[0].from.u, sqrt(1e-6 / 4.0), 1e-12);
    drop(b);
}

static void merge_takes_the_outermost_where_ends_disagree(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    sight(b, 0, 12.0, 13.0);
    sight(b, 1, 12.2, 13.0);
    assert_int_equal(merge(b), 1);
    assert_near(b->out.items[0].from.t, 12.0, 1e-12);
    assert_true(b->out.items[0].from.u_edge > 0.04);
    drop(b);
}

static void merge_prefers_an_end_that_was_read_through(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    sight(b, 0, 12.0, 12.9)->to.open = true;
    sight(b, 1, 12.0, 13.0);
    assert_int_equal(merge(b), 1);
    assert_false(b->out.items[0].to.open);
    assert_near(b->out.items[0].to.t, 13.0, 1e-12);
    drop(b);
    b = new_bench();
    /* The open one reaches clearly beyond: it still is open. */
    sight(b, 0, 12.0, 13.4)->to.open = true;
    sight(b, 1, 12.0, 13.0);
    assert_int_equal(merge(b), 1);
    assert_true(b->out.items[0].to.open);
    assert_near(b->out.items[0].to.t, 13.4, 1e-12);
    drop(b);
}

static void merge_crosses_a_short_unread_gap_only(void **unused)
{
    (void)unused;
    for (int far = 0; far < 2; far++) {
        bench *b = new_bench();
        dm_sighting *s = sight(b, 0, 4.0, 4.8);

        s->to.open = true;
        s = sight(b, 0, far ? 5.9 : 5.5, 6.5);
        s->from.open = true;
        s->strip = 1;
        s->index = 0.8;
        assert_int_equal(merge(b), far ? 2 : 1);
        if (far == 0) {
            assert_true(b->out.items[0].across_gap);
            assert_near(b->out.items[0].from.t, 4.0, 1e-12);
            assert_near(b->out.items[0].to.t, 6.5, 1e-12);
            assert_false(b->out.items[0].from.open);
            assert_false(b->out.items[0].to.open);
            assert_near(b->out.items[0].index, 0.8, 1e-12);
        }
        drop(b);
    }
}

static void merge_keeps_kinds_and_distant_places_apart(void **unused)
{
    bench *b = new_bench();
    dm_sighting *s;

    (void)unused;
    sight(b, 0, 2.0, 2.5);
    sight(b, 0, 2.6, 3.0); /* closer than the merge gap: one */
    sight(b, 0, 3.2, 3.4); /* further: another */
    s = sight(b, 1, 2.0, 2.5);
    s->kind = DM_KIND_SOFT_LIKE;
    s->index = -0.4;
    s = sight(b, 2, 2.1, 2.4);
    s->kind = DM_KIND_UNRESOLVED;
    s->index = -0.6;
    assert_int_equal(merge(b), 3);
    assert_int_equal(b->out.items[0].kind, DM_KIND_UNRESOLVED);
    /* The mean of -0.4 and -0.6, which are one line's and equally noisy; by
     * hand: they differ by 0.2, so that 0.1 is the uncertainty of the mean. */
    assert_near(b->out.items[0].index, -0.5, 1e-12);
    assert_near(b->out.items[0].index_u, 0.1, 1e-9);
    assert_int_equal(b->out.items[1].kind, DM_KIND_VOID_LIKE);
    assert_near(b->out.items[1].to.t, 3.0, 1e-12);
    assert_near(b->out.items[2].from.t, 3.2, 1e-12);
    drop(b);
}

static void merge_listens_to_reconciled_runs(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    sight(b, 0, 12.0, 13.0);
    sight(b, 1, 11.7, 12.7)->reconciled = false;
    sight(b, 1, 16.0, 16.5)->reconciled = false;
    assert_int_equal(merge(b), 2);
    assert_true(b->out.items[0].reconciled);
    assert_near(b->out.items[0].from.t, 12.0, 1e-12);
    assert_int_equal(b->out.items[0].run_count, 2);
    assert_false(b->out.items[1].reconciled);
    drop(b);
}

/* ---- grades and identity ---- */

static void grade_is_the_first_rule_that_matches(void **unused)
{
    const double nan = (double)NAN;
    dm_rule none = {.length_min = nan,
                    .length_max = nan,
                    .index_min = nan,
                    .area_fraction_min = nan,
                    .area_fraction_max = nan,
                    .volume_min = nan,
                    .within = nan};
    dm_rule r[5] = {none, none, none, none, none};
    dm_criteria c = {.rules = r, .rule_count = 5};
    dm_indication i = {.kind = DM_KIND_VOID_LIKE, .index = 0.5};

    (void)unused;
    for (size_t k = 0; k < 5; k++)
        r[k].grade = 10 + k;
    r[0].volume_min = 1e-3; /* not computed: never */
    r[1].has_kind = true;
    r[1].kind = DM_KIND_VOID_LIKE;
    r[1].open_ended = true;
    r[2].length_min = 0.4;
    r[3].index_min = 0.45;
    i.to.t = 0.2;
    dm_grade_indication(&c, &i);
    assert_int_equal(i.rule, 3);
    assert_int_equal(i.grade, 13);
    i.to.t = 0.5;
    dm_grade_indication(&c, &i);
    assert_int_equal(i.rule, 2);
    i.to.open = true;
    dm_grade_indication(&c, &i);
    assert_int_equal(i.rule, 1);
    i = (dm_indication){.kind = DM_KIND_SOFT_LIKE, .index = -0.3};
    dm_grade_indication(&c, &i);
    assert_int_equal(i.rule, 4);
    c.rule_count = 3;
    dm_grade_indication(&c, &i);
    assert_true(i.rule == DM_NONE && i.grade == DM_NONE);
}

/* `within` of the nearest, else 1 m; where there is no such place: never. */
static void grade_asks_for_the_position(void **unused)
{
    const double nan = (double)NAN;
    static const struct {
        const char *position;
        double within, distance;
        bool match;
    } rows[] = {{"anchorage", 2.0, 2.0, true},
                {"anchorage", 2.0, 2.01, false},
                {"crest", (double)NAN, 1.0, true},
                {"crest", (double)NAN, 1.01, false},
                {"deviator", 0.5, (double)NAN, false},
                {"deviator", 0.0, 0.0, true}};

    (void)unused;
    for (size_t k = 0; k < sizeof rows / sizeof *rows; k++) {
        dm_rule rule = {.length_min = nan,
                        .length_max = nan,
                        .index_min = nan,
                        .area_fraction_min = nan,
                        .area_fraction_max = nan,
                        .volume_min = nan,
                        .position = rows[k].position,
                        .within = rows[k].within};
        dm_criteria c = {.rules = &rule, .rule_count = 1};
        dm_indication i = {.kind = DM_KIND_VOID_LIKE, .index = 0.5};

        for (int at = 0; at < DM_AT_FREE; at++)
            i.position.distance[at] =
                strcmp(dm_position_text((dm_position_class)at),
                       rows[k].position) == 0
                    ? rows[k].distance
                    : 100.0 * rows[k].distance;
        dm_grade_indication(&c, &i);
        assert_int_equal(i.rule == 0, rows[k].match);
    }
}

static dm_entry entry(const char *uid, const char *key, double from, double to)
{
    return (dm_entry){.uid = uid,
                      .key = key,
                      .tendon = "T4L",
                      .kind = DM_KIND_VOID_LIKE,
                      .from = from,
                      .to = to,
                      .u_from = 0.01,
                      .u_to = 0.01,
                      .first_survey = "first",
                      .last_survey = "first",
                      .state = DM_STATE_CONFIRMED};
}

/* The expected uid: RFC 4122 section 4.3, computed with Python's uuid.uuid5
 * over the bridge's uid and "indication/T4L/void-like/spring/1". */
static void identity_without_register_is_named_by_station(void **unused)
{
    bench *b = new_bench();

    (void)unused;
    sight(b, 0, 12.0, 13.0);
    sight(b, 0, 3.0, 4.0);
    assert_int_equal(merge(b), 2);
    assert_int_equal(dm_identify(&b->f, NULL), DM_OK);
    assert_string_equal(b->out.items[0].key, "T4L-I01");
    assert_string_equal(b->out.items[1].key, "T4L-I02");
    assert_string_equal(b->out.items[0].uid,
                        "c98c26ff-a841-5b12-bdc9-9e0c33d3ba66");
    assert_string_equal(b->out.items[0].first_survey, "spring");
    assert_false(b->out.items[0].in_register);
    drop(b);
}

static void identity_is_kept_by_the_best_overlap(void **unused)
{
    dm_entry e[4] = {
        entry("00000000-0000-4000-8000-000000000001", "T4L-I01", 12.02, 13.01),
        entry("00000000-0000-4000-8000-000000000002", "T4L-I07", 12.9, 13.9),
        entry("00000000-0000-4000-8000-000000000003", "T4L-I03", 12.0, 13.0),
        entry("00000000-0000-4000-8000-000000000004", "T4L-I02", 17.0, 17.5)};
    dm_register reg = {.entries = e, .count = 4};
    dm_register *after = NULL;
    dm_result result = {NULL, NULL, NULL};
    bench *b = new_bench();

    (void)unused;
    e[2].kind = DM_KIND_SOFT_LIKE;
    sight(b, 0, 2.0, 2.5);
    sight(b, 0, 12.0, 13.0);
    assert_int_equal(merge(b), 2);
    assert_int_equal(dm_identify(&b->f, &reg), DM_OK);
    assert_string_equal(b->out.items[1].uid, e[0].uid);
    assert_string_equal(b->out.items[1].key, "T4L-I01");
    assert_string_equal(b->out.items[1].first_survey, "first");
    assert_int_equal(b->out.items[1].state, DM_STATE_CONFIRMED);
    /* New: the next number after the greatest ever used. */
    assert_string_equal(b->out.items[0].key, "T4L-I08");
    assert_false(b->out.items[0].in_register);

    result.indications = &b->out;
    assert_int_equal(
        dm_register_update(&b->model, &b->survey, &result, &reg, NULL, &after),
        DM_OK);
    assert_int_equal(after->count, 5);
    assert_string_equal(after->bridge, b->model.uid);
    assert_near(after->entries[0].from, 12.0, 1e-12);
    assert_string_equal(after->entries[0].last_survey, "spring");
    assert_string_equal(after->entries[0].first_survey, "first");
    assert_int_equal(after->entries[0].state, DM_STATE_CONFIRMED);
    assert_near(after->entries[3].from, 17.0, 1e-12);
    assert_string_equal(after->entries[3].last_survey, "first");
    assert_string_equal(after->entries[4].key, "T4L-I08");
    dm_register_free(after);
    drop(b);
}

static void identity_needs_overlap_within_the_uncertainties(void **unused)
{
    dm_entry e[1] = {
        entry("00000000-0000-4000-8000-000000000001", "T4L-I01", 13.2, 14.0)};
    dm_register reg = {.entries = e, .count = 1};
    bench *b = new_bench();

    (void)unused;
    sight(b, 0, 12.0, 13.0);
    merge(b);
    dm_identify(&b->f, &reg);
    assert_false(b->out.items[0].in_register);
    assert_string_equal(b->out.items[0].key, "T4L-I02");
    drop(b);
    b = new_bench();
    e[0].from = 13.05; /* 50 mm apart, within 2 u and half a footprint */
    sight(b, 0, 12.0, 13.0);
    merge(b);
    dm_identify(&b->f, &reg);
    assert_true(b->out.items[0].in_register);
    drop(b);
}

/* ---- index ---- */

static void reference_is_interpolated_round_the_clock(void **unused)
{
    const double deg = 3.14159265358979323846 / 180.0;
    dm_reference_point p[3] = {
        {0.0, 100.0}, {90.0 * deg, 200.0}, {270.0 * deg, 80.0}};
    dm_calibration c = {.reference = p, .reference_count = 3};

    (void)unused;
    assert_near(dm_reference_at(&c, 0.0), 100.0, 1e-9);
    assert_near(dm_reference_at(&c, 45.0 * deg), 150.0, 1e-9);
    assert_near(dm_reference_at(&c, 180.0 * deg), 140.0, 1e-9);
    assert_near(dm_reference_at(&c, 315.0 * deg), 90.0, 1e-9);
    p[0].clock = (double)NAN;
    c.reference_count = 1;
    assert_near(dm_reference_at(&c, 1.0), 100.0, 0.0);
}

static void gain_maps_the_checks_onto_the_calibration(void **unused)
{
    dm_reference_point p = {(double)NAN, 1500.0};
    dm_calibration c = {.air = 900.0, .reference = &p, .reference_count = 1};
    dm_event e[4] = {{.kind = DM_EVENT_CHECK,
                      .check = DM_CHECK_AIR,
                      .value = 930.0,
                      .channel = DM_NONE},
                     {.kind = DM_EVENT_CHECK,
                      .check = DM_CHECK_REFERENCE,
                      .value = 1600.0,
                      .channel = DM_NONE},
                     {.kind = DM_EVENT_CHECK,
                      .check = DM_CHECK_AIR,
                      .value = 950.0,
                      .channel = DM_NONE},
                     {.kind = DM_EVENT_CHECK,
                      .check = DM_CHECK_REFERENCE,
                      .value = 5000.0,
                      .channel = 3}};
    dm_run run = {.id = "R", .events = e, .event_count = 4};
    bench *b = new_bench();
    dm_gain g;

    (void)unused;
    assert_int_equal(dm_gain_of_run(&b->f, &run, 0, &c, 0.0, &g), DM_OK);
    assert_near(g.offset + g.gain * 940.0, 900.0, 1e-9);
    assert_near(g.offset + g.gain * 1600.0, 1500.0, 1e-9);
    run.event_count = 1; /* air alone: offset */
    assert_int_equal(dm_gain_of_run(&b->f, &run, 0, &c, 0.0, &g), DM_OK);
    assert_near(g.gain, 1.0, 0.0);
    assert_near(g.offset, -30.0, 1e-9);
    run.event_count = 2;
    e[1].value = 1000.0; /* a gain of 600 / 70 */
    assert_int_equal(dm_gain_of_run(&b->f, &run, 0, &c, 0.0, &g), DM_RANGE);
    drop(b);
}

/* By hand: groups 930 and 966 of air 600 apart from the reference. */
static void drift_is_between_checks_that_readings_lie_between(void **unused)
{
    dm_reference_point p = {(double)NAN, 1500.0};
    dm_calibration c = {.air = 900.0, .reference = &p, .reference_count = 1};
    dm_event check = {
        .kind = DM_EVENT_CHECK, .check = DM_CHECK_AIR, .channel = DM_NONE};
    dm_event e[6] = {check, check, {.kind = DM_EVENT_READINGS},
                     check, check, check};
    dm_run run = {.id = "R", .events = e, .event_count = 6};
    dm_gain g = {1.0, 0.0};

    (void)unused;
    e[0].value = 920.0;
    e[1].value = 940.0;
    e[3].value = e[4].value = 966.0;
    e[5].check = DM_CHECK_REFERENCE;
    e[5].value = 1200.0;
    assert_near(dm_drift_of_run(&run, 0, &c, 0.0, &g), 36.0 / 600.0, 1e-12);
    g.gain = 1.5;
    assert_near(dm_drift_of_run(&run, 0, &c, 0.0, &g), 54.0 / 600.0, 1e-12);
    e[3].channel = e[4].channel = 1; /* of another channel */
    assert_true(isnan(dm_drift_of_run(&run, 0, &c, 0.0, &g)));
    run.event_count = 2;
    assert_true(isnan(dm_drift_of_run(&run, 1, &c, 0.0, &g)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cover_without_readings_names_supports_and_fixtures),
        cmocka_unit_test(cover_best_state_of_all_lines_wins),
        cmocka_unit_test(cover_of_steel_is_named),
        cmocka_unit_test(cover_always_sums_to_the_length),
        cmocka_unit_test(cover_of_a_line_is_its_own),
        cmocka_unit_test(cover_bounds_are_whole_micrometres),
        cmocka_unit_test(cover_reaches_as_far_as_the_body),
        cmocka_unit_test(cover_of_a_line_has_only_what_lies_on_it),
        cmocka_unit_test(cover_names_every_reason),
        cmocka_unit_test(cover_words_differ),
        cmocka_unit_test(merge_of_repeats_is_the_weighted_mean),
        cmocka_unit_test(merge_does_not_average_shared_station_errors),
        cmocka_unit_test(merge_takes_the_outermost_where_ends_disagree),
        cmocka_unit_test(merge_prefers_an_end_that_was_read_through),
        cmocka_unit_test(merge_crosses_a_short_unread_gap_only),
        cmocka_unit_test(merge_keeps_kinds_and_distant_places_apart),
        cmocka_unit_test(merge_listens_to_reconciled_runs),
        cmocka_unit_test(grade_is_the_first_rule_that_matches),
        cmocka_unit_test(grade_asks_for_the_position),
        cmocka_unit_test(identity_without_register_is_named_by_station),
        cmocka_unit_test(identity_is_kept_by_the_best_overlap),
        cmocka_unit_test(identity_needs_overlap_within_the_uncertainties),
        cmocka_unit_test(reference_is_interpolated_round_the_clock),
        cmocka_unit_test(gain_maps_the_checks_onto_the_calibration),
        cmocka_unit_test(drift_is_between_checks_that_readings_lie_between),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
