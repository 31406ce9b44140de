/* SPDX-License-Identifier: MIT
 * The library's hypotheses against a site's truth: kind, run, interval or tie,
 * length. */
#include "named.h"

#include <math.h>
#include <stdlib.h>

/* An interval of a run: its index in the stations. */
static size_t interval_of(const site *s, size_t run, size_t at)
{
    for (size_t i = 0; i < s->stations->interval_count; i++)
        if (s->stations->intervals[i].run == run && at-- == 0)
            return i;
    abort();
}

bool named_beyond(const site *s, size_t run, size_t at)
{
    return fabs(s->stations->intervals[interval_of(s, run, at)].z) > 3.0;
}

bool named_long_as(const dm_hypothesis *h, double length)
{
    return fabs(h->length - length) <= 3.0 * h->length_u;
}

bool named_wrong_face(const site *s, const dm_hypothesis *h, size_t run,
                      size_t tie)
{
    size_t event = s->tie_event[run][tie];
    return h->kind == DM_BLUNDER_WRONG_FACE && h->run == run &&
           h->event == event && h->face == s->events[run][event].face + 1;
}

bool named_missing(const site *s, const dm_hypothesis *h, size_t run, size_t at)
{
    return h->kind == DM_BLUNDER_SKIP_MISSING && h->run == run &&
           h->interval == interval_of(s, run, at);
}

static bool is_true(const site *s, const dm_hypothesis *h, size_t run,
                    const site_blunder *b)
{
    switch (b->kind) {
    case SITE_UNWRITTEN:
        return named_missing(s, h, run, b->at);
    case SITE_TWICE:
        return h->kind == DM_BLUNDER_SKIP_TWICE && h->run == run &&
               h->interval == interval_of(s, run, b->at);
    case SITE_WRONG_FACE:
        return named_wrong_face(s, h, run, b->at);
    default:
        return h->kind == DM_BLUNDER_REVERSED && h->run == run &&
               h->mirrored == (b->kind == SITE_MIRRORED);
    }
}

/* Of the skip, the concrete between the faces; a reversed run has none. */
static double true_length(const site *s, const site_blunder *b)
{
    switch (b->kind) {
    case SITE_UNWRITTEN:
        return b->length;
    case SITE_TWICE:
        return -s->doubled;
    case SITE_WRONG_FACE:
        return s->terms.thick;
    default:
        return 0.0;
    }
}

bool named_in(const site *s, size_t groups, size_t run, const site_blunder *b,
              bool or_equal, bool length)
{
    const dm_stations *st = s->stations;
    for (size_t i = 0; i < st->hypothesis_count; i++) {
        const dm_hypothesis *h = &st->hypotheses[i];
        bool first = i == 0 || h[-1].group != h->group;
        if (h->group < groups && (first || (or_equal && h->equal)) &&
            is_true(s, h, run, b) &&
            (!length || named_long_as(h, true_length(s, b))))
            return true;
    }
    return false;
}
