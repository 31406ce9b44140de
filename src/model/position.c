/* SPDX-License-Identifier: MIT
 * The place of a length among supports and high points. */
#include "ductmark/position.h"

#include <math.h>

const char *dm_position_text(dm_position_class position)
{
    static const char *const text[DM_AT_COUNT] = {"anchorage", "crest",
                                                  "deviator", "free"};

    return text[(unsigned)position < DM_AT_COUNT ? position : DM_AT_FREE];
}

/* Where a support begins on one side: its face nearest to what lies there, its
 * readable end, its own station. */
static double begin_of(const dm_tendon *n, size_t support, dm_side side)
{
    const dm_support *s = &n->supports[support];
    double sign = side == DM_SIDE_BACK ? -1.0 : 1.0;
    double readable =
        side == DM_SIDE_BACK ? s->readable_back : s->readable_ahead;
    double at = (double)NAN;

    for (size_t i = 0; i < n->face_count; i++) {
        const dm_face *f = &n->faces[i];

        if (f->support == support && f->side == side &&
            !(sign * f->t <= sign * at))
            at = f->t;
    }
    if (isnan(at))
        at = isnan(readable) ? s->t : readable;
    return at;
}

/* Gap between two lengths; 0: they meet. */
static double apart(double from, double to, double a, double b)
{
    return fmax(0.0, fmax(a - to, from - b));
}

static void take_support(const dm_tendon *n, size_t support, double from,
                         double to, dm_position *p)
{
    bool anchorage = n->supports[support].kind == DM_SUPPORT_ANCHORAGE;
    double d = apart(from, to, begin_of(n, support, DM_SIDE_BACK),
                     begin_of(n, support, DM_SIDE_AHEAD));
    double *least = &p->distance[anchorage ? DM_AT_ANCHORAGE : DM_AT_DEVIATOR];

    if (*least <= d) /* never of a NAN */
        return;
    *least = d;
    *(anchorage ? &p->anchorage : &p->deviator) = support;
}

static void take_level(const dm_layout_level *l, double from, double to,
                       dm_position *p)
{
    double d = apart(from, to, l->from, l->to);
    double middle = 0.5 * (from + to);

    if (l->kind != DM_LEVEL_HIGH || p->distance[DM_AT_CREST] <= d)
        return;
    p->distance[DM_AT_CREST] = d;
    p->crest = fmin(fmax(middle, l->from), l->to);
    p->crest_z = l->z;
}

dm_position dm_position_of(const dm_tendon *tendon, const dm_layout *layout,
                           double from, double to)
{
    const double nan = (double)NAN;
    dm_position p = {.at = DM_AT_FREE,
                     .anchorage = DM_NONE,
                     .deviator = DM_NONE,
                     .crest = nan,
                     .crest_z = nan,
                     .distance = {nan, nan, nan}};

    for (size_t i = 0; i < tendon->support_count; i++)
        take_support(tendon, i, from, to, &p);
    for (size_t i = 0; i < layout->level_count; i++)
        take_level(&layout->levels[i], from, to, &p);
    for (int k = DM_AT_FREE - 1; k >= 0; k--)
        if (p.distance[k] <= DM_POSITION_NEAR)
            p.at = (dm_position_class)k;
    return p;
}
