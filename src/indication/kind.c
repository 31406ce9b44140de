/* SPDX-License-Identifier: MIT
 * From the sightings of one place to its index and its kind.
 *
 * Sightings of one clock line are fused first: the mean of their plateaus
 * weighted by inverse variance; where they differ by more than their noise its
 * uncertainty grows by the ratio of both (R. T. Birge's, Phys. Rev. 40, 1932,
 * 207). Different lines see different parts of the duct and are not averaged:
 * the strongest gives the index, all of them the kind. Runs that read the same
 * place on those lines and show nothing count against it. Lines that were read
 * there and show nothing at all say how far round it reaches: they are weighed
 * by the mean index that they read within it (half a footprint inside its ends,
 * which blur into sound grout). */
#include <math.h>
#include <stdlib.h>

#include "geom/clock.h"
#include "indication/find.h"
#include "indication/mirror.h"
#include "indication/posterior.h"

#define TWO_PI 6.283185307179586476925
#define READ_PART 0.8 /* of a place, for a run to have read it */

dm_status dm_pass_add(dm_finder *f, dm_pass pass)
{
    if (f->pass_count == f->pass_capacity &&
        !DM_GROW(f->passes, f->pass_count, f->pass_capacity))
        return DM_NOMEM;
    f->passes[f->pass_count++] = pass;
    return DM_OK;
}

static bool listed(const size_t *runs, size_t n, size_t run)
{
    for (size_t i = 0; i < n; i++)
        if (runs[i] == run)
            return true;
    return false;
}

/* Whether a run read from..to on a clock line, all but a little of it. */
static bool read_past(const dm_finder *f, size_t run, double clock, double from,
                      double to)
{
    double length = 0.0;

    for (size_t i = 0; i < f->pass_count; i++)
        if (f->passes[i].run == run && dm_same_line(f->passes[i].clock, clock))
            length += fmax(0.0, fmin(f->passes[i].to, to) -
                                    fmax(f->passes[i].from, from));
    return length >= READ_PART * (to - from) && length > 0.0;
}

/* Runs on a clock line that read from..to without showing the place. */
static size_t runs_past(const dm_finder *f, double clock, double from,
                        double to, const size_t *seen, size_t seen_count)
{
    size_t n = 0;

    for (size_t i = 0; i < f->pass_count; i++) {
        const dm_pass *p = &f->passes[i];
        bool first = true;

        if (!dm_same_line(p->clock, clock) || listed(seen, seen_count, p->run))
            continue;
        for (size_t k = 0; k < i && first; k++)
            first = f->passes[k].run != p->run ||
                    !dm_same_line(f->passes[k].clock, clock);
        if (first && read_past(f, p->run, clock, from, to))
            n++;
    }
    return n;
}

/* ---- one clock line ---- */

static void set_materials(const dm_calibration *c, dm_evidence *e)
{
    for (size_t i = 0; c != NULL && i < c->material_count; i++)
        for (int m = 0; m < DM_MATERIAL_COUNT; m++) {
            const char *a = c->materials[i].name;
            const char *b = dm_material_text((dm_material_kind)m);

            while (*a != '\0' && *a == *b) {
                a++;
                b++;
            }
            if (*a == *b)
                e->material[m] = c->materials[i];
        }
}

/* Fuses the plateaus of a line's members; those shorter than the footprint
 * only where no other is there. */
static void fuse(const dm_sighting *const *m, size_t n, double clock,
                 dm_evidence *e)
{
    double weight = 0.0, sum = 0.0, chi = 0.0, count = 0.0;

    e->shorter = true;
    for (size_t i = 0; i < n; i++)
        if (dm_same_line(m[i]->clock, clock))
            e->shorter = e->shorter && m[i]->shorter;
    for (int pass = 0; pass < 2; pass++)
        for (size_t i = 0; i < n; i++) {
            double u = fmax(m[i]->index_u, 1e-4);

            if (!dm_same_line(m[i]->clock, clock) ||
                m[i]->shorter != e->shorter)
                continue;
            if (pass == 0) {
                weight += 1.0 / (u * u);
                sum += m[i]->index / (u * u);
                count += 1.0;
            } else {
                double z = (m[i]->index - sum / weight) / u;

                chi += z * z;
            }
        }
    e->plateau = sum / weight;
    e->u = sqrt(1.0 / weight);
    if (count > 1.0)
        e->u *= sqrt(fmax(1.0, chi / (count - 1.0)));
}

static void add_line(const dm_finder *f, const dm_sighting *const *m, size_t n,
                     const dm_sighting *first, const dm_indication *item,
                     size_t *runs, dm_evidence *e)
{
    double od =
        dm_tendon_duct(f->model, f->tendon, 0.5 * (item->from.t + item->to.t))
            ->od;

    *e = (dm_evidence){.clock = first->clock};
    e->half = first->around / od;
    set_materials(first->calibration, e);
    fuse(m, n, first->clock, e);
    for (size_t i = 0; i < n; i++)
        if (dm_same_line(m[i]->clock, first->clock) &&
            !listed(runs, e->seen, m[i]->run))
            runs[e->seen++] = m[i]->run;
    e->passed = e->seen + runs_past(f, first->clock, item->from.t, item->to.t,
                                    runs, e->seen);
}

/* ---- lines that show nothing ---- */

/* Mean of what a run read within from..to, half a footprint inside it. False:
 * nothing. */
static bool mean_within(const dm_run_profile *p, size_t cells, double from,
                        double to, double footprint, bool *shorter,
                        double *mean, double *var)
{
    double in = 0.5 * footprint, sum = 0.0, n = 0.0;

    *shorter = to - from < 2.5 * in;
    from += *shorter ? 0.0 : in;
    to -= *shorter ? 0.0 : in;
    for (size_t k = (size_t)fmax(0.0, from / DM_PROFILE_PITCH);
         k < cells && (double)k * DM_PROFILE_PITCH <= to; k++)
        if (!isnan(p->index[k])) {
            sum += (double)p->index[k];
            n += 1.0;
        }
    if (n <= 0.0)
        return false;
    *mean = sum / n;
    *var = fmax(1e-8, p->var / fmax(1.0, (to - from) / DM_MIRROR_BLOCK));
    return true;
}

/* Whether a line can tell apart what the line that shows the place can. */
static bool as_good(const dm_evidence *e, const dm_evidence *first)
{
    for (int m = 0; m < DM_MATERIAL_COUNT; m++)
        if (first->material[m].sd > 0.0 && !(e->material[m].sd > 0.0))
            return false;
    return true;
}

/* A line that shows nothing, from all runs on it whose clock is not in doubt.
 * False: none of them read the place. */
static bool silent_line(const dm_finder *f, double clock,
                        const dm_indication *item, const dm_evidence *first,
                        dm_evidence *e)
{
    const dm_duct_type *type =
        dm_tendon_duct(f->model, f->tendon, 0.5 * (item->from.t + item->to.t));
    double weight = 0.0, sum = 0.0, mean, var;

    *e = (dm_evidence){.clock = clock};
    for (size_t i = 0; i < f->run_profile_count; i++) {
        const dm_run_profile *p = &f->run_profiles[i];
        size_t instrument = f->survey->runs[p->run].instrument;
        const dm_channel *c =
            &f->survey->instruments[instrument].channels[p->channel];

        if (!dm_same_line(p->clock, clock) || p->doubt ||
            !read_past(f, p->run, clock, item->from.t, item->to.t) ||
            !mean_within(p, f->line_cells, item->from.t, item->to.t,
                         c->footprint_along, &e->shorter, &mean, &var))
            continue;
        set_materials(dm_survey_calibration(
                          f->survey, (size_t)(type - f->model->duct_types),
                          instrument, p->channel),
                      e);
        e->half = c->footprint_around / type->od;
        weight += 1.0 / var;
        sum += mean / var;
        e->passed++;
    }
    if (e->passed == 0 || !as_good(e, first))
        return false;
    e->plateau = sum / weight;
    e->u = sqrt(1.0 / weight);
    return true;
}

/* Appends the silent lines to the `lines` that show the place, at most as many
 * as are weighed. */
static size_t add_silent(const dm_finder *f, const dm_indication *item,
                         dm_evidence *e, size_t lines)
{
    size_t n = lines;

    for (size_t i = 0; i < f->run_profile_count && n < DM_MOST_LINES; i++) {
        double clock = f->run_profiles[i].clock;
        bool known = false;

        for (size_t k = 0; k < n; k++)
            known = known || dm_same_line(e[k].clock, clock);
        if (!known && silent_line(f, clock, item, &e[0], &e[n]))
            n++;
    }
    return n;
}

/* ---- one place ---- */

/* Of the strand sides that reach into the place, the one nearest to the clock
 * angle. */
static const dm_strand_side *side_near(const dm_tendon *tendon,
                                       const dm_indication *item)
{
    const dm_strand_side *best = NULL;
    double least = HUGE_VAL;

    for (size_t i = 0; i < tendon->strand_side_count; i++) {
        const dm_strand_side *s = &tendon->strand_sides[i];
        double off = fabs(remainder(item->clock - s->clock, TWO_PI));

        if (s->to > item->from.t && s->from < item->to.t && off < least) {
            least = off;
            best = s;
        }
    }
    return best;
}

static int by_clock(const void *a, const void *b)
{
    const dm_evidence *x = a, *y = b;

    return (x->clock > y->clock) - (x->clock < y->clock);
}

static void judge(const dm_finder *f, const dm_evidence *e, size_t n,
                  dm_indication *out)
{
    const dm_settings *s = f->settings;
    const dm_strand_side *side = side_near(f->tendon, out);
    double shift = out->posterior.zero_shift;
    dm_judge_rule rule = {.prior = {[DM_MATERIAL_VOID] = s->prior_void,
                                    [DM_MATERIAL_SOFT] = s->prior_soft,
                                    [DM_MATERIAL_STRAND] = s->prior_strand,
                                    [DM_MATERIAL_SOUND] = s->prior_sound},
                          .confidence = s->confidence,
                          .strand = side != NULL ? side->clock : (double)NAN,
                          .strand_u = side != NULL ? side->u : (double)NAN,
                          /* anywhere within it: a rectangle's */
                          .zero_u = isnan(shift) ? 0.0 : shift / sqrt(3.0)};

    dm_judge(&rule, e, n, &out->posterior);
    if (out->posterior.known)
        out->kind = dm_kind_of_posterior(&out->posterior);
}

bool dm_kind_fuse(const dm_finder *f, const dm_sighting *const *m, size_t n,
                  dm_indication *out)
{
    dm_evidence *e = calloc(n + DM_MOST_LINES, sizeof *e);
    size_t *runs = calloc(n + 1, sizeof *runs), lines = 0, best = 0;
    const dm_sighting *strongest = m[0];

    if (e == NULL || runs == NULL) {
        free(e);
        free(runs);
        return false;
    }
    for (size_t i = 0; i < n; i++) {
        bool known = false;

        out->clock_doubt = out->clock_doubt || dm_clock_doubted(f, m[i]->run);
        for (size_t k = 0; k < lines; k++)
            known = known || dm_same_line(e[k].clock, m[i]->clock);
        if (!known)
            add_line(f, m, n, m[i], out, runs, &e[lines++]);
        if (fabs(m[i]->index) > fabs(strongest->index))
            strongest = m[i];
    }
    qsort(e, lines, sizeof *e, by_clock);
    for (size_t k = 1; k < lines; k++)
        if (fabs(e[k].plateau) > fabs(e[best].plateau))
            best = k;
    out->clock = e[best].clock;
    out->index = e[best].plateau;
    out->index_u = e[best].u;
    dm_index_length_fuse(m, n, e[best].clock, e[best].shorter, out);
    out->posterior.zero_shift =
        strongest->calibration == NULL
            ? (double)NAN
            : dm_zero_shift(f->survey, strongest->calibration,
                            dm_tendon_duct(f->model, f->tendon,
                                           0.5 * (out->from.t + out->to.t)));
    judge(f, e, add_silent(f, out, e, lines), out);
    free(e);
    free(runs);
    return true;
}
