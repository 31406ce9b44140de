/* SPDX-License-Identifier: MIT
 * The evidence of one indication: the tendon is read once more, and each
 * channel that was searched is asked what it saw between the indication's
 * ends. A piece belongs to the indication if it has its sign and meets it
 * within twice the uncertainty of both, as merging has it. */
#include "ductmark/evidence.h"
#include "geom/clock.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "indication/line.h"

typedef struct {
    const dm_model *model;
    const dm_survey *survey;
    const dm_stations *stations;
    const dm_settings *settings;
    const dm_indication *item;
    dm_witness *witnesses; /* heap */
    size_t count, capacity;
} hearing;

const char *dm_witness_text(dm_witness_result result)
{
    static const char *const text[] = {"saw it", "nothing stands out",
                                       "check drift", "no calibration"};

    return text[(unsigned)result <= DM_WITNESS_NO_CALIBRATION
                    ? result
                    : DM_WITNESS_NOTHING];
}

static bool keep(hearing *v, const dm_witness *witness)
{
    if (v->count == v->capacity &&
        !DM_GROW(v->witnesses, v->count, v->capacity))
        return false;
    v->witnesses[v->count++] = *witness;
    return true;
}

/* What of the strip lies in from..to. False: no cell. */
static bool overlap(const dm_strip *s, double from, double to,
                    dm_witness *witness)
{
    size_t first = dm_strip_cell(s, from), valid = 0;
    double sum = 0.0, low = HUGE_VAL, high = -HUGE_VAL;

    for (size_t i = first; i < s->count && s->t[i] <= to; i++) {
        low = fmin(low, s->x[i]);
        high = fmax(high, s->x[i]);
        witness->to = s->t[i];
        witness->cells++;
        witness->lifted += s->bad[i] ? 1 : 0;
        witness->reconciled = witness->reconciled && !s->unreconciled[i];
        if (s->bad[i])
            continue;
        sum += s->index[i];
        valid++;
    }
    if (witness->cells == 0)
        return false;
    witness->from = s->t[first];
    witness->x_from = low - 0.5 * s->pitch;
    witness->x_to = high + 0.5 * s->pitch;
    witness->pitch = s->pitch;
    witness->mean = valid > 0 ? sum / (double)valid : (double)NAN;
    return true;
}

static dm_witness_end end_of(const hearing *v, const dm_run_work *w,
                             dm_walker *walker, size_t stretch,
                             const dm_edge *e)
{
    dm_witness_end end = {
        .t = e->t, .x = e->x, .u_edge = e->u, .open = e->open};

    end.world = dm_walker_at(walker, e->x).world;
    end.budget = dm_budget_at(v->stations, w->at, stretch, e->x, DM_NONE);
    return end;
}

static bool belongs(const dm_indication *item, const dm_found *p)
{
    int sign = item->index < 0.0 ? -1 : +1;
    double slack = 2.0 * (item->from.u + item->to.u + p->from.u + p->to.u);

    return p->sign == sign && p->to.t >= item->from.t - slack &&
           p->from.t <= item->to.t + slack;
}

/* A witness for each piece that belongs; else one that saw nothing. */
static dm_status question(hearing *v, const dm_run_work *w,
                          const dm_run_line *l, size_t strip,
                          const dm_thresholds *band, dm_witness witness)
{
    size_t stretch = l->stretch[strip], seen = 0;
    dm_found_list list = {NULL, 0, 0};
    dm_walker *walker = NULL;
    dm_status status = dm_walker_new(v->stations, v->model, v->survey, w->at,
                                     stretch, l->channel, &walker);

    if (status == DM_OK &&
        !dm_strip_find(&l->strips[strip], l->footprint, &l->noise, band,
                       v->settings->least_length, &list))
        status = DM_NOMEM;
    for (size_t i = 0; i < list.count && status == DM_OK; i++) {
        const dm_found *p = &list.items[i];

        if (!belongs(v->item, p))
            continue;
        witness.result = DM_WITNESS_SAW;
        witness.end[0] = end_of(v, w, walker, stretch, &p->from);
        witness.end[1] = end_of(v, w, walker, stretch, &p->to);
        witness.plateau = p->plateau;
        witness.plateau_u = p->plateau_u;
        witness.base = p->base;
        witness.shorter = p->shorter;
        seen++;
        if (!keep(v, &witness))
            status = DM_NOMEM;
    }
    witness.result = DM_WITNESS_NOTHING;
    if (status == DM_OK && seen == 0 && !keep(v, &witness))
        status = DM_NOMEM;
    free(list.items);
    dm_walker_free(walker);
    return status;
}

static dm_status see_rows(void *user, const dm_run_work *w, size_t stretch,
                          const dm_block *block)
{
    (void)user, (void)w, (void)stretch, (void)block;
    return DM_OK; /* counted at the end, where the run distances are known */
}

static const dm_strand_side *strand_under(const hearing *v,
                                          const dm_run_work *w,
                                          const dm_run_line *l,
                                          const dm_witness *witness)
{
    const dm_tendon *t = &v->model->tendons[v->stations->tendon];
    double middle = 0.5 * (witness->from + witness->to);

    return dm_strand_near(t, &w->instrument->channels[l->channel],
                          dm_tendon_duct(v->model, t, middle)->od, l->clock,
                          witness->from, witness->to);
}

static dm_status see_line(void *user, const dm_run_work *w,
                          const dm_run_line *l)
{
    hearing *v = user;
    dm_thresholds band = {0};
    bool raised = false;
    dm_status status = DM_OK;

    if (l->measured) {
        band = dm_thresholds_of(l->calibration);
        raised = dm_thresholds_raise(&band, &l->noise);
    }
    for (size_t i = 0; i < l->count && status == DM_OK; i++) {
        dm_witness witness = {
            .run = w->stations->run,
            .event = w->stations->stretches[l->stretch[i]].event,
            .channel = l->channel,
            .clock = l->clock,
            .enter = band.enter,
            .leave = band.leave,
            .soft_enter = band.soft_enter,
            .soft_leave = band.soft_leave,
            .raised = raised ? dm_noise_floor(&l->noise) : (double)NAN,
            .footprint = l->footprint,
            .reconciled = true,
            .result =
                l->drifted ? DM_WITNESS_DRIFTED : DM_WITNESS_NO_CALIBRATION};

        if (!overlap(&l->strips[i], v->item->from.t, v->item->to.t, &witness))
            continue;
        witness.strand = strand_under(v, w, l, &witness);
        if (!l->measured) {
            status = keep(v, &witness) ? DM_OK : DM_NOMEM;
            continue;
        }
        witness.noise = l->noise.sigma;
        witness.noise_smooth = l->noise.smooth;
        status = question(v, w, l, i, &band, witness);
    }
    return status;
}

/* ---- rows ------------------------------------------------------------- */

static void count_block(const dm_block *b, dm_witness *witness)
{
    for (size_t i = 0; i < b->count; i++) {
        long line = b->first_line + (long)i;

        if (b->x[i] < witness->x_from || b->x[i] > witness->x_to)
            continue;
        witness->first_line = witness->rows == 0 ? line : witness->first_line;
        witness->last_line = line;
        witness->rows++;
    }
}

/* Which rows of the file: those of its run distances. */
static dm_status count_rows(const dm_survey *survey, dm_diag *diag,
                            dm_witness *witness)
{
    const dm_run *run = &survey->runs[witness->run];
    dm_readings *r = NULL;
    dm_block block = {0};
    dm_status status =
        dm_readings_open(survey, run, &run->events[witness->event], diag, &r);

    while (status == DM_OK) {
        status = dm_readings_next(r, &block);
        if (status != DM_OK || block.count == 0)
            break;
        count_block(&block, witness);
    }
    dm_readings_close(r);
    if (status != DM_OK)
        witness->rows = 0; /* said; the rest holds */
    return status == DM_NOMEM ? status : DM_OK;
}

/* ---- those who were not there ----------------------------------------- */

static const dm_cover_length *cover_of(const dm_indications *found,
                                       double clock, double t)
{
    for (size_t i = 0; i < found->cover_line_count; i++) {
        const dm_cover_line *l = &found->cover_lines[i];

        if (!dm_same_line(l->clock, clock))
            continue;
        for (size_t k = 0; k < l->count; k++)
            if (t >= l->lengths[k].from && t <= l->lengths[k].to)
                return &l->lengths[k];
    }
    return NULL;
}

static dm_status list_absent(const dm_survey *survey,
                             const dm_indications *found,
                             const dm_indication *item, dm_evidence *e)
{
    e->absent = DM_NEW_ARRAY(e->arena, dm_absent, survey->run_count);
    if (e->absent == NULL)
        return DM_NOMEM;
    for (size_t r = 0; r < survey->run_count; r++) {
        const dm_run *run = &survey->runs[r];
        const dm_columns *c = &survey->columns[run->columns];
        double clock;
        bool looked = run->tendon != found->tendon;

        for (size_t i = 0; i < e->witness_count; i++)
            looked = looked || e->witnesses[i].run == r;
        if (looked)
            continue;
        clock = run->clock + survey->instruments[run->instrument]
                                 .channels[c->channel[0]]
                                 .clock_offset;
        e->absent[e->absent_count++] = (dm_absent){
            r, clock,
            cover_of(found, clock, 0.5 * (item->from.t + item->to.t))};
    }
    return DM_OK;
}

/* ---- all of it -------------------------------------------------------- */

static dm_status gather(hearing *v, const dm_indications *found, dm_diag *diag,
                        dm_evidence *e)
{
    dm_watch watch = {v, see_rows, see_line};
    dm_indications *again = NULL;
    dm_status status = dm_find_watched(v->model, v->survey, v->stations, NULL,
                                       NULL, v->settings, &watch, NULL, &again);

    dm_indications_free(again);
    if (status != DM_OK)
        return status;
    e->witnesses = DM_NEW_ARRAY(e->arena, dm_witness, v->count);
    if (e->witnesses == NULL)
        return DM_NOMEM;
    if (v->count > 0)
        memcpy(e->witnesses, v->witnesses, v->count * sizeof *e->witnesses);
    e->witness_count = v->count;
    for (size_t i = 0; i < e->witness_count && status == DM_OK; i++)
        status = count_rows(v->survey, diag, &e->witnesses[i]);
    return status == DM_OK ? list_absent(v->survey, found, v->item, e) : status;
}

dm_status dm_evidence_make(const dm_model *model, const dm_survey *survey,
                           const dm_stations *stations,
                           const dm_indications *found, size_t item,
                           const dm_settings *settings, dm_diag *diag,
                           dm_evidence **out)
{
    hearing v = {.model = model,
                 .survey = survey,
                 .stations = stations,
                 .settings = settings,
                 .item = &found->items[item]};
    dm_arena *arena = dm_arena_new();
    dm_evidence *e = arena != NULL ? DM_NEW(arena, dm_evidence) : NULL;
    dm_status status = DM_NOMEM;

    *out = NULL;
    if (e != NULL) {
        e->arena = arena;
        status = gather(&v, found, diag, e);
    }
    free(v.witnesses);
    if (status != DM_OK) {
        dm_arena_free(arena);
        return dm_error(diag, status, (dm_place){NULL, 0}, v.item->key, "%s",
                        dm_status_text(status));
    }
    *out = e;
    return DM_OK;
}

void dm_evidence_free(dm_evidence *evidence)
{
    if (evidence != NULL)
        dm_arena_free(evidence->arena);
}
