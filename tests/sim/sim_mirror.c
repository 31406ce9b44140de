/* SPDX-License-Identifier: MIT
 * Mirrored clock angles: how often they are seen, how often a good one is
 * doubted. Tendons of 40 m, read on 2 and on 10 o'clock (60 deg), some of their
 * voids, soft lengths and strands on one side, some alike on both; runs differ
 * by gain, drift, noise, stations (15 mm) and lift-offs. Through the program's
 * own cells and lift-offs (core.h). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "chance.h"
#include "core.h"
#include "indication/mirror.h"
#include "sim_indications.h"
#include "table.h"

#define LENGTH 40.0
#define CELLS 2000
#define ZONES 6

typedef struct {
    double from, length, height[2];
} zone;

static void truth(zone *z)
{
    for (int i = 0; i < ZONES; i++) {
        double one = chance_uniform(0.0, 1.0);

        z[i].from = 1.0 + 6.4 * i + chance_uniform(0.0, 3.0);
        z[i].length = chance_uniform(0.15, 1.5);
        z[i].height[0] = z[i].height[1] =
            one < 0.6 ? chance_uniform(0.3, 0.8) : chance_uniform(-0.8, -0.3);
        /* Half lie more to one side. */
        if (chance_uniform(0.0, 1.0) < 0.5)
            z[i].height[chance_index(2)] *= chance_uniform(0.0, 0.4);
    }
}

static double walk(const zone *z, int side, double noise, float *out)
{
    static sensor_run run;
    static float n[CELLS];
    double shift = chance_normal(0.015), var;
    core c;

    sensor_begin(&run, LENGTH, noise, 0.01, (int)chance_index(SENSOR_KERNELS));
    for (int i = 0; i < ZONES; i++)
        sensor_put(&run, z[i].from + shift, z[i].from + shift + z[i].length,
                   z[i].height[side] * (1.0 + chance_normal(0.05)));
    for (int i = 0; i < 3; i++) {
        double at = chance_uniform(0.5, 39.0);

        sensor_lift_off(&run, at, at + chance_uniform(0.02, 0.3), 0.01, 0.9);
    }
    core_begin(&c, &run);
    memset(n, 0, sizeof n);
    memset(out, 0, CELLS * sizeof *out);
    for (size_t i = 0; i < c.strip.count; i++) {
        size_t k = (size_t)(c.strip.t[i] / 0.02);

        if (c.strip.bad[i] || k >= CELLS)
            continue;
        out[k] += (float)c.strip.index[i];
        n[k] += 1.0f;
    }
    for (size_t k = 0; k < CELLS; k++)
        out[k] = n[k] > 0.0f ? out[k] / n[k] : NAN;
    var =
        dm_noise_mean_var(&c.noise, (size_t)(DM_MIRROR_BLOCK / c.strip.pitch));
    core_end(&c);
    return var;
}

void sim_mirror(uint64_t seed, double scale)
{
    static const double noises[] = {0.02, 0.04, 0.08};
    static float v[3][CELLS];
    char text[80];

    chance_seed(seed);
    table_head("Clock angles mirrored on one run");
    for (size_t k = 0; k < 3; k++)
        for (int lines = 1; lines <= 2; lines++) {
            size_t doubted[2] = {0, 0}, n = (size_t)(300.0 * scale);

            for (size_t i = 0; i < n; i++)
                for (int wrong = 0; wrong < 2; wrong++) {
                    zone z[ZONES];
                    dm_mirror_line run, same, other;
                    dm_mirror m;

                    truth(z);
                    run = (dm_mirror_line){v[0], CELLS,
                                           walk(z, wrong, noises[k], v[0])};
                    same = (dm_mirror_line){v[1], CELLS,
                                            walk(z, 0, noises[k], v[1])};
                    other = (dm_mirror_line){v[2], CELLS,
                                             walk(z, 1, noises[k], v[2])};
                    m = dm_mirror_test(&run, &same, lines == 2 ? &other : NULL);
                    doubted[wrong] += m.finding == DM_MIRROR_OTHER ||
                                      m.finding == DM_MIRROR_APART;
                }
            snprintf(text, sizeof text, "noise %.2f, %s: mirrored, doubted",
                     noises[k], lines == 1 ? "own line only" : "both lines");
            table_note(text, doubted[1], n);
            snprintf(text, sizeof text, "noise %.2f, %s: right, doubted",
                     noises[k], lines == 1 ? "own line only" : "both lines");
            table_note(text, doubted[0], n);
        }
}
