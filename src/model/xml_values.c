/* SPDX-License-Identifier: MIT
 * Typed attributes: numbers with their units to SI. Units by definition: foot
 * 0.3048 m, inch 0.0254 m, US survey foot 1200/3937 m (85 FR 62698).
 * The schema has seen the form already; what is left are ranges. */
#include "model/xml.h"

#include <math.h>
#include <string.h>

#include "base/num.h"

#define DEGREE (3.14159265358979323846 / 180.0)
#define WHOLE_TURN 6.283185307179586476925

static size_t trimmed(const char **text)
{
    while (**text == ' ' || **text == '\t' || **text == '\n' || **text == '\r')
        ++*text;
    size_t n = strlen(*text);
    while (n > 0 && strchr(" \t\r\n", (*text)[n - 1]))
        n--;
    return n;
}

/* "expected LO to HI UNIT" in the unit as written. */
static void out_of_range(dm_xml *xml, const dm_xml_node *node, const char *name,
                         const char *text, double lo, double hi,
                         const char *unit)
{
    char a[DM_NUM_SIZE], b[DM_NUM_SIZE];
    /* Bounds are round numbers in metres or radians; six digits after the
     * conversion are enough to act on. */
    double scale_lo =
        fabs(lo) < 1e-12 ? 1.0 : pow(10, 5 - floor(log10(fabs(lo))));
    double scale_hi =
        fabs(hi) < 1e-12 ? 1.0 : pow(10, 5 - floor(log10(fabs(hi))));
    dm_num_shortest(a, round(lo * scale_lo) / scale_lo);
    dm_num_shortest(b, round(hi * scale_hi) / scale_hi);
    dm_xml_fault(xml, node, DM_RANGE,
                 "attribute '%s' is %.60s, expected %s to %s%s%s", name, text,
                 a, b, *unit ? " " : "", unit);
}

/* A number and what follows it after a blank. */
static bool split(const char *text, double *value, const char **unit)
{
    size_t n = trimmed(&text), number = 0;
    while (number < n && text[number] != ' ')
        number++;
    *unit = number < n ? text + number + 1 : "";
    return dm_num_parse(text, number, '.', value);
}

typedef struct {
    const char *unit;
    double factor, offset; /* SI = factor * (value + offset) */
} unit_row;

static const unit_row lengths[] = {{"m", 1.0, 0.0},
                                   {"mm", 0.001, 0.0},
                                   {"ft", 0.3048, 0.0},
                                   {"in", 0.0254, 0.0},
                                   {"us-ft", 1200.0 / 3937.0, 0.0},
                                   {NULL, 0.0, 0.0}};
static const unit_row angles[] = {{"deg", DEGREE, 0.0}, {NULL, 0.0, 0.0}};
static const unit_row areas[] = {{"m2", 1.0, 0.0},
                                 {"mm2", 1e-6, 0.0},
                                 {"in2", 0.0254 * 0.0254, 0.0},
                                 {NULL, 0.0, 0.0}};
static const unit_row volumes[] = {{"m3", 1.0, 0.0},
                                   {"L", 1e-3, 0.0},
                                   {"in3", 0.0254 * 0.0254 * 0.0254, 0.0},
                                   {"ft3", 0.3048 * 0.3048 * 0.3048, 0.0},
                                   {NULL, 0.0, 0.0}};
/* Pound-force per square inch: NIST SP 811, appendix B. */
static const unit_row pressures[] = {
    {"kPa", 1e3, 0.0}, {"psi", 6894.757293168, 0.0}, {NULL, 0.0, 0.0}};
static const unit_row temperatures[] = {
    {"degC", 1.0, 0.0}, {"degF", 5.0 / 9.0, -32.0}, {NULL, 0.0, 0.0}};
/* Pound and pound-force: NIST SP 811, appendix B. */
static const unit_row masses[] = {
    {"kg/m", 1.0, 0.0}, {"lb/ft", 0.45359237 / 0.3048, 0.0}, {NULL, 0.0, 0.0}};
static const unit_row forces[] = {
    {"kN", 1e3, 0.0}, {"kip", 4448.2216152605, 0.0}, {NULL, 0.0, 0.0}};
static const unit_row pure[] = {{"", 1.0, 0.0}, {NULL, 0.0, 0.0}};

static double quantity(dm_xml *xml, const dm_xml_node *node, const char *name,
                       const unit_row *units, double lo, double hi,
                       double fallback)
{
    const char *text = dm_xml_text(xml, node, name, NULL), *unit = "";
    double value = 0.0;
    if (!text)
        return fallback;
    const unit_row *u = units;
    if (split(text, &value, &unit))
        while (u->unit && strcmp(u->unit, unit) != 0)
            u++;
    else
        u = NULL;
    if (!u || !u->unit) {
        dm_xml_fault(xml, node, DM_SYNTAX,
                     "attribute '%s': '%.60s' is not a number%s", name, text,
                     units == pure ? "" : " with a unit");
        return fallback;
    }
    double si = u->factor * (value + u->offset);
    if (si >= lo && si <= hi)
        return si;
    out_of_range(xml, node, name, text, lo / u->factor - u->offset,
                 hi / u->factor - u->offset, unit);
    return fallback;
}

double dm_xml_real(dm_xml *xml, const dm_xml_node *node, const char *name,
                   double lo, double hi, double fallback)
{
    return quantity(xml, node, name, pure, lo, hi, fallback);
}

int dm_xml_int(dm_xml *xml, const dm_xml_node *node, const char *name, int lo,
               int hi, int fallback)
{
    return (int)quantity(xml, node, name, pure, lo, hi, fallback);
}

bool dm_xml_bool(dm_xml *xml, const dm_xml_node *node, const char *name,
                 bool fallback)
{
    const char *text = dm_xml_text(xml, node, name, NULL);
    if (!text)
        return fallback;
    trimmed(&text);
    return *text == 't' || *text == '1';
}

double dm_xml_length(dm_xml *xml, const dm_xml_node *node, const char *name,
                     double lo, double hi, double fallback)
{
    return quantity(xml, node, name, lengths, lo, hi, fallback);
}

double dm_xml_angle(dm_xml *xml, const dm_xml_node *node, const char *name,
                    double lo, double hi, double fallback)
{
    return quantity(xml, node, name, angles, lo, hi, fallback);
}

double dm_xml_clock(dm_xml *xml, const dm_xml_node *node, const char *name,
                    double fallback)
{
    const char *text = dm_xml_text(xml, node, name, NULL);
    if (!text)
        return fallback;
    const char *colon = strchr(text, ':');
    if (!colon) {
        double a = quantity(xml, node, name, angles, 0.0, WHOLE_TURN + 1e-12,
                            fallback);
        return a >= WHOLE_TURN - 1e-12 ? 0.0 : a;
    }
    double hours = 0.0, minutes = 0.0;
    dm_num_parse(text, (size_t)(colon - text), '.', &hours);
    dm_num_parse(colon + 1, strlen(colon + 1), '.', &minutes);
    double turn = fmod(hours + minutes / 60.0, 12.0) / 12.0;
    return turn * WHOLE_TURN;
}

double dm_xml_area(dm_xml *xml, const dm_xml_node *node, const char *name,
                   double lo, double hi, double fallback)
{
    return quantity(xml, node, name, areas, lo, hi, fallback);
}

double dm_xml_volume(dm_xml *xml, const dm_xml_node *node, const char *name,
                     double lo, double hi, double fallback)
{
    return quantity(xml, node, name, volumes, lo, hi, fallback);
}

double dm_xml_pressure(dm_xml *xml, const dm_xml_node *node, const char *name,
                       double lo, double hi, double fallback)
{
    return quantity(xml, node, name, pressures, lo, hi, fallback);
}

double dm_xml_mass(dm_xml *xml, const dm_xml_node *node, const char *name,
                   double lo, double hi, double fallback)
{
    return quantity(xml, node, name, masses, lo, hi, fallback);
}

double dm_xml_force(dm_xml *xml, const dm_xml_node *node, const char *name,
                    double lo, double hi, double fallback)
{
    return quantity(xml, node, name, forces, lo, hi, fallback);
}

double dm_xml_temperature(dm_xml *xml, const dm_xml_node *node,
                          const char *name, double lo, double hi,
                          double fallback)
{
    return quantity(xml, node, name, temperatures, lo, hi, fallback);
}

int dm_xml_word(dm_xml *xml, const dm_xml_node *node, const char *name,
                const char *const *words, int fallback)
{
    const char *text = dm_xml_text(xml, node, name, NULL);
    for (int i = 0; text && words[i]; i++)
        if (strcmp(words[i], text) == 0)
            return i;
    return fallback;
}

double dm_unit_metres(const char *unit)
{
    for (const unit_row *u = lengths; u->unit; u++)
        if (strcmp(u->unit, unit) == 0)
            return u->factor;
    return 0.0;
}
