/* SPDX-License-Identifier: MIT
 * Ducts of other tendons as capsules between points of their centrelines, 0.1 m
 * apart. On an arc of 3 m radius the chord is 0.4 mm inside of it. */
#include <stdlib.h>

#include "tap/work.h"

#define STEP 0.1 /* m */

bool dm_tap_ducts(const dm_model *model, size_t own, dm_vec3 centre,
                  double reach, dm_capsule **list, size_t *count)
{
    size_t capacity = 0;

    *list = NULL;
    *count = 0;
    for (size_t i = 0; i < model->tendon_count; i++) {
        const dm_tendon *n = &model->tendons[i];
        double t = 0.0;

        while (i != own && t < n->line.length) {
            double to = fmin(t + STEP, n->line.length);
            dm_vec3 a = dm_centreline_point(&n->line, t);
            double r = 0.5 * dm_tendon_duct(model, n, t)->od;
            double d = dm_vec3_norm(dm_vec3_sub(a, centre)) - r - reach;

            if (d > STEP) { /* it cannot come nearer than by its length */
                t += d;
                continue;
            }
            if (!DM_GROW(*list, *count, capacity)) {
                free(*list);
                return false;
            }
            (*list)[(*count)++] =
                (dm_capsule){a, dm_centreline_point(&n->line, to), r, i};
            t = to;
        }
    }
    return true;
}
