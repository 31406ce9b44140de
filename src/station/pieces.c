/* SPDX-License-Identifier: MIT
 * Between two knots a and b, D of travel apart, the walk is a Brownian bridge:
 * the mean is linear and, with f = dx / D,
 *   v = (1-f)^2 Va + 2 f (1-f) Cab + f^2 Vb + q^2 D f (1-f).
 * Beyond the outermost knots the scale and the walk go on unchecked:
 *   v = Va + 2 dx s Cov(a, k) + (dx s)^2 Vk + q^2 |dx|. */
#include "station/pieces.h"

#include <math.h>

#include "station/dense.h"

/* Left of a leg's first knot pieces reach this far, m: room for rolling
 * back. */
#define BEFORE 1.0

/* What pieces need of a knot. */
typedef struct {
    double x, l;
    double *face; /* [faces] covariance of l with the face shifts */
    double scale; /* covariance with the scale */
    double var;
    double *half; /* [n] C row, for the covariance with another knot */
} joint;

static dm_status make_joint(const station_system *s, const adjusted *a,
                            const path *p, const knot *k, dm_arena *scratch,
                            joint *out)
{
    out->x = k->x;
    out->l = k->nominal;
    out->half = DM_NEW_ARRAY(scratch, double, s->n);
    if (!out->half)
        return DM_NOMEM;
    for (size_t i = 0; i < s->n; i++) {
        double sum = 0.0;
        for (size_t m = 0; m < s->n; m++)
            sum += a->cov[i * s->n + m] * k->row[m];
        out->half[i] = sum;
        out->l += k->row[i] * a->value[i];
    }
    out->face = out->half; /* the faces are the first unknowns */
    out->scale = out->half[p->scale];
    out->var = 0.0;
    for (size_t i = 0; i < s->n; i++)
        out->var += k->row[i] * out->half[i];
    return DM_OK;
}

/* Variance and covariances of two knots, against the world or a face. */
typedef struct {
    double va, vb, cab;
} pair;

static pair against(const station_system *s, const adjusted *a, pair world,
                    const joint *ja, const joint *jb, size_t face)
{
    if (face == DM_NONE)
        return world;
    double f = a->cov[face * s->n + face];
    return (pair){world.va - 2.0 * ja->face[face] + f,
                  world.vb - 2.0 * jb->face[face] + f,
                  world.cab - ja->face[face] - jb->face[face] + f};
}

static dm_quadratic bridge(pair v, double d, double metres, double q2)
{
    double walk = q2 * metres / d; /* per unit of x */
    return (dm_quadratic){{v.va, 2.0 * (v.cab - v.va) / d + walk,
                           (v.va - 2.0 * v.cab + v.vb) / (d * d) - walk / d}};
}

static dm_status between(const station_system *s, const adjusted *a,
                         const path *p, const knot *kb, const joint *ja,
                         const joint *jb, dm_arena *arena, dm_piece *out)
{
    size_t faces = s->tendon->face_count;
    double d = jb->x - ja->x;
    double q = p->instrument->walk, metres = d * p->instrument->scale;
    pair world = {ja->var, jb->var, 0.0};
    for (size_t i = 0; i < s->n; i++)
        world.cab += kb->row[i] * ja->half[i];
    out->x0 = ja->x;
    out->x1 = jb->x;
    out->l = ja->l;
    out->slope = (jb->l - ja->l) / d;
    out->world = bridge(world, d, metres, q * q);
    out->face = DM_NEW_ARRAY(arena, dm_quadratic, faces);
    if (!out->face)
        return DM_NOMEM;
    for (size_t f = 0; f < faces; f++)
        out->face[f] =
            bridge(against(s, a, world, ja, jb, f), d, metres, q * q);
    return DM_OK;
}

/* The open end at a knot: ahead of it (side +1) or before it (side -1). */
static dm_quadratic open_end(double va, double cov_scale, double var_scale,
                             const path *p, double side)
{
    double s = p->instrument->scale, q = p->instrument->walk;
    double b = 2.0 * p->dir * s * cov_scale;
    double c = s * s * var_scale;
    double walk = q * q * s;
    if (side > 0.0)
        return (dm_quadratic){{va, b + walk, c}};
    /* dx = y - BEFORE, y counted from the piece's begin. */
    double slope = b - walk;
    return (dm_quadratic){{va - slope * BEFORE + c * BEFORE * BEFORE,
                           slope - 2.0 * c * BEFORE, c}};
}

static dm_status beyond(const station_system *s, const adjusted *a,
                        const path *p, const joint *j, double side,
                        dm_arena *arena, dm_piece *out)
{
    size_t faces = s->tendon->face_count, n = s->n;
    double var_scale = a->cov[p->scale * n + p->scale];
    double k = a->value[p->scale];
    out->slope = p->dir * p->instrument->scale * (1.0 + k);
    out->x0 = side > 0.0 ? j->x : j->x - BEFORE;
    out->x1 = side > 0.0 ? (double)INFINITY : j->x;
    out->l = side > 0.0 ? j->l : j->l - BEFORE * out->slope;
    out->world = open_end(j->var, j->scale, var_scale, p, side);
    out->face = DM_NEW_ARRAY(arena, dm_quadratic, faces);
    if (!out->face)
        return DM_NOMEM;
    for (size_t f = 0; f < faces; f++) {
        double v = j->var - 2.0 * j->face[f] + a->cov[f * n + f];
        double c = j->scale - a->cov[f * n + p->scale];
        out->face[f] = open_end(v, c, var_scale, p, side);
    }
    return DM_OK;
}

static bool closes(const station_system *s, size_t interval)
{
    return interval == DM_NONE || s->intervals[interval].reconciled;
}

/* Pieces of the leg whose knots are [first, first + count). */
static dm_status leg_pieces(const station_system *s, const adjusted *a,
                            const path *p, size_t first, size_t count,
                            dm_arena *arena, dm_stretch *out)
{
    dm_arena *scratch = dm_arena_new();
    joint *j = scratch ? DM_NEW_ARRAY(scratch, joint, count) : NULL;
    dm_status status = j ? DM_OK : DM_NOMEM;
    for (size_t i = 0; status == DM_OK && i < count; i++)
        status = make_joint(s, a, p, &s->knots[first + i], scratch, &j[i]);
    out->pieces =
        status == DM_OK ? DM_NEW_ARRAY(arena, dm_piece, count + 1) : NULL;
    if (!out->pieces)
        status = DM_NOMEM;
    size_t n = 0;
    if (status == DM_OK) {
        out->pieces[n].reconciled = closes(s, s->knots[first].interval);
        status = beyond(s, a, p, &j[0], -1.0, arena, &out->pieces[n++]);
    }
    for (size_t i = 0; status == DM_OK && i + 1 < count; i++) {
        const knot *ka = &s->knots[first + i], *kb = ka + 1;
        if (kb->x - ka->x < 1e-9)
            continue;
        dm_piece *piece = &out->pieces[n++];
        size_t interval = ka->event < kb->event ? ka->interval : kb->interval;
        piece->reconciled = closes(s, interval);
        if (kb->jump == DM_NONE) {
            status = between(s, a, p, kb, &j[i], &j[i + 1], arena, piece);
            continue;
        }
        /* A jump lies somewhere in between: go on from the near knot. */
        status = beyond(s, a, p, &j[i], 1.0, arena, piece);
        piece->x1 = kb->x;
    }
    if (status == DM_OK) {
        out->pieces[n].reconciled =
            closes(s, s->knots[first + count - 1].interval);
        status = beyond(s, a, p, &j[count - 1], 1.0, arena, &out->pieces[n++]);
    }
    out->piece_count = n;
    dm_arena_free(scratch);
    return status;
}

/* Which leg the readings of event `at` belong to. */
static size_t leg_of_event(const dm_run *run, size_t at)
{
    size_t leg = 0;
    bool begun = false;
    for (size_t i = 0; i < at; i++) {
        dm_event_kind kind = run->events[i].kind;
        begun = begun || kind == DM_EVENT_START || kind == DM_EVENT_TIE;
        if (begun && (kind == DM_EVENT_SKIP || kind == DM_EVENT_REZERO))
            leg++;
    }
    return leg;
}

static dm_status run_pieces(const station_system *s, const adjusted *a,
                            const path *p, dm_arena *arena,
                            dm_run_stations *out)
{
    size_t readings = 0;
    for (size_t i = 0; i < p->event_end; i++)
        readings += p->run->events[i].kind == DM_EVENT_READINGS;
    double k = a->value[p->scale];
    *out = (dm_run_stations){.run = p->index,
                             .radius = s->radius,
                             .scale = p->instrument->scale * (1.0 + k)};
    out->scale_u =
        p->instrument->scale * sqrt(a->cov[p->scale * s->n + p->scale]);
    out->stretches = DM_NEW_ARRAY(arena, dm_stretch, readings);
    if (!out->stretches)
        return DM_NOMEM;
    for (size_t i = 0; i < p->event_end; i++) {
        if (p->run->events[i].kind != DM_EVENT_READINGS)
            continue;
        size_t leg = leg_of_event(p->run, i), first = 0, count = 0;
        for (size_t q = 0; q < p->knot_count; q++)
            if (s->knots[p->first_knot + q].leg == leg) {
                if (count++ == 0)
                    first = p->first_knot + q;
            }
        if (count == 0)
            continue;
        dm_stretch *stretch = &out->stretches[out->stretch_count++];
        stretch->event = i;
        dm_status status = leg_pieces(s, a, p, first, count, arena, stretch);
        if (status != DM_OK)
            return status;
    }
    out->usable = out->stretch_count > 0;
    return DM_OK;
}

dm_status station_pieces(const station_system *s, const adjusted *a,
                         dm_arena *arena, dm_stations *out)
{
    out->runs = DM_NEW_ARRAY(arena, dm_run_stations, s->path_count);
    if (!out->runs)
        return DM_NOMEM;
    for (size_t i = 0; i < s->path_count; i++) {
        dm_status status = run_pieces(s, a, &s->paths[i], arena, &out->runs[i]);
        if (status != DM_OK)
            return status;
    }
    out->run_count = s->path_count;
    return DM_OK;
}
