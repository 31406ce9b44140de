/* SPDX-License-Identifier: MIT
 *
 * How big an indication is: turns round the duct, and what they make of area
 * and volume. Part of the indication stage; before: tap.
 * The rules, their formulas and what was measured of them: docs/size.md.
 *
 * A sensor of this kind sees a shallow layer behind the wall. It does not
 * measure the depth of a void: areas and volumes here rest on an assumed
 * geometry (grout sets level, so that a void is a segment of the bore below
 * the crown) and serve planning only. They are never taken from a mesh.
 *
 * All three numbers of a dm_amount are stated with their doubt inside: low and
 * high are meant to hold the true value in 95 of 100 cases. Where nothing but
 * limits is known there is no best value.
 *
 * Lengths in metres, areas in m^2, volumes in m^3, angles in radians, clock
 * angles looking ahead. Every `u` is a standard uncertainty. The bore radius
 * (outside radius less the nominal wall) serves here, never the outside one.
 * NAN: not known, or not so; never 0 in its place.
 */
#ifndef DUCTMARK_SIZE_H
#define DUCTMARK_SIZE_H

#include "ductmark/station.h"

DM_BEGIN_C

/** Low, best and high of one quantity. low <= best <= high. */
typedef struct {
    /** 95 % bounds, or limits that cannot be passed; NAN: not known. */
    double low;
    /** NAN: only bounds. */
    double best;
    /** See low. */
    double high;
} dm_amount;

/** A part of the circumference, clockwise from `from` to `to`; it may pass
 *  the crown (from > to then): 10 to 2 o'clock means through 12. */
typedef struct {
    /** Clock angles in [0, 2 pi), where the index stands at half height. Where
     *  `whole`, both are 0. */
    double from, to;
    /** Their standard uncertainties, rad: noise, cell, shape of the footprint,
     *  layer that thins out at the edge. */
    double u_from, u_to;
    /** Mean index of its middle, after half height; and its noise. */
    double index, index_u;
    /** All round: no end anywhere. */
    bool whole;
    /** The end lies where the turn was not read: the true one lies beyond. */
    bool open_from, open_to;
    /** Narrower than the footprint round the duct: from..to is an upper
     *  bound. */
    bool shorter;
} dm_arc;

/** A level surface fitted to a turn: the void is the segment of the bore that
 *  lies within half_angle of `centre`. */
typedef struct {
    /** False: no fit (nothing void-like round the duct, or too little read);
     *  all else is NAN then. */
    bool valid;
    /** Half of the angle that the void's chord spans at the duct's centre,
     *  rad, 0 to pi. */
    double half_angle;
    /** Clock angle of its middle, rad: near the crown (0) where grout set
     *  level. Far from it the duct was turned after grouting, or the void has
     *  another shape: the level model is in doubt. */
    double centre;
    /** Standard uncertainties and covariance (rad^2) of the two. */
    double half_angle_u, centre_u, covariance;
    /** Part of half_angle_u that comes from not knowing how the sensor answers
     *  to a thin layer, and the shape of its footprint: common to all turns. */
    double model_u;
    /** 95 % limits of half_angle, rad. */
    double low, high;
    /** Root mean square of what the fit leaves, in the index. */
    double misfit;
    /** misfit over the turn's noise: about 1 where the model fits. */
    double ratio;
    /** Index of a deep void that the fit found, and of the sound side. */
    double plateau, base;
} dm_segment_fit;

/** Once round the duct with one channel. */
typedef struct {
    /** Survey index of the run; index of the event in it. */
    size_t run, event;
    /** Channel of the run's instrument. */
    size_t channel;
    /** Tendon station of the electrode, m; NAN: it could not be placed, and
     *  the turn serves no indication. */
    double t;
    /** Standard uncertainty against the world, m. */
    double u;
    /** Touchable faces at both sides, DM_NONE: none; and the standard
     *  uncertainties relative to them, m, NAN without. */
    size_t face_back, face_ahead;
    double u_back, u_ahead;
    /** False: in an interval that does not close. */
    bool reconciled;
    /** Index into items of the indication that it crosses; DM_NONE. */
    size_t indication;
    /** Radius of the bore there, m. */
    double bore;
    /** Cells round the duct; cell i is centred on clock angle
     *  i * 2 pi / cell_count. */
    size_t cell_count;
    /** [cell_count] mean index; NAN: not read. */
    double *index;
    /** Noise of one cell, standard deviation of the index. */
    double noise;
    /** Part of the circumference that was read, 0 to 1. */
    double read;
    /** Void-like arcs, by clock angle of their middle; may be none. */
    dm_arc *arcs;
    size_t arc_count;
    /** Of the arcs, the one that the size is taken from; DM_NONE. */
    size_t arc;
    /** Area of that arc's segment, r^2/2 (a - sin a), a its angle; the bounds
     *  hold the edges' uncertainty. NAN: no arc. */
    dm_amount direct;
    /** The level surface fitted to all of the turn. */
    dm_segment_fit fit;
    /** Area of the fitted segment. NAN: no fit. */
    dm_amount fitted;
    /** The two areas differ by so many of their standard deviations, taken as
     *  independent; NAN: one of the two is missing. Above 2: not a level
     *  surface, or a turn badly read. */
    double apart;
    /** What is gone on with: the fitted area, widened to hold the direct best
     *  one too. NAN: neither. */
    dm_amount area;
    /** Depth of the void at its middle, m, from the calibration's depth table
     *  and nothing else; NAN: no table. */
    dm_amount depth;
    /** The index lies at or beyond the table's last row: depth is at least
     *  depth.low, the rest is NAN. */
    bool depth_at_least;
    /** Clock angle at which a declared or derived strand side lies there, rad;
     *  NAN: none. */
    double strand;
} dm_turn;

/** What a size rests on. */
typedef enum {
    /** No size: not void-like, or the bore is not known. */
    DM_SIZE_NONE = 0,
    /** No turn: limits only, from extent, clock lines and slope. */
    DM_SIZE_LIMITS,
    /** One turn, and the level surface from there. */
    DM_SIZE_ONE_TURN,
    /** Two turns or more, and the level surface between them. */
    DM_SIZE_TURNS,
    DM_SIZE_COUNT
} dm_size_basis;

/** "none", "limits", "one turn", "turns".
 *  @return static text, never NULL */
const char *dm_size_basis_text(dm_size_basis basis);

/** How strands may lie in the void: the stated case behind the bounds. */
typedef enum {
    /** No strands are stated for the tendon: nothing is taken off. */
    DM_STRANDS_NONE = 0,
    /** Anywhere: from none to their share of the bore is taken off. */
    DM_STRANDS_UNIFORM,
    /** A strand side lies within the void: from none to a bundle on that side
     *  is taken off. */
    DM_STRANDS_BUNDLE,
    DM_STRANDS_COUNT
} dm_strands_case;

/** "none", "uniform", "bundle".
 *  @return static text, never NULL */
const char *dm_strands_case_text(dm_strands_case strands);

/** Size of one indication. */
typedef struct {
    /** See there. */
    dm_size_basis basis;
    /** The same in words, for people: which turns, which model, which strand
     *  case. Never NULL. */
    const char *words;
    /** Indices into dm_indications.turns that it rests on. */
    size_t *turns;
    /** May be 0. */
    size_t turn_count;
    /** Area of the bore, m^2; NAN: no size. */
    double bore_area;
    /** Part of the bore at the largest section, strands not taken off. */
    dm_amount area_fraction;
    /** Tendon station of the largest section, m; NAN: not known. */
    double largest_t;
    /** Void volume, m^3; for planning only. */
    dm_amount volume;
    /** volume times one plus the job's grout_allowance: what to have at hand if
     *  the owner's engineer should decide to grout. No advice to do so. */
    dm_amount grout;
    /** Slope of the duct there, rad, positive where it rises ahead. */
    double slope;
    /** The bore may be all void at the largest section (saturated). */
    bool saturated;
    /** See there. */
    dm_strands_case strands;
    /** Volume that a pressure measurement at an opening of this place gave, m^3
     *  (Boyle); NAN: none. Stands beside the estimate, is never mixed with
     *  it. */
    double measured;
    /** Its standard uncertainty, m^3; NAN: not known. */
    double u_measured;
    /** Index into the survey's opened; DM_NONE: none, or an earlier survey's.
     */
    size_t opened;
} dm_size;

/** Volumes added up. All errors are taken as common, so that lows add to the
 *  low, highs to the high: an upper bound of the doubt. */
typedef struct {
    /** m^3; 0 where there is nothing. The best counts, for an indication
     *  without one, nothing: see `limits_only`. */
    dm_amount volume;
    /** With the grout allowance, as dm_size.grout. */
    dm_amount grout;
    /** Void-like indications in it, and those of them that have only limits:
     *  they are in low and high, not in best. */
    size_t count, limits_only;
} dm_volume_sum;

/** Adds b to a. */
void dm_volume_sum_add(dm_volume_sum *a, const dm_volume_sum *b);

DM_END_C

#endif
