/* SPDX-License-Identifier: MIT
 * Plain decimal numbers, eight digits at a time in one word, without a branch
 * for each digit. For the hot loop of the readings; everything that is not
 * plain is left to dm_num_parse. */
#ifndef DM_SURVEY_DIGITS_H
#define DM_SURVEY_DIGITS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* The first byte in the lowest place on every machine. */
static inline uint64_t digits_load(const char *p)
{
    const unsigned char *b = (const unsigned char *)p;

    return (uint64_t)b[0] | (uint64_t)b[1] << 8 | (uint64_t)b[2] << 16 |
           (uint64_t)b[3] << 24 | (uint64_t)b[4] << 32 | (uint64_t)b[5] << 40 |
           (uint64_t)b[6] << 48 | (uint64_t)b[7] << 56;
}

/* Marks the bytes that are no digits in their high bits. A carry can only
 * spoil bytes behind the first that is none, and only if that one is not
 * ASCII. */
static inline uint64_t digits_none(uint64_t word)
{
    uint64_t t = word ^ UINT64_C(0x3030303030303030);

    return ((t + UINT64_C(0x7676767676767676)) | t) &
           UINT64_C(0x8080808080808080);
}

/* Index of the first marked byte; 8: none is marked. */
static inline unsigned digits_first(uint64_t marks)
{
#if defined(__GNUC__)
    return marks != 0 ? (unsigned)__builtin_ctzll(marks) / 8 : 8;
#else
    unsigned n = 0;

    while (n < 8 && (marks >> (8 * n) & 0x80) == 0)
        n++;
    return n;
#endif
}

/* Value of the first `count` (0..8) digits: they are moved to the end, zeros
 * fill up in front; then pairs, fours and eights are made side by side. */
static inline uint64_t digits_value(uint64_t word, unsigned count)
{
    uint64_t t = word ^ UINT64_C(0x3030303030303030);

    t = t << 4 * (8 - count) << 4 * (8 - count);
    t = (t & UINT64_C(0x0f0f0f0f0f0f0f0f)) * 2561 >> 8;
    t = (t & UINT64_C(0x00ff00ff00ff00ff)) * 6553601 >> 16;
    return (t & UINT64_C(0x0000ffff0000ffff)) * UINT64_C(42949672960001) >> 32;
}

static const double digits_power[16] = {1e0,  1e1,  1e2,  1e3, 1e4,  1e5,
                                        1e6,  1e7,  1e8,  1e9, 1e10, 1e11,
                                        1e12, 1e13, 1e14, 1e15};

/* The general case of digits_read: words in a row. */
static inline const char *digits_read_long(const char *p, char point,
                                           bool negative, double *out)
{
    static const uint32_t scale[9] = {
        1, 10, 100, 1000, 10000, 100000, 1000000, 10000000, 100000000};
    unsigned n, digits = 0, decimals = 0;
    uint64_t word, m = 0;
    bool pointed = false;
    double value;

    for (;;) {
        word = digits_load(p);
        n = digits_first(digits_none(word));
        m = m * scale[n] + digits_value(word, n);
        p += n;
        digits += n;
        decimals += pointed ? n : 0;
        if (digits > 15)
            return NULL;
        if (n == 8)
            continue;
        if (*p != point || pointed)
            break;
        pointed = true;
        p++;
    }
    if (digits == 0)
        return NULL;
    value = (double)m / digits_power[decimals];
    *out = negative ? -value : value;
    return p;
}

/* Reads [-]digits[point digits] of at most 15 digits: below 2^53, so that one
 * division by a power of ten rounds correctly (Clinger, "How to read floating
 * point numbers accurately", PLDI 1990). Looks at up to 16 bytes from where it
 * stops. Returns past the last digit or point; NULL: not plain.
 * Where the number with its point ends within one word, the point is taken
 * out of the word: what the next cell has to wait for stays short. */
static inline const char *digits_read(const char *p, char point, double *out)
{
    bool negative = *p == '-';
    uint64_t word, marks, low, m;
    unsigned n, end;
    double value;

    p += negative;
    word = digits_load(p);
    marks = digits_none(word);
    n = digits_first(marks);
    if (n == 0 || n == 8)
        return digits_read_long(p, point, negative, out);
    if (p[n] == point) {
        end = digits_first(marks & (marks - 1));
        if (end == 8)
            return digits_read_long(p, point, negative, out);
        low = (UINT64_C(1) << 8 * n) - 1;
        m = digits_value((word & low) | (word >> 8 & ~low), end - 1);
        value = (double)m / digits_power[end - 1 - n];
        p += end;
    } else {
        value = (double)digits_value(word, n);
        p += n;
    }
    *out = negative ? -value : value;
    return p;
}

#endif
