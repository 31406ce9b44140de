/* SPDX-License-Identifier: MIT
 * Names come from other people's files: a mark that reverses the writing
 * direction could make a label read as another one, so none gets through.
 * Decoding after RFC 3629 (no overlong forms, no surrogates). */
#include "draw/text.h"

#include <string.h>

#define ELLIPSIS "\xe2\x80\xa6"
#define MOST_LINE 4096 /* bytes that are looked at for one line */

/* One code point; the number of its bytes, 0: not UTF-8. */
static size_t decode(const unsigned char *s, uint32_t *out)
{
    static const uint32_t least[5] = {0, 0, 0x80, 0x800, 0x10000};
    size_t n = s[0] < 0x80   ? 1
               : s[0] < 0xc2 ? 0
               : s[0] < 0xe0 ? 2
               : s[0] < 0xf0 ? 3
               : s[0] < 0xf5 ? 4
                             : 0;
    size_t i;

    if (n == 0)
        return 0;
    *out = n == 1 ? s[0] : (uint32_t)(s[0] & (0x7f >> n));
    for (i = 1; i < n; i++) {
        if ((s[i] & 0xc0) != 0x80)
            return 0;
        *out = *out << 6 | (uint32_t)(s[i] & 0x3f);
    }
    if (*out < least[n] || *out > 0x10ffff || (*out >= 0xd800 && *out < 0xe000))
        return 0;
    return n;
}

static bool combines(uint32_t c)
{
    return (c >= 0x300 && c < 0x370) || (c >= 0x483 && c < 0x48a) ||
           (c >= 0x1ab0 && c < 0x1b00) || (c >= 0x1dc0 && c < 0x1e00) ||
           (c >= 0x20d0 && c < 0x2100) || (c >= 0xfe20 && c < 0xfe30);
}

static bool turns_direction(uint32_t c)
{
    return (c >= 0x200e && c <= 0x200f) || (c >= 0x202a && c <= 0x202e) ||
           (c >= 0x2066 && c <= 0x2069) || c == 0x61c;
}

static bool blank(uint32_t c)
{
    return c < 0x20 || (c >= 0x7f && c < 0xa0) || c == 0x2028 || c == 0x2029;
}

static bool no_character(uint32_t c)
{
    return (c & 0xfffe) == 0xfffe || (c >= 0xfdd0 && c < 0xfdf0);
}

void dm_text_clean(const char *text, dm_buf *out)
{
    const unsigned char *s = (const unsigned char *)text;
    uint32_t c = 0;
    size_t n, marks = 0;

    for (; *s != '\0'; s += n) {
        n = decode(s, &c);
        marks = n > 0 && combines(c) ? marks + 1 : 0;
        if (n == 0 || no_character(c)) {
            dm_buf_puts(out, "\xef\xbf\xbd");
            n = n == 0 ? 1 : n;
        } else if (blank(c)) {
            dm_buf_putc(out, ' ');
        } else if (!turns_direction(c) && c != 0xfeff && marks <= 2) {
            dm_buf_put(out, s, n);
        }
    }
}

double dm_text_width(dm_fonts *fonts, const char *clean, double points,
                     bool bold)
{
    return dm_fonts_advance(fonts, clean, bold) * points * DM_MM_PER_POINT;
}

static size_t back_one(const char *text, size_t length)
{
    while (length > 0 && ((unsigned char)text[--length] & 0xc0) == 0x80)
        continue;
    return length;
}

void dm_text_fit(dm_fonts *fonts, dm_buf *clean, double width, double points,
                 bool bold)
{
    size_t length;

    if (clean->failed || clean->length == 0 ||
        dm_text_width(fonts, clean->data, points, bold) <= width)
        return;
    length = clean->length < MOST_LINE ? clean->length : MOST_LINE;
    while (length > 0 && !clean->failed) {
        length = back_one(clean->data, length);
        while (length > 0 && clean->data[length - 1] == ' ')
            length--;
        clean->length = length;
        dm_buf_puts(clean, ELLIPSIS);
        if (clean->failed ||
            dm_text_width(fonts, clean->data, points, bold) <= width)
            return;
    }
}

/* Of clean text's first `length` bytes. */
static double part_width(dm_fonts *fonts, const char *clean, size_t length,
                         double points, bool bold)
{
    char part[MOST_LINE + 1];

    memcpy(part, clean, length);
    part[length] = '\0';
    return dm_text_width(fonts, part, points, bold);
}

size_t dm_text_line(dm_fonts *fonts, const char *clean, double width,
                    double points, bool bold, size_t *skip)
{
    size_t end = 0, best = 0, length = strlen(clean);

    *skip = 0;
    if (length > MOST_LINE)
        length = back_one(clean, MOST_LINE);
    while (end < length) {
        while (end < length && clean[end] != ' ')
            end++;
        if (part_width(fonts, clean, end, points, bold) > width)
            break;
        best = end;
        while (end < length && clean[end] == ' ')
            end++;
    }
    if (best == 0) { /* one word, too long: as much of it as fits */
        for (best = end < length ? end : length;
             best > 0 && part_width(fonts, clean, best, points, bold) > width;)
            best = back_one(clean, best);
        best = best == 0 && length > 0 ? 1 : best;
        while (((unsigned char)clean[best] & 0xc0) == 0x80)
            best++;
    }
    while (clean[best + *skip] == ' ')
        (*skip)++;
    return best;
}
