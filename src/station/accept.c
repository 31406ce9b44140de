/* SPDX-License-Identifier: MIT
 * Hypotheses that the job accepts become corrections of the field book. */
#include <string.h>

#include "base/diag.h"
#include "station/report.h"
#include "station/search.h"

static void place(correction *c, const dm_interval *v, const dm_accept *a)
{
    c->event_from = v->event_from;
    c->event_to = v->event_to;
    c->x_from = a->x_from;
    c->x_to = a->x_to;
}

bool search_accept(search *w, const station_system *s, dm_hypothesis *all,
                   size_t count)
{
    for (size_t i = 0; i < w->accept_count; i++)
        for (size_t k = 0; k < count && !w->used[i]; k++) {
            dm_hypothesis *h = &all[k];
            if (!station_accepts(s, &w->accepts[i], h))
                continue;
            w->used[i] = h->accepted = true;
            h->who = w->accepts[i].by;
            h->why = w->accepts[i].reason;
            w->corrections[w->correction_count++] =
                (correction){.kind = h->kind,
                             .path = h->run,
                             .interval = h->interval,
                             .event = h->event,
                             .face = h->face,
                             .mirrored = h->mirrored,
                             .length = h->length};
            if (w->accepts[i].x_to > w->accepts[i].x_from)
                place(&w->corrections[w->correction_count - 1],
                      &s->intervals[h->interval], &w->accepts[i]);
            return true;
        }
    return false;
}

dm_status search_unmatched(const search *w, const station_system *s,
                           dm_diag *diag)
{
    size_t tendon = (size_t)(s->tendon - s->model->tendons);
    dm_status status = DM_OK;
    for (size_t i = 0; i < w->accept_count; i++) {
        const dm_accept *a = &w->accepts[i];
        bool here = false;
        for (size_t k = 0; k < s->survey->run_count; k++)
            here = here || (s->survey->runs[k].tendon == tendon &&
                            strcmp(s->survey->runs[k].id, a->run) == 0);
        if (here && !w->used[i])
            status = dm_error(
                diag, DM_REFERENCE, a->place, "accept",
                "no hypothesis %s of run %s fits the data as this line states "
                "it; expected one of the lines that the program prints",
                dm_blunder_text(a->hypothesis), a->run);
    }
    return status;
}
