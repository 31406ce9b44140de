/* SPDX-License-Identifier: MIT
 * Growable byte buffer. A failed allocation is remembered in `failed`; later
 * appends do nothing, so that callers check once at the end. */
#ifndef DM_BASE_BUF_H
#define DM_BASE_BUF_H

#include <stdbool.h>
#include <stddef.h>

typedef struct {
    char *data; /* NUL-terminated whenever data != NULL */
    size_t length;
    size_t capacity;
    bool failed;
} dm_buf;

void dm_buf_free(dm_buf *buf);
void dm_buf_clear(dm_buf *buf); /* keeps the memory */
void dm_buf_put(dm_buf *buf, const void *bytes, size_t length);
/* Room for `length` bytes at data + length, to be filled in place (when not
 * `failed`) and then taken in by dm_buf_advance. */
void dm_buf_reserve(dm_buf *buf, size_t length);
void dm_buf_advance(dm_buf *buf, size_t used);
void dm_buf_puts(dm_buf *buf, const char *text);
void dm_buf_putc(dm_buf *buf, char c);
/* No %f, %e, %g: numbers go through dm_buf_num and dm_buf_fixed. */
void dm_buf_printf(dm_buf *buf, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void dm_buf_num(dm_buf *buf, double value);                 /* shortest */
void dm_buf_fixed(dm_buf *buf, double value, int decimals); /* 0..9 */
/* Text as the inside of a JSON string / of XML text or attribute (escapes
 * < > & " ' and drops characters XML 1.0 does not allow). */
void dm_buf_json(dm_buf *buf, const char *text);
void dm_buf_xml(dm_buf *buf, const char *text);
/* One CSV text cell: quoted where needed (RFC 4180); a cell that a
 * spreadsheet would take for a formula (= + - @ tab CR first) is prefixed
 * with an apostrophe. Numbers must not go through this. */
void dm_buf_csv(dm_buf *buf, const char *text);

#endif
