/* SPDX-License-Identifier: MIT
 * Segments of a circle below a level surface and their volumes (chord.h).
 *
 * Source: circular segment, any handbook of geometry. The hoof is its integral
 * along the duct in closed form, with depth growing evenly: writing h for the
 * half angle, dx = r sin h dh / tan slope, and r^2 (h - sin h cos h) r sin h
 * integrates to r^3 (sin h - sin^3 h / 3 - h cos h). */
#include "geom/chord.h"

#include <math.h>

#define PI 3.14159265358979323846

static double clamped(double v, double low, double high)
{
    return v < low ? low : v > high ? high : v;
}

double dm_chord_area(double r, double half)
{
    double h = clamped(half, 0.0, PI);

    return r * r * (h - sin(h) * cos(h));
}

double dm_chord_half_of_fraction(double fraction)
{
    double low = 0.0, high = PI, want = PI * clamped(fraction, 0.0, 1.0);

    if (isnan(fraction))
        return fraction;
    for (int i = 0; i < 60; i++) {
        double mid = 0.5 * (low + high);

        if (mid - sin(mid) * cos(mid) < want)
            low = mid;
        else
            high = mid;
    }
    return 0.5 * (low + high);
}

double dm_chord_depth(double r, double half)
{
    return r * (1.0 - cos(clamped(half, 0.0, PI)));
}

double dm_chord_half_of_depth(double r, double depth)
{
    return acos(1.0 - clamped(depth, 0.0, 2.0 * r) / r);
}

double dm_chord_depth_of_area(double r, double area)
{
    return dm_chord_depth(r, dm_chord_half_of_fraction(area / (PI * r * r)));
}

/* The integral of the area over the depth, from 0, for r = 1. */
static double area_over_depth(double half)
{
    double s = sin(half), c = cos(half);

    /* Its series: the terms cancel to 1e-6 of themselves here. */
    if (half < 0.05)
        return half * half * half * half * half *
               (2.0 / 15.0 -
                half * half * (11.0 / 315.0 - half * half * 17.0 / 3780.0));
    return s - s * s * s / 3.0 - half * c;
}

double dm_chord_hoof(double r, double slope, double depth)
{
    double half = dm_chord_half_of_depth(r, depth);

    return r * r * r / tan(slope) * area_over_depth(half);
}

/* Depths within 0..2 r. */
static double volume_inside(double r, double d1, double d2, double length)
{
    double a = dm_chord_half_of_depth(r, d1), b = dm_chord_half_of_depth(r, d2);

    if (fabs(d2 - d1) < 1e-6 * r)
        return length *
               dm_chord_area(r, dm_chord_half_of_depth(r, 0.5 * (d1 + d2)));
    return length * r * r * r * (area_over_depth(b) - area_over_depth(a)) /
           (d2 - d1);
}

double dm_chord_volume(double r, double d1, double d2, double length)
{
    double low = fmin(d1, d2), high = fmax(d1, d2), per = 0.0, sum = 0.0;

    if (isnan(d1) || isnan(d2) || high <= 0.0)
        return high <= 0.0 ? 0.0 : (double)NAN;
    if (high - low < 1e-6 * r)
        return volume_inside(r, clamped(low, 0.0, 2.0 * r),
                             clamped(high, 0.0, 2.0 * r), length);
    per = length / (high - low);
    if (high > 2.0 * r) { /* the whole bore from there on */
        double from = fmax(low, 2.0 * r);

        sum += PI * r * r * per * (high - from);
        high = 2.0 * r;
    }
    low = fmax(low, 0.0);
    if (low < high)
        sum += volume_inside(r, low, high, per * (high - low));
    return sum;
}

double dm_pressure_volume(double vessel, double before, double after,
                          double air, double hoses)
{
    if (!(before < after) || !(after < air))
        return (double)NAN;
    return vessel * (after - before) / (air - after) - hoses;
}
