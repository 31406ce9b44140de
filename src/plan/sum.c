/* SPDX-License-Identifier: MIT
 * Sums and times of a plan. Where several clock lines are planned, each place
 * has the best state that one of them gives it, as in coverage, so that the
 * states still sum to the readable length. */
#include <math.h>

#include "plan/work.h"

const char *dm_bay_state_text(dm_bay_state state)
{
    static const char *const text[DM_BAY_STATES] = {"testable", "dead zone",
                                                    "obstruction", "no access"};
    return text[(size_t)state < DM_BAY_STATES ? state : DM_BAY_NO_ACCESS];
}

/* ---- time ---------------------------------------------------------------- */

void work_time_add(const dm_plan_time *t, dm_plan_time *sum)
{
    sum->scan += t->scan;
    sum->reseat += t->reseat;
    sum->setup += t->setup;
    sum->move += t->move;
    sum->shift += t->shift;
    sum->check += t->check;
    sum->tie += t->tie;
    sum->total += t->total;
}

void work_time(const dm_factors *factors, bool moved, dm_plan_run *run)
{
    static const dm_factor slow[DM_ACCESS_NONE] = {
        DM_FACTOR_FLOOR, DM_FACTOR_LADDER, DM_FACTOR_SCAFFOLD, DM_FACTOR_CRAWL,
        DM_FACTOR_ROPE};
    const double *f = factors->value;
    dm_plan_time t = {0};
    int ties = (run->face_start != DM_NONE) + (run->face_end != DM_NONE);
    run->time = t;
    if (run->stretch_count == 0)
        return;
    for (size_t i = 0; i < DM_ACCESS_NONE; i++)
        t.scan += run->scan[i] / (f[DM_FACTOR_SPEED] * f[slow[i]]);
    t.reseat = f[DM_FACTOR_RESEAT] * (double)(run->stretch_count - 1);
    t.setup = f[DM_FACTOR_SETUP];
    t.move = moved ? f[DM_FACTOR_MOVE] : 0.0;
    t.shift = f[DM_FACTOR_SHIFT] *
              ceil(run->scan[DM_ACCESS_SCAFFOLD] / f[DM_FACTOR_PLATFORM]);
    t.check = f[DM_FACTOR_CHECK] * f[DM_FACTOR_CHECKS];
    t.tie = f[DM_FACTOR_TIE] * ties;
    t.total = t.scan + t.reseat + t.setup + t.move + t.shift + t.check + t.tie;
    run->time = t;
}

/* ---- lengths ------------------------------------------------------------- */

/* The best length of any run at station `at`, which lies in the bay; *end: to
 * where all stay as they are. next[k]: length of run k to look at. */
static const dm_bay_length *best_at(const dm_plan_run *runs, size_t count,
                                    size_t *next, double at, double *end)
{
    const dm_bay_length *best = NULL;
    *end = HUGE_VAL;
    for (size_t k = 0; k < count; k++) {
        const dm_plan_run *r = &runs[k];
        while (next[k] + 1 < r->length_count && r->lengths[next[k]].to <= at)
            next[k]++;
        const dm_bay_length *l = &r->lengths[next[k]];
        if (!best || l->state < best->state)
            best = l;
        if (l->to > at)
            *end = fmin(*end, l->to);
    }
    return best;
}

void work_sum_bay(const dm_plan_run *runs, size_t count, dm_plan_sum *sum)
{
    size_t next[PLAN_MOST_CLOCKS] = {0};
    double at = runs->lengths[0].from, end = 0.0;
    double last = runs->lengths[runs->length_count - 1].to;
    sum->bay_count++;
    sum->readable += last - at;
    while (at < last) {
        const dm_bay_length *best = best_at(runs, count, next, at, &end);
        end = fmin(end, last);
        sum->sum[best->state] += end - at;
        sum->access[best->access] += end - at;
        at = end;
    }
    for (size_t k = 0; k < count; k++) {
        sum->scan += runs[k].sum[DM_BAY_TESTABLE];
        sum->run_count += runs[k].stretch_count > 0;
        sum->stretch_count += runs[k].stretch_count;
    }
}

void work_sum_tendon(const dm_plan_sum *tendon, dm_plan_sum *total)
{
    total->length += tendon->length;
    total->free_length += tendon->free_length;
    total->readable += tendon->readable;
    for (size_t i = 0; i < DM_BAY_STATES; i++)
        total->sum[i] += tendon->sum[i];
    for (size_t i = 0; i < DM_ACCESS_COUNT; i++)
        total->access[i] += tendon->access[i];
    total->scan += tendon->scan;
    total->fixture_count += tendon->fixture_count;
    total->bay_count += tendon->bay_count;
    total->run_count += tendon->run_count;
    total->stretch_count += tendon->stretch_count;
    work_time_add(&tendon->time, &total->time);
}
