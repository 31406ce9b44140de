/* SPDX-License-Identifier: MIT
 *
 * The error budget of a station: how much of its variance comes from what.
 * After: station. Kept where dm_settings.budget asks for it.
 *
 * What is not known beforehand are errors independent of each other: of each
 * scale, step of the walk, skip, tie, face, tape. What is left of them in a
 * station after all ties and taped lengths were used is a linear form of
 * these errors (any text on least-squares adjustment), so its variance is a sum
 * over them, and nothing is left over. An item of the budget is the sum over
 * the errors of one sort: the variance that the station would lose if that sort
 * were known without error, while all observations keep the weights they have
 * (JCGM 100:2008, 5.1: the u_i(y)^2 of independent inputs). It is not what the
 * bound would be with better ties: other weights would be right then.
 *
 * Against a face everything is relative to where that face stands. How it is
 * computed: docs/stations.md. Variances in m^2, standard, not expanded.
 */
#ifndef DUCTMARK_BUDGET_H
#define DUCTMARK_BUDGET_H

#include "ductmark/station.h"

DM_BEGIN_C

/** What an error is an error of. */
typedef enum {
    /** Encoders' scales. */
    DM_BUDGET_SCALE,
    /** The walk of the encoders, between events and since the last one. */
    DM_BUDGET_WALK,
    /** Skips of stated length, each by itself. */
    DM_BUDGET_SKIPS,
    /** Starts and ties, with the encoder's step. */
    DM_BUDGET_TIES,
    /** Faces that stand elsewhere than drawn. */
    DM_BUDGET_FACES,
    /** The scale error of the tapes that measured skips, and the error of
     *  taped lengths between faces. */
    DM_BUDGET_TAPES,
    /** Length and place of skips that nobody wrote down and the job accepts. */
    DM_BUDGET_CORRECTIONS,
    DM_BUDGET_ITEMS
} dm_budget_item;
/** "scale", "walk", "skips", "ties", "faces", "tapes", "corrections".
 *  @return static text, never NULL; "" outside the range */
const char *dm_budget_text(dm_budget_item item);

/** Variances, m^2, >= 0; their sum is the station's variance, but for
 *  rounding. */
typedef struct {
    double item[DM_BUDGET_ITEMS];
} dm_budget;

/** The budget of the place of a run distance.
 *  @param run      index into stations->runs
 *  @param stretch  of that run
 *  @param x        run distance, m, as for dm_walker_at
 *  @param face     index into the tendon's faces: relative to that one;
 *                  DM_NONE: against the world
 *  @return all 0 where stations were solved without dm_settings.budget */
dm_budget dm_budget_at(const dm_stations *stations, size_t run, size_t stretch,
                       double x, size_t face);
/** Sum of the items, m^2. */
double dm_budget_sum(const dm_budget *budget);

DM_END_C

#endif
