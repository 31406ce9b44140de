/* SPDX-License-Identifier: MIT
 * Books with two skips that nobody wrote down: two groups, each with one of
 * them first or equal to the first. */
#include "pairs.h"

#include <stdio.h>
#include <stdlib.h>

#include "named.h"
#include "table.h"

#define INTERVALS (SITE_STOPS - 1)
#define RUNS 6

static site bad;

static bool both_named(const size_t run[2], const site_blunder b[2],
                       bool length)
{
    return named_in(&bad, 2, run[0], &b[0], true, length) &&
           named_in(&bad, 2, run[1], &b[1], true, length);
}

typedef struct {
    size_t kinds, lengths; /* both named; both lengths, too */
    size_t open;           /* neither interval is shown as reconciled */
} pair_tally;

static bool is_open(size_t run, size_t at)
{
    for (size_t i = 0; i < bad.stations->interval_count; i++)
        if (bad.stations->intervals[i].run == run && at-- == 0)
            return !bad.stations->intervals[i].reconciled;
    abort();
}

static void count_pair(pair_tally *t, const size_t run[2],
                       const site_blunder b[2])
{
    if (site_solve(&bad) != DM_OK)
        abort();
    t->kinds += both_named(run, b, false);
    t->lengths += both_named(run, b, true);
    t->open += is_open(run[0], b[0].at) && is_open(run[1], b[1].at);
    site_end(&bad);
}

void two_runs(size_t cases)
{
    pair_tally t = {0, 0, 0};
    site_terms terms = {.scale_u = 0.005, .thick = 0.8};
    static const size_t run[2] = {0, 1};
    static const site_blunder b[2] = {{SITE_UNWRITTEN, 0, 0.30, NULL},
                                      {SITE_UNWRITTEN, 0, 0.10, NULL}};
    for (size_t i = 0; i < cases; i++) {
        site_begin(&bad, &terms);
        for (size_t r = 0; r < RUNS; r++) {
            size_t from = chance_index(INTERVALS), to = from + 1;
            bool back = chance_index(2) == 1;
            site_run(&bad, back ? to : from, back ? from : to, false,
                     r < 2 ? &b[r] : NULL);
        }
        count_pair(&t, run, b);
    }
    table_share("two of six runs, 0.30 m and 0.10 m: both named first", t.kinds,
                cases, 0.97, 1.0);
    table_share("  and both lengths within three of their u", t.lengths, cases,
                0.97, 1.0);
    table_share("  both not reconciled", t.open, cases, 0.97, 1.0);
}

/* No threshold for names: with three intervals and a scale, two as long are
 * nearly the same data as one of the opposite sign in the third. What must not
 * be is that they are shown as reconciled. */
void two_intervals(size_t cases, double second, bool unlike)
{
    char text[80];
    pair_tally t = {0, 0, 0};
    site_terms terms = {.scale_u = 0.005, .thick = 0.8, .unlike = unlike};
    static const size_t run[2] = {0, 0};
    for (size_t i = 0; i < cases; i++) {
        size_t at = chance_index(INTERVALS);
        size_t other = (at + 1 + chance_index(INTERVALS - 1)) % INTERVALS;
        site_blunder b[2] = {{SITE_UNWRITTEN, at, 0.30, NULL},
                             {SITE_UNWRITTEN, other, second, NULL}};
        bool back = chance_index(2) == 1;
        b[0].also = &b[1];
        site_begin(&bad, &terms);
        site_run(&bad, back ? INTERVALS : 0, back ? 0 : INTERVALS, true, b);
        count_pair(&t, run, b);
    }
    snprintf(text, sizeof text,
             "one run, 0.30 m and %.2f m%s: both named first", second,
             unlike ? ", unlike" : "");
    table_note(text, t.kinds, cases);
    table_note("  and both lengths within three of their u", t.lengths, cases);
    if (second > 0.2)
        table_share("  both not reconciled", t.open, cases, 0.97, 1.0);
    else
        table_note("  both not reconciled", t.open, cases);
}
