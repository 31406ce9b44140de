/* SPDX-License-Identifier: MIT
 *
 * A duct's centreline: straight lengths and tangent circular arcs in space,
 * parametrised by arc length. The model stage builds one per tendon; every
 * later stage asks it where a station is. Nothing here allocates, prints or
 * fails on data other than by the return values named below.
 *
 * Axes: vec3.h (X east, Y north, Z up). Lengths in metres, angles in radians.
 * Tendon station t: metres along the centreline from the origin (bearing
 * plate) of the first anchorage, 0 <= t <= length; "ahead" is increasing t.
 * Clock angle phi: looking ahead, 0 at the crown, positive clockwise; any
 * real number is valid, modulo 2 pi.
 *
 * Method: the PI method. At a polygon corner with deflection d (the angle in
 * space between the unit legs u1, u2) and radius R: tangent length
 * T = R tan(d/2), arc length R d, in the plane of the two legs; begin
 * PC = PI - T u1, end PT = PI + T u2, centre = PI + (R / cos(d/2)) b with
 * b = (u2 - u1)/|u2 - u1|. Source: US Army FM 5-233, chapter 3 (simple
 * curves). A corner with d < 1e-9 or R = 0 has no arc.
 *
 * Accuracy: stations and lengths along tendons of up to 1 km are good to
 * 1e-9 m, positions to 1e-9 m or to four units in the last place of the
 * coordinates where that is more (beyond about 1000 km). Checked against
 * integrals of the curvature by tests/oracle/geometry.py.
 *
 * Preconditions, asserted: a line handed in has count >= 1 (it was built).
 */
#ifndef DUCTMARK_CENTRELINE_H
#define DUCTMARK_CENTRELINE_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/vec3.h"

DM_BEGIN_C

/** One straight length or arc. Each begins where the one before it ends. */
typedef struct {
    double t0;       /* tendon station of its begin, m */
    double length;   /* m, > 0 */
    dm_vec3 begin;   /* m */
    dm_vec3 tangent; /* unit, at the begin */
    double kappa;    /* curvature 1/R, 1/m; 0 for a straight length */
    dm_vec3 normal;  /* unit, from the begin to the centre; zero if straight */
} dm_segment;

/** A whole line. The segments belong to whoever gave the array to
 *  dm_centreline_build; the line itself is a value and may be copied. */
typedef struct {
    dm_segment *segments; /* ordered by t0; the first begins at t = 0 */
    size_t count;         /* >= 1 */
    double length;        /* m */
    /* Where the crown is undefined (axis within `vertical_limit` of vertical)
     * this declared direction, made square to the tangent, takes its place. */
    bool has_datum;
    dm_vec3 datum;         /* any length > 0 */
    double vertical_limit; /* rad, 0 to pi/2, default 10 deg */
    /* Outside radius of the duct on each segment, m, where ducts of different
     * sizes follow each other: the outside path then takes it in the place of
     * its r. NULL: one size. Belongs to whoever gave it. */
    const double *outside_radius;
} dm_centreline;

/** The section square to the duct at one station. tangent, right and crown
 *  are unit vectors, square to each other. */
typedef struct {
    dm_vec3 point;   /* on the centreline, m */
    dm_vec3 tangent; /* unit, ahead */
    dm_vec3 crown;   /* unit, phi = 0 */
    dm_vec3 right;   /* unit, phi = 90 deg: tangent x crown */
    bool crown_defined;
} dm_frame;

/** Why a polygon cannot carry its arcs. */
typedef enum {
    DM_POLYGON_OK = 0,
    DM_POLYGON_SHORT_LEG, /* leg `where` (0-based, from point `where` to the
                             next) is shorter than 1 mm or not a number */
    DM_POLYGON_OVERLAP,   /* the tangent lengths on leg `where` overlap by more
                             than 1e-9 m, or are not numbers */
    DM_POLYGON_REVERSAL   /* deflection of 170 deg or more at point `where` */
} dm_polygon_fault;

/** Segments needed at most for a polygon.
 *  @param points  number of polygon points
 *  @return 2 points - 3: every leg, and an arc at every inner point; 0 for
 *          fewer than two points */
size_t dm_centreline_capacity(size_t points);

/** Joins straight legs and tangent arcs.
 *  @param points   polygon points, m; count >= 2 (asserted)
 *  @param radius   per point, m, >= 0; those of the two ends are not read;
 *                  0: no arc, the line has a kink there
 *  @param segments caller's array of dm_centreline_capacity(count); must
 *                  outlive *out, which points to it
 *  @param arc_of   caller's array of count: index of the segment that is the
 *                  arc at that point, or SIZE_MAX where there is none
 *  @param out      the line, without datum, with the default vertical limit
 *  @param where    set on a fault only
 *  @return DM_POLYGON_OK, or the first fault in the order short legs,
 *          reversals, overlaps; then segments, arc_of and *out are untouched.
 *  Two arcs may touch: a straight length under 1e-9 m between them is left
 *  out. Source: US Army FM 5-233, chapter 3. */
dm_polygon_fault dm_centreline_build(const dm_vec3 *points,
                                     const double *radius, size_t count,
                                     dm_segment *segments, size_t *arc_of,
                                     dm_centreline *out, size_t *where);

/** Index of the segment that holds t; a joint belongs to the later segment.
 *  @param t     m; beyond the ends the first or last segment
 *  @param hint  a guess, any value; walking sorted stations costs O(1) each */
size_t dm_centreline_find(const dm_centreline *line, double t, size_t hint);

/** Point at station t. Beyond the ends the first and last tangents are
 *  prolonged. @param t m, any @return m */
dm_vec3 dm_centreline_point(const dm_centreline *line, double t);

/** Unit tangent at t, ahead; at a kink that of the later leg; beyond the ends
 *  that of the end. @param t m, any */
dm_vec3 dm_centreline_tangent(const dm_centreline *line, double t);

/** The section at station t. The crown is the topmost fibre of the section:
 *  world Z with its component along the tangent removed, not plumb above the
 *  centre (common practice, no source). Where the axis is within
 *  vertical_limit of vertical the datum takes the place of Z; the crown then
 *  jumps at the limit.
 *  @param t  m, any; beyond the ends as dm_centreline_point
 *  @return crown_defined is false where the axis is too steep and there is no
 *          datum, or the datum is parallel to the axis; crown and right are
 *          then some pair that completes the section, fit for drawing only */
dm_frame dm_centreline_frame(const dm_centreline *line, double t);

/** Point on the duct's surface. @param r m @param phi rad @return m */
dm_vec3 dm_frame_surface(const dm_frame *frame, double r, double phi);

/** Unit direction at a clock angle: cos(phi) crown + sin(phi) right. */
dm_vec3 dm_frame_direction(const dm_frame *frame, double phi);

/** Clock angle of a direction; the inverse of dm_frame_direction.
 *  @param direction  any length; its part along the tangent is ignored
 *  @return 0 <= phi < 2 pi; 0 for a direction along the tangent */
double dm_frame_clock(const dm_frame *frame, dm_vec3 direction);

/** Foot point of p: the nearest point on the centreline.
 *  @param p         m
 *  @param distance  from p to the foot, m; may be NULL
 *  @return its station, 0 to length (the ends are not prolonged); of several
 *          equally near the least */
double dm_centreline_nearest(const dm_centreline *line, dm_vec3 p,
                             double *distance);

/** Where a clock line pierces a plane, such as the face of a deviator.
 *  @param r, phi  the clock line: m, rad; r = 0: the axis
 *  @param origin  a point of the plane, m
 *  @param normal  of the plane, any length > 0
 *  @param guess   station near which to look, m
 *  @param t       the crossing nearest to the guess, m; it may lie beyond the
 *                 ends, where the line is prolonged; untouched if none
 *  @return false: no crossing within 2 m of the guess. A line that lies in
 *          the plane, or only touches it within an arc, does not cross it. */
bool dm_centreline_cross(const dm_centreline *line, double r, double phi,
                         dm_vec3 origin, dm_vec3 normal, double guess,
                         double *t);

/** Outside path: length of the line on the duct's outside at constant clock
 *  angle, from station 0 to t. With the angle phi_c of the centre of
 *  curvature on the clock and the rate w at which the crown turns about the
 *  axis against a frame without twist,
 *
 *      l(t) = integral of sqrt((1 - r kappa cos(phi - phi_c))^2 + (r w)^2) dt
 *
 *  which is the norm of the derivative of point + r direction(phi). Straight
 *  lengths: slope 1. A bend in a plumb plane: w = 0 and (R -+ r cos phi) d; in
 *  a level plane: (R +- r sin phi) d; both in closed form. Otherwise the crown
 *  turns with the bend and the integral is taken numerically, to 1e-12 m. The
 *  w term is the sideways slant of the line: 1e-8 m in a usual deviator, under
 *  0.1 mm while slopes stay below 20 deg. Where the crown jumps to the datum,
 * the jump round the duct is not part of the path.
 *  @param r    outside radius, m, >= 0, less than the radius of every arc;
 *              not read where the line has radii of its own
 *  @param phi  rad
 *  @param t    m, any; beyond the ends the slope is 1 */
double dm_outside_length(const dm_centreline *line, double r, double phi,
                         double t);

/** Its inverse: the station at outside length l. There and back: 1e-12 m.
 *  @param l m, any; beyond the ends the slope is 1 */
double dm_outside_station(const dm_centreline *line, double r, double phi,
                          double l);

/** The same, prepared for many queries that come in order. Read only once
 *  prepared; threads may share it, each with a hint of its own. */
typedef struct {
    const dm_centreline *line;
    double r;            /* m */
    double phi;          /* rad */
    const double *begin; /* outside length at each segment's begin, and the
                            whole length last, m */
} dm_outside;

/** Prepares one clock line.
 *  @param line   must outlive *out
 *  @param r, phi as for dm_outside_length
 *  @param begin  caller's array of line->count + 1; must outlive *out */
void dm_outside_prepare(const dm_centreline *line, double r, double phi,
                        double *begin, dm_outside *out);

/** As dm_outside_length; a few operations on straight lengths.
 *  @param hint  a segment index, any value; moved to the one that holds t */
double dm_outside_at(const dm_outside *outside, double t, size_t *hint);

/** As dm_outside_station; a few operations on straight lengths.
 *  @param hint  a segment index, any value; moved to the one that holds l */
double dm_outside_inverse(const dm_outside *outside, double l, size_t *hint);

DM_END_C

#endif
