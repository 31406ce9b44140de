/* SPDX-License-Identifier: MIT
 * The circumference is cut into columns: one strip a clock line and the gaps
 * between them. Each column is a row of runs of one colour; a run has its own
 * rings, so that colours have hard edges. Columns do not share rings: along a
 * straight duct the extra vertices lie on the neighbour's edge to single
 * precision. Angles are true clock angles; at a station where the crown's
 * datum jumps the strip turns with it. */
#include "scene/heat.h"

#include <stdlib.h>
#include <string.h>

#include "scene/colour.h"

#define TURN 6.283185307179586
#define NARROW 1e-4 /* rad: no column */

typedef struct {
    float position[3], normal[3];
    uint8_t colour[4];
} vertex;

typedef struct {
    double t;
    int heat_class;
} run;

typedef struct {
    double low, high;          /* clock angles, rad */
    const dm_profile *profile; /* NULL: a gap */
} column;

typedef struct {
    const dm_heat_tube *tube;
    vertex *vertices;
    size_t vertex_count, vertex_capacity;
    uint32_t *indices;
    size_t index_count, index_capacity;
    run *runs;
    size_t run_count, run_capacity;
    double *stations;
    size_t station_capacity;
} work;

/* ---- columns ---------------------------------------------------------- */

static int by_clock(const void *a, const void *b)
{
    const column *p = a, *q = b;

    if (p->low != q->low)
        return p->low < q->low ? -1 : 1;
    return p->profile < q->profile ? -1 : p->profile > q->profile;
}

/* Strips, then the gap after each; fills 2 n (at least 1) columns. */
static size_t cut_columns(const dm_heat_tube *tube, column *strip)
{
    double half = 0.5 * tube->footprint / tube->radius, clock;
    size_t i, n = tube->profile_count;
    column *gap = strip + n;

    if (n == 0) {
        strip[0] = (column){0.0, TURN, NULL};
        return 1;
    }
    for (i = 0; i < n; i++) {
        clock = fmod(tube->profiles[i].clock, TURN);
        clock = clock < 0.0 ? clock + TURN : clock;
        strip[i] = (column){clock, clock, &tube->profiles[i]};
    }
    qsort(strip, n, sizeof *strip, by_clock);
    for (i = 0; i < n; i++) {
        double here = strip[i].low;
        double next = i + 1 < n ? strip[i + 1].low : strip[0].low + TURN;
        double meet = 0.5 * (here + next);

        gap[i].low = fmin(here + half, meet);
        gap[i].high = fmax(next - half, meet);
        gap[i].profile = NULL;
    }
    for (i = 0; i < n; i++) {
        strip[i].low = i > 0 ? gap[i - 1].high : gap[n - 1].high - TURN;
        strip[i].high = gap[i].low;
    }
    return 2 * n;
}

/* ---- runs of one colour ----------------------------------------------- */

static bool add_run(work *w, double t, int heat_class)
{
    run *last = w->run_count > 0 ? &w->runs[w->run_count - 1] : NULL;

    if (last != NULL && last->heat_class == heat_class)
        return true;
    if (last != NULL && t - last->t < DM_SHORTEST) {
        last->heat_class = heat_class; /* too short to be meshed */
        return true;
    }
    if (!DM_GROW(w->runs, w->run_count, w->run_capacity))
        return false;
    w->runs[w->run_count++] = (run){t, heat_class};
    return true;
}

static bool find_runs(work *w, const dm_profile *p)
{
    const double from = w->tube->from, to = w->tube->to - DM_SHORTEST;
    int before = DM_HEAT_NOT_READ;
    double end, first;
    size_t i;

    w->run_count = 0;
    if (p == NULL || p->count == 0 || !(p->pitch > 0.0))
        return add_run(w, from, DM_HEAT_NOT_READ);
    first = floor((from - p->from) / p->pitch);
    if (first < 0.0 && !add_run(w, from, DM_HEAT_NOT_READ))
        return false;
    i = first > 0.0 ? (size_t)fmin(first, (double)p->count) : 0;
    for (; i < p->count; i++) {
        double t = fmax(from, p->from + (double)i * p->pitch);

        if (t > to)
            return true;
        before = dm_heat_class((double)p->index[i], before);
        if (!add_run(w, t, before))
            return false;
    }
    end = fmax(from, p->from + (double)p->count * p->pitch);
    return end > to || add_run(w, end, DM_HEAT_NOT_READ);
}

/* ---- vertices and triangles ------------------------------------------- */

static bool add_ring(work *w, const column *c, size_t parts, double t,
                     dm_rgba colour)
{
    dm_frame frame = dm_centreline_frame(w->tube->line, t);
    size_t k;

    for (k = 0; k <= parts; k++) {
        double phi = c->low + (c->high - c->low) * (double)k / (double)parts;
        dm_vec3 n = dm_frame_direction(&frame, phi);
        dm_vec3 p = dm_vec3_along(dm_vec3_sub(frame.point, w->tube->origin),
                                  w->tube->radius, n);
        vertex v = {{(float)p.x, (float)p.y, (float)p.z},
                    {(float)n.x, (float)n.y, (float)n.z},
                    {0}};

        memcpy(v.colour, colour.rgba, 4);
        if (!DM_GROW(w->vertices, w->vertex_count, w->vertex_capacity))
            return false;
        w->vertices[w->vertex_count++] = v;
    }
    return true;
}

static bool add_band(work *w, size_t parts)
{
    uint32_t row = (uint32_t)parts + 1;
    uint32_t ahead = (uint32_t)w->vertex_count - row, back = ahead - row, k;
    size_t i;

    for (k = 0; k < parts; k++) {
        const uint32_t quad[6] = {back + k,     back + k + 1,  ahead + k,
                                  back + k + 1, ahead + k + 1, ahead + k};

        for (i = 0; i < 6; i++) {
            if (!DM_GROW(w->indices, w->index_count, w->index_capacity))
                return false;
            w->indices[w->index_count++] = quad[i];
        }
    }
    return true;
}

static bool add_strip(work *w, const column *c, size_t parts, double t0,
                      double t1, int heat_class)
{
    const dm_heat_tube *tube = w->tube;
    dm_rgba colour = dm_heat_colour(heat_class);
    size_t i, n;

    n = dm_tube_stations(tube->line, t0, t1, tube->radius, tube->sagitta, NULL,
                         0);
    while (w->station_capacity < n)
        if (!DM_GROW(w->stations, w->station_capacity, w->station_capacity))
            return false;
    dm_tube_stations(tube->line, t0, t1, tube->radius, tube->sagitta,
                     w->stations, n);
    if (!add_ring(w, c, parts, t0, colour))
        return false;
    for (i = 0; i <= n; i++)
        if (!add_ring(w, c, parts, i < n ? w->stations[i] : t1, colour) ||
            !add_band(w, parts))
            return false;
    return true;
}

static bool add_column(work *w, const column *c)
{
    double width = c->high - c->low, t1;
    size_t i, parts;

    if (width < NARROW)
        return true;
    parts = (size_t)ceil(width * w->tube->sides / TURN - 1e-9);
    if (!find_runs(w, c->profile))
        return false;
    for (i = 0; i < w->run_count; i++) {
        t1 = i + 1 < w->run_count ? w->runs[i + 1].t : w->tube->to;
        if (!add_strip(w, c, parts, w->runs[i].t, t1, w->runs[i].heat_class))
            return false;
    }
    return true;
}

static dm_status copy_out(const work *w, dm_arena *arena, dm_mesh *out)
{
    size_t i;

    memset(out, 0, sizeof *out);
    if (w->vertex_count > UINT32_MAX)
        return DM_NOMEM;
    out->mode = DM_MESH_TRIANGLES;
    out->vertex_count = w->vertex_count;
    out->index_count = w->index_count;
    out->position = dm_arena_alloc(arena, w->vertex_count, 3 * sizeof(float));
    out->normal = dm_arena_alloc(arena, w->vertex_count, 3 * sizeof(float));
    out->colour = dm_arena_alloc(arena, w->vertex_count, 4);
    out->index = DM_NEW_ARRAY(arena, uint32_t, w->index_count);
    if (out->position == NULL || out->normal == NULL || out->colour == NULL ||
        out->index == NULL)
        return DM_NOMEM;
    for (i = 0; i < w->vertex_count; i++) {
        memcpy(out->position + 3 * i, w->vertices[i].position, 12);
        memcpy(out->normal + 3 * i, w->vertices[i].normal, 12);
        memcpy(out->colour + 4 * i, w->vertices[i].colour, 4);
    }
    memcpy(out->index, w->indices, w->index_count * sizeof *out->index);
    return DM_OK;
}

dm_status dm_heat_mesh(const dm_heat_tube *tube, dm_arena *arena, dm_mesh *out)
{
    work w = {0};
    column *columns = calloc(2 * tube->profile_count + 1, sizeof *columns);
    dm_status status = columns == NULL ? DM_NOMEM : DM_OK;
    size_t i, count;

    w.tube = tube;
    if (status == DM_OK) {
        count = cut_columns(tube, columns);
        for (i = 0; i < count && status == DM_OK; i++)
            status = add_column(&w, &columns[i]) ? DM_OK : DM_NOMEM;
    }
    if (status == DM_OK)
        status = copy_out(&w, arena, out);
    free(columns);
    free(w.vertices);
    free(w.indices);
    free(w.runs);
    free(w.stations);
    return status;
}
