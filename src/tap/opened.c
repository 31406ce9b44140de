/* SPDX-License-Identifier: MIT
 * Which taps were opened: by the tap's id, or by place, within tap_merge along
 * and round the duct: a hole is one whatever id was written down with it. Of
 * several openings the latest. */
#include <math.h>
#include <string.h>

#include "tap/work.h"

static bool is_opening_of(const dm_placer *p, const dm_tap *tap,
                          const dm_opening *o)
{
    double r = 0.5 * dm_tendon_duct(p->model, p->tendon, tap->t)->od;
    double near = p->job->settings.tap_merge;

    if (o->tap != NULL && strcmp(o->tap, tap->id) == 0)
        return fabs(o->t - tap->t) <= 1.0;
    return fabs(o->t - tap->t) <= near &&
           r * fabs(dm_wrap(o->clock - tap->clock)) <= near;
}

void dm_tap_opened(const dm_placer *p, dm_tap *tap)
{
    const dm_indications *in = p->indications;

    tap->opened = DM_NONE;
    for (size_t i = 0; i < in->opening_count; i++)
        if (is_opening_of(p, tap, &in->openings[i].what) &&
            (tap->opened == DM_NONE ||
             strcmp(in->openings[i].what.date,
                    in->openings[tap->opened].what.date) > 0))
            tap->opened = i;
}
