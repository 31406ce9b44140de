/* SPDX-License-Identifier: MIT
 * Posterior probability of materials: Bayes' rule on the plateaus of all clock
 * lines of one place.
 *
 * A line's plateau under a material is spread about the calibration's mean with
 * sd^2 (place to place) and u^2 (noise). The place's own deviation is common to
 * its lines but for 1 - RHO of its variance, so that lines of one place are not
 * counted as so many places. A spread known from a few specimens allows no odds
 * of a million: tails of Student's t with NU degrees of freedom, and UNLIKE of
 * all places are spread WIDE times as far (a contaminated distribution, J. W.
 * Tukey 1960).
 *
 * A strand touches over a limited angle: its probability is an integral over
 * the angle at which it lies, prior uniform, or normal about the strand side
 * with its u (and DOUBT_SIDE uniform, because sides are stated wrongly). It
 * reads most right above and fades beside (DROP, DM_STRAND_FLANK: a bundle's
 * gap opens as e (1 - cos), slowly at the eccentricities of usual ducts); lines
 * out of its sight must be explained by sound grout. Soft grout and voids cover
 * an arc: an integral over its middle and extent; a line has the part of it
 * that its footprint covers.
 *
 * Lines that show nothing say what the others see an edge of: soft grout all
 * round, or a strand. They do not say that there is nothing: a narrow void at
 * the crown between two silent lines is common, and what an artefact of one
 * line does to the next is not known. Hence the probability of sound grout is
 * that of the lines that show the place, and the silent ones only move weight
 * between the materials.
 *
 * "Sound" is the spread of sound grout and an artefact of reading (ARTEFACT,
 * over an index of -1.5 to 1.5): something on the wall, a lift-off that was
 * not told. An artefact does not come again in the next run, what lies in the
 * duct does (but for MISS). Shorter than the footprint: the plateau is the
 * material's times an unknown part of it, 0.3 to 1.
 *
 * All these numbers: chosen here, no source; what they lead to is measured by
 * tests/sim/sim_kind.c on physics of its own. */
#include "indication/posterior.h"

#include <math.h>

#define PI 3.14159265358979323846
#define RHO 0.8
#define NU 8.0
#define UNLIKE 0.22
#define WIDE 3.0
#define REACH (PI / 12.0)      /* half an hour: strands in contact, rad */
#define TOP (1.0 + DROP / 3.0) /* their mean over the angle is 1 */
#define DROP 0.5
#define FADE 0.3 /* spread of what is left there */
#define DOUBT_SIDE 0.07
#define ARTEFACT 0.02
#define ARTEFACT_DENSITY (1.0 / 3.0)
#define MISS 0.05
#define MISS_SHORT 0.5
#define AMPLITUDES 8
#define SIDES 72
#define CENTRES 48
#define EXTENTS 12
#define LEAST (PI / 12.0) /* half an hour: half of the least arc */
#define CROWN (PI / 4.0)
#define RISES 0.5
#define LEAST_SOUND 0.05
#define MOST_RUNS 8 /* more runs than this say no more */

const char *dm_material_text(dm_material_kind material)
{
    static const char *const text[DM_MATERIAL_COUNT] = {"void", "soft",
                                                        "strand", "sound"};

    return (unsigned)material < DM_MATERIAL_COUNT ? text[material] : "sound";
}

const char *dm_kind_basis_text(bool known)
{
    return known ? "probability" : "bands";
}

static bool has(const dm_evidence *e, size_t n, dm_material_kind m)
{
    for (size_t i = 0; i < n; i++)
        if (!(e[i].material[m].sd > 0.0))
            return false;
    return true;
}

/* Density of the plateaus, each under part[i] of the material's amplitude (0:
 * that line is left out): multivariate t whose covariance is diag(a) + b b', by
 * the determinant lemma and the formula of Sherman and Morrison. */
static double spread_by(const dm_judge_rule *rule, const dm_evidence *e,
                        size_t n, dm_material_kind m, const double *part,
                        double wide)
{
    double log_det = 0.0, dd = 0.0, db = 0.0, bb = 0.0, dims = 0.0, quad;

    for (size_t i = 0; i < n; i++) {
        double mean = e[i].material[m].mean;
        double sd = wide * part[i] * e[i].material[m].sd;
        double d = e[i].plateau - part[i] * mean;
        double fade = FADE * fmax(0.0, 1.0 - part[i]) * mean;
        double a = (1.0 - RHO) * sd * sd + fade * fade + e[i].u * e[i].u;
        double b = sqrt(RHO * sd * sd + rule->zero_u * rule->zero_u);

        if (part[i] <= 0.0)
            continue;
        /* Neither a strand nor air reads on the other side of 0. */
        if (e[i].seen > 0 &&
            (m == DM_MATERIAL_STRAND || m == DM_MATERIAL_VOID) &&
            mean * e[i].plateau < 0.0)
            return 0.0;
        log_det += log(a);
        dd += d * d / a;
        db += d * b / a;
        bb += b * b / a;
        dims += 1.0;
    }
    log_det += log1p(bb);
    quad = dd - db * db / (1.0 + bb);
    return exp(lgamma(0.5 * (NU + dims)) - lgamma(0.5 * NU) -
               0.5 * dims * log(PI * (NU - 2.0)) - 0.5 * log_det -
               0.5 * (NU + dims) * log1p(quad / (NU - 2.0)));
}

static double joint(const dm_judge_rule *rule, const dm_evidence *e, size_t n,
                    dm_material_kind m, const double *part)
{
    return (1.0 - UNLIKE) * spread_by(rule, e, n, m, part, 1.0) +
           UNLIKE * spread_by(rule, e, n, m, part, WIDE);
}

static double power(double base, size_t times)
{
    return pow(base, (double)(times < MOST_RUNS ? times : MOST_RUNS));
}

static double missed(const dm_evidence *e)
{
    if (e->seen == 0)
        return 1.0;
    return power(e->shorter ? MISS_SHORT : MISS, e->passed - e->seen);
}

/* Nothing in the duct: the spread of sound grout, or an artefact in each run
 * that shows it and in none of the others. */
static double sound(const dm_judge_rule *rule, const dm_evidence *e)
{
    const double whole = 1.0;
    double sd = fmax(e->material[DM_MATERIAL_SOUND].sd, LEAST_SOUND);
    double var = sd * sd + e->u * e->u + rule->zero_u * rule->zero_u;
    double spread = 0.0;

    if (e->seen == 0)
        spread =
            exp(-0.5 * e->plateau * e->plateau / var) / sqrt(2.0 * PI * var);
    else if (e->material[DM_MATERIAL_SOUND].sd > 0.0)
        spread = joint(rule, e, 1, DM_MATERIAL_SOUND, &whole);
    return (1.0 - ARTEFACT) * spread * missed(e) +
           power(ARTEFACT, e->seen > 0 ? e->seen : 1) * ARTEFACT_DENSITY;
}

/* The same, as a mean over the amplitudes that a short length may have. */
static double density(const dm_judge_rule *rule, const dm_evidence *e, size_t n,
                      dm_material_kind m, const double *part)
{
    double each[DM_MOST_LINES], sum = 0.0;
    bool shorter = false;

    for (size_t i = 0; i < n; i++)
        shorter = shorter || (part[i] > 0.0 && e[i].shorter);
    if (!shorter)
        return joint(rule, e, n, m, part);
    for (int k = 0; k < AMPLITUDES; k++) {
        double kept = 0.3 + 0.7 * (k + 0.5) / AMPLITUDES;

        for (size_t i = 0; i < n; i++)
            each[i] = part[i] * (e[i].shorter ? kept : 1.0);
        sum += joint(rule, e, n, m, each);
    }
    return sum / AMPLITUDES;
}

/* All lines, each with its part of a material; where there is none of it the
 * line must be explained by sound grout. */
static double lines(const dm_judge_rule *rule, const dm_evidence *e, size_t n,
                    dm_material_kind m, const double *part,
                    const double *as_sound)
{
    double others = 1.0;
    bool seen = false;

    for (size_t i = 0; i < n; i++) {
        others *= part[i] > 0.0 ? missed(&e[i]) : as_sound[i];
        seen = seen || (part[i] > 0.0 && e[i].seen > 0);
    }
    return seen ? others * density(rule, e, n, m, part) : 0.0;
}

/* Part of a footprint that an arc covers. */
static double covered(const dm_evidence *e, double centre, double half)
{
    double off = fabs(remainder(e->clock - centre, 2.0 * PI));

    return fmin(1.0, fmax(0.0, 0.5 + 0.5 * (half - off) / e->half));
}

/* Soft grout or a void: an arc somewhere round the duct, of any extent, as
 * often about the crown (segregated grout and bleed water rise) as anywhere.
 * Against one of which a single line sees the whole. */
static double arc(const dm_judge_rule *rule, const dm_evidence *e, size_t n,
                  dm_material_kind m, const double *as_sound)
{
    double part[DM_MOST_LINES], sum = 0.0, reach = 0.0;

    for (int c = 0; c < CENTRES; c++) {
        double centre = 2.0 * PI * (c + 0.5) / CENTRES - PI;
        double z = centre / CROWN;
        double weight = (1.0 - RISES) / (2.0 * PI) +
                        RISES * exp(-0.5 * z * z) / (CROWN * sqrt(2.0 * PI));

        for (int h = 0; h < EXTENTS; h++) {
            double half = LEAST + (PI - LEAST) * (h + 0.5) / EXTENTS;

            for (size_t i = 0; i < n; i++) {
                part[i] = covered(&e[i], centre, half);
                reach += weight * part[i] / (double)n;
            }
            sum += weight * lines(rule, e, n, m, part, as_sound);
        }
    }
    return sum / reach;
}

/* ---- where a strand lies ---- */

/* Weight of a strand side at theta; the weights of all of them sum to 1. */
typedef struct {
    double theta[2 * SIDES], weight[2 * SIDES];
    size_t count;
} sides;

static void all_sides(const dm_judge_rule *rule, sides *s)
{
    bool stated = isfinite(rule->strand) && isfinite(rule->strand_u);
    double sum = 0.0;

    s->count = 0;
    for (int k = 0; k < SIDES; k++) {
        s->theta[s->count] = 2.0 * PI * (k + 0.5) / SIDES;
        s->weight[s->count++] = (stated ? DOUBT_SIDE : 1.0) / SIDES;
    }
    for (int k = 0; stated && k < SIDES; k++) {
        double z = -3.0 + 6.0 * (k + 0.5) / SIDES;

        s->theta[s->count] = rule->strand + z * rule->strand_u;
        s->weight[s->count++] = exp(-0.5 * z * z);
        sum += exp(-0.5 * z * z);
    }
    for (size_t k = SIDES; k < s->count; k++)
        s->weight[k] *= (1.0 - DOUBT_SIDE) / sum;
}

/* A strand's reading on a line, as a part of the calibration's mean, which is
 * over all angles within reach: most above it, falling off as the strand
 * leaves the wall; beyond reach what is left of it. */
static double beside(const dm_evidence *e, double theta)
{
    double off = fabs(remainder(e->clock - theta, 2.0 * PI));
    double z = off / (e->half + REACH);
    double left =
        (TOP - DROP) * (1.0 - (off - e->half - REACH) / DM_STRAND_FLANK);

    return z <= 1.0 ? TOP - DROP * z * z : fmax(0.0, left);
}

/* Of a strand somewhere, against one under a line of which nothing is known:
 * hence over the part of the circumference from which one line sees it. */
static double strand(const dm_judge_rule *rule, const dm_evidence *e, size_t n,
                     const double *as_sound, double *factor)
{
    sides s;
    double part[DM_MOST_LINES], sum = 0.0, reach = 0.0, near = 0.0;
    double anywhere = 0.0;

    for (size_t i = 0; i < n; i++)
        reach += fmin(1.0, (e[i].half + REACH + 0.5 * DM_STRAND_FLANK) / PI) /
                 (double)n;
    all_sides(rule, &s);
    for (size_t k = 0; k < s.count; k++) {
        double most = 0.0;

        for (size_t i = 0; i < n; i++) {
            part[i] = beside(&e[i], s.theta[k]);
            if (e[i].seen > 0)
                most = fmax(most, part[i]);
        }
        if (most <= 0.0)
            continue;
        sum +=
            s.weight[k] * lines(rule, e, n, DM_MATERIAL_STRAND, part, as_sound);
        near += s.weight[k] * most;
        anywhere += k < SIDES ? most / SIDES : 0.0;
    }
    *factor = anywhere > 0.0 ? near / anywhere : 1.0;
    return sum / reach;
}

/* ---- Bayes ---- */

static bool can_judge(const dm_evidence *e, size_t n)
{
    if (e[0].plateau > 0.0)
        return has(e, n, DM_MATERIAL_VOID);
    return has(e, n, DM_MATERIAL_SOFT) && has(e, n, DM_MATERIAL_STRAND);
}

/* Bayes' rule on n lines. False: nothing explains them. */
static bool weigh(const dm_judge_rule *rule, const dm_evidence *e, size_t n,
                  double *p, double *factor)
{
    double as_sound[DM_MOST_LINES], sum = 0.0, all = 1.0;

    for (size_t i = 0; i < n; i++) {
        as_sound[i] = sound(rule, &e[i]);
        all *= as_sound[i];
    }
    p[DM_MATERIAL_SOUND] = all;
    if (has(e, n, DM_MATERIAL_STRAND))
        p[DM_MATERIAL_STRAND] = strand(rule, e, n, as_sound, factor);
    for (int m = DM_MATERIAL_VOID; m <= DM_MATERIAL_SOFT; m++)
        if (has(e, n, (dm_material_kind)m))
            p[m] = arc(rule, e, n, (dm_material_kind)m, as_sound);
    for (int m = 0; m < DM_MATERIAL_COUNT; m++) {
        p[m] *= rule->prior[m];
        sum += p[m];
    }
    for (int m = 0; m < DM_MATERIAL_COUNT; m++)
        p[m] = sum > 0.0 ? p[m] / sum : (double)NAN;
    return sum > 0.0;
}

/* What silent lines say of the materials, at the probability of sound grout
 * that the other lines gave. */
static void hear_silent(const dm_judge_rule *rule, const dm_evidence *e,
                        size_t n, double *p)
{
    double q[DM_MATERIAL_COUNT] = {0.0}, factor;

    if (!weigh(rule, e, n, q, &factor) || q[DM_MATERIAL_SOUND] >= 1.0)
        return;
    for (int m = 0; m < DM_MATERIAL_COUNT; m++)
        if (m != DM_MATERIAL_SOUND)
            p[m] = q[m] / (1.0 - q[DM_MATERIAL_SOUND]) *
                   (1.0 - p[DM_MATERIAL_SOUND]);
}

void dm_judge(const dm_judge_rule *rule, const dm_evidence *e, size_t n,
              dm_posterior *out)
{
    size_t used = n < DM_MOST_LINES ? n : DM_MOST_LINES, shown = 0;

    *out = (dm_posterior){.strand_factor = 1.0, .zero_shift = out->zero_shift};
    for (size_t i = 0; i < n; i++) {
        out->lines += e[i].seen > 0;
        out->silent += e[i].seen == 0;
        out->passed += e[i].seen > 0 ? e[i].passed : 0;
        out->seen += e[i].seen;
        shown += i < used && e[i].seen > 0;
    }
    if (can_judge(e, shown))
        out->known = weigh(rule, e, shown, out->p, &out->strand_factor);
    if (out->known && shown < used)
        hear_silent(rule, e, used, out->p);
    for (int m = 0; m < DM_MATERIAL_COUNT; m++) {
        if (!out->known)
            out->p[m] = (double)NAN;
        else if (out->p[m] > out->p[out->likeliest])
            out->likeliest = (dm_material_kind)m;
    }
    out->resolved = out->known && out->p[out->likeliest] >= rule->confidence;
}

dm_kind dm_kind_of_posterior(const dm_posterior *p)
{
    if (p->resolved && p->likeliest == DM_MATERIAL_VOID)
        return DM_KIND_VOID_LIKE;
    if (p->resolved && p->likeliest == DM_MATERIAL_SOFT)
        return DM_KIND_SOFT_LIKE;
    return DM_KIND_UNRESOLVED;
}
