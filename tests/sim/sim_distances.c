/* SPDX-License-Identifier: MIT
 * Seeded simulation of reconciled distances with known truth: do the stated
 * 95 % intervals cover, are blunders seen and named, how often is a sound
 * interval called wrong? The physics are those of site.c, which shares no
 * code with the library.
 *
 * The run: four ties 12 m apart, three taped skips of 0.2 to 0.5 m an
 * interval, 8 m beyond the last tie, ahead or back, nose or tail leading, ties
 * taken with any part of the sensor. Stated: encoder scale 0.5 %, walk 1.25 mm
 * per root metre, skip 5 mm, tie 3 mm. Intervals are 1.96 u each way. One
 * place in each interval of a run is scored in each bin of distance to the
 * nearest tie, so that what is counted is nearly independent (runs of one site
 * share its faces: there the bands are too narrow).
 *
 * Without an argument: a short form in which a share misses its threshold only
 * where its whole 99 % band does. --full: the counts that the thresholds are
 * stated for, no slack. --narrow: the short form with bounds taken a fifth too
 * narrow, which must miss. Exit code 1 where a threshold is missed. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "blunders.h"
#include "site.h"
#include "table.h"

#define BINS 6
#define INTERVALS (SITE_STOPS - 1)
#define MOST 40000

static site bridge;
static double k95 = 1.959963984540054; /* the 0.975 quantile of the normal */

/* ---- coverage ------------------------------------------------------------ */

static const char *const bin_names[BINS] = {
    "0-1 m from a tie", "1-2 m from a tie",   "2-4 m from a tie",
    "4-6 m from a tie", "tail, 0-4 m beyond", "tail, 4-8 m beyond"};

typedef struct {
    size_t count, covered, open;
    double *half; /* [MOST] half-widths, m */
} score;

typedef struct {
    score world[BINS], face[BINS];
} coverage;

static score new_score(void)
{
    return (score){.half = calloc(MOST, sizeof(double))};
}

static void add(score *s, double error, double variance)
{
    double half = k95 * sqrt(fmax(variance, 0.0));
    if (!s->half || s->count >= MOST)
        abort();
    s->half[s->count++] = half;
    s->covered += fabs(error) <= half;
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(score *s)
{
    qsort(s->half, s->count, sizeof *s->half, compare);
    return s->count > 0 ? s->half[s->count / 2] : 0.0;
}

/* BINS: none. */
static size_t bin_of(const site *s, const sighting *g)
{
    const double *stood = s->stood[g->run];
    double behind = fabs(g->contact - stood[g->interval]);
    if (g->interval + 1 >= s->stops[g->run])
        return behind < 4.0 ? 4 : behind < 8.0 ? 5 : BINS;
    double d = fmin(behind, fabs(g->contact - stood[g->interval + 1]));
    return d < 1.0 ? 0 : d < 2.0 ? 1 : d < 4.0 ? 2 : d < 6.0 ? 3 : BINS;
}

static void score_face(const site *s, const sighting *g,
                       const dm_station_point *p, size_t face, double variance,
                       score *out)
{
    if (face == DM_NONE)
        return;
    double told = p->t - s->faces[face].t - s->stations->face_shift[face];
    double truth = g->t - s->faces[face].t - s->built[face];
    add(out, told - truth, variance);
}

static void score_sighting(const site *s, const sighting *g, size_t bin,
                           coverage *c)
{
    dm_station_point p;
    if (!site_ask(s, g, &p) || !p.reconciled) {
        c->world[bin].open++;
        return;
    }
    add(&c->world[bin], p.t - g->t, p.world);
    score_face(s, g, &p, p.face_back, p.back, &c->face[bin]);
    score_face(s, g, &p, p.face_ahead, p.ahead, &c->face[bin]);
}

/* One sighting for each bin and interval of each run, drawn from all there. */
static void score_site(const site *s, coverage *c)
{
    const sighting *chosen[SITE_RUNS][SITE_STOPS][BINS] = {{{NULL}}};
    size_t met[SITE_RUNS][SITE_STOPS][BINS] = {{{0}}};
    for (size_t i = 0; i < s->seen_count; i++) {
        const sighting *g = &s->seen[i];
        size_t bin = bin_of(s, g);
        if (bin < BINS && chance_index(++met[g->run][g->interval][bin]) == 0)
            chosen[g->run][g->interval][bin] = g;
    }
    for (size_t r = 0; r < s->survey.run_count; r++)
        for (size_t i = 0; i < SITE_STOPS; i++)
            for (size_t b = 0; b < BINS; b++)
                if (chosen[r][i][b])
                    score_sighting(s, chosen[r][i][b], b, c);
}

static void clean_runs(site *s, const site_terms *terms, size_t runs,
                       bool taped)
{
    bool back = chance_index(2) == 1;
    site_begin(s, terms);
    for (size_t i = 0; i < runs; i++, back = !back)
        site_run(s, back ? SITE_STOPS - 1 : 0, back ? 0 : SITE_STOPS - 1, true,
                 NULL);
    if (taped) {
        site_tape(s, 0, 1);
        site_tape(s, 2, 3);
    }
    if (site_solve(s) != DM_OK)
        abort();
}

static void print_scores(const char *what, score *scores, double tie_low,
                         double tie_high, double tail_low, double tail_high)
{
    char text[80];
    for (size_t b = 0; b < BINS; b++) {
        snprintf(text, sizeof text, "%s, %s (half-width %.1f mm)", what,
                 bin_names[b], 1e3 * median(&scores[b]));
        table_share(text, scores[b].covered, scores[b].count,
                    b < 4 ? tie_low : tail_low, b < 4 ? tie_high : tail_high);
    }
}

static coverage cover(const site_terms *terms, size_t sites, size_t runs,
                      bool taped)
{
    coverage c;
    for (size_t b = 0; b < BINS; b++) {
        c.world[b] = new_score();
        c.face[b] = new_score();
    }
    for (size_t i = 0; i < sites; i++) {
        clean_runs(&bridge, terms, runs, taped);
        score_site(&bridge, &c);
        site_end(&bridge);
    }
    return c;
}

static void drop(coverage *c)
{
    size_t open = 0, count = 0;
    for (size_t b = 0; b < BINS; b++) {
        open += c->world[b].open;
        count += c->world[b].count + c->world[b].open;
        free(c->world[b].half);
        free(c->face[b].half);
    }
    table_note("places not reconciled, not scored", open, count);
}

static void coverages(size_t sites)
{
    site_terms terms = {.scale_u = 0.005};
    chance_seed(4001);
    table_head("Clean runs, physics as stated");
    coverage c = cover(&terms, sites, 1, false);
    print_scores("world", c.world, 0.93, 0.97, 0.93, 0.97);
    table_most("median half-width, 4-6 m from a tie", 1e3 * median(&c.world[3]),
               "mm", c.world[3].count, 10.5);
    table_most("median half-width, tail, 4-8 m beyond",
               1e3 * median(&c.world[5]), "mm", c.world[5].count, 11.5);
    drop(&c);

    chance_seed(4002);
    table_head("Clean runs, physics unlike the model");
    terms.unlike = true;
    c = cover(&terms, sites, 1, false);
    print_scores("world", c.world, 0.92, 0.99, 0.90, 1.0);
    drop(&c);
}

/* Both bounds: against the world and beside a face. */
static void coverages_faces(size_t sites)
{
    site_terms terms = {.scale_u = 0.005, .face_u = 0.015};
    chance_seed(4003);
    table_head("Faces uncertain by 15 mm, two taped lengths between faces");
    coverage c = cover(&terms, sites, 1, true);
    print_scores("world", c.world, 0.93, 0.97, 0.93, 0.97);
    print_scores("beside a face", c.face, 0.93, 0.97, 0.93, 0.97);
    drop(&c);

    chance_seed(4012);
    table_head("The same, three runs there and back with one encoder");
    c = cover(&terms, sites / 3, 3, true);
    print_scores("world", c.world, 0.93, 0.97, 0.93, 0.97);
    print_scores("beside a face", c.face, 0.93, 0.97, 0.93, 0.97);
    drop(&c);

    chance_seed(4013);
    table_head("All that a book can hold, there and back, faces uncertain");
    terms.rich = true;
    c = cover(&terms, sites / 2, 2, true);
    print_scores("world", c.world, 0.93, 0.97, 0.93, 0.97);
    print_scores("beside a face", c.face, 0.93, 0.97, 0.93, 0.97);
    drop(&c);
}

/* ---- false alarms -------------------------------------------------------- */

static void false_alarms(const char *text, bool unlike, size_t intervals,
                         double most)
{
    site_terms terms = {.scale_u = 0.005, .unlike = unlike, .thick = 0.8};
    size_t count = 0, alarms = 0;
    chance_seed(unlike ? 4006 : 4005);
    while (count < intervals) {
        clean_runs(&bridge, &terms, 1, false);
        for (size_t i = 0; i < bridge.stations->interval_count; i++)
            alarms += !bridge.stations->intervals[i].reconciled;
        count += bridge.stations->interval_count;
        site_end(&bridge);
    }
    table_share(text, alarms, count, 0.0, most);
}

int main(int argc, char **argv)
{
    bool full = argc > 1 && strcmp(argv[1], "--full") == 0;
    if (argc > 1 && strcmp(argv[1], "--narrow") == 0)
        k95 *= 0.8;
    table_begin(!full);
    coverages(full ? 6000 : 600);
    coverages_faces(full ? 6000 : 600);
    blunders(full ? 2000 : 100);
    table_head("False alarms");
    false_alarms("clean intervals called wrong, physics as stated", false,
                 full ? 60000 : 3000, 0.005);
    false_alarms("clean intervals called wrong, physics unlike the model", true,
                 full ? 60000 : 3000, 0.012);
    printf("\nthresholds missed: %d\n", table_missed());
    return table_missed() > 0;
}
