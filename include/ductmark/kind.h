/* SPDX-License-Identifier: MIT
 *
 * What an indication may be made of, and how sure that is. Part of the
 * indication stage; before: size and tap. The rules: docs/indications.md.
 *
 * A kind is a claim about readings, never about the structure. Where the
 * calibration of the duct type gives mean and spread of the index for the
 * materials, the kind follows from posterior probabilities; else from bands
 * alone. Two limits that no probability removes: a void filled with water
 * reads like sound or soft grout, and a strand at the wall reads like soft or
 * wet grout.
 *
 * All that runs and clock lines say of one place is one piece of evidence:
 * plateaus with their noise, how many runs saw it of those that passed, and
 * where the strands lie, stated or derived. The index has no unit (0 sound, 1
 * air); angles in radians, clock angles looking ahead. NAN: not known.
 */
#ifndef DUCTMARK_KIND_H
#define DUCTMARK_KIND_H

#include "ductmark/survey.h"

DM_BEGIN_C

/** A material that a plateau may come from; the names of `material` in the
 *  field book. */
typedef enum {
    /** Air behind the wall. */
    DM_MATERIAL_VOID = 0,
    /** Soft or wet grout. */
    DM_MATERIAL_SOFT,
    /** A strand at the wall. */
    DM_MATERIAL_STRAND,
    /** Sound grout: what stands out is not in the duct (an unnoticed lift-off,
     *  something wet on the wall), or is the spread of sound grout. */
    DM_MATERIAL_SOUND,
    DM_MATERIAL_COUNT
} dm_material_kind;

/** "void", "soft", "strand", "sound".
 *  @return static text, never NULL; "sound" outside the range */
const char *dm_material_text(dm_material_kind material);

/** "probability" where known, else "bands".
 *  @return static text, never NULL */
const char *dm_kind_basis_text(bool known);

/** How the kind of one indication came about. */
typedef struct {
    /** False: the calibration does not give the materials that are to be told
     *  apart (void above 0; soft and strand below): kind by bands alone, and
     *  p, likeliest, resolved and strand_factor say nothing. */
    bool known;
    /** Probability of each material, given the readings, the job's priors and
     *  the strand side: 0 to 1, sum 1; 0 for a material that the calibration
     *  does not have. NAN where not known. */
    double p[DM_MATERIAL_COUNT];
    /** The greatest of p. */
    dm_material_kind likeliest;
    /** p[likeliest] reaches the job's `confidence`. A strand that is resolved
     *  stays an unresolved kind: what lies behind it was not read. */
    bool resolved;
    /** By what the strand side changed the weight of a strand at these clock
     *  lines: 1 where nothing is known of it. */
    double strand_factor;
    /** Clock lines that show the place; >= 1. */
    size_t lines;
    /** Runs that read the place on these clock lines, and those of them that
     *  show it; passed >= seen >= 1. */
    size_t passed, seen;
    /** Further clock lines that were read there and show nothing: weighed by
     *  the mean index that they read. */
    size_t silent;
    /** By how much the zero of the index may be off because the wall is not
     *  the one that the calibration was made on, index, >= 0. NAN: the
     *  calibration does not say its wall, or not what a wall does. */
    double zero_shift;
} dm_posterior;

DM_END_C

#endif
