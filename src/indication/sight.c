/* SPDX-License-Identifier: MIT
 * What stands out of one strip: zones by the bands of the duct type at their
 * station, as sightings with the variances of their ends; and which lengths
 * the run read, so that those who saw nothing are known too. */
#include <math.h>

#include "base/diag.h"
#include "base/num.h"
#include "indication/line.h"

static dm_spot spot_of(dm_walker *walker, const dm_edge *e)
{
    dm_station_point p = dm_walker_at(walker, e->x);

    return (dm_spot){.t = e->t,
                     .edge = e->u * e->u,
                     .world = p.world,
                     .back = p.back,
                     .ahead = p.ahead,
                     .tip_low = e->tip_low,
                     .tip_high = e->tip_high,
                     .face_back = p.face_back,
                     .face_ahead = p.face_ahead,
                     .open = e->open};
}

static bool all_reconciled(const dm_strip *s, const dm_found *found)
{
    for (size_t i = found->first; i <= found->last; i++)
        if (s->unreconciled[i])
            return false;
    return true;
}

/* What was read, valid and reconciled: a run that shows nothing here was here
 * all the same. */
static dm_status add_passes(dm_finder *f, const dm_run_work *w,
                            const dm_run_line *l, const dm_strip *s)
{
    dm_status status = DM_OK;

    for (size_t i = 0; i < s->count && status == DM_OK; i++) {
        size_t first = i;

        while (i < s->count && !s->bad[i] && !s->unreconciled[i])
            i++;
        if (i > first)
            status = dm_pass_add(f, (dm_pass){w->stations->run, l->clock,
                                              s->t[first], s->t[i - 1]});
    }
    return status;
}

/* Index into the tendon's duct lengths. */
static size_t duct_at(const dm_tendon *tendon, double t)
{
    size_t d = 0;

    while (d + 1 < tendon->duct_count && t >= tendon->ducts[d].to)
        d++;
    return d;
}

static const dm_calibration *calibration_of(const dm_finder *f,
                                            const dm_run_work *w,
                                            const dm_run_line *l, size_t duct)
{
    return dm_survey_calibration(f->survey, f->tendon->ducts[duct].duct_type,
                                 w->run->instrument, l->channel);
}

static const dm_calibration *calibration_at(const dm_finder *f,
                                            const dm_run_work *w,
                                            const dm_run_line *l, double t)
{
    return calibration_of(f, w, l, duct_at(f->tendon, t));
}

/* Raises thresholds that lie within the noise, and says so once. */
static void respect_noise(const dm_finder *f, const dm_run_work *w,
                          dm_run_line *l, const dm_noise *noise,
                          dm_thresholds *band)
{
    char enter[DM_NUM_SIZE], sigma[DM_NUM_SIZE];

    if (!dm_thresholds_raise(band, noise) || l->raised)
        return;
    l->raised = true;
    dm_num_fixed(enter, dm_noise_floor(noise), 2);
    dm_num_fixed(sigma, noise->sigma, 3);
    dm_warn(f->diag, w->run->place, w->run->id,
            "noise of the index is %s: bands closer to 0 than %s were raised "
            "to it",
            sigma, enter);
}

/* Zones of a strip by the bands of the duct type where their middle lies. */
static bool find_in_strip(dm_finder *f, const dm_run_work *w, dm_run_line *l,
                          const dm_strip *s, const dm_noise *noise,
                          dm_found_list *list)
{
    size_t first = duct_at(f->tendon, s->t[0]);
    size_t last = duct_at(f->tendon, s->t[s->count - 1]);
    const dm_calibration *done = NULL;

    list->count = 0;
    for (size_t d = first; d <= last; d++) {
        const dm_calibration *c = calibration_of(f, w, l, d);
        size_t before = list->count, kept = before;
        dm_thresholds band;

        if (c == NULL || c == done)
            continue;
        done = c;
        band = dm_thresholds_of(c);
        respect_noise(f, w, l, noise, &band);
        if (!dm_strip_find(s, l->footprint, noise, &band,
                           f->settings->least_length, list))
            return false;
        for (size_t i = before; i < list->count; i++)
            if (calibration_at(
                    f, w, l,
                    0.5 * (list->items[i].from.t + list->items[i].to.t)) == c)
                list->items[kept++] = list->items[i];
        list->count = kept;
    }
    return true;
}

static dm_status add_sightings(dm_finder *f, const dm_run_work *w,
                               const dm_run_line *l, size_t strip,
                               const dm_found_list *list)
{
    const dm_strip *s = &l->strips[strip];
    dm_walker *walker = NULL;
    dm_status status = DM_OK;

    if (list->count == 0)
        return DM_OK;
    status = dm_walker_new(f->stations, f->model, f->survey, w->at,
                           l->stretch[strip], l->channel, &walker);
    for (size_t i = 0; i < list->count && status == DM_OK; i++) {
        const dm_found *found = &list->items[i];
        double middle = 0.5 * (found->from.t + found->to.t);
        const dm_duct_type *duct = dm_tendon_duct(f->model, f->tendon, middle);
        bool strand =
            dm_strand_near(f->tendon, &w->instrument->channels[l->channel],
                           duct->od, l->clock, found->from.t,
                           found->to.t) != NULL;
        dm_sighting g = {
            .kind = dm_kind_by_bands(found->plateau, strand),
            .from = spot_of(walker, &found->from),
            .to = spot_of(walker, &found->to),
            .shorter = found->shorter,
            .reconciled = all_reconciled(s, found),
            .clock = l->clock,
            .index = found->plateau,
            .index_u = found->plateau_u,
            .index_length = found->index_length,
            .index_length_u = found->index_length_u,
            .run = w->stations->run,
            .channel = l->channel,
            .strip = strip,
            .footprint = l->footprint,
            .around = w->instrument->channels[l->channel].footprint_around,
            .calibration = calibration_at(f, w, l, middle)};

        if (f->sightings.count == f->sightings.capacity &&
            !DM_GROW(f->sightings.items, f->sightings.count,
                     f->sightings.capacity))
            status = DM_NOMEM;
        else
            f->sightings.items[f->sightings.count++] = g;
    }
    dm_walker_free(walker);
    return status;
}

dm_status dm_strip_sight(dm_finder *f, const dm_run_work *w, dm_run_line *l,
                         size_t strip, const dm_noise *noise,
                         dm_found_list *list)
{
    dm_status status = DM_NOMEM;

    if (find_in_strip(f, w, l, &l->strips[strip], noise, list))
        status = add_sightings(f, w, l, strip, list);
    return status == DM_OK ? add_passes(f, w, l, &l->strips[strip]) : status;
}
