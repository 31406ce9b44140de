/* SPDX-License-Identifier: MIT
 * Probability of detection. Runs of 30 m with twenty zones, abrupt ends, all
 * kernels in turn. Found: a void-like zone reaches into the true one. */
#include <math.h>
#include <stdio.h>

#include "chance.h"
#include "core.h"
#include "sim_indications.h"
#include "table.h"

#define EACH 20

static const double noises[] = {0.02, 0.04, 0.08};
static const double heights[] = {0.4, 0.6, 0.9};
static const double lengths[] = {0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 3.0};

typedef struct {
    size_t voids, found, lifted;
} tally;

static tally cell(double noise, double height, double length, size_t runs)
{
    static sensor_run run;
    tally sum = {0, 0, 0};

    for (size_t r = 0; r < runs; r++) {
        core c;

        sensor_begin(&run, 31.0, noise, 0.01, (int)(r % SENSOR_KERNELS));
        for (int i = 0; i < EACH; i++) {
            double at = 1.5 * i + 1.0 + chance_uniform(0.0, 0.3);

            sensor_put(&run, at, at + length * SENSOR_W, height);
        }
        core_begin(&c, &run);
        for (int i = 0; i < EACH; i++) {
            const sensor_zone *z = &run.zones[i];

            sum.voids++;
            sum.found += core_found(&c, z->from, z->to) != NULL;
            sum.lifted += core_lifted(&c, z->from, z->to);
        }
        core_end(&c);
    }
    return sum;
}

/* What is asked of a cell; 0: nothing. */
static double asked(double noise, double height, double length)
{
    if (height < 0.5)
        return length >= 2.0 ? 0.99 : length >= 1.5 ? 0.95 : 0.0;
    /* More of a higher plateau or a longer zone cannot be harder. */
    if (length >= 2.0)
        return 0.99;
    return length >= (noise < 0.06 ? 1.0 : 1.5) ? 0.95 : 0.0;
}

void sim_detection(uint64_t seed, double scale)
{
    size_t runs = (size_t)fmax(3.0, floor(24.0 * scale + 0.5));

    chance_seed(seed);
    for (int n = 0; n < 3; n++) {
        tally most = {0, 0, 0};
        char text[80];

        snprintf(text, sizeof text, "Voids found, noise %.2f", noises[n]);
        table_head(text);
        for (int h = 0; h < 3; h++)
            for (int l = 0; l < 7; l++) {
                tally t = cell(noises[n], heights[h], lengths[l], runs);
                double least = asked(noises[n], heights[h], lengths[l]);

                snprintf(text, sizeof text, "plateau %.2f, length %.2f w",
                         heights[h], lengths[l]);
                if (least > 0.0)
                    table_share(text, t.found, t.voids, least, 1.0);
                else
                    table_band(text, t.found, t.voids);
                if (lengths[l] >= 1.5) {
                    most.voids += t.voids;
                    most.lifted += t.lifted;
                }
            }
        table_share("voids of 1.5 w and more called lift-off", most.lifted,
                    most.voids, 0.0, 0.01);
    }
}
