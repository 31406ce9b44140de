/* SPDX-License-Identifier: MIT
 * Byte buffer and the escapes of JSON (RFC 8259 section 7), XML 1.0 (sections
 * 2.2, 2.4, 3.3.3) and CSV (RFC 4180). */
#include "base/buf.h"

#include <string.h>

#include "allocfail.h"
#include "near.h"

static void check(void (*escape)(dm_buf *, const char *), const char *text,
                  const char *expected)
{
    dm_buf buf = {0};

    escape(&buf, text);
    assert_false(buf.failed);
    assert_string_equal(buf.data ? buf.data : "", expected);
    assert_int_equal(buf.length, strlen(expected));
    dm_buf_free(&buf);
}

static void append_mixed_kinds_gives_one_text(void **state)
{
    dm_buf buf = {0};

    (void)state;
    dm_buf_puts(&buf, "a");
    dm_buf_putc(&buf, '=');
    dm_buf_printf(&buf, "%s%d", "n", 5);
    dm_buf_put(&buf, "\0z", 2);
    dm_buf_num(&buf, 0.1);
    dm_buf_putc(&buf, ' ');
    dm_buf_fixed(&buf, -2.345, 1);
    assert_int_equal(buf.length, 14);
    assert_memory_equal(buf.data, "a=n5\0z0.1 -2.3", 15);
    dm_buf_clear(&buf);
    assert_int_equal(buf.length, 0);
    assert_string_equal(buf.data, "");
    dm_buf_free(&buf);
    assert_null(buf.data);
}

static void append_much_keeps_every_byte(void **state)
{
    dm_buf buf = {0};
    size_t i;

    (void)state;
    for (i = 0; i < 100000; i++)
        dm_buf_putc(&buf, (char)('a' + i % 26));
    for (i = 0; i < 100000; i++)
        assert_int_equal(buf.data[i], 'a' + i % 26);
    assert_int_equal(buf.data[100000], 0);
    dm_buf_free(&buf);
}

static void append_without_memory_is_remembered(void **state)
{
    dm_buf buf = {0};

    (void)state;
    dm_buf_puts(&buf, "kept");
    allocfail_arm(1);
    dm_buf_printf(&buf, "%01000d", 1);
    assert_true(allocfail_disarm());
    assert_true(buf.failed);
    dm_buf_puts(&buf, "ignored");
    assert_string_equal(buf.data, "kept");
    dm_buf_free(&buf);
    assert_false(buf.failed);
}

static void append_of_impossible_length_fails(void **state)
{
    dm_buf buf = {0};

    (void)state;
    dm_buf_puts(&buf, "x");
    dm_buf_reserve(&buf, SIZE_MAX - 1);
    assert_true(buf.failed);
    dm_buf_free(&buf);
}

static void json_special_characters_are_escaped(void **state)
{
    (void)state;
    check(dm_buf_json, "", "");
    check(dm_buf_json, "plain <&' text", "plain <&' text");
    check(dm_buf_json, "\"\\/\b\f\n\r\t\x01\x1f",
          "\\\"\\\\/\\b\\f\\n\\r\\t\\u0001\\u001f");
    check(dm_buf_json, "\xC3\x84lv \xF0\x9F\x8C\x89",
          "\xC3\x84lv \xF0\x9F\x8C\x89");
}

static void json_malformed_utf8_becomes_replacement(void **state)
{
    (void)state;
    check(dm_buf_json, "a\x80z", "a\xEF\xBF\xBDz");
    check(dm_buf_json, "\xC3", "\xEF\xBF\xBD"); /* cut off */
    check(dm_buf_json, "\xE2\x82z", "\xEF\xBF\xBD\xEF\xBF\xBDz");
    check(dm_buf_json, "\xC0\xAF", "\xEF\xBF\xBD\xEF\xBF\xBD"); /* overlong */
    check(dm_buf_json, "\xED\xA0\x80",
          "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"); /* surrogate */
    check(dm_buf_json, "\xF4\x90\x80\x80",
          "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
    check(dm_buf_json, "\xF0\x8F\xBF\xBF",
          "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
    check(dm_buf_json, "\xE0\x9F\xBF", "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
    check(dm_buf_json, "\xF4\x8F\xBF\xBF", "\xF4\x8F\xBF\xBF"); /* the last */
}

static void xml_markup_and_white_space_are_escaped(void **state)
{
    (void)state;
    check(dm_buf_xml, "a<b>&\"'c", "a&lt;b&gt;&amp;&quot;&apos;c");
    check(dm_buf_xml, "]]>", "]]&gt;");
    check(dm_buf_xml, "\t\n\r ", "&#9;&#10;&#13; ");
    check(dm_buf_xml, "\xC3\x84", "\xC3\x84");
}

static void xml_forbidden_characters_are_dropped(void **state)
{
    (void)state;
    check(dm_buf_xml, "a\x01\x08\x0b\x1f-", "a-");
    check(dm_buf_xml, "a\xEF\xBF\xBE\xEF\xBF\xBF-", "a-");
    check(dm_buf_xml, "a\xFFz", "a\xEF\xBF\xBDz");
    check(dm_buf_xml, "\xEF\xBF\xBD", "\xEF\xBF\xBD");
}

static void csv_cell_is_quoted_where_needed(void **state)
{
    (void)state;
    check(dm_buf_csv, "", "");
    check(dm_buf_csv, "Span 2", "Span 2");
    check(dm_buf_csv, "a,b", "\"a,b\"");
    check(dm_buf_csv, "a;b", "\"a;b\"");
    check(dm_buf_csv, "a\"b", "\"a\"\"b\"");
    check(dm_buf_csv, "a\r\nb", "\"a\r\nb\"");
    check(dm_buf_csv, " a", "\" a\"");
    check(dm_buf_csv, "a ", "\"a \"");
}

static void csv_formula_is_disarmed(void **state)
{
    (void)state;
    check(dm_buf_csv, "=1+1", "'=1+1");
    check(dm_buf_csv, "+1", "'+1");
    check(dm_buf_csv, "-1", "'-1");
    check(dm_buf_csv, "@a", "'@a");
    check(dm_buf_csv, "\ta", "\"'\ta\"");
    check(dm_buf_csv, "\ra", "\"'\ra\"");
    check(dm_buf_csv, "=a,\"b\"", "\"'=a,\"\"b\"\"\"");
    check(dm_buf_csv, "a=1", "a=1");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(append_mixed_kinds_gives_one_text),
        cmocka_unit_test(append_much_keeps_every_byte),
        cmocka_unit_test(append_without_memory_is_remembered),
        cmocka_unit_test(append_of_impossible_length_fails),
        cmocka_unit_test(json_special_characters_are_escaped),
        cmocka_unit_test(json_malformed_utf8_becomes_replacement),
        cmocka_unit_test(xml_markup_and_white_space_are_escaped),
        cmocka_unit_test(xml_forbidden_characters_are_dropped),
        cmocka_unit_test(csv_cell_is_quoted_where_needed),
        cmocka_unit_test(csv_formula_is_disarmed),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
