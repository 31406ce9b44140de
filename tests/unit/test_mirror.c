/* SPDX-License-Identifier: MIT
 * Clock angles in doubt: profiles made by hand, a seeded little noise on
 * them. */
#include <math.h>

#include "indication/mirror.h"
#include "near.h"

#define CELLS 1000
#define SD 0.02

static uint64_t state = 88172645463325252u;

static double noise(void)
{
    double sum = 0.0;

    for (int i = 0; i < 12; i++) {
        state ^= state >> 12;
        state ^= state << 25;
        state ^= state >> 27;
        sum +=
            (double)((state * 2685821657736338717u) >> 11) / 9007199254740992.0;
    }
    return SD * (sum - 6.0);
}

/* 20 m; plateaus of one metre at 4 m and 12 m. */
static dm_mirror_line line_of(float *v, double first, double second)
{
    for (int i = 0; i < CELLS; i++) {
        double h = i >= 200 && i < 250   ? first
                   : i >= 600 && i < 650 ? second
                                         : 0.0;

        v[i] = (float)(h + noise());
    }
    return (dm_mirror_line){v, CELLS, SD * SD / 5.0};
}

static dm_mirror_finding found(const dm_mirror_line *run,
                               const dm_mirror_line *same,
                               const dm_mirror_line *other)
{
    return dm_mirror_test(run, same, other).finding;
}

static void a_mirrored_run_fits_the_other_line(void **unused)
{
    static float a[CELLS], b[CELLS], c[CELLS];
    dm_mirror_line run = line_of(a, 0.6, 0.1), same = line_of(b, 0.1, 0.5);
    dm_mirror_line other = line_of(c, 0.62, 0.1);
    dm_mirror m = dm_mirror_test(&run, &same, &other);

    (void)unused;
    assert_int_equal(m.finding, DM_MIRROR_OTHER);
    assert_true(m.other > 0.95 && m.same < 0.5);
    assert_int_equal(found(&run, &other, &same), DM_MIRROR_FITS);
    /* Nobody on the mirrored line: one of the two, nobody knows which. */
    assert_int_equal(found(&run, &same, NULL), DM_MIRROR_APART);
    assert_int_equal(found(&same, &run, NULL), DM_MIRROR_APART);
    assert_int_equal(found(&run, NULL, &other), DM_MIRROR_UNKNOWN);
}

/* What is alike on both sides tells nothing; nor does sound duct. */
static void nothing_to_tell_is_no_doubt(void **unused)
{
    static float a[CELLS], b[CELLS], c[CELLS];
    dm_mirror_line run = line_of(a, 0.6, 0.4), same = line_of(b, 0.6, 0.4);
    dm_mirror_line other = line_of(c, 0.6, 0.4);

    (void)unused;
    assert_int_equal(found(&run, &same, &other), DM_MIRROR_FITS);
    assert_int_equal(found(&run, &same, NULL), DM_MIRROR_FITS);
    run = line_of(a, 0.0, 0.0);
    same = line_of(b, 0.0, 0.0);
    assert_int_equal(found(&run, &same, NULL), DM_MIRROR_UNKNOWN);
}

/* A bump of 0.2 m on one run, and stations 60 mm off, are no mirror. */
static void a_bump_and_a_shift_are_no_doubt(void **unused)
{
    static float a[CELLS], b[CELLS], c[CELLS];
    dm_mirror_line run = line_of(a, 0.6, 0.3), same = line_of(b, 0.6, 0.3);
    dm_mirror_line other = line_of(c, 0.6, 0.0);

    (void)unused;
    for (int i = 800; i < 810; i++)
        a[i] = 0.9f;
    assert_int_equal(found(&run, &same, &other), DM_MIRROR_FITS);
    for (int i = CELLS - 1; i >= 3; i--)
        b[i] = b[i - 3];
    assert_int_equal(found(&run, &same, &other), DM_MIRROR_FITS);
    /* Too little in common. */
    for (int i = 0; i < 950; i++)
        a[i] = NAN;
    assert_int_equal(found(&run, &same, &other), DM_MIRROR_UNKNOWN);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_mirrored_run_fits_the_other_line),
        cmocka_unit_test(nothing_to_tell_is_no_doubt),
        cmocka_unit_test(a_bump_and_a_shift_are_no_doubt),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
