/* SPDX-License-Identifier: MIT
 * Error budgets for other programs: the items of a U are k times the roots of
 * those of the variance, so that their squares add up to U squared. */
#include "write/budget_json.h"

#include <math.h>

#include "ductmark/ductmark.h"
#include "write/json.h"

const char *dm_budget_reason_text(budget_reason reason)
{
    static const char *const words[BUDGET_REASONS] = {
        "asked for", "greatest against the world", "greatest against a face"};
    return words[reason];
}

static void put_bound(dm_json *j, const char *key, double k, double variance,
                      const dm_budget *budget, const char *face)
{
    dm_json_open(j, key, '{');
    if (face)
        dm_json_text(j, "face", face);
    dm_json_fixed(j, "U_m", k * sqrt(variance), 6);
    for (int i = 0; i < DM_BUDGET_ITEMS; i++)
        dm_json_fixed(j, dm_budget_text((dm_budget_item)i),
                      k * sqrt(budget->item[i]), 6);
    dm_json_close(j, '}');
}

static void put_face(dm_json *j, const char *key, double k,
                     const budget_place *p, size_t face, double variance,
                     const dm_budget *budget)
{
    if (face == DM_NONE)
        dm_json_text(j, key, NULL);
    else
        put_bound(j, key, k, variance, budget, p->tendon->faces[face].id);
}

static void put_place(dm_json *j, const budget_place *p, double k)
{
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "tendon", p->tendon->id);
    dm_json_text(j, "run", p->run->id);
    dm_json_text(j, "segment", p->event->segment);
    dm_json_text(j, "why", dm_budget_reason_text(p->why));
    dm_json_fixed(j, "run_distance_m", p->x, 4);
    dm_json_fixed(j, "station_m", p->at.t, 4);
    dm_json_bool(j, "reconciled", p->at.reconciled);
    put_bound(j, "world", k, p->at.world, &p->world, NULL);
    put_face(j, "back", k, p, p->at.face_back, p->at.back, &p->back);
    put_face(j, "ahead", k, p, p->at.face_ahead, p->at.ahead, &p->ahead);
    dm_json_close(j, '}');
}

void dm_budget_json(const budget_report *report, dm_buf *out)
{
    dm_json j = {0};
    double k = report->job->settings.coverage_factor;
    dm_json_open(&j, NULL, '{');
    dm_json_text(&j, "tool", "ductmark");
    dm_json_text(&j, "version", dm_version());
    dm_json_text(&j, "date", report->job->date);
    dm_json_number(&j, "coverage_factor", k);
    dm_json_open(&j, "places", '[');
    for (size_t i = 0; i < report->count; i++)
        put_place(&j, &report->places[i], k);
    dm_json_close(&j, ']');
    dm_json_close(&j, '}');
    if (j.buf.failed)
        out->failed = true;
    else
        dm_buf_put(out, j.buf.data, j.buf.length);
    dm_buf_free(&j.buf);
}
