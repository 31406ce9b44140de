/* SPDX-License-Identifier: MIT
 * The way that a crew walks. A cell is walked once, from its back to its ahead
 * end, past all of its tendons: the index and the labels are by cell and then
 * by how far along the bridge a tap is. A sheet is of one tendon; sheets follow
 * in the order in which their tendons are come to. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "write/sheet.h"

static void plan_point(const dm_model *m, dm_vec3 at, double out[2])
{
    out[0] = at.x * m->direction.x + at.y * m->direction.y;
    out[1] = at.y * m->direction.x - at.x * m->direction.y;
}

/* Corners of the polygon are enough at the scale of a key plan. */
static dm_status make_traces(const dm_model *m, dm_arena *arena,
                             dm_sheet_tour *t)
{
    t->traces = DM_NEW_ARRAY(arena, dm_sheet_trace, m->tendon_count);
    if (t->traces == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < m->tendon_count; i++) {
        const dm_tendon *n = &m->tendons[i];
        dm_sheet_trace *r = &t->traces[i];

        r->count = n->support_count;
        r->xy = DM_NEW_ARRAY(arena, double, 2 * r->count);
        if (r->xy == NULL)
            return DM_NOMEM;
        for (size_t k = 0; k < r->count; k++) {
            double *at = &r->xy[2 * k];

            plan_point(m, dm_centreline_point(&n->line, n->supports[k].t), at);
            if (i == 0 && k == 0) {
                memcpy(t->low, at, sizeof t->low);
                memcpy(t->high, at, sizeof t->high);
            }
            t->low[0] = fmin(t->low[0], at[0]);
            t->low[1] = fmin(t->low[1], at[1]);
            t->high[0] = fmax(t->high[0], at[0]);
            t->high[1] = fmax(t->high[1], at[1]);
        }
    }
    return DM_OK;
}

/* What is walked through in one go: the nearest cell that holds a tendon's
 * part, which a crew does not leave from span to span; else the outermost part.
 */
static size_t walk_of(const dm_model *m, size_t part)
{
    size_t at = part;

    while (at < m->part_count && strcmp(m->parts[at].kind, "cell") != 0) {
        part = at;
        at = m->parts[at].parent;
    }
    return at < m->part_count ? at : part;
}

/* Without an alignment along the bridge's direction. */
static double along(const dm_model *m, const dm_bridge_place *place,
                    dm_vec3 axis)
{
    double at[2];

    plan_point(m, axis, at);
    return place->known ? place->station : at[0];
}

/* Without a part: last. */
static int compare_stops(const void *a, const void *b)
{
    const dm_sheet_stop *x = a, *y = b;

    if (x->part != y->part)
        return x->part < y->part ? -1 : 1;
    if (x->along < y->along || x->along > y->along)
        return x->along < y->along ? -1 : 1;
    if (x->tendon != y->tendon)
        return x->tendon < y->tendon ? -1 : 1;
    return x->item < y->item ? -1 : x->item > y->item;
}

static size_t taps_of(const dm_delivery *d, size_t tendon)
{
    return d->results == NULL || d->results[tendon].taps == NULL
               ? 0
               : d->results[tendon].taps->count;
}

static dm_status make_stops(const dm_delivery *d, dm_arena *arena,
                            dm_sheet_tour *t)
{
    const dm_model *m = d->model;
    size_t taps = 0;

    for (size_t i = 0; i < m->tendon_count; i++)
        taps += taps_of(d, i);
    t->stops = DM_NEW_ARRAY(arena, dm_sheet_stop, taps);
    t->page = DM_NEW_ARRAY(arena, size_t *, m->tendon_count);
    if (t->stops == NULL || t->page == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < m->tendon_count; i++) {
        t->page[i] = DM_NEW_ARRAY(arena, size_t, taps_of(d, i));
        if (t->page[i] == NULL)
            return DM_NOMEM;
        for (size_t k = 0; k < taps_of(d, i); k++) {
            const dm_tap *tap = &d->results[i].taps->items[k];

            t->stops[t->stop_count++] =
                (dm_sheet_stop){i, k, walk_of(m, m->tendons[i].part),
                                along(m, &tap->bridge, tap->axis)};
        }
    }
    if (taps > 0)
        qsort(t->stops, taps, sizeof *t->stops, compare_stops);
    return DM_OK;
}

static const dm_indications *found_of(const dm_delivery *d, size_t tendon)
{
    return d->results == NULL ? NULL : d->results[tendon].indications;
}

static dm_status make_opened(const dm_delivery *d, dm_arena *arena,
                             dm_sheet_tour *t)
{
    const dm_model *m = d->model;
    size_t count = 0;

    for (size_t i = 0; i < m->tendon_count; i++)
        count += found_of(d, i) != NULL ? found_of(d, i)->opening_count : 0;
    t->opened = DM_NEW_ARRAY(arena, dm_sheet_stop, count);
    if (t->opened == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < m->tendon_count; i++) {
        const dm_indications *found = found_of(d, i);

        for (size_t k = 0; found != NULL && k < found->opening_count; k++) {
            const dm_as_found *o = &found->openings[k];

            t->opened[t->opened_count++] =
                (dm_sheet_stop){i, k, walk_of(m, m->tendons[i].part),
                                along(m, &o->bridge, o->axis)};
        }
    }
    if (count > 0)
        qsort(t->opened, count, sizeof *t->opened, compare_stops);
    return DM_OK;
}

static dm_status make_tendons(const dm_model *m, dm_arena *arena,
                              dm_sheet_tour *t)
{
    bool *met = DM_NEW_ARRAY(arena, bool, m->tendon_count);

    t->tendons = DM_NEW_ARRAY(arena, size_t, m->tendon_count);
    if (t->tendons == NULL || met == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < t->stop_count; i++) {
        size_t tendon = t->stops[i].tendon;

        if (!met[tendon])
            t->tendons[t->tendon_count++] = tendon;
        met[tendon] = true;
    }
    return DM_OK;
}

dm_status dm_sheet_tour_make(const dm_delivery *delivery, dm_arena *arena,
                             dm_sheet_tour *tour)
{
    dm_status status = make_traces(delivery->model, arena, tour);

    if (status == DM_OK)
        status = make_stops(delivery, arena, tour);
    if (status == DM_OK)
        status = make_opened(delivery, arena, tour);
    if (status == DM_OK)
        status = make_tendons(delivery->model, arena, tour);
    return status;
}
