/* SPDX-License-Identifier: MIT
 * Blocks, plates, arrows, line meshes, curves. Flat sides have their own
 * vertices, so that each carries its side's normal; doubled vertices are
 * bitwise equal. */
#include "scene/marker.h"

#include <stdlib.h>
#include <string.h>

dm_status dm_mesh_join(const dm_mesh *parts, size_t count, dm_arena *arena,
                       dm_mesh *out)
{
    size_t i, k, vertices = 0, indices = 0;

    memset(out, 0, sizeof *out);
    out->mode = DM_MESH_TRIANGLES;
    out->closed = true;
    for (i = 0; i < count; i++) {
        vertices += parts[i].vertex_count;
        indices += parts[i].index_count;
        out->closed = out->closed && parts[i].closed;
    }
    if (vertices > UINT32_MAX)
        return DM_NOMEM;
    out->position = dm_arena_alloc(arena, vertices, 3 * sizeof(float));
    out->normal = dm_arena_alloc(arena, vertices, 3 * sizeof(float));
    out->index = DM_NEW_ARRAY(arena, uint32_t, indices);
    if (out->position == NULL || out->normal == NULL || out->index == NULL)
        return DM_NOMEM;
    for (i = 0; i < count; i++) {
        const dm_mesh *p = &parts[i];
        size_t bytes = p->vertex_count * 3 * sizeof(float);

        memcpy(out->position + 3 * out->vertex_count, p->position, bytes);
        memcpy(out->normal + 3 * out->vertex_count, p->normal, bytes);
        for (k = 0; k < p->index_count; k++)
            out->index[out->index_count + k] =
                p->index[k] + (uint32_t)out->vertex_count;
        out->vertex_count += p->vertex_count;
        out->index_count += p->index_count;
    }
    return DM_OK;
}

bool dm_mesh_measure(dm_mesh *mesh)
{
    const float *p = mesh->position;
    size_t i;
    int k;

    for (k = 0; k < 3; k++)
        mesh->low[k] = mesh->high[k] = mesh->vertex_count > 0 ? p[k] : 0.0f;
    for (i = 0; i < 3 * mesh->vertex_count; i++) {
        if (!isfinite(p[i]))
            return false;
        k = (int)(i % 3);
        if (p[i] < mesh->low[k])
            mesh->low[k] = p[i];
        if (p[i] > mesh->high[k])
            mesh->high[k] = p[i];
    }
    return true;
}

/* ---- blocks ----------------------------------------------------------- */

static void put(float *out, dm_vec3 v)
{
    out[0] = (float)v.x;
    out[1] = (float)v.y;
    out[2] = (float)v.z;
}

static dm_vec3 middle(const dm_vec3 *points, const int *which, int count)
{
    dm_vec3 sum = {0.0, 0.0, 0.0};
    int i;

    for (i = 0; i < count; i++)
        sum = dm_vec3_add(sum, points[which == NULL ? i : which[i]]);
    return dm_vec3_scale(sum, 1.0 / count);
}

dm_status dm_mesh_block(const dm_vec3 corner[8], dm_vec3 origin,
                        dm_arena *arena, dm_mesh *out)
{
    static const int side[6][4] = {{0, 1, 2, 3}, {4, 5, 6, 7}, {0, 1, 5, 4},
                                   {1, 2, 6, 5}, {2, 3, 7, 6}, {3, 0, 4, 7}};
    static const uint32_t order[2][6] = {{0, 1, 2, 0, 2, 3},
                                         {0, 2, 1, 0, 3, 2}};
    dm_vec3 centre = middle(corner, NULL, 8);
    int f, k;

    memset(out, 0, sizeof *out);
    out->mode = DM_MESH_TRIANGLES;
    out->vertex_count = 24;
    out->index_count = 36;
    out->closed = true;
    out->position = DM_NEW_ARRAY(arena, float, 72);
    out->normal = DM_NEW_ARRAY(arena, float, 72);
    out->index = DM_NEW_ARRAY(arena, uint32_t, 36);
    if (out->position == NULL || out->normal == NULL || out->index == NULL)
        return DM_NOMEM;
    for (f = 0; f < 6; f++) {
        const dm_vec3 *c = corner;
        dm_vec3 n = dm_vec3_unit(
            dm_vec3_cross(dm_vec3_sub(c[side[f][2]], c[side[f][0]]),
                          dm_vec3_sub(c[side[f][3]], c[side[f][1]])));
        dm_vec3 away = dm_vec3_sub(middle(c, side[f], 4), centre);
        bool inward = dm_vec3_dot(n, away) < 0.0;

        for (k = 0; k < 4; k++) {
            put(out->position + 12 * f + 3 * k,
                dm_vec3_sub(c[side[f][k]], origin));
            put(out->normal + 12 * f + 3 * k,
                dm_vec3_scale(n, inward ? -1.0 : 1.0));
        }
        for (k = 0; k < 6; k++)
            out->index[6 * f + k] = (uint32_t)(4 * f) + order[inward][k];
    }
    return DM_OK;
}

/* Two unit vectors square to `axis`: the first level. */
static void across(dm_vec3 axis, dm_vec3 *level, dm_vec3 *other)
{
    dm_vec3 up = {0.0, 0.0, 1.0}, north = {0.0, 1.0, 0.0};

    *level = dm_vec3_cross(axis, fabs(axis.z) > 0.99 ? north : up);
    *level = dm_vec3_unit(*level);
    *other = dm_vec3_cross(*level, axis);
}

dm_status dm_mesh_plate(dm_vec3 centre, dm_vec3 normal, double side,
                        double thickness, dm_vec3 origin, dm_arena *arena,
                        dm_mesh *out)
{
    static const double sign[4][2] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
    dm_vec3 level, other, corner[8];
    int k;

    across(normal, &level, &other);
    for (k = 0; k < 4; k++) {
        corner[k] = dm_vec3_along(centre, 0.5 * side * sign[k][0], level);
        corner[k] = dm_vec3_along(corner[k], 0.5 * side * sign[k][1], other);
        corner[k + 4] = dm_vec3_along(corner[k], thickness, normal);
    }
    return dm_mesh_block(corner, origin, arena, out);
}

/* Where p + s d meets the face's plane; false: at less than 20 deg. */
static bool meet(dm_vec3 p, dm_vec3 d, const dm_face *face, double *s)
{
    double slope = dm_vec3_dot(d, face->normal);

    if (fabs(slope) < 0.34)
        return false;
    *s = dm_vec3_dot(dm_vec3_sub(face->origin, p), face->normal) / slope;
    return true;
}

bool dm_block_between(dm_vec3 centre, dm_vec3 direction, const dm_face *back,
                      const dm_face *ahead, double side, dm_vec3 corner[8])
{
    static const double sign[4][2] = {{-1, -1}, {1, -1}, {1, 1}, {-1, 1}};
    dm_vec3 level, other, p;
    double s0, s1;
    int k;

    across(direction, &level, &other);
    for (k = 0; k < 4; k++) {
        p = dm_vec3_along(centre, 0.5 * side * sign[k][0], level);
        p = dm_vec3_along(p, 0.5 * side * sign[k][1], other);
        if (!meet(p, direction, back, &s0) || !meet(p, direction, ahead, &s1))
            return false;
        if (s1 - s0 < DM_SHORTEST)
            return false;
        corner[k] = dm_vec3_along(p, s0, direction);
        corner[k + 4] = dm_vec3_along(p, s1, direction);
    }
    return true;
}

/* ---- arrow ------------------------------------------------------------ */

dm_status dm_mesh_arrow(dm_vec3 tip, dm_vec3 outward, double length,
                        bool with_head, int sides, dm_vec3 origin,
                        dm_arena *arena, dm_mesh *out)
{
    const double thick = 0.018, wide = 0.05, point = 0.002;
    const double head = with_head ? 0.4 * length : 0.0;
    dm_segment segment = {0.0, length, tip, outward, 0.0, {0.0, 0.0, 0.0}};
    dm_centreline axis = {0};
    dm_sweep s = {0};
    dm_status status;

    axis.segments = &segment;
    axis.count = 1;
    axis.length = length;
    s.line = &axis;
    s.origin = origin;
    s.sagitta = 1.0;
    s.sides = sides;
    if (with_head) {
        dm_sweep_cap(&s, 0.0, point, DM_SIDE_BACK);
        dm_sweep_band(&s, 0.0, point, head, wide);
        dm_sweep_band(&s, head, wide, head, thick);
    } else {
        dm_sweep_cap(&s, 0.0, thick, DM_SIDE_BACK);
    }
    dm_sweep_band(&s, head, thick, length, thick);
    dm_sweep_cap(&s, length, thick, DM_SIDE_AHEAD);
    status = dm_sweep_mesh(&s, arena, out);
    dm_sweep_free(&s);
    return status;
}

/* ---- lines and curves ------------------------------------------------- */

dm_status dm_mesh_line(const dm_centreline *line, double sagitta,
                       dm_vec3 origin, dm_arena *arena, dm_mesh *out)
{
    size_t n = dm_tube_stations(line, 0.0, line->length, 0.0, sagitta, NULL, 0);
    double *t = calloc(n + 2, sizeof *t);
    size_t i;

    memset(out, 0, sizeof *out);
    if (t == NULL || n + 2 > UINT32_MAX) {
        free(t);
        return DM_NOMEM;
    }
    dm_tube_stations(line, 0.0, line->length, 0.0, sagitta, t + 1, n);
    t[n + 1] = line->length;
    out->mode = DM_MESH_LINES;
    out->vertex_count = n + 2;
    out->index_count = 2 * (n + 1);
    out->position = dm_arena_alloc(arena, n + 2, 3 * sizeof(float));
    out->index = DM_NEW_ARRAY(arena, uint32_t, out->index_count);
    if (out->position == NULL || out->index == NULL) {
        free(t);
        return DM_NOMEM;
    }
    for (i = 0; i < n + 2; i++)
        put(out->position + 3 * i,
            dm_vec3_sub(dm_centreline_point(line, t[i]), origin));
    for (i = 0; i <= n; i++) {
        out->index[2 * i] = (uint32_t)i;
        out->index[2 * i + 1] = (uint32_t)i + 1;
    }
    free(t);
    return DM_OK;
}

dm_status dm_curve_cut(const dm_centreline *line, double t0, double t1,
                       dm_vec3 origin, dm_arena *arena, dm_curve *out)
{
    size_t i, first = dm_centreline_find(line, t0, 0);
    size_t last = dm_centreline_find(line, t1, first);
    size_t pieces = last - first + 1;
    double from = t0, to;

    memset(out, 0, sizeof *out);
    out->point = DM_NEW_ARRAY(arena, dm_vec3, 2 * pieces + 1);
    out->arc = DM_NEW_ARRAY(arena, bool, pieces);
    if (out->point == NULL || out->arc == NULL)
        return DM_NOMEM;
    out->point[out->point_count++] =
        dm_vec3_sub(dm_centreline_point(line, t0), origin);
    for (i = first; i <= last; i++) {
        const dm_segment *g = &line->segments[i];

        to = i == last ? t1 : fmin(t1, g->t0 + g->length);
        /* A sliver at a joint is left to its neighbour. */
        if (to - from < 1e-6 && i != last)
            continue;
        if (to - from < 1e-6 && out->piece_count > 0)
            break;
        if (g->kappa > 0.0)
            out->point[out->point_count++] = dm_vec3_sub(
                dm_centreline_point(line, 0.5 * (from + to)), origin);
        out->point[out->point_count++] =
            dm_vec3_sub(dm_centreline_point(line, to), origin);
        out->arc[out->piece_count++] = g->kappa > 0.0;
        from = to;
    }
    return DM_OK;
}
