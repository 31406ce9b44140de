/* SPDX-License-Identifier: MIT
 * Readings files: segments in any order, parts of one file, the hash, what a
 * bad file is told, bounded memory. */
#define _POSIX_C_SOURCE 200809L
#include <stdlib.h>
#include <sys/resource.h>

#include "allocfail.h"
#include "base/buf.h"
#include "base/file.h"
#include "readings_book.h"

/* ---- segments --------------------------------------------------------------
 */

#define FOUR_SEGMENTS                                                          \
    "segment,x_mm,counts\na,1,10\na,2,20\nb,1,30\nother,9,9\nc,1,40\nc,2,50\n" \
    "c,3,60\nd,1,70\n"

static void segments_come_in_the_order_asked_for(void **state)
{
    static const char *const orders[] = {"abcd", "dcba", "bdac", "c",
                                         "cb",   "da",   "bd"};
    static const double first[] = {10, 30, 40, 70};
    static const size_t rows[] = {2, 1, 3, 1};

    (void)state;
    for (size_t i = 0; i < sizeof orders / sizeof *orders; i++) {
        static const char *const names[] = {"a", "b", "c", "d"};
        book *b = book_text(FOUR_SEGMENTS);
        size_t at = 0;

        for (const char *s = orders[i]; *s != '\0'; s++)
            book_add(b, readings(names[*s - 'a']));
        assert_int_equal(read_all(b), DM_OK);
        assert_string_equal(b->said.text, "");
        for (const char *s = orders[i]; *s != '\0'; s++) {
            size_t k = (size_t)(*s - 'a');

            for (size_t n = 0; n < rows[k]; n++, at++) {
                assert_near(b->x[at], 0.001 * (double)(n + 1), 1e-15);
                assert_near(b->value[0][at], first[k] + 10.0 * (double)n, 0.0);
            }
        }
        assert_int_equal(b->rows, at);
        /* The same through a reader for each. */
        for (size_t k = 0; k < b->run.event_count; k++) {
            assert_int_equal(read_event(b, k), DM_OK);
            assert_int_equal(b->rows, rows[orders[i][k] - 'a']);
        }
        book_free(b);
    }
}

static void a_segment_that_goes_on_later_is_an_error(void **state)
{
    /* Asked for in any order, the second piece of a is found. */
    static const char *const orders[] = {"ab", "ba", "b", "a"};
    static const char *const names[] = {"a", "b"};

    (void)state;
    for (size_t i = 0; i < sizeof orders / sizeof *orders; i++) {
        book *b = book_text("segment,x_mm,counts\na,1,1\nb,1,2\na,2,3\n");
        bool has_a = strchr(orders[i], 'a') != NULL;

        for (const char *s = orders[i]; *s != '\0'; s++)
            book_add(b, readings(names[*s - 'a']));
        assert_int_equal(read_all(b), has_a ? DM_INCONSISTENT : DM_OK);
        assert_string_equal(heard(b),
                            has_a ? "FILE:4: error: segment 'a' goes on after "
                                    "another one began; the rows of a segment "
                                    "must follow each other\n"
                                  : "");
        book_free(b);
    }
}

/* At the end of b's rows a comes back: told with b, and only once. */
static void what_breaks_a_file_is_told_once(void **state)
{
    book *b = book_text("segment,x_mm,counts\na,1,1\nb,1,2\na,2,3\nc,1,1\n");

    (void)state;
    book_add(b, readings("a"));
    book_add(b, readings("b"));
    book_add(b, readings("c"));
    assert_int_equal(read_all(b), DM_INCONSISTENT);
    assert_string_equal(heard(b),
                        "FILE:4: error: segment 'a' goes on after another one "
                        "began; the rows of a segment must follow each "
                        "other\n");
    assert_int_equal(b->rows, 1);
    book_free(b);
}

static void a_segment_that_is_not_there_is_an_error(void **state)
{
    book *b = book_text(FOUR_SEGMENTS);

    (void)state;
    book_add(b, readings("a"));
    book_add(b, readings("e"));
    book_add(b, readings("d"));
    assert_int_equal(read_all(b), DM_REFERENCE);
    assert_string_equal(heard(b),
                        "book.xml:7: error: no rows of segment 'e' in "
                        "FILE\n");
    assert_int_equal(b->rows, 3); /* a and d were read all the same */
    book_free(b);
}

static void segment_names_are_compared_whole(void **state)
{
    book *b = book_text("segment,x_mm,counts\nlong-segment-1,1,1\n"
                        "long-segment-12,2,2\nlong-segmen,3,3\n"
                        "\"long \"\"s\"\"\",4,4\n\"long \"\"s\"\"\",5,5\n");

    (void)state;
    book_add(b, readings("long-segment-12"));
    book_add(b, readings("long-segmen"));
    book_add(b, readings("long \"s\""));
    assert_int_equal(read_all(b), DM_OK);
    assert_int_equal(b->rows, 4);
    assert_row(b, 0, 0.002, 2.0);
    assert_row(b, 1, 0.003, 3.0);
    assert_row(b, 3, 0.005, 5.0);
    book_free(b);
}

/* ---- parts of one file ------------------------------------------------------
 */

static void parts_end_at_the_first_row_beyond(void **state)
{
    /* The encoder rolls back a little: still the part before. Rows at 5 and 7
     * mm, the limits themselves, may stand on either side: left out. */
    book *b = book_text("x_mm,counts\n1,1\n5,2\n4.9,3\n6,4\n5.5,5\n7,6\n9,7\n"
                        "8,8\n20,9\n");
    static const size_t rows[] = {2, 2, 2, 1, 0};
    static const double first[] = {1, 4, 7, 9, 0};
    static const double all[] = {1, 3, 4, 5, 7, 8, 9};
    const double inf = (double)INFINITY;

    (void)state;
    book_add(b, part(-inf, 0.005));
    book_add(b, part(0.005, 0.007));
    book_add(b, part(0.007, 0.010));
    book_add(b, part(0.010, 0.030));
    book_add(b, part(0.030, inf));
    assert_int_equal(read_all(b), DM_OK);
    assert_string_equal(b->said.text, "");
    assert_int_equal(b->rows, 7);
    for (size_t i = 0; i < 7; i++)
        assert_near(b->value[0][i], all[i], 0.0);
    for (size_t k = 0; k < 5; k++) {
        assert_int_equal(read_event(b, k), DM_OK);
        assert_int_equal(b->rows, rows[k]);
        if (rows[k] > 0)
            assert_near(b->value[0][0], first[k], 0.0);
    }
    book_free(b);
}

/* ---- the hash
 * ----------------------------------------------------------------- */

static void the_hash_is_that_of_the_whole_file(void **state)
{
    static const char *const texts[] = {
        FOUR_SEGMENTS, "segment,x_mm,counts\r\nd,1,1\r\n\r\na,2,2\r\n# end",
        "\xEF\xBB\xBFsegment,x_mm,counts\na,1,1\nd,1,2\nx,1,1\nx,2,2"};

    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        book *b = book_text(texts[i]);
        dm_sha256 *hash = dm_sha256_new();
        char expected[65];

        assert_non_null(hash);
        dm_sha256_update(hash, texts[i], strlen(texts[i]));
        dm_sha256_hex(hash, expected);
        dm_sha256_free(hash);
        book_add(b, readings("d"));
        book_add(b, readings("a"));
        assert_int_equal(read_all(b), DM_OK);
        assert_string_equal(b->sha256, expected);
        book_free(b);
    }
}

/* ---- faults
 * --------------------------------------------------------------------- */

static void bad_rows_are_all_told(void **state)
{
    book *b = book_text("segment,x_mm,counts\ns1,1,x\ns1,2,2\ns1,,3\ns1,3\n"
                        "s1,nan,4\ns1,0x10,inf\ns1,1e400,5\ns1,2000000000,6\n"
                        "s1,5,1e16\ns1,\"6,7\ns2,oh,no\n");

    (void)state;
    book_add(b, readings("s1"));
    assert_int_equal(read_all(b), DM_SYNTAX);
    assert_string_equal(
        heard(b),
        "FILE:2: error: column 'counts': 'x' is not a number with a decimal "
        "point\n"
        "FILE:4: error: column 'x_mm': '' is not a number with a decimal "
        "point\n"
        "FILE:5: error: column 'counts': the row has only 2 "
        "cells\n"
        "FILE:6: error: column 'x_mm': 'nan' is not a number with a decimal "
        "point\n"
        "FILE:7: error: column 'x_mm': '0x10' is not a number with a decimal "
        "point\n"
        "FILE:7: error: column 'counts': 'inf' is not a number with a decimal "
        "point\n"
        "FILE:8: error: column 'x_mm': '1e400' is not a number with a decimal "
        "point\n"
        "FILE:9: error: column 'x_mm': '2000000000' is out of range, at most "
        "1000 km was expected\n"
        "FILE:10: error: column 'counts': '1e16' is out of range, at most 1e15 "
        "was expected\n"
        "FILE:11: error: column 'x_mm': '\"6,7' is not a number with a decimal "
        "point\n"
        "FILE:11: error: column 'counts': the row has only 2 "
        "cells\n");
    book_free(b);
}

static void a_decimal_comma_in_a_point_file_is_told(void **state)
{
    book *b = book_text("segment;x_mm;counts\ns1;1;1\ns1;12,5;2\n");

    (void)state;
    b->columns.delimiter = ';';
    book_add(b, readings("s1"));
    assert_int_equal(read_all(b), DM_SYNTAX);
    assert_string_equal(heard(b),
                        "FILE:3: error: column 'x_mm': '12,5' is not a number "
                        "with a decimal point\n");
    book_free(b);
}

static void a_decimal_point_in_a_comma_file_is_told(void **state)
{
    book *b = book_text("segment;x_mm;counts\ns1;1,5;1\ns1;2.5;2\n");

    (void)state;
    b->columns.delimiter = ';';
    b->columns.decimal = ',';
    book_add(b, readings("s1"));
    assert_int_equal(read_all(b), DM_SYNTAX);
    assert_string_equal(heard(b),
                        "FILE:3: error: column 'x_mm': '2.5' is not a number "
                        "with a decimal comma\n");
    book_free(b);
}

static void a_wrong_delimiter_shows_in_the_columns(void **state)
{
    book *b = book_text("segment;x_mm;counts\ns1;1;1\n");

    (void)state;
    book_add(b, readings(NULL));
    assert_int_equal(read_all(b), DM_REFERENCE);
    assert_string_equal(heard(b),
                        "FILE:1: error: no column 'x_mm'; the columns are: "
                        "segment;x_mm;counts\n"
                        "FILE:1: error: no column 'counts'; the columns are: "
                        "segment;x_mm;counts\n");
    book_free(b);
}

/* A file without rows, asked for whole; a part of it may be empty. */
static void a_whole_file_without_rows_is_told(void **state)
{
    book *b = book_text("x_mm,counts\n# none\n");

    (void)state;
    book_add(b, readings(NULL));
    book_add(b, part(1.0, 2.0));
    assert_int_equal(read_event(b, 0), DM_REFERENCE);
    assert_string_equal(heard(b), "book.xml:7: error: no rows in FILE\n");
    assert_int_equal(read_event(b, 1), DM_OK);
    book_free(b);
}

static void after_twenty_messages_one_says_and_more(void **state)
{
    dm_buf text = {0};
    book *b;
    size_t lines = 0;

    (void)state;
    dm_buf_puts(&text, "segment,x_mm,counts\n");
    for (int i = 0; i < 1000; i++)
        dm_buf_puts(&text, "s1,1,bad\n");
    assert_false(text.failed);
    b = book_of(text.data, text.length);
    dm_buf_free(&text);
    book_add(b, readings("s1"));
    assert_int_equal(read_all(b), DM_SYNTAX);
    for (const char *s = heard(b); *s != '\0'; s++)
        lines += *s == '\n';
    assert_int_equal(lines, 21);
    assert_non_null(
        strstr(b->said.text, "FILE:22: error: and more rows like these\n"));
    book_free(b);
}

static void columns_that_are_not_there_are_told_together(void **state)
{
    book *b = book_text("# c\nsegment,x_m,\"Z,1\"\ns1,1,1\n");

    (void)state;
    book_add(b, readings("s1"));
    assert_int_equal(read_all(b), DM_REFERENCE);
    assert_string_equal(heard(b),
                        "FILE:2: error: no column 'x_mm'; the columns "
                        "are: segment, x_m, Z,1\n"
                        "FILE:2: error: no column 'counts'; the columns "
                        "are: segment, x_m, Z,1\n");
    book_free(b);
}

static void a_column_that_is_there_twice_is_told(void **state)
{
    book *b = book_text("segment,x_mm,counts,x_mm\ns1,1,1,1\n");

    (void)state;
    book_add(b, readings("s1"));
    assert_int_equal(read_all(b), DM_INCONSISTENT);
    assert_string_equal(heard(b),
                        "FILE:1: error: column 'x_mm' is there 2 times\n");
    book_free(b);
}

static void files_that_are_none_are_told(void **state)
{
    static const struct {
        const char *text;
        size_t length;
        dm_status status;
        const char *said;
    } cases[] = {
        {"", 0, DM_SYNTAX,
         "FILE: error: an empty file, expected a line with column names\n"},
        {"# c\n\n \n", 7, DM_SYNTAX,
         "FILE: error: an empty file, expected a line with column names\n"},
        {"\xFF\xFEs\0e\0g\0", 8, DM_SYNTAX,
         "FILE:1: error: UTF-16 text, expected UTF-8\n"},
        {"segment,x_mm,counts\n", 20, DM_REFERENCE,
         "book.xml:7: error: no rows of segment 's1' in FILE\n"},
        {"segment,x_mm,counts\ns1,1,\0\n", 27, DM_SYNTAX,
         "FILE:2: error: column 'counts': '"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        book *b = book_of(cases[i].text, cases[i].length);

        book_add(b, readings("s1"));
        assert_int_equal(read_all(b), cases[i].status);
        assert_memory_equal(heard(b), cases[i].said, strlen(cases[i].said));
        book_free(b);
    }
}

static void a_file_that_cannot_be_read_is_told_where_it_is_named(void **state)
{
    book *b = book_text("x");

    (void)state;
    book_add(b, readings("s1"));
    b->events[0].href = "/nowhere/at/all.csv";
    assert_int_equal(read_event(b, 0), DM_IO);
    b->events[0].href = "/tmp";
    assert_int_equal(read_event(b, 0), DM_IO);
    assert_string_equal(heard(b),
                        "book.xml:7: error: cannot read "
                        "'/nowhere/at/all.csv': No such file or directory\n"
                        "book.xml:7: error: cannot read '/tmp': not a regular "
                        "file\n");
    book_free(b);
}

/* ---- size and memory
 * -------------------------------------------------------------- */

/* A million rows, and memory that does not grow with them. */
static void a_million_rows_need_little_memory(void **state)
{
    enum { ROWS = 1000000 };
    book *b = book_text("segment,x_mm,counts\n");
    FILE *f = fopen(b->path, "a");
    dm_readings *r = NULL;
    dm_block block;
    size_t rows = 0;
    double sum = 0.0;
    struct rusage before, after;

    (void)state;
    assert_non_null(f);
    for (int i = 0; i < ROWS; i++)
        fprintf(f, "s%d,%d,%d.5\n", i / 500000, i % 500000, i % 1000);
    assert_int_equal(fclose(f), 0);
    book_add(b, readings("s0"));
    book_add(b, readings("s1"));
    getrusage(RUSAGE_SELF, &before);
    for (size_t k = 0; k < 2; k++) {
        assert_int_equal(k == 0 ? dm_readings_open(&b->survey, &b->run,
                                                   &b->events[0], &b->said.diag,
                                                   &r)
                                : dm_readings_resume(r, &b->events[1]),
                         DM_OK);
        while (dm_readings_next(r, &block) == DM_OK && block.count > 0) {
            assert_true(block.count <= 65536);
            rows += block.count;
            for (size_t i = 0; i < block.count; i++)
                sum += block.value[0][i];
        }
    }
    assert_int_equal(dm_readings_sha256(r, b->sha256), DM_OK);
    getrusage(RUSAGE_SELF, &after);
    dm_readings_close(r);
    assert_int_equal(rows, ROWS);
    assert_near(sum, 500.0 * ROWS, 0.0); /* mean of 0.5 .. 999.5 */
    /* The file has about 15 MB; ru_maxrss is in KiB. */
    assert_true(after.ru_maxrss - before.ru_maxrss < 4096);
    book_free(b);
}

static dm_status read_all_user(void *user)
{
    book *b = user;

    return read_all(b);
}

static void each_failed_allocation_is_no_memory(void **state)
{
    book *b = book_text(FOUR_SEGMENTS);

    (void)state;
    book_add(b, readings("a"));
    book_add(b, readings("c"));
    assert_true(allocfail_each(read_all_user, b) >= 6);
    book_free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(segments_come_in_the_order_asked_for),
        cmocka_unit_test(a_segment_that_goes_on_later_is_an_error),
        cmocka_unit_test(what_breaks_a_file_is_told_once),
        cmocka_unit_test(a_segment_that_is_not_there_is_an_error),
        cmocka_unit_test(segment_names_are_compared_whole),
        cmocka_unit_test(parts_end_at_the_first_row_beyond),
        cmocka_unit_test(the_hash_is_that_of_the_whole_file),
        cmocka_unit_test(bad_rows_are_all_told),
        cmocka_unit_test(a_decimal_comma_in_a_point_file_is_told),
        cmocka_unit_test(a_decimal_point_in_a_comma_file_is_told),
        cmocka_unit_test(a_wrong_delimiter_shows_in_the_columns),
        cmocka_unit_test(a_whole_file_without_rows_is_told),
        cmocka_unit_test(after_twenty_messages_one_says_and_more),
        cmocka_unit_test(columns_that_are_not_there_are_told_together),
        cmocka_unit_test(a_column_that_is_there_twice_is_told),
        cmocka_unit_test(files_that_are_none_are_told),
        cmocka_unit_test(a_file_that_cannot_be_read_is_told_where_it_is_named),
        cmocka_unit_test(a_million_rows_need_little_memory),
        cmocka_unit_test(each_failed_allocation_is_no_memory),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
