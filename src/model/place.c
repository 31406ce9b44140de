/* SPDX-License-Identifier: MIT
 * Places on the bridge and on the map; what a tendon is like at a station. */
#include "ductmark/model.h"

#include <math.h>

bool dm_model_station(const dm_model *model, dm_vec3 p, dm_alignment_foot *out)
{
    if (!model->alignment)
        return false;
    *out = dm_alignment_nearest(model->alignment, p);
    return true;
}

dm_bridge_place dm_model_bridge_place(const dm_model *model, dm_vec3 p)
{
    dm_bridge_place place = {0};
    dm_alignment_foot foot;
    if (!dm_model_station(model, p, &foot))
        return place;
    place = (dm_bridge_place){true, foot.s, foot.offset, 0.0, 0};
    place.shown = dm_alignment_display(model->alignment, foot.s, &place.zone);
    return place;
}

dm_vec3 dm_model_direction(const dm_model *model, dm_vec3 p)
{
    dm_alignment_foot foot;
    if (!dm_model_station(model, p, &foot))
        return model->direction;
    return dm_alignment_direction(model->alignment, foot.s, NULL);
}

const char *dm_access_text(dm_access access)
{
    static const char *const words[DM_ACCESS_COUNT] = {
        "floor", "ladder", "scaffold", "crawl", "rope", "none"};
    return words[access < DM_ACCESS_COUNT ? access : DM_ACCESS_NONE];
}

dm_access dm_tendon_access(const dm_model *model, const dm_tendon *tendon,
                           double t)
{
    double at = fmin(fmax(t, 0.0), tendon->line.length);
    for (size_t i = tendon->access_count; i-- > 0;)
        if (at >= tendon->access[i].from && at <= tendon->access[i].to)
            return tendon->access[i].access;
    return tendon->part == DM_NONE ? DM_ACCESS_FLOOR
                                   : model->parts[tendon->part].access;
}

double dm_tendon_bend_plane(const dm_tendon *tendon, size_t support)
{
    size_t arc = tendon->supports[support].arc;
    if (arc == DM_NONE)
        return (double)NAN;
    const dm_segment *s = &tendon->line.segments[arc];
    double half = 0.5 * s->length * s->kappa;
    dm_frame f = dm_centreline_frame(&tendon->line, s->t0 + 0.5 * s->length);
    if (!f.crown_defined)
        return (double)NAN;
    /* Towards the centre: the begin's normal, turned with the arc. */
    dm_vec3 in = dm_vec3_along(dm_vec3_scale(s->normal, cos(half)), -sin(half),
                               s->tangent);
    return dm_frame_clock(&f, in);
}

double dm_map_grid_factor(const dm_map_conversion *map)
{
    return map->grid_factor > 0.0 ? map->grid_factor : 1.0;
}

double dm_map_plan_scale(const dm_map_conversion *map)
{
    if (!map->given)
        return 1.0;
    return map->scale * dm_map_grid_factor(map);
}

dm_vec3 dm_map_point(const dm_map_conversion *map, dm_vec3 p)
{
    if (!map->given)
        return p;
    double a = map->x_axis_abscissa, o = map->x_axis_ordinate;
    double k = dm_map_plan_scale(map);
    return (dm_vec3){map->eastings + k * (p.x * a - p.y * o),
                     map->northings + k * (p.x * o + p.y * a),
                     map->height + map->scale * p.z};
}

dm_vec3 dm_map_inverse(const dm_map_conversion *map, dm_vec3 p)
{
    if (!map->given)
        return p;
    double a = map->x_axis_abscissa, o = map->x_axis_ordinate;
    double k = dm_map_plan_scale(map);
    double e = (p.x - map->eastings) / k;
    double n = (p.y - map->northings) / k;
    return (dm_vec3){e * a + n * o, n * a - e * o,
                     (p.z - map->height) / map->scale};
}
