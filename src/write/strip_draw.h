/* SPDX-License-Identifier: MIT
 * One panel of the developed map while it is being drawn: places on it, and
 * the layers that are drawn over each other. */
#ifndef DM_WRITE_STRIP_DRAW_H
#define DM_WRITE_STRIP_DRAW_H

#include "write/strip.h"

typedef struct {
    dm_paper *s;
    dm_picture *p;
    dm_canvas *c;
    dm_panel panel;
    double top, height; /* of the map, mm */
} dm_map;

/* Clock angle as one from -pi (6 o'clock, over 9) to pi. */
double dm_from_crown(double clock);
/* y of such an angle. */
double dm_map_y(const dm_map *m, double from_crown);
/* x of a station, moved to the panel's edge where it lies beyond. */
double dm_map_x(const dm_map *m, double t);
/* Some of from..to lies in the panel. */
bool dm_map_holds(const dm_map *m, double from, double to);
/* from..to by clock angles low..high (at most a turn); in two where the cut
 * goes through. */
void dm_map_rect(const dm_map *m, double from, double to, double low,
                 double high, const dm_look *look);

/* What a clock line claims, clock angles from the crown; cut half way to its
 * neighbours. */
typedef struct {
    double low, high;
} dm_swath;

dm_swath dm_swath_of(const dm_map *m, size_t line);
/* Of the line at that clock angle; a narrow one where there is none. */
dm_swath dm_swath_at(const dm_map *m, double clock);

/* Layers, from the paper upwards. */
void dm_map_bands(const dm_map *m);
void dm_map_things(const dm_map *m);      /* supports, faces, fixtures */
void dm_map_indications(const dm_map *m); /* outlines */
void dm_map_taps(const dm_map *m);        /* marks */
void dm_map_clock(const dm_map *m);

/* Beside the map; each returns its height, mm. */
double dm_map_found_labels(const dm_map *m, double y, bool draw);
double dm_map_stations(const dm_map *m, bool draw);
void dm_map_dimensions(const dm_map *m, double y);
double dm_map_tap_labels(const dm_map *m, double line, double y, bool draw);

#endif
