/* SPDX-License-Identifier: MIT
 * What another wall than the calibration's does to the zero of the index.
 *
 * The wall takes part of the sensor's field: behind a thicker one sound grout
 * reads more like air. How much depends on the sensor, so nothing is built in:
 * the calibration states it (`wall-slope-per-mm`), or two calibrations of one
 * channel on different walls tell it by their references. Taken as linear in
 * the wall: good for the tenths of a millimetre of a tolerance, rough for
 * another class of pipe. */
#include <math.h>

#include "base/diag.h"
#include "base/num.h"
#include "indication/find.h"

#define MM 1e-3
#define SAME_WALL 1e-4 /* m: what a wall is measured to */

/* Index a metre of wall, as another calibration of the channel tells it; NAN.
 */
static double told_slope(const dm_survey *survey, const dm_calibration *c)
{
    double reference = dm_reference_at(c, 0.0);

    for (size_t i = 0; i < survey->calibration_count; i++) {
        const dm_calibration *o = &survey->calibrations[i];

        if (o->instrument != c->instrument || o->channel != c->channel ||
            !(o->wall > 0.0) || !(fabs(o->wall - c->wall) > SAME_WALL))
            continue;
        return (reference - dm_reference_at(o, 0.0)) / (reference - c->air) /
               (o->wall - c->wall);
    }
    return (double)NAN;
}

static double least(const dm_duct_type *type)
{
    return type->wall_min > 0.0 ? type->wall_min : type->wall;
}

static double most(const dm_duct_type *type)
{
    return type->wall_max > 0.0 ? type->wall_max : type->wall;
}

double dm_zero_shift(const dm_survey *survey, const dm_calibration *c,
                     const dm_duct_type *type)
{
    double apart =
        fmax(fabs(least(type) - c->wall), fabs(most(type) - c->wall));
    double slope = c->wall_slope;

    if (!(c->wall > 0.0))
        return (double)NAN;
    if (apart < 1e-9)
        return 0.0;
    if (isnan(slope))
        slope = told_slope(survey, c);
    return fabs(slope) * apart;
}

bool dm_wall_remark(const dm_finder *f, const dm_run *run,
                    const dm_calibration *c, const dm_duct_type *type)
{
    double shift = dm_zero_shift(f->survey, c, type);
    char wall[DM_NUM_SIZE], from[DM_NUM_SIZE], to[DM_NUM_SIZE];
    char by[DM_NUM_SIZE];

    if (!(c->wall > 0.0)) {
        dm_note(f->diag, run->place, run->id,
                "the calibration at line %ld does not state the wall that it "
                "was made on: how far the zero of the index is off on duct "
                "type %s is not known",
                c->place.line, type->id);
        return true;
    }
    if (c->wall > least(type) - SAME_WALL && c->wall < most(type) + SAME_WALL)
        return false;
    dm_num_fixed(wall, c->wall / MM, 1);
    dm_num_fixed(from, least(type) / MM, 1);
    dm_num_fixed(to, most(type) / MM, 1);
    if (isnan(shift)) {
        dm_warn(f->diag, run->place, run->id,
                "duct type %s has a wall of %s to %s mm, its calibration at "
                "line %ld was made on %s mm: the zero of the index is off by "
                "an amount that nothing tells (no wall-slope-per-mm)",
                type->id, from, to, c->place.line, wall);
        return true;
    }
    dm_num_fixed(by, shift, 2);
    dm_warn(f->diag, run->place, run->id,
            "duct type %s has a wall of %s to %s mm, its calibration at line "
            "%ld was made on %s mm: the zero of the index may be off by %s",
            type->id, from, to, c->place.line, wall, by);
    return true;
}
