/* SPDX-License-Identifier: MIT
 * Where a sensor's body does not fit between a duct and a mesh.
 *
 * The length asked for is cut into cells: between two sections square to the
 * duct what the body takes up is a prism. Each triangle near a cell is clipped
 * to its prism (Sutherland and Hodgman, Reentrant polygon clipping, 1974); the
 * stations of what is left of it are where the body meets it, and the least
 * height among its corners is what is free there. On a straight length the
 * prism is the body's room itself. On an arc its end planes are, and its sides
 * are those of the section in its middle: cells turn by TURN at most and rise
 * by RISE from their chord, and heights are reckoned anew in the section of
 * each corner. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "context/around.h"

#define OWN 0.02    /* m, as for cuts */
#define LONGEST 0.5 /* m: so that few triangles are near a cell */
#define RISE 1e-5   /* m, of a chord */
#define TURN 5e-3   /* rad */
#define JOIN 1e-3   /* m */
#define TOUCH 1e-9  /* m: a body that touches fits */
/* Of a triangle cut by six planes 9, but where rounding rules: then a plane may
 * double them. */
#define MOST_CORNERS 192

typedef struct {
    const dm_context *context;
    const dm_tendon *tendon;
    dm_context_skip skip;
    double r; /* outside of the duct */
    double height;
    dm_low_clearance *items;
    size_t count, capacity;
    bool failed; /* no memory */
    /* The cell. */
    double from, mid, to;
    double kappa;
    dm_frame frame;      /* at mid */
    dm_vec3 normal;      /* towards the centre of the arc, at mid */
    dm_vec3 out, side;   /* of the clock line */
    double phi, half;    /* clock line, half of the width */
    dm_vec3 begin, end;  /* of the centreline */
    dm_vec3 back, ahead; /* tangents there */
} search;

/* ---- a cell ------------------------------------------------------------ */

/* Point and tangent by the segment of the cell's middle: at a kink the end of
 * one leg is not the begin of the next. */
static void section(const search *s, double t, dm_vec3 *point, dm_vec3 *tangent)
{
    dm_vec3 t0 = s->frame.tangent;
    double angle = s->kappa * (t - s->mid);

    if (!(s->kappa > 0.0)) {
        *tangent = t0;
        *point = dm_vec3_along(s->frame.point, t - s->mid, t0);
        return;
    }
    *tangent = dm_vec3_add(dm_vec3_scale(t0, cos(angle)),
                           dm_vec3_scale(s->normal, sin(angle)));
    *point =
        dm_vec3_along(dm_vec3_along(s->frame.point, sin(angle) / s->kappa, t0),
                      (1.0 - cos(angle)) / s->kappa, s->normal);
}

static void set_cell(search *s, double from, double to)
{
    const dm_centreline *line = &s->tendon->line;
    double mid = 0.5 * (from + to), angle;
    const dm_segment *g = &line->segments[dm_centreline_find(line, mid, 0)];

    s->from = from;
    s->mid = mid;
    s->to = to;
    s->kappa = g->kappa;
    s->frame = dm_centreline_frame(line, mid);
    angle = g->kappa * (mid - g->t0);
    s->normal = dm_vec3_sub(dm_vec3_scale(g->normal, cos(angle)),
                            dm_vec3_scale(g->tangent, sin(angle)));
    section(s, from, &s->begin, &s->back);
    section(s, to, &s->end, &s->ahead);
}

/* ---- a triangle -------------------------------------------------------- */

/* Keeps what lies on the side of the plane that its normal points to; returns
 * the count of corners left. */
static size_t clip(dm_vec3 *p, size_t count, dm_vec3 on, dm_vec3 normal)
{
    dm_vec3 kept[MOST_CORNERS];
    size_t n = 0;

    for (size_t i = 0; i < count; i++) {
        dm_vec3 a = p[i], b = p[(i + 1) % count];
        double da = dm_vec3_dot(dm_vec3_sub(a, on), normal);
        double db = dm_vec3_dot(dm_vec3_sub(b, on), normal);

        if (da >= 0.0)
            kept[n++] = a;
        if ((da > 0.0 && db < 0.0) || (da < 0.0 && db > 0.0))
            kept[n++] = dm_vec3_along(a, da / (da - db), dm_vec3_sub(b, a));
    }
    memcpy(p, kept, n * sizeof *p);
    return n;
}

/* What of a triangle lies in the body's room of this cell. */
static size_t clip_to_room(const search *s, dm_vec3 *p)
{
    dm_vec3 axis = s->frame.point;
    const struct {
        dm_vec3 on, normal;
    } planes[] = {
        {dm_vec3_along(axis, s->r + s->height, s->out),
         dm_vec3_scale(s->out, -1.0)},
        {axis, s->out},
        {dm_vec3_along(axis, s->half, s->side), dm_vec3_scale(s->side, -1.0)},
        {dm_vec3_along(axis, -s->half, s->side), s->side},
        {s->begin, s->back},
        {s->end, dm_vec3_scale(s->ahead, -1.0)},
    };
    size_t n = 3;

    for (size_t i = 0; n > 0 && i < sizeof planes / sizeof *planes; i++)
        n = clip(p, n, planes[i].on, planes[i].normal);
    return n;
}

/* Station of a point of the cell, and its height over the duct's outside. */
static double station_of(const search *s, dm_vec3 p, double *height)
{
    dm_vec3 v = dm_vec3_sub(p, s->frame.point);
    double x = dm_vec3_dot(v, s->frame.tangent), t = s->mid + x;
    dm_frame at;

    if (!(s->kappa > 0.0)) {
        *height = dm_vec3_dot(v, s->out) - s->r;
        return fmin(fmax(t, s->from), s->to);
    }
    t = s->mid +
        atan2(x, 1.0 / s->kappa - dm_vec3_dot(v, s->normal)) / s->kappa;
    t = fmin(fmax(t, s->from), s->to);
    at = dm_centreline_frame(&s->tendon->line, t);
    *height =
        dm_vec3_dot(dm_vec3_sub(p, at.point), dm_frame_direction(&at, s->phi)) -
        s->r;
    return t;
}

static void look(void *user, size_t triangle, const dm_vec3 corner[3])
{
    search *s = user;
    dm_vec3 p[MOST_CORNERS] = {corner[0], corner[1], corner[2]};
    size_t n = clip_to_room(s, p);
    dm_low_clearance low = {HUGE_VAL, -HUGE_VAL, HUGE_VAL, NULL};

    for (size_t i = 0; i < n; i++) {
        double height, t = station_of(s, p[i], &height);

        low.from = fmin(low.from, t);
        low.to = fmax(low.to, t);
        low.free = fmin(low.free, height);
    }
    if (!(low.free < s->height - TOUCH) ||
        !dm_context_counts(s->context, &s->skip, triangle))
        return;
    low.free = fmax(low.free, 0.0);
    low.name = dm_context_name(s->context, triangle);
    if (DM_GROW(s->items, s->count, s->capacity))
        s->items[s->count++] = low;
    else
        s->failed = true;
}

/* ---- a length ---------------------------------------------------------- */

static void look_round(search *s, const dm_body *body)
{
    double tall = s->r + s->height;
    double along = 0.5 * (s->to - s->from) * (1.0 + tall * s->kappa);

    for (size_t i = 0; i < body->line_count; i++) {
        double radius;

        s->phi = body->clock[i];
        s->half = 0.5 * body->width[i];
        s->out = dm_frame_direction(&s->frame, s->phi);
        s->side = dm_vec3_cross(s->frame.tangent, s->out);
        radius = sqrt(along * along + 0.25 * tall * tall + s->half * s->half);
        dm_context_around(s->context,
                          dm_vec3_along(s->frame.point, 0.5 * tall, s->out),
                          radius, look, s);
    }
}

/* How far a cell that begins at t may go: within a segment and a duct. */
static double cell_end(const dm_tendon *n, double t, double to)
{
    size_t i = dm_centreline_find(&n->line, t, 0);
    const dm_segment *g = &n->line.segments[i];
    double step = LONGEST;

    if (g->kappa > 0.0)
        step =
            fmin(LONGEST, fmin(sqrt(8.0 * RISE / g->kappa), TURN / g->kappa));
    if (i + 1 < n->line.count)
        to = fmin(to, n->line.segments[i + 1].t0);
    for (size_t k = 0; k < n->duct_count; k++)
        if (n->ducts[k].from > t)
            to = fmin(to, n->ducts[k].from);
    return fmin(to, t + step);
}

static int by_station(const void *a, const void *b)
{
    const dm_low_clearance *x = a, *y = b;

    if (x->from != y->from)
        return x->from < y->from ? -1 : 1;
    if (x->to != y->to)
        return x->to < y->to ? -1 : 1;
    if (x->free != y->free)
        return x->free < y->free ? -1 : 1;
    return strcmp(x->name, y->name);
}

static void join(search *s)
{
    size_t kept = 0;

    if (s->count > 0)
        qsort(s->items, s->count, sizeof *s->items, by_station);
    for (size_t i = 0; i < s->count; i++) {
        const dm_low_clearance *x = &s->items[i];
        dm_low_clearance *last = kept > 0 ? &s->items[kept - 1] : NULL;

        if (last == NULL || x->from > last->to + JOIN) {
            s->items[kept++] = *x;
            continue;
        }
        last->to = fmax(last->to, x->to);
        if (x->free < last->free) {
            last->free = x->free;
            last->name = x->name;
        }
    }
    s->count = kept;
}

dm_status dm_context_low(const dm_context *context, const dm_model *model,
                         size_t tendon, const dm_body *body, double from,
                         double to, dm_low_clearance **items, size_t *count)
{
    search s = {.context = context,
                .tendon = &model->tendons[tendon],
                .height = body->height};

    *items = NULL;
    *count = 0;
    for (double t = from; context != NULL && t < to && !s.failed;) {
        double next = cell_end(s.tendon, t, to);

        s.r = 0.5 * dm_tendon_duct(model, s.tendon, 0.5 * (t + next))->od;
        s.skip = (dm_context_skip){&s.tendon->line, s.r + OWN};
        set_cell(&s, t, next);
        look_round(&s, body);
        t = next;
    }
    if (s.failed) {
        free(s.items);
        return DM_NOMEM;
    }
    join(&s);
    *items = s.items;
    *count = s.count;
    return DM_OK;
}
