/* SPDX-License-Identifier: MIT
 * A survey plan: the bays of all tendons, a run for each bay and clock line,
 * their order, times and sums. */
#include <math.h>
#include <stdlib.h>

#include "base/diag.h"
#include "plan/work.h"

#define MOST_OBSTRUCTIONS ((size_t)1000000)
#define HOUR 3600.0

typedef struct {
    const dm_model *model;
    dm_plan *plan;
    const dm_plan_room *room;
    dm_diag *diag;
    dm_plan_run *runs; /* heap: clock lines of a bay side by side, bay by bay */
    size_t *first;     /* heap: of each tendon, its first bay; and the end */
    size_t obstructions;
} maker;

static dm_status no_memory(dm_diag *diag)
{
    return dm_error(diag, DM_NOMEM, (dm_place){0}, "survey plan",
                    "out of memory");
}

/* ---- bays ---------------------------------------------------------------- */

static dm_status make_bays(maker *m)
{
    const dm_model *model = m->model;
    dm_plan *p = m->plan;
    size_t most = 0;
    for (size_t i = 0; i < model->tendon_count; i++)
        most += work_bays_most(&model->tendons[i]);
    p->bays = DM_NEW_ARRAY(p->arena, dm_bay, most);
    m->first = calloc(model->tendon_count + 1, sizeof *m->first);
    if (!p->bays || !m->first)
        return no_memory(m->diag);
    for (size_t i = 0; i < model->tendon_count; i++) {
        tendon_work w = {
            .model = model, .tendon = &model->tendons[i], .index = i};
        size_t count = 0;
        m->first[i] = p->bay_count;
        work_bays(&w, p->factors.value[DM_FACTOR_SLOPE], &p->bays[p->bay_count],
                  &count);
        p->bay_count += count;
    }
    m->first[model->tendon_count] = p->bay_count;
    return DM_OK;
}

/* ---- runs ---------------------------------------------------------------- */

static dm_status make_run(maker *m, const tendon_work *w, size_t bay,
                          size_t clock, const dm_outside *line)
{
    dm_plan *p = m->plan;
    dm_plan_run *r = &m->runs[bay * p->clock_count + clock];
    if (work_run(w, &p->factors, &p->bays[bay], bay, line, p->arena, r) !=
        DM_OK)
        return no_memory(m->diag);
    m->obstructions += r->obstruction_count;
    return m->obstructions <= MOST_OBSTRUCTIONS
               ? DM_OK
               : dm_error(m->diag, DM_RANGE, w->tendon->place, "survey plan",
                          "more than %zu obstructions", MOST_OBSTRUCTIONS);
}

static dm_status tendon_runs(maker *m, const tendon_work *w)
{
    dm_plan *p = m->plan;
    size_t n = p->clock_count, segments = w->tendon->line.count;
    double radius = 0.5 * dm_tendon_duct(w->model, w->tendon, 0.0)->od;
    double *begin = calloc(segments + 1, n * sizeof *begin);
    dm_outside lines[PLAN_MOST_CLOCKS];
    dm_status status = begin ? DM_OK : no_memory(m->diag);
    for (size_t k = 0; begin && k < n; k++)
        dm_outside_prepare(&w->tendon->line, radius, p->clocks[k],
                           begin + k * (segments + 1), &lines[k]);
    for (size_t b = m->first[w->index]; b < m->first[w->index + 1]; b++) {
        for (size_t k = 0; k < n && status == DM_OK; k++)
            status = make_run(m, w, b, k, &lines[k]);
        if (status == DM_OK)
            work_other_lines(&m->runs[b * n], n);
    }
    free(begin);
    return status;
}

static dm_status make_runs(maker *m)
{
    dm_plan *p = m->plan;
    dm_status status = DM_OK;
    m->runs = calloc(p->bay_count + 1, p->clock_count * sizeof *m->runs);
    if (!m->runs)
        return no_memory(m->diag);
    for (size_t i = 0; i < m->model->tendon_count && status == DM_OK; i++) {
        tendon_work w = {.model = m->model,
                         .tendon = &m->model->tendons[i],
                         .index = i,
                         .room = m->room};
        status =
            work_access(&w) == DM_OK ? tendon_runs(m, &w) : no_memory(m->diag);
        free(w.access);
    }
    return status;
}

/* ---- order --------------------------------------------------------------- */

/* Appends the runs of a bay that are to be made, or those that are not. */
static void take_bay(maker *m, size_t bay, bool made)
{
    dm_plan *p = m->plan;
    bool moved = true;
    for (size_t k = 0; k < p->clock_count; k++) {
        dm_plan_run *r = &m->runs[bay * p->clock_count + k];
        if ((r->stretch_count > 0) != made)
            continue;
        work_time(&p->factors, moved, r);
        moved = false;
        p->runs[p->run_count++] = *r;
    }
}

static dm_status order_runs(maker *m)
{
    dm_plan *p = m->plan;
    p->runs =
        DM_NEW_ARRAY(p->arena, dm_plan_run, p->bay_count * p->clock_count);
    if (!p->runs)
        return no_memory(m->diag);
    for (size_t b = 0; b < p->bay_count; b++)
        if (p->bays[b].sloped)
            take_bay(m, b, true);
    for (size_t b = 0; b < p->bay_count; b++)
        if (!p->bays[b].sloped)
            take_bay(m, b, true);
    for (size_t b = 0; b < p->bay_count; b++)
        take_bay(m, b, false);
    return DM_OK;
}

/* ---- sums ---------------------------------------------------------------- */

static size_t touched_fixtures(const dm_tendon *n, const dm_bay *bays,
                               size_t count)
{
    size_t touched = 0;
    for (size_t i = 0; i < n->fixture_count; i++)
        for (size_t k = 0; k < count; k++)
            if (n->fixtures[i].from < bays[k].to &&
                n->fixtures[i].to > bays[k].from) {
                touched++;
                break;
            }
    return touched;
}

static dm_status make_sums(maker *m)
{
    dm_plan *p = m->plan;
    size_t clocks = p->clock_count;
    p->tendons = DM_NEW_ARRAY(p->arena, dm_plan_sum, m->model->tendon_count);
    if (!p->tendons)
        return no_memory(m->diag);
    p->tendon_count = m->model->tendon_count;
    for (size_t i = 0; i < p->tendon_count; i++) {
        const dm_tendon *n = &m->model->tendons[i];
        dm_plan_sum *s = &p->tendons[i];
        size_t first = m->first[i], end = m->first[i + 1];
        s->length = n->line.length;
        s->free_length = work_free_length(n);
        s->fixture_count = touched_fixtures(n, &p->bays[first], end - first);
        for (size_t b = first; b < end; b++)
            work_sum_bay(&m->runs[b * clocks], clocks, s);
        for (size_t r = first * clocks; r < end * clocks; r++)
            work_time_add(&m->runs[r].time, &s->time);
        work_sum_tendon(s, &p->total);
    }
    return DM_OK;
}

static void make_days(dm_plan *p)
{
    const double *f = p->factors.value;
    p->day = (f[DM_FACTOR_HOURS] - f[DM_FACTOR_PERMIT]) * HOUR;
    p->days = p->total.time.total / p->day;
    p->free_per_day =
        p->days > 0.0 ? p->total.free_length / p->days : (double)NAN;
    p->persons = f[DM_FACTOR_PERSONS] + (f[DM_FACTOR_PERMIT] > 0.0 ? 1.0 : 0.0);
}

/* ---- all of it ------------------------------------------------------------
 */

static dm_status check(const dm_factors *f, size_t clocks, dm_diag *diag)
{
    dm_place nowhere = {0};
    if (clocks > PLAN_MOST_CLOCKS)
        return dm_error(diag, DM_RANGE, nowhere, "survey plan",
                        "%zu clock lines, expected %d at most", clocks,
                        PLAN_MOST_CLOCKS);
    if (f->value[DM_FACTOR_PERMIT] >= f->value[DM_FACTOR_HOURS])
        return dm_error(diag, DM_RANGE, nowhere, "survey plan",
                        "the permit takes the whole day: permit must be less "
                        "than hours");
    return DM_OK;
}

static dm_status fill(maker *m, const double *clocks, size_t count)
{
    dm_plan *p = m->plan;
    p->clock_count = count > 0 ? count : 1;
    p->clocks = DM_NEW_ARRAY(p->arena, double, p->clock_count);
    if (!p->clocks)
        return no_memory(m->diag);
    for (size_t i = 0; i < count; i++)
        p->clocks[i] = clocks[i];
    dm_status status = make_bays(m);
    if (status == DM_OK)
        status = make_runs(m);
    if (status == DM_OK)
        status = order_runs(m);
    if (status == DM_OK)
        status = make_sums(m);
    if (status == DM_OK)
        make_days(p);
    return status;
}

dm_status dm_plan_make(const dm_model *model, const dm_factors *factors,
                       const double *clocks, size_t count,
                       const dm_plan_room *room, dm_diag *diag, dm_plan **out)
{
    dm_factors defaults = dm_factors_default();
    *out = NULL;
    dm_status status = check(factors ? factors : &defaults, count, diag);
    if (status != DM_OK)
        return status;
    dm_arena *arena = dm_arena_new();
    maker m = {.model = model, .diag = diag};
    m.plan = arena ? DM_NEW(arena, dm_plan) : NULL;
    if (!m.plan) {
        dm_arena_free(arena);
        return no_memory(diag);
    }
    m.plan->arena = arena;
    m.plan->factors = factors ? *factors : defaults;
    if (room && room->context && room->instrument &&
        room->instrument->body_height > 0.0) {
        m.room = room;
        m.plan->body_height = room->instrument->body_height;
    }
    status = fill(&m, clocks, count);
    free(m.runs);
    free(m.first);
    if (status == DM_OK)
        *out = m.plan;
    else
        dm_arena_free(arena);
    return status;
}

void dm_plan_free(dm_plan *plan)
{
    if (plan)
        dm_arena_free(plan->arena);
}
