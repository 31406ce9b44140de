/* SPDX-License-Identifier: MIT
 * A place on a tendon in other words, and the end of a tape. Tapes run along
 * the outside path (centreline.h) of the duct that is at the place, as those of
 * tap points do. Limit: where the outside diameter changes between face and
 * place, the tape is taken along the duct at the place all the way. */
#include "ductmark/locate.h"

static double face_shift(const dm_stations *stations, size_t face)
{
    return stations && stations->face_shift ? stations->face_shift[face] : 0.0;
}

static double outside_radius(const dm_model *model, const dm_tendon *n,
                             double t)
{
    return 0.5 * dm_tendon_duct(model, n, t)->od;
}

/* Outside length at which a face stands on a clock line. */
static double face_length(const dm_tendon *n, size_t face, double r,
                          double clock, const dm_stations *stations)
{
    double t = dm_face_station(n, &n->faces[face], r, clock) +
               face_shift(stations, face);
    return dm_outside_length(&n->line, r, clock, t);
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

static dm_locate_tape tape_from(const dm_tendon *n, size_t face, double r,
                                double clock, double t,
                                const dm_stations *stations)
{
    dm_locate_tape out = {face, (double)NAN};
    if (face == DM_NONE)
        return out;
    double way = dm_outside_length(&n->line, r, clock, t) -
                 face_length(n, face, r, clock, stations);
    out.measure = (double)n->faces[face].side * way;
    return out;
}

dm_located dm_locate_place(const dm_model *model, size_t tendon, double t,
                           double clock, const dm_stations *stations)
{
    const dm_tendon *n = &model->tendons[tendon];
    dm_frame frame = dm_centreline_frame(&n->line, t);
    double r = outside_radius(model, n, t);
    double line = isnan(clock) ? 0.0 : clock;
    dm_located out = {
        .tendon = tendon,
        .t = t,
        .inside = t >= 0.0 && t <= n->line.length,
        .axis = frame.point,
        .tangent = frame.tangent,
        .clock = clock,
        .outside = {(double)NAN, (double)NAN, (double)NAN},
        .map = dm_map_point(&model->map, frame.point),
    };
    if (!isnan(clock) && frame.crown_defined)
        out.outside = dm_frame_surface(&frame, r, clock);
    out.has_bridge_station = dm_model_station(model, frame.point, &out.foot);
    if (out.has_bridge_station)
        out.shown =
            dm_alignment_display(model->alignment, out.foot.s, &out.zone);
    out.back =
        tape_from(n, face_beside(n, t, -1, stations), r, line, t, stations);
    out.ahead =
        tape_from(n, face_beside(n, t, +1, stations), r, line, t, stations);
    return out;
}

double dm_locate_tape_end(const dm_model *model, size_t tendon, size_t face,
                          double measure, double clock,
                          const dm_stations *stations)
{
    const dm_tendon *n = &model->tendons[tendon];
    const dm_face *f = &n->faces[face];
    double r = outside_radius(model, n, f->t), t = f->t;
    /* The duct at the end is known with the end: at most one change on the
     * way that a tape makes. */
    for (int i = 0; i < 2; i++) {
        double l = face_length(n, face, r, clock, stations) +
                   (double)f->side * measure;
        t = dm_outside_station(&n->line, r, clock, l);
        double there = outside_radius(model, n, t);
        if (there == r)
            break;
        r = there;
    }
    return t;
}
