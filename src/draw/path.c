/* SPDX-License-Identifier: MIT
 * Hatching by the scan-line rule: turned so that the lines are level, each
 * line is cut with all edges and filled between odd and even crossings. A
 * pattern of real lines looks the same in every format and needs no pattern
 * that a printer turns into a raster. */
#include "draw/path.h"

#include <math.h>
#include <stdlib.h>

#include "base/arena.h"

#define PI 3.14159265358979323846
#define CHORD 0.01
#define MOST_LINES 4000

void dm_path_free(dm_path *path)
{
    free(path->steps);
    *path = (dm_path){0};
}

void dm_path_clear(dm_path *path)
{
    path->count = 0;
}

static void add(dm_path *path, dm_step_kind kind, double x, double y)
{
    if (path->failed || !DM_GROW(path->steps, path->count, path->capacity)) {
        path->failed = true;
        return;
    }
    path->steps[path->count++] = (dm_path_step){kind, x, y};
}

void dm_path_move(dm_path *path, double x, double y)
{
    add(path, DM_STEP_MOVE, x, y);
}

void dm_path_line(dm_path *path, double x, double y)
{
    bool begun =
        path->count > 0 && path->steps[path->count - 1].kind != DM_STEP_CLOSE;

    add(path, begun ? DM_STEP_LINE : DM_STEP_MOVE, x, y);
}

void dm_path_close(dm_path *path)
{
    add(path, DM_STEP_CLOSE, 0.0, 0.0);
}

void dm_path_rect(dm_path *path, double x, double y, double width,
                  double height)
{
    dm_path_move(path, x, y);
    dm_path_line(path, x + width, y);
    dm_path_line(path, x + width, y + height);
    dm_path_line(path, x, y + height);
    dm_path_close(path);
}

void dm_path_arc(dm_path *path, double x, double y, double r, double a,
                 double b)
{
    double chord = r > CHORD ? 2.0 * acos(1.0 - CHORD / r) : 1.0;
    size_t n = (size_t)fmin(ceil(fabs(b - a) / chord), 720.0), i;

    n = n < 1 ? 1 : n;
    for (i = 0; i <= n; i++) {
        double at = a + (b - a) * (double)i / (double)n;

        dm_path_line(path, x + r * cos(at), y + r * sin(at));
    }
}

void dm_path_circle(dm_path *path, double x, double y, double r)
{
    if (path->count > 0 && path->steps[path->count - 1].kind != DM_STEP_CLOSE)
        dm_path_close(path);
    dm_path_arc(path, x, y, r, 0.0, 2.0 * PI);
    dm_path_close(path);
}

/* ---- hatching --------------------------------------------------------- */

typedef struct {
    double c, s; /* of the angle */
    double step;
    double *cut; /* heap */
    size_t count, capacity;
    bool failed;
} scan;

typedef struct {
    double u0, v0, u1, v1;
} edge;

/* Calls `use` with each edge of the area, in the turned system. */
static void each_edge(const dm_path *area, scan *w,
                      void (*use)(scan *, const edge *, void *), void *user)
{
    double u = 0.0, v = 0.0, first_u = 0.0, first_v = 0.0;
    size_t i;

    for (i = 0; i <= area->count; i++) {
        const dm_path_step *p = i < area->count ? &area->steps[i] : NULL;
        bool line = p != NULL && p->kind == DM_STEP_LINE;
        double to_u = line ? p->x * w->c + p->y * w->s : first_u;
        double to_v = line ? p->y * w->c - p->x * w->s : first_v;
        edge e = {u, v, to_u, to_v};

        if (i > 0)
            use(w, &e, user);
        u = to_u;
        v = to_v;
        if (p != NULL && p->kind == DM_STEP_MOVE) {
            u = first_u = p->x * w->c + p->y * w->s;
            v = first_v = p->y * w->c - p->x * w->s;
        }
    }
}

static void widen(scan *w, const edge *e, void *user)
{
    double *range = user;

    (void)w;
    range[0] = fmin(range[0], fmin(e->v0, e->v1));
    range[1] = fmax(range[1], fmax(e->v0, e->v1));
}

static void cut(scan *w, const edge *e, void *user)
{
    double v = *(const double *)user;

    if ((e->v0 <= v) == (e->v1 <= v) || w->failed)
        return;
    if (!DM_GROW(w->cut, w->count, w->capacity)) {
        w->failed = true;
        return;
    }
    w->cut[w->count++] =
        e->u0 + (e->u1 - e->u0) * (v - e->v0) / (e->v1 - e->v0);
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

void dm_path_hatch(const dm_path *area, double angle, double step,
                   dm_path *lines)
{
    scan w = {.c = cos(angle), .s = sin(angle), .step = step};
    double range[2] = {HUGE_VAL, -HUGE_VAL}, first, last, k;
    size_t i;

    each_edge(area, &w, widen, range);
    first = ceil(range[0] / step);
    last = floor(range[1] / step);
    if (!(last - first < (double)MOST_LINES))
        return;
    for (k = first; k <= last && !w.failed; k += 1.0) {
        double v = k * step;

        w.count = 0;
        each_edge(area, &w, cut, &v);
        if (w.count > 1)
            qsort(w.cut, w.count, sizeof *w.cut, by_value);
        for (i = 0; i + 1 < w.count; i += 2) {
            if (w.cut[i + 1] - w.cut[i] < 0.02)
                continue;
            dm_path_move(lines, w.cut[i] * w.c - v * w.s,
                         w.cut[i] * w.s + v * w.c);
            dm_path_line(lines, w.cut[i + 1] * w.c - v * w.s,
                         w.cut[i + 1] * w.s + v * w.c);
        }
    }
    lines->failed = lines->failed || w.failed;
    free(w.cut);
}
