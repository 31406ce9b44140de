/* SPDX-License-Identifier: MIT
 * Half-height edges of a zone, and how far its tips may lie beyond them.
 *
 * A sensor of footprint w shows the index blurred by a symmetric kernel of
 * width w. Half height of the blurred index then stands where half height of
 * the unblurred one does, as long as the zone is no shorter than w; the rise
 * takes about w at an abrupt end, more at a tapered one.
 *
 * A first guess counts the cells that stand above half height: of a rise that
 * only goes up, as many stand below it inwards as above it outwards, whatever
 * the noise. The crossing is then read from a least-squares line about it,
 * iterated until the window is centred, so that an odd-symmetric rise (any
 * symmetric kernel, a straight taper) leaves no bias. Its variance: that of the
 * line's middle, of half the plateau and of half the baseline, in coloured
 * noise, over slope squared, and pitch^2 / 12 for the sampling. A longer window
 * gives the slope and its variance, and so the length of the rise; what of it
 * the footprint does not explain is a taper. */
#include "indication/edge.h"

#include <math.h>

/* Noise and slope are estimates themselves: found by simulation. */
#define NOISE_OF_NOISE 1.06
/* Least and greatest rise of an abrupt end, footprints, by a line over 0.5
 * footprint each way: raised cosine of 0.6 and 1 footprint at half height. */
#define RISE_LEAST 0.65
#define RISE_MOST 1.15
/* Where half height stands in a taper, as a share of the rise that its slope
 * there makes it: half of a straight one, less of one that rises steeply first
 * (0.37: the simulation's), more of one that begins slowly. */
#define TIP_LEAST 0.35
#define TIP_MOST 0.6

typedef struct {
    double mean_t, mean_v, slope, slope_var;
    size_t n;
} line;

/* Variance of the slope of cells from..: sum of c_i c_k cov(i - k), c_i being
 * (t_i - mean) / sum of squares, at a constant pitch. */
static double slope_var(const dm_view *v, size_t n)
{
    double pitch = v->strip->pitch, m = (double)n;
    double squares = pitch * pitch * m * (m * m - 1.0) / 12.0, sum = 0.0;

    for (size_t k = 0; k < n && k < v->noise->lags; k++) {
        double l = (double)k, pairs = m - l;
        /* sum over i of d_i d_(i+k), d the distance from the middle: with
         * pairs about their own middle, l / 2 to each side of it. */
        double products =
            pitch * pitch *
            (pairs * (pairs * pairs - 1.0) / 12.0 - pairs * l * l / 4.0);

        sum += (k == 0 ? 1.0 : 2.0) * v->noise->cov[k] * products;
    }
    return fmax(sum, 0.0) / (squares * squares);
}

static line fit_line(const dm_view *v, double from, double to)
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
        return (line){0.0, 0.0, 0.0, 0.0, 0};
    st /= (double)n;
    sv /= (double)n;
    for (size_t k = i; k < s->count && s->t[k] <= to; k++) {
        double d = s->t[k] - from - st;

        if (s->bad[k])
            continue;
        stt += d * d;
        stv += d * (v->sign * s->index[k] - sv);
    }
    return (line){from + st, sv, stt > 0.0 ? stv / stt : 0.0, slope_var(v, n),
                  n};
}

/* Where the rise stands at `height`, by counting cells above it from inside
 * the zone outwards. */
static double count_crossing(const dm_view *v, double outer, double inner,
                             int side, double height)
{
    const dm_strip *s = v->strip;
    double from = fmin(inner, outer + side * v->w), sum = 0.0;
    double to = fmax(inner, outer + side * v->w);

    for (size_t i = dm_strip_cell(s, from); i < s->count && s->t[i] <= to;
         i++) {
        /* A cell speaks for half the way to its neighbours. */
        double a = i > 0 ? 0.5 * (s->t[i - 1] + s->t[i]) : s->t[i];
        double b = i + 1 < s->count ? 0.5 * (s->t[i] + s->t[i + 1]) : s->t[i];

        if (v->sign * s->smooth[i] >= height)
            sum += fmax(0.0, fmin(b, to) - fmax(a, from));
    }
    return inner + side * sum;
}

/* One end in work. */
typedef struct {
    double guess;
    double rise;   /* index gained */
    double height; /* half of it, above the baseline */
    double var;    /* of the rise: plateau and baseline */
    double length; /* first guess of the length of the rise, m */
} flank;

static double limit(double v, double low, double high)
{
    return fmax(low, fmin(high, v));
}

/* How far the tip may lie beyond half height: two standard deviations of the
 * slope, the kernels and shapes above. */
static void state_tip(const dm_view *v, const flank *f, double at, int side,
                      dm_edge *edge)
{
    double reach = limit(0.35 * f->length, 0.5 * v->w, 1.5 * v->w);
    line l = fit_line(v, at - reach, at + reach);
    double slope = -side * l.slope, sd, low, high;

    edge->rise = (double)NAN;
    if (l.n < 3 || slope <= 0.0)
        slope = f->rise / f->length;
    sd = sqrt(l.slope_var + slope * slope * f->var / (f->rise * f->rise));
    edge->rise = f->rise / slope;
    low = f->rise / (slope + 2.0 * sd);
    high = f->rise / fmax(slope - 2.0 * sd, 0.25 * slope);
    low = sqrt(fmax(0.0, low * low - RISE_MOST * RISE_MOST * v->w * v->w));
    high = sqrt(fmax(0.0, high * high - RISE_LEAST * RISE_LEAST * v->w * v->w));
    edge->tip_low = TIP_LEAST * low;
    edge->tip_high = TIP_MOST * high;
}

/* Refines one edge from a first guess. `side` -1: the edge `from`. */
static dm_edge refine(const dm_view *v, const flank *f, int side)
{
    double reach = limit(0.2 * f->length, 0.4 * v->w, v->w);
    double at = f->guess, slope = 0.0, var, taper;
    double least = 0.5 * f->rise / fmax(f->length, v->w);
    double pitch = v->strip->pitch, near = fmax(v->w, 0.5 * f->length);
    size_t n = 0;
    dm_edge edge = {.t = at};

    for (int round = 0; round < 6; round++) {
        line l = fit_line(v, at - reach, at + reach);
        double step;

        n = l.n;
        slope = -side * l.slope; /* positive towards the inside */
        if (n < 3 || slope < least)
            break;
        step = l.mean_t - side * (f->height - l.mean_v) / slope - at;
        step = limit(step, -0.3 * v->w, 0.3 * v->w);
        /* No further than a footprint from where the count says. */
        at = limit(at + step, f->guess - near, f->guess + near);
        if (fabs(step) < 1e-4 * v->w)
            break;
    }
    if (n < 3 || slope < least) {
        at = f->guess;
        n = n < 3 ? 3 : n;
    }
    edge.t = at;
    state_tip(v, f, at, side, &edge);
    /* The slope is an estimate, too: not steeper than a footprint lets be. */
    slope = fmin(f->rise / edge.rise, 1.15 * f->rise / v->w);
    var = dm_noise_mean_var(v->noise, n) + 0.25 * f->var;
    taper = 0.03 * fmax(0.0, edge.rise - 1.2 * v->w);
    edge.u = sqrt(NOISE_OF_NOISE * NOISE_OF_NOISE * var / (slope * slope) +
                  pitch * pitch / 12.0 + taper * taper);
    return edge;
}

/* Unread length begins within half a footprint and a cell of the edge. */
static bool touches_end(const dm_view *v, double t, int side)
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

static flank flank_of(const dm_view *v, double outer, double inner, int side,
                      dm_level top, dm_level base)
{
    flank f = {.rise = fmax(top.value - base.value, 1e-3),
               .var = top.var + base.var};
    double low, high;

    f.height = base.value + 0.5 * f.rise;
    f.guess = count_crossing(v, outer, inner, side, f.height);
    low = count_crossing(v, outer, inner, side, base.value + 0.3 * f.rise);
    high = count_crossing(v, outer, inner, side, base.value + 0.7 * f.rise);
    f.length = fmax(side * (low - high) / 0.4, v->w);
    return f;
}

static dm_edge locate(const dm_view *v, const dm_found *found, int side,
                      dm_level top, double middle)
{
    const dm_strip *s = v->strip;
    double outer = side < 0 ? s->t[found->first] : s->t[found->last];
    dm_level base = dm_level_base(v, outer, side);
    flank f = flank_of(v, outer, middle, side, top, base);
    dm_edge edge;

    /* A zone whose end part is much lower than its plateau (a wedge) ends by
     * its own level there: that part is above the band too. */
    if (fabs(f.guess - outer) > 2.0 * v->w) {
        double inner = outer - side * 2.5 * v->w;

        top = dm_level_plateau(v, fmin(outer, inner), fmax(outer, inner));
        f = flank_of(v, outer, inner, side, top, base);
    }
    edge = refine(v, &f, side);
    edge.open = touches_end(v, edge.t, side);
    if (edge.open) {
        /* What is known: it reaches the last reading. */
        if (touches_end(v, outer, side))
            edge.t = side < 0 ? fmin(edge.t, outer) : fmax(edge.t, outer);
        edge.u = s->pitch;
        edge.rise = edge.tip_low = edge.tip_high = (double)NAN;
    }
    return edge;
}

/* The kernel's shape is not known, only its width: what is left of the
 * plateau's correction moves the ends of a short zone (found by simulation). */
static void widen_for_shape(dm_found *f, double w)
{
    double lack = limit(2.5 - (f->to.t - f->from.t) / w, 0.0, 1.25);

    if (f->from.open || f->to.open) {
        /* Too little was read of it to see its plateau. */
        double least = f->to.t - f->from.t < 0.75 * w ? 0.25 * w : 0.0;

        f->from.u = fmax(f->from.u, least);
        f->to.u = fmax(f->to.u, least);
        return;
    }
    f->from.u = hypot(f->from.u, 0.015 * w * lack);
    f->to.u = hypot(f->to.u, 0.015 * w * lack);
}

/* Mean of a normal variable that is cut off below -z. */
static double cut_mean(double z)
{
    return exp(-0.5 * z * z) / sqrt(2.0 * 3.14159265358979) /
           (0.5 * erfc(-z / sqrt(2.0)));
}

/* Whether the zone may be shorter than 1.25 footprints: in doubt it is called
 * so, as a bound that holds beats a length. Those that pass look longer than
 * they are, by what a normal error cut off below is off on the mean; both ends
 * give half of it. */
static void judge_length(dm_found *f, double w)
{
    double sd = hypot(f->from.u, f->to.u), z, excess;

    if (f->from.open || f->to.open)
        return;
    z = (f->to.t - f->from.t - 1.28 * w) / sd - 2.33;
    f->shorter = z < 0.0;
    if (f->shorter) {
        /* Half height of a blurred short zone stands at the footprint's
         * width, outside the true ends; noise must not bring it inside. */
        f->from.t -= 2.0 * f->from.u;
        f->to.t += 2.0 * f->to.u;
        f->from.tip_low = f->from.tip_high = (double)NAN;
        f->to.tip_low = f->to.tip_high = (double)NAN;
        return;
    }
    /* At what it is taken to be, not at what was measured. */
    excess = sd * cut_mean(z);
    excess = sd * cut_mean(z - excess / sd);
    f->from.t += 0.5 * excess;
    f->to.t -= 0.5 * excess;
}

void dm_found_measure(const dm_strip *strip, double footprint,
                      const dm_noise *noise, const dm_thresholds *band,
                      dm_found *f)
{
    dm_view v = {strip, noise, footprint, f->sign,
                 f->sign > 0 ? band->leave : -band->soft_leave};
    double from = strip->t[f->first], to = strip->t[f->last];
    dm_level top = {0.0, 0.0}, sum, base;
    double kept = 1.0;

    for (int round = 0; round < 3; round++) {
        double middle;

        kept = 1.0;
        if (to < from)
            to = from;
        middle = 0.5 * (from + to);
        top = dm_level_plateau(&v, from, to);
        if (round > 0 && !f->from.open && !f->to.open)
            kept = dm_level_kept(fmax(to - from, 1.25 * footprint), footprint);
        top.value /= kept;
        f->from = locate(&v, f, -1, top, middle);
        f->to = locate(&v, f, +1, top, middle);
        from = f->from.t;
        to = f->to.t;
        /* Noise crossed the two. */
        if (to - from < 0.3 * footprint && !f->from.open && !f->to.open) {
            from = middle - 0.5 * footprint;
            to = middle + 0.5 * footprint;
            f->from.t = from;
            f->to.t = to;
        }
    }
    f->plateau = f->sign * top.value;
    f->plateau_u = sqrt(top.var);
    base = dm_level_base(&v, from, -1);
    sum = dm_level_base(&v, to, +1);
    base.value = 0.5 * (base.value + sum.value);
    base.var = 0.25 * (base.var + sum.var);
    sum = dm_level_sum(&v, from, to, base);
    f->index_length = f->sign * sum.value;
    f->index_length_u = sqrt(sum.var);
    f->base = f->sign * base.value;
    widen_for_shape(f, footprint);
    judge_length(f, footprint);
    if (f->shorter) /* its length is not known: as it was seen */
        f->plateau *= kept;
    f->from.x = dm_strip_x(strip, f->from.t);
    f->to.x = dm_strip_x(strip, f->to.t);
}
