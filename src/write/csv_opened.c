/* SPDX-License-Identifier: MIT
 * Tables: openings.csv, and the as-found columns of indications.csv and
 * taps.csv. An opening stands beside what was estimated of its place. */
#include <math.h>

#include "write/csv_rows.h"

static const dm_as_found *opening_at(const dm_csv_context *c, size_t index)
{
    return c->found != NULL && index < c->found->opening_count
               ? &c->found->openings[index]
               : NULL;
}

static void finding_cells(dm_row *row, const dm_as_found *o)
{
    dm_row_text(row, "opened_on", o ? o->what.date : NULL);
    dm_row_text(row, "found", o ? dm_finding_text(o->what.found) : NULL);
    dm_row_small(row, "found_depth", o ? o->what.depth : (double)NAN);
}

void dm_csv_indication_opened(dm_row *row, const dm_csv_context *c,
                              const dm_indication *item)
{
    const dm_as_found *o =
        item->opening_count > 0 ? opening_at(c, item->decided_by) : NULL;

    dm_row_text(row, "state_date", item->state_date);
    dm_row_text(row, "as_found", dm_as_found_text(item));
    dm_row_count(row, "openings", item->opening_count);
    finding_cells(row, o);
    dm_row_length(row, "found_at", o ? o->what.t : (double)NAN);
    dm_row_text(row, "found_why", o ? o->words : NULL);
}

void dm_csv_tap_opened(dm_row *row, const dm_csv_context *c, const dm_tap *tap)
{
    const dm_as_found *o = opening_at(c, tap->opened);

    dm_row_bool(row, "opened", o != NULL);
    finding_cells(row, o);
    dm_row_text(row, "outcome", o ? dm_outcome_text(o->outcome) : NULL);
    dm_row_text(row, "opening", o ? o->what.id : NULL);
}

static void estimate_cells(dm_row *row, const dm_csv_context *c,
                           const dm_as_found *o)
{
    const dm_indication *i = o->indication < c->found->count
                                 ? &c->found->items[o->indication]
                                 : NULL;

    dm_row_text(row, "indication", o->key);
    dm_row_text(row, "kind", i ? dm_kind_text(i->kind) : NULL);
    dm_row_real(row, "p_found", o->p_found, 3);
    dm_row_length(row, "inside_from", o->inside_from);
    dm_row_bound(row, "U_inside_from", c->k * o->u_from);
    dm_row_length(row, "inside_to", o->inside_to);
    dm_row_bound(row, "U_inside_to", c->k * o->u_to);
    dm_row_bool(row, "against_end", o->against_end);
    dm_row_small(row, "estimated_depth_low", o->depth.low);
    dm_row_small(row, "estimated_depth", o->depth.best);
    dm_row_small(row, "estimated_depth_high", o->depth.high);
    dm_row_text(row, "readings_there", o->cover);
}

/* What follows, then as read. */
static void pressure_cells(dm_row *row, const dm_pressures *p, double k)
{
    dm_row_real(row, "volume_measured_L", 1e3 * p->volume, 3);
    dm_row_real(row, "U_volume_measured_L", 1e3 * k * p->u, 3);
    dm_row_real(row, "vessel_L", 1e3 * p->vessel, 4);
    dm_row_real(row, "U_vessel_L", 1e3 * k * p->u_vessel, 4);
    dm_row_real(row, "pressure_before_kPa", 1e-3 * p->before, 4);
    dm_row_real(row, "pressure_after_kPa", 1e-3 * p->after, 4);
    dm_row_real(row, "pressure_air_kPa", 1e-3 * p->air, 4);
    dm_row_real(row, "U_pressure_kPa", 1e-3 * k * p->u_pressure, 4);
    dm_row_real(row, "hoses_L", 1e3 * p->hoses, 4);
    dm_row_real(row, "U_hoses_L", 1e3 * k * p->u_hoses, 4);
}

static dm_status opening_row(dm_row *row, const dm_csv_context *c,
                             const dm_as_found *o)
{
    const dm_opening *w = &o->what;

    dm_row_begin(row, row->header);
    dm_row_text(row, "id", w->id);
    dm_row_text(row, "survey", w->survey);
    dm_row_text(row, "tendon", c->tendon->id);
    dm_row_text(row, "where", c->tendon->where);
    dm_row_text(row, "field_tag",
                dm_external_find(&c->tendon->external, "field-tag"));
    dm_row_text(row, "outcome", dm_outcome_text(o->outcome));
    dm_row_text(row, "why", o->words);
    dm_row_text(row, "date", w->date);
    dm_row_text(row, "found", dm_finding_text(w->found));
    dm_row_small(row, "found_depth", w->depth);
    dm_row_bool(row, "water", w->water);
    dm_row_bool(row, "strand", w->strand);
    pressure_cells(row, &w->pressures, c->k);
    dm_row_length(row, "station", w->t);
    dm_row_bound(row, "U_world", c->k * w->u);
    dm_csv_bridge_cells(row, &o->bridge, &dm_csv_bridge_of_row);
    dm_row_angle(row, "clock", w->clock);
    dm_row_clock(row, "clock_looking_ahead", w->clock);
    dm_row_text(row, "looking_ahead_towards", dm_csv_far_anchorage(c->tendon));
    dm_row_real(row, "coverage_factor", c->k, 2);
    estimate_cells(row, c, o);
    dm_row_text(row, "tap", w->tap);
    dm_row_bool(row, "by_tap", o->by_tap);
    dm_row_bool(row, "from_register", o->opened == DM_NONE);
    dm_row_text(row, "photo", w->photo);
    dm_row_text(row, "note", w->note);
    dm_csv_accepted(row, c);
    return dm_row_end(row);
}

dm_status dm_csv_opening_rows(dm_row *row, const dm_csv_context *c)
{
    dm_status status = DM_OK;

    for (size_t i = 0;
         c->found != NULL && i < c->found->opening_count && status == DM_OK;
         i++)
        status = opening_row(row, c, &c->found->openings[i]);
    return status;
}
