/* SPDX-License-Identifier: MIT
 * Quantities of a LandXML file: numbers to metres and radians of the model.
 * The schema is not at hand, so each form is looked at here. */
#include "model/landxml_read.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "base/num.h"

#define PI 3.14159265358979323846

/* ---- elements
 * ------------------------------------------------------------------------ */

static const dm_xml_node *own(const land *l, const dm_xml_node *n,
                              const char *name)
{
    while (n && strcmp(dm_xml_space(n), l->space) != 0)
        n = dm_xml_next(n, name);
    return n;
}

const dm_xml_node *land_child(const land *l, const dm_xml_node *node,
                              const char *name)
{
    return own(l, dm_xml_child(node, name), name);
}

const dm_xml_node *land_next(const land *l, const dm_xml_node *node,
                             const char *name)
{
    return own(l, dm_xml_next(node, name), name);
}

size_t land_count(const land *l, const dm_xml_node *node, const char *name)
{
    size_t n = 0;
    for (const dm_xml_node *c = land_child(l, node, name); c;
         c = land_next(l, c, name))
        n++;
    return n;
}

/* ---- numbers
 * ------------------------------------------------------------------------- */

/* The next word of a text; its length, 0 at the end. */
static size_t next_word(const char **text)
{
    *text += strspn(*text, " \t\r\n");
    return strcspn(*text, " \t\r\n");
}

static bool parse(const char *text, double *out)
{
    size_t n = next_word(&text);
    const char *rest = text + n;
    return dm_num_parse(text, n, '.', out) && next_word(&rest) == 0;
}

double land_real(land *l, const dm_xml_node *node, const char *name)
{
    const char *text = dm_xml_text(l->xml, node, name, NULL);
    double value = (double)NAN;
    if (!text || parse(text, &value))
        return value;
    dm_xml_fault(l->xml, node, DM_SYNTAX,
                 "attribute '%s': '%.60s' is not a number", name, text);
    return (double)NAN;
}

/* Digits behind the point; a number with an exponent is as good as it gets. */
static int decimals_of(const char *word, size_t n)
{
    const char *point = memchr(word, '.', n);
    if (memchr(word, 'e', n) || memchr(word, 'E', n))
        return 17;
    return point ? (int)(word + n - point) - 1 : 0;
}

size_t land_numbers(land *l, const dm_xml_node *node, double *out, size_t most)
{
    const char *text = dm_xml_content(l->xml, node);
    size_t count = 0;
    for (size_t n = next_word(&text); n > 0; n = next_word(&text)) {
        double value;
        if (!dm_num_parse(text, n, '.', &value))
            return SIZE_MAX;
        if (count < most)
            out[count] = value;
        int decimals = decimals_of(text, n);
        if (decimals > l->decimals)
            l->decimals = decimals;
        count++;
        text += n;
    }
    return count;
}

/* ---- lengths
 * ------------------------------------------------------------------------- */

/* Metres of the file within bounds. */
static double bounded(land *l, const dm_xml_node *node, const char *name,
                      double value, double lo, double hi)
{
    char v[DM_NUM_SIZE], a[DM_NUM_SIZE], b[DM_NUM_SIZE];
    double metres = value * l->metres;
    if (isnan(value) || (metres >= lo && metres <= hi))
        return metres;
    dm_num_shortest(v, value);
    dm_num_shortest(a, lo);
    dm_num_shortest(b, hi);
    dm_xml_fault(l->xml, node, DM_RANGE, "%s is %s %s, expected %s to %s m",
                 name, v, l->unit, a, b);
    return (double)NAN;
}

double land_length(land *l, const dm_xml_node *node, const char *name,
                   double lo, double hi)
{
    return bounded(l, node, name, land_real(l, node, name), lo, hi) / l->scale;
}

static bool there(land *l, const dm_xml_node *node, const char *name)
{
    if (dm_xml_has(node, name))
        return true;
    dm_xml_fault(l->xml, node, DM_SCHEMA, "attribute '%s' is missing", name);
    return false;
}

double land_needed(land *l, const dm_xml_node *node, const char *name,
                   double lo, double hi)
{
    return there(l, node, name) ? land_length(l, node, name, lo, hi)
                                : (double)NAN;
}

double land_curvature(land *l, const dm_xml_node *node, const char *name)
{
    const char *text = dm_xml_text(l->xml, node, name, "INF");
    size_t n = next_word(&text);
    if (n == 3 &&
        (strncmp(text, "INF", 3) == 0 || strncmp(text, "inf", 3) == 0))
        return 0.0;
    return 1.0 / land_length(l, node, name, 1.0, 1e6);
}

double land_station_of(land *l, const dm_xml_node *node, double value)
{
    double metres = bounded(l, node, "its station", value, -1e7, 1e7);
    return l->scale == 1.0 ? metres : l->begin + (metres - l->begin) / l->scale;
}

double land_height_of(land *l, const dm_xml_node *node, double value)
{
    double z = bounded(l, node, "its elevation", value, -1e5, 1e5);
    return l->map ? dm_map_inverse(l->map, (dm_vec3){0.0, 0.0, z}).z : z;
}

double land_station(land *l, const dm_xml_node *node, const char *name)
{
    return there(l, node, name)
               ? land_station_of(l, node, land_real(l, node, name))
               : (double)NAN;
}

bool land_point(land *l, const dm_xml_node *node, const char *name,
                dm_vec3 *out)
{
    const dm_xml_node *n = land_child(l, node, name);
    double v[3] = {0.0, 0.0, 0.0};
    if (!n) {
        dm_xml_fault(l->xml, node, DM_SCHEMA, "its %s is missing", name);
        return false;
    }
    size_t count = land_numbers(l, n, v, 3);
    if (count == 0 && dm_xml_has(n, "pntRef")) {
        dm_xml_fault(l->xml, n, DM_UNSUPPORTED,
                     "a point by reference (pntRef) is not read, write its "
                     "northing and easting");
        return false;
    }
    if (count < 2 || count > 3) {
        dm_xml_fault(l->xml, n, DM_SYNTAX,
                     "expected northing, easting and at most an elevation");
        return false;
    }
    double north = bounded(l, n, "northing", v[0], -1e8, 1e8);
    double east = bounded(l, n, "easting", v[1], -1e8, 1e8);
    if (isnan(north) || isnan(east))
        return false;
    l->reach = fmax(l->reach, fmax(fabs(north), fabs(east)));
    *out = (dm_vec3){east, north, 0.0};
    if (l->map)
        *out = dm_map_inverse(l->map, *out);
    out->z = 0.0;
    return true;
}

/* ---- angles
 * ---------------------------------------------------------------------------
 */

/* 45.3025 is 45 deg 30' 25" (LandXML, type angularType). A digit that binary
 * fractions lose must not cost a minute. */
static double from_dms(double written)
{
    double v = fabs(written) + 1e-12, whole = floor(v);
    double hundredth = (v - whole) * 100.0, minutes = floor(hundredth);
    double seconds = (hundredth - minutes) * 100.0;
    return copysign(whole + minutes / 60.0 + seconds / 3600.0, written);
}

double land_angle_of(land *l, const dm_xml_node *node, const char *name,
                     land_angle written)
{
    double v = land_real(l, node, name);
    switch (written) {
    case LAND_GRADS:
        return v * (PI / 200.0);
    case LAND_DEGREES:
        return v * (PI / 180.0);
    case LAND_DMS:
        return from_dms(v) * (PI / 180.0);
    case LAND_RADIANS:
        break;
    }
    return v;
}

double land_between(double from, double to)
{
    return remainder(to - from, 2.0 * PI);
}

/* ---- for people
 * ----------------------------------------------------------------------- */

land_text land_show(const land *l, double metres)
{
    land_text t;
    char number[DM_NUM_SIZE];
    dm_num_fixed(number, metres * l->scale / l->metres, 4);
    snprintf(t.text, sizeof t.text, "%s %s", number, l->unit);
    return t;
}

land_text land_gap(double metres)
{
    land_text t;
    char number[DM_NUM_SIZE];
    bool small = metres < 1.0;
    dm_num_fixed(number, small ? 1000.0 * metres : metres, small ? 1 : 3);
    snprintf(t.text, sizeof t.text, "%s %s", number, small ? "mm" : "m");
    return t;
}

land_text land_deg(double radians)
{
    land_text t;
    char number[DM_NUM_SIZE];
    dm_num_fixed(number, radians * (180.0 / PI), 4);
    snprintf(t.text, sizeof t.text, "%s deg", number);
    return t;
}

void land_compare(land *l, const dm_xml_node *node, const char *name,
                  double stated, double computed)
{
    double off = fabs(stated - computed);
    if (!(off > LAND_WARN))
        return;
    if (off > LAND_REFUSE)
        dm_xml_fault(l->xml, node, DM_INCONSISTENT,
                     "%s is stated as %s, its points give %s", name,
                     land_show(l, stated).text, land_show(l, computed).text);
    else
        dm_xml_warn(l->xml, node,
                    "%s is stated as %s, its points give %s, which is used",
                    name, land_show(l, stated).text,
                    land_show(l, computed).text);
}
