/* SPDX-License-Identifier: MIT
 * Candidates by falling evidence, and which of them the data cannot tell
 * apart: explanations of the same misclosures by the gate, of different ones
 * by chi-square. */
#include "station/ranking.h"

#include <math.h>
#include <string.h>

/* The 95 % quantile of chi-square with one degree of freedom. */
#define APART_95 3.84

/* ---- measuring ----------------------------------------------------------- */

static double coefficient(const ranking *r, const candidate *a, size_t i)
{
    double sum = 0.0;
    if (r->c->dropped[i])
        return 0.0;
    if (a->count == 0)
        return r->s->observations[i].row[a->scale];
    for (size_t k = 0; k < a->count; k++)
        sum += a->at[k] == i ? a->c[k] : 0.0;
    return sum;
}

/* h' q g. */
static double product(const ranking *r, const candidate *a, const candidate *b)
{
    size_t m = r->c->m, na = a->count ? a->count : m;
    size_t nb = b->count ? b->count : m;
    double sum = 0.0;
    for (size_t i = 0; i < na; i++) {
        size_t row = a->count ? a->at[i] : i;
        double f = coefficient(r, a, row);
        for (size_t k = 0; k < nb && f != 0.0; k++) {
            size_t column = b->count ? b->at[k] : k;
            sum += f * r->c->q[row * m + column] * coefficient(r, b, column);
        }
    }
    return sum;
}

bool ranking_measure(const ranking *r, candidate *a)
{
    size_t m = r->c->m;
    a->size = product(r, a, a);
    a->slope = 0.0;
    for (size_t i = 0; i < (a->count ? a->count : m); i++) {
        size_t at = a->count ? a->at[i] : i;
        double f = coefficient(r, a, at);
        if (f != 0.0)
            a->slope += f * r->c->w[at];
    }
    if (!(a->size > 0.0))
        return false;
    a->h.length = a->slope / a->size;
    a->h.length_u = 1.0 / sqrt(a->size);
    return true;
}

void ranking_add(ranking *r, const candidate *a, double evidence, double gain)
{
    if (!(gain >= r->least) || r->failed)
        return;
    if (r->count == r->capacity) {
        size_t more = 2 * r->capacity + 16;
        candidate *items = DM_NEW_ARRAY(r->s->arena, candidate, more);
        if (!items) {
            r->failed = true;
            return;
        }
        if (r->count > 0)
            memcpy(items, r->items, r->count * sizeof *items);
        r->items = items;
        r->capacity = more;
    }
    r->items[r->count] = *a;
    r->items[r->count].h.evidence = evidence;
    r->items[r->count++].h.misfit = fmax(r->c->chi2 - gain, 0.0);
}

candidate candidate_start(dm_blunder kind, size_t run, size_t interval)
{
    candidate a = {.scale = DM_NONE};
    a.h = (dm_hypothesis){.kind = kind,
                          .run = run,
                          .interval = interval,
                          .event = DM_NONE,
                          .face = DM_NONE,
                          .measured = DM_NONE};
    return a;
}

/* ---- ranking ------------------------------------------------------------- */

/* Unnamed explanations always fit as well as the named ones. */
static bool unnamed(const dm_hypothesis *h)
{
    return h->kind == DM_BLUNDER_JUMP ||
           (h->kind == DM_BLUNDER_WRONG_FACE && h->face == DM_NONE);
}

static bool same_data(const ranking *r, const candidate *a, const candidate *b)
{
    if (!(a->size > 0.0) || !(b->size > 0.0))
        return false;
    double cross = product(r, a, b);
    return cross * cross > (1.0 - 1e-6) * a->size * b->size;
}

static void mark_equals(ranking *r)
{
    candidate *best = r->items;
    double gate = r->s->settings->gate;
    for (size_t i = 1; i < r->count; i++) {
        candidate *a = &r->items[i];
        double apart = same_data(r, best, a) ? gate * gate : APART_95;
        a->h.equal = !unnamed(&a->h) && a->h.misfit <= best->h.misfit + apart;
        best->h.equal = best->h.equal || a->h.equal;
    }
}

/* Falling evidence; what comes first in the book where it is the same. */
static void sort(ranking *r)
{
    for (size_t i = 1; i < r->count; i++) {
        candidate a = r->items[i];
        size_t k = i;
        for (; k > 0 && r->items[k - 1].h.evidence < a.h.evidence; k--)
            r->items[k] = r->items[k - 1];
        r->items[k] = a;
    }
}

size_t ranking_keep(ranking *r, dm_hypothesis out[HYPOTHESES_KEPT])
{
    size_t equal = 0, count = 0;
    sort(r);
    mark_equals(r);
    for (size_t i = 1; i < r->count; i++)
        equal += r->items[i].h.equal;
    size_t rest = equal + 1 < HYPOTHESES_KEPT ? HYPOTHESES_KEPT - 1 - equal : 0;
    for (size_t i = 0; i < r->count && count < HYPOTHESES_KEPT; i++) {
        const dm_hypothesis *h = &r->items[i].h;
        if (i > 0 && !h->equal && (rest == 0 || !(h->evidence > 0.0)))
            continue;
        rest -= i > 0 && !h->equal;
        out[count++] = *h;
    }
    return count;
}
