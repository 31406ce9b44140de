/* SPDX-License-Identifier: MIT
 * A turn's arcs, fit and areas together.
 *
 * The direct area is the segment over the arc's angle a, r^2/2 (a - sin a). Its
 * upper bound lets the void thin out at the edges: half height then stands
 * where the layer is deep enough to give half of the plateau, inside the true
 * edge. Limits: one segment about one centre, the bore as drawn. */
#include <math.h>
#include <string.h>

#include "geom/chord.h"
#include "indication/size.h"
#include "indication/turn.h"

#define PI 3.14159265358979323846

dm_turn dm_turn_unknown(void)
{
    const double nan = (double)NAN;
    const dm_amount none = dm_amount_unknown();
    dm_turn t = {.t = nan,
                 .u = nan,
                 .face_back = DM_NONE,
                 .face_ahead = DM_NONE,
                 .u_back = nan,
                 .u_ahead = nan,
                 .indication = DM_NONE,
                 .bore = nan,
                 .noise = nan,
                 .arc = DM_NONE,
                 .direct = none,
                 .fitted = none,
                 .apart = nan,
                 .area = none,
                 .depth = none,
                 .strand = nan};

    t.fit = (dm_segment_fit){.half_angle = nan,
                             .centre = nan,
                             .half_angle_u = nan,
                             .centre_u = nan,
                             .covariance = nan,
                             .model_u = nan,
                             .low = nan,
                             .high = nan,
                             .misfit = nan,
                             .ratio = nan,
                             .plateau = nan,
                             .base = nan};
    return t;
}

/* Half angle of the void whose index stands at half height at `edge` from its
 * middle, when a layer d is what half the response takes. */
static double thinned(double r, double edge, double d)
{
    double half = edge;

    if (edge >= 0.5 * PI)
        return edge;
    for (int i = 0; i < 20; i++) {
        double full = 1.0 - exp(-dm_chord_depth(r, half) / d);
        double z = -d * log(1.0 - 0.5 * full);

        half = acos(fmax(-1.0, cos(edge) * (1.0 - z / r)));
    }
    return half;
}

static void direct_area(const dm_turn_view *view, dm_turn *t)
{
    const dm_arc *a = &t->arcs[t->arc];
    double layer = view->layer > 0.0 ? view->layer : DM_LAYER;
    double half = 0.5 * dm_arc_width(a);
    double u =
        sqrt(a->u_from * a->u_from + a->u_to * a->u_to); /* of a/2: u/2 */
    double low = half - u, high = half + u;

    if (a->whole)
        low = high = PI;
    if (a->shorter) /* what the height lost says of the width */
        low = 0.35 * fmin(a->index, 1.0) * view->footprint;
    if (a->open_from || a->open_to)
        high = PI;
    t->direct.best = dm_chord_area(t->bore, half);
    t->direct.low = dm_chord_area(t->bore, fmax(0.0, fmin(low, half)));
    t->direct.high =
        dm_chord_area(t->bore, thinned(t->bore, fmin(high, PI), layer));
}

static void both_areas(dm_turn *t)
{
    double ud, uf;
    bool bound; /* the direct one is no measure of size */

    if (!t->fit.valid) {
        t->area = t->direct;
        return;
    }
    t->fitted = (dm_amount){dm_chord_area(t->bore, t->fit.low),
                            dm_chord_area(t->bore, t->fit.half_angle),
                            dm_chord_area(t->bore, t->fit.high)};
    t->area = t->fitted;
    ud = 0.25 * (t->direct.high - t->direct.low);
    uf = 0.25 * (t->fitted.high - t->fitted.low);
    bound = t->arcs[t->arc].shorter || t->arcs[t->arc].open_from ||
            t->arcs[t->arc].open_to;
    if (bound)
        return;
    t->apart = fabs(t->direct.best - t->fitted.best) / sqrt(ud * ud + uf * uf);
    if (t->apart > 2.0) {
        t->area.low = fmin(t->fitted.low, t->direct.low);
        t->area.high = fmax(t->fitted.high, t->direct.high);
    }
}

/* Straight between the rows of the calibration's table. */
static void read_depth(const dm_turn_view *view, dm_turn *t)
{
    const dm_depth_point *p = view->depths;
    double index = t->arcs[t->arc].index, du = t->arcs[t->arc].index_u, u;
    size_t n = view->depth_count, k = 1;

    if (n == 0 || index < p[0].index)
        return;
    if (index >= p[n - 1].index) {
        t->depth_at_least = true;
        t->depth.low = fmax(0.0, p[n - 1].depth - 2.0 * p[n - 1].u);
        return;
    }
    while (k + 1 < n && index >= p[k].index)
        k++;
    {
        double step = p[k].index - p[k - 1].index;
        double part = (index - p[k - 1].index) / step;
        double slope = (p[k].depth - p[k - 1].depth) / step;

        u = p[k - 1].u + part * (p[k].u - p[k - 1].u);
        u = sqrt(u * u + slope * slope * du * du);
        t->depth.best = p[k - 1].depth + part * (p[k].depth - p[k - 1].depth);
    }
    t->depth.low = fmax(0.0, t->depth.best - 2.0 * u);
    t->depth.high = t->depth.best + 2.0 * u;
}

bool dm_turn_measure(dm_arena *arena, const dm_turn_view *view, dm_turn *turn)
{
    dm_ring ring;
    size_t ok = 0;

    dm_ring_make(turn->index, view, &ring);
    for (size_t i = 0; i < DM_TURN_CELLS; i++)
        ok += ring.ok[i];
    turn->read = (double)ok / DM_TURN_CELLS;
    turn->noise = ring.noise;
    if (!dm_ring_arcs(arena, &ring, view, turn))
        return false;
    if (turn->arc == DM_NONE || !(turn->bore > 0.0))
        return true;
    direct_area(view, turn);
    if (!dm_ring_fit(&ring, view, turn))
        return false;
    both_areas(turn);
    read_depth(view, turn);
    return true;
}
