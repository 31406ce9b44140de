/* SPDX-License-Identifier: MIT
 * Sorted run distances walk over pieces and, on the duct, over segments. Where
 * one piece and one segment of constant dt/dl hold, whole portions go through
 * plain loops that compilers turn into vector code. */
#include <math.h>
#include <stdlib.h>

#include "base/arena.h"
#include "ductmark/station.h"
#include "geom/segment.h"

#define BLOCK 32
#define PORTION 512
/* So many readings ahead are worth making a table of a bend. */
#define WORTH_TABLE 256

/* Stations at equal steps of outside length over a bend whose dt/dl varies. */
typedef struct {
    bool tried;
    double step;
    double *t; /* [count]; NULL: not smooth enough, or no memory */
    size_t count;
} bend;

struct dm_walker {
    dm_arena *arena;
    const dm_stretch *stretch;
    const dm_tendon *tendon;
    dm_outside outside;
    bend *bends;  /* of each segment */
    double *rate; /* dt/dl on each segment; 0: not constant */
    double lead;  /* added to l for the electrode */
    size_t piece, segment;
    size_t *faces; /* touchable, by increasing t */
    size_t face_count;
};

/* A bend in a plumb or a level plane has one, and so has a straight length.
 * Seven places decide, to a hundredth of what the inverse promises. */
static double constant_rate(const dm_outside *o, size_t i)
{
    const dm_segment *s = &o->line->segments[i];
    if (s->kappa == 0.0)
        return 1.0;
    double whole = o->begin[i + 1] - o->begin[i];
    for (int k = 1; k < 8; k++) {
        size_t hint = i;
        double l = dm_outside_at(o, s->t0 + s->length * k / 8.0, &hint);
        if (!(fabs(l - o->begin[i] - whole * k / 8.0) < 1e-14 + 1e-15 * l))
            return 0.0;
    }
    return s->length / whole;
}

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
    double *begin = w && !r->outside
                        ? DM_NEW_ARRAY(arena, double, n->line.count + 1)
                        : NULL;
    size_t *faces = w ? DM_NEW_ARRAY(arena, size_t, n->face_count) : NULL;
    double *rate = w ? DM_NEW_ARRAY(arena, double, n->line.count) : NULL;
    bend *bends = w ? DM_NEW_ARRAY(arena, bend, n->line.count) : NULL;
    if ((!begin && !r->outside) || !faces || !rate || !bends) {
        dm_arena_free(arena);
        return DM_NOMEM;
    }
    w->arena = arena;
    w->stretch = &r->stretches[stretch];
    w->tendon = n;
    if (r->outside)
        w->outside = (dm_outside){&n->line, r->radius, book->clock, r->outside};
    else
        dm_outside_prepare(&n->line, r->radius, book->clock, begin,
                           &w->outside);
    w->rate = rate;
    w->bends = bends;
    for (size_t i = 0; i < n->line.count; i++)
        rate[i] = constant_rate(&w->outside, i);
    double dir = r->direction == DM_SIDE_BACK ? -1.0 : 1.0;
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

/* What a batch writes; u and point may be NULL. */
typedef struct {
    double *t, *u;
    dm_vec3 *point;
} record;

/* How many of x[0 .. count), in blocks, lie in [lo, hi) from the first on. */
static size_t count_within(const double *x, size_t count, double lo, double hi)
{
    size_t done = 0;
    while (count - done >= BLOCK) {
        const double *b = x + done;
        int outside = 0;
        for (int k = 0; k < BLOCK; k++)
            outside += (b[k] < lo) | (b[k] >= hi);
        if (outside)
            break;
        done += BLOCK;
    }
    while (done < count && x[done] >= lo && x[done] < hi)
        done++;
    return done;
}

/* t = at + slope (x - x0): one multiplication and one addition each. */
static void fill_stations(const double *restrict x, size_t n, double x0,
                          double at, double slope, double *restrict t)
{
    for (size_t k = 0; k < n; k++)
        t[k] = at + slope * (x[k] - x0);
}

static void fill_u(const double *restrict x, size_t n, double x0,
                   const double *c, double *restrict u)
{
    const double a = c[0], b = c[1], q = c[2];
    for (size_t k = 0; k < n; k++) {
        double dx = x[k] - x0, v = a + dx * (b + dx * q);
        u[k] = sqrt(v > 0.0 ? v : 0.0);
    }
}

static void fill_points(const double *restrict t, size_t n, const dm_segment *s,
                        dm_vec3 *restrict point)
{
    const dm_vec3 p = s->begin, d = s->tangent;
    const double t0 = s->t0;
    for (size_t k = 0; k < n; k++) {
        double into = t[k] - t0;
        point[k].x = p.x + into * d.x;
        point[k].y = p.y + into * d.y;
        point[k].z = p.z + into * d.z;
    }
}

/* Records from i on while one piece and one segment hold, over which l grows
 * with t at a constant rate. Returns the first index not done. */
static size_t along(dm_walker *w, const dm_piece *p, const double *x, size_t i,
                    size_t count, const record *out)
{
    size_t n = w->segment;
    const dm_segment *s = &w->outside.line->segments[n];
    double slope = p->slope * w->rate[n];
    double at = s->t0 + (p->l + w->lead - w->outside.begin[n]) * w->rate[n];
    if (!(fabs(slope) > 0.0))
        return i;
    /* The ends of the line are prolonged where it is straight there. */
    bool open0 = n == 0 && s->kappa == 0.0;
    bool open1 = n + 1 == w->outside.line->count && s->kappa == 0.0;
    double xa = p->x0 + (s->t0 - at) / slope;
    double xb = p->x0 + (s->t0 + s->length - at) / slope;
    double lo = slope > 0.0 ? (open0 ? p->x0 : fmax(p->x0, xa))
                            : (open1 ? p->x0 : fmax(p->x0, xb));
    double hi = slope > 0.0 ? (open1 ? p->x1 : fmin(p->x1, xb))
                            : (open0 ? p->x1 : fmin(p->x1, xa));
    /* In portions that stay in the nearest cache from one loop to the next. */
    while (i < count) {
        size_t most = count - i < PORTION ? count - i : PORTION;
        size_t m = count_within(x + i, most, lo, hi);
        fill_stations(x + i, m, p->x0, at, slope, out->t + i);
        if (out->u)
            fill_u(x + i, m, p->x0, p->world.c, out->u + i);
        if (out->point && s->kappa == 0.0)
            fill_points(out->t + i, m, s, out->point + i);
        for (size_t k = i; out->point && s->kappa != 0.0 && k < i + m; k++)
            out->point[k] = dm_segment_point(s, out->t[k] - s->t0);
        i += m;
        if (m < most)
            break;
    }
    return i;
}

/* Cubic through the four nearest nodes, Newton's form. */
static double bend_at(const bend *b, double past)
{
    double q = past / b->step;
    size_t k = q > 1.0 ? (size_t)q - 1 : 0;
    if (k + 4 > b->count)
        k = b->count - 4;
    const double *y = b->t + k;
    double f = q - (double)k, d1 = y[1] - y[0], d2 = y[2] - y[1] - d1;
    double d3 = y[3] - y[2] - (y[2] - y[1]) - d2;
    return y[0] + f * (d1 + (f - 1.0) / 2.0 * (d2 + (f - 2.0) / 3.0 * d3));
}

/* Steps of 0.005 rad leave 1e-12 m of a bend; half way between the nodes it
 * is looked whether they do. */
static void bend_fill(dm_walker *w, size_t n, bend *b)
{
    const dm_outside *o = &w->outside;
    double begin = o->begin[n], whole = o->begin[n + 1] - begin;
    double angle = o->line->segments[n].length * o->line->segments[n].kappa;
    size_t steps = 4 + (size_t)(angle / 0.005), hint = n;
    double *t = DM_NEW_ARRAY(w->arena, double, steps + 1);
    b->tried = true;
    if (!t)
        return;
    *b = (bend){true, whole / (double)steps, t, steps + 1};
    for (size_t i = 0; i <= steps; i++)
        t[i] = dm_outside_inverse(o, begin + b->step * (double)i, &hint);
    for (size_t i = 0; i < steps; i++) {
        double past = b->step * ((double)i + 0.5);
        if (!(fabs(dm_outside_inverse(o, begin + past, &hint) -
                   bend_at(b, past)) < 1e-12))
            b->t = NULL;
        if (!b->t)
            return;
    }
}

/* Records from i on while one piece and one bend hold. */
static size_t round_bend(dm_walker *w, const dm_piece *p, const double *x,
                         size_t i, size_t count, const record *out)
{
    size_t n = w->segment;
    const dm_segment *s = &w->outside.line->segments[n];
    double begin = w->outside.begin[n];
    double whole = w->outside.begin[n + 1] - begin;
    bend *b = &w->bends[n];
    if (!b->tried && count - i >= WORTH_TABLE)
        bend_fill(w, n, b);
    for (; b->t && i < count && x[i] >= p->x0 && x[i] < p->x1; i++) {
        double dx = x[i] - p->x0;
        double past = p->l + p->slope * dx + w->lead - begin;
        if (!(past >= 0.0 && past < whole))
            break;
        out->t[i] = bend_at(b, past);
        if (out->u)
            out->u[i] = sqrt(form(&p->world, dx));
        if (out->point)
            out->point[i] = dm_segment_point(s, out->t[i] - s->t0);
    }
    return i;
}

static void map(dm_walker *w, const double *x, size_t count, const record *out)
{
    for (size_t i = 0; i < count;) {
        const dm_piece *p = piece_at(w, x[i]);
        double dx = x[i] - p->x0;
        out->t[i] = dm_outside_inverse(
            &w->outside, p->l + p->slope * dx + w->lead, &w->segment);
        if (out->u)
            out->u[i] = sqrt(form(&p->world, dx));
        if (out->point)
            out->point[i] = dm_centreline_point(w->outside.line, out->t[i]);
        i++;
        if (w->rate[w->segment] > 0.0)
            i = along(w, p, x, i, count, out);
        else
            i = round_bend(w, p, x, i, count, out);
    }
}

void dm_walker_map(dm_walker *w, const double *x, size_t count, double *t,
                   double *u)
{
    map(w, x, count, &(record){t, u, NULL});
}

void dm_walker_place(dm_walker *w, const double *x, size_t count, double *t,
                     double *u, dm_vec3 *point)
{
    map(w, x, count, &(record){t, u, point});
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

/* ---- greatest bounds ------------------------------------------------------
 */

/* Between two run distances so many are looked at, then the best is refined. */
#define LOOKS 8
#define REFINEMENTS 24

static double crew_variance(const dm_station_point *p)
{
    return fmin(p->back, p->ahead); /* of one that is NAN: the other */
}

static double world_variance(const dm_station_point *p)
{
    return p->world;
}

/* The variance at x, kept if it is greater than what is kept. */
static double look(dm_walker *w, size_t run, double x,
                   double (*of)(const dm_station_point *p), dm_greatest *best)
{
    dm_station_point p = dm_walker_at(w, x);
    double v = of(&p);
    if (p.reconciled && !isnan(v) && (!best->known || v > of(&best->at)))
        *best = (dm_greatest){true, run, x, p};
    return v;
}

/* A piece's variances are parabolas or, against the better face, the lower of
 * two: between neighbouring looks there is one summit. */
static void look_along(dm_walker *w, size_t run, double x0, double x1,
                       double (*of)(const dm_station_point *p),
                       dm_greatest *best)
{
    double step = (x1 - x0) / LOOKS, top = -1.0, at = x0;
    for (int i = 0; i <= LOOKS; i++) {
        double x = i < LOOKS ? x0 + step * i : x1;
        double v = look(w, run, x, of, best);
        if (v > top) {
            top = v;
            at = x;
        }
    }
    if (!best->known || top < 0.9 * of(&best->at))
        return;
    double low = fmax(at - step, x0), high = fmin(at + step, x1);
    for (int i = 0; i < REFINEMENTS; i++) {
        double a = low + (high - low) / 3.0, b = high - (high - low) / 3.0;
        if (look(w, run, a, of, best) < look(w, run, b, of, best))
            low = a;
        else
            high = b;
    }
}

void dm_walker_greatest(dm_walker *w, size_t run, double x0, double x1,
                        dm_greatest *world, dm_greatest *face)
{
    const dm_stretch *s = w->stretch;
    for (size_t i = 0; i < s->piece_count; i++) {
        const dm_piece *p = &s->pieces[i];
        double a = i == 0 ? x0 : fmax(x0, p->x0);
        double b = i + 1 == s->piece_count ? x1 : fmin(x1, p->x1);
        if (!p->reconciled || !(a <= b))
            continue;
        look_along(w, run, a, b, world_variance, world);
        if (w->face_count > 0)
            look_along(w, run, a, b, crew_variance, face);
    }
}
