/* SPDX-License-Identifier: MIT
 * Plateau and half-height edges of a zone.
 *
 * A sensor of footprint w shows the index blurred by a symmetric kernel of
 * width w. Half height of the blurred index then stands where half height of
 * the unblurred one does, as long as the zone is no shorter than w; the rise
 * takes w at an abrupt end, w plus the taper at a tapered one. The crossing is
 * read from a least-squares line over 0.8 w about it, iterated until the
 * window is centred, so that an odd-symmetric rise (any symmetric kernel)
 * leaves no bias. Its variance: that of the line's middle, of half the
 * plateau and of half the baseline, in coloured noise, over slope squared,
 * and pitch^2 / 12 for the sampling. Limit: a taper is only known by the
 * length of the rise; what it exceeds the footprint by widens the bound. */
#include "indication/signal.h"

#include <math.h>
#include <stdlib.h>

/* Spread of the baseline that drift within a run is expected to cause. */
#define BASE_SD 0.03
/* Noise and slope are estimates themselves: found by simulation. */
#define NOISE_OF_NOISE 1.06

typedef struct {
    const dm_strip *strip;
    const dm_noise *noise;
    double w; /* footprint, m */
    double sign;
    double leave; /* absolute */
} view;

typedef struct {
    double value, var;
} level;

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* 80th percentile of the smoothed index between cells (at most 128 looked
 * at). */
static double upper_smooth(const view *v, size_t first, size_t last)
{
    double sample[128];
    size_t n = 0, stride = (last - first) / 128 + 1;

    for (size_t i = first; i <= last; i += stride)
        sample[n++] = v->sign * v->strip->smooth[i];
    qsort(sample, n, sizeof *sample, by_value);
    return sample[(size_t)(0.8 * (double)(n - 1) + 0.5)];
}

/* Mean of the cells of the inner part that belong to its upper level: a
 * tapered or stepped zone keeps its highest part, a flat one every cell. */
static level plateau_between(const view *v, double from, double to)
{
    const dm_strip *s = v->strip;
    double mid = 0.5 * (from + to), half = 0.5 * (to - from) - 0.5 * v->w;
    double top, least, sum = 0.0;
    size_t first, last, n = 0;

    if (half < 0.15 * v->w)
        half = 0.15 * v->w;
    first = dm_strip_cell(s, mid - half);
    last = dm_strip_cell(s, mid + half);
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
        return (level){top, v->noise->cov[0]};
    return (level){sum / (double)n, dm_noise_mean_var(v->noise, n)};
}

/* Index beside the zone, drawn towards the run's slow drift. */
static level baseline(const view *v, double edge, int side)
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
        return (level){drift, BASE_SD * BASE_SD};
    var = dm_noise_mean_var(v->noise, n);
    shrink = BASE_SD * BASE_SD / (BASE_SD * BASE_SD + var);
    return (level){drift + shrink * sum / (double)n, shrink * var};
}

/* Station where the smoothed index crosses `height`, from cell `start` in
 * direction `step` (towards the inside); the strip's end when it begins
 * above. */
static double first_crossing(const view *v, size_t start, size_t stop, int step,
                             double height)
{
    const dm_strip *s = v->strip;
    size_t i = start;

    while (v->sign * s->smooth[i] < height && i != stop)
        i = step > 0 ? i + 1 : i - 1;
    if (i == start || i == stop)
        return s->t[i];
    {
        size_t before = step > 0 ? i - 1 : i + 1;
        double a = v->sign * s->smooth[before], b = v->sign * s->smooth[i];
        double f = b > a ? (height - a) / (b - a) : 0.5;

        return s->t[before] + f * (s->t[i] - s->t[before]);
    }
}

typedef struct {
    double mean_t, mean_v, slope;
    size_t n;
} line;

static line fit_line(const view *v, double from, double to)
{
    const dm_strip *s = v->strip;
    double st = 0.0, sv = 0.0, stt = 0.0, stv = 0.0;
    size_t n = 0, i = dm_strip_cell(s, from);

    for (size_t k = i; k < s->count && s->t[k] <= to; k++) {
        if (s->bad[k])
            continue;
        st += s->t[k] - from;
        sv += v->sign * s->index[k];
        n++;
    }
    if (n < 3)
        return (line){0.0, 0.0, 0.0, 0};
    st /= (double)n;
    sv /= (double)n;
    for (size_t k = i; k < s->count && s->t[k] <= to; k++) {
        double d = s->t[k] - from - st;

        if (s->bad[k])
            continue;
        stt += d * d;
        stv += d * (v->sign * s->index[k] - sv);
    }
    return (line){from + st, sv, stt > 0.0 ? stv / stt : 0.0, n};
}

/* Refines one edge from a first guess. `side` -1: the edge `from`. */
static dm_edge refine(const view *v, double guess, int side, level top,
                      level base)
{
    double height = 0.5 * (top.value + base.value);
    double rise = top.value - base.value, reach = 0.4 * v->w;
    double at = guess, slope = 0.0, var, steepest = 1.15 * rise / v->w;
    size_t n = 0;
    dm_edge edge = {guess, 0.0, 0.0, (double)NAN, false};

    for (int round = 0; round < 6; round++) {
        line l = fit_line(v, at - reach, at + reach);
        double step;

        n = l.n;
        slope = -side * l.slope; /* positive towards the inside */
        if (n < 3 || slope < 0.2 * rise / v->w)
            break;
        step = l.mean_t - side * (height - l.mean_v) / slope - at;
        step = fmax(-0.3 * v->w, fmin(0.3 * v->w, step));
        /* No further than a footprint from where the smoothed index says. */
        at = fmax(guess - v->w, fmin(guess + v->w, at + step));
        if (fabs(step) < 1e-4 * v->w)
            break;
    }
    if (n < 3 || slope < 0.2 * rise / v->w) {
        at = guess;
        slope = 0.2 * rise / v->w;
        n = n < 3 ? 3 : n;
    }
    edge.t = at;
    edge.rise = rise / slope;
    slope = fmin(slope, steepest);
    var = dm_noise_mean_var(v->noise, n) + 0.25 * (top.var + base.var);
    edge.u = NOISE_OF_NOISE * sqrt(var) / slope;
    {
        double taper = fmax(0.0, edge.rise - 1.2 * v->w);
        double pitch = v->strip->pitch;

        edge.u = sqrt(edge.u * edge.u + pitch * pitch / 12.0 +
                      0.0625 * taper * taper);
    }
    return edge;
}

/* Unread length begins within half a footprint and a cell of the edge. */
static bool touches_end(const view *v, double t, int side)
{
    const dm_strip *s = v->strip;
    double reach = 0.5 * v->w + s->pitch;

    if (side < 0 ? t - s->t[0] <= reach : s->t[s->count - 1] - t <= reach)
        return true;
    for (size_t i = dm_strip_cell(s, t - s->pitch);
         i < s->count && s->t[i] <= t + s->pitch; i++)
        if (s->bad[i])
            return true;
    return false;
}

static dm_edge locate(const view *v, const dm_found *f, int side, level top)
{
    const dm_strip *s = v->strip;
    size_t start = side < 0 ? f->first : f->last;
    size_t stop = side < 0 ? f->last : f->first;
    double outer = s->t[start], guess;
    level base = baseline(v, outer, side);
    dm_edge edge;

    /* Begin outside the zone, so that the crossing lies between cells. */
    if (side < 0 && start > 0)
        start--;
    if (side > 0 && start + 1 < s->count)
        start++;
    guess =
        first_crossing(v, start, stop, -side, 0.5 * (top.value + base.value));
    /* A zone whose end part is much lower than its plateau (a wedge) ends by
     * its own level there: that part is above the band too. */
    if (fabs(guess - outer) > 2.0 * v->w) {
        double inner = outer - side * 2.5 * v->w;

        top = plateau_between(v, fmin(outer, inner), fmax(outer, inner));
        guess = first_crossing(v, start, stop, -side,
                               0.5 * (top.value + base.value));
    }
    edge = refine(v, guess, side, top, base);
    edge.open = touches_end(v, edge.t, side);
    if (edge.open) {
        /* What is known: it reaches the last reading. */
        if (touches_end(v, side < 0 ? s->t[f->first] : s->t[f->last], side))
            edge.t = side < 0 ? fmin(edge.t, s->t[f->first])
                              : fmax(edge.t, s->t[f->last]);
        edge.u = s->pitch;
        edge.rise = (double)NAN;
    }
    return edge;
}

/* The kernel's shape is not known, only its width. One with long tails takes
 * from the plateau of a short zone, whose edges then look too far apart: by
 * 0.04 footprint at a length of 1.5 footprints for a raised cosine (found by
 * simulation), half of which is taken as standard uncertainty. */
static void widen_for_shape(dm_found *f, double w)
{
    double lack = fmin(1.25, fmax(0.0, 2.5 - (f->to.t - f->from.t) / w));

    if (f->from.open || f->to.open) {
        /* Too little was read of it to see its plateau. */
        double least = f->to.t - f->from.t < 0.75 * w ? 0.25 * w : 0.0;

        f->from.u = fmax(f->from.u, least);
        f->to.u = fmax(f->to.u, least);
        return;
    }
    f->from.u = hypot(f->from.u, 0.02 * w * lack);
    f->to.u = hypot(f->to.u, 0.02 * w * lack);
}

void dm_found_measure(const dm_strip *strip, double footprint,
                      const dm_noise *noise, const dm_thresholds *band,
                      dm_found *f)
{
    view v = {strip, noise, footprint, f->sign,
              f->sign > 0 ? band->leave : -band->soft_leave};
    double from = strip->t[f->first], to = strip->t[f->last];
    level top = {0.0, 0.0};

    for (int round = 0; round < 3; round++) {
        if (to < from)
            to = from;
        top = plateau_between(&v, from, to);
        f->from = locate(&v, f, -1, top);
        f->to = locate(&v, f, +1, top);
        from = f->from.t;
        to = f->to.t;
        /* Noise crossed the two. */
        if (to - from < 0.3 * footprint && !f->from.open && !f->to.open) {
            double mid = 0.5 * (from + to);

            from = mid - 0.5 * footprint;
            to = mid + 0.5 * footprint;
            f->from.t = from;
            f->to.t = to;
        }
    }
    f->plateau = f->sign * top.value;
    f->plateau_u = sqrt(top.var);
    f->base = 0.0;
    widen_for_shape(f, footprint);
    /* In doubt it is called short: a bound that holds beats a length. */
    f->shorter = !f->from.open && !f->to.open &&
                 to - from < 1.3 * footprint + hypot(f->from.u, f->to.u);
    if (f->shorter) {
        /* Half height of a blurred short zone stands at the footprint's
         * width, outside the true ends; noise must not bring it inside. */
        f->from.t -= 2.0 * f->from.u;
        f->to.t += 2.0 * f->to.u;
    }
    f->from.x = dm_strip_x(strip, f->from.t);
    f->to.x = dm_strip_x(strip, f->to.t);
}
