/* SPDX-License-Identifier: MIT
 * The numeric core driven as the program drives it: readings of one run to
 * cells, noise, lift-offs, zones. For sim_indications.c. */
#ifndef CORE_H
#define CORE_H

#include "indication/signal.h"
#include "sensor.h"

typedef struct {
    dm_strip strip;
    dm_noise noise;
    dm_thresholds band; /* in force */
    bool raised;        /* the noise demanded it: the program warns */
    dm_found_list list;
} core;

/* Walks the run and searches it under band 0.25 / 0.15. Aborts where memory
 * ends. Free with core_end. */
void core_begin(core *c, const sensor_run *run);
void core_end(core *c);
/* The first found void-like zone that reaches into from..to; NULL: none. */
const dm_found *core_found(const core *c, double from, double to);
/* How many zones do, of either sign. */
size_t core_count(const core *c, double from, double to);
/* Whether a cell within from..to was taken for a lift-off. */
bool core_lifted(const core *c, double from, double to);

#endif
