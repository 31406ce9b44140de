/* SPDX-License-Identifier: MIT
 * One place in other words, there and back: closed forms, and random tendons
 * along a curved alignment. Invented. */
#include "ductmark/locate.h"

#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "solved.h"

#define PI 3.14159265358979323846

/* ---- a tendon along a curve --------------------------------------------- */

/* Straight, entry clothoid, arc to the right, exit clothoid, and an arc to the
 * left behind them; far out, as map coordinates are. */
static double curve(dm_horizontal h[6], dm_alignment *line)
{
    const double k = 1.0 / 250.0;
    const dm_horizontal elements[6] = {
        {.length = 30},
        {.length = 60, .k1 = k},
        {.length = 40, .k0 = k, .k1 = k},
        {.length = 50, .k0 = k, .k1 = -1.0 / 400.0},
        {.length = 60, .k0 = -1.0 / 400.0, .k1 = -1.0 / 400.0},
        {.length = 40, .k0 = -1.0 / 400.0}};
    memcpy(h, elements, sizeof elements);
    *line = (dm_alignment){.horizontal = h, .horizontal_count = 6};
    line->begin = 100.0;
    line->end = dm_alignment_chain(h, 6, 100.0, 3000.0, 5000.0, 0.7);
    return line->end;
}

enum { POINTS = 7, FACES = 4 };

/* Everything lives in the struct: keep it where it is. */
typedef struct {
    dm_model model;
    dm_tendon tendon;
    dm_alignment line;
    dm_horizontal horizontal[6];
    dm_segment segments[2 * POINTS - 3];
    dm_duct_type ducts[2];
    dm_duct_length length;
    dm_face faces[FACES];
} bridge;

static double between(double a, double b)
{
    return a + (b - a) * ((double)rand() / (double)RAND_MAX);
}

static void put_face(bridge *b, size_t i, double t)
{
    static const char *const ids[FACES] = {"F0", "F1", "F2", "F3"};
    dm_side side = i % 2 ? DM_SIDE_BACK : DM_SIDE_AHEAD;
    dm_face *f = &b->faces[i];
    dm_vec3 along = dm_centreline_tangent(&b->tendon.line, t);

    *f = (dm_face){.id = ids[i], .side = side, .touchable = true, .t = t};
    f->origin = dm_centreline_point(&b->tendon.line, t);
    f->normal = dm_vec3_unit(
        (dm_vec3){(double)side * along.x, (double)side * along.y, 0});
}

/* A tendon of random height and offset, ahead all the way. */
static void bridge_random(bridge *b)
{
    dm_vec3 points[POINTS];
    double radius[POINTS];
    size_t arc_of[POINTS], where;

    memset(b, 0, sizeof *b);
    curve(b->horizontal, &b->line);
    for (size_t i = 0; i < POINTS; i++) {
        double s = 120.0 + 30.0 * (double)i + between(-8, 8);
        points[i] = dm_alignment_point(&b->line, s, between(-4, 4),
                                       between(98.0, 100.5));
        radius[i] = between(2.5, 9.0);
    }
    assert_int_equal(dm_centreline_build(points, radius, POINTS, b->segments,
                                         arc_of, &b->tendon.line, &where),
                     DM_POLYGON_OK);
    b->ducts[0] = (dm_duct_type){.id = "D", .material = "hdpe", .od = 0.1143};
    b->length = (dm_duct_length){.to = b->tendon.line.length};
    b->tendon.id = "T";
    b->tendon.part = DM_NONE;
    b->tendon.faces = b->faces;
    b->tendon.face_count = FACES;
    b->tendon.ducts = &b->length;
    b->tendon.duct_count = 1;
    for (size_t i = 0; i < FACES; i++)
        put_face(b, i, b->tendon.line.length * (0.02 + 0.32 * (double)i));
    b->model = (dm_model){.id = "B",
                          .alignment = &b->line,
                          .duct_types = b->ducts,
                          .duct_type_count = 1,
                          .tendons = &b->tendon,
                          .tendon_count = 1};
    b->model.map = (dm_map_conversion){.given = true,
                                       .eastings = 512000.25,
                                       .northings = 5400000.5,
                                       .height = 12.0,
                                       .x_axis_abscissa = 0.8,
                                       .x_axis_ordinate = 0.6,
                                       .scale = 0.99988};
}

/* ---- from a station to all others and back ------------------------------ */

static void back_from_space(const bridge *b, const dm_located *at)
{
    dm_locate_near near = dm_locate_nearest(&b->model, DM_NONE, at->axis, NULL);
    assert_int_equal(near.tendon, 0);
    assert_near(near.t, at->t, 1e-9);
    assert_near(near.distance, 0, 1e-9);
    near = dm_locate_nearest(&b->model, 0, at->outside, NULL);
    assert_near(near.t, at->t, 1e-9);
    assert_near(near.distance, 0.05715, 1e-9);
    assert_near(near.clear, 0, 1e-9);
    assert_near(fabs(remainder(near.clock - at->clock, 2.0 * PI)), 0, 2e-8);
    dm_vec3 p = dm_alignment_point(&b->line, at->bridge.station,
                                   at->bridge.offset, at->axis.z);
    assert_near(dm_vec3_norm(dm_vec3_sub(p, at->axis)), 0, 4e-9);
    p = dm_map_inverse(&b->model.map, at->map);
    assert_near(dm_vec3_norm(dm_vec3_sub(p, at->axis)), 0, 4e-9);
}

static void back_from_measures(const bridge *b, const dm_located *at)
{
    double t[4];

    assert_int_equal(
        dm_locate_bridge_station(&b->model, 0, at->bridge.station, t, 4), 1);
    assert_near(t[0], at->t, 2e-9);
    const dm_locate_tape *tapes[2] = {&at->back, &at->ahead};
    for (int i = 0; i < 2; i++) {
        if (tapes[i]->face == DM_NONE)
            continue;
        assert_near(dm_locate_tape_end(&b->model, 0, tapes[i]->face,
                                       tapes[i]->measure, at->clock, NULL),
                    at->t, 1e-9);
    }
}

static void there_and_back_on_random_tendons(void **state)
{
    (void)state;
    srand(7);
    for (int n = 0; n < 40; n++) {
        bridge b;
        bridge_random(&b);
        for (int i = 0; i < 50; i++) {
            double t = between(0, b.tendon.line.length);
            dm_located at =
                dm_locate_place(&b.model, 0, t, between(0, 2 * PI), NULL);
            assert_true(at.inside && at.bridge.known);
            back_from_space(&b, &at);
            back_from_measures(&b, &at);
        }
    }
}

/* Joints of segments are answered once, ends too. */
static void bridge_station_of_a_joint_is_found_once(void **state)
{
    bridge b;

    (void)state;
    srand(8);
    bridge_random(&b);
    for (size_t i = 0; i <= b.tendon.line.count; i++) {
        double t =
            i < b.tendon.line.count ? b.segments[i].t0 : b.tendon.line.length;
        dm_located at = dm_locate_place(&b.model, 0, t, (double)NAN, NULL);
        double back = -1;
        assert_int_equal(
            dm_locate_bridge_station(&b.model, 0, at.bridge.station, &back, 1),
            1);
        assert_near(back, t, 2e-9);
    }
    dm_located first = dm_locate_place(&b.model, 0, 0, (double)NAN, NULL);
    assert_int_equal(dm_locate_bridge_station(
                         &b.model, 0, first.bridge.station - 1e-3, NULL, 0),
                     0);
}

/* A level half circle across the bridge's way meets a bridge station twice: at
 * asin and pi - asin of the arc (closed form). */
static void bridge_station_met_twice_is_told(void **state)
{
    dm_horizontal h = {.length = 100};
    dm_alignment line = {.horizontal = &h, .horizontal_count = 1, .end = 100};
    dm_segment arc = {0.0, 10.0 * PI, {20, 0, 1}, {1, 0, 0}, 0.1, {0, 1, 0}};
    bridge b;
    double t[2];

    (void)state;
    dm_alignment_chain(&h, 1, 0, 0, 0, 0.5 * PI);
    srand(9);
    bridge_random(&b);
    b.model.alignment = &line;
    b.tendon.line = (dm_centreline){.segments = &arc, .count = 1};
    b.tendon.line.length = arc.length;
    assert_int_equal(dm_locate_bridge_station(&b.model, 0, 25, t, 2), 2);
    assert_near(t[0], 10 * asin(0.5), 1e-12);
    assert_near(t[1], 10 * (PI - asin(0.5)), 1e-12);
    assert_int_equal(dm_locate_bridge_station(&b.model, 0, 25, t, 1), 2);
    assert_int_equal(dm_locate_bridge_station(&b.model, 0, 30.001, t, 2), 0);
}

/* A ring road: the plane square to the line at one side of the circle meets a
 * tendon on the other side, which has another bridge station. */
static void other_side_of_the_centre_is_not_met(void **state)
{
    dm_horizontal h = {.length = 100, .k0 = 0.04, .k1 = 0.04};
    dm_alignment line = {.horizontal = &h, .horizontal_count = 1, .end = 100};
    dm_segment leg = {0.0, 4.0, {48, 50, 1}, {1, 0, 0}, 0.0, {0, 0, 0}};
    bridge b;
    double t;

    (void)state;
    /* Begins at the origin towards north and turns right about (25, 0). */
    dm_alignment_chain(&h, 1, 0, 0, 0, 0);
    srand(10);
    bridge_random(&b);
    b.model.alignment = &line;
    b.tendon.line = (dm_centreline){.segments = &leg, .count = 1, .length = 4};
    leg.begin = (dm_vec3){50, -2, 1};
    leg.tangent = (dm_vec3){0, 1, 0};
    assert_int_equal(dm_locate_bridge_station(&b.model, 0, 0, &t, 1), 0);
    /* Half way round: at (50, 0), where the tendon is 2 m along. */
    assert_int_equal(dm_locate_bridge_station(&b.model, 0, 25 * PI, &t, 1), 1);
    assert_near(t, 2, 1e-9);
}

static void no_alignment_has_no_bridge_station(void **state)
{
    survey_fixture f;
    double t;

    (void)state;
    two_faces(&f, 0.01);
    assert_int_equal(dm_locate_bridge_station(&f.model, 0, 5, &t, 1), 0);
    assert_false(dm_locate_place(&f.model, 0, 5, 0, NULL).bridge.known);
    survey_fixture_end(&f);
}

/* ---- published and closed forms ----------------------------------------- */

static dm_model *two_deviators(void)
{
    dm_model *m = NULL;

    assert_int_equal(dm_model_read(DM_TEST_GEOMETRY
                                   "/reference/two_deviators.xml",
                                   NULL, &m),
                     DM_OK);
    return m;
}

/* Case C3 of tests/vectors/centreline.vec (arcs after US Army FM 5-233,
 * chapter 3; computed independently with mpmath): points at 20 m and 50 mm into
 * the first bend. The vector gives eleven decimals or ten. */
static void reference_points_are_found(void **state)
{
    dm_model *m = two_deviators();
    const dm_vec3 at20 = {19.89715196121, 0.3, 0.45};
    const dm_vec3 bend = {11.85480469215, 0.2962902610696, 0.4691669844735};

    (void)state;
    dm_locate_near near = dm_locate_nearest(m, 0, at20, NULL);
    assert_near(near.t, 20, 2e-11);
    near = dm_locate_nearest(m, DM_NONE, bend, NULL);
    assert_near(near.t, 11.9069095970041 + 0.05, 2e-11);
    assert_near(near.distance, 0, 2e-11);
    dm_located at = dm_locate_place(m, 0, 20, (double)NAN, NULL);
    assert_near(dm_vec3_norm(dm_vec3_sub(at.axis, at20)), 0, 2e-11);
    assert_true(isnan(at.outside.x) && isnan(at.clock));
    dm_model_free(m);
}

/* A straight level duct of 0.1 m along X: everything can be said. */
static void straight_duct_says_all(void **state)
{
    survey_fixture f;

    (void)state;
    survey_fixture_init(&f, (const double[]){1, 10, 12, 30}, 4, 0.01);
    f.faces[2].touchable = false;
    dm_located at = dm_locate_place(&f.model, 0, 4, 0.5 * PI, NULL);
    assert_near(at.outside.y, -0.05, 1e-15);
    assert_near(at.outside.x, 4, 1e-15);
    assert_int_equal(at.back.face, 0);
    assert_near(at.back.measure, 3, 1e-12);
    assert_int_equal(at.ahead.face, 1);
    assert_near(at.ahead.measure, 6, 1e-12);
    /* Between 10, which looks back, and 30: the tape from 10 would go into
     * the concrete. */
    at = dm_locate_place(&f.model, 0, 14, (double)NAN, NULL);
    assert_int_equal(at.back.face, 1);
    assert_near(at.back.measure, -4, 1e-12);
    assert_near(dm_locate_tape_end(&f.model, 0, 1, -4, 0, NULL), 14, 1e-12);
    at = dm_locate_place(&f.model, 0, 0.5, (double)NAN, NULL);
    assert_int_equal(at.back.face, DM_NONE);
    assert_true(isnan(at.back.measure));
    assert_true(at.inside);
    assert_false(dm_locate_place(&f.model, 0, 41, 0, NULL).inside);
    survey_fixture_end(&f);
}

static void change_of_diameter_comes_back(void **state)
{
    dm_model *m = two_deviators();
    dm_duct_length lengths[2];
    dm_duct_type types[2] = {{.id = "A", .od = 0.1143},
                             {.id = "B", .od = 0.09}};

    (void)state;
    dm_tendon *n = &m->tendons[0];
    const double radii[5] = {0.05715, 0.05715, 0.045, 0.045, 0.045};
    assert_int_equal(n->line.count, 5);
    n->line.outside_radius = radii;
    lengths[0] = (dm_duct_length){.from = 0, .to = 13, .duct_type = 0};
    lengths[1] =
        (dm_duct_length){.from = 13, .to = n->line.length, .duct_type = 1};
    n->ducts = lengths;
    n->duct_count = 2;
    m->duct_types = types;
    m->duct_type_count = 2;
    for (double t = 0.9; t < 39.5; t += 0.37) {
        dm_located at = dm_locate_place(m, 0, t, PI, NULL);
        assert_near(
            dm_locate_tape_end(m, 0, at.back.face, at.back.measure, PI, NULL),
            t, 1e-9);
        assert_near(
            dm_locate_tape_end(m, 0, at.ahead.face, at.ahead.measure, PI, NULL),
            t, 1e-9);
    }
    dm_model_free(m);
}

static void second_nearest_is_told(void **state)
{
    survey_fixture f;
    dm_tendon tendons[3];
    dm_segment legs[3];
    dm_locate_near second;

    (void)state;
    two_faces(&f, 0.01);
    for (int i = 0; i < 3; i++) {
        tendons[i] = f.tendon;
        legs[i] = f.segment;
        legs[i].begin.y = 0.4 * i;
        tendons[i].line.segments = &legs[i];
    }
    f.model.tendons = tendons;
    f.model.tendon_count = 3;
    dm_vec3 p = {7, 0.55, 0.1};
    dm_locate_near near = dm_locate_nearest(&f.model, DM_NONE, p, &second);
    assert_int_equal(near.tendon, 1);
    assert_near(near.distance, hypot(0.15, 0.1), 1e-12);
    assert_near(near.clear, hypot(0.15, 0.1) - 0.05, 1e-12);
    /* Looking along X, north lies to the left. */
    assert_near(near.clock, 2 * PI - atan2(0.15, 0.1), 1e-12);
    assert_int_equal(second.tendon, 2);
    assert_near(second.distance, hypot(0.25, 0.1), 1e-12);
    near = dm_locate_nearest(&f.model, 0, p, &second);
    assert_int_equal(near.tendon, 0);
    assert_int_equal(second.tendon, DM_NONE);
    survey_fixture_end(&f);
}

/* What is passed over unseen is never the nearest or the second. */
static void nearest_of_all_is_that_of_each(void **state)
{
    enum { COUNT = 12 };
    static bridge b[COUNT];
    dm_tendon tendons[COUNT];

    (void)state;
    srand(12);
    for (int i = 0; i < COUNT; i++) {
        bridge_random(&b[i]);
        /* Some hang through: the last segment may be an arc too. */
        for (size_t k = 0; i % 3 == 0 && k < b[i].tendon.line.count; k++) {
            b[i].segments[k].length *= 0.5;
            b[i].segments[k].kappa += 0.01;
            b[i].segments[k].normal = (dm_vec3){0, 0, 1};
        }
        tendons[i] = b[i].tendon;
    }
    b[0].model.tendons = tendons;
    b[0].model.tendon_count = COUNT;
    for (int n = 0; n < 2000; n++) {
        dm_vec3 p = dm_alignment_point(&b[0].line, between(90, 390),
                                       between(-9, 9), between(90, 110));
        double best = HUGE_VAL, next = HUGE_VAL;
        for (size_t i = 0; i < COUNT; i++) {
            double d = dm_locate_nearest(&b[0].model, i, p, NULL).distance;
            next = fmin(next, fmax(d, best));
            best = fmin(best, d);
        }
        dm_locate_near second;
        dm_locate_near near =
            dm_locate_nearest(&b[0].model, DM_NONE, p, &second);
        assert_near(near.distance, best, 0);
        assert_near(second.distance, next, 0);
    }
}

/* ---- run distances ------------------------------------------------------ */

typedef struct {
    survey_fixture f;
    const dm_stations *stations;
    dm_locate_runs *runs;
} book;

static void book_solve(book *b)
{
    for (size_t i = 0; i < 2; i++)
        b->f.instruments[i].channel_count = 1;
    solve(&b->f);
    b->stations = b->f.stations;
    assert_int_equal(
        dm_locate_runs_new(&b->f.model, &b->f.survey, &b->stations, &b->runs),
        DM_OK);
}

static void book_end(book *b)
{
    dm_locate_runs_free(b->runs);
    survey_fixture_end(&b->f);
}

/* From 0 to 4, a metre skipped, on from there: the gap has no run distance,
 * and the run distance of the skip has two places. */
static void book_with_skip(book *b)
{
    two_faces(&b->f, 0);
    b->f.channels[0][0].lead = 0.02;
    survey_fixture_start(&b->f, 0, 0, 0);
    survey_fixture_readings(&b->f);
    survey_fixture_skip(&b->f, 4, 1, 0);
    survey_fixture_readings(&b->f);
    survey_fixture_tie(&b->f, 9, 1, 0);
    b->f.events[0][1].rows_from = -(double)INFINITY;
    b->f.events[0][1].rows_to = 4;
    b->f.events[0][3].rows_from = 4;
    b->f.events[0][3].rows_to = (double)INFINITY;
    book_solve(b);
}

static void run_distances_go_both_ways(void **state)
{
    book b = {0};
    dm_station_point p;
    dm_locate_reading r[2];

    (void)state;
    book_with_skip(&b);
    for (double x = 0.3; x < 12; x += 0.7) {
        assert_int_equal(
            dm_locate_run_distance(b.runs, 0, NULL, DM_NONE, x, &p),
            DM_LOCATE_OK);
        assert_near(p.t, x + 0.02 + (x > 4 ? 1 : 0), 1e-6);
        assert_true(p.world >= 0);
        assert_int_equal(
            dm_locate_readings(b.runs, 0, DM_NONE, DM_NONE, p.t, r, 2), 1);
        assert_near(r[0].x, x, 1e-9);
        assert_int_equal(r[0].run, 0);
        assert_int_equal(r[0].event, x > 4 ? 3 : 1);
    }
    book_end(&b);
}

static void skipped_length_has_no_run_distance(void **state)
{
    book b = {0};
    dm_station_point p;

    (void)state;
    book_with_skip(&b);
    assert_int_equal(dm_locate_readings(b.runs, 0, 0, DM_NONE, 4.5, NULL, 0),
                     0);
    /* Before the start, beyond the tendon, of another run. */
    assert_int_equal(dm_locate_readings(b.runs, 0, 0, DM_NONE, 0.01, NULL, 0),
                     0);
    assert_int_equal(dm_locate_readings(b.runs, 0, 0, DM_NONE, 41, NULL, 0), 0);
    assert_int_equal(dm_locate_readings(b.runs, 0, 1, DM_NONE, 2, NULL, 0), 0);
    assert_int_equal(dm_locate_run_distance(b.runs, 0, NULL, DM_NONE, 4, &p),
                     DM_LOCATE_WHICH_SEGMENT);
    assert_int_equal(dm_locate_run_distance(b.runs, 0, "s9", DM_NONE, 2, &p),
                     DM_LOCATE_NO_SEGMENT);
    b.f.instruments[0].channel_count = 2;
    assert_int_equal(dm_locate_run_distance(b.runs, 0, NULL, DM_NONE, 2, &p),
                     DM_LOCATE_WHICH_CHANNEL);
    assert_int_equal(dm_locate_run_distance(b.runs, 0, NULL, 1, 2, &p),
                     DM_LOCATE_OK);
    assert_near(p.t, 2, 1e-6); /* its lead is 0 */
    book_end(&b);
}

/* Two segments with the same run distances; two runs over one place. */
static void segments_tell_parts_of_a_run(void **state)
{
    book b = {0};
    dm_station_point p;
    dm_locate_reading r[3];

    (void)state;
    two_faces(&b.f, 0);
    survey_fixture_start(&b.f, 0, 0, 0);
    survey_fixture_readings(&b.f);
    survey_fixture_event(&b.f, DM_EVENT_REZERO, 6)->x_resume = 0;
    survey_fixture_readings(&b.f);
    survey_fixture_tie(&b.f, 4, 1, 0);
    for (int i = 1; i < 4; i += 2) {
        b.f.events[0][i].segment = i == 1 ? "a" : "b";
        b.f.events[0][i].rows_from = b.f.events[0][i].rows_to = (double)NAN;
    }
    survey_fixture_run(&b.f);
    survey_fixture_start(&b.f, 2, 0, 0);
    survey_fixture_readings(&b.f);
    b.f.events[1][1].rows_from = b.f.events[1][1].rows_to = (double)NAN;
    book_solve(&b);
    assert_int_equal(dm_locate_run_distance(b.runs, 0, "", DM_NONE, 3, &p),
                     DM_LOCATE_WHICH_SEGMENT);
    assert_int_equal(dm_locate_run_distance(b.runs, 0, "b", DM_NONE, 3, &p),
                     DM_LOCATE_OK);
    assert_near(p.t, 9, 1e-6);
    assert_int_equal(dm_locate_readings(b.runs, 0, DM_NONE, DM_NONE, p.t, r, 3),
                     2);
    assert_near(r[0].x, 3, 1e-9);
    assert_int_equal(r[0].event, 3);
    assert_int_equal(r[1].run, 1);
    assert_near(r[1].x, 11, 1e-6);
    book_end(&b);
}

static void no_memory_is_told(void **state)
{
    book b = {0};
    dm_station_point p;
    dm_locate_runs *runs;

    (void)state;
    book_with_skip(&b);
    allocfail_arm(1);
    dm_status status =
        dm_locate_runs_new(&b.f.model, &b.f.survey, &b.stations, &runs);
    assert_true(allocfail_disarm());
    assert_int_equal(status, DM_NOMEM);
    assert_null(runs);
    allocfail_arm(1);
    dm_locate_fault fault =
        dm_locate_run_distance(b.runs, 0, NULL, DM_NONE, 2, &p);
    assert_true(allocfail_disarm());
    assert_int_equal(fault, DM_LOCATE_NOMEM);
    assert_int_equal(dm_locate_run_distance(b.runs, 0, NULL, DM_NONE, 2, &p),
                     DM_LOCATE_OK);
    book_end(&b);
}

static void unplaced_run_is_unusable(void **state)
{
    book b = {0};
    dm_station_point p;
    const dm_stations *none = NULL;
    dm_locate_runs *runs;

    (void)state;
    book_with_skip(&b);
    assert_int_equal(dm_locate_runs_new(&b.f.model, &b.f.survey, &none, &runs),
                     DM_OK);
    assert_int_equal(dm_locate_run_distance(runs, 0, NULL, DM_NONE, 2, &p),
                     DM_LOCATE_UNUSABLE);
    assert_int_equal(dm_locate_readings(runs, 0, DM_NONE, DM_NONE, 2, NULL, 0),
                     0);
    dm_locate_runs_free(runs);
    dm_locate_runs_free(NULL);
    book_end(&b);
}

/* As tap points do: a tape starts where the distances put its face. */
static void faces_moved_by_the_distances_move_the_tape(void **state)
{
    survey_fixture f;

    (void)state;
    two_faces(&f, 0.015);
    survey_fixture_start(&f, 0, 0, 0);
    survey_fixture_tie(&f, 10.02, 1, 0);
    survey_fixture_readings(&f);
    solve(&f);
    dm_located drawn = dm_locate_place(&f.model, 0, 4, 0, NULL);
    dm_located solved = dm_locate_place(&f.model, 0, 4, 0, f.stations);
    double shift = f.stations->face_shift[0];
    assert_true(fabs(shift) > 1e-3);
    assert_near(solved.back.measure, drawn.back.measure - shift, 1e-12);
    assert_near(
        dm_locate_tape_end(&f.model, 0, 0, solved.back.measure, 0, f.stations),
        4, 1e-12);
    survey_fixture_end(&f);
}

/* ---- map coordinates ---------------------------------------------------- */

/* IfcMapConversion (ISO 16739-1): turned by the direction of X, then scaled,
 * then moved. A quarter turn can be said without a computer; 3-4-5 gives a
 * turn without rounding. */
static void map_turns_scales_and_moves(void **state)
{
    dm_map_conversion map = {.given = true,
                             .eastings = 1000,
                             .northings = 2000,
                             .height = 10,
                             .x_axis_ordinate = 1,
                             .scale = 2};
    (void)state;
    dm_vec3 p = dm_map_point(&map, (dm_vec3){3, 4, 5});
    assert_near(p.x, 1000 - 8, 1e-12);
    assert_near(p.y, 2000 + 6, 1e-12);
    assert_near(p.z, 20, 1e-12);
    map.x_axis_abscissa = 0.8;
    map.x_axis_ordinate = 0.6;
    map.scale = 1;
    p = dm_map_point(&map, (dm_vec3){10, 5, 0});
    assert_near(p.x, 1000 + 8 - 3, 1e-12);
    assert_near(p.y, 2000 + 6 + 4, 1e-12);
    p = dm_map_inverse(&map, p);
    assert_near(p.x, 10, 1e-12);
    assert_near(p.y, 5, 1e-12);
    map.given = false;
    p = dm_map_point(&map, (dm_vec3){10, 5, 1});
    assert_near(p.x, 10, 0);
    p = dm_map_inverse(&map, (dm_vec3){10, 5, 1});
    assert_near(p.y, 5, 0);
}

/* Grid against ground: a factor of 0.99988 takes 4.8 mm from 40 m
 * (40 x 0.00012, computed). */
static void grid_factor_shortens(void **state)
{
    const dm_map_conversion map = {.given = true,
                                   .eastings = 609601.2192,
                                   .northings = 4000000,
                                   .x_axis_abscissa = 0.6,
                                   .x_axis_ordinate = -0.8,
                                   .scale = 0.99988};
    (void)state;
    dm_vec3 a = dm_map_point(&map, (dm_vec3){2, 3, 1});
    dm_vec3 b = dm_map_point(&map, (dm_vec3){2 + 24, 3 + 32, 1});
    assert_near(dm_vec3_norm(dm_vec3_sub(b, a)), 40 - 0.0048, 4e-9);
    /* Back, to four units in the last place at 4000 km. */
    b = dm_map_inverse(&map, b);
    assert_near(b.x, 26, 4e-9);
    assert_near(b.y, 35, 4e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(there_and_back_on_random_tendons),
        cmocka_unit_test(bridge_station_of_a_joint_is_found_once),
        cmocka_unit_test(bridge_station_met_twice_is_told),
        cmocka_unit_test(other_side_of_the_centre_is_not_met),
        cmocka_unit_test(no_alignment_has_no_bridge_station),
        cmocka_unit_test(reference_points_are_found),
        cmocka_unit_test(straight_duct_says_all),
        cmocka_unit_test(change_of_diameter_comes_back),
        cmocka_unit_test(second_nearest_is_told),
        cmocka_unit_test(nearest_of_all_is_that_of_each),
        cmocka_unit_test(run_distances_go_both_ways),
        cmocka_unit_test(skipped_length_has_no_run_distance),
        cmocka_unit_test(segments_tell_parts_of_a_run),
        cmocka_unit_test(no_memory_is_told),
        cmocka_unit_test(unplaced_run_is_unusable),
        cmocka_unit_test(faces_moved_by_the_distances_move_the_tape),
        cmocka_unit_test(map_turns_scales_and_moves),
        cmocka_unit_test(grid_factor_shortens),
    };
    return cmocka_run_group_tests_name("locate", tests, NULL, NULL);
}
