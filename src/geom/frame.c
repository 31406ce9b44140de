/* SPDX-License-Identifier: MIT
 * The section square to the duct. Its crown is the topmost fibre: world Z
 * with its component along the tangent removed; near the vertical the
 * declared datum takes the place of Z. */
#include "ductmark/centreline.h"

static const double TWO_PI = 6.283185307179586476925;

/* `up` made square to the tangent, as a unit vector; false: parallel. */
static bool square(dm_vec3 up, dm_vec3 tangent, dm_vec3 *out)
{
    dm_vec3 v = dm_vec3_along(up, -dm_vec3_dot(up, tangent), tangent);
    double n = dm_vec3_norm(v);
    if (n < 1e-12)
        return false;
    *out = dm_vec3_scale(v, 1.0 / n);
    return true;
}

dm_frame dm_centreline_frame(const dm_centreline *line, double t)
{
    dm_frame f = {.point = dm_centreline_point(line, t),
                  .tangent = dm_centreline_tangent(line, t)};
    const dm_vec3 z = {0.0, 0.0, 1.0}, x = {1.0, 0.0, 0.0};
    bool steep = fabs(f.tangent.z) > cos(line->vertical_limit);
    f.crown_defined = !steep || line->has_datum;
    bool found = steep && line->has_datum
                     ? square(line->datum, f.tangent, &f.crown)
                     : square(z, f.tangent, &f.crown);
    if (!found && !square(x, f.tangent, &f.crown))
        f.crown = (dm_vec3){0.0, 1.0, 0.0};
    f.right = dm_vec3_cross(f.tangent, f.crown);
    return f;
}

dm_vec3 dm_frame_direction(const dm_frame *f, double phi)
{
    return dm_vec3_along(dm_vec3_scale(f->crown, cos(phi)), sin(phi), f->right);
}

dm_vec3 dm_frame_surface(const dm_frame *f, double r, double phi)
{
    return dm_vec3_along(f->point, r, dm_frame_direction(f, phi));
}

double dm_frame_clock(const dm_frame *f, dm_vec3 direction)
{
    double a = atan2(dm_vec3_dot(direction, f->right),
                     dm_vec3_dot(direction, f->crown));
    if (a < 0.0)
        a += TWO_PI;
    return a < TWO_PI ? a : 0.0;
}
