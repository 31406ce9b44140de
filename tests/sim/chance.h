/* SPDX-License-Identifier: MIT
 * Random numbers of the simulations: xoshiro256** seeded by splitmix64
 * (published generators, public domain). */
#ifndef CHANCE_H
#define CHANCE_H

#include <stddef.h>
#include <stdint.h>

void chance_seed(uint64_t seed);
double chance_uniform(double from, double to);
double chance_normal(double sd);
size_t chance_index(size_t count);

#endif
