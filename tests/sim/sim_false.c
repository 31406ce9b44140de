/* SPDX-License-Identifier: MIT
 * What is called that is not there. False calls: sound runs of 50 m with a
 * drift and a lift-off every 10 m, indications of either sign further than
 * 0.3 m from any. Lift-offs: rise within 0.2 w, 0.2 to 1 w wide, from the
 * band to air; longer ones of 1 to 5 w beside them. */
#include <math.h>
#include <stdio.h>

#include "chance.h"
#include "core.h"
#include "sim_indications.h"
#include "table.h"

#define RUN 50.0
#define AWAY 0.3

static const double noises[] = {0.02, 0.04, 0.08};

/* A lift-off about every `apart` metres. */
static void lift_often(sensor_run *run, double apart, double least, double most)
{
    for (double at = 1.0; at + 2.0 < run->length; at += apart) {
        double from = at + chance_uniform(0.0, 0.3);
        double width = SENSOR_W * chance_uniform(least, most);
        double rise = SENSOR_W * chance_uniform(0.0, 0.2);

        sensor_lift_off(run, from, from + width, fmin(rise, width),
                        chance_uniform(0.25, 1.0));
    }
}

static bool near_lift(const sensor_run *run, const dm_found *f)
{
    for (size_t i = 0; i < run->lift_count; i++)
        if (f->to.t > run->lifts[i].from - AWAY &&
            f->from.t < run->lifts[i].to + AWAY)
            return true;
    return false;
}

static void false_calls(double noise, double drift, double km)
{
    static sensor_run run;
    size_t runs = (size_t)ceil(1000.0 * km / RUN), calls = 0, raised = 0;
    char text[80];

    for (size_t r = 0; r < runs; r++) {
        core c;

        sensor_begin(&run, RUN, noise, drift, (int)(r % SENSOR_KERNELS));
        lift_often(&run, 10.0, 0.2, 1.0);
        core_begin(&c, &run);
        raised += c.raised;
        for (size_t i = 0; i < c.list.count; i++)
            calls += !near_lift(&run, &c.list.items[i]);
        core_end(&c);
    }
    km = (double)runs * RUN / 1000.0;
    snprintf(text, sizeof text, "noise %.2f, drift waves %.2f: false calls",
             noise, drift);
    if (noise <= 0.25 / 3.0) {
        table_most(text, (double)calls / km, "a km", (size_t)floor(km + 0.5),
                   0.5);
        return;
    }
    /* The band is closer to 0 than three deviations of the noise. */
    table_value(text, (double)calls / km, "a km", (size_t)floor(km + 0.5));
    table_share("  runs that warn of a raised band", raised, runs, 0.99, 1.0);
}

static void lifts(double noise, double least, double most, size_t runs,
                  double asked)
{
    static sensor_run run;
    size_t called = 0, count = 0;
    char text[80];

    for (size_t r = 0; r < runs; r++) {
        core c;

        sensor_begin(&run, RUN, noise, 0.01, (int)(r % SENSOR_KERNELS));
        lift_often(&run, 1.6, least, most);
        core_begin(&c, &run);
        for (size_t i = 0; i < run.lift_count; i++) {
            const sensor_lift *l = &run.lifts[i];

            count++;
            called += core_found(&c, l->from, l->to) != NULL;
        }
        core_end(&c);
    }
    snprintf(text, sizeof text, "noise %.2f, %.1f-%.1f w wide: called void",
             noise, least, most);
    if (asked < 1.0)
        table_share(text, called, count, 0.0, asked);
    else
        table_band(text, called, count);
}

void sim_false(uint64_t seed, double scale)
{
    size_t runs = (size_t)fmax(3.0, floor(60.0 * scale + 0.5));

    chance_seed(seed);
    table_head("False calls away from lift-offs (of: km)");
    for (int n = 0; n < 3; n++)
        false_calls(noises[n], 0.01, 40.0 * scale);
    for (int n = 0; n < 3; n++)
        false_calls(noises[n], 0.03, 20.0 * scale);
    false_calls(0.12, 0.01, 20.0 * scale);
    table_head("Lift-offs above the band");
    for (int n = 0; n < 3; n++)
        lifts(noises[n], 0.2, 1.0, runs, n < 2 ? 0.01 : 0.08);
    for (int n = 0; n < 3; n++)
        lifts(noises[n], 1.0, 5.0, runs, n < 2 ? 0.01 : 1.0);
}
