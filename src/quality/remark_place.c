/* SPDX-License-Identifier: MIT
 * What a run's distances have to say: what does not close, what no tie holds,
 * and what could be read and was not. */
#include <math.h>

#include "geom/clock.h"
#include "quality/work.h"

/* ---- intervals ------------------------------------------------------------
 */

static bool is_first(const dm_stations *st, size_t i)
{
    return i == 0 || st->hypotheses[i - 1].group != st->hypotheses[i].group;
}

/* A wrong tie spoils the intervals on both its sides. */
static bool is_about(const dm_stations *st, const dm_hypothesis *h,
                     size_t interval)
{
    return h->interval == interval ||
           (h->kind == DM_BLUNDER_WRONG_FACE && h->interval != DM_NONE &&
            h->interval + 1 == interval &&
            h->run == st->intervals[interval].run);
}

/* The first hypothesis of an interval's group, or of its run as a whole
 * (reversed, its scale); DM_NONE. */
static size_t hypothesis_of(const dm_stations *st, size_t interval)
{
    for (size_t i = 0; i < st->hypothesis_count; i++)
        if (is_first(st, i) && is_about(st, &st->hypotheses[i], interval))
            return i;
    for (size_t i = 0; i < st->hypothesis_count; i++)
        if (is_first(st, i) && st->hypotheses[i].interval == DM_NONE &&
            st->hypotheses[i].run == st->intervals[interval].run)
            return i;
    return DM_NONE;
}

/* The greatest |z| that tells of it: that of the interval, or of the length
 * that the hypothesis gives; a wrong tie may spoil two intervals by half each.
 */
static double greatest_z(const dm_stations *st, const dm_interval *v,
                         size_t hypothesis)
{
    const dm_hypothesis *h =
        hypothesis != DM_NONE ? &st->hypotheses[hypothesis] : NULL;

    return h != NULL && h->length_u > 0.0
               ? fmax(fabs(v->z), fabs(h->length) / h->length_u)
               : fabs(v->z);
}

/* Intervals of one hypothesis that follow each other are one remark. */
static bool extends(dm_quality_run *q, const dm_remark *r)
{
    dm_remark *last =
        q->remark_count > 0 ? &q->remarks[q->remark_count - 1] : NULL;

    if (last == NULL || last->kind != r->kind || r->hypothesis == DM_NONE ||
        last->hypothesis != r->hypothesis || last->face_to != r->face_from)
        return false;
    last->value = fmax(last->value, r->value);
    last->x_to = r->x_to;
    last->face_to = r->face_to;
    last->count++;
    return true;
}

static dm_status remark_interval(quality_work *k, size_t run, size_t interval)
{
    const dm_stations *st = k->stations;
    const dm_interval *v = &st->intervals[interval];
    const dm_run *book = &k->survey->runs[k->out->runs[run].run];
    const dm_event *from = &book->events[v->event_from];
    const dm_event *to = &book->events[v->event_to];
    dm_remark r =
        quality_blank(DM_REMARK_NOT_CLOSED, DM_VERDICT_AGAIN, to->place);

    r.limit = k->settings->gate;
    r.x_from = from->x;
    r.x_to = to->x;
    r.face_from = from->face;
    r.face_to = to->face;
    r.hypothesis = hypothesis_of(st, interval);
    r.value = greatest_z(st, v, r.hypothesis);
    return extends(&k->out->runs[run], &r) ? DM_OK : quality_remark(k, run, r);
}

static dm_status judge_intervals(quality_work *k, size_t run)
{
    dm_quality_run *q = &k->out->runs[run];
    const dm_stations *st = k->stations;
    dm_status status = DM_OK;

    for (size_t i = 0; i < st->interval_count && status == DM_OK; i++) {
        const dm_interval *v = &st->intervals[i];

        if (v->run != run)
            continue;
        q->z = fmax(q->z, fabs(v->z)); /* over NAN, too */
        q->least_blunder = fmax(q->least_blunder, v->least_blunder);
        if (!v->reconciled)
            status = remark_interval(k, run, i);
    }
    return status;
}

/* ---- the open tail --------------------------------------------------------
 */

static size_t last_tie(const dm_run *book, bool *start)
{
    size_t at = DM_NONE;

    for (size_t i = 0; i < book->event_count; i++)
        if (book->events[i].kind == DM_EVENT_TIE ||
            book->events[i].kind == DM_EVENT_START) {
            at = i;
            *start = book->events[i].kind == DM_EVENT_START;
        }
    return at;
}

/* The stretch whose run distances a tie shares: that of the readings before
 * it, or for a start those after it. */
static size_t stretch_at(const dm_run_stations *s, size_t event)
{
    size_t at = DM_NONE;

    for (size_t i = 0; i < s->stretch_count; i++)
        if (at == DM_NONE || s->stretches[i].event < event)
            at = i;
    return at;
}

/* A touchable face beyond the tie that reading came past, or nearly: closer
 * than `reach`. */
static size_t face_passed(const quality_work *k, size_t tied, dm_side direction,
                          double from, double to, double reach)
{
    double here = k->tendon->faces[tied].t;

    for (size_t i = 0; i < k->tendon->face_count; i++) {
        const dm_face *f = &k->tendon->faces[i];

        if (f->touchable &&
            (direction == DM_SIDE_AHEAD ? f->t > here && f->t < to + reach
                                        : f->t < here && f->t > from - reach))
            return i;
    }
    return DM_NONE;
}

/* Any other face that a tie could be taken at. */
static size_t far_face(const quality_work *k, size_t tied, dm_side direction)
{
    size_t best = DM_NONE;

    for (size_t i = 0; i < k->tendon->face_count; i++) {
        const dm_face *f = &k->tendon->faces[i];
        bool beyond = direction == DM_SIDE_AHEAD
                          ? best == DM_NONE || f->t > k->tendon->faces[best].t
                          : best == DM_NONE || f->t < k->tendon->faces[best].t;

        if (f->touchable && i != tied && beyond)
            best = i;
    }
    return best;
}

/* How far the sensor reaches from its encoder, m: a face this close to where
 * reading ended could have been touched. */
static double reach_of(const dm_instrument *in)
{
    return fmax(in->nose, in->tail) + 0.1;
}

static dm_status judge_tail(quality_work *k, size_t run)
{
    dm_quality_run *q = &k->out->runs[run];
    const dm_run *book = &k->survey->runs[q->run];
    const dm_run_stations *s = &k->stations->runs[run];
    const dm_instrument *in = &k->survey->instruments[book->instrument];
    bool start = false;
    size_t tie = last_tie(book, &start), stretch;
    double at, same, from, to;
    dm_remark r;

    if (tie == DM_NONE || s->stretch_count == 0 || isnan(q->from))
        return DM_OK;
    stretch = stretch_at(s, tie);
    if (!quality_place(k, run, stretch, book->events[tie].x,
                       book->events[tie].x, &at, &same))
        return DM_NOMEM;
    from = s->direction == DM_SIDE_AHEAD ? at : q->from;
    to = s->direction == DM_SIDE_AHEAD ? q->to : at;
    q->tail = fmax(0.0, to - from);
    r = quality_blank(start ? DM_REMARK_NO_TIE : DM_REMARK_OPEN_TAIL,
                      DM_VERDICT_USABLE, book->events[tie].place);
    r.value = q->tail;
    r.limit = DM_OPEN_TAIL;
    r.from = from;
    r.to = to;
    r.face_from = book->events[tie].face;
    if (start)
        r.face_to = far_face(k, r.face_from, s->direction);
    else if (q->tail > DM_OPEN_TAIL)
        r.face_to =
            face_passed(k, r.face_from, s->direction, from, to, reach_of(in));
    else
        return DM_OK;
    if (r.face_to != DM_NONE)
        r.verdict = DM_VERDICT_AGAIN;
    return quality_remark(k, run, r);
}

/* ---- what was not read ----------------------------------------------------
 */

static const dm_cover_line *line_of(const dm_indications *found, double clock)
{
    for (size_t i = 0; i < found->cover_line_count; i++)
        if (dm_same_line(found->cover_lines[i].clock, clock))
            return &found->cover_lines[i];
    return NULL;
}

/* Whoever lifted the sensor on purpose wrote a skip with a reason. */
static bool was_forgotten(const dm_cover_length *l)
{
    return l->cover == DM_COVER_NOT_TESTED && l->why == DM_WHY_NOT_WALKED;
}

/* What does not close leaves a hole that is nobody's: its own remark tells. */
static bool beside_blunder(const dm_cover_line *line, size_t i)
{
    return (i > 0 && line->lengths[i - 1].cover == DM_COVER_NOT_RECONCILED) ||
           (i + 1 < line->count &&
            line->lengths[i + 1].cover == DM_COVER_NOT_RECONCILED);
}

/* The least footprint of the channels that read a line. */
static double line_footprint(const quality_work *k, double clock)
{
    double least = HUGE_VAL;

    for (size_t i = 0; i < k->out->run_count; i++) {
        const dm_quality_run *q = &k->out->runs[i];
        const dm_run *book = &k->survey->runs[q->run];

        for (size_t c = 0; c < q->channel_count; c++)
            if (dm_same_line(q->channels[c].clock, clock))
                least = fmin(least, k->survey->instruments[book->instrument]
                                        .channels[q->channels[c].channel]
                                        .footprint_along);
    }
    return least;
}

/* Counts only where `out` is NULL. */
static size_t list_unread(const quality_work *k, dm_unread *out)
{
    size_t n = 0;

    for (size_t i = 0; i < k->found->cover_line_count; i++) {
        const dm_cover_line *line = &k->found->cover_lines[i];
        double footprint = line_footprint(k, line->clock);

        for (size_t l = 0; l < line->count; l++) {
            const dm_cover_length *c = &line->lengths[l];

            if (!was_forgotten(c) || c->to - c->from <= footprint)
                continue;
            if (out != NULL)
                out[n] = (dm_unread){line->clock, c->from, c->to};
            n++;
        }
    }
    return n;
}

dm_status quality_list_unread(quality_work *k)
{
    size_t n = list_unread(k, NULL);

    k->out->unread = DM_NEW_ARRAY(k->arena, dm_unread, n);
    if (k->out->unread == NULL)
        return DM_NOMEM;
    k->out->unread_count = list_unread(k, k->out->unread);
    return DM_OK;
}

static dm_status judge_cover(quality_work *k, size_t run,
                             const dm_quality_channel *c, double footprint)
{
    const dm_quality_run *q = &k->out->runs[run];
    const dm_cover_line *line = line_of(k->found, c->clock);
    dm_remark r = quality_blank(DM_REMARK_NOT_READ, DM_VERDICT_AGAIN,
                                k->survey->runs[q->run].place);

    r.count = 0;
    r.value = 0.0;
    r.limit = footprint;
    r.channel = c->channel;
    for (size_t i = 0; line != NULL && i < line->count; i++) {
        const dm_cover_length *l = &line->lengths[i];
        double from = fmax(l->from, q->from), to = fmin(l->to, q->to);

        if (!was_forgotten(l) || to - from <= footprint ||
            beside_blunder(line, i))
            continue;
        r.count++;
        if (to - from > r.value) {
            r.value = to - from;
            r.from = from;
            r.to = to;
        }
    }
    return r.count > 0 ? quality_remark(k, run, r) : DM_OK;
}

/* Short gaps only: longer ones are lengths that were not read. */
static dm_status judge_gaps(quality_work *k, size_t run, double footprint)
{
    const dm_pace *p = &k->out->runs[run].pace;
    const pace_spot *g = &k->facts[run].gap;
    dm_remark r = quality_blank(DM_REMARK_GAP, DM_VERDICT_USABLE, g->place);

    if (p->gaps == 0 || g->x_to - g->x_from > footprint)
        return DM_OK;
    r.value = g->x_to - g->x_from;
    r.limit = 0.5 * footprint;
    r.count = p->gaps;
    r.x_from = g->x_from;
    r.x_to = g->x_to;
    if (!quality_place(k, run, g->stretch, g->x_from, g->x_to, &r.from, &r.to))
        return DM_NOMEM;
    return quality_remark(k, run, r);
}

dm_status quality_judge_places(quality_work *k, size_t run)
{
    dm_quality_run *q = &k->out->runs[run];
    const dm_run *book = &k->survey->runs[q->run];
    dm_status status = judge_intervals(k, run);
    double least = HUGE_VAL;

    if (status == DM_OK && q->channel_count > 0)
        status = judge_tail(k, run);
    for (size_t c = 0; c < q->channel_count && status == DM_OK; c++) {
        double footprint = k->survey->instruments[book->instrument]
                               .channels[q->channels[c].channel]
                               .footprint_along;

        least = fmin(least, footprint);
        status = judge_cover(k, run, &q->channels[c], footprint);
    }
    if (status == DM_OK && q->channel_count > 0)
        status = judge_gaps(k, run, least);
    return status;
}
