/* SPDX-License-Identifier: MIT
 * OBJ, binary STL and COLLADA through Assimp, which this file alone includes.
 * The scene is described in an arena of ours (Assimp copies it and frees
 * nothing), the exporter writes into memory, and the result goes through the
 * outset: Assimp itself reports success on a full disk. Seen with 5.2.5:
 * COLLADA takes its up axis from a rotation of the root and its dates from the
 * clock (replaced here by the job's); OBJ and STL have no axes or units, so
 * they stay Z-up in metres and say so. Names hold 1023 bytes. */
#include <limits.h>
#include <stdlib.h>
#include <string.h>

#include <assimp/cexport.h>
#include <assimp/cfileio.h>
#include <assimp/material.h>
#include <assimp/scene.h>

#include "base/diag.h"
#include "ductmark/ductmark.h"
#include "write/words.h"
#include "write/writers.h"

_Static_assert(sizeof(struct aiVector3D) == 3 * sizeof(float),
               "positions are handed over as they are");
_Static_assert(sizeof(unsigned) == sizeof(uint32_t),
               "indices are handed over as they are");

/* ---- files in memory -------------------------------------------------- */

#define FILES_MAX 4

typedef struct {
    char *name;
    dm_buf data;
    size_t at;
    struct aiFile face;
} memory_file;

typedef struct {
    memory_file files[FILES_MAX];
    size_t count;
    bool failed;
} memory;

static size_t file_write(struct aiFile *file, const char *bytes, size_t size,
                         size_t count)
{
    memory_file *f = (memory_file *)(void *)file->UserData;
    size_t length, inside;

    if (!dm_size_mul(size, count, &length) || length > SIZE_MAX - f->at)
        return 0;
    inside = f->data.length - f->at;
    if (inside > length)
        inside = length;
    if (inside > 0)
        memcpy(f->data.data + f->at, bytes, inside);
    dm_buf_put(&f->data, bytes + inside, length - inside);
    if (f->data.failed)
        return 0;
    f->at += length;
    return count;
}

static size_t file_read(struct aiFile *file, char *bytes, size_t size,
                        size_t count)
{
    (void)file;
    (void)bytes;
    (void)size;
    (void)count;
    return 0;
}

static size_t file_tell(struct aiFile *file)
{
    return ((memory_file *)(void *)file->UserData)->at;
}

static size_t file_size(struct aiFile *file)
{
    return ((memory_file *)(void *)file->UserData)->data.length;
}

static void file_flush(struct aiFile *file)
{
    (void)file;
}

static aiReturn file_seek(struct aiFile *file, size_t offset,
                          enum aiOrigin origin)
{
    memory_file *f = (memory_file *)(void *)file->UserData;
    size_t base = origin == aiOrigin_SET   ? 0
                  : origin == aiOrigin_CUR ? f->at
                                           : f->data.length;

    if (offset > f->data.length - base)
        return aiReturn_FAILURE;
    f->at = base + offset;
    return aiReturn_SUCCESS;
}

static struct aiFile *file_open(struct aiFileIO *io, const char *name,
                                const char *mode)
{
    memory *m = (memory *)(void *)io->UserData;
    size_t length = strlen(name) + 1;
    memory_file *f;

    if (mode[0] != 'w' || m->count == FILES_MAX) {
        m->failed = m->failed || mode[0] == 'w';
        return NULL;
    }
    f = &m->files[m->count];
    f->name = malloc(length);
    if (f->name == NULL) {
        m->failed = true;
        return NULL;
    }
    memcpy(f->name, name, length);
    f->face.ReadProc = file_read;
    f->face.WriteProc = file_write;
    f->face.TellProc = file_tell;
    f->face.FileSizeProc = file_size;
    f->face.SeekProc = file_seek;
    f->face.FlushProc = file_flush;
    f->face.UserData = (char *)(void *)f;
    m->count++;
    return &f->face;
}

static void file_close(struct aiFileIO *io, struct aiFile *file)
{
    (void)io;
    (void)file;
}

static void memory_free(memory *m)
{
    size_t i;

    for (i = 0; i < m->count; i++) {
        free(m->files[i].name);
        dm_buf_free(&m->files[i].data);
    }
}

/* ---- the scene for Assimp --------------------------------------------- */

typedef struct {
    const dm_scene *scene;
    dm_arena *arena;
    bool lines, turn; /* keep line meshes; turn the root to Y-up */
    struct aiScene *out;
    const dm_object **painted; /* an object of each material */
} build;

static void set_name(struct aiString *to, const char *text)
{
    size_t length = strlen(text);

    if (length > MAXLEN - 1) {
        length = MAXLEN - 1;
        while (length > 0 && ((unsigned char)text[length] & 0xc0) == 0x80)
            length--;
    }
    to->length = (ai_uint32)length;
    memcpy(to->data, text, length);
    to->data[length] = '\0';
}

static bool wanted(const build *b, const dm_object *o)
{
    if (o->mesh == DM_NONE)
        return false;
    return b->lines || b->scene->meshes[o->mesh].mode == DM_MESH_TRIANGLES;
}

static struct aiMaterialProperty *
add_property(const build *b, struct aiMaterial *m, const char *key,
             enum aiPropertyTypeInfo type, const void *data, size_t size)
{
    struct aiMaterialProperty *p = DM_NEW(b->arena, struct aiMaterialProperty);

    if (p == NULL)
        return NULL;
    set_name(&p->mKey, key);
    p->mType = type;
    p->mDataLength = (unsigned)size;
    p->mData = dm_arena_alloc(b->arena, 1, size);
    if (p->mData == NULL)
        return NULL;
    memcpy(p->mData, data, size);
    m->mProperties[m->mNumProperties++] = p;
    return p;
}

static struct aiMaterial *make_material(const build *b, const dm_object *o)
{
    struct aiMaterial *m = DM_NEW(b->arena, struct aiMaterial);
    uint32_t length = (uint32_t)strlen(o->colour_name);
    char *name = dm_arena_alloc(b->arena, 1, (size_t)length + 5);
    float colour[4], opacity;
    int i;

    if (m == NULL || name == NULL)
        return NULL;
    m->mProperties = DM_NEW_ARRAY(b->arena, struct aiMaterialProperty *, 4);
    m->mNumAllocated = 4;
    if (m->mProperties == NULL)
        return NULL;
    memcpy(name, &length, 4);
    memcpy(name + 4, o->colour_name, length);
    for (i = 0; i < 4; i++)
        colour[i] = (float)o->colour[i] / 255.0f;
    opacity = colour[3];
    if (add_property(b, m, "?mat.name", aiPTI_String, name,
                     (size_t)length + 5) == NULL ||
        add_property(b, m, "$clr.diffuse", aiPTI_Float, colour,
                     sizeof colour) == NULL ||
        add_property(b, m, "$mat.opacity", aiPTI_Float, &opacity,
                     sizeof opacity) == NULL)
        return NULL;
    return m;
}

/* Number of the object's material; UINT_MAX: no memory. */
static unsigned material_of(build *b, const dm_object *o)
{
    struct aiScene *out = b->out;
    unsigned i;

    for (i = 0; i < out->mNumMaterials; i++)
        if (memcmp(b->painted[i]->colour, o->colour, 4) == 0 &&
            strcmp(b->painted[i]->colour_name, o->colour_name) == 0)
            return i;
    b->painted[i] = o;
    out->mMaterials[i] = make_material(b, o);
    if (out->mMaterials[i] == NULL)
        return UINT_MAX;
    return out->mNumMaterials++;
}

static struct aiMesh *make_mesh(build *b, const dm_object *o)
{
    const dm_mesh *from = &b->scene->meshes[o->mesh];
    unsigned i, each = from->mode == DM_MESH_LINES ? 2 : 3;
    size_t faces = from->index_count / each;
    struct aiMesh *m = DM_NEW(b->arena, struct aiMesh);
    struct aiFace *face = DM_NEW_ARRAY(b->arena, struct aiFace, faces);

    if (m == NULL || face == NULL)
        return NULL;
    set_name(&m->mName, o->name);
    m->mPrimitiveTypes =
        each == 2 ? aiPrimitiveType_LINE : aiPrimitiveType_TRIANGLE;
    m->mNumVertices = (unsigned)from->vertex_count;
    m->mVertices = (struct aiVector3D *)(void *)from->position;
    m->mNormals = (struct aiVector3D *)(void *)from->normal;
    m->mNumFaces = (unsigned)faces;
    m->mFaces = face;
    for (i = 0; i < faces; i++) {
        face[i].mNumIndices = each;
        face[i].mIndices = from->index + (size_t)i * each;
    }
    m->mMaterialIndex = material_of(b, o);
    return m->mMaterialIndex == UINT_MAX ? NULL : m;
}

static void set_identity(struct aiMatrix4x4 *m)
{
    memset(m, 0, sizeof *m);
    m->a1 = m->b2 = m->c3 = m->d4 = 1.0f;
}

/* A node for each object; node i's children are counted first. */
static bool make_nodes(build *b)
{
    const dm_scene *s = b->scene;
    size_t i, n = s->object_count;
    struct aiNode *node = DM_NEW_ARRAY(b->arena, struct aiNode, n);
    unsigned meshes = 0;

    if (node == NULL)
        return false;
    for (i = 1; i < n; i++)
        node[s->objects[i].parent].mNumChildren++;
    for (i = 0; i < n; i++) {
        struct aiNode *o = &node[i];

        set_name(&o->mName, s->objects[i].name);
        set_identity(&o->mTransformation);
        o->mChildren = DM_NEW_ARRAY(b->arena, struct aiNode *, o->mNumChildren);
        if (o->mChildren == NULL)
            return false;
        o->mNumChildren = 0;
        if (i > 0) { /* parents come first */
            o->mParent = &node[s->objects[i].parent];
            o->mParent->mChildren[o->mParent->mNumChildren++] = o;
        }
        if (!wanted(b, &s->objects[i]))
            continue;
        o->mMeshes = DM_NEW_ARRAY(b->arena, unsigned, 1);
        if (o->mMeshes == NULL)
            return false;
        o->mMeshes[0] = meshes++;
        o->mNumMeshes = 1;
    }
    if (b->turn) { /* -90 deg about X */
        node->mTransformation.b2 = node->mTransformation.c3 = 0.0f;
        node->mTransformation.b3 = 1.0f;
        node->mTransformation.c2 = -1.0f;
    }
    b->out->mRootNode = node;
    return true;
}

static bool make_scene(build *b)
{
    size_t i, n = b->scene->object_count;
    struct aiScene *out = DM_NEW(b->arena, struct aiScene);

    b->out = out;
    b->painted = DM_NEW_ARRAY(b->arena, const dm_object *, n + 1);
    if (out == NULL || b->painted == NULL)
        return false;
    out->mMeshes = DM_NEW_ARRAY(b->arena, struct aiMesh *, n);
    out->mMaterials = DM_NEW_ARRAY(b->arena, struct aiMaterial *, n + 1);
    if (out->mMeshes == NULL || out->mMaterials == NULL)
        return false;
    for (i = 0; i < n; i++) {
        if (!wanted(b, &b->scene->objects[i]))
            continue;
        out->mMeshes[out->mNumMeshes] = make_mesh(b, &b->scene->objects[i]);
        if (out->mMeshes[out->mNumMeshes++] == NULL)
            return false;
    }
    return make_nodes(b);
}

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
                           const memory *m, dm_outset *set)
{
    dm_status status = DM_OK;
    size_t i;

    for (i = m->count; i-- > 0 && status == DM_OK;) { /* the main file last */
        const memory_file *file = &m->files[i];
        dm_buf head = {0};
        dm_out *out;

        status = dm_outset_open(set, file->name, &out);
        if (status != DM_OK)
            break;
        if (strcmp(file->name, f->name) == 0)
            f->put(delivery, &file->data, &head, out);
        else
            dm_out_put(out, file->data.data, file->data.length);
        status = head.failed ? DM_NOMEM : DM_OK;
        dm_buf_free(&head);
    }
    return status;
}

static dm_status export_to(const dm_delivery *delivery, const format *f,
                           dm_arena *arena, memory *m)
{
    struct aiFileIO io = {file_open, file_close, NULL};
    build b = {delivery->scene, arena, f->lines, f->turn, NULL, NULL};
    aiReturn result;
    size_t i;

    io.UserData = (char *)(void *)m;
    if (!make_scene(&b))
        return DM_NOMEM;
    result = aiExportSceneEx(b.out, f->id, f->name, &io, 0);
    for (i = 0; i < m->count; i++)
        m->failed = m->failed || m->files[i].data.failed;
    if (m->failed) /* whatever the library made of it */
        return DM_NOMEM;
    if (result != aiReturn_SUCCESS || m->count == 0)
        return DM_UNSUPPORTED;
    for (i = 0; i < m->count; i++)
        if (m->files[i].data.data == NULL)
            return DM_UNSUPPORTED;
    return DM_OK;
}

static dm_status write_format(const dm_delivery *delivery, const format *f,
                              dm_outset *set, dm_diag *diag)
{
    dm_place place = {f->name, 0};
    dm_arena *arena = dm_arena_new();
    memory m = {0};
    dm_status status;

    status = arena == NULL ? DM_NOMEM : export_to(delivery, f, arena, &m);
    if (status == DM_NOMEM)
        dm_error(diag, status, place, NULL, "out of memory");
    else if (status != DM_OK)
        dm_error(diag, status, place, NULL,
                 "the mesh library could not write this format");
    if (status == DM_OK)
        status = put_files(delivery, f, &m, set);
    memory_free(&m);
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
