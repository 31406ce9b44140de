/* SPDX-License-Identifier: MIT
 * One tendon: polygon of supports to centreline, then everything that stands
 * at a station of it. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/num.h"
#include "model/read.h"

#define TWO_PI 6.283185307179586476925

static const char *const sides[] = {"back", "ahead", NULL};

static dm_side read_side(reader *r, const dm_xml_node *n)
{
    return dm_xml_word(r->xml, n, "side", sides, 0) == 0 ? DM_SIDE_BACK
                                                         : DM_SIDE_AHEAD;
}

/* ---- supports
 * -------------------------------------------------------------------- */

static dm_vec3 read_point(reader *r, const dm_xml_node *n)
{
    dm_vec3 p = {0.0, 0.0, 0.0};
    if (dm_xml_has(n, "station") || dm_xml_has(n, "offset") ||
        dm_xml_has(n, "height")) {
        dm_xml_fault(r->xml, n, DM_UNSUPPORTED,
                     "points by station, offset and height are not used yet; "
                     "give x, y and z");
        return p;
    }
    if (!dm_xml_has(n, "x") || !dm_xml_has(n, "y") || !dm_xml_has(n, "z")) {
        dm_xml_fault(r->xml, n, DM_SCHEMA, "a point needs x, y and z");
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
}

static void read_support(reader *r, const dm_xml_node *n, dm_support *s)
{
    static const char *const kinds[] = {"tensioning", "fixed", "coupler", NULL};
    bool deviator = strcmp(dm_xml_name(n), "deviator") == 0;
    *s = (dm_support){.id = dm_xml_text(r->xml, n, "id", ""),
                      .kind =
                          deviator ? DM_SUPPORT_DEVIATOR : DM_SUPPORT_ANCHORAGE,
                      .deviator_type = DM_NONE,
                      .arc = DM_NONE,
                      .readable_back = (double)NAN,
                      .readable_ahead = (double)NAN,
                      .external = read_external_ids(r, n),
                      .place = dm_xml_place(r->xml, n)};
    s->name = dm_xml_text(r->xml, n, "name", s->id);
    s->point = read_point(r, n);
    s->u = dm_xml_length(r->xml, n, "u", 0.0, 10.0, 0.0);
    if (deviator)
        read_deviator(r, n, s);
    else
        s->anchorage_kind =
            (dm_anchorage_kind)dm_xml_word(r->xml, n, "kind", kinds, 0);
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

static void place_supports(dm_tendon *t, const size_t *arc_of)
{
    for (size_t i = 0; i < t->support_count; i++) {
        dm_support *s = &t->supports[i];
        s->arc = arc_of[i]; /* SIZE_MAX is DM_NONE */
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

static bool read_direction3(const char *text, dm_vec3 *out)
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

static void build_line(reader *r, const dm_xml_node *node,
                       const dm_xml_node *const *nodes, dm_tendon *t)
{
    size_t n = t->support_count, where = 0;
    dm_vec3 *points = DM_NEW_ARRAY(r->arena, dm_vec3, n);
    double *radius = DM_NEW_ARRAY(r->arena, double, n);
    size_t *arc_of = DM_NEW_ARRAY(r->arena, size_t, n);
    dm_segment *segments =
        DM_NEW_ARRAY(r->arena, dm_segment, dm_centreline_capacity(n));
    if (!points || !radius || !arc_of || !segments) {
        r->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < n; i++) {
        points[i] = t->supports[i].point;
        radius[i] = t->supports[i].radius;
    }
    dm_polygon_fault fault = dm_centreline_build(points, radius, n, segments,
                                                 arc_of, &t->line, &where);
    if (fault != DM_POLYGON_OK) {
        polygon_fault(r, nodes, t, fault, where);
        return;
    }
    place_supports(t, arc_of);
    const char *datum = dm_xml_text(r->xml, node, "clock-datum", NULL);
    if (!datum)
        return;
    t->line.has_datum = read_direction3(datum, &t->line.datum);
    if (!t->line.has_datum)
        dm_xml_fault(r->xml, node, DM_GEOMETRY, "clock-datum is zero");
}

/* ---- faces and readable ends
 * -------------------------------------------------------- */

static void read_face(reader *r, const dm_xml_node *n, dm_tendon *t,
                      size_t support)
{
    const dm_support *s = &t->supports[support];
    dm_face *f = &t->faces[t->face_count++];
    *f = (dm_face){.id = dm_xml_text(r->xml, n, "id", ""),
                   .support = support,
                   .side = read_side(r, n),
                   .offset = dm_xml_length(r->xml, n, "offset", 0.0, 20.0, 0.0),
                   .u = dm_xml_length(r->xml, n, "u", 0.0, 1.0, 0.0),
                   .touchable = dm_xml_bool(r->xml, n, "touchable", true),
                   .place = dm_xml_place(r->xml, n)};
    for (size_t i = 0; i + 1 < t->face_count; i++)
        if (t->faces[i].support == support && t->faces[i].side == f->side) {
            dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                         "a second face on the %s side of %s",
                         sides[f->side == DM_SIDE_AHEAD], s->id);
            return;
        }
    dm_side wrong = support == 0 ? DM_SIDE_BACK : DM_SIDE_AHEAD;
    if (s->kind == DM_SUPPORT_ANCHORAGE && f->side == wrong) {
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "the %s anchorage has its free length %s of it: expected "
                     "side=\"%s\"",
                     support == 0 ? "first" : "last",
                     support == 0 ? "ahead" : "back",
                     support == 0 ? "ahead" : "back");
        return;
    }
    const char *normal = dm_xml_text(r->xml, n, "normal", NULL);
    f->normal_assumed = !normal;
    f->normal = dm_vec3_scale(r->model->direction, (double)f->side);
    if (normal && !read_direction3(normal, &f->normal)) {
        dm_xml_fault(r->xml, n, DM_GEOMETRY, "the normal is zero");
        return;
    }
    dm_vec3 u = dm_centreline_tangent(&t->line, s->t);
    double out = (double)f->side * dm_vec3_dot(f->normal, u);
    if (out < 0.1) {
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the face's normal does not point out of the concrete "
                     "along the duct");
        return;
    }
    f->origin = dm_vec3_along(s->point, f->offset, f->normal);
    double guess = s->t + (double)f->side * f->offset / out;
    if (!dm_centreline_cross(&t->line, 0.0, 0.0, f->origin, f->normal, guess,
                             &f->t))
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the duct does not cross this face within 2 m of where "
                     "it is expected");
    else if (f->t < -1e-9 || f->t > t->line.length + 1e-9)
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the face lies beyond the end of the tendon");
}

static const dm_face *face_of(const dm_tendon *t, size_t support, dm_side side)
{
    for (size_t i = 0; i < t->face_count; i++)
        if (t->faces[i].support == support && t->faces[i].side == side)
            return &t->faces[i];
    return NULL;
}

static void read_readable(reader *r, const dm_xml_node *n, dm_tendon *t,
                          size_t support)
{
    dm_side side = read_side(r, n);
    double offset = dm_xml_length(r->xml, n, "offset", -20.0, 20.0, 0.0);
    const dm_face *f = face_of(t, support, side);
    if (!f) {
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "%s has no face on its %s side to count from",
                     t->supports[support].id, sides[side == DM_SIDE_AHEAD]);
        return;
    }
    double at = f->t + (double)side * offset;
    double *end = side == DM_SIDE_AHEAD ? &t->supports[support].readable_ahead
                                        : &t->supports[support].readable_back;
    if (!isnan(*end)) {
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "a second readable end on the %s side of %s",
                     sides[side == DM_SIDE_AHEAD], t->supports[support].id);
        return;
    }
    *end = at;
    if ((double)side * (at - t->supports[support].t) < -1e-9)
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the readable end lies on the other side of %s",
                     t->supports[support].id);
}

/* Where nothing is stated duct can be read from the face on, or from the
 * support itself where there is no face. */
static void default_readable(dm_tendon *t, size_t i)
{
    dm_support *s = &t->supports[i];
    const dm_face *back = face_of(t, i, DM_SIDE_BACK);
    const dm_face *ahead = face_of(t, i, DM_SIDE_AHEAD);
    if (i > 0 && isnan(s->readable_back))
        s->readable_back = back ? back->t : s->t;
    if (i + 1 < t->support_count && isnan(s->readable_ahead))
        s->readable_ahead = ahead ? ahead->t : s->t;
}

static int by_station(const void *a, const void *b)
{
    const dm_face *x = a, *y = b;
    if (x->t != y->t)
        return x->t < y->t ? -1 : 1;
    if (x->support != y->support)
        return x->support < y->support ? -1 : 1;
    return (int)x->side - (int)y->side;
}

static void read_faces(reader *r, const dm_xml_node *const *nodes, dm_tendon *t)
{
    size_t count = 0, before = fault_count(r);
    for (size_t i = 0; i < t->support_count; i++)
        count += dm_xml_count(nodes[i], "face");
    t->faces = DM_NEW_ARRAY(r->arena, dm_face, count);
    if (!t->faces) {
        r->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < t->support_count; i++)
        for (const dm_xml_node *n = dm_xml_child(nodes[i], "face"); n;
             n = dm_xml_next(n, "face"))
            read_face(r, n, t, i);
    if (fault_count(r) != before)
        return;
    if (t->face_count > 1)
        qsort(t->faces, t->face_count, sizeof *t->faces, by_station);
    for (size_t i = 0; i < t->support_count; i++) {
        for (const dm_xml_node *n = dm_xml_child(nodes[i], "readable"); n;
             n = dm_xml_next(n, "readable"))
            read_readable(r, n, t, i);
        default_readable(t, i);
    }
}

/* ---- ducts, fixtures, strands, tapes
 * ------------------------------------------------ */

static size_t find_duct_type(const reader *r, const char *id)
{
    for (size_t i = 0; i < r->model->duct_type_count; i++)
        if (strcmp(r->model->duct_types[i].id, id) == 0)
            return i;
    return DM_NONE;
}

static void read_ducts(reader *r, const dm_xml_node *node, dm_tendon *t)
{
    double length = t->line.length, reached = 0.0;
    t->ducts = DM_NEW_ARRAY(r->arena, dm_duct_length,
                            dm_xml_count(node, "duct-length"));
    if (!t->ducts) {
        r->out_of_memory = true;
        return;
    }
    const dm_xml_node *last = NULL;
    for (const dm_xml_node *n = dm_xml_child(node, "duct-length"); n;
         n = dm_xml_next(n, "duct-length")) {
        const char *id = dm_xml_text(r->xml, n, "duct-type", "");
        dm_duct_length *d = &t->ducts[t->duct_count++];
        d->place = dm_xml_place(r->xml, n);
        d->duct_type = find_duct_type(r, id);
        if (d->duct_type == DM_NONE)
            no_such_type(r, n, "duct", id);
        d->from = dm_xml_length(r->xml, n, "from", 0.0, 1e5, reached);
        d->to = dm_xml_length(r->xml, n, "to", 0.0, 1e5, length);
        if (fabs(d->from - reached) > 1e-3 || d->to <= d->from ||
            d->to > length + 1e-3)
            dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                         "duct lengths must follow each other over the whole "
                         "tendon without gap or overlap");
        d->from = reached;
        reached = d->to = fmin(d->to, length);
        last = n;
    }
    if (reached < length - 1e-3)
        dm_xml_fault(r->xml, last, DM_INCONSISTENT,
                     "the last duct length ends before the tendon does");
    t->ducts[t->duct_count - 1].to = length;
}

static dm_fixture_kind fixture_kind(reader *r, const dm_xml_node *n)
{
    static const char *const kinds[] = {"collar",    "coupler",       "wrap",
                                        "patch",     "vent",          "weld",
                                        "diaphragm", "low-clearance", NULL};
    return (dm_fixture_kind)dm_xml_word(r->xml, n, "kind", kinds, 0);
}

/* From one clock angle clockwise to another; none: all round. Noon at both
 * ends (0 to 360 deg) is all round, any other angle at both is nothing. */
static void read_clock_range(reader *r, const dm_xml_node *n, dm_fixture *x)
{
    x->clock_from = dm_xml_clock(r->xml, n, "clock-from", 0.0);
    x->clock_to = dm_xml_clock(r->xml, n, "clock-to", 0.0);
    if (dm_xml_has(n, "clock-from") != dm_xml_has(n, "clock-to"))
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "clock-from and clock-to are given together or not at "
                     "all");
    else if (x->clock_from != x->clock_to)
        return;
    else if (x->clock_from > 0.0)
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "clock-from and clock-to are the same angle; all round "
                     "is to leave both out");
    x->clock_to = TWO_PI;
}

static void read_fixture(reader *r, const dm_xml_node *n, dm_tendon *t)
{
    dm_fixture *x = &t->fixtures[t->fixture_count++];
    double from = dm_xml_length(r->xml, n, "from", 0.0, 1e5, 0.0);
    double to = dm_xml_length(r->xml, n, "to", 0.0, 1e5, 0.0);
    *x = (dm_fixture){.id = dm_xml_text(r->xml, n, "id", ""),
                      .kind = fixture_kind(r, n),
                      .from = from,
                      .to = to,
                      .place = dm_xml_place(r->xml, n)};
    read_clock_range(r, n, x);
    const char *ref = dm_xml_text(r->xml, n, "ref", NULL);
    size_t face = ref ? dm_tendon_find_face(t, ref) : DM_NONE;
    if (face != DM_NONE) {
        double side = (double)t->faces[face].side, at = t->faces[face].t;
        x->from = fmin(at + side * from, at + side * to);
        x->to = fmax(at + side * from, at + side * to);
    }
    if (to < from)
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "fixture %s ends before it begins", x->id);
    else if (x->from < -1e-6 || x->to > t->line.length + 1e-6)
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "fixture %s lies beyond the end of the tendon", x->id);
}

static int by_begin(const void *a, const void *b)
{
    const dm_fixture *x = a, *y = b;
    if (x->from != y->from)
        return x->from < y->from ? -1 : 1;
    return strcmp(x->id, y->id);
}

static void read_strand_side(reader *r, const dm_xml_node *n, dm_tendon *t)
{
    dm_strand_side *s = &t->strand_sides[t->strand_side_count++];
    *s = (dm_strand_side){.from =
                              dm_xml_length(r->xml, n, "from", 0.0, 1e5, 0.0),
                          .to = dm_xml_length(r->xml, n, "to", 0.0, 1e5, 0.0),
                          .clock = dm_xml_clock(r->xml, n, "clock", 0.0),
                          .u = dm_xml_angle(r->xml, n, "u", 0.0, 3.2, 0.5),
                          .place = dm_xml_place(r->xml, n)};
    if (s->to <= s->from)
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "the strand side ends before it begins");
}

static void read_measured(reader *r, const dm_xml_node *n, dm_tendon *t)
{
    dm_measured_length *m = &t->measured[t->measured_count++];
    *m = (dm_measured_length){
        .face_from =
            dm_tendon_find_face(t, dm_xml_text(r->xml, n, "from-face", "")),
        .face_to =
            dm_tendon_find_face(t, dm_xml_text(r->xml, n, "to-face", "")),
        .clock = dm_xml_clock(r->xml, n, "line", 0.0),
        .value = dm_xml_length(r->xml, n, "value", 0.0, 1e4, 0.0),
        .u = dm_xml_length(r->xml, n, "u", 0.0, 1.0, (double)NAN),
        .place = dm_xml_place(r->xml, n)};
    if (m->face_from == m->face_to)
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "a length from a face to itself");
}

/* `faces`: they are sound, stations may be counted from them. */
static void read_along(reader *r, const dm_xml_node *node, dm_tendon *t,
                       bool faces)
{
    t->fixtures =
        DM_NEW_ARRAY(r->arena, dm_fixture, dm_xml_count(node, "fixture"));
    t->strand_sides = DM_NEW_ARRAY(r->arena, dm_strand_side,
                                   dm_xml_count(node, "strand-side"));
    t->measured = DM_NEW_ARRAY(r->arena, dm_measured_length,
                               dm_xml_count(node, "measured-length"));
    if (!t->fixtures || !t->strand_sides || !t->measured) {
        r->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, "fixture"); n;
         n = dm_xml_next(n, "fixture"))
        if (faces || !dm_xml_has(n, "ref"))
            read_fixture(r, n, t);
    if (t->fixture_count > 1)
        qsort(t->fixtures, t->fixture_count, sizeof *t->fixtures, by_begin);
    for (const dm_xml_node *n = dm_xml_child(node, "strand-side"); n;
         n = dm_xml_next(n, "strand-side"))
        read_strand_side(r, n, t);
    for (const dm_xml_node *n = dm_xml_child(node, "measured-length"); n;
         n = dm_xml_next(n, "measured-length"))
        read_measured(r, n, t);
}

/* ---- all of it
 * ------------------------------------------------------------------------- */

static void read_head(reader *r, const dm_xml_node *n, dm_tendon *t)
{
    static const char *const basis[] = {"drawing", "surveyed", "assumed", NULL};
    *t = (dm_tendon){.id = dm_xml_text(r->xml, n, "id", ""),
                     .where = dm_xml_text(r->xml, n, "where", ""),
                     .part = DM_NONE,
                     .strand_type = DM_NONE,
                     .strands = dm_xml_int(r->xml, n, "strands", 1, 200, 0),
                     .external = read_external_ids(r, n),
                     .place = dm_xml_place(r->xml, n)};
    t->name = dm_xml_text(r->xml, n, "name", t->id);
    t->basis = (dm_basis)dm_xml_word(r->xml, n, "basis", basis, 0);
    const char *part = dm_xml_text(r->xml, n, "part", NULL);
    for (size_t i = 0; part && i < r->model->part_count; i++)
        if (strcmp(r->model->parts[i].id, part) == 0)
            t->part = i;
    const char *strand = dm_xml_text(r->xml, n, "strand-type", NULL);
    for (size_t i = 0; strand && i < r->model->strand_type_count; i++)
        if (strcmp(r->model->strand_types[i].id, strand) == 0)
            t->strand_type = i;
    if (strand && t->strand_type == DM_NONE)
        no_such_type(r, n, "strand", strand);
    if (dm_xml_has(n, "weight") || dm_xml_has(n, "force"))
        dm_xml_warn(r->xml, n,
                    "weight and force: not used yet, the free "
                    "lengths are straight");
}

static bool too_many_on_it(reader *r, const dm_xml_node *node)
{
    static const char *const names[] = {"duct-length", "fixture", "strand-side",
                                        "measured-length"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char what[40];
        snprintf(what, sizeof what, "elements '%s'", names[i]);
        if (too_many(r->xml, node, dm_xml_count(node, names[i]), MOST_ON_TENDON,
                     what))
            return true;
    }
    return false;
}

void read_tendon(reader *r, const dm_xml_node *node, dm_tendon *t)
{
    size_t before = fault_count(r);
    read_head(r, node, t);
    size_t count =
        dm_xml_count(node, "anchorage") + dm_xml_count(node, "deviator");
    if (too_many(r->xml, node, count, MOST_SUPPORTS,
                 "anchorages and deviators") ||
        too_many_on_it(r, node))
        return;
    t->supports = DM_NEW_ARRAY(r->arena, dm_support, count);
    const dm_xml_node **nodes =
        DM_NEW_ARRAY(r->arena, const dm_xml_node *, count + 1);
    if (!t->supports || !nodes) {
        r->out_of_memory = true;
        return;
    }
    for (const dm_xml_node *n = dm_xml_child(node, NULL); n;
         n = dm_xml_next(n, NULL)) {
        if (strcmp(dm_xml_name(n), "anchorage") != 0 &&
            strcmp(dm_xml_name(n), "deviator") != 0)
            continue;
        nodes[t->support_count] = n;
        read_support(r, n, &t->supports[t->support_count++]);
    }
    /* Without sound points there is no centreline to stand on. */
    if (fault_count(r) != before || r->out_of_memory)
        return;
    build_line(r, node, nodes, t);
    if (fault_count(r) == before && !r->out_of_memory)
        check_line(r, node, t);
    if (fault_count(r) != before || r->out_of_memory)
        return;
    read_faces(r, nodes, t);
    bool faces = fault_count(r) == before;
    if (!r->out_of_memory)
        read_ducts(r, node, t);
    if (!r->out_of_memory)
        read_along(r, node, t, faces);
}
