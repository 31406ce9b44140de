/* SPDX-License-Identifier: MIT
 * CoordGeom of LandXML: Line, Curve and Spiral (clothoid) into elements whose
 * curvature is linear. Lengths, radii and hands as stated; what points say
 * comes first where it is better known:
 *
 *     Line    direction and length from its two points
 *     Curve   directions square to Start and End from Center; its length from
 *             the chord while it turns by less than a right angle (a rounded
 *             Center then hardly matters), else from the angle at Center
 *     Spiral  directions Start to PI and PI to End; length as stated, because
 *             points of a flat clothoid do not give it
 *
 * Points are rounded where they are written. Within that doubt the stated
 * length holds, so that stations are those of the drawings, and the line is
 * turned about its begin to lie nearest to all its points: a first element of
 * 20 m in millimetres would else lead it astray by 10 mm in 300 m.
 *
 * Refused: other spirals, irregular lines, chains of points, points by
 * reference. */
#include "model/landxml_read.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define SHORTEST 1e-3
#define LONGEST 1e5

static double bearing_of(dm_vec3 way)
{
    return atan2(way.x, way.y);
}

/* Directions are clockwise from north by the schema's words; some programs
 * count from east, against the clock. One that is neither is worth a word. */
static void check_direction(land *l, const dm_xml_node *node, const char *name,
                            double bearing, double length)
{
    double stated = land_angle_of(l, node, name, l->directions);
    double computed = bearing - l->turn;
    double allowed = LAND_KINK_WARN + LAND_WARN / length;
    double off = fmin(fabs(land_between(computed, stated)),
                      fabs(land_between(0.5 * PI - computed, stated)));
    if (l->direction_said || !(off > allowed))
        return;
    l->direction_said = true;
    dm_xml_warn(l->xml, node,
                "%s is %s off what its points give, and is not used; others "
                "may be too",
                name, land_deg(off).text);
}

static void check_angle(land *l, const dm_xml_node *node, const char *name,
                        const char *by, double computed, double length)
{
    double stated = land_angle_of(l, node, name, l->angles);
    double off = fabs(fabs(stated) - computed);
    if (off > LAND_KINK_WARN + LAND_WARN / length)
        dm_xml_warn(l->xml, node,
                    "%s is stated as %s, %s give %s, which is used", name,
                    land_deg(fabs(stated)).text, by, land_deg(computed).text);
}

/* 1: turns right (clockwise), -1: left. */
static bool read_hand(land *l, const dm_xml_node *node, double *hand)
{
    const char *rot = dm_xml_text(l->xml, node, "rot", "");
    *hand = strcmp(rot, "cw") == 0 ? 1.0 : -1.0;
    if (strcmp(rot, "cw") == 0 || strcmp(rot, "ccw") == 0)
        return true;
    dm_xml_fault(l->xml, node, DM_SCHEMA, "rot is '%.20s', expected cw or ccw",
                 rot);
    return false;
}

static bool good_length(land *l, const dm_xml_node *node, double length)
{
    if (length >= SHORTEST && length <= LONGEST)
        return true;
    dm_xml_fault(l->xml, node, DM_RANGE,
                 "its points give a length of %s, expected 0.001 to 100000 m",
                 land_show(l, length).text);
    return false;
}

static bool read_line(land *l, land_piece *p, dm_horizontal *h)
{
    bool start = land_point(l, p->node, "Start", &p->start);
    if (!land_point(l, p->node, "End", &p->end) || !start)
        return false;
    double stated = land_length(l, p->node, "length", 0.0, LONGEST);
    dm_vec3 way = dm_vec3_sub(p->end, p->start);
    h->length = p->lever = dm_vec3_norm(way);
    p->stated = stated;
    if (!good_length(l, p->node, h->length))
        return false;
    p->in = p->out = bearing_of(way);
    land_compare(l, p->node, "length", stated, h->length);
    check_direction(l, p->node, "dir", p->in, h->length);
    return true;
}

/* A stated radius holds if the points agree; else theirs. */
static double radius_of(land *l, const dm_xml_node *node, double to_start,
                        double to_end)
{
    double stated = land_length(l, node, "radius", 1.0, 1e6);
    double radius = isnan(stated) ? 0.5 * (to_start + to_end) : stated;
    double off = fmax(fabs(to_start - radius), fabs(to_end - radius));
    double allowed = LAND_WARN + 1e-6 * radius;
    if (off > LAND_REFUSE + 1e-6 * radius) {
        dm_xml_fault(l->xml, node, DM_INCONSISTENT,
                     "Start and End lie %s and %s from Center, the radius is "
                     "%s",
                     land_show(l, to_start).text, land_show(l, to_end).text,
                     land_show(l, radius).text);
        return (double)NAN;
    }
    if (off > allowed)
        dm_xml_warn(l->xml, node,
                    "Start and End lie %s and %s from Center, the radius is %s",
                    land_show(l, to_start).text, land_show(l, to_end).text,
                    land_show(l, radius).text);
    if (radius * l->scale >= 1.0 && radius * l->scale <= 1e6)
        return radius;
    dm_xml_fault(l->xml, node, DM_RANGE,
                 "its points give a radius of %s, expected 1 to 1000000 m",
                 land_show(l, radius).text);
    return (double)NAN;
}

static double turn_about(dm_vec3 a, dm_vec3 b, double hand, double radius)
{
    double cross = hand * (a.y * b.x - a.x * b.y);
    double turn = atan2(cross, dm_vec3_dot(a, b));
    if (turn < 0.0)
        turn += 2.0 * PI;
    if (turn < 0.5 * PI)
        turn = 2.0 *
               asin(fmin(0.5 * dm_vec3_norm(dm_vec3_sub(b, a)) / radius, 1.0));
    return turn;
}

static bool read_curve(land *l, land_piece *p, dm_horizontal *h)
{
    dm_vec3 centre;
    double hand;
    bool good = read_hand(l, p->node, &hand);
    good &= land_point(l, p->node, "Start", &p->start);
    good &= land_point(l, p->node, "Center", &centre);
    good &= land_point(l, p->node, "End", &p->end);
    double stated = land_length(l, p->node, "length", 0.0, LONGEST);
    if (!good)
        return false;
    dm_vec3 a = dm_vec3_sub(p->start, centre), b = dm_vec3_sub(p->end, centre);
    double radius = radius_of(l, p->node, dm_vec3_norm(a), dm_vec3_norm(b));
    if (isnan(radius))
        return false;
    double turn = turn_about(a, b, hand, radius);
    h->length = radius * turn;
    p->stated = stated;
    p->lever = radius;
    h->k0 = h->k1 = hand / radius;
    if (!good_length(l, p->node, h->length))
        return false;
    p->in = bearing_of(a) + hand * 0.5 * PI;
    p->out = bearing_of(b) + hand * 0.5 * PI;
    land_compare(l, p->node, "length", stated, h->length);
    check_angle(l, p->node, "delta", "its points", turn, h->length);
    check_direction(l, p->node, "dirStart", p->in, h->length);
    check_direction(l, p->node, "dirEnd", p->out, h->length);
    return true;
}

/* Between its tangents a spiral turns by what its length and radii give. */
static bool check_spiral(land *l, const land_piece *p, const dm_horizontal *h)
{
    double turn = 0.5 * (h->k0 + h->k1) * h->length;
    if (fabs(turn) > 170.0 / 180.0 * PI) {
        dm_xml_fault(l->xml, p->node, DM_UNSUPPORTED,
                     "turns by %s, at most 170 deg are read",
                     land_deg(fabs(turn)).text);
        return false;
    }
    double points = land_between(p->in, p->out);
    double off = fabs(land_between(turn, points));
    if (off > LAND_KINK_REFUSE) {
        dm_xml_fault(l->xml, p->node, DM_INCONSISTENT,
                     "turns right by %s by its length and radii, by %s by its "
                     "PI",
                     land_deg(turn).text, land_deg(points).text);
        return false;
    }
    if (off > LAND_KINK_WARN)
        dm_xml_warn(l->xml, p->node,
                    "turns right by %s by its length and radii, by %s by its "
                    "PI",
                    land_deg(turn).text, land_deg(points).text);
    if (h->k0 == 0.0 || h->k1 == 0.0)
        check_angle(l, p->node, "theta", "length and radii", fabs(turn),
                    h->length);
    check_direction(l, p->node, "dirStart", p->in, h->length);
    check_direction(l, p->node, "dirEnd", p->out, h->length);
    return true;
}

static bool read_spiral(land *l, land_piece *p, dm_horizontal *h)
{
    dm_vec3 pi;
    double hand;
    const char *kind = dm_xml_text(l->xml, p->node, "spiType", "");
    if (strcmp(kind, "clothoid") != 0) {
        dm_xml_fault(l->xml, p->node, DM_UNSUPPORTED,
                     "spiType is '%.40s', only clothoid is read", kind);
        return false;
    }
    bool good = read_hand(l, p->node, &hand);
    good &= land_point(l, p->node, "Start", &p->start);
    good &= land_point(l, p->node, "PI", &pi);
    good &= land_point(l, p->node, "End", &p->end);
    h->length = land_needed(l, p->node, "length", SHORTEST, LONGEST);
    h->k0 = hand * land_curvature(l, p->node, "radiusStart");
    h->k1 = hand * land_curvature(l, p->node, "radiusEnd");
    if (!good || isnan(h->length) || isnan(h->k0) || isnan(h->k1))
        return false;
    dm_vec3 in = dm_vec3_sub(pi, p->start), out = dm_vec3_sub(p->end, pi);
    if (h->k0 == 0.0 && h->k1 == 0.0) {
        dm_xml_fault(l->xml, p->node, DM_GEOMETRY,
                     "both ends are straight, one needs a radius");
        return false;
    }
    if (dm_vec3_norm(in) < SHORTEST || dm_vec3_norm(out) < SHORTEST) {
        dm_xml_fault(l->xml, p->node, DM_GEOMETRY,
                     "its PI is its Start or its End, the direction is not "
                     "known");
        return false;
    }
    p->in = bearing_of(in);
    p->out = bearing_of(out);
    p->lever = dm_vec3_norm(in);
    p->stated = (double)NAN;
    return check_spiral(l, p, h);
}

static bool read_element(land *l, land_piece *p, dm_horizontal *h)
{
    const char *name = dm_xml_name(p->node);
    if (strcmp(name, "Line") == 0)
        return read_line(l, p, h);
    if (strcmp(name, "Curve") == 0)
        return read_curve(l, p, h);
    if (strcmp(name, "Spiral") == 0)
        return read_spiral(l, p, h);
    dm_xml_fault(l->xml, p->node, DM_UNSUPPORTED,
                 "not read; only Line, Curve and Spiral are");
    return false;
}

/* The geometry among the children: Feature holds others' additions. */
static const dm_xml_node *element_from(const land *l, const dm_xml_node *n)
{
    while (n && strcmp(dm_xml_name(n), "Feature") == 0)
        n = land_next(l, n, NULL);
    return n;
}

static void choose_lengths(const land *l, const land_piece *pieces)
{
    const dm_alignment *line = &l->out->line;
    for (size_t i = 0; i < line->horizontal_count; i++) {
        double *length = &line->horizontal[i].length;
        double stated = pieces[i].stated;
        if (stated >= SHORTEST && fabs(stated - *length) <= land_doubt(l))
            *length = stated;
    }
}

static void chain(land *l, const land_piece *pieces, double turn)
{
    dm_alignment *line = &l->out->line;
    line->begin = l->begin;
    line->end = dm_alignment_chain(
        line->horizontal, line->horizontal_count, l->begin, pieces[0].start.x,
        pieces[0].start.y, remainder(pieces[0].in + turn, 2.0 * PI));
}

void land_plan(land *l, const dm_xml_node *geometry)
{
    dm_alignment *line = &l->out->line;
    size_t before = dm_xml_fault_count(l->xml);
    size_t count = land_count(l, geometry, NULL);
    if (too_many(l->xml, geometry, count, MOST_ELEMENTS, "elements in plan"))
        return;
    land_piece *pieces = DM_NEW_ARRAY(l->arena, land_piece, count);
    line->horizontal = DM_NEW_ARRAY(l->arena, dm_horizontal, count);
    if (!pieces || !line->horizontal) {
        l->out_of_memory = true;
        return;
    }
    size_t n = 0;
    const dm_xml_node *e = element_from(l, land_child(l, geometry, NULL));
    for (; e; e = element_from(l, land_next(l, e, NULL)), n++) {
        pieces[n].node = e;
        read_element(l, &pieces[n], &line->horizontal[n]);
    }
    if (n == 0)
        dm_xml_fault(l->xml, geometry, DM_SCHEMA, "it has no element");
    if (dm_xml_fault_count(l->xml) > before || isnan(l->begin))
        return;
    line->horizontal_count = n;
    choose_lengths(l, pieces);
    chain(l, pieces, 0.0);
    chain(l, pieces, land_fit(l, pieces));
    land_check_chain(l, pieces);
}
