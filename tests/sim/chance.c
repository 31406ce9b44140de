/* SPDX-License-Identifier: MIT
 * Random numbers. xoshiro256** of Blackman and Vigna, seeded by
 * splitmix64; normal by Marsaglia's polar method. */
#include <math.h>

#include "chance.h"

static uint64_t state[4];

static uint64_t rotated(uint64_t v, int by)
{
    return (v << by) | (v >> (64 - by));
}

static uint64_t next(void)
{
    uint64_t out = rotated(state[1] * 5, 7) * 9, t = state[1] << 17;
    state[2] ^= state[0];
    state[3] ^= state[1];
    state[1] ^= state[2];
    state[0] ^= state[3];
    state[2] ^= t;
    state[3] = rotated(state[3], 45);
    return out;
}

void chance_seed(uint64_t seed)
{
    for (int i = 0; i < 4; i++) {
        uint64_t z = (seed += 0x9e3779b97f4a7c15u);
        z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
        z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
        state[i] = z ^ (z >> 31);
    }
}

double chance_uniform(double from, double to)
{
    return from + (to - from) * ((double)(next() >> 11) / 9007199254740992.0);
}

double chance_normal(double sd)
{
    double a, b, r;
    do {
        a = chance_uniform(-1.0, 1.0);
        b = chance_uniform(-1.0, 1.0);
        r = a * a + b * b;
    } while (r >= 1.0 || r <= 0.0);
    return sd * a * sqrt(-2.0 * log(r) / r);
}

size_t chance_index(size_t count)
{
    return (size_t)chance_uniform(0.0, (double)count) % count;
}
