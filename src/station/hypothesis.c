/* SPDX-License-Identifier: MIT
 * A hypothesis adds b h to the misclosures d, with h what it touches and b of
 * a prior p. Its evidence against "nothing wrong" is the Bayes factor
 *   integral p(b) N(d - b h; 0, S) db / N(d; 0, S)
 *     = integral p(b) exp(b B - b^2 A / 2) db,  A = h' S^-1 h, B = h' S^-1 d,
 * closed for a normal p (a length that is known: a written skip, a face) and
 * an exponential one (a length that is not); any text on Bayesian model
 * comparison. A reversed run changes the equations: it is solved anew, and the
 * densities of what the encoder rolled are compared. docs/stations.md lists
 * the priors: common practice, no source. */
#include "station/hypothesis.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846

/* Prior odds: of an interval, of a skip, of a tie (over all other faces; one
 * that is misread), of a run (over its two ways), of a scale, of a measured
 * length, of an interval for no reason. */
#define ODDS_MISSING 1e-2
#define ODDS_TWICE 2e-3
#define ODDS_FACE 2e-3
#define ODDS_MISREAD 1e-4
#define ODDS_REVERSED 2e-3
#define ODDS_SCALE 1e-3
#define ODDS_MEASURED 2e-3
#define ODDS_JUMP 1e-4
/* Mean length of what nobody wrote down, m. */
#define MEAN_LENGTH 0.5
/* Two known-length explanations of the same misclosures are told apart by the
 * gate, explanations of different ones by the 95 % quantile of chi-square. */
#define APART_95 3.84
/* To turn a run is to solve the tendon anew; this many multiplications bound
 * the time (seconds), far above what tendons of a bridge need. */
#define MOST_TURNED 4e9

typedef struct {
    dm_hypothesis h;
    /* What it touches; a count of 0 with `scale`: the rows of that unknown. */
    size_t at[2];
    double c[2];
    size_t count, scale;
    double size, slope; /* A and B */
} candidate;

typedef struct {
    const station_system *s;
    const closure *c;
    double least; /* of chi-square, to be explained */
    candidate *items;
    size_t count, capacity;
    bool failed;
} ranking;

/* ---- evidence ------------------------------------------------------------ */

/* log of the normal distribution function. */
static double log_normal(double x)
{
    if (x > -20.0)
        return log(0.5 * erfc(-x / sqrt(2.0)));
    return -0.5 * x * x - log(-x * sqrt(2.0 * PI));
}

/* log integral over b > 0 of rate exp(-rate b + b slope - b^2 size / 2). */
static double log_exponential(double size, double slope)
{
    double rate = 1.0 / MEAN_LENGTH, u = (slope - rate) / sqrt(size);
    return log(rate) + 0.5 * log(2.0 * PI / size) + 0.5 * u * u + log_normal(u);
}

static double log_two_sided(double size, double slope)
{
    double a = log_exponential(size, slope), b = log_exponential(size, -slope);
    return fmax(a, b) + log1p(exp(-fabs(a - b))) - log(2.0);
}

/* log integral of N(b; mean, variance) exp(b slope - b^2 size / 2), and the
 * chi-square that is explained. */
static double log_known(double size, double slope, double mean, double variance,
                        double *gain)
{
    double off = slope / size - mean;
    *gain = slope * slope / size - off * off / (1.0 / size + variance);
    return 0.5 * *gain - 0.5 * log(1.0 + variance * size);
}

/* ---- candidates ---------------------------------------------------------- */

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

/* False: it touches nothing that is in. */
static bool measure(const ranking *r, candidate *a)
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

static void add(ranking *r, const candidate *a, double evidence, double gain)
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

static candidate start(dm_blunder kind, size_t run, size_t interval)
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

/* A length that nobody knows. */
static void add_unknown_length(ranking *r, candidate *a, double odds,
                               bool signed_)
{
    if (!measure(r, a))
        return;
    double gain = a->slope * a->slope / a->size;
    double e = log(odds);
    if (signed_)
        add(r, a, e + log_two_sided(a->size, a->slope), gain);
    else if (a->slope > 0.0)
        add(r, a, e + log_exponential(a->size, a->slope), gain);
}

static void add_known_length(ranking *r, candidate *a, double odds, double mean,
                             double variance)
{
    double gain;
    if (!measure(r, a))
        return;
    double e = log_known(a->size, a->slope, mean, variance, &gain);
    add(r, a, log(odds) + e, gain);
}

/* The same skip written into two lines: one hypothesis, the later line. */
static bool written_again(const dm_run *run, size_t event, size_t end)
{
    const dm_event *e = &run->events[event];
    for (size_t i = event + 1; i < end; i++) {
        const dm_event *f = &run->events[i];
        if (f->kind == DM_EVENT_SKIP)
            return f->length_known && f->basis == e->basis &&
                   fabs(f->length - e->length) < 1e-3 &&
                   fabs(f->x - (isnan(e->x_resume) ? e->x : e->x_resume)) <
                       1e-3;
    }
    return false;
}

static void add_skips(ranking *r, size_t interval, size_t at)
{
    const station_system *s = r->s;
    const dm_interval *v = &s->intervals[interval];
    const path *p = &s->paths[v->run];
    for (size_t i = v->event_from + 1; i < v->event_to; i++) {
        const dm_event *e = &p->run->events[i];
        if (e->kind != DM_EVENT_SKIP || !e->length_known ||
            station_skip_void(s, v->run, i) ||
            written_again(p->run, i, v->event_to))
            continue;
        double u = isnan(e->u) || e->u < 0.0 ? s->settings->skip_u : e->u;
        double moved = station_skip_moved(p, e);
        candidate a = start(DM_BLUNDER_SKIP_TWICE, v->run, interval);
        a.h.event = i;
        a.at[0] = at;
        a.c[0] = 1.0;
        a.count = 1;
        add_known_length(r, &a, ODDS_TWICE, -moved,
                         u * u + pow(p->run->tape_u * e->length, 2.0));
    }
}

static void add_intervals(ranking *r)
{
    const station_system *s = r->s;
    for (size_t i = 0; i < s->interval_count; i++) {
        size_t at = r->c->of_interval[i];
        if (at == DM_NONE || r->c->dropped[at])
            continue;
        candidate a = start(DM_BLUNDER_SKIP_MISSING, s->intervals[i].run, i);
        a.at[0] = at;
        a.c[0] = 1.0;
        a.count = 1;
        add_unknown_length(r, &a, ODDS_MISSING, false);
        a.h.kind = DM_BLUNDER_JUMP;
        add_unknown_length(r, &a, ODDS_JUMP, true);
        add_skips(r, i, at);
    }
}

/* A tie touches the interval that it ends and the one that it begins. */
static void touch(const ranking *r, size_t tie_index, candidate *a)
{
    const station_system *s = r->s;
    double dir = s->paths[s->ties[tie_index].path].dir;
    for (size_t i = 0; i < s->interval_count; i++) {
        size_t end = s->interval_tie[i], at = r->c->of_interval[i];
        if (end != tie_index && end != tie_index + 1)
            continue;
        if (a->h.interval == DM_NONE)
            a->h.interval = i;
        if (at == DM_NONE || r->c->dropped[at])
            continue;
        a->at[a->count] = at;
        a->c[a->count++] = end == tie_index ? -dir : dir;
    }
}

static void add_tie(ranking *r, size_t tie_index)
{
    const station_system *s = r->s;
    const tie *t = &s->ties[tie_index];
    const path *p = &s->paths[t->path];
    const dm_event *e = &p->run->events[t->event];
    size_t faces = s->tendon->face_count;
    candidate a = start(DM_BLUNDER_WRONG_FACE, t->path, DM_NONE);
    a.h.event = t->event;
    touch(r, tie_index, &a);
    if (a.count == 0)
        return;
    if (a.count == 2)
        add_unknown_length(r, &a, ODDS_MISREAD, true);
    for (size_t f = 0; f < faces; f++) {
        if (f == t->face)
            continue;
        candidate b = a;
        b.h.face = f;
        add_known_length(r, &b, ODDS_FACE / (double)(faces - 1),
                         station_tie_target(s, p, e, f) - t->target,
                         s->variance[f] + s->variance[t->face]);
    }
}

static void add_scale(ranking *r, size_t path_index)
{
    const path *p = &r->s->paths[path_index];
    bool known = r->c->scale_free[p->scale];
    for (size_t i = 0; i < path_index && !known; i++)
        known = r->s->paths[i].scale == p->scale;
    if (known)
        return;
    candidate a = start(DM_BLUNDER_SCALE, path_index, DM_NONE);
    a.scale = p->scale;
    add_known_length(r, &a, ODDS_SCALE, 0.0, STATION_SCALE_U * STATION_SCALE_U);
}

/* ---- reversed runs ------------------------------------------------------- */

/* Sum of the misclosures' sizes: as booked, turned, and turned and mirrored;
 * offsets of the sensor apart. */
static void turned_misclosures(const station_system *s, size_t path_index,
                               double sum[3])
{
    size_t first = 0, count = 0;
    for (size_t i = 0; i < s->interval_count; i++)
        if (s->intervals[i].run == path_index && count++ == 0)
            first = i;
    sum[0] = sum[1] = sum[2] = 0.0;
    for (size_t i = 0; i < count; i++) {
        const tie *b = &s->ties[s->interval_tie[first + i]];
        const tie *m = &s->ties[s->interval_tie[first + count - 1 - i]];
        double dir = s->paths[path_index].dir;
        double stated = dir * (b->target - b[-1].target);
        double other = dir * (m->target - m[-1].target);
        double travel =
            dir * (s->knots[b->knot].nominal - s->knots[b[-1].knot].nominal);
        if (s->knots[b->knot].section != s->knots[b[-1].knot].section)
            continue;
        sum[0] += fabs(stated - travel);
        sum[1] += fabs(-stated - travel);
        sum[2] += fabs(other - travel);
    }
}

/* The same data with the run turned: log density and chi-square of what is
 * still in. */
static dm_status turn(const ranking *r, size_t path_index, bool mirrored,
                      double *density, double *chi2)
{
    const station_system *s = r->s;
    station_system t = {.model = s->model,
                        .survey = s->survey,
                        .tendon = s->tendon,
                        .settings = s->settings,
                        .arena = s->arena,
                        .radius = s->radius};
    size_t n = s->given ? s->given->correction_count : 0;
    station_freedom given = {0};
    given.corrections = DM_NEW_ARRAY(s->arena, correction, n + 1);
    if (!given.corrections)
        return DM_NOMEM;
    if (n > 0)
        memcpy(given.corrections, s->given->corrections,
               n * sizeof(correction));
    given.corrections[n] = (correction){.kind = DM_BLUNDER_REVERSED,
                                        .path = path_index,
                                        .event = DM_NONE,
                                        .mirrored = mirrored};
    given.correction_count = n + 1;
    adjusted a;
    closure c;
    dm_status status = station_system_build(
        &t, (size_t)(s->tendon - s->model->tendons), &given, NULL);
    if (status == DM_OK)
        status = station_adjust(&t, &a);
    if (status == DM_OK)
        status = closure_new(&t, &a, &c);
    if (status != DM_OK)
        return status;
    for (size_t i = 0; i < c.m; i++)
        if (r->c->dropped[i])
            closure_drop(&c, i);
    *density = -0.5 * (c.chi2 + c.logdet);
    *chi2 = c.chi2;
    return DM_OK;
}

/* The run with the greatest |z|, which is where a reversed one shows: its
 * misclosures are as long as its intervals. DM_NONE: a measured length. */
static size_t worst_run(const station_system *s, const closure *c)
{
    double worst = 0.0;
    size_t found = DM_NONE;
    for (size_t i = 0; i < c->m; i++) {
        size_t interval = s->observations[i].interval;
        double z = fabs(c->w[i]) / sqrt(c->q[i * c->m + i]);
        if (c->dropped[i] || !(z > worst))
            continue;
        worst = z;
        found = interval == DM_NONE ? DM_NONE : s->intervals[interval].run;
    }
    return found;
}

static dm_status add_reversed(ranking *r, size_t path_index, double *turned)
{
    double sum[3], density, chi2;
    double m = (double)r->c->m, cost = m * m * (double)r->s->n;
    turned_misclosures(r->s, path_index, sum);
    for (int way = 1; way <= 2; way++) {
        if (!(sum[way] < sum[0]) || *turned + cost > MOST_TURNED)
            continue;
        *turned += cost;
        dm_status status = turn(r, path_index, way == 2, &density, &chi2);
        if (status == DM_INCONSISTENT)
            continue;
        if (status != DM_OK)
            return status;
        candidate a = start(DM_BLUNDER_REVERSED, path_index, DM_NONE);
        a.h.mirrored = way == 2;
        add(r, &a,
            log(0.5 * ODDS_REVERSED) + density +
                0.5 * (r->c->chi2 + r->c->logdet),
            r->c->chi2 - chi2);
    }
    return DM_OK;
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

/* The equal ones and as many of the others as there is room for. */
static size_t keep(const ranking *r, dm_hypothesis *out)
{
    size_t equal = 0, count = 0;
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

dm_status hypotheses_rank(const station_system *s, closure *c,
                          dm_hypothesis out[HYPOTHESES_KEPT], size_t *count)
{
    double worst = closure_worst(s, c);
    ranking r = {.s = s, .c = c, .least = 0.5 * worst * worst};
    dm_status status = DM_OK;
    add_intervals(&r);
    for (size_t i = 0; i < s->tie_count; i++)
        add_tie(&r, i);
    for (size_t i = 0; i < c->m; i++) {
        if (s->observations[i].interval != DM_NONE || c->dropped[i])
            continue;
        candidate a = start(DM_BLUNDER_MEASURED, DM_NONE, DM_NONE);
        a.h.measured = s->observations[i].tape;
        a.at[0] = i;
        a.c[0] = 1.0;
        a.count = 1;
        add_unknown_length(&r, &a, ODDS_MEASURED, true);
    }
    for (size_t i = 0; i < s->path_count; i++)
        add_scale(&r, i);
    size_t run = worst_run(s, c);
    if (run != DM_NONE)
        status = add_reversed(&r, run, &c->turned);
    if (status != DM_OK || r.failed)
        return DM_NOMEM;
    sort(&r);
    mark_equals(&r);
    *count = keep(&r, out);
    return DM_OK;
}

size_t hypothesis_observations(const station_system *s, const closure *c,
                               const dm_hypothesis *h, size_t *out)
{
    size_t count = 0;
    for (size_t i = 0; i < c->m; i++) {
        const observation *o = &s->observations[i];
        bool in = false;
        if (o->interval == DM_NONE)
            in = h->measured != DM_NONE && o->tape == h->measured;
        else if (h->kind == DM_BLUNDER_REVERSED)
            in = s->intervals[o->interval].run == h->run;
        else if (h->kind == DM_BLUNDER_WRONG_FACE)
            in = s->intervals[o->interval].run == h->run &&
                 (s->intervals[o->interval].event_from == h->event ||
                  s->intervals[o->interval].event_to == h->event);
        else if (h->kind != DM_BLUNDER_SCALE)
            in = o->interval == h->interval;
        if (in && !c->dropped[i])
            out[count++] = i;
    }
    return count;
}
