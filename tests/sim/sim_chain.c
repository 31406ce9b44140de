/* SPDX-License-Identifier: MIT
 * The whole chain on one invented straight tendon of 30 m: readings files,
 * stations, indications and coverage of three runs (ahead and back on the
 * crown, ahead on a line at 60 deg) over two lengths that nobody can read.
 * Encoder scale, gain, offset, drift, noise and lift-offs are each run's own.
 *
 * In the duct: a void; one with a tapered end; one that ends under the first
 * unread length; one that runs through the second; a short one; one of 1.5 to
 * 3 footprints; sound grout under a strand side of the crown. */
#define _POSIX_C_SOURCE 200809L
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "chance.h"
#include "ductmark/indication.h"
#include "sensor.h"
#include "sim_indications.h"
#include "table.h"

#define LENGTH 30.0
#define BEGIN 1.3 /* encoder at the start of a run ahead */
#define END 28.7
#define LEAD 0.02
#define AIR 900.0
#define REF 1500.0
#define RUNS 3
#define EVENTS 16
#define MASK_FROM 22.0
#define MASK_TO 23.0
/* Lift-offs: each run has one within LIFT_SPAN of each of these. */
#define LIFTS 3
#define LIFT_FIRST 6.3
#define LIFT_APART 7.1
#define LIFT_SPAN 0.7

/* Unread lengths, by the electrode. */
static const double gap[2][2] = {{12.0, 12.5}, {16.0, 16.4}};

enum {
    ZONE_PLAIN,
    ZONE_TAPER,
    ZONE_INTO_GAP,
    ZONE_THROUGH,
    ZONE_SHORT,
    ZONE_LAST,
    ZONES
};

typedef struct {
    dm_model model;
    dm_tendon tendon;
    dm_survey survey;
    dm_settings settings;
    dm_support supports[2];
    dm_face faces[2];
    dm_segment segment;
    dm_strand_side side;
    dm_duct_length duct;
    dm_duct_type type;
    dm_instrument instrument;
    dm_channel channel;
    dm_calibration calibration;
    dm_reference_point reference;
    dm_columns columns;
    size_t channel_of[1];
    const char *value_of[1];
    dm_run runs[RUNS];
    dm_event events[RUNS][EVENTS];
    char path[RUNS][40];
    sensor_zone truth[ZONES];
    dm_stations *stations;
    dm_indications *found;
} bridge;

typedef struct {
    size_t sites, once[ZONES], extra, ends, inside, tips, tip_inside;
    size_t open, across, bound, fused, masked, lifted;
} tally;

static void set_model(bridge *b)
{
    const double nan = (double)NAN;

    b->segment = (dm_segment){.length = LENGTH, .tangent = {1.0, 0.0, 0.0}};
    b->type = (dm_duct_type){
        .id = "P", .material = "hdpe", .od = 0.1143, .wall = 0.007};
    b->duct = (dm_duct_length){.from = 0.0, .to = LENGTH};
    b->supports[0] =
        (dm_support){.id = "A1", .readable_back = nan, .readable_ahead = 1.1};
    b->supports[1] = (dm_support){.id = "A2",
                                  .t = LENGTH,
                                  .readable_back = LENGTH - 1.1,
                                  .readable_ahead = nan};
    for (int i = 0; i < 2; i++) {
        double t = i ? LENGTH - 1.0 : 1.0;

        b->faces[i] = (dm_face){.id = i ? "A2-f" : "A1-f",
                                .support = (size_t)i,
                                .side = i ? DM_SIDE_BACK : DM_SIDE_AHEAD,
                                .origin = {t, 0.0, 0.0},
                                .normal = {i ? -1.0 : 1.0, 0.0, 0.0},
                                .u = 0.001,
                                .touchable = true,
                                .t = t};
    }
    b->side = (dm_strand_side){.from = MASK_FROM, .to = MASK_TO, .u = 0.1};
    b->tendon = (dm_tendon){.id = "T1",
                            .supports = b->supports,
                            .support_count = 2,
                            .faces = b->faces,
                            .face_count = 2,
                            .ducts = &b->duct,
                            .duct_count = 1,
                            .strand_sides = &b->side,
                            .strand_side_count = 1};
    b->tendon.line = (dm_centreline){.segments = &b->segment,
                                     .count = 1,
                                     .length = LENGTH,
                                     .vertical_limit = 0.17};
    b->model.uid = "3c9f1e74-5b0c-4a77-9d0a-0c4f6a1e2b95";
    b->model.tendons = &b->tendon;
    b->model.tendon_count = 1;
    b->model.duct_types = &b->type;
    b->model.duct_type_count = 1;
}

static void set_survey(bridge *b)
{
    b->channel = (dm_channel){.id = "C1",
                              .lead = LEAD,
                              .footprint_along = SENSOR_W,
                              .footprint_around = 0.06};
    b->instrument = (dm_instrument){.id = "I1",
                                    .scale = 1.0,
                                    .scale_u = 0.002,
                                    .walk = 1e-3,
                                    .nose = 0.1,
                                    .tail = 0.1,
                                    .channels = &b->channel,
                                    .channel_count = 1};
    b->reference = (dm_reference_point){(double)NAN, REF};
    b->calibration = (dm_calibration){.channel = DM_NONE,
                                      .air = AIR,
                                      .reference = &b->reference,
                                      .reference_count = 1};
    b->value_of[0] = "counts";
    b->columns = (dm_columns){.delimiter = ',',
                              .decimal = '.',
                              .x = "x",
                              .x_unit = 0.001,
                              .segment = "segment",
                              .channel = b->channel_of,
                              .value = b->value_of,
                              .value_count = 1};
    b->survey = (dm_survey){.survey = "spring",
                            .instruments = &b->instrument,
                            .instrument_count = 1,
                            .calibrations = &b->calibration,
                            .calibration_count = 1,
                            .columns = &b->columns,
                            .columns_count = 1,
                            .runs = b->runs};
    b->settings = (dm_settings){.face_u = 0.001,
                                .check_drift = 0.1,
                                .tie_u = 0.003,
                                .skip_u = 0.003,
                                .start_u = 0.003,
                                .coverage_factor = 2.0,
                                .gate = 3.0,
                                .merge_gap = 0.15,
                                .least_length = 0.02};
}

static void set_truth(bridge *b)
{
    static const double at[ZONES] = {4.0, 8.0, 11.4, 15.3, 19.0, 25.0};

    for (int i = 0; i < ZONES; i++) {
        double from = at[i] + chance_uniform(0.0, 0.3), length = 0.0;
        sensor_zone *z = &b->truth[i];

        if (i == ZONE_PLAIN || i == ZONE_TAPER)
            length = chance_uniform(0.6, 1.0);
        else if (i == ZONE_SHORT)
            length = chance_uniform(0.6, 1.0) * SENSOR_W;
        else if (i == ZONE_LAST)
            length = chance_uniform(1.5, 3.0) * SENSOR_W;
        *z = (sensor_zone){.from = from,
                           .to = from + length,
                           .height = i == ZONE_SHORT
                                         ? chance_uniform(0.7, 0.95)
                                         : chance_uniform(0.45, 0.9)};
    }
    b->truth[ZONE_TAPER].taper[1] = chance_uniform(0.15, 0.35);
    b->truth[ZONE_INTO_GAP].to = chance_uniform(12.1, 12.4);
    b->truth[ZONE_THROUGH].to = chance_uniform(16.8, 17.1);
}

static dm_event *event(dm_run *run, dm_event_kind kind, double x)
{
    const double nan = (double)NAN;
    dm_event *e = &run->events[run->event_count++];

    *e = (dm_event){.kind = kind,
                    .x = x,
                    .x_resume = x,
                    .x_to = nan,
                    .with = DM_WITH_ENCODER,
                    .u = 0.003,
                    .rows_from = nan,
                    .rows_to = nan,
                    .channel = DM_NONE};
    return e;
}

static void check(dm_run *run, double gain, double offset)
{
    for (int i = 0; i < 2; i++) {
        dm_event *e = event(run, DM_EVENT_CHECK, (double)NAN);

        e->check = i ? DM_CHECK_AIR : DM_CHECK_REFERENCE;
        e->value = offset + gain * (i ? AIR : REF) + chance_normal(2.0);
    }
}

/* Walks the tendon once; the book is right within its uncertainties. */
static void walk(bridge *b, size_t r, const sensor_run *run)
{
    static const char *const segment[3] = {"s1", "s2", "s3"};
    bool back = r == 1;
    double dir = back ? -1.0 : 1.0, scale = 1.0 + chance_normal(0.001);
    double raw_gain = 1.0 + chance_normal(0.05), offset = chance_normal(20.0);
    size_t most = sensor_rows_max(run), rows;
    double *s = malloc(most * sizeof *s), *y = malloc(most * sizeof *y);
    /* Encoder stations of the parts, by the order they are walked in. */
    double from[3], to[3], x0 = 0.0;
    dm_run *book = &b->runs[r];
    FILE *f;
    int fd;

    strcpy(b->path[r], "/tmp/ductmark-sim-XXXXXX");
    fd = mkstemp(b->path[r]);
    f = fd >= 0 ? fdopen(fd, "w") : NULL;
    if (f == NULL || s == NULL || y == NULL)
        abort();
    rows = sensor_walk(run, s, y);
    *book = (dm_run){.id = r == 0   ? "R1"
                           : r == 1 ? "R2"
                                    : "R3",
                     .direction = back ? DM_SIDE_BACK : DM_SIDE_AHEAD,
                     .leading = DM_LEADING_NOSE,
                     .clock = r == 2 ? 1.0471975511965976 : 0.0,
                     .events = b->events[r]};
    for (int p = 0; p < 3; p++) {
        int k = back ? 2 - p : p;
        double low = k == 0 ? BEGIN : gap[k - 1][1] - dir * LEAD;
        double high = k == 2 ? END : gap[k][0] - dir * LEAD;

        from[p] = back ? high : low;
        to[p] = back ? low : high;
    }
    check(book, raw_gain, offset);
    event(book, DM_EVENT_START, 0.0)->face = back ? 1 : 0;
    book->events[book->event_count - 1].distance = 0.3 + chance_normal(0.003);
    fprintf(f, "segment,x,counts\n");
    for (int p = 0; p < 3; p++) {
        dm_event *e;

        for (size_t i = 0; i < rows; i++) {
            size_t k = back ? rows - 1 - i : i;
            double walked = dir * (s[k] - dir * LEAD - from[p]);
            double raw = REF - (REF - AIR) * y[k];

            if (walked >= 0.0 && walked <= fabs(to[p] - from[p]))
                fprintf(f, "%s,%.1f,%.2f\n", segment[p],
                        1000.0 * (x0 + walked / scale),
                        offset + raw_gain * raw);
        }
        e = event(book, DM_EVENT_READINGS, (double)NAN);
        e->href = b->path[r];
        e->segment = segment[p];
        x0 += fabs(to[p] - from[p]) / scale;
        if (p == 2)
            break;
        e = event(book, DM_EVENT_SKIP, x0);
        e->length_known = true;
        e->length = fabs(from[p + 1] - to[p]) + chance_normal(0.003);
        e->reason = "no room";
    }
    event(book, DM_EVENT_TIE, x0)->face = back ? 0 : 1;
    book->events[book->event_count - 1].distance = 0.3 + chance_normal(0.003);
    check(book, raw_gain, offset);
    fclose(f);
    free(s);
    free(y);
}

static void make_site(bridge *b, double noise)
{
    static sensor_run run;

    memset(b, 0, sizeof *b);
    set_model(b);
    set_survey(b);
    set_truth(b);
    for (size_t r = 0; r < RUNS; r++) {
        sensor_begin(&run, LENGTH, noise, 0.01, (int)chance_index(3));
        for (int i = 0; i < ZONES; i++)
            *sensor_put(&run, 0.0, 0.0, 0.0) = b->truth[i];
        for (int i = 0; i < LIFTS; i++) {
            double at = LIFT_FIRST + LIFT_APART * i + chance_uniform(0.0, 0.5);

            sensor_lift_off(&run, at, at + SENSOR_W * chance_uniform(0.3, 2.0),
                            0.01, chance_uniform(0.5, 1.0));
        }
        walk(b, r, &run);
        b->survey.run_count++;
    }
    if (dm_stations_solve(&b->model, &b->survey, 0, &b->settings, NULL,
                          &b->stations) != DM_OK ||
        dm_indications_find(&b->model, &b->survey, b->stations, NULL, NULL,
                            &b->settings, NULL, &b->found) != DM_OK)
        abort();
}

static void end_site(bridge *b)
{
    dm_indications_free(b->found);
    dm_stations_free(b->stations);
    for (size_t r = 0; r < RUNS; r++)
        unlink(b->path[r]);
}

static void add_end(tally *t, const dm_end *e, double truth, double tip)
{
    if (e->open)
        return;
    t->ends++;
    t->inside += fabs(e->t - truth) <= 2.0 * e->u;
    t->tips++;
    t->tip_inside += e->tip_low <= tip && tip <= e->tip_high;
}

static void score_zone(tally *t, const bridge *b, int zone)
{
    const sensor_zone *z = &b->truth[zone];
    const dm_indication *one = NULL;
    size_t n = 0;

    for (size_t i = 0; i < b->found->count; i++) {
        const dm_indication *item = &b->found->items[i];

        if (item->to.t >= z->from && item->from.t <= z->to) {
            one = item;
            n++;
        }
    }
    t->once[zone] += n == 1 && one->kind == DM_KIND_VOID_LIKE;
    if (n != 1)
        return;
    t->fused += one->run_count == RUNS;
    if (zone == ZONE_INTO_GAP)
        t->open += one->to.open && !one->from.open && one->to.t <= z->to;
    if (zone == ZONE_THROUGH)
        t->across += one->across_gap && !one->from.open && !one->to.open;
    if (zone == ZONE_SHORT)
        t->bound += one->shorter_than_footprint &&
                    one->from.t - 2.0 * one->from.u <= z->from &&
                    one->to.t + 2.0 * one->to.u >= z->to;
    if (one->shorter_than_footprint)
        return;
    add_end(t, &one->from, z->from, z->from - sensor_tip(z, -1));
    if (zone != ZONE_INTO_GAP)
        add_end(t, &one->to, z->to, sensor_tip(z, 1) - z->to);
}

static bool is_extra(const bridge *b, const dm_indication *item)
{
    for (int i = 0; i < ZONES; i++)
        if (item->to.t >= b->truth[i].from - 0.05 &&
            item->from.t <= sensor_tip(&b->truth[i], 1) + 0.05)
            return false;
    return true;
}

static bool at_lift(const dm_indication *item)
{
    for (int i = 0; i < LIFTS; i++) {
        double at = LIFT_FIRST + LIFT_APART * i;

        if (item->to.t >= at - 0.05 && item->from.t <= at + LIFT_SPAN + 0.05)
            return true;
    }
    return false;
}

/* On the crown the strand side is masked to its whole length and nothing of
 * it tested; the line beside sees it. */
static bool masked_well(const bridge *b)
{
    for (size_t i = 0; i < b->found->cover_line_count; i++) {
        const dm_cover_line *l = &b->found->cover_lines[i];

        if (l->clock > 0.1)
            continue;
        for (size_t k = 0; k < l->count; k++)
            if (l->lengths[k].cover == DM_COVER_TESTED &&
                fmin(l->lengths[k].to, MASK_TO) -
                        fmax(l->lengths[k].from, MASK_FROM) >
                    1e-6)
                return false;
        return fabs(l->sum[DM_COVER_STRAND_MASKED] - (MASK_TO - MASK_FROM)) <
               1e-5;
    }
    return false;
}

static void score(tally *t, const bridge *b)
{
    t->sites++;
    for (int i = 0; i < ZONES; i++)
        score_zone(t, b, i);
    for (size_t i = 0; i < b->found->count; i++)
        if (is_extra(b, &b->found->items[i])) {
            t->lifted += at_lift(&b->found->items[i]);
            t->extra += !at_lift(&b->found->items[i]);
        }
    t->masked += masked_well(b);
}

static void site_rows(double noise, size_t sites)
{
    static bridge b;
    tally t = {0};
    size_t once = 0;
    double km;
    char text[80];

    for (size_t i = 0; i < sites; i++) {
        make_site(&b, noise);
        score(&t, &b);
        end_site(&b);
    }
    for (int i = 0; i < ZONES; i++)
        once += t.once[i];
    snprintf(text, sizeof text, "noise %.2f: voids that are one indication",
             noise);
    table_share(text, once, ZONES * sites, 0.98, 1.0);
    table_share("  and shown by all three runs", t.fused, ZONES * sites, 0.95,
                1.0);
    table_share("  ends inside 95 % bounds against the world", t.inside, t.ends,
                0.93, 1.0);
    table_share("  tips inside their ranges", t.tip_inside, t.tips, 0.95, 1.0);
    table_share("  ends in an unread length open, not beyond the truth", t.open,
                sites, 0.98, 1.0);
    table_share("  void through an unread length is one, across", t.across,
                sites, 0.98, 1.0);
    table_share("  short void inside its bound", t.bound, sites, 0.95, 1.0);
    table_share("  lift-offs called void", t.lifted, RUNS * LIFTS * sites, 0.0,
                noise < 0.06 ? 0.01 : 0.08);
    km = RUNS * (END - BEGIN) * (double)sites / 1000.0;
    table_most("  false calls away from them (of: km)", (double)t.extra / km,
               "a km", (size_t)floor(km + 0.5), 0.5);
    table_share("  strand-masked length not counted as tested", t.masked, sites,
                1.0, 1.0);
}

void sim_chain(uint64_t seed, double scale)
{
    static const double noises[] = {0.02, 0.04, 0.08};
    size_t sites = (size_t)fmax(4.0, floor(150.0 * scale + 0.5));

    chance_seed(seed);
    table_head("Readings files to indications, three runs");
    for (int n = 0; n < 3; n++)
        site_rows(noises[n], sites);
}
