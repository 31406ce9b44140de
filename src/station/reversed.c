/* SPDX-License-Identifier: MIT
 * A reversed run changes the equations: its tendon is solved anew with the run
 * turned, or turned and its faces mirrored, and the densities of what the
 * encoder rolled are compared. */
#include <math.h>

#include "station/ranking.h"

/* To turn a run is to solve the tendon anew; this many multiplications bound
 * the time (seconds), far above what tendons of a bridge need. */
#define MOST_TURNED 4e9

/* Sum of the misclosures' sizes: as booked, turned, and turned and mirrored;
 * offsets of the sensor apart. */
static void turned_misclosures(const station_system *s, size_t path_index,
                               double sum[3])
{
    size_t first = 0, count = 0;
    for (size_t i = 0; i < s->interval_count; i++)
        if (s->intervals[i].run == path_index && count++ == 0)
            first = i;
    sum[0] = sum[1] = sum[2] = 0.0;
    for (size_t i = 0; i < count; i++) {
        const tie *b = &s->ties[s->interval_tie[first + i]];
        const tie *m = &s->ties[s->interval_tie[first + count - 1 - i]];
        double dir = s->paths[path_index].dir;
        double stated = dir * (b->target - b[-1].target);
        double other = dir * (m->target - m[-1].target);
        double travel =
            dir * (s->knots[b->knot].nominal - s->knots[b[-1].knot].nominal);
        if (s->knots[b->knot].section != s->knots[b[-1].knot].section)
            continue;
        sum[0] += fabs(stated - travel);
        sum[1] += fabs(-stated - travel);
        sum[2] += fabs(other - travel);
    }
}

/* What is corrected or free as it is, and the run turned. */
static dm_status turned_freedom(const ranking *r, size_t path_index,
                                bool mirrored, station_freedom *out)
{
    const station_system *s = r->s;
    size_t n = s->given ? s->given->correction_count : 0;
    *out = (station_freedom){.corrections = DM_NEW_ARRAY(
                                 s->arena, correction, n + s->path_count + 1)};
    if (!out->corrections)
        return DM_NOMEM;
    for (size_t i = 0; i < n; i++)
        out->corrections[i] = s->given->corrections[i];
    for (size_t i = 0; i < s->path_count; i++) {
        size_t first = 0;
        while (s->paths[first].scale != s->paths[i].scale)
            first++;
        if (first == i && r->c->scale_free[s->paths[i].scale])
            out->corrections[n++] = (correction){
                .kind = DM_BLUNDER_SCALE, .path = i, .event = DM_NONE};
    }
    out->corrections[n++] = (correction){.kind = DM_BLUNDER_REVERSED,
                                         .path = path_index,
                                         .event = DM_NONE,
                                         .mirrored = mirrored};
    out->correction_count = n;
    return DM_OK;
}

/* The same data with the run turned: log density and chi-square of what is
 * still in. */
static dm_status turn(const ranking *r, size_t path_index, bool mirrored,
                      double *density, double *chi2)
{
    const station_system *s = r->s;
    station_system t = {.model = s->model,
                        .survey = s->survey,
                        .tendon = s->tendon,
                        .settings = s->settings,
                        .arena = s->arena,
                        .radius = s->radius};
    station_freedom given;
    adjusted a;
    closure c;
    dm_status status = turned_freedom(r, path_index, mirrored, &given);
    if (status == DM_OK)
        status = station_system_build(
            &t, (size_t)(s->tendon - s->model->tendons), &given, NULL);
    if (status == DM_OK)
        status = station_adjust(&t, &a);
    if (status == DM_OK)
        status = closure_new(&t, &a, &c);
    if (status != DM_OK)
        return status;
    for (size_t i = 0; i < c.m; i++)
        if (r->c->dropped[i])
            closure_drop(&c, i);
    *density = -0.5 * (c.chi2 + c.logdet);
    *chi2 = c.chi2;
    return DM_OK;
}

dm_status ranking_add_reversed(ranking *r, size_t path_index, double odds,
                               double *turned)
{
    double sum[3], density, chi2;
    double m = (double)r->c->m, cost = m * m * (double)r->s->n;
    turned_misclosures(r->s, path_index, sum);
    for (int way = 1; way <= 2; way++) {
        if (!(sum[way] < sum[0]) || *turned + cost > MOST_TURNED)
            continue;
        *turned += cost;
        dm_status status = turn(r, path_index, way == 2, &density, &chi2);
        if (status == DM_INCONSISTENT)
            continue;
        if (status != DM_OK)
            return status;
        candidate a = candidate_start(DM_BLUNDER_REVERSED, path_index, DM_NONE);
        a.h.mirrored = way == 2;
        ranking_add(r, &a,
                    log(0.5 * odds) + density +
                        0.5 * (r->c->chi2 + r->c->logdet),
                    r->c->chi2 - chi2);
    }
    return DM_OK;
}
