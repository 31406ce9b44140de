/* SPDX-License-Identifier: MIT
 * The XML reader: typed attributes with their units, walking, refusals,
 * messages. */
#include <locale.h>
#include <stdlib.h>

#include "allocfail.h"
#include "base/buf.h"
#include "model/schemas.h"
#include "model/xml.h"
#include "near.h"
#include "said.h"

static const double PI = 3.14159265358979323846;

/* Anything goes: the typed attributes are looked at, not the schema. */
static const char any[] =
    "<xs:schema xmlns:xs='http://www.w3.org/2001/XMLSchema'>"
    "<xs:element name='r' type='xs:anyType'/></xs:schema>";

typedef struct {
    dm_arena *arena;
    dm_xml *xml;
    said heard;
    dm_status status;
} document;

static document *open_as(const char *text, size_t length, const char *root,
                         const unsigned char *xsd, size_t size)
{
    document *d = calloc(1, sizeof *d);
    dm_buf buf = {0};

    assert_non_null(d);
    said_init(&d->heard);
    d->arena = dm_arena_new();
    dm_buf_put(&buf, text, length);
    d->status = dm_xml_read_text("doc.xml", &buf, root, xsd, size, d->arena,
                                 &d->heard.diag, &d->xml);
    assert_true((d->status == DM_OK) == (d->xml != NULL));
    dm_buf_free(&buf);
    return d;
}

static document *open_any(const char *text)
{
    return open_as(text, strlen(text), "r", (const unsigned char *)any,
                   sizeof any - 1);
}

static void close_document(document *d)
{
    dm_xml_free(d->xml);
    dm_arena_free(d->arena);
    free(d);
}

/* What is said of a text that is refused as a bridge. */
static void assert_refused(const char *text, size_t length, dm_status status,
                           const char *want)
{
    document *d =
        open_as(text, length, "bridge", dm_xsd_bridge, dm_xsd_bridge_size);

    assert_string_equal(d->heard.text, want);
    assert_int_equal(d->status, status);
    close_document(d);
}

#define ASSERT_REFUSED(text, status, want)                                     \
    assert_refused((text), strlen(text), (status), (want))

/* ---- typed attributes ---- */

/* Foot and inch exactly 0.3048 m and 0.0254 m, US survey foot 1200/3937 m:
 * 85 FR 62698, 5 October 2020. */
static void length_units_give_metres(void **state)
{
    document *d = open_any("<r m='12.5 m' mm='-114.3 mm' ft='100 ft' "
                           "inch='4.5 in' us='3937 us-ft' plus='+1 m'/>");
    const dm_xml_node *r = dm_xml_root(d->xml);

    (void)state;
#define LENGTH(name) dm_xml_length(d->xml, r, name, -1e9, 1e9, -7.0)
    assert_near(LENGTH("m"), 12.5, 0.0);
    assert_near(LENGTH("mm"), -0.1143, 1e-16);
    assert_near(LENGTH("ft"), 30.48, 1e-14);
    assert_near(LENGTH("inch"), 0.1143, 1e-16);
    assert_near(LENGTH("us"), 1200.0, 1e-12);
    assert_near(LENGTH("plus"), 1.0, 0.0);
    assert_near(LENGTH("absent"), -7.0, 0.0);
#undef LENGTH
    assert_near(dm_unit_metres("us-ft"), 1200.0 / 3937.0, 0.0);
    assert_near(dm_unit_metres("cm"), 0.0, 0.0);
    assert_string_equal(d->heard.text, "");
    assert_int_equal(dm_xml_status(d->xml), DM_OK);
    close_document(d);
}

static void other_units_give_si(void **state)
{
    document *d =
        open_any("<r a='140 mm2' b='0.217 in2' c='2 m2' l='1.2 L' i='1 in3' "
                 "f='1 ft3' w='212 degF' z='32 degF' k='-40 degF' t='12 degC' "
                 "deg='-90 deg' x='-1.5' n='200'/>");
    const dm_xml_node *r = dm_xml_root(d->xml);
    dm_xml *x = d->xml;

    (void)state;
    assert_near(dm_xml_area(x, r, "a", 0, 1, 9), 140e-6, 1e-19);
    assert_near(dm_xml_area(x, r, "b", 0, 1, 9), 0.217 * 0.00064516, 1e-18);
    assert_near(dm_xml_area(x, r, "c", 0, 9, 9), 2.0, 0.0);
    assert_near(dm_xml_volume(x, r, "l", 0, 1, 9), 0.0012, 1e-18);
    assert_near(dm_xml_volume(x, r, "i", 0, 1, 9), 1.6387064e-5, 1e-19);
    assert_near(dm_xml_volume(x, r, "f", 0, 1, 9), 0.028316846592, 1e-16);
    assert_near(dm_xml_temperature(x, r, "w", -99, 999, 9), 100.0, 1e-12);
    assert_near(dm_xml_temperature(x, r, "z", -99, 999, 9), 0.0, 1e-12);
    assert_near(dm_xml_temperature(x, r, "k", -99, 999, 9), -40.0, 1e-12);
    assert_near(dm_xml_temperature(x, r, "t", -99, 999, 9), 12.0, 0.0);
    assert_near(dm_xml_angle(x, r, "deg", -4, 4, 9), -0.5 * PI, 1e-15);
    assert_near(dm_xml_real(x, r, "x", -9, 9, 9), -1.5, 0.0);
    assert_int_equal(dm_xml_int(x, r, "n", 0, 999, 9), 200);
    assert_string_equal(d->heard.text, "");
    close_document(d);
}

static void clock_by_degrees_or_hours_is_one_turn(void **state)
{
    static const struct {
        const char *text;
        double degrees;
    } cases[] = {
        {"0 deg", 0.0},   {"90 deg", 90.0}, {"359.5 deg", 359.5},
        {"360 deg", 0.0}, {"0:00", 0.0},    {"3:00", 90.0},
        {"3:30", 105.0},  {"11:59", 359.5}, {"12:00", 0.0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[60];
        snprintf(text, sizeof text, "<r c='%s'/>", cases[i].text);
        document *d = open_any(text);
        const dm_xml_node *r = dm_xml_root(d->xml);
        assert_near(dm_xml_clock(d->xml, r, "c", 9.0),
                    cases[i].degrees * PI / 180.0, 1e-12);
        assert_near(dm_xml_clock(d->xml, r, "none", 9.0), 9.0, 0.0);
        assert_int_equal(dm_xml_status(d->xml), DM_OK);
        close_document(d);
    }
}

static void words_and_truth_values_are_told_apart(void **state)
{
    static const char *const words[] = {"back", "ahead", NULL};
    document *d = open_any("<r s='ahead' t='true' o='1' f='false' z='0'/>");
    const dm_xml_node *r = dm_xml_root(d->xml);

    (void)state;
    assert_int_equal(dm_xml_word(d->xml, r, "s", words, 7), 1);
    assert_int_equal(dm_xml_word(d->xml, r, "none", words, 7), 7);
    assert_true(dm_xml_bool(d->xml, r, "t", false));
    assert_true(dm_xml_bool(d->xml, r, "o", false));
    assert_false(dm_xml_bool(d->xml, r, "f", true));
    assert_false(dm_xml_bool(d->xml, r, "z", true));
    assert_true(dm_xml_bool(d->xml, r, "none", true));
    close_document(d);
}

static void range_is_named_in_the_unit_as_written(void **state)
{
    document *d = open_any("<r a='3000 mm' b='-1 in' c='95 deg'\n d='9' "
                           "e='2 ft'/>");
    const dm_xml_node *r = dm_xml_root(d->xml);

    (void)state;
    assert_near(dm_xml_length(d->xml, r, "a", 0.0, 2.0, 7.0), 7.0, 0.0);
    assert_near(dm_xml_length(d->xml, r, "b", 0.0, 0.254, 7.0), 7.0, 0.0);
    assert_near(dm_xml_angle(d->xml, r, "c", 0.0, 0.5 * PI, 7.0), 7.0, 0.0);
    assert_near(dm_xml_real(d->xml, r, "d", 0.0, 8.0, 7.0), 7.0, 0.0);
    /* On the bound is inside. */
    assert_near(dm_xml_length(d->xml, r, "e", 0.6096, 0.6096, 7.0), 0.6096,
                0.0);
    assert_string_equal(
        d->heard.text,
        "doc.xml:1: error: r: attribute 'a' is 3000 mm, expected 0 to 2000 "
        "mm\n"
        "doc.xml:1: error: r: attribute 'b' is -1 in, expected 0 to 10 in\n"
        "doc.xml:1: error: r: attribute 'c' is 95 deg, expected 0 to 90 deg\n"
        "doc.xml:1: error: r: attribute 'd' is 9, expected 0 to 8\n");
    assert_int_equal(dm_xml_status(d->xml), DM_RANGE);
    assert_int_equal(dm_xml_fault_count(d->xml), 4);
    close_document(d);
}

static void decimal_comma_locale_changes_nothing(void **state)
{
    document *d;

    (void)state;
    if (!setlocale(LC_ALL, "de_DE.UTF-8")) {
        print_message("no locale with a decimal comma: skipped\n");
        skip();
    }
    d = open_any("<r a='12.5 mm' b='2.5'/>");
    const dm_xml_node *r = dm_xml_root(d->xml);
    assert_near(dm_xml_length(d->xml, r, "a", 0, 1, 9), 0.0125, 1e-17);
    dm_xml_real(d->xml, r, "b", 0.0, 1.5, 9.0);
    assert_string_equal(
        d->heard.text,
        "doc.xml:1: error: r: attribute 'b' is 2.5, expected 0 to 1.5\n");
    close_document(d);
    setlocale(LC_ALL, "C");
}

/* ---- walking ---- */

static void walk_by_name_skips_text_and_comments(void **state)
{
    document *d = open_any("<r>\n <a i='1'/>\n <!-- b -->\n <b i='2'/> text\n"
                           " <a i='3'><c/></a>\n</r>");
    const dm_xml_node *r = dm_xml_root(d->xml);
    const dm_xml_node *a = dm_xml_child(r, "a"), *b = dm_xml_next(a, NULL);

    (void)state;
    assert_string_equal(dm_xml_name(b), "b");
    assert_int_equal(dm_xml_place(d->xml, b).line, 4);
    assert_string_equal(dm_xml_place(d->xml, b).file, "doc.xml");
    assert_int_equal(dm_xml_count(r, "a"), 2);
    assert_int_equal(dm_xml_count(r, NULL), 3);
    a = dm_xml_next(a, "a");
    assert_string_equal(dm_xml_text(d->xml, a, "i", ""), "3");
    assert_null(dm_xml_next(a, NULL));
    assert_null(dm_xml_child(r, "c"));
    assert_null(dm_xml_child(NULL, "c"));
    assert_null(dm_xml_next(NULL, NULL));
    assert_false(dm_xml_has(NULL, "i"));
    assert_string_equal(dm_xml_text(d->xml, NULL, "i", "none"), "none");
    close_document(d);
}

static void first_fault_keeps_its_status(void **state)
{
    document *d = open_any("<r/>");
    const dm_xml_node *r = dm_xml_root(d->xml);

    (void)state;
    dm_xml_warn(d->xml, r, "only a warning");
    assert_int_equal(dm_xml_status(d->xml), DM_OK);
    assert_int_equal(dm_xml_fault(d->xml, r, DM_GEOMETRY, "%s %d", "bad", 1),
                     DM_GEOMETRY);
    assert_int_equal(dm_xml_fault(d->xml, NULL, DM_RANGE, "worse"), DM_RANGE);
    assert_int_equal(dm_xml_status(d->xml), DM_GEOMETRY);
    assert_string_equal(d->heard.text, "doc.xml:1: warning: r: only a warning\n"
                                       "doc.xml:1: error: r: bad 1\n"
                                       "doc.xml: error: worse\n");
    close_document(d);
}

static void a_flood_of_faults_is_cut(void **state)
{
    document *d = open_any("<r/>");

    (void)state;
    for (int i = 0; i < 5000; i++)
        dm_xml_fault(d->xml, NULL, DM_RANGE, "x");
    assert_int_equal(d->heard.diag.errors, 1001);
    assert_int_equal(dm_xml_fault_count(d->xml), 5000);
    const char *last = strstr(d->heard.text, "more than");
    assert_non_null(last);
    assert_string_equal(last, "more than 1000 faults, the rest is not "
                              "listed\n");
    close_document(d);
}

/* SHA-256 of the four bytes "<r/>" by sha256sum of GNU coreutils. */
static void hash_is_sha256_of_the_text(void **state)
{
    document *d = open_any("<r/>");

    (void)state;
    assert_string_equal(
        dm_xml_sha256(d->xml),
        "5382511e672645156e2889ebc21c72a0e59377fcbe774abaa703e0a42b3d2006");
    close_document(d);
}

/* ---- encodings and lines ---- */

static void only_utf8_is_read_with_or_without_a_mark(void **state)
{
    static const char bom[] = "\xef\xbb\xbf<r n='Br\xc3\xbc"
                              "cke'/>";
    static const char latin[] = "<?xml version='1.0' encoding='ISO-8859-1'?>\n"
                                "<r n='Br\xfc"
                                "cke'/>";
    static const char utf16[] = "\xff\xfe<\0r\0/\0>\0";
    document *d = open_any(bom);

    (void)state;
    assert_string_equal(d->heard.text, "");
    assert_string_equal(dm_xml_text(d->xml, dm_xml_root(d->xml), "n", ""),
                        "Br\xc3\xbc"
                        "cke");
    close_document(d);
    ASSERT_REFUSED(latin, DM_SYNTAX,
                   "doc.xml:2: error: not UTF-8 text (byte 252)\n");
    assert_refused(utf16, sizeof utf16 - 1, DM_SYNTAX,
                   "doc.xml:1: error: not UTF-8 text (byte 255)\n");
}

static void a_tag_over_several_lines_has_its_first(void **state)
{
    static const char text[] =
        "<!-- a > b -->\n<catalogue version='1' id='C'>\n"
        "  <strand-type id='S'\n      diameter='5 mm'\r\n      area='1'/>\n"
        "<!-- < --> <strand-type\n\n  id='T > U' diameter='5 mm' area='1 "
        "mm2'></strand-type>\n</catalogue>";
    document *d = open_as(text, sizeof text - 1, "catalogue", dm_xsd_catalogue,
                          dm_xsd_catalogue_size);

    (void)state;
    assert_string_equal(
        d->heard.text,
        "doc.xml:3: error: strand-type: attribute 'area': '1' is not an area "
        "with its unit (m2, mm2 or in2), such as 140 mm2\n"
        "doc.xml:6: error: strand-type: attribute 'id': 'T > U' is not an id: "
        "a letter or digit, then letters, digits, _ . or -\n");
    close_document(d);
}

/* The library counts in 16 bits unless asked; beyond, +-1 is what it can. */
static void lines_beyond_65535_are_right_to_one(void **state)
{
    dm_buf text = {0};

    (void)state;
    dm_buf_puts(&text, "<r>");
    for (int i = 1; i < 70000; i++)
        dm_buf_puts(&text, "\n");
    dm_buf_puts(&text, "<a/></r>");
    document *d = open_any(text.data);
    const dm_xml_node *a = dm_xml_child(dm_xml_root(d->xml), "a");
    assert_true(labs(dm_xml_place(d->xml, a).line - 70000) <= 1);
    close_document(d);
    dm_buf_free(&text);
}

/* ---- refusals ---- */

static void doctype_is_refused_before_it_is_read(void **state)
{
    static const char want[] =
        "doc.xml:2: error: a document type declaration (DOCTYPE) is not "
        "allowed; remove it and all entities\n";

    (void)state;
    ASSERT_REFUSED("<?xml version='1.0'?>\n<!DOCTYPE bridge>\n<bridge/>",
                   DM_SYNTAX, want);
    ASSERT_REFUSED("<?xml version='1.0'?>\n<!DOCTYPE bridge SYSTEM "
                   "'file:///etc/hostname'>\n<bridge/>",
                   DM_SYNTAX, want);
    ASSERT_REFUSED("<?xml version='1.0'?>\n<!DOCTYPE b [<!ENTITY a 'x'>"
                   "<!ENTITY b '&a;&a;'>]>\n<bridge id='&b;'/>",
                   DM_SYNTAX, want);
}

/* A hint where a schema lies is not followed; another type is not taken. */
static void schema_hints_are_not_followed(void **state)
{
#define XSI " xmlns:xsi='http://www.w3.org/2001/XMLSchema-instance' "
    static const char catalogue[] =
        "<catalogue version='1' id='C'" XSI
        "xsi:noNamespaceSchemaLocation='http://127.0.0.1:1/none.xsd' "
        "xsi:schemaLocation='urn:a file:///nonexistent.xsd'/>";
    static const char nil[] =
        "<catalogue version='1' id='C'" XSI "xsi:nil='true'/>";

    (void)state;
    document *d = open_as(catalogue, sizeof catalogue - 1, "catalogue",
                          dm_xsd_catalogue, dm_xsd_catalogue_size);
    assert_string_equal(d->heard.text, "");
    close_document(d);
    d = open_as(nil, sizeof nil - 1, "catalogue", dm_xsd_catalogue,
                dm_xsd_catalogue_size);
    assert_int_equal(d->status, DM_SCHEMA);
    close_document(d);
#undef XSI
}

static void what_is_no_bridge_is_said(void **state)
{
    (void)state;
    ASSERT_REFUSED("", DM_SYNTAX,
                   "doc.xml: error: an empty file, expected a 'bridge' "
                   "document\n");
    ASSERT_REFUSED("\n<job/>", DM_SCHEMA,
                   "doc.xml:2: error: the root element is 'job', expected "
                   "'bridge'\n");
    ASSERT_REFUSED("<bridge", DM_SYNTAX,
                   "doc.xml:1: error: not well-formed XML: Couldn't find end "
                   "of Start Tag bridge line 1\n");
    assert_refused("\0\0\0\0", 4, DM_SYNTAX,
                   "doc.xml:1: error: not UTF-8 text (byte 0)\n");
}

/* 200 000 faulty siblings: without care the validator's time grows by the
 * square (minutes); a hang shows as the test's time limit. */
static void many_faulty_elements_are_read_in_time(void **state)
{
    dm_buf text = {0};

    (void)state;
    dm_buf_puts(&text, "<catalogue version='1' id='C'>");
    for (int i = 0; i < 200000; i++)
        dm_buf_printf(&text, "<strand-type id='s%d' diameter='1' area='1'/>\n",
                      i);
    dm_buf_puts(&text, "</catalogue>");
    document *d = open_as(text.data, text.length, "catalogue", dm_xsd_catalogue,
                          dm_xsd_catalogue_size);
    assert_int_equal(d->status, DM_SCHEMA);
    assert_int_equal(d->heard.diag.errors, 1001);
    close_document(d);
    dm_buf_free(&text);
}

static dm_status read_once(void *user)
{
    dm_arena *arena = dm_arena_new();
    dm_xml *xml = NULL;
    dm_buf text = {0};

    if (!arena)
        return DM_NOMEM;
    dm_buf_puts(&text, user);
    dm_status status =
        text.failed ? DM_NOMEM
                    : dm_xml_read_text("doc.xml", &text, "r",
                                       (const unsigned char *)any,
                                       sizeof any - 1, arena, NULL, &xml);
    assert_true((status == DM_OK) == (xml != NULL));
    dm_xml_free(xml);
    dm_buf_free(&text);
    dm_arena_free(arena);
    return status;
}

static void every_failed_allocation_is_out_of_memory(void **state)
{
    static char text[] = "<r a='1'/>";

    (void)state;
    assert_true(allocfail_each(read_once, text) > 3);
}

/* ---- without a schema ---- */

static void without_a_schema_any_content_is_read(void **state)
{
    static const char text[] =
        "<r xmlns='urn:a' xmlns:b='urn:b'>\n 1 <!-- no -->2<![CDATA[&3]]>"
        "<b:c>not this</b:c>&lt;<d/></r>";
    document *d = open_as(text, strlen(text), "r", NULL, 0);
    const dm_xml_node *root, *c;

    (void)state;
    assert_int_equal(d->status, DM_OK);
    root = dm_xml_root(d->xml);
    c = dm_xml_child(root, NULL);
    assert_string_equal(dm_xml_content(d->xml, root), "\n 1 2&3<");
    assert_string_equal(dm_xml_content(d->xml, c), "not this");
    assert_string_equal(dm_xml_content(d->xml, dm_xml_child(root, "d")), "");
    assert_string_equal(dm_xml_name(c), "c");
    assert_string_equal(dm_xml_space(c), "urn:b");
    assert_string_equal(dm_xml_space(root), "urn:a");
    close_document(d);
    d = open_as("<s/>", 4, "s", NULL, 0);
    assert_string_equal(dm_xml_space(dm_xml_root(d->xml)), "");
    close_document(d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(length_units_give_metres),
        cmocka_unit_test(other_units_give_si),
        cmocka_unit_test(clock_by_degrees_or_hours_is_one_turn),
        cmocka_unit_test(words_and_truth_values_are_told_apart),
        cmocka_unit_test(range_is_named_in_the_unit_as_written),
        cmocka_unit_test(decimal_comma_locale_changes_nothing),
        cmocka_unit_test(walk_by_name_skips_text_and_comments),
        cmocka_unit_test(first_fault_keeps_its_status),
        cmocka_unit_test(a_flood_of_faults_is_cut),
        cmocka_unit_test(hash_is_sha256_of_the_text),
        cmocka_unit_test(only_utf8_is_read_with_or_without_a_mark),
        cmocka_unit_test(a_tag_over_several_lines_has_its_first),
        cmocka_unit_test(lines_beyond_65535_are_right_to_one),
        cmocka_unit_test(doctype_is_refused_before_it_is_read),
        cmocka_unit_test(schema_hints_are_not_followed),
        cmocka_unit_test(what_is_no_bridge_is_said),
        cmocka_unit_test(many_faulty_elements_are_read_in_time),
        cmocka_unit_test(every_failed_allocation_is_out_of_memory),
        cmocka_unit_test(without_a_schema_any_content_is_read),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
