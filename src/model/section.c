/* SPDX-License-Identifier: MIT
 * The section of a duct with its strands: areas of circles, and the line
 * through the bore's centre that meets the bundle's circle (law of cosines).
 * Limits: the bundle is a circle of stated packing (ductmark/section.h). */
#include "ductmark/section.h"

#include <math.h>

#define PI 3.14159265358979323846

double dm_duct_bore(const dm_duct_type *duct)
{
    return 0.5 * duct->od - duct->wall;
}

dm_section dm_section_of(const dm_duct_type *duct, const dm_strand_type *strand,
                         int count, double packing)
{
    double bore = dm_duct_bore(duct), none = (double)NAN;
    dm_section s = {.wall_ratio = duct->od / duct->wall,
                    .bore_radius = bore,
                    .bore_area = PI * bore * bore,
                    .steel_area = none,
                    .area_ratio = none,
                    .net_area = none,
                    .net_litres_per_m = none,
                    .interstices = none,
                    .bundle_radius = none,
                    .eccentricity = none};
    if (!strand || count <= 0)
        return s;
    double half = 0.5 * strand->diameter, n = count;
    double p = packing > 0.0 && packing <= 1.0 ? packing : DM_PACKING;
    s.steel_area = n * strand->area;
    s.area_ratio = s.bore_area / s.steel_area;
    s.net_area = s.bore_area - s.steel_area;
    s.net_litres_per_m = 1000.0 * s.net_area;
    s.interstices = n * (PI * half * half - strand->area);
    s.bundle_radius = half * sqrt(n / p);
    s.eccentricity = bore - s.bundle_radius;
    return s;
}

dm_section dm_tendon_section(const dm_model *model, const dm_tendon *tendon,
                             double t)
{
    const dm_strand_type *strand =
        tendon->strand_type < model->strand_type_count
            ? &model->strand_types[tendon->strand_type]
            : NULL;
    return dm_section_of(dm_tendon_duct(model, tendon, t), strand,
                         tendon->strands, 0.0);
}

double dm_section_gap(const dm_section *section, double a)
{
    double e = section->eccentricity, rb = section->bundle_radius;
    if (e <= 0.0) /* NAN goes on */
        return 0.0;
    double across = e * sin(a), under = rb * rb - across * across;
    if (under < 0.0)
        return 2.0 * section->bore_radius;
    double gap = section->bore_radius - (e * cos(a) + sqrt(under));
    /* Rounding alone could put a strand outside the bore. */
    return gap < 0.0 ? 0.0 : gap;
}
