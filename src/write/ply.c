/* SPDX-License-Identifier: MIT
 * Binary PLY, little-endian, in the layout of G. Turk, "The PLY Polygon File
 * Format" (1994): one vertex list (position, normal, colour) and one list of
 * triangles. Lines and names have no place in it; origin, codes and the
 * meaning of the colours stand in comment lines. */
#include <string.h>

#include "base/diag.h"
#include "write/words.h"
#include "write/writers.h"

#if defined(__BYTE_ORDER__) && __BYTE_ORDER__ != __ORDER_LITTLE_ENDIAN__
#error "arrays are written as they lie in memory: a little-endian host only"
#endif

#define VERTEX_SIZE ((size_t)28)
#define FACE_SIZE ((size_t)13)
#define BLOCK ((size_t)2048) /* items that fit the room of one reserve */

static const dm_mesh *mesh_of(const dm_scene *scene, const dm_object *o)
{
    const dm_mesh *mesh = o->mesh == DM_NONE ? NULL : &scene->meshes[o->mesh];

    return mesh != NULL && mesh->mode == DM_MESH_TRIANGLES ? mesh : NULL;
}

static void put_header(const dm_delivery *delivery, size_t vertices,
                       size_t faces, dm_buf *text)
{
    static const char *const names[] = {
        "float x",  "float y",   "float z",     "float nx",   "float ny",
        "float nz", "uchar red", "uchar green", "uchar blue", "uchar alpha"};
    size_t i;

    dm_buf_puts(text, "ply\nformat binary_little_endian 1.0\n");
    dm_words(delivery, "comment ", "\n", text);
    dm_buf_printf(text, "element vertex %zu\n", vertices);
    for (i = 0; i < sizeof names / sizeof *names; i++)
        dm_buf_printf(text, "property %s\n", names[i]);
    dm_buf_printf(text,
                  "element face %zu\n"
                  "property list uchar uint vertex_indices\nend_header\n",
                  faces);
}

static void put_vertices(const dm_mesh *mesh, const uint8_t colour[4],
                         dm_out *out)
{
    size_t i, n, from;
    char *to;

    for (from = 0; from < mesh->vertex_count; from += n) {
        n = mesh->vertex_count - from;
        n = n < BLOCK ? n : BLOCK;
        to = dm_out_reserve(out, n * VERTEX_SIZE);
        for (i = from; i < from + n; i++, to += VERTEX_SIZE) {
            memcpy(to, mesh->position + 3 * i, 12);
            memcpy(to + 12, mesh->normal + 3 * i, 12);
            memcpy(to + 24, colour, 4);
        }
        dm_out_advance(out, n * VERTEX_SIZE);
    }
}

static void put_faces(const dm_mesh *mesh, uint32_t first, dm_out *out)
{
    size_t i, n, from, faces = mesh->index_count / 3;
    uint32_t corner[3];
    char *to;

    for (from = 0; from < faces; from += n) {
        n = faces - from < BLOCK ? faces - from : BLOCK;
        to = dm_out_reserve(out, n * FACE_SIZE);
        for (i = from; i < from + n; i++, to += FACE_SIZE) {
            corner[0] = first + mesh->index[3 * i];
            corner[1] = first + mesh->index[3 * i + 1];
            corner[2] = first + mesh->index[3 * i + 2];
            to[0] = 3;
            memcpy(to + 1, corner, sizeof corner);
        }
        dm_out_advance(out, n * FACE_SIZE);
    }
}

static void put_body(const dm_scene *scene, dm_out *out)
{
    const dm_mesh *mesh;
    uint32_t first = 0;
    size_t i;

    for (i = 0; i < scene->object_count; i++) {
        mesh = mesh_of(scene, &scene->objects[i]);
        if (mesh != NULL)
            put_vertices(mesh, scene->objects[i].colour, out);
    }
    for (i = 0; i < scene->object_count; i++) {
        mesh = mesh_of(scene, &scene->objects[i]);
        if (mesh == NULL)
            continue;
        put_faces(mesh, first, out);
        first += (uint32_t)mesh->vertex_count;
    }
}

dm_status dm_write_ply(const dm_delivery *delivery, dm_outset *set,
                       dm_diag *diag)
{
    const dm_scene *scene = delivery->scene;
    dm_place place = {"model.ply", 0};
    size_t i, vertices = 0, faces = 0;
    dm_status status = DM_OK;
    const dm_mesh *mesh;
    dm_buf text = {0};
    dm_out *out;

    for (i = 0; i < scene->object_count; i++) {
        mesh = mesh_of(scene, &scene->objects[i]);
        if (mesh == NULL)
            continue;
        vertices += mesh->vertex_count;
        faces += mesh->index_count / 3;
    }
    put_header(delivery, vertices, faces, &text);
    if (text.failed)
        status = dm_error(diag, DM_NOMEM, place, NULL, "out of memory");
    else if (vertices > UINT32_MAX)
        status = dm_error(diag, DM_UNSUPPORTED, place, NULL,
                          "more vertices than the 32-bit indices of PLY reach");
    else
        status = dm_outset_open(set, "model.ply", &out);
    if (status == DM_OK) {
        dm_out_put(out, text.data, text.length);
        put_body(scene, out);
    }
    dm_buf_free(&text);
    return status;
}
