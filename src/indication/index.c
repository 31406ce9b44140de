/* SPDX-License-Identifier: MIT
 * From raw readings to the index: (reference - C) / (reference - air).
 *
 * The calibration gives air and reference (over the clock angle) of a duct
 * type; the run's own air and reference checks give offset and gain of that
 * day and run: both kinds, so that the mean checks become the calibration's
 * values; one kind, the offset alone. Limit: a drift between the checks at
 * begin and end of a run is averaged, not followed; beyond a limit it makes
 * the readings not valid. */
#include <math.h>

#include "base/diag.h"
#include "base/num.h"
#include "indication/find.h"

#define TWO_PI 6.283185307179586476925

double dm_reference_at(const dm_calibration *c, double clock)
{
    const dm_reference_point *below = NULL, *above = NULL;
    double down = HUGE_VAL, up = HUGE_VAL;

    for (size_t i = 0; i < c->reference_count; i++) {
        const dm_reference_point *p = &c->reference[i];
        double d;

        if (isnan(p->clock)) {
            if (c->reference_count == 1)
                return p->value;
            continue;
        }
        d = fmod(clock - p->clock, TWO_PI);
        d = d < 0.0 ? d + TWO_PI : d;
        if (d < down) {
            down = d;
            below = p;
        }
        d = d > 0.0 ? TWO_PI - d : 0.0;
        if (d < up) {
            up = d;
            above = p;
        }
    }
    if (below == NULL || above == NULL)
        return c->reference[0].value;
    if (down + up <= 0.0)
        return below->value;
    return (below->value * up + above->value * down) / (up + down);
}

typedef struct {
    double sum;
    size_t n;
} mean;

static mean mean_check(const dm_run *run, dm_check_kind kind, size_t channel)
{
    mean m = {0.0, 0};

    for (size_t i = 0; i < run->event_count; i++) {
        const dm_event *e = &run->events[i];

        if (e->kind == DM_EVENT_CHECK && e->check == kind &&
            (e->channel == DM_NONE || e->channel == channel)) {
            m.sum += e->value;
            m.n++;
        }
    }
    if (m.n > 0)
        m.sum /= (double)m.n;
    return m;
}

dm_status dm_gain_of_run(const dm_finder *f, const dm_run *run, size_t channel,
                         const dm_calibration *c, double clock, dm_gain *out)
{
    mean air = mean_check(run, DM_CHECK_AIR, channel);
    mean ref = mean_check(run, DM_CHECK_REFERENCE, channel);
    double reference = dm_reference_at(c, clock);
    char gain[DM_NUM_SIZE];

    *out = (dm_gain){1.0, 0.0};
    if (air.n == 0 && ref.n == 0) {
        dm_note(f->diag, run->place, run->id,
                "no air or reference check: the calibration was used as it "
                "stands");
        return DM_OK;
    }
    if (air.n == 0 || ref.n == 0) {
        out->offset = air.n > 0 ? c->air - air.sum : reference - ref.sum;
        dm_note(f->diag, run->place, run->id,
                "%s checks only: they correct the offset, not the gain",
                air.n > 0 ? "air" : "reference");
        return DM_OK;
    }
    out->gain = (reference - c->air) / (ref.sum - air.sum);
    out->offset = c->air - out->gain * air.sum;
    if (out->gain > 0.5 && out->gain < 2.0)
        return DM_OK;
    dm_num_shortest(gain, out->gain);
    return dm_error(f->diag, DM_RANGE, run->place, run->id,
                    "the run's checks give a gain of %s, 0.5 to 2 was "
                    "expected; run left out",
                    gain);
}

/* Largest less smallest mean of the groups of checks that readings lie
 * between; NAN where there is one group or none. */
static double raw_drift(const dm_run *run, dm_check_kind kind, size_t channel)
{
    double least = HUGE_VAL, most = -HUGE_VAL;
    mean m = {0.0, 0};
    size_t groups = 0;

    for (size_t i = 0; i <= run->event_count; i++) {
        const dm_event *e = i < run->event_count ? &run->events[i] : NULL;

        if (e != NULL && e->kind == DM_EVENT_CHECK && e->check == kind &&
            (e->channel == DM_NONE || e->channel == channel)) {
            m.sum += e->value;
            m.n++;
        }
        if ((e != NULL && e->kind != DM_EVENT_READINGS) || m.n == 0)
            continue;
        least = fmin(least, m.sum / (double)m.n);
        most = fmax(most, m.sum / (double)m.n);
        groups++;
        m = (mean){0.0, 0};
    }
    return groups > 1 ? most - least : (double)NAN;
}

double dm_drift_of_run(const dm_run *run, size_t channel,
                       const dm_calibration *c, double clock,
                       const dm_gain *gain)
{
    double air = raw_drift(run, DM_CHECK_AIR, channel);
    double ref = raw_drift(run, DM_CHECK_REFERENCE, channel);

    /* fmax passes over the one that is not known. */
    return fmax(air, ref) * gain->gain /
           fabs(dm_reference_at(c, clock) - c->air);
}

dm_thresholds dm_thresholds_of(const dm_calibration *c)
{
    dm_thresholds t = {0.25, 0.15, -0.25, -0.15};

    for (size_t i = 0; i < c->band_count; i++) {
        const dm_band *b = &c->bands[i];

        if (b->kind == DM_KIND_VOID_LIKE && b->enter > 0.0) {
            t.enter = b->enter;
            t.leave = fmin(fmax(b->leave, 0.0), b->enter);
        } else if (b->kind == DM_KIND_SOFT_LIKE && b->enter < 0.0) {
            t.soft_enter = b->enter;
            t.soft_leave = fmax(fmin(b->leave, 0.0), b->enter);
        }
    }
    return t;
}

dm_kind dm_kind_by_bands(double plateau, bool strand)
{
    if (plateau > 0.0)
        return DM_KIND_VOID_LIKE;
    return strand ? DM_KIND_UNRESOLVED : DM_KIND_SOFT_LIKE;
}

const dm_strand_side *dm_strand_near(const dm_tendon *tendon,
                                     const dm_channel *channel, double od,
                                     double clock, double from, double to)
{
    double half = channel->footprint_around / od; /* rad: half width / r */
    const dm_strand_side *first = NULL;

    for (size_t i = 0; i < tendon->strand_side_count; i++) {
        const dm_strand_side *s = &tendon->strand_sides[i];

        if (s->to > from && s->from < to &&
            fabs(remainder(clock - s->clock, TWO_PI)) <= half + 2.0 * s->u &&
            (first == NULL || s->from < first->from))
            first = s;
    }
    return first;
}
