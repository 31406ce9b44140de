/* SPDX-License-Identifier: MIT
 * Every mesh format read back with Assimp, which knows nothing of this
 * project: triangles, bounds, colours, names, metadata. */
#include <limits.h>

#include "near.h"

#include <stdlib.h>
#include <string.h>

#include <assimp/cimport.h>
#include <assimp/material.h>
#include <assimp/postprocess.h>
#include <assimp/scene.h>

#include "scene_group.h"

typedef struct {
    size_t triangles, lines;
    dm_vec3 low, high; /* Z-up */
} census;

static void widen(census *c, dm_vec3 p)
{
    c->low = (dm_vec3){fmin(c->low.x, p.x), fmin(c->low.y, p.y),
                       fmin(c->low.z, p.z)};
    c->high = (dm_vec3){fmax(c->high.x, p.x), fmax(c->high.y, p.y),
                        fmax(c->high.z, p.z)};
}

static census empty(void)
{
    census c = {0, 0, {1e9, 1e9, 1e9}, {-1e9, -1e9, -1e9}};

    return c;
}

/* What the scene holds. */
static census expected(bool with_lines)
{
    census c = empty();
    size_t i, k;

    for (i = 0; i < scene->object_count; i++) {
        const dm_mesh *m;

        if (scene->objects[i].mesh == DM_NONE)
            continue;
        m = &scene->meshes[scene->objects[i].mesh];
        if (m->mode == DM_MESH_LINES && !with_lines)
            continue;
        if (m->mode == DM_MESH_LINES)
            c.lines += m->index_count / 2;
        else
            c.triangles += m->index_count / 3;
        for (k = 0; k < m->vertex_count; k++)
            widen(&c, (dm_vec3){(double)m->position[3 * k],
                                (double)m->position[3 * k + 1],
                                (double)m->position[3 * k + 2]});
    }
    return c;
}

static struct aiVector3D transform(const struct aiMatrix4x4 *m,
                                   struct aiVector3D p)
{
    struct aiVector3D out = {m->a1 * p.x + m->a2 * p.y + m->a3 * p.z + m->a4,
                             m->b1 * p.x + m->b2 * p.y + m->b3 * p.z + m->b4,
                             m->c1 * p.x + m->c2 * p.y + m->c3 * p.z + m->c4};

    return out;
}

/* Counts a node and those below; `turned`: the root turned Z-up to Y-up. */
static void count_node(const struct aiScene *read, const struct aiNode *node,
                       struct aiMatrix4x4 above, bool turned, census *c)
{
    struct aiMatrix4x4 here = above;
    unsigned i, k;

    aiMultiplyMatrix4(&here, &node->mTransformation);
    for (i = 0; i < node->mNumMeshes; i++) {
        const struct aiMesh *m = read->mMeshes[node->mMeshes[i]];

        for (k = 0; k < m->mNumFaces; k++) {
            c->triangles += m->mFaces[k].mNumIndices == 3;
            c->lines += m->mFaces[k].mNumIndices == 2;
        }
        for (k = 0; k < m->mNumVertices; k++) {
            struct aiVector3D p = transform(&here, m->mVertices[k]);
            dm_vec3 z_up = {(double)p.x, (double)p.y, (double)p.z};

            if (turned)
                z_up = (dm_vec3){(double)p.x, -(double)p.z, (double)p.y};
            widen(c, z_up);
        }
    }
    for (i = 0; i < node->mNumChildren; i++)
        count_node(read, node->mChildren[i], here, turned, c);
}

static const struct aiScene *import(const written *w, const char *name)
{
    const struct aiScene *read;
    char path[512];

    written_path(w, name, path);
    read = aiImportFile(path, aiProcess_ValidateDataStructure);
    if (read == NULL)
        fail_msg("%s: %s", name, aiGetErrorString());
    return read;
}

static void check_census(const struct aiScene *read, bool turned,
                         bool with_lines)
{
    struct aiMatrix4x4 identity = {1, 0, 0, 0, 0, 1, 0, 0,
                                   0, 0, 1, 0, 0, 0, 0, 1};
    census want = expected(with_lines), got = empty();

    count_node(read, read->mRootNode, identity, turned, &got);
    assert_int_equal(got.triangles, want.triangles);
    assert_int_equal(got.lines, want.lines);
    assert_near(got.low.x, want.low.x, 2e-5);
    assert_near(got.low.y, want.low.y, 2e-5);
    assert_near(got.low.z, want.low.z, 2e-5);
    assert_near(got.high.x, want.high.x, 2e-5);
    assert_near(got.high.y, want.high.y, 2e-5);
    assert_near(got.high.z, want.high.z, 2e-5);
}

static double linear(double v)
{
    return v <= 0.04045 ? v / 12.92 : pow((v + 0.055) / 1.055, 2.4);
}

/* Every colour of the scene has a material and the other way round. */
static void check_materials(const struct aiScene *read, bool is_linear)
{
    size_t i, k;
    int c;

    for (i = 0; i < scene->object_count; i++) {
        const dm_object *o = &scene->objects[i];
        bool found = false;

        if (o->mesh == DM_NONE)
            continue;
        for (k = 0; k < read->mNumMaterials && !found; k++) {
            struct aiColor4D colour = {0, 0, 0, 0};
            double got[3];

            if (aiGetMaterialColor(read->mMaterials[k], AI_MATKEY_COLOR_DIFFUSE,
                                   &colour) != aiReturn_SUCCESS)
                continue;
            got[0] = (double)colour.r;
            got[1] = (double)colour.g;
            got[2] = (double)colour.b;
            found = true;
            for (c = 0; c < 3; c++) {
                double want = o->colour[c] / 255.0;

                if (fabs(got[c] - (is_linear ? linear(want) : want)) > 1e-4)
                    found = false;
            }
        }
        if (!found)
            fail_msg("no material has the colour of '%s'", o->name);
    }
}

static const struct aiNode *find_node(const struct aiNode *node,
                                      const char *name)
{
    const struct aiNode *found = NULL;
    unsigned i;

    if (strcmp(node->mName.data, name) == 0)
        return node;
    for (i = 0; i < node->mNumChildren && found == NULL; i++)
        found = find_node(node->mChildren[i], name);
    return found;
}

static const struct aiMetadataEntry *find_entry(const struct aiNode *node,
                                                const char *key)
{
    unsigned i;

    assert_non_null(node);
    assert_non_null(node->mMetaData);
    for (i = 0; i < node->mMetaData->mNumProperties; i++)
        if (strcmp(node->mMetaData->mKeys[i].data, key) == 0)
            return &node->mMetaData->mValues[i];
    return NULL;
}

static void glb_reads_back(void **state)
{
    const dm_tap *tap = &fixture->results[0].taps->items[0];
    const struct aiMetadataEntry *entry;
    const struct aiScene *read;
    const struct aiNode *node;
    written w;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "glb", &w), DM_OK);
    read = import(&w, "model.glb");
    check_census(read, true, true);
    check_materials(read, true);
    node = find_node(read->mRootNode, "tap T1-I01-A");
    assert_non_null(node);
    assert_string_equal(node->mParent->mName.data, "tendon T1");
    assert_string_equal(node->mParent->mParent->mName.data, "cell C1");
    entry = find_entry(node, "X");
    assert_non_null(entry);
    assert_int_equal(entry->mType, AI_DOUBLE);
    assert_near(*(const double *)entry->mData, tap->surface.x, 1e-6);
    aiReleaseImport(read);
    read = import(&w, "heat.glb");
    assert_true(read->mNumMeshes > 10);
    aiReleaseImport(read);
    written_free(&w);
}

static void heat_glb_has_hard_colour_edges(void **state)
{
    const struct aiScene *read;
    size_t i, k, triangles = 0;
    written w;
    int c;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "glb", &w), DM_OK);
    read = import(&w, "heat.glb");
    for (i = 0; i < read->mNumMeshes; i++) {
        const struct aiMesh *m = read->mMeshes[i];

        if (m->mColors[0] == NULL)
            continue;
        for (k = 0; k < m->mNumFaces; k++) {
            const unsigned *corner = m->mFaces[k].mIndices;

            triangles++;
            for (c = 1; c < 3; c++)
                assert_memory_equal(&m->mColors[0][corner[0]],
                                    &m->mColors[0][corner[c]],
                                    sizeof(struct aiColor4D));
        }
    }
    assert_true(triangles > 100);
    aiReleaseImport(read);
    written_free(&w);
}

static void obj_reads_back(void **state)
{
    const struct aiScene *read;
    written w;
    dm_buf file;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "obj", &w), DM_OK);
    written_read(&w, "model.obj", &file);
    assert_non_null(strstr(file.data, "# origin 500020 6600000 101\n"));
    assert_non_null(strstr(file.data, "mtllib model.mtl\n"));
    assert_non_null(strstr(file.data, "g T1 duct 3\n"));
    dm_buf_free(&file);
    read = import(&w, "model.obj");
    check_census(read, false, true);
    check_materials(read, false);
    aiReleaseImport(read);
    written_free(&w);
}

static void stl_reads_back(void **state)
{
    const struct aiScene *read;
    written w;
    dm_buf file;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "stl", &w), DM_OK);
    written_read(&w, "model.stl", &file);
    assert_non_null(strstr(file.data, "origin 500020 6600000 101 m z up"));
    dm_buf_free(&file);
    read = import(&w, "model.stl");
    check_census(read, false, false);
    aiReleaseImport(read);
    written_free(&w);
}

static void dae_reads_back(void **state)
{
    const struct aiScene *read;
    written w;
    dm_buf file;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "dae", &w), DM_OK);
    written_read(&w, "model.dae", &file);
    assert_non_null(strstr(file.data, "<created>2030-06-01T00:00:00Z<"));
    assert_non_null(strstr(file.data, "<modified>2030-06-01T00:00:00Z<"));
    assert_non_null(strstr(file.data, "<up_axis>Z_UP</up_axis>"));
    assert_non_null(strstr(file.data, "<unit name=\"meter\" meter=\"1\" />"));
    assert_non_null(strstr(file.data, "name=\"tendon T1\""));
    dm_buf_free(&file);
    read = import(&w, "model.dae");
    check_census(read, true, true);
    check_materials(read, false);
    aiReleaseImport(read);
    written_free(&w);
}

static void ply_reads_back(void **state)
{
    const struct aiScene *read;
    const struct aiMesh *m;
    size_t i, k, v = 0;
    written w;
    int c;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "ply", &w), DM_OK);
    read = import(&w, "model.ply");
    check_census(read, false, false);
    assert_int_equal(read->mNumMeshes, 1);
    m = read->mMeshes[0];
    assert_non_null(m->mColors[0]);
    for (i = 0; i < scene->object_count; i++) {
        const dm_object *o = &scene->objects[i];

        if (o->mesh == DM_NONE ||
            scene->meshes[o->mesh].mode != DM_MESH_TRIANGLES)
            continue;
        for (k = 0; k < scene->meshes[o->mesh].vertex_count; k++, v++) {
            const struct aiColor4D *got = &m->mColors[0][v];
            const double rgba[4] = {(double)got->r, (double)got->g,
                                    (double)got->b, (double)got->a};

            for (c = 0; c < 4; c++)
                assert_near(rgba[c], o->colour[c] / 255.0, 1e-6);
        }
    }
    assert_int_equal(v, m->mNumVertices);
    aiReleaseImport(read);
    written_free(&w);
}

static void exports_same_input_same_bytes(void **state)
{
    static const char *const formats[][2] = {{"obj", "model.obj"},
                                             {"obj", "model.mtl"},
                                             {"stl", "model.stl"},
                                             {"dae", "model.dae"}};
    size_t i;

    (void)state;
    for (i = 0; i < sizeof formats / sizeof *formats; i++) {
        written a, b;
        dm_buf p, q;

        assert_int_equal(written_new(&fixture->delivery, formats[i][0], &a),
                         DM_OK);
        assert_int_equal(written_new(&fixture->delivery, formats[i][0], &b),
                         DM_OK);
        written_read(&a, formats[i][1], &p);
        written_read(&b, formats[i][1], &q);
        assert_int_equal(p.length, q.length);
        assert_memory_equal(p.data, q.data, p.length);
        dm_buf_free(&p);
        dm_buf_free(&q);
        written_free(&a);
        written_free(&b);
    }
}

/* Of our own allocations; those inside the library are its own affair. */
static void exports_any_failed_allocation_is_nomem(void **state)
{
    char names[][4] = {"obj", "stl", "dae"};
    size_t i;

    (void)state;
    for (i = 0; i < 3; i++)
        assert_true(allocfail_each(write_and_free, names[i]) > 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(glb_reads_back),
        cmocka_unit_test(heat_glb_has_hard_colour_edges),
        cmocka_unit_test(obj_reads_back),
        cmocka_unit_test(stl_reads_back),
        cmocka_unit_test(dae_reads_back),
        cmocka_unit_test(ply_reads_back),
        cmocka_unit_test(exports_same_input_same_bytes),
        cmocka_unit_test(exports_any_failed_allocation_is_nomem),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
