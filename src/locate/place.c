/* SPDX-License-Identifier: MIT
 * A place on a tendon in other words, and the end of a tape. Tapes run along
 * the outside path (centreline.h), from where the face crosses the clock line
 * of the duct that lies in it, as those of tap points do. */
#include "ductmark/locate.h"

static double face_shift(const dm_stations *stations, size_t face)
{
    return stations && stations->face_shift ? stations->face_shift[face] : 0.0;
}

/* Outside length at which a face stands on a clock line; *r is its duct's. */
static double face_length(const dm_model *model, const dm_tendon *n,
                          size_t face, double clock,
                          const dm_stations *stations, double *r)
{
    const dm_face *f = &n->faces[face];
    *r = dm_face_radius(model, n, f);
    double t = dm_face_station(n, f, *r, clock) + face_shift(stations, face);
    return dm_outside_length(&n->line, *r, clock, t);
}

/* The nearest touchable face at or before t (side < 0), or after it. */
static size_t face_beside(const dm_tendon *n, double t, int side,
                          const dm_stations *stations)
{
    size_t best = DM_NONE;
    double best_at = 0.0;
    for (size_t i = 0; i < n->face_count; i++) {
        double at = n->faces[i].t + face_shift(stations, i);
        if (!n->faces[i].touchable || (side < 0 ? at > t : at <= t))
            continue;
        if (best == DM_NONE || (side < 0 ? at >= best_at : at < best_at)) {
            best = i;
            best_at = at;
        }
    }
    return best;
}

static dm_locate_tape tape_from(const dm_model *model, const dm_tendon *n,
                                size_t face, double clock, double t,
                                const dm_stations *stations)
{
    dm_locate_tape out = {face, (double)NAN};
    if (face == DM_NONE)
        return out;
    double r, from = face_length(model, n, face, clock, stations, &r);
    out.measure = (double)n->faces[face].side *
                  (dm_outside_length(&n->line, r, clock, t) - from);
    return out;
}

dm_located dm_locate_place(const dm_model *model, size_t tendon, double t,
                           double clock, const dm_stations *stations)
{
    const dm_tendon *n = &model->tendons[tendon];
    dm_frame frame = dm_centreline_frame(&n->line, t);
    double r = 0.5 * dm_tendon_duct(model, n, t)->od;
    double line = isnan(clock) ? 0.0 : clock;
    dm_located out = {
        .tendon = tendon,
        .t = t,
        .inside = t >= 0.0 && t <= n->line.length,
        .axis = frame.point,
        .tangent = frame.tangent,
        .clock = clock,
        .outside = {(double)NAN, (double)NAN, (double)NAN},
        .bridge = dm_model_bridge_place(model, frame.point),
        .map = dm_map_point(&model->map, frame.point),
    };
    if (!isnan(clock) && frame.crown_defined)
        out.outside = dm_frame_surface(&frame, r, clock);
    out.back =
        tape_from(model, n, face_beside(n, t, -1, stations), line, t, stations);
    out.ahead =
        tape_from(model, n, face_beside(n, t, +1, stations), line, t, stations);
    return out;
}

double dm_locate_tape_end(const dm_model *model, size_t tendon, size_t face,
                          double measure, double clock,
                          const dm_stations *stations)
{
    const dm_tendon *n = &model->tendons[tendon];
    double r, l = face_length(model, n, face, clock, stations, &r);
    return dm_outside_station(&n->line, r, clock,
                              l + (double)n->faces[face].side * measure);
}
