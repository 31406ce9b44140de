/* SPDX-License-Identifier: MIT
 * summary.json: sums over tendons, parts and the bridge. */
#include "write/summary_total.h"

#include "write/summary_opened.h"

static const char *const cover_key[DM_COVER_COUNT] = {
    "tested", "strandMasked", "notTested", "notValid", "notReconciled"};

void dm_summary_ledger(dm_json *json, const double *cover, const double *why)
{
    for (int k = 0; k < DM_COVER_COUNT; k++)
        dm_json_fixed(json, cover_key[k], cover[k], 6);
    dm_json_open(json, "why", '{');
    for (int k = DM_WHY_NONE + 1; k < DM_WHY_COUNT; k++)
        if (why[k] > 0.0)
            dm_json_fixed(json, dm_why_text((dm_why)k), why[k], 6);
    dm_json_close(json, '}');
}

void dm_summary_tallies(dm_json *json, const dm_criteria *criteria,
                        const dm_totals *totals, const dm_total *total)
{
    dm_json_open(json, "tallies", '[');
    for (int k = 0; k < DM_KIND_COUNT; k++)
        for (size_t g = 0; g <= totals->grades; g++) {
            const dm_tally *t = dm_tally_at(totals, total, (dm_kind)k, g);

            if (t->count == 0)
                continue;
            dm_json_open(json, NULL, '{');
            dm_json_text(json, "kind", dm_kind_text((dm_kind)k));
            dm_json_text(json, "grade",
                         g < totals->grades ? criteria->grades[g].label : NULL);
            dm_json_count(json, "count", t->count);
            dm_json_fixed(json, "length", t->length, 5);
            dm_json_close(json, '}');
        }
    dm_json_close(json, ']');
}

void dm_summary_litres(dm_json *json, const char *key, const dm_amount *volume)
{
    dm_json_open(json, key, '{');
    dm_json_fixed(json, "low", 1e3 * volume->low, 4);
    dm_json_fixed(json, "best", 1e3 * volume->best, 4);
    dm_json_fixed(json, "high", 1e3 * volume->high, 4);
    dm_json_close(json, '}');
}

static void put_total(dm_json *json, const char *key, const char *id,
                      const dm_criteria *criteria, const dm_totals *totals,
                      const dm_total *total)
{
    dm_json_open(json, key, '{');
    dm_json_text(json, "id", id);
    dm_json_count(json, "tendons", total->tendons);
    dm_json_count(json, "surveyed", total->surveyed);
    dm_json_fixed(json, "length", total->length, 6);
    dm_summary_ledger(json, total->cover, total->why);
    dm_json_count(json, "indications", total->all.count);
    dm_json_fixed(json, "indicated", total->all.length, 5);
    dm_json_count(json, "voidLike", total->volume.count);
    dm_json_count(json, "voidLikeWithoutTurn", total->volume.limits_only);
    dm_summary_litres(json, "volumeLitres", &total->volume.volume);
    dm_summary_litres(json, "groutLitres", &total->volume.grout);
    dm_summary_opened_sum(json, &total->opened);
    dm_summary_tallies(json, criteria, totals, total);
    dm_json_close(json, '}');
}

void dm_summary_totals(dm_json *json, const dm_model *model,
                       const dm_criteria *criteria, const dm_totals *totals)
{
    put_total(json, "coverage", model->id, criteria, totals, &totals->bridge);
    dm_json_open(json, "partTotals", '[');
    for (size_t i = 0; i < model->part_count; i++)
        put_total(json, NULL, model->parts[i].id, criteria, totals,
                  &totals->parts[i]);
    dm_json_close(json, ']');
}
