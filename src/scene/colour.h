/* SPDX-License-Identifier: MIT
 * Colours of the scene: sRGB bytes r g b a. */
#ifndef DM_SCENE_COLOUR_H
#define DM_SCENE_COLOUR_H

#include <stdint.h>

#include "base/arena.h"
#include "ductmark/scene.h"

typedef struct {
    uint8_t rgba[4];
} dm_rgba;

typedef enum {
    DM_PAINT_ANCHORAGE,
    DM_PAINT_DEVIATOR,
    DM_PAINT_FIXTURE,
    DM_PAINT_TAP,
    DM_PAINT_TAP_OPENED,
    DM_PAINT_OPENING,
    DM_PAINT_CENTRELINE,
    DM_PAINT_ALIGNMENT,
    DM_PAINT_NO_GRADE,
    DM_PAINT_COUNT
} dm_paint;

dm_rgba dm_colour_cover(dm_cover cover);
dm_rgba dm_colour_paint(dm_paint paint);
/* What a paint means, for the legend. */
const char *dm_paint_text(dm_paint paint);
/* The criteria's own colour ("#rrggbb"), else one of the palette by severity;
 * DM_NONE: no rule matched. */
dm_rgba dm_colour_grade(const dm_criteria *criteria, size_t grade);

/* Classes of the index for the heat map, from -1 to 1; values beyond are in
 * the outermost classes. */
#define DM_HEAT_CLASSES 11
#define DM_HEAT_NOT_READ (-1)
/* Class 0..10 of an index, DM_HEAT_NOT_READ for NAN. A value within a tenth
 * of a class beyond the class `before` stays there, so that noise at a limit
 * makes no stripes. */
int dm_heat_class(double index, int before);
dm_rgba dm_heat_colour(int heat_class);
/* Least index of a class; class 11 gives the upper end. */
double dm_heat_limit(int heat_class);

dm_status dm_legend_build(dm_arena *arena, const dm_criteria *criteria,
                          dm_scene *scene);
dm_status dm_heat_legend_build(dm_arena *arena, dm_scene *scene);

#endif
