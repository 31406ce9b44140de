/* SPDX-License-Identifier: MIT
 *
 * A bridge's reference line: straight lines, circular arcs and clothoids in
 * plan, grades and parabolas in height. Bridge station s, offset and height of
 * a point, and back. Nothing here allocates, prints or fails on data other
 * than by the return values named below.
 *
 * Bridge station s: metres of plan length along the line, from its begin's
 * stated station on; it never jumps. Station equations change what is
 * displayed, not the geometry. Offset: metres in plan, square to the line,
 * positive to the right looking towards increasing s. Height: Z, metres.
 * Bearing: radians, clockwise from Y (north). Curvature: 1/m, positive where
 * the line turns to the right, so that bearing' = curvature. Grade: rise per
 * plan length.
 *
 * Method: an element's curvature is linear in s, from k0 to k1 over its
 * length; so
 *
 *     bearing(s) = b0 + k0 u + (k1 - k0) u^2 / 2L,     u = s - s0
 *     x(s) = x0 + integral of sin bearing,  y(s) = y0 + integral of cos bearing
 *
 * A line has k0 = k1 = 0, an arc k0 = k1, a clothoid any two: entry, exit, or
 * between two radii of one hand or both. The integrals are those of Fresnel
 * (NBS AMS 55, 7.3; A^2 = R L), taken by Gauss-Legendre rules on steps of
 * little turn, which need no case for a small A. Parabola between two grades:
 * z = z0 + g1 u + (g2 - g1) u^2 / 2L (US Army FM 5-233, chapter 3).
 *
 * Accuracy: points to 1e-9 m over 1 km, or four units in the last place of
 * their coordinates where that is more; there and back likewise, away from the
 * centres of curvature.
 */
#ifndef DUCTMARK_ALIGNMENT_H
#define DUCTMARK_ALIGNMENT_H

#include <stdbool.h>
#include <stddef.h>

#include "ductmark/vec3.h"

DM_BEGIN_C

/** One element in plan. length, k0 and k1 are stated; dm_alignment_chain fills
 *  in the rest, so that each begins where the one before it ends. */
typedef struct {
    double length;  /* m of plan, > 0 */
    double k0, k1;  /* curvature at the begin and the end, 1/m, right > 0;
                       times length under 1e6 rad */
    double s0;      /* bridge station of the begin, m */
    double x, y;    /* of the begin, m */
    double bearing; /* at the begin, rad */
} dm_horizontal;

/** One element in height: a grade (rate 0) or a parabola. */
typedef struct {
    double s0;     /* bridge station of the begin, m */
    double length; /* m of plan, > 0; a single grade may have 0 */
    double height; /* Z at the begin, m */
    double grade;  /* at the begin, rise per plan length */
    double rate;   /* change of grade per metre of plan, 1/m */
} dm_vertical;

/** A point of intersection of two grades. */
typedef struct {
    double station;      /* bridge station, m */
    double height;       /* Z of the intersection, m */
    double curve_length; /* plan length of the parabola there, m, >= 0; 0: a
                            kink */
} dm_pvi;

/** Where the displayed station jumps. */
typedef struct {
    double s;     /* bridge station of the jump, m */
    double back;  /* displayed just before it, m */
    double ahead; /* displayed just after it, m */
} dm_station_equation;

/** A whole line. Arrays belong to whoever made them (the model's arena). */
typedef struct {
    dm_horizontal *horizontal;      /* by increasing s0 */
    size_t horizontal_count;        /* >= 1 */
    dm_vertical *vertical;          /* by increasing s0, without gaps */
    size_t vertical_count;          /* 0: no profile; its height is unknown */
    dm_station_equation *equations; /* by increasing s */
    size_t equation_count;          /* may be 0 */
    double begin, end;              /* bridge stations of the line in plan, m */
} dm_alignment;

/** The line at one station. */
typedef struct {
    double x, y;      /* m */
    double height;    /* Z of the profile, m; NAN without a profile */
    double bearing;   /* rad */
    double curvature; /* 1/m, right > 0 */
    double grade;     /* rise per plan length; NAN without a profile */
} dm_alignment_place;

/** A point seen from the line. */
typedef struct {
    double s;      /* bridge station of the foot, m; beyond the ends on the
                      prolonged tangents */
    double offset; /* m, right > 0 */
    bool inside;   /* the foot lies on the line itself */
    bool certain;  /* no other foot is as near to within 1e-6 m: false within a
                      thousandth of the radius of a centre of curvature, where
                      the station means little */
} dm_alignment_foot;

/** Fills in s0, x, y, bearing of `count` elements that follow each other from
 *  the begin stated; length, k0, k1 are read.
 *  @param count >= 1 (asserted)
 *  @return bridge station of the end, m */
double dm_alignment_chain(dm_horizontal *elements, size_t count, double s,
                          double x, double y, double bearing);

/** Why a profile is none. */
typedef enum {
    DM_PROFILE_OK = 0,
    DM_PROFILE_ORDER,   /* point `where` does not lie ahead of the one before */
    DM_PROFILE_OVERLAP, /* the parabolas of `where` - 1 and `where` overlap by
                           more than 1e-9 m */
    DM_PROFILE_ENDS     /* the first or last point has a parabola */
} dm_profile_fault;

/** Grades and parabolas from points of intersection. The first and the last
 *  grade are prolonged beyond the first and last point.
 *  @param points   count >= 1 (asserted); one point: a level line
 *  @param elements caller's array of 2 count
 *  @param out      number of elements written
 *  @param where    set on a fault only */
dm_profile_fault dm_profile_build(const dm_pvi *points, size_t count,
                                  dm_vertical *elements, size_t *out,
                                  size_t *where);

/** The line at station s. Beyond the ends the end tangents and the end grades
 *  are prolonged. @param s m, any */
dm_alignment_place dm_alignment_at(const dm_alignment *line, double s);

/** World point at station, offset and height.
 *  @param s, offset, height  m, any; height is Z */
dm_vec3 dm_alignment_point(const dm_alignment *line, double s, double offset,
                           double height);

/** Unit vectors in plan at station s: towards increasing s, and to the
 *  right. @param right may be NULL */
dm_vec3 dm_alignment_direction(const dm_alignment *line, double s,
                               dm_vec3 *right);

/** The foot of a point in plan: the nearest point of the line itself; where
 *  that is an end and the point lies beyond it, the foot is on the prolonged
 *  tangent. Of several equally near the one with the least s.
 *  @param p  only x and y are read, m; not a number gives NAN */
dm_alignment_foot dm_alignment_nearest(const dm_alignment *line, dm_vec3 p);

/** The station as displayed, with the station equations.
 *  @param s    bridge station, m
 *  @param zone number of equations passed, 0 before the first; may be NULL. At
 *              a jump the value ahead of it */
double dm_alignment_display(const dm_alignment *line, double s, size_t *zone);

/** The inverse: the bridge station displayed as `shown` in a zone.
 *  @return false: the zone does not exist, or does not show that number */
bool dm_alignment_undisplay(const dm_alignment *line, double shown, size_t zone,
                            double *s);

DM_END_C

#endif
