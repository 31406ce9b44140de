/* SPDX-License-Identifier: MIT
 * Triangles on their way from a file into a context. */
#ifndef DM_CONTEXT_SOUP_H
#define DM_CONTEXT_SOUP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "ductmark/context.h"

#define DM_PART_NAME 128
#define DM_FAULT_SIZE 256

typedef struct {
    char name[DM_PART_NAME]; /* no control characters */
    size_t first;            /* triangle */
} dm_soup_part;

/* On the heap. */
typedef struct {
    double *point; /* 3 each */
    size_t point_count, point_capacity;
    uint32_t *index; /* 3 each, < point_count */
    size_t triangle_count, triangle_capacity;
    dm_soup_part *parts; /* by first; the triangles up to the next one's */
    size_t part_count, part_capacity;
} dm_soup;

void dm_soup_free(dm_soup *soup);

/* ---- child.c ---- */

/* Runs `work` in a process of its own with the limits, and reads what it
 * writes to `fd` as a stream of triangles, checking all of it: counts against
 * the limits, coordinates finite, indices in bounds. What is read is added to
 * the soup. DM_OK; DM_NOMEM; DM_RANGE; DM_SYNTAX; DM_IO; DM_UNSUPPORTED (by
 * the platform). Otherwise `fault` says why in one line. */
typedef void dm_child_work(int fd, void *user);
dm_status dm_child_triangles(dm_child_work *work, void *user,
                             const dm_context_limits *limits, dm_soup *soup,
                             char fault[DM_FAULT_SIZE]);

/* What `work` writes: any number of parts, then the end, or a fault. False: the
 * other side is gone. */
bool dm_send_part(int fd, const char *name, const double *points, size_t count,
                  const uint32_t *index, size_t triangles);
bool dm_send_end(int fd);
bool dm_send_fault(int fd, const char *fault);

/* ---- rays.c ---- */

/* A tree over triangles, for single precision. `near` is asked for the
 * triangles whose boxes come within a radius of a point, which it may lessen.
 */
typedef struct dm_rays dm_rays;
dm_rays *dm_rays_new(const double *point, size_t point_count,
                     const uint32_t *index, size_t triangle_count);
void dm_rays_free(dm_rays *rays);
/* Whether a triangle counts. */
typedef bool dm_rays_take(void *user, size_t triangle);
/* The first triangle that counts along the ray. */
bool dm_rays_first(const dm_rays *rays, dm_vec3 from, dm_vec3 direction,
                   double reach, dm_rays_take *take, void *user,
                   size_t *triangle);
/* Calls `each` for triangles within *radius of p; it may lessen *radius. */
typedef void dm_rays_each(void *user, size_t triangle, double *radius);
void dm_rays_near(const dm_rays *rays, dm_vec3 p, double radius,
                  dm_rays_each *each, void *user);

#endif
