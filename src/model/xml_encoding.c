/* SPDX-License-Identifier: MIT
 * UTF-8 by RFC 3629, section 4. */
#include "model/xml_encoding.h"

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

dm_status xml_check_utf8(const dm_buf *text, dm_place at, dm_diag *diag)
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
