/* SPDX-License-Identifier: MIT
 * One tendon: its supports and centreline, then everything that stands at a
 * station of it. */
#include "model/tendon.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TWO_PI 6.283185307179586476925

/* ---- ducts, fixtures, strands, tapes
 * ------------------------------------------------ */

static size_t find_duct_type(const reader *r, const char *id)
{
    for (size_t i = 0; i < r->model->duct_type_count; i++)
        if (strcmp(r->model->duct_types[i].id, id) == 0)
            return i;
    return DM_NONE;
}

/* The outside path bends with the duct that lies in the bend. */
static void give_radii(reader *r, dm_tendon *t)
{
    double *radius = DM_NEW_ARRAY(r->arena, double, t->line.count);
    if (!radius) {
        r->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < t->duct_count; i++)
        if (t->ducts[i].duct_type == DM_NONE)
            return;
    for (size_t i = 0; i < t->line.count; i++) {
        const dm_segment *s = &t->line.segments[i];
        radius[i] =
            0.5 * dm_tendon_duct(r->model, t, s->t0 + 0.5 * s->length)->od;
    }
    t->line.outside_radius = radius;
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
    if (t->duct_count > 1)
        give_radii(r, t);
}

const char *dm_fixture_text(dm_fixture_kind kind)
{
    static const char *const text[] = {"collar",    "coupler",      "wrap",
                                       "patch",     "vent",         "weld",
                                       "diaphragm", "low clearance"};

    return text[kind];
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

static void read_access(reader *r, const dm_xml_node *n, dm_tendon *t)
{
    dm_access_length *a = &t->access[t->access_count++];
    double length = t->line.length;
    *a = (dm_access_length){
        .from = dm_xml_length(r->xml, n, "from", 0.0, 1e5, 0.0),
        .to = dm_xml_length(r->xml, n, "to", 0.0, 1e5, length),
        .access = read_access_class(r, n, "class", DM_ACCESS_FLOOR),
        .place = dm_xml_place(r->xml, n)};
    if (a->to <= a->from)
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "the access length ends before it begins");
    else if (a->to > length + 1e-3)
        dm_xml_fault(r->xml, n, DM_GEOMETRY,
                     "the access length lies beyond the end of the tendon");
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
    t->access =
        DM_NEW_ARRAY(r->arena, dm_access_length, dm_xml_count(node, "access"));
    if (!t->fixtures || !t->strand_sides || !t->measured || !t->access) {
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
    derive_strand_sides(r, t);
    for (const dm_xml_node *n = dm_xml_child(node, "access"); n;
         n = dm_xml_next(n, "access"))
        read_access(r, n, t);
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
    t->weight = dm_xml_mass(r->xml, n, "weight", 0.01, 1000.0, 0.0);
    t->force = dm_xml_force(r->xml, n, "force", 1e3, 1e8, 0.0);
    if (dm_xml_has(n, "weight") != dm_xml_has(n, "force"))
        dm_xml_fault(r->xml, n, DM_INCONSISTENT,
                     "weight and force are given together or not at all");
}

static bool too_many_on_it(reader *r, const dm_xml_node *node)
{
    static const char *const names[] = {"duct-length", "fixture", "strand-side",
                                        "access", "measured-length"};
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
        check_line(r, node, nodes, t);
    if (fault_count(r) != before || r->out_of_memory)
        return;
    read_faces(r, nodes, t);
    bool faces = fault_count(r) == before;
    if (!r->out_of_memory)
        read_ducts(r, node, t);
    if (!r->out_of_memory)
        read_along(r, node, t, faces);
}
