/* SPDX-License-Identifier: MIT
 * The section square to the duct. Its crown is the topmost fibre: world Z
 * with its component along the tangent removed; near the vertical the
 * declared datum takes the place of Z. */
#include "geom/segment.h"

static const double TWO_PI = 6.283185307179586476925;

bool dm_is_steep(const dm_centreline *line, double tangent_z)
{
    return fabs(tangent_z) > cos(line->vertical_limit);
}

static dm_vec3 without(dm_vec3 v, dm_vec3 tangent)
{
    return dm_vec3_along(v, -dm_vec3_dot(v, tangent), tangent);
}

/* `up` made square to the tangent, as a unit vector; false: parallel. What
 * little is left of a nearly parallel one is made square once more. */
static bool square(dm_vec3 up, dm_vec3 tangent, dm_vec3 *out)
{
    dm_vec3 v = without(dm_vec3_unit(up), tangent);
    double n = dm_vec3_norm(v);
    if (!(n >= 1e-12))
        return false;
    *out = dm_vec3_scale(v, 1.0 / n);
    if (n < 0.1)
        *out = dm_vec3_unit(without(*out, tangent));
    return true;
}

dm_frame dm_centreline_frame(const dm_centreline *line, double t)
{
    dm_frame f = {.point = dm_centreline_point(line, t),
                  .tangent = dm_centreline_tangent(line, t)};
    const dm_vec3 x = {1.0, 0.0, 0.0}, y = {0.0, 1.0, 0.0};
    const dm_vec3 z = {0.0, 0.0, 1.0};
    bool steep = dm_is_steep(line, f.tangent.z);
    bool found =
        square(steep && line->has_datum ? line->datum : z, f.tangent, &f.crown);
    f.crown_defined = found && (!steep || line->has_datum);
    /* Some section all the same, so that what is drawn stays finite. */
    if (!found && !square(x, f.tangent, &f.crown))
        square(y, f.tangent, &f.crown);
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
