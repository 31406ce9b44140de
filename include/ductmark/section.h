/* SPDX-License-Identifier: MIT
 *
 * The section of a duct with its strands in it: areas, and how far strands may
 * be from the wall. Derived from the types of a model (model.h); the one place
 * where bore, areas and bundle are reckoned. Pure functions: nothing here
 * allocates, prints or fails.
 *
 *     dm_section s = dm_section_of(duct, strand, tendon->strands, 0.0);
 *     double gap = dm_section_gap(&s, clock - strands_at);
 *
 * Bore: the inside of the duct, radius ri = od/2 - wall with the nominal wall,
 * as it was made. The net area is what of the bore is no steel: grout, air,
 * water and the interstices inside the strands together.
 *
 * Bundle: n round strands of diameter d packed into a circle of radius
 *
 *     rb = sqrt(n (d/2)^2 / p)
 *
 * (areas: p is the part of that circle that the strands' circles fill). p =
 * 0.70 by default: common practice, no source. The bundle lies at the wall on
 * one side, the strand side, its centre e = ri - rb from the bore's.
 *
 * It is a model. Strands drape, and lie flatter at a deviator than a circle
 * does; a few strands fill no circle (one strand: rb is 1.2 times its radius).
 * The gap is a number for planning and for pictures, never a depth to drill to:
 * strands may touch the wall at any clock angle.
 *
 * Units: metres, square metres, radians. An area is a volume per length: 1 m^2
 * of section is 1000 L per metre of duct.
 *
 * Checked against: NUM values of 4 in IPS DR 17 with 12, 19 and 22 strands
 * (formulas as here, computed independently with mpmath), and a search along
 * rays through the drawn circles (tests/unit/test_section.c).
 */
#ifndef DUCTMARK_SECTION_H
#define DUCTMARK_SECTION_H

#include "ductmark/model.h"

DM_BEGIN_C

/** Part of the bundle's circle that the circles of its strands fill, where
 *  nothing else is stated: common practice, no source. */
#define DM_PACKING 0.70

/** What is derived of a duct type and its strands. A value: copy it. Without
 *  strands (see dm_section_of) all that speaks of them is NAN, never 0. */
typedef struct {
    /** od / wall, the ratio that a DR or SDR states of the least wall. */
    double wall_ratio;
    /** od/2 - wall, m. Not positive: no such duct; the reader refuses it. */
    double bore_radius;
    /** Gross area: of the bore, pi ri^2, m^2. */
    double bore_area;
    /** Of all strands, count times the type's area, m^2. */
    double steel_area;
    /** bore_area / steel_area. Practice is 2.0 or more (FP-96, section
     *  553(a)). */
    double area_ratio;
    /** bore_area - steel_area, m^2: volume per length, m^3/m. */
    double net_area;
    /** The same in litres per metre of duct. */
    double net_litres_per_m;
    /** Of net_area, what lies inside the strands' circles, between their wires:
     *  count (pi d^2 / 4 - area), m^2. Grout may or may not fill it. */
    double interstices;
    /** rb, m. */
    double bundle_radius;
    /** The greatest distance of the bundle's centre from the bore's, ri - rb,
     *  m. Negative: the bundle at this packing is wider than the bore. */
    double eccentricity;
} dm_section;

/** Bore radius, od/2 - wall, m: for voids, never for marks.
 *  @param duct  not NULL */
double dm_duct_bore(const dm_duct_type *duct);

/** Everything of dm_section.
 *  @param duct     not NULL
 *  @param strand   NULL: not known
 *  @param count    of strands; 0 or less: not known
 *  @param packing  0 < p <= 1; else DM_PACKING */
dm_section dm_section_of(const dm_duct_type *duct, const dm_strand_type *strand,
                         int count, double packing);

/** The section of a tendon at a station, with its strands as far as they are
 *  stated, at the default packing. @param t m, any (clamped) */
dm_section dm_tendon_section(const dm_model *model, const dm_tendon *tendon,
                             double t);

/** Free length from the bore's wall inwards, square to it, to the bundle:
 *  along the straight line through the bore's centre,
 *
 *      gap(a) = ri - (e cos a + sqrt(rb^2 - e^2 sin^2 a)),
 *
 *  the first root of that line with the bundle's circle. 0 on the strand side
 *  (a = 0), 2 e opposite (a = pi), never less in between while e <= rb.
 *
 *  Where e > rb (few strands in a wide duct) the bore's centre is outside the
 *  bundle: from opposite the line goes through it first, and the formula
 *  stands; a line with |sin a| > rb / e misses the bundle, and the whole bore,
 *  2 ri, is returned. A hole has a width and the bundle is no circle: do not
 *  trust an edge of it.
 *
 *  @param a  rad, any: clock angle less that of the strand side
 *  @return m, 0 to 2 ri; 0 everywhere where e <= 0 (strands all round); NAN
 *          where nothing is known of the strands */
double dm_section_gap(const dm_section *section, double a);

DM_END_C

#endif
