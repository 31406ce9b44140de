/* SPDX-License-Identifier: MIT
 * Embree 3, which this file alone includes: a tree over triangles. It works in
 * single precision; who asks reckons the distance again in double. Built by
 * one thread, so that the tree does not depend on how many there are. */
#include <math.h>
#include <stdlib.h>

#include <embree3/rtcore.h>

#include "context/soup.h"

struct dm_rays {
    RTCDevice device;
    RTCScene scene;
};

static bool fill(struct dm_rays *r, const double *point, size_t point_count,
                 const uint32_t *index, size_t triangle_count)
{
    RTCGeometry g = rtcNewGeometry(r->device, RTC_GEOMETRY_TYPE_TRIANGLE);
    float *v = g == NULL
                   ? NULL
                   : rtcSetNewGeometryBuffer(g, RTC_BUFFER_TYPE_VERTEX, 0,
                                             RTC_FORMAT_FLOAT3,
                                             3 * sizeof(float), point_count);
    unsigned *f = v == NULL ? NULL
                            : rtcSetNewGeometryBuffer(
                                  g, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3,
                                  3 * sizeof(unsigned), triangle_count);

    for (size_t i = 0; f != NULL && i < 3 * point_count; i++)
        v[i] = (float)point[i];
    for (size_t i = 0; f != NULL && i < 3 * triangle_count; i++)
        f[i] = index[i];
    if (f != NULL) {
        rtcCommitGeometry(g);
        rtcAttachGeometry(r->scene, g);
        rtcSetSceneFlags(r->scene, RTC_SCENE_FLAG_ROBUST |
                                       RTC_SCENE_FLAG_CONTEXT_FILTER_FUNCTION);
        rtcCommitScene(r->scene);
    }
    if (g != NULL)
        rtcReleaseGeometry(g);
    return f != NULL && rtcGetDeviceError(r->device) == RTC_ERROR_NONE;
}

dm_rays *dm_rays_new(const double *point, size_t point_count,
                     const uint32_t *index, size_t triangle_count)
{
    struct dm_rays *r = calloc(1, sizeof *r);

    if (r == NULL)
        return NULL;
    r->device = rtcNewDevice("threads=1,set_affinity=0");
    r->scene = r->device == NULL ? NULL : rtcNewScene(r->device);
    if (r->scene == NULL ||
        !fill(r, point, point_count, index, triangle_count)) {
        dm_rays_free(r);
        return NULL;
    }
    return r;
}

void dm_rays_free(dm_rays *rays)
{
    if (rays == NULL)
        return;
    if (rays->scene != NULL)
        rtcReleaseScene(rays->scene);
    if (rays->device != NULL)
        rtcReleaseDevice(rays->device);
    free(rays);
}

/* ---- along a ray ------------------------------------------------------ */

typedef struct {
    struct RTCIntersectContext base; /* first: Embree hands it back */
    dm_rays_take *take;
    void *user;
} asking;

static void filter(const struct RTCFilterFunctionNArguments *args)
{
    const asking *a = (const asking *)(const void *)args->context;

    /* Of one hit: three of the normal, u, v, then the triangle. */
    const unsigned *hit = (const void *)args->hit;

    if (args->valid[0] == -1 && !a->take(a->user, hit[5]))
        args->valid[0] = 0;
}

bool dm_rays_first(const dm_rays *rays, dm_vec3 from, dm_vec3 direction,
                   double reach, dm_rays_take *take, void *user,
                   size_t *triangle)
{
    struct RTCRayHit r = {0};
    asking a = {.take = take, .user = user};

    rtcInitIntersectContext(&a.base);
    a.base.filter = filter;
    r.ray.org_x = (float)from.x;
    r.ray.org_y = (float)from.y;
    r.ray.org_z = (float)from.z;
    r.ray.dir_x = (float)direction.x;
    r.ray.dir_y = (float)direction.y;
    r.ray.dir_z = (float)direction.z;
    r.ray.tfar = (float)reach;
    r.ray.mask = 0xffffffffu;
    r.hit.geomID = RTC_INVALID_GEOMETRY_ID;
    r.hit.instID[0] = RTC_INVALID_GEOMETRY_ID;
    rtcIntersect1(rays->scene, &a.base, &r);
    *triangle = r.hit.primID;
    return r.hit.geomID != RTC_INVALID_GEOMETRY_ID;
}

/* ---- round a point ---------------------------------------------------- */

typedef struct {
    dm_rays_each *each;
    void *user;
    double radius;
} around;

static bool visit(struct RTCPointQueryFunctionArguments *args)
{
    around *a = args->userPtr;
    double before = a->radius;

    a->each(a->user, args->primID, &a->radius);
    if (!(a->radius < before))
        return false;
    args->query->radius = nextafterf((float)a->radius, INFINITY);
    return true;
}

void dm_rays_near(const dm_rays *rays, dm_vec3 p, double radius,
                  dm_rays_each *each, void *user)
{
    around a = {each, user, radius};
    struct RTCPointQuery q = {(float)p.x, (float)p.y, (float)p.z, 0.0f,
                              nextafterf((float)radius, INFINITY)};
    struct RTCPointQueryContext context;

    rtcInitPointQueryContext(&context);
    rtcPointQuery(rays->scene, &q, &context, visit, &a);
}
