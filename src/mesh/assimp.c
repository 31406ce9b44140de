/* SPDX-License-Identifier: MIT
 * Assimp, which this file alone includes.
 *
 * Out: the tree is described in an arena of ours (Assimp copies it and frees
 * nothing) and the exporter writes into memory: Assimp itself reports success
 * on a full disk. Names hold 1023 bytes.
 *
 * In: Assimp opens files through us, none but those of the mesh's own folder;
 * nodes are walked here, with their matrices in double. Seen with 5.2.5:
 * without ValidateDataStructure a bad file gives indices out of range; with it,
 * still checked. Crashes of the reader are expected: see context/child.c. */
#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <assimp/cexport.h>
#include <assimp/cfileio.h>
#include <assimp/cimport.h>
#include <assimp/material.h>
#include <assimp/postprocess.h>
#include <assimp/scene.h>

#include "base/file.h"
#include "mesh/assimp.h"

_Static_assert(sizeof(struct aiVector3D) == 3 * sizeof(float),
               "positions are handed over as they are");
_Static_assert(sizeof(unsigned) == sizeof(uint32_t),
               "indices are handed over as they are");

/* ---- files in memory -------------------------------------------------- */

#define FILES_MAX DM_MESH_FILES
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

static size_t no_write(struct aiFile *file, const char *bytes, size_t size,
                       size_t count)
{
    (void)file;
    (void)bytes;
    (void)size;
    (void)count;
    return 0;
}

static size_t file_read(struct aiFile *file, char *bytes, size_t size,
                        size_t count)
{
    memory_file *f = (memory_file *)(void *)file->UserData;
    size_t left = f->data.length - f->at;

    if (size == 0)
        return 0;
    if (count > left / size)
        count = left / size;
    if (count > 0)
        memcpy(bytes, f->data.data + f->at, count * size);
    f->at += count * size;
    return count;
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

/* ---- the scene for Assimp --------------------------------------------- */

typedef struct {
    const dm_mesh_node *nodes;
    size_t count;
    dm_arena *arena;
    bool turn; /* the root to Y-up */
    struct aiScene *out;
    const dm_mesh_node **painted; /* a node of each material */
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

static struct aiMaterial *make_material(const build *b, const dm_mesh_node *o)
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
static unsigned material_of(build *b, const dm_mesh_node *o)
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

static struct aiMesh *make_mesh(build *b, const dm_mesh_node *o)
{
    unsigned i, each = o->lines ? 2 : 3;
    size_t faces = o->index_count / each;
    struct aiMesh *m = DM_NEW(b->arena, struct aiMesh);
    struct aiFace *face = DM_NEW_ARRAY(b->arena, struct aiFace, faces);

    if (m == NULL || face == NULL)
        return NULL;
    set_name(&m->mName, o->name);
    m->mPrimitiveTypes =
        each == 2 ? aiPrimitiveType_LINE : aiPrimitiveType_TRIANGLE;
    m->mNumVertices = (unsigned)o->vertex_count;
    m->mVertices = (struct aiVector3D *)(void *)o->position;
    m->mNormals = (struct aiVector3D *)(void *)o->normal;
    m->mNumFaces = (unsigned)faces;
    m->mFaces = face;
    for (i = 0; i < faces; i++) {
        face[i].mNumIndices = each;
        face[i].mIndices = o->index + (size_t)i * each;
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
    size_t i, n = b->count;
    struct aiNode *node = DM_NEW_ARRAY(b->arena, struct aiNode, n);
    unsigned meshes = 0;

    if (node == NULL)
        return false;
    for (i = 1; i < n; i++)
        node[b->nodes[i].parent].mNumChildren++;
    for (i = 0; i < n; i++) {
        struct aiNode *o = &node[i];

        set_name(&o->mName, b->nodes[i].name);
        set_identity(&o->mTransformation);
        o->mChildren = DM_NEW_ARRAY(b->arena, struct aiNode *, o->mNumChildren);
        if (o->mChildren == NULL)
            return false;
        o->mNumChildren = 0;
        if (i > 0) { /* parents come first */
            o->mParent = &node[b->nodes[i].parent];
            o->mParent->mChildren[o->mParent->mNumChildren++] = o;
        }
        if (!b->nodes[i].drawn)
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
    size_t i, n = b->count;
    struct aiScene *out = DM_NEW(b->arena, struct aiScene);

    b->out = out;
    b->painted = DM_NEW_ARRAY(b->arena, const dm_mesh_node *, n + 1);
    if (out == NULL || b->painted == NULL)
        return false;
    out->mMeshes = DM_NEW_ARRAY(b->arena, struct aiMesh *, n);
    out->mMaterials = DM_NEW_ARRAY(b->arena, struct aiMaterial *, n + 1);
    if (out->mMeshes == NULL || out->mMaterials == NULL)
        return false;
    for (i = 0; i < n; i++) {
        if (!b->nodes[i].drawn)
            continue;
        out->mMeshes[out->mNumMeshes] = make_mesh(b, &b->nodes[i]);
        if (out->mMeshes[out->mNumMeshes++] == NULL)
            return false;
    }
    return make_nodes(b);
}

/* ---- out -------------------------------------------------------------- */

dm_status dm_mesh_export(const dm_mesh_node *nodes, size_t count, bool turn,
                         const char *id, const char *name, dm_arena *arena,
                         dm_mesh_files *files)
{
    struct aiFileIO io = {file_open, file_close, NULL};
    build b = {nodes, count, arena, turn, NULL, NULL};
    memory m = {0};
    aiReturn result;
    size_t i;

    *files = (dm_mesh_files){0};
    io.UserData = (char *)(void *)&m;
    if (!make_scene(&b))
        return DM_NOMEM;
    result = aiExportSceneEx(b.out, id, name, &io, 0);
    files->count = m.count;
    for (i = 0; i < m.count; i++) {
        files->name[i] = m.files[i].name;
        files->data[i] = m.files[i].data;
        m.failed = m.failed || m.files[i].data.failed;
    }
    if (m.failed) /* whatever the library made of it */
        return DM_NOMEM;
    if (result != aiReturn_SUCCESS || m.count == 0)
        return DM_UNSUPPORTED;
    for (i = 0; i < m.count; i++)
        if (m.files[i].data.data == NULL)
            return DM_UNSUPPORTED;
    return DM_OK;
}

void dm_mesh_files_free(dm_mesh_files *files)
{
    for (size_t i = 0; i < files->count; i++) {
        free(files->name[i]);
        dm_buf_free(&files->data[i]);
    }
    *files = (dm_mesh_files){0};
}

/* ---- in --------------------------------------------------------------- */

static const char no_memory[] =
    "it needs more memory than the mesh reader may have";
#define FILE_LIMIT ((size_t)2 << 30)
#define NODES_DEEP 200 /* nodes within nodes */

/* Files are served from memory; only those beside the mesh. */
typedef struct {
    size_t folder; /* bytes of its name, with the slash */
    const char *path;
} shelf;

static struct aiFile *shelf_open(struct aiFileIO *io, const char *name,
                                 const char *mode)
{
    const shelf *s = (const shelf *)(void *)io->UserData;
    memory_file *f;

    if (strncmp(name, "./", 2) == 0 && s->folder == 0)
        name += 2;
    if (mode[0] != 'r' || strncmp(name, s->path, s->folder) != 0 ||
        strchr(name + s->folder, '/') != NULL)
        return NULL;
    f = calloc(1, sizeof *f);
    if (f == NULL)
        return NULL;
    if (dm_file_read(name, FILE_LIMIT, (dm_place){name, 0}, NULL, &f->data) !=
        DM_OK) {
        dm_buf_free(&f->data);
        free(f);
        return NULL;
    }
    f->face.ReadProc = file_read;
    f->face.WriteProc = no_write;
    f->face.TellProc = file_tell;
    f->face.FileSizeProc = file_size;
    f->face.SeekProc = file_seek;
    f->face.FlushProc = file_flush;
    f->face.UserData = (char *)(void *)f;
    return &f->face;
}

static void shelf_close(struct aiFileIO *io, struct aiFile *file)
{
    memory_file *f = (memory_file *)(void *)file->UserData;

    (void)io;
    dm_buf_free(&f->data);
    free(f);
}

/* Row by row; the last row is 0 0 0 1 (what else it says is not asked). */
typedef struct {
    double m[3][4];
} placing;

static placing placing_of(const placing *parent, const struct aiMatrix4x4 *n)
{
    const float own[3][4] = {{n->a1, n->a2, n->a3, n->a4},
                             {n->b1, n->b2, n->b3, n->b4},
                             {n->c1, n->c2, n->c3, n->c4}};
    placing p;

    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 4; k++)
            p.m[i][k] = parent->m[i][0] * (double)own[0][k] +
                        parent->m[i][1] * (double)own[1][k] +
                        parent->m[i][2] * (double)own[2][k] +
                        (k == 3 ? parent->m[i][3] : 0.0);
    return p;
}

typedef struct {
    const struct aiScene *scene;
    dm_mesh_sink *sink;
    void *user;
    const char *fault;
} import;

static bool hand_over(import *in, const char *name, const placing *p,
                      const struct aiMesh *m)
{
    size_t n = m->mNumVertices, count = 0;
    double *point = calloc(3 * n + 1, sizeof *point);
    uint32_t *index = calloc(3 * (size_t)m->mNumFaces + 1, sizeof *index);
    bool good = point != NULL && index != NULL;

    if (!good)
        in->fault = no_memory;
    for (size_t i = 0; good && i < n; i++) {
        const struct aiVector3D *v = &m->mVertices[i];

        for (int k = 0; k < 3; k++)
            point[3 * i + (size_t)k] = p->m[k][0] * (double)v->x +
                                       p->m[k][1] * (double)v->y +
                                       p->m[k][2] * (double)v->z + p->m[k][3];
    }
    for (size_t i = 0; good && i < m->mNumFaces; i++)
        if (m->mFaces[i].mNumIndices == 3)
            for (int k = 0; k < 3; k++)
                index[count++] = m->mFaces[i].mIndices[k];
    if (good && count > 0)
        good = in->sink(in->user, name, point, n, index, count / 3);
    free(point);
    free(index);
    return good;
}

static bool walk(import *in, const struct aiNode *node, const placing *parent,
                 int depth)
{
    placing p = placing_of(parent, &node->mTransformation);

    if (depth > NODES_DEEP) {
        in->fault = "its parts stand too deep in each other";
        return false;
    }
    for (unsigned i = 0; i < node->mNumMeshes; i++) {
        const struct aiMesh *m;

        if (node->mMeshes[i] >= in->scene->mNumMeshes)
            return false;
        m = in->scene->mMeshes[node->mMeshes[i]];
        if (!hand_over(in,
                       m->mName.length > 0 ? m->mName.data : node->mName.data,
                       &p, m))
            return false;
    }
    for (unsigned i = 0; i < node->mNumChildren; i++)
        if (!walk(in, node->mChildren[i], &p, depth + 1))
            return false;
    return true;
}

bool dm_mesh_import(const char *path, dm_mesh_sink *sink, void *user,
                    char *fault, size_t size)
{
    static const placing as_is = {{{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}}};
    const char *slash = strrchr(path, '/');
    shelf s = {slash == NULL ? 0 : (size_t)(slash - path) + 1, path};
    struct aiFileIO io = {shelf_open, shelf_close, NULL};
import in = {.sink = sink, .user = user };
    bool good = false;

    io.UserData = (char *)(void *)&s;
    in.scene = aiImportFileEx(path,
                              aiProcess_Triangulate | aiProcess_SortByPType |
                                  aiProcess_ValidateDataStructure,
                              &io);
    if (in.scene != NULL && in.scene->mRootNode != NULL)
        good = walk(&in, in.scene->mRootNode, &as_is, 0);
    else
        in.fault = aiGetErrorString();
    /* What the C++ library says where there is none left. */
    if (in.fault != NULL && strstr(in.fault, "bad_alloc") != NULL)
        in.fault = no_memory;
    fault[0] = '\0';
    if (!good && in.fault != NULL)
        strncat(fault, in.fault, size - 1);
    for (char *c = fault; *c != '\0'; c++) /* one line */
        if ((unsigned char)*c < ' ')
            *c = ' ';
    if (in.scene != NULL)
        aiReleaseImport(in.scene);
    return good;
}
