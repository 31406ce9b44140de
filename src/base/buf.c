/* SPDX-License-Identifier: MIT
 * Growable byte buffer and the escapes of JSON, XML and CSV. Text is UTF-8
 * (RFC 3629); a byte that is not part of a well-formed sequence becomes the
 * replacement character U+FFFD in JSON and XML, because one such byte makes
 * the whole document unreadable. */
#include "base/buf.h"

#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/num.h"

#define FIRST_CAPACITY ((size_t)256)
#define REPLACEMENT "\xEF\xBF\xBD"

/* Room for `more` bytes and the final NUL. */
static bool make_room(dm_buf *buf, size_t more)
{
    size_t wanted, needed;
    char *grown;

    if (buf->failed)
        return false;
    if (more < buf->capacity - buf->length)
        return true;
    if (more > SIZE_MAX / 2 || buf->length > SIZE_MAX / 2 - more - 1) {
        buf->failed = true;
        return false;
    }
    needed = buf->length + more + 1;
    wanted = buf->capacity < FIRST_CAPACITY ? FIRST_CAPACITY : buf->capacity;
    while (wanted < needed)
        wanted *= 2;
    grown = realloc(buf->data, wanted);
    if (grown == NULL) {
        buf->failed = true;
        return false;
    }
    buf->data = grown;
    buf->capacity = wanted;
    return true;
}

void dm_buf_free(dm_buf *buf)
{
    free(buf->data);
    memset(buf, 0, sizeof *buf);
}

void dm_buf_clear(dm_buf *buf)
{
    buf->length = 0;
    buf->failed = false;
    if (buf->data != NULL)
        buf->data[0] = '\0';
}

void dm_buf_put(dm_buf *buf, const void *bytes, size_t length)
{
    if (!make_room(buf, length))
        return;
    if (length > 0)
        memcpy(buf->data + buf->length, bytes, length);
    buf->length += length;
    buf->data[buf->length] = '\0';
}

void dm_buf_reserve(dm_buf *buf, size_t length)
{
    make_room(buf, length);
}

void dm_buf_advance(dm_buf *buf, size_t used)
{
    buf->length += used;
    buf->data[buf->length] = '\0';
}

void dm_buf_puts(dm_buf *buf, const char *text)
{
    dm_buf_put(buf, text, strlen(text));
}

void dm_buf_putc(dm_buf *buf, char c)
{
    dm_buf_put(buf, &c, 1);
}

void dm_buf_printf(dm_buf *buf, const char *format, ...)
{
    va_list args;
    int length;

    va_start(args, format);
    length = vsnprintf(NULL, 0, format, args);
    va_end(args);
    if (length < 0) {
        buf->failed = true;
        return;
    }
    if (!make_room(buf, (size_t)length))
        return;
    va_start(args, format);
    vsnprintf(buf->data + buf->length, (size_t)length + 1, format, args);
    va_end(args);
    buf->length += (size_t)length;
}

void dm_buf_num(dm_buf *buf, double value)
{
    char text[DM_NUM_SIZE];

    dm_buf_put(buf, text, dm_num_shortest(text, value));
}

void dm_buf_fixed(dm_buf *buf, double value, int decimals)
{
    char text[DM_NUM_SIZE];

    dm_buf_put(buf, text, dm_num_fixed(text, value, decimals));
}

/* Length of the well-formed UTF-8 sequence at s (table 3-7 of the Unicode
 * standard), 0: malformed. The text ends with NUL, so no byte past it is
 * read. */
static size_t sequence_length(const unsigned char *s)
{
    unsigned char low = 0x80, high = 0xBF;
    size_t i, length;

    if (s[0] < 0x80)
        return 1;
    if (s[0] < 0xC2 || s[0] > 0xF4)
        return 0;
    length = s[0] < 0xE0 ? 2 : s[0] < 0xF0 ? 3 : 4;
    if (s[0] == 0xE0)
        low = 0xA0; /* overlong */
    else if (s[0] == 0xED)
        high = 0x9F; /* surrogates */
    else if (s[0] == 0xF0)
        low = 0x90; /* overlong */
    else if (s[0] == 0xF4)
        high = 0x8F; /* beyond U+10FFFF */
    if (s[1] < low || s[1] > high)
        return 0;
    for (i = 2; i < length; i++)
        if (s[i] < 0x80 || s[i] > 0xBF)
            return 0;
    return length;
}

/* Writes one character as it stands, or U+FFFD for a stray byte; returns how
 * many bytes of the text it took. */
static size_t put_character(dm_buf *buf, const char *s)
{
    size_t length = sequence_length((const unsigned char *)s);

    if (length == 0) {
        dm_buf_puts(buf, REPLACEMENT);
        return 1;
    }
    dm_buf_put(buf, s, length);
    return length;
}

/* Bytes that need no escape are copied in one go up to the next that does. */
static const char *copy_plain(dm_buf *buf, const char *s, const char *special)
{
    const char *from = s;

    while ((unsigned char)*s >= 0x20 && (unsigned char)*s < 0x80 &&
           strchr(special, *s) == NULL)
        s++;
    dm_buf_put(buf, from, (size_t)(s - from));
    return s;
}

void dm_buf_json(dm_buf *buf, const char *text)
{
    static const char short_of[] = "\b\f\n\r\t\"\\";
    static const char short_as[] = "bfnrt\"\\";
    const char *s = copy_plain(buf, text, "\"\\");

    while (*s != '\0') {
        const char *found = strchr(short_of, *s);

        if (found != NULL) {
            dm_buf_putc(buf, '\\');
            dm_buf_putc(buf, short_as[found - short_of]);
            s++;
        } else if ((unsigned char)*s < 0x20) {
            dm_buf_printf(buf, "\\u%04x", (unsigned)(unsigned char)*s);
            s++;
        } else {
            s += put_character(buf, s);
        }
        s = copy_plain(buf, s, "\"\\");
    }
}

/* The escape of a character, "" where XML 1.0 section 2.2 has no such
 * character, NULL where it stands for itself. White space other than the
 * blank is written as a reference: in an attribute it would become a blank
 * (section 3.3.3). */
static const char *xml_escape(const char *s)
{
    switch (*s) {
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '&':
        return "&amp;";
    case '"':
        return "&quot;";
    case '\'':
        return "&apos;";
    case '\t':
        return "&#9;";
    case '\n':
        return "&#10;";
    case '\r':
        return "&#13;";
    default:
        return (unsigned char)*s < 0x20 ? "" : NULL;
    }
}

void dm_buf_xml(dm_buf *buf, const char *text)
{
    const char *s = copy_plain(buf, text, "<>&\"'");

    while (*s != '\0') {
        const char *escape = xml_escape(s);

        if (escape != NULL) {
            dm_buf_puts(buf, escape);
            s++;
        } else if (strncmp(s, "\xEF\xBF\xBE", 3) == 0 ||
                   strncmp(s, "\xEF\xBF\xBF", 3) == 0) {
            s += 3; /* U+FFFE and U+FFFF are not characters of XML 1.0 */
        } else {
            s += put_character(buf, s);
        }
        s = copy_plain(buf, s, "<>&\"'");
    }
}

void dm_buf_csv(dm_buf *buf, const char *text)
{
    bool formula = text[0] != '\0' && strchr("=+-@\t\r", text[0]) != NULL;
    bool quoted = strpbrk(text, ",;\"\t\r\n") != NULL || text[0] == ' ' ||
                  (text[0] != '\0' && text[strlen(text) - 1] == ' ');

    if (quoted)
        dm_buf_putc(buf, '"');
    if (formula)
        dm_buf_putc(buf, '\'');
    for (; *text != '\0'; text++) {
        if (*text == '"')
            dm_buf_putc(buf, '"');
        dm_buf_putc(buf, *text);
    }
    if (quoted)
        dm_buf_putc(buf, '"');
}
