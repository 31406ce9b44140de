/* SPDX-License-Identifier: MIT
 *
 * What openings say of the indications: estimate beside finding. Part of the
 * indication stage. Nothing is calibrated anew by it. The rules:
 * docs/opened.md.
 *
 * Lengths in metres, angles in radians; stations are tendon stations. Every `u`
 * is a standard uncertainty.
 */
#ifndef DUCTMARK_AS_FOUND_H
#define DUCTMARK_AS_FOUND_H

#include "ductmark/size.h"

DM_BEGIN_C

/** What one opening says. */
typedef enum {
    /** Of an indication: it was not sound there. */
    DM_OUTCOME_CONFIRMED = 0,
    /** Of an indication: it was sound, surely between its ends and on its
     *  clock angles. */
    DM_OUTCOME_REFUTED,
    /** Nothing for sure: a strand, something else, or sound grout where the
     *  indication need not reach. */
    DM_OUTCOME_NEITHER,
    /** Not sound where the readings indicated nothing. */
    DM_OUTCOME_MISSED,
    /** Sound where the readings indicated nothing. */
    DM_OUTCOME_AGREES,
    /** Not sound where nothing was read, or to no use. */
    DM_OUTCOME_NOT_READ,
    DM_OUTCOME_COUNT
} dm_outcome;
/** "confirmed", "refuted", "neither", "missed", "agrees", "not read there".
 *  @return static text, never NULL; "neither" outside the range */
const char *dm_outcome_text(dm_outcome outcome);

/** One opening, and what was estimated of its place. */
typedef struct {
    /** As found. */
    dm_opening what;
    /** On the centreline at its station, world, m, and where that is along the
     *  bridge. */
    dm_vec3 axis;
    dm_bridge_place bridge;
    /** Index into the survey's opened; DM_NONE: the register had it. */
    size_t opened;
    /** The register does not have it yet, or has it otherwise: it may change
     *  the state. */
    bool fresh;
    /** Index into dm_indications.items; DM_NONE. */
    size_t indication;
    /** Index into the entries of the earlier register, where that has what was
     *  opened but the readings show it no more; DM_NONE. */
    size_t entry;
    /** Key of either; NULL: neither. */
    const char *key;
    /** Matched by the id of its tap; else by its place. */
    bool by_tap;
    /** See there. */
    dm_outcome outcome;
    /** How far it lies inside the best ends, m, negative: outside; and their
     *  standard uncertainties, edge and tape, relative to the face taped from
     *  where the end is known relative to it. NAN: no indication. */
    double inside_from, inside_to, u_from, u_to;
    /** It says that an end lies elsewhere, by more than U. */
    bool against_end;
    /** What the readings are worth at this station and clock angle: the words
     *  of dm_cover. */
    const char *cover;
    /** Depth of the void from the nearest turn of the indication; NAN: none. */
    dm_amount depth;
    /** depth.low is all that is known. */
    bool depth_at_least;
    /** Probability that the indication gave to the material found (void, soft,
     *  strand, sound); NAN: no indication, water or something else, or no
     *  materials in the calibration. */
    double p_found;
    /** The outcome's reason, one line. Never NULL. */
    const char *words;
} dm_as_found;

/** State of an entry of the earlier register that the readings show no more but
 *  that was opened. */
typedef struct {
    /** Index into its entries. */
    size_t entry;
    dm_state state;
    /** Since when; NULL: not stated. */
    const char *date;
} dm_settled;

/** Openings counted, and indications by what became of them. */
typedef struct {
    /** Places opened, of this survey and from the register. */
    size_t openings;
    /** By outcome; their sum is `openings`. */
    size_t outcome[DM_OUTCOME_COUNT];
    /** Indications confirmed, refuted, opened without either, not opened. Their
     *  sum is the number of indications; people may have set the first two. */
    size_t confirmed, refuted, undecided, not_opened;
} dm_opened_sum;

/** Adds b to a. */
void dm_opened_sum_add(dm_opened_sum *a, const dm_opened_sum *b);

DM_END_C

#endif
