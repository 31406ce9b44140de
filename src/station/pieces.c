/* SPDX-License-Identifier: MIT
 * Between two knots a and b, D of travel apart, the walk is a Brownian bridge:
 * the mean is linear and, with f = dx / D,
 *   v = (1-f)^2 Va + 2 f (1-f) Cab + f^2 Vb + q^2 D f (1-f).
 * Beyond the outermost knots the scale and the walk go on unchecked:
 *   v = Va + 2 dx s Cov(a, k) + (dx s)^2 Vk + q^2 |dx|. */
#include "station/pieces.h"

#include <math.h>

#include "station/budget.h"

/* Left of a leg's first knot the first piece begins here, m; it holds for any
 * x before that, too. */
#define BEFORE 1.0

/* A knot, placed by a section's first tie and adjusted. */
typedef struct {
    const knot *at;
    const section *by;
    form form;
    double l;       /* mean, m */
    double world;   /* variance, m^2 */
    double *face;   /* [faces] variance against each face, m^2 */
    double scale;   /* covariance with the scale, m */
    double *errors; /* as adjusted_errors; NULL: no budgets */
} joint;

static dm_status make_joint(const station_system *s, const adjusted *a,
                            const knot *k, const section *by, joint *out)
{
    size_t faces = s->tendon->face_count;
    double *row = DM_NEW_ARRAY(s->arena, double, s->n);
    *out = (joint){.at = k, .by = by};
    out->face = DM_NEW_ARRAY(s->arena, double, faces);
    if (!row || !out->face)
        return DM_NOMEM;
    for (size_t i = 0; i < s->n; i++)
        row[i] = k->row[i] + by->row[i];
    if (adjusted_form(a, row, s->arena, &out->form) != DM_OK)
        return DM_NOMEM;
    out->l = k->nominal + by->offset + adjusted_mean(a, &out->form);
    out->world = adjusted_cov(a, &out->form, &out->form);
    out->scale = adjusted_mixed_cov(a, &out->form, s->paths[by->path].scale);
    for (size_t f = 0; f < faces; f++)
        out->face[f] = adjusted_relative_cov(a, &out->form, &out->form, f);
    return a->budget ? adjusted_errors(s, a, &out->form, &out->errors) : DM_OK;
}

/* ---- variances ----------------------------------------------------------- */

double path_walk(const path *p)
{
    const dm_instrument *in = p->instrument;
    return in->walk * in->walk * in->scale;
}

dm_quadratic piece_bridge(double va, double cab, double vb, double d,
                          double walk)
{
    return (dm_quadratic){{va, 2.0 * (cab - va) / d + walk,
                           (va - 2.0 * cab + vb) / (d * d) - walk / d}};
}

static void between(const station_system *s, const adjusted *a, const path *p,
                    const joint *ja, const joint *jb, dm_piece *out)
{
    double d = jb->at->x - ja->at->x, walk = path_walk(p);
    double cov = adjusted_cov(a, &ja->form, &jb->form);
    out->x0 = ja->at->x;
    out->x1 = jb->at->x;
    out->l = ja->l;
    out->slope = (jb->l - ja->l) / d;
    out->world = piece_bridge(ja->world, cov, jb->world, d, walk);
    for (size_t f = 0; f < s->tendon->face_count; f++) {
        double cab = adjusted_relative_cov(a, &ja->form, &jb->form, f);
        out->face[f] = piece_bridge(ja->face[f], cab, jb->face[f], d, walk);
    }
    budget_between(s, a, ja->errors, jb->errors, d, walk, out);
}

dm_quadratic piece_open_end(double va, double cov_scale, double var_scale,
                            double walk, const path *p, double side)
{
    double s = p->instrument->scale;
    double b = 2.0 * p->dir * s * cov_scale;
    double c = s * s * var_scale;
    if (side > 0.0)
        return (dm_quadratic){{va, b + walk, c}};
    /* dx = y - BEFORE, y counted from the piece's begin. */
    double slope = b - walk;
    return (dm_quadratic){{va - slope * BEFORE + c * BEFORE * BEFORE,
                           slope - 2.0 * c * BEFORE, c}};
}

static void beyond(const station_system *s, const adjusted *a, const path *p,
                   const joint *j, double side, dm_piece *out)
{
    double k = adjusted_unknown_mean(a, p->scale);
    double var_scale = adjusted_unknown_cov(a, p->scale, p->scale);
    out->slope = p->dir * p->instrument->scale * (1.0 + k);
    out->x0 = side > 0.0 ? j->at->x : j->at->x - BEFORE;
    out->x1 = side > 0.0 ? (double)INFINITY : j->at->x;
    out->l = side > 0.0 ? j->l : j->l - BEFORE * out->slope;
    double walk = path_walk(p);
    out->world = piece_open_end(j->world, j->scale, var_scale, walk, p, side);
    for (size_t f = 0; f < s->tendon->face_count; f++) {
        double c = j->scale - adjusted_unknown_cov(a, f, p->scale);
        out->face[f] = piece_open_end(j->face[f], c, var_scale, walk, p, side);
    }
    budget_beyond(s, a, j->errors, p, side, out);
}

static void add_to(dm_quadratic *q, const double add[3])
{
    for (int k = 0; k < 3; k++)
        q->c[k] += add[k];
}

/* What it adds not to know where in its interval an accepted skip lies. */
static void spread_missing(const station_system *s, const adjusted *a,
                           const path *p, const knot *ka, const knot *kb,
                           dm_piece *out)
{
    const station_freedom *g = s->given;
    for (size_t i = 0; g && i < g->correction_count; i++) {
        const correction *c = &g->corrections[i];
        if ((c->kind != DM_BLUNDER_SKIP_MISSING &&
             c->kind != DM_BLUNDER_JUMP) ||
            &s->paths[c->path] != p)
            continue;
        double b = c->length + adjusted_unknown_mean(a, c->unknown);
        double f = station_fraction(s, c, ka);
        double d = kb == ka ? 1.0 : kb->x - ka->x;
        double r = (station_fraction(s, c, kb) - f) / d;
        double add[3] = {b * b * f * (1.0 - f), b * b * r * (1.0 - 2.0 * f),
                         -b * b * r * r};
        size_t faces = s->tendon->face_count;
        add_to(&out->world, add);
        for (size_t n = 0; n < faces; n++)
            add_to(&out->face[n], add);
        for (size_t n = 0; out->budget && n < 1 + faces; n++)
            add_to(&out->budget[n * DM_BUDGET_ITEMS + DM_BUDGET_CORRECTIONS],
                   add);
    }
}

/* ---- pieces of a leg ----------------------------------------------------- */

/* The knot after which the sensor passed x = a, going ahead, for the last
 * time: the last event not beyond it. Where it was rolled back earlier
 * readings of the same x are not told apart. The knot that ends a leg comes
 * after all its readings. */
static const knot *passed_from(const path *p, const knot *knots, size_t count,
                               double a)
{
    const knot *last = &knots[0], *from = NULL, *any = NULL;
    for (size_t i = 1; i < count; i++)
        if (knots[i].event > last->event)
            last = &knots[i];
    dm_event_kind kind = p->run->events[last->event].kind;
    bool ends = count > 1 && (kind == DM_EVENT_SKIP || kind == DM_EVENT_REZERO);
    for (size_t i = 0; i < count; i++) {
        const knot *k = &knots[i];
        if (ends && k == last)
            continue;
        if (!any || k->event > any->event)
            any = k;
        if (k->x <= a && (!from || k->event > from->event))
            from = k;
    }
    return from ? from : any;
}

/* Whether the sensor came by run distances x0 to x1 of a leg on its way from
 * one tie to the next. */
static bool covers(const station_system *s, size_t interval, size_t leg,
                   double x0, double x1)
{
    const tie *t = &s->ties[s->interval_tie[interval]];
    const knot *a = &s->knots[t[-1].knot], *b = &s->knots[t->knot];
    if (leg < a->leg || leg > b->leg)
        return false;
    if (a->leg == b->leg)
        return x0 >= fmin(a->x, b->x) && x1 <= fmax(a->x, b->x);
    return (leg > a->leg || x0 >= a->x) && (leg < b->leg || x1 <= b->x);
}

/* A piece whose readings were last taken after knot `from`. Not reconciled if
 * any pass over it is not. */
static dm_piece *new_piece(const station_system *s, const knot *from, double x0,
                           double x1, dm_arena *arena, dm_stretch *out)
{
    const section *by = &s->sections[from->section];
    dm_piece *piece = &out->pieces[out->piece_count];
    size_t faces = s->tendon->face_count;
    piece->face = DM_NEW_ARRAY(arena, dm_quadratic, faces);
    if (s->settings->budget)
        piece->budget =
            DM_NEW_ARRAY(arena, dm_quadratic, (1 + faces) * DM_BUDGET_ITEMS);
    if (!piece->face || (s->settings->budget && !piece->budget))
        return NULL;
    piece->reconciled = !by->suspect;
    for (size_t i = 0; i < s->interval_count; i++)
        if (!s->intervals[i].reconciled && s->intervals[i].run == by->path &&
            covers(s, i, from->leg, x0, x1))
            piece->reconciled = false;
    out->piece_count++;
    return piece;
}

static dm_status add_open(const station_system *s, const adjusted *a,
                          const path *p, const knot *at, const knot *from,
                          double side, dm_arena *arena, dm_stretch *out)
{
    joint j;
    dm_status status = make_joint(s, a, at, &s->sections[from->section], &j);
    dm_piece *piece = new_piece(
        s, from, at->x, side < 0.0 ? at->x : (double)INFINITY, arena, out);
    if (status != DM_OK || !piece)
        return DM_NOMEM;
    beyond(s, a, p, &j, side, piece);
    spread_missing(s, a, p, at, at, piece);
    return DM_OK;
}

/* *ja is the joint at the end of the piece before, made anew if the sections
 * differ; it becomes that at the end of this one. */
static dm_status add_bridge(const station_system *s, const adjusted *a,
                            const path *p, const knot *kb, const knot *from,
                            joint *ja, dm_arena *arena, dm_stretch *out)
{
    const section *by = &s->sections[from->section];
    joint jb;
    dm_status status = DM_OK;
    if (ja->by != by)
        status = make_joint(s, a, ja->at, by, ja);
    if (status == DM_OK)
        status = make_joint(s, a, kb, by, &jb);
    dm_piece *piece = new_piece(s, from, ja->at->x, kb->x, arena, out);
    if (status != DM_OK || !piece)
        return DM_NOMEM;
    between(s, a, p, ja, &jb, piece);
    spread_missing(s, a, p, ja->at, kb, piece);
    *ja = jb;
    return DM_OK;
}

static dm_status leg_pieces(const station_system *s, const adjusted *a,
                            const path *p, const knot *knots, size_t count,
                            dm_arena *arena, dm_stretch *out)
{
    out->pieces = DM_NEW_ARRAY(arena, dm_piece, count + 1);
    if (!out->pieces)
        return DM_NOMEM;
    joint j = {.at = knots};
    const knot *from = passed_from(p, knots, count, knots->x);
    dm_status status = add_open(s, a, p, j.at, from, -1.0, arena, out);
    for (size_t i = 1; status == DM_OK && i < count; i++) {
        if (knots[i].x - j.at->x < 1e-9)
            continue;
        from = passed_from(p, knots, count, j.at->x);
        status = add_bridge(s, a, p, &knots[i], from, &j, arena, out);
    }
    from = passed_from(p, knots, count, knots[count - 1].x);
    if (status == DM_OK)
        status = add_open(s, a, p, j.at, from, 1.0, arena, out);
    return status;
}

/* ---- stretches ----------------------------------------------------------- */

/* The knots of leg `leg`; NULL: it has none, or nothing determines them. */
static const knot *leg_knots(const station_system *s, const path *p, size_t leg,
                             size_t *count)
{
    const knot *first = NULL;
    *count = 0;
    for (size_t i = p->first_knot; i < p->first_knot + p->knot_count; i++)
        if (s->knots[i].leg == leg) {
            first = *count == 0 ? &s->knots[i] : first;
            ++*count;
        }
    bool loose = first && s->sections[first->section].base == DM_NONE;
    return loose ? NULL : first;
}

static size_t count_readings(const dm_run *run)
{
    size_t n = 0;
    for (size_t i = 0; i < run->event_count; i++)
        n += run->events[i].kind == DM_EVENT_READINGS;
    return n;
}

/* Several readings of one leg share its pieces. */
static dm_status run_stretches(const station_system *s, const adjusted *a,
                               const path *p, dm_arena *arena,
                               dm_run_stations *out)
{
    size_t leg = 0, made = DM_NONE;
    bool begun = false;
    for (size_t i = 0; i < p->run->event_count; i++) {
        dm_event_kind kind = p->run->events[i].kind;
        begun = begun || kind == DM_EVENT_START || kind == DM_EVENT_TIE;
        leg += begun && (kind == DM_EVENT_SKIP || kind == DM_EVENT_REZERO);
        if (kind != DM_EVENT_READINGS)
            continue;
        size_t count;
        const knot *knots = leg_knots(s, p, leg, &count);
        if (!knots)
            continue;
        dm_stretch *stretch = &out->stretches[out->stretch_count++];
        if (made == leg) {
            *stretch = stretch[-1];
        } else if (leg_pieces(s, a, p, knots, count, arena, stretch) != DM_OK) {
            return DM_NOMEM;
        }
        made = leg;
        stretch->event = i;
    }
    out->usable = out->stretch_count > 0;
    return DM_OK;
}

/* The walkers' outside path, made once for all stretches. */
static dm_status keep_outside(const path *p, dm_arena *arena,
                              dm_run_stations *out)
{
    size_t count = p->outside->line->count + 1;
    double *begin = DM_NEW_ARRAY(arena, double, count);
    if (!begin)
        return DM_NOMEM;
    for (size_t i = 0; i < count; i++)
        begin[i] = p->outside->begin[i];
    out->outside = begin;
    return DM_OK;
}

static dm_status run_pieces(const station_system *s, const adjusted *a,
                            const path *p, dm_arena *arena,
                            dm_run_stations *out)
{
    double k = adjusted_unknown_mean(a, p->scale);
    double v = adjusted_unknown_cov(a, p->scale, p->scale);
    *out = (dm_run_stations){
        .run = p->index,
        .radius = s->radius,
        .direction = p->dir > 0.0 ? DM_SIDE_AHEAD : DM_SIDE_BACK,
        .scale = p->instrument->scale * (1.0 + k),
        .scale_u = p->instrument->scale * sqrt(fmax(v, 0.0))};
    out->stretches = DM_NEW_ARRAY(arena, dm_stretch, count_readings(p->run));
    if (!out->stretches || keep_outside(p, arena, out) != DM_OK)
        return DM_NOMEM;
    return run_stretches(s, a, p, arena, out);
}

dm_status station_pieces(const station_system *s, const adjusted *a,
                         dm_stations *out)
{
    adjusted with = *a;
    out->runs = DM_NEW_ARRAY(out->arena, dm_run_stations, s->path_count);
    if (!out->runs || budget_prepare(s, &with) != DM_OK)
        return DM_NOMEM;
    for (size_t i = 0; i < s->path_count; i++)
        if (run_pieces(s, &with, &s->paths[i], out->arena, &out->runs[i]) !=
            DM_OK)
            return DM_NOMEM;
    out->run_count = s->path_count;
    return DM_OK;
}
