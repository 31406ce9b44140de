/* SPDX-License-Identifier: MIT
 * The strips of one channel of one run searched: what stands out becomes
 * sightings (sight.c), what was read becomes claims on coverage, and the index
 * is added to the profile of its clock line. A reading claims half the way to
 * its neighbours, where these are no further than three times the sampling or
 * half a footprint. */
#include <math.h>
#include <stdlib.h>

#include "base/diag.h"
#include "base/num.h"
#include "geom/clock.h"
#include "indication/line.h"

static dm_line_sum *profile_line(dm_finder *f, double clock)
{
    dm_line_sum *l;

    for (size_t i = 0; i < f->line_count; i++)
        if (dm_same_line(f->lines[i].clock, clock))
            return &f->lines[i];
    if (f->line_count == f->line_capacity &&
        !DM_GROW(f->lines, f->line_count, f->line_capacity))
        return NULL;
    l = &f->lines[f->line_count];
    l->clock = clock;
    l->sum = calloc(f->line_cells + 1, sizeof *l->sum);
    l->n = calloc(f->line_cells + 1, sizeof *l->n);
    if (l->sum == NULL || l->n == NULL) {
        free(l->sum);
        free(l->n);
        return NULL;
    }
    f->line_count++;
    return l;
}

static bool add_profile(dm_finder *f, const dm_strip *s, double clock)
{
    dm_line_sum *l = profile_line(f, clock);

    if (l == NULL)
        return false;
    for (size_t i = 0; i < s->count; i++) {
        /* A cell speaks for half the way to its neighbours. */
        double a = i > 0 ? 0.5 * (s->t[i - 1] + s->t[i]) : s->t[i];
        double b = i + 1 < s->count ? 0.5 * (s->t[i] + s->t[i + 1]) : s->t[i];
        size_t first = (size_t)(a / DM_PROFILE_PITCH);
        size_t last = (size_t)(b / DM_PROFILE_PITCH);

        if (s->bad[i])
            continue;
        for (size_t k = first; k <= last && k < f->line_cells; k++) {
            l->sum[k] += s->index[i];
            l->n[k] += 1.0f;
        }
    }
    return true;
}

/* Where the claim of cell i ends on one side: half the way to its neighbour,
 * or half a pitch where none is near. */
static double claim_limit(const dm_strip *s, size_t i, int side, double gap)
{
    size_t other = side < 0 ? i - 1 : i + 1;
    bool has = side < 0 ? i > 0 : i + 1 < s->count;

    if (has && fabs(s->t[other] - s->t[i]) <= gap)
        return 0.5 * (s->t[other] + s->t[i]);
    return s->t[i] + side * 0.5 * s->pitch;
}

/* A length that was read: tested, but for what lies over strands. */
static dm_status claim_read(dm_finder *f, const dm_channel *channel, double od,
                            const dm_run_line *l, double from, double to)
{
    dm_status status = DM_OK;

    while (from < to && status == DM_OK) {
        const dm_strand_side *s =
            dm_strand_near(f->tendon, channel, od, l->clock, from, to);
        double masked = s == NULL ? to : fmax(s->from, from);

        status = dm_claim_add(
            f, l->clock_line,
            (dm_cover_length){from, masked, DM_COVER_TESTED, DM_WHY_NONE, ""});
        if (s == NULL || status != DM_OK)
            break;
        from = fmin(s->to, to);
        status = dm_claim_add(
            f, l->clock_line,
            (dm_cover_length){masked, from, DM_COVER_STRAND_MASKED,
                              DM_WHY_STRAND,
                              s->derived ? "strands at the inside of the bend "
                                           "(derived, not stated)"
                                         : "a strand may lie within the "
                                           "inspection depth"});
    }
    return status;
}

static dm_status add_claims(dm_finder *f, const dm_run_work *w,
                            const dm_run_line *l, const dm_strip *s, double od)
{
    const dm_channel *channel = &w->instrument->channels[l->channel];
    double claim_gap = fmin(fmax(3.0 * s->pitch, 0.0), 0.5 * l->footprint);
    dm_status status = DM_OK;
    char *why = NULL;

    for (size_t i = 0; i < s->count && status == DM_OK;) {
        size_t first = i;
        double from, to;

        do {
            i++;
        } while (i < s->count && s->bad[i] == s->bad[first] &&
                 s->unreconciled[i] == s->unreconciled[first] &&
                 s->t[i] - s->t[i - 1] <= claim_gap);
        from = claim_limit(s, first, -1, claim_gap);
        to = claim_limit(s, i - 1, +1, claim_gap);
        if (s->bad[first]) {
            status =
                dm_claim_add(f, l->clock_line,
                             (dm_cover_length){from, to, DM_COVER_NOT_VALID,
                                               DM_WHY_LIFT_OFF, "lift-off"});
        } else if (s->unreconciled[first]) {
            if (why == NULL)
                why = dm_arena_printf(
                    f->arena, "run %s: its distances do not close", w->run->id);
            if (why == NULL)
                return DM_NOMEM;
            status = dm_claim_add(f, l->clock_line,
                                  (dm_cover_length){from, to,
                                                    DM_COVER_NOT_RECONCILED,
                                                    DM_WHY_NOT_CLOSED, why});
        } else {
            status = claim_read(f, channel, od, l, from, to);
        }
    }
    return status;
}

static const char *skip_reason(const dm_run_work *w, size_t stretch)
{
    const dm_stretch *s = &w->stations->stretches[stretch];
    const char *reason = NULL;

    for (size_t e = s->event; e < s[1].event; e++)
        if (w->run->events[e].kind == DM_EVENT_SKIP)
            reason = w->run->events[e].reason != NULL ? w->run->events[e].reason
                                                      : "skipped";
    return reason;
}

/* Why the length between two stretches was not read. */
static dm_status claim_skips(dm_finder *f, const dm_run_work *w,
                             const dm_run_line *l)
{
    dm_status status = DM_OK;

    for (size_t s = 0; s + 1 < w->stations->stretch_count && status == DM_OK;
         s++) {
        dm_extent a = l->extents[s], b = l->extents[s + 1];
        const char *reason = skip_reason(w, s);

        if (reason == NULL || a.low > a.high || b.low > b.high)
            continue;
        status = dm_claim_add(
            f, l->clock_line,
            (dm_cover_length){a.high < b.low ? a.high : b.high,
                              a.high < b.low ? b.low : a.low,
                              DM_COVER_NOT_TESTED, DM_WHY_SKIPPED, reason});
    }
    return status;
}

/* Readings between checks that do not agree are shown nowhere. */
static dm_status claim_drifted(dm_finder *f, const dm_run_line *l)
{
    dm_status status = DM_OK;

    for (size_t i = 0; i < l->count && status == DM_OK; i++) {
        const dm_strip *s = &l->strips[i];
        double half = 0.5 * s->pitch;

        status = dm_claim_add(
            f, l->clock_line,
            (dm_cover_length){s->t[0] - half, s->t[s->count - 1] + half,
                              DM_COVER_NOT_VALID, DM_WHY_CHECK_DRIFT,
                              "air or reference check drifted"});
    }
    return status;
}

dm_status dm_line_search(dm_finder *f, const dm_run_work *w, dm_run_line *l)
{
    dm_thresholds band;
    dm_noise noise;
    dm_status status = DM_OK;
    dm_found_list list = {NULL, 0, 0};

    if (l->count == 0 || l->calibration == NULL)
        return claim_skips(f, w, l);
    if (l->drifted) {
        status = claim_drifted(f, l);
        return status == DM_OK ? claim_skips(f, w, l) : status;
    }
    band = dm_thresholds_of(l->calibration);
    if (!dm_strips_clean(l->strips, l->count, l->footprint, &band, &noise))
        return DM_NOMEM;
    l->noise = noise;
    l->measured = true;
    for (size_t i = 0; i < l->count && status == DM_OK; i++) {
        const dm_strip *s = &l->strips[i];

        status = dm_strip_sight(f, w, l, i, &noise, &list);
        if (status == DM_OK && !add_profile(f, s, l->clock))
            status = DM_NOMEM;
        if (status == DM_OK)
            status = add_claims(f, w, l, s, 2.0 * w->stations->radius);
    }
    free(list.items);
    if (status == DM_OK)
        status = dm_run_profile_add(f, w, l);
    if (status == DM_OK)
        status = claim_skips(f, w, l);
    return status;
}
