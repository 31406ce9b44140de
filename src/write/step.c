/* SPDX-License-Identifier: MIT
 * Tokens of ISO 10303-21: strings carry ASCII 32..126 with ' and \ doubled,
 * everything else as UTF-16BE or UTF-32BE hex (control directives \X2\ and
 * \X4\); reals have a point and an upper-case E. Lists of points and triangles
 * are formatted in place, up to a few hundred at a time. */
#include "write/step.h"

#include <math.h>
#include <string.h>

#include "base/num.h"

#define CHUNK 256       /* points or triangles formatted at a time */
#define POINT_MAX 128   /* bytes of (x,y,z), : three numbers of DM_NUM_SIZE */
#define TRIANGLE_MAX 72 /* bytes of (a,b,c), with whole words stored */

void dm_step_init(dm_step *step, dm_out *out)
{
    step->out = out;
    step->last = 0;
    step->comma = false;
}

/* ---- structure -------------------------------------------------------- */

static void put(dm_step *step, const char *text)
{
    dm_out_puts(step->out, text);
}

static void separate(dm_step *step)
{
    if (step->comma)
        put(step, ",");
    step->comma = true;
}

/* Any integer without a sign; returns its length. At least 20 bytes. */
static size_t put_digits(char *out, uint64_t value)
{
    char digits[20];
    size_t n = 0, i;

    do {
        digits[n++] = (char)('0' + value % 10);
        value /= 10;
    } while (value > 0);
    for (i = 0; i < n; i++)
        out[i] = digits[n - 1 - i];
    return n;
}

static void put_id(dm_step *step, dm_step_id id)
{
    char *room = dm_out_reserve(step->out, 24);

    room[0] = '#';
    dm_out_advance(step->out, 1 + put_digits(room + 1, id));
}

static void header_line(dm_step *step, const char *keyword)
{
    put(step, keyword);
    put(step, "(");
    step->comma = false;
}

static void header_list(dm_step *step, const char *text)
{
    dm_step_open(step);
    dm_step_text(step, text);
    dm_step_close(step);
}

void dm_step_header(dm_step *step, const char *description, const char *name,
                    const char *time, const char *tool, const char *schema)
{
    put(step, "ISO-10303-21;\nHEADER;\n");
    header_line(step, "FILE_DESCRIPTION");
    header_list(step, description);
    dm_step_text(step, "2;1");
    dm_step_end(step);
    header_line(step, "FILE_NAME");
    dm_step_text(step, name);
    dm_step_text(step, time);
    header_list(step, "");
    header_list(step, "");
    dm_step_text(step, tool);
    dm_step_text(step, tool);
    dm_step_text(step, "");
    dm_step_end(step);
    header_line(step, "FILE_SCHEMA");
    header_list(step, schema);
    dm_step_end(step);
    put(step, "ENDSEC;\nDATA;\n");
}

void dm_step_footer(dm_step *step)
{
    put(step, "ENDSEC;\nEND-ISO-10303-21;\n");
}

dm_step_id dm_step_take(dm_step *step)
{
    return ++step->last;
}

dm_step_id dm_step_begin(dm_step *step, const char *entity)
{
    dm_step_id id = dm_step_take(step);

    dm_step_begin_as(step, id, entity);
    return id;
}

void dm_step_begin_as(dm_step *step, dm_step_id id, const char *entity)
{
    put_id(step, id);
    put(step, "=");
    put(step, entity);
    put(step, "(");
    step->comma = false;
}

void dm_step_end(dm_step *step)
{
    put(step, ");\n");
}

void dm_step_open(dm_step *step)
{
    separate(step);
    put(step, "(");
    step->comma = false;
}

void dm_step_typed(dm_step *step, const char *type)
{
    separate(step);
    put(step, type);
    put(step, "(");
    step->comma = false;
}

void dm_step_close(dm_step *step)
{
    put(step, ")");
    step->comma = true;
}

/* ---- values ----------------------------------------------------------- */

void dm_step_unset(dm_step *step)
{
    separate(step);
    put(step, "$");
}

void dm_step_derived(dm_step *step)
{
    separate(step);
    put(step, "*");
}

void dm_step_ref(dm_step *step, dm_step_id id)
{
    if (id == 0) {
        dm_step_unset(step);
        return;
    }
    separate(step);
    put_id(step, id);
}

void dm_step_enum(dm_step *step, const char *value)
{
    if (value == NULL) {
        dm_step_unset(step);
        return;
    }
    separate(step);
    put(step, ".");
    put(step, value);
    put(step, ".");
}

void dm_step_bool(dm_step *step, bool value)
{
    dm_step_enum(step, value ? "T" : "F");
}

void dm_step_int(dm_step *step, int64_t value)
{
    uint64_t magnitude = (uint64_t)value;
    char *room;
    size_t n = 0;

    separate(step);
    room = dm_out_reserve(step->out, 24);
    if (value < 0) {
        room[n++] = '-';
        magnitude = 0 - magnitude;
    }
    dm_out_advance(step->out, n + put_digits(room + n, magnitude));
}

void dm_step_real(dm_step *step, double value)
{
    char text[DM_NUM_SIZE], *e;
    size_t length;

    if (!isfinite(value)) {
        dm_step_unset(step);
        return;
    }
    separate(step);
    length = dm_num_shortest(text, value);
    e = memchr(text, 'e', length);
    if (e == NULL) {
        dm_out_put(step->out, text, length);
    } else {
        dm_out_put(step->out, text, (size_t)(e - text));
    }
    if (memchr(text, '.', length) == NULL)
        put(step, ".");
    if (e != NULL) {
        *e = 'E';
        dm_out_put(step->out, e, length - (size_t)(e - text));
    }
}

void dm_step_fixed(dm_step *step, double value, int decimals)
{
    char text[DM_NUM_SIZE];
    size_t length;

    if (!(fabs(value) < 1e15) || decimals == 0) {
        dm_step_real(step, value);
        return;
    }
    separate(step);
    length = dm_num_fixed(text, value, decimals);
    dm_out_put(step->out, text, length);
}

/* ---- strings ---------------------------------------------------------- */

/* One code point; *length bytes were used. Malformed: U+FFFD and one byte. */
static uint32_t decode(const unsigned char *s, size_t *length)
{
    static const uint32_t least[5] = {0, 0, 0x80, 0x800, 0x10000};
    size_t n = s[0] < 0x80   ? 1
               : s[0] < 0xC0 ? 0
               : s[0] < 0xE0 ? 2
               : s[0] < 0xF0 ? 3
               : s[0] < 0xF8 ? 4
                             : 0;
    uint32_t code;
    size_t i;

    *length = 1;
    if (n == 1)
        return s[0];
    if (n == 0)
        return 0xFFFD;
    code = s[0] & (0x7Fu >> n);
    for (i = 1; i < n; i++) {
        if ((s[i] & 0xC0) != 0x80)
            return 0xFFFD; /* also at the end of the text */
        code = code << 6 | (s[i] & 0x3Fu);
    }
    if (code < least[n] || code > 0x10FFFF || (code >= 0xD800 && code < 0xE000))
        return 0xFFFD;
    *length = n;
    return code;
}

size_t dm_step_characters(const char *text)
{
    const unsigned char *s = (const unsigned char *)text;
    size_t count = 0, length;

    for (; *s != '\0'; s += length, count++)
        decode(s, &length);
    return count;
}

static void put_hex(dm_step *step, uint32_t code, int digits)
{
    char hex[8];
    int i;

    for (i = digits; i-- > 0; code >>= 4)
        hex[i] = "0123456789ABCDEF"[code & 15];
    dm_out_put(step->out, hex, (size_t)digits);
}

static bool is_plain(unsigned char c)
{
    return c >= 32 && c < 127 && c != '\'' && c != '\\';
}

/* A run of code points that need hex of one width: 4 digits in the basic
 * plane, else 8. Returns past it. */
static const unsigned char *put_escaped(dm_step *step, const unsigned char *s)
{
    size_t length;
    uint32_t code = decode(s, &length);
    bool wide = code > 0xFFFF;

    put(step, wide ? "\\X4\\" : "\\X2\\");
    do {
        put_hex(step, code, wide ? 8 : 4);
        s += length;
        code = decode(s, &length);
    } while (*s != '\0' && (*s < 32 || *s > 126) && (code > 0xFFFF) == wide);
    put(step, "\\X0\\");
    return s;
}

void dm_step_text(dm_step *step, const char *text)
{
    const unsigned char *s = (const unsigned char *)text, *from;

    if (text == NULL) {
        dm_step_unset(step);
        return;
    }
    separate(step);
    put(step, "'");
    while (*s != '\0') {
        for (from = s; is_plain(*s); s++)
            ;
        dm_out_put(step->out, from, (size_t)(s - from));
        if (*s == '\'' || *s == '\\') {
            put(step, *s == '\'' ? "''" : "\\\\");
            s++;
        } else if (*s != '\0') {
            s = put_escaped(step, s);
        }
    }
    put(step, "'");
}

/* ---- meshes ----------------------------------------------------------- */

void dm_step_points(dm_step *step, const float *xyz, size_t count, int decimals)
{
    size_t i, n;
    char *room, *end;

    dm_step_open(step);
    for (i = 0; i < count; i += n) {
        n = count - i < CHUNK ? count - i : CHUNK;
        room = end = dm_out_reserve(step->out, n * POINT_MAX);
        for (const float *p = xyz + 3 * i; p < xyz + 3 * (i + n); p += 3) {
            *end++ = '(';
            end += dm_num_fixed(end, (double)p[0], decimals);
            *end++ = ',';
            end += dm_num_fixed(end, (double)p[1], decimals);
            *end++ = ',';
            end += dm_num_fixed(end, (double)p[2], decimals);
            *end++ = ')';
            *end++ = ',';
        }
        if (i + n == count)
            end--; /* the last comma */
        dm_out_advance(step->out, (size_t)(end - room));
    }
    dm_step_close(step);
}

/* An index plus one: most are below 10^6, so digits are made from the back
 * without a loop over an unknown count. */
static char *put_index(char *out, uint64_t value)
{
    return out + put_digits(out, value + 1);
}

void dm_step_triangles(dm_step *step, const uint32_t *index, size_t count,
                       const uint32_t *map)
{
    size_t i, k, n;
    char *room, *end;

    dm_step_open(step);
    for (i = 0; i < count; i += n) {
        n = count - i < CHUNK ? count - i : CHUNK;
        room = end = dm_out_reserve(step->out, n * TRIANGLE_MAX);
        for (k = 3 * i; k < 3 * (i + n); k += 3) {
            *end++ = '(';
            end = put_index(end, map ? map[index[k]] : index[k]);
            *end++ = ',';
            end = put_index(end, map ? map[index[k + 1]] : index[k + 1]);
            *end++ = ',';
            end = put_index(end, map ? map[index[k + 2]] : index[k + 2]);
            *end++ = ')';
            *end++ = ',';
        }
        if (i + n == count)
            end--;
        dm_out_advance(step->out, (size_t)(end - room));
    }
    dm_step_close(step);
}
