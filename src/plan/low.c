/* SPDX-License-Identifier: MIT
 * Low clearance of a run: where the sensor's body does not fit between the duct
 * and the meshes, over the clock line of any of its channels. A run stops
 * before such a length as before a fixture, so that all of the body, from nose
 * to tail, is kept out of it.
 *
 * What lies within AT_STOP of where the body stops anyway is the support itself
 * as the mesh shows it. */
#include <math.h>
#include <stdlib.h>

#include "geom/clock.h"
#include "plan/work.h"

#define AT_STOP 5e-3 /* m */

/* ---- lengths ------------------------------------------------------------- */

/* Stations that lie between the two, without those at their ends only. */
static dm_status keep(const dm_low_clearance *found, size_t count, double from,
                      double to, dm_arena *arena, dm_plan_run *run)
{
    run->low = DM_NEW_ARRAY(arena, dm_plan_low, count);
    if (!run->low)
        return DM_NOMEM;
    for (size_t i = 0; i < count; i++) {
        if (found[i].to <= from + AT_STOP || found[i].from >= to - AT_STOP)
            continue;
        char *name = dm_arena_strdup(arena, found[i].name);
        if (!name)
            return DM_NOMEM;
        run->low[run->low_count++] = (dm_plan_low){.from = found[i].from,
                                                   .to = found[i].to,
                                                   .free = found[i].free,
                                                   .obstacle = name,
                                                   .other = DM_NONE};
    }
    return DM_OK;
}

dm_status work_low(const tendon_work *w, double from, double to,
                   dm_arena *arena, dm_plan_run *run)
{
    if (!w->room)
        return DM_OK;
    const dm_instrument *in = w->room->instrument;
    double turn = (double)((int)run->direction * (int)run->leading);
    double *clock = calloc(in->channel_count, 2 * sizeof *clock);
    if (!clock)
        return DM_NOMEM;
    double *width = clock + in->channel_count;
    for (size_t i = 0; i < in->channel_count; i++) {
        clock[i] = run->clock + turn * in->channels[i].clock_offset;
        width[i] = in->channels[i].footprint_around;
    }
    dm_body body = {clock, width, in->channel_count, in->body_height};
    dm_low_clearance *found = NULL;
    size_t count = 0;
    dm_status status = dm_context_low(w->room->context, w->model, w->index,
                                      &body, from, to, &found, &count);
    if (status == DM_OK && count > 0)
        status = keep(found, count, from, to, arena, run);
    free(found);
    free(clock);
    return status;
}

/* ---- another clock line -------------------------------------------------- */

static bool is_testable(const dm_plan_run *r, double from, double to)
{
    for (size_t i = 0; i < r->length_count; i++) {
        const dm_bay_length *l = &r->lengths[i];
        if (l->state != DM_BAY_TESTABLE && l->from < to && l->to > from)
            return false;
        if (l->state != DM_BAY_TESTABLE && l->from <= from && l->to >= to)
            return false;
    }
    /* Something thin has no length of its own. */
    for (size_t i = 0; i < r->low_count; i++)
        if (r->low[i].from <= to && r->low[i].to >= from)
            return false;
    return true;
}

void work_other_lines(dm_plan_run *runs, size_t count)
{
    for (size_t k = 0; k < count; k++)
        for (size_t i = 0; i < runs[k].low_count; i++) {
            dm_plan_low *low = &runs[k].low[i];
            double best = HUGE_VAL;
            for (size_t j = 0; j < count; j++) {
                double apart = dm_clock_apart(runs[k].clock, runs[j].clock);
                if (j == k || apart >= best - 1e-9 ||
                    !is_testable(&runs[j], low->from, low->to))
                    continue;
                best = apart;
                low->other = j;
            }
        }
}
