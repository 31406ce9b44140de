/* SPDX-License-Identifier: MIT
 * Sightings of one tendon to indications.
 *
 * 1. Neighbours on one strip closer than the merge gap, and neighbours on
 *    both sides of a short unread length that both run into it, become one.
 * 2. Sightings of different runs, channels and clock lines that overlap, or
 *    would within twice their uncertainties, are one indication.
 * 3. Its ends: the mean weighted by inverse variance where the ends agree
 *    within three standard deviations of their difference, else the outermost.
 *    An end that one run read through is preferred to an open one, unless the
 *    open one lies clearly beyond.
 * Stations of several runs share faces and instruments: their part of the
 * variance is taken as fully correlated (an upper bound), the readings' part
 * as independent. The index is fused by its noise (kind.c): the readings of
 * two runs share no error that is known. Sightings that do not reconcile add
 * nothing to a place that a reconciled run saw. */
#include <math.h>
#include <stdlib.h>

#include "indication/find.h"
#include "indication/size.h"

/* Longest unread length that a void seen on both sides of it is taken to
 * run through, m. */
#define GAP_MAX 1.0

static int sign_of(const dm_sighting *s)
{
    return s->kind == DM_KIND_VOID_LIKE ? 1 : -1;
}

/* Variance of an end that matters between runs: readings and the better
 * known of the two faces, else the world. */
static double spot_var(const dm_spot *p)
{
    double v = fmin(isnan(p->back) ? HUGE_VAL : p->back,
                    isnan(p->ahead) ? HUGE_VAL : p->ahead);

    return p->edge + (isinf(v) ? p->world : v);
}

static int by_line(const void *a, const void *b)
{
    const dm_sighting *x = a, *y = b;

    if (x->run != y->run)
        return x->run < y->run ? -1 : 1;
    if (x->channel != y->channel)
        return x->channel < y->channel ? -1 : 1;
    if (x->from.t != y->from.t)
        return x->from.t < y->from.t ? -1 : 1;
    return (x->strip > y->strip) - (x->strip < y->strip);
}

/* b, which begins further on, joins a. */
static void join(dm_sighting *a, const dm_sighting *b, bool across)
{
    if (fabs(b->index) > fabs(a->index)) {
        a->index = b->index;
        a->index_u = b->index_u;
    }
    a->index_length += b->index_length;
    a->index_length_u = hypot(a->index_length_u, b->index_length_u);
    if (b->kind == DM_KIND_UNRESOLVED)
        a->kind = b->kind;
    if (b->to.t > a->to.t)
        a->to = b->to;
    a->shorter = false;
    a->reconciled = a->reconciled && b->reconciled;
    a->across = a->across || b->across || across;
    a->strip = b->strip;
}

/* Step 1, in place. Void-like and negative sightings lie between each other,
 * so the last one of each sign is remembered. */
static void join_neighbours(dm_sightings *list, double merge_gap)
{
    size_t kept = 0, last[2] = {0, 0};
    bool has[2] = {false, false};

    qsort(list->items, list->count, sizeof *list->items, by_line);
    for (size_t i = 0; i < list->count; i++) {
        dm_sighting s = list->items[i];
        size_t k = sign_of(&s) > 0;
        dm_sighting *p = &list->items[last[k]];

        if (kept > 0 && (list->items[kept - 1].run != s.run ||
                         list->items[kept - 1].channel != s.channel))
            has[0] = has[1] = false;
        if (has[k]) {
            double gap = s.from.t - p->to.t;
            bool unread = p->strip != s.strip;

            if ((!unread && gap < merge_gap) ||
                (unread && p->to.open && s.from.open && gap < GAP_MAX)) {
                join(p, &s, unread && gap > 0.5 * s.footprint);
                continue;
            }
        }
        list->items[kept] = s;
        last[k] = kept++;
        has[k] = true;
    }
    list->count = kept;
}

/* ---- clusters ---- */

static bool same_thing(const dm_sighting *a, const dm_sighting *b)
{
    double ab = b->from.t - a->to.t, ba = a->from.t - b->to.t, slack;

    if (sign_of(a) != sign_of(b) ||
        (a->run == b->run && a->channel == b->channel))
        return false;
    if (ab <= 0.0 && ba <= 0.0)
        return true;
    slack = ab > 0.0 ? spot_var(&a->to) + spot_var(&b->from)
                     : spot_var(&a->from) + spot_var(&b->to);
    return fmax(ab, ba) <= 2.0 * sqrt(slack);
}

static size_t root(size_t *parent, size_t i)
{
    while (parent[i] != i) {
        parent[i] = parent[parent[i]];
        i = parent[i];
    }
    return i;
}

static int by_station(const void *a, const void *b)
{
    const dm_sighting *x = a, *y = b;

    if (x->from.t != y->from.t)
        return x->from.t < y->from.t ? -1 : 1;
    return by_line(a, b);
}

/* Sightings must be sorted by from.t. */
static void cluster(const dm_sightings *list, size_t *parent)
{
    for (size_t i = 0; i < list->count; i++)
        parent[i] = i;
    for (size_t i = 0; i < list->count; i++) {
        const dm_sighting *a = &list->items[i];
        double reach = a->to.t + 2.0 * sqrt(spot_var(&a->to)) + 0.5;

        for (size_t k = i + 1;
             k < list->count && list->items[k].from.t <= reach; k++)
            if (same_thing(a, &list->items[k])) {
                size_t p = root(parent, i), q = root(parent, k);

                if (p < q)
                    parent[q] = p;
                else
                    parent[p] = q;
            }
    }
}

/* ---- ends ---- */

/* `side` -1: outward is towards smaller t. */
static double outward(const dm_spot *p, int side)
{
    return side * p->t;
}

static const dm_spot *spot(const dm_sighting *s, int side)
{
    return side < 0 ? &s->from : &s->to;
}

/* Mean of n spots weighted by inverse variance; true if they agree. */
static bool weighted(const dm_spot *const *spots, size_t n, dm_spot *out)
{
    double total = 0.0, t = 0.0, edge = 0.0, world = 0.0, back = 0.0,
           ahead = 0.0, heaviest = 0.0;

    for (size_t i = 0; i < n; i++)
        total += 1.0 / spot_var(spots[i]);
    for (size_t i = 0; i < n; i++) {
        double w = 1.0 / (spot_var(spots[i]) * total);

        if (w > heaviest) {
            heaviest = w;
            *out = *spots[i];
        }
        t += w * spots[i]->t;
        edge += w * w * spots[i]->edge;
        world += w * sqrt(spots[i]->world);
        back += w * sqrt(spots[i]->back);
        ahead += w * sqrt(spots[i]->ahead);
    }
    out->t = t;
    out->edge = edge;
    out->world = world * world;
    out->back = back * back;
    out->ahead = ahead * ahead;
    for (size_t i = 0; i < n; i++)
        if (fabs(spots[i]->t - t) >=
            3.0 * sqrt(spot_var(spots[i]) + 1.0 / total))
            return false;
    return true;
}

static dm_spot outermost(const dm_spot *const *spots, size_t n, int side)
{
    const dm_spot *best = spots[0];

    for (size_t i = 1; i < n; i++)
        if (outward(spots[i], side) > outward(best, side))
            best = spots[i];
    return *best;
}

/* One end from those of several sightings (at least one). */
static dm_spot combine(const dm_spot *const *spots, size_t n, int side,
                       const dm_spot **closed)
{
    size_t n_closed = 0;
    dm_spot mean = *spots[0], out, open = outermost(spots, n, side);

    for (size_t i = 0; i < n; i++)
        if (!spots[i]->open)
            closed[n_closed++] = spots[i];
    if (n_closed == 0)
        return open;
    if (weighted(closed, n_closed, &mean)) {
        out = mean;
    } else {
        double apart;

        out = outermost(closed, n_closed, side);
        apart = 0.5 * (out.t - mean.t);
        out.edge += apart * apart;
    }
    open.open = false;
    for (size_t i = 0; i < n; i++)
        if (spots[i]->open &&
            side * (spots[i]->t - out.t) >
                3.0 * sqrt(spot_var(spots[i]) + spot_var(&out)) &&
            (!open.open || outward(spots[i], side) > outward(&open, side)))
            open = *spots[i];
    return open.open ? open : out;
}

static dm_end end_of(const dm_spot *p)
{
    return (dm_end){.t = p->t,
                    .u = sqrt(p->world + p->edge),
                    .u_edge = sqrt(p->edge),
                    .face_back = p->face_back,
                    .face_ahead = p->face_ahead,
                    .u_back = sqrt(p->back + p->edge),
                    .u_ahead = sqrt(p->ahead + p->edge),
                    .tip_low = p->tip_low,
                    .tip_high = p->tip_high,
                    .open = p->open};
}

/* ---- one indication ---- */

/* A member gives its end only if no other sighting of its own run and channel
 * in the cluster lies further out. */
static bool gives_end(const dm_sighting *const *m, size_t n, size_t i, int side)
{
    for (size_t k = 0; k < n; k++)
        if (k != i && m[k]->run == m[i]->run &&
            m[k]->channel == m[i]->channel &&
            outward(spot(m[k], side), side) > outward(spot(m[i], side), side))
            return false;
    return true;
}

static int by_index(const void *a, const void *b)
{
    size_t x = *(const size_t *)a, y = *(const size_t *)b;

    return (x > y) - (x < y);
}

static bool list_runs(dm_finder *f, const dm_sighting *const *m, size_t n,
                      dm_indication *out)
{
    size_t kept = 0;

    out->runs = DM_NEW_ARRAY(f->arena, size_t, n);
    if (out->runs == NULL)
        return false;
    for (size_t i = 0; i < n; i++)
        out->runs[i] = m[i]->run;
    qsort(out->runs, n, sizeof *out->runs, by_index);
    for (size_t i = 0; i < n; i++)
        if (kept == 0 || out->runs[i] != out->runs[kept - 1])
            out->runs[kept++] = out->runs[i];
    out->run_count = kept;
    return true;
}

static void describe(const dm_sighting *const *m, size_t n, bool reconciled,
                     bool all_short, dm_indication *out)
{
    out->kind = m[0]->kind;
    out->across_gap = true;
    for (size_t i = 0; i < n; i++) {
        if (m[i]->kind == DM_KIND_UNRESOLVED)
            out->kind = m[i]->kind;
        out->across_gap = out->across_gap && m[i]->across;
    }
    out->reconciled = reconciled;
    out->shorter_than_footprint = all_short;
    out->size = dm_size_unknown();
    out->grade = DM_NONE;
    out->rule = DM_NONE;
    out->state = DM_STATE_INDICATED;
}

/* `m` has n members; scratch holds 2 n pointers. */
static bool make_indication(dm_finder *f, const dm_sighting **m, size_t n,
                            const dm_spot **scratch, dm_indication *out)
{
    bool reconciled = false, all_short = true;
    size_t kept = 0;
    dm_spot end[2];

    if (!list_runs(f, m, n, out))
        return false;
    for (size_t i = 0; i < n; i++)
        reconciled = reconciled || m[i]->reconciled;
    for (size_t i = 0; i < n; i++)
        if (m[i]->reconciled == reconciled)
            m[kept++] = m[i];
    n = kept;
    for (size_t i = 0; i < n; i++)
        all_short = all_short && m[i]->shorter;
    describe(m, n, reconciled, all_short, out);
    for (int s = 0; s < 2; s++) {
        int side = s == 0 ? -1 : +1;
        size_t count = 0;

        for (size_t i = 0; i < n; i++)
            if (m[i]->shorter == all_short && gives_end(m, n, i, side))
                scratch[count++] = spot(m[i], side);
        end[s] = combine(scratch, count, side, scratch + n);
    }
    if (end[1].t < end[0].t) { /* ends of different runs crossed */
        double mid = 0.5 * (end[0].t + end[1].t), apart = mid - end[1].t;

        for (int s = 0; s < 2; s++) {
            end[s].t = mid;
            end[s].edge += apart * apart;
        }
    }
    out->from = end_of(&end[0]);
    out->to = end_of(&end[1]);
    return dm_kind_fuse(f, m, n, out);
}

static int by_from(const void *a, const void *b)
{
    const dm_indication *x = a, *y = b;

    if (x->from.t != y->from.t)
        return x->from.t < y->from.t ? -1 : 1;
    if (x->to.t != y->to.t)
        return x->to.t < y->to.t ? -1 : 1;
    return (int)x->kind - (int)y->kind;
}

dm_status dm_sightings_merge(dm_finder *f, dm_indication **items, size_t *count)
{
    dm_sightings *list = &f->sightings;
    size_t n, *parent;
    const dm_sighting **members;
    const dm_spot **scratch;
    dm_status status = DM_NOMEM;

    *count = 0;
    if (list->count > 0)
        join_neighbours(list, f->settings->merge_gap);
    n = list->count;
    parent = calloc(n + 1, sizeof *parent);
    members = calloc(n + 1, sizeof *members);
    scratch = calloc(2 * n + 1, sizeof *scratch);
    *items = DM_NEW_ARRAY(f->arena, dm_indication, n);
    if (parent == NULL || members == NULL || scratch == NULL || *items == NULL)
        goto out;
    if (n > 0)
        qsort(list->items, n, sizeof *list->items, by_station);
    cluster(list, parent);
    for (size_t i = 0; i < n; i++) {
        size_t m = 0;

        if (root(parent, i) != i)
            continue;
        for (size_t k = i; k < n; k++)
            if (root(parent, k) == i)
                members[m++] = &list->items[k];
        if (!make_indication(f, members, m, scratch, &(*items)[*count]))
            goto out;
        (*count)++;
    }
    if (*count > 0)
        qsort(*items, *count, sizeof **items, by_from);
    status = DM_OK;
out:
    free(parent);
    free(members);
    free(scratch);
    return status;
}
