/* SPDX-License-Identifier: MIT
 * Taps that the job asks for: at their tape from their face, nothing else
 * asked but whether a drill can work there: outside the concrete, on bare
 * plastic duct, and where strands leave room. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/diag.h"
#include "tap/work.h"

#define PI 3.14159265358979323846

static double station_of(const dm_placer *p, const dm_tap_request *q,
                         size_t face, double r)
{
    const dm_face *f = &p->tendon->faces[face];
    double t = dm_face_station(p->tendon, f, r, q->clock) +
               dm_tap_face_t(p, face) - f->t;
    double l = dm_outside_length(&p->tendon->line, r, q->clock, t);

    return dm_outside_station(&p->tendon->line, r, q->clock,
                              l + (double)f->side * q->distance);
}

static void bounds_of(const dm_placer *p, size_t face, dm_tap *tap)
{
    const dm_stations *s = p->stations;
    double mark = p->job->settings.mark_u;
    size_t n = p->tendon->face_count;
    dm_tape *tapes[2] = {&tap->back, &tap->ahead};

    tap->u_world = hypot(mark, s->face_u[face]);
    for (int i = 0; i < 2; i++) {
        size_t other = tapes[i]->face;

        if (other == DM_NONE)
            continue;
        tapes[i]->u = mark;
        if (other != face)
            tapes[i]->u =
                sqrt(mark * mark +
                     fmax(0.0, s->face_cov[face * n + face] +
                                   s->face_cov[other * n + other] -
                                   2.0 * s->face_cov[face * n + other]));
    }
}

static void chances_of(const dm_placer *p, size_t face, dm_tap *tap)
{
    for (size_t i = 0; i < p->indications->count; i++) {
        const dm_indication *in = &p->indications->items[i];
        dm_sure s = dm_tap_sure(p, in, face);
        dm_void_arc arcs[DM_TAP_ARCS];

        if (tap->t < in->from.t || tap->t > in->to.t || !in->reconciled)
            continue;
        tap->indication = i;
        size_t count =
            dm_tap_arcs(p, in, tap->t, arcs, DM_TAP_ARCS, &tap->turned);
        size_t best = 0;
        double u = dm_tap_crew(p, tap->t).u_clock;

        for (size_t k = 1; k < count; k++)
            if (dm_arc_probability(&arcs[k], tap->clock, u) >
                dm_arc_probability(&arcs[best], tap->clock, u))
                best = k;
        dm_tap_chances(p, in, &s, &arcs[best], tap);
    }
}

static dm_status words_of(const dm_placer *p, const dm_tap_request *q,
                          size_t face, dm_tap *tap, bool barred)
{
    const char *cover = dm_tap_covered_by(p, tap);
    const char *hand = barred ? dm_tap_why_hand_tool(p, tap) : "";
    bool unsure;
    const char *name = dm_arena_printf(p->arena, "tap/request/%s", q->id);

    if (hand == NULL || name == NULL || !dm_tap_name(p, q->id, name, tap))
        return DM_NOMEM;
    if (!barred && dm_tap_contact_unknown(tap)) {
        barred = true;
        hand = dm_tap_why_contact_unknown;
    }
    unsure = cover == NULL && !barred && tap->p_enter < DM_ENTER_LEAST;
    if (cover != NULL) {
        barred = true;
        hand = dm_arena_printf(p->arena,
                               "no bare plastic duct there (%s): no drill, "
                               "engineer present",
                               cover);
    } else if (unsure) {
        hand = dm_tap_why_unsure(p, face, tap);
    }
    if (hand == NULL)
        return DM_NOMEM;
    tap->advice = barred   ? DM_ADVICE_HAND_TOOL
                  : unsure ? DM_ADVICE_RESCAN
                           : DM_ADVICE_TAP;
    tap->why = dm_arena_printf(p->arena, "requested by %s: %s%s%s", q->by,
                               q->reason, *hand != '\0' ? "; " : "", hand);
    return tap->why != NULL ? DM_OK : DM_NOMEM;
}

dm_status dm_tap_requested(dm_placer *p, const dm_tap_request *q)
{
    size_t face = dm_tendon_find_face(p->tendon, q->face);
    dm_tap *tap = &p->out->items[p->out->count];
    const dm_support *in;
    dm_tap_side *sides;
    size_t side_count;
    dm_status status;
    double od;

    if (face == DM_NONE)
        return dm_error(p->diag, DM_REFERENCE, q->place, q->id,
                        "tendon %s has no face '%s'", q->tendon, q->face);
    for (size_t i = 0; i < p->out->count; i++)
        if (strcmp(p->out->items[i].id, q->id) == 0)
            return dm_error(p->diag, DM_INCONSISTENT, q->place, q->id,
                            "this is the id of a tap set out for an "
                            "indication, expected another one");
    od = dm_tendon_duct(p->model, p->tendon, p->tendon->faces[face].t)->od;
    *tap = (dm_tap){.indication = DM_NONE, .requested = true};
    tap->t = station_of(p, q, face, 0.5 * od);
    if (!(tap->t >= 0.0 && tap->t <= p->tendon->line.length))
        return dm_error(p->diag, DM_RANGE, q->place, q->id,
                        "the tap requested lies beyond the tendon's end");
    tap->clock = fmod(fmod(q->clock, 2.0 * PI) + 2.0 * PI, 2.0 * PI);
    in = dm_tap_concrete_at(p, tap, 0.5 * od);
    if (in != NULL)
        return dm_error(p->diag, DM_RANGE, q->place, q->id,
                        "the tap requested lies inside the concrete of %s, "
                        "expected a place on the free length",
                        in->id);
    tap->aim_from = tap->aim_to = tap->t;
    dm_tap_set_out(p, tap);
    if (face == tap->back.face || face == tap->ahead.face)
        tap->mark_face = face;
    bounds_of(p, face, tap);
    tap->p_enter = tap->p_axis = tap->p_angle = (double)NAN;
    tap->void_clock = tap->void_half = (double)NAN;
    tap->u_void_clock = tap->u_void_half = (double)NAN;
    tap->p_kind = (double)NAN;
    chances_of(p, face, tap);
    if (!dm_tap_sides(p, tap->t, tap->u_world, &sides, &side_count))
        return DM_NOMEM;
    dm_tap_strands(p, sides, side_count, tap);
    status =
        dm_tap_clearance(p, NULL, 0, sides, side_count, tap)
            ? words_of(p, q, face, tap, !dm_tap_room(p, sides, side_count, tap))
            : DM_NOMEM;
    free(sides);
    if (status == DM_OK)
        p->out->count++;
    return status;
}
