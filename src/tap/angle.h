/* SPDX-License-Identifier: MIT
 * Where round the duct a hole may go: the chance to enter, the room that the
 * strands leave, the chance to touch one. Arithmetic only. Angles in radians,
 * clock angles looking ahead; lengths in metres; every u is standard. */
#ifndef DM_TAP_ANGLE_H
#define DM_TAP_ANGLE_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/section.h"

/* A void's extent round the duct: mid - half to mid + half. */
typedef struct {
    double mid, u_mid;
    double half, u_half;
    double least; /* of the half angle, whatever the turn says */
} dm_void_arc;

/* Where strands lie at the wall. */
typedef struct {
    double clock, u;
} dm_strands_at;

/* What the crew and its tool add. */
typedef struct {
    double u_clock; /* of the mark round the duct */
    double bit;     /* half the bit's width, as an angle at the bore's wall */
    double k;       /* coverage factor of what has to hold */
} dm_crew_angle;

/* P(|clock + e - mid| <= half + e' given half + e' > least): normal errors of
 * the middle, the half angle and the mark. 0 to 1. */
double dm_arc_probability(const dm_void_arc *arc, double clock, double u_clock);

/* Free depth behind the wall at `clock` down to the bundle. `low`: with the
 * strands nearer by k u and half a bit. NAN: the strands are not known (no
 * section, or no side). */
double dm_strand_gap(const dm_section *section, const dm_strands_at *side,
                     double clock, const dm_crew_angle *crew, double *low);

/* P(a bit whose tip goes `depth` beyond the wall's inner face touches the
 * bundle): the strand side normal about `side`, or anywhere with equal chance
 * where `side` is NULL. 0 for depth <= 0; NAN where nothing is known of the
 * strands' room. */
double dm_contact_probability(const dm_section *section,
                              const dm_strands_at *side, double clock,
                              const dm_crew_angle *crew, double depth);

/* Whether every strand side leaves at least `room`, with its bound. Where the
 * section is not known: whether it lies a quarter of an hour off the bound. */
bool dm_strands_leave(const dm_section *section, const dm_strands_at *sides,
                      size_t count, double clock, double room,
                      const dm_crew_angle *crew);

/* Whether anything else bars a clock angle (0 to 2 pi). */
typedef bool dm_clock_free(void *user, double clock);

/* The same as dm_clock_choose among the angles that are free, too; NULL: all
 * are. */
bool dm_clock_choose_free(const dm_void_arc *arc, const dm_section *section,
                          const dm_strands_at *sides, size_t side_count,
                          double room, const dm_crew_angle *crew,
                          dm_clock_free *is_free, void *user, double *clock,
                          double *p);

/* The clock angle with the greatest chance to enter among those at which the
 * strands leave room; of equals the nearest to
 * the middle. False: there is none. */
bool dm_clock_choose(const dm_void_arc *arc, const dm_section *section,
                     const dm_strands_at *sides, size_t side_count, double room,
                     const dm_crew_angle *crew, double *clock, double *p);

#endif
