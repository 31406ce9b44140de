/* SPDX-License-Identifier: MIT
 * Segments and volumes of the library for tests/oracle/voids.py.
 * in:  r d1 d2 length     a line each
 * out: area(d1) half(d1) volume(d1, d2, length) */
#include <stdio.h>

#include "geom/chord.h"

int main(void)
{
    double r, d1, d2, length;

    while (scanf("%lf %lf %lf %lf", &r, &d1, &d2, &length) == 4) {
        double half = dm_chord_half_of_depth(r, d1);

        printf("%.17g %.17g %.17g\n", dm_chord_area(r, half), half,
               dm_chord_volume(r, d1, d2, length));
    }
    return 0;
}
