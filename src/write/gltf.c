/* SPDX-License-Identifier: MIT
 * glTF 2.0 (Khronos, ISO/IEC 12113) in its binary container, written
 * directly. First pass: counts and offsets, the JSON; second pass: the
 * scene's arrays go out as they lie in memory, but for indices that fit 16
 * bits and colours, which glTF wants linear (IEC 61966-2-1). A root node
 * turns Z-up into Y-up; positions stay relative to the scene's origin, which
 * is recorded in double precision. Limits: 4 GiB a file; little-endian hosts.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/buf.h"
#include "base/diag.h"
#include "ductmark/ductmark.h"
#include "write/writers.h"

#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ != __ORDER_LITTLE_ENDIAN__
#error "arrays are written as they lie in memory: a little-endian host only"
#endif

#define CHUNK ((size_t)65536)
#define RESTART 65535 /* as a 16-bit index it would restart the primitive */

enum { ARRAY_BUFFER = 34962, ELEMENT_ARRAY_BUFFER = 34963 };
enum {
    UNSIGNED_BYTE = 5121,
    UNSIGNED_SHORT = 5123,
    UNSIGNED_INT = 5125,
    FLOAT = 5126
};

typedef enum {
    VIEW_POSITION,
    VIEW_NORMAL,
    VIEW_COLOUR,
    VIEW_SHORT, /* 16-bit indices */
    VIEW_INT,   /* 32-bit indices */
    VIEW_COUNT
} view_kind;

/* A mesh of the scene that this file holds. */
typedef struct {
    const dm_mesh *mesh;
    size_t accessor; /* position, then normal, colour, index as they exist */
} used_mesh;

typedef struct {
    const uint8_t *colour;
    const char *meaning;
    bool lines, painted; /* painted: by the vertices */
} material;

typedef struct {
    const dm_delivery *delivery;
    const dm_scene *scene;
    bool heat;
    size_t *slot; /* [mesh_count] position in `used`; DM_NONE: not used */
    used_mesh *used;
    size_t used_count;
    size_t accessor_count;
    material *materials;
    size_t material_count, material_capacity;
    size_t *material_of;                /* [object_count]; DM_NONE: no mesh */
    size_t *first_child, *next_sibling; /* [object_count] */
    uint64_t view_length[VIEW_COUNT];
    dm_buf json;
} work;

static size_t mesh_of(const work *w, const dm_object *o)
{
    return w->heat && o->heat != DM_NONE ? o->heat : o->mesh;
}

static bool is_short(const dm_mesh *mesh)
{
    return mesh->vertex_count <= RESTART;
}

static size_t accessors_of(const dm_mesh *mesh)
{
    return 2 + (size_t)(mesh->normal != NULL) + (size_t)(mesh->colour != NULL);
}

/* ---- first pass ------------------------------------------------------- */

static bool find_material(work *w, size_t object, const dm_mesh *mesh)
{
    const dm_object *o = &w->scene->objects[object];
    material m = {o->colour, o->colour_name, mesh->mode == DM_MESH_LINES,
                  mesh->colour != NULL};
    size_t i;

    if (m.painted)
        m.meaning = "index";
    for (i = 0; i < w->material_count; i++) {
        const material *k = &w->materials[i];

        if (k->lines == m.lines && k->painted == m.painted &&
            (m.painted || memcmp(k->colour, m.colour, 4) == 0) &&
            strcmp(k->meaning, m.meaning) == 0)
            break;
    }
    if (i == w->material_count) {
        if (!DM_GROW(w->materials, w->material_count, w->material_capacity))
            return false;
        w->materials[w->material_count++] = m;
    }
    w->material_of[object] = i;
    return true;
}

static void use_mesh(work *w, size_t index)
{
    const dm_mesh *mesh = &w->scene->meshes[index];

    if (w->slot[index] != DM_NONE)
        return;
    w->slot[index] = w->used_count;
    w->used[w->used_count].mesh = mesh;
    w->used[w->used_count].accessor = w->accessor_count;
    w->used_count++;
    w->accessor_count += accessors_of(mesh);
    w->view_length[VIEW_POSITION] += 12 * (uint64_t)mesh->vertex_count;
    if (mesh->normal != NULL)
        w->view_length[VIEW_NORMAL] += 12 * (uint64_t)mesh->vertex_count;
    if (mesh->colour != NULL)
        w->view_length[VIEW_COLOUR] += 4 * (uint64_t)mesh->vertex_count;
    if (is_short(mesh))
        w->view_length[VIEW_SHORT] += 2 * (uint64_t)mesh->index_count;
    else
        w->view_length[VIEW_INT] += 4 * (uint64_t)mesh->index_count;
}

static void work_free(work *w)
{
    free(w->slot);
    free(w->used);
    free(w->materials);
    free(w->material_of);
    free(w->first_child);
    free(w->next_sibling);
    dm_buf_free(&w->json);
}

static dm_status plan(work *w)
{
    const dm_scene *s = w->scene;
    size_t i, mesh;

    w->slot = calloc(s->mesh_count + 1, sizeof *w->slot);
    w->used = calloc(s->mesh_count + 1, sizeof *w->used);
    w->material_of = calloc(s->object_count, sizeof *w->material_of);
    w->first_child = calloc(s->object_count, sizeof *w->first_child);
    w->next_sibling = calloc(s->object_count, sizeof *w->next_sibling);
    if (w->slot == NULL || w->used == NULL || w->material_of == NULL ||
        w->first_child == NULL || w->next_sibling == NULL)
        return DM_NOMEM;
    for (i = 0; i < s->mesh_count; i++)
        w->slot[i] = DM_NONE;
    for (i = 0; i < s->object_count; i++) {
        w->material_of[i] = w->first_child[i] = w->next_sibling[i] = DM_NONE;
        mesh = mesh_of(w, &s->objects[i]);
        if (mesh == DM_NONE)
            continue;
        use_mesh(w, mesh);
        if (!find_material(w, i, &s->meshes[mesh]))
            return DM_NOMEM;
    }
    for (i = s->object_count;
         i-- > 1;) { /* so that children keep their order */
        size_t parent = s->objects[i].parent;

        w->next_sibling[i] = w->first_child[parent];
        w->first_child[parent] = i;
    }
    return DM_OK;
}

/* ---- JSON ------------------------------------------------------------- */

static void put_key(dm_buf *j, bool *first, const char *key)
{
    if (!*first)
        dm_buf_putc(j, ',');
    *first = false;
    dm_buf_putc(j, '"');
    dm_buf_json(j, key);
    dm_buf_puts(j, "\":");
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
static void put_nodes(work *w)
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
            dm_buf_printf(j, ",\"mesh\":%zu", meshes++);
        for (child = w->first_child[i]; child != DM_NONE;
             child = w->next_sibling[child])
            dm_buf_printf(j, "%s%zu",
                          child == w->first_child[i] ? ",\"children\":[" : ",",
                          child + 1);
        if (w->first_child[i] != DM_NONE)
            dm_buf_putc(j, ']');
        put_extras(j, o);
        dm_buf_putc(j, '}');
    }
    dm_buf_putc(j, ']');
}

static void put_meshes(work *w)
{
    dm_buf *j = &w->json;
    bool any = false;
    size_t i, at;

    for (i = 0; i < w->scene->object_count; i++) {
        const dm_object *o = &w->scene->objects[i];
        const used_mesh *u;

        if (w->material_of[i] == DM_NONE)
            continue;
        u = &w->used[w->slot[mesh_of(w, o)]];
        at = u->accessor;
        dm_buf_puts(j, any ? ",{\"name\":" : ",\"meshes\":[{\"name\":");
        any = true;
        put_string(j, o->name);
        dm_buf_printf(j, ",\"primitives\":[{\"attributes\":{\"POSITION\":%zu",
                      at++);
        if (u->mesh->normal != NULL)
            dm_buf_printf(j, ",\"NORMAL\":%zu", at++);
        if (u->mesh->colour != NULL)
            dm_buf_printf(j, ",\"COLOR_0\":%zu", at++);
        dm_buf_printf(j, "},\"indices\":%zu,\"material\":%zu%s}]}", at,
                      w->material_of[i],
                      u->mesh->mode == DM_MESH_LINES ? ",\"mode\":1" : "");
    }
    if (any)
        dm_buf_putc(j, ']');
}

static double linear(uint8_t srgb)
{
    double v = srgb / 255.0;

    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

static void put_materials(work *w)
{
    dm_buf *j = &w->json;
    bool unlit = false;
    size_t i;
    int k;

    for (i = 0; i < w->material_count; i++) {
        const material *m = &w->materials[i];

        dm_buf_puts(j, i == 0 ? ",\"materials\":[{\"name\":" : ",{\"name\":");
        put_string(j, m->meaning);
        dm_buf_puts(j, ",\"pbrMetallicRoughness\":{");
        if (!m->painted) {
            dm_buf_puts(j, "\"baseColorFactor\":[");
            for (k = 0; k < 4; k++) {
                dm_buf_fixed(
                    j, k < 3 ? linear(m->colour[k]) : m->colour[3] / 255.0, 6);
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
static void number_views(const work *w, size_t number[VIEW_COUNT])
{
    size_t i, n = 0;

    for (i = 0; i < VIEW_COUNT; i++)
        number[i] = w->view_length[i] > 0 ? n++ : 0;
}

static void put_bounds(dm_buf *j, const char *key, const float bound[3])
{
    int k;

    dm_buf_printf(j, ",\"%s\":[", key);
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
    dm_buf_printf(j, "\"bufferView\":%zu", view);
    if (offset > 0)
        dm_buf_printf(j, ",\"byteOffset\":%llu", (unsigned long long)offset);
    dm_buf_printf(j, ",\"componentType\":%d,\"count\":%zu,\"type\":\"%s\"",
                  type, count, shape);
}

static void put_accessors(work *w)
{
    uint64_t at[VIEW_COUNT] = {0};
    size_t view[VIEW_COUNT], i;
    dm_buf *j = &w->json;
    bool first = true;

    number_views(w, view);
    for (i = 0; i < w->used_count; i++) {
        const dm_mesh *m = w->used[i].mesh;
        const size_t n = m->vertex_count;
        const view_kind kind = is_short(m) ? VIEW_SHORT : VIEW_INT;

        put_accessor(j, &first, view[VIEW_POSITION], at[VIEW_POSITION], FLOAT,
                     n, "VEC3");
        put_bounds(j, "min", m->low);
        put_bounds(j, "max", m->high);
        dm_buf_putc(j, '}');
        at[VIEW_POSITION] += 12 * (uint64_t)n;
        if (m->normal != NULL) {
            put_accessor(j, &first, view[VIEW_NORMAL], at[VIEW_NORMAL], FLOAT,
                         n, "VEC3");
            dm_buf_putc(j, '}');
            at[VIEW_NORMAL] += 12 * (uint64_t)n;
        }
        if (m->colour != NULL) {
            put_accessor(j, &first, view[VIEW_COLOUR], at[VIEW_COLOUR],
                         UNSIGNED_BYTE, n, "VEC4");
            dm_buf_puts(j, ",\"normalized\":true}");
            at[VIEW_COLOUR] += 4 * (uint64_t)n;
        }
        put_accessor(j, &first, view[kind], at[kind],
                     kind == VIEW_SHORT ? UNSIGNED_SHORT : UNSIGNED_INT,
                     m->index_count, "SCALAR");
        dm_buf_putc(j, '}');
        at[kind] += (kind == VIEW_SHORT ? 2 : 4) * (uint64_t)m->index_count;
    }
    if (!first)
        dm_buf_putc(j, ']');
}

static uint64_t padded(uint64_t length)
{
    return (length + 3) / 4 * 4;
}

/* Length of the BIN chunk's data; adds the views and the buffer. */
static uint64_t put_views(work *w)
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
        offset += padded(w->view_length[i]);
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

/* One input as name and hash; the folder would differ between machines. */
static void put_input(dm_buf *j, bool *first, const char *file,
                      const char *sha256)
{
    const char *slash = file == NULL ? NULL : strrchr(file, '/');

    if (file == NULL || sha256 == NULL)
        return;
    dm_buf_puts(j, *first ? "{\"file\":" : ",{\"file\":");
    *first = false;
    put_string(j, slash == NULL ? file : slash + 1);
    dm_buf_puts(j, ",\"sha256\":");
    put_string(j, sha256);
    dm_buf_putc(j, '}');
}

static void put_inputs(dm_buf *j, const dm_delivery *d)
{
    bool first = true;
    size_t i;

    dm_buf_putc(j, '[');
    if (d->job != NULL)
        put_input(j, &first, d->job->file, d->job->sha256);
    if (d->model != NULL)
        put_input(j, &first, d->model->file, d->model->sha256);
    for (i = 0; d->survey != NULL && i < d->survey->file_count; i++)
        put_input(j, &first, d->survey->files[i], d->survey->sha256[i]);
    if (d->criteria != NULL)
        put_input(j, &first, d->criteria->file, d->criteria->sha256);
    dm_buf_putc(j, ']');
}

static void put_scene(work *w)
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
    put_text(j, &first, "units", "lengths in m, angles in deg");
    if (w->heat)
        put_legend(j, &first, "heatLegend", s->heat_legend,
                   s->heat_legend_count);
    put_legend(j, &first, "legend", s->legend, s->legend_count);
    put_key(j, &first, "inputs");
    put_inputs(j, w->delivery);
    dm_buf_puts(j, "}}]");
}

/* ---- second pass ------------------------------------------------------ */

static void put_u32(dm_out *out, uint32_t value)
{
    dm_out_put(out, &value, sizeof value);
}

static void put_shorts(dm_out *out, const uint32_t *index, size_t count)
{
    size_t i, n;
    uint16_t *to;
    char *room;

    for (; count > 0; index += n, count -= n) {
        n = count < CHUNK / 2 ? count : CHUNK / 2;
        room = dm_out_reserve(out, 2 * n);
        to = (uint16_t *)(void *)room;
        for (i = 0; i < n; i++)
            to[i] = (uint16_t)index[i];
        dm_out_advance(out, 2 * n);
    }
}

static void put_colours(dm_out *out, const uint8_t *colour, size_t vertices,
                        const uint8_t lookup[256])
{
    size_t i, n, left = 4 * vertices;
    char *room;

    for (; left > 0; colour += n, left -= n) {
        n = left < CHUNK ? left : CHUNK;
        room = dm_out_reserve(out, n);
        for (i = 0; i < n; i++)
            room[i] = (char)(i % 4 == 3 ? colour[i] : lookup[colour[i]]);
        dm_out_advance(out, n);
    }
}

static void put_view(const work *w, view_kind view, dm_out *out)
{
    uint8_t lookup[256];
    size_t i;

    for (i = 0; i < 256; i++)
        lookup[i] = (uint8_t)(linear((uint8_t)i) * 255.0 + 0.5);
    for (i = 0; i < w->used_count; i++) {
        const dm_mesh *m = w->used[i].mesh;

        if (view == VIEW_POSITION)
            dm_out_put(out, m->position, 12 * m->vertex_count);
        else if (view == VIEW_NORMAL && m->normal != NULL)
            dm_out_put(out, m->normal, 12 * m->vertex_count);
        else if (view == VIEW_COLOUR && m->colour != NULL)
            put_colours(out, m->colour, m->vertex_count, lookup);
        else if (view == VIEW_SHORT && is_short(m))
            put_shorts(out, m->index, m->index_count);
        else if (view == VIEW_INT && !is_short(m))
            dm_out_put(out, m->index, 4 * m->index_count);
    }
    dm_out_put(out, "\0\0\0",
               (size_t)(padded(w->view_length[view]) - w->view_length[view]));
}

static dm_status write_file(work *w, const char *name, dm_outset *set,
                            dm_diag *diag)
{
    uint64_t bin, json, total;
    dm_place place = {name, 0};
    dm_status status;
    dm_out *out;
    int view;

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
    while (w->json.length % 4 != 0 && !w->json.failed)
        dm_buf_putc(&w->json, ' ');
    if (w->json.failed)
        return dm_error(diag, DM_NOMEM, place, NULL, "out of memory");
    json = w->json.length;
    total = 12 + 8 + json + (bin > 0 ? 8 + bin : 0);
    if (total > UINT32_MAX)
        return dm_error(diag, DM_UNSUPPORTED, place, NULL,
                        "would be larger than the 4 GiB that binary glTF can "
                        "hold; give fewer tendons a job or coarser meshes");
    status = dm_outset_open(set, name, &out);
    if (status != DM_OK)
        return status;
    dm_out_puts(out, "glTF");
    put_u32(out, 2);
    put_u32(out, (uint32_t)total);
    put_u32(out, (uint32_t)json);
    dm_out_puts(out, "JSON");
    dm_out_put(out, w->json.data, w->json.length);
    if (bin > 0) {
        put_u32(out, (uint32_t)bin);
        dm_out_put(out, "BIN", 4);
    }
    for (view = 0; view < VIEW_COUNT; view++)
        put_view(w, (view_kind)view, out);
    return DM_OK;
}

static dm_status write_one(const dm_delivery *delivery, bool heat,
                           const char *name, dm_outset *set, dm_diag *diag)
{
    dm_place place = {name, 0};
    work w = {0};
    dm_status status;

    w.delivery = delivery;
    w.scene = delivery->scene;
    w.heat = heat;
    status = plan(&w);
    if (status == DM_OK)
        status = write_file(&w, name, set, diag);
    else
        dm_error(diag, status, place, NULL, "out of memory");
    work_free(&w);
    return status;
}

dm_status dm_write_glb(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag)
{
    dm_status status = write_one(delivery, false, "model.glb", out, diag);

    return status == DM_OK ? write_one(delivery, true, "heat.glb", out, diag)
                           : status;
}
