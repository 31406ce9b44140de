/* SPDX-License-Identifier: MIT
 * Welding by sorting positions; edges by sorting pairs of welded corners;
 * volume by the divergence theorem, area by cross products, in double. */
#include "mesh_check.h"

#include <stdlib.h>
#include <string.h>

#include "near.h"

typedef struct {
    float p[3];
    uint32_t vertex;
} corner;

typedef struct {
    uint32_t low, high;
    int way;
} edge;

static int by_position(const void *a, const void *b)
{
    const corner *p = a, *q = b;

    return memcmp(p->p, q->p, sizeof p->p);
}

static int by_ends(const void *a, const void *b)
{
    const edge *p = a, *q = b;

    if (p->low != q->low)
        return p->low < q->low ? -1 : 1;
    if (p->high != q->high)
        return p->high < q->high ? -1 : 1;
    return 0;
}

static void *room(size_t count, size_t size)
{
    void *p = calloc(count + 1, size);

    assert_non_null(p);
    return p;
}

/* For each vertex the number of its position. */
static uint32_t *weld(const dm_mesh *mesh)
{
    corner *c = room(mesh->vertex_count, sizeof *c);
    uint32_t *welded = room(mesh->vertex_count, sizeof *welded);
    uint32_t number = 0;
    size_t i;

    for (i = 0; i < mesh->vertex_count; i++) {
        memcpy(c[i].p, mesh->position + 3 * i, sizeof c[i].p);
        c[i].vertex = (uint32_t)i;
    }
    qsort(c, mesh->vertex_count, sizeof *c, by_position);
    for (i = 0; i < mesh->vertex_count; i++) {
        if (i > 0 && by_position(&c[i], &c[i - 1]) != 0)
            number++;
        welded[c[i].vertex] = number;
    }
    free(c);
    return welded;
}

static size_t count_open(const dm_mesh *mesh)
{
    uint32_t *welded = weld(mesh);
    edge *e = room(mesh->index_count, sizeof *e);
    size_t i, k, open = 0;

    for (i = 0; i < mesh->index_count; i++) {
        uint32_t from = welded[mesh->index[i]];
        uint32_t to = welded[mesh->index[i % 3 == 2 ? i - 2 : i + 1]];

        e[i] = from < to ? (edge){from, to, 1} : (edge){to, from, -1};
    }
    qsort(e, mesh->index_count, sizeof *e, by_ends);
    for (i = 0; i < mesh->index_count; i = k) {
        int sum = 0;

        for (k = i; k < mesh->index_count && by_ends(&e[i], &e[k]) == 0; k++)
            sum += e[k].way;
        if (k - i != 2 || sum != 0)
            open++;
    }
    free(e);
    free(welded);
    return open;
}

static dm_vec3 read3(const float *p)
{
    return (dm_vec3){(double)p[0], (double)p[1], (double)p[2]};
}

static void add_triangle(const dm_mesh *mesh, size_t first, mesh_report *out)
{
    const uint32_t *t = mesh->index + first;
    dm_vec3 a = read3(mesh->position + 3 * (size_t)t[0]);
    dm_vec3 b = read3(mesh->position + 3 * (size_t)t[1]);
    dm_vec3 c = read3(mesh->position + 3 * (size_t)t[2]);
    dm_vec3 n = dm_vec3_cross(dm_vec3_sub(b, a), dm_vec3_sub(c, a));
    double twice = dm_vec3_norm(n);
    int k;

    out->area += 0.5 * twice;
    out->volume += dm_vec3_dot(a, dm_vec3_cross(b, c)) / 6.0;
    if (!(twice > 1e-12)) {
        out->degenerate++;
        return;
    }
    for (k = 0; k < 3; k++)
        if (dm_vec3_dot(n, read3(mesh->normal + 3 * (size_t)t[k])) <=
            0.3 * twice) {
            out->inward++;
            break;
        }
}

mesh_report mesh_check(const dm_mesh *mesh)
{
    mesh_report out = {0};
    size_t i;

    for (i = 0; i < mesh->index_count; i++)
        out.outside += mesh->index[i] >= mesh->vertex_count;
    for (i = 0; i < mesh->vertex_count; i++) {
        dm_vec3 p = read3(mesh->position + 3 * i);
        dm_vec3 n = read3(mesh->normal + 3 * i);

        if (!isfinite(p.x + p.y + p.z) || fabs(dm_vec3_norm(n) - 1.0) > 1e-5)
            out.bad++;
    }
    assert_int_equal(mesh->index_count % 3, 0);
    if (out.outside > 0 || out.bad > 0)
        return out;
    for (i = 0; i < mesh->index_count; i += 3)
        add_triangle(mesh, i, &out);
    out.open_edges = count_open(mesh);
    return out;
}
