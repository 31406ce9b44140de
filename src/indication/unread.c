/* SPDX-License-Identifier: MIT
 * Why a length was not read. It is cut at supports, ducts, fixtures and
 * changes of access, and each part gets the first reason that applies: inside
 * an anchorage or deviator, a steel duct, a fixture or the sensor's length
 * beside it, what the run said of it (skip, readings left out), the sensor's
 * length beside a support, no access, not walked. The sensor's length is that
 * of the instruments on the line, nose to tail, and a footprint: nearer than
 * that to an obstacle its electrode need not have come. A fixture counts for
 * the lines that it lies on. Limit: which end of the body touched the obstacle
 * is not asked. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "indication/find.h"

#define TWO_PI 6.283185307179586476925
/* Bounds of the ledger are rounded, m. */
#define SAME (2.0 * DM_COVER_STEP)

static dm_why why_of(dm_fixture_kind kind)
{
    if (kind == DM_FIXTURE_WRAP)
        return DM_WHY_WRAP;
    return kind == DM_FIXTURE_LOW_CLEARANCE ? DM_WHY_LOW_CLEARANCE
                                            : DM_WHY_OBSTRUCTION;
}

static const char *support_word(const dm_support *s)
{
    return s->kind == DM_SUPPORT_ANCHORAGE ? "anchorage" : "deviator";
}

/* NULL: between supports. The unread length that a hand could reach ends at
 * them: *gap_from and *gap_to are drawn in. */
static const dm_support *support_round(const dm_tendon *n, double a, double b,
                                       double *gap_from, double *gap_to)
{
    double mid = 0.5 * (a + b);

    for (size_t i = 0; i < n->support_count; i++) {
        const dm_support *s = &n->supports[i];
        double lo = isnan(s->readable_back) ? -HUGE_VAL : s->readable_back;
        double hi = isnan(s->readable_ahead) ? HUGE_VAL : s->readable_ahead;

        if (mid > lo && mid < hi)
            return s;
        if (lo >= b - SAME && lo < *gap_to)
            *gap_to = lo;
        if (hi <= a + SAME && hi > *gap_from)
            *gap_from = hi;
    }
    return NULL;
}

/* The sensor's length on a line, or the greatest of all lines, m. */
static double reach_of(const dm_finder *f, size_t line)
{
    double reach = 0.0;

    for (size_t i = 0; i < f->clock_line_count; i++)
        if (line == DM_NONE || line == i)
            reach = fmax(reach, f->clock_lines[i].reach);
    return reach;
}

/* Whether a fixture comes under the width of a clock line. */
static bool lies_on(const dm_fixture *x, const dm_clock_line *l, double od)
{
    double half = l->width / od; /* rad: half the width on half the diameter */
    double arc = x->clock_to - x->clock_from;

    if (arc <= 0.0)
        arc += TWO_PI;
    arc += 2.0 * half;
    return arc >= TWO_PI - 1e-9 ||
           fmod(l->clock - x->clock_from + half + 2.0 * TWO_PI, TWO_PI) <= arc;
}

/* On the line, or on any of them; where nobody came it speaks for itself. */
static bool obstructs(const dm_finder *f, const dm_fixture *x, size_t line)
{
    double od = dm_tendon_duct(f->model, f->tendon, x->from)->od;

    for (size_t i = 0; i < f->clock_line_count; i++)
        if ((line == DM_NONE || line == i) &&
            lies_on(x, &f->clock_lines[i], od))
            return true;
    return f->clock_line_count == 0;
}

static const dm_fixture *fixture_near(const dm_finder *f, size_t line,
                                      double mid, double gap_from,
                                      double gap_to)
{
    const dm_tendon *n = f->tendon;
    double reach = reach_of(f, line);

    for (size_t i = 0; i < n->fixture_count; i++) {
        const dm_fixture *x = &n->fixtures[i];
        bool on = mid >= x->from && mid <= x->to;
        bool beside = x->from < gap_to && x->to > gap_from &&
                      mid > x->from - reach && mid < x->to + reach;

        if ((on || beside) && obstructs(f, x, line))
            return x;
    }
    return NULL;
}

/* The support that a short unread length touches. */
static const dm_support *support_beside(const dm_tendon *n, double reach,
                                        double gap_from, double gap_to)
{
    for (size_t i = 0; i < n->support_count; i++)
        if ((fabs(gap_to - n->supports[i].readable_back) < SAME ||
             fabs(gap_from - n->supports[i].readable_ahead) < SAME) &&
            gap_to - gap_from < reach)
            return &n->supports[i];
    return NULL;
}

static bool no_access(const dm_finder *f, double t)
{
    const dm_tendon *n = f->tendon;

    return (n->part == DM_NONE || n->part < f->model->part_count) &&
           dm_tendon_access(f->model, n, t) == DM_ACCESS_NONE;
}

static bool explain(dm_cover_length *l, dm_why why, const char *reason)
{
    l->why = why;
    l->reason = reason;
    return reason != NULL;
}

bool dm_unread_explain(const dm_finder *f, size_t line, dm_cover_length *l,
                       double gap_from, double gap_to,
                       const dm_cover_length *said)
{
    const dm_tendon *n = f->tendon;
    double mid = 0.5 * (l->from + l->to);
    const dm_support *s = support_round(n, l->from, l->to, &gap_from, &gap_to);
    const dm_fixture *x;

    if (s != NULL)
        return explain(
            l, DM_WHY_SUPPORT,
            dm_arena_printf(f->arena, "inside %s %s", support_word(s), s->id));
    if (strcmp(dm_tendon_duct(f->model, n, mid)->material, "steel") == 0)
        return explain(l, DM_WHY_STEEL, "steel duct");
    x = fixture_near(f, line, mid, gap_from, gap_to);
    if (x != NULL)
        return explain(l, why_of(x->kind),
                       dm_arena_printf(f->arena, "%s %s",
                                       dm_fixture_text(x->kind), x->id));
    if (said != NULL)
        return explain(l, said->why, said->reason);
    s = support_beside(n, reach_of(f, line), gap_from, gap_to);
    if (s != NULL)
        return explain(l, DM_WHY_DEAD_ZONE,
                       dm_arena_printf(f->arena,
                                       "the sensor's length beside %s %s",
                                       support_word(s), s->id));
    if (no_access(f, mid))
        return explain(l, DM_WHY_NO_ACCESS, "no access");
    return explain(l, DM_WHY_NOT_WALKED, "not walked");
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

bool dm_unread_cuts(const dm_finder *f, size_t line, double **cuts, size_t *n)
{
    const dm_tendon *t = f->tendon;
    double length = t->line.length, reach = reach_of(f, line);
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
        good =
            add_cut(cuts, n, &capacity, t->fixtures[i].from, length) &&
            add_cut(cuts, n, &capacity, t->fixtures[i].to, length) &&
            add_cut(cuts, n, &capacity, t->fixtures[i].from - reach, length) &&
            add_cut(cuts, n, &capacity, t->fixtures[i].to + reach, length);
    for (size_t i = 0; i < t->access_count && good; i++)
        good = add_cut(cuts, n, &capacity, t->access[i].from, length) &&
               add_cut(cuts, n, &capacity, t->access[i].to, length);
    if (*n > 0)
        qsort(*cuts, *n, sizeof **cuts, by_value);
    return good;
}
