/* SPDX-License-Identifier: MIT
 *
 * Sums over tendons, parts and the bridge: where the length went, how many
 * indications of which kind and grade, how long. After: indication.
 *
 * A part holds its own tendons and those of the parts in it; the bridge all
 * tendons, also those of no part. A tendon without results counts as not
 * tested. Lengths of the ledger are added to the micrometre, those of
 * indications to 10 um, as each is printed: what an output shows adds up.
 */
#ifndef DUCTMARK_TOTAL_H
#define DUCTMARK_TOTAL_H

#include "ductmark/indication.h"

DM_BEGIN_C

/** Indications of one kind and grade. */
typedef struct {
    size_t count;
    /** Of their best ends, m. */
    double length;
} dm_tally;

/** Of one tendon, of one part with all in it, or of the bridge. */
typedef struct {
    /** Tendons, and those of them with results. */
    size_t tendons, surveyed;
    /** Of duct, m. */
    double length;
    /** By state and by why, m; each adds up to `length`. */
    double cover[DM_COVER_COUNT], why[DM_WHY_COUNT];
    /** Indications, and taken together their length, m. */
    dm_tally all;
    /** [DM_KIND_COUNT * (grades + 1)]: see dm_tally_at. */
    dm_tally *tallies;
    /** Of void-like indications. */
    dm_volume_sum volume;
    /** What was opened, and what became of the indications. */
    dm_opened_sum opened;
} dm_total;

/** All sums of a bridge. */
typedef struct dm_totals {
    struct dm_arena *arena; /* holds all of it */
    /** Grades of the criteria; 0 without. */
    size_t grades;
    dm_total bridge;
    /** One per part of the model. */
    dm_total *parts;
    /** One per tendon. */
    dm_total *tendons;
} dm_totals;

/** One kind and grade of a total.
 *  @param grade  index into the criteria's grades; DM_NONE: no rule matched
 *  @return belongs to the totals */
const dm_tally *dm_tally_at(const dm_totals *totals, const dm_total *total,
                            dm_kind kind, size_t grade);

/** Adds up.
 *  @param criteria  NULL: no grades
 *  @param results   one per tendon of the model; NULL: none
 *  @param out       free with dm_totals_free; NULL on failure
 *  @return DM_OK or DM_NOMEM */
dm_status dm_totals_make(const dm_model *model, const dm_criteria *criteria,
                         const dm_result *results, dm_totals **out);

/** Frees totals; accepts NULL. */
void dm_totals_free(dm_totals *totals);

DM_END_C

#endif
