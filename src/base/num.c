/* SPDX-License-Identifier: MIT
 * Decimal text without the locale. Reading: a mantissa of at most 2^53 times
 * a power of ten of at most 10^22 needs one correctly rounded operation
 * (Clinger, "How to read floating point numbers accurately", PLDI 1990); all
 * else is handed to strtod as digits and exponent without a decimal point, so
 * that the point of the locale never matters. Writing: eight digits at a time,
 * side by side in one word; the rare ties of a fixed format are decided
 * exactly. */
#include "base/num.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

_Static_assert(FLT_EVAL_METHOD == 0 && DBL_MANT_DIG == 53,
               "the exact paths need plain IEEE 754 double arithmetic");

#define EXACT_MANTISSA ((uint64_t)1 << 53)
#define EXACT_POWER 22
/* A decimal needs at most 767 significant digits to tell on which side of a
 * midpoint between two doubles it lies; what follows is one sticky digit. */
#define DIGITS_KEPT 780

static const double power_of_ten[EXACT_POWER + 1] = {
    1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

static bool is_digit(char c)
{
    return (unsigned char)(c - '0') < 10;
}

/* ---- writing ---------------------------------------------------------- */

/* Eight digits (value < 10^8), one a byte, the first in the lowest byte. Two,
 * then four, then eight numbers are divided side by side in one word; the
 * multiplications are exact reciprocals for numbers below 10^4 and 100. */
static uint64_t eight_digits(uint32_t value)
{
    uint32_t high = value / 10000;
    uint64_t x = high | (uint64_t)(value - high * 10000) << 32;
    uint64_t q = (x * 10486 >> 20) & 0x0000007f0000007fU;

    x = q | (x - q * 100) << 16;
    q = (x * 103 >> 10) & 0x000f000f000f000fU;
    return q | (x - q * 10) << 8;
}

/* The last `count` (1..8) of eight digits as text. Always writes eight bytes:
 * no branch depends on the value. */
static void put_last(char *out, uint64_t digits, int count)
{
    int i;

    digits = (digits + 0x3030303030303030U) >> 8 * (8 - count);
    for (i = 0; i < 8; i++) /* compilers make one store of this */
        out[i] = (char)(digits >> 8 * i & 0xff);
}

/* Exactly `decimals` (1..9) digits, and up to seven bytes of rubbish. */
static void put_padded(char *out, uint32_t value, int decimals)
{
    if (decimals == 9) {
        *out++ = (char)('0' + value / 100000000);
        value %= 100000000;
        decimals = 8;
    }
    put_last(out, eight_digits(value), decimals);
}

/* Digits of a value below 10^8; sums of comparisons do not branch. */
static int count_digits(uint32_t value)
{
    return 1 + (value >= 10) + (value >= 100) + (value >= 1000) +
           (value >= 10000) + (value >= 100000) + (value >= 1000000) +
           (value >= 10000000);
}

/* Any integer; returns past the last digit, before up to seven bytes of
 * rubbish. */
static char *put_integer(char *out, uint64_t value)
{
    uint64_t high;
    int count;

    if (value >= 100000000) {
        high = value / 100000000;
        out = put_integer(out, high);
        put_last(out, eight_digits((uint32_t)(value - high * 100000000)), 8);
        return out + 8;
    }
    count = count_digits((uint32_t)value);
    put_last(out, eight_digits((uint32_t)value), count);
    return out + count;
}

/* fraction (0 <= fraction < 1) * scale rounded to an integer, half up, as if
 * computed without error. The product is off by at most 2^-24, so only close
 * to a half its sign of (exact - half) needs the error term. */
static uint32_t round_scaled(double fraction, double scale)
{
    double product = fraction * scale;
    uint32_t n = (uint32_t)product;
    double over = product - n - 0.5;

    if (fabs(over) < 1e-6)
        over += fma(fraction, scale, -product);
    return n + (over >= 0);
}

size_t dm_num_fixed(char out[DM_NUM_SIZE], double value, int decimals)
{
    double magnitude = fabs(value);
    uint64_t whole;
    uint32_t part, scale;
    int minus;
    char *end;

    assert(decimals >= 0 && decimals <= 9);
    if (!(magnitude < 1e15))
        return dm_num_shortest(out, value);
    scale = (uint32_t)power_of_ten[decimals];
    whole = (uint64_t)(int64_t)magnitude; /* signed: one instruction */
    part = round_scaled(magnitude - (double)whole, scale);
    if (part == scale) {
        whole++;
        part = 0;
    }
    out[0] = '-';
    minus = !!signbit(value) & ((whole | part) != 0); /* no branch */
    end = put_integer(out + minus, whole);
    if (decimals > 0) {
        *end = '.';
        put_padded(end + 1, part, decimals);
        end += 1 + decimals;
    }
    *end = '\0';
    return (size_t)(end - out);
}

/* mantissa * 10^exponent, correctly rounded; infinite when too large. */
static double to_double(uint64_t mantissa, int exponent)
{
    char text[48];

    if (mantissa <= EXACT_MANTISSA && exponent >= -EXACT_POWER &&
        exponent <= EXACT_POWER)
        return exponent < 0 ? (double)mantissa / power_of_ten[-exponent]
                            : (double)mantissa * power_of_ten[exponent];
    snprintf(text, sizeof text, "%llue%d", (unsigned long long)mantissa,
             exponent);
    return strtod(text, NULL);
}

/* The 17 significant digits nearest to a positive value as an integer, with
 * the power of ten of the last. */
static uint64_t seventeen_digits(double value, int *exponent)
{
    char text[64];
    const char *s = text;
    uint64_t digits = 0;

    snprintf(text, sizeof text, "%.16e", value);
    for (; *s != 'e'; s++) /* steps over the point, whatever its bytes are */
        if (is_digit(*s))
            digits = digits * 10 + (uint64_t)(*s - '0');
    *exponent = (int)strtol(s + 1, NULL, 10) - 16;
    return digits;
}

/* Shortest digits that read back as the positive `value`: 17 always do, fewer
 * are tried by rounding those. Any decimal of at most 15 digits survives the
 * way through a normal double and back, so that 15 with the trailing zeros
 * cut are enough there; a subnormal has fewer and is searched from one. Below
 * a power of two doubles lie twice as dense as above, and the nearest 16
 * digits may fall out while those on the other side still read back. */
static uint64_t shortest_digits(double value, int *exponent)
{
    int dropped = value < DBL_MIN ? 16 : 2;
    uint64_t all = seventeen_digits(value, exponent), digits = all;

    for (; dropped > 0; dropped--) {
        uint64_t unit = (uint64_t)power_of_ten[dropped];
        uint64_t low = all / unit;
        bool up = all - low * unit >= unit / 2;

        digits = low + up; /* the nearer one first */
        if (to_double(digits, *exponent + dropped) == value)
            break;
        digits = low + !up;
        if (to_double(digits, *exponent + dropped) == value)
            break;
        digits = all;
    }
    *exponent += dropped;
    while (digits % 10 == 0) {
        digits /= 10;
        ++*exponent;
    }
    return digits;
}

/* d.ddde-07: one digit, the others behind the point, two exponent digits. */
static char *put_scientific(char *out, const char *digits, int count,
                            int exponent)
{
    unsigned magnitude = (unsigned)abs(exponent);

    *out++ = digits[0];
    if (count > 1) {
        *out++ = '.';
        memcpy(out, digits + 1, (size_t)count - 1);
        out += count - 1;
    }
    *out++ = 'e';
    *out++ = exponent < 0 ? '-' : '+';
    if (magnitude < 10)
        *out++ = '0';
    return put_integer(out, magnitude);
}

/* digits * 10^exponent, in plain form from 1e-4 up to below 1e15 and always
 * where no zero would have to be invented before the point. */
static char *put_decimal(char *out, uint64_t value, int exponent)
{
    char digits[24];
    int count = (int)(put_integer(digits, value) - digits);
    int point = count + exponent; /* digits before the point */

    if (point < -3 || (exponent > 0 && point > 15) || point > 17)
        return put_scientific(out, digits, count, point - 1);
    if (point <= 0) {
        memcpy(out, "0.000", 5);
        out += 2 - point;
        memcpy(out, digits, (size_t)count);
        return out + count;
    }
    if (exponent >= 0) {
        memcpy(out, digits, (size_t)count);
        memset(out + count, '0', (size_t)exponent);
        return out + point;
    }
    memcpy(out, digits, (size_t)point);
    out[point] = '.';
    memcpy(out + point + 1, digits + point, (size_t)(count - point));
    return out + count + 1;
}

/* The frequent case: a multiple of 10^-6 of at most 15 digits. It reads back
 * by construction, since reading divides the same integer by the same power,
 * and no shorter text can (see shortest_digits). NULL: not such a value. */
static char *put_short_decimal(char *out, double value)
{
    uint64_t n, whole;
    uint32_t part;
    int decimals = 6;

    if (value >= 1e9 || value < 1e-4)
        return NULL;
    n = (uint64_t)(value * 1e6 + 0.5);
    if ((double)n / 1e6 != value)
        return NULL;
    whole = n / 1000000;
    part = (uint32_t)(n - whole * 1000000);
    out = put_integer(out, whole);
    assert(part != 0); /* integers have gone another way */
    while (part % 10 == 0) {
        part /= 10;
        decimals--;
    }
    *out = '.';
    put_padded(out + 1, part, decimals);
    return out + 1 + decimals;
}

size_t dm_num_shortest(char out[DM_NUM_SIZE], double value)
{
    double magnitude = fabs(value);
    char *start = out, *end;
    uint64_t digits;
    int exponent;

    if (isnan(value)) {
        memcpy(out, "nan", 4);
        return 3;
    }
    if (signbit(value))
        *start++ = '-';
    if (isinf(value)) {
        memcpy(start, "inf", 4);
        return (size_t)(start - out) + 3;
    }
    if (magnitude < 1e15 && magnitude == (double)(uint64_t)magnitude) {
        end = put_integer(start, (uint64_t)magnitude);
    } else {
        end = put_short_decimal(start, magnitude);
        if (end == NULL) {
            digits = shortest_digits(magnitude, &exponent);
            end = put_decimal(start, digits, exponent);
        }
    }
    *end = '\0';
    return (size_t)(end - out);
}

/* ---- reading ---------------------------------------------------------- */

/* What the grammar found: digits with the point taken out. */
typedef struct {
    const char *digits; /* first digit or point */
    const char *end;    /* past the last digit or point */
    uint64_t mantissa;  /* valid for at most 19 significant digits */
    size_t significant; /* digits from the first that is not 0 */
    long long exponent; /* power of ten of the last digit */
} decimal;

/* Reads e+12 at s; the value is held at a bound far beyond any double. False:
 * not an exponent up to the end. */
static bool read_exponent(const char *s, const char *end, long long *exponent)
{
    const long long bound = 1000000000000000;
    bool negative = false;
    long long value = 0;

    s++;
    if (s < end && (*s == '+' || *s == '-'))
        negative = *s++ == '-';
    if (s == end)
        return false;
    for (; s < end; s++) {
        if (!is_digit(*s))
            return false;
        if (value < bound)
            value = value * 10 + (*s - '0');
    }
    *exponent += negative ? -value : value;
    return true;
}

/* Digits, at most one point, at least one digit, an exponent if any. */
static bool scan(const char *s, const char *end, char point, decimal *d)
{
    const char *first, *mark = NULL;
    uint64_t m = 0;
    size_t count;

    d->digits = s;
    for (; s < end && is_digit(*s); s++)
        m = m * 10 + (uint64_t)(*s - '0');
    count = (size_t)(s - d->digits);
    d->exponent = 0;
    if (s < end && *s == point) {
        mark = ++s;
        for (; s < end && is_digit(*s); s++)
            m = m * 10 + (uint64_t)(*s - '0');
        count += (size_t)(s - mark);
        d->exponent = -(long long)(s - mark);
    }
    d->end = s;
    d->mantissa = m;
    d->significant = count;
    if (count == 0)
        return false;
    if (count > 19) { /* leading zeros do not count */
        for (first = d->digits; first < s; first++) {
            if (*first != '0' && *first != point)
                break;
            count -= *first == '0';
        }
        d->significant = count;
    }
    if (s == end)
        return true;
    return (*s == 'e' || *s == 'E') && read_exponent(s, end, &d->exponent);
}

/* More digits than an integer holds: they are copied without the point. */
static double long_decimal(const decimal *d)
{
    char text[DIGITS_KEPT + 40];
    long long exponent = d->exponent;
    size_t left = d->significant, kept = 0;
    bool sticky = false;
    const char *s;

    for (s = d->end; left > 0;) /* back to the first significant digit */
        left -= is_digit(*--s);
    for (; s < d->end; s++) {
        if (!is_digit(*s))
            continue;
        if (kept < DIGITS_KEPT) {
            text[kept++] = *s;
        } else {
            sticky = sticky || *s != '0';
            exponent++;
        }
    }
    if (sticky) {
        text[kept++] = '1';
        exponent--;
    }
    if (exponent > 1000000)
        exponent = 1000000;
    else if (exponent < -1000000)
        exponent = -1000000;
    snprintf(text + kept, sizeof text - kept, "e%lld", exponent);
    return strtod(text, NULL);
}

bool dm_num_parse(const char *text, size_t length, char point, double *out)
{
    const char *s = text, *end = text + length;
    bool negative;
    decimal d;
    double value;

    *out = 0;
    if (length == 0)
        return false;
    negative = *s == '-';
    s += negative || *s == '+';
    if (!scan(s, end, point, &d))
        return false;
    if (d.significant > 19)
        value = long_decimal(&d);
    else if (d.mantissa == 0)
        value = 0;
    else if (d.exponent < -100000)
        value = 0;
    else if (d.exponent > 100000)
        return false;
    else
        value = to_double(d.mantissa, (int)d.exponent);
    if (!(value <= DBL_MAX))
        return false;
    *out = negative ? -value : value;
    return true;
}

double dm_num_down(double value, double unit)
{
    return floor(value / unit + 1e-6) * unit;
}

double dm_num_up(double value, double unit)
{
    return ceil(value / unit - 1e-6) * unit;
}
