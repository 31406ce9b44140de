/* SPDX-License-Identifier: MIT
 * JSON of one indication's evidence. */
#include "write/evidence_json.h"

#include <math.h>

#include "scene/properties.h"
#include "write/json.h"
#include "write/posterior_json.h"
#include "write/provenance.h"

#define DEG (180.0 / 3.14159265358979323846)

static void put_end(dm_json *j, const char *key, double k,
                    const dm_witness_end *e)
{
    dm_json_open(j, key, '{');
    dm_json_fixed(j, "t", e->t, 5);
    dm_json_fixed(j, "x", e->x, 5);
    dm_json_bool(j, "open", e->open);
    dm_json_fixed(j, "UEdge", k * e->u_edge, 6);
    dm_json_fixed(j, "UStation", k * sqrt(e->world), 6);
    dm_json_open(j, "stationParts", '{');
    for (int i = 0; i < DM_BUDGET_ITEMS; i++)
        dm_json_fixed(j, dm_budget_text((dm_budget_item)i),
                      k * sqrt(e->budget.item[i]), 6);
    dm_json_close(j, '}');
    dm_json_close(j, '}');
}

static void put_thresholds(dm_json *j, const dm_witness *l)
{
    dm_json_open(j, "thresholds", '{');
    dm_json_fixed(j, "enter", l->enter, 4);
    dm_json_fixed(j, "leave", l->leave, 4);
    dm_json_fixed(j, "softEnter", l->soft_enter, 4);
    dm_json_fixed(j, "softLeave", l->soft_leave, 4);
    dm_json_fixed(j, "raisedTo", l->raised, 4);
    dm_json_close(j, '}');
}

static void put_witness(dm_json *j, const evidence_report *r,
                        const dm_witness *l)
{
    const dm_run *run = &r->survey->runs[l->run];
    double k = r->job->settings.coverage_factor;
    bool searched =
        l->result == DM_WITNESS_SAW || l->result == DM_WITNESS_NOTHING;

    dm_json_open(j, NULL, '{');
    dm_json_text(j, "run", run->id);
    dm_json_text(
        j, "channel",
        r->survey->instruments[run->instrument].channels[l->channel].id);
    dm_json_fixed(j, "clock", DEG * l->clock, 2);
    dm_json_text(j, "result", dm_witness_text(l->result));
    dm_json_fixed(j, "from", l->from, 5);
    dm_json_fixed(j, "to", l->to, 5);
    dm_json_text(j, "file", run->events[l->event].href);
    if (l->rows > 0) {
        dm_json_count(j, "firstLine", (size_t)l->first_line);
        dm_json_count(j, "lastLine", (size_t)l->last_line);
    }
    dm_json_count(j, "rows", l->rows);
    dm_json_fixed(j, "xFrom", l->x_from, 5);
    dm_json_fixed(j, "xTo", l->x_to, 5);
    dm_json_count(j, "cells", l->cells);
    dm_json_fixed(j, "cellLength", l->pitch, 5);
    dm_json_count(j, "cellsLifted", l->lifted);
    dm_json_fixed(j, "meanIndex", l->mean, 4);
    dm_json_bool(j, "reconciled", l->reconciled);
    dm_json_fixed(j, "footprint", l->footprint, 4);
    if (searched) {
        dm_json_fixed(j, "noise", l->noise, 5);
        dm_json_fixed(j, "noiseSmoothed", l->noise_smooth, 5);
        put_thresholds(j, l);
    }
    dm_json_text(j, "strandSide",
                 l->strand == NULL    ? NULL
                 : l->strand->derived ? "derived"
                                      : "stated");
    if (l->result == DM_WITNESS_SAW) {
        put_end(j, "fromEnd", k, &l->end[0]);
        put_end(j, "toEnd", k, &l->end[1]);
        dm_json_fixed(j, "plateau", l->plateau, 4);
        dm_json_fixed(j, "UPlateau", k * l->plateau_u, 4);
        dm_json_fixed(j, "beside", l->base, 4);
        dm_json_bool(j, "shorterThanFootprint", l->shorter);
    }
    dm_json_close(j, '}');
}

static void put_absent(dm_json *j, const evidence_report *r, const dm_absent *a)
{
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "run", r->survey->runs[a->run].id);
    dm_json_fixed(j, "clock", DEG * a->clock, 2);
    dm_json_text(j, "state",
                 a->cover == NULL ? NULL : dm_cover_text(a->cover->cover));
    dm_json_text(j, "why",
                 a->cover == NULL ? NULL : dm_why_text(a->cover->why));
    dm_json_text(j, "reason", a->cover == NULL ? NULL : a->cover->reason);
    dm_json_close(j, '}');
}

static void put_turns(dm_json *j, const evidence_report *r)
{
    dm_json_open(j, "turns", '[');
    for (size_t i = 0; i < r->found->turn_count; i++) {
        const dm_turn *t = &r->found->turns[i];

        if (t->indication != r->item)
            continue;
        dm_json_open(j, NULL, '{');
        dm_json_text(j, "run", r->survey->runs[t->run].id);
        dm_json_fixed(j, "t", t->t, 5);
        dm_json_fixed(j, "U", r->job->settings.coverage_factor * t->u, 6);
        dm_json_fixed(j, "areaLow", t->area.low, 8);
        dm_json_fixed(j, "areaBest", t->area.best, 8);
        dm_json_fixed(j, "areaHigh", t->area.high, 8);
        dm_json_fixed(j, "misfit", t->fit.misfit, 4);
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
}

static bool put_rule(dm_json *j, const evidence_report *r,
                     const dm_indication *d)
{
    const dm_criteria *c = r->criteria;
    dm_buf text = {0};
    bool good;

    if (c == NULL || d->rule >= c->rule_count) {
        dm_json_text(j, "rule", NULL);
        return true;
    }
    dm_rule_text(c, &c->rules[d->rule], &text);
    dm_json_open(j, "rule", '{');
    dm_json_text(j, "file", c->rules[d->rule].place.file);
    dm_json_count(j, "line", (size_t)c->rules[d->rule].place.line);
    dm_json_text(j, "text", text.data);
    dm_json_close(j, '}');
    good = !text.failed;
    dm_buf_free(&text);
    return good;
}

void dm_evidence_json(const evidence_report *r, dm_buf *out)
{
    const dm_tendon *t = &r->model->tendons[r->found->tendon];
    const dm_indication *d = &r->found->items[r->item];
    const dm_criteria *c = r->criteria;
    const dm_evidence *e = r->evidence;
    double k = r->job->settings.coverage_factor;
    dm_json j = {0};
    bool good;

    dm_json_open(&j, NULL, '{');
    dm_json_text(&j, "key", d->key);
    dm_json_text(&j, "uid", d->uid);
    dm_json_text(&j, "tendon", t->id);
    dm_json_text(&j, "kind", dm_kind_text(d->kind));
    dm_json_text(&j, "grade",
                 c != NULL && d->grade < c->grade_count
                     ? c->grades[d->grade].label
                     : NULL);
    good = put_rule(&j, r, d);
    dm_json_text(&j, "state", dm_state_text(d->state));
    dm_json_bool(&j, "inEarlierRegister", d->in_register);
    dm_json_text(&j, "firstSurvey", d->first_survey);
    dm_json_fixed(&j, "coverageFactor", k, 2);
    dm_json_fixed(&j, "from", d->from.t, 5);
    dm_json_fixed(&j, "UFrom", k * d->from.u, 6);
    dm_json_fixed(&j, "UFromEdge", k * d->from.u_edge, 6);
    dm_json_fixed(&j, "to", d->to.t, 5);
    dm_json_fixed(&j, "UTo", k * d->to.u, 6);
    dm_json_fixed(&j, "UToEdge", k * d->to.u_edge, 6);
    dm_json_fixed(&j, "index", d->index, 4);
    dm_json_fixed(&j, "UIndex", k * d->index_u, 4);
    dm_posterior_json(&j, &d->posterior);
    dm_json_bool(&j, "reconciled", d->reconciled);
    dm_json_text(&j, "position", dm_position_text(d->position.at));
    dm_json_open(&j, "witnesses", '[');
    for (size_t i = 0; i < e->witness_count; i++)
        put_witness(&j, r, &e->witnesses[i]);
    dm_json_close(&j, ']');
    dm_json_open(&j, "absent", '[');
    for (size_t i = 0; i < e->absent_count; i++)
        put_absent(&j, r, &e->absent[i]);
    dm_json_close(&j, ']');
    put_turns(&j, r);
    dm_json_text(&j, "size", d->size.words);
    dm_json_close(&j, '}');
    if (good && !j.buf.failed)
        dm_buf_put(out, j.buf.data, j.buf.length);
    else
        out->failed = true;
    dm_buf_free(&j.buf);
}
