/* SPDX-License-Identifier: MIT
 * The binary glTF of the fixture, taken apart by hand: container, offsets,
 * sizes, bytes. Source: Khronos glTF 2.0 specification, section 4.4 (GLB) and
 * 3.6 (accessors). The Khronos validator runs as validate_gltf, a reader of
 * another library in test_assimp. */
#include "near.h"

#include <stdlib.h>
#include <string.h>

#include "scene_group.h"

static uint32_t read_u32(const dm_buf *file, size_t at)
{
    uint32_t value;

    assert_true(at + 4 <= file->length);
    memcpy(&value, file->data + at, sizeof value);
    return value;
}

/* The JSON chunk as a string to be freed; *bin: where the binary data are. */
static char *take_apart(const dm_buf *file, size_t *bin)
{
    uint32_t json = read_u32(file, 12);
    char *text = malloc((size_t)json + 1);

    assert_non_null(text);
    assert_memory_equal(file->data, "glTF", 4);
    assert_int_equal(read_u32(file, 4), 2);
    assert_int_equal(read_u32(file, 8), file->length);
    assert_memory_equal(file->data + 16, "JSON", 4);
    assert_int_equal(json % 4, 0);
    memcpy(text, file->data + 20, json);
    text[json] = '\0';
    *bin = 20 + (size_t)json + 8;
    assert_memory_equal(file->data + *bin - 4, "BIN", 4);
    assert_int_equal(read_u32(file, *bin - 8), file->length - *bin);
    return text;
}

static void has(const char *json, const char *piece)
{
    if (strstr(json, piece) == NULL)
        fail_msg("the JSON has no %s", piece);
}

static void glb_container_and_words(void **state)
{
    written w;
    dm_buf file;
    size_t bin;
    char *json;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "glb", &w), DM_OK);
    written_read(&w, "model.glb", &file);
    json = take_apart(&file, &bin);
    has(json, "{\"asset\":{\"version\":\"2.0\",\"generator\":\"ductmark ");
    has(json, "\"origin\":{\"x\":500020,\"y\":6600000,\"z\":101}");
    has(json, "\"epsg\":25832,\"verticalEpsg\":7837");
    has(json, "\"rotation\":[-0.7071067811865476,0,0,0.7071067811865476]");
    /* names and ids are escaped, UTF-8 stays */
    has(json, "{\"name\":\"M\xc3\xbchlbach \\\"test\\\" bridge\"");
    has(json, "{\"scheme\":\"owner\",\"value\":\"B <7> & \\\"x\\\"\"}");
    has(json, "\"Uid\":\"970236ec-7fea-5240-8068-cb30b1b388f5\"");
    has(json, "\"TapeFromBackFace\":9.300000");
    has(json, "\"OpenAtTo\":true");
    has(json, "\"KHR_materials_unlit\"");
    has(json, "\"alphaMode\":\"BLEND\"");
    has(json, "\"sha256\":\"0000");
    assert_null(strstr(json, "nan"));
    assert_null(strstr(json, "inf,"));
    free(json);
    dm_buf_free(&file);
    written_free(&w);
}

static void glb_arrays_are_the_scenes(void **state)
{
    size_t bin, i, at, vertices = 0, indices = 0, normals = 0;
    written w;
    dm_buf file;
    char *json;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "glb", &w), DM_OK);
    written_read(&w, "model.glb", &file);
    json = take_apart(&file, &bin);
    for (i = 0; i < scene->object_count; i++) {
        const dm_mesh *m;

        if (scene->objects[i].mesh == DM_NONE)
            continue;
        m = &scene->meshes[scene->objects[i].mesh];
        assert_true(m->vertex_count <= 65535);
        assert_memory_equal(file.data + bin + 12 * vertices, m->position,
                            12 * m->vertex_count);
        vertices += m->vertex_count;
        normals += m->normal == NULL ? 0 : m->vertex_count;
        indices += m->index_count;
    }
    at = 12 * (vertices + normals);
    assert_int_equal(file.length - bin, at + (2 * indices + 3) / 4 * 4);
    for (i = 0; i < 6; i++) { /* the first duct's first two triangles */
        const dm_mesh *m = NULL;
        uint16_t index;
        size_t k;

        for (k = 0; m == NULL; k++)
            if (scene->objects[k].mesh != DM_NONE)
                m = &scene->meshes[scene->objects[k].mesh];
        memcpy(&index, file.data + bin + at + 2 * i, 2);
        assert_int_equal(index, m->index[i]);
    }
    free(json);
    dm_buf_free(&file);
    written_free(&w);
}

static void heat_colours_are_linear(void **state)
{
    /* f7 is 0.968627 in sRGB: ((0.968627 + 0.055)/1.055)^2.4 = 0.930111
     * (IEC 61966-2-1; value computed independently), 237.2 of 255. */
    static const uint8_t sound[4] = {237, 237, 237, 255};
    written w;
    dm_buf file;
    static const uint8_t srgb[4] = {0xf7, 0xf7, 0xf7, 0xff};
    size_t bin, i, k, found = 0, expected = 0;
    char *json;

    (void)state;
    for (i = 0; i < scene->object_count; i++) {
        const dm_object *o = &scene->objects[i];
        const dm_mesh *m = o->heat == DM_NONE ? NULL : &scene->meshes[o->heat];

        for (k = 0; m != NULL && m->colour != NULL && k < m->vertex_count; k++)
            expected += memcmp(m->colour + 4 * k, srgb, 4) == 0;
    }
    assert_true(expected > 20);
    assert_int_equal(written_new(&fixture->delivery, "glb", &w), DM_OK);
    written_read(&w, "heat.glb", &file);
    json = take_apart(&file, &bin);
    has(json, "\"COLOR_0\":");
    has(json, "\"componentType\":5121");
    has(json, "\"normalized\":true");
    has(json, "\"heatLegend\":[");
    for (i = bin; i + 4 <= file.length; i += 4)
        found += memcmp(file.data + i, sound, 4) == 0;
    assert_int_equal(found, expected);
    free(json);
    dm_buf_free(&file);
    written_free(&w);
}

static void glb_same_input_same_bytes(void **state)
{
    static const char *const names[] = {"model.glb", "heat.glb"};
    written a, b;
    dm_buf p, q;
    size_t i;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "glb", &a), DM_OK);
    assert_int_equal(written_new(&fixture->delivery, "glb", &b), DM_OK);
    for (i = 0; i < 2; i++) {
        written_read(&a, names[i], &p);
        written_read(&b, names[i], &q);
        assert_int_equal(p.length, q.length);
        assert_memory_equal(p.data, q.data, p.length);
        dm_buf_free(&p);
        dm_buf_free(&q);
    }
    written_free(&a);
    written_free(&b);
}

/* A mesh of 65 536 vertices needs 32-bit indices; one of 65 535 does not. */
static void glb_wide_indices_from_65536_vertices(void **state)
{
    static const struct {
        size_t vertices;
        const char *type, *absent;
    } cases[] = {{65535, "\"componentType\":5123", "\"componentType\":5125"},
                 {65536, "\"componentType\":5125", "\"componentType\":5123"}};
    float *data = calloc(3 * 65536, sizeof *data);
    dm_delivery delivery = fixture->delivery;
    size_t i, k, bin;

    (void)state;
    assert_non_null(data);
    for (k = 0; k < 65536; k++)
        data[3 * k + 2] = 1.0f; /* unit normals, and a place */
    for (i = 0; i < 2; i++) {
        uint32_t index[3] = {0, 1, (uint32_t)cases[i].vertices - 1};
        dm_object object = {.name = "o", .set = "", .colour_name = "c"};
        dm_mesh mesh = {0};
        dm_scene one = {0};
        uint32_t last = 0;
        written w;
        dm_buf file;
        char *json;

        object.parent = DM_NONE;
        object.heat = DM_NONE;
        mesh.position = mesh.normal = data;
        mesh.index = index;
        mesh.index_count = 3;
        mesh.vertex_count = cases[i].vertices;
        one.objects = &object;
        one.meshes = &mesh;
        one.object_count = one.mesh_count = 1;
        delivery.scene = &one;
        assert_int_equal(written_new(&delivery, "glb", &w), DM_OK);
        written_read(&w, "model.glb", &file);
        json = take_apart(&file, &bin);
        has(json, cases[i].type);
        assert_null(strstr(json, cases[i].absent));
        memcpy(&last, file.data + bin + 24 * cases[i].vertices + 4 + 4 * i,
               i == 0 ? 2 : 4);
        assert_int_equal(last, cases[i].vertices - 1);
        free(json);
        dm_buf_free(&file);
        written_free(&w);
    }
    free(data);
}

static void glb_any_failed_allocation_is_nomem(void **state)
{
    char name[] = "glb";

    (void)state;
    assert_true(allocfail_each(write_and_free, name) > 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(glb_container_and_words),
        cmocka_unit_test(glb_arrays_are_the_scenes),
        cmocka_unit_test(heat_colours_are_linear),
        cmocka_unit_test(glb_same_input_same_bytes),
        cmocka_unit_test(glb_wide_indices_from_65536_vertices),
        cmocka_unit_test(glb_any_failed_allocation_is_nomem),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
