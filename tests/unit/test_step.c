/* SPDX-License-Identifier: MIT
 * Tokens of ISO 10303-21 (clause 6, tokens; clause 6.4.3, strings with the
 * control directives \X2\, \X4\, \X0\). Code units of characters: Unicode
 * standard, UTF-16 and UTF-32. */
#define _POSIX_C_SOURCE 200809L
#include "near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "write/step.h"

/* One file, its content read back after `put` has written. */
static void check(void (*put)(dm_step *), const char *expected)
{
    char folder[] = "/tmp/ductmark-step-XXXXXX", path[64];
    dm_place place = {NULL, 0};
    dm_outset *set = NULL;
    dm_out *out = NULL;
    dm_buf text = {0};
    dm_step step;

    assert_non_null(mkdtemp(folder));
    assert_int_equal(dm_outset_new(folder, NULL, &set), DM_OK);
    assert_int_equal(dm_outset_open(set, "f", &out), DM_OK);
    dm_step_init(&step, out);
    put(&step);
    dm_step_flush(&step);
    assert_int_equal(dm_outset_commit(set), DM_OK);
    dm_outset_free(set);
    snprintf(path, sizeof path, "%s/f", folder);
    assert_int_equal(dm_file_read(path, 1 << 20, place, NULL, &text), DM_OK);
    unlink(path);
    rmdir(folder);
    assert_string_equal(text.data == NULL ? "" : text.data, expected);
    dm_buf_free(&text);
}

static void put_texts(dm_step *s)
{
    dm_step_text(s, "plain");
    dm_step_text(s, "");
    dm_step_text(s, NULL);
    dm_step_text(s, "it's a \\ line");
    dm_step_text(s, "\xC3\x84lvsborg");        /* U+00C4 */
    dm_step_text(s, "a\xE6\xA9\x8B\xC3\xA9z"); /* U+6A4B U+00E9 */
    dm_step_text(s, "\xF0\x9F\x8C\x89");       /* U+1F309 */
    dm_step_text(s, "\xC3\x84\xF0\x9F\x8C\x89\xC3\x84");
    dm_step_text(s, "two\nlines\x7F");
    dm_step_text(s, "bad \xFF and \xC3");
    dm_step_text(s, "\xED\xA0\x80"); /* half of a surrogate pair */
    dm_step_text(s, "\xC0\x80");     /* overlong */
}

static void text_any_is_printable_ascii(void **state)
{
    (void)state;
    check(put_texts,
          "'plain','',$,'it''s a \\\\ line','\\X2\\00C4\\X0\\lvsborg',"
          "'a\\X2\\6A4B00E9\\X0\\z','\\X4\\0001F309\\X0\\',"
          "'\\X2\\00C4\\X0\\\\X4\\0001F309\\X0\\\\X2\\00C4\\X0\\',"
          "'two\\X2\\000A\\X0\\lines\\X2\\007F\\X0\\',"
          "'bad \\X2\\FFFD\\X0\\ and \\X2\\FFFD\\X0\\',"
          "'\\X2\\FFFDFFFDFFFD\\X0\\','\\X2\\FFFDFFFD\\X0\\'");
}

static void put_reals(dm_step *s)
{
    dm_step_real(s, 0.0);
    dm_step_real(s, -1.0);
    dm_step_real(s, 0.1);
    dm_step_real(s, 1e-6);
    dm_step_real(s, 1.5e-7);
    dm_step_real(s, -2.5e300);
    dm_step_real(s, 6600000.125);
    dm_step_real(s, (double)NAN);
    dm_step_real(s, HUGE_VAL);
    dm_step_fixed(s, 1.23456789, 3);
    dm_step_fixed(s, 5.0, 2);
    dm_step_fixed(s, 7.0, 0);
    dm_step_fixed(s, 1e20, 3);
    dm_step_fixed(s, -0.0, 2);
}

static void real_any_has_point_and_capital_e(void **state)
{
    (void)state;
    check(put_reals, "0.,-1.,0.1,1.E-06,1.5E-07,-2.5E+300,6600000.125,$,$,"
                     "1.235,5.00,7.,1.E+20,0.00");
}

static void put_line(dm_step *s)
{
    dm_step_id later = dm_step_take(s), id = dm_step_begin(s, "IFCX");

    assert_int_equal(id, 2);
    dm_step_unset(s);
    dm_step_derived(s);
    dm_step_ref(s, later);
    dm_step_ref(s, 0);
    dm_step_open(s);
    dm_step_int(s, 0);
    dm_step_int(s, INT64_MIN);
    dm_step_close(s);
    dm_step_typed(s, "IFCLABEL");
    dm_step_text(s, "x");
    dm_step_close(s);
    dm_step_enum(s, "STRAND");
    dm_step_enum(s, NULL);
    dm_step_bool(s, true);
    dm_step_bool(s, false);
    dm_step_end(s);
    dm_step_begin_as(s, later, "IFCY");
    dm_step_end(s);
}

static void instance_all_parameters_in_order(void **state)
{
    (void)state;
    check(put_line, "#2=IFCX($,*,#1,$,(0,-9223372036854775808),IFCLABEL('x'),"
                    ".STRAND.,$,.T.,.F.);\n#1=IFCY();\n");
}

static void put_header(dm_step *s)
{
    dm_step_header(s, "d", "n.ifc", "2030-06-01T00:00:00", "t 1",
                   "IFC4X3_ADD2");
    dm_step_footer(s);
}

static void header_seven_parameters(void **state)
{
    (void)state;
    check(put_header,
          "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(('d'),'2;1');\n"
          "FILE_NAME('n.ifc','2030-06-01T00:00:00',(''),(''),'t 1','t 1','');\n"
          "FILE_SCHEMA(('IFC4X3_ADD2'));\nENDSEC;\nDATA;\n"
          "ENDSEC;\nEND-ISO-10303-21;\n");
}

static void put_mesh(dm_step *s)
{
    static const float xyz[12] = {0.0f,     -1.5f,  123.456f, 1e-7f,
                                  2.0f,     -0.25f, -1e-7f,   9.999996f,
                                  99999.5f, -0.0f,  0.00001f, -12345678.0f};
    static const uint32_t index[6] = {0, 1, 2, 3, 4, 5};
    static const uint32_t number[6] = {1, 2, 3, 99999, 100, 4294967295u};
    dm_step_label label[6];
    size_t i;

    for (i = 0; i < 6; i++)
        label[i] = dm_step_label_of(number[i]);
    dm_step_points(s, xyz, 4);
    dm_step_triangles(s, index, 2, label);
}

static void mesh_points_and_triangles(void **state)
{
    (void)state;
    check(put_mesh,
          "((0.00000,-1.50000,123.45600),(0.00000,2.00000,-0.25000),(0.00000,"
          "10.00000,99999.50000),(0.00000,0.00001,-12345678.00000)),"
          "((1,2,3),(99999,100,4294967295))");
}

/* More than fit one piece of the buffer: every triangle is there, once. */
static void put_many(dm_step *s)
{
    static dm_step_label label[3 * 1000];
    static uint32_t index[3 * 1000];
    static float xyz[3 * 1000];
    uint32_t i;

    for (i = 0; i < 3000; i++) {
        index[i] = i;
        label[i] = dm_step_label_of(i + 1);
        xyz[i] = (float)i;
    }
    dm_step_points(s, xyz, 1000);
    dm_step_triangles(s, index, 1000, label);
}

static void mesh_many_pieces_join(void **state)
{
    dm_buf expected = {0};
    int i;

    (void)state;
    for (i = 0; i < 3000; i += 3)
        dm_buf_printf(&expected, "%s(%d.00000,%d.00000,%d.00000)",
                      i == 0 ? "(" : ",", i, i + 1, i + 2);
    for (i = 0; i < 3000; i += 3)
        dm_buf_printf(&expected, "%s(%d,%d,%d)", i == 0 ? "),(" : ",", i + 1,
                      i + 2, i + 3);
    dm_buf_puts(&expected, ")");
    check(put_many, expected.data);
    dm_buf_free(&expected);
}

static void characters_utf8_are_counted_once(void **state)
{
    (void)state;
    assert_int_equal(dm_step_characters(""), 0);
    assert_int_equal(dm_step_characters("abc"), 3);
    assert_int_equal(dm_step_characters("\xC3\x84\xF0\x9F\x8C\x89"), 2);
    assert_int_equal(dm_step_characters("\xFF\xFE"), 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_any_is_printable_ascii),
        cmocka_unit_test(real_any_has_point_and_capital_e),
        cmocka_unit_test(instance_all_parameters_in_order),
        cmocka_unit_test(header_seven_parameters),
        cmocka_unit_test(mesh_points_and_triangles),
        cmocka_unit_test(mesh_many_pieces_join),
        cmocka_unit_test(characters_utf8_are_counted_once),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
