/* SPDX-License-Identifier: MIT
 * Holes against voids with a known truth: does the stated chance to enter hold,
 * are enough voids tapped, does a bit ever touch a strand?
 *
 * Truth. A duct (4 in IPS DR 17, 19 strands of 0.6 in) at a slope of 0 to 12
 * deg. A void of 60 mm and more (lengths lognormal, median 0.4 m, spread 0.8):
 * its surface sets level but for a tilt of 1.5 deg standard, so that its depth
 * and half angle change along the duct; its middle rolls 6 deg standard off the
 * crown. A bundle at the wall somewhere.
 *
 * What the tap stage is told is the truth with errors in: both ends (3 to 10 mm
 * standard each), the station relative to the face (2 to 8 mm, common to both
 * ends), middle and half angle of a turn somewhere in the void (3 to 10 deg
 * each); and the crew errs with tape and pen along and round the duct (2 mm)
 * and in the clock angle (3 deg). All of them normal, or Student's t with four
 * degrees of freedom of the same variance. Shorter than 1.3 footprints: only
 * the outer bound and the lowered index are told. The stage places the hole;
 * it enters if it lies in the true void.
 *
 * Thresholds (for each law of errors):
 *   in bins of the stated chance the share that enters lies between chance
 *   - 1 and + 4 points
 *   of taps without a warning                       >= 99 % enter
 *   of voids                                        >= 85 % get such a tap
 *   where a turn saw strands that must be avoided   >= 75 %
 *   chance times P(kind), with 10 % no voids        within 1 point
 *   stop above the stated wall + allowance          none
 *   default stop: bit touches a strand              none
 *   with an allowance: stated chance of contact     within 2 points
 *
 * Without an argument a short form. --full: 20,000 taps a law, 100,000 stops.
 * --careless: a crew and turns five times as bad as stated; it has to miss, and
 * is a test of the thresholds. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "chance.h"
#include "ductmark/section.h"
#include "table.h"
#include "tap/aim.h"
#include "tap_bench.h"

#define PI 3.14159265358979323846
#define DEG (PI / 180.0)
#define FOOTPRINT 0.1
#define CELLS 72

typedef struct {
    bool student;   /* law of the errors */
    bool narrow;    /* only voids of 8 to 35 deg half angle */
    bool doubtful;  /* narrow, turns known to 8 to 10 deg: small chances */
    bool strands;   /* a turn sees the bundle where it touches the wall */
    double not_one; /* share of indications that are no voids */
    double careless;
    size_t taps;
} plan;

typedef struct {
    double from, to, slope, tilt, turn, depth, roll, bundle;
} truth;

typedef struct {
    tap_bench *bench;
    double cells[CELLS];
    dm_strand_type strand;
} site;

/* ---- the world ---- */

static double error(const plan *p, double sd)
{
    double chi = 0.0;

    if (!p->student)
        return chance_normal(sd);
    for (int i = 0; i < 4; i++) {
        double z = chance_normal(1.0);

        chi += z * z;
    }
    /* t4 has variance 2. */
    return chance_normal(sd) / sqrt(0.25 * chi) / sqrt(2.0);
}

static double bore(const site *s)
{
    return 0.5 * s->bench->type.od - s->bench->type.wall;
}

static double depth_at(const site *s, const truth *v, double t)
{
    double h = v->depth + (t - v->turn) * tan(v->slope + v->tilt);

    /* Between its ends the void is there, if only as a film. */
    return fmin(2.0 * bore(s), fmax(0.002, h));
}

static double half_at(const site *s, const truth *v, double t)
{
    return acos(1.0 - depth_at(s, v, t) / bore(s));
}

static truth draw_truth(const plan *p, const site *s)
{
    truth v;
    double length, half;

    do
        length = 0.4 * exp(chance_normal(0.8));
    while (length < 0.06 || length > 4.0);
    v.from = chance_uniform(3.0, 12.0);
    v.to = v.from + length;
    v.slope = chance_uniform(0.0, 12.0) * DEG;
    v.tilt = chance_normal(1.5) * DEG;
    v.turn = chance_uniform(v.from + 0.2 * length, v.to - 0.2 * length);
    half = p->narrow || chance_uniform(0.0, 1.0) < 0.3
               ? chance_uniform(p->narrow ? 8.0 : 12.0,
                                p->doubtful ? 20.0 : 35.0) *
                     DEG
               : chance_uniform(35.0, 80.0) * DEG;
    v.depth = bore(s) * (1.0 - cos(half));
    v.roll = chance_normal(6.0) * DEG;
    v.bundle = chance_uniform(0.0, 2.0 * PI);
    return v;
}

/* ---- what is told of it ---- */

static dm_end told_end(const plan *p, double t, double station, double u_edge,
                       double u_station)
{
    double u = hypot(u_edge, u_station);

    return (dm_end){.t = t + station + error(p, u_edge),
                    .u = 2.0 * u,
                    .u_edge = u_edge,
                    .face_back = 0,
                    .face_ahead = 1,
                    .u_back = u,
                    .u_ahead = u};
}

static void tell_ends(const plan *p, site *s, const truth *v)
{
    dm_indication *i = &s->bench->items[0];
    double length = v->to - v->from, u_edge = chance_uniform(0.003, 0.010);
    double u_station = chance_uniform(0.002, 0.008);
    double station = error(p, u_station), plateau = chance_uniform(0.45, 0.9);
    double spare =
        length < 1.3 * FOOTPRINT ? fmax(0.0, 0.5 * (FOOTPRINT - length)) : 0.0;

    *i = (dm_indication){.key = "T1-I01",
                         .uid = "b3a0e2f4-0000-5000-8000-000000000001",
                         .kind = DM_KIND_VOID_LIKE,
                         .index = plateau * fmin(1.0, length / FOOTPRINT),
                         .shorter_than_footprint = length < 1.3 * FOOTPRINT,
                         .reconciled = true,
                         .runs = &s->bench->run_index,
                         .run_count = 1};
    i->posterior.known = p->not_one > 0.0;
    i->posterior.p[DM_MATERIAL_VOID] = 1.0 - p->not_one;
    i->from = told_end(p, v->from - spare, station, u_edge, u_station);
    i->to = told_end(p, v->to + spare, station, u_edge, u_station);
    s->bench->found.count = 1;
}

static void tell_turn(const plan *p, site *s, const truth *v)
{
    tap_bench *b = s->bench;
    double least = p->doubtful ? 8.0 : 3.0, scale = p->careless;
    double u_centre = chance_uniform(least, 10.0) * DEG;
    double u_half = chance_uniform(least, 10.0) * DEG;
    double half = half_at(s, v, v->turn) + scale * error(p, u_half);
    double seen = v->bundle + error(p, 3.0 * DEG);

    for (size_t i = 0; i < CELLS; i++) {
        double a = 2.0 * PI * (double)i / CELLS;

        /* The bundle reads where it lies within 3 mm of the wall: 40 deg. */
        s->cells[i] =
            p->strands && fabs(dm_wrap(a - seen)) < 40.0 * DEG ? -0.6 : 0.0;
    }
    b->arc = (dm_arc){.index = 0.6};
    b->turn = (dm_turn){.t = v->turn,
                        .bore = bore(s),
                        .cell_count = CELLS,
                        .index = s->cells,
                        .noise = 0.03,
                        .arcs = &b->arc,
                        .arc_count = 1,
                        .apart = 0.5};
    b->turn.fit =
        (dm_segment_fit){.valid = true,
                         .half_angle = fmin(PI, fmax(0.0, half)),
                         .centre = v->roll + scale * error(p, u_centre),
                         .half_angle_u = u_half,
                         .centre_u = u_centre};
    b->found.turns = &b->turn;
    b->found.turn_count = 1;
}

static site *new_site(void)
{
    site *s = calloc(1, sizeof *s);

    if (s == NULL)
        abort();
    s->bench = tap_bench_new();
    s->strand = (dm_strand_type){.diameter = 0.01524, .area = 140e-6};
    s->bench->type.od = 0.1143;
    s->bench->type.wall = 1.1 * 0.1143 / 17.0;
    s->bench->type.wall_min = 0.1143 / 17.0;
    s->bench->type.wall_max = 1.2 * 0.1143 / 17.0;
    s->bench->model.strand_types = &s->strand;
    s->bench->model.strand_type_count = 1;
    s->bench->tendon.strands = 19;
    s->bench->job.settings = dm_settings_default();
    return s;
}

static void slope_site(site *s, const truth *v)
{
    tap_bench *b = s->bench;
    dm_vec3 tangent = {cos(v->slope), 0.0, sin(v->slope)};

    b->segment.tangent = tangent;
    b->faces[0].origin = (dm_vec3){tangent.x, 0.0, tangent.z};
    b->faces[1].origin = (dm_vec3){19.0 * tangent.x, 0.0, 19.0 * tangent.z};
}

/* The tap that is placed; its strings go with `taps`. */
static const dm_tap *place(site *s, dm_taps **taps)
{
    tap_bench *b = s->bench;

    if (dm_taps_place(&b->model, &b->survey, &b->stations, &b->found,
                      &b->criteria, &b->job, NULL, NULL, taps) != DM_OK ||
        (*taps)->count != 1)
        abort();
    return &(*taps)->items[0];
}

/* ---- what the crew does ---- */

typedef struct {
    double t, clock;
} hole;

static hole drill(const plan *p, const site *s, const dm_tap *tap)
{
    const dm_settings *set = &s->bench->job.settings;
    double r = 0.5 * s->bench->type.od;

    return (hole){tap->t + p->careless * error(p, set->mark_u),
                  tap->clock + p->careless * error(p, set->clock_u) +
                      p->careless * error(p, set->mark_u) / r};
}

static bool enters(const site *s, const truth *v, hole h)
{
    return h.t >= v->from && h.t <= v->to &&
           fabs(dm_wrap(h.clock - v->roll)) <= half_at(s, v, h.t);
}

/* How far the tip comes into the bore where the wall is `wall` thick, and
 * whether it meets the bundle there. */
static bool touches(const site *s, const truth *v, const dm_tap *tap, hole h,
                    double wall)
{
    dm_section section =
        dm_tendon_section(&s->bench->model, &s->bench->tendon, tap->t);
    double into = tap->depth_stop - wall;
    double half_bit = asin(0.5 * tap->bit / section.bore_radius);
    double a = fabs(dm_wrap(h.clock - v->bundle));

    return into > 0.0 &&
           dm_section_gap(&section, fmax(0.0, a - half_bit)) <= into;
}

/* ---- counting ---- */

typedef struct {
    size_t count, hits;
    double sum;
} bin;

typedef struct {
    bin bins[3], quiet, kind;
    size_t voids, tapped, taps;
} score;

static void count(bin *b, double p, bool hit)
{
    b->count++;
    b->sum += p;
    b->hits += hit;
}

static void one(const plan *p, site *s, score *out)
{
    truth v = draw_truth(p, s);
    bool is_void = chance_uniform(0.0, 1.0) >= p->not_one, hit;
    dm_taps *taps = NULL;
    const dm_tap *tap;

    slope_site(s, &v);
    tell_ends(p, s, &v);
    tell_turn(p, s, &v);
    tap = place(s, &taps);
    out->voids++;
    if (tap->advice == DM_ADVICE_TAP) {
        double e = tap->p_enter;

        out->taps++;
        hit = is_void && enters(s, &v, drill(p, s, tap));
        out->tapped += tap->warning[0] == '\0';
        if (p->not_one > 0.0)
            count(&out->kind, e * tap->p_kind, hit);
        else
            count(&out->bins[e < 0.95 ? 0 : e < 0.99 ? 1 : 2], e, hit);
        if (tap->warning[0] == '\0')
            count(&out->quiet, e, hit);
    }
    dm_taps_free(taps);
}

static score run(const plan *p)
{
    site *s = new_site();
    score out = {0};

    while ((p->doubtful ? out.bins[0].count : out.taps) < p->taps)
        one(p, s, &out);
    free(s->bench);
    free(s);
    return out;
}

/* ---- the table ---- */

static void show_bins(const score *s, bool population)
{
    static const char *const names[] = {
        "chance 0.80 to 0.95: share that enters",
        "chance 0.95 to 0.99: share that enters",
        "chance 0.99 to 1: share that enters"};
    char text[100];

    for (int i = 0; i < 3; i++) {
        const bin *b = &s->bins[i];
        double mean = b->count > 0 ? b->sum / (double)b->count : 0.0;

        snprintf(text, sizeof text, "%s (mean stated %.4f)", names[i], mean);
        table_share(text, b->hits, b->count, mean - 0.01,
                    fmin(1.0, mean + 0.04));
    }
    if (population)
        table_share("taps without a warning that enter", s->quiet.hits,
                    s->quiet.count, 0.99, 1.0);
    else
        table_note("taps without a warning that enter", s->quiet.hits,
                   s->quiet.count);
}

static void law(plan p, const char *name)
{
    score s;
    char text[100];
    double mean;

    snprintf(text, sizeof text, "errors %s", name);
    table_head(text);
    s = run(&p);
    show_bins(&s, true);
    table_share("voids of 60 mm and more that get a tap without a warning",
                s.tapped, s.voids, 0.85, 1.0);
    p.strands = true;
    s = run(&p);
    table_share("the same where a turn saw strands to be avoided", s.tapped,
                s.voids, 0.75, 1.0);
    table_share("taps beside strands, without a warning, that enter",
                s.quiet.hits, s.quiet.count, 0.99, 1.0);
    p.strands = false;
    p.not_one = 0.1;
    s = run(&p);
    mean = s.kind.sum / (double)s.kind.count;
    snprintf(text, sizeof text,
             "one in ten is no void: share that enters (stated %.4f)", mean);
    table_share(text, s.kind.hits, s.kind.count, mean - 0.01, mean + 0.01);
    p.not_one = 0.0;
    p.narrow = true;
    table_head("the same law, voids narrow round the duct only");
    s = run(&p);
    show_bins(&s, true);
    /* Few chances are as small as those of the first bin: voids of which they
     * are typical, until it holds enough for its share to be known. What they
     * enter in all is no promise: nobody's voids are all of this kind. */
    p.doubtful = true;
    p.taps /= 4;
    table_head("the same law, narrow voids whose turns are known badly");
    s = run(&p);
    show_bins(&s, false);
}

/* Stops: `allowance` above the least wall. Walls are at least the least wall;
 * with an allowance exactly that, as the stated chance takes them. */
static void stops(const plan *p, size_t drilled, double allowance)
{
    site *s = new_site();
    size_t touched = 0, over = 0, n = 0;
    double stated = 0.0;
    char text[100];

    s->bench->job.settings.stop_allowance = allowance;
    while (n < drilled) {
        truth v = draw_truth(p, s);
        dm_taps *taps = NULL;
        const dm_tap *tap;
        double least = s->bench->type.wall_min, wall = least;

        slope_site(s, &v);
        tell_ends(p, s, &v);
        tell_turn(p, s, &v);
        tap = place(s, &taps);
        if (allowance <= 0.0)
            wall = least * chance_uniform(1.0, 1.2);
        if (tap->advice == DM_ADVICE_TAP) {
            n++;
            touched += touches(s, &v, tap, drill(p, s, tap), wall);
            stated += tap->p_contact;
            over += tap->depth_stop > least + allowance + 1e-12;
        }
        dm_taps_free(taps);
    }
    free(s->bench);
    free(s);
    stated /= (double)n;
    table_share("stops above the stated wall + allowance", over, n, 0.0, 0.0);
    if (allowance <= 0.0) {
        table_share("default stop: a bit touches a strand", touched, n, 0.0,
                    0.0);
        return;
    }
    snprintf(text, sizeof text,
             "allowance %.0f mm%s: a bit touches (stated %.4f)",
             1e3 * allowance, p->strands ? ", strands seen" : "", stated);
    table_share(text, touched, n, fmax(0.0, stated - 0.02), stated + 0.02);
}

int main(int argc, char **argv)
{
    bool full = argc > 1 && strcmp(argv[1], "--full") == 0;
    plan p = {.careless = 1.0, .taps = full ? 20000 : 1500};

    if (argc > 1 && strcmp(argv[1], "--careless") == 0)
        p.careless = 5.0;
    chance_seed(20260504);
    table_begin(true);
    law(p, "normal");
    p.student = true;
    law(p, "Student's t4 of the same variance");
    p.student = false;
    table_head("depth stop");
    stops(&p, full ? 100000 : 3000, 0.0);
    stops(&p, p.taps, 0.002);
    p.strands = true;
    stops(&p, p.taps, 0.002);
    return table_missed() > 0 ? 1 : 0;
}
