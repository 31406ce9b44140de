/* SPDX-License-Identifier: MIT
 * The measures of one tap: points, tapes from faces, round the duct, stop. */
#include <math.h>

#include "tap/work.h"

#define PI 3.14159265358979323846

static dm_tape tape(const dm_placer *p, const dm_tap *tap, double r,
                    size_t face, double *at)
{
    const dm_centreline *line = &p->tendon->line;
    dm_tape out = {face, (double)NAN, (double)NAN};
    double t;

    *at = (double)NAN;
    if (face == DM_NONE)
        return out;
    const dm_face *f = &p->tendon->faces[face];
    t = dm_face_station(p->tendon, f, dm_face_radius(p->model, p->tendon, f),
                        tap->line) +
        dm_tap_face_t(p, face) - f->t;
    *at = dm_outside_length(line, r, tap->line, t);
    out.distance = fabs(dm_outside_length(line, r, tap->line, tap->t) - *at);
    return out;
}

void dm_tap_set_out(const dm_placer *p, dm_tap *tap)
{
    const dm_duct_type *duct = dm_tendon_duct(p->model, p->tendon, tap->t);
    double r = 0.5 * duct->od, at_back, at_ahead;
    dm_frame frame = dm_centreline_frame(&p->tendon->line, tap->t);

    tap->axis = frame.point;
    tap->bridge = dm_model_bridge_place(p->model, tap->axis);
    tap->surface = dm_frame_surface(&frame, r, tap->clock);
    tap->outward = dm_frame_direction(&frame, tap->clock);
    tap->clock_back = fmod(2.0 * PI - tap->clock, 2.0 * PI);
    tap->line = dm_tape_line(tap->clock);
    tap->around = r * dm_wrap(tap->clock - tap->line);
    tap->from_crown = r * dm_wrap(tap->clock);
    tap->back = tape(p, tap, r, dm_tap_face_beside(p, tap->t, -1), &at_back);
    tap->ahead = tape(p, tap, r, dm_tap_face_beside(p, tap->t, +1), &at_ahead);
    tap->faces_apart = at_ahead - at_back;
    tap->mark_face =
        tap->ahead.face == DM_NONE || tap->back.distance <= tap->ahead.distance
            ? tap->back.face
            : tap->ahead.face;
    tap->wall_assumed = !(duct->wall_min > 0.0);
    tap->wall_min = tap->wall_assumed ? duct->wall : duct->wall_min;
    tap->depth_stop = tap->wall_min + p->job->settings.stop_allowance;
    tap->bit = p->job->settings.bit;
}

double dm_tap_meet_u(const dm_tap *tap)
{
    return tap->back.face != DM_NONE && tap->ahead.face != DM_NONE
               ? tap->back.u + tap->ahead.u
               : (double)NAN;
}
