/* SPDX-License-Identifier: MIT
 * Mapping sorted run distances to station, uncertainty and point against
 * copying 8 bytes in and 24 bytes out per reading. Tendons of 40 m with two
 * deviators, bent in a plumb plane and in no special plane; ties every 8 m. */
#define _POSIX_C_SOURCE 200809L
#include "bench.h"

#include <string.h>

#include "survey_fixture.h"

#define READINGS 1000000
#define PORTION 4096 /* as a reader hands them over */

typedef struct {
    dm_walker *walker;
    double *x, *from;
    double t[PORTION], u[PORTION];
    dm_vec3 *point, *to;
    double sum; /* keeps the work from being left out */
} job;

static size_t portion(size_t i)
{
    return READINGS - i < PORTION ? READINGS - i : PORTION;
}

static double map(void *user)
{
    job *j = user;
    double start = bench_now();

    for (size_t i = 0; i < READINGS; i += PORTION)
        dm_walker_place(j->walker, j->x + i, portion(i), j->t, j->u,
                        j->point + i);
    start = bench_now() - start;
    j->sum += j->point[READINGS / 2].x + j->u[0];
    return start;
}

/* The same traffic: 8 bytes read, 24 written. */
static double copy(void *user)
{
    job *j = user;
    double start = bench_now();

    for (size_t i = 0; i < READINGS; i += PORTION) {
        size_t n = portion(i);
        char *out = (char *)(j->to + i);
        for (int k = 0; k < 3; k++)
            memcpy(out + (size_t)k * n * sizeof(double), j->from + i,
                   n * sizeof(double));
    }
    start = bench_now() - start;
    j->sum += j->to[READINGS / 2].x;
    return start;
}

static int measure(const char *name, double aside)
{
    static survey_fixture f;
    const dm_vec3 points[4] = {
        {0, 0, 2}, {12, 2 * aside, 0.5}, {27, -aside, 0.5}, {40, 0, 2}};
    const double radius[4] = {0, 3, 3, 0};
    dm_segment segments[8];
    size_t arc[4], where = 0;
    job j = {0};

    survey_fixture_init(&f, (const double[]){0, 8, 16, 24, 32}, 5, 0.015);
    f.tendon.line.segments = segments;
    if (dm_centreline_build(points, radius, 4, segments, arc, &f.tendon.line,
                            &where) != DM_POLYGON_OK)
        return 2;
    for (size_t i = 0; i < 5; i++)
        f.faces[i].origin = dm_centreline_point(&f.tendon.line, f.faces[i].t);
    f.instruments[0].walk = 0.001;
    f.instruments[0].scale_u = 0.002;
    survey_fixture_run(&f);
    survey_fixture_start(&f, 0, 0, 0.003);
    survey_fixture_readings(&f);
    for (size_t i = 1; i < 5; i++)
        survey_fixture_tie(&f, f.faces[i].t + 0.001 * (double)i, i, 0.003);
    if (survey_fixture_solve(&f) != DM_OK || f.diag.warnings > 0 ||
        dm_walker_new(f.stations, &f.model, &f.survey, 0, 0, 0, &j.walker) !=
            DM_OK)
        return 2;
    j.x = calloc(READINGS, sizeof *j.x);
    j.from = calloc(READINGS, sizeof *j.from);
    j.point = calloc(READINGS, sizeof *j.point);
    j.to = calloc(READINGS, sizeof *j.to);
    if (!j.x || !j.from || !j.point || !j.to)
        return 2;
    for (size_t i = 0; i < READINGS; i++)
        j.from[i] = j.x[i] = 40.0 * (double)i / READINGS;
    bench_pair(name, READINGS, map, "copying 8 B in, 24 B out", copy, &j);
    free(j.x);
    free(j.from);
    free(j.point);
    free(j.to);
    dm_walker_free(j.walker);
    survey_fixture_end(&f);
    return j.sum == 0.0;
}

int main(void)
{
    int bad = measure("map_readings_plumb_bends", 0.0);

    return bad ? bad : measure("map_readings_slanted_bends", 0.2);
}
