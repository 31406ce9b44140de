/* SPDX-License-Identifier: MIT
 * Between two knots a and b, D of travel apart, the walk is a Brownian bridge:
 * the mean is linear and, with f = dx / D,
 *   v = (1-f)^2 Va + 2 f (1-f) Cab + f^2 Vb + q^2 D f (1-f).
 * Beyond the outermost knots the scale and the walk go on unchecked:
 *   v = Va + 2 dx s Cov(a, k) + (dx s)^2 Vk + q^2 |dx|. */
#include "station/pieces.h"

#include <math.h>
#include <string.h>

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
    double *row;  /* [n] */
    double *half; /* [n] C row, for the covariance with another knot */
} joint;

/* Knot k as it stands after the jumps before event `frame`. */
static dm_status make_joint(const station_system *s, const adjusted *a,
                            const path *p, const knot *k, size_t frame,
                            dm_arena *scratch, joint *out)
{
    out->x = k->x;
    out->l = k->nominal;
    out->row = DM_NEW_ARRAY(scratch, double, s->n);
    out->half = DM_NEW_ARRAY(scratch, double, s->n);
    if (!out->half || !out->row)
        return DM_NOMEM;
    memcpy(out->row, k->row, s->n * sizeof *out->row);
    station_frame(s, p, frame, out->row);
    for (size_t i = 0; i < s->n; i++) {
        double sum = 0.0;
        for (size_t m = 0; m < s->n; m++)
            sum += a->cov[i * s->n + m] * out->row[m];
        out->half[i] = sum;
        out->l += out->row[i] * a->value[i];
    }
    out->face = out->half; /* the faces are the first unknowns */
    out->scale = out->half[p->scale];
    out->var = 0.0;
    for (size_t i = 0; i < s->n; i++)
        out->var += out->row[i] * out->half[i];
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
                         const path *p, const joint *ja, const joint *jb,
                         dm_arena *arena, dm_piece *out)
{
    size_t faces = s->tendon->face_count;
    double d = jb->x - ja->x;
    double q = p->instrument->walk, metres = d * p->instrument->scale;
    pair world = {ja->var, jb->var, 0.0};
    for (size_t i = 0; i < s->n; i++)
        world.cab += jb->row[i] * ja->half[i];
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

/* What intervals say of a piece. */
typedef struct {
    size_t frame;    /* event: the jumps before it have happened */
    bool reconciled; /* all intervals that cover it close */
} verdict;

static bool covers(const station_system *s, size_t interval, size_t leg,
                   double x0, double x1)
{
    size_t tie = s->interval_tie[interval];
    const knot *a = &s->knots[s->tie_knot[tie - 1]];
    const knot *b = &s->knots[s->tie_knot[tie]];
    if (leg < a->leg || leg > b->leg)
        return false;
    if (a->leg == b->leg)
        return x0 >= fmin(a->x, b->x) && x1 <= fmax(a->x, b->x);
    return (leg > a->leg || x0 >= a->x) && (leg < b->leg || x1 <= b->x);
}

/* Of several intervals over one x, after a roll-back, the last decides where
 * it is. Where none is, behind the last tie, all jumps have happened. */
static verdict judge(const station_system *s, const path *p, size_t leg,
                     double x0, double x1)
{
    verdict v = {p->event_end, true};
    for (size_t i = 0; i < s->interval_count; i++)
        if (&s->paths[s->intervals[i].run] == p && covers(s, i, leg, x0, x1)) {
            v.frame = s->intervals[i].event_from;
            v.reconciled = v.reconciled && s->intervals[i].reconciled;
        }
    return v;
}

/* Before a leg's first knot: what goes for the knot's own place. */
static verdict judge_before(const station_system *s, const path *p,
                            const knot *k)
{
    for (size_t i = 0; i < s->interval_count; i++)
        if (&s->paths[s->intervals[i].run] == p &&
            covers(s, i, k->leg, k->x, k->x))
            return (verdict){s->intervals[i].event_from,
                             s->intervals[i].reconciled};
    return (verdict){p->event_end, true};
}

static dm_status end_piece(const station_system *s, const adjusted *a,
                           const path *p, const knot *k, double side,
                           dm_arena *arena, dm_arena *scratch, dm_piece *out)
{
    joint j;
    verdict v = side < 0.0 ? judge_before(s, p, k)
                           : judge(s, p, k->leg, k->x, (double)INFINITY);
    dm_status status = make_joint(s, a, p, k, v.frame, scratch, &j);
    out->reconciled = v.reconciled;
    return status == DM_OK ? beyond(s, a, p, &j, side, arena, out) : status;
}

static dm_status inner_piece(const station_system *s, const adjusted *a,
                             const path *p, const knot *k, dm_arena *arena,
                             dm_arena *scratch, dm_piece *out)
{
    joint j[2];
    verdict v = judge(s, p, k->leg, k[0].x, k[1].x);
    dm_status status = make_joint(s, a, p, &k[0], v.frame, scratch, &j[0]);
    if (status == DM_OK)
        status = make_joint(s, a, p, &k[1], v.frame, scratch, &j[1]);
    out->reconciled = v.reconciled;
    return status == DM_OK ? between(s, a, p, &j[0], &j[1], arena, out)
                           : status;
}

/* Pieces of the leg whose knots are k[0 .. count). */
static dm_status leg_pieces(const station_system *s, const adjusted *a,
                            const path *p, const knot *k, size_t count,
                            dm_arena *arena, dm_stretch *out)
{
    dm_arena *scratch = dm_arena_new();
    out->pieces = scratch ? DM_NEW_ARRAY(arena, dm_piece, count + 1) : NULL;
    dm_status status = out->pieces ? DM_OK : DM_NOMEM;
    size_t n = 0;
    if (status == DM_OK)
        status =
            end_piece(s, a, p, &k[0], -1.0, arena, scratch, &out->pieces[n++]);
    for (size_t i = 0; status == DM_OK && i + 1 < count; i++)
        if (k[i + 1].x - k[i].x >= 1e-9)
            status =
                inner_piece(s, a, p, &k[i], arena, scratch, &out->pieces[n++]);
    if (status == DM_OK)
        status = end_piece(s, a, p, &k[count - 1], 1.0, arena, scratch,
                           &out->pieces[n++]);
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
        dm_status status =
            leg_pieces(s, a, p, &s->knots[first], count, arena, stretch);
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
