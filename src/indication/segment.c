/* SPDX-License-Identifier: MIT
 * What stands out of a strip: hysteresis (enter, leave) on the index smoothed
 * over 0.4 footprint, less the drift. */
#include "indication/signal.h"

#include <math.h>
#include <stdlib.h>

double dm_noise_floor(const dm_noise *noise)
{
    return 4.5 * noise->smooth;
}

bool dm_thresholds_raise(dm_thresholds *band, const dm_noise *noise)
{
    double least = dm_noise_floor(noise);
    bool raised = false;

    if (band->enter < least) {
        band->leave *= least / band->enter;
        band->enter = least;
        raised = true;
    }
    if (-band->soft_enter < least) {
        band->soft_leave *= -least / band->soft_enter;
        band->soft_enter = -least;
        raised = true;
    }
    return raised;
}

static bool append(dm_found_list *list, dm_found f)
{
    if (list->count == list->capacity &&
        !DM_GROW(list->items, list->count, list->capacity))
        return false;
    list->items[list->count++] = f;
    return true;
}

/* First cell from i on at or beyond a threshold of either sign. */
static size_t skip_quiet(const dm_strip *s, size_t i, double level, double sign)
{
    while (i < s->count && sign * (s->smooth[i] - s->base[i]) < level)
        i++;
    return i;
}

static bool find_sign(const dm_strip *s, double w, const dm_noise *noise,
                      const dm_thresholds *band, int sign, double least,
                      dm_found_list *list)
{
    double up = sign > 0 ? 1.0 : -1.0;
    double enter = up > 0.0 ? band->enter : -band->soft_enter;
    double leave = up > 0.0 ? band->leave : -band->soft_leave;

    for (size_t i = skip_quiet(s, 0, leave, up); i < s->count;
         i = skip_quiet(s, i, leave, up)) {
        dm_found f = {.sign = sign, .first = i};
        bool entered = false, at_end;
        double span;

        for (; i < s->count; i++) {
            double v = up * (s->smooth[i] - s->base[i]);

            if (v < leave)
                break;
            entered = entered || v >= enter;
        }
        f.last = i - 1;
        span = s->t[f.last] - s->t[f.first] + s->pitch;
        at_end = f.first == 0 || f.last + 1 == s->count;
        /* Nothing in the duct looks narrower than the footprint: what does
         * is noise. At a strip's end only a part of it may be read. */
        if (!entered || span < (at_end ? 0.25 : 0.5) * w)
            continue;
        dm_found_measure(s, w, noise, band, &f);
        if (f.to.t - f.from.t < least)
            continue;
        if (!append(list, f))
            return false;
    }
    return true;
}

bool dm_strip_find(const dm_strip *s, double w, const dm_noise *noise,
                   const dm_thresholds *band, double least, dm_found_list *list)
{
    if (s->count < 2)
        return true;
    return find_sign(s, w, noise, band, +1, least, list) &&
           find_sign(s, w, noise, band, -1, least, list);
}
