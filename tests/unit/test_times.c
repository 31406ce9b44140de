/* SPDX-License-Identifier: MIT
 * Times of readings: ISO 8601 against POSIX.1-2017 4.16 (seconds since the
 * Epoch), and the column in a file. */
#define _POSIX_C_SOURCE 200809L
#include <math.h>
#include <stdlib.h>

#include "readings_book.h"
#include "survey/times.h"

static double parsed(const char *text, time_form want)
{
    time_form form;
    double value;

    if (!times_parse(text, strlen(text), '.', 1.0, &form, &value))
        fail_msg("refused: %s", text);
    assert_int_equal(form, want);
    return value;
}

/* POSIX.1-2017 XBD 4.16, the formula; yday by summing months. */
static double posix(int year, int month, int day, int h, int m, int s)
{
    static const int length[] = {31, 28, 31, 30, 31, 30,
                                 31, 31, 30, 31, 30, 31};
    long y = year - 1900, yday = day - 1;

    for (int i = 1; i < month; i++)
        yday += length[i - 1];
    if (month > 2 && ((year % 4 == 0 && year % 100 != 0) || year % 400 == 0))
        yday++;
    return (double)(s + m * 60L + h * 3600L + yday * 86400 +
                    (y - 70) * 31536000 + ((y - 69) / 4) * 86400 -
                    ((y - 1) / 100) * 86400 + ((y + 299) / 400) * 86400);
}

static void dates_are_seconds_since_the_epoch(void **state)
{
    (void)state;
    assert_near(parsed("1970-01-01T00:00:00Z", TIME_DATE), 0.0, 0.0);
    for (int year = 1970; year < 2110; year++)
        for (int month = 1; month <= 12; month++)
            for (int day = 1; day <= 28; day += 9) {
                char text[80];

                snprintf(text, sizeof text, "%04d-%02d-%02dT%02d:%02d:%02dZ",
                         year, month, day, day % 24, month * 4, year % 60);
                assert_near(
                    parsed(text, TIME_DATE),
                    posix(year, month, day, day % 24, month * 4, year % 60),
                    0.0);
            }
    assert_near(parsed("2024-02-29T12:00:00", TIME_DATE),
                posix(2024, 2, 29, 12, 0, 0), 0.0);
}

static void every_way_of_one_moment_is_the_same(void **state)
{
    static const char *const same[] = {
        "2026-03-02T10:15:00.5Z",      "2026-03-02T10:15:00,5Z",
        "2026-03-02 10:15:00.500",     "2026-03-02t10:15:00.5z",
        "2026-03-02T11:15:00.5+01:00", "2026-03-02T11:15:00.5+01",
        "2026-03-02T05:45:00.5-0430",  "2026-03-03T00:15:00.5+14:00",
    };
    double want = posix(2026, 3, 2, 10, 15, 0) + 0.5;

    (void)state;
    for (size_t i = 0; i < sizeof same / sizeof *same; i++)
        assert_near(parsed(same[i], TIME_DATE), want, 1e-9);
    assert_near(parsed("10:15:00.25", TIME_OF_DAY), 36900.25, 1e-9);
    assert_near(parsed("9:00:00", TIME_OF_DAY), 32400.0, 0.0);
    assert_near(parsed("12.5", TIME_COUNT), 12.5, 0.0);
    assert_near(parsed("-1e3", TIME_COUNT), -1000.0, 0.0);
    assert_true(isnan(parsed("", TIME_NONE)));
}

static void what_is_no_time_is_refused(void **state)
{
    static const char *const bad[] = {
        "2026-13-01T00:00:00",
        "2026-02-29T00:00:00",
        "2100-02-29T00:00:00",
        "2026-03-02",
        "2026-03-02T10:15",
        "2026-03-02T24:00:00",
        "2026-03-02T10:60:00",
        "1969-12-31T00:00:00",
        "2026-3-2T10:15:00",
        "2026-03-02T10:15:00.",
        "2026-03-02T10:15:00+",
        "2026-03-02T10:15:00Zx",
        "2026-03-02T10:15:61Z",
        "10:15",
        "10:15:00Z",
        "x",
        "10;15;00",
        "1e16",
        "nan",
        "2026-03-02T10:15:00+01:",
    };
    time_form form;
    double value;

    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        if (times_parse(bad[i], strlen(bad[i]), '.', 1.0, &form, &value))
            fail_msg("taken: %s", bad[i]);
}

/* ---- the column ---------------------------------------------------------- */

static book *timed(const char *text)
{
    book *b = book_text(text);

    b->columns.time = "t";
    b->columns.time_unit = 1.0;
    book_add(b, readings(NULL));
    return b;
}

static void times_stand_beside_their_rows(void **state)
{
    static const char *const same[] = {
        "x_mm,counts,t\n0,1,10:00:00\n5,2,10:00:01\n10,3,10:00:01.5\n",
        "t,x_mm,counts\r\n10:00:00,0,1\r\n 10:00:01 ,5,2\r\n\"10:00:01.5\",10,"
        "3\r\n",
        "t,x_mm,counts\n36000,0,1\n36001.0,5,2\n360015e-1,10,3\n",
        "x_mm,counts,t\r\n0,1,1970-01-01T10:00:00Z\r\n5,2,1970-01-01T11:00:01"
        "+01:00\r\n10,3,1970-01-01 10:00:01.5\r\n",
    };

    (void)state;
    for (size_t i = 0; i < sizeof same / sizeof *same; i++) {
        book *b = timed(same[i]);

        assert_int_equal(read_all(b), DM_OK);
        assert_string_equal(b->said.text, "");
        assert_int_equal(b->rows, 3);
        assert_near(b->time[0], 36000.0, 1e-9);
        assert_near(b->time[1], 36001.0, 1e-9);
        assert_near(b->time[2], 36001.5, 1e-9);
        book_free(b);
    }
}

static void milliseconds_and_a_decimal_comma(void **state)
{
    book *b = timed("x_mm;counts;t\n0;1;1500\n5;2;1500,5\n10;3;2e3\n");

    (void)state;
    b->columns.delimiter = ';';
    b->columns.decimal = ',';
    b->columns.time_unit = 0.001;
    assert_int_equal(read_all(b), DM_OK);
    assert_near(b->time[0], 1.5, 1e-12);
    assert_near(b->time[1], 1.5005, 1e-12);
    assert_near(b->time[2], 2.0, 1e-12);
    book_free(b);
}

/* Bridges are closed at night. */
static void a_time_of_day_goes_on_past_midnight(void **state)
{
    book *b = timed("t,x_mm,counts\n23:59:59,0,1\n00:00:01.5,5,2\n,10,3\n"
                    "0:00:01,15,4\n");

    (void)state;
    assert_int_equal(read_all(b), DM_OK);
    assert_int_equal(b->rows, 4);
    assert_near(b->time[1] - b->time[0], 2.5, 1e-9);
    assert_true(isnan(b->time[2]));
    /* A clock that was set back by less than half a day stays so. */
    assert_near(b->time[3] - b->time[1], -0.5, 1e-9);
    book_free(b);
}

/* The readings count all the same; one warning a file. */
static void a_bad_time_costs_the_time_only(void **state)
{
    book *b = timed("t,x_mm,counts\n1.0,0,1\n,5,2\nlate,10,3\n"
                    "10:00:00,15,4\n2.0,20,5\n");

    (void)state;
    assert_int_equal(read_all(b), DM_OK);
    assert_int_equal(b->rows, 5);
    assert_near(b->time[0], 1.0, 0.0);
    for (size_t i = 1; i < 4; i++)
        assert_true(isnan(b->time[i]));
    assert_near(b->time[4], 2.0, 0.0);
    assert_string_equal(
        heard(b), "FILE:4: warning: column 't': 'late' is not a time such as "
                  "12.5 (seconds), 10:15:00.5 or 2026-03-02T10:15:00.5Z; there "
                  "the speed is not known\n");
    book_free(b);
}

static void no_column_or_two_are_warned_of(void **state)
{
    book *b = timed("x_mm,counts\n0,1\n");

    (void)state;
    assert_int_equal(read_all(b), DM_OK);
    assert_int_equal(b->rows, 1);
    assert_true(isnan(b->time[0]));
    assert_string_equal(heard(b), "FILE:1: warning: column 't' is there 0 "
                                  "times: the speed is not known\n");
    book_free(b);
    b = timed("t,x_mm,t,counts\n0,0,0,1\n");
    assert_int_equal(read_all(b), DM_OK);
    assert_string_equal(heard(b), "FILE:1: warning: column 't' is there 2 "
                                  "times: the speed is not known\n");
    book_free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dates_are_seconds_since_the_epoch),
        cmocka_unit_test(every_way_of_one_moment_is_the_same),
        cmocka_unit_test(what_is_no_time_is_refused),
        cmocka_unit_test(times_stand_beside_their_rows),
        cmocka_unit_test(milliseconds_and_a_decimal_comma),
        cmocka_unit_test(a_time_of_day_goes_on_past_midnight),
        cmocka_unit_test(a_bad_time_costs_the_time_only),
        cmocka_unit_test(no_column_or_two_are_warned_of),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
