/* SPDX-License-Identifier: MIT
 * Sums over tendons, parts and the bridge. Each tendon is added to its part,
 * then each part, the last first, to the one that it lies in. */
#include "ductmark/total.h"

#include <math.h>

#include "base/arena.h"

#define LEDGER 1e-6 /* m; see total.h */
#define EXTENT 1e-5

static double to_step(double v, double step)
{
    return floor(v / step + 0.5) * step;
}

static size_t place_of(const dm_totals *t, dm_kind kind, size_t grade)
{
    return (size_t)kind * (t->grades + 1) +
           (grade < t->grades ? grade : t->grades);
}

const dm_tally *dm_tally_at(const dm_totals *totals, const dm_total *total,
                            dm_kind kind, size_t grade)
{
    return &total->tallies[place_of(totals, kind, grade)];
}

static bool begin(dm_totals *t, dm_total *total)
{
    total->tallies =
        DM_NEW_ARRAY(t->arena, dm_tally, DM_KIND_COUNT * (t->grades + 1));
    return total->tallies != NULL;
}

static void count(dm_tally *tally, size_t n, double length)
{
    tally->count += n;
    tally->length += length;
}

static void add_total(const dm_totals *t, dm_total *a, const dm_total *b)
{
    a->tendons += b->tendons;
    a->surveyed += b->surveyed;
    a->length += b->length;
    for (int i = 0; i < DM_COVER_COUNT; i++)
        a->cover[i] += b->cover[i];
    for (int i = 0; i < DM_WHY_COUNT; i++)
        a->why[i] += b->why[i];
    count(&a->all, b->all.count, b->all.length);
    for (size_t i = 0; i < DM_KIND_COUNT * (t->grades + 1); i++)
        count(&a->tallies[i], b->tallies[i].count, b->tallies[i].length);
    dm_volume_sum_add(&a->volume, &b->volume);
    dm_opened_sum_add(&a->opened, &b->opened);
}

static void take_tendon(const dm_totals *t, const dm_tendon *n,
                        const dm_indications *found, dm_total *out)
{
    out->tendons = 1;
    out->length = to_step(n->line.length, LEDGER);
    if (found == NULL) {
        out->cover[DM_COVER_NOT_TESTED] = out->length;
        out->why[DM_WHY_NOT_WALKED] = out->length;
        return;
    }
    out->surveyed = 1;
    for (int i = 0; i < DM_COVER_COUNT; i++)
        out->cover[i] = to_step(found->cover_sum[i], LEDGER);
    for (int i = 0; i < DM_WHY_COUNT; i++)
        out->why[i] = to_step(found->why_sum[i], LEDGER);
    for (size_t i = 0; i < found->count; i++) {
        const dm_indication *d = &found->items[i];
        double length = to_step(d->to.t - d->from.t, EXTENT);

        count(&out->all, 1, length);
        count(&out->tallies[place_of(t, d->kind, d->grade)], 1, length);
    }
    out->volume = found->volume;
    out->opened = found->opened;
}

static dm_status add_up(dm_totals *t, const dm_model *m,
                        const dm_result *results)
{
    bool good = begin(t, &t->bridge);

    t->parts = DM_NEW_ARRAY(t->arena, dm_total, m->part_count);
    t->tendons = DM_NEW_ARRAY(t->arena, dm_total, m->tendon_count);
    if (t->parts == NULL || t->tendons == NULL)
        return DM_NOMEM;
    for (size_t i = 0; i < m->part_count && good; i++)
        good = begin(t, &t->parts[i]);
    for (size_t i = 0; i < m->tendon_count && good; i++)
        good = begin(t, &t->tendons[i]);
    if (!good)
        return DM_NOMEM;
    for (size_t i = 0; i < m->tendon_count; i++) {
        const dm_tendon *n = &m->tendons[i];

        take_tendon(t, n, results == NULL ? NULL : results[i].indications,
                    &t->tendons[i]);
        add_total(t, &t->bridge, &t->tendons[i]);
        if (n->part < m->part_count)
            add_total(t, &t->parts[n->part], &t->tendons[i]);
    }
    for (size_t i = m->part_count; i-- > 0;) /* parents stand before */
        if (m->parts[i].parent < i)
            add_total(t, &t->parts[m->parts[i].parent], &t->parts[i]);
    return DM_OK;
}

dm_status dm_totals_make(const dm_model *model, const dm_criteria *criteria,
                         const dm_result *results, dm_totals **out)
{
    dm_arena *arena = dm_arena_new();
    dm_totals *t = arena != NULL ? DM_NEW(arena, dm_totals) : NULL;
    dm_status status = DM_NOMEM;

    *out = NULL;
    if (t != NULL) {
        t->arena = arena;
        t->grades = criteria == NULL ? 0 : criteria->grade_count;
        status = add_up(t, model, results);
    }
    if (status != DM_OK) {
        dm_arena_free(arena);
        return status;
    }
    *out = t;
    return DM_OK;
}

void dm_totals_free(dm_totals *totals)
{
    if (totals != NULL)
        dm_arena_free(totals->arena);
}
