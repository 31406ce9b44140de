/* SPDX-License-Identifier: MIT
 * The numeric core of kinds on plain arrays: from plateaus on clock lines to
 * probabilities of materials. Knows no files and no runs, so that a
 * simulation can drive it with known truth. */
#ifndef DM_INDICATION_POSTERIOR_H
#define DM_INDICATION_POSTERIOR_H

#include "ductmark/kind.h"

/* Lines of one place that are weighed; further ones, by clock angle, are left
 * out. */
#define DM_MOST_LINES 16

/* How far beside where it touches the wall a line reads a strand, rad: the
 * reading fades over so much. Found with simulated sensors, no source. */
#define DM_STRAND_FLANK (3.14159265358979323846 / 3.0)

/* What one clock line says of a place. */
typedef struct {
    double clock;      /* rad */
    double half;       /* half the footprint round the duct, rad */
    double plateau, u; /* fused over the runs of the line */
    bool shorter;      /* than the footprint: the plateau lost amplitude */
    /* Runs that read the place, and those that show it. seen 0: a silent line,
     * whose plateau is the mean index that it read there. */
    size_t seen, passed;
    dm_material material[DM_MATERIAL_COUNT]; /* sd 0: not calibrated */
} dm_evidence;

typedef struct {
    double prior[DM_MATERIAL_COUNT]; /* weights, >= 0 */
    double confidence;
    double strand, strand_u; /* strand side, rad; NAN: not known */
    double zero_u; /* standard uncertainty of the zero, all lines alike */
} dm_judge_rule;

/* Fills p, likeliest, resolved, strand_factor, known, lines, silent, passed and
 * seen.
 * @param e  [n], n >= 1: clock lines that differ; first those that show the
 *           place, at least one and of one sign, then silent ones */
void dm_judge(const dm_judge_rule *rule, const dm_evidence *e, size_t n,
              dm_posterior *out);

/* The kind that a posterior allows; `known` must hold. */
dm_kind dm_kind_of_posterior(const dm_posterior *p);

#endif
