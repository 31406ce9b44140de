/* SPDX-License-Identifier: MIT
 * Do the bounds of area and volume hold the truth, and how wide are they?
 *
 * Truth: a plane surface in a round bore on a slope of 0 to 12 degrees, out of
 * level by up to 3 degrees (thixotropic grout), uneven by up to 3 mm in waves
 * of 0.3 to 1 m, rolled by up to 8 degrees; 5 to 45 mm deep at the upper end;
 * its ends where it meets the crown, or cut off square. Strands: in a third of
 * the voids none, in a third their share or less evenly, in a third (stated as
 * a strand side) anything up to a bundle at the crown. What counts is the
 * volume less the strands.
 *
 * Sensor: none of the estimator's formulas. A layer z deep gives z^1.5 / (z^1.5
 * + z0^1.5), z0 of 4 to 10 mm, of a plateau of 0.6 to 1; seen through a normal
 * or a triangular kernel along the duct and round it, of half-height width 0.6
 * to 1 footprint; a gain out by 2 %; noise half white, half correlated. Half
 * heights along the crown are those of the index without blur, out by 6 mm. A
 * turn every 5 degrees, or every 15. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/arena.h"
#include "chance.h"
#include "indication/turn.h"
#include "indication/void.h"
#include "sim_indications.h"
#include "table.h"

#define PI 3.14159265358979323846
#define OUTSIDE 0.05715
#define BORE 0.0504264705882353
#define ALONG 0.1    /* footprint, m */
#define AROUND 0.06  /* the same round the duct */
#define LAYER 0.015  /* inspection depth as stated */
#define EDGE_U 0.006 /* of the half heights, m */
#define PITCH 0.02   /* of the profile */
#define CELLS 160
#define TURNS 4
#define STRANDS 0.333 /* of the bore: 19 of 140 mm2 */

typedef struct {
    double slope, tilt, upper, length, cut; /* depth falls from `upper` at 0 */
    double wave, wave_length, phase;
    double roll, z0, plateau, kernel, gain;
    bool triangle;
    double strands; /* part of the volume that is steel */
    double share;   /* the most of it that is stated */
} truth;

static truth draw_truth(void)
{
    truth v = {.slope = chance_uniform(0.0, 12.0) * PI / 180.0,
               .tilt = chance_uniform(-3.0, 3.0) * PI / 180.0,
               .upper = chance_uniform(0.005, 0.045),
               .wave = chance_uniform(0.0, 0.003),
               .wave_length = chance_uniform(0.3, 1.0),
               .phase = chance_uniform(0.0, 2.0 * PI),
               .roll = chance_uniform(-8.0, 8.0) * PI / 180.0,
               .z0 = chance_uniform(0.004, 0.010),
               .plateau = chance_uniform(0.6, 1.0),
               .kernel = chance_uniform(0.6, 1.0),
               .gain = 1.0 + chance_normal(0.02),
               .triangle = chance_index(2) == 0};
    double most = chance_uniform(0.2, 1.5);
    size_t how = chance_index(3);

    v.length = most;
    v.share = STRANDS;
    if (how == 1)
        v.strands = chance_uniform(0.0, STRANDS);
    if (how == 2) {
        v.share = 0.55;
        v.strands = chance_uniform(0.0, 0.55);
    }
    return v;
}

static double depth_at(const truth *v, double s)
{
    double d = v->upper - s * tan(v->slope + v->tilt) +
               v->wave * sin(2.0 * PI * s / v->wave_length + v->phase);

    return s < 0.0 || s > v->length || d < 0.0 ? 0.0 : fmin(d, 2.0 * BORE);
}

/* Area of the segment: a sum of chords, no formula of the library's. */
static double area_of(double depth)
{
    double sum = 0.0;

    for (int i = 0; i < 200; i++) {
        double y = BORE - depth * (i + 0.5) / 200.0;

        sum += 2.0 * sqrt(fmax(0.0, BORE * BORE - y * y)) * depth / 200.0;
    }
    return sum;
}

static double volume_of(const truth *v)
{
    double sum = 0.0, step = 0.002;

    for (double s = 0.5 * step; s < v->length; s += step)
        sum += area_of(depth_at(v, s)) * step;
    return sum * (1.0 - v->strands);
}

/* ---- sensor ---- */

static double answer(const truth *v, double z)
{
    double q = pow(fmax(z, 0.0) / v->z0, 1.5);

    return v->plateau * v->gain * q / (1.0 + q);
}

/* Index without blur behind the wall at clock angle `clock`. */
static double sharp(const truth *v, double depth, double clock)
{
    double p = fabs(remainder(clock - v->roll, 2.0 * PI));
    double low = BORE - depth; /* height of the surface over the centre */

    if (BORE * cos(p) <= low)
        return 0.0;
    return answer(v, cos(p) > 0.0 ? fmin(BORE, BORE - low / cos(p)) : BORE);
}

/* Weight of the kernel at `x` half-height half widths. */
static double weight(const truth *v, double x)
{
    return v->triangle ? fmax(0.0, 1.0 - 0.5 * fabs(x)) : exp2(-x * x);
}

/* Noise: half white, half correlated over four of the steps. */
typedef struct {
    double sd, slow;
} hiss;

static double next(hiss *h)
{
    double keep = exp(-0.25), half = h->sd / sqrt(2.0);

    h->slow = keep * h->slow + chance_normal(half * sqrt(1.0 - keep * keep));
    return h->slow + chance_normal(half);
}

static void read_turn(const truth *v, double s, double noise, dm_turn *turn)
{
    double half = 0.5 * v->kernel * AROUND / OUTSIDE, depth = depth_at(v, s);
    size_t every = chance_index(4) == 0 ? 3 : 1;
    hiss h = {noise, chance_normal(noise / sqrt(2.0))};

    for (size_t i = 0; i < DM_TURN_CELLS; i++) {
        double sum = 0.0, all = 0.0, clock = (double)i * 2.0 * PI / 72.0;

        turn->index[i] = (double)NAN;
        if (i % every != 0)
            continue;
        for (int k = -40; k <= 40; k++) {
            double x = 0.075 * k, w = weight(v, x);

            sum += w * sharp(v, depth, clock + x * half);
            all += w;
        }
        turn->index[i] = sum / all + next(&h);
    }
}

static void read_crown(const truth *v, double first, double noise, float *cells)
{
    double half = 0.5 * v->kernel * ALONG;
    hiss h = {noise, chance_normal(noise / sqrt(2.0))};

    for (size_t i = 0; i < CELLS; i++) {
        double sum = 0.0, all = 0.0, s = first + PITCH * ((double)i + 0.5);

        for (int k = -20; k <= 20; k++) {
            double x = 0.15 * k, w = weight(v, x);

            sum += w * sharp(v, depth_at(v, s + x * half), 0.0);
            all += w;
        }
        cells[i] = (float)(sum / all + next(&h));
    }
}

/* Where the index without blur stands at half of its plateau, the mean of what
 * stands near the top. */
static bool half_heights(const truth *v, double *from, double *to)
{
    double top = 0.0, sum = 0.0, n = 0.0;

    for (double s = 0.0005; s < v->length; s += 0.001)
        top = fmax(top, sharp(v, depth_at(v, s), 0.0));
    for (double s = 0.0005; s < v->length; s += 0.001) {
        double i = sharp(v, depth_at(v, s), 0.0);

        sum += i > 0.8 * top ? i : 0.0;
        n += i > 0.8 * top ? 1.0 : 0.0;
    }
    *from = *to = -1.0;
    for (double s = 0.0005; s < v->length; s += 0.001)
        if (sharp(v, depth_at(v, s), 0.0) >= 0.5 * sum / n) {
            *from = *from < 0.0 ? s : *from;
            *to = s;
        }
    return top > 0.3 && *to - *from > 0.13;
}

/* ---- one void ---- */

typedef struct {
    double true_volume, true_area, tool_area;
    dm_void_size size;
    size_t areas, areas_held; /* of the turns' bounds */
    double areas_ratio;
} outcome;

static bool try_void(double noise, size_t turns, outcome *out)
{
    truth v = draw_truth();
    dm_arena *arena = dm_arena_new();
    float profile[CELLS];
    dm_void_section sections[TURNS];
    dm_turn_view view = {.footprint = AROUND / OUTSIDE,
                         .layer = LAYER,
                         .band = {0.25, 0.15, -0.25, -0.15}};
    double from, to;
    bool good = arena != NULL && half_heights(&v, &from, &to);
    dm_void_view w;

    if (!good) {
        dm_arena_free(arena);
        return false;
    }
    w = (dm_void_view){.r = BORE,
                       .from = from + chance_normal(EDGE_U),
                       .to = to + chance_normal(EDGE_U),
                       .u_from = EDGE_U,
                       .u_to = EDGE_U,
                       .slope = -v.slope,
                       .tilt = 2.0 * PI / 180.0,
                       .layer = LAYER,
                       .footprint = ALONG,
                       .least = (double)NAN,
                       .share = v.share,
                       .sections = sections,
                       .first = -0.6,
                       .pitch = PITCH,
                       .profile = profile,
                       .profile_count = CELLS};
    *out = (outcome){.true_volume = volume_of(&v)};
    read_crown(&v, w.first, noise, profile);
    for (size_t i = 0; i < turns; i++) {
        double part = ((double)i + chance_uniform(0.15, 0.85)) / (double)turns;
        double s = from + part * (to - from), area = area_of(depth_at(&v, s));
        double index[DM_TURN_CELLS];
        dm_turn t = dm_turn_unknown();

        t.index = index;
        t.cell_count = DM_TURN_CELLS;
        t.bore = BORE;
        read_turn(&v, s, noise, &t);
        if (!dm_turn_measure(arena, &view, &t) || isnan(t.area.best))
            continue;
        out->areas++;
        out->areas_held += area >= t.area.low && area <= t.area.high;
        sections[w.section_count++] =
            (dm_void_section){s, t.area, dm_turn_common(&t)};
    }
    good = w.section_count == turns;
    if (good && turns > 0)
        good = dm_void_measure(&w, &out->size);
    else if (good)
        dm_void_limits(&w, 8.0 * PI / 180.0, PI, &out->size);
    dm_arena_free(arena);
    return good;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static double median(double *v, size_t n)
{
    qsort(v, n, sizeof *v, by_value);
    return n > 0 ? v[n / 2] : (double)NAN;
}

/* Rows of one noise and number of turns; most > least: any number between. */
static void cell(double noise, size_t least, size_t most, size_t count)
{
    double *ratio = calloc(count + 1, sizeof *ratio);
    double *best = calloc(count + 1, sizeof *best);
    size_t held = 0, areas = 0, areas_held = 0, n = 0;
    char head[64], text[128];

    for (size_t tries = 0;
         ratio != NULL && best != NULL && n < count && tries < 20 * count;
         tries++) {
        outcome o;

        if (!try_void(noise, least + chance_index(most - least + 1), &o))
            continue;
        held += o.true_volume >= o.size.volume.low &&
                o.true_volume <= o.size.volume.high;
        ratio[n] = o.size.volume.high / o.size.volume.low;
        best[n] = o.size.volume.best / o.true_volume;
        areas += o.areas;
        areas_held += o.areas_held;
        n++;
    }
    if (most > least)
        snprintf(head, sizeof head, "noise %.2f, %zu to %zu turns", noise,
                 least, most);
    else
        snprintf(head, sizeof head, "noise %.2f, %zu turn%s", noise, least,
                 least == 1 ? "" : "s");
    snprintf(text, sizeof text, "%s: volume in its bounds", head);
    table_share(text, held, n, 0.90, 1.0);
    if (least > 0) {
        double middle = median(ratio, n);

        snprintf(text, sizeof text, "%s: high/low, median", head);
        table_most(text, middle, "", n, least > 1 ? 2.5 : 4.0);
        snprintf(text, sizeof text, "%s: area in its bounds", head);
        table_share(text, areas_held, areas, 0.90, 1.0);
        printf("    %s: best over true volume, median %.2f\n", head,
               median(best, n));
    }
    free(ratio);
    free(best);
}

void sim_volume(uint64_t seed, double scale)
{
    static const double noises[] = {0.02, 0.04, 0.08};
    size_t count = (size_t)fmax(20.0, 400.0 * scale);

    chance_seed(seed);
    table_head("Volumes");
    for (size_t i = 0; i < 3; i++) {
        cell(noises[i], 0, 0, count);
        cell(noises[i], 1, 1, count);
        cell(noises[i], 2, 4, count);
    }
}
