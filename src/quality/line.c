/* SPDX-License-Identifier: MIT
 * One channel of a run, from the strips that the indication stage made of it:
 * checks, noise, lift-offs, and its index in cells of the tendon. */
#include <math.h>
#include <stdlib.h>

#include "quality/work.h"

/* ---- checks -------------------------------------------------------------- */

static void find_checks(const dm_run *run, dm_quality_channel *c)
{
    size_t first = run->event_count, last = 0;

    for (size_t i = 0; i < run->event_count; i++)
        if (run->events[i].kind == DM_EVENT_READINGS) {
            first = i < first ? i : first;
            last = i;
        }
    for (size_t i = 0; i < run->event_count; i++) {
        const dm_event *e = &run->events[i];

        if (e->kind != DM_EVENT_CHECK ||
            (e->channel != DM_NONE && e->channel != c->channel))
            continue;
        c->check_before = c->check_before || i < first;
        c->check_after = c->check_after || i > last;
    }
}

/* ---- lift-offs ------------------------------------------------------------
 */

static size_t fixture_near(const dm_tendon *tendon, double from, double to,
                           double reach)
{
    for (size_t i = 0; i < tendon->fixture_count; i++)
        if (tendon->fixtures[i].from <= to + reach &&
            tendon->fixtures[i].to >= from - reach)
            return i;
    return DM_NONE;
}

/* Counts only where `out` is NULL. */
static size_t shapes(const dm_run_line *l, dm_lift_off *out)
{
    size_t n = 0;

    for (size_t s = 0; s < l->count; s++) {
        const dm_strip *strip = &l->strips[s];
        double half = 0.5 * strip->pitch;

        for (size_t i = 0; i < strip->count; i++) {
            size_t first = i;

            while (i < strip->count && strip->bad[i])
                i++;
            if (i == first)
                continue;
            if (out != NULL)
                out[n] = (dm_lift_off){.from = strip->t[first] - half,
                                       .to = strip->t[i - 1] + half};
            n++;
        }
    }
    return n;
}

static size_t count_stated(const dm_run_work *w)
{
    size_t n = 0;

    for (size_t i = 0; i < w->run->event_count; i++)
        n += w->run->events[i].kind == DM_EVENT_LIFT;
    return n;
}

/* Those of the readings before them, whose stretch places them. */
static dm_status add_stated(const quality_work *k, const dm_run_work *w,
                            const dm_run_line *l, dm_quality_channel *c)
{
    for (size_t s = 0; s < w->stations->stretch_count; s++) {
        dm_walker *walker = NULL;
        dm_status status = DM_OK;

        for (size_t i = w->stations->stretches[s].event + 1;
             i < w->run->event_count &&
             w->run->events[i].kind != DM_EVENT_READINGS;
             i++) {
            const dm_event *e = &w->run->events[i];
            double x[2] = {e->x, e->x_to}, t[2];

            if (e->kind != DM_EVENT_LIFT)
                continue;
            if (walker == NULL)
                status = dm_walker_new(k->stations, k->model, k->survey, w->at,
                                       s, l->channel, &walker);
            if (status != DM_OK)
                return status;
            dm_walker_map(walker, x, 2, t, NULL);
            c->lifts[c->lift_count++] = (dm_lift_off){.from = fmin(t[0], t[1]),
                                                      .to = fmax(t[0], t[1]),
                                                      .stated = true,
                                                      .reason = e->reason};
        }
        dm_walker_free(walker);
    }
    return DM_OK;
}

static dm_status take_lifts(const quality_work *k, const dm_run_work *w,
                            const dm_run_line *l, dm_quality_channel *c)
{
    size_t n = shapes(l, NULL);
    dm_status status;

    c->lifts = DM_NEW_ARRAY(k->arena, dm_lift_off, n + count_stated(w));
    if (c->lifts == NULL)
        return DM_NOMEM;
    c->lift_count = shapes(l, c->lifts);
    status = add_stated(k, w, l, c);
    for (size_t i = 0; i < c->lift_count; i++) {
        dm_lift_off *lift = &c->lifts[i];

        lift->fixture =
            fixture_near(k->tendon, lift->from, lift->to, l->footprint);
        c->lifted += lift->to - lift->from;
    }
    return status;
}

/* ---- cells of the tendon --------------------------------------------------
 */

static quality_line *new_line(quality_work *k, const dm_run_work *w,
                              const dm_run_line *l, double band)
{
    quality_line *q;

    if (k->line_count == k->line_capacity &&
        !DM_GROW(k->lines, k->line_count, k->line_capacity))
        return NULL;
    q = &k->lines[k->line_count];
    *q = (quality_line){.run = w->at,
                        .channel = l->channel,
                        .clock = l->clock,
                        .footprint = l->footprint,
                        .band = band};
    q->index = calloc(3 * k->cells + 1, sizeof *q->index);
    if (q->index == NULL)
        return NULL;
    q->var = q->index + k->cells;
    q->place = q->var + k->cells;
    for (size_t i = 0; i < k->cells; i++)
        q->index[i] = NAN;
    k->line_count++;
    return q;
}

/* To the faces where there are any: what two runs have in common counts for
 * neither of them. */
static double place_var(dm_walker *walker, double x)
{
    dm_station_point p = dm_walker_at(walker, x);
    double least = fmin(p.back, p.ahead); /* passes over NAN */

    return isnan(least) ? p.world : least;
}

static dm_status add_strip(const quality_work *k, const dm_run_work *w,
                           const dm_run_line *l, size_t strip, quality_line *q)
{
    const dm_strip *s = &l->strips[strip];
    dm_walker *walker = NULL;
    dm_status status = dm_walker_new(k->stations, k->model, k->survey, w->at,
                                     l->stretch[strip], l->channel, &walker);

    for (size_t i = 0; status == DM_OK && i < s->count;) {
        size_t cell = (size_t)(s->t[i] / QUALITY_PITCH), n = 0;
        double sum = 0.0, x = s->x[i];

        for (; i < s->count && (size_t)(s->t[i] / QUALITY_PITCH) == cell; i++) {
            if (s->bad[i] || s->unreconciled[i])
                continue;
            sum += s->index[i];
            n++;
        }
        if (n == 0 || cell >= k->cells)
            continue;
        q->index[cell] = (float)(sum / (double)n);
        q->var[cell] = (float)dm_noise_mean_var(&l->noise, n);
        q->place[cell] = (float)place_var(walker, x);
    }
    dm_walker_free(walker);
    return status;
}

static dm_status take_cells(quality_work *k, const dm_run_work *w,
                            const dm_run_line *l, double band)
{
    quality_line *q = new_line(k, w, l, band);
    dm_status status = q != NULL ? DM_OK : DM_NOMEM;

    for (size_t s = 0; s < l->count && status == DM_OK; s++)
        status = add_strip(k, w, l, s, q);
    return status;
}

/* ---- */

static void take_extent(const dm_run_work *w, const dm_run_line *l,
                        dm_quality_run *run)
{
    for (size_t s = 0; s < w->stations->stretch_count; s++) {
        if (l->extents[s].low > l->extents[s].high)
            continue;
        run->from = fmin(run->from, l->extents[s].low); /* over NAN, too */
        run->to = fmax(run->to, l->extents[s].high);
    }
}

dm_status quality_take_line(quality_work *k, const dm_run_work *w,
                            const dm_run_line *l)
{
    dm_quality_run *run = &k->out->runs[w->at];
    dm_quality_channel *c;
    dm_status status;

    if (run->channels == NULL)
        run->channels =
            DM_NEW_ARRAY(k->arena, dm_quality_channel, w->columns->value_count);
    if (run->channels == NULL)
        return DM_NOMEM;
    k->facts[w->at].read = true;
    k->facts[w->at].part = w->said->steel || w->said->calibration;
    c = &run->channels[run->channel_count++];
    *c = (dm_quality_channel){.channel = l->channel,
                              .clock = l->clock,
                              .drift = (double)NAN,
                              .noise = (double)NAN,
                              .floor = (double)NAN,
                              .band = (double)NAN};
    find_checks(w->run, c);
    take_extent(w, l, run);
    if (l->calibration != NULL) {
        dm_thresholds band = dm_thresholds_of(l->calibration);

        c->band = fmin(band.enter, -band.soft_enter);
        c->drift = dm_drift_of_run(w->run, l->channel, l->calibration, l->clock,
                                   &l->gain);
    }
    status = take_lifts(k, w, l, c);
    if (status != DM_OK || !l->measured)
        return status;
    c->noise = l->noise.sigma;
    c->floor = dm_noise_floor(&l->noise);
    return take_cells(k, w, l, c->band);
}
