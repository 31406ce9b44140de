/* SPDX-License-Identifier: MIT
 * Where things belong: site, bridge and parts; which element is contained in
 * which of them, the systems of tendons, the types of tendons. One
 * relationship a container, elements in the scene's order. */
#include "write/ifc.h"

#include <stdio.h>
#include <string.h>

#include "ductmark/section.h"

/* ---- spatial structure ------------------------------------------------ */

/* Attributes between Description and what the entity adds: ObjectType,
 * placement, no shape, LongName, CompositionType. */
static void put_spatial(dm_ifc *w, const char *type, dm_step_id placement,
                        const char *long_name)
{
    dm_step_text(&w->step, type);
    dm_step_ref(&w->step, placement);
    dm_step_unset(&w->step);
    dm_step_text(&w->step, long_name);
    dm_step_unset(&w->step);
}

static dm_step_id put_project(dm_ifc *w, dm_step_id units)
{
    const dm_model *m = w->delivery->model;
    dm_step *s = &w->step;
    dm_step_id id;
    char guid[23];

    dm_ifc_guid(w, "project", m->uid, guid);
    id = dm_ifc_root(w, "IFCPROJECT", guid, m->name, NULL);
    dm_step_unset(s);
    dm_step_unset(s);
    dm_step_unset(s);
    dm_step_open(s);
    dm_step_ref(s, w->model_context);
    dm_step_close(s);
    dm_step_ref(s, units);
    dm_step_end(s);
    return id;
}

static dm_step_id put_site(dm_ifc *w, dm_step_id *placement)
{
    const dm_model *m = w->delivery->model;
    const dm_vec3 zero = {0.0, 0.0, 0.0};
    dm_step_id id;
    char guid[23];
    int i;

    *placement =
        dm_ifc_placement_at(w, 0, dm_ifc_has_map(m) ? zero : w->scene->origin);
    dm_ifc_guid(w, "site", m->uid, guid);
    id = dm_ifc_root(w, "IFCSITE", guid, m->name, NULL);
    put_spatial(w, NULL, *placement, NULL);
    for (i = 0; i < 5; i++)
        dm_step_unset(&w->step);
    dm_step_end(&w->step);
    return id;
}

static void put_bridge(dm_ifc *w, dm_step_id site_placement)
{
    const dm_object *o = &w->scene->objects[0];

    w->placement[0] = dm_ifc_placement(w, site_placement);
    w->product[0] = dm_ifc_root(w, "IFCBRIDGE", w->guid[0], o->name, NULL);
    put_spatial(w, NULL, w->placement[0], NULL);
    dm_step_enum(&w->step, "NOTDEFINED");
    dm_step_end(&w->step);
    dm_ifc_properties(w, 0, w->product[0], 0);
    dm_ifc_provenance(w, w->product[0]);
}

typedef struct {
    const char *kind, *usage, *predefined, *type;
} part_kind;

static const part_kind part_kinds[] = {
    {"span", "LONGITUDINAL", "USERDEFINED", "SPAN"},
    {"segment", "LONGITUDINAL", "DECK_SEGMENT", NULL},
    {"cell", "LATERAL", "USERDEFINED", "CELL"},
    {"girder", "LATERAL", "USERDEFINED", "GIRDER"},
    {"pier", "LONGITUDINAL", "PIER", NULL},
    {"abutment", "LONGITUDINAL", "ABUTMENT", NULL},
    {NULL, "NOTDEFINED", "NOTDEFINED", NULL}};

void dm_ifc_part(dm_ifc *w, size_t object)
{
    const dm_object *o = &w->scene->objects[object];
    const dm_property *kind = dm_ifc_property(o, "Kind");
    const dm_property *name = dm_ifc_property(o, "Name");
    const part_kind *k = part_kinds;

    while (k->kind != NULL && kind != NULL && strcmp(k->kind, kind->text) != 0)
        k++;
    if (kind == NULL)
        k = &part_kinds[sizeof part_kinds / sizeof *part_kinds - 1];
    w->placement[object] = dm_ifc_placement(w, w->placement[o->parent]);
    w->product[object] =
        dm_ifc_root(w, "IFCBRIDGEPART", w->guid[object], o->name, NULL);
    put_spatial(w, k->type, w->placement[object],
                name == NULL ? NULL : name->text);
    dm_step_enum(&w->step, k->usage);
    dm_step_enum(&w->step, k->predefined);
    dm_step_end(&w->step);
    dm_ifc_properties(w, object, w->product[object], 0);
}

/* ---- relationships ---------------------------------------------------- */

static void put_aggregate(dm_ifc *w, const char *uid, dm_step_id whole,
                          dm_step_id part)
{
    dm_step *s = &w->step;

    dm_ifc_relation(w, "IFCRELAGGREGATES", "aggregates", uid);
    dm_step_ref(s, whole);
    dm_step_open(s);
    dm_step_ref(s, part);
    dm_step_close(s);
    dm_step_end(s);
}

/* Parts directly below `whole`, in the scene's order. */
static void put_parts_of(dm_ifc *w, size_t whole)
{
    const dm_object *objects = w->scene->objects;
    dm_step *s = &w->step;
    bool begun = false;
    size_t i, n = w->scene->object_count;

    for (i = whole + 1; i < n; i++) {
        if (objects[i].kind != DM_OBJECT_PART)
            break; /* parts come before tendons */
        if (objects[i].parent != whole)
            continue;
        if (!begun) {
            dm_ifc_relation(w, "IFCRELAGGREGATES", "aggregates",
                            objects[whole].uid);
            dm_step_ref(s, w->product[whole]);
            dm_step_open(s);
            begun = true;
        }
        dm_step_ref(s, w->product[i]);
    }
    if (begun) {
        dm_step_close(s);
        dm_step_end(s);
    }
}

static bool is_contained(const dm_ifc *w, size_t object)
{
    dm_object_kind kind = w->scene->objects[object].kind;

    return w->product[object] != 0 && kind != DM_OBJECT_BRIDGE &&
           kind != DM_OBJECT_PART && kind != DM_OBJECT_INDICATION &&
           kind != DM_OBJECT_TAP && kind != DM_OBJECT_OPENING &&
           kind != DM_OBJECT_ALIGNMENT;
}

/* The bridge or part that holds an element. */
static size_t container_of(const dm_scene *s, size_t object)
{
    while (s->objects[object].kind != DM_OBJECT_BRIDGE &&
           s->objects[object].kind != DM_OBJECT_PART)
        object = s->objects[object].parent;
    return object;
}

/* One relationship a container. `next` chains its elements, in order. */
static dm_status put_containment(dm_ifc *w)
{
    const dm_scene *s = w->scene;
    size_t *first, *next, i, c, n = s->object_count;

    first = dm_arena_alloc(w->arena, n, sizeof *first);
    next = dm_arena_alloc(w->arena, n, sizeof *next);
    if (first == NULL || next == NULL)
        return DM_NOMEM;
    for (i = n; i-- > 0;) {
        if (!is_contained(w, i))
            continue;
        c = container_of(s, i);
        next[i] = first[c]; /* 0, the bridge, is in nobody's list */
        first[c] = i;
    }
    for (c = 0; c < n; c++) {
        if (first[c] == 0)
            continue;
        dm_ifc_relation(w, "IFCRELCONTAINEDINSPATIALSTRUCTURE", "contains",
                        s->objects[c].uid);
        dm_step_open(&w->step);
        for (i = first[c]; i != 0; i = next[i])
            dm_step_ref(&w->step, w->product[i]);
        dm_step_close(&w->step);
        dm_step_ref(&w->step, w->product[c]);
        dm_step_end(&w->step);
    }
    return DM_OK;
}

/* The system of all tendons; its members are the systems of each. */
static void put_system(dm_ifc *w)
{
    const dm_scene *scene = w->scene;
    dm_step *s = &w->step;
    dm_step_id system;
    char guid[23];
    size_t i;

    if (w->delivery->model->tendon_count == 0)
        return;
    dm_ifc_guid(w, "system", scene->objects[0].uid, guid);
    system = dm_ifc_root(w, "IFCBUILTSYSTEM", guid, "external tendons", NULL);
    dm_step_unset(s);
    dm_step_enum(s, "PRESTRESSING");
    dm_step_unset(s);
    dm_step_end(s);
    dm_ifc_relation(w, "IFCRELASSIGNSTOGROUP", "members",
                    scene->objects[0].uid);
    dm_step_open(s);
    for (i = 0; i < scene->object_count; i++)
        if (scene->objects[i].kind == DM_OBJECT_TENDON)
            dm_step_ref(s, w->feature[i]);
    dm_step_close(s);
    dm_step_unset(s);
    dm_step_ref(s, system);
    dm_step_end(s);
}

/* ---- types ------------------------------------------------------------ */

static bool same_type(const dm_model *m, const dm_tendon *a, const dm_tendon *b)
{
    return a->strands == b->strands && a->strand_type == b->strand_type &&
           dm_tendon_duct(m, a, 0.0) == dm_tendon_duct(m, b, 0.0);
}

static void put_type(dm_ifc *w, const dm_tendon *t)
{
    const dm_model *m = w->delivery->model;
    const dm_duct_type *duct = dm_tendon_duct(m, t, 0.0);
    const dm_strand_type *strand =
        t->strands > 0 && t->strand_type < m->strand_type_count
            ? &m->strand_types[t->strand_type]
            : NULL;
    dm_step *s = &w->step;
    char name[200], guid[23];
    dm_step_id id;
    size_t i;

    if (strand != NULL)
        snprintf(name, sizeof name, "%d x %s in %s", t->strands, strand->id,
                 duct->id);
    else
        snprintf(name, sizeof name, "tendon in %s", duct->id);
    dm_ifc_guid(w, "tendon-type", name, guid);
    id = dm_ifc_root(w, "IFCTENDONTYPE", guid, name, NULL);
    for (i = 0; i < 5; i++)
        dm_step_unset(s);
    dm_step_enum(s, "STRAND");
    dm_step_unset(s);
    if (strand != NULL)
        dm_step_fixed(s, dm_tendon_section(m, t, 0.0).steel_area, 9);
    else
        dm_step_unset(s);
    dm_step_fixed(s, duct->od, 6);
    dm_step_end(s);
    dm_ifc_relation(w, "IFCRELDEFINESBYTYPE", "typed", name);
    dm_step_open(s);
    for (i = 0; i < w->scene->object_count; i++) {
        const dm_object *o = &w->scene->objects[i];

        if (o->kind == DM_OBJECT_TENDON &&
            same_type(m, t, &m->tendons[o->tendon]))
            dm_step_ref(s, w->product[i]);
    }
    dm_step_close(s);
    dm_step_ref(s, id);
    dm_step_end(s);
}

static void put_types(dm_ifc *w)
{
    const dm_model *m = w->delivery->model;
    size_t i, k;

    for (i = 0; i < m->tendon_count; i++) {
        for (k = 0; k < i && !same_type(m, &m->tendons[k], &m->tendons[i]); k++)
            ;
        if (k == i)
            put_type(w, &m->tendons[i]);
    }
}

/* One layer a state of coverage, with the conduits and what adheres to them:
 * untested length can be shown alone, or not at all. */
static void put_layer(dm_ifc *w, dm_cover cover)
{
    const dm_scene *scene = w->scene;
    dm_step *s = &w->step;
    bool begun = false;
    size_t i;

    for (i = 0; i < scene->object_count; i++) {
        if (w->body[i] == 0 || dm_ifc_cover(w, &scene->objects[i]) != cover)
            continue;
        if (!begun) {
            char name[32];

            snprintf(name, sizeof name, "coverage: %s", dm_cover_text(cover));
            dm_step_begin(s, "IFCPRESENTATIONLAYERASSIGNMENT");
            dm_step_text(s, name);
            dm_step_unset(s);
            dm_step_open(s);
            begun = true;
        }
        dm_step_ref(s, w->body[i]);
        if (w->sign[i] != 0)
            dm_step_ref(s, w->sign[i]);
    }
    if (!begun)
        return;
    dm_step_close(s);
    dm_step_unset(s);
    dm_step_end(s);
}

/* ---- for ifc.c -------------------------------------------------------- */

void dm_ifc_spatial(dm_ifc *w, dm_step_id units)
{
    dm_step_id site, placement;

    w->project = put_project(w, units);
    site = put_site(w, &placement);
    put_bridge(w, placement);
    put_aggregate(w, "project", w->project, site);
    put_aggregate(w, "site", site, w->product[0]);
}

void dm_ifc_alignment(dm_ifc *w, size_t object)
{
    const dm_object *o = &w->scene->objects[object];
    dm_step *s = &w->step;
    dm_step_id shape = dm_ifc_shape_curve(w, &w->scene->curves[o->curve]);

    if (shape == 0)
        return;
    w->placement[object] = dm_ifc_placement(w, w->placement[0]);
    w->product[object] =
        dm_ifc_root(w, "IFCALIGNMENT", w->guid[object], o->name, NULL);
    dm_step_unset(s);
    dm_step_ref(s, w->placement[object]);
    dm_step_ref(s, shape);
    dm_step_unset(s);
    dm_step_end(s);
    dm_ifc_properties(w, object, w->product[object], 0);
    put_aggregate(w, o->uid, w->project, w->product[object]);
}

dm_status dm_ifc_relations(dm_ifc *w)
{
    dm_status status;
    size_t i;

    for (i = 0; i < w->scene->object_count; i++)
        if (w->scene->objects[i].kind == DM_OBJECT_BRIDGE ||
            w->scene->objects[i].kind == DM_OBJECT_PART)
            put_parts_of(w, i);
    status = put_containment(w);
    put_system(w);
    put_types(w);
    for (int k = 0; k < DM_COVER_COUNT; k++)
        put_layer(w, (dm_cover)k);
    return status;
}
