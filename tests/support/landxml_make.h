/* SPDX-License-Identifier: MIT
 * A reference line in plan as a LandXML file, points from the line itself. */
#ifndef DM_TEST_LANDXML_MAKE_H
#define DM_TEST_LANDXML_MAKE_H

#include <math.h>
#include <stdint.h>
#include <stdio.h>

#include "base/buf.h"
#include "ductmark/alignment.h"

typedef struct {
    const char *name;
    double metres;
} make_unit;

typedef struct {
    dm_buf *out;
    const make_unit *unit;
    double (*shift)(void *user); /* of each coordinate, m; NULL: none */
    void *user;
} maker;

static inline double make_shift(const maker *m)
{
    return m->shift ? m->shift(m->user) : 0.0;
}

static inline void make_point(const maker *m, const char *name, double x,
                              double y)
{
    char text[160];
    double metres = m->unit->metres;
    y += make_shift(m);
    x += make_shift(m);
    snprintf(text, sizeof text, "<%s>%.13f %.13f</%s>", name, y / metres,
             x / metres, name);
    dm_buf_puts(m->out, text);
}

static inline void make_number(const maker *m, const char *name, double metres)
{
    char text[80];
    snprintf(text, sizeof text, " %s='%.17g'", name, metres / m->unit->metres);
    dm_buf_puts(m->out, text);
}

static inline void make_radius(const maker *m, const char *name, double k)
{
    if (k != 0.0)
        make_number(m, name, 1.0 / fabs(k));
}

static inline void make_attributes(const maker *m, const dm_horizontal *e,
                                   const char *name)
{
    dm_buf_printf(m->out, "<%s", name);
    make_number(m, "length", e->length);
    if (e->k0 == 0.0 && e->k1 == 0.0)
        return;
    dm_buf_printf(m->out, " rot='%s'", e->k0 + e->k1 > 0.0 ? "cw" : "ccw");
    if (e->k0 == e->k1) {
        make_radius(m, "radius", e->k0);
        return;
    }
    dm_buf_puts(m->out, " spiType='clothoid'");
    make_radius(m, "radiusStart", e->k0);
    make_radius(m, "radiusEnd", e->k1);
}

static inline void make_element(const maker *m, const dm_horizontal *e)
{
    dm_horizontal copy = *e;
    dm_alignment one = {.horizontal = &copy,
                        .horizontal_count = 1,
                        .begin = e->s0,
                        .end = e->s0 + e->length};
    dm_alignment_place p = dm_alignment_at(&one, one.end);
    bool straight = e->k0 == 0.0 && e->k1 == 0.0, arc = e->k0 == e->k1;
    const char *name = straight ? "Line" : arc ? "Curve" : "Spiral";
    double sb = sin(e->bearing), cb = cos(e->bearing);

    make_attributes(m, e, name);
    dm_buf_puts(m->out, ">");
    make_point(m, "Start", e->x, e->y);
    if (arc && !straight)
        make_point(m, "Center", e->x + cb / e->k0, e->y - sb / e->k0);
    if (!arc) {
        /* Where the end tangents meet. */
        double se = sin(p.bearing), ce = cos(p.bearing);
        double t =
            ((p.x - e->x) * ce - (p.y - e->y) * se) / (sb * ce - cb * se);
        make_point(m, "PI", e->x + t * sb, e->y + t * cb);
    }
    make_point(m, "End", p.x, p.y);
    dm_buf_printf(m->out, "</%s>\n", name);
}

/* The elements must not change hand. */
static inline void make_landxml(dm_buf *out, const dm_alignment *line,
                                const make_unit *unit,
                                double (*shift)(void *user), void *user)
{
    maker m = {out, unit, shift, user};
    dm_buf_printf(out,
                  "<LandXML xmlns='http://www.landxml.org/schema/LandXML-1.2'>"
                  "<Units><Metric linearUnit='%s'/></Units><Alignments>"
                  "<Alignment name='L'",
                  unit->name);
    make_number(&m, "staStart", line->begin);
    dm_buf_puts(out, "><CoordGeom>\n");
    for (size_t i = 0; i < line->horizontal_count; i++)
        make_element(&m, &line->horizontal[i]);
    dm_buf_puts(out, "</CoordGeom></Alignment></Alignments></LandXML>");
}

#endif
