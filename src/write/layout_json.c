/* SPDX-License-Identifier: MIT
 * Layouts for other programs: each name ends in its unit. A key stands in
 * every object of its kind, null where nothing is known. */
#include "write/layout_json.h"

#include <math.h>

#include "ductmark/ductmark.h"
#include "write/json.h"

#define DEG(rad) ((rad) * (180.0 / 3.14159265358979323846))

static void metres(dm_json *j, const char *key, double value)
{
    dm_json_fixed(j, key, value, 5);
}

static void put_place(dm_json *j, const dm_bridge_place *place)
{
    bool known = place->known;
    metres(j, "bridge_station_m", known ? place->station : (double)NAN);
    metres(j, "bridge_station_shown_m", known ? place->shown : (double)NAN);
    metres(j, "bridge_offset_m", known ? place->offset : (double)NAN);
}

static void put_deviator(dm_json *j, const dm_model *m, const dm_tendon *n,
                         const dm_layout_deviator *d)
{
    const dm_support *s = &n->supports[d->support];
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "id", s->id);
    dm_json_text(j, "type", m->deviator_types[s->deviator_type].id);
    metres(j, "station_m", d->t);
    put_place(j, &d->place);
    dm_json_fixed(j, "deflection_deg", DEG(d->deflection), 5);
    dm_json_fixed(j, "plane_deg", DEG(d->plane), 3);
    metres(j, "radius_m", d->radius);
    dm_json_close(j, '}');
}

static void put_free(dm_json *j, const dm_tendon *n, const dm_layout *l,
                     size_t i)
{
    const dm_free_length *p = &l->free_lengths[i];
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "from", n->supports[i].id);
    dm_json_text(j, "to", n->supports[i + 1].id);
    metres(j, "from_m", p->from);
    metres(j, "to_m", p->to);
    metres(j, "free_m", p->free);
    metres(j, "readable_m", p->readable);
    dm_json_close(j, '}');
}

static void put_support(dm_json *j, const char *key, const dm_tendon *n,
                        size_t support)
{
    dm_json_text(j, key, support == DM_NONE ? NULL : n->supports[support].id);
}

static void put_level(dm_json *j, const dm_tendon *n,
                      const dm_layout_level *level)
{
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "kind", dm_level_text(level->kind));
    metres(j, "from_m", level->from);
    metres(j, "to_m", level->to);
    metres(j, "z_m", level->z);
    put_place(j, &level->place);
    put_support(j, "from_at", n, level->support_from);
    put_support(j, "to_at", n, level->support_to);
    dm_json_close(j, '}');
}

static void put_arrays(dm_json *j, const dm_model *m, const dm_tendon *n,
                       const dm_layout *l)
{
    dm_json_open(j, "deviators", '[');
    for (size_t i = 0; i < l->deviator_count; i++)
        put_deviator(j, m, n, &l->deviators[i]);
    dm_json_close(j, ']');
    dm_json_open(j, "free_lengths", '[');
    for (size_t i = 0; i < l->free_count; i++)
        put_free(j, n, l, i);
    dm_json_close(j, ']');
    dm_json_open(j, "levels", '[');
    for (size_t i = 0; i < l->level_count; i++)
        put_level(j, n, &l->levels[i]);
    dm_json_close(j, ']');
}

/* What is not stated is left out. */
static void put_section(dm_json *j, const dm_section *s)
{
    metres(j, "bore_radius_m", s->bore_radius);
    dm_json_fixed(j, "bore_area_m2", s->bore_area, 8);
    dm_json_fixed(j, "steel_area_m2", s->steel_area, 8);
    dm_json_fixed(j, "area_ratio", s->area_ratio, 4);
    dm_json_fixed(j, "net_litres_per_m", s->net_litres_per_m, 4);
    metres(j, "bundle_radius_m", s->bundle_radius);
    metres(j, "eccentricity_m", s->eccentricity);
}

static void put_tendon(dm_json *j, const dm_model *m, const dm_tendon *n,
                       const dm_layout *l, const size_t *runs)
{
    dm_json_open(j, NULL, '{');
    dm_json_text(j, "id", n->id);
    dm_json_text(j, "name", n->name);
    dm_json_text(j, "part", n->part == DM_NONE ? NULL : m->parts[n->part].id);
    dm_json_text(j, "where", n->where);
    metres(j, "length_m", l->length);
    metres(j, "free_m", l->free);
    metres(j, "readable_m", l->readable);
    dm_json_text(j, "duct_type", m->duct_types[l->duct_type].id);
    dm_json_count(j, "strands", (size_t)n->strands);
    dm_json_text(
        j, "strand_type",
        n->strand_type == DM_NONE ? NULL : m->strand_types[n->strand_type].id);
    put_section(j, &l->section);
    dm_json_count(j, "faces", n->face_count);
    dm_json_count(j, "fixtures", n->fixture_count);
    if (runs)
        dm_json_count(j, "runs", *runs);
    put_arrays(j, m, n, l);
    dm_json_close(j, '}');
}

static void put_head(dm_json *j, const dm_model *m)
{
    dm_json_text(j, "tool", "ductmark");
    dm_json_text(j, "version", dm_version());
    dm_json_text(j, "bridge", m ? m->id : NULL);
    dm_json_text(j, "bridge_name", m ? m->name : NULL);
    dm_json_text(j, "bridge_uid", m ? m->uid : NULL);
    dm_json_text(j, "sha256", m ? m->sha256 : NULL);
    dm_json_text(j, "alignment", m && m->alignment ? m->alignment_id : NULL);
}

void dm_layout_json(const layout_report *report, dm_buf *out)
{
    const dm_model *m = report->model;
    dm_json j = {0};
    dm_json_open(&j, NULL, '{');
    put_head(&j, m);
    dm_json_count(&j, "errors", report->errors);
    dm_json_count(&j, "warnings", report->warnings);
    dm_json_open(&j, "messages", '[');
    for (size_t i = 0; i < report->message_count; i++)
        dm_json_text(&j, NULL, report->messages[i]);
    dm_json_close(&j, ']');
    dm_json_open(&j, "tendons", '[');
    for (size_t i = 0; m && i < m->tendon_count; i++)
        put_tendon(&j, m, &m->tendons[i], &report->layouts[i],
                   report->runs ? &report->runs[i] : NULL);
    dm_json_close(&j, ']');
    if (report->quality)
        dm_quality_json(report->quality, &j);
    dm_json_close(&j, '}');
    if (j.buf.failed)
        out->failed = true;
    else
        dm_buf_put(out, j.buf.data, j.buf.length);
    dm_buf_free(&j.buf);
}
