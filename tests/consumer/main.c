/* SPDX-License-Identifier: MIT
 * The installed library from outside: one curve, by the public headers. */
#include <ductmark/ductmark.h>
#include <stdio.h>

int main(void)
{
    const dm_vec3 points[3] = {{0, 0, 0}, {10, 0, 0}, {20, 0, 1}};
    const double radius[3] = {0, 3, 0};
    dm_segment segments[3];
    size_t arc[3], where;
    dm_centreline line;
    if (dm_centreline_build(points, radius, 3, segments, arc, &line, &where) !=
        DM_POLYGON_OK)
        return 1;
    printf("consumer: ductmark %s, %d segments\n", dm_version(),
           (int)line.count);
    return line.count == 3 ? 0 : 1;
}
