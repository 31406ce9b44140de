/* SPDX-License-Identifier: MIT
 * Index length of a place from the sightings of one clock line.
 *
 * Pieces that one channel of one run saw add up. Of the sums that hold no open
 * end the mean counts, with the weights of their plateaus as for the index
 * (kind.c): the variance of the sums themselves grows with their value, which
 * would draw the mean down. An open end leaves out what was not read, so that
 * such a sum must not draw a whole one down. Where all have one the greatest
 * counts. */
#include <math.h>

#include "geom/clock.h"
#include "indication/find.h"

typedef struct {
    double value, var;
    double weight; /* as its plateau has it */
    bool open;
} sum;

static bool on_line(const dm_sighting *s, double clock, bool shorter)
{
    return dm_same_line(s->clock, clock) && s->shorter == shorter;
}

/* What the run and channel of member i saw; false where an earlier member has
 * it. */
static bool sum_of(const dm_sighting *const *m, size_t n, size_t i,
                   double clock, bool shorter, sum *out)
{
    *out = (sum){0};
    if (!on_line(m[i], clock, shorter))
        return false;
    for (size_t k = 0; k < n; k++) {
        if (m[k]->run != m[i]->run || m[k]->channel != m[i]->channel ||
            !on_line(m[k], clock, shorter))
            continue;
        if (k < i)
            return false;
        out->weight += pow(fmax(m[k]->index_u, 1e-4), -2.0);
        out->value += m[k]->index_length;
        out->var += m[k]->index_length_u * m[k]->index_length_u;
        out->open = out->open || m[k]->from.open || m[k]->to.open;
    }
    out->var = fmax(out->var, 1e-8);
    return true;
}

void dm_index_length_fuse(const dm_sighting *const *m, size_t n, double clock,
                          bool shorter, dm_indication *out)
{
    double weight = 0.0, total = 0.0, var = 0.0, chi = 0.0, count = 0.0;
    sum s, greatest = {0};

    for (size_t i = 0; i < n; i++) {
        if (!sum_of(m, n, i, clock, shorter, &s))
            continue;
        if (fabs(s.value) >= fabs(greatest.value))
            greatest = s;
        if (s.open)
            continue;
        weight += s.weight;
        total += s.weight * s.value;
        var += s.weight * s.weight * s.var;
        count += 1.0;
    }
    if (count < 1.0) {
        out->index_length = greatest.value;
        out->index_length_u = sqrt(greatest.var);
        return;
    }
    out->index_length = total / weight;
    for (size_t i = 0; i < n; i++)
        if (sum_of(m, n, i, clock, shorter, &s) && !s.open)
            chi += (s.value - out->index_length) *
                   (s.value - out->index_length) / s.var;
    out->index_length_u = sqrt(var) / weight;
    if (count > 1.0)
        out->index_length_u *= sqrt(fmax(1.0, chi / (count - 1.0)));
}
