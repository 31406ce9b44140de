/* SPDX-License-Identifier: MIT
 * Where the strands lie, as far as bends tell: a stressed bundle is pulled to
 * the inside of every bend, up to the crown in a sag, down to the invert over a
 * crest, give or take 20 deg (common practice, no source). What is stated
 * goes before what is derived; between bends nothing is known. Limits: one
 * clock angle an arc, that of its middle (the crown turns along a bend that
 * is not plumb; 20 deg is more); weak bends and the sag of free lengths say
 * nothing. */
#include <math.h>
#include <stdlib.h>

#include "model/read.h"

#define DEGREE 0.017453292519943295769
/* Both: common practice, no source. */
#define LEAST_TURN (0.5 * DEGREE)
#define DERIVED_U (20.0 * DEGREE)
#define SLIVER 1e-6 /* m */

typedef struct {
    double from, to;
} span;

static int by_from(const void *a, const void *b)
{
    const span *x = a, *y = b;
    return (x->from > y->from) - (x->from < y->from);
}

/* What is stated, as spans apart from each other, by increasing station. */
static size_t stated_spans(const dm_tendon *t, span *out)
{
    size_t n = 0, kept = 0;
    for (size_t i = 0; i < t->strand_side_count; i++)
        out[n++] = (span){t->strand_sides[i].from, t->strand_sides[i].to};
    if (n > 1)
        qsort(out, n, sizeof *out, by_from);
    for (size_t i = 0; i < n; i++) {
        if (kept > 0 && out[i].from <= out[kept - 1].to)
            out[kept - 1].to = fmax(out[kept - 1].to, out[i].to);
        else
            out[kept++] = out[i];
    }
    return kept;
}

static void add_side(dm_tendon *t, const dm_support *s, double clock,
                     double from, double to)
{
    if (to - from < SLIVER)
        return;
    t->strand_sides[t->strand_side_count++] =
        (dm_strand_side){.derived = true,
                         .from = from,
                         .to = to,
                         .clock = clock,
                         .u = DERIVED_U,
                         .place = s->place};
}

/* `*next`: the first span that may reach this arc; arcs come by station. */
static void derive_in_arc(dm_tendon *t, size_t support, const span *stated,
                          size_t count, size_t *next)
{
    const dm_support *s = &t->supports[support];
    double clock = dm_tendon_bend_plane(t, support);
    if (isnan(clock) || s->deflection < LEAST_TURN)
        return;
    const dm_segment *arc = &t->line.segments[s->arc];
    double at = arc->t0, end = arc->t0 + arc->length;
    while (*next < count && stated[*next].to <= at)
        ++*next;
    for (size_t i = *next; i < count && stated[i].from < end; i++) {
        add_side(t, s, clock, at, stated[i].from);
        at = stated[i].to;
    }
    add_side(t, s, clock, at, end);
}

void derive_strand_sides(reader *r, dm_tendon *t)
{
    size_t count = t->strand_side_count, next = 0;
    /* A span splits an arc into one piece more. */
    dm_strand_side *all =
        DM_NEW_ARRAY(r->arena, dm_strand_side, 2 * count + t->support_count);
    span *stated = DM_NEW_ARRAY(r->arena, span, count + 1);
    if (!all || !stated) {
        r->out_of_memory = true;
        return;
    }
    for (size_t i = 0; i < count; i++)
        all[i] = t->strand_sides[i];
    t->strand_sides = all;
    count = stated_spans(t, stated);
    for (size_t i = 0; i < t->support_count; i++)
        derive_in_arc(t, i, stated, count, &next);
}
