/* SPDX-License-Identifier: MIT
 * A level surface in a round bore: segments and their volumes along the duct.
 *
 * The void lies above a plane; seen along the duct it is the segment of the
 * bore's circle above a chord. `half` is half of the angle that the chord
 * spans at the centre, 0 to pi; `depth` the greatest depth of the segment,
 * from the wall, square to the axis, 0 to 2 r. Radius r of the bore in any
 * unit of length, areas and volumes in its square and cube. Values outside
 * the range are taken at its end; NAN goes on. */
#ifndef DM_GEOM_CHORD_H
#define DM_GEOM_CHORD_H

/* r^2/2 (a - sin a), a = 2 half: the circular segment of any handbook. */
double dm_chord_area(double r, double half);
/* Inverse, by bisection to the last place: half for a part of the circle's
 * area, 0 to 1. */
double dm_chord_half_of_fraction(double fraction);
/* r (1 - cos half), and its inverse. */
double dm_chord_depth(double r, double half);
double dm_chord_half_of_depth(double r, double depth);
/* Depth of a segment of that area. */
double dm_chord_depth_of_area(double r, double area);

/* Volume between a plane end square to the duct, where the segment is `depth`
 * deep, and the tip; slope: of the surface against the duct, rad, 0 < slope <
 * pi/2. (r^3 / tan slope) (sin h - sin^3 h / 3 - h cos h), h the half angle at
 * the end: from V = r^2/2 times the integral of (a - sin a) along the duct. */
double dm_chord_hoof(double r, double slope, double depth);

/* Volume over a length on which the depth changes evenly from d1 to d2: the
 * difference of two hoofs, and area times length where they are the same.
 * Depths under 0 are no void, those over 2 r the whole bore. */
double dm_chord_volume(double r, double d1, double d2, double length);

/* Pressure volume (Boyle: absolute pressures, one temperature): an evacuated
 * vessel of volume `vessel` at `before`, joined to the void at `air`, settles
 * at `after`: vessel (after - before) / (air - after) - hoses. NAN where the
 * pressures are not before < after < air. Units as given. */
double dm_pressure_volume(double vessel, double before, double after,
                          double air, double hoses);

#endif
