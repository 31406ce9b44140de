/* SPDX-License-Identifier: MIT
 * Smoothing and noise of a strip of cells.
 *
 * The noise of a reading is partly white, partly correlated over a good part
 * of a footprint (temperature of the electrode's face, seating). A standard
 * deviation alone would promise too much wherever cells are averaged, so the
 * autocovariance is estimated: variogram g(k) = mean (v[i+k] - v[i])^2 / 2
 * (Matheron), cov(k) = g(sill) - g(k). Limit: correlation beyond about one
 * footprint cannot be told from a drift and is left in the baseline. */
#include "indication/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Pairs looked at per lag: enough for the variogram to 5 %. */
#define PAIRS_PER_LAG 2500

void dm_smooth(const double *v, size_t count, size_t half, double *out)
{
    double sum = 0.0, inverse = 1.0 / (double)(2 * half + 1);
    size_t i = 0, end = half < count ? half : count;

    for (size_t k = 0; k < end; k++)
        sum += v[k];
    for (; i < count && i <= half; i++) { /* the window grows */
        if (i + half < count)
            sum += v[end++];
        out[i] = sum / (double)end;
    }
    for (; i + half < count; i++) {
        sum += v[i + half] - v[i - half - 1];
        out[i] = sum * inverse;
    }
    for (; i < count; i++) { /* and shrinks */
        sum -= v[i - half - 1];
        out[i] = sum / (double)(count - (i - half));
    }
}

static size_t cells(double length, double pitch, size_t least)
{
    double n = floor(length / pitch + 0.5);

    return n > (double)least ? (size_t)n : least;
}

void dm_strip_smooth(dm_strip *strip, double footprint)
{
    size_t half = cells(0.2 * footprint, strip->pitch, 1);

    dm_smooth(strip->index, strip->count, half, strip->smooth);
}

/* Where the noise itself crosses the leaving thresholds, what is left between
 * them would look too quiet: `least` is within which noise must pass. */
static bool quiet(const dm_strip *s, size_t i, const dm_thresholds *band,
                  double least)
{
    return !s->bad[i] && s->smooth[i] < fmax(band->leave, least) &&
           s->smooth[i] > fmin(band->soft_leave, -least);
}

/* Counts quiet cells further than `margin` from anything that is not. */
static size_t mark_quiet(const dm_strip *s, const dm_thresholds *band,
                         double least, size_t margin, unsigned char *mark)
{
    size_t since = margin, kept = 0;

    for (size_t i = 0; i < s->count; i++) {
        since = quiet(s, i, band, least) ? since + 1 : 0;
        mark[i] = since > margin;
    }
    since = margin;
    for (size_t i = s->count; i-- > 0;) {
        since = quiet(s, i, band, least) ? since + 1 : 0;
        mark[i] = mark[i] && since > margin;
        kept += mark[i];
    }
    return kept;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* Scale of neighbouring differences: 1.4826 median |d| / sqrt 2 (normal
 * consistency of the median absolute deviation). */
static double robust_difference(const dm_strip *strips, size_t count,
                                size_t lag)
{
    double sample[400];
    size_t n = 0, total = 0, stride;

    for (size_t s = 0; s < count; s++)
        total += strips[s].count;
    stride = total / 399 + 1;
    for (size_t s = 0; s < count; s++)
        for (size_t i = 0; i + lag < strips[s].count && n < 400; i += stride)
            sample[n++] = fabs(strips[s].index[i + lag] - strips[s].index[i]);
    if (n == 0)
        return 0.0;
    qsort(sample, n, sizeof *sample, by_value);
    return 1.4826 * sample[n / 2] / sqrt(2.0);
}

/* Adds squared differences at one lag; returns the number of pairs. */
static size_t add_lag(const dm_strip *s, const unsigned char *mark, size_t lag,
                      size_t stride, double cut, double *sum)
{
    size_t n = 0;

    for (size_t i = 0; i + lag < s->count; i += stride) {
        double d;

        if (mark != NULL && !(mark[i] && mark[i + lag]))
            continue;
        d = s->index[i + lag] - s->index[i];
        d = d > cut ? cut : d < -cut ? -cut : d;
        *sum += d * d;
        n++;
    }
    return n;
}

static void covariance_from_variogram(const double *g, size_t lags,
                                      size_t sill_from, dm_noise *noise)
{
    double sill = 0.0;

    for (size_t k = sill_from; k <= lags; k++)
        sill += g[k];
    sill /= (double)(lags - sill_from + 1);
    for (size_t k = 1; k < sill_from; k++)
        if (g[k] > sill)
            sill = g[k];
    noise->lags = sill_from;
    noise->cov[0] = sill;
    for (size_t k = 1; k < sill_from; k++)
        noise->cov[k] = sill - g[k];
    noise->sigma = sqrt(sill);
}

/* The variogram is smooth: short lags each, then every second, then third. */
static size_t lag_step(size_t lag)
{
    return lag < 4 ? 1 : lag < 12 ? 2 : 3;
}

/* Sums to g, with the lags that were left out interpolated. Returns the last
 * lag that is known. */
static size_t fill_lags(double *g, const size_t *pairs, size_t lags)
{
    size_t last = 0;

    g[0] = 0.0;
    for (size_t k = 1; k <= lags; k += lag_step(k)) {
        g[k] = pairs[k] > 0 ? 0.5 * g[k] / (double)pairs[k] : g[last];
        for (size_t i = last + 1; i < k; i++)
            g[i] = g[last] +
                   (g[k] - g[last]) * (double)(i - last) / (double)(k - last);
        last = k;
    }
    return last;
}

double dm_noise_mean_var(const dm_noise *noise, size_t n)
{
    double sum = 0.0, count = (double)n;

    if (n == 0)
        return noise->cov[0];
    for (size_t k = 1; k < noise->lags && k < n; k++)
        sum += 2.0 * (double)(n - k) * noise->cov[k];
    return (sum + count * noise->cov[0]) / (count * count);
}

bool dm_noise_estimate(const dm_strip *strips, size_t count, double footprint,
                       const dm_thresholds *band, dm_noise *out)
{
    dm_noise noise = {{0.0}, 1, 0.0, 0.0};
    double g[DM_NOISE_LAGS] = {0.0}, robust, cut, pitch = 0.0;
    size_t pairs[DM_NOISE_LAGS] = {0}, lags, sill, kept = 0, longest = 0;
    unsigned char *mark;

    for (size_t s = 0; s < count; s++) {
        if (strips[s].count > longest)
            longest = strips[s].count;
        pitch = strips[s].count > 1 ? strips[s].pitch : pitch;
    }
    *out = noise;
    if (pitch <= 0.0 || longest < 3)
        return true;
    lags = cells(1.2 * footprint, pitch, 3);
    if (lags > DM_NOISE_LAGS - 1)
        lags = DM_NOISE_LAGS - 1;
    sill = cells(0.9 * footprint, pitch, 2);
    if (sill > lags)
        sill = lags;
    robust = robust_difference(strips, count, sill);
    cut = 6.0 * sqrt(2.0) * robust;
    mark = malloc(longest);
    if (mark == NULL)
        return false;
    for (size_t s = 0; s < count; s++) {
        size_t n = mark_quiet(&strips[s], band, 3.0 * robust,
                              cells(footprint, pitch, 1), mark);
        size_t stride;

        kept += n;
        stride = n * count / PAIRS_PER_LAG + 1;
        for (size_t k = 1; n > 0 && k <= lags; k += lag_step(k))
            pairs[k] += add_lag(&strips[s], mark, k, stride, cut, &g[k]);
    }
    free(mark);
    /* Nothing quiet: the robust scale of neighbours alone, taken as if the
     * noise were fully correlated over half a footprint. */
    if (kept < 2 * lags || pairs[1] < lags) {
        noise.lags = (sill + 1) / 2;
        for (size_t k = 0; k < noise.lags; k++)
            noise.cov[k] = robust * robust;
        noise.sigma = robust;
    } else {
        lags = fill_lags(g, pairs, lags);
        covariance_from_variogram(g, lags, sill < lags ? sill : lags, &noise);
    }
    noise.smooth = sqrt(
        dm_noise_mean_var(&noise, 2 * cells(0.2 * footprint, pitch, 1) + 1));
    *out = noise;
    return true;
}

size_t dm_strip_cell(const dm_strip *strip, double t)
{
    size_t lo = 0, hi = strip->count;

    while (lo < hi) {
        size_t mid = lo + (hi - lo) / 2;

        if (strip->t[mid] < t)
            lo = mid + 1;
        else
            hi = mid;
    }
    return lo;
}

double dm_strip_x(const dm_strip *strip, double t)
{
    size_t i = dm_strip_cell(strip, t);
    double f;

    if (strip->count == 1)
        return strip->x[0];
    if (i == 0)
        i = 1;
    if (i >= strip->count)
        i = strip->count - 1;
    f = (t - strip->t[i - 1]) / (strip->t[i] - strip->t[i - 1]);
    return strip->x[i - 1] + f * (strip->x[i] - strip->x[i - 1]);
}
