/* SPDX-License-Identifier: MIT
 * Meshes round the tendons: read, placed, asked.
 *
 * Points are kept in double from the middle of all of them; the tree that finds
 * triangles is single precision, the distances are not. Rays: the first
 * triangle by the tree, the distance to its plane. Nearest: all triangles
 * within the radius that the best one so far leaves. */
#include "ductmark/context.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/arena.h"
#include "base/diag.h"
#include "base/file.h"
#include "base/num.h"
#include "context/around.h"
#include "context/distance.h"
#include "context/soup.h"
#include "mesh/assimp.h"

#define MOST_FILES ((size_t)1000)
/* Single precision is worse than 1 mm beyond, m. */
#define FAR_OFF 8192.0

typedef struct {
    const char *name;
    size_t first; /* triangle */
} named;

struct dm_context {
    dm_arena *arena;
    const char **file, **sha256;
    size_t file_count;
    dm_soup soup; /* relative to the origin */
    named *parts;
    dm_vec3 origin;
    double margin; /* what single precision may be off, m */
    dm_rays *rays;
};

dm_context_limits dm_context_limits_default(void)
{
    return (dm_context_limits){.seconds = 60.0,
                               .memory = (size_t)4 << 30,
                               .file = (size_t)1 << 30,
                               .triangles = 10000000};
}

void dm_soup_free(dm_soup *soup)
{
    free(soup->point);
    free(soup->index);
    free(soup->parts);
    *soup = (dm_soup){0};
}

void dm_context_free(dm_context *context)
{
    if (context == NULL)
        return;
    dm_rays_free(context->rays);
    dm_soup_free(&context->soup);
    free(context->parts);
    dm_arena_free(context->arena);
    free(context);
}

size_t dm_context_file_count(const dm_context *context)
{
    return context == NULL ? 0 : context->file_count;
}

const char *dm_context_file(const dm_context *context, size_t i,
                            const char **sha256)
{
    if (sha256 != NULL)
        *sha256 = context->sha256[i];
    return context->file[i];
}

size_t dm_context_triangle_count(const dm_context *context)
{
    return context == NULL ? 0 : context->soup.triangle_count;
}

/* ---- reading ---------------------------------------------------------- */

typedef struct {
    const char *path;
    int fd;
} child_job;

static bool send_part(void *user, const char *name, const double *points,
                      size_t count, const uint32_t *index, size_t triangles)
{
    const child_job *j = user;

    return dm_send_part(j->fd, name, points, count, index, triangles);
}

static void in_child(int fd, void *user)
{
    child_job *j = user;
    char fault[DM_FAULT_SIZE];

    j->fd = fd;
    if (dm_mesh_import(j->path, send_part, j, fault, sizeof fault))
        dm_send_end(fd);
    else
        dm_send_fault(fd, fault);
}

/* The ending of a name, in small letters; "" for one that is none of ours. */
static const char *format_of(const char *path, bool *y_up)
{
    static const struct {
        const char *ending;
        bool y_up;
    } formats[] = {{"obj", false}, {"ply", false}, {"stl", false},
                   {"gltf", true}, {"glb", true},  {"dae", true}};
    const char *dot = strrchr(path, '.');

    for (size_t i = 0; dot != NULL && i < sizeof formats / sizeof *formats;
         i++) {
        const char *a = dot + 1, *b = formats[i].ending;

        while (*a != '\0' && (*a >= 'A' && *a <= 'Z' ? *a + 32 : *a) == *b) {
            a++;
            b++;
        }
        if (*a == '\0' && *b == '\0') {
            *y_up = formats[i].y_up;
            return formats[i].ending;
        }
    }
    return "";
}

/* Reads the file once for its hash and to know that it can be read. */
static dm_status hash_file(dm_context *c, const dm_context_source *s,
                           const dm_context_limits *limits, dm_diag *diag)
{
    char *hex = dm_arena_alloc(c->arena, 1, 65);
    const char *name = dm_arena_strdup(c->arena, s->path);
    dm_buf data = {0};
    dm_sha256 *hash;
    dm_status status =
        dm_file_read(s->path, limits->file, s->place, diag, &data);

    if (status != DM_OK)
        return status;
    hash = dm_sha256_new();
    if (hash == NULL || hex == NULL || name == NULL) {
        dm_buf_free(&data);
        dm_sha256_free(hash);
        return dm_error(diag, DM_NOMEM, s->place, "context", "out of memory");
    }
    dm_sha256_update(hash, data.data, data.length);
    dm_sha256_hex(hash, hex);
    dm_sha256_free(hash);
    dm_buf_free(&data);
    c->file[c->file_count] = name;
    c->sha256[c->file_count++] = hex;
    return DM_OK;
}

/* Turns, scales and moves what was added. False: too far from its origin. */
static bool stand(dm_soup *soup, size_t first, const dm_context_source *s,
                  bool y_up)
{
    double unit = s->unit > 0.0 ? s->unit : 1.0;
    bool turn = s->up == DM_UP_Y || (s->up == DM_UP_OF_FORMAT && y_up);

    for (size_t i = first; i < soup->point_count; i++) {
        double *p = soup->point + 3 * i;
        double x = unit * p[0], y = unit * p[1], z = unit * p[2];

        if (!(fmax(fabs(x), fmax(fabs(y), fabs(z))) <= FAR_OFF))
            return false;
        p[0] = s->at.x + x;
        p[1] = s->at.y + (turn ? -z : y);
        p[2] = s->at.z + (turn ? y : z);
    }
    return true;
}

static dm_status read_one(dm_context *c, const dm_context_source *s,
                          const dm_context_limits *limits, dm_diag *diag)
{
    char fault[DM_FAULT_SIZE];
    size_t first = c->soup.point_count;
    child_job job = {s->path, -1};
    bool y_up = false;
    dm_status status;

    if (format_of(s->path, &y_up)[0] == '\0')
        return dm_error(diag, DM_UNSUPPORTED, s->place, "context",
                        "'%s': expected a mesh as obj, ply, stl, gltf, glb or "
                        "dae",
                        s->path);
    status = hash_file(c, s, limits, diag);
    if (status != DM_OK)
        return status;
    status = dm_child_triangles(in_child, &job, limits, &c->soup, fault);
    if (status == DM_NOMEM)
        return dm_error(diag, status, s->place, "context", "out of memory");
    if (status != DM_OK)
        return dm_error(diag, status, s->place, "context",
                        "cannot read '%s': %s", s->path, fault);
    if (!stand(&c->soup, first, s, y_up))
        return dm_error(diag, DM_RANGE, s->place, "context",
                        "'%s' has points more than 8 km from its origin, where "
                        "a mesh is worse than 1 mm: give it about a near "
                        "origin, and that as x, y, z",
                        s->path);
    return DM_OK;
}

/* Moves the origin into the middle. */
static void centre(dm_context *c)
{
    dm_soup *s = &c->soup;
    double lo[3] = {HUGE_VAL, HUGE_VAL, HUGE_VAL};
    double hi[3] = {-HUGE_VAL, -HUGE_VAL, -HUGE_VAL}, mid[3], extent = 0.0;

    for (size_t i = 0; i < s->point_count; i++)
        for (size_t k = 0; k < 3; k++) {
            lo[k] = fmin(lo[k], s->point[3 * i + k]);
            hi[k] = fmax(hi[k], s->point[3 * i + k]);
        }
    for (size_t k = 0; k < 3; k++) {
        mid[k] = floor(0.5 * (lo[k] + hi[k]));
        extent = fmax(extent, hi[k] - lo[k]);
    }
    for (size_t i = 0; i < s->point_count; i++)
        for (size_t k = 0; k < 3; k++)
            s->point[3 * i + k] -= mid[k];
    c->origin = (dm_vec3){mid[0], mid[1], mid[2]};
    c->margin = 1e-6 + 4.0 * (double)FLT_EPSILON * extent;
}

static bool name_parts(dm_context *c, const size_t *last)
{
    size_t file = 0;

    c->parts = calloc(c->soup.part_count + 1, sizeof *c->parts);
    if (c->parts == NULL)
        return false;
    for (size_t i = 0; i < c->soup.part_count; i++) {
        const dm_soup_part *p = &c->soup.parts[i];
        const char *base;

        while (p->first >= last[file])
            file++;
        base = strrchr(c->file[file], '/');
        base = base == NULL ? c->file[file] : base + 1;
        c->parts[i].first = p->first;
        c->parts[i].name =
            p->name[0] == '\0'
                ? dm_arena_strdup(c->arena, base)
                : dm_arena_printf(c->arena, "%s: %s", base, p->name);
        if (c->parts[i].name == NULL)
            return false;
    }
    return true;
}

static dm_status read_all(dm_context *c, const dm_context_source *sources,
                          size_t count, const dm_context_limits *limits,
                          dm_diag *diag)
{
    dm_place nowhere = {NULL, 0};
    size_t *last = calloc(count + 1, sizeof *last);
    dm_status status = DM_OK;

    c->arena = dm_arena_new();
    if (c->arena != NULL) {
        c->file = DM_NEW_ARRAY(c->arena, const char *, count);
        c->sha256 = DM_NEW_ARRAY(c->arena, const char *, count);
    }
    if (last == NULL || c->arena == NULL || c->file == NULL ||
        c->sha256 == NULL) {
        free(last);
        return dm_error(diag, DM_NOMEM, nowhere, "context", "out of memory");
    }
    for (size_t i = 0; i < count; i++) {
        dm_status one = read_one(c, &sources[i], limits, diag);

        last[i] = c->soup.triangle_count;
        if (status == DM_OK)
            status = one;
    }
    if (status == DM_OK) {
        centre(c);
        c->rays = dm_rays_new(c->soup.point, c->soup.point_count, c->soup.index,
                              c->soup.triangle_count);
        if (c->rays == NULL || !name_parts(c, last))
            status =
                dm_error(diag, DM_NOMEM, nowhere, "context", "out of memory");
    }
    free(last);
    return status;
}

dm_status dm_context_read(const dm_context_source *sources, size_t count,
                          const dm_context_limits *limits, dm_diag *diag,
                          dm_context **out)
{
    dm_context_limits usual = dm_context_limits_default();
    dm_context *c;
    dm_status status;

    *out = NULL;
    if (count == 0)
        return DM_OK;
    if (count > MOST_FILES)
        return dm_error(diag, DM_RANGE, sources[0].place, "context",
                        "%zu mesh files, expected at most %zu", count,
                        MOST_FILES);
    c = calloc(1, sizeof *c);
    if (c == NULL)
        return dm_error(diag, DM_NOMEM, sources[0].place, "context",
                        "out of memory");
    status =
        read_all(c, sources, count, limits != NULL ? limits : &usual, diag);
    if (status != DM_OK)
        dm_context_free(c);
    else
        *out = c;
    return status;
}

/* ---- asking ----------------------------------------------------------- */

static void corners(const dm_context *c, size_t triangle, dm_vec3 corner[3])
{
    for (size_t k = 0; k < 3; k++) {
        const double *p =
            c->soup.point + 3 * (size_t)c->soup.index[3 * triangle + k];

        corner[k] = (dm_vec3){p[0], p[1], p[2]};
    }
}

const char *dm_context_name(const dm_context *c, size_t triangle)
{
    size_t lo = 0, hi = c->soup.part_count;

    while (hi - lo > 1) { /* parts[lo].first <= triangle < parts[hi].first */
        size_t mid = lo + (hi - lo) / 2;

        if (c->parts[mid].first <= triangle)
            lo = mid;
        else
            hi = mid;
    }
    return c->parts[lo].name;
}

typedef struct {
    const dm_context *context;
    const dm_context_skip *skip;
    dm_vec3 a, b; /* relative to the origin */
    double half;  /* of a b */
    bool found;
    size_t triangle;
    double distance;
    dm_vec3 on;
} question;

bool dm_context_counts(const dm_context *c, const dm_context_skip *skip,
                       size_t triangle)
{
    dm_vec3 corner[3];

    if (skip == NULL || skip->line == NULL)
        return true;
    corners(c, triangle, corner);
    for (int k = 0; k < 3; k++) {
        double d;

        dm_centreline_nearest(skip->line, dm_vec3_add(c->origin, corner[k]),
                              &d);
        if (d > skip->radius)
            return true;
    }
    return false;
}

static bool counts(void *user, size_t triangle)
{
    const question *q = user;

    return dm_context_counts(q->context, q->skip, triangle);
}

bool dm_context_ray(const dm_context *context, dm_vec3 from, dm_vec3 direction,
                    double reach, const dm_context_skip *skip,
                    dm_context_hit *hit)
{
    question q = {.context = context, .skip = skip};
    dm_vec3 corner[3];
    double d;

    if (context == NULL)
        return false;
    q.a = dm_vec3_sub(from, context->origin);
    if (!dm_rays_first(context->rays, q.a, direction, reach + context->margin,
                       counts, &q, &q.triangle))
        return false;
    corners(context, q.triangle, corner);
    if (!dm_plane_ahead(q.a, direction, corner, &d) || d > reach)
        return false;
    hit->distance = fmax(0.0, d);
    hit->point = dm_vec3_along(from, hit->distance, direction);
    hit->name = dm_context_name(context, q.triangle);
    return true;
}

static void closer(void *user, size_t triangle, double *radius)
{
    question *q = user;
    dm_vec3 corner[3], on;
    double d;

    corners(q->context, triangle, corner);
    d = dm_triangle_apart(q->a, q->b, corner, &on);
    if (d > q->distance ||
        (q->found && d == q->distance && triangle > q->triangle) ||
        !counts(q, triangle))
        return;
    q->found = true;
    q->distance = d;
    q->triangle = triangle;
    q->on = on;
    *radius = d + q->half + q->context->margin;
}

bool dm_context_near(const dm_context *context, dm_vec3 a, dm_vec3 b,
                     double within, const dm_context_skip *skip,
                     dm_context_hit *hit)
{
    question q = {.context = context, .skip = skip, .distance = within};
    dm_vec3 mid;

    if (context == NULL)
        return false;
    q.a = dm_vec3_sub(a, context->origin);
    q.b = dm_vec3_sub(b, context->origin);
    mid = dm_vec3_scale(dm_vec3_add(q.a, q.b), 0.5);
    q.half = 0.5 * dm_vec3_norm(dm_vec3_sub(b, a));
    dm_rays_near(context->rays, mid, within + q.half + context->margin, closer,
                 &q);
    if (!q.found)
        return false;
    hit->distance = q.distance;
    hit->point = dm_vec3_add(context->origin, q.on);
    hit->name = dm_context_name(context, q.triangle);
    return true;
}

typedef struct {
    const dm_context *context;
    dm_context_take *take;
    void *user;
} looker;

static void pass(void *user, size_t triangle, double *radius)
{
    const looker *l = user;
    dm_vec3 corner[3];

    (void)radius;
    corners(l->context, triangle, corner);
    for (int k = 0; k < 3; k++)
        corner[k] = dm_vec3_add(l->context->origin, corner[k]);
    l->take(l->user, triangle, corner);
}

void dm_context_around(const dm_context *context, dm_vec3 p, double radius,
                       dm_context_take *take, void *user)
{
    looker l = {context, take, user};

    dm_rays_near(context->rays, dm_vec3_sub(p, context->origin),
                 radius + context->margin, pass, &l);
}
