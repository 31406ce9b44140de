/* SPDX-License-Identifier: MIT
 * ISO 8601-1:2019 in its extended form, as loggers write it: with a T or a
 * blank between date and time, seconds always there. Days since 1970 by the
 * Gregorian rule, counted in years that begin in March, so that the leap day
 * comes last. Limit: dates before 1970 and beyond 9999 are refused. */
#include "survey/times.h"

#include <math.h>

#include "base/num.h"

typedef struct {
    const char *at, *end;
} cursor;

static bool is_digit(const cursor *c)
{
    return c->at < c->end && *c->at >= '0' && *c->at <= '9';
}

/* At least `least` and at most `most` digits. */
static bool digits(cursor *c, int least, int most, int *out)
{
    int n = 0;

    *out = 0;
    for (; n < most && is_digit(c); n++)
        *out = 10 * *out + (*c->at++ - '0');
    return n >= least;
}

static bool mark(cursor *c, const char *any)
{
    for (; c->at < c->end && *any != '\0'; any++)
        if (*c->at == *any) {
            c->at++;
            return true;
        }
    return false;
}

static bool fraction(cursor *c, double *seconds)
{
    double scale = 0.1;

    if (!mark(c, ".,"))
        return true;
    if (!is_digit(c))
        return false;
    for (; is_digit(c); c->at++, scale *= 0.1)
        *seconds += scale * (*c->at - '0');
    return true;
}

/* 60: a leap second. */
static bool time_of_day(cursor *c, double *out)
{
    int h, m, s;
    double seconds;

    if (!digits(c, 1, 2, &h) || !mark(c, ":") || !digits(c, 2, 2, &m) ||
        !mark(c, ":") || !digits(c, 2, 2, &s) || h > 23 || m > 59 || s > 60)
        return false;
    seconds = s;
    if (!fraction(c, &seconds))
        return false;
    *out = h * 3600.0 + m * 60.0 + seconds;
    return true;
}

static bool is_leap(int year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static bool date(cursor *c, double *days)
{
    static const int length[] = {31, 28, 31, 30, 31, 30,
                                 31, 31, 30, 31, 30, 31};
    int year, month, day, march, months;

    if (!digits(c, 4, 4, &year) || !mark(c, "-") || !digits(c, 2, 2, &month) ||
        !mark(c, "-") || !digits(c, 2, 2, &day) || year < 1970 || month < 1 ||
        month > 12 || day < 1 ||
        day > length[month - 1] + (month == 2 && is_leap(year)))
        return false;
    march = month > 2 ? year : year - 1;
    months = (month + 9) % 12; /* since March */
    *days = 365.0 * march + march / 4 - march / 100 + march / 400 +
            (153 * months + 2) / 5 + (day - 1) - 719468.0;
    return true;
}

/* Z, +hh:mm, +hhmm, +hh or nothing. */
static bool zone(cursor *c, double *seconds)
{
    int h, m = 0;
    double sign;

    *seconds = 0.0;
    if (c->at == c->end || mark(c, "Zz"))
        return true;
    sign = *c->at == '-' ? -1.0 : 1.0;
    if (!mark(c, "+-") || !digits(c, 2, 2, &h))
        return false;
    if (c->at < c->end) {
        mark(c, ":");
        if (!digits(c, 2, 2, &m))
            return false;
    }
    *seconds = sign * (h * 3600.0 + m * 60.0);
    return h < 24 && m < 60;
}

static bool date_time(cursor *c, double *out)
{
    double days, seconds, shift;

    if (!date(c, &days) || !mark(c, "Tt ") || !time_of_day(c, &seconds) ||
        !zone(c, &shift))
        return false;
    *out = days * 86400.0 + seconds - shift;
    return true;
}

bool times_parse(const char *text, size_t length, char point, double unit,
                 time_form *form, double *out)
{
    cursor c = {text, text + length};
    bool good;

    *out = (double)NAN;
    *form = TIME_NONE;
    if (length == 0)
        return true;
    if (length > 4 && text[4] == '-') {
        *form = TIME_DATE;
        good = date_time(&c, out);
    } else if (length > 2 && (text[1] == ':' || text[2] == ':')) {
        *form = TIME_OF_DAY;
        good = time_of_day(&c, out);
    } else {
        *form = TIME_COUNT;
        good = dm_num_parse(text, length, point, out) && fabs(*out) <= 1e15;
        *out *= unit;
        return good;
    }
    return good && c.at == c.end;
}
