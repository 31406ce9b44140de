/* SPDX-License-Identifier: MIT
 * What was opened, in summary.json: estimate beside finding. */
#include "write/summary_opened.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

void dm_summary_indication_opened(dm_json *json, const dm_indications *found,
                                  const dm_indication *item)
{
    const dm_as_found *o =
        found != NULL && item->decided_by < found->opening_count
            ? &found->openings[item->decided_by]
            : NULL;

    dm_json_text(json, "stateDate", item->state_date);
    dm_json_text(json, "asFound", dm_as_found_text(item));
    dm_json_count(json, "openings", item->opening_count);
    dm_json_text(json, "found", o ? dm_finding_text(o->what.found) : NULL);
}

void dm_summary_tap_opened(dm_json *json, const dm_indications *found,
                           const dm_tap *tap)
{
    const dm_as_found *o = found != NULL && tap->opened < found->opening_count
                               ? &found->openings[tap->opened]
                               : NULL;

    dm_json_bool(json, "opened", o != NULL);
    dm_json_text(json, "openedOn", o ? o->what.date : NULL);
    dm_json_text(json, "found", o ? dm_finding_text(o->what.found) : NULL);
    dm_json_text(json, "opening", o ? o->what.id : NULL);
}

/* m^3, Pa; as read, then what follows. */
static void put_pressures(dm_json *json, const dm_pressures *p, double k)
{
    dm_json_fixed(json, "vessel", p->vessel, 9);
    dm_json_fixed(json, "UVessel", k * p->u_vessel, 9);
    dm_json_fixed(json, "pressureBefore", p->before, 3);
    dm_json_fixed(json, "pressureAfter", p->after, 3);
    dm_json_fixed(json, "pressureAir", p->air, 3);
    dm_json_fixed(json, "UPressure", k * p->u_pressure, 3);
    dm_json_fixed(json, "hoses", p->hoses, 9);
    dm_json_fixed(json, "UHoses", k * p->u_hoses, 9);
    dm_json_fixed(json, "measuredVolume", p->volume, 8);
    dm_json_fixed(json, "UMeasuredVolume", k * p->u, 8);
}

/* Along the alignment, if there is one. */
static void put_bridge(dm_json *json, const dm_bridge_place *place)
{
    if (!place->known)
        return;
    dm_json_fixed(json, "bridgeStation", place->station, 5);
    dm_json_fixed(json, "bridgeStationShown", place->shown, 5);
    dm_json_fixed(json, "bridgeOffset", place->offset, 5);
}

static void put_opening(dm_json *json, const dm_as_found *o, double k)
{
    const dm_opening *w = &o->what;

    dm_json_open(json, NULL, '{');
    dm_json_text(json, "id", w->id);
    dm_json_text(json, "survey", w->survey);
    dm_json_text(json, "date", w->date);
    dm_json_text(json, "outcome", dm_outcome_text(o->outcome));
    dm_json_text(json, "why", o->words);
    dm_json_text(json, "found", dm_finding_text(w->found));
    dm_json_fixed(json, "depth", w->depth, 5);
    dm_json_bool(json, "water", w->water);
    dm_json_bool(json, "strand", w->strand);
    put_pressures(json, &w->pressures, k);
    dm_json_fixed(json, "t", w->t, 5);
    dm_json_fixed(json, "U", k * w->u, 5);
    put_bridge(json, &o->bridge);
    dm_json_fixed(json, "clock", DEG(w->clock), 2);
    dm_json_text(json, "indication", o->key);
    dm_json_fixed(json, "pFound", o->p_found, 4);
    dm_json_fixed(json, "insideFrom", o->inside_from, 5);
    dm_json_fixed(json, "UInsideFrom", k * o->u_from, 5);
    dm_json_fixed(json, "insideTo", o->inside_to, 5);
    dm_json_fixed(json, "UInsideTo", k * o->u_to, 5);
    dm_json_bool(json, "againstEnd", o->against_end);
    dm_json_open(json, "estimatedDepth", '{');
    dm_json_fixed(json, "low", o->depth.low, 5);
    dm_json_fixed(json, "best", o->depth.best, 5);
    dm_json_fixed(json, "high", o->depth.high, 5);
    dm_json_close(json, '}');
    dm_json_text(json, "readingsThere", o->cover);
    dm_json_text(json, "tap", w->tap);
    dm_json_bool(json, "byTap", o->by_tap);
    dm_json_bool(json, "fromRegister", o->opened == DM_NONE);
    dm_json_text(json, "photo", w->photo);
    dm_json_text(json, "note", w->note);
    dm_json_close(json, '}');
}

void dm_summary_openings(dm_json *json, const dm_indications *found, double k)
{
    dm_json_open(json, "openings", '[');
    for (size_t i = 0; found != NULL && i < found->opening_count; i++)
        put_opening(json, &found->openings[i], k);
    dm_json_close(json, ']');
}

void dm_summary_opened_sum(dm_json *json, const dm_opened_sum *sum)
{
    dm_json_open(json, "opened", '{');
    dm_json_count(json, "openings", sum->openings);
    dm_json_count(json, "confirmed", sum->confirmed);
    dm_json_count(json, "refuted", sum->refuted);
    dm_json_count(json, "undecided", sum->undecided);
    dm_json_count(json, "notOpened", sum->not_opened);
    dm_json_count(json, "missed", sum->outcome[DM_OUTCOME_MISSED]);
    dm_json_count(json, "soundElsewhere", sum->outcome[DM_OUTCOME_AGREES]);
    dm_json_count(json, "notReadThere", sum->outcome[DM_OUTCOME_NOT_READ]);
    dm_json_close(json, '}');
}
