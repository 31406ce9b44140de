/* SPDX-License-Identifier: MIT
 * Sections of turns: drawn true to scale (areas on paper against the closed
 * form of a circular segment, r^2/2 (a - sin a) with a its angle at the
 * centre, as in any table of mensuration), mirrored for somebody who looks
 * back, with the numbers of the result. */
#define _POSIX_C_SOURCE 200809L
#include "near.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "scene_group.h"
#include "write/cross_view.h"

#define PI 3.14159265358979323846
#define CELLS 72
#define RAD(deg) ((deg) * (PI / 180.0))

typedef struct {
    dm_indications found;
    dm_result results[FIXTURE_TENDONS];
    dm_turn turns[3];
    dm_arc arcs[1];
    double index[CELLS];
    dm_delivery delivery;
} turned;

/* A void about 12:10 of 50 deg half-angle; a turn that shows none; one that
 * could not be placed. */
static void make_turns(turned *t)
{
    dm_turn *a = &t->turns[0];
    size_t i;

    memset(t, 0, sizeof *t);
    t->found = *fixture->results[0].indications;
    for (i = 0; i < CELLS; i++)
        t->index[i] = i < 11 || i > 62 ? 0.7 : i == 40 ? (double)NAN : 0.0;
    t->arcs[0] = (dm_arc){.from = RAD(318.0),
                          .to = RAD(55.0),
                          .u_from = RAD(3.0),
                          .u_to = RAD(3.0),
                          .index = 0.7};
    *a = (dm_turn){.t = 9.3,
                   .u = 0.02,
                   .reconciled = true,
                   .indication = 0,
                   .bore = 0.05045,
                   .cell_count = CELLS,
                   .index = t->index,
                   .read = 71.0 / 72.0,
                   .arcs = t->arcs,
                   .arc_count = 1,
                   .direct = {0.0008, 0.00089, 0.00098},
                   .fitted = {0.0007, 0.00097, 0.0012},
                   .apart = 0.8,
                   .area = {0.0007, 0.00097, 0.0012},
                   .depth = {(double)NAN, (double)NAN, (double)NAN},
                   .strand = PI};
    a->fit = (dm_segment_fit){.valid = true,
                              .half_angle = RAD(50.0),
                              .centre = RAD(5.0),
                              .centre_u = RAD(2.0),
                              .low = RAD(42.0),
                              .high = RAD(58.0),
                              .ratio = 1.1};
    t->turns[1] = *a;
    t->turns[1].t = 5.0;
    t->turns[1].indication = DM_NONE;
    t->turns[1].arc_count = 0;
    t->turns[1].arc = DM_NONE;
    t->turns[1].fit = (dm_segment_fit){.valid = false};
    t->turns[1].area = t->turns[1].depth;
    t->turns[1].strand = (double)NAN;
    t->turns[2] = *a;
    t->turns[2].t = (double)NAN;
    t->found.turns = t->turns;
    t->found.turn_count = 3;
    t->results[0] = fixture->results[0];
    t->results[0].indications = &t->found;
    t->delivery = fixture->delivery;
    t->delivery.results = t->results;
}

/* Area within the first path of that fill, mm^2, by the shoelace formula. */
static double painted(const char *svg, const char *fill)
{
    const char *at = strstr(svg, fill), *d;
    double x0 = 0.0, y0 = 0.0, x = 0.0, y = 0.0, sum = 0.0;

    assert_non_null(at);
    for (d = at; strncmp(d, " d=\"", 4) != 0; d--)
        assert_true(d > svg);
    for (d += 4; *d != '"';) {
        char *end;
        double a, b;

        if (*d == 'Z') {
            sum += x * y0 - x0 * y;
            d++;
            continue;
        }
        a = strtod(d + 1, &end);
        b = strtod(end, &end);
        if (*d == 'M') {
            x0 = a;
            y0 = b;
        } else {
            sum += x * b - a * y;
        }
        x = a;
        y = b;
        d = end;
    }
    return 0.5 * fabs(sum);
}

static void section_is_true_to_scale(void **state)
{
    const double scale = 2.5, r = 50.45 / scale, a = RAD(100.0);
    written w;
    turned t;
    dm_buf svg;

    (void)state;
    make_turns(&t);
    assert_int_equal(written_new(&t.delivery, "section", &w), DM_OK);
    written_read(&w, "section-T1.svg", &svg);
    assert_non_null(strstr(svg.data, ">1:2.5, looking towards A2<"));
    assert_near(painted(svg.data, "fill=\"#fdb863\""),
                0.5 * r * r * (a - sin(a)), 0.5);
    assert_near(painted(svg.data, "fill=\"#6e6e6e\""),
                PI * 0.25 * (114.3 / scale) * (114.3 / scale), 2.0);
    assert_near(painted(svg.data, "fill=\"#e8e8e8\""), PI * r * r, 2.0);
    dm_buf_free(&svg);
    written_free(&w);
}

static void section_says_what_the_turn_holds(void **state)
{
    static const char *const words[] = {
        ">at 9.300 m \xc2\xb1 40 mm<",
        "T1-I01, void-like",
        "98.6 % of the circumference",
        "Void-like from 10:36 \xc2\xb1 6\xc2\xb0 to 1:50 \xc2\xb1 6\xc2\xb0",
        "half-angle 50\xc2\xb0 (42\xc2\xb0 to 58\xc2\xb0)",
        "9.7 cm\xc2\xb2 (7.0 to 12.0), 12.1 % of the bore",
        "No depth was measured",
        "Strands lie at 6:00",
        ">Mark: T1-I01-A at 12:00, 0 mm ahead of this section<",
        ">at 5.000 m",
        "crosses no indication",
        ">Nothing void-like round the duct.<",
        "Side of the strands not known",
        "For planning only.",
        "a hit strand can kill"};
    written w;
    turned t;
    dm_buf svg, flat = {0};
    size_t i;

    (void)state;
    make_turns(&t);
    assert_int_equal(written_new(&t.delivery, "section", &w), DM_OK);
    written_read(&w, "section-T1.svg", &svg);
    /* Words that a line break parted count as one text. */
    for (i = 0; i < svg.length; i++)
        if (strncmp(svg.data + i, "</text>\n<text", 13) == 0) {
            dm_buf_puts(&flat, "< >");
            i = (size_t)(strchr(svg.data + i + 8, '>') - svg.data);
        } else {
            dm_buf_putc(&flat, svg.data[i]);
        }
    for (i = 0; i < sizeof words / sizeof *words; i++)
        if (strstr(svg.data, words[i]) == NULL &&
            strstr(flat.data, words[i]) == NULL)
            fail_msg("not in the picture: %s", words[i]);
    dm_buf_free(&flat);
    dm_buf_free(&svg);
    written_free(&w);
}

static void tendons_without_turns_have_no_file(void **state)
{
    static const char *const formats[] = {"section", "section-png",
                                          "section-pdf"};
    char path[512];
    written w;
    turned t;
    size_t i;

    (void)state;
    for (i = 0; i < 3; i++) {
        assert_int_equal(written_new(&fixture->delivery, formats[i], &w),
                         DM_OK);
        assert_int_equal(rmdir(w.folder), 0);
    }
    make_turns(&t);
    assert_int_equal(written_new(&t.delivery, "section", &w), DM_OK);
    written_path(&w, "section-T2.svg", path);
    assert_int_not_equal(access(path, F_OK), 0);
    written_free(&w);
}

/* Looking back the clock runs the other way: x is mirrored, y is not. */
static void looking_back_mirrors_the_section(void **state)
{
    const dm_sheet sheet = {
        .kind = DM_CANVAS_SVG, .width = 100.0, .height = 100.0};
    dm_cross view;
    double reach[2];
    turned t;
    int k;

    (void)state;
    make_turns(&t);
    view = dm_cross_at(&fixture->model, &fixture->model.tendons[0], 9.3);
    view.turn = &t.turns[0];
    view.scale = 2.5;
    view.x = view.y = 50.0;
    for (k = 0; k < 2; k++) {
        dm_fonts *fonts = NULL;
        dm_canvas *c = NULL;
        dm_outset *set = NULL;
        dm_out *out;
        written w;
        dm_buf svg;
        const char *at;

        assert_int_equal(dm_fonts_new(&fonts), DM_OK);
        assert_int_equal(dm_canvas_new(fonts, &sheet, &c), DM_OK);
        view.look = k == 0 ? DM_SIDE_AHEAD : DM_SIDE_BACK;
        dm_cross_draw(c, &view);
        strcpy(w.folder, "/tmp/ductmark-cross-XXXXXX");
        assert_non_null(mkdtemp(w.folder));
        assert_int_equal(dm_outset_new(w.folder, NULL, &set), DM_OK);
        assert_int_equal(dm_outset_open(set, "a.svg", &out), DM_OK);
        assert_int_equal(dm_canvas_finish(c, out), DM_OK);
        assert_int_equal(dm_outset_commit(set), DM_OK);
        dm_outset_free(set);
        written_read(&w, "a.svg", &svg);
        at = strstr(svg.data, ">3</text>");
        assert_non_null(at);
        while (strncmp(at, " x=\"", 4) != 0)
            at--;
        reach[k] = strtod(at + 4, NULL) - 50.0;
        dm_buf_free(&svg);
        written_free(&w);
        dm_canvas_free(c);
        dm_fonts_free(fonts);
    }
    assert_true(reach[0] > 20.0);
    assert_near(reach[1], -reach[0], 0.011);
}

/* A turn that has a place reads all of the circumference there. */
static void strip_shows_the_turns_that_have_a_place(void **state)
{
    written w;
    turned t;
    dm_buf svg;

    (void)state;
    make_turns(&t);
    assert_int_equal(written_new(&t.delivery, "strip", &w), DM_OK);
    written_read(&w, "strip-T1.svg", &svg);
    assert_non_null(strstr(svg.data, "; all round at 2 turns; the rest"));
    dm_buf_free(&svg);
    written_free(&w);
}

static void scale_is_the_largest_usual_one_that_fits(void **state)
{
    (void)state;
    assert_near(dm_cross_scale(0.1143, 50.0), 2.5, 0.0);
    assert_near(dm_cross_scale(0.050, 50.0), 1.0, 0.0);
    assert_near(dm_cross_scale(0.1, 50.0), 2.0, 0.0);
    assert_near(dm_cross_scale(1.0, 50.0), 20.0, 0.0);
}

static void any_failed_allocation_is_nomem(void **state)
{
    const dm_delivery before = fixture->delivery;
    char name[] = "section";
    turned t;

    (void)state;
    make_turns(&t);
    fixture->delivery = t.delivery;
    assert_true(allocfail_each(write_and_free, name) > 20);
    fixture->delivery = before;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(section_is_true_to_scale),
        cmocka_unit_test(section_says_what_the_turn_holds),
        cmocka_unit_test(tendons_without_turns_have_no_file),
        cmocka_unit_test(looking_back_mirrors_the_section),
        cmocka_unit_test(strip_shows_the_turns_that_have_a_place),
        cmocka_unit_test(scale_is_the_largest_usual_one_that_fits),
        cmocka_unit_test(any_failed_allocation_is_nomem),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
