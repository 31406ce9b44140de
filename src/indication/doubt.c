/* SPDX-License-Identifier: MIT
 * Which runs' clock angles are in doubt: each run's profile against those of
 * the others on its clock line and on the mirrored one (mirror.c). */
#include <math.h>
#include <stdlib.h>

#include "base/diag.h"
#include "base/num.h"
#include "geom/clock.h"
#include "indication/line.h"
#include "indication/mirror.h"

#define TWO_PI 6.283185307179586476925
#define OFF_CROWN 0.35 /* 2 clock: nearer to 0 mirrors onto itself, rad */

dm_status dm_run_profile_add(dm_finder *f, const dm_run_work *w,
                             const dm_run_line *l)
{
    dm_run_profile p = {
        .run = w->stations->run, .channel = l->channel, .clock = l->clock};
    float *n;

    if (l->count == 0)
        return DM_OK;
    if (f->run_profile_count == f->run_profile_capacity &&
        !DM_GROW(f->run_profiles, f->run_profile_count,
                 f->run_profile_capacity))
        return DM_NOMEM;
    p.index = calloc(f->line_cells + 1, sizeof *p.index);
    n = calloc(f->line_cells + 1, sizeof *n);
    if (p.index == NULL || n == NULL) {
        free(p.index);
        free(n);
        return DM_NOMEM;
    }
    for (size_t s = 0; s < l->count; s++)
        for (size_t i = 0; i < l->strips[s].count; i++) {
            double at = l->strips[s].t[i] / DM_PROFILE_PITCH;

            if (l->strips[s].bad[i] || !(at >= 0.0) ||
                at >= (double)f->line_cells)
                continue;
            p.index[(size_t)at] +=
                (float)(l->strips[s].index[i] - l->strips[s].base[i]);
            n[(size_t)at] += 1.0f;
        }
    for (size_t k = 0; k < f->line_cells; k++)
        p.index[k] = n[k] > 0.0f ? p.index[k] / n[k] : NAN;
    free(n);
    p.var = dm_noise_mean_var(
        &l->noise, (size_t)fmax(1.0, DM_MIRROR_BLOCK / l->strips[0].pitch));
    f->run_profiles[f->run_profile_count++] = p;
    return DM_OK;
}

/* Mean of the other runs on a clock line. False: there is none. */
static bool fuse(const dm_finder *f, const dm_run_profile *of, double clock,
                 float *index, dm_mirror_line *out)
{
    size_t count = 0;
    double var = 0.0;

    *out = (dm_mirror_line){index, f->line_cells, 0.0};
    for (size_t i = 0; i < f->run_profile_count; i++) {
        const dm_run_profile *p = &f->run_profiles[i];

        if (p->run == of->run || !dm_same_line(p->clock, clock))
            continue;
        for (size_t k = 0; k < f->line_cells; k++) {
            if (count == 0 || isnan(index[k]))
                index[k] = p->index[k];
            else if (!isnan(p->index[k]))
                index[k] += (p->index[k] - index[k]) / (float)(count + 1);
        }
        var = fmax(var, p->var);
        count++;
    }
    out->var = var;
    return count > 0;
}

static void say(const dm_finder *f, const dm_run_profile *p, const dm_mirror *m)
{
    const dm_run *run = &f->survey->runs[p->run];
    char same[DM_NUM_SIZE], other[DM_NUM_SIZE];

    dm_num_fixed(same, m->same, 2);
    if (m->finding == DM_MIRROR_APART) {
        dm_warn(f->diag, run->place, run->id,
                "runs on this clock line do not show the same (correlation "
                "%s): one of their clock angles may be mirrored (12 - clock), "
                "and nothing tells which; in doubt until confirmed",
                same);
        return;
    }
    dm_num_fixed(other, m->other, 2);
    dm_warn(f->diag, run->place, run->id,
            "its clock angle may be mirrored (12 - clock): it fits what others "
            "read on the mirrored line (correlation %s), not on its own (%s); "
            "in doubt until confirmed",
            other, same);
}

dm_status dm_mirror_check(dm_finder *f)
{
    float *same = calloc(f->line_cells + 1, sizeof *same);
    float *other = calloc(f->line_cells + 1, sizeof *other);

    if (same == NULL || other == NULL) {
        free(same);
        free(other);
        return DM_NOMEM;
    }
    for (size_t i = 0; i < f->run_profile_count; i++) {
        dm_run_profile *p = &f->run_profiles[i];
        dm_mirror_line run = {p->index, f->line_cells, p->var}, s, o;
        bool has_same, has_other;
        dm_mirror m;

        if (fabs(remainder(2.0 * p->clock, TWO_PI)) < OFF_CROWN)
            continue;
        has_same = fuse(f, p, p->clock, same, &s);
        has_other = fuse(f, p, -p->clock, other, &o);
        m = dm_mirror_test(&run, has_same ? &s : NULL, has_other ? &o : NULL);
        p->doubt = m.finding == DM_MIRROR_OTHER || m.finding == DM_MIRROR_APART;
        if (p->doubt)
            say(f, p, &m);
    }
    free(same);
    free(other);
    return DM_OK;
}

bool dm_clock_doubted(const dm_finder *f, size_t run)
{
    for (size_t i = 0; i < f->run_profile_count; i++)
        if (f->run_profiles[i].run == run && f->run_profiles[i].doubt)
            return true;
    return false;
}

void dm_run_profiles_free(dm_finder *f)
{
    for (size_t i = 0; i < f->run_profile_count; i++)
        free(f->run_profiles[i].index);
    free(f->run_profiles);
}
