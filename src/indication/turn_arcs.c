/* SPDX-License-Identifier: MIT
 * Void-like arcs of a turn: hysteresis on the smoothed index, ends at half
 * height.
 *
 * A symmetric blur leaves half height in place at arcs wider than the
 * footprint. A void that thins out towards its edges pulls it inwards all the
 * same: the layer at the edge is too thin to be seen fully. That is the fit's
 * business (turn_fit.c); here an arc is what the index says. */
#include <math.h>

#include "indication/turn.h"

#define TWO_PI 6.283185307179586476925
#define N DM_TURN_CELLS
#define CELL (TWO_PI / N)

static size_t wrap(size_t i)
{
    return i % N;
}

/* ---- ring ---- */

/* Second differences know neither the level nor the slope of the index:
 * their median over 0.6745 sqrt 6 is the deviation of a normal cell. */
static double ring_noise(const dm_ring *r)
{
    double d[N];
    size_t n = 0;

    for (size_t i = 0; i < N; i++) {
        double v = fabs(r->raw[wrap(i + N - 1)] - 2.0 * r->raw[i] +
                        r->raw[wrap(i + 1)]);
        size_t k = n;

        if (isnan(v))
            continue;
        for (; k > 0 && d[k - 1] > v; k--)
            d[k] = d[k - 1];
        d[k] = v;
        n++;
    }
    return fmax(0.01, n >= 8 ? d[n / 2] / (0.6745 * sqrt(6.0)) : 0.04);
}

/* Straight over what was not read, where that is no wider than the footprint
 * or two cells. */
static void bridge(dm_ring *r, double footprint)
{
    size_t most = (size_t)fmax(2.0, floor(footprint / CELL));

    for (size_t i = 0; i < N; i++) {
        size_t before = 0, after = 0;

        r->ok[i] = !isnan(r->raw[i]);
        r->v[i] = r->ok[i] ? r->raw[i] : 0.0;
        if (r->ok[i])
            continue;
        while (before < N && isnan(r->raw[wrap(i + N - before)]))
            before++;
        while (after < N && isnan(r->raw[wrap(i + after)]))
            after++;
        if (before + after > most + 1)
            continue;
        r->ok[i] = true;
        r->v[i] = (r->raw[wrap(i + N - before)] * (double)after +
                   r->raw[wrap(i + after)] * (double)before) /
                  (double)(before + after);
    }
}

void dm_ring_make(const double *index, const dm_turn_view *view, dm_ring *r)
{
    size_t half = (size_t)fmin(floor(0.2 * view->footprint / CELL + 0.5), 6.0);

    for (size_t i = 0; i < N; i++)
        r->raw[i] = index[i];
    r->noise = ring_noise(r);
    bridge(r, view->footprint);
    for (size_t i = 0; i < N; i++) {
        double sum = 0.0, n = 0.0;

        for (size_t k = 0; k <= 2 * half; k++) {
            size_t j = wrap(i + N + k - half);

            sum += r->ok[j] ? r->v[j] : 0.0;
            n += r->ok[j] ? 1.0 : 0.0;
        }
        r->smooth[i] = n > 0.0 ? sum / n : 0.0;
    }
}

/* ---- arcs ---- */

double dm_arc_width(const dm_arc *a)
{
    double w = fmod(a->to - a->from, TWO_PI);

    return a->whole ? TWO_PI : w < 0.0 ? w + TWO_PI : w;
}

double dm_arc_middle(const dm_arc *a)
{
    return fmod(a->from + 0.5 * dm_arc_width(a), TWO_PI);
}

/* Above the leaving threshold from cell `first` for `count` cells. */
typedef struct {
    size_t first, count;
    double top;
} stretch;

static bool is_over(const dm_ring *r, size_t i, const dm_thresholds *band)
{
    return r->ok[i] && r->smooth[i] >= band->leave;
}

static size_t list_stretches(const dm_ring *r, const dm_thresholds *band,
                             stretch out[N])
{
    size_t start = 0, n = 0;

    while (start < N && is_over(r, start, band))
        start++;
    if (start == N) {
        out[0] = (stretch){0, N, -HUGE_VAL};
        for (size_t i = 0; i < N; i++)
            out[0].top = fmax(out[0].top, r->smooth[i]);
        return out[0].top >= band->enter ? 1 : 0;
    }
    for (size_t k = 1; k <= N; k++) {
        stretch s = {wrap(start + k), 0, -HUGE_VAL};

        while (k <= N && is_over(r, wrap(start + k), band)) {
            s.top = fmax(s.top, r->smooth[wrap(start + k)]);
            s.count++;
            k++;
        }
        if (s.count > 0 && s.top >= band->enter)
            out[n++] = s;
    }
    return n;
}

/* Mean of the cells that stand near the top, and its deviation. */
static double plateau_of(const dm_ring *r, const stretch *s, double *u)
{
    double sum = 0.0, n = 0.0;

    for (size_t k = 0; k < s->count; k++) {
        size_t i = wrap(s->first + k);

        if (r->smooth[i] < 0.8 * s->top)
            continue;
        sum += r->v[i];
        n += 1.0;
    }
    *u = r->noise * sqrt(fmin(1.0, 3.0 / n));
    return sum / n;
}

/* Where smooth crosses `half` at one end (side -1: from, +1: to); sets the
 * slope there. False: what follows was not read. */
static bool crossing(const dm_ring *r, const stretch *s, int side, double half,
                     double *clock, double *slope)
{
    size_t i = side < 0 ? s->first : wrap(s->first + s->count - 1);
    size_t in = side < 0 ? 1 : N - 1, out = N - in;
    double a, b;

    for (size_t k = 0; k < s->count && r->smooth[i] < half; k++)
        i = wrap(i + in);
    for (size_t k = 0; k < N && r->smooth[wrap(i + out)] >= half; k++) {
        if (!r->ok[wrap(i + out)])
            break;
        i = wrap(i + out);
    }
    *clock = (double)i * CELL;
    *slope = 0.0;
    if (!r->ok[wrap(i + out)])
        return false;
    a = r->smooth[i];
    b = r->smooth[wrap(i + out)];
    *slope = (a - b) / CELL;
    if (a > b)
        *clock = fmod(*clock + side * CELL * fmin(1.0, (a - half) / (a - b)) +
                          TWO_PI,
                      TWO_PI);
    return true;
}

/* Noise of the crossing and of the plateau, cell, shape of the footprint. */
static double edge_u(const dm_ring *r, const dm_turn_view *view, double slope,
                     double plateau_u)
{
    double cross = 0.8 * r->noise, half = 0.5 * plateau_u;
    double u2 = CELL * CELL / 12.0 + 0.0025 * view->footprint * view->footprint;

    if (slope > 0.0)
        u2 += (cross * cross + half * half) / (slope * slope);
    return fmin(sqrt(u2), 1.0);
}

static void measure(const dm_ring *r, const dm_turn_view *view,
                    const stretch *s, dm_arc *arc)
{
    double u, plateau = plateau_of(r, s, &u), slope[2];

    *arc = (dm_arc){.index = plateau, .index_u = u};
    if (s->count == N) {
        arc->whole = true;
        return;
    }
    arc->open_from = !crossing(r, s, -1, 0.5 * plateau, &arc->from, &slope[0]);
    arc->open_to = !crossing(r, s, +1, 0.5 * plateau, &arc->to, &slope[1]);
    arc->u_from = edge_u(r, view, slope[0], u);
    arc->u_to = edge_u(r, view, slope[1], u);
    arc->shorter = !arc->open_from && !arc->open_to &&
                   dm_arc_width(arc) < 1.25 * view->footprint;
}

static int by_middle(const dm_arc *a, const dm_arc *b)
{
    double x = dm_arc_middle(a), y = dm_arc_middle(b);

    return (x > y) - (x < y);
}

bool dm_ring_arcs(dm_arena *arena, const dm_ring *r, const dm_turn_view *view,
                  dm_turn *turn)
{
    stretch list[N];
    size_t n = list_stretches(r, &view->band, list);

    turn->arc = DM_NONE;
    turn->arc_count = 0;
    turn->arcs = DM_NEW_ARRAY(arena, dm_arc, n);
    if (turn->arcs == NULL)
        return false;
    for (size_t i = 0; i < n; i++) {
        dm_arc arc;
        size_t k = turn->arc_count++;

        measure(r, view, &list[i], &arc);
        for (; k > 0 && by_middle(&turn->arcs[k - 1], &arc) > 0; k--)
            turn->arcs[k] = turn->arcs[k - 1];
        turn->arcs[k] = arc;
    }
    for (size_t i = 0; i < n; i++)
        if (turn->arc == DM_NONE ||
            dm_arc_width(&turn->arcs[i]) > dm_arc_width(&turn->arcs[turn->arc]))
            turn->arc = i;
    return true;
}
