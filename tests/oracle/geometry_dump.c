/* SPDX-License-Identifier: MIT
 * What the library makes of tendons, for tests/oracle/geometry.py. Standard
 * input, repeated: the numbers of points and of stations; r, phi; 1 and a
 * datum or 0 and zeros, and the vertical limit; x y z radius per point; the
 * stations. Standard output, per tendon: its length and outside length; per
 * station: point, crown, outside length and the station back from it, the
 * last two by the prepared form and by the single call; the station nearest to
 * the point, that nearest to the surface's point, its distance and clock. */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include "ductmark/centreline.h"
#include "numbers.h"

#define MOST 16

static void dump(const dm_centreline *line, double r, double phi, double t)
{
    double begin[2 * MOST];
    dm_outside prepared;
    size_t hint = 1000, back = 0;
    dm_outside_prepare(line, r, phi, begin, &prepared);
    dm_frame f = dm_centreline_frame(line, t);
    double l = dm_outside_at(&prepared, t, &hint);
    double once = dm_outside_length(line, r, phi, t);
    printf("%.17g %.17g %.17g ", f.point.x, f.point.y, f.point.z);
    printf("%.17g %.17g %.17g ", f.crown.x, f.crown.y, f.crown.z);
    printf("%.17g %.17g %.17g %.17g ", l,
           dm_outside_inverse(&prepared, l, &back), once,
           dm_outside_station(line, r, phi, once));
    dm_vec3 surface = dm_frame_surface(&f, r, phi);
    double distance;
    double foot = dm_centreline_nearest(line, surface, &distance);
    dm_vec3 way = dm_vec3_sub(surface, f.point);
    printf("%.17g %.17g %.17g %.17g\n",
           dm_centreline_nearest(line, f.point, NULL), foot, distance,
           dm_frame_clock(&f, way));
}

int main(void)
{
    int points, stations;
    while (scanf("%d %d", &points, &stations) == 2) {
        dm_vec3 p[MOST];
        double radius[MOST];
        dm_segment segments[2 * MOST];
        size_t arc[MOST], where = 0;
        dm_centreline line;
        if (points < 2 || points > MOST)
            fail("2 to 16 points expected");
        double r = number(), phi = number();
        bool has_datum = number() != 0.0;
        dm_vec3 datum = {number(), 0, 0};
        datum.y = number();
        datum.z = number();
        double limit = number();
        for (int i = 0; i < points; i++) {
            p[i].x = number();
            p[i].y = number();
            p[i].z = number();
            radius[i] = number();
        }
        if (dm_centreline_build(p, radius, (size_t)points, segments, arc, &line,
                                &where) != DM_POLYGON_OK)
            fail("a polygon was refused");
        line.has_datum = has_datum;
        line.datum = datum;
        line.vertical_limit = limit;
        printf("%.17g %.17g\n", line.length,
               dm_outside_length(&line, r, phi, line.length));
        for (int i = 0; i < stations; i++)
            dump(&line, r, phi, number());
    }
    return 0;
}
