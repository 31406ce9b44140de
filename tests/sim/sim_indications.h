/* SPDX-License-Identifier: MIT
 * Blocks of sim_indications.c. Each draws from its own seed, prints its rows
 * through table.h (which counts what is missed), and returns nothing.
 *
 * scale: 1 for the full form, less for the short one among the tests; counts
 * of trials are multiplied by it. */
#ifndef SIM_INDICATIONS_H
#define SIM_INDICATIONS_H

#include <stdint.h>

/* Are voids found, by length, plateau and noise; are they taken for
 * lift-offs? */
void sim_detection(uint64_t seed, double scale);

/* False calls per km, lift-offs called void, thresholds within the noise. */
void sim_false(uint64_t seed, double scale);
/* Ends: abrupt, tapered, of zones shorter than the footprint. */
void sim_ends(uint64_t seed, double scale);

/* Readings files of three runs through the whole stage: merging, open ends,
 * unread and strand-masked lengths. */
void sim_chain(uint64_t seed, double scale);

/* Do the bounds of area and volume hold the truth, by turns and noise? */
void sim_volume(uint64_t seed, double scale);

/* Kinds by probability: soft grout or a strand at the wall, voids. */
void sim_kind(uint64_t seed, double scale);
/* Clock angles mirrored on one run: seen, and doubted without cause. */
void sim_mirror(uint64_t seed, double scale);

#endif
