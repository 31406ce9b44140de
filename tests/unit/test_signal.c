/* SPDX-License-Identifier: MIT
 * Cells, smoothing and noise against closed forms. The random numbers are
 * seeded; tolerances are at least four standard errors of the estimate. */
#include "indication/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "indication/bins.h"
#include "near.h"

#define W 0.1
#define PITCH 0.005

static uint64_t state = 88172645463325252u;

/* xorshift64* (Vigna 2016), then Box-Muller. */
static double uniform(void)
{
    state ^= state >> 12;
    state ^= state << 25;
    state ^= state >> 27;
    return ((double)((state * 2685821657736338717u) >> 11) + 0.5) /
           9007199254740992.0;
}

static double normal(void)
{
    double u = uniform(), v = uniform();

    return sqrt(-2.0 * log(u)) * cos(6.283185307179586 * v);
}

static dm_strip strip_of(size_t count)
{
    dm_strip s = {.count = count, .pitch = PITCH};

    s.t = calloc(count, sizeof(double));
    s.x = calloc(count, sizeof(double));
    s.index = calloc(count, sizeof(double));
    s.smooth = calloc(count, sizeof(double));
    s.base = calloc(count, sizeof(double));
    s.bad = calloc(count, 1);
    assert_non_null(s.bad);
    for (size_t i = 0; i < count; i++)
        s.t[i] = s.x[i] = (double)i * PITCH;
    return s;
}

static void drop(dm_strip *s)
{
    free(s->t);
    free(s->x);
    free(s->index);
    free(s->smooth);
    free(s->base);
    free(s->bad);
}

static const dm_thresholds band = {0.25, 0.15, -0.25, -0.15};

static void smooth_line_stays_a_line(void **unused)
{
    double v[50], out[50];

    (void)unused;
    for (int i = 0; i < 50; i++)
        v[i] = 3.0 - 0.25 * i;
    dm_smooth(v, 50, 4, out);
    for (int i = 4; i < 46; i++)
        assert_near(out[i], v[i], 1e-12);
    /* Shortened window at the end: mean of v[0..4]. */
    assert_near(out[0], v[2], 1e-12);
}

static void bins_keep_the_mean_of_x_and_value(void **unused)
{
    /* Out of order, one value twice as often. */
    double x[] = {1.0, 1.004, 1.0121, 0.9901, 1.0009, 1.0121};
    double y[] = {2.0, 4.0, 1.0, 7.0, 6.0, 3.0};
    double *column[1] = {y}, cx[16], cv[16], *out[1] = {cv};
    dm_bins b;
    size_t bad = 99, n;

    (void)unused;
    dm_bins_init(&b, 0.005, 1, 1000);
    assert_int_equal(dm_bins_add(&b, x, column, 6, &bad), DM_OK);
    assert_true(dm_bins_cells_max(&b, 1) <= 16);
    n = dm_bins_cells(&b, 1, cx, out);
    assert_int_equal(n, 3);
    assert_near(cx[0], 0.9901, 1e-12);
    assert_near(cv[0], 7.0, 1e-12);
    assert_near(cx[1], (1.0 + 1.004 + 1.0009) / 3.0, 1e-12);
    assert_near(cv[1], 4.0, 1e-12);
    assert_near(cx[2], 1.0121, 1e-12);
    assert_near(cv[2], 2.0, 1e-12);
    dm_bins_free(&b);
}

static void bins_far_away_are_a_range_error(void **unused)
{
    double x[] = {0.0, 1.0, 1e9}, y[] = {0.0, 0.0, 0.0};
    double *column[1] = {y};
    dm_bins b;
    size_t bad = 99;

    (void)unused;
    dm_bins_init(&b, 0.005, 1, 1000);
    assert_int_equal(dm_bins_add(&b, x, column, 3, &bad), DM_RANGE);
    assert_int_equal(bad, 2);
    assert_true(b.count < 4000);
    dm_bins_free(&b);
}

static void bins_grow_both_ways(void **unused)
{
    dm_bins b;
    double *cx, *cv, *out[1];
    size_t bad = 0, n;

    (void)unused;
    dm_bins_init(&b, 0.01, 1, 100000);
    for (int i = 0; i < 2000; i++) {
        double x = (i % 2 ? -0.005 : 0.005) * i + 0.0025, y = x;
        double *column[1] = {&y};

        assert_int_equal(dm_bins_add(&b, &x, column, 1, &bad), DM_OK);
    }
    n = dm_bins_cells_max(&b, 1);
    cx = calloc(n, sizeof *cx);
    cv = calloc(n, sizeof *cv);
    out[0] = cv;
    n = dm_bins_cells(&b, 1, cx, out);
    for (size_t i = 0; i < n; i++) {
        assert_near(cx[i], cv[i], 1e-9);
        assert_true(i == 0 || cx[i] > cx[i - 1]);
    }
    free(cx);
    free(cv);
    dm_bins_free(&b);
}

static void bins_factor_follows_the_spacing(void **unused)
{
    const double spacing[] = {0.002, 0.005, 0.012, 0.02};
    const size_t least[] = {1, 1, 3, 4}, most[] = {1, 1, 4, 5};

    (void)unused;
    for (int k = 0; k < 4; k++) {
        dm_bins b;
        size_t bad = 0, factor;

        dm_bins_init(&b, 0.005, 1, 100000);
        for (int i = 0; i < 500; i++) {
            double x = 0.0001 + spacing[k] * i, y = 0.0, *column[1] = {&y};

            dm_bins_add(&b, &x, column, 1, &bad);
        }
        factor = dm_bins_factor(&b, 10);
        assert_in_range(factor, least[k], most[k]);
        dm_bins_free(&b);
    }
}

/* Formula: Var(mean of n) = (n c0 + 2 sum (n-k) c_k) / n^2. */
static void mean_variance_has_its_closed_forms(void **unused)
{
    dm_noise white = {{0.09}, 1, 0.3, 0.0}, full = {{0}, 10, 0.3, 0.0};

    (void)unused;
    assert_near(dm_noise_mean_var(&white, 9), 0.01, 1e-15);
    for (int k = 0; k < 10; k++)
        full.cov[k] = 0.09;
    assert_near(dm_noise_mean_var(&full, 10), 0.09, 1e-15);
}

/* White plus first-order autoregressive noise; its autocovariance is
 * s^2/2 (delta_k + rho^k) (any text on time series). */
static void noise_estimate_finds_variance_and_correlation(void **unused)
{
    dm_strip s = strip_of(20000);
    double c = normal(), rho = exp(-PITCH / (0.4 * W)), sd = 0.05;
    dm_noise n;

    (void)unused;
    for (size_t i = 0; i < s.count; i++) {
        c = rho * c + sqrt(1.0 - rho * rho) * normal();
        s.index[i] = sd * sqrt(0.5) * (c + normal());
    }
    /* A void and a soft length must not count as noise. */
    for (size_t i = 3000; i < 3400; i++)
        s.index[i] += 0.7;
    for (size_t i = 9000; i < 9500; i++)
        s.index[i] -= 0.6;
    dm_strip_smooth(&s, W);
    assert_true(dm_noise_estimate(&s, 1, W, &band, &n));
    /* The sill at one footprint lacks rho^18..24 of the slow half: 5 %. */
    assert_near(n.sigma, sd, 0.08 * sd);
    assert_near(n.cov[1], 0.5 * sd * sd * rho, 0.15 * sd * sd);
    assert_near(n.cov[8], 0.5 * sd * sd * pow(rho, 8), 0.12 * sd * sd);
    drop(&s);
}

static void noise_estimate_is_robust_to_spikes(void **unused)
{
    dm_strip s = strip_of(8000);
    dm_noise n;

    (void)unused;
    for (size_t i = 0; i < s.count; i++)
        s.index[i] = 0.03 * normal() + (i % 400 == 7 ? 0.9 : 0.0);
    dm_strip_smooth(&s, W);
    assert_true(dm_noise_estimate(&s, 1, W, &band, &n));
    assert_in_range((int)(1e4 * n.sigma), 280, 360);
    drop(&s);
}

static void strip_x_follows_the_cells(void **unused)
{
    dm_strip s = strip_of(10);

    (void)unused;
    for (size_t i = 0; i < s.count; i++)
        s.x[i] = 7.0 - 2.0 * s.t[i];
    assert_near(dm_strip_x(&s, 0.0123), 7.0 - 0.0246, 1e-12);
    assert_near(dm_strip_x(&s, -0.01), 7.02, 1e-12);
    assert_near(dm_strip_x(&s, 0.06), 6.88, 1e-12);
    drop(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(smooth_line_stays_a_line),
        cmocka_unit_test(bins_keep_the_mean_of_x_and_value),
        cmocka_unit_test(bins_far_away_are_a_range_error),
        cmocka_unit_test(bins_grow_both_ways),
        cmocka_unit_test(bins_factor_follows_the_spacing),
        cmocka_unit_test(mean_variance_has_its_closed_forms),
        cmocka_unit_test(noise_estimate_finds_variance_and_correlation),
        cmocka_unit_test(noise_estimate_is_robust_to_spikes),
        cmocka_unit_test(strip_x_follows_the_cells),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
