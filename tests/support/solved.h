/* SPDX-License-Identifier: MIT
 * Survey fixtures solved, and asked where they are; failures end the test. */
#ifndef DM_TEST_SOLVED_H
#define DM_TEST_SOLVED_H

#include "near.h"
#include "survey_fixture.h"

static inline void solve(survey_fixture *f)
{
    assert_int_equal(survey_fixture_solve(f), DM_OK);
    assert_non_null(f->stations);
}

static inline dm_station_point at(const survey_fixture *f, size_t run,
                                  size_t stretch, double x)
{
    dm_station_point p;

    assert_int_equal(survey_fixture_at(f, run, stretch, x, &p), DM_OK);
    return p;
}

static inline double station(const survey_fixture *f, double x)
{
    return at(f, 0, 0, x).t;
}

/* Two faces at 0 and 10, exact; a run with a start at the first. */
static inline void two_faces(survey_fixture *f, double u)
{
    survey_fixture_init(f, (const double[]){0, 10}, 2, u);
    survey_fixture_run(f);
}

#endif
