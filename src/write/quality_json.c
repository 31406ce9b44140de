/* SPDX-License-Identifier: MIT
 * Run quality for other programs: each name ends in its unit. A key stands in
 * every object of its kind, null where nothing is known. */
#include "write/quality_json.h"

#include <math.h>

#include "write/quality_words.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

static void metres(dm_json *j, const char *key, double value)
{
    dm_json_fixed(j, key, value, 5);
}

static void seconds(dm_json *j, const char *key, double value)
{
    dm_json_fixed(j, key, value, 3);
}

static const char *face_id(const dm_tendon *n, size_t face)
{
    return face == DM_NONE ? NULL : n->faces[face].id;
}

static const char *channel_id(const dm_instrument *in, size_t channel)
{
    return channel == DM_NONE ? NULL : in->channels[channel].id;
}

static void put_pace(dm_json *j, const dm_pace *p, bool read)
{
    bool timed = p->timed > 0;
    double nan = (double)NAN;
    dm_json_count(j, "readings", p->rows);
    metres(j, "read_m", read ? p->read : nan);
    metres(j, "spacing_m", read ? p->spacing : nan);
    metres(j, "spacing_most_m", read ? p->spacing_most : nan);
    metres(j, "sparse_m", read ? p->sparse : nan);
    dm_json_count(j, "gaps", p->gaps);
    metres(j, "gap_m", p->gap);
    dm_json_count(j, "roll_backs", p->roll_backs);
    metres(j, "roll_back_m", p->roll_back);
    dm_json_count(j, "times", p->timed);
    seconds(j, "duration_s", timed ? p->duration : nan);
    dm_json_fixed(j, "speed_m_per_s", timed ? p->speed : nan, 5);
    dm_json_fixed(j, "speed_most_m_per_s", timed ? p->speed_most : nan, 5);
    dm_json_count(j, "stops", p->stops);
    seconds(j, "stopped_s", timed ? p->stopped : nan);
    seconds(j, "stop_most_s", timed ? p->stop_most : nan);
    dm_json_count(j, "clock_backs", p->clock_backs);
}

static void put_lift(dm_json *j, const dm_tendon *n, const dm_lift_off *l)
{
    dm_json_open(j, NULL, '{');
    metres(j, "from_m", l->from);
    metres(j, "to_m", l->to);
    dm_json_bool(j, "stated", l->stated);
    dm_json_text(j, "reason", l->reason);
    dm_json_text(j, "fixture",
                 l->fixture == DM_NONE ? NULL : n->fixtures[l->fixture].id);
    dm_json_close(j, '}');
}

static void put_channel(dm_json *j, const dm_tendon *n, const dm_instrument *in,
                        const dm_quality_channel *c)
{
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "channel", channel_id(in, c->channel));
    dm_json_fixed(j, "clock_deg", DEG(c->clock), 3);
    dm_json_bool(j, "check_before", c->check_before);
    dm_json_bool(j, "check_after", c->check_after);
    dm_json_fixed(j, "drift", c->drift, 5);
    dm_json_fixed(j, "noise", c->noise, 5);
    dm_json_fixed(j, "least_index", c->floor, 5);
    dm_json_fixed(j, "band", c->band, 5);
    metres(j, "lifted_m", c->lifted);
    dm_json_open(j, "lift_offs", '[');
    for (size_t i = 0; i < c->lift_count; i++)
        put_lift(j, n, &c->lifts[i]);
    dm_json_close(j, ']');
    dm_json_close(j, '}');
}

static void put_interval(dm_json *j, const dm_tendon *n, const dm_run *run,
                         const dm_interval *v)
{
    const dm_event *from = &run->events[v->event_from];
    const dm_event *to = &run->events[v->event_to];
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "from_face", face_id(n, from->face));
    dm_json_text(j, "to_face", face_id(n, to->face));
    dm_json_count(j, "line", (size_t)to->place.line);
    metres(j, "misclosure_m", v->misclosure);
    dm_json_fixed(j, "z", v->z, 3);
    metres(j, "least_blunder_m", v->least_blunder);
    dm_json_bool(j, "reconciled", v->reconciled);
    dm_json_close(j, '}');
}

static void put_remark(dm_json *j, const quality_report *report, size_t tendon,
                       size_t q, const dm_remark *r)
{
    const dm_stations *st = report->results[tendon].stations;
    const dm_quality *quality = report->quality[tendon];
    const dm_tendon *n = &report->model->tendons[tendon];
    const dm_run *run = &report->survey->runs[quality->runs[q].run];
    dm_buf text = {0};
    dm_remark_words(report->model, report->survey, st, quality, q, r,
                    report->units, &text);
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "kind", dm_remark_text(r->kind));
    dm_json_text(j, "verdict", dm_verdict_text(r->verdict));
    dm_json_text(j, "file", r->place.file);
    dm_json_count(j, "line", (size_t)r->place.line);
    dm_json_text(
        j, "channel",
        channel_id(&report->survey->instruments[run->instrument], r->channel));
    dm_json_fixed(j, "value", r->value, 5);
    dm_json_fixed(j, "limit", r->limit, 5);
    metres(j, "from_m", r->from);
    metres(j, "to_m", r->to);
    metres(j, "run_distance_from_m", r->x_from);
    metres(j, "run_distance_to_m", r->x_to);
    dm_json_text(j, "from_face", face_id(n, r->face_from));
    dm_json_text(j, "to_face", face_id(n, r->face_to));
    dm_json_text(j, "other",
                 r->other == DM_NONE ? NULL
                                     : report->survey->runs[r->other].id);
    dm_json_count(j, "count", r->count);
    dm_json_text(j, "hypothesis",
                 r->hypothesis == DM_NONE
                     ? NULL
                     : dm_blunder_text(st->hypotheses[r->hypothesis].kind));
    dm_json_text(j, "text", text.failed ? NULL : text.data);
    dm_json_close(j, '}');
    j->buf.failed = j->buf.failed || text.failed;
    dm_buf_free(&text);
}

static void put_lists(dm_json *j, const quality_report *report, size_t tendon,
                      size_t i)
{
    const dm_stations *st = report->results[tendon].stations;
    const dm_tendon *n = &report->model->tendons[tendon];
    const dm_quality_run *q = &report->quality[tendon]->runs[i];
    const dm_run *run = &report->survey->runs[q->run];
    dm_json_open(j, "channels", '[');
    for (size_t c = 0; c < q->channel_count; c++)
        put_channel(j, n, &report->survey->instruments[run->instrument],
                    &q->channels[c]);
    dm_json_close(j, ']');
    dm_json_open(j, "intervals", '[');
    for (size_t k = 0; k < st->interval_count; k++)
        if (st->intervals[k].run == i)
            put_interval(j, n, run, &st->intervals[k]);
    dm_json_close(j, ']');
    dm_json_open(j, "remarks", '[');
    for (size_t k = 0; k < q->remark_count; k++)
        put_remark(j, report, tendon, i, &q->remarks[k]);
    dm_json_close(j, ']');
}

static void put_run(dm_json *j, const quality_report *report, size_t tendon,
                    size_t i)
{
    const dm_quality_run *q = &report->quality[tendon]->runs[i];
    const dm_run *run = &report->survey->runs[q->run];
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "run", run->id);
    dm_json_text(j, "tendon", report->model->tendons[tendon].id);
    dm_json_text(j, "file", run->place.file);
    dm_json_count(j, "line", (size_t)run->place.line);
    dm_json_text(j, "verdict", dm_verdict_text(q->verdict));
    metres(j, "from_m", q->from);
    metres(j, "to_m", q->to);
    put_pace(j, &q->pace, q->channel_count > 0);
    dm_json_fixed(j, "speed_wanted_m_per_s", q->speed_wanted, 5);
    dm_json_fixed(j, "z", q->z, 3);
    metres(j, "least_blunder_m", q->least_blunder);
    metres(j, "tail_m", q->tail);
    put_lists(j, report, tendon, i);
    dm_json_close(j, '}');
}

static void put_pair(dm_json *j, const quality_report *report,
                     const dm_quality *quality, const dm_agreement *g)
{
    const dm_survey *s = report->survey;
    const dm_run *a = &s->runs[quality->runs[g->a].run];
    const dm_run *b = &s->runs[quality->runs[g->b].run];
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "run", a->id);
    dm_json_text(j, "channel",
                 channel_id(&s->instruments[a->instrument], g->channel_a));
    dm_json_text(j, "other", b->id);
    dm_json_text(j, "other_channel",
                 channel_id(&s->instruments[b->instrument], g->channel_b));
    dm_json_bool(j, "mirrored", g->mirrored);
    metres(j, "length_m", g->length);
    dm_json_fixed(j, "correlation", g->correlation, 5);
    dm_json_fixed(j, "mean", g->mean, 5);
    dm_json_fixed(j, "rms", g->rms, 5);
    dm_json_fixed(j, "expected", g->expected, 5);
    dm_json_fixed(j, "worst", g->worst, 5);
    metres(j, "worst_at_m", g->worst_at);
    dm_json_fixed(j, "worst_limit", g->worst_limit, 5);
    dm_json_close(j, '}');
}

static void put_unread(dm_json *j, const dm_tendon *n, const dm_unread *u)
{
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "tendon", n->id);
    dm_json_fixed(j, "clock_deg", DEG(u->clock), 3);
    metres(j, "from_m", u->from);
    metres(j, "to_m", u->to);
    dm_json_close(j, '}');
}

void dm_quality_json(const quality_report *report, dm_json *j)
{
    size_t tendons = report->quality ? report->model->tendon_count : 0;
    dm_json_open(j, "runs", '[');
    for (size_t t = 0; t < tendons; t++)
        for (size_t i = 0; i < report->quality[t]->run_count; i++)
            put_run(j, report, t, i);
    dm_json_close(j, ']');
    dm_json_open(j, "agreements", '[');
    for (size_t t = 0; t < tendons; t++)
        for (size_t i = 0; i < report->quality[t]->pair_count; i++)
            put_pair(j, report, report->quality[t],
                     &report->quality[t]->pairs[i]);
    dm_json_close(j, ']');
    dm_json_open(j, "unread", '[');
    for (size_t t = 0; t < tendons; t++)
        for (size_t i = 0; i < report->quality[t]->unread_count; i++)
            put_unread(j, &report->model->tendons[t],
                       &report->quality[t]->unread[i]);
    dm_json_close(j, ']');
}
