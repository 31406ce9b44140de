/* SPDX-License-Identifier: MIT
 * Sweeps of a circle. The first section's zero direction is the crown's (any
 * perpendicular where the axis is steep); it is carried along by removing its
 * component along each new tangent, which keeps triangles untwisted where a
 * clock datum would jump. Vertices run clockwise looking ahead, so that
 * (ring, next vertex, ring ahead) is counterclockwise from outside. Where the
 * normal has a step, rings are doubled with bitwise equal positions. */
#include "scene/tube.h"

#include <assert.h>
#include <stdlib.h>
#include <string.h>

#define CHORDS_MAX 4096
#define SIDES_MAX 256
/* No section this close to the end of a band: slivers (m). The margin on the
 * sagitta pays for the longer chord that is left. */
#define APART 1e-4
#define MARGIN 0.98

void dm_sweep_free(dm_sweep *sweep)
{
    free(sweep->items);
    sweep->items = NULL;
    sweep->count = sweep->capacity = 0;
}

void dm_sweep_clear(dm_sweep *sweep)
{
    sweep->count = 0;
}

static void add(dm_sweep *s, dm_sweep_section section)
{
    assert(section.radius > 0.0);
    if (s->failed || !DM_GROW(s->items, s->count, s->capacity)) {
        s->failed = true;
        return;
    }
    s->items[s->count++] = section;
}

void dm_sweep_cap(dm_sweep *sweep, double t, double radius, dm_side side)
{
    dm_sweep_section cap = {
        t, radius, side == DM_SIDE_BACK ? -1.0f : 1.0f, 0.0f,
        side == DM_SIDE_BACK ? DM_SECTION_CAP_BACK : DM_SECTION_CAP_AHEAD};

    add(sweep, cap);
}

size_t dm_arc_chords(const dm_segment *segment, double radius, double sagitta)
{
    double outer, bend, step, chords;

    if (segment->kappa <= 0.0)
        return 1;
    outer = 1.0 / segment->kappa + radius;
    bend = segment->length * segment->kappa;
    step = MARGIN * sagitta >= outer
               ? 3.0
               : 2.0 * acos(1.0 - MARGIN * sagitta / outer);
    chords = ceil(bend / step);
    if (!(chords >= 1.0))
        return 1;
    return chords > CHORDS_MAX ? CHORDS_MAX : (size_t)chords;
}

size_t dm_tube_stations(const dm_centreline *line, double t0, double t1,
                        double radius, double sagitta, double *out,
                        size_t capacity)
{
    size_t i, k, chords, n = 0;
    double last = t0;

    for (i = 0; i < line->count; i++) {
        const dm_segment *g = &line->segments[i];

        if (g->t0 + g->length <= t0)
            continue;
        if (g->t0 >= t1)
            break;
        chords = dm_arc_chords(g, radius, sagitta);
        for (k = i == 0 ? 1 : 0; k < chords; k++) {
            double t = g->t0 + g->length * (double)k / (double)chords;

            /* Arcs that all but touch leave a straight length of nothing. */
            if (t < last + APART || t > t1 - APART)
                continue;
            last = t;
            if (out != NULL && n < capacity)
                out[n] = t;
            n++;
        }
    }
    return n;
}

void dm_sweep_band(dm_sweep *sweep, double t0, double r0, double t1, double r1)
{
    double slope = hypot(t1 - t0, r1 - r0);
    dm_sweep_section s = {t0, r0, 0.0f, 1.0f, DM_SECTION_BEGIN};
    size_t i, count = 0;
    double *stations;

    if (r0 != r1) {
        s.axial = (float)((r0 - r1) / slope);
        s.radial = (float)((t1 - t0) / slope);
    }
    add(sweep, s);
    s.kind = DM_SECTION_JOIN;
    if (r0 == r1)
        count =
            dm_tube_stations(sweep->line, t0, t1, r0, sweep->sagitta, NULL, 0);
    if (count > 0) {
        stations = calloc(count, sizeof *stations);
        if (stations == NULL) {
            sweep->failed = true;
            return;
        }
        dm_tube_stations(sweep->line, t0, t1, r0, sweep->sagitta, stations,
                         count);
        for (i = 0; i < count; i++) {
            s.t = stations[i];
            add(sweep, s);
        }
        free(stations);
    }
    s.t = t1;
    s.radius = r1;
    add(sweep, s);
}

void dm_sweep_solid(dm_sweep *sweep, double t0, double t1, double radius)
{
    dm_sweep_cap(sweep, t0, radius, DM_SIDE_BACK);
    dm_sweep_band(sweep, t0, radius, t1, radius);
    dm_sweep_cap(sweep, t1, radius, DM_SIDE_AHEAD);
}

size_t dm_sweep_vertices(const dm_sweep *sweep)
{
    return sweep->count * (size_t)sweep->sides;
}

size_t dm_sweep_indices(const dm_sweep *sweep)
{
    size_t i, n = 0, sides = (size_t)sweep->sides;

    for (i = 0; i < sweep->count; i++) {
        if (sweep->items[i].kind == DM_SECTION_JOIN)
            n += 6 * sides;
        else if (sweep->items[i].kind != DM_SECTION_BEGIN)
            n += 3 * (sides - 2);
    }
    return n;
}

/* ---- filling ---------------------------------------------------------- */

typedef struct {
    double t;
    dm_vec3 point, tangent, zero, right;
} axes;

/* A unit vector square to the tangent, towards the crown if there is one. */
static dm_vec3 first_zero(dm_vec3 tangent)
{
    dm_vec3 up = {0.0, 0.0, 1.0}, east = {1.0, 0.0, 0.0};

    if (fabs(tangent.z) > 0.99)
        up = east;
    return dm_vec3_unit(dm_vec3_along(up, -dm_vec3_dot(up, tangent), tangent));
}

static void move_axes(const dm_sweep *s, double t, axes *a)
{
    a->t = t;
    a->point = dm_vec3_sub(dm_centreline_point(s->line, t), s->origin);
    a->tangent = dm_centreline_tangent(s->line, t);
    a->zero =
        dm_vec3_along(a->zero, -dm_vec3_dot(a->zero, a->tangent), a->tangent);
    if (dm_vec3_norm(a->zero) < 0.1)
        a->zero = first_zero(a->tangent);
    a->zero = dm_vec3_unit(a->zero);
    a->right = dm_vec3_cross(a->tangent, a->zero);
}

static void fill_ring(const axes *a, const dm_sweep_section *s,
                      const float *wheel, size_t sides,
                      float *restrict position, float *restrict normal)
{
    const float px = (float)a->point.x, py = (float)a->point.y;
    const float pz = (float)a->point.z, r = (float)s->radius;
    const float zx = (float)a->zero.x, zy = (float)a->zero.y;
    const float zz = (float)a->zero.z, rx = (float)a->right.x;
    const float ry = (float)a->right.y, rz = (float)a->right.z;
    const float tx = s->axial * (float)a->tangent.x;
    const float ty = s->axial * (float)a->tangent.y;
    const float tz = s->axial * (float)a->tangent.z;
    const float out = s->radial;
    size_t k;

    for (k = 0; k < sides; k++) {
        const float c = wheel[2 * k], sn = wheel[2 * k + 1];
        const float x = c * zx + sn * rx, y = c * zy + sn * ry;
        const float z = c * zz + sn * rz;

        position[3 * k] = px + r * x;
        position[3 * k + 1] = py + r * y;
        position[3 * k + 2] = pz + r * z;
        normal[3 * k] = out * x + tx;
        normal[3 * k + 1] = out * y + ty;
        normal[3 * k + 2] = out * z + tz;
    }
}

static uint32_t *fill_band(uint32_t *restrict index, uint32_t back,
                           uint32_t ahead, uint32_t sides)
{
    uint32_t k;

    for (k = 0; k + 1 < sides; k++, index += 6) {
        index[0] = back + k;
        index[1] = back + k + 1;
        index[2] = ahead + k;
        index[3] = back + k + 1;
        index[4] = ahead + k + 1;
        index[5] = ahead + k;
    }
    index[0] = back + k;
    index[1] = back;
    index[2] = ahead + k;
    index[3] = back;
    index[4] = ahead;
    index[5] = ahead + k;
    return index + 6;
}

static uint32_t *fill_cap(uint32_t *index, uint32_t ring, uint32_t sides,
                          dm_sweep_kind kind)
{
    uint32_t k, turn = kind == DM_SECTION_CAP_AHEAD ? 0 : 1;

    for (k = 1; k + 1 < sides; k++, index += 3) {
        index[0] = ring;
        index[1] = ring + k + turn;
        index[2] = ring + k + 1 - turn;
    }
    return index;
}

void dm_sweep_fill(const dm_sweep *sweep, float *position, float *normal,
                   uint32_t *index, uint32_t first)
{
    const double turn = 6.283185307179586;
    const size_t sides = (size_t)sweep->sides;
    float wheel[2 * SIDES_MAX];
    axes at = {0};
    size_t i;

    assert(sides >= 3 && sides <= SIDES_MAX);
    for (i = 0; i < sides; i++) {
        wheel[2 * i] = (float)cos(turn * (double)i / (double)sides);
        wheel[2 * i + 1] = (float)sin(turn * (double)i / (double)sides);
    }
    for (i = 0; i < sweep->count; i++) {
        const dm_sweep_section *s = &sweep->items[i];
        uint32_t ring = first + (uint32_t)(i * sides);

        /* Sections at one station share their axes bit by bit. */
        if (i == 0 || s->t != at.t)
            move_axes(sweep, s->t, &at);
        fill_ring(&at, s, wheel, sides, position + 3 * i * sides,
                  normal + 3 * i * sides);
        if (s->kind == DM_SECTION_JOIN)
            index =
                fill_band(index, ring - (uint32_t)sides, ring, (uint32_t)sides);
        else if (s->kind != DM_SECTION_BEGIN)
            index = fill_cap(index, ring, (uint32_t)sides, s->kind);
    }
}

dm_status dm_sweep_mesh(const dm_sweep *sweep, dm_arena *arena, dm_mesh *out)
{
    size_t vertices = dm_sweep_vertices(sweep);
    size_t indices = dm_sweep_indices(sweep);

    memset(out, 0, sizeof *out);
    if (sweep->failed || vertices > UINT32_MAX)
        return DM_NOMEM;
    out->mode = DM_MESH_TRIANGLES;
    out->position = dm_arena_alloc(arena, vertices, 3 * sizeof(float));
    out->normal = dm_arena_alloc(arena, vertices, 3 * sizeof(float));
    out->index = DM_NEW_ARRAY(arena, uint32_t, indices);
    if (out->position == NULL || out->normal == NULL || out->index == NULL)
        return DM_NOMEM;
    dm_sweep_fill(sweep, out->position, out->normal, out->index, 0);
    out->vertex_count = vertices;
    out->index_count = indices;
    out->closed = true;
    return DM_OK;
}
