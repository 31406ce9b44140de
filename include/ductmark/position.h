/* SPDX-License-Identifier: MIT
 *
 * Where an indication lies among the tendon's anchorages, deviators and high
 * points: what an owner's criteria ask of its place. Grout fails first at high
 * points and beside anchorages, so the distance to the next of each is told.
 *
 * Distances run along the centreline, m, from the nearer end of the indication
 * (its best station, without its uncertainty); 0: it reaches into the place.
 * An anchorage or deviator begins at its face as drawn, towards the indication;
 * without a face on that side at its readable end, else at its own station. A
 * high point is one of dm_layout: what rises before and falls behind, the
 * tendon's higher ends among them; a level top is a length.
 */
#ifndef DUCTMARK_POSITION_H
#define DUCTMARK_POSITION_H

#include "ductmark/layout.h"

DM_BEGIN_C

/** An indication not further than this from a place is at it, m, unless the
 *  owner's rule says `within`. A convention of this program, no requirement of
 *  any code. */
#define DM_POSITION_NEAR 1.0

/** The class of a place; of several that are near the first counts. */
typedef enum {
    /** At an anchorage. */
    DM_AT_ANCHORAGE,
    /** At a high point. */
    DM_AT_CREST,
    /** At a deviator. */
    DM_AT_DEVIATOR,
    /** Near none of them. */
    DM_AT_FREE,
    DM_AT_COUNT
} dm_position_class;

/** "anchorage", "crest", "deviator", "free": the words of the criteria.
 *  @return static text, never NULL; "free" outside the range */
const char *dm_position_text(dm_position_class position);

/** The place of one indication. */
typedef struct {
    /** Its class. */
    dm_position_class at;
    /** Indices of the nearest anchorage and deviator among the tendon's
     *  supports; DM_NONE: there is none. */
    size_t anchorage, deviator;
    /** Station of the nearest high point, m, of a level top the nearest place
     *  of it; NAN: the tendon is level. */
    double crest;
    /** Its height, world Z, m; NAN. */
    double crest_z;
    /** [DM_AT_FREE] To the nearest of each class, m; NAN: there is none. */
    double distance[DM_AT_FREE];
} dm_position;

/** The place of a length of duct.
 *  @param tendon  of the model that the layout was made of
 *  @param layout  of that tendon
 *  @param from, to  tendon stations, m, from <= to */
dm_position dm_position_of(const dm_tendon *tendon, const dm_layout *layout,
                           double from, double to);

DM_END_C

#endif
