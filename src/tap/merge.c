/* SPDX-License-Identifier: MIT
 * Order along the tendon; of two holes too close to each other one stays: a
 * request, else the more severe grade. */
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
    return a->advice != DM_ADVICE_RESCAN && b->advice != DM_ADVICE_RESCAN &&
           b->t - a->t < p->job->settings.tap_merge;
}

dm_status dm_taps_merge(dm_placer *p)
{
    dm_taps *taps = p->out;
    size_t kept = 0;

    if (taps->count > 0)
        qsort(taps->items, taps->count, sizeof *taps->items, by_station);
    for (size_t i = 0; i < taps->count; i++) {
        dm_tap *last = kept > 0 ? &taps->items[kept - 1] : NULL;
        dm_tap *tap = &taps->items[i];

        if (last != NULL && too_close(p, last, tap)) {
            bool later = severity(p, tap) < severity(p, last);
            dm_tap stays = later ? *tap : *last;
            const dm_tap *goes = later ? last : tap;

            stays.why = dm_arena_printf(p->arena, "%s; serves %s too",
                                        stays.why, goes->id);
            if (stays.why == NULL)
                return DM_NOMEM;
            *last = stays;
            continue;
        }
        taps->items[kept++] = *tap;
    }
    taps->count = kept;
    for (size_t i = 0; i < kept; i++)
        taps->items[i].tendon_length_rank = i;
    return DM_OK;
}
