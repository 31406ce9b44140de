/* SPDX-License-Identifier: MIT
 * The bridge's reference line: elements in plan, points of intersection in
 * height, station equations; stated in the bridge file or in a LandXML file
 * that it names. */
#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "base/file.h"
#include "model/landxml.h"
#include "model/read.h"

/* More than two full turns in one element is no road, and slow to walk. */
#define MOST_TURN 12.566370614359172 /* rad */
#define LEAST_LENGTH 1e-3
#define MOST_LENGTH 1e5
#define LEAST_RADIUS 1.0
#define MOST_RADIUS 1e6

/* ---- in plan
 * ------------------------------------------------------------------------- */

/* Curvature of an attribute that is a radius; none: straight. */
static double read_curvature(reader *r, const dm_xml_node *n, const char *name)
{
    if (!dm_xml_has(n, name))
        return 0.0;
    return 1.0 / dm_xml_length(r->xml, n, name, LEAST_RADIUS, MOST_RADIUS,
                               MOST_RADIUS);
}

static dm_horizontal read_element(reader *r, const dm_xml_node *n)
{
    static const char *const turns[] = {"left", "right", NULL};
    double hand = dm_xml_word(r->xml, n, "turn", turns, 1) == 1 ? 1.0 : -1.0;
    dm_horizontal e = {.length = dm_xml_length(r->xml, n, "length",
                                               LEAST_LENGTH, MOST_LENGTH, 1.0)};
    if (strcmp(dm_xml_name(n), "arc") == 0) {
        e.k0 = e.k1 = hand * read_curvature(r, n, "radius");
    } else if (strcmp(dm_xml_name(n), "clothoid") == 0) {
        e.k0 = hand * read_curvature(r, n, "radius-start");
        e.k1 = hand * read_curvature(r, n, "radius-end");
        if (e.k0 == e.k1)
            dm_xml_fault(r->xml, n, DM_GEOMETRY,
                         "a clothoid needs a radius at one end, or two unlike "
                         "ones");
    }
    if (fmax(fabs(e.k0), fabs(e.k1)) * e.length > MOST_TURN)
        dm_xml_fault(r->xml, n, DM_RANGE,
                     "the element turns by more than 720 deg");
    return e;
}

static bool is_start(const dm_xml_node *n)
{
    return strcmp(dm_xml_name(n), "start") == 0;
}

static void read_plan(reader *r, const dm_xml_node *node, dm_alignment *line)
{
    size_t count = 0;
    for (const dm_xml_node *n = dm_xml_child(node, NULL); n;
         n = dm_xml_next(n, NULL))
        count += !is_start(n);
    if (too_many(r->xml, node, count, MOST_ELEMENTS, "elements in plan"))
        return;
    line->horizontal = DM_NEW_ARRAY(r->arena, dm_horizontal, count);
    if (!line->horizontal) {
        r->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, NULL); n;
         n = dm_xml_next(n, NULL))
        if (!is_start(n))
            line->horizontal[line->horizontal_count++] = read_element(r, n);
    const dm_xml_node *s = dm_xml_child(node, "start");
    line->begin = dm_xml_length(r->xml, s, "station", -1e7, 1e7, 0.0);
    double x = dm_xml_length(r->xml, s, "x", -1e8, 1e8, 0.0);
    double y = dm_xml_length(r->xml, s, "y", -1e8, 1e8, 0.0);
    double bearing = dm_xml_angle(r->xml, s, "bearing", -7.0, 7.0, 0.0);
    line->end = dm_alignment_chain(line->horizontal, line->horizontal_count,
                                   line->begin, x, y, bearing);
}

/* ---- in height
 * ----------------------------------------------------------------------- */

static const dm_xml_node *nth(const dm_xml_node *node, const char *name,
                              size_t i)
{
    const dm_xml_node *n = dm_xml_child(node, name);
    while (n && i-- > 0)
        n = dm_xml_next(n, name);
    return n;
}

static void profile_fault(reader *r, const dm_xml_node *n,
                          dm_profile_fault fault)
{
    static const char *const words[] = {
        [DM_PROFILE_ORDER] = "the points of the profile do not stand in the "
                             "order of their stations",
        [DM_PROFILE_OVERLAP] = "the parabola here overlaps the one before, or "
                               "the first or last point",
        [DM_PROFILE_ENDS] = "the first and the last point of a profile have "
                            "no parabola"};
    dm_xml_fault(r->xml, n, DM_GEOMETRY, "%s", words[fault]);
}

static void read_profile(reader *r, const dm_xml_node *node, dm_alignment *line)
{
    size_t count = dm_xml_count(node, "pvi"), n = 0, where = 0;
    if (!node ||
        too_many(r->xml, node, count, MOST_ELEMENTS, "points of a profile"))
        return;
    dm_pvi *points = DM_NEW_ARRAY(r->arena, dm_pvi, count);
    line->vertical = DM_NEW_ARRAY(r->arena, dm_vertical, 2 * count);
    if (!points || !line->vertical) {
        r->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *p = dm_xml_child(node, "pvi"); p;
         p = dm_xml_next(p, "pvi"))
        points[n++] =
            (dm_pvi){dm_xml_length(r->xml, p, "station", -1e7, 1e7, 0.0),
                     dm_xml_length(r->xml, p, "height", -1e5, 1e5, 0.0),
                     dm_xml_length(r->xml, p, "curve-length", 0.0, 1e5, 0.0)};
    dm_profile_fault fault = dm_profile_build(points, count, line->vertical,
                                              &line->vertical_count, &where);
    if (fault != DM_PROFILE_OK)
        profile_fault(r, nth(node, "pvi", where), fault);
}

/* ---- as displayed
 * -------------------------------------------------------------------- */

/* As drawings print them: back and ahead are displayed stations, the first one
 * is a bridge station too. */
static void read_equations(reader *r, const dm_xml_node *node,
                           dm_alignment *line)
{
    size_t count = dm_xml_count(node, "station-equation");
    if (too_many(r->xml, node, count, MOST_ELEMENTS, "station equations"))
        return;
    line->equations = DM_NEW_ARRAY(r->arena, dm_station_equation, count);
    if (!line->equations) {
        r->out_of_memory = true;
        return;
    }
    double s = line->begin, shown = line->begin;
    for (const dm_xml_node *n = dm_xml_child(node, "station-equation"); n;
         n = dm_xml_next(n, "station-equation")) {
        double back = dm_xml_length(r->xml, n, "back", -1e7, 1e7, 0.0);
        double ahead = dm_xml_length(r->xml, n, "ahead", -1e7, 1e7, 0.0);
        if (back < shown)
            dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                         "the jump lies before the begin of the alignment, or "
                         "before the jump before it");
        s += back - shown;
        if (s > line->end)
            dm_xml_fault(r->xml, n, DM_GEOMETRY,
                         "the jump lies beyond the end of the alignment");
        shown = ahead;
        line->equations[line->equation_count++] =
            (dm_station_equation){s, back, ahead};
    }
}

/* ---- from a LandXML file
 * ------------------------------------------------------------- */

static void read_landxml(reader *r, const dm_xml_node *n, dm_alignment *line)
{
    static const char *const words[] = {"model", "map", NULL};
    bool map = dm_xml_word(r->xml, n, "coordinates", words, 0) == 1;
    const char *path = dm_path_resolve(r->arena, dm_xml_file(r->xml),
                                       dm_xml_text(r->xml, n, "href", ""));
    dm_landxml *read = NULL;
    if (!path) {
        r->out_of_memory = true;
        return;
    }
    if (map && !r->model->map.given) {
        dm_xml_fault(r->xml, n, DM_REFERENCE,
                     "map coordinates need a map-conversion to be turned back");
        return;
    }
    /* Read here, so that the line that names it is blamed if it is absent. */
    dm_buf text = {0};
    dm_status status = dm_file_read(path, DM_XML_LIMIT, dm_xml_place(r->xml, n),
                                    r->diag, &text);
    if (status == DM_OK)
        status = dm_landxml_read_text(
            path, &text, dm_xml_text(r->xml, n, "name", NULL),
            map ? &r->model->map : NULL, r->arena, r->diag, &read);
    dm_buf_free(&text);
    if (status == DM_OK)
        *line = read->line;
    else
        r->alignment_missing = true;
    if (r->status == DM_OK)
        r->status = status;
}

/* ---- all of it
 * ------------------------------------------------------------------------- */

void read_alignment(reader *r, const dm_xml_node *root)
{
    const dm_xml_node *node = dm_xml_child(root, "alignment");
    dm_model *m = r->model;
    m->alignment_id = "";
    if (!node)
        return;
    size_t before = fault_count(r);
    dm_alignment *line = DM_NEW(r->arena, dm_alignment);
    if (!line) {
        r->out_of_memory = true;
        return;
    }
    m->alignment_id = dm_xml_text(r->xml, node, "id", "");
    const dm_xml_node *other = dm_xml_child(node, "landxml");
    if (other)
        read_landxml(r, other, line);
    else
        read_plan(r, dm_xml_child(node, "horizontal"), line);
    if (!other && fault_count(r) == before && !r->out_of_memory)
        read_profile(r, dm_xml_child(node, "vertical"), line);
    if (!other && fault_count(r) == before && !r->out_of_memory)
        read_equations(r, node, line);
    if (fault_count(r) == before && !r->out_of_memory && !r->alignment_missing)
        m->alignment = line;
    else
        r->alignment_missing = true;
    if (dm_xml_child(root, "direction"))
        dm_xml_fault(r->xml, dm_xml_child(root, "direction"), DM_INCONSISTENT,
                     "the alignment says which way the stations increase; "
                     "leave the direction out");
}
