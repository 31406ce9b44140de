/* SPDX-License-Identifier: MIT
 * Ends against half height of the unblurred index. Runs of 31 m, plateaus 0.4,
 * 0.6 and 0.9, all kernels in turn. Bounds are 2 u each way; errors count
 * outwards. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "chance.h"
#include "core.h"
#include "sim_indications.h"
#include "table.h"

#define MOST 200000

static const double noises[] = {0.02, 0.04, 0.08};
static const double heights[] = {0.4, 0.6, 0.9};

/* Ends of one cell. */
typedef struct {
    size_t voids, found, shorter, contained, ends, covered;
    size_t of_kernel[SENSOR_KERNELS], covered_of[SENSOR_KERNELS];
    double sum, squares, sum_of[SENSOR_KERNELS];
    double *half;
    /* Tips: inside the stated range, said to be beyond half height for sure;
     * the sum of the ranges' widths. */
    size_t tips, tip_inside, tip_beyond;
    double tip_width;
    /* Shorter than the footprint: height times length inside its bounds, the
     * length implied by air not longer than the true one. */
    size_t area_inside, least_holds;
} tally;

static tally begin(void)
{
    tally t = {.half = malloc(MOST * sizeof(double))};

    if (t.half == NULL)
        abort();
    return t;
}

static void add_end(tally *t, int kernel, double outward, double u)
{
    bool in = fabs(outward) <= 2.0 * u;

    if (t->ends >= MOST)
        abort();
    t->half[t->ends++] = 2.0 * u;
    t->covered += in;
    t->sum += outward;
    t->squares += outward * outward;
    t->of_kernel[kernel]++;
    t->covered_of[kernel] += in;
    t->sum_of[kernel] += outward;
}

static void add_tip(tally *t, const dm_edge *e, double beyond)
{
    t->tips++;
    t->tip_inside += e->tip_low <= beyond && beyond <= e->tip_high;
    t->tip_beyond += e->tip_low > 0.0;
    t->tip_width += e->tip_high - e->tip_low;
}

static void add_area(tally *t, const dm_found *f, const sensor_zone *z)
{
    double length = z->to - z->from;

    t->area_inside +=
        fabs(f->index_length - z->height * length) <= 2.0 * f->index_length_u;
    t->least_holds += f->index_length - 2.0 * f->index_length_u <= length;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static double median(const tally *t)
{
    if (t->ends == 0)
        return 0.0;
    qsort(t->half, t->ends, sizeof *t->half, by_value);
    return t->half[t->ends / 2];
}

/* A row of a bias of `sum` of n. In the short form three standard errors more
 * pass. */
static void bias_row(const char *text, const tally *t, double bias, size_t n,
                     double most, double scale)
{
    double mean = t->sum / (double)t->ends;
    double var = t->squares / (double)t->ends - mean * mean;

    if (scale < 1.0)
        most += 3e3 * sqrt(var / (double)n);
    table_most(text, 1e3 * fabs(bias), "mm", n, most);
}

static double worst_bias(const tally *t)
{
    double worst = 0.0;

    for (int k = 0; k < SENSOR_KERNELS; k++)
        if (t->of_kernel[k] > 0)
            worst = fmax(worst, fabs(t->sum_of[k] / (double)t->of_kernel[k]));
    return worst;
}

/* ---- abrupt ends --------------------------------------------------------- */

static void abrupt_run(tally *t, double noise, double height, double length,
                       int kernel)
{
    static sensor_run run;
    core c;

    sensor_begin(&run, 31.0, noise, 0.01, kernel);
    for (int i = 0; i < 15; i++) {
        double at = 2.0 * i + 1.0 + chance_uniform(0.0, 0.3);

        sensor_put(&run, at, at + length * SENSOR_W, height);
    }
    core_begin(&c, &run);
    for (size_t i = 0; i < run.zone_count; i++) {
        const sensor_zone *z = &run.zones[i];
        const dm_found *f = core_found(&c, z->from, z->to);

        t->voids++;
        if (f == NULL)
            continue;
        t->found++;
        t->contained += f->from.t <= z->from && f->to.t >= z->to;
        t->shorter += f->shorter;
        add_area(t, f, z);
        if (f->shorter)
            continue;
        if (!f->from.open) {
            add_end(t, kernel, z->from - f->from.t, f->from.u);
            add_tip(t, &f->from, 0.0);
        }
        if (!f->to.open) {
            add_end(t, kernel, f->to.t - z->to, f->to.u);
            add_tip(t, &f->to, 0.0);
        }
    }
    core_end(&c);
}

static void abrupt_cell(double noise, double length, size_t runs, double scale)
{
    tally t = begin();
    double most = length >= 2.0 ? 3.0 : 5.0;
    char text[80];

    for (size_t r = 0; r < runs; r++)
        abrupt_run(&t, noise, heights[r % 3], length, (int)(r / 3 % 3));
    snprintf(text, sizeof text, "noise %.2f, length %.1f w: bias", noise,
             length);
    bias_row(text, &t, t.sum / (double)t.ends, t.ends, most, scale);
    bias_row("  of the worst kernel", &t, worst_bias(&t), t.ends / 3, most,
             scale);
    table_share("  inside 95 % bounds", t.covered, t.ends, 0.93, 0.995);
    if (noise > 0.03 && noise < 0.05)
        table_most("  median half-width", 1e3 * median(&t), "mm", t.ends, 12.0);
    else
        table_value("  median half-width", 1e3 * median(&t), "mm", t.ends);
    table_share("  its tip range begins at the end", t.tip_inside, t.tips, 0.95,
                1.0);
    table_value("  mean width of the range", 1e3 * t.tip_width / (double)t.tips,
                "mm", t.tips);
    table_band("  called shorter than the footprint: no such bounds", t.shorter,
               t.found);
    free(t.half);
}

/* ---- tapered ends -------------------------------------------------------- */

static void tapered_run(tally *t, double noise, double height, bool bowed,
                        int kernel)
{
    static sensor_run run;
    core c;

    sensor_begin(&run, 31.0, noise, 0.01, kernel);
    for (int i = 0; i < 10; i++) {
        double at = 3.0 * i + 1.0 + chance_uniform(0.0, 0.3);
        double inside = chance_uniform(0.065, 0.19);
        sensor_zone *z =
            sensor_put(&run, at, at + chance_uniform(0.8, 1.2), height);
        int end = (int)chance_index(2);

        z->bowed = bowed;
        z->taper[end] = 1.0;
        z->taper[end] = inside / (end ? sensor_tip(z, 1) - z->to
                                      : z->from - sensor_tip(z, -1));
    }
    core_begin(&c, &run);
    for (size_t i = 0; i < run.zone_count; i++) {
        const sensor_zone *z = &run.zones[i];
        const dm_found *f = core_found(&c, z->from, z->to);

        t->voids++;
        if (f == NULL)
            continue;
        t->found++;
        if (f->shorter)
            continue;
        if (z->taper[0] > 0.0 && !f->from.open) {
            add_end(t, kernel, z->from - f->from.t, f->from.u);
            add_tip(t, &f->from, z->from - sensor_tip(z, -1));
        }
        if (z->taper[1] > 0.0 && !f->to.open) {
            add_end(t, kernel, f->to.t - z->to, f->to.u);
            add_tip(t, &f->to, sensor_tip(z, 1) - z->to);
        }
    }
    core_end(&c);
}

static void tapered_cell(double noise, bool bowed, size_t runs, double scale)
{
    tally t = begin();
    char text[80];

    for (size_t r = 0; r < runs; r++)
        tapered_run(&t, noise, heights[r % 3], bowed, (int)(r / 3 % 3));
    snprintf(text, sizeof text, "noise %.2f, %s taper: bias", noise,
             bowed ? "bowed" : "straight");
    bias_row(text, &t, t.sum / (double)t.ends, t.ends, 5.0, scale);
    table_share("  inside 95 % bounds", t.covered, t.ends, 0.85, 1.0);
    table_value("  median half-width", 1e3 * median(&t), "mm", t.ends);
    table_share("  tip inside its range", t.tip_inside, t.tips, 0.95, 1.0);
    table_value("  mean width of the range", 1e3 * t.tip_width / (double)t.tips,
                "mm", t.tips);
    table_band("  said to be a taper for sure", t.tip_beyond, t.tips);
    free(t.half);
}

/* ---- shorter than the footprint ------------------------------------------ */

static void short_cell(double noise, double length, size_t runs)
{
    tally t = begin();
    char text[80];

    for (size_t r = 0; r < runs; r++)
        abrupt_run(&t, noise, heights[r % 3], length, (int)(r / 3 % 3));
    snprintf(text, sizeof text, "noise %.2f, length %.2f w: inside the bound",
             noise, length);
    table_share(text, t.contained, t.found, 0.95, 1.0);
    table_share("  no two-sided end stated", t.shorter, t.found, 0.99, 1.0);
    table_share("  height times length inside its 95 % bounds", t.area_inside,
                t.found, 0.9, 1.0);
    table_share("  length not below what air would make of it", t.least_holds,
                t.found, 0.95, 1.0);
    free(t.half);
}

void sim_ends(uint64_t seed, double scale)
{
    static const double length[] = {1.5, 2.0, 3.0, 6.0};
    static const double small[] = {0.5, 0.75, 1.0, 1.2};
    size_t runs = 9 * (size_t)fmax(1.0, floor(15.0 * scale + 0.5));

    chance_seed(seed);
    table_head("Abrupt ends");
    for (int n = 0; n < 3; n++)
        for (int l = 0; l < 4; l++)
            abrupt_cell(noises[n], length[l], runs, scale);
    table_head("Tapered ends, half height 65 to 190 mm inside the tip");
    for (int n = 0; n < 3; n++)
        for (int b = 0; b < 2; b++)
            tapered_cell(noises[n], b == 1, runs, scale);
    table_head("Shorter than the footprint, of those found");
    for (int n = 0; n < 3; n++)
        for (int l = 0; l < 4; l++)
            short_cell(noises[n], small[l], runs);
}
