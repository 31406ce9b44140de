/* SPDX-License-Identifier: MIT
 * A straight and a bent duct with a sensor's body on it, and meshes of boxes
 * and cylinders round them. All of it is invented. */
#ifndef DM_TEST_LOW_SITE_H
#define DM_TEST_LOW_SITE_H

#include "ductmark/context.h"
#include "scratch.h"

#define PI 3.14159265358979323846
#define R 0.05 /* outside of the duct */
#define H 0.06 /* body height */
#define W 0.08 /* its width */

/* ---- meshes ------------------------------------------------------------ */

typedef struct {
    char *text;
    size_t length, corners;
} mesh;

#define MESH_SIZE ((size_t)1 << 20)

static inline mesh mesh_new(void)
{
    mesh m = {malloc(MESH_SIZE), 0, 0};

    assert_non_null(m.text);
    m.text[0] = '\0';
    return m;
}

static inline void put(mesh *m, const char *name)
{
    m->length += (size_t)snprintf(m->text + m->length, MESH_SIZE - m->length,
                                  "g %s\n", name);
}

static inline size_t put_corner(mesh *m, double x, double y, double z)
{
    m->length += (size_t)snprintf(m->text + m->length, MESH_SIZE - m->length,
                                  "v %.9f %.9f %.9f\n", x, y, z);
    assert_true(m->length < MESH_SIZE - 256);
    return ++m->corners;
}

static inline void put_face(mesh *m, size_t a, size_t b, size_t c, size_t d)
{
    m->length +=
        (size_t)snprintf(m->text + m->length, MESH_SIZE - m->length,
                         "f %zu %zu %zu\nf %zu %zu %zu\n", a, b, c, a, c, d);
}

static inline void put_box(mesh *m, const char *name, dm_vec3 lo, dm_vec3 hi)
{
    size_t c[8];

    put(m, name);
    for (size_t i = 0; i < 8; i++)
        c[i] = put_corner(m, i & 1 ? hi.x : lo.x, i & 2 ? hi.y : lo.y,
                          i & 4 ? hi.z : lo.z);
    put_face(m, c[0], c[2], c[3], c[1]);
    put_face(m, c[4], c[5], c[7], c[6]);
    put_face(m, c[0], c[1], c[5], c[4]);
    put_face(m, c[2], c[6], c[7], c[3]);
    put_face(m, c[0], c[4], c[6], c[2]);
    put_face(m, c[1], c[3], c[7], c[5]);
}

#define SIDES 1440

/* A prism of 1440 sides in a cylinder, along u from `at`: its sagitta is 2.4e-6
 * of the radius. From angle 0 to `part` turns, from a towards b. */
static inline void put_cylinder(mesh *m, const char *name, dm_vec3 at,
                                dm_vec3 u, dm_vec3 a, dm_vec3 b, double radius,
                                double part)
{
    size_t first = m->corners + 1, count = (size_t)(part * SIDES + 0.5);

    put(m, name);
    for (size_t i = 0; i <= count; i++) {
        double w = 2.0 * PI * (double)i / SIDES;
        dm_vec3 p = dm_vec3_along(dm_vec3_along(at, radius * cos(w), a),
                                  radius * sin(w), b);
        dm_vec3 q = dm_vec3_add(p, u);

        put_corner(m, p.x, p.y, p.z);
        put_corner(m, q.x, q.y, q.z);
    }
    for (size_t i = 0; i < count; i++) {
        size_t k = first + 2 * i;

        put_face(m, k, k + 1, k + 3, k + 2);
    }
}

static inline dm_context *read_mesh(mesh *m)
{
    dm_context_source source = {0};
    dm_context *c = NULL;
    scratch files;

    scratch_init(&files);
    source.path = scratch_file(&files, "girder.obj", m->text);
    assert_int_equal(dm_context_read(&source, 1, NULL, NULL, &c), DM_OK);
    scratch_free(&files);
    free(m->text);
    return c;
}

/* ---- ducts ------------------------------------------------------------- */

typedef struct {
    dm_segment segments[2];
    dm_duct_type type;
    dm_duct_length duct;
    dm_tendon tendon;
    dm_model model;
    double clock[2], width[2];
    dm_body body;
} site;

/* Along X from the origin: 10 m straight; or 2 m straight, then an arc of
 * radius 5 m in the plane of `normal`, 1 rad long. */
static inline void site_init(site *s, bool bent, dm_vec3 normal, double clock)
{
    memset(s, 0, sizeof *s);
    s->segments[0] =
        (dm_segment){.length = bent ? 2.0 : 10.0, .tangent = {1.0, 0.0, 0.0}};
    s->segments[1] = (dm_segment){.t0 = 2.0,
                                  .length = 5.0,
                                  .begin = {2.0, 0.0, 0.0},
                                  .tangent = {1.0, 0.0, 0.0},
                                  .kappa = 0.2,
                                  .normal = normal};
    s->type.od = 2.0 * R;
    s->duct = (dm_duct_length){.from = 0.0, .to = 10.0};
    s->tendon.id = "T";
    s->tendon.ducts = &s->duct;
    s->tendon.duct_count = 1;
    s->tendon.line = (dm_centreline){.segments = s->segments,
                                     .count = bent ? 2 : 1,
                                     .length = bent ? 7.0 : 10.0,
                                     .vertical_limit = 10.0 * PI / 180.0};
    s->model = (dm_model){.tendons = &s->tendon,
                          .tendon_count = 1,
                          .duct_types = &s->type,
                          .duct_type_count = 1};
    s->clock[0] = clock;
    s->width[0] = W;
    s->body = (dm_body){s->clock, s->width, 1, H};
}

static inline site *straight(double clock)
{
    static site s;

    site_init(&s, false, (dm_vec3){0}, clock);
    return &s;
}

static inline size_t ask(const site *s, const dm_context *c,
                         dm_low_clearance *low)
{
    dm_low_clearance *items;
    size_t count;

    assert_int_equal(dm_context_low(c, &s->model, 0, &s->body, 0.0,
                                    s->tendon.line.length, &items, &count),
                     DM_OK);
    assert_true(count <= 4);
    for (size_t i = 0; i < count; i++)
        low[i] = items[i];
    free(items);
    return count;
}

/* Asks of a mesh, frees it. */
static inline size_t ask_of(const site *s, mesh *m, dm_low_clearance *low)
{
    dm_context *c = read_mesh(m);
    size_t count = ask(s, c, low);

    if (count > 0)
        assert_non_null(strstr(low[0].name, "girder.obj: "));
    for (size_t i = 0; i < count; i++)
        low[i].name = NULL; /* the context's */
    dm_context_free(c);
    return count;
}

#endif
