/* SPDX-License-Identifier: MIT
 * The level surface behind a turn.
 *
 * Model: the void is the segment of the bore within `half` of `centre`. Behind
 * the wall at an angle p from the centre it is r (1 - cos half / cos p) deep,
 * along the radius, at most r. A sensor sees the part 1 - exp(-z / d) of a
 * layer z deep (the usual weight of a surface electrode; d is not known better
 * than within a quarter to the whole of the stated inspection depth), blurred
 * round the duct by a smooth kernel of half-height width 0.7 to 1 footprint.
 * Index = base + plateau times that.
 *
 * half, centre, d and the kernel go over grids, plateau and base are linear
 * and solved for (base ~ N(0, 0.05): the run's checks; a plateau beyond 1.2 of
 * air costs). Each grid point weighs exp(-chi^2 / 2), neighbouring cells
 * counted as a half each since part of the noise is common to them, and the
 * noise never less than what the best fit leaves over. The moments and the 95 %
 * limits of half are of those weights, over all else. */
#include <math.h>
#include <stdlib.h>

#include "indication/turn.h"

#define PI 3.14159265358979323846
#define N DM_TURN_CELLS
#define FINE (2 * N) /* steps of the centre, and of templates */
#define STEP (2.0 * PI / FINE)
#define HALVES 60 /* of 3 degrees */
#define LAYERS 3
#define SPLIT 4 /* of a step, for its mean */
#define KERNELS 2
#define CENTRES 25 /* 60 degrees to both sides of the arc's middle */
#define STRIDE 2   /* steps from centre to centre */
#define GRID ((size_t)HALVES * LAYERS * KERNELS * CENTRES)

static const double layer_part[LAYERS] = {0.25, 0.5, 1.0};
static const double kernel_part[KERNELS] = {0.7, 1.0};

static double half_of(size_t i)
{
    return (double)(i + 1) * PI / HALVES;
}

/* ---- templates ---- */

/* Part of the full index that a void with this half angle gives at p. */
static double response(double r, double half, double layer, double p)
{
    double z = r;

    if (p >= half)
        return 0.0;
    if (half < 0.5 * PI)
        z = r * (1.0 - cos(half) / cos(p));
    return 1.0 - exp(-z / layer);
}

/* Its mean over a step about p, so that it changes smoothly with half. */
static double mean_response(double r, double half, double layer, double p)
{
    double sum = 0.0;

    for (int k = 0; k < SPLIT; k++)
        sum += response(r, half, layer,
                        fabs(p + STEP * ((k + 0.5) / SPLIT - 0.5)));
    return sum / SPLIT;
}

/* Raised cosine of half-height width `width`; symmetric, so that only the
 * half circle is made: out[k] at k STEP from the centre. */
static void blurred(const double *sharp, double width, double *out)
{
    int reach = (int)fmin(floor(width / STEP), N - 1);

    for (int k = 0; k <= N; k++) {
        double sum = sharp[k], weight = 1.0;

        for (int j = 1; j <= reach; j++) {
            double w = 0.5 * (1.0 + cos(PI * j * STEP / (width + 1e-9)));
            int a = abs(k - j), b = k + j > N ? FINE - k - j : k + j;

            sum += w * (sharp[a] + sharp[b]);
            weight += 2.0 * w;
        }
        out[k] = sum / weight;
    }
}

/* ---- one grid point ---- */

/* Cells that are used, and their sums that no template changes. */
typedef struct {
    size_t cell[N], count;
    double y[N], sum, square;
} used;

/* What grid points left over. */
typedef struct {
    double rss, penalty;
} left_over;

/* Plateau and base by least squares; `sigma` weighs the priors only. */
static left_over solve(const used *u, const double *t, size_t centre,
                       double sigma, double *plateau, double *base)
{
    double st = 0.0, stt = 0.0, sty = 0.0, n = (double)u->count;
    double prior = 2.0 * sigma * sigma / (0.05 * 0.05), det;
    left_over out;

    for (size_t k = 0; k < u->count; k++) {
        size_t d = (2 * u->cell[k] + FINE - centre) % FINE;
        double v = t[d <= N ? d : FINE - d];

        st += v;
        stt += v * v;
        sty += v * u->y[k];
    }
    det = stt * (n + prior) - st * st;
    if (!(det > 1e-9))
        return (left_over){HUGE_VAL, 0.0};
    *plateau = (sty * (n + prior) - st * u->sum) / det;
    *base = (stt * u->sum - st * sty) / det;
    out.rss = fmax(0.0, u->square - 2.0 * *plateau * sty -
                            2.0 * *base * u->sum + *plateau * *plateau * stt +
                            2.0 * *plateau * *base * st + n * *base * *base);
    out.penalty = *base * *base / (0.05 * 0.05);
    if (*plateau > 1.2)
        out.penalty += (*plateau - 1.2) * (*plateau - 1.2) / (0.1 * 0.1);
    if (*plateau < 0.05)
        out.rss = HUGE_VAL;
    return out;
}

/* ---- all of them ---- */

typedef struct {
    const used *u;
    double r, layer, footprint, sigma;
    size_t centre0; /* first centre, in steps */
    left_over *grid;
    left_over best;
    double plateau, base;
} search;

static void search_all(search *s)
{
    double sharp[N + 1], t[N + 1];
    size_t g = 0;

    s->best = (left_over){HUGE_VAL, 0.0};
    for (size_t h = 0; h < HALVES; h++)
        for (size_t l = 0; l < LAYERS; l++)
            for (size_t w = 0; w < KERNELS; w++) {
                for (size_t k = 0; k <= N; k++)
                    sharp[k] = mean_response(s->r, half_of(h),
                                             layer_part[l] * s->layer,
                                             (double)k * STEP);
                blurred(sharp, kernel_part[w] * s->footprint, t);
                for (size_t c = 0; c < CENTRES; c++, g++) {
                    double plateau = 0.0, base = 0.0;

                    s->grid[g] =
                        solve(s->u, t, (s->centre0 + STRIDE * c) % FINE,
                              s->sigma, &plateau, &base);
                    if (s->grid[g].rss < s->best.rss) {
                        s->best = s->grid[g];
                        s->plateau = plateau;
                        s->base = base;
                    }
                }
            }
}

static double quantile(const double *density, double total, double p)
{
    double sum = 0.0;

    for (size_t h = 0; h < HALVES; h++) {
        if (sum + density[h] >= p * total && density[h] > 0.0) {
            double into = (p * total - sum) / density[h];

            return half_of(h) + (into - 0.5) * PI / HALVES;
        }
        sum += density[h];
    }
    return PI;
}

static void moments(const search *s, double noise, dm_segment_fit *fit)
{
    double n = (double)s->u->count, left = s->best.rss / n;
    double sigma2 = fmax(noise * noise, left) + 0.015 * 0.015;
    double least = HUGE_VAL, total = 0.0, density[HALVES] = {0.0};
    double h1 = 0.0, h2 = 0.0, c1 = 0.0, c2 = 0.0, hc = 0.0, between = 0.0;
    double each[LAYERS * KERNELS] = {0.0}, mean[LAYERS * KERNELS] = {0.0};

    for (size_t g = 0; g < GRID; g++)
        least =
            fmin(least, s->grid[g].rss / (2.0 * sigma2) + s->grid[g].penalty);
    for (size_t g = 0; g < GRID; g++) {
        double chi2 = s->grid[g].rss / (2.0 * sigma2) + s->grid[g].penalty;
        double w = exp(-0.5 * (chi2 - least));
        size_t h = g / (LAYERS * KERNELS * CENTRES);
        double half = half_of(h), c = (double)(g % CENTRES) * STRIDE * STEP;

        density[h] += w;
        each[g / CENTRES % (LAYERS * KERNELS)] += w;
        mean[g / CENTRES % (LAYERS * KERNELS)] += w * half;
        total += w;
        h1 += w * half;
        h2 += w * half * half;
        c1 += w * c;
        c2 += w * c * c;
        hc += w * half * c;
    }
    h1 /= total;
    c1 /= total;
    for (size_t m = 0; m < LAYERS * KERNELS; m++)
        if (each[m] > 0.0)
            between += each[m] / total * (mean[m] / each[m] - h1) *
                       (mean[m] / each[m] - h1);
    fit->half_angle = quantile(density, total, 0.5);
    fit->half_angle_u = sqrt(fmax(0.0, h2 / total - h1 * h1) +
                             PI * PI / (12.0 * HALVES * HALVES));
    fit->model_u = fmin(sqrt(between), fit->half_angle_u);
    fit->centre = fmod((double)s->centre0 * STEP + c1, 2.0 * PI);
    fit->centre_u = sqrt(fmax(0.0, c2 / total - c1 * c1) +
                         STRIDE * STEP * STRIDE * STEP / 12.0);
    fit->covariance = hc / total - h1 * c1;
    fit->low = fmax(0.0, quantile(density, total, 0.025));
    fit->high = fmin(PI, quantile(density, total, 0.975));
    fit->misfit = sqrt(left);
    fit->ratio = fit->misfit / noise;
    fit->plateau = s->plateau;
    fit->base = s->base;
    fit->valid = true;
}

/* Left out: not read, strands at the wall (well below 0) and beside them, and
 * other void-like arcs. */
static void choose_cells(const dm_ring *r, const dm_turn_view *view,
                         const dm_turn *turn, used *u)
{
    *u = (used){.count = 0};
    for (size_t i = 0; i < N; i++) {
        double clock = (double)i * 2.0 * PI / N;
        bool out = isnan(r->raw[i]);

        for (size_t k = 0; k < 7 && !out; k++) {
            size_t j = (i + N + k - 3) % N;

            out = r->ok[j] && r->smooth[j] <= view->band.soft_leave;
        }
        for (size_t k = 0; k < turn->arc_count && !out; k++) {
            const dm_arc *a = &turn->arcs[k];

            out = k != turn->arc &&
                  fabs(remainder(clock - dm_arc_middle(a), 2.0 * PI)) <
                      0.5 * (dm_arc_width(a) + view->footprint);
        }
        if (out)
            continue;
        u->cell[u->count] = i;
        u->y[u->count++] = r->raw[i];
        u->sum += r->raw[i];
        u->square += r->raw[i] * r->raw[i];
    }
}

bool dm_ring_fit(const dm_ring *r, const dm_turn_view *view, dm_turn *turn)
{
    used u;
    search s = {.u = &u,
                .r = turn->bore,
                .layer = view->layer > 0.0 ? view->layer : DM_LAYER,
                .footprint = fmin(view->footprint, PI),
                .sigma = fmax(r->noise, 0.02)};
    double middle;

    if (turn->arc == DM_NONE)
        return true;
    choose_cells(r, view, turn, &u);
    if (u.count < 12)
        return true;
    middle = turn->arcs[turn->arc].whole
                 ? 0.0
                 : dm_arc_middle(&turn->arcs[turn->arc]);
    s.centre0 =
        ((size_t)floor(middle / STEP + 0.5) + FINE - STRIDE * (CENTRES / 2)) %
        FINE;
    s.grid = calloc(GRID, sizeof *s.grid);
    if (s.grid == NULL)
        return false;
    search_all(&s);
    if (isfinite(s.best.rss))
        moments(&s, r->noise, &turn->fit);
    free(s.grid);
    return true;
}
