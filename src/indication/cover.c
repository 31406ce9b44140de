/* SPDX-License-Identifier: MIT
 * Coverage: every length of the tendon in exactly one state, for each clock
 * line that a run used and for all of them together.
 *
 * The claims of a ledger are swept along the station; at each place the best
 * state wins (tested, strand-masked, not reconciled, not valid), and of one
 * state the first reason in the order of dm_why. What nobody read is explained
 * from the drawing (unread.c). The bounds are the same doubles on both sides,
 * so that the lengths sum to the tendon's. They are rounded to whole
 * micrometres, which no station is known to, so that lengths printed to 1 um
 * add up, too. Limit: in the ledger of all lines one line is enough; what the
 * others missed stands in theirs. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "geom/clock.h"
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

const char *dm_why_text(dm_why why)
{
    static const char *const text[DM_WHY_COUNT] = {
        [DM_WHY_NONE] = "",
        [DM_WHY_STRAND] = "strand",
        [DM_WHY_SUPPORT] = "inside support",
        [DM_WHY_STEEL] = "steel",
        [DM_WHY_WRAP] = "wrap",
        [DM_WHY_LOW_CLEARANCE] = "low clearance",
        [DM_WHY_OBSTRUCTION] = "obstruction",
        [DM_WHY_SKIPPED] = "skipped",
        [DM_WHY_LEFT_OUT] = "run left out",
        [DM_WHY_DEAD_ZONE] = "dead zone",
        [DM_WHY_NO_ACCESS] = "no access",
        [DM_WHY_NOT_WALKED] = "not walked",
        [DM_WHY_LIFT_OFF] = "lift-off",
        [DM_WHY_CHECK_DRIFT] = "check drift",
        [DM_WHY_NO_CALIBRATION] = "no calibration",
        [DM_WHY_NOT_CLOSED] = "not closed",
    };

    return (int)why >= 0 && why < DM_WHY_COUNT ? text[why] : "";
}

dm_cover dm_why_cover(dm_why why)
{
    switch (why) {
    case DM_WHY_NONE:
        return DM_COVER_TESTED;
    case DM_WHY_STRAND:
        return DM_COVER_STRAND_MASKED;
    case DM_WHY_LIFT_OFF:
    case DM_WHY_CHECK_DRIFT:
    case DM_WHY_NO_CALIBRATION:
        return DM_COVER_NOT_VALID;
    case DM_WHY_NOT_CLOSED:
        return DM_COVER_NOT_RECONCILED;
    default:
        return DM_COVER_NOT_TESTED;
    }
}

dm_status dm_clock_line_take(dm_finder *f, dm_clock_line like, size_t *line)
{
    dm_clock_line *l;

    for (*line = 0; *line < f->clock_line_count; ++*line) {
        l = &f->clock_lines[*line];
        if (dm_same_line(l->clock, like.clock)) {
            l->width = fmin(l->width, like.width);
            l->reach = fmax(l->reach, like.reach);
            return DM_OK;
        }
    }
    if (f->clock_line_count == f->clock_line_capacity &&
        !DM_GROW(f->clock_lines, f->clock_line_count, f->clock_line_capacity))
        return DM_NOMEM;
    f->clock_lines[f->clock_line_count++] = like;
    return DM_OK;
}

/* A bound of the ledger. */
static double bound_at(const dm_finder *f, double t)
{
    double length = f->tendon->line.length;

    t = floor(t / DM_COVER_STEP + 0.5) * DM_COVER_STEP;
    return t > length - DM_COVER_STEP ? length : fmax(t, 0.0);
}

dm_status dm_claim_add(dm_finder *f, size_t line, dm_cover_length length)
{
    length.from = bound_at(f, length.from);
    length.to = bound_at(f, length.to);
    if (!(length.to > length.from))
        return DM_OK;
    if (f->claims.count == f->claims.capacity &&
        !DM_GROW(f->claims.items, f->claims.count, f->claims.capacity))
        return DM_NOMEM;
    f->claims.items[f->claims.count++] = (dm_claim){line, length};
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

/* ---- lengths that follow each other ---- */

typedef struct {
    dm_cover_length *items;
    size_t count, capacity;
} lengths;

static bool append(lengths *l, dm_cover_length next)
{
    dm_cover_length *last = l->count > 0 ? &l->items[l->count - 1] : NULL;

    if (last != NULL && last->cover == next.cover && last->why == next.why &&
        strcmp(last->reason, next.reason) == 0) {
        last->to = next.to;
        return true;
    }
    if (l->count == l->capacity && !DM_GROW(l->items, l->count, l->capacity))
        return false;
    l->items[l->count++] = next;
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

typedef struct {
    dm_finder *f;
    size_t line;  /* DM_NONE: all of them */
    double *cuts; /* of the drawing */
    size_t cut_count;
    bound *bounds;
    size_t bound_count;
    size_t *open; /* claims that hold where the sweep stands */
    size_t open_count;
    lengths out;
} ledger;

static bool add_unread(ledger *g, double from, double to,
                       const dm_cover_length *said)
{
    double a = from;

    while (a < to) {
        dm_cover_length l = {.from = a, .to = to, .cover = DM_COVER_NOT_TESTED};

        for (size_t i = g->cut_count; i-- > 0;)
            if (g->cuts[i] > a && g->cuts[i] < l.to)
                l.to = g->cuts[i];
        if (!dm_unread_explain(g->f, g->line, &l, from, to, said) ||
            !append(&g->out, l))
            return false;
        a = l.to;
    }
    return true;
}

static const dm_cover_length *claimed(const ledger *g, size_t open)
{
    return &g->f->claims.items[g->open[open]].length;
}

/* The claim that says what the place is; NULL: none holds. */
static const dm_cover_length *best_claim(const ledger *g)
{
    const dm_cover_length *best = NULL;

    for (size_t i = 0; i < g->open_count; i++) {
        const dm_cover_length *c = claimed(g, i);

        if (best == NULL || rank(c->cover) < rank(best->cover) ||
            (c->cover == best->cover && c->why < best->why))
            best = c;
    }
    return best;
}

static void step(ledger *g, const bound *b)
{
    size_t i = 0;

    if (b->step > 0) {
        g->open[g->open_count++] = b->claim;
        return;
    }
    while (g->open[i] != b->claim)
        i++;
    g->open_count--;
    memmove(&g->open[i], &g->open[i + 1],
            (g->open_count - i) * sizeof *g->open);
}

static bool sweep(ledger *g)
{
    double at = 0.0, length = g->f->tendon->line.length;

    for (size_t i = 0; i <= g->bound_count; i++) {
        double next = i < g->bound_count ? g->bounds[i].t : length;

        if (next > at) {
            const dm_cover_length *c = best_claim(g);
            bool good;

            if (c == NULL || c->cover == DM_COVER_NOT_TESTED)
                good = add_unread(g, at, next, c);
            else
                good = append(&g->out, (dm_cover_length){at, next, c->cover,
                                                         c->why, c->reason});
            if (!good)
                return false;
            at = next;
        }
        if (i < g->bound_count)
            step(g, &g->bounds[i]);
    }
    return true;
}

/* Sweeps the claims of one clock line, or (DM_NONE) of all, into `out`. */
static dm_status keep_ledger(ledger *g, size_t line, dm_cover_line *out)
{
    const dm_claims *claims = &g->f->claims;

    g->line = line;
    g->bound_count = g->open_count = g->out.count = 0;
    for (size_t i = 0; i < claims->count; i++)
        if (line == DM_NONE || claims->items[i].line == line) {
            const dm_cover_length *c = &claims->items[i].length;

            g->bounds[g->bound_count++] = (bound){c->from, +1, i};
            g->bounds[g->bound_count++] = (bound){c->to, -1, i};
        }
    qsort(g->bounds, g->bound_count, sizeof *g->bounds, by_bound);
    free(g->cuts);
    if (!dm_unread_cuts(g->f, line, &g->cuts, &g->cut_count))
        return DM_NOMEM;
    for (size_t i = 0; i < g->cut_count; i++)
        g->cuts[i] = bound_at(g->f, g->cuts[i]);
    if (!sweep(g))
        return DM_NOMEM;
    out->lengths = DM_NEW_ARRAY(g->f->arena, dm_cover_length, g->out.count);
    if (out->lengths == NULL)
        return DM_NOMEM;
    out->count = g->out.count;
    for (size_t i = 0; i < out->count; i++) {
        const dm_cover_length *l = &g->out.items[i];

        out->lengths[i] = *l;
        out->sum[l->cover] += l->to - l->from;
        out->why_sum[l->why] += l->to - l->from;
    }
    return DM_OK;
}

static int by_clock(const void *a, const void *b)
{
    const dm_cover_line *x = a, *y = b;

    return (x->clock > y->clock) - (x->clock < y->clock);
}

static dm_status keep_lines(ledger *g)
{
    dm_finder *f = g->f;
    dm_indications *out = f->out;
    dm_cover_line all = {0};
    dm_status status = keep_ledger(g, DM_NONE, &all);

    out->cover = all.lengths;
    out->cover_count = all.count;
    memcpy(out->cover_sum, all.sum, sizeof all.sum);
    memcpy(out->why_sum, all.why_sum, sizeof all.why_sum);
    if (status != DM_OK)
        return status;
    out->cover_lines =
        DM_NEW_ARRAY(f->arena, dm_cover_line, f->clock_line_count);
    if (out->cover_lines == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < f->clock_line_count && status == DM_OK; i++) {
        dm_cover_line *l = &out->cover_lines[out->cover_line_count++];

        l->clock = f->clock_lines[i].clock;
        l->width = f->clock_lines[i].width;
        status = keep_ledger(g, i, l);
    }
    qsort(out->cover_lines, out->cover_line_count, sizeof *out->cover_lines,
          by_clock);
    return status;
}

dm_status dm_cover_build(dm_finder *f)
{
    size_t n = f->claims.count;
    ledger g = {.f = f,
                .bounds = calloc(2 * n + 1, sizeof *g.bounds),
                .open = calloc(n + 1, sizeof *g.open)};
    dm_status status = DM_NOMEM;

    if (g.bounds != NULL && g.open != NULL)
        status = keep_lines(&g);
    free(g.bounds);
    free(g.open);
    free(g.cuts);
    free(g.out.items);
    return status;
}
