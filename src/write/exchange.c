/* SPDX-License-Identifier: MIT
 * OBJ, binary STL and COLLADA (mesh/assimp.h). Seen with Assimp 5.2.5: COLLADA
 * takes its up axis from a rotation of the root and its dates from the clock
 * (replaced here by the job's); OBJ and STL have no axes or units, so they
 * stay Z-up in metres and say so. */
#include <string.h>

#include "base/diag.h"
#include "ductmark/ductmark.h"
#include "mesh/assimp.h"
#include "write/words.h"
#include "write/writers.h"

/* ---- words into the files --------------------------------------------- */

static void put_obj(const dm_delivery *delivery, const dm_buf *data,
                    dm_buf *head, dm_out *out)
{
    dm_words(delivery, "# ", "\n", head);
    if (!head->failed)
        dm_out_put(out, head->data, head->length);
    dm_out_put(out, data->data, data->length);
}

static void put_stl(const dm_delivery *delivery, const dm_buf *data,
                    dm_buf *head, dm_out *out)
{
    char text[80];

    if (data->length < sizeof text) {
        dm_out_put(out, data->data, data->length);
        return;
    }
    head->failed = !dm_words_short(delivery, text);
    dm_out_put(out, text, sizeof text);
    dm_out_put(out, data->data + sizeof text, data->length - sizeof text);
}

/* Copies up to and with `tag`, skips the text to the next '<' and puts `text`
 * in its place; returns where to go on. */
static const char *replace_text(const char *at, const char *tag,
                                const char *text, dm_out *out)
{
    const char *found = strstr(at, tag);

    if (found == NULL)
        return at;
    found += strlen(tag);
    dm_out_put(out, at, (size_t)(found - at));
    dm_out_puts(out, text);
    return found + strcspn(found, "<");
}

static void put_dae(const dm_delivery *delivery, const dm_buf *data,
                    dm_buf *head, dm_out *out)
{
    const char *at = data->data;
    const char *start = strstr(at, "<COLLADA");
    const char *date =
        delivery->job == NULL ? "1970-01-01" : delivery->job->date;
    dm_buf stamp = {0};

    dm_words(delivery, "<!-- ", " -->\n", head);
    dm_buf_printf(&stamp, "%sT00:00:00Z", date);
    head->failed = head->failed || stamp.failed;
    if (!head->failed && start != NULL) {
        dm_out_put(out, at, (size_t)(start - at));
        dm_out_put(out, head->data, head->length);
        at = replace_text(start, "<created>", stamp.data, out);
        at = replace_text(at, "<modified>", stamp.data, out);
    }
    dm_out_put(out, at, data->length - (size_t)(at - data->data));
    dm_buf_free(&stamp);
}

/* ---- one format ------------------------------------------------------- */

typedef struct {
    const char *id;   /* Assimp's */
    const char *name; /* the file's */
    bool lines, turn;
    void (*put)(const dm_delivery *delivery, const dm_buf *data, dm_buf *head,
                dm_out *out);
} format;

static dm_status put_files(const dm_delivery *delivery, const format *f,
                           const dm_mesh_files *files, dm_outset *set)
{
    dm_status status = DM_OK;
    size_t i;

    for (i = files->count; i-- > 0 && status == DM_OK;) { /* main file last */
        const dm_buf *data = &files->data[i];
        dm_buf head = {0};
        dm_out *out;

        status = dm_outset_open(set, files->name[i], &out);
        if (status != DM_OK)
            break;
        if (strcmp(files->name[i], f->name) == 0)
            f->put(delivery, data, &head, out);
        else
            dm_out_put(out, data->data, data->length);
        status = head.failed ? DM_NOMEM : DM_OK;
        dm_buf_free(&head);
    }
    return status;
}

/* The scene's objects as nodes; NULL: no memory. */
static dm_mesh_node *nodes_of(const dm_scene *s, bool lines, dm_arena *arena)
{
    dm_mesh_node *node = DM_NEW_ARRAY(arena, dm_mesh_node, s->object_count);

    for (size_t i = 0; node != NULL && i < s->object_count; i++) {
        const dm_object *o = &s->objects[i];
        const dm_mesh *m = o->mesh == DM_NONE ? NULL : &s->meshes[o->mesh];

        node[i] = (dm_mesh_node){.name = o->name, .parent = o->parent};
        if (m == NULL || (m->mode == DM_MESH_LINES && !lines))
            continue;
        node[i].drawn = true;
        node[i].lines = m->mode == DM_MESH_LINES;
        node[i].position = m->position;
        node[i].normal = m->normal;
        node[i].vertex_count = m->vertex_count;
        node[i].index = m->index;
        node[i].index_count = m->index_count;
        memcpy(node[i].colour, o->colour, sizeof node[i].colour);
        node[i].colour_name = o->colour_name;
    }
    return node;
}

static dm_status write_format(const dm_delivery *delivery, const format *f,
                              dm_outset *set, dm_diag *diag)
{
    dm_place place = {f->name, 0};
    dm_arena *arena = dm_arena_new();
    dm_mesh_node *nodes =
        arena == NULL ? NULL : nodes_of(delivery->scene, f->lines, arena);
    dm_mesh_files files = {0};
    dm_status status = DM_NOMEM;

    if (nodes != NULL)
        status = dm_mesh_export(nodes, delivery->scene->object_count, f->turn,
                                f->id, f->name, arena, &files);
    if (status == DM_NOMEM)
        dm_error(diag, status, place, NULL, "out of memory");
    else if (status != DM_OK)
        dm_error(diag, status, place, NULL,
                 "the mesh library could not write this format");
    if (status == DM_OK)
        status = put_files(delivery, f, &files, set);
    dm_mesh_files_free(&files);
    dm_arena_free(arena);
    return status;
}

dm_status dm_write_obj(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag)
{
    static const format obj = {"obj", "model.obj", true, false, put_obj};

    return write_format(delivery, &obj, out, diag);
}

dm_status dm_write_stl(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag)
{
    static const format stl = {"stlb", "model.stl", false, false, put_stl};

    return write_format(delivery, &stl, out, diag);
}

dm_status dm_write_dae(const dm_delivery *delivery, dm_outset *out,
                       dm_diag *diag)
{
    static const format dae = {"collada", "model.dae", true, true, put_dae};

    return write_format(delivery, &dae, out, diag);
}
