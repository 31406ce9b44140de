/* SPDX-License-Identifier: MIT
 * Lift-offs, told by their shape.
 *
 * A lift-off looks like air. What tells it: the sensor's own blur does not
 * act on it, so it rises and falls within a fraction of the footprint, on both
 * sides, however long it is. An abrupt end in the duct gains at most half of
 * its height between 0.15 footprint before and after half height, through any
 * kernel no narrower than 0.6 footprint at half height; a zone shorter than
 * the footprint gains up to 0.68 of its peak, and none looks narrower than 0.6
 * footprint (computed for raised cosines, normal and boxcar).
 * Limits: a lift-off of one slow flank, and one inside a void that it rises
 * above by less than the void's own height, are not told. */
#include "indication/signal.h"

#include <math.h>
#include <stdlib.h>

/* Share of both flanks' heights between what a jump gains, 0.94 to 1, and an
 * abrupt end, up to 0.5, or a short zone, up to 0.68. */
#define GAIN_LEAST 0.74
#define GAIN_EACH 0.5
/* What an end gains at most, and by how many standard deviations of the noise
 * a longer lift-off must gain more: a void is not to be lost. */
#define GAIN_EDGE 0.5
#define CERTAIN 3.3

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

/* Between the distances near and far, in footprints, from t towards `step`. */
static double beside(const dm_strip *s, double t, int step, double near,
                     double far, double w)
{
    double a = t + step * near * w, b = t + step * far * w;

    return mean_between(s, fmin(a, b), fmax(a, b));
}

/* What the flank at t gains within 0.3 footprint. */
static double gain(const dm_strip *s, double t, int inwards, double w)
{
    return beside(s, t, inwards, 0.05, 0.25, w) -
           beside(s, t, -inwards, 0.05, 0.25, w);
}

/* Standard deviation of both gains in the noise. */
static double gains_sd(const dm_strip *s, const dm_noise *noise, double w)
{
    size_t n = (size_t)fmax(1.0, floor(0.2 * w / s->pitch + 0.5));
    size_t lag = (size_t)(0.3 * w / s->pitch + 0.5);
    double var = dm_noise_mean_var(noise, n);

    var -= lag < noise->lags ? noise->cov[lag] : 0.0;
    return 2.0 * sqrt(fmax(var, 0.0));
}

static bool looks_lifted(const dm_strip *s, double a, double b, double w,
                         double sd)
{
    double width = b - a, inset = fmin(0.25 * width, 0.25 * w);
    double base, height, left, right, least;

    if (width < 0.45 * w)
        return true;
    base =
        0.5 * (beside(s, a, -1, 0.25, 0.7, w) + beside(s, b, +1, 0.25, 0.7, w));
    if (isnan(base))
        return false;
    height = mean_between(s, a + inset, b - inset) - base;
    left = gain(s, a, +1, w);
    right = gain(s, b, -1, w);
    least = 2.0 * GAIN_LEAST * height;
    if (width > 1.25 * w)
        least = fmax(least, 2.0 * GAIN_EDGE * height + CERTAIN * sd);
    return left + right > least && fmin(left, right) > GAIN_EACH * height;
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
    size_t in;
    double f;

    while (v[i] > height) {
        if (step < 0 ? i == 0 : i + 1 == s->count) {
            *cell = i;
            return s->t[i] + step * s->pitch;
        }
        i = step < 0 ? i - 1 : i + 1;
    }
    *cell = i;
    in = step < 0 ? i + 1 : i - 1;
    f = (v[in] - height) / (v[in] - v[i]);
    return s->t[in] + f * (s->t[i] - s->t[in]);
}

/* Highest cell of the zone that begins at i; a lower one ends it. */
static size_t top_of(const dm_strip *s, const double *v, size_t i)
{
    size_t top = i;

    for (size_t k = i; k < s->count && v[k] > 0.5 * v[top]; k++)
        if (v[k] > v[top])
            top = k;
    return top;
}

bool dm_strip_liftoffs(dm_strip *s, double w, const dm_noise *noise,
                       const dm_thresholds *band, size_t *found)
{
    size_t half = (size_t)fmax(1.0, floor(0.1 * w / s->pitch));
    double fine = sqrt(dm_noise_mean_var(noise, 2 * half + 1));
    double enter = fmax(band->enter, 4.5 * fine);
    double *v = malloc((s->count + 1) * sizeof *v);

    double sd = gains_sd(s, noise, w);

    *found = 0;
    if (v == NULL)
        return false;
    dm_smooth(s->index, s->count, half, v);
    for (size_t i = 0; i < s->count; i++) {
        size_t top, left, right;
        double a, b;

        if (v[i] < enter)
            continue;
        top = top_of(s, v, i);
        a = fall(s, v, top, -1, 0.5 * v[top], &left);
        b = fall(s, v, top, +1, 0.5 * v[top], &right);
        if (left > 0 && right + 1 < s->count && looks_lifted(s, a, b, w, sd)) {
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
    if (lifted > 0 && !dm_noise_estimate(strips, count, w, band, noise))
        return false;
    for (size_t i = 0; i < count; i++)
        if (!dm_strip_drift(&strips[i], w, noise, band))
            return false;
    return true;
}
