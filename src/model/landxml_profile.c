/* SPDX-License-Identifier: MIT
 * ProfAlign of LandXML: points of intersection of grades with their parabolas.
 * Stations are internal ones ("where no station equations are applied",
 * LandXML's type station), as staStart is. An unsymmetrical parabola is two
 * parabolas that meet below or above the point: their common tangent runs
 * through the middles of both lengths, so it is two points with a symmetrical
 * parabola each. Refused: circular curves in height. */
#include "model/landxml_read.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* What a point was before it was made ready for dm_profile_build. */
typedef struct {
    const dm_xml_node *node;
    dm_pvi pvi;
    double in, out; /* of an unsymmetrical parabola, m; else 0 */
} vertex;

static bool read_vertex(land *l, vertex *v)
{
    const char *name = dm_xml_name(v->node);
    double at[2];
    bool plain = strcmp(name, "PVI") == 0;
    bool para = strcmp(name, "ParaCurve") == 0;
    bool two = strcmp(name, "UnsymParaCurve") == 0;
    if (!plain && !para && !two) {
        dm_xml_fault(l->xml, v->node, DM_UNSUPPORTED,
                     "not read; only PVI, ParaCurve and UnsymParaCurve are");
        return false;
    }
    if (land_numbers(l, v->node, at, 2) != 2) {
        dm_xml_fault(l->xml, v->node, DM_SYNTAX,
                     "expected a station and an elevation");
        return false;
    }
    v->pvi.station = land_station_of(l, v->node, at[0]);
    v->pvi.height = land_height_of(l, v->node, at[1]);
    if (para)
        v->pvi.curve_length = land_needed(l, v->node, "length", 0.0, 1e5);
    if (two) {
        v->in = land_needed(l, v->node, "lengthIn", 1e-3, 1e5);
        v->out = land_needed(l, v->node, "lengthOut", 1e-3, 1e5);
    }
    return !isnan(v->pvi.station + v->pvi.height + v->pvi.curve_length + v->in +
                  v->out);
}

static double grade(const vertex *a, const vertex *b)
{
    return (b->pvi.height - a->pvi.height) / (b->pvi.station - a->pvi.station);
}

/* The points as dm_profile_build wants them; `of` says which vertex each came
 * from. */
static size_t spread(const vertex *v, size_t count, dm_pvi *points,
                     const dm_xml_node **of)
{
    size_t n = 0;
    for (size_t i = 0; i < count; i++) {
        dm_pvi p = v[i].pvi;
        of[n] = of[n + 1] = v[i].node;
        if (v[i].in == 0.0 || i == 0 || i + 1 == count) {
            /* At an end: a parabola there is refused when it is built. */
            p.curve_length += v[i].in;
            points[n++] = p;
            continue;
        }
        double g = grade(&v[i - 1], &v[i]), h = grade(&v[i], &v[i + 1]);
        points[n++] = (dm_pvi){p.station - 0.5 * v[i].in,
                               p.height - 0.5 * g * v[i].in, v[i].in};
        points[n++] = (dm_pvi){p.station + 0.5 * v[i].out,
                               p.height + 0.5 * h * v[i].out, v[i].out};
    }
    return n;
}

static void build(land *l, const dm_xml_node *const *of)
{
    dm_landxml *out = l->out;
    dm_alignment *line = &out->line;
    size_t where = 0;
    dm_profile_fault fault =
        dm_profile_build(out->points, out->point_count, line->vertical,
                         &line->vertical_count, &where);
    if (fault == DM_PROFILE_ORDER)
        dm_xml_fault(l->xml, of[where], DM_GEOMETRY,
                     "its station is not ahead of the point before it");
    else if (fault == DM_PROFILE_OVERLAP)
        dm_xml_fault(l->xml, of[where], DM_GEOMETRY,
                     "its parabola begins before the point or parabola before "
                     "it ends");
    else if (fault == DM_PROFILE_ENDS)
        dm_xml_fault(l->xml, of[where], DM_GEOMETRY,
                     "the first and the last point of a profile have no curve");
    else if (line->horizontal_count > 0 &&
             (out->points[0].station > line->end ||
              out->points[out->point_count - 1].station < line->begin))
        dm_xml_warn(l->xml, of[0],
                    "the whole profile lies outside the alignment's stations");
}

static void read_points(land *l, const dm_xml_node *prof)
{
    size_t before = dm_xml_fault_count(l->xml), n = 0;
    size_t count = land_count(l, prof, NULL);
    /* An unsymmetrical parabola becomes two points. */
    size_t made = count + land_count(l, prof, "UnsymParaCurve");
    if (too_many(l->xml, prof, made, MOST_ELEMENTS, "points of a profile"))
        return;
    vertex *v = DM_NEW_ARRAY(l->arena, vertex, count);
    const dm_xml_node **of =
        dm_arena_alloc(l->arena, 2 * count + 2, sizeof *of);
    l->out->points = DM_NEW_ARRAY(l->arena, dm_pvi, 2 * count + 2);
    l->out->line.vertical = DM_NEW_ARRAY(l->arena, dm_vertical, 4 * count + 4);
    if (!v || !of || !l->out->points || !l->out->line.vertical) {
        l->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *e = land_child(l, prof, NULL); e;
         e = land_next(l, e, NULL)) {
        if (strcmp(dm_xml_name(e), "Feature") == 0)
            continue;
        v[n].node = e;
        read_vertex(l, &v[n++]);
    }
    if (n == 0)
        dm_xml_fault(l->xml, prof, DM_SCHEMA, "it has no point");
    for (size_t i = 1; i < n && dm_xml_fault_count(l->xml) == before; i++)
        if (!(v[i].pvi.station > v[i - 1].pvi.station))
            dm_xml_fault(l->xml, v[i].node, DM_GEOMETRY,
                         "its station is not ahead of the point before it");
    if (dm_xml_fault_count(l->xml) > before)
        return;
    l->out->point_count = spread(v, n, l->out->points, of);
    build(l, of);
}

void land_profile(land *l, const dm_xml_node *alignment)
{
    const dm_xml_node *only = NULL;
    for (const dm_xml_node *p = land_child(l, alignment, "Profile"); p;
         p = land_next(l, p, "Profile"))
        for (const dm_xml_node *a = land_child(l, p, "ProfAlign"); a;
             a = land_next(l, a, "ProfAlign")) {
            if (only) {
                dm_xml_fault(l->xml, a, DM_UNSUPPORTED,
                             "a second profile of this alignment; leave only "
                             "the one that holds");
                return;
            }
            only = a;
        }
    if (only)
        read_points(l, only);
}
