/* SPDX-License-Identifier: MIT
 * What stands round a place that somebody asked for: concrete, covers, and
 * what the job's margins keep holes away from. */
#include <math.h>
#include <string.h>

#include "base/num.h"
#include "tap/work.h"

/* The anchorage or deviator in whose concrete the tap would lie, between its
 * faces at the tap's clock angle; NULL: none. */
const dm_support *dm_tap_concrete_at(const dm_placer *p, const dm_tap *tap,
                                     double r)
{
    const dm_tendon *n = p->tendon;

    for (size_t i = 0; i < n->support_count; i++) {
        double back = i == 0 ? -HUGE_VAL : (double)NAN;
        double ahead = i + 1 == n->support_count ? HUGE_VAL : (double)NAN;

        for (size_t k = 0; k < n->face_count; k++) {
            const dm_face *f = &n->faces[k];
            double t = dm_face_station(n, f, r, tap->clock) +
                       dm_tap_face_t(p, k) - f->t;

            if (f->support == i && f->side == DM_SIDE_BACK)
                back = t;
            else if (f->support == i)
                ahead = t;
        }
        if (tap->t > back && tap->t < ahead)
            return &n->supports[i];
    }
    return NULL;
}

/* What lies over the duct at the tap, or that it is no plastic duct; NULL: it
 * is bare. */
const char *dm_tap_covered_by(const dm_placer *p, const dm_tap *tap)
{
    const dm_tendon *n = p->tendon;
    const dm_duct_type *duct = dm_tendon_duct(p->model, n, tap->t);

    if (strcmp(duct->material, "steel") == 0)
        return "steel duct";
    for (size_t i = 0; i < n->support_count; i++) {
        const dm_support *s = &n->supports[i];
        bool back = tap->t > s->readable_back && tap->t <= s->t;
        bool ahead = tap->t < s->readable_ahead && tap->t >= s->t;

        if (back || ahead)
            return dm_hidden_text(back ? s->hidden_back : s->hidden_ahead);
    }
    for (size_t i = 0; i < n->fixture_count; i++)
        if (n->fixtures[i].kind != DM_FIXTURE_LOW_CLEARANCE &&
            tap->t > n->fixtures[i].from && tap->t < n->fixtures[i].to &&
            dm_tap_clock_within(&n->fixtures[i], tap->clock, 0.0))
            return dm_fixture_text(n->fixtures[i].kind);
    return NULL;
}

/* What of the job's margins is not kept, as "what; ", "" where they are all
 * kept; NULL: no memory. */
const char *dm_tap_too_near(const dm_placer *p, const dm_tap *tap)
{
    const dm_tendon *n = p->tendon;
    double r = 0.5 * dm_tendon_duct(p->model, n, tap->t)->od;
    double margin = p->job->settings.fixture_margin, least = margin;
    const char *what = NULL, *id = NULL;
    char is[DM_NUM_SIZE], asked[DM_NUM_SIZE];

    for (size_t i = 0; i < n->fixture_count; i++) {
        const dm_fixture *x = &n->fixtures[i];
        double d = fmax(0.0, fmax(x->from - tap->t, tap->t - x->to));

        if (x->kind != DM_FIXTURE_LOW_CLEARANCE && d < least &&
            dm_tap_clock_within(x, tap->clock, margin / r)) {
            least = d;
            what = dm_fixture_text(x->kind);
            id = x->id;
        }
    }
    for (size_t i = 0; i < n->face_count; i++) {
        double d = fabs(dm_face_station(n, &n->faces[i], r, tap->clock) +
                        dm_tap_face_t(p, i) - n->faces[i].t - tap->t);

        if (d < least) {
            least = d;
            what = "face";
            id = n->faces[i].id;
        }
    }
    if (what == NULL)
        return "";
    dm_num_fixed(is, floor(1000.0 * least), 0);
    dm_num_fixed(asked, 1000.0 * margin, 0);
    return dm_arena_printf(p->arena,
                           "%s mm along from %s %s, a margin of %s mm is "
                           "asked for; ",
                           is, what, id, asked);
}
