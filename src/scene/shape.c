/* SPDX-License-Identifier: MIT
 * The signs of the scene, put together from swept solids, plates and blocks.
 * Factors are of the duct's outside radius; lengths in metres. */
#include "scene/shape.h"

#include <string.h>

#define RINGS_MAX 100.0 /* a length; beyond it the pattern is stretched */

/* Rings of one coverage state. */
typedef struct {
    double base, ring; /* radii, as factors */
    double pitch;      /* of the pattern, m; 0: none */
    double band[2][2]; /* begin and end of each ring within a pitch, m */
    int bands;
} pattern;

static const pattern cover_pattern[DM_COVER_COUNT] = {
    [DM_COVER_TESTED] = {1.0, 1.0, 0.0, {{0.0, 0.0}, {0.0, 0.0}}, 0},
    [DM_COVER_STRAND_MASKED] = {1.0, 1.1, 0.5, {{0.2, 0.3}, {0.0, 0.0}}, 1},
    [DM_COVER_NOT_TESTED] = {0.8, 1.0, 0.1, {{0.035, 0.065}, {0.0, 0.0}}, 1},
    [DM_COVER_NOT_VALID] = {0.8, 1.0, 0.2, {{0.05, 0.08}, {0.12, 0.15}}, 2},
    [DM_COVER_NOT_RECONCILED] = {0.8, 1.0, 0.2, {{0.04, 0.16}, {0.0, 0.0}}, 1},
};

static dm_sweep *start(dm_shaper *shaper, const dm_tendon *tendon)
{
    shaper->sweep.line = &tendon->line;
    shaper->sweep.sides = shaper->sides;
    dm_sweep_clear(&shaper->sweep);
    return &shaper->sweep;
}

/* Half the sides: what has many rings and is no measure. */
static int coarse(const dm_shaper *shaper)
{
    return shaper->sides < 16 ? shaper->sides : shaper->sides / 2;
}

static dm_status finish(dm_shaper *shaper, dm_mesh *out)
{
    memset(out, 0, sizeof *out);
    if (shaper->sweep.count == 0 && !shaper->sweep.failed)
        return DM_OK;
    return dm_sweep_mesh(&shaper->sweep, shaper->arena, out);
}

/* ---- duct ------------------------------------------------------------- */

dm_status dm_shape_duct(dm_shaper *shaper, const dm_tendon *tendon, double from,
                        double to, double radius, dm_cover cover, dm_mesh *out)
{
    const pattern *p = &cover_pattern[cover];
    const double base = p->base * radius, ring = p->ring * radius;
    dm_sweep *s = start(shaper, tendon);
    double at = from, pitch = p->pitch, scale, k, low, high;
    int b;

    if (to - from < DM_SHORTEST)
        return finish(shaper, out);
    if (pitch > 0.0)
        s->sides = coarse(shaper);
    dm_sweep_cap(s, from, base, DM_SIDE_BACK);
    if (pitch > 0.0) {
        scale = fmax(1.0, ceil((to - from) / (pitch * RINGS_MAX)));
        pitch *= scale;
        for (k = floor(from / pitch); k * pitch < to; k += 1.0) {
            for (b = 0; b < p->bands; b++) {
                low = k * pitch + scale * p->band[b][0];
                high = k * pitch + scale * p->band[b][1];
                if (low < at + DM_SHORTEST || high > to - DM_SHORTEST)
                    continue;
                dm_sweep_band(s, at, base, low, base);
                dm_sweep_band(s, low, base, low, ring);
                dm_sweep_band(s, low, ring, high, ring);
                dm_sweep_band(s, high, ring, high, base);
                at = high;
            }
        }
    }
    dm_sweep_band(s, at, base, to, base);
    dm_sweep_cap(s, to, base, DM_SIDE_AHEAD);
    return finish(shaper, out);
}

/* ---- indication ------------------------------------------------------- */

/* A ring of that width about t, kept within the duct. */
static void add_ring(dm_sweep *s, double t, double width, double radius)
{
    double low = fmax(0.0, t - 0.5 * width);
    double high = fmin(s->line->length, t + 0.5 * width);

    if (high - low >= DM_SHORTEST)
        dm_sweep_solid(s, low, high, radius);
}

/* The zone t - u .. t + u in which the end lies, as a row of rings. */
static void add_zone(dm_sweep *s, double t, double u, double radius)
{
    const double width = 0.005, apart = 0.015;
    double count, i;

    if (!(u >= DM_SHORTEST))
        return;
    count = fmin(6.0, fmax(1.0, floor(2.0 * u / apart)));
    for (i = 0.0; i <= count; i += 1.0)
        add_ring(s, t - u + 2.0 * u * i / count, width, radius);
}

dm_status dm_shape_indication(dm_shaper *shaper, const dm_tendon *tendon,
                              double radius, const dm_indication *item,
                              double k, bool heat, dm_mesh *out)
{
    const double sleeve = 1.25 * radius, thin = 1.12 * radius;
    const double wide = 1.7 * radius, least = 0.01;
    dm_sweep *s = start(shaper, tendon);
    double u0 = isfinite(item->from.u) ? k * item->from.u : 0.0;
    double u1 = isfinite(item->to.u) ? k * item->to.u : 0.0;
    double low = item->from.t + u0, high = item->to.t - u1, middle;

    if (heat) {
        add_ring(s, item->from.t, least, sleeve);
        add_ring(s, item->to.t, least, sleeve);
    } else {
        if (high - low < least) {
            middle = 0.5 * (item->from.t + item->to.t);
            low = middle - 0.5 * least;
            high = middle + 0.5 * least;
        }
        add_ring(s, 0.5 * (low + high), high - low, sleeve);
    }
    add_zone(s, item->from.t, u0, thin);
    add_zone(s, item->to.t, u1, thin);
    if (item->from.open)
        add_ring(s, item->from.t, 0.02, wide);
    if (item->to.open)
        add_ring(s, item->to.t, 0.02, wide);
    return finish(shaper, out);
}

/* ---- anchorages and deviators ----------------------------------------- */

static const dm_face *find_face(const dm_tendon *tendon, size_t support,
                                dm_side side)
{
    size_t i;

    for (i = 0; i < tendon->face_count; i++)
        if (tendon->faces[i].support == support &&
            tendon->faces[i].side == side)
            return &tendon->faces[i];
    return NULL;
}

dm_status dm_shape_anchorage(dm_shaper *shaper, const dm_tendon *tendon,
                             size_t support, double radius, dm_mesh *out)
{
    const double plate = 0.04, head = 0.12, end = tendon->line.length;
    const dm_support *a = &tendon->supports[support];
    bool first = support == 0;
    const dm_face *face =
        find_face(tendon, support, first ? DM_SIDE_AHEAD : DM_SIDE_BACK);
    dm_vec3 inward = dm_centreline_tangent(&tendon->line, first ? 0.0 : end);
    dm_sweep *s = start(shaper, tendon);
    double back = first ? -plate - head : end + 0.5 * plate;
    dm_mesh part[2];
    dm_status status;

    /* `inward` points out of the duct, into the concrete. */
    inward = dm_vec3_scale(inward, first ? -1.0 : 1.0);
    if (face != NULL)
        inward = dm_vec3_scale(face->normal, -1.0);
    dm_sweep_solid(s, back, back + 0.5 * plate + head, 1.5 * radius);
    if (face != NULL && first && face->t > 0.05 && face->t < end) {
        dm_sweep_cap(s, 0.0, 1.5 * radius, DM_SIDE_BACK);
        dm_sweep_band(s, 0.0, 1.5 * radius, face->t, 1.1 * radius);
        dm_sweep_cap(s, face->t, 1.1 * radius, DM_SIDE_AHEAD);
    } else if (face != NULL && !first && face->t < end - 0.05 &&
               face->t > 0.0) {
        dm_sweep_cap(s, face->t, 1.1 * radius, DM_SIDE_BACK);
        dm_sweep_band(s, face->t, 1.1 * radius, end, 1.5 * radius);
        dm_sweep_cap(s, end, 1.5 * radius, DM_SIDE_AHEAD);
    }
    status = finish(shaper, &part[0]);
    if (status == DM_OK)
        status = dm_mesh_plate(a->point, inward, 5.0 * radius, plate, s->origin,
                               shaper->arena, &part[1]);
    if (status == DM_OK)
        status = dm_mesh_join(part, 2, shaper->arena, out);
    return status;
}

/* A plane square to the duct in place of a face that is not given. */
static dm_face stand_in(const dm_tendon *tendon, double t, double sign)
{
    dm_face face = {0};

    face.t = t;
    face.origin = dm_centreline_point(&tendon->line, t);
    face.normal = dm_vec3_scale(dm_centreline_tangent(&tendon->line, t), sign);
    return face;
}

dm_status dm_shape_deviator(dm_shaper *shaper, const dm_tendon *tendon,
                            size_t support, double radius, dm_mesh *out)
{
    const dm_support *d = &tendon->supports[support];
    const dm_face *back = find_face(tendon, support, DM_SIDE_BACK);
    const dm_face *ahead = find_face(tendon, support, DM_SIDE_AHEAD);
    double half = 0.05 + 0.5 * d->radius * d->deflection;
    dm_face made_back = stand_in(tendon, d->t - half, -1.0);
    dm_face made_ahead = stand_in(tendon, d->t + half, 1.0);
    dm_vec3 corner[8], direction, centre;

    memset(out, 0, sizeof *out);
    back = back == NULL ? &made_back : back;
    ahead = ahead == NULL ? &made_ahead : ahead;
    centre = dm_centreline_point(&tendon->line, d->t);
    direction = dm_vec3_unit(dm_vec3_sub(ahead->origin, back->origin));
    if (dm_block_between(centre, direction, back, ahead, 5.0 * radius, corner))
        return dm_mesh_block(corner, shaper->sweep.origin, shaper->arena, out);
    direction = dm_centreline_tangent(&tendon->line, d->t);
    if (dm_block_between(centre, direction, &made_back, &made_ahead,
                         5.0 * radius, corner))
        return dm_mesh_block(corner, shaper->sweep.origin, shaper->arena, out);
    return DM_OK;
}

/* ---- fixtures and taps ------------------------------------------------ */

dm_status dm_shape_fixture(dm_shaper *shaper, const dm_tendon *tendon,
                           const dm_fixture *fixture, double radius,
                           dm_mesh *out)
{
    static const double factor[] = {
        [DM_FIXTURE_COLLAR] = 1.35,   [DM_FIXTURE_COUPLER] = 1.3,
        [DM_FIXTURE_WRAP] = 1.15,     [DM_FIXTURE_PATCH] = 1.1,
        [DM_FIXTURE_VENT] = 1.4,      [DM_FIXTURE_WELD] = 1.1,
        [DM_FIXTURE_DIAPHRAGM] = 2.2, [DM_FIXTURE_LOW_CLEARANCE] = 1.05};
    dm_sweep *s = start(shaper, tendon);
    double width = fmax(0.01, fixture->to - fixture->from);

    add_ring(s, 0.5 * (fixture->from + fixture->to), width,
             factor[fixture->kind] * radius);
    return finish(shaper, out);
}

static bool is_place(dm_vec3 p)
{
    return isfinite(p.x) && isfinite(p.y) && isfinite(p.z);
}

#define TAP_RING 1.4
#define RING_WIDTH 0.016
#define RINGS_APART 0.05

dm_status dm_shape_opening(dm_shaper *shaper, const dm_tendon *tendon, double t,
                           double radius, dm_mesh *out)
{
    dm_sweep *s = start(shaper, tendon);

    memset(out, 0, sizeof *out);
    if (!isfinite(t))
        return DM_OK;
    for (int i = -1; i <= 1; i++)
        add_ring(s, t + i * RINGS_APART, RING_WIDTH, TAP_RING * radius);
    return finish(shaper, out);
}

dm_status dm_shape_tap(dm_shaper *shaper, const dm_tendon *tendon,
                       const dm_tap *tap, bool opened, double radius,
                       dm_mesh *out)
{
    const double ring = TAP_RING * radius;
    dm_sweep *s = start(shaper, tendon);
    dm_mesh part[2];
    dm_status status;

    memset(out, 0, sizeof *out);
    if (!isfinite(tap->t) || !is_place(tap->surface) ||
        !is_place(tap->outward) || dm_vec3_norm(tap->outward) < 0.5)
        return DM_OK;
    if (opened || tap->advice == DM_ADVICE_RESCAN)
        add_ring(s, tap->t - RINGS_APART, RING_WIDTH, ring);
    if (opened || tap->advice != DM_ADVICE_RESCAN)
        add_ring(s, tap->t, RING_WIDTH, ring);
    if (opened || tap->advice == DM_ADVICE_RESCAN)
        add_ring(s, tap->t + RINGS_APART, RING_WIDTH, ring);
    status = finish(shaper, &part[0]);
    if (status == DM_OK)
        status = dm_mesh_arrow(tap->surface, dm_vec3_unit(tap->outward),
                               tap->advice == DM_ADVICE_HAND_TOOL ? 0.18 : 0.35,
                               tap->advice != DM_ADVICE_RESCAN, s->sides,
                               s->origin, shaper->arena, &part[1]);
    if (status == DM_OK)
        status = dm_mesh_join(part, 2, shaper->arena, out);
    return status;
}
