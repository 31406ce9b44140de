/* SPDX-License-Identifier: MIT
 * What the distances of a tendon say, in summary.json: intervals,
 * hypotheses, greatest bounds. */
#include "write/summary_work.h"

#include <math.h>

static void put_hypothesis(dm_summary_work *w, const dm_stations *st,
                           const dm_hypothesis *h)
{
    const dm_survey *s = w->delivery->survey;
    dm_json *j = &w->json;

    dm_json_open(j, NULL, '{');
    dm_json_count(j, "blunder", h->group);
    dm_json_text(j, "kind", dm_blunder_text(h->kind));
    dm_json_text(j, "run",
                 s != NULL && h->run < st->run_count
                     ? s->runs[st->runs[h->run].run].id
                     : NULL);
    dm_json_text(j, "text", h->text);
    dm_summary_length(w, "length", h->length);
    dm_summary_length(w, "uLength", h->length_u);
    dm_json_fixed(j, "misfit", h->misfit, 3);
    dm_json_fixed(j, "evidence", h->evidence, 3);
    dm_json_bool(j, "equal", h->equal);
    dm_json_bool(j, "accepted", h->accepted);
    dm_json_text(j, "by", h->who);
    dm_json_text(j, "reason", h->why);
    dm_json_close(j, '}');
}

/* What each tie says: where all closes, too, as the smallest blunder that it
 * would show is what "closes" means. */
static void put_interval(dm_summary_work *w, const dm_tendon *t,
                         const dm_stations *st, const dm_interval *v)
{
    const dm_run *run = &w->delivery->survey->runs[st->runs[v->run].run];
    const dm_event *from = &run->events[v->event_from];
    const dm_event *to = &run->events[v->event_to];
    dm_json *j = &w->json;

    dm_json_open(j, NULL, '{');
    dm_json_text(j, "run", run->id);
    dm_json_text(j, "fromFace", t->faces[from->face].id);
    dm_json_text(j, "toFace", t->faces[to->face].id);
    dm_json_count(j, "line", (size_t)to->place.line);
    dm_summary_length(w, "misclosure", v->misclosure);
    dm_json_fixed(j, "z", v->z, 3);
    dm_summary_length(w, "leastBlunder", v->least_blunder);
    dm_json_bool(j, "reconciled", v->reconciled);
    dm_json_close(j, '}');
}

void dm_summary_intervals(dm_summary_work *w, size_t tendon)
{
    const dm_delivery *d = w->delivery;
    const dm_stations *st =
        d->results == NULL ? NULL : d->results[tendon].stations;
    size_t i;

    dm_json_open(&w->json, "intervals", '[');
    for (i = 0; st != NULL && d->survey != NULL && i < st->interval_count; i++)
        put_interval(w, &d->model->tendons[tendon], st, &st->intervals[i]);
    dm_json_close(&w->json, ']');
}

/* What did not close, and what the job says of it. */
void dm_summary_hypotheses(dm_summary_work *w, size_t tendon)
{
    const dm_result *r = w->delivery->results;
    const dm_stations *st = r == NULL ? NULL : r[tendon].stations;
    size_t i;

    dm_json_text(&w->json, "accepted", st == NULL ? NULL : st->accepted);
    dm_json_open(&w->json, "hypotheses", '[');
    for (i = 0; st != NULL && i < st->hypothesis_count; i++)
        put_hypothesis(w, st, &st->hypotheses[i]);
    dm_json_close(&w->json, ']');
}

/* null: no reading whose distances close. */
void dm_summary_greatest(dm_summary_work *w, const char *key,
                         const dm_tendon *t, const dm_greatest *g,
                         bool against_face)
{
    dm_json *j = &w->json;
    if (g == NULL || !g->known) {
        dm_json_text(j, key, NULL);
        return;
    }
    bool back = g->at.face_ahead == DM_NONE || g->at.back <= g->at.ahead;
    size_t face = back ? g->at.face_back : g->at.face_ahead;
    double crew = back ? g->at.back : g->at.ahead;
    dm_json_open(j, key, '{');
    dm_json_text(j, "run", w->delivery->survey->runs[g->run].id);
    dm_json_text(j, "face", against_face ? t->faces[face].id : NULL);
    dm_summary_length(w, "t", g->at.t);
    dm_summary_length(w, "U", w->k * sqrt(against_face ? crew : g->at.world));
    dm_json_close(j, '}');
}
