/* SPDX-License-Identifier: MIT
 *
 * A duct's centreline: straight lengths and tangent circular arcs in space,
 * parametrised by arc length.
 *
 * Tendon station t: metres along the centreline from the origin (bearing
 * plate) of the first anchorage, 0 <= t <= length. "Ahead" is increasing t.
 * Clock angle phi: radians, looking ahead, 0 at the crown, positive clockwise.
 *
 * Method: the PI method. At a polygon corner with deflection d (the angle in
 * space between the unit legs u1, u2) and radius R: tangent length
 * T = R tan(d/2), arc length R d, in the plane of the two legs; begin
 * PC = PI - T u1, end PT = PI + T u2, centre = PI + (R / cos(d/2)) b with
 * b = (u2 - u1)/|u2 - u1|. Source: US Army FM 5-233, chapter 3 (simple
 * curves). A corner with d < 1e-9 has no arc.
 */
#ifndef DUCTMARK_CENTRELINE_H
#define DUCTMARK_CENTRELINE_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/vec3.h"

/** One straight length or arc. */
typedef struct {
    double t0;       /* tendon station of its begin, m */
    double length;   /* m, > 0 */
    dm_vec3 begin;   /* m */
    dm_vec3 tangent; /* unit, at the begin */
    double kappa;    /* curvature 1/R, 1/m; 0 for a straight length */
    dm_vec3 normal;  /* unit, from the begin to the centre; zero if straight */
} dm_segment;

typedef struct {
    dm_segment *segments;
    size_t count;
    double length; /* m */
    /* Where the crown is undefined (axis within `vertical_limit` of vertical)
     * this declared direction, made square to the tangent, takes its place. */
    bool has_datum;
    dm_vec3 datum;
    double vertical_limit; /* rad, default 10 deg */
} dm_centreline;

/** The section square to the duct at one station. */
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
    DM_POLYGON_SHORT_LEG, /* a leg shorter than 1 mm, at corner `where` */
    DM_POLYGON_OVERLAP,   /* tangents on leg `where` (0-based) overlap */
    DM_POLYGON_REVERSAL   /* deflection of 170 deg or more at `where` */
} dm_polygon_fault;

/** Segments needed at most for `points` polygon points. */
size_t dm_centreline_capacity(size_t points);

/** Joins straight legs and tangent arcs.
 *  @param points  polygon points, m; count >= 2
 *  @param radius  per point, m; those of the two ends are not read; 0: no arc
 *  @param segments caller's array of dm_centreline_capacity(count)
 *  @param arc_of  caller's array of count: index of the segment that is the
 *                 arc at that point, or SIZE_MAX
 *  @param where   set on a fault
 *  On a fault *out is untouched. */
dm_polygon_fault dm_centreline_build(const dm_vec3 *points,
                                     const double *radius, size_t count,
                                     dm_segment *segments, size_t *arc_of,
                                     dm_centreline *out, size_t *where);

/** Index of the segment that holds t (clamped). `hint` is a guess; walking
 *  sorted stations costs O(1) each. */
size_t dm_centreline_find(const dm_centreline *line, double t, size_t hint);
/** Beyond the ends the first and last tangents are prolonged. */
dm_vec3 dm_centreline_point(const dm_centreline *line, double t);
dm_vec3 dm_centreline_tangent(const dm_centreline *line, double t);
dm_frame dm_centreline_frame(const dm_centreline *line, double t);
/** Point on the duct's surface: radius r (m) at clock angle phi. */
dm_vec3 dm_frame_surface(const dm_frame *frame, double r, double phi);
/** Direction at clock angle phi: cos(phi) crown + sin(phi) right. */
dm_vec3 dm_frame_direction(const dm_frame *frame, double phi);
/** Clock angle, 0 <= phi < 2 pi, of a direction in or near the section. */
double dm_frame_clock(const dm_frame *frame, dm_vec3 direction);

/** Station of the foot point of p: the nearest point on the centreline. */
double dm_centreline_nearest(const dm_centreline *line, dm_vec3 p,
                             double *distance);

/** Station where the clock line (radius r, angle phi; r = 0: the axis)
 *  crosses the plane normal . (x - origin) = 0, sought nearest to
 *  `guess`. False: no crossing within 2 m of the guess. */
bool dm_centreline_cross(const dm_centreline *line, double r, double phi,
                         dm_vec3 origin, dm_vec3 normal, double guess,
                         double *t);

/** Length along the duct's outside, at constant clock angle phi, from station
 *  0 to t:  l(t) = t - r * integral of kappa cos(phi - phi_c) dt,  phi_c the
 *  clock direction of the centre of curvature. For a bend in a plumb plane
 *  (R -+ r cos phi) d in closed form; otherwise integrated (the crown turns
 *  with the bend). Straight lengths: slope 1. */
double dm_outside_length(const dm_centreline *line, double r, double phi,
                         double t);
/** Its inverse: the station at outside length l. */
double dm_outside_station(const dm_centreline *line, double r, double phi,
                          double l);

/** The same, prepared for many queries that come in order. */
typedef struct {
    const dm_centreline *line;
    double r;            /* m */
    double phi;          /* rad */
    const double *begin; /* outside length at each segment's begin, and the
                            whole length last, m */
} dm_outside;

/** @param begin caller's array of line->count + 1; must outlive *out */
void dm_outside_prepare(const dm_centreline *line, double r, double phi,
                        double *begin, dm_outside *out);
/** As dm_outside_length. @param hint a segment index, moved to the one that
 *  holds t; a few operations on straight lengths */
double dm_outside_at(const dm_outside *outside, double t, size_t *hint);
/** As dm_outside_station. */
double dm_outside_inverse(const dm_outside *outside, double l, size_t *hint);

#endif
