/* SPDX-License-Identifier: MIT
 * Kinds by probability: soft grout against a strand at the wall, and voids
 * against both, on places with a physics of their own. Invented.
 *
 * Soft grout fills an arc about a clock angle near the crown, its strength is
 * gamma distributed (skewed), fades at the edges of the arc and differs from
 * line to line by a tenth. A strand lies on the wall at some angle; its reading
 * falls off with the gap beside the contact, averaged over the sensor's width,
 * and changes along the length, since the gap does. Voids are segments about
 * the crown. The calibration is what 30 specimens of each gave: a mean and a
 * spread with the error of 30. Sides are stated with u = 20 deg at six places
 * of ten, and wrongly, anywhere, at one of 20 of them.
 *
 * One to three clock lines; on three of ten a second run. All pass through the
 * program's own search (core.h), then its judgement at confidence 0.9. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#include "chance.h"
#include "core.h"
#include "indication/posterior.h"
#include "sim_indications.h"
#include "table.h"

#define PI 3.14159265358979323846
#define DEGREE (PI / 180.0)
#define RADIUS 0.05715
#define AROUND 0.06
#define PLACES 15
#define APART 2.0
#define PIECES 3
#define MOST_RUNS 6
#define SPECIMENS 30

typedef enum { SOFT, STRAND, VOID, WATER } truth;

typedef struct {
    truth what;
    double from, to;
    double strength;     /* of the index, >= 0 */
    double at, half;     /* arc of soft grout or void; angle of a strand */
    double gap[PIECES];  /* of a strand, mm, along the length */
    double ease;         /* how fast the gap opens beside it, mm */
    double side, side_u; /* as stated; NAN */
} place;

/* Gamma distribution of whole order, a sum of exponentials: skewed, of a
 * spread of 1 / sqrt(order). */
static double skewed(double mean, int order)
{
    double sum = 0.0;

    for (int i = 0; i < order; i++)
        sum -= log(chance_uniform(1e-12, 1.0)) / order;
    return mean * sum;
}

static double off(double a, double b)
{
    return fabs(remainder(a - b, 2.0 * PI));
}

/* Part of the sensor's width that lies within the arc. */
static double inside(const place *p, double clock)
{
    double half = 0.5 * AROUND / RADIUS, sum = 0.0;

    for (int i = 0; i < 21; i++) {
        double a = clock + half * (i - 10) / 10.0;

        sum += off(a, p->at) <= p->half ? 1.0 / 21.0 : 0.0;
    }
    return sum;
}

/* Mean over the sensor's width of what a conductor under a gap gives. */
static double contact(const place *p, double clock, double gap)
{
    double half = 0.5 * AROUND / RADIUS, sum = 0.0;

    for (int i = 0; i < 21; i++) {
        double a = clock + half * (i - 10) / 10.0;
        double open = gap + p->ease * (1.0 - cos(off(a, p->at)));

        sum += exp(-open / 6.0) / 21.0;
    }
    return sum;
}

static double height_at(const place *p, double clock, int piece)
{
    switch (p->what) {
    case SOFT:
        return -p->strength * inside(p, clock);
    case STRAND:
        return -p->strength * contact(p, clock, p->gap[piece]);
    case VOID:
        return p->strength * inside(p, clock);
    default: /* water in its lower part: nothing to the sound of it, or less */
        return -0.3 * p->strength * inside(p, clock);
    }
}

/* Order of the soft grout's distribution: its spread is 1 / sqrt of it, as a
 * part of the mean. What is asked is asked at 20 %; how wide it is on bridges
 * has no source, so 29 % is shown beside. */
#define SPREAD_20 25
#define SPREAD_29 12
static int order_of_soft;

static place draw(truth what)
{
    /* Eccentricity, mm, of 22, 19 and 12 strands of 15.24 mm in a bore of
     * 100.85 mm, packed to 0.70: r - sqrt(n (d/2)^2 / 0.70); by hand. */
    static const double eccentricity[3] = {7.7, 10.7, 18.9};
    place p = {.what = what, .side = (double)NAN, .side_u = (double)NAN};
    double gap = -log(chance_uniform(1e-6, 1.0)), wave;

    switch (what) {
    case SOFT:
        p.strength = skewed(0.42, order_of_soft);
        p.at = chance_normal(40.0 * DEGREE);
        p.half = chance_uniform(40.0, 130.0) * DEGREE;
        break;
    case STRAND:
        p.strength = 1.0 + chance_normal(0.06);
        p.at = chance_uniform(0.0, 2.0 * PI);
        p.ease = eccentricity[chance_index(3)];
        wave = chance_uniform(0.0, 0.5);
        for (int i = 0; i < PIECES; i++)
            p.gap[i] = fmax(0.0, 0.6 * gap + chance_uniform(-wave, wave));
        if (chance_uniform(0.0, 1.0) < 0.6) {
            p.side_u = 20.0 * DEGREE;
            p.side = p.at + chance_normal(p.side_u);
        }
        break;
    default:
        p.strength = fmin(0.95, skewed(0.6, 11));
        p.at = chance_normal(15.0 * DEGREE);
        p.half = chance_uniform(45.0, 110.0) * DEGREE;
    }
    if (what != STRAND && chance_uniform(0.0, 1.0) < 0.6) {
        p.side_u = 20.0 * DEGREE; /* strands lie elsewhere on such a place */
        p.side = chance_uniform(0.0, 2.0 * PI);
    }
    if (!isnan(p.side) && chance_uniform(0.0, 1.0) < 0.05)
        p.side = chance_uniform(0.0, 2.0 * PI);
    return p;
}

/* ---- the calibration ---- */

static dm_material specimens(truth what, const char *name)
{
    double sum = 0.0, squares = 0.0;
    int n = 0;

    while (n < SPECIMENS) {
        place p = draw(what);
        double v;

        /* The sensor is set where the material is, as near as one can. */
        v = height_at(&p, p.at + chance_uniform(-45.0, 45.0) * DEGREE, 0);
        if (fabs(v) < 0.15)
            continue;
        sum += v;
        squares += v * v;
        n++;
    }
    sum /= SPECIMENS;
    return (dm_material){name, sum,
                         sqrt((squares / SPECIMENS - sum * sum) * SPECIMENS /
                              (SPECIMENS - 1.0))};
}

/* ---- one set of runs ---- */

typedef struct {
    size_t negative, resolved, wrong;
    size_t by[4][2], by_wrong[4][2]; /* lines, side stated: resolved */
    size_t by_all[4][2];
    size_t seen, sign; /* voids and negatives found; of the other sign */
    size_t water, water_soft;
    size_t voids, voids_resolved, voids_wrong;
    double expected; /* wrong ones among the resolved, by their own p */
} tally;

static const dm_found *best_in(const core *c, const place *p, int sign)
{
    const dm_found *best = NULL;
    double most = 0.0;

    for (size_t i = 0; i < c->list.count; i++) {
        const dm_found *f = &c->list.items[i];
        double common = fmin(f->to.t, p->to) - fmax(f->from.t, p->from);

        if (f->sign == sign && common > most) {
            most = common;
            best = f;
        }
    }
    return best;
}

/* What the runs of a line that show nothing read there on average. */
static void silent_mean(const core *c, const size_t *of_line, size_t runs,
                        size_t line, double from, double to, dm_evidence *e)
{
    double weight = 0.0, sum = 0.0;

    e->shorter = to - from < 1.25 * SENSOR_W;
    if (!e->shorter) {
        from += 0.5 * SENSOR_W;
        to -= 0.5 * SENSOR_W;
    }
    for (size_t r = 0; r < runs; r++) {
        const dm_strip *s = &c[r].strip;
        double mean = 0.0, var;
        size_t n = 0;

        if (of_line[r] != line)
            continue;
        for (size_t i = dm_strip_cell(s, from); i < s->count && s->t[i] <= to;
             i++, n++)
            mean += s->index[i] - s->base[i];
        if (n == 0)
            continue;
        var = dm_noise_mean_var(&c[r].noise, n);
        weight += 1.0 / var;
        sum += mean / (double)n / var;
    }
    e->plateau = sum / weight;
    e->u = sqrt(1.0 / weight);
}

/* Runs of one line seen together, as a weighted mean. */
static bool line_says(const core *c, const size_t *of_line, size_t runs,
                      size_t line, const place *p, int sign, dm_evidence *e)
{
    double weight = 0.0, sum = 0.0;

    for (int shorter = 0; shorter < 2 && weight <= 0.0; shorter++) {
        e->shorter = shorter;
        for (size_t r = 0; r < runs; r++) {
            const dm_found *f = best_in(&c[r], p, sign);
            double u;

            if (of_line[r] != line || f == NULL || f->shorter != shorter)
                continue;
            u = fmax(f->plateau_u, 1e-4);
            weight += 1.0 / (u * u);
            sum += f->plateau / (u * u);
        }
    }
    e->seen = e->passed = 0;
    for (size_t r = 0; r < runs; r++) {
        e->passed += of_line[r] == line;
        e->seen += of_line[r] == line && best_in(&c[r], p, sign) != NULL;
    }
    if (e->seen == 0)
        return false;
    e->plateau = sum / weight;
    e->u = sqrt(1.0 / weight);
    return true;
}

static void score(const place *p, int sign, const dm_posterior *q, tally *t)
{
    bool stated = !isnan(p->side);
    size_t n = q->lines < 4 ? q->lines : 3;

    if (p->what == WATER) {
        t->water++;
        t->water_soft += q->resolved && q->likeliest == DM_MATERIAL_SOFT;
        return;
    }
    t->seen++;
    t->sign += (p->what == VOID) != (sign > 0);
    if (p->what == VOID) {
        t->voids++;
        t->voids_resolved += q->resolved;
        t->voids_wrong += q->resolved && q->likeliest != DM_MATERIAL_VOID;
        return;
    }
    if (sign > 0)
        return;
    t->negative++;
    t->by_all[n][stated]++;
    if (!q->resolved)
        return;
    t->resolved++;
    t->expected += 1.0 - q->p[q->likeliest];
    t->by[n][stated]++;
    if (q->likeliest !=
        (p->what == SOFT ? DM_MATERIAL_SOFT : DM_MATERIAL_STRAND)) {
        t->wrong++;
        t->by_wrong[n][stated]++;
    }
}

static void judge_place(const place *p, const core *c, const double *clock,
                        const size_t *of_line, size_t runs, size_t lines,
                        const dm_material *material, tally *t)
{
    const dm_judge_rule rule = {.prior = {1.0, 1.0, 1.0, 1.0},
                                .confidence = 0.9,
                                .strand = p->side,
                                .strand_u = p->side_u};

    for (int sign = -1; sign <= 1; sign += 2) {
        dm_evidence e[4]; /* one to try on */
        dm_posterior q = {0};
        size_t n = 0;
        double from = HUGE_VAL, to = -HUGE_VAL;

        for (size_t r = 0; r < runs; r++) {
            const dm_found *f = best_in(&c[r], p, sign);

            if (f != NULL) {
                from = fmin(from, f->from.t);
                to = fmax(to, f->to.t);
            }
        }
        if (from > to)
            continue;
        /* Those that show it first. */
        for (int silent = 0; silent < 2; silent++)
            for (size_t l = 0; l < lines; l++) {
                e[n] = (dm_evidence){.clock = clock[l],
                                     .half = 0.5 * AROUND / RADIUS};
                memcpy(e[n].material, material, sizeof e[n].material);
                if (line_says(c, of_line, runs, l, p, sign, &e[n]) == silent)
                    continue;
                if (silent)
                    silent_mean(c, of_line, runs, l, from, to, &e[n]);
                n++;
            }
        dm_judge(&rule, e, n, &q);
        score(p, sign, &q, t);
    }
}

static void survey(double noise, size_t number, tally *t)
{
    static sensor_run run;
    place places[PLACES];
    dm_material material[DM_MATERIAL_COUNT];
    core c[MOST_RUNS];
    double clock[3];
    size_t of_line[MOST_RUNS], runs = 0, lines = 1 + chance_index(3);

    material[DM_MATERIAL_VOID] = specimens(VOID, "void");
    material[DM_MATERIAL_SOFT] = specimens(SOFT, "soft");
    material[DM_MATERIAL_STRAND] = specimens(STRAND, "strand");
    material[DM_MATERIAL_SOUND] = (dm_material){"sound", 0.0, 0.05};
    for (int i = 0; i < PLACES; i++) {
        double chance = chance_uniform(0.0, 1.0);

        places[i] = draw(chance < 0.36   ? SOFT
                         : chance < 0.72 ? STRAND
                         : chance < 0.95 ? VOID
                                         : WATER);
        places[i].from = APART * i + chance_uniform(0.8, 1.0);
        places[i].to = places[i].from + chance_uniform(0.12, 0.8);
    }
    for (size_t l = 0; l < lines; l++) {
        size_t repeats = chance_uniform(0.0, 1.0) < 0.3 ? 2 : 1;

        clock[l] = remainder((double)l * 60.0 * DEGREE +
                                 chance_uniform(-60.0, 60.0) * DEGREE,
                             2.0 * PI);
        for (; repeats > 0; repeats--) {
            sensor_begin(&run, APART * PLACES + 1.0, noise, 0.01,
                         (int)(number % SENSOR_KERNELS));
            for (int i = 0; i < PLACES; i++) {
                const place *p = &places[i];
                double tenth = 1.0 + chance_normal(0.1);

                for (int k = 0; k < PIECES; k++)
                    sensor_put(&run, p->from + (p->to - p->from) * k / PIECES,
                               p->from + (p->to - p->from) * (k + 1) / PIECES,
                               tenth * height_at(p, clock[l], k));
            }
            core_begin(&c[runs], &run);
            of_line[runs++] = l;
        }
    }
    for (int i = 0; i < PLACES; i++)
        judge_place(&places[i], c, clock, of_line, runs, lines, material, t);
    for (size_t r = 0; r < runs; r++)
        core_end(&c[r]);
}

static void wider_rows(double noise, const tally *t)
{
    char text[80];

    snprintf(text, sizeof text, "noise %.2f, spread 29 %%: resolved, wrong",
             noise);
    table_note(text, t->wrong, t->resolved);
    snprintf(text, sizeof text, "noise %.2f, spread 29 %%: resolved", noise);
    table_note(text, t->resolved, t->negative);
}

static void rows(double noise, const tally *t)
{
    char text[80];

    snprintf(text, sizeof text, "noise %.2f: resolved soft or strand, wrong",
             noise);
    table_share(text, t->wrong, t->resolved, 0.0, 0.03);
    snprintf(text, sizeof text, "noise %.2f: by their own p, wrong", noise);
    table_note(text, (size_t)(t->expected + 0.5), t->resolved);
    snprintf(text, sizeof text, "noise %.2f: of soft and strand, resolved",
             noise);
    table_share(text, t->resolved, t->negative, 0.35, 1.0);
    snprintf(text, sizeof text, "noise %.2f: void called negative or reverse",
             noise);
    table_share(text, t->sign, t->seen, 0.0, 0.005);
    snprintf(text, sizeof text, "noise %.2f: of voids, resolved", noise);
    table_note(text, t->voids_resolved, t->voids);
    snprintf(text, sizeof text, "noise %.2f: of those, wrong", noise);
    table_note(text, t->voids_wrong, t->voids_resolved);
    snprintf(text, sizeof text, "noise %.2f: voids with water called soft",
             noise);
    table_note(text, t->water_soft, t->water);
    for (int n = 1; n <= 3; n++)
        for (int side = 0; side < 2; side++) {
            snprintf(text, sizeof text, "  %d line%s, side %s: resolved", n,
                     n > 1 ? "s" : "", side ? "stated" : "not known");
            table_note(text, t->by[n][side], t->by_all[n][side]);
            snprintf(text, sizeof text, "  %d line%s, side %s: wrong", n,
                     n > 1 ? "s" : "", side ? "stated" : "not known");
            table_note(text, t->by_wrong[n][side], t->by[n][side]);
        }
}

static void surveys(double noise, int order, double scale, tally *t)
{
    order_of_soft = order;
    memset(t, 0, sizeof *t);
    for (size_t i = 0; i < (size_t)(1600.0 * scale); i++)
        survey(noise, i, t);
}

void sim_kind(uint64_t seed, double scale)
{
    static const double noises[] = {0.02, 0.04, 0.08};
    tally t;

    chance_seed(seed);
    table_head("Kind at confidence 0.9; one to three clock lines");
    for (size_t k = 0; k < 3; k++) {
        surveys(noises[k], SPREAD_20, scale, &t);
        rows(noises[k], &t);
    }
    for (size_t k = 0; k < 3; k++) {
        surveys(noises[k], SPREAD_29, 0.5 * scale, &t);
        wider_rows(noises[k], &t);
    }
}
