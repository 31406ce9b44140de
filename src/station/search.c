/* SPDX-License-Identifier: MIT
 * What does not close is explained, the first explanation given its freedom,
 * and all tested again, until the rest closes. What was found first was
 * measured while the others still spoiled it: each is measured and ranked
 * again with the others free, and one that the others make needless is taken
 * back. Then the first that the job accepts is looked for. */
#include "station/search.h"

#include <math.h>
#include <string.h>

#include "base/diag.h"
#include "station/hypothesis.h"
#include "station/report.h"

/* A blunder as large as (gate + this) standard deviations is seen beyond the
 * gate in 80 % of the cases (the 0.8 quantile of the normal distribution). */
#define SHOWN_AT_80 0.84
/* Blunders change their first explanation once in a while when the others are
 * free, hardly ever twice. */
#define MOST_PASSES 4
/* Multiplications of one pass: bounds the time (seconds), far above what
 * tendons of a bridge need. */
#define MOST_MEASURED 4e9

/* One blunder: best first. */
typedef struct {
    dm_hypothesis h[HYPOTHESES_KEPT];
    size_t count;
} explanation;

/* Of a system as it is corrected so far. */
typedef struct {
    station_system *s;
    const closure *booked; /* nothing free */
    closure c;
    explanation *found; /* [most] */
    size_t count, most;
    size_t *owner; /* [m] the explanation that frees it; DM_NONE */
    size_t *at;    /* [m] for use in between */
} inquiry;

/* ---- one blunder --------------------------------------------------------- */

static void set_interval(const station_system *s, const closure *c, size_t i)
{
    const observation *o = &s->observations[i];
    double sd = sqrt(c->q[i * c->m + i]);
    if (o->interval == DM_NONE || !(sd > 0.0))
        return;
    dm_interval *v = &s->intervals[o->interval];
    v->misclosure = o->value;
    v->blunder = c->w[i] / (sd * sd);
    v->z = c->w[i] / sd;
    v->least_blunder = (s->settings->gate + SHOWN_AT_80) / sd;
}

static bool same_scale(const dm_hypothesis *a, const dm_hypothesis *b)
{
    return a->kind == DM_BLUNDER_SCALE && b->kind == a->kind &&
           a->run == b->run;
}

/* Explains the worst of what is in; nothing does: all stays as it is. Another
 * one that loses an observation or the scale to it has a count of 0 then. */
static dm_status explain(inquiry *q, size_t number, bool *explained)
{
    explanation e;
    dm_status status = hypotheses_rank(q->s, &q->c, e.h, &e.count);
    *explained = status == DM_OK && e.count > 0;
    if (!*explained)
        return status;
    size_t n = hypothesis_observations(q->s, &q->c, &e.h[0], q->at);
    for (size_t i = 0; i < q->c.m; i++)
        if (q->owner[i] == number)
            q->owner[i] = DM_NONE;
    for (size_t i = 0; i < q->count; i++)
        if (i != number && same_scale(&q->found[i].h[0], &e.h[0]))
            q->found[i].count = 0;
    for (size_t i = 0; i < n; i++) {
        if (q->owner[q->at[i]] != DM_NONE)
            q->found[q->owner[q->at[i]]].count = 0;
        q->owner[q->at[i]] = number;
        set_interval(q->s, &q->c, q->at[i]);
    }
    q->found[number] = e;
    return DM_OK;
}

static dm_status set_free(inquiry *q, size_t number)
{
    const dm_hypothesis *h = &q->found[number].h[0];
    for (size_t i = 0; i < q->c.m; i++)
        if (q->owner[i] == number)
            closure_drop(&q->c, i);
    return h->kind == DM_BLUNDER_SCALE ? closure_free_scale(q->s, &q->c, h->run)
                                       : DM_OK;
}

static dm_status free_all(inquiry *q)
{
    dm_status status = DM_OK;
    closure_restore(&q->c, q->booked);
    for (size_t i = 0; status == DM_OK && i < q->count; i++)
        status = set_free(q, i);
    return status;
}

/* More likely blunder than chance. */
static bool sure(const explanation *e)
{
    return e->h[0].evidence > 0.0;
}

/* What may well be chance is no reason to doubt a sure one. */
static dm_status free_others(inquiry *q, size_t number)
{
    dm_status status = DM_OK;
    bool all = !sure(&q->found[number]);
    closure_restore(&q->c, q->booked);
    for (size_t i = 0; status == DM_OK && i < q->count; i++)
        if (i != number && (all || sure(&q->found[i])))
            status = set_free(q, i);
    return status;
}

/* ---- all of them --------------------------------------------------------- */

/* Until what is left closes. */
static dm_status explain_all(inquiry *q)
{
    bool more = true;
    dm_status status = free_all(q);
    while (status == DM_OK && more && q->count < q->most &&
           closure_worst(q->s, &q->c) > q->s->settings->gate) {
        status = explain(q, q->count, &more);
        if (more)
            status = set_free(q, q->count++);
    }
    return status;
}

static void take_back(inquiry *q, size_t number)
{
    for (size_t i = 0; i < q->c.m; i++)
        if (q->owner[i] == number)
            q->owner[i] = DM_NONE;
        else if (q->owner[i] != DM_NONE && q->owner[i] > number)
            q->owner[i]--;
    q->count--;
    for (size_t i = number; i < q->count; i++)
        q->found[i] = q->found[i + 1];
}

static bool same_first(const dm_hypothesis *a, const dm_hypothesis *b)
{
    return a->kind == b->kind && a->run == b->run &&
           a->interval == b->interval && a->event == b->event &&
           a->face == b->face && a->measured == b->measured &&
           a->mirrored == b->mirrored;
}

/* Those that lost something to number i, which is returned as it counts then.
 */
static size_t take_back_lost(inquiry *q, size_t i, bool *changed)
{
    for (size_t k = q->count; k-- > 0;)
        if (q->found[k].count == 0) {
            take_back(q, k);
            *changed = true;
            i -= k < i;
        }
    return i;
}

/* Each with the others free. */
static dm_status measure_again(inquiry *q, bool *changed)
{
    double m = (double)q->c.m, n = (double)q->count;
    *changed = false;
    if (q->count < 2 || m * m * n * n > MOST_MEASURED)
        return DM_OK;
    q->c.turned = 0.0;
    for (size_t i = 0; i < q->count; i++) {
        dm_hypothesis before = q->found[i].h[0];
        bool explained;
        dm_status status = free_others(q, i);
        if (status != DM_OK)
            return status;
        if (!(closure_worst(q->s, &q->c) > q->s->settings->gate)) {
            take_back(q, i--);
            *changed = true;
            continue;
        }
        status = explain(q, i, &explained);
        if (status != DM_OK)
            return status;
        *changed = *changed || !same_first(&before, &q->found[i].h[0]);
        i = take_back_lost(q, i, changed);
    }
    return DM_OK;
}

static dm_status inquire(inquiry *q)
{
    bool changed = true;
    dm_status status = explain_all(q);
    for (int i = 0; status == DM_OK && changed && i < MOST_PASSES; i++) {
        status = measure_again(q, &changed);
        if (status == DM_OK && changed)
            status = explain_all(q);
    }
    if (status == DM_OK)
        status = free_all(q);
    for (size_t i = 0; status == DM_OK && i < q->c.m; i++)
        if (!q->c.dropped[i])
            set_interval(q->s, &q->c, i);
    return status;
}

static dm_status begin(inquiry *q, station_system *s, const closure *booked)
{
    *q = (inquiry){.s = s, .booked = booked, .most = booked->m + s->path_count};
    q->found = DM_NEW_ARRAY(s->arena, explanation, q->most);
    q->owner = DM_NEW_ARRAY(s->arena, size_t, booked->m);
    q->at = DM_NEW_ARRAY(s->arena, size_t, booked->m);
    if (!q->found || !q->owner || !q->at)
        return DM_NOMEM;
    for (size_t i = 0; i < booked->m; i++)
        q->owner[i] = DM_NONE;
    return closure_copy(s, booked, &q->c);
}

/* ---- freedom ------------------------------------------------------------- */

static void give_jump(const station_system *s, const dm_hypothesis *h,
                      size_t observed, station_freedom *given)
{
    const observation *o = &s->observations[observed];
    if (o->interval == DM_NONE) {
        given->tape[o->tape] = true;
        return;
    }
    dm_interval *v = &s->intervals[o->interval];
    given->interval[o->interval] = true;
    v->reconciled = false;
    if (h->kind == DM_BLUNDER_WRONG_FACE) {
        double dir = s->paths[h->run].dir;
        v->blunder =
            v->event_to == h->event ? -dir * h->length : dir * h->length;
    }
}

/* All runs that share it. */
static void doubt_scale(station_system *s, size_t first, station_freedom *given)
{
    for (size_t i = 0; i < s->interval_count; i++)
        if (s->paths[s->intervals[i].run].scale == s->paths[first].scale) {
            given->doubt[i] = true;
            s->intervals[i].reconciled = false;
        }
    given->corrections[given->correction_count++] =
        (correction){.kind = DM_BLUNDER_SCALE, .path = first, .event = DM_NONE};
}

static void give_freedom(const inquiry *q, station_freedom *given)
{
    for (size_t i = 0; i < q->c.m; i++)
        if (q->owner[i] != DM_NONE)
            give_jump(q->s, &q->found[q->owner[i]].h[0], i, given);
    for (size_t i = 0; i < q->count; i++)
        if (q->found[i].h[0].kind == DM_BLUNDER_SCALE)
            doubt_scale(q->s, q->found[i].h[0].run, given);
}

/* ---- all of it ----------------------------------------------------------- */

static bool has_room(search *w, size_t more)
{
    if (w->count + more <= w->capacity)
        return true;
    size_t capacity = 2 * (w->capacity + more);
    dm_hypothesis *all = DM_NEW_ARRAY(w->arena, dm_hypothesis, capacity);
    if (!all)
        return false;
    if (w->count > 0)
        memcpy(all, w->hypotheses, w->count * sizeof *all);
    w->hypotheses = all;
    w->capacity = capacity;
    return true;
}

static bool keep(search *w, const explanation *e, size_t group)
{
    if (!has_room(w, e->count))
        return false;
    for (size_t i = 0; i < e->count; i++) {
        w->hypotheses[w->count] = e->h[i];
        w->hypotheses[w->count++].group = group;
    }
    return true;
}

dm_status search_blunders(search *w, station_system *s, const closure *booked,
                          station_freedom *given, bool *again)
{
    inquiry q;
    dm_status status = begin(&q, s, booked);
    if (status == DM_OK)
        status = inquire(&q);
    if (status != DM_OK)
        return status;
    w->count = w->kept;
    for (size_t i = 0; i < q.count && !*again; i++) {
        *again = search_accept(w, s, q.found[i].h, q.found[i].count);
        if (*again && !keep(w, &q.found[i], w->kept_groups++))
            return DM_NOMEM;
    }
    if (*again) {
        w->kept = w->count;
        return DM_OK;
    }
    for (size_t i = 0; i < q.count; i++)
        if (!keep(w, &q.found[i], w->kept_groups + i))
            return DM_NOMEM;
    give_freedom(&q, given);
    return DM_OK;
}

dm_status search_begin(search *w, dm_arena *scratch)
{
    w->used = DM_NEW_ARRAY(scratch, bool, w->accept_count + 1);
    w->corrections = DM_NEW_ARRAY(scratch, correction, w->accept_count + 1);
    return w->used && w->corrections ? DM_OK : DM_NOMEM;
}

/* Nothing free but what was accepted. */
dm_status search_freedom(const search *w, const station_system *s,
                         station_freedom *given)
{
    size_t scales = s->path_count + 1;
    *given = (station_freedom){
        .interval = DM_NEW_ARRAY(s->arena, bool, s->interval_count),
        .tape = DM_NEW_ARRAY(s->arena, bool, s->tendon->measured_count),
        .doubt = DM_NEW_ARRAY(s->arena, bool, s->interval_count),
        .corrections =
            DM_NEW_ARRAY(s->arena, correction, w->correction_count + scales),
        .correction_count = w->correction_count};
    if (!given->interval || !given->tape || !given->doubt ||
        !given->corrections)
        return DM_NOMEM;
    for (size_t i = 0; i < w->correction_count; i++)
        given->corrections[i] = w->corrections[i];
    return DM_OK;
}
