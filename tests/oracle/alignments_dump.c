/* SPDX-License-Identifier: MIT
 * What the library makes of alignments, for tests/oracle/alignments.py.
 * Standard input, repeated: the numbers of elements, of points of intersection,
 * of station equations, of stations and of points; station, x, y, bearing of
 * the begin; length, k0, k1 per element; station, height, curve length per
 * point of intersection; s, back, ahead per equation; station, offset, height
 * per station; x, y per point. Standard output: station of the end; per station
 * x, y, height, bearing, curvature, grade, the point at the offset, its foot,
 * the station as displayed, its zone and the station back from it; per point
 * its foot. A foot: s, offset, inside, certain. */
#include <stdio.h>
#include <stdlib.h>

#include "ductmark/alignment.h"
#include "numbers.h"

#define MOST 64

static void print_foot(const dm_alignment *line, dm_vec3 p)
{
    dm_alignment_foot f = dm_alignment_nearest(line, p);
    printf(" %.17g %.17g %d %d", f.s, f.offset, f.inside, f.certain);
}

static void dump_station(const dm_alignment *line)
{
    double s = number(), offset = number(), height = number(), back = 0.0;
    size_t zone = 0;
    dm_alignment_place at = dm_alignment_at(line, s);
    dm_vec3 p = dm_alignment_point(line, s, offset, height);
    double shown = dm_alignment_display(line, s, &zone);
    printf("%.17g %.17g %.17g %.17g %.17g %.17g ", at.x, at.y, at.height,
           at.bearing, at.curvature, at.grade);
    printf("%.17g %.17g %.17g", p.x, p.y, p.z);
    print_foot(line, p);
    if (!dm_alignment_undisplay(line, shown, zone, &back))
        fail("a displayed station has no way back");
    printf(" %.17g %zu %.17g\n", shown, zone, back);
}

static void read_elements(dm_alignment *line, size_t count)
{
    double s = number(), x = number(), y = number(), bearing = number();
    for (size_t i = 0; i < count; i++) {
        dm_horizontal *e = &line->horizontal[i];
        e->length = number();
        e->k0 = number();
        e->k1 = number();
    }
    line->horizontal_count = count;
    line->begin = s;
    line->end = dm_alignment_chain(line->horizontal, count, s, x, y, bearing);
}

static void read_profile(dm_alignment *line, size_t count)
{
    dm_pvi p[MOST];
    size_t where;
    line->vertical_count = 0;
    for (size_t i = 0; i < count; i++) {
        p[i].station = number();
        p[i].height = number();
        p[i].curve_length = number();
    }
    if (count > 0 && dm_profile_build(p, count, line->vertical,
                                      &line->vertical_count, &where) != 0)
        fail("a profile was refused");
}

static void read_equations(dm_alignment *line, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        line->equations[i].s = number();
        line->equations[i].back = number();
        line->equations[i].ahead = number();
    }
    line->equation_count = count;
}

int main(void)
{
    size_t elements, pvis, equations, stations, points;
    while (scanf("%zu %zu %zu %zu %zu", &elements, &pvis, &equations, &stations,
                 &points) == 5) {
        dm_horizontal horizontal[MOST];
        dm_vertical vertical[2 * MOST];
        dm_station_equation equation[MOST];
        dm_alignment line = {.horizontal = horizontal,
                             .vertical = vertical,
                             .equations = equation};
        if (elements < 1 || elements > MOST || pvis > MOST || equations > MOST)
            fail("a count is out of range");
        read_elements(&line, elements);
        read_profile(&line, pvis);
        read_equations(&line, equations);
        printf("%.17g\n", line.end);
        for (size_t i = 0; i < stations; i++)
            dump_station(&line);
        for (size_t i = 0; i < points; i++) {
            double x = number(), y = number();
            print_foot(&line, (dm_vec3){x, y, 0.0});
            putchar('\n');
        }
    }
    return 0;
}
