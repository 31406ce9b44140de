/* SPDX-License-Identifier: MIT
 * summary.json: the whole result for other programs. Lengths in metres,
 * angles in degrees looking ahead; every U is expanded with coverageFactor. A
 * key stands in every object of its kind, null where nothing is known. */
#include "write/summary_json.h"

#include "base/diag.h"
#include "ductmark/ductmark.h"
#include "write/provenance.h"
#include "write/summary_bridge.h"
#include "write/summary_opened.h"
#include "write/summary_total.h"
#include "write/summary_work.h"
#include "write/writers.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

/* What is complete goes to the file: memory does not grow with the bridge. */
static void flush(dm_summary_work *w)
{
    if (w->out == NULL || w->json.buf.failed || w->json.buf.length == 0)
        return;
    dm_out_put(w->out, w->json.buf.data, w->json.buf.length);
    dm_buf_clear(&w->json.buf);
}

/* ---- inputs and criteria ---------------------------------------------- */

static dm_status put_inputs(dm_summary_work *w)
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

static dm_status put_criteria(dm_summary_work *w)
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

static void put_texts(dm_summary_work *w, const char *key,
                      const char *const *text, size_t count)
{
    size_t i;

    dm_json_open(&w->json, key, '[');
    for (i = 0; i < count; i++)
        dm_json_text(&w->json, NULL, text[i]);
    dm_json_close(&w->json, ']');
}

static dm_status put_head(dm_summary_work *w)
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

const dm_taps *dm_summary_taps(const dm_summary_work *w, size_t tendon)
{
    const dm_result *r = w->delivery->results;

    return r == NULL ? NULL : r[tendon].taps;
}

/* ---- tendons ---------------------------------------------------------- */

static void put_lengths(dm_summary_work *w, const dm_cover_length *list,
                        size_t count)
{
    dm_json_open(&w->json, "lengths", '[');
    for (size_t i = 0; i < count; i++) {
        const dm_cover_length *c = &list[i];

        dm_json_open(&w->json, NULL, '{');
        dm_summary_micro(w, "from", c->from);
        dm_summary_micro(w, "to", c->to);
        dm_json_text(&w->json, "state", dm_cover_text(c->cover));
        dm_json_text(&w->json, "why", dm_why_text(c->why));
        dm_json_text(&w->json, "reason", c->reason);
        dm_json_close(&w->json, '}');
    }
    dm_json_close(&w->json, ']');
}

static void put_cover_line(dm_summary_work *w, const dm_cover_line *l)
{
    dm_json_open(&w->json, NULL, '{');
    dm_json_fixed(&w->json, "clock", DEG(l->clock), 3);
    dm_summary_length(w, "width", l->width);
    dm_summary_ledger(&w->json, l->sum, l->why_sum);
    put_lengths(w, l->lengths, l->count);
    dm_json_close(&w->json, '}');
}

/* The tendon's ledger, then that of each clock line. */
static void put_cover(dm_summary_work *w, size_t tendon)
{
    const dm_indications none = {0}, *found = dm_summary_found(w, tendon);
    const dm_total *t = &w->totals->tendons[tendon];

    found = found == NULL ? &none : found;
    dm_summary_ledger(&w->json, t->cover, t->why);
    put_lengths(w, found->cover, found->cover_count);
    dm_json_open(&w->json, "clockLines", '[');
    for (size_t i = 0; i < found->cover_line_count; i++)
        put_cover_line(w, &found->cover_lines[i]);
    dm_json_close(&w->json, ']');
}

static void put_tendon(dm_summary_work *w, size_t index)
{
    const dm_model *m = w->delivery->model;
    const dm_tendon *t = &m->tendons[index];
    const dm_indications *found = dm_summary_found(w, index);
    const dm_taps *taps = dm_summary_taps(w, index);
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
    dm_summary_micro(w, "length", t->line.length);
    dm_json_bool(j, "surveyed", found != NULL);
    dm_json_count(j, "readings", found == NULL ? 0 : found->reading_count);
    dm_json_count(j, "runsLeftOut", found == NULL ? 0 : found->failed_runs);
    dm_summary_greatest(w, "greatestU", t,
                        found ? &found->greatest_world : NULL, false);
    dm_summary_greatest(w, "greatestUFromFace", t,
                        found ? &found->greatest_face : NULL, true);
    dm_summary_intervals(w, index);
    dm_summary_hypotheses(w, index);
    put_cover(w, index);
    dm_summary_tallies(j, w->delivery->criteria, w->totals,
                       &w->totals->tendons[index]);
    dm_json_open(j, "indications", '[');
    for (i = 0; found != NULL && i < found->count; i++)
        dm_summary_indication(w, index, i);
    dm_json_close(j, ']');
    dm_summary_openings(j, found, w->k);
    dm_json_open(j, "taps", '[');
    for (i = 0; taps != NULL && i < taps->count; i++)
        dm_summary_tap(w, index, &taps->items[i]);
    dm_json_close(j, ']');
    dm_json_close(j, '}');
    flush(w);
}

/* ---- the file --------------------------------------------------------- */

static dm_status put_all(dm_summary_work *w)
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
    dm_summary_work w = {0};

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
    dm_summary_work w = {0};
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
