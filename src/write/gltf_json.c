/* SPDX-License-Identifier: MIT
 * The JSON of a glTF file: asset, scene with origin, legend and inputs, nodes
 * with their properties as extras, meshes, materials, accessors, views. Node 0
 * turns Z-up into Y-up; node i + 1 is the scene's object i. */
#include <string.h>

#include "ductmark/ductmark.h"
#include "write/gltf.h"

enum { ARRAY_BUFFER = 34962, ELEMENT_ARRAY_BUFFER = 34963 };
enum {
    UNSIGNED_BYTE = 5121,
    UNSIGNED_SHORT = 5123,
    UNSIGNED_INT = 5125,
    FLOAT = 5126
};

/* Keys are words of ours: nothing to escape. */
static void put_key(dm_buf *j, bool *first, const char *key)
{
    dm_buf_puts(j, *first ? "\"" : ",\"");
    *first = false;
    dm_buf_puts(j, key);
    dm_buf_puts(j, "\":");
}

/* A number below 2^53 after what stands before it; there are very many. */
static void put_count(dm_buf *j, const char *before, uint64_t value)
{
    dm_buf_puts(j, before);
    dm_buf_fixed(j, (double)value, 0);
}

static void put_string(dm_buf *j, const char *text)
{
    dm_buf_putc(j, '"');
    dm_buf_json(j, text);
    dm_buf_putc(j, '"');
}

static void put_text(dm_buf *j, bool *first, const char *key, const char *text)
{
    if (text == NULL || text[0] == '\0')
        return;
    put_key(j, first, key);
    put_string(j, text);
}

static void put_value(dm_buf *j, const dm_property *p)
{
    switch (p->kind) {
    case DM_VALUE_TEXT:
    case DM_VALUE_DATE:
    case DM_VALUE_PROSE:
    case DM_VALUE_FILE:
        put_string(j, p->text);
        return;
    case DM_VALUE_BOOL:
        dm_buf_puts(j, p->number != 0.0 ? "true" : "false");
        return;
    case DM_VALUE_INT:
        dm_buf_fixed(j, p->number, 0);
        return;
    case DM_VALUE_LENGTH: /* to 1 um */
        dm_buf_fixed(j, p->number, 6);
        return;
    case DM_VALUE_ANGLE:
        dm_buf_fixed(j, p->number, 4);
        return;
    case DM_VALUE_REAL:
    case DM_VALUE_VOLUME:
    case DM_VALUE_PRESSURE:
        dm_buf_num(j, p->number);
        return;
    }
}

static void put_external(dm_buf *j, bool *first, const dm_external_ids *ids)
{
    size_t i;

    if (ids->count == 0)
        return;
    put_key(j, first, "ExternalIds");
    for (i = 0; i < ids->count; i++) {
        dm_buf_puts(j, i == 0 ? "[{\"scheme\":" : ",{\"scheme\":");
        put_string(j, ids->items[i].scheme);
        dm_buf_puts(j, ",\"value\":");
        put_string(j, ids->items[i].value);
        dm_buf_putc(j, '}');
    }
    dm_buf_putc(j, ']');
}

static void put_extras(dm_buf *j, const dm_object *o)
{
    bool first = true;
    size_t i;

    dm_buf_puts(j, ",\"extras\":{");
    put_text(j, &first, "Object", dm_object_kind_text(o->kind));
    put_text(j, &first, "Uid", o->uid);
    put_text(j, &first, "PropertySet", o->set);
    put_text(j, &first, "ColourMeans", o->colour_name);
    for (i = 0; i < o->property_count; i++) {
        put_key(j, &first, o->properties[i].name);
        put_value(j, &o->properties[i]);
    }
    put_external(j, &first, &o->external);
    dm_buf_putc(j, '}');
}

/* Node 0 turns Z-up into Y-up: -90 deg about X. Object i is node i + 1; its
 * mesh has the number of mesh objects before it. */
static void put_nodes(dm_gltf *w)
{
    dm_buf *j = &w->json;
    size_t i, child, meshes = 0;

    dm_buf_puts(j, ",\"nodes\":[{\"name\":\"Z up to Y up\",\"rotation\":"
                   "[-0.7071067811865476,0,0,0.7071067811865476],"
                   "\"children\":[1]}");
    for (i = 0; i < w->scene->object_count; i++) {
        const dm_object *o = &w->scene->objects[i];

        dm_buf_puts(j, ",{\"name\":");
        put_string(j, o->name);
        if (w->material_of[i] != DM_NONE)
            put_count(j, ",\"mesh\":", meshes++);
        for (child = w->first_child[i]; child != DM_NONE;
             child = w->next_sibling[child])
            put_count(j, child == w->first_child[i] ? ",\"children\":[" : ",",
                      child + 1);
        if (w->first_child[i] != DM_NONE)
            dm_buf_putc(j, ']');
        put_extras(j, o);
        dm_buf_putc(j, '}');
    }
    dm_buf_putc(j, ']');
}

static void put_meshes(dm_gltf *w)
{
    dm_buf *j = &w->json;
    bool any = false;
    size_t i, at;

    for (i = 0; i < w->scene->object_count; i++) {
        const dm_object *o = &w->scene->objects[i];
        const dm_gltf_mesh *u;

        if (w->material_of[i] == DM_NONE)
            continue;
        u = &w->used[w->slot[dm_gltf_mesh_of(w, o)]];
        at = u->accessor;
        dm_buf_puts(j, any ? ",{\"name\":" : ",\"meshes\":[{\"name\":");
        any = true;
        put_string(j, o->name);
        put_count(j, ",\"primitives\":[{\"attributes\":{\"POSITION\":", at++);
        if (u->mesh->normal != NULL)
            put_count(j, ",\"NORMAL\":", at++);
        if (u->mesh->colour != NULL)
            put_count(j, ",\"COLOR_0\":", at++);
        put_count(j, "},\"indices\":", at);
        put_count(j, ",\"material\":", w->material_of[i]);
        dm_buf_puts(j,
                    u->mesh->mode == DM_MESH_LINES ? ",\"mode\":1}]}" : "}]}");
    }
    if (any)
        dm_buf_putc(j, ']');
}

static void put_materials(dm_gltf *w)
{
    dm_buf *j = &w->json;
    bool unlit = false;
    size_t i;
    int k;

    for (i = 0; i < w->material_count; i++) {
        const dm_gltf_material *m = &w->materials[i];

        dm_buf_puts(j, i == 0 ? ",\"materials\":[{\"name\":" : ",{\"name\":");
        put_string(j, m->meaning);
        dm_buf_puts(j, ",\"pbrMetallicRoughness\":{");
        if (!m->painted) {
            dm_buf_puts(j, "\"baseColorFactor\":[");
            for (k = 0; k < 4; k++) {
                dm_buf_fixed(j,
                             k < 3 ? dm_gltf_linear(m->colour[k])
                                   : m->colour[3] / 255.0,
                             6);
                dm_buf_putc(j, k < 3 ? ',' : ']');
            }
            dm_buf_putc(j, ',');
        }
        dm_buf_puts(j, "\"metallicFactor\":0,\"roughnessFactor\":0.8}");
        if (!m->painted && m->colour[3] < 255)
            dm_buf_puts(j, ",\"alphaMode\":\"BLEND\"");
        if (m->painted) /* an open tube: its inside may show */
            dm_buf_puts(j, ",\"doubleSided\":true");
        if (m->lines)
            dm_buf_puts(j, ",\"extensions\":{\"KHR_materials_unlit\":{}}");
        unlit = unlit || m->lines;
        dm_buf_putc(j, '}');
    }
    if (w->material_count > 0)
        dm_buf_putc(j, ']');
    if (unlit)
        dm_buf_puts(j, ",\"extensionsUsed\":[\"KHR_materials_unlit\"]");
}

/* Numbers of the views that are not empty, in order. */
static void number_views(const dm_gltf *w, size_t number[VIEW_COUNT])
{
    size_t i, n = 0;

    for (i = 0; i < VIEW_COUNT; i++)
        number[i] = w->view_length[i] > 0 ? n++ : 0;
}

static void put_bounds(dm_buf *j, const char *key, const float bound[3])
{
    int k;

    dm_buf_puts(j, key);
    for (k = 0; k < 3; k++) {
        dm_buf_num(j, (double)bound[k]);
        dm_buf_putc(j, k < 2 ? ',' : ']');
    }
}

static void put_accessor(dm_buf *j, bool *first, size_t view, uint64_t offset,
                         int type, size_t count, const char *shape)
{
    dm_buf_puts(j, *first ? ",\"accessors\":[{" : ",{");
    *first = false;
    put_count(j, "\"bufferView\":", view);
    if (offset > 0)
        put_count(j, ",\"byteOffset\":", offset);
    put_count(j, ",\"componentType\":", (uint64_t)type);
    put_count(j, ",\"count\":", count);
    dm_buf_puts(j, ",\"type\":");
    dm_buf_puts(j, shape);
}

static void put_accessors(dm_gltf *w)
{
    uint64_t at[VIEW_COUNT] = {0};
    size_t view[VIEW_COUNT], i;
    dm_buf *j = &w->json;
    bool first = true;

    number_views(w, view);
    for (i = 0; i < w->used_count; i++) {
        const dm_mesh *m = w->used[i].mesh;
        const size_t n = m->vertex_count;
        const dm_gltf_view kind = dm_gltf_is_short(m) ? VIEW_SHORT : VIEW_INT;

        put_accessor(j, &first, view[VIEW_POSITION], at[VIEW_POSITION], FLOAT,
                     n, "\"VEC3\"");
        put_bounds(j, ",\"min\":[", m->low);
        put_bounds(j, ",\"max\":[", m->high);
        dm_buf_putc(j, '}');
        at[VIEW_POSITION] += 12 * (uint64_t)n;
        if (m->normal != NULL) {
            put_accessor(j, &first, view[VIEW_NORMAL], at[VIEW_NORMAL], FLOAT,
                         n, "\"VEC3\"");
            dm_buf_putc(j, '}');
            at[VIEW_NORMAL] += 12 * (uint64_t)n;
        }
        if (m->colour != NULL) {
            put_accessor(j, &first, view[VIEW_COLOUR], at[VIEW_COLOUR],
                         UNSIGNED_BYTE, n, "\"VEC4\"");
            dm_buf_puts(j, ",\"normalized\":true}");
            at[VIEW_COLOUR] += 4 * (uint64_t)n;
        }
        put_accessor(j, &first, view[kind], at[kind],
                     kind == VIEW_SHORT ? UNSIGNED_SHORT : UNSIGNED_INT,
                     m->index_count, "\"SCALAR\"");
        dm_buf_putc(j, '}');
        at[kind] += (kind == VIEW_SHORT ? 2 : 4) * (uint64_t)m->index_count;
    }
    if (!first)
        dm_buf_putc(j, ']');
}

/* Length of the BIN chunk's data; adds the views and the buffer. */
static uint64_t put_views(dm_gltf *w)
{
    static const int stride[VIEW_COUNT] = {12, 12, 4, 0, 0};
    uint64_t offset = 0;
    dm_buf *j = &w->json;
    size_t i;

    for (i = 0; i < VIEW_COUNT; i++) {
        if (w->view_length[i] == 0)
            continue;
        dm_buf_puts(j, offset == 0 ? ",\"bufferViews\":[{" : ",{");
        dm_buf_printf(j, "\"buffer\":0,\"byteOffset\":%llu,\"byteLength\":%llu",
                      (unsigned long long)offset,
                      (unsigned long long)w->view_length[i]);
        if (stride[i] > 0)
            dm_buf_printf(j, ",\"byteStride\":%d", stride[i]);
        dm_buf_printf(j, ",\"target\":%d}",
                      stride[i] > 0 ? ARRAY_BUFFER : ELEMENT_ARRAY_BUFFER);
        offset += dm_gltf_padded(w->view_length[i]);
    }
    if (offset > 0)
        dm_buf_printf(j, "],\"buffers\":[{\"byteLength\":%llu}]",
                      (unsigned long long)offset);
    return offset;
}

static void put_legend(dm_buf *j, bool *first, const char *key,
                       const dm_legend_entry *entries, size_t count)
{
    size_t i;

    put_key(j, first, key);
    for (i = 0; i < count; i++) {
        dm_buf_puts(j, i == 0 ? "[{\"meaning\":" : ",{\"meaning\":");
        put_string(j, entries[i].meaning);
        dm_buf_printf(j, ",\"colour\":\"#%02x%02x%02x\"}", entries[i].colour[0],
                      entries[i].colour[1], entries[i].colour[2]);
    }
    dm_buf_puts(j, count == 0 ? "[]" : "]");
}

static void put_inputs(dm_gltf *w, bool *first)
{
    dm_buf *j = &w->json;
    size_t i;

    put_key(j, first, "inputs");
    for (i = 0; i < w->input_count; i++) {
        dm_buf_puts(j, i == 0 ? "[{\"role\":" : ",{\"role\":");
        put_string(j, w->inputs[i].role);
        dm_buf_puts(j, ",\"file\":");
        put_string(j, w->inputs[i].file);
        dm_buf_puts(j, ",\"sha256\":");
        put_string(j, w->inputs[i].sha256);
        dm_buf_putc(j, '}');
    }
    dm_buf_puts(j, w->input_count == 0 ? "[]" : "]");
}

static void put_criteria(dm_gltf *w, bool *first)
{
    const dm_criteria *c = w->delivery->criteria;
    dm_buf *j = &w->json, text = {0};
    size_t i;

    if (c == NULL)
        return;
    put_key(j, first, "criteria");
    dm_buf_putc(j, '[');
    for (i = 0; i < c->rule_count; i++) {
        dm_buf_clear(&text);
        dm_rule_text(c, &c->rules[i], &text);
        j->failed = j->failed || text.failed;
        if (text.failed)
            break;
        dm_buf_puts(j, i == 0 ? "" : ",");
        put_string(j, text.data);
    }
    dm_buf_putc(j, ']');
    dm_buf_free(&text);
}

static void put_cautions(dm_buf *j, bool *first)
{
    const char *const *caution = dm_cautions();
    size_t i;

    put_key(j, first, "cautions");
    for (i = 0; caution[i] != NULL; i++) {
        dm_buf_putc(j, i == 0 ? '[' : ',');
        put_string(j, caution[i]);
    }
    dm_buf_putc(j, ']');
}

/* Without it the EPSG codes would be taken for those of the world axes. */
static void put_map(dm_buf *j, const dm_map_conversion *map)
{
    const struct {
        const char *key;
        double value;
    } numbers[] = {{"eastings", map->eastings},
                   {"northings", map->northings},
                   {"height", map->height},
                   {"xAxisAbscissa", map->x_axis_abscissa},
                   {"xAxisOrdinate", map->x_axis_ordinate},
                   {"scale", map->scale},
                   {"gridFactor", dm_map_grid_factor(map)}};
    bool first = true;
    size_t i;

    if (!map->given)
        return;
    dm_buf_puts(j, ",\"mapConversion\":{");
    for (i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        put_key(j, &first, numbers[i].key);
        dm_buf_num(j, numbers[i].value);
    }
    dm_buf_putc(j, '}');
}

static void put_scene(dm_gltf *w)
{
    static const char *const axis[3] = {"x", "y", "z"};
    const dm_scene *s = w->scene;
    const dm_model *m = w->delivery->model;
    const double origin[3] = {s->origin.x, s->origin.y, s->origin.z};
    dm_buf *j = &w->json;
    bool first = true;
    int k;

    dm_buf_puts(j, ",\"scene\":0,\"scenes\":[{\"name\":");
    put_string(j, w->heat ? "heat map of the index" : "model by grade");
    dm_buf_puts(j, ",\"nodes\":[0],\"extras\":{\"origin\":{");
    for (k = 0; k < 3; k++) {
        put_key(j, &first, axis[k]);
        dm_buf_num(j, origin[k]);
    }
    dm_buf_puts(j, "}");
    first = false;
    put_text(j, &first, "originMeaning",
             "world = origin + coordinates below the root node (x east, "
             "y north, z up)");
    if (m != NULL && m->epsg > 0)
        dm_buf_printf(j, ",\"epsg\":%d", m->epsg);
    if (m != NULL && m->vertical_epsg > 0)
        dm_buf_printf(j, ",\"verticalEpsg\":%d", m->vertical_epsg);
    if (m != NULL)
        put_map(j, &m->map);
    put_text(j, &first, "units", "lengths in m, angles in deg");
    if (w->heat)
        put_legend(j, &first, "heatLegend", s->heat_legend,
                   s->heat_legend_count);
    put_legend(j, &first, "legend", s->legend, s->legend_count);
    put_criteria(w, &first);
    put_inputs(w, &first);
    put_cautions(j, &first);
    dm_buf_puts(j, "}}]");
}

uint64_t dm_gltf_json(dm_gltf *w)
{
    uint64_t bin;

    dm_buf_puts(&w->json, "{\"asset\":{\"version\":\"2.0\","
                          "\"generator\":\"ductmark ");
    dm_buf_json(&w->json, dm_version());
    dm_buf_puts(&w->json, "\"}");
    put_scene(w);
    put_nodes(w);
    put_meshes(w);
    put_materials(w);
    put_accessors(w);
    bin = put_views(w);
    dm_buf_putc(&w->json, '}');
    return bin;
}
