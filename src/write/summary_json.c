/* SPDX-License-Identifier: MIT
 * summary.json: the whole result for other programs. Lengths in metres,
 * angles in degrees looking ahead; every U is expanded with coverageFactor. A
 * key stands in every object of its kind, null where nothing is known. */
#include "write/summary_json.h"

#include <math.h>

#include "base/diag.h"
#include "ductmark/ductmark.h"
#include "scene/properties.h"
#include "write/json.h"
#include "write/posterior_json.h"
#include "write/provenance.h"
#include "write/summary_bridge.h"
#include "write/summary_opened.h"
#include "write/summary_total.h"
#include "write/writers.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

typedef struct {
    const dm_delivery *delivery;
    dm_out *out; /* NULL: the text stays in json.buf */
    dm_json json;
    dm_totals *totals;
    double k;
} work;

/* What is complete goes to the file: memory does not grow with the bridge. */
static void flush(work *w)
{
    if (w->out == NULL || w->json.buf.failed || w->json.buf.length == 0)
        return;
    dm_out_put(w->out, w->json.buf.data, w->json.buf.length);
    dm_buf_clear(&w->json.buf);
}

static void length(work *w, const char *key, double metres)
{
    dm_json_fixed(&w->json, key, metres, 5);
}

/* Of the ledger: to 1 um, as its bounds are. */
static void ledger(work *w, const char *key, double metres)
{
    dm_json_fixed(&w->json, key, metres, 6);
}

/* ---- inputs and criteria ---------------------------------------------- */

static dm_status put_inputs(work *w)
{
    dm_json *j = &w->json;
    dm_arena *arena = dm_arena_new();
    dm_input *inputs = NULL;
    size_t i, count = 0;
    dm_status status;

    status = arena == NULL ? DM_NOMEM
                           : dm_inputs(w->delivery, arena, &inputs, &count);
    dm_json_open(j, "inputs", '[');
    for (i = 0; status == DM_OK && i < count; i++) {
        dm_json_open(j, NULL, '{');
        dm_json_text(j, "role", inputs[i].role);
        dm_json_text(j, "file", inputs[i].file);
        dm_json_text(j, "sha256", inputs[i].sha256);
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
    dm_arena_free(arena);
    return status;
}

static dm_status put_criteria(work *w)
{
    const dm_criteria *c = w->delivery->criteria;
    dm_json *j = &w->json;
    dm_buf rule = {0};
    bool failed = false;
    size_t i;

    if (c == NULL)
        return DM_OK;
    dm_json_open(j, "criteria", '{');
    dm_json_text(j, "id", c->id);
    dm_json_text(j, "owner", c->owner);
    dm_json_text(j, "date", c->date);
    dm_json_open(j, "grades", '[');
    for (i = 0; i < c->grade_count; i++) {
        dm_json_open(j, NULL, '{');
        dm_json_text(j, "label", c->grades[i].label);
        dm_json_bool(j, "tap", c->grades[i].tap);
        dm_json_close(j, '}');
    }
    dm_json_close(j, ']');
    dm_json_open(j, "rules", '[');
    for (i = 0; i < c->rule_count; i++) {
        dm_buf_clear(&rule);
        dm_rule_text(c, &c->rules[i], &rule);
        dm_json_text(j, NULL, rule.data);
        failed = failed || rule.failed;
    }
    dm_json_close(j, ']');
    dm_json_close(j, '}');
    dm_buf_free(&rule);
    return failed ? DM_NOMEM : DM_OK;
}

static void put_texts(work *w, const char *key, const char *const *text,
                      size_t count)
{
    size_t i;

    dm_json_open(&w->json, key, '[');
    for (i = 0; i < count; i++)
        dm_json_text(&w->json, NULL, text[i]);
    dm_json_close(&w->json, ']');
}

static dm_status put_head(work *w)
{
    const dm_delivery *d = w->delivery;
    const char *const *cautions = dm_cautions();
    dm_json *j = &w->json;
    size_t count = 0;
    dm_status status;

    while (cautions[count] != NULL)
        count++;
    dm_json_text(j, "tool", "ductmark");
    dm_json_text(j, "version", dm_version());
    dm_json_text(j, "job", d->job->uid);
    dm_json_text(j, "date", d->job->date);
    dm_json_text(j, "bridge", d->model->id);
    dm_json_text(j, "bridgeName", d->model->name);
    dm_json_text(j, "bridgeUid", d->model->uid);
    dm_json_text(j, "survey", d->survey == NULL ? NULL : d->survey->survey);
    dm_json_text(j, "surveyDate", d->survey == NULL ? NULL : d->survey->date);
    dm_json_text(j, "units", "lengths in m, angles in deg looking ahead");
    dm_json_fixed(j, "coverageFactor", w->k, 2);
    if (d->model->epsg > 0)
        dm_json_count(j, "epsg", (size_t)d->model->epsg);
    if (d->model->vertical_epsg > 0)
        dm_json_count(j, "verticalEpsg", (size_t)d->model->vertical_epsg);
    dm_summary_map(j, &d->model->map);
    dm_summary_external(j, &d->model->external);
    dm_summary_parts(j, d->model);
    put_texts(w, "cautions", cautions, count);
    status = put_inputs(w);
    return status == DM_OK ? put_criteria(w) : status;
}

/* ---- coverage --------------------------------------------------------- */

static const dm_indications *found_on(const work *w, size_t tendon)
{
    const dm_result *r = w->delivery->results;

    return r == NULL ? NULL : r[tendon].indications;
}

static const dm_taps *taps_on(const work *w, size_t tendon)
{
    const dm_result *r = w->delivery->results;

    return r == NULL ? NULL : r[tendon].taps;
}

/* ---- tendons ---------------------------------------------------------- */

static void put_face(work *w, const char *key, const dm_tendon *t, size_t face)
{
    dm_json_text(&w->json, key,
                 face < t->face_count ? t->faces[face].id : NULL);
}

static void put_bridge(work *w, const dm_bridge_place *place)
{
    if (!place->known)
        return;
    length(w, "bridgeStation", place->station);
    length(w, "bridgeStationShown", place->shown);
    length(w, "bridgeOffset", place->offset);
}

static void put_end(work *w, const char *key, const dm_tendon *t,
                    const dm_end *end)
{
    dm_json *j = &w->json;

    dm_json_open(j, key, '{');
    length(w, "t", end->t);
    length(w, "U", w->k * end->u);
    length(w, "UEdge", w->k * end->u_edge);
    length(w, "tipLow", end->tip_low);
    length(w, "tipHigh", end->tip_high);
    dm_json_bool(j, "open", end->open);
    put_face(w, "backFace", t, end->face_back);
    length(w, "UToBackFace", w->k * end->u_back);
    put_face(w, "aheadFace", t, end->face_ahead);
    length(w, "UToAheadFace", w->k * end->u_ahead);
    put_bridge(w, &end->bridge);
    dm_json_close(j, '}');
}

static void put_support(work *w, const char *key, const dm_tendon *t,
                        size_t support, double distance)
{
    if (support >= t->support_count) {
        dm_json_text(&w->json, key, NULL);
        return;
    }
    dm_json_open(&w->json, key, '{');
    dm_json_text(&w->json, "support", t->supports[support].id);
    length(w, "distance", distance);
    dm_json_close(&w->json, '}');
}

static void put_position(work *w, const dm_tendon *t, const dm_position *p)
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
        length(w, "t", p->crest);
        length(w, "z", p->crest_z);
        length(w, "distance", p->distance[DM_AT_CREST]);
        dm_json_close(j, '}');
    }
    dm_json_close(j, '}');
}

static void put_size(work *w, const dm_size *s)
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
    dm_json_bool(j, "saturated", s->saturated);
    dm_json_text(j, "strands", dm_strands_case_text(s->strands));
    dm_json_close(j, '}');
}

static void put_indication(work *w, const dm_tendon *t,
                           const dm_indications *found, const dm_indication *i)
{
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
    put_end(w, "from", t, &i->from);
    put_end(w, "to", t, &i->to);
    length(w, "length", i->to.t - i->from.t);
    dm_json_bool(j, "shorterThanFootprint", i->shorter_than_footprint);
    dm_json_bool(j, "acrossGap", i->across_gap);
    dm_json_bool(j, "reconciled", i->reconciled);
    dm_json_fixed(j, "clock", DEG(i->clock), 2);
    dm_json_fixed(j, "index", i->index, 4);
    dm_json_fixed(j, "UIndex", w->k * i->index_u, 4);
    length(w, "indexLength", i->index_length);
    length(w, "UIndexLength", w->k * i->index_length_u);
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

static void put_point(work *w, const char *key, dm_vec3 p)
{
    dm_json_open(&w->json, key, '[');
    length(w, NULL, p.x);
    length(w, NULL, p.y);
    length(w, NULL, p.z);
    dm_json_close(&w->json, ']');
}

static void put_tape(work *w, const char *key, const dm_tendon *t,
                     const dm_tape *tape)
{
    if (tape->face >= t->face_count) {
        dm_json_text(&w->json, key, NULL);
        return;
    }
    dm_json_open(&w->json, key, '{');
    put_face(w, "face", t, tape->face);
    length(w, "distance", tape->distance);
    length(w, "U", w->k * tape->u);
    dm_json_close(&w->json, '}');
}

static void put_clearance(work *w, const dm_clearance *c)
{
    dm_json *j = &w->json;

    dm_json_open(j, "drillRoom", '{');
    dm_json_text(j, "room", dm_room_text(c->room));
    length(w, "free", c->free);
    dm_json_text(j, "ahead", c->ahead);
    length(w, "gap", c->gap);
    dm_json_text(j, "nearest", c->nearest);
    dm_json_fixed(j, "otherClock", DEG(c->other_clock), 2);
    dm_json_fixed(j, "otherPEnter", c->other_p_enter, 4);
    dm_json_close(j, '}');
}

static void put_tap(work *w, size_t tendon, const dm_tap *tap)
{
    const dm_tendon *t = &w->delivery->model->tendons[tendon];
    const dm_indications *found = found_on(w, tendon);
    dm_json *j = &w->json;

    dm_json_open(j, NULL, '{');
    dm_json_text(j, "id", tap->id);
    dm_json_text(j, "uid", tap->uid);
    dm_json_text(j, "indication",
                 found != NULL && tap->indication < found->count
                     ? found->items[tap->indication].key
                     : NULL);
    dm_json_text(j, "role", dm_tap_role_text(tap->role));
    dm_json_text(j, "advice", dm_advice_text(tap->advice));
    dm_json_text(j, "why", tap->why);
    dm_json_text(j, "warning", tap->warning[0] != '\0' ? tap->warning : NULL);
    length(w, "t", tap->t);
    length(w, "U", w->k * tap->u_world);
    length(w, "aimFrom", tap->aim_from);
    length(w, "aimTo", tap->aim_to);
    put_bridge(w, &tap->bridge);
    put_point(w, "mark", tap->surface);
    put_point(w, "axis", tap->axis);
    put_point(w, "outward", tap->outward);
    dm_json_fixed(j, "clock", DEG(tap->clock), 2);
    dm_json_fixed(j, "tapeLine", DEG(tap->line), 2);
    put_tape(w, "fromBack", t, &tap->back);
    put_tape(w, "fromAhead", t, &tap->ahead);
    dm_json_text(j, "markFace",
                 tap->mark_face >= t->face_count ? NULL
                                                 : t->faces[tap->mark_face].id);
    length(w, "facesApart", tap->faces_apart);
    length(w, "aroundFromTapeLine", tap->around);
    length(w, "aroundFromCrown", tap->from_crown);
    length(w, "depthStop", tap->depth_stop);
    length(w, "wallMin", tap->wall_min);
    dm_json_bool(j, "wallAssumed", tap->wall_assumed);
    length(w, "bit", tap->bit);
    dm_json_fixed(j, "pEnter", tap->p_enter, 4);
    dm_json_fixed(j, "pAxis", tap->p_axis, 4);
    dm_json_fixed(j, "pAngle", tap->p_angle, 4);
    dm_json_bool(j, "turnMade", tap->turned);
    dm_json_fixed(j, "pKind", tap->p_kind, 4);
    dm_json_fixed(j, "voidClock", DEG(tap->void_clock), 2);
    dm_json_fixed(j, "voidHalfAngle", DEG(tap->void_half), 2);
    dm_json_text(j, "strandSide", dm_strand_side_basis_text(tap->strands));
    dm_json_fixed(j, "strandClock", DEG(tap->strand_clock), 2);
    length(w, "strandGap", tap->strand_gap);
    length(w, "strandGapLeast", tap->strand_gap_low);
    dm_json_fixed(j, "pContact", tap->p_contact, 4);
    put_clearance(w, &tap->clearance);
    dm_summary_tap_opened(j, found, tap);
    dm_json_close(j, '}');
}

static void put_lengths(work *w, const dm_cover_length *list, size_t count)
{
    dm_json_open(&w->json, "lengths", '[');
    for (size_t i = 0; i < count; i++) {
        const dm_cover_length *c = &list[i];

        dm_json_open(&w->json, NULL, '{');
        ledger(w, "from", c->from);
        ledger(w, "to", c->to);
        dm_json_text(&w->json, "state", dm_cover_text(c->cover));
        dm_json_text(&w->json, "why", dm_why_text(c->why));
        dm_json_text(&w->json, "reason", c->reason);
        dm_json_close(&w->json, '}');
    }
    dm_json_close(&w->json, ']');
}

static void put_hypothesis(work *w, const dm_stations *st,
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
    length(w, "length", h->length);
    length(w, "uLength", h->length_u);
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
static void put_interval(work *w, const dm_tendon *t, const dm_stations *st,
                         const dm_interval *v)
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
    length(w, "misclosure", v->misclosure);
    dm_json_fixed(j, "z", v->z, 3);
    length(w, "leastBlunder", v->least_blunder);
    dm_json_bool(j, "reconciled", v->reconciled);
    dm_json_close(j, '}');
}

static void put_intervals(work *w, size_t tendon)
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
static void put_hypotheses(work *w, size_t tendon)
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

static void put_cover_line(work *w, const dm_cover_line *l)
{
    dm_json_open(&w->json, NULL, '{');
    dm_json_fixed(&w->json, "clock", DEG(l->clock), 3);
    length(w, "width", l->width);
    dm_summary_ledger(&w->json, l->sum, l->why_sum);
    put_lengths(w, l->lengths, l->count);
    dm_json_close(&w->json, '}');
}

/* The tendon's ledger, then that of each clock line. */
static void put_cover(work *w, size_t tendon)
{
    const dm_indications none = {0}, *found = found_on(w, tendon);
    const dm_total *t = &w->totals->tendons[tendon];

    found = found == NULL ? &none : found;
    dm_summary_ledger(&w->json, t->cover, t->why);
    put_lengths(w, found->cover, found->cover_count);
    dm_json_open(&w->json, "clockLines", '[');
    for (size_t i = 0; i < found->cover_line_count; i++)
        put_cover_line(w, &found->cover_lines[i]);
    dm_json_close(&w->json, ']');
}

/* null: no reading whose distances close. */
static void put_greatest(work *w, const char *key, const dm_tendon *t,
                         const dm_greatest *g, bool against_face)
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
    length(w, "t", g->at.t);
    length(w, "U", w->k * sqrt(against_face ? crew : g->at.world));
    dm_json_close(j, '}');
}

static void put_tendon(work *w, size_t index)
{
    const dm_model *m = w->delivery->model;
    const dm_tendon *t = &m->tendons[index];
    const dm_indications *found = found_on(w, index);
    const dm_taps *taps = taps_on(w, index);
    dm_json *j = &w->json;
    size_t i;

    dm_json_open(j, NULL, '{');
    dm_json_text(j, "id", t->id);
    dm_json_text(j, "name", t->name);
    dm_json_text(j, "part",
                 t->part < m->part_count ? m->parts[t->part].id : NULL);
    dm_json_text(j, "where", t->where);
    dm_summary_external(j, &t->external);
    dm_summary_supports(j, t);
    ledger(w, "length", t->line.length);
    dm_json_bool(j, "surveyed", found != NULL);
    dm_json_count(j, "readings", found == NULL ? 0 : found->reading_count);
    dm_json_count(j, "runsLeftOut", found == NULL ? 0 : found->failed_runs);
    put_greatest(w, "greatestU", t, found ? &found->greatest_world : NULL,
                 false);
    put_greatest(w, "greatestUFromFace", t,
                 found ? &found->greatest_face : NULL, true);
    put_intervals(w, index);
    put_hypotheses(w, index);
    put_cover(w, index);
    dm_summary_tallies(j, w->delivery->criteria, w->totals,
                       &w->totals->tendons[index]);
    dm_json_open(j, "indications", '[');
    for (i = 0; found != NULL && i < found->count; i++)
        put_indication(w, t, found, &found->items[i]);
    dm_json_close(j, ']');
    dm_summary_openings(j, found, w->k);
    dm_json_open(j, "taps", '[');
    for (i = 0; taps != NULL && i < taps->count; i++)
        put_tap(w, index, &taps->items[i]);
    dm_json_close(j, ']');
    dm_json_close(j, '}');
    flush(w);
}

/* ---- the file --------------------------------------------------------- */

static dm_status put_all(work *w)
{
    const dm_delivery *d = w->delivery;
    dm_status status;
    size_t i;

    status = dm_totals_make(d->model, d->criteria, d->results, &w->totals);
    if (status != DM_OK)
        return status;
    dm_json_open(&w->json, NULL, '{');
    status = put_head(w);
    dm_summary_totals(&w->json, d->model, d->criteria, w->totals);
    dm_json_open(&w->json, "tendons", '[');
    for (i = 0; i < d->model->tendon_count && status == DM_OK; i++)
        put_tendon(w, i);
    dm_json_close(&w->json, ']');
    put_texts(w, "messages", d->messages, d->message_count);
    dm_json_close(&w->json, '}');
    flush(w);
    dm_totals_free(w->totals);
    return w->json.buf.failed ? DM_NOMEM : status;
}

void dm_summary_json(const dm_delivery *delivery, dm_buf *out)
{
    work w = {0};

    w.delivery = delivery;
    w.k = delivery->job->settings.coverage_factor;
    if (put_all(&w) == DM_OK)
        dm_buf_put(out, w.json.buf.data, w.json.buf.length);
    else
        out->failed = true;
    dm_buf_free(&w.json.buf);
}

dm_status dm_write_summary(const dm_delivery *delivery, dm_outset *out,
                           dm_diag *diag)
{
    dm_place place = {"summary.json", 0};
    work w = {0};
    dm_status status;

    w.delivery = delivery;
    w.k = delivery->job->settings.coverage_factor;
    status = dm_outset_open(out, place.file, &w.out);
    if (status != DM_OK)
        return status;
    status = put_all(&w);
    dm_buf_free(&w.json.buf);
    return status == DM_OK
               ? DM_OK
               : dm_error(diag, status, place, NULL, "out of memory");
}
