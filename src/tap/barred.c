/* SPDX-License-Identifier: MIT
 * Where no hole may be: fixtures, faces, what supports hide, joints of duct
 * types, lengths that nobody read. A fixture on a part of the circumference
 * bars the clock angles that it reaches, all else all round. */
#include <math.h>
#include <stdlib.h>

#include "tap/work.h"

#define PI 3.14159265358979323846

bool dm_tap_clock_within(const dm_fixture *x, double clock, double slack)
{
    double width = x->clock_to - x->clock_from, a;

    if (width <= 0.0)
        width += 2.0 * PI;
    if (width >= 2.0 * PI - 1e-9)
        return true;
    a = fmod(clock - x->clock_from + 4.0 * PI, 2.0 * PI);
    return a <= width + slack || a >= 2.0 * PI - slack;
}

/* The job's margin round the duct, rad. */
static double slack_at(const dm_placer *p, double t)
{
    return 2.0 * p->job->settings.fixture_margin /
           dm_tendon_duct(p->model, p->tendon, t)->od;
}

bool dm_tap_fixtures_leave(const dm_placer *p, double t, double clock)
{
    const dm_tendon *n = p->tendon;
    double m = p->job->settings.fixture_margin, slack = slack_at(p, t);

    for (size_t i = 0; i < n->fixture_count; i++)
        if (n->fixtures[i].from - m < t && t < n->fixtures[i].to + m &&
            dm_tap_clock_within(&n->fixtures[i], clock, slack))
            return false;
    return true;
}

/* Whether a fixture reaches the middle of every extent. */
static bool all_round(const dm_fixture *x, const dm_void_arc *arcs,
                      size_t count, double slack)
{
    for (size_t i = 0; i < count; i++)
        if (!dm_tap_clock_within(x, arcs[i].mid, slack))
            return false;
    return true;
}

/* Of an inclined face it differs round the duct. */
static dm_span face_span(const dm_placer *p, size_t face,
                         const dm_void_arc *arcs, size_t count, double margin)
{
    const dm_face *f = &p->tendon->faces[face];
    double r = dm_face_radius(p->model, p->tendon, f);
    dm_span s = {HUGE_VAL, -HUGE_VAL};

    for (size_t i = 0; i < count; i++) {
        double t = dm_face_station(p->tendon, f, r, arcs[i].mid) +
                   dm_tap_face_t(p, face) - f->t;

        s.from = fmin(s.from, t - margin);
        s.to = fmax(s.to, t + margin);
    }
    return s;
}

dm_span *dm_tap_barred(const dm_placer *p, const dm_void_arc *arcs,
                       size_t arc_count, double t, size_t *count)
{
    const dm_tendon *n = p->tendon;
    const dm_indications *in = p->indications;
    double m = p->job->settings.fixture_margin, slack = slack_at(p, t);
    size_t k = 0;
    dm_span *s = calloc(n->fixture_count + n->face_count + n->support_count +
                            n->duct_count + in->cover_count + 1,
                        sizeof *s);

    if (s == NULL)
        return NULL;
    for (size_t i = 0; i < n->fixture_count; i++)
        if (all_round(&n->fixtures[i], arcs, arc_count, slack))
            s[k++] = (dm_span){n->fixtures[i].from - m, n->fixtures[i].to + m};
    for (size_t i = 0; i < n->face_count; i++)
        s[k++] = face_span(p, i, arcs, arc_count, m);
    for (size_t i = 0; i < n->support_count; i++) {
        double back = n->supports[i].readable_back;
        double ahead = n->supports[i].readable_ahead;

        s[k++] = (dm_span){(isnan(back) ? 0.0 : back) - m,
                           (isnan(ahead) ? n->line.length : ahead) + m};
    }
    for (size_t i = 1; i < n->duct_count; i++)
        s[k++] = (dm_span){n->ducts[i].from - m, n->ducts[i].from + m};
    for (size_t i = 0; i < in->cover_count; i++)
        if (in->cover[i].cover == DM_COVER_NOT_TESTED)
            s[k++] = (dm_span){in->cover[i].from, in->cover[i].to};
    *count = k;
    return s;
}

bool dm_span_holds(const dm_span *s, size_t count, double t)
{
    for (size_t i = 0; i < count; i++)
        if (s[i].from < t && t < s[i].to)
            return true;
    return false;
}
