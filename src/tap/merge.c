/* SPDX-License-Identifier: MIT
 * Order along the tendon; of two holes too close to each other, along and round
 * the duct, one stays: a request, else the more severe grade. What is to be
 * done must be the same: a drilled hole and a place for the hand tool both
 * stay, and so do the two sides of the duct. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "tap/work.h"

static int by_station(const void *a, const void *b)
{
    const dm_tap *x = a, *y = b;

    if (x->t != y->t)
        return x->t < y->t ? -1 : 1;
    return strcmp(x->id, y->id);
}

static size_t severity(const dm_placer *p, const dm_tap *tap)
{
    size_t grade;

    if (tap->requested)
        return 0;
    grade = p->indications->items[tap->indication].grade;
    return grade == DM_NONE ? DM_NONE : grade + 1;
}

static bool too_close(const dm_placer *p, const dm_tap *a, const dm_tap *b)
{
    double r = 0.5 * dm_tendon_duct(p->model, p->tendon, a->t)->od;
    double near = p->job->settings.tap_merge;

    return a->advice != DM_ADVICE_RESCAN && b->advice == a->advice &&
           fabs(b->t - a->t) < near &&
           r * fabs(dm_wrap(b->clock - a->clock)) < near;
}

/* The kept tap that one is too close to; NULL: none. */
static dm_tap *kept_beside(const dm_placer *p, dm_tap *kept, size_t count,
                           const dm_tap *tap)
{
    for (size_t k = count; k-- > 0;)
        if (too_close(p, &kept[k], tap))
            return &kept[k];
    return NULL;
}

/* Who stays says whom it serves: also those that one which then went served. */
static bool say_served(dm_placer *p)
{
    for (size_t i = 0; i < p->gone_count; i++) {
        dm_tap *by = &p->out->items[p->gone[i].slot];

        p->gone[i].by = by->id;
        by->why = dm_arena_printf(p->arena, "%s; serves %s too", by->why,
                                  p->gone[i].id);
        if (by->why == NULL)
            return false;
    }
    return true;
}

static void sort(dm_taps *taps)
{
    if (taps->count > 0)
        qsort(taps->items, taps->count, sizeof *taps->items, by_station);
}

dm_status dm_taps_merge(dm_placer *p)
{
    dm_taps *taps = p->out;
    size_t kept = 0;

    p->gone = DM_NEW_ARRAY(p->arena, dm_tap_gone, taps->count + 1);
    if (p->gone == NULL)
        return DM_NOMEM;
    sort(taps);
    for (size_t i = 0; i < taps->count; i++) {
        dm_tap *tap = &taps->items[i];
        dm_tap *last = kept_beside(p, taps->items, kept, tap);

        if (last != NULL) {
            bool later = severity(p, tap) < severity(p, last);
            const dm_tap *goes = later ? last : tap;

            p->gone[p->gone_count++] =
                (dm_tap_gone){.id = goes->id,
                              .indication = goes->indication,
                              .slot = (size_t)(last - taps->items)};
            if (later)
                *last = *tap;
            continue;
        }
        taps->items[kept++] = *tap;
    }
    taps->count = kept;
    if (!say_served(p))
        return DM_NOMEM;
    /* One that took an earlier one's slot may lie behind its neighbour. */
    sort(taps);
    for (size_t i = 0; i < kept; i++)
        taps->items[i].tendon_length_rank = i;
    return DM_OK;
}
