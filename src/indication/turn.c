/* SPDX-License-Identifier: MIT
 * The turns of a run: files read, cells filled, placed on the tendon.
 *
 * A turn stands at a run distance, on whichever stretch of the run passed it:
 * the last one begun before the turn, if it did, else any. Clock angles are
 * what the file says, seen as the run's clock was; the way round changes only
 * the order of the rows. A turn that cannot be read or placed is said. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/num.h"
#include "ductmark/section.h"
#include "indication/line.h"
#include "indication/turn.h"

#define TWO_PI 6.283185307179586476925
#define SLACK 0.05 /* m beyond the readings that a turn may lie */

/* ---- rows to cells ---- */

typedef struct {
    double *sum, *n; /* [columns][cells] */
} heap;

static void add_block(const dm_run_work *w, const dm_block *block, heap *h)
{
    for (size_t c = 0; c < w->columns->value_count; c++) {
        double offset =
            w->instrument->channels[w->columns->channel[c]].clock_offset;

        for (size_t i = 0; i < block->count; i++) {
            double seen = w->run->clock_back ? -block->x[i] : block->x[i];
            double turns = (seen + offset) / TWO_PI;
            double cell = floor((turns - floor(turns)) * DM_TURN_CELLS + 0.5);
            size_t k = c * DM_TURN_CELLS + (size_t)cell % DM_TURN_CELLS;

            h->sum[k] += block->value[c][i];
            h->n[k] += 1.0;
        }
    }
}

static dm_status read_rows(dm_finder *f, const dm_run_work *w,
                           const dm_event *event, heap *h)
{
    dm_readings *r = NULL;
    dm_status status = dm_readings_open(f->survey, w->run, event, f->diag, &r);
    dm_block block = {0};

    while (status == DM_OK) {
        status = dm_readings_next(r, &block);
        if (status != DM_OK || block.count == 0)
            break;
        f->out->reading_count += block.count;
        add_block(w, &block, h);
    }
    if (status == DM_OK)
        status = dm_hash_keep(f, r, event->href);
    dm_readings_close(r);
    return status;
}

/* ---- place ---- */

static bool passed(const dm_bins *b, double x)
{
    double from = b->x0 - (double)b->low * b->pitch;

    return b->count > 0 && x >= from - SLACK &&
           x <= from + (double)b->count * b->pitch + SLACK;
}

/* Stretch of the run that passed the place of a turn; DM_NONE. */
static size_t stretch_of(const dm_run_work *w, size_t event)
{
    double x = w->run->events[event].x;
    size_t found = DM_NONE;

    for (size_t s = 0; s < w->stations->stretch_count; s++)
        if (passed(&w->bins[s], x) &&
            (found == DM_NONE || w->stations->stretches[s].event < event))
            found = s;
    return found;
}

static dm_status place_turn(dm_finder *f, const dm_run_work *w, size_t stretch,
                            dm_turn *turn)
{
    dm_walker *walker = NULL;
    dm_station_point p;
    dm_status status = dm_walker_new(f->stations, f->model, f->survey, w->at,
                                     stretch, turn->channel, &walker);

    if (status != DM_OK)
        return status;
    p = dm_walker_at(walker, w->run->events[turn->event].x);
    dm_walker_free(walker);
    if (!(p.t >= 0.0) || p.t > f->tendon->line.length)
        return DM_OK;
    turn->t = p.t;
    turn->u = sqrt(fmax(0.0, p.world));
    turn->face_back = p.face_back;
    turn->face_ahead = p.face_ahead;
    turn->u_back = sqrt(fmax(0.0, p.back)); /* NAN goes on: see below */
    turn->u_ahead = sqrt(fmax(0.0, p.ahead));
    if (p.face_back == DM_NONE)
        turn->u_back = (double)NAN;
    if (p.face_ahead == DM_NONE)
        turn->u_ahead = (double)NAN;
    turn->reconciled = p.reconciled;
    for (size_t i = 0; i < f->tendon->strand_side_count; i++) {
        const dm_strand_side *s = &f->tendon->strand_sides[i];

        if (p.t >= s->from && p.t <= s->to) {
            turn->strand = s->clock;
            break;
        }
    }
    return DM_OK;
}

/* ---- one turn of one channel ---- */

static void to_index(const dm_calibration *cal, const dm_gain *gain,
                     const double *sum, const double *n, double *index)
{
    for (size_t i = 0; i < DM_TURN_CELLS; i++) {
        double clock = (double)i * TWO_PI / DM_TURN_CELLS;
        double reference = dm_reference_at(cal, clock);

        index[i] =
            n[i] > 0.0
                ? (reference - (gain->offset + gain->gain * sum[i] / n[i])) /
                      (reference - cal->air)
                : (double)NAN;
    }
}

static dm_status turn_of_line(dm_finder *f, const dm_run_work *w,
                              const dm_run_line *l, size_t event,
                              size_t stretch, const heap *h)
{
    const dm_channel *channel = &w->instrument->channels[l->channel];
    dm_turn turn = dm_turn_unknown();
    const dm_duct_type *duct;
    const dm_calibration *cal;
    dm_turn_view view;
    dm_status status;

    turn.run = (size_t)(w->run - f->survey->runs);
    turn.event = event;
    turn.channel = l->channel;
    status = place_turn(f, w, stretch, &turn);
    if (status != DM_OK || isnan(turn.t))
        return status;
    duct = dm_tendon_duct(f->model, f->tendon, turn.t);
    cal =
        dm_survey_calibration(f->survey, (size_t)(duct - f->model->duct_types),
                              w->run->instrument, l->channel);
    if (cal == NULL || strcmp(duct->material, "steel") == 0)
        return DM_OK; /* said with the readings there */
    turn.bore = dm_duct_bore(duct);
    turn.cell_count = DM_TURN_CELLS;
    turn.index = DM_NEW_ARRAY(f->arena, double, DM_TURN_CELLS);
    if (turn.index == NULL)
        return DM_NOMEM;
    to_index(cal, &l->gain, h->sum + l->column * DM_TURN_CELLS,
             h->n + l->column * DM_TURN_CELLS, turn.index);
    view = (dm_turn_view){.footprint =
                              channel->footprint_around / (0.5 * duct->od),
                          .layer = channel->depth,
                          .band = dm_thresholds_of(cal),
                          .depths = cal->depths,
                          .depth_count = cal->depth_count};
    if (!dm_turn_measure(f->arena, &view, &turn) ||
        (f->turn_count == f->turn_capacity &&
         !DM_GROW(f->turns, f->turn_count, f->turn_capacity)))
        return DM_NOMEM;
    f->turns[f->turn_count++] = turn;
    return DM_OK;
}

static void say_unplaced(const dm_finder *f, const dm_run_work *w,
                         const dm_event *event)
{
    char x[DM_NUM_SIZE];

    dm_num_fixed(x, event->x, 3);
    dm_warn(f->diag, event->place, w->run->id,
            "the turn at run distance %s m lies where the run has no "
            "readings: it cannot be placed and is left out",
            x);
}

static dm_status one_turn(dm_finder *f, const dm_run_work *w,
                          const dm_run_line *lines, size_t event, heap *h)
{
    const dm_event *e = &w->run->events[event];
    size_t cells = w->columns->value_count * DM_TURN_CELLS;
    size_t stretch = stretch_of(w, event);
    dm_status status;

    memset(h->sum, 0, 2 * cells * sizeof *h->sum);
    status = read_rows(f, w, e, h);
    if (status == DM_NOMEM)
        return status;
    if (status != DM_OK) { /* said with file and line */
        dm_run_count(f, w);
        return DM_OK;
    }
    if (stretch == DM_NONE) {
        say_unplaced(f, w, e);
        return DM_OK;
    }
    for (size_t c = 0; c < w->columns->value_count && status == DM_OK; c++)
        if (lines[c].calibration != NULL && !lines[c].drifted)
            status = turn_of_line(f, w, &lines[c], event, stretch, h);
    return status;
}

dm_status dm_turns_of_run(dm_finder *f, const dm_run_work *w,
                          const dm_run_line *lines)
{
    size_t cells = w->columns->value_count * DM_TURN_CELLS;
    heap h = {.sum = NULL};
    dm_status status = DM_OK;

    for (size_t i = 0; i < w->run->event_count && status == DM_OK; i++) {
        if (w->run->events[i].kind != DM_EVENT_TURN)
            continue;
        if (h.sum == NULL)
            h.sum = calloc(2 * cells + 1, sizeof *h.sum);
        if (h.sum == NULL)
            return DM_NOMEM;
        h.n = h.sum + cells;
        status = one_turn(f, w, lines, i, &h);
    }
    free(h.sum);
    return status;
}
