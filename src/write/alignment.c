/* SPDX-License-Identifier: MIT
 * The element `alignment`. Its numbers are plain decimals with at most 15
 * places, so the shortest digits of a double are cut there. Radii and bearings
 * come from curvatures and radians: of the decimals that read back as the same
 * double the roundest is taken, so that 300 m stays 300 m. A clothoid through
 * zero curvature is two, because the element has one hand. */
#include "write/alignment.h"

#include <math.h>
#include <string.h>

#include "base/num.h"

#define DEGREE (3.14159265358979323846 / 180.0)
#define MOST_DECIMALS 15
#define LONGEST_ID 63

/* ---- numbers
 * ------------------------------------------------------------------------ */

/* Digits without a point, and where the point belongs. */
typedef struct {
    char digit[DM_NUM_SIZE];
    int count, point; /* the point stands before digit[point] */
} decimal;

static decimal digits_of(const char *text)
{
    decimal d = {{0}, 0, 0};
    bool point = false;
    for (; *text && *text != 'e'; text++) {
        if (*text == '.') {
            point = true;
            continue;
        }
        d.digit[d.count++] = *text;
        d.point += !point;
    }
    if (*text == 'e') {
        int power = 0;
        const char *p = text + (text[1] == '-' || text[1] == '+' ? 2 : 1);
        while (*p)
            power = power * 10 + (*p++ - '0');
        d.point += text[1] == '-' ? -power : power;
    }
    return d;
}

static char digit_at(const decimal *d, int i)
{
    return i >= 0 && i < d->count ? d->digit[i] : '0';
}

static void put_plain(dm_buf *out, double value)
{
    char text[DM_NUM_SIZE];
    dm_num_shortest(text, fabs(value));
    decimal d = digits_of(text);
    int last = d.point + MOST_DECIMALS; /* one beyond the last digit kept */
    if (last > d.count)
        last = d.count;
    while (last > d.point && digit_at(&d, last - 1) == '0')
        last--;
    bool zero = true;
    for (int i = 0; i < last; i++)
        zero = zero && d.digit[i] == '0';
    if (value < 0.0 && !zero)
        dm_buf_putc(out, '-');
    if (d.point <= 0)
        dm_buf_putc(out, '0');
    for (int i = 0; i < d.point; i++)
        dm_buf_putc(out, digit_at(&d, i));
    if (last > d.point && !zero) {
        dm_buf_putc(out, '.');
        for (int i = d.point; i < last; i++)
            dm_buf_putc(out, digit_at(&d, i));
    }
}

static void put_quantity(dm_buf *out, const char *name, double value,
                         const char *unit)
{
    dm_buf_printf(out, " %s=\"", name);
    put_plain(out, value);
    dm_buf_printf(out, " %s\"", unit);
}

/* The roundest value that `back` leads to the wanted double; at most 9
 * decimals, else the value itself. */
static double roundest(double value, double wanted, double (*back)(double))
{
    double scale = 1.0;
    for (int i = 0; i <= 9; i++, scale *= 10.0) {
        double r = round(value * scale) / scale;
        if (back(r) == wanted)
            return r;
    }
    return value;
}

static double inverse(double v)
{
    return 1.0 / v;
}

static double radians(double v)
{
    return DEGREE * v;
}

static void put_radius(dm_buf *out, const char *name, double curvature)
{
    double k = fabs(curvature);
    if (k > 0.0)
        put_quantity(out, name, roundest(1.0 / k, k, inverse), "m");
}

/* ---- in plan
 * ------------------------------------------------------------------------- */

static void put_turn(dm_buf *out, double curvature)
{
    dm_buf_printf(out, " turn=\"%s\"/>\n", curvature > 0.0 ? "right" : "left");
}

static void put_clothoid(dm_buf *out, double length, double k0, double k1)
{
    dm_buf_puts(out, "      <clothoid");
    put_quantity(out, "length", length, "m");
    put_radius(out, "radius-start", k0);
    put_radius(out, "radius-end", k1);
    put_turn(out, k0 + k1);
}

static void put_element(dm_buf *out, const dm_horizontal *e)
{
    if (e->k0 == 0.0 && e->k1 == 0.0) {
        dm_buf_puts(out, "      <line");
        put_quantity(out, "length", e->length, "m");
        dm_buf_puts(out, "/>\n");
    } else if (e->k0 == e->k1) {
        dm_buf_puts(out, "      <arc");
        put_quantity(out, "length", e->length, "m");
        put_radius(out, "radius", e->k0);
        put_turn(out, e->k0);
    } else if (e->k0 * e->k1 < 0.0) {
        double first = e->length * (e->k0 / (e->k0 - e->k1));
        put_clothoid(out, first, e->k0, 0.0);
        put_clothoid(out, e->length - first, 0.0, e->k1);
    } else {
        put_clothoid(out, e->length, e->k0, e->k1);
    }
}

static void put_plan(dm_buf *out, const dm_alignment *line)
{
    const dm_horizontal *first = &line->horizontal[0];
    double deg = roundest(first->bearing / DEGREE, first->bearing, radians);
    dm_buf_puts(out, "    <horizontal>\n      <start");
    put_quantity(out, "station", line->begin, "m");
    put_quantity(out, "x", first->x, "m");
    put_quantity(out, "y", first->y, "m");
    put_quantity(out, "bearing", deg, "deg");
    dm_buf_puts(out, "/>\n");
    for (size_t i = 0; i < line->horizontal_count; i++)
        put_element(out, &line->horizontal[i]);
    dm_buf_puts(out, "    </horizontal>\n");
}

/* ---- all of it
 * ----------------------------------------------------------------------- */

static void put_profile(dm_buf *out, const dm_pvi *points, size_t count)
{
    if (count == 0)
        return;
    dm_buf_puts(out, "    <vertical>\n");
    for (size_t i = 0; i < count; i++) {
        dm_buf_puts(out, "      <pvi");
        put_quantity(out, "station", points[i].station, "m");
        put_quantity(out, "height", points[i].height, "m");
        if (points[i].curve_length > 0.0)
            put_quantity(out, "curve-length", points[i].curve_length, "m");
        dm_buf_puts(out, "/>\n");
    }
    dm_buf_puts(out, "    </vertical>\n");
}

void dm_alignment_xml(const char *id, const dm_alignment *line,
                      const dm_pvi *points, size_t count, dm_buf *out)
{
    dm_buf_puts(out, "  <alignment id=\"");
    dm_buf_xml(out, id);
    dm_buf_puts(out, "\">\n");
    put_plan(out, line);
    put_profile(out, points, count);
    for (size_t i = 0; i < line->equation_count; i++) {
        dm_buf_puts(out, "    <station-equation");
        put_quantity(out, "back", line->equations[i].back, "m");
        put_quantity(out, "ahead", line->equations[i].ahead, "m");
        dm_buf_puts(out, "/>\n");
    }
    dm_buf_puts(out, "  </alignment>\n");
}

static bool is_plain(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') ||
           (c >= '0' && c <= '9');
}

char *dm_alignment_id(dm_arena *arena, const char *text)
{
    char id[LONGEST_ID + 1];
    size_t n = 0;
    for (; *text && n < LONGEST_ID; text++) {
        bool keep = is_plain(*text) || *text == '.' || *text == '-';
        if (n == 0 ? is_plain(*text) : keep)
            id[n++] = *text;
        else if (n > 0 && id[n - 1] != '_')
            id[n++] = '_';
    }
    while (n > 0 && id[n - 1] == '_')
        n--;
    id[n] = '\0';
    return dm_arena_strdup(arena, n > 0 ? id : "alignment");
}
