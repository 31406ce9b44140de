/* SPDX-License-Identifier: MIT
 * cmocka has no comparison of doubles, and its comparison of floats rounds to
 * float first. assert_near prints both values, the difference and the
 * tolerance; NaN is near nothing. Includes cmocka with what it needs. */
#ifndef DM_TEST_NEAR_H
#define DM_TEST_NEAR_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

static inline void assert_near_at(double actual, double expected,
                                  double tolerance, const char *what,
                                  const char *file, int line)
{
    /* Equal infinities have no difference. */
    if (fabs(actual - expected) <= tolerance || actual == expected)
        return;
    print_error("%s\n  actual     %.17g\n  expected   %.17g\n"
                "  difference %.6g\n  tolerance  %.6g\n",
                what, actual, expected, actual - expected, tolerance);
    _fail(file, line);
}

#define assert_near(actual, expected, tolerance)                               \
    assert_near_at((actual), (expected), (tolerance), #actual, __FILE__,       \
                   __LINE__)

#endif
