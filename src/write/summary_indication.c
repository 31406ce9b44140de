/* SPDX-License-Identifier: MIT
 * An indication in summary.json. */
#include "write/summary_work.h"

#include <math.h>

#include "write/posterior_json.h"
#include "write/summary_opened.h"
#include "write/summary_total.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

static void put_end(dm_summary_work *w, const char *key, const dm_tendon *t,
                    const dm_end *end)
{
    dm_json *j = &w->json;

    dm_json_open(j, key, '{');
    dm_summary_length(w, "t", end->t);
    dm_summary_length(w, "U", w->k * end->u);
    dm_summary_length(w, "UEdge", w->k * end->u_edge);
    dm_summary_length(w, "tipLow", end->tip_low);
    dm_summary_length(w, "tipHigh", end->tip_high);
    dm_json_bool(j, "open", end->open);
    dm_summary_face(w, "backFace", t, end->face_back);
    dm_summary_length(w, "UToBackFace", w->k * end->u_back);
    dm_summary_face(w, "aheadFace", t, end->face_ahead);
    dm_summary_length(w, "UToAheadFace", w->k * end->u_ahead);
    dm_summary_place(w, &end->bridge);
    dm_json_close(j, '}');
}

static void put_support(dm_summary_work *w, const char *key, const dm_tendon *t,
                        size_t support, double distance)
{
    if (support >= t->support_count) {
        dm_json_text(&w->json, key, NULL);
        return;
    }
    dm_json_open(&w->json, key, '{');
    dm_json_text(&w->json, "support", t->supports[support].id);
    dm_summary_length(w, "distance", distance);
    dm_json_close(&w->json, '}');
}

static void put_position(dm_summary_work *w, const dm_tendon *t,
                         const dm_position *p)
{
    dm_json *j = &w->json;

    dm_json_open(j, "position", '{');
    dm_json_text(j, "at", dm_position_text(p->at));
    put_support(w, "anchorage", t, p->anchorage, p->distance[DM_AT_ANCHORAGE]);
    put_support(w, "deviator", t, p->deviator, p->distance[DM_AT_DEVIATOR]);
    if (isnan(p->crest)) {
        dm_json_text(j, "crest", NULL);
    } else {
        dm_json_open(j, "crest", '{');
        dm_summary_length(w, "t", p->crest);
        dm_summary_length(w, "z", p->crest_z);
        dm_summary_length(w, "distance", p->distance[DM_AT_CREST]);
        dm_json_close(j, '}');
    }
    dm_json_close(j, '}');
}

static void put_size(dm_summary_work *w, const dm_size *s)
{
    dm_json *j = &w->json;

    if (s->basis == DM_SIZE_NONE) {
        dm_json_text(j, "size", NULL);
        return;
    }
    dm_json_open(j, "size", '{');
    dm_json_text(j, "basis", dm_size_basis_text(s->basis));
    dm_json_text(j, "words", s->words);
    dm_json_count(j, "turns", s->turn_count);
    dm_json_open(j, "areaFraction", '{');
    dm_json_fixed(j, "low", s->area_fraction.low, 4);
    dm_json_fixed(j, "best", s->area_fraction.best, 4);
    dm_json_fixed(j, "high", s->area_fraction.high, 4);
    dm_json_close(j, '}');
    dm_summary_litres(j, "volumeLitres", &s->volume);
    dm_summary_litres(j, "groutLitres", &s->grout);
    dm_json_fixed(j, "measuredLitres", 1e3 * s->measured, 4);
    dm_json_fixed(j, "UMeasuredLitres", 1e3 * w->k * s->u_measured, 4);
    dm_json_bool(j, "saturated", s->saturated);
    dm_json_text(j, "strands", dm_strands_case_text(s->strands));
    dm_json_close(j, '}');
}

static void put_tapped(dm_json *j, const dm_taps *taps, size_t index)
{
    const dm_tapped *t = dm_tapped_of(taps, index);

    dm_json_text(j, "tap",
                 t != NULL && t->tap != DM_NONE ? taps->items[t->tap].id
                                                : NULL);
    dm_json_text(j, "noTap", t != NULL && t->why[0] != '\0' ? t->why : NULL);
}

void dm_summary_indication(dm_summary_work *w, size_t tendon, size_t index)
{
    const dm_tendon *t = &w->delivery->model->tendons[tendon];
    const dm_indications *found = dm_summary_found(w, tendon);
    const dm_indication *i = &found->items[index];
    const dm_criteria *c = w->delivery->criteria;
    const dm_survey *s = w->delivery->survey;
    dm_json *j = &w->json;
    size_t k;

    dm_json_open(j, NULL, '{');
    dm_json_text(j, "key", i->key);
    dm_json_text(j, "uid", i->uid);
    dm_json_text(j, "kind", dm_kind_text(i->kind));
    dm_json_text(j, "grade",
                 c != NULL && i->grade < c->grade_count
                     ? c->grades[i->grade].label
                     : NULL);
    dm_json_text(j, "state", dm_state_text(i->state));
    dm_summary_indication_opened(j, found, i);
    put_tapped(j, dm_summary_taps(w, tendon), index);
    put_end(w, "from", t, &i->from);
    put_end(w, "to", t, &i->to);
    dm_summary_length(w, "length", i->to.t - i->from.t);
    dm_json_bool(j, "shorterThanFootprint", i->shorter_than_footprint);
    dm_json_bool(j, "acrossGap", i->across_gap);
    dm_json_bool(j, "reconciled", i->reconciled);
    dm_json_fixed(j, "clock", DEG(i->clock), 2);
    dm_json_fixed(j, "index", i->index, 4);
    dm_json_fixed(j, "UIndex", w->k * i->index_u, 4);
    dm_summary_length(w, "indexLength", i->index_length);
    dm_summary_length(w, "UIndexLength", w->k * i->index_length_u);
    dm_json_bool(j, "clockDoubt", i->clock_doubt);
    dm_posterior_json(j, &i->posterior);
    dm_json_open(j, "runs", '[');
    for (k = 0; s != NULL && k < i->run_count; k++)
        if (i->runs[k] < s->run_count)
            dm_json_text(j, NULL, s->runs[i->runs[k]].id);
    dm_json_close(j, ']');
    put_position(w, t, &i->position);
    put_size(w, &i->size);
    dm_json_text(j, "firstSurvey", i->first_survey);
    dm_json_close(j, '}');
}
