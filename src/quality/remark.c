/* SPDX-License-Identifier: MIT
 * What a run's readings have to say: checks, noise, spacing, speed, lift-offs,
 * and other runs of its line. The limits stand in ductmark/quality.h; their
 * reasons in docs/quality.md. */
#include <math.h>
#include <string.h>

#include "quality/work.h"

dm_remark quality_blank(dm_remark_kind kind, dm_verdict verdict, dm_place place)
{
    const double nan = (double)NAN;

    return (dm_remark){.kind = kind,
                       .verdict = verdict,
                       .channel = DM_NONE,
                       .value = nan,
                       .limit = nan,
                       .from = nan,
                       .to = nan,
                       .x_from = nan,
                       .x_to = nan,
                       .face_from = DM_NONE,
                       .face_to = DM_NONE,
                       .other = DM_NONE,
                       .count = 1,
                       .hypothesis = DM_NONE,
                       .place = place};
}

/* Room grows in the arena by doubling; remarks are few. */
dm_status quality_remark(quality_work *k, size_t run, dm_remark remark)
{
    dm_quality_run *r = &k->out->runs[run];
    size_t n = r->remark_count;

    if ((n & (n - 1)) == 0) {
        dm_remark *more = DM_NEW_ARRAY(k->arena, dm_remark, n > 0 ? 2 * n : 1);

        if (more == NULL)
            return DM_NOMEM;
        if (n > 0)
            memcpy(more, r->remarks, n * sizeof *more);
        r->remarks = more;
    }
    r->remarks[r->remark_count++] = remark;
    return DM_OK;
}

bool quality_place(const quality_work *k, size_t run, size_t stretch,
                   double x_from, double x_to, double *from, double *to)
{
    double x[2] = {x_from, x_to}, t[2];
    dm_walker *walker = NULL;

    if (dm_walker_new(k->stations, k->model, k->survey, run, stretch,
                      k->out->runs[run].channels[0].channel, &walker) != DM_OK)
        return false;
    dm_walker_map(walker, x, 2, t, NULL);
    dm_walker_free(walker);
    *from = fmin(t[0], t[1]);
    *to = fmax(t[0], t[1]);
    return true;
}

/* A remark on a spot of the rows. */
static dm_status remark_spot(quality_work *k, size_t run, dm_remark remark,
                             const pace_spot *spot)
{
    remark.place = spot->place;
    remark.x_from = spot->x_from;
    remark.x_to = spot->x_to;
    if (!quality_place(k, run, spot->stretch, spot->x_from, spot->x_to,
                       &remark.from, &remark.to))
        return DM_NOMEM;
    return quality_remark(k, run, remark);
}

/* ---- checks and noise -----------------------------------------------------
 */

static dm_status judge_checks(quality_work *k, size_t run,
                              const dm_quality_channel *c, dm_place place)
{
    double limit = k->settings->check_drift;
    dm_remark r;

    if (isnan(c->band))
        return DM_OK; /* without a calibration there is nothing to check */
    if (!c->check_before && !c->check_after) {
        r = quality_blank(DM_REMARK_NO_CHECK, DM_VERDICT_USABLE, place);
    } else if (isnan(c->drift)) {
        r = quality_blank(DM_REMARK_CHECK_ONCE, DM_VERDICT_USABLE, place);
    } else if (c->drift > 0.5 * limit) {
        r = quality_blank(
            DM_REMARK_DRIFT,
            c->drift > limit ? DM_VERDICT_AGAIN : DM_VERDICT_USABLE, place);
        r.value = c->drift;
        r.limit = limit;
    } else {
        return DM_OK;
    }
    r.channel = c->channel;
    return quality_remark(k, run, r);
}

/* Steel, or no calibration: of a part, or of all that the channel read. */
static dm_status judge_part(quality_work *k, size_t run, dm_place place)
{
    const dm_quality_run *q = &k->out->runs[run];
    bool all = true;

    for (size_t c = 0; c < q->channel_count; c++)
        all = all && isnan(q->channels[c].noise) && isnan(q->channels[c].drift);
    if (!k->facts[run].part)
        return DM_OK;
    return quality_remark(
        k, run,
        quality_blank(all ? DM_REMARK_LEFT_OUT : DM_REMARK_PART,
                      all ? DM_VERDICT_AGAIN : DM_VERDICT_USABLE, place));
}

static dm_status judge_noise(quality_work *k, size_t run,
                             const dm_quality_channel *c, dm_place place)
{
    dm_remark r = quality_blank(DM_REMARK_NOISE, DM_VERDICT_AGAIN, place);

    if (!(c->floor > c->band))
        return DM_OK;
    r.value = c->floor;
    r.limit = c->band;
    r.channel = c->channel;
    return quality_remark(k, run, r);
}

static dm_status judge_lifts(quality_work *k, size_t run,
                             const dm_quality_channel *c, dm_place place)
{
    const dm_pace *p = &k->out->runs[run].pace;
    dm_remark r = quality_blank(DM_REMARK_LIFTED, DM_VERDICT_USABLE, place);
    size_t longest = 0;

    if (!(c->lifted > DM_LIFT_SHARE * p->read))
        return DM_OK;
    for (size_t i = 1; i < c->lift_count; i++)
        if (c->lifts[i].to - c->lifts[i].from >
            c->lifts[longest].to - c->lifts[longest].from)
            longest = i;
    r.value = c->lifted / p->read;
    r.limit = DM_LIFT_SHARE;
    r.count = c->lift_count;
    r.channel = c->channel;
    r.from = c->lifts[longest].from;
    r.to = c->lifts[longest].to;
    return quality_remark(k, run, r);
}

/* ---- rows ---------------------------------------------------------------- */

static double least_footprint(const quality_work *k, size_t run)
{
    const dm_quality_run *q = &k->out->runs[run];
    const dm_run *r = &k->survey->runs[q->run];
    double least = HUGE_VAL;

    for (size_t c = 0; c < q->channel_count; c++)
        least = fmin(least, k->survey->instruments[r->instrument]
                                .channels[q->channels[c].channel]
                                .footprint_along);
    return least;
}

/* Where only a part is sparse, it takes more than a footprint and a fiftieth
 * of the run to be worth a word. */
static dm_status judge_spacing(quality_work *k, size_t run, dm_place place)
{
    const dm_pace *p = &k->out->runs[run].pace;
    const quality_facts *facts = &k->facts[run];
    double footprint = least_footprint(k, run);
    double per = footprint / p->spacing;
    dm_remark r = quality_blank(DM_REMARK_SPARSE, DM_VERDICT_USABLE, place);

    r.limit = DM_PER_FOOTPRINT;
    /* One per cent for the median's classes and rounded run distances. */
    if (per < 0.99 * DM_PER_FOOTPRINT) {
        r.value = per;
        if (per < 0.99 * DM_PER_FOOTPRINT_LEAST)
            r.verdict = DM_VERDICT_AGAIN;
        return quality_remark(k, run, r);
    }
    if (p->sparse <= fmax(footprint, 0.02 * p->read))
        return DM_OK;
    r.value = footprint / p->spacing_most;
    return remark_spot(k, run, r, &facts->sparse);
}

static dm_status judge_rows(quality_work *k, size_t run, dm_place place)
{
    const dm_pace *p = &k->out->runs[run].pace;
    const quality_facts *facts = &k->facts[run];
    dm_remark r;
    dm_status status = DM_OK;

    if (facts->falling) {
        r = quality_blank(DM_REMARK_FALLING, DM_VERDICT_AGAIN, place);
        return quality_remark(k, run, r);
    }
    status = judge_spacing(k, run, place);
    if (status == DM_OK && p->roll_backs > 0) {
        r = quality_blank(DM_REMARK_ROLL_BACK, DM_VERDICT_USABLE, place);
        r.value = p->roll_back;
        r.limit = 0.5 * least_footprint(k, run);
        r.count = p->roll_backs;
        status = remark_spot(k, run, r, &facts->roll_back);
    }
    if (status == DM_OK && p->speed_most > DM_SPEED_RATIO * p->speed) {
        r = quality_blank(DM_REMARK_FAST, DM_VERDICT_USABLE, place);
        r.value = p->speed_most;
        r.limit = DM_SPEED_RATIO * p->speed;
        status = remark_spot(k, run, r, &facts->fast);
    }
    if (status == DM_OK && p->clock_backs > 0) {
        r = quality_blank(DM_REMARK_CLOCK, DM_VERDICT_USABLE, place);
        r.count = p->clock_backs;
        status = remark_spot(k, run, r, &facts->clock);
    }
    return status;
}

/* ---- other runs -----------------------------------------------------------
 */

/* Both runs of a pair are told, as either may be the one that is wrong: over
 * the whole line, or over one footprint. */
static bool differ(const dm_agreement *g)
{
    return g->rms > DM_AGREE_RATIO * g->expected ||
           fabs(g->worst) > g->worst_limit;
}

static dm_status judge_differences(quality_work *k, size_t run, dm_place place)
{
    for (size_t i = 0; i < k->out->pair_count; i++) {
        const dm_agreement *g = &k->out->pairs[i];
        dm_remark r =
            quality_blank(DM_REMARK_DIFFERS, DM_VERDICT_USABLE, place);
        dm_status status;

        if (g->mirrored || (g->a != run && g->b != run) || g->a == g->b ||
            !differ(g))
            continue;
        r.channel = g->a == run ? g->channel_a : g->channel_b;
        r.other = k->out->runs[g->a == run ? g->b : g->a].run;
        r.value = fabs(g->worst);
        r.limit = g->worst_limit;
        r.from = r.to = g->worst_at;
        status = quality_remark(k, run, r);
        if (status != DM_OK)
            return status;
    }
    return DM_OK;
}

/* Fisher's z of a correlation over n independent pairs has the variance
 * 1 / (n - 3) (R. A. Fisher, Metron 1, 1921); footprints are taken as
 * independent. */
static double fisher(const dm_agreement *g, double footprint, double *var)
{
    double r = fmin(fmax(g->correlation, -0.9999), 0.9999);

    *var = 1.0 / fmax(1.0, g->length / footprint - 3.0);
    return atanh(r);
}

/* The run agrees with one on the mirrored line, and with one on its own line
 * it does not: by three standard deviations, and most of what varies. */
static bool is_mirrored(const quality_work *k, size_t run,
                        const dm_agreement *mirror)
{
    double footprint = least_footprint(k, run);
    size_t partner = mirror->a == run ? mirror->b : mirror->a;

    for (size_t i = 0; i < k->out->pair_count; i++) {
        const dm_agreement *own = &k->out->pairs[i];
        double va, vb, a, b;

        if (own->mirrored || isnan(own->correlation) || own->a == own->b ||
            (own->a != run && own->b != run) || own->a == partner ||
            own->b == partner)
            continue;
        a = fisher(mirror, footprint, &va);
        b = fisher(own, footprint, &vb);
        if (a - b > 3.0 * sqrt(va + vb) &&
            own->correlation < 0.5 * mirror->correlation)
            return true;
    }
    return false;
}

static dm_status judge_mirror(quality_work *k, size_t run, dm_place place)
{
    for (size_t i = 0; i < k->out->pair_count; i++) {
        const dm_agreement *g = &k->out->pairs[i];
        dm_remark r =
            quality_blank(DM_REMARK_MIRRORED, DM_VERDICT_AGAIN, place);

        if (!g->mirrored || (g->a != run && g->b != run) || g->a == g->b ||
            !(g->correlation > 0.5) || !is_mirrored(k, run, g))
            continue;
        r.channel = g->a == run ? g->channel_a : g->channel_b;
        r.other = k->out->runs[g->a == run ? g->b : g->a].run;
        r.value = g->correlation;
        return quality_remark(k, run, r);
    }
    return DM_OK;
}

dm_status quality_judge_readings(quality_work *k, size_t run)
{
    const dm_quality_run *q = &k->out->runs[run];
    dm_place place = k->survey->runs[q->run].place;
    dm_status status = judge_rows(k, run, place);

    for (size_t c = 0; c < q->channel_count && status == DM_OK; c++) {
        status = judge_checks(k, run, &q->channels[c], place);
        if (status == DM_OK)
            status = judge_noise(k, run, &q->channels[c], place);
        if (status == DM_OK)
            status = judge_lifts(k, run, &q->channels[c], place);
    }
    if (status == DM_OK)
        status = judge_part(k, run, place);
    if (status == DM_OK)
        status = judge_differences(k, run, place);
    if (status == DM_OK)
        status = judge_mirror(k, run, place);
    return status;
}
