/* SPDX-License-Identifier: MIT
 *
 * Tap points: where a crew opens a duct, measured from faces it can touch.
 * After: indication. Before: scene. The rules: docs/taps.md.
 *
 * A tap is advice about a place, nothing else: whether to open is decided by
 * the engineer, and positions are confirmed from both faces.
 *
 * Lengths in metres, angles in radians; stations are tendon stations; clock
 * angles look ahead unless the name says back. Every `u` is a standard
 * uncertainty: a writer expands it with the job's coverage factor.
 */
#ifndef DUCTMARK_TAP_H
#define DUCTMARK_TAP_H

#include "ductmark/indication.h"

DM_BEGIN_C

/** A tape measure along one clock line of the duct from a touchable face.
 *  Without such a face on that side both numbers are NAN. */
typedef struct {
    /** Index into the tendon's faces; DM_NONE: no touchable face on that
     *  side. */
    size_t face;
    /** Along the duct's outside on dm_tap.line, m, >= 0, from where the face's
     *  plane, moved by what the distances told of it, crosses that line. */
    double distance;
    /** Standard uncertainty of the station relative to that face, m. It does
     *  not hold the edge of the indication. */
    double u;
} dm_tape;

/** What the crew is told to do at a mark. */
typedef enum {
    /** Drill at the mark. */
    DM_ADVICE_TAP,
    /** No place in the indication is sure enough, or all of it is barred:
     *  re-scan by hand first. The mark is the indication's middle. */
    DM_ADVICE_RESCAN,
    /** A strand may lie at the wall: hand tool, wall only, engineer
     *  present. */
    DM_ADVICE_HAND_TOOL
} dm_advice;

/** Why a hole of an indication is where it is. */
typedef enum {
    /** The only one of its indication, or requested. */
    DM_ROLE_SINGLE,
    /** Of a pair that the job asks for: at the high end. */
    DM_ROLE_OUTLET,
    /** Of a pair: at the low end. */
    DM_ROLE_INLET
} dm_tap_role;
/** "single", "outlet", "inlet". @return static text, never NULL */
const char *dm_tap_role_text(dm_tap_role role);

/** What told where the strands lie at the mark. */
typedef enum {
    /** Nothing: they may touch the wall at any clock angle. */
    DM_STRAND_SIDE_UNKNOWN,
    /** The bridge file's strand side. */
    DM_STRAND_SIDE_STATED,
    /** The inside of a bend. */
    DM_STRAND_SIDE_DERIVED,
    /** A turn round the duct that read them, or a clock line that reads below 0
     *  where the calibration does not tell soft grout from strands, or an
     *  opening within 0.5 m that touched one. */
    DM_STRAND_SIDE_SEEN
} dm_strand_side_basis;
/** "unknown", "stated", "derived", "seen". @return static, never NULL */
const char *dm_strand_side_basis_text(dm_strand_side_basis basis);

/** Whether a drill has room at a mark. */
typedef enum {
    /** No mesh of the surroundings was given, and no other tendon's duct is in
     *  the way: not known. */
    DM_ROOM_UNKNOWN,
    /** It has, as far as the meshes and the other ducts tell. */
    DM_ROOM_FITS,
    /** Something is in the way. */
    DM_ROOM_NONE
} dm_room;
/** "not known", "fits", "no room". @return static text, never NULL */
const char *dm_room_text(dm_room room);

/** How far along the drill's axis is looked, m. */
#define DM_CLEARANCE_REACH 3.0

/** What is round a mark: the meshes that the job names and the ducts of the
 *  other tendons, all as drawn. The drill is a capsule of the job's
 *  drill_length and drill_diameter that stands on the duct at the mark. Its own
 *  duct, and what of a mesh lies within 20 mm of it, is not in the way.
 *
 *  For a sheet: `room` is the word to show; where it is DM_ROOM_NONE show
 *  `nearest` and, if `other` is true, `other_clock` with `other_p_enter`. */
typedef struct {
    /** True: a mesh was given, or a duct is in the way; only then does `room`
     *  say anything. */
    bool known;
    dm_room room;
    /** From the duct's outside along the drill's axis, outwards, to the first
     *  obstacle, m; NAN: none within DM_CLEARANCE_REACH. */
    double free;
    /** What stands there: "tendon T2" or "girder.obj: bracket"; NULL: none. */
    const char *ahead;
    /** From the capsule to the nearest obstacle, m; < 0: it is inside by that
     *  (at most half the diameter). NAN: none within DM_CLEARANCE_REACH. */
    double gap;
    /** Which that is; NULL: none. */
    const char *nearest;
    /** True: no room here, but at another clock angle of the void, at the same
     *  station, where strands leave room too. The mark does not move. */
    bool other;
    /** That angle, looking ahead, rad, and the chance to enter there (>=
     *  DM_ENTER_LEAST); NAN without. */
    double other_clock, other_p_enter;
} dm_clearance;

/** Below this chance to enter a tap carries a warning. */
#define DM_ENTER_WARN 0.95
/** Below this chance there is no hole: re-scan by hand. */
#define DM_ENTER_LEAST 0.80

/** One tap point of a tendon. */
typedef struct {
    /** RFC 4122 version 5, in the namespace of the bridge's uid, of
     *  "tap/<uid of the indication>/A" (inlet: B) or "tap/request/<id>". */
    char uid[37];
    /** "T4L-I03-A", or the request's id. */
    const char *id;
    /** Index into dm_indications.items; DM_NONE: requested by the job, where
     *  there is no indication. */
    size_t indication;
    /** True: asked for by the job as a tap of its own. */
    bool requested;
    /** What to do at the mark. Only DM_ADVICE_TAP says that a drill may be
     * used, by those who are allowed to. */
    dm_advice advice;
    /** One line: why here, or why no hole yet. Never NULL. */
    const char *why;
    /** Tendon station of the mark, m. */
    double t;
    /** Standard uncertainty of t against the world, m, without the edge. */
    double u_world;
    /** Where the hole may lie, m: inside the indication by U and the margin on
     *  both sides. from > to: nowhere. Equal: a request. */
    double aim_from, aim_to;
    /** Of the axis at t. */
    dm_bridge_place bridge;
    /** On the centreline at t, world, m. */
    dm_vec3 axis;
    /** The mark on the duct's outside, world, m. */
    dm_vec3 surface;
    /** Unit vector out of the duct at the mark: against the drilling
     *  direction. */
    dm_vec3 outward;
    /** Of the mark, looking ahead, rad, 0 to 2 pi: the one with the greatest
     *  chance to enter among those where the strands leave room. Without a
     *  turn one of the clock lines on which the indication was read. */
    double clock;
    /** The same for somebody who looks back: 12 - clock, rad. */
    double clock_back;
    /** Clock angle of the line taped along, looking ahead, rad: 0, or, for a
     *  mark more than 90 deg from the crown, the nearest of 90, 180 and 270
     *  deg. */
    double line;
    /** From the two neighbouring touchable faces. */
    dm_tape back, ahead;
    /** Between those two faces along `line`, m: the sum check of both tapes.
     *  NAN without both faces. */
    double faces_apart;
    /** Index into the tendon's faces: the one whose tape makes the mark, the
     *  other tape only checks it. The chance to enter is reckoned for that one:
     *  the face nearer to the indication's middle; of a request the face it
     *  names, if that is one of the two, else the nearer one. DM_NONE: no
     *  touchable face. */
    size_t mark_face;
    /** Along the outside from `line` to the mark, clockwise positive looking
     *  ahead, m. */
    double around;
    /** The same from the crown, m. */
    double from_crown;
    /** How far the bit may go in, m: least wall + the job's allowance. Never
     *  wall + depth of the void: strands may touch the wall. NAN where `advice`
     *  is not DM_ADVICE_TAP: there is no drill. */
    double depth_stop;
    /** Least wall of the duct type at t, m. */
    double wall_min;
    /** True: no least wall was documented, the nominal one was used. */
    bool wall_assumed;
    /** Drill bit, m. NAN as depth_stop. */
    double bit;
    /** Chance that the hole enters, if the indication is what it seems: p_axis
     *  times p_angle, 0 to 1. The kind is not in it. NAN: a request outside
     *  every indication. */
    double p_enter;
    /** That it lies between the ends of the indication: edges, station relative
     *  to the nearer face, tape and pen. NAN as above. */
    double p_axis;
    /** That it lies within the void's extent round the duct: turn, clock angle
     *  of the crew, pen. Without a turn nothing is known but what the line's
     *  footprint held: at least. NAN as above. */
    double p_angle;
    /** False: no turn; p_angle is a lower bound. */
    bool turned;
    /** Extent of the void round the duct at the mark: middle and half of it,
     *  with standard uncertainties, rad. NAN as above. */
    double void_clock, void_half, u_void_clock, u_void_half;
    /** Probability of the indication's kind; NAN: not reckoned. */
    double p_kind;
    /** What told where the strands lie; of several the one with the least
     *  gap. */
    dm_strand_side_basis strands;
    /** Clock angle of the strands and its standard uncertainty, rad; NAN:
     *  unknown. */
    double strand_clock, u_strand_clock;
    /** Expected free depth behind the wall at the mark, down to the bundle,
     *  and at its bound (strand side, crew and bit nearer by k u), m. A number
     *  for planning, never a depth to drill to. NAN: unknown. */
    double strand_gap, strand_gap_low;
    /** Chance that a bit set to depth_stop touches a strand: 0 where the stop
     *  is the least wall; else by the bundle's circle (section.h), with the
     *  strand side anywhere where it is not known. NAN: not known (an allowance
     *  and nothing known of the strands; or no least wall is documented), or no
     *  drill, as depth_stop. */
    double p_contact;
    /** Room for the drill. */
    dm_clearance clearance;
    /** What to be warned of where `advice` is done, one line; "" for nothing:
     *  of a drill only with DM_ADVICE_TAP, of a hole not with
     *  DM_ADVICE_RESCAN. Never NULL. */
    const char *warning;
    /** Of its pair, if it has one. */
    dm_tap_role role;
    /** Index into dm_indications.openings of the last opening of this tap, by
     *  its id or its place; DM_NONE: not opened. */
    size_t opened;
    /** Order along the tendon, from 0. */
    size_t tendon_length_rank;
} dm_tap;

/** What became of an indication. */
typedef struct {
    /** Index into dm_taps.items: its own tap, of a pair the first; else the one
     *  that serves it too, being near enough, else one requested in it;
     *  DM_NONE: none. */
    size_t tap;
    /** One line: why it has no tap of its own; "" where it has. Never NULL. */
    const char *why;
} dm_tapped;

/** The tap points of one tendon, by increasing t. */
typedef struct dm_taps {
    struct dm_arena *arena; /* holds all of it */
    /** Index into the model's tendons. */
    size_t tendon;
    /** [count]. */
    dm_tap *items;
    /** May be 0. */
    size_t count;
    /** Of each indication, [indication_count]. */
    dm_tapped *tapped;
    size_t indication_count;
} dm_taps;

/** Places the tap points of one tendon: one for each reconciled indication of
 *  a grade with dm_grade.tap that is neither confirmed nor refuted and that the
 *  job does not exclude, and each tap that
 *  the job requests on this tendon; of two closer than tap_merge one stays.
 *  An indication for which the job asks for a pair gets two, an outlet at its
 *  high and an inlet at its low end, if both have room and lie apart.
 *  @param model, survey, criteria  as the indications were found with
 *  @param stations, indications    of one and the same tendon
 *  @param job   settings, requests, exclusions
 *  @param context  what stands round the tendons; NULL: the other tendons'
 *                  ducts alone
 *  @param diag  gets requests that cannot be placed (a face that the tendon
 *               does not have, a place beyond its end) as errors; they are
 *               left out. May be NULL
 *  @param out   free with dm_taps_free; points into model, job and context,
 *               which must outlive it. NULL on failure
 *  @return DM_OK, also when requests were left out; DM_NOMEM */
dm_status dm_taps_place(const dm_model *model, const dm_survey *survey,
                        const dm_stations *stations,
                        const dm_indications *indications,
                        const dm_criteria *criteria, const dm_job *job,
                        const dm_context *context, dm_diag *diag,
                        dm_taps **out);

/** How far apart the marks of the two tapes may lie: the sum of their standard
 *  uncertainties, m; both are of one crew and one survey, so that it is no root
 *  of squares. NAN without both faces. */
double dm_tap_meet_u(const dm_tap *tap);

/** What became of an indication.
 *  @param taps        may be NULL: none were placed
 *  @param indication  index into the indications they were placed for
 *  @return points into taps; NULL: not known */
const dm_tapped *dm_tapped_of(const dm_taps *taps, size_t indication);

/** Frees tap points; accepts NULL. Model, job and indications stay: they are
 *  not owned. */
void dm_taps_free(dm_taps *taps);

DM_END_C

#endif
