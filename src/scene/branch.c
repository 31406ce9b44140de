/* SPDX-License-Identifier: MIT
 * What hangs on one tendon: an object for each duct length of one coverage,
 * indication, anchorage, deviator, fixture and tap, and the centreline. */
#include <string.h>

#include "scene/builder.h"
#include "scene/colour.h"
#include "scene/heat.h"

/* ---- adding things ---------------------------------------------------- */

dm_status dm_add_mesh(dm_builder *b, dm_mesh *mesh, size_t *index)
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

static dm_status add_curve(dm_builder *b, const dm_centreline *line,
                           double from, double to, size_t *index)
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
static const char *unique_name(const dm_builder *b, size_t parent,
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

dm_object *dm_add_object(dm_builder *b, dm_object_kind kind, size_t parent,
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
static dm_object *add_child(dm_builder *b, const dm_branch *t,
                            dm_object_kind kind, const char *id, size_t item)
{
    const char *word = dm_object_kind_text(kind), *name;
    dm_object *o;

    name = dm_arena_printf(b->arena, "%s %s%s%s", t->tendon->id, word,
                           id[0] == '\0' ? "" : " ", id);
    o = dm_add_object(b, kind, t->object, name,
                      dm_arena_printf(b->arena, "tendon/%s/%s%s%s",
                                      t->tendon->id, word,
                                      id[0] == '\0' ? "" : "/", id));
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

double dm_radius_at(const dm_builder *b, const dm_branch *t, double station)
{
    return 0.5 * dm_tendon_duct(b->source.model, t->tendon, station)->od;
}

/* ---- duct lengths ----------------------------------------------------- */

static dm_status add_heat(dm_builder *b, const dm_branch *t, double from,
                          double to, double radius, size_t *index)
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
    tube.sides = b->shaper.sides;
    tube.origin = s->origin;
    status = dm_heat_mesh(&tube, b->arena, &mesh);
    return status == DM_OK ? dm_add_mesh(b, &mesh, index) : status;
}

static dm_status add_duct(dm_builder *b, dm_branch *t, double from, double to,
                          const dm_cover_length *cover, size_t item)
{
    double radius = dm_radius_at(b, t, 0.5 * (from + to));
    char number[24] = "";
    size_t mesh_index, heat = DM_NONE, curve;
    const char *text;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;

    status = dm_shape_duct(&b->shaper, t->tendon, from, to, radius,
                           cover->cover, &mesh);
    if (status == DM_OK)
        status = dm_add_mesh(b, &mesh, &mesh_index);
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
    dm_duct_properties(&b->source, t->tendon, from, to, cover, &b->list);
    dm_accepted_property(t->stations, &b->list);
    return dm_property_list_take(&b->list, "DM_Duct", o);
}

/* One coverage length, cut where the duct's type changes, to the whole
 * micrometre as the ledger's bounds. */
static dm_status add_cover(dm_builder *b, dm_branch *t,
                           const dm_cover_length *cover, size_t item)
{
    double from = cover->from, to;
    dm_status status;
    size_t i;

    for (i = 0; i + 1 < t->tendon->duct_count; i++) {
        to = floor(t->tendon->ducts[i].to * 1e6 + 0.5) / 1e6;
        if (to <= from || to >= cover->to)
            continue;
        status = add_duct(b, t, from, to, cover, item);
        if (status != DM_OK)
            return status;
        from = to;
    }
    return add_duct(b, t, from, cover->to, cover, item);
}

static dm_status add_ducts(dm_builder *b, dm_branch *t)
{
    dm_cover_length whole = {0.0, t->tendon->line.length, DM_COVER_NOT_TESTED,
                             DM_WHY_NOT_WALKED, "no survey of this tendon"};
    dm_status status = DM_OK;
    size_t i;

    if (t->found == NULL || t->found->cover_count == 0)
        return add_cover(b, t, &whole, DM_NONE);
    for (i = 0; i < t->found->cover_count && status == DM_OK; i++)
        status = add_cover(b, t, &t->found->cover[i], i);
    return status;
}

/* ---- the other things on a tendon ------------------------------------- */

static dm_status add_indication(dm_builder *b, const dm_branch *t, size_t item)
{
    const dm_indication *found = &t->found->items[item];
    const dm_criteria *c = b->source.criteria;
    double middle = 0.5 * (found->from.t + found->to.t);
    double radius = dm_radius_at(b, t, middle);
    size_t index, heat, curve;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;

    status = dm_shape_indication(&b->shaper, t->tendon, radius, found,
                                 b->source.k, false, &mesh);
    if (status == DM_OK)
        status = dm_add_mesh(b, &mesh, &index);
    if (status == DM_OK)
        status = dm_shape_indication(&b->shaper, t->tendon, radius, found,
                                     b->source.k, true, &mesh);
    if (status == DM_OK)
        status = dm_add_mesh(b, &mesh, &heat);
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
    dm_indication_properties(&b->source, t->tendon, t->found, found, &b->list);
    dm_tapped_properties(t->taps, item, &b->list);
    dm_accepted_property(t->stations, &b->list);
    return dm_property_list_take(&b->list, "DM_Indication", o);
}

static dm_status add_support(dm_builder *b, const dm_branch *t, size_t item)
{
    const dm_support *s = &t->tendon->supports[item];
    bool anchorage = s->kind == DM_SUPPORT_ANCHORAGE;
    double radius = dm_radius_at(b, t, s->t);
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
        status = dm_add_mesh(b, &mesh, &index);
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

static dm_status add_fixture(dm_builder *b, const dm_branch *t, size_t item)
{
    const dm_fixture *f = &t->tendon->fixtures[item];
    double radius = dm_radius_at(b, t, 0.5 * (f->from + f->to));
    size_t index, curve;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;

    status = dm_shape_fixture(&b->shaper, t->tendon, f, radius, &mesh);
    if (status == DM_OK)
        status = dm_add_mesh(b, &mesh, &index);
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

static dm_status add_tap(dm_builder *b, const dm_branch *t, size_t item)
{
    const dm_tap *tap = &t->taps->items[item];
    bool opened = t->found && tap->opened < t->found->opening_count;
    dm_paint look = opened ? DM_PAINT_TAP_OPENED : DM_PAINT_TAP;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;
    size_t index;

    status = dm_shape_tap(&b->shaper, t->tendon, tap, opened,
                          dm_radius_at(b, t, tap->t), &mesh);
    if (status == DM_OK)
        status = dm_add_mesh(b, &mesh, &index);
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
    paint(o, dm_colour_paint(look), dm_paint_text(look));
    dm_tap_properties(&b->source, t->tendon, t->found, tap, &b->list);
    dm_accepted_property(t->stations, &b->list);
    return dm_property_list_take(&b->list, "DM_TapPoint", o);
}

/* A tap shows its own opening. */
static bool shown_by_tap(const dm_branch *t, size_t opening)
{
    for (size_t i = 0; t->taps != NULL && i < t->taps->count; i++)
        if (t->taps->items[i].opened == opening)
            return true;
    return false;
}

static dm_status add_opening(dm_builder *b, const dm_branch *t, size_t item)
{
    const dm_as_found *opening = &t->found->openings[item];
    dm_status status;
    const char *path;
    dm_object *o;
    dm_mesh mesh;
    size_t index;

    status = dm_shape_opening(&b->shaper, t->tendon, opening->what.t,
                              dm_radius_at(b, t, opening->what.t), &mesh);
    if (status == DM_OK)
        status = dm_add_mesh(b, &mesh, &index);
    if (status != DM_OK)
        return status;
    path = dm_arena_printf(b->arena, "%s/%s", opening->what.survey,
                           opening->what.id);
    o = path != NULL ? add_child(b, t, DM_OBJECT_OPENING, path, item) : NULL;
    if (o == NULL)
        return DM_NOMEM;
    o->name = unique_name(b, t->object,
                          dm_arena_printf(b->arena, "opening %s: %s",
                                          opening->what.id,
                                          dm_outcome_text(opening->outcome)));
    if (o->name == NULL)
        return DM_NOMEM;
    o->mesh = index;
    paint(o, dm_colour_paint(DM_PAINT_OPENING),
          dm_paint_text(DM_PAINT_OPENING));
    dm_opening_properties(&b->source, t->tendon, opening, &b->list);
    dm_accepted_property(t->stations, &b->list);
    return dm_property_list_take(&b->list, "DM_Opening", o);
}

static dm_status add_centreline(dm_builder *b, const dm_branch *t)
{
    const dm_sweep *s = &b->shaper.sweep;
    size_t index, curve;
    dm_status status;
    dm_object *o;
    dm_mesh mesh;

    status =
        dm_mesh_line(&t->tendon->line, s->sagitta, s->origin, b->arena, &mesh);
    if (status == DM_OK)
        status = dm_add_mesh(b, &mesh, &index);
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

dm_status dm_add_children(dm_builder *b, dm_branch *t)
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
    for (i = 0; status == DM_OK && t->found && i < t->found->opening_count; i++)
        if (!shown_by_tap(t, i))
            status = add_opening(b, t, i);
    return status == DM_OK ? add_centreline(b, t) : status;
}
