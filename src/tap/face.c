/* SPDX-License-Identifier: MIT
 * Faces that a tape can start from, and what is known relative to them. */
#include <math.h>

#include "tap/work.h"

static double shift_of(const dm_placer *p, size_t face)
{
    return p->stations->face_shift != NULL ? p->stations->face_shift[face]
                                           : 0.0;
}

double dm_tap_face_t(const dm_placer *p, size_t face)
{
    return p->tendon->faces[face].t + shift_of(p, face);
}

/* Whether the concrete of an anchorage or deviator stands between a station and
 * the face: no tape goes through it. */
static bool concrete_between(const dm_placer *p, double t, const dm_face *face)
{
    double from = fmin(t, face->t), to = fmax(t, face->t);

    for (size_t i = 0; i < p->tendon->support_count; i++)
        if (i != face->support && p->tendon->supports[i].t > from &&
            p->tendon->supports[i].t < to)
            return true;
    return false;
}

size_t dm_tap_face_beside(const dm_placer *p, double t, int side)
{
    size_t best = DM_NONE;

    for (size_t i = 0; i < p->tendon->face_count; i++) {
        const dm_face *face = &p->tendon->faces[i];
        double at = dm_tap_face_t(p, i);

        /* One that looks away stands on the other side of its concrete. */
        if (!face->touchable || (int)face->side == side ||
            (side < 0 ? at > t : at < t) || concrete_between(p, t, face))
            continue;
        if (best == DM_NONE || (side < 0 ? at >= dm_tap_face_t(p, best)
                                         : at < dm_tap_face_t(p, best)))
            best = i;
    }
    return best;
}

size_t dm_tap_nearer_face(const dm_placer *p, double t)
{
    size_t back = dm_tap_face_beside(p, t, -1);
    size_t ahead = dm_tap_face_beside(p, t, +1);

    if (back == DM_NONE || ahead == DM_NONE)
        return back != DM_NONE ? back : ahead;
    return t - p->tendon->faces[back].t <= p->tendon->faces[ahead].t - t
               ? back
               : ahead;
}

double dm_tap_end_u(const dm_end *e, size_t face)
{
    if (face != DM_NONE && face == e->face_back && isfinite(e->u_back))
        return e->u_back;
    if (face != DM_NONE && face == e->face_ahead && isfinite(e->u_ahead))
        return e->u_ahead;
    return e->u;
}

double dm_tap_station_var(const dm_end *e, size_t face)
{
    double u = dm_tap_end_u(e, face);

    return fmax(0.0, u * u - e->u_edge * e->u_edge);
}
