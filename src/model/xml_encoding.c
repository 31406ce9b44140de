/* SPDX-License-Identifier: MIT
 * UTF-8 by RFC 3629 section 4, UTF-16 by RFC 2781 section 2.2; the declared
 * name by XML 1.0 section 4.3.3. */
#include "model/xml_encoding.h"

#include <string.h>
#include <strings.h>

#include "base/diag.h"

/* Length of the UTF-8 character at s; 0: none (overlong, surrogate, cut off,
 * NUL). */
static size_t utf8_length(const unsigned char *s, size_t left)
{
    size_t n = *s < 0x80 ? 1 : *s < 0xE0 ? 2 : *s < 0xF0 ? 3 : 4;
    if (n == 1)
        return *s != 0;
    if (*s < 0xC2 || *s > 0xF4 || n > left)
        return 0;
    for (size_t i = 1; i < n; i++)
        if ((s[i] & 0xC0) != 0x80)
            return 0;
    bool bad = (*s == 0xE0 && s[1] < 0xA0) || (*s == 0xED && s[1] > 0x9F) ||
               (*s == 0xF0 && s[1] < 0x90) || (*s == 0xF4 && s[1] > 0x8F);
    return bad ? 0 : n;
}

static dm_status check_utf8(const dm_buf *text, dm_place at, dm_diag *diag)
{
    const unsigned char *s = (const unsigned char *)text->data;
    at.line = 1;
    for (size_t i = 0; i < text->length;) {
        size_t n = utf8_length(s + i, text->length - i);
        if (n == 0)
            return dm_error(diag, DM_SYNTAX, at, NULL,
                            "not UTF-8 text (byte %d)", (int)s[i]);
        at.line += s[i] == '\n';
        i += n;
    }
    return DM_OK;
}

static void put_utf8(dm_buf *out, unsigned long c)
{
    char b[4];
    size_t n = c < 0x80 ? 1 : c < 0x800 ? 2 : c < 0x10000 ? 3 : 4;
    static const unsigned lead[] = {0, 0x00, 0xC0, 0xE0, 0xF0};
    for (size_t i = n; i-- > 1; c >>= 6)
        b[i] = (char)(0x80u | (c & 0x3Fu));
    b[0] = (char)(lead[n] | (unsigned)c);
    dm_buf_put(out, b, n);
}

static dm_status from_utf16(const dm_buf *text, dm_place at, dm_diag *diag,
                            dm_buf *out)
{
    const unsigned char *s = (const unsigned char *)text->data;
    size_t high = s[0] == 0xFE ? 0 : 1; /* which byte of a pair */
    at.line = 1;
    for (size_t i = 2; i < text->length; i += 2) {
        bool cut = i + 1 >= text->length;
        unsigned long c =
            cut ? 0 : (unsigned long)s[i + high] << 8 | s[i + 1 - high];
        if (c >= 0xD800 && c < 0xDC00 && i + 3 < text->length) {
            unsigned long low =
                (unsigned long)s[i + 2 + high] << 8 | s[i + 3 - high];
            if (low >= 0xDC00 && low < 0xE000) {
                c = 0x10000 + ((c - 0xD800) << 10) + (low - 0xDC00);
                i += 2;
            }
        }
        if (cut || c == 0 || (c >= 0xD800 && c < 0xE000))
            return dm_error(diag, DM_SYNTAX, at, NULL, "not UTF-16 text");
        at.line += c == '\n';
        put_utf8(out, c);
    }
    return out->failed ? DM_NOMEM : DM_OK;
}

/* The name in <?xml ... encoding="NAME"?>; length 0: none. */
static size_t declared(const dm_buf *text, const char **name)
{
    const char *s = text->data, *end = s + text->length;
    if (text->length < 6 || memcmp(s, "<?xml", 5) != 0)
        return 0;
    const char *stop = memchr(s, '>', text->length);
    end = stop ? stop : end;
    while (end - s >= 9 && memcmp(s, "encoding", 8) != 0)
        s++;
    if (end - s < 9)
        return 0;
    for (s += 8; s < end && *s != '"' && *s != '\'';)
        s++;
    if (s == end)
        return 0;
    const char *last = memchr(s + 1, *s, (size_t)(end - s - 1));
    *name = s + 1;
    return last ? (size_t)(last - s - 1) : 0;
}

static bool is(const char *name, size_t length, const char *other)
{
    return strlen(other) == length && strncasecmp(name, other, length) == 0;
}

dm_status xml_decode(const dm_buf *text, dm_place at, dm_diag *diag,
                     dm_buf *room, const dm_buf **out)
{
    const char *name = "";
    size_t n = declared(text, &name);
    *out = text;
    if (text->length >= 2 && (memcmp(text->data, "\xFF\xFE", 2) == 0 ||
                              memcmp(text->data, "\xFE\xFF", 2) == 0)) {
        *out = room;
        return from_utf16(text, at, diag, room);
    }
    if (is(name, n, "ISO-8859-1")) {
        *out = room;
        for (size_t i = 0; i < text->length; i++)
            put_utf8(room, (unsigned char)text->data[i]);
        return room->failed ? DM_NOMEM : check_utf8(room, at, diag);
    }
    if (n > 0 && !is(name, n, "UTF-8") && !is(name, n, "US-ASCII")) {
        at.line = 1;
        return dm_error(diag, DM_SYNTAX, at, NULL,
                        "the encoding is '%.*s', expected UTF-8, ISO-8859-1 "
                        "or UTF-16 with a byte order mark",
                        n < 40 ? (int)n : 40, name);
    }
    return check_utf8(text, at, diag);
}
