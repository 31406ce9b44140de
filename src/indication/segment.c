/* SPDX-License-Identifier: MIT
 * What stands out of a strip: lift-offs first, then hysteresis.
 *
 * A lift-off looks like air. What tells it: the sensor's own blur does not
 * act on it, so it rises and falls within a fraction of the footprint, while
 * nothing in the duct can look narrower than the footprint at half height or
 * rise faster than over the footprint (unless it is itself much shorter).
 * Hysteresis (enter, leave) runs on the index smoothed over 0.4 footprint.
 * Limit: a lift-off longer than the footprint is not told from a void. */
#include "indication/signal.h"

#include <math.h>
#include <stdlib.h>

static double mean_between(const dm_strip *s, double from, double to)
{
    double sum = 0.0;
    size_t n = 0;

    for (size_t i = dm_strip_cell(s, from); i < s->count && s->t[i] <= to;
         i++) {
        sum += s->index[i];
        n++;
    }
    return n > 0 ? sum / (double)n : (double)NAN;
}

/* Share of the peak that is gained between 0.15 footprint before and after
 * the flank at t. 1: a jump; 0.8: a rise over 0.3 footprint; at most 0.6: a
 * zone of half a footprint through any kernel no narrower than 0.6 footprint
 * at half height; 0.3: an abrupt end seen through the footprint. */
static double sharpness(const dm_strip *s, double t, int side, double w,
                        double peak)
{
    double in = mean_between(s, side < 0 ? t + 0.05 * w : t - 0.25 * w,
                             side < 0 ? t + 0.25 * w : t - 0.05 * w);
    double out = mean_between(s, side < 0 ? t - 0.25 * w : t + 0.05 * w,
                              side < 0 ? t - 0.05 * w : t + 0.25 * w);

    return (in - out) / peak;
}

static bool looks_lifted(const dm_strip *s, double a, double b, double peak,
                         double w)
{
    double width = b - a, left, right;

    if (width > 0.85 * w)
        return false;
    if (width < 0.45 * w)
        return true;
    left = sharpness(s, a, -1, w, peak);
    right = sharpness(s, b, +1, w, peak);
    return isfinite(left) && isfinite(right) && left + right > 1.44 &&
           left > 0.5 && right > 0.5;
}

/* Replaces cells first..last by a line between the means of the neighbouring
 * 0.3 footprint on both sides. */
static void bridge(dm_strip *s, size_t first, size_t last, double w)
{
    double a = first > 0
                   ? mean_between(s, s->t[first] - 0.3 * w, s->t[first - 1])
                   : (double)NAN;
    double b = last + 1 < s->count
                   ? mean_between(s, s->t[last + 1], s->t[last] + 0.3 * w)
                   : (double)NAN;
    double span = s->t[last] - s->t[first] + s->pitch;

    if (isnan(a))
        a = isnan(b) ? 0.0 : b;
    if (isnan(b))
        b = a;
    for (size_t i = first; i <= last; i++) {
        double f = (s->t[i] - s->t[first] + 0.5 * s->pitch) / span;

        s->index[i] = a + f * (b - a);
        s->bad[i] = 1;
    }
}

/* Station where `v` falls through `height` going from cell i by `step`. */
static double fall(const dm_strip *s, const double *v, size_t i, int step,
                   double height, size_t *cell)
{
    while (v[i] > height) {
        if (step < 0 ? i == 0 : i + 1 == s->count) {
            *cell = i;
            return s->t[i] + step * s->pitch;
        }
        i = step < 0 ? i - 1 : i + 1;
    }
    *cell = i;
    {
        size_t in = step < 0 ? i + 1 : i - 1;
        double f = (v[in] - height) / (v[in] - v[i]);

        return s->t[in] + f * (s->t[i] - s->t[in]);
    }
}

bool dm_strip_liftoffs(dm_strip *s, double w, const dm_noise *noise,
                       const dm_thresholds *band, size_t *found)
{
    size_t half = (size_t)fmax(1.0, floor(0.1 * w / s->pitch));
    double fine = sqrt(dm_noise_mean_var(noise, 2 * half + 1));
    double enter = fmax(band->enter, 4.5 * fine);
    double *v = malloc((s->count + 1) * sizeof *v);

    *found = 0;
    if (v == NULL)
        return false;
    dm_smooth(s->index, s->count, half, v);
    for (size_t i = 0; i < s->count; i++) {
        size_t top = i, left, right;
        double a, b;

        if (v[i] < enter)
            continue;
        /* Climb to this zone's peak. */
        for (size_t k = i; k < s->count && v[k] > 0.5 * v[top]; k++)
            if (v[k] > v[top])
                top = k;
        a = fall(s, v, top, -1, 0.5 * v[top], &left);
        b = fall(s, v, top, +1, 0.5 * v[top], &right);
        if (left > 0 && right + 1 < s->count &&
            looks_lifted(s, a, b, v[top], w)) {
            size_t first = dm_strip_cell(s, a - 0.2 * w);
            size_t last = dm_strip_cell(s, b + 0.2 * w);

            bridge(s, first, last >= s->count ? s->count - 1 : last, w);
            ++*found;
        }
        i = right > i ? right : i;
    }
    free(v);
    if (*found > 0)
        dm_strip_smooth(s, w);
    return true;
}

bool dm_strips_clean(dm_strip *strips, size_t count, double w,
                     const dm_thresholds *band, dm_noise *noise)
{
    size_t lifted = 0, one;

    if (!dm_noise_estimate(strips, count, w, band, noise))
        return false;
    for (size_t i = 0; i < count; i++) {
        if (!dm_strip_liftoffs(&strips[i], w, noise, band, &one))
            return false;
        lifted += one;
    }
    return lifted == 0 || dm_noise_estimate(strips, count, w, band, noise);
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
    const double *v = s->smooth;

    while (i < s->count && sign * v[i] < level)
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

        for (; i < s->count && up * s->smooth[i] >= leave; i++)
            entered = entered || up * s->smooth[i] >= enter;
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
