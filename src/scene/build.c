/* SPDX-License-Identifier: MIT
 * The scene's tree: one object after another, parents first, each with its
 * mesh, exact curve, properties and identity. Lists grow on the heap and are
 * copied into the scene's arena at the end; mesh data go there directly. */
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "base/uuid.h"
#include "scene/colour.h"
#include "scene/heat.h"
#include "scene/properties.h"
#include "scene/shape.h"

/* Beyond this single precision resolves less than 1 cm (2^-7 m at 131 km). */
#define REACH 100e3

typedef struct {
    dm_scene scene; /* first: what callers see */
    dm_arena *arena;
} owned_scene;

typedef struct {
    owned_scene *owned;
    dm_arena *arena;
    dm_source source;
    dm_shaper shaper;
    dm_property_list list;
    dm_uuid space;
    dm_object *objects;
    size_t object_count, object_capacity;
    dm_mesh *meshes;
    size_t mesh_count, mesh_capacity;
    dm_curve *curves;
    size_t curve_count, curve_capacity;
} builder;

/* The tendon being built. */
typedef struct {
    const dm_tendon *tendon;
    const dm_indications *found; /* NULL: no results */
    const dm_taps *taps;         /* NULL: no results */
    size_t index;                /* in the model */
    size_t object;
    size_t ducts; /* numbered so far */
    double footprint;
} branch;

const char *dm_object_kind_text(dm_object_kind kind)
{
    static const char *const text[DM_OBJECT_COUNT] = {
        "bridge",    "part",     "tendon",  "duct", "indication",
        "anchorage", "deviator", "fixture", "tap",  "centreline"};

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

/* ---- adding things ---------------------------------------------------- */

/* Takes a mesh in; *index is DM_NONE if it has nothing to draw. */
static dm_status add_mesh(builder *b, dm_mesh *mesh, size_t *index)
{
    *index = DM_NONE;
    if (mesh->vertex_count == 0)
        return DM_OK;
    if (!dm_mesh_measure(mesh))
        return DM_RANGE;
    if (!DM_GROW(b->meshes, b->mesh_count, b->mesh_capacity))
        return DM_NOMEM;
    b->meshes[b->mesh_count] = *mesh;
    *index = b->mesh_count++;
    return DM_OK;
}

static dm_status add_curve(builder *b, const dm_centreline *line, double from,
                           double to, size_t *index)
{
    dm_status status;

    *index = DM_NONE;
    from = fmax(from, 0.0);
    to = fmin(to, line->length);
    if (to - from < DM_SHORTEST)
        return DM_OK;
    if (!DM_GROW(b->curves, b->curve_count, b->curve_capacity))
        return DM_NOMEM;
    status = dm_curve_cut(line, from, to, b->source.origin, b->arena,
                          &b->curves[b->curve_count]);
    if (status == DM_OK)
        *index = b->curve_count++;
    return status;
}

/* A name that no sibling has: later ones get a number. */
static const char *unique_name(const builder *b, size_t parent,
                               const char *name)
{
    const char *tried = name;
    size_t i, number = 1;

    for (i = 0; i < b->object_count && tried != NULL; i++) {
        if (b->objects[i].parent != parent ||
            strcmp(b->objects[i].name, tried) != 0)
            continue;
        tried = dm_arena_printf(b->arena, "%s (%zu)", name, ++number);
        i = (size_t)-1; /* look through all again */
    }
    return tried;
}

static dm_object *add_object(builder *b, dm_object_kind kind, size_t parent,
                             const char *name, const char *path)
{
    dm_object *o;

    if (name == NULL || path == NULL ||
        !DM_GROW(b->objects, b->object_count, b->object_capacity))
        return NULL;
    o = &b->objects[b->object_count++];
    memset(o, 0, sizeof *o);
    o->kind = kind;
    o->name = name;
    o->parent = parent;
    o->set = "";
    o->colour_name = "";
    o->mesh = o->heat = o->curve = o->tendon = o->item = DM_NONE;
    dm_uuid_text(dm_uuid_name(b->space, path), o->uid);
    return o;
}

/* An object below a tendon: "T1 deviator D1", path "tendon/T1/deviator/D1". */
static dm_object *add_child(builder *b, const branch *t, dm_object_kind kind,
                            const char *id, size_t item)
{
    const char *word = dm_object_kind_text(kind), *name;
    dm_object *o;

    name = dm_arena_printf(b->arena, "%s %s%s%s", t->tendon->id, word,
                           id[0] == '\0' ? "" : " ", id);
    o = add_object(b, kind, t->object, name,
                   dm_arena_printf(b->arena, "tendon/%s/%s%s%s", t->tendon->id,
                                   word, id[0] == '\0' ? "" : "/", id));
    if (o != NULL) {
        o->tendon = t->index;
        o->item = item;
    }
    return o;
}

static void paint(dm_object *o, dm_rgba colour, const char *meaning)
{
    memcpy(o->colour, colour.rgba, 4);
    o->colour_name = meaning;
}

static double radius_at(const builder *b, const branch *t, double station)
{
    return 0.5 * dm_tendon_duct(b->source.model, t->tendon, station)->od;
}

/* ---- duct lengths ----------------------------------------------------- */

static dm_status add_heat(builder *b, const branch *t, double from, double to,
                          double radius, size_t *index)
{
    const dm_sweep *s = &b->shaper.sweep;
    dm_heat_tube tube = {0};
    dm_status status;
    dm_mesh mesh;

    *index = DM_NONE;
    if (to - from < DM_SHORTEST || t->found == NULL)
        return DM_OK;
    tube.line = &t->tendon->line;
    tube.profiles = t->found->profiles;
    tube.profile_count = t->found->profile_count;
    tube.footprint = t->footprint;
    tube.from = from;
    tube.to = to;
    tube.radius = radius;
    tube.sagitta = s->sagitta;
    tube.sides = s->sides;
    tube.origin = s->origin;
    status = dm_heat_mesh(&tube, b->arena, &mesh);
    return status == DM_OK ? add_mesh(b, &mesh, index) : status;
}

static dm_status add_duct(builder *b, branch *t, double from, double to,
                          const dm_cover_length *cover, size_t item)
{
    double radius = radius_at(b, t, 0.5 * (from + to));
    char number[24] = "";
    size_t mesh_index, heat = DM_NONE, curve;
    const char *text;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;

    status = dm_shape_duct(&b->shaper, t->tendon, from, to, radius,
                           cover->cover, &mesh);
    if (status == DM_OK)
        status = add_mesh(b, &mesh, &mesh_index);
    if (status == DM_OK && (cover->cover == DM_COVER_TESTED ||
                            cover->cover == DM_COVER_STRAND_MASKED))
        status = add_heat(b, t, from, to, radius, &heat);
    if (status == DM_OK)
        status = add_curve(b, &t->tendon->line, from, to, &curve);
    if (status != DM_OK)
        return status;
    text = dm_arena_printf(b->arena, "%zu", ++t->ducts);
    if (text == NULL || strlen(text) >= sizeof number)
        return DM_NOMEM;
    o = add_child(b, t, DM_OBJECT_DUCT, text, item);
    if (o == NULL)
        return DM_NOMEM;
    o->mesh = mesh_index;
    o->heat = heat;
    o->curve = curve;
    o->radius = radius;
    paint(o, dm_colour_cover(cover->cover), dm_cover_text(cover->cover));
    dm_duct_properties(&b->source, t->tendon, from, to, cover->cover,
                       cover->reason, &b->list);
    return dm_property_list_take(&b->list, "DM_Duct", o);
}

/* One coverage length, cut where the duct's type changes. */
static dm_status add_cover(builder *b, branch *t, const dm_cover_length *cover,
                           size_t item)
{
    double from = cover->from, to;
    dm_status status;
    size_t i;

    for (i = 0; i < t->tendon->duct_count; i++) {
        to = t->tendon->ducts[i].to;
        if (to <= from || to >= cover->to)
            continue;
        status = add_duct(b, t, from, to, cover, item);
        if (status != DM_OK)
            return status;
        from = to;
    }
    return add_duct(b, t, from, cover->to, cover, item);
}

static dm_status add_ducts(builder *b, branch *t)
{
    dm_cover_length whole = {0.0, t->tendon->line.length, DM_COVER_NOT_TESTED,
                             "no survey of this tendon"};
    dm_status status = DM_OK;
    size_t i;

    if (t->found == NULL || t->found->cover_count == 0)
        return add_cover(b, t, &whole, DM_NONE);
    for (i = 0; i < t->found->cover_count && status == DM_OK; i++)
        status = add_cover(b, t, &t->found->cover[i], i);
    return status;
}

/* ---- the other things on a tendon ------------------------------------- */

static dm_status add_indication(builder *b, const branch *t, size_t item)
{
    const dm_indication *found = &t->found->items[item];
    const dm_criteria *c = b->source.criteria;
    double middle = 0.5 * (found->from.t + found->to.t);
    double radius = radius_at(b, t, middle);
    size_t index, heat, curve;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;

    status = dm_shape_indication(&b->shaper, t->tendon, radius, found,
                                 b->source.k, false, &mesh);
    if (status == DM_OK)
        status = add_mesh(b, &mesh, &index);
    if (status == DM_OK)
        status = dm_shape_indication(&b->shaper, t->tendon, radius, found,
                                     b->source.k, true, &mesh);
    if (status == DM_OK)
        status = add_mesh(b, &mesh, &heat);
    if (status == DM_OK)
        status =
            add_curve(b, &t->tendon->line, found->from.t, found->to.t, &curve);
    if (status != DM_OK)
        return status;
    o = add_child(b, t, DM_OBJECT_INDICATION, found->key, item);
    if (o == NULL)
        return DM_NOMEM;
    o->name = unique_name(
        b, t->object, dm_arena_printf(b->arena, "indication %s", found->key));
    if (o->name == NULL)
        return DM_NOMEM;
    if (found->uid[0] != '\0')
        memcpy(o->uid, found->uid, sizeof o->uid);
    o->mesh = index;
    o->heat = heat;
    o->curve = curve;
    o->radius = 1.25 * radius;
    paint(o, dm_colour_grade(c, found->grade),
          c != NULL && found->grade < c->grade_count
              ? c->grades[found->grade].label
              : dm_paint_text(DM_PAINT_NO_GRADE));
    dm_indication_properties(&b->source, t->tendon, found, &b->list);
    return dm_property_list_take(&b->list, "DM_Indication", o);
}

static dm_status add_support(builder *b, const branch *t, size_t item)
{
    const dm_support *s = &t->tendon->supports[item];
    bool anchorage = s->kind == DM_SUPPORT_ANCHORAGE;
    double radius = radius_at(b, t, s->t);
    dm_paint colour = anchorage ? DM_PAINT_ANCHORAGE : DM_PAINT_DEVIATOR;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;
    size_t index;

    status =
        anchorage
            ? dm_shape_anchorage(&b->shaper, t->tendon, item, radius, &mesh)
            : dm_shape_deviator(&b->shaper, t->tendon, item, radius, &mesh);
    if (status == DM_OK)
        status = add_mesh(b, &mesh, &index);
    if (status != DM_OK)
        return status;
    o = add_child(b, t, anchorage ? DM_OBJECT_ANCHORAGE : DM_OBJECT_DEVIATOR,
                  s->id, item);
    if (o == NULL)
        return DM_NOMEM;
    o->mesh = index;
    o->external = s->external;
    paint(o, dm_colour_paint(colour), dm_paint_text(colour));
    dm_support_properties(&b->source, t->tendon, item, &b->list);
    return dm_property_list_take(&b->list,
                                 anchorage ? "DM_Anchorage" : "DM_Deviator", o);
}

static dm_status add_fixture(builder *b, const branch *t, size_t item)
{
    const dm_fixture *f = &t->tendon->fixtures[item];
    double radius = radius_at(b, t, 0.5 * (f->from + f->to));
    size_t index, curve;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;

    status = dm_shape_fixture(&b->shaper, t->tendon, f, radius, &mesh);
    if (status == DM_OK)
        status = add_mesh(b, &mesh, &index);
    if (status == DM_OK)
        status = add_curve(b, &t->tendon->line, f->from, f->to, &curve);
    if (status != DM_OK)
        return status;
    o = add_child(b, t, DM_OBJECT_FIXTURE, f->id, item);
    if (o == NULL)
        return DM_NOMEM;
    o->mesh = index;
    o->curve = curve;
    o->radius = 1.2 * radius;
    paint(o, dm_colour_paint(DM_PAINT_FIXTURE),
          dm_paint_text(DM_PAINT_FIXTURE));
    dm_fixture_properties(f, &b->list);
    return dm_property_list_take(&b->list, "DM_Fixture", o);
}

static dm_status add_tap(builder *b, const branch *t, size_t item)
{
    const dm_tap *tap = &t->taps->items[item];
    dm_status status;
    dm_object *o;
    dm_mesh mesh;
    size_t index;

    status = dm_shape_tap(&b->shaper, t->tendon, tap, radius_at(b, t, tap->t),
                          &mesh);
    if (status == DM_OK)
        status = add_mesh(b, &mesh, &index);
    if (status != DM_OK)
        return status;
    o = add_child(b, t, DM_OBJECT_TAP, tap->id, item);
    if (o == NULL)
        return DM_NOMEM;
    o->name =
        unique_name(b, t->object, dm_arena_printf(b->arena, "tap %s", tap->id));
    if (o->name == NULL)
        return DM_NOMEM;
    if (tap->uid[0] != '\0')
        memcpy(o->uid, tap->uid, sizeof o->uid);
    o->mesh = index;
    paint(o, dm_colour_paint(DM_PAINT_TAP), dm_paint_text(DM_PAINT_TAP));
    dm_tap_properties(&b->source, t->tendon, t->found, tap, &b->list);
    return dm_property_list_take(&b->list, "DM_TapPoint", o);
}

static dm_status add_centreline(builder *b, const branch *t)
{
    const dm_sweep *s = &b->shaper.sweep;
    size_t index, curve;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;

    status =
        dm_mesh_line(&t->tendon->line, s->sagitta, s->origin, b->arena, &mesh);
    if (status == DM_OK)
        status = add_mesh(b, &mesh, &index);
    if (status == DM_OK)
        status =
            add_curve(b, &t->tendon->line, 0.0, t->tendon->line.length, &curve);
    if (status != DM_OK)
        return status;
    o = add_child(b, t, DM_OBJECT_CENTRELINE, "", DM_NONE);
    if (o == NULL)
        return DM_NOMEM;
    o->mesh = index;
    o->curve = curve;
    paint(o, dm_colour_paint(DM_PAINT_CENTRELINE),
          dm_paint_text(DM_PAINT_CENTRELINE));
    dm_line_properties(t->tendon, &b->list);
    return dm_property_list_take(&b->list, "DM_Centreline", o);
}

/* ---- tendon, parts, bridge -------------------------------------------- */

/* The narrowest footprint of the sensors that ran on the tendon: a clock line
 * claims no more than that. */
static double footprint_of(const builder *b, size_t tendon)
{
    const dm_survey *survey = b->source.survey;
    double least = INFINITY;
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

static dm_status add_children(builder *b, branch *t)
{
    dm_status status = add_ducts(b, t);
    size_t i;

    for (i = 0; status == DM_OK && t->found && i < t->found->count; i++)
        status = add_indication(b, t, i);
    for (i = 0; status == DM_OK && i < t->tendon->support_count; i++)
        status = add_support(b, t, i);
    for (i = 0; status == DM_OK && i < t->tendon->fixture_count; i++)
        status = add_fixture(b, t, i);
    for (i = 0; status == DM_OK && t->taps && i < t->taps->count; i++)
        status = add_tap(b, t, i);
    return status == DM_OK ? add_centreline(b, t) : status;
}

static dm_status add_tendon(builder *b, size_t index, const dm_result *result)
{
    const dm_model *m = b->source.model;
    const dm_tendon *tendon = &m->tendons[index];
    branch t = {0};
    dm_status status;
    dm_object *o;

    t.tendon = tendon;
    t.index = index;
    t.found = result == NULL ? NULL : result->indications;
    t.taps = result == NULL ? NULL : result->taps;
    t.object = b->object_count;
    t.footprint = footprint_of(b, index);
    if (!isfinite(t.footprint)) /* one facet of the tube */
        t.footprint =
            6.283185307179586 * radius_at(b, &t, 0.0) / b->shaper.sweep.sides;
    o = add_object(b, DM_OBJECT_TENDON,
                   tendon->part == DM_NONE ? 0 : 1 + tendon->part,
                   dm_arena_printf(b->arena, "tendon %s", tendon->id),
                   dm_arena_printf(b->arena, "tendon/%s", tendon->id));
    if (o == NULL)
        return DM_NOMEM;
    o->external = tendon->external;
    o->tendon = index;
    dm_tendon_properties(&b->source, tendon, t.found, &b->list);
    status = dm_property_list_take(&b->list, "DM_Tendon", o);
    return status == DM_OK ? add_children(b, &t) : status;
}

static dm_status add_bridge(builder *b)
{
    const dm_model *m = b->source.model;
    dm_status status;
    dm_object *o;
    size_t i;

    o = add_object(b, DM_OBJECT_BRIDGE, DM_NONE,
                   dm_arena_strdup(b->arena, m->name), "bridge");
    if (o == NULL)
        return DM_NOMEM;
    o->external = m->external;
    dm_bridge_properties(&b->source, &b->list);
    status = dm_property_list_take(&b->list, "DM_Bridge", o);
    for (i = 0; i < m->part_count && status == DM_OK; i++) {
        const dm_part *p = &m->parts[i];

        o = add_object(b, DM_OBJECT_PART,
                       p->parent == DM_NONE ? 0 : 1 + p->parent,
                       dm_arena_printf(b->arena, "%s %s", p->kind, p->id),
                       dm_arena_printf(b->arena, "part/%s", p->id));
        if (o == NULL)
            return DM_NOMEM;
        o->external = p->external;
        dm_part_properties(p, &b->list);
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
    dm_vec3 low = {INFINITY, INFINITY, INFINITY};
    dm_vec3 high = {-INFINITY, -INFINITY, -INFINITY};
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

static dm_status complete(builder *b)
{
    dm_scene *s = &b->owned->scene;
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

static dm_status build(builder *b, const dm_result *results)
{
    const dm_model *m = b->source.model;
    dm_status status = find_origin(m, &b->source.origin);
    size_t i;

    b->shaper.sweep.origin = b->source.origin;
    if (status == DM_OK && !dm_uuid_parse(m->uid, &b->space))
        status = DM_SYNTAX;
    if (status == DM_OK)
        status = add_bridge(b);
    for (i = 0; i < m->tendon_count && status == DM_OK; i++)
        status = add_tendon(b, i, results == NULL ? NULL : &results[i]);
    return status == DM_OK ? complete(b) : status;
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
    builder b = {0};
    dm_status status = DM_NOMEM;

    *out = NULL;
    b.owned = calloc(1, sizeof *b.owned);
    b.arena = dm_arena_new();
    if (b.owned != NULL && b.arena != NULL) {
        b.owned->arena = b.arena;
        b.list.arena = b.arena;
        b.shaper.arena = b.arena;
        b.shaper.sweep.sagitta = settings.mesh_sagitta;
        b.shaper.sweep.sides = settings.mesh_sides;
        b.source = (dm_source){
            model,          survey, criteria, job, settings.coverage_factor,
            {0.0, 0.0, 0.0}};
        status = build(&b, results);
    }
    dm_sweep_free(&b.shaper.sweep);
    dm_property_list_free(&b.list);
    free(b.objects);
    free(b.meshes);
    free(b.curves);
    if (status == DM_OK) {
        *out = &b.owned->scene;
        return DM_OK;
    }
    dm_arena_free(b.arena);
    free(b.owned);
    return report(diag, model, status);
}
