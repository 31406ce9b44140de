/* SPDX-License-Identifier: MIT
 * Sorted run distances walk over pieces and, on the duct, over segments; on a
 * straight length a station costs a subtraction and two multiplications. */
#include <math.h>
#include <stdlib.h>

#include "base/arena.h"
#include "ductmark/station.h"

struct dm_walker {
    dm_arena *arena;
    const dm_stretch *stretch;
    const dm_tendon *tendon;
    dm_outside outside;
    double lead; /* added to l for the electrode */
    size_t piece, segment;
    size_t *faces; /* touchable, by increasing t */
    size_t face_count;
};

dm_status dm_walker_new(const dm_stations *stations, const dm_model *model,
                        const dm_survey *survey, size_t run, size_t stretch,
                        size_t channel, dm_walker **out)
{
    *out = NULL;
    const dm_run_stations *r = &stations->runs[run];
    const dm_run *book = &survey->runs[r->run];
    const dm_tendon *n = &model->tendons[stations->tendon];
    dm_arena *arena = dm_arena_new();
    dm_walker *w = arena ? DM_NEW(arena, dm_walker) : NULL;
    double *begin = w ? DM_NEW_ARRAY(arena, double, n->line.count + 1) : NULL;
    size_t *faces = w ? DM_NEW_ARRAY(arena, size_t, n->face_count) : NULL;
    if (!begin || !faces) {
        dm_arena_free(arena);
        return DM_NOMEM;
    }
    w->arena = arena;
    w->stretch = &r->stretches[stretch];
    w->tendon = n;
    dm_outside_prepare(&n->line, r->radius, book->clock, begin, &w->outside);
    double dir = book->direction == DM_SIDE_AHEAD ? 1.0 : -1.0;
    w->lead = dir * (double)book->leading *
              survey->instruments[book->instrument].channels[channel].lead;
    w->faces = faces;
    for (size_t i = 0; i < n->face_count; i++)
        if (n->faces[i].touchable)
            faces[w->face_count++] = i;
    *out = w;
    return DM_OK;
}

void dm_walker_free(dm_walker *walker)
{
    if (walker)
        dm_arena_free(walker->arena);
}

static const dm_piece *piece_at(dm_walker *w, double x)
{
    const dm_stretch *s = w->stretch;
    while (w->piece > 0 && x < s->pieces[w->piece].x0)
        w->piece--;
    while (w->piece + 1 < s->piece_count && x >= s->pieces[w->piece].x1)
        w->piece++;
    return &s->pieces[w->piece];
}

static double form(const dm_quadratic *q, double dx)
{
    double v = q->c[0] + dx * (q->c[1] + dx * q->c[2]);
    return v > 0.0 ? v : 0.0;
}

/* Stations from i on while one piece and one straight length hold. Returns
 * the first index not done. */
static size_t straight(dm_walker *w, const dm_piece *p, const dm_segment *s,
                       const double *x, size_t i, size_t count, double *t,
                       double *u)
{
    size_t n = w->segment;
    bool last = n + 1 == w->outside.line->count;
    double lo = n == 0 ? -(double)INFINITY : s->t0;
    double hi = last ? (double)INFINITY : s->t0 + s->length;
    double at0 = s->t0 + (p->l + w->lead - w->outside.begin[n]);
    for (; i < count && x[i] >= p->x0 && x[i] < p->x1; i++) {
        double dx = x[i] - p->x0, here = at0 + p->slope * dx;
        if (!(here >= lo && here < hi))
            break;
        t[i] = here;
        if (u)
            u[i] = sqrt(form(&p->world, dx));
    }
    return i;
}

void dm_walker_map(dm_walker *w, const double *x, size_t count, double *t,
                   double *u)
{
    for (size_t i = 0; i < count;) {
        const dm_piece *p = piece_at(w, x[i]);
        double dx = x[i] - p->x0;
        t[i] = dm_outside_inverse(&w->outside, p->l + p->slope * dx + w->lead,
                                  &w->segment);
        if (u)
            u[i] = sqrt(form(&p->world, dx));
        i++;
        const dm_segment *s = &w->outside.line->segments[w->segment];
        if (s->kappa == 0.0)
            i = straight(w, p, s, x, i, count, t, u);
    }
}

dm_station_point dm_walker_at(dm_walker *w, double x)
{
    const dm_piece *p = piece_at(w, x);
    double dx = x - p->x0;
    dm_station_point out = {
        .t = dm_outside_inverse(&w->outside, p->l + p->slope * dx + w->lead,
                                &w->segment),
        .world = form(&p->world, dx),
        .face_back = DM_NONE,
        .face_ahead = DM_NONE,
        .back = (double)NAN,
        .ahead = (double)NAN,
        .reconciled = p->reconciled};
    for (size_t i = 0; i < w->face_count; i++) {
        size_t f = w->faces[i];
        if (w->tendon->faces[f].t <= out.t) {
            out.face_back = f;
        } else {
            out.face_ahead = f;
            break;
        }
    }
    if (out.face_back != DM_NONE)
        out.back = form(&p->face[out.face_back], dx);
    if (out.face_ahead != DM_NONE)
        out.ahead = form(&p->face[out.face_ahead], dx);
    return out;
}
