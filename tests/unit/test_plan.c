/* SPDX-License-Identifier: MIT
 * Survey plans against sums that can be done by hand. The bridges are
 * invented; lengths, times and factors are round so that a line of reckoning
 * stands beside each. Nothing here has a published source but where it is
 * said. */
#include "allocfail.h"
#include "ductmark/layout.h"
#include "ductmark/plan.h"
#include "model_text.h"

#define PI 3.14159265358979323846

/* One level tendon of 20 m along X; faces at 1 and 19, no fixture. `more` goes
 * behind the duct lengths. */
static dm_model *level(const char *ducts, const char *more)
{
    dm_buf text = {0};

    dm_buf_printf(
        &text,
        "<bridge version='1' uid='6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c001' "
        "id='L' name='level (invented)'>"
        "<duct-type id='D' od='100 mm' wall='6 mm' material='hdpe'/>"
        "<duct-type id='S' od='100 mm' wall='4 mm' material='steel'/>"
        "<tendon id='T'>"
        "<anchorage id='A1' x='0 m' y='0 m' z='2 m'>"
        "<face id='F1' side='ahead' offset='1 m'/></anchorage>"
        "<anchorage id='A2' x='20 m' y='0 m' z='2 m'>"
        "<face id='F2' side='back' offset='1 m'/></anchorage>"
        "%s%s</tendon></bridge>",
        ducts, more);
    dm_model *m = model_of_text(&text);
    dm_buf_free(&text);
    return m;
}

#define PLAIN "<duct-length duct-type='D'/>"

/* Falls by 2 m from A1 (high) to D1, level to D2, rises by 2 m to A2. Faces
 * square to the tendon but at the anchorages a boot of 0.3 m. */
static dm_model *draped(void)
{
    dm_buf text = {0};

    dm_buf_puts(
        &text,
        "<bridge version='1' uid='6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c002' "
        "id='D' name='draped (invented)'>"
        "<duct-type id='D' od='100 mm' wall='6 mm' material='hdpe'/>"
        "<deviator-type id='DEV' kind='pipe' radius='3 m'/>"
        "<tendon id='T'>"
        "<anchorage id='A1' x='0 m' y='0 m' z='4 m'>"
        "<face id='A1f' side='ahead' offset='0.5 m'/>"
        "<readable side='ahead' offset='0.3 m'/></anchorage>"
        "<deviator id='D1' x='15 m' y='0 m' z='2 m' type='DEV'>"
        "<face id='D1b' side='back' offset='0.6 m'/>"
        "<face id='D1a' side='ahead' offset='0.6 m'/></deviator>"
        "<deviator id='D2' x='30 m' y='0 m' z='2 m' type='DEV'>"
        "<face id='D2b' side='back' offset='0.6 m'/>"
        "<face id='D2a' side='ahead' offset='0.6 m'/></deviator>"
        "<anchorage id='A2' x='45 m' y='0 m' z='4 m'>"
        "<face id='A2f' side='back' offset='0.5 m'/>"
        "<readable side='back' offset='0.3 m'/></anchorage>" PLAIN
        "<fixture id='C1' kind='collar' from='5 m' to='5.1 m' ref='A1f'/>"
        "<fixture id='C2' kind='wrap' from='5 m' to='5.1 m' ref='A2f'/>"
        "</tendon></bridge>");
    dm_model *m = model_of_text(&text);
    dm_buf_free(&text);
    return m;
}

static dm_factors with(const char *name, double value)
{
    dm_factors f = dm_factors_default();

    assert_int_equal(dm_factors_set(&f, name, value, NULL), DM_OK);
    return f;
}

/* Nose 0.2, tail 0.1, electrode 0.04 before the contact. */
static dm_factors sensor(void)
{
    dm_factors f = with("nose", 0.2);

    assert_int_equal(dm_factors_set(&f, "tail", 0.1, NULL), DM_OK);
    assert_int_equal(dm_factors_set(&f, "lead", 0.04, NULL), DM_OK);
    return f;
}

/* The sums that hold for every plan. */
static void check_sums(const dm_plan *p)
{
    double time = 0.0, readable = 0.0;

    for (size_t i = 0; i < p->run_count; i++) {
        const dm_plan_run *r = &p->runs[i];
        const dm_bay *b = &p->bays[r->bay];
        double sum = 0.0, at = b->from;
        for (size_t k = 0; k < r->length_count; k++) {
            assert_near(r->lengths[k].from, at, 0.0);
            assert_true(r->lengths[k].to > r->lengths[k].from);
            at = r->lengths[k].to;
        }
        assert_near(at, b->to, 0.0);
        for (size_t k = 0; k < DM_BAY_STATES; k++)
            sum += r->sum[k];
        assert_near(sum, b->to - b->from, 1e-9);
        time += r->time.total;
    }
    for (size_t i = 0; i < p->tendon_count; i++) {
        const dm_plan_sum *s = &p->tendons[i];
        double states = 0.0, access = 0.0;
        for (size_t k = 0; k < DM_BAY_STATES; k++)
            states += s->sum[k];
        for (size_t k = 0; k < DM_ACCESS_COUNT; k++)
            access += s->access[k];
        assert_near(states, s->readable, 1e-6);
        assert_near(access, s->readable, 1e-6);
        readable += s->readable;
    }
    assert_near(p->total.readable, readable, 1e-9);
    assert_near(p->total.time.total, time, 1e-6);
}

static dm_plan *plan_with(const dm_model *m, const dm_factors *f,
                          const double *clocks, size_t count)
{
    dm_plan *p = NULL;

    assert_int_equal(dm_plan_make(m, f, clocks, count, NULL, NULL, &p), DM_OK);
    assert_non_null(p);
    check_sums(p);
    return p;
}

static dm_plan *plan_of(const dm_model *m, const dm_factors *f)
{
    return plan_with(m, f, NULL, 0);
}

/* ---- lengths ------------------------------------------------------------- */

static void level_tendon_loses_the_sensors_length(void **state)
{
    dm_model *m = level(PLAIN, "");
    dm_factors f = sensor();
    dm_plan *p = plan_of(m, &f);

    (void)state;
    assert_int_equal(p->bay_count, 1);
    assert_int_equal(p->run_count, 1);
    assert_near(p->total.length, 20.0, 1e-12);
    assert_near(p->total.free_length, 18.0, 1e-12);
    assert_near(p->total.readable, 18.0, 1e-12);
    assert_near(p->total.sum[DM_BAY_TESTABLE], 18.0 - 0.3, 1e-9);
    assert_near(p->total.sum[DM_BAY_DEAD_ZONE], 0.3, 1e-9);
    const dm_plan_run *r = p->runs;
    assert_int_equal(r->stretch_count, 1);
    /* Rear at the face: tail + lead behind the electrode; nose - lead before
     * it. */
    assert_near(r->stretches[0].begin, 1.0 + 0.1 + 0.04, 1e-9);
    assert_near(r->stretches[0].end, 19.0 - (0.2 - 0.04), 1e-9);
    assert_near(r->stretches[0].x_begin, 0.0, 0.0);
    assert_near(r->stretches[0].x_end, 18.0 - 0.3, 1e-9);
    assert_int_equal(r->direction, DM_SIDE_AHEAD);
    assert_int_equal(r->leading, DM_LEADING_NOSE);
    assert_string_equal(m->tendons[0].faces[r->face_start].id, "F1");
    assert_string_equal(m->tendons[0].faces[r->face_end].id, "F2");
    assert_near(r->start_distance, 0.0, 1e-9);
    assert_near(r->end_distance, 0.0, 1e-9);
    dm_plan_free(p);
    dm_model_free(m);
}

/* A collar from 9 to 9.2 and a wrap from 9.3 to 9.5: between them 0.1 m, where
 * a body of 0.3 m finds no room. */
static void obstructions_have_dead_zones_on_both_sides(void **state)
{
    dm_model *m =
        level(PLAIN, "<fixture id='C' kind='collar' from='9 m' to='9.2 m'/>"
                     "<fixture id='W' kind='wrap' from='9.3 m' to='9.5 m'/>"
                     "<fixture id='V' kind='vent' from='0.2 m' to='0.3 m'/>");
    dm_factors f = sensor();
    dm_plan *p = plan_of(m, &f);
    const dm_plan_run *r = p->runs;

    (void)state;
    assert_near(r->sum[DM_BAY_OBSTRUCTION], 0.4, 1e-9);
    assert_near(r->sum[DM_BAY_DEAD_ZONE], 0.3 + 0.1 + 0.3, 1e-9);
    assert_near(r->sum[DM_BAY_TESTABLE], 18.0 - 0.4 - 0.7, 1e-9);
    assert_int_equal(p->total.fixture_count, 2); /* V is in the concrete */
    assert_int_equal(r->stretch_count, 2);
    assert_near(r->stretches[0].x_end, 8.0 - 0.3, 1e-9);
    assert_near(r->stretches[1].x_begin, 7.7, 1e-9);
    assert_near(r->stretches[1].x_end, 7.7 + 9.5 - 0.3, 1e-9);
    assert_near(r->stretches[1].gap, 0.5, 1e-9);
    assert_int_equal(r->obstruction_count, 2);
    assert_near(r->obstructions[0].near_tape, 8.0, 1e-9);
    assert_near(r->obstructions[0].far_tape, 8.2, 1e-9);
    assert_near(r->obstructions[1].near_tape, 8.3, 1e-9);
    assert_int_equal(r->obstructions[0].stretch, 0);
    assert_int_equal(r->obstructions[1].stretch, 0);
    dm_plan_free(p);
    dm_model_free(m);
}

static void fixtures_beside_the_clock_line_are_passed(void **state)
{
    dm_model *m =
        level(PLAIN, "<fixture id='V' kind='vent' from='9 m' to='9.2 m' "
                     "clock-from='11:00' clock-to='1:00'/>");
    dm_factors f = sensor();
    const double clocks[] = {0.0, PI / 2.0};
    dm_plan *one = plan_with(m, &f, clocks, 1);
    dm_plan *other = plan_with(m, &f, clocks + 1, 1);
    dm_plan *both = plan_with(m, &f, clocks, 2);

    (void)state;
    assert_near(one->total.sum[DM_BAY_TESTABLE], 18.0 - 0.2 - 0.6, 1e-9);
    assert_near(other->total.sum[DM_BAY_TESTABLE], 18.0 - 0.3, 1e-9);
    /* The best of the two lines at each place; what is scanned adds up. */
    assert_near(both->total.sum[DM_BAY_TESTABLE], 18.0 - 0.3, 1e-9);
    assert_near(both->total.scan, 17.2 + 17.7, 1e-9);
    assert_int_equal(both->total.run_count, 2);
    dm_plan_free(one);
    dm_plan_free(other);
    dm_plan_free(both);
    dm_model_free(m);
}

static void steel_ducts_are_not_readable(void **state)
{
    dm_model *m = level("<duct-length duct-type='D' to='8 m'/>"
                        "<duct-length duct-type='S' from='8 m' to='11 m'/>"
                        "<duct-length duct-type='D' from='11 m' to='12 m'/>"
                        "<duct-length duct-type='D' from='12 m'/>",
                        "");
    dm_factors f = sensor();
    dm_plan *p = plan_of(m, &f);

    (void)state;
    assert_int_equal(p->bay_count, 2);
    assert_near(p->bays[0].to, 8.0, 1e-12);
    assert_near(p->bays[1].from, 11.0, 1e-12);
    assert_near(p->bays[1].to, 19.0, 1e-12);
    assert_near(p->total.free_length, 18.0, 1e-12);
    assert_near(p->total.readable, 15.0, 1e-12);
    assert_near(p->total.sum[DM_BAY_TESTABLE], 15.0 - 0.6, 1e-9);
    /* Both are tied at the face they have; the rear stands 10 m from F1. */
    assert_string_equal(m->tendons[0].faces[p->runs[1].face_start].id, "F1");
    assert_near(p->runs[1].start_distance, 10.0, 1e-9);
    assert_near(p->runs[0].end_distance, 11.0, 1e-9);
    dm_plan_free(p);
    dm_model_free(m);
}

/* Ladder 1..6, none 6..8, rope 8..9, floor to 19. */
static void access_is_counted_by_length(void **state)
{
    dm_model *m = level(PLAIN, "<access class='ladder' to='6 m'/>"
                               "<access class='none' from='6 m' to='8 m'/>"
                               "<access class='rope' from='8 m' to='9 m'/>");
    dm_factors f = sensor();
    dm_plan *p = plan_of(m, &f);
    const dm_plan_run *r = p->runs;

    (void)state;
    assert_near(p->total.access[DM_ACCESS_LADDER], 5.0, 1e-9);
    assert_near(p->total.access[DM_ACCESS_NONE], 2.0, 1e-9);
    assert_near(p->total.access[DM_ACCESS_ROPE], 1.0, 1e-9);
    assert_near(p->total.access[DM_ACCESS_FLOOR], 10.0, 1e-9);
    assert_near(p->total.sum[DM_BAY_NO_ACCESS], 2.0, 1e-9);
    assert_near(p->total.sum[DM_BAY_DEAD_ZONE], 0.6, 1e-9);
    /* The dead zone behind 8 m is tail + lead long. */
    assert_near(r->scan[DM_ACCESS_ROPE], 1.0 - 0.14, 1e-9);
    assert_near(r->scan[DM_ACCESS_LADDER], 5.0 - 0.3, 1e-9);
    assert_near(r->scan[DM_ACCESS_FLOOR], 10.0 - 0.16, 1e-9);
    assert_int_equal(r->obstruction_count, 1);
    assert_int_equal(r->obstructions[0].fixture, DM_NONE);
    /* 4.7 m at 0.06 m/s, 0.86 m at 0.035 m/s, 9.84 m at 0.1 m/s. */
    assert_near(r->time.scan, 4.7 / 0.06 + 0.86 / 0.035 + 98.4, 1e-6);
    dm_plan_free(p);
    dm_model_free(m);
}

/* Two modules sum free and readable lengths; they mean the same. */
static void lengths_agree_with_the_layout(void **state)
{
    static const char *const names[] = {"straight", "one_deviator",
                                        "two_deviators", "curved_two_spans"};

    (void)state;
    for (size_t k = 0; k < 4; k++) {
        char path[256];
        dm_model *m = NULL;
        snprintf(path, sizeof path, DM_TEST_GEOMETRY "/reference/%s.xml",
                 names[k]);
        assert_int_equal(dm_model_read(path, NULL, &m), DM_OK);
        dm_plan *p = plan_of(m, NULL);
        for (size_t i = 0; i < m->tendon_count; i++) {
            dm_layout l;
            assert_int_equal(dm_layout_make(m, &m->tendons[i], m->arena, &l),
                             DM_OK);
            assert_near(p->tendons[i].length, l.length, 1e-9);
            assert_near(p->tendons[i].free_length, l.free, 1e-9);
            assert_near(p->tendons[i].readable, l.readable, 1e-9);
        }
        dm_plan_free(p);
        dm_model_free(m);
    }
}

/* A body longer than the bay: nothing is testable, no run is made. */
static void a_bay_shorter_than_the_body_is_a_dead_zone(void **state)
{
    dm_model *m = level("<duct-length duct-type='D' to='1.3 m'/>"
                        "<duct-length duct-type='S' from='1.3 m'/>",
                        "");
    dm_factors f = sensor();
    dm_plan *p = plan_of(m, &f);

    (void)state;
    assert_near(p->total.readable, 0.3, 1e-9);
    assert_near(p->total.sum[DM_BAY_DEAD_ZONE], 0.3, 1e-9);
    assert_int_equal(p->total.run_count, 0);
    assert_int_equal(p->run_count, 1);
    assert_int_equal(p->runs[0].stretch_count, 0);
    assert_near(p->total.time.total, 0.0, 0.0);
    assert_true(isnan(p->free_per_day));
    dm_plan_free(p);
    dm_model_free(m);
}

/* ---- order --------------------------------------------------------------- */

static void sloped_bays_come_first_from_their_upper_ends(void **state)
{
    dm_model *m = draped();
    const dm_tendon *t = &m->tendons[0];
    dm_factors f = sensor();
    dm_plan *p = plan_of(m, &f);

    (void)state;
    assert_int_equal(p->run_count, 3);
    const dm_plan_run *first = &p->runs[0], *next = &p->runs[1];
    const dm_plan_run *level_one = &p->runs[2];
    assert_int_equal(p->bays[first->bay].number, 1);
    assert_int_equal(p->bays[next->bay].number, 3);
    assert_int_equal(p->bays[level_one->bay].number, 2);
    assert_near(p->bays[0].slope, atan(2.0 / 15.0), 1e-9);
    assert_false(p->bays[1].sloped);
    assert_int_equal(first->direction, DM_SIDE_AHEAD);
    assert_int_equal(next->direction, DM_SIDE_BACK);
    /* tail + lead = 0.14 is less than nose - lead = 0.16: the tail at the
     * upper end, which is the rear of a run that begins there. */
    assert_int_equal(first->leading, DM_LEADING_NOSE);
    assert_int_equal(next->leading, DM_LEADING_NOSE);
    assert_string_equal(t->faces[first->face_start].id, "A1f");
    assert_string_equal(t->faces[next->face_start].id, "A2f");
    assert_string_equal(t->faces[next->face_end].id, "D2a");
    /* The rear stands at the boot's end. The plumb face crosses the crown
     * r tan(slope) up the duct. */
    double lean = 0.05 * 2.0 / 15.0;
    assert_near(first->start_distance, 0.3 + lean, 1e-9);
    assert_near(next->start_distance, 0.3 + lean, 1e-9);
    assert_near(next->stretches[0].begin, p->bays[2].to - 0.14, 1e-9);
    assert_true(next->stretches[0].end < next->stretches[0].begin);
    dm_plan_free(p);
    dm_model_free(m);
}

static void the_shorter_dead_zone_lies_at_the_upper_end(void **state)
{
    dm_model *m = draped();
    dm_factors f = sensor();
    dm_plan *p;

    (void)state;
    assert_int_equal(dm_factors_set(&f, "lead", 0.12, NULL), DM_OK);
    /* nose - lead = 0.08, tail + lead = 0.22 */
    p = plan_of(m, &f);
    assert_int_equal(p->runs[0].leading, DM_LEADING_TAIL);
    assert_near(p->runs[0].stretches[0].begin, p->bays[0].from + 0.08, 1e-9);
    assert_int_equal(p->runs[1].leading, DM_LEADING_TAIL);
    assert_near(p->runs[1].stretches[0].begin, p->bays[2].to - 0.08, 1e-9);
    assert_int_equal(p->runs[2].leading, DM_LEADING_NOSE);
    dm_plan_free(p);
    /* Where every slope counts, a level bay is still none. */
    f = with("slope", 0.0);
    p = plan_of(m, &f);
    assert_int_equal(p->bays[p->runs[2].bay].number, 2);
    dm_plan_free(p);
    f = with("slope", 45.0);
    p = plan_of(m, &f);
    assert_int_equal(p->bays[p->runs[1].bay].number, 2);
    dm_plan_free(p);
    dm_model_free(m);
}

/* The bridge is its own mirror image: going back from A2 is as going ahead
 * from A1. */
static void going_back_mirrors_stretches_and_tapes(void **state)
{
    dm_model *m = draped();
    const dm_tendon *t = &m->tendons[0];
    dm_factors f = sensor();
    dm_plan *p = plan_of(m, &f);
    const dm_plan_run *r = &p->runs[0];

    (void)state;
    assert_int_equal(r->obstruction_count, 1);
    assert_string_equal(t->fixtures[r->obstructions[0].fixture].id, "C1");
    double lean = 0.05 * 2.0 / 15.0;
    assert_near(r->obstructions[0].near_tape, 5.0 + lean, 1e-9);
    assert_near(r->obstructions[0].far_tape, 5.1 + lean, 1e-9);
    /* From the boot's end, 0.3 m behind the face, to the collar: 4.7 m. */
    assert_near(r->stretches[0].x_end, 4.7 - 0.3, 1e-9);
    assert_near(r->stretches[1].gap, 0.1, 1e-9);
    const dm_plan_run *q = &p->runs[1];
    assert_int_equal(q->direction, DM_SIDE_BACK);
    assert_int_equal(q->stretch_count, 2);
    assert_int_equal(q->obstruction_count, 1);
    assert_string_equal(t->fixtures[q->obstructions[0].fixture].id, "C2");
    assert_int_equal(q->obstructions[0].stretch, 0);
    assert_near(q->obstructions[0].near_tape, 5.0 + lean, 1e-9);
    assert_near(q->obstructions[0].far_tape, 5.1 + lean, 1e-9);
    assert_near(q->stretches[1].gap, 0.1, 1e-9);
    for (size_t i = 0; i < 2; i++) {
        const dm_plan_stretch *a = &r->stretches[i], *b = &q->stretches[i];
        assert_near(b->x_begin, a->x_begin, 1e-9);
        assert_near(b->x_end, a->x_end, 1e-9);
        assert_near(b->begin, t->line.length - a->begin, 1e-9);
        assert_near(b->end, t->line.length - a->end, 1e-9);
    }
    assert_near(q->end_distance, r->end_distance, 1e-9);
    dm_plan_free(p);
    dm_model_free(m);
}

/* ---- time ---------------------------------------------------------------- */

static void every_factor_changes_the_time_as_it_must(void **state)
{
    static const struct {
        const char *name;
        double value, more; /* s, more than with the defaults */
    } cases[] = {
        {"speed", 0.05, 17.7 / 0.1}, {"floor", 0.5, 17.7 / 0.1},
        {"ladder", 0.3, 0.0},        {"reseat", 22.5, 0.0},
        {"setup", 250.0, 10.0},      {"move", 250.0, 10.0},
        {"check", 70.0, 20.0},       {"checks", 3.0, 60.0},
        {"tie", 40.0, 20.0},         {"platform", 1.0, 0.0},
        {"shift", 400.0, 0.0},       {"hours", 8.0, 0.0},
        {"permit", 1.0, 0.0},        {"nose", 0.25, -0.05 / 0.1},
    };
    dm_model *m = level(PLAIN, "");
    dm_factors f = sensor();
    dm_plan *base = plan_of(m, &f);

    (void)state;
    /* 17.7 m at 0.1 m/s, setup, move, two checks, start and tie. */
    assert_near(base->total.time.total, 177.0 + 240.0 + 240.0 + 120.0 + 60.0,
                1e-6);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        dm_factors g = f;
        assert_int_equal(
            dm_factors_set(&g, cases[i].name, cases[i].value, NULL), DM_OK);
        dm_plan *p = plan_of(m, &g);
        assert_near(p->total.time.total - base->total.time.total, cases[i].more,
                    1e-6);
        dm_plan_free(p);
    }
    dm_plan_free(base);
    dm_model_free(m);
}

static void scaffolds_are_shifted_and_obstructions_reseated(void **state)
{
    dm_model *m =
        level(PLAIN, "<fixture id='C' kind='collar' from='9 m' to='9.2 m'/>"
                     "<access class='scaffold' from='0 m' to='8.15 m'/>"
                     "<access class='crawl' from='15 m' to='16 m'/>");
    dm_factors f = sensor();
    dm_plan *p = plan_of(m, &f);
    const dm_plan_time *t = &p->runs[0].time;

    (void)state;
    assert_near(t->reseat, 12.5, 1e-9);
    /* 8.15 - 1.14 = 7.01 m from platforms of 3 m: three places. */
    assert_near(t->shift, 3.0 * 300.0, 1e-9);
    assert_near(p->runs[0].scan[DM_ACCESS_SCAFFOLD], 7.01, 1e-9);
    /* Scaffold and crawl at 0.05 m/s, the rest at 0.1 m/s. */
    assert_near(t->scan, 7.01 / 0.05 + 1.0 / 0.05 + (17.2 - 8.01) / 0.1, 1e-6);
    assert_near(t->total,
                t->scan + t->reseat + t->setup + t->move + t->shift + t->check +
                    t->tie,
                1e-9);
    dm_plan_free(p);
    dm_model_free(m);
}

static void clock_lines_share_a_move_and_a_permit_takes_hours(void **state)
{
    dm_model *m = level(PLAIN, "");
    dm_factors f = sensor();
    const double clocks[] = {0.0, PI / 2.0, 1.5 * PI};
    dm_plan *p;

    (void)state;
    assert_int_equal(dm_factors_set(&f, "permit", 1.5, NULL), DM_OK);
    p = plan_with(m, &f, clocks, 3);
    assert_int_equal(p->run_count, 3);
    assert_near(p->total.time.move, 240.0, 1e-9);
    assert_near(p->total.time.setup, 720.0, 1e-9);
    assert_near(p->total.time.scan, 3.0 * 177.0, 1e-6);
    assert_near(p->day, 4.5 * 3600.0, 1e-9);
    assert_near(p->days, p->total.time.total / (4.5 * 3600.0), 1e-12);
    assert_near(p->persons, 2.0, 0.0);
    assert_near(p->free_per_day, 18.0 / p->days, 1e-9);
    dm_plan_free(p);
    dm_model_free(m);
}

/* Five spans of four tendons as in many box girders: free lengths of 15 m on a
 * floor, a collar in the middle of each, one clock line. About 1300 ft (396 m)
 * of free tendon a day with good access: common practice, no source. */
static void an_easy_bridge_gives_a_usual_day(void **state)
{
    dm_buf text = {0};
    dm_plan *p;

    (void)state;
    dm_buf_puts(&text,
                "<bridge version='1' "
                "uid='6d7f3c0e-6b2a-4a57-8f0e-0b9a35b1c003' id='E' "
                "name='easy (invented)'>"
                "<duct-type id='D' od='100 mm' wall='6 mm' material='hdpe'/>"
                "<deviator-type id='DEV' kind='pipe' radius='3 m'/>");
    for (int i = 0; i < 4; i++) {
        dm_buf_printf(&text,
                      "<tendon id='T%d'><anchorage id='A1' x='0 m' y='%d m' "
                      "z='3 m'><face id='A1f' side='ahead' offset='0.5 m'/>"
                      "</anchorage>",
                      i, i);
        for (int k = 1; k <= 4; k++)
            dm_buf_printf(
                &text,
                "<deviator id='D%d' x='%d m' y='%d m' z='%d m' type='DEV'>"
                "<face id='D%db' side='back' offset='0.5 m'/>"
                "<face id='D%da' side='ahead' offset='0.5 m'/></deviator>",
                k, 16 * k, i, k == 1 || k == 4 ? 2 : 1, k, k);
        dm_buf_printf(&text,
                      "<anchorage id='A2' x='80 m' y='%d m' z='3 m'>"
                      "<face id='A2f' side='back' offset='0.5 m'/></anchorage>"
                      "<duct-length duct-type='D'/>",
                      i);
        for (int k = 0; k < 5; k++)
            dm_buf_printf(&text,
                          "<fixture id='C%d' kind='collar' from='%d m' "
                          "to='%d.1 m'/>",
                          k, 8 + 16 * k, 8 + 16 * k);
        dm_buf_puts(&text, "</tendon>");
    }
    dm_buf_puts(&text, "</bridge>");
    dm_model *m = model_of_text(&text);
    dm_buf_free(&text);
    p = plan_of(m, NULL);
    assert_int_equal(p->run_count, 20);
    assert_near(p->total.free_length, 300.0, 2.0);
    print_message("%.1f m of free tendon a day\n", p->free_per_day);
    if (!(p->free_per_day >= 300.0 && p->free_per_day <= 500.0))
        fail_msg("%.0f m of free tendon a day", p->free_per_day);
    dm_plan_free(p);
    dm_model_free(m);
}

/* ---- factors and failures ------------------------------------------------ */

static void factors_out_of_range_are_refused(void **state)
{
    dm_factors f = dm_factors_default(), before = f;
    size_t count = 0;
    const dm_factor_info *list = dm_factor_list(&count);
    said heard;

    (void)state;
    said_init(&heard);
    assert_int_equal(dm_factors_set(&f, "haste", 1.0, &heard.diag),
                     DM_REFERENCE);
    assert_int_equal(dm_factors_set(&f, "speed", 0.0, &heard.diag), DM_RANGE);
    assert_int_equal(dm_factors_set(&f, "speed", (double)NAN, &heard.diag),
                     DM_RANGE);
    assert_string_equal(heard.text,
                        "-: error: no factor 'haste'\n"
                        "-: error: factor speed: 0, expected 0.001 to 2 m/s\n"
                        "-: error: factor speed: nan, expected 0.001 to 2 "
                        "m/s\n");
    assert_memory_equal(&f, &before, sizeof f);
    assert_int_equal(count, DM_FACTOR_COUNT);
    for (size_t i = 0; i < count; i++) {
        assert_true(list[i].least <= list[i].fallback);
        assert_true(list[i].fallback <= list[i].most);
        assert_int_equal(
            dm_factors_set(&f, list[i].name, list[i].fallback, NULL), DM_OK);
        assert_int_equal(f.origin[i], DM_ORIGIN_SET);
    }
}

static void the_instrument_yields_to_what_is_set(void **state)
{
    dm_channel channel = {.lead = 0.02};
    dm_instrument in = {
        .nose = 0.14, .tail = 0.1, .channels = &channel, .channel_count = 1};
    dm_factors f = with("tail", 0.3);

    (void)state;
    dm_factors_instrument(&f, &in);
    assert_near(f.value[DM_FACTOR_NOSE], 0.14, 0.0);
    assert_near(f.value[DM_FACTOR_TAIL], 0.3, 0.0);
    assert_near(f.value[DM_FACTOR_LEAD], 0.02, 0.0);
    assert_string_equal(dm_origin_text(f.origin[DM_FACTOR_NOSE]), "field book");
    assert_string_equal(dm_origin_text(f.origin[DM_FACTOR_TAIL]), "set");
    assert_string_equal(dm_origin_text(f.origin[DM_FACTOR_SPEED]), "default");
}

static void plans_that_cannot_be_are_refused(void **state)
{
    dm_model *m = level(PLAIN, "");
    dm_factors f = with("permit", 6.0);
    double clocks[25] = {0};
    dm_plan *p = NULL;

    (void)state;
    assert_int_equal(dm_plan_make(m, &f, NULL, 0, NULL, NULL, &p), DM_RANGE);
    assert_null(p);
    assert_int_equal(dm_plan_make(m, NULL, clocks, 25, NULL, NULL, &p),
                     DM_RANGE);
    assert_null(p);
    dm_plan_free(NULL);
    dm_model_free(m);
}

static dm_status make_and_free(void *user)
{
    dm_plan *p = NULL;
    const double clocks[] = {0.0, PI};
    dm_status status = dm_plan_make(user, NULL, clocks, 2, NULL, NULL, &p);

    dm_plan_free(p);
    return status;
}

static void every_failing_allocation_is_said(void **state)
{
    dm_model *m = draped();

    (void)state;
    assert_true(allocfail_each(make_and_free, m) > 5);
    dm_model_free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(level_tendon_loses_the_sensors_length),
        cmocka_unit_test(obstructions_have_dead_zones_on_both_sides),
        cmocka_unit_test(fixtures_beside_the_clock_line_are_passed),
        cmocka_unit_test(steel_ducts_are_not_readable),
        cmocka_unit_test(access_is_counted_by_length),
        cmocka_unit_test(lengths_agree_with_the_layout),
        cmocka_unit_test(a_bay_shorter_than_the_body_is_a_dead_zone),
        cmocka_unit_test(sloped_bays_come_first_from_their_upper_ends),
        cmocka_unit_test(the_shorter_dead_zone_lies_at_the_upper_end),
        cmocka_unit_test(going_back_mirrors_stretches_and_tapes),
        cmocka_unit_test(every_factor_changes_the_time_as_it_must),
        cmocka_unit_test(scaffolds_are_shifted_and_obstructions_reseated),
        cmocka_unit_test(clock_lines_share_a_move_and_a_permit_takes_hours),
        cmocka_unit_test(an_easy_bridge_gives_a_usual_day),
        cmocka_unit_test(factors_out_of_range_are_refused),
        cmocka_unit_test(the_instrument_yields_to_what_is_set),
        cmocka_unit_test(plans_that_cannot_be_are_refused),
        cmocka_unit_test(every_failing_allocation_is_said),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
