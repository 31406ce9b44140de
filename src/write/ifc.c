/* SPDX-License-Identifier: MIT
 * IFC 4.3 (ISO 16739-1:2024, schema IFC4X3_ADD2): project > site > bridge >
 * bridge parts, their tendons, relationships at the end. One pass over the
 * scene, streamed; memory holds a few numbers an object. Coordinates stay
 * local: the scene's origin goes into the map conversion, or, where the
 * bridge file names no coordinate reference system, into the site's
 * placement. GlobalIds: RFC 4122 v5 names below the bridge's uid; the only
 * date is the job's. */
#include "write/ifc.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "ductmark/ductmark.h"

#define FILE_NAME "model.ifc"

void dm_ifc_guid(const dm_ifc *w, const char *role, const char *name,
                 char out[23])
{
    char path[256];

    snprintf(path, sizeof path, "ifc/%s/%s", role, name);
    dm_uuid_ifc(dm_uuid_name(w->space, path), out);
}

dm_step_id dm_ifc_root(dm_ifc *w, const char *entity, const char *guid,
                       const char *name, const char *description)
{
    dm_step_id id = dm_step_begin(&w->step, entity);

    dm_step_text(&w->step, guid);
    dm_step_unset(&w->step);
    dm_step_text(&w->step, name);
    dm_step_text(&w->step, description);
    return id;
}

void dm_ifc_relation(dm_ifc *w, const char *entity, const char *role,
                     const char *name)
{
    char guid[23];

    dm_ifc_guid(w, role, name, guid);
    dm_ifc_root(w, entity, guid, NULL, NULL);
}

/* ---- units, contexts, map --------------------------------------------- */

static dm_step_id put_point(dm_ifc *w, double x, double y, double z)
{
    dm_step *s = &w->step;
    dm_step_id id = dm_step_begin(s, "IFCCARTESIANPOINT");

    dm_step_open(s);
    dm_step_real(s, x);
    dm_step_real(s, y);
    dm_step_real(s, z);
    dm_step_close(s);
    dm_step_end(s);
    return id;
}

static dm_step_id put_axes(dm_ifc *w, dm_step_id point)
{
    dm_step_id id = dm_step_begin(&w->step, "IFCAXIS2PLACEMENT3D");

    dm_step_ref(&w->step, point);
    dm_step_unset(&w->step);
    dm_step_unset(&w->step);
    dm_step_end(&w->step);
    return id;
}

static dm_step_id put_local(dm_ifc *w, dm_step_id relative_to, dm_step_id axes)
{
    dm_step_id id = dm_step_begin(&w->step, "IFCLOCALPLACEMENT");

    dm_step_ref(&w->step, relative_to);
    dm_step_ref(&w->step, axes);
    dm_step_end(&w->step);
    return id;
}

dm_step_id dm_ifc_placement(dm_ifc *w, dm_step_id relative_to)
{
    return put_local(w, relative_to, w->zero);
}

dm_step_id dm_ifc_placement_at(dm_ifc *w, dm_step_id relative_to, dm_vec3 p)
{
    return put_local(w, relative_to, put_axes(w, put_point(w, p.x, p.y, p.z)));
}

static dm_step_id put_si(dm_ifc *w, const char *type, const char *name)
{
    dm_step_id id = dm_step_begin(&w->step, "IFCSIUNIT");

    dm_step_derived(&w->step);
    dm_step_enum(&w->step, type);
    dm_step_unset(&w->step);
    dm_step_enum(&w->step, name);
    dm_step_end(&w->step);
    return id;
}

static dm_step_id put_degree(dm_ifc *w, dm_step_id radian)
{
    dm_step *s = &w->step;
    dm_step_id none, measure, id;
    int i;

    none = dm_step_begin(s, "IFCDIMENSIONALEXPONENTS");
    for (i = 0; i < 7; i++)
        dm_step_int(s, 0);
    dm_step_end(s);
    measure = dm_step_begin(s, "IFCMEASUREWITHUNIT");
    dm_step_typed(s, "IFCPLANEANGLEMEASURE");
    dm_step_real(s, 0.017453292519943295);
    dm_step_close(s);
    dm_step_ref(s, radian);
    dm_step_end(s);
    id = dm_step_begin(s, "IFCCONVERSIONBASEDUNIT");
    dm_step_ref(s, none);
    dm_step_enum(s, "PLANEANGLEUNIT");
    dm_step_text(s, "DEGREE");
    dm_step_ref(s, measure);
    dm_step_end(s);
    return id;
}

/* Returns the unit assignment; *metre for the map. */
static dm_step_id put_units(dm_ifc *w, dm_step_id *metre)
{
    dm_step *s = &w->step;
    dm_step_id unit[5], id;
    int i;

    unit[0] = *metre = put_si(w, "LENGTHUNIT", "METRE");
    unit[1] = put_si(w, "AREAUNIT", "SQUARE_METRE");
    unit[2] = put_si(w, "VOLUMEUNIT", "CUBIC_METRE");
    unit[3] = put_si(w, "PLANEANGLEUNIT", "RADIAN");
    unit[4] = put_si(w, "PRESSUREUNIT", "PASCAL");
    w->degree = put_degree(w, unit[3]);
    id = dm_step_begin(s, "IFCUNITASSIGNMENT");
    dm_step_open(s);
    for (i = 0; i < 5; i++)
        dm_step_ref(s, unit[i]);
    dm_step_close(s);
    dm_step_end(s);
    return id;
}

static dm_step_id put_subcontext(dm_ifc *w, const char *name, const char *view)
{
    dm_step *s = &w->step;
    dm_step_id id = dm_step_begin(s, "IFCGEOMETRICREPRESENTATIONSUBCONTEXT");
    int i;

    dm_step_text(s, name);
    dm_step_text(s, "Model");
    for (i = 0; i < 4; i++)
        dm_step_derived(s);
    dm_step_ref(s, w->model_context);
    dm_step_unset(s);
    dm_step_enum(s, view);
    dm_step_unset(s);
    dm_step_end(s);
    return id;
}

static void put_contexts(dm_ifc *w)
{
    dm_step *s = &w->step;

    w->zero = put_axes(w, put_point(w, 0.0, 0.0, 0.0));
    w->model_context = dm_step_begin(s, "IFCGEOMETRICREPRESENTATIONCONTEXT");
    dm_step_unset(s);
    dm_step_text(s, "Model");
    dm_step_int(s, 3);
    dm_step_real(s, 1e-6);
    dm_step_ref(s, w->zero);
    dm_step_unset(s);
    dm_step_end(s);
    w->body_context = put_subcontext(w, "Body", "MODEL_VIEW");
    w->axis_context = put_subcontext(w, "Axis", "GRAPH_VIEW");
}

static const char *epsg_text(int code, char text[24])
{
    if (code <= 0)
        return NULL;
    snprintf(text, 24, "EPSG:%d", code);
    return text;
}

bool dm_ifc_has_map(const dm_model *m)
{
    return m->epsg > 0 || m->map.given;
}

/* The model's coordinates x, y, z are the world's less the scene's origin.
 * IFC's formula is dm_map_point's; so the origin, converted, takes the place
 * of the bridge file's own three. A grid factor is a factor of its own in plan
 * (IfcMapConversionScaled). */
static void put_map(dm_ifc *w, dm_step_id metre)
{
    const dm_model *m = w->delivery->model;
    const dm_vec3 p = w->scene->origin;
    const dm_map_conversion *c = &m->map;
    const dm_vec3 map = dm_map_point(c, p);
    bool scaled = c->given && dm_map_grid_factor(c) != 1.0;
    dm_step *s = &w->step;
    char plan[24], height[24];
    dm_step_id crs;

    crs = dm_step_begin(s, "IFCPROJECTEDCRS");
    dm_step_text(s, epsg_text(m->epsg, plan));
    dm_step_text(s, m->epsg > 0 ? NULL : "not stated in the bridge file");
    dm_step_unset(s);
    dm_step_text(s, epsg_text(m->vertical_epsg, height));
    dm_step_unset(s);
    dm_step_unset(s);
    dm_step_ref(s, metre);
    dm_step_end(s);
    dm_step_begin(s, scaled ? "IFCMAPCONVERSIONSCALED" : "IFCMAPCONVERSION");
    dm_step_ref(s, w->model_context);
    dm_step_ref(s, crs);
    dm_step_real(s, map.x);
    dm_step_real(s, map.y);
    dm_step_real(s, map.z);
    dm_step_real(s, c->given ? c->x_axis_abscissa : 1.0);
    dm_step_real(s, c->given ? c->x_axis_ordinate : 0.0);
    dm_step_real(s, c->given ? c->scale : 1.0);
    if (scaled) {
        dm_step_real(s, c->grid_factor);
        dm_step_real(s, c->grid_factor);
        dm_step_real(s, 1.0);
    }
    dm_step_end(s);
}

/* ---- the file --------------------------------------------------------- */

static dm_status put_all(dm_ifc *w)
{
    const dm_scene *s = w->scene;
    dm_step_id metre, units;
    dm_status status;
    size_t i;

    units = put_units(w, &metre);
    put_contexts(w);
    if (dm_ifc_has_map(w->delivery->model))
        put_map(w, metre);
    dm_ifc_spatial(w, units);
    for (i = 1; i < s->object_count && !w->failed;) {
        if (s->objects[i].kind == DM_OBJECT_TENDON) {
            i = dm_ifc_tendon(w, i);
            continue;
        }
        if (s->objects[i].kind == DM_OBJECT_PART)
            dm_ifc_part(w, i);
        if (s->objects[i].kind == DM_OBJECT_ALIGNMENT)
            dm_ifc_alignment(w, i);
        i++;
    }
    status = dm_ifc_relations(w);
    return w->failed ? DM_NOMEM : status;
}

static dm_status prepare(dm_ifc *w, const dm_delivery *delivery)
{
    size_t n = delivery->scene->object_count;

    w->delivery = delivery;
    w->scene = delivery->scene;
    w->arena = dm_arena_new();
    if (w->arena == NULL)
        return DM_NOMEM;
    if (!dm_uuid_parse(delivery->model->uid, &w->space))
        return DM_SYNTAX;
    w->guid = dm_arena_alloc(w->arena, n, sizeof *w->guid);
    w->product = DM_NEW_ARRAY(w->arena, dm_step_id, n);
    w->feature = DM_NEW_ARRAY(w->arena, dm_step_id, n);
    w->placement = DM_NEW_ARRAY(w->arena, dm_step_id, n);
    w->host = DM_NEW_ARRAY(w->arena, size_t, n);
    w->body = DM_NEW_ARRAY(w->arena, dm_step_id, n);
    w->sign = DM_NEW_ARRAY(w->arena, dm_step_id, n);
    if (w->guid == NULL || w->product == NULL || w->feature == NULL ||
        w->placement == NULL || w->host == NULL || w->body == NULL ||
        w->sign == NULL)
        return DM_NOMEM;
    return dm_ifc_identify(w);
}

static dm_status write_file(dm_ifc *w, dm_outset *set, dm_diag *diag)
{
    const dm_job *job = w->delivery->job;
    dm_place place = {FILE_NAME, 0};
    char time[32], tool[64];
    dm_status status;
    dm_out *out;

    status = dm_outset_open(set, FILE_NAME, &out);
    if (status != DM_OK)
        return status;
    dm_step_init(&w->step, out);
    snprintf(time, sizeof time, "%.10sT00:00:00",
             job == NULL || job->date == NULL ? "1970-01-01" : job->date);
    snprintf(tool, sizeof tool, "ductmark %s", dm_version());
    dm_step_header(&w->step, "ViewDefinition [NotAssigned]", FILE_NAME, time,
                   tool, "IFC4X3_ADD2");
    status = put_all(w);
    dm_step_footer(&w->step);
    if (status != DM_OK)
        return dm_error(diag, status, place, NULL, "out of memory");
    return DM_OK;
}

static void work_free(dm_ifc *w)
{
    free(w->styles);
    free(w->label);
    free(w->point);
    free(w->table);
    dm_arena_free(w->arena);
}

dm_status dm_write_ifc(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag)
{
    dm_place place = {FILE_NAME, 0};
    dm_place model = {delivery->model->file, 0};
    dm_ifc w = {0};
    dm_status status = prepare(&w, delivery);

    if (status == DM_SYNTAX)
        dm_error(diag, status, model, NULL,
                 "a uid in it, or made from it, is no UUID");
    else if (status != DM_OK)
        dm_error(diag, status, place, NULL, "out of memory");
    else
        status = write_file(&w, out, diag);
    if (status == DM_OK && !dm_ifc_has_map(delivery->model))
        dm_note(diag, model, NULL,
                "names no coordinate reference system (crs, map-conversion): "
                "nor does %s, whose site stands at the bridge file's "
                "coordinates",
                FILE_NAME);
    work_free(&w);
    return status;
}
