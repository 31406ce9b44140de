/* SPDX-License-Identifier: MIT */
#include "write/strip_lane.h"

#include <math.h>

#define GAP 2.5 /* mm */

void dm_lanes_begin(dm_lanes *lanes, double low, double high)
{
    *lanes = (dm_lanes){.low = low, .high = high};
}

dm_label dm_lanes_place(dm_lanes *lanes, double x, double width)
{
    double from = fmax(fmin(x - 0.5 * width, lanes->high - width), lanes->low);
    size_t i;

    for (i = 0; i < lanes->used; i++)
        if (lanes->edge[i] + GAP <= from)
            break;
    if (i == lanes->used && lanes->used < DM_LANES_MOST)
        lanes->used++;
    i = i < DM_LANES_MOST ? i : DM_LANES_MOST - 1;
    lanes->edge[i] = from + width;
    return (dm_label){from, i};
}

dm_label dm_lanes_place_right(dm_lanes *lanes, double x, double width)
{
    double from = fmax(fmin(x, lanes->high - width), lanes->low);
    size_t i;

    for (i = 0; i < lanes->used; i++)
        if (lanes->edge[i] - GAP >= from + width)
            break;
    if (i == lanes->used && lanes->used < DM_LANES_MOST)
        lanes->used++;
    i = i < DM_LANES_MOST ? i : DM_LANES_MOST - 1;
    lanes->edge[i] = from;
    return (dm_label){from, i};
}
