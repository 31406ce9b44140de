/* SPDX-License-Identifier: MIT
 * The scene's tree: one object after another, parents first, each with its
 * mesh, exact curve, properties and identity. Lists grow on the heap and are
 * copied into the scene's arena at the end; mesh data go there directly. */
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "scene/builder.h"
#include "scene/colour.h"

/* Beyond this single precision resolves less than 1 cm (2^-7 m at 131 km). */
#define REACH 100e3

typedef struct {
    dm_scene scene; /* first: what callers see */
    dm_arena *arena;
} owned_scene;

const char *dm_object_kind_text(dm_object_kind kind)
{
    static const char *const text[DM_OBJECT_COUNT] = {
        "bridge",   "part",    "tendon", "duct",    "indication", "anchorage",
        "deviator", "fixture", "tap",    "opening", "centreline", "alignment"};

    return (unsigned)kind < DM_OBJECT_COUNT ? text[kind] : "unknown";
}

void dm_scene_free(dm_scene *scene)
{
    owned_scene *owned = (owned_scene *)scene;

    if (owned == NULL)
        return;
    dm_arena_free(owned->arena);
    free(owned);
}

/* ---- tendon, parts, bridge -------------------------------------------- */

/* The narrowest footprint of the sensors that ran on the tendon: a clock line
 * claims no more than that. */
static double footprint_of(const dm_builder *b, size_t tendon)
{
    const dm_survey *survey = b->source.survey;
    double least = HUGE_VAL;
    size_t i, k;

    for (i = 0; survey != NULL && i < survey->run_count; i++) {
        const dm_instrument *tool;

        if (survey->runs[i].tendon != tendon ||
            survey->runs[i].instrument >= survey->instrument_count)
            continue;
        tool = &survey->instruments[survey->runs[i].instrument];
        for (k = 0; k < tool->channel_count; k++)
            least = fmin(least, tool->channels[k].footprint_around);
    }
    return least;
}

static dm_status add_tendon(dm_builder *b, size_t index,
                            const dm_result *result)
{
    const dm_model *m = b->source.model;
    const dm_tendon *tendon = &m->tendons[index];
    dm_branch t = {0};
    dm_status status;
    dm_object *o;

    t.tendon = tendon;
    t.index = index;
    t.found = result == NULL ? NULL : result->indications;
    t.taps = result == NULL ? NULL : result->taps;
    t.stations = result == NULL ? NULL : result->stations;
    t.object = b->object_count;
    t.footprint = footprint_of(b, index);
    if (!isfinite(t.footprint)) /* one facet of the tube */
        t.footprint =
            6.283185307179586 * dm_radius_at(b, &t, 0.0) / b->shaper.sides;
    o = dm_add_object(b, DM_OBJECT_TENDON,
                      tendon->part == DM_NONE ? 0 : 1 + tendon->part,
                      dm_arena_printf(b->arena, "tendon %s", tendon->id),
                      dm_arena_printf(b->arena, "tendon/%s", tendon->id));
    if (o == NULL)
        return DM_NOMEM;
    o->external = tendon->external;
    o->tendon = index;
    dm_tendon_properties(&b->source, tendon, t.found, &b->list);
    dm_accepted_property(t.stations, &b->list);
    status = dm_property_list_take(&b->list, "DM_Tendon", o);
    return status == DM_OK ? dm_add_children(b, &t) : status;
}

static dm_status add_bridge(dm_builder *b)
{
    const dm_model *m = b->source.model;
    dm_status status;
    dm_object *o;
    size_t i;

    o = dm_add_object(b, DM_OBJECT_BRIDGE, DM_NONE,
                      dm_arena_strdup(b->arena, m->name), "bridge");
    if (o == NULL)
        return DM_NOMEM;
    o->external = m->external;
    dm_bridge_properties(&b->source, &b->list);
    status = dm_property_list_take(&b->list, "DM_Bridge", o);
    for (i = 0; i < m->part_count && status == DM_OK; i++) {
        const dm_part *p = &m->parts[i];

        o = dm_add_object(b, DM_OBJECT_PART,
                          p->parent == DM_NONE ? 0 : 1 + p->parent,
                          dm_arena_printf(b->arena, "%s %s", p->kind, p->id),
                          dm_arena_printf(b->arena, "part/%s", p->id));
        if (o == NULL)
            return DM_NOMEM;
        o->external = p->external;
        dm_part_properties(&b->source, i, &b->list);
        status = dm_property_list_take(&b->list, "DM_Part", o);
    }
    return status;
}

/* ---- origin and end --------------------------------------------------- */

static void widen(dm_vec3 p, dm_vec3 *low, dm_vec3 *high)
{
    *low = (dm_vec3){fmin(low->x, p.x), fmin(low->y, p.y), fmin(low->z, p.z)};
    *high =
        (dm_vec3){fmax(high->x, p.x), fmax(high->y, p.y), fmax(high->z, p.z)};
}

/* Whole metres near the middle of all supports. */
static dm_status find_origin(const dm_model *m, dm_vec3 *origin)
{
    dm_vec3 low = {HUGE_VAL, HUGE_VAL, HUGE_VAL};
    dm_vec3 high = {-HUGE_VAL, -HUGE_VAL, -HUGE_VAL};
    size_t i, k;

    *origin = (dm_vec3){0.0, 0.0, 0.0};
    for (i = 0; i < m->tendon_count; i++)
        for (k = 0; k < m->tendons[i].support_count; k++) {
            dm_vec3 p = m->tendons[i].supports[k].point;

            if (!isfinite(p.x) || !isfinite(p.y) || !isfinite(p.z))
                return DM_RANGE;
            widen(p, &low, &high);
        }
    if (!(low.x <= high.x))
        return DM_OK; /* no tendons */
    if (high.x - low.x > 2.0 * REACH || high.y - low.y > 2.0 * REACH ||
        high.z - low.z > 2.0 * REACH)
        return DM_RANGE;
    origin->x = floor(0.5 * (low.x + high.x) + 0.5);
    origin->y = floor(0.5 * (low.y + high.y) + 0.5);
    origin->z = floor(0.5 * (low.z + high.z) + 0.5);
    return DM_OK;
}

static void *keep(dm_arena *arena, const void *items, size_t count, size_t size)
{
    void *copy = dm_arena_alloc(arena, count, size);

    if (copy != NULL && count > 0)
        memcpy(copy, items, count * size);
    return copy;
}

static dm_status complete(dm_builder *b, dm_scene *s)
{
    dm_status status;

    s->origin = b->source.origin;
    s->objects =
        keep(b->arena, b->objects, b->object_count, sizeof *b->objects);
    s->object_count = b->object_count;
    s->meshes = keep(b->arena, b->meshes, b->mesh_count, sizeof *b->meshes);
    s->mesh_count = b->mesh_count;
    s->curves = keep(b->arena, b->curves, b->curve_count, sizeof *b->curves);
    s->curve_count = b->curve_count;
    if (s->objects == NULL || s->meshes == NULL || s->curves == NULL)
        return DM_NOMEM;
    status = dm_legend_build(b->arena, b->source.criteria, s);
    return status == DM_OK ? dm_heat_legend_build(b->arena, s) : status;
}

static dm_status build(dm_builder *b, const dm_result *results, dm_scene *scene)
{
    const dm_model *m = b->source.model;
    dm_status status = find_origin(m, &b->source.origin);
    size_t i;

    b->shaper.sweep.origin = b->source.origin;
    if (status == DM_OK && !dm_uuid_parse(m->uid, &b->space))
        status = DM_SYNTAX;
    if (status == DM_OK)
        status = add_bridge(b);
    if (status == DM_OK)
        status = dm_add_alignment(b);
    for (i = 0; i < m->tendon_count && status == DM_OK; i++)
        status = add_tendon(b, i, results == NULL ? NULL : &results[i]);
    return status == DM_OK ? complete(b, scene) : status;
}

static dm_status report(dm_diag *diag, const dm_model *model, dm_status status)
{
    dm_place place = {model->file, 0};

    if (status == DM_NOMEM)
        return dm_error(diag, status, place, NULL,
                        "out of memory while the scene is built");
    if (status == DM_SYNTAX)
        return dm_error(diag, status, place, NULL,
                        "the bridge's uid '%s' is no UUID", model->uid);
    return dm_error(diag, status, place, NULL,
                    "coordinates are not finite or span more than 200 km: no "
                    "model can be drawn");
}

dm_status dm_scene_build(const dm_model *model, const dm_survey *survey,
                         const dm_criteria *criteria, const dm_result *results,
                         const dm_job *job, dm_diag *diag, dm_scene **out)
{
    dm_settings settings = job == NULL ? dm_settings_default() : job->settings;
    dm_builder b = {0};
    dm_totals *totals = NULL;
    owned_scene *owned;
    dm_status status = DM_NOMEM;

    *out = NULL;
    owned = calloc(1, sizeof *owned);
    b.arena = dm_arena_new();
    if (owned != NULL && b.arena != NULL) {
        owned->arena = b.arena;
        b.list.arena = b.arena;
        b.shaper.arena = b.arena;
        b.shaper.sweep.sagitta = settings.mesh_sagitta;
        b.shaper.sides = settings.mesh_sides;
        b.source = (dm_source){
            model,           survey, criteria, job, settings.coverage_factor,
            {0.0, 0.0, 0.0}, NULL};
        status = dm_totals_make(model, criteria, results, &totals);
        b.source.totals = totals;
    }
    if (totals != NULL)
        status = build(&b, results, &owned->scene);
    dm_totals_free(totals);
    dm_sweep_free(&b.shaper.sweep);
    dm_property_list_free(&b.list);
    free(b.objects);
    free(b.meshes);
    free(b.curves);
    if (status == DM_OK) {
        *out = &owned->scene;
        return DM_OK;
    }
    dm_arena_free(b.arena);
    free(owned);
    return report(diag, model, status);
}
