/* SPDX-License-Identifier: MIT
 * Single triangles of a context, for who looks at each of them. */
#ifndef DM_CONTEXT_AROUND_H
#define DM_CONTEXT_AROUND_H

#include "ductmark/context.h"

/* Called with a triangle's corners, world, m. */
typedef void dm_context_take(void *user, size_t triangle,
                             const dm_vec3 corner[3]);
/* All triangles that come within radius of p, and maybe some more, in no set
 * order. */
void dm_context_around(const dm_context *context, dm_vec3 p, double radius,
                       dm_context_take *take, void *user);
/* False: it is passed over. */
bool dm_context_counts(const dm_context *context, const dm_context_skip *skip,
                       size_t triangle);
/* What it belongs to; the context's. */
const char *dm_context_name(const dm_context *context, size_t triangle);

#endif
