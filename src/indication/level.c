/* SPDX-License-Identifier: MIT
 * Levels of a zone: its plateau, the index beside it, and its index length.
 *
 * The blur takes from the plateau of a zone no longer than about two and a half
 * footprints. What it takes is reckoned for a normal kernel of standard
 * deviation 0.32 footprint, which stands between a boxcar of the footprint's
 * width (0.29) and a raised cosine of that width at half height (0.36); the
 * difference is left in the bounds (edge.c). */
#include <math.h>
#include <stdlib.h>

#include "indication/edge.h"

/* Spread of the baseline about the drift of the run. */
#define BASE_SD 0.03
#define KERNEL_SD 0.32
/* Standard deviation of a run's gain, after its checks: common practice. */
#define GAIN_SD 0.02

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* 80th percentile of the smoothed index between cells (at most 128 looked
 * at). */
static double upper_smooth(const dm_view *v, size_t first, size_t last)
{
    double sample[128];
    size_t n = 0, stride = (last - first) / 128 + 1;

    for (size_t i = first; i <= last; i += stride)
        sample[n++] = v->sign * v->strip->smooth[i];
    qsort(sample, n, sizeof *sample, by_value);
    return sample[(size_t)(0.8 * (double)(n - 1) + 0.5)];
}

/* Half of the length about the middle that shows the plateau. */
static double inner_half(double length, double w)
{
    return fmax(0.5 * length - 0.5 * w, 0.15 * w);
}

dm_level dm_level_plateau(const dm_view *v, double from, double to)
{
    const dm_strip *s = v->strip;
    double mid = 0.5 * (from + to), half = inner_half(to - from, v->w);
    double top, least, sum = 0.0;
    size_t first = dm_strip_cell(s, mid - half);
    size_t last = dm_strip_cell(s, mid + half), n = 0;

    if (last >= s->count)
        last = s->count - 1;
    if (first > last)
        first = last;
    top = upper_smooth(v, first, last);
    least = top - fmax(0.25 * fabs(top), 3.0 * v->noise->smooth);
    for (size_t i = first; i <= last; i++)
        if (v->sign * s->smooth[i] >= least && !s->bad[i]) {
            sum += v->sign * s->index[i];
            n++;
        }
    if (n == 0)
        return (dm_level){top, v->noise->cov[0]};
    return (dm_level){sum / (double)n, dm_noise_mean_var(v->noise, n)};
}

double dm_level_kept(double length, double w)
{
    double half = inner_half(length, w), scale = sqrt(2.0) * KERNEL_SD * w;
    double sum = 0.0;

    /* Mean over the inner part, by the midpoint rule. */
    for (int i = 0; i < 8; i++) {
        double d = half * (i + 0.5) / 8.0;

        sum += 0.5 * (erf((0.5 * length - d) / scale) +
                      erf((0.5 * length + d) / scale));
    }
    return sum / 8.0;
}

dm_level dm_level_base(const dm_view *v, double edge, int side)
{
    const dm_strip *s = v->strip;
    double near = edge + side * 1.25 * v->w, far = edge + side * 3.25 * v->w;
    double sum = 0.0, var, shrink, drift = 0.0;
    size_t i = dm_strip_cell(s, edge), n = 0;

    if (i < s->count)
        drift = v->sign * s->base[i];
    i = dm_strip_cell(s, fmin(near, far));
    for (; i < s->count && s->t[i] <= fmax(near, far); i++)
        if (!s->bad[i] && fabs(s->smooth[i] - s->base[i]) < v->leave) {
            sum += v->sign * s->index[i] - drift;
            n++;
        }
    if ((double)n * s->pitch < 0.5 * v->w)
        return (dm_level){drift, BASE_SD * BASE_SD};
    var = dm_noise_mean_var(v->noise, n);
    shrink = BASE_SD * BASE_SD / (BASE_SD * BASE_SD + var);
    return (dm_level){drift + shrink * sum / (double)n, shrink * var};
}

dm_level dm_level_sum(const dm_view *v, double from, double to, dm_level base)
{
    const dm_strip *s = v->strip;
    size_t first = dm_strip_cell(s, from - v->w), n = 0;
    double sum = 0.0, length, var;

    for (size_t i = first; i < s->count && s->t[i] <= to + v->w; i++, n++)
        sum += v->sign * s->index[i] - base.value;
    sum *= s->pitch;
    length = (double)n * s->pitch;
    var = dm_noise_mean_var(v->noise, n) + base.var;
    return (dm_level){sum,
                      length * length * var + GAIN_SD * GAIN_SD * sum * sum};
}
