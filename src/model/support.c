/* SPDX-License-Identifier: MIT
 * The supports of a tendon, and the centreline through them: points of the
 * world or along the alignment, arcs at the deviators, free lengths straight
 * or with their sag. */
#include <math.h>
#include <string.h>

#include "base/num.h"
#include "model/tendon.h"

#define DEGREE 0.01745329251994329577

/* ---- supports
 * -------------------------------------------------------------------- */

static bool has_any(const dm_xml_node *n, const char *const *names,
                    size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (dm_xml_has(n, names[i]))
            return true;
    return false;
}

/* By bridge station: in plan from the alignment, in height by Z or from the
 * alignment's profile. */
static dm_vec3 read_station_point(reader *r, const dm_xml_node *n,
                                  dm_support *s)
{
    const dm_alignment *line = r->model->alignment;
    dm_vec3 none = {0.0, 0.0, 0.0};
    if (!line) {
        /* One that could not be read has said so. */
        if (r->alignment_missing)
            r->unsaid++;
        else
            dm_xml_fault(r->xml, n, DM_REFERENCE,
                         "a point by station needs an alignment");
        return none;
    }
    s->station = dm_xml_length(r->xml, n, "station", -1e7, 1e7, line->begin);
    s->offset = dm_xml_length(r->xml, n, "offset", -1e4, 1e4, 0.0);
    double height = dm_xml_length(r->xml, n, "height", -1e5, 1e5, 0.0);
    if (dm_xml_has(n, "above")) {
        double profile = dm_alignment_at(line, s->station).height;
        height = dm_xml_length(r->xml, n, "above", -1e4, 1e4, 0.0) + profile;
        if (isnan(profile)) {
            dm_xml_fault(r->xml, n, DM_REFERENCE,
                         "a point above the profile needs an alignment with a "
                         "profile");
            return none;
        }
    }
    return dm_alignment_point(line, s->station, s->offset, height);
}

static dm_vec3 read_point(reader *r, const dm_xml_node *n, dm_support *s)
{
    static const char *const world[] = {"x", "y", "z"};
    static const char *const along[] = {"station", "offset", "height", "above"};
    dm_vec3 p = {0.0, 0.0, 0.0};
    bool by_world = dm_xml_has(n, "x") && dm_xml_has(n, "y") &&
                    dm_xml_has(n, "z") && !has_any(n, along, 4);
    bool by_station = dm_xml_has(n, "station") && dm_xml_has(n, "offset") &&
                      dm_xml_has(n, "height") != dm_xml_has(n, "above") &&
                      !has_any(n, world, 3);
    s->station = s->offset = (double)NAN;
    if (by_station)
        return read_station_point(r, n, s);
    if (!by_world) {
        dm_xml_fault(r->xml, n, DM_SCHEMA,
                     "a point needs x, y and z, or station, offset and one of "
                     "height and above");
        return p;
    }
    p.x = dm_xml_length(r->xml, n, "x", -1e8, 1e8, 0.0);
    p.y = dm_xml_length(r->xml, n, "y", -1e8, 1e8, 0.0);
    p.z = dm_xml_length(r->xml, n, "z", -1e5, 1e5, 0.0);
    return p;
}

static size_t find_deviator_type(const reader *r, const char *id)
{
    for (size_t i = 0; i < r->model->deviator_type_count; i++)
        if (strcmp(r->model->deviator_types[i].id, id) == 0)
            return i;
    return DM_NONE;
}

static void read_deviator(reader *r, const dm_xml_node *n, dm_support *s)
{
    const char *id = dm_xml_text(r->xml, n, "type", "");
    s->deviator_type = find_deviator_type(r, id);
    if (s->deviator_type == DM_NONE) {
        no_such_type(r, n, "deviator", id);
        return;
    }
    const dm_deviator_type *type = &r->model->deviator_types[s->deviator_type];
    s->radius = dm_xml_length(r->xml, n, "radius", 0.1, 100.0, type->radius);
    if (s->radius < type->radius_min - 1e-9) {
        char least[DM_NUM_SIZE];
        dm_num_fixed(least, type->radius_min, 3);
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the radius is below the least of type %s, %s m", id,
                     least);
    }
    s->pipe_angle = dm_xml_angle(r->xml, n, "angle", 0.0, 2.5, 0.0);
    s->pipe_plane = dm_xml_clock(r->xml, n, "plane", (double)NAN);
    if (dm_xml_has(n, "plane") && !dm_xml_has(n, "angle"))
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "the plane of a pipe is given with its angle");
    if (dm_xml_has(n, "angle") && type->kind != DM_DEVIATOR_PIPE)
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "type %s is no pipe: it has no fixed angle", id);
}

bool read_direction3(const char *text, dm_vec3 *out)
{
    double v[3] = {0.0, 0.0, 0.0};
    for (int i = 0; i < 3; i++) {
        size_t n = strcspn(text, " ");
        size_t sign = *text == '+';
        if (!dm_num_parse(text + sign, n - sign, '.', &v[i]))
            return false;
        text += n + (text[n] == ' ');
    }
    *out = (dm_vec3){v[0], v[1], v[2]};
    double length = dm_vec3_norm(*out);
    *out = dm_vec3_unit(*out);
    return length > 1e-6;
}

static void read_anchorage(reader *r, const dm_xml_node *n, dm_support *s)
{
    static const char *const kinds[] = {"tensioning", "fixed", "coupler", NULL};
    const char *normal = dm_xml_text(r->xml, n, "normal", NULL);
    s->anchorage_kind =
        (dm_anchorage_kind)dm_xml_word(r->xml, n, "kind", kinds, 0);
    if (normal && !read_direction3(normal, &s->plate_normal))
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the bearing plate's normal is zero");
}

void read_support(reader *r, const dm_xml_node *n, dm_support *s)
{
    bool deviator = strcmp(dm_xml_name(n), "deviator") == 0;
    *s = (dm_support){.id = dm_xml_text(r->xml, n, "id", ""),
                      .kind =
                          deviator ? DM_SUPPORT_DEVIATOR : DM_SUPPORT_ANCHORAGE,
                      .deviator_type = DM_NONE,
                      .arc = DM_NONE,
                      .pipe_plane = (double)NAN,
                      .readable_back = (double)NAN,
                      .readable_ahead = (double)NAN,
                      .external = read_external_ids(r, n),
                      .place = dm_xml_place(r->xml, n)};
    s->name = dm_xml_text(r->xml, n, "name", s->id);
    s->point = read_point(r, n, s);
    s->u = dm_xml_length(r->xml, n, "u", 0.0, 10.0, 0.0);
    if (deviator)
        read_deviator(r, n, s);
    else
        read_anchorage(r, n, s);
}

dm_alignment_foot support_foot(const dm_alignment *line, const dm_support *s)
{
    double curvature = dm_alignment_at(line, s->station).curvature;
    /* NAN where the point was given by x, y, z. */
    if (!(curvature * s->offset < 0.999))
        return dm_alignment_nearest(line, s->point);
    bool inside = s->station >= line->begin && s->station <= line->end;
    return (dm_alignment_foot){s->station, s->offset, inside, true};
}

/* ---- centreline
 * ------------------------------------------------------------------- */

static void polygon_fault(reader *r, const dm_xml_node *const *nodes,
                          const dm_tendon *t, dm_polygon_fault fault,
                          size_t where)
{
    const char *a = t->supports[where].id;
    const char *b =
        where + 1 < t->support_count ? t->supports[where + 1].id : a;
    if (fault == DM_POLYGON_SHORT_LEG)
        dm_xml_fault(r->xml, nodes[where + 1], DM_GEOMETRY,
                     "%s and %s stand at the same place", a, b);
    else if (fault == DM_POLYGON_OVERLAP)
        dm_xml_fault(r->xml, nodes[where + 1], DM_GEOMETRY,
                     "the arcs leave no room between %s and %s: their "
                     "tangents overlap",
                     a, b);
    else
        dm_xml_fault(r->xml, nodes[where], DM_GEOMETRY,
                     "the tendon turns back at %s (170 deg or more)", a);
}

/* `at`: per support, its corner of the polygon; `arc_of`: per corner. */
static void place_supports(dm_tendon *t, const size_t *at, const size_t *arc_of)
{
    for (size_t i = 0; i < t->support_count; i++) {
        dm_support *s = &t->supports[i];
        s->arc = arc_of[at[i]]; /* SIZE_MAX is DM_NONE */
        if (s->arc != DM_NONE) {
            const dm_segment *g = &t->line.segments[s->arc];
            s->t = g->t0 + 0.5 * g->length;
            s->deflection = g->length * g->kappa;
        } else if (i + 1 == t->support_count) {
            s->t = t->line.length;
        } else if (i > 0) {
            s->t = dm_centreline_nearest(&t->line, s->point, NULL);
        }
    }
}

static void read_crown(reader *r, const dm_xml_node *node, dm_tendon *t)
{
    t->line.vertical_limit =
        dm_xml_angle(r->xml, node, "vertical-limit", 0.5 * DEGREE - 1e-12,
                     45.0 * DEGREE + 1e-12, 10.0 * DEGREE);
    const char *datum = dm_xml_text(r->xml, node, "clock-datum", NULL);
    if (!datum)
        return;
    t->line.has_datum = read_direction3(datum, &t->line.datum);
    if (!t->line.has_datum)
        dm_xml_fault(r->xml, node, DM_GEOMETRY, "clock-datum is zero");
}

/* The corners of a polygon, and what is built through them. */
typedef struct {
    dm_vec3 *points;
    double *radius;
    size_t *at;     /* per support */
    size_t *arc_of; /* per corner */
    dm_segment *segments;
} polygon;

static bool polygon_new(reader *r, size_t supports, polygon *p)
{
    size_t n = 2 * supports - 1;
    *p = (polygon){
        DM_NEW_ARRAY(r->arena, dm_vec3, n), DM_NEW_ARRAY(r->arena, double, n),
        DM_NEW_ARRAY(r->arena, size_t, supports),
        DM_NEW_ARRAY(r->arena, size_t, n),
        DM_NEW_ARRAY(r->arena, dm_segment, dm_centreline_capacity(n))};
    r->out_of_memory |=
        !p->points || !p->radius || !p->at || !p->arc_of || !p->segments;
    return !r->out_of_memory;
}

/* The line with its sag, in the place of the straight one. */
static void build_sagging(reader *r, const dm_xml_node *node, dm_tendon *t,
                          const polygon *straight, polygon *p)
{
    size_t where = 0;
    double sag = 0.0;
    if (!polygon_new(r, t->support_count, p))
        return;
    size_t n = sag_polygon(straight->points, straight->radius, t->support_count,
                           t->weight, t->force, p->points, p->radius, p->at,
                           &where, &sag);
    if (n == 0) {
        char text[DM_NUM_SIZE];
        dm_num_fixed(text, sag, 2);
        dm_xml_fault(r->xml, node, DM_GEOMETRY,
                     "the length after %s would sag by %s m: its weight and "
                     "force do not fit",
                     t->supports[where].id, text);
    } else if (dm_centreline_build(p->points, p->radius, n, p->segments,
                                   p->arc_of, &t->line,
                                   &where) != DM_POLYGON_OK) {
        dm_xml_fault(r->xml, node, DM_GEOMETRY,
                     "with the sag of its free lengths the arcs leave no room "
                     "near %s",
                     t->supports[where / 2].id);
    }
}

void build_line(reader *r, const dm_xml_node *node,
                const dm_xml_node *const *nodes, dm_tendon *t)
{
    size_t n = t->support_count, where = 0;
    polygon p, hanging;
    if (!polygon_new(r, n, &p))
        return;
    for (size_t i = 0; i < n; i++) {
        p.points[i] = t->supports[i].point;
        p.radius[i] = t->supports[i].radius;
        p.at[i] = i;
    }
    dm_polygon_fault fault = dm_centreline_build(
        p.points, p.radius, n, p.segments, p.arc_of, &t->line, &where);
    if (fault != DM_POLYGON_OK) {
        polygon_fault(r, nodes, t, fault, where);
        return;
    }
    size_t before = fault_count(r);
    if (t->weight > 0.0) {
        build_sagging(r, node, t, &p, &hanging);
        p = hanging;
    }
    if (fault_count(r) != before || r->out_of_memory)
        return;
    place_supports(t, p.at, p.arc_of);
    read_crown(r, node, t);
}
