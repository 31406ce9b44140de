/* SPDX-License-Identifier: MIT
 * Low clearance in a survey plan: a level tendon along X under invented boxes,
 * with sums that can be done by hand; and what JSON, CSV and the field book say
 * of it. */
#define _POSIX_C_SOURCE 200809L
#include "allocfail.h"
#include "model_text.h"
#include "scratch.h"
#include "write/plan.h"

#define PI 3.14159265358979323846

/* 20 m at z = 2 m, faces at 1 and 19 m, outside radius 50 mm; a collar from 14
 * to 14.2 m. */
static const char bridge[] =
    "<bridge version='1' uid='6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c021' id='L' "
    "name='level (invented)'>"
    "<duct-type id='D' od='100 mm' wall='6 mm' material='hdpe'/>"
    "<tendon id='T--1'><anchorage id='A1' x='0 m' y='0 m' z='2 m'>"
    "<face id='F1' side='ahead' offset='1 m'/></anchorage>"
    "<anchorage id='A2' x='20 m' y='0 m' z='2 m'>"
    "<face id='F2' side='back' offset='1 m'/></anchorage>"
    "<duct-length duct-type='D'/>"
    "<fixture id='C' kind='collar' from='14 m' to='14.2 m'/>"
    "</tendon></bridge>";

/* A tray from 8 to 9 m over the crown, underside at `height` over the outside;
 * `more` behind it. */
static dm_context *mesh_over(double height, const char *more)
{
    dm_context_source source = {0};
    dm_context *c = NULL;
    char text[2048];
    scratch files;

    snprintf(text, sizeof text,
             "g tray\nv 8 -0.1 %.9f\nv 9 -0.1 %.9f\nv 9 0.1 %.9f\n"
             "v 8 0.1 %.9f\nf 1 2 3 4\n%s",
             2.05 + height, 2.05 + height, 2.05 + height, 2.05 + height, more);
    scratch_init(&files);
    source.path = scratch_file(&files, "girder.obj", text);
    assert_int_equal(dm_context_read(&source, 1, NULL, NULL, &c), DM_OK);
    scratch_free(&files);
    return c;
}

/* A wall from 7 to 13 m on the left, 30 mm off the duct: 9:00 has no room, nor
 * has the clock line next to it. */
#define LEFT_WALL                                                              \
    "g web\nv 7 0.08 1\nv 13 0.08 1\nv 13 0.08 3\nv 7 0.08 3\nf 5 6 7 8\n"
/* From the duct outwards all round, square to it, at 17 m. */
#define SHEET "g sheet\nv 17 -1 2\nv 17 1 2\nv 17 1 3\nv 17 -1 3\nf 5 6 7 8\n"

typedef struct {
    dm_model *model;
    dm_channel channel[2];
    dm_instrument in;
    dm_context *context;
    dm_plan *plan;
    dm_plan_output output;
} site;

/* Nose 0.2, tail 0.1, electrode 0.04 before the contact, 60 mm wide and high.
 */
static dm_plan *plan_it(site *s, dm_context *context, const double *clocks,
                        size_t count)
{
    dm_buf text = {0};
    dm_factors f = dm_factors_default();
    dm_plan_room room = {context, &s->in};

    memset(s, 0, sizeof *s);
    dm_buf_puts(&text, bridge);
    s->model = model_of_text(&text);
    dm_buf_free(&text);
    s->channel[0] = (dm_channel){.id = "CH",
                                 .lead = 0.04,
                                 .footprint_along = 0.1,
                                 .footprint_around = 0.06};
    s->in = (dm_instrument){.id = "I",
                            .nose = 0.2,
                            .tail = 0.1,
                            .body_height = 0.06,
                            .channels = s->channel,
                            .channel_count = 1};
    s->context = context;
    dm_factors_instrument(&f, &s->in);
    assert_int_equal(
        dm_plan_make(s->model, &f, clocks, count, &room, NULL, &s->plan),
        DM_OK);
    s->output = (dm_plan_output){
        .plan = s->plan, .model = s->model, .context = context};
    return s->plan;
}

static void end(site *s)
{
    dm_plan_free(s->plan);
    dm_context_free(s->context);
    dm_model_free(s->model);
}

/* ---- the plan ----------------------------------------------------------- */

/* Fits by 1 mm: as without a mesh. Not by 1 mm: 1 m is an obstruction, and the
 * body's 0.3 m go once more. */
static void a_tray_takes_its_length_and_the_bodys(void **unused)
{
    site s;
    dm_plan *p = plan_it(&s, mesh_over(0.061, ""), NULL, 0);

    (void)unused;
    assert_near(p->body_height, 0.06, 0.0);
    assert_int_equal(p->runs[0].low_count, 0);
    assert_near(p->total.sum[DM_BAY_OBSTRUCTION], 0.2, 1e-9);
    assert_near(p->total.sum[DM_BAY_TESTABLE], 18.0 - 0.2 - 0.6, 1e-9);
    end(&s);
    p = plan_it(&s, mesh_over(0.059, ""), NULL, 0);
    const dm_plan_run *r = p->runs;
    assert_int_equal(r->low_count, 1);
    assert_near(r->low[0].from, 8.0, 1e-9);
    assert_near(r->low[0].to, 9.0, 1e-9);
    assert_near(r->low[0].free, 0.059, 1e-6);
    assert_string_equal(r->low[0].obstacle, "girder.obj: tray");
    assert_int_equal(r->low[0].other, DM_NONE);
    assert_near(p->total.sum[DM_BAY_OBSTRUCTION], 1.2, 1e-9);
    assert_near(p->total.sum[DM_BAY_DEAD_ZONE], 0.9, 1e-9);
    assert_near(p->total.sum[DM_BAY_TESTABLE], 18.0 - 1.2 - 0.9, 1e-9);
    assert_int_equal(r->stretch_count, 3);
    assert_near(r->stretches[0].end, 8.0 - (0.2 - 0.04), 1e-9);
    assert_near(r->stretches[1].begin, 9.0 + 0.1 + 0.04, 1e-9);
    assert_near(r->stretches[1].gap, 1.0, 1e-9);
    assert_int_equal(r->obstruction_count, 2);
    assert_int_equal(r->obstructions[0].low, 0);
    assert_int_equal(r->obstructions[0].fixture, DM_NONE);
    assert_int_equal(r->obstructions[0].stretch, 0);
    assert_near(r->obstructions[0].near_tape, 7.0, 1e-9);
    assert_near(r->obstructions[0].far_tape, 8.0, 1e-9);
    assert_int_equal(r->obstructions[1].low, DM_NONE);
    assert_int_equal(r->obstructions[1].fixture, 0);
    end(&s);
}

/* Without a mesh, or without a height, nothing is asked. */
static void without_mesh_or_height_nothing_is_asked(void **unused)
{
    dm_plan *p;
    site s;

    (void)unused;
    p = plan_it(&s, NULL, NULL, 0);
    assert_near(p->body_height, 0.0, 0.0);
    assert_int_equal(p->runs[0].low_count, 0);
    dm_plan_free(p);
    dm_plan_room room = {mesh_over(0.01, ""), &s.in};
    s.in.body_height = 0.0;
    assert_int_equal(dm_plan_make(s.model, NULL, NULL, 0, &room, NULL, &p),
                     DM_OK);
    assert_near(p->body_height, 0.0, 0.0);
    assert_int_equal(p->runs[0].low_count, 0);
    dm_context_free(
        room.context == NULL ? NULL : (dm_context *)(uintptr_t)room.context);
    s.plan = p;
    end(&s);
}

/* 9:00 is nearer to 10:00 than 12:00 is, but has the wall, too; 12:00 has the
 * tray from 8 to 9 m, which the wall at 10:00 (from 7 to 13 m) holds: so 2:30
 * is told. Of the tray: 2:30 is 75 deg away, 10:00 is not free. */
static void the_nearest_line_that_is_free_is_told(void **unused)
{
    static const double clocks[] = {0.0, 75.0 * PI / 180.0, 270.0 * PI / 180.0,
                                    300.0 * PI / 180.0, PI};
    site s;
    dm_plan *p = plan_it(&s, mesh_over(0.05, LEFT_WALL), clocks, 5);

    (void)unused;
    assert_int_equal(p->run_count, 5);
    assert_int_equal(p->runs[0].low_count, 1);
    assert_int_equal(p->runs[0].low[0].other, 1);
    assert_int_equal(p->runs[1].low_count, 0);
    assert_int_equal(p->runs[2].low_count, 1);
    assert_near(p->runs[2].low[0].free, 0.03, 1e-6);
    assert_near(p->runs[2].low[0].from, 7.0, 1e-9);
    /* 6:00, 90 deg away; 10:00 has the wall, 12:00 the tray. */
    assert_int_equal(p->runs[2].low[0].other, 4);
    assert_int_equal(p->runs[3].low_count, 1);
    assert_int_equal(p->runs[3].low[0].other, 4);
    assert_int_equal(p->runs[4].low_count, 0);
    /* Together they read all but what the ends take and the collar. */
    assert_near(p->total.sum[DM_BAY_TESTABLE], 18.0 - 0.2 - 0.6, 1e-9);
    end(&s);
}

/* A wall at 6 to 10 m under a line that reaches the other's dead zone is not
 * free: testable means testable. */
static void a_line_with_a_dead_zone_there_is_not_free(void **unused)
{
    static const double clocks[] = {0.0, 90.0 * PI / 180.0};
    site s;
    /* On the right from 9.1 m on: its dead zone begins at 8.94 m. */
    dm_plan *p = plan_it(&s,
                         mesh_over(0.05, "g web\nv 9.1 -0.08 1\n"
                                         "v 13 -0.08 1\nv 13 -0.08 3\n"
                                         "v 9.1 -0.08 3\nf 5 6 7 8\n"),
                         clocks, 2);

    (void)unused;
    assert_int_equal(p->runs[0].low_count, 1);
    assert_int_equal(p->runs[0].low[0].other, DM_NONE);
    assert_int_equal(p->runs[1].low[0].other, DM_NONE);
    end(&s);
}

static void a_sheet_stops_the_body_on_both_sides(void **unused)
{
    site s;
    dm_plan *p = plan_it(&s, mesh_over(0.2, SHEET), NULL, 0);
    const dm_plan_run *r = p->runs;

    (void)unused;
    assert_int_equal(r->low_count, 1);
    assert_near(r->low[0].from, 17.0, 1e-9);
    assert_near(r->low[0].to, 17.0, 1e-9);
    assert_near(p->total.sum[DM_BAY_OBSTRUCTION], 0.2, 1e-9);
    assert_near(p->total.sum[DM_BAY_DEAD_ZONE], 0.9, 1e-9);
    assert_int_equal(r->stretch_count, 3);
    assert_near(r->stretches[2].gap, 0.0, 1e-9);
    end(&s);
}

/* A sheet where the bay ends is the support as the mesh shows it. */
static void a_face_in_the_mesh_is_no_obstacle(void **unused)
{
    static const struct {
        const char *x;
        size_t low;
    } cases[] = {{"1", 0}, {"1.004", 0}, {"18.996", 0}, {"1.006", 1}};
    char more[128];
    site s;

    (void)unused;
    for (size_t i = 0; i < 4; i++) {
        const char *x = cases[i].x;

        snprintf(more, sizeof more,
                 "g f\nv %s -1 1\nv %s 1 1\nv %s 1 3\nv %s -1 3\nf 5 6 7 8\n",
                 x, x, x, x);
        dm_plan *p = plan_it(&s, mesh_over(0.2, more), NULL, 0);
        assert_int_equal(p->runs[0].low_count, cases[i].low);
        end(&s);
    }
}

/* A second channel 90 deg round needs room, too, on the side that direction and
 * leading end give. */
static void every_channel_needs_room(void **unused)
{
    site s;
    dm_plan *p = plan_it(&s, mesh_over(0.2, LEFT_WALL), NULL, 0);
    dm_plan_room room = {s.context, &s.in};

    (void)unused;
    assert_int_equal(p->runs[0].low_count, 0);
    for (int k = -1; k <= 1; k += 2) {
        dm_plan *q = NULL;
        s.channel[1] = s.channel[0];
        s.channel[1].clock_offset = k * 0.5 * PI;
        s.in.channel_count = 2;
        assert_int_equal(dm_plan_make(s.model, NULL, NULL, 0, &room, NULL, &q),
                         DM_OK);
        /* Level: ahead, the nose leading. The wall is on the left. */
        assert_int_equal(q->runs[0].low_count, k < 0 ? 1 : 0);
        dm_plan_free(q);
    }
    end(&s);
}

/* ---- what is written ----------------------------------------------------- */

static void json_and_csv_say_it(void **unused)
{
    static const double clocks[] = {0.0, PI};
    dm_buf text = {0};
    site s;

    (void)unused;
    plan_it(&s, mesh_over(0.05, ""), clocks, 2);
    dm_json_plan(&s.output, &text);
    assert_false(text.failed);
    assert_non_null(strstr(text.data, "\"bodyHeight\": 0.060000"));
    assert_non_null(strstr(text.data, "\"known\": true"));
    assert_non_null(strstr(text.data, "\"file\": \"girder.obj\""));
    assert_non_null(strstr(text.data, "\"from\": 8.000000"));
    assert_non_null(strstr(text.data, "\"obstacle\": \"girder.obj: tray\""));
    assert_non_null(strstr(text.data, "\"otherClock\": 180.0000"));
    assert_non_null(strstr(text.data, "\"kind\": \"low clearance\""));
    dm_buf_clear(&text);
    dm_csv_plan_runs(&s.output, &text);
    assert_non_null(strstr(text.data, "low clearance girder.obj: tray "
                                      "7.000-8.000; collar C 13.000-13.200"));
    dm_buf_clear(&text);
    /* Not asked: not a word of it. */
    s.plan->body_height = 0.0;
    dm_json_plan(&s.output, &text);
    assert_null(strstr(text.data, "learance\":"));
    dm_buf_free(&text);
    end(&s);
}

static void the_field_book_says_it(void **unused)
{
    static const double clocks[] = {0.0, PI};
    const dm_plan_book head = {NULL, "next", "2026-05-04"};
    dm_buf text = {0};
    size_t left_out;
    site s;

    (void)unused;
    plan_it(&s, mesh_over(0.05035, ""), clocks, 2);
    assert_int_equal(dm_fieldbook_plan(&s.output, &head, &left_out, &text), 2);
    assert_false(text.failed);
    assert_non_null(strstr(text.data, "     Mesh girder.obj with SHA-256 "));
    assert_non_null(
        strstr(text.data,
               "<note>LOW CLEARANCE, not to be run at 12:00: 7.000 to 8.000 m "
               "from face F1, 50.3 of 60.0 mm free; 6:00 is free there: "
               "girder.obj: tray</note>"));
    assert_non_null(strstr(text.data, "length=\"1.000 m\" basis=\"gap\" "
                                      "u=\"0.050 m\" reason=\"low clearance "
                                      "girder.obj: tray\"/>"));
    dm_buf_clear(&text);
    s.output.units = DM_UNITS_US;
    dm_fieldbook_plan(&s.output, &head, &left_out, &text);
    /* 7 m are 22.966 ft; 50.35 mm 1.98 in, down; 60 mm 2.36 in, up. */
    assert_non_null(strstr(text.data, ": 22.966 to 26.247 ft from face F1, 1.9 "
                                      "of 2.4 in free; 6:00"));
    dm_buf_free(&text);
    end(&s);
}

/* Low from end to end: no run, but a comment that says so, whose id has no two
 * hyphens side by side. */
static void a_run_that_is_not_made_is_told(void **unused)
{
    static const double clocks[] = {0.0, PI};
    const dm_plan_book head = {NULL, "next", "2026-05-04"};
    dm_buf text = {0};
    size_t left_out;
    site s;

    (void)unused;
    plan_it(&s,
            mesh_over(0.2, "g deck\nv 0 -1 2.08\nv 20 -1 2.08\nv 20 1 2.08\n"
                           "v 0 1 2.08\nf 5 6 7 8\n"),
            clocks, 2);
    assert_int_equal(s.plan->total.run_count, 1);
    assert_int_equal(dm_fieldbook_plan(&s.output, &head, &left_out, &text), 1);
    assert_int_equal(left_out, 0);
    /* 6:00 has its dead zones, where it is not free. */
    assert_non_null(strstr(text.data, "<!-- Not made, low clearance: tendon "
                                      "T- -1, bay 1, 12:00. -->"));
    dm_buf_free(&text);
    end(&s);
}

/* ---- memory -------------------------------------------------------------- */

static dm_status make_and_free(void *user)
{
    static const double clocks[] = {0.0, PI};
    const site *s = user;
    dm_plan_room room = {s->context, &s->in};
    dm_plan *p = NULL;
    dm_status status = dm_plan_make(s->model, NULL, clocks, 2, &room, NULL, &p);

    dm_plan_free(p);
    return status;
}

static void every_failing_allocation_is_said(void **unused)
{
    site s;

    (void)unused;
    plan_it(&s, mesh_over(0.05, ""), NULL, 0);
    assert_true(allocfail_each(make_and_free, &s) > 8);
    end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_tray_takes_its_length_and_the_bodys),
        cmocka_unit_test(without_mesh_or_height_nothing_is_asked),
        cmocka_unit_test(the_nearest_line_that_is_free_is_told),
        cmocka_unit_test(a_line_with_a_dead_zone_there_is_not_free),
        cmocka_unit_test(a_sheet_stops_the_body_on_both_sides),
        cmocka_unit_test(a_face_in_the_mesh_is_no_obstacle),
        cmocka_unit_test(every_channel_needs_room),
        cmocka_unit_test(json_and_csv_say_it),
        cmocka_unit_test(the_field_book_says_it),
        cmocka_unit_test(a_run_that_is_not_made_is_told),
        cmocka_unit_test(every_failing_allocation_is_said),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
