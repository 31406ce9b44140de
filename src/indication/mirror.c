/* SPDX-License-Identifier: MIT
 * Somebody who faces back reads 12 - clock. Where others read the same tendon,
 * their profiles tell.
 *
 * Means of blocks of 0.1 m are compared, on the blocks that all have, at the
 * shift within +-0.1 m that correlates best (stations of runs differ). Two
 * things must hold before a run's clock angle is doubted: the normalised
 * cross-correlation with the mirrored line is greater by LEAD and above
 * LEAST; and the readings say so beyond their noise: half the sum of squared
 * misfits to its own line less that to the mirrored one is EVIDENCE or more,
 * each square in units of the noise of both and of what two runs on one line
 * differ by anyway (DIFFER, and SHARE of the level), and cut at CUT, so that
 * one thing on the wall decides nothing. Where nobody read the mirrored line:
 * the correlation with the own line is under LEAST, and the misfit is
 * EVIDENCE beyond what noise makes of it; then one of the two is wrong, and
 * nothing tells which. Where the run, or what it is compared with, shows
 * nothing beyond noise there is nothing to compare.
 *
 * Limit: what is alike on both lines (a level void about the crown) tells
 * nothing, whatever the clock angle. LEAD, LEAST, EVIDENCE, CUT, DIFFER and
 * SHARE: chosen here, no source; what they lead to is measured by
 * tests/sim/sim_mirror.c. */
#include "indication/mirror.h"

#include <math.h>

#define CELLS 5    /* of a block */
#define MOST_LAG 5 /* cells */
#define LEAD 0.05
#define LEAST 0.8
#define EVIDENCE 15.0
#define CUT 9.0
#define DIFFER 0.03
#define SHARE 0.1
#define BLOCKS_LEAST 20
#define SIGNAL_LEAST 1.0 /* variance of what is shown, to that of the noise */

static double block(const dm_mirror_line *l, size_t b, int lag)
{
    double sum = 0.0;
    int n = 0;

    for (int k = 0; k < CELLS; k++) {
        long at = (long)(b * CELLS) + k + lag;

        if (at < 0 || (size_t)at >= l->count || isnan(l->index[at]))
            continue;
        sum += (double)l->index[at];
        n++;
    }
    return 2 * n > CELLS ? sum / n : (double)NAN;
}

typedef struct {
    double r, var_a, var_b;
    size_t n;
} correlation;

/* Of a and b shifted by lag, on blocks that a, b and c (or NULL) have. */
static correlation correlate(const dm_mirror_line *a, const dm_mirror_line *b,
                             int lag, const dm_mirror_line *c)
{
    double sa = 0.0, sb = 0.0, aa = 0.0, bb = 0.0, ab = 0.0, n = 0.0;
    correlation out = {0.0, 0.0, 0.0, 0};

    for (size_t i = 0; i < a->count / CELLS; i++) {
        double x = block(a, i, 0), y = block(b, i, lag);

        if (isnan(x) || isnan(y) || (c != NULL && isnan(block(c, i, 0))))
            continue;
        sa += x;
        sb += y;
        aa += x * x;
        bb += y * y;
        ab += x * y;
        n += 1.0;
    }
    if (n < 2.0)
        return out;
    out.n = (size_t)n;
    out.var_a = fmax(0.0, aa / n - sa * sa / (n * n));
    out.var_b = fmax(0.0, bb / n - sb * sb / (n * n));
    if (out.var_a > 0.0 && out.var_b > 0.0)
        out.r = (ab / n - sa * sb / (n * n)) / sqrt(out.var_a * out.var_b);
    return out;
}

/* The shift that correlates best. */
static correlation best_shift(const dm_mirror_line *a, const dm_mirror_line *b,
                              const dm_mirror_line *c, int *lag)
{
    correlation best = correlate(a, b, 0, c);

    *lag = 0;
    for (int k = -MOST_LAG; k <= MOST_LAG; k++) {
        correlation one = correlate(a, b, k, c);

        if (one.n > 1 && one.r > best.r) {
            best = one;
            *lag = k;
        }
    }
    return best;
}

/* `noise`: what noise alone is expected to make of it. */
static double misfit(const dm_mirror_line *a, const dm_mirror_line *b, int lag,
                     const dm_mirror_line *c, double *noise)
{
    double sum = 0.0;

    *noise = 0.0;
    for (size_t i = 0; i < a->count / CELLS; i++) {
        double x = block(a, i, 0), y = block(b, i, lag), own, var;

        if (isnan(x) || isnan(y) || (c != NULL && isnan(block(c, i, 0))))
            continue;
        own = SHARE * fmax(fabs(x), fabs(y));
        var = a->var + b->var + DIFFER * DIFFER + own * own;
        *noise += (a->var + b->var) / var;
        sum += fmin((x - y) * (x - y) / var, CUT);
    }
    return sum;
}

static bool shows(double var, double noise)
{
    return var - noise >= SIGNAL_LEAST * (noise + DIFFER * DIFFER);
}

dm_mirror dm_mirror_test(const dm_mirror_line *run, const dm_mirror_line *same,
                         const dm_mirror_line *other)
{
    dm_mirror out = {DM_MIRROR_UNKNOWN, (double)NAN, (double)NAN, 0.0, 0};
    int lag_same, lag_other = 0;
    correlation s, o = {0.0, 0.0, 0.0, 0};
    double noise;
    bool seen;

    if (same == NULL)
        return out;
    s = best_shift(run, same, other, &lag_same);
    if (other != NULL && s.n < BLOCKS_LEAST) { /* hardly any in common */
        other = NULL;
        s = best_shift(run, same, NULL, &lag_same);
    }
    out.blocks = s.n;
    if (s.n < BLOCKS_LEAST)
        return out;
    out.same = s.r;
    seen = shows(s.var_a, run->var) || shows(s.var_b, same->var);
    if (other == NULL) {
        out.evidence = misfit(run, same, lag_same, NULL, &noise);
        out.evidence = 0.5 * (out.evidence - noise);
        if (seen)
            out.finding = s.r < LEAST && out.evidence >= EVIDENCE
                              ? DM_MIRROR_APART
                              : DM_MIRROR_FITS;
        return out;
    }
    o = best_shift(run, other, same, &lag_other);
    out.other = o.r;
    seen = seen || shows(o.var_b, other->var);
    out.evidence = 0.5 * (misfit(run, same, lag_same, other, &noise) -
                          misfit(run, other, lag_other, same, &noise));
    if (seen)
        out.finding =
            o.r >= LEAST && o.r - s.r >= LEAD && out.evidence >= EVIDENCE
                ? DM_MIRROR_OTHER
                : DM_MIRROR_FITS;
    return out;
}
