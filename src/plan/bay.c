/* SPDX-License-Identifier: MIT
 * Bays: what is readable of a tendon, between the readable ends of two supports
 * and without steel ducts; and how each length is reached. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plan/work.h"

#define LEAST 1e-9 /* m; what is shorter is rounding */
#define DEGREE (3.14159265358979323846 / 180.0)

/* ---- access ------------------------------------------------------------- */

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

dm_status work_access(tendon_work *w)
{
    const dm_tendon *n = w->tendon;
    double length = n->line.length;
    size_t most = 2 * n->access_count + 2, count = 0;
    double *cut = calloc(most, sizeof *cut);
    w->access = calloc(most, sizeof *w->access);
    w->access_count = 0;
    if (!cut || !w->access) {
        free(cut);
        return DM_NOMEM;
    }
    cut[count++] = 0.0;
    cut[count++] = length;
    for (size_t i = 0; i < n->access_count; i++) {
        cut[count++] = fmin(fmax(n->access[i].from, 0.0), length);
        cut[count++] = fmin(fmax(n->access[i].to, 0.0), length);
    }
    qsort(cut, count, sizeof *cut, by_value);
    for (size_t i = 0; i + 1 < count; i++) {
        if (cut[i + 1] - cut[i] <= 0.0)
            continue;
        dm_access class =
            dm_tendon_access(w->model, n, 0.5 * (cut[i] + cut[i + 1]));
        access_piece *last =
            w->access_count > 0 ? &w->access[w->access_count - 1] : NULL;
        if (last && last->access == class)
            last->to = cut[i + 1];
        else
            w->access[w->access_count++] =
                (access_piece){cut[i], cut[i + 1], class};
    }
    free(cut);
    return DM_OK;
}

/* ---- bays --------------------------------------------------------------- */

static size_t face_of(const dm_tendon *n, size_t support, dm_side side)
{
    for (size_t i = 0; i < n->face_count; i++)
        if (n->faces[i].support == support && n->faces[i].side == side)
            return i;
    return DM_NONE;
}

/* Free length behind that support: between faces; without one the support. */
static void free_ends(const dm_tendon *n, size_t support, double *from,
                      double *to)
{
    size_t back = face_of(n, support, DM_SIDE_AHEAD);
    size_t ahead = face_of(n, support + 1, DM_SIDE_BACK);
    *from = back == DM_NONE ? n->supports[support].t : n->faces[back].t;
    *to = ahead == DM_NONE ? n->supports[support + 1].t : n->faces[ahead].t;
}

double work_free_length(const dm_tendon *n)
{
    double sum = 0.0, from, to;
    for (size_t i = 0; i + 1 < n->support_count; i++) {
        free_ends(n, i, &from, &to);
        sum += to - from;
    }
    return sum;
}

size_t work_bays_most(const dm_tendon *n)
{
    return n->support_count + n->duct_count;
}

static dm_bay make_bay(const tendon_work *w, size_t support, double from,
                       double to, double slope)
{
    const dm_centreline *line = &w->tendon->line;
    dm_vec3 way = dm_vec3_sub(dm_centreline_point(line, to),
                              dm_centreline_point(line, from));
    double flat = hypot(way.x, way.y);
    dm_bay b = {.tendon = w->index,
                .support = support,
                .from = from,
                .to = to,
                .face_back = face_of(w->tendon, support, DM_SIDE_AHEAD),
                .face_ahead = face_of(w->tendon, support + 1, DM_SIDE_BACK),
                .slope = atan2(fabs(way.z), flat),
                .upper = way.z < 0.0 ? DM_SIDE_BACK : DM_SIDE_AHEAD};
    /* A level bay is none, even where every slope counts. */
    b.sloped = fabs(way.z) > LEAST && b.slope >= slope * DEGREE;
    return b;
}

/* Keeps the bay from..to, unless it is nothing. */
static void keep(const tendon_work *w, size_t support, double from, double to,
                 double slope, dm_bay *bays, size_t *count)
{
    if (to - from <= LEAST)
        return;
    bays[*count] = make_bay(w, support, from, to, slope);
    bays[*count].number = *count + 1;
    (*count)++;
}

static bool is_steel(const tendon_work *w, const dm_duct_length *duct)
{
    const char *material = w->model->duct_types[duct->duct_type].material;
    return strcmp(material, "steel") == 0;
}

void work_bays(const tendon_work *w, double slope, dm_bay *bays, size_t *count)
{
    const dm_tendon *n = w->tendon;
    *count = 0;
    for (size_t i = 0; i + 1 < n->support_count; i++) {
        double begin, end;
        free_ends(n, i, &begin, &end);
        /* Duct that could be read inside the concrete is out of reach. */
        begin = fmax(begin, n->supports[i].readable_ahead);
        end = fmin(end, n->supports[i + 1].readable_back);
        double from = begin, to = begin;
        for (size_t d = 0; d < n->duct_count; d++) {
            double last = fmin(end, n->ducts[d].to);
            if (last <= fmax(begin, n->ducts[d].from))
                continue;
            if (is_steel(w, &n->ducts[d])) {
                keep(w, i, from, to, slope, bays, count);
                from = last;
            }
            to = last;
        }
        keep(w, i, from, to, slope, bays, count);
    }
}
