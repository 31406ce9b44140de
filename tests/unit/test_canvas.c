/* SPDX-License-Identifier: MIT
 * The canvas: outlines and hatching against areas and lengths known in closed
 * form, text cleaned, cut and broken, and the same bytes for the same calls in
 * every format. */
#define _POSIX_C_SOURCE 200809L
#include "near.h"

#include <stdlib.h>
#include <string.h>

#include "allocfail.h"
#include "draw/canvas.h"
#include "draw/text.h"
#include "scratch.h"

#define PI 3.14159265358979323846

static dm_fonts *fonts;

static int set_up(void **state)
{
    (void)state;
    return dm_fonts_new(&fonts) == DM_OK ? 0 : 1;
}

static int tear_down(void **state)
{
    (void)state;
    dm_fonts_free(fonts);
    return 0;
}

/* ---- outlines and hatching -------------------------------------------- */

static double lines_length(const dm_path *lines)
{
    double sum = 0.0;
    size_t i;

    for (i = 0; i + 1 < lines->count; i += 2)
        sum += hypot(lines->steps[i + 1].x - lines->steps[i].x,
                     lines->steps[i + 1].y - lines->steps[i].y);
    return sum;
}

static void arc_stays_within_its_chord_error(void **state)
{
    const double radii[] = {0.05, 1.0, 30.0, 500.0};
    size_t i, k;

    (void)state;
    for (i = 0; i < 4; i++) {
        dm_path p = {0};

        dm_path_circle(&p, 3.0, -2.0, radii[i]);
        assert_false(p.failed);
        for (k = 0; k + 2 < p.count; k++) {
            double x = 0.5 * (p.steps[k].x + p.steps[k + 1].x);
            double y = 0.5 * (p.steps[k].y + p.steps[k + 1].y);

            assert_near(hypot(p.steps[k].x - 3.0, p.steps[k].y + 2.0), radii[i],
                        1e-9);
            assert_true(radii[i] - hypot(x - 3.0, y + 2.0) < 0.0101);
        }
        dm_path_free(&p);
    }
}

/* Lines a step apart have an area of length times step. */
static void hatch_fills_the_area_and_nothing_else(void **state)
{
    const double angles[] = {0.0, -PI / 4.0, PI / 2.0, 1.0};
    size_t i, k;

    (void)state;
    for (i = 0; i < 4; i++) {
        dm_path ring = {0}, lines = {0};

        dm_path_circle(&ring, 20.0, 10.0, 9.0);
        dm_path_circle(&ring, 20.0, 10.0, 4.0);
        dm_path_hatch(&ring, angles[i], 0.05, &lines);
        assert_near(0.05 * lines_length(&lines), PI * (81.0 - 16.0), 0.4);
        for (k = 0; k + 1 < lines.count; k += 2) {
            double x = 0.5 * (lines.steps[k].x + lines.steps[k + 1].x) - 20.0;
            double y = 0.5 * (lines.steps[k].y + lines.steps[k + 1].y) - 10.0;

            assert_in_range((long)(100.0 * hypot(x, y)), 398, 901);
        }
        dm_path_free(&ring);
        dm_path_free(&lines);
    }
}

static void hatch_of_neighbours_lies_on_the_same_lines(void **state)
{
    dm_path left = {0}, right = {0}, lines = {0};
    size_t i;

    (void)state;
    dm_path_rect(&left, 3.3, 1.0, 5.0, 4.0);
    dm_path_rect(&right, 8.3, 1.0, 5.0, 4.0);
    dm_path_hatch(&left, -PI / 4.0, 1.5, &lines);
    dm_path_hatch(&right, -PI / 4.0, 1.5, &lines);
    assert_true(lines.count > 10);
    for (i = 0; i < lines.count; i++) {
        double v = (lines.steps[i].x + lines.steps[i].y) / sqrt(2.0) / 1.5;

        assert_near(v, floor(v + 0.5), 1e-9);
    }
    dm_path_free(&left);
    dm_path_free(&right);
    dm_path_free(&lines);
}

static void hatch_of_an_endless_area_is_left_out(void **state)
{
    dm_path wide = {0}, lines = {0};

    (void)state;
    dm_path_rect(&wide, 0.0, 0.0, 1e9, 1e9);
    dm_path_hatch(&wide, 0.3, 0.5, &lines);
    assert_int_equal(lines.count, 0);
    dm_path_free(&wide);
    dm_path_free(&lines);
}

/* ---- text ------------------------------------------------------------- */

static void clean_keeps_text_and_drops_what_misleads(void **state)
{
    static const struct {
        const char *in, *out;
    } cases[] = {
        {"", ""},
        {"T4L", "T4L"},
        {"M\xc3\xbchlbach \xe6\xa9\x8b", "M\xc3\xbchlbach \xe6\xa9\x8b"},
        {"a\tb\nc\x7f", "a b c "},
        {"A\xe2\x80\xaeL1", "AL1"},                   /* U+202E */
        {"A\xe2\x81\xa6L1\xe2\x80\x8f", "AL1"},       /* U+2066, U+200F */
        {"x\xc0\xafy", "x\xef\xbf\xbd\xef\xbf\xbdy"}, /* overlong */
        {"\xed\xa0\x80", "\xef\xbf\xbd\xef\xbf\xbd\xef\xbf\xbd"},
        {"e\xcc\x81\xcc\x82\xcc\x83\xcc\x84z", "e\xcc\x81\xcc\x82z"},
        {"\xe2\x82", "\xef\xbf\xbd\xef\xbf\xbd"}, /* cut short */
        {"\xef\xbf\xbf", "\xef\xbf\xbd"},         /* U+FFFF */
        {"\xf0\x9f\x94\xa9", "\xf0\x9f\x94\xa9"},
    };
    size_t i;

    (void)state;
    for (i = 0; i < sizeof cases / sizeof *cases; i++) {
        dm_buf out = {0};

        dm_text_clean(cases[i].in, &out);
        assert_string_equal(out.data == NULL ? "" : out.data, cases[i].out);
        dm_buf_free(&out);
    }
}

static void width_is_proportional_to_size_and_greater_in_bold(void **state)
{
    const char *text = "T4L-I03  3.214 m";
    double w = dm_text_width(fonts, text, 8.0, false);

    (void)state;
    assert_true(w > 15.0 && w < 40.0);
    assert_near(dm_text_width(fonts, text, 16.0, false), 2.0 * w, 1e-6);
    assert_true(dm_text_width(fonts, text, 8.0, true) > w);
    assert_near(dm_text_width(fonts, "", 8.0, false), 0.0, 0.0);
    assert_true(dm_text_width(fonts, "\xd7\xa9\xd7\x9c", 8.0, false) > 0.0);
    assert_true(dm_text_width(fonts, "\xf4\x8f\xbf\xbd", 8.0, false) >= 0.0);
}

static void fit_cuts_with_an_ellipsis(void **state)
{
    const double widths[] = {60.0, 20.0, 5.0, 0.5};
    size_t i;

    (void)state;
    for (i = 0; i < 4; i++) {
        dm_buf text = {0};

        dm_buf_puts(&text, "second from left web, \xc3\xa4\xc3\xb6 top row");
        dm_text_fit(fonts, &text, widths[i], 8.0, false);
        assert_true(i == 3 ||
                    dm_text_width(fonts, text.data, 8.0, false) <= widths[i]);
        assert_int_equal(strstr(text.data, "\xe2\x80\xa6") != NULL, i > 0);
        dm_buf_free(&text);
    }
}

static void lines_fit_and_nothing_is_lost(void **state)
{
    const char *text = "Drilling, opening and vacuum work only by qualified "
                       "people "
                       "Donaudampfschifffahrtsgesellschaftskapit\xc3\xa4n "
                       "under   permission.";
    double width;

    (void)state;
    for (width = 4.0; width < 120.0; width += 7.0) {
        const char *at = text;
        dm_buf all = {0};

        while (*at != '\0') {
            size_t skip, n = dm_text_line(fonts, at, width, 8.0, false, &skip);
            char line[200] = {0};

            assert_true(n > 0);
            memcpy(line, at, n);
            assert_true(dm_text_width(fonts, line, 8.0, false) <= width);
            dm_buf_put(&all, at, n + skip);
            at += n + skip;
        }
        assert_string_equal(all.data, text);
        dm_buf_free(&all);
    }
}

/* ---- canvases --------------------------------------------------------- */

static const dm_look box = {.fill = 0xffeecc,
                            .stroke = 0x000000,
                            .width = 0.3,
                            .dash = DM_DASH_DASHED,
                            .hatch = DM_HATCH_CROSS,
                            .hatch_colour = 0x333333,
                            .hatch_step = 1.5,
                            .hatch_width = 0.15};

static void draw(dm_canvas *c, const char *text)
{
    const double corners[] = {10, 10, 30, 12, 20, 25};
    dm_look look = box;
    int k;

    dm_canvas_group(c, text);
    for (k = 0; k <= (int)DM_HATCH_DOTS; k++) {
        look.hatch = (dm_hatch)k;
        dm_canvas_rect(c, 5.0 + 10.0 * k, 30.0, 8.0, 8.0, &look);
    }
    dm_canvas_polygon(c, corners, 3, &box);
    dm_canvas_clip(c, 40.0, 5.0, 20.0, 20.0);
    dm_canvas_circle(c, 50.0, 15.0, 12.0, &box);
    dm_canvas_unclip(c);
    dm_canvas_line(c, 0.0, 0.0, 90.0, 60.0, &box);
    dm_canvas_group_end(c);
    dm_canvas_text(c, 5.0, 45.0, text, &(dm_type){.size = 11.0});
    dm_canvas_text(c, 80.0, 45.0, text,
                   &(dm_type){.size = 8.0,
                              .bold = true,
                              .align = DM_ALIGN_RIGHT,
                              .turn = -PI / 2.0,
                              .colour = 0x0072b2,
                              .halo = 0.4});
    dm_canvas_text_block(c, 5.0, 50.0, 40.0, text,
                         &(dm_type){.size = 8.0, .align = DM_ALIGN_LEFT}, true);
}

typedef struct {
    dm_canvas_kind kind;
    const char *text;
    scratch *folder;
    const char *name;
} job;

static dm_status make(void *user)
{
    const job *j = user;
    const dm_sheet sheet = {.kind = j->kind,
                            .width = 100.0,
                            .height = 60.0,
                            .dpi = 127.0,
                            .title = j->text,
                            .summary = j->text,
                            .date = "2030-06-01"};
    dm_outset *set = NULL;
    dm_canvas *c = NULL;
    dm_out *out;
    dm_status status = dm_outset_new(j->folder->folder, NULL, &set);

    if (status == DM_OK)
        status = dm_outset_open(set, j->name, &out);
    if (status == DM_OK)
        status = dm_canvas_new(fonts, &sheet, &c);
    if (status == DM_OK) {
        draw(c, j->text);
        if (j->kind == DM_CANVAS_PDF) {
            dm_canvas_next_page(c);
            draw(c, "page 2");
        }
        status = dm_canvas_finish(c, out);
    }
    if (status == DM_OK)
        status = dm_outset_commit(set);
    dm_canvas_free(c);
    dm_outset_free(set);
    return status;
}

static void read_back(const scratch *folder, const char *name, dm_buf *out)
{
    char path[512];

    snprintf(path, sizeof path, "%s/%s", folder->folder, name);
    *out = (dm_buf){0};
    assert_int_equal(
        dm_file_read(path, (size_t)1 << 24, (dm_place){NULL, 0}, NULL, out),
        DM_OK);
}

static void clear(scratch *folder)
{
    static const char *const names[] = {"a",     "a.svg", "a.png", "a.pdf",
                                        "b.svg", "b.png", "b.pdf"};
    char path[512];
    size_t i;

    for (i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/%s", folder->folder, names[i]);
        unlink(path);
    }
    scratch_free(folder);
}

static const char hostile[] = "<script>alert('x')</script> & \"q\" ]]> "
                              "\xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d e\xcc\x81";

static void same_calls_give_the_same_bytes(void **state)
{
    static const char *const first[] = {"a.svg", "a.png", "a.pdf"};
    static const char *const again[] = {"b.svg", "b.png", "b.pdf"};
    scratch folder;
    int k;

    (void)state;
    scratch_init(&folder);
    for (k = 0; k < 3; k++) {
        job a = {(dm_canvas_kind)k, hostile, &folder, first[k]};
        job b = {(dm_canvas_kind)k, hostile, &folder, again[k]};
        dm_buf x, y;

        assert_int_equal(make(&a), DM_OK);
        assert_int_equal(make(&b), DM_OK);
        read_back(&folder, first[k], &x);
        read_back(&folder, again[k], &y);
        assert_int_equal(x.length, y.length);
        assert_memory_equal(x.data, y.data, x.length);
        dm_buf_free(&x);
        dm_buf_free(&y);
    }
    clear(&folder);
}

static void svg_escapes_what_files_say(void **state)
{
    scratch folder;
    job j = {DM_CANVAS_SVG, hostile, &folder, "a.svg"};
    dm_buf svg;

    (void)state;
    scratch_init(&folder);
    assert_int_equal(make(&j), DM_OK);
    read_back(&folder, "a.svg", &svg);
    assert_null(strstr(svg.data, "<script"));
    assert_null(strstr(svg.data, "]]>"));
    assert_non_null(strstr(svg.data, "&lt;script&gt;alert("));
    assert_non_null(strstr(svg.data, "width=\"100mm\" height=\"60mm\" "
                                     "viewBox=\"0 0 100 60\""));
    assert_non_null(strstr(svg.data, "</svg>\n"));
    dm_buf_free(&svg);
    clear(&folder);
}

static unsigned long big_endian(const char *at)
{
    const unsigned char *b = (const unsigned char *)at;

    return (unsigned long)b[0] << 24 | (unsigned long)b[1] << 16 |
           (unsigned long)b[2] << 8 | b[3];
}

/* PNG (ISO/IEC 15948): signature, then IHDR with width and height. 100 mm at
 * 127 dpi are 500 pixels. */
static void png_has_the_size_asked_for(void **state)
{
    scratch folder;
    job j = {DM_CANVAS_PNG, "T1", &folder, "a.png"};
    dm_buf png;

    (void)state;
    scratch_init(&folder);
    assert_int_equal(make(&j), DM_OK);
    read_back(&folder, "a.png", &png);
    assert_memory_equal(png.data, "\x89PNG\r\n\x1a\n", 8);
    assert_memory_equal(png.data + 12, "IHDR", 4);
    assert_int_equal(big_endian(png.data + 16), 500);
    assert_int_equal(big_endian(png.data + 20), 300);
    assert_null(strstr(png.data + 30, "tIME"));
    dm_buf_free(&png);
    clear(&folder);
}

static void pdf_has_the_date_given_and_no_other(void **state)
{
    scratch folder;
    job j = {DM_CANVAS_PDF, "T1", &folder, "a.pdf"};
    size_t i, dates = 0;
    dm_buf pdf;

    (void)state;
    scratch_init(&folder);
    assert_int_equal(make(&j), DM_OK);
    read_back(&folder, "a.pdf", &pdf);
    for (i = 0; i + 32 < pdf.length; i++) {
        bool made = memcmp(pdf.data + i, "/CreationDate (", 15) == 0;
        bool changed = memcmp(pdf.data + i, "/ModDate (", 10) == 0;

        if (!made && !changed)
            continue;
        assert_memory_equal(pdf.data + i + (made ? 15 : 10), "20300601", 8);
        dates++;
    }
    assert_int_equal(dates, 2);
    dm_buf_free(&pdf);
    clear(&folder);
}

static void sizes_that_cannot_be_are_refused(void **state)
{
    const dm_sheet bad[] = {{.width = 0.0, .height = 10.0},
                            {.width = 10.0, .height = 6000.0},
                            {.width = (double)NAN, .height = 10.0},
                            {.width = 10.0, .height = 10.0, .dpi = 5000.0}};
    dm_canvas *c;
    size_t i;

    (void)state;
    for (i = 0; i < 4; i++) {
        assert_int_equal(dm_canvas_new(fonts, &bad[i], &c), DM_RANGE);
        assert_null(c);
    }
}

static void any_failed_allocation_is_nomem(void **state)
{
    scratch folder;
    int k;

    (void)state;
    scratch_init(&folder);
    for (k = 0; k < 3; k++) {
        job j = {(dm_canvas_kind)k, hostile, &folder, "a"};

        assert_true(allocfail_each(make, &j) > 10);
    }
    clear(&folder);
}

static dm_status load_fonts(void *user)
{
    dm_fonts *f = NULL;
    dm_status status = dm_fonts_new(&f);

    (void)user;
    dm_fonts_free(f);
    return status;
}

static void fonts_without_memory_are_nomem(void **state)
{
    (void)state;
    assert_true(allocfail_each(load_fonts, NULL) >= 1);
    assert_true(dm_fonts_wished(fonts));
}

/* U+E123 is for private use: no font of a distribution has it. */
static void letters_that_no_font_has_are_told(void **state)
{
    dm_fonts *f;

    (void)state;
    assert_int_equal(dm_fonts_new(&f), DM_OK);
    dm_fonts_advance(f, "Tendon L1, \xd0\x91\xd0\xbb\xd0\xbe\xd0\xba", true);
    assert_false(dm_fonts_missing(f));
    dm_fonts_advance(f, "Tendon \xee\x84\xa3", false);
    assert_true(dm_fonts_missing(f));
    dm_fonts_free(f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(letters_that_no_font_has_are_told),
        cmocka_unit_test(arc_stays_within_its_chord_error),
        cmocka_unit_test(hatch_fills_the_area_and_nothing_else),
        cmocka_unit_test(hatch_of_neighbours_lies_on_the_same_lines),
        cmocka_unit_test(hatch_of_an_endless_area_is_left_out),
        cmocka_unit_test(clean_keeps_text_and_drops_what_misleads),
        cmocka_unit_test(width_is_proportional_to_size_and_greater_in_bold),
        cmocka_unit_test(fit_cuts_with_an_ellipsis),
        cmocka_unit_test(lines_fit_and_nothing_is_lost),
        cmocka_unit_test(same_calls_give_the_same_bytes),
        cmocka_unit_test(svg_escapes_what_files_say),
        cmocka_unit_test(png_has_the_size_asked_for),
        cmocka_unit_test(pdf_has_the_date_given_and_no_other),
        cmocka_unit_test(sizes_that_cannot_be_are_refused),
        cmocka_unit_test(any_failed_allocation_is_nomem),
        cmocka_unit_test(fonts_without_memory_are_nomem),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
