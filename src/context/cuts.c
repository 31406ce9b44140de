/* SPDX-License-Identifier: MIT
 * Where a duct runs through a surface. Distance to a mesh changes by no more
 * than the way along the centreline, so that the march steps by what is surely
 * free, STEP at least. Triangles that lie wholly within OWN of the duct are
 * taken for that duct. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "ductmark/context.h"

#define STEP 0.005 /* m */
#define LOOK 2.0   /* m: how far a step may be */
#define OWN 0.02   /* m */

typedef struct {
    const dm_context *context;
    const dm_model *model;
    const dm_tendon *tendon;
    dm_cut *items;
    size_t count, capacity;
} march;

/* The end of what hides t, m; t itself where it is seen. */
static double hidden_to(const dm_tendon *n, double t)
{
    for (size_t i = 0; i < n->support_count; i++) {
        double back = n->supports[i].readable_back;
        double ahead = n->supports[i].readable_ahead;

        if ((isnan(back) || t >= back) && (isnan(ahead) || t < ahead))
            return isnan(ahead) ? n->line.length : ahead;
    }
    for (size_t i = 0; i < n->fixture_count; i++)
        if (t >= n->fixtures[i].from && t < n->fixtures[i].to)
            return n->fixtures[i].to;
    return t;
}

/* Where the duct gets thicker or thinner next after t, m: what is free of the
 * one need not be of the other. */
static double same_to(const dm_tendon *n, double t)
{
    double to = n->line.length;

    for (size_t i = 0; i < n->duct_count; i++)
        if (n->ducts[i].from > t)
            to = fmin(to, n->ducts[i].from);
    return to;
}

/* False: no memory. */
static bool add(march *m, double t, const dm_context_hit *hit)
{
    dm_cut *last = m->count > 0 ? &m->items[m->count - 1] : NULL;

    if (last != NULL && t - last->to < 1.5 * STEP &&
        strcmp(last->name, hit->name) == 0) {
        last->to = t;
        last->least = fmin(last->least, hit->distance);
        return true;
    }
    if (!DM_GROW(m->items, m->count, m->capacity))
        return false;
    m->items[m->count++] = (dm_cut){t, t, hit->distance, hit->name};
    return true;
}

static bool walk(march *m)
{
    const dm_tendon *n = m->tendon;
    double t = 0.0;

    while (t < n->line.length) {
        double seen = hidden_to(n, t);
        double r = 0.5 * dm_tendon_duct(m->model, n, t)->od;
        dm_context_skip skip = {&n->line, r + OWN};
        dm_vec3 p = dm_centreline_point(&n->line, t);
        double most = fmax(same_to(n, t) - t, STEP);
        dm_context_hit hit;

        if (seen > t) {
            t = seen;
            continue;
        }
        if (!dm_context_near(m->context, p, p, r + LOOK, &skip, &hit)) {
            t += fmin(LOOK, most);
            continue;
        }
        if (hit.distance < r && !add(m, t, &hit))
            return false;
        t += fmin(fmax(STEP, hit.distance - r), most);
    }
    return true;
}

dm_status dm_context_cuts(const dm_context *context, const dm_model *model,
                          size_t tendon, dm_cut **items, size_t *count)
{
    march m = {context, model, &model->tendons[tendon], NULL, 0, 0};

    *items = NULL;
    *count = 0;
    if (context == NULL)
        return DM_OK;
    if (!walk(&m)) {
        free(m.items);
        return DM_NOMEM;
    }
    *items = m.items;
    *count = m.count;
    return DM_OK;
}
