/* SPDX-License-Identifier: MIT
 * Slow drift of a strip: what temperature and a wearing face do to the index
 * over metres. Where nothing stands out, the median of the smoothed index over
 * WINDOW is the drift, every STEP; in between, and under zones, straight lines
 * between the nearest such places. A median is drawn towards 0 by its noise
 * against DRIFT_SD, and no more than DM_DRIFT_MOST is believed: what is more
 * than the checks of a run would let pass is not taken for drift. Limit: a
 * void much longer than the window whose index stays below the leaving
 * threshold is a drift. */
#include <math.h>
#include <stdlib.h>

#include "indication/signal.h"

#define WINDOW 1.2
#define STEP 0.3
/* Standard deviation expected of a drift, as index. */
#define DRIFT_SD 0.03
/* Cells looked at per window: smoothed over 0.4 footprint, more of them would
 * say the same again. */
#define SAMPLE 31

/* By insertion: few, and called for every 0.3 m. */
static void sort(double *v, size_t n)
{
    for (size_t i = 1; i < n; i++) {
        double x = v[i];
        size_t k = i;

        for (; k > 0 && v[k - 1] > x; k--)
            v[k] = v[k - 1];
        v[k] = x;
    }
}

/* Cells of a zone, and within a footprint of one, are not quiet. */
static void mark_zones(const dm_strip *s, double w, const dm_thresholds *band,
                       unsigned char *zone)
{
    double reach = -HUGE_VAL;

    for (size_t i = 0; i < s->count; i++) {
        double v = s->smooth[i];

        if (v >= band->enter || v <= band->soft_enter || s->bad[i])
            reach = s->t[i] + w;
        zone[i] = s->t[i] <= reach;
    }
    reach = HUGE_VAL;
    for (size_t i = s->count; i-- > 0;) {
        double v = s->smooth[i];

        if (v >= band->enter || v <= band->soft_enter || s->bad[i])
            reach = s->t[i] - w;
        zone[i] = zone[i] || s->t[i] >= reach;
    }
}

/* Drift about station t, at the mean station of what is quiet there; NAN: less
 * than 0.4 of the window is. */
static double drift_at(const dm_strip *s, const unsigned char *zone, double t,
                       double w, const dm_noise *noise, double *at)
{
    size_t from = dm_strip_cell(s, t - 0.5 * WINDOW);
    size_t to = dm_strip_cell(s, t + 0.5 * WINDOW), stride, n = 0;
    double sample[SAMPLE + 1], var, shrink, seen;

    if (to <= from)
        return (double)NAN;
    stride = (to - from) / SAMPLE + 1;
    *at = 0.0;
    for (size_t i = from; i < to; i += stride)
        if (!zone[i]) {
            *at += s->t[i];
            sample[n++] = s->smooth[i];
        }
    seen = (double)(n * stride) * s->pitch;
    if (seen < fmax(0.4 * WINDOW, 2.0 * w))
        return (double)NAN;
    *at /= (double)n;
    sort(sample, n);
    /* A median of normal noise has pi / 2 the variance of a mean. */
    var = 1.5708 * dm_noise_mean_var(noise, (size_t)(seen / s->pitch));
    shrink = DRIFT_SD * DRIFT_SD / (DRIFT_SD * DRIFT_SD + var);
    return fmax(-DM_DRIFT_MOST, fmin(DM_DRIFT_MOST, shrink * sample[n / 2]));
}

/* Fills base[] from cell `from` up to station t by a line from a to b. */
static size_t draw(dm_strip *s, size_t from, double t0, double a, double t1,
                   double b)
{
    double slope = t1 > t0 ? (b - a) / (t1 - t0) : 0.0;
    size_t i = from;

    for (; i < s->count && s->t[i] < t1; i++)
        s->base[i] = a + slope * fmax(0.0, s->t[i] - t0);
    return i;
}

bool dm_strip_drift(dm_strip *s, double w, const dm_noise *noise,
                    const dm_thresholds *band)
{
    unsigned char *zone = calloc(s->count + 1, 1);
    double end = s->count > 0 ? s->t[s->count - 1] : 0.0, t0 = 0.0, last = 0.0;
    size_t done = 0;
    bool any = false;

    if (zone == NULL)
        return false;
    mark_zones(s, w, band, zone);
    for (double t = s->count > 0 ? s->t[0] : HUGE_VAL; t < end + STEP;
         t += STEP) {
        double at = t, d = drift_at(s, zone, t, w, noise, &at);

        if (isnan(d) || (any && at <= t0))
            continue;
        done = draw(s, done, any ? t0 : at, any ? last : d, at, d);
        any = true;
        t0 = at;
        last = d;
    }
    for (; done < s->count; done++)
        s->base[done] = last;
    free(zone);
    return true;
}
