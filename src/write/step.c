/* SPDX-License-Identifier: MIT
 * Tokens of ISO 10303-21: strings carry ASCII 32..126 with ' and \ doubled,
 * everything else as UTF-16BE or UTF-32BE hex (control directives \X2\ and
 * \X4\); reals have a point and an upper-case E. Lists of points and triangles
 * are formatted in place, up to a few hundred at a time. */
#include "write/step.h"

#include <math.h>
#include <string.h>

#include "base/num.h"

#define ROOM ((size_t)65536) /* reserved in the file's buffer at a time */
#define CHUNK 256            /* points or triangles formatted at a time */
#define POINT_MAX 128   /* bytes of (x,y,z), : three numbers of DM_NUM_SIZE */
#define TRIANGLE_MAX 48 /* bytes of (a,b,c), with whole labels stored */
#define DIGITS_MAX 24

void dm_step_init(dm_step *step, dm_out *out)
{
    step->out = out;
    step->room = dm_out_reserve(out, ROOM);
    step->used = 0;
    step->last = 0;
    step->comma = false;
}

void dm_step_flush(dm_step *step)
{
    dm_out_advance(step->out, step->used);
    step->room = dm_out_reserve(step->out, ROOM);
    step->used = 0;
}

/* ---- structure -------------------------------------------------------- */

/* Where the next `length` (<= ROOM) bytes go. */
static char *reserve(dm_step *step, size_t length)
{
    if (length > ROOM - step->used)
        dm_step_flush(step);
    return step->room + step->used;
}

static void put_bytes(dm_step *step, const char *bytes, size_t length)
{
    size_t part;

    for (; length > 0; bytes += part, length -= part) {
        part = length < ROOM ? length : ROOM;
        memcpy(reserve(step, part), bytes, part);
        step->used += part;
    }
}

static void put(dm_step *step, const char *text)
{
    put_bytes(step, text, strlen(text));
}

static void put_char(dm_step *step, char c)
{
    *reserve(step, 1) = c;
    step->used++;
}

static void separate(dm_step *step)
{
    if (step->comma)
        put_char(step, ',');
    step->comma = true;
}

static const char pairs[] =
    "00010203040506070809101112131415161718192021222324"
    "25262728293031323334353637383940414243444546474849"
    "50515253545556575859606162636465666768697071727374"
    "75767778798081828384858687888990919293949596979899";

/* Any integer without a sign, two digits at a time; returns its length. At
 * least 20 bytes. */
static size_t put_digits(char *out, uint64_t value)
{
    char text[20], *s = text + sizeof text;

    while (value >= 100) {
        s -= 2;
        memcpy(s, pairs + 2 * (value % 100), 2);
        value /= 100;
    }
    if (value >= 10) {
        s -= 2;
        memcpy(s, pairs + 2 * value, 2);
    } else {
        *--s = (char)('0' + value);
    }
    memcpy(out, s, (size_t)(text + sizeof text - s));
    return (size_t)(text + sizeof text - s);
}

static void put_id(dm_step *step, dm_step_id id)
{
    char *room = reserve(step, DIGITS_MAX);

    room[0] = '#';
    step->used += 1 + put_digits(room + 1, id);
}

static void header_line(dm_step *step, const char *keyword)
{
    put(step, keyword);
    put_char(step, '(');
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
    dm_step_flush(step);
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
    put_char(step, '=');
    put(step, entity);
    put_char(step, '(');
    step->comma = false;
}

void dm_step_end(dm_step *step)
{
    put(step, ");\n");
}

void dm_step_open(dm_step *step)
{
    separate(step);
    put_char(step, '(');
    step->comma = false;
}

void dm_step_typed(dm_step *step, const char *type)
{
    separate(step);
    put(step, type);
    put_char(step, '(');
    step->comma = false;
}

void dm_step_close(dm_step *step)
{
    put_char(step, ')');
    step->comma = true;
}

/* ---- values ----------------------------------------------------------- */

void dm_step_unset(dm_step *step)
{
    separate(step);
    put_char(step, '$');
}

void dm_step_derived(dm_step *step)
{
    separate(step);
    put_char(step, '*');
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
    put_char(step, '.');
    put(step, value);
    put_char(step, '.');
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
    room = reserve(step, DIGITS_MAX);
    if (value < 0) {
        room[n++] = '-';
        magnitude = 0 - magnitude;
    }
    step->used += n + put_digits(room + n, magnitude);
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
        put_bytes(step, text, length);
    } else {
        put_bytes(step, text, (size_t)(e - text));
    }
    if (memchr(text, '.', length) == NULL)
        put_char(step, '.');
    if (e != NULL) {
        *e = 'E';
        put_bytes(step, e, length - (size_t)(e - text));
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
    put_bytes(step, text, length);
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
    put_bytes(step, hex, (size_t)digits);
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
    put_char(step, '\'');
    while (*s != '\0') {
        for (from = s; is_plain(*s); s++)
            ;
        put_bytes(step, (const char *)from, (size_t)(s - from));
        if (*s == '\'' || *s == '\\') {
            put(step, *s == '\'' ? "''" : "\\\\");
            s++;
        } else if (*s != '\0') {
            s = put_escaped(step, s);
        }
    }
    put_char(step, '\'');
}

/* ---- meshes ----------------------------------------------------------- */

/* Five decimals, half up. A single has 24 bits, so that its product with 1e5
 * in double precision is off by far less than the text's last digit. */
static char *put_coordinate(char *out, float value)
{
    double magnitude = fabs((double)value);
    uint32_t whole, part;
    uint64_t n;

    if (!(magnitude < 1e9)) /* also not a number: the caller's fault */
        return out + dm_num_fixed(out, (double)value, 5);
    n = (uint64_t)(magnitude * 1e5 + 0.5);
    whole = (uint32_t)(n / 100000);
    part = (uint32_t)(n - (uint64_t)whole * 100000);
    *out = '-';
    out += value < 0.0f && n > 0;
    if (whole < 10)
        *out++ = (char)('0' + whole);
    else
        out += put_digits(out, whole);
    out[0] = '.';
    out[1] = (char)('0' + part / 10000);
    memcpy(out + 2, pairs + 2 * (part / 100 % 100), 2);
    memcpy(out + 4, pairs + 2 * (part % 100), 2);
    return out + 6;
}

void dm_step_points(dm_step *step, const float *xyz, size_t count)
{
    const float *p, *last;
    size_t i, n;
    char *room, *end;

    dm_step_open(step);
    for (i = 0; i < count; i += n) {
        n = count - i < CHUNK ? count - i : CHUNK;
        room = end = reserve(step, n * POINT_MAX);
        last = xyz + 3 * (i + n);
        for (p = xyz + 3 * i; p < last; p += 3) {
            *end++ = '(';
            end = put_coordinate(end, p[0]);
            *end++ = ',';
            end = put_coordinate(end, p[1]);
            *end++ = ',';
            end = put_coordinate(end, p[2]);
            *end++ = ')';
            *end++ = ',';
        }
        if (i + n == count)
            end--; /* the last comma */
        step->used += (size_t)(end - room);
    }
    dm_step_close(step);
}

dm_step_label dm_step_label_of(uint32_t number)
{
    dm_step_label label = {{0}, 0};
    char text[20];

    label.length = (uint8_t)put_digits(text, number);
    memcpy(label.text, text, label.length);
    return label;
}

static char *put_label(char *out, const dm_step_label *label, char after)
{
    memcpy(out, label->text, sizeof label->text); /* no loop: whole words */
    out += label->length;
    *out = after;
    return out + 1;
}

void dm_step_triangles(dm_step *step, const uint32_t *index, size_t count,
                       const dm_step_label *label)
{
    size_t i, k, n;
    char *room, *end;

    dm_step_open(step);
    for (i = 0; i < count; i += n) {
        n = count - i < CHUNK ? count - i : CHUNK;
        room = end = reserve(step, n * TRIANGLE_MAX);
        for (k = 3 * i; k < 3 * (i + n); k += 3) {
            *end++ = '(';
            end = put_label(end, &label[index[k]], ',');
            end = put_label(end, &label[index[k + 1]], ',');
            end = put_label(end, &label[index[k + 2]], ')');
            *end++ = ',';
        }
        if (i + n == count)
            end--; /* the last comma */
        step->used += (size_t)(end - room);
    }
    dm_step_close(step);
}
