/* SPDX-License-Identifier: MIT
 * From sections to a volume, by draws.
 *
 * The depth of the void along the duct is a level surface, seen from a sloping
 * duct: it grows with tan(slope) on the way up. The surface may be out of level
 * (tilt) and uneven (a Gaussian process of 2 mm in a bore of 50 mm, correlated
 * over 0.25 m); how deep it lies is not known beforehand at all. The sections
 * of the turns are observations of it; half of their variance is taken as
 * common to all of them (the response behind the wall is not known better).
 * Given these, the depth at nodes along the length is a normal vector: 1500
 * draws of it, always the same ones.
 *
 * A draw weighs what it explains of the index along the length: 1 - exp(-depth
 * / d) times a common factor, d drawn within a quarter to the whole of the
 * inspection depth, deviation 0.1 (the model's own error). Where this makes few
 * draws count, it is believed less, not more.
 *
 * The volume of a draw: truncated hoofs between the nodes (geom/chord.h); ends
 * within their uncertainty; where the depth runs out at an end the wedge beyond
 * half height; any part of what is unread beyond an open end; less any part, up
 * to the whole, of what strands may take. Low, best, high: 2.5, 50 and 97.5 %
 * of the weight. */
#include "indication/void.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "geom/chord.h"

#define PI 3.14159265358979323846
#define DRAWS 1500
#define MOST_NODES 40
#define NODE_STEP 0.03    /* m */
#define UNEVEN 0.04       /* of the bore radius */
#define UNEVEN_REACH 0.25 /* m */
#define MODEL_ERROR 0.10  /* of the index */
#define LEAST_DRAWS 60.0  /* that must count */

/* ---- the same random numbers for everybody ---- */

static double uniform(uint64_t *state)
{
    uint64_t z = *state += 0x9e3779b97f4a7c15u;

    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    z ^= z >> 31;
    return ((double)(z >> 11) + 0.5) / 9007199254740992.0;
}

static double normal(uint64_t *state)
{
    double a = sqrt(-2.0 * log(uniform(state)));

    return a * cos(2.0 * PI * uniform(state));
}

/* ---- depth along the length as a normal vector ---- */

typedef struct {
    const dm_void_view *v;
    size_t n; /* nodes */
    double step;
    double t[MOST_NODES];
    double mean[MOST_NODES];
    double *root; /* [n][n] lower triangle */
    double *y;    /* [n] index of the profile; NAN: not used */
} course;

/* Prior covariance of two depths. */
static double prior(const dm_void_view *v, double a, double b)
{
    double mid = 0.5 * (v->from + v->to), tilt = tan(v->tilt);
    double uneven = UNEVEN * v->r, level = 2.0 * v->r;

    return level * level + tilt * tilt * (a - mid) * (b - mid) +
           uneven * uneven * exp(-fabs(a - b) / UNEVEN_REACH);
}

static double prior_mean(const dm_void_view *v, double t)
{
    return v->r + tan(v->slope) * (t - 0.5 * (v->from + v->to));
}

/* Lower triangular root of a [n][n], in place; what rounding makes negative
 * becomes 0. */
static void cholesky(double *a, size_t n)
{
    for (size_t j = 0; j < n; j++) {
        double d = a[j * n + j];

        for (size_t k = 0; k < j; k++)
            d -= a[j * n + k] * a[j * n + k];
        d = d > 0.0 ? sqrt(d) : 0.0;
        a[j * n + j] = d;
        for (size_t i = j + 1; i < n; i++) {
            double s = a[i * n + j];

            for (size_t k = 0; k < j; k++)
                s -= a[i * n + k] * a[j * n + k];
            a[i * n + j] = d > 0.0 ? s / d : 0.0;
        }
    }
}

/* x := L^-1 x */
static void forward(const double *root, size_t n, double *x)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++)
            x[i] -= root[i * n + k] * x[k];
        x[i] = root[i * n + i] > 0.0 ? x[i] / root[i * n + i] : 0.0;
    }
}

static double depth_u(const dm_void_view *v, const dm_amount *area)
{
    double low = dm_chord_depth_of_area(v->r, area->low);
    double high = dm_chord_depth_of_area(v->r, area->high);

    return fmax(0.25 * (high - low), 0.002 * v->r);
}

/* Mean and covariance of the nodes given the sections: with L L' = S, the
 * sections' covariance, and w = L^-1 (covariance with the nodes), they change
 * by w' L^-1 (observed - expected) and - w' w. */
static bool condition(course *c)
{
    const dm_void_view *v = c->v;
    size_t m = v->section_count, n = c->n;
    double *s = calloc(m * m + m + n * m + 1, sizeof *s);
    double *d = s + m * m, *w = d + m;

    if (s == NULL)
        return false;
    for (size_t i = 0; i < m; i++) {
        const dm_void_section *a = &v->sections[i];
        double ua = depth_u(v, &a->area);

        for (size_t k = 0; k <= i; k++) {
            double ub = depth_u(v, &v->sections[k].area);

            s[i * m + k] =
                prior(v, a->t, v->sections[k].t) +
                (i == k ? 1.0 : sqrt(a->common * v->sections[k].common)) * ua *
                    ub;
        }
        d[i] = dm_chord_depth_of_area(v->r, a->area.best) - prior_mean(v, a->t);
    }
    cholesky(s, m);
    forward(s, m, d);
    for (size_t j = 0; j < n; j++) {
        double *wj = w + j * m;

        c->mean[j] = prior_mean(v, c->t[j]);
        for (size_t i = 0; i < m; i++)
            wj[i] = prior(v, v->sections[i].t, c->t[j]);
        forward(s, m, wj);
        for (size_t i = 0; i < m; i++)
            c->mean[j] += wj[i] * d[i];
        for (size_t k = 0; k <= j; k++) {
            double cov = prior(v, c->t[j], c->t[k]);

            for (size_t i = 0; i < m; i++)
                cov -= wj[i] * w[k * m + i];
            c->root[j * n + k] = cov + (j == k ? 1e-12 : 0.0);
        }
    }
    free(s);
    cholesky(c->root, n);
    return true;
}

/* Index of the profile at the nodes, where the blur of the ends does not
 * reach. */
static void sample_profile(course *c)
{
    const dm_void_view *v = c->v;
    double reach = 0.25 * v->footprint;

    for (size_t j = 0; j < c->n; j++) {
        double sum = 0.0, n = 0.0;
        double a = floor((c->t[j] - reach - v->first) / v->pitch);
        double b = floor((c->t[j] + reach - v->first) / v->pitch);

        c->y[j] = (double)NAN;
        if (c->t[j] < v->from + 0.6 * v->footprint ||
            c->t[j] > v->to - 0.6 * v->footprint)
            continue;
        for (double k = fmax(a, 0.0); k <= b; k += 1.0) {
            size_t cell = (size_t)k;

            if (cell < v->profile_count && !isnan(v->profile[cell])) {
                sum += (double)v->profile[cell];
                n += 1.0;
            }
        }
        if (n > 0.0)
            c->y[j] = sum / n;
    }
}

double dm_turn_common(const dm_turn *turn)
{
    double part = turn->fit.model_u / turn->fit.half_angle_u;

    return turn->fit.valid ? part * part : 1.0;
}

static bool course_begin(course *c, const dm_void_view *v)
{
    double length = v->to - v->from;
    double n = ceil(length / NODE_STEP) + 1.0;

    c->v = v;
    c->n = (size_t)fmin(fmax(n, 3.0), MOST_NODES);
    c->step = length / (double)(c->n - 1);
    for (size_t j = 0; j < c->n; j++)
        c->t[j] = v->from + (double)j * c->step;
    c->root = calloc(c->n * c->n + c->n, sizeof *c->root);
    if (c->root == NULL)
        return false;
    c->y = c->root + c->n * c->n;
    sample_profile(c);
    return condition(c);
}

/* ---- one draw ---- */

typedef struct {
    double volume, fraction, misfit, weight;
} draw;

static double seen(double depth, double d)
{
    return depth > 0.0 ? 1.0 - exp(-depth / d) : 0.0;
}

/* What the draw leaves of the profile, in squared deviations of a node; those
 * within a footprint count as one. */
static double misfit(const course *c, const double *h, double d)
{
    double gy = 0.0, gg = 0.0, yy = 0.0, n = 0.0, factor, left;

    for (size_t j = 0; j < c->n; j++)
        if (!isnan(c->y[j])) {
            double g = seen(h[j], d);

            gy += g * c->y[j];
            gg += g * g;
            yy += c->y[j] * c->y[j];
            n += 1.0;
        }
    if (n < 1.0)
        return 0.0;
    factor = gg > 0.0 ? fmin(fmax(gy / gg, 0.0), 1.2) : 0.0;
    left = fmax(0.0, yy - 2.0 * factor * gy + factor * factor * gg);
    return left * fmin(1.0, c->step / c->v->footprint) /
           (MODEL_ERROR * MODEL_ERROR);
}

/* The wedge beyond an end at which the depth runs out. */
static double wedge(const course *c, const double *h, int side, double d)
{
    size_t end = side < 0 ? 0 : c->n - 1;
    size_t in = (size_t)fmin((double)(c->n - 1), ceil(0.2 / c->step));
    size_t far = side < 0 ? in : c->n - 1 - in;
    double most = 0.0, slope, length;

    for (size_t j = 0; j < c->n; j++)
        most = fmax(most, h[j]);
    slope = (h[far] - h[end]) / ((double)in * c->step);
    if (h[end] <= 0.0 || slope <= 0.0 || seen(h[end], d) > 0.75 * seen(most, d))
        return 0.0;
    length = h[end] / slope;
    if (length <= 0.4)
        return dm_chord_volume(c->v->r, h[end], 0.0, length);
    return dm_chord_volume(c->v->r, h[end], h[end] - 0.4 * slope, 0.4);
}

static double area_at(double r, double depth)
{
    return dm_chord_area(r, dm_chord_half_of_depth(r, depth));
}

static draw draw_one(const course *c, uint64_t *state)
{
    const dm_void_view *v = c->v;
    double z[MOST_NODES], h[MOST_NODES], sum = 0.0, most = 0.0, d, bore;
    draw out = {.weight = 0.0};

    for (size_t j = 0; j < c->n; j++)
        z[j] = normal(state);
    for (size_t j = 0; j < c->n; j++) {
        h[j] = c->mean[j];
        for (size_t k = 0; k <= j; k++)
            h[j] += c->root[j * c->n + k] * z[k];
        most = fmax(most, h[j]);
    }
    d = v->layer * (0.25 + 0.75 * uniform(state));
    for (size_t j = 0; j + 1 < c->n; j++)
        sum += dm_chord_volume(v->r, h[j], h[j + 1], c->step);
    if (!isnan(v->least))
        sum *= 1.0 - uniform(state) * (1.0 - v->least / (v->to - v->from));
    sum += area_at(v->r, h[0]) * v->u_from * normal(state);
    sum += area_at(v->r, h[c->n - 1]) * v->u_to * normal(state);
    sum += wedge(c, h, -1, d) + wedge(c, h, +1, d);
    sum += area_at(v->r, h[0]) * v->beyond[0] * uniform(state);
    sum += area_at(v->r, h[c->n - 1]) * v->beyond[1] * uniform(state);
    bore = PI * v->r * v->r;
    out.volume = fmax(0.0, sum) * (1.0 - v->share * uniform(state));
    out.fraction = area_at(v->r, most) / bore;
    out.misfit = misfit(c, h, d);
    return out;
}

/* ---- all draws ---- */

/* Weights, and how many draws they amount to. */
static double weigh(draw *draws, double temper)
{
    double least = HUGE_VAL, sum = 0.0, square = 0.0;

    for (size_t i = 0; i < DRAWS; i++)
        least = fmin(least, draws[i].misfit);
    for (size_t i = 0; i < DRAWS; i++) {
        double w = exp(-0.5 * (draws[i].misfit - least) / temper);

        draws[i].weight = w;
        sum += w;
        square += w * w;
    }
    for (size_t i = 0; i < DRAWS; i++)
        draws[i].weight /= sum;
    return sum * sum / square;
}

static int by_volume(const void *a, const void *b)
{
    double x = ((const draw *)a)->volume, y = ((const draw *)b)->volume;

    return (x > y) - (x < y);
}

static int by_fraction(const void *a, const void *b)
{
    double x = ((const draw *)a)->fraction, y = ((const draw *)b)->fraction;

    return (x > y) - (x < y);
}

static double volume_of(const draw *d)
{
    return d->volume;
}

static double fraction_of(const draw *d)
{
    return d->fraction;
}

/* Draws sorted by what `of` takes from them. */
static dm_amount amount(const draw *draws, double (*of)(const draw *))
{
    static const double part[3] = {0.025, 0.5, 0.975};
    double q[3], sum = 0.0;
    size_t k = 0;

    for (size_t i = 0; i < DRAWS && k < 3; i++) {
        sum += draws[i].weight;
        while (k < 3 && sum >= part[k])
            q[k++] = of(&draws[i]);
    }
    while (k < 3)
        q[k++] = of(&draws[DRAWS - 1]);
    return (dm_amount){q[0], q[1], q[2]};
}

static void largest(const course *c, dm_void_size *out)
{
    size_t best = 0;

    for (size_t j = 1; j < c->n; j++)
        if (c->mean[j] > c->mean[best])
            best = j;
    out->largest_t = c->t[best];
}

bool dm_void_measure(const dm_void_view *view, dm_void_size *out)
{
    course c = {.root = NULL};
    draw *draws = calloc(DRAWS, sizeof *draws);
    uint64_t state = 1;
    bool good = draws != NULL && course_begin(&c, view);
    double temper = 1.0;

    for (size_t i = 0; i < DRAWS && good; i++)
        draws[i] = draw_one(&c, &state);
    if (good) {
        while ((out->effective = weigh(draws, temper)) < LEAST_DRAWS)
            temper *= 2.0;
        qsort(draws, DRAWS, sizeof *draws, by_volume);
        out->volume = amount(draws, volume_of);
        qsort(draws, DRAWS, sizeof *draws, by_fraction);
        out->fraction = amount(draws, fraction_of);
        out->saturated = out->fraction.high > 0.98;
        largest(&c, out);
    }
    free(c.root);
    free(draws);
    return good;
}

void dm_void_limits(const dm_void_view *v, double half_low, double half_high,
                    dm_void_size *out)
{
    const double nan = (double)NAN;
    double length = v->to - v->from, bore = PI * v->r * v->r;
    double least = isnan(v->least)
                       ? fmax(0.0, length - 2.0 * v->u_from - 2.0 * v->u_to)
                       : v->least;
    double most =
        length + 2.0 * v->u_from + 2.0 * v->u_to + v->beyond[0] + v->beyond[1];
    /* A surface that is nearly level reaches deeper at the upper end. */
    double rise = tan(fmax(0.0, fabs(v->slope) - 2.0 * v->tilt)) * least;
    double low = dm_chord_depth(v->r, half_low);
    double high = dm_chord_depth(v->r, half_high);

    out->volume = (dm_amount){
        (1.0 - v->share) * fmax(0.5 * least * dm_chord_area(v->r, half_low),
                                dm_chord_volume(v->r, 0.0, rise, least)),
        nan, most * dm_chord_area(v->r, half_high)};
    out->fraction =
        (dm_amount){fmax(area_at(v->r, low), area_at(v->r, rise)) / bore, nan,
                    area_at(v->r, high) / bore};
    /* Limits of two kinds may contradict each other: the upper one holds. */
    out->volume.low = fmin(out->volume.low, out->volume.high);
    out->fraction.low = fmin(out->fraction.low, out->fraction.high);
    out->largest_t = nan;
    out->saturated = out->fraction.high > 0.98;
    out->effective = 0.0;
}
