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

#include "base/diag.h"
#include "write/gltf.h"

#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ != __ORDER_LITTLE_ENDIAN__
#error "arrays are written as they lie in memory: a little-endian host only"
#endif

#define CHUNK ((size_t)65536)

size_t dm_gltf_mesh_of(const dm_gltf *w, const dm_object *o)
{
    return w->heat && o->heat != DM_NONE ? o->heat : o->mesh;
}

bool dm_gltf_is_short(const dm_mesh *mesh)
{
    return mesh->vertex_count <= 65535;
}

uint64_t dm_gltf_padded(uint64_t length)
{
    return (length + 3) / 4 * 4;
}

static size_t accessors_of(const dm_mesh *mesh)
{
    return 2 + (size_t)(mesh->normal != NULL) + (size_t)(mesh->colour != NULL);
}

/* ---- first pass ------------------------------------------------------- */

static bool find_material(dm_gltf *w, size_t object, const dm_mesh *mesh)
{
    const dm_object *o = &w->scene->objects[object];
    dm_gltf_material m = {o->colour, o->colour_name,
                          mesh->mode == DM_MESH_LINES, mesh->colour != NULL};
    size_t i;

    if (m.painted)
        m.meaning = "index";
    for (i = 0; i < w->material_count; i++) {
        const dm_gltf_material *k = &w->materials[i];

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

static void use_mesh(dm_gltf *w, size_t index)
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
    if (dm_gltf_is_short(mesh))
        w->view_length[VIEW_SHORT] += 2 * (uint64_t)mesh->index_count;
    else
        w->view_length[VIEW_INT] += 4 * (uint64_t)mesh->index_count;
}

static void work_free(dm_gltf *w)
{
    free(w->slot);
    free(w->used);
    free(w->materials);
    free(w->material_of);
    free(w->first_child);
    free(w->next_sibling);
    dm_buf_free(&w->json);
    dm_arena_free(w->arena);
}

static dm_status plan(dm_gltf *w)
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
        mesh = dm_gltf_mesh_of(w, &s->objects[i]);
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

double dm_gltf_linear(uint8_t srgb)
{
    double v = srgb / 255.0;

    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
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

static void put_view(const dm_gltf *w, dm_gltf_view view, dm_out *out)
{
    uint8_t lookup[256];
    size_t i;

    for (i = 0; i < 256; i++)
        lookup[i] = (uint8_t)(dm_gltf_linear((uint8_t)i) * 255.0 + 0.5);
    for (i = 0; i < w->used_count; i++) {
        const dm_mesh *m = w->used[i].mesh;

        if (view == VIEW_POSITION)
            dm_out_put(out, m->position, 12 * m->vertex_count);
        else if (view == VIEW_NORMAL && m->normal != NULL)
            dm_out_put(out, m->normal, 12 * m->vertex_count);
        else if (view == VIEW_COLOUR && m->colour != NULL)
            put_colours(out, m->colour, m->vertex_count, lookup);
        else if (view == VIEW_SHORT && dm_gltf_is_short(m))
            put_shorts(out, m->index, m->index_count);
        else if (view == VIEW_INT && !dm_gltf_is_short(m))
            dm_out_put(out, m->index, 4 * m->index_count);
    }
    dm_out_put(
        out, "\0\0\0",
        (size_t)(dm_gltf_padded(w->view_length[view]) - w->view_length[view]));
}

static dm_status write_file(dm_gltf *w, const char *name, dm_outset *set,
                            dm_diag *diag)
{
    uint64_t bin, json, total;
    dm_place place = {name, 0};
    dm_status status;
    dm_out *out;
    int view;

    bin = dm_gltf_json(w);
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
        put_view(w, (dm_gltf_view)view, out);
    return DM_OK;
}

static dm_status write_one(const dm_delivery *delivery, bool heat,
                           const char *name, dm_outset *set, dm_diag *diag)
{
    dm_place place = {name, 0};
    dm_gltf w = {0};
    dm_status status;

    w.delivery = delivery;
    w.scene = delivery->scene;
    w.heat = heat;
    w.arena = dm_arena_new();
    status = w.arena == NULL
                 ? DM_NOMEM
                 : dm_inputs(delivery, w.arena, &w.inputs, &w.input_count);
    if (status == DM_OK)
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
