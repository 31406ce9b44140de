/* SPDX-License-Identifier: MIT
 * The blurred index of a line of nodes is a sum over its jumps and kinks of the
 * kernel integrated once (a jump) and twice (a kink), both tabulated by the
 * trapezium rule; so a reading costs a few look-ups. */
#include "sensor.h"

#include <math.h>
#include <string.h>

#include "chance.h"

#define PI 3.14159265358979323846
/* Kernels end at this many footprints. */
#define REACH 1.5
#define STEPS 3000
/* Straight pieces of a bowed taper. */
#define BOWS 32

typedef struct {
    double once[STEPS + 1], twice[STEPS + 1];
    bool made;
} tables;

static tables made[SENSOR_KERNELS];

static double kernel(int kind, double u)
{
    double d = fabs(u), s = 1.0 / sqrt(12.0), h;

    if (kind == 1)
        return exp(-0.5 * d * d / (s * s));
    h = kind == 0 ? 1.0 : s / sqrt(1.0 / 3.0 - 2.0 / (PI * PI));
    return d < h ? 1.0 + cos(PI * d / h) : 0.0;
}

static const tables *table_of(int kind)
{
    tables *t = &made[kind];
    const double du = 2.0 * REACH / STEPS;

    if (t->made)
        return t;
    for (int i = 1; i <= STEPS; i++) {
        double a = -REACH + (i - 1) * du;

        t->once[i] = t->once[i - 1] +
                     0.5 * du * (kernel(kind, a) + kernel(kind, a + du));
    }
    for (int i = 0; i <= STEPS; i++)
        t->once[i] /= t->once[STEPS];
    for (int i = 1; i <= STEPS; i++)
        t->twice[i] =
            t->twice[i - 1] + 0.5 * du * (t->once[i - 1] + t->once[i]);
    t->made = true;
    return t;
}

/* Interpolated at u footprints. */
static double look_up(const double *v, double u)
{
    double at = (u + REACH) * (STEPS / (2.0 * REACH));
    size_t i = (size_t)at;
    double f = at - (double)i;

    return v[i] + f * (v[i + 1] - v[i]);
}

static double jump(const tables *t, double d)
{
    double u = d / SENSOR_W;

    return u <= -REACH ? 0.0 : u >= REACH ? 1.0 : look_up(t->once, u);
}

static double kink(const tables *t, double d)
{
    double u = d / SENSOR_W;

    return u <= -REACH ? 0.0 : u >= REACH ? d : SENSOR_W * look_up(t->twice, u);
}

static double bow(double z)
{
    return (1.0 - exp(-2.0 * z)) / (1.0 - exp(-2.0));
}

/* Share of the taper at which half height stands. */
static double half_share(const sensor_zone *z)
{
    return z->bowed ? -0.5 * log(1.0 - 0.5 * (1.0 - exp(-2.0))) : 0.5;
}

double sensor_tip(const sensor_zone *z, int side)
{
    double by = half_share(z) * z->taper[side > 0];

    return side < 0 ? z->from - by : z->to + by;
}

/* One end at distance d inside it (from half height, positive inwards). */
static double end_of(const tables *t, const sensor_zone *z, int end, double d)
{
    double taper = z->taper[end], sum = 0.0, last = 0.0;
    int n = z->bowed ? BOWS : 1;

    if (taper <= 0.0)
        return jump(t, d);
    d += half_share(z) * taper; /* from the tip */
    for (int i = 0; i <= n; i++) {
        double slope = 0.0, at = taper * i / n;

        if (i < n)
            slope = z->bowed
                        ? (bow((i + 1.0) / n) - bow((double)i / n)) * n / taper
                        : 1.0 / taper;
        sum += (slope - last) * kink(t, d - at);
        last = slope;
    }
    return sum;
}

static double zone_at(const sensor_zone *z, int kind, double s)
{
    const tables *t = table_of(kind);
    double far = REACH * SENSOR_W;

    if (s < sensor_tip(z, -1) - far || s > sensor_tip(z, +1) + far)
        return 0.0;
    /* Sum of an end that rises and one that falls. */
    return z->height *
           (end_of(t, z, 0, s - z->from) + end_of(t, z, 1, z->to - s) - 1.0);
}

/* Share of the way from the duct to `level`. */
static double lifted(const sensor_lift *l, double s)
{
    double a = (s - l->from) / fmax(l->rise, 1e-9) + 0.5;
    double b = (l->to - s) / fmax(l->rise, 1e-9) + 0.5;

    return fmax(0.0, fmin(1.0, fmin(a, b)));
}

void sensor_begin(sensor_run *run, double length, double noise, double drift,
                  int kind)
{
    memset(run, 0, sizeof *run);
    run->length = length;
    run->noise = noise;
    run->kernel = kind;
    run->step = chance_uniform(0.002, 0.005);
    run->gain = 1.0 + chance_normal(0.02);
    for (int i = 0; i < 3; i++) {
        run->wave[i] = chance_normal(drift);
        run->at[i] = chance_uniform(0.0, 2.0 * PI);
    }
}

sensor_zone *sensor_put(sensor_run *run, double from, double to, double height)
{
    sensor_zone *z = &run->zones[run->zone_count++];

    *z = (sensor_zone){.from = from, .to = to, .height = height};
    return z;
}

sensor_lift *sensor_lift_off(sensor_run *run, double from, double to,
                             double rise, double level)
{
    sensor_lift *l = &run->lifts[run->lift_count++];

    *l = (sensor_lift){from, to, rise, level};
    return l;
}

size_t sensor_rows_max(const sensor_run *run)
{
    return (size_t)(run->length / (0.7 * run->step)) + 2;
}

static double drift_at(const sensor_run *run, double s)
{
    static const double length[3] = {4.0, 7.0, 13.0};
    double sum = 0.0;

    for (int i = 0; i < 3; i++)
        sum += run->wave[i] * sin(2.0 * PI * s / length[i] + run->at[i]);
    return sum;
}

size_t sensor_walk(const sensor_run *run, double *x, double *y)
{
    double slow = chance_normal(1.0), s = chance_uniform(0.0, run->step);
    double each = run->noise * sqrt(0.5);
    size_t rows = 0, first = 0;

    while (s < run->length) {
        double v = 0.0, by = run->step * chance_uniform(0.7, 1.3), rho;

        /* Zones are put in order; those behind are done with. */
        while (first < run->zone_count &&
               sensor_tip(&run->zones[first], 1) + REACH * SENSOR_W < s)
            first++;
        for (size_t k = first; k < run->zone_count; k++) {
            if (sensor_tip(&run->zones[k], -1) - REACH * SENSOR_W > s)
                break;
            v += zone_at(&run->zones[k], run->kernel, s);
        }
        v = run->gain * v + drift_at(run, s);
        for (size_t k = 0; k < run->lift_count; k++)
            v += lifted(&run->lifts[k], s) * (run->lifts[k].level - v);
        y[rows] = v + each * (slow + chance_normal(1.0));
        x[rows++] = 0.0005 * floor((s + chance_normal(0.0004)) / 0.0005 + 0.5);
        s += by;
        rho = exp(-by / (0.4 * SENSOR_W));
        slow = rho * slow + sqrt(1.0 - rho * rho) * chance_normal(1.0);
    }
    return rows;
}
