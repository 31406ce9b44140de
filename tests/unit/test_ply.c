/* SPDX-License-Identifier: MIT
 * The binary PLY of the fixture, read by hand after G. Turk, "The PLY Polygon
 * File Format" (1994). */
#include "near.h"

#include <stdlib.h>
#include <string.h>

#include "scene_group.h"

static size_t count_after(const char *head, const char *word)
{
    const char *at = strstr(head, word);

    assert_non_null(at);
    return (size_t)strtoul(at + strlen(word), NULL, 10);
}

static void ply_has_every_vertex_face_and_colour(void **state)
{
    size_t i, k, vertices, faces, v = 0, f = 0;
    const char *body, *face;
    written w;
    dm_buf file;

    (void)state;
    assert_int_equal(written_new(&fixture->delivery, "ply", &w), DM_OK);
    written_read(&w, "model.ply", &file);
    assert_memory_equal(file.data, "ply\nformat binary_little_endian 1.0\n",
                        36);
    body = strstr(file.data, "end_header\n");
    assert_non_null(body);
    body += 11;
    assert_non_null(strstr(file.data, "comment origin 500020 6600000 101\n"));
    assert_non_null(strstr(file.data, "comment EPSG 25832\n"));
    assert_non_null(strstr(file.data, "comment units m; x east, y north, "
                                      "z up\n"));
    vertices = count_after(file.data, "element vertex ");
    faces = count_after(file.data, "element face ");
    face = body + 28 * vertices;
    assert_int_equal(file.data + file.length - face, 13 * faces);
    for (i = 0; i < scene->object_count; i++) {
        const dm_object *o = &scene->objects[i];
        const dm_mesh *m;

        if (o->mesh == DM_NONE ||
            scene->meshes[o->mesh].mode != DM_MESH_TRIANGLES)
            continue;
        m = &scene->meshes[o->mesh];
        for (k = 0; k < m->vertex_count; k++) {
            assert_memory_equal(body + 28 * (v + k), m->position + 3 * k, 12);
            assert_memory_equal(body + 28 * (v + k) + 12, m->normal + 3 * k,
                                12);
            assert_memory_equal(body + 28 * (v + k) + 24, o->colour, 4);
        }
        for (k = 0; k < m->index_count / 3; k++) {
            const char *at = face + 13 * (f + k);
            uint32_t corner[3];

            memcpy(corner, at + 1, sizeof corner);
            assert_int_equal(at[0], 3);
            assert_int_equal(corner[0], v + m->index[3 * k]);
            assert_int_equal(corner[1], v + m->index[3 * k + 1]);
            assert_int_equal(corner[2], v + m->index[3 * k + 2]);
        }
        v += m->vertex_count;
        f += m->index_count / 3;
    }
    assert_int_equal(v, vertices);
    assert_int_equal(f, faces);
    dm_buf_free(&file);
    written_free(&w);
}

static void ply_line_ends_in_names_stay_inside_the_comment(void **state)
{
    dm_model model = fixture->model;
    dm_delivery delivery = fixture->delivery;
    written w;
    dm_buf file;

    (void)state;
    model.name = "a\nelement vertex 7\n-- b";
    delivery.model = &model;
    assert_int_equal(written_new(&delivery, "ply", &w), DM_OK);
    written_read(&w, "model.ply", &file);
    assert_non_null(strstr(file.data, "comment bridge a element vertex 7 "));
    assert_null(strstr(file.data, "\nelement vertex 7"));
    assert_null(strstr(file.data, "--"));
    dm_buf_free(&file);
    written_free(&w);
}

static void ply_any_failed_allocation_is_nomem(void **state)
{
    char name[] = "ply";

    (void)state;
    assert_true(allocfail_each(write_and_free, name) > 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ply_has_every_vertex_face_and_colour),
        cmocka_unit_test(ply_line_ends_in_names_stay_inside_the_comment),
        cmocka_unit_test(ply_any_failed_allocation_is_nomem),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
