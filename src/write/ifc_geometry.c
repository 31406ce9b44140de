/* SPDX-License-Identifier: MIT
 * Shapes: a swept disk along an exact curve (IfcIndexedPolyCurve of lines and
 * arcs), or the scene's mesh as IfcTriangulatedFaceSet. Vertices of bitwise
 * equal position become one point, so that a closed mesh is closed in the
 * file and its text a third shorter. Curves are written to the nanometre, so
 * that three points still give an arc's radius; meshes to 10 um. */
#include "write/ifc.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CURVE_DECIMALS 9
#define RADIUS_DECIMALS 6
/* An arc with a lower rise or a shorter chord is written as two lines through
 * its middle point. That is at most a quarter of the rise off, and spares
 * readers three points nearly on a line: web-ifc 0.0.78 leaves out arcs of
 * less than some 25 mm, whatever their radius. */
#define FLATTEST 1e-4
#define SHORTEST 0.04

/* ---- curves ----------------------------------------------------------- */

/* Is it to be written as an arc: rise of the middle point above the chord? */
static bool is_arc(const dm_vec3 *p)
{
    dm_vec3 chord = dm_vec3_sub(p[2], p[0]), rise = dm_vec3_sub(p[1], p[0]);
    double length = dm_vec3_norm(chord);

    return length >= SHORTEST &&
           dm_vec3_norm(dm_vec3_cross(chord, rise)) >= FLATTEST * length;
}

static void put_point(dm_ifc *w, dm_vec3 p)
{
    dm_step_open(&w->step);
    dm_step_fixed(&w->step, p.x, CURVE_DECIMALS);
    dm_step_fixed(&w->step, p.y, CURVE_DECIMALS);
    dm_step_fixed(&w->step, p.z, CURVE_DECIMALS);
    dm_step_close(&w->step);
}

static void put_segment(dm_ifc *w, const char *type, int64_t first, int count)
{
    int i;

    dm_step_typed(&w->step, type);
    dm_step_open(&w->step);
    for (i = 0; i < count; i++)
        dm_step_int(&w->step, first + i);
    dm_step_close(&w->step);
    dm_step_close(&w->step);
}

static dm_step_id put_curve(dm_ifc *w, const dm_curve *c)
{
    dm_step *s = &w->step;
    dm_step_id points, curve;
    size_t i, at;
    int64_t n = 1;

    points = dm_step_begin(s, "IFCCARTESIANPOINTLIST3D");
    dm_step_open(s);
    put_point(w, c->point[0]);
    for (i = 0, at = 1; i < c->piece_count; at += c->arc[i] ? 2 : 1, i++) {
        put_point(w, c->point[at]);
        if (c->arc[i])
            put_point(w, c->point[at + 1]);
    }
    dm_step_close(s);
    dm_step_unset(s);
    dm_step_end(s);
    curve = dm_step_begin(s, "IFCINDEXEDPOLYCURVE");
    dm_step_ref(s, points);
    dm_step_open(s);
    for (i = 0, at = 1; i < c->piece_count; at += c->arc[i] ? 2 : 1, i++) {
        int count = c->arc[i] ? 3 : 2;

        put_segment(w,
                    c->arc[i] && is_arc(&c->point[at - 1]) ? "IFCARCINDEX"
                                                           : "IFCLINEINDEX",
                    n, count);
        n += count - 1;
    }
    dm_step_close(s);
    dm_step_bool(s, false);
    dm_step_end(s);
    return curve;
}

/* ---- colours ---------------------------------------------------------- */

static dm_step_id put_style(dm_ifc *w, const uint8_t colour[4],
                            const char *meaning)
{
    dm_step *s = &w->step;
    dm_step_id rgb, shading, style;
    int i;

    rgb = dm_step_begin(s, "IFCCOLOURRGB");
    dm_step_unset(s);
    for (i = 0; i < 3; i++)
        dm_step_fixed(s, colour[i] / 255.0, 4);
    dm_step_end(s);
    shading = dm_step_begin(s, "IFCSURFACESTYLESHADING");
    dm_step_ref(s, rgb);
    dm_step_fixed(s, 1.0 - colour[3] / 255.0, 4);
    dm_step_end(s);
    style = dm_step_begin(s, "IFCSURFACESTYLE");
    dm_step_text(s, meaning);
    dm_step_enum(s, "BOTH");
    dm_step_open(s);
    dm_step_ref(s, shading);
    dm_step_close(s);
    dm_step_end(s);
    return style;
}

static dm_step_id find_style(dm_ifc *w, const uint8_t colour[4],
                             const char *meaning)
{
    dm_ifc_style *style;
    size_t i;

    for (i = 0; i < w->style_count; i++)
        if (memcmp(w->styles[i].rgba, colour, 4) == 0 &&
            strcmp(w->styles[i].meaning, meaning) == 0)
            return w->styles[i].id;
    if (!DM_GROW(w->styles, w->style_count, w->style_capacity)) {
        w->failed = true;
        return 0;
    }
    style = &w->styles[w->style_count++];
    memcpy(style->rgba, colour, 4);
    style->meaning = meaning;
    style->id = put_style(w, colour, meaning);
    return style->id;
}

static void put_styled(dm_ifc *w, dm_step_id item, dm_step_id style)
{
    dm_step_begin(&w->step, "IFCSTYLEDITEM");
    dm_step_ref(&w->step, item);
    dm_step_open(&w->step);
    dm_step_ref(&w->step, style);
    dm_step_close(&w->step);
    dm_step_unset(&w->step);
    dm_step_end(&w->step);
}

/* ---- representations -------------------------------------------------- */

static dm_step_id put_representation(dm_ifc *w, dm_step_id context,
                                     const char *identifier, const char *type,
                                     dm_step_id item)
{
    dm_step *s = &w->step;
    dm_step_id id = dm_step_begin(s, "IFCSHAPEREPRESENTATION");

    dm_step_ref(s, context);
    dm_step_text(s, identifier);
    dm_step_text(s, type);
    dm_step_open(s);
    dm_step_ref(s, item);
    dm_step_close(s);
    dm_step_end(s);
    w->representation = id;
    return id;
}

static dm_step_id put_definition(dm_ifc *w, dm_step_id axis, dm_step_id body)
{
    dm_step *s = &w->step;
    dm_step_id id = dm_step_begin(s, "IFCPRODUCTDEFINITIONSHAPE");

    dm_step_unset(s);
    dm_step_unset(s);
    dm_step_open(s);
    if (axis != 0)
        dm_step_ref(s, axis);
    if (body != 0)
        dm_step_ref(s, body);
    dm_step_close(s);
    dm_step_end(s);
    return id;
}

dm_step_id dm_ifc_shape_sweep(dm_ifc *w, const dm_curve *curve, double radius,
                              double inner_radius, const uint8_t colour[4],
                              const char *meaning)
{
    dm_step *s = &w->step;
    dm_step_id style, directrix, solid, axis, body;

    if (curve->piece_count == 0)
        return 0;
    style = find_style(w, colour, meaning);
    directrix = put_curve(w, curve);
    solid = dm_step_begin(s, "IFCSWEPTDISKSOLID");
    dm_step_ref(s, directrix);
    dm_step_fixed(s, radius, RADIUS_DECIMALS);
    if (inner_radius > 0.0 && inner_radius < radius)
        dm_step_fixed(s, inner_radius, RADIUS_DECIMALS);
    else
        dm_step_unset(s);
    dm_step_unset(s);
    dm_step_unset(s);
    dm_step_end(s);
    put_styled(w, solid, style);
    axis = put_representation(w, w->axis_context, "Axis", "Curve3D", directrix);
    body = put_representation(w, w->body_context, "Body", "AdvancedSweptSolid",
                              solid);
    return put_definition(w, axis, body);
}

dm_step_id dm_ifc_shape_curve(dm_ifc *w, const dm_curve *curve)
{
    dm_step_id line;

    if (curve->piece_count == 0)
        return 0;
    line = put_curve(w, curve);
    return put_definition(
        w, put_representation(w, w->axis_context, "Axis", "Curve3D", line), 0);
}

/* ---- meshes ----------------------------------------------------------- */

/* Room for a mesh of that many vertices; the table is twice as large, so that
 * probes stay short. */
static bool make_room(dm_ifc *w, size_t vertices)
{
    size_t capacity = 64, slots;

    if (vertices <= w->vertex_capacity)
        return true;
    while (capacity < vertices)
        capacity *= 2;
    slots = 2 * capacity;
    free(w->label);
    free(w->point);
    free(w->table);
    w->label = calloc(capacity, sizeof *w->label);
    w->point = calloc(capacity, 3 * sizeof *w->point);
    w->table = calloc(slots, sizeof *w->table);
    w->vertex_capacity = w->label && w->point && w->table ? capacity : 0;
    return w->vertex_capacity > 0;
}

static uint32_t hash_of(const float *p)
{
    uint32_t bits[3];

    memcpy(bits, p, sizeof bits);
    bits[0] = (bits[0] ^ bits[1] * 0x9E3779B1u) * 0x85EBCA6Bu;
    bits[0] = (bits[0] ^ bits[0] >> 15 ^ bits[2]) * 0xC2B2AE35u;
    return bits[0] ^ bits[0] >> 13;
}

/* Fills w->label and w->point; returns the number of points. Points are in
 * the order of their first vertex, which the table holds, plus one: where a
 * vertex hashes to decides nothing. */
static size_t merge(dm_ifc *w, const dm_mesh *mesh)
{
    size_t i, slots = 64, count = 0;
    uint32_t slot;

    while (slots < 2 * mesh->vertex_count)
        slots *= 2;
    memset(w->table, 0, slots * sizeof *w->table);
    for (i = 0; i < mesh->vertex_count; i++) {
        const float *p = mesh->position + 3 * i;

        slot = hash_of(p) & (uint32_t)(slots - 1);
        while (w->table[slot] != 0 &&
               memcmp(mesh->position + 3 * (w->table[slot] - 1), p, 12) != 0)
            slot = (slot + 1) & (uint32_t)(slots - 1);
        if (w->table[slot] != 0) {
            w->label[i] = w->label[w->table[slot] - 1];
            continue;
        }
        w->table[slot] = (uint32_t)(i + 1);
        memcpy(w->point + 3 * count, p, 12);
        w->label[i] = dm_step_label_of((uint32_t)++count);
    }
    return count;
}

dm_step_id dm_ifc_shape_mesh(dm_ifc *w, const dm_mesh *mesh,
                             const uint8_t colour[4], const char *meaning)
{
    dm_step *s = &w->step;
    dm_step_id style, points, faces, body;
    size_t count;

    if (mesh->mode != DM_MESH_TRIANGLES || mesh->index_count < 3)
        return 0;
    if (!make_room(w, mesh->vertex_count)) {
        w->failed = true;
        return 0;
    }
    style = find_style(w, colour, meaning);
    count = merge(w, mesh);
    points = dm_step_begin(s, "IFCCARTESIANPOINTLIST3D");
    dm_step_points(s, w->point, count);
    dm_step_unset(s);
    dm_step_end(s);
    faces = dm_step_begin(s, "IFCTRIANGULATEDFACESET");
    dm_step_ref(s, points);
    dm_step_unset(s);
    dm_step_bool(s, mesh->closed);
    dm_step_triangles(s, mesh->index, mesh->index_count / 3, w->label);
    dm_step_unset(s);
    dm_step_end(s);
    put_styled(w, faces, style);
    body =
        put_representation(w, w->body_context, "Body", "Tessellation", faces);
    return put_definition(w, 0, body);
}
