/* SPDX-License-Identifier: MIT
 * The error that the adjustment leaves in a linear form of the unknowns is
 * itself a linear form of independent errors, of the unknowns before it and of
 * the observations (adjusted_errors). Between two knots the coefficients are
 * linear in x, so the sum of the squares over one sort is a quadratic like the
 * variance of which it is a part; the bridge of the walk between the knots is
 * independent of all of them and belongs to the walk. */
#include "station/budget.h"

#include <math.h>

#include "station/dense.h"
#include "station/pieces.h"

const char *dm_budget_text(dm_budget_item item)
{
    static const char *const words[] = {"scale", "walk",  "skips",      "ties",
                                        "faces", "tapes", "corrections"};
    return (unsigned)item < DM_BUDGET_ITEMS ? words[item] : "";
}

static const dm_piece *piece_at(const dm_stretch *s, double x)
{
    size_t low = 0, high = s->piece_count - 1;
    while (low < high) {
        size_t middle = low + (high - low + 1) / 2;
        if (s->pieces[middle].x0 <= x)
            low = middle;
        else
            high = middle - 1;
    }
    return &s->pieces[low];
}

dm_budget dm_budget_at(const dm_stations *stations, size_t run, size_t stretch,
                       double x, size_t face)
{
    dm_budget out = {{0.0}};
    const dm_piece *p = piece_at(&stations->runs[run].stretches[stretch], x);
    if (!p->budget)
        return out;
    size_t block = face == DM_NONE ? 0 : 1 + face;
    double dx = x - p->x0;
    for (size_t i = 0; i < DM_BUDGET_ITEMS; i++) {
        const double *c = p->budget[block * DM_BUDGET_ITEMS + i].c;
        out.item[i] = fmax(c[0] + dx * (c[1] + dx * c[2]), 0.0);
    }
    return out;
}

double dm_budget_sum(const dm_budget *budget)
{
    double sum = 0.0;
    for (size_t i = 0; i < DM_BUDGET_ITEMS; i++)
        sum += budget->item[i];
    return sum;
}

/* ---- common to a tendon -------------------------------------------------- */

static dm_status errors_of(const station_system *s, const adjusted *a,
                           size_t unknown, double **out)
{
    double *row = DM_NEW_ARRAY(s->arena, double, s->n);
    if (!row)
        return DM_NOMEM;
    row[unknown] = 1.0;
    form f = {row, a->y + unknown * a->m};
    return adjusted_errors(s, a, &f, out);
}

dm_status budget_prepare(const station_system *s, adjusted *a)
{
    if (!s->settings->budget)
        return DM_OK;
    budget_base *base = DM_NEW(s->arena, budget_base);
    if (!base)
        return DM_NOMEM;
    base->face = DM_NEW_ARRAY(s->arena, double *, s->tendon->face_count);
    base->scale = DM_NEW_ARRAY(s->arena, double *, s->n);
    if (!base->face || !base->scale)
        return DM_NOMEM;
    dm_status status = DM_OK;
    for (size_t f = 0; status == DM_OK && f < s->tendon->face_count; f++)
        status = errors_of(s, a, f, &base->face[f]);
    for (size_t i = 0; status == DM_OK && i < s->path_count; i++) {
        size_t u = s->paths[i].scale;
        if (!base->scale[u])
            status = errors_of(s, a, u, &base->scale[u]);
    }
    a->budget = base;
    return status;
}

/* ---- pieces -------------------------------------------------------------- */

/* Sums of squares and products over the errors of each sort. */
typedef struct {
    long double aa[DM_BUDGET_ITEMS], ab[DM_BUDGET_ITEMS], bb[DM_BUDGET_ITEMS];
} sums;

/* Of a and b, both less `less` where that is not NULL; of b only where
 * `both`. */
static void add_up(const station_system *s, const double *a, const double *b,
                   const double *less, bool both, sums *out)
{
    *out = (sums){{0.0L}, {0.0L}, {0.0L}};
    for (size_t k = 0; k < s->n + s->observation_count; k++) {
        /* The only observations with an error of their own are taped lengths:
         * ties have theirs among the unknowns. */
        size_t item = k < s->n ? (size_t)s->item[k] : DM_BUDGET_TAPES;
        double off = less ? less[k] : 0.0;
        double x = a[k] - off, y = both ? b[k] - off : b[k];
        out->aa[item] += dense_wide(x) * dense_wide(x);
        out->ab[item] += dense_wide(x) * dense_wide(y);
        out->bb[item] += dense_wide(y) * dense_wide(y);
    }
}

static const double *relative(const adjusted *a, size_t block)
{
    return block == 0 ? NULL : a->budget->face[block - 1];
}

void budget_between(const station_system *s, const adjusted *a,
                    const double *ea, const double *eb, double d, double walk,
                    dm_piece *piece)
{
    for (size_t k = 0; piece->budget && k < 1 + s->tendon->face_count; k++) {
        sums v;
        add_up(s, ea, eb, relative(a, k), true, &v);
        for (size_t i = 0; i < DM_BUDGET_ITEMS; i++)
            piece->budget[k * DM_BUDGET_ITEMS + i] =
                piece_bridge((double)v.aa[i], (double)v.ab[i], (double)v.bb[i],
                             d, i == DM_BUDGET_WALK ? walk : 0.0);
    }
}

void budget_beyond(const station_system *s, const adjusted *a, const double *e,
                   const path *p, double side, dm_piece *piece)
{
    for (size_t k = 0; piece->budget && k < 1 + s->tendon->face_count; k++) {
        sums v;
        add_up(s, e, a->budget->scale[p->scale], relative(a, k), false, &v);
        for (size_t i = 0; i < DM_BUDGET_ITEMS; i++)
            piece->budget[k * DM_BUDGET_ITEMS + i] = piece_open_end(
                (double)v.aa[i], (double)v.ab[i], (double)v.bb[i],
                i == DM_BUDGET_WALK ? path_walk(p) : 0.0, p, side);
    }
}
