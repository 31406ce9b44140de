/* SPDX-License-Identifier: MIT
 * Runs of one clock line against each other, cell by cell. What two good runs
 * may differ by in a cell: the noise of both, and the slope of the index times
 * the uncertainty of both stations relative to the faces. The correlation is
 * Pearson's. Limit: an error of air or reference checks, which shifts a run's
 * index as a whole, is part of the difference and not of what is expected. */
#include <math.h>

#include "geom/clock.h"
#include "quality/work.h"

typedef struct {
    double n, a, b, aa, bb, ab; /* sums over the cells in common */
    double expected;            /* sum of variances */
} sums;

/* Square of the slope of the mean of both, by the neighbours there are. */
static double slope(const quality_line *a, const quality_line *b, size_t i,
                    size_t cells)
{
    size_t lo = i > 0 ? i - 1 : i, hi = i + 1 < cells ? i + 1 : i;
    double low, high;

    if (isnan(a->index[lo] + b->index[lo]))
        lo = i;
    if (isnan(a->index[hi] + b->index[hi]))
        hi = i;
    if (lo == hi)
        return 0.0;
    low = 0.5 * ((double)a->index[lo] + (double)b->index[lo]);
    high = 0.5 * ((double)a->index[hi] + (double)b->index[hi]);
    return (high - low) / (QUALITY_PITCH * (double)(hi - lo));
}

static double expected_var(const quality_line *a, const quality_line *b,
                           size_t i, size_t cells)
{
    double s = slope(a, b, i, cells);

    return (double)a->var[i] + (double)b->var[i] +
           s * s * ((double)a->place[i] + (double)b->place[i]);
}

static sums sum_up(const quality_line *a, const quality_line *b, size_t cells)
{
    sums s = {0};

    for (size_t i = 0; i < cells; i++) {
        double u = (double)a->index[i], v = (double)b->index[i];

        if (isnan(u + v))
            continue;
        s.n += 1.0;
        s.a += u;
        s.b += v;
        s.aa += u * u;
        s.bb += v * v;
        s.ab += u * v;
        s.expected += expected_var(a, b, i, cells);
    }
    return s;
}

/* Mean difference of the cells i - width + 1 .. i, and what it may be: as great
 * as what is called an indication, and beyond what is expected, the cells of a
 * footprint being taken as fully correlated. NAN: not all were read. */
static double window(const quality_line *a, const quality_line *b, size_t i,
                     size_t width, size_t cells, double *limit)
{
    double sum = 0.0, var = 0.0, n = (double)width;

    for (size_t c = i + 1 - width; c <= i; c++) {
        sum += (double)a->index[c] - (double)b->index[c];
        var += expected_var(a, b, c, cells);
    }
    *limit = fmax(fmin(a->band, b->band), DM_AGREE_RATIO * sqrt(var / n));
    return sum / n;
}

/* The footprint on which they differ most, in parts of what they may. */
static void find_worst(const quality_line *a, const quality_line *b,
                       size_t cells, dm_agreement *out)
{
    double least = fmin(a->footprint, b->footprint), worst = 0.0;
    size_t width = (size_t)fmax(1.0, floor(least / QUALITY_PITCH + 0.5));

    for (size_t i = width - 1; i < cells; i++) {
        double limit, mean = window(a, b, i, width, cells, &limit);

        if (!(fabs(mean) > worst * limit))
            continue;
        worst = fabs(mean) / limit;
        out->worst = mean;
        out->worst_limit = limit;
        out->worst_at = QUALITY_PITCH * ((double)i + 1.0 - 0.5 * (double)width);
    }
}

static dm_agreement compare(const quality_line *a, const quality_line *b,
                            size_t cells, bool mirrored)
{
    sums s = sum_up(a, b, cells);
    dm_agreement g = {.a = a->run,
                      .b = b->run,
                      .channel_a = a->channel,
                      .channel_b = b->channel,
                      .mirrored = mirrored,
                      .length = s.n * QUALITY_PITCH,
                      .correlation = (double)NAN,
                      .worst_at = (double)NAN};
    double va, vb;

    if (s.n < 1.0)
        return g;
    va = s.aa / s.n - s.a * s.a / (s.n * s.n);
    vb = s.bb / s.n - s.b * s.b / (s.n * s.n);
    if (va > 0.0 && vb > 0.0)
        g.correlation = (s.ab / s.n - s.a * s.b / (s.n * s.n)) / sqrt(va * vb);
    g.mean = (s.a - s.b) / s.n;
    g.rms = sqrt(fmax(0.0, s.aa + s.bb - 2.0 * s.ab) / s.n);
    g.expected = sqrt(s.expected / s.n);
    find_worst(a, b, cells, &g);
    return g;
}

/* Crown and bottom line are their own mirror images: they are the same. */
static bool is_pair(const quality_line *a, const quality_line *b,
                    bool *mirrored)
{
    *mirrored = !dm_same_line(a->clock, b->clock);
    return !*mirrored || dm_same_line(a->clock, -b->clock);
}

dm_status quality_compare(quality_work *k)
{
    size_t n = k->line_count, pairs = 0;
    bool mirrored;

    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++)
            pairs += is_pair(&k->lines[i], &k->lines[j], &mirrored);
    k->out->pairs = DM_NEW_ARRAY(k->arena, dm_agreement, pairs);
    if (k->out->pairs == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++) {
            const quality_line *a = &k->lines[i], *b = &k->lines[j];
            dm_agreement g;

            if (!is_pair(a, b, &mirrored))
                continue;
            g = compare(a, b, k->cells, mirrored);
            if (g.length >= 5.0 * fmax(a->footprint, b->footprint))
                k->out->pairs[k->out->pair_count++] = g;
        }
    return DM_OK;
}
