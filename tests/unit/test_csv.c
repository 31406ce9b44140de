/* SPDX-License-Identifier: MIT
 * Rows of readings files: every way of writing the same rows, lines across
 * the buffer's end, and numbers held against strtod. */
#define _POSIX_C_SOURCE 200809L
#include <stdlib.h>

#include "base/buf.h"
#include "readings_book.h"
#include "survey/digits.h"

/* ---- the same rows in many spellings ------------------------------------- */

/* x 0, 5, 12.5 mm with counts 1500, 1432.5, -3 of segment s1. */
static void assert_three_rows(book *b, const char *segment)
{
    book_add(b, readings(segment));
    if (read_all(b) != DM_OK)
        fail_msg("%s", heard(b));
    assert_string_equal(b->said.text, "");
    assert_int_equal(b->rows, 3);
    assert_row(b, 0, 0.0, 1500.0);
    assert_row(b, 1, 0.005, 1432.5);
    assert_row(b, 2, 0.0125, -3.0);
    book_free(b);
}

static void rows_in_any_spelling_are_the_same(void **state)
{
    static const char *const comma_point[] = {
        "segment,x_mm,counts\ns1,0,1500\ns1,5,1432.5\ns1,12.5,-3\n",
        /* without a last line end; CRLF; byte order mark */
        "segment,x_mm,counts\ns1,0,1500\ns1,5,1432.5\ns1,12.5,-3",
        "segment,x_mm,counts\r\ns1,0,1500\r\ns1,5,1432.5\r\ns1,12.5,-3\r\n",
        "\xEF\xBB\xBFsegment,x_mm,counts\ns1,0,1500\ns1,5,1432.5\ns1,12.5,-3\n",
        "\xEF\xBB\xBF# from a logger\r\n\r\nsegment,x_mm,counts\r\n"
        "s1,0,1500\r\ns1,5,1432.5\r\ns1,12.5,-3",
        /* any column order, columns that are not needed, rows with more */
        "counts,segment,x_mm\n1500,s1,0\n1432.5,s1,5\n-3,s1,12.5\n",
        "x_mm,note,counts,segment\n0,a,1500,s1\n5,,1432.5,s1\n12.5,b c,-3,s1\n",
        "time,segment,x_mm,counts,more\n0:01,s1,0,1500,7\n0:02,s1,5,1432.5\n"
        "0:03,s1,12.5,-3,1,2,3,\n",
        /* comments and blank lines, blanks round cells */
        "# c\nsegment,x_mm,counts\n# c\ns1,0,1500\n\ns1,5,1432.5\n  \t\n"
        "  # c,5,5\ns1,12.5,-3\n\n# end",
        " segment , x_mm ,\tcounts\n s1, 0 , 1500\n s1 ,\t5,1432.5 \n"
        "s1,12.5, -3\n",
        /* quotes */
        "\"segment\",\"x_mm\",\"counts\"\n\"s1\",\"0\",\"1500\"\n"
        "\"s1\",\"5\",\"1432.5\"\n\"s1\",\"12.5\",\"-3\"\n",
        "note,segment,x_mm,counts\n\"a, b\",s1,0,1500\n"
        "\"say \"\"x\"\"\",s1,5,1432.5\n\"# no\",s1,12.5,-3\n",
        /* other ways to write a number */
        "segment,x_mm,counts\ns1,+0.0,1.5e3\ns1,5.,1432.500000000000000000\n"
        "s1,125e-1,-000000000000000003\n",
        "segment,x_mm,counts\ns1,-0,15000E-1\ns1,0000000005,01432.5\n"
        "s1,12.50000000000,-3.0\n",
        "segment,x_mm,counts\ns1,.0,1500.\ns1,5,1432.5e0\ns1,12.5,-.3e+1\n",
        /* rows of other segments, before and after */
        "segment,x_mm,counts\ns0,1,2\ns0,x,y\ns11,1,1\ns1,0,1500\n"
        "s1,5,1432.5\ns1,12.5,-3\ns2,7,7\ns,1,1\n",
    };

    (void)state;
    for (size_t i = 0; i < sizeof comma_point / sizeof *comma_point; i++) {
        book *b = book_text(comma_point[i]);

        assert_three_rows(b, "s1");
    }
}

static void decimal_comma_semicolon_tab_and_blanks_are_read(void **state)
{
    static const struct {
        char delimiter, decimal;
        const char *text;
    } cases[] = {
        {';', ',',
         "segment;x_mm;counts\ns1;0;1500,0\ns1;5;1432,5\ns1;12,5;-3\n"},
        {';', ',',
         "\xEF\xBB\xBF\"segment\";\"x_mm\";\"counts\"\r\n\"s1\";\"0\";"
         "\"1500\"\r\n\"s1\";\"5\";\"1432,5\"\r\n\"s1\";\"12,5\";\"-3\"\r\n"},
        {';', '.', "segment;x_mm;counts\ns1;0;1500\ns1;5;1432.5\ns1;12.5;-3\n"},
        {'\t', ',',
         "segment\tx_mm\tcounts\ns1\t0\t1500\ns1\t5\t1432,5\ns1\t12,5\t-3\n"},
        {'\t', '.',
         "a b\tsegment\tx_mm\tcounts\nx y\ts1\t0\t1500\n\ts1\t5\t1432.5\n"
         "z\ts1\t12.5\t-3\n"},
        {' ', '.', "segment x_mm counts\ns1 0 1500\ns1 5 1432.5\ns1 12.5 -3\n"},
        {' ', ',',
         "  segment   x_mm  counts \n s1      0  1500\n"
         " s1      5  1432,5  \n   s1  12,5     -3\n"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        book *b = book_text(cases[i].text);

        b->columns.delimiter = cases[i].delimiter;
        b->columns.decimal = cases[i].decimal;
        assert_three_rows(b, "s1");
    }
}

static void a_file_without_segments_gives_all_rows(void **state)
{
    book *b = book_text("x_mm,counts\n0,1500\n5,1432.5\n12.5,-3\n");

    (void)state;
    assert_three_rows(b, NULL);
}

/* Units of the column: 0.3048 m and 0.0254 m (exact by definition), 1200/3937
 * m (US survey foot, 85 FR 62698). */
static void run_distance_is_in_metres(void **state)
{
    static const double unit[] = {1.0, 0.001, 0.3048, 0.0254, 1200.0 / 3937.0};

    (void)state;
    for (size_t i = 0; i < sizeof unit / sizeof *unit; i++) {
        book *b = book_text("x_mm,counts\n12.5,1\n");

        b->columns.x_unit = unit[i];
        book_add(b, readings(NULL));
        assert_int_equal(read_all(b), DM_OK);
        assert_near(b->x[0], 12.5 * unit[i], 1e-15);
        book_free(b);
    }
}

static void several_value_columns_go_to_their_places(void **state)
{
    book *b = book_text("b,x_mm,a\n1,10,2\n3,20,4\n");

    (void)state;
    b->values[0] = "a";
    b->values[1] = "b";
    b->columns.value_count = 2;
    book_add(b, readings(NULL));
    assert_int_equal(read_all(b), DM_OK);
    assert_int_equal(b->rows, 2);
    assert_near(b->value[0][0], 2.0, 0.0);
    assert_near(b->value[1][0], 1.0, 0.0);
    assert_near(b->value[0][1], 4.0, 0.0);
    assert_near(b->value[1][1], 3.0, 0.0);
    book_free(b);
}

static void a_turn_is_read_over_the_clock_in_radians(void **state)
{
    book *b = book_text("clock_deg,counts\n0,1500\n90,1432.5\n-45,3\n");
    dm_event turn = {.kind = DM_EVENT_TURN,
                     .place = {"book.xml", 9},
                     .rows_from = (double)NAN,
                     .rows_to = (double)NAN};

    (void)state;
    b->columns.clock = "clock_deg";
    book_add(b, turn);
    assert_int_equal(read_all(b), DM_OK);
    assert_int_equal(b->rows, 3);
    assert_near(b->x[1], 1.57079632679489662, 1e-15);
    assert_near(b->x[2], -0.78539816339744831, 1e-15);
    b->columns.clock = NULL;
    assert_int_equal(read_event(b, 0), DM_REFERENCE);
    assert_string_equal(heard(b),
                        "book.xml:9: error: a turn, but the field book's "
                        "columns name no clock column\n");
    book_free(b);
}

/* ---- lines and blocks -----------------------------------------------------
 */

static void rows_of_a_block_are_consecutive_lines(void **state)
{
    book *b = book_text("# c\nsegment,x_mm,counts\ns0,0,0\ns1,1,1\ns1,2,2\n\n"
                        "s1,3,3\n# c\n# c\n\"s1\",4,4\ns1,5,5\ns2,6,6\n");
    static const long line[] = {4, 5, 7, 10, 11};

    (void)state;
    book_add(b, readings("s1"));
    assert_int_equal(read_all(b), DM_OK);
    assert_int_equal(b->rows, 5);
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(b->line[i], line[i]);
        assert_row(b, i, 0.001 * (double)(i + 1), (double)(i + 1));
    }
    book_free(b);
}

static void long_lines_are_read_up_to_64_kib(void **state)
{
    for (size_t length = 65536 - 2; length <= 65536 + 2; length++) {
        dm_buf text = {0};
        size_t start;
        book *b;

        (void)state;
        dm_buf_puts(&text, "segment,x_mm,counts\n");
        start = text.length;
        dm_buf_puts(&text, "s1,1,1,");
        while (text.length < start + length)
            dm_buf_putc(&text, 'z');
        dm_buf_puts(&text, "\ns1,2,2\n");
        assert_false(text.failed);
        b = book_of(text.data, text.length);
        dm_buf_free(&text);
        book_add(b, readings("s1"));
        if (length <= 65536) {
            assert_int_equal(read_all(b), DM_OK);
            assert_int_equal(b->rows, 2);
        } else {
            assert_int_equal(read_all(b), DM_SYNTAX);
            assert_string_equal(heard(b),
                                "FILE:2: error: a line longer than 64 KiB: "
                                "not a readings file\n");
        }
        book_free(b);
    }
}

/* Whatever lies at the end of the buffer: lines of all lengths are pushed
 * across it. */
static void rows_across_the_buffers_end_are_whole(void **state)
{
    (void)state;
    for (size_t shift = 0; shift < 40; shift++) {
        dm_buf text = {0};
        dm_readings *r = NULL;
        dm_block block;
        size_t rows = 0;
        book *b;

        dm_buf_puts(&text, "segment,x_mm,counts\n# ");
        for (size_t i = 0; i < shift; i++)
            dm_buf_putc(&text, 'z');
        dm_buf_putc(&text, '\n');
        for (int i = 0; i < 40000; i++)
            dm_buf_printf(&text,
                          i % 7 == 3 ? "\"s1\",%d,%d.5\n" : "s1,%d,%d.5\n", i,
                          i % 977);
        assert_false(text.failed);
        b = book_of(text.data, text.length);
        dm_buf_free(&text);
        book_add(b, readings("s1"));
        assert_int_equal(dm_readings_open(&b->survey, &b->run, &b->events[0],
                                          &b->said.diag, &r),
                         DM_OK);
        while (dm_readings_next(r, &block) == DM_OK && block.count > 0)
            for (size_t i = 0; i < block.count; i++, rows++) {
                assert_int_equal(block.first_line + (long)i, (long)rows + 3);
                assert_near(block.x[i], 0.001 * (double)rows, 1e-12);
                assert_near(block.value[0][i], (double)(rows % 977) + 0.5, 0.0);
            }
        assert_int_equal(rows, 40000);
        dm_readings_close(r);
        book_free(b);
    }
}

/* ---- both ways ------------------------------------------------------------
 */

static uint64_t next_random(uint64_t *state)
{
    *state = *state * 6364136223846793005u + 1442695040888963407u;
    return *state >> 33;
}

/* A number of up to 18 digits with a point somewhere, or none; at most seven
 * digits of it before the point count, so that most are in range. */
static size_t put_number(char *out, uint64_t *state)
{
    size_t n = 0, digits = 1 + next_random(state) % 18;
    size_t point = next_random(state) % 20;
    size_t whole = point < digits ? point : digits;

    if (next_random(state) % 4 == 0)
        out[n++] = '-';
    for (size_t i = 0; i < digits; i++) {
        if (i == point)
            out[n++] = '.';
        out[n++] = (char)('0' + (i + 7 < whole ? 0 : next_random(state) % 10));
    }
    if (point == digits)
        out[n++] = '.';
    return n;
}

/* The same rows plain and with every cell quoted, which leaves them to the
 * slow way: equal to the last bit. */
static void the_quick_and_the_slow_way_agree(void **state)
{
    enum { ROWS = 20000 };
    uint64_t random = 99;
    dm_buf plain = {0}, quoted = {0};
    book *b[2];
    dm_readings *r[2] = {NULL, NULL};
    dm_block block[2];
    size_t rows = 0;

    (void)state;
    dm_buf_puts(&plain, "n,x_mm,counts\n");
    dm_buf_puts(&quoted, "n,x_mm,counts\n");
    for (int i = 0; i < ROWS; i++) {
        char x[32], v[32];
        int nx = (int)put_number(x, &random), nv = (int)put_number(v, &random);

        dm_buf_printf(&plain, "%d,%.*s,%.*s\n", i, nx, x, nv, v);
        dm_buf_printf(&quoted, "%d,\"%.*s\",\"%.*s\"\n", i, nx, x, nv, v);
    }
    assert_false(plain.failed || quoted.failed);
    b[0] = book_of(plain.data, plain.length);
    b[1] = book_of(quoted.data, quoted.length);
    dm_buf_free(&plain);
    dm_buf_free(&quoted);
    for (int k = 0; k < 2; k++) {
        book_add(b[k], readings(NULL));
        assert_int_equal(dm_readings_open(&b[k]->survey, &b[k]->run,
                                          &b[k]->events[0], NULL, &r[k]),
                         DM_OK);
    }
    do {
        assert_int_equal(dm_readings_next(r[0], &block[0]), DM_OK);
        assert_int_equal(dm_readings_next(r[1], &block[1]), DM_OK);
        assert_int_equal(block[0].count, block[1].count);
        assert_int_equal(block[0].first_line, block[1].first_line);
        for (size_t i = 0; i < block[0].count; i++) {
            assert_true(block[0].x[i] == block[1].x[i]);
            assert_true(block[0].value[0][i] == block[1].value[0][i]);
        }
        rows += block[0].count;
    } while (block[0].count > 0);
    assert_int_equal(rows, ROWS);
    for (int k = 0; k < 2; k++) {
        dm_readings_close(r[k]);
        book_free(b[k]);
    }
}

/* ---- numbers
 * -------------------------------------------------------------------- */

/* The quick way must be the correctly rounded value, or decline: held against
 * strtod over the whole grammar of short numbers. */
static void quick_numbers_agree_with_strtod(void **state)
{
    uint64_t random = 12345;
    size_t taken = 0;

    (void)state;
    for (int i = 0; i < 400000; i++) {
        char text[64];
        size_t whole, decimals, n = 0;
        const char *end;
        double value = 0.0;

        random = random * 6364136223846793005u + 1442695040888963407u;
        whole = (size_t)(random >> 60);
        decimals = (size_t)(random >> 56 & 15);
        if (random >> 55 & 1)
            text[n++] = '-';
        for (size_t k = 0; k < whole; k++) {
            random = random * 6364136223846793005u + 1442695040888963407u;
            text[n++] = (char)('0' + (random >> 33) % 10);
        }
        if (decimals > 0 || random >> 60 == 0)
            text[n++] = '.';
        for (size_t k = 0; k < decimals; k++) {
            random = random * 6364136223846793005u + 1442695040888963407u;
            text[n++] = (char)('0' + (random >> 33) % 10);
        }
        memset(text + n, 0, sizeof text - n);
        text[n] = ",;\ne"[random >> 40 & 3];
        end = digits_read(text, '.', &value);
        if (end == NULL) {
            assert_true(whole == 0 || whole + decimals > 15);
            continue;
        }
        taken++;
        assert_ptr_equal(end, text + n);
        text[n] = '\0';
        assert_true(value == strtod(text, NULL));
    }
    assert_true(taken > 100000);
}

/* No byte that is not a digit may pass for one, wherever it stands. */
static void quick_numbers_stop_at_every_other_byte(void **state)
{
    (void)state;
    for (unsigned c = 0; c < 256; c++)
        for (size_t at = 0; at < 20; at++) {
            char text[64] = "12345678901234567890";
            double value;
            const char *end;

            if ((c >= '0' && c <= '9') || c == '.')
                continue;
            if (at == 0 && c == '-')
                continue;
            memset(text + 20, (int)(255 - c), 20);
            text[at] = (char)c;
            end = digits_read(text, '.', &value);
            if (at == 0 || at > 15) {
                assert_null(end);
            } else {
                assert_ptr_equal(end, text + at);
            }
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_in_any_spelling_are_the_same),
        cmocka_unit_test(decimal_comma_semicolon_tab_and_blanks_are_read),
        cmocka_unit_test(a_file_without_segments_gives_all_rows),
        cmocka_unit_test(run_distance_is_in_metres),
        cmocka_unit_test(several_value_columns_go_to_their_places),
        cmocka_unit_test(a_turn_is_read_over_the_clock_in_radians),
        cmocka_unit_test(rows_of_a_block_are_consecutive_lines),
        cmocka_unit_test(long_lines_are_read_up_to_64_kib),
        cmocka_unit_test(rows_across_the_buffers_end_are_whole),
        cmocka_unit_test(the_quick_and_the_slow_way_agree),
        cmocka_unit_test(quick_numbers_agree_with_strtod),
        cmocka_unit_test(quick_numbers_stop_at_every_other_byte),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
