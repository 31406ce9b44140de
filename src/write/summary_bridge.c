/* SPDX-License-Identifier: MIT
 * What the bridge file says of itself and others must not lose: external ids,
 * and where the model lies on the map. */
#include "write/summary_bridge.h"

void dm_summary_external(dm_json *json, const dm_external_ids *ids)
{
    size_t i;

    dm_json_open(json, "externalIds", '[');
    for (i = 0; i < ids->count; i++) {
        dm_json_open(json, NULL, '{');
        dm_json_text(json, "scheme", ids->items[i].scheme);
        dm_json_text(json, "value", ids->items[i].value);
        dm_json_close(json, '}');
    }
    dm_json_close(json, ']');
}

void dm_summary_map(dm_json *json, const dm_map_conversion *map)
{
    if (!map->given) {
        dm_json_text(json, "mapConversion", NULL);
        return;
    }
    dm_json_open(json, "mapConversion", '{');
    dm_json_number(json, "eastings", map->eastings);
    dm_json_number(json, "northings", map->northings);
    dm_json_number(json, "height", map->height);
    dm_json_number(json, "xAxisAbscissa", map->x_axis_abscissa);
    dm_json_number(json, "xAxisOrdinate", map->x_axis_ordinate);
    dm_json_number(json, "scale", map->scale);
    dm_json_number(json, "gridFactor", dm_map_grid_factor(map));
    dm_json_close(json, '}');
}

void dm_summary_parts(dm_json *json, const dm_model *model)
{
    size_t i;

    dm_json_open(json, "parts", '[');
    for (i = 0; i < model->part_count; i++) {
        const dm_part *p = &model->parts[i];

        dm_json_open(json, NULL, '{');
        dm_json_text(json, "id", p->id);
        dm_json_text(json, "name", p->name);
        dm_json_text(json, "kind", p->kind);
        dm_json_text(json, "parent",
                     p->parent < model->part_count ? model->parts[p->parent].id
                                                   : NULL);
        dm_summary_external(json, &p->external);
        dm_json_close(json, '}');
    }
    dm_json_close(json, ']');
}

void dm_summary_supports(dm_json *json, const dm_tendon *tendon)
{
    size_t i;

    dm_json_open(json, "supports", '[');
    for (i = 0; i < tendon->support_count; i++) {
        const dm_support *s = &tendon->supports[i];

        dm_json_open(json, NULL, '{');
        dm_json_text(json, "id", s->id);
        dm_json_text(json, "name", s->name);
        dm_json_text(json, "kind",
                     s->kind == DM_SUPPORT_ANCHORAGE ? "anchorage"
                                                     : "deviator");
        dm_json_fixed(json, "t", s->t, 5);
        dm_summary_external(json, &s->external);
        dm_json_close(json, '}');
    }
    dm_json_close(json, ']');
}
