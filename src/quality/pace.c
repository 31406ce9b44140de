/* SPDX-License-Identifier: MIT
 * Spacing counts steps ahead of the furthest run distance so far, each weighted
 * by its length: standing still and rolling back leave it as it is. Speed is
 * taken over pieces that are a footprint long and take a second and ten ticks
 * of the clock, so that neither the encoder's steps nor a clock of whole
 * seconds show; stops cut the pieces. Limit: quantiles are right to half a
 * class, half a per cent. */
#include "quality/pace.h"

#include <math.h>
#include <string.h>

/* ---- histogram ----------------------------------------------------------- */

#define CLASS 0.01 /* of the natural logarithm */
#define LEAST 1e-7 /* m or m/s; class 0 */

static void weigh(pace_histogram *h, double value, double weight)
{
    double at = log(value / LEAST) / CLASS;
    size_t k = at > 0.0 ? (size_t)at : 0;

    h->weight[k < PACE_CLASSES ? k : PACE_CLASSES - 1] += weight;
    h->sum += weight;
}

static double median(const pace_histogram *h)
{
    double sum = 0.0;

    if (h->sum <= 0.0)
        return (double)NAN;
    for (size_t k = 0; k < PACE_CLASSES; k++) {
        sum += h->weight[k];
        if (sum >= 0.5 * h->sum)
            return LEAST * exp(CLASS * ((double)k + 0.5));
    }
    return (double)NAN;
}

/* ---- spacing ------------------------------------------------------------- */

static pace_spot spot(const pace_state *p, double from, double to,
                      const char *href, long line)
{
    return (pace_spot){p->stretch, from, to, {href, line}};
}

/* Joins sparse steps less than a footprint apart; keeps the longest. */
static void add_sparse(pace_state *p, double from, double to, const char *href,
                       long line)
{
    p->sum.sparse += to - from;
    if (isnan(p->sparse_from) || from - p->sparse_to > p->footprint)
        p->sparse_from = from;
    p->sparse_to = to;
    if (to - p->sparse_from > p->sparse_least) {
        p->sparse_least = to - p->sparse_from;
        p->sparse = spot(p, p->sparse_from, to, href, line);
    }
}

static void add_gap(pace_state *p, double from, double to, const char *href,
                    long line)
{
    p->sum.gaps++;
    p->sum.gap += to - from;
    if (to - from > p->gap.x_to - p->gap.x_from)
        p->gap = spot(p, from, to, href, line);
}

static void step_ahead(pace_state *p, double x, const char *href, long line)
{
    double step = x - p->high;

    p->back = false;
    weigh(&p->spacing, step, step);
    p->sum.spacing_most = fmax(p->sum.spacing_most, step);
    if (step > 0.5 * p->footprint)
        add_gap(p, p->high, x, href, line);
    else
        p->sum.read += step;
    /* One per cent for the rounding of readings that lie at the limit. */
    if (0.99 * step > p->footprint / DM_PER_FOOTPRINT &&
        step <= 0.5 * p->footprint)
        add_sparse(p, p->high, x, href, line);
    p->high = x;
}

static void step_back(pace_state *p, double x, const char *href, long line)
{
    double depth = p->high - x;

    if (depth <= 0.5 * p->footprint)
        return;
    p->sum.roll_backs += !p->back;
    p->back = true;
    if (depth > p->sum.roll_back) {
        p->sum.roll_back = depth;
        p->roll_back = spot(p, x, p->high, href, line);
    }
}

/* ---- speed --------------------------------------------------------------- */

static void begin_piece(pace_state *p, double x, double time)
{
    p->anchor_x = p->piece_x = x;
    p->anchor_time = p->piece_time = time;
    p->piece_travel = 0.0;
}

static void add_stop(pace_state *p, double time)
{
    p->sum.stops++;
    p->sum.stopped += time;
    p->sum.stop_most = fmax(p->sum.stop_most, time);
}

/* True: a stop ended here. */
static bool end_stop(pace_state *p, double x, double time)
{
    double moved = fabs(x - p->anchor_x), took = time - p->anchor_time;
    bool stop = took >= DM_STOP_TIME && moved <= DM_STOP_SPEED * took;

    if (moved < DM_STOP_TIME * DM_STOP_SPEED)
        return false;
    p->anchor_x = x;
    p->anchor_time = time;
    if (stop)
        add_stop(p, took);
    return stop;
}

static void end_piece(pace_state *p, double x, double time, const char *href,
                      long line)
{
    double took = time - p->piece_time;
    double speed = p->piece_travel / took;

    if (p->piece_travel < p->footprint || took < fmax(1.0, 10.0 * p->tick))
        return;
    weigh(&p->speed, speed, p->piece_travel);
    if (speed > p->sum.speed_most) {
        p->sum.speed_most = speed;
        p->fast = spot(p, fmin(p->piece_x, x), fmax(p->piece_x, x), href, line);
    }
    p->piece_x = x;
    p->piece_time = time;
    p->piece_travel = 0.0;
}

static void clock_row(pace_state *p, double x, double time, const char *href,
                      long line)
{
    double dt = time - p->time;

    if (isnan(time))
        return;
    p->sum.timed++;
    if (!p->clocked || dt < 0.0) {
        if (p->clocked && p->sum.clock_backs++ == 0)
            p->clock = spot(p, x, x, href, line);
        begin_piece(p, x, time);
    } else {
        p->sum.duration += dt;
        if (dt > 0.0)
            p->tick = fmin(p->tick, dt);
        p->piece_travel += fabs(x - p->clock_x);
        if (end_stop(p, x, time))
            begin_piece(p, x, time);
        else
            end_piece(p, x, time, href, line);
    }
    p->clocked = true;
    p->time = time;
    p->clock_x = x;
}

/* A stop at the end has no row that leaves it. */
static void end_stretch(pace_state *p)
{
    double took = p->time - p->anchor_time;

    if (p->clocked && took >= DM_STOP_TIME &&
        fabs(p->clock_x - p->anchor_x) <= DM_STOP_SPEED * took)
        add_stop(p, took);
    p->begun = p->clocked = p->back = false;
    p->sparse_from = (double)NAN;
}

/* ---- rows ---------------------------------------------------------------- */

void pace_begin(pace_state *p, double footprint)
{
    memset(p, 0, sizeof *p);
    p->footprint = footprint;
    p->tick = HUGE_VAL;
    p->sparse_from = (double)NAN;
}

void pace_rows(pace_state *p, size_t stretch, const char *href,
               const dm_block *block)
{
    if (p->begun && p->stretch != stretch)
        end_stretch(p);
    p->stretch = stretch;
    for (size_t i = 0; i < block->count; i++) {
        double x = block->x[i];
        long line = block->first_line + (long)i;

        if (!p->begun) {
            p->begun = true;
            p->high = p->last = x;
        } else if (x > p->high) {
            step_ahead(p, x, href, line);
        } else {
            step_back(p, x, href, line);
        }
        p->rise += fmax(0.0, x - p->last);
        p->fall += fmax(0.0, p->last - x);
        p->last = x;
        if (block->time != NULL)
            clock_row(p, x, block->time[i], href, line);
    }
    p->sum.rows += block->count;
}

void pace_end(pace_state *p)
{
    if (p->begun)
        end_stretch(p);
    p->sum.spacing = median(&p->spacing);
    p->sum.speed = median(&p->speed);
    if (p->speed.sum <= 0.0)
        p->sum.speed_most = (double)NAN;
    if (p->spacing.sum <= 0.0)
        p->sum.spacing_most = (double)NAN;
}

double pace_speed_wanted(const pace_state *p)
{
    return p->sum.speed * p->footprint / DM_PER_FOOTPRINT / p->sum.spacing;
}
