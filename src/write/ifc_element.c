/* SPDX-License-Identifier: MIT
 * The elements of a tendon: the tendon with axis and body, a conduit for
 * every duct length, anchorages, deviators, fixtures; indications, untested
 * lengths and taps as surface features that adhere to the conduit they lie
 * on. The table below is the only place that knows the schema's names of
 * elements; ObjectType is what a filter asks for. */
#include "write/ifc.h"

#include <math.h>
#include <string.h>

#include "ductmark/ductmark.h"

/* A drawn length that was not tested lets its feature show through. */
#define GHOST_ALPHA 76

typedef struct {
    const char *entity;
    const char *predefined;
    const char *type; /* ObjectType; NULL: none */
    int before;       /* unset attributes between Tag and PredefinedType */
    int after;        /* unset attributes after it */
} element;

static const element tendon_element = {"IFCTENDON", "STRAND", NULL, 1, 7};
static const element duct_element = {"IFCTENDONCONDUIT", "DUCT", NULL, 1, 0};
static const element anchorage_elements[] = {
    [DM_ANCHORAGE_TENSIONING] = {"IFCTENDONANCHOR", "TENSIONING_END", NULL, 1,
                                 0},
    [DM_ANCHORAGE_FIXED] = {"IFCTENDONANCHOR", "FIXED_END", NULL, 1, 0},
    [DM_ANCHORAGE_COUPLER] = {"IFCTENDONANCHOR", "COUPLER", NULL, 1, 0},
};
static const element deviator_element = {"IFCBUILDINGELEMENTPROXY",
                                         "USERDEFINED", "DEVIATOR", 0, 0};

static const element fixture_elements[] = {
    [DM_FIXTURE_COLLAR] = {"IFCBUILDINGELEMENTPROXY", "USERDEFINED", "COLLAR",
                           0, 0},
    [DM_FIXTURE_COUPLER] = {"IFCTENDONCONDUIT", "COUPLER", "COUPLER", 1, 0},
    [DM_FIXTURE_WRAP] = {"IFCBUILDINGELEMENTPROXY", "USERDEFINED", "WRAP", 0,
                         0},
    [DM_FIXTURE_PATCH] = {"IFCBUILDINGELEMENTPROXY", "USERDEFINED", "PATCH", 0,
                          0},
    [DM_FIXTURE_VENT] = {"IFCTENDONCONDUIT", "GROUTING_DUCT", "VENT", 1, 0},
    [DM_FIXTURE_WELD] = {"IFCBUILDINGELEMENTPROXY", "USERDEFINED", "WELD", 0,
                         0},
    [DM_FIXTURE_DIAPHRAGM] = {"IFCBUILDINGELEMENTPROXY", "USERDEFINED",
                              "DIAPHRAGM", 0, 0},
    [DM_FIXTURE_LOW_CLEARANCE] = {"IFCVIRTUALELEMENT", "CLEARANCE",
                                  "LOW_CLEARANCE", 0, 0},
};

static const element indication_elements[DM_KIND_COUNT] = {
    [DM_KIND_SOUND_LIKE] = {"IFCSURFACEFEATURE", "USERDEFINED", "SOUND_LIKE", 0,
                            0},
    [DM_KIND_VOID_LIKE] = {"IFCSURFACEFEATURE", "DEFECT", "VOID_LIKE", 0, 0},
    [DM_KIND_SOFT_LIKE] = {"IFCSURFACEFEATURE", "DEFECT", "SOFT_LIKE", 0, 0},
    [DM_KIND_UNRESOLVED] = {"IFCSURFACEFEATURE", "USERDEFINED", "UNRESOLVED", 0,
                            0},
};

/* Only where the advice is to drill is a mark a tap point. */
static const element tap_elements[] = {
    [DM_ADVICE_TAP] = {"IFCSURFACEFEATURE", "MARK", "TAP_POINT", 0, 0},
    [DM_ADVICE_RESCAN] = {"IFCSURFACEFEATURE", "MARK", "RESCAN_POINT", 0, 0},
    [DM_ADVICE_HAND_TOOL] = {"IFCSURFACEFEATURE", "MARK", "HAND_TOOL_POINT", 0,
                             0},
};

static const element opening_element = {"IFCSURFACEFEATURE", "MARK", "OPENING",
                                        0, 0};

static const element cover_elements[DM_COVER_COUNT] = {
    [DM_COVER_STRAND_MASKED] = {"IFCSURFACEFEATURE", "USERDEFINED",
                                "STRAND_MASKED", 0, 0},
    [DM_COVER_NOT_TESTED] = {"IFCSURFACEFEATURE", "USERDEFINED", "UNTESTED", 0,
                             0},
    [DM_COVER_NOT_VALID] = {"IFCSURFACEFEATURE", "USERDEFINED", "NOT_VALID", 0,
                            0},
    [DM_COVER_NOT_RECONCILED] = {"IFCSURFACEFEATURE", "USERDEFINED",
                                 "NOT_RECONCILED", 0, 0},
};

/* ---- what the scene's objects stand for ------------------------------- */

static const dm_tendon *tendon_of(const dm_ifc *w, const dm_object *o)
{
    return &w->delivery->model->tendons[o->tendon];
}

static const dm_indication *indication_of(const dm_ifc *w, const dm_object *o)
{
    return &w->delivery->results[o->tendon].indications->items[o->item];
}

static const dm_tap *tap_of(const dm_ifc *w, const dm_object *o)
{
    return &w->delivery->results[o->tendon].taps->items[o->item];
}

dm_cover dm_ifc_cover(const dm_ifc *w, const dm_object *o)
{
    if (o->item == DM_NONE)
        return DM_COVER_NOT_TESTED; /* a tendon that was not surveyed */
    return w->delivery->results[o->tendon].indications->cover[o->item].cover;
}

static const element *element_of(const dm_ifc *w, const dm_object *o)
{
    switch (o->kind) {
    case DM_OBJECT_TENDON:
        return &tendon_element;
    case DM_OBJECT_DUCT:
        return &duct_element;
    case DM_OBJECT_INDICATION:
        return &indication_elements[indication_of(w, o)->kind];
    case DM_OBJECT_ANCHORAGE:
        return &anchorage_elements
            [tendon_of(w, o)->supports[o->item].anchorage_kind];
    case DM_OBJECT_DEVIATOR:
        return &deviator_element;
    case DM_OBJECT_FIXTURE:
        return &fixture_elements[tendon_of(w, o)->fixtures[o->item].kind];
    case DM_OBJECT_TAP:
        return &tap_elements[tap_of(w, o)->advice];
    case DM_OBJECT_OPENING:
        return &opening_element;
    default:
        return NULL; /* centreline: the tendon's axis */
    }
}

/* The id people know it by. */
static const char *tag_of(const dm_object *o)
{
    const dm_property *id = dm_ifc_property(o, "Id");

    if (id == NULL)
        id = dm_ifc_property(o, "Key");
    return id == NULL ? NULL : id->text;
}

static const char *description_of(const dm_ifc *w, const dm_object *o)
{
    const dm_property *reason = dm_ifc_property(o, "Reason");

    if (o->kind == DM_OBJECT_TAP)
        return "Indications are estimates. Measure from both faces before "
               "opening; strands may touch the wall.";
    if (o->kind == DM_OBJECT_TENDON)
        return tendon_of(w, o)->where;
    if (o->kind == DM_OBJECT_INDICATION)
        return "An unconfirmed reading is an indication: see State.";
    return reason == NULL ? NULL : reason->text; /* why it was not tested */
}

/* ---- shapes ----------------------------------------------------------- */

static size_t end_of(const dm_ifc *w, size_t tendon)
{
    size_t i = tendon + 1;

    while (i < w->scene->object_count && w->scene->objects[i].parent == tendon)
        i++;
    return i;
}

/* A sign for the steel that stays inside the duct: its bundle; half the bore
 * where the strands are not stated. */
static double bundle_radius(const dm_ifc *w, const dm_tendon *t)
{
    dm_section s = dm_tendon_section(w->delivery->model, t, 0.0);

    if (isnan(s.bundle_radius))
        return 0.5 * s.bore_radius;
    return fmin(s.bundle_radius, 0.9 * s.bore_radius);
}

static dm_step_id tendon_shape(dm_ifc *w, size_t object)
{
    static const uint8_t steel[4] = {128, 128, 128, 255};
    const dm_scene *s = w->scene;
    size_t i, end = end_of(w, object);

    for (i = object + 1; i < end; i++)
        if (s->objects[i].kind == DM_OBJECT_CENTRELINE &&
            s->objects[i].curve != DM_NONE)
            return dm_ifc_shape_sweep(
                w, &s->curves[s->objects[i].curve],
                bundle_radius(w, tendon_of(w, &s->objects[object])), 0.0, steel,
                "strands");
    return 0;
}

static dm_step_id duct_shape(dm_ifc *w, const dm_object *o)
{
    const dm_property *wall = dm_ifc_property(o, "Wall");
    uint8_t colour[4];

    if (o->curve == DM_NONE)
        return 0;
    memcpy(colour, o->colour, 4);
    if (dm_ifc_cover(w, o) != DM_COVER_TESTED)
        colour[3] = GHOST_ALPHA;
    return dm_ifc_shape_sweep(w, &w->scene->curves[o->curve], o->radius,
                              wall == NULL ? 0.0 : o->radius - wall->number,
                              colour, o->colour_name);
}

static dm_step_id mesh_shape(dm_ifc *w, const dm_object *o)
{
    if (o->mesh == DM_NONE)
        return 0;
    return dm_ifc_shape_mesh(w, &w->scene->meshes[o->mesh], o->colour,
                             o->colour_name);
}

/* ---- products --------------------------------------------------------- */

static void put_unset(dm_ifc *w, int count)
{
    while (count-- > 0)
        dm_step_unset(&w->step);
}

static dm_step_id put_product(dm_ifc *w, const element *e, const dm_object *o,
                              const char *guid, dm_step_id placement,
                              dm_step_id shape)
{
    dm_step *s = &w->step;
    dm_step_id id =
        dm_ifc_root(w, e->entity, guid, o->name, description_of(w, o));

    dm_step_text(s, e->type != NULL ? e->type
                    : o->kind == DM_OBJECT_DUCT
                        ? o->colour_name
                        : NULL); /* a conduit's coverage state */
    dm_step_ref(s, placement);
    dm_step_ref(s, shape);
    dm_step_text(s, tag_of(o));
    put_unset(w, e->before);
    dm_step_enum(s, e->predefined);
    put_unset(w, e->after);
    dm_step_end(s);
    return id;
}

/* What adheres to a length that was not simply tested. */
static void put_cover(dm_ifc *w, size_t object)
{
    const dm_object *o = &w->scene->objects[object];
    const dm_cover cover = dm_ifc_cover(w, o);
    dm_step_id shape, placement;
    char guid[23];

    if (cover == DM_COVER_TESTED)
        return;
    shape = mesh_shape(w, o);
    w->sign[object] = shape == 0 ? 0 : w->representation;
    placement = dm_ifc_placement(w, w->placement[object]);
    dm_ifc_guid(w, "cover", o->uid, guid);
    w->feature[object] =
        put_product(w, &cover_elements[cover], o, guid, placement, shape);
}

static void put_object(dm_ifc *w, size_t object)
{
    const dm_object *o = &w->scene->objects[object];
    const element *e = element_of(w, o);
    dm_step_id shape;

    if (e == NULL)
        return;
    shape = o->kind == DM_OBJECT_TENDON ? tendon_shape(w, object)
            : o->kind == DM_OBJECT_DUCT ? duct_shape(w, o)
                                        : mesh_shape(w, o);
    if (o->kind == DM_OBJECT_DUCT && shape != 0)
        w->body[object] = w->representation;
    w->placement[object] = dm_ifc_placement(w, w->placement[o->parent]);
    w->product[object] =
        put_product(w, e, o, w->guid[object], w->placement[object], shape);
    if (o->kind == DM_OBJECT_DUCT)
        put_cover(w, object);
    dm_ifc_properties(w, object, w->product[object], w->feature[object]);
}

/* ---- adherence -------------------------------------------------------- */

static bool is_feature(const dm_object *o)
{
    return o->kind == DM_OBJECT_INDICATION || o->kind == DM_OBJECT_TAP ||
           o->kind == DM_OBJECT_OPENING;
}

/* Length of a duct that an indication covers; for a tap or an opening, how
 * near it is. */
static double claim(const dm_ifc *w, const dm_object *duct,
                    const dm_object *feature)
{
    const dm_property *a = dm_ifc_property(duct, "From");
    const dm_property *b = dm_ifc_property(duct, "To");
    double from, to;

    if (a == NULL || b == NULL)
        return -HUGE_VAL;
    if (feature->kind == DM_OBJECT_TAP) {
        from = to = tap_of(w, feature)->t;
    } else if (feature->kind == DM_OBJECT_OPENING) {
        from = to = w->delivery->results[feature->tendon]
                        .indications->openings[feature->item]
                        .what.t;
    } else {
        from = indication_of(w, feature)->from.t;
        to = indication_of(w, feature)->to.t;
    }
    return fmin(to, b->number) - fmax(from, a->number);
}

/* The conduit that a feature lies on: the first of the greatest claim. */
static size_t host_of(const dm_ifc *w, size_t tendon, size_t end,
                      const dm_object *feature)
{
    double best = -HUGE_VAL, c;
    size_t i, host = tendon;

    for (i = tendon + 1; i < end; i++) {
        if (w->scene->objects[i].kind != DM_OBJECT_DUCT)
            continue;
        c = claim(w, &w->scene->objects[i], feature);
        if (c > best) {
            best = c;
            host = i;
        }
    }
    return host;
}

static void put_adherence(dm_ifc *w, size_t tendon, size_t end, size_t host)
{
    const dm_object *objects = w->scene->objects;
    bool begun = false;
    size_t i;

    for (i = tendon + 1; i < end; i++) {
        bool own = i == host && w->feature[i] != 0;

        if (!own && !(is_feature(&objects[i]) && w->host[i] == host))
            continue;
        if (!begun) {
            dm_ifc_relation(w, "IFCRELADHERESTOELEMENT", "adheres",
                            objects[host].uid);
            dm_step_ref(&w->step, w->product[host]);
            dm_step_open(&w->step);
            begun = true;
        }
        dm_step_ref(&w->step, own ? w->feature[i] : w->product[i]);
    }
    if (begun) {
        dm_step_close(&w->step);
        dm_step_end(&w->step);
    }
}

/* ---- the tendon ------------------------------------------------------- */

static void put_system(dm_ifc *w, size_t tendon, size_t end)
{
    const dm_object *o = &w->scene->objects[tendon];
    dm_step *s = &w->step;
    dm_step_id system;
    char guid[23];
    size_t i;

    dm_ifc_guid(w, "system", o->uid, guid);
    system = dm_ifc_root(w, "IFCBUILTSYSTEM", guid, o->name, NULL);
    dm_step_unset(s);
    dm_step_enum(s, "PRESTRESSING");
    dm_step_unset(s);
    dm_step_end(s);
    dm_ifc_relation(w, "IFCRELASSIGNSTOGROUP", "members", o->uid);
    dm_step_open(s);
    for (i = tendon; i < end; i++)
        if (w->product[i] != 0 && !is_feature(&w->scene->objects[i]))
            dm_step_ref(s, w->product[i]);
    dm_step_close(s);
    dm_step_unset(s);
    dm_step_ref(s, system);
    dm_step_end(s);
    w->feature[tendon] = system; /* gathered by the bridge's system */
}

size_t dm_ifc_tendon(dm_ifc *w, size_t object)
{
    size_t i, end = end_of(w, object);

    for (i = object; i < end; i++) {
        put_object(w, i);
        if (is_feature(&w->scene->objects[i]))
            w->host[i] = host_of(w, object, end, &w->scene->objects[i]);
    }
    for (i = object + 1; i < end; i++)
        if (w->scene->objects[i].kind == DM_OBJECT_DUCT)
            put_adherence(w, object, end, i);
    put_system(w, object, end);
    return end;
}
