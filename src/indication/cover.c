/* SPDX-License-Identifier: MIT
 * Coverage: every length of the tendon in exactly one state.
 *
 * Claims of all clock lines are swept along the station; at each place the
 * best state wins (tested, strand-masked, not reconciled, not valid). What
 * nobody read is cut at supports, ducts and fixtures and given the first
 * reason that applies: inside an anchorage or deviator, a steel duct, a
 * fixture, the skip's own reason, the sensor's length beside a support, not
 * walked. The bounds are the same doubles on both sides, so that the lengths
 * sum to the tendon's. Limit: where one clock line was read the others are
 * not asked about. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "indication/find.h"

const char *dm_cover_text(dm_cover cover)
{
    static const char *const text[DM_COVER_COUNT] = {
        [DM_COVER_TESTED] = "tested",
        [DM_COVER_STRAND_MASKED] = "strand-masked",
        [DM_COVER_NOT_TESTED] = "not tested",
        [DM_COVER_NOT_VALID] = "not valid",
        [DM_COVER_NOT_RECONCILED] = "not reconciled",
    };

    return (int)cover >= 0 && cover < DM_COVER_COUNT ? text[cover] : "";
}

dm_status dm_claim_add(dm_finder *f, double from, double to, dm_cover cover,
                       const char *reason)
{
    double length = f->tendon->line.length;

    from = fmax(from, 0.0);
    to = fmin(to, length);
    if (!(to > from))
        return DM_OK;
    if (f->claims.count == f->claims.capacity &&
        !DM_GROW(f->claims.items, f->claims.count, f->claims.capacity))
        return DM_NOMEM;
    f->claims.items[f->claims.count++] = (dm_claim){from, to, cover, reason};
    return DM_OK;
}

/* Lower is better; the order in which states win. */
static int rank(dm_cover cover)
{
    static const int order[DM_COVER_COUNT] = {
        [DM_COVER_TESTED] = 0,         [DM_COVER_STRAND_MASKED] = 1,
        [DM_COVER_NOT_RECONCILED] = 2, [DM_COVER_NOT_VALID] = 3,
        [DM_COVER_NOT_TESTED] = 4,
    };

    return order[cover];
}

/* ---- what the drawing knows about unread lengths ---- */

typedef struct {
    dm_cover_length *items;
    size_t count, capacity;
} lengths;

static bool append(lengths *l, double from, double to, dm_cover cover,
                   const char *reason)
{
    dm_cover_length *last = l->count > 0 ? &l->items[l->count - 1] : NULL;

    if (last != NULL && last->cover == cover &&
        strcmp(last->reason, reason) == 0) {
        last->to = to;
        return true;
    }
    if (l->count == l->capacity && !DM_GROW(l->items, l->count, l->capacity))
        return false;
    l->items[l->count++] = (dm_cover_length){from, to, cover, reason};
    return true;
}

static const char *fixture_word(dm_fixture_kind kind)
{
    static const char *const word[] = {
        [DM_FIXTURE_COLLAR] = "collar",
        [DM_FIXTURE_COUPLER] = "coupler",
        [DM_FIXTURE_WRAP] = "wrap",
        [DM_FIXTURE_PATCH] = "patch",
        [DM_FIXTURE_VENT] = "vent",
        [DM_FIXTURE_WELD] = "weld",
        [DM_FIXTURE_DIAPHRAGM] = "diaphragm",
        [DM_FIXTURE_LOW_CLEARANCE] = "low clearance",
    };

    return (size_t)kind < sizeof word / sizeof *word ? word[kind] : "fixture";
}

/* Reason for an unread length a..b that no bound of the drawing cuts;
 * gap_from..gap_to is the whole unread length it is part of. NULL: memory. */
static const char *why_unread(dm_finder *f, double a, double b, double gap_from,
                              double gap_to, const char *skip)
{
    const dm_tendon *n = f->tendon;
    double mid = 0.5 * (a + b);
    const double sensor = 0.5; /* body and bumper beside an obstacle, m */

    for (size_t i = 0; i < n->support_count; i++) {
        const dm_support *s = &n->supports[i];
        double lo = isnan(s->readable_back) ? -HUGE_VAL : s->readable_back;
        double hi = isnan(s->readable_ahead) ? HUGE_VAL : s->readable_ahead;

        if (mid > lo && mid < hi)
            return dm_arena_printf(f->arena, "inside %s %s",
                                   s->kind == DM_SUPPORT_ANCHORAGE ? "anchorage"
                                                                   : "deviator",
                                   s->id);
        /* The unread length that a hand could reach ends at supports. */
        if (lo >= b && lo < gap_to)
            gap_to = lo;
        if (hi <= a && hi > gap_from)
            gap_from = hi;
    }
    if (strcmp(dm_tendon_duct(f->model, n, mid)->material, "steel") == 0)
        return "steel duct";
    for (size_t i = 0; i < n->fixture_count; i++) {
        const dm_fixture *x = &n->fixtures[i];

        if ((mid >= x->from && mid <= x->to) ||
            (x->from < gap_to && x->to > gap_from && mid > x->from - sensor &&
             mid < x->to + sensor))
            return dm_arena_printf(f->arena, "%s %s", fixture_word(x->kind),
                                   x->id);
    }
    if (skip != NULL)
        return skip;
    for (size_t i = 0; i < n->support_count; i++) {
        const dm_support *s = &n->supports[i];

        if ((fabs(gap_to - s->readable_back) < 1e-9 ||
             fabs(gap_from - s->readable_ahead) < 1e-9) &&
            gap_to - gap_from < sensor)
            return dm_arena_printf(f->arena, "the sensor's length beside %s %s",
                                   s->kind == DM_SUPPORT_ANCHORAGE ? "anchorage"
                                                                   : "deviator",
                                   s->id);
    }
    return "not walked";
}

static bool add_cut(double **cuts, size_t *n, size_t *capacity, double at,
                    double length)
{
    if (!(at > 0.0 && at < length))
        return true;
    if (*n == *capacity && !dm_grow((void **)cuts, sizeof **cuts, *n, capacity))
        return false;
    (*cuts)[(*n)++] = at;
    return true;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* Stations at which the drawing changes the reason for not reading. */
static bool drawing_cuts(const dm_finder *f, double **cuts, size_t *n)
{
    const dm_tendon *t = f->tendon;
    double length = t->line.length;
    size_t capacity = 0;
    bool good = true;

    *cuts = NULL;
    *n = 0;
    for (size_t i = 0; i < t->support_count && good; i++)
        good =
            add_cut(cuts, n, &capacity, t->supports[i].readable_back, length) &&
            add_cut(cuts, n, &capacity, t->supports[i].readable_ahead, length);
    for (size_t i = 0; i < t->duct_count && good; i++)
        good = add_cut(cuts, n, &capacity, t->ducts[i].from, length);
    for (size_t i = 0; i < t->fixture_count && good; i++)
        good = add_cut(cuts, n, &capacity, t->fixtures[i].from, length) &&
               add_cut(cuts, n, &capacity, t->fixtures[i].to, length);
    if (*n > 0)
        qsort(*cuts, *n, sizeof **cuts, by_value);
    return good;
}

static bool add_unread(dm_finder *f, lengths *l, double from, double to,
                       const char *skip, const double *cuts, size_t n)
{
    double a = from;

    while (a < to) {
        double b = to;
        const char *why;

        for (size_t i = n; i-- > 0;)
            if (cuts[i] > a && cuts[i] < b)
                b = cuts[i];
        why = why_unread(f, a, b, from, to, skip);
        if (why == NULL || !append(l, a, b, DM_COVER_NOT_TESTED, why))
            return false;
        a = b;
    }
    return true;
}

/* ---- the sweep ---- */

typedef struct {
    double t;
    int step; /* +1 begins, -1 ends */
    size_t claim;
} bound;

static int by_bound(const void *a, const void *b)
{
    const bound *x = a, *y = b;

    if (x->t != y->t)
        return x->t < y->t ? -1 : 1;
    if (x->step != y->step)
        return x->step - y->step;
    return (x->claim > y->claim) - (x->claim < y->claim);
}

static bool sweep(dm_finder *f, const bound *b, size_t n, lengths *l,
                  const double *cuts, size_t cut_count)
{
    size_t open[DM_COVER_COUNT] = {0};
    const char *reason[DM_COVER_COUNT] = {"", "", NULL, "", ""};
    double at = 0.0, length = f->tendon->line.length;

    for (size_t i = 0; i <= n; i++) {
        double next = i < n ? b[i].t : length;

        if (next > at) {
            dm_cover best = DM_COVER_NOT_TESTED;
            bool good;

            for (int c = 0; c < DM_COVER_COUNT; c++)
                if (open[c] > 0 && rank((dm_cover)c) < rank(best))
                    best = (dm_cover)c;
            good = best == DM_COVER_NOT_TESTED
                       ? add_unread(f, l, at, next,
                                    open[best] > 0 ? reason[best] : NULL, cuts,
                                    cut_count)
                       : append(l, at, next, best, reason[best]);
            if (!good)
                return false;
            at = next;
        }
        if (i < n) {
            const dm_claim *c = &f->claims.items[b[i].claim];

            if (b[i].step > 0) {
                open[c->cover]++;
                reason[c->cover] = c->reason;
            } else {
                open[c->cover]--;
            }
        }
    }
    return true;
}

static dm_status keep(dm_finder *f, const lengths *l)
{
    dm_indications *out = f->out;

    out->cover = DM_NEW_ARRAY(f->arena, dm_cover_length, l->count);
    if (out->cover == NULL)
        return DM_NOMEM;
    out->cover_count = l->count;
    for (size_t i = 0; i < l->count; i++) {
        out->cover[i] = l->items[i];
        out->cover_sum[l->items[i].cover] += l->items[i].to - l->items[i].from;
    }
    return DM_OK;
}

dm_status dm_cover_build(dm_finder *f)
{
    size_t n = f->claims.count, cut_count = 0;
    bound *b = calloc(2 * n + 1, sizeof *b);
    double *cuts = NULL;
    lengths l = {NULL, 0, 0};
    dm_status status = DM_NOMEM;

    if (b == NULL || !drawing_cuts(f, &cuts, &cut_count))
        goto out;
    for (size_t i = 0; i < n; i++) {
        b[2 * i] = (bound){f->claims.items[i].from, +1, i};
        b[2 * i + 1] = (bound){f->claims.items[i].to, -1, i};
    }
    qsort(b, 2 * n, sizeof *b, by_bound);
    if (sweep(f, b, 2 * n, &l, cuts, cut_count))
        status = keep(f, &l);
out:
    free(b);
    free(cuts);
    free(l.items);
    return status;
}
